"""A home with a broken system through the years: its state comes first, and it is due now."""

from __future__ import annotations

import json
import re
from pathlib import Path
from typing import Any

import jsonschema
import pytest

import riskkit as rk
from riskkit.cli.main import main
from riskkit.home.home import Home
from riskkit.options.replays import YearsStudy, years_study
from riskkit.quantities.units import UnitSystem
from riskkit.report.replay_form import replay_schema
from riskkit.report.replay_json import replay_form
from riskkit.report.replay_view import lead_lines, replay_page
from riskkit.report.replay_words import due_line, replay_sentence, season_line
from riskkit.risk.system_state import Fault
from riskkit.widgets import years_view
from riskkit.widgets.years_view import HomeYears, years_blocks
from riskkit.years.calendar import VisitSeason
from tests.replay.made import clay, rain_of, record_of
from tests.replay.test_command import HEAVY, home, options

__all__ = ["home"]

FEW = rk.ReplaySettings(n_draws=8)
RAIN = rain_of(record_of({9000: HEAVY, 13000: HEAVY, 22000: HEAVY}))
SILENT = "The alarm did not sound: there is no warning."
STUCK = "The float sticks: the pump may not start, and the alarm may not sound."
# The float stands before the alarm in the list of faults; both are dangers
CHECKS = {
    "alarm_sounded": "no",
    "float_free": "no",
    "check_valve_holds": "no",
    "pump_back_on": "yes",
}
DUE = (
    "Due now, whatever the season: free or change the float, put the alarm in order and change the "
    "check valve."
)
SVG = '<svg xmlns="http://www.w3.org/2000/svg" width="8" height="8"></svg>'
ANY_TIME = "as good at any time"
ALL_YEAR = VisitSeason(first_week=10, weeks=30, share=0.5, expected=30 / 52)
SPRING = VisitSeason(first_week=10, weeks=6, share=0.52, expected=6 / 52)


def broken() -> Home:
    return clay().changed(visit=[{"date": "2026-04-14", "checks": CHECKS}])


def study_of(of: Home) -> YearsStudy:
    return years_study(rk.replay(of, RAIN, FEW))


@pytest.fixture(scope="module")
def studies() -> dict[str, YearsStudy]:
    return {
        "well": study_of(clay()),
        "broken": study_of(broken()),
        "no alarm": study_of(clay().changed(switch__alarm="no alarm")),
    }


def test_what_is_broken_waits_for_no_season() -> None:
    assert season_line(ALL_YEAR).endswith("A visit is as good at any time.")
    due = due_line([Fault.ALARM_SILENT])
    assert due == "Due now, whatever the season: put the alarm in order."
    assert season_line(ALL_YEAR, due).startswith(f"{due} No season stands out: ")
    assert ANY_TIME not in season_line(ALL_YEAR, due)
    assert season_line(SPRING).startswith("Finish visits by 5 March: 52 % of the storms")
    assert season_line(SPRING, due).startswith(f"{due} In other years, finish visits by 5 March: ")
    assert season_line(None, due).startswith(f"{due} No season is worse")
    assert due_line([]) == "" and due_line([], more=True).endswith("left in bad order.")


def test_json_holds_the_state_and_what_is_due(studies: dict[str, YearsStudy]) -> None:
    forms = {name: json.loads(json.dumps(replay_form(s))) for name, s in studies.items()}
    well, bad = forms["well"], forms["broken"]
    assert well["state"]["findings"] == [] and well["visits"]["due_now"] == []
    assert well["state"]["time_counted_from"] == "alarm"
    codes = ["float_stuck", "alarm_silent", "check_valve_leaks"]
    assert [finding["fault"] for finding in bad["state"]["findings"]] == codes
    assert bad["visits"]["due_now"] == codes
    assert bad["state"]["time_counted_from"] == "stop"
    assert not bad["state"]["alarm_can_be_counted_on"]
    assert bad["sentence"].startswith(f"{STUCK} {SILENT} In the storms and thaws of the 3 years")
    assert forms["no alarm"]["state"]["absent"] == ["alarm"]
    for name, form in forms.items():
        for storm in form["storms"]:
            told = storm["pump_stopped"]
            sounds = name == "well"
            assert (told["alarm_to_floor_worst_s"] is not None) == sounds
            assert (told["stop_to_floor_worst_s"] is None) == sounds
            assert (told["stop_to_alarm_worst_s"] is not None) == sounds
            assert (told["dead_before_storm"]["alarm_to_floor_s"] is not None) == sounds
            assert (storm["alarm_share"] is not None) == sounds


def test_a_part_that_is_only_noted_is_not_due() -> None:
    bare = study_of(clay().changed(pipe__check_valve="none"))
    form = replay_form(bare)
    assert [f["fault"].value if hasattr(f["fault"], "value") else f["fault"]
            for f in form["state"]["findings"]] == ["no_check_valve"]  # fmt: skip
    assert form["visits"]["due_now"] == []
    assert not any("Due now" in line for line in lead_lines(bare))


def test_the_page_to_keep_says_it_first(studies: dict[str, YearsStudy]) -> None:
    body = replay_page(studies["broken"], UnitSystem.US).partition("<body")[2]
    first = replay_sentence(studies["broken"], state_first=False)
    places = [body.index(words) for words in (STUCK, SILENT, first, DUE)]
    assert places == sorted(places)
    assert ANY_TIME not in body and body.count(SILENT) == 1
    assert "Put this in order first" not in replay_page(studies["well"], UnitSystem.US)


def test_the_notebook_says_it_first(studies: dict[str, YearsStudy]) -> None:
    shown = studies["broken"].replay._repr_html_()
    first = replay_sentence(studies["broken"], state_first=False)
    places = [shown.index(words) for words in (STUCK, SILENT, first, DUE)]
    assert places == sorted(places) and ANY_TIME not in shown


def test_the_analysts_page_says_it_first(studies: dict[str, YearsStudy]) -> None:
    pictures = dict.fromkeys(UnitSystem, SVG)
    found = HomeYears(studies["broken"], pictures, pictures, None, None)
    blocks: list[dict[str, Any]] = years_view.years_blocks(found, UnitSystem.US, [], [])
    texts = [block.get("text", "") for block in blocks]
    first = replay_sentence(studies["broken"], state_first=False)
    due = next(i for i, text in enumerate(texts) if text.startswith(DUE))
    assert texts.index(STUCK) < texts.index(SILENT) < texts.index(first) < due
    assert ANY_TIME not in " ".join(texts)
    well = years_blocks(
        HomeYears(studies["well"], pictures, pictures, None, None), UnitSystem.US, [], []
    )
    assert not any("Due now" in block.get("text", "") for block in well)


def test_the_command_says_it_first(home: Path, capsys: pytest.CaptureFixture[str]) -> None:
    visit = '\n[[visit]]\ndate = "2026-04-14"\n\n[visit.checks]\n'
    checks = "".join(f'{key} = "{word}"\n' for key, word in CHECKS.items())
    home.write_text(home.read_text("utf-8") + visit + checks, "utf-8")
    assert main(options(home)) == 0
    said = " ".join(capsys.readouterr().out.split())
    places = [said.index(words) for words in (STUCK, SILENT, "In the storms and thaws", DUE)]
    assert places == sorted(places) and ANY_TIME not in said
    assert main(options(home, "--json")) == 0
    form = json.loads(capsys.readouterr().out)
    jsonschema.validate(form, replay_schema())
    assert form["state"]["findings"][0]["fault"] == "float_stuck"


def test_what_comes_soon_is_told_in_a_whole_sentence(studies: dict[str, YearsStudy]) -> None:
    told = replay_sentence(studies["well"], state_first=False)
    assert re.search(r"In \d+ % of the simulated variants .* it would have come at least", told)
