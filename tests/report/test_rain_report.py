"""What `riskkit rain` says of a record: sentence, tables, charts, JSON, refusals."""

from __future__ import annotations

import json
import re
import shutil
from dataclasses import replace
from pathlib import Path
from typing import Any

import numpy as np
import pytest

from riskkit.cli.main import main
from riskkit.home.home import load_home
from riskkit.home.saving import save_home
from riskkit.quantities.climate import read_climate
from riskkit.quantities.units import UnitSystem
from riskkit.quantities.variables import counted, signed_percent
from riskkit.rainfall.analysis import RainAnalysis, analyse_rain
from riskkit.rainfall.extremes import depth_duration_frequency
from riskkit.rainfall.homogeneity import double_mass
from riskkit.rainfall.plotting import plotting_position
from riskkit.rainfall.quality_rows import Check, Verdict
from riskkit.rainfall.readers.plain import write_rain
from riskkit.records import DepthDurationFrequency, RainRecord, Series
from riskkit.report.rain_charts import (
    completeness_spec,
    double_mass_spec,
    frequency_spec,
    shown_durations,
)
from riskkit.report.rain_json import rain_analysis_form
from riskkit.report.rain_page import rain_page
from riskkit.report.rain_report import rain_notes, rain_sentence
from riskkit.report.rain_rows import fit_table

NASTY = "<script>alert(1)</script> [red]x[/red] {{ 7*7 }}"


def hourly(n_years: int, seed: int, name: str = "made up") -> RainRecord:
    start = np.datetime64("1981-01-01")
    end = np.datetime64(f"{1981 + n_years}-01-01")
    rng = np.random.default_rng(seed)
    size = int((end - start) / np.timedelta64(1, "h"))
    depth = np.where(rng.random(size) < 0.07, rng.weibull(0.65, size) * 1.5, 0.0)
    return RainRecord(np.round(depth, 2), start, 3600, name, ("read from nowhere.",))


def official(scale: float = 1.0) -> DepthDurationFrequency:
    return DepthDurationFrequency(
        np.array([1.0, 24.0]),
        np.array([1.0, 10.0, 100.0, 500.0]),
        scale * np.array([[15.0, 25.0, 37.0, 50.0], [35.0, 50.0, 70.0, 90.0]]),
        Series.PARTIAL_DURATION,
        source="an invented agency",
    )


@pytest.fixture(scope="module")
def found() -> RainAnalysis:
    record = hourly(36, 1, NASTY)
    depth = record.depth_mm.copy()
    depth[:4000] = np.nan  # 1981 does not count
    record = RainRecord(depth, record.start, 3600, NASTY, (NASTY,))
    return analyse_rain(
        record, np.random.default_rng(1), official=official(), neighbour=hourly(36, 2)
    )


def test_the_analysis_is_the_parts_put_together(found: RainAnalysis) -> None:
    own = depth_duration_frequency(found.record, np.random.default_rng(1))
    np.testing.assert_array_equal(found.own.depth_mm, own.depth_mm)
    assert found.maxima.year.tolist() == list(range(1982, 2017))
    assert found.maxima.duration_h.tolist() == [1, 2, 3, 6, 12, 24, 48, 72]
    assert found.maxima.peaks_pct.shape == (8, own.return_period_yr.size)
    assert np.nanmax(np.abs(found.maxima.peaks_pct[:, :4])) < 15  # both ways agree up to 10 years
    assert found.years.tolist() == list(range(1981, 2017))
    assert found.missing_share[0] == pytest.approx(4000 / 8760)
    assert found.mass is not None
    again = double_mass(found.record, hourly(36, 2))
    np.testing.assert_array_equal(found.mass.own_mm, again.own_mm)
    checks = {row.check.value for row in found.quality}
    assert {"rain over the neighbour", "own over official depths"} <= checks


def test_a_warmer_climate_scales_both_tables_and_says_so() -> None:
    record = hourly(34, 1)
    now, warm = (
        analyse_rain(
            record, np.random.default_rng(1), official=official(), climate=read_climate(k, "x")
        )
        for k in ("0 K", "2 K")
    )
    np.testing.assert_allclose(warm.own.depth_mm, 1.1449 * now.own.depth_mm)
    assert warm.own.upper_mm is not None and now.own.upper_mm is not None
    np.testing.assert_allclose(warm.own.upper_mm, 1.1449 * now.own.upper_mm)
    assert warm.official is not None and now.official is not None
    np.testing.assert_allclose(warm.official.depth_mm, 1.1449 * now.official.depth_mm)
    assert warm.comparison is not None and now.comparison is not None
    np.testing.assert_array_equal(warm.comparison.difference_pct, now.comparison.difference_pct)
    assert any("2 °C (3.6 °F) warmer" in note for note in rain_notes(warm))
    assert not any("warmer" in note for note in rain_notes(now))


def test_a_record_that_cannot_be_right_is_said_first(found: RainAnalysis) -> None:
    wrong = tuple(
        replace(row, verdict=Verdict.FAIL) if row.check is Check.ANNUAL_DEPTH else row
        for row in found.quality
    )
    said = rain_sentence(replace(found, quality=wrong), UnitSystem.US)
    n = len(wrong)
    assert said.startswith(
        f"This record cannot be right, 1 of {n} checks fails: mean annual depth ("
    )
    assert "Is its unit the right one? 35 years of rain" in said
    assert "the 10-year storm would bring " in said
    assert "cannot be right" not in rain_sentence(found, UnitSystem.US)


def test_the_sentence(found: RainAnalysis) -> None:
    text = rain_sentence(found, UnitSystem.US)
    assert text.startswith("35 years of rain known well enough to count, ")
    assert re.search(
        r"the 10-year storm brings \d\.\d in within 24 h \(nine times out of ten", text
    )
    assert re.search(r"\d+ % of the official depths lie within the limits", text)
    assert " mm within 24 h" in rain_sentence(found, UnitSystem.METRIC)


def test_notes_list_repairs_and_years_left_out(found: RainAnalysis) -> None:
    notes = rain_notes(found)
    assert notes[0] == NASTY
    assert notes[1] == "Years that are not known well enough to count: 1981."
    assert len(notes) == len(set(notes))


def test_the_second_way_says_where_peaks_are_too_few() -> None:
    depth = np.zeros(366 * 40)
    depth[::500] = np.linspace(20.0, 60.0, depth[::500].size)  # not one wet day in some years
    record = RainRecord(depth, np.datetime64("2000-01-01"), 86400)
    found = analyse_rain(record, np.random.default_rng(1))
    table = fit_table(found)
    assert table is not None and table.rows
    assert all(cell == "too few" for row in table.rows for cell in row[3:])


def values_of(spec: dict[str, Any]) -> list[dict[str, Any]]:
    """All rows that a chart draws."""
    found: list[dict[str, Any]] = []

    def walk(part: object) -> None:
        if isinstance(part, dict):
            data = part.get("data")
            if isinstance(data, dict) and "values" in data:
                found.extend(data["values"])
            for value in part.values():
                walk(value)
        elif isinstance(part, list):
            for value in part:
                walk(value)

    walk(spec)
    return found


def test_the_chart_shows_what_was_computed(found: RainAnalysis) -> None:
    assert shown_durations(found) == [1, 6, 24, 72]
    rows = values_of(frequency_spec(found, UnitSystem.METRIC))
    measured = [row for row in rows if row.get("what") == "largest of each year"]
    largest = max(row["depth"] for row in measured)
    assert largest == pytest.approx(found.maxima.depth_mm.max())
    # the largest of 35 years stands at Cunnane's position
    years = max(row["years"] for row in measured)
    assert years == pytest.approx(-1 / np.log(plotting_position(35)[-1]))
    curve = [row for row in rows if "high" in row and row["years"] == 10.0]
    assert found.own.upper_mm is not None
    upper = found.own.upper_mm[found.own.duration_h.tolist().index(24.0), 3]
    assert any(row["high"] == pytest.approx(upper) for row in curve)
    table = [row for row in rows if row.get("what") == "official table"]
    assert sorted(row["depth"] for row in table) == [15, 25, 35, 37, 50, 70]  # not the 500 years


def test_the_charts_are_ones_that_the_library_of_charts_knows(found: RainAnalysis) -> None:
    import altair as alt

    assert found.mass is not None
    for spec in (
        frequency_spec(found, UnitSystem.US),
        completeness_spec(found.years, found.missing_share),
        double_mass_spec(found.mass, UnitSystem.US),
    ):
        alt.Chart.from_dict(spec, validate=True)


def test_the_other_charts(found: RainAnalysis) -> None:
    rows = values_of(completeness_spec(found.years, found.missing_share))
    bars = {row["year"]: row for row in rows if "year" in row}
    assert bars[1981]["what"] == "does not count" and bars[1982]["what"] == "counts"
    assert bars[1981]["known"] == pytest.approx(100 * (1 - 4000 / 8760))
    assert found.mass is not None
    rows = values_of(double_mass_spec(found.mass, UnitSystem.METRIC))
    assert max(row["own"] for row in rows) == pytest.approx(found.mass.own_mm[-1])


def test_the_page_needs_nothing_else(found: RainAnalysis) -> None:
    page = rain_page(found, UnitSystem.US)
    assert page.count("<svg") == 3
    assert "<script" not in page and "{{" not in page.replace("{{ 7*7 }}", "")
    assert "&lt;script&gt;alert(1)" in page
    outside = re.sub(r'xmlns(:\w+)?="[^"]*"', "", page)
    assert not re.search(r"(https?:)?//\w|@import|url\(", outside)
    for heading in ("depth of rain [in]", "official table", "second way", "Quality", "neighbour"):
        assert heading in page
    alone = rain_page(analyse_rain(hourly(34, 3), np.random.default_rng(1)), UnitSystem.METRIC)
    assert alone.count("<svg") == 2 and "official" not in alone.split("Quality of the record")[0]


def test_json_carries_it_all(found: RainAnalysis) -> None:
    form = json.loads(json.dumps(rain_analysis_form(found), allow_nan=False))
    assert (form["form"], form["form_version"]) == ("riskkit-rain", 1)
    assert len(form["annual_maxima"]["depth_mm"][0]) == len(form["annual_maxima"]["year"]) == 35
    # Weiss (1964): 1.143 for one interval; without it stands what the gauge caught
    maxima = form["annual_maxima"]
    assert maxima["fixed_interval_factor"][0] == pytest.approx(1.143, abs=0.0015)
    caught = np.array(maxima["depth_mm"][0]) / maxima["fixed_interval_factor"][0]
    assert caught.max() == pytest.approx(np.nanmax(found.record.depth_mm), rel=1e-4)
    assert form["years"]["missing_share"][0] == pytest.approx(4000 / 8760, rel=1e-5)
    inside = form["comparison"]["official_inside_limits"]
    assert np.shape(inside) == np.shape(form["comparison"]["difference_pct"])
    assert form["neighbour"]["own_over_neighbour"] == pytest.approx(1.0, abs=0.05)
    assert {"check", "figure", "limit", "verdict", "meaning"} <= set(form["quality"][0])


@pytest.fixture(scope="module")
def files(tmp_path_factory: pytest.TempPathFactory) -> Path:
    tmp_path = tmp_path_factory.mktemp("rain")
    write_rain(hourly(12, 1), tmp_path / "own.csv")
    write_rain(hourly(12, 2), tmp_path / "near.csv")
    write_rain(hourly(3, 2), tmp_path / "short.csv")
    (tmp_path / "link.csv").symlink_to(tmp_path / "own.csv")
    write_rain(replace(hourly(12, 1), name="under another name"), tmp_path / "copy.csv")
    (tmp_path / "table.csv").write_text(
        "# unit: mm\n# series: partial duration\n# source: an invented agency\n"
        "duration,1 yr,10 yr,100 yr\n1 h,15,25,37\n24 h,35,50,70\n"
    )
    return tmp_path


def test_the_command(files: Path, capsys: pytest.CaptureFixture[str]) -> None:
    own, near, table = (str(files / name) for name in ("own.csv", "near.csv", "table.csv"))
    page = files / "page.html"
    arguments = ["rain", own, "--official", table, "--neighbour", near, "--chart", str(page)]
    assert main([*arguments, "--climate", "1.5 K"]) == 0
    out = capsys.readouterr().out
    parts = ["12 years of rain", "Own analysis of the record", "Official table",
             "Own record against the official table", "a second way", "Quality of the record",
             "Note: "]  # fmt: skip
    at = [out.index(part) for part in parts]
    assert at == sorted(at)
    assert "1.5 °C (2.7 °F) warmer" in out
    assert page.read_text(encoding="utf-8").startswith("<!doctype html>")
    assert main(["rain", own, "--table", table, "--json"]) == 0  # the older name goes on
    assert json.loads(capsys.readouterr().out)["official"]["source"] == "an invented agency"


@pytest.mark.parametrize(
    ("more", "words"),
    [
        (["--neighbour", "short.csv"], "shares 3 years"),
        (["--neighbour", "none.csv"], "none.csv"),
        (["--neighbour", "own.csv"], "neighbour: it has the same rain as the record itself in 12"),
        (["--neighbour", "link.csv"], "neighbour: it has the same rain as the record itself in 12"),
        (["--neighbour", "copy.csv"], "neighbour: it has the same rain as the record itself in 12"),
        (["--climate", "40 K"], "--climate: 40 K is outside -2 to 6 K"),
        (["--chart", "own.csv"], "own.csv"),
        (["--chart", "near.csv", "--neighbour", "near.csv"], "near.csv"),
        (["--official", "near.csv"], "near.csv"),
        (["--neighbour-unit", "in"], "--neighbour-unit: there is no neighbour"),
    ],
)
def test_refusals_are_one_sentence(
    files: Path, capsys: pytest.CaptureFixture[str], monkeypatch: pytest.MonkeyPatch,
    more: list[str], words: str,
) -> None:  # fmt: skip
    monkeypatch.chdir(files)
    before = (files / "own.csv").read_bytes()
    assert main(["rain", "own.csv", *more]) == 2
    captured = capsys.readouterr()
    assert captured.out == "" and captured.err.count("\n") == 1 and words in captured.err
    assert (files / "own.csv").read_bytes() == before


@pytest.mark.parametrize("name", ["chart", "official", "neighbour"])
def test_a_look_needs_a_record(name: str, capsys: pytest.CaptureFixture[str]) -> None:
    assert main(["rain", "--near", "40,-88", f"--{name}", "x.csv"]) == 2
    assert f"--{name}: there is no record" in capsys.readouterr().err


def test_a_warmer_climate_reaches_a_home(
    demo_sites: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    home = str(demo_sites / "split_level_on_clay.toml")
    forms = []
    for k in ("0 K", "2 K"):
        assert main(["assess", home, "--draws", "32", "--json", "--climate", k]) == 0
        forms.append(json.loads(capsys.readouterr().out))
    now, warm = (np.array(form["rain"]["depth_mm"]) for form in forms)
    np.testing.assert_allclose(warm, 1.1449 * now, rtol=1e-5)
    assert any("2 °C (3.6 °F) warmer" in text for text in forms[1]["warnings"])
    assert [
        form["sentence"].startswith("In a climate 2 °C (3.6 °F) warmer: with ") for form in forms
    ] == [
        False,
        True,
    ]
    assert main(["assess", home, "--climate", "nan"]) == 2


@pytest.mark.usefixtures("quick_sheet")
def test_the_climate_of_a_home_file_holds_unless_the_command_says_otherwise(
    demo_sites: Path, tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    path = tmp_path / "home.toml"
    text = (demo_sites / "split_level_on_clay.toml").read_text()
    path.write_text(text.replace("[rain]", '[rain]\nclimate = "20 %"'))
    for data in demo_sites.glob("alder_bend_*.csv.gz"):
        shutil.copy(data, tmp_path)
    for more, factor, words in [
        ((), 1.2, "With 20 % more rain in storms: with "),
        (("--climate", "3.6 °F"), 1.1449, "In a climate 2 °C (3.6 °F) warmer: "),
        (("--climate", "0 %"), 1.0, "With the pump working"),
    ]:
        assert main(["assess", str(path), "--draws", "16", "--json", *more]) == 0
        form = json.loads(capsys.readouterr().out)
        assert form["sentence"].startswith(words)
        assert form["rain"]["climate_factor"] == pytest.approx(factor)
    sheet = tmp_path / "sheet.html"
    assert main(["handout", str(path), "--html", str(sheet)]) == 0
    assert "With 20 % more rain in storms: the pump very likely carries" in sheet.read_text()
    home = load_home(path)
    changed = home.changed(rain__climate="1 K")
    save_home(changed, path, home)
    assert 'climate = "1 K"' in path.read_text()
    save_home(changed.changed(rain__climate=None), path, changed)
    assert "climate" not in path.read_text()
    path.write_text(path.read_text().replace("[rain]", '[rain]\nclimate = "warm"'))
    assert main(["assess", str(path)]) == 2
    err = capsys.readouterr().err
    assert err.count("\n") == 1 and "rain.climate" in err and '"2 °C"' in err


def test_one_is_one_and_no_difference_has_no_sign() -> None:
    assert counted(1, "year", "years") == "1 year"
    assert [counted(n, "year", "years") for n in (0, 2)] == ["0 years", "2 years"]
    assert [signed_percent(v) for v in (-0.4, 0.4, -0.6, 1.5)] == ["0", "0", "-1", "+2"]
