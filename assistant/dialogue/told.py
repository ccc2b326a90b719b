"""What a person tells without being asked, made usable by asking for exactly what is missing.

People bring readings and signs with them: "12 V", "pump still", "the fuse looks whole".  A figure says something only
with its unit, both points and the load state, so each that is missing is asked for, one question at a time; then the
figure counts like any other answer, and the question that was pending is put again.

What is understood after ``told``:

- a reading: ``6 V from fuse out to pack - in running``, any piece of it may be missing; so amps (``1.2 A at fuse``: the
  meter in its place), ``7.5 %`` and ``50 Hz`` of a servo signal, and ``20 mV AC`` on a rail;
- a sign: ``pump turning still in running``, or as many of the words as leave one meaning, and ``still or weakly`` where
  more than one level would do;
- what was last touched, moved, swapped or bought: ``touched fuse, pack``; what was replaced without cure: ``replaced
  relay``; and that water came in: ``wet``;
- what there is to try with: ``have spare fuse, bypass lead``, ``have no spare fuse``, ``have nothing``.
"""

from __future__ import annotations

import re
from collections.abc import Iterator, Mapping, Sequence
from dataclasses import replace

from assistant.circuit import (
    BoatState,
    Measurement,
    MeterFunction,
    gaps_of,
    is_unplugged,
    ready_state,
    rest_state,
)
from assistant.diagnosis import Lately
from assistant.diagnosis.further import rail_pairs, signal_pairs
from assistant.diagnosis.model import AtHand, Evidence, ReadingSeen, SignQuery, SignSeen
from assistant.diagnosis.signs import sign_levels
from assistant.dialogue.answers import BEEPS, is_bare, plain, rounding_v
from assistant.dialogue.state import Setup, State, Telling
from assistant.dialogue.states import changes_between, unplugged
from assistant.errors import AnswerError, QuantityError
from assistant.quantities import Unit, parse_quantity
from assistant.wiring import Boat, Point, label_of, point_label, points_of

_FUNCTION_OF = {
    Unit.VOLT: MeterFunction.DC_VOLTS,
    Unit.OHM: MeterFunction.OHMS,
    Unit.AMP: MeterFunction.DC_AMPS,
    Unit.RATIO: MeterFunction.DUTY,
    Unit.HERTZ: MeterFunction.FREQUENCY,
}
_HINT = "as in: told 6 V from fuse out to pack - in running"
_READY, _REST, _UNPLUGGED = "ready", "rest", "unplugged"
_FIGURE = re.compile(r"(?P<number>[-+]?[0-9.,]+)\s*(?P<unit>[a-zA-ZΩ%]*(?:\s+[aA][cC]\b)?)")
_AC = re.compile(r"\s*(?<=[vV\s])[aA][cC]$")


def understood(setup: Setup, state: State, text: str) -> Telling | Lately | frozenset[AtHand]:
    """Return what a person told.

    Raises
    ------
    AnswerError
        When it names no reading, sign or place of this boat.
    """
    first, _, rest = text.strip().partition(" ")
    word = plain(first)
    if word == "wet" and not rest:
        return replace(state.lately, wet=True)
    if word == "have":
        return _at_hand(state, rest)
    if word == "touched":
        return replace(state.lately, touched=state.lately.touched | set(_places(setup.boat, rest)))
    if word == "replaced":
        return replace(state.lately, replaced=state.lately.replaced | set(_places(setup.boat, rest)))
    body, boat_state = _with_state(setup.boat, state, text.strip())
    if _FIGURE.match(body) or _beep(body):
        return _reading(setup.boat, body, boat_state)
    return _sign(setup.boat, body, boat_state)


def evidence_of(telling: Telling) -> Evidence | None:
    """Return a telling as evidence, or None while something is missing."""
    if telling.state is None:
        return None
    if not telling.figure:
        query = SignQuery(part=telling.part, sign=telling.sign, state=telling.state)
        return SignSeen(query=query, levels=telling.levels)
    if telling.function is None or telling.red is None or telling.black is None:
        return None
    measurement = Measurement(
        function=telling.function, red=telling.red, black=telling.black, state=telling.state
    )
    rounded = telling.function in (MeterFunction.DC_VOLTS, MeterFunction.DC_AMPS)
    within = rounding_v(telling.figure) if rounded else 0.0
    return ReadingSeen(measurement=measurement, value=telling.value, within=within)


def states_by_name(boat: Boat, state: State) -> Mapping[str, BoatState]:
    """Return the boat states that can be told by a name: those of the symptom's graph, and two that always exist."""
    always = {_UNPLUGGED: unplugged(boat), _READY: ready_state(boat)}
    return {**always, **dict(state.states)}


def state_words(boat: Boat, state: BoatState) -> str:
    """Return a boat state in words."""
    if is_unplugged(boat, state):
        return "with every pack unplugged"
    changes = changes_between(boat, ready_state(boat), state)
    if not changes:
        return "plugged in and switched on, nothing running"
    return "; ".join(change.text for change in changes)


def function_for(figure: str, unit: Unit) -> tuple[MeterFunction, float]:
    """Return the function and the value of a figure, read in a unit.

    Raises
    ------
    QuantityError
        When it cannot be read so.
    """
    if unit is Unit.VOLT and _AC.search(figure):
        return MeterFunction.AC_MILLIVOLTS, parse_quantity(_AC.sub("", figure), unit).value
    text = f"{figure} %" if unit is Unit.RATIO and is_bare(figure) else figure
    return _FUNCTION_OF[unit], parse_quantity(text, unit, allow_overload=unit is Unit.OHM).value


def _reading(boat: Boat, body: str, state: BoatState | None) -> Telling:
    figure, points = _split_figure(body)
    telling = Telling(figure=figure, state=state)
    if figure in BEEPS:
        telling = replace(telling, function=MeterFunction.CONTINUITY, value=BEEPS[figure])
    else:
        telling = _with_unit(telling)
    if telling.function is not None and telling.function.is_dead and state is None:
        telling = replace(telling, state=unplugged(boat))
    red, black = _points(boat, points, telling.function)
    pairs = pairs_for(boat, telling.function)
    if red is not None and pairs is not None and (black is None or {red, black} not in map(set, pairs)):
        raise AnswerError(
            value=points,
            reason=f"no two points where I can set {telling.function} against this wiring",
            next_step=f"type: told {figure}; it then asks where",
        )
    return replace(telling, red=red, black=black)


def pairs_for(boat: Boat, function: MeterFunction | None) -> tuple[tuple[Point, Point], ...] | None:
    """Return where a function can be worked out, red first; None for one that is read between any two points."""
    match function:
        case MeterFunction.DC_AMPS:
            return tuple((gap.red, gap.black) for gap in gaps_of(boat))
        case MeterFunction.DUTY | MeterFunction.FREQUENCY:
            return tuple(signal_pairs(boat))
        case MeterFunction.AC_MILLIVOLTS:
            return tuple(rail_pairs(boat))
        case _:
            return None


def _with_unit(telling: Telling) -> Telling:
    if plain(telling.figure).replace(".", "") in ("ol", "0l"):
        return replace(telling, function=MeterFunction.OHMS, value=float("inf"))
    named = _FIGURE.fullmatch(telling.figure)
    if named is None or not named["unit"]:
        return telling
    for unit in _FUNCTION_OF:
        try:
            function, value = function_for(telling.figure, unit)
        except QuantityError:
            continue
        return replace(telling, function=function, value=value)
    raise AnswerError(
        value=telling.figure,
        reason="I can use volts, ohms, amps, beeps, and % and Hz of a servo signal",
        next_step="keep it with: note " + telling.figure,
    )


def _beep(body: str) -> str:
    return next((word for word in sorted(BEEPS, key=len, reverse=True) if plain(body).startswith(word)), "")


def _split_figure(body: str) -> tuple[str, str]:
    """Return the figure with its unit, and the words about the points."""
    beep = _beep(body)
    if beep:
        return beep, plain(body)[len(beep) :].strip()
    head, found, tail = re.sub(r"\s+(?:at|from|across|through)\s+", " from ", body).partition(" from ")
    return head.strip(), tail.strip() if found else ""


def _points(boat: Boat, words: str, function: MeterFunction | None) -> tuple[Point | None, Point | None]:
    """Return red and black point of words such as ``fuse out to pack -``."""
    words = re.sub(r"^(?:at|from|across|through)\s+", "", words)
    if not words:
        return None, None
    for found in re.finditer(r"\s+(?:to|against|and)\s+", words):
        pair = (_point(boat, words[: found.start()]), _point(boat, words[found.end() :]))
        if None not in pair:
            return pair
    alone = _point(boat, words)
    if alone is not None:
        return alone, None
    opened = [gap for gap in gaps_of(boat) if plain(label_of(boat, gap.place)) == plain(words)]
    if function is MeterFunction.DC_AMPS and len(opened) == 1:
        return opened[0].red, opened[0].black
    over = [p for p in points_of(boat) if plain(label_of(boat, p.part)) == plain(words) or p.part == words]
    if len(over) == 2:
        return over[0], over[1]
    raise AnswerError(value=words, reason="no points of this boat", next_step=_HINT)


def _point(boat: Boat, words: str) -> Point | None:
    spelled = plain(words).removeprefix("the ")
    found = (p for p in points_of(boat) if spelled in (plain(str(p)), plain(point_label(boat, p))))
    return next(found, None)


def _sign(boat: Boat, body: str, state: BoatState | None) -> Telling:
    words = plain(body).replace(":", " ").replace("=", " ").split()
    meanings = list(_meanings(boat, words))
    if len(meanings) == 1:
        part, sign, levels = meanings[0]
        return Telling(part=part, sign=sign, levels=levels, state=state)
    reason = "could mean more than one thing" if meanings else "neither a reading nor a sign of this boat"
    example = f"{meanings[0][0]} {meanings[0][1]} {meanings[0][2][0]}" if meanings else ""
    step = f"say which part, what of it and what it shows, as in: told {example}" if meanings else _HINT
    raise AnswerError(value=body, reason=reason, next_step=step)


def _meanings(boat: Boat, words: Sequence[str]) -> Iterator[tuple[str, str, tuple[str, ...]]]:
    """Yield every part, sign and levels that words such as ``pump turning still`` may mean."""
    said = " ".join(words)
    for part, made in boat.parts.items():
        names = (plain(part), plain(label_of(boat, part)))
        rests = [said[len(name) :].strip() for name in names if said.startswith(name + " ")]
        for rest in dict.fromkeys(rests):
            for sign, spec in made.kind.signs.items():
                known = {plain(level): level for level in sign_levels(spec)}
                said_of = rest.removeprefix(f"{plain(sign)} ")
                levels = tuple(known[word] for word in said_of.split(" or ") if word in known)
                if levels and len(levels) == len(said_of.split(" or ")):
                    yield part, sign, levels


def _with_state(boat: Boat, state: State, text: str) -> tuple[str, BoatState | None]:
    """Return the text without its end ``in <state>``, and that state."""
    body, found, name = text.rpartition(" in ")
    if not found:
        return text, None
    named = states_by_name(boat, state)
    if plain(name) in named:
        return body, named[plain(name)]
    if "=" not in name:
        return text, None
    return body, _spelled_out(boat, name)


def _spelled_out(boat: Boat, text: str) -> BoatState:
    """Return a boat state written as settings: ``pack.plugged=1 throttle=0.5``; the rest is at rest."""
    base = rest_state(boat)
    known = dict(base.pairs)
    given: dict[str, float] = {}
    for word in text.split():
        key, _, value = word.partition("=")
        if key not in known:
            raise AnswerError(
                value=word, reason="no setting of this boat", next_step=f"one of: {', '.join(known)}"
            )
        try:
            given[key] = float(value)
        except ValueError as error:
            raise AnswerError(value=word, reason="no number", next_step="give 0, 1 or -1") from error
    return base.with_(given)


def _at_hand(state: State, words: str) -> frozenset[AtHand]:
    """Return what there is to try with after ``have spare fuse, no bypass lead`` or ``have nothing``."""
    found = state.at_hand or frozenset()
    for word in map(plain, words.split(",")):
        name = word.removeprefix("no ").removeprefix("a ")
        if name == "nothing":
            found = frozenset()
        elif name in set(AtHand):
            found = found - {AtHand(name)} if word.startswith("no ") else found | {AtHand(name)}
        else:
            step = f"as in: told have {', '.join(AtHand)}; or: told have nothing"
            raise AnswerError(value=word, reason="nothing I know how to try with", next_step=step)
    return found


def _places(boat: Boat, words: str) -> Iterator[str]:
    for word in (one.strip() for one in words.split(",")):
        found = [part for part in boat.parts if plain(word) in (plain(part), plain(label_of(boat, part)))]
        if not found:
            raise AnswerError(
                value=word, reason="no part or lead of this boat", next_step="as in: told touched fuse"
            )
        yield found[0]
