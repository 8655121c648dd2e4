"""How answers settle as steps get shorter and draws more.

    python tests/speed/study_convergence.py [--cases 60] [--seeds 6] [--part steps|draws]

Steps: random homes and storms, those of ``study_twin.py``, with each step of a storm cut into 2, 4
and 8 parts of the same intensity. All of the chain goes in these parts: what the ground takes, what
the fill and the lot hand on, the pit, the follow-up of a stopped pump. Beside parts of a sixteenth
stand the largest volume apart, of the water that came, and the times apart. One half of an error is
left by half the step where a method is of first order, a quarter where it is of second.

Draws: invented homes, the 10-year storm, 64 to 1,024 draws beside 4,096 of as many other seeds: the
root mean square of the logarithm of the median time from the alarm to the floor and of its 10 %
point, and of the share that stays dry. Independent draws would fall with the power 0.5.

Of 60 cases in the steps of riskkit, half of them and a quarter (90 of 100 lie within): volumes
2.0e-4, 1.0e-4 and 4.0e-5 of the water, of first order; times 0.09, 0.024 and 0.006 %, of second.
With 512 draws of six seeds the logarithm of the median is off by 0.032, 0, 0.10 and 0.042 (row
house, sand, just met, split-level), of the 10 % point by 0.035, 0.055, 0.09 and 0.14, the share
that stays dry by 0.002, 0.008, 0.013 and 0.006; the powers of the draws are 0.4 to 0.8, of the
share 0.3 to 1.0.
"""

from __future__ import annotations

import argparse
import sys
import tempfile
from pathlib import Path

import numpy as np

import riskkit
from riskkit.records import FloatArray

ROOT = Path(__file__).resolve().parents[2]
sys.path.insert(0, str(ROOT))  # the twin stands among the tests

from tests.twin.chain import (  # noqa: E402 - found only now
    DEMOS,
    Course,
    random_case,
    riskkit_course,
    volumes_apart,
)

PARTS, FINEST = (1, 2, 4, 8), 16
DRAWS, MOST = (64, 128, 256, 512, 1024), 4096
WEEK_S = 7 * 86400.0


def times_apart(one: Course, other: Course) -> FloatArray:
    """Return the differences of the times, in shares of them; what comes in neither is no time."""
    times = np.array([one.alarm_s + one.floor_s, other.alarm_s + other.floor_s])
    times = np.minimum(times, WEEK_S)
    times = times[:, times.min(axis=0) < WEEK_S]
    apart: FloatArray = np.abs(times[0] - times[1]) / np.maximum(times[1], 60.0)
    return apart


def steps(cases: int) -> None:
    """Print how volumes and times settle with the step."""
    home = riskkit.load_home(ROOT / "demo_sites/split_level_on_clay.toml")
    rain = riskkit.design_rain(home, ROOT / "demo_sites").used
    volumes: dict[int, list[float]] = {parts: [] for parts in PARTS}
    times: dict[int, list[float]] = {parts: [] for parts in PARTS}
    with tempfile.TemporaryDirectory() as folder:
        for seed in range(cases):
            case = random_case(seed, ROOT / "demo_sites", Path(folder), rain)
            courses = {
                parts: riskkit_course(
                    case.homes, case.draw,
                    np.repeat(np.array(case.rain_mm) / parts, parts).tolist(),
                    case.step_s / parts, [stop * parts for stop in case.stops],
                )
                for parts in (*PARTS, FINEST)
            }  # fmt: skip
            for parts in PARTS:
                volumes[parts].append(volumes_apart(courses[parts], courses[FINEST]))
                times[parts] += times_apart(courses[parts], courses[FINEST]).tolist()
    print(f"{cases} cases, beside steps cut into {FINEST}")
    for name, found in (("volumes", volumes), ("times", times)):
        for parts in PARTS:
            middle, most = np.quantile(found[parts], [0.5, 0.9])
            print(f"{name}, {parts} parts: median {middle:.2e}, 90 of 100 {most:.2e}")
        rough, fine = (np.quantile(found[parts], 0.9) for parts in (1, 2))
        first, second = ((0.5**n - FINEST**-n) / (1 - FINEST**-n) for n in (1, 2))
        print(
            f"{name}: of 90 of 100 half the step leaves {fine / rough:.2f}"
            f" (first order {first:.2f}, second {second:.2f})"
        )


def draws(seeds: int) -> None:
    """Print how the answer settles with the number of draws."""
    for demo in DEMOS:
        home = riskkit.load_home(ROOT / "demo_sites" / f"{demo}.toml")
        rain = riskkit.design_rain(home, ROOT / "demo_sites")
        found: dict[int, FloatArray] = {}
        for n in (*DRAWS, MOST):
            values = []
            for seed in range(1, seeds + 1):
                own = seed if n < MOST else 1000 + seed
                settings = riskkit.Settings(n_draws=n, seed=own, return_periods_yr=(10.0,))
                time = riskkit.assess(home, rain, settings).storm(10).worst_stop.to_floor_s
                some = np.minimum([time.median, time.low], WEEK_S)
                values.append([*np.log(some), time.never_share])
            found[n] = np.array(values)
        truth = found[MOST].mean(axis=0)
        errors = np.array([np.sqrt(((found[n] - truth) ** 2).mean(axis=0)) for n in DRAWS])
        power = np.polyfit(np.log(DRAWS), np.log(np.maximum(errors, 1e-9)), 1)[0]
        print(f"{demo}: median, 10 % point, never: power {np.round(-power, 2).tolist()}")
        for n, row in zip(DRAWS, errors, strict=True):
            print(f"  {n:5} draws: {row[0]:.3f}, {row[1]:.3f}, {row[2]:.4f}")


def main() -> None:
    """Run one part of the study, or both."""
    parser = argparse.ArgumentParser(description=__doc__)
    parser.add_argument("--cases", type=int, default=60)
    parser.add_argument("--seeds", type=int, default=6)
    parser.add_argument("--part", choices=("steps", "draws"))
    options = parser.parse_args()
    if options.part != "draws":
        steps(options.cases)
    if options.part != "steps":
        draws(options.seeds)


if __name__ == "__main__":
    main()
