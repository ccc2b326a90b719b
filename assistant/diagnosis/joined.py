"""Two troubles at once: pairs of faults as stories, once no single one gives the answers.

Pairs are far too many to be solved beforehand.  They are made when the best single story has to take two answers as
slips: beside each of the few faults that explain most, every other fault is put into the same boat and solved in the
states that were looked at; the pairs that give the answers best then stand in a table of their own, with the single
stories that lead.  Two faults are no sum of each alone: what one puts out the other cannot show.

A pair is cured by two repairs, one after the other.  Of a pair the repair is named that most of what is left has in
common.
"""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Iterator, Sequence
from dataclasses import dataclass, replace

import numpy as np

from assistant.circuit import Solver
from assistant.diagnosis.belief import MISREAD, MISSEEN, Belief, believe
from assistant.diagnosis.model import Evidence, Hypothesis, ModeAt, ReadingSeen, RepairId
from assistant.diagnosis.recent import Recent
from assistant.diagnosis.stories import faults_of
from assistant.diagnosis.table import FaultTable

_Weights = dict[tuple[ModeAt, ...], float]

TWO_SHARE = 0.05
"""Prior share of boats with two troubles that have nothing to do with each other (common practice, no source)."""

_SLIPS = 2
"""So many answers the leading story has to take as slips before pairs are looked for."""

_LIKELY_SLIP = 0.5
_TELLS = 0.3
"""By how much, in log units, an answer has to be likelier or less likely with a fault than on the healthy boat."""

_HEADS = 7
_ALIKE = 6
_SINGLES = 20
_FAR = 9.0
"""How many faults others are put beside, how many of those that answer alike, how many single stories are kept, and how
far behind the best a pair may be, in log units (by trial)."""

_LEAST_CELLS = 60
_ROOM = 400 * 800
"""How many cells are put beside each head, and how many of pairs are kept: fewer the more the boat has, since each then
takes longer (by trial: it bounds the time of a step)."""

_TABLES = 3
"""So many tables of pairs are kept: going back an answer or two then costs nothing."""


@dataclass(frozen=True, slots=True)
class _Pair:
    """Two single stories; the first is at any severity, the second at one."""

    first: Hypothesis
    second: Hypothesis
    severity: float

    @property
    def repairs(self) -> tuple[RepairId, RepairId]:
        return self.first.repairs[0], self.second.repairs[0]


@dataclass(frozen=True, slots=True)
class _Head:
    """A fault that explains much, at the severity at which it does, and those that explain the same."""

    cell: int
    story: Hypothesis
    severity: float
    alike: tuple[tuple[Hypothesis, float], ...]


def is_torn(belief: Belief) -> bool:
    """Tell whether the best single story has to take several answers as slips, each time they were given.

    Once something was said to come and go, answers need not belong together.
    """
    if belief.there is not None:
        return False
    lead = np.unravel_index(int(belief.variants.argmax()), belief.variants.shape)
    asked = [piece.asked for piece in belief.evidence]
    slips = 0
    for i, piece in enumerate(belief.evidence):
        slip = MISREAD if isinstance(piece, ReadingSeen) else MISSEEN
        # An answer given again counts with the first time.
        times = asked.count(asked[i]) if belief.unknown_factors[i] != 1.0 else 0
        factor = float(belief.factors[(i, *lead)])
        slips += times * bool(slip**times * belief.unknown_factors[i] > _LIKELY_SLIP * factor)
    return slips >= _SLIPS


_Solved = tuple[tuple[_Pair, ...], FaultTable]
"""Some pairs, and their table."""


class Joining:
    """Makes tables of pairs for one boat, and keeps what was solved."""

    def __init__(self, table: FaultTable, solver: Solver) -> None:
        self._table = table
        self._solver = solver
        self._most = max(_LEAST_CELLS, _ROOM // len(table.cells.owner))
        self._beside: Recent[tuple[Hypothesis, float], list[_Solved]] = Recent(2 * _HEADS)
        self._made: Recent[tuple[object, ...], FaultTable] = Recent(_TABLES)

    def joined(self, belief: Belief) -> Belief:
        """Return the belief over pairs and single stories after the same answers, given that over single stories."""
        weights = np.bincount(self._table.cells.owner, belief.prior.sum(axis=1), len(self._table.hypotheses))
        singles = {h.modes: float(w) for h, w in zip(self._table.hypotheses, weights, strict=True)}
        pairs = self._pairs(belief, singles)
        if not pairs:
            return belief
        kept = self._leading(belief)
        stories = (*kept, *(_story(self._table, pair, _weight(pair, singles)) for pair in pairs))
        table = self._made.get(stories, lambda: FaultTable(self._solver, stories, self._table.meter))
        both = believe(table, belief.evidence)
        return replace(both, table=_named(both, [*(None for _ in kept), *pairs]))

    def _leading(self, belief: Belief) -> list[Hypothesis]:
        """Return the healthy boat and the likeliest single stories, at the weights that they have now."""
        owner, hypotheses = self._table.cells.owner, self._table.hypotheses
        masses = np.bincount(owner, belief.cells, len(hypotheses))
        weights = np.bincount(owner, belief.prior.sum(axis=1), len(hypotheses))
        ranked = np.argsort(-masses, kind="stable")[:_SINGLES].tolist()
        well = int(owner[self._table.cells.well])
        return [replace(hypotheses[n], weight=float(weights[n])) for n in dict.fromkeys((well, *ranked))]

    def _pairs(self, belief: Belief, singles: _Weights) -> list[_Pair]:
        """Return the pairs that give the answers best, one story of each put at any severity."""
        found: list[tuple[float, _Pair, _Head, float]] = []
        for head in self._heads(belief):
            others = self._promising(belief, head)
            wanted = set(others)
            for pairs, table in self._all_beside(head, others):
                for pair, fit, severity in _fits(table, pairs, belief.evidence):
                    if pair.first in wanted:
                        found.append((fit + float(np.log(_weight(pair, singles))), pair, head, severity))
        found.sort(key=lambda one: -one[0])
        made: dict[_Pair, None] = {}
        cells = 0
        for fit, pair, head, severity in found:
            for one in _likewise(pair, head, severity):
                if one not in made and cells < self._most and fit > found[0][0] - _FAR:
                    made[one] = None
                    cells += len(one.first.severities)
        return list(made)

    def _promising(self, belief: Belief, head: _Head) -> list[Hypothesis]:
        """Return the stories to be put beside a head: those that touch an answer, the likeliest first.

        How likely a pair is can only be guessed before it is solved: each answer as if the better of the two gave it.
        """
        cells, hypotheses = self._table.cells, self._table.hypotheses
        logs = np.log(belief.factors.mean(axis=2))
        tells = (np.abs(logs - logs[:, [cells.well]]) > _TELLS).any(axis=0)
        guess = np.maximum(logs, logs[:, [head.cell]]).sum(axis=0) + np.log(belief.prior.sum(axis=1))
        ranked = np.flatnonzero(tells)[np.argsort(-guess[tells], kind="stable")]
        found: list[Hypothesis] = []
        count = 0
        for number in dict.fromkeys(cells.owner[ranked].tolist()):
            story = hypotheses[number]
            if count < self._most and story.modes and not story.comes_and_goes:
                found.append(story)
                count += len(story.severities)
        return found

    def _heads(self, belief: Belief) -> list[_Head]:
        """Return the faults that explain most, each with those that explain the same."""
        cells, hypotheses = self._table.cells, self._table.hypotheses
        masses = belief.cells
        shown = np.round(np.log(belief.factors.mean(axis=2) / belief.unknown_factors[:, None]))
        best: dict[int, int] = {}
        for cell in np.argsort(-masses, kind="stable").tolist():
            best.setdefault(int(cells.owner[cell]), cell)
        groups: dict[bytes, list[tuple[Hypothesis, float]]] = defaultdict(list)
        first: dict[bytes, int] = {}
        for number, cell in best.items():
            story = hypotheses[number]
            if story.modes and not story.comes_and_goes:
                severity = cells.variants[cell * cells.draws].faults[0].severity
                groups[shown[:, cell].tobytes()].append((story, severity))
                first.setdefault(shown[:, cell].tobytes(), cell)
        leading = list(groups.items())[:_HEADS]
        return [_Head(first[key], *group[0], alike=tuple(group[:_ALIKE])) for key, group in leading]

    def _all_beside(self, head: _Head, others: Sequence[Hypothesis]) -> list[_Solved]:
        """Return the pairs of a fault with others, and those solved before, with their tables."""
        known = self._beside.get((head.story, head.severity), list)
        solved = {pair.first for pairs, _ in known for pair in pairs}
        part = head.story.modes[0].part
        new = [story for story in others if story not in solved and story.modes[0].part != part]
        if new:
            pairs = tuple(_Pair(story, head.story, head.severity) for story in new)
            stories = [_story(self._table, pair, 1.0) for pair in pairs]
            known.append((pairs, FaultTable(self._solver, stories, self._table.meter)))
        return known


def _likewise(pair: _Pair, head: _Head, severity: float) -> Iterator[_Pair]:
    """Yield a pair, those with what answers like its second, and of what is graded the other way round too."""
    for other, at in head.alike:
        if other.modes[0].part != pair.first.modes[0].part:
            yield _Pair(pair.first, other, at)
            if len(other.severities) > 1:
                yield _Pair(other, pair.first, severity)


def _story(table: FaultTable, pair: _Pair, weight: float) -> Hypothesis:
    beside = faults_of(table.solver.network, pair.second, pair.severity)
    return replace(pair.first, weight=weight, beside=beside, second=pair.second.repairs[0])


def _weight(pair: _Pair, singles: _Weights) -> float:
    return TWO_SHARE * singles[pair.first.modes] * singles[pair.second.modes]


def _fits(
    table: FaultTable, pairs: Sequence[_Pair], evidence: Sequence[Evidence]
) -> Iterator[tuple[_Pair, float, float]]:
    """Yield of each pair the logarithm of how well it gives the answers, and at which severity best."""
    belief = believe(table, evidence)
    cells = table.cells
    by_cell = np.log(np.exp(belief.logs - belief.logs.max()).mean(axis=1)) + belief.logs.max()
    by_cell = by_cell + np.log(cells.share)
    for number, pair in enumerate(pairs):
        own = np.flatnonzero(cells.owner == number)
        best = own[int(np.argmax(by_cell[own]))]
        top = float(by_cell[best])
        fit = top + float(np.log(np.exp(by_cell[own] - top).sum()))
        yield pair, fit, cells.variants[best * cells.draws].faults[0].severity


def _named(belief: Belief, pairs: Sequence[_Pair | None]) -> FaultTable:
    """Return the table with every pair told by one of its two repairs.

    That is the one which most of what is left has in common; where that is not among them, one that is left in its
    stead, and not one that comes along with it.
    """
    table = belief.table
    masses = np.bincount(table.cells.owner, belief.cells, len(table.hypotheses)).tolist()
    of = [p.repairs if p else h.repairs[:1] for p, h in zip(pairs, table.hypotheses, strict=True)]
    worth: dict[RepairId, float] = defaultdict(float)
    for repairs, mass in zip(of, masses, strict=True):
        for repair in set(repairs):
            worth[repair] += mass
    named: dict[int, RepairId] = {}
    while worth:
        first = max(worth, key=lambda repair: (worth[repair], repair))
        del worth[first]
        for number in [n for n, repairs in enumerate(of) if n not in named and first in repairs]:
            named[number] = first
            for repair in set(of[number]) & worth.keys():
                worth[repair] -= 2.0 * masses[number]
    told = [
        replace(h, modes=p.second.modes, repairs=p.second.repairs, second=p.first.repairs[0])
        if p is not None and named[n] == p.second.repairs[0]
        else h
        for n, (p, h) in enumerate(zip(pairs, table.hypotheses, strict=True))
    ]
    return table.told(told)
