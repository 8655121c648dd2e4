"""Distributions told by three points, and such points of many values."""

from __future__ import annotations

from collections.abc import Sequence

import numpy as np
from numpy.typing import NDArray

from riskkit.quantities.quantity import LEAST_SHARE, Basis, Quantity, is_exact
from riskkit.quantities.variables import Shape, Spread

FloatArray = NDArray[np.float64]

__all__ = [
    "Z95",
    "known_sd",
    "known_spread",
    "mixture",
    "rank_correlation",
    "spread_at",
    "weighted_quantiles",
]

Z95 = 1.6448536269514722  # standard normal score of 95 %
_POINTS = (0.05, 0.5, 0.95)
_ROUGH = 2.0  # times the spread of a value as given, where it is told as "about" (judgement)


def _to_scale(value: FloatArray, scale: str) -> FloatArray:
    if scale == "log":
        return np.log(value)
    if scale == "logit":
        inside = np.clip(value, LEAST_SHARE, 1 - LEAST_SHARE)
        return np.log(inside / (1 - inside))
    return value


def _from_scale(value: FloatArray, scale: str) -> FloatArray:
    if scale == "log":
        return np.exp(value)
    if scale == "logit":
        return 1 / (1 + np.exp(-value))
    return value


def spread_at(spread: Spread, scale: str, score: FloatArray) -> FloatArray:
    """Return the values of a two-piece normal distribution at standard normal scores.

    On its scale (plain, log or logit) the distribution has the given median, and on either side of
    it the standard deviation that puts the given 5 % and 95 % points where they belong.

    Parameters
    ----------
    spread : Spread
        The 5 %, 50 % and 95 % points [any].
    scale : str
        ``normal``, ``log`` or ``logit``.
    score : (n_draws,) array
        Standard normal scores [-].

    Returns
    -------
    (n_draws,) array
        Values in the unit of the spread [any].

    References
    ----------
    arithmetic : two half normal distributions joined at the median

    Examples
    --------
    >>> spread_at(Spread(10, 20, 40, "", ""), "log", np.array([-Z95, 0, Z95])).round(6)
    array([10., 20., 40.])
    """
    low, middle, high = _to_scale(np.array([spread.p05, spread.p50, spread.p95]), scale)
    sd = np.where(score < 0, middle - low, high - middle) / Z95
    return _from_scale(middle + sd * score, scale)


def known_spread(quantity: Quantity, shape: Shape) -> Spread | None:
    """Return the spread that is left when a value is measured, given, or given as a range.

    Parameters
    ----------
    quantity : Quantity
        The value and how it is known.
    shape : Shape
        What is left of the spread, from ``tables/quantities.csv``.

    Returns
    -------
    Spread or None
        None where the value is exact: a zero, or a share of none or all.

    References
    ----------
    judgement : the standard deviations stand in the table
    """
    if quantity.low is not None and quantity.high is not None:
        low, high = quantity.low, quantity.high
        if shape.scale == "log":
            low = max(low, 1e-3 * high)  # a range from zero has no logarithm
        ends = _to_scale(np.array([low, high]), shape.scale)
        middle = float(_from_scale(np.array(ends.mean()), shape.scale))
        return Spread(low, middle, high, "the range given", "arithmetic")
    value, sd = quantity.value, known_sd(quantity, shape)
    if is_exact(value, shape):
        return None
    if shape.kind == "logit":
        ends = _to_scale(np.array(value), "logit") + np.array([-1, 1]) * Z95 * sd
        ends = _from_scale(ends, "logit")
    elif shape.scale == "log":
        ends = value * np.exp(np.array([-1, 1]) * Z95 * sd)
    else:
        ends = value + np.array([-1, 1]) * Z95 * (
            sd * abs(value) if shape.kind == "relative" else sd
        )
    return Spread(float(ends[0]), value, float(ends[1]), quantity.basis.value, "judgement")


def known_sd(quantity: Quantity, shape: Shape) -> float:
    """Return the standard deviation left when a value is measured, given, or told roughly.

    Parameters
    ----------
    quantity : Quantity
        The value and how it is known; no range.
    shape : Shape
        What is left of the spread, from ``tables/quantities.csv``.

    Returns
    -------
    float
        On the scale of the shape [any].

    References
    ----------
    judgement : the standard deviations stand in the table
    """
    sd = shape.measured if quantity.basis is Basis.MEASURED else shape.given
    return sd * _ROUGH if quantity.is_rough else sd


def weighted_quantiles(values: FloatArray, weights: FloatArray) -> tuple[float, float, float]:
    """Return the 5, 50 and 95 % points of weighted values, each at the middle of its weight.

    Parameters
    ----------
    values : (n,) array
        The values [any].
    weights : (n,) array
        Their weights [-].

    Returns
    -------
    tuple of float
        The three points [any].

    References
    ----------
    arithmetic : quantiles
    """
    order = np.argsort(values, kind="stable")
    ordered, weight = values[order], weights[order]
    middle = (np.cumsum(weight) - weight / 2) / weight.sum()
    low, mid, high = np.interp(_POINTS, middle, ordered)
    return float(low), float(mid), float(high)


_SCORES = np.linspace(-3.0, 3.0, 121)


def mixture(weights: FloatArray, spreads: Sequence[Spread], scale: str) -> Spread:
    """Return the spread of something that has one of several spreads.

    Parameters
    ----------
    weights : (n_spreads,) array
        How likely each is [-].
    spreads : sequence of Spread
        One or more, of which the first lends its words.
    scale : str
        On which they are taken.

    Returns
    -------
    Spread
        Its points.
    """
    if len(spreads) == 1:
        return spreads[0]
    density = np.exp(-(_SCORES**2) / 2)
    values = np.concatenate([spread_at(spread, scale, _SCORES) for spread in spreads])
    points = weighted_quantiles(values, np.outer(weights, density).ravel())
    return Spread(*points, spreads[0].words, spreads[0].source)


def rank_correlation(one: FloatArray, other: FloatArray) -> float:
    """Return how closely two lists of values go together in their order (Spearman).

    It stands here because importing ``scipy.stats`` takes half as long as an answer.

    Parameters
    ----------
    one, other : (n,) array
        Values, infinite ones too; not all of a list are the same [any].

    Returns
    -------
    float
        From -1 to 1; equal values share the mean of their ranks [-].

    References
    ----------
    arithmetic : correlation of the ranks

    Examples
    --------
    >>> round(rank_correlation(np.array([1.0, 2.0, 2.0, 9.0]), np.array([5.0, 6.0, 7.0, 8.0])), 4)
    0.9487
    """
    return float(np.corrcoef(_twice_ranks(one), _twice_ranks(other))[0, 1])


def _twice_ranks(values: FloatArray) -> NDArray[np.int64]:
    ordered = np.sort(values)
    first, past = np.searchsorted(ordered, values), np.searchsorted(ordered, values, "right")
    return np.asarray(first + past, dtype=np.int64)
