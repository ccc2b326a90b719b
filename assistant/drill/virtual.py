"""A boat made of a circuit and its hidden faults, that answers like a real one to a meter, eyes and ears.

It knows nothing of hypotheses or probabilities.  Its tolerances are drawn apart from those the diagnosis reckons
with; the meter errs within its accuracy, and on a rail that jumps between two levels it shows either or between.
"""

from __future__ import annotations

from collections.abc import Sequence
from random import Random

import numpy as np

from assistant.circuit import (
    CHEAP_METER,
    BoatState,
    Fault,
    Measurement,
    MeterFunction,
    MeterProfile,
    Solution,
    Solver,
    Variant,
    half_width,
    last_digit,
    ohms_shown,
    volts_shown,
)
from assistant.circuit.hold import Hold
from assistant.diagnosis import SignQuery
from assistant.diagnosis.signs import SignModel, sign_levels

_DRAWS = 997
_ONE = np.zeros(1, dtype=np.intp)


class VirtualBoat:
    """A simulated boat with hidden faults.

    Parameters
    ----------
    solver : of the boat's network.
    faults : what is wrong with it; none for a healthy boat.
    random : source of tolerances, meter error and uncertain signs.
    meter : the meter it is measured with.
    """

    def __init__(
        self, solver: Solver, faults: Sequence[Fault], random: Random, *, meter: MeterProfile = CHEAP_METER
    ) -> None:
        self._solver = solver
        self._random = random
        self._meter = meter
        self._draw = random.randint(1, _DRAWS)
        self._variant = Variant(faults=tuple(faults), draw=self._draw)
        self._solved: dict[BoatState, tuple[Solution, Hold]] = {}
        self._seen: dict[SignQuery, str] = {}

    @property
    def faults(self) -> tuple[Fault, ...]:
        """Return what is still wrong."""
        return self._variant.faults

    def mend(self, place: str) -> None:
        """Mend whatever is wrong at a part, wire or joint."""
        left = tuple(f for f in self._variant.faults if f.part != place)
        self._variant = Variant(faults=left, draw=self._draw)
        self._solved.clear()
        self._seen.clear()

    def read(self, measurement: Measurement) -> float:
        """Return what the meter shows, in volts or ohms; ``inf`` for OL."""
        solution, hold = self._state(measurement.state)
        red = self._solver.network.node(measurement.red)
        black = self._solver.network.node(measurement.black)
        ohm = hold.between(np.array([red]), np.array([black]), _ONE, exact=True)[0]
        if measurement.function is MeterFunction.DC_VOLTS:
            share = self._random.random()
            main = float(solution.phase.volts[red, 0] - solution.phase.volts[black, 0])
            other = float(solution.other.volts[red, 0] - solution.other.volts[black, 0])
            volts = np.array([share * main + (1.0 - share) * other])
            return self._shown(volts_shown(volts, ohm, self._meter), measurement)
        shown = ohms_shown(ohm, self._meter)
        return float(np.inf) if np.isinf(shown[0]) else self._shown(shown, measurement)

    def _shown(self, true: np.ndarray, measurement: Measurement) -> float:
        """Return the display for a true value: off within the meter's accuracy, rounded to its last digit."""
        width = float(half_width(self._meter, measurement.function, true)[0])
        digit = float(last_digit(self._meter, measurement.function, true)[0])
        value = float(true[0]) + self._random.uniform(-1.0, 1.0) * width
        return round(value / digit) * digit

    def look(self, query: SignQuery) -> str:
        """Return the level a sign shows; the same when looked at again."""
        if query not in self._seen:
            spec = self._solver.network.parts[query.part].kind.signs[query.sign]
            solution, _ = self._state(query.state)
            model = SignModel(self._solver.network, [self._variant], _DRAWS)
            chances = model.probabilities(solution, query)[:, 0]
            self._seen[query] = self._random.choices(sign_levels(spec), weights=chances.tolist())[0]
        return self._seen[query]

    def is_alive(self, state: BoatState) -> bool:
        """Tell whether the boat has a steady state there at all that could be found."""
        return not bool(self._state(state)[0].failed[0])

    def _state(self, state: BoatState) -> tuple[Solution, Hold]:
        if state not in self._solved:
            solution = self._solver.solve(state, [self._variant], draws=_DRAWS)
            hold = self._solver.hold(solution, [self._variant], _ONE, draws=_DRAWS)
            self._solved[state] = (solution, hold)
        return self._solved[state]
