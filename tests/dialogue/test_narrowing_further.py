"""How readings of a meter's further functions are asked for: what comes before, what is set, what is said."""

from dataclasses import replace

from assistant.circuit import Measurement, MeterFunction, rest_state
from assistant.circuit.expectation import Band
from assistant.diagnosis.model import Step, StepKind
from assistant.dialogue import Event, Setup, fold, step
from assistant.dialogue.narrowing import ask_of, may_ask
from assistant.dialogue.spans import expected_words
from assistant.dialogue.state import Purpose
from assistant.dialogue.turn import Turn
from assistant.dialogue.words import echo
from assistant.quantities import Quantity, Unit
from assistant.wiring import Point
from tests.dialogue.boats import ask_in, name_of, setup_for


def over(setup: Setup, part: str, function: MeterFunction) -> Step:
    """Return a step that reads over a part at rest."""
    first, second = (Point(part=part, terminal=name) for name in setup.boat.parts[part].kind.through)
    measurement = Measurement(function=function, red=first, black=second, state=rest_state(setup.boat))
    return Step(
        kind=StepKind.READ,
        measurement=measurement,
        band=Band(typical=0.55, low=0.45, high=0.65),
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
