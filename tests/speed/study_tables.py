"""Does more rain, or a rarer storm, ever make an answer better? A study over tables made at random.

    python tests/speed/study_tables.py [tables]

The tests look at 24 tables; with 200 it takes about three minutes.
"""

from __future__ import annotations

import sys
from pathlib import Path

ROOT = Path(__file__).resolve().parent.parent.parent
sys.path.insert(0, str(ROOT / "tests"))
from random_tables import (  # noqa: E402 - found beside the tests
    better_when_rarer,
    better_with_more_of_all,
    better_with_more_rain,
)

from riskkit.home.home import load_home  # noqa: E402 - after the path


def main(tables: int) -> None:
    paths = sorted((ROOT / "demo_sites").glob("*.toml"))
    homes = [load_home(path) for path in paths]
    checks = {
        "rarer": better_when_rarer,
        "more in one duration": better_with_more_rain,
        "more in all": better_with_more_of_all,
    }
    for name, check in checks.items():
        found = {seed: check(homes[seed % len(homes)], seed) for seed in range(tables)}
        wrong = {seed: better for seed, better in found.items() if better}
        print(f"{name}: better in {len(wrong)} of {tables} tables {wrong or ''}")


if __name__ == "__main__":
    main(int(sys.argv[1]) if len(sys.argv) > 1 else 200)
