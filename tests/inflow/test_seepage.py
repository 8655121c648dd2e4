"""Ground water: shape of the curve, its two limits, ends, and a second way to the same flow."""

import numpy as np
import pytest
from scipy.integrate import solve_ivp

from riskkit.errors import RangeError
from riskkit.inflow import seepage


def one(k, table, level, reach, below=0.0, length=42.0):
    return seepage.one_sided_m3_s(length, k, table, level, reach, below)


@pytest.mark.parametrize("below", [0.0, 1.5])
def test_inflow_falls_with_the_level_and_ends_at_the_water_table(below) -> None:
    level = np.linspace(-0.3, 2.0, 60)
    flow = one(2e-5, 1.2, level, 12.0, below)[0]
    assert (np.diff(flow) <= 0).all()
    np.testing.assert_allclose(flow[level <= 0], 42 * 2e-5 * (1.44 / 2 + below * 1.2) / 12)
    assert (flow[level < 1.2] > 0).all()
    assert not flow[level >= 1.2].any()


def test_a_water_table_below_the_drain_gives_nothing() -> None:
    assert not one(1e-4, -0.5, [[-1.0, 0.0, 1.0]], 10.0, 2.0).any()


def test_each_draw_has_its_own_levels() -> None:
    level = np.array([[0.0, 0.5], [0.2, 1.0]])
    flow = seepage.one_sided_m3_s(
        [40.0, 50.0], [1e-5, 2e-5], [1.0, 1.5], level, [10.0, 20.0], [0.0, 2.0]
    )
    expected = [
        [40 * 1e-5 * (1 - 0) / 20, 40 * 1e-5 * (1 - 0.25) / 20],
        [50 * 2e-5 * (2.21 / 2 + 2 * 1.3) / 20, 50 * 2e-5 * (1.25 / 2 + 2 * 0.5) / 20],
    ]
    np.testing.assert_allclose(flow, expected)


@pytest.mark.parametrize("below", [0.0, 0.8])
def test_it_is_darcy_integrated_along_the_way(below) -> None:
    """The head found from the flow by stepping from the drain outwards ends at the water table.

    At each place the flow passes through the water above the drain and the depth below it.
    """
    flow = one(5e-5, 1.4, [[0.3]], 15.0, below, length=1.0)[0, 0]
    out = solve_ivp(
        lambda x, h: flow / (5e-5 * (h + below)), (0, 15), [0.3], rtol=1e-10, atol=1e-12
    )
    assert out.y[0, -1] == pytest.approx(1.4, rel=1e-8)


def test_without_ground_below_it_is_dupuit() -> None:
    assert one(2e-5, 1.2, [[0.4]], 12.0)[0, 0] == pytest.approx(42 * 2e-5 * (1.44 - 0.16) / 24)


def test_over_deep_ground_it_is_darcy_through_a_layer() -> None:
    """Where the head is little against the depth below, that depth alone carries the flow."""
    deep = one(2e-5, 0.02, [[0.01]], 12.0, 5.0)[0, 0]
    assert deep == pytest.approx(42 * 2e-5 * 5.0 * 0.01 / 12, rel=0.004)
    flow = [one(2e-5, 1.0, [[0.0]], 12.0, below)[0, 0] for below in (0.0, 0.3, 1.0, 3.0)]
    np.testing.assert_allclose(np.diff(flow), 42 * 2e-5 * np.diff([0.0, 0.3, 1.0, 3.0]) / 12)


def test_it_is_half_of_what_hooghoudt_gives_for_rain_between_drains() -> None:
    """Hooghoudt: L^2 = (8 K d h + 4 K h^2) / q, with rain falling all along the way.

    Water that comes from the far end meets twice the resistance of water that falls on the way.
    """
    k, head, below, spacing = 3e-5, 0.9, 1.1, 24.0
    rate = (8 * k * below * head + 4 * k * head**2) / spacing**2
    from_afar = one(k, head, [[0.0]], spacing / 2, below, length=1.0)[0, 0]
    assert rate * spacing / 2 == pytest.approx(2 * from_afar)


def test_house_scale() -> None:
    """Water table 1 m above the drain: a trickle in clay, litres per second in coarse sand."""
    k = np.array([1e-7, 1.8e-6, 3.3e-5, 1e-3])
    reach = seepage.sichardt_reach_m(1.0, k)
    litres = 1000 * one(k, 1.0, np.zeros((4, 1)), reach, 1.0)[:, 0]
    assert (np.diff(litres) > 0).all()
    assert litres[0] < 0.003
    assert 0.03 < litres[2] < 0.3
    assert 0.3 < litres[3] < 3


@pytest.mark.parametrize("below", [0.0, 2.0])
def test_more_head_never_gives_less_water_with_the_reach_it_makes(below) -> None:
    head = np.linspace(0, 6, 200)
    for k in (1e-7, 1e-5, 1e-3):
        reach = seepage.sichardt_reach_m(head, k)
        flow = one(k, head, np.zeros((200, 1)), reach, below)
        assert (np.diff(flow[:, 0]) >= 0).all()


def test_reach_is_bounded() -> None:
    reach = seepage.sichardt_reach_m(np.array([-1.0, 1.0, 1.0, 5.0]), [1e-5, 1e-8, 1e-5, 1e-3])
    np.testing.assert_allclose(reach, [3, 3, 3000 * np.sqrt(1e-5), 60])


def test_equivalent_depth_grows_with_the_ground_and_is_never_more() -> None:
    depth = np.array([0.05, 0.3, 1.0, 3.0, 6.0, 30.0])
    found = seepage.hooghoudt_equivalent_depth_m(depth, 12.0, 0.15)
    # the two branches of the fit meet within a thousandth
    assert (np.diff(found) >= -1e-3 * found[1:]).all()
    assert (found <= depth).all() and (found > 0).all()
    # beyond about a quarter of the spacing more depth brings nothing
    assert found[-1] == pytest.approx(found[-2])
    # a thin layer carries the flow straight
    assert found[0] == pytest.approx(0.05, rel=0.05)


@pytest.mark.parametrize(
    "call",
    [
        lambda: seepage.sichardt_reach_m(1.0, 1e-5, 60.0, 3.0),
        lambda: seepage.sichardt_reach_m(1.0, -1e-5),
        lambda: one(1e-5, 1.0, [[0.0]], 0.0),
        lambda: one(1e-5, 1.0, [[0.0]], 9.0, length=-42.0),
        lambda: one(-1e-5, 1.0, [[0.0]], 9.0),
        lambda: one(1e-5, 1.0, [[0.0]], 9.0, below=-0.1),
    ],
)
def test_what_cannot_be_is_refused(call) -> None:
    with pytest.raises(RangeError):
        call()
