"""The largest storms of a record as rows of a table, for terminal, page and JSON."""

from __future__ import annotations

import math
from typing import Any

import numpy as np

from riskkit.quantities.units import UnitSystem, convert
from riskkit.quantities.variables import significant
from riskkit.rainfall.largest import LargeStorm, ReturnPeriod
from riskkit.records import RainRecord
from riskkit.report.answer_form import numbers
from riskkit.report.number_words import hours_words
from riskkit.report.rows import Table, new_table

__all__ = ["period_words", "storm_form", "storm_table"]

DAY_S = 86400
_SHOWN_H = (1.0, 3.0, 6.0, 24.0, 48.0, 72.0)
_MOST_YR, _LEAST_YR = 100.0, 1.0

_STORM_WORDS = (
    "A storm is what fell within three days; depths are the most of it in each duration, as the "
    "gauge caught them. The return period is that of the duration in which it was rarest, with the "
    "limits within which it lies nine times in ten."
)


def _title(storms: tuple[LargeStorm, ...]) -> str:
    number = {10: "ten"}.get(len(storms), str(len(storms)))
    return f"The {number} largest storms"


def storm_table(
    record: RainRecord, storms: tuple[LargeStorm, ...], system: UnitSystem
) -> Table | None:
    """Write the largest storms as a table: when, how much in each duration, how seldom.

    Parameters
    ----------
    record : RainRecord
        The record.
    storms : tuple of LargeStorm
        Its largest storms.
    system : UnitSystem
        Units of the reader.

    Returns
    -------
    Table or None
        A row for each storm; none where there is no storm.
    """
    if not storms:
        return None
    unit, digits = ("in", 2) if system is UnitSystem.US else ("mm", 0)
    durations = storms[0].duration_h
    columns = [i for i, hours in enumerate(durations) if hours in _SHOWN_H] or [0]
    head = ["from", "to", *(f"{hours_words(float(durations[i]))} [{unit}]" for i in columns),
            "rarest in", "return period [yr]", "remark"]  # fmt: skip
    rows = []
    for storm in storms:
        depths = [f"{convert(float(storm.depth_mm[i]), 'mm', unit):.{digits}f}" for i in columns]
        rows.append(
            [
                _moment(storm.begin, record),
                _moment(storm.end, record, is_end=True),
                *depths,
                hours_words(float(durations[storm.rarest])),
                "-" if storm.period is None else period_words(storm.period),
                "beside a gap" if storm.beside_gap else "",
            ]
        )
    return new_table(_title(storms), head, rows, [_STORM_WORDS], words=(0, len(head) - 1))


def _moment(moment: np.datetime64, record: RainRecord, *, is_end: bool = False) -> str:
    """Day and hour; of a daily record the day, of the end the last one."""
    if record.interval_s == DAY_S:
        day = moment - np.timedelta64(DAY_S, "s") if is_end else moment
        return np.datetime_as_string(day, unit="D")
    return np.datetime_as_string(moment, unit="m").replace("T", " ")


def period_words(period: ReturnPeriod) -> str:
    """Write a return period with its limits.

    Parameters
    ----------
    period : ReturnPeriod
        The return period.

    Returns
    -------
    str
        Such as ``"40 (20 to over 100)"``.
    """
    median, low, high = map(_years, (period.median_yr, period.low_yr, period.high_yr))
    if low == high:
        return median
    return f"{median} ({low} to {high})"


def _years(years: float) -> str:
    if math.isinf(years) or years > _MOST_YR:
        return f"over {_MOST_YR:g}"
    return f"under {_LEAST_YR:g}" if years < _LEAST_YR else significant(years, 2)


def storm_form(storms: tuple[LargeStorm, ...]) -> list[dict[str, Any]]:
    """Turn the largest storms into plain values for JSON.

    Parameters
    ----------
    storms : tuple of LargeStorm
        The storms.

    Returns
    -------
    list of dict
        One per storm; a return period beyond the table is null.
    """
    return [
        {
            "begin": str(storm.begin),
            "end": str(storm.end),
            "duration_h": numbers(storm.duration_h),
            "depth_mm": numbers(storm.depth_mm),
            "rarest_duration_h": float(storm.duration_h[storm.rarest]),
            "return_period_yr": None if storm.period is None else _finite(storm.period.median_yr),
            "return_period_low_yr": None if storm.period is None else _finite(storm.period.low_yr),
            "return_period_high_yr": (
                None if storm.period is None else _finite(storm.period.high_yr)
            ),
            "beside_gap": storm.beside_gap,
        }
        for storm in storms
    ]


def _finite(years: float) -> float | None:
    return round(years, 3) if math.isfinite(years) and years > 0 else None
