"""`leadline knowledge`: lint, list, show and draw, in a pipe, on a narrow terminal, and against hostile folders."""

import os
import re
import shutil
from pathlib import Path

import pytest

from assistant.cli import main
from tests.cli.program import PROGRAM
from tests.console.screen import ROOT, Seated


@pytest.fixture
def copy(tmp_path: Path) -> Path:
    shutil.copytree(ROOT / "knowledge", tmp_path / "knowledge")
    return tmp_path


def spoil(folder: Path, path: str, old: str, new: str) -> None:
    file = folder / "knowledge" / path
    text = file.read_text(encoding="utf-8")
    assert old in text
    file.write_text(text.replace(old, new, 1), encoding="utf-8")


def test_the_knowledge_of_the_program_is_clean(capsys: pytest.CaptureFixture[str]) -> None:
    assert main(["knowledge", "lint"]) == 0
    assert capsys.readouterr().out == "Nothing to find fault with.\n"


@pytest.mark.parametrize("inner", ["", "knowledge"])
def test_each_finding_stands_on_one_line_with_its_place(
    copy: Path, inner: str, capsys: pytest.CaptureFixture[str]
) -> None:
    spoil(copy, "symptoms/pumps-weak.yaml", "title:", "titel:")
    spoil(copy, "lessons/volt-drop.yaml", "status: s", "status: q")
    assert main(["knowledge", "lint", "--folder", str(copy / inner)]) == 1
    *findings, count = capsys.readouterr().out.splitlines()
    assert count == f"{len(findings)} findings"
    assert all(re.match(r"[\w/.-]+\.yaml:\d+:\d+  \[[\w-]+\]  .+; .+", line) for line in findings)
    assert any(line.startswith("lessons/volt-drop.yaml:") for line in findings)


def test_a_control_sequence_in_a_file_is_refused_and_not_obeyed(
    copy: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    spoil(copy, "safety.yaml", 'text: "Stop', 'text: "\\x1b[2J\\u202eStop')
    spoil(copy, "how.yaml", "Turn the meter", "Turn\x1b]0;owned\x07 the meter")
    (copy / "knowledge" / "parts" / "x\x1b[2J.yaml").write_text("kind: \u202e", encoding="utf-8")
    assert main(["knowledge", "lint", "--folder", str(copy)]) == 1
    assert main(["knowledge", "list", "--folder", str(copy)]) == 2
    caught = capsys.readouterr()
    assert "[character]" in caught.out
    assert not any(character in caught.out + caught.err for character in "\x1b\x07\u202e")


def test_words_of_a_file_are_no_markup(copy: Path, capsys: pytest.CaptureFixture[str]) -> None:
    spoil(copy, "safety.yaml", 'text: "Stop', 'text: "[bold red]<b>Stop')
    spoil(copy, "symptoms/pumps-weak.yaml", "title: ", "title: <script>x</script> ")
    tasks = (["list"], ["show", "first-things"], ["draw", "pumps-weak", "--text"], ["draw", "pumps-weak"])
    for words in tasks:
        assert main(["knowledge", *words, "--folder", str(copy)]) == 0
    shown = capsys.readouterr().out
    assert "[bold red]<b>Stop" in shown
    assert "<title>&lt;script&gt;x" in shown


@pytest.mark.parametrize(
    "words",
    [
        ["show", "xyzzy"],
        ["show", "relay-"],
        ["draw", "xyzzy"],
        ["draw", "servo-jitter", "--out", "/nowhere/at/all.svg"],
        ["lint", "--folder", "/nowhere"],
        ["list", "--folder", "."],
    ],
)
def test_input_that_cannot_be_used_gives_status_2(
    words: list[str], tmp_path: Path, monkeypatch: pytest.MonkeyPatch, capsys: pytest.CaptureFixture[str]
) -> None:
    monkeypatch.chdir(tmp_path)
    assert main(["knowledge", *words]) == 2
    caught = capsys.readouterr()
    assert caught.err
    assert not caught.out


def test_a_file_that_is_no_text_is_a_finding(copy: Path, capsys: pytest.CaptureFixture[str]) -> None:
    (copy / "knowledge" / "parts" / "lamp.yaml").write_bytes(b"kind: \xff\xfe")
    assert main(["knowledge", "lint", "--folder", str(copy)]) == 1
    assert "parts/lamp.yaml:1:1  [encoding]" in capsys.readouterr().out


def test_the_list_can_be_cut_to_one_sort(capsys: pytest.CaptureFixture[str]) -> None:
    assert main(["knowledge", "list", "lesson", "--plain"]) == 0
    shown = capsys.readouterr().out
    assert "volt-drop: A bad joint" in shown
    assert "blade fuse" not in shown


def test_a_pipe_gets_the_picture_and_a_file_can_be_named(
    tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    assert main(["knowledge", "draw", "pump", "does", "nothing"]) == 0
    picture = capsys.readouterr().out
    assert picture.startswith("<svg ")
    file = tmp_path / "graph.svg"
    assert main(["knowledge", "draw", "pumps-not-running", "--out", str(file)]) == 0
    assert file.read_text(encoding="utf-8") == picture


@pytest.mark.skipif(os.name != "posix", reason="needs a pseudo terminal")
@pytest.mark.parametrize("words", [["draw", "servo-jitter"], ["show", "blade-fuse"], ["list"]])
def test_on_a_narrow_terminal_every_line_fits(words: list[str]) -> None:
    with Seated([*PROGRAM, "knowledge", *words], columns=40, rows=20) as seat:
        assert seat.ends() == 0
        lines = re.sub(rb"\x1b\[[0-9;?]*[a-zA-Z]", b"", seat.raw).decode().splitlines()
    assert len(lines) > 20
    assert max(map(len, lines)) <= 40
