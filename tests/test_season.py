"""`riskkit season` from end to end."""

from __future__ import annotations

import gzip
import json
from collections.abc import Callable, Iterator
from dataclasses import replace
from pathlib import Path

import numpy as np
import pytest

from riskkit.cli.main import main
from riskkit.rainfall.readers.plain import write_rain
from riskkit.rainfall.readers.record import read_rain
from riskkit.seasons.check import SeasonCheck, check_seasons
from riskkit.seasons.fit import GaugedRecord, fit_storms
from riskkit.storm.pulses import StormSeasons, simulate
from riskkit.storm.synthetic import synthetic_seasons


@pytest.fixture(scope="module")
def record(tmp_path_factory: pytest.TempPathFactory) -> Path:
    path = tmp_path_factory.mktemp("season") / "town.csv"
    write_rain(simulate(synthetic_seasons(), 12, 1991, np.random.default_rng(6)), path)
    return path


@pytest.fixture(scope="module", autouse=True)
def fitted_once() -> Iterator[None]:
    """A record is fitted and checked once, under whichever name it is read."""
    found: dict[bytes, StormSeasons] = {}
    checked: dict[bytes, SeasonCheck] = {}

    def fitted(sight: GaugedRecord, tell: Callable[[str], None]) -> StormSeasons:
        key = sight.record.depth_mm.tobytes()
        if key not in found:
            found[key] = fit_storms(sight, tell)
        return found[key]

    def of(seasons: StormSeasons, sight: GaugedRecord, tell: Callable[[str], None]) -> SeasonCheck:
        key = sight.record.depth_mm.tobytes()
        if key not in checked:
            checked[key] = check_seasons(seasons, sight, tell)
        return checked[key]

    with pytest.MonkeyPatch.context() as patch:
        patch.setattr("riskkit.seasons.fit.fit_storms", fitted)
        patch.setattr("riskkit.seasons.check.check_seasons", of)
        yield


def test_it_writes_a_record_that_can_be_read(
    record: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    out = record.with_name("made.csv.gz")
    assert main(["season", str(record), "--out", str(out), "--years", "40", "--json"]) == 0
    form = json.loads(capsys.readouterr().out)
    assert form["sentence"].startswith("The generated seasons hold")
    made = read_rain(out)
    assert made.name == "generated from town.csv"
    assert made.depth_mm.size == 24 * (40 * 365 + 10) and made.interval_s == 3600
    yearly = made.depth_mm.sum() / 40, read_rain(record).depth_mm.sum() / 12
    assert yearly[0] == pytest.approx(yearly[1], rel=0.1)
    assert main(["rain", str(out)]) == 0
    assert "40 years of rain known well enough" in capsys.readouterr().out


def test_the_name_of_a_file_makes_no_line_of_its_own(
    record: Path, tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    odd = tmp_path / "a\n# unit: in\n\x1b[31m.csv"
    odd.write_bytes(record.read_bytes())
    out = tmp_path / "made.csv"
    assert main(["season", str(odd), "--out", str(out), "--years", "1"]) == 0
    assert "\x1b" not in capsys.readouterr().out
    assert "\n# unit" not in out.read_text("utf-8")
    assert read_rain(out).name == "generated from a # unit: in ?[31m.csv"


@pytest.mark.parametrize(
    ("options", "words"),
    [
        (["--years", "30"], "no file to write"),
        (["--seed", "3"], "no file to write"),
        (["--out", "rain.txt"], "no CSV"),
        (["--out", "made.csv", "--years", "0"], "outside 1 to 200"),
        (["--out", "made.csv", "--years", "201"], "outside 1 to 200"),
        (["--seed", "-1"], "below zero"),
        (["--out", "nowhere/made.csv"], "folder does not exist"),
    ],
)
def test_it_refuses_in_one_sentence(
    options: list[str], words: str, record: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    assert main(["season", str(record), *options]) == 2
    error = capsys.readouterr().err
    assert words in error and error.count("\n") == 1 and error.startswith("riskkit: ")


def test_it_does_not_overwrite_what_it_reads(
    record: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    assert main(["season", str(record), "--out", str(record)]) == 2
    assert "overwrite" in capsys.readouterr().err


def test_a_daily_record_is_refused(tmp_path: Path, capsys: pytest.CaptureFixture[str]) -> None:
    path = tmp_path / "days.csv"
    rows = [f"{d},1.0" for d in np.arange("2001-01-01", "2003-01-01", dtype="datetime64[D]")]
    path.write_text("date,depth_mm\n" + "\n".join(rows), encoding="utf-8")
    assert main(["season", str(path)]) == 2
    assert "days.csv: its interval of 24 h" in capsys.readouterr().err


def test_a_record_that_cannot_be_right_is_refused(
    record: Path, tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    """Inches times 25.4 once too often: no seasons, and no file."""
    town, wrong, out = read_rain(record), tmp_path / "town.csv", tmp_path / "made.csv"
    write_rain(replace(town, depth_mm=25.4 * town.depth_mm), wrong)
    assert main(["season", str(wrong), "--out", str(out)]) == 2
    told = capsys.readouterr()
    assert told.out == "" and "town.csv: it cannot be right: " in told.err
    assert not out.exists()


@pytest.mark.parametrize("name", ["made.csv", "made.csv.gz"])
def test_only_what_was_generated_is_written_over(
    name: str, record: Path, tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    """Somebody may have no other copy of a record that was measured."""
    out = tmp_path / name
    season = ["season", str(record), "--years", "5", "--out", str(out)]
    assert main(season) == 0 == main(season)
    town = record.read_bytes()
    for there in (town, gzip.compress(town), b"", b"\x1f\x8btorn"):
        out.write_bytes(there)
        capsys.readouterr()
        assert main(season) == 2
        assert "there is another file of this name, which would be lost" in capsys.readouterr().err
        assert out.read_bytes() == there
