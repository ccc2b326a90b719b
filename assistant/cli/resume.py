"""`leadline resume [CASE]`: goes on with an interrupted case, exactly where it stopped."""

import argparse

from assistant.cli.hunt import RecordedHunt, resume_hunt
from assistant.cli.options import Clock, cache_of, clock_of, declare_run, store_of
from assistant.cli.play import Desk, open_desk, play, reporting
from assistant.cli.workbench import Workbench, open_workbench
from assistant.errors import CaseError
from assistant.records import CaseStore

__all__ = ["declare", "go_on", "run"]


def declare(parser: argparse.ArgumentParser) -> None:
    """Add the arguments of the command."""
    parser.add_argument("case", nargs="?", help="name of a case, or part of it; the last one when left out")
    declare_run(parser)


def run(arguments: argparse.Namespace) -> int:
    """Carry the command out and return the exit code."""
    return reporting(lambda: _resume(arguments))


def go_on(name: str, *, desk: Desk, store: CaseStore, clock: Clock, bench: Workbench) -> int:
    """Go on with a case and return the exit code.

    Raises
    ------
    CaseError
        If it cannot be gone on with.
    """
    with desk.patience():
        hunt = resume_hunt(name, bench=bench, store=store, clock=clock)
    if hunt.header.knowledge != bench.digest:
        desk.tell("The knowledge has changed since this case was begun; every question so far still fits.")
    if desk.terminal is not None:
        _recall(hunt, desk, bench.knowledge.symptoms[hunt.header.symptom].title)
    return play(hunt, desk)


def _recall(hunt: RecordedHunt, desk: Desk, title: str) -> None:
    """Say what the case is about and how the boat stood: it may have been unplugged since."""
    desk.tell(
        f"{hunt.header.boat}: {title}. So far {len(hunt.seen())} readings and signs; show readings lists them."
    )
    if hunt.standing:
        desk.tell(f"The boat has to stand as you left it: {'; '.join(hunt.standing)}.")


def _resume(arguments: argparse.Namespace) -> int:
    desk, store = open_desk(arguments), store_of(arguments)
    name = store.name_of(arguments.case) if arguments.case else _last(store, desk)
    return go_on(
        name, desk=desk, store=store, clock=clock_of(arguments), bench=open_workbench(cache_of(arguments))
    )


def _last(store: CaseStore, desk: Desk) -> str:
    """Return the open case last worked on, and tell of the others."""
    cases = store.summaries()
    for case in cases:
        if case.trouble:
            desk.tell(f"Left out: {case.trouble}")
    unfinished = [case.name for case in cases if case.is_open]
    if not unfinished:
        raise CaseError(
            place=str(store.folder),
            reason="there is no unfinished case",
            next_step="`leadline find` begins one",
        )
    if others := unfinished[1:]:
        desk.tell(f"Also unfinished: {', '.join(others)}")
    return unfinished[0]
