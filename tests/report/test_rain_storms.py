"""Short records show their quality, and the largest storms stand with day, hour and rarity."""

from __future__ import annotations

import io
import json
from pathlib import Path

import numpy as np
import pytest
from rich.console import Console

from riskkit.cli.main import main
from riskkit.errors import collect_warnings
from riskkit.quantities.units import UnitSystem
from riskkit.quantities.variables import significant
from riskkit.rainfall.analysis import RainAnalysis, analyse_rain
from riskkit.rainfall.doubts import deciding_words, meaning_words
from riskkit.rainfall.largest import ReturnPeriod
from riskkit.rainfall.quality_rows import Check, Place, Weight
from riskkit.rainfall.readers.plain import write_rain
from riskkit.rainfall.weighing import DecidingValue
from riskkit.records import RainRecord
from riskkit.report.rain_json import rain_analysis_form
from riskkit.report.rain_page import rain_page
from riskkit.report.rain_report import print_rain_analysis, rain_sentence
from riskkit.report.rain_storms import period_words, storm_table
from riskkit.widgets.record_view import record_answer, record_blocks

US, METRIC = UnitSystem.US, UnitSystem.METRIC


def hourly(years: int, seed: int = 1) -> RainRecord:
    rng = np.random.default_rng(seed)
    n = years * 8766
    depth = np.where(rng.random(n) < 0.06, np.round(rng.exponential(2.0, n), 1), 0.0)
    return RainRecord(depth, np.datetime64("1981-01-01T00:00"), 3600, "town")


def found_in(record: RainRecord) -> RainAnalysis:
    with collect_warnings():  # of return periods far beyond the record
        return analyse_rain(record, np.random.default_rng(1))


def printed(found: RainAnalysis) -> str:
    console = Console(file=io.StringIO(), width=160, record=True)
    print_rain_analysis(found, console, US)
    return console.export_text()


def test_a_record_of_three_years_shows_its_quality_and_its_storms_but_no_depths() -> None:
    found = found_in(hourly(3))
    assert found.own is None and found.maxima is None
    assert rain_sentence(found, US).startswith("A record of 3.0 years, 10 of 11 checks in order")
    text = printed(found)
    assert "it is too short for depths by return period (rain record: " in text
    assert "Quality of the record" in text and "complete years" in text
    assert "The ten largest storms" in text
    assert "depth of rain [in]" not in text and "The fit" not in text
    form = json.loads(json.dumps(rain_analysis_form(found), allow_nan=False))
    assert len(form["quality"]) == 11 and "table" not in form
    page = rain_page(found, US)
    assert "Quality of the record" in page and "The fit" not in page


def test_the_page_and_the_command_show_the_quality_of_a_short_record(
    tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    path = tmp_path / "short.csv"
    write_rain(hourly(3), path)
    assert main(["rain", str(path), "--chart", str(tmp_path / "a.html")]) == 0
    assert "Quality of the record" in capsys.readouterr().out
    blocks = record_blocks(record_answer(path, None, lambda _: None), US)
    titles = [block.get("title") for block in blocks if block["kind"] == "table"]
    assert titles == ["The ten largest storms", "Quality of the record"]


def test_a_record_of_days_is_short_but_not_wrong() -> None:
    found = found_in(RainRecord(np.ones(50), np.datetime64("2001-01-01"), 3600))
    said = rain_sentence(found, US)
    assert "cannot be right" not in said and "complete years" in said
    assert "no year is known to 80 %" in said


def test_the_largest_storms_stand_with_day_hour_depths_and_return_period() -> None:
    record = hourly(36)
    depth = np.array(record.depth_mm)
    at = int(np.searchsorted(record.times, np.datetime64("2004-08-05T20:00")))
    depth[at : at + 60] = 4.0  # two and a half days
    found = found_in(RainRecord(depth, record.start, 3600, "town"))
    table = storm_table(found.record, found.storms, METRIC)
    assert table is not None
    rows = table.rows
    assert table.head == (
        "from", "to", "1 h [mm]", "3 h [mm]", "6 h [mm]", "24 h [mm]", "2 d [mm]", "3 d [mm]",
        "rarest in", "return period [yr]", "remark",
    )  # fmt: skip
    assert len(rows) == 10
    assert rows[0][0].startswith("2004-08-0") and rows[0][5] == "96" and rows[0][6] == "192"
    assert rows[0][9].startswith("over 100")
    in_inches = storm_table(found.record, found.storms, US)
    assert in_inches is not None and in_inches.rows[0][5] == "3.78"
    assert "2004-08-0" in printed(found)
    storm = rain_analysis_form(found)["storms"][0]
    assert storm["depth_mm"][5] == pytest.approx(96.0)
    assert storm["return_period_yr"] is None  # beyond the table


def test_daily_storms_have_days_not_hours() -> None:
    depth = np.tile(np.r_[np.zeros(40), 30.0, 20.0, np.zeros(40)], 9)
    found = found_in(RainRecord(depth, np.datetime64("2001-01-01"), 86400))
    table = storm_table(found.record, found.storms, METRIC)
    assert table is not None and table.rows[0][:2] == ("2001-02-10", "2001-02-11")


@pytest.mark.parametrize(
    ("period", "words"),
    [
        (ReturnPeriod(41.3, 18.2, np.inf), "41 (18 to over 100)"),
        (ReturnPeriod(np.inf, np.inf, np.inf), "over 100"),
        (ReturnPeriod(1.5, 0.0, 2.04), "1.5 (under 1 to 2)"),
    ],
)
def test_return_periods_in_words(period: ReturnPeriod, words: str) -> None:
    assert period_words(period) == words


def test_what_is_found_names_day_and_hour_and_what_it_does_to_the_depths() -> None:
    record = hourly(30)
    depth = np.array(record.depth_mm)
    at = int(np.searchsorted(record.times, np.datetime64("1999-06-03T05:00")))
    depth[at - 9 : at], depth[at] = np.nan, 200.0
    row = next(r for r in found_in(RainRecord(depth, record.start, 3600)).quality
               if r.check is Check.AFTER_GAP)  # fmt: skip
    said = meaning_words(row, METRIC)
    assert "; 1999-06-03 05:00 (200 mm); without it the " in said
    assert row.weight is not None
    depths = (significant(mm, 2) for mm in (row.weight.without_mm, row.weight.with_mm))
    assert said.endswith(" would be {} mm instead of {} mm".format(*depths))


def test_a_value_that_decides_in_words() -> None:
    place = Place(np.datetime64("1994-09-17T14:00:00"), np.datetime64("1994-09-17T15:00:00"), 254.0)
    found = DecidingValue(place, 101.6, Weight(2.0, 0.25, 100.0, 50.8, 25.4), hourly(6))
    assert deciding_words(found) == (
        "One value decides the depths of rain: 10 in (250 mm) in 1 h from 1994-09-17 14:00, more "
        "than the other years allow (4 in (100 mm)); it may be a total over days, and without it "
        "the 100-year depth of 15 min would be 1 in (25 mm) instead of 2 in (51 mm)."
    )


CITY = "Hour,1,2,5,10,100\n1,1.2,1.5,1.8,2.1,3.1\n24,2.5,3.0,3.7,4.3,6.9\n"


def test_a_table_of_a_city_is_read_by_the_commands_where_unit_and_series_are_said(
    tmp_path: Path, demo_sites: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    record, table = tmp_path / "own.csv", tmp_path / "city.csv"
    write_rain(hourly(36), record)
    table.write_text(CITY)
    said = ["--official-unit", "in", "--official-series", "partial duration"]
    assert main(["rain", str(record), "--official", str(table)]) == 2
    assert "the unit is not stated; " in capsys.readouterr().err
    assert main(["rain", str(record), "--official", str(table), *said]) == 0
    assert "Official table: depth of rain [in]" in capsys.readouterr().out
    home = str(demo_sites / "bungalow_on_sand.toml")
    few = ["--draws", "16", "--json"]
    assert main(["assess", home, "--table", str(table), *said, *few]) == 0
    rain = json.loads(capsys.readouterr().out)["rain"]
    hour = rain["duration_h"].index(1.0)  # shorter ones follow from ratios
    assert rain["depth_mm"][hour][0] == pytest.approx(1.2 * 25.4)
    assert main(["rain", str(record), *said]) == 2
    assert "--official-unit: there is no official table" in capsys.readouterr().err
    assert main(["assess", home, *said, *few]) == 2
    assert "there is no official table; name the table, with --table" in capsys.readouterr().err
