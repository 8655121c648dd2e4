"""Peaks above a threshold, plotting positions and goodness of fit."""

from __future__ import annotations

import numpy as np
import pytest
from lmoments3 import distr

from riskkit.errors import RangeError
from riskkit.rainfall.frequency import depth_by_return_period_mm
from riskkit.rainfall.maxima import annual_maxima
from riskkit.rainfall.peaks import PeakSeries, independent_peaks, pareto_depth_mm
from riskkit.rainfall.plotting import fitness, plot_correlation, plotting_position
from riskkit.records import RainRecord

START = np.datetime64("2001-01-01")


def hours(n_years: int) -> np.ndarray:
    return np.zeros(
        int((np.datetime64(f"{2001 + n_years}-01-01") - START) / np.timedelta64(1, "h"))
    )


def stormy(n_years: int, seed: int) -> RainRecord:
    """Four storms a year on average, a burst of one hour each, exponential depths above 20 mm."""
    rng = np.random.default_rng(seed)
    depth = hours(n_years)
    at = rng.choice(depth.size, rng.poisson(4.0 * n_years), replace=False)
    depth[at] = 20.0 + 6.0 * rng.standard_exponential(at.size)
    return RainRecord(depth, START, 3600, "made up")


@pytest.mark.parametrize("n", [12, 50, 300])
def test_pareto_equals_an_independent_library(n: int) -> None:
    """With the threshold that the library fits its fit is that of a known threshold."""
    x = np.random.default_rng(n).pareto(8.0, n) * 40 + 12
    theirs = distr.gpa(**distr.gpa.lmom_fit(x))
    peaks = PeakSeries(np.sort(x)[::-1], distr.gpa.lmom_fit(x)["loc"], n / 2.5)
    periods = np.array([1.0, 10.0, 100.0])
    np.testing.assert_allclose(
        pareto_depth_mm(peaks, periods), theirs.ppf(1 - 1 / (2.5 * periods)), rtol=1e-7
    )


def test_peaks_a_person_can_count() -> None:
    depth = hours(10)
    for i in range(40):  # forty storms far apart, of 11 to 50 mm
        depth[100 + 2000 * i] = 11.0 + i
        depth[105 + 2000 * i] = 10.0  # five hours later: the same storm
    found = independent_peaks(RainRecord(depth, START, 3600), 1.0)
    assert found.years == 10
    np.testing.assert_allclose(found.depth_mm, np.arange(50.0, 25.0, -1))
    assert found.threshold_mm == 25.0
    # within six hours the storm's two bursts are one window
    found = independent_peaks(RainRecord(depth, START, 3600), 6.0)
    assert found.depth_mm[0] == pytest.approx(60.0)


def test_windows_lie_apart() -> None:
    depth = hours(10)
    depth[5::50] = np.random.default_rng(1).uniform(5, 50, depth[5::50].size)
    depth[11::50] = 40.0  # six hours after: only five dry hours lie between
    found = independent_peaks(RainRecord(depth, START, 3600), 1.0, per_year=5.0)
    assert np.all(np.diff(found.depth_mm) <= 0)
    assert found.depth_mm.size == 50


@pytest.mark.parametrize(("duration_h", "apart_h"), [(1, 6), (3, 6), (6, 6), (24, 6), (12, 0)])
def test_peaks_equal_a_count_by_hand(duration_h: int, apart_h: int) -> None:
    """Windows as pairs of begin and end: the largest that keeps its distance, again and again."""
    rng = np.random.default_rng(duration_h)
    depth = hours(3)
    for wet in (depth[:500], depth[9000:9500]):  # so crowded that windows contend
        wet[:] = rng.uniform(0.1, 30.0, wet.size) * (rng.random(wet.size) < 0.5)
    ends = range(duration_h, depth.size + 1)
    windows = sorted(((depth[e - duration_h : e].sum(), e) for e in ends), reverse=True)
    kept: list[tuple[float, int]] = []
    for total, end in windows:
        begin = end - duration_h
        if all(begin - e >= apart_h or (e - duration_h) - end >= apart_h for _, e in kept):
            kept.append((total, end))
        if len(kept) == 16:
            break
    found = independent_peaks(RainRecord(depth, START, 3600), duration_h, 5.0, apart_h)
    np.testing.assert_allclose(found.depth_mm, [total for total, _ in kept[:15]], rtol=1e-9)
    assert found.threshold_mm == pytest.approx(kept[15][0], rel=1e-9)


def test_a_year_that_does_not_count_gives_no_peaks() -> None:
    record = stormy(12, 1)
    depth = record.depth_mm.copy()
    depth[: 24 * 200] = np.nan
    depth[24 * 300] = 500.0  # in 2001, of which more than half is missing
    found = independent_peaks(RainRecord(depth, START, 3600), 1.0)
    assert found.years == 11
    assert found.depth_mm[0] < 200


def test_both_ways_find_the_truth() -> None:
    # exponential storms, four a year: exceeded once in T years is 20 + 6 ln(4 T)
    record = stormy(400, 3)
    periods = np.array([1.0, 2.0, 10.0, 50.0])
    truth = 20.0 + 6.0 * np.log(4.0 * periods)
    peaks = pareto_depth_mm(independent_peaks(record, 1.0), periods)
    np.testing.assert_allclose(peaks, truth, rtol=0.04)
    maxima = depth_by_return_period_mm(annual_maxima(record, [1.0]).depth_mm[0], periods)
    np.testing.assert_allclose(maxima, truth, rtol=0.08)


def test_too_little_rain_and_too_common_storms_are_refused() -> None:
    depth = hours(10)
    depth[[100, 5000, 9000]] = 10.0
    with pytest.raises(RangeError, match="only 3 wet times"):
        independent_peaks(RainRecord(depth, START, 3600), 1.0)
    with pytest.raises(RangeError, match="outside 1 to 5"):
        independent_peaks(stormy(10, 1), 1.0, per_year=9.0)
    with pytest.raises(RangeError, match="too common"):
        pareto_depth_mm(PeakSeries(np.arange(20.0, 50.0), 19.0, 10.0), np.array([0.3]))
    with pytest.raises(RangeError, match="all equal"):
        pareto_depth_mm(PeakSeries(np.full(30, 20.0), 19.0, 10.0), np.array([2.0]))


def test_plotting_positions_are_symmetric() -> None:
    for a in (0.0, 0.4, 0.44, 0.5):
        p = plotting_position(9, a)
        np.testing.assert_allclose(p + p[::-1], 1.0)
        assert p[4] == pytest.approx(0.5)
    with pytest.raises(RangeError, match="make no sense"):
        plotting_position(0)


def test_a_good_fit_is_not_doubted_and_a_bad_one_is() -> None:
    rng = np.random.default_rng(5)
    p = [fitness(rng.gumbel(40, 9, (1, 40)), rng, 300).p_value[0] for _ in range(200)]
    assert 0.01 <= np.mean(np.array(p) < 0.05) <= 0.12
    two_kinds = np.concatenate([rng.normal(30, 1, 35), rng.normal(120, 1, 5)])
    assert fitness(two_kinds[None, :], rng).p_value[0] < 0.05


def test_correlation_of_a_plot_is_that_of_numpy() -> None:
    x = np.random.default_rng(6).gumbel(40, 9, 30)
    y = -np.log(-np.log(plotting_position(30)))
    expected = np.corrcoef(np.sort(x), y)[0, 1]
    assert plot_correlation(x, np.array(0.0)) == pytest.approx(expected, abs=1e-7)
    assert np.isnan(plot_correlation(np.full(9, 3.0), np.array(0.0)))
