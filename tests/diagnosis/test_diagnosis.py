"""Whole hunts on the smallest boat: every fault, read without noise, ends with its repair in the verdict."""

from collections.abc import Iterator

import numpy as np
import pytest

from assistant.circuit import Measurement, MeterFunction, Variant, gap_between, through, volts_shown
from assistant.diagnosis import (
    Diagnosis,
    Evidence,
    Hypothesis,
    Outcome,
    SignQuery,
    SignSeen,
    Step,
    StepKind,
    Verdict,
)
from assistant.diagnosis.stories import faults_of
from assistant.drill.metering import with_meter
from tests.diagnosis.boats import SMEW, diagnosis_of, light, read, ready, unplugged, volts

READY, UNPLUGGED = ready(SMEW), unplugged(SMEW)
OVER_FUSE = volts("fuse in", "fuse out", READY)


@pytest.fixture(scope="module")
def smew() -> Diagnosis:
    return diagnosis_of(SMEW)


class Truth:
    """A boat with one fault that answers as the nominal circuit does."""

    def __init__(self, smew: Diagnosis, hypothesis: Hypothesis) -> None:
        solver = smew.table.solver
        severity = hypothesis.severities[len(hypothesis.severities) // 2]
        variants = [Variant(faults=faults_of(smew.network, hypothesis, severity))]
        self._smew = smew
        self._solution = solver.solve(READY, variants)
        self._hold = solver.hold(self._solution, variants, np.array([0]))
        self._faults = variants[0].faults
        self._number = smew.table.hypotheses.index(hypothesis)

    def answer(self, step: Step) -> Evidence:
        if step.measurement is not None:
            inserted = step.measurement.function.is_inserted
            return read(step.measurement, (self.amps if inserted else self.volts)(step.measurement))
        assert step.query is not None
        return self.look(step.query)

    def volts(self, measurement: Measurement) -> float:
        red, black = (np.array([self._smew.network.node(p)]) for p in (measurement.red, measurement.black))
        apart = (self._solution.phase.volts[red] - self._solution.phase.volts[black])[0]
        return float(
            volts_shown(apart, self._hold.between(red, black, np.array([0]))[0], self._smew.meter)[0]
        )

    def amps(self, measurement: Measurement) -> float:
        gap = gap_between(self._smew.network.boat, measurement.red, measurement.black)
        assert gap is not None
        solver = with_meter(self._smew.table.solver, gap.place, self._smew.meter.currents[-1].ohm)
        faults = tuple(fault for fault in self._faults if fault.part != gap.place)
        element, along = through(solver.network, gap, measurement.red)
        return along * float(solver.solve(READY, [Variant(faults=faults)]).phase.amps[element, 0])

    def look(self, query: SignQuery) -> SignSeen:
        table = self._smew.table
        cells = np.flatnonzero(table.cells.owner == self._number)
        levels = table.state(READY).levels(query)[:, cells[len(cells) // 2]].mean(axis=1)
        return SignSeen(query=query, levels=(table.level_names(query)[int(np.argmax(levels))],))


def hunt(smew: Diagnosis, truth: Truth) -> tuple[Verdict, list[Evidence]]:
    evidence: list[Evidence] = [truth.look(light(READY, "dark").query)]
    last: Measurement | None = None
    for _ in range(12):
        belief = smew.belief(evidence)
        step = smew.next_step(belief, state=READY, last=last, refused=frozenset())
        verdict = smew.verdict(belief, step)
        if step is None or verdict.outcome is not Outcome.OPEN:
            return verdict, evidence
        evidence.append(truth.answer(step))
        last = step.measurement or last
    raise AssertionError("the hunt does not end")


def stories() -> Iterator[Hypothesis]:
    """Yield each story of the boat that its lamp shows."""
    smew = diagnosis_of(SMEW)
    for hypothesis in smew.table.hypotheses:
        (level,) = Truth(smew, hypothesis).look(light(READY, "dark").query).levels
        if hypothesis.modes and level != "bright":
            yield hypothesis


@pytest.mark.parametrize(
    "hypothesis", tuple(stories()), ids=lambda h: " + ".join(f"{m.part} {m.mode}" for m in h.modes)
)
def test_every_fault_that_shows_is_found(smew: Diagnosis, hypothesis: Hypothesis) -> None:
    verdict, evidence = hunt(smew, Truth(smew, hypothesis))
    assert verdict.outcome in {Outcome.SOLE, Outcome.GROUP}
    standing = [s.repair for s in verdict.suspects if s.stands]
    assert hypothesis.repairs[0] in standing
    if verdict.outcome is Outcome.SOLE:
        assert standing == [hypothesis.repairs[0]]
    asked = [e.asked for e in evidence]
    assert len(set(asked)) == len(asked)


def test_healthy_boat_is_not_accused(smew: Diagnosis) -> None:
    verdict, _ = hunt(smew, Truth(smew, smew.table.hypotheses[0]))
    assert verdict.outcome is Outcome.HEALTHY


def test_refused_steps_are_not_offered_again(smew: Diagnosis) -> None:
    belief = smew.belief([light(READY, "dark")])
    refused: frozenset[Measurement | SignQuery] = frozenset()
    for _ in range(4):
        step = smew.next_step(belief, state=READY, last=None, refused=refused)
        assert step is not None
        what = step.measurement or step.query
        assert what is not None
        assert what not in refused
        refused |= {what}


def test_no_step_needs_a_meter_that_is_not_there() -> None:
    meterless = Diagnosis(diagnosis_of(SMEW).network, meter=type(diagnosis_of(SMEW).meter)(functions={}))
    step = meterless.next_step(meterless.belief(()), state=READY, last=None, refused=frozenset())
    assert step is not None
    assert step.kind is StepKind.LOOK


def test_unplugged_states_offer_ohms_and_only_looks_that_need_it(smew: Diagnosis) -> None:
    belief = smew.belief([light(READY, "dark")])
    refused: frozenset[Measurement | SignQuery] = frozenset()
    asked: list[Measurement | SignQuery] = []
    while step := smew.next_step(belief, state=UNPLUGGED, last=None, refused=refused, states=[UNPLUGGED]):
        what = step.measurement or step.query
        assert what is not None
        asked.append(what)
        refused |= {what}
    readings = [what for what in asked if isinstance(what, Measurement)]
    looks = [what for what in asked if isinstance(what, SignQuery)]
    assert readings
    assert {m.function for m in readings} == {MeterFunction.OHMS}
    assert all(smew.network.parts[query.part].kind.signs[query.sign].unplugged for query in looks)


def test_step_carries_what_a_healthy_boat_shows(smew: Diagnosis) -> None:
    belief = smew.belief([light(READY, "dark")])
    step = smew.next_step(belief, state=READY, last=None, refused=frozenset())
    assert step is not None
    assert step.measurement is not None
    assert step.band == smew.band(step.measurement)
    healthy = Truth(smew, smew.table.hypotheses[0])
    assert step.band is not None
    assert step.band.low <= healthy.volts(step.measurement) <= step.band.high


def test_proof_of_a_repair_tells_the_mended_boat_from_the_broken_one(smew: Diagnosis) -> None:
    belief = smew.belief((light(READY, "dark"), read(OVER_FUSE, 7.7)))
    repair = smew.verdict(belief, None).suspects[0].repair
    assert repair.place == "fuse"
    proof = smew.proof(repair, belief, state=READY)
    assert proof is not None
    assert proof.gain_bits > 0.8


def test_plausible_is_what_some_story_gives(smew: Diagnosis) -> None:
    assert smew.plausible(OVER_FUSE, 0.01)
    assert smew.plausible(OVER_FUSE, 7.6)
    assert not smew.plausible(OVER_FUSE, 24.0)
    assert not smew.plausible(OVER_FUSE, -3.0)


def test_amiss_is_what_healthy_boats_do_not_give(smew: Diagnosis) -> None:
    assert smew.is_amiss(read(OVER_FUSE, 3.0))
    assert not smew.is_amiss(read(OVER_FUSE, smew.band(OVER_FUSE).typical))
    assert smew.is_amiss(light(READY, "dark"))
    assert not smew.is_amiss(light(READY, "bright"))
    assert not smew.is_amiss(light(READY, "dark", "bright"))
