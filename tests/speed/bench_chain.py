"""Speed of the whole chain, beside a reference in the same run: python tests/speed/bench_chain.py

The reference is importing pandas in a fresh interpreter: what a person waits for anyway. Figures
are the middle of several runs; they belong to the machine, the ratios less so.
"""

from __future__ import annotations

import statistics
import subprocess
import sys
import time
from collections.abc import Callable
from pathlib import Path

from riskkit.assessment import Settings, assess, design_rain
from riskkit.home.home import Home, load_home
from riskkit.records import DepthDurationFrequency

HOME = Path(__file__).resolve().parents[2] / "demo_sites" / "split_level_on_clay.toml"


def median_s(call: Callable[[], object], times: int) -> float:
    taken = []
    for _ in range(times):
        begin = time.perf_counter()
        call()
        taken.append(time.perf_counter() - begin)
    return statistics.median(taken)


def fresh(*arguments: str) -> Callable[[], object]:
    return lambda: subprocess.run(
        [sys.executable, *arguments], check=True, capture_output=True, timeout=120
    )


def margin_s(home: Home, rain: DepthDurationFrequency) -> tuple[float, float]:
    """CPU time of a home whatever its draws, and of one draw more in all its storms [s]."""
    few, many = 128, 1024
    spent = []
    for n_draws in (few, many):
        taken = []
        for _ in range(3):
            begin = time.process_time()
            assess(home, rain, Settings(n_draws=n_draws))
            taken.append(time.process_time() - begin)
        spent.append(min(taken))
    each = (spent[1] - spent[0]) / (many - few)
    return spent[0] - few * each, each


def main() -> None:
    home = load_home(HOME)
    rain = design_rain(home, HOME.parent).used
    settings = Settings()
    begin = time.perf_counter()
    assess(home, rain, settings)
    first = time.perf_counter() - begin
    chain = median_s(lambda: assess(home, rain, settings), 9)
    reference = median_s(fresh("-c", "import pandas"), 5)
    light = median_s(fresh("-c", "import riskkit"), 5)
    bare = median_s(fresh("-c", "pass"), 5)
    command = median_s(fresh("-m", "riskkit", "assess", str(HOME)), 5)
    rows = [
        ("import pandas in a fresh interpreter (the reference)", reference),
        ("import riskkit in a fresh interpreter", light),
        ("  of which the interpreter itself", bare),
        ("first assess in this process (loads compiled loops)", first),
        ("assess: 512 draws, 7 return periods, rain table to answer", chain),
        ("riskkit assess HOME in a fresh interpreter", command),
    ]
    for what, seconds in rows:
        print(f"{what:62s} {seconds:7.3f} s {seconds / reference:7.2f} of the reference")
    fixed, each = margin_s(home, rain)
    storms = len(settings.return_periods_yr)
    print(f"CPU time of a home {fixed:.3f} s, of a draw of its {storms} storms {each * 1e3:.2f} ms")
    print(f"  of three durations each: {storms / each:,.0f} home-storm-draws a second of one core")


if __name__ == "__main__":
    main()
