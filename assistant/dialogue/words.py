"""Words for readings, signs, repairs and verdicts."""

from __future__ import annotations

from collections.abc import Iterable, Sequence

from assistant.catalogue import Group, Reach, Side, terminal_of
from assistant.circuit import Measurement, MeterFunction, gap_between
from assistant.circuit.expectation import Band, BandName
from assistant.diagnosis.explain import WRONG
from assistant.diagnosis.model import Outcome, SignQuery, Suspect, Verdict
from assistant.diagnosis.unrest import Unrest
from assistant.dialogue.answers import UNIT_OF, is_bare
from assistant.dialogue.events import Option, RepairLeft
from assistant.dialogue.spans import expected_words, percent
from assistant.quantities import Quantity, Unit, format_quantity, how_often
from assistant.wiring import Boat, Point, label_of, lead_of, point_label, reach_of, terminals_of

FOUR_CAUSES = (
    "No boat of this wiring could show that. It is nearly always one of four things: a probe is not on bare "
    "metal; the meter is on the wrong range or its lead is in the wrong hole; red and black are swapped; the "
    "boat is not set as asked. Check these, then read again. The second reading counts, whatever it is."
)
COMES_AND_GOES = (
    "Stay with it: leave everything as it is, and move one wire and plug after the other while you watch, hands "
    "clear of what turns. "
    "Answer with what shows while the trouble is there. If it does not come back: don't know."
)
_AT_TIMES = (
    "It comes and goes: one good reading clears no place, and mended is only what holds while it is moved."
)
_LIKELY_SECOND = 0.3
_PULSES = (
    "A signal is a short pulse fifty times a second, and on DC volts the meter shows its mean: some tenths of a volt, "
    "more as the stick goes one way and less the other. Nothing at all means no pulses."
)
_CHECK_SECONDS = {Reach.OPEN: 15.0, Reach.BEHIND_COVER: 60.0, Reach.SEALED: 300.0}
"""Rough time to get at a place and look (common practice, no source)."""

_WORK_TOLD = 2
"""Most repairs that are told with the work they want; a longer list would push its own beginning out of sight."""

_RANGES = {
    MeterFunction.DC_VOLTS: "Meter on DC volts",
    MeterFunction.OHMS: "Meter on ohms, pack unplugged",
    MeterFunction.CONTINUITY: "Meter on beeper, pack unplugged",
    MeterFunction.DIODE_TEST: "Meter on diode test, pack unplugged",
    MeterFunction.DC_AMPS: "Meter on DC amps, largest range, red lead in its hole",
    MeterFunction.AC_MILLIVOLTS: "Meter on AC millivolts",
    MeterFunction.DUTY: "Meter on duty (%)",
    MeterFunction.FREQUENCY: "Meter on frequency (Hz)",
    MeterFunction.LAMP: "Test lamp in the place of the meter",
}


def reading_text(boat: Boat, measurement: Measurement) -> str:
    """Return what to do for a reading, and what is asked of it."""
    asked = "How bright is it?" if measurement.function is MeterFunction.LAMP else "What does it show?"
    return f"{placing_text(boat, measurement)} {asked}"


def placing_text(boat: Boat, measurement: Measurement) -> str:
    """Return where to put the meter, or the test lamp, for a reading."""
    red, black = point_label(boat, measurement.red), point_label(boat, measurement.black)
    gap = gap_between(boat, measurement.red, measurement.black) if measurement.function.is_inserted else None
    opened = "" if gap is None else f"While every pack is unplugged: {_opening(boat, gap.place)} "
    then = "" if gap is None else " Then set the boat as it says."
    ranged = _RANGES[measurement.function]
    if measurement.function is MeterFunction.LAMP:
        return f"{ranged}: one tip on {red}, the other on {black}."
    return f"{opened}{ranged}: red probe on {red}, black probe on {black}.{then}"


def taken_out_text(boat: Boat, measurement: Measurement) -> str:
    """Return how the boat becomes again what it was after a reading for which something was opened."""
    gap = gap_between(boat, measurement.red, measurement.black)
    closed = "" if gap is None else f", and {_closing(boat, gap.place)}"
    return (
        f"Unplug every pack first. Put the red lead back into the volts hole{closed}, before anything else."
    )


def _opening(boat: Boat, place: str) -> str:
    """Return what to do so that the meter can take the place of something."""
    label = label_of(boat, place)
    if boat.parts[place].kind.group is Group.FUSE:
        return f"pull {label}; the probes go where its two legs were, and the current through the meter."
    return f"open {label}; the probes go on its two sides, held apart, and the current through the meter."


def _closing(boat: Boat, place: str) -> str:
    label = label_of(boat, place)
    if boat.parts[place].kind.group is Group.FUSE:
        return f"push the same {label} home again"
    return f"close {label} as it was"


def sign_text(boat: Boat, query: SignQuery, parts: Sequence[str]) -> str:
    """Return the question for a sign of one or several like parts."""
    spec = boat.parts[query.part].kind.signs[query.sign]
    return sentence(spec.ask.replace("{part}", listed(label_of(boat, part) for part in parts)))


def asked_words(boat: Boat, query: SignQuery) -> str:
    """Return what is looked for in a sign as a short question, without what has to be done before."""
    return sentence(sign_text(boat, query, (query.part,)).rpartition(". ")[2])


def sentence(text: str) -> str:
    """Return text with a capital first letter; names further in keep theirs.

    >>> sentence("plug at drive A")
    'Plug at drive A'
    """
    return text[:1].upper() + text[1:]


def listed(words: Iterable[str]) -> str:
    """Return words joined as people say them.

    >>> listed(["fuse", "switch", "drive"])
    'fuse, switch and drive'
    """
    every = list(words)
    return " and ".join(part for part in (", ".join(every[:-1]), *every[-1:]) if part)


def probing(boat: Boat, measurement: Measurement) -> str:
    """Return how to touch both points of a reading safely."""
    parts = dict.fromkeys(point.part for point in (measurement.red, measurement.black))
    probes = [f"{sentence(label_of(boat, part))}: {boat.parts[part].kind.probe}" for part in parts]
    is_volts = measurement.function is MeterFunction.DC_VOLTS
    if is_volts and any(_is_signal(boat, point) for point in (measurement.red, measurement.black)):
        probes.append(_PULSES)
    return " ".join(probes)


def lamp_option(level: str) -> Option:
    """Return what a test lamp shows, as an answer."""
    text, says = {
        "dark": ("it stays dark", ("off", "out", "no light")),
        "dim": ("it glows dimly", ("faint", "weak", "weakly", "glows", "half")),
        "bright": ("it is bright", ("lit", "on", "full", "it lights", "lights")),
    }[level]
    return Option(key=level, text=text, says=says)


def _is_signal(boat: Boat, point: Point) -> bool:
    """Tell whether a point is the signal pin of a socket or device."""
    terminal = None if point.part in boat.leads else terminal_of(boat.parts[point.part].kind, point.terminal)
    return terminal is not None and terminal.side is Side.SIGNAL


def echo(quantity: Quantity, measurement: Measurement, band: Band | None, typed: str = "") -> str:
    """Return what was understood, and how it stands to what a healthy boat shows.

    Parameters
    ----------
    typed : what was typed; a bare number that would be healthy in millivolts may have been meant so.
    """
    read = "OL" if quantity.is_overload else format_quantity(quantity, digits=6)
    if band is None:
        return f"I read {read}."
    name = band.name(quantity.value)
    unit = UNIT_OF[measurement.function]
    if name is BandName.AS_EXPECTED:
        return f"I read {read}: as expected."
    said = f"I read {read}: {name}; a healthy boat shows {expected_words(band, unit)}."
    if unit is Unit.VOLT and is_bare(typed) and band.name(quantity.value * 1e-3) is BandName.AS_EXPECTED:
        said += f" If the display said mV, type back, then {typed.strip()} mV."
    return said


def check_seconds(boat: Boat, place: str) -> float:
    """Return the rough time to get at a part, wire or joint and look at it."""
    lead = lead_of(boat, place)
    if lead is not None and "@" in place:
        points = [Point(part=lead.id, terminal=place[-1])]
    elif lead is not None:
        points = [Point(part=lead.id, terminal=end) for end in ("1", "2")]
    else:
        points = [Point(part=place, terminal=name) for name in terminals_of(boat, place)]
    return min(
        (_CHECK_SECONDS[reach_of(boat, point)] for point in points), default=_CHECK_SECONDS[Reach.OPEN]
    )


def repair_left(boat: Boat, suspect: Suspect, others: Sequence[Suspect]) -> RepairLeft:
    """Return a suspect as a repair, with its place, words and remedy, and its causes among the others."""
    place = suspect.repair.place
    lead = lead_of(boat, place) if place in boat.parts else None
    return RepairLeft(
        repair=suspect.repair,
        probability=suspect.probability,
        label=place_label(boat, place),
        ends=(str(lead.ends[0]), str(lead.ends[1])) if lead else None,
        modes=suspect.modes,
        remedy=_remedy(boat, suspect),
        cause_first=tuple(one.repair for one in others if suspect.repair in one.follow_ups),
        follow_ups=suspect.follow_ups,
        check_seconds=check_seconds(boat, place) if place in boat.parts else _CHECK_SECONDS[Reach.OPEN],
    )


def place_label(boat: Boat, place: str) -> str:
    """Return what a person calls a place; places that are no part of the wiring keep their own name."""
    return label_of(boat, place) if place in boat.parts else place


def _remedy(boat: Boat, suspect: Suspect) -> str:
    for mode in suspect.modes:
        fault = boat.parts[mode.part].kind.faults.get(mode.mode) if mode.part in boat.parts else None
        if fault is not None and mode.part == suspect.repair.place:
            return fault.remedy
    return sentence(f"{suspect.repair.action} it.")


def says(boat: Boat, left: RepairLeft) -> str:
    """Return place and trouble in words."""
    for mode in left.modes:
        fault = boat.parts[mode.part].kind.faults.get(mode.mode) if mode.part in boat.parts else None
        if fault is not None and mode.part == left.repair.place:
            return f"{left.label}: {fault.says}"
    return left.label


def work_text(boat: Boat, left: RepairLeft) -> str:
    """Return what to do, the cause before what it brought about."""
    if left.cause_first:
        causes = listed(
            f"{place_label(boat, one.place)}, which may be {WRONG[one.action]}" for one in left.cause_first
        )
        return f"It may have been brought about by something else. Look there first: {causes}. {left.remedy}"
    if not left.follow_ups:
        return left.remedy
    named = listed(f"{one.action} {place_label(boat, one.place)}" for one in left.follow_ups)
    return f"This is the cause, so it comes first: {left.remedy} Only then: {named}, or that will fail again."


def verdict_text(
    boat: Boat,
    verdict: Verdict,
    left: Sequence[RepairLeft],
    *,
    again: bool = False,
    at_times: bool = False,
) -> str:
    """Return the verdict with what is left, in order.

    Parameters
    ----------
    again : whether a repair of it was tried and did not cure.
    at_times : whether the trouble comes and goes.
    """
    lines = ["What is left of them:" if again else _headline(verdict)]
    if verdict.is_of_two and left and verdict.outcome in (Outcome.SOLE, Outcome.GROUP):
        lines.append(two_text(boat, verdict, left))
    if at_times and verdict.outcome in (Outcome.SOLE, Outcome.GROUP):
        lines.append(_AT_TIMES)
    for number, one in enumerate(left, start=1):
        first = f"{number}. " if left[1:] else ""
        work = (
            f" {work_text(boat, one)}" if len(left) <= _WORK_TOLD or one.cause_first or one.follow_ups else ""
        )
        lines.append(f"{first}{says(boat, one)} ({percent(one.probability)}).{work}")
    return "\n".join(lines)


def two_text(boat: Boat, verdict: Verdict, left: Sequence[RepairLeft]) -> str:
    """Return that the answers belong to two faults, which of them comes first, and what the second may be."""
    named = left[0].label if len(left) == 1 else "one of these"
    second = ""
    if verdict.second is not None and verdict.second[1] >= _LIKELY_SECOND:
        place = place_label(boat, verdict.second[0].place)
        second = f", most likely at {place} ({percent(verdict.second[1])})"
    return (
        f"These answers do not belong to one fault, but to two. Named first is {named}: mend it, "
        f"then the boat is gone through once more for the second{second}."
    )


def unrest_text(boat: Boat, unrest: Unrest) -> str:
    """Return what goes on and off for ever, and how often."""
    named = [label_of(boat, part) for part in unrest.parts[:_WORK_TOLD]]
    more = len(unrest.parts) - len(named)
    who = listed([*named, f"{more} more"] if more else named)
    return f"With that, {who} would go off and come back {how_often(unrest.turn_s)}."


def _headline(verdict: Verdict) -> str:
    match verdict.outcome:
        case Outcome.SOLE:
            return "Found:"
        case Outcome.HEALTHY:
            return "As far as it was read, the boat is in order."
        case Outcome.UNKNOWN:
            return (
                "I do not know: nothing I can reckon with explains these answers. "
                "What is worth a look, the likeliest for the least trouble first:"
            )
        case _:
            return (
                "It is one of these; no further reading tells them apart. Likeliest and least trouble first:"
            )
