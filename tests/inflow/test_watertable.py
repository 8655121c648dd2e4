"""The water table: exact by the day, found again from its levels, honest where it cannot be."""

import math

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from riskkit.errors import RangeError
from riskkit.inflow.watertable import (
    WaterTable,
    explained_share,
    fit_water_table,
    net_recharge_mm,
    season_levels,
    water_table_m,
)


def rainy(n_days: int, seed: int) -> tuple[np.ndarray, np.ndarray]:
    """Recharge in winter and want in summer, as a temperate climate has them."""
    rng = np.random.default_rng(seed)
    season = np.cos(2 * np.pi * (np.arange(n_days) - 30) / 365.25)
    recharge = rng.gamma(0.2, 8.0, n_days) * (season > -0.2)
    unmet = np.maximum(-season, 0) * 2 * rng.uniform(0.5, 1.5, n_days)
    return recharge, unmet


def test_a_day_is_exact() -> None:
    """Many small steps of the same equation come to the same level."""
    net, n = np.array([3.0, 0.0, 0.0, 8.0, 1.0]), 20_000
    found = water_table_m(net, 12.0, 0.4, -1.5)[0]
    level = -1.5 + 0.4 * net.mean()
    for i, r in enumerate(net):
        for _ in range(n):
            level += (-1.5 + 0.4 * r - level) / 12.0 / n
        assert found[i] == pytest.approx(level, abs=1e-5)


def test_water_is_kept() -> None:
    """What comes in is stored (pore share times rise of the level) or drains to the base."""
    recharge, _ = rainy(3000, 1)
    rise, time, base = 0.5, 60.0, -2.0
    pores = time / (1000 * rise)
    level = water_table_m(recharge, time, rise, base)[0]
    start = base + rise * recharge[:365].mean()
    before = np.concatenate([[start], level[:-1]])
    goal = base + rise * recharge
    mean = goal + (before - goal) * time * (1 - math.exp(-1 / time))  # of the day
    drained_mm = (mean - base) / rise
    assert 1000 * pores * (level - before) == pytest.approx(recharge - drained_mm, abs=1e-9)


def test_steady_recharge_holds_it_and_dry_days_let_it_fall_to_a_third() -> None:
    level = water_table_m(np.full(4000, 1.5), 50.0, 0.6, -1.0)[0]
    assert level == pytest.approx(np.full(4000, -0.1))
    dry = water_table_m(np.r_[np.full(365, 2.0), np.zeros(40)], 40.0, 0.5, 0.0)[0]
    assert dry[-1] == pytest.approx(math.exp(-1), rel=1e-12)


@given(time=st.floats(1, 500), rise=st.floats(0, 3), share=st.floats(0, 1), top=st.floats(-1, 2))
def test_more_water_never_lowers_it(time: float, rise: float, share: float, top: float) -> None:
    recharge, unmet = rainy(400, 3)
    net = net_recharge_mm(recharge, unmet, share)
    more = net_recharge_mm(recharge * 1.3, unmet, share)
    low, high = (water_table_m(r, time, rise, -2.0, top)[0] for r in (net, more))
    assert np.all(high >= low - 1e-12) and np.all(high <= top + 1e-12)
    thirsty = net_recharge_mm(recharge, unmet, min(share + 0.1, 1.0))
    assert np.all(water_table_m(thirsty, time, rise, -2.0, top)[0] <= low + 1e-12)


def test_draws_stand_side_by_side() -> None:
    recharge, unmet = rainy(500, 4)
    share, time = np.array([0.0, 0.5, 1.0]), np.array([10.0, 60.0, 200.0])
    both = water_table_m(net_recharge_mm(recharge, unmet, share), time, 0.4, -1.0, 0.3)
    for i in range(3):
        one = water_table_m(net_recharge_mm(recharge, unmet, share[i]), time[i], 0.4, -1.0, 0.3)
        assert both[i] == pytest.approx(one[0], rel=1e-14)


@pytest.mark.parametrize("top", [-1.2, math.inf])
def test_a_known_water_table_is_found_again(top: float) -> None:
    recharge, unmet = rainy(2500, 5)
    true = WaterTable(-1.8, 0.5, 70.0, 0.6, top)
    net = net_recharge_mm(recharge, unmet, true.uptake_share)
    level = water_table_m(net, true.time_day, true.rise_m_d_mm, true.base_m, true.top_m)[0]
    day = np.arange(400, 2500, 7)
    seen = level[day] + np.random.default_rng(6).normal(0, 0.03, day.size)
    fit = fit_water_table(recharge, unmet, day, seen)
    assert fit.table.time_day == pytest.approx(70, rel=0.15)
    assert fit.table.rise_m_d_mm == pytest.approx(0.5, rel=0.15)
    assert fit.table.base_m == pytest.approx(-1.8, abs=0.15)
    assert fit.table.uptake_share == pytest.approx(0.6, abs=0.1)
    assert fit.table.pore_share == pytest.approx(70 / 500, rel=0.1)
    assert level.max() == -1.2 or level.max() > -0.9  # the top is one that it reaches
    assert fit.table.top_m == pytest.approx(top, abs=0.02)
    assert fit.predicted > 0.95 and fit.explained >= fit.predicted - 0.01
    assert fit.error_m == pytest.approx(0.03, abs=0.012)  # the error that was put in


def test_few_levels_find_less_and_levels_without_rain_find_nothing() -> None:
    recharge, unmet = rainy(2500, 7)
    net = net_recharge_mm(recharge, unmet, 0.5)
    level = water_table_m(net, 60.0, 0.5, -2.0)[0]
    day = np.arange(500, 2500, 90)
    fit = fit_water_table(recharge, unmet, day, level[day])
    assert fit.table.uptake_share == 0.5 and fit.table.top_m == math.inf
    assert fit.table.time_day == pytest.approx(60, rel=0.05) and fit.error_m < 0.02
    noise = np.random.default_rng(8).normal(-1.0, 0.4, 200)
    blind = fit_water_table(recharge, unmet, np.arange(500, 2500, 10), noise)
    assert not blind.tells and blind.predicted < 0.05
    # a true course that is a tenth of the variance is no course to reckon with either
    seen = np.arange(500, 2500, 10)
    faint = level[seen] + np.random.default_rng(9).normal(0.0, 3.0 * level[seen].std(), seen.size)
    poor = fit_water_table(recharge, unmet, seen, faint)
    assert not poor.tells and poor.predicted < poor.explained < 0.25
    assert fit.tells


def test_explained_share() -> None:
    seen = np.array([1.0, 2.0, 3.0, 4.0])
    assert explained_share(seen, seen) == 1
    assert explained_share(seen, np.full(4, 2.5)) == 0
    assert explained_share(seen, seen + 0.5) == pytest.approx(1 - 4 * 0.25 / 5)


def test_season_levels_are_means_of_whole_seasons() -> None:
    dates = np.arange("2001-01-01", "2004-02-01", dtype="datetime64[D]")
    index = dates.astype("datetime64[M]").astype(int)
    month, year = index % 12 + 1, index // 12
    level = np.stack([month.astype(float), -month.astype(float)]) + (year - year[0])
    high = season_levels(level, month, year, (3, 4, 5), highest=True)
    low = season_levels(level, month, year, (9, 10, 11), highest=False)
    assert high == pytest.approx([6.0, -2.0])  # 5 and -3, plus 0, 1, 2 in the three years
    assert low == pytest.approx([10.0, -10.0])
    with pytest.raises(RangeError, match="no year"):
        season_levels(level[:, :40], month[:40], year[:40], (3, 4, 5), highest=True)


def test_what_cannot_be_is_refused() -> None:
    with pytest.raises(RangeError):
        water_table_m([1.0], 0.0, 1.0, 0.0)
    with pytest.raises(RangeError):
        water_table_m([1.0], 1.0, -1.0, 0.0)
    with pytest.raises(RangeError, match="missing"):
        water_table_m([math.nan], 1.0, 1.0, 0.0)
    with pytest.raises(RangeError, match="four"):
        fit_water_table(np.ones(9), np.ones(9), np.arange(3), np.arange(3.0))
    with pytest.raises(RangeError, match="same"):
        fit_water_table(np.ones(9), np.ones(9), np.arange(9), np.ones(9))
    with pytest.raises(RangeError, match="same"):
        fit_water_table(np.ones(9), np.ones(9), np.arange(9), np.r_[np.ones(4), np.arange(5.0)])
