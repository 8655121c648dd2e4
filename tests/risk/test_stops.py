"""What follows when the pump stops: cases that a person can follow, step by step.

A straight pit of 0.2 m2: a centimetre is 2 L, and at 1 L/s it rises 5 mm/s. The pump starts at
-0.30 m, the alarm sounds at -0.15 m, so 30 s at 1 L/s lie between those two and 30 s between the
alarm and the floor; the basement has 80 m2. The ground beside the footing holds nothing and its
drain is wide open, where it is not said otherwise.
"""

from __future__ import annotations

from dataclasses import replace

import numpy as np
import pytest

from riskkit.inflow.wall import WallWater
from riskkit.pit.balance import run_pit
from riskkit.pit.drainage import free_drainage
from riskkit.pit.vessels import FootingModel, StopRun, follow_stops
from riskkit.pit.works import working
from riskkit.records import IntArray, PitModel
from riskkit.risk.clock import Clock
from riskkit.risk.critical import closer_steps, stop_steps, wet_stops
from riskkit.risk.time_to_flood import (
    HOURS_AFTER,
    Stops,
    StopSummary,
    stops_in_storm,
    summary_of,
    times_by_clock_s,
    worst_of,
)
from riskkit.risk.worst_stop import longer_steps, summarise_stops
from riskkit.simulate import Water
from riskkit.simulate.water import footing_water

AREA_M2, BASEMENT_M2, INVERT_M = 0.2, 80.0, -0.05
LEVELS = [-0.6, -0.5, -0.3, -0.15, INVERT_M, 0.0, 3.0]
OFF_M, ON_M, ALARM_M = -0.5, -0.3, -0.15


def pit(pump: float = 2e-3, has_pump: bool = True) -> PitModel:
    return PitModel(
        level_m=np.array([LEVELS]), area_m2=np.array([[AREA_M2] * 5 + [BASEMENT_M2]]),
        pump_m3_s=np.full((1, 7), pump if has_pump else 0.0), seepage_m3_s=np.zeros((1, 7)),
        off_index=np.array([1]), on_index=np.array([2]), alarm_index=np.array([3]),
        floor_index=np.array([5]), return_share=np.zeros(1), has_pump=has_pump,
    )  # fmt: skip


def footing(
    conductance: float = 100.0, area: float = 1e-6, steady: float = 0.0, invert: float = INVERT_M
) -> FootingModel:
    return FootingModel(
        level_m=np.array([[invert, 0.0, 2.0]]), area_m2=np.full((1, 2), area),
        steady_m3_s=np.full((1, 3), steady), conductance_m2_s=np.array([conductance]),
        joint_m2_s=np.zeros(1), deep_m3_s=np.zeros(1), store_s=np.ones((1, 1)),
        store_area_m2=np.zeros((1, 1)), store_share=np.zeros(1),
    )  # fmt: skip


def water(flow: list[float], step_s: float, ground: FootingModel | None = None) -> Water:
    """Storm water that comes to the footing as it is told."""
    row = np.array([flow])
    wall = WallWater(row, np.zeros_like(row), step_s, np.zeros((1, 4)), np.ones((1, 4)), {})
    ground, steps = ground or footing(), np.arange(len(flow))
    arriving = footing_water(wall)
    free = free_drainage(ground, arriving, ground.level_m[:, 0], np.zeros((1, 1)), steps)
    return Water(wall, arriving, free, np.zeros((1, 1)), steps)


def stopped(
    flow: list[float], step_s: float, *, pump: float = 2e-3, clock: Clock = Clock.ALARM,
    dead_m: float = OFF_M, ground: FootingModel | None = None,
    at: tuple[int, ...] = (), closer: IntArray | None = None,
) -> tuple[Stops, StopSummary]:  # fmt: skip
    """Stop the pump at the start of every step."""
    ground = ground or footing()
    model, came = pit(pump), water(flow, step_s, ground)
    run = run_pit(model, came.to_pit, keep_levels=True)
    steps = np.array(at) if at else np.arange(len(flow))
    dead = (np.array([dead_m]), np.maximum(ground.level_m[:, 0], dead_m), came.start_m3)

    def stops_at(at: IntArray) -> Stops:
        return stops_in_storm(at, model, run, came, dead)

    wet = np.ones((1, steps.size), dtype=bool)
    found = summarise_stops(model, ground, came, stops_at, steps, wet, clock, closer=closer)
    return stops_at(steps), found


def test_by_the_alarm_half_the_way_counts_by_the_stop_all_of_it() -> None:
    _, alarm = stopped([1e-3] * 60, 60.0)
    assert alarm.worst_s[0] == pytest.approx(30.0, abs=0.01)
    assert alarm.to_alarm_s[0] == pytest.approx(30.0, abs=0.01)
    _, stop = stopped([1e-3] * 60, 60.0, clock=Clock.STOP)
    assert stop.worst_s[0] == pytest.approx(60.0, abs=0.01)


def test_a_pump_stops_where_it_should_start_and_lower_before_the_water_has_come() -> None:
    # 40 L lie between the level where it stops and that where it starts: 40 s at 1 L/s
    stops, _ = stopped([1e-3] * 10, 20.0)
    np.testing.assert_allclose(stops.inside_m[0, :3], [OFF_M, -0.4, ON_M], atol=1e-5)
    np.testing.assert_allclose(stops.inside_m[0, 3:], ON_M)


def test_a_pump_that_does_not_keep_up_leaves_the_water_higher() -> None:
    # 1 L/s in and 0.8 L/s out: from the start level, reached after 40 s, it rises 1 mm/s
    stops, found = stopped([1e-3] * 10, 60.0, pump=8e-4, clock=Clock.STOP)
    assert stops.inside_m[0, 2] == pytest.approx(-0.22, abs=1e-5)  # 80 s later
    run = [1e-3] * 10
    at_two = stopped(run, 60.0, pump=8e-4, clock=Clock.STOP)[0]
    assert at_two.inside_m[0, 3] == pytest.approx(-0.16, abs=1e-5)
    # in the last step the floor is wet already: no time is left
    assert found.worst_s[0] == 0.0


def test_a_dead_pump_is_told_from_the_beginning_of_the_storm() -> None:
    # ten dry minutes, then 1 L/s: 70 L from -0.50 m to the alarm, 30 L more to the floor
    _, found = stopped([0.0] * 10 + [1e-3] * 20, 60.0)
    assert found.dead_to_alarm_s[0] == pytest.approx(600.0 + 70.0, abs=0.02)
    assert found.dead_alarm_to_floor_s[0] == pytest.approx(30.0, abs=0.02)


def test_without_a_pump_the_water_is_followed_from_the_beginning_alone() -> None:
    # 0.2 L/s: 70 L from -0.50 m to the alarm in 350 s, and 30 L more to the floor in 150 s
    rain = np.zeros((1, 60))
    rain[0, 30] = 5.0
    steps = stop_steps(rain, 60.0, has_pump=False)
    assert steps.tolist() == [0]
    model, came = pit(has_pump=False), water([2e-4] * 60, 60.0)
    run = run_pit(model, came.to_pit, np.array([OFF_M]), keep_levels=True)
    dead = (np.array([OFF_M]), np.array([INVERT_M]), came.start_m3)
    wet = wet_stops(rain, 60.0, steps)

    def stops_at(at: IntArray) -> Stops:
        return stops_in_storm(at, model, run, came, dead)

    for clock, seconds in ((Clock.ALARM, 150.0), (Clock.RAIN, 500.0)):
        found = summarise_stops(model, footing(), came, stops_at, steps, wet, clock)
        assert found.worst_s[0] == found.typical_s[0] == pytest.approx(seconds, abs=0.01)
        assert found.to_alarm_s[0] == found.dead_to_alarm_s[0] == pytest.approx(350.0, abs=0.01)
        assert found.dead_alarm_to_floor_s[0] == pytest.approx(150.0, abs=0.01)
        assert found.dead_from_rain_s[0] == pytest.approx(500.0, abs=0.01)


def test_moments_that_cannot_lead_to_the_alarm_are_never_the_worst() -> None:
    """A quarter hour of 1 L/s in an otherwise dry hour: later stops see no water."""
    flow = [0.0] * 6 + [1e-3] * 3 + [0.0] * 3
    _, found = stopped(flow, 300.0)
    assert found.worst_s[0] == pytest.approx(30.0, abs=0.01)
    assert found.worst_step[0] <= 8
    # from every stop up to 40 min the alarm sounds and 30 s later the floor is wet; at 45 min and
    # later no water comes: of the eleven stops eight take 30 s, so the middle one does too
    assert found.typical_s[0] == pytest.approx(30.0, abs=0.01)
    # 900 L come; of a pump that stops before, 60 L fill the pit from the start level
    assert found.depth_m[0, 0] == pytest.approx((0.9 - 0.1) / 80.0, rel=0.01)  # dead: from -0.5 m


def test_too_little_water_is_never() -> None:
    _, found = stopped([2e-5] * 4, 300.0)  # 24 L, where 30 L are needed to the alarm alone
    assert np.isinf(found.worst_s[0]) and np.isinf(found.typical_s[0])
    assert np.isinf(found.to_alarm_s[0]) and np.isinf(found.dead_alarm_to_floor_s[0])
    assert np.all(found.depth_m == 0)


def test_the_alarm_alone_is_no_flood() -> None:
    _, found = stopped([1.5e-4] * 1 + [0.0] * 3, 300.0, dead_m=ON_M)  # 45 L: alarm, not floor
    assert found.dead_to_alarm_s[0] == pytest.approx(200.0, abs=0.01)
    assert np.isinf(found.worst_s[0]) and np.isinf(found.dead_alarm_to_floor_s[0])


def test_depths_are_the_greatest_over_the_stops() -> None:
    """A sharp burst of 300 L, and hours later 0.5 L/s for two hours: 3600 L, by hand."""
    flow = [0.0] * 2 + [1e-3] + [0.0] * 57 + [5e-4] * 24 + [0.0] * 160
    _, found = stopped(flow, 300.0, dead_m=ON_M)
    # within an hour after the best alarm 1800 L came, within three and six all 3600 L; within
    # twelve the burst with them; 60 L fill the pit from the start level, 30 L from the alarm
    litres = np.array([1800 - 30, 3600 - 60, 3600 - 60, 3900 - 60])  # [L]
    assert HOURS_AFTER == (1.0, 3.0, 6.0, 12.0)
    np.testing.assert_allclose(found.depth_m[0], litres / 1000 / BASEMENT_M2, rtol=0.01)


SILTED = replace(
    footing(conductance=1e-4, area=1.0, invert=INVERT_M - 0.15), joint_m2_s=np.array([1e-3])
)
"""Outside 1 m2, and 0.2 m below the floor a drain that lets 0.1 L/s through for a metre of head."""
LOW = replace(
    pit(), level_m=np.array([[-0.6, -0.5, -0.3, -0.2, -0.15, 0.0, 3.0]]), alarm_index=np.array([4])
)
"""The pit with a band that ends at that drain; the alarm still at -0.15 m."""
# At 1 L/s (q - C h) dt = A dh from the drain up: t = -(A/C) ln(1 - 0.2 C/q) = -1e4 ln(1 - 0.02) =
# 202 s to the floor. From there it rises 0.98 mm/s, and 1e-3 m2/s lets 4.9e-7 m3/s2 x t2 in at the
# joint: ten litres after 143 s more.
WET_S = 202.0 + 143.0


def test_a_silted_drain_wets_the_joint_first_even_with_the_pump_working() -> None:
    came = water([1e-3] * 100, 10.0, SILTED)
    run = run_pit(LOW, came.to_pit, keep_levels=True)
    works = working(LOW, SILTED, came.arriving, came.free.level_m, came.start_m3, run)
    assert works.joint_s[0] == pytest.approx(WET_S, abs=20.0)  # to the step
    assert np.isinf(works.rim_s[0]) and np.isinf(works.alarm_s[0])
    dead = follow_stops(
        LOW, SILTED, came.arriving, np.zeros((1, 1), np.int64), np.array([[OFF_M]]),
        SILTED.level_m[:, :1], np.zeros((1, 1, 1)),
    )  # fmt: skip
    assert dead.joint_s[0, 0] == pytest.approx(WET_S, abs=10.0)
    assert dead.rim_s[0, 0] > dead.joint_s[0, 0]
    assert dead.floor_s[0, 0] == dead.joint_s[0, 0]


def test_where_the_pump_cannot_keep_up_pit_and_ground_fill_together() -> None:
    """1 L/s, and 1 m2 of pores beside the footing behind a drain that is wide open.

    Lifting 0.8 L/s: 40 s to the level where it starts, then 0.2 L/s: 30 L to the alarm in 150 s,
    20 L to the drain in 100 s, and 60 L over 1.2 m2 to the floor in 300 s. Lifting 2 L/s: nothing.
    """
    beside = footing(area=1.0)
    weak, strong = (pit(flow) for flow in (8e-4, 2e-3))
    came = water([1e-3] * 62, 10.0, beside)
    for model, alarm_s, rim_s in ((weak, 190.0, 590.0), (strong, np.inf, np.inf)):
        run = run_pit(model, came.to_pit)
        works = working(model, beside, came.arriving, came.free.level_m, came.start_m3, run)
        assert works.alarm_s[0] == pytest.approx(alarm_s, abs=0.1)
        assert works.rim_s[0] == pytest.approx(rim_s, abs=0.1)
        assert np.isinf(works.joint_s[0])
    assert works.highest_m[0] == pytest.approx(ON_M, abs=1e-6)
    # the pit alone, as if nothing filled beside it, would be full after 340 s
    alone = run_pit(weak, came.to_pit)
    assert alone.flood_s[0] == pytest.approx(340.0, abs=0.1)
    both = working(weak, beside, came.arriving, came.free.level_m, came.start_m3, alone)
    assert 0.0 < both.highest_m[0] < 0.030 * 0.2 / BASEMENT_M2


def test_water_at_the_joint_before_the_alarm_or_without_it_leaves_no_warning() -> None:
    came = water([1e-3] * 600, 10.0, SILTED)
    run = follow_stops(
        LOW, SILTED, came.arriving, np.zeros((1, 1), np.int64), np.array([[OFF_M]]),
        SILTED.level_m[:, :1], np.zeros((1, 1, 1)),
    )  # fmt: skip
    assert run.joint_s[0, 0] < run.alarm_s[0, 0] < np.inf
    silent = replace(run, alarm_s=np.full((1, 1), np.inf))
    for one in (run, silent):
        assert times_by_clock_s(one, Clock.ALARM)[0, 0] == 0.0
        assert times_by_clock_s(one, Clock.STOP)[0, 0] == run.joint_s[0, 0]
    dry = replace(silent, joint_s=np.full((1, 1), np.inf), rim_s=np.full((1, 1), np.inf))
    assert np.isinf(times_by_clock_s(dry, Clock.ALARM)[0, 0])


def test_a_worse_stop_between_those_that_are_followed_is_found() -> None:
    """0.01 L/s, and 0.2 L/s for the five minutes after 200 min (step 40).

    From the start level 30 L fill the pit to the alarm and 30 L more to the floor. A stop within
    the 50 min before the burst lets the alarm sound in it, and the floor is wet 150 s later. Stops
    at steps 18 and 43, before and after that, see both 30 L come at 0.01 L/s: 3,000 s.
    """
    flow = [1e-5] * 40 + [2e-4] + [1e-5] * 80
    _, apart = stopped(flow, 300.0, at=(0, 18, 43))
    assert apart.worst_s[0] == pytest.approx(3000.0, abs=0.1)
    _, found = stopped(flow, 300.0, at=(0, 18, 43), closer=np.arange(121))
    assert found.worst_s[0] == pytest.approx(150.0, abs=0.1)
    assert 30 <= found.worst_step[0] <= 40
    # what is typical is that of the stops which are evenly apart
    assert apart.typical_s[0] == pytest.approx(3000.0, abs=0.1)
    assert found.typical_s[0] == pytest.approx(3000.0, abs=0.1)


def test_stops_lie_close_round_the_peaks_and_begin_with_the_storm() -> None:
    rain = np.zeros((1, 288))
    rain[0, 144] = 5.0
    steps = stop_steps(rain, 300.0)
    hours = (steps[1:] - 144) / 12
    assert hours.tolist() == [-10, -6, -4, -2, -1, 0, 1, 2, 3]  # the storm begins 12 h before
    few = stop_steps(rain, 300.0, few=True)
    assert ((few[1:] - 144) / 12).tolist() == [-6, -2, 0]
    closer = closer_steps(rain, 300.0)
    assert set(steps) | set(few) <= set(closer)
    assert np.all(np.diff(closer) == 3)  # a quarter of an hour
    assert (closer[0], closer[-1]) == (0, 144 + 36)
    late = np.roll(rain, 140)  # nothing lies behind the end
    assert stop_steps(late, 300.0).max() < 288


def test_the_typical_stop_is_one_of_the_wettest_six_hours() -> None:
    rain = np.zeros((1, 24))
    rain[0, 2:20], rain[0, 10:14], rain[0, 12] = 1.0, 5.0, 6.0
    step = np.arange(24)
    wet = wet_stops(rain, 3600.0, step)[0]
    # by hand: six hours that hold the four of 5 and 6 mm and two of 1 mm; the first such window
    assert np.flatnonzero(wet).tolist() == [8, 9, 10, 11, 12, 13]
    alone = wet_stops(rain, 3600.0, np.array([0, 23]))[0]
    assert alone.tolist() == [False, True]  # none there: the one nearest to the peak


def test_longer_steps_keep_the_stops_and_the_hours_of_the_peak() -> None:
    flow = [1e-5] * 120 + [1e-3] * 6 + [1e-5] * 162
    came = water(flow, 300.0)
    edges = longer_steps(came.to_pit, np.array([0, 7, 119]))
    assert {0, 7, 119, 288} <= set(edges.tolist())
    near = edges[(edges >= 120) & (edges <= 140)]
    assert np.all(np.diff(near) == 1)
    assert np.diff(edges).max() == 6
    joined = came.arriving.merged(edges)
    assert (joined.footing_m3_s * joined.step_s).sum() == pytest.approx(sum(flow) * 300.0)


def test_the_roads_to_the_floor_are_told_apart_stop_by_stop() -> None:
    """Three stops by hand; the first is a pump dead before, which counts for no worst moment."""
    empty = np.zeros((1, 3, 0))
    run = StopRun(
        alarm_s=np.array([[10.0, 100.0, 200.0]]),
        rim_s=np.array([[20.0, 400.0, 260.0]]),
        joint_s=np.array([[5.0, 50.0, np.inf]]),
        highest_m=np.zeros((1, 3)), level_m=empty, footing_m=empty,
    )  # fmt: skip
    wet = np.array([[False, True, True]])
    found = summary_of(run, np.array([[0, 1, 2]]), np.zeros((1, 3)), wet, Clock.ALARM)
    # over the rim 400 - 100 and 260 - 200 s after the alarm; at the joint 50 s before it
    assert (found.rim_worst_s[0], found.joint_worst_s[0], found.worst_s[0]) == (60.0, 0.0, 0.0)
    found = summary_of(run, np.array([[0, 1, 2]]), np.zeros((1, 3)), wet, Clock.STOP)
    assert (found.rim_worst_s[0], found.joint_worst_s[0], found.worst_s[0]) == (260.0, 50.0, 50.0)


def test_of_stops_that_are_equal_but_for_rounding_the_first_is_the_worst() -> None:
    """A thousandth of a second is rounding, a tenth is not; both chosen by hand."""
    times = np.array([
        [np.inf, 3600.0, 3599.9999999, 3600.0], [np.inf, 3600.0, 3599.9, 3600.0], [np.inf] * 4,
    ])  # fmt: skip
    np.testing.assert_array_equal(worst_of(times), [1, 2, 0])
