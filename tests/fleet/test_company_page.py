"""A company on one page."""

from __future__ import annotations

from pathlib import Path

import pytest
from fleet.company import HEAD, depths

from riskkit.cli.main import main
from riskkit.fleet.plan_table import plan_frame
from riskkit.fleet.planning import plan_visits
from riskkit.fleet.run import run_fleet
from riskkit.fleet.settings import FleetSettings
from riskkit.report.fleet_page import map_rows


@pytest.fixture(scope="module")
def run(tmp_path_factory: pytest.TempPathFactory) -> Path:
    """Two homes with a place, whose names would be markup, and one without a place."""
    folder = tmp_path_factory.mktemp("company")
    rows = (
        "A,<b>Mill</b> & Co,<i>mill</i>,41.2,-88.6,138,,,clay,2025-01-01,2,\n"
        "B,Two,ferry,41.3,-88.7,,,,loam,,,\nC,Three,,,,,,,loam,,,\n"
    )
    (folder / "homes.csv").write_text(HEAD + rows, "utf-8")
    run_fleet(
        folder / "homes.csv", folder / "run", FleetSettings(16), usual=depths(folder), workers=0
    )
    return folder / "run"


def test_the_page_holds_map_calls_and_table_and_escapes_names(run: Path, tmp_path: Path) -> None:
    path = tmp_path / "company.html"
    assert main(["fleet", "report", str(run), "--html", str(path), "--begins", "2026-01-05"]) == 0
    page = path.read_text("utf-8")
    assert "Company of 3 homes" in page and "&lt;b&gt;Mill&lt;/b&gt;" in page
    assert "<b>Mill" not in page and "<i>mill" not in page and "<script" not in page
    assert "floods kept away by 100 visits" in page and "calls in an hour" in page
    assert "calls come in" in page and "Whom to visit first" in page


def test_the_map_shows_the_homes_that_have_a_place(run: Path) -> None:
    import datetime

    plan = plan_visits(run, 1, datetime.date(2026, 1, 5), 150.0, 10000.0)
    rows = map_rows(plan)
    assert {row["name"] for row in rows} == {"<b>Mill</b> & Co", "Two"}
    assert {(row["latitude"], row["longitude"]) for row in rows} == {(41.2, -88.6), (41.3, -88.7)}
    frame = plan_frame(plan)
    assert len(frame) == 3 and frame.index.name == "id"
    assert frame.loc["A", "kept_away_now_mean"] == pytest.approx(
        next(home.mean_gain_now for home in plan.homes if home.about["id"] == "A")
    )
