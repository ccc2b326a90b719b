"""Saying that something takes its time, so that nobody believes the program dead.

What is done in half a second is done in silence. For longer work a line says what goes on, and one more now
and then that it still does. Nobody is asked anything meanwhile, so printing and prompting still alternate;
keys pressed meanwhile are dropped, or they would answer a question that was not yet on the screen.
"""

import threading
from collections.abc import Iterator
from contextlib import contextmanager
from typing import Final

from rich.text import Text

from assistant.console.terminal import Terminal

__all__ = ["patience"]

_SILENT_S: Final = 0.5
_AGAIN_S: Final = 4.0


@contextmanager
def patience(
    terminal: Terminal, what: str, *, silent_s: float = _SILENT_S, again_s: float = _AGAIN_S
) -> Iterator[None]:
    """Tell a person at `terminal` what goes on while the work within takes longer than `silent_s`."""
    done, said = threading.Event(), threading.Event()

    def tell() -> None:
        if done.wait(silent_s):
            return
        said.set()
        terminal.show([Text(f"{what} ...")])
        told_s = silent_s
        while not done.wait(again_s):
            told_s += again_s
            terminal.show([Text(f"... still at it, {told_s:.0f} s")])

    teller = threading.Thread(target=tell, name="patience", daemon=True)
    teller.start()
    try:
        yield
    finally:
        done.set()
        teller.join()
        if said.is_set():
            terminal.forget()
