"""What makes a survey out of solved variants: it has the boats by which they are kept, and takes them in pieces."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from assistant.circuit.beside import Alone
from assistant.circuit.changing import Changing
from assistant.circuit.departures import Departures
from assistant.circuit.elimination import sources_of
from assistant.circuit.feeds import Division
from assistant.circuit.frame import Frame
from assistant.circuit.newton import core_at
from assistant.circuit.plant import Plant, source_branch
from assistant.circuit.solution import Phase, Solution
from assistant.circuit.survey import Kept, Places, Survey

Array = NDArray[np.float64]
Flags = NDArray[np.bool_]
Rows = NDArray[np.intp]

_TOGETHER = 200_000
"""Matrix entries that are held against those of the boats like them at once: that takes several times their room."""


@dataclass(frozen=True, slots=True, kw_only=True)
class Equations:
    """The eliminated equations of some variants in a phase, and their straight elements, one column a variant."""

    factors: Array
    siemens: Array
    source_a: Array


class Surveyor:
    """See the module."""

    def __init__(self, frame: Frame, division: Division, plant: Plant, likes: Solution) -> None:
        """Take the solved boats by which the others are kept, and their plant."""
        self._frame = frame
        self._division = division
        self._state = likes.state
        self._places = Places.of(frame)
        phase = likes.phase
        self._phase = phase
        self._base = _equations_at(plant, np.arange(len(likes.failed)), phase)
        self._sources, _ = sources_of(frame.network.pattern, self._base.factors, phase.volts[:-1])
        self._firsts: list[tuple[Rows, Kept]] = []
        self._others: list[tuple[Rows, Kept]] = []
        self._ends: list[tuple[Flags, Flags]] = []

    def put(self, rows: Rows, pattern: Rows, plant: Plant, solved: Rows, found: Solution) -> None:
        """Take some variants.

        Parameters
        ----------
        rows : their numbers among all.
        pattern : number of the boat by which each is kept.
        plant, solved : with what they were solved, and their numbers there.
        found : their solution.
        """
        step = max(1, _TOGETHER // self._frame.network.pattern.entries)
        for some in (np.arange(len(rows))[first : first + step] for first in range(0, len(rows), step)):
            phase = found.phase.take(some)
            self._firsts.append((rows[some], self._kept(pattern[some], phase, plant, solved[some])))
            moving = some[found.restless[:, some].any(axis=0)]
            if len(moving):
                phase = found.other.take(moving)
                kept = self._kept(pattern[moving], phase, plant, solved[moving])
                self._others.append((rows[moving], kept))
        self._ends.append((found.restless, found.failed))

    def survey(self) -> Survey:
        """Return the survey of all variants."""
        order, first = _in_order(self._firsts)
        restless, failed = (
            np.concatenate(ends, axis=-1)[..., order] for ends in zip(*self._ends, strict=True)
        )
        if not self._others:
            return Survey(
                self._frame, self._division, self._state, (first, None), order[:0], restless, failed
            )
        moving, second = _in_order(self._others)
        rows = np.concatenate([rows for rows, _ in self._others])
        return Survey(
            self._frame, self._division, self._state, (first, second), rows[moving], restless, failed
        )

    def put_alone(self, number: int, rows: Rows, pattern: Rows, alone: Alone) -> None:
        """Take some variants of which only the feed of a number was solved, the rest being as `Beside` tells."""
        feed, base = self._division.feeds[number], self._base
        places = Places.of(feed.frame)
        whole = self._places
        straight, bent, motors = (
            _places_in(every, feed.elements[members])
            for every, members in (
                (whole.straight, places.straight),
                (whole.bent, places.bent),
                (whole.motors, places.motors),
            )
        )
        own = Equations(
            factors=base.factors[feed.way.entries],
            siemens=base.siemens[straight],
            source_a=base.source_a[straight],
        )
        own_sources = self._sources[feed.way.nodes]
        found = _kept(feed.frame, own, own_sources, pattern, alone.phase, alone.plant, alone.rows)
        conditions, travel = self._phase.conditions[:, pattern], self._phase.travel[:, pattern]
        conditions[feed.conditions], travel[feed.inputs] = found.conditions, found.travel
        amps, speed = alone.amps.copy(), alone.speed.copy()
        amps[bent], speed[motors] = found.amps, found.speed
        kept = Kept(
            factors=found.factors.within(base.factors, feed.way.entries),
            sources=found.sources.within(self._sources, feed.way.nodes),
            siemens=found.siemens.within(base.siemens, straight),
            source_a=found.source_a.within(base.source_a, straight),
            amps=amps,
            speed=speed,
            conditions=conditions,
            travel=travel,
            home=np.full(len(rows), number),
        )
        self._firsts.append((rows, kept))
        self._ends.append((np.zeros_like(conditions), np.zeros(len(rows), dtype=np.bool_)))

    def _kept(self, pattern: Rows, phase: Phase, plant: Plant, solved: Rows) -> Kept:
        return _kept(self._frame, self._base, self._sources, pattern, phase, plant, solved)


def _kept(
    frame: Frame,
    base: Equations,
    base_sources: Array,
    pattern: Rows,
    phase: Phase,
    plant: Plant,
    solved: Rows,
) -> Kept:
    """Return variants as they depart from those of `base`."""
    equations, places = _equations_at(plant, solved, phase), Places.of(frame)
    sources, sizes = sources_of(frame.network.pattern, equations.factors, phase.volts[:-1])
    return Kept(
        factors=Departures.of(equations.factors, base.factors, pattern),
        sources=Departures.of(sources, base_sources, pattern, sizes),
        siemens=Departures.of(equations.siemens, base.siemens, pattern),
        source_a=Departures.of(equations.source_a, base.source_a, pattern),
        amps=phase.amps[places.bent],
        speed=phase.speed[places.motors],
        conditions=phase.conditions,
        travel=phase.travel,
        home=np.full(len(solved), -1),
    )


def _places_in(every: Rows, members: Rows) -> Rows:
    """Return at which place of `every` each of its members stands."""
    order = np.argsort(every)
    return np.asarray(order[np.searchsorted(every, members, sorter=order)], dtype=np.intp)


def _equations_at(plant: Plant, rows: Rows, phase: Phase) -> Equations:
    """Return the equations of some rows of a plant, `phase` being theirs."""
    frame = plant.frame
    gated = Changing(plant, rows, phase.conditions)[frame.gated]
    siemens, amps = source_branch(frame.gated, gated.of, gated.present > 0.0)
    shared = plant.columns[rows]
    return Equations(
        factors=factors_at(plant, rows, phase),
        siemens=np.concatenate([plant.siemens[:, shared], siemens]),
        source_a=np.concatenate([plant.amps[:, shared], amps]),
    )


def factors_at(plant: Plant, rows: Rows, phase: Phase) -> Array:
    """Return the eliminated matrix entries of some rows of a plant, `phase` being theirs; where it has none, zeros."""
    factors = np.zeros((plant.frame.network.pattern.entries, len(rows)))
    factors[: plant.frame.pattern.entries] = plant.values[:, plant.columns[rows]]
    volts = phase.volts[plant.frame.core_nodes]
    factors[plant.frame.late] = core_at(Changing(plant, rows, phase.conditions), volts)
    return factors


def _in_order(pieces: Sequence[tuple[Rows, Kept]]) -> tuple[Rows, Kept]:
    """Return pieces as one in the order of their rows, and that order."""
    order = np.argsort(np.concatenate([rows for rows, _ in pieces]))
    return order, Kept.arranged([kept for _, kept in pieces], order)
