"""Signs that are settled by an answer already given, so that asking for them would be asking the same again.

A pump that does not turn throws no water.  No list says so: a sign is settled where on every boat that may have shown
what was answered it shows one and the same level.
"""

from __future__ import annotations

from collections.abc import Sequence

import numpy as np
from numpy.typing import NDArray

from assistant.diagnosis.model import Evidence, SignQuery, SignSeen
from assistant.diagnosis.table import FaultTable

Array = NDArray[np.float64]

HARDLY_EVER = 0.02
"""So unlikely is a level together with an answer on every boat that the answer excludes it (practice, no source)."""


def is_settled(table: FaultTable, query: SignQuery, evidence: Sequence[Evidence]) -> bool:
    """Tell whether some answer about another sign in the same boat state leaves a sign no more than one level."""
    before = [
        piece
        for piece in evidence
        if isinstance(piece, SignSeen) and piece.query.state == query.state and piece.query.after is None
    ]
    if not before or query.after is not None:
        return False
    otherwise = 1.0 - table.levels(query)
    return any(
        float((otherwise * _shown(table, piece)).max(axis=(1, 2)).min()) < HARDLY_EVER for piece in before
    )


def _shown(table: FaultTable, piece: SignSeen) -> Array:
    """Return how likely each cell shows what was answered, shape (cells, draws); those without a steady state never."""
    names = table.level_names(piece.query)
    chances = table.levels(piece.query)[[names.index(level) for level in piece.levels]].sum(axis=0)
    failed = table.state(piece.query.state).survey.failed.reshape(chances.shape)
    return np.where(failed, 0.0, chances)
