"""Calls that wait for a crew: first come, first served, whoever is free goes."""

from __future__ import annotations

import heapq
import math

import numpy as np

from riskkit.errors import InputError
from riskkit.records import FloatArray, need

__all__ = ["crews_for", "need_in_time", "waits_h"]

_MOST_CREWS = 10_000


def waits_h(calls_h: FloatArray, work_h: FloatArray, crews: int) -> FloatArray:
    """How long each call waits until a crew sets out.

    Parameters
    ----------
    calls_h : (n_calls,) array
        Moments of the calls, not falling [h].
    work_h : (n_calls,) array
        How long a crew is taken up by each [h].
    crews : int
        How many there are [-].

    Returns
    -------
    (n_calls,) array
        Waits [h].

    Raises
    ------
    RangeError
        Where there is no crew, or the calls are not in order.

    References
    ----------
    kiefer_wolfowitz1955 : the recursion of the workload of many servers
    """
    need(crews >= 1, "crews", f"{crews} are none", "give at least one")
    need(bool(np.all(np.diff(calls_h) >= 0)), "calls", "they are not in order of time")
    free = [-math.inf] * crews  # when each crew is free again
    found = np.empty(len(calls_h))
    for i, (call, work) in enumerate(zip(calls_h.tolist(), work_h.tolist(), strict=True)):
        begins = max(call, free[0])
        heapq.heapreplace(free, begins + work)
        found[i] = begins - call
    return found


def need_in_time(within_h: float, share: float = 0.9) -> None:
    """Refuse a time in which, or a share of the calls for which, no crew can set out.

    Parameters
    ----------
    within_h : float
        Time from the call until a crew sets out [h].
    share : float
        Of the calls [-].

    Raises
    ------
    InputError
        Where the time or the share cannot be.
    """
    if not 0 <= within_h < math.inf:
        raise InputError("time from a call", f"{within_h:g} h cannot be", "such as 2")
    if not 0 < share <= 1:
        right = "give a share above 0 and up to 1, such as 0.9"
        raise InputError("share of the calls", f"{share:g} cannot be", right)


def crews_for(
    nights: list[tuple[FloatArray, FloatArray]], within_h: float, share: float = 0.9
) -> int:
    """Fewest crews with which so many calls of all nights are answered in time.

    Parameters
    ----------
    nights : list of pairs of arrays
        Moments of the calls of each night, and how long a crew is taken up by each [h].
    within_h : float
        Time from the call until a crew sets out [h].
    share : float
        Of the calls [-].

    Returns
    -------
    int
        Crews; 0 where nobody calls [-].

    Raises
    ------
    InputError
        Where the time or the share cannot be.

    References
    ----------
    kiefer_wolfowitz1955 : the recursion of the workload of many servers
    """
    need_in_time(within_h, share)
    total = sum(calls.size for calls, _ in nights)
    if total == 0:
        return 0

    def enough(crews: int) -> bool:
        in_time = sum(
            int(np.count_nonzero(waits_h(calls, work, crews) <= within_h)) for calls, work in nights
        )
        return in_time >= share * total

    low, high = 0, 1  # too few, and perhaps enough
    while not enough(high):
        low, high = high, 2 * high
        if high > _MOST_CREWS:
            raise InputError("crews", "not even ten thousand are enough", "give more time")
    while high - low > 1:
        middle = (low + high) // 2
        low, high = (low, middle) if enough(middle) else (middle, high)
    return high
