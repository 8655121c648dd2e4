"""From when the time to the floor is counted: cases worked by hand, and whole homes."""

from __future__ import annotations

from dataclasses import replace
from pathlib import Path

import numpy as np
import pytest

from riskkit.assessment import Settings, assess, design_rain
from riskkit.home.home import load_home
from riskkit.records import PitInflow, PitModel
from riskkit.risk.clock import Clock, dry_start_m, storm_start_m, times_to_floor
from riskkit.risk.time_to_flood import summarise_failure

# A pit of 0.2 m2: a centimetre is 2 L. At 1 L/s it rises 5 mm/s.
LEVELS = [-0.6, -0.5, -0.3, -0.15, 0.0, 3.0]
ON_S, ALARM_S = 60.0, 30.0  # from the start level (-0.30 m) and the alarm (-0.15 m) at 1 L/s


def pit(pump: float = 2e-3, seepage: list[float] | None = None, has_pump: bool = True) -> PitModel:
    values = {
        "level_m": [LEVELS],
        "area_m2": [[0.2, 0.2, 0.2, 0.2, 100.0]],
        "pump_m3_s": [[pump if has_pump else 0.0] * 6],
        "seepage_m3_s": [seepage or [0.0] * 6],
        "off_index": [1], "on_index": [2], "alarm_index": [3], "floor_index": [4],
        "return_share": [0.0],
    }  # fmt: skip
    model = PitModel(**{key: np.array(value) for key, value in values.items()})
    return replace(model, has_pump=has_pump)


def flow(*steps: float) -> PitInflow:
    return PitInflow(np.array([steps]), 60.0)


MOMENTS = np.arange(0.0, 600.0, 60.0)


def test_by_the_alarm_the_water_starts_at_the_alarm() -> None:
    starts = times_to_floor(pit(), flow(*[1e-3] * 60), MOMENTS, Clock.ALARM)
    np.testing.assert_allclose(starts.to_floor_s, ALARM_S)
    np.testing.assert_allclose(starts.level_m, -0.15)


def test_by_the_stop_the_water_starts_where_the_pump_should_start() -> None:
    # from -0.50 m it takes 40 s to the start level; from then on the pump may fail
    starts = times_to_floor(pit(), flow(*[1e-3] * 60), MOMENTS, Clock.STOP)
    np.testing.assert_allclose(starts.level_m[0, 0], -0.5)
    np.testing.assert_allclose(starts.to_floor_s[0, 0], 100.0)
    np.testing.assert_allclose(starts.level_m[0, 1:], -0.3)
    np.testing.assert_allclose(starts.to_floor_s[0, 1:], ON_S)
    found = summarise_failure(pit(), flow(*[1e-3] * 60), MOMENTS, np.ones((1, 10)), Clock.STOP)
    assert found.worst_s[0] == pytest.approx(ON_S)
    assert found.worst_level_m[0] == pytest.approx(-0.3)


def test_a_pump_that_does_not_keep_up_leaves_the_water_higher() -> None:
    # 1 L/s in and 0.8 L/s out: from the start level it rises 1 mm/s
    starts = times_to_floor(pit(8e-4), flow(*[1e-3] * 60), MOMENTS, Clock.STOP)
    # at 120 s it has stood above the start level for 80 s: at -0.22 m, 44 s from the floor
    np.testing.assert_allclose(starts.level_m[0, 2], -0.22, atol=1e-9)
    np.testing.assert_allclose(starts.to_floor_s[0, 2], 44.0, atol=1e-6)
    # and once it stands on the floor no time is left
    assert starts.to_floor_s[0, -1] == 0.0


def test_a_moment_before_the_water_first_comes_up_is_not_taken_for_a_later_one() -> None:
    # little water: the level never comes up to the start level
    starts = times_to_floor(pit(), flow(*[1e-5] * 10), MOMENTS, Clock.STOP)
    assert np.all(starts.level_m < -0.3) and np.all(np.isinf(starts.to_floor_s))


def test_in_dry_weather_the_clock_starts_where_the_pump_should_start() -> None:
    assert dry_start_m(pit(), Clock.ALARM) is None
    level = dry_start_m(pit(), Clock.STOP)
    assert level is not None and level[0] == -0.3
    assert storm_start_m(pit()) is None


def test_without_a_pump_the_water_rises_from_where_ground_water_holds_it() -> None:
    seep = [2e-4, 1.5e-4, 5e-5, 0.0, 0.0, 0.0]  # it comes in below -0.15 m
    none = pit(seepage=seep, has_pump=False)
    level = storm_start_m(none)
    assert level is not None and level[0] == -0.15
    starts = times_to_floor(none, flow(*[1e-3] * 60), MOMENTS, Clock.RAIN)
    assert starts.moment_s.shape == (1, 1) and starts.moment_s[0, 0] == 0.0
    assert starts.to_floor_s[0, 0] == pytest.approx(ALARM_S)  # 15 cm at 5 mm/s
    dry = pit(has_pump=False)
    assert times_to_floor(dry, flow(*[1e-3] * 60), MOMENTS, Clock.RAIN).to_floor_s[
        0, 0
    ] == pytest.approx(100.0)


def test_without_a_pump_an_alarm_sounds_once() -> None:
    dry = pit(has_pump=False)
    starts = times_to_floor(dry, flow(*[1e-3] * 60), MOMENTS, Clock.ALARM)
    assert starts.moment_s[0, 0] == pytest.approx(70.0)  # 35 cm at 5 mm/s
    assert starts.to_floor_s[0, 0] == pytest.approx(ALARM_S)
    # two minutes of water: 60 cm at 5 mm/s are 120 s, 50 cm from -0.5 m are 100 s
    late = times_to_floor(dry, flow(1e-3, 0.0, 0.0), MOMENTS, Clock.ALARM)
    assert np.isinf(late.to_floor_s[0, 0])
    silent = times_to_floor(dry, flow(1e-4, 0.0, 0.0), MOMENTS, Clock.ALARM)  # 3 cm of 35
    assert np.isinf(silent.to_floor_s[0, 0]) and silent.moment_s[0, 0] == 3 * 60.0


def test_ground_water_above_the_floor_leaves_no_time_without_a_pump() -> None:
    wet = pit(seepage=[3e-4, 2e-4, 2e-4, 1e-4, 5e-5, 0.0], has_pump=False)
    level = storm_start_m(wet)
    assert level is not None and level[0] == 0.0
    assert times_to_floor(wet, flow(0.0), MOMENTS, Clock.RAIN).to_floor_s[0, 0] == 0.0


@pytest.fixture(scope="module")
def rain(demo_sites: Path):  # type: ignore[no-untyped-def]
    home = load_home(demo_sites / "split_level_on_clay.toml")
    return home, design_rain(home, demo_sites)


SETTINGS = Settings(n_draws=64, return_periods_yr=(10.0, 100.0))


def test_a_home_without_warning_is_timed_from_the_stop_of_the_pump(rain) -> None:  # type: ignore[no-untyped-def]
    home, depths = rain
    warned = assess(home, depths, SETTINGS)
    silent = assess(
        home.changed(visit=[{"date": "2026-04-14", "checks": {"alarm_sounded": "no"}}]),
        depths,
        SETTINGS,
    )
    assert warned.state.clock is Clock.ALARM and silent.state.clock is Clock.STOP
    for alarm, stop in zip(warned.storms, silent.storms, strict=True):
        # the alarm hangs above the start level, so the stop comes first and the time is longer
        assert stop.worst_s.middle > alarm.worst_s.middle
        assert stop.floor_dry_share == alarm.floor_dry_share
        trace = stop.trace
        first = int(np.isfinite(trace.stopped_m).argmax())
        assert trace.clock is Clock.STOP
        assert trace.stopped_m[first] == pytest.approx(trace.on_m, abs=1e-6)
    # ground water that comes up to the floor from the alarm comes up from the start level too
    assert silent.dry_s.never_share == warned.dry_s.never_share


def test_a_home_without_a_pump_floods_sooner_and_more_often(rain) -> None:  # type: ignore[no-untyped-def]
    home, depths = rain
    with_pump = assess(home, depths, SETTINGS)
    without = assess(home.changed(pump__rated_flow="none"), depths, SETTINGS)
    assert without.state.clock is Clock.ALARM
    for one, other in zip(with_pump.storms, without.storms, strict=True):
        assert other.floor_dry_share < one.floor_dry_share
        assert other.worst_s.middle >= one.worst_s.middle  # not at the worst moment, but as it is
        assert other.worst_s == other.typical_s
    bare = assess(home.changed(pump__rated_flow="none", switch__alarm="none"), depths, SETTINGS)
    assert bare.state.clock is Clock.RAIN
    for one, other in zip(without.storms, bare.storms, strict=True):
        assert other.floor_dry_share == one.floor_dry_share
        assert other.worst_s.never_share == one.worst_s.never_share
        from_alarm, from_rain = one.worst_s.if_ever, other.worst_s.if_ever
        assert from_alarm is not None and from_rain is not None
        assert from_rain.middle > from_alarm.middle


def test_the_storm_is_the_same_whether_the_alarm_works_or_not(rain) -> None:  # type: ignore[no-untyped-def]
    home, depths = rain
    broken = home.changed(visit=[{"date": "2026-04-14", "checks": {"alarm_sounded": "no"}}])
    few = Settings(n_draws=16, return_periods_yr=(10.0, 100.0))
    one, other = (assess(each, depths, few) for each in (home, broken))
    assert [s.duration_h for s in one.storms] == [s.duration_h for s in other.storms]
