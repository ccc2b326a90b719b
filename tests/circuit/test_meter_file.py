"""Descriptions of meters: those brought along, and what is wrong with one."""

from pathlib import Path

import pytest

from assistant.circuit import CHEAP_METER, Accuracy, MeterFunction, load_meter
from assistant.errors import KnowledgeError

METERS = sorted((Path(__file__).resolve().parents[2] / "knowledge" / "meters").glob("*.yaml"))
TEXTS = {path.stem: path.read_text(encoding="utf-8") for path in METERS}


def test_the_cheap_meter_is_the_one_that_is_reckoned_with_when_nothing_is_said() -> None:
    assert load_meter(TEXTS["cheap-meter"], "cheap-meter.yaml") == CHEAP_METER


@pytest.mark.parametrize("name", TEXTS)
def test_each_is_called_like_its_file_and_has_a_source_for_every_function(name: str) -> None:
    meter = load_meter(TEXTS[name], f"{name}.yaml")
    assert meter.name.replace(" ", "-") == name
    numbers = len(meter.functions) + len(meter.currents)
    assert TEXTS[name].count("source:") == TEXTS[name].count("status:") == numbers


def test_what_is_not_named_is_not_there_and_what_is_left_out_is_as_on_a_cheap_one() -> None:
    text = "meter: mine\nfunctions:\n  DC volts: {share: 1 %, digits: 3}\n"
    mine = load_meter(text, "mine.yaml")
    assert dict(mine.functions) == {MeterFunction.DC_VOLTS: Accuracy(share=0.01, digits=3.0)}
    assert (mine.name, mine.input_ohm, mine.counts) == ("mine", CHEAP_METER.input_ohm, CHEAP_METER.counts)


def test_what_counts_pulses_and_shows_ripple_says_its_limits() -> None:
    text = (
        "meter: mine\nabout: mine\nfunctions:\n"
        "  AC millivolts: {share: 2 %, digits: 5, up to: 1 kHz}\n"
        "  frequency: {share: 0.1 %, digits: 3, from: 3 V}\n"
    )
    mine = load_meter(text, "mine.yaml")
    assert set(mine.functions) == {MeterFunction.AC_MILLIVOLTS, MeterFunction.FREQUENCY}
    assert (mine.ripple_hz, mine.pulse_v) == (1000.0, 3.0)
    assert (CHEAP_METER.ripple_hz, CHEAP_METER.pulse_v) == (400.0, 1.5)


@pytest.mark.parametrize(
    ("text", "said"),
    [
        ("meter: mine\n", "functions"),
        ("meter: mine\nfunctions: {DC vlts: {share: 1 %, digits: 1}}\n", "DC volts"),
        ("meter: mine\nfunctions: {ohms: {share: 1 %}}\n", "digits"),
        ("meter: mine\nfunctions: {ohms: {share: 1 V, digits: 1}}\n", "a share"),
        ("meter: mine\nfunctions: {diode test: {share: 1 %, digits: 1, open: 0 V}}\n", "less than"),
        ("meter: mine\nfunctions: {ohms: {share: 1 %, digits: 1, open: 2 V}}\n", "open"),
        ("meter: mine\ncounts: 100\nfunctions: {}\n", "less than"),
        ("meter: [\n", "mine.yaml"),
    ],
)
def test_what_is_wrong_with_one_is_said_with_its_place(text: str, said: str) -> None:
    with pytest.raises(KnowledgeError, match=said) as caught:
        load_meter(text, "mine.yaml")
    assert "mine.yaml" in str(caught.value)
