"""Wear against integrals, limits and simulated lives."""

from __future__ import annotations

import numpy as np
import pytest
from scipy.integrate import quad

from riskkit.errors import RangeError
from riskkit.reliability import wear
from riskkit.reliability.causes import part_lives


def test_lives_that_are_left_are_those_of_simulated_parts() -> None:
    rng, count = np.random.default_rng(7), 200_000
    shape, scale, age, further = 3.0, 9.0, 6.0, 2.0
    worn = scale * rng.weibull(shape, count)
    left = worn[worn > age] - age
    wanted = float(wear.conditional_survival(age, further, shape, scale))
    error = np.sqrt(wanted * (1 - wanted) / left.size)
    assert (left > further).mean() == pytest.approx(wanted, abs=4 * error)
    assert error < 0.002


@pytest.mark.parametrize("shape", [0.8, 1.0, 3.0])
def test_survival_of_a_new_part_adds_up_to_its_mean_life(shape: float) -> None:
    scale = float(wear.weibull_scale_yr(9.0, shape))

    def survives(age: float) -> float:
        return float(wear.conditional_survival(0.0, age, shape, scale))

    whole = quad(survives, 0, 30)[0] + quad(survives, 30, np.inf)[0]
    assert whole == pytest.approx(9.0, rel=1e-7)


def test_without_memory_age_does_not_matter() -> None:
    ages = np.array([0.0, 5.0, 50.0])
    assert np.ptp(wear.conditional_survival(ages, 3.0, 1.0, 8.0)) < 1e-12
    assert wear.conditional_survival(5.0, 3.0, 1.0, 8.0) == pytest.approx(np.exp(-3 / 8))


def test_lives_of_parts_rise_over_their_points() -> None:
    assert part_lives()["pump"].mean_yr.p50 == 9
    for life in part_lives().values():
        assert 0 < life.mean_yr.p05 < life.mean_yr.p50 < life.mean_yr.p95
        assert life.shape > 1


@pytest.mark.parametrize(("age", "shape", "scale"), [(-1, 2, 9), (1, 0, 9), (1, 2, 0)])
def test_what_cannot_be_is_refused(age: float, shape: float, scale: float) -> None:
    with pytest.raises(RangeError):
        wear.conditional_survival(age, 1.0, shape, scale)
