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
from riskkit.home.home import load_home

HOME = Path(__file__).resolve().parents[2] / "demo_sites" / "split_level_on_clay.toml"


def middle_s(call: Callable[[], object], times: int) -> float:
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


def main() -> None:
    home = load_home(HOME)
    rain = design_rain(home, HOME.parent).used
    settings = Settings()
    begin = time.perf_counter()
    assess(home, rain, settings)
    first = time.perf_counter() - begin
    chain = middle_s(lambda: assess(home, rain, settings), 9)
    reference = middle_s(fresh("-c", "import pandas"), 5)
    light = middle_s(fresh("-c", "import riskkit"), 5)
    bare = middle_s(fresh("-c", "pass"), 5)
    command = middle_s(fresh("-m", "riskkit", "assess", str(HOME)), 5)
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


if __name__ == "__main__":
    main()
