"""Whether the bands are honest: many healthy boats within tolerance, read by a meter within its accuracy.

Bands are made as the program makes them, from its own draws of the tolerances; the boats they are held against are
others.  Every pair of points that a probe reaches is read in every boat state at work.
"""

from collections.abc import Iterator
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from assistant.circuit import (
    CHEAP_METER,
    BoatState,
    MeterFunction,
    Solver,
    Variant,
    build_network,
    half_width,
    make_solver,
    ready_state,
    volts_shown,
    working_states,
)
from assistant.circuit.expectation import band_of
from assistant.diagnosis.candidates import probe_pairs
from assistant.diagnosis.cells import HEALTHY_BOATS
from assistant.wiring import Boat

Array = NDArray[np.float64]
Rows = NDArray[np.intp]

BOATS = 1000


@dataclass(frozen=True, slots=True, kw_only=True)
class Share:
    """Of a boat in one state: readings, and the share of them inside their band and inside one two thirds as wide."""

    state: str
    readings: int
    inside: float
    narrow: float
    worst: float
    restless: int


def calibrate(boat: Boat, boats: int = BOATS) -> Iterator[Share]:
    """Yield the shares of every boat state at work."""
    network = build_network(boat)
    solver = make_solver(network)
    chance = np.random.default_rng(20)
    pairs = probe_pairs(network)
    red = np.array([network.node(pair[0]) for pair in pairs])
    black = np.array([network.node(pair[1]) for pair in pairs])
    for state in dict.fromkeys((ready_state(boat), *working_states(boat))):
        known, _ = _shown(solver, state, red, black, HEALTHY_BOATS)
        unseen, restless = _shown(solver, state, red, black, HEALTHY_BOATS + boats)
        rows = [
            _held(own, other[1 + HEALTHY_BOATS :], chance) for own, other in zip(known, unseen, strict=True)
        ]
        inside, narrow = np.array(rows).T
        yield Share(
            state=_words(boat, state),
            readings=len(pairs),
            inside=float(inside.mean()),
            narrow=float(narrow.mean()),
            worst=float(inside.min()),
            restless=restless,
        )


def _shown(solver: Solver, state: BoatState, red: Rows, black: Rows, draws: int) -> tuple[Array, int]:
    variants = [Variant(draw=draw) for draw in range(1 + draws)]
    solution = solver.solve(state, variants, draws=draws)
    assert not solution.failed.any()
    mean = 0.5 * (solution.phase.volts + solution.other.volts)
    first = np.array([0])
    hold = solver.hold(solution, variants[:1], first, draws=draws).between(red, black, first)
    restless = int(solution.restless.any(axis=0).sum())
    return volts_shown(mean[red] - mean[black], hold, CHEAP_METER), restless


def _held(own: Array, values: Array, chance: np.random.Generator) -> tuple[float, float]:
    """Return the share of readings inside the band, and inside one two thirds as wide."""
    band = band_of(own, MeterFunction.DC_VOLTS, CHEAP_METER)
    error = half_width(CHEAP_METER, MeterFunction.DC_VOLTS, values)
    shown = values + error * chance.uniform(-1.0, 1.0, len(values))
    middle, third = 0.5 * (band.low + band.high), (band.high - band.low) / 3.0
    inside = (band.low <= shown) & (shown <= band.high)
    return float(inside.mean()), float((np.abs(shown - middle) <= third).mean())


def _words(boat: Boat, state: BoatState) -> str:
    moved = {name: value for name, value in state.pairs if name in boat.radio.controls}
    return " ".join(f"{name} {value:+g}" for name, value in moved.items())
