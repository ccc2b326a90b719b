"""Formulas: arithmetic on names and nothing else."""

import warnings

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from assistant.catalogue import Curve, constant, parse_expression
from assistant.errors import KnowledgeError


@pytest.mark.parametrize(
    ("text", "names", "expected"),
    [
        ("2 * volts + 1", {"volts": 3.0}, 7.0),
        ("-x ** 2", {"x": 3.0}, -9.0),
        ("a / (b - 1)", {"a": 6.0, "b": 3.0}, 3.0),
        ("max(0, s.travel)", {"s.travel": -0.5}, 0.0),
        ("clip(x, 0, 1)", {"x": 1.5}, 1.0),
        ("step(x)", {"x": 0.0}, 0.0),
        ("sqrt(abs(x))", {"x": -9.0}, 3.0),
        ("1e-3 * 5.", {}, 0.005),
    ],
)
def test_value(text: str, names: dict[str, float], expected: float) -> None:
    assert float(parse_expression(text)(names)) == pytest.approx(expected)


def test_arrays_broadcast() -> None:
    formula = parse_expression("ohm * (1 + worse)")
    assert formula({"ohm": 2.0, "worse": np.array([0.0, 1.0])}).tolist() == [2.0, 4.0]


def test_names_and_curves_are_told_apart() -> None:
    formula = parse_expression("cells * rest_v(soc) - winding.amps")
    assert formula.names == {"cells", "soc", "winding.amps"}
    assert formula.curves == {"rest_v"}


def test_curve_is_linear_between_points_and_flat_beyond() -> None:
    curve = Curve(name="rest_v", xs=(0.0, 1.0), ys=(3.0, 4.0))
    formula = parse_expression("2 * rest_v(soc)")
    assert formula({"soc": np.array([-1.0, 0.5, 2.0])}, {"rest_v": curve}).tolist() == [6.0, 7.0, 8.0]


def test_constant_is_its_number() -> None:
    assert float(constant(0.1)({})) == 0.1


@pytest.mark.parametrize(
    "text",
    [
        "",
        "1 +",
        "a if b else c",
        "a and b",
        "a < b",
        "[1, 2]",
        "'text'",
        "True",
        "1j",
        "0x10",
        "1_000",
        "a.b.c",
        "f(x, y)",
        "min(1)",
        "max(1, 2, 3)",
        "abs(x=1)",
        "f(*x)",
        "x[0]",
        "__import__('os')",
        "lambda: 1",
        "a @ b",
        "a // b",
        "a % b",
        "~a",
        "a := 1",
        "-" * 100 + "1",
        "x" * 301,
        "ａ + 1",
    ],
)
def test_refused(text: str) -> None:
    with pytest.raises(KnowledgeError):
        parse_expression(text)


@given(st.text(alphabet="ab1.0eE+-*/(),_ xjo<%'[]:\n\\", max_size=30))
def test_any_text_is_a_formula_or_a_knowledge_error(text: str) -> None:
    try:
        formula = parse_expression(text)
    except KnowledgeError:
        return
    with warnings.catch_warnings():
        warnings.simplefilter("ignore")
        result = formula(
            dict.fromkeys(formula.names, 1.5),
            dict.fromkeys(formula.curves, Curve(name="c", xs=(0, 1), ys=(0, 1))),
        )
    assert result.shape == ()
