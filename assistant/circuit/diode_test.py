"""What a meter on diode test shows: its small current through whatever junctions and paths lie between the probes.

All packs are unplugged, so everything but the junctions is linear near nothing at all.  The boat as seen from the
probes and from each junction is then a small matrix of resistances, and what is left to solve is one equation for
each junction that the meter can reach.  A part that would begin to work at a volt or two is taken to stay off.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from assistant.catalogue import Primitive
from assistant.circuit.batch import PartValues, Variant
from assistant.circuit.devices import diode_current, tame_diode
from assistant.circuit.hold import Hold
from assistant.circuit.meter import MeterProfile
from assistant.circuit.network import Element, Network

Array = NDArray[np.float64]
Flags = NDArray[np.bool_]
Rows = NDArray[np.intp]

_REACHED_V = 0.004
"""A junction that the meter cannot bring to so many volts is left out: it stays as straight as a resistor."""

_STEPS = 80
_CLOSE_V = 1e-9
_OHM_DIGITS = 9


@dataclass(frozen=True, slots=True)
class _Junctions:
    """The junctions that take part, shape (junctions, columns): their curves, and which are there at all."""

    forward_v: Array
    forward_a: Array
    slope_v: Array
    there: Flags

    def take(self, columns: Rows) -> _Junctions:
        """Return some columns."""
        return _Junctions(
            self.forward_v[:, columns],
            self.forward_a[:, columns],
            self.slope_v[:, columns],
            self.there[:, columns],
        )

    def carried(self, volts: Array) -> tuple[Array, Array]:
        """Return current and slope beyond what the linear network already counts for each junction."""
        curve = (self.forward_v, self.forward_a, self.slope_v)
        amps, siemens = diode_current(volts, *curve)
        _, standing = diode_current(np.zeros_like(volts), *curve)
        return self.there * (amps - standing * volts), self.there * (siemens - standing)


def diode_volts(
    network: Network,
    hold: Hold,
    held: Rows,
    variants: Sequence[Variant],
    probes: tuple[int, int],
    meter: MeterProfile,
    *,
    draws: int = 0,
) -> Array:
    """Return what a diode test shows (V), shape (variants,); infinite where the display reads OL.

    Parameters
    ----------
    hold : of the boat with every pack unplugged.
    held : the column of `hold` of each variant.
    probes : node numbers of the red and the black probe.
    draws : how many tolerance draws exist besides the nominal one.
    """
    red, black = probes
    found = [e for e in network.elements if e.primitive is Primitive.DIODE]
    ends = np.array([[red, black], *(e.nodes for e in found)], dtype=np.intp)
    by_meter = _ports(hold.driven(red, black, ends.reshape(-1), held))
    reached = [i for i in range(len(found)) if (np.abs(by_meter[1 + i]) * meter.diode_a > _REACHED_V).any()]
    near = ends[[0, *(1 + i for i in reached)]]
    ohms = np.stack(
        [
            by_meter[[0, *(1 + i for i in reached)]],
            *(
                _ports(hold.driven(found[i].nodes[0], found[i].nodes[1], near.reshape(-1), held))
                for i in reached
            ),
        ],
        axis=1,
    )
    junctions = _junctions_of(network, [found[i] for i in reached], variants, draws)
    return _shown(ohms, junctions, meter)


def _ports(volts: Array) -> Array:
    """Return volts across ports from those at both ends of each, shape (ports, columns)."""
    return np.asarray(volts[0::2] - volts[1::2])


def _junctions_of(
    network: Network, elements: Sequence[Element], variants: Sequence[Variant], draws: int
) -> _Junctions:
    curves: dict[str, list[Array]] = {"volts": [], "amps": [], "slope_v": []}
    of_parts = PartValues(network, variants, draws)
    there = np.ones((len(elements), len(variants)), dtype=np.bool_)
    for i, element in enumerate(elements):
        kind = network.parts[element.part].kind
        values = of_parts.of(element.part)
        for name, found in curves.items():
            found.append(np.broadcast_to(element.parameters[name](values, kind.curves), len(variants)))
        modes = [{f.mode for f in v.faults if f.part == element.part} for v in variants]
        there[i] = [
            (element.fault is None or element.fault in now) and not element.opened_by & now for now in modes
        ]
    empty = np.zeros((0, len(variants)))
    forward_v, forward_a, slope_v = (np.stack(found) if found else empty for found in curves.values())
    return _Junctions(forward_v, forward_a, slope_v, there)


def _shown(ohms: Array, junctions: _Junctions, meter: MeterProfile) -> Array:
    """Return the display for the resistances among the ports, (ports, ports, columns), the meter's port first.

    Columns that are alike are worked out once: a fault elsewhere on the boat changes nothing here.
    """
    rough = np.concatenate(
        [
            _rounded(ohms.reshape(-1, ohms.shape[2])),
            junctions.forward_v,
            junctions.forward_a,
            junctions.slope_v,
            junctions.there,
        ]
    )
    _, first, back = np.unique(rough, axis=1, return_index=True, return_inverse=True)
    volts = _solved(ohms[:, :, first], junctions.take(first), meter)
    shown = np.where(volts > meter.diode_largest_v, np.inf, volts)
    return np.asarray(shown[back.reshape(-1)])


def _rounded(values: Array) -> Array:
    """Return values to so many significant digits that those which differ by rounding errors become equal."""
    size = 10.0 ** (_OHM_DIGITS - np.ceil(np.log10(np.maximum(np.abs(values), 1e-6))))
    return np.asarray(np.round(values * size) / size)


def _solved(ohms: Array, junctions: _Junctions, meter: MeterProfile) -> Array:
    """Return the volts between the probes: the meter is its battery behind a resistance, junctions meet Newton."""
    siemens = meter.diode_a / meter.diode_open_v
    into, out = ohms[1:, 0], ohms[0, 1:]
    share = 1.0 / (1.0 + siemens * ohms[0, 0])
    # What the meter alone would put across each junction, and what the junctions see of one another with it in place.
    alone = into * meter.diode_a * share
    among = ohms[1:, 1:] - siemens * share * into[:, None] * out[None]
    at = np.zeros_like(alone)
    volts = at
    for _ in range(_STEPS):
        amps, slope = junctions.carried(at)
        count = len(at)
        left = np.eye(count)[:, :, None] + among * slope[None]
        right = alone - (among * (amps - slope * at)[None]).sum(axis=1)
        volts = np.linalg.solve(left.transpose(2, 0, 1), right.T[..., None])[..., 0].T
        new = tame_diode(volts, at, junctions.forward_v, junctions.forward_a, junctions.slope_v)
        done = np.abs(new - at).max(initial=0.0) < _CLOSE_V
        at = new
        if done:
            break
    amps, _ = junctions.carried(at)
    return np.asarray((ohms[0, 0] * meter.diode_a - (out * amps).sum(axis=0)) * share)
