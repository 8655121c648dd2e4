"""Speed of years through a home, beside a plain loop and a general solver in the same run.

Run as ``python tests/speed/bench_replay.py``. The plain loop is the same code without a compiler:
Python over NumPy arrays, step by step, one home through one year with its ground, drain, pit and
pump. The loop over a DataFrame hands each hour, a row, to the stages one after the other. The
solver is ``scipy.integrate.solve_ivp`` on the pit of that year, stopped wherever the pump
starts or stops. Figures are the best of several runs; other work only ever slows them down.
"""

from __future__ import annotations

import os
import subprocess
import sys
import time
from collections.abc import Callable
from pathlib import Path

import numpy as np
import pandas as pd
from scipy.integrate import solve_ivp

import riskkit as rk
from riskkit.antecedent.days import DailyWeather
from riskkit.antecedent.hours import HourlyWeather, hourly_weather
from riskkit.ensemble.draws import median_home
from riskkit.home.home import Home
from riskkit.home.samples import HomeSamples
from riskkit.inflow.continuous import continuous_water
from riskkit.pit.balance import run_pit
from riskkit.pit.drainage import free_drainage
from riskkit.records import FloatArray, PitInflow, PitModel
from riskkit.simulate import footing_water, ground_of, pit_of
from riskkit.simulate.continuous import root_zone_of, run_hours

ROOT = Path(__file__).resolve().parents[2]
YEAR_H, YEARS = 8760, 60
PLAIN = "--plain-year"


def best_s(call: Callable[[], object], times: int = 3) -> float:
    taken = []
    for _ in range(times):
        begin = time.process_time()
        call()
        taken.append(time.process_time() - begin)
    return min(taken)


def place() -> tuple[Home, rk.DesignRain, HourlyWeather]:
    home = rk.load_home(ROOT / "demo_sites" / "split_level_on_clay.toml")
    rain = rk.design_rain(home)
    assert rain.record is not None and isinstance(rain.weather, DailyWeather)
    return home, rain, hourly_weather(rain.record, rain.weather, home.place.latitude or 0.0)


def through(home: HomeSamples, water_mm: FloatArray, demand_mm: FloatArray) -> FloatArray:
    """One home through some hours: ground, drain, pit and pump."""
    flow = run_hours(home, ground_of(home), water_mm, demand_mm).free.to_pit_m3_s
    return run_pit(pit_of(home), PitInflow(flow, 3600.0), account_steps=24).pumped_m3


def frame_loop_s(home: HomeSamples, frame: pd.DataFrame) -> float:
    """Seconds that a loop over the rows of a frame takes, each hour through all stages."""
    ground, pit, roots = ground_of(home), pit_of(home), root_zone_of(home)
    state, outside, stores, pumped = None, ground.footing.level_m[:, 0], ground.lot_m3, 0.0
    none = np.zeros(0, dtype=np.int64)
    begin = time.process_time()
    for _, row in frame.iterrows():
        hour = ([row["water_mm"]], [row["demand_mm"]], 3600.0)
        wall, state = continuous_water(*hour, ground.wall, roots, 0.4, state)
        free = free_drainage(ground.footing, footing_water(wall), outside, stores, none)
        outside, stores = free.end_level_m, free.end_stores_m3
        pumped += run_pit(pit, PitInflow(free.to_pit_m3_s, 3600.0), workers=1).pumped_m3[0]
    return time.process_time() - begin


def solver_s(pit: PitModel, flow_m3_s: FloatArray) -> float:
    """Seconds that a general solver takes for the level in the pit of a year."""
    level, pump = pit.level_m[0], pit.pump_m3_s[0]
    volume = np.concatenate([[0.0], np.cumsum(np.diff(level) * pit.area_m2[0])])
    off, on = volume[pit.off_index[0]], volume[pit.on_index[0]]

    def change(t: float, v: FloatArray, runs: bool) -> list[float]:
        q = flow_m3_s[min(int(t / 3600.0), flow_m3_s.size - 1)]
        return [q - (np.interp(np.interp(v[0], volume, level), level, pump) if runs else 0.0)]

    def switch(t: float, v: FloatArray, runs: bool) -> float:
        return float(v[0] - (off if runs else on))

    switch.terminal = True  # type: ignore[attr-defined]  # as SciPy asks
    begin = time.process_time()
    t, v, runs, end = 0.0, off, False, flow_m3_s.size * 3600.0
    while t < end:
        switch.direction = -1.0 if runs else 1.0  # type: ignore[attr-defined]  # as SciPy asks
        # no step beyond an hour: the flow is another one in the next
        done = solve_ivp(change, (t, end), [v], args=(runs,), events=switch, max_step=3600.0)
        t, v, runs = float(done.t[-1]), float(done.y[0, -1]), not runs
    return time.process_time() - begin


def main() -> None:
    home, rain, hours = place()
    middle = median_home(home)
    water, demand = hours.water_mm, hours.demand_mm
    year = slice(0, YEAR_H)
    if PLAIN in sys.argv:
        print(best_s(lambda: through(middle, water[year], demand[year]), 1))
        return
    repeat = -(-YEARS * YEAR_H // water.size)
    long_mm, long_demand = (np.tile(x, repeat)[: YEARS * YEAR_H] for x in (water, demand))
    through(middle, water[year], demand[year])  # compiles
    one = best_s(lambda: through(middle, long_mm, long_demand), 5)
    print(f"one home through {YEARS} years by the hour       {one:8.3f} s")
    plain = float(
        subprocess.run(
            [sys.executable, __file__, PLAIN],
            env=os.environ | {"NUMBA_DISABLE_JIT": "1"},
            check=True,
            capture_output=True,
            text=True,
        ).stdout
    )
    print(f"  a plain loop, per year                   {plain * YEARS / one:8.0f} times as long")
    some = 1000
    frame = pd.DataFrame({"water_mm": water[:some], "demand_mm": demand[:some]})
    rows = frame_loop_s(middle, frame) * YEAR_H / some
    print(f"  a loop over the rows of a DataFrame      {rows * YEARS / one:8.0f} times")
    pit = pit_of(middle)
    flow = run_hours(middle, ground_of(middle), water[year], demand[year]).free.to_pit_m3_s
    inflow = PitInflow(flow, 3600.0)
    own = best_s(lambda: run_pit(pit, inflow, workers=1), 20)
    print(f"  solve_ivp on the pit of one year         {solver_s(pit, flow[0]) / own:8.0f} times")
    whole = best_s(lambda: rk.replay(home, rain, rk.ReplaySettings(n_draws=64)), 3)
    years = water.size / YEAR_H
    per_60 = whole * YEARS / years
    storms = f"64 draws, {years:.0f} years, every storm"
    print(f"{storms:43s}{whole:8.2f} s of processor, {per_60:.2f} s for 60 years")


if __name__ == "__main__":
    main()
