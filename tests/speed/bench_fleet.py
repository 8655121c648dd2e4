"""Many homes: cost per home as a line, memory, workers, kills, plans by truth, a million homes.

Run as ``python tests/speed/bench_fleet.py PART …``; each part says what it measures. Everything is
an invented company under the invented record of forty years. Times are seconds of processor
(of a process and its children), which hang less on what else the machine does than those of the
clock; both are told. What was not run but carried on is called so.

    line       homes of --sizes, one process: cost per home, how far it is a line, memory
    workers    one worker and two, and two workers of a Dask scheduler: the same rows, how fast
    kills      runs that are killed at random moments, and gone on with: the same rows
    gain       plan and calendar against the best plan where all is known, at several seeds
    replays    years of the record through homes
    million    a table of a million rows through reading and handing on, without any physics
"""

from __future__ import annotations

import argparse
import contextlib
import datetime
import logging
import os
import resource
import signal
import subprocess
import sys
import tempfile
import threading
import time
import warnings
from collections.abc import Callable
from concurrent.futures import Future
from pathlib import Path
from typing import Any

import numpy as np
import psutil

from riskkit.fleet import run as running
from riskkit.fleet.demo import demo_text
from riskkit.fleet.jobs import Done, Job
from riskkit.fleet.places import PlaceFiles
from riskkit.fleet.row_places import Places
from riskkit.fleet.run import Progress, run_fleet
from riskkit.fleet.settings import FleetSettings
from riskkit.fleet.store import SCHEMA, done_parts, read_columns
from riskkit.fleet.table import BadRow, home_of_row, read_rows
from riskkit.fleet.truth import share_reached
from riskkit.home.home import Home
from riskkit.risk.design_rain import design_rain
from riskkit.years.records import ReplaySettings
from riskkit.years.run import replay

ROOT = Path(__file__).resolve().parents[2]
RAIN = ROOT / "demo_sites" / "alder_bend_rain.csv.gz"
AIR = ROOT / "demo_sites" / "alder_bend_temperature.csv.gz"
DAY = datetime.date(2026, 1, 1)
MANY = 10_000


def table(folder: Path, count: int, seed: int = 1, *, truth: bool = False) -> Path:
    path = folder / f"{'truth' if truth else 'homes'}_{count}_{seed}.csv"
    path.write_text(demo_text(count, seed, truth=truth), "utf-8")
    return path


def command(homes: Path, out: Path, draws: int, workers: int, part: int = 10) -> list[str]:
    return [
        sys.executable, "-m", "riskkit", "fleet", "run", str(homes), "--out", str(out), "--rain",
        str(RAIN), "--temperature", str(AIR), "--draws", str(draws), "--workers", str(workers),
        "--day", DAY.isoformat(), "--part-size", str(part),
    ]  # fmt: skip


def measured(arguments: list[str]) -> tuple[float, float, float]:
    """Seconds of the clock and of processors, and the most memory of all processes [MB]."""
    begin, most = time.perf_counter(), 0
    before = resource.getrusage(resource.RUSAGE_CHILDREN)
    process = subprocess.Popen(arguments, stdout=subprocess.DEVNULL)
    while process.poll() is None:
        with contextlib.suppress(psutil.Error):
            top = psutil.Process(process.pid)
            rss = sum(p.memory_info().rss for p in (top, *top.children(recursive=True)))
            most = max(most, rss)
        time.sleep(0.1)
    if process.returncode:
        raise SystemExit(f"the run ended with status {process.returncode}")
    after = resource.getrusage(resource.RUSAGE_CHILDREN)
    cpu = after.ru_utime + after.ru_stime - before.ru_utime - before.ru_stime
    return time.perf_counter() - begin, cpu, most / 1e6


def content(folder: Path) -> list[object]:
    return [row for part in read_columns(folder, SCHEMA.names) for row in part.to_pylist()]


def line(folder: Path, options: argparse.Namespace) -> None:
    """The cost of more and more homes of one run, and how far it is a straight line.

    Where it is stopped after so many seconds, and the folder is kept, it goes on the next time.
    """
    n, out, notes = max(options.sizes), folder / "line", folder / "line.csv"
    settings, begin = FleetSettings(options.draws, day=DAY), time.perf_counter()
    told = [tuple(map(float, row.split(","))) for row in _lines_of(notes)]
    spent = told[-1][1] if told else 0.0
    first, at_first = time.process_time(), None

    def note(progress: Progress) -> None:
        nonlocal at_first
        # what comes before the first partition (imports, compiled loops, rain) is paid each time
        at_first = time.process_time() if at_first is None else at_first
        cpu = spent + time.process_time() - at_first
        most = resource.getrusage(resource.RUSAGE_SELF).ru_maxrss / 1024
        told.append((float(progress.done), cpu, most))
        with notes.open("a", encoding="utf-8") as stream:
            stream.write(f"{progress.done},{cpu},{most}\n")
        if time.perf_counter() - begin > options.within:
            raise KeyboardInterrupt

    try:
        run_fleet(table(folder, n), out, settings, usual=usual(), part_size=20, workers=0,
                  progress=note)  # fmt: skip
    except KeyboardInterrupt:
        print(f"stopped at {told[-1][0]:.0f} of {n} homes; the same command goes on")
        return
    homes, cpu, memory = np.array(told).T
    fixed = 0.0 if at_first is None else at_first - first
    slope, zero = np.polyfit(homes, cpu, 1)
    off = np.abs(cpu - zero - slope * homes)[homes >= min(options.sizes)] / cpu[-1]
    for count in options.sizes:
        at = int(np.searchsorted(homes, count))
        print(f"{count} homes of {options.draws} draws: {cpu[at]:.1f} s of processor after the "
              f"first 20, {memory[at]:.0f} MB at most")  # fmt: skip
    kept = sum(path.stat().st_size for path in out.glob("part-*")) / n
    print(f"a line: {1000 * slope:.0f} ms of processor a home; no part of it lies farther from it "
          f"than {off.max():.1%} of the whole; {fixed:.1f} s before and for the first 20 homes; "
          f"{kept / 1000:.1f} kB a home kept")  # fmt: skip
    print(f"carried on, not measured: {MANY} homes {slope * MANY / 60:.0f} min of one processor, "
          f"a million {slope * 1e6 / 3600:.0f} h")  # fmt: skip


def _lines_of(path: Path) -> list[str]:
    return path.read_text("utf-8").splitlines() if path.exists() else []


def quiet_cluster(workers: int) -> Any:
    import distributed

    cluster: Any = distributed.LocalCluster

    return cluster(n_workers=workers, threads_per_worker=1, host="127.0.0.1",
                        dashboard_address=None, silence_logs=logging.ERROR)  # fmt: skip


def workers(folder: Path, options: argparse.Namespace) -> None:
    """One worker and two, with and without a scheduler, and one that is lost."""
    homes, rows, clocks = table(folder, options.homes), {}, {}
    for count in (1, 2):
        out = folder / f"workers_{count}"
        clock, cpu, memory = measured(command(homes, out, options.draws, count))
        rows[f"{count}"], clocks[f"{count}"] = content(out), clock
        print(f"{count} workers: {clock:.1f} s of the clock, {cpu:.1f} s of processor, "
              f"{memory:.0f} MB in all processes", flush=True)  # fmt: skip
    settings = FleetSettings(options.draws, day=DAY)
    for count, lose in ((1, False), (2, False), (2, True)):
        name = f"dask {count}{' lost' if lose else ''}"
        with quiet_cluster(count) as cluster:
            out, begin = folder / name.replace(" ", "_"), time.perf_counter()
            first = next(iter(cluster.workers.values()))
            losing = threading.Thread(target=lost, args=(out, first.pid))
            if lose:
                losing.start()
            run_fleet(homes, out, settings, usual=usual(), part_size=10,
                      workers=cluster.scheduler_address)  # fmt: skip
            rows[name], clocks[name] = content(out), time.perf_counter() - begin
        print(f"{name}: {clocks[name]:.1f} s of the clock", flush=True)
    same = all(each == rows["1"] for each in rows.values())
    print(f"all of them: {'the same rows' if same else 'OTHER ROWS'}; two workers "
          f"{clocks['1'] / clocks['2']:.2f} times as fast as one, behind a scheduler "
          f"{clocks['dask 1'] / clocks['dask 2']:.2f} times")  # fmt: skip


def lost(out: Path, pid: int) -> None:
    while not done_parts(out):
        time.sleep(0.02)
    os.kill(pid, signal.SIGKILL)


def kills(folder: Path, options: argparse.Namespace) -> None:
    """Kill a run at random moments again and again until it is done; compare what it made."""
    homes, whole, torn = table(folder, 60), folder / "whole", folder / "torn"
    subprocess.run(command(homes, whole, 16, 1), check=True, stdout=subprocess.DEVNULL)
    rng, killed = np.random.default_rng(1), 0
    while killed < options.kills:
        process = subprocess.Popen(command(homes, torn, 16, 1), stdout=subprocess.DEVNULL,
                                   start_new_session=True)  # fmt: skip
        try:
            process.wait(rng.uniform(1.0, 12.0))
            if killed < options.kills:  # done before all kills: begin once more
                torn = folder / f"torn_{killed}"
        except subprocess.TimeoutExpired:
            os.killpg(process.pid, signal.SIGKILL)
            process.wait()
            killed += 1
    subprocess.run(command(homes, torn, 16, 1), check=True, stdout=subprocess.DEVNULL)
    same = content(torn) == content(whole)
    print(f"{killed} kills: {'the same rows' if same else 'OTHER ROWS'}")


def gain(folder: Path, options: argparse.Namespace) -> None:
    """Plan and calendar against the best plan where everything is known, company by company."""
    found, n = [], options.homes
    settings = FleetSettings(options.draws, day=DAY, past=0)
    per_week = max(1, n // 104)
    for seed in range(1, options.seeds + 1):
        runs = [folder / f"{name}_{seed}" for name in ("known", "truth")]
        for run, truth in zip(runs, (False, True), strict=True):
            homes = table(folder, n, seed, truth=truth)
            run_fleet(homes, run, settings, usual=usual(), workers=0)
        found.append(share_reached(runs[0], runs[1], per_week, DAY, 150.0, 10_000.0))
        print(f"company {seed}: of the best plan the ranking reaches {found[-1][0]:.1%}, the "
              f"calendar {found[-1][1]:.1%}", flush=True)  # fmt: skip
    each = np.array(found)
    for name, values in (("ranking", each[:, 0]), ("calendar", each[:, 1]),
                         ("ranking less calendar", each[:, 0] - each[:, 1])):  # fmt: skip
        print(f"{name}: mean {values.mean():.1%}, standard deviation {values.std(ddof=1):.1%}, "
              f"{values.min():.1%} to {values.max():.1%} of {len(values)} companies of {n} homes, "
              f"{per_week} visits a week")  # fmt: skip


def replays(folder: Path, options: argparse.Namespace) -> None:
    """Years of the record through homes of the company, one after the other."""
    named = Home().rain.model_copy(update={"record": str(RAIN), "temperature": str(AIR)})
    rain = design_rain(Home().model_copy(update={"rain": named}).in_folder("/"))
    cpus, years = [], 0.0
    for row in read_rows(table(folder, options.replayed + 1)):
        home = home_of_row(row)
        if isinstance(home, BadRow):
            raise SystemExit(home.reason)
        begin = time.process_time()
        answer = replay(home.home, rain, ReplaySettings(n_draws=16))
        cpus.append(time.process_time() - begin)
        years = answer.month.size / 12
    each = float(np.mean(cpus[1:]))
    print(f"{options.replayed} homes through {years:.0f} years, 16 draws: {each:.1f} s of "
          f"processor a home, {1000 * each / years:.0f} ms a home and year; one before, which "
          "compiles, is left out")  # fmt: skip
    print(f"carried on, not measured: 1000 homes through 60 years "
          f"{1000 * each * 60 / years / 3600:.1f} h of one processor")  # fmt: skip


class Idle:
    """Workers that do nothing, so that what is left is reading and handing on."""

    ahead = 8

    def submit(self, job: Job) -> Future[Done]:
        done: Future[Done] = Future()
        done.set_result(idle(job))
        return done

    def stop(self) -> None: ...

    def again(self) -> bool:
        return False


def idle(job: Job) -> Done:
    return job.number, b"", ()


def million(folder: Path, options: argparse.Namespace) -> None:
    """Rows of nine columns through reading and handing on, to idle workers and a scheduler."""
    path, head = folder / "million.csv", "id,name,neighbourhood,place.latitude,place.longitude"
    with path.open("w", encoding="utf-8") as stream:
        stream.write(f"{head},ground.soil,house.perimeter [ft],pit.depth [in],pump.age\n")
        for i in range(options.rows):
            stream.write(f"H{i},{i} Mill Lane,n{i % 997},41.2,-88.{i % 100:02d},clay,138,24,7 yr\n")
    for name in ("idle workers", "a scheduler"):
        begin, cpu = time.perf_counter(), time.process_time()
        with through(name) as crew:
            places = Places(path.parent, usual(), FleetSettings(day=DAY))
            total, twice = running._looked_through(path, places)
            looked = time.process_time() - cpu
            jobs = running._jobs(path, FleetSettings(day=DAY), 50, set(), twice, places)
            parts = sum(1 for _ in running._all_of(jobs, crew))
        cpu = time.process_time() - cpu
        most = resource.getrusage(resource.RUSAGE_SELF).ru_maxrss / 1024
        print(f"{total} rows, {parts} partitions, through {name}: "
              f"{time.perf_counter() - begin:.0f} s of the clock, {cpu:.0f} s of processor in the "
              f"process that hands on ({looked:.0f} s of them look through the table), {most:.0f} "
              f"MB at most in it", flush=True)  # fmt: skip


@contextlib.contextmanager
def through(name: str) -> Any:
    if name == "idle workers":
        yield Idle()
        return
    from riskkit.fleet.cluster import Cluster

    with quiet_cluster(2) as cluster:
        crew = Cluster(cluster.scheduler_address, idle)
        try:
            yield crew
        finally:
            crew.stop()


def usual() -> PlaceFiles:
    return PlaceFiles(record=str(RAIN), temperature=str(AIR))


PARTS: dict[str, Callable[[Path, argparse.Namespace], None]] = {
    "line": line, "workers": workers, "kills": kills, "gain": gain, "replays": replays,
    "million": million,
}  # fmt: skip


def main() -> None:
    parser = argparse.ArgumentParser()
    parser.add_argument("parts", nargs="+", choices=list(PARTS))
    parser.add_argument("--sizes", type=int, nargs="+", default=[100, 300, 1000])
    parser.add_argument("--homes", type=int, default=80)
    parser.add_argument("--draws", type=int, default=32)
    parser.add_argument("--kills", type=int, default=20)
    parser.add_argument("--seeds", type=int, default=5)
    parser.add_argument("--replayed", type=int, default=20)
    parser.add_argument("--rows", type=int, default=1_000_000)
    parser.add_argument("--within", type=float, default=np.inf, help="of the line, seconds")
    parser.add_argument("--folder", type=Path, help="that is kept")
    options = parser.parse_args()
    with tempfile.TemporaryDirectory() as made, warnings.catch_warnings():
        warnings.filterwarnings("ignore", module="distributed")  # of the library's event loops
        name = options.folder or made
        for part in options.parts:
            PARTS[part](Path(name), options)


if __name__ == "__main__":
    main()
