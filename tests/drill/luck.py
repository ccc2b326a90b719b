"""How often luck passes: checks at random, the rest reasoned perfectly, on many drills.

``python -m tests.drill.luck [SEEDS]`` plays it for every level, ``… course [ATTEMPTS]`` for every drill of the course,
and prints how often one drill is passed, and how often two in a row, as a step of the course wants.

Two kinds of luck are played: one sets the boat at random too, the other leaves it as the trouble was seen.  Each names
a place as soon as its own checks bear it out, mends without a slip, and gives up when it has spent what a pass allows.
Of two faults only the first is looked for, so that the true chance is smaller still.
"""

import sys
from collections.abc import Iterable, Iterator, Sequence
from dataclasses import dataclass

from assistant.circuit import Measurement, forward_states
from assistant.diagnosis import Diagnosis, Evidence, SignQuery
from assistant.diagnosis.candidates import looks, readings
from assistant.dialogue import load_knowledge
from assistant.drill import LEVELS, Hidden, course_key, issue, issue_for_course
from assistant.drill.chance import Chance
from assistant.drill.issuing import judge_of
from assistant.drill.judging import Shake, Worth
from assistant.drill.reference import best_path, evidence_of, first_evidence, trouble_shows
from assistant.drill.score import TELLING, limit_seconds
from assistant.lessons import in_order
from assistant.records import knowledge_files
from tests.drill.player import diagnosis, diagnosis_on

PLAYS = 4
"""Plays of each drill, half of each kind of luck."""

SEEDS, ATTEMPTS = 10, 2
"""Drills of each level, and of each drill of the course: so few that the command ends within some ten minutes."""


@dataclass(slots=True, kw_only=True)
class Luck:
    """Passes among plays of one kind of drill."""

    name: str
    plays: int = 0
    passes: int = 0

    @property
    def chance(self) -> float:
        return self.passes / self.plays if self.plays else 0.0

    def __str__(self) -> str:
        return (
            f"{self.name}: {self.passes} of {self.plays} passed by luck, "
            f"{self.chance:.1%} a drill, {self.chance**2:.1%} twice in a row"
        )


def lucky(diag: Diagnosis, hidden: Hidden, chance: Chance, limit_s: float, *, stays: bool) -> bool:
    """Tell whether checks at random pass a drill."""
    judge, boat = judge_of(diag, hidden), hidden.boat(diag.table.solver)
    complaint, fickle = hidden.complaints[0], hidden.comes_and_goes
    evidence: list[Evidence] = [first_evidence(boat, complaint, fickle=fickle)]
    shaken: list[tuple[str, bool]] = []
    start = before = judge.belief(evidence)
    state, last, spent = complaint.query.state, None, 0.0
    told: list[bool] = []
    seen: set[object] = set()
    while True:
        named = judge.borne_out(before)
        if named:
            truths = {repair.place for story in hidden.stories for repair in story.repairs[:1]}
            return named <= truths and (not told or sum(told) >= TELLING * len(told))
        to = state if stays or fickle else chance.pick(forward_states(diag.network.boat))
        offers: list[Measurement | SignQuery] = [
            *readings(diag._pairs, diag.network.boat, to, diag.meter),
            *looks(diag.network.boat, to),
        ]
        what: Measurement | SignQuery | Shake = chance.pick(offers)
        if fickle and chance.random() < 0.5:
            what = Shake(place=chance.pick(sorted(diag.network.boat.parts)), state=to)
        spent += judge.seconds(what, state, last)
        if spent > limit_s:
            return False
        boat.let_time_pass()
        if isinstance(what, Shake):
            shaken.append((what.place, boat.shake(what.place)))
        elif trouble_shows(boat, complaint, fickle=fickle):
            shown = boat.read(what) if isinstance(what, Measurement) else boat.look(what)
            evidence.append(evidence_of(what, shown))
        after = judge.belief(evidence, shaken)
        mark = judge.mark(what, (start, before, after), stood=(state, last), repeated=what in seen)
        told.append(mark.worth in (Worth.TOLD, Worth.PREMATURE))
        seen.add(what)
        before, state = after, to
        last = what if isinstance(what, Measurement) else last


def luck_of(name: str, drills: Iterable[tuple[Diagnosis, Hidden]]) -> Luck:
    """Return how luck fares on some drills."""
    luck = Luck(name=name)
    for diag, hidden in drills:
        best = best_path(judge_of(diag, hidden), diag.table.solver, hidden)
        for play in range(PLAYS):
            chance = Chance(f"luck {hidden.key} {play}")
            luck.plays += 1
            luck.passes += lucky(diag, hidden, chance, limit_seconds(best.seconds), stays=play % 2 == 0)
    return luck


def of_levels(seeds: int) -> Iterator[Luck]:
    """Yield luck at each level on the small example boat."""
    for level in LEVELS:
        drills = ((diagnosis(), issue(diagnosis(), level.number, 997 * seed)) for seed in range(seeds))
        yield luck_of(f"level {level.number}", drills)


def of_course(attempts: int) -> Iterator[Luck]:
    """Yield luck at each drill of the course."""
    for lesson in in_order(load_knowledge(knowledge_files()).lessons.values()):
        for number, drill in enumerate(lesson.drills, start=1):
            diag = diagnosis_on(drill.boat)
            keys = [course_key("Luck", lesson.id, number, attempt) for attempt in range(attempts)]
            yield luck_of(
                f"{lesson.id} {number}", ((diag, issue_for_course(diag, drill, key)) for key in keys)
            )


def main(words: Sequence[str]) -> None:
    """Play levels or course and print what came of it, with a sum at the end."""
    course = words[:1] == ["course"]
    size = next((int(word) for word in words if word.isdecimal()), ATTEMPTS if course else SEEDS)
    together = Luck(name="together")
    for found in of_course(size) if course else of_levels(size):
        together.plays += found.plays
        together.passes += found.passes
        sys.stdout.write(f"{found}\n")
        sys.stdout.flush()
    sys.stdout.write(f"{together}\n")


if __name__ == "__main__":
    main(sys.argv[1:])
