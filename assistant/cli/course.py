"""`leadline drill --course`: lessons in order, each told and then practised; progress kept, exported, overviewed."""

import argparse
import sys
from collections.abc import Sequence
from math import isnan
from pathlib import Path

from assistant.circuit import build_network
from assistant.cli.drilling import run_lines, write_lines
from assistant.cli.meters import meter_of, profile_of
from assistant.cli.options import cache_of, terminal_of
from assistant.cli.workbench import Workbench, open_workbench
from assistant.console import Terminal, run_drill, show_headed, turn_over
from assistant.diagnosis import Diagnosis
from assistant.drill import Drill, course_key, issue_for_course
from assistant.errors import AnswerError
from assistant.lessons import PASSES, Attempt, NextDrill, Standing, standing
from assistant.records import Progress, ProgressStore, default_folder, example_boats, harmless, read_progress
from assistant.wiring import load_boat

__all__ = ["course", "declare_course", "is_course"]

_LEFT = 2
_LONGEST_NAME = 60
_HEADS = ("learner", "lessons passed", "drills tried", "drills passed", "cost over best", "practise next")


def declare_course(parser: argparse.ArgumentParser) -> None:
    """Add the arguments of the course."""
    parser.add_argument("--course", action="store_true", help="lessons in order, each with its drills")
    parser.add_argument("--learner", metavar="NAME", default="learner", help="whose progress in the course")
    parser.add_argument("--progress", metavar="FOLDER", type=Path, help="folder of the progress files")
    parser.add_argument(
        "--export", metavar="FILE", type=Path, help="write the learner's progress to a new file"
    )
    parser.add_argument(
        "--overview", metavar="FILE", type=Path, nargs="+", help="table of a group from exported progress"
    )


def is_course(arguments: argparse.Namespace) -> bool:
    """Tell whether the course is asked for rather than a single drill."""
    return bool(arguments.course or arguments.export or arguments.overview)


def course(arguments: argparse.Namespace) -> int:
    """Carry out what is asked of the course and return the exit code."""
    if arguments.overview:
        return _overview(arguments.overview)
    store = ProgressStore(arguments.progress or default_folder().parent / "progress")
    learner = _learner(arguments.learner)
    if arguments.export:
        store.export(learner, arguments.export)
        return 0
    if arguments.boat or arguments.code:
        raise AnswerError(
            reason="a course chooses boats and faults itself", next_step="leave boat and code out"
        )
    with store.open(learner) as kept:
        return _Course(arguments, learner, kept).run()


def _learner(typed: str) -> str:
    name = harmless(typed).strip()
    if not name or len(name) > _LONGEST_NAME:
        raise AnswerError(
            value=typed, reason="this is no name to keep progress under", next_step="take a short name"
        )
    return name


class _Course:
    """The course of a learner, drill after drill."""

    def __init__(self, arguments: argparse.Namespace, learner: str, kept: Progress) -> None:
        self._bench = open_workbench(cache_of(arguments))
        self._shelf = self._bench.shelf()
        self._learner = learner
        self._kept = kept
        self._feedback: str = arguments.feedback
        self._meter = meter_of(profile_of(arguments))
        self._left_out: set[tuple[str, int]] = set()
        self._diagnoses: dict[str, Diagnosis] = {}
        self._terminal: Terminal | None = None if arguments.lines else terminal_of(arguments)

    def run(self) -> int:
        """Go on until the course is done or the learner leaves."""
        told = ""
        while True:
            lessons = self._bench.knowledge.lessons.values()
            where = standing(self._learner, lessons, self._kept.attempts, self._left_out)
            self._say("course", _standing_words(where), lessons_passed=where.lessons_passed)
            if where.next is None:
                return 0
            fresh = where.next.lesson.id != told
            told = where.next.lesson.id
            if fresh and not (
                self._say("lesson", self._shelf[told], lesson=told) and self._turn_over("to the drill")
            ):
                return _LEFT
            if not self._practise(where.next):
                return _LEFT

    def _practise(self, coming: NextDrill) -> bool:
        """Play a drill and keep how it went, or leave out one that cannot be given; tell whether to go on."""
        key = course_key(self._learner, coming.lesson.id, coming.number, coming.attempt)
        diagnosis = self._diagnosis(coming.drill.boat)
        cautions = {name: caution.text for name, caution in self._bench.knowledge.cautions.items()}
        try:
            hidden = issue_for_course(diagnosis, coming.drill, key)
        except AnswerError as error:
            self._left_out.add((coming.lesson.id, coming.number))
            self._say("left-out", f"This drill is left out: {error}")
            return True
        drill = Drill(diagnosis, hidden, feedback=self._feedback, cautions=cautions)
        if self._terminal is None:
            ended = run_lines(drill)
        else:
            ended = run_drill(drill, self._terminal, drill.reader.completions())
        if drill.score is None:
            return False
        attempt = Attempt(
            learner=self._learner,
            lesson=coming.lesson.id,
            drill=coming.number,
            key=key,
            passed=drill.score.passed,
            seconds=drill.score.seconds,
            best_seconds=drill.score.best_seconds,
        )
        self._kept.add(attempt)
        return ended and self._turn_over("on with the course")

    def _diagnosis(self, name: str) -> Diagnosis:
        if name not in self._diagnoses:
            text = example_boats()[name].read_text(encoding="utf-8")
            boat = load_boat(text, f"{name}.yaml", self._bench.catalogue)
            network = build_network(boat)
            solver = self._bench.solver(network)
            self._diagnoses[name] = Diagnosis(network, meter=self._meter, solver=solver)
        return self._diagnoses[name]

    def _say(self, name: str, text: str, **data: str | int) -> bool:
        """Say something under a heading of its own; tell whether the learner stays."""
        if self._terminal is None:
            write_lines([{"event": "show", "id": name, "text": text, **data}])
            return True
        return show_headed(name, text, self._terminal)

    def _turn_over(self, what: str) -> bool:
        """Let the learner read to the end before what comes next; tell whether the learner stays."""
        return self._terminal is None or turn_over(self._terminal, what)


def _standing_words(where: Standing) -> str:
    done = (
        f"Course of {where.learner}: {where.lessons_passed} of {where.lessons} lessons "
        f"and {where.passed} of {where.drills} drills passed."
    )
    if where.next is None:
        return f"{done} The course is done."
    lesson, coming = where.next.lesson, where.next
    return (
        f"{done} Next: {lesson.title}, drill {coming.number} of {len(lesson.drills)} "
        f"(passed {coming.passes} of {PASSES} times in a row)."
    )


def _next_words(where: Standing) -> str:
    if where.next is None:
        return "nothing, it is done"
    coming = where.next
    return f"{coming.lesson.id}, drill {coming.number} (passed {coming.passes} of {PASSES} times in a row)"


def _overview(files: Sequence[Path]) -> int:
    bench = open_workbench()
    rows = [_HEADS, *(_row(path, bench) for path in files)]
    widths = [max(len(row[column]) for row in rows) for column in range(len(_HEADS))]
    # A name may hold what the terminal's encoding does not have.
    safe = sys.stdout.encoding or "ascii"
    for row in rows:
        line = "  ".join(cell.ljust(width) for cell, width in zip(row, widths, strict=True)).rstrip()
        sys.stdout.write(line.encode(safe, "replace").decode(safe) + "\n")
    return 0


def _row(path: Path, bench: Workbench) -> tuple[str, ...]:
    attempts = read_progress(path)
    learner = harmless(attempts[0].learner) if attempts else "(nobody)"
    where = standing(learner, bench.knowledge.lessons.values(), attempts)
    ratio = "-" if isnan(where.cost_ratio) else f"{where.cost_ratio:.1f}"
    return (
        learner,
        f"{where.lessons_passed} of {where.lessons}",
        str(where.tried),
        f"{where.passed} of {where.drills}",
        ratio,
        _next_words(where),
    )
