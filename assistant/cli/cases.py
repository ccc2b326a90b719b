"""`leadline cases …`: the recorded cases, listed, searched, shown, compared, written out, taken in, removed."""

import argparse
from collections.abc import Callable, Mapping
from pathlib import Path
from types import MappingProxyType
from typing import Final

from assistant.cli import casework, travel
from assistant.cli.options import cache_of, clock_of, declare_cache, declare_store, store_of, time_of
from assistant.cli.play import open_desk, reporting

__all__ = ["declare", "run"]

_Work = Callable[[casework.Room, argparse.Namespace], int]


def declare(parser: argparse.ArgumentParser) -> None:
    """Add the arguments of the command."""
    declare_store(parser)
    declare_cache(parser)
    parser.set_defaults(work="list", plain=True, sun=False, lines=False, now=None)
    parser.add_argument("--examples", action="store_true", help="the cases that come with the program")
    below = parser.add_subparsers(title="what to do", metavar="WHAT", dest="work")
    _declare_looks(below)
    _declare_changes(below)


def run(arguments: argparse.Namespace) -> int:
    """Carry the command out and return the exit code."""
    work = _WORKS[arguments.work or "list"]
    return reporting(lambda: work(_room(arguments), arguments))


def _room(arguments: argparse.Namespace) -> casework.Room:
    store = casework.example_store() if arguments.examples else store_of(arguments)
    return casework.Room(
        store=store,
        desk=open_desk(arguments),
        clock=clock_of(arguments),
        own=not arguments.examples,
        cache=cache_of(arguments),
    )


def _add(
    below: "argparse._SubParsersAction[argparse.ArgumentParser]", name: str, about: str
) -> argparse.ArgumentParser:
    parser = below.add_parser(name, help=about, description=about[:1].upper() + about[1:] + ".")
    # The same option before and after the word; the later one must not undo the earlier one.
    parser.add_argument(
        "--cases", metavar="FOLDER", type=Path, default=argparse.SUPPRESS, help=argparse.SUPPRESS
    )
    for flag in ("--examples", "--no-cache"):
        parser.add_argument(flag, action="store_true", default=argparse.SUPPRESS, help=argparse.SUPPRESS)
    return parser


def _declare_looks(below: "argparse._SubParsersAction[argparse.ArgumentParser]") -> None:
    listed = _add(below, "list", "list the cases, the one last worked on first")
    listed.add_argument("--boat", metavar="NAME", help="of this boat only")
    found = _add(below, "search", "find the cases that hold all the words")
    found.add_argument("words", nargs="+", metavar="WORD", help="in names, answers, notes, repairs, wiring")
    shown = _add(below, "show", "show a case as a repair sheet")
    shown.add_argument("case", help="name of a case, or part of it")
    log = _add(below, "log", "show all cases of a boat: what failed again, what was replaced")
    log.add_argument("boat", help="name of the boat")
    log.add_argument("--html", metavar="FILE", type=Path, help="write it as a page instead")
    both = _add(below, "compare", "compare two cases")
    both.add_argument("case", help="name of a case, or part of it")
    both.add_argument("other", help="the other one")


def _declare_changes(below: "argparse._SubParsersAction[argparse.ArgumentParser]") -> None:
    note = _add(below, "note", "add a remark to a case")
    note.add_argument("case", help="name of a case, or part of it")
    note.add_argument("text", nargs="+", help="the remark")
    kinds = note.add_mutually_exclusive_group()
    kinds.add_argument("--who", action="store_true", help="the remark says who measured")
    kinds.add_argument("--meter", action="store_true", help="the remark says with which meter")
    kinds.add_argument(
        "--temporary", metavar="PLACE", help="a temporary repair there, to be undone at the bench"
    )
    kinds.add_argument("--undone", metavar="PLACE", help="the temporary repair there was undone")
    kinds.add_argument("--mended", metavar="PLACE", help="it was mended there at the bench")
    note.add_argument(
        "--now", metavar="TIME", type=time_of, help="date and time to record instead of the clock's"
    )
    gone = _add(below, "delete", "remove a case for good")
    gone.add_argument("case", help="the whole name of the case")
    gone.add_argument("--yes", action="store_true", help="do not ask")
    taken = _add(below, "import", "take in cases from elsewhere")
    taken.add_argument("files", nargs="+", type=Path, metavar="FILE", help="an exported case")
    given = _add(below, "export", "write a case to a file")
    given.add_argument("case", help="name of a case, or part of it")
    given.add_argument(
        "--as",
        dest="form",
        choices=travel.FORMS,
        default="case",
        help="case: for another leadline; html, md, json, pdf: the repair sheet",
    )
    given.add_argument("--to", metavar="FILE", type=Path, help="where; the name of the case when left out")
    given.add_argument("--paper", choices=travel.PAPERS, default="a4", help="size of the paper, for pdf")
    given.add_argument("--force", action="store_true", help="write over a file that is there")


_WORKS: Final[Mapping[str, _Work]] = MappingProxyType(
    {
        "list": casework.list_cases,
        "search": casework.search_cases,
        "show": casework.show_case,
        "log": casework.show_log,
        "compare": casework.compare_cases,
        "note": casework.note_case,
        "delete": travel.delete_case,
        "import": travel.import_cases,
        "export": travel.export_case,
    }
)
