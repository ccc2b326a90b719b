"""Finding cases by words that stand anywhere in them."""

from collections.abc import Iterable, Iterator
from dataclasses import dataclass
from typing import Final

from assistant.records.lines import Contents
from assistant.records.store import Summary
from assistant.records.words import harmless

__all__ = ["Hit", "search"]

_SHOWN: Final = 100


@dataclass(frozen=True, slots=True, kw_only=True)
class Hit:
    """A case that was found, and one place where a word stands."""

    case: str
    where: str


def search(cases: Iterable[Summary], words: Iterable[str]) -> Iterator[Hit]:
    """Yield the cases that hold all the words, in any case of letters; cases that cannot be read are passed over.

    Parameters
    ----------
    cases
        The cases to look through, in the order of the result.
    words
        What to look for: in names, symptom, answers, remarks, repairs and the wiring.
    """
    wanted = [word.casefold() for word in words if word.strip()]
    for case in cases:
        texts = [] if case.contents is None else [case.name, *_texts(case.contents)]
        found = [next((text for text in texts if word in text.casefold()), None) for word in wanted]
        first = found[0] if found else None
        if first is not None and all(text is not None for text in found):
            yield Hit(case=case.name, where=_around(first, wanted[0]))


def _texts(contents: Contents) -> Iterator[str]:
    header, closing = contents.header, contents.closing
    yield from (header.boat, header.symptom, header.started)
    if closing is not None:
        yield from (closing.outcome, closing.text, *closing.done, *closing.left)
    for remark in contents.remarks:
        yield f"{remark.kind} {remark.place} {remark.text}"
    for entry in contents.entries:
        yield f"{entry.get('ask')}: {entry.get('answer')}"
    yield from header.wiring.splitlines()


def _around(text: str, word: str) -> str:
    """Return the surroundings of a word, on one line."""
    start = max(0, text.casefold().find(word) - _SHOWN // 3)
    return harmless(text[start : start + _SHOWN]).strip()
