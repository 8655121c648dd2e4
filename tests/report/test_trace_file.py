"""The course of a storm as a file: read back as it was, written whole or not at all."""

from __future__ import annotations

import gzip
import json
import shutil
from pathlib import Path

import numpy as np
import pandas as pd
import pytest

from riskkit.assessment import Assessment, Settings, assess
from riskkit.cli.main import main
from riskkit.errors import InputError
from riskkit.home.home import load_home
from riskkit.report.trace_file import trace_text

FEW = ["--draws", "16"]


@pytest.fixture(scope="module")
def answer(demo_sites: Path) -> Assessment:
    return assess(load_home(demo_sites / "split_level_on_clay.toml"), None, Settings(n_draws=16))


@pytest.fixture
def site(demo_sites: Path, tmp_path: Path) -> Path:
    """A home file in a folder of its own, with all that it names; the days as plain CSV."""
    home = load_home(demo_sites / "split_level_on_clay.toml")
    for name in home.files:
        shutil.copy(demo_sites / name, tmp_path)
    days = demo_sites / "alder_bend_temperature.csv.gz"
    (tmp_path / "days.csv").write_bytes(gzip.decompress(days.read_bytes()))
    text = (demo_sites / "split_level_on_clay.toml").read_text(encoding="utf-8")
    assert days.name in text
    path = tmp_path / "split_level_on_clay.toml"
    path.write_text(text.replace(days.name, "days.csv"), encoding="utf-8")
    return path


def test_pandas_reads_the_csv_back(answer: Assessment, tmp_path: Path) -> None:
    frame, path = answer.trace(25), tmp_path / "storm.csv"
    path.write_text(trace_text(frame, path), encoding="utf-8")
    found = pd.read_csv(path, comment="#")
    assert found.columns.tolist() == frame.columns.tolist()
    assert set(found.dtypes.map(str)) <= {"float64", "int64"}  # numbers alone
    # twelve digits are written
    np.testing.assert_allclose(found.to_numpy(), frame.to_numpy(), rtol=1e-11, atol=1e-300)


def test_the_csv_says_what_it_holds_before_its_head(answer: Assessment) -> None:
    frame = answer.trace(25)
    text = trace_text(frame, Path("storm.csv"))
    head = [line for line in text.splitlines() if line.startswith("#")]
    assert text.startswith("# The course of one storm, by riskkit ")
    assert "# home: Split-level on clay, Alder Bend" in head
    assert "# return_period_yr: 25" in head
    assert "# parameter pit.depth: 0.6604 [m], measured" in head
    # of the variant that is drawn, as the model takes it
    gap = next(line for line in head if line.startswith("# model gap_time_s: ")).split()[3]
    assert f"# parameter ground.gap_time: {gap} [s], unknown, judgement" in head
    told = [line.split()[2:4] for line in head if line.startswith("# column ")]
    units = [(row["name"], f"[{row['unit']},") for row in frame.attrs["columns"]]
    assert list(map(tuple, told)) == units
    assert [name for name, _ in told] == frame.columns.tolist()
    cited = [line.split(":")[0] for line in head if line.startswith("# source ")]
    assert "# source green_ampt1911" in cited and len(cited) == len(set(cited)) > 8
    assert len(head) + 1 + len(frame) == len(text.splitlines())


def test_the_json_holds_the_same(answer: Assessment) -> None:
    frame = answer.trace(25)
    form = json.loads(trace_text(frame, Path("storm.JSON")))
    assert (form["form"], form["form_version"]) == ("riskkit-trace", 2)
    assert form["about"]["return_period_yr"] == 25.0
    values = {column["name"]: column["values"] for column in form["columns"]}
    assert list(values) == frame.columns.tolist()
    found = pd.DataFrame(values).astype(float)
    np.testing.assert_array_equal(found.to_numpy(), frame.to_numpy())
    assert {column["source"] for column in form["columns"]} <= set(form["sources"])
    assert form["columns"][2]["equation"] == "rain_mm x 3600 / step_s"
    assert {row["key"]: row["value"] for row in form["parameters"]}["pit.depth"] == 0.6604
    assert form["model"][0] == {"name": "perimeter_m", "value": pytest.approx(42.0624, rel=1e-12),
                                "unit": "m"}  # fmt: skip


def test_never_is_null_in_json_and_a_word_in_csv(demo_sites: Path) -> None:
    frame = assess(
        load_home(demo_sites / "split_level_on_clay.toml"), None, Settings(n_draws=16)
    ).trace(1)
    frame.attrs["about"]["to_floor_s"] = float("inf")
    form = json.loads(trace_text(frame, Path("storm.json")))
    assert form["about"]["to_floor_s"] is None
    assert form["columns"][1]["values"][-1] is None
    assert "# to_floor_s: never\n" in trace_text(frame, Path("storm.csv"))


def test_a_name_of_several_lines_stays_in_its_line(answer: Assessment) -> None:
    frame = answer.trace()
    frame.attrs["about"]["home"] = 'a\nb",\r\u2028c'
    lines = trace_text(frame, Path("storm.csv")).split("\n")
    assert '# home: a b", c' in lines


def test_the_command_writes_the_storm_of_the_first_sentence(
    site: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    out = site.with_name("storm.csv")
    assert main(["assess", str(site), "--trace", str(out), "--storm", "25", *FEW]) == 0
    assert "25-year" in capsys.readouterr().out
    assert "\n# return_period_yr: 25\n" in out.read_text(encoding="utf-8")
    expected = assess(load_home(site), None, Settings(n_draws=16, headline_yr=25.0)).trace()
    assert out.read_text(encoding="utf-8") == trace_text(expected, out)
    assert list(site.parent.glob(".riskkit*")) == []


@pytest.mark.parametrize(
    ("name", "words"),
    [
        ("storm.xlsx", "is neither CSV nor JSON; write storm.csv or storm.json"),
        ("storm", "is neither CSV nor JSON"),
        ("none/storm.csv", "its folder does not exist"),
        ("split_level_on_clay.toml", "overwrite"),
        ("days.csv", "overwrite"),
    ],
)
def test_a_place_that_cannot_be_is_refused_and_nothing_is_written(
    site: Path, name: str, words: str, capsys: pytest.CaptureFixture[str]
) -> None:
    before = {path: path.read_bytes() for path in site.parent.iterdir()}
    out = site.parent / name
    assert main(["assess", str(site), "--trace", str(out), *FEW]) == 2
    said = capsys.readouterr()
    assert words in said.err and said.err.count("\n") == 1 and said.out == ""
    assert {path: path.read_bytes() for path in site.parent.iterdir()} == before


def test_one_file_for_page_and_trace_is_refused(
    site: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    out = str(site.with_name("storm.csv"))
    assert main(["assess", str(site), "--html", out, "--trace", out, *FEW]) == 2
    assert "overwrite" in capsys.readouterr().err


def test_what_stood_there_stays_where_there_is_no_answer(
    site: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    out = site.with_name("storm.csv")
    out.write_text("mine")
    site.write_text(site.read_text().replace("[pit]", "[pti]"))
    assert main(["assess", str(site), "--trace", str(out), *FEW]) == 2
    assert out.read_text() == "mine"


def test_a_home_without_a_pit_has_no_trace(site: Path, capsys: pytest.CaptureFixture[str]) -> None:
    out = site.with_name("storm.json")
    site.write_text('[rain]\nrecord = "rain.csv"\n[pit]\ndepth = "none"\n')
    status = main(["assess", str(site), "--trace", str(out), *FEW])
    assert status == 2 and not out.exists()
    assert "pit" in capsys.readouterr().err


def test_only_csv_and_json_are_written(answer: Assessment) -> None:
    with pytest.raises(InputError, match="neither CSV nor JSON"):
        trace_text(answer.trace(), Path("storm.txt"))
