"""Storms month by month: checks, seasons, gauge and file."""

from __future__ import annotations

from dataclasses import replace
from pathlib import Path

import numpy as np
import pytest

from riskkit.errors import InputError, RangeError
from riskkit.rainfall.readers.record import read_rain
from riskkit.records import RainRecord
from riskkit.records.wet_rows import wet_rows_csv
from riskkit.storm.fit import match_statistics
from riskkit.storm.moments import by_hour_and_day, month_statistics, process_statistics
from riskkit.storm.pulses import StormSeasons, fallen_mm, read_by_gauge, simulate
from riskkit.storm.synthetic import synthetic_seasons

TOWN = synthetic_seasons()


def test_storms_come_as_often_as_their_month_says() -> None:
    only_july = np.where(np.arange(12) == 6, 5.0, 0.0)
    none = np.zeros(12)
    storms = replace(
        TOWN,
        steady=replace(TOWN.steady, count=none),
        thunder=replace(TOWN.thunder, count=only_july),
    )
    record = simulate(storms, 40, 2001, np.random.default_rng(1))
    month = record.times.astype("datetime64[M]").astype(int) % 12
    rain = np.bincount(month, record.depth_mm, 12)
    assert rain[6] > 0
    assert rain[7] < 0.02 * rain[6]  # a storm of the last evening
    assert rain.sum() == pytest.approx(rain[6] + rain[7])


@pytest.mark.parametrize(
    ("change", "words"),
    [
        ({"count": np.ones(11)}, "count is not one number per month"),
        ({"cell_h": np.zeros(12)}, "cell_h is out of range"),
        ({"count": np.full(12, -1.0)}, "count is out of range"),
        ({"intensity_mm_h": np.full(12, np.nan)}, "intensity_mm_h is out of range"),
        ({"weibull_shape": 0.0}, "shape"),
        ({"storm_sigma": -0.1}, "spread"),
    ],
)
def test_storms_that_cannot_be(change: dict[str, object], words: str) -> None:
    with pytest.raises(RangeError, match=words):
        replace(TOWN.steady, **change)  # type: ignore[arg-type]  # wrong on purpose


@pytest.mark.parametrize(
    ("years", "start", "step_s", "words"),
    [(0, 2001, 3600, "0 years"), (1, 2001, 7, "fill an hour"), (1, 2001, 7200, "fill an hour"),
     (10, 9995, 3600, "beyond")],
)  # fmt: skip
def test_records_that_cannot_be(years: int, start: int, step_s: int, words: str) -> None:
    with pytest.raises(InputError, match=words):
        simulate(TOWN, years, start, np.random.default_rng(1), step_s)


def test_a_gauge_keeps_what_is_less_than_a_tip() -> None:
    fallen = np.array([0.0, 0.15, 0.35, 0.35, 1.0])
    np.testing.assert_allclose(read_by_gauge(fallen, 0.2), [0.0, 0.2, 0.0, 0.8])


def test_a_coarse_gauge_keeps_the_sum() -> None:
    fallen = fallen_mm(TOWN, 5, 2001, np.random.default_rng(3))
    for step in (0.001, 0.254, 2.54):
        assert read_by_gauge(fallen, step).sum() == pytest.approx(fallen[-1], abs=step)


def test_statistics_of_a_month_are_those_of_a_slow_loop() -> None:
    rng = np.random.default_rng(8)
    depth = np.where(rng.random(24 * 731) < 0.1, rng.exponential(2.0, 24 * 731), 0.0)
    depth[rng.random(depth.size) < 0.01] = np.nan
    record = RainRecord(depth, np.datetime64("2003-01-01"), 3600)
    found = month_statistics(record)
    month = record.times.astype("datetime64[M]").astype(int) % 12
    for i, window in enumerate((1, 6, 24)):
        sums = depth.reshape(-1, window).sum(axis=1)
        at = month[::window]
        for m in (0, 1, 6):
            mine = sums[(at == m) & ~np.isnan(sums)]
            pairs = [
                (a, b)
                for a, b, k in zip(sums[:-1], sums[1:], at[:-1], strict=True)
                if k == m and not np.isnan(a + b)
            ]
            away = np.array(pairs) - mine.mean()
            lag1 = (away[:, 0] * away[:, 1]).mean() / mine.var()
            expected = [mine.mean(), mine.std(), lag1, (mine == 0).mean()]
            np.testing.assert_allclose(found[m, i], expected, rtol=1e-9, atol=1e-12)


def test_hours_come_from_minutes_and_days_are_whole() -> None:
    minutes = np.full(12 * 30, 0.1)
    minutes[3] = np.nan
    record = RainRecord(minutes, np.datetime64("2001-01-31T20:00"), 300)
    hourly, month = by_hour_and_day(record)
    assert hourly.size == 72 and list(month) == [0, 1, 1]
    assert np.isnan(hourly[:21]).all()  # before the record, and an hour with a gap
    np.testing.assert_allclose(hourly[21:50], 1.2)
    with pytest.raises(InputError, match="24 h is not an hour"):
        by_hour_and_day(RainRecord(np.ones(9), np.datetime64("2001-01-01"), 86400))


def test_matching_finds_storms_with_the_statistics_of_others() -> None:
    other = StormSeasons(
        replace(TOWN.steady, count=1.4 * TOWN.steady.count, cell_h=0.8 * TOWN.steady.cell_h),
        replace(TOWN.thunder, intensity_mm_h=1.3 * TOWN.thunder.intensity_mm_h),
        TOWN.gauge_mm,
    )
    target = process_statistics(other)
    found = process_statistics(match_statistics(target, TOWN))
    np.testing.assert_allclose(found[..., 0], target[..., 0], rtol=0.01)
    np.testing.assert_allclose(found[..., 1], target[..., 1], rtol=0.02)
    np.testing.assert_allclose(found[..., 2:], target[..., 2:], atol=0.02)


def test_matching_keeps_storms_that_fit() -> None:
    found = match_statistics(process_statistics(TOWN), TOWN)
    np.testing.assert_allclose(found.thunder.count, TOWN.thunder.count, rtol=1e-6)
    np.testing.assert_allclose(found.steady.cell_h, TOWN.steady.cell_h, rtol=1e-6)


def test_a_written_record_reads_back(tmp_path: Path) -> None:
    record = simulate(TOWN, 2, 2003, np.random.default_rng(2))
    path = tmp_path / "made.csv"
    path.write_text(wet_rows_csv(record, ["made up", "name: a town"]), encoding="utf-8")
    back = read_rain(path)
    assert back.name == "a town"
    np.testing.assert_array_equal(back.depth_mm, record.depth_mm)
