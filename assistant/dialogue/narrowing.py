"""The computed narrowing: the diagnosis proposes a step, a person takes it, until there is an outcome.

Readings and signs already had, and those that cannot be had, are not proposed again, so every step uses one
up and the narrowing ends.  A bound on the number of steps guards against a proposal without end all the same.
"""

from __future__ import annotations

from dataclasses import replace

from assistant.circuit import LAMP_LEVELS, BoatState, Measurement, MeterFunction, is_unplugged, lamp_value
from assistant.diagnosis.model import Barred, Outcome, ReadingSeen, SignSeen, Step, StepKind, Trial, Wiggled
from assistant.dialogue.answers import UNIT_OF, Chosen, Given, Unable, rounding_v
from assistant.dialogue.events import Ask, Option, Want
from assistant.dialogue.graph import Ended, NarrowNode, Occasion
from assistant.dialogue.load_nodes import HOW_BY_FUNCTION
from assistant.dialogue.ports import Belief
from assistant.dialogue.state import Phase, Purpose, Setup, State, graph_of
from assistant.dialogue.states import unplugged
from assistant.dialogue.trying import caution_of, manipulation_of, put_back_text, trial_text
from assistant.dialogue.turn import Turn
from assistant.dialogue.wiggling import CHANGES, wiggle_ask
from assistant.dialogue.words import (
    echo,
    lamp_option,
    probing,
    reading_text,
    sentence,
    sign_text,
    taken_out_text,
)
from assistant.errors import MisuseError
from assistant.quantities import Quantity, Unit
from assistant.wiring import Point, point_label

MAX_STEPS = 40
"""Most steps of all narrowings of a case together."""

_MOST_REFUSED = 30
"""Most proposals turned down for one step: a diagnosis that knows the meter at hand makes none of them."""

_OUT_OF_REACH = {Unable.CANT_REACH, Unable.CANT_REACH_RED, Unable.CANT_REACH_BLACK}
_ENDED = {Outcome.SOLE: Ended.FOUND, Outcome.GROUP: Ended.GROUP, Outcome.HEALTHY: Ended.HEALTHY}


def go_on(turn: Turn) -> str | None:
    """Put the next step, or return the node that follows from the outcome."""
    setup, state = turn.setup, turn.state
    belief = setup.diagnosis.belief(state.evidence, state.lately)
    step = _next(setup, state, belief) if state.steps < MAX_STEPS else None
    verdict = setup.diagnosis.verdict(belief, step)
    if step is not None and verdict.outcome is not Outcome.UNKNOWN:
        turn.state = replace(state, phase=Phase.NARROWING, steps=state.steps + 1)
        why = setup.diagnosis.explain(step, belief)
        turn.present(ask_of(setup, step, f"narrow.{turn.state.steps}", why), Purpose.STEP)
        return None
    if verdict.outcome is Outcome.OPEN:
        verdict = replace(verdict, outcome=Outcome.GROUP if verdict.suspects else Outcome.UNKNOWN)
    turn.state = replace(state, verdict=verdict)
    node = graph_of(setup, state.symptom).nodes[narrow_node(setup, state)]
    if not isinstance(node, NarrowNode):
        raise MisuseError(value=node.id, reason="not a node that narrows", next_step="go on at one that does")
    return node.then[_ENDED.get(verdict.outcome, Ended.UNKNOWN)]


def narrow_node(setup: Setup, state: State) -> str:
    """Return the node last passed that hands over to the diagnosis, or an empty text when none was."""
    nodes = graph_of(setup, state.symptom).nodes
    return next((name for name in reversed(state.path) if isinstance(nodes[name], NarrowNode)), "")


def _next(setup: Setup, state: State, belief: Belief) -> Step | None:
    """Return the best step that may be taken: ohms only ever with every pack unplugged."""
    refused: frozenset[Barred] = state.refused | state.unreachable
    states = states_of(state)
    for _ in range(_MOST_REFUSED):
        step = setup.diagnosis.next_step(
            belief,
            state=state.boat_state,
            last=state.last,
            refused=refused,
            states=states,
            at_hand=state.at_hand,
        )
        asked = None if step is None else step.asked
        if step is None or asked is None or asked in refused:
            return None
        if may_ask(setup, step):
            return step
        refused |= {asked}
    return None


def states_of(state: State) -> tuple[BoatState, ...]:
    """Return the boat states in which steps may be taken: those the graph names, each once."""
    return tuple(dict.fromkeys(boat_state for _, boat_state in state.states))


def may_ask(setup: Setup, step: Step) -> bool:
    """Tell whether the meter at hand can do it, and whether no pack is plugged in where that would harm."""
    watched = step.wiggle.watched if step.wiggle else None
    measurement = watched if isinstance(watched, Measurement) else step.measurement
    if measurement is None:
        return True
    function, state = measurement.function, measurement.state
    harmless = not function.is_dead or is_unplugged(setup.boat, state)
    return (function in setup.functions or function is MeterFunction.LAMP) and harmless


def ask_of(setup: Setup, step: Step, name: str, why: str) -> Ask:
    """Return a step of the diagnosis as a question."""
    boat = setup.boat
    if step.kind is StepKind.READ and step.measurement is not None:
        how = setup.knowledge.how(HOW_BY_FUNCTION[step.measurement.function])
        by_level = step.measurement.function is MeterFunction.LAMP
        return Ask(
            id=name,
            text=reading_text(boat, step.measurement),
            want=Want.CHOICE if by_level else Want.READING,
            options=tuple(lamp_option(one) for one in LAMP_LEVELS if by_level),
            measurement=step.measurement,
            band=None if by_level else step.band,
            state=step.measurement.state,
            why=why,
            how=f"{how.text} {probing(boat, step.measurement)}".strip(),
            lesson=how.lesson,
        )
    if step.wiggle is not None:
        return wiggle_ask(setup, step, step.wiggle, name, why)
    if step.query is None:
        raise MisuseError(
            value=step.kind, reason="a step without reading or sign", next_step="give one of them"
        )
    sign = boat.parts[step.query.part].kind.signs[step.query.sign]
    how = setup.knowledge.how("pulled" if sign.unplugged else str(sign.look), "look")
    look = Ask(
        id=name,
        text=sign_text(boat, step.query, (step.query.part,)),
        want=Want.CHOICE,
        options=tuple(Option(key=level, text=words) for level, words in step.levels.items()),
        query=step.query,
        state=step.query.state,
        why=why,
        how=how.text,
        lesson=how.lesson,
    )
    return look if step.query.after is None else _tried(setup, look, step.query.after)


def _tried(setup: Setup, look: Ask, trial: Trial) -> Ask:
    """Return a look with what is changed on the boat for it."""
    caution = caution_of(trial)
    how = setup.knowledge.how("try")
    return replace(
        look,
        text=f"{trial_text(setup.boat, trial)} {look.text}",
        manipulation=manipulation_of(trial),
        how=f"{how.text} {look.how}".strip(),
        cautions=(caution,) if caution in setup.knowledge.cautions else (),
    )


def reading_seen(turn: Turn, measurement: Measurement, given: Quantity) -> ReadingSeen:
    """Return a reading as evidence, no more exact than it was typed."""
    volts = UNIT_OF[measurement.function] is Unit.VOLT
    within = rounding_v(turn.state.answers[-1]) if volts else 0.0
    return ReadingSeen(measurement=measurement, value=given.value, within=within)


def step_answered(turn: Turn, ask: Ask, given: Given) -> str | None:
    """Take the answer to a step; put the next one, or return the node that follows."""
    take(turn, ask, given)
    return go_on(turn)


def take(turn: Turn, ask: Ask, given: Given) -> None:
    """Keep a reading or sign as evidence, or that it cannot be had."""
    state = turn.state
    if isinstance(given, Unable):
        set_aside(turn, ask, given)
        return
    if ask.state is not None:
        state = replace(state, boat_state=ask.state)
    match given:
        case Quantity() if ask.measurement is not None:
            turn.show("read", echo(given, ask.measurement, ask.band, state.answers[-1]))
            seen = reading_seen(turn, ask.measurement, given)
            state = replace(state, evidence=(*state.evidence, seen), last=ask.measurement)
            if ask.measurement.function.is_inserted:
                turn.show("put-back", taken_out_text(turn.setup.boat, ask.measurement))
                state = replace(_lead_moved(turn, state), boat_state=unplugged(turn.setup.boat))
        case Chosen() if ask.measurement is not None:
            lit = ReadingSeen(measurement=ask.measurement, value=lamp_value(given.key))
            state = replace(state, evidence=(*state.evidence, lit), last=ask.measurement)
        case Chosen() if ask.query is not None:
            sign = SignSeen(query=ask.query, levels=(given.key,))
            state = replace(state, evidence=(*state.evidence, sign))
            if ask.query.after is not None:
                turn.show("put-back", put_back_text(turn.setup.boat, ask.query.after))
                state = replace(state, boat_state=unplugged(turn.setup.boat))
        case Chosen() if ask.wiggle is not None:
            wiggled = Wiggled(asked=ask.wiggle, changed=given.key == CHANGES)
            watched = ask.wiggle.watched
            last = watched if isinstance(watched, Measurement) else state.last
            state = replace(state, evidence=(*state.evidence, wiggled), last=last)
        case _:
            raise MisuseError(
                value=ask.id, reason="neither reading nor sign", next_step="check what was asked"
            )
    turn.state = state


def _lead_moved(turn: Turn, state: State) -> State:
    """Return a state in which the red lead may still be in the amps hole: what guards volts is told once more."""
    volts = {caution.id for caution in turn.setup.knowledge.cautions.values() if Occasion.VOLTS in caution.on}
    return replace(state, warned=state.warned - volts)


def set_aside(turn: Turn, ask: Ask, given: Unable) -> None:
    """Keep that a reading or sign cannot be had; a point out of reach is not asked for again in this case."""
    state, asked = turn.state, ask.asked
    if asked is None:
        return
    turn.state = state = replace(state, refused=state.refused | {asked})
    if ask.query is not None and ask.query.after is not None:
        back = put_back_text(turn.setup.boat, ask.query.after)
        turn.show("put-back", f"If anything was changed for it: {back}")
    if ask.measurement is not None and ask.measurement.function.is_inserted:
        turn.show(
            "put-back", f"If anything was opened for it: {taken_out_text(turn.setup.boat, ask.measurement)}"
        )
        turn.state = state = _lead_moved(turn, state)
    if ask.measurement is None or given not in _OUT_OF_REACH:
        return
    point = _out_of_reach(state, ask.measurement, given)
    turn.state = replace(state, unreachable=state.unreachable | {point})
    other, probe = (
        (ask.measurement.black, "black") if point == ask.measurement.red else (ask.measurement.red, "red")
    )
    boat = turn.setup.boat
    turn.show(
        "set-aside",
        f"{sentence(point_label(boat, point))} is set aside: no probe is sent to that point again, but perhaps to one "
        f"beside it. Was it "
        f"{point_label(boat, other)} that you cannot reach? Then type back, and: can't reach {probe}.",
    )


def _out_of_reach(state: State, measurement: Measurement, given: Unable) -> Point:
    """Return which of two points is meant: the one named, or the one no probe has been at yet, first red."""
    if given is Unable.CANT_REACH_BLACK:
        return measurement.black
    touched = {
        point
        for piece in state.evidence
        if isinstance(piece, ReadingSeen)
        for point in (piece.measurement.red, piece.measurement.black)
    }
    known_red = given is Unable.CANT_REACH and measurement.red in touched
    return measurement.black if known_red and measurement.black not in touched else measurement.red
