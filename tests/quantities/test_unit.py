"""The table of units holds together."""

import pytest
from hypothesis import given
from hypothesis import strategies as st

from assistant.errors import MisuseError
from assistant.quantities import OVERLOAD, Quantity, Unit, parse_quantity
from assistant.quantities.unit import conversion, facts_of, identify


@pytest.mark.parametrize("unit", Unit)
def test_every_unit_reads_its_own_symbol_value_and_example(unit: Unit) -> None:
    facts = facts_of(unit)
    assert conversion("", unit) == (1.0, 0.0)
    assert conversion(unit.symbol.replace("²", "2"), unit) is not None
    assert unit.called
    for example in unit.example.split(" or "):
        assert parse_quantity(example, unit).value > 0
    if unit not in (Unit.RATIO, Unit.COUNT):
        assert conversion(unit.value, unit) == (1.0, 0.0)
    assert [size[0] for size in facts.sizes] == sorted(size[0] for size in facts.sizes)
    assert facts.sizes[0][0] == 0


@pytest.mark.parametrize("unit", Unit)
def test_every_size_shown_is_worth_what_it_says(unit: Unit) -> None:
    for _, one, symbol in facts_of(unit).sizes:
        assert parse_quantity(f"1 {symbol}", unit).value == pytest.approx(one, rel=1e-15)


@pytest.mark.parametrize("unit", [unit for unit in Unit if unit not in (Unit.COUNT, Unit.KELVIN)])
def test_a_symbol_is_identified_as_its_unit(unit: Unit) -> None:
    assert identify(unit.symbol.replace("²", "2")) is unit


def test_a_lone_k_is_taken_for_kilohms_where_neither_they_nor_kelvins_are_wanted() -> None:
    assert identify("k") is identify("K") is Unit.OHM
    assert conversion("K", Unit.KELVIN) == (1.0, 0.0)


@given(st.text(max_size=12))
def test_any_spelling_is_known_or_not(spelling: str) -> None:
    unit = identify(spelling)
    assert unit is None or spelling.strip().casefold() == "awg" or conversion(spelling, unit) is not None


def test_quantities_are_finite_or_overload() -> None:
    assert Quantity(value=OVERLOAD, unit=Unit.OHM).is_overload
    assert not Quantity(value=3, unit=Unit.OHM).is_overload
    for value in (float("nan"), float("-inf")):
        with pytest.raises(MisuseError):
            Quantity(value=value, unit=Unit.OHM)
