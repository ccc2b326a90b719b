"""A small program for the tests of a real terminal: one hand-made case."""

import sys
import time
from dataclasses import replace

from assistant.console import open_terminal, run_case
from tests.console.samples import CONFIRM, READING, SIGN
from tests.console.test_case import END, Scripted


class Slow(Scripted):
    """A hunt that thinks for a while after each answer."""

    def answer(self, text: str) -> None:
        time.sleep(1.0)
        super().answer(text)


if __name__ == "__main__":
    kind = Slow if "--slow" in sys.argv else Scripted
    hunt = kind([CONFIRM], [SIGN], [READING], [replace(READING, id="n04.drop")], [END])
    terminal = open_terminal(sys.stdin, sys.stdout, plain="--plain" in sys.argv, sun="--sun" in sys.argv)
    left = run_case(hunt, terminal)
    print(f"left: {left}; given: {hunt.given}")
