"""A check is a doubt only where its values move the depths beyond their limits."""

from dataclasses import replace

import numpy as np
import pytest

from riskkit.errors import collect_warnings
from riskkit.rainfall.analysis import analyse_rain, weighed_checks
from riskkit.rainfall.extremes import depth_duration_frequency
from riskkit.rainfall.maxima import annual_maxima
from riskkit.rainfall.quality_rows import Check, Place, Verdict, places_of
from riskkit.rainfall.weighing import deciding_value, maxima_without
from riskkit.records import RainRecord

START = np.datetime64("1981-01-01T00", "s")


def hourly(years=30, seed=3):
    """Hours of a gauge in hundredths of an inch."""
    rng = np.random.default_rng(seed)
    days = int((np.datetime64(f"{1981 + years}-01-01") - START.astype("M8[D]")).astype(int))
    n = days * 24
    depth = np.where(rng.random(n) < 0.05, 0.254 * np.ceil(rng.exponential(9.0, n)), 0.0)
    return RainRecord(depth, START, 3600, "invented")


def changed(record, edit):
    depth = np.array(record.depth_mm)
    edit(depth)
    return replace(record, depth_mm=depth)


def at(record, time):
    return int(np.searchsorted(record.times, np.datetime64(time)))


def table_of(record):
    with collect_warnings():  # of return periods far beyond the record
        return depth_duration_frequency(record, np.random.default_rng(1))


def verdicts(record):
    return {row.check: row.verdict for row in weighed_checks(record)}


def light_rain_spread_evenly(years=6):
    """Five-minute rain of a weather service: 65 to 123 equal intervals of light rain."""
    rng = np.random.default_rng(5)
    n = years * 365 * 288
    depth, i = np.zeros(n), 0
    while i < n - 400:
        i += int(rng.exponential(900)) + 20
        even = rng.random() < 0.55
        length = int(rng.integers(65, 124)) if even else int(rng.integers(6, 60))
        rain = rng.uniform(0.004, 0.05) if even else rng.gamma(0.5, 0.6, length)
        depth[i : i + length] = np.resize(np.round(rain, 3), depth[i : i + length].shape)
        i += length
    return RainRecord(depth, np.datetime64("2010-01-01"), 300)


def test_light_rain_that_is_spread_evenly_over_hours_is_a_note_never_a_failure():
    row = next(r for r in weighed_checks(light_rain_spread_evenly())
               if r.check is Check.LONGEST_RUN)  # fmt: skip
    assert row.figure > 100 and row.verdict is Verdict.NOTE
    assert row.places[0].depth_mm < 10


def test_a_stuck_gauge_that_makes_a_maximum_fails_beside_longer_light_rain():
    record = light_rain_spread_evenly()
    begin = at(record, "2013-07-04T12:00")
    stuck = changed(record, lambda depth: depth.__setitem__(slice(begin, begin + 60), 3.0))
    row = next(r for r in weighed_checks(stuck) if r.check is Check.LONGEST_RUN)
    assert (row.figure, row.verdict) == (60, Verdict.FAIL)
    assert [str(place.begin) for place in row.places] == ["2013-07-04T12:00:00"]
    assert row.weight is not None and row.weight.reach > 1


def test_an_ordinary_record_with_a_bad_year_and_coarse_years_is_in_order():
    record = hourly()

    def edit(depth):
        depth[: at(record, "1981-06-01")] = np.nan  # 1981 does not count
        coarse = slice(at(record, "1995-01-01"), at(record, "2003-01-01"))
        depth[coarse] = np.round(depth[coarse] / 2.54) * 2.54

    found = verdicts(changed(record, edit))
    assert found[Check.WORST_YEAR] is Verdict.NOTE
    assert found[Check.TENTHS_OF_INCH] is Verdict.NOTE
    assert all(verdict.in_order for verdict in found.values())


def test_large_values_after_gaps_count_only_where_they_move_the_depths():
    record = hourly()

    def gaps(size_mm, count):
        def edit(depth):
            for year in range(1985, 1985 + count):
                place = at(record, f"{year}-08-01T10:00")
                depth[place - 9 : place], depth[place] = np.nan, size_mm

        return changed(record, edit)

    assert verdicts(gaps(12.0, 2))[Check.AFTER_GAP] is Verdict.NOTE
    assert verdicts(gaps(150.0, 2))[Check.AFTER_GAP] is Verdict.WARN
    assert verdicts(gaps(150.0, 12))[Check.AFTER_GAP] is Verdict.FAIL


def test_a_coarse_gauge_is_weighed_by_half_its_step():
    record = hourly()
    tenths = changed(record, lambda depth: np.round(depth / 2.54, out=depth))
    row = next(
        r for r in weighed_checks(replace(record, depth_mm=tenths.depth_mm * 2.54))
        if r.check is Check.SMALLEST_STEP
    )  # fmt: skip
    assert row.figure == 2.54 and row.weight is not None
    assert abs(row.weight.without_mm - row.weight.with_mm) == pytest.approx(1.27, abs=0.01)


def test_maxima_without_some_hours_are_those_of_the_record_with_them_missing():
    record = hourly(8)
    maxima = annual_maxima(record, [1, 24, 72])
    top = int(np.argmax(record.depth_mm))
    places = (
        *places_of(record, np.array([top])),
        # over New Year, and half of 1987, which then does not count
        Place(np.datetime64("1983-12-30T00", "s"), np.datetime64("1984-01-02T05", "s"), 0.0),
        Place(np.datetime64("1987-02-01", "s"), np.datetime64("1987-08-01", "s"), 0.0),
    )
    depth = np.array(record.depth_mm)
    depth[top] = np.nan
    depth[at(record, "1983-12-30") : at(record, "1984-01-02T05")] = np.nan
    depth[at(record, "1987-02-01") : at(record, "1987-08-01")] = np.nan
    direct = annual_maxima(replace(record, depth_mm=depth), [1, 24, 72])
    assert direct.year.size == 7
    assert maxima_without(record, maxima, places) == pytest.approx(direct.depth_mm, abs=1e-9)


def test_a_single_total_that_decides_the_fit_is_named_with_its_day():
    def edit(depth):
        place = at(record, "1994-09-17T14:00")
        depth[place - 60 : place - 1] = np.nan
        depth[place - 1], depth[place] = 0.0, 260.0  # one listed zero hides the gap

    record = hourly(25)
    wrong = changed(record, edit)
    assert verdicts(wrong)[Check.AFTER_GAP] is Verdict.PASS  # it slips through
    table = table_of(wrong)
    found = deciding_value(wrong, table)
    assert found is not None
    assert str(found.place.begin) == "1994-09-17T14:00:00"
    assert found.place.depth_mm == 260.0 and found.allowed_mm < 260.0
    assert found.weight.reach > 1 and found.weight.with_mm > found.weight.without_mm
    # without it the depths are those of the other years
    without, right = table_of(found.without), table_of(record)
    assert without.depth_mm == pytest.approx(right.depth_mm, rel=0.02)
    i = table.duration_h.tolist().index(found.weight.duration_h)
    j = table.return_period_yr.tolist().index(found.weight.return_period_yr)
    assert without.depth_mm[i, j] == pytest.approx(found.weight.without_mm, rel=1e-6)
    with collect_warnings():
        assert analyse_rain(wrong, np.random.default_rng(1)).deciding is not None


def test_no_value_decides_the_fit_of_ordinary_records():
    told = 0
    for seed in range(20):
        record = hourly(25, seed)
        told += deciding_value(record, table_of(record)) is not None
    assert told == 0
