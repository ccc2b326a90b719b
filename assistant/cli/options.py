"""Options that several commands share, and what becomes of them."""

import argparse
import sys
from collections.abc import Callable
from datetime import datetime
from pathlib import Path

from assistant.console import Terminal, open_terminal
from assistant.diagnosis import AtHand
from assistant.errors import AnswerError
from assistant.records import Cache, CaseStore, default_cache, default_folder

__all__ = [
    "Clock",
    "at_hand_of",
    "cache_of",
    "clock_of",
    "declare_at_hand",
    "declare_cache",
    "declare_look",
    "declare_run",
    "declare_store",
    "store_of",
    "terminal_of",
    "time_of",
]

Clock = Callable[[], str]
"""Gives the date and time with offset (ISO 8601)."""


def declare_store(parser: argparse.ArgumentParser) -> None:
    """Add the option that says where cases lie."""
    parser.add_argument("--cases", metavar="FOLDER", type=Path, help="folder of the recorded cases")


def declare_at_hand(parser: argparse.ArgumentParser) -> None:
    """Add the option that says what there is to try with."""
    known = ", ".join(AtHand)
    parser.add_argument(
        "--at-hand",
        metavar="THINGS",
        help=f"what there is to try with, commas between: {known}; or: nothing",
    )


def at_hand_of(arguments: argparse.Namespace) -> frozenset[AtHand] | None:
    """Return what there is to try with, None when it was not said.

    Raises
    ------
    AnswerError
        For a word that is none of those known.
    """
    if arguments.at_hand is None:
        return None
    words = [word.strip().casefold() for word in arguments.at_hand.split(",")]
    if words == ["nothing"]:
        return frozenset()
    for word in words:
        if word not in set(AtHand):
            step = f"use, with commas between: {', '.join(AtHand)}; or: nothing"
            raise AnswerError(value=word, place="--at-hand", reason="not known here", next_step=step)
    return frozenset(map(AtHand, words))


def declare_look(parser: argparse.ArgumentParser) -> None:
    """Add the options that say how the screen looks."""
    parser.add_argument(
        "--plain", action="store_true", help="plain lines only, as for pipes and screen readers"
    )
    parser.add_argument(
        "--sun",
        action="store_true",
        help="black on white, to be read in sunlight; LEADLINE_SUN=1 does the same",
    )


def terminal_of(arguments: argparse.Namespace) -> Terminal:
    """Return the terminal that standard input and output make, with the look that is wanted."""
    return open_terminal(sys.stdin, sys.stdout, plain=arguments.plain, sun=arguments.sun)


def declare_cache(parser: argparse.ArgumentParser) -> None:
    """Add the option that does without what was computed before."""
    parser.add_argument(
        "--no-cache", action="store_true", help="neither keep what was computed nor use what was kept"
    )


def declare_run(parser: argparse.ArgumentParser) -> None:
    """Add the options of a dialogue."""
    declare_store(parser)
    declare_look(parser)
    declare_cache(parser)
    parser.add_argument(
        "--lines", action="store_true", help="for programs: one JSON object a line out, one in"
    )
    parser.add_argument(
        "--now", metavar="TIME", type=time_of, help="date and time to record instead of the clock's"
    )
    parser.add_argument(
        "--seed",
        metavar="N",
        type=int,
        help="number that fixes all that is drawn by chance; kept in the case",
    )


def store_of(arguments: argparse.Namespace) -> CaseStore:
    """Return the cases where `--cases` says, else in the person's own data folder."""
    return CaseStore(arguments.cases or default_folder())


def cache_of(arguments: argparse.Namespace) -> Cache | None:
    """Return where computed tables are kept from one start to the next; nowhere with `--no-cache`."""
    return None if arguments.no_cache else default_cache()


def clock_of(arguments: argparse.Namespace) -> Clock:
    """Return the clock, standing still where `--now` says so."""
    fixed: str | None = arguments.now
    return lambda: fixed or datetime.now().astimezone().isoformat(timespec="seconds")


def time_of(text: str) -> str:
    """Return a date and time as it is recorded; for `argparse`."""
    try:
        moment = datetime.fromisoformat(text)
    except ValueError as error:
        raise argparse.ArgumentTypeError(
            f"{text[:40]!r} is no date and time; write it as 2025-06-14T09:30:00+02:00"
        ) from error
    return moment.isoformat(timespec="seconds")
