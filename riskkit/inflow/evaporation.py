"""Reference evapotranspiration from daily temperatures alone, by Hargreaves.

::

    ETo = 0.0023 (Tmean + 17.8) sqrt(Tmax - Tmin) Ra / lambda,   Tmean = (Tmax + Tmin) / 2

Ra is the radiation of the sun above the air, known from latitude and day of the year.
"""

from __future__ import annotations

import numpy as np
from numpy.typing import ArrayLike

from riskkit.errors import RangeError
from riskkit.records import FloatArray

__all__ = [
    "extraterrestrial_radiation_mj_m2",
    "hargreaves_mm",
    "solar_declination_rad",
    "sun_distance_factor",
    "sunset_angle_rad",
]

_SOLAR_CONSTANT = 0.0820  # MJ m-2 min-1, as FAO-56 has it
_MM_PER_MJ = 0.408  # water evaporated by 1 MJ per m2, at a latent heat of 2.45 MJ/kg


def sun_distance_factor(day_of_year: ArrayLike) -> FloatArray:
    """Inverse square of the relative distance of the sun: dr = 1 + 0.033 cos(2 pi J / 365).

    Parameters
    ----------
    day_of_year : float or (n_days,) array
        1 on 1 January [day].

    Returns
    -------
    (n_days,) array
        Factor [-].

    References
    ----------
    fao56 : eq. 23
    """
    return np.asarray(1 + 0.033 * np.cos(2 * np.pi / 365 * np.asarray(day_of_year, float)))


def solar_declination_rad(day_of_year: ArrayLike) -> FloatArray:
    """Declination of the sun: delta = 0.409 sin(2 pi J / 365 - 1.39).

    Parameters
    ----------
    day_of_year : float or (n_days,) array
        1 on 1 January [day].

    Returns
    -------
    (n_days,) array
        Declination, positive in the northern summer [rad].

    References
    ----------
    fao56 : eq. 24
    """
    return np.asarray(0.409 * np.sin(2 * np.pi / 365 * np.asarray(day_of_year, float) - 1.39))


def sunset_angle_rad(latitude_rad: ArrayLike, declination_rad: ArrayLike) -> FloatArray:
    """Hour angle of the sunset: ws = arccos(-tan(phi) tan(delta)).

    Parameters
    ----------
    latitude_rad : float or (n_days,) array
        Latitude, north positive, within -pi/2 to pi/2 [rad].
    declination_rad : float or (n_days,) array
        Declination of the sun [rad].

    Returns
    -------
    (n_days,) array
        Angle; 0 where the sun does not rise and pi where it does not set [rad].

    References
    ----------
    fao56 : eq. 25
    """
    cosine = -np.tan(np.asarray(latitude_rad, float)) * np.tan(np.asarray(declination_rad, float))
    return np.asarray(np.arccos(np.clip(cosine, -1.0, 1.0)))


def extraterrestrial_radiation_mj_m2(latitude_deg: float, day_of_year: ArrayLike) -> FloatArray:
    """Radiation of a day on level ground without air above it.

    Ra = (24 60 / pi) Gsc dr (ws sin(phi) sin(delta) + cos(phi) cos(delta) sin(ws)).

    Parameters
    ----------
    latitude_deg : float
        Latitude, north positive, -90 to 90 [degree].
    day_of_year : float or (n_days,) array
        1 on 1 January [day].

    Returns
    -------
    (n_days,) array
        Energy of the day [MJ/m2].

    Raises
    ------
    RangeError
        Where the latitude is beyond a pole.

    References
    ----------
    fao56 : eq. 21
    """
    if not -90 <= latitude_deg <= 90:
        raise RangeError("latitude_deg", f"{latitude_deg} is beyond a pole")
    latitude = np.radians(latitude_deg)
    delta = solar_declination_rad(day_of_year)
    sunset = sunset_angle_rad(latitude, delta)
    height = sunset * np.sin(latitude) * np.sin(delta)
    height = height + np.cos(latitude) * np.cos(delta) * np.sin(sunset)
    a_day = 24 * 60 / np.pi * _SOLAR_CONSTANT * sun_distance_factor(day_of_year) * height
    return np.asarray(np.maximum(a_day, 0.0))


def hargreaves_mm(tmin_degc: ArrayLike, tmax_degc: ArrayLike, ra_mj_m2: ArrayLike) -> FloatArray:
    """Evapotranspiration of well-watered grass on a day, from its temperatures.

    ETo = 0.0023 (Tmean + 17.8) sqrt(Tmax - Tmin) 0.408 Ra; none where that is below zero. Good to
    about a tenth over a month; single days scatter more, and wind is not seen.

    Parameters
    ----------
    tmin_degc : (n_days,) array
        Lowest temperature of the day [degC].
    tmax_degc : (n_days,) array
        Highest temperature of the day, not below the lowest [degC].
    ra_mj_m2 : (n_days,) array
        Radiation above the air, see `extraterrestrial_radiation_mj_m2` [MJ/m2].

    Returns
    -------
    (n_days,) array
        Depth of water [mm].

    Raises
    ------
    RangeError
        Where a highest temperature is below the lowest.

    References
    ----------
    fao56 : eq. 52; 0.408 converts MJ/m2 to mm (eq. 20)
    hargreaves1985 : the method
    """
    low, high = np.asarray(tmin_degc, float), np.asarray(tmax_degc, float)
    if not np.all(high >= low):
        raise RangeError("tmax_degc", "a highest temperature is below the lowest of its day")
    mean = (low + high) / 2
    depth = 0.0023 * (mean + 17.8) * np.sqrt(high - low) * _MM_PER_MJ * np.asarray(ra_mj_m2, float)
    return np.asarray(np.maximum(depth, 0.0))
