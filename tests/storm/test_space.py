"""Rain that differs from place to place: areas, correlation by distance, fields from waves."""

from __future__ import annotations

import numpy as np
import pytest

from riskkit.errors import RangeError
from riskkit.storm.space import (
    areal_reduction,
    correlation_km,
    given_in_the_middle,
    mean_correlation,
    plane_waves,
    wave_field,
)

MI2 = 2.58998811  # km2


def test_areal_reduction_by_hand() -> None:
    # a day: 1.1 x 24^0.25 = 1.1 x 2.213364 = 2.434700, exp(-2.4347) = 0.087624;
    # 100 mi2: 1 - 0.087624 (1 - exp(-1)) = 1 - 0.087624 x 0.632121 = 0.944611
    assert areal_reduction(100 * MI2, 24.0) == pytest.approx(0.944611, abs=2e-6)
    # an hour: exp(-1.1) = 0.332871; 400 mi2: 1 - 0.332871 (1 - exp(-4)) = 0.673226
    assert areal_reduction(400 * MI2, 1.0) == pytest.approx(0.673226, abs=2e-6)
    assert areal_reduction(0.0, 6.0) == 1.0
    with pytest.raises(RangeError, match="below zero"):
        areal_reduction(-1.0, 6.0)


def test_mean_correlation_of_a_circle() -> None:
    """Two random places of a circle are 128 R/(45 pi) = 0.905415 R apart on average."""
    assert mean_correlation(1.0, 1e4) == pytest.approx(1 - 0.905415e-4, abs=1e-8)
    # few lie near each other: 2 pi L^2 of pi R^2, so 2 (L/R)^2, less 4 L/(pi R) of it at the rim
    assert mean_correlation(100.0, 1.0) == pytest.approx(2e-4 * (1 - 0.04 / np.pi), rel=1e-4)
    rng = np.random.default_rng(1)
    place = np.sqrt(rng.random((2, 200_000))) * np.exp(2j * np.pi * rng.random((2, 200_000)))
    apart = np.exp(-np.abs(place[0] - place[1]) / 0.7)
    error = apart.std() / np.sqrt(apart.size)
    assert mean_correlation(1.0, 0.7) == pytest.approx(apart.mean(), abs=4 * error)


def test_longer_rain_reaches_farther() -> None:
    """A circle of 100 mi2 has 9.0801 km, its pairs 8.2213 km on average.

    A day: 0.944611^2 = 0.892290, so L is somewhat below 8.2213/-ln 0.892290 = 72.1 km, for the mean
    of exp lies above exp of the mean. An hour: 0.789583^2 = 0.623442, below 17.4 km.
    """
    assert 0.97 * 72.1 < correlation_km(24.0) < 72.1
    assert 0.93 * 17.4 < correlation_km(1.0) < 17.4
    radius = np.sqrt(100 * MI2 / np.pi)
    assert mean_correlation(radius, correlation_km(24.0)) == pytest.approx(0.892290, abs=2e-6)


def test_fields_are_normal_and_go_together_by_distance() -> None:
    n = 20_000
    waves, length = plane_waves(n, 64, np.random.default_rng(2)), np.full(n, 10.0)
    here = wave_field(waves, 3.0, -4.0, length)
    assert here.mean() == pytest.approx(0.0, abs=4 / np.sqrt(n))
    assert here.var() == pytest.approx(1.0, abs=4 * np.sqrt(2 / n))
    assert (here < 1.0).mean() == pytest.approx(0.841345, abs=4 * np.sqrt(0.1335 / n))
    for east, north in ((5.0, 0.0), (0.0, 10.0), (-12.0, 16.0)):
        there = wave_field(waves, 3.0 + east, -4.0 + north, length)
        expected = np.exp(-np.hypot(east, north) / 10)
        error = (1 - expected**2) / np.sqrt(n)
        assert np.corrcoef(here, there)[0, 1] == pytest.approx(expected, abs=4 * error)


def test_what_is_known_in_the_middle_holds_there_and_fades() -> None:
    n = 20_000
    waves, length = plane_waves(n, 64, np.random.default_rng(3)), np.full(n, 10.0)
    assert given_in_the_middle(waves, 0.0, 0.0, length, 2.5) == pytest.approx(2.5, abs=1e-12)
    # at 10 km: mean 2.5/e = 0.919699, variance 1 - 1/e^2 = 0.864665
    near = given_in_the_middle(waves, 6.0, 8.0, length, 2.5)
    assert near.mean() == pytest.approx(0.919699, abs=4 * np.sqrt(0.864665 / n))
    assert near.var() == pytest.approx(0.864665, abs=4 * 0.864665 * np.sqrt(2 / n))
    far = given_in_the_middle(waves, 500.0, 0.0, length, 2.5)
    assert far.mean() == pytest.approx(0.0, abs=4 / np.sqrt(n))
