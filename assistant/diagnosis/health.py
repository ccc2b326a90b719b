"""Whether a boat does what it should, which is asked as long as no answer is amiss.

People complain of what shows.  While all that was seen and read is a healthy boat's, the question is not yet which part
it is, but whether anything is wrong that would show at all: steps are weighed by what they tell about that alone, and
the hunt ends once it is unlikely enough, or once no step tells anything worth its time.  A fault that shows by no sign,
a joint with some milliohms too much or a pack with a weak cell, is not hunted for: nobody can have complained of it,
and on most boats something of the kind could be found.
"""

from __future__ import annotations

from collections.abc import Callable, Sequence
from dataclasses import replace

import numpy as np
from numpy.typing import NDArray

from assistant.circuit import BoatState, Measurement
from assistant.diagnosis.belief import Belief
from assistant.diagnosis.choose import Field, field_of
from assistant.diagnosis.model import EVEN, Evidence, SignSeen
from assistant.diagnosis.offers import Offers
from assistant.diagnosis.race import LEAST_BITS, OVERHEAD_S, Offer
from assistant.diagnosis.table import FaultTable
from assistant.diagnosis.tolerances import Place
from assistant.diagnosis.verdict import SURE

Flags = NDArray[np.bool_]
Rows = NDArray[np.intp]

RARE = 0.005
"""Chance on a healthy boat below which a sign counts against it."""

ODD = 0.1
"""Chance on a healthy boat below which a sign is worth a hunt, though it accuses no part by itself (common practice, no
source)."""

SHOWS = 0.5
"""Chance of such a sign from which on a fault counts as one that shows (common practice, no source)."""

UNLIKELY = 1.0 - SURE
"""Probability of anything that shows at which a boat is called well."""

LEAST_RATE = 2e-4
"""What a step must be expected to tell of whether anything shows to be worth its time, in bits a second: half a
hundredth of a bit for a look, twice that for a reading (common practice, no source)."""


def sound_belief(table: FaultTable, belief: Belief, is_amiss: Callable[[Evidence], bool]) -> Belief | None:
    """Return the belief of a boat of which no answer is amiss, or None.

    An answer that was given otherwise the second time is withdrawn; but what shows by chance may well have been there
    once, and counts on.
    """
    latest = {piece.asked: piece for piece in belief.evidence}
    amiss = [n for n, piece in enumerate(belief.evidence) if is_amiss(piece)]
    if any(is_amiss(piece) for piece in latest.values()) or any(
        is_fleeting(table, belief.evidence[n]) for n in amiss
    ):
        return None
    for number in reversed(amiss):
        belief = belief.without(number)
    return belief if belief.evidence else None


def is_fleeting(table: FaultTable, piece: Evidence) -> bool:
    """Tell whether an answer tells of a sign that shows by chance, each look by itself."""
    return isinstance(piece, SignSeen) and table.fleeting_level(piece.query) in piece.levels


def is_something_likely(table: FaultTable, belief: Belief, states: Sequence[BoatState]) -> bool:
    """Tell whether it is likelier than not that something is wrong that shows, although nothing is amiss so far."""
    return health_field(table, belief, states)[1] > EVEN


def best_for_health(
    offers: Offers, belief: Belief, state: BoatState, last: Measurement | None
) -> Offer | None:
    """Return the step that tells most for its cost about whether anything is wrong that shows; None: the boat is well.

    Parameters
    ----------
    state, last : how the boat stands now, and the reading before.
    """
    field, share = health_field(offers.table, belief, offers.states)
    if share <= UNLIKELY:
        return None
    best = replace(offers, least_bits=LEAST_RATE * OVERHEAD_S).best(field, state, last)
    return best if best is not None and best.rate >= LEAST_RATE else None


def health_field(table: FaultTable, belief: Belief, states: Sequence[BoatState]) -> tuple[Field, float]:
    """Return the field of two sides: what shows by nothing, the healthy boat among it, and the faults that show.

    With it comes the probability of these.
    """
    field = field_of(table, belief)
    shows = showing(table, field.cells, states)
    order = np.argsort(shows, kind="stable")
    present, numbers = np.unique(shows[order], return_inverse=True)
    place = field.place
    if place is not None:
        place = Place(middle=place.middle[order], spread=place.spread[order])
    sides = replace(
        field,
        cells=field.cells[order],
        weights=field.weights[order],
        repairs=numbers.astype(np.intp),
        count=len(present),
        place=place,
    )
    return sides, float(field.weights[shows].sum())


def showing(table: FaultTable, cells: Rows, states: Sequence[BoatState]) -> Flags:
    """Tell of each of some cells whether in any of these boat states it shows a sign that no healthy boat does."""
    both = np.append(cells, table.cells.well)
    most = np.zeros(len(cells))
    parts = table.solver.network.parts
    for state in states:
        # What shows so clearly tells more than this, so that no such sign is left out.
        for query, found in table.telling(state, both, None, LEAST_BITS).items():
            if not parts[query.part].kind.signs[query.sign].unplugged:
                chances = found.mean(axis=2)
                most = np.maximum(most, chances[chances[:, -1] < RARE, :-1].sum(axis=0))
    return np.asarray(most >= SHOWS)
