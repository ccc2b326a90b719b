"""Questions about a boat, and what counts as an answer to each form of question."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass
from enum import StrEnum
from typing import Final

from assistant.catalogue import Catalogue
from assistant.errors import AnswerError, QuantityError
from assistant.plan.sizing import Answers, Sizing
from assistant.quantities import Unit, parse_quantity, show
from assistant.wiring import read_lead

_LONGEST: Final = 80

VOLTS_AMPS: Final = (Unit.VOLT, Unit.AMP)
"""Units of what is asked as volts at a current."""


class Form(StrEnum):
    """What an answer looks like."""

    CHOICE = "choice"
    QUANTITY = "quantity"  # one or more values joined by "at"
    LEAD = "lead"
    TEXT = "text"


@dataclass(frozen=True, slots=True, kw_only=True)
class Question:
    """One question.

    Attributes
    ----------
    key : name of the answer, in words that a person understands.
    text : what is asked.
    form : what an answer looks like.
    choices : keys and words to choose from.
    usual : the answer that "usual" and "don't know" stand for.
    units : units of a quantity, one for each value.
    low, high : limits of the first value.
    second : limits of the second value.
    none : whether 0 is an answer, whatever the limits: there is no such part.
    why : what the answer is for.
    """

    key: str
    text: str
    form: Form
    choices: tuple[tuple[str, str], ...] = ()
    usual: str = ""
    units: tuple[Unit, ...] = ()
    low: float | None = None
    high: float | None = None
    second: tuple[float | None, float | None] | None = None
    none: bool = False
    why: str = ""

    def words(self, answer: str) -> str:
        """Return an answer as a person reads it."""
        return dict(self.choices).get(answer, answer)


Topic = Callable[[Answers, Sizing], Question | None]
"""What gives a question, or none where the answers so far make it idle."""


def checked(question: Question, typed: str, catalogue: Catalogue) -> str:
    """Return an answer as it is kept.

    Parameters
    ----------
    question
        What was asked.
    typed
        The key of a choice, or what was typed.
    catalogue
        All part kinds, for the limits of leads.

    Raises
    ------
    AnswerError
        If it is no answer to the question.
    """
    text = " ".join(typed.split())
    match question.form:
        case Form.CHOICE:
            return _chosen(question, text)
        case Form.QUANTITY:
            return _values(question, text)
        case Form.LEAD:
            read_lead(text, catalogue)
            return text
        case Form.TEXT:
            return _plain(text)


def _chosen(question: Question, key: str) -> str:
    if key in dict(question.choices):
        return key
    raise AnswerError(
        value=key, reason="none of the answers", next_step="type a number, or part of one of the lines"
    )


def _values(question: Question, text: str) -> str:
    pieces = text.split(" at ")
    if len(pieces) != len(question.units):
        raise AnswerError(
            value=text, reason="that is not the form", next_step=f"write it like {question.usual}"
        )
    shown = []
    for number, (piece, unit) in enumerate(zip(pieces, question.units, strict=True)):
        low, high = (question.second or (0.0, None)) if number else (question.low, question.high)
        try:
            value = parse_quantity(piece, unit).value
            if value or not question.none:
                parse_quantity(piece, unit, low=low, high=high)
        except QuantityError as error:
            step = f"{error.next_step}, or 0 for none" if question.none else error.next_step
            raise AnswerError(value=piece, reason=error.reason, next_step=step) from error
        if unit is Unit.COUNT and value != int(value):
            raise AnswerError(value=piece, reason="that is no whole number", next_step="type one, such as 3")
        shown.append(show(value, unit, 6))
    return " at ".join(shown)


def _plain(text: str) -> str:
    if not text or len(text) > _LONGEST or not text.isprintable():
        raise AnswerError(
            value=text, reason="that cannot be kept as it is", next_step=f"use 1 to {_LONGEST} characters"
        )
    return text
