"""Many homes: cost per home, straight growth, workers, memory, and kills at random moments.

Run as ``python tests/speed/bench_fleet.py [--homes 200] [--draws 128] [--kills 20]``. Everything is
an invented company under the invented record. Figures hang on what else the machine does, so that
they are told as ratios within one run; the first homes, which compile and read the rain, are left
out of the cost per home.
"""

from __future__ import annotations

import argparse
import datetime
import os
import signal
import subprocess
import sys
import tempfile
import time
from pathlib import Path

import numpy as np
import psutil

from riskkit.fleet.demo import demo_text
from riskkit.fleet.places import PlaceFiles
from riskkit.fleet.planning import plan_visits, share_reached
from riskkit.fleet.run import run_fleet
from riskkit.fleet.settings import FleetSettings
from riskkit.fleet.store import SCHEMA, read_columns

ROOT = Path(__file__).resolve().parents[2]
RAIN = ROOT / "demo_sites" / "alder_bend_rain.csv.gz"
AIR = ROOT / "demo_sites" / "alder_bend_temperature.csv.gz"
DAY = datetime.date(2026, 1, 1)


def table(folder: Path, count: int, *, truth: bool = False) -> Path:
    path = folder / f"{'truth' if truth else 'homes'}_{count}.csv"
    path.write_text(demo_text(count, truth=truth), "utf-8")
    return path


def command(homes: Path, out: Path, draws: int, workers: int) -> list[str]:
    return [
        sys.executable, "-m", "riskkit", "fleet", "run", str(homes), "--out", str(out), "--rain",
        str(RAIN), "--temperature", str(AIR), "--draws", str(draws), "--workers", str(workers),
        "--day", DAY.isoformat(), "--part-size", "10",
    ]  # fmt: skip


def measured(arguments: list[str]) -> tuple[float, float]:
    """Seconds, and the most memory of the process and its children [MB]."""
    begin, most = time.perf_counter(), 0
    process = subprocess.Popen(arguments, stdout=subprocess.DEVNULL)
    while process.poll() is None:
        try:
            top = psutil.Process(process.pid)
            rss = sum(p.memory_info().rss for p in (top, *top.children(recursive=True)))
            most = max(most, rss)
        except psutil.Error:
            pass
        time.sleep(0.1)
    if process.returncode:
        raise SystemExit(f"the run ended with status {process.returncode}")
    return time.perf_counter() - begin, most / 1e6


def content(folder: Path) -> list[object]:
    return [row for part in read_columns(folder, SCHEMA.names) for row in part.to_pylist()]


def kills(folder: Path, count: int) -> None:
    """Kill a run at random moments again and again until it is done; compare what it made."""
    homes, whole, torn = table(folder, 60), folder / "whole", folder / "torn"
    subprocess.run(command(homes, whole, 16, 1), check=True, stdout=subprocess.DEVNULL)
    rng, killed = np.random.default_rng(1), 0
    while killed < count:
        process = subprocess.Popen(command(homes, torn, 16, 1), stdout=subprocess.DEVNULL,
                                   start_new_session=True)  # fmt: skip
        try:
            process.wait(rng.uniform(1.0, 8.0))
            if killed < count:  # done before all kills: begin once more
                torn = folder / f"torn_{killed}"
        except subprocess.TimeoutExpired:
            os.killpg(process.pid, signal.SIGKILL)
            process.wait()
            killed += 1
    subprocess.run(command(homes, torn, 16, 1), check=True, stdout=subprocess.DEVNULL)
    same = content(torn) == content(whole)
    print(f"{killed} kills: {'the same rows' if same else 'OTHER ROWS'}")


def main() -> None:
    parser = argparse.ArgumentParser()
    parser.add_argument("--homes", type=int, default=200)
    parser.add_argument("--draws", type=int, default=128)
    parser.add_argument("--kills", type=int, default=0)
    options = parser.parse_args()
    with tempfile.TemporaryDirectory() as name:
        folder, n = Path(name), options.homes
        few = n // 4
        found = {}
        for count, workers in ((few, 1), (n, 1), (n, 2)):
            out = folder / f"run_{count}_{workers}"
            found[count, workers] = measured(command(table(folder, count), out, options.draws,
                                                     workers))  # fmt: skip
        each = (found[n, 1][0] - found[few, 1][0]) / (n - few)
        fixed = found[n, 1][0] - n * each
        kept = sum(p.stat().st_size for p in (folder / f"run_{n}_1").glob("part-*")) / n
        print(f"a home of {options.draws} draws and nine storms: {1000 * each:.0f} ms with one "
              f"worker; {fixed:.1f} s before the first")  # fmt: skip
        print(f"two workers: {found[n, 1][0] / found[n, 2][0]:.2f} times as fast as one")
        for (count, workers), (_, memory) in found.items():
            print(f"memory of {count} homes, {workers} workers: {memory:.0f} MB in all processes")
        print(f"kept: {kept / 1000:.1f} kB a home")
        same = content(folder / f"run_{n}_1") == content(folder / f"run_{n}_2")
        print(f"one worker and two: {'the same rows' if same else 'OTHER ROWS'}")
        truth = folder / "truth"
        run_fleet(
            table(folder, n, truth=True), truth, FleetSettings(options.draws, day=DAY),
            usual=_usual(), workers=0,
        )  # fmt: skip
        asked = (max(1, n // 104), DAY, 150.0, 10000.0)
        begin = time.perf_counter()
        plan = plan_visits(folder / f"run_{n}_1", *asked)
        took = time.perf_counter() - begin
        reached = share_reached(folder / f"run_{n}_1", truth, *asked)
        print(f"a plan of {n} homes: {1000 * took / n:.1f} ms a home; keeps away "
              f"{plan.mean_total:.1f} floods, the calendar {plan.mean_calendar:.1f}; of the best "
              f"where all is known {reached[0]:.0%}, the calendar {reached[1]:.0%}")  # fmt: skip
        if options.kills:
            kills(folder, options.kills)


def _usual() -> PlaceFiles:
    return PlaceFiles(record=str(RAIN), temperature=str(AIR))


if __name__ == "__main__":
    main()
