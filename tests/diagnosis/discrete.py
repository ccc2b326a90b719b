"""Problems of the literature, where every answer is one of a few words, in the shape of a fault table.

Only the predictions come from here; beliefs and gains are those of the program.
"""

from collections.abc import Mapping, Sequence

import numpy as np
import pytest
from numpy.typing import NDArray

from assistant.catalogue import Action
from assistant.circuit import BoatState, Variant
from assistant.diagnosis import Hypothesis, ModeAt, RepairId, SignQuery, SignSeen
from assistant.diagnosis.cells import plain_cells
from assistant.diagnosis.choose import Field
from assistant.diagnosis.table import FaultTable, StateTable

Array = NDArray[np.float64]

ANY = BoatState.of({})
NEXT_TO_NOTHING = 1e-12


def query(point: str) -> SignQuery:
    return SignQuery(part=point, sign="value", state=ANY)


def seen(point: str, *levels: str) -> SignSeen:
    return SignSeen(query=query(point), levels=levels)


def story(name: str, weight: float) -> Hypothesis:
    """Return a hypothesis with one mode and one repair of its own."""
    return Hypothesis(
        modes=(ModeAt(part=name, mode="bad"),),
        repairs=(RepairId(place=name, action=Action.REPLACE),),
        severities=(0.0,),
        weight=weight,
    )


def healthy(weight: float) -> Hypothesis:
    return Hypothesis(modes=(), repairs=(), severities=(0.0,), weight=weight)


class _Predictions(StateTable):
    """Typed-in chances of each answer."""

    def __init__(self, chances: Mapping[SignQuery, Array]) -> None:
        self._chances = chances

    def levels(self, query: SignQuery) -> Array:
        return self._chances[query]

    def levels_at(self, query: SignQuery, cells: NDArray[np.intp]) -> Array:
        return self._chances[query][:, cells]


class DiscreteTable(FaultTable):
    """Hypotheses and, for each point, how likely each answer is on each of them.

    `chances[point][answer]` holds one number a hypothesis.
    """

    def __init__(
        self, hypotheses: Sequence[Hypothesis], chances: Mapping[str, Mapping[str, Sequence[float]]]
    ) -> None:
        self.hypotheses = tuple(hypotheses)
        self.cells = plain_cells([Variant()] * len(hypotheses), 1)
        self._names = {query(point): tuple(answers) for point, answers in chances.items()}
        draws = self.cells.draws
        self._predictions = {
            ANY: _Predictions(
                {
                    query(point): np.repeat(
                        np.array([*answers.values()], dtype=np.float64)[:, :, None], draws, axis=2
                    )
                    for point, answers in chances.items()
                }
            )
        }

    def state(self, state: BoatState) -> StateTable:
        return self._predictions[state]

    def fleeting_level(self, query: SignQuery) -> str | None:  # noqa: ARG002 - nothing here shows by chance
        return None

    def level_names(self, query: SignQuery) -> tuple[str, ...]:
        return self._names[query]

    def everything(self, masses: Array) -> Field:
        """Return the field of all hypotheses with these masses, each a repair of its own."""
        size, draws = len(self.hypotheses), self.cells.draws
        weights = np.repeat(masses[:, None] / draws, draws, axis=1)
        return Field(np.arange(size), weights / weights.sum(), np.arange(size), size)


def trust_every_answer(monkeypatch: pytest.MonkeyPatch, slip: float = NEXT_TO_NOTHING) -> None:
    """Leave no room for slips and unknown troubles (the literature's examples have none)."""
    monkeypatch.setattr("assistant.diagnosis.belief.UNKNOWN_SHARE", NEXT_TO_NOTHING)
    for module in ("belief", "choose"):
        monkeypatch.setattr(f"assistant.diagnosis.{module}.MISSEEN", slip)
