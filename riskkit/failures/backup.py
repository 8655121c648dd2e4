"""What stands by the pump of a home, drawn by name: a second pump, its battery, a generator."""

from __future__ import annotations

from dataclasses import dataclass, replace

import numpy as np
from numpy.typing import ArrayLike
from scipy.special import ndtri

from riskkit.errors import InputError
from riskkit.failures.circumstances import assumed, places
from riskkit.home.backup import Backup, RunsOn
from riskkit.home.home import Home
from riskkit.home.samples import HomeSamples
from riskkit.quantities.backup import backup_quantities
from riskkit.quantities.distributions import known_spread, spread_at
from riskkit.records import FloatArray, PitModel
from riskkit.reliability.battery import Battery
from riskkit.reliability.battery_laws import inverter_current_a, peukert_exponent
from riskkit.reliability.standby import fuel_time_h, water_powered_m3_s
from riskkit.simulate import pit_of, pump_flow_of

__all__ = [
    "Electric",
    "drawn",
    "electric_of",
    "fuel_s",
    "second_pits",
    "second_start_m",
]

_CHARGE_KEPT = 0.85  # of what a charger gives a lead-acid battery (judgement)
_AT_PA = 60 * 6894.757  # pressure at which the flow of the mains is told: 60 psi
_MOST_EXPONENT = 1.6
_LEAST_ABOVE_M = 0.01  # that the alarm lies above the start of a pump


@dataclass(frozen=True)
class Electric:
    """What a second pump takes from its battery, draw by draw.

    Parameters
    ----------
    battery : Battery
        The battery.
    current_a, idle_a : (n_draws,) arrays
        Current while the pump runs, and between runs [A].
    charge_a : (n_draws,) array
        What the charger puts back while there is mains power [A].
    """

    battery: Battery
    current_a: FloatArray
    idle_a: FloatArray
    charge_a: FloatArray


def drawn(home: Home, key: str, n_draws: int, seed: int) -> FloatArray:
    """Draw a quantity of ``tables/backup.csv``: as the home file tells it, else as assumed.

    Parameters
    ----------
    home : Home
        The home.
    key : str
        Section and key.
    n_draws : int
        How many draws [-].
    seed : int
        Of the draws [-].

    Returns
    -------
    (n_draws,) array
        Values in the unit of the quantity, within its plausible range [any].

    References
    ----------
    judgement : the spreads
    """
    item, told = backup_quantities()[key], home.quantity(key)
    spread = item.unknown
    if told is not None:
        known = known_spread(told, item.shape)
        if known is None:
            return np.full(n_draws, told.value)
        spread = known
    values = spread_at(spread, item.shape.scale, ndtri(places(key, n_draws, seed)))
    return np.clip(values, item.low, item.high)


def electric_of(home: Home, backup: Backup, n_draws: int, seed: int) -> Electric:
    """Return what the second pump takes from its battery.

    Parameters
    ----------
    home : Home
        The home.
    backup : Backup
        With a battery.
    n_draws : int
        How many draws [-].
    seed : int
        Of the draws [-].

    Returns
    -------
    Electric
        Currents and battery.

    References
    ----------
    judgement : the share of the charge that stays
    """

    def of(key: str) -> FloatArray:
        return drawn(home, key, n_draws, seed)

    battery = Battery(
        rated_ah=of("battery.capacity"),
        rated_h=of("battery.rated_hours"),
        exponent=_exponent(home, n_draws, seed),
        usable=of("battery.usable"),
        age_yr=of("battery.age"),
        life_yr=of("battery.life"),
        temperature_c=of("battery.temperature"),
    )
    if backup.runs_on is RunsOn.INVERTER:
        current = inverter_current_a(
            of("second_pump.electric_power"), of("battery.volts"), of("battery.inverter_efficiency")
        )
    else:
        current = of("second_pump.current")
    idle = of("battery.idle_current")
    return Electric(battery, current, idle, _CHARGE_KEPT * of("battery.charger_current"))


def _exponent(home: Home, n_draws: int, seed: int) -> FloatArray:
    """Peukert exponent: as told, else from two ratings of the plate, else as assumed."""
    ratings = [
        home.quantity(f"battery.{key}")
        for key in ("capacity", "rated_hours", "second_capacity", "second_hours")
    ]
    known = [rating.value for rating in ratings if rating is not None]
    if home.quantity("battery.exponent") is None and len(known) == len(ratings):
        if known[1] == known[3]:
            what = "it is the same as battery.rated_hours"
            raise InputError("battery.second_hours", what, "give the hours of another rating")
        found = float(peukert_exponent(*known))
        if not 1 <= found <= _MOST_EXPONENT:
            what = f"the two ratings give a Peukert exponent of {found:.2f}"
            right = f"it lies between 1 and {_MOST_EXPONENT:g}: the longer, the more ampere-hours"
            raise InputError("battery.second_capacity", what, right)
        return np.full(n_draws, found)
    return np.maximum(drawn(home, "battery.exponent", n_draws, seed), 1.0)


def fuel_s(home: Home, n_draws: int, seed: int) -> FloatArray:
    """Return how long a generator that starts by itself runs on its fuel.

    Most are on piped gas or a large tank, so the tank of a small one counts only where it is told.

    Parameters
    ----------
    home : Home
        The home.
    n_draws : int
        How many draws [-].
    seed : int
        Of the draws [-].

    Returns
    -------
    (n_draws,) array
        Time [s].

    References
    ----------
    arithmetic : store over use
    judgement : how long it runs where the home file tells of no fuel
    """
    if home.quantity("generator.fuel") is None:
        return 3600.0 * assumed("generator_runs", n_draws, seed)
    fuel, use = (drawn(home, f"generator.{key}", n_draws, seed) for key in ("fuel", "use"))
    return 3600.0 * fuel_time_h(fuel, use)


def second_start_m(
    told_m: ArrayLike | None, on_m: ArrayLike, alarm_m: ArrayLike, off_m: ArrayLike
) -> FloatArray:
    """Return at which depth below the floor the second pump starts.

    Parameters
    ----------
    told_m : array-like or None
        As the home file tells it; None where it does not [m].
    on_m, alarm_m, off_m : array-like
        Depths below the floor at which the first pump starts, of the alarm, and at which the first
        pump stops [m].

    Returns
    -------
    array
        As told, else halfway between the start of the first pump and the alarm; always below the
        alarm and above the stop of the first pump [m].

    References
    ----------
    judgement : halfway

    Examples
    --------
    >>> float(second_start_m(None, 0.3, 0.1, 0.5)), float(second_start_m(0.05, 0.3, 0.1, 0.5))
    (0.2, 0.11)
    """
    on, alarm, off = np.asarray(on_m), np.asarray(alarm_m), np.asarray(off_m)
    start = (on + alarm) / 2 if told_m is None else np.asarray(told_m)
    return np.asarray(np.clip(start, alarm + _LEAST_ABOVE_M, off - _LEAST_ABOVE_M), np.float64)


def second_pits(
    home: Home, backup: Backup, homes: HomeSamples, seed: int
) -> tuple[PitModel, PitModel]:
    """Return the pit of each draw with the second pump alone, and with both pumps.

    The second pump has a pipe of its own of the same size and height as that of the first. Where
    the alarm lies below its start, it starts just below the alarm, which changes no minutes.

    Parameters
    ----------
    home : Home
        The home.
    backup : Backup
        With a second pump.
    homes : HomeSamples
        Its draws.
    seed : int
        Of the draws [-].

    Returns
    -------
    alone, both : PitModel
        By the switch of the second pump, and by that of the first.

    References
    ----------
    judgement : a pipe of its own; what a water-powered pump lifts goes with the root of the
        pressure, as through any nozzle
    midland : 1 gallon of city water for 2 gallons
    """

    def of(key: str) -> FloatArray:
        return drawn(home, key, homes.n_draws, seed)

    told = None if home.quantity("second_pump.on") is None else of("second_pump.on")
    on = second_start_m(told, homes["on_depth_m"], homes["alarm_depth_m"], homes["off_depth_m"])
    head = of("second_pump.rated_head")
    values = dict(homes.values) | {
        "on_depth_m": on,
        "rated_flow_m3_s": of("second_pump.rated_flow"),
        "rated_head_m": head,
        "shutoff_head_m": np.maximum(of("second_pump.shutoff_head"), 1.1 * head),
        "capacity_share": np.ones(homes.n_draws),
        "passing_share": np.ones(homes.n_draws),  # inlet and outlet are its own
    }
    second = replace(homes, values=values, pump_curve=None, has_pump=True)
    alone, both = pit_of(second), pit_of(homes)
    more = pump_flow_of(second, both.level_m)
    if backup.runs_on is RunsOn.MAINS_WATER:
        lifts = water_powered_m3_s(
            of("mains_water.flow") * np.sqrt(of("mains_water.pressure") / _AT_PA)
        )[:, None]
        alone = replace(alone, pump_m3_s=np.broadcast_to(lifts, alone.level_m.shape))
        more = np.broadcast_to(lifts, both.level_m.shape)
    return alone, replace(both, pump_m3_s=both.pump_m3_s + more)
