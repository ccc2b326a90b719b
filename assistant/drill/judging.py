"""What a check was worth: judged by the probabilities before and after it.

A check that could tell something about the repair, or did, told something.  One that could not tell anything any more,
because its answer was known already, is redundant; one that could not even at the start is irrelevant; one that tells
less than another would for half the time is premature.
"""

from __future__ import annotations

import math
from collections.abc import Collection, Sequence
from dataclasses import dataclass
from enum import StrEnum

import numpy as np
from numpy.typing import NDArray

from assistant.catalogue import Action
from assistant.circuit import BoatState, Measurement
from assistant.diagnosis import Belief, Diagnosis, Evidence, RepairId, SignQuery, Step, Suspect
from assistant.diagnosis.choose import (
    Field,
    duel_field,
    field_of,
    reading_gains,
    repair_numbers,
    rivals_field,
    sign_gain,
)
from assistant.diagnosis.costs import WIGGLE_S, look_seconds, probe_seconds, state_seconds
from assistant.diagnosis.race import LEAST_BITS, OVERHEAD_S
from assistant.diagnosis.verdict import (
    STILL_SURE,
    SURE,
    is_confirmed,
    leader,
    standing_repairs,
    suspects_of,
    weakest_link,
)
from assistant.errors import MisuseError
from assistant.wiring import points_of, reach_of

BORNE_OUT = 0.75
"""Probability, from the learner's own checks, from which on a place counts as found (common practice, no source)."""

STILL_BORNE_OUT = 0.4
"""What must be left of it when any one check is withdrawn (common practice, no source)."""

_CHANGES = 0.95
"""Chance that the trouble comes or goes when the guilty place is moved (common practice, no source)."""
_BY_ITSELF = 0.02
_NOT_FICKLE = 1e-6
_SAME = 0.5
"""Bits below which a step does not tell two stories apart that are even chances."""


@dataclass(frozen=True, slots=True, kw_only=True)
class Shake:
    """Moving one place while watching the trouble, in a boat state."""

    place: str
    state: BoatState


What = Measurement | SignQuery | Shake
"""What a check is."""


class Worth(StrEnum):
    """What a check was worth."""

    TOLD = "told you something"
    REDUNDANT = "redundant"
    IRRELEVANT = "irrelevant"
    PREMATURE = "premature"


@dataclass(frozen=True, slots=True, kw_only=True)
class Mark:
    """The mark of a check.

    Attributes
    ----------
    worth : the mark itself.
    expected_bits : what it could be expected to tell about the repair.
    gained_bits : what it told.
    left : how many suspects it left.
    best : the step that would have been best instead, or None when nothing more was worth asking.
    why : why that one.
    """

    worth: Worth
    expected_bits: float
    gained_bits: float
    left: int
    best: Step | None
    why: str


class Judge:
    """Beliefs and marks of one drill.

    Parameters
    ----------
    diagnosis : of the boat.
    states : boat states in which the best step is looked for.
    fickle : whether the trouble comes and goes; then only faults that do are believed in.
    """

    def __init__(self, diagnosis: Diagnosis, states: Sequence[BoatState], *, fickle: bool) -> None:
        self.diagnosis = diagnosis
        self._states = tuple(states)
        self._fickle = fickle
        boat = diagnosis.network.boat
        self._reach = {point: reach_of(boat, point) for point in points_of(boat)}

    def belief(self, evidence: Sequence[Evidence], shaken: Sequence[tuple[str, bool]] = ()) -> Belief:
        """Return the belief after some evidence.

        Parameters
        ----------
        shaken : places that were moved, and whether the trouble came or went.
        """
        belief = self.diagnosis.single_belief(evidence)
        if not self._fickle:
            return belief
        table = self.diagnosis.table
        factor = np.array([self._fickle_factor(number, shaken) for number in range(len(table.hypotheses))])
        return belief.weighed(factor[table.cells.owner])

    def _fickle_factor(self, number: int, shaken: Sequence[tuple[str, bool]]) -> float:
        modes = self.diagnosis.table.hypotheses[number].modes
        parts = self.diagnosis.network.parts
        if len(modes) != 1 or not parts[modes[0].part].kind.faults[modes[0].mode].intermittent:
            return _NOT_FICKLE
        factor = 1.0
        for place, changed in shaken:
            chance = _CHANGES if place == modes[0].part else _BY_ITSELF
            factor *= chance if changed else 1.0 - chance
        return factor

    def suspects(self, belief: Belief) -> tuple[Suspect, ...]:
        """Return the repairs that stand, likeliest first."""
        if self._fickle:
            least = 0.2 * max(s.probability for s in suspects_of(self.diagnosis.table, belief))
            return tuple(s for s in suspects_of(self.diagnosis.table, belief) if s.probability >= least)
        return tuple(s for s in suspects_of(self.diagnosis.table, belief) if s.stands)

    def borne_out(self, belief: Belief) -> frozenset[str]:
        """Return the places that checks bear out: likely by all of them, and not by any single one alone.

        The first answer of a belief is the complaint, which is nobody's check; two checks at least are wanted, but
        where the trouble comes and goes: there it may be moving places.
        """
        checks = range(1, len(belief.evidence))
        found = [self.likely(belief), *(self._places(belief.without(n), STILL_BORNE_OUT) for n in checks)]
        return frozenset.intersection(*found) if len(checks) > 1 or self._fickle else frozenset()

    def likely(self, belief: Belief) -> frozenset[str]:
        """Return the places that all checks together make likely."""
        return self._places(belief, BORNE_OUT)

    def given_away(self, complaint: Evidence) -> frozenset[str]:
        """Return the places that a complaint alone makes likely, so that there is little to look for."""
        return self._places(self.belief([complaint]), STILL_BORNE_OUT)

    def _places(self, belief: Belief, least: float) -> frozenset[str]:
        mass: dict[str, float] = {}
        for one in suspects_of(self.diagnosis.table, belief):
            mass[one.repair.place] = mass.get(one.repair.place, 0.0) + one.probability
        return frozenset(place for place, probability in mass.items() if probability >= least)

    def best(self, belief: Belief, state: BoatState, last: Measurement | None) -> Step | None:
        """Return the step that is best from here."""
        return self.diagnosis.next_step(
            belief, state=state, last=last, refused=frozenset(), states=self._states
        )

    def why(self, step: Step, belief: Belief) -> str:
        """Return why a step is good."""
        return self.diagnosis.explain(step, belief)

    def seconds(self, what: What, before: BoatState, last: Measurement | None) -> float:
        """Return what a check costs from a boat state and with the probes where they are."""
        boat = self.diagnosis.network.boat
        moving = state_seconds(boat, before, what.state)
        match what:
            case Measurement():
                return moving + probe_seconds(self._reach, what, last)
            case SignQuery():
                return moving + look_seconds(boat.parts[what.part].kind.signs[what.sign].look)
            case Shake():
                return moving + WIGGLE_S

    def expected_bits(self, belief: Belief, what: What, best: Step | None) -> float:
        """Return what a check can be expected to tell about the repair.

        Once one repair is nearly sure, or no step parts what is left, what counts is whether another answer would
        confirm or upset it.

        Parameters
        ----------
        best : the step that is best from there.
        """
        told = self._bits(field_of(self.diagnosis.table, belief), belief, what)
        confirming = self._confirming(belief, best)
        return told if confirming is None else max(told, self._bits(confirming, belief, what))

    def _confirming(self, belief: Belief, best: Step | None) -> Field | None:
        """Return what is asked of a check that is to confirm what is left, or None while more can be told apart."""
        table = self.diagnosis.table
        if not belief.evidence or is_confirmed(table, belief):
            return None
        top, mass = leader(table, belief)
        if mass >= SURE:
            named: Collection[RepairId | None] = [top]
        elif best is None or self._bits(field_of(table, belief), belief, asked_by(best)) < LEAST_BITS:
            named = standing_repairs(table, belief)
        else:
            return None
        weakest, left = weakest_link(table, belief, named)
        return rivals_field(table, belief.without(weakest), named) if left < STILL_SURE else None

    def _bits(self, field: Field, belief: Belief, what: What) -> float:
        match what:
            case Measurement():
                return float(reading_gains(self.diagnosis.table, field, [what])[0])
            case SignQuery():
                return sign_gain(self.diagnosis.table, field, what)
            case Shake():
                return self._shake_bits(belief, what.place)

    def _shake_bits(self, belief: Belief, place: str) -> float:
        table = self.diagnosis.table
        guilty = np.array([any(m.part == place for m in h.modes) for h in table.hypotheses])
        mass = float(belief.cells[guilty[table.cells.owner]].sum())
        mixed = mass * _CHANGES + (1.0 - mass) * _BY_ITSELF
        return _binary(mixed) - mass * _binary(_CHANGES) - (1.0 - mass) * _binary(_BY_ITSELF)

    def gained_bits(self, before: Belief, after: Belief) -> float:
        """Return how far the probabilities of the repairs moved (relative entropy, in bits)."""
        old, new = self._masses(before), self._masses(after)
        return float((new * np.log2((new + 1e-12) / (old + 1e-12))).sum())

    def _masses(self, belief: Belief) -> NDArray[np.float64]:
        table = self.diagnosis.table
        numbers = repair_numbers(table)[table.cells.owner]
        return np.append(np.bincount(numbers, belief.cells), belief.unknown)

    def mark(
        self,
        what: What,
        beliefs: tuple[Belief, Belief, Belief],
        *,
        stood: tuple[BoatState, Measurement | None],
        repeated: bool,
    ) -> Mark:
        """Return the mark of a check.

        Parameters
        ----------
        beliefs : at the start, before the check, and after it.
        stood : how the boat was set before, and the reading before.
        repeated : whether the very same check was made before.
        """
        start, before, after = beliefs
        best = self.best(before, *stood)
        expected, gained = self.expected_bits(before, what, best), self.gained_bits(before, after)
        informs = gained >= LEAST_BITS or (expected >= LEAST_BITS and not repeated)
        if best is not None and asked_by(best) == what:
            worth = Worth.TOLD
        elif informs:
            bits = max(expected, gained)
            early = best is not None and self._is_early(what, bits, best, stood)
            worth = Worth.PREMATURE if early else Worth.TOLD
        else:
            known = repeated or self._bits(field_of(self.diagnosis.table, start), start, what) >= LEAST_BITS
            worth = Worth.REDUNDANT if known else Worth.IRRELEVANT
        return Mark(
            worth=worth,
            expected_bits=expected,
            gained_bits=gained,
            left=len(self.suspects(after)),
            best=best,
            why="" if best is None else self.why(best, before),
        )

    def _is_early(
        self, what: What, bits: float, best: Step, stood: tuple[BoatState, Measurement | None]
    ) -> bool:
        """Tell whether the best step was expected to tell as many bits for half the time."""
        seconds = OVERHEAD_S + self.seconds(what, *stood)
        return best.gain_bits >= bits and 2.0 * (OVERHEAD_S + best.seconds) <= seconds

    def alike(self, belief: Belief, truth: RepairId, place: str, action: Action | None) -> bool:
        """Tell whether some repair at a place is the true one, or no step tells it from that.

        Parameters
        ----------
        action : which; any repair known there when it is None.
        """
        known = {story.repairs[0] for story in self.diagnosis.table.hypotheses if story.repairs}
        there = [one for one in sorted(known) if one.place == place and action in (None, one.action)]
        return any(not self.tells_apart(belief, truth, one) for one in there)

    def tells_apart(self, belief: Belief, first: RepairId, second: RepairId) -> bool:
        """Tell whether any step on offer would tell two repairs apart."""
        if first == second:
            return False
        field = duel_field(self.diagnosis.table, belief, first, second)
        offers = self.diagnosis.offers(self._states)
        return max(o.gain_bits for o in offers.all(field, self._states[0], None)) >= _SAME


def asked_by(step: Step) -> Measurement | SignQuery:
    """Return what a step asks for."""
    what = step.measurement or step.query
    if what is None:
        raise MisuseError(value=step, reason="a step either reads or looks")
    return what


def _binary(chance: float) -> float:
    """Return the entropy of a yes or no, in bits."""
    if chance <= 0.0 or chance >= 1.0:
        return 0.0
    return -chance * math.log2(chance) - (1.0 - chance) * math.log2(1.0 - chance)
