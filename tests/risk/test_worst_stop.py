"""The search for the worst stop between the stops, in valleys whose bottom is known."""

from __future__ import annotations

import numpy as np
import pytest

from riskkit.pit.vessels import StopRun
from riskkit.records import FloatArray, IntArray
from riskkit.risk.clock import Clock
from riskkit.risk.time_to_flood import of_stops_s
from riskkit.risk.worst_stop import _closer

APART = np.array([0, 16, 32, 48, 64])
GRID = np.arange(65)


def run_of(floor_s: FloatArray) -> StopRun:
    never, levels = np.full(floor_s.shape, np.inf), np.zeros((*floor_s.shape, 0))
    return StopRun(never, floor_s, never, np.zeros(floor_s.shape), levels, levels)


@pytest.mark.parametrize("bottom", [20, 24, 28, 30, 33, 36, 40, 46, 50])
def test_three_halvings_come_as_near_as_they_can(bottom: int) -> None:
    """The time grows by a minute a step to both sides: of 16 steps apart come 8, then 4, then 2."""
    asked: list[IntArray] = []

    def seconds(step: IntArray) -> FloatArray:
        return 600.0 + 60.0 * np.abs(step - bottom)

    def follow(step: IntArray, draw: IntArray) -> StopRun:
        asked.append(step)
        return run_of(seconds(step)[draw])

    first = APART[None, :]
    steps, run = _closer(first, run_of(seconds(first)), follow, GRID, APART, Clock.STOP)
    assert len(asked) == 3 and steps.shape == (1, 5 + 2 * 3)
    found = of_stops_s(run, Clock.STOP)[0]
    np.testing.assert_array_equal(found[1:], seconds(steps[0, 1:]))
    # the points that are left lie two apart, so the bottom lies at most one step from one of them
    assert abs(int(steps[0, found.argmin()]) - bottom) <= 1


def test_where_no_stop_wets_the_floor_none_is_looked_at() -> None:
    dry = np.full((2, 5), np.inf)
    dry[1, 2] = 100.0
    drawn: list[IntArray] = []

    def follow(step: IntArray, draw: IntArray) -> StopRun:
        drawn.append(draw)
        return run_of(np.full((draw.size, step.shape[1]), 200.0))

    _, run = _closer(np.tile(APART, (2, 1)), run_of(dry), follow, GRID, APART, Clock.STOP)
    assert all(draw.tolist() == [1] for draw in drawn)
    assert np.isinf(run.rim_s[0]).all() and run.rim_s[1].min() == 100.0
