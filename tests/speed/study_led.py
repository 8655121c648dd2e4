"""How often the ranges of led draws hold the truth, where much was observed of an invented home.

The truth is drawn from what is taken where nothing is known, and ten things are observed with the
errors of tape, watch and memory, one record in fifty wrong. Few even draws explain all of it, so
the draws are led (`riskkit.evidence.posterior`). The truth is looked for in their 80 % and 90 %
ranges, and the spread is kept, beside which another way of leading them can be laid.

    python tests/speed/study_led.py --homes 40              # a minute or two
    python tests/speed/study_led.py --homes 40 --save TABLE --beside TABLE_OF_BEFORE
"""

from __future__ import annotations

import argparse
import sys
import time
from dataclasses import replace
from pathlib import Path
from unittest.mock import patch

import numpy as np
from numpy.typing import NDArray

import riskkit as rk
from riskkit.ensemble.draws import homes_at, scores_of
from riskkit.evidence import posterior
from riskkit.evidence.expected import Expected
from riskkit.evidence.outage import floor_time_s
from riskkit.evidence.overlay import home_as_seen
from riskkit.evidence.past import Past
from riskkit.evidence.planning import log_minutes
from riskkit.evidence.running import rain_flow_m3_s
from riskkit.evidence.standing import expected, split_by_rain
from riskkit.home.observations import Observation
from riskkit.home.samples import HomeSamples

Array = NDArray[np.float64]
HOME = Path(__file__).parents[2] / "demo_sites" / "home_just_met.toml"
# what is read stands for the kind alone; readings are drawn from the truth
SEEN = [
    {"kind": "how_often", "when": "heavy rain", "often": "every few minutes"},
    {"kind": "how_often", "when": "dry", "often": "some times a day"},
    {"kind": "how_often", "when": "spring", "often": "some times a day"},
    {"kind": "cycle", "run": "12 s", "pause": "70 min"},
    {"kind": "rain_cycle", "run": "14 s", "pause": "5 min", "rain": "0.6 in", "over": "3 h"},
    {"kind": "hose_in_pit", "flow": "6 gpm", "begin": "19 in", "end": "12 in", "time": "105 s"},
    {
        "kind": "hose_at_wall", "flow": "6 gpm", "after": "20 min", "begin": "20 in",
        "end": "16 in", "time": "4 min",
    },
    {"kind": "floods", "years": 10, "times": 1},
    {"kind": "alarms", "years": 10, "times": 3},
    {"kind": "high_water", "since": "2014-04-14", "mark": "5 in"},
]  # fmt: skip
VALUES = ("minutes to the floor, 100 mm in a day", "inflow, 50 mm in 3 h", "room in the gravel")
WRONG, TRUTHS, DRAWS = 0.02, 512, 512


def values(homes: HomeSamples) -> Array:
    """On scales on which their spread is told; the pump stands still from the first drop on."""
    flow = np.maximum(rain_flow_m3_s(homes, 0.05, 3 * 3600.0), 1e-9)
    room = homes["gravel_thickness_m"].clip(0.01) * homes["gravel_connected_share"]
    time_s = floor_time_s(homes, 0.1, 86400.0, 2 * 86400.0)
    return np.stack([log_minutes(time_s), np.log(flow), np.log(room)])


def reading(one: Expected, at: int, rng: np.random.Generator, *, is_wrong: bool) -> float:
    """What is read of one true home."""
    if one.shares is not None:
        n = one.shares.shape[1]
        chances = np.full(n, 1 / n) if is_wrong else one.shares[at] / one.shares[at].sum()
        return float(rng.choice(n, p=chances))
    if is_wrong:
        return float(np.median(one.mean) + one.width * (rng.random() - 0.5))
    return float(one.mean[at] + one.sd[at] * rng.standard_normal())


def study(first: int, n: int) -> Array:
    """A row for each truth: places, spreads and middles of three values, stages, seconds."""
    bare = rk.load_home(HOME)
    seen = [{"date": "2024-04-14", **one} for one in SEEN]
    home = home_as_seen(bare.changed(observation=seen)).as_observed
    past = Past(None, rk.design_rain(home).used)
    few = rk.Settings(return_periods_yr=(10.0,), n_draws=16)
    before = rk.assess(bare, settings=few).antecedent
    made, _ = split_by_rain(home, past)
    true = homes_at(home, scores_of(TRUTHS, 999), before)
    shown, truths = [expected(true, one, past) for one in made], values(true)
    rows = []
    for k in range(first, first + n):
        rng = np.random.default_rng([k, 5])
        read = []
        for each in shown:
            is_wrong = bool(rng.random() < WRONG)
            read.append([reading(one, k, rng, is_wrong=is_wrong) for one in each])

        def told(
            homes: HomeSamples, one: Observation, rain: Past, read: list[list[float]] = read
        ) -> tuple[Expected, ...]:
            both = zip(expected(homes, one, rain), read[made.index(one)], strict=True)
            return tuple(replace(of, reading=value) for of, value in both)

        with patch.object(posterior, "expected", told):
            begin = time.process_time()
            found = posterior._scores_of(home, DRAWS, k + 1, before, past)
            taken = time.process_time() - begin
        if found.scores is None:
            raise TypeError("nothing was observed")
        value, truth = values(homes_at(home, found.scores, before)), truths[:, k, None]
        equal = (value == truth).mean(axis=1)  # of these a place of chance
        place = (value < truth).mean(axis=1) + rng.random(3) * equal
        rows.append([*place, *value.std(axis=1), *value.mean(axis=1), found.stages, taken])
    return np.array(rows)


def main() -> int:
    parser = argparse.ArgumentParser()
    parser.add_argument("--homes", type=int, default=40)
    parser.add_argument("--first", type=int, default=0, help="the first truth, of 512")
    parser.add_argument("--save", type=Path, help="where the rows are kept, as .npy")
    parser.add_argument("--beside", type=Path, help="rows of the same truths to compare with")
    options = parser.parse_args()
    rows = study(options.first, options.homes)
    if options.save:
        np.save(options.save, rows)
    print(f"{len(rows)} truths, {rows[:, 9].mean():.1f} stages, {rows[:, 10].mean():.2f} s each")
    other = np.load(options.beside)[: len(rows)] if options.beside else None
    for i, name in enumerate(VALUES):
        place = rows[:, i]
        eighty, ninety = (100 * np.mean((place > a) & (place < 1 - a)) for a in (0.1, 0.05))
        line = f"{name}: 80 % holds {eighty:.0f}, 90 % holds {ninety:.0f} in 100"
        if other is not None:
            ratio = np.exp(np.mean(np.log(rows[:, 3 + i] / other[:, 3 + i])))
            off = (rows[:, 6 + i] - other[:, 6 + i]) / other[:, 3 + i]
            line += f"; spread {ratio:.2f} of before, middle off by {off.std():.2f} of it"
        print(line)
    return 0


if __name__ == "__main__":
    sys.exit(main())
