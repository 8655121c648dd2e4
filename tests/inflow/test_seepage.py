"""Ground water: shape of the curve, ends, and a second way to the same flow."""

import numpy as np
import pytest
from scipy.integrate import solve_ivp

from riskkit.errors import RangeError
from riskkit.inflow import seepage


def test_inflow_falls_with_the_level_and_ends_at_the_water_table() -> None:
    level = np.linspace(-0.3, 2.0, 60)
    flow = seepage.dupuit_seepage_m3_s(42.0, 2e-5, 1.2, level, 12.0)[0]
    assert (np.diff(flow) <= 0).all()
    np.testing.assert_allclose(flow[level <= 0], 42 * 2e-5 * 1.44 / 24)
    assert (flow[level < 1.2] > 0).all()
    assert not flow[level >= 1.2].any()


def test_a_water_table_below_the_drain_gives_nothing() -> None:
    assert not seepage.dupuit_seepage_m3_s(42.0, 1e-4, -0.5, [[-1.0, 0.0, 1.0]], 10.0).any()


def test_each_draw_has_its_own_levels() -> None:
    level = np.array([[0.0, 0.5], [0.2, 1.0]])
    flow = seepage.dupuit_seepage_m3_s([40.0, 50.0], [1e-5, 2e-5], [1.0, 1.5], level, [10.0, 20.0])
    expected = [
        [40 * 1e-5 * (1 - 0) / 20, 40 * 1e-5 * (1 - 0.25) / 20],
        [50 * 2e-5 * (2.25 - 0.04) / 40, 50 * 2e-5 * (2.25 - 1) / 40],
    ]
    np.testing.assert_allclose(flow, expected)


def test_dupuit_is_darcy_integrated_along_the_way() -> None:
    """The head found from the flow by stepping from the drain outwards ends at the water table."""
    flow = seepage.dupuit_seepage_m3_s(1.0, 5e-5, 1.4, [[0.3]], 15.0)[0, 0]
    out = solve_ivp(lambda x, h: flow / (5e-5 * h), (0, 15), [0.3], rtol=1e-10, atol=1e-12)
    assert out.y[0, -1] == pytest.approx(1.4, rel=1e-8)


def test_house_scale() -> None:
    """Water table 1 m above the drain: a trickle in clay, litres per second in coarse sand."""
    k = np.array([1e-7, 1.8e-6, 3.3e-5, 1e-3])
    reach = seepage.sichardt_reach_m(1.0, k)
    litres = 1000 * seepage.dupuit_seepage_m3_s(42.0, k, 1.0, np.zeros((4, 1)), reach)[:, 0]
    assert (np.diff(litres) > 0).all()
    assert litres[0] < 0.001
    assert 0.01 < litres[2] < 0.1
    assert 0.1 < litres[3] < 1


def test_more_head_never_gives_less_water_with_the_reach_it_makes() -> None:
    head = np.linspace(0, 6, 200)
    for k in (1e-7, 1e-5, 1e-3):
        reach = seepage.sichardt_reach_m(head, k)
        flow = seepage.dupuit_seepage_m3_s(42.0, k, head, np.zeros((200, 1)), reach)
        assert (np.diff(flow[:, 0]) >= 0).all()


def test_reach_is_bounded() -> None:
    reach = seepage.sichardt_reach_m(np.array([-1.0, 1.0, 1.0, 5.0]), [1e-5, 1e-8, 1e-5, 1e-3])
    np.testing.assert_allclose(reach, [3, 3, 3000 * np.sqrt(1e-5), 60])


def test_deep_ground_brings_more_the_deeper_it_goes_and_the_lower_the_water_stands() -> None:
    head = np.array([0.2, 0.5, 1.0, 2.0])
    factor = seepage.deep_ground_factor(head, 10.0)
    assert (np.diff(factor) < 0).all() and (factor > 1).all()
    deeper = [seepage.deep_ground_factor(0.5, 30.0, depth) for depth in (0.5, 1.0, 3.0, 6.0)]
    assert (np.diff(deeper) > 0).all()
    assert seepage.deep_ground_factor(0.5, 30.0, 1e-6) == pytest.approx(1, abs=1e-4)


@pytest.mark.parametrize(
    "call",
    [
        lambda: seepage.sichardt_reach_m(1.0, 1e-5, 60.0, 3.0),
        lambda: seepage.sichardt_reach_m(1.0, -1e-5),
        lambda: seepage.dupuit_seepage_m3_s(42.0, 1e-5, 1.0, [[0.0]], 0.0),
        lambda: seepage.dupuit_seepage_m3_s(-42.0, 1e-5, 1.0, [[0.0]], 9.0),
        lambda: seepage.deep_ground_factor(0.0, 10.0),
        lambda: seepage.deep_ground_factor(1.0, 0.0),
    ],
)
def test_what_cannot_be_is_refused(call) -> None:
    with pytest.raises(RangeError):
        call()
