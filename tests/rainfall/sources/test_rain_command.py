"""`riskkit rain --near` from end to end, with a server on this machine."""

from __future__ import annotations

import json
import subprocess
import sys
import time
from pathlib import Path
from typing import Any

import pytest

from riskkit.cli.main import main
from riskkit.rainfall.sources import acis, uscrn

NEAR = ["rain", "--near", "41.2,-88.6"]


@pytest.mark.usefixtures("services")
def test_lists(capsys: pytest.CaptureFixture[str], tmp_path: Path, archive: Any) -> None:
    assert main([*NEAR, "--store", str(tmp_path)]) == 0
    out = capsys.readouterr().out
    row = next(line for line in out.splitlines() if "hourly:AB001" in line)
    assert "Alder Bend Field" in row and "3.5" in row and "2001-2003" in row and "90%" in row
    assert main([*NEAR, "--store", str(tmp_path), "--units", "metric", "--within", "10"]) == 0
    out = capsys.readouterr().out
    assert "5.6" in out and "AB002" not in out
    # a list is not a download: nothing but lists of stations was asked for
    assert {path.split(" ")[0] for path in archive.asked} == {
        "/stations.db", "/products/stations.tsv", "/StnMeta"}  # fmt: skip
    assert not list(tmp_path.glob("*.parquet"))


@pytest.mark.usefixtures("services")
def test_lists_as_json(capsys: pytest.CaptureFixture[str], tmp_path: Path) -> None:
    assert main([*NEAR, "--store", str(tmp_path), "--json"]) == 0
    form = json.loads(capsys.readouterr().out)
    assert form["form"] == "riskkit-rain-records"
    assert [one["key"] for one in form["records"]][:2] == ["grid:prism", "uscrn:XX_Alder_Bend_2_N"]


@pytest.mark.usefixtures("services")
def test_fetches_then_reads_as_any_record(
    capsys: pytest.CaptureFixture[str], tmp_path: Path, archive: Any
) -> None:
    options = ["--fetch", "daily:AB001", "--years", "1965-2004", "--store", str(tmp_path)]
    assert main([*NEAR, *options]) == 0
    first, _, rest = capsys.readouterr().out.partition("\n")
    path = Path(first.removeprefix("Stored: "))
    assert path == tmp_path / "daily_AB001_1965-2004.parquet"
    assert rest.startswith("From Meteostat, daily, station Alder Bend Field (AB001), fetched")
    assert "Own analysis of the record" in rest
    archive.asked.clear()
    assert main(["rain", str(path)]) == 0
    again = capsys.readouterr().out
    assert again and rest.endswith(again)
    assert archive.asked == []
    assert main(["rain", str(path), "--json"]) == 0
    notes = json.loads(capsys.readouterr().out)["record"]["notes"]
    assert notes[0].startswith("From Meteostat, daily, station Alder Bend Field (AB001), fetched")


@pytest.mark.usefixtures("archive")
def test_offline(
    capsys: pytest.CaptureFixture[str], tmp_path: Path, closed_port: int,
    monkeypatch: pytest.MonkeyPatch,
) -> None:  # fmt: skip
    import meteostat

    away = f"http://127.0.0.1:{closed_port}"
    for module, name in ((acis, "SERVICE"), (uscrn, "PRODUCTS")):
        monkeypatch.setattr(module, name, away)
    for name in ("hourly_endpoint", "daily_endpoint"):
        monkeypatch.setattr(meteostat.config, name, f"{away}/{{year}}/{{station}}.csv.gz")
    began = time.monotonic()
    assert main([*NEAR, "--store", str(tmp_path)]) == 2
    assert time.monotonic() - began < 2.0
    shown = capsys.readouterr()
    assert shown.out == ""
    assert shown.err.startswith("riskkit: No source of rain can be reached")
    assert shown.err.count("\n") == 1
    assert "nothing is stored yet" in shown.err
    assert not list(tmp_path.iterdir())


@pytest.mark.parametrize(
    ("arguments", "says"),
    [
        (["rain"], "--near LAT,LON"),
        (["rain", "a.csv", "--near", "41.2,-88.6"], "does not go with a file"),
        (["rain", "a.csv", "--fetch", "AB001"], "does not go with a file"),
        (["rain", "--near", "41.2,-88.6", "--years", "1990-2000"], "nothing to fetch"),
        (["rain", "--near", "95,-88.6"], "nowhere on Earth"),
    ],
)
def test_wrong_options(capsys: pytest.CaptureFixture[str], arguments: list[str], says: str) -> None:
    assert main(arguments) == 2
    assert says in capsys.readouterr().err


@pytest.mark.parametrize(
    ("arguments", "says"),
    [
        (["rain", "--near", "Alder Bend"], "is not a place"),
        (["rain", "--near", "41.2,-88.6", "--years", "all"], "are not years"),
    ],
)
def test_unreadable_options(
    capsys: pytest.CaptureFixture[str], arguments: list[str], says: str
) -> None:
    with pytest.raises(SystemExit) as caught:
        main(arguments)
    assert caught.value.code == 2
    assert says in capsys.readouterr().err


@pytest.mark.usefixtures("services")
def test_stopped_by_hand(
    capsys: pytest.CaptureFixture[str], tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    import meteostat

    def stop(*args: object, **options: object) -> None:
        raise KeyboardInterrupt

    monkeypatch.setattr(meteostat, "daily", stop)
    with pytest.raises(SystemExit) as caught:
        main([*NEAR, "--fetch", "daily:AB001", "--store", str(tmp_path)])
    assert caught.value.code == 130
    assert "the years that came are kept" in capsys.readouterr().err


def test_a_file_needs_no_network_library() -> None:
    code = (
        "import sys; from riskkit.rainfall.readers.record import read_rain; "
        "import riskkit.cli.main; "
        "print(*sys.modules)"
    )
    done = subprocess.run([sys.executable, "-c", code], capture_output=True, text=True, check=True)
    assert {"meteostat", "requests", "pvlib", "pyarrow"}.isdisjoint(done.stdout.split())
