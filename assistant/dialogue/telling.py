"""Taking what a person tells unasked: the questions that make it usable, and back to what was asked."""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from dataclasses import replace

from assistant.catalogue import Group
from assistant.circuit import MeterFunction, gap_between
from assistant.diagnosis import Lately
from assistant.diagnosis.model import Unsteady
from assistant.dialogue import narrowing
from assistant.dialogue.answers import Chosen, Given
from assistant.dialogue.events import Ask, Option, Want
from assistant.dialogue.roles import in_group
from assistant.dialogue.state import Purpose, State, Telling, graph_of
from assistant.dialogue.strip import path_points
from assistant.dialogue.told import (
    evidence_of,
    function_for,
    pairs_for,
    state_words,
    states_by_name,
    understood,
)
from assistant.dialogue.turn import Turn
from assistant.dialogue.words import listed
from assistant.errors import QuantityError
from assistant.quantities import Unit
from assistant.wiring import Point, label_of, point_label

ELSEWHERE = "elsewhere"
_UNITS = {
    "volts": Unit.VOLT,
    "ohms": Unit.OHM,
    "amps": Unit.AMP,
    "% of a servo signal": Unit.RATIO,
    "Hz of a servo signal": Unit.HERTZ,
}
_WHY = {
    "unit": "A number alone may be volts, ohms or amps.",
    "pair": "It is taken at some places only, and says something about the one where it was.",
    "red": "A voltage lies between two points; without both of them it says nothing.",
    "black": "A voltage lies between two points. Against the pack's own minus is not the same as against the part's.",
    "state": "With nothing connected a nearly broken wire shows full volts. A reading counts with its load on.",
}


def begin(turn: Turn, ask: Ask, text: str) -> str | None:
    """Take what was told while `ask` was pending; return the node to go on at, if it moves the dialogue.

    Raises
    ------
    AnswerError
        When it names no reading, sign or place of this boat; nothing has changed then.
    """
    told = understood(turn.setup, turn.state, text)
    if isinstance(told, frozenset):
        turn.state = replace(turn.state, at_hand=told)
        turn.show("told", f"Taken: to try with there is {listed(sorted(told)) or 'nothing'}.")
        return _resume(turn, ask, turn.state.purpose)
    if isinstance(told, Lately):
        turn.state = replace(turn.state, lately=told)
        turn.show("told", "Taken: it makes some places likelier than others.")
        return _resume(turn, ask, turn.state.purpose)
    purpose = turn.state.purpose
    turn.state = replace(turn.state, telling=told, interrupted=ask, interrupted_for=purpose)
    return _go_on(turn)


def told_answered(turn: Turn, ask: Ask, given: Given) -> str | None:
    """Take the answer to a question about what was told."""
    telling = turn.state.telling
    if telling is None or not isinstance(given, Chosen) or given.key == ELSEWHERE:
        turn.show("told", "Then it is left out: without that it could mean too many things.")
        return _leave(turn)
    filled = _filled(turn, telling, ask.id.partition(".told.")[2], given.key)
    if filled is None:
        turn.show("told", "That is no such figure; it is left out.")
        return _leave(turn)
    turn.state = replace(turn.state, telling=filled)
    return _go_on(turn)


def _filled(turn: Turn, telling: Telling, missing: str, key: str) -> Telling | None:
    match missing:
        case "unit":
            try:
                function, value = function_for(telling.figure, _UNITS[key])
            except QuantityError:
                return None
            return replace(telling, function=function, value=value)
        case "pair":
            red, black = (_point(one) for one in key.split())
            return replace(telling, red=red, black=black)
        case "red":
            return replace(telling, red=_point(key))
        case "black":
            return replace(telling, black=_point(key))
        case _:
            return replace(telling, state=states_by_name(turn.setup.boat, turn.state)[key])


def _point(text: str) -> Point:
    part, _, terminal = text.rpartition(".")
    return Point(part=part, terminal=terminal)


def _go_on(turn: Turn) -> str | None:
    """Ask for what is missing, or take the telling as evidence."""
    telling = turn.state.telling
    if telling is None:
        return _leave(turn)
    seen = evidence_of(telling)
    if seen is not None:
        turn.state = replace(turn.state, evidence=(*turn.state.evidence, seen))
        turn.show("told", f"Taken: {_words(turn, telling)}.")
        return _leave(turn)
    missing, text, options = _missing(turn, telling)
    ask = Ask(
        id=f"told.{missing}",
        text=text,
        want=Want.CHOICE,
        options=(*options, Option(key=ELSEWHERE, text="something else, or I do not know")),
        why=_WHY[missing],
        how="Choose what is true of the reading or sign you told; when you do not know, say so.",
    )
    # A confirmation that was pending has a question behind it, which must still be there when it is put again.
    behind = turn.state.wanted, turn.state.wanted_for
    turn.present(ask, Purpose.TOLD)
    turn.state = replace(turn.state, wanted=behind[0], wanted_for=behind[1])
    return None


def _missing(turn: Turn, telling: Telling) -> tuple[str, str, tuple[Option, ...]]:
    """Return what has to be asked next about a telling: its name, the question and its options."""
    boat = turn.setup.boat
    if telling.figure and telling.function is None:
        units = tuple(Option(key=key, text=key) for key in _UNITS)
        return "unit", f"{telling.figure} of what?", units
    pairs = pairs_for(boat, telling.function)
    if telling.figure and telling.red is None and pairs is not None:
        return "pair", f"{telling.figure}: where was that?", tuple(_pair_options(turn, telling, pairs))
    if telling.figure and telling.red is None:
        points = path_points(boat, turn.state.parts.get(graph_of(turn.setup, turn.state.symptom).focus, ()))
        options = tuple(Option(key=str(p), text=point_label(boat, p)) for p in points)
        return "red", f"{telling.figure} at which point?", options
    if telling.figure and telling.black is None:
        minus = [Point(part=pack, terminal="-") for pack in in_group(boat, Group.PACK)]
        own = [p for p in _own_minus(turn, telling.red) if p not in minus]
        options = tuple(Option(key=str(p), text=point_label(boat, p)) for p in (*minus, *own))
        return "black", f"{telling.figure} against which point, where was the black probe?", options
    named = {state: name for name, state in reversed(list(states_by_name(boat, turn.state).items()))}
    options = tuple(Option(key=name, text=state_words(boat, state)) for state, name in named.items())
    what = telling.figure or f"{label_of(boat, telling.part)}: {' or '.join(telling.levels)}"
    return "state", f"{what}: how was the boat set when that showed?", options


def _pair_options(turn: Turn, telling: Telling, pairs: Sequence[tuple[Point, Point]]) -> Iterator[Option]:
    """Yield the places of a function that has its places only, those on the way to the device where there are any."""
    boat = turn.setup.boat
    way = set(path_points(boat, turn.state.parts.get(graph_of(turn.setup, turn.state.symptom).focus, ())))
    near = [pair for pair in pairs if not way.isdisjoint(pair)]
    for red, black in near or pairs:
        gap = gap_between(boat, red, black) if telling.function is MeterFunction.DC_AMPS else None
        between = f"{point_label(boat, red)} to {point_label(boat, black)}"
        text = between if gap is None else f"in the place of {label_of(boat, gap.place)}"
        yield Option(key=f"{red} {black}", text=text)


def _own_minus(turn: Turn, red: Point | None) -> tuple[Point, ...]:
    if red is None or red.part not in turn.setup.boat.parts:
        return ()
    terminals = turn.setup.boat.parts[red.part].kind.terminals
    return tuple(Point(part=red.part, terminal=name) for name in ("-", "coil-", "batt-") if name in terminals)


def _words(turn: Turn, telling: Telling) -> str:
    boat = turn.setup.boat
    if not telling.figure:
        words = boat.parts[telling.part].kind.signs[telling.sign].words
        shown = " or ".join(words.get(level, level) for level in telling.levels)
        return f"{label_of(boat, telling.part)}, {shown}"
    if telling.red is None or telling.black is None:
        return telling.figure
    gap = gap_between(boat, telling.red, telling.black) if telling.function is MeterFunction.DC_AMPS else None
    if gap is not None:
        return f"{telling.figure} through {label_of(boat, gap.place)}"
    return f"{telling.figure} from {point_label(boat, telling.red)} to {point_label(boat, telling.black)}"


def _leave(turn: Turn) -> str | None:
    """Go back to the question that was pending."""
    ask, purpose = turn.state.interrupted, turn.state.interrupted_for
    turn.state = replace(turn.state, telling=None, interrupted=None, interrupted_for=None)
    return None if ask is None else _resume(turn, ask, purpose)


def _resume(turn: Turn, ask: Ask, purpose: Purpose | None) -> str | None:
    """Put the interrupted question again, unless what was told answers it or makes another one better."""
    state = turn.state
    if purpose is Purpose.STEP:
        turn.state = replace(state, steps=state.steps - 1, pending=None)
        return narrowing.go_on(turn)
    if purpose is Purpose.NODE and _answered(state, ask):
        turn.state = replace(state, path=state.path[:-1], pending=None)
        return state.node
    named = ask.named(turn.name(ask.id.partition(".")[2]))
    turn.events.append(named)
    turn.state = replace(state, pending=named, purpose=purpose)
    return None


def _answered(state: State, ask: Ask) -> bool:
    had = {piece.asked for piece in state.evidence if not isinstance(piece, Unsteady)}
    return ask.asked in had
