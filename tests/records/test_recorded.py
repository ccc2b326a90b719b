from pathlib import Path

import pytest

from assistant.records import CaseStore, example_boats, example_cases
from tests.record_examples import EXAMPLES, FOLDER, Example, record
from tests.records.examples import DABCHICK, NAMES, STORE, again, bench


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
    assert {example.boat for example in EXAMPLES} == set(example_boats())


def test_the_cases_were_recorded_with_the_knowledge_as_it_is() -> None:
    """Record them anew with ``python -m tests.record_examples``."""
    assert {STORE.read(name).header.knowledge for name in NAMES} == {bench().digest}


def test_an_example_recorded_twice_is_the_same_to_the_letter(tmp_path: Path) -> None:
    stores = [CaseStore(tmp_path / "one"), CaseStore(tmp_path / "two")]
    for store in stores:
        record(EXAMPLES[0], store.folder)
    assert [store.names() for store in stores] == [(DABCHICK,), (DABCHICK,)]
    assert stores[0].data_of(DABCHICK) == stores[1].data_of(DABCHICK)
    fresh, kept = (store.read(DABCHICK).entries for store in (stores[0], STORE))
    assert [entry["ask"] for entry in fresh] == [entry["ask"] for entry in kept]
