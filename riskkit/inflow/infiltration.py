"""Infiltration by Green and Ampt, ponded, under steady rain and under any rain.

::

    f = K (1 + psi dtheta / F)            rate while water stands on the ground
    F - psi dtheta ln(1 + F / (psi dtheta)) = K t
    Fp = K psi dtheta / (i - K)           infiltrated depth when steady rain i begins to pond

The head of the ponded water itself is left out, as usual: it is small beside the suction.
"""

from __future__ import annotations

import numpy as np
from numpy.typing import ArrayLike

from riskkit.errors import RangeError
from riskkit.inflow import _kernel
from riskkit.records import FloatArray

__all__ = [
    "infiltration_rate_m_s",
    "moisture_deficit",
    "ponded_infiltration_m",
    "ponding_depth_m",
    "ponding_time_s",
    "sorption_m",
    "unsteady_infiltration_m",
]


def moisture_deficit(effective_porosity: ArrayLike, saturation: ArrayLike) -> FloatArray:
    """Water that the wetting front adds to the soil: theta_e (1 - s_e).

    Parameters
    ----------
    effective_porosity : float or (n_draws,) array
        Porosity less residual water [-].
    saturation : float or (n_draws,) array
        Effective saturation before the storm, 0 to 1 [-].

    Returns
    -------
    (n_draws,) array
        Moisture deficit [-].

    Raises
    ------
    RangeError
        Where the saturation is not within 0 to 1 or the porosity not within 0 to 1.

    References
    ----------
    chow1988 : section 4.3
    """
    porosity, wet = _alike(effective_porosity, saturation)
    _within("effective_porosity", porosity, 0.0, 1.0)
    _within("saturation", wet, 0.0, 1.0)
    return np.asarray(porosity * (1.0 - wet))


def sorption_m(suction_m: ArrayLike, deficit: ArrayLike) -> FloatArray:
    """Suction times moisture deficit, the one length of the equation: psi dtheta.

    Parameters
    ----------
    suction_m : float or (n_draws,) array
        Suction head at the wetting front [m].
    deficit : float or (n_draws,) array
        Moisture deficit [-].

    Returns
    -------
    (n_draws,) array
        Their product; below 1e-12 m it is nothing, and zero so that quotients stay finite [m].

    References
    ----------
    green_ampt1911 : rate equation
    """
    product = np.asarray(suction_m, float) * np.asarray(deficit, float)
    return np.asarray(np.where(product < 1e-12, 0.0, product))


def infiltration_rate_m_s(
    k_m_s: ArrayLike, suction_m: ArrayLike, deficit: ArrayLike, infiltrated_m: ArrayLike
) -> FloatArray:
    """Rate at which ponded ground takes water: f = K (1 + psi dtheta / F).

    Parameters
    ----------
    k_m_s : float or (n_draws,) array
        Hydraulic conductivity [m/s].
    suction_m : float or (n_draws,) array
        Suction head at the wetting front [m].
    deficit : float or (n_draws,) array
        Moisture deficit [-].
    infiltrated_m : float or (n_draws,) array
        Depth infiltrated so far, above zero [m].

    Returns
    -------
    (n_draws,) array
        Infiltration rate [m/s].

    Raises
    ------
    RangeError
        Where nothing has infiltrated yet: the rate is not finite then.

    References
    ----------
    green_ampt1911 : rate equation
    chow1988 : section 4.3
    """
    infiltrated = np.asarray(infiltrated_m, float)
    if not np.all(infiltrated > 0):
        raise RangeError("infiltrated_m", "it is not above zero")
    sorption = sorption_m(suction_m, deficit)
    return np.asarray(np.asarray(k_m_s, float) * (1.0 + sorption / infiltrated))


def ponded_infiltration_m(
    k_m_s: ArrayLike,
    suction_m: ArrayLike,
    deficit: ArrayLike,
    time_s: ArrayLike,
    start_m: ArrayLike = 0.0,
) -> FloatArray:
    """Depth infiltrated under standing water, the implicit equation solved to 1e-12.

    F - F0 - psi dtheta ln((F + psi dtheta) / (F0 + psi dtheta)) = K t

    Parameters
    ----------
    k_m_s : float or (n_draws,) array
        Hydraulic conductivity, above zero [m/s].
    suction_m : float or (n_draws,) array
        Suction head at the wetting front [m].
    deficit : float or (n_draws,) array
        Moisture deficit; 0 leaves F = F0 + K t [-].
    time_s : float or (n_draws,) array
        Time under standing water [s].
    start_m : float or (n_draws,) array
        Depth infiltrated before it [m].

    Returns
    -------
    (n_draws,) array
        Depth infiltrated in all, `start_m` included [m].

    Raises
    ------
    RangeError
        Where an argument is negative or the conductivity is zero.

    References
    ----------
    green_ampt1911 : integrated equation
    chow1988 : section 4.3
    """
    k, suction, theta, time, start = _alike(k_m_s, suction_m, deficit, time_s, start_m)
    _soil(k, suction, theta)
    _within("time_s", time)
    _within("start_m", start)
    out = np.empty(k.size)
    sorption = sorption_m(suction, theta)
    _kernel.ponded_loop(k.ravel(), sorption.ravel(), start.ravel(), time.ravel(), out)
    return out.reshape(k.shape)


def ponding_depth_m(
    k_m_s: ArrayLike, suction_m: ArrayLike, deficit: ArrayLike, rain_m_s: ArrayLike
) -> FloatArray:
    """Depth infiltrated when steady rain begins to pond: Fp = K psi dtheta / (i - K).

    Parameters
    ----------
    k_m_s : float or (n_draws,) array
        Hydraulic conductivity, above zero [m/s].
    suction_m : float or (n_draws,) array
        Suction head at the wetting front [m].
    deficit : float or (n_draws,) array
        Moisture deficit [-].
    rain_m_s : float or (n_draws,) array
        Rain intensity [m/s].

    Returns
    -------
    (n_draws,) array
        Depth; infinite where the rain is no more than the conductivity [m].

    Raises
    ------
    RangeError
        Where an argument is negative or the conductivity is zero.

    References
    ----------
    mein_larson1973 : depth at ponding
    """
    k, suction, theta, rain = _alike(k_m_s, suction_m, deficit, rain_m_s)
    _soil(k, suction, theta)
    _within("rain_m_s", rain)
    ponds, sorption = rain > k, sorption_m(suction, theta)
    return np.asarray(np.where(ponds, k * sorption / np.where(ponds, rain - k, 1.0), np.inf))


def ponding_time_s(
    k_m_s: ArrayLike, suction_m: ArrayLike, deficit: ArrayLike, rain_m_s: ArrayLike
) -> FloatArray:
    """Time after which steady rain begins to pond: tp = K psi dtheta / (i (i - K)).

    Parameters
    ----------
    k_m_s : float or (n_draws,) array
        Hydraulic conductivity, above zero [m/s].
    suction_m : float or (n_draws,) array
        Suction head at the wetting front [m].
    deficit : float or (n_draws,) array
        Moisture deficit [-].
    rain_m_s : float or (n_draws,) array
        Rain intensity, above zero [m/s].

    Returns
    -------
    (n_draws,) array
        Time; infinite where the rain is no more than the conductivity [s].

    Raises
    ------
    RangeError
        Where an argument is negative, or the conductivity or the rain is zero.

    References
    ----------
    mein_larson1973 : time to ponding
    chow1988 : section 4.4
    """
    rain = np.asarray(rain_m_s, float)
    if not np.all(rain > 0):
        raise RangeError("rain_m_s", "it is not above zero")
    return np.asarray(ponding_depth_m(k_m_s, suction_m, deficit, rain) / rain)


def unsteady_infiltration_m(
    rain_m: ArrayLike,
    step_s: float,
    k_m_s: ArrayLike,
    suction_m: ArrayLike,
    deficit: ArrayLike,
    pond_limit_m: ArrayLike = 0.0,
) -> tuple[FloatArray, FloatArray]:
    """Infiltration and run-off under rain that changes from step to step.

    Within a step the rain is steady, and ponding may begin or end at any moment of it: all rain
    goes in until F reaches Fp, then the implicit equation holds. Water that does not go in stands
    up to `pond_limit_m` and goes on infiltrating; the rest runs off. No recovery between bursts.

    Parameters
    ----------
    rain_m : (n_draws, n_steps) or (n_steps,) array
        Water arriving in each step [m].
    step_s : float
        Length of a step [s].
    k_m_s : float or (n_draws,) array
        Hydraulic conductivity, above zero [m/s].
    suction_m : float or (n_draws,) array
        Suction head at the wetting front [m].
    deficit : float or (n_draws,) array
        Moisture deficit [-].
    pond_limit_m : float or (n_draws,) array
        How deep water can stand before it runs off [m].

    Returns
    -------
    infiltrated_m : (n_draws, n_steps) array
        Depth infiltrated in each step [m].
    run_off_m : (n_draws, n_steps) array
        Depth run off in each step [m].

    Raises
    ------
    RangeError
        Where an argument is negative, or the conductivity or the step is zero.

    References
    ----------
    mein_larson1973 : infiltration before and after ponding
    chow1988 : section 5.4
    """
    rain = np.atleast_2d(np.asarray(rain_m, float))
    k, suction, theta, limit, _ = _alike(k_m_s, suction_m, deficit, pond_limit_m, rain[:, 0])
    _soil(k, suction, theta)
    _within("rain_m", rain)
    _within("pond_limit_m", limit)
    if not step_s > 0:
        raise RangeError("step_s", "the step is not above zero")
    shape = (k.size, rain.shape[1])
    soaked, ran_off = np.empty(shape), np.empty(shape)
    supply, sorption = np.array(np.broadcast_to(rain, shape)), sorption_m(suction, theta)
    _kernel.infiltration_loop(supply, float(step_s), k, sorption, limit, soaked, ran_off)
    return soaked, ran_off


def _alike(*values: ArrayLike) -> list[FloatArray]:
    """Bring values to one shape, each a fresh array, as the compiled loop needs them [any]."""
    arrays = [np.asarray(value, float) for value in values]
    shape = np.broadcast_shapes(*(a.shape for a in arrays))
    return [np.array(np.broadcast_to(a, shape)) for a in arrays]


def _within(where: str, values: FloatArray, low: float = 0.0, high: float = np.inf) -> None:
    """Refuse what is outside `low` to `high` [any], or not a number."""
    if not np.all((values >= low) & (values <= high) & np.isfinite(values)):
        raise RangeError(where, f"a value is not within {low:g} to {high:g}")


def _soil(k: FloatArray, suction: FloatArray, deficit: FloatArray) -> None:
    if not np.all((k > 0) & np.isfinite(k)):
        raise RangeError("k_m_s", "a conductivity is not above zero")
    _within("suction_m", suction)
    _within("deficit", deficit, 0.0, 1.0)
