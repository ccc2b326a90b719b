"""Programs that play drills by typing commands and reading events, each with its own boat in mind."""

from functools import cache

from assistant.catalogue import Look
from assistant.circuit import (
    BoatState,
    Measurement,
    MeterFunction,
    build_network,
    forward_states,
    gap_between,
)
from assistant.diagnosis import Diagnosis, Evidence, ReadingSeen, SignQuery, SignSeen
from assistant.diagnosis.candidates import looks, readings
from assistant.drill import Drill, Hidden, code_for, hide, issue
from assistant.drill.chance import Chance
from assistant.drill.judging import Judge, asked_by
from tests.support.boats import example_boats

VERBS = {Look.SEE: "look", Look.HEAR: "listen", Look.FEEL: "feel", Look.SMELL: "smell"}


VERBS_OF_METER = {
    MeterFunction.DC_VOLTS: "volts",
    MeterFunction.OHMS: "ohms",
    MeterFunction.CONTINUITY: "beep",
    MeterFunction.DIODE_TEST: "diode",
}


@cache
def diagnosis_on(boat: str) -> Diagnosis:
    return Diagnosis(build_network(example_boats()[boat]))


def diagnosis() -> Diagnosis:
    return diagnosis_on("dabchick")


def hidden_at(level: int, seed: int) -> Hidden:
    return hide(diagnosis().table.solver, code_for(level, "Dabchick", seed))


def issued_at(level: int) -> Hidden:
    return issue(diagnosis(), level, 0)


def drill_of(hidden: Hidden, feedback: str = "none") -> Drill:
    return Drill(diagnosis(), hidden, feedback=feedback, cautions={})


class Player:
    """Plays a drill through commands alone, and reckons with what the events say."""

    def __init__(self, drill: Drill, hidden: Hidden, diag: Diagnosis | None = None) -> None:
        self.drill = drill
        self.diag = diag or diagnosis()
        self.boat = self.diag.network.boat
        self.fickle = hidden.comes_and_goes
        self.state = hidden.complaints[0].query.state
        self.last: Measurement | None = None
        states = (self.state,) if self.fickle else forward_states(self.boat)
        self.judge = Judge(self.diag, states, fickle=self.fickle)
        told = dict(drill.events[0].data)["complaint"]
        assert isinstance(told, dict)
        query = SignQuery(part=str(told["part"]), sign=str(told["sign"]), state=self.state)
        self.evidence: list[Evidence] = [SignSeen(query=query, levels=(str(told["level"]),))]
        self.drill.answer("clear")

    def set(self, state: BoatState) -> None:
        controls = self.boat.radio.controls
        for name, value in self.state.changes_to(state).items():
            word = f"{value:.0%}" if name in controls else "on" if value else "off"
            self.drill.answer(f"set {name} {word}")
        self.state = state

    def check(self, what: Measurement | SignQuery) -> None:
        self.set(what.state)
        if isinstance(what, Measurement):
            gap = gap_between(self.boat, what.red, what.black) if what.function.is_inserted else None
            self.drill.answer("jack")
            if gap is not None:
                self.drill.answer(f"amps in {gap.place}")
            else:
                self.drill.answer(f"{VERBS_OF_METER[what.function]} {what.red} {what.black}")
            self.last = what
        else:
            spec = self.boat.parts[what.part].kind.signs[what.sign]
            self.drill.answer(f"{VERBS[spec.look]} {what.part} {what.sign}")
        data = self.drill.events[0].data
        if not self.drill.ledger.checks[-1].counts:
            return
        if isinstance(what, Measurement):
            shown = data["value"]
            value = float("inf") if shown == "OL" else float(str(shown))
            self.evidence.append(ReadingSeen(measurement=what, value=value))
        else:
            self.evidence.append(SignSeen(query=what, levels=(str(data["level"]),)))

    def name_and_mend(self) -> None:
        """Name what is suspected most, mend it, and try the next ones when that did not help."""
        for suspect in self.judge.suspects(self.judge.belief(self.evidence))[:4]:
            place, action = suspect.repair.place, suspect.repair.action
            rest = {
                f"{p.id}.{s}": 0.0
                for p in self.boat.parts.values()
                if p.kind.group == "pack"
                for s in p.kind.settings
            }
            self.drill.answer(f"name {place}")
            self.set(self.state.with_(rest))
            for repair in (suspect.repair, *suspect.follow_ups):
                self.drill.answer(f"repair {repair.place} {repair.action}")
            self.drill.answer("prove")
            if self.drill.is_over or not self._same_trouble():
                return
            assert action is not None

    def _same_trouble(self) -> bool:
        """Take what is still wrong as the next hunt's complaint; tell whether it is the same trouble as before."""
        first = self.evidence[0]
        assert isinstance(first, SignSeen)
        rig = self.drill._rig
        self.state, self.last = rig.state, None
        if rig.complaint.query == first.query:
            return True
        level = rig.boat.look(rig.complaint.query)
        self.evidence = [SignSeen(query=rig.complaint.query, levels=(level,))]
        return False

    def play_best(self) -> None:
        for _ in range(3):
            for _ in range(90):
                step = self.judge.best(self.judge.belief(self.evidence), self.state, self.last)
                if step is None:
                    break
                self.check(asked_by(step))
            self.name_and_mend()
            if self.drill.is_over:
                return
        self.drill.answer("end")

    def play_random(self, chance: Chance, checks: int) -> None:
        """Measure and look anywhere, then name whatever comes to mind."""
        diag = self.diag
        for _ in range(checks):
            state = chance.pick(forward_states(self.boat))
            offers: list[Measurement | SignQuery] = [
                *readings(diag._pairs, self.boat, state, diag.meter),
                *looks(self.boat, state),
            ]
            self.check(chance.pick(offers))
        self.drill.answer(f"name {chance.pick(sorted(self.boat.parts))}")
        place = self.drill.ledger.named[-1].place if self.drill.ledger.named else "fuse"
        for action in self.drill.reader.actions_at(place)[:1]:
            self.drill.answer(f"repair {place} {action}")
        self.drill.answer("prove")
        if not self.drill.is_over:
            self.drill.answer("end")
