"""Made weather for replays: steady drizzle, and storms where a test puts them."""

from __future__ import annotations

from collections.abc import Mapping

import numpy as np

from riskkit.antecedent.days import DailyWeather, daily_weather
from riskkit.home.home import Home, load_home
from riskkit.rainfall.readers.temperature import DailyTemperature
from riskkit.records import DepthDurationFrequency, FloatArray, RainRecord, Series
from riskkit.risk.design_rain import DesignRain
from tests.conftest import ROOT

START = np.datetime64("2001-01-01T00:00:00")
YEAR_H = 8760


def record_of(
    storms: Mapping[int, FloatArray],
    years: float = 3.0,
    every_h: int = 120,
    drizzle_mm: float = 1.5,
) -> RainRecord:
    """An hour of drizzle every so many hours, and storms from the hours that are named on."""
    depth = np.zeros(round(years * YEAR_H / 24) * 24)
    depth[::every_h] = drizzle_mm
    for hour, mm in storms.items():
        depth[hour - 48 : hour] = 0.0
        depth[hour + mm.size : hour + mm.size + 60] = 0.0
        depth[hour : hour + mm.size] = mm
    return RainRecord(depth, START, 3600, name="made")


def weather_of(record: RainRecord, degc: float = 8.0) -> DailyWeather:
    days = record.depth_mm.size // 24
    low, high = np.full(days, degc - 3.0), np.full(days, degc + 3.0)
    first = int(START.astype("datetime64[D]").astype(int))
    return daily_weather(record, DailyTemperature(first, low, high))


def rain_of(record: RainRecord, degc: float = 8.0) -> DesignRain:
    hours = np.array([1 / 12, 1.0, 24.0])
    mm = np.array([[10.0, 15.0], [30.0, 50.0], [70.0, 120.0]])
    table = DepthDurationFrequency(hours, np.array([2.0, 100.0]), mm, Series.PARTIAL_DURATION)
    return DesignRain(table, None, record, weather_of(record, degc))


def clay() -> Home:
    return load_home(ROOT / "demo_sites" / "split_level_on_clay.toml")
