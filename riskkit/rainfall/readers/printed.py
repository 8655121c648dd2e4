"""A table of depths as printed: durations, return periods, cells and what their rounding hides."""

from __future__ import annotations

import re
from collections.abc import Mapping, Sequence
from dataclasses import dataclass

import numpy as np

from riskkit.errors import InputError
from riskkit.quantities.text import brief
from riskkit.quantities.units import parse_quantity
from riskkit.rainfall.envelope import ENVELOPE_RANGE_H, world_envelope_mm
from riskkit.records import DepthDurationFrequency, FloatArray, Series

__all__ = ["Grid", "build_table", "hours_of", "printed_grid", "series_of", "years_of"]

_SERIES = {"annual maximum": Series.ANNUAL_MAXIMUM, "partial duration": Series.PARTIAL_DURATION}
# beyond what any agency prints
_MOST_YEARS = 1e6
_LONGEST_H, _SHORTEST_H = 366 * 24.0, 1 / 60
_INCH_MM = 25.4
_MOST_RAIN = 5.0  # times the most that the world has seen


@dataclass(frozen=True)
class Grid:
    """A table as printed.

    Parameters
    ----------
    duration_h : (n_durations,) array
        Durations [h].
    period_yr : (n_periods,) array
        Return periods [yr].
    value : (n_durations, n_periods) array
        Depths or intensities as printed [any].
    half_digit : (n_durations, n_periods) array
        Half a last digit of each [any].
    lines : tuple of int
        Line of the file of each row [-].
    """

    duration_h: FloatArray
    period_yr: FloatArray
    value: FloatArray
    half_digit: FloatArray
    lines: tuple[int, ...]


def series_of(text: str, where: str) -> Series:
    """Tell what a return period counts.

    Parameters
    ----------
    text : str
        What the table says; empty where it says nothing.
    where : str
        Which table, for messages.

    Returns
    -------
    Series
        The series.

    Raises
    ------
    InputError
        Where it is neither.
    """
    for words, series in _SERIES.items():
        if words in text.lower().replace("-", " "):
            return series
    raise InputError(
        where,
        f"the series is {brief(text)!r}" if text else "the series is not stated",
        'it is "partial duration" or "annual maximum"',
    )


def years_of(text: str, where: str, what: str = "a return period") -> float:
    """Read years from ``10`` or, as a yearly chance, ``1/10``.

    Parameters
    ----------
    text : str
        The text.
    where : str
        Where it stands, for messages.
    what : str
        What it should be, for messages.

    Returns
    -------
    float
        Years [yr].

    Raises
    ------
    InputError
        Where it is no such number.
    """
    match = re.fullmatch(r"(?:1/)?(\d+(?:\.\d+)?)", text)
    if not match or not 0 < float(match[1]) <= _MOST_YEARS:
        raise InputError(where, f"{text[:20]!r} is not {what}", "write years, such as 10")
    return float(match[1])


def printed_grid(
    names: Sequence[str],
    periods: Sequence[float],
    cells: Sequence[Sequence[str]],
    lines: Sequence[int],
    where: str,
) -> Grid:
    """Turn the printed cells into numbers, and check the shape.

    Parameters
    ----------
    names : sequence of str
        Duration of each row.
    periods : sequence of float
        Return period of each column [yr].
    cells : sequence of sequence of str
        The cells, a row per duration.
    lines : sequence of int
        Line of the file of each row [-].
    where : str
        Which table, for messages.

    Returns
    -------
    Grid
        The table.

    Raises
    ------
    InputError
        Where a cell is no depth, or durations or return periods do not increase.
    """
    if len(names) < 2 or len(periods) < 2:
        raise InputError(
            where, f"the table has {len(names)} durations and {len(periods)} return periods",
            "two of each are needed",
        )  # fmt: skip
    value = np.empty((len(names), len(periods)))
    half = np.empty_like(value)
    hours = np.empty(len(names))
    for row, (name, texts, line) in enumerate(zip(names, cells, lines, strict=True)):
        here = f"{where}, line {line}"
        hours[row] = hours_of(name, here)
        if len(texts) != len(periods):
            raise InputError(
                here, f"the row has {len(texts)} depths for {len(periods)} return periods"
            )
        for column, text in enumerate(texts):
            if not re.fullmatch(r"\d+\.?\d*|\.\d+", text):
                raise InputError(here, f"{text[:30]!r} is not a depth", "write it like 2.57")
            value[row, column] = float(text)
            half[row, column] = 0.5 * 10.0 ** -len(text.partition(".")[2])
            if value[row, column] <= 0:
                raise InputError(here, "a depth is zero", "leave the whole duration out")
    if np.any(np.diff(hours) <= 0) or np.any(np.diff(periods) <= 0):
        raise InputError(where, "durations or return periods do not increase", "put them in order")
    return Grid(hours, np.array(periods), value, half, tuple(lines))


def hours_of(text: str, where: str) -> float:
    """Read hours from ``5-min``, ``2-hr``, ``24 h``, ``2-day``.

    Parameters
    ----------
    text : str
        The duration.
    where : str
        Where it stands, for messages.

    Returns
    -------
    float
        Hours [h].

    Raises
    ------
    InputError
        Where it is no duration of 1 min to 366 days.
    """
    match = re.fullmatch(r"(\d+(?:\.\d+)?|\.\d+)[\s-]*([A-Za-z]+)", text.strip())
    if not match:
        raise InputError(where, f"{text[:30]!r} is not a duration", "write it like 30 min or 24 h")
    word = {"hr": "h", "hrs": "h", "days": "day", "mins": "min"}.get(match[2], match[2])
    hours = parse_quantity(f"{match[1]} {word}", "s", where) / 3600
    if not _SHORTEST_H * (1 - 1e-9) <= hours <= _LONGEST_H:
        raise InputError(where, f"a duration of {text[:30]} is outside 1 min to 366 days")
    return hours


def build_table(
    grids: Mapping[str, Grid],
    mm: float,
    is_rate: bool,
    series: Series,
    where: str,
    *,
    source: str,
    years: float | None = None,
) -> DepthDurationFrequency:
    """Put depths and limits together, in mm, monotone, with notes on what was done.

    Parameters
    ----------
    grids : mapping of str to Grid
        ``depth``, and ``lower`` and ``upper`` where there are limits.
    mm : float
        Depth of one unit [mm].
    is_rate : bool
        True where the cells are intensities.
    series : Series
        What a return period counts.
    where : str
        Which table, for messages.
    source : str
        Where it is from.
    years : float, optional
        Years of record that it rests on [yr].

    Returns
    -------
    DepthDurationFrequency
        The table.

    Raises
    ------
    InputError
        Where its parts do not go together, or a depth cannot be.
    """
    main = grids["depth"]
    if series is Series.ANNUAL_MAXIMUM and main.period_yr[0] <= 1:
        raise InputError(
            where,
            f"annual maxima have no return period of {main.period_yr[0]:g} years",
            "it is above one, or the series is a partial duration",
        )
    notes: list[str] = []
    limits: dict[str, FloatArray] = {}
    depth = main.value
    for name, grid in grids.items():
        if grid.value.shape != main.value.shape or np.any(grid.period_yr != main.period_yr):
            raise InputError(where, f"the {name} limits have other durations or return periods")
        if np.any(grid.duration_h != main.duration_h):
            raise InputError(where, f"the {name} limits have other durations")
        scale = mm * (grid.duration_h[:, None] if is_rate else 1.0)
        _need_possible(grid, scale, where)
        value, n_raised = _monotone(grid, scale, mm, where)
        if n_raised:
            notes.append(f"{n_raised} cells of the {name} table were raised within their rounding.")
        if name == "depth":
            depth = value
        else:
            limits[name] = value
    if len(limits) == 1:
        raise InputError(where, "only one of the two limits is given", "give both or none")
    if limits and not np.all((limits["lower"] <= depth) & (depth <= limits["upper"])):
        raise InputError(where, "a depth lies outside its own limits")
    if is_rate:
        worst = float(np.max(main.half_digit / main.value))
        notes.append(
            "Depths are printed intensities times the duration; their rounding is up to "
            f"{worst:.0%}, so the agency's depth table is better."
        )
    return DepthDurationFrequency(
        main.duration_h, main.period_yr, depth, series,
        lower_mm=limits.get("lower"), upper_mm=limits.get("upper"),
        years=years, source=source, notes=tuple(notes),
    )  # fmt: skip


def _need_possible(grid: Grid, scale: FloatArray | float, where: str) -> None:
    """Refuse depths that no rain has, before anything is worked out with them."""
    _, longest = ENVELOPE_RANGE_H
    hours = grid.duration_h[:, None]
    seen = world_envelope_mm(np.clip(hours, *ENVELOPE_RANGE_H)) * np.maximum(hours / longest, 1.0)
    for row, column in np.argwhere(grid.value > _MOST_RAIN * seen / scale):
        raise InputError(
            f"{where}, line {grid.lines[row]}",
            f"the {grid.period_yr[column]:g}-year depth is {grid.value[row, column]:.4g}, far more "
            "than the world has seen",
            "look at the unit, or for a wrong cell",
        )


def _monotone(
    grid: Grid, scale: FloatArray | float, mm: float, where: str
) -> tuple[FloatArray, int]:
    """Raise cells that fall short of a shorter or commoner storm by no more than rounding."""
    depth_mm, half_digit_mm = grid.value * scale, grid.half_digit * scale
    unit, in_unit = ("in", mm) if mm == _INCH_MM else ("mm", 1.0)  # as the table is printed
    raised = np.maximum.accumulate(np.maximum.accumulate(depth_mm, axis=0), axis=1)
    short = raised - depth_mm
    # two printed cells can each differ from the truth by half a digit
    other = np.maximum.accumulate(np.maximum.accumulate(half_digit_mm, axis=0), axis=1)
    wrong = np.argwhere(short > (half_digit_mm + other) * (1 + 1e-9))
    for row, column in wrong:
        raise InputError(
            f"{where}, line {grid.lines[row]}",
            f"the {grid.period_yr[column]:g}-year depth is "
            f"{short[row, column] / in_unit:.3g} {unit} less than "
            "that of a shorter or commoner storm",
            "look for a wrong cell",
        )
    return raised, int(np.count_nonzero(short > 0))
