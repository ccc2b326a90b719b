"""A meter on current: it takes the place of something that was opened for it, and the whole current goes through it.

What is opened is a plug, a screw or a fuse: two points with a known small resistance between them.  The meter puts its
own there instead, its burden: shunt, fuse and leads.  Near a steady state the boat around the gap is a voltage behind
a resistance, so the current with the meter in it follows from the current without, and nothing is solved anew.  That
holds while the burden changes little; a boat that goes dark by it is not foreseen.
"""

from __future__ import annotations

from collections.abc import Iterator, Mapping
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from assistant.catalogue import Group, Primitive, Reach, Side
from assistant.circuit.batch import Values
from assistant.circuit.meter import CurrentRange, MeterProfile
from assistant.circuit.network import Network
from assistant.wiring import Boat, Lead, Point, reach_of, side_at

Array = NDArray[np.float64]
Rows = NDArray[np.intp]

FINER = 0.95
"""Share of a smaller range up to which it is read there."""

_BY_HAND = frozenset({"plugged joint", "screwed joint"})
_LEAST_SHARE, _MOST_SHARE = 0.8, 1.25
"""Between what shares of itself the burden may change a current; beyond, nothing can be said."""


@dataclass(frozen=True, slots=True, kw_only=True)
class Gap:
    """What can be opened for a meter: a part or joint, and its two points, the one that current comes from first."""

    place: str
    red: Point
    black: Point


def gaps_of(boat: Boat) -> Iterator[Gap]:
    """Yield where a meter can be put in: fuses that are pulled by hand, and one plug or screw of each lead."""
    for part in boat.parts.values():
        pulled = any(sign.unplugged for sign in part.kind.signs.values())
        if part.kind.group is Group.FUSE and pulled and len(part.kind.through) == 2:
            first, second = (Point(part=part.id, terminal=name) for name in part.kind.through)
            yield from _reached(boat, Gap(place=part.id, red=first, black=second))
    for lead in boat.leads.values():
        if lead.cable is None:
            yield from list(_joints(boat, lead))[:1]


def _joints(boat: Boat, lead: Lead) -> Iterator[Gap]:
    returns = any(side_at(boat, end) is Side.NEGATIVE for end in lead.ends)
    for number, end in enumerate(lead.ends, start=1):
        place = f"{lead.id}@{number}"
        if boat.parts[place].kind.name in _BY_HAND:
            wire = Point(part=lead.id, terminal=str(number))
            red, black = (end, wire) if (number == 1) is not returns else (wire, end)
            yield from _reached(boat, Gap(place=place, red=red, black=black))


def _reached(boat: Boat, gap: Gap) -> Iterator[Gap]:
    if Reach.SEALED not in (reach_of(boat, gap.red), reach_of(boat, gap.black)):
        yield gap


def gaps_by_ends(boat: Boat) -> Mapping[frozenset[Point], Gap]:
    """Return what can be opened for a meter, by the two points that it lies between."""
    return {frozenset((gap.red, gap.black)): gap for gap in reversed(list(gaps_of(boat)))}


def gap_between(boat: Boat, red: Point, black: Point) -> Gap | None:
    """Return what lies between two points and can be opened for a meter, or None."""
    return gaps_by_ends(boat).get(frozenset((red, black)))


def own_ohm(network: Network, gap: Gap, values: Values, draws: int) -> Array:
    """Return the resistance of what is opened while it is sound, on each draw of the tolerances, shape (1 + draws,).

    Parameters
    ----------
    values : the healthy values of what is opened, on each draw.
    """
    part = network.parts[gap.place]
    total = np.zeros(1 + draws)
    for number in network.elements_of(gap.place):
        element = network.elements[number]
        if element.fault is None and element.primitive is Primitive.RESISTANCE:
            total = total + element.parameters["ohm"](values, part.kind.curves)
    return total


def through(network: Network, gap: Gap, red: Point) -> tuple[int, float]:
    """Return an element that carries the whole current of what is opened, and its sign as seen from red to black."""
    number = network.elements_of(gap.place)[0]
    begins = network.elements[number].nodes[0] == network.node(red)
    return number, 1.0 if begins else -1.0


def around_ohm(between_ohm: Array, gap_ohm: Array) -> Array:
    """Return the resistance of the boat around a gap, from that between its points with what is opened still there."""
    return np.asarray(1.0 / (1.0 / between_ohm - 1.0 / gap_ohm))


def amps_shown(amps: Array, around: Array, gap_ohm: Array, meter: MeterProfile) -> Array:
    """Return the current with the meter in the place of what is opened; nan where its burden changes too much.

    It is taken on the largest range first, and then on the smallest that holds it.

    Parameters
    ----------
    amps : current without the meter.
    around : resistance of the boat around the gap.
    gap_ohm : resistance of what is opened.
    """
    shown = _with_burden(amps, around, gap_ohm, meter.currents[-1])
    for smaller in reversed(meter.currents[:-1]):
        finer = _with_burden(amps, around, gap_ohm, smaller)
        shown = np.where(np.abs(shown) < FINER * smaller.full_a, finer, shown)
    return shown


def _with_burden(amps: Array, around: Array, gap_ohm: Array, chosen: CurrentRange) -> Array:
    share = (around + gap_ohm) / (around + chosen.ohm)
    sound = np.isfinite(share) & (share > _LEAST_SHARE) & (share < _MOST_SHARE)
    return np.where(sound, amps * np.where(sound, share, 0.0), np.nan)
