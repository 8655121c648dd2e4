"""Depths shorter than the shortest known: one rule for a record and for an official table."""

from __future__ import annotations

from dataclasses import replace
from pathlib import Path

import numpy as np
import pytest
from numpy.typing import NDArray

from riskkit.assessment import Settings, assess
from riskkit.errors import RangeError
from riskkit.home.home import load_home
from riskkit.rainfall.extremes import with_short_durations
from riskkit.rainfall.minutes import (
    MINUTES,
    hour_tables,
    minute_ratios,
    printed_fit,
    ratios_of,
)
from riskkit.rainfall.ratios import RatioSet, short_depths
from riskkit.records import DepthDurationFrequency, FloatArray, Series

PERIODS = np.array([1.0, 2.0, 5.0, 10.0, 25.0, 50.0, 100.0])
HOURS = np.array([1 / 12, 1 / 6, 0.25, 0.5, 1.0, 2.0, 3.0, 6.0, 12.0, 24.0, 48.0, 72.0])
# NOAA Atlas 14 volume 2 version 3, 40.0962 N 88.2574 W (Champaign, Illinois), partial duration,
# printed; not among the tables that the ratios come from
CHAMPAIGN_IN = np.array([
    [0.409, 0.485, 0.575, 0.647, 0.740, 0.812, 0.884],
    [0.635, 0.757, 0.893, 0.999, 1.13, 1.23, 1.33],
    [0.779, 0.926, 1.10, 1.23, 1.40, 1.52, 1.65],
    [1.03, 1.24, 1.50, 1.71, 1.98, 2.18, 2.39],
    [1.26, 1.52, 1.88, 2.17, 2.56, 2.87, 3.19],
    [1.50, 1.81, 2.23, 2.57, 3.08, 3.52, 4.02],
    [1.61, 1.94, 2.39, 2.76, 3.33, 3.83, 4.40],
    [1.90, 2.28, 2.80, 3.25, 3.91, 4.50, 5.16],
    [2.22, 2.67, 3.25, 3.75, 4.49, 5.14, 5.87],
    [2.57, 3.07, 3.73, 4.31, 5.19, 5.98, 6.88],
    [2.99, 3.55, 4.29, 4.92, 5.88, 6.74, 7.71],
    [3.20, 3.81, 4.57, 5.22, 6.19, 7.05, 8.01],
])  # fmt: skip
HALF_90 = 1.645


def champaign(from_h: float = 0.0, limit: float | None = None) -> DepthDurationFrequency:
    """The table from a duration on, with limits of some per cent or without."""
    rows = from_h - 1e-9 < HOURS
    depth = 25.4 * CHAMPAIGN_IN[rows]
    return DepthDurationFrequency(
        HOURS[rows], PERIODS, depth, Series.PARTIAL_DURATION,
        lower_mm=None if limit is None else depth / (1 + limit),
        upper_mm=None if limit is None else depth * (1 + limit),
    )  # fmt: skip


@pytest.mark.parametrize("from_h", [1 / 6, 0.25, 0.5, 1.0])
def test_a_table_without_its_minutes_gets_them_back_within_the_stated_spread(
    from_h: float,
) -> None:
    full, found = champaign(), with_short_durations(champaign(from_h))
    assert found.duration_h == pytest.approx(HOURS)
    assert found.ratio_log_sd is not None
    short = from_h - 1e-9 > HOURS
    off = np.abs(np.log(found.depth_mm / full.depth_mm)).max(axis=1)
    assert np.all(off[short] < HALF_90 * found.ratio_log_sd[short])
    assert np.all(off[~short] == 0) and np.all(found.ratio_log_sd[~short] == 0)
    # the nearer the duration that is known, the surer
    assert np.all(np.diff(found.ratio_log_sd[from_h - 1e-9 > HOURS]) < 0.015)


def test_hours_of_a_daily_table_come_back_within_the_stated_spread() -> None:
    full, found = champaign(), with_short_durations(champaign(24.0))
    assert found.ratio_log_sd is not None
    off = np.abs(np.log(found.depth_mm / full.depth_mm)).max(axis=1)
    assert np.all(off <= HALF_90 * found.ratio_log_sd + 1e-12)
    assert np.all(found.ratio_log_sd[:9] > 0)


def test_each_printed_table_is_told_by_the_others_better_than_by_one_constant() -> None:
    """Nine cells in ten within the stated limits; constants as in an older atlas do worse."""
    constant = np.log([0.29, 0.45, 0.57, 0.79])
    inside, cells, by_fit, by_constant = 0, 0, [], []
    minutes = np.array(MINUTES)
    sd = minute_ratios(minutes[:4], 60.0, 30.0, PERIODS).log_sd
    for table in hour_tables():
        others = printed_fit([other for other in hour_tables() if other is not table])
        said = np.log(ratios_of(others, minutes, table.hour_mm, table.period_yr))
        off = (table.log_ratio - said)[:4]
        known = np.isfinite(off)
        inside += int((np.abs(off) < HALF_90 * sd[:, None])[known].sum())
        cells += int(known.sum())
        by_fit.append(np.mean(off[[0, 2]] ** 2))
        by_constant.append(np.mean((table.log_ratio[[0, 2]] - constant[[0, 2], None]) ** 2))
    assert cells == 276
    assert 0.82 < inside / cells < 0.95
    assert np.sqrt(np.mean(by_fit)) < 0.85 * np.sqrt(np.mean(by_constant))


def test_ratios_fall_with_the_depth_of_the_hour_and_with_rarity() -> None:
    gentle, sharp = (
        minute_ratios(np.array([5.0, 15.0]), 60.0, mm, PERIODS).ratio for mm in (10.0, 55.0)
    )
    assert np.all(gentle > 1.02 * sharp)
    assert gentle[0, 3] > 1.2 * sharp[0, 3]
    assert np.all(np.diff(gentle, axis=1) < 0)
    for hour_mm in (9.0, 20.0, 40.0, 60.0):
        ratio = minute_ratios(np.array([5.0, 10.0, 15.0, 30.0]), 60.0, hour_mm, PERIODS).ratio
        assert np.all(np.diff(ratio, axis=0) > 0) and np.all(ratio < 1)


def test_the_fit_by_hand() -> None:
    """Two tables of two return periods on an exact plane give the plane back."""
    made = []
    for hour_mm in (10.0, 40.0):
        period = np.array([2.0, 10.0, 100.0])
        five = -0.7 - 0.15 * np.log(hour_mm) - 0.01 * np.log(period / 10)
        rows = np.stack([five, five / 2, -0.4 + 0 * five, five / 5, 0 * five])
        made.append(hour_tables()[0]._replace(period_yr=period, hour_mm=hour_mm, log_ratio=rows))
    fit = printed_fit(made)
    assert fit.of_5 == pytest.approx([-0.7, -0.15, -0.01])
    assert fit.of_15 == pytest.approx([-0.4, 0.0, 0.0], abs=1e-12)
    found = ratios_of(fit, np.array(MINUTES), 20.0, np.array([10.0]))[:, 0]
    five, fifteen = np.exp(-0.7 - 0.15 * np.log(20.0)), np.exp(-0.4)
    assert found == pytest.approx(
        [five, 0.59 * fifteen + 0.41 * five, fifteen, 0.49 + 0.51 * fifteen, 1.0]
    )


@pytest.mark.parametrize(("hour_mm", "is_beyond"), [(3.0, True), (30.0, False), (120.0, True)])
def test_an_hour_beyond_the_printed_tables_is_said(hour_mm: float, is_beyond: bool) -> None:
    assert minute_ratios(np.array([5.0]), 60.0, hour_mm, PERIODS).is_beyond == is_beyond
    table = champaign(1.0)
    scaled = replace(table, depth_mm=table.depth_mm * hour_mm / (25.4 * 1.52))
    note = with_short_durations(scaled).notes[-1]
    assert ("less or more here than in any of them" in note) == is_beyond


def test_the_spread_of_ratios_joins_the_limits() -> None:
    found = with_short_durations(champaign(1.0, limit=0.2))
    assert found.lower_mm is not None and found.upper_mm is not None
    assert found.ratio_log_sd is not None
    for row in range(4):
        wide = np.hypot(np.log(1.2), HALF_90 * found.ratio_log_sd[row])
        np.testing.assert_allclose(
            np.log(found.upper_mm[row] / found.depth_mm[row]), wide, rtol=1e-4
        )
        np.testing.assert_allclose(
            np.log(found.depth_mm[row] / found.lower_mm[row]), wide, rtol=1e-4
        )


def test_what_was_added_is_said_with_its_spread() -> None:
    note = with_short_durations(champaign(1.0)).notes[-1]
    assert "5 min, 10 min, 15 min, 30 min are those of 1 h times published ratios" in note
    assert "right to 17 % at 15 min" in note
    assert "the table does not print them" in note
    daily = with_short_durations(champaign(24.0)).notes[-1]
    assert "four rain regions" in daily


def test_a_table_with_its_minutes_stays_as_it_is() -> None:
    full = champaign()
    assert with_short_durations(full) is full


def test_what_no_published_ratio_reaches_is_refused() -> None:
    rows = HOURS > 40.0
    with pytest.raises(RangeError, match="none of the durations that are known"):
        short_depths(np.array([1 / 12]), *own_after(rows))
    rows = (HOURS > 0.2) & (HOURS < 0.6)
    with pytest.raises(RangeError, match=r"ends at 0\.5 h, before one hour"):
        short_depths(np.array([1 / 12]), *own_after(rows))


def own_after(rows: NDArray[np.bool_]) -> tuple[FloatArray, FloatArray, FloatArray]:
    return HOURS[rows], PERIODS, 25.4 * CHAMPAIGN_IN[rows]


def test_the_region_counts_for_hours_of_a_daily_table_only() -> None:
    hours, periods, depth = own_after(HOURS >= 24.0)
    short = np.array([0.25, 1.0, 6.0])
    a, d = (
        short_depths(short, hours, periods, depth, r)
        for r in (RatioSet.REGION_A, RatioSet.REGION_D)
    )
    assert a.ratio[1] == pytest.approx(0.502) and d.ratio[1] == pytest.approx(0.366)
    assert np.all(a.depth_mm[0] > d.depth_mm[0])
    hours, periods, depth = own_after(HOURS >= 1.0)
    a, d = (
        short_depths(short[:1], hours, periods, depth, r)
        for r in (RatioSet.REGION_A, RatioSet.REGION_D)
    )
    np.testing.assert_array_equal(a.depth_mm, d.depth_mm)


@pytest.mark.parametrize("name", ["split_level_on_clay", "row_house_near_creek", "home_just_met"])
def test_an_answer_does_not_hang_on_the_minutes_that_a_table_prints(
    demo_sites: Path, name: str
) -> None:
    """Spread evenly over its hour, rain brought half the peak and twice the time."""
    home = load_home(demo_sites / f"{name}.toml")
    settings = Settings((2.0, 10.0, 100.0), n_draws=256)
    with_rows = assess(home, champaign(), settings).storms
    without = assess(home, champaign(1.0), settings)
    spread = np.exp(HALF_90 * 0.094)  # of the ratios
    for one, other in zip(with_rows, without.storms, strict=True):
        for point in ("low", "median", "high"):
            peak, than = (getattr(s.pump_working.peak_inflow_m3_s, point) for s in (other, one))
            # a trickle that hangs on whether ponded water spills differs by little of a usual peak
            slight = abs(peak - than) < 0.02 * one.pump_working.peak_inflow_m3_s.median
            assert slight or 1 / spread < peak / than < spread
        # of a few minutes one is slight: the stops that are looked at lie apart
        least, than = other.worst_stop.to_floor_s.low, one.worst_stop.to_floor_s.low
        assert abs(least - than) < 60.0 or 1 / spread < least / than < spread
        assert (
            abs(other.worst_stop.to_floor_s.never_share - one.worst_stop.to_floor_s.never_share)
            < 0.02
        )
    assert any("times published ratios" in note for note in without.warnings)
    assert not any("spread evenly" in note for note in without.warnings)
