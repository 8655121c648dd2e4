"""Official depth tables: the agency's own file and our plain one."""

import re

import numpy as np
import pytest

from riskkit.errors import InputError
from riskkit.rainfall.readers.official import read_rain_table
from riskkit.rainfall.readers.record import read_rain
from riskkit.records import Series

ATLAS = """Point precipitation frequency estimates (inches)
NOAA Atlas 14 Volume 99 Version 1
Data type: Precipitation depth
Time series type: Partial duration
Project area: Nowhere
Location name (ESRI Maps): Nowhere, XX, USA
Station Name: -
Latitude: 40.0 Degree
Longitude: -90.0 Degree
Elevation (USGS): 700 ft


PRECIPITATION FREQUENCY ESTIMATES
by duration for ARI (years):, 1,2,10,100
5-min:, 0.400,0.480,0.640,0.880
60-min:, 1.20,1.50,2.10,3.10
24-hr:, 2.50,3.00,4.30,6.90
2-day:, 3.00,3.50,4.90,7.70

{more}Date/time (GMT):  Mon Jun 19 14:23:29 2023
pyRunTime:  0.02
"""
LIMITS = """
PRECIPITATION FREQUENCY ESTIMATES AT UPPER BOUND OF 90% CONFIDENCE INTERVAL
by duration for ARI (years):, 1,2,10,100
5-min:, 0.450,0.540,0.710,0.980
60-min:, 1.30,1.70,2.30,3.40
24-hr:, 2.70,3.20,4.60,7.40
2-day:, 3.20,3.80,5.20,8.20

PRECIPITATION FREQUENCY ESTIMATES AT LOWER BOUND OF 90% CONFIDENCE INTERVAL
by duration for ARI (years):, 1,2,10,100
5-min:, 0.360,0.430,0.580,0.790
60-min:, 1.10,1.40,1.90,2.80
24-hr:, 2.30,2.80,4.00,6.40
2-day:, 2.80,3.30,4.60,7.20

"""
PDS = ATLAS.format(more="")

OWN = """# unit: mm
# series: annual maximum
# source: an agency
# years: 31
duration,2 yr,10 yr,100 yr
5 min,6.1,9.4,13.6
1 h,18.9,30.0,44.1
24 h,61.0,92.2,131.8
"""


@pytest.fixture
def read(tmp_path):
    def run(text, encoding="utf-8", **said):
        path = tmp_path / "table.csv"
        path.write_bytes(text.encode(encoding))
        return read_rain_table(path, **said)

    return run


@pytest.fixture
def refused(read):
    def run(text, *words):
        with pytest.raises(InputError) as caught:
            read(text)
        for word in words:
            assert word in str(caught.value)
        assert str(caught.value).endswith(".")

    return run


def test_agency_depths_in_inches(read):
    table = read(PDS)
    assert table.duration_h == pytest.approx([5 / 60, 1, 24, 48])
    assert table.return_period_yr.tolist() == [1, 2, 10, 100]
    assert table.depth_mm[1] == pytest.approx([30.48, 38.1, 53.34, 78.74])
    assert table.series is Series.PARTIAL_DURATION
    assert (table.lower_mm, table.upper_mm, table.years, table.notes) == (None, None, None, ())
    assert table.source.startswith("NOAA Atlas 14 Volume 99 Version 1, Nowhere, XX, USA")


def test_agency_limits(read):
    table = read(ATLAS.format(more=LIMITS))
    assert table.upper_mm[2, 3] == pytest.approx(7.4 * 25.4)
    assert table.lower_mm[2, 3] == pytest.approx(6.4 * 25.4)
    assert table.depth_mm[2, 3] == pytest.approx(6.9 * 25.4)


def test_agency_annual_maxima_are_yearly_chances(read):
    text = PDS.replace("Partial duration", "Annual maximum").replace(
        "by duration for ARI (years):, 1,2,10,100", "by duration for AEP:, '1/2,'1/5,'1/10,'1/100"
    )
    table = read(text)
    assert table.series is Series.ANNUAL_MAXIMUM
    assert table.return_period_yr.tolist() == [2, 5, 10, 100]


def test_agency_millimetres_and_intensities(read):
    assert read(PDS.replace("(inches)", "(millimeters)")).depth_mm[2, 0] == 2.5
    rate = PDS.replace("(inches)", "(inches/hour)").replace("ion depth", "ion intensity")
    rate = rate.replace("60-min:, 1.20", "60-min:, 1.23").replace("24-hr:, 2.50", "24-hr:, 2.50")
    table = read(rate)
    assert table.depth_mm[1, 0] == pytest.approx(1.23 * 25.4)
    assert table.depth_mm[2, 0] == pytest.approx(2.5 * 25.4 * 24)
    assert "rounding" in table.notes[-1]


def saved_by_a_spreadsheet(text, separator=","):
    """Fill rows up with empty cells, drop zeros at the end, quote cells, and set another mark."""
    width = max(line.count(",") for line in text.split("\n")) + 1
    lines = []
    for line in text.split("\n"):
        cells = [cell.strip() for cell in line.split(",")]
        cells = [re.sub(r"^(\d+)(\.\d*?)0+$", _without_zeros, cell) for cell in cells]
        if separator == ";":
            cells = [cell.replace(".", ",") if _is_number(cell) else cell for cell in cells]
        lines.append(separator.join(cells + [""] * (width - len(cells))))
    return "\r\n".join(lines)


def _without_zeros(match):
    return match[1] + match[2].rstrip(".")


def _is_number(cell):
    return re.fullmatch(r"\d+(\.\d+)?", cell) is not None


@pytest.mark.parametrize("separator", [",", ";", "\t"])
def test_an_agency_file_saved_by_a_spreadsheet(read, separator):
    text = ATLAS.format(more=LIMITS)
    saved = saved_by_a_spreadsheet(text, separator)
    assert "0,4" in saved.replace(".", ",") and "0.400" not in saved and "1.20" not in saved
    table, original = read(saved), read(text)
    for name in ("duration_h", "return_period_yr", "depth_mm", "lower_mm", "upper_mm"):
        np.testing.assert_array_equal(getattr(table, name), getattr(original, name))
    assert (table.source, table.notes) == (original.source, original.notes)


def test_zeros_that_a_spreadsheet_dropped_do_not_widen_the_rounding(refused):
    # 1.3 stands for 1.30; a longer storm with 1.26 is a wrong cell, not rounding
    text = PDS.replace("24-hr", "2-hr:, 1.46,1.5,2.1,3.1\n24-hr").replace("1.20,1.50", "1.5,1.5")
    refused(text, "line 17", "1-year depth")


def test_a_degree_sign_of_an_older_encoding(read, tmp_path):
    text = PDS.replace("40.0 Degree", "40.0°")
    assert "40.0°" in read(text, "latin-1").source
    assert "40.0°" in read(text, "utf-8").source
    path = tmp_path / "other.csv"
    path.write_bytes(PDS.replace("Nowhere", "Nöwhere°").encode("latin-1"))
    with pytest.raises(InputError, match="the byte 0xF6 is not UTF-8 text"):
        read_rain_table(path)


def test_a_shortened_head_is_read_or_what_is_really_missing_is_named(read, refused):
    short = PDS.replace("NOAA Atlas 14 Volume 99 Version 1\n", "")
    for line in ("Data type: Precipitation depth\n", "Time series type: Partial duration\n"):
        short = short.replace(line, "")
    table, whole = read(short), read(PDS)  # the unit says depth, and ARI partial duration
    np.testing.assert_array_equal(table.depth_mm, whole.depth_mm)
    assert table.series is Series.PARTIAL_DURATION
    assert table.source.startswith("NOAA Atlas 14, Nowhere, XX, USA")
    bare = PDS[PDS.index("by duration") :]
    refused(bare, "line 1", "first line of the agency's file is missing", "or say the unit")
    np.testing.assert_array_equal(read(bare, unit="in").depth_mm, whole.depth_mm)
    chances = bare.replace("ARI (years):, 1,2,10,100", "AEP:, '1/2,'1/5,'1/10,'1/100")
    assert read(chances, unit="in").series is Series.ANNUAL_MAXIMUM
    with pytest.raises(InputError, match="its series is annual maximum"):
        read(chances, unit="in", series=Series.PARTIAL_DURATION)
    with pytest.raises(InputError, match="its unit is 'inches', not 'mm'"):
        read(PDS, unit="mm")
    np.testing.assert_array_equal(read(PDS, unit="in").depth_mm, whole.depth_mm)
    refused(chances.replace("'1/2", "1-Feb").replace("by dur", "(inches)\nby dur"), "missing")
    with pytest.raises(InputError, match="takes chances such as 1/10 for dates"):
        read(chances.replace("'1/2", "1-Feb"), unit="in")


CITY = """Hour,1,2,5,10
.083,0.40,0.48,0.58,0.66
1,1.21,1.45,1.80,2.09
24,2.51,3.02,3.73,4.34
"""


def test_a_plain_table_of_a_city_is_read_where_unit_and_series_are_said(read, refused):
    refused(CITY, "the unit is not stated", "or say it")
    with pytest.raises(InputError, match=r"the series is not stated; .* or say it"):
        read(CITY, unit="in")
    table = read(CITY, unit="in", series=Series.PARTIAL_DURATION)
    assert table.duration_h == pytest.approx([0.083, 1.0, 24.0])
    assert table.return_period_yr.tolist() == [1, 2, 5, 10]
    assert table.depth_mm[1, 3] == pytest.approx(2.09 * 25.4)
    minutes = CITY.replace("Hour", "Duration (min)").replace(".083", "5").replace("24,", "90,")
    minutes = minutes.replace("\n1,", "\n60,")
    table = read(minutes, unit="in", series=Series.PARTIAL_DURATION)
    assert table.duration_h == pytest.approx([5 / 60, 1.0, 1.5])
    bare = CITY.replace("Hour", "Duration")  # numbers of what?
    with pytest.raises(InputError, match=r"'\.083' is not a duration"):
        read(bare, unit="in", series=Series.PARTIAL_DURATION)


def test_what_the_caller_says_must_not_contradict_the_file(read):
    assert read(OWN, unit="mm", series=Series.ANNUAL_MAXIMUM).depth_mm[0, 0] == 6.1
    with pytest.raises(InputError, match="the file says unit: mm, not in"):
        read(OWN, unit="in")
    with pytest.raises(InputError, match="the file says series: annual maximum, not partial"):
        read(OWN, series=Series.PARTIAL_DURATION)


def test_our_own_table_saved_by_a_spreadsheet(read):
    text = OWN.replace("an agency", "an agency, with a comma")
    saved = saved_by_a_spreadsheet(OWN).replace(
        "# source: an agency", '"# source: an agency, with a comma"'
    )
    table, original = read(saved), read(text)
    np.testing.assert_array_equal(table.depth_mm, original.depth_mm)
    assert table.source == original.source == "an agency, with a comma"


def test_a_record_saved_by_a_spreadsheet(tmp_path):
    path = tmp_path / "rain.csv"
    path.write_text(
        "# interval: 1 h,,\n,,\ntime,depth_mm,\n2020-06-01 00:00,0,\n2020-06-01 01:00,1.2,\n"
    )
    assert read_rain(path).depth_mm.tolist() == [0.0, 1.2]


def test_own_table(read):
    table = read(OWN)
    assert table.duration_h == pytest.approx([5 / 60, 1, 24])
    assert table.depth_mm[0].tolist() == [6.1, 9.4, 13.6]
    assert (table.series, table.years, table.source) == (Series.ANNUAL_MAXIMUM, 31.0, "an agency")


def test_own_table_with_limits_in_any_order_and_semicolons(read):
    text = """# unit: in/h
# series: partial duration
duration;2 yr;10 yr;2 yr lower;10 yr upper;10 yr lower;2 yr upper
30 min;1,0;2,0;0,8;2,4;1,7;1,3
2 hours;0,5;1,0;0,4;1,2;0,8;0,6
"""
    table = read(text)
    assert table.depth_mm == pytest.approx(np.array([[12.7, 25.4], [25.4, 50.8]]))
    assert table.upper_mm[0] == pytest.approx([1.3 * 12.7, 2.4 * 12.7])
    assert table.lower_mm[1] == pytest.approx([0.4 * 50.8, 0.8 * 50.8])


def test_rounding_is_mended_and_said(read):
    text = OWN.replace("24 h,61.0", "2 h,18.85,30.0,44.1\n24 h,61.0")
    table = read(text)
    assert table.depth_mm[2, 0] == table.depth_mm[1, 0] == 18.9
    assert table.notes == ("1 cells of the depth table were raised within their rounding.",)


def test_more_than_rounding_is_refused(refused):
    refused(OWN.replace("92.2", "29.2"), "line 8", "10-year depth is 31.8 mm less", "wrong cell")
    refused(OWN.replace("44.1", "14.1"), "line 7", "100-year")
    refused(PDS.replace("4.30", "2.30"), "line 17", "10-year depth is 0.7 in less")  # 3.00 - 2.30


def test_broken_agency_files(refused):
    refused(PDS.replace(" (inches)", ""), "line 1", "unit in brackets")
    refused(PDS.replace("inches", "cubits"), "line 1", "cubits")
    refused(PDS.replace("inches", "inches/hour"), "data type", "inches/hour")
    refused(PDS.replace("Partial duration", "Hourly"), "series is 'Hourly'")
    refused(PDS.replace("6.90", "n/a"), "line 17", "not a depth")
    refused(PDS.replace("6.90", "-6.90"), "line 17", "not a depth")
    refused(PDS.replace("6.90", "0.00"), "line 17", "zero")
    refused(PDS.replace(",6.90", ""), "line 17", "3 depths for 4")
    refused(PDS.replace("1,2,10,100", "1,2,ten,100"), "line 14", "return period")
    refused(PDS.replace("1,2,10,100", "1,10,2,100"), "do not increase")
    refused(PDS.replace("24-hr", "24-moon"), "line 17", "moon")
    refused(PDS.replace("2-day", "5-min"), "do not increase")
    refused(PDS.replace("6.90", "9" * 140_000), "line 17", "the row is broken")
    refused(PDS[: PDS.index("60-min")], "1 durations")
    refused(PDS[: PDS.index("PRECIPITATION FREQ")], "section", "missing")
    refused(ATLAS.format(more=LIMITS[: LIMITS.index("PRECIPITATION", 5)]), "only one")
    refused(ATLAS.format(more=LIMITS.replace("2.30", "2.60")), "outside its own limits")
    refused(ATLAS.format(more=LIMITS.replace("24-hr", "12-hr")), "other durations")
    refused(ATLAS.format(more=LIMITS + LIMITS), "twice")
    refused(
        "result = 'none';\nErrorMsg = 'Error 3.0: location is not within a project area';",
        "outside",
    )


def test_broken_own_tables(refused):
    refused(OWN.replace("# unit: mm\n", ""), "unit is not stated", "# unit: mm")
    refused(OWN.replace("unit: mm", "unit: gpm"), "not a depth of rain")
    refused(OWN.replace("unit: mm", "unit: mm/day"), "'mm/day'")
    refused(OWN.replace("# series: annual maximum\n", ""), "series is not stated")
    refused(OWN.replace("annual maximum", "all"), "series is 'all'")
    refused(OWN.replace("duration", "storms"), "holds no durations", '"duration"')
    refused(OWN.replace("10 yr", "ten"), "'ten' is not a return period")
    refused(OWN.replace("10 yr", "2 yr"), "2 yr")
    refused(OWN.replace("5 min", "5"), "line 6", "'5' is not a duration")
    refused(OWN.replace("5 min", "5 gpm"), "line 6", "not a time")
    refused(OWN.replace("13.6", ""), "line 6", "not a depth")
    refused(OWN.replace("years: 31", "years: many"), "years")
    refused("", "empty")
    refused("time,depth_mm\n2020-01-01,0\n", "unit is not stated")
