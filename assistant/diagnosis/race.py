"""The race of the steps on offer: what brings most about the repair for its cost wins, and who cannot win is left out.

Nothing tells more than which repair it is.  So as soon as there is a good step, many others need not be worked out.
"""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import dataclass, field

import numpy as np
from numpy.typing import NDArray

from assistant.diagnosis.model import Asked

Array = NDArray[np.float64]

OVERHEAD_S = 25.0
"""Seconds any step takes besides its own cost: reading the screen, finding the place, typing (no source)."""

LEAST_BITS = 0.1
"""What a step must be expected to tell to be worth asking (common practice, no source)."""

_ROUNDING = 1e-9


@dataclass(frozen=True, slots=True)
class Offer:
    """A reading, a sign or a place to be moved, the information about the repair expected of it, and its cost."""

    what: Asked
    gain_bits: float
    seconds: float

    @property
    def rate(self) -> float:
        """Return bits a second."""
        return self.gain_bits / (OVERHEAD_S + self.seconds)


@dataclass(slots=True)
class Race:
    """The best of the offers so far; of equal ones the first in order, whenever it was entered.

    `most_bits` is what no step can tell more than, `least_bits` what it must tell to be worth asking.  Kept beside the
    best are all that bring at least the share `nearly` of what it brings.
    """

    most_bits: float
    least_bits: float = LEAST_BITS
    nearly: float = 1.0
    best: Offer | None = None
    _place: tuple[int, ...] = ()
    _kept: list[tuple[tuple[int, ...], Offer]] = field(default_factory=list)

    def enter(self, offers: Iterable[Offer], *place: int) -> None:
        """Take offers in order; `place` is where they stand among all."""
        for number, offer in enumerate(offers):
            self.enter_one(offer, *place, number)

    def enter_one(self, offer: Offer, *place: int) -> None:
        """Take an offer; `place` is where it stands among all."""
        if offer.gain_bits < self.least_bits:
            return
        ahead = self.best is None or offer.rate > self.best.rate
        if ahead or (self.best is not None and offer.rate == self.best.rate and place < self._place):
            self.best, self._place = offer, place
        if self.best is not None and offer.rate >= self.nearly * self.best.rate:
            self._kept.append((place, offer))

    def close(self) -> tuple[Offer, ...]:
        """Return the offers that are nearly as good as the best one, the best first."""
        least = 0.0 if self.best is None else self.nearly * self.best.rate
        kept = [(place, offer) for place, offer in self._kept if offer.rate >= least]
        return tuple(offer for _, offer in sorted(kept, key=lambda one: (-one[1].rate, one[0])))

    def needed_bits(self, seconds: Array) -> Array:
        """Return what steps of some cost must tell to win, or to be nearly as good as the best so far."""
        rate = 0.0 if self.best is None else self.nearly * self.best.rate
        return np.maximum(self.least_bits, rate * (OVERHEAD_S + seconds)) - _ROUNDING

    def is_open(self, seconds: float) -> bool:
        """Tell whether a step of some cost could still win, or be nearly as good."""
        return bool(self.most_bits >= self.needed_bits(np.asarray(seconds)))
