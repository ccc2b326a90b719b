"""A decision graph as a picture: one SVG text that needs nothing else, legible when it is printed.

Boxes hold the id of a node, its sort and what it says.  Every way leaves its box through a port of its own, with
its answers beside it on a line of their own, so that words never lie on each other.  Text from files is escaped,
and what a reader of XML or a terminal would obey is left out.
"""

from __future__ import annotations

from collections.abc import Iterator, Mapping
from html import escape
from textwrap import wrap

from assistant.dialogue import SymptomGraph
from assistant.dialogue.graph import Node
from assistant.manual.layers import Key, Layout, layout_of
from assistant.manual.outline import sort_of, ways_on, words_of

Spot = tuple[float, float]
Edges = tuple[Mapping[Key, float], Mapping[Key, float]]
"""Upper and lower edges of everything."""

_BOX, _SLOT, _GAP, _MARGIN = 230.0, 20.0, 26.0, 24.0
_LINE, _PAD = 15.0, 8.0
_LETTERS = 36
_MOST_LINES = 6
_BEND = 46.0
_MOST_LABEL = 30
_FILL = {
    "confirm": "#fff1d6",
    "ask": "#e4efff",
    "sign": "#e4efff",
    "read": "#dff3e4",
    "set": "#f1e6fb",
    "tell": "#f4f4f4",
    "narrow": "#cfeaf0",
    "conclude": "#ffffff",
}
_TIP = (
    '<marker id="tip" viewBox="0 0 8 8" refX="7" refY="4" markerWidth="8" markerHeight="8" orient="auto">'
    '<path d="M0 0L8 4L0 8z" fill="#555"/></marker>'
)
_STYLE = (
    "text{font:12px/1 sans-serif;fill:#111}.id{font-weight:bold}.sort{fill:#555}"
    ".way{font-size:11px;fill:#333;paint-order:stroke;stroke:#fff;stroke-width:4px}"
    "path.line{fill:none;stroke:#555;stroke-width:1.3}path.back{stroke-dasharray:5 3}"
    "rect.box{stroke:#444;stroke-width:1}rect.end{stroke-width:2.5}"
)


def svg(graph: SymptomGraph) -> str:
    """Return a graph as the text of an SVG file."""
    layout = layout_of(graph, box=_BOX, slot=_SLOT, gap=_GAP)
    lines = {name: list(_lines(node)) for name, node in graph.nodes.items()}
    top, bottom, height = _rows(graph, layout, lines)
    right = max((layout.centre[key] for level in layout.ranks for key in level), default=0.0)
    width = right + _BOX / 2 + 2 * _MARGIN
    size = f'width="{width:.0f}" height="{height:.0f}" viewBox="0 0 {width:.0f} {height:.0f}"'
    pieces = [
        f'<svg xmlns="http://www.w3.org/2000/svg" {size} role="img">',
        f"<title>{safe(graph.title)}</title><style>{_STYLE}</style>",
        f"<defs>{_TIP}</defs>",
        '<rect width="100%" height="100%" fill="#fff"/>',
        *_ways(graph, layout, top, bottom),
        *(_box(name, graph.nodes[name], lines[name], layout, top[name]) for name in graph.nodes),
        "</svg>\n",
    ]
    return "\n".join(pieces)


def safe(text: str) -> str:
    r"""Return text that is text in XML, whatever it holds.

    >>> safe("<b>\x1b[2J & \u202e")
    '&lt;b&gt; [2J &amp;  '
    """
    return escape("".join(c if c.isprintable() else " " for c in text))


def _lines(node: Node) -> Iterator[str]:
    broken = wrap(words_of(node), _LETTERS)
    yield from broken[:_MOST_LINES]
    if len(broken) > _MOST_LINES:
        yield "…"


def _rows(
    graph: SymptomGraph, layout: Layout, lines: Mapping[str, list[str]]
) -> tuple[dict[Key, float], dict[Key, float], float]:
    """Return the upper and lower edge of everything, and how high the picture is."""
    top: dict[Key, float] = {}
    bottom: dict[Key, float] = {}
    y = _MARGIN
    for level in layout.ranks:
        names = [key for key in level if isinstance(key, str)]
        tall = max((_height(lines[name]) for name in names), default=_LINE)
        words = max((len(ways_on(graph.nodes[name])) for name in names), default=0)
        for key in level:
            top[key] = y
            bottom[key] = y + (_height(lines[key]) if isinstance(key, str) else tall + words * _LINE)
        y += tall + words * _LINE + _BEND
    return top, bottom, y - _BEND + _MARGIN


def _height(lines: list[str]) -> float:
    return (len(lines) + 1) * _LINE + 2 * _PAD


def _box(name: str, node: Node, lines: list[str], layout: Layout, top: float) -> str:
    left = layout.centre[name] - _BOX / 2 + _MARGIN
    sort = sort_of(node)
    end = "" if node.links else " end"
    rows = "".join(f'<tspan x="{left + _PAD:.1f}" dy="{_LINE:.0f}">{safe(line)}</tspan>' for line in lines)
    return (
        f'<g id="{safe(name)}"><rect class="box{end}" x="{left:.1f}" y="{top:.1f}" width="{_BOX:.0f}"'
        f' height="{_height(lines):.0f}" rx="5" fill="{_FILL[sort]}"/>'
        f'<text x="{left + _PAD:.1f}" y="{top + _PAD + 11:.1f}"><tspan class="id">{safe(name)}</tspan>'
        f'<tspan class="sort"> {sort}</tspan>{rows}</text></g>'
    )


def _ways(
    graph: SymptomGraph, layout: Layout, top: Mapping[Key, float], bottom: Mapping[Key, float]
) -> Iterator[str]:
    """Yield all lines, then all words beside them, so that a line never lies over a word."""
    arriving: dict[str, list[tuple[str, str]]] = {}
    leaving: dict[str, list[tuple[str, str]]] = {}
    for pair in sorted(layout.ways, key=lambda pair: layout.centre[layout.ways[pair][1]]):
        if pair not in layout.back:
            leaving.setdefault(pair[0], []).append(pair)
    for pair in sorted(layout.ways, key=lambda pair: layout.centre[layout.ways[pair][-2]]):
        if pair not in layout.back:
            arriving.setdefault(pair[1], []).append(pair)
    words = []
    for pair, way in layout.ways.items():
        source, target = pair
        label = ways_on(graph.nodes[source])[target]
        if pair in layout.back:
            x, y = layout.centre[source] - _BOX / 2 + _PAD, top[source]
            end = (layout.centre[target] + _BOX / 2 - _PAD, bottom[target])
            yield _path(_upwards((x, y), way, end, layout, (top, bottom)), "line back")
            words.append(_word(label, x, y - 6))
            continue
        out, into = leaving[source], arriving[target]
        place = out.index(pair)
        x = _port(layout.centre[source], place, len(out))
        to = (_port(layout.centre[target], into.index(pair), len(into)), top[target])
        yield _path(_downwards((x, bottom[source]), way, to, layout, (top, bottom)), "line")
        words.append(_word(label, x, bottom[source] + (place + 1) * _LINE - 3))
    yield from words


def _port(centre: float, place: int, count: int) -> float:
    """Return where a way meets the edge of a box, spread evenly over its middle."""
    return centre + (_BOX - 40) * ((place + 0.5) / count - 0.5)


def _word(label: str, x: float, y: float) -> str:
    shown = label if len(label) <= _MOST_LABEL else f"{label[: _MOST_LABEL - 1]}…"
    return f'<text class="way" x="{x + _MARGIN + 4:.1f}" y="{y:.1f}">{safe(shown)}</text>'


def _downwards(
    start: Spot, way: tuple[Key, ...], end: Spot, layout: Layout, edges: Edges
) -> Iterator[tuple[Spot, Spot]]:
    """Yield the straight stretches of a way, each from its upper end: out of the box, through the slots, in."""
    top, bottom = edges
    floor = top[way[1]] - _BEND
    yield start, (start[0], floor)
    for slot in way[1:-1]:
        x = layout.centre[slot]
        yield (x, top[slot]), (x, bottom[slot])
    yield (end[0], end[1] - 1), end


def _upwards(
    start: Spot, way: tuple[Key, ...], end: Spot, layout: Layout, edges: Edges
) -> Iterator[tuple[Spot, Spot]]:
    top, bottom = edges
    yield start, (start[0], start[1] - 1)
    for slot in reversed(way[1:-1]):
        x = layout.centre[slot]
        yield (x, bottom[slot]), (x, top[slot])
    yield (end[0], top[way[1]] - _BEND), end


def _path(stretches: Iterator[tuple[Spot, Spot]], look: str) -> str:
    """Return a line of straight stretches joined by bends."""
    drawn, last = [], None
    for begin, end in stretches:
        x, y = begin[0] + _MARGIN, begin[1]
        if last is None:
            drawn.append(f"M{x:.1f} {y:.1f}")
        else:
            half = (last[1] + y) / 2
            drawn.append(f"C{last[0] + _MARGIN:.1f} {half:.1f} {x:.1f} {half:.1f} {x:.1f} {y:.1f}")
        drawn.append(f"L{end[0] + _MARGIN:.1f} {end[1]:.1f}")
        last = end
    return f'<path class="{look}" d="{"".join(drawn)}" marker-end="url(#tip)"/>'
