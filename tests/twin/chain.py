"""The whole chain of one storm for one draw of a home: by the twin, and by riskkit.

The twin gets the quantities of the draw and the depths of rain; nothing that riskkit worked out.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, replace
from pathlib import Path

import numpy as np

import riskkit
from riskkit.ensemble.draws import draw_homes
from riskkit.home.samples import HomeSamples
from riskkit.inflow.wall import FLOWS
from riskkit.pit.balance import run_pit as riskkit_run
from riskkit.pit.vessels import follow_stops
from riskkit.records import DepthDurationFrequency
from riskkit.risk.critical import padded_rain_mm, storms_to_run
from riskkit.risk.time_to_flood import dead_before, stops_in_storm
from riskkit.simulate import ground_of, water_of
from riskkit.simulate import pit_of as riskkit_pit
from tests.twin.plain_footing import free_drainage
from tests.twin.plain_footing import held_m3 as beside_m3
from tests.twin.plain_home import Footing, Pit, fill_of, footing_of, lot_of, pit_of
from tests.twin.plain_pit import Vessels, held_m3, run_pit
from tests.twin.plain_water import wall_water

DAY_S = 86400.0
NEVER_S = 7 * DAY_S  # so long a storm and what is on its way is followed


@dataclass(frozen=True)
class Course:
    """What a storm comes to: volumes [m3], and times from each stop [s]."""

    volumes_m3: dict[str, float]
    starts: int
    alarm_s: tuple[float, ...]
    floor_s: tuple[float, ...]


class TwinHome:
    """The twin of one draw."""

    def __init__(self, homes: HomeSamples, draw: int) -> None:
        self.draw = {key: float(values[draw]) for key, values in homes.values.items()}
        backfill, soil = homes.backfill[draw], homes.soil[draw]
        self.fill, self.lot = fill_of(self.draw, backfill), lot_of(self.draw, soil)
        self.footing: Footing = footing_of(self.draw, backfill, soil)
        self.pit: Pit = pit_of(self.draw, homes.pump_curve, check_valve=homes.has_check_valve)
        self.vessels = Vessels(self.pit, self.footing)

    def dead_before(self) -> tuple[float, float, tuple[float, ...]]:
        """Return the levels and the lot after a day without pump, rain of earlier days coming."""
        f, step = self.footing, 300.0
        middle = (np.arange(round(DAY_S / step)) + 0.5) * step
        came, wet = (
            s.area_m2 * s.water_m / s.time_s * np.exp(-middle / s.time_s)
            for s in (self.fill, self.lot)
        )
        begin = max(self.pit.on_m, f.invert_m)
        rise = begin - f.invert_m
        stores = [n + a * rise for n, a in zip(f.store_m3, f.store_area_m2, strict=True)]
        end = self.vessels.follow(self.pit.on_m, begin, stores, came, wet, step, whole=True)
        return end.inside_m, end.outside_m, end.stores_m3

    def course(self, rain_mm: Sequence[float], step_s: float, stops: Sequence[int]) -> Course:
        """Follow a storm with its dry steps, the pump stopping before some of them, 0 for dead."""
        n = len(rain_mm)
        wall = wall_water(rain_mm, step_s, self.draw, self.fill, self.lot)
        # what is on its way when the steps end arrives by the time of its store: ponds by the gap
        end = np.arange(round(NEVER_S / step_s) + 1) * step_s
        *late, wet = (
            -np.diff(volume * np.exp(-end / time)) / step_s
            for volume, time in zip(wall["on its way"], wall["in"], strict=True)
        )
        direct = np.append(np.add(wall["gap_flow"], wall["fill_drainage"]), np.sum(late, axis=0))
        recharge = np.append(wall["recharge"], wet)
        free = free_drainage(self.footing, direct[:n], recharge[:n], step_s)
        run = run_pit(self.pit, free["to_pit"], step_s)
        first_m3 = held_m3(self.pit, self.pit.on_m) - held_m3(self.pit, self.pit.off_m)
        alarms, floors = [], []
        for stop in stops:
            inside, outside = run.level_m[stop], free["level_m"][stop]
            stores = free["stores_m3"][stop]
            if sum(free["to_pit"][:stop]) * step_s >= first_m3:
                inside = max(inside, self.pit.on_m)
            if stop == 0:
                inside, outside, stores = self.dead_before()
            end = self.vessels.follow(
                inside, outside, stores, direct[stop:], recharge[stop:], step_s
            )
            alarms.append(end.alarm_s)
            floors.append(end.floor_s)
        volumes = {
            "at the wall": sum(wall["at_wall"][:n]) * step_s,
            "run off": sum(wall["run_off"][:n]) * step_s,
            "to the footing": float(direct[:n].sum()) * step_s,
            "recharge": float(recharge[:n].sum()) * step_s,
            "from the lot": sum(free["lot_drain"]) * step_s,
            "ground water": sum(free["ground_water"]) * step_s,
            "deep": sum(free["deep"]) * step_s,
            "to the pit": sum(free["to_pit"]) * step_s,
            "beside the footing": beside_m3(self.footing, free["level_m"][-1]),
            "pumped": run.pumped_m3,
            "returned": run.returned_m3,
        }
        return Course(volumes, run.starts, tuple(alarms), tuple(floors))


def riskkit_course(
    homes: HomeSamples,
    draw: int,
    rain_mm: Sequence[float],
    step_s: float,
    stops: Sequence[int],
    *,
    split: int = 1,
) -> Course:
    """Follow the same storm with riskkit, a stopped pump in `split` parts of each step."""
    home = homes.picked([draw])
    ground, pit = ground_of(home), riskkit_pit(home)
    steps = np.array(stops)
    water = water_of(ground, np.array(rain_mm), step_s, np.ones(1), steps)
    run = riskkit_run(pit, water.to_pit, keep_levels=True)
    at = stops_in_storm(steps, pit, run, water, dead_before(pit, ground))
    arriving = replace(
        water.arriving,
        footing_m3_s=np.repeat(water.arriving.footing_m3_s, split, axis=1),
        recharge_m3_s=np.repeat(water.arriving.recharge_m3_s, split, axis=1),
        step_s=np.repeat(water.arriving.step_s / split, split),
    )
    after = follow_stops(
        pit, ground.footing, arriving, at.step * split, at.inside_m, at.outside_m, at.lot_m3
    )
    wall, free = water.wall, water.free
    flows = np.empty((1, len(rain_mm), len(FLOWS)))
    water_of(ground, np.array(rain_mm), step_s, np.ones(1), flows_m3=flows)
    flow = dict(zip(FLOWS, flows[0].sum(axis=0).tolist(), strict=True))
    at_wall = ("rain on the strip", "roof let out at the wall", "gutter overflow", "run-on")
    volumes = {
        "at the wall": sum(flow[name] for name in at_wall),
        "run off": flow["run-off of the strip"],
        "to the footing": float(wall.footing_m3_s.sum()) * step_s,
        "recharge": float(wall.recharge_m3_s.sum()) * step_s,
        "from the lot": free.lot_m3.item(),
        "ground water": free.steady_m3.item(),
        "deep": free.deep_m3.item(),
        "to the pit": float(free.to_pit_m3_s.sum()) * step_s,
        "beside the footing": ground.footing.held_m3(free.level_m[:, -1]).item(),
        "pumped": run.pumped_m3.item(),
        "returned": run.returned_m3.item(),
    }
    return Course(
        volumes, int(run.starts.item()), tuple(after.alarm_s[0].tolist()),
        tuple(after.floor_s[0].tolist()),
    )  # fmt: skip


def volumes_apart(twin: Course, riskkit: Course) -> float:
    """Return the largest difference of a volume, of all water that came to wall and footing.

    What the pump lifts is left out: it differs by what a cycle that is not over has lifted.
    """
    came = riskkit.volumes_m3["at the wall"] + riskkit.volumes_m3["ground water"]
    apart = [
        abs(twin.volumes_m3[name] - volume) / came
        for name, volume in riskkit.volumes_m3.items()
        if name not in ("pumped", "returned")
    ]
    assert np.all(np.isfinite(apart)), riskkit.volumes_m3
    return float(np.max(apart))


def times_apart(twin: Course, riskkit: Course, least_s: float, share: float) -> list[float]:
    """Return the differences of the times, as parts of what is allowed: some seconds or a share."""
    times = np.array([twin.alarm_s + twin.floor_s, riskkit.alarm_s + riskkit.floor_s])
    assert not np.any(np.isnan(times)), times
    times[times > NEVER_S] = np.inf  # after more than a week
    return [0.0 if a == b else abs(a - b) / max(least_s, share * b) for a, b in times.T.tolist()]


SOILS = (
    "sand", "loamy sand", "sandy loam", "loam", "silt loam", "sandy clay loam", "clay loam",
    "silty clay loam", "sandy clay", "silty clay", "clay",
)  # fmt: skip
DEMOS = ("row_house_near_creek", "bungalow_on_sand", "home_just_met", "split_level_on_clay")
PERIODS_YR = (1.0, 2.0, 5.0, 10.0, 25.0, 50.0, 100.0)


def random_home(rng: np.random.Generator, folder: Path) -> Path:
    """Write the file of a home of which everything that decides much is picked at random."""

    def one_of(*words: str) -> str:
        return str(rng.choice(words))

    inches = {
        "pit": rng.uniform(14, 30), "deep": rng.uniform(22, 32), "off": rng.uniform(16, 20),
        "on": rng.uniform(8, 15), "alarm": rng.uniform(2, 7), "drain": rng.uniform(5, 14),
    }  # fmt: skip
    path = folder / "random_home.toml"
    path.write_text(
        f"""format = 1
name = "Random home"
[house]
perimeter = "{rng.uniform(80, 240):.1f} ft"
basement_area = "{rng.uniform(500, 2200):.0f} ft2"
depth_below_ground = "{rng.uniform(3, 7.5):.2f} ft"
[roof]
area = "{rng.uniform(600, 3500):.0f} ft2"
at_wall = "{rng.integers(0, 4)} of 6"
to_drain = "{rng.integers(0, 3)} of 6"
gutters = "{one_of("clean", "leaves", "clogged", "none")}"
[ground]
soil = "{one_of(*SOILS)}"
backfill = "{one_of(*SOILS)}"
slope = "{one_of("away", "flat", "towards")}"
gap = "{one_of("none", "some", "open")}"
wetness = "{one_of("dry", "usual", "wet")}"
water_table_depth = "{rng.uniform(-2.5, 8):.2f} ft"
drain_depth = "{inches["drain"]:.1f} in"
[pit]
diameter = "{inches["pit"]:.1f} in"
depth = "{inches["deep"]:.1f} in"
[gravel]
thickness = "{rng.uniform(2, 6):.1f} in"
[switch]
on = "{inches["on"]:.1f} in"
off = "{inches["off"]:.1f} in"
alarm = "{inches["alarm"]:.1f} in"
[pump]
rated_flow = "{rng.uniform(20, 70):.0f} gpm"
rated_head = "10 ft"
shutoff_head = "{rng.uniform(16, 32):.0f} ft"
[pipe]
bore = "{rng.choice([1.38, 1.61, 2.067])} in"
outlet_height = "{rng.uniform(6, 11):.1f} ft"
check_valve = "{one_of("works", "worn", "none")}"
outlet = "{one_of("far", "near", "piped away")}"
""",
        encoding="utf-8",
    )
    return path


@dataclass(frozen=True)
class Case:
    """One draw of a home and one storm, with the steps before which the pump stops."""

    name: str
    homes: HomeSamples
    draw: int
    rain_mm: tuple[float, ...]
    step_s: float
    stops: tuple[int, ...]


def random_case(seed: int, demo_sites: Path, folder: Path, rain: DepthDurationFrequency) -> Case:
    """Pick a draw of an invented home or of a random one, a storm, and three stops: dead first."""
    rng = np.random.default_rng([38, seed])
    demo = DEMOS[seed // 2 % len(DEMOS)]
    path = demo_sites / f"{demo}.toml" if seed % 2 else random_home(rng, folder)
    homes = draw_homes(riskkit.load_home(path), 64, int(rng.integers(1, 1000)))
    storms = [
        storm
        for of_duration in storms_to_run(rain, PERIODS_YR, riskkit.Pattern.ALTERNATING_BLOCK, 300.0)
        for storm in of_duration
    ]
    storm = storms[int(rng.integers(len(storms)))]
    step_s = storm.rain.step_s
    padded = padded_rain_mm([storm.rain], step_s)[0]
    peak = int(np.argmax(padded))
    stops = (0, int(rng.integers(1, peak)), int(rng.integers(peak, padded.size - 1)))
    name = f"{path.stem} {storm.return_period_yr:g} yr {storm.duration_h:g} h"
    return Case(name, homes, int(rng.integers(64)), tuple(padded.tolist()), step_s, stops)
