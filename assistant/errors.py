"""Everything that can go wrong, sorted by who must act.

Each error carries the value, the place, the reason and the next step, as attributes and in its message, so
that a console can lay them out and a log can print them. Errors in written files carry every problem found
in the file, because whoever mends it wants one list and not one run for each mistake.
"""

from collections.abc import Iterable
from typing import Any

from attrs import frozen

__all__ = [
    "AnswerError",
    "AuthorError",
    "BoatsideError",
    "CaseError",
    "CircuitError",
    "ConvergenceError",
    "DocumentError",
    "KnowledgeError",
    "LeadlineError",
    "MisuseError",
    "Problem",
    "QuantityError",
    "WiringError",
    "quote",
]


def quote(text: str, limit: int = 40) -> str:
    r"""Typed text in double quotes, on one line, shortened, and harmless to a terminal.

    Parameters
    ----------
    text
        Anything a person or a file handed in.
    limit
        Most characters of `text` that are kept.

    Examples
    --------
    >>> print(quote("11 A"))
    "11 A"
    >>> print(quote("\x1b[2J"))
    "\x1b[2J"
    """
    kept = text if len(text) <= limit else text[: limit - 1] + "…"
    shown = (c if c.isprintable() else c.encode("unicode_escape").decode("ascii") for c in kept)
    return '"' + "".join(shown) + '"'


@frozen(kw_only=True, order=True)
class Problem:
    """One mistake in a written file: where, what and how to mend it.

    Parameters
    ----------
    file
        The name of the file, as the person knows it.
    line, column
        Place of the mistake, both counted from 1.
    code
        Short fixed name of the sort of mistake, such as ``duplicate-key``.
    what
        What is wrong, with the value.
    mend
        What to write instead.

    Examples
    --------
    >>> print(Problem(file="boat.yaml", line=3, column=5, code="tab", what="a tab", mend="use spaces"))
    boat.yaml:3:5  [tab]  a tab; use spaces
    """

    file: str
    line: int
    column: int
    code: str
    what: str
    mend: str

    def __str__(self) -> str:
        return f"{self.file}:{self.line}:{self.column}  [{self.code}]  {self.what}; {self.mend}"


class LeadlineError(Exception):
    """Root of all errors raised on purpose.

    ::

        LeadlineError
        ├── AuthorError               whoever wrote a file; carries all its problems
        │   ├── DocumentError         the text cannot be read, whatever it was meant to say
        │   ├── KnowledgeError        author of the knowledge
        │   └── WiringError           author of a wiring file
        ├── BoatsideError             person at the boat
        │   ├── QuantityError         a number or its unit
        │   ├── AnswerError           an answer that does not fit the question
        │   └── CaseError             a recorded case that is missing or damaged
        ├── CircuitError              nobody at first: this network has no solution; names the places
        │   └── ConvergenceError      no steady answer was found
        └── MisuseError               programmer

    Parameters
    ----------
    reason
        Why this cannot go on.
    value
        What was given, if anything; quoted in the message.
    place
        Where, in the person's words: a terminal, a field, a file.
    next_step
        What to do about it.

    Examples
    --------
    >>> str(QuantityError(value="11 A", place="pack", reason="found amps", next_step="type volts"))
    '"11 A" at pack: found amps; type volts'
    """

    def __init__(self, *, reason: str, value: object = None, place: str = "", next_step: str = "") -> None:
        self.reason = reason
        self.value = value
        self.place = place
        self.next_step = next_step
        super().__init__(self._message())

    def _message(self) -> str:
        """Compose "value at place: reason; next step", leaving out what is not known."""
        value = "" if self.value is None else quote(str(self.value))
        where = " at ".join(part for part in (value, self.place) if part)
        advice = "; ".join(part for part in (self.reason, self.next_step) if part)
        return ": ".join(part for part in (where, advice) if part)

    def __reduce__(self) -> tuple[Any, ...]:
        # Keyword-only constructors break the default pickling, and with it any pool of worker processes.
        return _revive, (type(self), self.args), dict(self.__dict__)


def _revive(kind: type[LeadlineError], args: tuple[Any, ...]) -> LeadlineError:
    """Build an unpickled error without its constructor; its attributes follow as state."""
    return kind.__new__(kind, *args)


class AuthorError(LeadlineError):
    """A written file has to be mended by its author; the message lists every problem, one a line.

    Parameters
    ----------
    problems
        What is wrong with the file; kept in the order of file, line and column.
    reason, value, place, next_step
        As for `LeadlineError`. What is left out is taken from the first problem; a reason that is given
        heads the list.

    Raises
    ------
    TypeError
        With neither a problem nor a reason: such an error would say nothing.
    """

    def __init__(
        self,
        *,
        problems: Iterable[Problem] = (),
        reason: str = "",
        value: object = None,
        place: str = "",
        next_step: str = "",
    ) -> None:
        self.problems: tuple[Problem, ...] = tuple(sorted(problems))
        if not self.problems and not reason:
            raise TypeError("an error about a file needs at least one problem or a reason")
        self._headed = bool(reason)
        first = self.problems[0] if self.problems else None
        if first is not None:
            reason = reason or first.what
            place = place or f"{first.file}:{first.line}:{first.column}"
            next_step = next_step or first.mend
        super().__init__(reason=reason, value=value, place=place, next_step=next_step)

    def _message(self) -> str:
        if not self.problems:
            return super()._message()
        head = [self.reason] if self._headed else []
        return "\n".join([*head, *map(str, self.problems)])


class DocumentError(AuthorError):
    """The text of a file cannot be read: not valid, not allowed here, or too big."""


class KnowledgeError(AuthorError):
    """The knowledge contradicts itself or its form; its author must act."""


class WiringError(AuthorError):
    """A wiring description says something impossible or unclear; its author must act."""


class BoatsideError(LeadlineError):
    """The person at the boat can put it right."""


class QuantityError(BoatsideError):
    """A number, its unit or its range is not usable."""


class AnswerError(BoatsideError):
    """The answer does not fit the question."""


class CaseError(BoatsideError):
    """A recorded case is missing, damaged or belongs to something else."""


class CircuitError(LeadlineError):
    """A network that cannot be solved.

    Parameters
    ----------
    places
        The terminals, leads or parts concerned; they stand for `place` where that is not given.
    reason, value, place, next_step
        As for `LeadlineError`.
    """

    def __init__(
        self,
        *,
        reason: str,
        places: Iterable[str] = (),
        value: object = None,
        place: str = "",
        next_step: str = "",
    ) -> None:
        self.places: tuple[str, ...] = tuple(places)
        place = place or ", ".join(self.places)
        super().__init__(reason=reason, value=value, place=place, next_step=next_step)


class ConvergenceError(CircuitError):
    """The iteration did not come to rest."""


class MisuseError(LeadlineError):
    """A caller broke the rules of an interface; the programmer must act."""
