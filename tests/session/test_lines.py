"""The line protocol carries all that a program needs."""

import json

import pytest
from hypothesis import given
from hypothesis import strategies as st

from assistant.circuit import MeterFunction
from assistant.dialogue import Ask, fold, start
from assistant.errors import AnswerError
from assistant.session import decode, encode
from tests.dialogue.boats import PUMPS, ask_in, boat, dead_from, drive, setup_for
from tests.dialogue.fake import FakeDiagnosis
from tests.dialogue.test_engine import TO_NARROWING


def test_every_event_of_a_case_is_plain_json() -> None:
    _, events = drive(setup_for("dabchick"), PUMPS, dead_from("fuse"))
    kinds = set()
    for event in events:
        record = json.loads(json.dumps(encode(event), allow_nan=False))
        assert record["id"] == event.id
        assert record["text"] == event.text
        kinds.add(record["event"])
    assert kinds == {"ask", "show", "warn", "conclude"}


def test_a_reading_names_function_points_state_and_band() -> None:
    _, events = fold(setup_for("dabchick"), PUMPS, TO_NARROWING)
    record = encode(ask_in(events))
    assert record["want"] == "reading"
    assert record["reading"] == {"function": "DC volts", "red": "drive.+", "black": "drive.-", "unit": "V"}
    assert record["lesson"] == "volt-drop"
    assert record["band"] == {"typical": 7.5, "low": 7.2, "high": 7.8, "unit": "V"}
    state = record["state"]
    assert isinstance(state, dict)
    assert state["throttle"] == 1.0
    assert state["pack.plugged"] == 1.0


def test_a_sign_names_part_and_sign() -> None:
    _, events = fold(setup_for("dabchick"), PUMPS, TO_NARROWING[:6])
    record = encode(ask_in(events))
    assert record["sign"] == {"part": "pump", "sign": "turning", "state": record["state"]}
    assert record["changes"] == {"throttle": 1.0}


def test_a_conclusion_names_places_ends_modes_and_probabilities() -> None:
    _, events = drive(setup_for("dabchick"), PUMPS, {**dead_from("fuse"), "repair": "bench"})
    record = encode(events[-1])
    assert record["ending"] == "noted"
    repairs = record["repairs"]
    assert isinstance(repairs, list)
    first = repairs[0]
    assert isinstance(first, dict)
    assert (first["place"], first["action"], first["ends"]) == ("fuse", "replace", None)
    assert first["mode"] == "open"
    assert isinstance(first["probability"], float)


def test_an_endless_limit_is_written_as_the_meter_shows_it() -> None:
    _, events = start(setup_for("dabchick"), PUMPS)
    assert "reading" not in encode(ask_in(events))
    fake = FakeDiagnosis(boat=boat("dabchick"), dead_ohms=True)
    _, events = fold(setup_for("dabchick", fake), PUMPS, [*TO_NARROWING, "3 V", "yes"])
    ask = ask_in(events)
    assert isinstance(ask, Ask)
    assert ask.measurement is not None
    assert ask.measurement.function is MeterFunction.OHMS


@pytest.mark.parametrize(
    ("line", "answer"),
    [
        ('{"answer": "OL"}', "OL"),
        ('{"answer": 11.1}', "11.1"),
        ('{"answer": 3}', "3"),
        ('{"answer": true}', "yes"),
        ('{"answer": false}', "no"),
        ('{"answer": ""}', ""),
    ],
)
def test_answers_as_a_person_would_type_them(line: str, answer: str) -> None:
    assert decode(line) == answer


@pytest.mark.parametrize(
    "line", ["", "yes", "[]", "{}", '{"answer": null}', '{"answer": {}}', "{" * 9_000, "x" * 20_000]
)
def test_other_lines_are_refused_with_a_hint(line: str) -> None:
    with pytest.raises(AnswerError) as caught:
        decode(line)
    assert '{"answer"' in caught.value.next_step


@given(st.text(max_size=80))
def test_no_line_does_harm(line: str) -> None:
    refused: AnswerError | None = None
    try:
        decode(line)
    except AnswerError as error:
        refused = error
    assert refused is None or refused.next_step
