"""Chance that is the same everywhere: numbers made of digests of a text and a counter.

Generators of a language may change between its versions, and with them every drill; a digest may not.
"""

from __future__ import annotations

import hashlib
from collections.abc import Sequence
from typing import Protocol, TypeVar

Some = TypeVar("Some")

_BYTES = 7
_BITS = 53


class Dice(Protocol):
    """What a virtual boat needs of chance; a generator of the standard library has it too."""

    def random(self) -> float:
        """Return a number from 0 (included) to 1 (not included)."""

    def randint(self, a: int, b: int) -> int:
        """Return a whole number from `a` to `b`, both included."""


class Chance:
    """A source of chance that a text fixes.

    Examples
    --------
    >>> Chance("heron").random()
    0.92223...
    >>> Chance("heron").randint(1, 6)
    6
    """

    def __init__(self, text: str) -> None:
        self._text = text
        self._drawn = 0

    def random(self) -> float:
        """Return a number from 0 (included) to 1 (not included)."""
        digest = hashlib.sha256(f"{self._text}/{self._drawn}".encode()).digest()
        self._drawn += 1
        # Shifted to what a float holds exactly, so that no rounding can give 1.
        return (int.from_bytes(digest[:_BYTES], "big") >> (8 * _BYTES - _BITS)) / float(1 << _BITS)

    def randint(self, a: int, b: int) -> int:
        """Return a whole number from `a` to `b`, both included."""
        return a + int(self.random() * (b - a + 1))

    def between(self, low: float, high: float) -> float:
        """Return a number between two others."""
        return low + self.random() * (high - low)

    def pick(self, choices: Sequence[Some]) -> Some:
        """Return one of some choices."""
        return choices[self.randint(0, len(choices) - 1)]


def rank(text: str) -> bytes:
    """Return a text's place in an order that nothing but a digest decides."""
    return hashlib.sha256(text.encode()).digest()


def weighted(dice: Dice, choices: Sequence[str], weights: Sequence[float]) -> str:
    """Return one of some choices, each as likely as its weight says.

    >>> weighted(Chance("heron"), ["dark", "lit"], [0.0, 1.0])
    'lit'
    """
    spot = dice.random() * sum(weights)
    for choice, weight in zip(choices, weights, strict=True):
        spot -= weight
        if spot < 0.0:
            return choice
    return max(zip(weights, choices, strict=True))[1]
