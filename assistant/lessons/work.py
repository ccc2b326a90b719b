"""The numbers of a lesson's example, worked out from the circuit model on the nominal boat.

A reading is what a cheap meter would show: its own input is part of the circuit, and the value is rounded to
the last digit of the range it would be read on.
"""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass
from functools import cached_property
from math import isinf, sqrt
from typing import TypeVar

import numpy as np

from assistant.catalogue import Catalogue, FaultSpec
from assistant.circuit import (
    CHEAP_METER,
    BoatState,
    Fault,
    MeterFunction,
    Solution,
    Solver,
    Variant,
    build_network,
    last_digit,
    make_solver,
    ohms_shown,
    ready_state,
    rest_state,
    volts_shown,
)
from assistant.circuit.batch import values_by_draw
from assistant.diagnosis import SignQuery
from assistant.diagnosis.signs import SignModel, sign_levels
from assistant.documents import suggestion
from assistant.errors import AnswerError
from assistant.lessons.model import Base, Current, Look, Number, Reading, Value, Worked
from assistant.quantities import Unit, parse_quantity, show
from assistant.wiring import Boat, Part, Point, load_boat, settings_of

_ONE = np.zeros(1, dtype=np.intp)
_UNITS = {
    MeterFunction.DC_VOLTS: Unit.VOLT,
    MeterFunction.OHMS: Unit.OHM,
    MeterFunction.CONTINUITY: Unit.OHM,
}
_Thing = TypeVar("_Thing")


@dataclass(frozen=True, slots=True, kw_only=True)
class Result:
    """What came out for one number of an example.

    Attributes
    ----------
    value, unit : the number; nan for a sign.
    level : level of a sign; empty for a number.
    text : either in words, as the lesson says it.
    severity : how bad the fault was, in words; empty without one.
    """

    value: float
    unit: Unit
    level: str
    text: str
    severity: str


class Bench:
    """The boat of an example, ready to be measured.

    Raises
    ------
    CircuitError
        If the wiring is none that current can be worked out for.
    """

    def __init__(self, boat: Boat) -> None:
        self.boat = boat
        self._solved: dict[tuple[BoatState, tuple[Fault, ...]], Solution] = {}

    @cached_property
    def solver(self) -> Solver:
        """The solver of the boat's network."""
        return make_solver(build_network(self.boat))

    def result(self, number: Number) -> Result:
        """Return one number.

        Raises
        ------
        AnswerError
            If it speaks of a place, setting, mode or sign that the boat does not have.
        QuantityError
            If its severity is no quantity of the mode's unit.
        CircuitError
            If there is no such point, or no steady state.
        """
        faults, state = self._faults(number), self.state(number)
        bad = self._severity_words(faults)
        if isinstance(number.what, Look):
            level, words = self._look(number.what, state, faults)
            return Result(value=float("nan"), unit=Unit.COUNT, level=level, text=words, severity=bad)
        if isinstance(number.what, Reading):
            value, unit = self._reading(number.what, state, faults), _UNITS[number.what.function]
        elif isinstance(number.what, Current):
            value, unit = self._current(number.what, state, faults), Unit.AMP
        else:
            value, unit = self._value(number.what)
        return Result(value=value, unit=unit, level="", text=show(value, unit), severity=bad)

    def _faults(self, number: Number) -> tuple[Fault, ...]:
        wrong = ((number.fault, number.severity), (number.besides, ""))
        return tuple(self._fault(named, severity) for named, severity in wrong if named)

    def _fault(self, named: str, severity: str) -> Fault:
        place, _, mode = named.partition(" ")
        spec = _named(self._part(place).kind.faults, mode, "fault")
        return Fault(place, mode, _severity(spec, severity))

    def _severity_words(self, faults: tuple[Fault, ...]) -> str:
        for fault in faults:
            measure = self._part(fault.part).kind.faults[fault.mode].severity
            return show(fault.severity, measure.unit) if measure is not None else ""
        return ""

    def _part(self, name: str) -> Part:
        return _named(self.boat.parts, name, "part")

    def state(self, number: Number) -> BoatState:
        """Return how the boat stands for a number."""
        known = {setting.id for setting in settings_of(self.boat)}
        for name in number.set:
            if name not in known:
                raise AnswerError(
                    value=name, reason="no such setting", next_step=suggestion(name, sorted(known))
                )
        base = ready_state(self.boat) if number.base is Base.READY else rest_state(self.boat)
        return base.with_(number.set)

    def _solution(self, state: BoatState, faults: tuple[Fault, ...]) -> Solution:
        if (state, faults) not in self._solved:
            found = self.solver.solve(state, [Variant(faults=faults)])
            if found.failed[0]:
                raise AnswerError(reason="no steady state was found", next_step="take a milder fault")
            self._solved[state, faults] = found
        return self._solved[state, faults]

    def _reading(self, what: Reading, state: BoatState, faults: tuple[Fault, ...]) -> float:
        solution = self._solution(state, faults)
        red, black = (self.solver.network.node(_point(text)) for text in (what.red, what.black))
        hold = self.solver.hold(solution, [Variant(faults=faults)], _ONE)
        ohm = hold.between(np.array([red]), np.array([black]), _ONE, exact=True)[0]
        if what.function is MeterFunction.DC_VOLTS:
            volts = solution.phase.volts[red] - solution.phase.volts[black]
            shown = float(volts_shown(volts, ohm, CHEAP_METER)[0])
        else:
            shown = float(ohms_shown(ohm, CHEAP_METER)[0])
        if isinf(shown):
            return shown
        digit = float(last_digit(CHEAP_METER, what.function, np.array(shown)))
        return round(shown / digit) * digit

    def _current(self, what: Current, state: BoatState, faults: tuple[Fault, ...]) -> float:
        part, _, name = what.of.rpartition(" ")
        elements = {
            self.solver.network.elements[i].name: i
            for i in self.solver.network.elements_of(self._part(part).id)
        }
        return float(self._solution(state, faults).phase.amps[_named(elements, name, "element"), 0])

    def _value(self, what: Value) -> tuple[float, Unit]:
        name, _, value = what.of.rpartition(" ")
        part = self._part(name)
        spec = _named(part.kind.values, value, "value")
        return float(values_by_draw(part, 0)[value][0]), spec.unit

    def _look(self, what: Look, state: BoatState, faults: tuple[Fault, ...]) -> tuple[str, str]:
        part, _, sign = what.of.partition(" ")
        spec = _named(self._part(part).kind.signs, sign, "sign")
        model = SignModel(self.solver.network, [Variant(faults=faults)], 0)
        chances = model.probabilities(
            self._solution(state, faults), SignQuery(part=part, sign=sign, state=state)
        )
        level = sign_levels(spec)[int(chances[:, 0].argmax())]
        return level, spec.words[level]


def bench_of(worked: Worked, catalogue: Catalogue, boats: Mapping[str, str]) -> Bench:
    """Return the boat of an example, ready to be measured.

    Parameters
    ----------
    worked
        The example.
    catalogue
        All part kinds.
    boats
        Wiring description of each example boat, by name.

    Raises
    ------
    AnswerError
        If it names a boat that is none of them.
    WiringError
        With all problems of its description.
    """
    if "\n" in worked.boat.strip():
        return Bench(load_boat(worked.boat, "boat", catalogue))
    return Bench(load_boat(_named(boats, worked.boat, "boat"), f"{worked.boat}.yaml", catalogue))


def work_out(worked: Worked, bench: Bench) -> Mapping[str, Result]:
    """Return all numbers of an example by name; see `Bench.result` for what can go wrong."""
    return {name: bench.result(number) for name, number in worked.numbers.items()}


def _named(things: Mapping[str, _Thing], name: str, what: str) -> _Thing:
    if name not in things:
        raise AnswerError(value=name, reason=f"no such {what}", next_step=suggestion(name, things))
    return things[name]


def _point(text: str) -> Point:
    part, _, terminal = text.rpartition(" ")
    return Point(part=part, terminal=terminal)


def _severity(fault: FaultSpec, typed: str) -> float:
    """Return how bad a fault is: as typed, else the middle of its range, in the sense of its steps."""
    measure = fault.severity
    if measure is None:
        if typed:
            raise AnswerError(
                value=typed, reason="this fault has no measure", next_step="leave out the severity"
            )
        return 0.0
    if typed:
        return parse_quantity(typed, measure.unit, low=measure.low, high=measure.high).value
    return sqrt(measure.low * measure.high) if measure.log else 0.5 * (measure.low + measure.high)
