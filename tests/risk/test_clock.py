"""From when the time to the floor is counted, on whole homes; by hand in `test_stops`."""

from __future__ import annotations

from pathlib import Path

import numpy as np
import pytest

from riskkit.assessment import DesignRain, Settings, assess, design_rain
from riskkit.home.home import Home, load_home
from riskkit.risk.clock import Clock


@pytest.fixture(scope="module")
def rain(demo_sites: Path) -> tuple[Home, DesignRain]:
    home = load_home(demo_sites / "split_level_on_clay.toml")
    return home, design_rain(home, demo_sites)


SETTINGS = Settings(n_draws=64, return_periods_yr=(10.0, 100.0))


def test_a_home_without_warning_is_timed_from_the_stop_of_the_pump(
    rain: tuple[Home, DesignRain],
) -> None:
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
        assert stop.worst_stop.to_floor_s.median > alarm.worst_stop.to_floor_s.median
        assert stop.pump_working.floor_dry_share == alarm.pump_working.floor_dry_share
        trace = stop.trace
        first = int(np.isfinite(trace.stopped_m).argmax())
        assert trace.clock is Clock.STOP
        assert trace.stopped_m[first] == pytest.approx(trace.on_m, abs=1e-6)
    # ground water that comes up to the floor from the alarm comes up from the start level too
    assert silent.dry_s.never_share == warned.dry_s.never_share


def test_a_home_without_a_pump_floods_sooner_and_more_often(
    rain: tuple[Home, DesignRain],
) -> None:
    home, depths = rain
    with_pump = assess(home, depths, SETTINGS)
    without = assess(home.changed(pump__rated_flow="none"), depths, SETTINGS)
    assert without.state.clock is Clock.ALARM
    for one, other in zip(with_pump.storms, without.storms, strict=True):
        assert other.pump_working.floor_dry_share < one.pump_working.floor_dry_share
        # nothing stops: it is told as it is, and the picture begins with the storm
        assert other.worst_stop.to_floor_s == other.typical_to_floor_s and other.trace.stop_s == 0.0
    bare = assess(home.changed(pump__rated_flow="none", switch__alarm="none"), depths, SETTINGS)
    assert bare.state.clock is Clock.RAIN
    for one, other in zip(without.storms, bare.storms, strict=True):
        assert other.pump_working.floor_dry_share == one.pump_working.floor_dry_share
        assert other.worst_stop.to_floor_s.never_share == one.worst_stop.to_floor_s.never_share
        from_alarm, from_rain = (
            one.worst_stop.to_floor_s.if_ever,
            other.worst_stop.to_floor_s.if_ever,
        )
        assert from_alarm is not None and from_rain is not None
        assert from_rain.median > from_alarm.median


def test_the_storm_is_the_same_whether_the_alarm_works_or_not(
    rain: tuple[Home, DesignRain],
) -> None:
    home, depths = rain
    broken = home.changed(visit=[{"date": "2026-04-14", "checks": {"alarm_sounded": "no"}}])
    few = Settings(n_draws=16, return_periods_yr=(10.0, 100.0))
    one, other = (assess(each, depths, few) for each in (home, broken))
    assert [s.duration_h for s in one.storms] == [s.duration_h for s in other.storms]
