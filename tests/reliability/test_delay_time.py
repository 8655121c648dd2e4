"""Delay time against closed forms and simulated defects."""

from __future__ import annotations

import numpy as np
import pytest
from scipy.integrate import quad

from riskkit.errors import RangeError
from riskkit.reliability import delay_time as d
from riskkit.reliability.wear import weibull_scale_yr


def test_exponential_delay_and_visits_that_find_all() -> None:
    x = np.array([0.05, 0.5, 1.0, 4.0, 40.0])
    assert d.failure_share(x, 1.0) == pytest.approx(1 + np.expm1(-x) / x, rel=1e-11)


def test_exponential_delay_and_visits_that_miss() -> None:
    x, found = 1.3, np.array([0.05, 0.4, 0.9])
    series = found * -np.expm1(-x) / (x * (1 - (1 - found) * np.exp(-x)))
    assert d.failure_share(x, 1.0, finds=found) == pytest.approx(1 - series, rel=1e-11)


@pytest.mark.parametrize("shape", [0.6, 1.0, 2.0])
def test_perfect_visits_are_the_mean_of_the_delays_distribution(shape: float) -> None:
    scale = float(weibull_scale_yr(1.5, shape))

    def fails(delay: float) -> float:
        return 1 - float(np.exp(-((delay / scale) ** shape)))

    assert float(d.failure_share(2.0, 1.5, shape)) == pytest.approx(quad(fails, 0, 2.0)[0] / 2)


@pytest.mark.parametrize("shape", [0.7, 1.0, 2.5])
@pytest.mark.parametrize("finds", [1.0, 0.6])
def test_share_is_that_of_simulated_defects(shape: float, finds: float) -> None:
    rng, count, interval, mean = np.random.default_rng(2), 400_000, 1.5, 1.0
    scale = float(weibull_scale_yr(mean, shape))
    delay = scale * rng.weibull(shape, count)
    until = interval * (rng.random(count) + rng.geometric(finds, count) - 1)  # the visit that sees
    wanted = float(d.failure_share(interval, mean, shape, finds))
    error = np.sqrt(wanted * (1 - wanted) / count)
    assert (delay < until).mean() == pytest.approx(wanted, abs=4 * error)


def test_defects_at_random_fail_as_often_as_the_share_says() -> None:
    rng, years, rate, interval, mean, finds = np.random.default_rng(9), 200_000, 0.3, 2.0, 1.2, 0.8
    born = np.sort(rng.random(rng.poisson(rate * years))) * years
    delay = rng.exponential(mean, born.size)
    visit = (np.floor(born / interval) + rng.geometric(finds, born.size)) * interval
    failed = (born + delay < visit).sum() / years
    wanted = rate * float(d.failure_share(interval, mean, 1.0, finds))
    assert failed == pytest.approx(wanted, abs=4 * np.sqrt(rate / years))


def test_what_cannot_be_is_refused() -> None:
    with pytest.raises(RangeError, match="interval"):
        d.failure_share(0.0, 1.0)
    with pytest.raises(RangeError, match="delay"):
        d.failure_share(1.0, 0.0)
