"""The pump: its curve, wear and speed, and its flow at each level of the pit."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np

from riskkit.errors import ConvergenceError, InputError, Key, NoDutyPointError, Words
from riskkit.pit.pipe import (
    GROUND_WATER_VISCOSITY_M2_S,
    PLASTIC_ROUGHNESS_M,
    pipe_head_loss_m,
    static_lift_m,
)
from riskkit.records import FloatArray

__all__ = [
    "PumpCurve",
    "curve_from_points",
    "curve_from_rating",
    "duty_flow_m3_s",
    "need_duty_point",
    "pump_head_m",
]

_WATER_DENSITY_KG_M3 = 999.7  # at 10 degC
_GRAVITY_M_S2 = 9.80665  # standard acceleration of gravity
_MOST_STEPS = 200


@dataclass(frozen=True)
class PumpCurve:
    """Head of a pump against its flow, through points.

    Between two points the head falls in a straight line with the square of the flow, and so on
    beyond the last one: falling everywhere, and through every point. With two points, at shut-off
    and at the plate, it is the parabola of `curve_from_rating`.

    Parameters
    ----------
    flow_m3_s : (n_draws, n_points) array
        Flows, from zero up; one row may stand for all draws [m3/s].
    head_m : (n_draws, n_points) array
        Heads, falling [m].
    """

    flow_m3_s: FloatArray
    head_m: FloatArray


def curve_from_points(flow_m3_s: FloatArray, head_m: FloatArray) -> PumpCurve:
    """Pump curve through given points.

    Parameters
    ----------
    flow_m3_s : (n_points,) array
        Flows, in any order [m3/s].
    head_m : (n_points,) array
        Head at each flow; falls as the flow grows [m].

    Returns
    -------
    PumpCurve
        The curve of all draws. Without a point at zero flow the line of the first two points is
        drawn on to shut-off.

    Raises
    ------
    InputError
        Where there are fewer than two points, a flow is negative, or the head does not fall.

    References
    ----------
    arithmetic : straight lines in the square of the flow
    """
    where = "pump curve"
    flow, head = np.asarray(flow_m3_s, dtype=np.float64), np.asarray(head_m, dtype=np.float64)
    if flow.ndim != 1 or flow.shape != head.shape or flow.size < 2:
        raise InputError(where, "it has fewer than two points", "give flow and head in pairs")
    order = np.argsort(flow, kind="stable")
    flow, head = flow[order], head[order]
    if flow[0] < 0.0 or np.any(np.diff(flow) <= 0.0):
        raise InputError(where, "a flow is negative or given twice", "give each flow once")
    if np.any(np.diff(head) >= 0.0):
        raise InputError(where, "the head does not fall as the flow grows", "check the points")
    if flow[0] > 0.0:
        slope = (head[1] - head[0]) / (flow[1] ** 2 - flow[0] ** 2)
        flow, head = np.append(0.0, flow), np.append(head[0] - slope * flow[0] ** 2, head)
    return PumpCurve(flow[None, :], head[None, :])


def curve_from_rating(
    rated_flow_m3_s: FloatArray, rated_head_m: FloatArray, shutoff_head_m: FloatArray
) -> PumpCurve:
    """Pump curve from the plate and the shut-off head: H = Hs − (Hs − Hr) (Q / Qr)².

    Parameters
    ----------
    rated_flow_m3_s : (n_draws,) array
        Flow on the plate [m3/s].
    rated_head_m : (n_draws,) array
        Head at which it holds [m].
    shutoff_head_m : (n_draws,) array
        Greatest head [m].

    Returns
    -------
    PumpCurve
        A curve for each draw.

    Raises
    ------
    InputError
        Where the rated flow is not positive or the shut-off head is not above the rated head.

    References
    ----------
    arithmetic : parabola through two points, level at shut-off
    """
    flow, head, shutoff = np.broadcast_arrays(
        *(
            np.atleast_1d(np.asarray(item, dtype=np.float64))
            for item in (rated_flow_m3_s, rated_head_m, shutoff_head_m)
        )
    )
    if np.any(flow <= 0.0):
        raise InputError("pump.rated_flow", "it is not positive", "a usual plate says 43 gpm")
    if np.any(shutoff <= head):
        raise InputError(
            "pump.shutoff_head",
            Words("it is not above ", Key("pump.rated_head")),
            "the shut-off head is the head at which its flow is zero",
        )
    return PumpCurve(
        np.stack([np.zeros_like(flow), flow], axis=1), np.stack([shutoff, head], axis=1)
    )


def pump_head_m(curve: PumpCurve, flow_m3_s: FloatArray) -> FloatArray:
    """Head of the pump at given flows.

    Parameters
    ----------
    curve : PumpCurve
        The curve of ``n_draws``, or one row for all.
    flow_m3_s : (n_draws, n) array
        Flows, not negative [m3/s].

    Returns
    -------
    (n_draws, n) array
        Head; negative beyond the end of the curve [m].

    References
    ----------
    arithmetic : straight lines in the square of the flow
    """
    square = np.asarray(flow_m3_s, dtype=np.float64) ** 2
    knots = curve.flow_m3_s**2
    slopes = np.diff(curve.head_m, axis=1) / np.diff(knots, axis=1)
    head = curve.head_m[:, :1] + slopes[:, :1] * square
    for j in range(1, slopes.shape[1]):
        # past each knot the slope changes
        bend = (slopes[:, j] - slopes[:, j - 1])[:, None]
        head = head + bend * np.maximum(square - knots[:, j : j + 1], 0.0)
    return np.asarray(head)


def duty_flow_m3_s(
    level_m: FloatArray,
    curve: PumpCurve,
    outlet_height_m: FloatArray,
    bore_m: FloatArray,
    length_m: FloatArray,
    capacity_share: FloatArray | float = 1.0,
    speed_share: float = 1.0,
    roughness_m: float = PLASTIC_ROUGHNESS_M,
    viscosity_m2_s: float = GROUND_WATER_VISCOSITY_M2_S,
) -> FloatArray:
    """Flow at which the head of the pump is the lift and the losses of the pipe.

    n² H(Q / (n c)) = lift(level) + loss(Q), with c the capacity and n the speed; zero where the
    pump cannot lift water to the outlet at all.

    Parameters
    ----------
    level_m : (n_draws, n_levels) array
        Level in the pit, relative to the floor [m].
    curve : PumpCurve
        Curve of ``n_draws``, or one for all.
    outlet_height_m : (n_draws,) array
        Highest point of the pipe above the floor [m].
    bore_m : (n_draws,) array
        Inside diameter of the pipe [m].
    length_m : (n_draws,) array
        Its length with the equivalent length of the fittings [m].
    capacity_share : float or (n_draws,) array
        Flow now against the flow when new: wear, a clogged inlet; 0 for a jammed pump [-].
    speed_share : float
        Speed against the speed of the curve [-].
    roughness_m : float
        Roughness of the pipe wall [m].
    viscosity_m2_s : float
        Kinematic viscosity of the water [m2/s].

    Returns
    -------
    (n_draws, n_levels) array
        Flow of the running pump [m3/s].

    Raises
    ------
    ConvergenceError
        Where the search does not settle.

    References
    ----------
    pump_affinity : affinity laws
    colebrook1939 : friction of the pipe
    """
    level = np.asarray(level_m, dtype=np.float64)
    lift = static_lift_m(level, outlet_height_m)
    bore, length = np.asarray(bore_m)[:, None], np.asarray(length_m)[:, None]
    scale = speed_share * np.broadcast_to(capacity_share, (level.shape[0],))[:, None]
    works = np.broadcast_to(scale > 0.0, level.shape)
    scale = np.maximum(scale, 1e-12)

    def surplus(flow: FloatArray) -> FloatArray:
        head = speed_share**2 * pump_head_m(curve, flow / scale)
        loss = pipe_head_loss_m(flow, bore, length, roughness_m, viscosity_m2_s)
        return np.asarray(head - loss - lift)

    low = np.zeros_like(level)
    f_low = surplus(low)
    works = works & (f_low > 0.0)
    high = np.broadcast_to(_greatest_flow(curve) * scale, level.shape).copy()
    f_high = surplus(high)
    # between a surplus and a want of head the flow is hemmed in: false position, halving the
    # weight of the end that stays ("Illinois"), so that it cannot creep
    side = np.zeros(level.shape, dtype=np.int8)
    for _ in range(_MOST_STEPS):
        done = ~works | (high - low <= 1e-10 * high)
        if np.all(done):
            break
        flow = (low * f_high - high * f_low) / np.where(f_high == f_low, 1.0, f_high - f_low)
        flow = np.where(done, low, np.clip(flow, low, high))
        f = surplus(flow)
        up = f > 0.0
        exact = f == 0.0
        f_high = np.where(up & (side == 1), f_high / 2.0, f_high)
        f_low = np.where(~up & (side == -1), f_low / 2.0, f_low)
        side = np.where(up, 1, -1).astype(np.int8)
        low, f_low = np.where(up | exact, flow, low), np.where(up, f, f_low)
        high, f_high = np.where(up, high, flow), np.where(up, f_high, f)
    else:
        raise ConvergenceError("The flow of the pump did not settle.")
    return np.where(works, (low + high) / 2.0, 0.0)


def _greatest_flow(curve: PumpCurve) -> FloatArray:
    """Flow at which the head is zero, along the last straight line, or the last point."""
    q0, q1 = curve.flow_m3_s[:, -2:-1] ** 2, curve.flow_m3_s[:, -1:] ** 2
    h0, h1 = curve.head_m[:, -2:-1], curve.head_m[:, -1:]
    return np.sqrt(q1 + np.maximum(h1, 0.0) * (q1 - q0) / (h0 - h1))


def need_duty_point(
    on_level_m: FloatArray,
    curve: PumpCurve,
    outlet_height_m: FloatArray,
    speed_share: float = 1.0,
) -> None:
    """Refuse a pump that cannot lift water to the outlet in the median of the draws.

    Parameters
    ----------
    on_level_m : (n_draws,) array
        Level at which the pump starts, relative to the floor [m].
    curve : PumpCurve
        The pump.
    outlet_height_m : (n_draws,) array
        Highest point of the pipe above the floor [m].
    speed_share : float
        Speed against the speed of the curve [-].

    Returns
    -------
    None

    Raises
    ------
    NoDutyPointError
        Where the median of the shut-off head is not above the median of the lift.

    References
    ----------
    arithmetic : difference of heights
    """
    shutoff = float(np.median(curve.head_m[:, 0])) * speed_share**2
    lift = float(np.median(np.asarray(outlet_height_m) - np.asarray(on_level_m)))
    if shutoff <= lift:
        raise NoDutyPointError(
            Words(
                f"The pump lifts water {shutoff / 0.3048:.3g} ft at most ({shutoff:.1f} m), and "
                f"the highest point of its pipe is {lift / 0.3048:.3g} ft ({lift:.1f} m) above "
                "the level at which it starts; correct ",
                Key("pump.shutoff_head"),
                " (or ",
                Key("pump.curve"),
                "), ",
                Key("pipe.outlet_height"),
                " or ",
                Key("switch.on"),
                ".",
            )
        )
