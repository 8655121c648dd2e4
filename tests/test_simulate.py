"""Where the stages meet: what of a home goes into which of them."""

from __future__ import annotations

import math

import numpy as np
import pytest
from fluids.friction import friction_factor

from riskkit.ensemble.draws import median_home
from riskkit.errors import NoDutyPointError
from riskkit.home.home import Home
from riskkit.simulate import pit_of, pump_flow_of
from riskkit.simulate.continuous import root_zone_of

FOOT, INCH, GPM = 0.3048, 0.0254, 231 * 0.0254**3 / 60


def by_hand_m3_s(fittings_diameters: float) -> float:
    """The flow at which what the pump gives is what lift, pipe and outlet take, by halving."""
    bore, lift = 1.61 * INCH, 8 * FOOT + 14 * INCH
    length = 30 * FOOT + fittings_diameters * bore
    low, high = 0.0, 53 * GPM
    for _ in range(60):
        flow = (low + high) / 2
        given = 25 * FOOT - (25 - 5) * FOOT * (flow / (53 * GPM)) ** 2
        speed = flow / (math.pi / 4 * bore**2)
        friction = friction_factor(Re=speed * bore / 1.306e-6, eD=1.5e-6 / bore)
        taken = lift + (friction * length / bore + 1) * speed**2 / (2 * 9.80665)
        low, high = (flow, high) if given > taken else (low, flow)
    return low


@pytest.mark.parametrize(
    ("valve", "diameters"),
    [  # four elbows of 30 bores, and 135 of a swing check valve where there is one
        ("works", 4 * 30 + 135),
        ("stuck open", 4 * 30 + 135),
        ("unknown", 4 * 30 + 135),  # it may be there, and less flow is the careful side
        ("none", 4 * 30),
    ],
)
def test_a_check_valve_takes_head_only_where_there_is_one(valve: str, diameters: int) -> None:
    home = median_home(
        Home().changed(
            pump__curve=[["0 gpm", "25 ft"], ["53 gpm", "5 ft"]], pump__capacity="100 %",
            pipe__bore="1.61 in", pipe__outlet_height="8 ft", pipe__length="30 ft",
            pipe__elbows=4, pipe__check_valve=valve, switch__on="14 in", switch__off="20 in",
        )
    )  # fmt: skip
    flow = float(pump_flow_of(home, np.array([[-14 * INCH]]))[0, 0])
    assert flow == pytest.approx(by_hand_m3_s(diameters), rel=0.002)
    without, with_one = by_hand_m3_s(4 * 30), by_hand_m3_s(4 * 30 + 135)
    assert without > 1.05 * with_one


def test_only_a_pump_that_is_there_is_refused_for_being_too_weak() -> None:
    high = Home().changed(pipe__outlet_height="20 ft", pump__shutoff_head="15 ft")
    with pytest.raises(NoDutyPointError):
        pit_of(median_home(high), strict=True)
    without = median_home(high.changed(pump__rated_flow="none"))
    assert not without.has_pump
    assert pit_of(without, strict=True).pump_m3_s.max() == 0.0


def test_roots_draw_on_half_a_metre_of_the_ground_above_the_drain() -> None:
    """Sand holds 10 % and roots leave 5 %, clay 42 % and 30 % (Saxton and Rawls 2006, Table 3)."""
    known = {"backfill": "sand", "soil": "clay", "drain_depth": "0.2 m"}
    home = Home().changed(ground=known, house__depth_below_ground="2 m")
    deep = root_zone_of(median_home(home))
    assert (deep.fill_depth_m, deep.lot_depth_m) == (pytest.approx(2.2), pytest.approx(2.2))
    assert (deep.fill_roots_m, deep.lot_roots_m) == (0.5, 0.5)
    assert deep.fill_available_m == pytest.approx((0.10 - 0.05) * 0.5)
    assert deep.lot_available_m == pytest.approx((0.42 - 0.30) * 0.5)
    # where there is less ground above the drain, the roots end at it
    shallow = root_zone_of(median_home(home.changed(house__depth_below_ground="0.2 m")))
    assert shallow.fill_roots_m == pytest.approx(0.4) == shallow.fill_depth_m
    assert shallow.lot_available_m == pytest.approx((0.42 - 0.30) * 0.4)
