"""What a person tells unasked: made usable by the questions that are missing, then taken like any answer."""

import pytest

from assistant.circuit import MeterFunction
from assistant.diagnosis import Lately, ReadingSeen, SignSeen
from assistant.dialogue import Show, State, Want, fold, start, step
from tests.dialogue.boats import ask_in, name_of, setup_for

PUMPS = "pumps-not-running"


def told(*texts: str) -> State:
    """Return the state after some lines typed at the first question."""
    return fold(setup_for("dabchick"), PUMPS, texts)[0]


def test_a_whole_reading_counts_at_once_and_the_question_stays() -> None:
    setup = setup_for("dabchick")
    first, events = start(setup, PUMPS)
    state, events = step(setup, first, "told 6 V from fuse out to pack - in running")
    (seen,) = state.evidence
    assert isinstance(seen, ReadingSeen)
    assert (str(seen.measurement.red), str(seen.measurement.black)) == ("fuse.out", "pack.-")
    assert (seen.value, seen.within) == (6.0, 0.5)
    assert seen.measurement.state == dict(first.states)["running"]
    assert name_of(ask_in(events)) == "danger"


def test_a_bare_figure_is_asked_for_points_and_load_one_at_a_time() -> None:
    setup = setup_for("dabchick")
    state = told("12 V")
    assert state.evidence == ()
    asked = []
    for answer in ("fuse.out", "pack.-", "running"):
        assert state.pending is not None
        asked.append(name_of(state.pending))
        state, _ = step(setup, state, answer)
    assert asked == ["told.red", "told.black", "told.state"]
    (seen,) = state.evidence
    assert isinstance(seen, ReadingSeen)
    assert seen.value == 12.0
    assert state.pending is not None
    assert name_of(state.pending) == "danger"


def test_a_figure_without_unit_is_asked_for_it_first() -> None:
    state = told("told 268 from fuse out to pack -")
    assert state.pending is not None
    assert name_of(state.pending) == "told.unit"
    state = told("told 268 from fuse out to pack -", "ohms")
    assert state.pending is not None
    assert name_of(state.pending) == "told.state"


def test_what_nobody_knows_of_a_figure_leaves_it_out() -> None:
    state = told("12 V", "don't know")
    assert state.evidence == ()
    assert state.pending is not None
    assert name_of(state.pending) == "danger"


def test_a_beep_is_continuity_with_every_pack_unplugged() -> None:
    (seen,) = told("told beep from fuse in to fuse out").evidence
    assert isinstance(seen, ReadingSeen)
    assert seen.measurement.function is MeterFunction.CONTINUITY
    assert seen.measurement.state.get("pack.plugged") == 0.0


def test_a_sign_told_is_not_asked_again() -> None:
    setup = setup_for("dabchick")
    state = told(
        "told pump turning still or weakly in running", "told receiver transmitter lamp lit in ready"
    )
    assert [piece.levels for piece in state.evidence if isinstance(piece, SignSeen)] == [
        ("still", "weakly"),
        ("lit",),
    ]
    for answer in ("yes", "yes", "yes", "yes"):
        state, _ = step(setup, state, answer)
    assert state.pending is not None
    assert name_of(state.pending) == "link"


def test_words_that_may_mean_two_things_are_asked_back() -> None:
    setup = setup_for("dabchick")
    state, _ = start(setup, PUMPS)
    again, events = step(setup, state, "told pump hot")
    assert again.pending is not None
    again, events = step(setup, state, "told pump blue")
    assert again == state
    assert isinstance(events[0], Show)
    assert "neither" in events[0].text


def test_what_was_touched_is_kept_and_back_takes_it_away() -> None:
    lately = told("told touched fuse, pack", "told replaced drive", "told wet").lately
    assert lately == Lately(touched=frozenset({"fuse", "pack"}), replaced=frozenset({"drive"}), wet=True)
    assert told("told touched fuse", "back").lately.touched == frozenset()


def test_a_state_can_be_spelled_out() -> None:
    (seen,) = told(
        "told pump turning still in pack.plugged=1 switch.closed=1 transmitter=1 throttle=0.5"
    ).evidence
    assert isinstance(seen, SignSeen)
    assert seen.query.state.get("throttle") == 0.5


@pytest.mark.parametrize(
    "text",
    [
        "told",
        "told 5 V from nowhere to pack -",
        "told 3 A from drive + to pack -",
        "told touched mast",
        "told still",
    ],
)
def test_what_names_nothing_of_this_boat_changes_nothing(text: str) -> None:
    setup = setup_for("dabchick")
    state, _ = start(setup, PUMPS)
    again, events = step(setup, state, text)
    assert again == state
    assert isinstance(events[0], Show)


def test_amps_count_in_the_place_of_what_was_opened_for_the_meter() -> None:
    (seen,) = told("told 5.1 A at fuse in running").evidence
    assert isinstance(seen, ReadingSeen)
    assert (seen.measurement.function, seen.value) == (MeterFunction.DC_AMPS, 5.1)
    assert {str(seen.measurement.red), str(seen.measurement.black)} == {"fuse.in", "fuse.out"}
    asked = told("1,5 A")
    assert asked.pending is not None
    assert name_of(asked.pending) == "told.pair"
    places = {option.text: option.key for option in asked.pending.options}
    assert "in the place of fuse" in places
    state, events = fold(setup_for("dabchick"), PUMPS, ("1,5 A", places["in the place of fuse"], "running"))
    assert "Taken: 1,5 A through fuse." in [event.text for event in events if isinstance(event, Show)]
    (seen,) = state.evidence
    assert isinstance(seen, ReadingSeen)
    assert seen.measurement.function is MeterFunction.DC_AMPS
    assert (seen.value, seen.within) == (1.5, 0.05)


@pytest.mark.parametrize(
    ("text", "function", "value"),
    [
        ("told 7,5 % from rudder s to rudder b in ready", MeterFunction.DUTY, 0.075),
        ("told 50 Hz from receiver.1s to receiver.1- in ready", MeterFunction.FREQUENCY, 50.0),
        ("told 20 mV AC from drive + to drive - in running", MeterFunction.AC_MILLIVOLTS, 0.02),
        ("told 0.02 VAC from drive + to drive - in running", MeterFunction.AC_MILLIVOLTS, 0.02),
    ],
)
def test_further_functions_count_where_they_can_be_worked_out(
    text: str, function: MeterFunction, value: float
) -> None:
    (seen,) = told(text).evidence
    assert isinstance(seen, ReadingSeen)
    assert seen.measurement.function is function
    assert seen.value == pytest.approx(value)


def test_a_figure_told_in_hertz_is_asked_for_the_signal_it_was_read_at() -> None:
    state = told("50 Hz")
    assert state.pending is not None
    assert name_of(state.pending) == "told.pair"
    assert any("rudder" in option.text or "drive" in option.text for option in state.pending.options)


def test_a_judgement_is_no_reading() -> None:
    setup = setup_for("dabchick")
    state = told("yes", "yes", "yes", "yes", "yes", "lit", "lit", "yes", "still", "dark")
    assert state.pending is not None
    assert state.pending.want is Want.READING
    again, events = step(setup, state, "fine")
    assert again == state
    assert isinstance(events[0], Show)
    assert "figure" in events[0].text


def test_a_confirmation_that_was_pending_still_has_its_question_behind_it() -> None:
    setup = setup_for("dabchick")
    state = told()
    while state.wanted is None:
        assert state.pending is not None
        state, _ = step(setup, state, "yes" if state.pending.want is Want.CONFIRM else "don't know")
    assert state.pending is not None
    gate, behind = name_of(state.pending), state.wanted
    assert behind is not None
    for answer in ("9 A", "don't know"):
        state, _ = step(setup, state, answer)
    assert state.pending is not None
    assert (name_of(state.pending), state.wanted) == (gate, behind)
    state, _ = step(setup, state, "yes")
    assert state.pending is not None
    assert name_of(state.pending) != gate
