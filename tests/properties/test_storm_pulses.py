"""What must hold for any storms, found by looking for a counter-example."""

from __future__ import annotations

from dataclasses import replace

import numpy as np
from hypothesis import given, settings
from hypothesis import strategies as st
from hypothesis.extra.numpy import arrays

from riskkit.storm.moments import mean_mm, process_statistics
from riskkit.storm.pulses import StormKind, StormSeasons, fallen_mm, simulate

seeds = st.integers(0, 2**32 - 1)


def monthly(least: float, most: float) -> st.SearchStrategy[np.ndarray]:
    return arrays(np.float64, 12, elements=st.floats(least, most))


kinds = st.builds(
    StormKind,
    count=monthly(0.01, 30.0),
    storm_h=monthly(0.2, 30.0),
    cell_rate_per_h=monthly(0.01, 3.0),
    cell_h=monthly(0.05, 5.0),
    intensity_mm_h=monthly(0.05, 30.0),
    weibull_shape=st.floats(0.6, 3.0),
    storm_sigma=st.floats(0.0, 1.0),
)
seasons = st.builds(StormSeasons, steady=kinds, thunder=kinds, gauge_mm=st.just(0.1))


@settings(max_examples=25)  # a year of 5-minute steps each
@given(seasons, seeds, st.sampled_from([300, 900, 1800]))
def test_shorter_steps_give_the_same_totals(storms: StormSeasons, seed: int, step_s: int) -> None:
    hours, steps = (
        simulate(storms, 1, 2001, np.random.default_rng(seed), s).depth_mm for s in (3600, step_s)
    )
    by_hour = steps.reshape(-1, 3600 // step_s).sum(axis=1)
    # the gauge tips where rain reaches a whole tip; rounding may move one over the hour
    assert abs(by_hour.sum() - hours.sum()) <= 0.1 + 1e-6 * hours.sum()
    assert np.all(np.abs(by_hour - hours) <= 0.1 + 1e-3)


@settings(max_examples=40)
@given(seasons, seeds)
def test_rain_never_falls_back(storms: StormSeasons, seed: int) -> None:
    fallen = fallen_mm(storms, 1, 2001, np.random.default_rng(seed))
    assert fallen[0] == 0.0
    assert np.all(np.diff(fallen) >= 0.0)
    assert np.all(simulate(storms, 1, 2001, np.random.default_rng(seed)).depth_mm >= 0.0)


@given(seasons, st.floats(1.0, 3.0))
def test_more_storms_never_give_less_rain(storms: StormSeasons, factor: float) -> None:
    more = replace(storms, thunder=replace(storms.thunder, count=factor * storms.thunder.count))
    few, many = process_statistics(storms), process_statistics(more)
    assert np.all(many[..., 0] >= few[..., 0] * (1 - 1e-12))
    assert np.all(many[..., 1] >= few[..., 1] * (1 - 1e-12))
    assert np.all(many[..., 3] <= few[..., 3] * (1 + 1e-12))


@settings(max_examples=40)
@given(seasons, seeds, st.floats(1.0, 20.0))
def test_stronger_cells_give_more_rain_in_every_hour(
    storms: StormSeasons, seed: int, factor: float
) -> None:
    strong = replace(
        storms,
        steady=replace(storms.steady, intensity_mm_h=factor * storms.steady.intensity_mm_h),
        thunder=replace(storms.thunder, intensity_mm_h=factor * storms.thunder.intensity_mm_h),
    )
    weak, more = (
        np.diff(fallen_mm(s, 1, 2001, np.random.default_rng(seed))) for s in (storms, strong)
    )
    np.testing.assert_allclose(more, factor * weak, rtol=1e-6, atol=1e-6 * (1 + more.max()))


@given(kinds)
def test_the_mean_grows_with_the_window_and_nothing_else(kind: StormKind) -> None:
    mean = mean_mm(kind, np.array([1.0, 6.0, 24.0]))
    np.testing.assert_allclose(mean[:, 1:], mean[:, :1] * [6.0, 24.0])


@given(seasons)
def test_statistics_can_be(storms: StormSeasons) -> None:
    found = process_statistics(storms)
    assert np.all(np.isfinite(found))
    assert np.all(found[..., :2] > 0)
    assert np.all((found[..., 2] > 0) & (found[..., 2] < 1))
    assert np.all((found[..., 3] > 0) & (found[..., 3] < 1))
    # longer windows are drier more seldom
    assert np.all(np.diff(found[..., 3], axis=1) < 0)
