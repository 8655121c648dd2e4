"""What falls at each home in a storm that is as it is said in one place.

Where the storm is known, at the gauge or in the middle of the homes, it is as rare as it is; at a
home its normal score among the storms of a place goes with that one by the distance. Each world has
its own field, and its own reach of the storm: as far as official curves of areas have it, or less,
as those that look at what falls round a yearly maximum do.
"""

from __future__ import annotations

from functools import lru_cache

import numpy as np

from riskkit.fleet.calls import call_drawn
from riskkit.fleet.past import log_period_of_score, score_of_log_period
from riskkit.fleet.seeds import seed_of
from riskkit.fleet.tour import plane_km
from riskkit.records import FloatArray, IntArray
from riskkit.storm.space import correlation_km, given_in_the_middle, plane_waves

__all__ = ["local_log_period", "rows_of_storm"]

_WAVES = 64
_Waves = tuple[FloatArray, FloatArray, FloatArray]


@lru_cache(maxsize=64)  # storms belong to the place: its homes share their fields
def _world(storm: str, seed: int, n_draws: int) -> tuple[FloatArray, _Waves]:
    """How far the storm reaches against the curves of areas, and the waves, of each draw."""
    rng = np.random.default_rng(seed_of("rain in space", storm, seed))
    reach = call_drawn("reach", rng.uniform(1e-9, 1, n_draws))
    return reach, plane_waves(n_draws, _WAVES, rng)


def local_log_period(
    storm: str,
    log_period: float,
    duration_h: float,
    home: tuple[float, float],
    middle: tuple[float, float],
    seed: int,
    n_draws: int,
) -> FloatArray:
    """How seldom as much falls at a home as a storm brings there, draw by draw.

    Parameters
    ----------
    storm : str
        Its name, the same for all homes.
    log_period : float
        Logarithm of its return period in the middle [-].
    duration_h : float
        Duration in which it is rare [h].
    home, middle : tuple of float
        Latitude and longitude [deg].
    seed : int
        Of the whole run [-].
    n_draws : int
        Draws [-].

    Returns
    -------
    (n_draws,) array
        Logarithm of the return period at the home [-].

    References
    ----------
    herr_krzysztofowicz2005 : rain at two places by normal scores
    asquith1999 : what falls round a yearly maximum, by which the reach is judged
    judgement : how far a storm reaches, ``tables/calls.csv``
    """
    reach, waves = _world(storm, seed, n_draws)
    east, north = plane_km(home, middle)
    length = reach * correlation_km(duration_h)
    score = float(score_of_log_period(log_period))
    return log_period_of_score(given_in_the_middle(waves, east, north, length, score))


def rows_of_storm(
    log_period: FloatArray, rows_log_period: FloatArray, rng: np.random.Generator
) -> IntArray:
    """Take for each draw the storm that was run below or above the one that comes.

    Which of the two is left to chance, so that on average it is the one between. What is rarer than
    all counts as the rarest.

    Parameters
    ----------
    log_period : (n_draws,) array
        Logarithm of the return period that comes [-].
    rows_log_period : (n_storms,) array
        Of the storms that were run, rising [-].
    rng : numpy.random.Generator
        Draws which of the two.

    Returns
    -------
    (n_draws,) array of int
        Rows [-].

    References
    ----------
    judgement : linear in the logarithm of the return period
    """
    rows = rows_log_period
    asked = np.clip(log_period, rows[0], rows[-1])
    below = np.clip(np.searchsorted(rows, asked, side="right") - 1, 0, rows.size - 2)
    share = (asked - rows[below]) / (rows[below + 1] - rows[below])
    return np.asarray(below + (rng.random(asked.size) < share))
