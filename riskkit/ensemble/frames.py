"""Values of an answer as columns of a DataFrame, each with its unit in its name."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import fields
from typing import Any

from riskkit.ensemble.quantiles import FloorDepth, Outcome, Points

__all__ = ["columns_of"]

_UNITS = ("_m3_s", "_per_hour", "_mm", "_m", "_s", "_h", "_yr")


def columns_of(record: Any) -> dict[str, float]:
    """Turn the numbers of a record into columns; arrays and courses over time are left out.

    Parameters
    ----------
    record : dataclass
        Its fields are numbers, outcomes, and depths by hours.

    Returns
    -------
    dict of str to float
        A value for each column. An outcome becomes ``_low``, ``_median`` and ``_high``: the 10 %,
        50 % and 90 % points. A time in seconds becomes minutes, in the draws in which it comes to
        an end, beside ``_never_share``; its points are NaN where it never does. Each name ends in
        its unit [any].

    Examples
    --------
    >>> from dataclasses import dataclass
    >>> @dataclass
    ... class Storm:
    ...     depth_mm: float
    ...     worst_s: Outcome
    >>> time = Outcome(600.0, float("inf"), float("inf"), 0.6, Points(540.0, 600.0, 720.0))
    >>> columns = columns_of(Storm(80.0, time))
    >>> columns["depth_mm"], columns["worst_never_share"], columns["worst_median_min"]
    (80.0, 0.6, 10.0)
    """
    found: dict[str, float] = {}
    for item in fields(record):
        value = getattr(record, item.name)
        if isinstance(value, int | float):
            found[item.name] = value
        elif isinstance(value, Outcome):
            found |= _outcome(item.name, value)
        elif isinstance(value, Mapping):
            for hours, depth in value.items():
                if isinstance(depth, FloorDepth):
                    found |= _depth(f"{item.name.removesuffix('_m')}_{hours:g}_h", depth)
    return found


def _outcome(name: str, value: Outcome) -> dict[str, float]:
    stem, unit = _parted(name)
    if unit != "_s":
        return _points(stem, unit, value)
    return {f"{stem}_never_share": value.never_share} | _points(stem, "_min", value.if_ever, 1 / 60)


def _depth(stem: str, depth: FloorDepth) -> dict[str, float]:
    return {f"{stem}_share": depth.share} | _points(stem, "_m", depth.if_any)


def _points(stem: str, unit: str, points: Points | None, factor: float = 1.0) -> dict[str, float]:
    low, median, high = (
        (float("nan"),) * 3 if points is None else (points.low, points.middle, points.high)
    )
    named = {"low": low, "median": median, "high": high}
    return {f"{stem}_{name}{unit}": factor * value for name, value in named.items()}


def _parted(name: str) -> tuple[str, str]:
    """Part a name into what it is and its unit."""
    unit = next((unit for unit in _UNITS if name.endswith(unit)), "")
    return name.removesuffix(unit), unit
