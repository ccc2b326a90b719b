"""What was worked out last, kept so that it need not be worked out again.

In a hunt the evidence grows by one answer a step and all before it stays, so the last few values serve nearly always.
"""

from __future__ import annotations

from collections.abc import Callable, Hashable
from typing import Generic, TypeVar

Key = TypeVar("Key", bound=Hashable)
Value = TypeVar("Value")


class Recent(Generic[Key, Value]):
    """The last few values by their keys.

    Parameters
    ----------
    most : how many are kept, at most; the one that was not wanted for longest goes first.
    """

    def __init__(self, most: int) -> None:
        self._most = most
        self._kept: dict[Key, Value] = {}

    def get(self, key: Key, make: Callable[[], Value]) -> Value:
        """Return the value of a key, made when it is not kept.

        >>> recent: Recent[int, str] = Recent(2)
        >>> [recent.get(n, lambda: f"made for {n}") for n in (1, 2, 1, 3)][-1]
        'made for 3'
        >>> recent.get(1, lambda: "made anew"), recent.get(2, lambda: "made anew")
        ('made for 1', 'made anew')
        """
        if key in self._kept:
            value = self._kept.pop(key)
        else:
            value = make()
            while len(self._kept) >= self._most:
                del self._kept[next(iter(self._kept))]
        self._kept[key] = value
        return value
