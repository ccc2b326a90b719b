"""Readings of a meter's further functions: where each can be taken, and at which parts it is worth its trouble.

Volts and ohms go between any two points.  A diode test goes over a part with a junction in it, one way and the other;
it is on offer only at parts that are in question, for at others it would cost much and tell nothing.  For current
something is opened on a live boat, and nothing is offered that might blow the meter's fuse.  Duty and frequency are
read at both ends of a channel's lead, AC millivolts over what feeds a part while a stick is held.
"""

from __future__ import annotations

from collections.abc import Collection, Iterator, Sequence

import numpy as np

from assistant.catalogue import Group, Kind, Primitive, Reach, Side
from assistant.circuit import (
    BoatState,
    Measurement,
    MeterFunction,
    MeterProfile,
    Network,
    gaps_of,
    is_unplugged,
)
from assistant.circuit.lamp import LAMP_V, MOST_SHARE
from assistant.diagnosis.choose import Field
from assistant.diagnosis.table import FaultTable
from assistant.wiring import Boat, Point, SettingSort, described_parts, reach_of, settings_of, side_at

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
    if is_unplugged(network.boat, state):
        return
    counting = [function for function in meter.functions if function.is_pulsed]
    for red, black in signal_pairs(network.boat) if counting else ():
        for function in counting:
            yield Measurement(function=function, red=red, black=black, state=state)
    if MeterFunction.AC_MILLIVOLTS in meter.functions and _is_moving(network.boat, state):
        for red, black in rail_pairs(network.boat):
            yield Measurement(function=MeterFunction.AC_MILLIVOLTS, red=red, black=black, state=state)


def lamp_readings(
    pairs: Sequence[tuple[Point, Point]], boat: Boat, state: BoatState, highest_v: float
) -> Iterator[Measurement]:
    """Yield where a test lamp may be held: never with more volts about than it bears, nor on three-wire leads and pins.

    What feeds a receiver and its servos is not for the amps of a cold filament.  It hangs on the minus of a pack:
    in the way of what a boat draws, or of what a drive chops, it would show what nobody foresaw.
    """
    if is_unplugged(boat, state) or highest_v > MOST_SHARE * LAMP_V:
        return
    for red, black in pairs:
        hangs = side_at(boat, black) is Side.NEGATIVE and _group(boat, black) is Group.PACK
        if hangs and side_at(boat, red) is not Side.NEGATIVE and not _is_chopped(boat, red):
            yield Measurement(function=MeterFunction.LAMP, red=red, black=black, state=state)


def _group(boat: Boat, point: Point) -> Group:
    return boat.parts[point.part].kind.group


def _is_chopped(boat: Boat, point: Point) -> bool:
    """Tell whether a point belongs to the radio, or hangs on what a drive gives out."""
    ends = boat.leads[point.part].ends if point.part in boat.leads else (point,)
    driven = (
        _group(boat, end) is Group.MOTOR
        or (_group(boat, end) is Group.DRIVE and side_at(boat, end) is Side.OUTPUT)
        for end in ends
    )
    return _is_delicate(boat, point) or any(driven)


def _is_delicate(boat: Boat, point: Point) -> bool:
    """Tell whether a point belongs to the radio: a pin of a receiver or servo, a signal plug, a core of its lead."""
    if point.part in boat.leads:
        return boat.leads[point.part].cable is not None
    kind = boat.parts[point.part].kind
    pins = {pin for one in kind.inputs.values() for pin in (one.signal, one.positive, one.negative)}
    return kind.group in (Group.RADIO, Group.SERVO) or point.terminal in pins


def signal_pairs(boat: Boat) -> Iterator[tuple[Point, Point]]:
    """Yield signal and minus, red first, at socket and device of every channel, where a probe gets at them."""
    for channel in boat.radio.channels.values():
        given = boat.parts[channel.device].kind.inputs[channel.input]
        yield from _touched(boat, channel.receiver, f"{channel.number}s", f"{channel.number}-")
        yield from _touched(boat, channel.device, given.signal, given.negative)


def rail_pairs(boat: Boat) -> Iterator[tuple[Point, Point]]:
    """Yield plus and minus, red first, of every part that is fed by two terminals, where a probe gets at them.

    Motors and lights are left out: over them lies what a drive or dimmer makes of the rail, and not the rail.
    The cores of a lead are no part that is fed.
    """
    for part in (boat.parts[name] for name in described_parts(boat)):
        if part.kind.group in (Group.MOTOR, Group.LIGHT):
            continue
        sides = {terminal.side: name for name, terminal in reversed(tuple(part.kind.terminals.items()))}
        if Side.POSITIVE in sides and Side.NEGATIVE in sides:
            yield from _touched(boat, part.id, sides[Side.POSITIVE], sides[Side.NEGATIVE])


def _touched(boat: Boat, part: str, first: str, second: str) -> Iterator[tuple[Point, Point]]:
    red, black = Point(part=part, terminal=first), Point(part=part, terminal=second)
    if Reach.SEALED not in (reach_of(boat, red), reach_of(boat, black)):
        yield red, black


def junction_pairs(network: Network, part: str) -> Iterator[tuple[Point, Point]]:
    """Yield where a diode test goes over a part, red first: both ends of its junction, one way and the other."""
    ends = _junction_ends(network.parts[part].kind)
    if ends is None:
        return
    for first, second in _touched(network.boat, part, *ends):
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
