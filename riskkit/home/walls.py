"""How a wall moves: what was measured of it, place by place, visit by visit.

Each new reading is compared with the last one and against the first. Growth counts where it is more
than one reading can be off; where readings are too close in time or too coarse to see the growth
that matters, they decide nothing and the answer is wider. The marks are those of
``tables/wall_advice.csv``: judgement, on the careful side. Here are codes, days and numbers; the
words are in ``report/``.
"""

from __future__ import annotations

import datetime
import re
from collections.abc import Sequence
from dataclasses import dataclass
from enum import Enum
from functools import cache
from types import MappingProxyType
from typing import TYPE_CHECKING

from riskkit.home.visits import Visit, Wall
from riskkit.tables import load_table

if TYPE_CHECKING:
    from collections.abc import Mapping

__all__ = [
    "Movement",
    "WallCall",
    "WallChange",
    "WallMarks",
    "WallReading",
    "WallReason",
    "WallTrend",
    "place_key",
    "wall_marks",
    "wall_trend",
]

_YEAR_DAYS = 365.25
_SLACK_YR = 0.1  # visits a year apart are never so to the day
_TINY = 1e-9  # of rounding: 8 mm less 5 mm are 3 mm [m]


class Movement(Enum):
    """What the readings of a place say."""

    FIRST = "one reading"
    GROWS = "grows"
    STEADY = "steady"
    UNDECIDED = "undecided"
    LESS = "less than before"
    UNMEASURED = "not measured"


class WallReason(Enum):
    """What calls for more than another reading."""

    SIZE = "size at the mark"
    PACE = "growth at the mark"
    OFFSET = "fresh crack with offset"
    BRACING_MOVED = "bracing moved"
    BRACED_GROWS = "grows though braced"
    NEAR_SIZE = "size near the mark"
    NEAR_PACE = "growth near the mark"
    OLD_OFFSET = "crack with offset"


_CALL_NOW = frozenset(
    {
        WallReason.SIZE,
        WallReason.PACE,
        WallReason.OFFSET,
        WallReason.BRACING_MOVED,
        WallReason.BRACED_GROWS,
    }
)


class WallCall(Enum):
    """What is to be done, the most urgent first."""

    ENGINEER_NOW = "call a structural engineer now"
    HAVE_LOOKED_AT = "have it looked at"
    MEASURE_AGAIN = "measure again"
    WATCH = "measure at the next visit"


@dataclass(frozen=True)
class WallMarks:
    """From what size [m] and growth in a year [m/yr] an engineer is called now."""

    size_m: float
    growth_m_yr: float
    words: Mapping[str, str]


@cache
def wall_marks() -> Mapping[str, WallMarks]:
    """Return the marks for bow, lean and crack.

    Returns
    -------
    mapping of str to WallMarks
        The rows of ``tables/wall_advice.csv`` by their kind.

    References
    ----------
    judgement : on the careful side
    """
    return MappingProxyType(
        {
            row["key"]: WallMarks(float(row["size"]), float(row["growth"]), row)
            for row in load_table("wall_advice").rows
        }
    )


@dataclass(frozen=True)
class WallReading:
    """A size [m], how it was read, and by how much the reading can be off [m]."""

    date: datetime.date
    size_m: float
    method: str | None
    error_m: float


@dataclass(frozen=True)
class WallChange:
    """What came between an earlier reading and the latest.

    Parameters
    ----------
    since : date
        Day of the earlier reading.
    years : float
        From then to the latest [yr].
    growth_m : float
        The latest less the earlier size [m].
    error_m : float
        By how much one of the two can be off; both together where they were read in two ways [m].
    in_two_ways : bool
        Whether they were read by different methods.
    """

    since: datetime.date
    years: float
    growth_m: float
    error_m: float
    in_two_ways: bool

    @property
    def is_growth(self) -> bool:
        """Whether it grew by more than a reading can be off."""
        return self.growth_m > self.error_m + _TINY

    @property
    def is_less(self) -> bool:
        """Whether it reads less than before by more than a reading can be off."""
        return self.growth_m < -self.error_m - _TINY

    def reaches(self, growth_m_yr: float) -> bool:
        """Tell whether it is growth at a mark: in a year, or surely as fast in less time.

        Parameters
        ----------
        growth_m_yr : float
            The mark [m/yr].

        Returns
        -------
        bool
            Whether it does.

        References
        ----------
        judgement : a year is as long as 1.1 years, for visits are never a year apart to the day
        """
        if not self.is_growth:
            return False
        in_a_year = self.growth_m / max(1.0, self.years - _SLACK_YR)
        surely = (self.growth_m - self.error_m) / self.years
        return max(in_a_year, surely) >= growth_m_yr - _TINY

    def may_reach(self, growth_m_yr: float) -> bool:
        """Tell whether growth at a mark may hide in what the readings can be off.

        Parameters
        ----------
        growth_m_yr : float
            The mark [m/yr].

        Returns
        -------
        bool
            Whether it does.

        References
        ----------
        judgement : by how much a reading can be off
        """
        return (self.growth_m + self.error_m) / self.years >= growth_m_yr - _TINY


@dataclass(frozen=True)
class WallTrend:
    """What was measured and seen at one place of a wall over the visits.

    Parameters
    ----------
    place : str
        Where, in the words of the last visit.
    kind : str or None
        ``"bow"``, ``"lean"`` or ``"crack"``.
    readings : tuple of WallReading
        One for each day, in their order.
    last : WallChange or None
        From the last reading but one to the latest.
    whole : WallChange or None
        From the first reading of three or more to the latest.
    movement : Movement
        What the readings say.
    too_soon : bool
        Of readings that decide nothing: whether as good ones a year apart would.
    reasons : tuple of WallReason
        What calls for an engineer.
    call : WallCall
        What is to be done.
    bracing : str
        Bracing that is there; empty where none is known.
    bracing_checked : bool
        Whether the last visit to this place says if the bracing has moved.
    """

    place: str
    kind: str | None
    readings: tuple[WallReading, ...]
    last: WallChange | None
    whole: WallChange | None
    movement: Movement
    too_soon: bool
    reasons: tuple[WallReason, ...]
    call: WallCall
    bracing: str
    bracing_checked: bool

    @property
    def grown(self) -> WallChange | None:
        """The growth to tell: since the last reading, or else since the first."""
        return next((c for c in (self.last, self.whole) if c is not None and c.is_growth), None)


def place_key(place: str) -> str:
    """Return a place as it is compared: spelling and spaces make no other place.

    Parameters
    ----------
    place : str
        As it was written.

    Returns
    -------
    str
        In small letters, with single spaces.
    """
    return re.sub(r"\s+", " ", place.strip().lower())


def wall_trend(visits: Sequence[Visit]) -> tuple[WallTrend, ...]:
    """Follow walls over the visits, place by place.

    Growth is called where the latest reading is above the last one, or above the first, by more
    than one reading can be off. It reaches the mark where it is as much in a year, or where it is
    surely as fast over a shorter time. Where nothing has grown but growth at the mark may hide in
    what the readings can be off, they decide nothing.

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
    judgement : marks, and by how much a reading can be off
    """
    seen: dict[tuple[str, str | None], list[tuple[datetime.date, Wall]]] = {}
    for visit in sorted(visits, key=lambda visit: visit.date):
        for wall in visit.wall:
            seen.setdefault((place_key(wall.place), wall.kind), []).append((visit.date, wall))
    return tuple(_trend(rows) for rows in seen.values())


def _trend(seen: list[tuple[datetime.date, Wall]]) -> WallTrend:
    _, wall = seen[-1]
    by_day = {  # of two readings on one day the one written later
        day: WallReading(day, one.size.value, one.method, one.reading_error_m)
        for day, one in seen
        if one.size is not None and one.kind is not None
    }
    readings = tuple(by_day.values())
    last = _change(readings[-2], readings[-1]) if len(readings) > 1 else None
    whole = _change(readings[0], readings[-1]) if len(readings) > 2 else None
    changes = [change for change in (last, whole) if change is not None]
    movement = _movement(wall.kind, readings, changes)
    bracing = next((one.bracing for _, one in reversed(seen) if one.bracing), "")
    bracing = "" if bracing.strip().lower() == "none" else bracing
    reasons = _reasons(wall.kind, readings, changes, seen, is_braced=bool(bracing))
    return WallTrend(
        place=wall.place,
        kind=wall.kind,
        readings=readings,
        last=last,
        whole=whole,
        movement=movement,
        too_soon=movement is Movement.UNDECIDED and _is_too_soon(wall.kind, last),
        reasons=reasons,
        call=_call(movement, reasons),
        bracing=bracing,
        bracing_checked=wall.bracing_moved is not None,
    )


def _change(before: WallReading, after: WallReading) -> WallChange:
    in_two_ways = None not in (before.method, after.method) and before.method != after.method
    errors = (before.error_m, after.error_m)
    return WallChange(
        since=before.date,
        years=(after.date - before.date).days / _YEAR_DAYS,
        growth_m=after.size_m - before.size_m,
        error_m=sum(errors) if in_two_ways else max(errors),
        in_two_ways=in_two_ways,
    )


def _movement(
    kind: str | None, readings: tuple[WallReading, ...], changes: list[WallChange]
) -> Movement:
    if kind is None or not readings:
        return Movement.UNMEASURED
    if not changes:
        return Movement.FIRST
    if any(change.is_growth for change in changes):
        return Movement.GROWS
    if changes[0].is_less:
        return Movement.LESS
    hides = changes[0].may_reach(wall_marks()[kind].growth_m_yr)
    return Movement.UNDECIDED if hides else Movement.STEADY


def _is_too_soon(kind: str | None, last: WallChange | None) -> bool:
    """Whether the same two readings would decide if they were a year apart."""
    if kind is None or last is None:
        return False
    return last.growth_m + last.error_m < wall_marks()[kind].growth_m_yr - _TINY


def _reasons(
    kind: str | None,
    readings: tuple[WallReading, ...],
    changes: list[WallChange],
    seen: list[tuple[datetime.date, Wall]],
    *,
    is_braced: bool,
) -> tuple[WallReason, ...]:
    found: list[WallReason] = []
    if kind is not None and readings:
        marks, latest = wall_marks()[kind], readings[-1]
        if latest.size_m >= marks.size_m - _TINY:
            found.append(WallReason.SIZE)
        elif latest.size_m + latest.error_m >= marks.size_m - _TINY:
            found.append(WallReason.NEAR_SIZE)
        if any(change.reaches(marks.growth_m_yr) for change in changes):
            found.append(WallReason.PACE)
        elif any(c.is_growth and c.may_reach(marks.growth_m_yr) for c in changes):
            found.append(WallReason.NEAR_PACE)
        if is_braced and any(change.is_growth for change in changes):
            found.append(WallReason.BRACED_GROWS)
    found += _offset([wall for _, wall in seen])
    moved = [one.bracing_moved for _, one in seen if one.bracing_moved is not None]
    if moved and moved[-1] == "yes":
        found.append(WallReason.BRACING_MOVED)
    return tuple(reason for reason in WallReason if reason in found)


def _offset(walls: list[Wall]) -> list[WallReason]:
    """A crack with an offset is fresh unless it is told not to be, or had one at a visit before."""
    told = [wall for wall in walls if wall.offset is not None]
    if not told or told[-1].offset != "yes":
        return []
    before = any(wall.offset == "yes" for wall in told[:-1])
    fresh = told[-1].fresh == "yes" or (told[-1].fresh is None and not before)
    return [WallReason.OFFSET if fresh else WallReason.OLD_OFFSET]


def _call(movement: Movement, reasons: tuple[WallReason, ...]) -> WallCall:
    if not _CALL_NOW.isdisjoint(reasons):
        return WallCall.ENGINEER_NOW
    if movement is Movement.GROWS or reasons:
        return WallCall.HAVE_LOOKED_AT
    if movement in (Movement.UNDECIDED, Movement.LESS):
        return WallCall.MEASURE_AGAIN
    return WallCall.WATCH
