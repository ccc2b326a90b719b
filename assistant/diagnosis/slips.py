"""Answers that do not belong with the others: what the leading story can only take as a slip.

Every answer may be a slip, at a small price.  When the story that fits all others best has to pay it for one answer,
that answer is worth taking again before anything is named: with the probe on bare metal it comes out otherwise, or it
holds, and then another story has the lead.  And when all answers but one are those of a healthy boat, no part is named
before that one was given twice: what twitched by chance does not twitch again.
"""

from __future__ import annotations

from collections.abc import Callable

import numpy as np

from assistant.diagnosis.belief import MISREAD, MISSEEN, Belief
from assistant.diagnosis.health import is_fleeting
from assistant.diagnosis.model import Evidence, ReadingSeen
from assistant.diagnosis.table import FaultTable, cells_behind
from assistant.diagnosis.verdict import leader

_LIKELY_SLIP = 0.5


def misfit(table: FaultTable, belief: Belief) -> int | None:
    """Return the number of the answer that the leading story most surely takes as a slip, or None when there is none.

    An answer that was taken twice already is not doubted any more.
    """
    top, _ = leader(table, belief)
    behind = cells_behind(table, [top])
    weights = belief.variants[behind]
    asked = [piece.asked for piece in belief.evidence]
    slips = np.zeros(len(asked))
    for i, piece in enumerate(belief.evidence):
        if asked.count(piece.asked) == 1:
            slip = _slip(piece) * belief.unknown_factors[i] / belief.factors[i][behind]
            slips[i] = (slip * weights).sum() / max(float(weights.sum()), 1e-300)
    likeliest = int(np.argmax(slips)) if len(slips) else 0
    return likeliest if len(slips) and slips[likeliest] > _LIKELY_SLIP else None


def lone(belief: Belief, is_amiss: Callable[[Evidence], bool]) -> int | None:
    """Return the number of the only answer that is not a healthy boat's, if it was given once; None otherwise."""
    amiss = [i for i, piece in enumerate(belief.evidence) if is_amiss(piece)]
    asked = [piece.asked for piece in belief.evidence]
    return amiss[0] if len(amiss) == 1 and asked.count(asked[amiss[0]]) == 1 else None


def is_doubtful(table: FaultTable, belief: Belief, is_amiss: Callable[[Evidence], bool]) -> bool:
    """Tell whether the only answer that is amiss looks like a slip: that is found out before anything is hunted for.

    What shows by chance need not show again, and is hunted for.
    """
    number = lone(belief, is_amiss)
    if number is None or number != misfit(table, belief):
        return False
    return not is_fleeting(table, belief.evidence[number])


def _slip(piece: Evidence) -> float:
    return MISREAD if isinstance(piece, ReadingSeen) else MISSEEN
