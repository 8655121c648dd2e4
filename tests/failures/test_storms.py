"""From the runs of several durations to what counts of each storm."""

from __future__ import annotations

from dataclasses import fields, replace
from pathlib import Path
from typing import Any

import numpy as np
import pytest
from failures.test_yearly import RAIN

from riskkit.errors import InputError
from riskkit.failures.storms import (
    home_storms,
    storms_from_runs,
    warning_s,
    with_second,
)
from riskkit.home.home import load_home
from riskkit.risk.runs import StormRuns

DAY = 86400.0
NEVER = np.inf


def runs(**some: Any) -> StormRuns:
    """Two storms, three draws; what is not given is zero."""
    rows = {item.name: np.zeros((2, 3)) for item in fields(StormRuns)}
    return StormRuns(**(rows | {name: np.array(value, float) for name, value in some.items()}))


def test_each_draw_counts_with_its_worst_duration_and_never_gets_better() -> None:
    short = runs(
        floods=[[0, 0, 0], [1, 0, 0]], joint_wet=[[0, 1, 0], [1, 0, 0]],
        dead_from_rain_s=[[50, NEVER, 8 * DAY], [40, NEVER, 60]],
        dead_to_alarm_s=[[30, 20, NEVER], [35, 10, 50]],
        dead_alarm_to_floor_s=[[20, NEVER, NEVER], [5, NEVER, 10]],
        worst_s=[[100, 90, NEVER], [200, 80, 70]], to_alarm_s=[[40, 95, NEVER], [20, 30, 65]],
    )  # fmt: skip
    long = runs(
        floods=[[0, 0, 0], [0, 0, 1]], joint_wet=[[0, 0, 0], [0, 0, 0]],
        dead_from_rain_s=[[70, 30, NEVER], [90, 45, NEVER]],
        dead_to_alarm_s=[[60, 25, NEVER], [70, 35, NEVER]],
        dead_alarm_to_floor_s=[[10, 5, NEVER], [20, 10, NEVER]],
        worst_s=[[120, NEVER, NEVER], [110, NEVER, NEVER]],
        to_alarm_s=[[100, NEVER, NEVER], [105, NEVER, NEVER]],
    )  # fmt: skip
    found = storms_from_runs(
        np.array([2.0, 0.5]), [short, long], np.full(3, NEVER), np.full(3, NEVER)
    )
    # by hand: the greater of two, and once wet, wet in the rarer storm too; over the rim goes first
    assert found.overtopped.tolist() == [[0, 0, 0], [1, 0, 1]]
    assert found.at_joint.tolist() == [[0, 1, 0], [0, 1, 0]]
    # by hand: the least of two, more than a week is never, and no later in the rarer storm
    assert found.dead_to_floor_s.tolist() == [[50, 30, NEVER], [40, 30, 60]]
    # the alarm of the same storm: short, then rarer and short; long; none, then rarer and short
    assert found.dead_to_alarm_s.tolist() == [[30, 25, NEVER], [35, 25, 50]]
    assert found.dead_warning_s.tolist() == [[10, 5, NEVER], [5, 5, 10]]
    assert found.stop_to_floor_s.tolist() == [[100, 90, NEVER], [100, 80, 70]]
    # from the alarm: 100 - 40 and 120 - 100; the alarm after the floor leaves nothing
    assert found.stop_warning_s.tolist() == [[20, 0, NEVER], [5, 0, 5]]


def test_time_from_the_alarm() -> None:
    alarm, floor = np.array([10.0, 30.0, NEVER, 5.0]), np.array([25.0, 20.0, 20.0, NEVER])
    # 15 after it; wet first; never an alarm; never wet
    assert warning_s(alarm, floor).tolist() == [15.0, 0.0, 0.0, NEVER]


def test_without_a_pump_nothing_overtops_it() -> None:
    wet = runs(floods=np.ones((2, 3)), joint_wet=np.ones((2, 3)))
    found = storms_from_runs(
        np.array([2.0, 0.5]), [wet], np.full(3, NEVER), np.full(3, NEVER), has_pump=False
    )
    assert found.overtopped.max() == found.at_joint.max() == 0.0


def test_storms_of_the_table_and_commoner_ones_are_run(demo_sites: Path) -> None:
    home = load_home(demo_sites / "bungalow_on_sand.toml")
    found = home_storms(home, RAIN, 16, 1)
    assert found.rate_per_yr == pytest.approx([6.0, 2.0, 1.0, 0.1, 0.01])
    assert found.n_draws == 16
    for wrong in (8, 100, 2**17):
        with pytest.raises(InputError, match="power of two"):
            home_storms(home, RAIN, wrong, 1)


def test_water_stands_on_the_floor_only_where_a_stopped_pump_lets_it_come(demo_sites: Path) -> None:
    """No less of it in a rarer storm, and in none of what the storm cannot reach."""
    home = load_home(demo_sites / "row_house_near_creek.toml")
    found = home_storms(home, RAIN, 16, 1, with_depth=True)
    depth_m = found.depth_m
    assert depth_m is not None and depth_m.shape == (5, 16)
    assert np.all(np.diff(depth_m, axis=0) >= 0) and depth_m[-1].max() > depth_m[0].max()
    assert np.all((depth_m == 0) | np.isfinite(found.stop_to_floor_s))
    assert home_storms(home, RAIN, 16, 1).depth_m is None


def test_a_second_pump_is_run_alone_where_the_storms_of_the_rest_are_known(
    demo_sites: Path,
) -> None:
    bare = load_home(demo_sites / "split_level_on_clay.toml")
    home = bare.changed(second_pump={"runs_on": "battery"})
    whole = home_storms(home, RAIN, 16, 1)
    assert whole.second is not None
    alone = with_second(home, replace(whole, second=None), RAIN, 1)
    assert alone.second is not None
    for name, value in vars(whole.second).items():
        np.testing.assert_array_equal(getattr(alone.second, name), value, err_msg=name)
    assert with_second(bare, whole, RAIN, 1).second is None
