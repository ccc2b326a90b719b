"""Putting the questions of an interview to a person at a terminal, or to a program line by line."""

import json
from collections.abc import Iterable
from typing import Final, Protocol, TextIO

from assistant.catalogue import Catalogue
from assistant.console import Choice, Terminal, clean, find_choice
from assistant.dialogue import Ask, Event, Option, Show, Want
from assistant.errors import AnswerError, LeadlineError
from assistant.plan import DRAWN, TYPED, Form, Question, Strokes, checked
from assistant.session import decode, encode

__all__ = ["Asker", "BackError", "Desk", "LinesDesk", "SaveError", "TerminalDesk", "UnknownError"]

_UNKNOWN: Final = frozenset({"don't know", "dont know", "do not know", "unknown"})
_USUAL: Final = frozenset({"", "usual"})
_HELP: Final = (
    "Enter or usual: the usual answer, in brackets. don't know: the same, and the file says so. back: one answer"
    " back. save: the usual answer to all that is left. why: what the answer is for."
)
_NO_REASON: Final = "The answer goes into the description as it is; it can be changed at any time."


class BackError(Exception):
    """The person wants the question before."""


class SaveError(Exception):
    """The person wants to save as it stands."""


class UnknownError(Exception):
    """Nobody knows the answer."""


class Desk(Protocol):
    """Where questions are put and things are told."""

    def tell(self, text: str, *, first: str = "", rest: str | None = None, style: str = "") -> None:
        """Say something.

        Parameters
        ----------
        text
            What to say.
        first, rest
            What stands before its first line and before the others.
        style
            Style of the text.
        """

    def put(self, question: Question, number: int | None) -> str:
        """Put a question and return what was answered.

        Raises
        ------
        EOFError
            When nobody answers any more.
        """

    @property
    def strokes(self) -> Strokes:
        """What pictures are drawn with."""

    @property
    def leaving_is_wish(self) -> bool:
        """Whether the end of input is a person's wish to leave."""


class TerminalDesk:
    """A person at a terminal."""

    def __init__(self, terminal: Terminal) -> None:
        self._terminal = terminal

    @property
    def strokes(self) -> Strokes:
        """Lines where the terminal has them."""
        page = self._terminal.page
        return DRAWN if page.glyphs.unicode and not page.plain else TYPED

    @property
    def leaving_is_wish(self) -> bool:
        """Whether the end of input is a person's wish to leave."""
        return self._terminal.leaving_is_wish

    def tell(self, text: str, *, first: str = "", rest: str | None = None, style: str = "") -> None:
        """Say something; an empty text is an empty line."""
        self._terminal.show(self._terminal.page.wrap(text, first=first, rest=rest, style=style))

    def put(self, question: Question, number: int | None) -> str:
        """Show a question with its choices and return what was typed."""
        self.tell(question.text, first="" if number is None else f"{number}. ", style="question")
        for place, (key, words) in enumerate(question.choices, start=1):
            usual = key == question.usual
            self.tell(
                f"{words}{' (Enter)' if usual else ''}",
                first=f"{place:>2}  ",
                style="likely" if usual else "",
            )
        while True:
            try:
                words_to_type = [words for _, words in question.choices]
                return clean(self._terminal.ask(_prompt(question), [*words_to_type, "back", "save", "why"]))
            except KeyboardInterrupt:
                self.tell("Dropped. Ctrl-D leaves.")


class LinesDesk:
    """A program that speaks the line protocol."""

    leaving_is_wish = False
    strokes = TYPED

    def __init__(self, source: TextIO, sink: TextIO) -> None:
        self._source = source
        self._sink = sink
        self._told = 0

    def tell(self, text: str, *, first: str = "", rest: str | None = None, style: str = "") -> None:
        """Send something to read."""
        del rest, style
        if text:
            self._told += 1
            self._say(Show(id=f"told.{self._told}", text=f"{first}{text}"))

    def put(self, question: Question, number: int | None) -> str:
        """Send a question and return the answer; what is no line of the protocol is told and waited for again."""
        del number
        ask = Ask(
            id=question.key,
            text=question.text,
            want=Want.CHOICE if question.form is Form.CHOICE else Want.TEXT,
            options=tuple(Option(key=key, text=words) for key, words in question.choices),
            default=question.usual,
            why=question.why,
        )
        self._say(ask)
        while line := self._source.readline():
            try:
                return clean(decode(line))
            except LeadlineError as error:
                self._say(Show(id=f"{question.key}.again", text=str(error)))
                self._say(ask)
        raise EOFError

    def _say(self, event: Event) -> None:
        self._sink.write(json.dumps(encode(event), ensure_ascii=False, allow_nan=False) + "\n")
        self._sink.flush()


class Asker:
    """Puts questions until they are answered.

    Parameters
    ----------
    desk
        Who is asked.
    catalogue
        All part kinds.
    """

    def __init__(self, desk: Desk, catalogue: Catalogue) -> None:
        self.desk = desk
        self.catalogue = catalogue

    def tell(self, text: str, *, first: str = "", rest: str | None = None, style: str = "") -> None:
        """Say something."""
        self.desk.tell(text, first=first, rest=rest, style=style)

    def tell_all(self, lines: Iterable[str]) -> None:
        """Say some lines, each with its indent; what is broken goes on further in."""
        for line in lines:
            indent = line[: len(line) - len(line.lstrip())]
            self.tell(line.strip(), first=indent, rest=f"{indent}    ")

    def ask(self, question: Question, number: int | None = None, *, takes_usual: bool = False) -> str:
        """Return the answer to a question, checked.

        Parameters
        ----------
        question
            What is asked.
        number
            Its number, if it has one.
        takes_usual
            Whether the word "usual" is itself an answer, and only Enter stands for the one in brackets.

        Raises
        ------
        BackError, SaveError, UnknownError
            When that is what was answered.
        EOFError
            When nobody answers any more.
        """
        standing = {""} if takes_usual else _USUAL
        while True:
            typed = self.desk.put(question, number).strip()
            word = typed.casefold()
            if word == "back":
                raise BackError
            if word == "save":
                raise SaveError
            if word in _UNKNOWN:
                raise UnknownError
            if word in {"why", "how", "help", "?"}:
                self.tell(_HELP if word in {"help", "?"} else question.why or _NO_REASON)
                continue
            try:
                answer = question.usual if word in standing else self._meant(question, typed)
                kept = checked(question, answer, self.catalogue)
            except AnswerError as error:
                self.tell(str(error))
                continue
            if word not in standing or question.choices:
                self.tell(f"{question.words(kept)}.")
            return kept

    def or_usual(self, question: Question) -> str:
        """Return the answer to a question; who does not know gets the usual one."""
        try:
            return self.ask(question)
        except UnknownError:
            return question.usual

    def _meant(self, question: Question, typed: str) -> str:
        """Return the key of the choice that is meant, or what was typed."""
        if question.form is not Form.CHOICE or typed in dict(question.choices):
            return typed
        choices = [Choice(key=key, title=words) for key, words in question.choices]
        found = find_choice(typed, choices)
        if found.sure:
            return found.choices[0].key
        if found.choices:
            words = " or ".join(f'"{choice.title}"' for choice in found.choices)
            raise AnswerError(value=typed, reason="more than one could be meant", next_step=f"type {words}")
        return typed


def _prompt(question: Question) -> str:
    if question.choices:
        return f"1-{len(question.choices)} > "
    return f"({question.usual}) > " if question.usual else "> "
