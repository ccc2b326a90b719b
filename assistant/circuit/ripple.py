"""What a meter on AC millivolts shows on a rail: a hint, and no more.

Brushes chop the current of a motor as it turns, a drive chops it to hold its speed back.  What is drawn in gulps drops
volts over whatever the rail is fed through, so a bad joint before the probes makes the ripple larger; how large follows
from the network as it is near its steady state.  How strong the gulps are, how much the capacitors in a drive swallow
and what the meter makes of so quick and so crooked a wave is known to within a factor of three either way, no better.
Something that rattles for ever shows half the way between its two phases.
"""

from __future__ import annotations

import math
from typing import Final

import numpy as np
from numpy.typing import NDArray

from assistant.catalogue import Primitive
from assistant.circuit.hold import Hold
from assistant.circuit.meter import MeterProfile
from assistant.circuit.network import Element, Network
from assistant.circuit.pulses import driven_between
from assistant.circuit.solution import Phase

Array = NDArray[np.float64]
Rows = NDArray[np.intp]

RIPPLE_SPREAD: Final = math.log(3.0)
"""Spread of AC millivolts in log units (common practice, no source)."""

RIPPLE_FLOOR_V: Final = 1e-3
"""What test leads pick up anyway (common practice, no source)."""

_BRUSHES: Final = 0.1
"""Ripple of a motor's current as a share of it (common practice, no source)."""

_BRUSH_HZ: Final = 1000.0
"""At rated speed: some 10,000 turns a minute, six steps of the commutator a turn (common practice, no source)."""

_CHOPPED: Final = 0.3
"""Share of a drive's gulps that its capacitors leave to the rail (common practice, no source)."""

_CHOPPER_HZ: Final = 2000.0
"""How often drives for brushed motors chop: 1 to 16 kHz (common practice, no source)."""

_LEAST_V: Final = 0.1
_SQUARE: Final = 1.11
"""What a meter that responds to the average and is marked for a sine makes of a square wave (c)."""


def ripple_shown(
    network: Network,
    phases: tuple[Phase, Phase],
    hold: Hold,
    held: Rows,
    probes: tuple[Rows, Rows],
    meter: MeterProfile,
) -> Array:
    """Return what AC millivolts show (V), shape (readings, rows).

    Parameters
    ----------
    phases : both phases of each row; equal ones where it settles.
    hold, held : how firmly nodes are held in the first phase, and its column for each row.
    probes : node numbers of the red and of the black probes.
    """
    phase, other = phases
    squares = np.zeros((len(probes[0]), phase.volts.shape[1]))
    for number, element in enumerate(network.elements):
        gulps_a = _gulps(element, number, phase, meter)
        if gulps_a is not None and (gulps_a > 0.0).any():
            squares += (gulps_a * driven_between(hold, held, element.nodes[:2], probes)) ** 2
    red, black = probes
    rattle = (phase.volts[red] - phase.volts[black]) - (other.volts[red] - other.volts[black])
    return np.asarray(np.sqrt(squares + (_SQUARE * 0.5 * rattle) ** 2))


def _gulps(element: Element, number: int, phase: Phase, meter: MeterProfile) -> Array | None:
    """Return the ripple of an element's current that the meter still shows (A); None for one that draws evenly."""
    amps = np.abs(phase.amps[number])
    if element.primitive is Primitive.MOTOR:
        speed = np.abs(phase.speed[number])
        return np.asarray(_BRUSHES * amps * np.minimum(speed, 1.0) * _passed(_BRUSH_HZ * speed, meter))
    if element.primitive is Primitive.LEG:
        plus, minus, out = (phase.volts[node] for node in element.nodes)
        fed = plus - minus
        duty = np.clip((out - minus) / np.maximum(np.abs(fed), _LEAST_V), 0.0, 1.0)
        share = np.sqrt(duty * (1.0 - duty)) * (fed > _LEAST_V)
        return np.asarray(_CHOPPED * amps * share * _passed(np.array(_CHOPPER_HZ), meter))
    return None


def _passed(hertz: Array, meter: MeterProfile) -> Array:
    """Return the share of a ripple of some frequency that a meter shows: its range falls off like one filter."""
    return np.asarray(1.0 / np.hypot(1.0, hertz / meter.ripple_hz))
