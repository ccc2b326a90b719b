"""Where the volts of a pack go: the drop over each part and lead on the way through a device and back.

Along any way round the circuit the drops add up to what the pack gives (Kirchhoff's voltage law), so the
list accounts for every volt. A lead with the joints at its ends is one term.
"""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from dataclasses import dataclass
from itertools import pairwise

from assistant.circuit.batch import Variant
from assistant.circuit.solve import Solver
from assistant.circuit.state import BoatState
from assistant.wiring import Boat, Point, terminals_of


@dataclass(frozen=True, slots=True, kw_only=True)
class Drop:
    """A term: the part or lead by id, the points before and behind it, and the volts lost in between."""

    part: str
    first: Point
    last: Point
    drop_v: float


def drops_along(solver: Solver, state: BoatState, way: Sequence[Point]) -> tuple[Drop, ...]:
    """Return the drops of the healthy nominal boat along a way, in order; a device on it is a term like any.

    Parameters
    ----------
    way
        Points in the order in which current passes them.

    Raises
    ------
    CircuitError
        For a point that the boat does not have.
    """
    network = solver.network
    volts = solver.solve(state, [Variant()]).phase.volts[:, 0]
    return tuple(
        Drop(
            part=part,
            first=first,
            last=last,
            drop_v=float(volts[network.node(first)] - volts[network.node(last)]),
        )
        for part, first, last in _terms(network.boat, way)
    )


def _terms(boat: Boat, way: Sequence[Point]) -> Iterator[tuple[str, Point, Point]]:
    """Yield part, first and last point of each term: terminals bound them; wire ends and inner nodes lie within."""
    bounds = [
        number
        for number, point in enumerate(way)
        if point.part not in boat.leads and point.terminal in terminals_of(boat, point.part)
    ]
    for start, stop in pairwise(bounds):
        first, last = way[start], way[stop]
        part = first.part if first.part == last.part else way[start + 1].part
        yield part, first, last
