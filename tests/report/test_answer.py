"""The answer as words, tables, JSON and a page."""

from __future__ import annotations

import html
import json
import re
import xml.etree.ElementTree as ElementTree
from pathlib import Path

import jsonschema
import pytest
from points import of_512

from riskkit.assessment import Assessment, Settings, assess, design_rain
from riskkit.cli.main import main
from riskkit.ensemble.quantiles import Points
from riskkit.home.home import load_home
from riskkit.quantities.units import UnitSystem
from riskkit.report.answer_form import answer_schema
from riskkit.report.json import assessment_form
from riskkit.report.number_words import about_flow
from riskkit.report.page import assessment_page
from riskkit.report.time_words import about_duration, chance_and_time, minutes_words
from riskkit.report.words import sentence

NEVER = float("inf")


@pytest.mark.parametrize(
    ("seconds", "words"),
    [
        (10, "less than 1 minute"), (45, "less than 2 minutes"), (100, "2 minutes"),
        (520, "9 minutes"), (2050, "35 minutes"), (5300, "1.5 hours"), (7200, "2 hours"),
        (40000, "11 hours"), (86000, "24 hours"), (250000, "more than a day"), (NEVER, "never"),
    ],
)  # fmt: skip
def test_durations_as_people_say_them(seconds: float, words: str) -> None:
    assert about_duration(seconds) == words


def test_spread_in_words() -> None:
    assert chance_and_time(of_512(1300, 2050, 4100)) == (
        "chance more than 99 in 100; within about 20 minutes in 1 of 10 cases, about 35 minutes in "
        "half"
    )
    some = of_512(1300, 9000, NEVER, 0.2, Points(1300, 2050, 14000))
    assert minutes_words(some) == "2.5 h (20 min to never)"
    assert about_flow(43 * 231 * 0.0254**3 / 60, UnitSystem.US) == "43 gpm"


def test_the_sentence_says_what_each_demo_home_is_about(answers: dict[str, Assessment]) -> None:
    creek = sentence(answers["row_house_near_creek"])
    assert re.search(
        r"(about 9\d in 100|more than 99 in 100) that water reaches the floor: "
        r"(within|in \d+ of \d+ cases first where wall and floor meet)",
        creek,
    )
    assert re.search(
        r"The ground water stands above the floor: in dry weather too, if the pump stops, the "
        r"chance is about [78] in 10 that it comes up onto the floor: more than a day", creek
    )  # fmt: skip
    sand = sentence(answers["bungalow_on_sand"])
    assert re.search(r"chance is about [2-4] in 10 that water reaches the floor: within", sand)
    assert "In dry weather the chance is less than 1 in 100" in sand
    for answer in answers.values():
        said = sentence(answer)
        assert said.endswith(".") and len(re.findall(r"\.(?= |$)", said)) == 3
        assert "inf" not in said and "nan" not in said


def test_demo_homes_are_what_their_readme_says(answers: dict[str, Assessment]) -> None:
    creek, sand = answers["row_house_near_creek"], answers["bungalow_on_sand"]
    assert creek.dry_s.never_share < 0.6 and creek.dry_inflow_m3_s.low > 0  # runs all year
    assert sand.dry_s.never_share > 0.99
    clay, unknown = answers["split_level_on_clay"], answers["home_just_met"]
    assert (
        sand.headline_storm.pump_working.peak_use.median
        < 0.6 * clay.headline_storm.pump_working.peak_use.median
    )

    def width(answer: Assessment) -> float:
        peak = answer.headline_storm.pump_working.peak_inflow_m3_s
        return peak.high / peak.low

    assert width(unknown) > width(clay) > width(creek)


def test_json_follows_its_schema_and_says_the_same(answers: dict[str, Assessment]) -> None:
    for answer in answers.values():
        form = assessment_form(answer)
        text = json.dumps(form, allow_nan=False)
        jsonschema.validate(json.loads(text), answer_schema())
        storm, shown = answer.headline_storm, form["storms"][3]
        assert shown["return_period_yr"] == storm.return_period_yr == 10
        time = shown["pump_stopped"]["alarm_to_floor_worst_s"]
        if storm.worst_stop.to_floor_s.median == NEVER:
            assert time["median"] is None
        else:
            assert time["median"] == pytest.approx(storm.worst_stop.to_floor_s.median, rel=1e-5)
        ever = storm.worst_stop.to_floor_s.if_ever
        assert ever is not None
        assert time["if_ever"]["high"] == pytest.approx(ever.high, rel=1e-5)
        for spread in (time, shown["pump_stopped"]["alarm_to_floor_typical_s"]):
            assert spread["if_ever"]["high"] is not None  # a time that comes is never 'never'


def test_page_needs_nothing_else_and_says_the_same(answers: dict[str, Assessment]) -> None:
    answer = answers["row_house_near_creek"]
    page = assessment_page(answer, UnitSystem.METRIC)
    assert html.escape(sentence(answer), quote=False) in page
    assert not re.search(r"<script|<link|@import|src=|url\(", page)
    assert set(re.findall(r'https?://[^"\s<]+', page)) <= {
        "http://www.w3.org/2000/svg",
        "http://www.w3.org/1999/xlink",
    }
    svg = page[page.index("<svg") : page.index("</svg>") + 6]
    assert ElementTree.fromstring(svg).tag.endswith("svg")  # noqa: S314 - our own drawing


@pytest.mark.usefixtures("demo_rain")
def test_text_of_the_file_is_escaped(tmp_path: Path, demo_sites: Path) -> None:
    text = (demo_sites / "bungalow_on_sand.toml").read_text(encoding="utf-8")
    evil = '<script>alert(1)</script> & [bold red]x[/] "q"'
    text = text.replace("Bungalow on sand, Alder Bend", evil.replace('"', '\\"'))
    home = tmp_path / "home.toml"
    home.write_text(text, encoding="utf-8")
    page = tmp_path / "page.html"
    assert main(["assess", str(home), "--draws", "32", "--html", str(page)]) == 0
    written = page.read_text(encoding="utf-8")
    assert "<script>" not in written and "&lt;script&gt;" in written


@pytest.mark.usefixtures("demo_rain")
def test_terminal_prints_text_as_it_is(
    demo_sites: Path, tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    text = (demo_sites / "bungalow_on_sand.toml").read_text(encoding="utf-8")
    home = tmp_path / "home.toml"
    home.write_text(
        text.replace("Bungalow on sand, Alder Bend", "[red]Home[/red] :smile:"),
        encoding="utf-8",
    )
    assert main(["assess", str(home), "--draws", "32", "--units", "metric"]) == 0
    out = capsys.readouterr().out
    assert out.startswith("[red]Home[/red] :smile:\n")
    assert "(judgement)" in out and " gpm" not in out.split("Where the numbers")[0]
    parts = (
        "at the worst moment",
        "The pump very likely carries",  # water may come in at the joint
        "With the pump working",
        "Where the numbers",
    )
    places = [out.index(part) for part in parts]
    assert places == sorted(places)


def test_json_of_the_command(demo_sites: Path, capsys: pytest.CaptureFixture[str]) -> None:
    home = str(demo_sites / "split_level_on_clay.toml")
    assert main(["assess", home, "--draws", "32", "--json", "--pattern", "type-ii"]) == 0
    form = json.loads(capsys.readouterr().out)
    jsonschema.validate(form, answer_schema())
    assert form["settings"]["pattern"] == "NRCS type II"
    record = str(demo_sites / "alder_bend_rain.csv.gz")
    assert main(["rain", record, "--json"]) == 0
    form = json.loads(capsys.readouterr().out)
    assert form["form"] == "riskkit-rain" and len(form["table"]["depth_mm"]) == 12


def test_official_table_goes_before_and_stands_beside(
    demo_sites: Path, tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    table = tmp_path / "official.csv"
    table.write_text(
        "# unit: mm\n# series: partial duration\n# source: an invented agency\n"
        "duration,1 yr,10 yr,100 yr\n5 min,8,15,21\n1 h,30,50,75\n"
        "24 h,60,100,150\n72 h,80,130,190\n"
    )
    home = str(demo_sites / "split_level_on_clay.toml")
    assert main(["assess", home, "--draws", "32", "--table", str(table)]) == 0
    out = capsys.readouterr().out
    assert "an invented agency" in out
    assert "Own record against the official table" in out


def test_schemas_of_the_command(capsys: pytest.CaptureFixture[str]) -> None:
    for what in ("home", "answer"):
        assert main(["schema", what]) == 0
        jsonschema.Draft202012Validator.check_schema(json.loads(capsys.readouterr().out))


def test_a_closed_drain_is_told_though_the_pump_works(demo_sites: Path) -> None:
    """Behind it the water stands at the wall, whatever the pump does."""
    home = load_home(demo_sites / "split_level_on_clay.toml").changed(drain__open_share="0 %")
    answer = assess(home, design_rain(home, demo_sites), Settings((10.0,), n_draws=32))
    assert answer.headline_storm.pump_working.joint_share > 0.5
    said = sentence(answer)
    assert ", but in a 10-year storm the chance is" in said.split(". ")[0]
    assert "that water comes in where wall and floor meet. If the pump stops" in said
