"""Every class of error that the program raises, met in earnest, and what a person gets to read of it."""

import contextlib
import io
from collections.abc import Callable, Mapping, Sequence
from dataclasses import replace
from pathlib import Path
from unittest import mock

import numpy as np
import pytest

from assistant.catalogue import load_catalogue
from assistant.circuit import BoatState, Solution, Solver, Variant, build_network
from assistant.cli.play import reporting
from assistant.dialogue import start, step
from assistant.documents import parse_document
from assistant.errors import (
    AnswerError,
    CaseError,
    CircuitError,
    ConvergenceError,
    DocumentError,
    KnowledgeError,
    LeadlineError,
    MisuseError,
    QuantityError,
    WiringError,
)
from assistant.plan.cases import Plan
from assistant.quantities import Unit, parse_quantity
from assistant.records import CaseStore
from assistant.wiring import Point, load_boat
from tests.dialogue.boats import PUMPS, boat, catalogue, setup_for
from tests.errors.test_errors import every_class


def _no_steady_state() -> None:
    solve = Solver.solve

    def unsettled(solver: Solver, state: BoatState, variants: Sequence[Variant]) -> Solution:
        found = solve(solver, state, variants)
        return replace(found, failed=np.ones_like(found.failed))

    with mock.patch.object(Solver, "solve", unsettled):
        Plan(boat("dabchick")).full  # noqa: B018 - reading it solves


def _out_of_turn() -> None:
    setup = setup_for("dabchick")
    state, _ = start(setup, PUMPS)
    while state.pending is not None:
        state, _ = step(setup, state, "no")
    step(setup, state, "yes")


MET: Mapping[type[LeadlineError], tuple[Callable[[], object], str]] = {
    QuantityError: (lambda: parse_quantity("11 A", Unit.VOLT), '"11 A": '),
    AnswerError: (
        lambda: start(setup_for("dabchick"), "sails-torn"),
        '"sails-torn": no such symptom; choose one of',
    ),
    CaseError: (lambda: CaseStore(Path("/nowhere")).read("x"), "there is no such case"),
    CircuitError: (
        lambda: build_network(boat("dabchick")).node(Point(part="mast", terminal="+")),
        '"mast.+": the boat has no such point',
    ),
    ConvergenceError: (_no_steady_state, '"Dabchick": no steady state was found with'),
    DocumentError: (lambda: parse_document("a: 1\na: 2\n", "boat.yaml"), "boat.yaml:2:1  [duplicate-key]"),
    KnowledgeError: (lambda: load_catalogue({"parts/x.yaml": "kind: x\n"}), "parts/x.yaml:1:1"),
    WiringError: (
        lambda: load_boat("boat: B\nparts: {pack: {kind: nimh pak}}\nruns: []\n", "b.yaml", catalogue()),
        "b.yaml:2:",
    ),
    MisuseError: (_out_of_turn, '"yes": nothing is asked; start a dialogue first'),
}


@pytest.mark.parametrize("kind", MET, ids=lambda kind: kind.__name__)
def test_what_a_person_reads(kind: type[LeadlineError]) -> None:
    meet, words = MET[kind]
    with pytest.raises(kind):
        meet()
    said = io.StringIO()

    def command() -> int:
        meet()
        return 0

    with contextlib.redirect_stderr(said):
        assert reporting(command) == 2
    assert said.getvalue().startswith(words) or words in said.getvalue()
    assert "Traceback" not in said.getvalue()


def test_no_class_is_left_out() -> None:
    own = [kind for kind in every_class() if kind.__module__ == LeadlineError.__module__]
    leaves = {kind for kind in own if not kind.__subclasses__()}
    assert leaves | {CircuitError} == set(MET)
