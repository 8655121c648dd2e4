"""Values of an answer as columns of a DataFrame, each with its unit in its name."""

from __future__ import annotations

from collections.abc import Mapping

import numpy as np

from riskkit.ensemble.quantiles import FloorDepth, Outcome, Points
from riskkit.records import FloatArray

__all__ = ["columns_of", "columns_of_draws"]

_UNITS = ("_m3_s", "_m3", "_per_hour", "_mm", "_m", "_s", "_h", "_yr")


def columns_of(values: Mapping[str, float | Outcome | FloorDepth]) -> dict[str, float]:
    """Turn numbers and their spreads into columns.

    Parameters
    ----------
    values : mapping of str
        By name. That of a number or an outcome ends in its unit; that of a depth on the floor does
        not, for shares and metres are told of it [any].

    Returns
    -------
    dict of str to float
        A value for each column. An outcome becomes ``_low``, ``_median`` and ``_high``: the 10 %,
        50 % and 90 % points. A time in seconds becomes minutes, in the draws in which it comes to
        an end, beside ``_never_share``; its points are NaN where it never does. Each name ends in
        its unit [any].

    Examples
    --------
    >>> never, if_ever = float("inf"), Points(540.0, 600.0, 720.0)
    >>> time = Outcome(600.0, never, never, 0.6, if_ever, n_draws=512)
    >>> columns = columns_of({"depth_mm": 80.0, "worst_s": time})
    >>> columns["depth_mm"], columns["worst_never_share"], columns["worst_median_min"]
    (80.0, 0.6, 10.0)
    """
    found: dict[str, float] = {}
    for name, value in values.items():
        if isinstance(value, int | float):
            found[name] = value
        elif isinstance(value, Outcome):
            found |= _outcome(name, value)
        else:
            found |= _depth(name, value)
    return found


def columns_of_draws(
    name: str, draws: FloatArray, *, if_ever: bool = False
) -> dict[str, FloatArray]:
    """Turn many numbers with a spread into columns, a row for each.

    Parameters
    ----------
    name : str
        What they are, ending in its unit.
    draws : (n_draws, n_rows) array
        Draws of each; infinite for never [any].
    if_ever : bool
        Whether only draws that are finite count, as for times they always do.

    Returns
    -------
    dict of str to (n_rows,) array
        Columns named as by `columns_of`: the 10 %, 50 % and 90 % points, of times in minutes and
        beside ``_never_share``; NaN where no draw is finite [any].

    Examples
    --------
    >>> found = columns_of_draws("worst_s", np.array([[60.0, 60.0], [np.inf, 120.0]]))
    >>> found["worst_never_share"].tolist(), found["worst_high_min"].tolist()
    ([0.5, 0.0], [1.0, 2.0])
    """
    stem, unit = _parted(name)
    found: dict[str, FloatArray] = {}
    if unit == "_s":
        found[f"{stem}_never_share"] = np.isinf(draws).mean(axis=0)
    is_time = unit == "_s"
    ordered = np.sort(draws, axis=0) / (60.0 if is_time else 1.0)
    finite = np.isfinite(ordered).sum(axis=0)
    counted = finite if is_time or if_ever else np.full(finite.shape, draws.shape[0])
    columns = np.arange(draws.shape[1])
    for point, share in (("low", 0.1), ("median", 0.5), ("high", 0.9)):
        at = np.maximum(np.ceil(share * counted).astype(np.int64) - 1, 0)
        values = np.where(counted > 0, ordered[at, columns], np.nan)
        found[f"{stem}_{point}{'_min' if is_time else unit}"] = values
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
        (float("nan"),) * 3 if points is None else (points.low, points.median, points.high)
    )
    named = {"low": low, "median": median, "high": high}
    return {f"{stem}_{name}{unit}": factor * value for name, value in named.items()}


def _parted(name: str) -> tuple[str, str]:
    """Part a name into what it is and its unit."""
    unit = next((unit for unit in _UNITS if name.endswith(unit)), "")
    return name.removesuffix(unit), unit
