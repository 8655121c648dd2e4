"""What is known of parts, visits and people at a home, and what is taken where nobody knows."""

from __future__ import annotations

import datetime
import math
import zlib
from dataclasses import dataclass, replace

import numpy as np
from scipy.special import ndtri

from riskkit.errors import InputError, need_type
from riskkit.home.changed_parts import ChangedPart, changed_parts
from riskkit.home.home import Home
from riskkit.home.part_states import in_order
from riskkit.quantities.components import Component
from riskkit.quantities.distributions import spread_at
from riskkit.quantities.spread_tables import scaled_spreads
from riskkit.quantities.variables import Spread
from riskkit.records import FloatArray, need
from riskkit.records.arguments import need_if_given, need_number
from riskkit.reliability.causes import causes
from riskkit.reliability.outages import COUNTRY, outage_areas, outages_of
from riskkit.risk.system_state import Fault, SystemState, system_state

__all__ = [
    "Circumstances",
    "ReliabilityInputs",
    "assumed",
    "assumed_spread",
    "circumstances_of",
    "in_service",
    "places",
    "pump_age_yr",
    "reliability_inputs",
    "visit_interval_yr",
]

DAYS_PER_YEAR = 365.25

# Which cause a finding of a visit makes certain, until a later visit finds it mended
_CERTAIN = {
    Fault.PUMP_NO_START: "pump_sudden",
    Fault.PUMP_OFF: "pump_sudden",
    Fault.FLOAT_STUCK: "switch_stuck",
    Fault.FLOAT_CAUGHT: "switch_stuck",
    Fault.OUTLET_BLOCKED: "outlet_blocked",
    Fault.OUTLET_FROZEN: "outlet_frozen",
    Fault.CHECK_VALVE_SHUT: "check_valve_fails",
    Fault.WEEP_HOLE_BLOCKED: "air_locked",
    Fault.AIR_LOCKED: "air_locked",
    Fault.INLET_CLOGGED: "inlet_clogged",
    Fault.NO_ALARM: "alarm_missing",
    Fault.ALARM_SILENT: "alarm_silent",
    Fault.ALARM_BATTERY_DEAD: "alarm_battery_dead",
    Fault.SECOND_PUMP_NO_START: "second_pump_fails",
    Fault.BATTERY_FAILS: "battery_weak",
    Fault.GENERATOR_FAILS: "generator_fails",
}


# Numbers of the circumstances as people call them
_SAID = {
    "pump_age_yr": "age of the pump",
    "visit_every_yr": "time between visits",
    "owner_test_every_yr": "time between tests by the owner",
    "finds": "chance that a visit finds a fault",
    "hears": "chance that somebody hears the alarm",
    "can_act": "chance that somebody can lift the water away",
    "acts_after_min": "time until somebody lifts the water away",
}


@dataclass(frozen=True)
class Circumstances:
    """Circumstances known beyond the home file, of household and company; None for unknown.

    Parameters
    ----------
    area : str, optional
        Area of the outage statistics, one of `riskkit.reliability.outages.outage_areas`; where it
        is left out, as in the home file, else the whole country.
    pump_age_yr : float, optional
        Age of the pump; where it is left out, since a visit of the home file changed it, or as in
        the home file [yr].
    visit_every_yr : float, optional
        Time between visits, infinite for never; where it is left out, as in the home file [yr].
    owner_test_every_yr : float, optional
        Time between tests by the owner, who pours water into the pit, infinite for never; where it
        is left out, as in the home file, else never [yr].
    finds : float, optional
        Chance that a visit finds a fault or defect that is there [-].
    hears : float, optional
        Chance that somebody is there and hears the alarm [-].
    can_act : float, optional
        Chance that whoever hears it can lift the water away [-].
    acts_after_min : float, optional
        Time from the alarm until the water is lifted away, in half of the cases [min].
    remote_alarm : bool, optional
        Whether the alarm calls a telephone; where it is left out, as in the home file.
    has_alarm : bool, optional
        Whether there is an alarm, where the home file does not say.
    mended : frozenset of str
        Causes of ``tables/failure_causes.csv`` that are put in order, whatever a visit found.
    day : date, optional
        The day for which ages count; today where it is left out.
    """

    area: str | None = None
    pump_age_yr: float | None = None
    visit_every_yr: float | None = None
    owner_test_every_yr: float | None = None
    finds: float | None = None
    hears: float | None = None
    can_act: float | None = None
    acts_after_min: float | None = None
    remote_alarm: bool | None = None
    has_alarm: bool | None = None
    mended: frozenset[str] = frozenset()
    day: datetime.date | None = None

    def __post_init__(self) -> None:
        if self.area is not None:
            outages_of(self.area)  # refuses an area without statistics
        for name, said in _SAID.items():
            value = getattr(self, name)
            if value is not None and value != math.inf:
                need_number(value, said, "give a number")
        for name in ("remote_alarm", "has_alarm"):
            need_if_given(getattr(self, name), bool, name, "give True or False")
        need_if_given(self.day, datetime.date, "day", "write datetime.date(2026, 4, 14)")
        right = 'give causes, such as frozenset({"pump_worn"})'
        need_type(self.mended, (frozenset, set, list, tuple), "mended", right)
        wrong = sorted(str(each) for each in self.mended if each not in causes())
        if wrong:
            what = f"there is no cause {wrong[0]!r}"
            raise InputError("mended", what, f"known are {', '.join(causes())}")
        object.__setattr__(self, "mended", frozenset(self.mended))
        for name in ("finds", "hears", "can_act"):
            value = getattr(self, name)
            need(value is None or 0 <= value <= 1, _SAID[name], "it is not a share", "give 0 to 1")
        for name in ("visit_every_yr", "owner_test_every_yr", "acts_after_min"):
            value = getattr(self, name)
            need(value is None or value > 0, _SAID[name], "it is not above zero")
        need(
            self.acts_after_min is None or math.isfinite(self.acts_after_min),
            _SAID["acts_after_min"], "it has no end", "give can_act=0 where nobody can act",
        )  # fmt: skip
        age = self.pump_age_yr
        need(age is None or 0 <= age <= 100, _SAID["pump_age_yr"], "it is not from 0 to 100 years")


@dataclass(frozen=True)
class ReliabilityInputs:
    """What of a home decides how often it fails.

    Parameters
    ----------
    has_pump, has_check_valve : bool
        Whether there is one, as far as anybody knows.
    has_alarm : bool or None
        Whether there is an alarm; None where nobody says.
    certain : frozenset of str
        Causes that the last visit found and left.
    pump_age_yr : float or None
        Age of the pump; None where nobody knows [yr].
    visit_every_yr : float or None
        Time between visits; infinite for never, None where nobody knows [yr].
    home : Home
        The home, with what it tells of its household and of what stands by the pump.
    """

    has_pump: bool
    has_check_valve: bool
    has_alarm: bool | None
    certain: frozenset[str]
    pump_age_yr: float | None
    visit_every_yr: float | None
    home: Home


def circumstances_of(home: Home, circumstances: Circumstances) -> Circumstances:
    """Fill in what the home file tells and nobody told otherwise.

    Of ages, visits and chances with a spread nothing is filled in: see `reliability_inputs` and
    `riskkit.failures.faults.home_faults`.

    Parameters
    ----------
    home : Home
        The home.
    circumstances : Circumstances
        What is told besides.

    Returns
    -------
    Circumstances
        Area, test by the owner and telephone as in the home file where they were left out.

    References
    ----------
    judgement : what is told of one call takes precedence over the home file
    """
    area, owner = circumstances.area, circumstances.owner_test_every_yr
    remote = circumstances.remote_alarm
    if area is None:
        named = home.choice("place.area")
        area = next((each for each in outage_areas() if each.lower() == named), COUNTRY)
    if owner is None:
        written = home.quantity("household.owner_test_every")
        owner = math.inf if written is None else written.value
    if remote is None:
        remote = home.choice("household.remote_alarm") == "yes"
    return replace(circumstances, area=area, owner_test_every_yr=owner, remote_alarm=remote)


def reliability_inputs(home: Home, circumstances: Circumstances) -> ReliabilityInputs:
    """Put together what the home file, its visits and the circumstances tell.

    Parameters
    ----------
    home : Home
        The home with its visits.
    circumstances : Circumstances
        What is known besides.

    Returns
    -------
    ReliabilityInputs
        What decides how often it fails.

    References
    ----------
    judgement : a float that sticks may be that of the alarm, unless the alarm was heard
    """
    state = system_state(home)
    certain = {_CERTAIN[fault] for fault in state.faults if fault in _CERTAIN}
    sticks = Fault.FLOAT_STUCK in state.faults and "switch_stuck" not in circumstances.mended
    if sticks and not state.alarm_sounded:
        certain.add("alarm_silent")
    age, every = circumstances.pump_age_yr, circumstances.visit_every_yr
    return ReliabilityInputs(
        has_pump=state.has(Component.PUMP),
        has_check_valve=state.has(Component.CHECK_VALVE),
        has_alarm=_has_alarm(home, state, circumstances),
        certain=frozenset(certain) - circumstances.mended,
        pump_age_yr=pump_age_yr(home, circumstances.day) if age is None else age,
        visit_every_yr=visit_interval_yr(home) if every is None else every,
        home=home,
    )


def in_service(home: Home) -> Home:
    """Return the home with its parts sound whose faults count as certain causes.

    Its storms are run so: what is lost for certain is not let through by half besides.

    Parameters
    ----------
    home : Home
        The home with its visits.

    Returns
    -------
    Home
        The home itself where nothing of it is out of order.

    References
    ----------
    judgement : a clogged inlet that a visit left counts as a pump that lifts nothing
    """
    return in_order(home, (fault.value for fault in _CERTAIN))


def _has_alarm(home: Home, state: SystemState, circumstances: Circumstances) -> bool | None:
    if "alarm_missing" in circumstances.mended:
        return True
    if not state.has(Component.ALARM):
        return False
    if home.quantity("switch.alarm") is not None:
        return True
    tried = any(visit.check("alarm_sounded") is not None for visit in home.visit)
    return True if tried else circumstances.has_alarm


def pump_age_yr(home: Home, day: datetime.date | None = None) -> float | None:
    """Age of the pump, since the last visit that lists it among the parts changed.

    Where no visit does, as the home file tells it.

    Parameters
    ----------
    home : Home
        The home with its visits.
    day : date, optional
        The day for which it counts; today where it is left out.

    Returns
    -------
    float or None
        Age; None where nothing tells it [yr].

    References
    ----------
    arithmetic : days between two dates
    """
    new = [visit.date for visit in home.visit if ChangedPart.PUMP in changed_parts(visit.parts)]
    if not new:
        told = home.quantity("pump.age")
        return None if told is None else told.value
    return max(((day or datetime.date.today()) - max(new)).days, 0) / DAYS_PER_YEAR


def visit_interval_yr(home: Home) -> float | None:
    """Time between visits: to the next one that is planned, else between those that were made.

    Parameters
    ----------
    home : Home
        The home with its visits.

    Returns
    -------
    float or None
        Time; None where nothing tells it [yr].

    References
    ----------
    arithmetic : days between two dates
    """
    visits = sorted(home.visit, key=lambda visit: visit.date)
    days = sorted({visit.date for visit in visits})
    if visits and visits[-1].next is not None and visits[-1].next > days[-1]:
        return (visits[-1].next - days[-1]).days / DAYS_PER_YEAR
    if len(days) < 2:
        return None
    return (days[-1] - days[0]).days / DAYS_PER_YEAR / (len(days) - 1)


def assumed_spread(key: str) -> Spread:
    """Return what is taken where nobody knows, a row of ``tables/response.csv``.

    Parameters
    ----------
    key : str
        Its key.

    Returns
    -------
    Spread
        Its points, words and basis.

    Raises
    ------
    InputError
        Where there is no such row.
    """
    return _assumed(key)[0]


def _assumed(key: str) -> tuple[Spread, str]:
    known = scaled_spreads("response")
    if key not in known:
        raise InputError("response", f"there is no {key!r}", f"known are {', '.join(known)}")
    return known[key]


def assumed(key: str, n_draws: int, seed: int) -> FloatArray:
    """Draw what is taken where nobody knows.

    Parameters
    ----------
    key : str
        A row of ``tables/response.csv``.
    n_draws : int
        How many draws [-].
    seed : int
        Of the draws [-].

    Returns
    -------
    (n_draws,) array
        Values in the unit of the row [any].

    References
    ----------
    judgement : the spreads
    """
    return spread_at(*_assumed(key), ndtri(places(key, n_draws, seed)))


def places(key: str, n_draws: int, seed: int) -> FloatArray:
    """Places in the spread of one quantity, evenly spread and in an order of its own.

    The order belongs to the name, so that options are compared under equal draws.

    Parameters
    ----------
    key : str
        Name of the quantity.
    n_draws : int
        How many draws [-].
    seed : int
        Of the order [-].

    Returns
    -------
    (n_draws,) array
        Between 0 and 1 [-].

    References
    ----------
    mckay1979 : Latin hypercube sampling
    """
    order = np.random.default_rng([seed, zlib.crc32(key.encode())]).permutation(n_draws)
    return np.asarray((order + 0.5) / n_draws)
