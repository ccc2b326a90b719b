"""Why a step was chosen, in words, from the same numbers that chose it."""

from __future__ import annotations

import numpy as np
from numpy.typing import NDArray

from assistant.diagnosis.belief import Belief
from assistant.diagnosis.choose import Field, field_of, forecast, sign_outcomes
from assistant.diagnosis.model import Step
from assistant.diagnosis.table import FaultTable
from assistant.errors import MisuseError
from assistant.wiring import Boat, label_of

Array = NDArray[np.float64]

_NAMED = 3
_SIDED = 0.7


def why_step(table: FaultTable, belief: Belief, step: Step, boat: Boat) -> str:
    """Return one or two sentences on what the outcomes of a step would leave."""
    field = field_of(table, belief)
    outcomes = _outcomes(table, field, step)
    weights = field.weights.reshape(-1)
    likeliest = int(np.argmax((outcomes * weights).sum(axis=1)))
    mass = field.masses()
    with_it = (weights * outcomes[likeliest]).reshape(field.weights.shape).sum(axis=1)
    there = np.bincount(field.repairs, weights=with_it, minlength=field.count)
    share = there / np.maximum(mass, 1e-12)
    names = _repair_names(table, field, boat)
    order = np.argsort(-mass, kind="stable")
    inside = [names[i] for i in order if share[i] >= _SIDED]
    outside = [names[i] for i in order if share[i] <= 1.0 - _SIDED]
    if not inside or not outside:
        return f"It says most about what is left: {_listed([names[i] for i in order])}."
    return f"It tells {_listed(inside)} from {_listed(outside)}."


def _outcomes(table: FaultTable, field: Field, step: Step) -> Array:
    if step.measurement is not None:
        return np.asarray(forecast(table, field, [step.measurement]).outcomes(field)[0])
    if step.query is not None:
        return sign_outcomes(table, field, step.query)
    raise MisuseError(value=step, reason="a step either reads or looks")


def _repair_names(table: FaultTable, field: Field, boat: Boat) -> list[str]:
    names = [""] * field.count
    for cell, repair in zip(field.cells, field.repairs, strict=True):
        repairs = table.hypotheses[table.cells.owner[cell]].repairs
        names[repair] = label_of(boat, repairs[0].place) if repairs else "a healthy boat"
    return names


def _listed(names: list[str]) -> str:
    shown = names[:_NAMED]
    more = len(names) - len(shown)
    if more:
        return f"{', '.join(shown)} and {more} more"
    return " and ".join(shown) if len(shown) < 3 else f"{', '.join(shown[:-1])} and {shown[-1]}"
