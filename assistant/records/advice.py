"""What the bench is told beyond the findings: what to bring, the steps with their cautions, what to undo."""

from collections.abc import Iterator, Sequence
from dataclasses import dataclass
from typing import Final

from assistant.catalogue import Action, Group
from assistant.diagnosis import RepairId, SignQuery, SignSeen
from assistant.dialogue import Occasion, RepairLeft
from assistant.dialogue.answers import UNIT_OF, plain
from assistant.dialogue.roles import in_group
from assistant.dialogue.words import listed, place_label, reading_text, sign_text, work_text
from assistant.records.lines import Contents, Remark, RemarkKind
from assistant.records.replay import Replay
from assistant.records.words import (
    band_words,
    kind_words,
    lead_words,
    size_words,
    state_words,
)
from assistant.wiring import Boat, JointKind, described_parts, label_of, lead_of

__all__ = ["Step", "Undo", "bring", "cautions_for", "proof_of", "steps_of", "undo_of"]

TEMPORARY: Final = "temporary"
"""First word of a note, typed during the hunt, that records a temporary repair."""

# Common practice, no source; wires and fuses: short-circuit currents computed from cell and lead resistance.
_HAZARDS: Final = {
    Group.FUSE: (
        "No fuse protects the wire behind it now: at a short it glows within seconds. Fit the fuse again "
        "before the pack goes in for anything but a test."
    ),
    Group.SWITCH: (
        "It cannot be switched off there any more: only pulling the pack's plug stops the boat. Propellers "
        "and intakes clear when the pack goes in."
    ),
    Group.RELAY: (
        "It stays on whatever the transmitter says: only pulling the pack's plug stops the boat. Propellers "
        "and intakes clear when the pack goes in."
    ),
    Group.CONVERTER: (
        "What it fed may get the full volts of the pack, which destroys receivers and servos. Undo it before "
        "the pack goes in."
    ),
}
_HAZARD: Final = (
    "A makeshift joint works loose, gets wet and heats up under load. Do not run it unwatched, and do not "
    "leave the pack in."
)

_TOOLS: Final = {
    JointKind.SOLDERED: "soldering iron, solder, heat-shrink for {size}",
    JointKind.CRIMPED: "crimp contact for {size} and the tool made for it",
    JointKind.PLUGGED: "plug contacts for {size}, both halves",
    JointKind.SCREWED: "screwdriver, end sleeve for {size}",
}


@dataclass(frozen=True, slots=True, kw_only=True)
class Step:
    """One thing to do, with the cautions that belong before it."""

    text: str
    cautions: tuple[str, ...] = ()


@dataclass(frozen=True, slots=True, kw_only=True)
class Undo:
    """A temporary repair.

    Attributes
    ----------
    place : label of the place; empty when none was named.
    text : what was done.
    hazard : what it can do until it is undone.
    at : when it was recorded.
    undone : when it was undone; empty while it is not.
    """

    place: str
    text: str
    hazard: str
    at: str
    undone: str


def undo_of(boat: Boat, contents: Contents, turns: Sequence[tuple[str, str]]) -> tuple[Undo, ...]:
    """Return the temporary repairs of a case.

    Parameters
    ----------
    boat
        The boat.
    contents
        The record, for remarks.
    turns
        What was typed during the hunt, with its time: notes that begin with *temporary* count.
    """
    made = [(remark.place, remark.text, remark.at) for remark in contents.remarks if _is_temporary(remark)]
    for typed, at in turns:
        first, _, rest = plain(typed).partition(" ")
        if first == "note" and rest.partition(" ")[0].rstrip(":,") == TEMPORARY:
            words = typed.strip().split(maxsplit=2)[2:]
            made.append((_named_in(boat, rest), " ".join(words), at))
    undone = {remark.place: remark.at for remark in contents.remarks if remark.kind is RemarkKind.UNDONE}
    return tuple(
        Undo(
            place=place_label(boat, place),
            text=text,
            hazard=_hazard(boat, place),
            at=at,
            undone=undone.get(place, ""),
        )
        for place, text, at in made
    )


def _is_temporary(remark: Remark) -> bool:
    return remark.kind is RemarkKind.TEMPORARY


def _named_in(boat: Boat, words: str) -> str:
    """Return the part that a note names, the longest name first; empty when it names none."""
    padded = f" {words.replace(':', ' ').replace(',', ' ')} "
    named = [part for part in described_parts(boat) if f" {plain(label_of(boat, part))} " in padded]
    return max(named, key=len, default="")


def _hazard(boat: Boat, place: str) -> str:
    return _HAZARDS.get(boat.parts[place].kind.group, _HAZARD) if place in boat.parts else _HAZARD


def bring(boat: Boat, left: Sequence[RepairLeft]) -> tuple[str, ...]:
    """Return the parts, with their ratings, and the tools that these repairs take; none twice."""
    found: dict[str, None] = {}
    for one in left:
        for repair in (one.repair, *one.follow_ups):
            found.update(dict.fromkeys(_brought(boat, repair)))
    if found:
        found["meter with fused leads"] = None
    return tuple(found)


def _brought(boat: Boat, repair: RepairId) -> Iterator[str]:
    lead = lead_of(boat, repair.place) if repair.place in boat.parts else None
    if lead is not None:
        ends = [int(repair.place[-1])] if "@" in repair.place else [1, 2]
        for joint in dict.fromkeys(lead.joints[end - 1] for end in ends):
            yield _TOOLS[joint].format(size=size_words(lead.area_mm2))
        if "@" not in repair.place:
            yield f"wire {lead_words(lead)} for {label_of(boat, repair.place)}"
    elif repair.action is Action.CHARGE:
        yield f"charger made for {', '.join(kind_words(boat.parts[repair.place]))}"
    elif repair.action in {Action.REPLACE, Action.FIT} and repair.place in boat.parts:
        yield f"{label_of(boat, repair.place)}: {', '.join(kind_words(boat.parts[repair.place]))}"
    elif repair.action is Action.DRY:
        yield "fresh water, dry warmth, contact grease"


def steps_of(case: Replay, left: Sequence[RepairLeft], undo: Sequence[Undo]) -> tuple[Step, ...]:
    """Return what to do at the bench, in order: make it dead, undo, mend the likeliest first."""
    boat = case.setup.boat
    open_undo = [one for one in undo if not one.undone]
    if not left and not open_undo:
        return ()
    packs = listed(place_label(boat, pack) for pack in in_group(boat, Group.PACK)) or "every supply"
    steps = [Step(text=f"Unplug {packs}; the boat stays dead until the proof.", cautions=_due(case, ()))]
    steps += [
        Step(text=f"Undo the temporary repair at {one.place or 'the boat'}: {one.text}. {one.hazard}")
        for one in open_undo
    ]
    several = len(left) > 1
    for number, one in enumerate(left, start=1):
        again = "If that was not it: " if several and number > 1 else ""
        text = f"{again}{one.label}: {work_text(boat, one)}"
        steps.append(Step(text=text[0].upper() + text[1:], cautions=cautions_for(case, one)))
        if several:
            steps.append(Step(text="Prove it as below before going on to the next."))
    return tuple(steps)


def cautions_for(case: Replay, left: RepairLeft) -> tuple[str, ...]:
    """Return the cautions for a repair: by what is done, and those of the part itself."""
    boat, cautions = case.setup.boat, case.setup.knowledge.cautions
    occasions = []
    places = [
        place for place in (left.repair.place, *(r.place for r in left.follow_ups)) if place in boat.parts
    ]
    groups = {boat.parts[place].kind.group for place in places}
    if Group.FUSE in groups:
        occasions.append(Occasion.REPLACE_FUSE)
    if Group.PACK in groups:
        occasions.append(Occasion.REPLACE_PACK)
    if left.repair.action is Action.CHARGE:
        occasions.append(Occasion.CHARGE)
    named = [cautions[name].text for p in places for name in boat.parts[p].kind.cautions if name in cautions]
    return tuple(dict.fromkeys([*_by_occasion(case, occasions), *named]))


def _due(case: Replay, more: Sequence[Occasion]) -> tuple[str, ...]:
    return tuple(_by_occasion(case, [Occasion.START, Occasion.REPAIR, *more]))


def _by_occasion(case: Replay, occasions: Sequence[Occasion]) -> Iterator[str]:
    for caution in case.setup.knowledge.cautions.values():
        if set(occasions) & set(caution.on):
            yield caution.text


def proof_of(case: Replay, left: Sequence[RepairLeft]) -> tuple[Step, ...]:
    """Return the readings and signs that prove each repair, then that the trouble itself must be gone."""
    if not left:
        return ()
    graph = case.setup.knowledge.symptoms[case.contents.header.symptom]
    last = (
        f"Try what was wrong in the first place: “{graph.title}” must be gone, and stay gone while each plug "
        "is pushed."
    )
    texts = [*dict.fromkeys(text for one in left if (text := _proof_text(case, one))), last]
    cautions = tuple(_by_occasion(case, [Occasion.PLUG_IN, Occasion.SWITCH_ON, Occasion.RUN]))
    return tuple(Step(text=text, cautions=() if number else cautions) for number, text in enumerate(texts))


def _proof_text(case: Replay, left: RepairLeft) -> str:
    """Return what proves a repair, and what a healthy boat shows there; empty when nothing does."""
    diagnosis, boat = case.setup.diagnosis, case.setup.boat
    states = tuple(dict.fromkeys(state for _, state in case.states)) or None
    belief = diagnosis.belief(case.state.evidence, case.state.lately)
    step = diagnosis.proof(left.repair, belief, state=case.state.boat_state, states=states)
    if step is not None and step.measurement is not None and step.band is not None:
        unit = UNIT_OF[step.measurement.function]
        asked = reading_text(boat, step.measurement).removesuffix(" What does it show?")
        shown = band_words(step.band, unit)
        state = step.measurement.state
    elif step is not None and step.query is not None:
        asked = sign_text(boat, step.query, (step.query.part,))
        shown, state = _healthy_words(case, step.query), step.query.state
    else:
        return ""
    label = left.label[:1].upper() + left.label[1:]
    return f"{label}. Set: {state_words(boat, state)}. {asked} A healthy boat: {shown}."


def _healthy_words(case: Replay, query: SignQuery) -> str:
    """Return the words for the level that speaks most for a healthy boat."""
    diagnosis, levels = case.setup.diagnosis, case.setup.diagnosis.levels(query)

    def health(level: str) -> float:
        seen = SignSeen(query=query, levels=(level,))
        return diagnosis.verdict(diagnosis.belief((seen,)), None).healthy

    return levels[max(levels, key=health)]
