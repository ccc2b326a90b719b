"""Two troubles at once: what no single story gives, a pair of them may."""

from random import Random

import pytest

from assistant.circuit import Fault, Variant, forward_states, ready_state
from assistant.diagnosis import Diagnosis, Evidence, Lately, ReadingSeen, SignQuery, SignSeen, Unsteady
from assistant.diagnosis.explain import WHY_TWO
from assistant.diagnosis.joined import is_torn
from assistant.drill import VirtualBoat
from tests.diagnosis.boats import SMEW, diagnosis_of, light, network_of, volts

READY = ready_state(network_of(SMEW).boat)
PLUS = Fault("pack.+--fuse.in@1", "open", 0.0)
MINUS = Fault("pack.---lamp.-@2", "open", 0.0)
POINTS = (
    ("pack +", "pack -"),
    ("fuse in", "pack -"),
    ("pack +", "fuse in"),
    ("fuse out", "lamp -"),
    ("lamp -", "pack -"),
    ("pack +", "lamp -"),
)


@pytest.fixture(scope="module")
def smew() -> Diagnosis:
    return diagnosis_of(SMEW)


def answers(smew: Diagnosis, *faults: Fault) -> list[Evidence]:
    boat = VirtualBoat(smew.table.solver, faults, Random(5), meter=smew.meter)
    asked = [volts(red, black, READY) for red, black in POINTS]
    look = SignQuery(part="lamp", sign="light", state=READY)
    seen = SignSeen(query=look, levels=(boat.look(look),))
    return [seen, *(ReadingSeen(measurement=one, value=boat.read(one)) for one in asked)]


@pytest.mark.parametrize("fault", [PLUS, MINUS])
def test_answers_of_one_fault_do_not_bring_in_pairs(smew: Diagnosis, fault: Fault) -> None:
    belief = smew.belief(answers(smew, fault))
    assert belief.table is smew.table
    assert fault.part in {s.repair.place for s in smew.verdict(belief, None).suspects if s.stands}


def test_two_opens_are_a_story_once_no_single_one_gives_the_answers(smew: Diagnosis) -> None:
    seen = answers(smew, PLUS, MINUS)
    alone, belief = smew.single_belief(seen), smew.belief(seen)
    assert is_torn(alone)
    assert belief.table is not smew.table
    leading = max(range(len(belief.cells)), key=lambda cell: belief.cells[cell])
    story = belief.table.hypotheses[belief.table.cells.owner[leading]]
    assert story.beside in ((PLUS,), (MINUS,))
    assert smew.verdict(belief, None).suspects[0].repair.place in (PLUS.part, MINUS.part)


def test_the_verdict_tells_of_two_and_of_the_second_and_so_does_the_reason_of_a_step(smew: Diagnosis) -> None:
    verdict = smew.verdict(smew.belief(answers(smew, PLUS, MINUS)), None)
    assert verdict.is_of_two
    assert verdict.second is not None
    assert {verdict.suspects[0].repair.place, verdict.second[0].place} == {PLUS.part, MINUS.part}
    alone = smew.verdict(smew.belief(answers(smew, PLUS)), None)
    assert (alone.two, alone.second) == (0.0, None)


def test_once_the_first_is_mended_it_is_not_named_again_by_the_answers_that_the_second_gives(
    smew: Diagnosis,
) -> None:
    at_plus = frozenset(
        h.repairs[0] for h in smew.table.hypotheses if h.repairs and h.repairs[0].place == PLUS.part
    )
    look = answers(smew, MINUS)[:1]
    before, after = (
        smew.verdict(smew.belief(look, Lately(mended=made)), None) for made in (frozenset(), at_plus)
    )
    assert next(s for s in before.suspects if s.repair in at_plus).stands
    assert max(s.probability for s in after.suspects if s.repair in at_plus) < 0.02
    insisting = smew.belief(answers(smew, PLUS), Lately(mended=at_plus))
    assert PLUS.part in {s.repair.place for s in smew.verdict(insisting, None).suspects if s.stands}


def test_the_cells_of_pairs_hold_both_faults(smew: Diagnosis) -> None:
    cells = smew.belief(answers(smew, PLUS, MINUS)).table.cells
    both = {variant.faults for variant in cells.variants if len(variant.faults) > 1}
    assert both & {(PLUS, MINUS), (MINUS, PLUS)}
    solver = smew.table.solver
    solution = solver.solve(READY, [Variant(faults=(PLUS, MINUS)), Variant(faults=(MINUS, PLUS))])
    assert solution.phase.volts[:, 0] == pytest.approx(solution.phase.volts[:, 1], abs=1e-6)


def test_the_order_of_answers_changes_nothing(smew: Diagnosis) -> None:
    seen = answers(smew, PLUS, MINUS)
    forth, back = (smew.verdict(smew.belief(list(some)), None) for some in (seen, reversed(seen)))
    assert [s.repair for s in forth.suspects[:2]] == [s.repair for s in back.suspects[:2]]
    assert forth.suspects[0].probability == pytest.approx(back.suspects[0].probability, rel=1e-6)


def test_the_next_step_is_chosen_among_pairs(smew: Diagnosis) -> None:
    belief = smew.belief(answers(smew, PLUS, MINUS)[:-2])
    step = smew.next_step(
        belief, state=READY, last=None, refused=frozenset(), states=forward_states(smew.network.boat)
    )
    assert step is not None
    assert not smew.explain(step, belief).startswith(WHY_TWO)
    assert smew.explain(step, smew.belief(answers(smew, PLUS, MINUS))).startswith(WHY_TWO)


def test_one_slip_is_not_torn_and_what_comes_and_goes_never_is(smew: Diagnosis) -> None:
    seen = answers(smew, PLUS)
    spoiled = [*seen[:2], ReadingSeen(measurement=volts("fuse in", "pack -", READY), value=5.0), *seen[3:]]
    assert not is_torn(smew.single_belief(spoiled))
    both = answers(smew, PLUS, MINUS)
    assert not is_torn(smew.single_belief([*both, Unsteady(asked=light(READY, "dark").query)]))
