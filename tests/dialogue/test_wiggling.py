"""A fault that comes and goes in the dialogue: it is said once, places are moved, and only holding still is a proof."""

from __future__ import annotations

from pathlib import Path
from random import Random

import pytest

from assistant.circuit import Fault
from assistant.cli.showing import seen_so_far
from assistant.diagnosis import Diagnosis, Unsteady, Wiggled
from assistant.dialogue import Ask, Conclude, Ending, Phase, Setup, Show, State, Want, fold, start, step
from assistant.dialogue.answers import UNIT_OF, Chosen, answer_of
from assistant.dialogue.events import ManipulationKind
from assistant.dialogue.wiggling import CHANGED, CHANGES, STAYS
from assistant.drill.virtual import VirtualBoat
from assistant.quantities import Unit
from assistant.session import encode
from assistant.wiring import load_boat
from tests.support.workbench import shared_workbench

SYMPTOM = "pumps-not-running"
LOOSE = "drive.A--pump.+@2"


@pytest.fixture(scope="module")
def setup() -> Setup:
    bench = shared_workbench()
    text = (Path(__file__).parents[2] / "cases" / "dabchick.yaml").read_text(encoding="utf-8")
    return bench.setup(load_boat(text, "dabchick.yaml", bench.catalogue), ())


@pytest.fixture(scope="module")
def played(setup: Setup) -> tuple[list[State], list[Ask], list[str]]:
    """Return states, questions and answers of a hunt for a loose joint, up to the verdict."""
    assert isinstance(setup.diagnosis, Diagnosis)
    boat = VirtualBoat(setup.diagnosis.table.solver, (Fault(LOOSE, "loose"),), Random(4), away=0.4)
    state, _ = start(setup, SYMPTOM)
    states, asks, typed = [state], list[Ask](), list[str]()
    said = False
    while state.pending is not None and state.phase is not Phase.REPAIR and len(typed) < 80:
        boat.let_time_pass()
        ask = state.pending
        complaint = ask.query is not None and (ask.query.part, ask.query.sign) == ("pump", "turning")
        while complaint and not boat.is_troubled:
            boat.let_time_pass()
        text = "comes and goes" if complaint and not said else _answer(ask, boat)
        said = said or complaint
        asks.append(ask)
        typed.append(text)
        state, _ = step(setup, state, text)
        states.append(state)
    return states, asks, typed


def _answer(ask: Ask, boat: VirtualBoat) -> str:
    if ask.wiggle is not None:
        return CHANGES if boat.wiggle(ask.wiggle) else STAYS
    if ask.query is not None:
        return boat.look(ask.query)
    if ask.measurement is not None:
        unit, value = UNIT_OF[ask.measurement.function], boat.read(ask.measurement)
        return f"{value:.4f} V" if unit is Unit.VOLT else "don't know"
    if ask.want is Want.CONFIRM:
        return "yes"
    return ask.options[-1].key if ask.options and ask.default is None else ""


def test_saying_that_it_comes_and_goes_brings_places_to_be_moved(
    setup: Setup, played: tuple[list[State], list[Ask], list[str]]
) -> None:
    states, asks, _ = played
    assert any(isinstance(piece, Unsteady) for piece in states[-1].evidence)
    moves = [ask for ask in asks if ask.wiggle is not None]
    assert moves
    for ask in moves:
        assert ask.wiggle is not None
        assert [option.key for option in ask.options] == [CHANGES, STAYS]
        assert ask.manipulation is not None
        assert ask.manipulation.kind is ManipulationKind.WIGGLE
        assert "hands-clear" in ask.cautions
        assert "As it should be:" in ask.text
        assert "Press " in ask.text
        assert "and watch" in ask.text
        assert "Do not pull it apart" in " ".join(ask.how.split())
        fields = encode(ask)
        assert fields["manipulation"]
        assert fields["watch"]
    moved = [piece for piece in states[-1].evidence if isinstance(piece, Wiggled)]
    assert len(moved) == len(moves)
    words = [seen.shown for seen in seen_so_far(setup, moved)]
    assert set(words) <= set(CHANGED.values())


@pytest.mark.parametrize(
    ("text", "key"),
    [
        ("jumps", CHANGES),
        ("It flickers", CHANGES),
        ("comes and goes", CHANGES),
        ("yes", CHANGES),
        ("it changes", CHANGES),
        ("nothing", STAYS),
        ("No change", STAYS),
        ("it doesn't change", STAYS),
        ("steady", STAYS),
        ("stays", STAYS),
    ],
)
def test_what_comes_of_moving_a_place_is_understood_as_people_put_it(
    played: tuple[list[State], list[Ask], list[str]], text: str, key: str
) -> None:
    _, asks, _ = played
    ask = next(one for one in asks if one.wiggle is not None)
    assert answer_of(text, ask) == Chosen(key=key)


def test_the_verdict_names_it_and_says_that_it_comes_and_goes(
    setup: Setup, played: tuple[list[State], list[Ask], list[str]]
) -> None:
    states, _, typed = played
    verdict = states[-1].verdict
    assert verdict is not None
    assert verdict.suspects[0].repair.place == LOOSE
    _, events = step(setup, states[-2], typed[-1])
    told = next(event.text for event in events if isinstance(event, Show) and event.id.endswith("verdict"))
    assert "It comes and goes" in told


def test_taking_back_and_replaying_give_the_same_state(
    setup: Setup, played: tuple[list[State], list[Ask], list[str]]
) -> None:
    states, _, typed = played
    again, _ = fold(setup, SYMPTOM, typed)
    assert again.evidence == states[-1].evidence
    before, _ = step(setup, states[-1], "back")
    assert before.evidence == states[-2].evidence


def test_mended_is_only_what_holds_while_it_is_moved(
    setup: Setup, played: tuple[list[State], list[Ask], list[str]]
) -> None:
    states, _, _ = played
    state, _ = step(setup, states[-1], "")
    while state.pending is not None and state.pending.want is Want.CONFIRM:
        state, _ = step(setup, state, "yes")
    assert state.pending is not None
    assert "some minutes" in state.pending.text
    assert "pack plug: plugged in" in [change.text for change in state.pending.changes]
    assert "hands-clear" in state.pending.cautions
    _, events = step(setup, state, "yes")
    ended = [event for event in events if isinstance(event, Conclude)]
    assert [end.ending for end in ended] == [Ending.MENDED]


def test_a_pump_that_stops_when_wires_are_pushed_comes_and_goes_without_anybody_saying_so(
    setup: Setup,
) -> None:
    answers = ["yes", "yes", "yes", "lit", "lit", "yes", "runs", "stops"]
    state, _ = fold(setup, SYMPTOM, answers)
    assert isinstance(state.evidence[-1], Unsteady)
    assert state.evidence[-1].asked == state.evidence[-2].asked
    assert state.phase is Phase.NARROWING
