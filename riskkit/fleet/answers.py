"""The answer for one home of a company, as one row of a partition."""

from __future__ import annotations

import datetime
from collections.abc import Sequence
from dataclasses import replace
from typing import Any

import numpy as np

from riskkit.antecedent.water_table import AntecedentGround, grounds_before
from riskkit.ensemble.quantiles import outcome
from riskkit.errors import InputError
from riskkit.failures.at_place import AtPlace, at_place
from riskkit.failures.basis import storm_at
from riskkit.failures.circumstances import DAYS_PER_YEAR, circumstances_of, reliability_inputs
from riskkit.failures.faults import OUTAGE, PUMP_CAUSES, Faults
from riskkit.failures.past_storms import past_home_storms
from riskkit.failures.stand_by import AT_JOINT, OVERTOPPED, outage_chance
from riskkit.failures.storms import HomeStorms, home_storms
from riskkit.failures.yearly import NO_PUMP, Floods, floods_of
from riskkit.fleet.aging import AGES_YR, aging_of, faults_at, floods_by_age
from riskkit.fleet.places import Place
from riskkit.fleet.seeds import home_seeds, seed_of
from riskkit.fleet.settings import FleetSettings
from riskkit.fleet.storm_rain import local_log_period, rows_of_storm
from riskkit.fleet.table import FleetHome
from riskkit.quantities.variables import variables
from riskkit.records import FloatArray, IntArray
from riskkit.reliability.annual import annual_chance_of
from riskkit.risk.critical import StormToRun

__all__ = ["HEADLINE_YR", "age_of", "answer_row"]

HEADLINE_YR = 10.0
"""The storm whose minutes a list of homes tells [yr]."""
STORM_H = 24.0
"""Duration of a storm over all homes, as far as it reaches [h]."""
_NEVER_AGE_YR = AGES_YR[-1]


def age_of(last_visit: datetime.date | None, day: datetime.date) -> float:
    """Time since the last visit.

    Parameters
    ----------
    last_visit : date or None
        Its day; None where there was none.
    day : date
        The day for which it counts.

    Returns
    -------
    float
        Time; that of the last of `AGES_YR` where there was no visit [yr].
    """
    if last_visit is None:
        return _NEVER_AGE_YR
    return max((day - last_visit).days, 0) / DAYS_PER_YEAR


def answer_row(
    home: FleetHome,
    place: Place,
    settings: FleetSettings,
    middle: tuple[float, float] | None = None,
) -> dict[str, Any]:
    """Work out one home.

    Parameters
    ----------
    home : FleetHome
        The home.
    place : Place
        Its rain.
    settings : FleetSettings
        How to work it out.
    middle : tuple of float, optional
        Where a storm over all homes is as it is said; None where it is so everywhere [deg].

    Returns
    -------
    dict
        A value for each column of `riskkit.fleet.store.SCHEMA`.

    Raises
    ------
    RiskkitError
        Where the home cannot be, or its last visit has not come yet on the day of the run.
    """
    _need_visited(home, settings.day)
    seeds = home_seeds(home.home_id, home.neighbourhood, place.name, settings.seed)
    drawn = at_place(home.home, place.rain, settings.n_draws, seeds)
    storms = home_storms(home.home, place.rain, settings.n_draws, seeds, place=drawn)
    past = past_home_storms(
        home.home, drawn, seeds, _past_at(home, place, settings), _before_past(drawn, place)
    )
    told = circumstances_of(home.home, replace(home.circumstances, day=settings.day))
    known = reliability_inputs(home.home, told)
    left = (home.left | known.certain) - {"alarm_missing"}
    aging = aging_of(known, told, storms, seeds.own)
    age = age_of(home.last_visit, settings.day)
    now = faults_at(aging, _nearest(age), left)
    floods = floods_of(storms, now)
    mended = floods_by_age(aging, storms)
    chance = outcome(annual_chance_of(floods.total_per_yr))
    position = home.home.place
    return {
        "row": home.number,
        "id": home.home_id,
        "name": home.home.name,
        "neighbourhood": home.neighbourhood,
        "place": place.name,
        "latitude": position.latitude,
        "longitude": position.longitude,
        "last_visit": home.last_visit,
        "visit_every_yr": _finite(known.visit_every_yr),
        "pump_age_yr": known.pump_age_yr,
        "left": sorted(left),
        "has_pump": storms.has_pump,
        "told": sum(home.home.quantity(key) is not None for key in variables()),
        "chance_low": chance.low,
        "chance_median": chance.median,
        "chance_high": chance.high,
        "chance_mean": float(annual_chance_of(floods.total_per_yr).mean()),
        "floods_per_yr": float(floods.total_per_yr.mean()),
        **_by_cause(floods),
        **_minutes(storms),
        "month_share": list(place.month_share),
        "by_age_per_yr": mended.ravel(),
        "left_per_yr": floods_by_age(aging, storms, left).ravel() if left else None,
        **_nights(storms, past, now, _rows_kept(home, storms, settings, middle)),
    }


def _need_visited(home: FleetHome, day: datetime.date) -> None:
    """Refuse a visit later than a day after that of the run, as a home file refuses one."""
    if home.last_visit is not None and home.last_visit > day + datetime.timedelta(days=1):
        what = f"{home.last_visit} has not come yet on {day}, the day of the run"
        right = "write the day of a visit that was made, or run with a later --day"
        raise InputError("visit, date" if home.home.visit else "service.last_visit", what, right)


def _past_at(home: FleetHome, place: Place, settings: FleetSettings) -> list[StormToRun]:
    """The largest storms of the record of a place with what falls at a home, draw by draw."""
    spot, found = _spot(home), []
    for storm in place.past:
        factor = None
        if spot is not None and place.middle is not None and not settings.even_rain:
            log_period = local_log_period(
                f"{place.name} {storm.name}", storm.log_period, storm.duration_h, spot,
                place.middle, settings.seed, settings.n_draws,
            )  # fmt: skip
            there = storm.curve.depth_at(log_period) / storm.curve.depth_at(storm.log_period)
            factor = np.log(there)
        hours = storm.rain.depth_mm.size * storm.rain.step_s / 3600
        found.append(
            StormToRun(float(np.exp(storm.log_period)), hours, storm.rain, 0.0, log_factor=factor)
        )
    return found


def _before_past(drawn: AtPlace, place: Place) -> list[AntecedentGround]:
    """How the storms of the record found the ground; as in general where its days do not tell."""
    days = [storm.eve.day for storm in place.past]
    eve = np.array([day for day in days if day is not None], dtype=np.int64)
    told = iter(grounds_before(drawn.home, place.rain.weather, place.rain.levels, eve))
    return [drawn.before if day is None else next(told) for day in days]


def _spot(home: FleetHome) -> tuple[float, float] | None:
    where = home.home.place
    if where.latitude is None or where.longitude is None:
        return None
    return where.latitude, where.longitude


def _rows_kept(
    home: FleetHome,
    storms: HomeStorms,
    settings: FleetSettings,
    middle: tuple[float, float] | None,
) -> list[IntArray]:
    """Which of the storms that were run each draw meets, in a storm over all homes."""
    spot, n, found = _spot(home), storms.n_draws, []
    rng = np.random.default_rng(seed_of("rain at home", home.home_id, settings.seed))
    log_period = -np.log(storms.rate_per_yr)
    for years in settings.kept_yr:
        if spot is None or middle is None or settings.even_rain:
            found.append(np.full(n, storm_at(storms, years)))
            continue
        there = local_log_period(
            f"{years:g} years", float(np.log(years)), STORM_H, spot, middle, settings.seed, n
        )
        found.append(rows_of_storm(there, log_period, rng))
    return found


def _nearest(age_yr: float) -> int:
    return int(np.argmin(np.abs(np.array(AGES_YR) - age_yr)))


def _finite(value: float | None) -> float | None:
    return value if value is not None and np.isfinite(value) else None


def _by_cause(floods: Floods) -> dict[str, float]:
    """Floods a year by what a remedy would take away."""

    def of(*keys: str) -> float:
        return float(sum(float(np.mean(floods.per_yr.get(key, 0.0))) for key in keys))

    return {
        "by_overtopping_per_yr": of(OVERTOPPED, AT_JOINT),
        "by_pump_per_yr": of(*PUMP_CAUSES),
        "by_outage_per_yr": of(OUTAGE),
        "by_no_pump_per_yr": of(NO_PUMP),
    }


def _minutes(storms: HomeStorms) -> dict[str, float | None]:
    """From alarm to floor in the storm of ten years, or the rarest below it."""
    at = storm_at(storms, HEADLINE_YR)
    told = outcome(storms.stop_warning_s[at] if storms.has_pump else storms.dead_warning_s[at])
    points = told.if_ever
    return {
        "in_order_wet_share": float((storms.overtopped[at] + storms.at_joint[at]).mean()),
        "never_share": told.never_share,
        "minutes_low": None if points is None else points.low / 60,
        "minutes_median": None if points is None else points.median / 60,
        "minutes_high": None if points is None else points.high / 60,
    }


def _what_befalls(storms: HomeStorms, now: Faults) -> tuple[FloatArray, FloatArray, FloatArray]:
    """Chances that both pumps in order do not keep up, that all pumps are lost, and the power.

    A second pump that is fit and carries the storm stands in for the first; an outage counts where
    it outlasts the battery.
    """
    wet = storms.overtopped + storms.at_joint
    if not storms.has_pump:
        return wet, np.ones_like(wet), np.zeros_like(wet)
    lost = 1 - np.prod([1 - now.chance[key] for key in PUMP_CAUSES], axis=0)
    out, second = outage_chance(now, storms, storms.stop_to_floor_s), storms.second
    lost = np.broadcast_to(lost, wet.shape)
    if second is None or now.stand_by is None:
        return wet, lost, out
    helps = now.stand_by.fit * second.carries
    outlasted = outage_chance(now, storms, storms.stop_to_floor_s + second.outlasts_s)
    wet = wet + now.stand_by.fit * (second.overtopped + second.at_joint - wet)
    return wet, lost * (1 - helps), out + helps * (outlasted - out)


def _nights(
    storms: HomeStorms, past: Sequence[HomeStorms], now: Faults, rows: Sequence[IntArray]
) -> dict[str, FloatArray]:
    """What the night of a large storm needs, draw by draw; storms one after the other."""
    every, each = _night(storms, now), np.arange(storms.n_draws)
    kept = {name: [values[row, each] for row in rows] for name, values in every.items()}
    for one in past:
        for name, values in _night(one, now).items():
            kept[name].append(values[0])
    found = {name: np.concatenate(values) for name, values in kept.items()}
    return found | {
        "sounds_chance": now.sounds(outage=False),
        "sounds_out_chance": now.sounds(outage=True),
        "hears": now.hears,
        "can_act": now.can_act,
        "acts_after_s": now.acts_after_s,
        "acts_log_sd": now.acts_log_sd,
    }


def _night(storms: HomeStorms, now: Faults) -> dict[str, FloatArray]:
    """What befalls a home in each storm and draw (n_storms, n_draws)."""
    alarms = np.zeros_like(storms.overtopped) if storms.alarms is None else storms.alarms
    wet, lost, out = _what_befalls(storms, now)
    return {
        "wet": wet,
        "alarms": alarms,
        "dead_to_alarm_s": storms.dead_to_alarm_s,
        "dead_to_floor_s": storms.dead_to_floor_s,
        "stop_to_floor_s": storms.stop_to_floor_s,
        "stop_warning_s": storms.stop_warning_s,
        "out_chance": np.asarray(out),
        "lost_chance": np.asarray(lost),
    }
