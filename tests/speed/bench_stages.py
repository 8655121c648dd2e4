"""Speed of reading rain and of the inflow, beside references in the same run.

Run as ``python tests/speed/bench_stages.py``. The reference of reading is ``pandas.read_csv`` on
the same file; that of the inflow is a running sum over an array of the same size. Figures are the
best of several runs, because other work on the machine only ever slows them down.
"""

from __future__ import annotations

import tempfile
import time
from collections.abc import Callable
from pathlib import Path

import numpy as np
import pandas as pd

from riskkit.ensemble.draws import draw_homes
from riskkit.home.home import Home
from riskkit.rainfall.events import split_storms
from riskkit.rainfall.extremes import depth_duration_frequency
from riskkit.rainfall.quality import check_record
from riskkit.rainfall.readers.record import read_rain
from riskkit.simulate import ground_of, water_of

DRAWS = 4096  # about 512 draws of 7 storms


def best_s(call: Callable[[], object], times: int = 5) -> float:
    taken = []
    for _ in range(times):
        begin = time.perf_counter()
        call()
        taken.append(time.perf_counter() - begin)
    return min(taken)


def plain_file(folder: Path) -> Path:
    """Sixty-two invented years of hours as a plain table."""
    times = np.arange(np.datetime64("1959-01-01T00", "h"), np.datetime64("2021-01-01T00", "h"))
    rng = np.random.default_rng(1)
    depth = np.where(rng.random(times.size) < 0.06, rng.integers(1, 90, times.size), 0)
    stamps = np.datetime_as_string(times, unit="m").tolist()
    rows = [f"{t},{v}" for t, v in zip(stamps, depth.tolist(), strict=True)]
    path = folder / "long.csv"
    path.write_text("\n".join(["time,rain (0.01 in)", *rows]))
    return path


def inflow_call() -> Callable[[], object]:
    """Water at the wall and at the mouth of the drain, a day and a half in 5-min steps."""
    rng = np.random.default_rng(1)
    rain = np.concatenate([rng.gamma(0.5, 1.0, 288), np.zeros(144)])
    ground = ground_of(draw_homes(Home(), DRAWS, 1))
    return lambda: water_of(ground, rain, 300.0, np.ones(DRAWS))


def main() -> None:
    with tempfile.TemporaryDirectory() as folder:
        path = plain_file(Path(folder))
        reading = best_s(lambda: read_rain(path))
        reference = best_s(lambda: pd.read_csv(path, parse_dates=["time"]))
        record = read_rain(path)
    rng = np.random.default_rng(1)
    rows = [
        ("pandas.read_csv with dates, 62 years of hours (the reference)", reference),
        ("read_rain of the same file", reading),
        ("check_record", best_s(lambda: check_record(record))),
        ("split_storms", best_s(lambda: split_storms(record, 6, (1, 3, 24)))),
        ("depth_duration_frequency, 500 resamples", best_s(
            lambda: depth_duration_frequency(record, rng)
        )),
    ]  # fmt: skip
    for what, seconds in rows:
        print(f"{what:64s} {seconds:7.3f} s {seconds / reference:6.2f} of the reference")
    call = inflow_call()
    call()
    inflow = best_s(call, 7)
    field = np.ones((DRAWS, 432))
    sums = best_s(lambda: np.cumsum(field, axis=1), 7)
    print(f"{'numpy.cumsum over 4,096 x 432 (the reference)':64s} {sums:7.4f} s")
    print(f"{'water_of, 4,096 draws x 432 steps':64s} {inflow:7.4f} s {inflow / sums:6.1f} of it")


if __name__ == "__main__":
    main()
