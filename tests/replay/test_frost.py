"""Rain on frozen ground comes to the wall: in years, in their storms, in days that are told of."""

from __future__ import annotations

from dataclasses import replace

import numpy as np
import pytest

from riskkit.antecedent.days import daily_weather
from riskkit.antecedent.hours import HourlyWeather, hourly_weather
from riskkit.ensemble.draws import draw_homes
from riskkit.evidence.through_days import counted, highest_in_hours
from riskkit.gauge.cycles import Bins
from riskkit.gauge.synthetic import synthetic_water
from riskkit.gauge.weighed import _volumes
from riskkit.home.samples import HomeSamples
from riskkit.inflow.snow import (
    day_setting,
    frost_index_degc_d,
    snow_days,
    snow_depth_cm,
    thawed_share,
)
from riskkit.rainfall.readers.temperature import DailyTemperature
from riskkit.records import RainRecord
from riskkit.risk.design_rain import DesignRain
from riskkit.years.records import ReplaySettings
from riskkit.years.run import replay
from tests.replay.made import START, clay, rain_of, record_of

COLD_D, THAW_D = 400, 420  # days of hard frost without snow, then rain at four degrees
STORM_H = THAW_D * 24 + 9
RAIN_MM = np.array([2.0, 5.0, 14.0, 6.0, 3.0])
"""Begun in a frost index of about 200 degC day, which four degrees take down by a few a day."""


def frosty() -> tuple[RainRecord, DesignRain]:
    """Three years at eight degrees, but for twenty days at -12 and ten at four, with one storm."""
    record = record_of({STORM_H: RAIN_MM}, drizzle_mm=0.0)
    days = record.depth_mm.size // 24
    mean = np.full(days, 8.0)
    mean[COLD_D:THAW_D], mean[THAW_D : THAW_D + 10] = -12.0, 4.0
    first = int(START.astype("datetime64[D]").astype(int))
    weather = daily_weather(record, DailyTemperature(first, mean - 1.0, mean + 1.0))
    return record, replace(rain_of(record), weather=weather)


def hours_of(rain: DesignRain) -> HourlyWeather:
    assert rain.record is not None and rain.weather is not None
    return hourly_weather(rain.record, rain.weather, 41.2)


def thawed(hours: HourlyWeather) -> HourlyWeather:
    return replace(hours, thawed_share=np.ones(hours.thawed_share.size))


def homes() -> HomeSamples:
    return draw_homes(clay(), 16, 1)


def test_hours_have_the_frost_of_their_day() -> None:
    record, rain = frosty()
    assert rain.weather is not None
    hours, weather = hours_of(rain), rain.weather
    snow = snow_days(record.depth_mm.reshape(-1, 24).sum(axis=1), weather.mean_degc)
    index = frost_index_degc_d(
        weather.mean_degc, snow_depth_cm(snow.pack_mm, day_setting("snow_density"))
    )
    np.testing.assert_array_equal(hours.thawed_share, np.repeat(thawed_share(index), 24))
    # 12 (1 - 0.97^20) / 0.03 = 182.5 on the last cold day
    assert index[THAW_D - 1] == pytest.approx(182.5, abs=0.1)
    assert hours.thawed_share[: COLD_D * 24].min() == 1.0
    assert hours.thawed_share[STORM_H] == 0.0
    assert hours.led_in(48).thawed_share.size == hours.thawed_share.size + 48


def test_a_storm_on_frozen_ground_brings_more(monkeypatch: pytest.MonkeyPatch) -> None:
    """In the years by the hour and in the storm by the minute; all else alike."""
    _, rain = frosty()
    settings = ReplaySettings(n_draws=16, seed=2)
    frozen = replay(clay(), rain, settings)
    assert [str(s.start) for s in frozen.record_storms] == [
        str(START + np.timedelta64(STORM_H, "h"))
    ]
    monkeypatch.setattr("riskkit.years.run.hourly_weather", lambda *of: thawed(hourly_weather(*of)))
    open_ground = replay(clay(), rain, settings)
    more, less = frozen.outcomes.peak_m3_s[:, 0], open_ground.outcomes.peak_m3_s[:, 0]
    assert np.all(more > 1.003 * less)  # clay sheds most of such a storm as it is
    came, without = (one.by_month.peak_use.max(axis=1) for one in (frozen, open_ground))
    assert np.all(came >= without) and came.sum() > 1.003 * without.sum()


def test_days_that_are_told_of_know_of_frost() -> None:
    _, rain = frosty()
    hours, of = hours_of(rain), homes()
    first = STORM_H - 12
    flood = replace(hours, water_mm=20.0 * hours.water_mm)  # more than a pump keeps down
    frozen, open_ground = (
        highest_in_hours(of, each, first, 36, 720, 0.35) for each in (flood, thawed(flood))
    )
    higher = frozen.level_m - open_ground.level_m
    assert higher.max() > 1e-4 and higher.sum() > 0.0
    ran, ran_open = (counted(of, each, first, 24, 720)[1] for each in (hours, thawed(hours)))
    assert ran.sum() > 1.01 * ran_open.sum()


def test_logs_know_of_frost(monkeypatch: pytest.MonkeyPatch) -> None:
    """The log that a home would have left, and that which each of its variants would have."""
    record, rain = frosty()
    assert rain.weather is not None
    hours = hours_of(rain)
    days = tuple(START + np.timedelta64(24 * (THAW_D + more), "h") for more in (0, 3))
    made = []
    for each in (hours, thawed(hours)):
        monkeypatch.setattr("riskkit.gauge.synthetic.hourly_weather", lambda *_, of=each: of)
        made.append(synthetic_water(clay(), record, rain.weather, days, 1)[2].max())
    assert made[0] > 1.003 * made[1]
    cut = slice(STORM_H - 24, STORM_H + 48)
    begin = float(hours.times[cut.start].astype("datetime64[s]").astype(np.int64))
    edges = begin + 3600.0 * np.arange(73)
    bins = Bins(edges[:-1], edges[1:], np.zeros(72))
    came = [_volumes(homes(), each, cut, edges, bins) for each in (hours, thawed(hours))]
    assert np.all(came[0].max(axis=1) > 1.0005 * came[1].max(axis=1))
