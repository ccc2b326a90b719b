"""What people type, understood by what was asked."""

import math
from dataclasses import replace

import pytest
from hypothesis import given
from hypothesis import strategies as st

from assistant.circuit import LAMP_LEVELS, Measurement, MeterFunction, ready_state
from assistant.diagnosis import SignQuery
from assistant.dialogue import Ask, Option, Unable, Want, Word
from assistant.dialogue.answers import Chosen, Said, answer_of, aside_of
from assistant.dialogue.words import lamp_option
from assistant.errors import AnswerError, BoatsideError, QuantityError
from assistant.quantities import Quantity
from assistant.wiring import Point
from tests.dialogue.boats import boat

CHOICE = Ask(
    id="n01.turning",
    text="How does it turn?",
    want=Want.CHOICE,
    options=(
        Option(key="still", text="it does not turn"),
        Option(key="weakly", text="it turns weakly"),
        Option(key="runs", text="runs as it should"),
    ),
)
CONFIRM = Ask(id="n01.held", text="Held?", want=Want.CONFIRM)
TEXT = Ask(id="n01.words", text="Words?", want=Want.TEXT, default="")


def reading(function: MeterFunction) -> Ask:
    measurement = Measurement(
        function=function,
        red=Point(part="pack", terminal="+"),
        black=Point(part="pack", terminal="-"),
        state=ready_state(boat("dabchick")),
    )
    return Ask(id="n01.read", text="?", want=Want.READING, measurement=measurement)


VOLTS, OHMS, BEEP, DIODE, AMPS = (
    reading(f)
    for f in (
        MeterFunction.DC_VOLTS,
        MeterFunction.OHMS,
        MeterFunction.CONTINUITY,
        MeterFunction.DIODE_TEST,
        MeterFunction.DC_AMPS,
    )
)


def value_of(text: str, ask: Ask) -> float:
    given = answer_of(text, ask)
    assert isinstance(given, Quantity)
    return given.value


@pytest.mark.parametrize(
    ("text", "key"),
    [
        ("still", "still"),
        ("2", "weakly"),
        ("it turns", "weakly"),
        ("RUNS", "runs"),
        ("r", "runs"),
        ("turns wekly", "weakly"),
        ("should", "runs"),
    ],
)
def test_a_choice_by_key_number_start_or_words(text: str, key: str) -> None:
    assert answer_of(text, CHOICE) == Chosen(key=key)


@pytest.mark.parametrize("text", ["it", "4", "0", "", "-1", "9" * 50])
def test_a_choice_that_fits_none_or_several_is_refused(text: str) -> None:
    with pytest.raises(AnswerError):
        answer_of(text, CHOICE)


def test_nothing_is_the_answer_that_something_does_not_show_where_there_is_only_one() -> None:
    lamp = replace(CHOICE, options=tuple(lamp_option(level) for level in LAMP_LEVELS))
    clicks = (Option(key="silent", text="no click"), Option(key="clicks", text="one clear click"))
    assert answer_of("nothing", lamp) == Chosen(key="dark")
    assert answer_of("nothing", replace(CHOICE, options=clicks)) == Chosen(key="silent")
    both = (*clicks, Option(key="dark", text="it is dark"))
    with pytest.raises(AnswerError):
        answer_of("nothing", replace(CHOICE, options=both))


@pytest.mark.parametrize(
    ("text", "level"), [("off", "dark"), ("faint", "dim"), ("dim", "dim"), ("lit", "bright")]
)
def test_a_test_lamp_is_spoken_of_as_people_do(text: str, level: str) -> None:
    lamp = replace(CHOICE, options=tuple(lamp_option(one) for one in LAMP_LEVELS))
    assert answer_of(text, lamp) == Chosen(key=level)


@pytest.mark.parametrize(("text", "key"), [("y", "yes"), ("Done", "yes"), ("N", "no")])
def test_a_confirmation(text: str, key: str) -> None:
    assert answer_of(text, CONFIRM) == Chosen(key=key)


def test_an_empty_confirmation_of_a_safe_step_means_nothing() -> None:
    with pytest.raises(AnswerError, match="nothing was typed"):
        answer_of("", CONFIRM)


@pytest.mark.parametrize(("text", "volts"), [("11,1", 11.1), ("1500 mV", 1.5), ("-7.2V", -7.2), ("0", 0.0)])
def test_volts(text: str, volts: float) -> None:
    assert value_of(text, VOLTS) == volts


def test_an_overload_on_volts_asks_for_another_range() -> None:
    with pytest.raises(AnswerError, match="range"):
        answer_of("OL", VOLTS)


def test_an_overload_on_ohms_is_a_reading() -> None:
    assert value_of("OL", OHMS) == math.inf
    assert value_of("no beep", BEEP) == math.inf
    assert value_of("beep", BEEP) == 0.0


@pytest.mark.parametrize(("ask", "text"), [(VOLTS, "3 A"), (VOLTS, "5000"), (OHMS, "-3"), (VOLTS, "nan")])
def test_readings_out_of_this_world_are_refused(ask: Ask, text: str) -> None:
    with pytest.raises(QuantityError):
        answer_of(text, ask)


@pytest.mark.parametrize(
    ("text", "unable"),
    [
        ("can't reach", Unable.CANT_REACH),
        ("Cant  Reach", Unable.CANT_REACH),
        ("don’t know", Unable.DONT_KNOW),
        ("skip", Unable.SKIP),
    ],
)
def test_ways_to_leave_it_open(text: str, unable: Unable) -> None:
    for ask in (CHOICE, CONFIRM, VOLTS):
        assert answer_of(text, ask) is unable


@pytest.mark.parametrize(
    "text", ["comes and goes", "it jumps", "It changes", "now and then", "stops and goes"]
)
def test_what_is_read_or_seen_may_come_and_go_and_nothing_else(text: str) -> None:
    query = SignQuery(part="pump", sign="turning", state=ready_state(boat("dabchick")))
    for ask in (VOLTS, replace(CHOICE, query=query)):
        assert answer_of(text, ask) is Unable.COMES_AND_GOES
    for ask in (CHOICE, CONFIRM):
        with pytest.raises(AnswerError):
            answer_of(text, ask)


def test_free_words_are_kept_as_said() -> None:
    assert answer_of("  only after rain ", TEXT) == Said(text="only after rain")
    assert answer_of("", TEXT) == Said(text="")
    with pytest.raises(AnswerError, match="400"):
        answer_of("x" * 401, TEXT)


def test_asides() -> None:
    aside = aside_of("note sand in the pump")
    assert aside is not None
    assert (aside.word, aside.rest) == (Word.NOTE, "sand in the pump")
    assert aside_of("WHY?") is not None
    assert aside_of("whynot") is None


@given(st.text(max_size=60))
def test_no_text_does_harm(text: str) -> None:
    aside_of(text)
    for ask in (CHOICE, CONFIRM, VOLTS, OHMS, BEEP, TEXT):
        refused: BoatsideError | None = None
        try:
            answer_of(text, ask)
        except BoatsideError as error:
            refused = error
        assert refused is None or refused.next_step


@pytest.mark.parametrize(
    ("text", "volts"),
    [
        ("0.56", 0.56),
        ("560 mV", 0.56),
        ("560", 0.56),
        ("0,56 V", 0.56),
        ("1746", 1.746),
        ("0", 0.0),
        ("OL", float("inf")),
    ],
)
def test_a_diode_test_is_typed_in_volts_or_as_the_display_counts_in_millivolts(
    text: str, volts: float
) -> None:
    assert value_of(text, DIODE) == pytest.approx(volts)


@pytest.mark.parametrize("text", ["560 ohm", "-0.5", "12 V", "0.5 A", "good"])
def test_what_no_diode_test_shows_is_refused(text: str) -> None:
    with pytest.raises((QuantityError, AnswerError)):
        answer_of(text, DIODE)


@pytest.mark.parametrize("text", ["5 0", "0 to 5 V", "4.8/5.1", "between 3,9 and 5"])
def test_a_display_that_jumps_is_no_figure_and_the_way_to_say_so_is_told(text: str) -> None:
    with pytest.raises(AnswerError, match="more than one figure") as told:
        answer_of(text, VOLTS)
    assert "comes and goes" in str(told.value)


@pytest.mark.parametrize("text", ["4k7", "1e3 ohm"])
def test_figures_that_are_one_are_taken(text: str) -> None:
    assert value_of(text, OHMS) in (4700.0, 1000.0)


@pytest.mark.parametrize(
    ("text", "amps"),
    [
        ("0.15", 0.15),
        ("150 mA", 0.15),
        ("150", 0.15),
        ("-42,5 mA", -0.0425),
        ("3.2 A", 3.2),
        ("820 uA", 82e-5),
        ("20", 20.0),
    ],
)
def test_amps_are_typed_in_any_size_and_many_without_unit_are_milliamperes(text: str, amps: float) -> None:
    assert value_of(text, AMPS) == pytest.approx(amps)


@pytest.mark.parametrize(
    ("text", "said"), [("OL", "range is too small"), ("7.2 V", "wanted amps"), ("3 ohm", "wanted amps")]
)
def test_what_no_current_range_shows_is_refused_with_the_reason(text: str, said: str) -> None:
    with pytest.raises((QuantityError, AnswerError), match=said):
        answer_of(text, AMPS)


@pytest.mark.parametrize(
    ("function", "text", "value"),
    [
        (MeterFunction.DUTY, "7,5", 0.075),
        (MeterFunction.DUTY, "7.5 %", 0.075),
        (MeterFunction.DUTY, "no pulses", 0.0),
        (MeterFunction.FREQUENCY, "50.1 Hz", 50.1),
        (MeterFunction.FREQUENCY, "---", 0.0),
        (MeterFunction.AC_MILLIVOLTS, "12", 0.012),
        (MeterFunction.AC_MILLIVOLTS, "0,02 V", 0.02),
    ],
)
def test_further_functions_are_typed_as_their_displays_count(
    function: MeterFunction, text: str, value: float
) -> None:
    assert value_of(text, reading(function)) == pytest.approx(value)


@pytest.mark.parametrize(
    ("function", "text"),
    [
        (MeterFunction.DUTY, "120 %"),
        (MeterFunction.DUTY, "5 V"),
        (MeterFunction.FREQUENCY, "-50"),
        (MeterFunction.AC_MILLIVOLTS, "OL"),
    ],
)
def test_what_no_further_function_shows_is_refused(function: MeterFunction, text: str) -> None:
    with pytest.raises((AnswerError, QuantityError)):
        answer_of(text, reading(function))
