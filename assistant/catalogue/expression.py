"""Small arithmetic over named numbers, evaluated on whole arrays at once.

Knowledge files write ``rated_v / stall_a`` or ``cells * rest_v(soc)``.  The text is parsed once with Python's
own grammar and only numbers, names, dotted names, ``+ - * / **``, unary minus and calls of a few functions
or of the kind's curves are accepted; nothing is ever executed.
"""

from __future__ import annotations

import ast
import re
from collections.abc import Callable, Mapping
from dataclasses import dataclass
from types import MappingProxyType

import numpy as np
from numpy.typing import NDArray

from assistant.errors import KnowledgeError

Array = NDArray[np.float64]
_ADVICE = "use + - * / ** ( ) and names"
_LONGEST = 300
_DEEPEST = 30
_CHARACTERS = re.compile(r"[A-Za-z0-9_ .,+\-*/()]*")
_NUMBER_START = re.compile(r"(?<![\w.])[0-9.][\w.]*")
_NUMBER = re.compile(r"([0-9]+\.?[0-9]*|\.[0-9]+)([eE][0-9]*)?")


@dataclass(frozen=True, slots=True, kw_only=True)
class Curve:
    """A piecewise linear curve through points; flat beyond its ends."""

    name: str
    xs: tuple[float, ...]
    ys: tuple[float, ...]

    def __call__(self, x: Array | float) -> Array:
        """Return the curve at `x`.

        >>> float(Curve(name="c", xs=(0.0, 1.0), ys=(3.0, 4.0))(0.25))
        3.25
        """
        return np.asarray(np.interp(x, self.xs, self.ys), dtype=np.float64)


def _clip(x: Array | float, low: Array | float, high: Array | float) -> Array:
    return np.asarray(np.minimum(np.maximum(x, low), high), dtype=np.float64)


def _step(x: Array | float) -> Array:
    return np.asarray(np.asarray(x) > 0.0, dtype=np.float64)


FUNCTIONS: Mapping[str, tuple[int, Callable[..., Array]]] = MappingProxyType(
    {
        "min": (2, np.minimum),
        "max": (2, np.maximum),
        "abs": (1, np.abs),
        "sqrt": (1, np.sqrt),
        "exp": (1, np.exp),
        "log": (1, np.log),
        "clip": (3, _clip),
        "step": (1, _step),
    }
)

_BINARY: Mapping[type[ast.operator], Callable[[Array, Array], Array]] = MappingProxyType(
    {
        ast.Add: np.add,
        ast.Sub: np.subtract,
        ast.Mult: np.multiply,
        ast.Div: np.divide,
        ast.Pow: np.power,
    }
)


@dataclass(frozen=True, slots=True)
class Expression:
    """A parsed formula; `names` are the values, `curves` the curves it needs."""

    text: str
    names: frozenset[str]
    curves: frozenset[str]
    _tree: ast.expr

    def __call__(
        self, values: Mapping[str, Array | float], curves: Mapping[str, Curve] = MappingProxyType({})
    ) -> Array:
        """Return the formula's value; arrays among `values` broadcast.

        >>> float(parse_expression("2 * volts + 1")({"volts": 3.0}))
        7.0
        """
        return np.asarray(_value(self._tree, values, curves), dtype=np.float64)


def parse_expression(text: str) -> Expression:
    """Return the parsed formula, or raise `KnowledgeError` naming what is not allowed."""
    if len(text) > _LONGEST:
        raise KnowledgeError(
            value=text[:40] + "…", reason=f"a formula may have {_LONGEST} characters at most"
        )
    # Python's grammar also knows 0x1f, 1_000 and 1if; they are refused before it warns of them.
    odd_number = next((n for n in _NUMBER_START.findall(text) if not _NUMBER.fullmatch(n)), None)
    if odd_number is not None or not _CHARACTERS.fullmatch(text):
        raise KnowledgeError(value=text, reason="not a formula", next_step=_ADVICE)
    try:
        tree = ast.parse(text.strip(), mode="eval").body
    except (SyntaxError, ValueError, RecursionError, MemoryError) as error:
        raise KnowledgeError(value=text, reason="not a formula", next_step=_ADVICE) from error
    names: set[str] = set()
    curves: set[str] = set()
    _check(tree, text, names, curves, 0)
    return Expression(text, frozenset(names), frozenset(curves), tree)


def constant(value: float) -> Expression:
    """Return the formula that is just `value`."""
    return Expression(repr(value), frozenset(), frozenset(), ast.Constant(value))


def _check(node: ast.expr, text: str, names: set[str], curves: set[str], depth: int) -> None:
    """Collect the names and curves below `node`, and refuse whatever is no arithmetic."""
    if depth > _DEEPEST:
        raise KnowledgeError(value=text, reason="formula nested too deeply")
    operands: list[ast.expr] = []
    match node:
        case ast.Constant(value=int() | float() as number) if not isinstance(number, bool):
            pass
        case ast.Name(id=name):
            names.add(name)
        case ast.Attribute(value=ast.Name(id=owner), attr=name):
            names.add(f"{owner}.{name}")
        case ast.UnaryOp(op=ast.USub(), operand=operand):
            operands = [operand]
        case ast.BinOp(left=left, op=op, right=right) if type(op) in _BINARY:
            operands = [left, right]
        case ast.Call(func=ast.Name(id=name), args=operands, keywords=[]):
            _check_call(name, len(operands), text, curves)
        case _:
            reason = f"{ast.unparse(node)!r} is not allowed in a formula"
            raise KnowledgeError(value=text, reason=reason, next_step=_ADVICE)
    for operand in operands:
        _check(operand, text, names, curves, depth + 1)


def _check_call(name: str, given: int, text: str, curves: set[str]) -> None:
    wanted = FUNCTIONS[name][0] if name in FUNCTIONS else 1
    if given != wanted:
        reason = (
            f"{name} takes {wanted} numbers"
            if name in FUNCTIONS
            else f"{name} is a curve: it takes one number"
        )
        raise KnowledgeError(value=text, reason=reason, next_step="give it as many")
    if name not in FUNCTIONS:
        curves.add(name)


def _value(node: ast.expr, values: Mapping[str, Array | float], curves: Mapping[str, Curve]) -> Array:
    match node:
        case ast.Constant(value=number):
            return np.asarray(number, dtype=np.float64)
        case ast.Name(id=name):
            return np.asarray(values[name], dtype=np.float64)
        case ast.Attribute(value=ast.Name(id=owner), attr=name):
            return np.asarray(values[f"{owner}.{name}"], dtype=np.float64)
        case ast.UnaryOp(operand=operand):
            return np.negative(_value(operand, values, curves))
        case ast.BinOp(left=left, op=op, right=right):
            return _BINARY[type(op)](_value(left, values, curves), _value(right, values, curves))
        case ast.Call(func=ast.Name(id=name), args=args):
            numbers = [_value(argument, values, curves) for argument in args]
            return FUNCTIONS[name][1](*numbers) if name in FUNCTIONS else curves[name](numbers[0])
    raise AssertionError(ast.dump(node))
