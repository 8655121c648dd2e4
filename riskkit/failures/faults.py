"""Chances and rates of every cause of a lost pump and of a missed alarm, draw by draw."""

from __future__ import annotations

import math
from collections.abc import Mapping
from dataclasses import dataclass, replace
from types import MappingProxyType

import numpy as np
from scipy.special import ndtr, ndtri

from riskkit.failures.backup import drawn, fuel_s
from riskkit.failures.circumstances import (
    Circumstances,
    KnownHome,
    assumed,
    places,
    told_by,
)
from riskkit.failures.household import hears_by_hours, service_call, tells_hours
from riskkit.failures.storms import HomeStorms
from riskkit.home.backup import Starts, backup_of
from riskkit.home.home import Home
from riskkit.quantities.distributions import spread_at
from riskkit.records import FloatArray
from riskkit.reliability.causes import (
    cause_chances,
    causes,
    fault_rates_per_yr,
    part_lives,
    parts_shown,
    pump_tree,
)
from riskkit.reliability.delay_time import failure_share
from riskkit.reliability.hidden import mean_unavailability_missed
from riskkit.reliability.households import home_factor
from riskkit.reliability.outages import COUNTRY, Outages, outages_of
from riskkit.reliability.wear import conditional_survival, weibull_scale_yr

__all__ = [
    "OUTAGE",
    "PUMP_CAUSES",
    "TESTED_BY_OWNER",
    "Faults",
    "StandBy",
    "home_faults",
    "left_failed",
    "unseen_shares",
]

OUTAGE = "mains_out"
PUMP_CAUSES: tuple[str, ...] = tuple(
    cause for cause in pump_tree().gates["first_pump_lost"].inputs if cause in causes()
)
"""What loses the pump besides its power, in the order of the tree."""
TESTED_BY_OWNER = ("pump", "switch", "outlet")
_DAY_S, _YEAR_S = 86400.0, 365.25 * 86400.0
_ALARM_CAUSES = ("alarm_silent", "alarm_battery_dead")
_ICE = "outlet_frozen"  # takes both pumps: their outlets lie in the same cold


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
            Whether starting a generator is enough: there is no mains power, and a pump in order.

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


def unseen_shares(every_yr: FloatArray, finds: FloatArray) -> dict[str, FloatArray]:
    """Share of the defects of each cause that become failures before a visit finds them.

    Parameters
    ----------
    every_yr : (n_draws,) array
        Time between visits; infinite for never [yr].
    finds : (n_draws,) array
        Chance that a visit finds a defect [-].

    Returns
    -------
    dict of str to (n_draws,) array
        For each cause whose defect can be seen before [-].

    References
    ----------
    christer_waller1984 : imperfect inspection
    """
    return {
        key: failure_share(every_yr, cause.delay.p50, 1.0, finds)
        for key, cause in causes().items()
        if cause.delay is not None
    }


def home_faults(
    known: KnownHome, circumstances: Circumstances, storms: HomeStorms, seed: int
) -> Faults:
    """Work out the chances and rates of all causes at a home.

    Parameters
    ----------
    known : KnownHome
        What home file and visits tell.
    circumstances : Circumstances
        What is known besides.
    storms : HomeStorms
        They show a pump that has failed.
    seed : int
        Of the draws [-].

    Returns
    -------
    Faults
        Draw by draw.

    References
    ----------
    rausand_hoyland2004 : hidden faults between tests
    christer_waller1984 : defects that visits find
    """
    n, home = storms.n_draws, known.home
    circumstances = told_by(home, circumstances)
    backup = backup_of(home)

    def draw(key: str, told: float | None = None, in_file: str | None = None) -> FloatArray:
        if told is not None:
            return np.full(n, float(told))
        if in_file is not None and home.quantity(in_file) is not None:
            return drawn(home, in_file, n, seed)
        return assumed(key, n, seed)

    share = {key: places(key, n, seed) for key in causes()}
    every, finds = draw("visit_every", known.visit_every_yr), draw("finds", circumstances.finds)
    unseen = unseen_shares(every, finds)
    defects = fault_rates_per_yr(share)
    defects["pump_worn"] = _worn_per_yr("pump", known.pump_age_yr, share["pump_worn"])
    if not known.has_check_valve:
        defects["check_valve_fails"] = np.zeros(n)
    per_yr = {key: rate * unseen.get(key, 1.0) for key, rate in defects.items()}
    by_chance = {
        part: spread_at(spread, "log", ndtri(places(f"shown {part}", n, seed)))
        for part, spread in parts_shown().items()
    }
    missing = draw("alarm_there", None if known.has_alarm is None else float(known.has_alarm))
    missing = 1 - missing
    row = "hears_remote" if circumstances.remote_alarm else "hears"
    if row == "hears" and circumstances.hears is None and tells_hours(home):
        hears = hears_by_hours(home, n, seed)
    else:
        in_file = None if row == "hears_remote" else "household.hears"
        hears = draw(row, circumstances.hears, in_file)
    alarm = _alarm_chances(known, per_yr, share, every, finds, by_chance["alarm"])
    sounds = (1 - missing) * (1 - alarm["alarm_silent"])
    by_water = _shown_by_water_per_yr(storms, sounds * hears)
    shown = {
        part: rate + (by_water if part in TESTED_BY_OWNER else 0.0)
        for part, rate in by_chance.items()
    }
    owner_yr = circumstances.owner_test_every_yr
    since, sees = _tests(
        every, finds, math.inf if owner_yr is None else owner_yr, draw("owner_finds")
    )
    hidden = {
        key: mean_unavailability_missed(per_yr[key], since, sees, shown[causes()[key].part])
        for key in PUMP_CAUSES
        if key in per_yr
    }
    given = {key: np.zeros(n) for key, cause in causes().items() if cause.given}
    if storms.icy_share is not None:
        given[_ICE] = storms.icy_share * draw("outlet_freezes")
    given |= {"pump_worn": hidden["pump_worn"]} | {key: np.ones(n) for key in known.certain}
    if not known.has_check_valve:
        given["check_valve_fails"] = np.zeros(n)
    parts = {part: since if part in TESTED_BY_OWNER else every for part in shown}
    given |= alarm  # worked out above
    if backup.runs_on is None or not backup.has_battery:
        given["battery_weak"] = np.zeros(n)
    elif backup.battery_age_yr is not None:
        worn = _worn_per_yr("battery", backup.battery_age_yr, share["battery_weak"])
        given["battery_weak"] = mean_unavailability_missed(worn, every, finds, shown["backup"])
    chance = cause_chances(given, parts, sees, shown, share, unseen)
    stand_by = None
    if backup.runs_on is not None or backup.generator is Starts.AUTOMATIC:
        has_second = backup.runs_on is not None
        is_automatic = backup.generator is Starts.AUTOMATIC
        beta = draw("shared_faults")
        stand_by = StandBy(
            fails=chance["second_pump_fails"] if has_second else np.ones(n),
            battery_weak=np.broadcast_to(chance["battery_weak"], (n,)),
            shared={key: np.ones(n) if key == _ICE else beta for key in PUMP_CAUSES},
            generator=draw("generator_automatic") if is_automatic else np.zeros(n),
            fuel_s=fuel_s(home, n, seed) if is_automatic else np.zeros(n),
        )
    calls, service_after_s = service_call(home, n, seed)
    found = Faults(
        chance={key: np.broadcast_to(chance[key], (n,)) for key in PUMP_CAUSES},
        per_yr=MappingProxyType(per_yr),
        defects_per_yr=MappingProxyType(defects),
        hidden=MappingProxyType(hidden),
        shown_per_yr=MappingProxyType(shown),
        certain=known.certain,
        missing=missing,
        silent=alarm["alarm_silent"],
        battery_dead=alarm["alarm_battery_dead"],
        hears=hears,
        can_act=draw("can_act", circumstances.can_act, "household.can_act"),
        acts_after_s=_acts_after_s(known.home, circumstances, n, seed),
        acts_log_sd=np.log(draw("acts_factor")),
        outages=outages_of(circumstances.area or COUNTRY),
        outage_factor=home_factor(places("outages of the home", n, seed)),
        storm_h=draw("storm_lasts"),
        hand_start=draw("generator_by_hand") if backup.generator is Starts.BY_HAND else 0.0,
        calls=calls,
        service_after_s=service_after_s,
        stand_by=stand_by,
    )
    return left_failed(found, known.certain)


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
    return replace(faults, stand_by=stand_by, hand_start=starts)


def _acts_after_s(home: Home, told: Circumstances, n: int, seed: int) -> FloatArray:
    if told.acts_after_min is not None:
        return np.full(n, 60.0 * told.acts_after_min)
    if home.quantity("household.acts_after") is not None:
        return drawn(home, "household.acts_after", n, seed)
    return 60 * assumed("acts_after", n, seed)


def _worn_per_yr(part: str, age_yr: float | None, place: FloatArray) -> FloatArray:
    """Parts that wear out in the coming year, of those that work now.

    Where nobody knows the age, one for each mean life: the long run of parts that are replaced
    when they are worn out.
    """
    life = part_lives()[part]
    mean = spread_at(life.mean_yr, "log", ndtri(1 - place))  # a short life wears out often
    if age_yr is None:
        return np.asarray(1 / mean)
    scale = weibull_scale_yr(mean, life.shape)
    return np.asarray(-np.log(conditional_survival(age_yr, 1.0, life.shape, scale)))


def _alarm_chances(
    known: KnownHome,
    per_yr: Mapping[str, FloatArray],
    share: Mapping[str, FloatArray],
    every_yr: FloatArray,
    finds: FloatArray,
    shown_per_yr: FloatArray,
) -> dict[str, FloatArray]:
    found = {}
    for key in _ALARM_CAUSES:
        hidden = mean_unavailability_missed(per_yr[key], every_yr, finds, shown_per_yr)
        on_demand = causes()[key].on_demand
        fails = spread_at(on_demand, "logit", ndtri(share[key])) if on_demand else 0.0
        found[key] = np.asarray(1 - (1 - fails) * (1 - hidden))
        if key in known.certain:
            found[key] = np.ones_like(hidden)
    return found


def _shown_by_water_per_yr(storms: HomeStorms, is_heard: FloatArray) -> FloatArray:
    """How often a year water on the floor, or an alarm that is heard, shows that the pump is dead.

    Water on the floor is always seen. In dry weather that is as often as the pit fills.
    """
    rate = storms.rate_per_yr[:, None]
    floods = np.isfinite(storms.dead_to_floor_s).astype(np.float64)
    if storms.second is not None:  # then the second pump runs, and that has to be heard
        floods = floods * (1 - storms.second.carries * (1 - is_heard))
    wet = (rate * floods).max(axis=0)
    rings = (rate * np.isfinite(storms.dead_to_alarm_s)).max(axis=0)
    dry_wet = np.where(np.isfinite(storms.dry_to_floor_s), _fills_per_yr(storms.dry_to_floor_s), 0)
    dry_rings = np.where(
        np.isfinite(storms.dry_to_alarm_s), _fills_per_yr(storms.dry_to_alarm_s), 0
    )
    return np.asarray(
        wet + dry_wet + is_heard * (np.maximum(rings - wet, 0) + np.maximum(dry_rings - dry_wet, 0))
    )


def _fills_per_yr(time_s: FloatArray) -> FloatArray:
    return _YEAR_S / np.maximum(np.minimum(time_s, _YEAR_S), _DAY_S)


def _tests(
    every_yr: FloatArray, finds: FloatArray, owner_yr: float, owner_finds: FloatArray
) -> tuple[FloatArray, FloatArray]:
    """Time between tests of the pump, and what a test finds, whoever makes it.

    The one who comes oftener counts; the other one's tests are not added.
    """
    owner = owner_yr < every_yr
    return np.where(owner, owner_yr, every_yr), np.where(owner, owner_finds, finds)
