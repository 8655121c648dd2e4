"""When a dead pump means water: months and weeks by hand."""

from __future__ import annotations

from dataclasses import replace

import numpy as np
import pytest

from riskkit.options.replays import years_study
from riskkit.quantities.units import UnitSystem
from riskkit.report.replay_rows import replay_tables
from riskkit.years.calendar import followed_soon, month_risk, visit_season
from riskkit.years.records import Replay, ReplaySettings
from riskkit.years.run import replay
from tests.replay.made import clay, rain_of, record_of

HEAVY = np.array([12.0, 40.0, 26.0, 20.0])


@pytest.fixture(scope="module")
def two_years() -> Replay:
    """Storms at the beginning of February 2001 and of May of both years."""
    hours = [31 * 24 + 10, 121 * 24, 8760 + 121 * 24]
    rain = rain_of(record_of(dict.fromkeys(hours, HEAVY), years=2.0))
    return replay(clay(), rain, ReplaySettings(4))


def flooding(found: Replay, dead: list[list[float]]) -> Replay:
    """The same years, with told times to the floor of a dead pump."""
    times = np.array(dead)
    never = np.full(times.shape, np.inf)
    return replace(
        found, outcomes=replace(found.outcomes, dead_alarm_to_floor_s=times, worst_s=never)
    )


def test_months_count_storms_by_the_year(two_years: Replay) -> None:
    inf = np.inf
    found = flooding(two_years, [[1, 1, 1], [inf, 1, 1], [inf, inf, 1], [inf, inf, inf]])
    risk = month_risk(found)
    assert risk.dead_floods[:, 1].tolist() == [0.5, 0.0, 0.0, 0.0]
    assert risk.dead_floods[:, 4].tolist() == [1.0, 1.0, 0.5, 0.0]
    assert risk.dead_floods.sum() == 3.0
    frame = two_years.months
    may = frame.loc[frame.index.month == 5]
    assert risk.water_mm[4] == pytest.approx(may["rain_mm"].mean())
    np.testing.assert_allclose(
        risk.pumped_m3[:, 4], two_years.by_month.pumped_m3[:, [4, 16]].mean(axis=1)
    )


def test_months_tell_wetness_and_water_of_the_lot_as_means_of_their_days(two_years: Replay) -> None:
    days = two_years.day.size
    april = two_years.day.astype("datetime64[M]").astype(int) % 12 == 3
    told = replace(
        two_years, wetness=np.where(april, 0.75, 0.5), lot_mm=np.where(april, 30.0, 10.0),
        rain_mm=np.ones(days), melt_mm=np.zeros(days),
    )  # fmt: skip
    risk = month_risk(told)
    assert risk.wetness.tolist() == [0.5] * 3 + [0.75] + [0.5] * 8
    assert risk.lot_mm.tolist() == [10.0] * 3 + [30.0] + [10.0] * 8
    assert risk.water_mm[3] == 30.0  # a millimetre a day


def test_a_stop_in_the_storm_counts_too(two_years: Replay) -> None:
    none = flooding(two_years, [[np.inf] * 3] * 4)
    assert visit_season(none) is None and month_risk(none).dead_floods.sum() == 0
    worst = np.full((4, 3), np.inf)
    worst[:, 0] = 600.0
    stopped = replace(none, outcomes=replace(none.outcomes, worst_s=worst))
    assert month_risk(stopped).dead_floods[:, 1].tolist() == [0.5] * 4


def test_the_season_is_the_shortest_that_holds_half(two_years: Replay) -> None:
    """Two of three storms in the week of 1 May, the 18th: a season of one week."""
    season = visit_season(flooding(two_years, [[1.0] * 3] * 4))
    assert season is not None
    assert (season.first_week, season.weeks) == (18, 1)
    assert season.share == pytest.approx(2 / 3) and season.expected == pytest.approx(1 / 52)
    assert season.first_day == (4, 30) and season.stands_out
    # half of what floods is in February, half of it in May: the first of both
    early = visit_season(flooding(two_years, [[1.0, 1.0, np.inf]] * 4))
    assert early is not None and (early.first_week, early.weeks) == (5, 1)


def test_a_season_may_go_over_the_turn_of_the_year() -> None:
    hours = [8, 8760 - 60, 8760 + 400, 8760 + 4000]
    found = replay(
        clay(), rain_of(record_of(dict.fromkeys(hours, HEAVY), years=2.0)), ReplaySettings(4)
    )
    n = len(found.record_storms)
    start = [str(s.start)[:10] for s in found.record_storms]
    times = np.where([s >= "2001-12" and s < "2002-02" for s in start], 1.0, np.inf)
    season = visit_season(flooding(found, [times.tolist()] * 4))
    assert n >= 3 and season is not None
    assert season.first_week == 52 or season.weeks == 1


def test_storms_that_another_follows_are_told(two_years: Replay) -> None:
    """The wettest hours of the first two are set 47 h apart, those of the others more."""
    first, second, third = two_years.record_storms
    near = (first, replace(second, peak=first.peak + 47), third)
    found = replace(flooding(two_years, [[1.0] * 3] * 4), record_storms=near)
    assert followed_soon(found).tolist() == [True, False, False]
    assert not followed_soon(two_years).any()
    at_48 = (first, replace(second, peak=first.peak + 48), third)
    assert not followed_soon(replace(found, record_storms=at_48)).any()
    months, storms, _ = replay_tables(years_study(found), UnitSystem.METRIC)
    # one of three, and all of them flood in all draws
    assert months.notes[1].startswith("33 % of them are storms that another one follows")
    assert sorted(row[0] for row in storms.rows) == ["2001-02-01 +", "2001-05-02", "2002-05-02"]
    assert any(note.startswith("+: another storm follows") for note in storms.notes)
    months, storms, _ = replay_tables(years_study(two_years), UnitSystem.METRIC)
    assert len(months.notes) == 1 and not any(note.startswith("+") for note in storms.notes)


def test_what_seldom_occurs_is_told_by_its_mean_and_in_how_many_variants(two_years: Replay) -> None:
    """Two storms in two years flood one variant of four: 1 a year there, 0.25 in the mean."""
    floods = np.array([[1, 1, 0], [0, 0, 0], [0, 0, 0], [0, 0, 0]], dtype=bool)
    alarms = np.zeros_like(floods)
    found = replace(two_years, outcomes=replace(two_years.outcomes, floods=floods, alarms=alarms))
    told = dict(replay_tables(years_study(found), UnitSystem.METRIC)[2].rows)
    of = "storms in which {} with the pump working, mean"
    wet = told[of.format("water reaches the floor")]
    assert wet.startswith("0.25 (0–") and wet.endswith("; occurs in 25 % of variants")
    assert told[of.format("the alarm sounds")] == "0"
    every = replace(found, outcomes=replace(found.outcomes, alarms=~alarms))
    rows = dict(replay_tables(years_study(every), UnitSystem.METRIC)[2].rows)
    assert rows[of.format("the alarm sounds")] == "1.5"  # three storms in two years
