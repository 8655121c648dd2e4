"""How many homes a second go through a storm, and how much faster that is than an ODE solver.

    python tests/speed/bench_pit.py [number of homes]

A day in steps of 5 min with one peak; pits, pumps, pipes and ground water spread like real homes,
storm peaks of 3 gpm in the middle and 8 gpm at the 95th percentile, which is the published envelope
for clayey backfill. Nothing is left out of the wet part: most homes cycle most of the time.
"""

from __future__ import annotations

import os
import sys
import time

import numpy as np
from scipy.integrate import solve_ivp

from riskkit.pit import geometry
from riskkit.pit.balance import run_pit
from riskkit.pit.model import build_pit
from riskkit.pit.pipe import equivalent_length_m, pipe_water_m3
from riskkit.pit.pump import curve_from_rating, duty_flow_m3_s
from riskkit.quantities.units import convert
from riskkit.records import PitInflow, PitModel

STEP_S, N_STEPS = 300.0, 288
GPM = convert(1.0, "gpm", "m3/s")
Z95 = 1.645


def homes(n: int, rng: np.random.Generator) -> PitModel:
    """Round pits, half of them with ground water, one in five with its check valve stuck open."""
    depth, diameter = rng.normal(0.66, 0.05, n).clip(0.55), rng.normal(0.48, 0.04, n).clip(0.4)
    on = rng.normal(0.33, 0.05, n).clip(0.2, 0.45)
    off = np.clip(on + rng.normal(0.17, 0.04, n), on + 0.06, depth - 0.05)
    drain, table_m = rng.uniform(0.1, 0.4, n), rng.uniform(0.0, 0.6, n)
    seep = np.where(rng.random(n) < 0.5, 0.5 * GPM * rng.lognormal(0.0, 1.0, n), 0.0)
    bore = rng.choice([0.0351, 0.0409, 0.0525], n)
    outlet = rng.normal(2.3, 0.25, n)
    curve = curve_from_rating(
        rng.normal(43, 7, n).clip(25) * GPM, rng.normal(3.05, 0.3, n), rng.normal(7, 1, n).clip(5)
    )
    length = rng.uniform(4, 15, n) + equivalent_length_m(
        bore, {"elbow_90": 3, "swing_check_valve": 1}
    )

    def pump(level_m):
        worn = rng.uniform(0.75, 1.0, n)
        return duty_flow_m3_s(level_m, curve, outlet, bore, length, worn)

    def ground(level_m):
        in_drain = np.maximum(level_m + drain[:, None], 0.0)
        share = 1.0 - in_drain**2 / (table_m + drain)[:, None] ** 2
        return seep[:, None] * np.clip(share, 0.0, None)

    room = [
        *geometry.round_storage(depth, diameter),
        geometry.pump_body(depth, rng.uniform(0.003, 0.008, n), rng.normal(0.28, 0.03, n)),
        geometry.StorageLayer(
            -drain, 0.1 - drain, rng.uniform(0.05, 0.95, n) * 42.0 * np.pi / 4 * 0.1
        ),
        geometry.gravel_storage(
            0.1, rng.uniform(0.02, 0.16, n), 90.0, 0.37, rng.uniform(0, 0.8, n)
        ),
        geometry.basement_storage(np.full(n, 90.0), 0.1),
    ]
    return build_pit(
        room, off, on, on * rng.uniform(0.3, 0.7, n), pump, ground,
        extra_depth_m=[drain, -table_m],
        return_share=rng.lognormal(np.log(0.015), 1.4, n).clip(0, 0.9),
        drainback_m3=pipe_water_m3(bore, outlet + on, rng.choice([0.01, 0.9], n, p=[0.8, 0.2])),
    )  # fmt: skip


def storms(n: int, rng: np.random.Generator) -> PitInflow:
    """Fast rise, slow fall over a slow rise and fall of the whole day."""
    hours = (np.arange(N_STEPS) + 0.5) * STEP_S / 3600
    after = hours[None, :] - rng.uniform(8, 14, n)[:, None]
    fall = rng.uniform(1, 4, n)[:, None]
    fast = np.where(after < 0, np.exp(after / 0.7), np.exp(-after / fall))
    slow = np.exp(-np.abs(after) / 6)
    peak = 3 * GPM * np.exp(rng.normal(0, np.log(8 / 3) / Z95, n))
    return PitInflow(peak[:, None] * (0.75 * fast + 0.25 * slow), STEP_S)


def by_ode_solver(pit: PitModel, storm_m3_s: np.ndarray, draw: int, rtol: float) -> float:
    """The same home by `solve_ivp` with events for the switch; returns the run time of its pump."""
    keep = np.append(True, np.diff(pit.level_m[draw]) > 1e-9)
    nodes, area = pit.level_m[draw][keep], pit.area_m2[draw][keep[1:]]
    pump, seep = pit.pump_m3_s[draw][keep], pit.seepage_m3_s[draw][keep]
    off = pit.level_m[draw, pit.off_index[draw]]
    on_level = pit.level_m[draw, pit.on_index[draw]]

    def rate(_time, y, q, on):
        level = y[0]
        band = min(max(int(np.searchsorted(nodes, level, "right")) - 1, 0), area.size - 1)
        flow = q + np.interp(level, nodes, seep) - on * np.interp(level, nodes, pump)
        return [flow / area[band]]

    def starts(_time, y, _q, _on):
        return y[0] - on_level

    def stops(_time, y, _q, _on):
        return y[0] - off

    starts.terminal, starts.direction, stops.terminal, stops.direction = True, 1, True, -1
    level, on, run = off, 0, 0.0
    for k, q in enumerate(storm_m3_s):
        t, end = k * STEP_S, (k + 1) * STEP_S
        while t < end:
            got = solve_ivp(rate, (t, end), [level], args=(q, on), rtol=rtol, atol=1e-9,
                            events=stops if on else starts)  # fmt: skip
            run += on * (got.t[-1] - t)
            t, level = got.t[-1], got.y[0, -1]
            if got.status == 1:
                on, level = 1 - on, off if on else on_level
    return run


def best(call, times: int) -> float:
    taken = []
    for _ in range(times):
        begin = time.perf_counter()
        call()
        taken.append(time.perf_counter() - begin)
    return min(taken)


def main() -> None:
    n = int(sys.argv[1]) if len(sys.argv) > 1 else 4096
    rng = np.random.default_rng(20)
    pit, inflow = homes(n, rng), storms(n, rng)
    begin = time.perf_counter()
    run = run_pit(pit, inflow)
    print(f"first call, with compiling or loading: {time.perf_counter() - begin:.2f} s")

    peak = np.percentile(inflow.storm_m3_s.max(axis=1), [5, 50, 95]) / GPM
    at_on = np.take_along_axis(pit.seepage_m3_s, pit.on_index[:, None], axis=1)[:, 0]
    at_off = np.take_along_axis(pit.seepage_m3_s, pit.off_index[:, None], axis=1)[:, 0]
    print(f"homes {n}, steps {N_STEPS}, levels {pit.level_m.shape[1]}")
    print("storm peak, 5/50/95 %: " + " / ".join(f"{q:.1f}" for q in peak) + " gpm")
    print(f"with ground water {np.mean(at_off > 0):.0%}, changing between off and on "
          f"{np.mean(at_on != at_off):.0%}")  # fmt: skip
    inside = np.bincount(pit.on_index - pit.off_index)[1:] / n
    print("bands between off and on: " + ", ".join(f"{i + 1} in {p:.0%}" for i, p in
          enumerate(inside)))  # fmt: skip
    print("starts in the day, 5/50/95 %: "
          + " / ".join(f"{s:.0f}" for s in np.percentile(run.starts, [5, 50, 95]))
          + f"; {run.starts.mean() / N_STEPS:.2f} a step")  # fmt: skip
    print(
        f"alarm {np.isfinite(run.alarm_s).mean():.1%}, flood {np.isfinite(run.flood_s).mean():.1%}"
    )
    print(f"largest balance error {run.balance_error.max():.1e}")

    one = n / best(lambda: run_pit(pit, inflow, workers=1), 15)
    all_cores = n / best(lambda: run_pit(pit, inflow), 15)
    print(f"one thread: {one:,.0f} home-storms a second")
    print(f"{os.cpu_count()} processors: {all_cores:,.0f} home-storms a second")
    sample = np.argsort(run.starts)[(np.linspace(0.1, 0.9, 5) * n).astype(int)]
    plain = homes_without_returns(pit)
    exact = run_pit(plain, inflow).run_time_s
    begin = time.perf_counter()
    found = [by_ode_solver(plain, inflow.storm_m3_s[d], d, 1e-6) for d in sample]
    each = (time.perf_counter() - begin) / sample.size
    off = np.max(np.abs(np.array(found) / exact[sample] - 1))
    print(
        f"solve_ivp (rtol 1e-6): {each:.2f} s a home-storm; run times differ by {off:.1e} at most"
    )
    print(f"ratio: {each * all_cores:,.0f}")


def homes_without_returns(pit: PitModel) -> PitModel:
    """For the solver, which does not know of water that comes back."""
    from dataclasses import replace

    zero = np.zeros(pit.return_share.size)
    return replace(pit, return_share=zero, drainback_m3=zero)


if __name__ == "__main__":
    main()
