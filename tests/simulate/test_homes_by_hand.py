"""Three homes through a storm of constant rain, each figure worked out by hand in steps.

The storm: 3.6 mm/h for 24 hours, which is 1e-6 m/s. Five minutes in the middle have a thousandth
more, so that there is a wettest step from which the moments count at which the pump may stop: from
six hours before the middle to two hours after it. A storm of two hours is run beside it and is
nowhere worse.

What is known of soils, from the sources that `tables/soils.csv` names: sand holds 10 % of water
against gravity and 46 % when full, so 36 % drain; Green and Ampt's porosities are 0.437 and 0.417;
saturated it conducts 108.1 mm/h. Of clay 8 % drain. The ground beyond the fill is clay, so tight
that the lot neither takes rain nor gives water.

Through `assess` the home stands for all of its draws, since each quantity that matters is given and
drawn at its median.
"""

from __future__ import annotations

import math
from collections.abc import Iterator
from dataclasses import replace

import numpy as np
import pytest

from riskkit import assessment
from riskkit.assessment import Assessment, Settings, StormAnswer, assess
from riskkit.ensemble.draws import median_home
from riskkit.evidence.posterior import Weighed
from riskkit.home.home import Home
from riskkit.records import DepthDurationFrequency, Series
from riskkit.risk.clock import Clock
from riskkit.simulate import PitPart, pump_flow_of

Z95 = 1.6448536  # of the standard normal distribution, of 90 % limits on both sides
L = 1e-3  # a litre [m3]


def constant_rain(mm_h: float = 3.6, factor_of_a_sd: float = 1.0) -> DepthDurationFrequency:
    """Depths of a rain that is as hard at every duration, and nearly so at five minutes."""
    hours = np.array([1 / 12, 1 / 6, 24.0])
    depth = (mm_h * hours * np.array([1.001, 1.0, 1.0]))[:, None] * np.ones(2)
    limit = factor_of_a_sd**Z95
    return DepthDurationFrequency(
        hours, np.array([1.0, 10.0]), depth, Series.PARTIAL_DURATION,
        lower_mm=depth / limit, upper_mm=depth * limit,
    )  # fmt: skip


def answer(
    home: Home, rain: DepthDurationFrequency | None = None, rain_score: float = 0.0
) -> Assessment:
    """Assess a home all of whose draws are its middle."""
    one = replace(median_home(home), rain_score=np.array([rain_score]))
    with pytest.MonkeyPatch.context() as patch:
        drawn = Weighed(one.repeated(16), one, 16.0, 0)
        patch.setattr(assessment, "weighed_homes", lambda *_: drawn)
        return assess(home, rain or constant_rain(), Settings((10.0,), 10.0, n_draws=16))


def medians(of: dict[PitPart, assessment.Outcome]) -> dict[PitPart, float]:
    return {part: told.median for part, told in of.items()}


# ---- the first home: roof, window wells, gap and fill; a straight pit and nothing beside it ------

ROOF = Home().changed(
    house={
        "perimeter": "40 m", "basement_area": "100 m2", "occupied_share": "0 %",
        "depth_below_ground": "2 m", "joint_conductance": "0 m2/s",
    },
    # 125 m2 at 80 % give as much as 100 m2; all of it goes into the drain
    roof={
        "area": "125 m2", "runoff": "80 %", "at_wall": "0 %", "to_drain": "100 %",
        "gutter_capacity": "100 mm/h",
    },
    ground={
        "soil": "clay", "native_k_factor": 0.02, "backfill": "sand", "backfill_k_factor": 4,
        "backfill_width": "1 m", "half_distance": "4 m", "saturation": "18 %",
        "gap_share": "25 %", "gap_time": "300 s", "ponding_depth": "0 m", "runon_area": "0 m2",
        "well_area": "10 m2", "drain_depth": "0 m", "water_table_depth": "3 m",
        "permeable_depth": "1 m", "deep_percolation": "10.8 mm/d", "antecedent_recharge": "0 mm/d",
    },
    pit={"length": "0.5 m", "width": "0.4 m", "depth": "0.8 m", "pump_volume": "0 m3"},
    gravel={"thickness": "0 m", "pore_share": "40 %"},
    drain={
        "open_share": "100 %", "conductance": "2 m2/s", "bore": "0.1 m", "gravel_area": "0.12 m2",
    },
    switch={"on": "0.4 m", "off": "0.555 m", "alarm": "0.25 m"},
    pump={"curve": [["0 L/s", "7 m"], ["1 L/s", "3.336 m"]], "capacity": "100 %"},
    pipe={
        "bore": "0.04 m", "outlet_height": "2.5 m", "length": "10 m", "elbows": 4,
        "check_valve": "works", "drainback_share": "60 %", "return_share": "0 %",
    },
)  # fmt: skip
# [m3/s], at 1e-6 m/s of rain
TIED_IN = 1e-4  # of 100 m2 of roof
WELLS = 1e-5  # of 10 m2
GAP = 1e-5  # a quarter of the 40 m2 of the strip, 40 m long and 1 m wide
FILL = 3e-5  # three quarters of it, once the fill has taken up what it lacks
# the ground below takes 10.8 mm a day = 1.25e-7 m/s of 40 m by 1 m of fill and 4 m of lot = 200 m2,
# for the water table stands more than 1 m below the drain
DEEP = 2.5e-5
PEAK = 1.25e-4  # 10 + 1 + 1 + 3 - 2.5
# the fill, 2 m high, holds 0.437 - 0.417 * (1 - 0.18) = 0.09506 of water and lacks 0.10 - 0.09506 =
# 0.00494; 9.88 mm of it, taken up at 0.75e-6 m/s
DEFICIT_S = 13173.0
# it drains with 0.36 * 2 m / (4 * 108.1 mm/h = 1.2011e-4 m/s)
FILL_S = 5994.5
GAP_S = 300.0
# gravel, 0.12 m2 / 0.3 m = 0.4 m wide, at 0.40; 0.6 m of fill at 0.36; the pipe, 0.007854 m2 over
# 0.3 m: 0.16 + 0.216 + 0.02618 = 0.40218 m2 for each of 40 m; and of the lot, 0.08 * 160 m2, what
# its first four reservoirs leave: 1 - 8/pi2 * (1 + 1/9 + 1/25 + 1/49) = 0.0504
BESIDE_M2 = 16.087 + 0.645


@pytest.fixture(scope="module")
def roof() -> Iterator[StormAnswer]:
    yield answer(ROOF).headline_storm


def test_the_pump_gives_what_lift_valve_elbows_and_length_leave_it(roof: StormAnswer) -> None:
    """Where it starts, 1 L/s by hand: the curve was drawn through that head."""
    speed = 1e-3 / (math.pi / 4 * 0.04**2)  # 0.7958 m/s
    reynolds = speed * 0.04 / 1.306e-6  # 24 370
    # Colebrook: 1/sqrt(f) = -2 lg(1.5e-6/0.04/3.7 + 2.51/(24370 sqrt(f))); 6.3546 on both sides
    friction = 0.02476
    right = -2 * math.log10(3.75e-5 / 3.7 + 2.51 / (reynolds * math.sqrt(friction)))
    assert right == pytest.approx(1 / math.sqrt(friction), rel=1e-3)
    # 10 m of pipe, 4 elbows of 30 and a check valve of 135 bores of 0.04 m: 10 + 4.8 + 5.4
    length = 20.2
    # 12.504 velocity heads along it and one at the outlet, of 0.7958^2 / 19.613 = 0.03229 m each
    loss = (friction * length / 0.04 + 1) * speed**2 / (2 * 9.80665)
    assert loss == pytest.approx(0.436, abs=5e-4)
    # 2.5 m above the floor, and 0.4 m below it where the pump starts: 2.9 + 0.436 = 3.336 m
    flow = pump_flow_of(median_home(ROOF), np.array([[-0.4, 0.0]]))[0]
    assert flow[0] == pytest.approx(1e-3, rel=1e-3)
    assert flow[1] > 1.04e-3  # at the floor it lifts less high
    assert roof.pump_working.peak_use.median == pytest.approx(PEAK / 1e-3, rel=2e-3)


def test_losses_are_taken_off_the_storm_water(roof: StormAnswer) -> None:
    assert roof.depth_mm == pytest.approx(86.4, rel=1e-6)
    assert roof.pump_working.peak_inflow_m3_s.median == pytest.approx(PEAK, rel=1e-3)


def test_the_spread_of_the_rain_enters_once() -> None:
    """A standard deviation of a fifth: all rain is 1.2 times as much, what the ground takes not."""
    wetter = answer(ROOF, constant_rain(factor_of_a_sd=1.2), 1.0).headline_storm
    assert wetter.pump_working.peak_inflow_m3_s.median == pytest.approx(
        1.2 * 1.5e-4 - DEEP, rel=1e-3
    )


def test_the_pump_starts_so_often_an_hour(roof: StormAnswer) -> None:
    # 0.155 m of 0.2 m2 are 31 L between start and stop. Of the 2.9 m of pipe above the start level
    # 0.04 m wide 60 % falls back: 1.2566e-3 m2 * 2.9 m * 0.6 = 2.19 L
    fills_s = (31.0 - 2.19) * L / PEAK  # 230.5 s
    # the lower the water the less the pump gives: 0.99 L/s in the mean
    empties_s = 31.0 * L / (0.99e-3 - PEAK)  # 35.8 s
    # 13.5 times an hour: 14 in some clock hours (without what falls back 12.7, and 13 at the most)
    assert 13.4 < 3600 / (fills_s + empties_s) < 13.6
    assert roof.pump_working.starts_per_hour.median == 14.0
    assert roof.pump_working.highest_level_m.median == pytest.approx(-0.4, abs=1e-6)
    assert (
        roof.pump_working.alarm_share,
        roof.pump_working.floor_dry_share,
        roof.pump_working.joint_share,
    ) == (0.0, 1.0, 0.0)


def test_from_the_stop_to_the_alarm_and_from_there_to_the_floor(roof: StormAnswer) -> None:
    # the pump fails where it should start: 0.15 m * 0.2 m2 = 30 L to the alarm, 50 L to the floor
    assert roof.worst_stop.to_alarm_s.median == pytest.approx(30 * L / PEAK, rel=2e-3)  # 240 s
    assert roof.worst_stop.to_floor_s.median == pytest.approx(50 * L / PEAK, rel=2e-3)  # 400 s
    assert roof.typical_to_floor_s.median == pytest.approx(50 * L / PEAK, rel=2e-3)
    assert roof.worst_stop.joint_first_share == 0.0
    for hours, told in roof.worst_stop.depth_after_m.items():
        # on 100 m2, and the pores beside the footing, which stand full as high
        deep = (PEAK * hours * 3600.0 - 50 * L) / (100.0 + BESIDE_M2)
        assert told.share == 1.0 and told.if_any is not None
        assert told.if_any.median == pytest.approx(deep, rel=5e-3)


def test_a_dead_pump_is_followed_from_the_first_rain(roof: StormAnswer) -> None:
    """It should start 0.4 m below the floor, and does not: 30 L to the alarm, 80 L to the rim.

    What comes in t: 0.12 L/s through a reservoir of 300 s, less what the ground takes:
    0.095 t - 36 (1 - exp(-t/300)) litres, evenly within each step of five minutes; the first water
    in the pores, 0.05 mm high, is 0.8 L.
    """

    def come(seconds: float) -> float:
        return 0.095 * seconds - 36 * (1 - math.exp(-seconds / 300))

    # 25.9 L by 600 s and 51.3 L by 900 s: 30.8 L at 600 + 300 * 4.9 / 25.4
    assert (come(600.0), come(900.0)) == pytest.approx((25.87, 51.29), abs=0.01)
    to_alarm_s = 658.2
    # 78.7 L by 1200 s and 106.7 L by 1500 s: 80.8 L at 1200 + 300 * 2.1 / 28.1
    assert (come(1200.0), come(1500.0)) == pytest.approx((78.66, 106.74), abs=0.01)
    to_floor_s = 1222.9
    assert roof.dead_before.rain_to_alarm_s.median == pytest.approx(to_alarm_s, rel=5e-3)
    assert roof.dead_before.rain_to_floor_s.median == pytest.approx(to_floor_s, rel=5e-3)
    assert roof.dead_before.alarm_to_floor_s.median == pytest.approx(
        to_floor_s - to_alarm_s, rel=5e-3
    )


def test_water_by_part_in_the_first_day(roof: StormAnswer) -> None:
    # of the gap's reservoir 300 s worth is on its way at the end of the day
    of_gap_s = 86400.0 - GAP_S
    # of the fill 3e-5 * 5994.5 = 0.1798 m3
    of_fill = FILL * (86400.0 - DEFICIT_S - FILL_S)
    deep = DEEP * 86400.0  # 2.16 m3
    # while 1.25e-4 go through a drain of 2 m2/s the water stands 0.0625 mm above it: a litre
    held = PEAK / 2.0 * BESIDE_M2
    come = (TIED_IN + WELLS + GAP) * of_gap_s + of_fill
    by_hand = {
        PitPart.ROOF_TIED_IN: 8.61, PitPart.WINDOW_WELLS: 0.861, PitPart.GAP: 0.861,
        PitPart.FILL: of_fill, PitPart.DEEP_GROUND: deep, PitPart.AT_FOOTING: held,
        PitPart.TO_PIT: come - deep - held, PitPart.LOT: 0.0, PitPart.GROUND_WATER: 0.0,
    }  # fmt: skip
    assert TIED_IN * of_gap_s == pytest.approx(by_hand[PitPart.ROOF_TIED_IN])
    assert of_fill == pytest.approx(2.017, rel=1e-3)
    assert by_hand[PitPart.TO_PIT] == pytest.approx(10.188, rel=1e-3)
    found = medians(roof.water_to_pit.first_day_m3)
    assert found == {part: pytest.approx(m3, rel=2e-3, abs=1e-5) for part, m3 in by_hand.items()}


def test_water_by_part_in_the_two_days_after_it(roof: StormAnswer) -> None:
    """What was on its way comes: 36 L in minutes, 179.8 L in hours.

    The ground takes up to 0.025 L/s, less than comes for 1380 s: 0.12 exp(-1380/300) +
    0.03 exp(-1380/5994.5) = 0.0012 + 0.0238. Of 36 (1 - 0.0101) + 179.8 * 0.2057 = 72.6 L it takes
    34.5 L, and all that comes later.
    """
    to_pit = (35.64 + 36.98 - 34.5) * L  # 38.1 L
    held = PEAK / 2.0 * BESIDE_M2  # and the litre that stood at the footing
    by_hand = {
        PitPart.ROOF_TIED_IN: 30 * L, PitPart.WINDOW_WELLS: 3 * L, PitPart.GAP: 3 * L,
        PitPart.FILL: 179.8 * L, PitPart.DEEP_GROUND: 36 * L + 179.8 * L - to_pit,
        PitPart.AT_FOOTING: -held, PitPart.TO_PIT: to_pit + held,
        PitPart.LOT: 0.0, PitPart.GROUND_WATER: 0.0,
    }  # fmt: skip
    found = medians(roof.water_to_pit.next_days_m3)
    assert found == {part: pytest.approx(m3, rel=5e-3, abs=1e-5) for part, m3 in by_hand.items()}


def test_an_alarm_that_sounds_over_a_floor_that_stays_dry() -> None:
    """Little rain, 7.5e-9 m/s, and ground that takes nothing: 0.9e-6 m3/s on roof, wells and gap.

    The fill takes up its share: 0.49 mm of the 9.88 mm that it lacks. In a day 77.8 L come, less
    0.3 L on their way: 30 L to the alarm are there, 80 L to the floor are not.
    """
    drizzle = ROOF.changed(ground__deep_percolation="0 mm/d")
    storm = answer(drizzle, constant_rain(0.027)).headline_storm
    assert storm.pump_working.peak_inflow_m3_s.median == pytest.approx(0.9e-6, rel=2e-3)
    # 30 L and what stands in the reservoir, 0.9e-6 * 300 s = 0.27 L
    assert storm.dead_before.rain_to_alarm_s.median == pytest.approx(30.27 * L / 0.9e-6, rel=2e-3)
    assert math.isinf(storm.dead_before.alarm_to_floor_s.median) and math.isinf(
        storm.dead_before.rain_to_floor_s.median
    )
    # stopped about noon where it should start: 30 L in 33 300 s, and 39 L come till midnight
    assert storm.worst_stop.to_alarm_s.median == pytest.approx(30 * L / 0.9e-6, rel=2e-3)
    assert (
        math.isinf(storm.worst_stop.to_floor_s.median)
        and storm.worst_stop.to_floor_s.never_share == 1.0
    )
    assert all(told.share == 0.0 for told in storm.worst_stop.depth_after_m.values())


# ---- the second home: gravel and fill beside the pit, ground water that was measured -------------

GROUND = ROOF.changed(
    roof__to_drain="0 %",
    # wetter than it holds against gravity (0.437 - 0.417 * 0.7 = 0.145): the fill lacks nothing
    ground={
        "saturation": "30 %", "gap_share": "0 %", "well_area": "0 m2", "drain_depth": "0.2 m",
        "water_table_depth": "5 m", "dry_inflow": "0.06 L/s",
    },
    gravel={"thickness": "0.1 m", "connected_share": "25 %", "slab_thickness": "0.1 m"},
    switch={"on": "0.35 m", "off": "0.5 m", "alarm": "0.15 m"},
)  # fmt: skip
MEASURED = 6e-5  # [m3/s]
STRIP = 4e-5  # rain on 40 m2 of fill
# 0.36 * 2.2 m / 1.2011e-4 m/s
FILL_2_S = 6594.0
UNDER_SLAB_M2 = 10.0  # 100 m2 * 0.40 * 0.25, from 0.2 to 0.1 m below the floor
# The ground water can come only from the ground outside, 2.2 m above the drain: the soil is tight.
# By Dupuit and below the drain, 1 m of permeable ground: Hooghoudt's equivalent depth
# 1 / (1 + 1/8 * (8/pi * ln(1/0.15) - 3.4)) = 0.848 m. At h above the drain there come, of what was
# measured, ((2.2^2 - h^2)/2 + 0.848 (2.2 - h)) / 4.286, which falls as the level rises.


def share_at(h: float) -> float:
    return ((2.2**2 - h**2) / 2 + 0.848 * (2.2 - h)) / 4.286


# in legs: to the drain, to the alarm, to the underside of the slab, to the floor
LEGS_M3 = (
    0.15 * 0.2,  # 0.030: the pit alone
    0.05 * (0.2 + UNDER_SLAB_M2 + BESIDE_M2),  # 1.347
    0.05 * (0.2 + UNDER_SLAB_M2 + BESIDE_M2),  # 1.347
    0.10 * (0.2 + BESIDE_M2),  # 1.693
)
SHARES = (1.0, share_at(0.025), share_at(0.075), share_at(0.15))  # 1, 0.995, 0.984, 0.968


@pytest.fixture(scope="module")
def ground() -> Iterator[Assessment]:
    yield answer(GROUND)


def test_measured_dry_weather_inflow_overrides_a_told_water_table(ground: Assessment) -> None:
    assert [round(share, 3) for share in SHARES] == [1.0, 0.995, 0.984, 0.968]
    assert ground.dry_inflow_m3_s.median == pytest.approx(MEASURED, rel=1e-6)
    assert ground.storms[0].water_to_pit.first_day_m3[PitPart.GROUND_WATER].median == pytest.approx(
        MEASURED * 86400.0, rel=1e-3
    )  # 5.184 m3
    assert ground.storms[0].water_to_pit.next_days_m3[PitPart.GROUND_WATER].median == pytest.approx(
        MEASURED * 2 * 86400.0, rel=1e-3
    )
    # and where none was seen to come, none comes from a water table told above the floor
    none = GROUND.changed(ground={"dry_inflow": "0 L/s", "water_table_depth": "-1 m"})
    assert answer(none).dry_inflow_m3_s.median == 0.0


def test_what_was_measured_holds_where_the_pump_keeps_the_water_above_the_drain() -> None:
    """It starts 0.15 m above the bottom of the drain, and that is where the inflow was seen."""
    deep_drain = GROUND.changed(ground__drain_depth="0.5 m")
    assert answer(deep_drain).dry_inflow_m3_s.median == pytest.approx(MEASURED, rel=1e-6)


def test_ground_water_is_in_the_peak(ground: Assessment) -> None:
    storm = ground.headline_storm
    # ground water stands high, so that the ground below takes nothing, whatever is told of it
    assert storm.pump_working.peak_inflow_m3_s.median == pytest.approx(MEASURED + STRIP, rel=1e-3)
    assert storm.water_to_pit.first_day_m3[PitPart.DEEP_GROUND].median == 0.0
    fill = STRIP * (86400.0 - FILL_2_S)  # 3.192 m3
    assert storm.water_to_pit.first_day_m3[PitPart.FILL].median == pytest.approx(fill, rel=1e-3)
    assert storm.water_to_pit.next_days_m3[PitPart.FILL].median == pytest.approx(
        STRIP * FILL_2_S, rel=1e-3
    )


def test_gravel_and_fill_fill_with_the_pit_in_dry_weather(ground: Assessment) -> None:
    after_alarm = zip(LEGS_M3[2:], SHARES[2:], strict=True)
    by_hand_s = sum(m3 / (MEASURED * share) for m3, share in after_alarm)
    assert by_hand_s == pytest.approx(51970, rel=1e-3)  # 14.4 h
    assert ground.dry_s.median == pytest.approx(by_hand_s, rel=3e-3)


def test_gravel_and_fill_fill_with_the_pit_in_the_storm(ground: Assessment) -> None:
    storm = ground.headline_storm
    each = [m3 / (STRIP + MEASURED * s) for m3, s in zip(LEGS_M3, SHARES, strict=True)]
    assert each == [pytest.approx(s, rel=2e-3) for s in (300, 13507, 13593, 17270)]
    assert storm.worst_stop.to_alarm_s.median == pytest.approx(sum(each[:2]), rel=3e-3)  # 13 807 s
    assert storm.worst_stop.to_floor_s.median == pytest.approx(sum(each[2:]), rel=3e-3)  # 30 863 s
    assert storm.worst_stop.joint_first_share == 0.0


def test_ground_water_floods_a_home_whose_pump_was_dead_for_a_day(ground: Assessment) -> None:
    # in a day 5.2 m3 come, and 4.4 m3 go up to the floor: it is wet before the storm begins
    assert sum(LEGS_M3) + 0.03 < 0.95 * MEASURED * 86400.0
    storm = ground.headline_storm
    assert storm.dead_before.rain_to_alarm_s.median == 0.0
    assert (
        storm.dead_before.alarm_to_floor_s.median == storm.dead_before.rain_to_floor_s.median == 0.0
    )


# ---- the third home: a drain that is closed, and a joint of wall and floor that is not -----------

CLOSED = GROUND.changed(
    house__joint_conductance="0.001 m2/s",
    roof={"area": "75 m2", "to_drain": "100 %"},  # 60 m2 at 80 %
    # dry: the fill, 2.2 m high, lacks 0.10 - (0.437 - 0.417) = 0.08, or 176 mm, and gives nothing
    ground={"saturation": "0 %", "dry_inflow": "unknown", "deep_percolation": "0 mm/d"},
    gravel={"thickness": "0.15 m", "connected_share": "100 %"},
    drain__open_share="0 %",
    switch__alarm="0.05 m",
)
ROOF_3 = 6e-5  # [m3/s]
SEEPS = 1e-5  # under the footing, for each metre of water over the drain [m2/s]; judgement
BESIDE_3_M2 = 40 * (0.16 + 0.216) + 0.645  # no pipe: 15.685
# A dh/dt = q - C h, from the drain to the floor 0.2 m above it: A/C ln(1 / (1 - 0.2 C/q)), and the
# roof water comes 300 s late: 53 175 + 300 s
TO_FLOOR_S = BESIDE_3_M2 / SEEPS * -math.log(1 - 0.2 * SEEPS / ROOF_3) + GAP_S
# then A dh/dt = q - 2e-6 - (J + C) h: at first it rises r = 5.8e-5 / 15.685 = 3.698e-6 m/s, and
# what comes in at the joint (J = 0.001 m2/s) and goes under the footing slows it in the course of
# T = 15.685 / 1.01e-3 = 15 530 s; J r T (t - T (1 - exp(-t/T))) are ten litres after t = 2385 s:
# 0.001 * 3.698e-6 * 15 530 * (2385 - 15 530 * 0.14237) = 0.00999 m3
TO_PUDDLE_S = 2385.0
# On the way the lot's reservoirs take in a little, as the water at the wall rises by 0.2 m: each of
# the four 8/pi2 * 12.8 m2 * 0.2 m * t / (2 j), with j = 0.08 * 8^2 m2 / (pi2 * K * 1.148 m) and
# K = 0.02 * 1.1 mm/h, 7.4e7 s; in t = 53 475 s four times 0.75 L, at 5.8e-5 m3/s
LOT_S = 52.0
JOINT_S = TO_FLOOR_S + LOT_S + TO_PUDDLE_S  # 55 910 s, 15.5 h


@pytest.fixture(scope="module")
def closed() -> Iterator[StormAnswer]:
    yield answer(CLOSED).headline_storm


def test_water_behind_a_closed_drain_comes_in_at_the_joint(closed: StormAnswer) -> None:
    assert pytest.approx(55910, rel=1e-4) == JOINT_S
    # with the pump working too, while the pit stays below the floor
    assert closed.pump_working.joint_share == 1.0 and closed.pump_working.floor_dry_share == 1.0
    assert closed.worst_stop.joint_first_share == 1.0
    assert closed.dead_before.rain_to_floor_s.median == pytest.approx(JOINT_S, rel=2e-4)


def test_no_time_is_counted_from_an_alarm_that_never_sounds(closed: StormAnswer) -> None:
    """Up to the alarm, under the slab, there is room for 6 m3, and 5.2 m3 come off the roof."""
    room = 0.3 * 0.2 + 0.15 * 100.0 * 0.40  # [m3]
    assert room > ROOF_3 * 86400.0
    assert closed.pump_working.alarm_share == 0.0
    assert math.isinf(closed.worst_stop.to_alarm_s.median) and math.isinf(
        closed.dead_before.rain_to_alarm_s.median
    )
    # the floor gets wet without any warning: not never, and not counted from the stop
    assert closed.worst_stop.to_floor_s.median == closed.typical_to_floor_s.median == 0.0
    assert closed.dead_before.alarm_to_floor_s.median == 0.0


def test_without_an_alarm_the_same_counts_from_the_stop() -> None:
    silent = answer(CLOSED.changed(switch__alarm="none"))
    storm = silent.headline_storm
    assert silent.state.clock is Clock.STOP
    # the last stop is three hours after the wettest step, which begins at 11:55
    stop_s = (11 + 55 / 60 + 3) * 3600.0
    assert storm.trace.stop_s == pytest.approx(stop_s)
    assert storm.worst_stop.to_floor_s.median == pytest.approx(JOINT_S - stop_s, abs=15)  # 37 min


def test_less_than_ten_litres_at_the_joint_is_no_wet_floor() -> None:
    """The rain of a third less: 4e-5 m3/s reach the floor after 80 750 s.

    Then 5650 s are left in which it rises 2.4e-6 m/s: 1e-3 * 2.4e-6 * 5650^2 / 2 = 0.038 m3 till
    midnight. With a joint a hundred times tighter 0.4 L, and in the six hours that are followed
    after the storm, at no more than 14 mm, 3 L.
    """
    rain = constant_rain(2.4)
    to_floor_s = BESIDE_3_M2 / SEEPS * -math.log(1 - 0.2 * SEEPS / 4e-5) + GAP_S
    assert to_floor_s == pytest.approx(80750, rel=1e-3)
    assert answer(CLOSED, rain).headline_storm.pump_working.joint_share == 1.0
    tight = CLOSED.changed(house__joint_conductance="0.00001 m2/s")
    assert answer(tight, rain).headline_storm.pump_working.joint_share == 0.0
