"""The largest storms of a record, on records small enough to see the answer."""

from itertools import pairwise

import numpy as np
import pytest

from riskkit.rainfall.largest import largest_storms, return_period_of
from riskkit.records import DepthDurationFrequency, RainRecord, Series

START = np.datetime64("2001-01-01T00", "s")


def table(limits=0.2):
    depth = np.array([[20.0, 40.0, 60.0], [50.0, 80.0, 110.0], [60.0, 100.0, 140.0]])
    return DepthDurationFrequency(
        np.array([1.0, 24.0, 72.0]), np.array([1.0, 10.0, 100.0]), depth, Series.PARTIAL_DURATION,
        lower_mm=depth * (1 - limits), upper_mm=depth * (1 + limits),
    )  # fmt: skip


def record(**storms):
    """Two years of dry hours, and storms: hour to depths."""
    depth = np.zeros(2 * 8760)
    for hour, rain in storms.items():
        depth[int(hour[1:]) :][: len(rain)] = rain
    return RainRecord(depth, START, 3600)


def test_a_storm_of_several_days_is_one_storm_with_its_depths_and_its_rarest_duration():
    # three days of 30 mm each, with dry nights of 15 h between, and a cloudburst half a year later
    days = np.tile(np.r_[np.full(9, 30 / 9), np.zeros(15)], 3)[:-15]
    first, second = largest_storms(record(h1000=days, h5000=[30.0]), table())
    assert first.depth_mm == pytest.approx([30 / 9, 30.0, 90.0])
    assert first.duration_h[first.rarest] == 72.0
    assert (str(first.begin), str(first.end)) == ("2001-02-11T16:00:00", "2001-02-14T01:00:00")
    # the fixed-interval factor of 72 intervals is 576/575; 60 to 100 mm is 1 to 10 years
    at = (90 * 576 / 575 - 60) / 40
    assert first.period is not None
    assert first.period.median_yr == pytest.approx(10**at)
    assert first.period.low_yr < first.period.median_yr < first.period.high_yr
    assert second.duration_h[second.rarest] == 1.0 and second.depth_mm[0] == 30.0
    assert str(second.begin) == "2001-07-28T08:00:00"
    assert not first.beside_gap


def test_return_periods_are_read_from_the_table_and_its_limits():
    found = return_period_of(40.0, 1.0, table())
    assert found.median_yr == pytest.approx(10.0)
    # upper limits are 24, 48, 72 and lower ones 16, 32, 48
    assert found.low_yr == pytest.approx(10 ** (16 / 24))
    assert found.high_yr == pytest.approx(10**1.5)
    beyond = return_period_of(61.0, 1.0, table())
    assert (beyond.median_yr, beyond.high_yr) == (np.inf, np.inf) and beyond.low_yr < 100
    assert return_period_of(10.0, 1.0, table()).median_yr == 0.0


def test_storms_beyond_the_table_are_still_ranked_by_how_rare_they_are():
    found = largest_storms(record(h1000=[70.0], h3000=[80.0], h5000=[65.0]), table())
    assert [storm.depth_mm[0] for storm in found] == [80.0, 70.0, 65.0]


def test_a_gap_beside_a_storm_is_told():
    depth = record(h1000=[30.0]).depth_mm.copy()
    depth[1001:1010] = np.nan
    (storm,) = largest_storms(RainRecord(depth, START, 3600), table())
    assert storm.beside_gap


def test_ten_at_most_and_none_twice():
    rng = np.random.default_rng(1)
    depth = np.where(rng.random(8760 * 3) < 0.05, rng.exponential(4, 8760 * 3), 0.0)
    storms = largest_storms(RainRecord(depth, START, 3600), table())
    assert len(storms) == 10
    spans = sorted((storm.begin, storm.end) for storm in storms)
    assert all(a[1] <= b[0] for a, b in pairwise(spans))


def test_without_a_table_storms_are_ranked_by_the_rain_of_a_day():
    found = largest_storms(record(h1000=[30.0], h3000=np.full(20, 2.0)), None)
    assert found[0].depth_mm[2] == pytest.approx(40.0) and found[0].period is None
    daily = RainRecord(np.r_[np.zeros(40), 30.0, 20.0, np.zeros(40)], START, 86400)
    (storm,) = largest_storms(daily, None)
    assert storm.depth_mm == pytest.approx([30.0, 50.0, 50.0])
    assert largest_storms(RainRecord(np.zeros(9), START, 86400), None) == ()
