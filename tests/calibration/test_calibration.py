"""A small version of ``python -m tests.calibration``: one boat, and fewer boats to hold the bands against."""

import numpy as np

from tests.calibration.__main__ import LEAST, MOST
from tests.calibration.campaign import calibrate
from tests.support.boats import example_boats


def test_bands_hold_what_healthy_boats_show_at_every_reachable_pair_of_points() -> None:
    shares = list(calibrate(example_boats()["dabchick"], 300))
    assert sum(share.readings for share in shares) > 200
    assert LEAST <= np.mean([share.inside for share in shares]) <= MOST
    assert np.mean([share.narrow for share in shares]) < 0.95
