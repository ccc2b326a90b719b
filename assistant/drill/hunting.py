"""One hunt on a virtual boat: the diagnosis asks, the boat answers, until nothing more is worth asking."""

from __future__ import annotations

from collections.abc import Callable, Sequence
from dataclasses import dataclass
from random import Random

from assistant.circuit import BoatState, Measurement, MeterFunction
from assistant.diagnosis import (
    NOTHING_LATELY,
    AtHand,
    Belief,
    Diagnosis,
    Evidence,
    Lately,
    Outcome,
    ReadingSeen,
    RepairId,
    SignQuery,
    SignSeen,
    Step,
    Unsteady,
    Verdict,
    Wiggled,
)
from assistant.drill.virtual import VirtualBoat

MOST_STEPS = 40

Chooser = Callable[[Belief, BoatState, Measurement | None], Step | None]


@dataclass(frozen=True, slots=True, kw_only=True)
class Hunt:
    """How a hunt went.

    Attributes
    ----------
    verdict : where it ended.
    readings, looks, wiggles : how many of each were taken after the complaint.
    seconds : what they cost.
    evidence : all answers, the complaint first.
    """

    verdict: Verdict
    readings: int
    looks: int
    wiggles: int
    seconds: float
    evidence: tuple[Evidence, ...]

    @property
    def named(self) -> tuple[RepairId, ...]:
        """Return the repairs that the verdict leaves standing."""
        return tuple(s.repair for s in self.verdict.suspects if s.stands)

    @property
    def accuses(self) -> bool:
        """Tell whether the verdict holds that something is wrong."""
        return self.verdict.outcome in (Outcome.SOLE, Outcome.GROUP)


@dataclass(slots=True, kw_only=True)
class Slip:
    """A slip of the person: the reading, or place moved, of this number (from 0) is taken wrong."""

    at: int
    random: Random

    def spoil(self, measurement: Measurement, value: float, highest_v: float) -> float:
        """Return what is typed instead: another polarity, nothing at all, or some other value."""
        if measurement.function in (MeterFunction.OHMS, MeterFunction.CONTINUITY):
            return 0.0 if value > 1.0 else 1000.0
        return self.random.choice([-value, 0.0, self.random.uniform(0.0, highest_v)])


def chooser_of(
    diagnosis: Diagnosis, states: Sequence[BoatState], at_hand: frozenset[AtHand] | None = None
) -> Chooser:
    """Return the diagnosis' own choice of the next step; `at_hand` is what there is to try with."""

    def choose(belief: Belief, state: BoatState, last: Measurement | None) -> Step | None:
        return diagnosis.next_step(
            belief, state=state, last=last, refused=frozenset(), states=states, at_hand=at_hand
        )

    return choose


def hunt(
    diagnosis: Diagnosis,
    boat: VirtualBoat,
    complaint: SignQuery,
    choose: Chooser,
    *,
    slip: Slip | None = None,
    amiss: str | None = None,
    lately: Lately = NOTHING_LATELY,
) -> Hunt:
    """Return how a hunt goes that begins with a complaint about one sign.

    Parameters
    ----------
    amiss : what the sign shows at times, where the complaint is that it comes and goes; time passes between the steps
        then.  None where it stays.
    lately : what happened to the boat just before, as in a dialogue: what was mended in it.
    """
    evidence: list[Evidence] = [SignSeen(query=complaint, levels=(amiss or boat.look(complaint),))]
    if amiss is not None:
        evidence.append(Unsteady(asked=complaint))
    state, last = complaint.state, None
    readings = looks = wiggles = 0
    seconds = 0.0
    belief = diagnosis.belief(evidence, lately)
    step = choose(belief, state, last)
    while step is not None and readings + looks + wiggles < MOST_STEPS:
        seconds += step.seconds
        if amiss is not None:
            boat.let_time_pass()
        slipping = slip if slip is not None and slip.at == readings + wiggles else None
        if step.measurement is not None:
            value = boat.read(step.measurement)
            if slipping is not None:
                value = slipping.spoil(step.measurement, value, diagnosis.table.highest_v)
            evidence.append(ReadingSeen(measurement=step.measurement, value=value))
            last = step.measurement
            state = last.state
            readings += 1
        elif step.query is not None:
            evidence.append(SignSeen(query=step.query, levels=(boat.look(step.query),)))
            state = step.query.state
            looks += 1
        elif step.wiggle is not None:
            changed = boat.wiggle(step.wiggle)
            evidence.append(Wiggled(asked=step.wiggle, changed=changed is (slipping is None)))
            watched = step.wiggle.watched
            state, last = watched.state, watched if isinstance(watched, Measurement) else last
            wiggles += 1
        belief = diagnosis.belief(evidence, lately)
        step = choose(belief, state, last)
    return Hunt(
        verdict=diagnosis.verdict(belief, step),
        readings=readings,
        looks=looks,
        wiggles=wiggles,
        seconds=seconds,
        evidence=tuple(evidence),
    )
