"""What the dialogue needs of the diagnosis; the diagnosis itself and the fake of the tests both fit."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from typing import Any, Protocol, TypeAlias

from assistant.circuit import BoatState, Measurement
from assistant.circuit.expectation import Band
from assistant.diagnosis import NOTHING_LATELY, Lately, Unrest
from assistant.diagnosis.model import AtHand, Barred, Evidence, RepairId, SignQuery, Step, Verdict

Belief: TypeAlias = Any
"""What the diagnosis makes of the evidence: handed back to it unopened."""


class Diagnosing(Protocol):
    """Numbers and narrowing for one boat."""

    def belief(self, evidence: Sequence[Evidence], lately: Lately = NOTHING_LATELY) -> Belief:
        """Return what all evidence together says; its order does not matter.

        `lately` is what happened to the boat just before.
        """

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
        """Return the best next step in one of `states`, or None when nothing separates what is left.

        `at_hand` is what there is to try with; None: nothing is tried.
        """

    def verdict(self, belief: Belief, step: Step | None) -> Verdict:
        """Return how far the hunt has come, given the best next step."""

    def band(self, measurement: Measurement) -> Band:
        """Return what a healthy boat would show."""

    def levels(self, query: SignQuery) -> Mapping[str, str]:
        """Return the levels of a sign with their words."""

    def plausible(self, measurement: Measurement, value: float) -> bool:
        """Tell whether any story could give this reading."""

    def proof(
        self,
        repair: RepairId,
        belief: Belief,
        *,
        state: BoatState,
        states: Sequence[BoatState] | None = None,
        refused: frozenset[Barred] = frozenset(),
    ) -> Step | None:
        """Return the reading or sign in one of `states` that proves the repair, or None when none does."""

    def explain(self, step: Step, belief: Belief) -> str:
        """Return why this step, in a sentence or two."""

    def unrest(self, repair: RepairId, belief: Belief) -> Unrest | None:
        """Return what the fault behind a repair keeps going on and off, None where all comes to rest."""
