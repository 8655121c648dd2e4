"""Rain of one storm that differs from place to place.

Official curves tell by how much less falls on an area than at a point of it. Where depths at two
places go together by the distance between them alone, the curves tell how fast that falls off, and
a sum of plane waves with the right lengths makes a field of such depths. It is worked out at any
place by itself, so that neither the order of places nor their number changes what falls at one.
"""

from __future__ import annotations

from functools import lru_cache

import numpy as np
from scipy.integrate import quad
from scipy.optimize import brentq

from riskkit.records import FloatArray, need

__all__ = [
    "areal_reduction",
    "correlation_km",
    "given_in_the_middle",
    "mean_correlation",
    "plane_waves",
    "wave_field",
]

_MI2_KM2 = 1.609344**2
_AT_KM2 = 100 * _MI2_KM2  # where a correlation is read from the curves, which end at 400 mi2
_LEAST_KM, _MOST_KM = 0.1, 1e5


def areal_reduction(area_km2: float, duration_h: float) -> float:
    """Rain of an area against that at a point of it, equally rare: the curves of TP-29.

    K = 1 - exp(-1.1 t^(1/4)) + exp(-1.1 t^(1/4) - 0.01 A), t in hours and A in square miles.

    Parameters
    ----------
    area_km2 : float
        Area, up to 1000 km2 as the curves [km2].
    duration_h : float
        Duration, from half an hour to a day as the curves; carried on beyond [h].

    Returns
    -------
    float
        Factor, at most 1 [-].

    Raises
    ------
    RangeError
        Where the area is below zero, or the duration not above it.

    References
    ----------
    leclerc_schaake1972 : fit to the curves of the Weather Bureau
    """
    need(area_km2 >= 0, "area", "it is below zero")
    need(duration_h > 0, "duration", "it is not above zero")
    point = 1.1 * duration_h**0.25
    return float(1 - np.exp(-point) + np.exp(-point - 0.01 * area_km2 / _MI2_KM2))


def mean_correlation(radius_km: float, length_km: float) -> float:
    """Mean of exp(-d/L) over all pairs of places of a circle.

    Parameters
    ----------
    radius_km : float
        Radius of the circle [km].
    length_km : float
        Distance L in which the correlation falls to a third (1/e) [km].

    Returns
    -------
    float
        Mean correlation [-].

    References
    ----------
    arithmetic : distance of two random places of a circle
    """

    def part(share: float) -> float:  # at the distance of a share of the diameter
        apart = 2 * share
        density = 4 * apart / np.pi * np.arccos(share) - 2 * apart**2 / np.pi * np.sqrt(
            1 - share**2
        )
        return float(2 * density * np.exp(-apart * radius_km / length_km))

    return float(quad(part, 0.0, 1.0)[0])


@lru_cache(maxsize=64)
def correlation_km(duration_h: float) -> float:
    """Distance in which the correlation of depths falls to a third, as the curves of areas have it.

    The mean over an area varies less than a point, by the mean correlation of its places: the
    square of the areal reduction. It is read at 100 square miles.

    Parameters
    ----------
    duration_h : float
        Duration of the rain [h].

    Returns
    -------
    float
        Distance L of exp(-d/L) [km].

    References
    ----------
    rodriguez_iturbe_mejia1974 : areal reduction as the root of the mean correlation
    leclerc_schaake1972 : the areal reduction
    judgement : the area at which it is read
    """
    target = areal_reduction(_AT_KM2, duration_h) ** 2
    radius = float(np.sqrt(_AT_KM2 / np.pi))
    return float(brentq(lambda km: mean_correlation(radius, km) - target, _LEAST_KM, _MOST_KM))


def plane_waves(
    n_fields: int, n_waves: int, rng: np.random.Generator
) -> tuple[FloatArray, FloatArray, FloatArray]:
    """Draw the waves of fields whose correlation falls off as exp(-d) in lengths of that distance.

    On a plane the spectrum of exp(-d) lets a wave be shorter than 2 pi/k with the chance
    1/sqrt(1 + k^2), in any direction.

    Parameters
    ----------
    n_fields, n_waves : int
        How many fields, and waves in each [-].
    rng : numpy.random.Generator
        Draws them.

    Returns
    -------
    east, north : (n_fields, n_waves) array
        Wave numbers [-].
    phase : (n_fields, n_waves) array
        Phases [-].

    References
    ----------
    mejia_rodriguez_iturbe1974 : fields of rain from the spectrum
    """
    luck, way, phase = rng.random((3, n_fields, n_waves))
    number = np.sqrt(1 / (1 - luck) ** 2 - 1)
    angle = 2 * np.pi * way
    return number * np.cos(angle), number * np.sin(angle), 2 * np.pi * phase


def wave_field(
    waves: tuple[FloatArray, FloatArray, FloatArray],
    east_km: float,
    north_km: float,
    length_km: FloatArray,
) -> FloatArray:
    """Return fields at one place: normal, of mean 0 and variance 1 over many fields.

    Parameters
    ----------
    waves : tuple of (n_fields, n_waves) arrays
        As `plane_waves` draws them [-].
    east_km, north_km : float
        The place [km].
    length_km : (n_fields,) array
        Distance in which the correlation of each falls to a third [km].

    Returns
    -------
    (n_fields,) array
        A value of each field [-].

    References
    ----------
    mejia_rodriguez_iturbe1974 : sum of cosines
    """
    east, north, phase = waves
    turn = (east * east_km + north * north_km) / length_km[:, None] + phase
    return np.asarray(np.sqrt(2 / phase.shape[1]) * np.cos(turn).sum(axis=1))


def given_in_the_middle(
    waves: tuple[FloatArray, FloatArray, FloatArray],
    east_km: float,
    north_km: float,
    length_km: FloatArray,
    score: float,
) -> FloatArray:
    """Return fields at one place where the value in the middle is known.

    z(x) + exp(-d/L) (score - z(0)): in the middle the score itself, far from it a field that knows
    nothing of it.

    Parameters
    ----------
    waves : tuple of (n_fields, n_waves) arrays
        As `plane_waves` draws them [-].
    east_km, north_km : float
        The place, from the middle [km].
    length_km : (n_fields,) array
        Distance in which the correlation of each falls to a third [km].
    score : float
        The value in the middle [-].

    Returns
    -------
    (n_fields,) array
        A value of each field [-].

    References
    ----------
    journel_huijbregts1978 : conditioning by kriging
    """
    there = wave_field(waves, east_km, north_km, length_km)
    middle = wave_field(waves, 0.0, 0.0, length_km)
    share = np.exp(-np.hypot(east_km, north_km) / length_km)
    return np.asarray(there + share * (score - middle))
