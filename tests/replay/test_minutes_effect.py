"""What breaking heavy hours down does: counted by hand, and run both ways."""

from __future__ import annotations

from dataclasses import replace
from functools import cache

import numpy as np
import pytest

import riskkit as rk
from riskkit.options.replays import years_study
from riskkit.quantities.units import UnitSystem
from riskkit.report.minutes_words import minutes_line
from riskkit.report.replay_rows import replay_tables
from riskkit.years import run
from riskkit.years.minutes import even_minutes, minutes_of_hours
from riskkit.years.minutes_effect import minutes_effect
from riskkit.years.records import Replay
from tests.replay.made import clay, rain_of, record_of

HEAVY = np.array([12.0, 40.0, 26.0, 20.0, 11.0])
GENTLE = np.full(20, 4.9)  # below the 5 mm from which an hour is broken down
FEW = rk.ReplaySettings(n_draws=4)
INF = np.inf


@cache
def found() -> Replay:
    return rk.replay(clay(), rain_of(record_of({9000: HEAVY, 13000: GENTLE, 21000: HEAVY})), FEW)


def made(minutes: list[list[float]], even: list[list[float]]) -> Replay:
    """Times of four draws, a row each, in three storms."""
    one = found()
    ours, theirs = (np.array(x) for x in (minutes, even))
    return replace(
        one,
        outcomes=replace(one.outcomes, worst_s=ours),
        even_outcomes=replace(one.even_outcomes, worst_s=theirs),
    )


def test_counts_and_times_by_hand() -> None:
    """Three years and four draws: one storm of one draw is a twelfth of a time a year."""
    one = made(
        [[600, 50, 3000], [INF, INF, INF], [1200, INF, INF], [INF, INF, 20000]],
        [[800, 70, 2000], [INF, INF, 900], [1200, INF, INF], [INF, INF, 10000]],
    )
    effect = minutes_effect(one)
    assert (effect.draws, effect.heavy_storms, effect.storms) == (4, 2, 3)
    told = {row.within_s: (12 * row.minutes, 12 * row.even) for row in effect.floods}
    assert told[900.0] == pytest.approx((2, 3))  # 600, 50; 800, 70, 900
    assert told[3600.0] == pytest.approx((4, 5))
    assert told[INF] == pytest.approx((5, 6))
    # heavy storms with both: 600/800, 3000/2000, 1200/1200, 20000/10000 (not 50/70: a gentle storm)
    assert effect.time_change is not None
    points = effect.time_change
    assert (points.low, points.median, points.high) == pytest.approx((-0.25, 0.0, 1.0))
    said = minutes_line(one)
    # 4/12, 5/12; 5/12, 6/12
    assert "within 1 h after the alarm 0.33 times a year in place of 0.42" in said
    assert "and at all 0.42 in place of 0.50." in said
    assert said.endswith("The time to the floor is the same in the middle; 8 of 10: 25 % shorter "
                         "to 100 % longer.")  # fmt: skip


def test_gentle_storms_are_those_of_even_hours_and_heavy_ones_are_run_again() -> None:
    one = found()
    assert [storm.is_heavy for storm in one.record_storms] == [True, False, True]
    np.testing.assert_array_equal(one.even_outcomes.peak_m3_s[:, 1], one.outcomes.peak_m3_s[:, 1])
    assert not np.array_equal(one.even_outcomes.worst_s, one.outcomes.worst_s)


def test_even_hours_are_those_of_a_replay_that_breaks_nothing_down(
    monkeypatch: pytest.MonkeyPatch,
) -> None:
    monkeypatch.setattr("riskkit.years.storms.minutes_of_hours", even_minutes)
    other = rk.replay(clay(), rain_of(record_of({9000: HEAVY, 13000: GENTLE, 21000: HEAVY})), FEW)
    for name in ("worst_s", "dead_alarm_to_floor_s", "alarms", "peak_m3_s"):
        np.testing.assert_array_equal(
            getattr(other.outcomes, name), getattr(found().even_outcomes, name)
        )


def test_only_the_first_draws_are_run_twice(monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setattr(run, "_EVEN_DRAWS", 4)
    monkeypatch.setattr(run, "_BLOCK", 4)  # whole blocks are run twice
    eight = rk.replay(
        clay(), rain_of(record_of({9000: HEAVY}, years=2.0)), rk.ReplaySettings(n_draws=8)
    )
    assert eight.outcomes.worst_s.shape == (8, 1) and eight.even_outcomes.worst_s.shape == (4, 1)
    assert minutes_effect(eight).draws == 4


def test_hours_spread_evenly_bring_what_they_brought() -> None:
    hours = np.array([[12.0, 0.0, 40.0]])
    even = even_minutes(hours)
    np.testing.assert_allclose(even[0], np.repeat([1.0, 0.0, 40 / 12], 12))
    assert even.sum() == pytest.approx(minutes_of_hours(hours).sum())


def test_it_is_said_beside_the_storms() -> None:
    storms = replay_tables(years_study(found()), UnitSystem.US)[1]
    assert minutes_line(found()) in storms.notes
    gentle = replace(
        found(),
        record_storms=tuple(replace(storm, is_heavy=False) for storm in found().record_storms),
    )
    assert minutes_line(gentle).startswith("No storm holds an hour heavy enough")
