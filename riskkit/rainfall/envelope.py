"""The largest rains of the world: a depth above them cannot be."""

from __future__ import annotations

import numpy as np

from riskkit.errors import RangeError
from riskkit.records import FloatArray

__all__ = ["ENVELOPE_RANGE_H", "world_envelope_mm"]

ENVELOPE_RANGE_H = (1.0 / 60.0, 48.0)
"""Durations of the curve of the world's records [h]."""


def world_envelope_mm(duration_h: float | FloatArray) -> FloatArray:
    """Return the greatest rain that the world has seen in a time.

    .. math:: P = 425 D^{0.47}

    with P in mm and D in h. Valid from one minute to two days; at three and four days the records
    of Réunion in 2007 lie above it.

    Parameters
    ----------
    duration_h : float or (n,) array
        Duration, 1/60 to 48 [h].

    Returns
    -------
    (n,) array
        Depth, or a single number for a single duration [mm].

    Raises
    ------
    RangeError
        Where a duration is outside the range of the curve.

    References
    ----------
    jennings1950 : pages 4-5; the curve as given in later textbooks
    """
    hours = np.asarray(duration_h, dtype=np.float64)
    shortest, longest = ENVELOPE_RANGE_H
    if not np.all((hours >= shortest) & (hours <= longest)):
        asked = " to ".join(f"{end:g}" for end in np.unique([hours.min(), hours.max()]))
        raise RangeError(
            "world envelope", f"a duration of {asked} h is beyond it", "it goes from 1 min to 48 h"
        )
    return 425.0 * hours**0.47
