"""From nodes to values, noting every problem on the way.

Each function takes a node, or None for a field that is not there, and gives a value, or None (an empty tuple
for the plural ones) where there is none to give. Any problem is in the collector by then, so callers go on
reading and need not report it again.
"""

from collections.abc import Iterable
from enum import StrEnum
from typing import Final, TypeVar, overload

from assistant.documents.nearest import nearest
from assistant.documents.node import Mapping, Node, Scalar, Sequence
from assistant.documents.problems import Code, Problems
from assistant.errors import QuantityError, quote
from assistant.quantities import Quantity, Unit, parse_quantity

__all__ = [
    "choice_of",
    "entries_of",
    "flag_of",
    "items_of",
    "mapping_fields",
    "quantity_of",
    "suggestion",
    "text_of",
    "texts_of",
    "whole_of",
]

_E = TypeVar("_E", bound=StrEnum)
_FLAGS: Final = {"yes": True, "no": False}
_LISTED: Final = 12


def _names(choices: Iterable[str]) -> str:
    """Names for a message, cut where they would fill a screen."""
    names = list(choices)
    shown = ", ".join(names[:_LISTED])
    return f"{shown} and {len(names) - _LISTED} more" if len(names) > _LISTED else shown


def suggestion(word: str, choices: Iterable[str]) -> str:
    """How to mend a wrong name: the nearest right one, or all of them.

    Examples
    --------
    >>> suggestion("fuze", ["fuse", "pump"])
    'did you mean "fuse"?'
    """
    names = list(choices)
    best = nearest(word, names)
    if best:
        return f"did you mean {quote(best[0])}?"
    return f"use one of: {_names(names)}" if names else "remove it"


def _kind(node: Node) -> str:
    match node:
        case Sequence():
            return "a list"
        case Mapping():
            return "a group of fields"
        case Scalar(text="", quoted=False):
            return "nothing"
        case Scalar():
            return f"the text {quote(node.text)}"


def _wrong_kind(node: Node, wanted: str, problems: Problems) -> None:
    problems.add(node.mark, Code.WRONG_KIND, f"found {_kind(node)}", f"write {wanted}")


def entries_of(node: Node | None, problems: Problems) -> tuple[tuple[Scalar, Node], ...]:
    """Return the keys and nodes of a mapping whose keys are free names."""
    if isinstance(node, Mapping):
        return node.items
    if node is not None:
        _wrong_kind(node, 'fields as "name: value"', problems)
    return ()


def mapping_fields(
    node: Node | None, known: Iterable[str], required: Iterable[str], problems: Problems
) -> dict[str, Node]:
    """Return the known fields of a mapping.

    Parameters
    ----------
    node
        Where the fields are.
    known, required
        Names that may occur, and names that must; a required one need not be repeated among the known.
    problems
        Receives unknown names (with the nearest right one), missing ones, and a node that is no mapping.
    """
    required = tuple(required)
    names = tuple(dict.fromkeys((*required, *known)))
    fields: dict[str, Node] = {}
    for key, value in entries_of(node, problems):
        if key.text in names:
            fields[key.text] = value
        else:
            what = f"unknown field {quote(key.text)}"
            problems.add(key.mark, Code.UNKNOWN_KEY, what, suggestion(key.text, names))
    if isinstance(node, Mapping):
        for name in required:
            if name not in fields:
                what = f"the field {quote(name)} is missing"
                problems.add(node.mark, Code.MISSING_KEY, what, f'add "{name}: …"')
    return fields


def text_of(node: Node | None, problems: Problems) -> str | None:
    """Return the text of a scalar, which must not be empty."""
    if node is None:
        return None
    if not isinstance(node, Scalar):
        _wrong_kind(node, "a single text", problems)
        return None
    if not node.text.strip():
        problems.add(node.mark, Code.EMPTY, "nothing is written here", "write the text, or remove the field")
        return None
    return node.text


def items_of(node: Node | None, problems: Problems) -> tuple[Node, ...]:
    """Return the nodes of a sequence."""
    if isinstance(node, Sequence):
        return node.items
    if node is not None:
        _wrong_kind(node, "a list, such as [one, two]", problems)
    return ()


def texts_of(node: Node | None, problems: Problems) -> tuple[str, ...]:
    """Return the texts of a sequence of scalars; items with problems are left out."""
    texts = (text_of(item, problems) for item in items_of(node, problems))
    return tuple(text for text in texts if text is not None)


def quantity_of(
    node: Node | None,
    unit: Unit,
    problems: Problems,
    *,
    allow_overload: bool = False,
    low: float | None = None,
    high: float | None = None,
) -> Quantity | None:
    """Return the quantity that a scalar says; see `parse_quantity` for the notation and the limits."""
    text = text_of(node, problems)
    if node is None or text is None:
        return None
    try:
        return parse_quantity(text, unit, allow_overload=allow_overload, low=low, high=high)
    except QuantityError as error:
        problems.add(node.mark, Code.QUANTITY, f"{quote(text)}: {error.reason}", error.next_step)
        return None


def whole_of(
    node: Node | None, problems: Problems, *, low: int | None = None, high: int | None = None
) -> int | None:
    """Return the whole number that a scalar says."""
    quantity = quantity_of(node, Unit.COUNT, problems, low=low, high=high)
    if node is None or quantity is None:
        return None
    if not quantity.value.is_integer():
        problems.add(
            node.mark, Code.QUANTITY, f"{quantity.value:g} is no whole number", "write it without parts"
        )
        return None
    return int(quantity.value)


@overload
def choice_of(node: Node | None, choices: type[_E], problems: Problems) -> _E | None: ...
@overload
def choice_of(node: Node | None, choices: Iterable[str], problems: Problems) -> str | None: ...
def choice_of(node: Node | None, choices: Iterable[str], problems: Problems) -> str | None:
    """Return the one of the choices that a scalar names.

    Parameters
    ----------
    node
        Where the name is.
    choices
        A class of `StrEnum`, to get its member, or the names themselves.
    problems
        Receives a name that is none of them, with the nearest right one.
    """
    text = text_of(node, problems)
    if node is None or text is None:
        return None
    by_name = {str(choice): choice for choice in choices}
    if text not in by_name:
        problems.add(node.mark, Code.CHOICE, f"{quote(text)} is not known here", suggestion(text, by_name))
        return None
    return by_name[text]


def flag_of(node: Node | None, problems: Problems) -> bool | None:
    """Tell whether a scalar says ``yes`` or ``no``; nothing else will do."""
    text = text_of(node, problems)
    if node is None or text is None:
        return None
    if text not in _FLAGS:
        problems.add(node.mark, Code.CHOICE, f"{quote(text)} is neither yes nor no", 'write "yes" or "no"')
        return None
    return _FLAGS[text]
