"""How often the limits that a log tells hold, and how wide they are.

Homes with a known response leave logs of a month, a season and three years; the water of a cycle is
that of a draw of the home, so that what is not known of the pit is tried too. Logs of three years
have missing hours, a stuck float for a day and, every other one, another pump half way.
"""

from __future__ import annotations

import argparse
import sys
import tempfile
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
from riskkit.simulate import storage_of  # noqa: E402 - as above
from tests.gauge.truth import DAY_S, HOUR_S, START_S, Truth, rain_of, text_of  # noqa: E402 - as above

SPANS = {"month": 31.0, "season": 120.0, "three years": 1096.0}


def drawn(random: np.random.Generator, cycle_m3: float, seed: int, *, long: bool) -> Truth:
    """A home: quick and slow ground, base flow and pump at random."""
    pump = float(random.uniform(0.0012, 0.003))
    truth = Truth(
        area_m2=(float(random.uniform(8, 60)), float(random.uniform(20, 150))),
        store_h=(float(random.uniform(0.6, 3.0)), float(random.uniform(24, 120))),
        base_m3_s=float(np.exp(random.uniform(np.log(5e-7), np.log(1e-5)))),
        swing=float(random.uniform(0.2, 0.9)), cycle_m3=cycle_m3, pump_m3_s=pump,
        noise=float(random.uniform(0.05, 0.3)), seed=seed,
    )  # fmt: skip
    if not long:
        return truth
    later = pump * float(random.uniform(0.75, 1.25)) if seed % 2 else 0.0
    return replace(
        truth, later_m3_s=later, per_year=0.0, stuck_d=(float(random.uniform(100, 900)),),
        gaps_d=tuple((a, a + 0.5) for a in np.sort(random.uniform(10, 1000, 5)).tolist()),
    )  # fmt: skip


def told(home: Home, truth: Truth, days: float, folder: Path) -> LogAnalysis:
    """What its log tells."""
    record = rain_of(days, truth.seed)
    path = folder / "pump.csv"
    path.write_text(text_of(truth, record), encoding="utf-8")
    return gauge(home, read_log(path), record)


def recession_s(truth: Truth) -> float:
    """From a day after rain to a third of the flow then."""
    t = np.linspace(0.0, 4000.0, 400001)
    rate = sum(
        a / k * np.exp(-(24.0 + t) / k) for a, k in zip(truth.area_m2, truth.store_h, strict=True)
    )
    return float(np.interp(-1 / 3, -rate / rate[0], t) * HOUR_S)


def main() -> None:
    """Print how often and how wide, by length of the log."""
    parser = argparse.ArgumentParser(description=__doc__)
    parser.add_argument("--homes", type=int, default=60)
    parser.add_argument("--long", type=int, default=16)
    parser.add_argument("--first", type=int, default=0, help="the first home, as a seed")
    options = parser.parse_args()
    home = load_home(ROOT / "demo_sites" / "split_level_on_clay.toml")
    homes = draw_homes(home, 256, 99)
    room = storage_of(homes)
    volumes = volume_m3(room, -homes["on_depth_m"]) - volume_m3(room, -homes["off_depth_m"])
    for name, days in SPANS.items():
        long = days > 365
        held, width, skill = defaultdict(list), defaultdict(list), []
        steps, stuck, shift = [], [], []
        many = options.long if long else options.homes
        for seed in range(options.first, options.first + many):
            random = np.random.default_rng([seed, round(days)])
            truth = drawn(random, float(volumes[seed % 256]), seed, long=long)
            with tempfile.TemporaryDirectory() as folder:
                found = told(home, truth, days, Path(folder))
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
                s = found.skill
                skill.append([s.second, s.first, s.second_plain, s.first_plain])
            if long and found.pump is not None:
                is_step = found.pump.course in (Course.STEP, Course.STEP_AND_TREND)
                steps.append(is_step == bool(truth.later_m3_s))
                if truth.later_m3_s and is_step:
                    shift.append(abs(found.pump.step_s - (START_S + days / 2 * DAY_S)) / DAY_S)
                runs = [one.begin_s for one in found.cycles.odd if one.what is Anomaly.LONG_RUN]
                stuck.append(len(runs) == 1)
        print(f"{name}:")
        for key in held:
            print(
                f"  {key:16} held in {sum(held[key])} of {len(held[key])}, "
                f"width {100 * np.median(width[key]):.0f} % of the truth"
            )
        middle = np.median(np.array(skill), axis=0)
        print(f"  explained two ways {middle[:2].round(2)}, plain {middle[2:].round(2)}")
        if long:
            print(
                f"  told right whether the pump was changed: {sum(steps)} of {len(steps)}, "
                f"when to {np.median(shift):.1f} days; stuck float found alone: "
                f"{sum(stuck)} of {len(stuck)}"
            )


if __name__ == "__main__":
    main()
