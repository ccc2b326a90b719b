"""The interview as a program and as a person meet it, and what it does to files."""

import codecs
from collections.abc import Callable, Mapping
from pathlib import Path

import pytest

from assistant.cli import describe as command
from assistant.cli import main
from assistant.plan import Review, review
from tests.cli.described import Interviewed, by_script, differences, interviewed, same_network
from tests.cli.program import run
from tests.cli.rebuilt import DABCHICK, GREBE, REBUILT
from tests.plan.boats import ROOT, boat_of, example

Answering = Callable[[Mapping[str, object]], str | None]
Described = Callable[..., Interviewed]


@pytest.fixture
def describe(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> Described:
    """Return what runs `describe --lines` in an empty folder, with the review only where a test is about it."""
    monkeypatch.chdir(tmp_path)

    def described(answer: Answering, *words: str, code: int = 0, reviewed: bool = False) -> Interviewed:
        if not reviewed:
            monkeypatch.setattr(command, "review", lambda _: Review(findings=(), figures=()))
        left, program = interviewed(answer, *words, monkeypatch=monkeypatch)
        assert left == code, program.told
        return program

    return described


@pytest.mark.parametrize("name", REBUILT)
def test_every_example_boat_can_be_described_anew(name: str, describe: Described) -> None:
    answers, changes = REBUILT[name]
    describe(by_script(answers, *changes), "again.yaml")
    again, known = boat_of(Path("again.yaml").read_text(encoding="utf-8")), example(name)
    assert same_network(again, known), differences(again, known)


def test_the_comparison_tells_boats_apart(describe: Described) -> None:
    describe(by_script({**DABCHICK, "stall current": "29 A"}), "motor.yaml")
    describe(by_script({**DABCHICK, "main lead": "12 AWG 45 cm"}), "lead.yaml")
    describe(by_script({**DABCHICK, "switching": "none"}), "switch.yaml")
    turned = (ROOT / "cases" / "dabchick.yaml").read_text(encoding="utf-8")
    Path("mix.yaml").write_text(turned.replace("throttle: 100 %", "throttle: -100 %"), encoding="utf-8")
    for file in Path().glob("*.yaml"):
        assert not same_network(boat_of(file.read_text(encoding="utf-8")), example("dabchick")), file


@pytest.mark.parametrize("answers", [DABCHICK, GREBE])
def test_a_typical_boat_takes_at_most_25_answers_and_passes_review(
    answers: Mapping[str, str], describe: Described
) -> None:
    program = describe(by_script(answers), "boat.yaml")
    assert program.asked <= 25
    found = review(boat_of(Path("boat.yaml").read_text(encoding="utf-8"))).findings
    assert {finding.severity for finding in found} <= {"note"}


def test_the_picture_and_the_review_come_before_saving(describe: Described) -> None:
    program = describe(
        lambda ask: {"main fuse": "0 A", "wish": "leave"}.get(str(ask["id"]), ""), reviewed=True
    )
    asked = next(number for number, event in enumerate(program.events) if event["id"] == "wish")
    before = [str(event["text"]) for event in program.events[:asked]]
    assert any(line.startswith("pack + -14- switch") for line in before)
    assert any(line.startswith("DANGER lead from pack +") for line in before)
    assert list(Path().iterdir()) == []


def test_what_nobody_knew_is_marked_in_the_file(describe: Described) -> None:
    describe(by_script({"capacity": "don't know", "motor": "dont know"}), "boat.yaml")
    text = Path("boat.yaml").read_text(encoding="utf-8")
    assert text.startswith(
        "# Nobody knew, so the usual was taken; look it up and put it right:\n# capacity, motor.\n"
    )
    boat_of(text)


def test_save_takes_the_usual_for_all_that_is_left_and_marks_it(describe: Described) -> None:
    answers = iter(["Coot", "", "lithium", "save"])
    program = describe(lambda ask: "save" if ask["id"] == "wish" else next(answers))
    assert program.asked == 5
    text = Path("coot.yaml").read_text(encoding="utf-8")
    assert "lithium pack, cells: 3" in text
    assert "# cells, capacity, " in text


def test_back_takes_one_answer_back_as_often_as_wanted(describe: Described) -> None:
    answers = iter(["Coot", "tug", "lead", "3", "back", "back", "nimh", "7", "save", "save"])
    describe(lambda _: next(answers))
    text = Path("coot.yaml").read_text(encoding="utf-8")
    assert "nimh pack, cells: 7" in text
    assert "about: tug" in text


def test_a_bad_answer_is_told_and_asked_again(describe: Described) -> None:
    answers = iter(["Coot", "", "kryptonite", "nimh", "4.5", "99", "6", "save", "save"])
    program = describe(lambda _: next(answers))
    again = [event["id"] for event in program.events if event["event"] == "ask"]
    assert again.count("pack") == 2
    assert again.count("cells") == 3
    assert any("kryptonite" in line for line in program.told)


def test_a_fuse_no_shop_has_is_refused_at_its_question(describe: Described) -> None:
    fuses = iter(["0.5 A", "10 A"])
    answering = by_script({})
    program = describe(lambda ask: next(fuses) if ask["id"] == "main fuse" else answering(ask), "boat.yaml")
    assert any("from 1 A to 120 A, or 0 for none" in line for line in program.told)
    assert "rating: 10 A" in Path("boat.yaml").read_text(encoding="utf-8")


def test_answers_that_make_no_boat_are_kept_and_one_is_asked_again(
    describe: Described, monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.setattr("assistant.plan.interview.within_kinds", lambda question, *_: question)
    fuses, asked = iter(["0.5 A", "10 A"]), list[str]()
    answers = {"name": "Coot", "cells": "7", "again": "main fuse", "wish": "save"}

    def answer(ask: Mapping[str, object]) -> str:
        asked.append(key := str(ask["id"]))
        return next(fuses) if key == "main fuse" else answers.get(key, "")

    program = describe(answer)
    assert any(line.startswith("No boat comes out of these answers") for line in program.told)
    assert asked[asked.index("again") :] == ["again", "main fuse", "wish"]
    text = Path("coot.yaml").read_text(encoding="utf-8")
    assert "cells: 7" in text
    assert "{kind: blade fuse, rating: 10 A}" in text


def test_input_that_ends_early_saves_nothing(describe: Described, capsys: pytest.CaptureFixture[str]) -> None:
    answers = iter(["Coot", "", None])
    describe(lambda _: next(answers), code=2)
    assert list(Path().iterdir()) == []
    assert "nothing is kept" in capsys.readouterr().err


def test_no_file_is_replaced_unasked(describe: Described) -> None:
    Path("coot.yaml").write_text("mine", encoding="utf-8")
    describe(by_script({"name": "Coot"}))
    assert Path("coot.yaml").read_text(encoding="utf-8") == "mine"
    boat_of(Path("coot-2.yaml").read_text(encoding="utf-8"))
    describe(by_script({"name": "Coot"}), "--out", "coot.yaml")
    assert Path("coot.yaml").read_text(encoding="utf-8") == "mine"
    assert Path("coot-3.yaml").exists()


def test_a_file_is_replaced_when_that_is_the_answer(describe: Described) -> None:
    Path("coot.yaml").write_text("mine", encoding="utf-8")
    describe(lambda ask: {"name": "Coot", "wish": "save", "file": "replace"}.get(str(ask["id"]), ""))
    assert boat_of(Path("coot.yaml").read_text(encoding="utf-8")).name == "Coot"


GREBE_TEXT = (ROOT / "cases" / "grebe.yaml").read_text(encoding="utf-8")


@pytest.mark.parametrize("mark", [b"", codecs.BOM_UTF8])
@pytest.mark.parametrize("ending", ["\n", "\r\n"])
def test_a_change_leaves_everything_else_to_the_byte(mark: bytes, ending: str, describe: Described) -> None:
    before = mark + GREBE_TEXT.replace("\n", ending).encode()
    Path("grebe.yaml").write_bytes(before)
    steps = [
        ("wish", "change part"),
        ("part", "step-down"),
        ("value", "set"),
        ("set", "5.2 V"),
        ("value", "done"),
    ]
    describe(by_script({}, steps), "grebe.yaml")
    assert Path("grebe.yaml").read_bytes() == before.replace(b"set: 5.0 V", b"set: 5.2 V")


def test_a_file_that_changed_meanwhile_is_not_replaced(describe: Described) -> None:
    Path("grebe.yaml").write_text(GREBE_TEXT, encoding="utf-8")
    steps = iter(["name", "Little Grebe", "", "save", ""])

    def answer(ask: Mapping[str, object]) -> str:
        if ask["id"] == "boat":
            Path("grebe.yaml").write_text("somebody else's", encoding="utf-8")
        return next(steps)

    describe(answer, "grebe.yaml")
    assert Path("grebe.yaml").read_text(encoding="utf-8") == "somebody else's"
    assert boat_of(Path("grebe-2.yaml").read_text(encoding="utf-8")).name == "Little Grebe"


def test_an_example_is_changed_as_a_copy(describe: Described) -> None:
    describe(by_script({}, [("wish", "name"), ("boat", "My Grebe"), ("about", "")]), "grebe")
    assert Path("grebe.yaml").read_text(encoding="utf-8") == GREBE_TEXT.replace(
        "boat: Grebe", "boat: My Grebe"
    )
    assert (ROOT / "cases" / "grebe.yaml").read_text(encoding="utf-8") == GREBE_TEXT


def test_a_change_that_makes_no_boat_is_told_and_not_taken(describe: Described) -> None:
    Path("grebe.yaml").write_text(GREBE_TEXT, encoding="utf-8")
    steps = [("wish", "take part out"), ("part", "minus")]
    program = describe(by_script({}, steps), "grebe.yaml")
    assert "Not changed:" in program.told
    assert "Nothing was changed." in program.told
    assert Path("grebe.yaml").read_text(encoding="utf-8") == GREBE_TEXT


def test_a_value_out_of_range_is_told_and_not_taken(describe: Described) -> None:
    Path("grebe.yaml").write_text(GREBE_TEXT, encoding="utf-8")
    steps = [("wish", "change part"), ("part", "pack"), ("value", "cells"), ("cells", "many")]
    program = describe(by_script({}, steps), "grebe.yaml")
    assert any("many" in line for line in program.told)
    assert Path("grebe.yaml").read_text(encoding="utf-8") == GREBE_TEXT


def test_a_fuse_is_put_into_a_lead(describe: Described) -> None:
    Path("grebe.yaml").write_text(GREBE_TEXT, encoding="utf-8")
    steps = [
        ("wish", "add part"),
        ("part name", "module fuse"),
        ("kind", "blade fuse"),
        ("rating", "2 A"),
        ("place", "into"),
        ("lead", "feed.x--step-down.in"),
        ("lead as written", "22 AWG 5 cm soldered/crimped"),
        ("lead as written", ""),
    ]
    describe(by_script({}, steps), "grebe.yaml")
    after = Path("grebe.yaml").read_text(encoding="utf-8")
    changed = set(after.splitlines()) - set(GREBE_TEXT.splitlines())
    assert changed == {
        "  module-fuse: {kind: blade fuse, rating: 2 A}",
        "  - [feed, 22 AWG 5 cm soldered/crimped, module-fuse, 22 AWG 5 cm soldered/screwed, step-down in]",
    }
    assert "module-fuse" in boat_of(after).parts


def test_through_a_pipe_with_plain_lines(tmp_path: Path) -> None:
    done = run(["describe", "--plain"], "Coot\n\n2\nwhy\n" + "\n" * 25, folder=tmp_path)
    assert done.returncode == 0, done.stderr
    assert "nickel-metal hydride (NiMH) (Enter)" in done.stdout
    assert "A cell has 1.2 V in NiMH" in done.stdout
    assert "pack + -14- fuse (15 A) -14- switch -14- drive +" in done.stdout
    assert (
        boat_of((tmp_path / "coot.yaml").read_text(encoding="utf-8")).parts["pack"].kind.name
        == "lithium pack"
    )


@pytest.mark.parametrize("words", [["kingfisher"], ["."]])
def test_a_boat_that_is_not_there_gives_status_2(
    words: list[str], capsys: pytest.CaptureFixture[str]
) -> None:
    assert main(["describe", *words]) == 2
    assert capsys.readouterr().err
