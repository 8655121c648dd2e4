"""Chances and rates of every cause of a lost pump and of a missed alarm, draw by draw."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, replace

import numpy as np
from scipy.special import ndtr

from riskkit.records import FloatArray
from riskkit.reliability.causes import causes, pump_tree
from riskkit.reliability.outages import Outages

__all__ = [
    "OUTAGE",
    "PUMP_CAUSES",
    "TESTED_BY_OWNER",
    "Faults",
    "StandBy",
    "left_failed",
]

OUTAGE = "mains_out"
PUMP_CAUSES: tuple[str, ...] = tuple(
    cause for cause in pump_tree().gates["first_pump_lost"].inputs if cause in causes()
)
"""What loses the pump besides its power, in the order of the tree."""
TESTED_BY_OWNER = ("pump", "switch", "outlet")
_DAY_S = 86400.0


@dataclass(frozen=True)
class StandBy:
    """Chances of what stands by the pump, draw by draw.

    Parameters
    ----------
    fails : (n_draws,) array
        Chance that the second pump does not start; 1 where there is none [-].
    battery_weak : (n_draws,) array
        Chance that its battery is spent before it begins; 0 where it has none [-].
    shared : mapping of str to (n_draws,) array
        Share of the faults of the first pump, by cause, that take the second one too [-].
    generator : (n_draws,) array
        Chance that a generator which starts by itself takes over; 0 where there is none [-].
    fuel_s : (n_draws,) array
        How long its fuel lasts [s].
    """

    fails: FloatArray
    battery_weak: FloatArray
    shared: Mapping[str, FloatArray]
    generator: FloatArray
    fuel_s: FloatArray

    @property
    def fit(self) -> FloatArray:
        """Chance that the second pump starts with a battery that holds [-]."""
        return np.asarray((1 - self.fails) * (1 - self.battery_weak))


@dataclass(frozen=True)
class Faults:
    """Chances and rates of the causes at a home, draw by draw.

    Parameters
    ----------
    chance : mapping of str to (n_draws,) array
        Chance that a storm finds each of `PUMP_CAUSES` [-].
    per_yr : mapping of str to (n_draws,) array
        Faults a year of each cause that arises with time, without those that visits prevent [1/yr].
    defects_per_yr : mapping of str to (n_draws,) array
        The same with them: as if nobody came [1/yr].
    hidden : mapping of str to (n_draws,) array
        Share of the time that each of `PUMP_CAUSES` that arises with time lies hidden [-].
    shown_per_yr : mapping of str to (n_draws,) array
        How often a year use, or chance, shows a hidden fault of each part [1/yr].
    certain : frozenset of str
        Causes that the last visit found and left.
    missing, silent, battery_dead : (n_draws,) arrays
        Chances that there is no alarm, that it does not sound, and that it has no power in an
        outage [-].
    hears, can_act : (n_draws,) arrays
        Chance that somebody hears it, and can lift the water away [-].
    acts_after_s, acts_log_sd : (n_draws,) arrays
        Middle of the time from the alarm until then [s], and the standard deviation of its
        logarithm [-].
    outages : Outages
        Of the area.
    outage_factor : (n_draws,) array
        How much more often this home is without power than its area [-].
    storm_h : (n_draws,) array
        Length of a storm and the high water after it [h].
    hand_start : (n_draws,) array
        Chance that whoever hears the alarm in an outage gets a generator to feed the pump; 0 where
        none has to be started by hand [-].
    calls : (n_draws,) array
        Chance that whoever hears the alarm calls for service, and somebody comes [-].
    service_after_s : (n_draws,) array
        Middle of the time from the alarm until service lifts the water away [s].
    stand_by : StandBy, optional
        A second pump, or a generator that starts by itself; None where there is neither.
    moments : tuple of (float, Faults)
        Weight and state of the home at moments between two visits, of which this is the mean; the
        weights add up to 1. Empty where the mean alone counts.
    """

    chance: Mapping[str, FloatArray]
    per_yr: Mapping[str, FloatArray]
    defects_per_yr: Mapping[str, FloatArray]
    hidden: Mapping[str, FloatArray]
    shown_per_yr: Mapping[str, FloatArray]
    certain: frozenset[str]
    missing: FloatArray
    silent: FloatArray
    battery_dead: FloatArray
    hears: FloatArray
    can_act: FloatArray
    acts_after_s: FloatArray
    acts_log_sd: FloatArray
    outages: Outages
    outage_factor: FloatArray
    storm_h: FloatArray
    hand_start: FloatArray | float = 0.0
    calls: FloatArray | float = 0.0
    service_after_s: FloatArray | float = _DAY_S
    stand_by: StandBy | None = None
    moments: tuple[tuple[float, Faults], ...] = ()

    @property
    def at_moments(self) -> tuple[tuple[float, Faults], ...]:
        """Moments between two visits with their weights; this alone where there are none."""
        return self.moments or ((1.0, self),)

    def sounds(self, *, outage: bool) -> FloatArray:
        """Chance that the alarm sounds.

        Parameters
        ----------
        outage : bool
            Whether there is no mains power.

        Returns
        -------
        (n_draws,) array
            Chance [-].

        References
        ----------
        arithmetic : independent causes
        """
        powered = 1 - self.battery_dead if outage else np.ones_like(self.battery_dead)
        return np.asarray((1 - self.missing) * (1 - self.silent) * powered)

    def in_time(self, warning_s: FloatArray, *, by_hand: bool = False) -> FloatArray:
        """Chance that whoever hears the alarm lifts the water away before it reaches the floor.

        Parameters
        ----------
        warning_s : (..., n_draws) array
            Time from the alarm to the floor; infinite for never [s].
        by_hand : bool
            Whether starting a generator is enough: there is no mains power, and a working pump.

        Returns
        -------
        (..., n_draws) array
            Chance [-].

        References
        ----------
        judgement : the time is log-normal from case to case
        """
        can = 1 - (1 - self.can_act) * (1 - self.hand_start) if by_hand else self.can_act
        own = np.asarray(can * self._within(warning_s, self.acts_after_s))
        if not np.any(self.calls):
            return own
        service = self.calls * self._within(warning_s, self.service_after_s)
        return np.asarray(1 - (1 - own) * (1 - service))  # whoever comes first

    def _within(self, warning_s: FloatArray, middle_s: FloatArray | float) -> FloatArray:
        """Chance that the water is lifted away before it reaches the floor, by who can do it."""
        with np.errstate(divide="ignore"):
            return np.asarray(ndtr(np.log(np.asarray(warning_s) / middle_s) / self.acts_log_sd))

    def no_response(self, warning_s: FloatArray, *, outage: bool, lost: bool = False) -> FloatArray:
        """Chance that nobody lifts the water away in time.

        Parameters
        ----------
        warning_s : (..., n_draws) array
            Time from the alarm to the floor; infinite for never [s].
        outage : bool
            Whether there is no mains power.
        lost : bool
            Whether the pump is lost besides, so that a generator does not help.

        Returns
        -------
        (..., n_draws) array
            Chance [-].

        References
        ----------
        arithmetic : independent causes
        """
        in_time = self.in_time(warning_s, by_hand=outage and not lost)
        return 1 - self.sounds(outage=outage) * self.hears * in_time


def left_failed(faults: Faults, certain: frozenset[str]) -> Faults:
    """Let what stands by the pump fail for certain where the last visit left it so.

    Parameters
    ----------
    faults : Faults
        Of a home whose parts are in order.
    certain : frozenset of str
        Causes that the last visit found and left.

    Returns
    -------
    Faults
        The same for a home without such parts.
    """
    stand_by, one = faults.stand_by, np.ones_like(faults.silent)
    if stand_by is not None:
        stand_by = replace(
            stand_by,
            fails=one if "second_pump_fails" in certain else stand_by.fails,
            battery_weak=one if "battery_weak" in certain else stand_by.battery_weak,
            generator=0 * one if "generator_fails" in certain else stand_by.generator,
        )
    starts = 0.0 if "generator_fails" in certain else faults.hand_start
    moments = tuple((weight, left_failed(one, certain)) for weight, one in faults.moments)
    return replace(faults, stand_by=stand_by, hand_start=starts, moments=moments)
