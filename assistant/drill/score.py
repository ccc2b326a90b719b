"""Whether a drill is passed: the right place, shown by the learner's own checks, cheaply, with nothing spoilt.

Three things keep luck out.  A name counts only where more than one of the checks made before it bear it out, so that a
guess is worth nothing, however likely from the start.  Most checks must have told something, and all together may not
cost much more than the best path through the very drill, so that checks at random seldom do, even for one who reasons
perfectly.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

from assistant.drill.judging import Judge, Worth
from assistant.drill.ledger import Ledger, Named, Wasted
from assistant.drill.reference import BestPath

FACTOR = 2.0
"""How many times the cost of the best path may be spent (common practice, no source)."""

SLACK_S = 30.0
"""Seconds on top, so that one needless check on a short path fails nobody."""

TELLING = 0.6
"""Share of the checks that must have told something (common practice, no source)."""


@dataclass(frozen=True, slots=True, kw_only=True)
class Score:
    """How a drill went.

    Attributes
    ----------
    right : whether every fault was named, and nothing else.
    mended : whether nothing is wrong any more.
    seconds, best_seconds, limit_seconds : cost of finding, of the best path, and what may be spent.
    worths : how many checks got which mark.
    """

    right: bool
    mended: bool
    proved: bool
    gave_up: bool
    seconds: float
    best_seconds: float
    limit_seconds: float
    worths: tuple[tuple[Worth, int], ...]
    named: tuple[Named, ...]
    wasted: tuple[Wasted, ...]
    ignored: tuple[str, ...]
    costly: int
    hints: int

    @property
    def telling(self) -> float:
        """Return the share of the checks that told something; one too early told something too."""
        total = sum(number for _, number in self.worths)
        told = sum(number for worth, number in self.worths if worth in (Worth.TOLD, Worth.PREMATURE))
        return told / total if total else 1.0

    @property
    def shortfalls(self) -> tuple[str, ...]:
        """Return what stands in the way of a pass, in words; nothing when it is passed."""
        wrong = sum(not one.right for one in self.named)
        guessed = sum(one.right and not one.borne_out for one in self.named)
        failed = (
            (self.gave_up, "you gave up"),
            (not self.gave_up and not self.right and not wrong, "not every fault was named"),
            (wrong > 0, f"{wrong} wrong {'place was' if wrong == 1 else 'places were'} named"),
            (
                guessed > 0 and not wrong,
                "the name was right, but your checks had not borne it out yet: one slip, and it is another place",
            ),
            (not self.mended and not self.gave_up, "not everything is mended"),
            (self.mended and not self.proved, "the repair was not proved"),
            (
                self.seconds > self.limit_seconds,
                f"it took {self.seconds:.0f} s, a pass needs {self.limit_seconds:.0f} s or less",
            ),
            (
                self.telling < TELLING,
                f"{self.telling:.0%} of your checks told you something, a pass needs {TELLING:.0%}",
            ),
            (
                bool(self.wasted),
                f"{len(self.wasted)} good {'part' if len(self.wasted) == 1 else 'parts'} replaced",
            ),
            (self.costly > 0, "an ignored caution cost more than time"),
        )
        return tuple(words for is_so, words in failed if is_so)

    @property
    def passed(self) -> bool:
        """Tell whether the drill is passed."""
        return not self.shortfalls


def score(ledger: Ledger, best: BestPath, judge: Judge, *, stories: int, mended: bool) -> Score:
    """Return how a drill went.

    Parameters
    ----------
    stories : how many faults there were to find.
    mended : whether nothing is wrong any more.
    """
    marks = [made.mark(judge).worth for made in ledger.checks if made.counts]
    return Score(
        right=sum(one.right for one in ledger.named) >= stories and all(one.right for one in ledger.named),
        mended=mended,
        proved=ledger.proved,
        gave_up=ledger.gave_up,
        seconds=ledger.seconds,
        best_seconds=best.seconds,
        limit_seconds=limit_seconds(best.seconds),
        worths=_counted(marks),
        named=tuple(ledger.named),
        wasted=tuple(ledger.wasted),
        ignored=tuple(ledger.ignored),
        costly=ledger.costly,
        hints=ledger.hints,
    )


def limit_seconds(best_seconds: float) -> float:
    """Return what may be spent on a drill whose best path costs so much."""
    return FACTOR * best_seconds + SLACK_S


def _counted(marks: Sequence[Worth]) -> tuple[tuple[Worth, int], ...]:
    return tuple((worth, marks.count(worth)) for worth in Worth)
