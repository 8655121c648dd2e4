"""A home with two pumps: its minutes are those with both stopped, and every surface says so."""

from __future__ import annotations

import datetime
import html
import io
import re
from dataclasses import replace
from pathlib import Path
from typing import Any

import pytest
from rich.console import Console

from riskkit.assessment import Assessment, Settings, assess, design_rain
from riskkit.home.home import load_home
from riskkit.quantities.units import UnitSystem
from riskkit.report.charts import level_spec
from riskkit.report.handout import estimator_sheet, owner_sheet
from riskkit.report.key_figure import key_figure
from riskkit.report.moving import pictures
from riskkit.report.next_words import next_lines
from riskkit.report.page import assessment_page
from riskkit.report.sheet import sheet_html
from riskkit.report.state_words import owner_time_words
from riskkit.report.stop_words import has_second_pump
from riskkit.report.storm_rows import depth_table, stopped_table
from riskkit.report.takeaway import takeaway_page
from riskkit.report.terminal import print_assessment
from riskkit.report.words import sentence

US, DAY = UnitSystem.US, datetime.date(2026, 4, 20)
SECOND = {"second_pump__runs_on": "battery", "second_pump__on": "10 in"}
HOMES: dict[str, dict[str, Any]] = {
    "one": {},
    "none told": {"second_pump__runs_on": "none"},
    "two": SECOND,
    "two, no alarm": {**SECOND, "switch__alarm": "none"},
}


@pytest.fixture(scope="module")
def found(demo_sites: Path) -> dict[str, Assessment]:
    home = load_home(demo_sites / "row_house_near_creek.toml")
    rain, few = design_rain(home, demo_sites).used, Settings(n_draws=32)
    return {name: assess(home.changed(**more), rain, few) for name, more in HOMES.items()}


def printed(answer: Assessment) -> str:
    console = Console(file=io.StringIO(), width=500, record=True)
    print_assessment(answer, console, US)
    return console.export_text()


def animation(answer: Assessment) -> dict[str, Any]:
    return pictures(answer, US, stopped=True)[1]


def told_by_page(page: str) -> str:
    """What the figures of a take-away page say; its script knows the words of every home."""
    return " ".join(re.findall(r'"(?:of|short)":"([^"]*)"', page))


SURFACES = {
    "sentence": sentence,
    "short sentence": lambda answer: key_figure(answer).short,
    "of what": lambda answer: key_figure(answer).when,
    "terminal": printed,
    "page": lambda answer: html.unescape(assessment_page(answer, US)),
    "handout": lambda answer: html.unescape(sheet_html(owner_sheet(answer, (), DAY, US))),
    "sheet": lambda answer: html.unescape(sheet_html(estimator_sheet(answer, (), DAY, US))),
    "take-away": lambda answer: told_by_page(takeaway_page(answer, (), DAY, US)),
    "time table": lambda answer: stopped_table(answer).title,
    "depth table": lambda answer: depth_table(answer, US).title,
    "steps": lambda answer: " ".join(step["title"] for step in animation(answer)["steps"]),
    "next": lambda answer: "\n".join(next_lines(answer, None, US)),
}


@pytest.mark.parametrize("surface", SURFACES)
def test_both_pumps_stop_where_there_are_two(found: dict[str, Assessment], surface: str) -> None:
    for name, answer in found.items():
        said = SURFACES[surface](answer).lower()
        two = name.startswith("two")
        assert has_second_pump(answer.home) is two
        assert ("both pumps stop" in said) is two, (name, said[:500])
        for words in ("if the pump stops", "if it stops", "pump stops: time", "the pump stopped"):
            assert not (two and words in said), (name, words)


def test_the_legend_of_the_chart_names_what_stops(found: dict[str, Assessment]) -> None:
    for name, answer in found.items():
        spec = level_spec(answer, US, 10.0)
        said = {row["what"] for row in spec["datasets"]["lines"]}
        stops = "both pumps stopped" if name.startswith("two") else "pump stopped"
        assert said == {"pump working", stops}
        domains = [
            layer["encoding"]["color"]["scale"]["domain"]
            for chart in spec["vconcat"]
            for layer in chart.get("layer", [])
            if "scale" in layer["encoding"].get("color", {})
        ]
        assert domains and all(stops in domain for domain in domains)


def test_the_picture_and_the_owner_are_told_of_both(found: dict[str, Assessment]) -> None:
    for name, start in (("two", "Both pumps"), ("two, no alarm", "Neither pump starts")):
        assert f". {start}" in animation(found[name])["sentence"]
    assert owner_time_words(found["two"]).endswith("if both pumps stop.")
    silent = key_figure(found["two, no alarm"])
    assert silent.of == "from when both pumps stop to water on the floor"
    for name in ("one", "none told"):
        assert "both pumps" not in animation(found[name])["sentence"].lower()
        assert "two_pumps" not in animation(found[name])


def test_words_alone_tell_the_homes_apart(found: dict[str, Assessment]) -> None:
    """The minutes do without the second pump, so the same answer is said in other words."""
    one, two = found["one"], found["two"]
    assert one.headline_storm.worst_stop.to_floor_s == two.headline_storm.worst_stop.to_floor_s
    as_one = replace(two, home=one.home)
    assert sentence(as_one) == sentence(two).replace("both pumps stop", "the pump stops")
