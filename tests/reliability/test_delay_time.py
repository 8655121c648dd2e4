"""Delay time against closed forms and simulated defects."""

from __future__ import annotations

import numpy as np
import pytest
from scipy.integrate import quad

from riskkit.errors import RangeError
from riskkit.reliability import delay_time as d
from riskkit.reliability.hidden import mean_unavailability, mean_unavailability_missed
from riskkit.reliability.unrevealed import reliability_between_visits, unrevealed_unavailability
from riskkit.reliability.wear import weibull_scale_yr, weibull_survival

COSTS = d.VisitCosts(visit=200.0, repair=100.0, failure=3000.0)


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
        return 1 - float(weibull_survival(delay, shape, scale))

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


def test_defects_at_random_give_the_counts_of_the_curve() -> None:
    rng, years, rate, interval, mean, finds = np.random.default_rng(9), 200_000, 0.3, 2.0, 1.2, 0.8
    born = np.sort(rng.random(rng.poisson(rate * years))) * years
    delay = rng.exponential(mean, born.size)
    visit = (np.floor(born / interval) + rng.geometric(finds, born.size)) * interval
    failed = (born + delay < visit).sum() / years
    curve = d.cost_curve(rate, mean, COSTS, finds=finds, interval_yr=[interval])
    error = np.sqrt(rate / years)
    assert failed == pytest.approx(curve.failures_per_yr[0, 0], abs=4 * error)
    assert rate - failed == pytest.approx(curve.found_per_yr[0, 0], abs=8 * error)


def test_costs_by_hand() -> None:
    curve = d.cost_curve(0.5, 1.0, COSTS, interval_yr=[1.0, np.inf])
    share = np.exp(-1.0)  # 1 - (1 - e^-1)
    assert curve.failures_per_yr[:, 0] == pytest.approx([0.5 * share, 0.5])
    by_hand = 200 + 0.5 * share * 3000 + 0.5 * (1 - share) * 100
    assert curve.cost_per_yr[:, 0] == pytest.approx([by_hand, 1500.0])
    assert d.saving_per_yr(curve)[:, 0] == pytest.approx([1500 - by_hand, 0.0])


def test_it_can_say_that_visits_do_not_help() -> None:
    rare = d.cost_curve(0.02, 1.0, COSTS)
    assert d.best_interval_yr(rare) == np.inf
    assert np.all(d.saving_per_yr(rare)[:-1] < 0)
    assert np.isinf(d.optimal_interval_yr(0.02, 1.0, COSTS))
    often = d.cost_curve(0.25, 1.0, COSTS)  # 580, 492, 537 a year for 1/2, 1 and 2 years
    assert d.best_interval_yr(often) == 1.0
    blind = d.cost_curve(0.25, 1.0, COSTS, finds=0.0)
    assert d.best_interval_yr(blind) == np.inf


def test_visits_that_cost_and_find_nothing_leave_never_as_best() -> None:
    free = d.VisitCosts(visit=0.0, repair=3000.0, failure=3000.0)
    assert d.best_interval_yr(d.cost_curve(0.3, 1.0, free)) == np.inf


@pytest.mark.parametrize("rate", [0.1, 0.5, 3.0])
def test_the_best_interval_is_the_lowest_of_a_fine_curve(rate: float) -> None:
    fine = np.linspace(0.05, 40, 40_000)
    curve = d.cost_curve(rate, 1.0, COSTS, interval_yr=fine)
    assert float(d.optimal_interval_yr(rate, 1.0, COSTS)) == pytest.approx(
        d.best_interval_yr(curve), abs=2e-3
    )


def test_one_part_holds_as_long_as_simulated() -> None:
    rng, count = np.random.default_rng(4), 400_000
    for rate, mean in ((0.3, 1.0), (1.0, 1.0), (2.0, 3.0)):
        ends = rng.exponential(1 / rate, count) + rng.exponential(mean, count)
        wanted = float(reliability_between_visits(rate, mean, 1.5))
        assert (ends > 1.5).mean() == pytest.approx(wanted, abs=0.0035)


def simulated_unseen(rate: float, mean: float, defect: float, failure: float) -> float:
    """Share of time that one part has failed unseen, visit by visit, visits a year apart."""
    rng, visits = np.random.default_rng(8), 300_000
    onset, lasts = rng.exponential(1 / rate, visits), rng.exponential(mean, visits)
    seen = rng.random(visits)
    state, unfit = 0, 0.0  # sound, defective, failed
    for begins, delay, luck in zip(onset.tolist(), lasts.tolist(), seen.tolist(), strict=True):
        fails = {0: begins + delay, 1: delay, 2: 0.0}[state]
        unfit += max(0.0, 1.0 - fails)
        state = 2 if fails < 1 else 1 if state == 1 or begins < 1 else 0
        if state and luck < (defect if state == 1 else failure):
            state = 0
    return unfit / visits


@pytest.mark.parametrize(("defect", "failure"), [(1.0, 1.0), (0.5, 0.9), (0.0, 0.7)])
def test_an_unseen_failure_lasts_as_long_as_simulated(defect: float, failure: float) -> None:
    wanted = unrevealed_unavailability(0.4, 0.8, 1.0, defect, failure)[0]
    assert simulated_unseen(0.4, 0.8, defect, failure) == pytest.approx(wanted, rel=0.02)


def test_an_unseen_failure_counts_in_any_unit_of_time() -> None:
    one = unrevealed_unavailability(0.4, 0.8, 1.0, 0.5, 0.9)
    assert unrevealed_unavailability(0.1, 3.2, 4.0, 0.5, 0.9) == pytest.approx(one)
    assert unrevealed_unavailability(0.1, 3.2, 4.0) == pytest.approx(
        unrevealed_unavailability(0.4, 0.8, 1.0, 1.0, 1.0)
    )


def test_an_unseen_failure_without_delay_is_a_hidden_fault() -> None:
    found = unrevealed_unavailability(0.3, 1e-9, 1.0)[0]
    assert found == pytest.approx(float(mean_unavailability(0.3, 1.0)), rel=1e-6)
    found = unrevealed_unavailability(0.3, 1e-9, 1.0, 0.2, 0.9)[0]
    assert found == pytest.approx(float(mean_unavailability_missed(0.3, 1.0, 0.9)), rel=1e-6)
    assert unrevealed_unavailability([0.3, 0.0], 1.0, np.inf).tolist() == [1.0, 0.0]


def test_what_cannot_be_is_refused() -> None:
    with pytest.raises(RangeError, match="interval"):
        d.failure_share(0.0, 1.0)
    with pytest.raises(RangeError, match="delay"):
        d.failure_share(1.0, 0.0)
    with pytest.raises(RangeError, match="costs"):
        d.VisitCosts(visit=-1.0, repair=0.0, failure=0.0)
    with pytest.raises(RangeError, match="never"):
        d.saving_per_yr(d.cost_curve(0.1, 1.0, COSTS, interval_yr=[1.0]))
