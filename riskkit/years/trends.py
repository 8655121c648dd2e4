"""Changes over decades: is there a trend, how large, and what could so short a record show?"""

from __future__ import annotations

import math
from dataclasses import dataclass

import numpy as np
from scipy import stats

from riskkit.records import FloatArray, IntArray
from riskkit.years.records import Replay

__all__ = [
    "LEAST_YEARS",
    "Periods",
    "Trend",
    "mann_kendall_p",
    "periods_of",
    "trend_of",
    "trends_of",
    "yearly",
]

LEAST_YEARS = 10
"""Years below which no trend is looked for."""
_MOST_MISSING = 0.1  # of the hours of a year that counts


@dataclass(frozen=True)
class Trend:
    """A trend of yearly values.

    Parameters
    ----------
    what : str
        Which quantity, a key of `yearly`.
    years : int
        How many years count.
    mean : float
        Their mean [any].
    per_decade : float
        Sen's slope [any].
    low, high : float
        Within which it lies nineteen times in twenty, the years taken as independent [any].
    p_value : float
        How often chance alone shows as much, with care for autocorrelation [-].
    detectable : float
        Change in a decade that a record of this length and scatter would show four times in
        five [any].
    """

    what: str
    years: int
    mean: float
    per_decade: float
    low: float
    high: float
    p_value: float
    detectable: float

    @property
    def is_clear(self) -> bool:
        """Whether chance alone would show as much in less than one record of twenty."""
        return self.p_value < 0.05


def mann_kendall_p(values: FloatArray) -> float:
    """Test for a trend by Mann and Kendall, with care for autocorrelation.

    The variance is enlarged as by Hamed and Rao, for the correlation of the ranks from one year to
    the next, once Sen's slope is taken away. It is never made smaller: correlations that chance
    alone makes negative would call too much a trend. Of forty years of noise one record in twenty
    is called a trend, with a correlation of 0.4 one in nine.

    Parameters
    ----------
    values : (n,) array
        One for each year, in order [any].

    Returns
    -------
    float
        Two-sided p-value [-].

    References
    ----------
    mann1945 : the test
    hamed_rao1998 : variance with autocorrelation
    judgement : first lag only, and never a smaller variance
    """
    n = values.size
    s = float(np.sign(values[None, :] - values[:, None])[np.triu_indices(n, 1)].sum())
    _, ties = np.unique(values, return_counts=True)
    variance = (n * (n - 1) * (2 * n + 5) - (ties * (ties - 1) * (2 * ties + 5)).sum()) / 18.0
    if variance <= 0.0:
        return 1.0
    at = np.arange(n, dtype=np.float64)
    left = stats.rankdata(values - stats.theilslopes(values, at).slope * at)
    left = left - left.mean()
    power = float(left @ left)
    first = float(left[1:] @ left[:-1]) / power if power > 0.0 else 0.0
    if first > stats.norm.ppf(0.975) / math.sqrt(n):  # more than chance makes
        variance *= 1.0 + 2.0 * (n - 3) / n * first
    z = (s - np.sign(s)) / math.sqrt(variance)
    return float(2.0 * stats.norm.sf(abs(z)))


def trend_of(what: str, values: FloatArray, year: IntArray) -> Trend | None:
    """Find the trend of yearly values.

    Parameters
    ----------
    what : str
        What they are.
    values : (n,) array
        One for each year [any].
    year : (n,) array of int
        The years, increasing; some may be missing [yr].

    Returns
    -------
    Trend or None
        None where there are too few years.

    References
    ----------
    sen1968 : slope and its limits
    judgement : what could be shown, from a line through independent years
    """
    if values.size < LEAST_YEARS:
        return None
    found = stats.theilslopes(values, year.astype(np.float64), 0.95)
    left = values - found.slope * year
    spread = float(left.std(ddof=1)) / math.sqrt(float(((year - year.mean()) ** 2).sum()))
    power = stats.norm.ppf(0.975) + stats.norm.ppf(0.8)
    return Trend(
        what=what, years=values.size, mean=float(values.mean()),
        per_decade=10.0 * float(found.slope), low=10.0 * float(found.low_slope),
        high=10.0 * float(found.high_slope), p_value=mann_kendall_p(values),
        detectable=10.0 * float(power) * spread,
    )  # fmt: skip


def yearly(replay: Replay) -> tuple[IntArray, dict[str, FloatArray]]:
    """Add up the calendar years of a replay that are whole and known well enough.

    Parameters
    ----------
    replay : Replay
        The years.

    Returns
    -------
    year : (n,) array of int
        The years [yr].
    values : dict of str to (n,) array
        Rain and melt ``water_mm`` [mm], ``pumped_m3`` [m3] and ``run_h`` [h] of the median draw,
        largest share of the pump's capacity in use ``peak_use`` [-], and storms in which a pump
        dead since the day before means water on the floor, ``dead_floods``, mean of the draws [-].
    """
    year_of_month = replay.month.astype("datetime64[Y]").astype(np.int64) + 1970
    years, counts = np.unique(year_of_month, return_counts=True)
    of_day = replay.day.astype("datetime64[Y]").astype(np.int64) + 1970
    missing = np.array([replay.missing_share[of_day == y].mean() for y in years])
    years = years[(counts == 12) & (missing <= _MOST_MISSING)]
    begins = [np.flatnonzero(year_of_month == y) for y in years]
    months = replay.by_month

    def median(values: FloatArray) -> FloatArray:
        return np.array([np.median(values[:, at].sum(axis=1)) for at in begins])

    begun = np.array([storm.start for storm in replay.record_storms], dtype="datetime64[Y]")
    of_storm = begun.astype(np.int64) + 1970
    dead = np.isfinite(replay.outcomes.dead_alarm_to_floor_s).mean(axis=0)
    water = replay.rain_mm + replay.melt_mm
    return years, {
        "water_mm": np.array([water[of_day == y].sum() for y in years]),
        "pumped_m3": median(months.pumped_m3),
        "run_h": median(months.run_h),
        "peak_use": np.array([np.median(months.peak_use[:, at].max(axis=1)) for at in begins]),
        "dead_floods": np.array([dead[of_storm == y].sum() for y in years]),
    }


def trends_of(replay: Replay) -> tuple[Trend, ...]:
    """Find the trends of the years of a replay; none where they are too few.

    Parameters
    ----------
    replay : Replay
        The years.

    Returns
    -------
    tuple of Trend
        One for each quantity of `yearly`.
    """
    years, values = yearly(replay)
    found = (trend_of(what, of_years, years) for what, of_years in values.items())
    return tuple(trend for trend in found if trend is not None)


@dataclass(frozen=True)
class Periods:
    """A quantity in two spans of years.

    Parameters
    ----------
    what : str
        Which quantity, a key of `yearly`.
    first, last : tuple of int
        First and last year of both spans [yr].
    means : tuple of float
        Mean of both [any].
    p_value : float
        How often chance alone sets two such spans as far apart [-].
    """

    what: str
    first: tuple[int, int]
    last: tuple[int, int]
    means: tuple[float, float]
    p_value: float


def periods_of(replay: Replay, parted_at: int | None = None) -> tuple[Periods, ...]:
    """Compare the years before and from a year on.

    Parameters
    ----------
    replay : Replay
        The years.
    parted_at : int, optional
        First year of the second span; the middle one where it is left out [yr].

    Returns
    -------
    tuple of Periods
        One for each quantity of `yearly`; none where a span has fewer than five years.

    References
    ----------
    mann_whitney1947 : test of two samples
    """
    years, values = yearly(replay)
    if not years.size:
        return ()
    at = parted_at if parted_at is not None else int(years[years.size // 2])
    early = years < at
    if min(early.sum(), (~early).sum()) < LEAST_YEARS // 2:
        return ()
    spans = [(int(years[part][0]), int(years[part][-1])) for part in (early, ~early)]
    return tuple(
        Periods(
            what, spans[0], spans[1], (float(v[early].mean()), float(v[~early].mean())),
            float(stats.mannwhitneyu(v[early], v[~early]).pvalue),
        )
        for what, v in values.items()
    )  # fmt: skip
