"""The diagnosis as one object: evidence in, beliefs, next steps and verdicts out.

It holds the fault table of a boat and computes boat states when they are first needed; apart from that memory it is a
pure function of what it is asked.
"""

from __future__ import annotations

from collections.abc import Collection, Iterable, Mapping, Sequence
from copy import copy
from dataclasses import replace
from functools import cached_property

from assistant.circuit import (
    CHEAP_METER,
    BoatState,
    Measurement,
    MeterFunction,
    MeterProfile,
    Network,
    Solver,
    make_solver,
    ready_state,
)
from assistant.circuit.expectation import Band, band_of
from assistant.diagnosis.belief import MISREAD, Belief, believe, likelihood
from assistant.diagnosis.candidates import Readings, probe_pairs, readings, readings_in
from assistant.diagnosis.choose import contrast_field, field_of, rivals_field
from assistant.diagnosis.consequences import with_consequences
from assistant.diagnosis.explain import WHY_NOTHING_AMISS, why_again, why_lone, why_moved_again, why_step
from assistant.diagnosis.health import (
    ODD,
    RARE,
    best_for_health,
    is_something_likely,
    sound_belief,
)
from assistant.diagnosis.hypotheses import (
    NO_HISTORY,
    NOTHING_LATELY,
    History,
    Lately,
    raised_by,
    single_faults,
)
from assistant.diagnosis.joined import Joining, is_torn
from assistant.diagnosis.model import (
    AtHand,
    Barred,
    Evidence,
    ReadingSeen,
    RepairId,
    SignQuery,
    SignSeen,
    Step,
    StepKind,
    Unsteady,
    Verdict,
    Wiggle,
    Wiggled,
)
from assistant.diagnosis.moving import (
    is_caught,
    moved_once,
    says_it_comes_and_goes,
    swing_of,
    watched_before,
)
from assistant.diagnosis.offers import Offers, is_allowed
from assistant.diagnosis.race import Offer
from assistant.diagnosis.recent import Recent
from assistant.diagnosis.refining import refined
from assistant.diagnosis.settled import is_settled
from assistant.diagnosis.slips import is_doubtful, lone, misfit
from assistant.diagnosis.table import FaultTable
from assistant.diagnosis.trials import trials_of
from assistant.diagnosis.unrest import Unrest, unrest_seen, why_rate
from assistant.diagnosis.verdict import (
    STILL_SURE,
    SURE,
    is_confirmed,
    leader,
    standing_repairs,
    verdict_of,
    weakest_link,
)
from assistant.wiring import points_of, reach_of

_SLACK = 0.25
"""How far out of band, in half-widths of the band, a reading must be to count against a boat."""

_STATES = 32
"""Boat states of which the readings on offer are kept."""

_BELIEFS = 4
"""Beliefs that are kept: a step asks for that after an answer, and for that before it, more than once."""

_FLOOR = 3.0
"""A reading fits a story when it is so many times likelier there than a slip would make it."""


class Diagnosis:
    """Fault-finding on one boat."""

    def __init__(
        self,
        network: Network,
        *,
        meter: MeterProfile = CHEAP_METER,
        history: History = NO_HISTORY,
        solver: Solver | None = None,
    ) -> None:
        self.network = network
        self._solver = solver
        self.meter = meter
        self._history = history
        self._pairs = probe_pairs(network)
        self._reach = {point: reach_of(network.boat, point) for point in points_of(network.boat)}
        self._bands: dict[Measurement, Band] = {}
        self._between: Recent[tuple[BoatState, frozenset[MeterFunction]], Readings] = Recent(_STATES)
        self._beliefs: Recent[tuple[tuple[Evidence, ...], Lately], Belief] = Recent(_BELIEFS)
        self._single_beliefs: Recent[tuple[tuple[Evidence, ...], Lately], Belief] = Recent(_BELIEFS)

    def limited(self, functions: Collection[MeterFunction]) -> Diagnosis:
        """Return the same diagnosis with no more than these functions of its meter; they share the fault table."""
        _ = self.table
        other = copy(self)
        other.meter = self.meter.only(f for f in self.meter.functions if f in functions)
        return other

    @cached_property
    def table(self) -> FaultTable:
        """The fault table, made when first needed."""
        solver = self._solver or make_solver(self.network)
        faults = refined(solver, single_faults(self.network, self._history))
        stories = with_consequences(solver, faults)
        return FaultTable(solver, stories, self.meter)

    @cached_property
    def _joining(self) -> Joining:
        # With a solver of its own: pairs are hardly ever wanted again, and would push other things out of a cache.
        return Joining(self.table, make_solver(self.network))

    def prepare(self, states: Iterable[BoatState]) -> None:
        """Compute the fault table, and what it says in these boat states, now rather than when first asked."""
        table = self.table
        for state in states:
            table.state(state)
            table.healthy(state)

    def belief(self, evidence: Sequence[Evidence], lately: Lately = NOTHING_LATELY) -> Belief:
        """Return the belief after some evidence; its order does not matter.

        `lately` is what happened to the boat just before.
        """
        return self._beliefs.get((tuple(evidence), lately), lambda: self._believed(evidence, lately))

    def _believed(self, evidence: Sequence[Evidence], lately: Lately) -> Belief:
        alone = self.single_belief(evidence, lately)
        return self._joining.joined(alone) if is_torn(alone) else alone

    def single_belief(self, evidence: Sequence[Evidence], lately: Lately = NOTHING_LATELY) -> Belief:
        """Return the belief as if never two things were bad at once that have nothing to do with each other."""
        key = tuple(evidence), lately
        return self._single_beliefs.get(key, lambda: self._believed_singly(evidence, lately))

    def _believed_singly(self, evidence: Sequence[Evidence], lately: Lately) -> Belief:
        return believe(self.table, evidence, raised_by(self.table.hypotheses, self.network.boat, lately))

    def verdict(self, belief: Belief, step: Step | None) -> Verdict:
        """Return how the hunt stands, given the belief and the next step on offer (None: nothing separates)."""
        amiss = self._is_any_amiss(belief.evidence)
        caught = not says_it_comes_and_goes(belief.evidence) or is_caught(belief.evidence, self.is_amiss)
        return verdict_of(belief.table, belief, exhausted=step is None, amiss=amiss, caught=caught)

    def _is_any_amiss(self, evidence: Sequence[Evidence]) -> bool:
        """Tell whether any answer is amiss; what was asked twice counts as it was the second time."""
        return any(self.is_amiss(piece) for piece in {piece.asked: piece for piece in evidence}.values())

    def is_amiss(self, piece: Evidence) -> bool:
        """Tell whether an answer is one that healthy boats do not give: clearly out of band, or hardly ever shown."""
        if isinstance(piece, ReadingSeen):
            return not self.band(piece.measurement).holds(piece.value, slack=_SLACK)
        if isinstance(piece, Unsteady):
            return True
        if isinstance(piece, Wiggled):
            return piece.changed
        return self._chance_when_well(piece) < RARE

    def _chance_when_well(self, piece: SignSeen) -> float:
        chances = self.table.healthy(piece.query.state).levels(piece.query).mean(axis=(1, 2))
        names = self.table.level_names(piece.query)
        return float(sum(chances[names.index(level)] for level in piece.levels))

    def next_step(
        self,
        belief: Belief,
        *,
        state: BoatState,
        last: Measurement | None,
        refused: frozenset[Barred],
        states: Sequence[BoatState] | None = None,
        at_hand: frozenset[AtHand] | None = None,
    ) -> Step | None:
        """Return the step that brings most about the repair for its cost, or None when none brings anything.

        Once one repair is nearly sure but rests on a single answer, the step is chosen as if that answer were not
        given, so that it is confirmed by another; so for the group that is left when nothing tells them apart.  Before
        the hunt ends, an answer that the leading story can only take as a slip is asked for once more; so is one
        that alone speaks for a fault.  A move that made something change may be asked for a second time.  A sign that
        an answer has settled is not looked for.

        Parameters
        ----------
        state, last : how the boat stands now, and the last reading (for the cost of probe moves).
        refused : readings and signs not to be asked: out of reach.
        states : boat states in which steps may be taken; the ready state when left out.
        at_hand : what there is to try with, beside two parts alike to be swapped; None: nothing is tried.
        """
        offered = tuple(states) if states else (ready_state(self.network.boat),)
        answered = {piece.asked for piece in belief.evidence} - moved_once(belief.evidence)
        offers = self.offers(offered, refused | answered, belief.table)
        if at_hand is not None:
            seen = [p.query for p in belief.evidence if isinstance(p, SignSeen) and p.query.after is None]
            trials = trials_of(self.network.boat, at_hand)
            offers = replace(offers, trials=trials, seen=tuple(seen), lamp=AtHand.LAMP in at_hand)
        if belief.there is not None:
            offers = replace(offers, watched=watched_before(self.network.boat, belief.evidence))
        again = self._again(offers, belief, refused, state, last)
        if again is not None and is_doubtful(belief.table, belief, self.is_amiss):
            return self._step(again)
        best = None if is_confirmed(belief.table, belief) else self._unsettled(offers, belief, state, last)
        return self._step(best or again)

    def _unsettled(
        self, offers: Offers, belief: Belief, state: BoatState, last: Measurement | None
    ) -> Offer | None:
        """Return the best step that is no look at what an answer has settled already."""
        best = self._best(offers, belief, state, last)
        while (
            best is not None
            and belief.there is None
            and isinstance(best.what, SignQuery)
            and is_settled(belief.table, best.what, belief.evidence)
        ):
            offers = replace(offers, asked=offers.asked | {best.what})
            best = self._best(offers, belief, state, last)
        return best

    def _best(
        self, offers: Offers, belief: Belief, state: BoatState, last: Measurement | None
    ) -> Offer | None:
        """Return the step that tells most about what is left, or else confirms it by another answer."""
        table = belief.table
        top, mass = leader(table, belief)
        sound = self._sound(belief)
        if sound is not None:
            best = best_for_health(offers, sound, state, last)
            if best is not None or not is_something_likely(table, sound, offers.states):
                return best
        is_sure = mass >= SURE and bool(belief.evidence)
        best = None if is_sure else offers.best(field_of(table, belief), state, last)
        if best is not None or not belief.evidence:
            return best
        named = [top] if is_sure else standing_repairs(table, belief)
        weakest, left = weakest_link(table, belief, named)
        if left >= STILL_SURE:
            return None
        return offers.best(rivals_field(table, belief.without(weakest), named), state, last)

    def _again(
        self,
        offers: Offers,
        belief: Belief,
        refused: frozenset[Barred],
        state: BoatState,
        last: Measurement | None,
    ) -> Offer | None:
        """Return the offer to repeat an answer that does not belong with the others, if there is one."""
        number = self._doubted(belief)
        if number is None:
            return None
        asked = belief.evidence[number].asked
        if isinstance(asked, Wiggle) or asked.state not in offers.states or not is_allowed(asked, refused):
            return None
        top, _ = leader(belief.table, belief)
        field = rivals_field(belief.table, belief.without(number), [top])
        return offers.again(asked, field, state, last)

    def _doubted(self, belief: Belief) -> int | None:
        """Return the number of the answer to be taken again before the hunt ends: a misfit, or all there is."""
        number = misfit(belief.table, belief)
        if number is not None or leader(belief.table, belief)[0] is None:
            return number
        return lone(belief, self.is_amiss)

    def proof(
        self,
        repair: RepairId,
        belief: Belief,
        *,
        state: BoatState,
        states: Sequence[BoatState] | None = None,
        refused: frozenset[Barred] = frozenset(),
    ) -> Step | None:
        """Return the reading or sign that best tells the boat with this fault from the healthy one."""
        offered = tuple(states) if states else (ready_state(self.network.boat),)
        offers = self.offers(offered, refused, belief.table)
        return self._step(offers.best(contrast_field(belief.table, belief, repair), state, None))

    def explain(self, step: Step, belief: Belief) -> str:
        """Return in a sentence or two which suspects a step tells apart, or why an answer is asked for again."""
        if step.asked in {piece.asked for piece in belief.evidence}:
            if step.wiggle is not None:
                return why_moved_again()
            if misfit(belief.table, belief) is None:
                return why_lone()
            return why_again(belief.table, belief, self.network.boat)
        boat = self.network.boat
        rate = "" if step.query is None else why_rate(belief.table, belief, step.query, boat)
        begun = "" if self._sound(belief) is None else WHY_NOTHING_AMISS
        return f"{begun} {why_step(belief.table, belief, step, boat)} {rate}".strip()

    def _sound(self, belief: Belief) -> Belief | None:
        """Return the belief of a boat of which no answer is amiss, nor one that few healthy boats give; else None."""
        latest = {piece.asked: piece for piece in belief.evidence}.values()
        if any(isinstance(piece, SignSeen) and self._chance_when_well(piece) < ODD for piece in latest):
            return None
        return sound_belief(belief.table, belief, self.is_amiss)

    def unrest(self, repair: RepairId, belief: Belief) -> Unrest | None:
        """Return what the fault behind a repair keeps going on and off, in a boat state that was looked at or read."""
        states = tuple(dict.fromkeys(piece.asked.state for piece in belief.evidence))
        return unrest_seen(belief.table, belief, repair, states)

    def offers(
        self,
        states: Sequence[BoatState],
        asked: frozenset[Barred] = frozenset(),
        table: FaultTable | None = None,
    ) -> Offers:
        """Return all steps that could be taken in some boat states, but for those `asked` already or barred.

        `table` is what they are to tell apart, the single stories when left out.
        """
        return Offers(
            table or self.table,
            self.meter,
            self._pairs,
            self._reach,
            tuple(states),
            asked,
            self._readings_in,
        )

    def _readings_in(self, state: BoatState) -> Readings:
        return self._between.get(
            (state, frozenset(self.meter.functions)),
            lambda: readings_in([*readings(self._pairs, self.network.boat, state, self.meter)], self._reach),
        )

    def _step(self, offer: Offer | None) -> Step | None:
        if offer is None:
            return None
        measurement = offer.what if isinstance(offer.what, Measurement) else None
        query = offer.what if isinstance(offer.what, SignQuery) else None
        if isinstance(offer.what, Wiggle):
            return Step(
                kind=StepKind.WIGGLE,
                measurement=None,
                band=None,
                query=None,
                levels={},
                gain_bits=offer.gain_bits,
                seconds=offer.seconds,
                wiggle=offer.what,
                swing=swing_of(self.table, offer.what),
            )
        return Step(
            kind=StepKind.LOOK if measurement is None else StepKind.READ,
            measurement=measurement,
            band=None if measurement is None else self.band(measurement),
            query=query,
            levels={} if query is None else self.levels(query),
            gain_bits=offer.gain_bits,
            seconds=offer.seconds,
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

    def plausible(self, measurement: Measurement, value: float) -> bool:
        """Tell whether any story at all could give this reading, near enough."""
        fit, unknown = likelihood(self.table, ReadingSeen(measurement=measurement, value=value))
        return bool(fit.max() > _FLOOR * MISREAD * unknown)
