"""The two formats of the US weather archive, on invented stations."""

import numpy as np
import pytest

from riskkit.errors import InputError
from riskkit.rainfall.readers.noaa import coarse_years
from riskkit.rainfall.readers.record import RainFile, read_rain


def hourly(tmp_path, days, *, flags=None, name="hours.csv"):
    """Write days {date: {hour: hundredths}}; `flags` {(date, hour): (MF, QF)}."""
    columns = []
    for hour in range(24):
        extra = [f"HR{hour:02d}{kind}" for kind in ("MF", "QF", "S1", "S2")] if flags else []
        columns += [f"HR{hour:02d}Val", *extra]
    head = ["STATION", "NAME", "DATE", *columns] if flags else ["STATION", "DATE", *columns]
    lines = [",".join(f'"{cell}"' for cell in head)]
    for date, values in days.items():
        cells = ["XX000001", "SOMEWHERE, XX", date] if flags else ["XX000001", date]
        for hour in range(24):
            cells.append(str(values.get(hour, 0)))
            if flags:
                cells += [*flags.get((date, hour), (" ", " ")), "4", ""]
        lines.append(",".join(f'"{cell}"' for cell in cells))
    path = tmp_path / name
    path.write_text("\n".join(lines) + "\n")
    return path


def test_hours_are_hundredths_of_an_inch_from_midnight(tmp_path):
    record = read_rain(hourly(tmp_path, {"1999-12-31": {0: 10, 23: 5}, "2000-01-01": {1: 100}}))
    assert record.depth_mm.size == 48 and record.interval_s == 3600
    assert record.depth_mm[[0, 23, 25]] == pytest.approx([2.54, 1.27, 25.4], rel=1e-12)
    assert record.start == np.datetime64("1999-12-31T00:00:00")
    assert record.name == "XX000001"
    assert record.notes == (
        "Missing in the archive: 0 of 48 hours, among them 0 whole days that it does not list.",
    )


def test_an_absent_day_is_missing_not_dry(tmp_path):
    record = read_rain(hourly(tmp_path, {"1999-06-01": {}, "1999-06-03": {5: 7}}))
    assert np.isnan(record.depth_mm).tolist() == [False] * 24 + [True] * 24 + [False] * 24
    assert record.depth_mm[53] == pytest.approx(1.778)


def test_rain_right_after_a_gap_is_a_total_and_is_removed(tmp_path):
    day = {2: -9999, 3: -9999, 4: 160, 5: 12, 10: -9999, 11: 0, 12: 9}
    record = read_rain(hourly(tmp_path, {"1970-04-12": day}))
    assert np.flatnonzero(np.isnan(record.depth_mm)).tolist() == [2, 3, 4, 10]
    assert record.depth_mm[[5, 12]] == pytest.approx([3.048, 2.286])
    assert "3 of 24 hours," in record.notes[0]
    assert record.notes[1].startswith("Kept as missing: 1 value right after a gap")
    assert "1.6 in" in record.notes[1]


def test_a_total_may_follow_a_gap_over_midnight_and_over_absent_days(tmp_path):
    days = {"1970-04-12": {23: -9999}, "1970-04-13": {0: 50}, "1970-04-20": {0: 80, 1: 2}}
    record = read_rain(hourly(tmp_path, days))
    assert np.isnan(record.depth_mm[[23, 24, 8 * 24]]).all()
    assert record.depth_mm[8 * 24 + 1] == pytest.approx(0.508)


def test_flags_decide_where_the_file_has_them(tmp_path):
    flags = {
        ("1999-06-01", 3): ("A", " "),  # end of a total over several hours
        ("1999-06-01", 5): (" ", "X"),  # more than the world has seen
        ("1999-06-01", 7): ("Z", " "),  # assumed zero: kept
        ("1999-06-01", 8): ("T", " "),  # trace: kept
        ("1999-06-01", 9): (" ", "K"),
    }
    day = {3: 200, 5: 9000, 6: 4, 9: 5, 10: 6}
    record = read_rain(hourly(tmp_path, {"1999-06-01": day, "1999-06-02": {}}, flags=flags))
    assert np.flatnonzero(np.isnan(record.depth_mm)).tolist() == [3, 5, 9]
    # the hour after a value with a quality flag is its own, not a total
    assert record.depth_mm[[6, 10]] == pytest.approx([1.016, 1.524])
    assert "Kept as missing: 1 value right after a gap" in record.notes[1]
    assert "Kept as missing: 2 values with a quality flag" in record.notes[2]


def test_years_in_tenths_of_an_inch_are_named(tmp_path):
    days = {}
    for year, step in ((1968, 1), (1990, 10), (1991, 10), (1992, 1)):
        for day in range(1, 29):
            days[f"{year}-06-{day:02d}"] = {h: step * (1 + (day + h) % 3) for h in (2, 3)}
    record = read_rain(hourly(tmp_path, days))
    assert "In 2 years (1990-1991)" in record.notes[-1]
    years = np.repeat([1990, 1991], 30)
    assert coarse_years(np.tile([0.1, 0.2, 0.3], 20), years, 0.1).tolist() == [1990, 1991]
    assert coarse_years(np.tile([0.1, 0.2, 0.33], 20), years, 0.1).tolist() == []


def test_broken_hourly_files_are_refused(tmp_path):
    good = hourly(tmp_path, {"1999-06-01": {}, "1999-06-02": {}}).read_text()

    def refused(text, *words, **options):
        path = tmp_path / "broken.csv"
        path.write_text(text)
        with pytest.raises(InputError) as caught:
            read_rain(path, **options)
        for word in words:
            assert word in str(caught.value)

    refused(good.replace("HR07Val", "HR07"), "HR07Val", "nowhere")
    refused(good.replace("1999-06-02", "1999-06-01"), "line 3", "stands twice")
    refused(good.replace("1999-06-02", "1999-05-02"), "line 3", "earlier")
    refused(good.replace("1999-06-02", "06/02/1999"), "line 3", "without guessing")
    refused(good.replace('XX000001","1999-06-02', 'YY","1999-06-02'), "line 3", "second station")
    refused(good.replace('"1999-06-02","0"', '"1999-06-02","-5"'), "line 3", "HR00Val is -5")
    refused(good.replace('"1999-06-02","0"', '"1999-06-02","x"'), "line 3", "not a number")
    refused(good, "hundredths of an inch", unit="mm")
    refused(good[: good.rindex(",")], "line 3", "cells")


# --- daily ---------------------------------------------------------------------------------------


def daily(tmp_path, rows, head="STATION,DATE,PRCP,PRCP_ATTRIBUTES"):
    path = tmp_path / "daily.csv"
    path.write_text("\n".join([head, *rows]) + "\n")
    return path


def test_archive_files_are_tenths_of_a_millimetre(tmp_path):
    rows = ['X,1999-06-01,"  254",",,0"', 'X,1999-06-02,"    0",",,0"', 'X,1999-06-04,"13",",,0"']
    record = read_rain(daily(tmp_path, rows))
    assert np.array_equal(np.round(record.depth_mm, 9), [25.4, 0.0, np.nan, 1.3], equal_nan=True)
    assert "0.1 mm" in record.notes[0] and "observation day" in record.notes[-1]


def test_ordered_files_need_their_unit(tmp_path):
    rows = ['X,1999-06-01,1.00,",,7,0700"', 'X,1999-06-02,0.00,",,7,0700"']
    path = daily(tmp_path, rows)
    with pytest.raises(InputError, match=r'not certain; give the unit: "0\.1 mm"'):
        read_rain(path)
    record = read_rain(path, unit="in")
    assert record.depth_mm.tolist() == [25.4, 0.0]
    assert any("end at 0700" in note for note in record.notes)
    bare = daily(tmp_path, ["X,1999-06-01,1", "X,1999-06-02,0"], "STATION,DATE,PRCP")
    with pytest.raises(InputError, match="not certain"):
        read_rain(bare)


def test_flags_of_the_daily_archive(tmp_path):
    rows = [
        'X,1999-06-01,0,"T,,0"',  # trace
        'X,1999-06-02,500,",X,0"',  # failed a check
        'X,1999-06-03,20,"B,,0"',  # two half-day totals: an ordinary day
        'X,1999-06-04,30,"D,,0"',  # four quarter-day totals: an ordinary day
        'X,1999-06-05,300,"A,,0"',  # a total over several days
        'X,1999-06-06,0,"P,,0"',  # presumed zero
        "X,1999-06-07,,",
    ]
    record = read_rain(daily(tmp_path, rows))
    expected = [0, np.nan, 2, 3, np.nan, 0, np.nan]
    assert np.array_equal(np.round(record.depth_mm, 9), expected, equal_nan=True)
    text = " ".join(record.notes)
    for words in (
        "1 value with a quality flag",
        "1 value flagged as totals over several days: 1999-06-05 (1.18 in or 30 mm).",
        "Read as 0: 1 trace.",
        "Presumed by the archive, not observed: 1 zero.",
    ):
        assert words in text


def test_a_reading_after_several_days_is_removed(tmp_path):
    head = "STATION,NAME,DATE,PRCP,PRCP_ATTRIBUTES,MDPR,DAPR"
    rows = [
        'X,"PLACE, XX",1999-06-01,10,",,0",,',
        'X,"PLACE, XX",1999-06-04,90,",,0",90,3',
        'X,"PLACE, XX",1999-06-05,20,",,0",,',
    ]
    record = read_rain(daily(tmp_path, rows, head))
    assert np.isnan(record.depth_mm).tolist() == [False, True, True, True, False]
    assert record.name == "PLACE, XX"


def test_trace_as_a_letter(tmp_path):
    record = read_rain(
        daily(tmp_path, ["X,1999-06-01,T,", "X,1999-06-02,0.5,"]),
        unit="in",
        kind=RainFile.GHCN_DAILY,
    )
    assert record.depth_mm.tolist() == [0.0, 12.7]


def test_summary_of_the_day_is_refused(tmp_path):
    path = daily(tmp_path, ["X,1999-06-01,0.1,G,0"], "STATION,DATE,PRCP,PRCP_ATTRIBUTES,FRSHTT")
    with pytest.raises(InputError, match="Global Summary of the Day"):
        read_rain(path, unit="in")
