"""From sticks to pulses to travel: what each receiver slot sends and what each device makes of it.

A channel sums its share of every control, applies direction, scale and trim, and becomes a pulse of
1.0 to 2.0 ms around 1.5 ms (common practice, no source).  A device that hears no valid pulses does what its kind
says for a lost signal.
"""

from __future__ import annotations

from collections.abc import Mapping

import numpy as np
from numpy.typing import NDArray

from assistant.circuit.batch import Batch
from assistant.circuit.state import BoatState

Array = NDArray[np.float64]
Flags = NDArray[np.bool_]
Rows = NDArray[np.intp]

CENTRE_MS = 1.5
HALF_MS = 0.5
_FURTHEST = 1.25


def pulses_of(batch: Batch, state: BoatState) -> Mapping[int, Array]:
    """Return the pulse width (ms) each channel puts out, by channel number, shape (rows,)."""
    pulses = {}
    for channel in batch.network.boat.radio.channels.values():
        mixed = sum(share * state.get(control) for control, share in channel.mix.items()) + channel.trim
        values = batch.values.get(f"channel {channel.number}", {})
        travel = values.get("direction", 1.0) * values.get("scale", 1.0) * mixed + values.get("trim", 0.0)
        travel = np.clip(np.broadcast_to(travel, (batch.size,)), -_FURTHEST, _FURTHEST)
        pulses[channel.number] = CENTRE_MS + HALF_MS * travel
    return pulses


def travels_of(batch: Batch, pulses: Mapping[int, Array], conditions: Flags, rows: Rows) -> Array:
    """Return the travel each input is commanded, shape (inputs, rows): -1 .. 1, or 0 .. 1 for one-way devices."""
    network = batch.network
    travel = np.zeros((len(network.inputs), len(rows)))
    for i, given in enumerate(network.inputs):
        env = {name: column[rows] for name, column in batch.values[given.part].items()}
        lost = given.spec.lost_travel(env, network.parts[given.part].kind.curves)
        if given.channel not in pulses:
            travel[i] = lost
            continue
        moved = (pulses[given.channel][rows] - CENTRE_MS) / HALF_MS
        if given.spec.one_way:
            moved = np.clip(0.5 * (moved + 1.0), 0.0, 1.0)
        travel[i] = np.where(conditions[given.heard], np.clip(moved, -1.0, 1.0), lost)
    return travel


def shares_of(batch: Batch, pulses: Mapping[int, Array]) -> Mapping[int, Array]:
    """Return the share of the time each channel's pulse is up, by channel number, shape (rows,)."""
    shares = {}
    for number, width in pulses.items():
        receiver = batch.network.boat.radio.channels[number].receiver
        kind = batch.network.parts[receiver].kind
        assert kind.slots is not None, f"{receiver} has channels, so it has slots"
        shares[number] = width / kind.slots.frame_ms(batch.values[receiver], kind.curves)
    return shares


def expected_signal_volts(batch: Batch, shares: Mapping[int, Array], rows: Rows) -> Array:
    """Return the mean volts that an intact lead would bring to each input, shape (inputs, rows); nan without a slot."""
    network = batch.network
    expected = np.full((len(network.inputs), len(rows)), np.nan)
    for i, given in enumerate(network.inputs):
        if given.channel not in shares:
            continue
        receiver = network.boat.radio.channels[given.channel].receiver
        kind = network.parts[receiver].kind
        assert kind.slots is not None, f"{receiver} has channels, so it has slots"
        logic_v = np.broadcast_to(kind.slots.logic_v(batch.values[receiver], kind.curves), (batch.size,))
        expected[i] = logic_v[rows] * shares[given.channel][rows]
    return expected
