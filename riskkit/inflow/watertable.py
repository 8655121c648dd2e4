"""The water table through the days: recharge into a reservoir that drains to its base.

::

    recharge ──> water table ──> drains towards the base, dh/dt = (base + c r - h) / T
                     └─────────> never above the top: ground, ditch or drain that takes the rest

r is what drains below the roots, less what plants draw up from the ground water in dry soil.
"""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
from numpy.typing import ArrayLike

from riskkit.errors import RangeError
from riskkit.inflow import _days
from riskkit.records import FloatArray, IntArray

__all__ = [
    "WaterTable",
    "WaterTableFit",
    "explained_share",
    "fit_water_table",
    "net_recharge_mm",
    "season_levels",
    "water_table_m",
]

_MANY = 60  # levels from which uptake and top are fitted too
_USUAL_UPTAKE = 0.5  # where too few levels tell
_PREDICTS = 0.25  # share of the variance below which a fit tells of no season
_CLEARLY = 0.9  # of the squares left without a top, which a top has to undercut
_WITHOUT_UPTAKE, _WITH_UPTAKE, _WITH_TOP = 3, 4, 5  # numbers that are fitted
_TIMES_DAY = (20.0, 90.0, 300.0)  # where the search begins
_LEAST_DAY, _MOST_DAY = 1.0, 3000.0


@dataclass(frozen=True)
class WaterTable:
    """How the water table of a place answers to recharge.

    Parameters
    ----------
    base_m : float
        Level to which it drains without recharge [m].
    rise_m_d_mm : float
        Level above the base under a steady recharge of 1 mm a day [m day/mm].
    time_day : float
        Time in which the distance from where it would settle falls to a third (1/e) [day].
    uptake_share : float
        Share of what plants lack that they draw from the ground water [-].
    top_m : float
        Level that it never passes [m].
    """

    base_m: float
    rise_m_d_mm: float
    time_day: float
    uptake_share: float
    top_m: float

    @property
    def pore_share(self) -> float:
        """Share of the ground that fills and empties: time over rise; tells if a fit can be."""
        return self.time_day / (1000.0 * self.rise_m_d_mm) if self.rise_m_d_mm > 0 else float("inf")


@dataclass(frozen=True)
class WaterTableFit:
    """A water table fitted to measured levels, and how well it predicts them.

    Parameters
    ----------
    table : WaterTable
        Fitted to all levels.
    n_levels : int
        Days with a level [-].
    explained : float
        Share of the variance that it explains where it was fitted [-].
    predicted : float
        The same for each half of the levels when fitted to the other half alone [-].
    error_m : float
        Root mean square of what is left then [m].
    """

    table: WaterTable
    n_levels: int
    explained: float
    predicted: float
    error_m: float

    @property
    def tells(self) -> bool:
        """Whether it predicts a quarter of the variance or more; a lesser one is of no use."""
        return self.predicted >= _PREDICTS


def net_recharge_mm(
    recharge_mm: ArrayLike, unmet_mm: ArrayLike, uptake_share: ArrayLike
) -> FloatArray:
    """Water that the ground water gains on a day: r = drainage - u (demand - used).

    Parameters
    ----------
    recharge_mm : (n_days,) array
        Water that drains below the roots [mm].
    unmet_mm : (n_days,) array
        What plants would use and the soil cannot give [mm].
    uptake_share : float or (n_draws,) array
        Share u of it that comes from the ground water, 0 to 1 [-].

    Returns
    -------
    (n_draws, n_days) array
        Gain, below zero where plants draw more [mm].

    References
    ----------
    judgement : roots near a shallow water table draw from it what the soil lacks
    """
    share = np.atleast_1d(np.asarray(uptake_share, float))[:, None]
    return np.asarray(np.asarray(recharge_mm, float) - share * np.asarray(unmet_mm, float))


def water_table_m(
    net_mm: ArrayLike,
    time_day: ArrayLike,
    rise_m_d_mm: ArrayLike,
    base_m: ArrayLike,
    top_m: ArrayLike = np.inf,
) -> FloatArray:
    """Follow the water table day by day, exactly for a recharge that is steady within the day.

    h(t + 1) = g + (h(t) - g) exp(-1 day / T) with g = base + rise r, and never above the top. It is
    the reservoir of De Zeeuw and Hellinga, whose reaction factor is 1/T.

    Parameters
    ----------
    net_mm : (n_days,) or (n_draws, n_days) array
        Recharge of each day, see `net_recharge_mm` [mm].
    time_day : float or (n_draws,) array
        Time constant T, above zero [day].
    rise_m_d_mm : float or (n_draws,) array
        Level above the base under a steady recharge of 1 mm a day, not negative [m day/mm].
    base_m : float or (n_draws,) array
        Level without recharge [m].
    top_m : float or (n_draws,) array
        Level that it never passes [m].

    Returns
    -------
    (n_draws, n_days) array
        Level at the end of each day; it begins where the recharge of the first year holds it [m].

    Raises
    ------
    RangeError
        Where a time is not above zero, a rise is negative, or a recharge is missing.

    References
    ----------
    zeeuw_hellinga1958 : reservoir with a reaction factor
    """
    net = np.atleast_2d(np.asarray(net_mm, float))
    values = (np.atleast_1d(np.asarray(v, float)) for v in (time_day, rise_m_d_mm, base_m, top_m))
    time, rise, base, top = np.broadcast_arrays(*values)
    if not (np.all(time > 0) and np.all(rise >= 0)):
        raise RangeError("time_day, rise_m_d_mm", "a time is not above zero, or a rise is negative")
    if not np.all(np.isfinite(net)):
        raise RangeError("net_mm", "the recharge of a day is missing")
    n_draws = max(time.size, net.shape[0])
    net = np.ascontiguousarray(np.broadcast_to(net, (n_draws, net.shape[1])))
    kept, rise, base, top = (
        np.array(np.broadcast_to(v, n_draws)) for v in (np.exp(-1.0 / time), rise, base, top)
    )
    level = np.empty(net.shape)
    _days.reservoir_loop(net, kept, rise, base, top, level)
    return level


def explained_share(seen_m: ArrayLike, modelled_m: ArrayLike) -> float:
    """Share of the variance of levels that a model explains: 1 - sum (o - m)^2 / sum (o - mean)^2.

    Parameters
    ----------
    seen_m : (n,) array
        Measured levels [m].
    modelled_m : (n,) array
        Modelled ones of the same days [m].

    Returns
    -------
    float
        1 is perfect; below 0 the mean of the levels would serve better [-].

    References
    ----------
    nash_sutcliffe1970 : efficiency
    """
    seen, modelled = np.asarray(seen_m, float), np.asarray(modelled_m, float)
    return float(1.0 - np.sum((seen - modelled) ** 2) / np.sum((seen - seen.mean()) ** 2))


def fit_water_table(
    recharge_mm: FloatArray, unmet_mm: FloatArray, day: IntArray, level_m: FloatArray
) -> WaterTableFit:
    """Fit a water table to measured levels, and tell how well it predicts what it has not seen.

    Least squares from several beginnings. The levels are parted in time into two halves; each is
    predicted by the fit to the other, and what is left is the error. Fewer than 60 levels do not
    tell a top or the share that plants draw; a top is kept where it takes away a tenth of the
    squares that are left without one.

    Parameters
    ----------
    recharge_mm, unmet_mm : (n_days,) array
        Water that drains below the roots, and what plants lack, on each day [mm].
    day : (n_levels,) array of int
        Day of each level, counted from the first of these days [day].
    level_m : (n_levels,) array
        Levels, at least four, and not all the same in either half [m].

    Returns
    -------
    WaterTableFit
        The fit to all, and its error.

    Raises
    ------
    RangeError
        Where there are fewer than four levels, or those of a half are all the same.

    References
    ----------
    zeeuw_hellinga1958 : the reservoir
    judgement : how many levels tell how much; fitted to one half and compared with the other
    """
    half = level_m.size // 2
    early, late = slice(0, half), slice(half, None)
    if level_m.size < 4 or not min(np.ptp(level_m[early]), np.ptp(level_m[late])) > 0:
        raise RangeError(
            "level_m", "there are fewer than four levels, or those of a half are all the same"
        )

    def modelled(table: WaterTable) -> FloatArray:
        net = net_recharge_mm(recharge_mm, unmet_mm, table.uptake_share)
        level = water_table_m(net, table.time_day, table.rise_m_d_mm, table.base_m, table.top_m)
        return np.asarray(level[0, day])

    def best(part: slice) -> WaterTable:
        return _least_squares(recharge_mm, unmet_mm, day[part], level_m[part])

    predicted = np.concatenate([modelled(best(late))[early], modelled(best(early))[late]])
    table = best(slice(None))
    return WaterTableFit(
        table,
        level_m.size,
        explained=explained_share(level_m, modelled(table)),
        predicted=explained_share(level_m, predicted),
        error_m=float(np.sqrt(np.mean((level_m - predicted) ** 2))),
    )


def _least_squares(
    recharge_mm: FloatArray, unmet_mm: FloatArray, day: IntArray, level_m: FloatArray
) -> WaterTable:
    """Search from several times; a top is kept only where the levels clearly ask for one."""
    from scipy.optimize import least_squares

    low, high = float(level_m.min()), float(level_m.max())
    last = int(day.max()) + 1  # later days do not matter

    def table_of(x: FloatArray) -> WaterTable:
        base, rise, time, uptake, top = (*map(float, x), _USUAL_UPTAKE, float("inf"))[:5]
        if x.size == _WITH_UPTAKE:
            top = float("inf")
        return WaterTable(base, float(np.exp(rise)), float(np.exp(time)), uptake, top)

    def left(x: FloatArray) -> FloatArray:
        t = table_of(x)
        net = net_recharge_mm(recharge_mm[:last], unmet_mm[:last], t.uptake_share)
        level = water_table_m(net, t.time_day, t.rise_m_d_mm, t.base_m, t.top_m)
        return np.asarray(level[0, day] - level_m)

    span = high - low
    least = [low - 20 * span, np.log(1e-4), np.log(_LEAST_DAY), 0.0, low]
    most = [high, np.log(1e2), np.log(_MOST_DAY), 1.0, high]

    def search(n: int) -> tuple[float, WaterTable]:
        found = []
        for time in _TIMES_DAY:
            start = [low, np.log(0.5), np.log(time), _USUAL_UPTAKE, high - 0.1 * span]
            ends = (least[:n], most[:n])
            found.append(least_squares(left, np.array(start[:n]), bounds=ends))
        best = min(found, key=lambda one: float(one.cost))
        return float(best.cost), table_of(best.x)

    if level_m.size < _MANY:
        return search(_WITHOUT_UPTAKE)[1]
    (free_cost, free), (cost, topped) = search(_WITH_UPTAKE), search(_WITH_TOP)
    return topped if cost < _CLEARLY * free_cost else free


def season_levels(
    level_m: FloatArray, month: IntArray, year: IntArray, months: tuple[int, ...], *, highest: bool
) -> FloatArray:
    """Return the usual highest or lowest level of a season: the mean over the years that have it.

    Parameters
    ----------
    level_m : (n_draws, n_days) array
        Levels [any].
    month, year : (n_days,) array of int
        Of each day [-].
    months : tuple of int
        Months of the season, within one year [-].
    highest : bool
        Take the highest of each year, else the lowest.

    Returns
    -------
    (n_draws,) array
        The level, as the levels given [any].

    Raises
    ------
    RangeError
        Where no year has most days of the season.

    References
    ----------
    arithmetic : mean of yearly extremes
    """
    inside = np.isin(month, months)
    of_year = []
    for one in np.unique(year[inside]):
        days = inside & (year == one)
        if days.sum() >= 28 * len(months):
            part = level_m[:, days]
            of_year.append(part.max(axis=1) if highest else part.min(axis=1))
    if not of_year:
        raise RangeError("months", "no year of the record has the whole season")
    return np.asarray(np.mean(of_year, axis=0))
