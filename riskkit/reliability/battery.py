"""Lead-acid batteries: how long one runs a pump, fresh or old, warm or cold.

Hours and ampere-hours, as the plates of batteries have them; the laws are in `battery_laws`. That a
battery recovers between the runs of a pump is not counted (on the careful side), and at small
currents it never gives more than its rated ampere-hours.
"""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
from numpy.typing import ArrayLike

from riskkit.records import FloatArray, freeze_arrays, need
from riskkit.reliability.battery_laws import ageing_factor, cold_factor, peukert_run_time_h

__all__ = [
    "Battery",
    "depletion_per_h",
    "run_time_h",
    "usable_capacity_ah",
]


@dataclass(frozen=True)
class Battery:
    """A battery as its plate and its place tell.

    Parameters
    ----------
    rated_ah : float or (n_draws,) array
        Capacity on the plate [Ah].
    rated_h : float or (n_draws,) array
        Hours of discharge for which the plate gives it, often 20 [h].
    exponent : float or (n_draws,) array
        Peukert exponent, 1 or more [-].
    usable : float or (n_draws,) array
        Share of the capacity that may be drawn [-].
    age_yr : float or (n_draws,) array
        Age [yr].
    life_yr : float or (n_draws,) array
        Age at which 80 % of the capacity is left [yr].
    temperature_c : float or (n_draws,) array
        Temperature of the battery [degC].
    """

    rated_ah: FloatArray | float
    rated_h: FloatArray | float
    exponent: FloatArray | float
    usable: FloatArray | float
    age_yr: FloatArray | float
    life_yr: FloatArray | float
    temperature_c: FloatArray | float

    def __post_init__(self) -> None:
        freeze_arrays(self)
        positive = (self.rated_ah, self.rated_h, self.life_yr)
        need(all(bool(np.all(each > 0)) for each in positive), "battery", "a plate value is zero")
        need(bool(np.all(self.exponent >= 1)), "Peukert exponent", "it is below 1")
        share = bool(np.all((self.usable >= 0) & (self.usable <= 1)))
        need(share, "usable share", "it is not a share", "give 0 to 1")
        need(bool(np.all(self.age_yr >= 0)), "battery", "its age is below zero")


def depletion_per_h(battery: Battery, current_a: ArrayLike) -> FloatArray:
    """Share of what may be drawn that goes in an hour of a steady current.

    Parameters
    ----------
    battery : Battery
        The battery.
    current_a : (n_draws,) array
        Current [A].

    Returns
    -------
    (n_draws,) array
        Share an hour; infinite where nothing is left to draw [1/h].

    References
    ----------
    peukert1897 : time until empty
    battery_faq : capacity in the cold
    """
    current = np.asarray(current_a, dtype=np.float64)
    law = peukert_run_time_h(battery.rated_ah, battery.rated_h, current, battery.exponent)
    # no current, or nothing or next to nothing left to draw
    with np.errstate(divide="ignore", invalid="ignore", over="ignore"):
        full = np.minimum(law, battery.rated_ah / current)
        left = battery.usable * ageing_factor(battery.age_yr, battery.life_yr)
        hours = full * left * cold_factor(battery.temperature_c, full)
        return np.asarray(np.where(current > 0, 1 / hours, 0.0))


def usable_capacity_ah(battery: Battery, current_a: ArrayLike) -> FloatArray:
    """Ampere-hours that a battery gives at a steady current, in its state and its place.

    Parameters
    ----------
    battery : Battery
        The battery.
    current_a : (n_draws,) array
        Current, above zero [A].

    Returns
    -------
    (n_draws,) array
        Capacity [Ah].

    References
    ----------
    peukert1897 : time until empty
    """
    return np.asarray(np.asarray(current_a, dtype=np.float64) / depletion_per_h(battery, current_a))


def run_time_h(
    battery: Battery, current_a: ArrayLike, duty: ArrayLike, idle_a: ArrayLike = 0.0
) -> FloatArray:
    """Hours that a battery keeps a pump going that runs for a share of the time.

    Each hour takes the pump's share at its current and the rest at the idle current.

    Parameters
    ----------
    battery : Battery
        The battery.
    current_a : (n_draws,) array
        Current while the pump runs [A].
    duty : (n_draws,) array
        Share of the time that it runs: inflow over what the pump lifts, at most 1 [-].
    idle_a : (n_draws,) array
        Current between runs, of inverter and controller [A].

    Returns
    -------
    (n_draws,) array
        Time until the battery is spent; infinite where nothing draws on it [h].

    Raises
    ------
    RangeError
        Where the duty is no share.

    References
    ----------
    peukert1897 : time until empty at each current
    """
    runs = np.asarray(duty, dtype=np.float64)
    need(bool(np.all((runs >= 0) & (runs <= 1))), "duty", "it is not a share", "give 0 to 1")
    # never or next to never used, or empty and never used
    with np.errstate(divide="ignore", invalid="ignore", over="ignore"):
        running = np.where(runs > 0, runs * depletion_per_h(battery, current_a), 0.0)
        idle = np.where(runs < 1, (1 - runs) * depletion_per_h(battery, idle_a), 0.0)
        return np.asarray(1 / (running + idle))
