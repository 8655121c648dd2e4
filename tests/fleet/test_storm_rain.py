"""What falls at each home in a storm that is known in one place."""

from __future__ import annotations

from statistics import NormalDist

import numpy as np
import pytest

from riskkit.fleet.calls import call_spread
from riskkit.fleet.past import DepthCurve, log_period_of_score, score_of_log_period
from riskkit.fleet.storm_rain import local_log_period, rows_of_storm

MIDDLE = (41.2, -88.6)
NORMAL = NormalDist()


def test_scores_of_storms() -> None:
    """Six storms a year count: one of 10 years is the rarest of 60, of 100 years of 600."""
    found = score_of_log_period(np.log([10.0, 100.0]))
    assert found == pytest.approx([NORMAL.inv_cdf(59 / 60), NORMAL.inv_cdf(599 / 600)], abs=1e-9)
    assert np.exp(log_period_of_score(found)) == pytest.approx([10.0, 100.0])
    # the middle one of six a year comes three times a year
    assert np.exp(log_period_of_score(np.zeros(1))) == pytest.approx([1 / 3])


def test_in_the_middle_the_storm_is_as_it_is_said() -> None:
    found = local_log_period("storm", np.log(10.0), 24.0, MIDDLE, MIDDLE, 1, 64)
    assert np.exp(found) == pytest.approx(10.0)


def test_near_homes_share_what_falls_and_far_ones_do_not() -> None:
    def at(north: float) -> np.ndarray:
        return local_log_period("storm", np.log(50.0), 24.0, (41.2 + north, -88.6), MIDDLE, 1, 512)

    assert np.array_equal(at(0.05), at(0.05))
    near, beside, far = at(0.05), at(0.0505), at(5.0)
    assert np.corrcoef(near, beside)[0, 1] > 0.98
    assert np.median(near) > np.median(at(0.2)) > np.median(far)
    # 550 km away nothing is known: half of the storms come more than three times a year
    assert np.exp(np.median(far)) == pytest.approx(1 / 3, rel=0.25)
    other = local_log_period("other", np.log(50.0), 24.0, (41.25, -88.6), MIDDLE, 1, 512)
    assert abs(np.corrcoef(near, other)[0, 1]) < 4 / np.sqrt(512)


def test_a_circle_of_four_miles_gets_what_was_measured_round_yearly_maxima() -> None:
    """Asquith (1999), Dallas: 0.85 of the point in 50.3 mi2, a day, 100 years.

    Depths of the Midwest: 63 mm once a year, 161.5 mm in 100 years, straight in the logarithm.
    """
    assert call_spread("reach").p50 == 0.45
    curve = DepthCurve(np.log([1 / 6, 1.0, 100.0]), np.array([25.0, 63.0, 161.5]))
    shares = []
    for ring in np.sqrt((np.arange(12) + 0.5) / 12) * 4 * 1.609344:
        place = (41.2 + ring / 111.195, -88.6)
        log_period = local_log_period("storm", np.log(100.0), 24.0, place, MIDDLE, 1, 4096)
        shares.append((curve.depth_at(log_period) / 161.5).mean())
    assert np.mean(shares) == pytest.approx(0.85, abs=0.015)


def test_the_storm_below_or_above_by_chance() -> None:
    rows = np.log([1.0, 10.0, 100.0])
    n = 40_000
    asked = np.concatenate([np.full(n, np.log(10 * 10**0.25)), np.log([0.01, 1.0, 10.0, 1e4])])
    found = rows_of_storm(asked, rows, np.random.default_rng(1))
    assert set(found[:n].tolist()) == {1, 2}
    # a quarter of the way up
    assert (found[:n] == 2).mean() == pytest.approx(0.25, abs=4 * np.sqrt(0.1875 / n))
    assert found[n:].tolist() == [0, 0, 1, 2]
