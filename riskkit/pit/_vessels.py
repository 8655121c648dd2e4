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

__all__ = [
    "course_shape",
    "falls",
    "leaking_shape",
    "leaves_at",
    "let_in",
    "remains",
    "when_in",
]


@compiled(**OPTIONS)
def falls(x: float) -> float:
    """Return 1 - exp(-x) for x above zero, by its series where that is exact to rounding."""
    if x < 0.05:
        inner = 1 / 24 - x * (1 / 120 - x * (1 / 720 - x * (1 / 5040 - x / 40320)))
        return x * (1.0 - x * (1 / 2 - x * (1 / 6 - x * inner)))
    if x > 40.0:
        return 1.0
    return -math.expm1(-x)


@compiled(**OPTIONS)
def remains(x: float) -> float:
    """Return exp(-x), and nothing where that is far below the rounding of a level."""
    return math.exp(-x) if x < 60.0 else 0.0


@compiled(**OPTIONS)
def course_shape(
    joined: bool, a_in: float, a_out: float, conductance: float
) -> tuple[float, float, float]:
    """Return the rate at which the levels of a leg go to rest, the share of the pit in the area
    that rises together, and one over that area.

    With the drain under water both areas rise together; flowing freely it fills the pit alone.
    """
    if joined:
        area = a_in + a_out
        return conductance * area / (a_in * a_out), a_in / area, 1.0 / area
    return conductance / a_out, 1.0, 1.0 / a_in


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
def leaking_shape(
    joined: bool, under: bool, a_in: float, a_out: float, conductance: float, joint: float,
    q_in: float, q_out: float, flow: float,
) -> tuple[float, float, float]:  # fmt: skip
    """Return how the flow into the pit, by drain and joint, goes to rest from what it is at first:
    its rate, what it comes to, and what is still missing to that.

    The joint lets in by the head over the floor, or over the water on it where that is `under`
    water; so both levels keep the form that they have without it.
    """
    by_out = conductance + joint
    by_in = (conductance if joined else 0.0) + (joint if under else 0.0)
    rate = by_out / a_out + by_in / a_in
    steady = (by_out * q_out / a_out - by_in * q_in / a_in) / rate
    return rate, steady, flow - steady


@compiled(**OPTIONS)
def let_in(w1: float, w2: float, w3: float, rate: float, time: float) -> float:
    """Return the water that the joint has let in, w1 t + w2 t^2 / 2 + w3 (1 - exp(-rate t))."""
    return time * (w1 + 0.5 * w2 * time) + w3 * falls(rate * time)


@compiled(**OPTIONS)
def when_in(w1: float, w2: float, w3: float, rate: float, time: float, volume: float) -> float:
    """Return when the joint has let in a volume that it lets in within the time.

    Newton, kept inside the bracket by bisection; what comes in never falls.
    """
    low, high, t = 0.0, time, 0.5 * time
    for _ in range(100):
        missing = volume - let_in(w1, w2, w3, rate, t)
        if missing > 0.0:
            low = t
        else:
            high = t
        speed = w1 + w2 * t + w3 * rate * math.exp(-rate * t)
        new = t + missing / speed if speed > 0.0 else 0.5 * (low + high)
        if not low <= new <= high:
            new = 0.5 * (low + high)
        if abs(new - t) <= 1e-9 * (1.0 + t):
            return new
        t = new
    return t
