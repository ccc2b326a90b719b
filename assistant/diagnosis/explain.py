"""Why a step was chosen, in words, from the same numbers that chose it."""

from __future__ import annotations

from collections import Counter

import numpy as np
from numpy.typing import NDArray

from assistant.catalogue import Action
from assistant.diagnosis.belief import Belief
from assistant.diagnosis.choose import Field, field_of, gains_bits
from assistant.diagnosis.ending import outcomes_of
from assistant.diagnosis.model import EVEN, RepairId, Step
from assistant.diagnosis.table import FaultTable
from assistant.diagnosis.verdict import leader, two_faults
from assistant.errors import MisuseError
from assistant.wiring import Boat, label_of

Array = NDArray[np.float64]

_NAMED = 3
_SIDED = 0.7
WRONG = {
    Action.REPLACE: "broken",
    Action.REMAKE: "touching badly",
    Action.CHARGE: "flat",
    Action.CLEAR: "jammed",
    Action.SET: "set wrongly",
    Action.CONNECT: "wired wrongly",
    Action.FIT: "lacking something",
    Action.DRY: "wet",
}
"""What is wrong with a place, by what cures it."""

WHY_TWO = "No single fault gives all your answers, so two at once are reckoned with; one is looked for first."

WHY_NOTHING_AMISS = "Nothing is amiss so far, so this looks whether anything is."


def why_step(table: FaultTable, belief: Belief, step: Step, boat: Boat) -> str:
    """Return in a few sentences which suspects a step tells apart, and first whether they are two at once."""
    told = _told_apart(table, belief, step, boat)
    return f"{WHY_TWO} {told}" if two_faults(table, belief)[0] > EVEN else told


def _told_apart(table: FaultTable, belief: Belief, step: Step, boat: Boat) -> str:
    field = field_of(table, belief)
    mass = field.masses()
    share = _share_on_one_side(field, _outcomes(table, field, step))
    names = _repair_names(table, field, boat)
    order = [int(i) for i in np.argsort(-mass, kind="stable")]
    inside = [i for i in order if share[i] >= _SIDED]
    outside = [i for i in order if share[i] <= 1.0 - _SIDED]
    if not inside or not outside:
        return f"It says most about what is left: {_listed([names[i] for i in order])}."
    first, second = sorted((inside, outside), key=lambda side: -mass[side[0]])
    told = f"It tells {_listed([names[i] for i in first])} from {_listed([names[i] for i in second])}."
    return told if order[0] in (first[0], second[0]) else f"{told} It says less about {names[order[0]]}."


def why_again(table: FaultTable, belief: Belief, boat: Boat) -> str:
    """Return why an answer that was given is asked for once more."""
    top, _ = leader(table, belief)
    story = "a healthy boat" if top is None else label_of(boat, top.place)
    return (
        f"Your answers do not belong together: all others point to {story}, which would not show this. "
        "Take it once more, with the tips on bare metal and the boat set as it says."
    )


def why_lone() -> str:
    """Return why the only answer that speaks for a fault is asked for once more."""
    return (
        "All your other answers are those of a healthy boat. Before a part is named, take this one once more."
    )


def why_moved_again() -> str:
    """Return why a place is moved a second time."""
    return (
        "It changed when you moved this place, and what comes and goes may do so by itself just then. "
        "Before a place is named, move it once more."
    )


def _share_on_one_side(field: Field, outcomes: Array) -> Array:
    """Return how likely each repair gives one of two groups of outcomes: the groups that tell most.

    Groups are the outcomes up to one of them and those after it, or one outcome and all others.
    """
    groups = np.concatenate([outcomes.cumsum(axis=0)[:-1], outcomes])
    gains = gains_bits(field, np.stack([groups, 1.0 - groups], axis=1))
    best = groups[int(np.argmax(gains))] * field.weights.reshape(-1)
    by_cell = best.reshape(field.weights.shape).sum(axis=1)
    mass = np.bincount(field.repairs, by_cell, field.count)
    return np.asarray(mass / np.maximum(field.masses(), 1e-12))


def _outcomes(table: FaultTable, field: Field, step: Step) -> Array:
    if step.asked is None:
        raise MisuseError(value=step, reason="a step reads, looks or moves something")
    return outcomes_of(table, field, step.asked)


def _repair_names(table: FaultTable, field: Field, boat: Boat) -> list[str]:
    """Return a name for each repair of a field; where one place has several, with what would be wrong there."""
    found: dict[int, RepairId] = {}
    for cell, repair in zip(field.cells, field.repairs, strict=True):
        for first in table.hypotheses[table.cells.owner[cell]].repairs[:1]:
            found[int(repair)] = first
    places = Counter(repair.place for repair in found.values())
    names = ["a healthy boat"] * field.count
    for number, repair in found.items():
        label = label_of(boat, repair.place)
        names[number] = label if places[repair.place] == 1 else f"{label} ({WRONG[repair.action]})"
    return names


def _listed(names: list[str]) -> str:
    shown = names[:_NAMED]
    more = len(names) - len(shown)
    if more:
        return f"{', '.join(shown)} and {more} more"
    return " and ".join(shown) if len(shown) < 3 else f"{', '.join(shown[:-1])} and {shown[-1]}"
