"""How often the limits that a log tells hold, and how wide they are, by length and fault.

Homes with a known response leave logs of a month, a season and three years; the water of a cycle is
that of a draw of the home, so that what is not known of the pit is tried too. Each log is tried as
it is, with missing hours, with another pump from half way on, with a float that sticks for a day,
and with all of these.

    python tests/speed/study_logs.py                        # some five minutes
    python tests/speed/study_logs.py --spans month --faults none --homes 200
"""

from __future__ import annotations

import argparse
import sys
import tempfile
import time
from collections import defaultdict
from dataclasses import replace
from pathlib import Path

import numpy as np

ROOT = Path(__file__).resolve().parent.parent.parent
sys.path.insert(0, str(ROOT))

from riskkit.ensemble.draws import draw_homes  # noqa: E402 - the tests are no package
from riskkit.gauge.answer import LogAnalysis, gauge  # noqa: E402 - as above
from riskkit.gauge.cycles import Anomaly  # noqa: E402 - as above
from riskkit.gauge.log import read_log  # noqa: E402 - as above
from riskkit.gauge.pump import Course  # noqa: E402 - as above
from riskkit.home.home import Home, load_home  # noqa: E402 - as above
from riskkit.pit.geometry import volume_m3  # noqa: E402 - as above
from riskkit.records import FloatArray  # noqa: E402 - as above
from riskkit.simulate import storage_of  # noqa: E402 - as above
from tests.gauge.truth import DAY_S, HOUR_S, START_S, Truth, rain_of, text_of  # noqa: E402 - as above

SPANS = {"month": 31.0, "season": 120.0, "three years": 1096.0}


FAULTS = ("none", "missing hours", "changed pump", "stuck float", "all")
GAPS, GAP_D = 5, 0.5  # in a log of any length


def drawn(
    random: np.random.Generator, cycle_m3: float, seed: int, days: float, fault: str
) -> Truth:
    """A home: quick and slow ground, base flow and pump at random; the same for every fault."""
    pump = float(random.uniform(0.0012, 0.003))
    truth = Truth(
        area_m2=(float(random.uniform(8, 60)), float(random.uniform(20, 150))),
        store_h=(float(random.uniform(0.6, 3.0)), float(random.uniform(24, 120))),
        base_m3_s=float(np.exp(random.uniform(np.log(5e-7), np.log(1e-5)))),
        swing=float(random.uniform(0.2, 0.9)), cycle_m3=cycle_m3, pump_m3_s=pump,
        noise=float(random.uniform(0.05, 0.3)), seed=seed,
    )  # fmt: skip
    share = float(random.uniform(0.1, 0.25)) * (1 if seed % 2 else -1)
    gaps = np.sort(random.uniform(0.02, 0.95, GAPS)) * days
    stuck = (float(random.uniform(0.1, 0.85)) * days,)
    if fault in ("missing hours", "all"):
        truth = replace(truth, gaps_d=tuple((a, a + GAP_D) for a in gaps.tolist()))
    if fault in ("changed pump", "all"):
        truth = replace(truth, later_m3_s=pump * (1.0 + share))
    return replace(truth, stuck_d=stuck) if fault in ("stuck float", "all") else truth


def told(home: Home, truth: Truth, days: float, folder: Path) -> tuple[LogAnalysis, float]:
    """What its log tells, and the processor time of reading and fitting it [s]."""
    record = rain_of(days, truth.seed)
    path = folder / "pump.csv"
    path.write_text(text_of(truth, record), encoding="utf-8")
    begin = time.process_time()
    found = gauge(home, read_log(path), record)
    return found, time.process_time() - begin


def recession_s(truth: Truth) -> float:
    """From a day after rain to a third of the flow then."""
    t = np.linspace(0.0, 4000.0, 400001)
    rate = sum(
        a / k * np.exp(-(24.0 + t) / k) for a, k in zip(truth.area_m2, truth.store_h, strict=True)
    )
    return float(np.interp(-1 / 3, -rate / rate[0], t) * HOUR_S)


def study(home: Home, span: str, fault: str, volumes: FloatArray, seeds: range) -> None:
    """Print how often and how wide, for logs of one length with one fault."""
    days = SPANS[span]
    held, width = defaultdict(list), defaultdict(list)
    skill, right, shift, stuck, taken = [], [], [], [], []
    for seed in seeds:
        random = np.random.default_rng([seed, round(days)])
        truth = drawn(random, float(volumes[seed % volumes.size]), seed, days, fault)
        with tempfile.TemporaryDirectory() as folder:
            found, seconds = told(home, truth, days, Path(folder))
        taken.append(seconds)
        truths = {
            "log.hour_area": truth.within_m2(1), "log.day_area": truth.within_m2(24),
            "log.recession": recession_s(truth),
            "log.lag": truth.store_h[0] * HOUR_S,
            "log.pump_flow": truth.later_m3_s or truth.pump_m3_s,
        }  # fmt: skip
        for key, value in truths.items():
            one = found.of(key)
            if one is not None:
                held[key].append(one.low <= value <= one.high)
                width[key].append((one.high - one.low) / value)
        if found.skill is not None:
            skill.append([found.skill.second, found.skill.second_plain])
        if found.pump is not None:
            is_step = found.pump.course in (Course.STEP, Course.STEP_AND_TREND)
            right.append(is_step == bool(truth.later_m3_s))
            if truth.later_m3_s and is_step:
                shift.append(abs(found.pump.step_s - (START_S + days / 2 * DAY_S)) / DAY_S)
        runs = sum(one.what is Anomaly.LONG_RUN for one in found.cycles.odd)
        stuck.append(runs == len(truth.stuck_d))
    every = [one for of in held.values() for one in of]
    print(
        f"{span}, {fault}: {sum(every)} of {len(every)} limits hold "
        f"({100 * np.mean(every):.0f} %), {np.median(taken):.2f} s a log"
    )
    for key, of in held.items():
        print(
            f"  {key:16} held in {sum(of)} of {len(of)}, "
            f"width {100 * np.median(width[key]):.0f} % of the truth"
        )
    if skill:
        best, plain = np.median(np.array(skill), axis=0)
        print(f"  explained {best:.2f}, by a plain cascade {plain:.2f}")
    when = f", when to {np.median(shift):.1f} days" if shift else ""
    print(
        f"  told right whether the pump was changed: {sum(right)} of {len(right)}{when}; "
        f"whether the float stuck: {sum(stuck)} of {len(stuck)}",
        flush=True,
    )


def main() -> None:
    """Print how often and how wide, by length of the log and by its fault."""
    parser = argparse.ArgumentParser(description=__doc__)
    parser.add_argument("--homes", type=int, default=24, help="logs of a month or a season each")
    parser.add_argument("--long", type=int, default=8, help="logs of three years each")
    parser.add_argument("--first", type=int, default=0, help="the first home, as a seed")
    parser.add_argument("--spans", nargs="+", choices=SPANS, default=list(SPANS))
    parser.add_argument("--faults", nargs="+", choices=FAULTS, default=list(FAULTS))
    options = parser.parse_args()
    home = load_home(ROOT / "demo_sites" / "split_level_on_clay.toml")
    homes = draw_homes(home, 256, 99)
    room = storage_of(homes)
    volumes = volume_m3(room, -homes["on_depth_m"]) - volume_m3(room, -homes["off_depth_m"])
    for span in options.spans:
        many = options.long if SPANS[span] > 365 else options.homes
        for fault in options.faults:
            study(home, span, fault, volumes, range(options.first, options.first + many))


if __name__ == "__main__":
    main()
