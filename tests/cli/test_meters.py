"""The meter at hand: one that is brought along, one's own, none; and that a case keeps it."""

from argparse import ArgumentParser
from pathlib import Path

import pytest

from assistant.circuit import CHEAP_METER, MeterFunction
from assistant.cli.meters import declare_meter, meter_named, meter_of, profile_of
from assistant.cli.workbench import open_workbench
from assistant.errors import AnswerError, KnowledgeError
from assistant.records import CaseStore
from tests.cli.program import run

MINE = "meter: mine\nfunctions:\n  DC volts: {share: 1 %, digits: 3}\n"


def test_meters_are_found_by_name_and_by_file(tmp_path: Path) -> None:
    assert meter_of("") == CHEAP_METER == meter_of(meter_named("Cheap meter"))
    assert meter_of(meter_named("better-meter")).counts > CHEAP_METER.counts
    own = tmp_path / "mine.yaml"
    own.write_text(MINE, encoding="utf-8")
    assert set(meter_of(meter_named(str(own))).functions) == {MeterFunction.DC_VOLTS}


def test_one_that_is_not_there_is_refused_with_the_nearest(tmp_path: Path) -> None:
    with pytest.raises(AnswerError, match="better-meter"):
        meter_named("beter-meter")
    raw = tmp_path / "raw.yaml"
    raw.write_bytes(b"\xff\xfe")
    with pytest.raises(AnswerError, match="cannot be read"):
        meter_named(str(raw))
    with pytest.raises(KnowledgeError):
        meter_of("meter: x\n")


def test_a_case_keeps_the_description_of_the_meter_and_goes_on_with_it(tmp_path: Path) -> None:
    own = tmp_path / "mine.yaml"
    own.write_text(MINE, encoding="utf-8")
    words = [
        "find",
        "dabchick",
        "--symptom",
        "pumps-not-running",
        "--cases",
        str(tmp_path),
        "--meter",
        str(own),
    ]
    assert run(words, "save\n").returncode == 0
    (case,) = CaseStore(tmp_path).summaries()
    assert case.contents is not None
    header = case.contents.header
    assert (header.profile, header.meter) == (MINE, ("DC volts",))
    setup = open_workbench().setup_of(header)
    assert setup.functions == {MeterFunction.DC_VOLTS}
    assert run(["resume", "--cases", str(tmp_path)], "save\n").returncode == 0


@pytest.mark.parametrize(
    ("said", "words", "meter"),
    [
        ("better-meter", [], "better-meter"),
        ("better-meter", ["--meter", "cheap-meter"], "cheap-meter"),
        ("better-meter", ["--no-meter"], ""),
        ("", [], ""),
        (None, [], ""),
    ],
)
def test_the_environment_says_it_once_for_all_and_the_options_say_otherwise(
    said: str | None, words: list[str], meter: str, monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.delenv("LEADLINE_METER", raising=False)
    if said is not None:
        monkeypatch.setenv("LEADLINE_METER", said)
    parser = ArgumentParser()
    declare_meter(parser)
    assert profile_of(parser.parse_args(words)) == (meter_named(meter) if meter else "")


def test_a_meter_of_the_environment_that_is_not_there_is_refused(monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setenv("LEADLINE_METER", "no-such-meter")
    parser = ArgumentParser()
    declare_meter(parser)
    with pytest.raises(AnswerError, match="no such meter"):
        profile_of(parser.parse_args([]))


def test_a_better_meter_has_what_a_cheap_one_lacks() -> None:
    further = {MeterFunction.AC_MILLIVOLTS, MeterFunction.DUTY, MeterFunction.FREQUENCY}
    assert further <= set(meter_of(meter_named("better-meter")).functions)
    assert further.isdisjoint(CHEAP_METER.functions)


def test_a_meter_that_cannot_be_read_ends_with_its_place(tmp_path: Path) -> None:
    own = tmp_path / "mine.yaml"
    own.write_text("meter: mine\nfunctions: {DC vlts: {share: 1 %, digits: 3}}\n", encoding="utf-8")
    done = run(
        ["find", "dabchick", "--symptom", "pumps-not-running", "--cases", str(tmp_path), "--meter", str(own)]
    )
    assert done.returncode != 0
    assert "DC volts" in done.stderr
