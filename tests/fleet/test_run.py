"""All homes of a table: the same numbers however they are run, stopped, killed and gone on with."""

from __future__ import annotations

import json
import signal
import subprocess
import sys
import time
from concurrent.futures import Future
from concurrent.futures.process import BrokenProcessPool
from pathlib import Path
from typing import Any

import numpy as np
import pyarrow as pa
import pytest
from fleet.company import BEGUN, DEPTHS, company, depths

from riskkit.cli.main import main
from riskkit.ensemble.draws import draw_homes
from riskkit.ensemble.shared import Seeds, shared_columns
from riskkit.errors import InputError
from riskkit.fleet import run as running
from riskkit.fleet.jobs import Done, Job
from riskkit.fleet.run import run_fleet
from riskkit.fleet.seeds import home_seeds, seed_of
from riskkit.fleet.settings import FleetSettings
from riskkit.fleet.store import (
    SCHEMA,
    done_parts,
    read_bad_rows,
    read_columns,
    read_manifest,
)
from riskkit.home.home import Home
from riskkit.version import __version__
from tests.conftest import heed_interrupts

FEW = FleetSettings(n_draws=16, day=BEGUN)
BAD = ("D,,,,,x,,,,,,\n", "A,again,,,,,,,,,,\n")


def content(folder: Path) -> list[dict[str, Any]]:
    return [row for part in read_columns(folder, SCHEMA.names) for row in part.to_pylist()]


@pytest.fixture(scope="module")
def whole(tmp_path_factory: pytest.TempPathFactory) -> Path:
    """A run of all homes in one partition, in this process."""
    folder = tmp_path_factory.mktemp("company")
    table = company(folder, *BAD)
    summary = run_fleet(table, folder / "run", FEW, usual=depths(folder), workers=0)
    assert (summary.homes, summary.bad, summary.new) == (3, 2, 5)
    return folder


def test_the_rows_of_a_run(whole: Path) -> None:
    rows = content(whole / "run")
    assert [row["id"] for row in rows] == ["A", "B", "C"]
    for row in rows:
        causes = [row[f"by_{name}_per_yr"] for name in ("overtopping", "pump", "outage", "no_pump")]
        assert sum(causes) == pytest.approx(row["floods_per_yr"], rel=1e-9)
        assert row["chance_low"] <= row["chance_median"] <= row["chance_high"] <= 1
        assert sum(row["month_share"]) == pytest.approx(1)
        assert len(row["by_age_per_yr"]) == 10 * 16 and len(row["wet"]) == 2 * 16
    stuck = rows[1]
    assert stuck["left"] == ["switch_stuck"] and rows[0]["left_per_yr"] is None
    assert np.all(np.array(stuck["left_per_yr"]) >= np.array(stuck["by_age_per_yr"]) - 1e-6)


def test_a_run_says_what_it_rests_on(whole: Path) -> None:
    manifest = read_manifest(whole / "run")
    assert manifest["riskkit"] == __version__ and manifest["schema_version"] == 4
    assert manifest["settings"]["n_draws"] == 16
    (part,) = read_columns(whole / "run", ["id"])
    about = json.loads(part.schema.metadata[b"riskkit"])
    # sha256 of the depths, by another program's library call
    import hashlib

    assert about["rain"]["depths.csv"]["depths.csv"] == hashlib.sha256(DEPTHS.encode()).hexdigest()
    assert about["settings"] == manifest["settings"]


def test_bad_rows_come_back_and_the_rest_goes_on(whole: Path) -> None:
    bad = list(read_bad_rows(whole / "run"))
    assert [(row.number, row.home_id) for row in bad] == [(5, "D"), (6, "A")]
    assert "house.perimeter" in bad[0].reason and "a row above has the same" in bad[1].reason


def test_partitions_and_workers_change_no_number(whole: Path, tmp_path: Path) -> None:
    usual = depths(whole)
    run_fleet(whole / "homes.csv", tmp_path / "run", FEW, usual=usual, part_size=2, workers=2)
    assert done_parts(tmp_path / "run") == {0, 1, 2}
    assert content(tmp_path / "run") == content(whole / "run")


def test_the_order_of_the_table_changes_no_number(whole: Path, tmp_path: Path) -> None:
    head, *rows = (whole / "homes.csv").read_text("utf-8").splitlines(keepends=True)
    (tmp_path / "homes.csv").write_text(head + rows[2] + rows[0] + rows[1], "utf-8")
    run_fleet(tmp_path / "homes.csv", tmp_path / "run", FEW, usual=depths(whole), workers=0)
    expected = {row["id"]: row | {"row": 0} for row in content(whole / "run")}
    for row in content(tmp_path / "run"):
        assert row | {"row": 0} == expected[row["id"]]


def test_neighbours_share_the_ground_all_share_the_rain_and_nothing_else() -> None:
    one, two = (home_seeds(name, "mill", "rain.csv", 1) for name in "AB")
    far = home_seeds("C", "", "rain.csv", 1)
    assert one.ground == two.ground != far.ground == far.own and one.rain == two.rain == far.rain
    assert len({one.own, two.own, far.own, one.ground, one.rain}) == 5
    a, b, c = (draw_homes(Home(), 16, seeds) for seeds in (one, two, far))
    assert a.soil == b.soil != c.soil
    for name in ("native_k_factor", "water_table_depth_m", "permeable_depth_m"):
        assert np.array_equal(a[name], b[name]) and not np.array_equal(a[name], c[name])
    assert np.array_equal(a.rain_score, c.rain_score)
    assert np.array_equal(a.burst_score, c.burst_score)
    for name in ("perimeter_m", "pit_depth_m", "gap_share"):
        assert not np.array_equal(a[name], b[name])
    assert 47 in shared_columns()["ground"] and shared_columns()["rain"] == (49,)


def test_one_seed_draws_as_before() -> None:
    one, three = draw_homes(Home(), 16, 5), draw_homes(Home(), 16, Seeds(5, 5, 5))
    assert np.array_equal(one["gap_share"], three["gap_share"])
    assert np.array_equal(one.burst_score, three.burst_score)


def test_a_seed_is_the_beginning_of_a_hash() -> None:
    """echo -n '1\\x1fhome\\x1fA' through another SHA-256, its first 62 bits."""
    import hashlib

    digest = hashlib.sha256(b"1\x1fhome\x1fA").hexdigest()
    assert seed_of("home", "A", 1) == int(digest[:16], 16) // 4


def test_another_run_in_the_folder_is_refused(whole: Path, tmp_path: Path) -> None:
    usual, table = depths(whole), whole / "homes.csv"
    with pytest.raises(InputError, match="other settings"):
        run_fleet(
            table, whole / "run", FleetSettings(n_draws=32, day=BEGUN), usual=usual, workers=0
        )
    with pytest.raises(InputError, match="another table"):
        run_fleet(company(tmp_path), whole / "run", FEW, usual=usual, workers=0)
    with pytest.raises(InputError, match="holds other files"):
        run_fleet(table, whole, FEW, usual=usual, workers=0)
    again = run_fleet(table, whole / "run", FEW, usual=usual, workers=0)
    assert again.new == 0 and again.homes == 3


def test_homes_without_rain_are_refused_each(tmp_path: Path) -> None:
    summary = run_fleet(company(tmp_path), tmp_path / "run", FEW, workers=0)
    assert (summary.homes, summary.bad) == (0, 3)
    assert all("no rain record" in row.reason for row in read_bad_rows(tmp_path / "run"))


def test_a_run_that_refuses_every_row_leaves_nothing_behind(
    tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    table, run = str(company(tmp_path)), tmp_path / "run"
    before = sorted(tmp_path.iterdir())
    for more, words in (
        (["--workers", "1"], "every row is refused, the first, row 2: rain: no rain record"),
        (["--workers", "0"], "--workers: 0 is not from 1 to 1,000"),
        (["--workers", "1", "--part-size", "0"], "--part-size: 0 rows"),
    ):
        assert main(["fleet", "run", table, "--out", str(run), "--draws", "16", *more]) == 2
        out, said = capsys.readouterr()
        assert words in said and said.count("\n") == 1 and out == ""
        assert sorted(tmp_path.iterdir()) == before
    run.mkdir()  # a folder of somebody, still empty, stays and stays empty
    few = ["--draws", "16", "--workers", "1"]
    assert main(["fleet", "run", table, "--out", str(run), *few]) == 2
    assert run.is_dir() and not list(run.iterdir())


def test_a_run_that_cannot_begin_leaves_nothing_behind(
    tmp_path: Path, capsys: pytest.CaptureFixture[str], monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.setattr("riskkit.fleet.cluster._WAIT_S", 0.5)
    table, run = str(company(tmp_path)), tmp_path / "run"
    depth = depths(tmp_path).table
    asked = ["--table", depth, "--scheduler", "tcp://127.0.0.1:1", "--draws", "16"]
    assert main(["fleet", "run", table, "--out", str(run), *asked]) == 2
    assert "no scheduler at" in capsys.readouterr().err and not run.exists()
    asked = ["--table", depth, "--workers", "1"]
    for wrong in (["--past", "51"], ["--past", "-1"], ["--gauge", "41.2"], ["--gauge", "91,0"]):
        assert main(["fleet", "run", table, "--out", str(run), *asked, *wrong]) == 2
        assert capsys.readouterr().err.count("\n") == 1 and not run.exists()


def command(folder: Path, *more: str) -> list[str]:
    depths(folder)
    return [
        sys.executable, "-m", "riskkit", "fleet", "run", str(folder / "homes.csv"), "--out",
        str(folder / "run"), "--table", str(folder / "depths.csv"), "--draws", "16", "--day",
        "2026-01-01", "--part-size", "1", *more,
    ]  # fmt: skip


def until_a_part_is_there(folder: Path, process: subprocess.Popen[str]) -> None:
    while not list((folder / "run").glob("part-*.parquet")):
        assert process.poll() is None, process.communicate()
        time.sleep(0.01)


@pytest.mark.parametrize(
    ("how", "workers"), [(signal.SIGKILL, "1"), (signal.SIGINT, "1"), (signal.SIGINT, "2")]
)
def test_a_run_that_is_killed_or_stopped_goes_on(
    how: signal.Signals, workers: str, whole: Path, tmp_path: Path
) -> None:
    text = (whole / "homes.csv").read_text("utf-8")
    (tmp_path / "homes.csv").write_text(text + "".join(f"E{i},{',' * 10}\n" for i in range(15)))
    process = subprocess.Popen(
        command(tmp_path, "--workers", workers), text=True, stdout=subprocess.PIPE,
        stderr=subprocess.PIPE, preexec_fn=heed_interrupts,
    )  # fmt: skip
    until_a_part_is_there(tmp_path, process)
    process.send_signal(how)
    _, said = process.communicate(timeout=60)
    if how is signal.SIGINT:
        assert process.returncode == 130, said
        assert said == (
            "riskkit: stopped; what is done is kept, and the same command goes on from there.\n"
        )
    assert 0 < len(done_parts(tmp_path / "run")) < 20
    (tmp_path / "run" / ".riskkit.torn.part").write_bytes(b"half a partition")
    usual = depths(tmp_path)
    summary = run_fleet(
        tmp_path / "homes.csv", tmp_path / "run", FEW, usual=usual, part_size=1, workers=0
    )
    assert 0 < summary.new < 20 and summary.homes == 18
    assert content(tmp_path / "run")[:3] == content(whole / "run")
    assert not list((tmp_path / "run").glob(".riskkit.*"))


class Losing:
    """A crew that loses a worker with every second partition, and is then begun anew."""

    ahead = 2

    def __init__(self) -> None:
        self.handed = 0

    def submit(self, job: Job) -> Future[Done]:
        self.handed += 1
        found: Future[Done] = Future()
        if self.handed % 2:
            found.set_result((job.number, b"", ()))
        else:
            found.set_exception(BrokenProcessPool())
        return found

    def stop(self) -> None: ...

    def again(self) -> bool:
        return self.handed < 40


def jobs(count: int) -> Any:
    return ((Job(number, (), (), (), (), FEW), 1) for number in range(count))


def test_the_partitions_of_a_lost_worker_are_run_again_once_each() -> None:
    found = sorted(number for number, *_ in running._all_of(jobs(9), Losing()))
    assert found == list(range(9))


class Hanging(Losing):
    """A crew whose first partition breaks the pool while the second is still being worked out."""

    def submit(self, job: Job) -> Future[Done]:
        self.handed += 1
        found: Future[Done] = Future()
        if self.handed == 1:
            found.set_exception(BrokenProcessPool())
        elif self.handed > 2:
            found.set_result((job.number, b"", ()))
        return found


def test_a_partition_that_is_under_way_when_the_pool_breaks_is_run_again() -> None:
    found = sorted(number for number, *_ in running._all_of(jobs(5), Hanging()))
    assert found == list(range(5))


def test_workers_that_are_lost_again_and_again_end_the_run() -> None:
    crew = Losing()
    crew.again = lambda: False  # type: ignore[method-assign]  # for this one
    with pytest.raises(InputError, match="again and again"):
        list(running._all_of(jobs(9), crew))


def test_a_torn_partition_is_told(whole: Path, tmp_path: Path) -> None:
    (tmp_path / "part-00000.parquet").write_bytes(b"PAR1 torn")
    with pytest.raises(InputError, match="cannot be read"):
        list(read_columns(tmp_path, ["id"]))
    with pytest.raises(InputError, match="no run in this folder"):
        read_manifest(tmp_path)


def test_columns_are_those_of_the_schema(whole: Path) -> None:
    (part,) = read_columns(whole / "run", SCHEMA.names)
    assert isinstance(part, pa.Table) and part.schema.remove_metadata() == SCHEMA


def test_a_visit_that_has_not_come_yet_is_refused(tmp_path: Path) -> None:
    """The day of the run is 2026-01-01; a clock may be a day off, in tables as in home files."""
    rows = [f"{key},,,,,,,,clay,{day},,\n" for key, day in
            (("D", "2026-01-02"), ("E", "2026-01-03"), ("F", "2030-01-01"))]  # fmt: skip
    run_fleet(company(tmp_path, *rows), tmp_path / "run", FEW, usual=depths(tmp_path), workers=0)
    assert [row["id"] for row in content(tmp_path / "run")] == ["A", "B", "C", "D"]
    late, later = read_bad_rows(tmp_path / "run")
    assert (late.number, late.home_id, later.home_id) == (6, "E", "F")
    assert later.reason == (
        "service.last_visit: 2030-01-01 has not come yet on 2026-01-01, the day of the run; write "
        "the day of a visit that was made, or run with a later --day."
    )
    files = tmp_path / "files"
    files.mkdir()
    for name, day in (("now", "2026-01-02"), ("late", "2030-01-01")):
        text = f'name = "{name}"\n[[visit]]\ndate = {day}\n'
        (files / f"{name}.toml").write_text(text, "utf-8")
    run_fleet(files, tmp_path / "of_files", FEW, usual=depths(tmp_path), workers=0)
    (refused,) = read_bad_rows(tmp_path / "of_files")
    assert refused.reason.startswith("visit, date: 2030-01-01 has not come yet")
