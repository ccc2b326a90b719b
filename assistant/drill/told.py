"""What a drill says: values that a screen draws and a program reads."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass, field
from enum import StrEnum
from types import MappingProxyType
from typing import TypeAlias

Json: TypeAlias = "str | int | float | bool | Sequence[Json] | Mapping[str, Json] | None"

_NOTHING: Mapping[str, Json] = MappingProxyType({})


class Tells(StrEnum):
    """What sort of thing is said."""

    ASK = "ask"
    SHOW = "show"
    WARN = "warn"
    CONCLUDE = "conclude"


@dataclass(frozen=True, slots=True, kw_only=True)
class Told:
    """One thing that is said.

    Attributes
    ----------
    tells : what sort of thing it is.
    id : stable name.
    text : for a person; line ends are meant.
    data : the same and more for a program, ready for JSON.
    """

    tells: Tells
    id: str
    text: str
    data: Mapping[str, Json] = field(default_factory=lambda: _NOTHING)

    def as_json(self) -> dict[str, Json]:
        """Return it as plain data."""
        return {"event": str(self.tells), "id": self.id, "text": self.text, **self.data}


def show(name: str, text: str, **data: Json) -> Told:
    """Return something to read."""
    return Told(tells=Tells.SHOW, id=name, text=text, data=data)


def warn(name: str, text: str, **data: Json) -> Told:
    """Return a caution."""
    return Told(tells=Tells.WARN, id=name, text=text, data=data)
