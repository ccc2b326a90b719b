"""Words for a hunt that found nothing: what was looked at, what was not, and how to catch what comes and goes.

Nothing found is no proof.  Whoever reads it must know on which answers it rests, which parts nobody looked at, and what
no look on land can show; and of what did not come while it was watched, no place is named as bad.
"""

from __future__ import annotations

from collections.abc import Iterable, Sequence

from assistant.catalogue import Group, Look, Reach, Side
from assistant.diagnosis.model import Evidence, ReadingSeen, SignQuery, SignSeen, Unsteady, Verdict, Wiggled
from assistant.dialogue.words import listed, place_label, sign_text
from assistant.wiring import Boat, Point, label_of, point_label, reach_of, side_at, terminals_of

_NAMED = 4
_LEAST_KNOWN = 3
_FIRST_TO_MOVE = 6

_USED = frozenset({Group.MOTOR, Group.SERVO, Group.LIGHT, Group.RADIO, Group.RELAY, Group.INSTRUMENT})

_NOT_ON_LAND = (
    "No look on land shows what comes and goes, what only comes with water at the propeller, with warmth, far away or "
    "towards the end of a pack. If it comes back while you watch, answer with: comes and goes."
)

_IN_VAIN = (
    "It did not come while you watched: no look and no reading was amiss, and nothing that was moved changed anything. "
    "So no place is named."
)


def looked_at_text(boat: Boat, verdict: Verdict, evidence: Sequence[Evidence]) -> str:
    """Return on what it rests that a boat is called well, what was left out, and what it cannot say."""
    seen = dict.fromkeys(piece.query for piece in evidence if isinstance(piece, SignSeen))
    read = dict.fromkeys(piece.measurement for piece in evidence if isinstance(piece, ReadingSeen))
    touched = {query.part for query in seen} | {p.part for one in read for p in (one.red, one.black)}
    left_out = [part for part in _in_use(boat) if part not in touched]
    parts = _few(boat, dict.fromkeys(query.part for query in seen))
    lines = [f"{_counted(len(seen), 'look')} and {_counted(len(read), 'reading')}, and none amiss: {parts}."]
    if left_out:
        lines.append(f"Neither looked at nor read: {_few(boat, left_out)}.")
    doubted = [one.repair.place for one in verdict.suspects if one.stands and one.repair.place in boat.parts]
    if doubted:
        first = [place_label(boat, place) for place in dict.fromkeys(doubted)][:_LEAST_KNOWN]
        lines.append(f"They say least about: {listed(first)}.")
    return " ".join([*lines, _NOT_ON_LAND])


def in_vain_text(boat: Boat, verdict: Verdict, evidence: Sequence[Evidence]) -> str:
    """Return that what comes and goes was not caught, and how to catch it: what to watch, what to move first."""
    told = next((piece.asked for piece in evidence if isinstance(piece, Unsteady)), None)
    moved = {piece.asked.place for piece in evidence if isinstance(piece, Wiggled)}
    lines = [_IN_VAIN]
    if isinstance(told, SignQuery):
        lines.append(
            f"To catch it, let it run as when it fails and watch: {sign_text(boat, told, (told.part,))}"
        )
        lines.extend(_clipped(boat, told.part))
    places = _fickle_places(boat, verdict)[:_FIRST_TO_MOVE]
    if places:
        lines.append("Move these first, one at a time, the likeliest first:")
        lines.extend(
            f"{number}. {place_label(boat, place)}{' (moved once already)' if place in moved else ''}"
            for number, place in enumerate(places, start=1)
        )
    lines.append("Note each time when it fails: after a knock, only wet, only warm, only on the water.")
    return "\n".join(lines)


def _in_use(boat: Boat) -> Iterable[str]:
    """Yield the parts of which somebody sees or hears whether they work."""
    for part in boat.parts.values():
        signs = part.kind.signs.values()
        if part.kind.group in _USED and any(
            s.look in (Look.SEE, Look.HEAR) and not s.unplugged for s in signs
        ):
            yield part.id


def _fickle_places(boat: Boat, verdict: Verdict) -> list[str]:
    """Return the places that may come and go, the likeliest first."""
    found = (
        one.repair.place
        for one in verdict.suspects
        for mode in one.modes[:1]
        if mode.part in boat.parts and boat.parts[mode.part].kind.faults[mode.mode].intermittent
    )
    return list(dict.fromkeys(found))


def _clipped(boat: Boat, part: str) -> Iterable[str]:
    """Yield where to leave the meter meanwhile, and what it tells, where the part has a feed that a probe reaches."""
    points = [Point(part=part, terminal=name) for name in terminals_of(boat, part)]
    open_ = [point for point in points if reach_of(boat, point) is not Reach.SEALED]
    sides = {side_at(boat, point): point for point in reversed(open_)}
    if Side.POSITIVE in sides and Side.NEGATIVE in sides:
        red, black = (point_label(boat, sides[side]) for side in (Side.POSITIVE, Side.NEGATIVE))
        yield (
            f"Leave the meter clipped on, DC volts, red on {red}, black on {black}. Volts that go when it fails: it "
            f"is on the way there. Volts that stay: it is {label_of(boat, part)} itself, or what steers it."
        )


def _few(boat: Boat, parts: Iterable[str]) -> str:
    """Return the first of some parts by name, and how many more there are."""
    every = [label_of(boat, part) for part in parts]
    more = len(every) - _NAMED
    return listed([*every[:_NAMED], f"{more} more"] if more > 0 else every)


def _counted(count: int, what: str) -> str:
    return f"{count} {what}" if count == 1 else f"{count} {what}s"
