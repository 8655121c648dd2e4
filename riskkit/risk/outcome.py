"""The spread of an answer: a middle, a likely range, and the share of 'never'."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np

from riskkit.records import FloatArray

__all__ = ["FloorDepth", "Outcome", "Points", "floor_depth", "outcome"]


@dataclass(frozen=True)
class Points:
    """Three points of a spread.

    Parameters
    ----------
    low, middle, high : float
        The 10 %, 50 % and 90 % points: eight in ten lie between low and high [any].
    """

    low: float
    middle: float
    high: float


@dataclass(frozen=True)
class Outcome(Points):
    """What many draws say about one number; infinite stands for 'never'.

    The points of all draws never get better with a greater storm, but they jump to infinity where
    'never' passes a tenth, a half or nine tenths. Those of the finite draws move smoothly over the
    whole range of that share, and with it they say the same: how likely, and if so, how much.

    Parameters
    ----------
    low, middle, high : float
        The 10 %, 50 % and 90 % points of all draws, with 'never' as the largest of all values
        [any].
    never_share : float
        Share of the draws that are infinite [-].
    if_ever : Points, optional
        The points of the finite draws alone; None where there is none [any].
    """

    never_share: float = 0.0
    if_ever: Points | None = None

    def __post_init__(self) -> None:
        if self.never_share == 0.0 and self.if_ever is None:
            object.__setattr__(self, "if_ever", Points(self.low, self.middle, self.high))


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
    >>> found.low, found.middle, found.high, found.never_share
    (1.0, 2.0, inf, 0.25)
    >>> found.if_ever
    Points(low=1.0, middle=2.0, high=3.0)
    """
    finite = draws[np.isfinite(draws)]
    return Outcome(
        *_points(draws),
        never_share=float(np.isinf(draws).mean()),
        if_ever=Points(*_points(finite)) if finite.size else None,
    )


@dataclass(frozen=True)
class FloorDepth:
    """How deep water stands on the floor, in the draws in which it does.

    Parameters
    ----------
    share : float
        Share of the draws with water on the floor [-].
    if_any : Points, optional
        Its depth in those; None where there is none [m].
    """

    share: float
    if_any: Points | None


def floor_depth(depth_m: FloatArray) -> FloorDepth:
    """Summarise depths on the floor: how often there is any, and how much then.

    Parameters
    ----------
    depth_m : (n_draws,) array
        Depths; 0 for none [m].

    Returns
    -------
    FloorDepth
        The share with any, and the points of those.

    References
    ----------
    arithmetic : order statistics

    Examples
    --------
    >>> floor_depth(np.array([0.0, 0.0, 0.0, 0.01, 0.02, 0.03, 0.04, 0.05]))
    FloorDepth(share=0.625, if_any=Points(low=0.01, middle=0.03, high=0.05))
    """
    wet = depth_m[depth_m > 0]
    return FloorDepth(wet.size / depth_m.size, Points(*_points(wet)) if wet.size else None)


def _points(draws: FloatArray) -> tuple[float, float, float]:
    ordered = np.sort(draws)
    at = [max(int(np.ceil(share * ordered.size)) - 1, 0) for share in (0.1, 0.5, 0.9)]
    low, middle, high = (float(ordered[i]) for i in at)
    return low, middle, high
