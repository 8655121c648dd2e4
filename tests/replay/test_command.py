"""`riskkit replay` from end to end."""

from __future__ import annotations

import json
import os
import signal
import subprocess
import sys
import time
from pathlib import Path

import jsonschema
import numpy as np
import pandas as pd
import psutil
import pytest

from riskkit.cli.main import main
from riskkit.rainfall.readers.plain import write_rain
from riskkit.report.replay_form import replay_schema
from tests.conftest import ROOT, heed_interrupts
from tests.replay.made import START, record_of

HEAVY = np.array([12.0, 40.0, 26.0, 20.0])


@pytest.fixture
def home(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> Path:
    """The invented split-level with three made years of rain and of temperatures."""
    monkeypatch.setenv("XDG_CACHE_HOME", str(tmp_path / "cache"))
    monkeypatch.setattr(
        "riskkit.years.cache.replays_folder", lambda: tmp_path / "cache" / "replays"
    )
    write_rain(record_of({9000: HEAVY, 13000: HEAVY, 22000: HEAVY}), tmp_path / "rain.csv")
    days = START.astype("datetime64[D]") + np.arange(3 * 365)
    (tmp_path / "days.csv").write_text(
        "date,tmin_degC,tmax_degC\n" + "".join(f"{day},5,11\n" for day in days)
    )
    text = (ROOT / "demo_sites" / "split_level_on_clay.toml").read_text("utf-8")
    text = text.replace("alder_bend_rain.csv.gz", "rain.csv")
    text = text.replace("alder_bend_temperature.csv.gz", "days.csv")
    path = tmp_path / "home.toml"
    path.write_text(text, "utf-8")
    (tmp_path / "table.csv").write_text(
        "duration,2,10,100\n1 h,30,45,70\n24 h,70,100,150\n", "utf-8"
    )
    return path


def options(home: Path, *more: str) -> list[str]:
    table = [
        "--table",
        str(home.with_name("table.csv")),
        "--official-unit",
        "mm",
        "--official-series",
        "partial duration",
    ]
    return ["replay", str(home), "--draws", "8", *table, *more]


def test_one_sentence_first_then_chart_and_tables(
    home: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    assert main(options(home)) == 0
    said = capsys.readouterr()
    assert said.out.startswith("In the storms and thaws of the 3 years 2001 to 2003")
    for part in ("Months of this home", "worst storms for this pit", "A year of this home",
                 "beside the design storms"):  # fmt: skip
        assert part in said.out
    assert said.err == ""
    assert "2002" in said.out.split("worst storms")[1]


def test_tables_pages_and_json_are_written(home: Path, capsys: pytest.CaptureFixture[str]) -> None:
    storms, months, page = (home.with_name(n) for n in ("s.csv", "m.csv", "p.html"))
    files = ["--storms", str(storms), "--months", str(months), "--html", str(page)]
    assert main(options(home, "--json", *files)) == 0
    form = json.loads(capsys.readouterr().out)
    jsonschema.validate(form, replay_schema())
    assert form["settings"]["draws"] == 8 and form["record"]["years"] == 3.0
    assert len(form["months_of_year"]) == 12 and len(form["months"]) == 36
    table = pd.read_csv(storms, index_col=0, parse_dates=True)
    assert len(table) == len(form["storms"]) == 3
    assert table["depth_mm"].tolist() == pytest.approx([98.0] * 3)
    assert isinstance(table.index, pd.DatetimeIndex) and table.index.tz is None
    first = form["storms"][0]
    assert first["start"] == "2002-01-11T00:00" and first["rain_and_melt_mm"] == pytest.approx(98.0)
    frame = pd.read_csv(months, index_col="month", parse_dates=True)
    assert len(frame) == 36 and frame["rain_mm"].sum() == pytest.approx(
        sum(m["rain_mm"] for m in form["months"]), rel=1e-4
    )
    html = page.read_text("utf-8")
    assert "<svg" in html and form["sentence"].split(".")[0] in html and "<script" not in html


def test_pictures_are_written_in_the_form_of_their_ending(
    home: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    months, storms = home.with_name("m.svg"), home.with_name("s.PNG")
    assert main(options(home, "--picture", str(months), "--storm-picture", str(storms))) == 0
    assert months.read_text("utf-8").startswith("<svg") and "storms a year" in months.read_text()
    assert storms.read_bytes().startswith(b"\x89PNG\r\n")
    both = home.with_name("both.png")
    assert main(options(home, "--parted-at", "2002", "--picture", str(both))) == 0
    assert both.read_bytes().startswith(b"\x89PNG\r\n")
    assert capsys.readouterr().err == ""


def test_a_second_look_is_the_same(home: Path, capsys: pytest.CaptureFixture[str]) -> None:
    main(options(home))
    first = capsys.readouterr().out
    assert len(list((home.parent / "cache" / "replays").iterdir())) == 1
    main(options(home))
    assert capsys.readouterr().out == first


@pytest.mark.parametrize(
    ("more", "word"),
    [
        (["--draws", "9"], "power of two"),
        (["--seed", "-1"], "below zero"),
        (["--storms", "home.toml"], "overwrite"),
        (["--html", "no/such/folder.html"], "folder does not exist"),
        (["--picture", "m.jpg"], "does not end in .svg or .png"),
        (["--storm-picture", "m"], "does not end in .svg or .png"),
        (["--parted-at", "2002", "--storm-picture", "m.png"], "more than one replay"),
        (["--picture", "rain.csv"], "does not end in .svg or .png"),
    ],
)
def test_what_is_wrong_is_said_at_once(
    home: Path, more: list[str], word: str, capsys: pytest.CaptureFixture[str],
    monkeypatch: pytest.MonkeyPatch,
) -> None:  # fmt: skip
    monkeypatch.chdir(home.parent)
    before = sorted(home.parent.iterdir())
    assert main(options(home, *more)) == 2
    said = capsys.readouterr()
    assert word in said.err and said.err.count("\n") == 1 and said.out == ""
    assert sorted(home.parent.iterdir()) == before


def test_without_temperatures_it_says_what_would_be_right(
    home: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    text = home.read_text("utf-8")
    home.write_text(
        "\n".join(line for line in text.splitlines() if not line.startswith("temperature"))
    )
    assert main(options(home)) == 2
    assert 'temperature = "days.csv"' in capsys.readouterr().err


@pytest.mark.skipif(sys.platform == "win32", reason="there Ctrl-C goes to the whole console")
def test_ctrl_c_ends_it_cleanly(tmp_path: Path) -> None:
    """In the midst of forty years and many draws: status 130, one line, nothing half written."""
    out = tmp_path / "storms.csv"
    home = ROOT / "demo_sites" / "split_level_on_clay.toml"
    command = [sys.executable, "-m", "riskkit", "replay", str(home), "--draws", "1024"]
    running = subprocess.Popen(
        [*command, "--storms", str(out)],
        cwd=ROOT, env=os.environ | {"XDG_CACHE_HOME": str(tmp_path / "cache")},
        stdout=subprocess.PIPE, stderr=subprocess.PIPE, text=True,
        preexec_fn=heed_interrupts,
    )  # fmt: skip
    inside = psutil.Process(running.pid)
    while inside.cpu_times().user < 5.0:  # in the midst of it, also on a busy machine
        assert running.poll() is None
        time.sleep(0.1)
    running.send_signal(signal.SIGINT)
    said, wrong = running.communicate(timeout=300)
    assert running.returncode == 130 and said == ""
    assert wrong == "riskkit: stopped; nothing was written\n"
    assert not out.exists() and list(tmp_path.rglob("*.npz")) == []
