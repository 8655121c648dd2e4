"""The spread of an answer: a middle, a likely range, and the share of 'never'."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np

from riskkit.records import FloatArray

__all__ = ["Outcome", "outcome"]


@dataclass(frozen=True)
class Outcome:
    """What many draws say about one number; infinite stands for 'never'.

    Parameters
    ----------
    low, middle, high : float
        The 10 %, 50 % and 90 % points: eight draws in ten lie between low and high [any].
    never_share : float
        Share of the draws that are infinite [-].
    """

    low: float
    middle: float
    high: float
    never_share: float = 0.0


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
    >>> outcome(np.array([1.0, 2.0, 3.0, np.inf]))
    Outcome(low=1.0, middle=2.0, high=inf, never_share=0.25)
    """
    ordered = np.sort(draws)
    at = [max(int(np.ceil(share * ordered.size)) - 1, 0) for share in (0.1, 0.5, 0.9)]
    low, middle, high = (float(ordered[i]) for i in at)
    return Outcome(low, middle, high, float(np.isinf(draws).mean()))
