"""The page of a company without a browser: what it offers, shows, filters, saves and refuses."""

from __future__ import annotations

import base64
import csv
import datetime
import io
import json
import shutil
from pathlib import Path
from typing import Any

import openpyxl
import pytest
from fleet.company import BEGUN, HEAD, depths

from riskkit.fleet.plan_table import RANK_HEAD, Wait, wait_of
from riskkit.fleet.run import run_fleet
from riskkit.fleet.settings import FleetSettings
from riskkit.fleet.store import read_manifest
from riskkit.report.fleet_plan_words import wait_words
from riskkit.widgets.company_page import CompanyPage

BEGINS = datetime.date(2026, 1, 5)
ROWS = (
    "A,=1+1,mill,41.2,-88.6,138,,,clay,2020-01-01,2,\n"
    "B,Two,mill,41.3,-88.7,,,,loam,2025-07-01,2,switch_stuck\n"
    "C,<b>Three</b>,ferry,,,,,,loam,2019-01-01,1,\n"
)


@pytest.fixture(scope="module")
def folder(tmp_path_factory: pytest.TempPathFactory) -> Path:
    """A table of three homes, its run, and a file that is not a table of homes."""
    folder = tmp_path_factory.mktemp("company")
    (folder / "homes.csv").write_text(HEAD + ROWS, "utf-8")
    usual = depths(folder)
    run_fleet(
        folder / "homes.csv",
        folder / "homes_run",
        FleetSettings(16, day=BEGUN),
        usual=usual,
        workers=0,
    )
    return folder


@pytest.fixture
def page(folder: Path) -> CompanyPage:
    page = CompanyPage(folder, BEGINS)
    page.set_visits("1")
    page.choose("homes_run")
    assert page.found is not None, page.trouble
    return page


def blocks(page: CompanyPage, kind: str) -> list[dict[str, Any]]:
    """All blocks of a kind, also those inside tabs."""
    found, waiting = [], list(page.sheet.blocks)
    while waiting:
        block = waiting.pop(0)
        found += [block] if block["kind"] == kind else []
        waiting += [inner for tab in block.get("tabs", ()) for inner in tab["blocks"]]
    return found


def test_it_offers_runs_and_tables_of_homes_alone(folder: Path) -> None:
    page = CompanyPage(folder, BEGINS)
    assert [name for name, _ in page.bar.view["choices"]] == ["homes_run", "homes.csv"]
    assert "riskkit fleet template" in json.dumps(page.sheet.blocks)
    page.choose("homes.csv")
    assert page.bar.view["is_table"] and page.found is None
    assert "Press “Work these homes out”" in page.sheet.blocks[0]["text"]


def test_it_lists_all_homes_with_their_week(page: CompanyPage) -> None:
    (grid,) = blocks(page, "grid")
    assert {row[0] for row in grid["rows"]} == {"=1+1", "Two", "<b>Three</b>"}
    weeks = [row[5] for row in grid["rows"]]
    assert len(set(weeks)) == 3 and all(1 <= int(week) <= 52 for week in weeks)  # one a week
    assert all(len(row) == len(grid["head"]) for row in grid["rows"])
    assert all(len(row) == len(grid["head"]) for row in grid["keys"])


def test_an_overdue_home_that_waits_says_why(page: CompanyPage) -> None:
    """A is due 2022-01-01 and C 2020-01-01 by hand: both overdue; B on 2027-07-01 is not."""
    assert page.found is not None
    homes = {str(home.about["id"]): home for home in page.found.plan.homes}
    assert wait_of(homes["B"], BEGINS) is Wait.NOT_OVERDUE
    assert wait_words(homes["B"], BEGINS) == ""
    (grid,) = blocks(page, "grid")
    why = {row[0]: row[6] for row in grid["rows"]}
    assert why["=1+1"].startswith("overdue: ") and why["<b>Three</b>"].startswith("overdue: ")
    for key in ("A", "C"):
        week, wait = homes[key].week, wait_of(homes[key], BEGINS)
        gains = (homes[key].mean_gain, homes[key].mean_gain_free)
        if week == 0:
            assert wait is Wait.FIRST_WEEK
        else:
            later = gains[0] > 1.1 * gains[1]
            assert wait is (Wait.GAINS_MORE_LATER if later else Wait.OTHERS_GAIN_MORE)
    page.set_filter("overdue", "yes")
    assert {str(home.about["id"]) for home in page.shown_homes()} == {"A", "C"}


def test_filters_reach_list_map_and_files(page: CompanyPage) -> None:
    page.set_filter("neighbourhood", "mill")
    (grid,) = blocks(page, "grid")
    assert {row[0] for row in grid["rows"]} == {"=1+1", "Two"}
    rows = list(csv.reader(io.StringIO(blocks(page, "files")[0]["items"][0]["text"])))
    assert rows[0] == list(RANK_HEAD) and {row[1] for row in rows[1:]} == {"A", "B"}
    first = blocks(page, "picture")[0]["svg"]
    page.set_filter("neighbourhood", "ferry")  # its only home has no place
    assert "None of these homes has a place" in json.dumps(page.sheet.blocks)
    assert "<svg" in first


def test_no_cell_that_goes_out_is_a_formula(page: CompanyPage) -> None:
    text, book = blocks(page, "files")[0]["items"]
    assert "'=1+1" in text["text"] and ",=1+1" not in text["text"]
    sheet = openpyxl.load_workbook(io.BytesIO(base64.b64decode(book["base64"]))).active
    cells = [cell for row in sheet.iter_rows() for cell in row]
    assert any(cell.value == "'=1+1" for cell in cells)
    assert not [cell.coordinate for cell in cells if cell.data_type == "f"]


@pytest.mark.parametrize("wrong", ["", "0", "-3", "2.5", "many", "1e3"])
def test_visits_that_cannot_be_are_refused(page: CompanyPage, wrong: str) -> None:
    page.set_visits(wrong)
    assert page.bar.view["trouble"] == (
        f"Visits a week: “{wrong}” is not a whole number from 1, such as 25."
    )
    assert page.per_week == 1 and page.found is not None


def test_a_table_is_worked_out_with_the_rain_of_the_folder(
    demo_sites: Path, tmp_path: Path
) -> None:
    (tmp_path / "few.csv").write_text(HEAD + "A,One,mill,41.2,-88.6,138,,,clay,,,\n", "utf-8")
    shutil.copy(demo_sites / "alder_bend_rain.csv.gz", tmp_path)
    page = CompanyPage(tmp_path, BEGINS)
    page.choose("few.csv")
    assert page.bar.view["rain"] == "alder_bend_rain.csv.gz"
    page.run_table()
    assert page.found is not None, page.trouble
    assert [home.about["id"] for home in page.found.plan.homes] == ["A"]
    (first,) = tmp_path.glob("few_run_*/run.json")
    assert not blocks(page, "text")[0]["text"].startswith("1 row was refused")
    # a row more: another run, for the one that is there is of another table; wrong soil is said
    with (tmp_path / "few.csv").open("a", encoding="utf-8") as file:
        file.write("B,Two,mill,41.2,-88.6,138,,,cheese,,,\n")
    page.choose("few.csv")
    page.run_table()
    assert page.found is not None, page.trouble
    assert len(list(tmp_path.glob("few_run_*/run.json"))) == 2 and first.is_file()
    said = [block["text"] for block in blocks(page, "text")]
    assert said[0] == "1 row was refused and is in no figure here:"
    assert said[1].startswith("Row 3, B: ground.soil: 'cheese'")
    assert any("32 variants of each home" in words for words in said)


def test_a_table_is_worked_out_as_of_the_day_on_which_its_run_began(tmp_path: Path) -> None:
    """A visit of April 2026 has come by June; a run that is there keeps its day."""
    depths(tmp_path)
    row = "id,ground.soil,rain.table,service.last_visit\nA,clay,depths.csv,2026-04-14\n"
    (tmp_path / "june.csv").write_text(row, "utf-8")
    for today in (datetime.date(2026, 6, 1), datetime.date(2026, 6, 9)):
        page = CompanyPage(tmp_path, today)
        page.choose("june.csv")
        page.run_table()
        assert page.found is not None and page.found.refused == (), page.trouble
        assert read_manifest(page.found.run)["settings"]["day"] == "2026-06-01"


def test_a_run_of_another_version_is_refused(tmp_path: Path) -> None:
    (tmp_path / "old_run").mkdir()
    (tmp_path / "old_run" / "run.json").write_text('{"schema_version": "none"}', "utf-8")
    page = CompanyPage(tmp_path, BEGINS)
    page.choose("old_run")
    assert "it holds a run of another version" in page.trouble and page.found is None
