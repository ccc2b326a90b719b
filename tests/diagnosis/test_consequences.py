"""What gives way to what."""

import pytest

from assistant.circuit import Fault, Solver, Variant, make_solver
from assistant.diagnosis import Hypothesis
from assistant.diagnosis.consequences import GIVES_WAY, with_consequences
from assistant.diagnosis.hypotheses import single_faults
from assistant.diagnosis.stories import faults_of
from tests.diagnosis.boats import SMEW, network_of, ready


@pytest.fixture(scope="module")
def solver() -> Solver:
    return make_solver(network_of(SMEW))


def named(hypothesis: Hypothesis) -> tuple[str, ...]:
    return tuple(f"{m.part}: {m.mode}" for m in hypothesis.modes)


def test_shorted_lamp_blows_its_fuse_and_a_burnt_out_one_does_not(solver: Solver) -> None:
    stories = {named(h): h for h in with_consequences(solver, single_faults(solver.network))}
    followed = [modes for modes in stories if len(modes) > 1]
    assert ("lamp: short", "fuse: blown") in followed
    assert all(modes[1] == "fuse: blown" for modes in followed)
    assert not any(modes[0] in {"lamp: burnt out", "pack: flat"} for modes in followed)


def test_what_follows_draws_more_than_the_fuse_bears(solver: Solver) -> None:
    (link,) = (i for i in solver.network.elements_of("fuse") if solver.network.elements[i].name == "link")

    def amps(*faults: Fault) -> float:
        return abs(float(solver.solve(ready(SMEW), [Variant(faults=faults)]).phase.amps[link, 0]))

    for story in with_consequences(solver, single_faults(solver.network)):
        if not story.modes:
            continue
        first = story.modes[0]
        drawn = [amps(Fault(first.part, first.mode, s)) for s in story.severities]
        if len(story.modes) > 1:
            assert min(drawn) > 1.6 * 5.0
            assert [r.place for r in story.repairs] == [first.part, "fuse"]


def test_weight_is_shared_between_a_story_and_its_consequence(solver: Solver) -> None:
    single = single_faults(solver.network)
    stories = with_consequences(solver, single)
    assert sum(h.weight for h in stories) == pytest.approx(sum(h.weight for h in single))
    before = {named(h): h.weight for h in single}
    after = {named(h): h.weight for h in stories}
    cause = ("lamp: short",)
    assert after[(*cause, "fuse: blown")] == pytest.approx(GIVES_WAY * before[cause])
    assert after[cause] == pytest.approx((1.0 - GIVES_WAY) * before[cause])


def test_severity_is_that_of_the_cause(solver: Solver) -> None:
    story = next(h for h in single_faults(solver.network) if named(h) == ("fuse: clip",))
    assert faults_of(solver.network, story, 3.0) == (Fault("fuse", "clip", 3.0),)
    (healthy,) = (h for h in single_faults(solver.network) if not h.modes)
    assert faults_of(solver.network, healthy, 0.0) == ()
