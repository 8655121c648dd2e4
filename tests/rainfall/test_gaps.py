"""Totals after gaps: one rule for every reader, and what was set to missing is listed."""

from dataclasses import replace

import numpy as np
import pytest

from riskkit.errors import InputError
from riskkit.rainfall.gaps import after_gaps, holds_totals, large_after_gaps
from riskkit.rainfall.quality import check_record
from riskkit.rainfall.quality_rows import Check, Verdict
from riskkit.rainfall.readers.plain import write_rain
from riskkit.rainfall.readers.record import read_rain
from riskkit.rainfall.readers.stored import read_stored, write_stored
from riskkit.records import RainRecord
from riskkit.records.removed import Removed, Why

HOURS_A_YEAR = 8760


def hundredths(years=12, totals=40, *, large=True):
    """Hours of a gauge in hundredths of an inch; gaps, each ended by a total or by usual rain."""
    rng = np.random.default_rng(8)
    n = years * HOURS_A_YEAR
    depth = np.where(rng.random(n) < 0.06, rng.geometric(0.1, n), 0).astype(float)
    for at in np.linspace(200, n - 300, totals).astype(int):
        depth[at : at + 30] = np.nan
        depth[at + 30] = 150.0 if large else rng.geometric(0.1)
        depth[at + 31] = 60.0  # a large hour of its own, the second after the gap
    return depth


def agency_file(path, values):
    """Write the hours in the format of the archive."""
    head = ",".join(["STATION", "DATE", *(f"HR{hour:02d}Val" for hour in range(24))])
    rows = [
        ",".join(["XX1", str(np.datetime64("2001-01-01") + i), *(_cell(v) for v in day)])
        for i, day in enumerate(values.reshape(-1, 24))
    ]
    path.write_text("\n".join([head, *rows, ""]))
    return path


def _cell(value):
    return "-9999" if np.isnan(value) else f"{value:.0f}"


def plain_file(path, values, *comments):
    """Write the same hours as a plain table, gaps as empty cells."""
    times = np.datetime64("2001-01-01T00:00") + 60 * np.arange(values.size)
    rows = [
        f"{time},{'' if np.isnan(value) else f'{value / 100:.2f}'}"
        for time, value in zip(times, values, strict=True)
    ]
    path.write_text("\n".join([*comments, "time,rain_in", *rows, ""]))
    return path


def test_hours_of_an_agency_written_as_plain_table_get_the_same_repairs(tmp_path):
    values = hundredths()
    agency = read_rain(agency_file(tmp_path / "agency.csv", values))
    plain = read_rain(plain_file(tmp_path / "plain.csv", values))
    np.testing.assert_allclose(plain.depth_mm, agency.depth_mm, rtol=1e-12)
    assert [one.time for one in plain.removed] == [one.time for one in agency.removed]
    assert len(plain.removed) == 40 and {one.why for one in plain.removed} == {Why.TOTAL}
    assert plain.removed[0].depth_mm == pytest.approx(38.1)
    note = next(note for note in plain.notes if "after a gap" in note)
    assert note.startswith("Kept as missing: 40 values right after a gap")
    assert "60 in or 1.52e+03 mm together" in note and "the largest on 2001-01-10 14:00" in note
    for record in (plain, agency):
        assert {row.verdict for row in check_record(record)} == {Verdict.PASS}


def test_usual_rain_after_gaps_is_not_taken_for_totals(tmp_path):
    values = hundredths(large=False)
    record = read_rain(plain_file(tmp_path / "plain.csv", values))
    assert record.removed == ()
    assert np.array_equal(np.isnan(record.depth_mm), np.isnan(values))


def test_the_file_may_say_what_stands_after_a_gap(tmp_path):
    few = hundredths(totals=1)  # one alone proves nothing
    assert read_rain(plain_file(tmp_path / "a.csv", few)).removed == ()
    said = read_rain(plain_file(tmp_path / "b.csv", few, "# after a gap: total"))
    assert len(said.removed) == 1
    many = hundredths()
    kept = read_rain(plain_file(tmp_path / "c.csv", many, "# after a gap: own"))
    assert kept.removed == ()
    with pytest.raises(InputError, match="'# after a gap: both' is not known; write own or total"):
        read_rain(plain_file(tmp_path / "d.csv", many, "# after a gap: both"))


def test_the_end_of_an_interval_is_where_its_total_is_listed(tmp_path):
    path = plain_file(tmp_path / "a.csv", hundredths(totals=1), "# after a gap: total",
                      "# stamp: end")  # fmt: skip
    record = read_rain(path)
    at = int(np.flatnonzero(record.times == record.removed[0].time)[0])
    assert np.isnan(record.depth_mm[at]) and record.depth_mm[at + 1] == pytest.approx(15.24)


def test_so_many_large_values_after_gaps_are_no_chance():
    assert holds_totals(hundredths())
    assert not holds_totals(hundredths(large=False))
    assert not holds_totals(np.array([np.nan, 5.0]))  # nothing to hold it against
    values = np.r_[np.tile([1.0, 2.0], 50), np.nan, 9.0, 9.0]
    assert np.flatnonzero(after_gaps(values)).tolist() == [101]
    assert np.flatnonzero(large_after_gaps(values, after_gaps(values))).tolist() == [101]


def test_the_second_hour_after_a_gap_is_no_total_where_the_reader_took_the_first():
    depth = np.zeros(12 * HOURS_A_YEAR)
    depth[::16] = 1.0
    depth[100:120], depth[120] = np.nan, 30.0
    start = np.datetime64("2001-01-01T00", "s")
    bare = RainRecord(depth, start, 3600)
    row = next(row for row in check_record(bare) if row.check is Check.AFTER_GAP)
    assert [str(place.begin) for place in row.places] == ["2001-01-06T00:00:00"]
    removed = (Removed(np.datetime64("2001-01-05T23:00:00"), 70.0, Why.TOTAL),)
    known = replace(bare, removed=removed)
    row = next(row for row in check_record(known) if row.check is Check.AFTER_GAP)
    assert (row.figure, row.verdict) == (0.0, Verdict.PASS)


def test_what_was_removed_is_stored_with_the_record(tmp_path):
    record = read_rain(agency_file(tmp_path / "agency.csv", hundredths(years=1, totals=3)))
    write_stored(record, tmp_path / "kept.parquet", {"source": "a"})
    assert read_stored(tmp_path / "kept.parquet").removed == record.removed
    assert len(record.removed) == 3


def test_a_written_record_is_read_back_without_another_repair(tmp_path):
    depth = np.where(np.isnan(hundredths()), np.nan, hundredths() * 0.254)
    record = RainRecord(depth, np.datetime64("2001-01-01"), 3600)
    write_rain(record, tmp_path / "a.csv")
    assert np.array_equal(read_rain(tmp_path / "a.csv").depth_mm, depth, equal_nan=True)
