"""What people come with: the signs by which a fault shows while the boat is used, and the faults that show at all."""

from __future__ import annotations

from collections.abc import Callable, Iterator, Sequence
from dataclasses import dataclass
from random import Random

import numpy as np
from numpy.typing import NDArray

from assistant.catalogue import Look
from assistant.circuit import BoatState, Fault, Variant
from assistant.diagnosis import Diagnosis, Hypothesis, SignQuery, SignSeen
from assistant.diagnosis.candidates import looks
from assistant.diagnosis.hypotheses import severity_grid
from assistant.diagnosis.signs import SignModel
from assistant.diagnosis.stories import faults_of, severity_of
from assistant.drill.virtual import VirtualBoat

Array = NDArray[np.float64]

_BOATS = 8
"""How often at most a boat's tolerances are drawn anew until what is wrong with it shows."""

_SHOWS = 0.6
_TRIES = 4
"""How often another severity beside a step is drawn before the step itself is taken."""

_GROUPS = frozenset({"motor", "servo", "light", "radio", "relay", "instrument"})


@dataclass(frozen=True, slots=True, kw_only=True)
class Breakdown:
    """One fault to be found: its story, its faults, the sign that it shows by, and its prior weight."""

    number: int
    hypothesis: Hypothesis
    faults: tuple[Fault, ...]
    complaint: SignQuery
    weight: float


class Complaints:
    """The signs a person would come with on one boat: what can be seen or heard while it is used."""

    def __init__(self, diagnosis: Diagnosis, states: Sequence[BoatState]) -> None:
        self._diagnosis = diagnosis
        boat = diagnosis.network.boat
        self.queries = tuple(
            query
            for state in states
            for query in looks(boat, state)
            if boat.parts[query.part].kind.signs[query.sign].look in (Look.SEE, Look.HEAR)
            and boat.parts[query.part].kind.group in _GROUPS
        )
        table = diagnosis.table
        self._chances = [table.state(q.state).levels(q).mean(axis=2) for q in self.queries]
        self._well = [
            table.level_names(q)[int(c[:, 0].argmax())]
            for q, c in zip(self.queries, self._chances, strict=True)
        ]

    def first_amiss(self, boat: VirtualBoat) -> SignQuery | None:
        """Return the first sign of a virtual boat that is not what healthy boats show, or None."""
        seen = zip(self.queries, self._well, strict=True)
        return next((query for query, well in seen if boat.look(query) != well), None)

    def amiss_level(self, query: SignQuery) -> str | None:
        """Return a level of a sign that healthy boats hardly ever show, or None when there is none."""
        names = self._diagnosis.table.level_names(query)
        seen = (SignSeen(query=query, levels=(name,)) for name in names)
        return next((piece.levels[0] for piece in seen if self._diagnosis.is_amiss(piece)), None)

    def shows(self, boat: VirtualBoat, query: SignQuery) -> bool:
        """Tell whether a sign of a virtual boat is one that healthy boats hardly ever show."""
        return self._diagnosis.is_amiss(SignSeen(query=query, levels=(boat.look(query),)))

    def breakdowns(self) -> Iterator[Breakdown]:
        """Yield a breakdown for every single fault that shows, at one of the severities at which it does."""
        table = self._diagnosis.table
        for number, hypothesis in enumerate(table.hypotheses):
            if not hypothesis.modes:
                continue
            # What comes and goes has each severity once for every share of the time; the first ones serve.
            cells = np.flatnonzero(table.cells.owner == number)[: len(hypothesis.severities)]
            ladder = _ladder(self._diagnosis, hypothesis)
            tried = [(int(c), s) for c, s in zip(cells, hypothesis.severities, strict=True) if s in ladder]
            shown = [(c, s, query) for c, s in tried if (query := self._shown_by(c)) is not None]
            if not shown:
                continue
            random = Random(number)
            cell, step, query = random.choice(shown)
            near = [c for c in (cell - 1, cell + 1) if c in cells]
            certain = all(self._is_shown(c, query) for c in near)
            yield Breakdown(
                number=number,
                hypothesis=hypothesis,
                faults=self._beside(hypothesis, step, None if certain else query, random),
                complaint=query,
                weight=hypothesis.weight * len(shown) / len(tried),
            )

    def _beside(
        self, hypothesis: Hypothesis, step: float, query: SignQuery | None, random: Random
    ) -> tuple[Fault, ...]:
        """Return the faults at a severity beside a step at which the sign still shows, else at the step itself.

        A limit may lie between the two, and nobody complains of what is as it should be.  Without a sign none does.
        """
        network = self._diagnosis.network
        for _ in range(_TRIES):
            faults = faults_of(network, hypothesis, _beside(self._diagnosis, hypothesis, step, random))
            if query is None or self._is_amiss(faults, query):
                return faults
        return faults_of(network, hypothesis, step)

    def _is_shown(self, cell: int, query: SignQuery) -> bool:
        """Tell whether a cell hardly shows a sign as a healthy boat does."""
        number = self.queries.index(query)
        well = self._diagnosis.table.level_names(query).index(self._well[number])
        return bool(self._chances[number][well, cell] <= 1.0 - _SHOWS)

    def _is_amiss(self, faults: tuple[Fault, ...], query: SignQuery) -> bool:
        """Tell whether the boat as drawn, with these faults, hardly shows a sign as a healthy boat does."""
        solver = self._diagnosis.table.solver
        variants = [Variant(faults=faults)]
        solution = solver.solve(query.state, variants)
        chances = SignModel(solver.network, variants, 0).probabilities(solution, query)[:, 0]
        well = self._well[self.queries.index(query)]
        return bool(chances[self._diagnosis.table.level_names(query).index(well)] <= 1.0 - _SHOWS)

    def draw_that_shows(
        self, breakdowns: Sequence[Breakdown], boat_with: Callable[[tuple[Fault, ...], int], VirtualBoat]
    ) -> int:
        """Return the first draw of tolerances on which each of some faults shows by itself; 0 where none of a few does.

        Nobody comes with a boat on which nothing is to be seen.
        """

        def shows_each(number: int) -> bool:
            return all(self.shows(boat_with(each.faults, number), each.complaint) for each in breakdowns)

        return next(filter(shows_each, range(_BOATS)), 0)

    def _shown_by(self, cell: int) -> SignQuery | None:
        for query, chance, well in zip(self.queries, self._chances, self._well, strict=True):
            level = int(chance[:, cell].argmax())
            shows = chance[level, cell] >= _SHOWS
            if shows and self._diagnosis.table.level_names(query)[level] != well:
                return query
        return None


def _ladder(diagnosis: Diagnosis, hypothesis: Hypothesis) -> tuple[float, ...]:
    """Return the severities that are tried: the steps of the ladder, wherever the diagnosis has more besides."""
    return severity_grid(severity_of(diagnosis.network, hypothesis.modes[0]))


def _beside(diagnosis: Diagnosis, hypothesis: Hypothesis, severity: float, random: Random) -> float:
    """Return a severity near a step of the grid, off it, so that the grid is not tried on itself."""
    spec = severity_of(diagnosis.network, hypothesis.modes[0])
    if spec is None:
        return severity
    if spec.log:
        beside: float = severity * 10.0 ** random.uniform(-0.2, 0.2)
        return min(max(beside, spec.low), spec.high)
    near = 0.15 * (spec.high - spec.low)
    return min(max(severity + random.uniform(-near, near), spec.low), spec.high)
