"""Chances and rates of every cause at a home, draw by draw, from its file, visits and storms.

Parts that only visits test have lain untested equally long: what is left hidden of one is so when
the others are as likely hidden as they ever are. So a home with a second pump is followed at some
moments between two visits, and what it does is the mean of them (`Faults.moments`).
"""

from __future__ import annotations

import math
from collections.abc import Callable, Iterator, Mapping
from dataclasses import replace
from functools import partial
from types import MappingProxyType

import numpy as np
from scipy.special import ndtri

from riskkit.failures.backup import drawn, fuel_s
from riskkit.failures.circumstances import (
    Circumstances,
    ReliabilityInputs,
    assumed,
    circumstances_of,
    places,
)
from riskkit.failures.faults import PUMP_CAUSES, TESTED_BY_OWNER, Faults, StandBy, left_failed
from riskkit.failures.household import hears_by_hours, service_call, tells_hours
from riskkit.failures.storms import HomeStorms
from riskkit.home.backup import Backup, Starts, backup_of
from riskkit.home.home import Home
from riskkit.quantities.distributions import spread_at
from riskkit.records import FloatArray
from riskkit.reliability.causes import (
    cause_chances,
    causes,
    fault_rates_per_yr,
    part_lives,
    parts_shown,
)
from riskkit.reliability.delay_time import failure_share
from riskkit.reliability.hidden import (
    demand_chance,
    mean_unavailability_missed,
    unavailability_since,
)
from riskkit.reliability.households import home_factor
from riskkit.reliability.outages import COUNTRY, outages_of
from riskkit.reliability.wear import conditional_survival, weibull_scale_yr

__all__ = ["home_faults", "unseen_shares"]

_DAY_S, _YEAR_S = 86400.0, 365.25 * 86400.0
_ICE = "outlet_frozen"  # takes both pumps: their outlets lie in the same cold
_ALARM_CAUSES = ("alarm_silent", "alarm_battery_dead")
_BACKUP_CAUSES = ("second_pump_fails", "battery_weak")
_MOMENTS = 4  # Gauss points of the time between two visits: products of seven straight lines
_Hides = Callable[[FloatArray, FloatArray, FloatArray, FloatArray], FloatArray]


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
    known: ReliabilityInputs, circumstances: Circumstances, storms: HomeStorms, seed: int
) -> Faults:
    """Work out the chances and rates of all causes at a home.

    Parameters
    ----------
    known : ReliabilityInputs
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
    circumstances = circumstances_of(home, circumstances)
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
    if backup.battery_age_yr is not None:  # wear comes whether somebody looks or not
        worn = _worn_per_yr("battery", backup.battery_age_yr, share["battery_weak"])
        defects["battery_weak"] = per_yr["battery_weak"] = worn
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
    sure = _sure(known, backup, storms, draw)

    def at_visits(keys: tuple[str, ...], hides: _Hides) -> dict[str, FloatArray]:
        found = {}
        for key in keys:
            cause = causes()[key]
            hidden = hides(per_yr[key], every, finds, by_chance[cause.part])
            fails = spread_at(cause.on_demand, "logit", ndtri(share[key])) if cause.on_demand else 0
            found[key] = demand_chance(fails, hidden)
        return found | {key: value for key, value in sure.items() if key in keys}

    alarm = at_visits(_ALARM_CAUSES, mean_unavailability_missed)
    by_water = _shown_by_water_per_yr(storms, (1 - missing) * (1 - alarm["alarm_silent"]) * hears)
    shown = {
        part: rate + (by_water if part in TESTED_BY_OWNER else 0.0)
        for part, rate in by_chance.items()
    }
    owner_yr = circumstances.owner_test_every_yr
    since, sees = _tests(
        every, finds, math.inf if owner_yr is None else owner_yr, draw("owner_finds")
    )

    def of_pump(hides: _Hides) -> dict[str, FloatArray]:
        return {
            key: hides(per_yr[key], since, sees, shown[causes()[key].part])
            for key in PUMP_CAUSES
            if key in per_yr
        }

    def chances(hides: _Hides) -> dict[str, FloatArray]:
        """Chance of every cause; what the owner tests goes by no moment between two visits."""
        lies = of_pump(mean_unavailability_missed)
        if hides is not mean_unavailability_missed:
            at = of_pump(hides)
            lies = {key: np.where(since < every, lies[key], at[key]) for key in lies}
        found = at_visits((*_ALARM_CAUSES, *_BACKUP_CAUSES), hides)
        return cause_chances(found | {"pump_worn": lies["pump_worn"]} | sure, lies, share)

    usual = chances(mean_unavailability_missed)
    stand_by = None
    if backup.runs_on is not None or backup.generator is Starts.AUTOMATIC:
        is_automatic = backup.generator is Starts.AUTOMATIC
        beta = draw("shared_faults")
        stand_by = StandBy(
            fails=usual["second_pump_fails"],
            battery_weak=usual["battery_weak"],
            shared={key: np.ones(n) if key == _ICE else beta for key in PUMP_CAUSES},
            generator=draw("generator_automatic") if is_automatic else np.zeros(n),
            fuel_s=fuel_s(home, n, seed) if is_automatic else np.zeros(n),
        )
    calls, service_after_s = service_call(home, n, seed)
    found = Faults(
        chance={key: usual[key] for key in PUMP_CAUSES},
        per_yr=MappingProxyType(per_yr),
        defects_per_yr=MappingProxyType(defects),
        hidden=MappingProxyType(of_pump(mean_unavailability_missed)),
        shown_per_yr=MappingProxyType(shown),
        certain=known.certain,
        missing=missing,
        silent=usual["alarm_silent"],
        battery_dead=usual["alarm_battery_dead"],
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
    if backup.runs_on is not None:
        moments = (
            (weight, _with_chances(found, chances(partial(unavailability_since, share=place))))
            for place, weight in _gauss(_MOMENTS)
        )
        found = replace(found, moments=tuple(moments))
    return left_failed(found, known.certain)


def _gauss(count: int) -> Iterator[tuple[float, float]]:
    """Places between 0 and 1, and weights that add up to 1."""
    places, weights = np.polynomial.legendre.leggauss(count)
    return zip(((places + 1) / 2).tolist(), (weights / 2).tolist(), strict=True)


def _with_chances(faults: Faults, chance: Mapping[str, FloatArray]) -> Faults:
    """The same home with other chances of its parts."""
    stand_by = faults.stand_by and replace(
        faults.stand_by, fails=chance["second_pump_fails"], battery_weak=chance["battery_weak"]
    )
    return replace(
        faults, chance={key: chance[key] for key in PUMP_CAUSES}, silent=chance["alarm_silent"],
        battery_dead=chance["alarm_battery_dead"], stand_by=stand_by,
    )  # fmt: skip


def _sure(
    known: ReliabilityInputs, backup: Backup, storms: HomeStorms, draw: Callable[[str], FloatArray]
) -> dict[str, FloatArray]:
    """Chances that no time since a visit changes: what a home has not, what is failed, and ice."""
    none, one = np.zeros(storms.n_draws), np.ones(storms.n_draws)
    found = {key: none for key, cause in causes().items() if cause.given and key != "pump_worn"}
    if storms.icy_share is not None:
        found[_ICE] = storms.icy_share * draw("outlet_freezes")
    found |= dict.fromkeys(known.certain, one)
    if not known.has_check_valve:
        found["check_valve_fails"] = none
    if backup.runs_on is None:
        found["second_pump_fails"] = one
    if not backup.has_battery:
        found["battery_weak"] = none
    return found


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
