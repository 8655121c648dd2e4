"""Each stage of the twin beside the trace that riskkit writes of one home in one storm.

What has the same steps agrees to a millionth; the friction of the pipe, which riskkit looks up in a
table and the twin solves, to a few parts in 100,000 of the flow.
"""

from __future__ import annotations

from pathlib import Path
from typing import Any

import numpy as np
import pytest
from scipy.integrate import solve_ivp

import riskkit
from riskkit.ensemble.draws import draw_homes
from riskkit.home.samples import HomeSamples
from riskkit.inflow._kernel import _infiltrate
from riskkit.records import DepthDurationFrequency, FloatArray
from riskkit.risk.critical import storms_to_run
from riskkit.risk.full_trace import storm_columns, storm_model
from riskkit.risk.storm_water import rain_by_draw
from riskkit.risk.trace import traces_of
from riskkit.storm.design import design_storm
from tests.twin.chain import DEMOS, TwinHome
from tests.twin.plain_footing import free_drainage
from tests.twin.plain_pit import run_pit
from tests.twin.plain_water import (
    WALL_COLUMNS,
    alternating_blocks_mm,
    drawn_rain_mm,
    taken_in_m,
    wall_water,
)  # fmt: skip

SAME = 1e-6  # same equations, same steps
FRICTION = 5e-5
PERIODS_YR = (2.0, 100.0)
Z95 = 1.6448536269514722
BLOCKS = riskkit.Pattern.ALTERNATING_BLOCK


def draws_of(demo_sites: Path, demo: str) -> HomeSamples:
    return draw_homes(riskkit.load_home(demo_sites / f"{demo}.toml"), 32, 5)


# ---- rain ----------------------------------------------------------------------------------------


@pytest.mark.parametrize("hours", [2.0, 24.0, 72.0])
@pytest.mark.parametrize("years", [1.0, 10.0, 100.0])
def test_the_blocks_of_a_storm(
    town_rain: DepthDurationFrequency, years: float, hours: float
) -> None:
    step_s = 300.0 if hours <= 24 else 900.0
    column = town_rain.return_period_yr.tolist().index(years)
    mine = alternating_blocks_mm(
        town_rain.duration_h, town_rain.depth_mm[:, column], town_rain.ratio_log_sd > 0, hours,
        step_s,
    )  # fmt: skip
    theirs = design_storm(town_rain, years, hours, BLOCKS, step_s).depth_mm
    np.testing.assert_allclose(mine, theirs, rtol=SAME, atol=1e-9)


def test_the_rain_of_a_draw(demo_sites: Path, town_rain: DepthDurationFrequency) -> None:
    homes = draws_of(demo_sites, "home_just_met")
    storms = storms_to_run(town_rain, (10.0,), BLOCKS, 300.0)
    storm = next(storm for (storm,) in storms if storm.duration_h == 24.0)
    rain, factor = rain_by_draw(homes, [storm])
    column = town_rain.return_period_yr.tolist().index(10.0)
    day = town_rain.duration_h.tolist().index(24.0)
    assert town_rain.lower_mm is not None and town_rain.upper_mm is not None
    spread = np.log(town_rain.upper_mm[day, column] / town_rain.lower_mm[day, column]) / (2 * Z95)
    for draw in range(8):
        mine = drawn_rain_mm(
            town_rain.duration_h, town_rain.depth_mm[:, column], town_rain.ratio_log_sd, 24.0,
            300.0, spread * homes.rain_score[draw], float(homes.burst_score[draw]),
        )  # fmt: skip
        np.testing.assert_allclose(
            mine, rain[draw, : len(mine)] * factor[draw], rtol=SAME, atol=1e-9
        )


# ---- the numbers of a home -----------------------------------------------------------------------


def volume(edges: Any, areas: Any, levels: FloatArray) -> FloatArray:
    """Water up to some levels [m3]."""
    below = np.concatenate([[0.0], np.cumsum(np.array(areas) * np.diff(edges))])
    return np.interp(levels, edges, below)


@pytest.mark.parametrize("demo", DEMOS)
@pytest.mark.parametrize("draw", range(8))
def test_the_numbers_that_follow_from_a_home(demo_sites: Path, demo: str, draw: int) -> None:
    homes = draws_of(demo_sites, demo)
    twin, model = TwinHome(homes, draw), storm_model(homes.picked([draw]))
    for name, surface in (("fill", twin.fill), ("lot", twin.lot)):
        mine = (
            surface.k_m_s, surface.sorption_m, surface.deficit_m, surface.room_m, surface.time_s,
            surface.water_m,
        )  # fmt: skip
        keys = ("k_m_s", "sorption_m", "deficit_m", "storage_m", "time_s", "water_m")
        theirs = [model[f"{name}_{key}"] for key in keys]
        np.testing.assert_allclose(mine, theirs, rtol=SAME, atol=1e-12)
    f, p = twin.footing, twin.pit
    for key in ("invert_m", "conductance_m2_s", "joint_m2_s", "deep_m3_s"):
        assert getattr(f, key) == pytest.approx(model[key], rel=SAME, abs=1e-15)
    for key in ("store_s", "store_area_m2", "store_share"):
        np.testing.assert_allclose(getattr(f, key), model[key], rtol=SAME)
    for key in ("on_m", "off_m", "alarm_m", "drainback_m3", "return_share"):
        assert getattr(p, key) == pytest.approx(model[key], rel=SAME)

    levels = np.linspace(f.invert_m + 0.01, f.level_m[-1], 50)
    edges: Any = model["footing_level_m"]
    # riskkit keeps its levels 0.1 µm apart where they coincide
    np.testing.assert_allclose(
        volume(f.level_m, f.area_m2, levels), volume(edges, model["footing_area_m2"], levels),
        rtol=2e-5,
    )  # fmt: skip
    far: Any = model["footing_ground_water_m3_s"]
    np.testing.assert_allclose(
        np.interp(levels, f.level_m, f.ground_water_m3_s), np.interp(levels, edges, far),
        rtol=SAME, atol=2e-5 * max(far) + 1e-15,
    )  # fmt: skip
    levels = np.linspace(p.level_m[0], p.level_m[-1], 200)
    edges, pump = model["pit_level_m"], model["pit_pump_m3_s"]
    np.testing.assert_allclose(
        volume(p.level_m, p.area_m2, levels), volume(edges, model["pit_area_m2"], levels),
        rtol=SAME, atol=1e-12,
    )  # fmt: skip
    np.testing.assert_allclose(
        np.interp(levels, p.level_m, p.pump_m3_s), np.interp(levels, edges, pump), rtol=FRICTION
    )


# ---- water through a storm -----------------------------------------------------------------------


@pytest.mark.parametrize(
    ("stands_m", "comes_m_s"),
    [
        (1.6e-5, 4.56e-6),  # gone at once: the ground, slowed down little, takes more than comes
        (7.9e-4, 9.7e-7),  # gone within the step
        (4.0e-4, 4.4e-6),  # less and less, then more, for the ground takes less than comes
        (9.9e-3, 2.0e-6),  # stands for all of the step
        (0.0, 4.4e-6),  # ponds within the step
    ],
)
def test_water_that_stands_goes_in_as_fast_as_the_front_lets_it(
    stands_m: float, comes_m_s: float
) -> None:
    """Beside the equation of Green and Ampt, integrated by scipy with both in one system."""
    k, sorption, start_m, step_s = 1.2e-6, 0.022, 0.0076, 300.0

    def rates(_time: float, state: FloatArray) -> tuple[float, float]:
        front = k * (1 + sorption / state[0])
        return front, comes_m_s - front

    def gone(_time: float, state: FloatArray) -> float:
        return float(state[1])

    def ponds(_time: float, state: FloatArray) -> float:
        return k * (1 + sorption / state[0]) - comes_m_s

    gone.terminal = ponds.terminal = True  # type: ignore[attr-defined]  # scipy's way to ask
    exact = {"rtol": 1e-12, "atol": 1e-15, "max_step": 10.0}
    at, state = 0.0, [start_m, stands_m]
    if stands_m > 0:
        run = solve_ivp(rates, (at, step_s), state, events=gone, **exact)
        at, state = run.t[-1], run.y[:, -1].tolist()
    if at < step_s:  # no water stands: all goes in until the ground takes less than comes
        run = solve_ivp(
            lambda _time, _state: (comes_m_s, 0.0), (at, step_s), [state[0], 0.0], events=ponds,
            **exact,
        )  # fmt: skip
        at, state = run.t[-1], run.y[:, -1].tolist()
    if at < step_s:
        state = solve_ivp(rates, (at, step_s), state, **exact).y[:, -1].tolist()
    into_m = state[0] - start_m
    mine = taken_in_m(k, sorption, start_m, stands_m, comes_m_s, step_s)
    theirs, _, _ = _infiltrate(start_m, stands_m, comes_m_s, step_s, k, sorption, np.inf)
    assert mine == pytest.approx(into_m, rel=1e-9)
    assert theirs == pytest.approx(into_m, rel=1e-9)


@pytest.mark.parametrize("demo", DEMOS)
@pytest.mark.parametrize("draw", [0, 3, 4])
@pytest.mark.parametrize("years", PERIODS_YR)
def test_the_water_of_a_storm_step_by_step(
    demo_sites: Path, town_rain: DepthDurationFrequency, demo: str, draw: int, years: float
) -> None:
    homes, step_s = draws_of(demo_sites, demo), 300.0
    rain_mm = np.append(design_storm(town_rain, years, 24.0, BLOCKS, step_s).depth_mm, [0.0] * 72)
    home, twin = homes.picked([draw]), TwinHome(homes, draw)
    (trace,) = traces_of(home, rain_mm[None], step_s)
    theirs = storm_columns(home, trace)
    wall = wall_water(rain_mm.tolist(), step_s, twin.draw, twin.fill, twin.lot)
    came = max(theirs["at_wall_m3_s"][:-1])
    for name in WALL_COLUMNS:
        np.testing.assert_allclose(
            wall[name], theirs[f"{name}_m3_s"][:-1], rtol=SAME, atol=1e-9 * came, err_msg=name
        )
    np.testing.assert_allclose(wall["ponded_m"], theirs["ponded_m"][:-1], rtol=SAME, atol=1e-12)

    direct = np.add(wall["gap_flow"], wall["fill_drainage"])
    free = free_drainage(twin.footing, direct, wall["recharge"], step_s)
    # a step in which the level passes a bend is solved in another way: 10 µm at most
    np.testing.assert_allclose(free["level_m"], theirs["footing_level_m"][:-1], rtol=0, atol=1e-5)
    arrived = direct.sum() + sum(free["ground_water"])
    for name in ("lot_drain", "ground_water", "deep", "to_pit"):
        apart = abs(sum(free[name]) - np.nansum(theirs[f"{name}_m3_s"]))
        assert apart <= SAME * arrived, name

    run = run_pit(twin.pit, np.nan_to_num(theirs["to_pit_m3_s"][:-1]).tolist(), step_s)
    lifted = np.nansum(theirs["pump_m3_s"]) * step_s
    cycle = 0.1  # m3 that stand in the pit at most where a cycle is not over
    assert run.pumped_m3 == pytest.approx(lifted, rel=FRICTION, abs=FRICTION * cycle)
