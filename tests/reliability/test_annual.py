"""Chance per year against integrals and simulated years."""

from __future__ import annotations

from itertools import pairwise

import numpy as np
import pytest
from scipy.integrate import quad

from riskkit.errors import RangeError
from riskkit.rainfall.frequency import partial_return_period_yr
from riskkit.reliability import annual as a

PERIODS = np.array([2.0, 5.0, 10.0, 25.0, 50.0, 100.0, 200.0, 500.0])
RATES = a.storm_rate_per_yr(PERIODS)


def test_rates_of_the_two_series() -> None:
    assert a.storm_rate_per_yr(10.0) == pytest.approx(0.1)
    maxima = a.storm_rate_per_yr(partial_return_period_yr(PERIODS))
    assert a.annual_chance_of(maxima) == pytest.approx(1 / PERIODS)
    assert np.all(maxima > RATES)


def test_integral_over_the_storms() -> None:
    chance = np.array([0.0, 0.02, 0.1, 0.3, 0.5, 0.7, 0.85, 0.95])

    def given(rate: float) -> float:
        return float(np.interp(-np.log(rate), -np.log(RATES), chance))

    wanted = sum(quad(given, low, high)[0] for high, low in pairwise(RATES))
    wanted += RATES[-1] * 0.95  # rarer storms count as the rarest
    assert float(a.flood_rate_per_yr(RATES, chance[:, None])[0]) == pytest.approx(wanted, rel=1e-8)


def test_a_home_that_always_floods_from_some_storm_on() -> None:
    fine = np.geomspace(1.0, 1e-4, 4000)
    sure = (fine <= 0.1).astype(float)
    found = a.annual_chance_of(a.flood_rate_per_yr(fine, sure[:, None]))
    assert found[0] == pytest.approx(1 - np.exp(-0.1), rel=2e-3)
    assert 1 / found[0] == pytest.approx(10.5, abs=0.05)


def test_chance_is_that_of_simulated_years() -> None:
    rng, years = np.random.default_rng(10), 400_000
    chance = np.linspace(0.02, 0.9, RATES.size)
    number = rng.poisson(RATES[0] * years)  # storms beyond the commonest run
    year = rng.integers(0, years, number)
    size = RATES[0] * (1 - rng.random(number))  # storms a year as great or greater
    given = np.interp(-np.log(size), -np.log(RATES), chance)
    wet = np.zeros(years, dtype=bool)
    wet[year[rng.random(number) < given]] = True
    wanted = a.annual_chance_of(a.flood_rate_per_yr(RATES, chance[:, None]))
    error = np.sqrt(wet.mean() / years)
    assert wet.mean() == pytest.approx(wanted[0], abs=4 * error)


def test_small_chances_keep_their_digits() -> None:
    assert a.annual_chance_of(1e-12) == pytest.approx(1e-12, rel=1e-9)
    assert a.annual_chance_of([0.0, np.inf]).tolist() == [0.0, 1.0]


def test_shares_of_causes_by_hand() -> None:
    # one storm size only: pump 0.2, power 0.3, both at once counts half each way by their chances
    pump, power = 0.2, 0.3
    both = 1 - (1 - pump) * (1 - power)
    rates = np.array([0.5, 0.002])
    by_cause = np.array([[[pump]] * 2, [[power]] * 2])
    shares = a.split_by_cause(rates, by_cause, np.full((2, 1), both))
    assert shares[:, 0] == pytest.approx([0.4, 0.6])


def test_shares_of_causes_follow_the_storms_that_they_belong_to() -> None:
    """Power fails in common storms only, the pump is too small in rare ones: steps, so by hand."""
    fine = np.geomspace(1.0, 1e-5, 20_000)
    power, pump = (fine > 0.1) * 0.2, (fine <= 0.1) * 0.5
    shares = a.split_by_cause(fine, np.stack([power, pump])[..., None], (power + pump)[:, None])
    floods = np.array([0.9 * 0.2, 0.1 * 0.5])
    assert shares[:, 0] == pytest.approx(floods / floods.sum(), rel=1e-3)


def test_total_lies_between_the_largest_cause_and_their_sum() -> None:
    rng = np.random.default_rng(5)
    by_cause = np.sort(rng.random((4, RATES.size, 30)) * 0.6, axis=1)
    together = 1 - np.prod(1 - by_cause, axis=0)
    total = a.annual_chance_of(a.flood_rate_per_yr(RATES, together))
    each = a.annual_chance_of(np.stack([a.flood_rate_per_yr(RATES, one) for one in by_cause]))
    assert np.all(each.max(axis=0) <= total)
    assert np.all(total <= each.sum(axis=0))
    shares = a.split_by_cause(RATES, by_cause, together)
    assert shares.sum(axis=0) == pytest.approx(np.ones(30))
    assert a.split_by_cause(RATES, 0 * by_cause, 0 * together).sum() == 0


def test_what_cannot_be_is_refused() -> None:
    one = np.ones((RATES.size, 1))
    with pytest.raises(RangeError, match="fall"):
        a.flood_rate_per_yr(RATES[::-1], one)
    with pytest.raises(RangeError, match="fall"):
        a.flood_rate_per_yr([0.5, 0.5], one[:2])
    with pytest.raises(RangeError, match="fall"):
        a.flood_rate_per_yr([0.5, 0.0], one[:2])
    with pytest.raises(RangeError, match="share"):
        a.flood_rate_per_yr(RATES, 2 * one)
    with pytest.raises(RangeError, match="row"):
        a.flood_rate_per_yr(RATES, one[:3])
    with pytest.raises(RangeError, match="return period"):
        a.storm_rate_per_yr(0.0)
    with pytest.raises(RangeError, match="exceeds their total"):
        a.split_by_cause(RATES, 0.5 * one[None], 0.4 * one)
    with pytest.raises(RangeError, match="exceeds their sum"):
        a.split_by_cause(RATES, 0.3 * one[None], 0.4 * one)
