"""How much water reaches the pit, when, and by which way: soils, downspouts, water tables.

    python tests/speed/study_water.py [--draws 128]

Prints, for homes of which only the soil, the downspouts and the water table are known, the peak
flow to the pit, the wettest six hours, the first day and the two days after it, for an inch, two
inches and 4.2 in (107 mm) of rain in a day; then what a change of one thing does to the split-level
demo home.
Flows in gal/min, volumes in gal: 10, 50 and 90 of 100 simulated variants.
"""

from __future__ import annotations

import argparse
from collections.abc import Sequence
from pathlib import Path

import numpy as np

import riskkit
from riskkit.assessment import Settings, assess, design_rain
from riskkit.ensemble.draws import draw_homes
from riskkit.home.home import Home, home_of
from riskkit.records import FloatArray
from riskkit.simulate import Water, ground_of, water_of
from riskkit.tables import load_table

GAL, GPM, STEP_S = 264.172, 15850.3, 300.0
DAY = round(86400 / STEP_S)
SOILS = ("clay", "silty clay loam", "silt loam", "loam", "sand")
WALLS = {"4 of 6 at wall": "4 of 6", "all led away": "0 of 6"}
TABLES = {"unknown": None, "at drain": "8 in", "deep": "10 ft"}


def a_day_mm(depth_mm: float) -> FloatArray:
    """NRCS type II rain of a day, with two dry days after it (n_steps,)."""
    rows = load_table("storm_patterns").rows
    hours = np.array([float(row["time_h"]) for row in rows])
    share = np.array([float(row["type_ii"]) for row in rows])
    steps = np.interp(np.arange(DAY + 1) * STEP_S / 3600, hours, share)
    return np.concatenate([np.diff(steps) * depth_mm, np.zeros(2 * DAY)])


def home(soil: str, at_wall: str, table: str | None) -> Home:
    ground = {"soil": soil, **({"water_table_depth": table} if table else {})}
    roof = {"at_wall": at_wall, "to_drain": "0 of 6"}
    return home_of({"format": 1, "name": soil, "ground": ground, "roof": roof}, "study")


def run(of: Home, rain_mm: FloatArray, n_draws: int) -> Water:
    homes = draw_homes(of, n_draws, 1)
    return water_of(ground_of(homes), rain_mm, STEP_S, np.ones(n_draws))


def three(values: FloatArray, scale: float) -> str:
    low, middle, high = np.percentile(values, (10, 50, 90)) * scale
    return f"{low:6.3g} {middle:6.3g} {high:6.3g}"


def volumes(water: Water) -> dict[str, str]:
    flow = water.free.to_pit_m3_s
    come = np.cumsum(np.pad(flow, ((0, 0), (1, 0))), axis=1) * STEP_S
    six = round(6 * 3600 / STEP_S)
    return {
        "peak": three(flow.max(axis=1), GPM),
        "6 h": three((come[:, six:] - come[:, :-six]).max(axis=1), GAL),
        "24 h": three(come[:, DAY], GAL),
        "next 48 h": three(come[:, -1] - come[:, DAY], GAL),
    }


def table_of_volumes(n_draws: int) -> None:
    print(f"{'':58s}" + "".join(f"{name:^22s}" for name in ("peak", "6 h", "24 h", "next 48 h")))
    for depth_in in (1.0, 2.0, 107 / 25.4):
        for soil in SOILS:
            for wall, at_wall in WALLS.items():
                for name, depth in TABLES.items():
                    found = volumes(
                        run(home(soil, at_wall, depth), a_day_mm(depth_in * 25.4), n_draws)
                    )
                    head = f"{depth_in:.1f} in, {soil}, {wall}, water table {name}"
                    print(f"{head:58s}" + "".join(f"{text:^22s}" for text in found.values()))


CHANGES: dict[str, tuple[tuple[str, dict[str, object]], ...]] = {
    "wetness": (
        ("dry", {"ground__wetness": "dry"}), ("wet", {"ground__wetness": "wet"}),
    ),
    "water table": (
        ("10 ft below the floor", {"ground__water_table_depth": "10 ft"}),
        ("20 in above it", {"ground__water_table_depth": "-20 in"}),
    ),
    "puddle at the wall": (
        ("15 mm", {"ground__ponding_depth": "15 mm"}),
        ("50 mm", {"ground__ponding_depth": "50 mm"}),
    ),
    "native soil": (
        ("clay", {"ground__soil": "clay"}), ("sandy loam", {"ground__soil": "sandy loam"}),
    ),
    "depth below ground": (
        ("3 ft", {"house__depth_below_ground": "3 ft"}),
        ("7 ft", {"house__depth_below_ground": "7 ft"}),
    ),
    "gap": (
        ("none", {"ground__gap": "none"}), ("open", {"ground__gap": "open"}),
        ("share set to zero", {"ground__gap_share": "0 %"}),
    ),
    "alarm": (
        ("6 in", {"switch__alarm": "6 in"}), ("4 in", {"switch__alarm": "4 in"}),
        ("3 in", {"switch__alarm": "3 in"}), ("2 in", {"switch__alarm": "2 in"}),
    ),
    "drain": (
        ("open", {"drain__conductance": "40 gpm/in", "drain__open_share": "95 %"}),
        ("silted", {"drain__conductance": "0.5 gpm/in", "drain__open_share": "30 %"}),
    ),
    "gravel open to the pit": (
        ("5 %", {"gravel__connected_share": "5 %"}), ("90 %", {"gravel__connected_share": "90 %"}),
    ),
    "downspouts": (
        ("0 of 6", {"roof__at_wall": "0 of 6"}), ("6 of 6", {"roof__at_wall": "6 of 6"}),
    ),
}  # fmt: skip


def table_of_changes(folder: str, n_draws: int) -> None:
    """What one change does to a home: volume and minutes of the 10-year storm."""
    path = f"{folder}/split_level_on_clay.toml"
    base = riskkit.load_home(path)
    rain = design_rain(base, Path(folder))
    settings = Settings(return_periods_yr=(1.0, 2.0, 5.0, 10.0), n_draws=n_draws)
    print(f"\n{'split-level, 10-year storm':44s}{'peak gpm':>9s}{'24 h gal':>9s}{'48 h gal':>9s}"
          f"{'stop-alarm min':>15s}{'alarm-floor min':>24s}{'never %':>8s}")  # fmt: skip
    rows: Sequence[tuple[str, dict[str, object]]] = [("as it is", {})]
    for name, options in CHANGES.items():
        rows = [*rows, *((f"{name}: {option}", values) for option, values in options)]
    for name, values in rows:
        changed = base.changed(**values) if values else base
        storm = assess(changed, rain, settings).storms[-1]
        found = volumes(run(changed, a_day_mm(107.0), n_draws))
        worst = storm.worst_s.if_ever
        minutes = (
            "-"
            if worst is None
            else " / ".join(f"{t / 60:.3g}" for t in (worst.low, worst.middle, worst.high))
        )
        alarm = storm.to_alarm_s.if_ever
        wait = "-" if alarm is None else f"{alarm.middle / 60:.3g}"
        middles = [found[key].split()[1] for key in ("peak", "24 h", "next 48 h")]
        print(f"{name:44s}" + "".join(f"{text:>9s}" for text in middles)
              + f"{wait:>15s}{minutes:>24s}{100 * storm.worst_s.never_share:8.0f}")  # fmt: skip


def main() -> None:
    parser = argparse.ArgumentParser(description=__doc__)
    parser.add_argument("--draws", type=int, default=128)
    parser.add_argument("--folder", default="demo_sites")
    given = parser.parse_args()
    table_of_volumes(given.draws)
    table_of_changes(given.folder, given.draws)


if __name__ == "__main__":
    main()
