"""Playing a field report through the line protocol: what was told, then the tool's own questions.

What the report gives is typed first, with ``told``.  Whatever the tool then asks is answered by a virtual boat with the
cause that was found, which knows its circuit alone; a question of the graph that the report answers gets that answer.
"""

import json
from collections.abc import Mapping
from dataclasses import dataclass
from typing import Any

from assistant.cli.workbench import Workbench
from assistant.diagnosis import Diagnosis, Outcome
from assistant.diagnosis.verdict import verdict_of
from assistant.dialogue import Setup
from assistant.session import Session, decode, encode
from assistant.wiring import load_boat
from tests.cli.person import METER
from tests.field.report import FieldReport
from tests.hunts.line_person import LinePerson

MOST_IN_A_GROUP = 3
_MOST_ANSWERS = 90

Line = Mapping[str, Any]


@dataclass(frozen=True, slots=True, kw_only=True)
class Row:
    """How a report went.

    Attributes
    ----------
    rank, probability : of the true cause after what was told; rank 0 when it is in no story.
    questions : readings and signs the tool asked for after that, until it named something.
    ending : how the dialogue ended.
    named : places named at the end, likeliest first.
    wrong : places named alone on the way, or at the end, that were not the cause.
    """

    report: FieldReport
    rank: int
    probability: float
    questions: int
    ending: str
    named: tuple[str, ...]
    wrong: tuple[str, ...]

    @property
    def found(self) -> bool:
        """Tell whether the cause was named alone or in a small group."""
        places = {cause.place for cause in self.report.causes}
        if not places:
            return self.ending in ("healthy", "well")
        return len(self.named) <= MOST_IN_A_GROUP and bool(places & set(self.named))

    @property
    def alone(self) -> bool:
        """Tell whether it was named alone."""
        return self.found and len(self.named) <= 1

    def result(self) -> str:
        """Return the outcome in a word or two."""
        if self.alone:
            return "alone" if self.report.causes else "no fault"
        return f"group of {len(self.named)}" if self.found else "MISSED"


def play(bench: Workbench, report: FieldReport) -> Row:
    """Play one report."""
    boat = load_boat(report.wiring, f"{report.name}.yaml", bench.catalogue)
    setup = bench.setup(boat, METER)
    return Player(setup, report).row()


class Player:
    """One report on its way through a session."""

    def __init__(self, setup: Setup, report: FieldReport) -> None:
        assert isinstance(setup.diagnosis, Diagnosis)
        self._report = report
        self._diagnosis = setup.diagnosis
        self._session = Session(setup, report.symptom)
        solver = self._diagnosis.table.solver
        for cause in report.causes:
            assert cause.mode in setup.boat.parts[cause.place].kind.faults, (report.name, cause)
        self._person = LinePerson(solver, report.faults, report.complains, f"field {report.name}")
        self._wrong: list[str] = []

    def row(self) -> Row:
        """Play it to the end."""
        self._choose_parts()
        for line in self._report.lines(self._session.setup.boat):
            before = self._session.state
            self._type(line)
            assert self._session.state != before, (self._report.name, line, self._said())
            self._watch()
        rank, probability = self._standing()
        questions = self._ask_on()
        end = json.loads(json.dumps(encode(self._session.events[-1])))
        named = tuple(dict.fromkeys(r["place"] for r in end.get("repairs", ())))
        if len(named) == 1:
            self._note_wrong(named[0])
        return Row(
            report=self._report,
            rank=rank,
            probability=probability,
            questions=questions,
            ending=end.get("ending", "asked on"),
            named=named,
            wrong=tuple(dict.fromkeys(self._wrong)),
        )

    def _type(self, answer: str) -> None:
        self._session.answer(decode(json.dumps({"answer": answer})), "now")

    def _said(self) -> str:
        return " / ".join(str(encode(event)["text"]) for event in self._session.events)

    def _last(self) -> Line:
        line: Line = json.loads(json.dumps(encode(self._session.events[-1])))
        return line

    def _choose_parts(self) -> None:
        while (last := self._last())["event"] == "ask" and ".role." in last["id"]:
            self._type(self._person.answer(last))

    def _ask_on(self) -> int:
        questions = 0
        for _ in range(_MOST_ANSWERS):
            last = self._last()
            if last["event"] != "ask":
                break
            name = last["id"].partition(".")[2]
            given = self._report.answers.get(name)
            if given is None and ("reading" in last or "sign" in last):
                questions += 1
            self._type(given if given is not None else self._person.answer(last))
            self._watch()
        return questions

    def _standing(self) -> tuple[int, float]:
        """Return rank and probability of the true cause among all places."""
        state = self._session.state
        verdict = self._diagnosis.verdict(self._diagnosis.belief(state.evidence, state.lately), None)
        chances: dict[str, float] = {}
        for suspect in verdict.suspects:
            chances[suspect.repair.place] = chances.get(suspect.repair.place, 0.0) + suspect.probability
        if not self._report.causes:
            return 0, verdict.healthy
        ranked = sorted(chances, key=lambda place: -chances[place])
        best = max((c.place for c in self._report.causes), key=lambda place: chances.get(place, 0.0))
        return ranked.index(best) + 1, chances[best]

    def _watch(self) -> None:
        """Note a place that is named alone now and is not the cause."""
        state = self._session.state
        verdict = state.verdict
        if verdict is None:
            belief = self._diagnosis.belief(state.evidence, state.lately)
            verdict = verdict_of(belief.table, belief, exhausted=False, amiss=True)
        if verdict.outcome is Outcome.SOLE:
            self._note_wrong(verdict.suspects[0].repair.place)

    def _note_wrong(self, place: str) -> None:
        if place not in {cause.place for cause in self._report.causes}:
            self._wrong.append(place)
