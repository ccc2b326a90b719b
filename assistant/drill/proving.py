"""Breaking a boat in every way on the computer, and measuring how well the diagnosis finds it.

Each single fault that shows is put, at a severity of its own, into a virtual boat with tolerances of its own; the hunt
begins with the sign a person would complain about.  A chance-free order of seeds makes a run repeatable.
"""

from __future__ import annotations

from collections.abc import Callable, Iterator, Sequence
from dataclasses import dataclass
from random import Random
from statistics import median

import numpy as np

from assistant.catalogue import Look
from assistant.circuit import BoatState, Fault, Measurement, ready_state
from assistant.diagnosis import Belief, Diagnosis, Hypothesis, Outcome, SignQuery, Step
from assistant.diagnosis.bounds import huffman_bound
from assistant.diagnosis.candidates import looks
from assistant.diagnosis.choose import duel_field
from assistant.diagnosis.stories import faults_of
from assistant.diagnosis.verdict import suspects_of
from assistant.drill.halving import halving_chooser
from assistant.drill.hunting import Chooser, Hunt, Slip, chooser_of, hunt
from assistant.drill.virtual import VirtualBoat
from assistant.wiring import Boat, SettingSort, settings_of

_SHOWS = 0.6
_HEALTHY_HUNTS = 60
_MOST_OUTCOMES = 12
_TOLD_APART = 0.5


@dataclass(frozen=True, slots=True, kw_only=True)
class Trial:
    """One fault to be found: its story, its faults, the sign that it shows by, and its prior weight."""

    number: int
    hypothesis: Hypothesis
    faults: tuple[Fault, ...]
    complaint: SignQuery
    weight: float


@dataclass(frozen=True, slots=True, kw_only=True)
class Result:
    """A trial and how its hunt went."""

    trial: Trial
    hunt: Hunt
    halving: Hunt | None

    @property
    def found(self) -> bool:
        """Tell whether the right repair is in the verdict."""
        return self.hunt.accuses and self.trial.hypothesis.repairs[0] in self.hunt.named

    @property
    def alone(self) -> bool:
        """Tell whether the right repair is the only one in the verdict."""
        return self.found and len(self.hunt.named) == 1


@dataclass(frozen=True, slots=True, kw_only=True)
class Report:
    """Figures of a boat.

    Means are weighted by prior; shares are of the number of faults.  `separable` counts the faults that end alone
    or whose rivals in the verdict some step on offer would have told apart; `sole` is the share of these that end
    alone.  `lower_bound` is the Huffman bound on mean steps over what the complaints leave.
    """

    boat: str
    faults: int
    found: float
    found_weighted: float
    sole: float
    separable: int
    mean_readings: float
    mean_looks: float
    worst_readings: int
    mean_seconds: float
    half_split_mean_readings: float | None
    lower_bound: float
    false_accusations: int
    healthy_hunts: int
    unknown: int
    step_ms: float


def working_day(boat: Boat) -> tuple[BoatState, ...]:
    """Return the states a hunt may use: everything on, and one stick or lever after the other fully forward."""
    controls = [s for s in settings_of(boat) if s.sort is SettingSort.CONTROL]
    on = ready_state(boat).with_({s.id: s.high for s in controls if s.steps})
    return (on, *(on.with_({s.id: s.high}) for s in controls if not s.steps))


def complaints(diagnosis: Diagnosis, states: Sequence[BoatState]) -> tuple[SignQuery, ...]:
    """Return the signs a person would come with: what can be seen or heard while the boat is used."""
    boat = diagnosis.network.boat
    return tuple(
        query
        for state in states
        for query in looks(boat, state)
        if boat.parts[query.part].kind.signs[query.sign].look in (Look.SEE, Look.HEAR)
        and boat.parts[query.part].kind.group in ("motor", "servo", "light", "radio", "relay", "instrument")
    )


def trials(diagnosis: Diagnosis, states: Sequence[BoatState]) -> Iterator[Trial]:
    """Yield a trial for every single fault that shows by a complaint, at one of the severities at which it does."""
    table = diagnosis.table
    queries = complaints(diagnosis, states)
    chances = [table.state(q.state).levels(q).mean(axis=2) for q in queries]
    healthy = [c[:, 0].argmax() for c in chances]
    for number, hypothesis in enumerate(table.hypotheses):
        if not hypothesis.modes:
            continue
        cells = np.flatnonzero(table.cells.owner == number)
        shown = [
            (cell, q)
            for cell in cells
            for q in [_shows(queries, chances, healthy, int(cell))]
            if q is not None
        ]
        if not shown:
            continue
        random = Random(number)
        cell, query = random.choice(shown)
        severity = _beside(diagnosis, hypothesis, hypothesis.severities[int(cell - cells[0])], random)
        yield Trial(
            number=number,
            hypothesis=hypothesis,
            faults=faults_of(diagnosis.network, hypothesis, severity),
            complaint=query,
            weight=hypothesis.weight * len(shown) / len(cells),
        )


def _shows(
    queries: Sequence[SignQuery], chances: Sequence[np.ndarray], healthy: Sequence[np.intp], cell: int
) -> SignQuery | None:
    for query, chance, well in zip(queries, chances, healthy, strict=True):
        if chance[:, cell].argmax() != well and chance[:, cell].max() >= _SHOWS:
            return query
    return None


def _beside(diagnosis: Diagnosis, hypothesis: Hypothesis, severity: float, random: Random) -> float:
    """Return a severity near a step of the grid, off it, so that the grid is not tried on itself."""
    mode = hypothesis.modes[0]
    spec = diagnosis.network.parts[mode.part].kind.faults[mode.mode].severity
    if spec is None:
        return severity
    if spec.log:
        beside: float = severity * 10.0 ** random.uniform(-0.2, 0.2)
        return min(max(beside, spec.low), spec.high)
    near = 0.15 * (spec.high - spec.low)
    return min(max(severity + random.uniform(-near, near), spec.low), spec.high)


def prove(
    diagnosis: Diagnosis,
    *,
    seed: int,
    clock: Callable[[], float],
    misread: bool = False,
    halving: bool = True,
    most: int | None = None,
    progress: Callable[[int, int], None] | None = None,
) -> tuple[Report, tuple[Result, ...]]:
    """Break the boat in every way that shows and hunt each fault.

    Parameters
    ----------
    seed : fixes tolerances, meter errors and slips.
    clock : gives seconds, for the time a step takes.
    misread : one reading of each hunt is taken wrong.
    halving : whether to hunt the same faults by halving the number of suspects too.
    most : at most so many faults, evenly spread over all.
    progress : told how many hunts are done, of how many.
    """
    states = working_day(diagnosis.network.boat)
    diagnosis.prepare(states)
    every = list(trials(diagnosis, states))
    if most is not None and most < len(every):
        every = [every[i * len(every) // most] for i in range(most)]
    timed = _Timed(chooser_of(diagnosis, states), clock)
    half = halving_chooser(diagnosis, states) if halving else None
    results = []
    for done, trial in enumerate(every):
        results.append(_try(diagnosis, trial, timed, half, seed, misread=misread))
        if progress is not None:
            progress(done + 1, len(every))
    well = _healthy_hunts(diagnosis, states, timed, seed)
    return _report(diagnosis, results, well, states, timed.step_ms()), tuple(results)


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
    diagnosis: Diagnosis, trial: Trial, choose: Chooser, half: Chooser | None, seed: int, *, misread: bool
) -> Result:
    def boat() -> VirtualBoat:
        return VirtualBoat(diagnosis.table.solver, trial.faults, Random(f"{seed}/{trial.number}"))

    random = Random(f"slip {seed}/{trial.number}")
    slip = Slip(at=random.randrange(3), random=random) if misread else None
    return Result(
        trial=trial,
        hunt=hunt(diagnosis, boat(), trial.complaint, choose, slip=slip),
        halving=hunt(diagnosis, boat(), trial.complaint, half) if half is not None else None,
    )


def _healthy_hunts(
    diagnosis: Diagnosis, states: Sequence[BoatState], choose: Chooser, seed: int
) -> list[Hunt]:
    queries = complaints(diagnosis, states)
    hunts = []
    for number in range(min(_HEALTHY_HUNTS, len(queries))):
        boat = VirtualBoat(diagnosis.table.solver, (), Random(f"healthy {seed}/{number}"))
        hunts.append(hunt(diagnosis, boat, queries[number * len(queries) // _HEALTHY_HUNTS], choose))
    return hunts


def _report(
    diagnosis: Diagnosis,
    results: Sequence[Result],
    healthy: Sequence[Hunt],
    states: Sequence[BoatState],
    step_ms: float,
) -> Report:
    weights = np.array([r.trial.weight for r in results])
    weights = weights / weights.sum()

    def mean(values: Sequence[float]) -> float:
        return float(weights @ np.array(values, dtype=np.float64))

    halved = [r.halving.readings for r in results if r.halving is not None]
    separable = [r for r in results if r.alone or is_separable(diagnosis, r, states)]
    return Report(
        boat=diagnosis.network.boat.name,
        faults=len(results),
        found=float(np.mean([r.found for r in results])),
        found_weighted=mean([float(r.found) for r in results]),
        sole=float(np.mean([r.alone for r in separable])) if separable else 0.0,
        separable=len(separable),
        mean_readings=mean([r.hunt.readings for r in results]),
        mean_looks=mean([r.hunt.looks for r in results]),
        worst_readings=max(r.hunt.readings for r in results),
        mean_seconds=mean([r.hunt.seconds for r in results]),
        half_split_mean_readings=mean(halved) if halved else None,
        lower_bound=mean([_bound(diagnosis, r) for r in results]),
        false_accusations=sum(h.accuses for h in healthy),
        healthy_hunts=len(healthy),
        unknown=sum(r.hunt.verdict.outcome is Outcome.UNKNOWN for r in results),
        step_ms=step_ms,
    )


def is_separable(diagnosis: Diagnosis, result: Result, states: Sequence[BoatState]) -> bool:
    """Tell whether for each rival of the right repair in the verdict some step tells the two stories apart."""
    table = diagnosis.table
    belief = diagnosis.belief(result.hunt.evidence)
    truth = result.trial.hypothesis.repairs[0]
    rivals = [repair for repair in result.hunt.named if repair != truth]
    offers = diagnosis.offers(states)
    fields = [duel_field(table, belief, truth, rival) for rival in rivals]
    return all(max(o.gain_bits for o in offers.all(f, states[0], None)) >= _TOLD_APART for f in fields)


def _bound(diagnosis: Diagnosis, result: Result) -> float:
    """Return the Huffman bound on steps over the repairs that the complaint leaves."""
    belief = diagnosis.belief(result.hunt.evidence[:1])
    masses = [s.probability for s in suspects_of(diagnosis.table, belief) if s.probability > 0.0]
    return huffman_bound(masses, _MOST_OUTCOMES)
