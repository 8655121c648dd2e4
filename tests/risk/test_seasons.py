"""Seasons fitted to a record: what is refused, what the gauge does, and how well they hold."""

from __future__ import annotations

import json
import re
from dataclasses import replace
from pathlib import Path

import numpy as np
import pytest
from rich.console import Console

from riskkit.errors import InputError
from riskkit.home.home import Home
from riskkit.quantities.units import UnitSystem
from riskkit.rainfall.events import split_storms
from riskkit.rainfall.readers.record import read_rain
from riskkit.records import RainRecord
from riskkit.report.charts import to_svg
from riskkit.report.season import (
    generated_csv,
    month_summary,
    print_seasons,
    season_form,
    season_sentence,
    written_sentence,
)
from riskkit.report.season_chart import season_chart, season_rows
from riskkit.risk.design_rain import design_rain
from riskkit.seasons.check import MonthYears, SeasonCheck, check_seasons, month_years
from riskkit.seasons.fit import (
    GaugedRecord,
    complete_months,
    fit_storms,
    generated_records,
    sight_of,
)
from riskkit.storm.fit import match_statistics
from riskkit.storm.moments import month_statistics, process_statistics
from riskkit.storm.pulses import StormSeasons, fallen_mm, read_by_gauge, simulate
from riskkit.storm.synthetic import RAIN_FILE, synthetic_seasons

YEARS = 16
TOWN = synthetic_seasons()
RECORD = replace(simulate(TOWN, YEARS, 1991, np.random.default_rng(21)), name="a town")
SIGHT = sight_of(RECORD)


@pytest.fixture(scope="module")
def fitted() -> StormSeasons:
    return fit_storms(SIGHT)


@pytest.fixture(scope="module")
def check(demo_sites: Path) -> SeasonCheck:
    """Of the record of the demo town, all forty years of it."""
    sight = sight_of(read_rain(demo_sites / RAIN_FILE))
    return check_seasons(fit_storms(sight), sight)


def of_depths(depth_mm: np.ndarray) -> RainRecord:
    return RainRecord(depth_mm, RECORD.start, 3600)


def test_records_that_cannot_tell_seasons() -> None:
    month = RECORD.times.astype("datetime64[M]").astype(int) % 12
    weekly = np.where(np.arange(RECORD.depth_mm.size) // 24 % 7 == 0, np.nan, RECORD.depth_mm)
    for record, words in (
        (of_depths(RECORD.depth_mm[: 24 * 1500]), r"February is complete in \d|in 4 of its years"),
        (of_depths(weekly), "complete in 0 of its years"),
        (of_depths(np.where(month == 6, 0.0, RECORD.depth_mm)), "0 hours of rain in July"),
        (RainRecord(np.ones(9000), RECORD.start, 86400), "24 h is not an hour"),
    ):
        with pytest.raises(InputError, match=words):
            sight_of(record)


def test_the_gauge_is_seen_year_by_year() -> None:
    fallen = fallen_mm(TOWN, 16, 1991, np.random.default_rng(2))
    half = 8 * 8766
    coarse = read_by_gauge(fallen[half:] - fallen[half], 2.54)
    mixed = of_depths(np.concatenate([read_by_gauge(fallen[: half + 1], 0.254), coarse]))
    np.testing.assert_allclose(sight_of(mixed).gauge_mm, [0.254] * 8 + [2.54] * 8)


def test_a_year_without_rain_values_does_not_make_the_gauge_finer() -> None:
    fallen = fallen_mm(TOWN, YEARS, 1991, np.random.default_rng(2))
    depth = read_by_gauge(fallen, 0.254)
    year = RECORD.times.astype("datetime64[Y]").astype(int) + 1970
    depth[year == 1995] = np.nan
    depth[year == 1996] = np.where(np.arange(np.sum(year == 1996)) == 4000, 0.1234, 0.0)
    sight = sight_of(of_depths(depth))
    np.testing.assert_allclose(sight.gauge_mm, 0.254)
    half = np.flatnonzero(year == 1999)[0]
    depth[half:] = read_by_gauge(fallen[half:] - fallen[half], 2.54)
    depth[(year == 1995) | (year == 2001)] = np.nan
    steps = sight_of(of_depths(depth)).gauge_mm
    np.testing.assert_allclose(steps, [0.254] * 8 + [2.54] * 8)  # 2001 as 2000


def test_generated_rain_is_no_finer_than_the_gauge() -> None:
    """One year of odd values among many: 29 in 100 wet hours came out below the gauge's step."""
    fallen = fallen_mm(TOWN, YEARS, 1991, np.random.default_rng(2))
    depth = read_by_gauge(fallen, 0.254)
    year = RECORD.times.astype("datetime64[Y]").astype(int) + 1970
    wet = depth > 0
    depth[(year == 1995) & wet] += 0.0931  # read in another way
    depth[year == 2003] = np.nan
    storms = fit_storms(sight_of(of_depths(depth)))
    assert storms.gauge_mm == pytest.approx(0.254)
    made = simulate(storms, 2, 2001, np.random.default_rng(1)).depth_mm
    assert made[made > 0].min() == pytest.approx(0.254)


def test_generated_records_have_the_gaps_and_steps_of_the_record() -> None:
    depth = RECORD.depth_mm.copy()
    depth[5000:5100] = np.nan
    cut = RainRecord(depth[100:-60], RECORD.start + np.timedelta64(100, "h"), 3600)
    sight = replace(sight_of(cut), gauge_mm=np.where(np.arange(YEARS) < 8, 0.5, 2.54))
    made = next(generated_records(TOWN, sight, 1, np.random.default_rng(1)))
    assert made.start == sight.record.start
    np.testing.assert_array_equal(np.isnan(made.depth_mm), np.isnan(sight.record.depth_mm))
    year = made.times.astype("datetime64[Y]").astype(int) + 1970
    for part, step in ((year < 1999, 0.5), (year >= 1999, 2.54)):
        tips = made.depth_mm[part & ~np.isnan(made.depth_mm)] / step
        np.testing.assert_allclose(tips, np.round(tips), atol=1e-3)


def test_the_storms_give_rain_like_that_of_the_record(check: SeasonCheck) -> None:
    within, of = check.statistics_within
    assert of == 144 and within >= 0.9 * of
    depths, of_depths = check.depths_within
    assert of_depths == 9 and depths == 9
    np.testing.assert_allclose(
        check.generated[:, 0, 0].sum(), check.record[:, 0, 0].sum(), rtol=0.03
    )


def test_dry_share_and_persistence_of_a_real_month_are_met() -> None:
    """July at Champaign, Illinois, 1959 to 2020, of NOAA's hourly precipitation data.

    Mean and standard deviation [mm], correlation with the next window and dry share, over 1, 6 and
    24 h.
    """
    july = np.array(
        [
            [0.1488, 1.3454, 0.2946, 0.9623],
            [0.8921, 4.404, 0.171, 0.8846],
            [3.5692, 9.9399, 0.0847, 0.7059],
        ]
    )
    found = process_statistics(match_statistics(np.tile(july, (12, 1, 1)), TOWN))[6]
    # sixty years tell the wet share to about 5 % and the correlation to 0.03
    np.testing.assert_allclose(1.0 - found[:, 3], 1.0 - july[:, 3], rtol=0.025)
    np.testing.assert_allclose(found[:, 2], july[:, 2], atol=0.035)
    np.testing.assert_allclose(found[0, 0], july[0, 0], rtol=0.02)


def test_the_storms_are_close_to_those_that_made_the_record(fitted: StormSeasons) -> None:
    found, true = process_statistics(fitted), process_statistics(TOWN)
    # sixteen years tell mean and deviation to about 5 %, and the dry share far better
    assert found[:, 0, 0].mean() == pytest.approx(true[:, 0, 0].mean(), rel=0.08)
    np.testing.assert_allclose(found[..., 3].mean(axis=0), true[..., 3].mean(axis=0), atol=0.015)
    np.testing.assert_allclose(found[..., 1].mean(axis=0), true[..., 1].mean(axis=0), rtol=0.12)


def test_a_coarse_gauge_does_not_make_the_rain_drier(fitted: StormSeasons) -> None:
    # the same rain, the second half of it seen in tenths of an inch
    fallen = fallen_mm(TOWN, YEARS, 1991, np.random.default_rng(21))
    half = 8 * 8766
    coarse = read_by_gauge(fallen[half:] - fallen[half], 2.54)
    mixed = sight_of(of_depths(np.concatenate([read_by_gauge(fallen[: half + 1], 0.2), coarse])))
    fine_wet, seen_wet = (
        1.0 - month_statistics(one.record)[:, 0, 3].mean() for one in (SIGHT, mixed)
    )
    assert seen_wet < 0.75 * fine_wet
    found = process_statistics(fit_storms(mixed))
    best = process_statistics(fitted)
    wet, best_wet = (1.0 - one[:, 0, 3].mean() for one in (found, best))
    assert wet == pytest.approx(best_wet, rel=0.06)
    np.testing.assert_allclose(found[:, 0, 1].mean(), best[:, 0, 1].mean(), rtol=0.05)


def test_the_same_record_gives_the_same_storms(fitted: StormSeasons) -> None:
    again = fit_storms(SIGHT)
    np.testing.assert_array_equal(again.thunder.count, fitted.thunder.count)
    assert again.thunder.weibull_shape == fitted.thunder.weibull_shape


def test_months_are_summed_as_by_hand() -> None:
    depth = RECORD.depth_mm.copy()
    depth[:48] = np.nan  # two days of January: too much of it
    record = of_depths(depth)
    found = month_years(record, 20.0)
    complete = complete_months(record)
    assert not complete[0, 0] and complete.sum() == 12 * YEARS - 1
    assert np.isnan(found.total_mm[0, 0])
    at = (record.times >= np.datetime64("1993-07-01")) & (record.times < np.datetime64("1993-08"))
    july = depth[at]
    assert found.total_mm[2, 6] == pytest.approx(july.sum())
    assert found.largest_day_mm[2, 6] == pytest.approx(july.reshape(31, 24).sum(axis=1).max())
    months = [s.start.astype("datetime64[M]") for s in split_storms(record) if s.depth_mm >= 20.0]
    assert found.large_storms[2, 6] == months.count(np.datetime64("1993-07"))


def test_a_summary_of_years_is_what_a_person_counts() -> None:
    years = np.arange(1.0, 12.0)[:, None] * np.ones(12)
    years[0, 3] = np.nan
    summary = month_summary(MonthYears(years, years, years))["total_mm"]
    assert summary[:, 0].tolist() == pytest.approx([6.0, 2.0, 10.0])
    assert summary[0, 3] == pytest.approx(6.5)


def test_the_sentence_comes_first_and_counts(check: SeasonCheck) -> None:
    console = Console(record=True, width=120, highlight=False)
    with console.capture() as capture:
        print_seasons(check, console, UnitSystem.US)
    text = capture.get()
    assert text.startswith("The generated seasons hold")
    assert f"{check.statistics_within[0]} of the record's 144 statistics" in text
    for words in ("January", "Jun–Aug", "dry share", "50 yr", "storms over 1.0 in"):
        assert words in text


@pytest.mark.parametrize(("off", "verdict"), [(0, "hold well"), (30, "in part"), (80, "do not")])
def test_the_verdict_follows_what_lies_within(check: SeasonCheck, off: int, verdict: str) -> None:
    record = check.generated.copy()
    record.ravel()[:off] = 1e3
    depths = replace(
        check, record=record, low=check.generated, high=check.generated,
        lower_mm=check.generated_depth_mm, upper_mm=check.generated_depth_mm,
    )  # fmt: skip
    assert verdict in season_sentence(depths)


def test_the_form_is_plain_numbers(check: SeasonCheck, fitted: StormSeasons) -> None:
    form = json.loads(json.dumps(season_form(check, fitted), allow_nan=False))
    assert form["form"] == "riskkit-season"
    assert np.shape(form["by_month"]["record"]) == (12, 3, 4)
    assert len(form["storms"]["thunder"]["count"]) == 12


def test_the_file_says_what_it_is(check: SeasonCheck, fitted: StormSeasons) -> None:
    record = simulate(fitted, 1, 2001, np.random.default_rng(1))
    text = generated_csv(record, fitted, check, "odd\nname.csv", 7)
    head = [line for line in text.splitlines() if line.startswith("#")]
    assert "not measured; seed 7" in head[0]
    assert "# name: generated from odd?name.csv" in head
    assert season_sentence(check) in text
    assert "This file is too short to tell its largest rains." in text
    assert sum("thunder" in line for line in head) == 13


def test_the_sentence_names_the_bias_and_what_the_years_can_tell(check: SeasonCheck) -> None:
    depth = check.record_depth_mm
    few = replace(check, years=12, generated_depth_mm=1.12 * depth, lower_mm=0.8 * depth,
                  upper_mm=1.4 * depth)  # fmt: skip
    assert season_sentence(few).endswith(
        "In the middle they are 12 % above those of the record, and 12 years of record tell these "
        "only to within 20 % less and 40 % more."
    )
    assert "are 12 % below those" in season_sentence(replace(few, generated_depth_mm=0.88 * depth))
    assert "are as large as those" in season_sentence(replace(few, generated_depth_mm=depth))


def test_levels_beside_a_generated_record_are_refused(
    check: SeasonCheck, fitted: StormSeasons, tmp_path: Path
) -> None:
    made = simulate(fitted, 12, 2001, np.random.default_rng(1))
    path = tmp_path / "made.csv"
    path.write_text(generated_csv(made, fitted, check, "here.csv", 1), encoding="utf-8")
    assert read_rain(path).is_generated
    assert "This rain is generated, not measured." in read_rain(path).notes
    (tmp_path / "well.csv").write_text("date,below_floor_m\n2004-03-01,1\n", encoding="utf-8")
    home = Home().changed(rain__record="made.csv")
    assert design_rain(home, tmp_path).levels is None
    with pytest.raises(InputError, match=r"measured on days of the past.*leave the levels out"):
        design_rain(home.changed(ground__water_levels="well.csv"), tmp_path)


def test_a_file_is_compared_with_the_limits_itself(
    check: SeasonCheck, fitted: StormSeasons
) -> None:
    """The sentence on all copies says nothing of one file, which is a chance of its own."""
    made = simulate(fitted, 40, 2001, np.random.default_rng(1))
    said = written_sentence(check, made)
    assert said in generated_csv(made, fitted, check, "here.csv", 1).replace("\n# ", " ")
    assert re.search(r"itself \d of 9 largest rains", said)
    flood = replace(made, depth_mm=5.0 * made.depth_mm)
    assert "itself 0 of 9 largest rains" in written_sentence(check, flood)


def test_the_chart_shows_record_and_generated_years(check: SeasonCheck) -> None:
    rows = season_rows(check, UnitSystem.US, "total_mm")
    assert rows[0]["month"] == "Jan" and len(rows) == 12
    assert rows[6]["record"] == pytest.approx(np.nanmean(check.record_months.total_mm[:, 6]) / 25.4)
    assert rows[6]["low"] < rows[6]["generated"] < rows[6]["high"]
    svg = to_svg(season_chart(check, UnitSystem.METRIC))
    assert "rain [mm]" in svg and "mean of the record" in svg and "Dec" in svg


def test_a_sight_knows_its_years() -> None:
    assert isinstance(SIGHT, GaugedRecord) and SIGHT.first_year == 1991
    np.testing.assert_allclose(np.diff(SIGHT.year_start_h)[:2], [8760, 8784])
