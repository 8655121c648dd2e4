"""Rain as storms at random, each a cluster of rectangular cells: the Bartlett-Lewis process.

Two kinds of storm, steady and thunder, whose numbers change with the month, fall on each other.
Storms begin at random; a storm lasts a random time; cells begin at random while it lasts, the first
with it; each cell rains at its own constant rate for its own time; a storm has a factor that
multiplies all its cells, so that some are weak and a few are violent. The process runs in
continuous time; a gauge reads it at equal steps and counts in tips.

The numbers of a place come from `riskkit.storm.fit`; those of the invented demo town from
`riskkit.storm.synthetic`. Both are run by the same `simulate`.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from math import gamma

import numpy as np

from riskkit.errors import InputError
from riskkit.records import FloatArray, IntArray, RainRecord, freeze_arrays, need

__all__ = [
    "StormKind",
    "StormSeasons",
    "exponential",
    "fallen_mm",
    "normal",
    "read_by_gauge",
    "simulate",
]

MONTHS = 12
_STREAMS = 8  # of random draws, see _fallen_of_kind_mm


@dataclass(frozen=True)
class StormKind:
    """One kind of storm through the year.

    Parameters
    ----------
    count : (12,) array
        Mean number of storms that begin in each month [-].
    storm_h : (12,) array
        Mean time in which a storm begins new cells [h].
    cell_rate_per_h : (12,) array
        Cells that begin per hour of it, besides the first [1/h].
    cell_h : (12,) array
        Mean length of a cell [h].
    intensity_mm_h : (12,) array
        Mean intensity of a cell [mm/h].
    weibull_shape : float
        Shape of the intensity from cell to cell; 1 is exponential, below it the tail is heavy [-].
    storm_sigma : float
        Standard deviation of the logarithm of a storm's factor, whose mean is one [-].
    """

    count: FloatArray
    storm_h: FloatArray
    cell_rate_per_h: FloatArray
    cell_h: FloatArray
    intensity_mm_h: FloatArray
    weibull_shape: float
    storm_sigma: float

    def __post_init__(self) -> None:
        freeze_arrays(self)
        for name in ("count", "storm_h", "cell_rate_per_h", "cell_h", "intensity_mm_h"):
            value = getattr(self, name)
            need(value.shape == (MONTHS,), "storms", f"{name} is not one number per month")
            least = value > 0 if name in ("storm_h", "cell_h", "cell_rate_per_h") else value >= 0
            need(bool(np.all(least & np.isfinite(value))), "storms", f"{name} is out of range")
        need(self.weibull_shape > 0, "storms", "the shape of the cells is not positive")
        need(self.storm_sigma >= 0, "storms", "the spread of the storms is negative")


@dataclass(frozen=True)
class StormSeasons:
    """The storms of a place, month by month: all that `simulate` needs.

    Parameters
    ----------
    steady, thunder : StormKind
        The two kinds of storm that fall on each other.
    gauge_mm : float
        Step in which the gauge counts [mm].
    name : str
        The place or record.
    """

    steady: StormKind
    thunder: StormKind
    gauge_mm: float
    name: str = ""

    def __post_init__(self) -> None:
        need(self.gauge_mm > 0, "storms", "the step of the gauge is not positive")

    @property
    def kinds(self) -> tuple[StormKind, StormKind]:
        """Both kinds, in the order in which they are drawn."""
        return self.steady, self.thunder


def simulate(
    seasons: StormSeasons,
    n_years: int,
    start_year: int,
    rng: np.random.Generator,
    step_s: int = 3600,
) -> RainRecord:
    """Generate a rain record of whole calendar years.

    Parameters
    ----------
    seasons : StormSeasons
        The storms of the place.
    n_years : int
        Number of years, 1 or more [yr].
    start_year : int
        The first of them [yr].
    rng : numpy.random.Generator
        Source of the random draws.
    step_s : int
        Step of the record, a whole part of an hour [s]. The same draws give the same rain, whatever
        the step. Cells are of one intensity, so within the hour the rain is too even: with storms
        fitted to hours, 5-minute peaks come out at about half of published ratios.

    Returns
    -------
    RainRecord
        Depths as the gauge counts them [mm], without gaps.

    Raises
    ------
    InputError
        Where there is no whole year, or steps do not fill an hour.

    References
    ----------
    rodriguez_iturbe1987 : section 4, Bartlett-Lewis rectangular pulses
    cowpertwait2004 : two kinds on each other
    """
    fallen = fallen_mm(seasons, n_years, start_year, rng, step_s)
    return RainRecord(
        read_by_gauge(fallen, seasons.gauge_mm),
        np.datetime64(f"{start_year:04d}-01-01T00:00:00"),
        step_s,
        seasons.name,
    )


def fallen_mm(
    seasons: StormSeasons,
    n_years: int,
    start_year: int,
    rng: np.random.Generator,
    step_s: int = 3600,
    *,
    apart: bool = False,
) -> FloatArray:
    """Depth fallen from the first moment to the end of each step, before any gauge.

    Parameters
    ----------
    seasons : StormSeasons
        The storms of the place.
    n_years : int
        Number of years, 1 or more [yr].
    start_year : int
        The first of them [yr].
    rng : numpy.random.Generator
        Source of the random draws.
    step_s : int
        Step, a whole part of an hour [s].
    apart : bool
        Draw each quantity from a stream of its own, so that storms which differ little give rain
        that differs little; in one stream a single storm more changes all that comes after it.

    Returns
    -------
    (n_steps + 1,) array
        Depth, from 0 [mm].

    Raises
    ------
    InputError
        Where there is no whole year, or steps do not fill an hour.

    References
    ----------
    rodriguez_iturbe1987 : section 4, Bartlett-Lewis rectangular pulses
    """
    if n_years < 1:
        raise InputError("generated record", f"{n_years} years", "give at least 1")
    if not 1 <= start_year <= 9999 - n_years:
        raise InputError("generated record", f"it begins in {start_year} and ends beyond 9999")
    if step_s < 60 or 3600 % step_s:
        raise InputError("generated record", f"steps of {step_s} s do not fill an hour")
    month_start_h = _month_starts_h(n_years, start_year)
    n_steps = int(month_start_h[-1]) * (3600 // step_s)
    hours = np.arange(n_steps + 1.0) * (step_s / 3600.0)
    total = np.zeros(n_steps + 1)
    for kind in seasons.kinds:
        streams = rng.spawn(_STREAMS) if apart else [rng] * _STREAMS
        total += _fallen_of_kind_mm(kind, month_start_h, hours, streams)
    return total


def read_by_gauge(fallen: FloatArray, gauge_mm: float) -> FloatArray:
    """Depth in each step as a gauge counts it that keeps less than a tip for later.

    Parameters
    ----------
    fallen : (n_steps + 1,) array
        Depth fallen by each moment [mm].
    gauge_mm : float
        Depth of a tip [mm].

    Returns
    -------
    (n_steps,) array
        Whole tips [mm].

    References
    ----------
    arithmetic : whole tips
    """
    tips = np.floor(fallen / gauge_mm)
    return np.asarray(np.round(np.diff(tips) * gauge_mm, 4))


def _month_starts_h(n_years: int, start_year: int) -> FloatArray:
    first = np.datetime64(f"{start_year:04d}-01", "M")
    months = first + np.arange(MONTHS * n_years + 1)
    hours = months.astype("datetime64[h]") - first.astype("datetime64[h]")
    return np.asarray(hours.astype(np.int64), dtype=np.float64)


def exponential(rng: np.random.Generator, size: int) -> FloatArray:
    """Draw from the exponential distribution of mean one.

    Parameters
    ----------
    rng : numpy.random.Generator
        Source of the random draws.
    size : int
        How many [-].

    Returns
    -------
    (size,) array
        The draws [-].

    References
    ----------
    arithmetic : inverse of the distribution
    """
    # from uniform draws, which stay the same from one version of numpy to the next
    return np.asarray(-np.log1p(-rng.random(size)))


def normal(rng: np.random.Generator, size: int) -> FloatArray:
    """Draw from the standard normal distribution.

    Parameters
    ----------
    rng : numpy.random.Generator
        Source of the random draws.
    size : int
        How many [-].

    Returns
    -------
    (size,) array
        The draws [-].

    References
    ----------
    arithmetic : inverse of the distribution
    """
    from scipy.special import ndtri

    return np.asarray(ndtri(0.5 + 0.999_999_999 * (rng.random(size) - 0.5)))


def _random_points(total: float, rng: np.random.Generator) -> FloatArray:
    """Points of a Poisson process of rate one between 0 and total."""
    size = int(total + 10.0 * np.sqrt(total) + 20.0)
    points = np.cumsum(exponential(rng, size))
    return np.asarray(points[points < total])


def _fallen_of_kind_mm(
    kind: StormKind,
    month_start_h: FloatArray,
    hours: FloatArray,
    streams: Sequence[np.random.Generator],
) -> FloatArray:
    """Depth of one kind of rain fallen by each hour, from 0."""
    begins, lengths, factors, cells, *of_cells = streams
    # a month's storms are spread evenly over it: points of rate one, stretched month by month
    n_years = (month_start_h.size - 1) // MONTHS
    expected = np.concatenate(([0.0], np.cumsum(np.tile(kind.count, n_years))))
    points = _random_points(float(expected[-1]), begins)
    storm_h = np.interp(points, expected, month_start_h)
    month = (np.searchsorted(month_start_h, storm_h, side="right") - 1) % MONTHS
    length_h = kind.storm_h[month] * exponential(lengths, storm_h.size)
    sigma = kind.storm_sigma
    factor = np.exp(sigma * normal(factors, storm_h.size) - 0.5 * sigma**2)

    owner, begin_h = _cells(storm_h, length_h, kind.cell_rate_per_h[month], cells)
    at = month[owner]
    sizes = storm_h.size, owner.size - storm_h.size  # cells that begin with their storm, and later
    lasting, strength = (
        np.concatenate([exponential(rng, n) for rng, n in zip(pair, sizes, strict=True)])
        for pair in (of_cells[:2], of_cells[2:])
    )
    lasting_h = kind.cell_h[at] * lasting
    shape = kind.weibull_shape
    weibull = strength ** (1.0 / shape) / gamma(1.0 + 1.0 / shape)
    intensity = kind.intensity_mm_h[at] * factor[owner] * weibull
    return _accumulate_mm(begin_h, lasting_h, intensity, hours)


def _cells(
    storm_h: FloatArray, length_h: FloatArray, rate: FloatArray, rng: np.random.Generator
) -> tuple[IntArray, FloatArray]:
    """Which storm each cell belongs to, and when it begins: one with the storm, more at random."""
    ends = np.cumsum(length_h * rate)
    points = _random_points(float(ends[-1]) if ends.size else 0.0, rng)
    owner = np.searchsorted(ends, points, side="right")
    into_h = length_h[owner] - (ends[owner] - points) / rate[owner]
    return (
        np.concatenate((np.arange(storm_h.size), owner)),
        np.concatenate((storm_h, storm_h[owner] + into_h)),
    )


def _accumulate_mm(
    begin_h: FloatArray, lasting_h: FloatArray, intensity_mm_h: FloatArray, hours: FloatArray
) -> FloatArray:
    """Depth fallen from rectangular cells by each hour: the integral of their summed rate."""
    if not begin_h.size:  # a place so dry that no storm came
        return np.zeros_like(hours)
    time = np.concatenate((begin_h, begin_h + lasting_h))
    change = np.concatenate((intensity_mm_h, -intensity_mm_h))
    order = np.argsort(time, kind="stable")
    time = time[order]
    rate = np.maximum(np.cumsum(change[order]), 0.0)
    fallen = np.concatenate(([0.0], np.cumsum(rate[:-1] * np.diff(time))))
    return np.asarray(np.interp(hours, time, fallen, left=0.0))
