"""What a meter on duty or frequency shows of servo signals: whether pulses reach its probes, and how wide they are.

The network carries pulses as their mean.  Their height follows from the same network: a signal sees nothing but
resistances, so each volt that a socket drives behind its own resistance arrives at the probes in proportion.  What is
too low to be counted shows as nothing, and of several signals the highest is counted.
"""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from assistant.circuit.batch import Batch
from assistant.circuit.hold import Hold
from assistant.circuit.meter import MeterProfile
from assistant.circuit.signals import frame_ms_of, pulses_of
from assistant.circuit.state import BoatState

Array = NDArray[np.float64]
Flags = NDArray[np.bool_]
Rows = NDArray[np.intp]

_MS = 1000.0


@dataclass(frozen=True, slots=True, kw_only=True)
class Pulses:
    """What is shown at probes, shape (readings, rows); 0 where no pulses are counted."""

    duty: Array
    rate_hz: Array


def pulses_shown(
    batch: Batch,
    state: BoatState,
    conditions: Flags,
    hold: Hold,
    held: Rows,
    probes: tuple[Rows, Rows],
    meter: MeterProfile,
) -> Pulses:
    """Return what duty and frequency show on all rows of a batch.

    Parameters
    ----------
    conditions : of each row, shape (conditions, rows).
    hold, held : how firmly nodes are held, and its column for each row.
    probes : node numbers of the red and of the black probes.
    """
    shape = (len(probes[0]), batch.size)
    highest, duty, rate_hz = np.zeros(shape), np.zeros(shape), np.zeros(shape)
    widths = pulses_of(batch, state)
    for number, element in enumerate(batch.network.elements):
        if element.slot is None:
            continue
        sent_a = batch.parameters[number]["volts"] / batch.parameters[number]["ohm"]
        sends = batch.present[number] & conditions[list(element.when)].all(axis=0)
        height_v = np.abs(driven_between(hold, held, element.nodes[:2], probes)) * sent_a * sends
        frame_ms = frame_ms_of(batch, element.slot)
        over = height_v > highest
        highest = np.where(over, height_v, highest)
        duty = np.where(over, widths[element.slot] / frame_ms, duty)
        rate_hz = np.where(over, _MS / frame_ms, rate_hz)
    counted = highest >= meter.pulse_v
    return Pulses(duty=np.where(counted, duty, 0.0), rate_hz=np.where(counted, rate_hz, 0.0))


def driven_between(hold: Hold, held: Rows, nodes: tuple[int, ...], probes: tuple[Rows, Rows]) -> Array:
    """Return the volts between probes for each ampere driven into the first of two nodes and out of the second.

    Shape (readings, rows); `held` is the column of `hold` for each row, whose neighbours often share one.
    """
    columns, back = np.unique(held, return_inverse=True)
    at, where = np.unique(np.concatenate(probes), return_inverse=True)
    volts = hold.driven(nodes[0], nodes[1], at, columns)[where][:, back]
    red, black = volts[: len(probes[0])], volts[len(probes[0]) :]
    return np.asarray(red - black)
