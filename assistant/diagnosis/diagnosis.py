"""The diagnosis as one object: evidence in, beliefs, next steps and verdicts out.

It holds the fault table of a boat and computes boat states when they are first needed; apart from that memory it is a
pure function of what it is asked.
"""

from __future__ import annotations

from collections.abc import Iterable, Mapping, Sequence
from dataclasses import replace
from functools import cached_property

import numpy as np

from assistant.circuit import (
    CHEAP_METER,
    BoatState,
    Measurement,
    MeterFunction,
    MeterProfile,
    Network,
    half_width,
    make_solver,
    ready_state,
)
from assistant.circuit.expectation import Band, band_of
from assistant.diagnosis.belief import Belief, believe
from assistant.diagnosis.candidates import looks, probe_pairs, readings
from assistant.diagnosis.choose import (
    OVERHEAD_S,
    Field,
    contrast_field,
    field_of,
    reading_gains,
    rivals_field,
    sign_gain,
)
from assistant.diagnosis.consequences import with_consequences
from assistant.diagnosis.costs import Bench, look_seconds, reading_seconds
from assistant.diagnosis.explain import why_step
from assistant.diagnosis.hypotheses import NO_HISTORY, History, single_faults
from assistant.diagnosis.model import Evidence, ReadingSeen, RepairId, SignQuery, Step, StepKind, Verdict
from assistant.diagnosis.table import FaultTable
from assistant.diagnosis.verdict import SURE, is_confirmed, leader, verdict_of, weakest_link

_LEAST_BITS = 0.1


class Diagnosis:
    """Fault-finding on one boat."""

    def __init__(
        self, network: Network, *, meter: MeterProfile = CHEAP_METER, history: History = NO_HISTORY
    ) -> None:
        self.network = network
        self.meter = meter
        self._history = history
        self._pairs = probe_pairs(network)
        self._bands: dict[Measurement, Band] = {}

    @cached_property
    def table(self) -> FaultTable:
        """The fault table, made when first needed."""
        solver = make_solver(self.network)
        stories = with_consequences(solver, single_faults(self.network, self._history))
        return FaultTable(solver, stories, self.meter)

    def prepare(self, states: Iterable[BoatState]) -> None:
        """Compute the fault table in these boat states now rather than when first asked."""
        for state in states:
            self.table.state(state)

    def belief(self, evidence: Sequence[Evidence]) -> Belief:
        """Return the belief after some evidence; its order does not matter."""
        return believe(self.table, evidence)

    def verdict(self, belief: Belief, step: Step | None) -> Verdict:
        """Return how the hunt stands, given the belief and the next step on offer (None: nothing separates)."""
        return verdict_of(self.table, belief, exhausted=step is None)

    def next_step(
        self,
        belief: Belief,
        *,
        state: BoatState,
        last: Measurement | None,
        refused: frozenset[Measurement | SignQuery],
        states: Sequence[BoatState] | None = None,
    ) -> Step | None:
        """Return the step that brings most about the repair for its cost, or None when none brings anything.

        Once one repair is nearly sure but rests on a single answer, the step is chosen as if that answer were not
        given, so that it is confirmed by another.

        Parameters
        ----------
        state, last : how the boat stands now, and the last reading (for the cost of probe moves).
        refused : readings and signs not to be asked (again): already answered, or out of reach.
        states : boat states in which steps may be taken; the ready state when left out.
        """
        if is_confirmed(self.table, belief):
            return None
        offered = tuple(states) if states else (ready_state(self.network.boat),)
        asked = refused | {_asked(e) for e in belief.evidence}
        bench = Bench(state=state, last=last)
        top, mass = leader(self.table, belief)
        if belief.evidence and mass >= SURE:
            doubted = belief.without(weakest_link(self.table, belief))
            return self._best_step(rivals_field(self.table, doubted, top), bench, asked, offered)
        return self._best_step(field_of(self.table, belief), bench, asked, offered)

    def proof(
        self, repair: RepairId, belief: Belief, *, state: BoatState, states: Sequence[BoatState] | None = None
    ) -> Step | None:
        """Return the reading or sign that best tells the boat with this fault from the healthy one."""
        offered = tuple(states) if states else (ready_state(self.network.boat),)
        field = contrast_field(self.table, belief, repair)
        return self._best_step(field, Bench(state=state, last=None), frozenset(), offered)

    def explain(self, step: Step, belief: Belief) -> str:
        """Return in a sentence or two which suspects a step tells apart."""
        return why_step(self.table, belief, step, self.network.boat)

    def _best_step(
        self,
        field: Field,
        bench: Bench,
        asked: frozenset[Measurement | SignQuery],
        states: Sequence[BoatState],
    ) -> Step | None:
        boat = self.network.boat
        best: Step | None = None
        for state in states:
            offered = [m for m in readings(self._pairs, boat, state, self.meter) if m not in asked]
            for measurement, gain in zip(offered, reading_gains(self.table, field, offered), strict=True):
                best = _better(best, self._reading(measurement, float(gain), bench))
        for query in looks(boat, states):
            if query not in asked:
                gain = sign_gain(self.table, field, query)
                best = _better(best, self._look(query, gain, bench))
        if best is None or best.gain_bits < _LEAST_BITS:
            return None
        return best if best.measurement is None else replace(best, band=self.band(best.measurement))

    def _reading(self, measurement: Measurement, gain: float, bench: Bench) -> Step:
        return Step(
            kind=StepKind.READ,
            measurement=measurement,
            band=None,
            query=None,
            levels={},
            gain_bits=gain,
            seconds=reading_seconds(self.network.boat, measurement, bench),
        )

    def _look(self, query: SignQuery, gain: float, bench: Bench) -> Step:
        look = self.network.parts[query.part].kind.signs[query.sign].look
        return Step(
            kind=StepKind.LOOK,
            measurement=None,
            band=None,
            query=query,
            levels=self.levels(query),
            gain_bits=gain,
            seconds=look_seconds(self.network.boat, look, query.state, bench),
        )

    def levels(self, query: SignQuery) -> Mapping[str, str]:
        """Return the levels a sign can show and the words for them."""
        spec = self.network.parts[query.part].kind.signs[query.sign]
        return {level: spec.words.get(level, level) for level in self.table.level_names(query)}

    def band(self, measurement: Measurement) -> Band:
        """Return what the healthy boat would show, with the limits that 99 % of healthy boats keep."""
        if measurement not in self._bands:
            self._bands[measurement] = self._band(measurement)
        return self._bands[measurement]

    def _band(self, measurement: Measurement) -> Band:
        healthy = self.table.healthy(measurement.state)
        return band_of(healthy.shown([measurement]).values[0, 0], measurement.function, self.meter)

    def plausible(self, measurement: Measurement, value: float, belief: Belief) -> bool:
        """Tell whether a reading can be had from the boat under any hypothesis at all."""
        if measurement.function is not MeterFunction.DC_VOLTS:
            return value >= 0.0
        values = self.table.state(measurement.state).shown([measurement]).values
        finite = values[np.isfinite(values)]
        slack = (
            0.5
            + 0.15 * self.table.highest_v
            + half_width(self.meter, MeterFunction.DC_VOLTS, np.asarray(value))
        )
        return bool(finite.min() - slack <= value <= finite.max() + slack)


def _asked(piece: Evidence) -> Measurement | SignQuery:
    return piece.measurement if isinstance(piece, ReadingSeen) else piece.query


def _better(best: Step | None, other: Step) -> Step:
    """Return the step with more information per cost."""
    if best is None:
        return other
    rate, other_rate = (s.gain_bits / (OVERHEAD_S + s.seconds) for s in (best, other))
    return other if other_rate > rate else best
