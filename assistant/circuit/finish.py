"""From the volts of the core to all volts and currents of a boat.

Nodes that were eliminated early follow from the core's, one after the other; currents follow from volts.
"""

from __future__ import annotations

import numpy as np
from numpy.typing import NDArray

from assistant.circuit import devices
from assistant.circuit.changing import Changing
from assistant.circuit.elimination import substitute
from assistant.circuit.plant import Plant
from assistant.circuit.solution import Phase

Array = NDArray[np.float64]
Flags = NDArray[np.bool_]
Rows = NDArray[np.intp]


def finished(changing: Changing, volts: Array) -> Phase:
    """Return all steady values of some rows; volts are those of the core and the reference."""
    plant, frame, rows = changing.plant, changing.frame, changing.rows
    whole, columns = whole_volts(plant, rows, volts), plant.columns[rows]
    amps = np.zeros((len(frame.network.elements), len(rows)))
    every = np.arange(len(rows))
    for group in frame.changing:
        if len(group):
            amps[group.members] = changing.amps(group, volts, every)
    across = frame.fixed.across(whole, 0, 1)
    amps[frame.fixed.members] = plant.siemens[:, columns] * across + plant.amps[:, columns]
    speed = np.zeros_like(amps)
    speed[frame.motors.members] = speeds(changing, volts)
    return Phase(volts=whole, conditions=changing.conditions, amps=amps, speed=speed, travel=changing.travel)


def whole_volts(plant: Plant, rows: Rows, volts: Array) -> Array:
    """Return the volts of all nodes in some rows of a plant; volts are those of the core and the reference."""
    pattern = plant.frame.pattern
    whole = np.zeros((pattern.size + 1, volts.shape[1]))
    whole[plant.frame.core_nodes] = volts
    substitute(pattern.steps[: pattern.early], plant.values, plant.sources, whole, plant.columns[rows])
    return whole


def speeds(changing: Changing, volts: Array) -> Array:
    """Return the speed of the motors over their rated speed, shape (motors, rows)."""
    motors = changing.frame.motors
    if not len(motors):
        return np.zeros((0, volts.shape[1]))
    n = changing[motors]
    *_, emf = devices.motor_current(motors.across(volts, 0, 1), **n.of)
    return n.present * devices.motor_speed(emf, n.of["ohm"], n.of["rated_v"], n.of["rated_a"])
