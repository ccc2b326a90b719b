"""Two cases side by side: where they began alike, which readings changed, where they ended."""

from collections import Counter
from collections.abc import Iterator
from dataclasses import dataclass

from assistant.circuit import Measurement
from assistant.diagnosis import Asked, Evidence, ReadingSeen, Unsteady, Wiggle, Wiggled
from assistant.dialogue.wiggling import change_words, wiggle_words
from assistant.records.replay import Replay
from assistant.records.sheet import headline_of
from assistant.records.words import harmless, moment, reading_words, state_words
from assistant.wiring import label_of, point_label

__all__ = ["Difference", "compare"]

_NONE = "not taken"

_Key = tuple[Asked, int]


@dataclass(frozen=True, slots=True, kw_only=True)
class Difference:
    """A line of the comparison; `same` tells whether both cases agree in it."""

    what: str
    one: str
    other: str
    same: bool


def compare(one: Replay, other: Replay) -> tuple[Difference, ...]:
    """Return the comparison of two cases: facts first, then readings and signs, then the ends."""
    return tuple(_lines(one, other))


def _lines(one: Replay, other: Replay) -> Iterator[Difference]:
    a, b = one.contents.header, other.contents.header
    yield _line("boat", a.boat, b.boat)
    yield _line("begun", moment(a.started), moment(b.started))
    yield _line("symptom", a.symptom, b.symptom)
    yield Difference(
        what="wiring",
        one="as described",
        other="the same" if a.wiring == b.wiring else "another",
        same=a.wiring == b.wiring,
    )
    yield Difference(
        what="knowledge", one=a.knowledge[:8], other=b.knowledge[:8], same=a.knowledge == b.knowledge
    )
    found = [dict(_taken(case)) for case in (one, other)]
    for key in dict.fromkeys([*found[0], *found[1]]):
        # The case that has it is asked, since a point may be in one of the wirings only.
        words = _words(one if key in found[0] else other, key)
        yield _line(words, *(taken.get(key, _NONE) for taken in found))
    yield _line("end", headline_of(one), headline_of(other))


def _line(what: str, one: str, other: str) -> Difference:
    one, other = harmless(one), harmless(other)
    return Difference(what=what, one=one, other=other, same=one == other)


def _taken(case: Replay) -> Iterator[tuple[_Key, str]]:
    """Yield what was read and seen; what was taken again, as after a repair, counts as something else."""
    times: Counter[Asked] = Counter()
    for piece in case.evidence:
        times[piece.asked] += 1
        yield (piece.asked, times[piece.asked]), _shown(case, piece)


def _shown(case: Replay, piece: Evidence) -> str:
    if isinstance(piece, ReadingSeen):
        return f"{reading_words(piece)}, {case.setup.diagnosis.band(piece.measurement).name(piece.value)}"
    if isinstance(piece, Unsteady | Wiggled):
        return change_words(case.setup.boat, piece)[1]
    words = case.setup.diagnosis.levels(piece.query)
    return " or ".join(words.get(level, level) for level in piece.levels)


def _words(case: Replay, key: _Key) -> str:
    (asked, time), boat = key, case.setup.boat
    named = next((name for name, state in case.states if state == asked.state), "")
    state = named or state_words(boat, asked.state)
    state += f", {time}. time" if time > 1 else ""
    if isinstance(asked, Measurement):
        red, black = point_label(boat, asked.red), point_label(boat, asked.black)
        return f"{asked.function}, red {red}, black {black} ({state})"
    if isinstance(asked, Wiggle):
        return f"{wiggle_words(boat, asked)} ({state})"
    return f"{label_of(boat, asked.part)}: {asked.sign} ({state})"
