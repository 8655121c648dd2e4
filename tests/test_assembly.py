"""Where the parts are put together: what goes in at one place comes out at the right other one."""

from __future__ import annotations

from dataclasses import fields, replace
from operator import attrgetter
from pathlib import Path
from types import SimpleNamespace
from typing import Any

import numpy as np
import pytest
from points import of_512
from scipy import stats

from riskkit import assessment
from riskkit.antecedent.levels import WaterLevels
from riskkit.antecedent.water_table import AntecedentGround
from riskkit.assessment import DesignRain, Settings, assess
from riskkit.ensemble.draws import draw_homes
from riskkit.home.home import Home, load_home
from riskkit.inflow.wall import WallWater
from riskkit.pit.drainage import free_drainage
from riskkit.records import DepthDurationFrequency, FloatArray, Hyetograph, IntArray, Series
from riskkit.risk import record_doubts, storm_water
from riskkit.risk.clock import Clock
from riskkit.risk.critical import StormToRun, storms_to_run
from riskkit.risk.design_rain import RecordDoubts
from riskkit.risk.record_doubts import doubt_lines
from riskkit.risk.runs import StormRuns, pooled, run_storms
from riskkit.risk.storm_answer import storm_answers
from riskkit.risk.time_to_flood import HOURS_AFTER, dry_times_s
from riskkit.simulate import (
    Ground,
    PitPart,
    Water,
    ground_of,
    pit_of,
    pump_flow_of,
    steady_inflow_of,
    storage_of,
)
from riskkit.simulate.water import footing_water
from riskkit.storm.patterns import Pattern

HOURS_H = np.array([1 / 12, 1.0, 2.0, 24.0, 72.0])
PERIODS_YR = np.array([1.0, 10.0, 100.0])
DEPTH_MM = np.array([[8.0, 15.0, 22.0], [25.0, 45.0, 65.0], [30.0, 55.0, 80.0],
                     [60.0, 110.0, 160.0], [70.0, 130.0, 190.0]])  # fmt: skip


def table(**more: Any) -> DepthDurationFrequency:
    return DepthDurationFrequency(HOURS_H, PERIODS_YR, DEPTH_MM, Series.PARTIAL_DURATION, **more)


@pytest.fixture
def clay(demo_sites: Path) -> Home:
    return load_home(demo_sites / "split_level_on_clay.toml")


@pytest.fixture
def creek(demo_sites: Path) -> Home:
    return load_home(demo_sites / "row_house_near_creek.toml").changed(visit=())


# ---- from the runs to what is said of a storm ---------------------------------------------------


def test_every_figure_of_a_storm_is_that_of_its_runs() -> None:
    """Ten draws and two storms; each figure has numbers of its own, so none stands for another."""
    rank = np.arange(1.0, 11.0)
    rows = np.array([rank, rank + 100.0])
    each = {item.name: rows + 1000.0 * k for k, item in enumerate(fields(StormRuns))}
    # by hand: in the first storm 3 of 10 hear the alarm and 1 of 10 floods, in the second 8 and 6
    each["alarms"] = np.array([rank <= 3, rank <= 8]).astype(float)
    each["floods"] = np.array([rank <= 1, rank <= 6]).astype(float)
    each["joint_wet"] = np.array([rank <= 2, rank <= 4]).astype(float)
    each["joint_first"] = np.array([rank <= 5, rank <= 7]).astype(float)
    depth = np.zeros((2, 10, len(HOURS_AFTER)))
    for storm in range(2):
        for hour in range(len(HOURS_AFTER)):
            depth[storm, : 2 + hour, hour] = 0.01 * (1 + storm) + 0.001 * hour
    each["depth_m"] = depth
    # windows and parts told apart by thousands and tens of thousands
    window, part = np.arange(2.0)[:, None] * 1e4, np.arange(len(PitPart)) * 1e3
    each["pit_water_m3"] = rows[:, :, None, None] + window + part
    rain = [Hyetograph(np.array([10.0, 20.0]), 300.0), Hyetograph(np.array([15.0, 25.0]), 300.0)]
    storms = tuple(StormToRun(p, 24.0, r, 0.1) for p, r in zip((10.0, 100.0), rain, strict=True))
    traces: Any = ("first", "second")
    shown: Any = SimpleNamespace(traces=traces)
    first, second = storm_answers(StormRuns(**each), storms, shown)
    assert (first.return_period_yr, second.return_period_yr) == (10.0, 100.0)
    assert (first.depth_mm, second.depth_mm, first.duration_h) == (30.0, 40.0, 24.0)
    assert (first.pump_working.alarm_share, second.pump_working.alarm_share) == pytest.approx(
        (0.3, 0.8)
    )
    assert (
        first.pump_working.floor_dry_share,
        second.pump_working.floor_dry_share,
    ) == pytest.approx((0.9, 0.4))
    assert (first.pump_working.joint_share, second.pump_working.joint_share) == pytest.approx(
        (0.2, 0.4)
    )
    assert (
        first.worst_stop.joint_first_share,
        second.worst_stop.joint_first_share,
    ) == pytest.approx((0.5, 0.7))
    assert (first.trace, second.trace) == traces
    names = {
        "pump_working.peak_inflow_m3_s": "peak_m3_s", "pump_working.peak_use": "peak_use",
        "pump_working.highest_level_m": "highest_level_m",
        "pump_working.starts_per_hour": "starts_per_hour",
        "worst_stop.to_floor_s": "worst_s", "worst_stop.to_alarm_s": "to_alarm_s",
        "worst_stop.to_rim_s": "rim_worst_s", "worst_stop.to_joint_s": "joint_worst_s",
        "typical_to_floor_s": "typical_s", "dead_before.rain_to_alarm_s": "dead_to_alarm_s",
        "dead_before.alarm_to_floor_s": "dead_alarm_to_floor_s",
        "dead_before.rain_to_floor_s": "dead_from_rain_s",
    }  # fmt: skip
    for row, answer in enumerate((first, second)):
        for field, name in names.items():
            # of ten draws in order the first, fifth and ninth are the 10, 50 and 90 % points
            wanted = each[name][row][[0, 4, 8]]
            found = attrgetter(field)(answer)
            assert [found.low, found.median, found.high] == list(wanted), field
        np.testing.assert_array_equal(answer.worst_stop.to_floor_by_draw_s, each["worst_s"][row])
        for k, item in enumerate(PitPart):
            for water, more in (
                (answer.water_to_pit.first_day_m3, 0.0),
                (answer.water_to_pit.next_days_m3, 1e4),
            ):
                assert water[item].median == 100.0 * row + 5.0 + more + 1e3 * k, item
        assert list(answer.worst_stop.depth_after_m) == [1.0, 3.0, 6.0, 12.0]
        for k, told in enumerate(answer.worst_stop.depth_after_m.values()):
            assert told.share == pytest.approx((2 + k) / 10) and told.if_any is not None
            assert told.if_any.median == pytest.approx(0.01 * (1 + row) + 0.001 * k)


def test_each_draw_counts_with_its_worst_storm_of_its_return_period_or_commoner() -> None:
    """Two durations, two return periods, two draws; the second duration is that of the day."""
    short = {item.name: np.array([[1.0, 8.0], [2.0, 3.0]]) for item in fields(StormRuns)}
    day = {item.name: np.array([[4.0, 5.0], [3.0, 7.0]]) for item in fields(StormRuns)}
    for each in (short, day):
        each["depth_m"] = each["depth_m"][:, :, None]
        each["pit_water_m3"] = each["pit_water_m3"][:, :, None, None]
    short |= {
        "to_alarm_s": np.array([[9.0, 7.0], [6.0, 8.0]]),
        "joint_first": np.array([[0, 1], [1, 0]]),
    }
    day |= {
        "to_alarm_s": np.array([[2.0, 3.0], [1.0, 4.0]]),
        "joint_first": np.array([[1, 0], [0, 1]]),
    }
    # of a pump dead before: from the rain to the floor, to the alarm, and from there to the floor
    short |= {
        "dead_from_rain_s": np.array([[9.0, 8.0], [9.0, 3.0]]),
        "dead_to_alarm_s": np.array([[1.0, 2.0], [1.0, 1.0]]),
        "dead_alarm_to_floor_s": np.array([[8.0, 6.0], [8.0, 2.0]]),
    }  # fmt: skip
    day |= {
        "dead_from_rain_s": np.array([[7.0, 9.0], [6.0, 5.0]]),
        "dead_to_alarm_s": np.array([[4.0, 5.0], [5.0, 4.0]]),
        "dead_alarm_to_floor_s": np.array([[3.0, 4.0], [1.0, 1.0]]),
    }  # fmt: skip
    found = pooled([StormRuns(**short), StormRuns(**day)], 1)
    for name in (
        "peak_m3_s", "peak_use", "alarms", "floods", "highest_level_m", "starts_per_hour",
        "joint_wet",
    ):  # fmt: skip
        # worst of both durations: (4, 8) and (3, 7); of the rarer storm never less than before
        assert getattr(found, name).tolist() == [[4.0, 8.0], [4.0, 8.0]], name
    # the least time is the worst
    assert found.worst_s.tolist() == [[1.0, 5.0], [1.0, 3.0]]
    assert found.dead_from_rain_s.tolist() == [[7.0, 8.0], [6.0, 3.0]]
    # of the same storms: the day's for the first draw, the short ones for the second
    assert found.dead_to_alarm_s.tolist() == [[4.0, 2.0], [5.0, 1.0]]
    assert found.dead_alarm_to_floor_s.tolist() == [[3.0, 6.0], [1.0, 2.0]]
    # with the least time to the floor, of 1, 5, 1 and 3 s: the first draw's short storm of the
    # commoner return period twice, the second's day and then its short storm
    assert found.to_alarm_s.tolist() == [[9.0, 3.0], [9.0, 8.0]]
    assert found.joint_first.tolist() == [[0.0, 0.0], [0.0, 0.0]]
    assert found.typical_s.tolist() == [[4.0, 5.0], [3.0, 5.0]]  # of the day alone
    assert found.depth_m[:, :, 0].tolist() == [[4.0, 5.0], [4.0, 7.0]]  # of the day, and no less
    assert found.pit_water_m3[:, :, 0, 0].tolist() == [[4.0, 5.0], [3.0, 7.0]]  # its parts add up


def test_where_the_floor_stays_dry_the_earliest_alarm_counts() -> None:
    """Five draws, two storms: never in both, the alarm earlier in either; in one; no alarm in the
    first, and in neither."""
    never = np.inf
    same = {item.name: np.zeros((1, 5)) for item in fields(StormRuns)}
    same |= {"depth_m": np.zeros((1, 5, 4)), "pit_water_m3": np.zeros((1, 5, 2, 8))}
    short = same | {
        "worst_s": np.array([[never, never, never, never, never]]),
        "to_alarm_s": np.array([[50.0, 40.0, 60.0, never, never]]),
    }
    day = same | {
        "worst_s": np.array([[never, never, 900.0, never, never]]),
        "to_alarm_s": np.array([[40.0, 50.0, 70.0, 80.0, never]]),
        "joint_first": np.array([[0.0, 0.0, 1.0, 0.0, 0.0]]),
    }
    found = pooled([StormRuns(**short), StormRuns(**day)], 1)
    assert found.to_alarm_s.tolist() == [[40.0, 40.0, 70.0, 80.0, never]]
    assert found.joint_first.tolist() == [[0.0, 0.0, 1.0, 0.0, 0.0]]


# ---- from the storms to the runs ----------------------------------------------------------------


def test_storms_are_rained_on_every_draw_with_its_own_spread(
    clay: Home, monkeypatch: pytest.MonkeyPatch
) -> None:
    """Inflow is given by hand; what it was asked for, and what is made of it, is looked at."""
    homes = draw_homes(clay, 16, 1)
    pit = pit_of(homes)
    asked: dict[str, Any] = {}

    def inflow(
        ground: Ground, rain: FloatArray, step_s: float, factor: FloatArray, marked: IntArray,
        counted: IntArray,
    ) -> Water:  # fmt: skip
        assert counted.size == 0  # no parts of the water are asked for
        flow = np.zeros(rain.shape)
        flow[:16, 3], flow[16:, 5] = 2e-4, 6e-4
        none = np.zeros((32, 4))
        wall = WallWater(flow, np.zeros_like(flow), step_s, none, np.ones((32, 4)), {})
        arriving = footing_water(wall)
        free = free_drainage(
            ground.footing, arriving, ground.footing.level_m[:, 0], 0 * ground.lot_m3, marked
        )
        asked.update(rain=rain, step_s=step_s, factor=factor, free=free, n=ground.n_draws)
        return Water(wall, arriving, free, 0 * ground.lot_m3, marked)

    monkeypatch.setattr(storm_water, "water_of", inflow)
    burst: Any = SimpleNamespace(
        place=np.array([1, 0]), rain_mm=lambda score: np.stack([score + 10.0, score + 20.0], axis=1)
    )
    storms = [
        StormToRun(10.0, 24.0, Hyetograph(np.array([1.0, 2.0, 3.0]), 300.0), 0.1),
        StormToRun(100.0, 24.0, Hyetograph(np.array([4.0, 5.0, 6.0, 7.0]), 300.0), 0.3, burst),
    ]
    found = run_storms(homes, pit, storms, ground_of(homes), Clock.ALARM, with_depth=False)
    assert (asked["n"], asked["step_s"]) == (32, 300.0)
    np.testing.assert_allclose(np.log(asked["factor"][:16]), 0.1 * homes.rain_score)
    np.testing.assert_allclose(np.log(asked["factor"][16:]), 0.3 * homes.rain_score)
    assert np.all(asked["rain"][:16, :5] == [1.0, 2.0, 3.0, 0.0, 0.0])
    np.testing.assert_allclose(asked["rain"][16:, 1], homes.burst_score + 10.0)
    np.testing.assert_allclose(asked["rain"][16:, 0], homes.burst_score + 20.0)
    assert np.all(asked["rain"][16:, 2:5] == [6.0, 7.0, 0.0])
    lifted = pump_flow_of(homes, -homes["on_depth_m"][:, None])[:, 0]
    peak = asked["free"].to_pit_m3_s.max(axis=1).reshape(2, 16)
    np.testing.assert_allclose(found.peak_m3_s, peak)
    np.testing.assert_allclose(found.peak_use, peak / lifted)
    # a few minutes of a third of what the pump lifts: no alarm, and starts of a handful
    assert not found.alarms.any() and not found.floods.any()
    assert np.all(found.highest_level_m < -homes["alarm_depth_m"])
    assert np.all(found.starts_per_hour[1] <= 20)


def test_a_pump_that_lifts_nothing_is_used_without_end(clay: Home) -> None:
    homes = draw_homes(clay, 16, 1)
    pit = pit_of(homes)
    dead = replace(pit, pump_m3_s=np.zeros_like(pit.pump_m3_s))
    storms = storms_to_run(table(), (10.0,), Pattern.ALTERNATING_BLOCK, 300.0)[0]
    assert np.isinf(run_storms(homes, dead, storms, ground_of(homes)).peak_use).all()


@pytest.mark.parametrize("clock", [Clock.STOP, Clock.ALARM])
@pytest.mark.parametrize("name", ["split_level_on_clay", "home_just_met"])
def test_giving_up_stops_that_take_longer_leaves_the_least_time_as_it_is(
    demo_sites: Path, name: str, clock: Clock
) -> None:
    homes = draw_homes(load_home(demo_sites / f"{name}.toml"), 32, 1)
    pit, ground = pit_of(homes), ground_of(homes)
    wetted = 0
    for storms in storms_to_run(table(), (2.0, 100.0), Pattern.ALTERNATING_BLOCK, 300.0):
        every = run_storms(homes, pit, storms, ground, clock, with_depth=False)
        least = run_storms(homes, pit, storms, ground, clock, with_depth=False, least_only=True)
        for field in fields(StormRuns):
            one, other = getattr(every, field.name), getattr(least, field.name)
            if field.name in ("typical_s", "rim_worst_s", "joint_worst_s", "joint_first"):
                assert np.isnan(other).all()
            elif field.name == "to_alarm_s":  # where the floor stays dry nobody asks for it
                wet = np.isfinite(every.worst_s)
                np.testing.assert_array_equal(one[wet], other[wet])
                wetted += int(wet.sum())
            else:
                np.testing.assert_array_equal(one, other, err_msg=field.name)
    assert wetted > 32


def test_the_spread_of_a_depth_is_that_of_the_limits_of_its_table() -> None:
    wide = table(lower_mm=DEPTH_MM / 1.3, upper_mm=DEPTH_MM * 1.3)
    for alike in storms_to_run(wide, PERIODS_YR, Pattern.ALTERNATING_BLOCK, 300.0):
        for storm in alike:  # 90 % limits lie 1.645 standard deviations from the middle
            assert storm.log_sd == pytest.approx(np.log(1.3) / stats.norm.ppf(0.95), rel=1e-6)
    for alike in storms_to_run(table(), PERIODS_YR, Pattern.ALTERNATING_BLOCK, 300.0):
        assert {storm.log_sd for storm in alike} == {0.1}  # as it is said of tables without limits


def test_storms_of_more_than_a_day_have_longer_steps_and_each_has_its_depth() -> None:
    storms = storms_to_run(table(), (1.0, 100.0), Pattern.ALTERNATING_BLOCK, 300.0)
    assert [alike[0].duration_h for alike in storms] == [2.0, 24.0, 72.0]
    assert [alike[0].rain.step_s for alike in storms] == [300.0, 300.0, 900.0]
    for alike, row in zip(storms, (2, 3, 4), strict=True):
        assert [storm.return_period_yr for storm in alike] == [1.0, 100.0]
        for storm, column in zip(alike, (0, 2), strict=True):
            assert storm.rain.depth_mm.sum() == pytest.approx(DEPTH_MM[row, column])
            assert storm.rain.depth_mm.size * storm.rain.step_s == storm.duration_h * 3600.0


# ---- the answer ---------------------------------------------------------------------------------


def test_an_answer_holds_what_it_rests_on(creek: Home) -> None:
    levels = WaterLevels("levels", np.arange(3), np.array([-1.0, -1.1, -1.2]))
    rain = DesignRain(table(notes=("of three stations",)), levels=levels)
    settings = Settings((1.0, 10.0, 100.0), 10.0, n_draws=16, seed=3)
    answer = assess(creek, rain, settings)
    assert answer.home is creek and answer.settings == settings and answer.rain is rain.used
    assert answer.levels is levels and answer.weather is None
    assert "of three stations" in answer.warnings
    assert answer.headline_storm is answer.storms[1]
    assert [storm.return_period_yr for storm in answer.storms] == [1.0, 10.0, 100.0]


def test_the_ground_before_is_that_of_the_home_and_the_days_and_levels_of_its_place(
    creek: Home, monkeypatch: pytest.MonkeyPatch
) -> None:
    levels = WaterLevels("levels", np.arange(3), np.array([-1.0, -1.1, -1.2]))
    weather: Any = SimpleNamespace(whose="of the place")
    before = AntecedentGround()
    asked: list[object] = []

    def ground(*of: object) -> tuple[AntecedentGround, tuple[str, ...]]:
        asked.extend(of)
        return before, ("The ground was looked at.",)

    monkeypatch.setattr(assessment, "antecedent_ground", ground)
    rain = DesignRain(table(), weather=weather, levels=levels)
    answer = assess(creek, rain, Settings((10.0,), n_draws=16))
    assert asked[0] is creek and asked[1] is weather and asked[2] is levels
    assert answer.antecedent is before and answer.weather is weather
    assert "The ground was looked at." in answer.warnings


def test_dry_weather_is_ground_water_alone(creek: Home) -> None:
    creek = creek.changed(ground__dry_inflow="unknown", ground__water_table_depth="-30 in")
    answer = assess(creek, table(), Settings((1.0, 10.0), 10.0, n_draws=16, seed=3))
    homes = draw_homes(creek, 16, 3)
    inflow = np.sort(steady_inflow_of(homes, -homes["on_depth_m"][:, None])[:, 0])
    told = answer.dry_inflow_m3_s
    # of 16 draws the 2nd, 8th and 15th are not passed by 10, 50 and 90 %
    assert [told.low, told.median, told.high] == pytest.approx(list(inflow[[1, 7, 14]]))
    times = np.sort(dry_times_s(pit_of(homes), ground_of(homes), Clock.ALARM))
    found = answer.dry_s
    assert answer.state.clock is Clock.ALARM
    assert [found.low, found.median, found.high] == list(times[[1, 7, 14]])
    # at least as long as the pit and the gravel under the slab alone take at the full inflow
    slabs = storage_of(homes)
    for i, seconds in enumerate(dry_times_s(pit_of(homes), ground_of(homes), Clock.ALARM)):
        level = np.arange(-homes["alarm_depth_m"][i], 0.0, 1e-4) + 5e-5
        area = np.zeros_like(level)
        for slab in slabs:
            low, high, across = (np.broadcast_to(value, 16)[i] for value in
                                 (slab.low_m, slab.high_m, slab.area_m2))  # fmt: skip
            area += np.where((level > low) & (level < high), across, 0.0)
        most = steady_inflow_of(homes.picked([i]), np.array([[-9.0]]))[0, 0]
        assert seconds >= area.sum() * 1e-4 / most * 0.999


@pytest.mark.parametrize(
    ("diameter", "depth", "small"),
    [("17 in", "26 in", True), ("20 in", "22 in", True), ("20 in", "26 in", False),
     ("17 in", "unknown", False), ("unknown", "22 in", False)],
)  # fmt: skip
def test_a_pit_known_to_be_small_is_remarked_on(
    clay: Home, diameter: str, depth: str, small: bool
) -> None:
    home = clay.changed(
        pit__diameter=diameter, pit__depth=depth, switch__off="18 in", switch__on="12 in"
    )
    answer = assess(home, table(), Settings((10.0,), n_draws=16))
    assert any("smaller than the 18 in by 24 in" in note for note in answer.warnings) == small


def test_what_decides_the_depths_is_told_as_never_where_no_water_comes(
    monkeypatch: pytest.MonkeyPatch,
) -> None:
    deciding: Any = "one hour of 2013"
    doubts = RecordDoubts(deciding=deciding)
    never, soon = of_512(np.inf, np.inf, np.inf, 0.62), of_512(60.0, 600.0, 6000.0)
    monkeypatch.setattr(record_doubts, "deciding_words", lambda which: f"Decided by {which}.")
    assert doubt_lines(doubts, soon, None) == []  # nothing to set beside it
    (said,) = doubt_lines(doubts, soon, never)
    assert said.startswith("Decided by one hour of 2013.")
    assert "after 10 min with that value" in said
    assert "never in 62 % of the simulated variants of the home without it" in said


def test_bursts_are_spread_evenly_over_the_draws_by_their_own_seed(clay: Home) -> None:
    scores = [draw_homes(clay, 64, seed).burst_score for seed in (1, 2)]
    for score in scores:
        np.testing.assert_allclose(
            np.sort(stats.norm.cdf(score)) * 64 - 0.5, np.arange(64), atol=1e-9
        )
    assert not np.array_equal(*scores)
    assert abs(np.corrcoef(scores[0], draw_homes(clay, 64, 1).rain_score)[0, 1]) < 0.4
