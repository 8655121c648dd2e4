"""Replays side by side, and years against design storms."""

from __future__ import annotations

from dataclasses import fields, replace
from types import SimpleNamespace
from typing import Any

import numpy as np
import pytest

import riskkit as rk
from riskkit.errors import InputError
from riskkit.options import replays
from riskkit.options.changes import Change
from riskkit.options.replays import LIMITS_S, against_design, years_study
from riskkit.quantities.units import UnitSystem
from riskkit.report.replay_view import storm_spec
from riskkit.years.records import Replay
from riskkit.years.storms import StormOutcomes
from tests.replay.made import clay, rain_of, record_of

HEAVY = np.array([12.0, 40.0, 26.0, 20.0, 11.0])
RAIN = rain_of(record_of({9000: HEAVY, 13000: 0.6 * HEAVY, 21000: HEAVY}, every_h=40))
FEW = rk.ReplaySettings(n_draws=16)


@pytest.fixture(scope="module")
def found() -> Replay:
    return rk.replay(clay(), RAIN, FEW)


def test_a_change_is_replayed_under_the_same_draws_and_years(found: Replay) -> None:
    away = Change("downspouts", {"roof.at_wall": "0 of 6"})
    there = Change("as it stands", {"pipe.check_valve": "works"})
    told: list[float] = []
    both = rk.compare_replays(
        clay(), [away, there], RAIN, FEW, progress=lambda _, s: told.append(s)
    )
    np.testing.assert_array_equal(both.before.by_month.pumped_m3, found.by_month.pumped_m3)
    assert [c.name for c in both.changes] == ["downspouts"] and both.left_out == (there,)
    after = both.replays["downspouts"]
    assert after.record_storms == found.record_storms
    assert after.by_month.pumped_m3.sum() < found.by_month.pumped_m3.sum()
    assert told == sorted(told) and told[-1] == 1.0
    frame = both.to_frame()
    assert frame.index.tolist() == ["as it is", "downspouts"]
    a_year = np.sort(found.by_month.pumped_m3.sum(axis=1) / 3.0)
    assert frame.loc["as it is", "pumped_m3_per_year_median"] == pytest.approx(a_year[7])


def test_two_changes_of_one_name_are_refused() -> None:
    away = Change("x", {"roof.at_wall": "0 of 6"})
    with pytest.raises(InputError, match="stands twice"):
        rk.compare_replays(clay(), [away, away], RAIN, FEW)


def hit(times_s: np.ndarray) -> SimpleNamespace:
    return SimpleNamespace(to_floor_by_draw_s=times_s)


def made(found: Replay, worst_s: list[list[float]]) -> Replay:
    times = np.tile(np.array(worst_s), (4, 1))
    return replace(found, outcomes=replace(found.outcomes, worst_s=times))


def test_years_and_design_storms_are_counted_by_hand(
    found: Replay, monkeypatch: pytest.MonkeyPatch
) -> None:
    """Four kinds of draws, four of each; three storms in three years."""
    n = len(found.record_storms)
    assert n >= 3
    never = [np.inf] * (n - 3)
    kinds = [
        [600.0, 600.0, 600.0, *never],  # once a year within a quarter of an hour
        [np.inf, 3000.0, np.inf, *never],  # a third of a time a year within an hour
        [20000.0, np.inf, np.inf, *never],
        [np.inf, np.inf, np.inf, *never],
    ]
    inf = np.inf
    storms = [
        SimpleNamespace(return_period_yr=t, depth_mm=10.0 * t, worst_stop=hit(np.array(w)))
        for t, w in [
            (1.0, [600.0, inf, inf, inf]),
            (4.0, [600.0, 3000.0, inf, inf]),
            (100.0, [600.0, 600.0, 20000.0, inf]),
        ]
    ]
    asked: list[Any] = []

    def assess(home: Any, rain: Any, settings: Any) -> Any:
        asked.append(settings)
        return SimpleNamespace(storms=storms)

    monkeypatch.setattr(replays, "assess", assess)
    against = against_design(made(found, kinds), RAIN)
    assert (asked[0].n_draws, asked[0].seed) == (16, 1)  # the same draws
    quarter, hour, four, at_all = against.rows
    assert [row.within_s for row in against.rows] == list(LIMITS_S)
    assert quarter.record.mean == pytest.approx(1 / 4)
    assert hour.record.mean == pytest.approx((1 + 1 / 3) / 4) == four.record.mean
    assert at_all.record.mean == pytest.approx((1 + 2 / 3) / 4)
    # design: the second kind is hit from 4 years on, between 1 and 4: 1/2; within 15 min: 1/20
    assert quarter.design.mean == pytest.approx((1 + 1 / 20) / 4)
    assert hour.design.mean == pytest.approx((1 + 1 / 2) / 4)
    assert at_all.design.mean == pytest.approx((1 + 1 / 2 + 1 / 20) / 4)
    assert at_all.record_error[0] <= at_all.record.mean <= at_all.record_error[1]
    assert at_all.every_storm == pytest.approx((3 + 1 + 1) / 3 / 4)
    assert against.small_share == 0.0 and 0.0 <= against.wet_share <= 1.0
    assert against.thaw_share == 0.0  # it never froze


def test_more_than_once_a_year_counts_once(found: Replay, monkeypatch: pytest.MonkeyPatch) -> None:
    n = len(found.record_storms)
    tripled = {f.name: np.tile(getattr(found.outcomes, f.name), 3) for f in fields(StormOutcomes)}
    outcomes = StormOutcomes(**tripled | {"worst_s": np.full((16, 3 * n), 60.0)})
    busy = replace(found, record_storms=found.record_storms * 3, outcomes=outcomes)
    storm = SimpleNamespace(return_period_yr=1.0, depth_mm=1.0, worst_stop=hit(np.full(16, 60.0)))
    monkeypatch.setattr(replays, "assess", lambda *_: SimpleNamespace(storms=[storm]))
    row = against_design(busy, RAIN).rows[0]
    assert row.record.mean == 1.0 and row.design.mean == 1.0
    assert row.every_storm == pytest.approx(n) and not row.is_apart
    # 3 n storms in two and a half years
    less = against_design(replace(busy, month=busy.month[:-6]), RAIN).rows[0]
    assert less.every_storm == pytest.approx(3 * n / 2.5)


def test_a_notebook_shows_sentence_chart_and_tables(found: Replay) -> None:
    html = found._repr_html_()
    assert "In the storms and thaws of the 3 years" in html and "<svg" in html
    assert html.count("<table") == 3 and "Months of this home" in html
    away = Change("downspouts", {"roof.at_wall": "0 of 6"}, "Lead <all> downspouts away.")
    both = rk.compare_replays(clay(), [away], RAIN, rk.ReplaySettings(n_draws=2))
    html = both._repr_html_()
    assert "as it is" in html and "Lead &lt;all&gt; downspouts away." in html and "<svg" in html
    assert repr(both) == (
        "ReplayComparison('Split-level on clay, Alder Bend', as it is, downspouts)"
    )


def test_the_picture_of_storms_shows_each_by_rain_hour_and_wetness(found: Replay) -> None:
    spec = storm_spec(years_study(found), UnitSystem.METRIC)
    rows = spec["data"]["values"]
    assert [row["depth"] for row in rows] == pytest.approx(list(found.storms["depth_mm"]))
    assert [row["hour"] for row in rows] == pytest.approx([40.0, 24.0, 40.0])
    never = found.storms["worst_never_share"]
    assert [row["floods"] for row in rows] == pytest.approx([100 * (1 - x) for x in never])
    us = storm_spec(years_study(found), UnitSystem.US)["data"]["values"]
    assert us[0]["hour"] == pytest.approx(40.0 / 25.4)
