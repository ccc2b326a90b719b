"""Words of a drill: readings, signs, boat states, marks and the debrief."""

from __future__ import annotations

from collections.abc import Sequence

from assistant.circuit import BoatState, Measurement, MeterFunction
from assistant.diagnosis import SignQuery, Step
from assistant.dialogue.answers import UNIT_OF
from assistant.dialogue.states import words_for
from assistant.dialogue.told import state_words as from_ready
from assistant.dialogue.words import place_label, sentence
from assistant.drill.judging import Mark, Shake, What
from assistant.drill.rig import Display
from assistant.quantities import show
from assistant.wiring import Boat, Point, Setting, label_of, point_label, settings_of

_METER = {
    MeterFunction.DC_VOLTS: "volts",
    MeterFunction.OHMS: "ohms",
    MeterFunction.CONTINUITY: "beep",
    MeterFunction.DIODE_TEST: "diode",
}


def sign_words(boat: Boat, query: SignQuery, level: str) -> str:
    """Return what a part shows."""
    words = boat.parts[query.part].kind.signs[query.sign].words.get(level, level)
    return f"{label_of(boat, query.part)}, {query.sign}: {words}"


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
    what = step.measurement or step.query
    if what is None:
        return ""
    return f"{sentence(what_words(boat, what))}, {from_ready(boat, what.state)}."


def display_words(boat: Boat, what: Measurement, display: Display, *, comes_and_goes: bool) -> str:
    """Return what the meter showed."""
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


def boat_text(boat: Boat, points: Sequence[Point], settings: Sequence[Setting]) -> str:
    """Return what there is on a boat: its wiring, points to touch and things to set."""
    runs = [
        f"{point_label(boat, lead.ends[0])} - {point_label(boat, lead.ends[1])}"
        for lead in boat.leads.values()
    ]
    named = [point_label(boat, point) for point in points if point.part not in boat.leads]
    return "\n".join(
        (
            f"Wires: {'; '.join(runs)}.",
            f"Points a probe can reach: {'; '.join(named)}; and wire ends at plugs, screws and crimps.",
            f"To set: {'; '.join(setting.about for setting in settings)}.",
        )
    )


def mark_text(boat: Boat, mark: Mark, made: What) -> str:
    """Return what a check that was made was worth, and what would have been best instead."""
    left = f"{mark.left} {'suspect' if mark.left == 1 else 'suspects'} left"
    text = f"Mark: {mark.worth}; {left}."
    if mark.best is None:
        return f"{text} Nothing more was worth asking: name it."
    if made in (mark.best.measurement, mark.best.query):
        return f"{text} No check would have been better."
    return f"{text} Better instead of it: {step_words(boat, mark.best)} {mark.why}"
