"""How much water reaches the pit, when, and by which way: soils, downspouts, water tables.

    python tests/speed/study_water.py [--draws 128] [--parts storms changes years shares moves]

``storms``: for homes of which only the soil, the downspouts and the water table are known, the peak
flow to the pit, the wettest six hours, the first day and the two days after it, for an inch, two
inches and 4.2 in (107 mm) of rain in a day; flows in gal/min, volumes in gal: 10, 50 and 90 of 100
simulated variants.
``changes``: what a change of one thing does to the split-level demo home.
``years``: what comes to the pit of the same homes in a mean year of five, by the hour: 5, 50 and 95
of 100 variants. Beside it 13 to 40 m3 (3,500 to 10,500 gal) a year for a connected foundation drain
in Ann Arbor, Michigan, as the city told homeowners of its study of 2000 and 2001: an order of
magnitude, told by a public body, at a place of its own soils and rain.
``shares``: Sobol's indices of the logarithm of the minutes from alarm to floor, those of more than
a day counted as a day, in the 10-year storm of a day, for two demo homes.
``moves``: how far these minutes move with wetness, water table, puddle and alarm.
"""

from __future__ import annotations

import argparse
from collections.abc import Sequence
from functools import partial
from pathlib import Path

import numpy as np
from scipy import stats

import riskkit
from riskkit.antecedent.hours import hourly_weather
from riskkit.antecedent.water_table import AntecedentGround, antecedent_ground
from riskkit.assessment import DesignRain, Settings, assess, design_rain
from riskkit.ensemble import draws
from riskkit.ensemble.draws import assumptions, draw_homes
from riskkit.home.home import Home, home_of
from riskkit.quantities.variables import variables
from riskkit.records import FloatArray
from riskkit.risk.clock import Clock
from riskkit.risk.critical import storms_to_run
from riskkit.risk.runs import run_storms
from riskkit.simulate import Water, ground_of, pit_of, water_of
from riskkit.simulate.continuous import run_hours
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
            else " / ".join(f"{t / 60:.3g}" for t in (worst.low, worst.median, worst.high))
        )
        alarm = storm.to_alarm_s.if_ever
        wait = "-" if alarm is None else f"{alarm.median / 60:.3g}"
        medians = [found[key].split()[1] for key in ("peak", "24 h", "next 48 h")]
        print(f"{name:44s}" + "".join(f"{text:>9s}" for text in medians)
              + f"{wait:>15s}{minutes:>24s}{100 * storm.worst_s.never_share:8.0f}")  # fmt: skip


# ---- years ---------------------------------------------------------------------------------------

YEAR_H = round(365.25 * 24)
TOLD_M3 = (13.0, 40.0)


def table_of_years(folder: str, n_draws: int, years: int = 5) -> None:
    """Print what comes to the pit in a year, after a year to forget the beginning."""
    of = riskkit.load_home(f"{folder}/bungalow_on_sand.toml")
    rain = design_rain(of, Path(folder))
    assert rain.record is not None and rain.weather is not None and of.place.latitude is not None
    hours = hourly_weather(rain.record, rain.weather, of.place.latitude)
    part = slice(0, (years + 1) * YEAR_H)
    water_mm, demand_mm = hours.water_mm[part], hours.demand_mm[part]
    per_year = water_mm[YEAR_H:].sum() / years
    print(f"\nto the pit in a year of {years}, {per_year:.0f} mm of rain and melt a year; "
          f"Ann Arbor {TOLD_M3[0]:g} to {TOLD_M3[1]:g} m3 per connected drain")  # fmt: skip
    print(f"{'':58s}{'m3: 5, 50, 95 of 100':^29s}{'gal':^29s}{'within':>8s}")
    for soil in SOILS:
        for wall, at_wall in WALLS.items():
            for name, depth in TABLES.items():
                homes = draw_homes(home(soil, at_wall, depth), n_draws, 1)
                run = run_hours(homes, ground_of(homes), water_mm, demand_mm)
                flow = run.free.to_pit_m3_s[:, YEAR_H:]
                m3 = flow.sum(axis=1) * 3600.0 / years
                within = np.mean((m3 >= TOLD_M3[0]) & (m3 <= TOLD_M3[1]))
                points = np.percentile(m3, (5, 50, 95))
                head = f"{soil}, {wall}, water table {name}"
                print(f"{head:58s}" + "".join(
                    f"{''.join(f'{v:9.3g}' for v in values):29s}"
                    for values in (points, points * GAL)
                ) + f"{within:8.0%}")  # fmt: skip


# ---- shares of the spread ------------------------------------------------------------------------

MOST_S = 86400.0
_SOIL, _BACKFILL, _RAIN = 47, 48, 49  # columns of the draws that are no quantity


def inputs_of(of: Home, before: AntecedentGround) -> dict[str, int]:
    """Columns of the draws in which variants of a home differ."""
    columns = {"soil": _SOIL, "backfill": _BACKFILL, "depth of rain": _RAIN}
    for row in assumptions(of, before):
        column = variables()[row.key].column
        if column is not None and row.p05 < row.p95:
            columns[row.key] = column
    return columns


def log_minutes(of: Home, place: DesignRain, before: AntecedentGround, x: FloatArray) -> FloatArray:
    """ln(1 + min) from alarm to floor for scores (n_inputs, n_rows), in the 10-year storm."""
    settings = Settings()
    storms = storms_to_run(place.used, (10.0,), settings.pattern, settings.step_s)
    (day,) = [alike for alike in storms if alike[0].duration_h == 24.0]
    columns, found = list(inputs_of(of, before).values()), []
    for block in np.array_split(x, max(1, x.shape[1] // 512), axis=1):
        scores = np.zeros((block.shape[1], draws._n_columns()))
        scores[:, columns] = block.T
        homes = draws._realise(of, scores, before)
        pit, ground = pit_of(homes), ground_of(homes)
        run = run_storms(homes, pit, day, ground, Clock.ALARM, with_depth=False)
        found.append(np.log1p(np.minimum(run.worst_s[0], MOST_S) / 60.0))
    return np.concatenate(found)


def table_of_shares(folder: str, n: int) -> None:
    """Print Sobol's indices of the minutes from alarm to floor."""
    for name in ("split_level_on_clay", "bungalow_on_sand"):
        of = riskkit.load_home(f"{folder}/{name}.toml")
        place = design_rain(of, Path(folder))
        before, _ = antecedent_ground(of, place.weather, place.levels)
        inputs = list(inputs_of(of, before))
        found = stats.sobol_indices(
            func=partial(log_minutes, of, place, before), n=n,
            dists=[stats.norm()] * len(inputs), rng=np.random.default_rng(1),
        )  # fmt: skip
        first, total = np.ravel(found.first_order), np.ravel(found.total_order)
        print(f"\n{name}: shares of the variance of ln(1 + minutes), {len(inputs)} inputs, n = {n}"
              f"; first order {first.sum():.2f} in all")  # fmt: skip
        print(f"{'':34s}{'alone':>8s}{'in all':>8s}")
        for i in np.argsort(-total)[:14]:
            print(f"{inputs[i]:34s}{first[i]:8.2f}{total[i]:8.2f}")


# ---- direction and size --------------------------------------------------------------------------


def table_of_moves(folder: str, n_draws: int) -> None:
    """Print how far the minutes of the 10-year storm move with one thing."""
    print(f"\n{'10-year storm, alarm to floor':64s}{'min: 10, 50, 90 of 100':^28s}"
          f"{'never':>7s}{'middle of all':>14s}")  # fmt: skip
    for name in ("split_level_on_clay", "bungalow_on_sand", "row_house_near_creek"):
        of = riskkit.load_home(f"{folder}/{name}.toml")
        rain = design_rain(of, Path(folder))
        before, _ = antecedent_ground(of, rain.weather, rain.levels)
        wet = next(row for row in assumptions(of, before) if row.key == "ground.saturation")
        moves: dict[str, dict[str, object]] = {
            "as it is": {},
            f"wetness at its 5 % point ({wet.p05:.2f})": {
                "ground__saturation": f"{100 * wet.p05:.1f} %, measured"
            },
            f"wetness at its 95 % point ({wet.p95:.2f})": {
                "ground__saturation": f"{100 * wet.p95:.1f} %, measured"
            },
            "water table unknown": {"ground__water_table_depth": "unknown"},
            "water table 0.5 m above the floor": {"ground__water_table_depth": "-0.5 m"},
            "puddle at the wall 15 mm": {"ground__ponding_depth": "15 mm"},
            "puddle at the wall 50 mm": {"ground__ponding_depth": "50 mm"},
            "alarm 152 mm": {"switch__alarm": "152 mm"},
            "alarm 100 mm": {"switch__alarm": "100 mm"},
            "alarm 76 mm": {"switch__alarm": "76 mm"},
        }
        settings = Settings(return_periods_yr=(1.0, 2.0, 5.0, 10.0), n_draws=n_draws)
        for words, values in moves.items():
            storm = assess(of.changed(**values) if values else of, rain, settings).storms[-1]
            told = storm.worst_s.if_ever
            minutes = "-" if told is None else " ".join(
                f"{t / 60:8.3g}" for t in (told.low, told.median, told.high)
            )  # fmt: skip
            print(f"{f'{name}, {words}':64s}{minutes:^28s}{storm.worst_s.never_share:7.0%}"
                  f"{storm.worst_s.median / 60:14.3g}")  # fmt: skip


PARTS = ("storms", "changes", "years", "shares", "moves")


def main() -> None:
    parser = argparse.ArgumentParser(description=__doc__)
    parser.add_argument("--draws", type=int, default=128)
    parser.add_argument("--folder", default="demo_sites")
    parser.add_argument("--parts", nargs="+", choices=PARTS, default=PARTS)
    given = parser.parse_args()
    work = {
        "storms": lambda: table_of_volumes(given.draws),
        "changes": lambda: table_of_changes(given.folder, given.draws),
        "years": lambda: table_of_years(given.folder, given.draws),
        "shares": lambda: table_of_shares(given.folder, given.draws),
        "moves": lambda: table_of_moves(given.folder, given.draws),
    }
    for part in given.parts:
        work[part]()


if __name__ == "__main__":
    main()
