"""Resistance of wire: limits and proportions."""

import math

import pytest
from hypothesis import given
from hypothesis import strategies as st

from assistant.errors import MisuseError
from assistant.quantities import awg_mm2, wire_ohm

AREAS = st.floats(0.01, 100)
LENGTHS = st.floats(0, 1000)


def test_one_square_millimetre_of_58_metres_is_one_ohm() -> None:
    assert wire_ohm(1, 58) == pytest.approx(1, rel=1e-15)


@given(AREAS, LENGTHS)
def test_resistance_follows_length_over_area(area_mm2: float, length_m: float) -> None:
    assert wire_ohm(area_mm2, 2 * length_m) == pytest.approx(2 * wire_ohm(area_mm2, length_m))
    assert wire_ohm(2 * area_mm2, length_m) == pytest.approx(wire_ohm(area_mm2, length_m) / 2)


@given(AREAS, LENGTHS)
def test_stranded_is_two_percent_more(area_mm2: float, length_m: float) -> None:
    solid = wire_ohm(area_mm2, length_m, temp_c=45)
    assert wire_ohm(area_mm2, length_m, temp_c=45, stranded=True) == pytest.approx(1.02 * solid)


@pytest.mark.parametrize(
    ("area_mm2", "length_m", "temp_c"),
    [
        (0, 1, 20),
        (-1, 1, 20),
        (1, -1, 20),
        (math.nan, 1, 20),
        (1, math.nan, 20),
        (1, 1, math.nan),
        (1, 1, -300),
    ],
)
def test_no_such_wire(area_mm2: float, length_m: float, temp_c: float) -> None:
    with pytest.raises(MisuseError, match="no such wire"):
        wire_ohm(area_mm2, length_m, temp_c)


def test_three_gauges_are_about_half_the_copper() -> None:
    for gauge in range(38):
        assert awg_mm2(gauge) / awg_mm2(gauge + 3) == pytest.approx(2, rel=0.003)


@pytest.mark.parametrize("gauge", [-1, 41])
def test_gauges_end(gauge: int) -> None:
    with pytest.raises(MisuseError, match="from 0 to 40"):
        awg_mm2(gauge)
