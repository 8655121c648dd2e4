"""What must hold for any annual maxima and any series of years."""

from __future__ import annotations

import numpy as np
from hypothesis import given, settings
from hypothesis import strategies as st
from hypothesis.extra.numpy import arrays

from riskkit.rainfall.frequency import depth_by_return_period_mm, depth_limits_mm, fit_maxima
from riskkit.rainfall.homogeneity import pettitt
from riskkit.rainfall.plotting import plot_correlation, plotting_position
from riskkit.records import FloatArray

PERIODS = np.array([1.0, 2.0, 10.0, 100.0])


@st.composite
def maxima(draw: st.DrawFn) -> FloatArray:
    shape = (draw(st.integers(1, 4)), draw(st.integers(5, 40)))
    values = draw(arrays(np.float64, shape, elements=st.floats(1.0, 300.0)))
    return np.asarray(np.round(values, 1))


@given(maxima())
def test_depths_grow_with_return_period_and_the_tail_is_bounded(values: FloatArray) -> None:
    fit = fit_maxima(values)
    assert np.all((fit.shape <= 1e-6) & (fit.shape > -0.6))
    assert np.all(np.diff(depth_by_return_period_mm(values, PERIODS), axis=1) >= -1e-9)


@settings(max_examples=30)
@given(maxima(), st.floats(0.01, 100.0))
def test_limits_enclose_the_depth_in_any_unit(values: FloatArray, size: float) -> None:
    depth = depth_by_return_period_mm(values, PERIODS)
    low, high = depth_limits_mm(values, PERIODS, np.random.default_rng(1), 200)
    assert np.all(low <= high + 1e-9)
    assert np.all(low[:, 1:3] <= depth[:, 1:3] + 1e-9)
    assert np.all(high[:, 1:3] >= depth[:, 1:3] - 1e-9)
    again = depth_limits_mm(values * size, PERIODS, np.random.default_rng(1), 200)
    np.testing.assert_allclose(again, np.array([low, high]) * size, rtol=1e-6, atol=1e-6 * size)


@given(st.lists(st.floats(-1e3, 1e3), min_size=10, max_size=60))
def test_a_step_backwards_is_as_likely(values: list[float]) -> None:
    x = np.array(values)
    forth, back = pettitt(x), pettitt(x[::-1])
    assert forth.statistic == back.statistic
    assert forth.p_value == back.p_value
    assert 0.0 <= forth.p_value <= 1.0
    assert 1 <= forth.before < x.size
    assert pettitt(np.round(x * 8 + 3, 6)).statistic == pettitt(np.round(x * 8, 6)).statistic


@given(st.integers(1, 200), st.floats(0.0, 0.5))
def test_plotting_positions_rise_within_zero_and_one(n: int, a: float) -> None:
    p = plotting_position(n, a)
    assert np.all((p > 0) & (p < 1)) and np.all(np.diff(p) > 0)


@given(maxima(), st.floats(-0.3, 0.0))
def test_a_plot_correlation_does_not_ask_for_unit_or_zero(values: FloatArray, k: float) -> None:
    spread = np.ptp(values, axis=1) > 1.0
    r = plot_correlation(values, np.array(k))[spread]
    assert np.all((r > 0) & (r <= 1 + 1e-9))
    np.testing.assert_allclose(
        plot_correlation(values * 25.4 + 7, np.array(k))[spread], r, rtol=1e-6
    )
