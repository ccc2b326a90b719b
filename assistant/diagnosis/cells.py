"""The cells of a fault table: every hypothesis at every severity, each on a few draws of the tolerances.

A fault that comes and goes has a cell for each of a few shares of the time that it may be there; for the rest of the
time the boat is as in the healthy cell, so that no circuit is solved for it.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from itertools import product

import numpy as np
from numpy.typing import NDArray

from assistant.circuit import Network, Variant
from assistant.diagnosis.model import Hypothesis
from assistant.diagnosis.stories import faults_of

Array = NDArray[np.float64]
Flags = NDArray[np.bool_]
Rows = NDArray[np.intp]

DRAWS = 4
"""Tolerance draws of every cell, the same for all, so that stories are compared on equal boats."""

HEALTHY_BOATS = 400
"""Healthy boats drawn within tolerance for a band."""


_LEAST_SIDE = 1e-6
"""Stands for none where sides are divided."""


def at_any_moment(there: Array, here: Array, gone: Array) -> Array:
    """Return how likely something is at any moment, given how likely with a fault there (`here`), and with it `gone`.

    `there` is the share of the time that it is there.
    """
    return there * here + (1.0 - there) * gone


@dataclass(frozen=True, slots=True)
class Cells:
    """All (hypothesis, severity) pairs in order, each simulated for the same draws of the tolerances.

    `owner` is each cell's hypothesis, `share` the part of the hypothesis' weight it carries.  `variants` come cell by
    cell, `draws` of them each.  `there` is the share of the time that the fault of a cell is there; at all other times
    the boat is as in the cell `well`.  `lean` is how far a cell stands for severities below its own, over how far for
    those above.
    """

    owner: Rows
    share: Array
    variants: tuple[Variant, ...]
    draws: int
    there: Array
    lean: Array
    well: int = 0

    @property
    def tolerances(self) -> int:
        """Return how many tolerance draws the variants name, besides the nominal one."""
        return max(v.draw for v in self.variants)

    @property
    def linked(self) -> Flags:
        """Tell, between each cell and the next, whether they are neighbouring severities of one story."""
        return np.asarray((np.diff(self.owner) == 0) & (np.diff(self.there) == 0.0))

    def by_time(self, chances: Array, there: Array | None) -> Array:
        """Return how likely something is at any moment, given how likely it is while the fault of each cell is there.

        Parameters
        ----------
        chances : shape (..., cells, draws).
        there : share of the time that the fault of each cell is there; always when left out.
        """
        if there is None:
            return chances
        return at_any_moment(there[:, None], chances, chances[..., [self.well], :])


def make_cells(network: Network, hypotheses: Sequence[Hypothesis]) -> Cells:
    """Return the cells of these hypotheses."""
    owner: list[int] = []
    share: list[float] = []
    there: list[float] = []
    sides: list[tuple[float, float]] = []
    variants: list[Variant] = []
    for number, hypothesis in enumerate(hypotheses):
        around = hypothesis.sides or tuple((1.0, 1.0) for _ in hypothesis.severities)
        graded = zip(hypothesis.severities, hypothesis.shares, around, strict=True)
        for time, (severity, portion, side) in product(hypothesis.there, graded):
            faults = faults_of(network, hypothesis, severity)
            owner.append(number)
            share.append(portion / len(hypothesis.there))
            there.append(time)
            sides.append(side)
            variants.extend(Variant(faults=faults, draw=1 + d) for d in range(DRAWS))
    well = next((n for n, of in enumerate(owner) if not hypotheses[of].modes), 0)
    owners = np.array(owner, dtype=np.intp)
    below, above = np.maximum(np.array(sides), _LEAST_SIDE).T
    return Cells(
        owners, np.array(share), tuple(variants), DRAWS, np.array(there), np.asarray(below / above), well
    )


def plain_cells(variants: Sequence[Variant], draws: int) -> Cells:
    """Return cells of variants of which every one has `draws`, each alike: no stories, and no severities between."""
    count = len(variants) // draws
    even = np.ones(count)
    return Cells(np.arange(count), even, tuple(variants), draws, even, even)


def healthy_cells() -> Cells:
    """Return one cell of many healthy boats, the nominal one first."""
    return plain_cells([Variant(draw=d) for d in range(HEALTHY_BOATS + 1)], HEALTHY_BOATS + 1)
