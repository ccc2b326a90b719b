import os
import subprocess
import sys
from dataclasses import replace
from pathlib import Path

import pytest

from assistant.errors import CaseError
from assistant.records import CaseStore, Closing, Header, default_folder

BEGINNER = """
import sys
from pathlib import Path
from assistant.records import CaseStore, Header
head = Header(engine="", knowledge="", boat="Teal", file="", wiring="", symptom="", started="2025-06-14")
for _ in range(20):
    name, journal = CaseStore(Path(sys.argv[1])).begin(head)
    journal.append({"by": sys.argv[2]})
    journal.close()
    print(name)
"""


def test_cases_are_named_after_boat_day_and_number(tmp_path: Path, header: Header) -> None:
    store = CaseStore(tmp_path / "new" / "folder")
    names = []
    for boat in ("Dabchick", "Dabchick", "Große Möwe/../x", "鴨"):
        name, journal = store.begin(replace(header, boat=boat))
        journal.close()
        names.append(name)
    assert names == [
        "dabchick-2025-06-14-1",
        "dabchick-2025-06-14-2",
        "grosse-m-we-x-2025-06-14-1",
        "boat-2025-06-14-1",
    ]
    assert store.names() == tuple(sorted(names))
    assert {entry.name for entry in store.folder.iterdir()} == {f"{name}.case.jsonl" for name in names}


def test_two_programs_on_one_folder_lose_nothing(tmp_path: Path) -> None:
    runs = [
        subprocess.Popen([sys.executable, "-c", BEGINNER, tmp_path, who], stdout=subprocess.PIPE, text=True)
        for who in "ab"
    ]
    begun = [run.communicate()[0].split() for run in runs]
    store = CaseStore(tmp_path)
    assert sorted(begun[0] + begun[1]) == list(store.names())
    assert len(store.names()) == 40
    assert [store.read(name).entries[0]["by"] for name in begun[0]] == ["a"] * 20
    assert [store.read(name).entries[0]["by"] for name in begun[1]] == ["b"] * 20


def test_summaries_put_the_last_worked_on_first_and_the_damaged_last(tmp_path: Path, header: Header) -> None:
    store = CaseStore(tmp_path)
    for boat, at in (("Heron", "2025-06-15"), ("Coot", "2025-06-17"), ("Teal", "2025-06-16")):
        _, journal = store.begin(replace(header, boat=boat))
        with journal:
            journal.append({"at": at})
            if boat == "Teal":
                journal.finish(Closing(outcome="sole", text="replace fuse", at="2025-06-18"))
    (tmp_path / "broken.case.jsonl").write_text("{}\n{}\n")
    (tmp_path / "readme.txt").write_text("no case")
    found = store.summaries()
    assert [(case.name.split("-")[0], case.is_open) for case in found] == [
        ("teal", False),
        ("coot", True),
        ("heron", True),
        ("broken", False),
    ]
    assert "broken.case.jsonl, line 1" in found[-1].trouble


def test_a_case_is_found_by_name_beginning_or_part(tmp_path: Path, header: Header) -> None:
    store = CaseStore(tmp_path)
    for boat in ("Heron", "Heronry", "Coot"):
        store.begin(replace(header, boat=boat))[1].close()
    assert store.name_of(" Coot") == "coot-2025-06-14-1"
    assert store.name_of("heronry") == "heronry-2025-06-14-1"
    with pytest.raises(CaseError, match="heron-2025-06-14-1 or heronry-2025-06-14-1; type more"):
        store.name_of("heron")
    with pytest.raises(CaseError, match="did you mean coot-2025-06-14-1"):
        store.name_of("coot-2025-06-15")
    with pytest.raises(CaseError, match="no such case; `leadline find` begins one"):
        store.name_of("swan")


@pytest.mark.parametrize("name", ["../secret", "a/b", "", ".hidden", "CON", "x" * 200, "a\n", "-a"])
def test_a_name_cannot_leave_the_folder(name: str, tmp_path: Path) -> None:
    with pytest.raises(CaseError, match="no name of a case"):
        CaseStore(tmp_path).open(name)


def test_no_folder_means_no_cases(tmp_path: Path) -> None:
    assert CaseStore(tmp_path / "absent").summaries() == ()


def test_a_file_in_place_of_the_folder_is_said(tmp_path: Path, header: Header) -> None:
    (tmp_path / "cases").touch()
    for folder in (tmp_path / "cases", tmp_path / "cases" / "below"):
        with pytest.raises(CaseError, match="a file and no folder; name another folder with --cases"):
            CaseStore(folder).begin(header)


@pytest.mark.skipif(os.geteuid() == 0, reason="the superuser may write everywhere")
def test_a_folder_that_cannot_be_written_is_said(tmp_path: Path, header: Header) -> None:
    tmp_path.chmod(0o500)
    with pytest.raises(CaseError, match="you may not write there"):
        CaseStore(tmp_path).begin(header)


def test_the_default_folder_is_the_persons_own(monkeypatch: pytest.MonkeyPatch, tmp_path: Path) -> None:
    monkeypatch.setenv("XDG_DATA_HOME", str(tmp_path))
    if sys.platform == "linux":
        assert default_folder() == tmp_path / "leadline" / "cases"
