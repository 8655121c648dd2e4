"""Years as DataFrames: by hand from the arrays that they are made of."""

from __future__ import annotations

from functools import cache

import numpy as np
import pandas as pd
import pytest

import riskkit as rk
from riskkit.years.records import Replay
from tests.replay.made import clay, rain_of, record_of

SHOWER = np.array([10.0, 45.0, 25.0, 20.0, 15.0])


@cache
def found() -> Replay:
    rain = rain_of(record_of({9000: SHOWER, 16000: 0.7 * SHOWER, 21000: SHOWER}))
    return rk.replay(clay(), rain, rk.ReplaySettings(n_draws=16))


def test_the_call_is_a_public_name_beside_its_settings() -> None:
    assert callable(rk.replay) and isinstance(found(), rk.Replay)
    assert "2001-01 to 2003-12, 3 storms and thaws, 16 draws" in repr(found())


def test_months_are_those_of_the_draws() -> None:
    months = found().months
    assert isinstance(months.index, pd.DatetimeIndex) and months.index.tz is None
    assert months.index.name == "month" and months.index[0] == pd.Timestamp("2001-01-01")
    assert len(months) == 36 and months["storms"].sum() == 3
    pumped = np.sort(found().by_month.pumped_m3, axis=0)
    np.testing.assert_array_equal(months["pumped_low_m3"], pumped[1])  # 2nd of 16
    np.testing.assert_array_equal(months["pumped_median_m3"], pumped[7])
    np.testing.assert_array_equal(months["pumped_high_m3"], pumped[14])
    rain = found().days["rain_mm"].resample("MS").sum()
    np.testing.assert_allclose(months["rain_mm"], rain)
    np.testing.assert_allclose(
        months["wetness_share"], found().days["wetness_share"].resample("MS").mean()
    )
    assert months["wetness_share"].between(0, 1).all()


def test_days_are_those_of_the_median_home() -> None:
    days = found().days
    assert days.index.name == "day" and days.index.tz is None and len(days) == 3 * 365
    assert days.index.is_monotonic_increasing and days.index.freq is None
    np.testing.assert_array_equal(days["pumped_m3"], found().median_by_day.pumped_m3[0])
    assert (days["lot_water_mm"] >= -1e-9).all()


def test_the_water_of_the_lot_is_told_in_millimetres() -> None:
    """Of a month of steady rain, 720 mm, a part that could be measured, and all of it is gone."""
    wet = rain_of(record_of({9000: np.full(30 * 24, 1.0)}))
    lot_mm = rk.replay(clay(), wet, rk.ReplaySettings(n_draws=2)).days["lot_water_mm"]
    assert 10.0 < lot_mm.max() < 720.0
    assert lot_mm.idxmax() >= pd.Timestamp("2002-01-11") and lot_mm.iloc[-1] < 1.0


def test_storms_tell_how_likely_and_if_so_how_long() -> None:
    storms, outcomes = found().storms, found().outcomes
    assert storms.index.name == "start" and storms.index.tz is None
    assert storms["depth_mm"].tolist() == pytest.approx([115.0, 80.5, 115.0])
    assert storms["wettest_hour_mm"].tolist() == pytest.approx([45.0, 31.5, 45.0])
    assert set(storms["counted_from"]) == {"alarm"}
    for i in range(3):
        times = outcomes.worst_s[:, i]
        finite = np.sort(times[np.isfinite(times)]) / 60.0
        row = storms.iloc[i]
        assert row["worst_never_share"] == pytest.approx(1 - finite.size / 16)
        if finite.size:
            middle = finite[int(np.ceil(0.5 * finite.size)) - 1]
            assert row["worst_median_min"] == pytest.approx(middle)
        wet = outcomes.depth_m[:, i] > 0
        assert row["depth_after_12_h_share"] == pytest.approx(wet.mean())
        assert np.isnan(row["depth_after_12_h_median_m"]) == (not wet.any())
    assert np.isfinite(outcomes.worst_s).any() and np.isinf(outcomes.worst_s).any()


def test_every_column_says_its_unit() -> None:
    ends = ("_mm", "_m3", "_m3_s", "_h", "_m", "_min", "_share", "starts", "storms", "gap_near",
            "counted_from", "_low", "_median", "_high")  # fmt: skip
    for frame in (found().months, found().days, found().storms):
        left = [name for name in frame.columns if not name.endswith(ends)]
        assert left in ([], ["peak_use"])  # a share of what the pump carries
