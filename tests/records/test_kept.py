from dataclasses import fields
from pathlib import Path

import numpy as np
import pytest

from assistant.circuit import Fault, Phase, Solution, Solver, Variant, build_network, make_solver, ready_state
from assistant.records import Cache, kept_solver
from assistant.records.kept import KeptSolver, engine_digest
from tests.dialogue.boats import boat

GREBE = build_network(boat("grebe"))
STATE = ready_state(boat("grebe")).with_({"power": 1.0, "throttle": 1.0})
WEAK = Variant(faults=(Fault(part="pack.+--main-fuse.in@1", mode="poor", severity=3.0),))
VARIANTS = (Variant(), WEAK, Variant(faults=(Fault(part="main-fuse", mode="open"),), draw=1))


def same(one: Solution, other: Solution) -> bool:
    pairs = [(one.restless, other.restless), (one.failed, other.failed)]
    for phase in ("phase", "other"):
        names = [field.name for field in fields(Phase)]
        pairs += [(getattr(getattr(one, phase), n), getattr(getattr(other, phase), n)) for n in names]
    return all(a.dtype == b.dtype and np.array_equal(a, b, equal_nan=a.dtype == float) for a, b in pairs)


def test_what_was_kept_is_to_the_last_bit_what_solving_gives(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    bare = make_solver(GREBE).solve(STATE, VARIANTS, draws=2)
    first = kept_solver(GREBE, Cache(tmp_path), "k")
    assert same(first.solve(STATE, VARIANTS, draws=2), bare)

    def never(*_: object, **__: object) -> None:
        raise AssertionError("solved again")

    states = (STATE, ready_state(boat("grebe")))
    each = make_solver(GREBE).solve_each(states, VARIANTS[:2], draws=1)
    kept = first.solve_each(states, VARIANTS[:2], draws=1)
    monkeypatch.setattr(Solver, "solve", never)
    monkeypatch.setattr(Solver, "solve_each", never)
    again = kept_solver(GREBE, Cache(tmp_path), "k")
    assert same(again.solve(STATE, VARIANTS, draws=2), bare)
    for one in (kept, again.solve_each(states, VARIANTS[:2], draws=1)):
        assert all(map(same, one, each))
        assert tuple(solution.state for solution in one) == states
    with pytest.raises(AssertionError, match="solved again"):
        again.solve(STATE, VARIANTS[:2], draws=2)
    with pytest.raises(AssertionError, match="solved again"):
        kept_solver(GREBE, Cache(tmp_path), "other knowledge").solve(STATE, VARIANTS, draws=2)


def test_a_file_of_the_right_key_and_the_wrong_content_is_solved_anew(tmp_path: Path) -> None:
    solver = kept_solver(GREBE, Cache(tmp_path), "k")
    bare = solver.solve(STATE, VARIANTS, draws=2)
    assert isinstance(solver, KeptSolver)
    cache = solver.cache
    key = f"solve {STATE.pairs} 2 {solver._name(VARIANTS)}"
    assert cache.get(key) is not None
    cache.put(key, {"failed": np.zeros(3, dtype=np.bool_)})
    assert same(solver.solve(STATE, VARIANTS, draws=2), bare)


def test_the_digest_of_the_engine_is_one_of_its_code() -> None:
    assert engine_digest() == engine_digest()
    assert len(engine_digest()) == 64


def test_a_survey_that_was_kept_shows_what_the_first_did(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    variants = (*VARIANTS, Variant(faults=(Fault(part="main-fuse", mode="open"),)))
    first = kept_solver(GREBE, Cache(tmp_path), "k").survey(STATE, variants, draws=2)

    def never(*_: object, **__: object) -> None:
        raise AssertionError("solved again")

    monkeypatch.setattr(Solver, "survey", never)
    again = kept_solver(GREBE, Cache(tmp_path), "k").survey(STATE, variants, draws=2)
    nodes, columns = np.arange(len(GREBE.nodes)), np.arange(len(variants))
    for one, other in ((first.phase, again.phase), (first.other, again.other)):
        assert np.array_equal(one.volts_at(nodes, columns), other.volts_at(nodes, columns))
        assert all(np.array_equal(one.amps_of(n), other.amps_of(n)) for n in range(len(GREBE.elements)))
    assert np.array_equal(first.failed, again.failed)
    with pytest.raises(AssertionError, match="solved again"):
        kept_solver(GREBE, Cache(tmp_path), "k").survey(STATE, variants[:3], draws=2)
