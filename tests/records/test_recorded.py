from functools import cache
from pathlib import Path

import pytest

from assistant.cli.casework import replayed
from assistant.cli.workbench import Workbench, open_workbench
from assistant.records import CaseStore, Replay, example_cases
from tests.record_examples import EXAMPLES, FOLDER, Example, record

STORE = CaseStore(FOLDER)
NAMES = STORE.names()


@cache
def bench() -> Workbench:
    return open_workbench()


@cache
def again(name: str) -> Replay:
    return replayed(STORE, name, bench())


@pytest.mark.parametrize("name", NAMES)
def test_a_recorded_case_replays_to_the_same_verdict(name: str) -> None:
    case = again(name)
    closing = case.contents.closing
    assert closing is not None
    assert (case.trouble, len(case.turns)) == ("", len(case.contents.entries))
    assert case.end is not None
    assert closing.outcome == case.end.ending
    assert closing.done == tuple(map(str, case.end.done))
    assert closing.left == tuple(str(left.repair) for left in case.end.repairs)


@pytest.mark.parametrize("example", EXAMPLES, ids=[example.boat for example in EXAMPLES])
def test_a_recorded_case_found_the_fault_it_hides(example: Example) -> None:
    case = again(f"{example.boat}-{example.now[:10]}-1")
    assert case.end is not None
    named = case.end.done if example.mend else tuple(left.repair for left in case.end.repairs)
    assert [repair.place for repair in named] == [example.fault.part]


def test_there_is_a_recorded_case_of_every_example_and_the_program_finds_them() -> None:
    assert tuple(sorted(f"{example.boat}-{example.now[:10]}-1" for example in EXAMPLES)) == NAMES
    assert example_cases() == FOLDER


def test_the_first_example_is_recorded_anew_to_the_letter(tmp_path: Path) -> None:
    example = EXAMPLES[0]
    record(example, tmp_path)
    (name,) = CaseStore(tmp_path).names()
    fresh, kept = CaseStore(tmp_path).read(name), STORE.read(name)
    if fresh.header.knowledge != kept.header.knowledge:
        pytest.skip("the knowledge has changed since: python -m tests.record_examples")
    assert CaseStore(tmp_path).data_of(name) == STORE.data_of(name)
