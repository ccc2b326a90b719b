"""A boat made of a circuit and its hidden faults, that answers like a real one to a meter, eyes and ears.

It knows nothing of hypotheses or probabilities.  Its tolerances are drawn apart from those the diagnosis reckons
with; the meter errs within its accuracy, and on a rail that jumps between two levels it shows either or between.

A fault that comes and goes is there or not by the moment, and a hand that moves its place makes it change; while the
contact bounces, the meter jumps between both.  Unless a chance of being away is given, it is always there.
"""

from __future__ import annotations

import math
from collections.abc import Sequence

import numpy as np

from assistant.circuit import (
    CHEAP_METER,
    RIPPLE_SPREAD,
    BoatState,
    Fault,
    Measurement,
    MeterFunction,
    MeterProfile,
    Solution,
    Solver,
    Variant,
    diode_volts,
    gap_between,
    half_width,
    lamp_level,
    lamp_value,
    last_digit,
    ohms_shown,
    pulses_shown,
    ripple_shown,
    through,
    volts_shown,
)
from assistant.circuit.batch import make_batch
from assistant.circuit.hold import Hold
from assistant.circuit.lamp import LAMP_V, filament_ohm
from assistant.circuit.series import FINER
from assistant.diagnosis import SignQuery, Trial, Wiggle
from assistant.diagnosis.moving import JUMP_V
from assistant.diagnosis.signs import SignModel, sign_levels
from assistant.drill.chance import Dice, weighted
from assistant.drill.metering import with_lamp, with_meter
from assistant.drill.trying import changed
from assistant.errors import CircuitError
from assistant.wiring import Point

_DRAWS = 997
_BOUNCING = 0.15
_JACK_OHM = 0.03
"""What the current jack puts between its probes: shunt, fuse and leads (common practice, no source)."""
_WARMING = 20
_STEADY = 1e-3
"""How often at most a lamp is solved anew at the ohms of its filament, and what change of its volts ends that."""

_GOLDEN = 0.6180339887
"""The golden section, which spreads the makes of boats evenly (c)."""

_ONE = np.zeros(1, dtype=np.intp)


class VirtualBoat:
    """A simulated boat with hidden faults.

    Parameters
    ----------
    solver : of the boat's network.
    faults : what is wrong with it; none for a healthy boat.
    random : source of tolerances, meter error, uncertain signs, and of when faults come and go.
    meter : the meter it is measured with.
    away : chance that a fault that comes and goes is away at any moment.
    """

    def __init__(
        self,
        solver: Solver,
        faults: Sequence[Fault],
        random: Dice,
        *,
        meter: MeterProfile = CHEAP_METER,
        away: float = 0.0,
    ) -> None:
        self._solver = solver
        self._random = random
        self._meter = meter
        self._away = away
        self._draw = random.randint(1, _DRAWS)
        self._faults = tuple(faults)
        self._gone: frozenset[str] = frozenset()
        self._bouncing = False
        self._solved: dict[tuple[BoatState, tuple[Fault, ...]], tuple[Solution, Hold]] = {}
        self._seen: dict[tuple[SignQuery, tuple[Fault, ...]], str] = {}
        if away > 0.0:
            self.let_time_pass()

    @property
    def faults(self) -> tuple[Fault, ...]:
        """Return what is still wrong, whether it shows at the moment or not."""
        return self._faults

    @property
    def meter(self) -> MeterProfile:
        """Return the meter it is measured with."""
        return self._meter

    @property
    def is_bouncing(self) -> bool:
        """Tell whether a contact bounces at the moment, so that a meter shows now one value and now another."""
        return self._bouncing

    @property
    def is_troubled(self) -> bool:
        """Tell whether every fault is there at the moment."""
        return not self._gone

    def mend(self, place: str) -> None:
        """Mend whatever is wrong at a part, wire or joint."""
        self._faults = tuple(f for f in self._faults if f.part != place)
        self._seen.clear()

    def let_time_pass(self) -> None:
        """Go on to another moment, in which faults that come and go may be there or away."""
        fickle = self._fickle()
        self._gone = frozenset(place for place in fickle if self._random.random() < self._away)
        self._bouncing = bool(fickle) and self._random.random() < _BOUNCING

    def shake(self, place: str) -> bool:
        """Move a part, wire or joint with a finger; return whether that made a fault come or go."""
        if place not in self._fickle():
            return False
        self._gone = self._gone ^ {place}
        self._bouncing = False
        return True

    def wiggle(self, wiggle: Wiggle) -> bool:
        """Move a place while something is watched; return whether that changed."""
        before = self._watched(wiggle)
        self.shake(wiggle.place)
        after = self._watched(wiggle)
        if isinstance(before, float) and isinstance(after, float):
            return abs(before - after) > JUMP_V
        return before != after

    def _watched(self, wiggle: Wiggle) -> float | str:
        watched = wiggle.watched
        return self.read(watched) if isinstance(watched, Measurement) else self.look(watched)

    def _fickle(self) -> tuple[str, ...]:
        """Return the places of the faults that come and go, where such faults are ever away."""
        if self._away <= 0.0:
            return ()
        parts = self._solver.network.parts
        return tuple(f.part for f in self._faults if parts[f.part].kind.faults[f.mode].intermittent)

    def read(self, measurement: Measurement) -> float:
        """Return what the meter shows, in the unit of its function; ``inf`` for OL, nothing where its fuse blew."""
        if measurement.function.is_inserted:
            return self._read_amps(measurement)
        if measurement.function is MeterFunction.LAMP:
            return self._lamp(measurement)
        solution, hold = self._state(measurement.state)
        red = self._solver.network.node(measurement.red)
        black = self._solver.network.node(measurement.black)
        if measurement.function is MeterFunction.DIODE_TEST:
            probes = (red, black)
            volts = diode_volts(
                self._solver.network, hold, _ONE, [self._variant()], probes, self._meter, draws=_DRAWS
            )
            return float(np.inf) if np.isinf(volts[0]) else self._shown(volts, measurement)
        if measurement.function.is_pulsed or measurement.function is MeterFunction.AC_MILLIVOLTS:
            return self._shown(np.array([self._alternating(measurement, red, black)]), measurement)
        ohm = hold.between(np.array([red]), np.array([black]), _ONE, exact=True)[0]
        if measurement.function is MeterFunction.DC_VOLTS:
            share = self._random.random()
            main = float(solution.phase.volts[red, 0] - solution.phase.volts[black, 0])
            other = float(solution.other.volts[red, 0] - solution.other.volts[black, 0])
            volts = np.array([share * main + (1.0 - share) * other])
            return self._shown(volts_shown(volts, ohm, self._meter), measurement)
        shown = ohms_shown(ohm, self._meter)
        return float(np.inf) if np.isinf(shown[0]) else self._shown(shown, measurement)

    def _alternating(self, measurement: Measurement, red: int, black: int) -> float:
        """Return AC volts, duty or frequency between two nodes; ripple is as strong as the boat's own make has it."""
        solution, hold = self._state(measurement.state)
        probes = (np.array([red]), np.array([black]))
        if measurement.function is MeterFunction.AC_MILLIVOLTS:
            phases = (solution.phase, solution.other)
            ripple = ripple_shown(self._solver.network, phases, hold, _ONE, probes, self._meter)
            make = (self._draw * _GOLDEN) % 1.0
            return float(ripple[0, 0]) * math.exp(RIPPLE_SPREAD * (2.0 * make - 1.0))
        phase = solution.phase if self._random.random() < 0.5 else solution.other
        batch = make_batch(self._solver.network, [self._variant()], draws=_DRAWS)
        seen = pulses_shown(batch, measurement.state, phase.conditions, hold, _ONE, probes, self._meter)
        counted = seen.duty if measurement.function is MeterFunction.DUTY else seen.rate_hz
        return float(counted[0, 0])

    def _lamp(self, measurement: Measurement) -> float:
        """Return what a test lamp is called that is really held there, as the share that this level stands for.

        Where the volts jump, it is called by what it shows at one moment or another.
        """
        share, moment = 0.0, self._random.random()
        for _ in range(_WARMING):
            ohm = float(filament_ohm(np.array(share * LAMP_V)))
            solver = with_lamp(self._solver, measurement.red, measurement.black, ohm)
            solution = solver.solve(measurement.state, [self._variant()], draws=_DRAWS)
            red, black = (solver.network.node(point) for point in (measurement.red, measurement.black))
            main, other = (
                abs(float(phase.volts[red, 0] - phase.volts[black, 0]))
                for phase in (solution.phase, solution.other)
            )
            before, share = share, (moment * main + (1.0 - moment) * other) / LAMP_V
            if abs(share - before) < _STEADY:
                break
        return lamp_value(lamp_level(share))

    def _read_amps(self, measurement: Measurement) -> float:
        """Return what the meter shows in the place of what was opened, on the smallest range that holds it."""
        value = 0.0
        for chosen in reversed(self._meter.currents):
            value = self.amps_in_series(measurement, chosen.ohm)
            if abs(value) > chosen.fuse_a:
                return 0.0
            smaller = [one for one in self._meter.currents if one.full_a < chosen.full_a]
            if not smaller or abs(value) >= FINER * smaller[-1].full_a:
                break
        return self._shown(np.array([value]), measurement)

    def amps_in_series(self, measurement: Measurement, ohm: float) -> float:
        """Return the current from red to black with so much resistance in the place of what was opened (A).

        Raises
        ------
        CircuitError
            If nothing between the two points can be opened.
        """
        boat = self._solver.network.boat
        gap = gap_between(boat, measurement.red, measurement.black)
        if gap is None:
            raise CircuitError(
                value=f"{measurement.red} to {measurement.black}",
                reason="nothing there can be opened by hand",
            )
        solver = with_meter(self._solver, gap.place, ohm)
        faults = tuple(fault for fault in self._there() if fault.part != gap.place)
        variant = Variant(faults=faults, draw=self._draw)
        solution = solver.solve(measurement.state, [variant], draws=_DRAWS)
        element, along = through(solver.network, gap, measurement.red)
        share = self._random.random()
        main, other = (float(p.amps[element, 0]) for p in (solution.phase, solution.other))
        return along * (share * main + (1.0 - share) * other)

    def read_bouncing(self, measurement: Measurement) -> tuple[float, float]:
        """Return the two values between which the meter jumps while a contact bounces."""
        first = self.read(measurement)
        held = self._gone
        self._gone = frozenset(self._fickle()) - held
        second = self.read(measurement)
        self._gone = held
        return first, second

    def amps_through_meter(self, red: Point, black: Point, state: BoatState) -> float:
        """Return the current that flows when the meter's current jack joins two points (amperes, without sign).

        The jack is a piece of wire: it carries what the volts there drive through what holds them.
        """
        solution, hold = self._state(state)
        first, second = self._solver.network.node(red), self._solver.network.node(black)
        ohm = float(hold.between(np.array([first]), np.array([second]), _ONE, exact=True)[0, 0])
        volts = float(solution.phase.volts[first, 0] - solution.phase.volts[second, 0])
        return abs(volts) / (max(ohm, 0.0) + _JACK_OHM)

    def _shown(self, true: np.ndarray, measurement: Measurement) -> float:
        """Return the display for a true value: off within the meter's accuracy, rounded to its last digit."""
        width = float(half_width(self._meter, measurement.function, true)[0])
        digit = float(last_digit(self._meter, measurement.function, true)[0])
        value = float(true[0]) + (2.0 * self._random.random() - 1.0) * width
        return round(value / digit) * digit

    def look(self, query: SignQuery) -> str:
        """Return the level a sign shows: the same when looked at again, but for what shows by chance."""
        if query.after is not None:
            return self._look_after(query, query.after)
        if self._gone and self._solver.network.parts[query.part].kind.signs[query.sign].unplugged:
            # A joint is as loose to the hand while it conducts.
            held, self._gone = self._gone, frozenset()
            shown = self.look(query)
            self._gone = held
            return shown
        solution, _ = self._state(query.state)
        return self._shows(SignModel(self._solver.network, [self._variant()], _DRAWS), solution, query)

    def _shows(self, model: SignModel, solution: Solution, query: SignQuery) -> str:
        spec = self._solver.network.parts[query.part].kind.signs[query.sign]
        there = (query, self._there())
        if there not in self._seen:
            lasting = model.lasting(solution, query)[:, 0]
            self._seen[there] = weighted(self._random, sign_levels(spec), lasting.tolist())
        chance = float(model.by_chance(solution, query)[0])
        if spec.chance_level and chance > 0.0 and self._random.random() < chance:
            return spec.chance_level
        return self._seen[there]

    def _look_after(self, query: SignQuery, trial: Trial) -> str:
        """Return what shows while something is changed on the boat; it is put back then."""
        solver, faults = changed(self._solver, trial, self._there())
        variant = Variant(faults=faults, draw=self._draw)
        solution = solver.solve(query.state, [variant], draws=_DRAWS)
        return self._shows(SignModel(solver.network, [variant], _DRAWS), solution, query)

    def turn_s(self, state: BoatState) -> float:
        """Return how long one turn takes (s) of what rattles or restarts at the moment; nan where nothing does."""
        solution, _ = self._state(state)
        return float(self._solver.turns_s(solution, [self._variant()], _ONE, draws=_DRAWS)[0])

    def is_alive(self, state: BoatState) -> bool:
        """Tell whether the boat has a steady state there at all that could be found."""
        return not bool(self._state(state)[0].failed[0])

    def _there(self) -> tuple[Fault, ...]:
        """Return the faults that are there at the moment."""
        return tuple(f for f in self._faults if f.part not in self._gone)

    def _variant(self) -> Variant:
        return Variant(faults=self._there(), draw=self._draw)

    def _state(self, state: BoatState) -> tuple[Solution, Hold]:
        there = (state, self._there())
        if there not in self._solved:
            variant = self._variant()
            solution = self._solver.solve(state, [variant], draws=_DRAWS)
            hold = self._solver.hold(solution, [variant], _ONE, draws=_DRAWS)
            self._solved[there] = (solution, hold)
        return self._solved[there]
