"""Invented homes of ordinary size, and a slow, obvious twin of the compiled loop."""

from __future__ import annotations

from dataclasses import dataclass, field
from math import exp, inf, log

import numpy as np
import pytest

from riskkit.pit import geometry as g
from riskkit.pit.model import build_pit
from riskkit.pit.pipe import equivalent_length_m, pipe_water_m3
from riskkit.pit.pump import curve_from_rating, duty_flow_m3_s
from riskkit.pit.vessels import FootingModel, FootingWater, StopRun, follow_stops
from riskkit.records import PitInflow, PitModel


def drain_slab(depth, bore_m: float, length_m: float, share) -> g.StorageLayer:
    """Room in a drain that is open to the pit, even over the height of its bore."""
    depth, share = np.atleast_1d(depth, share)
    return g.StorageLayer(-depth, bore_m - depth, share * length_m * np.pi / 4 * bore_m)


def follow_alone(
    pit: PitModel, inflow: PitInflow, begin, level_m=None, after_s=None, steady_m3_s=0.0
) -> StopRun:
    """What follows in the pit alone when the pump stops at the start of some steps.

    The ground beside it holds nothing and hands all on: its drain lies at the top of the pit. The
    level is that of the alarm, where none is given (n_draws, n_stops).
    """
    n = pit.level_m.shape[0]
    top, one = pit.level_m[:, -1:], np.ones((n, 1))
    ground = FootingModel(
        level_m=top + np.arange(2), area_m2=1e-6 * one, steady_m3_s=steady_m3_s * np.ones((n, 2)),
        conductance_m2_s=np.full(n, 100.0), joint_m2_s=np.zeros(n), deep_m3_s=np.zeros(n),
        store_s=one, store_area_m2=0.0 * one, store_share=np.zeros(1),
    )  # fmt: skip
    flow = np.broadcast_to(inflow.storm_m3_s, (n, inflow.storm_m3_s.shape[1]))
    water = FootingWater(
        flow, np.zeros_like(flow), np.full(flow.shape[1], inflow.step_s), np.zeros((n, 1)), one,
        np.zeros(n), np.ones(n),
    )  # fmt: skip
    begin = np.broadcast_to(np.asarray(begin, dtype=np.int64), (n, np.size(begin)))
    if level_m is None:
        alarm = np.take_along_axis(pit.level_m, pit.alarm_index[:, None], axis=1)
        level_m = np.broadcast_to(alarm, begin.shape)
    return follow_stops(
        pit, ground, water, begin, level_m, np.broadcast_to(top, begin.shape),
        np.zeros((*begin.shape, 1)), after_s,
    )  # fmt: skip


def make_homes(n: int, seed: int = 1, **changes) -> PitModel:
    """Round or tapered pits with pump, pipe, drain and gravel, spread like real homes."""
    r = np.random.default_rng(seed)
    depth, top = r.uniform(0.55, 0.8, n), r.uniform(0.42, 0.6, n)
    bottom = top * r.choice([1.0, 0.85], n)
    bore = r.choice([0.0351, 0.0409, 0.0525], n)
    off = depth - r.uniform(0.06, 0.15, n)
    on = off - r.uniform(0.08, 0.2, n)
    alarm = on * r.uniform(0.3, 0.8, n)
    drain, table_m = r.uniform(0.1, 0.4, n), r.uniform(-0.3, 0.6, n)
    seep = r.lognormal(np.log(3e-5), 1.2, n)
    room = [
        *g.tapered_storage(depth, top, bottom, 4),
        g.pump_body(depth, r.uniform(0.003, 0.008, n), r.uniform(0.22, 0.34, n)),
        drain_slab(drain, 0.1, 42.0, r.uniform(0.0, 0.9, n)),
        g.gravel_storage(0.1, r.uniform(0.0, 0.15, n), 90.0, 0.37, r.uniform(0.02, 0.8, n)),
        g.basement_storage(np.full(n, 90.0), 0.1),
    ]
    curve = curve_from_rating(
        r.uniform(0.0015, 0.0033, n), r.uniform(2.5, 3.5, n), r.uniform(5, 9, n)
    )
    length = r.uniform(4, 12, n) + equivalent_length_m(bore, {"elbow_90": 3})
    outlet = r.uniform(1.9, 3.0, n)

    def pump(level):
        return duty_flow_m3_s(level, curve, outlet, bore, length, r.uniform(0.7, 1.0, n))

    def ground(level):
        in_drain = np.maximum(level + drain[:, None], 0.0)
        height = (table_m + drain)[:, None]
        return seep[:, None] * np.clip(1.0 - in_drain**2 / height**2, 0.0, None)

    values = {
        "pump_m3_s": pump,
        "seepage_m3_s": ground,
        "extra_depth_m": [drain, -table_m],
        "return_share": r.uniform(0.0, 0.2, n),
        "drainback_m3": pipe_water_m3(bore, outlet, r.choice([0.01, 0.9], n, p=[0.8, 0.2])),
    } | changes
    return build_pit(room, off, on, alarm, **values)


def make_storms(n: int, seed: int = 2, step_s: float = 300.0, peak: float = 2e-4) -> PitInflow:
    """A day with a peak, fast up and slow down; some homes very wet, some nearly dry."""
    r = np.random.default_rng(seed)
    hours = (np.arange(int(86400 / step_s)) + 0.5) * step_s / 3600
    x = hours[None, :] - r.uniform(6, 18, n)[:, None]
    fall = r.uniform(1, 6, n)[:, None]
    shape = np.where(x < 0, 0.8 * np.exp(x / 0.5) + 0.2 * np.exp(x / 4), np.exp(-x / fall))
    flow = r.lognormal(np.log(peak), 1.0, n)[:, None] * shape
    return PitInflow(storm_m3_s=np.where(hours < 2, 0.0, flow), step_s=step_s)


@dataclass
class Twin:
    """Result of the slow way."""

    level: list = field(default_factory=list)
    starts: int = 0
    run: float = 0.0
    pumped: float = 0.0
    returned: float = 0.0
    seeped: float = 0.0
    top: float = -inf
    alarm: float = inf
    flood: float = inf


def slow_twin(pit: PitModel, storm, dt: float, draw: int, pump_works: bool = True) -> Twin:
    """One draw in levels, every start and stop by itself."""
    levels, areas = pit.level_m[draw], pit.area_m2[draw]
    pump, seep = pit.pump_m3_s[draw], pit.seepage_m3_s[draw]
    keep = np.append(True, np.diff(levels) > 1e-9)
    off, on_level, alarm, floor = (
        levels[index[draw]]
        for index in (pit.off_index, pit.on_index, pit.alarm_index, pit.floor_index)
    )
    areas, levels = areas[keep[1:]], levels[keep]
    pump, seep = pump[keep], seep[keep]
    lag = max(1, round(pit.return_lag_s / dt))
    flow = list(storm)
    out, h, on, sent = Twin(), off, False, 0.0
    if not pump_works:
        h = alarm
    out.level.append(h)

    def net(at, q):
        return q + np.interp(at, levels, seep) - (np.interp(at, levels, pump) if on else 0.0)

    for k in range(len(flow)):
        q, t = flow[k], dt
        while t > 1e-12:
            rate = net(h, q)
            up = rate >= 0
            above = levels[levels > h + 1e-12]
            below = levels[levels < h - 1e-12]
            goal = (above[0] if above.size else h + 100) if up else below[-1]
            area = areas[min(np.searchsorted(levels, (h + goal) / 2) - 1, areas.size - 1)]
            slope = (net(goal, q) - rate) / (goal - h)
            at_goal = rate + slope * (goal - h)
            if rate * at_goal <= 0:
                need = inf
            elif abs(at_goal / rate - 1) < 1e-7:
                need = area * (goal - h) / rate
            else:
                need = area / slope * log(at_goal / rate)
            leg = min(need, t)
            x = slope * leg / area
            move = rate * leg / area * ((exp(x) - 1) / x if abs(x) > 1e-7 else 1 + x / 2)
            p0, p1 = np.interp([h, goal], levels, pump)
            s0, s1 = np.interp([h, goal], levels, seep)
            # mean level of the leg, by Simpson's rule on the exact course
            parts = np.linspace(0, leg, 41)
            z = slope * parts / area
            course = (
                rate
                * parts
                / area
                * np.where(abs(z) > 1e-7, np.expm1(z) / np.where(z == 0, 1, z), 1 + z / 2)
            )
            weight = np.array([1] + [4, 2] * 19 + [4, 1])
            mean = float(weight @ course) / weight.sum()
            out.seeped += (s0 + (s1 - s0) * mean / (goal - h)) * leg
            if on:
                out.run += leg
                out.pumped += (p0 + (p1 - p0) * mean / (goal - h)) * leg
                sent += (p0 + (p1 - p0) * mean / (goal - h)) * leg
            h = goal if need <= t else h + move
            t -= leg
            now = (k + 1) * dt - t
            out.top = max(out.top, h)
            if need <= t + leg and pump_works:
                if not on and h >= on_level - 1e-12:
                    on, out.starts = True, out.starts + 1
                elif on and h <= off + 1e-12:
                    on = False
                    back = float(pit.drainback_m3[draw])
                    out.pumped -= back
                    sent -= back
                    while back > 1e-15:
                        j = min(np.searchsorted(levels, h + 1e-12) - 1, areas.size - 1)
                        step = min(back, areas[j] * (levels[j + 1] - h))
                        h, back = h + step / areas[j], back - step
            if h >= alarm - 1e-12 and out.alarm == inf:
                out.alarm = now
            if h >= floor - 1e-12 and out.flood == inf:
                out.flood = now
        again = pit.return_share[draw] * max(sent, 0.0)
        sent = min(sent, 0.0)
        if k + lag < len(flow):
            flow[k + lag] += again / dt
            out.returned += again
        out.level.append(h)
    return out


@pytest.fixture(scope="session")
def homes():
    return make_homes


@pytest.fixture(scope="session")
def storms():
    return make_storms


@pytest.fixture(scope="session")
def twin():
    return slow_twin
