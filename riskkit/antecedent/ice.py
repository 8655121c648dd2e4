"""Ice in the end of a discharge pipe, from the daily temperatures of a place.

Water that stands in the end of a pipe freezes from the wall inward. Plank's equation gives the time
at one temperature of the air; as that time goes with the inverse of the frost, their product is a
sum of degree-days, which can be counted from daily means as a degree-day count of snow is. A thaw
takes from the count what frost has added: both move the same latent heat.
"""

from __future__ import annotations

from functools import lru_cache

import numpy as np

from riskkit.antecedent.days import DailyWeather
from riskkit.inflow.snow import day_setting
from riskkit.records import FloatArray, need

__all__ = ["CYLINDER", "ice_closed", "icy_share", "plank_degree_days", "plank_equation"]

CYLINDER = (1 / 4, 1 / 16)
"""Plank's factors of a long cylinder [-]."""
_DAY_S = 86400.0


def plank_equation(
    latent_heat: float,
    size_m: float,
    resistance_m2k_w: float,
    conductivity_w_mk: float,
    factors: tuple[float, float],
) -> float:
    """Time to freeze a body that is at its freezing point, times the frost it freezes in.

    t dT = rho L (P d / U + R d² / k), with 1/U the resistance of all that lies round the body.

    Parameters
    ----------
    latent_heat : float
        Latent heat of the body by volume, rho L [J/m3].
    size_m : float
        Diameter of a sphere or cylinder, thickness of a slab [m].
    resistance_m2k_w : float
        Of air film and wrapping [m2 K/W].
    conductivity_w_mk : float
        Heat conductivity of what is frozen [W/(m K)].
    factors : tuple of float
        P and R of the shape [-].

    Returns
    -------
    float
        Time times difference of temperatures [K s].

    References
    ----------
    plank1913 : Plank's equation
    """
    p, r = factors
    return latent_heat * (p * size_m * resistance_m2k_w + r * size_m**2 / conductivity_w_mk)


def plank_degree_days(bore_m: float) -> float:
    """Frost that freezes the water in a full plastic pipe to its middle.

    Parameters
    ----------
    bore_m : float
        Inside diameter of the pipe [m].

    Returns
    -------
    float
        Degree-days below freezing [degC day].

    Raises
    ------
    RangeError
        Where the pipe has no size.

    References
    ----------
    plank1913 : infinite cylinder
    judgement : air that hardly moves round the pipe
    """
    need(bore_m > 0, "pipe.bore", "it is not above zero")
    heat = 1000 * day_setting("ice_density") * day_setting("ice_latent")
    outside_m = bore_m + 2 * day_setting("pipe_wall")
    # of film and wall, for each square metre of the inside
    film = bore_m / outside_m / day_setting("pipe_film")
    wall = bore_m * np.log(outside_m / bore_m) / 2 / day_setting("pipe_plastic")
    resistance = float(film + wall)
    return (
        plank_equation(heat, bore_m, resistance, day_setting("ice_conductivity"), CYLINDER) / _DAY_S
    )


def ice_closed(mean_degc: FloatArray, needed_degc_day: float) -> FloatArray:
    """Tell on which evenings water that stood in the end of a pipe is frozen to its middle.

    Parameters
    ----------
    mean_degc : (n_days,) array
        Mean temperature of each day, without a gap [degC].
    needed_degc_day : float
        Frost that freezes the pipe shut, see `plank_degree_days` [degC day].

    Returns
    -------
    (n_days,) array
        1 where it is shut, else 0 [-].

    References
    ----------
    judgement : a thaw takes away what frost has added; the pipe is open before the first day;
        water that is pumped through meanwhile does not thaw it
    """
    frost, shut = 0.0, np.zeros(mean_degc.size)
    if needed_degc_day <= 0:
        return shut + 1.0
    for day, degc in enumerate(mean_degc.tolist()):  # every home of a company comes through here
        frost -= degc
        if frost <= 0.0:
            frost = 0.0
        elif frost >= needed_degc_day:
            frost, shut[day] = needed_degc_day, 1.0
    return shut


@lru_cache(maxsize=64)  # the homes that are tried share their days, and mostly their pipe
def icy_share(weather: DailyWeather | None, bore_m: float) -> float | None:
    """Share of the large storms of a place that meet a pipe in which standing water is frozen.

    Parameters
    ----------
    weather : DailyWeather or None
        Days of the place.
    bore_m : float
        Inside diameter of the pipe [m].

    Returns
    -------
    float or None
        Share; None where no temperatures, or too few storms, tell it [-].

    References
    ----------
    arithmetic : count
    """
    if weather is None or not weather.enough:
        return None
    shut = ice_closed(weather.mean_degc, plank_degree_days(bore_m))
    return float(shut[weather.eve].mean())
