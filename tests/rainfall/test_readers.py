"""Plain rain tables and everything that can be wrong with a file."""

import gzip
from datetime import datetime, timedelta

import numpy as np
import pytest

from riskkit.errors import InputError
from riskkit.files import TakenError
from riskkit.rainfall.readers.columns import mm_per_unit, split_unit
from riskkit.rainfall.readers.plain import write_rain
from riskkit.rainfall.readers.record import RainFile, read_rain
from riskkit.records import RainRecord

HEAD = "time,depth_mm\n"
THREE = "2020-06-01 00:00,0\n2020-06-01 01:00,2.5\n2020-06-01 02:00,0\n"


@pytest.fixture
def save(tmp_path):
    def write(text, name="rain.csv"):
        path = tmp_path / name
        path.write_bytes(text if isinstance(text, bytes) else text.encode())
        return path

    return write


def refused(path, *words, **options):
    with pytest.raises(InputError) as caught:
        read_rain(path, **options)
    message = str(caught.value)
    assert message.count("\n") == 0 and message.endswith(".")
    for word in words:
        assert word in message
    return message


def test_new_table_is_read_as_written(save):
    record = read_rain(save(HEAD + THREE))
    assert record.depth_mm.tolist() == [0.0, 2.5, 0.0]
    assert (record.interval_s, record.name, record.notes) == (3600, "rain", ())
    assert record.start == np.datetime64("2020-06-01T00:00:00")


@pytest.mark.parametrize(
    ("column", "unit", "expected"),
    [
        ("depth_mm", None, 2.5),
        ("depth_in", None, 63.5),
        ("rain (mm)", None, 2.5),
        ("Rain [in]", None, 63.5),
        ("rainfall_inches", None, 63.5),
        ("precip", "mm", 2.5),
        ("PRCP", "in", 63.5),
        ("rain", "0.01 in", 0.635),
        ("rain_mm", "mm", 2.5),
    ],
)
def test_unit_is_taken_from_header_or_caller(save, column, unit, expected):
    record = read_rain(save(f"time,{column}\n{THREE}"), unit=unit)
    assert record.depth_mm[1] == pytest.approx(expected, rel=1e-12)


def test_unit_in_a_comment(save):
    assert read_rain(save("# unit: in\ntime,rain\n" + THREE)).depth_mm[1] == 63.5


def test_units_that_do_not_serve(save):
    refused(save("time,rain\n" + THREE), "unit of 'rain' is not stated", "or give the unit")
    refused(save("time,rain (gpm)\n" + THREE), "not a depth of rain")
    refused(save("time,rain (zzyx)\n" + THREE), "'zzyx' is not known")
    refused(save("time,rain\n" + THREE), "not a depth of rain", unit="gpm")
    refused(save("time,rain\n" + THREE), "'quux'", unit="quux")
    refused(save("time,rain_mm\n" + THREE), "disagree", unit="in")
    refused(save("time,rain_mm_h\n" + THREE), "intensity")
    refused(save("time,rain (mm/h)\n" + THREE), "intensity")


def test_the_only_column_left_is_rain_where_the_caller_gives_the_unit(save):
    assert read_rain(save("time,R1\n" + THREE), unit="mm").depth_mm[1] == 2.5
    refused(save("time,R1\n" + THREE), "no column of rain")
    refused(save("time,level_m\n" + THREE), "disagree", unit="mm")
    refused(save("time,R1,R2\n2020-06-01,1,2\n"), "no column of rain", unit="mm")


def test_split_unit():
    assert split_unit("Depth (mm)") == ("depth", "mm", False)
    assert split_unit("precip_in_mm") == ("precip_in", "mm", False)
    assert split_unit("rain mm/h")[1:] == ("mm", True)
    assert split_unit("rain") == ("rain", "", False)
    assert mm_per_unit("0.1 mm", "here") == pytest.approx(0.1)


def test_gzip_byte_order_mark_and_windows_line_ends(save):
    text = ("\ufeff" + HEAD + THREE).replace("\n", "\r\n").encode()
    assert read_rain(save(text)).depth_mm.size == 3
    assert read_rain(save(gzip.compress(text), "rain.csv.gz")).depth_mm.size == 3
    assert read_rain(save(gzip.compress(text), "rain.csv.gz")).name == "rain"


def test_absent_rows_are_gaps_not_dry(save):
    record = read_rain(save(HEAD + THREE + "2020-06-01 05:00,1\n"))
    assert np.isnan(record.depth_mm).tolist() == [False, False, False, True, True, False]
    assert record.notes == ("Kept as missing: 2 of 6 intervals, which are not listed.",)


@pytest.mark.parametrize("text", ["", "NaN", "NA", "-9999", "-99.9", "null", "M"])
def test_missing_however_written(save, text):
    record = read_rain(save(HEAD + THREE + f"2020-06-01 03:00,{text}\n2020-06-01 04:00,0\n"))
    assert np.isnan(record.depth_mm).tolist() == [False, False, False, True, False]
    assert bool(record.notes) == text.startswith("-9")


def test_semicolons_with_decimal_commas(save):
    record = read_rain(save((HEAD + THREE).replace(",", ";").replace("2.5", "2,5")))
    assert record.depth_mm[1] == 2.5
    assert "semicolons" in record.notes[0]


def test_date_and_time_in_two_columns(save):
    text = "date,time,rain_mm\n2020-06-01,00:00,0\n2020-06-01,00:15,1\n2020-06-01,00:30,0\n"
    assert read_rain(save(text)).interval_s == 900


def test_zone_is_kept_as_written_and_said(save):
    rows = "".join(f"2020-06-01T0{h}:00:00-06:00,{h}\n" for h in range(4))
    record = read_rain(save(HEAD + rows))
    assert record.start == np.datetime64("2020-06-01T00:00:00")
    assert "-06:00" in record.notes[0]


def test_rows_between_regular_times_become_gaps_on_both_sides(save):
    start = datetime(2020, 6, 1)
    rows = [f"{start + timedelta(minutes=15 * k)},1.0" for k in range(40)]
    rows[20] = f"{start + timedelta(minutes=15 * 20 + 7)},1.0"
    record = read_rain(save(HEAD + "\n".join(rows)))
    assert np.flatnonzero(np.isnan(record.depth_mm)).tolist() == [20, 21]
    assert any("between two regular times" in note for note in record.notes)


def test_a_late_row_is_moved_only_where_it_closes_a_hole(save):
    days = [f"2020-06-{d:02d},{d}" for d in range(1, 15)]
    late = [*days[:4], *days[5:9], days[4], *days[9:]]
    record = read_rain(save("date,PRCP\n" + "\n".join(late)), unit="mm")
    assert record.depth_mm.tolist() == list(range(1, 15))
    assert record.notes[0].startswith(
        "Moved to their place in time: 1 row that stood late in the file."
    )
    stray = [*days, "2020-05-01,3"]
    refused(save("date,PRCP\n" + "\n".join(stray)), "line 16", "earlier", unit="mm")


def test_wet_only_is_declared_never_guessed(save):
    rows = "2020-06-01 00:00,1\n2020-06-01 00:05,2\n2020-06-01 09:00,1\n2020-06-01 09:05,3\n"
    refused(save(HEAD + rows), "dry intervals may have been left out", "# dry intervals: left out")
    refused(save(HEAD + rows), "length of an interval is not stated", kind=RainFile.WET_ONLY)
    record = read_rain(save(HEAD + rows), kind=RainFile.WET_ONLY, interval_s=300)
    assert record.depth_mm.size == 110 and record.depth_mm.sum() == 7
    assert "Taken as dry" in record.notes[0]
    said = "# interval: 5 min\n# dry intervals: left out\n"
    assert read_rain(save(said + HEAD + rows)).depth_mm.tolist() == record.depth_mm.tolist()
    odd = rows + "2020-06-01 09:07,1\n"
    refused(save(said + HEAD + odd), "line 8", "grid of 5 min")


def test_wet_only_keeps_a_stated_gap(save):
    said = "# interval: 1 h\n# dry intervals: left out\n"
    rows = "2020-06-01 00:00,1\n2020-06-01 03:00,\n2020-06-01 05:00,2\n"
    depth = read_rain(save(said + HEAD + rows)).depth_mm
    assert np.array_equal(depth, [1, 0, 0, np.nan, 0, 2], equal_nan=True)


def test_stamp_at_the_end_of_the_interval(save):
    record = read_rain(save("# stamp: end\n" + HEAD + THREE))
    assert record.start == np.datetime64("2020-05-31T23:00:00")
    assert "ends of the intervals" in record.notes[0]


def test_daily_record_says_that_its_day_may_not_be_the_calendar_day(save):
    text = "date,rain_mm\n2020-06-01,0\n2020-06-02,3\n2020-06-03,0\n"
    record = read_rain(save(text))
    assert record.interval_s == 86400
    assert "observation day" in record.notes[-1]


@pytest.mark.parametrize(("minutes", "seconds"), [(1, 60), (5, 300), (60, 3600), (1440, 86400)])
def test_any_interval_from_a_minute_to_a_day(save, minutes, seconds):
    start = datetime(2020, 6, 1)
    rows = "".join(f"{start + timedelta(minutes=minutes * k)},{k}\n" for k in range(6))
    assert read_rain(save(HEAD + rows)).interval_s == seconds


def test_more_than_the_world_has_seen_is_said(save):
    record = read_rain(save(HEAD + THREE.replace("2.5", "3000")))
    assert "more than the world has seen" in record.notes[-1]


# --- broken files, each refused in one sentence -------------------------------------------------


def test_files_that_are_no_tables(save, tmp_path):
    refused(tmp_path / "nothing.csv", "there is no such file")
    refused(tmp_path, "folder")
    refused(save(""), "empty")
    refused(save("  \n\n"), "empty")
    refused(save(b"\x00\x01\x02rain"), "binary")
    refused(save(b"PK\x03\x04rest"), "Excel workbook", "CSV UTF-8")
    refused(save(b"%PDF-1.7"), "PDF")
    refused(save(HEAD.encode("utf-16")), "UTF-16")
    refused(save("time,d\xe9pth_mm\n".encode("latin-1")), "line 1", "0xE9", "UTF-8")
    refused(save("<!DOCTYPE html><html>"), "web page")
    refused(save(gzip.compress((HEAD + THREE * 99).encode())[:60], "rain.csv.gz"), "cut short")
    refused(save("# only: comments\n"), "no header")


def test_headers_that_do_not_serve(save):
    refused(save(THREE), "line 1", "no header", "time,depth_mm")
    refused(save(HEAD), "header but no rows")
    refused(save(HEAD + "\n\n"), "header but no rows")
    refused(save("when,depth_mm\n" + THREE), "no column of times")
    refused(save("time,level_m\n" + THREE), "no column of rain")
    refused(save("time,snow_depth_mm\n" + THREE), "no column of rain")
    refused(save("time,depth_mm,rain_mm\n2020-06-01,1,1\n"), "more than one column of rain")
    refused(save("time,depth_mm,time\n2020-06-01,1,1\n"), "more than one column of times")


@pytest.mark.parametrize(
    ("row", "words"),
    [
        ("2020-06-01 03:00,wet", ("line 5", "'wet', not a number")),
        ("2020-06-01 03:00,1_0", ("line 5", "'1_0', not a number")),
        ("2020-06-01 03:00,1.5mm", ("line 5", "not a number")),
        ("2020-06-01 03:00,-3", ("line 5", "-3", "cannot be")),
        ("2020-06-01 03:00,inf", ("line 5", "inf")),
        ('2020-06-01 03:00,"2,5"', ("line 5", "2.5", "point")),
        ("2020-06-01 03:00,2,5", ("line 5", "3 cells", "decimal marks")),
        ("2020-06-01 03:00", ("line 5", "1 cells")),
        ("2020-06-01 02:00,1", ("line 5", "stands twice", "summer time")),
        ("2020-05-31 12:00,1", ("line 5", "earlier")),
        ("06/01/2020 03:00,1", ("line 5", "without guessing", "2020-01-31 15:45")),
        ("2020-06-31 03:00,1", ("line 5", "no such time")),
        ("2020-06-01 24:00,1", ("line 5", "00:00 of the next day")),
        ("2020-06-01T03:00Z,1", ("line 5", "time zone changes")),
        ("9999-06-01 03:00,1", ("line 5", "9999", "outside")),
        ("12020-06-01 03:00,1", ("line 5", "not a time")),
        ("0020-06-01 03:00,1", ("line 5", "20 is outside")),
    ],
)
def test_broken_rows_are_named_by_line(save, row, words):
    refused(save(HEAD + THREE + row + "\n"), *words)


def test_summer_time_zones_are_refused(save):
    rows = "2020-03-08T01:00:00-06:00,0\n2020-03-08T03:00:00-05:00,0\n"
    refused(save(HEAD + rows), "line 3", "local standard time")


def test_intervals_that_do_not_serve(save):
    seconds = "".join(f"2020-06-01 00:00:{s:02d},0\n" for s in range(0, 60, 10))
    refused(save(HEAD + seconds), "10 s is outside 1 min to 1 day")
    months = "".join(f"2020-{m:02d}-01,50\n" for m in range(1, 9))
    refused(save(HEAD + months), "outside 1 min to 1 day")
    refused(save(HEAD + "2020-06-01 00:00,1\n"), "one row alone", "# interval")
    assert read_rain(save("# interval: 1 h\n" + HEAD + "2020-06-01,1\n")).interval_s == 3600
    ragged = "".join(f"2020-06-01 {h:02d}:{m:02d},0\n" for h, m in enumerate([0, 7, 31, 2, 44, 9]))
    refused(save(HEAD + ragged), "does not lie on a grid")


def test_comments_and_arguments_that_are_not_known(save):
    refused(save("# stamp: middle\n" + HEAD + THREE), "'# stamp: middle'", "begin or end")
    refused(save("# dry intervals: yes\n" + HEAD + THREE), "listed or left out")
    refused(save("# interval: fish\n" + HEAD + THREE), "interval", "fish")
    refused(save("# interval: 0 min\n" + HEAD + THREE), "an interval of 0 s")
    refused(save(HEAD + THREE), "an interval of -60 s", interval_s=-60)
    refused(save(HEAD + THREE), "'plain' is not a RainFile", kind="plain")
    refused(save("# interval: 15 min\n" + HEAD + THREE.replace("01:00", "00:50")), "grid of 15 min")


def test_one_wrong_date_far_away_does_not_fill_the_memory(save):
    rows = "2020-06-01 00:00,0\n2020-06-01 00:01,0\n2199-06-01 00:02,0\n"
    refused(save(HEAD + rows), "look for a wrong date")


def test_all_missing_is_no_record(save):
    refused(save(HEAD + "2020-06-01,\n2020-06-02,\n"), "every value is missing")


def test_a_storm_table_is_no_record(save):
    refused(save("Point precipitation frequency estimates (inches)\n"), "not a rain record")


def test_write_cannot(tmp_path):
    record = RainRecord(np.ones(3), np.datetime64("2020-06-01"), 3600)
    with pytest.raises(InputError, match="its folder does not exist"):
        write_rain(record, tmp_path / "no" / "rain.csv")


def test_a_record_is_not_written_over(tmp_path):
    """As save_home: what lies there may be the only one."""
    record, path = RainRecord(np.ones(3), np.datetime64("2020-06-01"), 3600), tmp_path / "rain.csv"
    write_rain(record, path)
    before = path.read_bytes()
    with pytest.raises(TakenError, match="there is a file of this name; give another name"):
        write_rain(RainRecord(np.zeros(3), np.datetime64("2020-06-01"), 3600), path)
    assert path.read_bytes() == before and list(tmp_path.iterdir()) == [path]


def test_quoted_cells_are_the_same_table(save):
    plain = read_rain(save(HEAD + THREE + "\n\n"))
    rows = ['"{}","{}"'.format(*row.split(",")) for row in THREE.splitlines()]
    quoted = read_rain(save(HEAD + "\n".join(rows)))
    assert quoted.depth_mm.tolist() == plain.depth_mm.tolist()


def test_blank_and_comment_lines_inside_do_no_harm_and_keep_the_count(save):
    text = "\n# a note\n" + HEAD + "\n# more\n" + THREE + "\n"
    assert read_rain(save(text)).depth_mm.size == 3
    refused(save(text + "2020-06-01 03:00,x\n"), "line 10")


def test_comments_that_contradict_each_other_are_refused(save):
    rows = "time,rain\n2020-06-01 00:00,1.0\n2020-06-01 01:00,2.0\n"
    twice = save("# unit: mm\n# made up\n# Unit: in\n" + rows)
    with pytest.raises(
        InputError, match=r"line 1 says unit: mm, and line 3 says unit: in; leave one"
    ):
        read_rain(twice)
    same = save("# unit: in\n# note: one\n# note: two\n# unit: in\n" + rows)
    assert read_rain(same).depth_mm == pytest.approx([25.4, 50.8])


def test_lines_without_end_are_refused_before_they_are_cut_apart(save):
    lines = gzip.compress(HEAD.encode() + b"\n" * 10_000_001)
    refused(save(lines, "rain.csv.gz"), "more than 10,000,000 lines")
    refused(save(f"{HEAD}{THREE}{'x,' * 50_001}\n"), "line 5", "row has 100,002 letters")
    refused(save(f"time{'x,' * 50_001}\n{THREE}"), "line 1", "header or row has more than 100,000")
