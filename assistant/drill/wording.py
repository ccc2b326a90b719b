"""Words of a drill: readings, signs, boat states, marks and the debrief."""

from __future__ import annotations

from collections.abc import Iterator, Mapping, Sequence
from dataclasses import replace
from math import isnan, nan

from assistant.catalogue import Action, Group, Look
from assistant.circuit import BoatState, Measurement, MeterFunction
from assistant.diagnosis import SignQuery, Step
from assistant.dialogue.answers import UNIT_OF
from assistant.dialogue.states import words_for
from assistant.dialogue.told import state_words as from_ready
from assistant.dialogue.words import asked_words, place_label, sentence
from assistant.drill.judging import Mark, Shake, What, asked_by
from assistant.drill.rig import Display
from assistant.quantities import how_often, show
from assistant.wiring import (
    Boat,
    Lead,
    Point,
    Setting,
    SettingSort,
    described_parts,
    label_of,
    point_label,
    settings_of,
)

_METER = {
    MeterFunction.DC_VOLTS: "volts",
    MeterFunction.OHMS: "ohms",
    MeterFunction.CONTINUITY: "beep",
    MeterFunction.DIODE_TEST: "diode",
    MeterFunction.DC_AMPS: "amps in series",
    MeterFunction.AC_MILLIVOLTS: "ripple",
    MeterFunction.DUTY: "duty",
    MeterFunction.FREQUENCY: "hertz",
    MeterFunction.LAMP: "test lamp",
}
_MENDING: Mapping[Action, str] = {
    Action.REPLACE: "fit a new one",
    Action.REMAKE: "clean it and make the contact anew",
    Action.CHARGE: "charge it",
    Action.CLEAR: "clear what blocks it",
    Action.SET: "set it as it should be",
    Action.CONNECT: "connect it as it should be",
    Action.FIT: "fit what is missing or misplaced",
    Action.DRY: "dry it",
}
_SENSES: Mapping[Look, str] = {
    Look.SEE: "look",
    Look.HEAR: "listen",
    Look.FEEL: "feel",
    Look.SMELL: "smell",
}


def sign_words(boat: Boat, query: SignQuery, level: str, turn_s: float = nan) -> str:
    """Return what a part shows; with `turn_s`, how long one turn takes of what never rests, how often it does so."""
    spec = boat.parts[query.part].kind.signs[query.sign]
    rate = "" if isnan(turn_s) or level != spec.restless_level else f", {how_often(turn_s)}"
    return f"{asked_words(boat, query)} {sentence(spec.words.get(level, level))}{rate}"


def state_words(boat: Boat, state: BoatState) -> str:
    """Return how a boat is set."""
    return "; ".join(words_for(setting, state.get(setting.id)) for setting in settings_of(boat))


def what_words(boat: Boat, what: What) -> str:
    """Return a check as a command says it."""
    match what:
        case Measurement():
            red, black = point_label(boat, what.red), point_label(boat, what.black)
            return f"{_METER[what.function]} {red} to {black}"
        case SignQuery():
            return f"look {label_of(boat, what.part)} {what.sign}"
        case Shake():
            return f"wiggle {place_label(boat, what.place)}"


def step_words(boat: Boat, step: Step) -> str:
    """Return a step with the boat state it wants."""
    what = asked_by(step)
    return f"{sentence(what_words(boat, what))}, {from_ready(boat, what.state)}."


def display_words(boat: Boat, what: Measurement, display: Display, *, comes_and_goes: bool) -> str:
    """Return what the meter showed."""
    if display.lacking:
        return f"This meter does not read {what.function}."
    if display.value is None:
        return "The meter shows nothing to go by."
    unit = UNIT_OF[what.function]
    shown = "OL" if display.value == float("inf") else show(display.value, unit)
    text = f"{sentence(what_words(boat, what))}: {shown}"
    if display.other is not None:
        other = "OL" if display.other == float("inf") else show(display.other, unit)
        return f"{text}, and the next moment {other}: it jumps, a contact bounces."
    if not comes_and_goes:
        return f"{text}."
    meanwhile = {
        True: "the trouble showed meanwhile",
        False: "the trouble did not show meanwhile, so it tells nothing",
        None: "as the boat is set nobody can see whether the trouble shows",
    }[display.troubled]
    return f"{text}; {meanwhile}."


def opening_text(boat: Boat, key: str, query: SignQuery, level: str, *, comes_and_goes: bool) -> str:
    """Return what a drill begins with: the trouble, how the boat stands, and what to type."""
    at_times = "At times: " if comes_and_goes else ""
    return (
        f"Drill {key} on {boat.name}. Something is wrong: find it, mend it, prove it.\n"
        f"Trouble: {at_times}{sign_words(boat, query, level)}.\n"
        f"The boat stands as it was tried: {state_words(boat, query.state)}.\n"
        "Type clear first: you hold the boat and see that nothing is near pumps and propellers. Then, as often as you "
        f"like, look (type look {label_of(boat, query.part)}) and measure (type volts pack +); name what is at fault.\n"
        "Type boat for all names, help for all commands, hint when stuck."
    )


def boat_text(boat: Boat, points: Sequence[Point], settings: Sequence[Setting]) -> str:
    """Return what there is on a boat: its wiring, points to touch, things to look at, to set and to name."""
    return "\n".join(
        (
            "Wires:",
            *(f"  {line}" for line in _wires(boat)),
            "Points a probe can reach, such as volts fuse out, or volts fuse in fuse out:",
            *(f"  {line}" for line in _points(boat, points)),
            "  and the wire ends at plugs, screws and crimps",
            "To look at, to feel, to hear:",
            *(f"  {line}" for line in _signs(boat)),
            f"To set: {'; '.join(_setting(setting) for setting in settings)}.",
            f"To name: every part, lead and joint, such as {_places(boat)}.",
        )
    )


def _wires(boat: Boat) -> Iterator[str]:
    """Yield the leads, those that follow each other through a part in one line, and each three-wire lead as one."""
    last: Lead | None = None
    line = ""
    cables: dict[str, str] = {}
    for lead in boat.leads.values():
        one, other = lead.ends
        if lead.cable:
            cables.setdefault(
                lead.cable, f"{lead.cable} lead: {label_of(boat, one.part)} to {label_of(boat, other.part)}"
            )
            continue
        follows = last is not None and _is_through(boat, last.ends[1], one)
        if line and not follows:
            yield line
            line = ""
        start = f"{line}, " if line else ""
        line = f"{start}{point_label(boat, one)} to {point_label(boat, other)}"
        last = lead
    if line:
        yield line
    yield from cables.values()


def _is_through(boat: Boat, one: Point, other: Point) -> bool:
    """Tell whether two points are the two ends of a part that is simply passed through, such as a fuse."""
    through = boat.parts[one.part].kind.through
    return one.part == other.part and {one.terminal, other.terminal} == set(through)


def _points(boat: Boat, points: Sequence[Point]) -> Iterator[str]:
    """Yield the points part by part."""
    for part in described_parts(boat):
        own = [point_label(boat, point) for point in points if point.part == part]
        if own:
            yield ", ".join(own)


def _signs(boat: Boat) -> Iterator[str]:
    for part in described_parts(boat):
        signs = boat.parts[part].kind.signs.items()
        by_sense = {
            sense: [name for name, spec in signs if spec.look is look] for look, sense in _SENSES.items()
        }
        said = [f"{sense} {', '.join(names)}" for sense, names in by_sense.items() if names]
        if said:
            yield f"{label_of(boat, part)}: {'; '.join(said)}"


def _setting(setting: Setting) -> str:
    if setting.sort is SettingSort.CONTROL and not setting.steps:
        ends = [word.removeprefix("fully ") for word in (setting.on_word, setting.off_word)]
        return f"{setting.about} ({', '.join(ends)}, centre, 50 %)"
    return f"{setting.about} ({setting.on_word}, {setting.off_word})"


def _places(boat: Boat) -> str:
    """Return a place of each sort by its name."""
    plain = [lead for lead in boat.leads.values() if not lead.cable]
    cores = [lead for lead in boat.leads.values() if lead.cable]
    shown = [described_parts(boat)[0], *(f"{lead.id}{end}" for lead in plain[:1] for end in ("", "@2"))]
    shown += [f"{lead.id}@2" for lead in cores[:1]]
    return "; ".join(place_label(boat, place) for place in shown)


def name_text(boat: Boat, place: str, actions: Sequence[Action]) -> str:
    """Return what to do now that a place is named."""
    label = place_label(boat, place)
    packs = [
        f"set {setting.about} {setting.off_word}"
        for setting in settings_of(boat)
        if setting.sort is SettingSort.PART
        and boat.parts[setting.id.rpartition(".")[0]].kind.group is Group.PACK
    ]
    unplug = f"Unplug every pack first: {'; '.join(packs)}." if packs else "Switch everything off first."
    ways = [f"  repair {label} {action}: {_MENDING[action]}" for action in actions]
    return "\n".join((f"You name {label}. {unplug} Then mend it:", *ways, "Then type prove."))


def not_shown_text(boat: Boat, place: str, *, nearly: bool) -> str:
    """Return what is asked back when a place is named that the checks do not bear out."""
    label = place_label(boat, place)
    reason = (
        "only one check speaks for it, and that may be a slip"
        if nearly
        else "by your checks it may as well be something else"
    )
    return (
        f"Is {label} shown? So far {reason}. Make another check (suspects lists what is left, hint helps), "
        f"or type name {label} again to stay with it."
    )


def mark_text(boat: Boat, mark: Mark, made: What, *, enough: bool, before: Step | None) -> str:
    """Return what a check that was made was worth, and what would have been best instead.

    Parameters
    ----------
    enough : whether what is known now is enough to name a place.
    before : the step that was told to be best the last time; its reason is not told again.
    """
    left = f"{mark.left} {'suspect' if mark.left == 1 else 'suspects'} left"
    text = f"Mark: {mark.worth}; {left}."
    if mark.best is None:
        return f"{text} Nothing more was worth asking: name it."
    if made == asked_by(mark.best):
        text = f"{text} No check would have been better."
    elif not isinstance(made, Shake) and replace(made, state=asked_by(mark.best).state) == asked_by(
        mark.best
    ):
        text = f"{text} Better was the same with the boat set otherwise: {from_ready(boat, asked_by(mark.best).state)}."
    elif _same(mark.best, before):
        text = f"{text} Better was still: {step_words(boat, mark.best)}"
    else:
        text = f"{text} Better was: {step_words(boat, mark.best)} {mark.why}"
    if enough:
        return f"{text} Your checks are enough now: name it."
    return f"{text} One answer may be a slip: bear it out by another check." if mark.left == 1 else text


def _same(one: Step, other: Step | None) -> bool:
    return other is not None and asked_by(one) == asked_by(other)
