import pytest

from assistant.cli.workbench import open_workbench
from assistant.dialogue import Conclude
from assistant.records import CaseStore
from assistant.session import Session
from assistant.wiring import load_boat
from tests.record_examples import EXAMPLES, FOLDER

STORE = CaseStore(FOLDER)


@pytest.mark.parametrize("name", STORE.names())
def test_recorded_case_replays_to_the_same_verdict(name: str) -> None:
    case = STORE.read(name)
    header, closing = case.header, case.closing
    assert closing is not None
    bench = open_workbench()
    boat = load_boat(header.wiring, header.file, bench.catalogue)
    session = Session(bench.setup(boat, header.meter), header.symptom, case.entries)
    end = session.events[-1]
    assert isinstance(end, Conclude)
    assert closing.outcome == str(end.ending)
    assert closing.text.split("; ")[0] == str(end.done[0])


def test_there_is_a_recorded_case_of_every_example() -> None:
    assert len(STORE.names()) == len(EXAMPLES) == 2
