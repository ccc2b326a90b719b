"""`leadline drill [BOAT]`: a hidden fault to find on a virtual boat, with marks and a debrief."""

import argparse
import secrets
from collections.abc import Iterable, Sequence
from pathlib import Path

from assistant.circuit import Fault, build_network
from assistant.cli.course import course, declare_course, is_course
from assistant.cli.drilling import run_lines
from assistant.cli.meters import declare_meter_name, meter_of, profile_of
from assistant.cli.options import cache_of, declare_cache, declare_look, terminal_of
from assistant.cli.play import reporting
from assistant.cli.workbench import BoatFile, Workbench, boats_found, choose_boat, open_workbench, read_boat
from assistant.console import run_drill
from assistant.diagnosis import Diagnosis
from assistant.drill import LEVELS, Code, Drill, hide, issue, level_of, read_code, tag_of
from assistant.errors import AnswerError
from assistant.lessons import Lesson, in_order, load_lessons
from assistant.records import example_boats, knowledge_files
from assistant.wiring import Boat, load_boat

__all__ = ["declare", "run"]

_LEFT = 2


def declare(parser: argparse.ArgumentParser) -> None:
    """Add the arguments of the command."""
    levels = "; ".join(f"{level.number} {level.title}" for level in LEVELS)
    parser.add_argument("boat", nargs="?", help="name of a boat, or the file of its wiring description")
    parser.add_argument("--level", type=int, choices=range(1, len(LEVELS) + 1), default=1, help=levels)
    parser.add_argument("--code", metavar="CODE", help="the drill of this code, the same on every machine")
    parser.add_argument(
        "--feedback",
        choices=("each", "end", "none"),
        default="each",
        help="when to tell what a check was worth",
    )
    declare_meter_name(parser)
    declare_look(parser)
    declare_cache(parser)
    parser.add_argument(
        "--lines", action="store_true", help="for programs: one JSON object a line out, one in"
    )
    parser.add_argument("--seed", metavar="N", type=int, help="number that fixes which fault is hidden")
    declare_course(parser)


def run(arguments: argparse.Namespace) -> int:
    """Carry the command out and return the exit code."""
    return reporting(lambda: course(arguments) if is_course(arguments) else _drill(arguments))


def _drill(arguments: argparse.Namespace) -> int:
    given = read_code(arguments.code) if arguments.code else None
    bench = open_workbench(cache_of(arguments))
    boat = _boat(arguments.boat, given, bench)
    network = build_network(boat)
    diagnosis = Diagnosis(network, meter=meter_of(profile_of(arguments)), solver=bench.solver(network))
    seed = secrets.randbelow(1 << 20) if arguments.seed is None else arguments.seed
    hidden = hide(diagnosis.table.solver, given) if given else issue(diagnosis, arguments.level, seed)
    cautions = {name: caution.text for name, caution in bench.knowledge.cautions.items()}
    drill = Drill(diagnosis, hidden, feedback=arguments.feedback, cautions=cautions)
    if arguments.lines:
        ended = run_lines(drill)
    else:
        terminal = terminal_of(arguments)
        level = level_of(given.level if given else arguments.level)
        terminal.show(terminal.page.wrap(f"Level {level.number}, {level.title}. {level.idea}"))
        ended = run_drill(drill, terminal, drill.reader.completions())
        lesson = _lesson_for(hidden.faults, boat, bench.knowledge.cautions.keys())
        if ended and lesson is not None:
            terminal.show(terminal.page.wrap(f"To read next: {lesson.title} (about {lesson.idea})."))
    return 0 if ended else _LEFT


def _boat(named: str | None, code: Code | None, bench: Workbench) -> Boat:
    """Return the boat that is named, else the one that a code speaks of, else the first example."""
    here = Path.cwd()
    found = boats_found(here)
    if named is not None:
        file = choose_boat(named, here)
    elif code is not None:
        file = _boat_of(code, found.values())
    else:
        file = found[next(iter(example_boats()))]
    boat = load_boat(read_boat(file), file.place, bench.catalogue)
    if code is not None and tag_of(boat.name) != code.boat:
        raise AnswerError(
            value=str(code),
            reason=f"this code is not for {boat.name}",
            next_step="name its boat, or leave it out",
        )
    return boat


def _boat_of(code: Code, files: Iterable[BoatFile]) -> BoatFile:
    for file in files:
        if tag_of(file.title) == code.boat:
            return file
    raise AnswerError(
        value=str(code), reason="the boat of this code is not here", next_step="name the file of its wiring"
    )


def _lesson_for(faults: Sequence[Fault], boat: Boat, cautions: Iterable[str]) -> Lesson | None:
    """Return the lesson that practises one of these faults, else the first that practises one of the same sort."""
    lessons = in_order(load_lessons(knowledge_files(), frozenset(cautions)).values())
    names = {f"{fault.part} {fault.mode}" for fault in faults}
    modes = {fault.mode for fault in faults}
    drills = [(one, d) for one in lessons for d in one.drills if d.at_once <= len(faults)]
    same = (one for one, d in drills if d.boat == boat.id and names & set(d.faults))
    alike = (one for one, d in drills if modes & {f.partition(" ")[2] for f in d.faults})
    return next(same, None) or next(alike, None)
