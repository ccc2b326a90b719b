from collections.abc import Sequence

import pytest

from assistant.circuit import BoatState, Solver, Survey, Variant, build_network, ready_state, rest_state
from assistant.cli.warmer import Guarded, Warmer
from assistant.diagnosis import Diagnosis
from tests.dialogue.boats import boat

BOAT = boat("dabchick")
READY, REST = ready_state(BOAT), rest_state(BOAT)


def test_it_prepares_what_is_wanted_and_ends_when_told(monkeypatch: pytest.MonkeyPatch) -> None:
    solved, survey = [], Solver.survey

    def noted(solver: Solver, state: BoatState, variants: Sequence[Variant], *, draws: int = 0) -> Survey:
        found = survey(solver, state, variants, draws=draws)
        solved.append(state)
        return found

    monkeypatch.setattr(Solver, "survey", noted)
    diagnosis = Diagnosis(build_network(BOAT))
    warmer = Warmer(Guarded(diagnosis))
    warmer.want((READY, REST))
    warmer.start()
    for _ in range(400):
        if {READY, REST} <= set(solved):
            break
        assert not warmer.wait(0.05)
    assert solved.index(READY) < solved.index(REST)
    warmer.close()
    assert warmer.wait(20.0)


def test_asked_while_it_computes_the_diagnosis_says_what_it_always_says() -> None:
    guarded = Guarded(Diagnosis(build_network(BOAT)))
    warmer = Warmer(guarded)
    warmer.want((REST,))
    warmer.start()
    alone = Diagnosis(build_network(BOAT))
    belief = guarded.belief(())
    step = guarded.next_step(belief, state=READY, last=None, refused=frozenset())
    assert step == alone.next_step(alone.belief(()), state=READY, last=None, refused=frozenset())
    assert step is not None
    assert guarded.explain(step, belief) == alone.explain(step, alone.belief(()))
    assert guarded.verdict(belief, step) == alone.verdict(alone.belief(()), step)
    warmer.close()
    assert warmer.wait(20.0)
