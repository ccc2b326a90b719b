"""Where lines go and answers come from: a terminal with a cursor, or a plain stream of lines.

Both print, then prompt, then print again, never both at once, so nothing on the screen has to be patched. The
plain one is for pipes, terminals without a cursor and screen readers: it only ever appends lines.
"""

import contextlib
import os
import shutil
import sys
from collections.abc import Callable, Iterable, Mapping, Sequence
from functools import cached_property
from typing import Final, Protocol, TextIO

from prompt_toolkit import PromptSession
from prompt_toolkit.application import get_app_session
from prompt_toolkit.completion import WordCompleter
from prompt_toolkit.history import DummyHistory
from prompt_toolkit.input.typeahead import clear_typeahead
from prompt_toolkit.key_binding import KeyBindings, KeyPressEvent
from prompt_toolkit.output import create_output
from prompt_toolkit.output.vt100 import Vt100_Output
from prompt_toolkit.shortcuts import CompleteStyle
from prompt_toolkit.styles import Style
from rich.cells import cell_len
from rich.console import Console
from rich.text import Text
from rich.theme import Theme

from assistant.console.page import Page, glyphs_for

if sys.platform == "win32":
    import msvcrt
else:
    import termios

__all__ = ["SUN", "THEME", "CursorTerminal", "PlainTerminal", "Terminal", "open_terminal"]

_PLAIN_WIDTH: Final = 80
_LEAST_WIDTH, _LEAST_ROWS = 20, 10
_PASTED_AT_MOST: Final = 4000

# Weight and reversal carry where colour does not; red alone has a colour, and says its name.
_STYLES: Final[Mapping[str, str]] = {
    "question": "bold",
    "heading": "bold",
    "red": "bold red",
    "black": "bold",
    "probe": "bold",
    "off": "bold reverse",
    "likely": "bold",
    "caution": "bold reverse",
    "rule": "none",
    "hint": "none",
}
THEME: Final = Theme(_STYLES, inherit=False)
# In sunlight only the most contrast there is can be read, on paper-like ground.
SUN_BASE: Final = "black on bright_white"
SUN: Final = Theme({**_STYLES, "red": "bold"}, inherit=False)
_SUN_PROMPT: Final = Style.from_dict({"": "fg:ansiblack bg:ansiwhite bold"})
_KEYS: Final[Mapping[str, str]] = {"f1": "how", "f2": "why", "f3": "back", "f4": "show"}


class Terminal(Protocol):
    """What the console needs of a terminal."""

    @property
    def page(self) -> Page:
        """The page as it is now; a window may change its size at any time."""

    @property
    def leaving_is_wish(self) -> bool:
        """Whether the end of input is a person's wish to leave, and not a pipe that ran dry."""

    def show(self, lines: Iterable[Text]) -> None:
        """Print lines."""

    def forget(self) -> None:
        """Drop what was typed while nothing was asked: it cannot be meant for a question nobody had seen."""

    def ask(self, prompt: str, words: Sequence[str] = ()) -> str:
        """Return what was typed, without the line end.

        Parameters
        ----------
        prompt
            What stands before the cursor.
        words
            What Tab completes to.

        Raises
        ------
        EOFError
            At the end of input, or when the person wants to leave.
        KeyboardInterrupt
            When the person drops what was typed.
        """


class PlainTerminal:
    """Lines in, lines out.

    Parameters
    ----------
    source, sink
        Where lines come from and go to.
    width
        Columns; 80 when not known.
    interactive
        Whether a person sits at the other end.
    """

    def __init__(
        self, source: TextIO, sink: TextIO, *, width: int = _PLAIN_WIDTH, interactive: bool = False
    ) -> None:
        self._source = source
        self._sink = sink
        self._page = Page(
            width=max(width, _LEAST_WIDTH), rows=24, glyphs=glyphs_for(sink.encoding), plain=True
        )
        self.leaving_is_wish = interactive

    @property
    def page(self) -> Page:
        """The page; its size never changes."""
        return self._page

    def show(self, lines: Iterable[Text]) -> None:
        """Print lines without any style."""
        for line in lines:
            self._sink.write(f"{line.plain.rstrip()}\n")
        self._sink.flush()

    def forget(self) -> None:
        """Drop nothing: what comes down a pipe was written ahead on purpose."""

    def ask(self, prompt: str, words: Sequence[str] = ()) -> str:  # noqa: ARG002 - a stream completes no words
        """Return the next line; a pipe ends the line of the prompt itself, as nobody's Enter does."""
        self._sink.write(prompt)
        self._sink.flush()
        line = self._source.readline(_PASTED_AT_MOST)
        rest = line
        while len(rest) == _PASTED_AT_MOST and not rest.endswith("\n"):
            rest = self._source.readline(_PASTED_AT_MOST)
        if not (self.leaving_is_wish and line.endswith("\n")):
            self._sink.write("\n")
        if not line:
            raise EOFError
        return line.rstrip("\r\n")


class CursorTerminal:
    """A terminal with a cursor: styled lines, editing, completion with Tab.

    Parameters
    ----------
    console
        Where lines go.
    source
        Where keys come from.
    sun
        Whether to paint black on white, whatever the terminal's own colours are.
    """

    leaving_is_wish = True

    def __init__(self, console: Console, source: TextIO, *, sun: bool = False) -> None:
        self._console = console
        self._source = source
        self._sun = sun

    @property
    def page(self) -> Page:
        """The page as the window is now."""
        columns, rows = self._console.size
        return Page(
            width=max(columns, _LEAST_WIDTH),
            rows=max(rows, _LEAST_ROWS),
            glyphs=glyphs_for(self._console.encoding),
        )

    def show(self, lines: Iterable[Text]) -> None:
        """Print styled lines."""
        for line in lines:
            self._console.print(self._lit(line), highlight=False, soft_wrap=True)

    def _lit(self, line: Text) -> Text:
        """Return a line as it is painted; in the sun the whole row is."""
        if not self._sun:
            return line
        room = max(self.page.width - cell_len(line.plain), 0)
        return Text.assemble(line, " " * room, style=SUN_BASE)

    def forget(self) -> None:
        """Drop the keys pressed while nothing was asked."""
        clear_typeahead(get_app_session().input)
        if sys.platform == "win32":
            while msvcrt.kbhit():
                msvcrt.getwch()
        else:
            with contextlib.suppress(termios.error, OSError, ValueError):
                termios.tcflush(self._source.fileno(), termios.TCIFLUSH)

    def ask(self, prompt: str, words: Sequence[str] = ()) -> str:
        """Return what was typed; nothing typed before is ever offered again."""
        completer = WordCompleter(list(words), ignore_case=True, sentence=True, match_middle=True)
        return self._keyboard.prompt(prompt, completer=completer)[:_PASTED_AT_MOST]

    @cached_property
    def _keyboard(self) -> PromptSession[str]:
        """What reads lines: made at the first question, since that takes longer than to ask one."""
        output = create_output()
        if isinstance(output, Vt100_Output):
            # A prompt of one line need not know where the cursor stands; asking costs a way there and back on a slow
            # line, and terminals that do not answer are scolded for it.
            output.enable_cpr = False
        return PromptSession(
            output=output,
            history=DummyHistory(),
            complete_while_typing=False,
            complete_style=CompleteStyle.READLINE_LIKE,
            reserve_space_for_menu=0,
            mouse_support=False,
            enable_open_in_editor=False,
            key_bindings=_keys(),
            style=_SUN_PROMPT if self._sun else None,
        )


def open_terminal(source: TextIO, sink: TextIO, *, plain: bool = False, sun: bool = False) -> Terminal:
    """Return the terminal that fits what the program was started with.

    Parameters
    ----------
    source, sink
        Standard input and output.
    plain
        Whether only plain lines are wanted.
    sun
        Whether to paint black on white; the environment variable `LEADLINE_SUN` says the same.
    """
    interactive = source.isatty() and sink.isatty()
    if plain or not interactive or os.environ.get("TERM", "").casefold() in {"dumb", "unknown"}:
        for stream in (source, sink):
            _never_fail(stream)
        width = shutil.get_terminal_size((_PLAIN_WIDTH, 24)).columns if sink.isatty() else _PLAIN_WIDTH
        return PlainTerminal(source, sink, width=width, interactive=interactive)
    # NO_COLOR is obeyed by the library: then nothing is painted, and weight and reversal are left.
    sun = (sun or bool(os.environ.get("LEADLINE_SUN"))) and not os.environ.get("NO_COLOR")
    theme = SUN if sun else THEME
    console = Console(file=sink, theme=theme, markup=False, emoji=False, highlight=False)
    return CursorTerminal(console, source, sun=sun)


def _never_fail(stream: TextIO) -> None:
    """Let bytes that are no text come through as marks, rather than end the program."""
    reconfigure = getattr(stream, "reconfigure", None)
    if reconfigure is not None:
        with contextlib.suppress(ValueError, OSError):
            reconfigure(errors="replace")


def _keys() -> KeyBindings:
    """Return the extra keys: each answers as if its word had been typed, and Ctrl-D leaves from anywhere."""
    keys = KeyBindings()
    for key, word in _KEYS.items():
        keys.add(key)(_answering(word))

    @keys.add("c-d")
    def _leave(event: KeyPressEvent) -> None:
        event.app.exit(exception=EOFError, style="class:exiting")

    return keys


def _answering(word: str) -> Callable[[KeyPressEvent], None]:
    def answer(event: KeyPressEvent) -> None:
        event.app.exit(result=word)

    return answer
