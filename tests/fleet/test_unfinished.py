"""A run that was stopped says so wherever it is used, and is gone on with on its own day."""

from __future__ import annotations

import datetime
import json
from pathlib import Path

import pytest
from fleet.company import BEGUN, company, depths

from riskkit.cli.main import main
from riskkit.errors import InputError
from riskkit.fleet.run import run_fleet
from riskkit.fleet.settings import FleetSettings
from riskkit.fleet.store import part_path, read_manifest, rows_done
from riskkit.report.fleet_words import missing_words
from riskkit.widgets.company_page import CompanyPage

MISSING = (
    "The run is not finished: 1 of 3 homes is missing in what follows; the same fleet run goes on "
    "from there."
)


@pytest.fixture(scope="module")
def stopped(tmp_path_factory: pytest.TempPathFactory) -> Path:
    """A run in parts of two rows, whose second part, of one row, is missing."""
    folder = tmp_path_factory.mktemp("stopped")
    settings = FleetSettings(16, day=BEGUN)
    run_fleet(company(folder), folder / "run", settings, usual=depths(folder), part_size=2,
              workers=0)  # fmt: skip
    assert rows_done(folder / "run") == (3, 3)
    part_path(folder / "run", 1).unlink()
    return folder / "run"


def test_how_far_a_run_came(stopped: Path) -> None:
    assert rows_done(stopped) == (2, 3)
    assert missing_words((2, 3)) == MISSING
    assert missing_words((3, 3)) == "" == missing_words(None)
    assert "2 of 3 homes are missing" in missing_words((1, 3))


@pytest.mark.parametrize(
    "words", [["rank"], ["storm", "--nights", "2"], ["storm", "--nights", "2", "--storm", "100"]]
)
def test_homes_that_are_missing_are_said_first(
    words: list[str], stopped: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    command = ["fleet", words[0], str(stopped), *words[1:]]
    assert main(command) == 0
    said = " ".join(capsys.readouterr().out.split())
    assert said.startswith(MISSING)
    assert main([*command, "--json"]) == 0
    told = json.loads(capsys.readouterr().out)
    assert (told["rows_done"], told["rows_in_table"]) == (2, 3)


def test_homes_that_are_missing_are_said_on_the_pages(stopped: Path, tmp_path: Path) -> None:
    path = tmp_path / "company.html"
    assert main(["fleet", "report", str(stopped), "--html", str(path)]) == 0
    page = path.read_text("utf-8")
    assert MISSING in page and page.index(MISSING) < page.index("visits in a year from")
    shown = CompanyPage(stopped.parent, datetime.date(2026, 1, 5))
    shown.choose("run")
    assert shown.found is not None, shown.trouble
    assert shown.sheet.blocks[0]["text"] == MISSING


def test_a_run_is_gone_on_with_on_its_own_day(
    tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    """Begun on another day than today; a day that is named has to be that of the run."""
    table, run = company(tmp_path), tmp_path / "run"
    usual = ["--table", depths(tmp_path).table, "--draws", "16", "--workers", "1"]
    command = ["fleet", "run", str(table), "--out", str(run), *usual]
    assert main([*command, "--day", "2026-01-01"]) == 0
    part_path(run, 0).unlink()
    capsys.readouterr()
    assert main(command) == 0, capsys.readouterr().err
    assert "3 rows in" in capsys.readouterr().out
    assert read_manifest(run)["settings"]["day"] == "2026-01-01"
    assert main([*command, "--day", "2026-01-02"]) == 2
    assert "it holds a run with other settings" in capsys.readouterr().err


def test_the_library_takes_no_day_unasked() -> None:
    with pytest.raises(TypeError, match="day"):
        FleetSettings()  # type: ignore[call-arg]  # left out on purpose
    with pytest.raises(InputError, match=r"day: .*give a date, such as date\(2026, 4, 14\)"):
        FleetSettings(day="2026-04-14")  # type: ignore[arg-type]  # a text, on purpose


def test_no_table_of_homes_is_written_over(
    tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    """Its own is as good as another: rows may have been filled in by hand since."""
    out, truth, head = (str(tmp_path / name) for name in ("homes.csv", "truth.csv", "head.csv"))
    demo, template = ["fleet", "demo", "3"], ["fleet", "template", "--out", head]
    assert main([*demo, "--out", out, "--truth", truth]) == 0 == main(template)
    before = {path: path.read_bytes() for path in tmp_path.iterdir()}
    new = str(tmp_path / "new.csv")
    for words, name in (
        ([*demo, "--out", out], "homes.csv"),
        ([*demo, "--out", new, "--truth", truth], "truth.csv"),
        (template, "head.csv"),
        ([*template, "--dictionary"], "head.csv"),
    ):
        capsys.readouterr()
        assert main(words) == 2
        assert capsys.readouterr().err == (
            f"riskkit: {name}: there is another file of this name, which would be lost; give "
            "another name, or take it away first.\n"
        )
    assert {path: path.read_bytes() for path in tmp_path.iterdir()} == before
