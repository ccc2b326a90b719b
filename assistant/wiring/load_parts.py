"""Reading the parts of a boat: kinds, values by their short names, and reach.

A value is called by its name with spaces for underscores and may leave out its unit: ``stall`` is
``stall_a``. Where several values differ by unit alone, one line gives them: ``rated: 7.2 V at 6 A`` is
``rated_v`` and
``rated_a``.
"""

from __future__ import annotations

import re
from collections.abc import Mapping
from types import MappingProxyType

from assistant.catalogue import Catalogue, Group, Kind, Reach, ValueSpec
from assistant.documents import Mapping as Fields
from assistant.documents import (
    Node,
    Problems,
    Scalar,
    choice_of,
    entries_of,
    nearest,
    quantity_of,
    suggestion,
    text_of,
)
from assistant.errors import QuantityError, quote
from assistant.quantities import parse_quantity
from assistant.wiring.model import Part

_ID = re.compile(r"[A-Za-z][A-Za-z0-9]*(?:-[A-Za-z0-9]+)*")
_LONGEST_ID = 30
_UNIT_ENDINGS = frozenset({"v", "a", "ohm", "w", "f", "ah", "m", "s", "hz", "mm2", "c", "k"})
_OWN_FIELDS = ("kind", "reach")


def id_ok(key: Scalar, what: str, problems: Problems) -> bool:
    """Return whether a key can be an id: one word of letters, digits and single hyphens."""
    if _ID.fullmatch(key.text) and len(key.text) <= _LONGEST_ID:
        return True
    mend = f"use one word of letters, digits and single hyphens, at most {_LONGEST_ID} long"
    problems.add(key.mark, "id", f"{what} {quote(key.text)}", mend)
    return False


def parts_of(node: Node | None, catalogue: Catalogue, problems: Problems) -> dict[str, Part]:
    """Return the parts of a description; those whose kind is unknown are left out."""
    if isinstance(node, Fields) and not node.items:
        problems.add(
            node.mark, "empty", "no parts", 'write a part as "fuse: {kind: blade fuse, rating: 15 A}"'
        )
    found = {}
    for key, body in entries_of(node, problems):
        part = _part(key, body, catalogue, problems)
        if part is not None:
            found[key.text] = part
    return found


def _part(key: Scalar, body: Node, catalogue: Catalogue, problems: Problems) -> Part | None:
    id_fits = id_ok(key, "the part", problems)
    fields = {name.text: (name, value) for name, value in entries_of(body, problems)}
    if isinstance(body, Fields) and "kind" not in fields:
        problems.add(key.mark, "missing-key", f"the part {quote(key.text)} has no kind", 'add "kind: …"')
    if "kind" not in fields:
        return None
    usable = {
        name: kind for name, kind in catalogue.kinds.items() if kind.group not in (Group.WIRE, Group.JOINT)
    }
    name = choice_of(fields["kind"][1], usable, problems)
    if name is None:
        return None
    kind = usable[name]
    given = _given(key, fields, kind, problems)
    reach = _reach(fields["reach"][1], kind, problems) if "reach" in fields else {}
    if not id_fits:
        return None
    return Part(
        id=key.text, kind=kind, given=MappingProxyType(given), reach=MappingProxyType(reach), mark=key.mark
    )


def _given(
    key: Scalar, fields: Mapping[str, tuple[Scalar, Node]], kind: Kind, problems: Problems
) -> dict[str, float]:
    given: dict[str, float] = {}
    told: set[str] = set()
    for name, value in fields.values():
        if name.text in _OWN_FIELDS:
            continue
        candidates = _candidates(name.text, kind)
        before = len(problems)
        if not candidates:
            what = f"a {kind.name} has no value {quote(name.text)}"
            problems.add(name.mark, "unknown-value", what, suggestion(name.text, _short_names(kind)))
            meant = nearest(name.text, _short_names(kind))
            told.update(value for value in kind.values if spoken_value(value) in meant)
        for value_name, number in _numbers(value, candidates, problems).items():
            if value_name in given:
                what = f"{quote(name.text)} gives {spoken_value(value_name)} again"
                problems.add(name.mark, "value-twice", what, "keep one of the two")
            given[value_name] = number
        if len(problems) > before:
            told.update(candidates)
    for value_name, spec in kind.values.items():
        if spec.default is None and value_name not in given and value_name not in told:
            what = f"the {kind.name} {quote(key.text)} needs its {spoken_value(value_name)}: {spec.about}"
            problems.add(
                key.mark, "missing-value", what, f'add "{spoken_value(value_name)}: {_example(spec)}"'
            )
    return given


def _candidates(written: str, kind: Kind) -> dict[str, ValueSpec]:
    """Return the values that a written name may mean: the exact one, or all that only add a unit."""
    name = written.replace(" ", "_")
    if name in kind.values:
        return {name: kind.values[name]}
    return {value: spec for value, spec in kind.values.items() if _without_unit(value) == name}


def _without_unit(value: str) -> str:
    stem, _, ending = value.rpartition("_")
    return stem if stem and ending in _UNIT_ENDINGS else value


def spoken_value(value: str) -> str:
    """Return what a description calls a value: without its unit, in words.

    >>> spoken_value("rated_v"), spoken_value("bec_type")
    ('rated', 'bec type')
    """
    return _without_unit(value).replace("_", " ")


def _short_names(kind: Kind) -> list[str]:
    return list(dict.fromkeys(spoken_value(value) for value in kind.values))


def _example(spec: ValueSpec) -> str:
    return next(iter(spec.choices), spec.unit.example)


def _numbers(node: Node, candidates: Mapping[str, ValueSpec], problems: Problems) -> dict[str, float]:
    if not candidates:
        return {}
    if len(candidates) == 1:
        ((name, spec),) = candidates.items()
        number = _number(node, spec, problems)
        return {} if number is None else {name: number}
    text = text_of(node, problems)
    return {} if text is None else _pieces(node, text, candidates, problems)


def _number(node: Node, spec: ValueSpec, problems: Problems) -> float | None:
    if spec.choices:
        word = choice_of(node, spec.choices, problems)
        return None if word is None else spec.choices[word]
    quantity = quantity_of(node, spec.unit, problems, low=spec.low, high=spec.high)
    return None if quantity is None else quantity.value


def _pieces(
    node: Node, text: str, candidates: Mapping[str, ValueSpec], problems: Problems
) -> dict[str, float]:
    """Give each piece of ``7.2 V at 6 A`` to the value whose unit it has."""
    found: dict[str, float] = {}
    for piece in re.split(r"\s+at\s+", text):
        fitting = [
            name for name, spec in candidates.items() if name not in found and _has_unit_of(piece, spec)
        ]
        if len(fitting) != 1:
            example = " at ".join(_example(spec) for spec in candidates.values())
            problems.add(
                node.mark,
                "quantity",
                f"{quote(piece)} in {quote(text)} fits no value",
                f"write it like {example}",
            )
            break
        spec = candidates[fitting[0]]
        try:
            found[fitting[0]] = parse_quantity(piece, spec.unit, low=spec.low, high=spec.high).value
        except QuantityError as error:
            problems.add(node.mark, "quantity", f"{quote(piece)}: {error.reason}", error.next_step)
    return found


def _has_unit_of(piece: str, spec: ValueSpec) -> bool:
    if piece.strip()[-1:].isdigit():
        return False
    try:
        parse_quantity(piece, spec.unit)
    except QuantityError:
        return False
    return True


def _reach(node: Node, kind: Kind, problems: Problems) -> dict[str, Reach]:
    if isinstance(node, Scalar):
        reach = choice_of(node, Reach, problems)
        return {} if reach is None else dict.fromkeys(kind.terminals, reach)
    found = {}
    for key, body in entries_of(node, problems):
        reach = choice_of(body, Reach, problems)
        if key.text not in kind.terminals:
            what = f"a {kind.name} has no terminal {quote(key.text)}"
            problems.add(key.mark, "unknown-terminal", what, suggestion(key.text, kind.terminals))
        elif reach is not None:
            found[key.text] = reach
    return found
