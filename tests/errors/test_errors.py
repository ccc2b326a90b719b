"""Messages, attributes and the tree of errors."""

import copy
import pickle
from inspect import cleandoc

import pytest
from hypothesis import given
from hypothesis import strategies as st

from assistant import errors
from assistant.errors import (
    AuthorError,
    CircuitError,
    KnowledgeError,
    LeadlineError,
    MisuseError,
    Problem,
    QuantityError,
    WiringError,
    quote,
)


def a_problem(line: int = 3, column: int = 5, file: str = "boat.yaml") -> Problem:
    return Problem(file=file, line=line, column=column, code="tab", what="a tab", mend="use spaces")


def every_class(root: type[LeadlineError] = LeadlineError) -> list[type[LeadlineError]]:
    return [root, *(found for child in root.__subclasses__() for found in every_class(child))]


def repickled(error: LeadlineError) -> LeadlineError:
    twin = pickle.loads(pickle.dumps(error))  # noqa: S301 - made here
    assert isinstance(twin, LeadlineError)
    return twin


def test_message_reads_value_place_reason_step() -> None:
    error = QuantityError(value="11 A", place="pack", reason="found amps", next_step="type volts")
    assert str(error) == '"11 A" at pack: found amps; type volts'
    assert (error.value, error.place, error.reason, error.next_step) == (
        "11 A",
        "pack",
        "found amps",
        "type volts",
    )


@pytest.mark.parametrize(
    ("error", "message"),
    [
        (MisuseError(reason="out of turn"), "out of turn"),
        (MisuseError(reason="out of turn", next_step="wait for the ask"), "out of turn; wait for the ask"),
        (MisuseError(reason="out of turn", value=0), '"0": out of turn'),
        (MisuseError(reason="out of turn", place="step"), "step: out of turn"),
    ],
)
def test_message_leaves_out_what_is_not_known(error: LeadlineError, message: str) -> None:
    assert str(error) == message


def test_the_tree_drawn_is_the_tree_there_is() -> None:
    drawn: dict[str, str | None] = {}
    above: list[str] = []
    # From Python 3.13 on, docstrings come without the indent of the source.
    lines = cleandoc(LeadlineError.__doc__ or "").splitlines()
    margin = next(len(line) - len(line.lstrip()) for line in lines if line.strip() == "LeadlineError")
    for line in lines:
        if "──" in line or line.strip() == "LeadlineError":
            name = line.replace("│", " ").replace("├──", "   ").replace("└──", "   ").split()[0]
            depth = (line.index(name) - margin) // 4
            above[depth:] = [name]
            drawn[name] = above[depth - 1] if depth else None
    assert drawn.pop("LeadlineError") is None
    real = {
        kind.__name__: kind.__bases__[0].__name__
        for kind in every_class()[1:]
        if kind.__module__ == errors.__name__
    }
    assert drawn == real


def test_every_error_is_exported() -> None:
    assert {kind.__name__ for kind in every_class() if kind.__module__ == errors.__name__} <= set(
        errors.__all__
    )
    assert errors.__all__ == sorted(errors.__all__)


@pytest.mark.parametrize("kind", every_class(), ids=lambda kind: kind.__name__)
def test_errors_survive_pickling_and_copying(kind: type[LeadlineError]) -> None:
    error = kind(reason="because", value=[1, 2], place="pack.+", next_step="look")
    for twin in (repickled(error), copy.copy(error)):
        assert type(twin) is kind
        assert str(twin) == str(error)
        assert vars(twin) == vars(error)


def test_places_and_problems_survive_pickling() -> None:
    floating = repickled(CircuitError(reason="no path", places=("a", "b")))
    assert isinstance(floating, CircuitError)
    assert floating.places == ("a", "b")
    wiring = repickled(WiringError(problems=[a_problem()]))
    assert isinstance(wiring, WiringError)
    assert wiring.problems == (a_problem(),)


def test_circuit_error_names_its_places() -> None:
    error = CircuitError(reason="no path to the reference", places=["pump.+", "pump.-"])
    assert isinstance(error, CircuitError)
    assert error.places == ("pump.+", "pump.-")
    assert str(error) == "pump.+, pump.-: no path to the reference"


def test_problem_is_one_line() -> None:
    assert str(a_problem()) == "boat.yaml:3:5  [tab]  a tab; use spaces"


@pytest.mark.parametrize("kind", [KnowledgeError, WiringError, errors.DocumentError])
def test_all_problems_one_a_line_in_order_of_place(kind: type[AuthorError]) -> None:
    error = kind(problems=[a_problem(10), a_problem(9, 7), a_problem(9, 5)])
    assert [line.split("  ")[0] for line in str(error).splitlines()] == [
        "boat.yaml:9:5",
        "boat.yaml:9:7",
        "boat.yaml:10:5",
    ]
    assert (error.place, error.reason, error.next_step) == ("boat.yaml:9:5", "a tab", "use spaces")


def test_a_reason_heads_the_problems() -> None:
    error = WiringError(problems=[a_problem()], reason="the boat cannot be read")
    assert str(error) == "the boat cannot be read\nboat.yaml:3:5  [tab]  a tab; use spaces"


def test_an_author_error_must_say_something() -> None:
    with pytest.raises(TypeError, match="at least one problem or a reason"):
        KnowledgeError()


@given(st.text(max_size=80))
def test_quoted_text_is_short_and_harmless(text: str) -> None:
    shown = quote(text)
    assert shown.isprintable()
    assert shown.startswith('"')
    assert shown.endswith('"')
    if text.isprintable() and len(text) <= 40:
        assert shown == f'"{text}"'


def test_long_text_is_cut_with_a_mark() -> None:
    assert quote("x" * 50, limit=10) == '"' + "x" * 9 + '…"'
