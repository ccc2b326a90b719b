"""The best path: how the diagnosis itself would go about a drill, on the very same boat."""

from __future__ import annotations

from dataclasses import dataclass

from assistant.circuit import BoatState, Measurement, Solver
from assistant.diagnosis import Evidence, ReadingSeen, RepairId, SignQuery, SignSeen
from assistant.drill.hiding import Complaint, Hidden
from assistant.drill.judging import Judge, What, asked_by
from assistant.drill.virtual import VirtualBoat

MOST_CHECKS = 40
_MOST_WAITS = 60


@dataclass(frozen=True, slots=True, kw_only=True)
class Done:
    """A check that was made: what, what it showed (volts, ohms, a level, or whether the trouble changed), its cost.

    `counts` tells whether it may be reckoned with: where the trouble comes and goes, only while it showed.
    """

    what: What
    shown: float | str | bool
    seconds: float
    counts: bool = True


@dataclass(frozen=True, slots=True, kw_only=True)
class BestPath:
    """The best path.

    Attributes
    ----------
    checks : its checks in order.
    seconds : what they cost together.
    named : the repair that it ends with for each hidden story.
    right : whether each of these is the right one, or one that no step tells from it.
    ends : whether it came to its end rather than being broken off for its length.
    """

    checks: tuple[Done, ...]
    seconds: float
    named: tuple[RepairId, ...]
    right: bool
    ends: bool


def best_path(judge: Judge, solver: Solver, hidden: Hidden) -> BestPath:
    """Return the best path through a drill."""
    boat = hidden.boat(solver, judge.diagnosis.meter)
    checks: list[Done] = []
    named: list[RepairId] = []
    right = ends = True
    for number, story in enumerate(hidden.stories):
        hunt = _Hunt(judge, boat, hidden.complaints[number], fickle=hidden.comes_and_goes)
        ends = hunt.go() and ends
        checks += hunt.checks
        found = hunt.named()
        named.append(found)
        truth = story.repairs[0]
        right = right and not judge.tells_apart(hunt.belief, truth, found)
        for repair in story.repairs:
            boat.mend(repair.place)
    seconds = sum(check.seconds for check in checks)
    return BestPath(checks=tuple(checks), seconds=seconds, named=tuple(named), right=right, ends=ends)


class _Hunt:
    """One fault hunted by always taking the best step."""

    def __init__(self, judge: Judge, boat: VirtualBoat, complaint: Complaint, *, fickle: bool) -> None:
        self._judge = judge
        self._boat = boat
        self._complaint = complaint
        self._fickle = fickle
        self._state: BoatState = complaint.query.state
        self._last: Measurement | None = None
        self.checks: list[Done] = []
        self._evidence: list[Evidence] = [first_evidence(boat, complaint, fickle=fickle)]
        self.belief = judge.belief(self._evidence)

    def go(self) -> bool:
        """Take the best step until none is worth taking; tell whether that came about."""
        step = self._judge.best(self.belief, self._state, self._last)
        while step is not None and len(self.checks) < MOST_CHECKS:
            self._make(asked_by(step))
            self.belief = self._judge.belief(self._evidence)
            step = self._judge.best(self.belief, self._state, self._last)
        return step is None

    def _make(self, what: Measurement | SignQuery) -> None:
        for _ in range(_MOST_WAITS if self._fickle else 1):
            self._boat.let_time_pass()
            counts = trouble_shows(self._boat, self._complaint, fickle=self._fickle)
            seconds = self._judge.seconds(what, self._state, self._last)
            shown: float | str = (
                self._boat.read(what) if isinstance(what, Measurement) else self._boat.look(what)
            )
            self.checks.append(Done(what=what, shown=shown, seconds=seconds, counts=counts))
            self._state = what.state
            self._last = what if isinstance(what, Measurement) else self._last
            if counts:
                self._evidence.append(evidence_of(what, shown))
                return

    def named(self) -> RepairId:
        """Return the repair that is named in the end."""
        return self._judge.suspects(self.belief)[0].repair


def evidence_of(what: Measurement | SignQuery, shown: float | str) -> Evidence:
    """Return a check as evidence."""
    if isinstance(what, Measurement):
        return ReadingSeen(measurement=what, value=float(shown))
    return SignSeen(query=what, levels=(str(shown),))


def first_evidence(boat: VirtualBoat, complaint: Complaint, *, fickle: bool) -> Evidence:
    """Return the complaint as evidence: what the owner saw while the trouble showed."""
    for _ in range(_MOST_WAITS if fickle else 1):
        if trouble_shows(boat, complaint, fickle=fickle):
            break
        boat.let_time_pass()
    return SignSeen(query=complaint.query, levels=(boat.look(complaint.query),))


def trouble_shows(boat: VirtualBoat, complaint: Complaint, *, fickle: bool) -> bool:
    """Tell whether a check at this moment may be reckoned with: always, unless the trouble comes and goes."""
    if not fickle:
        return True
    return not boat.is_bouncing and boat.look(complaint.query) != complaint.well
