"""A dialogue together with what its journal must hold, so that it can be replayed.

Every line a person types is an entry, whether it answered, asked back or was not understood: replaying the
entries gives the same dialogue again.  Each entry names the question it answered and a digest of what could
be answered, so a replay that takes another way is noticed at the entry where it does.
"""

from __future__ import annotations

import hashlib
from collections.abc import Iterable, Mapping
from dataclasses import dataclass

from assistant.dialogue import Ask, Events, Setup, State, start, step
from assistant.errors import CaseError, MisuseError

_DIGEST_LENGTH = 12


@dataclass(frozen=True, slots=True, kw_only=True)
class Entry:
    """What the journal holds of one line typed.

    Attributes
    ----------
    n : number of the entry, from 1.
    ask : id of the question it was typed at.
    digest : what that question could be answered with, shortened; see `digest_of`.
    answer : the line as typed.
    at : when, as the caller's clock gave it.
    """

    n: int
    ask: str
    digest: str
    answer: str
    at: str

    def as_dict(self) -> dict[str, object]:
        """Return the entry for writing."""
        return {"n": self.n, "ask": self.ask, "digest": self.digest, "answer": self.answer, "at": self.at}

    @classmethod
    def of(cls, record: Mapping[str, object], number: int) -> Entry:
        """Return the entry that was written as `record`.

        Raises
        ------
        CaseError
            When a field is missing or of the wrong kind; `number` names the entry.
        """
        n, texts = record.get("n"), [record.get(name) for name in ("ask", "digest", "answer", "at")]
        words = [text for text in texts if isinstance(text, str)]
        if not isinstance(n, int) or isinstance(n, bool) or len(words) < len(texts):
            raise _damaged(number, "it lacks n, ask, digest, answer or at")
        ask, digest, answer, at = words
        return cls(n=n, ask=ask, digest=digest, answer=answer, at=at)


class Session:
    """A dialogue that records what is typed, and can start from what was recorded.

    Parameters
    ----------
    setup : what the dialogue runs on.
    symptom : id of the symptom.
    journal_entries : entries recorded earlier, replayed one by one.

    Raises
    ------
    CaseError
        When the entries do not belong to this boat and knowledge; it names the first that does not fit.
    AnswerError
        For an unknown symptom, or a boat without the parts it is about.
    """

    def __init__(
        self, setup: Setup, symptom: str, journal_entries: Iterable[Mapping[str, object]] = ()
    ) -> None:
        self.setup = setup
        self._state, self._events = start(setup, symptom)
        self._entries: list[Entry] = []
        for number, record in enumerate(journal_entries, start=1):
            self._replay(Entry.of(record, number), number)

    @property
    def state(self) -> State:
        """Where the dialogue stands."""
        return self._state

    @property
    def events(self) -> Events:
        """What was said last."""
        return self._events

    @property
    def entries(self) -> tuple[dict[str, object], ...]:
        """What the journal must hold."""
        return tuple(entry.as_dict() for entry in self._entries)

    @property
    def over(self) -> bool:
        """Whether nothing is asked any more."""
        return self._state.pending is None

    def entry_for(self, text: str, at: str) -> dict[str, object]:
        """Return the entry that `answer` will record, to be written before the dialogue goes on.

        Raises
        ------
        MisuseError
            When nothing is asked.
        """
        return self._entry(text, at).as_dict()

    def answer(self, text: str, at: str) -> Events:
        """Take a line typed by a person and return what is said to it.

        Raises
        ------
        MisuseError
            When nothing is asked.
        """
        entry = self._entry(text, at)
        self._state, self._events = step(self.setup, self._state, text)
        self._entries.append(entry)
        return self._events

    def _entry(self, text: str, at: str) -> Entry:
        ask = self._state.pending
        if ask is None:
            raise MisuseError(value=text, reason="nothing is asked", next_step="start a new case")
        return Entry(n=len(self._entries) + 1, ask=ask.id, digest=digest_of(ask), answer=text, at=at)

    def _replay(self, entry: Entry, number: int) -> None:
        ask = self._state.pending
        if entry.n != number:
            raise _damaged(number, f"it is numbered {entry.n}")
        if ask is None:
            raise _damaged(number, "the case was over before it")
        if entry.ask != ask.id:
            raise _damaged(number, f'it answers "{entry.ask}", but "{ask.id}" is asked')
        if entry.digest != digest_of(ask):
            raise _damaged(number, f'"{ask.id}" could then be answered in other ways than now')
        self.answer(entry.answer, entry.at)


def digest_of(ask: Ask) -> str:
    """Return a short digest of what an ask wants: its kind, options, reading, sign and boat state."""
    parts = [
        ask.id,
        str(ask.want),
        *(f"{option.key}={option.text}" for option in ask.options),
        repr(ask.measurement),
        repr(ask.query),
        repr(ask.state),
        *([repr(ask.query.after)] if ask.query is not None and ask.query.after is not None else []),
    ]
    return hashlib.sha256("\n".join(parts).encode()).hexdigest()[:_DIGEST_LENGTH]


def _damaged(number: int, reason: str) -> CaseError:
    step_on = "open it with the version and the wiring it was recorded with, or start a new case"
    return CaseError(place=f"entry {number}", reason=f"the record does not fit: {reason}", next_step=step_on)
