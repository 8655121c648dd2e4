"""What must hold for any design storm, found by looking for a counter-example."""

from __future__ import annotations

import numpy as np
from hypothesis import given
from hypothesis import strategies as st
from hypothesis.extra.numpy import arrays

from riskkit.rainfall.extremes import scale_by_climate
from riskkit.records import DepthDurationFrequency, FloatArray, Series
from riskkit.storm.design import design_storm, patterned_storm
from riskkit.storm.patterns import Pattern, alternating_block_mm


@st.composite
def tables(draw: st.DrawFn) -> DepthDurationFrequency:
    """Any table that rises both ways."""
    rises = draw(arrays(np.float64, (6, 3), elements=st.floats(0.01, 40.0)))
    return DepthDurationFrequency(
        np.array([1 / 12, 0.25, 1.0, 6.0, 24.0, 72.0]),
        np.array([1.0, 10.0, 100.0]),
        np.cumsum(np.cumsum(rises, axis=0), axis=1),
        Series.PARTIAL_DURATION,
    )


patterns = st.sampled_from(Pattern)
periods = st.floats(1.0, 100.0)


@given(tables(), patterns, periods)
def test_a_storm_holds_the_depth_of_its_duration(
    table: DepthDurationFrequency, pattern: Pattern, period_yr: float
) -> None:
    storm = design_storm(table, period_yr, 24.0, pattern)
    total = float(table.depth_at(24.0, period_yr))
    assert abs(storm.depth_mm.sum() - total) <= 1e-9 * total
    assert np.all(storm.depth_mm >= 0)


@given(tables(), patterns, periods, periods)
def test_a_rarer_storm_has_no_less_rain(
    table: DepthDurationFrequency, pattern: Pattern, t1: float, t2: float
) -> None:
    t1, t2 = sorted((t1, t2))
    common, rare = (design_storm(table, t, 24.0, pattern).depth_mm for t in (t1, t2))
    assert rare.sum() >= common.sum() * (1 - 1e-12)
    for n in (1, 12, 72, 288):
        if pattern is not Pattern.ALTERNATING_BLOCK:
            window = np.ones(n)
            worst = [np.convolve(s, window, "valid").max() for s in (common, rare)]
            assert worst[1] >= worst[0] * (1 - 1e-9)


@given(tables(), periods)
def test_the_worst_steps_hold_at_least_the_table(
    table: DepthDurationFrequency, period_yr: float
) -> None:
    storm = design_storm(table, period_yr, 24.0).depth_mm
    for duration_h in (1 / 12, 0.25, 1.0, 6.0, 24.0):
        worst = np.sort(storm)[::-1][: round(12 * duration_h)].sum()
        assert worst >= float(table.depth_at(duration_h, period_yr)) * (1 - 1e-9)


@given(tables(), patterns, st.floats(0.5, 3.0))
def test_a_storm_grows_with_the_climate_factor(
    table: DepthDurationFrequency, pattern: Pattern, factor: float
) -> None:
    one = design_storm(table, 10.0, 24.0, pattern).depth_mm
    other = design_storm(scale_by_climate(table, factor), 10.0, 24.0, pattern).depth_mm
    np.testing.assert_allclose(other, factor * one, rtol=1e-6, atol=1e-9)


@given(arrays(np.float64, st.integers(1, 60), elements=st.floats(0.0, 50.0)))
def test_alternating_block_keeps_every_block(blocks: FloatArray) -> None:
    storm = alternating_block_mm(np.cumsum(blocks))
    np.testing.assert_allclose(np.sort(storm), np.sort(blocks), atol=1e-9)
    peak = (blocks.size - 1) // 2
    assert storm[peak] == storm.max()
    assert np.all(np.diff(storm[: peak + 1]) >= 0)
    assert np.all(np.diff(storm[peak:]) <= 0)


@given(st.floats(0.1, 400.0), st.integers(1, 864), patterns)
def test_any_depth_and_duration(depth_mm: float, steps: int, pattern: Pattern) -> None:
    if pattern.is_nrcs:
        steps = 288
    if pattern is Pattern.ALTERNATING_BLOCK:
        return
    storm = patterned_storm(depth_mm, steps / 12.0, pattern)
    assert storm.depth_mm.size == steps
    assert abs(storm.depth_mm.sum() - depth_mm) <= 1e-9 * depth_mm
