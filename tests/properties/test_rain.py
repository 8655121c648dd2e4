"""What must hold for any rain record, found by looking for a counter-example."""

from __future__ import annotations

import numpy as np
from hypothesis import assume, given, settings
from hypothesis import strategies as st
from hypothesis.extra.numpy import arrays

from riskkit.rainfall.extremes import depth_duration_frequency, scale_by_climate
from riskkit.rainfall.frequency import (
    depth_by_return_period_mm,
    monotone_depths_mm,
    partial_return_period_yr,
    to_partial_duration,
)
from riskkit.rainfall.lmoments import gev_quantile, gev_shape, gev_with_shape, sample_lmoments
from riskkit.rainfall.maxima import annual_maxima, weiss_factor
from riskkit.records import DepthDurationFrequency, FloatArray, RainRecord, Series

DAY = 86400
depths = st.floats(0.0, 200.0, allow_subnormal=False)


def daily(depth: FloatArray) -> RainRecord:
    return RainRecord(depth, np.datetime64("2001-01-01"), DAY)


@st.composite
def daily_records(draw: st.DrawFn, years: int = 1) -> FloatArray:
    """Whole years of days; a few of them wet, a few missing."""
    size = 365 * years
    depth = np.zeros(size)
    for day in draw(st.lists(st.integers(0, size - 1), max_size=12)):
        depth[day] = draw(depths)
    for day in draw(st.lists(st.integers(0, size - 1), max_size=12)):
        depth[day] = np.nan
    return depth


@given(daily_records())
def test_maxima_grow_with_duration_and_not_faster_than_it(depth: FloatArray) -> None:
    found = annual_maxima(daily(depth), [24, 48, 72, 144]).depth_mm[:, 0]
    assert np.all(np.diff(found) >= -1e-9)
    assert np.all(found[1:] <= found[0] * np.array([2, 3, 6]) + 1e-9)


@given(daily_records(), st.integers(0, 364), st.floats(0.0, 100.0))
def test_more_rain_never_makes_a_smaller_maximum(
    depth: FloatArray, day: int, more_mm: float
) -> None:
    before = annual_maxima(daily(depth), [24, 72]).depth_mm
    wetter = depth.copy()
    wetter[day] = np.nan_to_num(wetter[day]) + more_mm
    after = annual_maxima(daily(wetter), [24, 72]).depth_mm
    assert np.all(after >= before - 1e-9)


@given(daily_records(), st.integers(0, 364))
def test_a_gap_never_makes_a_larger_maximum(depth: FloatArray, day: int) -> None:
    before = annual_maxima(daily(depth), [24, 72]).depth_mm
    gapped = depth.copy()
    gapped[day] = np.nan
    assert np.all(annual_maxima(daily(gapped), [24, 72]).depth_mm <= before + 1e-9)


samples = arrays(np.float64, st.integers(5, 60), elements=st.floats(1.0, 300.0))


@given(samples)
def test_lmoments_of_any_sample_are_in_their_bounds(x: FloatArray) -> None:
    found = sample_lmoments(x)
    assert found.l2 >= -1e-9
    if found.l2 > 1e-6:
        assert -1 - 1e-6 <= found.t3 <= 1 + 1e-6
        assert -1 - 1e-6 <= found.t4 <= 1 + 1e-6


@given(st.floats(5.0, 100.0), st.floats(0.5, 30.0), st.floats(-0.5, 0.7), st.floats(0.1, 10.0))
def test_a_fit_scales_with_its_unit(l1: float, l2: float, t3: float, factor: float) -> None:
    f = np.array([0.1, 0.5, 0.99])
    shape = gev_shape(np.array(t3))
    one, other = (
        gev_quantile(gev_with_shape(np.array(by * l1), np.array(by * l2), shape), f)
        for by in (1.0, factor)
    )
    np.testing.assert_allclose(other, factor * one, rtol=1e-9)
    assert np.all(np.diff(one) > 0)


@given(samples, st.floats(0.1, 10.0))
def test_rarer_is_never_less(x: FloatArray, factor: float) -> None:
    assume(not sample_lmoments(x).t3 > 0.89)  # beyond, the fit warns: tested elsewhere
    periods = np.array([1.0, 2.0, 5.0, 10.0, 50.0, 200.0])
    depth = depth_by_return_period_mm(x, periods)
    assert np.all(np.diff(depth) >= -1e-9)
    np.testing.assert_allclose(
        depth_by_return_period_mm(factor * x, periods), factor * depth, rtol=1e-6, atol=1e-6
    )


@given(st.floats(0.1, 1000.0))
def test_langbein_there_and_back(period_yr: float) -> None:
    annual = 1 / -np.expm1(-1 / period_yr)  # a year without has the chance exp(-1/T)
    assert period_yr < annual < period_yr + 1.0
    np.testing.assert_allclose(partial_return_period_yr(annual), period_yr, rtol=1e-9)


@given(st.integers(1, 5000))
def test_fixed_interval_factor_stays_between_one_and_eight_sevenths(n: int) -> None:
    assert 1.0 < weiss_factor(n) <= 8 / 7
    assert weiss_factor(n + 1) < weiss_factor(n)


@given(arrays(np.float64, (5, 4), elements=st.floats(1.0, 300.0)))
def test_monotone_depths_are_monotone_and_only_raised(depth: FloatArray) -> None:
    raised, n = monotone_depths_mm(depth)
    assert np.all(np.diff(raised, axis=0) >= 0) and np.all(np.diff(raised, axis=1) >= 0)
    assert np.all(raised >= depth)
    assert n == np.sum(raised > depth + 1e-9)
    again, none = monotone_depths_mm(raised)
    assert none == 0
    np.testing.assert_array_equal(again, raised)


@st.composite
def tables(draw: st.DrawFn) -> DepthDurationFrequency:
    """Any table of five durations and four return periods."""
    cells = draw(arrays(np.float64, (5, 4), elements=st.floats(0.5, 200.0)))
    return DepthDurationFrequency(
        np.array([1 / 12, 0.25, 1.0, 6.0, 24.0]),
        np.array([2.0, 5.0, 25.0, 100.0]),
        monotone_depths_mm(cells)[0],
        draw(st.sampled_from(Series)),
    )


durations = st.floats(1 / 12, 24.0)
periods = st.floats(2.0, 100.0)


@given(tables(), durations, durations, periods, periods)
def test_interpolated_depth_never_falls(
    table: DepthDurationFrequency, d1: float, d2: float, t1: float, t2: float
) -> None:
    d1, d2 = sorted((d1, d2))
    t1, t2 = sorted((t1, t2))
    low, high = float(table.depth_at(d1, t1)), float(table.depth_at(d2, t2))
    assert low <= high * (1 + 1e-12)
    assert table.depth_mm[0, 0] * (1 - 1e-12) <= low
    assert high <= table.depth_mm[-1, -1] * (1 + 1e-12)


@given(tables(), st.integers(0, 4), st.integers(0, 3))
def test_a_cell_of_the_table_comes_back(
    table: DepthDurationFrequency, row: int, column: int
) -> None:
    found = table.depth_at(table.duration_h[row], float(table.return_period_yr[column]))
    np.testing.assert_allclose(found, table.depth_mm[row, column], rtol=1e-12)


@given(tables(), st.floats(0.5, 3.0), durations, periods)
def test_climate_factor_goes_through_every_interpolated_depth(
    table: DepthDurationFrequency, factor: float, duration_h: float, period_yr: float
) -> None:
    scaled = scale_by_climate(table, factor).depth_at(duration_h, period_yr)
    np.testing.assert_allclose(scaled, factor * table.depth_at(duration_h, period_yr), rtol=1e-9)


@given(tables())
def test_partial_duration_depths_are_never_less_than_annual_ones(
    table: DepthDurationFrequency,
) -> None:
    found = to_partial_duration(table)
    assert np.all(found.depth_mm >= table.depth_mm - 1e-9)


@settings(max_examples=20)
@given(st.integers(0, 2**31), st.floats(1.0, 3.0))
def test_a_wetter_record_never_has_a_smaller_table(seed: int, factor: float) -> None:
    rng = np.random.default_rng(seed)
    size = 365 * 12
    rain = np.where(rng.random(size) < 0.3, 8.0 * rng.standard_exponential(size), 0.0)
    kinds = {"duration_h": (1.0, 24.0, 72.0), "return_period_yr": (1.0, 2.0, 10.0)}
    one = depth_duration_frequency(daily(rain), **kinds)
    other = depth_duration_frequency(daily(factor * rain), **kinds)
    np.testing.assert_allclose(other.depth_mm, factor * one.depth_mm, rtol=1e-9)
    assert np.all(np.diff(one.depth_mm, axis=0) >= 0)
    assert np.all(np.diff(one.depth_mm, axis=1) >= 0)
