"""Entry of the command `leadline`.

A table names each command with one line of help and the module that carries it out. Help and version need
the table alone; the module of a command is imported once that command is chosen. So `leadline --help` costs
no more than argparse, however much the commands import.
"""

import argparse
import sys
from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from importlib import import_module
from types import MappingProxyType
from typing import Protocol, cast

from assistant import __version__


@dataclass(frozen=True, slots=True, kw_only=True)
class Command:
    """One command of the program.

    Parameters
    ----------
    summary
        One line for the help page.
    module
        Dotted name of the module with the command's `declare` and `run`.
    """

    summary: str
    module: str


class CommandModule(Protocol):
    """What the module of a command has to offer."""

    def declare(self, parser: argparse.ArgumentParser) -> None:
        """Add the command's own arguments to `parser`."""

    def run(self, arguments: argparse.Namespace) -> int:
        """Carry the command out and return the exit code."""


COMMANDS: Mapping[str, Command] = MappingProxyType(
    {
        "find": Command(
            summary="find a fault: from what you see to the one bad place", module="assistant.cli.find"
        ),
        "prove": Command(
            summary="break a boat in every way on the computer and measure the diagnosis",
            module="assistant.cli.prove",
        ),
        "resume": Command(
            summary="go on with an interrupted case, exactly where it stopped", module="assistant.cli.resume"
        ),
        "cases": Command(
            summary="list, search, show, compare, export and import recorded cases",
            module="assistant.cli.cases",
        ),
        "describe": Command(
            summary="answer some questions, and the wiring description is written",
            module="assistant.cli.describe",
        ),
        "check": Command(
            summary="review the plan of a boat before anything breaks", module="assistant.cli.check"
        ),
        "drill": Command(
            summary="find a hidden fault on a virtual boat, with marks and a debrief",
            module="assistant.cli.drill",
        ),
        "sheet": Command(
            summary="on paper: the readings to expect, or the tree that finds a fault",
            module="assistant.cli.sheet",
        ),
        "knowledge": Command(
            summary="lint, list, explain and draw what the program knows", module="assistant.cli.knowledge"
        ),
    }
)

_START = "find"
_TOP_LEVEL_OPTIONS = ("-h", "--help", "--version")


def main(argv: Sequence[str] | None = None, *, commands: Mapping[str, Command] = COMMANDS) -> int:
    """Run the command that the words name.

    Parameters
    ----------
    argv
        The words after the program's name; those of the process when absent.
    commands
        The commands to choose from, by name, in the order of the help page.

    Returns
    -------
    int
        Exit code for the shell: 0 when all went well.

    Raises
    ------
    SystemExit
        After `--help` and `--version` (code 0), and for words that mean nothing (code 2).
    """
    words = _started(sys.argv[1:] if argv is None else list(argv), commands)
    # No option before the command takes a value, so the first plain word is the command.
    chosen = commands.get(next((word for word in words if not word.startswith("-")), ""))
    module = cast(CommandModule, import_module(chosen.module)) if chosen else None
    parser = argparse.ArgumentParser(
        prog="leadline",
        description="Finds the bad joint, part or setting in the wiring of a small radio-controlled boat.",
    )
    parser.add_argument("--version", action="version", version=f"leadline {__version__}")
    subparsers = parser.add_subparsers(title="commands", metavar="COMMAND")
    for name, command in commands.items():
        subparser = subparsers.add_parser(name, help=command.summary, description=command.summary)
        if module and command is chosen:
            module.declare(subparser)
    arguments = parser.parse_args(words)
    if module is None:
        parser.print_help()
        return 0
    return module.run(arguments)


def _started(words: list[str], commands: Mapping[str, Command]) -> list[str]:
    """Return the words with the command that is meant when none is named: asking what is wrong."""
    meant = not words or (words[0].startswith("--") and not _abbreviates(words[0]))
    return [_START, *words] if meant and _START in commands else words


def _abbreviates(word: str) -> bool:
    return any(option.startswith(word) for option in _TOP_LEVEL_OPTIONS)
