"""Storms of a record: cut by hand, and followed as a single storm is."""

from __future__ import annotations

from dataclasses import replace

import numpy as np
import pytest

from riskkit.antecedent.hours import HourlyWeather, hourly_weather
from riskkit.antecedent.water_table import antecedent_ground
from riskkit.ensemble.draws import draw_homes
from riskkit.home.home import load_home
from riskkit.pit.balance import run_pit
from riskkit.pit.vessels import follow_stops
from riskkit.records import IntArray
from riskkit.risk.clock import Clock
from riskkit.risk.time_to_flood import HOURS_AFTER, Stops, mark_m, stops_in_storm
from riskkit.risk.worst_stop import summarise_stops
from riskkit.simulate import ground_of, pit_of, water_of
from riskkit.simulate.continuous import root_zone_of, run_hours
from riskkit.years.minutes import minutes_of_hours
from riskkit.years.records import ReplaySettings
from riskkit.years.run import replay
from riskkit.years.storms import AFTER_H, BEFORE_H, storms_of
from tests.conftest import ROOT
from tests.replay.made import YEAR_H, clay, rain_of, record_of

FIRST_DAY = 11323  # 2001-01-01


def hours_of(water: np.ndarray, gap: np.ndarray | None = None) -> HourlyWeather:
    none = np.zeros(water.size)
    return HourlyWeather(FIRST_DAY, water, none, none, none if gap is None else gap, none + 1)


def test_storms_are_cut_by_hand() -> None:
    """Two showers five dry hours apart are one storm, six hours apart they are two."""
    water = np.zeros(24 * 20)
    water[100:103] = (4.0, 10.0, 6.0)
    water[108] = 3.0  # five dry hours later
    water[240] = 13.0
    water[247] = 14.0  # six dry hours later
    water[300] = 12.6  # too little
    water[310] = 0.09  # drizzle that is dry
    found = storms_of(hours_of(water), 12.7)
    assert [str(s.start) for s in found] == [
        "2001-01-05T04:00:00", "2001-01-11T00:00:00", "2001-01-11T07:00:00",
    ]  # fmt: skip
    assert [s.depth_mm for s in found] == [23.0, 13.0, 14.0]
    assert [s.duration_h for s in found] == [9.0, 1.0, 1.0]
    assert [s.peak for s in found] == [101, 240, 247]
    assert [s.peak_mm for s in found] == [10.0, 13.0, 14.0]


def test_storms_at_the_ends_and_before_the_first_hour_are_left_out() -> None:
    water = np.zeros(24 * 20)
    at = [BEFORE_H - 1, BEFORE_H + 12, 240, water.size - AFTER_H, water.size - AFTER_H + 12]
    water[at] = 20.0
    peaks = [s.peak for s in storms_of(hours_of(water), 12.7)]
    assert peaks == [BEFORE_H + 12, 240, water.size - AFTER_H]
    assert [s.peak for s in storms_of(hours_of(water), 12.7, first=200)] == peaks[1:]


@pytest.mark.parametrize(("gap", "touches"), [(-37, False), (-36, True), (47, True), (48, False)])
def test_a_gap_in_the_window_of_a_storm_is_told(gap: int, touches: bool) -> None:
    water, missing = np.zeros(24 * 20), np.zeros(24 * 20)
    water[240] = 20.0
    missing[240 + gap] = 1.0
    (storm,) = storms_of(hours_of(water, missing), 12.7)
    assert storm.touches_gap is touches


# nested round its wettest hour as a design storm of a day; 107 mm
DESIGN_MM = np.array(
    [1.0, 1.1, 1.3, 1.6, 2.0, 2.6, 3.9, 7.5, 15.0, 38.0, 10.0, 6.0, 4.4, 3.0, 2.3, 1.8, 1.5, 1.3,
     1.2, 1.0, 0.9, 0.8, 0.7, 0.6]
)  # fmt: skip


@pytest.mark.parametrize(("drizzle_h", "off"), [(0, 0.01), (24, 0.06)])
def test_a_record_that_holds_one_design_storm_is_the_run_of_that_storm(
    drizzle_h: int, off: float, monkeypatch: pytest.MonkeyPatch
) -> None:
    """The same state, the same rain: one storm in steps of five minutes throughout.

    Plants use nothing here, as in the run of a single storm. Within 1 % where water comes within a
    day; where it creeps up to the floor for days, a trifle of water is hours. A day of drizzle
    before it goes by in hours, through which ponded water are followed less closely.
    """
    monkeypatch.setattr("riskkit.risk.worst_stop._LONG_S", 300.0)  # the event in its own steps
    monkeypatch.setattr(
        "riskkit.antecedent.hours.lawn_demand_mm", lambda weather, _, __: 0.0 * weather.rain_mm
    )
    n, begin = 8, 2 * YEAR_H + 3000
    mm = np.concatenate([np.full(drizzle_h, 0.9), DESIGN_MM])
    home, rain = clay(), rain_of(record_of({9000: DESIGN_MM[6:], begin: mm}), degc=3.0)
    found = replay(home, rain, ReplaySettings(n_draws=n, seed=3))
    at = [i for i, s in enumerate(found.record_storms) if s.depth_mm > 105]
    assert at == [1] and len(found.record_storms) == 2
    (storm,) = (found.record_storms[i] for i in at)
    assert found.month.size == 36

    assert rain.record is not None and rain.weather is not None
    hours = hourly_weather(rain.record, rain.weather, home.place.latitude or 0.0).led_in(2 * YEAR_H)
    before, _ = antecedent_ground(home, rain.weather, rain.levels)
    homes = draw_homes(home, n, 3, before)
    pit, ground = pit_of(homes), ground_of(homes)
    first = storm.peak - BEFORE_H
    state = run_hours(homes, ground, hours.water_mm, hours.demand_mm, np.array([first])).at
    wall, roots, model = state.wall[:, 0], root_zone_of(homes), ground.wall
    # a front after a dry spell sets out from the water that is in the ground by then
    fill_dry = (model.fill_storage_m - wall[:, 1]) / roots.fill_depth_m + wall[
        :, 0
    ] / roots.fill_roots_m
    lot_dry = (model.lot_storage_m - wall[:, 3]) / roots.lot_depth_m + wall[
        :, 2
    ] / roots.lot_roots_m
    as_it_was = replace(
        ground,
        wall=replace(
            model, fill_moisture_deficit=fill_dry, lot_moisture_deficit=lot_dry,
            fill_deficit_m=wall[:, 0], fill_water_m=wall[:, 1],
            lot_deficit_m=wall[:, 2], lot_water_m=wall[:, 3],
        ),
        lot_m3=state.lot_m3[:, 0],
        footing=ground.footing,
    )  # fmt: skip
    window = hours.water_mm[first : storm.peak + AFTER_H]
    fine = minutes_of_hours(window[None])[0]
    middle = BEFORE_H * 12 + 6
    # 24, 16 and 10 h before the wettest hour; 5, 3, 1 and a quarter of an hour before its middle
    steps = np.array(
        [
            0,
            144,
            240,
            312,
            *(middle + 12 * h for h in (-5, -3, -1)),
            middle - 3,
            middle,
            middle + 12,
        ]
    )
    water = water_of(as_it_was, fine, 300.0, np.ones(n), steps)
    run = run_pit(pit, water.to_pit, keep_levels=True)
    dead = (mark_m(pit, pit.on_index), state.level_m[:, 0], water.start_m3)

    def stops_at(at: IntArray) -> Stops:
        return stops_in_storm(at, pit, run, water, dead)

    # a pump that has run before these steps stops where it starts, whatever has come since
    begun = stops_in_storm(steps[:2], pit, run, water, dead, np.full(n, 100.0))
    assert (begun.inside_m[:, 1] >= mark_m(pit, pit.on_index)).all()
    wet = np.zeros((n, steps.size), dtype=np.bool_)
    wet[:, 8] = True
    event = summarise_stops(pit, ground.footing, water, stops_at, steps, wet, Clock.ALARM)
    for name in ("worst_s", "dead_to_alarm_s", "dead_alarm_to_floor_s"):
        mine, theirs = getattr(found.outcomes, name)[:, at[0]], getattr(event, name)
        soon = theirs < 86400.0
        assert soon.any()
        np.testing.assert_array_equal(np.isfinite(mine), np.isfinite(theirs))
        np.testing.assert_allclose(mine[soon], theirs[soon], rtol=off, err_msg=name)
        np.testing.assert_allclose(mine, theirs, rtol=max(2 * off, 0.05), err_msg=name)
    peak = water.free.to_pit_m3_s.max(axis=1)
    np.testing.assert_allclose(found.outcomes.peak_m3_s[:, at[0]], peak, rtol=off)


@pytest.mark.parametrize("name", ["split_level_on_clay", "bungalow_on_sand", "home_just_met"])
def test_stops_that_are_not_followed_would_have_told_nothing_else(
    name: str, monkeypatch: pytest.MonkeyPatch
) -> None:
    """Every stop followed tells to the last digit what the few tell."""
    hour = np.concatenate([np.zeros(8), [6.0, 14.0, 30.0, 11.0, 4.0], np.zeros(3)])
    storms = {3000 + 600 * i: DESIGN_MM * (0.3 + 0.1 * i) for i in range(8)}
    storms |= {9000 + 600 * i: hour * (0.3 + 0.2 * i) for i in range(6)}
    home, rain = load_home(ROOT / "demo_sites" / f"{name}.toml"), rain_of(record_of(storms))
    few = replay(home, rain, ReplaySettings(n_draws=8)).outcomes
    followed = []

    def all_stops(pits, footing, arriving, start, _, clock):  # type: ignore[no-untyped-def]  # as there
        n, n_stops = start.inside_m.shape
        followed.append(n * n_stops)
        return follow_stops(
            pits, footing, arriving, np.tile(start.step, (n, 1)), start.inside_m, start.outside_m,
            start.lot_m3, np.array(HOURS_AFTER) * 3600.0, from_alarm=clock is Clock.ALARM,
            step_after_s=3600.0,
        )  # fmt: skip

    monkeypatch.setattr("riskkit.years.storms._followed", all_stops)
    every = replay(home, rain, ReplaySettings(n_draws=8)).outcomes
    assert followed and few == every
    dry = np.isinf(few.dead_alarm_to_floor_s)
    assert 0 < dry.sum() < dry.size  # some rows are left out, and some are not
