"""From the verdict to a boat that is mended: what to do, for a consequence its cause first, and the proof.

A repair counts only when something independent shows it: the proof that the diagnosis names, and what the
person says of the boat.  When it does not, the other repairs of the verdict are next; when none is left, the
hunt starts again with what was seen after the repair, since what was seen before it belongs to another boat.  What
was mended is then hardly a cause any more.  Where the answers were those of two faults, the hunt goes on for the
second once the first is proved mended.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import replace

from assistant.catalogue import Action
from assistant.circuit import is_unplugged
from assistant.circuit.expectation import BandName
from assistant.diagnosis.model import Outcome, SignQuery, SignSeen, Step, StepKind
from assistant.diagnosis.moving import says_it_comes_and_goes
from assistant.diagnosis.order import repair_order
from assistant.dialogue.answers import Chosen, Given, Said, Unable
from assistant.dialogue.events import (
    Ask,
    Ending,
    Manipulation,
    ManipulationKind,
    Option,
    RepairLeft,
    Want,
)
from assistant.dialogue.graph import Occasion
from assistant.dialogue.narrowing import ask_of, may_ask, narrow_node, states_of, take
from assistant.dialogue.state import Phase, Purpose, graph_of
from assistant.dialogue.states import unplugged
from assistant.dialogue.turn import Turn, untried
from assistant.dialogue.unfound import in_vain_text
from assistant.dialogue.wiggling import WIGGLE_CAUTIONS
from assistant.dialogue.words import (
    listed,
    place_label,
    repair_left,
    sentence,
    unrest_text,
    verdict_text,
    work_text,
)
from assistant.quantities import Quantity

BENCH = "bench"
MAX_REPAIRS = 6
"""Most repairs tried in one case."""

_OFFERED = 9
_HEALTH_KEPT = 0.5
_SOMETHING_ELSE = "That did not cure it, so there is something else. The hunt goes on with fresh readings."
_STILL_SECOND = (
    "That alone did not cure it, which is no wonder with two faults. The hunt goes on for the second."
)
_FOR_SECOND = (
    "That one is mended, and it is proved. Your answers before it were those of two faults, so the boat is gone "
    "through once more for the second."
)
_WHY_TROUBLE = "About one boat in twelve has two faults, or one that caused another."
_LIVE_ACTIONS = frozenset({Action.SET, Action.CHARGE})


def left_over(turn: Turn) -> tuple[RepairLeft, ...]:
    """Return the repairs of the verdict that were not tried, in the order to go about them.

    A sole repair comes as it is; several, and what is left of the unknown, by probability over the time it
    takes.
    """
    verdict = turn.state.verdict
    if verdict is None:
        return ()
    standing = [one for one in untried(turn.state) if one.stands]
    left = [repair_left(turn.setup.boat, suspect, standing) for suspect in standing]
    if verdict.outcome is Outcome.SOLE:
        return tuple(left)
    order = repair_order([one.probability for one in left], [one.check_seconds for one in left])
    return tuple(left[number] for number in order)


def offer(turn: Turn, nothing_amiss: str = "") -> None:
    """Show the verdict and ask whether to mend now or note it for the bench.

    Where nothing seen or read is amiss no part is accused, and `nothing_amiss` is said instead.
    """
    setup, state = turn.setup, turn.state
    if state.verdict is None:
        belief = setup.diagnosis.belief(state.evidence, state.lately)
        turn.state = replace(state, verdict=setup.diagnosis.verdict(belief, None))
    left = left_over(turn)
    verdict = turn.state.verdict
    if nothing_amiss and verdict is not None and verdict.outcome is Outcome.HEALTHY:
        turn.state = replace(turn.state, verdict=None)
        if state.cured:
            conclude_mended(turn)
        else:
            ask_last_words(turn, nothing_amiss)
        return
    if verdict is None or not left:
        ask_last_words(turn, "Nothing is left that I could name.")
        return
    told = verdict_text(
        setup.boat,
        verdict,
        left[:_OFFERED],
        again=bool(turn.state.tried),
        at_times=says_it_comes_and_goes(turn.state.evidence),
    )
    turn.show("verdict", f"{told}{_rate_text(turn, left)}")
    options = [
        Option(
            key=str(one.repair),
            text=f"mend {number} now: {one.label}" if left[1:] else f"mend it now: {one.label}",
        )
        for number, one in enumerate(left[:_OFFERED], start=1)
    ]
    options.append(Option(key=BENCH, text="note it for the bench"))
    turn.state = replace(turn.state, phase=Phase.REPAIR)
    ask = Ask(
        id="repair",
        text="Mend it now, or note it for the bench?",
        want=Want.CHOICE,
        options=tuple(options),
        default=options[0].key,
        why="A fault is only found when the boat works again after its repair and something shows it.",
        how="Mend it here only if you can do it well and dry; a note loses nothing.",
    )
    turn.present(ask, Purpose.CHOICE)


def _rate_text(turn: Turn, left: Sequence[RepairLeft]) -> str:
    """Return how fast a sole repair's fault makes something rattle or restart; nothing where it does not."""
    setup, state = turn.setup, turn.state
    if len(left) > 1:
        return ""
    unrest = setup.diagnosis.unrest(left[0].repair, setup.diagnosis.belief(state.evidence, state.lately))
    return "" if unrest is None else f" {unrest_text(setup.boat, unrest)}"


def choice_answered(turn: Turn, _ask: Ask, given: Given) -> str | None:
    """Take whether and what to mend."""
    left = left_over(turn)
    one = next((one for one in left if isinstance(given, Chosen) and str(one.repair) == given.key), None)
    if one is None:
        note_down(turn)
        return None
    turn.state = replace(turn.state, repairing=one.repair)
    live = one.repair.action in _LIVE_ACTIONS
    work = work_text(turn.setup.boat, one)
    charging = one.repair.action is Action.CHARGE
    cautions = turn.setup.knowledge.cautions.values() if charging else ()
    places = (one.repair.place, *(after.place for after in one.follow_ups))
    dead = "" if live else "Every pack unplugged. "
    turn.present(
        Ask(
            id="mend",
            text=f"{dead}{sentence(one.label)}: {work} Done?",
            want=Want.CONFIRM,
            manipulation=Manipulation(kind=ManipulationKind.REPAIR, places=places),
            cautions=tuple(caution.id for caution in cautions if Occasion.CHARGE in caution.on),
            state=None if live else unplugged(turn.setup.boat),
            why="This is where the readings point: mend it, then prove it.",
            how=turn.setup.knowledge.how("repair").text,
        ),
        Purpose.REPAIR,
    )
    return None


def note_down(turn: Turn) -> None:
    """End with the verdict as a note for the bench."""
    left = left_over(turn)
    named = left[0].label if left else "what was seen"
    text = f"Noted for the bench: {named}. Leave every pack unplugged until it is mended."
    turn.conclude("noted", text, Ending.NOTED, repairs=left)


def repair_answered(turn: Turn, ask: Ask, given: Given) -> str | None:
    """Take whether the repair was made, and go for the proof."""
    state = turn.state
    repair = state.repairing
    if given != Chosen(key="yes") or repair is None:
        note_down(turn)
        return None
    also = next((one.follow_ups for one in left_over(turn) if one.repair == repair), ())
    stands = ask.state if ask.state is not None else state.boat_state
    setup, belief = turn.setup, turn.setup.diagnosis.belief(state.evidence, state.lately)
    # A fuse that looks whole proves nothing: only what is seen or read of a boat that is plugged in counts.
    live = [one for one in states_of(state) if not is_unplugged(setup.boat, one)]
    step = setup.diagnosis.proof(repair, belief, state=stands, states=live, refused=state.unreachable)
    turn.state = replace(
        state,
        done=(*state.done, repair, *also),
        lately=replace(state.lately, mended=state.lately.mended | {repair, *also}),
        tried=(*state.tried, repair),
        boat_state=stands,
        phase=Phase.PROOF,
        last=None,
        complaint=_complaint(turn) or state.complaint,
        evidence=(),
    )
    if says_it_comes_and_goes(state.evidence):
        _ask_shaken(turn, repair.place)
    elif step is None or not may_ask(setup, step):
        return _prove_further(turn, None)
    else:
        why = "It proves the repair: had it not helped, this would still show the fault."
        turn.present(ask_of(setup, step, "proof", why), Purpose.PROOF)
    return None


def _complaint(turn: Turn) -> SignQuery | None:
    """Return the sign of trouble that was seen, on the part in focus if it showed one."""
    focus = turn.state.parts.get(graph_of(turn.setup, turn.state.symptom).focus, ())
    seen = [piece for piece in turn.state.evidence if isinstance(piece, SignSeen)]
    bad = [piece.query for piece in seen if not _speaks_for_health(turn, piece)]
    return next((query for query in bad if query.part in focus), next(iter(bad), None))


def _prove_further(turn: Turn, shown: SignQuery | None) -> str | None:
    """After a good proof, look whether the trouble itself is gone; when that was just shown, end or go on."""
    complaint = turn.state.complaint
    if complaint is None:
        _ask_works(turn)
    elif complaint == shown:
        return _mended(turn)
    else:
        step = Step(
            kind=StepKind.LOOK,
            measurement=None,
            band=None,
            query=complaint,
            levels=turn.setup.diagnosis.levels(complaint),
            gain_bits=0.0,
            seconds=0.0,
        )
        turn.present(ask_of(turn.setup, step, "trouble", _WHY_TROUBLE), Purpose.PROOF)
    return None


def _ask_works(turn: Turn) -> None:
    options = (Option(key="yes", text="yes, as it should"), Option(key="no", text="no, or not rightly"))
    ask = Ask(
        id="works",
        text="Try what was wrong in the first place: does it work now?",
        want=Want.CHOICE,
        options=options,
        why=_WHY_TROUBLE,
        how="Boat held, propellers and intakes clear, transmitter on first.",
    )
    turn.present(ask, Purpose.WORKS)


def _ask_shaken(turn: Turn, place: str) -> None:
    """Ask for the proof of a repair of what came and went: no single look or reading could be one."""
    options = (
        Option(key="yes", text="yes, all the time"),
        Option(key="no", text="no, it still comes and goes"),
    )
    ask = Ask(
        id="works",
        text="Let it run for some minutes as when it failed, a pump in water, and meanwhile move "
        f"{place_label(turn.setup.boat, place)}, and what is beside it, as before. Does it go on working all the time?",
        want=Want.CHOICE,
        options=options,
        state=None if turn.state.complaint is None else turn.state.complaint.state,
        why="It came and went, so one good look or reading proves nothing; moved again, it must hold.",
        how=turn.setup.knowledge.how("wiggle").text,
        cautions=tuple(name for name in WIGGLE_CAUTIONS if name in turn.setup.knowledge.cautions),
    )
    turn.present(ask, Purpose.WORKS)


def proof_answered(turn: Turn, ask: Ask, given: Given) -> str | None:
    """Take the proof; a good one leads to the trouble itself, which must be gone too."""
    take(turn, ask, given)
    match given:
        case Unable():
            _ask_works(turn)
        case Quantity() if ask.band is not None and ask.band.name(given.value) is BandName.AS_EXPECTED:
            return _prove_further(turn, None)
        case Chosen() if ask.query is not None and _speaks_for_health(
            turn, SignSeen(query=ask.query, levels=(given.key,))
        ):
            return _prove_further(turn, ask.query)
        case _:
            return _not_cured(turn)
    return None


def _speaks_for_health(turn: Turn, seen: SignSeen) -> bool:
    """Tell whether a healthy boat shows this about as readily as the average of all stories does."""
    diagnosis = turn.setup.diagnosis
    before, after = (diagnosis.verdict(diagnosis.belief(given), None).healthy for given in ((), (seen,)))
    return after >= _HEALTH_KEPT * before


def works_answered(turn: Turn, ask: Ask, given: Given) -> str | None:
    """Take what the person says of the boat after the repair."""
    if ask.state is not None and not isinstance(given, Unable):
        turn.state = replace(turn.state, boat_state=ask.state, unplugged=False)
    if given == Chosen(key="yes"):
        return _mended(turn)
    if isinstance(given, Unable):
        text = "Mended, but not proved. Try it before the boat goes out of reach."
        turn.conclude("unproved", text, Ending.NOTED, repairs=left_over(turn))
        return None
    return _not_cured(turn)


def _mended(turn: Turn) -> str | None:
    """End, or where the answers were those of two faults, go on for the second; return where."""
    state = turn.state
    turn.state = replace(state, cured=(*state.cured, *state.tried[-1:]))
    node = narrow_node(turn.setup, state)
    if state.verdict is None or not state.verdict.is_of_two or not node:
        conclude_mended(turn)
        return None
    turn.show("second", _FOR_SECOND)
    _begin_anew(turn)
    return node


def conclude_mended(turn: Turn) -> None:
    """End with what was mended and proved, and what was worked on before that: of two faults it may be the first."""
    boat, state = turn.setup.boat, turn.state
    cured = dict.fromkeys(place_label(boat, repair.place) for repair in state.cured)
    before = dict.fromkeys(place_label(boat, repair.place) for repair in state.done)
    others = [place for place in before if place not in cured]
    also = f" Worked on before that: {listed(others)}." if others else ""
    text = f"{boat.name} is mended, and it is proved: it was {listed(cured)}.{also} Unplug every pack when you stop."
    turn.conclude("mended", text, Ending.MENDED)


def _not_cured(turn: Turn) -> str | None:
    """Go on with the other repairs of the verdict, or with a new hunt."""
    left = left_over(turn)
    if len(turn.state.done) >= MAX_REPAIRS:
        turn.show("enough", "That is enough for one day at the water.")
        note_down(turn)
        return None
    if left:
        turn.show("not-cured", "That did not cure it.")
        offer(turn)
        return None
    return hunt_again(turn)


def hunt_again(turn: Turn) -> str | None:
    """Start a new hunt with what was seen since the repair; return where to go on."""
    state = turn.state
    node = narrow_node(turn.setup, state)
    if not node:
        ask_last_words(turn, "That did not cure it, and nothing else is left to mend.")
        return None
    of_two = state.verdict is not None and state.verdict.is_of_two
    _begin_anew(turn)
    turn.show("again", _STILL_SECOND if of_two else _SOMETHING_ELSE)
    return node


def _begin_anew(turn: Turn) -> None:
    turn.state = replace(turn.state, verdict=None, repairing=None, tried=(), last=None, complaint=None)


def ask_last_words(turn: Turn, text: str) -> None:
    """Say plainly that nothing was found, and keep the person's own words."""
    left = left_over(turn)
    verdict = turn.state.verdict
    if verdict is not None and verdict.outcome is Outcome.UNCAUGHT:
        turn.show("verdict", in_vain_text(turn.setup.boat, verdict, turn.state.evidence))
        text = ""
    elif verdict is not None:
        turn.show(
            "verdict",
            verdict_text(turn.setup.boat, replace(verdict, outcome=Outcome.UNKNOWN), left[:_OFFERED]),
        )
    if text:
        turn.show("unknown", text)
    ask = Ask(
        id="last-words",
        text="In your own words, for the bench: what does the boat do, and when? (Enter for nothing)",
        want=Want.TEXT,
        default="",
        why="When it happens is often the useful half: only on the water, or only after rain.",
        how="A sentence or two; they are kept with the case.",
    )
    turn.present(ask, Purpose.LAST_WORDS)


def last_words_answered(turn: Turn, _ask: Ask, given: Given) -> str | None:
    """Keep the words and end."""
    if isinstance(given, Said) and given.text:
        turn.state = replace(turn.state, notes=(*turn.state.notes, given.text))
    text = "Not found. What was read is kept; leave every pack unplugged."
    turn.conclude("not-found", text, Ending.UNKNOWN, repairs=left_over(turn))
    return None
