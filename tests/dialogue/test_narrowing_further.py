"""How readings of a meter's further functions are asked for: what comes before, what is set, what is said."""

from dataclasses import replace

import pytest

from assistant.circuit import Measurement, MeterFunction, is_unplugged, ready_state, rest_state
from assistant.circuit.expectation import Band
from assistant.diagnosis import ReadingSeen
from assistant.diagnosis.model import Step, StepKind
from assistant.dialogue import Event, Setup, Show, Warn, fold, step
from assistant.dialogue.answers import answer_of
from assistant.dialogue.narrowing import ask_of, may_ask, take
from assistant.dialogue.spans import expected_words
from assistant.dialogue.state import Purpose, State
from assistant.dialogue.turn import Turn
from assistant.dialogue.words import echo, probing
from assistant.quantities import Quantity, Unit
from assistant.wiring import Point
from tests.dialogue.boats import PUMPS, ask_in, name_of, setup_for
from tests.dialogue.test_engine import TO_NARROWING


def over(setup: Setup, part: str, function: MeterFunction, *, live: bool = False) -> Step:
    """Return a step that reads over a part, at rest or with everything plugged in."""
    first, second = (Point(part=part, terminal=name) for name in setup.boat.parts[part].kind.through)
    state = ready_state(setup.boat) if live else rest_state(setup.boat)
    return Step(
        kind=StepKind.READ,
        measurement=Measurement(function=function, red=first, black=second, state=state),
        band=Band(typical=0.07, low=0.06, high=0.08),
        query=None,
        levels={},
        gain_bits=1.0,
        seconds=30.0,
    )


def put(setup: Setup, step: Step) -> tuple[Turn, list[Event]]:
    """Return the turn in which a step is put, and what it says."""
    state, _ = fold(setup, "lights-out", [])
    turn = Turn(setup, state)
    turn.present(ask_of(setup, step, "narrow.1", "why"), Purpose.STEP)
    return turn, turn.events


def test_a_diode_test_waits_until_every_pack_is_said_to_be_unplugged() -> None:
    setup = setup_for("pochard")
    turn, events = put(setup, over(setup, "stern-light", MeterFunction.DIODE_TEST))
    assert name_of(ask_in(events)) == "unplug"
    _, after = step(setup, turn.state, "yes")
    ask = ask_in(after)
    assert ask.measurement is not None
    assert ask.measurement.function is MeterFunction.DIODE_TEST
    assert "diode test" in ask.text
    assert "red lead in the volts hole" in ask.how


def test_what_the_meter_lacks_is_not_asked_for() -> None:
    setup = setup_for("pochard")
    diode_test = over(setup, "stern-light", MeterFunction.DIODE_TEST)
    assert may_ask(setup, diode_test)
    volts = replace(setup, functions=frozenset({MeterFunction.DC_VOLTS}))
    assert not may_ask(volts, diode_test)


def test_a_junction_that_should_block_is_said_to_be_low_and_ol_as_expected() -> None:
    setup = setup_for("pochard")
    measurement = over(setup, "stern-light", MeterFunction.DIODE_TEST).measurement
    assert measurement is not None
    blocks = Band(typical=float("inf"), low=float("inf"), high=float("inf"))
    assert expected_words(blocks, Unit.VOLT) == "OL (no connection)"
    assert "low" in echo(Quantity(value=0.002, unit=Unit.VOLT), measurement, blocks)
    assert "as expected" in echo(Quantity(value=float("inf"), unit=Unit.VOLT), measurement, blocks)


def until_amps(setup: Setup) -> tuple[State, tuple[Event, ...], list[str]]:
    """Return where the current in the place of the fuse is asked for, and what had to be agreed to before."""
    state, _ = fold(setup, PUMPS, TO_NARROWING)
    turn = Turn(setup, state)
    amps = over(setup, "fuse", MeterFunction.DC_AMPS, live=True)
    turn.present(ask_of(setup, amps, "narrow.1", "why"), Purpose.STEP)
    gates = []
    state, events = turn.state, tuple(turn.events)
    while name_of(ask_in(events)) != "narrow.1":
        gates.append(name_of(ask_in(events)))
        state, events = step(setup, state, "yes")
    return state, events, gates


def cautions_for_volts(setup: Setup, state: State) -> list[str]:
    """Return the cautions that come before a reading of volts."""
    turn = Turn(setup, state)
    volts = over(setup, "fuse", MeterFunction.DC_VOLTS, live=True)
    turn.present(ask_of(setup, volts, "narrow.2", "why"), Purpose.STEP)
    return [event.caution for event in turn.events if isinstance(event, Warn)]


def test_for_amps_the_pack_is_unplugged_the_caution_agreed_to_and_all_put_back() -> None:
    setup = setup_for("dabchick")
    state, events, gates = until_amps(setup)
    assert gates[0] == "unplug"
    assert "caution.meter-in-series" in gates
    ask = ask_in(events)
    assert "pull fuse" in ask.text
    assert "largest range" in ask.text
    assert "pack.plugged" in [change.setting for change in ask.changes]
    state, events = step(setup, state, "70 mA")
    said = [event.text for event in events if isinstance(event, Show)]
    assert any("I read 70 mA: as expected" in text for text in said)
    assert any("back into the volts hole" in text and "push the same fuse home" in text for text in said)
    assert ask.measurement is not None
    assert ReadingSeen(measurement=ask.measurement, value=0.07) in state.evidence
    assert is_unplugged(setup.boat, state.boat_state)


@pytest.mark.parametrize("answer", ["70 mA", "don't know"])
def test_after_amps_the_hole_of_the_red_lead_is_told_before_volts_once_more(answer: str) -> None:
    setup = setup_for("dabchick")
    state, _, _ = until_amps(setup)
    warned = replace(state, warned=frozenset(setup.knowledge.cautions))
    assert "meter-on-volts" not in cautions_for_volts(setup, warned)
    turn = Turn(setup, warned)
    assert warned.pending is not None
    take(turn, warned.pending, answer_of(answer, warned.pending))
    assert "meter-on-volts" in cautions_for_volts(setup, turn.state)


def test_when_amps_cannot_be_had_what_was_opened_is_closed_all_the_same() -> None:
    setup = setup_for("dabchick")
    state, _, _ = until_amps(setup)
    _, events = step(setup, state, "can't reach")
    assert any("If anything was opened" in event.text for event in events if isinstance(event, Show))


def test_a_signal_on_dc_volts_is_told_to_be_the_mean_of_pulses() -> None:
    boat = setup_for("dabchick").boat
    state = ready_state(boat)
    signal, minus, plus = (Point(part="receiver", terminal=name) for name in ("1s", "1-", "1+"))
    volts = Measurement(function=MeterFunction.DC_VOLTS, red=signal, black=minus, state=state)
    assert "mean" in probing(boat, volts)
    assert "mean" not in probing(boat, replace(volts, red=plus))
    assert "mean" not in probing(boat, replace(volts, function=MeterFunction.OHMS))
