"""Who is at home when the alarm sounds, by day and at night, and when a service call arrives."""

from __future__ import annotations

import numpy as np

from riskkit.failures.backup import drawn
from riskkit.home.home import Home
from riskkit.records import FloatArray

__all__ = ["hears_by_hours", "service_call", "tells_hours"]

_HOURS, _DAYS = 24.0, 365.0
_KEYS = ("away", "asleep", "away_days", "hears_awake", "hears_asleep")
_CALLS = ("calls_service", "service_travel")


def tells_hours(home: Home) -> bool:
    """Return whether a home tells when somebody is there, and nothing that says it all at once.

    Parameters
    ----------
    home : Home
        The home.

    Returns
    -------
    bool
        False where ``household.hears`` is given too, for it counts before.
    """
    told = any(home.quantity(f"household.{key}") is not None for key in _KEYS)
    return told and home.quantity("household.hears") is None


def hears_by_hours(home: Home, n_draws: int, seed: int) -> FloatArray:
    """Chance that somebody is there and hears the alarm, by the hours of a day.

    ``(1 - days_away / 365) (asleep p_asleep + (24 - asleep - away) p_awake) / 24``: alarms are as
    likely at one hour as at another, and nobody sleeps while away.

    Parameters
    ----------
    home : Home
        The home, with some of ``household.away``, ``asleep``, ``away_days``, ``hears_awake`` and
        ``hears_asleep``; the others are drawn as assumed.
    n_draws : int
        How many draws [-].
    seed : int
        Of the draws [-].

    Returns
    -------
    (n_draws,) array
        Chance [-].

    References
    ----------
    arithmetic : total probability over absent, awake and asleep
    """
    away, asleep, days, awake_hears, asleep_hears = (
        drawn(home, f"household.{key}", n_draws, seed) for key in _KEYS
    )
    awake = np.maximum(_HOURS - away - asleep, 0.0)
    at_home = asleep_hears * np.minimum(asleep, _HOURS - away) + awake_hears * awake
    return np.asarray((1 - days / _DAYS) * at_home / _HOURS)


def service_call(home: Home, n_draws: int, seed: int) -> tuple[FloatArray, FloatArray]:
    """Chance that service is called and comes, and the time from the alarm until it lifts water.

    Parameters
    ----------
    home : Home
        The home; without ``household.calls_service`` and ``service_travel`` nobody comes, for most
        homes have no such contract.
    n_draws : int
        How many draws [-].
    seed : int
        Of the draws [-].

    Returns
    -------
    calls : (n_draws,) array
        Chance, of those who heard the alarm, whether they can act themselves or not [-].
    after_s : (n_draws,) array
        Time in half of the cases [s].

    References
    ----------
    judgement : who comes brings a pump and what feeds it
    """
    told = any(home.quantity(f"household.{key}") is not None for key in _CALLS)
    calls, after_s = (drawn(home, f"household.{key}", n_draws, seed) for key in _CALLS)
    return (calls if told else np.zeros(n_draws)), after_s
