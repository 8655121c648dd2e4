"""Every check of a record, on records small enough to see the answer."""

import numpy as np
import pytest

from riskkit.errors import RangeError
from riskkit.quantities.units import UnitSystem
from riskkit.rainfall.doubts import meaning_words, place_words, quality_words
from riskkit.rainfall.envelope import world_envelope_mm
from riskkit.rainfall.homogeneity import double_mass
from riskkit.rainfall.quality import (
    check_record,
    complete_years,
    mean_annual_depth_mm,
    missing_by_year,
    smallest_step_mm,
)
from riskkit.rainfall.quality_rows import ComparisonData, Verdict
from riskkit.rainfall.readers.snowfall import SnowRatio, snow_ratio
from riskkit.records import RainRecord
from riskkit.tables import load_table


def rows_of(record):
    return {row.check.value: row for row in check_record(record)}


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
    mass = double_mass(good, RainRecord(good.depth_mm * 1.1, good.start, 3600))
    rows = check_record(good, ComparisonData(SnowRatio(12.0, 200, "SNOW"), mass, 1.05))
    assert [row.check.value for row in rows] == [
        r["check"] for r in load_table("quality_limits").rows
    ]
    assert len(check_record(good)) == len(rows) - 4  # what there is nothing to hold against
    assert {row.verdict for row in rows} == {Verdict.PASS}
    for row in rows:
        assert all(quality_words(row, UnitSystem.US)) and meaning_words(row, UnitSystem.US)
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


def test_what_is_found_is_told_with_its_place(good):
    """Hours counted from 2000-01-01 00:00; 2000 has 8784 of them, 2001 and 2002 have 8760."""

    def edit(depth):
        depth[100:160] = 1.524  # four days and four hours after midnight of the first of January
        for total in (9000, 18000):  # in 2001 and 2002, each after a gap
            depth[total - 10 : total] = np.nan
            depth[total] = 40.132
        depth[30000:34000] = np.nan  # hours 3696 to 7696 of 2003
        depth[34000] = 0.0
        depth[50000] = 500.0  # hour 6152 of 2005: 256 days and 8 hours, the fourteenth of September

    rows = rows_of(changed(good, edit))
    where = {name: place_words(row.places, UnitSystem.METRIC) for name, row in rows.items()}
    assert where["longest run of one value"] == "2000-01-05 04:00 (91 mm)"
    assert where["large values after a gap"] == "2001-01-10 00:00 (40 mm), 2002-01-20 00:00 (40 mm)"
    assert where["worst year missing"] == "in 2003"
    assert where["share of the world envelope"] == "2005-09-14 08:00 (500 mm)"
    assert where["mean annual depth"] == ""
    run = meaning_words(rows["longest run of one value"], UnitSystem.US)
    assert run.endswith("; 2000-01-05 04:00 (3.6 in)")
    good_rows = rows_of(good)
    assert "20" not in meaning_words(good_rows["share of the world envelope"], UnitSystem.US)
    assert good_rows["large values after a gap"].places == ()
    assert good_rows["worst year missing"].places == ()


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


@pytest.mark.parametrize("hours", [0.0, 0.0166, 48.1, -1.0, np.nan, [1.0, 72.0]])
def test_the_envelope_is_not_carried_beyond_its_range(hours):
    with pytest.raises(RangeError, match=r"world envelope: a duration of .* is beyond it"):
        world_envelope_mm(hours)


def test_the_envelope_holds_at_the_ends_of_its_range():
    # the curve of Jennings, 425 mm at one hour, at 1 min and at 48 h by a table of logarithms
    ends = world_envelope_mm(np.array([60 / 3600, 48.0]))
    assert ends == pytest.approx([62.0, 2621.5], rel=1e-3)


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
    assert row["complete years"].verdict is Verdict.WARN  # short is not wrong


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


@pytest.mark.parametrize("begin", [0, 5, 12, 23])
def test_a_day_that_repeats_the_day_before(good, begin):
    def edit(depth):
        depth[: 4 * 24] = 0.0
        day = np.zeros(24)
        day[[0, 6, 23]] = [2.54, 5.08, 1.27]
        depth[24 + begin : 72 + begin] = np.tile(day, 2)  # from midnight, or across two of them

    row = rows_of(changed(good, edit))["repeated days"]
    assert (row.figure, row.verdict) == (1, Verdict.WARN)


def test_repeated_days_are_counted_once_each_and_dry_or_missing_ones_not_at_all():
    depth = np.zeros(24 * 30)
    depth[24:] = np.tile(np.r_[np.zeros(10), 1.0, 2.0, 0.5, np.zeros(11)], 29)
    start = np.datetime64("2001-01-01")
    assert rows_of(RainRecord(depth, start, 3600))["repeated days"].figure == 28
    depth[24 * 10 + 10] = np.nan  # neither this day equals the one before nor the next this one
    assert rows_of(RainRecord(depth, start, 3600))["repeated days"].figure == 26
    two = RainRecord(np.where(depth > 0.7, depth, 0.0), start, 3600)  # two wet hours are chance
    assert rows_of(two)["repeated days"].figure == 0


def test_a_gauge_stuck_across_midnight(good):
    def edit(depth):
        depth[24 * 100 + 18 : 24 * 101 + 8] = 7.62  # fourteen hours, none of the days has twelve

    row = rows_of(changed(good, edit))["longest run of one value"]
    assert (row.figure, row.verdict) == (14, Verdict.WARN)


def test_a_gauge_that_was_moved(good):
    depth = np.tile(good.depth_mm, 2)
    depth[good.depth_mm.size :] *= 0.5
    rows = rows_of(RainRecord(depth, good.start, 3600))
    row = rows["step in yearly totals"]
    assert (row.verdict, rows["step in largest days"].verdict) == (Verdict.WARN, Verdict.WARN)
    assert "; 50 % less after 2011; in " in meaning_words(row, UnitSystem.US)
    assert row.figure < 0.01


def test_a_neighbour_in_another_unit(good):
    wrong = RainRecord(good.depth_mm / 25.4, good.start, 3600)
    rows = {
        r.check.value: r for r in check_record(wrong, ComparisonData(mass=double_mass(wrong, good)))
    }
    assert rows["rain over the neighbour"].verdict is Verdict.WARN
    assert rows["rain over the neighbour"].figure == pytest.approx(1 / 25.4)


@pytest.mark.parametrize(
    ("over", "verdict"), [(1.2, Verdict.PASS), (0.5, Verdict.WARN), (25.4, Verdict.FAIL)]
)
def test_depths_far_from_the_official_ones(good, over, verdict):
    row = {r.check.value: r for r in check_record(good, ComparisonData(over_official=over))}
    assert row["own over official depths"].verdict is verdict


# --- snow and rain of one file -------------------------------------------------------------------


def daily_file(path, *, unit, snow_factor=1.0, column="SNOW", days=60):
    """Freezing days with 5 mm of water and 12 times as much snow, and warm days between."""
    depth, degrees = {
        "in": (1 / 25.4, lambda c: c * 1.8 + 32),
        "mm": (1.0, lambda c: c),
        "0.1 mm": (10.0, lambda c: c * 10),
    }[unit]
    snow_size = 1.0 if unit == "0.1 mm" else depth
    on_ground, lines = 0.0, [f"DATE,PRCP,{column},TMAX"]
    for i in range(2 * days):
        cold = i % 2 == 0
        new = 60.0 * snow_factor if cold else 0.0
        on_ground = on_ground + new if cold else 0.0
        snow = (on_ground if column == "SNWD" else new) * snow_size
        day = np.datetime64("2001-01-01") + i
        lines.append(f"{day},{5 * depth:.4f},{snow:.4f},{degrees(-5.0 if cold else 25.0):.1f}")
    path.write_text("\n".join(lines) + "\n")
    return path


@pytest.mark.parametrize("unit", ["in", "mm", "0.1 mm"])
@pytest.mark.parametrize("column", ["SNOW", "SNWD"])
def test_snow_over_its_water_in_any_unit(tmp_path, unit, column):
    found = snow_ratio(daily_file(tmp_path / "a.csv", unit=unit, column=column), unit)
    assert found is not None
    assert found.ratio == pytest.approx(12.0, rel=0.001)
    assert found.column == column
    assert found.days == (60 if column == "SNOW" else 59)  # the first day has none before it


@pytest.mark.parametrize(("factor", "words"), [(0.1, "ten times too small"), (10, "too large or")])
def test_snow_in_a_wrong_unit_is_noticed(good, tmp_path, factor, words):
    path = daily_file(tmp_path / "a.csv", unit="in", snow_factor=factor)
    rows = {
        r.check.value: r for r in check_record(good, ComparisonData(snow=snow_ratio(path, "in")))
    }
    row = rows["snow over its water"]
    assert row.verdict is Verdict.WARN
    said = meaning_words(row, UnitSystem.US)
    assert words in said and "60 days of SNOW" in said


def test_snow_is_looked_at_only_where_there_is_some(tmp_path):
    few = daily_file(tmp_path / "few.csv", unit="in", days=9)
    assert snow_ratio(few, "in") is None
    plain = tmp_path / "plain.csv"
    plain.write_text("time,depth_mm\n2001-01-01,1\n")
    assert snow_ratio(plain) is None
    assert snow_ratio(tmp_path / "stored.parquet") is None
    said = tmp_path / "said.csv"
    said.write_text("# unit: in\n" + daily_file(few, unit="in").read_text())
    found = snow_ratio(said)
    assert found is not None and found.ratio == pytest.approx(12.0, rel=0.001)
