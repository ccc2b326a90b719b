"""Choosing from a list by number, by typing part of it, or by saying it in one's own words.

A number, a name or a part that only one entry has is taken at once. Words that merely resemble what people
say about an entry make a short list with the likeliest first, and the person picks; a guess is never acted
on.
"""

import math
import re
from collections import Counter
from collections.abc import Sequence
from dataclasses import dataclass
from typing import Final

__all__ = ["Choice", "Found", "find_choice"]

_MOST: Final = 4
_STEM: Final = 4
# Words that tell nothing apart in this trade.
_EMPTY: Final = frozenset(
    re.findall(
        r"\w+",
        "a an and are at be but by do does for from i if in is it its me my no not of on or so that the then"
        " there this to up was when with boat only just still very all any",
    )
)


@dataclass(frozen=True, slots=True, kw_only=True)
class Choice:
    """An entry of a list.

    Attributes
    ----------
    key : what is returned when it is chosen.
    title : what the list shows.
    about : more about it, shown where there is room.
    says : how people put it.
    """

    key: str
    title: str
    about: str = ""
    says: tuple[str, ...] = ()


@dataclass(frozen=True, slots=True, kw_only=True)
class Found:
    """What typed text may mean: the entries, likeliest first, and whether the first is surely meant."""

    choices: tuple[Choice, ...]
    sure: bool


def find_choice(typed: str, choices: Sequence[Choice]) -> Found:
    """Return what a person means.

    Parameters
    ----------
    typed
        A number from 1, part of a title or key, or a description.
    choices
        The list as it was shown.
    """
    word = " ".join(typed.casefold().split())
    if word.isdecimal():
        number = int(word[:9])
        picked = choices[number - 1 : number] if number else ()
        return Found(choices=tuple(picked), sure=bool(picked))
    if not word:
        return Found(choices=(), sure=False)
    for fits in (_same, _begins, _holds):
        found = tuple(choice for choice in choices if fits(choice, word))
        if found:
            return Found(choices=found, sure=len(found) == 1)
    return Found(choices=_resembling(word, choices), sure=False)


def _names(choice: Choice) -> tuple[str, ...]:
    return (choice.title.casefold(), choice.key.casefold(), choice.key.casefold().replace("-", " "))


def _same(choice: Choice, word: str) -> bool:
    return word in _names(choice) or word in {say.casefold() for say in choice.says}


def _begins(choice: Choice, word: str) -> bool:
    return any(name.startswith(word) for name in _names(choice))


def _holds(choice: Choice, word: str) -> bool:
    return any(word in name for name in _names(choice))


def _resembling(typed: str, choices: Sequence[Choice]) -> tuple[Choice, ...]:
    """Return the entries whose ways of saying share words with what was typed, likeliest first.

    A word counts the more the fewer entries use it; of the ways of saying an entry the best one counts, and
    words of it that were not typed count against it a little.
    """
    wanted = set(_stems(typed))
    phrases = {choice.key: [set(_stems(text)) for text in (choice.title, *choice.says)] for choice in choices}
    users = Counter(stem for sets in phrases.values() for stem in set().union(*sets))
    worth = {stem: math.log((len(choices) + 1) / count) for stem, count in users.items()}
    scores = {
        key: max(sum(worth[stem] for stem in stems & wanted) / math.sqrt(len(stems) + 1) for stems in sets)
        for key, sets in phrases.items()
    }
    ranked = sorted(choices, key=lambda choice: -scores[choice.key])
    return tuple(choice for choice in ranked if scores[choice.key] > 0)[:_MOST]


def _stems(text: str) -> list[str]:
    """Return the words of a text, cut so that their endings do not matter."""
    words = re.findall(r"[^\W_]+", text.casefold())
    return [word[: max(_STEM, len(word) - 2)] for word in words if word not in _EMPTY]
