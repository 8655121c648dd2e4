"""What the checks of a record say in words, and whether the record may be used at all."""

from __future__ import annotations

import math
from collections.abc import Callable, Sequence

import numpy as np

from riskkit.errors import InputError
from riskkit.quantities.units import UnitSystem, convert
from riskkit.quantities.variables import significant
from riskkit.rainfall.homogeneity import Step
from riskkit.rainfall.quality_rows import (
    Check,
    Limits,
    Place,
    QualityRow,
    Verdict,
    Weight,
)
from riskkit.rainfall.readers.snowfall import SnowRatio
from riskkit.rainfall.weighing import DecidingValue
from riskkit.tables import load_table

__all__ = [
    "asks_for_unit",
    "deciding_words",
    "meaning_words",
    "moment_words",
    "need_sound",
    "place_words",
    "quality_words",
    "row_words",
    "weight_words",
]

_COUNTED = {"values": "value", "days": "day", "years": "year", "intervals": "interval"}
_TINY = 0.001  # a smaller share is told as less than this [-]
_NAMED = 3  # places; more are counted
_UNIT_CHECKS = (Check.ENVELOPE, Check.ANNUAL_DEPTH, Check.SNOW,
                Check.OVER_NEIGHBOUR, Check.OVER_OFFICIAL)  # fmt: skip
_DAY = np.timedelta64(86400, "s")


def quality_words(row: QualityRow, system: UnitSystem) -> tuple[str, str]:
    """Write what a check of a record found, and what is expected.

    Parameters
    ----------
    row : QualityRow
        The check.
    system : UnitSystem
        Units of the reader.

    Returns
    -------
    found : str
        For example ``"40 in"``, ``"18 %"`` or ``"15 intervals"``.
    expected : str
        For example ``"at most 50 %"``.
    """
    unit, factor, digits = row.unit, 1.0, 2 if row.unit == "times" else 6
    if row.unit == "share":
        unit, factor, digits = "%", 100.0, 2
    elif row.unit == "mm":
        unit = "in" if system is UnitSystem.US else "mm"
        factor, digits = convert(1.0, "mm", unit), 3

    def shown(number: float, digits: int) -> str:
        return significant(number * factor, digits).replace(",", "")

    expected = _expected(row.limits, lambda number: shown(number, 2), unit)
    if math.isnan(row.figure):
        return "too short to tell", expected
    if row.unit == "share" and 0 < row.figure < _TINY:
        return f"less than {shown(_TINY, 1)} %", expected
    number = shown(row.figure, digits)
    if row.unit == "times" and number == "1":
        return "the same", expected
    if row.unit in _COUNTED and number in ("0", "1"):
        return "none" if number == "0" else f"1 {_COUNTED[row.unit]}", expected
    return f"{number} {unit}", expected


def _expected(limits: Limits, shown: Callable[[float], str], unit: str) -> str:
    low = limits.warn_below if math.isfinite(limits.warn_below) else limits.fail_below
    high = limits.warn_above if math.isfinite(limits.warn_above) else limits.fail_above
    if unit in _COUNTED and high == 0.0:
        return "none"
    if math.isfinite(low) and math.isfinite(high):
        return f"{shown(low)} to {shown(high)} {unit}"
    return (
        f"at least {shown(low)} {unit}" if math.isfinite(low) else f"at most {shown(high)} {unit}"
    )


def meaning_words(row: QualityRow, system: UnitSystem) -> str:
    """Say why a check matters, what was found, where, and what it does to the depths.

    Parameters
    ----------
    row : QualityRow
        The check.
    system : UnitSystem
        Units of the reader.

    Returns
    -------
    str
        Plain words.
    """
    why = next(
        one["meaning"] for one in load_table("quality_limits").rows
        if one["check"] == row.check.value
    )  # fmt: skip
    parts = [why, _detail_words(row)]
    if row.verdict is not Verdict.PASS:
        parts.append(place_words(row.places, system))
    if row.weight is not None:
        parts.append(weight_words(row.weight, system))
    return "; ".join(part for part in parts if part)


def _detail_words(row: QualityRow) -> str:
    detail = row.detail
    if isinstance(detail, Step):
        moved = "more" if detail.change > 0 else "less"
        return f"{100 * abs(detail.change):.0f} % {moved} after {detail.last_year}"
    if isinstance(detail, SnowRatio):
        words = f"{detail.days} days of {detail.column}"
        if 8.0 <= detail.ratio * 10.0 <= 25.0:
            words += ", where snow is ten times too small or rain ten times too large"
        elif 8.0 <= detail.ratio * 0.1 <= 25.0:
            words += ", where snow is ten times too large or rain ten times too small"
        return words
    return ""


def place_words(places: Sequence[Place], system: UnitSystem) -> str:
    """Name stretches of a record: years, or the day and hour and rain of the largest.

    Parameters
    ----------
    places : sequence of Place
        The stretches.
    system : UnitSystem
        Units of the reader.

    Returns
    -------
    str
        Such as ``"in 1987-2011"`` or ``"1963-06-01 14:00 (1.2 in)"``; empty where there is none.
    """
    if not places:
        return ""
    if all(place.end - place.begin > 364 * _DAY for place in places):
        years = np.array([int(str(place.begin)[:4]) for place in places])
        runs = np.split(years, np.flatnonzero(np.diff(years) > 1) + 1)
        return "in " + ", ".join(f"{r[0]}-{r[-1]}" if r.size > 1 else f"{r[0]}" for r in runs)
    largest = sorted(places, key=lambda place: -place.depth_mm)[:_NAMED]
    named = ", ".join(
        f"{_begin_words(place)} ({_depth(place.depth_mm, system)})" for place in largest
    )
    return named if len(places) <= _NAMED else f"the largest {named}"


def moment_words(moment: np.datetime64) -> str:
    """Write a day and hour.

    Parameters
    ----------
    moment : numpy.datetime64
        The moment.

    Returns
    -------
    str
        Such as ``"1986-08-06 05:00"``.
    """
    return np.datetime_as_string(moment, unit="m").replace("T", " ")


def _begin_words(place: Place) -> str:
    """Day and hour on which a stretch begins; of whole days the day."""
    if (place.end - place.begin) % _DAY == 0 * _DAY and place.begin == place.begin.astype("M8[D]"):
        return np.datetime_as_string(place.begin, unit="D")
    return moment_words(place.begin)


def _depth(depth_mm: float, system: UnitSystem | None) -> str:
    both = [f"{significant(convert(depth_mm, 'mm', unit), 2)} {unit}" for unit in ("in", "mm")]
    return f"{both[0]} ({both[1]})" if system is None else both[system is not UnitSystem.US]


def weight_words(weight: Weight, system: UnitSystem | None) -> str:
    """Say what the depths would be without doubtful values.

    Parameters
    ----------
    weight : Weight
        The depth that they move most against its limits.
    system : UnitSystem, optional
        Units of the reader; both where none is given.

    Returns
    -------
    str
        Plain words.
    """
    hours = weight.duration_h
    length = f"{hours:g} h" if hours >= 1.0 else f"{60 * hours:.0f} min"
    storm = f"the {weight.return_period_yr:g}-year depth of {length}"
    depths = f"{_depth(weight.without_mm, system)} instead of {_depth(weight.with_mm, system)}"
    if weight.reach <= 1.0:
        return "no depth would leave its limits without it"
    return f"without it {storm} would be {depths}"


def deciding_words(deciding: DecidingValue, system: UnitSystem | None = None) -> str:
    """Name a single value that decides the depths, and say what they would be without it.

    Parameters
    ----------
    deciding : DecidingValue
        The value.
    system : UnitSystem, optional
        Units of the reader; both where none is given.

    Returns
    -------
    str
        A sentence.
    """
    place = deciding.place
    hours = (place.end - place.begin) / np.timedelta64(3600, "s")
    length = f"{hours:g} h" if hours >= 1.0 else f"{60 * hours:.0f} min"
    return (
        f"One value decides the depths of rain: {_depth(place.depth_mm, system)} in {length} from "
        f"{_begin_words(place)}, more than the other years allow "
        f"({_depth(deciding.allowed_mm, system)}); it may be a total over days, and "
        f"{weight_words(deciding.weight, system)}."
    )


def row_words(row: QualityRow) -> str:
    """Say what a check of a record found, what is expected, and why it matters.

    Parameters
    ----------
    row : QualityRow
        The check.

    Returns
    -------
    str
        In metric units.
    """
    found, expected = quality_words(row, UnitSystem.METRIC)
    meaning = meaning_words(row, UnitSystem.METRIC)
    return f"{row.check.value} is {found}, expected {expected} ({meaning})"


def asks_for_unit(row: QualityRow) -> bool:
    """Tell whether a check that fails may do so because the record is in another unit.

    Parameters
    ----------
    row : QualityRow
        The check.

    Returns
    -------
    bool
        Whether it may.

    References
    ----------
    judgement : which checks a wrong unit fails
    """
    return row.verdict is Verdict.FAIL and row.check in _UNIT_CHECKS


def need_sound(rows: tuple[QualityRow, ...], where: str) -> None:
    """Refuse a record that cannot be right.

    Parameters
    ----------
    rows : tuple of QualityRow
        Its checks.
    where : str
        Which record, for the message.

    Raises
    ------
    InputError
        Where a check failed; it says which one.

    References
    ----------
    judgement : riskkit/tables/quality_limits.csv
    """
    for row in rows:
        if row.verdict is Verdict.FAIL:
            what = f"it cannot be right: {row_words(row)}"
            raise InputError(where, what, "look at the record", argument="look")
