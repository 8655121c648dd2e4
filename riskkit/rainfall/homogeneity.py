"""Is a record of one piece? A step in its yearly figures, alone or against a neighbour's.

A gauge that was moved, sheltered by growing trees or replaced catches another share of the rain
from then on. A step in the yearly totals may be the climate; a step in their ratio to a neighbour's
totals is the gauge's, or the neighbour's.
"""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np

from riskkit.errors import InputError, RangeError
from riskkit.quantities.variables import counted
from riskkit.rainfall.maxima import annual_maxima, counted_years
from riskkit.records import FloatArray, IntArray, RainRecord, freeze_arrays

__all__ = [
    "DoubleMass",
    "Step",
    "double_mass",
    "maxima_step",
    "pettitt",
    "totals_step",
    "yearly_totals_mm",
]

FEWEST_YEARS = 10  # the approximation of the probability needs some
SAME_SHARE = 1e-3  # two gauges do not agree as closely in every year (judgement)


@dataclass(frozen=True)
class Step:
    """The likeliest step in a series, and whether chance could make it.

    Parameters
    ----------
    statistic : float
        Largest absolute value of Pettitt's U [-].
    p_value : float
        Chance of one as large in a series without a step [-].
    before : int
        How many values come before it [-].
    change : float
        Mean after over mean before, less one [-].
    last_year : int
        The last year before it, 0 where the series has no years [yr].
    """

    statistic: float
    p_value: float
    before: int
    change: float
    last_year: int = 0


@dataclass(frozen=True)
class DoubleMass:
    """Yearly totals of two records added up, over the years that both have.

    Parameters
    ----------
    year : (n_years,) array of int
        The years [yr].
    own_mm, neighbour_mm : (n_years,) array
        Totals added up from the first year on [mm].
    slope : float
        Own rain over the neighbour's, all years [-].
    step : Step
        Step in the yearly ratio.
    """

    year: IntArray
    own_mm: FloatArray
    neighbour_mm: FloatArray
    slope: float
    step: Step

    def __post_init__(self) -> None:
        freeze_arrays(self)


def pettitt(values: FloatArray, years: IntArray | None = None) -> Step:
    r"""Pettitt's test for one step in a series, at a place that is not known.

    .. math:: U_t = \sum_{i \le t} \sum_{j > t} \mathrm{sgn}(x_i - x_j), \quad
              K = \max |U_t|, \quad p \approx 2 \exp\left(\frac{-6 K^2}{n^3 + n^2}\right)

    The approximation is good to 0.01 for p up to 0.5, and is cut at 1.

    Parameters
    ----------
    values : (n,) array
        The series in order of time, at least ten values, none missing [any].
    years : (n,) array of int, optional
        The year of each [yr].

    Returns
    -------
    Step
        The likeliest step.

    Raises
    ------
    RangeError
        Where there are fewer than ten values or one is missing.

    References
    ----------
    pettitt1979 : sections 2 and 3
    """
    x = np.asarray(values, dtype=np.float64)
    n = x.size
    if n < FEWEST_YEARS:
        raise RangeError("test for a step", f"{n} values are too few", "give at least 10")
    if not np.all(np.isfinite(x)):
        raise RangeError("test for a step", "a value is missing")
    u = np.cumsum(np.sign(np.subtract.outer(x, x)).sum(axis=1))[:-1]
    at = int(np.argmax(np.abs(u)))
    k = float(np.abs(u[at]))
    p = min(1.0, 2.0 * float(np.exp(-6.0 * k**2 / (n**3 + n**2))))
    first = float(x[: at + 1].mean())
    change = float(x[at + 1 :].mean()) / first - 1.0 if first else float("nan")
    return Step(k, p, at + 1, change, 0 if years is None else int(years[at]))


def yearly_totals_mm(
    record: RainRecord, min_known_share: float = 0.8
) -> tuple[IntArray, FloatArray]:
    """Totals of the calendar years that count, gaps filled at the year's own mean rate.

    Parameters
    ----------
    record : RainRecord
        The record.
    min_known_share : float
        Share of a year that must be known, 0 to 1 [-].

    Returns
    -------
    years : (n_years,) array of int
        The years [yr].
    total : (n_years,) array
        Their totals [mm].
    """
    years = counted_years(record, min_known_share)
    total = np.add.reduceat(np.nan_to_num(record.depth_mm), years.first)
    return years.year[years.counts], total[years.counts] / years.known_share[years.counts]


def totals_step(record: RainRecord) -> Step | None:
    """Step in the yearly totals.

    Parameters
    ----------
    record : RainRecord
        The record.

    Returns
    -------
    Step or None
        None where fewer than ten years count.

    References
    ----------
    pettitt1979 : test
    """
    if _counted(record) < FEWEST_YEARS:
        return None
    years, total = yearly_totals_mm(record)
    return pettitt(total, years)


def maxima_step(record: RainRecord, duration_h: float = 24.0) -> Step | None:
    """Step in the annual maxima of a duration.

    Parameters
    ----------
    record : RainRecord
        The record.
    duration_h : float
        Duration [h].

    Returns
    -------
    Step or None
        None where fewer than ten years count, or the duration is no multiple.

    References
    ----------
    pettitt1979 : test
    """
    if _counted(record) < FEWEST_YEARS or duration_h * 3600.0 % record.interval_s:
        return None
    maxima = annual_maxima(record, [duration_h])
    return pettitt(maxima.depth_mm[0], maxima.year)


def _counted(record: RainRecord) -> int:
    try:
        return counted_years(record).n_counted
    except RangeError:
        return 0


def double_mass(record: RainRecord, neighbour: RainRecord) -> DoubleMass:
    """Compare a record with a neighbour's, year by year, as on a double-mass curve.

    The curve of the totals added up is straight where both gauges keep their ways; a break in its
    slope is a step in the yearly ratio, which Pettitt's test looks for.

    Parameters
    ----------
    record : RainRecord
        The record.
    neighbour : RainRecord
        A record near by, of any interval.

    Returns
    -------
    DoubleMass
        The two curves and the likeliest break.

    Raises
    ------
    InputError
        Where they share fewer than ten years that count, or are one record twice: the same file, a
        link to it, or a copy.

    References
    ----------
    searcy_hardison1960 : double-mass curve
    pettitt1979 : test of the ratios
    judgement : what is one record twice
    """
    mine, theirs = yearly_totals_mm(record), yearly_totals_mm(neighbour)
    years, i, j = np.intersect1d(mine[0], theirs[0], return_indices=True)
    own, other = mine[1][i], theirs[1][j]
    if own.any() and np.allclose(own, other, rtol=SAME_SHARE, atol=0.0):
        raise InputError(
            "neighbour",
            f"it has the same rain as the record itself in {counted(years.size, 'year', 'years')}",
            "choose the record of another gauge",
        )
    if years.size < FEWEST_YEARS or np.any(other <= 0):
        raise InputError(
            neighbour.name or "neighbour",
            f"it shares {counted(years.size, 'year', 'years')} known well enough with the record",
            "a record that shares ten or more is needed",
        )
    return DoubleMass(
        years,
        np.cumsum(own),
        np.cumsum(other),
        float(own.sum() / other.sum()),
        pettitt(own / other, years),
    )
