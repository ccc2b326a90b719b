"""Asking which boat, symptom or case: a list by number, where part of a name or own words do as well."""

from collections.abc import Iterator, Sequence
from typing import Final

from rich.text import Text

from assistant.console.choose import Choice, find_choice
from assistant.console.page import Page, clean
from assistant.console.terminal import Terminal

__all__ = ["pick"]

_ABOUT_FROM: Final = 60
_HOW: Final = "Type a number, part of a line, or what you see in your own words."
_WORDS: Final = frozenset({"help", "?", "back", "why", "how", "list"})
_LEAVE: Final = frozenset({"quit", "exit", "leave", "save"})


def pick(question: str, choices: Sequence[Choice], terminal: Terminal, *, likely: bool = False) -> str:
    """Return the key of the entry that a person picks.

    Parameters
    ----------
    question
        What to ask.
    choices
        The list.
    terminal
        Where to ask.
    likely
        Whether Enter takes the first entry. Once the list was narrowed by words it always does.

    Raises
    ------
    EOFError
        When the person leaves.
    """
    shown, enter = tuple(choices), likely
    terminal.show(_list(question, shown, terminal.page, enter=enter))
    while True:
        typed = _typed(terminal, _prompt(len(shown)), [choice.title for choice in choices])
        if not typed and enter:
            return shown[0].key
        if typed.casefold() in _WORDS:
            shown, enter = tuple(choices), likely
            terminal.show(terminal.page.wrap(_HOW))
            terminal.show(_list(question, shown, terminal.page, enter=enter))
            continue
        found = find_choice(typed, shown)
        if not found.choices:
            found = find_choice(typed, choices) if not typed.isdecimal() else found
        if found.sure:
            terminal.show(terminal.page.wrap(f"{found.choices[0].title}."))
            return found.choices[0].key
        if found.choices:
            shown, enter = found.choices, True
            terminal.show(_list("Do you mean", shown, terminal.page, enter=True))
        else:
            shown, enter = tuple(choices), likely
            said = f"Nothing here is like {typed[:30]!r}." if typed else "Nothing was typed."
            terminal.show(terminal.page.wrap(f"{said} {_HOW}"))
            terminal.show(_list(question, shown, terminal.page, enter=enter))


def _typed(terminal: Terminal, prompt: str, words: Sequence[str]) -> str:
    """Return what was typed; the word for it leaves, and so does the second of two Ctrl-C."""
    for last in (False, True):
        try:
            typed = clean(terminal.ask(prompt, words)).strip()
        except KeyboardInterrupt:
            if last:
                raise EOFError from None
            terminal.show([Text("Dropped. Once more leaves.")])
            continue
        if typed.casefold() in _LEAVE:
            raise EOFError
        return typed
    raise EOFError


def _prompt(count: int) -> str:
    return "1, or words > " if count == 1 else f"1-{count}, or words > "


def _list(question: str, choices: Sequence[Choice], page: Page, *, enter: bool) -> Iterator[Text]:
    yield from page.wrap(question, style="question")
    for number, choice in enumerate(choices, start=1):
        about = f": {choice.about}" if choice.about and page.width >= _ABOUT_FROM else ""
        likely = enter and number == 1
        text = f"{choice.title}{about}{' (Enter)' if likely else ''}"
        yield from page.wrap(text, first=f"{number:>2}  ", style="likely" if likely else "")
