"""Where the boxes and ways of a decision graph lie: ranks from top to bottom, few crossings within them.

The rank of a node is the longest way to it from the start, ways back left out.  A way over several ranks passes
through a slot in each, so that no line runs through a box.  Within a rank, boxes and slots are put in the order of
the mean place of their neighbours, up and down by turns, and the order with the fewest crossings is kept; then
they are moved sideways towards their neighbours as far as those beside them allow.
"""

from __future__ import annotations

from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass
from itertools import pairwise

from assistant.dialogue import SymptomGraph

_SWEEPS = 12
_MOVES = 24

Key = str | tuple[str, str, int]
"""A node by its id, or the slot that a way takes in a rank: from, to, rank."""


@dataclass(frozen=True, slots=True, kw_only=True)
class Layout:
    """Where everything lies, in the unit of the widths given.

    Attributes
    ----------
    ranks : boxes and slots from left to right, rank by rank from the top.
    centre : middle of each from left to right.
    ways : for each pair of nodes joined, what the way passes: both ends and the slots between.
    back : ways that lead up again.
    """

    ranks: tuple[tuple[Key, ...], ...]
    centre: Mapping[Key, float]
    ways: Mapping[tuple[str, str], tuple[Key, ...]]
    back: frozenset[tuple[str, str]]


def layout_of(graph: SymptomGraph, *, box: float, slot: float, gap: float) -> Layout:
    """Return where the boxes and ways of a graph lie.

    Parameters
    ----------
    graph
        The graph; every node in it is drawn, reached or not.
    box, slot, gap
        Width of a box, of a slot, and least room between neighbours.
    """
    back = _back(graph)
    rank = ranks_of(graph)
    ways: dict[tuple[str, str], tuple[Key, ...]] = {}
    for source, target in _joined(graph):
        above, below = (target, source) if rank[source] > rank[target] else (source, target)
        between = tuple((source, target, level) for level in range(rank[above] + 1, rank[below]))
        ways[source, target] = (above, *between, below)
    levels: list[list[Key]] = [[] for _ in range(max(rank.values(), default=0) + 1)]
    for name in graph.nodes:
        levels[rank[name]].append(name)
    for way in ways.values():
        for key in way[1:-1]:
            levels[int(key[2])].append(key)
    neighbours = _neighbours(ways.values())
    order = _ordered(levels, neighbours)
    widths = {key: box if isinstance(key, str) else slot for level in order for key in level}
    return Layout(
        ranks=tuple(map(tuple, order)), centre=_placed(order, neighbours, widths, gap), ways=ways, back=back
    )


def ranks_of(graph: SymptomGraph) -> Mapping[str, int]:
    """Return the rank of each node: the longest way to it from the start, ways back left out."""
    back = _back(graph)
    rank = dict.fromkeys(graph.nodes, 0)
    forward = [pair for pair in _joined(graph) if pair not in back]
    for _ in graph.nodes:
        changed = False
        for source, target in forward:
            if rank[target] <= rank[source]:
                rank[target] = rank[source] + 1
                changed = True
        if not changed:
            break
    return rank


def _joined(graph: SymptomGraph) -> tuple[tuple[str, str], ...]:
    """Return the pairs of different nodes that a way joins, each once."""
    pairs = ((node.id, target) for node in graph.nodes.values() for target in node.links.values())
    return tuple(dict.fromkeys(pair for pair in pairs if pair[0] != pair[1] and pair[1] in graph.nodes))


def _back(graph: SymptomGraph) -> frozenset[tuple[str, str]]:
    """Return the ways that close a circle, seen from the start."""
    following: dict[str, list[str]] = {name: [] for name in graph.nodes}
    for source, target in _joined(graph):
        following[source].append(target)
    back: set[tuple[str, str]] = set()
    done: set[str] = set()

    def visit(name: str, path: frozenset[str]) -> None:
        for target in following[name]:
            if target in path:
                back.add((name, target))
            elif target not in done:
                visit(target, path | {target})
        done.add(name)

    for name in dict.fromkeys((graph.start, *graph.nodes)):
        if name in graph.nodes and name not in done:
            visit(name, frozenset({name}))
    return frozenset(back)


def _neighbours(ways: Iterable[tuple[Key, ...]]) -> Mapping[Key, tuple[list[Key], list[Key]]]:
    """Return, for everything, what lies above it and below it on some way."""
    found: dict[Key, tuple[list[Key], list[Key]]] = {}
    for way in ways:
        for above, below in pairwise(way):
            found.setdefault(above, ([], []))[1].append(below)
            found.setdefault(below, ([], []))[0].append(above)
    return found


def _ordered(
    levels: list[list[Key]], neighbours: Mapping[Key, tuple[list[Key], list[Key]]]
) -> list[list[Key]]:
    best = [list(level) for level in levels]
    fewest = _crossings(best, neighbours)
    present = [list(level) for level in best]
    for sweep in range(_SWEEPS):
        down = sweep % 2 == 0
        for level in present if down else reversed(present):
            place = {key: float(n) for row in present for n, key in enumerate(row)}
            means = {
                key: _mean([place[other] for other in neighbours.get(key, ([], []))[not down]], place[key])
                for key in level
            }
            level.sort(key=means.__getitem__)
        crossings = _crossings(present, neighbours)
        if crossings < fewest:
            best, fewest = [list(level) for level in present], crossings
    return best


def _crossings(levels: Sequence[Sequence[Key]], neighbours: Mapping[Key, tuple[list[Key], list[Key]]]) -> int:
    place = {key: n for level in levels for n, key in enumerate(level)}
    count = 0
    for level in levels:
        lines = [
            (n, place[below]) for n, key in enumerate(level) for below in neighbours.get(key, ([], []))[1]
        ]
        count += sum(a[0] < b[0] and a[1] > b[1] for a in lines for b in lines)
    return count


def _mean(values: Sequence[float], otherwise: float) -> float:
    return sum(values) / len(values) if values else otherwise


def _placed(
    order: Sequence[Sequence[Key]],
    neighbours: Mapping[Key, tuple[list[Key], list[Key]]],
    widths: Mapping[Key, float],
    gap: float,
) -> Mapping[Key, float]:
    """Return the middles: side by side at first, then drawn towards their neighbours."""
    centre: dict[Key, float] = {}
    for level in order:
        left = 0.0
        for key in level:
            centre[key] = left + widths[key] / 2
            left += widths[key] + gap
        for key in level:
            centre[key] -= (left - gap) / 2
    for move in range(_MOVES):
        for level in order if move % 2 == 0 else reversed(order):
            wished = [
                _mean(
                    [centre[other] for side in neighbours.get(key, ([], [])) for other in side], centre[key]
                )
                for key in level
            ]
            centre.update(zip(level, _apart(level, wished, widths, gap), strict=True))
    left = min(centre[key] - widths[key] / 2 for key in centre)
    return {key: place - left for key, place in centre.items()}


def _apart(
    level: Sequence[Key], wished: Sequence[float], widths: Mapping[Key, float], gap: float
) -> list[float]:
    """Return places near the wished ones with room between: neighbours that would overlap move as one block."""
    blocks: list[tuple[float, float, int]] = []  # sum of wishes for the first place, offset after it, members
    offsets: list[float] = []
    for n, key in enumerate(level):
        total, span, size = wished[n], 0.0, 1
        step = 0.0 if n == 0 else widths[level[n - 1]] / 2 + gap + widths[key] / 2
        offsets.append(step)
        while blocks and blocks[-1][0] / blocks[-1][2] + blocks[-1][1] + step > total / size:
            before, reach, members = blocks.pop()
            total += before - size * (reach + step)
            span += reach + step
            size += members
            step = offsets[n - size + 1]
        blocks.append((total, span, size))
    places: list[float] = []
    for total, _, size in blocks:
        place = total / size
        for member in range(size):
            place += offsets[len(places)] if member else 0.0
            places.append(place)
    return places
