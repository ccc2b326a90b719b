"""A test lamp against circuits worked out by hand."""

from itertools import pairwise

import numpy as np
import pytest

from assistant.circuit import (
    CHEAP_METER,
    LAMP_LEVELS,
    lamp_level,
    lamp_share,
    lamp_value,
    level_span,
    volts_shown,
)
from assistant.circuit.lamp import LAMP_V, LAMP_W, filament_ohm


def test_at_its_rated_volts_it_takes_its_rated_watts_and_cold_a_tenth_of_its_ohms() -> None:
    """12 V, 5 W: 28.8 ohm hot (c); cold about a tenth (from memory)."""
    assert LAMP_V**2 / filament_ohm(np.array(LAMP_V)) == pytest.approx(LAMP_W)
    assert filament_ohm(np.array(0.0)) == pytest.approx(2.88)
    volts = np.linspace(0.0, 15.0, 400)
    assert (np.diff(volts / filament_ohm(volts)) > 0.0).all()


@pytest.mark.parametrize(("open_v", "ohm"), [(12.0, 0.5), (7.7, 10.0), (12.6, 47.0), (-12.0, 5.0)])
def test_lamp_and_source_share_the_volts_by_their_ohms(open_v: float, ohm: float) -> None:
    share = lamp_share(np.array(open_v), np.array(ohm))
    lamp_ohm = filament_ohm(share * LAMP_V)
    assert share * LAMP_V == pytest.approx(abs(open_v) * lamp_ohm / (lamp_ohm + ohm), rel=1e-9)


def test_behind_a_joint_of_a_kilohm_a_meter_shows_full_volts_and_the_lamp_stays_dark() -> None:
    """12 V behind 1 kohm: 12.0 V on 10 Mohm; the cold filament of 2.9 ohm leaves 34 mV to itself (c)."""
    source = np.array(1000.0)
    assert volts_shown(np.array(12.0), source, CHEAP_METER) == pytest.approx(12.0, abs=0.01)
    share = float(lamp_share(np.array(12.0), source))
    assert share * LAMP_V == pytest.approx(12.0 * 2.88 / 1002.88)
    assert lamp_level(share) == "dark"


def test_each_level_lies_within_its_span_and_they_follow_each_other() -> None:
    spans = [level_span(level) for level in LAMP_LEVELS]
    assert all(low < lamp_value(level) < high for level, (low, high) in zip(LAMP_LEVELS, spans, strict=True))
    assert all(one[1] == other[0] for one, other in pairwise(spans))
    assert [lamp_level(lamp_value(level)) for level in LAMP_LEVELS] == list(LAMP_LEVELS)
