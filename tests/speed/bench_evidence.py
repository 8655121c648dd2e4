"""Speed of weighing observations, beside one run of the water of as many draws in the same run.

Run as ``python tests/speed/bench_evidence.py``. The home is `demo_sites/split_level_on_clay.toml`
with invented observations, a few and many of them; the reference is the water of 2048 draws in a
storm of a day and a half. Figures are the best of three; nothing is remembered between them.
"""

from __future__ import annotations

import time
from collections.abc import Callable
from pathlib import Path

import numpy as np

from riskkit.antecedent.water_table import antecedent_ground
from riskkit.ensemble.draws import draw_homes
from riskkit.evidence.overlay import home_as_seen
from riskkit.evidence.past import past_of
from riskkit.evidence.posterior import _scores_of
from riskkit.home.home import read_home
from riskkit.risk.design_rain import rain_of
from riskkit.simulate import ground_of, water_of

DEMO = Path(__file__).parents[2] / "demo_sites"
FEW = (
    'kind = "how_often"\nwhen = "heavy rain"\noften = "every few minutes"',
    'kind = "cycle"\nrun = "12 s"\npause = "70 min"',
)
MANY = (
    *FEW,
    'kind = "how_often"\nwhen = "dry"\noften = "some times a day"',
    'kind = "rain_cycle"\nrun = "14 s"\npause = "5 min"\nrain = "0.6 in"\nover = "3 h"',
    'kind = "hose_at_wall"\nflow = "6 gpm"\nafter = "20 min"\nbegin = "20 in"\nend = "16 in"\n'
    'time = "4 min"',
    'kind = "floods"\nyears = 10\ntimes = 1',
    'kind = "alarms"\nyears = 10\ntimes = 3',
    'kind = "high_water"\nsince = "2014-04-14"\nmark = "5 in"',
)
DRAWS = 512


def best_s(call: Callable[[], object]) -> float:
    taken = []
    for _ in range(4):  # the first compiles
        begin = time.perf_counter()
        call()
        taken.append(time.perf_counter() - begin)
    return min(taken[1:])


def weighing(observed: tuple[str, ...]) -> Callable[[], object]:
    """Lead the draws of the home to where these observations want them."""
    text = (DEMO / "split_level_on_clay.toml").read_text(encoding="utf-8")
    rows = "".join(f'\n[[observation]]\ndate = "2024-04-14"\n{one}\n' for one in observed)
    home = home_as_seen(read_home(text + rows, "home.toml").in_folder(DEMO))
    rain = rain_of(home, None, 1)
    before, _ = antecedent_ground(home, rain.weather, rain.levels)
    past = past_of(home, rain.record, rain.weather, rain.used)
    return lambda: _scores_of(home.as_observed, DRAWS, 1, before, past)


def main() -> None:
    draws = draw_homes(read_home("", "home.toml"), 2048, 1)
    ground, rain = ground_of(draws), np.r_[np.full(24, 4.0), np.zeros(12)]
    one = best_s(lambda: water_of(ground, rain, 3600.0, np.ones(2048)))
    print(f"{'water of 2048 draws (the reference)':40s} {one:7.4f} s")
    for name, observed in (("two observations", FEW), ("eight observations", MANY)):
        taken = best_s(weighing(observed))
        print(f"{name:40s} {taken:7.3f} s {taken / one:8.0f} of the reference")


if __name__ == "__main__":
    main()
