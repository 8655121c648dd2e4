"""A run of the truth about an invented company is taken for what it is, and nothing else for it."""

from __future__ import annotations

import datetime
import json
import shutil
from dataclasses import replace
from pathlib import Path

import pyarrow as pa
import pyarrow.parquet as pq
import pytest
from fleet.company import BEGUN, DEPTHS, HEAD, ROWS, company, depths

from riskkit.cli.main import main
from riskkit.errors import InputError
from riskkit.fleet.run import run_fleet
from riskkit.fleet.settings import FleetSettings
from riskkit.fleet.store import part_path, rows_done
from riskkit.fleet.truth import share_reached

FEW = FleetSettings(16, day=BEGUN)
ASKED = 1, datetime.date(2026, 1, 5), 150.0, 10000.0


def truth_table(folder: Path) -> Path:
    """The homes of the company, of which B tells its perimeter too, and C when its pump starts."""
    folder.mkdir(exist_ok=True)
    a, b, c = ROWS
    rows = (a, b.replace("-88.60,,24", "-88.60,150,24"), c.replace(",150,,,", ",150,26,13 in,"))
    (folder / "homes.csv").write_text(HEAD + "".join(rows), "utf-8")
    return folder / "homes.csv"


@pytest.fixture(scope="module")
def runs(tmp_path_factory: pytest.TempPathFactory) -> Path:
    """Runs of what is known, of the truth, and of others that are no truth of it."""
    folder = tmp_path_factory.mktemp("runs")
    usual, known, truth = depths(folder), company(folder), truth_table(folder / "truth_of")
    run_fleet(known, folder / "known", FEW, usual=usual, workers=0)
    run_fleet(truth, folder / "true", FEW, usual=usual, workers=0)
    run_fleet(truth, folder / "reseeded", replace(FEW, seed=2), usual=usual, workers=0)
    other = folder / "wetter.csv"
    other.write_text(DEPTHS.replace("150", "160"), "utf-8")
    run_fleet(truth, folder / "wetter", FEW, usual=replace(usual, table=str(other)), workers=0)
    (folder / "other.csv").write_text("id,ground.soil\nZ,clay\n", "utf-8")
    run_fleet(folder / "other.csv", folder / "others", FEW, usual=usual, workers=0)
    return folder


def test_who_knows_all_reaches_all(runs: Path, tmp_path: Path) -> None:
    """A run of the same numbers that says that it tells less: its plan is the best there is."""
    same = Path(shutil.copytree(runs / "true", tmp_path / "same"))
    table = pq.read_table(part_path(same, 0))
    at = table.schema.get_field_index("told")
    table = table.set_column(at, table.schema.field(at), pa.array([1, 1, 1], pa.int64()))
    pq.write_table(table, part_path(same, 0))
    assert share_reached(same, runs / "true", *ASKED)[0] == pytest.approx(1.0)


def test_the_command_judges_a_plan_by_the_truth(
    runs: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    rank = ["fleet", "rank", str(runs / "known"), "--begins", "2026-01-05", "--truth"]
    assert main([*rank, str(runs / "true"), "--json", "--visits-per-week", "1"]) == 0
    plan, calendar = json.loads(capsys.readouterr().out)["reached"]
    assert (plan, calendar) == share_reached(runs / "known", runs / "true", *ASKED)
    assert 0 < calendar <= 1 and 0 < plan <= 1


@pytest.mark.parametrize(
    ("known", "truth", "says"),
    [
        ("known", "known", "known: it tells no more of its homes than known"),
        ("true", "known", "known: it tells no more of its homes than true"),
        ("known", "reseeded", "reseeded: it is a run with other settings; run the truth as known"),
        ("known", "wetter", "wetter: it is a run with other rain"),
        ("known", "others", "others: it holds other homes"),
        ("known", "truth_of", "truth_of: there is no run in this folder"),
    ],
)
def test_what_is_no_truth_is_refused(
    known: str, truth: str, says: str, runs: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    assert main(["fleet", "rank", str(runs / known), "--truth", str(runs / truth)]) == 2
    out, said = capsys.readouterr()
    assert f"riskkit: {says}" in said.replace("--truth, ", "") or says in said
    assert said.count("\n") == 1 and out == ""


def test_neither_a_part_nor_an_earlier_run_judges_a_plan(runs: Path, tmp_path: Path) -> None:
    part, old = (Path(shutil.copytree(runs / "true", tmp_path / name)) for name in ("part", "old"))
    part_path(part, 0).unlink()
    with pytest.raises(InputError, match="part: 3 of its 3 homes are missing; run it to its end"):
        share_reached(runs / "known", part, *ASKED)
    asked = json.loads((old / "run.json").read_text("utf-8"))
    del asked["rows"]
    (old / "run.json").write_text(json.dumps(asked | {"schema_version": 3}), "utf-8")
    assert rows_done(old) is None
    with pytest.raises(InputError, match="old: it is a run of an earlier version"):
        share_reached(runs / "known", old, *ASKED)
