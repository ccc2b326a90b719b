import json
import os
import re
import shutil
from dataclasses import replace
from pathlib import Path
from typing import Any

import pytest

from assistant.cli.main import main
from assistant.records import CaseStore, encode
from tests.cli.program import run
from tests.record_examples import FOLDER

DABCHICK, GREBE = "dabchick-2025-06-14-1", "grebe-2025-06-14-1"
SUFFIX = ".case.jsonl"
NOW = "2025-06-20T18:00:00+02:00"


@pytest.fixture
def cases(tmp_path: Path) -> Path:
    folder = tmp_path / "cases"
    shutil.copytree(FOLDER, folder)
    return folder


@pytest.fixture(autouse=True)
def _elsewhere(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.chdir(tmp_path)
    monkeypatch.setenv("COLUMNS", "300")


def told(capsys: pytest.CaptureFixture[str], *words: str, code: int = 0) -> str:
    """Run the command and return what it says, on one line; see that it ends as it should."""
    capsys.readouterr()
    assert main(["cases", *words]) == code
    said = capsys.readouterr()
    assert "Traceback" not in said.err
    return " ".join((said.out + said.err).split())


def everything(folder: Path) -> dict[str, bytes]:
    return {str(path.relative_to(folder)): path.read_bytes() for path in folder.rglob("*") if path.is_file()}


def test_the_list_says_boat_symptom_and_end(cases: Path, capsys: pytest.CaptureFixture[str]) -> None:
    (cases / f"broken{SUFFIX}").write_text("{}\n{}\n")
    text = told(capsys, "--cases", str(cases))
    assert text == told(capsys, "list", "--cases", str(cases))
    assert "Dabchick, pumps-not-running: mended: replace fuse" in text
    assert "Grebe, pumps-not-running: noted: remake plug at port drive -" in text
    assert "broken: cannot be read: " in text
    assert DABCHICK not in told(capsys, "list", "--boat", "grebe", "--cases", str(cases))


def test_with_no_cases_it_says_what_begins_one(tmp_path: Path, capsys: pytest.CaptureFixture[str]) -> None:
    assert "No cases in" in told(capsys, "--cases", str(tmp_path / "none"))
    assert not (tmp_path / "none").exists()
    assert DABCHICK in told(capsys, "--examples")


def test_search_finds_and_says_when_it_does_not(cases: Path, capsys: pytest.CaptureFixture[str]) -> None:
    assert told(capsys, "search", "plug at port drive -", "--cases", str(cases)).startswith(GREBE)
    assert "No case holds albatross" in told(capsys, "search", "albatross", "--cases", str(cases), code=1)


def test_show_is_the_whole_sheet_in_lines(cases: Path, capsys: pytest.CaptureFixture[str]) -> None:
    text = told(capsys, "show", "dab", "--cases", str(cases))
    assert "Mended and proved: replace fuse." in text
    assert "#5 09:30, running; DC volts, red drive +, black drive -: 0 V: none (healthy " in text


@pytest.mark.parametrize("form", ["html", "md", "json"])
def test_a_sheet_is_written_to_a_file_and_never_over_another(
    form: str, cases: Path, tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    words = ["export", "dab", "--as", form, "--cases", str(cases)]
    assert f"Written to {DABCHICK}.{form}." in told(capsys, *words)
    file = tmp_path / f"{DABCHICK}.{form}"
    assert "replace fuse" in file.read_text(encoding="utf-8")
    file.write_text("mine")
    assert "there is such a file already; add --force" in told(capsys, *words, code=2)
    assert file.read_text() == "mine"
    told(capsys, *words, "--force")
    assert "replace fuse" in file.read_text(encoding="utf-8")
    assert sorted(path.name for path in tmp_path.iterdir()) == ["cases", file.name]


def test_export_goes_to_standard_output_too(cases: Path) -> None:
    done = run(["cases", "export", "dab", "--as", "json", "--to", "-", "--cases", str(cases)])
    assert json.loads(done.stdout)["boat"] == "Dabchick"
    assert done.stderr == ""


def test_pdf_without_its_packages_says_what_to_do(
    cases: Path, tmp_path: Path, capsys: pytest.CaptureFixture[str], monkeypatch: pytest.MonkeyPatch
) -> None:
    def absent(name: str) -> None:
        raise ImportError(name)

    monkeypatch.setattr("assistant.records.pdf.import_module", absent)
    text = told(capsys, "export", "dab", "--as", "pdf", "--cases", str(cases), code=2)
    assert "install leadline[pdf], or export as html" in text
    assert [path.name for path in tmp_path.iterdir()] == ["cases"]


def test_a_case_travels_and_replays_to_the_same_end(
    cases: Path, tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    bench = tmp_path / "bench"
    told(capsys, "export", "dab", "--to", "out.jsonl", "--cases", str(cases))
    first = told(capsys, "import", "out.jsonl", "--cases", str(bench))
    assert first == f"Taken in as {DABCHICK}. Replayed to the same end: mended."
    assert "Here already" in told(capsys, "import", "out.jsonl", "--cases", str(bench))
    told(capsys, "export", "dab", "--to", "again.jsonl", "--cases", str(bench))
    assert Path("out.jsonl").read_bytes() == Path("again.jsonl").read_bytes()
    assert everything(bench) == {f"{DABCHICK}{SUFFIX}": Path("out.jsonl").read_bytes()}


def rewritten(source: Path, target: Path, **header: Any) -> None:
    """Write a case anew with another header, with all its checks right."""
    contents = CaseStore(source.parent).read(source.name.removesuffix(SUFFIX))
    line = encode(replace(contents.header, **header))
    data = line.data
    for entry in contents.entries:
        line = encode(dict(entry), line.check)
        data += line.data
    target.write_bytes(data)


def test_other_knowledge_is_said_at_the_import_and_on_the_sheet(
    cases: Path, tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    rewritten(cases / f"{DABCHICK}{SUFFIX}", tmp_path / "old.jsonl", knowledge="ab" * 32)
    bench = str(tmp_path / "bench")
    assert "It was recorded with other knowledge." in told(capsys, "import", "old.jsonl", "--cases", bench)
    text = told(capsys, "show", "dab", "--cases", bench)
    assert "recorded with other knowledge than this program has; every answer still fits" in text


BOMB = "boat: Bomb\na: &a [x, x]\nb: &b [*a, *a]\nc: &c [*b, *b]\nparts: {}\nruns: []\n"


@pytest.mark.parametrize(
    ("header", "said"),
    [
        ({"wiring": BOMB}, "Refused bad.jsonl: "),
        ({"wiring": "[" * 50_000}, "Refused bad.jsonl: "),
        ({"wiring": "boat: X\nparts: {a: {kind: warp core}}\nruns: []\n"}, "warp core"),
        ({"symptom": "flies-away"}, "no such symptom"),
        ({"boat": "a\x1b[2Jb"}, "control characters"),
    ],
)
def test_hostile_cases_are_refused_and_touch_nothing(
    header: dict[str, str], said: str, cases: Path, tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    rewritten(cases / f"{DABCHICK}{SUFFIX}", tmp_path / "bad.jsonl", **header)
    before = everything(tmp_path)
    assert said in told(capsys, "import", "bad.jsonl", "--cases", str(cases), code=2)
    assert everything(tmp_path) == before


def test_one_bad_file_does_not_keep_the_others_out(
    cases: Path, tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    (tmp_path / "bad.jsonl").write_bytes(b"\x00" * 100)
    good = str(cases / f"{DABCHICK}{SUFFIX}")
    text = told(capsys, "import", "bad.jsonl", good, "--cases", str(tmp_path / "bench"), code=2)
    assert "Refused bad.jsonl" in text
    assert CaseStore(tmp_path / "bench").names() == (DABCHICK,)


def test_deleting_wants_the_whole_name_and_consent(cases: Path, capsys: pytest.CaptureFixture[str]) -> None:
    before = everything(cases)
    where = ["--cases", str(cases)]
    assert f"did you mean {GREBE}?" in told(capsys, "delete", "grebe", "--yes", *where, code=2)
    assert "no such case" in told(capsys, "delete", "../x", "--yes", *where, code=2)
    done = run(["cases", "delete", GREBE, *where])
    assert (done.returncode, "add --yes" in done.stderr) == (2, True)
    assert everything(cases) == before
    assert "is removed" in told(capsys, "delete", GREBE, "--yes", *where)
    assert everything(cases) == {name: data for name, data in before.items() if GREBE not in name}


def test_a_case_that_is_open_is_not_deleted(cases: Path, capsys: pytest.CaptureFixture[str]) -> None:
    with CaseStore(cases).open(GREBE):
        text = told(capsys, "delete", GREBE, "--yes", "--cases", str(cases), code=2)
        assert "open in another program" in text
    assert GREBE in CaseStore(cases).names()


def test_remarks_are_kept_and_shown(cases: Path, capsys: pytest.CaptureFixture[str]) -> None:
    where = ["--now", NOW, "--cases", str(cases)]
    told(capsys, "note", "grebe", "the", "bench", "crew", "--who", *where)
    assert "temporary at main-switch" in told(
        capsys, "note", "grebe", "bridged with a clip", "--temporary", "main switch", *where
    )
    assert "no such place; name one of" in told(
        capsys, "note", "grebe", "x", "--mended", "warp core", *where, code=2
    )
    assert "no such place; name one of main-switch" in told(
        capsys, "note", "grebe", "x", "--undone", "relay", *where, code=2
    )
    assert "no remark" in told(capsys, "note", "grebe", "\x1b", *where, code=2)
    assert "temporary repair to undo" in told(capsys, "list", "--cases", str(cases))
    text = told(capsys, "show", "grebe", "--cases", str(cases))
    assert "Undo at the bench:" in text
    assert "measured by the bench crew" in text
    assert "main-switch: bridged with a clip" in told(capsys, "log", "grebe", "--cases", str(cases))
    told(capsys, "note", "grebe", "taken out", "--undone", "main-switch", *where)
    assert "temporary repair to undo" not in told(capsys, "list", "--cases", str(cases))


def test_the_examples_stay_as_they_are(tmp_path: Path, capsys: pytest.CaptureFixture[str]) -> None:
    before = everything(FOLDER)
    for words in (["delete", GREBE, "--yes"], ["note", "grebe", "x"], ["import", "x"]):
        assert "stay as they are" in told(capsys, *words, "--examples", code=2)
    assert everything(FOLDER) == before


def test_compare_marks_what_differs(cases: Path, capsys: pytest.CaptureFixture[str]) -> None:
    text = told(capsys, "compare", "dab", "dab", "--cases", str(cases))
    assert " * " not in text.partition("differs")[2]
    assert "symptom: pumps-not-running" in text


def test_the_log_of_a_boat_as_a_page(cases: Path, tmp_path: Path, capsys: pytest.CaptureFixture[str]) -> None:
    told(capsys, "log", "dabchick", "--html", "log.html", "--cases", str(cases))
    assert "Log of Dabchick" in (tmp_path / "log.html").read_text(encoding="utf-8")
    assert "no case of this boat" in told(capsys, "log", "heron", "--cases", str(cases), code=2)


@pytest.mark.parametrize(
    ("more", "count"), [([], {"replace fuse": 1}), (["--no-history"], {})], ids=["counted", "left out"]
)
def test_earlier_cases_count_in_the_next_hunt_unless_left_out(
    more: list[str], count: dict[str, int], cases: Path
) -> None:
    words = ["find", "dabchick", "--symptom", "pumps-not-running", "--now", "2025-06-30T10:00:00+02:00"]
    done = run([*words, "--cases", str(cases), *more], "yes\n")
    assert ("Earlier cases of this boat make these likelier: replace fuse (1 x)." in done.stdout) == bool(
        count
    )
    contents = CaseStore(cases).read("dabchick-2025-06-30-1")
    assert dict(contents.header.past) == count
    again = run(["resume", "dabchick-2025-06-30", "--cases", str(cases)], "yes\n")
    assert "does not fit" not in again.stderr
    assert len(CaseStore(cases).read("dabchick-2025-06-30-1").entries) == 2


def test_a_full_disk_is_said_and_leaves_no_half_file(
    cases: Path, tmp_path: Path, capsys: pytest.CaptureFixture[str], monkeypatch: pytest.MonkeyPatch
) -> None:
    def full(_descriptor: int, _data: object = None) -> int:
        raise OSError(28, "No space left on device")

    monkeypatch.setattr(os, "fsync", full)
    assert "the disk is full" in told(capsys, "export", "dab", "--cases", str(cases), code=2)
    good = str(cases / f"{DABCHICK}{SUFFIX}")
    assert "the disk is full" in told(capsys, "import", good, "--cases", str(tmp_path / "bench"), code=2)
    assert list((tmp_path / "bench").iterdir()) == []
    assert [path.name for path in tmp_path.iterdir() if path.is_file()] == []


@pytest.mark.parametrize("words", [["show"], ["export", "x", "--as", "docx"], ["fly"]])
def test_words_that_mean_nothing_are_refused(words: list[str], capsys: pytest.CaptureFixture[str]) -> None:
    with pytest.raises(SystemExit) as end:
        main(["cases", *words])
    assert end.value.code == 2
    assert re.search(r"usage: leadline cases", capsys.readouterr().err)
