"""The recorded example cases, replayed once for all tests, and changed ones made of them."""

from collections.abc import Sequence
from dataclasses import replace
from functools import cache
from pathlib import Path

from assistant.cli.casework import replayed
from assistant.cli.workbench import Workbench, choose_boat, read_boat
from assistant.dialogue import Setup
from assistant.records import CaseStore, Contents, Remark, Replay, Sheet, replay, sheet_of
from assistant.session import Session
from assistant.wiring import Boat, load_boat
from tests.record_examples import FOLDER
from tests.support.workbench import shared_workbench

STORE = CaseStore(FOLDER)
NAMES = STORE.names()
DABCHICK, GREBE = "dabchick-2025-06-14-1", "grebe-2025-06-14-1"
AT = "2025-06-20T18:00:00+02:00"


@cache
def bench() -> Workbench:
    return shared_workbench()


@cache
def again(name: str) -> Replay:
    return replayed(STORE, name, bench())


@cache
def sheet(name: str) -> Sheet:
    return sheet_of(name, again(name), knowledge=bench().digest)


@cache
def boat(name: str) -> Boat:
    found = choose_boat(name, Path("/nowhere"))
    return load_boat(read_boat(found), found.place, bench().catalogue)


def dabchick_setup() -> Setup:
    """Return what the dabchick's case ran on, its fault table made already."""
    return again(DABCHICK).setup


def dabchick_case(answers: Sequence[str] | None = None, remarks: Sequence[Remark] = ()) -> Contents:
    """Return the dabchick's case with other answers typed, or with remarks."""
    contents = STORE.read(DABCHICK)
    if answers is None:
        return replace(contents, remarks=tuple(remarks))
    session = Session(dabchick_setup(), contents.header.symptom)
    for answer in answers:
        session.answer(answer, AT)
    return replace(contents, entries=session.entries, closing=None, remarks=tuple(remarks))


def dabchick_sheet(answers: Sequence[str] | None = None, remarks: Sequence[Remark] = ()) -> Sheet:
    """Return the sheet of such a case."""
    case = replay(dabchick_case(answers, remarks), dabchick_setup())
    return sheet_of("changed", case, knowledge=bench().digest)


def answers_until(ask: str) -> list[str]:
    """Return the recorded answers of the dabchick's case before the question of this name."""
    found: list[str] = []
    for entry in STORE.read(DABCHICK).entries:
        if str(entry["ask"]).partition(".")[2] == ask:
            return found
        found.append(str(entry["answer"]))
    raise AssertionError(f"no question {ask} in the example")
