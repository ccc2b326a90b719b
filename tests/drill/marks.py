"""Marks against brute force: random walks over small boats, each mark held against posteriors multiplied out by hand.

``python -m tests.drill.marks [WALKS]`` walks each small boat so often and prints how many checks of which sort were
held against their marks, and every one that was marked wrongly.  What a check could tell is found without the
judge: causes are drawn from the posterior, each answers the check, and the distance that the repairs then move is
the mean over them.
"""

import sys
from collections.abc import Collection, Iterator, Sequence
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from assistant.circuit import BoatState, Measurement, ready_state
from assistant.diagnosis import Diagnosis, Evidence, ReadingSeen, SignQuery, SignSeen
from assistant.diagnosis.belief import UNKNOWN_SHARE, likelihood, reading_sigma
from assistant.diagnosis.candidates import looks, readings
from assistant.diagnosis.stories import faults_of
from assistant.drill import VirtualBoat
from assistant.drill.chance import Chance
from assistant.drill.judging import Judge, Mark, Worth, asked_by
from assistant.drill.reference import evidence_of
from tests.diagnosis.boats import GARGANEY, SMEW, diagnosis_of

Array = NDArray[np.float64]
What = Measurement | SignQuery

TEAL = """\
boat: Teal
parts:
  pack: {kind: nimh pack, cells: 6, capacity: 3.3 Ah}
  fuse: {kind: blade fuse, rating: 5 A}
  switch: {kind: toggle switch, rating: 10 A}
  lamp: {kind: lamp, rated: 7.2 V at 1 A}
  stern: {kind: lamp, rated: 7.2 V at 1 A}
runs:
  - [pack +, 18 AWG 15 cm plug/crimped, fuse, 18 AWG 10 cm crimped/soldered, switch, 18 AWG 10 cm, lamp +]
  - [switch out, 18 AWG 40 cm, stern +]
  - [pack -, 18 AWG 25 cm, lamp -]
  - [pack -, 18 AWG 40 cm, stern -]
"""
"""Two lamps behind a fuse and a switch."""

BOATS = {"Smew": SMEW, "Garganey": GARGANEY, "Teal": TEAL}

CHECKS = 6
DRAWN = 60
MUCH, LITTLE = 0.3, 0.04
"""Bits from which on a check told something, and below which it told nothing; what lies between is not held."""


class Hand:
    """Posteriors multiplied out, story by story."""

    def __init__(self, diag: Diagnosis) -> None:
        self.table = diag.table
        cells = self.table.cells
        keys = [story.repairs[0] if story.repairs else None for story in self.table.hypotheses]
        names = list(dict.fromkeys(keys))
        self.of_cell = np.array([names.index(keys[owner]) for owner in cells.owner])
        self.repairs = len(names)
        weights = np.array([story.weight for story in self.table.hypotheses])
        share = weights[cells.owner] * cells.share
        self.prior = np.repeat(share[:, None] / share.sum() / cells.draws, cells.draws, axis=1)
        self._factors: dict[tuple[Evidence, int], tuple[Array, float]] = {}

    def variants(self, evidence: Sequence[Evidence]) -> tuple[Array, float]:
        """Return the probability of each cell and draw, and of a cause that nothing describes."""
        each, unknown = self.prior * (1.0 - UNKNOWN_SHARE), UNKNOWN_SHARE
        for number, piece in enumerate(evidence):
            if any(self.is_repeat(piece, one) for one in evidence[:number]):
                continue
            times = sum(self.is_repeat(one, piece) for one in evidence[number + 1 :])
            factor, wide = self._factor(piece, 1 + times)
            each, unknown = each * factor, unknown * wide
        total = float(each.sum()) + unknown
        return each / total, unknown / total

    def _factor(self, piece: Evidence, times: int) -> tuple[Array, float]:
        if (piece, times) not in self._factors:
            self._factors[piece, times] = likelihood(self.table, piece, times)
        return self._factors[piece, times]

    def is_repeat(self, piece: Evidence, before: Evidence) -> bool:
        """Tell whether an answer is one given before, within what the meter errs: it only makes a slip unlikely.

        What shows by chance is drawn anew at each look, so that seen again it is another answer.
        """
        if isinstance(piece, SignSeen):
            return piece == before and self.table.fleeting_level(piece.query) not in piece.levels
        if not isinstance(piece, ReadingSeen) or not isinstance(before, ReadingSeen):
            return False
        if before.measurement != piece.measurement:
            return False
        return abs(before.value - piece.value) <= 0.02 + 0.01 * abs(piece.value)

    def masses(self, evidence: Sequence[Evidence]) -> Array:
        """Return the probability of each repair, of the healthy boat, and of what nothing describes."""
        each, unknown = self.variants(evidence)
        return np.append(np.bincount(self.of_cell, each.sum(axis=1), self.repairs), unknown)

    def told(self, before: Sequence[Evidence], piece: Evidence) -> float:
        """Return how far an answer moves the repairs, in bits."""
        return distance(self.masses(before), self.masses([*before, piece]))

    def expected(
        self, evidence: Sequence[Evidence], what: What, chance: Chance, apart: Collection[int] | None = None
    ) -> float:
        """Return the mean of that over causes drawn from the posterior, each answering the check.

        Parameters
        ----------
        apart : numbers of repairs that count as one against all others; each for itself when left out.
        """
        old = self.masses(evidence)
        moved = [
            distance(merged(old, apart), merged(self.masses([*evidence, piece]), apart)) * weight
            for piece, weight in self._answers(evidence, what, chance)
        ]
        return sum(moved)

    def _answers(
        self, evidence: Sequence[Evidence], what: What, chance: Chance
    ) -> Iterator[tuple[Evidence, float]]:
        each, _ = self.variants(evidence)
        each = each / each.sum()
        if isinstance(what, SignQuery):
            chances = (self.table.levels(what) * each).sum(axis=(1, 2))
            for level, share in zip(self.table.level_names(what), chances, strict=True):
                yield SignSeen(query=what, levels=(level,)), float(share)
            return
        shown = self.table.state(what.state).shown([what])
        values, sigma = shown.values[0], reading_sigma(self.table, shown, what.function)[0]
        sigma = np.broadcast_to(sigma, values.shape)
        below, above = (reach[0] for reach in shown.reach())
        edges = np.cumsum(each.ravel())
        for number in range(DRAWN):
            at = int(np.searchsorted(edges, (number + chance.random()) / DRAWN * edges[-1]))
            at = min(at, each.size - 1)
            low, high = values.flat[at] - below.flat[at], values.flat[at] + above.flat[at]
            bell = sum(chance.random() for _ in range(12)) - 6.0
            value = float(low + chance.random() * (high - low) + bell * sigma.flat[at])
            yield ReadingSeen(measurement=what, value=value), 1.0 / DRAWN


def merged(masses: Array, apart: Collection[int] | None) -> Array:
    """Return probabilities with some repairs as one against all others."""
    if apart is None:
        return masses
    some = float(masses[list(apart)].sum())
    return np.array([some, 1.0 - some])


def distance(old: Array, new: Array) -> float:
    """Return how far probabilities moved, in bits."""
    return float((new * np.log2((new + 1e-12) / (old + 1e-12))).sum())


@dataclass(frozen=True, slots=True, kw_only=True)
class Check:
    """A check of a walk with its mark, and what brute force says of it.

    Attributes
    ----------
    told, expected, at_first : bits that it told, that it could have told, and that it could have told at the start.
    confirms : bits it could have told of whether what is left is right, were any one answer not given; looked at only
        where it tells nothing else.
    repeated : whether it was made before, or answered by the complaint.
    """

    boat: str
    walk: int
    what: What
    mark: Mark
    told: float
    expected: float
    at_first: float
    confirms: float
    repeated: bool

    @property
    def sort(self) -> str:
        """Return what brute force calls it, or nothing where it is a near thing."""
        open_yet = 0.0 if self.repeated else max(self.expected, self.confirms)
        if self.told >= MUCH or (self.expected >= MUCH and not self.repeated):
            return "informative"
        if max(self.told, open_yet) > LITTLE:
            return ""
        if self.mark.best is not None and asked_by(self.mark.best) == self.what:
            return ""
        if self.repeated or self.at_first >= MUCH:
            return "redundant"
        return "irrelevant" if self.at_first <= LITTLE else ""

    @property
    def is_right(self) -> bool:
        """Tell whether the mark is what brute force calls it."""
        fits = {
            "informative": (Worth.TOLD, Worth.PREMATURE),
            "redundant": (Worth.REDUNDANT,),
            "irrelevant": (Worth.IRRELEVANT,),
        }
        return self.mark.worth in fits.get(self.sort, tuple(Worth))

    def __str__(self) -> str:
        return (
            f"{self.boat} {self.walk}: {self.what} is {self.mark.worth}, but {self.sort}: told {self.told:.2f}, "
            f"could have {self.expected:.2f}, at first {self.at_first:.2f}, confirms {self.confirms:.2f} "
            f"(judge: {self.mark.gained_bits:.2f}, {self.mark.expected_bits:.2f})"
        )


def walk(boat: str, number: int) -> Iterator[Check]:
    """Yield the checks of a walk at random over a boat with a fault at random."""
    diag, chance = diagnosis_of(BOATS[boat]), Chance(f"walk {boat} {number}")
    hand, network = Hand(diag), diag.network
    state: BoatState = ready_state(network.boat)
    judge = Judge(diag, (state,), fickle=False)
    story = chance.pick([story for story in diag.table.hypotheses if story.modes])
    faults = faults_of(network, story, chance.pick(story.severities))
    virtual = VirtualBoat(diag.table.solver, faults, chance)
    lamp = SignQuery(part="lamp", sign="light", state=state)
    evidence: list[Evidence] = [SignSeen(query=lamp, levels=(virtual.look(lamp),))]
    start = evidence
    offers: list[What] = [
        *readings(diag._pairs, network.boat, state, diag.meter),
        *looks(network.boat, state),
    ]
    made: list[What] = []
    for _ in range(CHECKS):
        again = bool(made) and chance.random() < 0.2
        what = chance.pick(made if again else offers)
        shown = virtual.read(what) if isinstance(what, Measurement) else virtual.look(what)
        piece = evidence_of(what, shown)
        beliefs = (judge.belief(start), judge.belief(evidence), judge.belief([*evidence, piece]))
        last = next((one for one in reversed(made) if isinstance(one, Measurement)), None)
        repeated = what in made or what == lamp
        told = hand.told(evidence, piece)
        expected = hand.expected(evidence, what, chance)
        idle = not repeated and max(told, expected) <= LITTLE
        yield Check(
            boat=boat,
            walk=number,
            what=what,
            mark=judge.mark(what, beliefs, stood=(state, last), repeated=repeated),
            told=told,
            expected=expected,
            at_first=hand.expected(start, what, chance),
            confirms=_confirms(hand, evidence, what, chance) if idle else 0.0,
            repeated=repeated,
        )
        made.append(what)
        evidence = [*evidence, piece]


def _confirms(hand: Hand, evidence: Sequence[Evidence], what: What, chance: Chance) -> float:
    """Return what a check could tell of whether the likely repairs are right, were any one answer not given."""
    masses = hand.masses(evidence)
    likely = np.flatnonzero(masses >= 0.05 * masses.max()).tolist()
    return max(
        hand.expected([*evidence[:n], *evidence[n + 1 :]], what, chance, apart)
        for n in range(len(evidence))
        for apart in (likely, [int(masses.argmax())])
    )


def main(walks: int) -> int:
    """Walk every boat, print what was held and what was marked wrongly."""
    counts: dict[str, int] = {}
    wrong = 0
    for boat in BOATS:
        for number in range(walks):
            for check in walk(boat, number):
                counts[check.sort or "near thing"] = counts.get(check.sort or "near thing", 0) + 1
                if not check.is_right:
                    wrong += 1
                    sys.stdout.write(f"{check}\n")
        sys.stdout.write(f"after {boat}: {counts}, {wrong} marked wrongly\n")
        sys.stdout.flush()
    return 1 if wrong else 0


if __name__ == "__main__":
    sys.exit(main(int(sys.argv[1]) if len(sys.argv) > 1 else 40))
