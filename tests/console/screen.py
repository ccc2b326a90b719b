"""A program in a real terminal, as a person sees it: pexpect holds the terminal, pyte draws its screen."""

import os
import sys
import time
from collections.abc import Callable, Sequence
from pathlib import Path
from types import TracebackType
from typing import Self

import pexpect
import pyte

ROOT = Path(__file__).resolve().parents[2]
_PATIENCE_S = 20.0


class _Answering(pyte.HistoryScreen):
    """A screen that answers what programs ask a terminal, such as where the cursor is."""

    def __init__(self, columns: int, rows: int, child: "pexpect.spawn[bytes]") -> None:
        super().__init__(columns, rows, history=5000, ratio=0.5)
        self._child = child

    def write_process_input(self, data: str) -> None:
        self._child.send(data)


class Seated:
    """A person at a terminal in which a program runs."""

    def __init__(
        self,
        arguments: Sequence[str],
        *,
        columns: int,
        rows: int,
        term: str = "xterm",
        environment: dict[str, str] | None = None,
        folder: Path = ROOT,
    ) -> None:
        kept = {
            name: value for name, value in os.environ.items() if name not in {"COLUMNS", "LINES", "NO_COLOR"}
        }
        path = os.pathsep.join(filter(None, [str(ROOT), os.environ.get("PYTHONPATH", "")]))
        self.child: pexpect.spawn[bytes] = pexpect.spawn(
            sys.executable,
            list(arguments),
            dimensions=(rows, columns),
            cwd=str(folder),
            env={**kept, "TERM": term, "PYTHONPATH": path, **(environment or {})},
            timeout=_PATIENCE_S,
        )
        self.screen = _Answering(columns, rows, self.child)
        self.stream = pyte.ByteStream(self.screen)
        self.raw = b""

    def __enter__(self) -> Self:
        return self

    def __exit__(
        self, kind: type[BaseException] | None, error: BaseException | None, trace: TracebackType | None
    ) -> None:
        self.child.close(force=True)

    @property
    def lines(self) -> list[str]:
        """What stands on the screen."""
        return [line.rstrip() for line in self.screen.display]

    @property
    def text(self) -> str:
        """What stands on the screen and has scrolled off above it, in one line; full lines run on."""
        above = ["".join(row[n].data for n in range(self.screen.columns)) for row in self.screen.history.top]
        return " ".join("".join([*above, *self.screen.display]).split())

    def until(self, ready: Callable[[], bool]) -> None:
        """Watch the screen until something shows; the failure tells what was on it."""
        end = time.monotonic() + _PATIENCE_S
        while not ready():
            self._read()
            if time.monotonic() > end or not (self.child.isalive() or ready()):
                self._read()
                assert ready(), "\n".join(self.lines)

    def sees(self, words: str) -> None:
        """Watch until these words stand on the screen or above it."""
        self.until(lambda: " ".join(words.split()) in self.text)

    def prompted(self, words: str) -> None:
        """Watch until the cursor stands right behind a prompt that ends with these words."""
        self.until(lambda: self._cursor_line()[1].endswith(words))

    def asks(self, number: int) -> None:
        """Watch until the question of this number stands on the screen."""
        self.until(lambda: any(line.startswith(f"── {number} ") for line in self.lines))

    def types(self, text: str) -> None:
        """Press keys."""
        self.child.send(text)

    def answers(self, text: str) -> None:
        """Type a line, and watch until it is taken."""
        line = self._cursor_line()
        self.child.send(f"{text}\r")
        self.until(lambda: self._cursor_line() != line or not self.child.isalive())

    def _cursor_line(self) -> tuple[int, str]:
        row = self.screen.cursor.y
        return len(self.screen.history.top) + row, self.screen.display[row].rstrip()

    def resize(self, columns: int, rows: int) -> None:
        """Change the size of the window."""
        self.child.setwinsize(rows, columns)
        self.screen.resize(rows, columns)

    def ends(self) -> int:
        """Watch until the program ends and return its exit code."""
        self.until(lambda: not self.child.isalive())
        self._read()
        self.child.close()
        return -1 if self.child.exitstatus is None else int(self.child.exitstatus)

    def _read(self) -> None:
        try:
            data = b"" if self.child.closed else self.child.read_nonblocking(65536, timeout=0.05)
        except (pexpect.TIMEOUT, pexpect.EOF):
            return
        self.raw += data
        self.stream.feed(data)
