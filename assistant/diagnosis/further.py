"""Readings of a meter's further functions: where each can be taken, and at which parts it is worth its trouble.

Volts and ohms go between any two points.  A diode test goes over a part with a junction in it, one way and the other;
it is on offer only at parts that are in question, for at others it would cost much and tell nothing.  For current
something is opened on a live boat, and nothing is offered that might blow the meter's fuse.
"""

from __future__ import annotations

from collections.abc import Collection, Iterator, Sequence

import numpy as np

from assistant.catalogue import Kind, Primitive, Reach
from assistant.circuit import BoatState, Measurement, MeterFunction, MeterProfile, Network, gaps_of
from assistant.diagnosis.candidates import is_unplugged
from assistant.diagnosis.choose import Field
from assistant.diagnosis.table import FaultTable
from assistant.wiring import Boat, Point, SettingSort, reach_of, settings_of

SURGE = 5.0
"""Times the steady current that a motor or servo draws as it starts: stall over rated current (data sheets, memory)."""


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


def currents(boat: Boat, state: BoatState, meter: MeterProfile) -> Iterator[Measurement]:
    """Yield the readings of current in a live state, wherever something can be opened for the meter."""
    if MeterFunction.DC_AMPS in meter.functions and meter.currents and not is_unplugged(boat, state):
        for gap in gaps_of(boat):
            yield Measurement(function=MeterFunction.DC_AMPS, red=gap.red, black=gap.black, state=state)


def bearable(table: FaultTable, field: Field, offered: Sequence[Measurement]) -> list[Measurement]:
    """Return the readings of current, all in one state, that cannot blow the meter's fuse by anything in question.

    Where the current is not known, as behind a short that the meter itself would limit, it might.
    """
    if not offered:
        return []
    state, boat = offered[0].state, table.solver.network.boat
    values = table.state(state).shown(offered, field.cells).values
    shown = np.where(np.isnan(values), np.inf, np.abs(values))
    most = shown.reshape(len(offered), -1).max(axis=1) * (SURGE if _is_moving(boat, state) else 1.0)
    return [one for one, amps in zip(offered, most, strict=True) if amps <= table.meter.currents[-1].fuse_a]


def _is_moving(boat: Boat, state: BoatState) -> bool:
    """Tell whether a stick or lever is away from its rest."""
    return any(s.sort is SettingSort.CONTROL and state.get(s.id) != s.rest for s in settings_of(boat))
