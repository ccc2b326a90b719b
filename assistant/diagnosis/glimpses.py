"""What the signs of a boat state show on the cells in question, worked out on no others.

Most signs look the same whatever of the stories in question is true.  A sign tells no more than the logarithm of the
sum, over its levels, of how likely each is where it is likeliest; of one that cannot tell enough just that is kept.
Cells that drop out of question take what was worked out on them along.
"""

from __future__ import annotations

from collections.abc import Mapping

import numpy as np
from numpy.typing import NDArray

from assistant.circuit import Solution, Solver, Survey
from assistant.diagnosis.candidates import looks
from assistant.diagnosis.cells import Cells
from assistant.diagnosis.model import SignQuery
from assistant.diagnosis.signs import SignModel

Array = NDArray[np.float64]
Rows = NDArray[np.intp]


class Glimpses:
    """How likely each level of the signs on offer in a boat state shows, on some cells."""

    def __init__(self, solver: Solver, survey: Survey, cells: Cells) -> None:
        self._solver = solver
        self._survey = survey
        self._cells = cells
        self._named = cells.tolerances
        self._healthy = solver.healthy_values(self._named)
        self._queries = tuple(looks(solver.network.boat, survey.state))
        self._row = np.full(len(cells.owner), -1)
        self._chances: dict[SignQuery, Array] = {}
        self._most: dict[SignQuery, Array] = {}
        self._taken: tuple[Rows, Solution, SignModel] | None = None
        self._least_bits = np.inf

    def telling(self, cells: Rows, least_bits: float) -> Mapping[SignQuery, Array]:
        """Return chances of the levels of all signs that could tell `least_bits`: (levels, cells, draws) each."""
        if least_bits < self._least_bits:
            # Signs were left out that are asked for now.
            self._row[:] = -1
            self._chances, self._least_bits = {}, least_bits
        new = np.unique(cells[self._row[cells] < 0])
        if len(new) or not self._most:
            self._put(cells, new, self._least_bits)
        rows = self._row[cells]
        return {query: chances[:, rows] for query, chances in self._chances.items()}

    def _put(self, cells: Rows, new: Rows, least_bits: float) -> None:
        """Work out the signs on new cells, and leave those out that are no more among `cells`."""
        old = np.setdiff1d(cells, new)
        known = {query: chances[:, self._row[old]] for query, chances in self._chances.items()}
        if not len(old):
            self._most.clear()
        found: dict[SignQuery, Array] = {}
        for query in self._queries:
            chances = self.worked_out(query, new)
            if query in known:
                chances = np.concatenate([known[query], chances], axis=1)
            most = chances.max(axis=(1, 2), initial=0.0)
            self._most[query] = most if query in known else np.maximum(most, self._most.get(query, 0.0))
            if np.log2(self._most[query].sum()) >= least_bits:
                found[query] = chances
        for query in found.keys() - known.keys():
            found[query] = np.concatenate([self.worked_out(query, old), found[query]], axis=1)
        self._chances = found
        self._row[:] = -1
        self._row[np.concatenate([old, new])] = np.arange(len(old) + len(new))

    def at(self, query: SignQuery, cells: Rows) -> Array:
        """Return how likely each level of a sign shows on some cells, shape (levels, cells, draws)."""
        if query in self._chances and (self._row[cells] >= 0).all():
            return self._chances[query][:, self._row[cells]]
        return self.worked_out(query, cells)

    def worked_out(self, query: SignQuery, cells: Rows) -> Array:
        """Work out the same."""
        draws = self._cells.draws
        if self._taken is None or not np.array_equal(self._taken[0], cells):
            columns = (cells[:, None] * draws + np.arange(draws)).reshape(-1)
            variants = [self._cells.variants[i] for i in columns]
            signs = SignModel(self._solver.network, variants, self._named, self._healthy)
            self._taken = cells, self._survey.take(columns), signs
        _, solution, signs = self._taken
        chances = signs.probabilities(solution, query)
        return chances.reshape(len(chances), len(cells), draws)
