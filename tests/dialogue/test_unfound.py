"""What is said when nothing was found: on what that rests, what was left out, and how to catch what comes and goes."""

from pathlib import Path
from random import Random

import pytest

from assistant.circuit import ready_state
from assistant.cli.workbench import open_workbench
from assistant.diagnosis import Diagnosis, Outcome, SignQuery, SignSeen, Unsteady, Wiggle, Wiggled
from assistant.dialogue import Phase, Setup, Show, State, start, step
from assistant.dialogue.events import Event
from assistant.dialogue.unfound import in_vain_text, looked_at_text
from assistant.drill.virtual import VirtualBoat
from assistant.wiring import label_of, load_boat
from tests.dialogue.test_wiggling import _answer

SYMPTOM = "pumps-not-running"


@pytest.fixture(scope="module")
def setup() -> Setup:
    bench = open_workbench()
    text = (Path(__file__).parents[2] / "cases" / "dabchick.yaml").read_text(encoding="utf-8")
    return bench.setup(load_boat(text, "dabchick.yaml", bench.catalogue), ())


def played(setup: Setup, symptom: str, said: str) -> tuple[State, list[Event]]:
    """Return how a hunt on a healthy boat ends whose owner answers the first look at the pump with something."""
    assert isinstance(setup.diagnosis, Diagnosis)
    boat = VirtualBoat(setup.diagnosis.table.solver, (), Random(4))
    state, events = start(setup, symptom)
    shown = list(events)
    told = False
    for _ in range(90):
        ask = state.pending
        if ask is None or state.phase is Phase.REPAIR:
            break
        complaint = ask.query is not None and (ask.query.part, ask.query.sign) == ("pump", "turning")
        text = said if complaint and not told else _answer(ask, boat)
        told = told or complaint
        if ask.id.endswith("again"):
            text = "stops"
        state, events = step(setup, state, text)
        shown += events
    return state, shown


def test_what_is_said_to_come_and_go_and_did_not_while_watched_accuses_no_place(setup: Setup) -> None:
    state, events = played(setup, SYMPTOM, "comes and goes")
    assert state.verdict is not None
    assert state.verdict.outcome is Outcome.UNCAUGHT
    told = "\n".join(event.text for event in events if isinstance(event, Show))
    assert "So no place is named." in told
    assert "To catch it, let it run as when it fails and watch:" in told
    assert "Move these first" in told
    assert "I do not know" not in told
    assert "Mend it now" not in told
    assert state.phase is Phase.DONE


@pytest.fixture(scope="module")
def pump(setup: Setup) -> SignQuery:
    held = {"pack.plugged": 1.0, "switch.closed": 1.0, "transmitter": 1.0, "throttle": 1.0}
    return SignQuery(part="pump", sign="turning", state=ready_state(setup.boat).with_(held))


def test_places_to_move_first_are_those_that_may_come_and_go_in_order(setup: Setup, pump: SignQuery) -> None:
    told = (SignSeen(query=pump, levels=("still",)), Unsteady(asked=pump))
    verdict = setup.diagnosis.verdict(setup.diagnosis.belief(told), None)
    moved = Wiggled(asked=Wiggle(place="switch", watched=pump), changed=False)
    text = in_vain_text(setup.boat, verdict, (*told, moved))
    listed = [line for line in text.splitlines() if line[:1].isdigit()]
    assert 3 <= len(listed) <= 6
    may = {
        s.repair.place: s.probability
        for s in reversed(verdict.suspects)
        if setup.boat.parts[s.modes[0].part].kind.faults[s.modes[0].mode].intermittent
    }
    best = max(may, key=lambda place: may[place])
    assert listed[0].startswith(f"1. {label_of(setup.boat, best)}")
    assert "Leave the meter clipped on, DC volts, red on " in text


def test_a_boat_called_well_is_told_with_what_that_rests_on(setup: Setup, pump: SignQuery) -> None:
    seen = (SignSeen(query=pump, levels=("still",)),)
    verdict = setup.diagnosis.verdict(setup.diagnosis.belief(seen), None)
    text = looked_at_text(setup.boat, verdict, seen)
    assert text.startswith("1 look and 0 readings, and none amiss: ")
    left_out = text.partition("Neither looked at nor read: ")[2].partition(".")[0]
    assert "pump" not in left_out
    assert "rudder" in left_out
    assert "comes and goes" in text
    assert "They say least about: " in text
