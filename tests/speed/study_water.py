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
``population``: what a mean year brings to homes of which nobody knows anything, and to the demo
homes, on a record that is given, month by month, with the water balance term by term::

    python tests/speed/study_water.py --parts population --record HOURLY --temperature DAYS \\
        --latitude 40.1

Nobody knows soil, downspouts and water table of these homes either: they are drawn as for any home,
textures by how common they are, `tables/soil_unknown.csv` (judgement), a third of the downspouts at
the wall in the middle (5 % to 75 %), the water table by its soil. A daily record is spread over the
hours of days of another one with about as much rain in the same month, ``--hours-of HOURLY``
(method of fragments).
``shares``: Sobol's indices of the logarithm of the minutes from alarm to floor, those of more than
a day counted as a day, in the 10-year storm of a day, for two demo homes.
``moves``: how far these minutes move with wetness, water table, ponded water and alarm.
"""

from __future__ import annotations

import argparse
from collections.abc import Sequence
from functools import partial
from pathlib import Path

import numpy as np
from scipy import stats

import riskkit
from riskkit.antecedent.days import daily_weather
from riskkit.antecedent.hours import HourlyWeather, hourly_weather
from riskkit.antecedent.water_table import AntecedentGround, antecedent_ground
from riskkit.assessment import DesignRain, Settings, assess, design_rain
from riskkit.ensemble import draws
from riskkit.ensemble.draws import assumptions, draw_homes
from riskkit.home.home import Home, home_of
from riskkit.home.samples import HomeSamples
from riskkit.pit.balance import run_pit
from riskkit.quantities.variables import variables
from riskkit.rainfall.readers.record import read_rain
from riskkit.rainfall.readers.temperature import read_temperature
from riskkit.records import FloatArray, IntArray, PitInflow, RainRecord
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
    "ponded water at the wall": (
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
        times = storm.worst_stop.to_floor_s
        worst, never = times.if_ever, 100 * times.never_share
        minutes = (
            "-"
            if worst is None
            else " / ".join(f"{t / 60:.3g}" for t in (worst.low, worst.median, worst.high))
        )
        alarm = storm.worst_stop.to_alarm_s.if_ever
        wait = "-" if alarm is None else f"{alarm.median / 60:.3g}"
        medians = [found[key].split()[1] for key in ("peak", "24 h", "next 48 h")]
        print(f"{name:44s}" + "".join(f"{text:>9s}" for text in medians)
              + f"{wait:>15s}{minutes:>24s}{never:8.0f}")  # fmt: skip


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
    water_mm, demand_mm, thawed = (
        each[part] for each in (hours.water_mm, hours.demand_mm, hours.thawed_share)
    )
    per_year = water_mm[YEAR_H:].sum() / years
    print(f"\nto the pit in a year of {years}, {per_year:.0f} mm of rain and melt a year; "
          f"Ann Arbor {TOLD_M3[0]:g} to {TOLD_M3[1]:g} m3 per connected drain")  # fmt: skip
    print(f"{'':58s}{'m3: 5, 50, 95 of 100':^29s}{'gal':^29s}{'within':>8s}")
    for soil in SOILS:
        for wall, at_wall in WALLS.items():
            for name, depth in TABLES.items():
                homes = draw_homes(home(soil, at_wall, depth), n_draws, 1)
                run = run_hours(homes, ground_of(homes), water_mm, demand_mm, thawed_share=thawed)
                flow = run.free.to_pit_m3_s[:, YEAR_H:]
                m3 = flow.sum(axis=1) * 3600.0 / years
                within = np.mean((m3 >= TOLD_M3[0]) & (m3 <= TOLD_M3[1]))
                points = np.percentile(m3, (5, 50, 95))
                head = f"{soil}, {wall}, water table {name}"
                print(f"{head:58s}" + "".join(
                    f"{''.join(f'{v:9.3g}' for v in values):29s}"
                    for values in (points, points * GAL)
                ) + f"{within:8.0%}")  # fmt: skip


# ---- a population of homes -----------------------------------------------------------------------

_LEAD_H, _AT_ONCE = 2 * 8760, 8
_NEAR = 10  # days of the like depth on either side, of which one is drawn


def spread_over_hours(daily: RainRecord, hourly: RainRecord) -> RainRecord:
    """Spread days over hours as days of the same month with about as much rain were."""
    first = -int(hourly.start.astype("datetime64[h]").astype(np.int64)) % 24
    hours = hourly.depth_mm[first:]
    hours = hours[: hours.size // 24 * 24].reshape(-1, 24)
    begin = (hourly.start.astype("datetime64[h]") + first).astype("datetime64[D]")
    total, rng = hours.sum(axis=1), np.random.default_rng(1)
    known = np.isfinite(total) & (total > 0)
    month_of = months_from(begin, total.size)
    out = np.full((daily.depth_mm.size, 24), np.nan)
    out[daily.depth_mm == 0] = 0.0
    days = months_from(daily.start.astype("datetime64[D]"), daily.depth_mm.size)
    for month in range(12):
        like = np.flatnonzero(known & (month_of == month))
        like = like[np.argsort(total[like], kind="stable")]
        wet = np.flatnonzero((days == month) & (daily.depth_mm > 0))
        at = np.searchsorted(total[like], daily.depth_mm[wet])
        at = np.clip(at + rng.integers(-_NEAR, _NEAR + 1, wet.size), 0, like.size - 1)
        share = hours[like[at]] / total[like[at], None]
        out[wet] = daily.depth_mm[wet, None] * share
    return RainRecord(out.ravel(), daily.start, 3600, name=daily.name)


def months_from(begin: np.datetime64, n_days: int) -> IntArray:
    """Month of each day, 0 for January."""
    months = (begin + np.arange(n_days)).astype("datetime64[M]").astype(np.int64) % 12
    return np.asarray(months)


def table_of_population(given: argparse.Namespace) -> None:
    """Print what a year brings to homes of which nobody knows anything, and to the demo homes."""
    record = read_rain(given.record)
    if given.hours_of is not None:
        record = spread_over_hours(record, read_rain(given.hours_of))
    weather = daily_weather(record, read_temperature(given.temperature))
    hours = hourly_weather(record, weather, given.latitude)
    years = hours.water_mm.size / YEAR_H
    print(f"\n{years:.0f} years, {hours.water_mm.sum() / years:.0f} mm of rain and melt a year; "
          f"{TOLD_M3[0]:g} to {TOLD_M3[1]:g} m3 told per connected drain")  # fmt: skip
    whole = hours.led_in(_LEAD_H)
    month = months_from(hours.times[0].astype("datetime64[D]"), hours.water_mm.size // 24)
    every = home_of({"format": 1, "name": "any home"}, "study")
    print_population("any home", draw_homes(every, given.draws, 1), whole, month, years)
    for path in sorted(Path(given.folder).glob("*.toml")):
        homes = draw_homes(riskkit.load_home(path), min(given.draws, 32), 1)
        print_population(path.stem, homes, whole, month, years)


def print_population(
    name: str, homes: HomeSamples, hours: HourlyWeather, month: IntArray, years: float
) -> None:
    """Print volumes, hours and the balance of some homes; those in ground water apart."""
    pumped, run_h, terms = [], [], []
    for i in range(0, homes.n_draws, _AT_ONCE):
        some = homes.picked(range(i, min(i + _AT_ONCE, homes.n_draws)))
        ground = ground_of(some)
        run = run_hours(
            some, ground, hours.water_mm, hours.demand_mm, thawed_share=hours.thawed_share
        )
        flow = PitInflow(run.free.to_pit_m3_s, 3600.0)
        days = run_pit(pit_of(some), flow, account_steps=24).accounts
        assert days is not None
        pumped.append(np.stack([days.pumped_m3[:, _LEAD_H // 24 :][:, month == m].sum(axis=1)
                                for m in range(12)], axis=1) / years)  # fmt: skip
        run_h.append(days.run_time_s[:, _LEAD_H // 24 :].sum(axis=1) / 3600.0 / years)
        parts = {**run.wall.parts_m3, "from far off": run.free.steady_m3,
                 "to deep ground": run.free.deep_m3}  # fmt: skip
        area = ground.wall.perimeter_m * ground.wall.fill_width_m + ground.wall.lot_area_m2
        terms.append({key: parts[key] / (years + _LEAD_H / YEAR_H) for key in TERMS}
                     | {"area": area})  # fmt: skip
    by_month, ran = np.concatenate(pumped), np.concatenate(run_h)
    balance = {key: np.concatenate([one[key] for one in terms]) for key in terms[0]}
    rain_fed = balance["from far off"] < 1.0
    for words, of in (("all", np.ones(ran.size, dtype=np.bool_)), ("fed by rain", rain_fed)):
        if not of.any():
            continue
        total, told = (
            by_month[of].sum(axis=1),
            np.percentile(by_month[of].sum(axis=1), (10, 50, 90)),
        )
        print(f"{name}, {words} ({of.sum()}): pumped {total.mean():.1f} m3, 10 50 90 of 100: "
              f"{' '.join(f'{v:.1f}' for v in told)}; the pump runs {ran[of].mean():.0f} h, "
              f"median {np.median(ran[of]):.0f}")  # fmt: skip
        print("  by month " + " ".join(f"{v:.1f}" for v in by_month[of].mean(axis=0)))
    print("  m3: " + "; ".join(f"{key} {balance[key].mean():.1f}" for key in TERMS))
    mm = {key: 1e3 * (balance[key] / balance["area"]).mean() for key in TERMS[1:5]}
    print("  mm of strip and lot: " + "; ".join(f"{key} {mm[key]:.0f}" for key in mm))


TERMS = ("arrived", "used by plants", "ran off", "reached the footing",
         "reached the water table of the lot", "led away by downspouts", "from far off",
         "to deep ground")  # fmt: skip


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
            "ponded water at the wall 15 mm": {"ground__ponding_depth": "15 mm"},
            "ponded water at the wall 50 mm": {"ground__ponding_depth": "50 mm"},
            "alarm 152 mm": {"switch__alarm": "152 mm"},
            "alarm 100 mm": {"switch__alarm": "100 mm"},
            "alarm 76 mm": {"switch__alarm": "76 mm"},
        }
        settings = Settings(return_periods_yr=(1.0, 2.0, 5.0, 10.0), n_draws=n_draws)
        for words, values in moves.items():
            storm = assess(of.changed(**values) if values else of, rain, settings).storms[-1]
            times = storm.worst_stop.to_floor_s
            told = times.if_ever
            minutes = "-" if told is None else " ".join(
                f"{t / 60:8.3g}" for t in (told.low, told.median, told.high)
            )  # fmt: skip
            print(f"{f'{name}, {words}':64s}{minutes:^28s}{times.never_share:7.0%}"
                  f"{times.median / 60:14.3g}")  # fmt: skip


PARTS = ("storms", "changes", "years", "shares", "moves", "population")


def main() -> None:
    parser = argparse.ArgumentParser(description=__doc__)
    parser.add_argument("--draws", type=int, default=128)
    parser.add_argument("--folder", default="demo_sites")
    parser.add_argument("--parts", nargs="+", choices=PARTS, default=PARTS[:-1])
    parser.add_argument("--record", type=Path)
    parser.add_argument("--hours-of", type=Path)
    parser.add_argument("--temperature", type=Path)
    parser.add_argument("--latitude", type=float)
    given = parser.parse_args()
    asked = (given.record, given.temperature, given.latitude)
    if "population" in given.parts and None in asked:
        parser.error("population needs --record, --temperature and --latitude")
    work = {
        "storms": lambda: table_of_volumes(given.draws),
        "changes": lambda: table_of_changes(given.folder, given.draws),
        "years": lambda: table_of_years(given.folder, given.draws),
        "shares": lambda: table_of_shares(given.folder, given.draws),
        "moves": lambda: table_of_moves(given.folder, given.draws),
        "population": lambda: table_of_population(given),
    }
    for part in given.parts:
        work[part]()


if __name__ == "__main__":
    main()
