"""Pump curve, pipe and their duty point."""

import numpy as np
import pytest
from fluids.friction import friction_factor

from riskkit.errors import InputError, NoDutyPointError
from riskkit.pit import pipe, pump

POINTS_M3_S = np.array([0.0, 1e-3, 2e-3, 2.7e-3, 3.5e-3])
POINTS_M = np.array([7.6, 6.4, 4.6, 3.05, 0.6])


def test_curve_passes_through_its_points() -> None:
    curve = pump.curve_from_points(POINTS_M3_S[::-1], POINTS_M[::-1])
    np.testing.assert_allclose(pump.pump_head_m(curve, POINTS_M3_S[None]), POINTS_M[None])
    flow = np.linspace(0, 5e-3, 400)[None]
    assert np.all(np.diff(pump.pump_head_m(curve, flow)) < 0)


def test_rating_curve_passes_through_plate_and_shutoff() -> None:
    curve = pump.curve_from_rating(np.array([2.7e-3, 2e-3]), np.array([3.0]), np.array([7.0, 8.0]))
    at = pump.pump_head_m(curve, np.array([[0.0, 2.7e-3, 1.35e-3], [0.0, 2e-3, 1e-3]]))
    np.testing.assert_allclose(at, [[7.0, 3.0, 6.0], [8.0, 3.0, 6.75]])


def test_curve_without_a_point_at_shutoff() -> None:
    curve = pump.curve_from_points(np.array([1e-3, 2e-3]), np.array([6.0, 3.0]))
    np.testing.assert_allclose(pump.pump_head_m(curve, np.array([[0.0, 1e-3, 2e-3]]))[0], [7, 6, 3])


@pytest.mark.parametrize(
    ("flow", "head", "words"),
    [
        ([1e-3], [3.0], "fewer than two"),
        ([1e-3, 1e-3], [3.0, 2.0], "given twice"),
        ([-1e-3, 1e-3], [3.0, 2.0], "negative"),
        ([1e-3, 2e-3], [3.0, 3.0], "does not fall"),
    ],
)
def test_curves_that_cannot_be(flow, head, words) -> None:
    with pytest.raises(InputError, match=words):
        pump.curve_from_points(np.array(flow), np.array(head))


def test_plates_that_cannot_be() -> None:
    one = np.ones(1)
    with pytest.raises(InputError, match="shut-off head"):
        pump.curve_from_rating(2e-3 * one, 3.0 * one, 3.0 * one)
    with pytest.raises(InputError, match="not positive"):
        pump.curve_from_rating(0.0 * one, 3.0 * one, 7.0 * one)


def duty(level, **changes):
    n = np.atleast_2d(level).shape[0]
    values = {
        "curve": pump.curve_from_points(POINTS_M3_S, POINTS_M),
        "outlet_height_m": np.full(n, 2.4), "bore_m": np.full(n, 0.0409),
        "length_m": np.full(n, 12.0),
    } | changes  # fmt: skip
    return pump.duty_flow_m3_s(np.atleast_2d(level), **values)


def test_at_the_duty_point_head_is_lift_and_loss() -> None:
    level = np.linspace(-0.6, 0.5, 12)[None]
    flow = duty(level, capacity_share=0.8, speed_share=0.95)
    head = 0.95**2 * pump.pump_head_m(pump.curve_from_points(POINTS_M3_S, POINTS_M), flow / 0.76)
    loss = pipe.pipe_head_loss_m(flow, np.array(0.0409), np.array(12.0))
    np.testing.assert_allclose(head, 2.4 - level + loss, atol=1e-8)
    assert np.all(np.diff(flow) > 0)
    assert 1e-3 < flow.min() < flow.max() < 3e-3


def test_without_pipe_losses_the_duty_point_is_on_the_curve() -> None:
    """A very wide, very short pipe: the flow is that of the curve at the lift."""
    for q, h in zip(POINTS_M3_S[1:], POINTS_M[1:], strict=True):
        flow = duty([[0.0]], outlet_height_m=np.array([h]), bore_m=np.array([5.0]),
                    length_m=np.array([0.0]))  # fmt: skip
        assert flow[0, 0] == pytest.approx(q, rel=1e-6)


def test_a_pump_that_cannot_lift_or_is_jammed_gives_nothing() -> None:
    curve = pump.curve_from_points(POINTS_M3_S, POINTS_M)
    flow = duty(np.full((3, 2), [-0.5, 0.2]), outlet_height_m=np.array([7.5, 7.2, 2.4]),
                capacity_share=np.array([1.0, 1.0, 0.0]))  # fmt: skip
    np.testing.assert_array_equal(flow == 0.0, [[True, False], [True, False], [True, True]])
    level = np.full(3, -0.5)
    pump.need_duty_point(level, curve, np.array([9.0, 2.0, 2.5]))
    with pytest.raises(NoDutyPointError, match=r"24\.9 ft at most \(7\.6 m\).*26\.2 ft \(8\.0 m\)"):
        pump.need_duty_point(level, curve, np.full(3, 7.5))


def test_tabulated_friction_is_that_of_the_library() -> None:
    rng = np.random.default_rng(1)
    flow, bore = rng.uniform(5e-5, 4e-3, 400), rng.uniform(0.02, 0.1, 400)
    speed = flow * 4 / np.pi / bore**2
    reynolds = speed * bore / pipe.GROUND_WATER_VISCOSITY_M2_S
    exact = [
        friction_factor(Re=r, eD=pipe.PLASTIC_ROUGHNESS_M / b) * v**2 / (2 * 9.80665 * b)
        for r, b, v in zip(reynolds, bore, speed, strict=True)
    ]
    away = np.abs(reynolds / 2040 - 1) > 0.06  # the factor jumps where laminar flow ends
    slope = pipe.friction_slope(flow, bore)
    np.testing.assert_allclose(slope[away], np.array(exact)[away], rtol=1e-3)
    assert away.sum() > 380


def test_laminar_flow_loses_in_proportion() -> None:
    """Poiseuille: J = 32 nu V / (g d²), far below the table too."""
    flow = np.array([1e-9, 1e-7, 1e-5])
    velocity = flow * 4 / np.pi / 0.04**2
    exact = 32 * pipe.GROUND_WATER_VISCOSITY_M2_S * velocity / (9.80665 * 0.04**2)
    np.testing.assert_allclose(pipe.friction_slope(flow, np.array(0.04)), exact, rtol=1e-3)


def test_fittings_and_sizes_by_name() -> None:
    bore = np.array([0.040894])
    length = pipe.equivalent_length_m(bore, {"elbow_90": 2, "swing_check_valve": np.array([1.0])})
    assert length[0] == pytest.approx(0.040894 * (60 + 135))
    with pytest.raises(InputError, match="use one of elbow_90"):
        pipe.equivalent_length_m(bore, {"bend": 1})


def test_water_in_the_riser() -> None:
    """3 m of 1-1/2 in pipe hold about a gallon."""
    water = pipe.pipe_water_m3(np.array([0.040894]), np.array([3.0]))
    assert water[0] == pytest.approx(0.00394, abs=1e-5)
