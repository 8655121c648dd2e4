"""Whom to visit first: what a visit gains, in which week, and what the calendar alone would gain.

A visit gains the floods that it keeps away until the end of the year looked at: those at the rates
of a home that nobody visits, less those at the rates of one that was visited in that week, storms
coming by the months of the place. Homes are judged by what visits gain, not by their risk: a home
that floods whoever comes is no reason to come.
"""

from __future__ import annotations

import datetime
import heapq
import math
from collections.abc import Iterator, Mapping
from dataclasses import dataclass
from pathlib import Path
from typing import Any

import numpy as np
from numpy.typing import NDArray

from riskkit.ensemble.quantiles import Points, outcome
from riskkit.errors import InputError
from riskkit.fleet.aging import AGES_YR, at_age
from riskkit.fleet.answers import age_of
from riskkit.fleet.store import read_columns, read_manifest
from riskkit.records import FloatArray, IntArray

__all__ = [
    "LEAST_GAIN",
    "WEEKS",
    "Plan",
    "Planned",
    "VisitGains",
    "best_interval_yr",
    "by_calendar",
    "by_gain",
    "gains_of",
    "mean_gains",
    "overdue_early",
    "plan_visits",
    "read_gains",
]

WEEKS = 52
"""Weeks that are planned for."""
LEAST_GAIN = 1.1
"""How many times the gain of the first week with room a later visit must bring, once one is due."""
_MOST_VISITS = 100_000  # in a week
_WEEK_YR = 7 / 365.25
_READ = (
    "id", "name", "neighbourhood", "latitude", "longitude", "last_visit", "visit_every_yr", "left",
    "chance_mean", "floods_per_yr", "by_overtopping_per_yr", "by_pump_per_yr", "by_outage_per_yr",
    "never_share", "minutes_median", "month_share", "by_age_per_yr", "left_per_yr",
)  # fmt: skip


@dataclass(frozen=True)
class VisitGains:
    """What visits to a home gain.

    Parameters
    ----------
    about : mapping
        Columns of the run.
    by_week : (n_weeks, n_draws) array
        Floods that a visit in each week keeps away until the end of the last [-].
    due : date or None
        Day on which the next visit is due; None where nothing says how often somebody comes.
    best_every_yr : float
        Time between visits that costs least; infinite where none pays [yr].
    """

    about: Mapping[str, Any]
    by_week: FloatArray
    due: datetime.date | None
    best_every_yr: float


@dataclass(frozen=True)
class Planned:
    """A home in the plan of the year.

    Parameters
    ----------
    about : mapping
        Columns of the run.
    gain_now : Points
        Floods that a visit in the first week keeps away, over the draws [-].
    mean_gain_now : float
        The same, mean of all draws [-].
    week : int or None
        Week of the visit, the first being 0; None where there is no room [-].
    mean_gain : float
        Floods that the visit in that week keeps away, mean of all draws [-].
    first_free : int or None
        First week with room when the home chose its own; None where it has none [-].
    mean_gain_free : float
        Floods that a visit in that first one keeps away, mean of all draws [-].
    due : date or None
        Day on which the next visit is due.
    best_every_yr : float
        Time between visits that costs least; infinite where none pays [yr].
    """

    about: Mapping[str, Any]
    gain_now: Points
    mean_gain_now: float
    week: int | None
    mean_gain: float
    first_free: int | None
    mean_gain_free: float
    due: datetime.date | None
    best_every_yr: float


@dataclass(frozen=True)
class Plan:
    """The visits of a year.

    Parameters
    ----------
    begins : date
        First day of the first week.
    per_week : int
        Visits in a week [-].
    homes : tuple of Planned
        Those that gain most by a visit now first.
    total, calendar, difference : Points
        Floods kept away by the plan, by as many visits in the order in which they are due, and what
        the plan keeps away more, over the draws [-].
    mean_total, mean_calendar : float
        Means of all draws [-].
    """

    begins: datetime.date
    per_week: int
    homes: tuple[Planned, ...]
    total: Points
    calendar: Points
    difference: Points
    mean_total: float
    mean_calendar: float


def _season(month_share: FloatArray, begins: datetime.date) -> FloatArray:
    """How many times as many storms as on average come in each week [-]."""
    days = [begins + datetime.timedelta(days=7 * week + 3) for week in range(WEEKS)]
    share = np.array([12 * month_share[day.month - 1] for day in days])
    return np.asarray(share / share.mean())


def gains_of(
    by_age_per_yr: FloatArray,
    left_per_yr: FloatArray | None,
    age_yr: float,
    season: FloatArray,
) -> FloatArray:
    """Floods that a visit in each week keeps away until the end of the last week.

    Parameters
    ----------
    by_age_per_yr : (n_ages, n_draws) array
        Floods a year at each of `riskkit.fleet.aging.AGES_YR` since a visit [1/yr].
    left_per_yr : (n_ages, n_draws) array, optional
        The same with what the last visit left; None where it left nothing [1/yr].
    age_yr : float
        Time since the last visit [yr].
    season : (n_weeks,) array
        Storms of each week against the mean [-].

    Returns
    -------
    (n_weeks, n_draws) array
        Floods kept away [-].

    References
    ----------
    judgement : floods follow the months of the storms
    """
    middle = np.asarray((np.arange(season.size) + 0.5) * _WEEK_YR, dtype=np.float64)
    weight = (season * _WEEK_YR)[:, None]
    as_it_is = at_age(by_age_per_yr if left_per_yr is None else left_per_yr, age_yr + middle)
    fresh = at_age(by_age_per_yr, middle)
    found = np.empty_like(as_it_is)
    for week in range(season.size):
        after = slice(week, season.size)
        saved = (as_it_is[after] - fresh[: season.size - week]) * weight[after]
        found[week] = saved.sum(axis=0)
    return found


def best_interval_yr(
    mean_by_age_per_yr: FloatArray, visit: float, flood: float, least: float = 0.25
) -> float:
    """Time between visits that costs least, of visits and floods together.

    Parameters
    ----------
    mean_by_age_per_yr : (n_ages,) array
        Floods a year at each of `riskkit.fleet.aging.AGES_YR` [1/yr].
    visit, flood : float
        What a visit, and water on the floor once, cost [money].
    least : float
        Shortest time that is looked at [yr].

    Returns
    -------
    float
        Time; infinite where no visit within ten years pays [yr].

    References
    ----------
    christer_waller1984 : consequence per unit time
    """
    every = np.arange(least, AGES_YR[-1] + 1e-9, least)
    fine = np.asarray((np.arange(int(AGES_YR[-1] / 0.05)) + 0.5) * 0.05, dtype=np.float64)
    rate = at_age(mean_by_age_per_yr[:, None], fine)[:, 0]
    until = np.concatenate([[0.0], np.cumsum(rate) * 0.05])
    floods = np.interp(every, np.arange(until.size) * 0.05, until)
    cost = (visit + flood * floods) / every
    best, never = int(np.argmin(cost)), flood * float(mean_by_age_per_yr[-1])
    return float(every[best]) if cost[best] < never else math.inf


def read_gains(
    folder: Path, begins: datetime.date, visit: float, flood: float
) -> Iterator[VisitGains]:
    """Work out from a run what visits gain, home by home.

    Parameters
    ----------
    folder : Path
        Folder of the run.
    begins : date
        First day of the first week.
    visit, flood : float
        What a visit, and water on the floor once, cost [money].

    Yields
    ------
    VisitGains
        Of each home, in the order of the table.

    Raises
    ------
    InputError
        Where there is no run.
    """
    n_draws = int(read_manifest(folder)["settings"]["n_draws"])
    for part in read_columns(folder, _READ):
        for row in part.to_pylist():
            courses = [
                None if row[name] is None else np.array(row[name]).reshape(-1, n_draws)
                for name in ("by_age_per_yr", "left_per_yr")
            ]
            mended, left = courses
            if mended is None:
                raise InputError(folder.name, "a home has no rates", "run it again")
            season = _season(np.array(row["month_share"]), begins)
            gains = gains_of(mended, left, age_of(row["last_visit"], begins), season)
            best = best_interval_yr(mended.mean(axis=1), visit, flood)
            about = {k: v for k, v in row.items() if k not in ("by_age_per_yr", "left_per_yr")}
            yield VisitGains(about, gains, _due(row, best, begins), best)


def _due(row: Mapping[str, Any], best_yr: float, begins: datetime.date) -> datetime.date | None:
    """The day of the next visit by the interval of the home, or else by the cheapest."""
    every = best_yr if row["visit_every_yr"] is None else float(row["visit_every_yr"])
    if row["last_visit"] is None:
        return begins if math.isfinite(every) else None
    if math.isinf(every):
        return None
    last: datetime.date = row["last_visit"]
    return last + datetime.timedelta(days=round(every * 365.25))


def by_gain(mean_gain: FloatArray, per_week: int) -> IntArray:
    """Give every home a week, the greatest gain first, as long as there is room.

    Parameters
    ----------
    mean_gain : (n_homes, n_weeks) array
        Floods that a visit in each week keeps away [-].
    per_week : int
        Visits in a week [-].

    Returns
    -------
    (n_homes,) array
        Week of each home; -1 for none [-].

    References
    ----------
    common_practice : the greatest gain first
    """
    return overdue_early(mean_gain, per_week, np.zeros(len(mean_gain), dtype=np.bool_))[0]


def overdue_early(
    mean_gain: FloatArray, per_week: int, overdue: NDArray[np.bool_]
) -> tuple[IntArray, IntArray]:
    """Give every home a week by its gain, and an overdue one the first week with room.

    Whose week gains most chooses first. A visit that is due is not put off for a gain that is less
    than its own spread: it goes to another week than the first with room only where that gains more
    than `LEAST_GAIN` times as much.

    Parameters
    ----------
    mean_gain : (n_homes, n_weeks) array
        Floods that a visit in each week keeps away [-].
    per_week : int
        Visits in a week [-].
    overdue : (n_homes,) array of bool
        Homes whose visit was due before the first week [-].

    Returns
    -------
    weeks : (n_homes,) array
        Week of each home; -1 for none [-].
    first : (n_homes,) array
        First week with room when the home chose; -1 where it has none [-].

    References
    ----------
    judgement : a tenth
    """
    weeks, first = (np.full(len(mean_gain), -1, dtype=np.int64) for _ in range(2))
    room = np.full(mean_gain.shape[1], per_week)

    def turn(home: int) -> tuple[float, int, int]:
        """Return a key that orders the turns, the home, and the week that it would choose now."""
        gain = np.where(room > 0, mean_gain[home], -np.inf)
        early, best = int(np.argmax(room > 0)), int(np.argmax(gain))
        week = early if overdue[home] and gain[best] <= LEAST_GAIN * gain[early] else best
        return -float(gain[week]), home, week

    turns = [turn(home) for home in range(len(mean_gain))]
    heapq.heapify(turns)
    while turns and turns[0][0] < 0:
        asked = turn(turns[0][1])
        if asked != turns[0]:  # others took the room meanwhile
            heapq.heapreplace(turns, asked)
            continue
        _, home, week = heapq.heappop(turns)
        weeks[home], first[home] = week, int(np.argmax(room > 0))
        room[week] -= 1
    return weeks, first


def by_calendar(due: list[datetime.date | None], per_week: int, n_weeks: int = WEEKS) -> IntArray:
    """Give every home a week in the order in which visits are due.

    Parameters
    ----------
    due : list of date or None
        Day of each home; None goes last.
    per_week : int
        Visits in a week [-].
    n_weeks : int
        Weeks [-].

    Returns
    -------
    (n_homes,) array
        Week of each home; -1 for none [-].

    References
    ----------
    common_practice : the one that is due first
    """
    order = sorted(range(len(due)), key=lambda i: (due[i] is None, due[i] or datetime.date.max))
    found = np.full(len(due), -1, dtype=np.int64)
    for place, home in enumerate(order[: per_week * n_weeks]):
        found[home] = place // per_week
    return found


def mean_gains(
    folder: Path, begins: datetime.date, visit: float, flood: float
) -> tuple[FloatArray, list[datetime.date | None]]:
    """Return what visits to all homes of a run gain, mean of all draws, and when they are due.

    Parameters
    ----------
    folder : Path
        Folder of the run.
    begins : date
        First day of the first week.
    visit, flood : float
        What a visit, and water on the floor once, cost [money].

    Returns
    -------
    mean : (n_homes, n_weeks) array
        Floods that a visit in each week keeps away [-].
    due : list of date or None
        Day on which the next visit to each home is due.

    Raises
    ------
    InputError
        Where there is no run, or no home in it.
    """
    mean, due = [], []
    for one in read_gains(folder, begins, visit, flood):
        mean.append(one.by_week.mean(axis=1))
        due.append(one.due)
    if not mean:
        raise InputError(folder.name, "the run holds no home", "see which rows it refused, and why")
    return np.array(mean), due


def plan_visits(
    folder: Path,
    per_week: int,
    begins: datetime.date,
    visit: float,
    flood: float,
) -> Plan:
    """Plan the visits of a year.

    Parameters
    ----------
    folder : Path
        Folder of a run.
    per_week : int
        Visits in a week [-].
    begins : date
        First day of the first week.
    visit, flood : float
        What a visit, and water on the floor once, cost, for intervals that nobody told [money].

    Returns
    -------
    Plan
        Week by week.

    Raises
    ------
    InputError
        Where there is no run, or no visit a week.
    """
    if not 1 <= per_week <= _MOST_VISITS:
        what = f"{per_week} are not from 1 to {_MOST_VISITS:,}"
        raise InputError("visits a week", what, "such as 25")
    mean, due = mean_gains(folder, begins, visit, flood)
    overdue = np.array([day is not None and day < begins for day in due])
    weeks, firsts = overdue_early(mean, per_week, overdue)
    in_order = by_calendar(due, per_week)
    homes, totals = [], [np.zeros(1), np.zeros(1)]
    for at, one in enumerate(read_gains(folder, begins, visit, flood)):
        for k, plan in enumerate((weeks, in_order)):
            if plan[at] >= 0:
                totals[k] = totals[k] + one.by_week[plan[at]]
        now, week, first = outcome(one.by_week[0]), int(weeks[at]), int(firsts[at])
        homes.append(
            Planned(
                one.about, Points(now.low, now.median, now.high), float(one.by_week[0].mean()),
                None if week < 0 else week, float(mean[at, week]) if week >= 0 else 0.0,
                None if week < 0 else first, float(mean[at, first]) if week >= 0 else 0.0,
                one.due, one.best_every_yr,
            )
        )  # fmt: skip
    homes.sort(key=lambda home: (-home.mean_gain_now, str(home.about["id"])))
    told = [outcome(total) for total in (*totals, totals[0] - totals[1])]
    total, calendar, difference = (Points(each.low, each.median, each.high) for each in told)
    return Plan(
        begins, per_week, tuple(homes), total, calendar, difference,
        float(totals[0].mean()), float(totals[1].mean()),
    )  # fmt: skip
