"""How a wall moves: what was measured of it, visit by visit."""

from __future__ import annotations

import datetime
import re
from collections.abc import Sequence
from dataclasses import dataclass

from riskkit.tables import load_table
from riskkit.visits import Visit, visit_value

__all__ = ["WallTrend", "wall_trend"]

_YEAR_DAYS = 365.25


@dataclass(frozen=True)
class WallTrend:
    """What was measured at one place of a wall over the visits.

    Parameters
    ----------
    place : str
        Where.
    kind : str
        ``"crack"`` or ``"lean"``.
    sizes_m : tuple of (date, float)
        What was read at each visit [m].
    growth_m_yr : float, optional
        Slope of the line of least squares; None with readings of one day only [m/yr].
    growth_error_m_yr : float, optional
        Its standard error from the reading error alone [m/yr].
    moves : bool
        Whether it grew by more than the reading error can be.
    advice : str
        In plain words.
    """

    place: str
    kind: str
    sizes_m: tuple[tuple[datetime.date, float], ...]
    growth_m_yr: float | None
    growth_error_m_yr: float | None
    moves: bool
    advice: str


def wall_trend(visits: Sequence[Visit]) -> tuple[WallTrend, ...]:
    """Follow cracks and leaning walls over the visits, place by place.

    The growth is the slope of the line of least squares through size against time. It counts as
    movement where it is more than twice its standard error from the reading error.

    Parameters
    ----------
    visits : sequence of Visit
        Visits in any order.

    Returns
    -------
    tuple of WallTrend
        One per place and kind, in the order in which they were first seen.

    References
    ----------
    arithmetic : line of least squares
    """
    rows: dict[tuple[str, str], list[tuple[datetime.date, float, str]]] = {}
    for visit in sorted(visits, key=lambda visit: visit.date):
        for wall in visit.wall:
            if wall.size is not None and wall.kind is not None:
                key = (re.sub(r"\s+", " ", wall.place.strip().lower()), wall.kind)
                rows.setdefault(key, []).append((visit.date, wall.size.value, wall.place))
    return tuple(_trend(kind, found) for (_, kind), found in rows.items())


def _trend(kind: str, found: list[tuple[datetime.date, float, str]]) -> WallTrend:
    years = [(day - found[0][0]).days / _YEAR_DAYS for day, _, _ in found]
    sizes = [size for _, size, _ in found]
    middle = sum(years) / len(years)
    squares = sum((year - middle) ** 2 for year in years)
    growth = error = None
    if squares > 0:
        growth = sum((y - middle) * s for y, s in zip(years, sizes, strict=True)) / squares
        error = visit_value(kind).reading_error / squares**0.5
    moves = growth is not None and error is not None and growth > 2 * error
    marks = next(row for row in load_table("wall_advice").rows if row["key"] == kind)
    large = sizes[-1] >= float(marks["size"])
    fast = moves and growth is not None and growth >= float(marks["growth"])
    return WallTrend(
        place=found[-1][2],
        kind=kind,
        sizes_m=tuple((day, size) for day, size, _ in found),
        growth_m_yr=growth,
        growth_error_m_yr=error,
        moves=moves,
        advice=_advice(kind, moves=moves, fast=fast, large=large, many=growth is not None),
    )


def _advice(kind: str, *, moves: bool, fast: bool, large: bool, many: bool) -> str:
    what = "The crack" if kind == "crack" else "The wall"
    if moves:
        grows = "is getting wider" if kind == "crack" else "is leaning more"
        when = "now" if fast or large else "soon"
        return f"{what} {grows}. Call a structural engineer {when}."
    if large:
        return f"{what} has moved a lot. Call a structural engineer."
    if not many:
        return "One reading cannot show if it moves. Have an engineer look at it if you are unsure."
    return "No movement that a tape can tell. Call a structural engineer if it grows."
