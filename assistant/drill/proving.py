"""Breaking a boat in every way on the computer, and measuring how well the diagnosis finds it.

Each single fault that shows is put, at a severity of its own, into a virtual boat with tolerances of its own; the hunt
begins with the sign a person would complain about.  A chance-free order of seeds makes a run repeatable.
"""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass
from random import Random
from statistics import median

from assistant.circuit import BoatState, Fault, Measurement, forward_states
from assistant.diagnosis import AtHand, Belief, Diagnosis, SignQuery, Step
from assistant.drill.complaints import Breakdown, Complaints
from assistant.drill.figures import Frame, Report, Result, pairs_report_of, report_of
from assistant.drill.halving import halving_chooser
from assistant.drill.hiding import AWAY
from assistant.drill.hunting import Chooser, Hunt, Slip, chooser_of, hunt
from assistant.drill.pairs import hunt_pair, pairs_of
from assistant.drill.virtual import VirtualBoat

_HEALTHY_HUNTS = 60

Progress = Callable[[int, int], None]


@dataclass(frozen=True, slots=True, kw_only=True)
class Trying:
    """How a boat is tried.

    Attributes
    ----------
    seed : fixes tolerances, meter errors, slips and pairs.
    misread : one reading of each hunt is taken wrong.
    halving : whether to hunt the same faults by halving the number of suspects too.
    most : at most so many faults or pairs, evenly spread over all.
    at_hand : what there is to try with; None: nothing is tried, not even swapping.
    comes_and_goes : only faults that come and go are hidden; they do, and the owner says so.
    """

    seed: int = 1
    misread: bool = False
    halving: bool = True
    most: int | None = None
    at_hand: frozenset[AtHand] | None = None
    comes_and_goes: bool = False


MOST_PAIRS = 200
"""Pairs hunted when nothing else is said: there are tens of thousands."""


def prove(
    diagnosis: Diagnosis, trying: Trying, *, clock: Callable[[], float], progress: Progress | None = None
) -> tuple[Report, tuple[Result, ...]]:
    """Break the boat in every way that shows and hunt each fault.

    Parameters
    ----------
    clock : gives seconds, for the time a step takes.
    progress : told how many hunts are done, of how many.
    """
    states, complaints = _made_ready(diagnosis)
    every = [
        one for one in complaints.breakdowns() if one.hypothesis.comes_and_goes or not trying.comes_and_goes
    ]
    most = len(every) if trying.most is None else min(trying.most, len(every))
    chosen = [every[i * len(every) // most] for i in range(most)]
    timed = _Timed(chooser_of(diagnosis, states, trying.at_hand), clock)
    half = halving_chooser(diagnosis, states) if trying.halving else None
    results = []
    for done, breakdown in enumerate(chosen):
        results.append(_try(diagnosis, complaints, breakdown, timed, half, trying))
        _tell(progress, done + 1, len(chosen))
    well = _healthy_hunts(diagnosis, complaints, timed, trying)
    frame = Frame(diagnosis=diagnosis, states=states, healthy=well, step_ms=timed.step_ms())
    return report_of(frame, results), tuple(results)


def prove_pairs(
    diagnosis: Diagnosis, trying: Trying, *, clock: Callable[[], float], progress: Progress | None = None
) -> Report:
    """Hide pairs of faults in the boat and hunt them one after the other; parameters as for `prove`."""
    states, complaints = _made_ready(diagnosis)
    pairs = pairs_of(list(complaints.breakdowns()), trying.most or MOST_PAIRS, trying.seed)
    timed = _Timed(chooser_of(diagnosis, states, trying.at_hand), clock)
    results = []
    for done, pair in enumerate(pairs):
        results.append(hunt_pair(diagnosis, complaints, pair, timed, trying.seed))
        _tell(progress, done + 1, len(pairs))
    well = _healthy_hunts(diagnosis, complaints, timed, trying)
    frame = Frame(diagnosis=diagnosis, states=states, healthy=well, step_ms=timed.step_ms())
    return pairs_report_of(frame, results)


def _made_ready(diagnosis: Diagnosis) -> tuple[tuple[BoatState, ...], Complaints]:
    states = forward_states(diagnosis.network.boat)
    diagnosis.prepare(states)
    return states, Complaints(diagnosis, states)


def _tell(progress: Progress | None, done: int, of: int) -> None:
    if progress is not None:
        progress(done, of)


class _Timed:
    """A chooser that notes how long it takes."""

    def __init__(self, inner: Chooser, clock: Callable[[], float]) -> None:
        self._inner = inner
        self._clock = clock
        self._spans: list[float] = []

    def __call__(self, belief: Belief, state: BoatState, last: Measurement | None) -> Step | None:
        begun = self._clock()
        step = self._inner(belief, state, last)
        self._spans.append(self._clock() - begun)
        return step

    def step_ms(self) -> float:
        """Return the median time of a step in milliseconds."""
        return 1000.0 * median(self._spans) if self._spans else 0.0


def _try(
    diagnosis: Diagnosis,
    complaints: Complaints,
    breakdown: Breakdown,
    choose: Chooser,
    half: Chooser | None,
    trying: Trying,
) -> Result:
    def boat_with(faults: tuple[Fault, ...], number: int) -> VirtualBoat:
        return VirtualBoat(
            diagnosis.table.solver,
            faults,
            Random(f"{trying.seed}/{breakdown.number}/{number}"),
            meter=diagnosis.meter,
            away=AWAY if trying.comes_and_goes else 0.0,
        )

    number = 0 if trying.comes_and_goes else complaints.draw_that_shows([breakdown], boat_with)
    random = Random(f"slip {trying.seed}/{breakdown.number}")
    slip = Slip(at=random.randrange(3), random=random) if trying.misread else None
    broken = boat_with(breakdown.faults, number)
    amiss = _seen_at_times(broken, breakdown.complaint) if trying.comes_and_goes else None
    return Result(
        breakdown=breakdown,
        hunt=hunt(diagnosis, broken, breakdown.complaint, choose, slip=slip, amiss=amiss),
        halving=None
        if half is None
        else hunt(diagnosis, boat_with(breakdown.faults, number), breakdown.complaint, half),
    )


def _seen_at_times(boat: VirtualBoat, complaint: SignQuery) -> str:
    """Return what a sign shows at moments at which the fault is there."""
    while not boat.is_troubled:
        boat.let_time_pass()
    return boat.look(complaint)


def _healthy_hunts(
    diagnosis: Diagnosis, complaints: Complaints, choose: Chooser, trying: Trying
) -> list[Hunt]:
    """Return hunts on boats without a fault; where what comes and goes is tried, their owners say that of a sign."""
    count = min(_HEALTHY_HUNTS, len(complaints.queries))
    hunts = []
    for number in range(count):
        boat = VirtualBoat(
            diagnosis.table.solver, (), Random(f"healthy {trying.seed}/{number}"), meter=diagnosis.meter
        )
        query = complaints.queries[number * len(complaints.queries) // count]
        amiss = complaints.amiss_level(query) if trying.comes_and_goes else None
        hunts.append(hunt(diagnosis, boat, query, choose, amiss=amiss))
    return hunts
