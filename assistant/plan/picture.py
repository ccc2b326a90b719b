"""A boat drawn in lines of text: each feed from a pack to what it feeds, branches below where they leave.

A line follows the leads until several leave from one point; then each of them starts a line of its own, further in.
Every lead shows its size, every fuse its rating.
"""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass
from typing import Final

from assistant.catalogue import Group, Side
from assistant.plan.feeds import beyond, pack_ends
from assistant.plan.protection import fuse_amps
from assistant.quantities import Unit, awg_mm2, show
from assistant.wiring import Boat, Lead, Point, label_of, leads_at, point_label

_WAYS: Final = frozenset({Group.FUSE, Group.SWITCH, Group.RELAY, Group.CONVERTER, Group.PASSIVE})
_ALIKE: Final = 0.01
_THICKEST, _THINNEST = 0, 40


@dataclass(frozen=True, slots=True, kw_only=True)
class Strokes:
    """What a picture is drawn with: a lead, a branch, the last branch, what runs past a branch, a signal lead."""

    lead: str
    branch: str
    last: str
    past: str
    signal: str


DRAWN: Final = Strokes(lead="─", branch="├", last="└", past="│", signal="~")
"""Where the terminal can show them."""

TYPED: Final = Strokes(lead="-", branch="+", last="+", past="|", signal="~")
"""Where it cannot."""


@dataclass(frozen=True, slots=True, kw_only=True)
class PictureLine:
    """A line: what it says, and what stands before it, and before what of it is broken."""

    text: str
    first: str = ""
    rest: str = "    "


def picture(boat: Boat, strokes: Strokes) -> Iterator[PictureLine]:
    """Yield the lines of the picture: positives outward, negatives, motors' leads, and what the radio commands."""
    drawing = _Drawing(boat, strokes)
    for side in (Side.POSITIVE, Side.NEGATIVE):
        for end in pack_ends(boat, side):
            yield from drawing.tree(end)
    for lead in boat.leads.values():
        yield from drawing.tree(lead.ends[0])
    signal = strokes.signal * 2
    for number, channel in sorted(boat.radio.channels.items()):
        mix = ", ".join(f"{control} {share:+.0%}" for control, share in channel.mix.items())
        yield PictureLine(text=f"channel {number} {signal} {label_of(boat, channel.device)} ({mix})")


class _Drawing:
    """Remembers which leads are drawn; the leads of channels are not."""

    def __init__(self, boat: Boat, strokes: Strokes) -> None:
        self._boat = boat
        self._strokes = strokes
        self._left = {lead.id for lead in boat.leads.values() if lead.cable is None}

    def tree(self, start: Point) -> Iterator[PictureLine]:
        """Yield the lines of all that hangs on a point and is not drawn yet."""
        if self._leaving(start):
            yield from self._line(point_label(self._boat, start), start, "", "")

    def _leaving(self, point: Point) -> list[Lead]:
        return [self._boat.leads[name] for name in leads_at(self._boat, point) if name in self._left]

    def _line(self, text: str, point: Point, first: str, below: str) -> Iterator[PictureLine]:
        """Yield a line that goes on from a point as long as one lead leaves, and the branches below it."""
        while len(leads := self._leaving(point)) == 1:
            piece, point = self._along(leads[0], point)
            text += piece
        yield PictureLine(text=text, first=first, rest=f"{below}    ")
        self._left -= {lead.id for lead in leads}
        for number, lead in enumerate(leads, start=1):
            last = number == len(leads)
            piece, end = self._along(lead, point)
            branch = f"{below}{self._strokes.last if last else self._strokes.branch}"
            past = f"{below}{' ' if last else self._strokes.past}  "
            yield from self._line(piece.lstrip(), end, branch, past)

    def _along(self, lead: Lead, point: Point) -> tuple[str, Point]:
        """Return what a lead and the part behind it look like, and where it goes on."""
        self._left.discard(lead.id)
        end = beyond(lead, point)
        stroke = self._strokes.lead
        name, on = self._through(end)
        return f" {stroke}{_size(lead)}{stroke} {name}", on

    def _through(self, point: Point) -> tuple[str, Point]:
        """Return what a part is called where a lead comes in, and where its feed goes out."""
        part = self._boat.parts[point.part]
        through = part.kind.through
        if part.kind.group not in _WAYS or len(through) != 2 or point.terminal not in through:
            return point_label(self._boat, point), point
        out = Point(part=part.id, terminal=through[1 - through.index(point.terminal)])
        rating = fuse_amps(self._boat, part.id)
        name = label_of(self._boat, part.id)
        if rating is not None:
            return f"{name} ({show(rating, Unit.AMP)})", out
        plain = part.kind.group is Group.SWITCH and len(part.kind.terminals) == 2
        return name if plain else f"{name} {point.terminal}/{out.terminal}", out


def _size(lead: Lead) -> str:
    """Return the size of a lead: the number of its AWG, or its mm2."""
    for gauge in range(_THICKEST, _THINNEST + 1):
        if abs(awg_mm2(gauge) / lead.area_mm2 - 1.0) < _ALIKE:
            return str(gauge)
    return show(lead.area_mm2, Unit.SQUARE_MM, 2).replace(" ", "")
