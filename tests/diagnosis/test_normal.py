"""The normal distribution on arrays, against `math` and by adding up areas."""

from math import erf, sqrt

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st
from numpy.typing import NDArray

from assistant.diagnosis.normal import box_density, normal_cdf, normal_density

Array = NDArray[np.float64]


def area(y: Array, x: Array) -> float:
    return float((0.5 * (y[1:] + y[:-1]) * np.diff(x)).sum())


@given(st.floats(-8.0, 8.0))
def test_cdf_is_that_of_the_error_function(x: float) -> None:
    assert float(normal_cdf(np.array(x))) == pytest.approx(0.5 * (1.0 + erf(x / sqrt(2.0))), abs=2e-6)


@given(st.floats(-20.0, 20.0), st.floats(0.01, 5.0))
def test_density_has_area_one(mean: float, sigma: float) -> None:
    x = np.linspace(mean - 9.0 * sigma, mean + 9.0 * sigma, 4001)
    assert area(normal_density(x, np.array(mean), np.array(sigma)), x) == pytest.approx(1.0, abs=1e-6)


@given(st.floats(-20.0, 20.0), st.floats(0.0, 40.0), st.floats(0.01, 5.0))
def test_box_has_area_one(low: float, width: float, sigma: float) -> None:
    x = np.linspace(low - 9.0 * sigma, low + width + 9.0 * sigma, 20_001)
    density = box_density(x, np.array(low), np.array(low + width), np.array(sigma))
    assert density.min() >= 0.0
    assert area(density, x) == pytest.approx(1.0, abs=1e-3)


@given(st.floats(-3.0, 4.0), st.floats(0.05, 2.0), st.floats(0.1, 2.0))
def test_box_is_the_mean_of_normals_over_its_width(x: float, width: float, sigma: float) -> None:
    inside = np.asarray((np.arange(2000) + 0.5) / 2000.0 * width, dtype=np.float64)
    mean = normal_density(np.array(x), inside, np.array(sigma)).mean()
    peak = 1.0 / (sigma * sqrt(2.0 * np.pi))
    box = float(box_density(np.array(x), np.array(0.0), np.array(width), np.array(sigma)))
    assert box == pytest.approx(mean, abs=0.012 * peak)


def test_box_without_width_is_a_normal() -> None:
    x = np.linspace(-3.0, 3.0, 7)
    assert box_density(x, np.array(0.5), np.array(0.5), np.array(0.7)) == pytest.approx(
        normal_density(x, np.array(0.5), np.array(0.7))
    )
