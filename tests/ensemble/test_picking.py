"""A few draws that stand for many."""

from __future__ import annotations

from pathlib import Path

import numpy as np

from riskkit.assessment import Settings, assess, design_rain
from riskkit.ensemble.picking import picked_evenly
from riskkit.home.home import load_home


def test_each_is_picked_once_and_both_results_are_spread_evenly() -> None:
    rng = np.random.default_rng(1)
    first, second = rng.normal(size=(2, 512))
    picked = picked_evenly(first, second, 32)
    assert len(set(picked.tolist())) == 32
    for result in (first, second):
        rank = result.argsort().argsort()[picked]
        assert np.all(np.abs(np.sort(rank) - (np.arange(32) + 0.5) * 16) < 40)
    first[rng.random(512) < 0.4] = np.inf  # never reached
    share = np.isinf(first[picked_evenly(first, second, 32)]).mean()
    assert abs(share - np.isinf(first).mean()) <= 1 / 32


def test_all_are_picked_where_as_many_are_asked_for() -> None:
    picked = picked_evenly(np.array([3.0, 1.0, 2.0]), np.zeros(3), 3)
    assert sorted(picked.tolist()) == [0, 1, 2]


def test_an_answer_of_some_draws_holds_what_the_whole_one_says_of_them(demo_sites: Path) -> None:
    home = load_home(demo_sites / "split_level_on_clay.toml")
    rain = design_rain(home, demo_sites)
    whole = assess(home, rain, Settings(n_draws=128))
    storm = whole.headline_storm
    only = picked_evenly(
        storm.worst_stop.to_floor_by_draw_s, storm.pump_working.peak_use_by_draw, 32
    )
    some = assess(home, rain, Settings(n_draws=128), only=only)
    assert some.settings.n_draws == some.homes.n_draws == 32
    for few, many in zip(some.storms, whole.storms, strict=True):
        np.testing.assert_allclose(
            few.pump_working.peak_use_by_draw, many.pump_working.peak_use_by_draw[only], rtol=1e-9
        )
    # worst stops are looked for round the peaks of all draws, so times may differ by little
    few_s, many_s = (
        some.headline_storm.worst_stop.to_floor_by_draw_s,
        storm.worst_stop.to_floor_by_draw_s[only],
    )
    assert np.array_equal(np.isinf(few_s), np.isinf(many_s))
    finite = np.isfinite(many_s)
    np.testing.assert_allclose(few_s[finite], many_s[finite], rtol=0.02)
