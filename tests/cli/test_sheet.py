from pathlib import Path

import pytest

from assistant.cli import main


def test_readings_come_to_the_terminal(capsys: pytest.CaptureFixture[str]) -> None:
    assert main(["sheet", "dabchick", "--plain"]) == 0
    shown = capsys.readouterr().out
    assert shown.startswith("Dabchick: readings to expect")
    assert "fuse in" in shown


def test_a_supposed_fault_is_written_as_a_page_and_as_markdown(
    tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    page, text = tmp_path / "d.html", tmp_path / "d.md"
    words = ["--with", "open at fuse", "--html", str(page), "--markdown", str(text)]
    assert main(["sheet", "dabchick", *words]) == 0
    assert "Supposed:" in page.read_text(encoding="utf-8")
    assert text.read_text(encoding="utf-8").startswith("# Dabchick")
    assert str(page) in capsys.readouterr().out.replace("\n", "")


@pytest.mark.parametrize(
    "words",
    [
        ["kingfisher"],
        ["dabchick", "--with", "2 ohm at keel"],
        ["dabchick", "flat earth"],
        ["dabchick", "servo-jitter", "--with", "open at fuse"],
        ["dabchick", "--html", "/nowhere/at/all.html"],
    ],
)
def test_input_that_cannot_be_used_gives_status_2(
    words: list[str], capsys: pytest.CaptureFixture[str]
) -> None:
    assert main(["sheet", *words]) == 2
    assert capsys.readouterr().err
