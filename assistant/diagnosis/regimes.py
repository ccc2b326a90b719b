"""What is on, what is off, and what never comes to rest: the discrete side of a solved boat."""

from __future__ import annotations

import numpy as np
from numpy.typing import NDArray

from assistant.circuit import Solution, Survey

Marks = NDArray[np.int8]

_RESTLESS = 2


def regimes_of(solution: Solution | Survey) -> Marks:
    """Return of each condition whether it is off (0), on (1) or restless (2), shape (conditions, variants)."""
    marks: Marks = solution.phase.conditions.astype(np.int8)
    marks[solution.restless] = _RESTLESS
    return marks
