"""Wetness before large storms: found, weighed, and used where nobody says it."""

import math
from dataclasses import replace
from pathlib import Path

import numpy as np
import pytest

from riskkit.antecedent.days import DailyWeather, daily_weather, ground_days
from riskkit.antecedent.water_table import AntecedentGround
from riskkit.antecedent.wetness import antecedent_wetness
from riskkit.assessment import DesignRain, Settings, assess, design_rain
from riskkit.ensemble.draws import draw_homes
from riskkit.errors import InputError
from riskkit.home.home import Home, load_home
from riskkit.quantities.quantity import Basis
from riskkit.rainfall.readers.record import read_rain
from riskkit.rainfall.readers.temperature import DailyTemperature, read_temperature
from riskkit.records import RainRecord

AIR = "alder_bend_temperature.csv.gz"
FAST = Settings(n_draws=64, return_periods_yr=(10.0,))


@pytest.fixture(scope="module")
def record(demo_sites: Path) -> RainRecord:
    return read_rain(demo_sites / "alder_bend_rain.csv.gz")


@pytest.fixture(scope="module")
def weather(demo_sites: Path, record: RainRecord) -> DailyWeather:
    return daily_weather(record, read_temperature(demo_sites / AIR))


def test_the_evening_before_is_before_the_storm(weather: DailyWeather) -> None:
    dates, rain = weather.dates, weather.rain_mm
    assert weather.eve.size > 100 and weather.n_unsure == 0
    for eve in weather.eve:  # the storm fits into the days after it
        assert rain[eve + 1 : eve + 5].sum() > 0.9 * weather.big_mm
    assert dates[weather.eve[0]] > np.datetime64("1981-12-30")
    # nothing that falls in the storm or later is known on the evening before
    later = rain.copy()
    later[weather.eve[40] + 1 :] = 200.0
    flooded = replace(weather, rain_mm=later)
    for place in (weather, flooded):
        full = ground_days(place, 41.2, ("loam",), 2.0).saturation
        assert full[0, :, 40] == pytest.approx(
            ground_days(weather, 41.2, ("loam",), 2.0).saturation[0, :, 40], rel=1e-12
        )


def slow_saturation(weather: DailyWeather, roots_m: float, column_m: float) -> list[float]:
    """Loam on every evening before a large storm, a day at a time."""
    taw, brim, ks = 140 * roots_m, 320 * roots_m, 15.48  # mm, mm, mm/h
    keep = math.exp(-86400 / (0.18 * roots_m * 1000 / ks * 3600))
    store, pack, found = taw, 0.0, []
    eves = set(weather.eve.tolist())
    phi = math.radians(41.2)
    for i, (rain, low, high) in enumerate(
        zip(weather.rain_mm, weather.tmin_degc, weather.tmax_degc, strict=True)
    ):
        mean = (low + high) / 2
        liquid = rain * min(1, max(0, (mean + 1) / 4))
        pack += rain - liquid
        melt = min(pack, 2.74 * max(mean, 0) + liquid * max(mean, 0) / 80)
        pack -= melt
        j = weather.dates[i].astype(object).timetuple().tm_yday
        delta = 0.409 * math.sin(2 * math.pi * j / 365 - 1.39)
        ws = math.acos(-math.tan(phi) * math.tan(delta))
        sun = ws * math.sin(phi) * math.sin(delta) + math.cos(phi) * math.cos(delta) * math.sin(ws)
        sun *= 24 * 60 / math.pi * 0.082 * (1 + 0.033 * math.cos(2 * math.pi * j / 365))
        eto = max(0, 0.0023 * (mean + 17.8) * math.sqrt(high - low) * 0.408 * sun)
        demand = 0.0 if pack > 0 else 0.95 * eto
        store = min(store + liquid + melt, brim)
        p = min(0.8, max(0.1, 0.4 + 0.04 * (5 - demand)))
        store -= min(store, demand * min(1, store / ((1 - p) * taw)))
        store -= max(0.0, store - taw) * (1 - keep)
        if i in eves:
            content = (0.14 + store / 1000 / roots_m) * roots_m / column_m
            content += 0.28 * (1 - roots_m / column_m)
            found.append(1 - (0.463 - content) / 0.434)
    return found


def test_saturation_is_that_of_a_slow_twin(weather: DailyWeather) -> None:
    full = ground_days(weather, 41.2, ("loam",), 2.0).saturation
    for k, roots_m in enumerate((0.5, 0.75, 1.0)):
        assert full[0, k] == pytest.approx(slow_saturation(weather, roots_m, 2.0), abs=1e-4)


def test_clay_is_wetter_than_sand_and_spring_wetter_than_summer(weather: DailyWeather) -> None:
    found = antecedent_wetness(weather, 41.2, {"sand": 0.3, "loam": 0.4, "clay": 0.3}, 2.0)
    assert found is not None
    each = [found.by_texture[name] for name in ("sand", "loam", "clay")]
    assert each[0].p95 < each[1].p05 and each[1].p95 < each[2].p05
    for spread in (*each, found.spread):
        assert 0 < spread.p05 < spread.p50 < spread.p95 < 1
    assert found.spread.p05 < each[0].p95 and found.spread.p95 > each[2].p05
    months = {month.month: month for month in found.months}
    assert months[4].p50 > months[7].p50
    assert sum(month.n_storms for month in found.months) == found.n_storms == weather.eve.size
    assert (
        f"from {found.n_storms} days before storms above 37 mm in the record" in found.spread.words
    )
    assert 0 <= found.frozen_share < 0.1 and 0 <= found.snow_share < 0.2


def test_one_soil_is_its_own_quantiles(weather: DailyWeather) -> None:
    found = antecedent_wetness(weather, 41.2, {"clay": 1.0}, 2.0)
    assert found is not None and found.spread == found.by_texture["clay"]
    values = ground_days(weather, 41.2, ("clay",), 2.0).saturation
    expected = np.quantile(values, [0.05, 0.5, 0.95], method="hazen")
    assert [found.spread.p05, found.spread.p50, found.spread.p95] == pytest.approx(expected)


def test_more_rain_and_colder_days_never_leave_drier_soil(weather: DailyWeather) -> None:
    base = ground_days(weather, 41.2, ("silt loam",), 2.0).saturation
    more = replace(weather, rain_mm=weather.rain_mm * 1.2)
    wetter = ground_days(more, 41.2, ("silt loam",), 2.0).saturation
    assert (wetter >= base - 1e-12).mean() > 0.97  # rain may fall as snow that melts later
    assert wetter.mean() > base.mean()


def test_missing_days_leave_storms_out(record: RainRecord, demo_sites: Path) -> None:
    air = read_temperature(demo_sites / AIR)
    all_of_them = daily_weather(record, air)
    low = air.tmin_degc.copy()
    eve = int(all_of_them.eve[50])
    low[eve - 3 : eve] = np.nan  # short: bridged
    same = daily_weather(record, DailyTemperature(air.first_day, low, air.tmax_degc))
    assert same.eve.size == all_of_them.eve.size
    low[eve - 30 : eve - 10] = np.nan
    fewer = daily_weather(record, DailyTemperature(air.first_day, low, air.tmax_degc))
    assert eve not in fewer.eve and fewer.n_unsure >= 1
    assert fewer.eve.size + fewer.n_unsure == all_of_them.eve.size
    depth = record.depth_mm.copy()
    depth[(eve - 20) * 24 : (eve - 20) * 24 + 12] = np.nan
    lost = daily_weather(replace(record, depth_mm=depth), air)
    assert eve not in lost.eve


def test_no_common_day_is_refused_and_a_short_record_says_nothing(
    record: RainRecord, demo_sites: Path
) -> None:
    air = read_temperature(demo_sites / AIR)
    late = DailyTemperature(air.first_day + 30_000, air.tmin_degc, air.tmax_degc)
    with pytest.raises(InputError, match="no day in common"):
        daily_weather(record, late)
    short = daily_weather(record, DailyTemperature(air.first_day, air.tmin_degc[:900],
                                                   air.tmax_degc[:900]))  # fmt: skip
    assert 0 < short.eve.size < 20
    assert antecedent_wetness(short, 41.2, {"loam": 1.0}, 2.0) is None
    home = Home().changed(place__latitude=41.2, rain__temperature="air.csv")
    rain = design_rain(Home().changed(rain__record="alder_bend_rain.csv.gz"), demo_sites)
    answer = assess(home, DesignRain(rain.used, weather=short), FAST)
    assert answer.antecedent.wetness is None
    assert any("too few to tell how wet the soil is" in note for note in answer.warnings)
    forgotten = assess(home, rain.used, FAST)
    assert any("were not used" in note for note in forgotten.warnings)


def test_frozen_ground_is_told(demo_sites: Path, weather: DailyWeather) -> None:
    cold = replace(
        weather, tmin_degc=weather.tmin_degc - 6, tmax_degc=weather.tmax_degc - 6,
        rain_mm=weather.rain_mm * (weather.mean_degc > 5),
    )  # fmt: skip
    home = load_home(demo_sites / "home_just_met.toml")
    rain = design_rain(home, demo_sites)
    answer = assess(home, replace(rain, weather=cold), FAST)
    assert answer.antecedent.wetness is not None and answer.antecedent.wetness.frozen_share > 0.05
    assert any("may have been frozen" in note for note in answer.warnings)
    mild = assess(home, rain, FAST)
    assert not any("frozen" in note for note in mild.warnings)


def saturation(home: Home, folder: Path) -> tuple[float, float, float, Basis, str]:
    answer = assess(home, design_rain(home, folder), FAST)
    row = next(row for row in answer.assumptions if row.key == "ground.saturation")
    return row.p05, row.p50, row.p95, row.basis, row.rationale


def test_the_record_tells_what_nobody_says_and_a_person_beats_it(demo_sites: Path) -> None:
    home = load_home(demo_sites / "home_just_met.toml")
    assert home.rain.temperature == AIR
    *points, basis, why = saturation(home, demo_sites)
    assert basis is Basis.UNKNOWN and why.startswith("from 166 days before storms above 37 mm")
    assert points == sorted(points) and points[1] < 0.65
    clay_loam = home.changed(ground__wetness="wet", ground__soil="clay loam")
    *points, basis, _ = saturation(clay_loam, demo_sites)
    assert points == pytest.approx([0.73, 0.84, 0.97]) and basis is Basis.GIVEN
    *points, basis, _ = saturation(home.changed(ground__saturation="60 %"), demo_sites)
    assert points[1] == 0.6 and basis is Basis.GIVEN
    without = home.changed(rain__temperature=None)
    *points, _, _ = saturation(without.changed(ground__soil="clay loam"), demo_sites)
    assert points == pytest.approx([0.55, 0.73, 0.87])


def test_each_draw_has_the_wetness_of_its_own_soil(weather: DailyWeather) -> None:
    home = Home()
    found = antecedent_wetness(weather, 41.2, {"sand": 0.5, "clay": 0.5}, 2.0)
    assert found is not None
    felt = home.changed(ground__backfill="clay")
    drawn = draw_homes(felt, 512, 1, AntecedentGround(found))
    middle = np.median(drawn["saturation"])
    assert middle == pytest.approx(found.by_texture["clay"].p50, abs=0.01)
    assert np.quantile(drawn["saturation"], 0.95) == pytest.approx(
        found.by_texture["clay"].p95, abs=0.01
    )
    plain = draw_homes(felt, 512, 1)
    for name, values in drawn.values.items():  # nothing else moves, but what the same days left
        if name not in ("saturation", "antecedent_recharge_mm_d"):
            assert np.array_equal(values, plain[name], equal_nan=True)


def test_the_answer_moves(demo_sites: Path) -> None:
    """On sand the record says much drier than the default: more goes into the ground unseen."""
    home = load_home(demo_sites / "bungalow_on_sand.toml").changed(
        ground__wetness="unknown", rain__temperature=AIR
    )
    rain = design_rain(home, demo_sites)
    told, default = (assess(home, r, FAST).headline_storm for r in (rain, rain.used))
    assert told.pump_working.peak_inflow_m3_s.median != default.pump_working.peak_inflow_m3_s.median
    ratio = told.pump_working.peak_inflow_m3_s.median / default.pump_working.peak_inflow_m3_s.median
    assert 0.8 < ratio < 1.25


def test_temperatures_need_a_record_and_a_latitude(demo_sites: Path, tmp_path: Path) -> None:
    path = tmp_path / "home.toml"
    path.write_text(f'[rain]\nrecord = "x.csv"\ntemperature = "{AIR}"\n', encoding="utf-8")
    with pytest.raises(InputError, match="latitude"):
        load_home(path)
    table = (
        "duration,2 yr,10 yr,100 yr\n5 min,10,14,20\n1 h,30,45,70\n6 h,45,70,110\n24 h,60,95,150\n"
    )
    path = tmp_path / "depths.csv"
    path.write_text("# unit: mm\n# series: partial duration\n" + table, encoding="utf-8")
    home = Home().changed(place__latitude=41.2, rain__temperature=AIR)
    with pytest.raises(InputError, match="together with a rain record"):
        design_rain(home, demo_sites, table=path)
    with pytest.raises(InputError, match="no rain record and no official table"):
        design_rain(home, demo_sites)
    gone = home.changed(rain={"record": "alder_bend_rain.csv.gz", "temperature": "none.csv"})
    with pytest.raises(InputError, match=r"none\.csv.*no such file"):
        design_rain(gone, demo_sites)
