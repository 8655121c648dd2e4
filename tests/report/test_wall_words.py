"""What walls do, in the words of sheets and terminal, and in JSON."""

from __future__ import annotations

import json
from pathlib import Path
from typing import Any

import jsonschema
import pytest

from riskkit.cli.main import main
from riskkit.home.home import Home
from riskkit.home.walls import wall_trend
from riskkit.quantities.units import UnitSystem
from riskkit.report.answer_form import Wall, answer_schema
from riskkit.report.visit_words import visit_alerts, visit_lines
from riskkit.report.wall_words import wall_alerts, wall_lines

US, METRIC = UnitSystem.US, UnitSystem.METRIC


def home(*walls: dict[str, Any]) -> Home:
    visits = [
        {"date": f"{2025 + i}-04-14", "wall": [{"place": "north wall", "kind": "bow", **wall}]}
        for i, wall in enumerate(walls)
    ]
    return Home().changed(visit=visits)


GROWN = home(
    {"size": "0.25 in", "method": "plumb line"}, {"size": "0.50 in", "method": "plumb line"}
)


def test_growth_is_told_with_its_size_and_both_readings() -> None:
    (head, words), (_, marks) = wall_lines(GROWN, US)
    assert head == "Wall, north wall (bow):"
    sizes = "0.25 in on April 14, 2025, then 0.50 in on April 14, 2026"
    assert words == f"{sizes} (plumb line and rule)."
    assert wall_alerts(GROWN, US) == (
        "Wall, north wall (bow): The bow has grown by 0.25 in in 12 months (give or take 0.08 in). "
        "That is 1/8 in or more in a year. Call a structural engineer now.",
    )
    assert "1 in or 1/8 in more in a year (bow)" in marks
    assert "our judgement, on the careful side" in marks
    assert "grown by 6.3 mm in 12 months (give or take 2.0 mm)" in wall_alerts(GROWN, METRIC)[0]
    assert "25 mm or 3 mm more in a year" in wall_lines(GROWN, METRIC)[1][1]


def test_growth_below_the_mark_is_told_and_is_to_be_looked_at() -> None:
    told = home({"size": "10 mm", "method": "laser"}, {"size": "11.6 mm", "method": "laser"})
    (words,) = wall_alerts(told, METRIC)
    assert "has grown by 1.6 mm in 12 months" in words
    assert words.endswith("Have it looked at by a structural engineer.")


@pytest.mark.parametrize(
    ("second", "words"),
    [
        ("11.5 mm", "cannot tell: it may have grown by up to 3.5 mm in 12 months. One can be off "
                    "by 2.0 mm. Measure again, with a finer method"),
        ("10.2 mm", "No growth in 12 months that a reading can show (it can be off by 2.0 mm)."),
        ("7 mm", "It reads 3.0 mm less than last time. A wall seldom moves back"),
    ],
)  # fmt: skip
def test_what_readings_leave_open_is_said(second: str, words: str) -> None:
    told = home(*({"size": size, "method": "plumb line"} for size in ("10 mm", second)))
    assert words in wall_lines(told, METRIC)[0][1]
    assert wall_alerts(told, METRIC) == ()


def test_readings_too_near_in_time_ask_for_another() -> None:
    visits = [
        {"date": day, "wall": [
            {"place": "north wall", "kind": "bow", "size": "10 mm", "method": "plumb line"}]}
        for day in ("2026-02-14", "2026-04-14")
    ]  # fmt: skip
    words = wall_lines(Home().changed(visit=visits), METRIC)[0][1]
    assert "up to 2.0 mm in 2 months. They are too close in time. Measure again" in words


def test_bracing_that_nobody_checked_is_said() -> None:
    told = home({"size": "10 mm", "bracing": "two steel posts"}, {"size": "10 mm"})
    words = wall_lines(told, METRIC)[0][1]
    assert "Braced: two steel posts." in words
    assert "The bracing was not checked for movement." in words
    moved = home({"bracing": "two steel posts", "bracing_moved": "yes"})
    assert "The bracing has moved. Call a structural engineer now." in wall_alerts(moved, US)[0]


def test_a_fresh_crack_with_offset_stands_first_among_the_alerts() -> None:
    visit = {
        "date": "2026-04-14",
        "wall": [
            {"place": "east", "kind": "bow", "size": "24 mm"},
            {"place": "west", "kind": "crack", "offset": "yes", "fresh": "yes"},
        ],
    }
    first, second = visit_alerts(Home().changed(visit=[visit]), METRIC)
    assert first == (
        "Wall, west (crack): It is a fresh crack and one side stands out. Call a structural "
        "engineer now."
    )
    assert "so near 25 mm that it may be as much" in second


def test_the_sheet_says_it_once() -> None:
    assert visit_alerts(GROWN, US) == wall_alerts(GROWN, US)
    lines = dict(visit_lines(GROWN, US))
    assert dict(wall_lines(GROWN, US)).items() <= lines.items()
    assert "grown" not in lines["Wall, north wall (bow):"]
    moved = dict(visit_lines(home({"bracing_moved": "yes"}), US))
    assert "Wall, north wall (bow):" not in moved  # nothing is left to say of it
    still = home({"size": "10 mm"})
    assert "cannot show if it moves" in dict(visit_lines(still, US))["Wall, north wall (bow):"]


def test_json_holds_numbers_and_codes() -> None:
    (trend,) = wall_trend(GROWN.visit)
    wall = Wall.model_validate(trend).model_dump(mode="json")
    assert wall["readings"][0] == {
        "date": "2025-04-14", "size_m": 0.00635, "method": "plumb line", "error_m": 0.002,
    }  # fmt: skip
    assert wall["since_last"] == {
        "since": "2025-04-14", "years": pytest.approx(1.0, abs=0.01), "growth_m": 0.00635,
        "error_m": 0.002, "in_two_ways": False,
    }  # fmt: skip
    assert wall["movement"] == "grows"
    assert wall["call"] == "call a structural engineer now"
    assert wall["reasons"] == ["growth at the mark"]


@pytest.mark.usefixtures("demo_rain")
def test_terminal_and_json_of_a_home_with_a_wall_that_moves(
    demo_sites: Path,
    tmp_path: Path,
    quick_visit: tuple[str, ...],
    capsys: pytest.CaptureFixture[str],
) -> None:
    text = (demo_sites / "row_house_near_creek.toml").read_text("utf-8")
    text = text.replace('size = "1.2 mm"', 'size = "2.6 mm"')
    path = tmp_path / "home.toml"
    path.write_text(text, "utf-8")
    assert main(["visit", str(path), "--units", "metric", *quick_visit]) == 0
    visit = " ".join(capsys.readouterr().out.split())
    assert main(["assess", str(path), "--units", "metric", "--draws", "64"]) == 0
    told = " ".join(capsys.readouterr().out.split())
    for out in (visit, told):
        assert "The crack has grown by 1.6 mm in 12 months" in out
        assert "Call a structural engineer now." in out
    assert main(["assess", str(path), "--json", "--draws", "64"]) == 0
    form = json.loads(capsys.readouterr().out)
    jsonschema.validate(form, answer_schema())
    assert form["walls"][0]["call"] == "call a structural engineer now"
