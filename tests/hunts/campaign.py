"""Every fault that shows, hunted from the symptom to the verdict through the line protocol."""

import json
from collections.abc import Iterator, Sequence
from dataclasses import dataclass
from functools import cache
from pathlib import Path

from assistant.circuit import forward_states
from assistant.cli.workbench import choose_boat, open_workbench, read_boat
from assistant.diagnosis import Diagnosis
from assistant.dialogue import Setup
from assistant.drill import Breakdown, Complaints
from assistant.session import Session, decode, encode
from assistant.wiring import load_boat
from tests.cli.person import METER
from tests.hunts.line_person import LinePerson

SYMPTOM_OF_GROUP = {
    "motor": "pumps-not-running",
    "servo": "servo-jitter",
    "relay": "relay-clicking",
    "radio": "receiver-brownout",
    "light": "lights-out",
    "instrument": "instrument-resets",
}
"""What a person picks who notices something about a part of this group."""

_MOST_ANSWERS = 80


@dataclass(frozen=True, slots=True, kw_only=True)
class Played:
    """How a hunt ended: the place and action that cured, and what the conclusion named."""

    breakdown: Breakdown
    symptom: str
    ending: str
    named: tuple[tuple[str, str], ...]
    readings: int

    @property
    def found(self) -> bool:
        """Tell whether the right repair was named."""
        cure = self.breakdown.hypothesis.repairs[0]
        return (cure.place, str(cure.action)) in self.named


@cache
def setup_of(boat: str) -> Setup:
    """Return what a dialogue about an example boat runs on, its fault table shared by all hunts."""
    bench = open_workbench()
    file = choose_boat(boat, Path("/nowhere"))
    return bench.setup(load_boat(read_boat(file), file.place, bench.catalogue), METER)


def shown(setup: Setup) -> Sequence[Breakdown]:
    """Return every fault that shows by something for which there is a symptom."""
    assert isinstance(setup.diagnosis, Diagnosis)
    every = Complaints(setup.diagnosis, forward_states(setup.boat)).breakdowns()
    return [t for t in every if setup.boat.parts[t.complaint.part].kind.group in SYMPTOM_OF_GROUP]


def play(setup: Setup, breakdown: Breakdown | None, part: str, seed: str) -> Played | tuple[str, int]:
    """Play one hunt; without a breakdown the boat is well, and ending and readings come back."""
    assert isinstance(setup.diagnosis, Diagnosis)
    symptom = SYMPTOM_OF_GROUP[setup.boat.parts[part].kind.group]
    person = LinePerson(setup.diagnosis.table.solver, breakdown.faults if breakdown else (), part, seed)
    session = Session(setup, symptom)
    for _ in range(_MOST_ANSWERS):
        last = json.loads(json.dumps(encode(session.events[-1])))
        if last["event"] != "ask":
            break
        session.answer(decode(json.dumps({"answer": person.answer(last)})), "now")
    end = json.loads(json.dumps(encode(session.events[-1])))
    ending = end.get("ending", "asked on")
    if breakdown is None:
        return str(ending), person.readings
    named = tuple((r["place"], r["action"]) for r in end.get("repairs", ()))
    return Played(breakdown=breakdown, symptom=symptom, ending=ending, named=named, readings=person.readings)


def campaign(boat: str, *, every: int = 1) -> Iterator[Played]:
    """Yield how every hunt of a boat goes, or each `every`-th of them."""
    setup = setup_of(boat)
    for breakdown in shown(setup)[::every]:
        played = play(setup, breakdown, breakdown.complaint.part, f"hunt {breakdown.number}")
        assert isinstance(played, Played)
        yield played
