"""The night of a storm: homes made by hand, shared power, and the queue against formulas."""

from __future__ import annotations

import json
from pathlib import Path
from typing import Any

import numpy as np
import pytest
import simpy
from fleet.company import home, run_of

from riskkit.cli.main import main
from riskkit.errors import InputError
from riskkit.fleet.calls import call_spread
from riskkit.fleet.night import nights_of
from riskkit.fleet.queue import crews_for, waits_h

NEVER = np.inf


def test_a_dead_pump_alarms_and_floods_every_home_every_night(tmp_path: Path) -> None:
    found = nights_of(run_of(tmp_path / "run", [home(i, lost_chance=1.0) for i in range(9)]), 10.0)
    assert found.homes == 9 and len(found.nights) == 128
    assert all(
        (night.alarms, night.wet, night.without_power) == (9, 9, 0) for night in found.nights
    )
    # nobody calls before the alarm at 2 h
    assert min(night.calls_h.min(initial=99.0) for night in found.nights) >= 2.0
    for night in found.nights:
        assert np.all(np.diff(night.calls_h) >= 0) and night.calls_h.size == night.work_h.size


def test_an_alarm_that_is_heard_keeps_the_floor_dry_where_somebody_can_act(tmp_path: Path) -> None:
    """Three hours from alarm to floor, a minute to act."""
    homes = [home(i, lost_chance=1.0, can_act=1.0, acts_after_s=60.0) for i in range(9)]
    found = nights_of(run_of(tmp_path / "run", homes), 10.0)
    assert all((night.alarms, night.wet) == (9, 0) for night in found.nights)


def test_a_pump_that_does_not_keep_up_is_helped_by_nobody(tmp_path: Path) -> None:
    homes = [home(1, wet=1.0, alarms=1.0, can_act=1.0, acts_after_s=60.0), home(2)]
    found = nights_of(run_of(tmp_path / "run", homes), 10.0)
    assert all((night.alarms, night.wet) == (1, 1) for night in found.nights)


def test_the_power_of_a_neighbourhood_fails_at_once(tmp_path: Path) -> None:
    homes = [home(i, "mill", out_chance=0.4) for i in range(5)]
    homes += [home(10 + i, "ferry", out_chance=0.4) for i in range(20)]
    found = nights_of(run_of(tmp_path / "run", homes), 10.0, 512)
    without = np.array([night.without_power for night in found.nights])
    assert set(without.tolist()) == {0, 5, 20, 25}
    # each by itself in 0.4 of the nights: 25 x 0.4 = 10; its error is sqrt(425 x 0.24/512) = 0.45
    assert without.mean() == pytest.approx(10.0, abs=4 * 0.45)
    assert all(night.wet == night.without_power for night in found.nights)


def test_pumps_fail_each_for_itself(tmp_path: Path) -> None:
    """Binomial: 40 x 0.25 = 10 with a standard deviation of sqrt(40 x 0.25 x 0.75) = 2.74."""
    homes = [home(i, lost_chance=0.25) for i in range(40)]
    found = nights_of(run_of(tmp_path / "run", homes), 10.0, 512)
    wet = np.array([night.wet for night in found.nights])
    assert wet.mean() == pytest.approx(10.0, abs=4 * 2.74 / np.sqrt(512))
    assert wet.std() == pytest.approx(2.74, rel=0.15)  # 4 times its error of 1/sqrt(2 x 512)


def test_calls_of_an_hour_and_the_crews_that_they_take(
    tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    folder = run_of(tmp_path / "run", [home(i, lost_chance=0.5) for i in range(30)])
    found = nights_of(folder, 10.0)
    hours = found.calls_by_hour()
    assert len(hours) == 72 and hours[0].high == 0
    needed = found.crews_for(2.0)
    assert found.in_time(needed, 2.0) >= 0.9 > found.in_time(needed - 1, 2.0)
    assert main(["fleet", "storm", str(folder), "--crews", str(needed)]) == 0
    said = capsys.readouterr().out
    assert f"it takes {needed} crew" in said and "30 homes" in said
    assert main(["fleet", "storm", str(folder), "--json"]) == 0
    told = json.loads(capsys.readouterr().out)
    assert told["crews_needed"] == needed and told["alarms"]["mean"] == found.mean("alarms")
    for wrong in (["--storm", "50"], ["--crews", "0"], ["--share", "2"], ["--work", "0"],
                  ["--nights", "0"]):  # fmt: skip
        assert main(["fleet", "storm", str(folder), *wrong]) == 2


def test_longer_work_takes_more_crews(tmp_path: Path) -> None:
    folder = run_of(tmp_path / "run", [home(i, lost_chance=0.5) for i in range(30)])
    short, long = (nights_of(folder, 10.0, work_min=each) for each in (30.0, 240.0))
    assert short.crews_for(1.0) < long.crews_for(1.0)
    middle = np.median(np.concatenate([night.work_h for night in short.nights]))
    assert middle == pytest.approx(0.5, rel=0.1)
    assert call_spread("work").p50 == 75


def test_nights_of_no_run_are_refused(tmp_path: Path) -> None:
    with pytest.raises(InputError, match="no run"):
        nights_of(tmp_path, 10.0)


def test_waits_by_hand() -> None:
    calls, work = np.array([0.0, 1.0, 2.0]), np.array([2.0, 2.0, 2.0])
    assert waits_h(calls, work, 1).tolist() == [0, 1, 2]
    assert waits_h(calls, work, 2).tolist() == [0, 0, 0]
    assert crews_for([(calls, work)], 1.0, 2 / 3) == 1
    assert crews_for([(calls, work)], 1.0, 1.0) == 2
    assert crews_for([], 1.0) == 0


def random_calls(count: int) -> tuple[Any, Any]:
    rng = np.random.default_rng(5)
    return np.cumsum(rng.exponential(0.5, count)), rng.exponential(1.0, count)


@pytest.mark.parametrize(
    ("load", "crews", "chance"),
    [
        # one crew: the share of the time that it is busy
        (0.7, 1, 0.7),
        # a = 1, c = 2: (1/2 x 2)/(1 + 1 + 1/2 x 2) = 1/3
        (1.0, 2, 1 / 3),
        # a = 2, c = 3: (8/6 x 3)/(1 + 2 + 2 + 8/6 x 3) = 4/9
        (2.0, 3, 4 / 9),
        # a = 3, c = 4: (81/24 x 4)/(1 + 3 + 9/2 + 27/6 + 81/24 x 4) = 13.5/26.5
        (3.0, 4, 13.5 / 26.5),
    ],
)
def test_the_queue_waits_as_erlang_says_where_that_is_exact(
    load: float, crews: int, chance: float
) -> None:
    """Calls at random and times of work exponential, an hour on average.

    With a calls an hour and c crews the chance C to wait is Erlang's, (a^c/c!) c/(c-a) divided by
    sum_k<c a^k/k! + (a^c/c!) c/(c-a), and the mean wait C/(c-a) hours. Errors from 40 batches.
    """
    calls, work = random_calls(120_000)
    waits = waits_h(calls * 2 / load, work, crews)[2000:]
    for found, expected in ((waits > 0, chance), (waits, chance / (crews - load))):
        batches = np.array([each.mean() for each in np.array_split(found, 40)])
        error = batches.std(ddof=1) / np.sqrt(40)
        assert error < 0.045 * expected
        assert batches.mean() == pytest.approx(expected, abs=4 * error)


def test_the_queue_waits_as_a_simulation_of_events_does() -> None:
    calls, work = random_calls(400)
    world, found = simpy.Environment(), np.zeros(400)
    crews = simpy.Resource(world, 3)

    def call(i: int) -> Any:
        yield world.timeout(calls[i])
        with crews.request() as free:
            yield free
            found[i] = world.now - calls[i]
            yield world.timeout(work[i])

    for i in range(400):
        world.process(call(i))
    world.run()
    assert waits_h(calls, work, 3) == pytest.approx(found, abs=1e-9)
