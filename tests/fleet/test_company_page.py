"""A company on one page."""

from __future__ import annotations

import datetime
import re
from pathlib import Path

import numpy as np
import pytest
from fleet.company import BEGUN, HEAD, depths

from riskkit.cli.main import main
from riskkit.fleet.night import Night, Nights
from riskkit.fleet.plan_table import plan_frame
from riskkit.fleet.planning import plan_visits
from riskkit.fleet.run import run_fleet
from riskkit.fleet.settings import FleetSettings
from riskkit.report.charts import to_svg
from riskkit.report.fleet_charts import OTHERS, calls_chart, company_map, looks_of, map_rows
from riskkit.report.fleet_plan_words import hours_without_calls, night_table


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
        folder / "homes.csv",
        folder / "run",
        FleetSettings(16, day=BEGUN),
        usual=depths(folder),
        workers=0,
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
    plan = plan_visits(run, 1, datetime.date(2026, 1, 5), 150.0, 10000.0)
    rows = map_rows(plan)
    assert {row["name"] for row in rows} == {"<b>Mill</b> & Co", "Two"}
    assert {(row["latitude"], row["longitude"]) for row in rows} == {(41.2, -88.6), (41.3, -88.7)}
    frame = plan_frame(plan)
    assert len(frame) == 3 and frame.index.name == "id"
    assert frame.loc["A", "kept_away_now_mean"] == pytest.approx(
        next(home.mean_gain_now for home in plan.homes if home.about["id"] == "A")
    )


def test_every_neighbourhood_has_a_look_of_its_own() -> None:
    names = [f"n{i:02d}" for i in range(28) for _ in range(28 - i)]
    looks = looks_of(names)
    assert len(set(looks.values())) == len(looks) == 28 and OTHERS not in looks
    more = looks_of([*names, "n28", "n29"])  # of one home each; so has n27
    assert len(set(more.values())) == len(more) == 29 and more[OTHERS][0] == "#BBBBBB"
    assert "n27" in more and "n28" not in more


def test_a_mile_is_as_long_to_the_north_as_to_the_east(run: Path) -> None:
    """At 41.25 degrees north a degree east is cos 41.25 = 0.75184 of one north."""
    spec = company_map(plan_visits(run, 1, datetime.date(2026, 1, 5), 150.0, 10000.0)).to_dict()
    assert spec["width"] == spec["height"]
    (west, east), (south, north) = (
        spec["encoding"][axis]["scale"]["domain"] for axis in ("x", "y")
    )  # fmt: skip
    assert (north - south) / (east - west) == pytest.approx(0.75184, abs=1e-5)
    assert west < -88.7 < -88.6 < east and south < 41.2 < 41.3 < north


def test_hours_without_calls_have_no_mark() -> None:
    calls = np.array([5.2, 5.4, 30.0])
    nights = Nights(10.0, 9, tuple(Night(0, 0, 0, calls, np.ones(3)) for _ in range(8)))
    spec = calls_chart(nights).to_dict()
    (rows,) = spec["datasets"].values()
    assert [(row["hour"], row["median"]) for row in rows] == [(5, 2.0), (30, 1.0)]
    assert spec["layer"][0]["encoding"]["x"]["scale"]["domain"] == [0, 36]
    quiet = Nights(10.0, 9, (Night(0, 0, 0, np.zeros(0), np.zeros(0)),))
    assert "<svg" in to_svg(calls_chart(quiet))


@pytest.mark.parametrize(
    ("calls", "ticks"), [(1, "0 1"), (2, "0 1 2"), (7, "0 2 4 6"), (23, "0 5 10 15 20")]
)
def test_the_axis_of_calls_counts_whole_calls(calls: int, ticks: str) -> None:
    night = Night(0, 0, 0, np.full(calls, 5.2), np.ones(calls))
    svg = to_svg(calls_chart(Nights(10.0, 40, (night,) * 4)))
    told = re.findall(r">(\d+)</text>", svg)
    assert " ".join(told) == f"0 6 12 18 24 {ticks}"  # hours, then calls


def test_calls_are_told_on_average_where_no_hour_is_likely_to_bring_one() -> None:
    """Of four nights two have a call in the first six hours, one another at 30: 2/4 and 1/4."""
    nights = [Night(0, 0, 0, np.array(calls), np.ones(len(calls))) for calls in
              ([5.2], [1.2, 30.0], [], [])]  # fmt: skip
    rows = night_table(Nights(10.0, 9, tuple(nights))).rows
    told = {row[0]: row[1] for row in rows}
    assert told["0 to 6"] == "0.5" and told["30 to 36"] == "0.25"
    assert {told[key] for key in told if key not in ("0 to 6", "30 to 36")} == {"0"}


def test_hours_that_bring_no_call_are_told_in_a_sentence() -> None:
    """Of ten nights one has a call: no hour has one in more than a tenth of the nights."""
    nights = [Night(0, 0, 0, np.array([5.2]), np.ones(1))]
    nights += [Night(0, 0, 0, np.zeros(0), np.zeros(0))] * 9
    said = "No hour of the storm brings a call in more than 1 of 10 nights."
    assert hours_without_calls(Nights(10.0, 9, tuple(nights))) == said
    assert hours_without_calls(Nights(10.0, 9, tuple(nights[:2]))) == ""


def test_the_rank_says_why_an_overdue_home_waits(
    run: Path, capsys: pytest.CaptureFixture[str], tmp_path: Path
) -> None:
    """A was due at the beginning of 2027; a year later it comes at once."""
    asked = ["fleet", "rank", str(run), "--visits-per-week", "1", "--begins", "2028-01-03"]
    assert main([*asked, "--out", str(tmp_path / "rank.csv")]) == 0
    said = " ".join(capsys.readouterr().out.split())
    assert "1 home is overdue on 2028-01-03. The visits come: 1 in" in said
    import csv

    rows = list(csv.DictReader((tmp_path / "rank.csv").read_text("utf-8").splitlines()))
    waits = {row["id"]: row["wait"] for row in rows}
    assert waits["A"] in ("first_week", "gains_more_later") and waits["B"] == "not_overdue"
