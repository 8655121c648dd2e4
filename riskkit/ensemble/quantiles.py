"""The spread of an answer: a middle, a likely range, and the share of 'never'."""

from __future__ import annotations

import math
from dataclasses import dataclass, field

import numpy as np

from riskkit.records import FloatArray

__all__ = [
    "ChanceOfDraws",
    "FloorDepth",
    "MeanRange",
    "Outcome",
    "Points",
    "chance_of_draws",
    "floor_depth",
    "mean_range",
    "outcome",
    "share_between",
]

_Z975 = 1.959964  # standard normal score of 97.5 %


@dataclass(frozen=True)
class Points:
    """The 10 %, 50 % and 90 % points of a distribution.

    Parameters
    ----------
    low, median, high : float
        The 10 %, 50 % and 90 % points: eight in ten lie between low and high [any].
    """

    low: float
    median: float
    high: float


@dataclass(frozen=True)
class MeanRange:
    """A mean over draws and the range in which eight in ten of them lie.

    Parameters
    ----------
    low, mean, high : float
        The 10 % point, the mean and the 90 % point [any].
    """

    low: float
    mean: float
    high: float


def mean_range(per_draw: FloatArray) -> MeanRange:
    """Return the mean of some draws and their range.

    Parameters
    ----------
    per_draw : (n_draws,) array
        A number for each draw [any].

    Returns
    -------
    MeanRange
        With the points of `outcome`.

    References
    ----------
    arithmetic : mean and order statistics

    Examples
    --------
    >>> mean_range(np.array([1.0, 2.0, 6.0]))
    MeanRange(low=1.0, mean=3.0, high=6.0)
    """
    points = outcome(per_draw)
    return MeanRange(points.low, float(per_draw.mean()), points.high)


@dataclass(frozen=True, repr=False)
class Outcome(Points):
    """Distribution of one number over the draws; infinite stands for 'never'.

    The points of all draws never get better with a larger storm, but they jump to infinity where
    'never' passes a tenth, a half or nine tenths. Those of the finite draws move smoothly over the
    whole range of that share, and with it they say the same: how likely, and if so, how much.

    Parameters
    ----------
    low, median, high : float
        The 10 %, 50 % and 90 % points of all draws, with 'never' as the largest of all values
        [any].
    never_share : float
        Share of the draws that are infinite [-].
    if_ever : Points, optional
        The points of the finite draws alone; None where there is none [any].
    n_draws : int
        How many draws they are: a share of few can claim less [-].
    """

    never_share: float = 0.0
    if_ever: Points | None = None
    n_draws: int = field(kw_only=True)

    def __repr__(self) -> str:
        points = ", ".join(f"{n} {getattr(self, n):.4g}" for n in ("low", "median", "high"))
        never = "" if self.never_share == 0.0 else f", never {self.never_share:.0%}"
        return f"Outcome({points}{never}, {self.n_draws} draws)"

    def __post_init__(self) -> None:
        if self.never_share == 0.0 and self.if_ever is None:
            object.__setattr__(self, "if_ever", Points(self.low, self.median, self.high))


def outcome(draws: FloatArray) -> Outcome:
    """Summarise draws, with 'never' as the largest of all values.

    The points are the smallest draws that at least 10, 50 and 90 % of the draws do not exceed, so
    no value is mixed with an infinite one.

    Parameters
    ----------
    draws : (n_draws,) array
        Draws; infinite for never [any].

    Returns
    -------
    Outcome
        Middle, likely range and share of never, in the unit of the draws [any].

    References
    ----------
    arithmetic : order statistics

    Examples
    --------
    >>> found = outcome(np.array([1.0, 2.0, 3.0, np.inf]))
    >>> found.low, found.median, found.high, found.never_share
    (1.0, 2.0, inf, 0.25)
    >>> found.if_ever
    Points(low=1.0, median=2.0, high=3.0)
    """
    finite = draws[np.isfinite(draws)]
    return Outcome(
        *_points(draws),
        never_share=float(np.isinf(draws).mean()),
        if_ever=Points(*_points(finite)) if finite.size else None,
        n_draws=draws.size,
    )


@dataclass(frozen=True)
class FloorDepth:
    """Depth of water on the floor: in all draws, and in those with water.

    The points of all draws never fall with a larger storm. Those of the wet draws may, for the
    draws that a larger storm adds are wet by little.

    Parameters
    ----------
    share : float
        Share of the draws with water on the floor [-].
    if_any : Points, optional
        Its depth in those; None where there is none [m].
    of_all : Points
        Its depth in all draws, 0 where there is none [m].
    n_draws : int
        How many draws they are [-].
    """

    share: float
    if_any: Points | None
    of_all: Points
    n_draws: int = field(kw_only=True, repr=False)


def floor_depth(depth_m: FloatArray) -> FloorDepth:
    """Summarise depths on the floor: how often there is any, and how much then.

    Parameters
    ----------
    depth_m : (n_draws,) array
        Depths; 0 for none [m].

    Returns
    -------
    FloorDepth
        The share with any, the points of those and of all.

    References
    ----------
    arithmetic : order statistics

    Examples
    --------
    >>> found = floor_depth(np.array([0.0, 0.0, 0.0, 0.01, 0.02, 0.03, 0.04, 0.05]))
    >>> found.share, found.if_any, found.of_all
    (0.625, Points(low=0.01, median=0.03, high=0.05), Points(low=0.0, median=0.01, high=0.05))
    """
    wet = depth_m[depth_m > 0]
    return FloorDepth(
        share=wet.size / depth_m.size,
        if_any=Points(*_points(wet)) if wet.size else None,
        of_all=Points(*_points(depth_m)),
        n_draws=depth_m.size,
    )


def _points(draws: FloatArray) -> tuple[float, float, float]:
    ordered = np.sort(draws)
    at = [max(int(np.ceil(share * ordered.size)) - 1, 0) for share in (0.1, 0.5, 0.9)]
    low, median, high = (float(ordered[i]) for i in at)
    return low, median, high


@dataclass(frozen=True)
class ChanceOfDraws:
    """Between what two figures of an outcome would lie with other draws, 19 times in 20.

    Parameters
    ----------
    median : tuple of float
        Least and greatest of the middle; infinite for never [any].
    never_share : tuple of float
        Least and greatest share of 'never' [-].
    """

    median: tuple[float, float]
    never_share: tuple[float, float]


def chance_of_draws(draws: FloatArray) -> ChanceOfDraws:
    """Tell how far chance may move what draws say.

    The middle lies between the draws of rank n/2 -+ 0.98 sqrt(n), whatever their distribution; the
    share within Wilson's score interval. Both are those of independent draws. The draws of a Sobol
    sequence are spread more evenly, so the true error is smaller.

    Parameters
    ----------
    draws : (n_draws,) array
        Draws; infinite for never [any].

    Returns
    -------
    ChanceOfDraws
        95 % intervals.

    References
    ----------
    arithmetic : binomial distribution of the rank of the median
    wilson1927 : interval of a share, see `share_between`

    Examples
    --------
    >>> found = chance_of_draws(np.r_[np.arange(90.0), np.full(10, np.inf)])
    >>> found.median, [round(share, 3) for share in found.never_share]
    ((39.0, 59.0), [0.055, 0.174])
    """
    ordered = np.sort(draws)
    n = ordered.size
    reach = _Z975 * np.sqrt(n) / 2
    low, high = max(int(n / 2 - reach) - 1, 0), min(int(np.ceil(n / 2 + reach)) - 1, n - 1)
    never = share_between(float(np.isinf(draws).mean()), n)
    return ChanceOfDraws((float(ordered[low]), float(ordered[high])), never)


def share_between(share: float, n_draws: int) -> tuple[float, float]:
    """Tell between what a share of the draws would lie with other draws, 19 times in 20.

    Parameters
    ----------
    share : float
        Share of the draws, 0 to 1 [-].
    n_draws : int
        How many draws [-].

    Returns
    -------
    tuple of float
        Least and greatest [-].

    References
    ----------
    wilson1927 : score interval

    Examples
    --------
    >>> [round(end, 3) for end in share_between(0.1, 100)]
    [0.055, 0.174]
    """
    wide = _Z975**2 / n_draws
    centre = (share + wide / 2) / (1 + wide)
    error = _Z975 * math.sqrt(share * (1 - share) / n_draws + wide / (4 * n_draws)) / (1 + wide)
    return max(centre - error, 0.0), min(centre + error, 1.0)
