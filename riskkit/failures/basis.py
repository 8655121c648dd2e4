"""What the chance of a year rests on: the rates that were used, and the second pump of a home."""

from __future__ import annotations

import numpy as np

from riskkit.ensemble.quantiles import Points, outcome
from riskkit.failures.answer import RateUsed, SecondPumpSummary
from riskkit.failures.circumstances import Circumstances, assumed_spread
from riskkit.failures.faults import PUMP_CAUSES, Faults
from riskkit.failures.household import tells_hours
from riskkit.failures.storms import HomeStorms
from riskkit.home.backup import RunsOn, backup_of
from riskkit.home.home import Home
from riskkit.records import FloatArray
from riskkit.reliability.causes import causes, part_lives
from riskkit.reliability.standby import mains_water_m3

__all__ = ["rates_used", "second_pump_summary", "storm_at"]

_IN_FILE = {
    "hears": "household.hears",
    "can_act": "household.can_act",
    "acts_after_s": "household.acts_after",
}
_TOLD_YR = 10.0  # the storm in which a second pump is told


def second_pump_summary(home: Home, storms: HomeStorms) -> SecondPumpSummary | None:
    """Tell what the second pump does in the 10-year storm, or the rarest below it.

    Parameters
    ----------
    home : Home
        The home.
    storms : HomeStorms
        Its storms.

    Returns
    -------
    SecondPumpSummary or None
        None where there is no second pump.
    """
    second = storms.second
    if second is None:
        return None
    at, backup = storm_at(storms, _TOLD_YR), backup_of(home)
    by_water = backup.runs_on is RunsOn.MAINS_WATER
    return SecondPumpSummary(
        return_period_yr=1 / float(storms.rate_per_yr[at]),
        flow_m3_s=_points(second.flow_m3_s),
        carries_share=float(second.carries[at].mean()),
        outlasts_s=_points(second.outlasts_s[at]),
        has_battery=backup.has_battery,
        mains_m3_s=float(mains_water_m3(np.median(second.flow_m3_s))) if by_water else 0.0,
    )


def storm_at(storms: HomeStorms, return_period_yr: float) -> int:
    """Return the row of the storm of a return period, or of the rarest that is commoner.

    Parameters
    ----------
    storms : HomeStorms
        The storms.
    return_period_yr : float
        Return period [yr].

    Returns
    -------
    int
        The row, counted from 0 [-].

    References
    ----------
    arithmetic : the last rate that is not below
    """
    return int(np.flatnonzero(storms.rate_per_yr >= 1 / return_period_yr * (1 - 1e-9))[-1])


def rates_used(faults: Faults, circumstances: Circumstances, home: Home) -> tuple[RateUsed, ...]:
    """List the chances and rates that the answer rests on.

    Parameters
    ----------
    faults : Faults
        Chances and rates of the causes.
    circumstances : Circumstances
        What was told.
    home : Home
        The home, which may tell of its household.

    Returns
    -------
    tuple of RateUsed
        Causes first, then who hears and acts.
    """
    found = []
    for key in PUMP_CAUSES:
        if key == "outlet_frozen" and not np.any(faults.chance[key]):
            continue  # no frost, or nobody knows of any
        cause = causes()[key]
        basis = "given" if key in faults.certain else cause.source
        if key == "pump_worn":
            basis = part_lives()["pump"].mean_yr.source
        shown = float(np.median(faults.shown_per_yr[cause.part]))
        if key in faults.per_yr:
            found.append(RateUsed(key, "per_yr", _points(faults.per_yr[key]), basis, shown))
        found.append(RateUsed(key, "unavailable", _points(faults.chance[key]), basis, shown))
    told = circumstances
    people = (
        ("alarm_missing", faults.missing, "alarm_there", None),
        ("alarm_silent", faults.silent, None, None),
        ("alarm_battery_dead", faults.battery_dead, None, None),
        ("hears", faults.hears, "hears_remote" if told.remote_alarm else "hears", told.hears),
        ("can_act", faults.can_act, "can_act", told.can_act),
        ("acts_after_s", faults.acts_after_s, "acts_after", told.acts_after_min),
    )
    stands = faults.stand_by
    if stands is not None:
        parts = (("second_pump_fails", stands.fails), ("battery_weak", stands.battery_weak))
        shown = float(np.median(faults.shown_per_yr["backup"]))
        for key, values in parts:
            if backup_of(home).runs_on is None:
                continue
            source = "given" if key in faults.certain else causes()[key].source
            found.append(RateUsed(key, "unavailable", _points(values), source, shown))
        left = "generator_fails" in faults.certain
        if left or np.any(stands.generator):
            source = "given" if left else assumed_spread("generator_automatic").source
            found.append(RateUsed("generator", "response", _points(stands.generator), source))
    if np.any(faults.calls):
        calls, after_s = (
            np.broadcast_to(values, faults.hears.shape)
            for values in (faults.calls, faults.service_after_s)
        )
        found.append(RateUsed("service_call", "response", _points(calls), "given"))
        found.append(RateUsed("service_after_s", "response", _points(after_s), "given"))
    for key, values, row, given in people:
        source = causes()[key].source if row is None else assumed_spread(row).source
        in_file = _IN_FILE.get(key)
        is_told = given is not None or key in faults.certain
        is_told = is_told or (in_file is not None and home.quantity(in_file) is not None)
        is_told = is_told or (key == "hears" and row == "hears" and tells_hours(home))
        found.append(RateUsed(key, "response", _points(values), "given" if is_told else source))
    return tuple(found)


def _points(values: FloatArray) -> Points:
    told = outcome(np.asarray(values, dtype=np.float64))
    return Points(told.low, told.median, told.high)
