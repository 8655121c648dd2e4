"""A failed alarm, and parts that are not there, on every surface: the state comes first."""

from __future__ import annotations

import json
import shutil
from pathlib import Path
from typing import Any

import jsonschema
import numpy as np
import pytest

from riskkit.assessment import Assessment, Settings, assess, design_rain
from riskkit.cli.main import main
from riskkit.errors import NoPitError
from riskkit.home.home import Home, load_home
from riskkit.options.remedies import Remedy, try_remedies
from riskkit.quantities.units import UnitSystem
from riskkit.report.answer_form import answer_schema
from riskkit.report.charts import level_spec
from riskkit.report.handout import estimator_sheet, owner_sheet
from riskkit.report.json import assessment_form
from riskkit.report.page import assessment_page
from riskkit.report.picture_words import time_words
from riskkit.report.remedy_words import gain_words
from riskkit.report.sheet import Grid, sheet_html
from riskkit.report.storm_rows import paths_table, stopped_table
from riskkit.report.time_words import chance_words
from riskkit.report.words import sentence
from riskkit.widgets.views import answer_blocks

US = UnitSystem.US
FEW = Settings(n_draws=64, return_periods_yr=(2.0, 10.0, 100.0))
SILENT = "The alarm did not sound: there is no warning."
STATES: dict[str, dict[str, Any]] = {
    "silent": {"visit": [{"date": "2026-04-14", "checks": {"alarm_sounded": "no, corroded"}}]},
    "no alarm": {"switch__alarm": "no alarm"},
    "no pump": {"pump__rated_flow": "no pump"},
    "neither": {"pump__rated_flow": "none", "switch__alarm": "none"},
}
STUCK = {"visit": [{"date": "2026-04-14", "checks": {"float_free": "no, stuck"}}]}


@pytest.fixture(scope="module")
def home(demo_sites: Path) -> Home:
    return load_home(demo_sites / "split_level_on_clay.toml")


@pytest.fixture(scope="module")
def found(home: Home, demo_sites: Path) -> dict[str, Assessment]:
    rain = design_rain(home, demo_sites)
    return {
        name: assess(home.changed(**values), rain, FEW)
        for name, values in {"well": {}, **STATES}.items()
    }


@pytest.fixture(scope="module")
def tried(found: dict[str, Assessment]) -> tuple[Remedy, ...]:
    return try_remedies(found["silent"])


def test_the_sentence_says_the_state_first_and_counts_from_the_stop(
    found: dict[str, Assessment],
) -> None:
    said = sentence(found["silent"])
    assert said.startswith(SILENT)
    stop = found["silent"].headline_storm.worst_stop.to_floor_s
    assert stop.if_ever is not None
    assert "If the pump stops in a 10-year storm" in said and "after the pump stops" in said
    assert "alarm" not in sentence(found["silent"], state_first=False)
    # the minutes are those of the model from the stop, not those from the alarm under another name
    alarm = found["well"].headline_storm.worst_stop.to_floor_s.if_ever
    assert alarm is not None and stop.if_ever.median > 1.3 * alarm.median
    assert sentence(found["no alarm"]).startswith("There is no alarm: there is no warning.")


def test_a_pump_that_lifts_nothing_is_told_as_dead_before_it_is_told_as_working(
    found: dict[str, Assessment], home: Home, demo_sites: Path
) -> None:
    answer = assess(home.changed(**STUCK), design_rain(home, demo_sites), FEW)
    said = sentence(answer, state_first=False)
    assert said.startswith("As it was left, the pump may lift no water: then in a 10-year storm")
    dead = chance_words(answer.headline_storm.dead_before.rain_to_floor_s)
    assert said.index(dead) < said.index("Once it is in order: with the pump working")
    assert "after the rain begins" in said[: said.index("Once")]
    for name in ("well", "silent", "no pump"):
        assert "As it was left" not in sentence(found[name])


def test_without_a_pump_nothing_is_said_of_one(found: dict[str, Assessment]) -> None:
    said = sentence(found["no pump"])
    assert said.startswith("There is no pump. Without a pump, ")
    assert "after the alarm" in said and "pump stops" not in said and "pump working" not in said
    both = sentence(found["neither"])
    assert "after the rain begins" in both
    assert "the alarm" not in both and "pump stops" not in both


@pytest.mark.parametrize("name", STATES)
def test_json_holds_codes_and_only_the_time_that_counts(
    found: dict[str, Assessment], name: str
) -> None:
    form = json.loads(json.dumps(assessment_form(found[name]), allow_nan=False))
    jsonschema.validate(form, answer_schema())
    clock = form["state"]["time_counted_from"]
    clocks = {"silent": "stop", "no alarm": "stop", "no pump": "alarm", "neither": "rain"}
    assert clock == clocks[name]
    for storm in form["storms"]:
        times = {k: v for k, v in storm["pump_stopped"].items() if "_to_floor_worst" in k}
        assert [k for k, v in times.items() if v is not None] == [f"{clock}_to_floor_worst_s"]
        assert (storm["pump_working"]["alarm_share"] is None) == (name != "no pump")
    faults = [finding["fault"] for finding in form["state"]["findings"]]
    wanted = {
        "silent": ["alarm_silent"], "no alarm": ["no_alarm"], "no pump": ["no_pump"],
        "neither": ["no_pump", "no_alarm"],
    }  # fmt: skip
    assert faults == wanted[name]
    assert form["state"]["alarm_can_be_counted_on"] == (name == "no pump")
    if name == "silent":
        (finding,) = form["state"]["findings"]
        assert finding["found_on"] == "2026-04-14" and finding["note"] == "corroded"


def test_the_pages_say_the_state_before_the_sentence(
    found: dict[str, Assessment], tried: tuple[Remedy, ...], day: Any
) -> None:
    answer = found["silent"]
    for text in (
        assessment_page(answer, US),
        sheet_html(owner_sheet(answer, tried, day, US)),
        sheet_html(estimator_sheet(answer, tried, day, US)),
    ):
        body = text.partition("<body")[2]
        assert body.count(SILENT) >= 1
        assert body.index(SILENT) < body.index("if the pump stops in a 10-year storm")
        for words in ("from the alarm", "after the alarm", ">alarm sounds<", "When the alarm"):
            assert words not in body.partition("Cautions")[0], words


@pytest.mark.parametrize("name", STATES)
def test_tables_have_no_column_of_what_is_not_there(
    found: dict[str, Assessment], tried: tuple[Remedy, ...], day: Any, name: str
) -> None:
    answer = found[name]
    heads = [head for block in answer_blocks(answer, US) for head in block.get("head", ())]
    working = next(
        block
        for block in estimator_sheet(answer, tried, day, US).blocks
        if isinstance(block, Grid) and "peak inflow" in block.table.head
    )
    for shown in (heads, working.table.head):
        assert ("alarm sounds" in shown) == (name == "no pump")
        assert ("of pump capacity" in shown) == (name in ("silent", "no alarm"))
    assert all(len(row) == len(working.table.head) for row in working.table.rows)
    # without a pump nothing stops in dry weather, and no moment is worse than another
    has_pump = name in ("silent", "no alarm")
    times = stopped_table(answer)
    assert (times.rows[-1][0] == "dry weather") == has_pump
    assert (times.head == ("storm", "time", "reached")) != has_pump
    assert ("works: over the rim" in paths_table(answer).head) == has_pump
    if not has_pump:  # what overflows the pit is on the floor
        for storm in answer.storms:
            assert 1.0 - storm.pump_working.floor_dry_share == pytest.approx(
                1.0 - storm.worst_stop.to_rim_s.never_share
            )
            assert (
                storm.worst_stop.to_floor_s.never_share
                <= storm.pump_working.floor_dry_share + 1e-12
            )
            assert (
                storm.worst_stop.to_floor_s.never_share
                <= 1.0 - storm.pump_working.joint_share + 1e-12
            )


def test_the_chart_marks_no_alarm_that_is_not_there(found: dict[str, Assessment]) -> None:
    def marks(name: str) -> str:
        spec = level_spec(found[name], US, 10.0)
        return " ".join(mark["name"] for mark in spec["datasets"]["marks"])

    assert "alarm" in marks("well")
    assert "alarm" not in marks("no alarm") and "pump" not in marks("neither")
    silent = found["silent"]
    floods = np.isfinite(silent.headline_storm.trace.to_floor_s)
    assert ("floor" in time_words(silent).split(". ")[0]) == floods
    assert "alarm" not in time_words(silent)


def home_file(tmp_path: Path, demo_sites: Path, more: str = "", **changes: str) -> Path:
    text = (demo_sites / "split_level_on_clay.toml").read_text("utf-8")
    for rain in demo_sites.glob("alder_bend_*"):
        shutil.copy(rain, tmp_path)
    for old, new in changes.items():
        text = text.replace(old, new)
    path = tmp_path / "home.toml"
    path.write_text(text + more, "utf-8")
    return path


VISIT = """
[[visit]]
date = "2026-04-14"

[visit.checks]
alarm_sounded = "no, corroded contact"
check_valve_holds = { found = "no, stuck open", done = "replaced", left = "yes" }
pump_back_on = "yes"
"""


def test_the_commands_say_the_state_first(
    tmp_path: Path,
    demo_sites: Path,
    quick_visit: tuple[str, ...],
    capsys: pytest.CaptureFixture[str],
) -> None:
    path = home_file(tmp_path, demo_sites, VISIT)
    assert main(["assess", str(path), "--draws", "64"]) == 0
    said = " ".join(capsys.readouterr().out.split())
    assert f"Put this in order first ! {SILENT} Note: corroded contact." in said
    assert said.index(SILENT) < said.index("With the pump working")
    assert "time from when the pump stops to water on the floor" in said
    assert main(["visit", str(path), *quick_visit]) == 0
    said = capsys.readouterr().out
    lines = said.splitlines()
    assert lines[1].startswith("Visit of ")  # the state comes first
    assert lines[0] == f"First: {SILENT} Note: corroded contact."
    assert "Check: Check valve holds: found: no (stuck open), done: replaced, left: yes." in lines
    before, after = (next(li for li in lines if li.startswith(w)) for w in ("Before the", "Now:"))
    assert SILENT not in before and after.startswith(f"Now: {SILENT}")


def test_no_pit_is_answered_in_one_sentence(
    tmp_path: Path, demo_sites: Path, capsys: pytest.CaptureFixture[str], home: Home
) -> None:
    no_pit = {'diameter = "18 in, measured"': 'diameter = "no pit"'}
    path = home_file(tmp_path, demo_sites, **no_pit)
    assert main(["assess", str(path)]) == 0
    said = capsys.readouterr().out
    assert said.splitlines()[1:] == [str(NoPitError())]
    assert main(["assess", str(path), "--json"]) == 0
    form = json.loads(capsys.readouterr().out)
    jsonschema.validate(form, answer_schema())
    assert form["sentence"] == str(NoPitError()) and form["state"]["absent"] == ["pit"]
    assert form["state"]["findings"] == []
    assert main(["handout", str(path), "--html", str(tmp_path / "x.html")]) == 2
    assert str(NoPitError()) in capsys.readouterr().err
    with pytest.raises(NoPitError):
        assess(home.changed(pit__diameter="none"), design_rain(home, demo_sites), FEW)


def test_full_json_without_a_pit_must_not_pass_for_an_answer(found: dict[str, Assessment]) -> None:
    form = assessment_form(found["silent"])
    bare = {key: form[key] for key in list(form)[:6]}
    with pytest.raises(jsonschema.ValidationError):
        jsonschema.validate(bare, answer_schema())


@pytest.mark.parametrize(("name", "sounds", "stops"), [
    ("silent", False, True), ("no alarm", False, True), ("no pump", True, False),
    ("neither", False, False),
])  # fmt: skip
def test_json_tells_no_time_of_what_is_not_there(
    found: dict[str, Assessment], name: str, sounds: bool, stops: bool
) -> None:
    for storm in assessment_form(found[name])["storms"]:
        stopped, dead = storm["pump_stopped"], storm["pump_stopped"]["dead_before_storm"]
        assert (stopped["stop_to_alarm_worst_s"] is not None) == (sounds and stops)
        assert (dead["rain_to_alarm_s"] is not None) == (dead["alarm_to_floor_s"] is not None)
        assert (dead["rain_to_alarm_s"] is not None) == sounds
        assert dead["rain_to_floor_s"] is not None


def test_no_remedy_of_a_pump_is_tried_where_there_is_none(found: dict[str, Assessment]) -> None:
    remedies = try_remedies(found["no pump"])
    said = " ".join(words for remedy in remedies for words in gain_words(remedy))
    assert said and "pump" not in said
    keys = {remedy.change.name for remedy in remedies}
    assert keys and not keys & {"pump", "check_valve", "outlet"}
