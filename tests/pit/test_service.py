"""Rise and draw-down tests against what a pit of known flows does."""

from __future__ import annotations

import numpy as np
import pytest

from riskkit.errors import InputError
from riskkit.pit.geometry import pump_body, round_storage, tapered_storage
from riskkit.pit.service import inflow_from_rise_test, pump_flow_from_drawdown_test
from riskkit.quantities.units import convert

GPM = 231 * 0.0254**3 / 60  # cubic inches to the gallon


@pytest.mark.parametrize(("minutes", "gpm"), [(1.322, 5), (0.661, 10), (0.330, 20)])
def test_eighteen_inch_pit_fills_six_inches(minutes: float, gpm: float) -> None:
    room = round_storage(np.array([0.6]), np.array([18 * 0.0254]))
    begin, end = np.array([-20 * 0.0254]), np.array([-14 * 0.0254])
    found = inflow_from_rise_test(room, begin, end, np.array([minutes * 60]))
    assert convert(float(found[0]), "m3/s", "gpm") == pytest.approx(gpm, abs=0.0011 / minutes * gpm)


def test_the_pump_takes_room() -> None:
    depth, none = np.array([0.6]), np.array([0.0])
    room = [*round_storage(depth, np.array([0.45])), pump_body(depth, np.array([0.006]), depth / 2)]
    whole = inflow_from_rise_test(room, -depth, none, np.array([60.0]))
    # pi/4 0.45^2 0.6 = 95.43 L, less 6 L of pump, in a minute
    assert whole[0] == pytest.approx((np.pi / 4 * 0.45**2 * 0.6 - 0.006) / 60)


def test_drawdown_gives_back_the_pump_of_a_slow_obvious_pit() -> None:
    """A tapered pit emptied step by step by a known pump against a known inflow."""
    depth, top, bottom = 0.7, 0.5, 0.36
    pump, inflow, step = 40 * GPM, 6 * GPM, 0.01
    level, time = -0.25, 0.0
    while level > -0.5:
        share = 1 + level / depth
        area = np.pi / 4 * (bottom + share * (top - bottom)) ** 2
        level -= (pump - inflow) * step / area
        time += step
    room = tapered_storage(np.array([depth]), np.array([top]), np.array([bottom]), slices=60)
    found = pump_flow_from_drawdown_test(
        room, np.array([-0.25]), np.array([level]), np.array([time]), np.array([inflow])
    )
    assert found[0] == pytest.approx(pump, rel=2e-3)


def test_homes_side_by_side() -> None:
    room = round_storage(np.array([0.6, 0.6]), np.array([0.4, 0.8]))
    levels = np.array([-0.5, -0.5]), np.array([-0.3, -0.3])
    flow = inflow_from_rise_test(room, *levels, np.array([60.0, 60.0]))
    assert flow[1] == pytest.approx(4 * flow[0])


def test_no_time_is_refused() -> None:
    room = round_storage(np.array([0.6]), np.array([0.4]))
    with pytest.raises(InputError, match="no time"):
        inflow_from_rise_test(room, np.array([-0.5]), np.array([-0.4]), np.array([0.0]))


def test_a_quick_test_counts() -> None:
    """Ten centimetres of a pit 0.4 m wide, 12.57 L, in half a second."""
    room = round_storage(np.array([0.6]), np.array([0.4]))
    flow = inflow_from_rise_test(room, np.array([-0.5]), np.array([-0.4]), np.array([0.5]))
    assert flow[0] == pytest.approx(0.02513, rel=1e-3)
