"""The wiring picture of a sheet as SVG: the boat from pack to load, the suspects marked, the readings on it.

Only presentation attributes and plain shapes are used, so that every browser, printer and converter draws the
same. Nothing is told by colour alone: plus is on the left and minus on the right, a signal lead is thin and broken,
a suspect part has a double frame, a suspect place wears a diamond with a letter, and each reading says how it
stands.
"""

from collections.abc import Iterator, Sequence
from dataclasses import dataclass
from html import escape
from typing import Final

from assistant.records.layout import LINE, MARGIN, SIGNAL, Box, Edge, Plan, Port, Run, plan_of, port_of
from assistant.records.words import harmless, kind_words, lead_words
from assistant.wiring import Boat, Point, label_of, lead_of, point_label

__all__ = ["Mark", "Tag", "draw"]

_INK: Final = "#111111"
_GREY: Final = "#555555"
_PLUS: Final = "#b00020"
_MINUS: Final = "#123a8c"
_SIGNAL: Final = "#555555"
_PAPER: Final = "#ffffff"
_ALARM: Final = "#ffd84d"
_FONT: Final = "Helvetica, Arial, sans-serif"
_SIZE: Final = 10.0
_SMALL: Final = 8.5
_DIAMOND: Final = 7.0
# Widths of characters of the fonts above as a share of their size, rounded up.
_NARROW: Final = frozenset("fijltrI.,:;|!'()[]/ ")
_BROAD: Final = frozenset("mwMWΩ%@…")
_SHARES: Final = (0.34, 0.58, 0.92)
_BOLDER: Final = 1.06
_BEND: Final = 8.0


@dataclass(frozen=True, slots=True, kw_only=True)
class Tag:
    """A reading at a point.

    Attributes
    ----------
    point, black : where the red and the black probe were; `black` is absent when that is a pack.
    text : number, value and how it stands.
    off : whether it is not as expected.
    """

    point: Point
    black: Point | None = None
    text: str
    off: bool


@dataclass(frozen=True, slots=True, kw_only=True)
class Mark:
    """A suspect.

    Attributes
    ----------
    letter : what it is called in the picture.
    place : part, wire or joint by id.
    words : what is suspected and how much, for the legend.
    """

    letter: str
    place: str
    words: str


def draw(boat: Boat, marks: Sequence[Mark] = (), tags: Sequence[Tag] = ()) -> str:
    """Return the picture of a boat as an SVG element that scales with its surroundings.

    Parameters
    ----------
    boat
        The boat.
    marks
        Suspects, likeliest first.
    tags
        Readings to write at their points.
    """
    lines: dict[tuple[str, str], int] = {}
    for tag in tags:
        key = port_of(boat, tag.point)
        lines[key] = lines.get(key, 0) + 1
    plan = plan_of(boat, lines)
    sketch = _Picture(boat=boat, plan=plan, marks=tuple(marks), tags=tuple(tags))
    legend = list(_legend(marks, plan, bool(tags)))
    height = plan.height + LINE * len(legend) + MARGIN
    body = [
        *(line for run in plan.runs for line in sketch.run(run)),
        *(line for box in plan.boxes for line in sketch.box(box)),
        *(line for mark in marks for line in sketch.mark(mark)),
        *(
            _text(MARGIN, plan.height + LINE * (number + 0.8), words, size=9.0, bold=bold)
            for number, (words, bold) in enumerate(legend)
        ),
    ]
    name = escape(harmless(boat.name))
    head = (
        f'<svg xmlns="http://www.w3.org/2000/svg" viewBox="0 0 {plan.width:.1f} {height:.1f}" '
        f'width="{plan.width:.1f}" height="{height:.1f}" role="img" font-family="{_FONT}">'
        f"<title>Wiring of {name}</title>"
    )
    return "\n".join([head, *body, "</svg>"])


@dataclass(frozen=True, slots=True, kw_only=True)
class _Picture:
    boat: Boat
    plan: Plan
    marks: tuple[Mark, ...]
    tags: tuple[Tag, ...]

    def run(self, run: Run) -> Iterator[str]:
        """Yield a lead: from its upper port to its lane, down, and to its lower port."""
        colour = _SIGNAL if run.thin else _PLUS if run.edge is Edge.LEFT else _MINUS
        extra = ' stroke-dasharray="4 2.5"' if run.thin else ""
        width = 1.0 if run.thin else 2.2
        points = [*self._to_lane(run.upper, run), *reversed(self._to_lane(run.lower, run))]
        path = " ".join(f"{x:.1f},{y:.1f}" for x, y in points)
        yield (
            f'<polyline points="{path}" fill="none" stroke="{colour}" stroke-width="{width}" '
            f'stroke-linejoin="round"{extra}/>'
        )
        for end in (run.upper, run.lower):
            x = self.plan.edge(end.edge)
            yield f'<circle cx="{x:.1f}" cy="{end.y:.1f}" r="{1.6 if run.thin else 2.6}" fill="{colour}"/>'
        shared = [other for other in self.plan.runs if other.upper == run.upper and other.x == run.x]
        if len(shared) > 1 and run is not max(shared, key=lambda one: one.lower.y):
            yield f'<circle cx="{run.x:.1f}" cy="{run.lower.y:.1f}" r="2.6" fill="{colour}"/>'

    def _to_lane(self, port: Port, run: Run) -> list[tuple[float, float]]:
        """Return the way from a port to a lane; to the other side it goes through the gap over the box."""
        if port.edge is run.edge:
            return [(self.plan.edge(port.edge), port.y), (run.x, port.y)]
        over = next(box.y for box in self.plan.boxes if box.part == port.part) - 4.0
        bend = self.plan.edge(port.edge) + (-_BEND if port.edge is Edge.LEFT else _BEND)
        return [(self.plan.edge(port.edge), port.y), (bend, port.y), (bend, over), (run.x, over)]

    def box(self, box: Box) -> Iterator[str]:
        """Yield a part with its name, kind, terminals and readings."""
        left, right = self.plan.left, self.plan.right
        suspect = next((mark for mark in self.marks if mark.place == box.part), None)
        fill = "#fff6cf" if suspect else _PAPER
        yield _rect(left, box.y, right - left, box.height, fill=fill, stroke=1.2)
        if suspect:
            yield _rect(left - 2.5, box.y - 2.5, right - left + 5, box.height + 5, fill="none", stroke=1.6)
        yield from self._title(box, room=right - left - 10.0 - (20.0 if suspect else 0.0))
        for port in box.ports:
            yield from self._port(port, box)

    def _title(self, box: Box, room: float) -> Iterator[str]:
        name = label_of(self.boat, box.part)
        pieces = [piece for piece in kind_words(self.boat.parts[box.part]) if piece != name]
        x, y = self.plan.left + 5.0, box.y + 12.0
        if box.flat:
            words = _cut(" · ".join([name, *pieces]), room)
            yield _text((self.plan.left + self.plan.right) / 2.0, y, words, bold=True, anchor="middle")
            return
        name = _cut(name, room)
        yield _text(x, y, name, bold=True)
        start = _wide(name, bold=True) + 5.0
        while pieces and start + _wide(", ".join(pieces), _SMALL) > room:
            pieces.pop()
        if pieces:
            yield _text(x + start, y, ", ".join(pieces), size=_SMALL, colour=_GREY)

    def _port(self, port: Port, box: Box) -> Iterator[str]:
        anchor = "start" if port.edge is Edge.LEFT else "end"
        x = self.plan.edge(port.edge) + (5.0 if port.edge is Edge.LEFT else -5.0)
        name, about = self._port_words(port, box)
        y = port.y + 3.5
        if not box.flat:
            aside = _wide(name, bold=True) + 5.0
            yield _text(x, y, name, bold=True, anchor=anchor)
            beside = x + aside if port.edge is Edge.LEFT else x - aside
            if about:
                yield _text(beside, y, about, size=_SMALL, colour=_GREY, anchor=anchor)
        for number, tag in enumerate(self._tags_at(port), start=1):
            low = y + LINE * number
            words = _cut(self._tag_words(tag, port), self._room_beside(port, box, number), _SMALL, bold=False)
            width = _wide(words, _SMALL) + 6.0
            start = x - 2.0 if anchor == "start" else x + 2.0 - width
            yield _rect(start, low - 8.8, width, 11.2, fill=_INK if tag.off else _PAPER, stroke=0.8, radius=2)
            colour = _PAPER if tag.off else _INK
            yield _text(start + width / 2, low, words, size=_SMALL, colour=colour, anchor="middle")

    def _tags_at(self, port: Port) -> list[Tag]:
        return [tag for tag in self.tags if port_of(self.boat, tag.point) == (port.part, port.name)]

    def _room_beside(self, port: Port, box: Box, number: int) -> float:
        """Return how wide the reading on this line of a port may be beside what stands on the other edge."""
        whole = self.plan.right - self.plan.left
        y, taken = port.y + LINE * number, 0.0
        for other in box.ports:
            line = round((y - other.y) / LINE)
            if other.edge is port.edge or not 0 <= line < other.lines:
                continue
            if line == 0:
                name, about = self._port_words(other, box)
                taken = _wide(name, bold=True) + _wide(about, _SMALL) + 10.0
            else:
                taken = _wide(self._tag_words(self._tags_at(other)[line - 1], other), _SMALL) + 10.0
        return max(whole - taken, whole / 2.0) - 10.0

    def _tag_words(self, tag: Tag, port: Port) -> str:
        """Return what is written of a reading: shorter, the nearer its probes were to each other."""
        if tag.black is not None and port_of(self.boat, tag.black) == (port.part, port.name):
            return f"{tag.text} across joint"
        words = tag.text
        if tag.point.part in self.boat.leads:
            words += ", wire end"
        elif port.name != tag.point.terminal:
            words += f", {tag.point.terminal}"
        if tag.black is None:
            return words
        near = tag.black.part == port.part
        return f"{words} to {tag.black.terminal if near else point_label(self.boat, tag.black)}"

    def _port_words(self, port: Port, box: Box) -> tuple[str, str]:
        """Return the name of a port, and size and length of the lead that comes down to it."""
        run = next(
            (run for run in self.plan.runs if run.lower == port or (run.upper == port and run.thin)), None
        )
        name = "−" if port.name == "-" else port.name
        if name.isdigit() and self.boat.parts[box.part].kind.slots is not None:
            name = f"socket {name}"
        if run is None or (run.thin and name != SIGNAL):
            return name, ""
        return name, lead_words(self.boat.leads[run.leads[0]])

    def mark(self, mark: Mark) -> Iterator[str]:
        """Yield the diamond of a suspect, where it is."""
        box = next((box for box in self.plan.boxes if box.part == mark.place), None)
        if box is not None:
            yield from _diamond(self.plan.right - 12.0, box.y + 9.0, mark.letter)
            return
        lead = lead_of(self.boat, mark.place)
        run = next((run for run in self.plan.runs if lead is not None and lead.id in run.leads), None)
        if run is None or lead is None:
            return
        if "@" in mark.place:
            end = Point(part=lead.id, terminal=mark.place[-1])
            port = self.plan.port(self.boat, end) or run.lower
            out = -_DIAMOND - 2.0 if port.edge is Edge.LEFT else _DIAMOND + 2.0
            near = [m.letter for m in self.marks if m is not mark and self._joint_port(m) == port]
            shift = 3.0 if any(letter < mark.letter for letter in near) else 0.0
            yield from _diamond(self.plan.edge(port.edge) + out, port.y + shift, mark.letter)
        else:
            yield from _diamond(run.x, max(run.lower.y - 18.0, (run.upper.y + run.lower.y) / 2), mark.letter)

    def _joint_port(self, mark: Mark) -> Port | None:
        lead = lead_of(self.boat, mark.place)
        if lead is None or "@" not in mark.place:
            return None
        return self.plan.port(self.boat, Point(part=lead.id, terminal=mark.place[-1]))


def _legend(marks: Sequence[Mark], plan: Plan, tagged: bool) -> Iterator[tuple[str, bool]]:
    room = plan.width - 2 * MARGIN
    for mark in marks:
        for number, line in enumerate(_wrapped(f"{mark.letter}  {mark.words}", room, 9.0)):
            yield line, number == 0
    parts = ["Left: plus side. Right: minus side. Thin broken line: signal lead."]
    if tagged:
        parts.append("Numbers are those of the readings; black: not as expected.")
    yield from ((line, False) for line in _wrapped(" ".join(parts), room, 9.0))


def _wrapped(words: str, room: float, size: float) -> Iterator[str]:
    line = ""
    for word in words.split(" "):
        longer = f"{line} {word}" if line.strip() else line + word
        if line.strip() and _wide(longer, size, bold=True) > room:
            yield line
            longer = f"    {word}"
        line = longer
    yield line


def _wide(words: str, size: float = _SIZE, *, bold: bool = False) -> float:
    """Return about how wide a text is; a little more rather than less."""
    share = sum(_SHARES[0 if c in _NARROW else 2 if c in _BROAD else 1] for c in words)
    return share * size * (_BOLDER if bold else 1.0)


def _cut(words: str, room: float, size: float = _SIZE, *, bold: bool = True) -> str:
    words = harmless(words)
    if _wide(words, size, bold=bold) <= room:
        return words
    while words and _wide(f"{words}…", size, bold=bold) > room:
        words = words[:-1]
    return f"{words}…"


def _text(
    x: float,
    y: float,
    words: str,
    *,
    size: float = _SIZE,
    bold: bool = False,
    colour: str = _INK,
    anchor: str = "start",
) -> str:
    weight = ' font-weight="bold"' if bold else ""
    return (
        f'<text x="{x:.1f}" y="{y:.1f}" font-size="{size:g}" fill="{colour}" text-anchor="{anchor}"{weight}>'
        f"{escape(harmless(words))}</text>"
    )


def _rect(
    x: float, y: float, width: float, height: float, *, fill: str, stroke: float = 0.0, radius: float = 3.0
) -> str:
    return (
        f'<rect x="{x:.1f}" y="{y:.1f}" width="{width:.1f}" height="{height:.1f}" rx="{radius:g}" '
        f'fill="{fill}" stroke="{_INK}" stroke-width="{stroke:g}"/>'
    )


def _diamond(x: float, y: float, letter: str) -> Iterator[str]:
    corners = [(x, y - _DIAMOND), (x + _DIAMOND, y), (x, y + _DIAMOND), (x - _DIAMOND, y)]
    path = " ".join(f"{a:.1f},{b:.1f}" for a, b in corners)
    yield f'<polygon points="{path}" fill="{_ALARM}" stroke="{_INK}" stroke-width="1.6"/>'
    yield _text(x, y + 3.2, letter, size=9.0, bold=True, anchor="middle")
