"""Speed of the comparison of remedies, beside the storms of one home in the same run.

Run as ``python tests/speed/bench_remedies.py [HOME …]``, best on a quiet machine. The reference is
one run of the storms of the home as it is, by all processors; told is what the remedies together
cost beside it, and how many of them there are. Figures are the best of three.
"""

from __future__ import annotations

import sys
import time
from collections.abc import Callable
from pathlib import Path

from riskkit.failures.storms import home_storms
from riskkit.home.home import load_home
from riskkit.options.ranking import rank_remedies
from riskkit.risk.design_rain import rain_of

DEMO = Path(__file__).parents[2] / "demo_sites"


def best_of_three(call: Callable[[], object]) -> tuple[float, float]:
    """The least time by the clock, and the least of all processors together [s]."""
    taken = []
    for _ in range(4):  # the first compiles
        clock, cpu = time.perf_counter(), time.process_time()
        call()
        taken.append((time.perf_counter() - clock, time.process_time() - cpu))
    return min(each[0] for each in taken[1:]), min(each[1] for each in taken[1:])


def main(paths: list[Path]) -> None:
    print("home                      remedies   clock s   processor s   one home s    ratio")
    for path in paths:
        home = load_home(path)
        rain = rain_of(home, None, 1)
        one, one_cpu = best_of_three(lambda: home_storms(home, rain, 128, 1))  # noqa: B023 - called at once
        all_s, all_cpu = best_of_three(lambda: rank_remedies(home, rain))  # noqa: B023 - called at once
        tried = len(rank_remedies(home, rain).rows)
        print(f"{path.stem:24s} {tried:9d} {all_s:9.2f} {all_cpu:13.2f} {one:12.2f} "
              f"{all_s / one:8.1f} (processor {all_cpu / one_cpu:.1f})")  # fmt: skip


if __name__ == "__main__":
    main([Path(name) for name in sys.argv[1:]] or sorted(DEMO.glob("*.toml")))
