"""Homes of a folder at a glance, a row each, to sort, to filter and to save."""

from __future__ import annotations

import calendar
import datetime
import math
from collections.abc import Sequence
from dataclasses import dataclass
from typing import TYPE_CHECKING

from riskkit.assessment import Assessment
from riskkit.failures.answer import YearlyChance
from riskkit.home.home import Home
from riskkit.home.visits import last_visit
from riskkit.quantities.units import UnitSystem
from riskkit.report.calendar import months_later
from riskkit.report.days import day_words
from riskkit.report.key_figure import chance_figure, key_figure
from riskkit.report.replay_words import often_words
from riskkit.report.visit_words import alerts
from riskkit.risk.system_state import system_state
from riskkit.years.calendar import failed_floods, visit_season
from riskkit.years.records import Replay

if TYPE_CHECKING:
    import pandas as pd

__all__ = [
    "GLANCE_NOTES",
    "HomeGlance",
    "glance_frame",
    "glance_head",
    "glance_rows",
    "visit_lines",
]

_SERVICE_MONTHS = 12
_NOT_KNOWN = "not known"
GLANCE_NOTES = (
    "Time: from the alarm, or from the stop of the pump where there is no alarm, to water on the "
    "floor in the storm named. Chance: mean of the simulated variants. Floods of a failed pump: "
    "storms a year of the rain record in which a pump that is dead or stops means water on the "
    "floor. Visits by: the day on which the weeks begin that hold half of these storms. Service "
    "due: as agreed at the last visit, or a year after it."
)


@dataclass(frozen=True)
class HomeGlance:
    """What is told of one home in a list of homes.

    Parameters
    ----------
    file : str
        Name of its file.
    home : Home
        The home.
    answer : Assessment
        Its storms.
    chance : YearlyChance
        Chance of water on the floor in a year.
    years : Replay, optional
        The years of its record; None where they cannot be run.
    today : datetime.date
        Day on which a service before it is overdue.
    """

    file: str
    home: Home
    answer: Assessment
    chance: YearlyChance
    years: Replay | None
    today: datetime.date

    @property
    def floods_per_yr(self) -> float | None:
        """Storms a year in which a failed pump floods, mean of the draws [1/yr]."""
        if self.years is None:
            return None
        return float(failed_floods(self.years).mean(axis=0).sum()) / self.years.years

    @property
    def finish_by(self) -> tuple[int, int] | None:
        """Month and day by which visits are best done; None where no season stands out."""
        season = None if self.years is None else visit_season(self.years)
        return None if season is None or not season.stands_out else season.first_day

    @property
    def due(self) -> datetime.date | None:
        """Next service, as agreed or a year after the last visit; None where nobody came yet."""
        visit = last_visit(self.home.visit)
        return None if visit is None else visit.next or months_later(visit.date, _SERVICE_MONTHS)


def glance_head(homes: Sequence[HomeGlance]) -> list[str]:
    """Return the heads of the columns.

    Parameters
    ----------
    homes : sequence of HomeGlance
        The homes.

    Returns
    -------
    list of str
        One for each column.
    """
    storms = {f"{one.answer.headline_storm.return_period_yr:g}-year storm" for one in homes}
    of = storms.pop() if len(storms) == 1 else "its storm"
    return [
        "home", f"time to the floor, {of}", "chance of water in a year",
        "a failed pump floods", "visits by", "service due", "last visit", "out of order",
    ]  # fmt: skip


def glance_rows(
    homes: Sequence[HomeGlance], system: UnitSystem
) -> tuple[list[list[str]], list[list[float | str]]]:
    """Return what is shown of each home, and by what each column is sorted.

    Parameters
    ----------
    homes : sequence of HomeGlance
        The homes.
    system : UnitSystem
        Units of the reader.

    Returns
    -------
    cells : list of list of str
        A row for each home.
    keys : list of list of float or str
        By column: times [s], chances [-], floods [1/yr], days [day]; the worst is the least, what
        is not known is the greatest.
    """
    rows, keys = [], []
    for one in homes:
        figure = key_figure(one.answer)
        chance, likely = chance_figure(one.chance)
        floods, by = one.floods_per_yr, one.finish_by
        due = one.due
        season = math.inf if by is None else 100.0 * by[0] + by[1]
        visit = last_visit(one.home.visit)
        wrong = alerts(one.home, system_state(one.home), system)
        rows.append([
            one.home.name, figure.cell(), f"{chance} ({likely})",
            _NOT_KNOWN if floods is None else often_words(floods),
            _NOT_KNOWN if one.years is None else
            "no season" if by is None else f"{by[1]} {calendar.month_abbr[by[0]]}",
            _due_words(due, one.today, system),
            "none" if visit is None else day_words(visit.date, system),
            " ".join(wrong) or "nothing",
        ])  # fmt: skip
        key: list[float | str] = [
            one.home.name.lower(), _time_key(one), -one.chance.mean,
            math.inf if floods is None else -floods,
            season, float((due or one.today).toordinal()),
            0.0 if visit is None else float(visit.date.toordinal()), -float(len(wrong)),
        ]  # fmt: skip
        keys.append([_finite(value) for value in key])
    return rows, keys


def glance_frame(homes: Sequence[HomeGlance]) -> pd.DataFrame:
    """Return the homes as a DataFrame, to save.

    Parameters
    ----------
    homes : sequence of HomeGlance
        The homes.

    Returns
    -------
    pandas.DataFrame
        By ``file``: name, return period of the storm [yr], median time to the floor [s] and how
        likely the floor stays dry in it [-], mean chance of a year [-], floods of a failed pump a
        year [1/yr], month and day by which visits are best done, and days of the next service and
        the last visit. What is not known is empty.
    """
    import pandas as pd

    rows = {}
    for one in homes:
        storm, by, visit = one.answer.headline_storm, one.finish_by, last_visit(one.home.visit)
        rows[one.file] = {
            "home": one.home.name,
            "storm_yr": storm.return_period_yr,
            "worst_median_s": _or_none(storm.worst_stop.to_floor_s.median),
            "floor_dry_share": storm.worst_stop.to_floor_s.never_share,
            "chance_mean_per_year": one.chance.mean,
            "failed_pump_floods_mean_per_year": one.floods_per_yr,
            "finish_by_month": None if by is None else by[0],
            "finish_by_day": None if by is None else by[1],
            "service_due": None if one.due is None else one.due.isoformat(),
            "last_visit": None if visit is None else visit.date.isoformat(),
        }
    return pd.DataFrame.from_dict(rows, orient="index").rename_axis("file")


def visit_lines(homes: Sequence[HomeGlance], system: UnitSystem) -> list[str]:
    """Say which homes somebody should come to now, the longest overdue first.

    Parameters
    ----------
    homes : sequence of HomeGlance
        The homes.
    system : UnitSystem
        Units of the reader.

    Returns
    -------
    list of str
        A sentence for each home whose service is overdue; then for each that was never visited, the
        one first in which a failed pump floods most often.
    """

    def urgent(one: HomeGlance) -> tuple[bool, int, float]:
        due = one.due
        return due is None, 0 if due is None else due.toordinal(), -(one.floods_per_yr or 0.0)

    lines = []
    for one in sorted(homes, key=urgent):
        due, by = one.due, one.finish_by
        if due is not None and due >= one.today:
            continue
        what = "Never visited" if due is None else f"Service was due on {day_words(due, system)}"
        when = "" if by is None else f"; best before {by[1]} {calendar.month_name[by[0]]}"
        lines.append(f"{one.home.name}. {what}{when}.")
    return lines


def _due_words(due: datetime.date | None, today: datetime.date, system: UnitSystem) -> str:
    if due is None:
        return "never visited"
    return f"overdue, {day_words(due, system)}" if due < today else day_words(due, system)


def _time_key(one: HomeGlance) -> float:
    """Time that orders: the median, and where that is never, by how many stay dry."""
    time = one.answer.headline_storm.worst_stop.to_floor_s
    return time.median if math.isfinite(time.median) else 1e9 * (1.0 + time.never_share)


def _or_none(value: float) -> float | None:
    return value if math.isfinite(value) else None


def _finite(key: float | str) -> float | str:
    """A number that JSON can hold."""
    return 1e12 if key == math.inf else key
