"""Wear against integrals, limits and simulated lives."""

from __future__ import annotations

import numpy as np
import pytest
from scipy.integrate import quad

from riskkit.errors import RangeError
from riskkit.reliability import wear
from riskkit.reliability.causes import part_lives
from riskkit.reliability.hidden import mean_unavailability


@pytest.mark.parametrize("age", [0.0, 4.0, 9.0, 25.0, 31.0, 33.0, 60.0])
@pytest.mark.parametrize("shape", [0.7, 1.0, 2.5, 4.0])
def test_residual_life_is_the_integral_of_conditional_survival(age: float, shape: float) -> None:
    scale = 10.0
    step = float(wear.mean_residual_life_yr(age, shape, scale))

    def survives(further: float) -> float:
        return float(wear.conditional_survival(age, further, shape, scale))

    found = sum(quad(survives, a * step, b * step)[0] for a, b in ((0, 3), (3, 12), (12, 60)))
    tail = quad(survives, 60 * step, np.inf)[0]
    assert step == pytest.approx(found + tail, rel=1e-7)


def test_residual_life_of_a_new_part_is_its_mean_life() -> None:
    shape = np.array([0.8, 1.0, 3.0])
    scale = wear.weibull_scale_yr(9.0, shape)
    assert wear.mean_residual_life_yr(0.0, shape, scale) == pytest.approx(np.full(3, 9.0))


def test_hazard_is_the_slope_of_the_logarithm_of_survival() -> None:
    age, step = np.array([2.0, 8.0, 14.0]), 1e-5
    fall = wear.conditional_survival(age - step, 2 * step, 2.5, 10.0)
    assert wear.weibull_hazard_per_yr(age, 2.5, 10.0) == pytest.approx(
        -np.log(fall) / (2 * step), rel=1e-6
    )


def test_chance_of_failure_is_that_of_simulated_lives() -> None:
    rng, count = np.random.default_rng(7), 200_000
    shape, scale, sudden, age, further = 3.0, 9.0, 0.04, 6.0, 2.0
    worn = scale * rng.weibull(shape, count)
    alive = worn > age
    ends = np.minimum(worn[alive] - age, rng.exponential(1 / sudden, int(alive.sum())))
    wanted = float(wear.failure_chance(age, further, shape, scale, sudden))
    error = np.sqrt(wanted * (1 - wanted) / alive.sum())
    assert (ends < further).mean() == pytest.approx(wanted, abs=4 * error)
    assert error < 0.002


def test_without_memory_age_does_not_matter() -> None:
    ages = np.array([0.0, 5.0, 50.0])
    assert np.ptp(wear.conditional_survival(ages, 3.0, 1.0, 8.0)) < 1e-12
    assert wear.conditional_survival(5.0, 3.0, 1.0, 8.0) == pytest.approx(
        float(wear.exponential_survival(1 / 8, 3.0))
    )


def test_a_worn_part_lies_unseen_for_as_long_as_simulated() -> None:
    rng, count, shape, scale, age, interval = np.random.default_rng(2), 400_000, 2.5, 10.0, 8.0, 2.0
    life = scale * rng.weibull(shape, count)
    left = life[life > age] - age
    unfit = np.clip(interval - left, 0, None).mean() / interval
    found = float(wear.mean_unavailability_worn(age, interval, shape, scale))
    assert unfit == pytest.approx(found, rel=0.015)
    without_memory = wear.mean_unavailability_worn(age, interval, 1.0, scale)
    assert without_memory == pytest.approx(float(mean_unavailability(1 / scale, interval)))
    short = wear.mean_unavailability_worn(age, 1e-3, shape, scale)  # half of what fails within
    half = wear.failure_chance(age, 1e-3, shape, scale) / 2
    assert short == pytest.approx(float(half), rel=1e-3)
    with pytest.raises(RangeError, match="interval"):
        wear.mean_unavailability_worn(age, np.inf, shape, scale)


def test_lives_of_parts_rise_over_their_points() -> None:
    assert part_lives()["pump"].mean_yr.p50 == 9
    for life in part_lives().values():
        assert 0 < life.mean_yr.p05 < life.mean_yr.p50 < life.mean_yr.p95
        assert life.shape > 1


@pytest.mark.parametrize(("age", "shape", "scale"), [(-1, 2, 9), (1, 0, 9), (1, 2, 0)])
def test_what_cannot_be_is_refused(age: float, shape: float, scale: float) -> None:
    with pytest.raises(RangeError):
        wear.weibull_survival(age, shape, scale)
