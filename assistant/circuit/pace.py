"""How fast something rattles or restarts: what alternates, run through by the times that its parts take.

From a phase of the circle on, every condition that wants to change does so when its own time is over, unless it no
longer wants to by then; the soonest goes first, and what it gates falls with it.  Between two changes the boat is
in the steady state of that phase.  Once the same conditions hold with the same changes under way, the circle is
closed, and the time since is that of one turn.  The times are rough, and so is what comes of them.
"""

from __future__ import annotations

from collections.abc import Sequence

import numpy as np
from numpy.typing import NDArray

from assistant.catalogue import SENSED, Sense
from assistant.circuit.batch import Variant, make_batch
from assistant.circuit.changing import Changing
from assistant.circuit.crew import Crew
from assistant.circuit.frame import Frame
from assistant.circuit.newton import settle
from assistant.circuit.plant import Plant
from assistant.circuit.senses import Senses
from assistant.circuit.solution import Solution
from assistant.circuit.survey import Survey

Array = NDArray[np.float64]
Flags = NDArray[np.bool_]
Rows = NDArray[np.intp]

_CHANGES = 64
_SAME_S = 1e-6
"""Times that differ by less are one."""


def turns_s(
    frame: Frame, solution: Solution | Survey, variants: Sequence[Variant], columns: Rows, *, draws: int = 0
) -> Array:
    """Return how long one turn of what alternates takes (s), shape (columns,).

    It is nan where nothing alternates, and where the parts' own times lead to no circle.

    Parameters
    ----------
    variants : those of the columns.
    draws : that of the solution.
    """
    found = np.full(len(columns), np.nan)
    turning = np.flatnonzero(solution.restless[:, columns].any(axis=0) & ~solution.failed[columns])
    if len(turning):
        batch = make_batch(frame.network, [variants[int(i)] for i in turning], draws=draws)
        plant = Plant.of(frame, Crew.of(batch, solution.state))
        found[turning] = _Clock(plant).run(solution.phase.conditions[:, columns[turning]])
    return found


class _Clock:
    """Some rows in time: `due` is when each condition changes (s), infinite while it does not want to."""

    def __init__(self, plant: Plant) -> None:
        self.plant = plant
        self.network = plant.frame.network
        self.batch = plant.crew.batch

    def run(self, conditions: Flags) -> Array:
        """Return the time of one turn of each row, from these conditions on."""
        rows = np.arange(conditions.shape[1])
        found = np.full(len(rows), np.nan)
        now, due = np.zeros(len(rows)), np.full(conditions.shape, np.inf)
        volts = np.zeros((self.plant.frame.core.size + 1, len(rows)))
        history: list[tuple[Flags, Array, Array]] = []
        for _ in range(_CHANGES):
            volts, failed, wanted, takes_s = self._wanted(rows, conditions, volts)
            wants = wanted != conditions
            due = np.where(wants, np.minimum(due, now + takes_s), np.inf)
            left = due - now
            since = _since(history, conditions, left)
            closed = np.isfinite(since) & (now - since > _SAME_S)
            found[rows[closed]] = (now - since)[closed]
            history.append((conditions, left, now))
            kept = ~closed & wants.any(axis=0) & ~failed
            rows, now, due, conditions, volts = (
                rows[kept],
                now[kept],
                due[:, kept],
                conditions[:, kept],
                volts[:, kept],
            )
            history = [(there[:, kept], lasting[:, kept], then[kept]) for there, lasting, then in history]
            if not len(rows):
                break
            now = due.min(axis=0)
            changing = due <= now + _SAME_S
            conditions = self.plant.crew.gated(conditions ^ changing, rows)
            due = np.where(changing, np.inf, due)
        return found

    def _wanted(self, rows: Rows, conditions: Flags, guess: Array) -> tuple[Array, Flags, Flags, Array]:
        """Return the steady volts of a phase, or which have none, what they bring about, and how long that takes."""
        changing = Changing(self.plant, rows, conditions)
        volts, failed = settle(changing, guess)
        senses = Senses(changing, np.arange(len(rows)), volts)
        wanted, forced = senses.wanted()
        takes_s = np.zeros(conditions.shape)
        for c, condition in enumerate(self.network.conditions):
            if condition.sense is Sense.SETTING:
                continue
            wanted[c] &= conditions[list(condition.when)].all(axis=0) | forced[c]
            takes_s[c] = self._takes_s(c, rows, wanted[c], senses.of(c))
        return volts, failed, wanted, takes_s

    def _takes_s(self, number: int, rows: Rows, rising: Flags, sensed: Array) -> Array:
        condition = self.network.conditions[number]
        values = {name: column[rows] for name, column in self.batch.values[condition.part].items()}
        curves = self.network.parts[condition.part].kind.curves
        with np.errstate(all="ignore"):
            on, off = (f(values | {SENSED: sensed}, curves) for f in (condition.on_s, condition.off_s))
        return np.asarray(np.maximum(np.nan_to_num(np.where(rising, on, off)), 0.0))


def _since(history: Sequence[tuple[Flags, Array, Array]], conditions: Flags, left: Array) -> Array:
    """Return when each row last was where it is now, with the same changes under way; infinite for never."""
    since = np.full(len(left.T), np.inf)
    for there, lasting, then in history:
        with np.errstate(invalid="ignore"):
            alike = (there == conditions) & ((lasting == left) | (np.abs(lasting - left) < _SAME_S))
        again = alike.all(axis=0)
        since[again] = then[again]
    return since
