"""The line protocol: a hunt, or a choice before it, as one JSON object a line out and one in."""

import json
from collections.abc import Sequence
from typing import TextIO

from assistant.cli.hunt import RecordedHunt
from assistant.console import Choice, Left, clean, find_choice
from assistant.dialogue import Ask, Event, Option, Show, Want, Word
from assistant.errors import AnswerError, BoatsideError
from assistant.session import decode, encode

__all__ = ["choose_by_lines", "run_lines"]


def run_lines(hunt: RecordedHunt, source: TextIO, sink: TextIO) -> Left:
    """Go through a case line by line until it ends or the other side leaves.

    Raises
    ------
    CaseError
        If an answer could not be recorded; what was recorded before is safe.
    """
    _say(hunt.events, sink)
    while hunt.events and isinstance(hunt.events[-1], Ask):
        ask = hunt.events[-1]
        line = source.readline()
        if not line:
            return Left.RAN_DRY
        try:
            text = clean(decode(line))
        except BoatsideError as error:
            _say([Show(id=f"{ask.id}.again", text=str(error)), ask], sink)
            continue
        if text.strip().casefold() == Word.SAVE:
            return Left.SAVED
        hunt.answer(text)
        _say(hunt.events, sink)
    return Left.ENDED


def choose_by_lines(name: str, question: str, choices: Sequence[Choice], source: TextIO, sink: TextIO) -> str:
    """Return the key of the entry that the other side chooses.

    Raises
    ------
    EOFError
        At the end of input.
    """
    options = tuple(Option(key=choice.key, text=choice.title) for choice in choices)
    ask = Ask(id=name, text=question, want=Want.CHOICE, options=options)
    _say([ask], sink)
    while line := source.readline():
        try:
            found = find_choice(clean(decode(line)), choices)
            if found.sure:
                return found.choices[0].key
            raise AnswerError(reason="none of the answers", next_step="give the key of an option")
        except BoatsideError as error:
            _say([Show(id=f"{name}.again", text=str(error)), ask], sink)
    raise EOFError


def _say(events: Sequence[Event], sink: TextIO) -> None:
    sink.writelines(json.dumps(encode(event), ensure_ascii=False, allow_nan=False) + "\n" for event in events)
    sink.flush()
