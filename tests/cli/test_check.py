import json
from pathlib import Path

import pytest

from assistant.cli import main
from tests.plan.boats import SOUND, but


@pytest.fixture
def boat(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> Path:
    monkeypatch.chdir(tmp_path)
    file = tmp_path / "teal.yaml"
    file.write_text(SOUND, encoding="utf-8")
    return file


def test_a_sound_boat_gives_status_0_and_its_figures(boat: Path, capsys: pytest.CaptureFixture[str]) -> None:
    assert main(["check", "teal", "--plain"]) == 0
    shown = capsys.readouterr().out
    assert shown.startswith("Teal: nothing to find fault with.")
    assert "run time of pack" in shown


def test_a_finding_gives_status_1_place_number_limit_source_and_remedy(
    boat: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    boat.write_text(but(("blade fuse, rating: 10 A", "blade fuse, rating: 5 A")), encoding="utf-8")
    assert main(["check", "teal", "--plain"]) == 1
    shown = capsys.readouterr().out
    assert "TROUBLE: fuse (teal.yaml:4)" in shown
    assert "against 3.75 A (full pack, everything running)" in shown
    assert "Do: Fit" in shown
    assert "Source: common practice, no source: three quarters of the rating [p]" in shown


def test_the_same_findings_come_as_json(boat: Path, capsys: pytest.CaptureFixture[str]) -> None:
    boat.write_text(but(("blade fuse, rating: 10 A", "blade fuse, rating: 5 A")), encoding="utf-8")
    assert main(["check", "teal", "--json"]) == 1
    found = json.loads(capsys.readouterr().out)
    (fuse,) = [f for f in found["findings"] if f["rule"] == "fuse against load"]
    assert (fuse["place"], fuse["severity"], fuse["line"]) == ("fuse", "trouble", 4)
    assert fuse["limit"] == {"value": 3.75, "unit": "A"}
    assert fuse["number"]["value"] > 3.75
    assert fuse["source"]["status"] == "p"


def test_another_pack_is_tried(boat: Path, capsys: pytest.CaptureFixture[str]) -> None:
    assert main(["check", "teal", "--pack", "lithium pack", "--cells", "4", "--plain"]) == 1
    assert "DANGER: drive" in capsys.readouterr().out


@pytest.mark.parametrize("words", [["tael"], ["teal", "--pack", "lithum pack"], ["teal", "--cells", "99"]])
def test_input_that_cannot_be_used_gives_status_2(
    boat: Path, words: list[str], capsys: pytest.CaptureFixture[str]
) -> None:
    assert main(["check", *words]) == 2
    assert capsys.readouterr().err


def test_a_description_with_problems_gives_status_2(boat: Path, capsys: pytest.CaptureFixture[str]) -> None:
    boat.write_text(SOUND.replace("blade fuse", "blade fuze"), encoding="utf-8")
    assert main(["check", "teal"]) == 2
    assert "teal.yaml:4" in capsys.readouterr().err
