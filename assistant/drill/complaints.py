"""What people come with: the signs by which a fault shows while the boat is used, and the faults that show at all."""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from dataclasses import dataclass
from random import Random

import numpy as np
from numpy.typing import NDArray

from assistant.catalogue import Look
from assistant.circuit import BoatState, Fault
from assistant.diagnosis import Diagnosis, Hypothesis, SignQuery
from assistant.diagnosis.candidates import looks
from assistant.diagnosis.hypotheses import severity_grid
from assistant.diagnosis.stories import faults_of, severity_of
from assistant.drill.virtual import VirtualBoat

Array = NDArray[np.float64]

_SHOWS = 0.6
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

    def breakdowns(self) -> Iterator[Breakdown]:
        """Yield a breakdown for every single fault that shows, at one of the severities at which it does."""
        table = self._diagnosis.table
        for number, hypothesis in enumerate(table.hypotheses):
            if not hypothesis.modes:
                continue
            cells = np.flatnonzero(table.cells.owner == number)
            ladder = _ladder(self._diagnosis, hypothesis)
            tried = [(int(c), s) for c, s in zip(cells, hypothesis.severities, strict=True) if s in ladder]
            shown = [(s, query) for cell, s in tried if (query := self._shown_by(cell)) is not None]
            if not shown:
                continue
            random = Random(number)
            step, query = random.choice(shown)
            severity = _beside(self._diagnosis, hypothesis, step, random)
            yield Breakdown(
                number=number,
                hypothesis=hypothesis,
                faults=faults_of(self._diagnosis.network, hypothesis, severity),
                complaint=query,
                weight=hypothesis.weight * len(shown) / len(tried),
            )

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
