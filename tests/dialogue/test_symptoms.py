"""The worked examples of the symptoms that come with the program, executed."""

from collections.abc import Iterable, Iterator
from functools import cache
from random import Random

import pytest

from assistant.circuit import Fault, Solver, build_network, make_solver
from assistant.diagnosis import Diagnosis, SignQuery
from assistant.diagnosis.hypotheses import severity_grid
from assistant.dialogue import Ask, Conclude, Example, Setup, Want, start, state_of, step
from assistant.dialogue.graph import Base
from assistant.dialogue.roles import in_group
from assistant.dialogue.walk import ALL_OF_THEM
from assistant.drill import VirtualBoat
from tests.dialogue.boats import boat, healthy_answer, knowledge, name_of, setup_for
from tests.support.workbench import shared_workbench

MOST_ANSWERS = 60
MOST_SEEDS = 5
PLAYED = [(symptom.id, example) for symptom in knowledge().symptoms.values() for example in symptom.examples]
FOLLOWED, HIDDEN = (
    [
        pytest.param(name, example, id=f"{name}:{example.mark.line}")
        for name, example in PLAYED
        if bool(example.fault) is hides
    ]
    for hides in (False, True)
)


@pytest.mark.parametrize(("symptom", "example"), FOLLOWED)
def test_given_answers_lead_along_the_path(symptom: str, example: Example) -> None:
    setup = setup_for(example.boat)
    state, _ = start(setup, symptom)
    for _ in range(MOST_ANSWERS):
        if state.pending is None or state.path[: len(example.path)] == example.path:
            break
        ask = state.pending
        state, _ = step(setup, state, example.answers.get(name_of(ask), healthy_answer(ask)))
    assert state.path[: len(example.path)] == example.path


@cache
def solver_of(name: str) -> Solver:
    return shared_workbench().solver(build_network(boat(name)))


@cache
def plain_solver(name: str) -> Solver:
    """Return a solver for single boats, which are not worth keeping."""
    return make_solver(build_network(boat(name)))


@cache
def real(name: str) -> Setup:
    solver = solver_of(name)
    return Setup(boat=boat(name), knowledge=knowledge(), diagnosis=Diagnosis(solver.network, solver=solver))


def faults_of(name: str, words: str) -> Iterator[tuple[Fault, ...]]:
    """Yield the faults that ``part mode [severity] + …`` names, the first from its worst severity down."""
    first, *others = [_severities(name, text) for text in words.split(" + ")]
    for fault in first:
        yield (fault, *(one[0] for one in others))


def _severities(name: str, words: str) -> list[Fault]:
    part = max((one for one in boat(name).parts if words.startswith(f"{one} ")), key=len)
    mode = words.removeprefix(f"{part} ")
    faults = boat(name).parts[part].kind.faults
    if mode in faults:
        return [Fault(part, mode, severity) for severity in severity_grid(faults[mode].severity)[::-1]]
    mode, _, severity = mode.rpartition(" ")
    return [Fault(part, mode, float(severity))]


def played(example: Example, symptom: str) -> Conclude:
    """Play a case with a hidden fault; examples that differ only in what they expect are one case."""
    return _played(symptom, example.boat, example.fault, tuple(example.answers.items()))


@cache
def _played(symptom: str, name: str, fault: str, answers: tuple[tuple[str, str], ...]) -> Conclude:
    """Play with the meter's errors on, answer what the boat does not show, and note the finding for the bench."""
    setup, given = real(name), dict(answers)
    hidden = ill(setup, symptom, faults_of(name, fault))
    state, events = start(setup, symptom)
    for _ in range(MOST_ANSWERS):
        if state.pending is None:
            (end,) = [event for event in events if isinstance(event, Conclude)]
            return end
        ask = state.pending
        state, events = step(setup, state, given.get(name_of(ask)) or answer(hidden, ask))
    raise AssertionError(f"no end after {MOST_ANSWERS} answers")


def troubles(setup: Setup, symptom: str) -> list[SignQuery]:
    """Return what there is to see of a symptom: the sign of the part in focus, in every live state of the graph."""
    graph = setup.knowledge.symptoms[symptom]
    roles = {role.name: in_group(setup.boat, role.group) for role in graph.roles.values()}
    live = [spec for spec in graph.states.values() if spec.base is not Base.REST]
    sign = graph.roles[graph.focus].shows
    parts = [part for part in setup.boat.parts if sign in setup.boat.parts[part].kind.signs]
    states = [state_of(setup.boat, spec, roles) for spec in live]
    return [SignQuery(part=part, sign=sign, state=state) for part in parts for state in states]


def is_ill(one: VirtualBoat, well: VirtualBoat, queries: list[SignQuery]) -> bool:
    return any(one.look(query) != well.look(query) for query in queries)


def ill(setup: Setup, symptom: str, faults: Iterable[tuple[Fault, ...]]) -> VirtualBoat:
    """Return a boat that shows what a healthy one does not, on the part in focus, or the first when none does."""
    solver, queries = plain_solver(setup.boat.id), troubles(setup, symptom)
    well = VirtualBoat(solver, (), Random(0))
    boats = [VirtualBoat(solver, some, Random(seed)) for some in faults for seed in range(MOST_SEEDS)]
    return next((one for one in boats if is_ill(one, well, queries)), boats[0])


def answer(hidden: VirtualBoat, ask: Ask) -> str:
    if ask.measurement is not None:
        value = hidden.read(ask.measurement)
        return "OL" if value == float("inf") else f"{value:.6f}"
    if ask.query is not None:
        return hidden.look(ask.query)
    keys = [option.key for option in ask.options]
    if ask.want is Want.CHOICE and "bench" in keys:
        return "bench"
    faulty = [fault.part for fault in hidden.faults if fault.part in keys]
    if faulty or ALL_OF_THEM in keys:
        return (faulty or keys)[0]
    if ask.want is Want.CHOICE and ask.default is None:
        return "don't know"
    return ask.default if ask.default is not None else "yes"


@pytest.mark.parametrize(("symptom", "example"), HIDDEN)
def test_a_hidden_fault_is_found_or_the_innocent_left_alone(symptom: str, example: Example) -> None:
    end = played(example, symptom)
    places = [left.repair.place for left in end.repairs]
    if example.counter:
        assert places[:1] != [example.place]
    else:
        assert example.place in places


@pytest.mark.parametrize("symptom", [graph.id for graph in knowledge().symptoms.values()])
def test_some_example_of_each_symptom_shows_it(symptom: str) -> None:
    """Unplugged signs and packs show nothing of their own; there the path of the example stands for it."""
    graph = knowledge().symptoms[symptom]
    found = [one for one in graph.examples if one.fault and not one.counter]
    assert found
    first = found[0]
    setup = real(first.boat)
    queries = [
        q for q in troubles(setup, symptom) if not setup.boat.parts[q.part].kind.signs[q.sign].unplugged
    ]
    if not queries:
        return
    sick = ill(setup, symptom, faults_of(first.boat, first.fault))
    well = VirtualBoat(plain_solver(setup.boat.id), (), Random(1))
    # What shows by chance is drawn anew at each look.
    assert any(is_ill(sick, well, queries) for _ in range(MOST_SEEDS))
