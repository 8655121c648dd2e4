"""What an outside program asks of the library: values that travel, and refusals in a sentence."""

from __future__ import annotations

import pickle
from dataclasses import replace
from pathlib import Path

import numpy as np
import pytest

import riskkit as rk
from riskkit.records import FrozenMapping

FEW = rk.Settings(n_draws=16, return_periods_yr=(2.0, 10.0))


@pytest.fixture(scope="module")
def home(demo_sites: Path) -> rk.Home:
    return rk.load_home(demo_sites / "split_level_on_clay.toml")


@pytest.fixture(scope="module")
def rain(home: rk.Home) -> rk.DesignRain:
    return rk.design_rain(home)


@pytest.fixture(scope="module")
def answer(home: rk.Home, rain: rk.DesignRain) -> rk.Assessment:
    return home.assess(rain, FEW)


@pytest.fixture(scope="module")
def yearly(home: rk.Home, rain: rk.DesignRain) -> rk.YearlyChance:
    return rk.chance(home, rain, n_draws=16)


@pytest.fixture(scope="module")
def intervals(home: rk.Home, rain: rk.DesignRain) -> rk.Intervals:
    return rk.interval(home, rain, every_yr=[1, 3], n_draws=16)


@pytest.fixture(scope="module")
def years(home: rk.Home, rain: rk.DesignRain) -> rk.Replay:
    record = rain.record
    assert record is not None
    n = int(6 * 365.25 * 86400 / record.interval_s)
    short = replace(record, depth_mm=record.depth_mm[:n])
    return rk.replay(home, rk.design_rain(home, record=short), rk.ReplaySettings(n_draws=2))


def test_homes_and_answers_go_to_other_processes(
    home: rk.Home, rain: rk.DesignRain, answer: rk.Assessment, yearly: rk.YearlyChance,
    intervals: rk.Intervals, years: rk.Replay,
) -> None:  # fmt: skip
    for value in (home, rain, answer, yearly, intervals, years, rk.remedies()[0]):
        again = pickle.loads(pickle.dumps(value))  # noqa: S301 - written the line before
        assert again == value and type(again) is type(value)
    assert pickle.loads(pickle.dumps(home)).folder == home.folder  # noqa: S301


def test_values_with_arrays_are_compared_by_value(
    rain: rk.DesignRain, answer: rk.Assessment, yearly: rk.YearlyChance
) -> None:
    record = rain.record
    assert record is not None
    depth_mm = np.array(record.depth_mm)
    depth_mm[7] = np.nan  # a gap is as another gap
    gappy, same = (replace(record, depth_mm=depth_mm.copy()) for _ in range(2))
    assert same == gappy != record and hash(same) == hash(gappy)
    depth_mm[5] += 0.1
    assert replace(record, depth_mm=depth_mm) != record
    assert replace(rain.used, depth_mm=rain.used.depth_mm + 1.0) != rain.used
    assert record != rain.used and record != "rain"
    assert replace(answer, storms=answer.storms[:1]) != answer
    assert replace(yearly, per_yr_by_draw=yearly.per_yr_by_draw * 2.0) != yearly


def test_changes_go_into_sets() -> None:
    change = rk.Change("wider pit", {"pit.diameter": "30 in"})
    assert {change, rk.Change("wider pit", {"pit.diameter": "30 in"})} == {change}
    assert change != rk.Change("wider pit", {"pit.diameter": "24 in"})
    assert FrozenMapping({"a": 1, "b": 2}) == {"b": 2, "a": 1}
    with pytest.raises(TypeError):
        change.values["pit.diameter"] = "5 in"  # type: ignore[index]  # on purpose
