"""Steps that may end the hunt: of those that tell nearly as much, the one that more often leaves one repair alone.

Information for its cost looks one step ahead.  With few suspects left that is not enough where two steps tell about
the same: one may leave every suspect a little less likely and always want another step, while the other names one at
once as often as not.
"""

from __future__ import annotations

from collections.abc import Callable, Sequence

import numpy as np
from numpy.typing import NDArray

from assistant.circuit import Measurement
from assistant.diagnosis.choose import Field, forecast, sign_outcomes, wiggle_outcomes
from assistant.diagnosis.model import Asked, SignQuery
from assistant.diagnosis.table import FaultTable
from assistant.diagnosis.verdict import SURE

Array = NDArray[np.float64]

NEARLY = 0.9
"""Steps of so much of the best one's worth count as nearly as good (by trial, against exact optima)."""


def outcomes_of(table: FaultTable, field: Field, what: Asked) -> Array:
    """Return how likely each outcome of a step is on each variant of a field, shape (outcomes, variants)."""
    if isinstance(what, Measurement):
        return np.asarray(forecast(table, field, [what]).outcomes(field)[0])
    if isinstance(what, SignQuery):
        return sign_outcomes(table, field, what)
    return np.asarray(wiggle_outcomes(table, field, [what.place], what.watched)[0])


def chance_to_end(field: Field, outcomes: Array) -> float:
    """Return how likely a step has an outcome that leaves one repair sure."""
    starts = np.flatnonzero(np.diff(field.repairs, prepend=-1)) * field.weights.shape[1]
    joint = np.add.reduceat(outcomes * field.weights.reshape(-1), starts, axis=1)
    total = joint.sum(axis=1)
    return float(total[joint.max(axis=1) >= SURE * total].sum())


def foremost(worth: Sequence[float], chance: Callable[[int], float]) -> int:
    """Return the number of the step to take, `chance` being how likely a step ends the hunt.

    >>> foremost([1.0, 0.95, 0.5], lambda step: [0.0, 0.6, 0.9][step])
    1
    """
    best = max(worth)
    near = [step for step, own in enumerate(worth) if own >= NEARLY * best]
    if len(near) == 1:
        return near[0]
    # What differs in the last digits only is no reason to take another step.
    return max(near, key=lambda step: (round(chance(step), 3), worth[step], -step))
