"""The same numbers behind a scheduler, also where a worker is lost."""

from __future__ import annotations

import os
import signal
import threading
import time
import warnings
from collections import OrderedDict
from collections.abc import Iterator
from pathlib import Path
from typing import Any

import pytest
from fleet.company import BEGUN, company, depths

from riskkit.cli.main import main
from riskkit.fleet.cluster import Cluster
from riskkit.fleet.jobs import Job
from riskkit.fleet.places import Place
from riskkit.fleet.run import run_fleet
from riskkit.fleet.settings import FleetSettings
from riskkit.fleet.store import SCHEMA, done_parts, read_columns

FEW = FleetSettings(n_draws=16, day=BEGUN)


def content(folder: Path) -> list[dict[str, Any]]:
    return [row for part in read_columns(folder, SCHEMA.names) for row in part.to_pylist()]


@pytest.fixture
def cluster() -> Iterator[Any]:
    """A scheduler and two workers, each a process of its own, on this machine alone."""
    with warnings.catch_warnings():
        warnings.simplefilter("ignore")  # of the library's own event loops
        from distributed import LocalCluster

        made = LocalCluster(
            n_workers=2, threads_per_worker=1, host="127.0.0.1", dashboard_address=None
        )
        yield made
        made.close()


@pytest.mark.filterwarnings("ignore")
def test_a_cluster_gives_the_same_numbers_also_where_a_worker_is_lost(
    cluster: Any, tmp_path: Path
) -> None:
    rows = [f"E{i},{',' * 10}\n" for i in range(9)]
    table, usual = company(tmp_path, *rows), depths(tmp_path)
    run_fleet(table, tmp_path / "here", FEW, usual=usual, workers=0)
    first = next(iter(cluster.workers.values()))
    there = tmp_path / "there"

    def lose() -> None:
        while not done_parts(there):
            time.sleep(0.02)
        os.kill(first.pid, signal.SIGKILL)

    losing = threading.Thread(target=lose)
    losing.start()
    address = cluster.scheduler_address
    summary = run_fleet(table, there, FEW, usual=usual, part_size=1, workers=address)
    losing.join()
    assert summary.homes == 12 and len(done_parts(there)) == 12
    assert content(there) == content(tmp_path / "here")


def test_no_scheduler_is_said_in_a_sentence(
    tmp_path: Path, capsys: pytest.CaptureFixture[str], monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.setattr("riskkit.fleet.cluster._WAIT_S", 0.5)
    arguments = ["fleet", "run", str(company(tmp_path)), "--out", str(tmp_path / "run"), "--table",
                 depths(tmp_path).table, "--scheduler", "tcp://127.0.0.1:9"]  # fmt: skip
    assert main(arguments) == 2
    said = capsys.readouterr().err
    assert "no scheduler at tcp://127.0.0.1:9" in said and "Traceback" not in said


class Handed:
    """A scheduler that notes what it is given, and works it out at once."""

    def __init__(self) -> None:
        self.given: list[tuple[Any, ...]] = []

    def submit(self, work: Any, *what: Any, **_: Any) -> Any:
        self.given.append(what)
        return work(*what)


def test_a_place_is_handed_on_once_for_all_partitions() -> None:
    """What comes back holds the places again; a partition that is handed on holds none."""
    client, executor = Handed(), Handed()
    cluster = object.__new__(Cluster)
    cluster._client, cluster._executor = client, executor
    cluster._work, cluster._places = (lambda job: job), OrderedDict()
    rain: Any = object()
    one, other = Place("one", rain), Place("other", rain)
    jobs = [Job(k, (), places, (), (), FEW) for k, places in enumerate([(one,), (one, other)] * 3)]
    found = [cluster.submit(job) for job in jobs]
    assert found == jobs and [given[0] for given in client.given] == [one, other]
    assert all(given[1].places == () for given in executor.given)
