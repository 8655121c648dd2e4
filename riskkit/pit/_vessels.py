"""Closed forms of two joined vessels: the ground beside the footing, and the pit.

Within a leg both free areas and all flows but the one between the vessels are constant, so both
levels have the form

    h(t) = c0 + c1 t + c2 exp(-rate t)

Below the invert of the drain the outside vessel drains freely and does not feel the pit; above it
the flow between the two is conductance times the difference of their levels, either way.

The public side, with units, equations and checks, is in `vessels`.
"""

from __future__ import annotations

import math

from riskkit.compiled import compiled
from riskkit.pit._bands import OPTIONS

# Levels closer than this are one level: rounding must not take a course out of its band
_LEVEL_M = 1e-11

__all__ = ["free_course", "joined_course", "leaves_at", "let_in", "stays"]


@compiled(**OPTIONS)
def free_course(
    inside: float, outside: float, a_in: float, a_out: float, q_in: float, q_out: float,
    conductance: float, invert: float,
) -> tuple[float, float, float, float, float, float, float]:  # fmt: skip
    """Return rate and the coefficients of both levels while the drain flows freely into the pit."""
    rate = conductance / a_out
    rest = invert + q_out / conductance
    e2 = outside - rest
    c1 = (q_in + q_out) / a_in
    c2 = -a_out * e2 / a_in
    return rate, inside - c2, c1, c2, rest, 0.0, e2


@compiled(**OPTIONS)
def joined_course(
    inside: float, outside: float, a_in: float, a_out: float, q_in: float, q_out: float,
    conductance: float,
) -> tuple[float, float, float, float, float, float, float]:  # fmt: skip
    """Return rate and the coefficients of both levels while the drain is under water."""
    area = a_in + a_out
    rate = conductance * area / (a_in * a_out)
    # water of both vessels over their whole area, and the difference of the levels
    mean = (a_in * inside + a_out * outside) / area
    c1 = (q_in + q_out) / area
    apart = (q_out / a_out - q_in / a_in) / rate
    left = outside - inside - apart
    share_in, share_out = a_in / area, a_out / area
    return (
        rate,
        mean - share_out * apart, c1, -share_out * left,
        mean + share_in * apart, c1, share_in * left,
    )  # fmt: skip


@compiled(**OPTIONS)
def _root(c0: float, c1: float, c2: float, rate: float, level: float, a: float, b: float) -> float:
    """Return when a course that is monotone from a to b passes a level that lies between its ends.

    Newton, kept inside the bracket by bisection.
    """
    fa = c0 + c1 * a + c2 * math.exp(-rate * a) - level
    rising = fa < 0.0
    low, high = a, b
    fb = c0 + c1 * b + c2 * math.exp(-rate * b) - level
    t = a - fa * (b - a) / (fb - fa) if fb != fa else b
    for _ in range(60):
        e = c2 * math.exp(-rate * t)
        f = c0 + c1 * t + e - level
        if (f < 0.0) == rising:
            low = t
        else:
            high = t
        slope = c1 - rate * e
        new = t - f / slope if slope != 0.0 else 0.5 * (low + high)
        if not low <= new <= high:
            new = 0.5 * (low + high)
        if abs(new - t) <= 1e-9 * (1.0 + t):
            return new
        t = new
    return t


@compiled(**OPTIONS)
def stays(
    c1: float, c2: float, rate: float, decay: float, end: float, low: float, high: float
) -> bool:
    """Tell whether a course surely stays between two levels, given where it ends.

    `decay` is exp(-rate time). A course turns at most once, where exp(rate t) = rate c2 / c1.
    """
    if not low <= end <= high:
        return False
    turn = rate * c2 / c1 if c1 != 0.0 else 0.0
    return not turn * 1.0000001 > 1.0 or turn * decay >= 1.0


@compiled(**OPTIONS)
def leaves_at(
    c0: float, c1: float, c2: float, rate: float, low: float, high: float, time: float
) -> tuple[float, int]:
    """Return when a level that starts between two others first leaves them, and by which side.

    The side is 1 for the upper, -1 for the lower, 0 where it stays between them for all the time.
    A start at one of the two, or beyond it by rounding, counts as between them.
    """
    turn = time
    if c1 * c2 > 0.0 and rate > 0.0:
        at = math.log(rate * c2 / c1) / rate
        if 0.0 < at < time:
            turn = at
    begin = 0.0
    for piece in range(2):
        end = turn if piece == 0 else time
        if end <= begin:
            continue
        f = c0 + c1 * end + c2 * math.exp(-rate * end)
        if f > high + _LEVEL_M:
            return _root(c0, c1, c2, rate, high, begin, end), 1
        if f < low - _LEVEL_M:
            return _root(c0, c1, c2, rate, low, begin, end), -1
        begin = end
    return time, 0


@compiled(**OPTIONS)
def let_in(
    head: float, end: float, step: float, joint: float, missing: float
) -> tuple[float, float]:
    """Return the water that the joint lets in while the head over it rises in a line from `head` to
    `end`, which is above the floor, and when in the step as much as is missing has come."""
    dry = step * head / (head - end) if head < 0.0 else 0.0
    first = joint * max(head, 0.0)
    more = (joint * end - first) / (step - dry)
    volume = (step - dry) * (first + joint * end) / 2.0
    if volume < missing:
        return volume, math.inf
    return volume, dry + 2.0 * missing / (first + math.sqrt(first * first + 2.0 * more * missing))
