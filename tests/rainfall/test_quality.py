"""Every check of a record, on records small enough to see the answer."""

import numpy as np
import pytest

from riskkit.rainfall.quality import (
    Verdict,
    check_record,
    complete_years,
    mean_annual_depth_mm,
    missing_by_year,
    smallest_step_mm,
    world_envelope_mm,
)
from riskkit.records import RainRecord
from riskkit.tables import load_table


def rows_of(record):
    return {row.check: row for row in check_record(record)}


@pytest.fixture(scope="module")
def good():
    """Twelve years of hours, about 900 mm a year, on a 0.254-mm gauge."""
    rng = np.random.default_rng(4)
    n = int((np.datetime64("2012-01-01") - np.datetime64("2000-01-01")) / np.timedelta64(1, "h"))
    depth = np.where(rng.random(n) < 0.05, 0.254 * rng.geometric(0.12, n), 0.0)
    return RainRecord(depth, np.datetime64("2000-01-01"), 3600, "invented")


def changed(record, edit):
    depth = np.array(record.depth_mm)
    edit(depth)
    return RainRecord(depth, record.start, record.interval_s)


def test_a_good_record_passes_every_check(good):
    rows = check_record(good)
    assert [row.check for row in rows] == [r["check"] for r in load_table("quality_limits").rows]
    assert {row.verdict for row in rows} == {Verdict.PASS}
    for row in rows:
        assert row.limit and row.meaning and row.unit
    assert rows_of(good)["complete years"].figure == 12


def test_missing_share_by_year():
    depth = np.zeros(366 + 365)
    depth[:183] = np.nan
    years, share = missing_by_year(RainRecord(depth, np.datetime64("2000-01-01"), 86400))
    assert years.tolist() == [2000, 2001]
    assert share == pytest.approx([0.5, 0.0], abs=1e-12)


def test_a_year_begun_late_is_not_complete():
    depth = np.ones(200 + 365)
    record = RainRecord(depth, np.datetime64("2000-01-01") + np.timedelta64(166, "D"), 86400)
    assert missing_by_year(record)[1][0] == pytest.approx(166 / 366)
    assert complete_years(record).tolist() == [2001]


def test_mean_annual_depth_fills_a_year_at_its_own_rate():
    depth = np.full(365, 2.0)
    depth[:30] = np.nan
    record = RainRecord(depth, np.datetime64("2001-01-01"), 86400)
    assert mean_annual_depth_mm(record) == pytest.approx(730.0)


def test_gaps_are_counted(good):
    few = rows_of(changed(good, lambda d: d.__setitem__(slice(0, 8784), np.nan)))
    assert few["missing share"].figure == pytest.approx(8784 / good.depth_mm.size)
    assert few["missing share"].verdict is Verdict.PASS
    assert few["worst year missing"].verdict is Verdict.WARN
    assert few["complete years"].figure == 11
    many = rows_of(changed(good, lambda d: d.__setitem__(slice(0, 60000), np.nan)))
    assert many["missing share"].verdict is Verdict.FAIL
    assert many["complete years"].verdict is Verdict.WARN


def test_a_stuck_gauge(good):
    stuck = changed(good, lambda d: d.__setitem__(slice(100, 112), 1.524))
    assert rows_of(stuck)["longest run of one value"].figure == 12
    assert rows_of(stuck)["longest run of one value"].verdict is Verdict.WARN
    long = changed(good, lambda d: d.__setitem__(slice(100, 160), 1.524))
    assert rows_of(long)["longest run of one value"].verdict is Verdict.FAIL
    # single tips repeat in steady rain
    tips = changed(good, lambda d: d.__setitem__(slice(100, 160), 0.254))
    assert rows_of(tips)["longest run of one value"].verdict is Verdict.PASS


def test_a_large_value_after_a_gap(good):
    def edit(depth):
        depth[500:520] = np.nan
        depth[520] = 40.132

    row = rows_of(changed(good, edit))["large values after a gap"]
    assert (row.figure, row.verdict) == (1, Verdict.WARN)


@pytest.mark.parametrize(
    ("depth_mm", "verdict"),
    [(180, Verdict.PASS), (300, Verdict.WARN), (3000, Verdict.FAIL)],
)
def test_more_than_the_world_has_seen(good, depth_mm, verdict):
    row = rows_of(changed(good, lambda d: d.__setitem__(700, depth_mm)))
    assert row["share of the world envelope"].verdict is verdict
    assert row["share of the world envelope"].figure >= depth_mm / 425 * (1 - 1e-12)


def test_the_envelope_looks_at_sums_too(good):
    row = rows_of(changed(good, lambda d: d.__setitem__(slice(700, 724), 100.0)))
    assert row["share of the world envelope"].figure == pytest.approx(
        2400 / float(world_envelope_mm(24.0)), rel=0.01
    )


@pytest.mark.parametrize(("factor", "verdict"), [(25.4, Verdict.FAIL), (1 / 25.4, Verdict.WARN)])
def test_a_wrong_unit_shows_in_the_annual_depth(good, factor, verdict):
    wrong = RainRecord(good.depth_mm * factor, good.start, 3600)
    assert rows_of(wrong)["mean annual depth"].verdict is verdict


def test_too_short_to_tell_is_a_warning():
    row = rows_of(RainRecord(np.ones(50), np.datetime64("2001-01-01"), 3600))
    assert np.isnan(row["mean annual depth"].figure)
    assert row["mean annual depth"].verdict is Verdict.WARN
    assert row["complete years"].verdict is Verdict.FAIL


@pytest.mark.parametrize("step", [0.1, 0.2, 0.254, 0.5, 1.0, 2.54])
def test_smallest_step(step):
    depth = step * np.array([0, 1, 2, 3, 5, 7, 11, 13, 17, 19])
    assert smallest_step_mm(RainRecord(depth, np.datetime64("2001-01-01"), 3600)) == step


def test_smallest_step_of_fine_or_dry_records():
    start = np.datetime64("2001-01-01")
    assert smallest_step_mm(RainRecord(np.array([0.1234, 0.777]), start, 3600)) == 0
    assert smallest_step_mm(RainRecord(np.zeros(9), start, 3600)) == 0
    rows_of(RainRecord(np.zeros(9), start, 3600))


def test_years_in_tenths_of_an_inch(good):
    def edit(depth):
        depth[:8784] = np.ceil(depth[:8784] / 2.54) * 2.54

    row = rows_of(changed(good, edit))["years in tenths of an inch"]
    assert row.figure == pytest.approx(1 / 12)
    assert row.verdict is Verdict.WARN


def test_a_day_that_repeats_the_day_before(good):
    def edit(depth):
        depth[24:48] = 0.0
        depth[[30, 31, 35]] = [2.54, 5.08, 1.27]
        depth[48:72] = depth[24:48]

    row = rows_of(changed(good, edit))["repeated days"]
    assert (row.figure, row.verdict) == (1, Verdict.WARN)
