"""How far places lie from each other."""

from __future__ import annotations

import numpy as np
from numpy.typing import ArrayLike

from riskkit.records import FloatArray

__all__ = ["distance_km"]

_EARTH_KM = 6371.0  # mean radius


def distance_km(
    latitude: float, longitude: float, other_latitude: ArrayLike, other_longitude: ArrayLike
) -> FloatArray:
    """Distance of places on a round Earth, by the haversine.

    .. math:: d = 2 R \\arcsin \\sqrt{\\sin^2(\\Delta\\phi/2)
              + \\cos\\phi_1 \\cos\\phi_2 \\sin^2(\\Delta\\lambda/2)}

    Parameters
    ----------
    latitude, longitude : float
        One place [deg].
    other_latitude, other_longitude : (n,) array or float
        The others [deg].

    Returns
    -------
    (n,) array
        Distances, within 0.6 % of those on the ellipsoid [km].

    References
    ----------
    arithmetic : geometry
    """
    phi, other_phi = np.radians(latitude), np.radians(other_latitude)
    half_phi = (other_phi - phi) / 2
    half_lambda = np.radians(np.subtract(other_longitude, longitude)) / 2
    square = np.sin(half_phi) ** 2 + np.cos(phi) * np.cos(other_phi) * np.sin(half_lambda) ** 2
    return np.asarray(2 * _EARTH_KM * np.arcsin(np.sqrt(np.minimum(square, 1.0))))
