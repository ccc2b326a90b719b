"""Short codes of drills: an instructor says one, and everybody has the same boat with the same fault.

A code is a level, two signs for the boat, four for the fault and the noise, and one that tells a slip of the tongue:
``2-KT-4F0M-9``.  Letters that look like digits are taken for them.  Nothing else decides a drill, so that a code means
the same on every machine as long as wiring and knowledge are the same.
"""

from __future__ import annotations

import hashlib
from dataclasses import dataclass

from assistant.errors import AnswerError

_SIGNS = "0123456789ABCDEFGHJKMNPQRSTVWXYZ"
_ALIKE = str.maketrans("OILU", "011V")
_SEEDS = 32**4
_LENGTH = 8


@dataclass(frozen=True, slots=True, kw_only=True)
class Code:
    """A drill in short.

    Attributes
    ----------
    level : number of the level.
    boat : two signs made of the boat's name.
    seed : fixes fault, severity, tolerances and noise; 0 to 1048575.
    """

    level: int
    boat: str
    seed: int

    def __str__(self) -> str:
        body = f"{self.level}{self.boat}{_signs(self.seed, 4)}"
        return f"{body[0]}-{body[1:3]}-{body[3:7]}-{_check(body)}"

    def next(self) -> Code:
        """Return the code after this one."""
        return Code(level=self.level, boat=self.boat, seed=(self.seed + 1) % _SEEDS)


def code_for(level: int, boat: str, seed: int) -> Code:
    """Return the code of a drill on the boat of this name; of `seed` only what fits counts."""
    return Code(level=level, boat=tag_of(boat), seed=seed % _SEEDS)


def tag_of(boat: str) -> str:
    """Return the two signs of a boat's name.

    >>> tag_of("Dabchick") == tag_of("dabchick ")
    True
    """
    digest = hashlib.sha256(boat.strip().casefold().encode()).digest()
    return _signs(int.from_bytes(digest[:2], "big") % 32**2, 2)


def read_code(typed: str) -> Code:
    """Return the code that was typed.

    Raises
    ------
    AnswerError
        If it is none, or has a slip in it.

    Examples
    --------
    >>> str(read_code(str(code_for(2, "Dabchick", 12345)).lower())) == str(code_for(2, "Dabchick", 12345))
    True
    """
    plain = "".join(typed.upper().translate(_ALIKE).split()).replace("-", "")
    hint = "ask for the code again; it looks like 2-KT-4F0M-9"
    if len(plain) != _LENGTH or set(plain) - set(_SIGNS) or not plain[0].isdecimal():
        raise AnswerError(value=typed, reason="this is no code of a drill", next_step=hint)
    if _check(plain[:-1]) != plain[-1]:
        raise AnswerError(value=typed, reason="there is a slip in this code", next_step=hint)
    seed = 0
    for sign in plain[3:7]:
        seed = 32 * seed + _SIGNS.index(sign)
    return Code(level=int(plain[0]), boat=plain[1:3], seed=seed)


def _signs(number: int, count: int) -> str:
    found = ""
    for _ in range(count):
        number, rest = divmod(number, len(_SIGNS))
        found = _SIGNS[rest] + found
    return found


def _check(body: str) -> str:
    """Return a sign that changes when a sign of `body` does, or two change places.

    Factors that differ, and a prime number of remainders, see to that; only 0 and Z have the same remainder.
    """
    total = sum((place + 2) * _SIGNS.index(sign) for place, sign in enumerate(body))
    return _SIGNS[total % 31]
