"""Formulas and numbers in kind files, and which names they may use.

Wherever a number is wanted a kind file may give a formula, and the other way round.  ``12 mohm`` and ``30 %``
are read as quantities and converted, ``rated_v / stall_a`` as a formula; what is neither is one problem, in
the words of the reading that came closer.
"""

from __future__ import annotations

import re
from collections.abc import Iterable, Mapping
from dataclasses import dataclass
from types import MappingProxyType
from typing import TypeVar

import numpy as np

from assistant.catalogue.expression import FUNCTIONS, Expression, constant, parse_expression
from assistant.catalogue.model import Source, Status
from assistant.documents import Node, Problems, Scalar, choice_of, suggestion, text_of
from assistant.errors import KnowledgeError, QuantityError, quote
from assistant.quantities import Unit, parse_quantity

_K = TypeVar("_K")
_V = TypeVar("_V")

_NUMBER_FIRST = re.compile(r"\s*[+\-−]?\s*[.,]?\d")
_ONE_NUMBER = re.compile(r"\s*[+\-−]?[^*/()+\-]*")
_ANY_UNIT = tuple(Unit)


@dataclass(frozen=True, slots=True, kw_only=True)
class Scope:
    """The names a kind file defines, taken from its keys before its contents are read.

    `rails` are inner nodes that a row of sockets makes.
    """

    terminals: frozenset[str]
    rails: frozenset[str]
    values: frozenset[str]
    curves: frozenset[str]
    settings: frozenset[str]
    inputs: frozenset[str]
    elements: frozenset[str]
    conditions: frozenset[str]

    @property
    def nodes(self) -> frozenset[str]:
        """Terminals and rails; inner nodes starting with ``~`` need no definition."""
        return self.terminals | self.rails

    @property
    def travels(self) -> frozenset[str]:
        """Names of commanded travels, one for each input."""
        return frozenset(f"{name}.travel" for name in self.inputs)


def freeze(items: Mapping[_K, _V]) -> Mapping[_K, _V]:
    """Return a read-only copy."""
    return MappingProxyType(dict(items))


def formula_of(
    node: Node | None, unit: Unit | None, names: Iterable[str], scope: Scope, problems: Problems
) -> Expression | None:
    """Return the formula or quantity that a scalar says.

    Parameters
    ----------
    node
        The scalar, or None for a field that is not there.
    unit
        Unit of the result; None where any electrical unit may stand.
    names
        Names the formula may use besides curves of `scope`.
    scope
        The kind's names.
    problems
        Receives what is neither, and unknown names with the nearest right one.
    """
    text = text_of(node, problems)
    if node is None or text is None:
        return None
    number, refusal = _quantity(text, unit) if _NUMBER_FIRST.match(text) else (None, None)
    if number is not None:
        return constant(number)
    try:
        formula = parse_expression(text)
    except KnowledgeError as error:
        closer = refusal if refusal is not None and _ONE_NUMBER.fullmatch(text) else error
        problems.add(
            node.mark, "formula", f"{quote(text)}: {closer.reason}", closer.next_step or "write it simpler"
        )
        return None
    return formula if _names_known(formula, node, frozenset(names), scope, problems) else None


def _quantity(text: str, unit: Unit | None) -> tuple[float | None, QuantityError | None]:
    refusal = None
    for candidate in (unit,) if unit is not None else _ANY_UNIT:
        try:
            return parse_quantity(text.strip(), candidate).value, None
        except QuantityError as error:
            refusal = error
    return None, refusal


def _names_known(
    formula: Expression, node: Node, names: frozenset[str], scope: Scope, problems: Problems
) -> bool:
    before = len(problems)
    for name in sorted(formula.names - names):
        what = f"unknown name {quote(name)} in {quote(formula.text)}"
        problems.add(node.mark, "unknown-name", what, suggestion(name, sorted(names)))
    for name in sorted(formula.curves - scope.curves):
        what = f"unknown function {quote(name)} in {quote(formula.text)}"
        problems.add(node.mark, "unknown-name", what, suggestion(name, sorted({*scope.curves, *FUNCTIONS})))
    return len(problems) == before


def number_of(node: Node | None, unit: Unit | None, scope: Scope, problems: Problems) -> float | None:
    """Return the plain number that a scalar says, in `unit`; formulas without names count as numbers."""
    formula = formula_of(node, unit, (), scope, problems)
    if formula is None or node is None:
        return None
    number = fixed(formula)
    if number is None or not np.isfinite(number):
        problems.add(node.mark, "formula", f"{quote(formula.text)} is no number", "write a number")
        return None
    return number


def fixed(formula: Expression | None) -> float | None:
    """Return the value of a formula that needs no names and no curves, or None for any other."""
    if formula is None or formula.names or formula.curves:
        return None
    with np.errstate(all="ignore"):
        return float(formula({}))


def known(name: str, node: Node, names: Iterable[str], what: str, problems: Problems) -> bool:
    """Return whether `name` is among `names`; if not, note it with the nearest right one."""
    names = sorted(names)
    if name in names:
        return True
    problems.add(
        node.mark,
        f"unknown-{what.replace(' ', '-')}",
        f"unknown {what} {quote(name)}",
        suggestion(name, names),
    )
    return False


def names_of(nodes: Iterable[Node], names: Iterable[str], what: str, problems: Problems) -> tuple[str, ...]:
    """Return the texts of `nodes` that are among `names`; the others are noted."""
    names = frozenset(names)
    found = []
    for node in nodes:
        text = text_of(node, problems)
        if text is not None and known(text, node, names, what, problems):
            found.append(text)
    return tuple(found)


def source_of(fields: Mapping[str, Node], problems: Problems) -> Source | None:
    """Return source and status of an entry; the caller's check of fields notes missing ones."""
    text = text_of(fields.get("source"), problems)
    status = choice_of(fields.get("status"), Status, problems)
    return Source(text=text, status=status) if text is not None and status is not None else None


def word_or_formula(
    node: Node | None,
    words: Mapping[str, float],
    unit: Unit,
    names: Iterable[str],
    scope: Scope,
    problems: Problems,
) -> Expression | None:
    """Return the number behind a word of choice, or else the formula."""
    if isinstance(node, Scalar) and node.text in words:
        return constant(words[node.text])
    return formula_of(node, unit, names, scope, problems)
