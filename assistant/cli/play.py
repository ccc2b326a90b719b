"""Playing a hunt at whatever sits at the other end, and telling how it was left."""

import argparse
import os
import shlex
import shutil
import sys
import textwrap
from collections.abc import Callable, Iterator
from contextlib import AbstractContextManager, nullcontext
from dataclasses import dataclass
from pathlib import Path

from assistant.cli.hunt import RecordedHunt
from assistant.cli.lines import run_lines
from assistant.cli.options import terminal_of
from assistant.console import RECKONING, Left, Terminal, clean, patience, run_case
from assistant.errors import LeadlineError

__all__ = ["Desk", "open_desk", "play", "reporting"]

_INPUT_TROUBLE = 2
_LEAST_WIDTH = 20


@dataclass(frozen=True, slots=True, kw_only=True)
class Desk:
    """Where a person or a program sits.

    Attributes
    ----------
    terminal : the person's terminal; absent when a program speaks the line protocol.
    cases : what `--cases` said, for the line that tells how to resume.
    """

    terminal: Terminal | None
    cases: Path | None

    def patience(self) -> AbstractContextManager[None]:
        """Return what tells a person that work takes its time; a program is told nothing."""
        return nullcontext() if self.terminal is None else patience(self.terminal, RECKONING)

    def tell(self, text: str) -> None:
        """Say something that belongs to no question; a program finds it on standard error."""
        if self.terminal is None:
            sys.stderr.write(f"{clean(text)}\n")
        else:
            self.terminal.show(self.terminal.page.wrap(text))


def open_desk(arguments: argparse.Namespace) -> Desk:
    """Return the desk that the options and the streams make."""
    terminal = None if arguments.lines else terminal_of(arguments)
    return Desk(terminal=terminal, cases=arguments.cases)


def play(hunt: RecordedHunt, desk: Desk) -> int:
    """Go through a case and return the exit code; the record is given back in any event."""
    again = f"leadline resume {hunt.name}"
    if desk.cases is not None:
        again += f" --cases {shlex.quote(str(desk.cases))}"
    try:
        if desk.terminal is None:
            left = run_lines(hunt, sys.stdin, sys.stdout)
        else:
            desk.tell(
                f"Case {hunt.name}. Every answer is kept at once. Type help for what else you can type."
            )
            if desk.terminal.leaving_is_wish:
                hunt.warm()
            left = run_case(hunt, desk.terminal)
    finally:
        hunt.close()
    if left is Left.ENDED:
        desk.tell(f"Kept as {hunt.name}.")
        return 0
    if left is Left.SAVED:
        desk.tell(f"Saved. To go on: {again}")
        return 0
    sys.stderr.write(f"The input ended before the hunt did; every answer is kept. To go on: {again}\n")
    return _INPUT_TROUBLE


def _folded(text: str) -> Iterator[str]:
    """Yield the lines of an error, broken between words where a person reads them off a terminal."""
    for line in map(clean, text.splitlines()):
        if sys.stderr.isatty():
            yield from textwrap.wrap(line, max(shutil.get_terminal_size().columns, _LEAST_WIDTH)) or [""]
        else:
            yield line


def reporting(command: Callable[[], int]) -> int:
    """Run a command; tell what goes wrong with place and next step, and return the exit code."""
    try:
        return command()
    except LeadlineError as error:
        sys.stderr.write("".join(f"{line}\n" for line in _folded(str(error))))
        return _INPUT_TROUBLE
    except EOFError:
        sys.stderr.write("\nLeft before anything was begun; nothing is kept.\n")
        return 0 if sys.stdin.isatty() else _INPUT_TROUBLE
    except KeyboardInterrupt:
        sys.stderr.write("\nInterrupted; every answer is kept. `leadline resume` goes on.\n")
        return 130
    except BrokenPipeError:
        # Whoever read our lines is gone; the interpreter must not complain when it flushes at its end.
        os.dup2(os.open(os.devnull, os.O_WRONLY), sys.stdout.fileno())
        return _INPUT_TROUBLE
