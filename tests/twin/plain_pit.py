"""The pit with its pump working, and both vessels once it has stopped, from the method notebook.

The pump's cycles are followed from event to event in closed form (section 5). Pit and footing after
a stop (sections 4 and 6) are integrated as one linear system in continuous time, the reservoirs of
the lot and the joint included, by matrix exponentials between the moments at which a level passes
a bend: no step is shared with riskkit but that of the water that arrives.
"""

from __future__ import annotations

from bisect import bisect_right
from collections.abc import Sequence
from dataclasses import dataclass, field
from math import exp, inf, log
from typing import NamedTuple

import numpy as np
from numpy.typing import NDArray

from tests.twin.plain_footing import ground_water_at
from tests.twin.plain_home import Footing, Pit

RETURN_LAG_S = 900.0
JOINT_WET_M3 = 0.01


@dataclass
class PitRun:
    """What the pump did in a storm."""

    level_m: list[float] = field(default_factory=list)
    starts: int = 0
    pumped_m3: float = 0.0
    inflow_m3: float = 0.0
    returned_m3: float = 0.0
    alarm_s: float = inf
    floor_s: float = inf


def held_m3(pit: Pit, level_m: float) -> float:
    """Water in pit, gravel and basement up to a level [m3]."""
    return sum(
        area * (min(max(level_m, low), high) - low)
        for area, low, high in zip(pit.area_m2, pit.level_m[:-1], pit.level_m[1:], strict=True)
    )


def level_at(pit: Pit, volume_m3: float) -> float:
    """Level up to which the pit is filled by a volume [m]."""
    held = [held_m3(pit, level) for level in pit.level_m]
    return float(np.interp(volume_m3, held, pit.level_m))


def to_next_event(
    pit: Pit, level_m: float, inflow_m3_s: float, most_s: float, *, pump: bool
) -> tuple[float, float, float]:
    """Follow the level to the end of its band, or of the time: level, time, water pumped."""

    def net(level: float) -> float:
        return inflow_m3_s - (float(np.interp(level, pit.level_m, pit.pump_m3_s)) if pump else 0.0)

    flow = net(level_m)
    if flow == 0.0:
        return level_m, most_s, inflow_m3_s * most_s
    band = bisect_right(pit.level_m, level_m) - 1
    if flow < 0 and level_m == pit.level_m[band]:
        band -= 1
    low, high, area = pit.level_m[band], pit.level_m[band + 1], pit.area_m2[band]
    edge = high if flow > 0 else low
    slope = (net(high) - net(low)) / (high - low)
    time, after = inf, 0.0
    if flow * net(edge) > 0:
        gone = (edge - level_m) * area
        time = gone / flow if slope == 0 else log(net(edge) / flow) * area / slope
    if time <= most_s:
        after = edge
    else:
        time = most_s
        grown = time / area if slope == 0 else (exp(slope * time / area) - 1) / slope
        after = level_m + flow * grown
    pumped = inflow_m3_s * time - area * (after - level_m) if pump else 0.0
    return after, time, pumped


def run_pit(pit: Pit, to_pit_m3_s: Sequence[float], step_s: float) -> PitRun:
    """Follow the pit through a storm with its pump working."""
    run, level, pump = PitRun(), pit.off_m, False
    lag = max(round(RETURN_LAG_S / step_s), 1)
    left_m3 = [0.0] * (len(to_pit_m3_s) + lag)
    for step, arrives in enumerate(to_pit_m3_s):
        run.level_m.append(level)
        back = pit.return_share * left_m3[step - lag] if step >= lag else 0.0
        run.inflow_m3 += arrives * step_s + back
        run.returned_m3 += back
        left = step_s
        while left > 0:
            if not pump and level >= pit.on_m:  # also where the pipe has filled the pit again
                pump = True
                run.starts += 1
            level, time, pumped = to_next_event(
                pit, level, arrives + back / step_s, left, pump=pump
            )
            left -= time
            run.pumped_m3 += pumped
            left_m3[step] += pumped
            now = (step + 1) * step_s - left
            if level >= pit.alarm_m:
                run.alarm_s = min(run.alarm_s, now)
            if level >= 0:
                run.floor_s = min(run.floor_s, now)
            if pump and level <= pit.off_m:
                pump = False
                level = level_at(pit, held_m3(pit, level) + pit.drainback_m3)
                run.pumped_m3 -= pit.drainback_m3
                left_m3[step] -= pit.drainback_m3
    run.level_m.append(level)
    return run


@dataclass(frozen=True)
class Stopped:
    """What followed when the pump stopped: times from the stop [s]."""

    alarm_s: float
    rim_s: float
    joint_s: float
    inside_m: float
    outside_m: float
    stores_m3: tuple[float, ...]

    @property
    def floor_s(self) -> float:
        """Until water reaches the floor, by the first of both ways [s]."""
        return min(self.rim_s, self.joint_s)


class Mode(NamedTuple):
    """What decides which linear system holds."""

    outside: int  # band of the level at the footing
    inside: int  # band of the level in the pit
    drowned: bool  # the mouth of the drain is under water
    leaks: bool  # the joint of wall and floor lets water in
    fills: bool  # the lot takes up water rather than gives it
    swallowed: bool  # the deep ground takes all that comes


Array = NDArray[np.float64]


def exponential(m: Array) -> Array:
    """Exponential of a small matrix, by its series at a small part of it, squared again."""
    halvings = max(0, int(np.ceil(np.log2(max(np.abs(m).sum(axis=1).max(), 1e-9)))) + 2)
    small = m / 2.0**halvings
    term = total = np.eye(len(m))
    for n in range(1, 14):  # 0.25^14 / 14! is far below rounding
        term = term @ small / n
        total = total + term
    for _ in range(halvings):
        total = total @ total
    return total


class Vessels:
    """Pit and footing joined by the drain: x = (h_out, h_in, N1 … N4, water in by the joint, 1)."""

    def __init__(self, pit: Pit, footing: Footing) -> None:
        self.pit, self.footing = pit, footing
        self.known: dict[tuple[Mode, float], Array] = {}
        self.at_once = 1 - sum(footing.store_share)

    def lot_m3_s(self, x: Array, recharge: float) -> float:
        """Return what the lot gives to the footing; negative where it takes up."""
        f = self.footing
        level = float(x[0]) - f.invert_m
        stores = zip(x[2:-2], f.store_area_m2, f.store_s, strict=True)
        return self.at_once * recharge + sum((n - a * level) / t for n, a, t in stores)

    def mode(self, x: Array, forced: Array) -> Mode:
        """Return the mode of a state under what arrives directly and at the water table."""
        f, p = self.footing, self.pit
        out, inside, lot = float(x[0]), float(x[1]), self.lot_m3_s(x, forced[1])
        comes = forced[0] + ground_water_at(f, out) + max(lot, 0.0)
        return Mode(
            outside=min(max(bisect_right(f.level_m, out) - 1, 0), len(f.area_m2) - 1),
            inside=min(max(bisect_right(p.level_m, inside) - 1, 0), len(p.area_m2) - 1),
            drowned=inside >= f.invert_m,
            leaks=out > max(inside, 0.0),
            fills=lot < 0,
            swallowed=comes < f.deep_m3_s,
        )

    def system(self, mode: Mode) -> Array:
        """Return the matrix of a mode; what arrives directly and the recharge are last in it."""
        f = self.footing
        stores = len(f.store_s)
        joint, one, direct, recharge = range(stores + 2, stores + 6)
        m = np.zeros((stores + 6, stores + 6))
        lot = np.zeros(stores + 6)
        for n, (time, area) in enumerate(zip(f.store_s, f.store_area_m2, strict=True)):
            m[2 + n, 2 + n] -= 1 / time
            m[2 + n, 0] += area / time
            m[2 + n, one] -= area / time * f.invert_m
            lot -= m[2 + n]
            m[2 + n, recharge] = f.store_share[n]
        lot[recharge] = self.at_once
        if mode.fills or not mode.swallowed:
            m[0] += lot
        if not mode.swallowed:
            # ground water from far off goes straight on between the levels
            low, high = f.level_m[mode.outside : mode.outside + 2]
            q0, q1 = f.ground_water_m3_s[mode.outside : mode.outside + 2]
            slope = (q1 - q0) / (high - low)
            m[0, 0] += slope
            m[0, one] += q0 - slope * low - f.deep_m3_s
            m[0, direct] += 1
        through = np.zeros(stores + 6)
        through[0] += f.conductance_m2_s
        if mode.drowned:
            through[1] -= f.conductance_m2_s
        else:
            through[one] -= f.conductance_m2_s * f.invert_m
        if mode.leaks:
            m[joint, 0] = f.joint_m2_s
            if self.pit.level_m[mode.inside] >= 0:
                m[joint, 1] = -f.joint_m2_s
        m[0] -= through + m[joint]
        m[1] += through + m[joint]
        m[0] /= f.area_m2[mode.outside]
        m[1] /= self.pit.area_m2[mode.inside]
        return m

    def follow(
        self,
        inside_m: float,
        outside_m: float,
        stores_m3: Sequence[float],
        footing_m3_s: Sequence[float],
        recharge_m3_s: Sequence[float],
        step_s: float,
        *,
        whole: bool = False,
    ) -> Stopped:
        """Follow both levels from the stop until alarm and floor are reached, or the water ends."""
        x = np.array([outside_m, inside_m, *stores_m3, 0.0, 1.0])
        at = {"alarm": self.pit.alarm_m, "rim": 0.0, "joint": inf}
        marks = {name: 0.0 if inside_m >= level else inf for name, level in at.items()}
        now = 0.0
        for forced in np.column_stack([footing_m3_s, recharge_m3_s]):
            # what comes in at the joint is taken as a straight line within a part
            parts = 10 if x[0] > 0 and marks["joint"] == inf else 2
            for _ in range(parts):
                x, now = self.part(x, now, forced, step_s / parts, marks)
            if not whole and min(marks["rim"], marks["joint"]) < inf and marks["alarm"] < inf:
                break
        return Stopped(
            alarm_s=marks["alarm"], rim_s=marks["rim"], joint_s=marks["joint"],
            inside_m=float(x[1]), outside_m=float(x[0]), stores_m3=tuple(x[2:-2].tolist()),
        )  # fmt: skip

    def advance(self, x: Array, mode: Mode, forced: Array, time_s: float) -> Array:
        """Return the state after a time in one mode, exactly."""
        key = (mode, time_s)
        if key not in self.known:
            self.known[key] = exponential(self.system(mode) * time_s)[: len(x)]
        return self.known[key] @ np.concatenate([x, forced])

    def part(
        self,
        x: Array,
        now: float,
        forced: Array,
        time_s: float,
        marks: dict[str, float],
    ) -> tuple[Array, float]:
        """Follow a part of a step, through all bends that the levels pass."""
        left = time_s
        while left > 0:
            mode = self.mode(x, forced)
            after = self.advance(x, mode, forced, left)
            used = left
            if self.mode(after, forced) != mode:
                low, high = 0.0, left
                while high - low > 1e-4:
                    middle = (low + high) / 2
                    there = self.advance(x, mode, forced, middle)
                    low, high = (
                        (middle, high) if self.mode(there, forced) == mode else (low, middle)
                    )
                    self.known.pop((mode, middle))
                used, after = high, self.advance(x, mode, forced, high)
                if high != left:
                    self.known.pop((mode, high))
            self.note(x, after, now, used, marks)
            x, now, left = after, now + used, left - used
        return x, now

    def note(
        self,
        x: Array,
        after: Array,
        now: float,
        used: float,
        marks: dict[str, float],
    ) -> None:
        """Note when a mark was passed; within a part of a step levels go straight on."""
        for name, index, level in (
            ("alarm", 1, self.pit.alarm_m), ("rim", 1, 0.0), ("joint", -2, JOINT_WET_M3),
        ):  # fmt: skip
            if marks[name] == inf and x[index] < level <= after[index]:
                share = (level - x[index]) / (after[index] - x[index])
                marks[name] = now + used * float(share)
