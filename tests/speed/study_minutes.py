"""What breaking heavy hours down into minutes does to the demo homes, against even hours.

Run as ``python tests/speed/study_minutes.py`` (some minutes).
"""

from __future__ import annotations

from pathlib import Path

import riskkit as rk
from riskkit.years.minutes_effect import minutes_effect

HOMES = Path(__file__).resolve().parents[2] / "demo_sites"


def main() -> None:
    for path in sorted(HOMES.glob("*.toml")):
        home = rk.load_home(path)
        effect = minutes_effect(rk.replay(home))
        print(f"{home.name}: {effect.heavy_storms} of {effect.storms} storms, {effect.draws} draws")
        for row in effect.floods:
            within = f"within {row.within_s / 60:g} min" if row.within_s < 1e9 else "at all"
            print(
                f"  floods {within:15s}{row.minutes:9.4f} a year in minutes, {row.even:9.4f} even"
            )
        if effect.time_change is not None:
            low, middle, high = (
                f"{100 * x:+.1f} %"
                for x in (
                    effect.time_change.low,
                    effect.time_change.median,
                    effect.time_change.high,
                )
            )
            print(f"  time to the floor {middle} ({low} to {high})")


if __name__ == "__main__":
    main()
