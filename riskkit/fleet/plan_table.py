"""The plan as tables that go out: all homes in order, and the list of a week with its way."""

from __future__ import annotations

import datetime
from enum import Enum
from pathlib import Path
from typing import TYPE_CHECKING

from riskkit.errors import InputError
from riskkit.files import write_bytes, write_text
from riskkit.fleet.export import csv_text, xlsx_bytes
from riskkit.fleet.planning import Plan, Planned
from riskkit.fleet.tour import Round, rounds_of

if TYPE_CHECKING:
    import pandas as pd

__all__ = [
    "RANK_HEAD",
    "WEEK_HEAD",
    "Offer",
    "Row",
    "Wait",
    "offer_of",
    "plan_frame",
    "rank_rows",
    "wait_of",
    "week_rounds",
    "week_rows",
    "write_table",
]

Row = tuple[object, ...]
RANK_HEAD = (
    "rank", "id", "name", "neighbourhood", "week_begins", "due", "wait", "last_visit", "left",
    "kept_away_now_mean", "kept_away_now_low", "kept_away_now_median", "kept_away_now_high",
    "kept_away_in_week", "chance_mean", "floods_per_yr", "by_pump_per_yr", "by_outage_per_yr",
    "by_overtopping_per_yr", "offer", "offer_at_most_per_yr", "best_every_yr", "never_share",
    "minutes_median", "latitude", "longitude",
)  # fmt: skip
WEEK_HEAD = ("day", "crew", "stop", "id", "name", "due", "left", "kept_away", "latitude",
             "longitude", "round_km")  # fmt: skip
_LEAST_PER_YR = 0.005  # floods a year, below which nothing is offered (judgement)


class Offer(Enum):
    """What a home is offered: what would take most of its floods away."""

    SECOND_PUMP = "second_pump"
    BATTERY = "battery"
    GRADING = "grading"
    NOTHING = "nothing"


class Wait(Enum):
    """Why a home that is overdue is not visited in the first week."""

    NOT_OVERDUE = "not_overdue"
    FIRST_WEEK = "first_week"
    GAINS_MORE_LATER = "gains_more_later"
    OTHERS_GAIN_MORE = "others_gain_more"
    NO_ROOM = "no_room"


def wait_of(home: Planned, begins: datetime.date) -> Wait:
    """Say why a home waits.

    Parameters
    ----------
    home : Planned
        The home.
    begins : date
        First day of the first week; due before it is overdue.

    Returns
    -------
    Wait
        ``GAINS_MORE_LATER`` where its visit keeps a tenth more away in its week than in the first
        one with room, ``OTHERS_GAIN_MORE`` where its week is the first with room, for those before
        are full, ``NO_ROOM`` where no week of the year is left for it.
    """
    if home.due is None or home.due >= begins:
        return Wait.NOT_OVERDUE
    if home.week is None:
        return Wait.NO_ROOM
    if home.week == 0:
        return Wait.FIRST_WEEK
    return Wait.OTHERS_GAIN_MORE if home.week == home.first_free else Wait.GAINS_MORE_LATER


def offer_of(home: Planned) -> tuple[Offer, float]:
    """What to offer a home, and how many floods a year it keeps away at most.

    A second pump stands in for a first one that is lost, and on a battery in an outage too; a
    battery for the mains alone; ground that falls away takes water off a pump that does not keep
    up. Each is taken to be perfect, so that no home gains more; `riskkit remedies` works one out.

    Parameters
    ----------
    home : Planned
        The home.

    Returns
    -------
    offer : Offer
        The offer.
    at_most : float
        Floods that it keeps away at most [1/yr].
    """
    told = home.about
    pump, outage, over = (
        float(told[f"by_{name}_per_yr"]) for name in ("pump", "outage", "overtopping")
    )
    if max(pump, outage, over) < _LEAST_PER_YR:
        return Offer.NOTHING, 0.0
    if over >= max(pump, outage):
        return Offer.GRADING, over
    return (Offer.BATTERY, outage) if outage >= pump else (Offer.SECOND_PUMP, pump + outage)


def _begins(plan: Plan, week: int | None) -> datetime.date | None:
    return None if week is None else plan.begins + datetime.timedelta(days=7 * week)


def rank_rows(plan: Plan) -> list[Row]:
    """Return all homes, those that gain most by a visit now first.

    Parameters
    ----------
    plan : Plan
        The plan.

    Returns
    -------
    list of tuple
        Cells below `RANK_HEAD`.
    """
    rows: list[Row] = []
    for rank, home in enumerate(plan.homes, start=1):
        told, (offer, at_most) = home.about, offer_of(home)
        now = home.gain_now
        rows.append((
            rank, told["id"], told["name"], told["neighbourhood"], _begins(plan, home.week),
            home.due, wait_of(home, plan.begins).value, told["last_visit"], " ".join(told["left"]),
            home.mean_gain_now, now.low, now.median, now.high, home.mean_gain, told["chance_mean"],
            told["floods_per_yr"], told["by_pump_per_yr"], told["by_outage_per_yr"],
            told["by_overtopping_per_yr"], offer.value, at_most, home.best_every_yr,
            told["never_share"], told["minutes_median"], told["latitude"], told["longitude"],
        ))  # fmt: skip
    return rows


def plan_frame(plan: Plan) -> pd.DataFrame:
    """Return all homes as a DataFrame, those that gain most by a visit now first.

    Parameters
    ----------
    plan : Plan
        The plan.

    Returns
    -------
    pandas.DataFrame
        By ``id``; columns as in `RANK_HEAD`: floods kept away [-], rates ``_per_yr`` [1/yr],
        ``best_every_yr`` [yr], ``minutes_median`` [min].
    """
    import pandas as pd

    return pd.DataFrame(rank_rows(plan), columns=list(RANK_HEAD)).set_index("id")


def week_rounds(
    plan: Plan, week: int, crews: int, yard: tuple[float, float] | None = None
) -> tuple[list[Planned], tuple[Round, ...]]:
    """Share the visits of a week out among days and crews.

    Parameters
    ----------
    plan : Plan
        The plan.
    week : int
        Which week, the first being 0 [-].
    crews : int
        How many crews go round [-].
    yard : tuple of float, optional
        Where the rounds begin and end; the middle of all homes where it is left out [deg].

    Returns
    -------
    homes : list of Planned
        The homes of the week that have a place.
    rounds : tuple of Round
        Their order.
    """
    placed = [home for home in plan.homes if _is_placed(home)]
    homes = [home for home in placed if home.week == week]
    if not homes:
        return [], ()
    spots = [(float(h.about["latitude"]), float(h.about["longitude"])) for h in placed]
    if yard is None:
        yard = (sum(spot[0] for spot in spots) / len(spots),
                sum(spot[1] for spot in spots) / len(spots))  # fmt: skip
    of_week = [(float(h.about["latitude"]), float(h.about["longitude"])) for h in homes]
    return homes, rounds_of(of_week, yard, crews)


def _is_placed(home: Planned) -> bool:
    return home.about["latitude"] is not None and home.about["longitude"] is not None


def week_rows(
    plan: Plan, week: int, crews: int, yard: tuple[float, float] | None = None
) -> list[Row]:
    """Return the list of a week: every round in its order, then the homes without a place.

    Parameters
    ----------
    plan : Plan
        The plan.
    week : int
        Which week, the first being 0 [-].
    crews : int
        How many crews go round [-].
    yard : tuple of float, optional
        Where the rounds begin and end [deg].

    Returns
    -------
    list of tuple
        Cells below `WEEK_HEAD`.
    """
    homes, rounds = week_rounds(plan, week, crews, yard)
    rows: list[Row] = []

    def cells(home: Planned, *before: object, km: float | None) -> Row:
        told = home.about
        return (
            *before, told["id"], told["name"], home.due, " ".join(told["left"]), home.mean_gain,
            told["latitude"], told["longitude"], km,
        )  # fmt: skip

    first = plan.begins + datetime.timedelta(days=7 * week)
    for way in rounds:
        day = first + datetime.timedelta(days=way.day)
        rows += [
            cells(homes[at], day, way.crew + 1, stop, km=way.km if stop == 1 else None)
            for stop, at in enumerate(way.stops, start=1)
        ]
    without = [home for home in plan.homes if home.week == week and not _is_placed(home)]
    return rows + [cells(home, first, None, None, km=None) for home in without]


def write_table(path: Path, header: tuple[str, ...], rows: list[Row], title: str) -> None:
    """Write a table as CSV or xlsx, as the ending of its name says.

    Parameters
    ----------
    path : Path
        The file.
    header : tuple of str
        Names of the columns.
    rows : list of tuple
        Cells.
    title : str
        Name of the sheet.

    Raises
    ------
    InputError
        Where the name ends otherwise, or the file cannot be written.
    """
    if path.suffix.lower() == ".csv":
        write_text(path, csv_text(header, rows))
    elif path.suffix.lower() == ".xlsx":
        write_bytes(path, xlsx_bytes(header, rows, title))
    else:
        raise InputError(
            path.name, "its ending says nothing of its form", "end it in .csv or .xlsx"
        )
