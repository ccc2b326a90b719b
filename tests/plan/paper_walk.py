"""A person with a meter who has nothing but the printed tree, and a virtual boat."""

import re
from collections.abc import Mapping
from dataclasses import dataclass
from functools import cache
from random import Random

from assistant.catalogue import Action
from assistant.circuit import BoatState, Fault, Measurement, MeterFunction, build_network, forward_states
from assistant.cli.workbench import open_workbench
from assistant.diagnosis import Diagnosis, RepairId, SignQuery
from assistant.dialogue import Knowledge, SymptomGraph
from assistant.dialogue.words import sentence
from assistant.drill import Breakdown, Complaints, VirtualBoat
from assistant.plan import Sheet, symptom_sheet
from assistant.plan.expected import state_words
from assistant.plan.paper import Rung
from assistant.plan.sheet import complaint_of
from assistant.quantities import Unit, parse_quantity
from assistant.wiring import Boat, Point, label_of, point_label, points_of
from tests.plan.boats import example


@dataclass(frozen=True, slots=True, kw_only=True)
class Walked:
    """Where a walk ended, and how many readings and looks it took after the first look."""

    ends: str
    readings: int
    looks: int


@cache
def diagnosis_of(boat: str) -> Diagnosis:
    return Diagnosis(build_network(example(boat)))


@cache
def knowledge() -> Knowledge:
    return open_workbench().knowledge


def graph_of(symptom: str) -> SymptomGraph:
    return knowledge().symptoms[symptom]


@cache
def tree_of(boat: str, symptom: str) -> Sheet:
    return symptom_sheet(diagnosis_of(boat), knowledge(), graph_of(symptom))


def faults_of(boat: str, symptom: str) -> list[Breakdown]:
    """Return every fault that shows by the sign the symptom is about."""
    complaint, _ = complaint_of(example(boat), graph_of(symptom), "")
    diagnosis = diagnosis_of(boat)
    every = Complaints(diagnosis, forward_states(example(boat))).breakdowns()
    return [t for t in every if (t.complaint.part, t.complaint.sign) == (complaint.part, complaint.sign)]


class Paper:
    """The printed tree, read by its words alone."""

    def __init__(self, boat: str, symptom: str) -> None:
        self._boat: Boat = example(boat)
        tree = tree_of(boat, symptom).tree
        assert tree is not None
        self._rungs = {rung.number: rung for rung in tree.rungs}
        complaint, states = complaint_of(self._boat, graph_of(symptom), "")
        self._states: Mapping[str, BoatState] = {
            state_words(self._boat, s): s for s in (complaint.state, *states)
        }
        self._points: Mapping[str, Point] = {point_label(self._boat, p): p for p in points_of(self._boat)}

    def walk(self, boat: VirtualBoat) -> Walked:
        """Go from step 1 to an end."""
        rung, readings, looks = self._rungs[1], 0, -1
        while True:
            if rung.text.startswith("Volts: "):
                value = boat.read(self._measurement(rung))
                way = next((w for w in rung.ways if in_range(value, w.answer)), None)
                readings += 1
            else:
                query = self._query(rung)
                shown = self._boat.parts[query.part].kind.signs[query.sign].words
                way = next(
                    (w for w in rung.ways if w.answer == shown.get(level := boat.look(query), level)), None
                )
                looks += 1
            if way is None or way.step is None:
                return Walked(ends=way.ends if way else "", readings=readings, looks=looks)
            rung = self._rungs[way.step]

    def _measurement(self, rung: Rung) -> Measurement:
        red, black = rung.text.removeprefix("Volts: red on ").split(", black on ")
        return Measurement(
            function=MeterFunction.DC_VOLTS,
            red=self._points[red],
            black=self._points[black],
            state=self._states[rung.state],
        )

    def _query(self, rung: Rung) -> SignQuery:
        (found,) = [
            (part.id, sign.name)
            for part in self._boat.parts.values()
            for sign in part.kind.signs.values()
            if sentence(sign.ask.replace("{part}", label_of(self._boat, part.id))) == rung.text
        ]
        return SignQuery(part=found[0], sign=found[1], state=self._states[rung.state])

    def names(self, walked: Walked, repair: RepairId) -> bool:
        """Tell whether the end names this repair."""
        label = label_of(self._boat, repair.place)
        told = repair.action in {Action.REPLACE, Action.REMAKE}
        words = rf"{repair.action} {re.escape(label)}(?= [<>0-9]|[,;]|$)" if told else f"{re.escape(label)}: "
        return re.search(rf"(^|[;:,] ){words}", walked.ends) is not None


def in_range(value: float, answer: str) -> bool:
    """Tell whether a reading lies in a printed range."""
    words = answer.removesuffix(" (as expected)")
    if words.startswith("below "):
        return value < _volts(words.removeprefix("below "))
    if words.endswith(" or more"):
        return value >= _volts(words.removesuffix(" or more"))
    low, high = words.split(" to ")
    return _volts(low) <= value < _volts(high)


def _volts(text: str) -> float:
    return parse_quantity(text, Unit.VOLT).value


def boat_with(diagnosis: Diagnosis, faults: tuple[Fault, ...], seed: str) -> VirtualBoat:
    return VirtualBoat(diagnosis.table.solver, faults, Random(seed))
