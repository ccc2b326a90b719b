"""Wire sizes and resistances against published tables.

Sources: ASTM B258 (formula of diameters, from memory), IEC 60028 (resistivity and its coefficient, from
memory), NBS Handbook 100, copper wire tables (ohms for 1000 ft at 20 °C). The status of each value is s (seen
in a copy of the source), m (from memory of the source) or c (computed from the formula, so that it guards
against slips but proves nothing about copper). The handbook is the independent one: its table is built from
its own resistivity in other units.
"""

import pytest

from assistant.quantities import Unit, awg_mm2, parse_quantity, wire_ohm

FOOT_M = 0.3048

# Gauge: (mm² c, Ω/km c, Ω for 1000 ft of the handbook, status of the last).
TABLE = {
    10: (5.261, 3.277, 0.9989, "s"),
    12: (3.309, 5.211, 1.588, "s"),
    14: (2.081, 8.286, 2.525, "s"),
    16: (1.309, 13.17, 4.016, "s"),
    18: (0.823, 20.95, 6.385, "m"),
    20: (0.518, 33.31, 10.15, "m"),
    22: (0.326, 52.96, 16.14, "m"),
    24: (0.205, 84.22, 25.67, "m"),
    26: (0.129, 133.9, 40.81, "m"),
    28: (0.081, 212.9, 64.90, "m"),
    30: (0.051, 338.6, 103.2, "m"),
}


@pytest.mark.parametrize("gauge", TABLE)
def test_cross_section(gauge: int) -> None:
    """ASTM B258 (m), table computed (c): equal to the last digit printed."""
    assert round(awg_mm2(gauge), 3) == TABLE[gauge][0]
    assert parse_quantity(f"{gauge} AWG", Unit.SQUARE_MM).value == awg_mm2(gauge)


@pytest.mark.parametrize("gauge", TABLE)
def test_ohms_of_a_kilometre(gauge: int) -> None:
    """IEC 60028 (m), table computed (c): equal to the four digits printed."""
    assert float(f"{wire_ohm(awg_mm2(gauge), 1000):.4g}") == TABLE[gauge][1]


@pytest.mark.parametrize("gauge", TABLE)
def test_ohms_of_a_thousand_feet(gauge: int) -> None:
    """NBS Handbook 100 (s to 16 AWG, m beyond): within 0.03 %; the digits printed leave up to 0.05 %."""
    assert wire_ohm(awg_mm2(gauge), 1000 * FOOT_M) == pytest.approx(TABLE[gauge][2], rel=3e-4)


def test_warm_copper() -> None:
    """IEC 60028 (m): at 60 °C 1.157 times the resistance at 20 °C."""
    assert wire_ohm(1, 1, temp_c=60) / wire_ohm(1, 1) == pytest.approx(1.157, abs=5e-4)
