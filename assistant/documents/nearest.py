"""The right name for a wrong one."""

import difflib
from collections.abc import Iterable
from typing import Final

__all__ = ["nearest"]

_CUTOFF: Final = 0.6


def nearest(word: str, choices: Iterable[str], n: int = 1) -> tuple[str, ...]:
    """Return the names most like a word, best first; empty where none is like it.

    Parameters
    ----------
    word
        What was written.
    choices
        The right names.
    n
        Most names to return, 1 or more.

    Examples
    --------
    >>> nearest("Ratting", ["rating", "reach", "kind"])
    ('rating',)
    """
    # The first of names that differ only by case stands for all of them.
    by_folded: dict[str, str] = {}
    for choice in choices:
        by_folded.setdefault(choice.casefold(), choice)
    found = difflib.get_close_matches(word.casefold(), by_folded, n=n, cutoff=_CUTOFF)
    return tuple(by_folded[name] for name in found)
