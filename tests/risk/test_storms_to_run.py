"""Storms of all durations together: what is said never contradicts itself from storm to storm."""

from __future__ import annotations

from dataclasses import fields, replace
from pathlib import Path

import numpy as np
import pytest
from random_tables import (
    PERIODS,
    better_when_rarer,
    better_with_more_of_all,
    better_with_more_rain,
    random_table,
)

from riskkit.assessment import Settings, assess, design_rain
from riskkit.ensemble.quantiles import chance_of_draws
from riskkit.errors import InputError, OutOfRangeWarning
from riskkit.home.home import Home, load_home
from riskkit.records import DepthDurationFrequency, FloatArray, Series
from riskkit.risk.critical import day_of, durations_to_run, storms_to_run
from riskkit.risk.runs import StormRuns, pooled
from riskkit.storm.patterns import Pattern

HOMES = ("bungalow_on_sand", "home_just_met", "row_house_near_creek", "split_level_on_clay")
TABLES = 24  # six for each home


@pytest.fixture(scope="module")
def homes(demo_sites: Path) -> list[Home]:
    return [load_home(demo_sites / f"{name}.toml") for name in HOMES]


@pytest.mark.parametrize("seed", range(TABLES))
def test_no_figure_gets_better_as_storms_get_rarer(homes: list[Home], seed: int) -> None:
    """See tests/speed/study_tables.py for hundreds of tables."""
    assert better_when_rarer(homes[seed % 4], seed) == []


@pytest.mark.parametrize("seed", range(TABLES))
def test_more_rain_never_makes_an_answer_better(homes: list[Home], seed: int) -> None:
    """See tests/speed/study_tables.py for hundreds of tables."""
    assert better_with_more_rain(homes[seed % 4], seed) == []


@pytest.mark.parametrize("seed", range(TABLES))
def test_more_rain_in_all_durations_is_never_better_at_all(homes: list[Home], seed: int) -> None:
    assert better_with_more_of_all(homes[seed % 4], seed) == []


def runs(worst_s: FloatArray, peak_m3_s: FloatArray) -> StormRuns:
    """Runs of two return periods and three draws; what is not given is all the same."""
    same = {item.name: np.zeros((2, 3)) for item in fields(StormRuns)}
    given = {"worst_s": worst_s, "peak_m3_s": peak_m3_s, "typical_s": 2 * worst_s}
    return StormRuns(**(same | given | {"depth_m": np.zeros((2, 3, 4))}))


def test_each_draw_counts_with_its_own_worst_storm_by_hand() -> None:
    never = np.inf
    short = runs(
        np.array([[60.0, 500.0, never], [40.0, 400.0, never]]),
        np.array([[3.0, 3.0, 3.0], [4.0, 4.0, 2.0]]),
    )
    day = runs(
        np.array([[90.0, 300.0, never], [80.0, 350.0, 900.0]]),
        np.array([[2.0, 2.0, 2.0], [3.0, 3.0, 3.0]]),
    )
    found = pooled([short, day], 1)
    # the first draw is worst in the short storm, the second in the long one; there the rarer storm
    # is milder by itself (350 s) and counts with the commoner one (300 s)
    np.testing.assert_array_equal(found.worst_s, [[60.0, 300.0, never], [40.0, 300.0, 900.0]])
    np.testing.assert_array_equal(found.peak_m3_s, [[3.0, 3.0, 3.0], [4.0, 4.0, 3.0]])
    # the typical moment is that of the day
    np.testing.assert_array_equal(found.typical_s, [[180.0, 600.0, never], [160.0, 600.0, 1800.0]])


def plain_table(hours: list[float]) -> DepthDurationFrequency:
    depth = 20.0 * np.array(hours)[:, None] ** 0.3 * np.array([1.0, 2.0])
    return DepthDurationFrequency(
        np.array(hours), np.array([1.0, 100.0]), depth, Series.PARTIAL_DURATION
    )


@pytest.mark.parametrize(
    ("hours", "pattern", "run", "named"),
    [
        ([1 / 12, 1.0, 72.0], Pattern.ALTERNATING_BLOCK, (2.0, 24.0, 72.0), 24.0),
        ([1 / 12, 1.0, 240.0], Pattern.ALTERNATING_BLOCK, (2.0, 24.0, 72.0), 24.0),
        ([1 / 12, 1.0, 24.0], Pattern.ALTERNATING_BLOCK, (2.0, 24.0), 24.0),
        ([1 / 12, 0.5, 1.5], Pattern.ALTERNATING_BLOCK, (1.0,), 1.0),
        ([1 / 12, 1.0, 72.0], Pattern.NRCS_II, (24.0,), 24.0),
        ([1.0, 6.0], Pattern.HUFF_1, (1.0, 2.0, 3.0, 6.0), 6.0),
        ([36.0, 72.0], Pattern.UNIFORM, (48.0, 72.0), 48.0),
    ],
)
def test_which_durations_are_run(
    hours: list[float], pattern: Pattern, run: tuple[float, ...], named: float
) -> None:
    found = durations_to_run(plain_table(hours), pattern)
    assert found == run
    assert day_of(found) == named


def test_a_table_that_holds_no_storm_is_refused() -> None:
    with pytest.raises(InputError, match="it covers 30 to 40 h, which holds no storm"):
        durations_to_run(plain_table([30.0, 40.0]), Pattern.ALTERNATING_BLOCK)
    with pytest.raises(InputError, match="holds no storm"):
        durations_to_run(plain_table([1.0, 12.0]), Pattern.NRCS_II)


def test_storms_longer_than_a_day_have_longer_steps_and_all_their_rain() -> None:
    table = plain_table([1 / 12, 1.0, 72.0])
    for alike in storms_to_run(table, (1.0, 10.0), Pattern.ALTERNATING_BLOCK, 300.0):
        for storm in alike:
            assert storm.rain.step_s == (300.0 if storm.duration_h <= 24 else 900.0)
            total = float(table.depth_at(storm.duration_h, storm.return_period_yr))
            assert storm.rain.depth_mm.sum() == pytest.approx(total)


def test_few_lengths_of_nested_storms_tell_what_all_of_them_would(
    homes: list[Home], demo_sites: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    """Within a twelfth of the median time, and a hundredth of the share of never."""
    for home in homes:
        rain = design_rain(home, demo_sites).used
        few = assess(home, rain, Settings(n_draws=128)).storms
        with monkeypatch.context() as changed:
            every = (0.25, 0.5, 1.0, 2.0, 3.0, 6.0, 12.0, 24.0, 48.0, 72.0)
            changed.setattr("riskkit.risk.critical.NESTED_H", every)
            full = assess(home, rain, Settings(n_draws=128)).storms
        for some, best in zip(few, full, strict=True):
            assert (
                some.worst_stop.to_floor_s.never_share
                <= best.worst_stop.to_floor_s.never_share + 0.01
            )
            if np.isfinite(best.worst_stop.to_floor_s.median):
                assert (
                    some.worst_stop.to_floor_s.median <= best.worst_stop.to_floor_s.median * 13 / 12
                )


def test_some_stops_find_the_worst_that_every_quarter_of_an_hour_finds(
    homes: list[Home], demo_sites: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    """Within a twelfth of the median time, and a hundredth of the share of never."""
    every = tuple(np.arange(-60.0, 3.1, 0.25))
    for home in homes:
        rain = design_rain(home, demo_sites).used
        settings = Settings((2.0, 10.0, 100.0), n_draws=64)
        some = assess(home, rain, settings).storms
        with monkeypatch.context() as changed:
            changed.setattr("riskkit.risk.critical._STOPS_H", every)
            changed.setattr("riskkit.risk.critical._FEW_STOPS_H", every)
            changed.setattr("riskkit.risk.worst_stop._CLOSER_TIMES", 0)
            best = assess(home, rain, settings).storms
        for found, least in zip(some, best, strict=True):
            assert (
                found.worst_stop.to_floor_s.never_share
                <= least.worst_stop.to_floor_s.never_share + 0.01
            )
            for one, worst in zip(
                found.worst_stop.to_floor_by_draw_s,
                least.worst_stop.to_floor_by_draw_s,
                strict=True,
            ):
                assert one >= worst * (1 - 1e-2)
            if np.isfinite(least.worst_stop.to_floor_s.median):
                assert (
                    found.worst_stop.to_floor_s.median
                    <= least.worst_stop.to_floor_s.median * 13 / 12
                )


def test_another_seed_moves_the_answer_within_its_stated_error(
    homes: list[Home], demo_sites: Path
) -> None:
    """19 times in 20: of 8 seeds of each home hardly any lies outside the interval of the first."""
    outside, tried = 0, 0
    for home in homes:
        rain = design_rain(home, demo_sites).used
        answers = [assess(home, rain, Settings(n_draws=64, seed=seed)) for seed in range(1, 9)]
        for first, other in ((answers[i - 1], answers[i]) for i in range(8)):
            for one, two in zip(first.storms, other.storms, strict=True):
                chance = chance_of_draws(one.worst_stop.to_floor_by_draw_s)
                # the other answer has an error too, so their difference is wider by sqrt(2)
                outside += not _within(two.worst_stop.to_floor_s.median, _wider(chance.median))
                outside += not _within(
                    two.worst_stop.to_floor_s.never_share, _wider(chance.never_share)
                )
                tried += 2
    assert outside <= 0.05 * tried


def _wider(ends: tuple[float, float]) -> tuple[float, float]:
    """The interval of a difference of two such answers."""
    low, high = ends
    if not np.isfinite(high):
        return low / 1.5, high
    half = (high - low) / 2 * (np.sqrt(2) - 1)
    return low - half, high + half


def _within(value: float, ends: tuple[float, float]) -> bool:
    return bool(ends[0] <= value <= ends[1])


def test_return_periods_that_do_not_increase_are_refused() -> None:
    with pytest.raises(InputError, match="10, 2 years do not increase"):
        Settings(return_periods_yr=(10.0, 2.0), headline_yr=10.0)


def test_storms_of_a_place_are_made_once_and_what_they_warn_of_is_said_each_time() -> None:
    """The table begins at five minutes, so steps of a minute share its depth evenly."""
    table, other = (random_table(np.random.default_rng(seed)) for seed in (1, 2))

    def made(rain: DepthDurationFrequency, step_s: float) -> object:
        return storms_to_run(rain, PERIODS, Pattern.ALTERNATING_BLOCK, step_s)

    again = replace(table)
    assert again is not table and made(again, 300.0) is made(table, 300.0)
    assert made(other, 300.0) is not made(table, 300.0)
    assert made(table, 600.0) is not made(table, 300.0)
    for _ in range(2):
        with pytest.warns(OutOfRangeWarning):
            made(table, 60.0)
