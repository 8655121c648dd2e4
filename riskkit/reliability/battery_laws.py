"""Laws of lead-acid batteries: current and time, cold, age, inverter, charge."""

from __future__ import annotations

import warnings

import numpy as np
from numpy.typing import ArrayLike

from riskkit.errors import OutOfRangeWarning
from riskkit.records import FloatArray, need
from riskkit.tables import load_table

__all__ = [
    "END_OF_LIFE",
    "ageing_factor",
    "cold_factor",
    "inverter_current_a",
    "peukert_exponent",
    "peukert_run_time_h",
    "recharge_time_h",
]

END_OF_LIFE = 0.8
"""Share of the rated capacity at which a battery is to be replaced."""

_BETWEEN_H = 0.2  # over which the columns of the table of the cold run into each other (judgement)


def peukert_run_time_h(
    rated_ah: ArrayLike, rated_h: ArrayLike, current_a: ArrayLike, exponent: ArrayLike
) -> FloatArray:
    """Hours that a battery gives a steady current, t = H (C/(I H))^k.

    Parameters
    ----------
    rated_ah : (n_draws,) array
        Capacity C [Ah].
    rated_h : (n_draws,) array
        Hours H for which it is rated [h].
    current_a : (n_draws,) array
        Current I [A].
    exponent : (n_draws,) array
        Peukert exponent k [-].

    Returns
    -------
    (n_draws,) array
        Time until it is empty; infinite without a current [h].

    Raises
    ------
    RangeError
        Where a current is negative.

    References
    ----------
    peukert1897 : I^k t is constant
    """
    current, rated = np.asarray(current_a, dtype=np.float64), np.asarray(rated_h, dtype=np.float64)
    need(bool(np.all(current >= 0)), "current", "it is below zero", "give amperes")
    with np.errstate(divide="ignore"):  # no current: it lasts for ever
        return np.asarray(
            rated * (np.asarray(rated_ah) / (current * rated)) ** np.asarray(exponent, float)
        )


def peukert_exponent(
    first_ah: ArrayLike, first_h: ArrayLike, second_ah: ArrayLike, second_h: ArrayLike
) -> FloatArray:
    """Exponent from two ratings of one battery, ln(H2/H1) / ln(I1/I2).

    Parameters
    ----------
    first_ah : (n_draws,) array
        Capacity of the one rating [Ah].
    first_h : (n_draws,) array
        Its hours [h].
    second_ah : (n_draws,) array
        Capacity of the other [Ah].
    second_h : (n_draws,) array
        Its hours [h].

    Returns
    -------
    (n_draws,) array
        Peukert exponent k [-].

    References
    ----------
    peukert1897 : I^k t is constant
    """
    one, other = np.asarray(first_ah, float) / first_h, np.asarray(second_ah, float) / second_h
    return np.asarray(np.log(np.asarray(second_h, float) / first_h) / np.log(one / other))


def cold_factor(temperature_c: ArrayLike, discharge_h: ArrayLike) -> FloatArray:
    """Capacity against that at 25 degC, by temperature and how long the discharge takes.

    Straight between the temperatures of the table; beyond them its end, with a warning. Within six
    minutes of the half hour and the hour that part its columns it goes from one to the next, for
    else a greater battery would run shorter there.

    Parameters
    ----------
    temperature_c : (n_draws,) array
        Temperature of the battery, 0 to 40 [degC].
    discharge_h : (n_draws,) array
        Time until it would be empty [h].

    Returns
    -------
    (n_draws,) array
        Factor on the capacity [-].

    Warns
    -----
    OutOfRangeWarning
        Where a temperature lies outside the table.

    References
    ----------
    battery_faq : table
    """
    table = load_table("battery_cold")
    known, at = np.array(table.column("temperature")), np.asarray(temperature_c, dtype=np.float64)
    if np.any((at < known[0]) | (at > known[-1])):
        shown = f"{np.min(at):g} to {np.max(at):g} degC"
        text = f"batteries are known from {known[0]:g} to {known[-1]:g} degC, not at {shown}"
        warnings.warn(text, OutOfRangeWarning, stacklevel=2)
    hours = np.asarray(discharge_h, dtype=np.float64)
    short, middle, long = (
        np.interp(at, known, np.array(table.column(column)) / 100)
        for column in ("below_30_min", "30_to_60_min", "above_60_min")
    )
    past_half, past_one = (np.clip((hours - end) / _BETWEEN_H + 0.5, 0, 1) for end in (0.5, 1.0))
    return np.asarray(short + past_half * (middle - short) + past_one * (long - middle))


def ageing_factor(age_yr: ArrayLike, life_yr: ArrayLike) -> FloatArray:
    """Share of the rated capacity that is left at an age, straight down to 80 % at the end of life.

    That it falls in a straight line, also beyond its life and to zero, is judgement.

    Parameters
    ----------
    age_yr : (n_draws,) array
        Age [yr].
    life_yr : (n_draws,) array
        Age at which 80 % is left [yr].

    Returns
    -------
    (n_draws,) array
        Share [-].

    References
    ----------
    battery_maintenance : replace below 80 % of the capacity
    """
    spent = np.asarray(age_yr, dtype=np.float64) / np.asarray(life_yr)
    return np.asarray(np.maximum(0.0, 1 - (1 - END_OF_LIFE) * spent))


def inverter_current_a(power_w: ArrayLike, volts: ArrayLike, efficiency: ArrayLike) -> FloatArray:
    """Current that a load draws from a battery through an inverter, P/(V eta).

    Parameters
    ----------
    power_w : (n_draws,) array
        Power of the load P [W].
    volts : (n_draws,) array
        Voltage of the battery V [V].
    efficiency : (n_draws,) array
        Efficiency of the inverter eta; 1 for a pump of direct current [-].

    Returns
    -------
    (n_draws,) array
        Current [A].

    References
    ----------
    arithmetic : power is voltage times current
    """
    share = np.asarray(efficiency, dtype=np.float64)
    need(bool(np.all((share > 0) & (share <= 1))), "efficiency", "it is not above 0 and up to 1")
    return np.asarray(np.asarray(power_w) / (np.asarray(volts) * share))


def recharge_time_h(drawn_ah: ArrayLike, charger_a: ArrayLike, efficiency: ArrayLike) -> FloatArray:
    """Hours to put back what was drawn, Ah/(I eta), with the charger's current all the while.

    Parameters
    ----------
    drawn_ah : (n_draws,) array
        Ampere-hours drawn [Ah].
    charger_a : (n_draws,) array
        Current of the charger less what it feeds besides [A].
    efficiency : (n_draws,) array
        Share of the charge that stays [-].

    Returns
    -------
    (n_draws,) array
        Time; the last part takes longer than this [h].

    References
    ----------
    arithmetic : charge is current times time
    """
    share = np.asarray(efficiency, dtype=np.float64)
    need(bool(np.all((share > 0) & (share <= 1))), "efficiency", "it is not above 0 and up to 1")
    need(bool(np.all(np.asarray(charger_a) > 0)), "charger", "it gives no current", "give amperes")
    return np.asarray(np.asarray(drawn_ah) / (np.asarray(charger_a) * share))
