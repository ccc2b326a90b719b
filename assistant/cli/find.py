"""`leadline find [BOAT]`: from what is wrong to the one bad place, mended and proved."""

import argparse
import sys
from dataclasses import replace
from pathlib import Path
from typing import Final

from assistant.cli.hunt import Beginning, begin_hunt
from assistant.cli.lines import choose_by_lines
from assistant.cli.meters import declare_meter, meter_of, profile_of
from assistant.cli.options import at_hand_of, cache_of, clock_of, declare_at_hand, declare_run, store_of
from assistant.cli.play import Desk, open_desk, play, reporting
from assistant.cli.resume import go_on
from assistant.cli.workbench import (
    BoatFile,
    boats_found,
    choose_boat,
    open_workbench,
    read_boat,
    symptom_choices,
)
from assistant.console import Choice, find_choice, pick
from assistant.errors import AnswerError
from assistant.records import CaseStore, Summary, past_repairs
from assistant.wiring import load_boat

__all__ = ["declare", "run"]

_CASE: Final = "case "


def declare(parser: argparse.ArgumentParser) -> None:
    """Add the arguments of the command."""
    parser.add_argument("boat", nargs="?", help="name of a boat, or the file of its wiring description")
    parser.add_argument("--symptom", metavar="WORDS", help="what is wrong, instead of being asked")
    declare_meter(parser)
    parser.add_argument("--no-history", action="store_true", help="reckon with no earlier cases of the boat")
    declare_at_hand(parser)
    declare_run(parser)


def run(arguments: argparse.Namespace) -> int:
    """Carry the command out and return the exit code."""
    return reporting(lambda: _find(arguments))


def _find(arguments: argparse.Namespace) -> int:
    desk = open_desk(arguments)
    store, clock = store_of(arguments), clock_of(arguments)
    named = choose_boat(arguments.boat, Path.cwd()) if arguments.boat else None
    bench = open_workbench(cache_of(arguments))
    profile = profile_of(arguments)
    if named is None:
        picked = _which_boat(desk, store)
        if isinstance(picked, str):
            return go_on(picked, desk=desk, store=store, clock=clock, bench=bench)
        named = picked
    boat = load_boat(read_boat(named), named.place, bench.catalogue)
    past = () if arguments.no_history else _past(desk, store, boat.name)
    symptom = _which_symptom(arguments.symptom, desk, symptom_choices(bench, boat))
    begun = Beginning(
        boat=boat,
        file=named.place,
        symptom=symptom,
        meter=() if arguments.no_meter else tuple(map(str, meter_of(profile).functions)),
        seed=arguments.seed,
        past=past,
        at_hand=_to_try_with(arguments),
        profile=profile,
    )
    while True:
        with desk.patience():
            hunt = begin_hunt(begun, bench=bench, store=store, clock=clock)
        code = play(hunt, desk)
        onward = hunt.onward
        if onward is None or desk.terminal is None:
            return code
        title = bench.knowledge.symptoms[onward].title
        choices = [Choice(key=onward, title=f"go on with: {title}"), Choice(key="", title="leave it there")]
        if not pick("This looks like another trouble.", choices, desk.terminal, likely=True):
            return code
        begun = replace(begun, symptom=onward)


def _to_try_with(arguments: argparse.Namespace) -> tuple[str, ...] | None:
    """Return what there is to try with; without a meter like parts are swapped even when nothing was said."""
    at_hand = at_hand_of(arguments)
    if at_hand is None:
        return () if arguments.no_meter else None
    return tuple(sorted(at_hand))


def _past(desk: Desk, store: CaseStore, boat: str) -> tuple[tuple[str, int], ...]:
    """Return the proved repairs of the boat's earlier cases, and tell that they count."""
    past = tuple((str(repair), count) for repair, count in past_repairs(boat, store.summaries()).items())
    if past:
        named = ", ".join(f"{repair} ({count} x)" for repair, count in past)
        desk.tell(f"Earlier cases of this boat make these likelier: {named}. With --no-history they do not.")
    return past


def _which_boat(desk: Desk, store: CaseStore) -> BoatFile | str:
    """Return the boat that a person picks, or the name of the case to go on with."""
    boats = boats_found(Path.cwd())
    unfinished = [case for case in store.summaries() if case.is_open]
    choices = [_case_choice(case) for case in unfinished[:1] if desk.terminal]
    choices += [
        Choice(key=name, title=boat.title, about="" if boat.own else "example")
        for name, boat in boats.items()
    ]
    key = _pick("boat", "Which boat?", choices, desk, likely=True)
    return key.removeprefix(_CASE) if key.startswith(_CASE) else boats[key]


def _case_choice(case: Summary) -> Choice:
    answers = len(case.contents.entries) if case.contents else 0
    return Choice(
        key=f"{_CASE}{case.name}", title=f"go on with {case.name}", about=f"{answers} answers so far"
    )


def _which_symptom(typed: str | None, desk: Desk, choices: list[Choice]) -> str:
    if typed is None:
        return _pick("symptom", "What is wrong?", choices, desk)
    found = find_choice(typed, choices)
    if found.sure:
        return found.choices[0].key
    keys = ", ".join(choice.key for choice in found.choices or choices)
    raise AnswerError(
        value=typed,
        place="--symptom",
        reason="no such symptom, or none of what it is about on this boat",
        next_step=f"use one of {keys}",
    )


def _pick(name: str, question: str, choices: list[Choice], desk: Desk, *, likely: bool = False) -> str:
    if desk.terminal is None:
        return choose_by_lines(name, question, choices, sys.stdin, sys.stdout)
    return pick(question, choices, desk.terminal, likely=likely)
