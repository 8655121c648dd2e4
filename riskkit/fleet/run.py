"""Work out all homes of a table, partition by partition, on one machine or on many.

Which worker has a partition, and how large partitions are, changes no number: every draw follows
from the names of home, neighbourhood and place. Only the calling process writes, and only whole
files.
"""

from __future__ import annotations

import hashlib
import itertools
import multiprocessing
import signal
import time
from collections.abc import Callable, Iterator, Sequence
from concurrent.futures import FIRST_COMPLETED, Future, ProcessPoolExecutor, wait
from concurrent.futures.process import BrokenProcessPool
from contextlib import ExitStack, contextmanager
from dataclasses import dataclass
from pathlib import Path
from typing import Any, Protocol

from riskkit.errors import InputError
from riskkit.files import locked
from riskkit.fleet.jobs import Done, Job, begin_worker, work_out
from riskkit.fleet.places import Place, PlaceFiles, file_hash
from riskkit.fleet.row_places import Places
from riskkit.fleet.settings import FleetSettings
from riskkit.fleet.store import (
    MANIFEST,
    done_parts,
    open_run,
    read_bad_rows,
    withdraw_run,
    write_part,
)
from riskkit.fleet.table import BadRow, RawRow, home_of_row, read_rows

__all__ = ["Progress", "RunSummary", "need_a_home", "run_fleet"]

_MOST_LOST = 5  # workers in one run, after which something is wrong with the machine
_AHEAD = 2  # partitions that wait for each worker
_MOST_ROWS = 100_000  # of a partition, which is held whole


@dataclass(frozen=True)
class Progress:
    """How far a run is.

    Parameters
    ----------
    done, total : int
        Rows that are worked out, and all [-].
    left_s : float or None
        Time left; None before the first partition [s].
    """

    done: int
    total: int
    left_s: float | None


@dataclass(frozen=True)
class RunSummary:
    """What a run came to.

    Parameters
    ----------
    homes, bad : int
        Homes that were worked out, and rows that were refused, in all partitions of the folder [-].
    new : int
        Rows that this call worked out [-].
    seconds : float
        How long it took [s].
    """

    homes: int
    bad: int
    new: int
    seconds: float


class _Workers(Protocol):
    """Who works partitions out: this process, others of this machine, or a cluster.

    `ahead` is how many partitions are handed on at a time.
    """

    ahead: int

    def submit(self, job: Job) -> Future[Done]: ...

    def stop(self) -> None: ...

    def again(self) -> bool: ...


class _Here:
    """This process, one partition after the other."""

    ahead = 1

    def submit(self, job: Job) -> Future[Done]:
        done: Future[Done] = Future()
        done.set_result(work_out(job))
        return done

    def stop(self) -> None: ...

    def again(self) -> bool:
        return False


@contextmanager
def _uninterrupted() -> Iterator[None]:
    """Begin workers that Ctrl-C does not reach: one that ends half begun leaves its pool waiting.

    They take over what is held back here, and the caller hears of it at the end.
    """
    if not hasattr(signal, "pthread_sigmask"):
        yield
        return
    before = signal.pthread_sigmask(signal.SIG_BLOCK, {signal.SIGINT})
    try:
        yield
    finally:
        signal.pthread_sigmask(signal.SIG_SETMASK, before)


class _Processes:
    """Processes of this machine."""

    def __init__(self, count: int) -> None:
        self.count, self.ahead, self._lost = count, count * _AHEAD, 0
        self._context = multiprocessing.get_context("spawn")
        self._stop = self._context.Event()
        self._begin()

    def _begin(self) -> None:
        self._pool = ProcessPoolExecutor(
            self.count, self._context, initializer=begin_worker, initargs=(self._stop,)
        )

    def submit(self, job: Job) -> Future[Done]:
        try:
            with _uninterrupted():
                return self._pool.submit(work_out, job)
        except BrokenProcessPool as error:  # a worker was lost since the last one was handed on
            lost: Future[Done] = Future()
            lost.set_exception(error)
            return lost

    def stop(self) -> None:
        self._stop.set()
        self._pool.shutdown(wait=True, cancel_futures=True)

    def again(self) -> bool:
        self._lost += 1
        self._pool.shutdown(wait=True, cancel_futures=True)
        if self._lost > _MOST_LOST:
            return False
        self._begin()
        return True


def run_fleet(
    table: Path,
    folder: Path,
    settings: FleetSettings,
    *,
    usual: PlaceFiles | None = None,
    part_size: int = 50,
    workers: int | str = 1,
    progress: Callable[[Progress], None] | None = None,
) -> RunSummary:
    """Work out all homes of a table; what is done already is not done again.

    Parameters
    ----------
    table : Path
        Table of homes, or a folder of home files.
    folder : Path
        Folder of the run.
    settings : FleetSettings
        How to work it out.
    usual : PlaceFiles, optional
        Rain for homes that name none.
    part_size : int
        Rows of a partition [-].
    workers : int or str
        How many processes, 0 for the calling one alone; or the address of a Dask scheduler [-].
    progress : callable, optional
        Told how far it is.

    Returns
    -------
    RunSummary
        What it came to.

    Raises
    ------
    InputError
        Where table or folder cannot be read or written, or the folder holds another run.
    KeyboardInterrupt
        Where it is stopped; partitions that are done stay.
    """
    usual = PlaceFiles() if usual is None else usual
    if not 1 <= part_size <= _MOST_ROWS:
        what = f"{part_size} rows are not from 1 to {_MOST_ROWS:,}"
        raise InputError("partition", what, "such as 50")
    if isinstance(workers, int) and workers < 0:
        raise InputError("workers", f"{workers} are fewer than none", "such as 2")
    begun = time.monotonic()
    places = Places(table if table.is_dir() else table.parent, usual, settings)
    total, twice = _looked_through(table, places)
    is_new = not folder.exists()
    open_run(folder, _asked(table, settings, usual, part_size) | {"rows": total})
    try:
        new = _worked_out(
            table, folder, settings, part_size, workers, places, twice, total, progress
        )
    except InputError:
        if is_new and not done_parts(folder):  # nothing was begun, nothing is kept
            withdraw_run(folder, with_folder=True)
        raise
    refused = sum(1 for _ in read_bad_rows(folder))
    return RunSummary(total - refused, refused, new, time.monotonic() - begun)


def need_a_home(
    summary: RunSummary, table: Path, folder: Path, *, with_folder: bool = False
) -> None:
    """Refuse a run in which every row was refused, and keep nothing of it.

    Parameters
    ----------
    summary : RunSummary
        What it came to.
    table, folder : Path
        Table of homes, and folder of the run.
    with_folder : bool
        Whether the folder was made for it, and goes too.

    Raises
    ------
    InputError
        Where no home was worked out.
    """
    if summary.homes:
        return
    bad = next(read_bad_rows(folder))
    withdraw_run(folder, with_folder=with_folder)
    what = f"every row is refused, the first, row {bad.number}: {bad.reason.rstrip('.')}"
    raise InputError(table.name, what)


def _worked_out(
    table: Path,
    folder: Path,
    settings: FleetSettings,
    part_size: int,
    workers: int | str,
    places: Places,
    twice: frozenset[int],
    total: int,
    progress: Callable[[Progress], None] | None,
) -> int:
    """Work out what is not done yet, and return how many rows that were."""
    begun, new = time.monotonic(), 0
    with ExitStack() as stack:
        stack.enter_context(locked(folder / MANIFEST))
        done = done_parts(folder)
        kept = sum(min(part_size, total - number * part_size) for number in done)
        if kept < total:
            crew = stack.enter_context(_crew(workers))
            jobs = _jobs(table, settings, part_size, done, twice, places)
            for number, data, bad, n_rows in _all_of(jobs, crew):
                write_part(folder, number, data, bad)
                new += n_rows
                if progress is not None:
                    each_s = (time.monotonic() - begun) / new
                    progress(Progress(kept + new, total, each_s * (total - kept - new)))
    return new


def _looked_through(table: Path, places: Places) -> tuple[int, frozenset[int]]:
    """Count the rows of a table, name those whose id stood there before, and see where they lie."""
    seen: set[bytes] = set()
    total, twice = 0, []
    for row in read_rows(table):
        total += 1
        places.see(row)
        name = dict(row.cells).get("id", "")
        key = hashlib.sha256(name.encode()).digest()[:12]
        if name and key in seen:
            twice.append(row.number)
        seen.add(key)
    if total == 0:
        raise InputError(table.name, "it holds no home", "give every home a row")
    return total, frozenset(twice)


def _asked(
    table: Path, settings: FleetSettings, usual: PlaceFiles, part_size: int
) -> dict[str, Any]:
    """What a run rests on, as it stands in its manifest."""
    files = sorted(table.glob("*.toml")) if table.is_dir() else [table]
    whole = hashlib.sha256()
    for each in files:
        whole.update(f"{each.name} {file_hash(each)}\n".encode())
    return {
        "settings": settings.form(),
        "part_size": part_size,
        "table": {"name": table.name, "sha256": whole.hexdigest()},
        "usual": [Path(each).name for each in usual.paths],
        "rain": {Path(each).name: file_hash(Path(each)) for each in usual.paths},
    }


def _jobs(
    table: Path,
    settings: FleetSettings,
    part_size: int,
    done: set[int],
    twice: frozenset[int],
    places: Places,
) -> Iterator[tuple[Job, int]]:
    """Cut the rows into partitions; those that are done are passed over."""
    rows = read_rows(table)
    for number in itertools.count():
        part = list(itertools.islice(rows, part_size))
        if not part:
            return
        if number not in done:
            yield _job(number, part, settings, twice, places), len(part)


def _job(
    number: int,
    rows: Sequence[RawRow],
    settings: FleetSettings,
    twice: frozenset[int],
    places: Places,
) -> Job:
    good, bad, place_of = [], [], []
    found: dict[Place, int] = {}
    for row in rows:
        place = places.of(row)
        if row.number in twice or isinstance(place, str):
            home = home_of_row(row)  # what is wrong with the row itself is said first
            if not isinstance(home, BadRow):
                why = place if isinstance(place, str) else "id: a row above has the same."
                home = BadRow(row.number, home.home_id, why)
            bad.append(home)
        else:
            good.append(row.loaded())
            place_of.append(found.setdefault(place, len(found)))
    return Job(
        number, tuple(good), tuple(found), tuple(place_of), tuple(bad), settings, places.middle
    )


@contextmanager
def _crew(workers: int | str) -> Iterator[_Workers]:
    """Begin the workers, and let them end with the run, however that ends."""
    crew: _Workers
    if isinstance(workers, str):
        from riskkit.fleet.cluster import Cluster

        crew = Cluster(workers, work_out)
    elif workers == 0:
        crew = _Here()
    else:
        crew = _Processes(workers)
    try:
        yield crew
    finally:
        crew.stop()


def _all_of(
    jobs: Iterator[tuple[Job, int]], crew: _Workers
) -> Iterator[tuple[int, bytes, tuple[BadRow, ...], int]]:
    """Hand partitions on, a few ahead of each worker, and give back what is done.

    A partition whose worker was lost is handed on again.
    """
    open_jobs: dict[Future[Done], tuple[Job, int]] = {}
    again: list[tuple[Job, int]] = []
    while True:
        while len(open_jobs) < crew.ahead:
            job = again.pop() if again else next(jobs, None)
            if job is None:
                break
            open_jobs[crew.submit(job[0])] = job
        if not open_jobs:
            return
        finished, _ = wait(open_jobs, return_when=FIRST_COMPLETED)
        # what is done is taken first: a pool that broke loses the others
        for future in sorted(finished, key=lambda each: each.exception() is not None):
            job = open_jobs.pop(future)
            try:
                number, data, bad = future.result()
            except BrokenProcessPool:
                again += [job, *open_jobs.values()]
                open_jobs.clear()
                if not crew.again():
                    right = "see whether the machine has memory enough, or use fewer"
                    raise InputError("workers", "they end again and again", right) from None
                break
            yield number, data, bad, job[1]
