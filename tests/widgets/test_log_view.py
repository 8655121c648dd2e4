"""A log of the pump on the analyst's page says what the command says, and enters it."""

from __future__ import annotations

import shutil
from dataclasses import replace
from pathlib import Path
from typing import Any

import pytest

from riskkit.cli.main import main
from riskkit.gauge.weighed import LogMisfitError
from riskkit.home.home import load_home
from riskkit.quantities.units import UnitSystem
from riskkit.rainfall.readers.plain import write_rain
from riskkit.widgets.listed import list_logs, list_rain
from riskkit.widgets.log_view import HomeLog, home_log
from riskkit.widgets.record_page import RecordPage
from tests.gauge.truth import Truth, rain_of, text_of


@pytest.fixture
def folder(tmp_path: Path, demo_sites: Path) -> Path:
    """A home with three months of rain, a log of its pump, and one that is none."""
    truth = Truth(seed=4)
    record = rain_of(92, truth.seed)
    write_rain(record, tmp_path / "rain.csv")
    (tmp_path / "pump.csv").write_text(text_of(truth, record), encoding="utf-8")
    (tmp_path / "torn.csv").write_text("time,running\nsoon,1\n", encoding="utf-8")
    text = (demo_sites / "split_level_on_clay.toml").read_text(encoding="utf-8")
    text = text.replace('record = "alder_bend_rain.csv.gz"', 'record = "rain.csv"')
    lines = [line for line in text.split("\n") if not line.startswith("temperature")]
    (tmp_path / "home.toml").write_text("\n".join(lines), encoding="utf-8")
    return tmp_path


def send(page: RecordPage, **message: Any) -> None:
    page.bar._hear(None, message, None)


def texts(page: RecordPage) -> list[str]:
    return [block["text"] for block in page.sheet.blocks if block["kind"] == "text"]


def chosen(folder: Path, monkeypatch: pytest.MonkeyPatch, demos: Path | None = None) -> RecordPage:
    """The page with the home, whose years are not run: they are another test's."""
    monkeypatch.setattr("riskkit.widgets.record_page.home_years", lambda *_: "not run here")
    page = RecordPage(folder, demos)
    send(page, kind="home", name=str((demos or folder) / "home.toml"))
    return page


def test_the_page_says_what_the_command_says_and_enters_it(
    folder: Path, monkeypatch: pytest.MonkeyPatch, capsys: pytest.CaptureFixture[str]
) -> None:
    page = chosen(folder, monkeypatch)
    assert page.bar.view["logs"] == ["pump.csv", "torn.csv"] and not page.bar.view["enter"]
    send(page, kind="log", name="pump.csv")
    assert page.log is not None and page.bar.view["enter"]
    path = folder / "home.toml"
    before = path.read_bytes()
    assert main(["log", str(path), str(folder / "pump.csv")]) == 0
    said = " ".join(capsys.readouterr().out.split())
    for words in texts(page):
        assert " ".join(words.split()) in said
    kinds = [block["kind"] for block in page.sheet.blocks]
    assert kinds.index("picture") < kinds.index("table")
    assert path.read_bytes() == before  # looking enters nothing
    page.system = UnitSystem.METRIC
    send(page, kind="units", system="metric")
    assert "L/min" in texts(page)[0]
    send(page, kind="units", system="us")
    send(page, kind="enter")
    assert page.trouble == "" and not page.bar.view["enter"]
    shutil.copy(path, folder / "entered.toml")
    path.write_bytes(before)
    assert main(["log", str(path), str(folder / "pump.csv"), "--save"]) == 0
    assert load_home(path) == load_home(folder / "entered.toml")
    entered = capsys.readouterr().out.strip().split("\n")[-1]
    assert entered in texts(page)


def test_what_is_no_log_is_refused_and_the_years_come_back(
    folder: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    page = chosen(folder, monkeypatch)
    send(page, kind="log", name="torn.csv")
    assert page.log is None and "torn.csv" in page.trouble
    send(page, kind="log", name="../elsewhere.csv")
    assert page.log_name == "torn.csv"  # no file but those of the list
    send(page, kind="log", name="pump.csv")
    (folder / "pump.csv").unlink()
    send(page, kind="beat")
    assert "pump.csv is not in the folder any more" in page.trouble
    send(page, kind="log", name="")
    assert page.log is None and page.log_name == "" and page.trouble == "not run here"


@pytest.mark.parametrize("head", ["time,running", "\ufeffTime,Running", '"time","running"'])
def test_logs_as_programs_write_them_are_offered_as_logs(tmp_path: Path, head: str) -> None:
    rows = "2025-03-01 04:10:22,1\n2025-03-01 04:10:51,0\n"
    (tmp_path / "log.csv").write_text(f"{head}\n{rows}", encoding="utf-8")
    assert list_logs(tmp_path) == ["log.csv"] and list_rain(tmp_path) == []


def test_a_log_of_another_home_is_said_so_first_and_not_entered(
    folder: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    def misfit(home: Path, log: Path, tell: Any) -> HomeLog:
        real = home_log(home, log, tell)
        error = LogMisfitError("pump.csv", "no variant counts as it does", "check the home")
        return replace(real, study=replace(real.study, misfit=error))

    page = chosen(folder, monkeypatch)
    monkeypatch.setattr("riskkit.widgets.record_page.home_log", misfit)
    send(page, kind="log", name="pump.csv")
    first = next(block for block in page.sheet.blocks if block["kind"] == "text")
    assert first["class"] == "lead wrong" and "no variant counts as it does" in first["text"]
    assert not page.bar.view["enter"]
    send(page, kind="home", name=str(folder / "home.toml"))
    assert page.log is None and page.bar.view["log"] == ""  # another home, another log


def test_nothing_is_entered_into_an_invented_home(
    folder: Path, tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    mine = tmp_path / "mine"
    mine.mkdir()
    page = chosen(mine, monkeypatch, demos=folder)
    send(page, kind="log", name="pump.csv")
    before = (folder / "home.toml").read_bytes()
    assert page.log is not None and not page.bar.view["enter"]
    send(page, kind="enter")
    assert (folder / "home.toml").read_bytes() == before
