"""Past storms start from the ground that the days before each of them left."""

from __future__ import annotations

import math
from dataclasses import replace
from pathlib import Path

import numpy as np
import pytest
from fleet.company import BEGUN, HEAD
from risk.test_antecedent import slow_saturation
from risk.test_groundwater import true_level, well

from riskkit.antecedent.before_storm import GroundFrom, eve_of
from riskkit.antecedent.days import DailyWeather, daily_weather, ground_days
from riskkit.antecedent.water_table import AntecedentGround, grounds_before
from riskkit.ensemble.draws import assumptions, homes_at, median_home
from riskkit.failures.at_place import AtPlace, at_place
from riskkit.failures.past_storms import past_home_storms
from riskkit.failures.storms import second_of
from riskkit.fleet.answers import answer_row
from riskkit.fleet.past import past_storms
from riskkit.fleet.past_told import past_of_run
from riskkit.fleet.places import PlaceFiles, read_place
from riskkit.fleet.run import run_fleet
from riskkit.fleet.seeds import home_seeds
from riskkit.fleet.settings import FleetSettings
from riskkit.fleet.store import SCHEMA, read_bad_rows, read_columns
from riskkit.fleet.table import FleetHome
from riskkit.home.home import Home
from riskkit.inflow.texture import texture_water
from riskkit.quantities.distributions import spread_at
from riskkit.quantities.variables import Spread, variable
from riskkit.rainfall.readers.record import read_rain
from riskkit.rainfall.readers.temperature import DailyTemperature, read_temperature
from riskkit.records import DepthDurationFrequency, FloatArray, Hyetograph, RainRecord, Series
from riskkit.risk.clock import Clock
from riskkit.risk.critical import StormToRun
from riskkit.risk.design_rain import DesignRain
from riskkit.risk.runs import run_storms
from riskkit.simulate import ground_of

AIR, RAIN = "alder_bend_temperature.csv.gz", "alder_bend_rain.csv.gz"
TABLE = DepthDurationFrequency(
    np.array([1.0, 24.0]), np.array([1.0, 10.0, 100.0]),
    np.array([[20.0, 40.0, 60.0], [50.0, 90.0, 130.0]]), Series.PARTIAL_DURATION,
)  # fmt: skip
DRY, WET, THAWED = 419, 449, 480  # evenings of `made_up`
NAMES = ("saturation", "antecedent_recharge_mm_d", "water_table_depth_m")
SATURATION, TABLE_DEPTH = "ground.saturation", "ground.water_table_depth"


def two_metres(soil: str, **more: str) -> Home:
    """A home on one soil, 1.7 m deep, its drain 0.3 m below the floor."""
    return Home().changed(
        place__latitude=41.2, ground__soil=soil, house__depth_below_ground="1.7 m",
        ground__drain_depth="0.3 m", **more,
    )  # fmt: skip


def made_up() -> DailyWeather:
    """Days of one temperature, in which grass uses nothing, dry but for three of them.

    30 mm fall on the evening before one storm; 40 mm of snow at -5 degC lie when it thaws at 4 degC
    on the evening before another. Twenty large storms are enough to tell something.
    """
    rain, degc = np.zeros(500), np.full(500, 10.0)
    rain[WET], rain[475] = 30.0, 40.0
    degc[470:480], degc[480] = -5.0, 4.0
    eve = np.array([*range(400, 417), DRY, WET, THAWED])
    return DailyWeather(4000, rain, degc, degc, eve, 25.0, 0, np.zeros(500, np.int64))


@pytest.fixture(scope="module")
def record(demo_sites: Path) -> RainRecord:
    return read_rain(demo_sites / RAIN)


@pytest.fixture(scope="module")
def weather(demo_sites: Path, record: RainRecord) -> DailyWeather:
    return daily_weather(record, read_temperature(demo_sites / AIR))


def test_a_dry_and_a_wet_evening_and_a_thaw_by_hand() -> None:
    """Clay of 0.42 field capacity, 0.475 porosity, 0.385 effective; two metres of it.

    Dry: the soil stays at field capacity, S = 1 - (0.475 - 0.42) / 0.385 = 0.857, and nothing
    drains. Wet: of 30 mm in 0.75 m of roots exp(-24 h / tau) is still there in the evening, in two
    metres of column; the rest drained that day, which counts 1 - exp(-1/10) = 0.0952.
    Thaw: 2.74 mm/(degC day) x 4 degC = 10.96 mm of the snow instead of 30 mm of rain.
    """
    home = two_metres("clay")
    dry, wet, thaw = grounds_before(home, made_up(), None, np.array([DRY, WET, THAWED]))
    full = 1 - (0.475 - 0.42) / 0.385
    # what drains of a metre is 0.08, at the conductivity of the table for soils
    k_mm_h = float(texture_water(["clay"], 2.5).k_m_s[0]) * 3.6e6
    kept = {z: math.exp(-24 / (0.08 * z * 1000 / k_mm_h)) for z in (0.5, 0.75, 1.0)}
    assert 0.4 < kept[0.5] < kept[0.75] < kept[1.0] < 0.8
    for found, came_mm in ((dry, 0.0), (wet, 30.0), (thaw, 10.96)):
        assert found.wetness is not None and found.water_table is None
        spread = found.wetness.by_texture["clay"]
        # what fell on day 449 drains for 31 more days until the thaw
        left = {z: 30 * kept[z] ** 31 if found is thaw else 0.0 for z in kept}
        expected = [full + (came_mm + left[z]) * kept[z] / 2000 / 0.385 for z in kept]
        assert [spread.p05, spread.p50, spread.p95] == pytest.approx(expected, abs=1e-12)
        assert found.wetness.spread == spread
        drained = np.mean([(came_mm + left[z]) * (1 - kept[z]) for z in kept])
        if found is thaw:
            for day in range(31):
                then = np.mean([30 * kept[z] ** day * (1 - kept[z]) for z in kept])
                drained += then * math.exp(-0.1 * (31 - day))
        counts = drained * (1 - math.exp(-0.1))
        recharge = found.wetness.recharge_by_texture["clay"]
        assert recharge.p50 == pytest.approx(max(counts, 0.003), rel=1e-9)
        assert recharge.p05 == recharge.p50 == recharge.p95


def drawn_on_made_up(home: Home) -> tuple[AtPlace, tuple[AntecedentGround, ...]]:
    rain = DesignRain(TABLE, weather=made_up())
    drawn = at_place(home, rain, 16, 1)
    return drawn, grounds_before(drawn.home, rain.weather, None, np.array([DRY, WET]))


def storm_of(rain: FloatArray) -> StormToRun:
    return StormToRun(10.0, rain.size / 4, Hyetograph(rain, 900.0), 0.0)


def test_equal_rain_on_dry_and_on_wet_ground() -> None:
    """The same 40 mm; draw by draw the states are put in by hand, and run by themselves."""
    home = two_metres("clay")
    drawn, before = drawn_on_made_up(home)
    rain = np.zeros(84 * 4)
    rain[140:148] = 5.0
    dry, wet = past_home_storms(home, drawn, 1, [storm_of(rain), storm_of(rain)], before)
    water_m3 = []
    for found, ground in ((dry, before[0]), (wet, before[1])):
        assert ground.wetness is not None
        of_roots = ground.wetness.by_texture["clay"]  # by hand above
        score = drawn.scores[:, variable(SATURATION).column]
        saturation = spread_at(of_roots, variable(SATURATION).shape.scale, score)
        recharge = np.full(16, ground.wetness.recharge_by_texture["clay"].p50)
        table = drawn.homes_before(ground)["water_table_depth_m"]
        own = dict(zip(NAMES, (saturation, recharge, table), strict=True))
        homes = replace(drawn.homes, values={**drawn.homes.values, **own})
        there = ground_of(homes)
        run = run_storms(
            homes, drawn.pit, [storm_of(rain)], there, Clock.STOP, with_depth=False,
            least_only=True,
        )  # fmt: skip
        assert np.array_equal(found.alarms, run.alarms)
        week = np.where(run.worst_s > 7 * 86400, np.inf, run.worst_s)
        assert found.stop_to_floor_s == pytest.approx(week, rel=1e-12)
        week = np.where(run.dead_from_rain_s > 7 * 86400, np.inf, run.dead_from_rain_s)
        assert found.dead_to_floor_s == pytest.approx(week, rel=1e-12)
        assert found.highest_m == pytest.approx(run.highest_level_m, rel=1e-12)
        assert there.lot_m3.sum(axis=1) == pytest.approx(
            recharge / 86400e3 * homes["perimeter_m"] * homes["half_distance_m"]
            * (there.footing.store_share * there.footing.store_s).sum(axis=1)
        )  # fmt: skip
        water_m3.append(there.lot_m3.sum(axis=1))
    # 0.003 mm a day and 0.0952 of what drained of 30 mm, in the lot of the same home
    assert before[1].wetness is not None
    ratio = before[1].wetness.recharge_by_texture["clay"].p50 / 0.003
    assert ratio > 300 and water_m3[1] == pytest.approx(ratio * water_m3[0], rel=0.2)
    assert np.all(wet.dead_to_floor_s <= dry.dead_to_floor_s)
    assert np.any(wet.dead_to_floor_s < 0.9 * dry.dead_to_floor_s)


def test_only_the_ground_differs_and_as_in_general_it_does_not() -> None:
    for more in ({}, {"ground__water_table_depth": "4 ft"}):
        drawn, (dry, wet) = drawn_on_made_up(two_metres("clay", **more))
        assert drawn.before.wetness is not None
        again = homes_at(drawn.home, drawn.scores, drawn.before, drawn.homes.burst_score)
        assert again == drawn.homes == drawn.homes_before(drawn.before)
        for each in (dry, wet):
            homes = drawn.homes_before(each)
            changed = {
                name
                for name, values in homes.values.items()
                if not np.array_equal(values, drawn.homes[name], equal_nan=True)
            }
            assert changed == set(NAMES[:2] if more else NAMES)
            assert (homes.soil, homes.backfill) == (drawn.homes.soil, drawn.homes.backfill)
            assert np.array_equal(homes.burst_score, drawn.homes.burst_score)


def test_the_second_pump_meets_the_same_ground() -> None:
    """On wet ground its battery is empty sooner; both storms as each of them run by itself."""
    home = two_metres("clay").changed(second_pump__runs_on="battery")
    drawn, before = drawn_on_made_up(home)
    rain = np.zeros(84 * 4)
    rain[140:148] = 5.0
    both = past_home_storms(home, drawn, 1, [storm_of(rain), storm_of(rain)], before)
    lasts = []
    for found, ground in zip(both, before, strict=True):
        homes = drawn.homes_before(ground)
        there = replace(drawn, homes=homes, ground=ground_of(homes), groups=((storm_of(rain),),))
        second = second_of(home, replace(found, second=None), there, 1, None).second
        assert second is not None and found.second is not None
        for name in ("outlasts_s", "carries", "dry_outlasts_s", "overtopped"):
            assert np.array_equal(getattr(found.second, name), getattr(second, name))
        lasts.append(second.outlasts_s[0])
    assert np.all(lasts[1] <= lasts[0]) and np.mean(lasts[1] < lasts[0]) > 0.5


def test_draws_that_are_picked_stay_the_same_on_other_ground() -> None:
    home, rain, only = two_metres("clay"), DesignRain(TABLE, weather=made_up()), np.array([3, 12])
    (dry,) = grounds_before(home, rain.weather, None, np.array([DRY]))
    every, some = at_place(home, rain, 16, 1), at_place(home, rain, 16, 1, only=only)
    assert some.homes_before(dry) == every.homes_before(dry).picked(only)


def test_observed_draws_stay_the_same_homes() -> None:
    home = two_metres("clay").changed(
        observation=[{"date": "2024-05-01", "kind": "cycle", "run": "40 s", "pause": "10 min"}]
    )
    rain = DesignRain(TABLE, weather=made_up())
    drawn = at_place(home, rain, 16, 1)
    again = homes_at(drawn.home, drawn.scores, drawn.before, drawn.homes.burst_score)
    assert again == drawn.homes != at_place(two_metres("clay"), rain, 16, 1).homes


def test_an_unknown_water_table_goes_with_how_wet_the_storm_was() -> None:
    """It is deeper by -0.5 of the wetness: of the score of the storm, not of each draw.

    The wet evening is the wettest of twenty: (19 + 1/2)/20 = 0.975, a score of 1.960. Seventeen dry
    ones and that before the dry storm are alike: 18/2/20 = 0.45, a score of -0.126.
    """
    drawn, (dry, wet) = drawn_on_made_up(two_metres("clay"))
    item = variable(TABLE_DEPTH)
    wetness = drawn.scores[:, variable(SATURATION).column]
    deep = math.sqrt(1 - 0.5**2) * drawn.scores[:, item.column]
    (row,) = (row for row in assumptions(drawn.home, drawn.before) if row.key == TABLE_DEPTH)
    usual = Spread(row.p05, row.p50, row.p95, "", "")

    def depth_m(score: FloatArray) -> FloatArray:
        return np.clip(spread_at(usual, item.shape.scale, score), item.low, item.high)

    general = drawn.homes["water_table_depth_m"]
    assert general == pytest.approx(depth_m(-0.5 * wetness + deep), rel=1e-6)
    for ground, score in ((dry, -0.12566), (wet, 1.95996)):
        assert ground.wetness is not None
        assert ground.wetness.score == pytest.approx(score, abs=1e-4)
        found = drawn.homes_before(ground)["water_table_depth_m"]
        assert found == pytest.approx(depth_m(-0.5 * score + deep), rel=1e-4)
    low, high = (drawn.homes_before(each)["water_table_depth_m"] for each in (wet, dry))
    assert np.all(low <= high) and np.mean(low < high) > 0.8


def test_what_somebody_says_stays() -> None:
    drawn, (dry, wet) = drawn_on_made_up(two_metres("clay", ground__wetness="wet"))
    assert dry == wet == drawn.before == AntecedentGround()
    nowhere = Home().changed(ground__soil="clay")  # without a latitude the days tell nothing
    drawn, (dry, wet) = drawn_on_made_up(nowhere)
    assert dry == wet == drawn.before == AntecedentGround()
    assert drawn.homes_before(wet) is drawn.homes
    drawn, (dry, wet) = drawn_on_made_up(two_metres("clay", ground__water_table_depth="4 ft"))
    for each in (dry, wet):
        assert np.array_equal(
            drawn.homes_before(each)["water_table_depth_m"], drawn.homes["water_table_depth_m"]
        )


def test_each_storm_of_the_record_meets_the_soil_of_its_evening(
    record: RainRecord, weather: DailyWeather
) -> None:
    """Draw by draw, from a twin that walks the days one by one."""
    home = two_metres("loam")
    storms = past_storms(record, TABLE, 6, weather)
    days = [storm.eve.day for storm in storms]
    assert all(storm.eve.ground is GroundFrom.ITS_DAYS for storm in storms)
    for storm, day in zip(storms, days, strict=True):
        assert day is not None  # the last day that ends before the window begins
        ends = weather.dates[day + 1]
        assert ends <= storm.window < ends + np.timedelta64(1, "D")
    eve = np.array(days, np.int64)
    drawn = at_place(home, DesignRain(TABLE, weather=weather), 16, 1)
    order = np.argsort(eve)
    twin = np.array(
        [slow_saturation(replace(weather, eve=np.sort(eve)), z, 2.0) for z in (0.5, 0.75, 1.0)]
    )
    twin[:, order] = twin.copy()
    grounds = grounds_before(drawn.home, weather, None, eve)
    score = drawn.scores[:, variable(SATURATION).column]
    assert np.ptp(twin[1]) > 0.05
    for k, ground in enumerate(grounds):
        spread = Spread(*np.sort(twin[:, k]).tolist(), "", "")
        expected = spread_at(spread, variable(SATURATION).shape.scale, score)
        found = drawn.homes_before(ground)["saturation"]
        assert found == pytest.approx(expected, abs=2e-4)
        # the record cut off after that evening tells the same
        cut = slice(0, int(eve[k]) + 1)
        short = replace(
            weather, rain_mm=weather.rain_mm[cut], tmin_degc=weather.tmin_degc[cut],
            tmax_degc=weather.tmax_degc[cut], missing=weather.missing[cut], eve=eve[k : k + 1],
        )  # fmt: skip
        walked = ground_days(short, 41.2, ("loam",), 2.0)
        assert ground.wetness is not None
        of_roots = ground.wetness.by_texture["loam"]
        assert [of_roots.p05, of_roots.p50, of_roots.p95] == pytest.approx(
            np.sort(walked.saturation[0, :, 0]), rel=1e-12
        )
        weight = (1 - math.exp(-0.1)) * np.exp(-0.1 * np.arange(200))
        recharge = max(float(walked.recharge_mm[0, ::-1][:200] @ weight), 0.003)
        assert drawn.homes_before(ground)["antecedent_recharge_mm_d"] == pytest.approx(
            np.full(16, recharge), rel=1e-9
        )


def test_a_water_table_that_is_followed_stands_as_it_stood(weather: DailyWeather) -> None:
    """Its level on the evening itself, with the error of the fit and nothing else."""
    home = two_metres("silt loam", ground__water_levels="well.csv")
    eve = np.array([weather.eve[3], weather.eve[60], weather.eve[-1]])
    levels = well(home, weather, 14)
    before = grounds_before(home, weather, levels, eve)
    true = -true_level(home, weather)[eve]
    assert np.ptp(true) > 0.1
    for depth, ground in zip(true, before, strict=True):
        found = ground.water_table
        assert found is not None and found.fit is not None and found.with_wetness == 0.0
        assert found.spread.p50 == pytest.approx(depth, abs=0.1)
        assert found.spread.p95 - found.spread.p05 == pytest.approx(
            2 * 1.645 * found.fit.error_m, rel=0.03
        )
    homes = median_home(home, before[1])
    assert homes["water_table_depth_m"][0] == pytest.approx(true[1], abs=0.1)
    # remembered only: wetter and drier evenings, between or about the two seasons
    told = two_metres("silt loam", ground__water_table_spring="1 m",
                      ground__water_table_autumn="2 m")  # fmt: skip
    remembered = [each.water_table for each in grounds_before(told, weather, None, eve)]
    middle = np.array([each.spread.p50 for each in remembered if each is not None])
    assert middle.size == 3 and np.corrcoef(middle, true)[0, 1] > 0.9


def test_whether_its_days_tell_of_a_storm() -> None:
    days = made_up()
    first = days.dates[0]
    at = eve_of(days, first + np.timedelta64(450, "D") + np.timedelta64(13, "h"))
    assert (at.ground, at.day) == (GroundFrom.ITS_DAYS, 449)
    assert eve_of(days, first + np.timedelta64(450, "D")).day == 449
    assert eve_of(days, first + np.timedelta64(449, "D") + np.timedelta64(23, "h")).day == 448
    thaw = eve_of(days, first + np.timedelta64(481, "D"))
    assert thaw.snow_mm == pytest.approx(40 - 10.96) and not thaw.may_be_frozen
    assert eve_of(days, first + np.timedelta64(365, "D")).ground is GroundFrom.ITS_DAYS
    assert eve_of(days, first + np.timedelta64(364, "D")).ground is GroundFrom.FIRST_YEAR
    assert eve_of(days, first + np.timedelta64(500, "D")).day == 499
    for far in (-5, 0, 501):
        assert eve_of(days, first + np.timedelta64(far, "D")).ground is GroundFrom.NO_DAYS
    assert eve_of(None, first).ground is GroundFrom.NO_DAYS
    gap = days.missing.copy()
    gap[400] = 1
    lost = replace(days, missing=gap)
    assert eve_of(lost, first + np.timedelta64(400, "D")).ground is GroundFrom.ITS_DAYS
    assert eve_of(lost, first + np.timedelta64(401, "D")).ground is GroundFrom.MISSING_DAYS
    assert eve_of(lost, first + np.timedelta64(460, "D")).ground is GroundFrom.MISSING_DAYS
    assert eve_of(lost, first + np.timedelta64(461, "D")).ground is GroundFrom.ITS_DAYS
    few = replace(days, eve=days.eve[:19])
    assert eve_of(few, first + np.timedelta64(450, "D")).ground is GroundFrom.FEW_STORMS


def files(demo_sites: Path, *, air: bool = True) -> PlaceFiles:
    return PlaceFiles(
        record=str((demo_sites / RAIN).absolute()),
        temperature=str((demo_sites / AIR).absolute()) if air else "",
    )


def test_a_run_with_temperatures(tmp_path: Path, demo_sites: Path, weather: DailyWeather) -> None:
    """Homes that leave rain to the run get its days; how many storms and rows changes nothing."""
    rows = ("A,,,41.20,-88.60,138,,,clay,,,\n", "B,,,41.25,-88.60,,,,loam,,,\n",
            "C,,,,,138,,,clay,,,\n")  # fmt: skip
    (tmp_path / "homes.csv").write_text(HEAD + "".join(rows), "utf-8")
    found, kept = {}, {}
    for name, past, size, workers, air in (
        ("three", 3, 50, 0, True), ("by two workers", 3, 1, 2, True), ("two", 2, 1, 0, True),
        ("none", 2, 50, 0, False),
    ):  # fmt: skip
        settings = FleetSettings(16, past=past, even_rain=True, day=BEGUN)
        run_fleet(
            tmp_path / "homes.csv", tmp_path / name, settings, part_size=size, workers=workers,
            usual=files(demo_sites, air=air),
        )  # fmt: skip
        assert not list(read_bad_rows(tmp_path / name))
        found[name] = {
            row["id"]: row
            for part in read_columns(tmp_path / name, SCHEMA.names)
            for row in part.to_pylist()
        }
        kept[name] = past_of_run(tmp_path / name)
    assert [storm.ground for storm in kept["three"]] == ["its days"] * 3
    assert [storm.ground for storm in kept["none"]] == ["no daily temperatures"] * 2
    assert found["by two workers"] == found["three"]
    assert kept["by two workers"] == kept["three"]
    for home in "ABC":
        three, two = (found[name][home] for name in ("three", "two"))
        assert three["wet"][: 4 * 16] == two["wet"] and three["alarms"][: 4 * 16] == two["alarms"]
        for column in ("dead_to_floor_s", "stop_to_floor_s"):
            # all storms of a place are followed in the same steps, which their peaks decide
            assert three[column][: 4 * 16] == pytest.approx(two[column], rel=0.01)
        assert three["chance_mean"] == two["chance_mean"]


def test_the_answer_of_a_home_takes_each_storm_with_its_own_evening(
    demo_sites: Path, weather: DailyWeather
) -> None:
    settings = FleetSettings(16, past=3, even_rain=True, day=BEGUN)
    place = read_place(files(demo_sites), 1, 3)
    home = FleetHome("A", 1, two_metres("silt loam"))
    row = answer_row(home, place, settings)
    drawn = at_place(home.home, place.rain, 16, home_seeds("A", "", place.name, 1))
    day = weather.first_day
    eve = np.array([
        int(storm.window.astype("datetime64[D]").astype(np.int64)) - 1 - day
        for storm in place.past
    ])  # fmt: skip
    expected = past_home_storms(
        home.home, drawn, home_seeds("A", "", place.name, 1),
        [replace(storm_of(storm.rain.depth_mm), rain=storm.rain,
                 return_period_yr=float(np.exp(storm.log_period))) for storm in place.past],
        grounds_before(drawn.home, weather, None, eve),
    )  # fmt: skip
    found = np.array(row["dead_to_floor_s"]).reshape(5, 16)[2:]
    assert np.array_equal(found, np.array([one.dead_to_floor_s[0] for one in expected]))
    assert np.isfinite(found).sum() > 10


def test_a_home_takes_the_temperatures_of_the_run(demo_sites: Path) -> None:
    place = read_place(files(demo_sites), 1, 2)
    home = two_metres("clay")
    named = home.changed(rain__temperature=AIR, rain__record=RAIN)
    drawn, said = (at_place(each, place.rain, 16, 1) for each in (home, named))
    assert drawn.before.wetness is not None and drawn.before == said.before
    assert drawn.homes == said.homes


def test_a_record_without_temperatures_of_its_time(record: RainRecord) -> None:
    first = np.datetime64("2014-06-01", "D").astype(np.int64)
    air = DailyTemperature(int(first), np.full(2000, 5.0), np.full(2000, 15.0))
    short = daily_weather(record, air)
    grounds = {storm.name: storm.eve.ground for storm in past_storms(record, TABLE, 10, short)}
    assert GroundFrom.NO_DAYS in grounds.values()
    assert grounds["2014-06-09"] is GroundFrom.FIRST_YEAR
