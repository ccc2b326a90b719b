"""A small program for the tests of a real terminal: one hand-made case."""

import sys
from dataclasses import replace

from assistant.console import open_terminal, run_case
from tests.console.samples import CONFIRM, READING, SIGN
from tests.console.test_case import END, Scripted

if __name__ == "__main__":
    hunt = Scripted([CONFIRM], [SIGN], [READING], [replace(READING, id="n04.drop")], [END])
    left = run_case(hunt, open_terminal(sys.stdin, sys.stdout, plain="--plain" in sys.argv))
    print(f"left: {left}; given: {hunt.given}")
