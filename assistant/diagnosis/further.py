"""Readings of a meter's further functions: where each can be taken, and at which parts it is worth its trouble.

Volts and ohms go between any two points.  A diode test goes over a part with a junction in it, one way and the other.
Readings are on offer only at parts that are in question, for at others they would cost much and tell nothing.
"""

from __future__ import annotations

from collections.abc import Collection, Iterator

from assistant.catalogue import Kind, Primitive, Reach
from assistant.circuit import BoatState, Measurement, MeterFunction, MeterProfile, Network
from assistant.diagnosis.candidates import is_unplugged
from assistant.wiring import Point, reach_of


def further_readings(
    network: Network, state: BoatState, meter: MeterProfile, suspected: Collection[str]
) -> Iterator[Measurement]:
    """Yield the readings of further functions on offer in a boat state.

    Parameters
    ----------
    suspected : parts in question.
    """
    if MeterFunction.DIODE_TEST in meter.functions and is_unplugged(network.boat, state):
        for part in sorted(suspected):
            for red, black in junction_pairs(network, part):
                yield Measurement(function=MeterFunction.DIODE_TEST, red=red, black=black, state=state)


def junction_pairs(network: Network, part: str) -> Iterator[tuple[Point, Point]]:
    """Yield where a diode test goes over a part, red first: both ends of its junction, one way and the other."""
    ends = _junction_ends(network.parts[part].kind)
    if ends is None:
        return
    first, second = (Point(part=part, terminal=name) for name in ends)
    if Reach.SEALED not in (reach_of(network.boat, first), reach_of(network.boat, second)):
        yield first, second
        yield second, first


def _junction_ends(kind: Kind) -> tuple[str, str] | None:
    """Return the two terminals with a junction between them, the anode's side first where that is plain."""
    for element in kind.elements.values():
        if element.primitive is Primitive.DIODE:
            ends = element.nodes if set(element.nodes) <= set(kind.terminals) else kind.through
            if len(ends) == 2:
                return ends[0], ends[1]
    return None
