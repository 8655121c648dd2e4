"""The inner part of a nested storm whose depths rest on ratios, and how it may differ."""

from __future__ import annotations

import numpy as np
import pytest

from riskkit.records import DepthDurationFrequency, Series
from riskkit.storm.design import Burst, burst_of, design_storm

HOURS = np.array([1 / 12, 0.25, 0.5, 1.0, 6.0, 24.0])
DEPTH = np.array([9.0, 17.0, 24.0, 31.0, 50.0, 80.0])
LOG_SD = np.array([0.1, 0.08, 0.05, 0.0, 0.0, 0.0])


def table(log_sd: np.ndarray | None = LOG_SD) -> DepthDurationFrequency:
    depth = DEPTH[:, None] * np.array([1.0, 2.0])
    return DepthDurationFrequency(
        HOURS, np.array([1.0, 100.0]), depth, Series.PARTIAL_DURATION, ratio_log_sd=log_sd
    )


def burst(hours: float = 24.0) -> Burst:
    found = burst_of(table(), 1.0, hours, 300.0)
    assert found is not None
    return found


def test_the_middle_of_the_spread_is_the_storm_of_the_depths() -> None:
    plain = design_storm(table(None), 1.0, 24.0).depth_mm
    np.testing.assert_allclose(design_storm(table(), 1.0, 24.0).depth_mm, plain)


@pytest.mark.parametrize("score", [-1.6, 0.0, 0.7, 1.6])
def test_the_worst_minutes_differ_and_the_hour_stays(score: float) -> None:
    rain = burst().rain_mm(np.array([score]))[0]
    assert rain.size == 12
    assert rain.sum() == pytest.approx(31.0)
    assert np.all(np.diff(rain) <= 0)
    for steps, depth, sd in ((1, 9.0, 0.1), (3, 17.0, 0.08), (6, 24.0, 0.05)):
        assert rain[:steps].sum() == pytest.approx(depth * np.exp(score * sd), rel=0.01)


def test_no_burst_brings_more_than_its_hour() -> None:
    rain = burst().rain_mm(np.array([-9.0, 9.0]))
    assert np.all(rain >= 0) and rain.sum(axis=1) == pytest.approx([31.0, 31.0])


def test_where_all_depths_are_known_there_is_none() -> None:
    assert burst_of(table(None), 1.0, 24.0, 300.0) is None
    assert burst_of(table(0 * LOG_SD), 1.0, 24.0, 300.0) is None


def test_a_storm_within_the_hour_has_the_rest_of_the_spread_only() -> None:
    """The depth of the half hour has its own spread; five minutes against it have what is left."""
    short = burst(0.5)
    assert short.log_sd[0] == pytest.approx(np.sqrt(0.1**2 - 0.05**2))
    assert short.log_sd[-1] == 0
    assert short.depth_mm[-1] == pytest.approx(24.0)
