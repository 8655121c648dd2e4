"""The discharge pipe: lift, friction, fittings, and the water that stands in it."""

from __future__ import annotations

from collections.abc import Mapping
from functools import cache

import numpy as np

from riskkit.errors import InputError
from riskkit.records import FloatArray
from riskkit.tables import load_table

__all__ = [
    "equivalent_length_m",
    "fitting_diameters",
    "friction_slope",
    "pipe_head_loss_m",
    "pipe_water_m3",
    "static_lift_m",
    "velocity_m_s",
]

_GRAVITY_M_S2 = 9.80665  # standard acceleration of gravity
GROUND_WATER_VISCOSITY_M2_S = 1.306e-6  # kinematic viscosity of water at 10 degC
PLASTIC_ROUGHNESS_M = 1.5e-6  # drawn tubing, Moody 1944; new plastic pipe is as smooth


@cache
def fitting_diameters() -> Mapping[str, float]:
    """Length of straight pipe, in bores, that loses as much as each kind of fitting.

    Returns
    -------
    mapping of str to float
        Ratio L/d by name of fitting [-].

    References
    ----------
    irc_a22 : Table A.2.2
    foust_c2a : Appendix C-2a
    """
    return {row["fitting"]: float(row["length"]) for row in load_table("pipe_fittings").rows}


def equivalent_length_m(
    bore_m: FloatArray, fittings: Mapping[str, FloatArray | float]
) -> FloatArray:
    """Length of straight pipe that loses as much as all fittings, sum of n (L/d) d.

    Parameters
    ----------
    bore_m : (n_draws,) array
        Inside diameter [m].
    fittings : mapping of str to float or (n_draws,) array
        How many of each kind [-]; see `fitting_diameters`.

    Returns
    -------
    (n_draws,) array
        Equivalent length [m].

    Raises
    ------
    InputError
        Where a kind of fitting is not known.

    References
    ----------
    irc_a22 : Table A.2.2
    foust_c2a : Appendix C-2a
    """
    ratios = fitting_diameters()
    total = np.zeros_like(np.asarray(bore_m, dtype=np.float64))
    for name, count in fittings.items():
        if name not in ratios:
            raise InputError("fitting", f"{name!r} is not known", f"use one of {', '.join(ratios)}")
        total = total + np.asarray(count) * ratios[name] * np.asarray(bore_m)
    return total


def static_lift_m(level_m: FloatArray, outlet_height_m: FloatArray) -> FloatArray:
    """Height from the water in the pit to the highest point of the pipe.

    Parameters
    ----------
    level_m : (n_draws, n_levels) array
        Level in the pit, relative to the floor [m].
    outlet_height_m : (n_draws,) array
        Highest point of the pipe above the floor [m].

    Returns
    -------
    (n_draws, n_levels) array
        Lift [m].

    References
    ----------
    arithmetic : difference of heights
    """
    return np.asarray(outlet_height_m)[:, None] - level_m


def velocity_m_s(flow_m3_s: FloatArray, bore_m: FloatArray) -> FloatArray:
    """Mean velocity in a full pipe, V = 4 Q / (pi d²).

    Parameters
    ----------
    flow_m3_s : array
        Flow [m3/s].
    bore_m : array that fits `flow_m3_s`
        Inside diameter [m].

    Returns
    -------
    array
        Velocity [m/s].

    References
    ----------
    arithmetic : flow over area
    """
    return np.asarray(flow_m3_s) * 4.0 / (np.pi * np.asarray(bore_m) ** 2)


@cache
def _friction_table() -> tuple[FloatArray, FloatArray, FloatArray]:
    """Logarithms of Reynolds number and relative roughness, and of the friction factor there.

    Thousands of flows are wanted at once, and the library works one by one: it is asked on a grid
    fine enough that linear interpolation is within 0.1 % (a test holds that).
    """
    from fluids.friction import friction_factor

    reynolds = np.logspace(1.0, 7.0, 241)
    rough = np.logspace(-6.0, -1.5, 28)
    factor = np.array(
        [[friction_factor(Re=float(re), eD=float(eps)) for eps in rough] for re in reynolds]
    )
    return np.log10(reynolds), np.log10(rough), np.log10(factor)


def _friction_factor(reynolds: FloatArray, roughness_share: FloatArray) -> FloatArray:
    """Darcy friction factor, interpolated in both logarithms."""
    log_re, log_rough, log_factor = _friction_table()
    x = (np.log10(np.maximum(reynolds, 1e-9)) - log_re[0]) / (log_re[1] - log_re[0])
    y = (np.log10(roughness_share) - log_rough[0]) / (log_rough[1] - log_rough[0])
    # below the grid the flow is laminar, where the factor is a straight line in the logarithms
    i = np.clip(x.astype(np.int64), 0, log_re.size - 2)
    j = np.clip(y.astype(np.int64), 0, log_rough.size - 2)
    x, y = x - i, np.clip(y - j, 0.0, 1.0)
    low = log_factor[i, j] * (1 - y) + log_factor[i, j + 1] * y
    high = log_factor[i + 1, j] * (1 - y) + log_factor[i + 1, j + 1] * y
    return np.asarray(10.0 ** (low * (1 - x) + high * x))


def friction_slope(
    flow_m3_s: FloatArray,
    bore_m: FloatArray,
    roughness_m: float = PLASTIC_ROUGHNESS_M,
    viscosity_m2_s: float = GROUND_WATER_VISCOSITY_M2_S,
) -> FloatArray:
    """Head lost per length of pipe, by Darcy and Weisbach: J = f V² / (2 g d).

    The friction factor f is that of Colebrook, laminar below a Reynolds number of about 2040, from
    the ``fluids`` library. It is tabulated for Reynolds numbers up to 1e7 and relative roughness of
    1e-6 to 0.03.

    Parameters
    ----------
    flow_m3_s : array
        Flow [m3/s].
    bore_m : array that fits `flow_m3_s`
        Inside diameter [m].
    roughness_m : float
        Roughness of the wall [m].
    viscosity_m2_s : float
        Kinematic viscosity; that of water at 10 degC when left out [m2/s].

    Returns
    -------
    array
        Head lost per length [-].

    References
    ----------
    colebrook1939 : eq. for the transition region
    moody1944 : roughness of drawn tubing
    """
    bore = np.asarray(bore_m, dtype=np.float64)
    velocity = velocity_m_s(flow_m3_s, bore)
    factor = _friction_factor(velocity * bore / viscosity_m2_s, roughness_m / bore)
    return np.asarray(factor * velocity**2 / (2.0 * _GRAVITY_M_S2 * bore))


def pipe_head_loss_m(
    flow_m3_s: FloatArray,
    bore_m: FloatArray,
    length_m: FloatArray,
    roughness_m: float = PLASTIC_ROUGHNESS_M,
    viscosity_m2_s: float = GROUND_WATER_VISCOSITY_M2_S,
) -> FloatArray:
    """Head lost in the whole pipe: friction and the velocity that leaves at the outlet.

    h = J L + V² / (2 g)

    Parameters
    ----------
    flow_m3_s : array
        Flow [m3/s].
    bore_m : array that fits `flow_m3_s`
        Inside diameter [m].
    length_m : array that fits `flow_m3_s`
        Length of the pipe with the equivalent length of its fittings [m].
    roughness_m : float
        Roughness of the wall [m].
    viscosity_m2_s : float
        Kinematic viscosity [m2/s].

    Returns
    -------
    array
        Head lost [m].

    References
    ----------
    colebrook1939 : eq. for the transition region
    """
    slope = friction_slope(flow_m3_s, bore_m, roughness_m, viscosity_m2_s)
    exit_m = velocity_m_s(flow_m3_s, bore_m) ** 2 / (2.0 * _GRAVITY_M_S2)
    return np.asarray(slope * length_m + exit_m)


def pipe_water_m3(
    bore_m: FloatArray, riser_m: FloatArray, falling_share: FloatArray | float = 1.0
) -> FloatArray:
    """Water that falls back into the pit after a stop.

    Parameters
    ----------
    bore_m : (n_draws,) array
        Inside diameter [m].
    riser_m : (n_draws,) array
        Length of pipe that can run empty towards the pit [m].
    falling_share : float or (n_draws,) array
        Share of it that does: about 1 with the check valve stuck open, 0 with a tight one [-].

    Returns
    -------
    (n_draws,) array
        Volume per stop [m3].

    References
    ----------
    arithmetic : volume of a cylinder
    """
    area = np.pi / 4.0 * np.asarray(bore_m) ** 2
    return np.asarray(area * np.asarray(riser_m) * np.asarray(falling_share))
