"""From sticks to pulses to travel: what each receiver slot sends and what each device makes of it.

A channel sums its share of every control, applies direction, scale and trim, and becomes a pulse of
1.0 to 2.0 ms around 1.5 ms (common practice, no source).  Swapped plugs bring each device the pulses of the other; a
socket that no stick moves, and a wrong model memory, bring it others than the mix says.  A receiver with a fail-safe
stored away from the middle goes on with that when the transmitter is off.  A device that hears no valid
pulses does what its kind says for a lost signal.

A drive waits for neutral after its power comes up: what it is told with every control let go decides.  Levers do not
spring back; whoever switches on puts them where the drive idles.
"""

from __future__ import annotations

from collections.abc import Mapping

import numpy as np
from numpy.typing import NDArray

from assistant.catalogue import Curve, SlotSpec
from assistant.circuit.batch import Batch
from assistant.circuit.network import Network
from assistant.circuit.state import BoatState, ready_state
from assistant.errors import CircuitError
from assistant.wiring import (
    CHANNEL_PAIR,
    MODEL_MEMORY,
    TRANSMITTER,
    Channel,
    ControlKind,
    channel_id,
    paired_channels,
)

Array = NDArray[np.float64]
Flags = NDArray[np.bool_]
Rows = NDArray[np.intp]

CENTRE_MS = 1.5
HALF_MS = 0.5
_FURTHEST = 1.25


def pulses_of(batch: Batch, state: BoatState) -> Mapping[int, Array]:
    """Return the pulse width (ms) that comes out of each socket, by channel number, shape (rows,)."""
    widths = {
        channel.number: CENTRE_MS + HALF_MS * _throw(batch, state, channel)
        for channel in batch.network.boat.radio.channels.values()
    }
    for part in batch.network.parts.values():
        if part.kind.name == CHANNEL_PAIR:
            first, second = paired_channels(part)
            swapped = batch.values[part.id]["swapped"] > 0.5
            one, other = widths[first], widths[second]
            widths[first], widths[second] = np.where(swapped, other, one), np.where(swapped, one, other)
    return widths


def _throw(batch: Batch, state: BoatState, channel: Channel) -> Array:
    """Return how far a channel is told to move, with its settings in the transmitter."""
    values = batch.values.get(channel_id(channel.number), {})
    mixed = _mixed(state, channel, values.get("blend", 1.0))
    memory = batch.values.get(MODEL_MEMORY)
    if memory is not None:
        controls = tuple(batch.network.boat.radio.controls)
        own = state.get(controls[channel.number - 1]) if channel.number <= len(controls) else 0.0
        mixed = np.where(memory["fresh"] > 0.5, own, mixed)
    told = values.get("direction", 1.0) * values.get("scale", 1.0) * mixed + values.get("trim", 0.0)
    if not state.get(TRANSMITTER):
        stored = batch.values[channel.receiver].get("stored", np.zeros(1))
        told = np.where(stored != 0.0, stored, told)
    told = np.broadcast_to(values.get("socket", 1.0) * told, (batch.size,))
    return np.clip(told, -_FURTHEST, _FURTHEST)


def _mixed(state: BoatState, channel: Channel, blend: Array | float) -> Array:
    """Return the sum of the shares; `blend` is what is left of all but the largest."""
    main = max(channel.mix, key=lambda control: abs(channel.mix[control]), default="")
    told = np.asarray(channel.trim)
    for control, share in channel.mix.items():
        told = told + (1.0 if control == main else blend) * share * state.get(control)
    return told


def travels_of(batch: Batch, pulses: Mapping[int, Array], columns: Rows) -> tuple[Array, Array]:
    """Return the travel each input is commanded while it hears, and while it does not, each of shape (inputs, rows).

    It is -1 .. 1, or 0 .. 1 for one-way devices.

    Parameters
    ----------
    pulses : of each row.
    columns : the batch's column of each row.
    """
    network = batch.network
    told, lost = np.zeros((2, len(network.inputs), len(columns)))
    for i, given in enumerate(network.inputs):
        env = {name: column[columns] for name, column in batch.values[given.part].items()}
        lost[i] = told[i] = given.spec.lost_travel(env, network.parts[given.part].kind.curves)
        if given.channel in pulses:
            moved = (pulses[given.channel] - CENTRE_MS) / HALF_MS
            if given.spec.one_way:
                moved = np.clip(0.5 * (moved + 1.0), 0.0, 1.0)
            told[i] = np.clip(moved, -1.0, 1.0)
    return told, lost


def neutral_of(batch: Batch) -> Array:
    """Return how near neutral each input is told to stay with all controls let go, shape (inputs, rows): 1 at neutral.

    The transmitter is on, as it is whenever a boat is powered up with care.
    """
    network = batch.network
    if not network.inputs:
        return np.ones((0, batch.size))
    low = ready_state(network.boat)
    levers = [c.id for c in network.boat.radio.controls.values() if c.kind is ControlKind.LEVER]
    centred = low.with_(dict.fromkeys(levers, 0.0))
    pulses = {True: pulses_of(batch, low), False: pulses_of(batch, centred)}
    near = np.ones((len(network.inputs), batch.size))
    for i, given in enumerate(network.inputs):
        if given.channel in pulses[True]:
            told = (pulses[given.spec.idles_below][given.channel] - CENTRE_MS) / HALF_MS
            away = np.maximum(told, 0.0) if given.spec.idles_below else np.abs(told)
            near[i] = 1.0 - np.minimum(away, 1.0)
    return near


def shares_of(batch: Batch, pulses: Mapping[int, Array]) -> Mapping[int, Array]:
    """Return the share of the time each channel's pulse is up, by channel number, shape of the pulses."""
    return {number: width / frame_ms_of(batch, number) for number, width in pulses.items()}


def frame_ms_of(batch: Batch, channel: int) -> Array:
    """Return the time from one pulse of a channel to the next (ms), shape (rows,)."""
    receiver = batch.network.boat.radio.channels[channel].receiver
    slots, curves = _slots_of(batch.network, receiver)
    return np.broadcast_to(slots.frame_ms(batch.values[receiver], curves), (batch.size,))


def expected_signal_volts(batch: Batch, shares: Mapping[int, Array], columns: Rows) -> Array:
    """Return the mean volts that an intact lead would bring to each input, shape (inputs, rows); nan without a slot.

    Parameters
    ----------
    shares : of each row.
    columns : the batch's column of each row.
    """
    network = batch.network
    expected = np.full((len(network.inputs), len(columns)), np.nan)
    for i, given in enumerate(network.inputs):
        if given.channel not in shares:
            continue
        receiver = network.boat.radio.channels[given.channel].receiver
        slots, curves = _slots_of(network, receiver)
        logic_v = np.broadcast_to(slots.logic_v(batch.values[receiver], curves), (batch.size,))
        expected[i] = logic_v[columns] * shares[given.channel]
    return expected


def _slots_of(network: Network, receiver: str) -> tuple[SlotSpec, Mapping[str, Curve]]:
    kind = network.parts[receiver].kind
    if kind.slots is None:
        raise CircuitError(
            value=receiver, reason="a channel comes out of a part without sockets", places=(receiver,)
        )
    return kind.slots, kind.curves
