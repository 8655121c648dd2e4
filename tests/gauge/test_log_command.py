"""``riskkit log`` from the command line: sentence, table, chart, JSON, and what it refuses."""

from __future__ import annotations

import json
import shutil
from pathlib import Path

import numpy as np
import pytest

from riskkit.cli.main import main
from riskkit.rainfall.readers.plain import write_rain
from tests.gauge.truth import Truth, rain_of, text_of

TRUTH = Truth(seed=4, gaps_d=((20.0, 21.0),))


@pytest.fixture(scope="module")
def files(tmp_path_factory: pytest.TempPathFactory, demo_sites: Path) -> Path:
    """A home, its rain, and three months of its pump."""
    folder = tmp_path_factory.mktemp("log")
    record = rain_of(92, TRUTH.seed)
    write_rain(record, folder / "rain.csv")
    (folder / "pump.csv").write_text(text_of(TRUTH, record), encoding="utf-8")
    text = (demo_sites / "split_level_on_clay.toml").read_text(encoding="utf-8")
    text = text.replace('record = "alder_bend_rain.csv.gz"', 'record = "rain.csv"')
    lines = [line for line in text.split("\n") if not line.startswith("temperature")]
    (folder / "home.toml").write_text("\n".join(lines), encoding="utf-8")
    return folder


def test_sentence_first_then_tables_and_what_is_odd(
    files: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    picture, inflow = files / "log.svg", files / "inflow.csv"
    command = ["log", str(files / "home.toml"), str(files / "pump.csv")]
    assert main([*command, "--picture", str(picture), "--inflow", str(inflow)]) == 0
    said = capsys.readouterr().out
    assert said.startswith("In 91 days the pump started ")
    places = [said.index(words) for words in (
        "comes within the hour", "what the log tells", "How well one half", "Months of the log",
        "Without inflow a day: less than half",
        "1 gap",
    )]  # fmt: skip
    assert places == sorted(places)
    svg = picture.read_text(encoding="utf-8")
    for words in ("inflow by the log", "fitted to the rain", "rain and melt [in/d]", "[in/h]"):
        assert words in svg
    rows = inflow.read_text(encoding="utf-8").split("\n")
    assert rows[0].startswith("time,hours,inflow_m3_s,rain_mm,fitted_m3_s")
    # nothing is told of the day that is missing
    days = {row[:10] for row in rows[1:]}
    assert "2020-01-20" in days
    assert "2020-01-21" not in {row[:10] for row in rows[1:] if row[11:13] > "12"}


def test_json_holds_the_same_in_si_units(files: Path, capsys: pytest.CaptureFixture[str]) -> None:
    assert main(["log", str(files / "home.toml"), str(files / "pump.csv"), "--json"]) == 0
    form = json.loads(capsys.readouterr().out)
    assert (form["form"], form["form_version"]) == ("riskkit-log", 2)
    area = form["fitted"]["log.hour_area"]
    assert area["low"] <= TRUTH.within_m2(1) <= area["high"]
    assert form["pump"]["course"] == "steady"
    assert form["pump"]["last_m3_s"] == pytest.approx(TRUTH.pump_m3_s, rel=0.02)
    assert form["odd"][0]["what"] == "gap"
    assert form["odd"][0]["begin"] == "2020-01-21T00:00"
    assert np.isfinite(form["explained"]["second_half"])


def test_metric_units(files: Path, capsys: pytest.CaptureFixture[str]) -> None:
    command = ["log", str(files / "home.toml"), str(files / "pump.csv"), "--units", "metric"]
    assert main(command) == 0
    said = capsys.readouterr().out
    assert "L/min" in said
    assert "m²" in said
    assert "gpm" not in said


def test_what_is_wrong_is_one_sentence_and_status_2(
    files: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    home, log = str(files / "home.toml"), str(files / "pump.csv")
    bad = files / "bad.csv"
    bad.write_text("time,running\n2020-01-01 00:00,perhaps\n", encoding="utf-8")
    for command, words in (
        (["log", home, str(files / "none.csv")], "no such file"),
        (["log", home, str(bad)], "neither on nor off"),
        (["log", home, log, "--picture", str(files / "log.jpg")], "does not end in .svg or .png"),
        (["log", home, log, "--inflow", str(files / "in.svg")], "does not end in .csv"),
        (["log", home, log, "--inflow", log], "would overwrite"),
        (["log", home, log, "--seed", "-1"], "below zero"),
    ):
        assert main(command) == 2
        said = capsys.readouterr().err
        assert words in said
        assert said.count("\n") == 1
        assert "Traceback" not in said


def test_a_log_that_is_not_of_this_home_is_said_first_and_never_entered(
    demo_sites: Path, tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    """Some 15 starts a day in a home on sand, of which hardly a variant runs in dry weather."""
    for data in demo_sites.glob("*.csv.gz"):
        shutil.copy(data, tmp_path)
    home = tmp_path / "home.toml"
    shutil.copy(demo_sites / "bungalow_on_sand.toml", home)
    command = ["log", str(home), str(tmp_path / "split_level_pump_log.csv.gz")]
    assert main(command) == 0
    out = " ".join(capsys.readouterr().out.split())
    assert out.startswith("! split_level_pump_log.csv.gz: hardly any simulated variant of")
    before = home.read_bytes()
    assert main([*command, "--save"]) == 2
    assert "check what is entered of the home" in capsys.readouterr().err
    assert home.read_bytes() == before
