"""The course of one storm for pictures, and the state before it, worked by hand.

The pit is that of `test_stops`: 0.2 m2, so that a litre is 5 mm; 40 L from the level where the pump
stops to that where it starts, 30 L from there to the alarm, 30 L from the alarm to the floor; 80 m2
above it. The ground beside it holds next to nothing; its drain lies 5 cm below the floor.
"""

from __future__ import annotations

from dataclasses import replace
from types import SimpleNamespace
from typing import Any

import numpy as np
import pytest

from riskkit.errors import RangeError
from riskkit.inflow.wall import WallModel, WallWater
from riskkit.pit.drainage import free_drainage
from riskkit.pit.vessels import FootingModel
from riskkit.records import FloatArray, IntArray
from riskkit.risk import trace
from riskkit.risk.clock import Clock
from riskkit.risk.time_to_flood import dead_before, dry_times_s
from riskkit.risk.trace import Trace, fine_trace, traces_of
from riskkit.simulate import Ground, Water
from riskkit.simulate.water import footing_water
from tests.inflow.test_wall import HOUSE
from tests.risk.test_stops import ALARM_M, BASEMENT_M2, INVERT_M, OFF_M, ON_M, footing, pit

DAY_S = 86400.0


def ground(beside: FootingModel | None = None, lot_m3: float = 0.0, **wall: float) -> Ground:
    """Nothing on its way to the footing, where it is not said otherwise."""
    still = {"fill_water_m": 0.0, "lot_water_m": 0.0} | wall
    model = WallModel(**{k: np.atleast_1d(v) for k, v in (HOUSE | still).items()})
    return Ground(model, beside or footing(), np.full((1, 1), lot_m3))


# ---- the storm in the picture --------------------------------------------------------------------

RAIN_MM = np.zeros((2, 60))
RAIN_MM[:, 6] = 3.0  # the peak of both: the pump may stop at every quarter of an hour round it
FLOW = np.zeros((2, 60))
FLOW[0, 6:9], FLOW[0, 9:12] = 5e-4, 1.5e-3
FLOW[1, 9:11] = 3e-5  # 18 L in all, where 100 L are missing


@pytest.fixture
def told(monkeypatch: pytest.MonkeyPatch) -> Any:
    """Traces of the two storms, the flow to the footing given by hand."""

    def given(
        of: Ground, rain: FloatArray, step_s: float, factor: FloatArray, marked: IntArray
    ) -> Water:
        assert step_s == 300.0 and factor.tolist() == [1.0, 1.0]
        assert np.array_equal(rain, RAIN_MM)
        none = np.zeros((2, 4))
        arriving = WallWater(FLOW, np.zeros_like(FLOW), step_s, none, none + 1.0, {})
        water = footing_water(arriving)
        free = free_drainage(of.footing, water, of.footing.level_m[:, 0], of.lot_m3, marked)
        return Water(arriving, water, free, of.lot_m3, marked)

    def run(clock: Clock, has_pump: bool = True) -> tuple[Trace, ...]:
        monkeypatch.setattr(trace, "pit_of", lambda _: pit(has_pump=has_pump))
        monkeypatch.setattr(trace, "ground_of", lambda _: ground())
        monkeypatch.setattr(trace, "water_of", given)
        home: Any = SimpleNamespace(n_draws=1, has_pump=has_pump)
        return traces_of(home, RAIN_MM, 300.0, clock)

    return run


def test_the_pump_stops_at_the_worst_of_its_moments(told: Any) -> None:
    found, _ = told(Clock.ALARM)
    # stopped at 30 min it takes 70 L at 0.5 L/s to the alarm and 60 s from there; at 45 min it has
    # come up to where it starts, and at 1.5 L/s it takes 20 s to the alarm and 20 s more
    assert found.stop_s == 9 * 300.0
    assert found.to_alarm_s == pytest.approx(20.0, abs=0.01)
    assert found.to_floor_s == pytest.approx(20.0, abs=0.01)
    by_stop, _ = told(Clock.STOP)
    assert by_stop.stop_s == 9 * 300.0
    assert by_stop.to_floor_s == pytest.approx(40.0, abs=0.01)
    assert (found.clock, by_stop.clock) == (Clock.ALARM, Clock.STOP)
    assert (found.on_m, found.off_m, found.alarm_m) == (ON_M, OFF_M, ALARM_M)


def test_levels_of_the_picture_by_hand(told: Any) -> None:
    found, _ = told(Clock.ALARM)
    np.testing.assert_array_equal(found.time_s, np.arange(60) * 300.0)
    assert found.rain_mm_h[6] == 36.0 and found.rain_mm_h.sum() == 36.0
    np.testing.assert_allclose(found.inflow_m3_s, FLOW[0], atol=1e-7)
    # the pump works: 80 s up at 0.5 L/s, 26.7 s down at 1.5 L/s; after two such cycles and 80 s up
    # it has run for 6.7 s and stands 10 L below the level where it starts
    np.testing.assert_allclose(found.working_m[:7], OFF_M, atol=1e-5)
    assert found.working_m[7] == pytest.approx(ON_M - 0.05, abs=1e-4)
    # the pump stopped: 450 L in a step, of which 60 L fill the pit; 1350 L in all
    assert np.all(np.isnan(found.stopped_m[:9]))
    expected = [ON_M, 0.390 / BASEMENT_M2, 0.840 / BASEMENT_M2, 1.290 / BASEMENT_M2]
    np.testing.assert_allclose(found.stopped_m[9:13], expected, atol=1e-5)
    np.testing.assert_allclose(found.stopped_m[13:], expected[-1], atol=1e-5)
    # beside the footing the water stands in the drain until the pit has risen that high
    np.testing.assert_allclose(found.footing_m[:10], INVERT_M, atol=1e-4)
    np.testing.assert_allclose(found.footing_m[10:13], expected[1:], atol=1e-4)


def test_a_storm_that_cannot_flood_is_drawn_with_a_stop_in_its_greatest_inflow(told: Any) -> None:
    _, found = told(Clock.ALARM)
    assert found.stop_s == 9 * 300.0
    assert np.isinf(found.to_alarm_s) and np.isinf(found.to_floor_s)
    # 9 L a step on top of the level where the pump stops: it has not come up to start yet
    np.testing.assert_allclose(found.stopped_m[9:12], [-0.5, -0.455, -0.41], atol=1e-4)
    np.testing.assert_allclose(found.stopped_m[12:], found.stopped_m[11], atol=1e-6)
    assert np.isnan(found.stopped_m[:9]).all()


def test_without_a_pump_the_picture_begins_with_the_storm(told: Any) -> None:
    found, _ = told(Clock.RAIN, has_pump=False)
    assert found.stop_s == 0.0 and not found.has_pump
    # dry for 30 min, then 70 L and 30 L more at 0.5 L/s
    assert found.to_alarm_s == pytest.approx(1800.0 + 140.0, abs=0.05)
    assert found.to_floor_s == pytest.approx(1800.0 + 200.0, abs=0.05)
    np.testing.assert_allclose(found.working_m, found.stopped_m, atol=1e-4)
    assert found.stopped_m[0] == pytest.approx(OFF_M, abs=1e-6)


def test_shorter_steps_show_more_of_the_same_storm(told: Any) -> None:
    coarse, _ = told(Clock.ALARM)
    fine = fine_trace(coarse, pit(), 50.0)
    assert fine.time_s.size == 360 and fine.time_s[1] == 50.0
    np.testing.assert_allclose(fine.working_m[::6], coarse.working_m, atol=1e-9)
    # 50 s after the first water 25 L have come, 12.5 cm; the pump starts 30 s later
    assert fine.working_m[37] == pytest.approx(OFF_M + 0.125, abs=1e-4)
    assert fine.working_m[38] == pytest.approx(ON_M - 20 * 1.5e-3 / 0.2, abs=1e-4)
    assert np.isnan(fine.stopped_m[:54]).all()
    half = (coarse.stopped_m[10] + coarse.stopped_m[11]) / 2
    assert fine.stopped_m[63] == pytest.approx(half)
    assert fine.footing_m[63] == pytest.approx((coarse.footing_m[10] + coarse.footing_m[11]) / 2)
    with pytest.raises(RangeError, match="one pit"):
        fine_trace(coarse, pit().repeated(2), 50.0)


# ---- before the storm, and in dry weather --------------------------------------------------------


def test_a_pump_dead_for_a_day_leaves_what_the_ground_brought_by_hand() -> None:
    """In a day ground water brings 8.64 L, the fill 10 L, the lot 20 L and what seeps to it 4 L."""
    beside = replace(footing(steady=1e-7), store_s=np.array([[1e4]]))
    before = ground(
        beside, lot_m3=0.020, perimeter_m=10.0, fill_width_m=1.0, fill_water_m=0.001,
        fill_time_s=1e4, lot_area_m2=100.0, lot_water_m=4e-5, lot_time_s=1e4,
    )  # fmt: skip
    inside, outside, lot = dead_before(pit(), before)
    litres = 8.64 + 10 + 20 + 4  # all but e^-8.6 of it has come
    begin = ON_M  # it should have started there
    assert inside[0] == pytest.approx(begin + litres / 1000 / 0.2, abs=1e-4)
    assert outside[0] == pytest.approx(INVERT_M, abs=1e-4)
    assert lot[0, 0] == pytest.approx(0.0, abs=1e-5)
    # without a pump it has come for six days: ground water brings 51.84 L
    inside, _, _ = dead_before(pit(has_pump=False), before)
    assert inside[0] == pytest.approx(OFF_M + (51.84 + 34) / 1000 / 0.2, abs=1e-4)


def test_a_pit_above_its_drain_stands_as_high_as_the_water_beside_it() -> None:
    # 50 L fill the pit from the start level up to its drain; 0.64 mL/s bring 55.3 L in a day
    inside, outside, _ = dead_before(pit(), ground(footing(steady=6.4e-7)))
    assert inside[0] == pytest.approx(ON_M + 0.055296 / 0.2, abs=1e-4)
    assert outside[0] == pytest.approx(inside[0], abs=1e-4)


def test_dry_weather_is_volume_over_ground_water_by_hand() -> None:
    steady = ground(footing(steady=1e-4))
    for has_pump, clock, seconds in (
        (True, Clock.ALARM, 300.0), (True, Clock.STOP, 600.0),  # from where the pump should start
        (False, Clock.ALARM, 300.0), (False, Clock.RAIN, 1000.0),  # from where the drain is dry
    ):  # fmt: skip
        found = dry_times_s(pit(has_pump=has_pump), steady, clock)
        assert found[0] == pytest.approx(seconds, abs=0.01)
    assert np.isinf(dry_times_s(pit(), ground(), Clock.ALARM)[0])


def test_dry_weather_counts_neither_the_storm_nor_what_the_days_before_left() -> None:
    wet = ground(lot_m3=5.0, fill_water_m=0.1, lot_water_m=0.1)
    assert np.isinf(dry_times_s(pit(), wet, Clock.ALARM)[0])


def test_more_than_a_week_is_never_in_dry_weather() -> None:
    # 60 L from where the pump should start to the floor
    for seconds, never in ((6.9 * DAY_S, False), (7.1 * DAY_S, True)):
        slow = ground(footing(steady=0.060 / seconds))
        assert np.isinf(dry_times_s(pit(), slow, Clock.STOP)[0]) == never


def test_ground_water_that_falls_with_the_level_settles_or_gets_there_late() -> None:
    """dh/dt = q (top - h) / ((top - invert) A) above the drain, by the closed form."""
    slow = 1e-6
    for top, seconds in (
        (-0.02, np.inf),  # it stands below the floor
        # from the alarm 20 L to the drain, then A (top - invert) / q ln(0.15 / 0.10)
        (0.10, 0.020 / slow + 0.2 * 0.15 / slow * np.log(1.5)),
    ):  # fmt: skip
        beside = footing()
        level = np.array([[INVERT_M, top, 2.0]])
        ending = replace(beside, level_m=level, steady_m3_s=np.array([[slow, 0.0, 0.0]]))
        found = dry_times_s(pit(), ground(ending), Clock.ALARM)[0]
        assert found == pytest.approx(seconds, rel=0.02)
