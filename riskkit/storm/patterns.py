"""How the rain of a design storm spreads over its duration."""

from __future__ import annotations

from enum import Enum
from functools import cache

import numpy as np

from riskkit.errors import RangeError
from riskkit.records import FloatArray, IntArray
from riskkit.tables import load_table

__all__ = ["Pattern", "alternating_block_mm", "block_places", "mass_curve"]


class Pattern(Enum):
    """Time pattern of a design storm."""

    ALTERNATING_BLOCK = "alternating block"
    UNIFORM = "uniform"
    NRCS_I = "NRCS type I"
    NRCS_IA = "NRCS type IA"
    NRCS_II = "NRCS type II"
    NRCS_III = "NRCS type III"
    HUFF_1 = "Huff first quartile"
    HUFF_2 = "Huff second quartile"
    HUFF_3 = "Huff third quartile"
    HUFF_4 = "Huff fourth quartile"

    @property
    def is_nrcs(self) -> bool:
        """Whether it is defined for 24 hours only."""
        return self in _CURVES and _CURVES[self][:2] == _NRCS


# where the printed ordinates stand: table, column of the time, column of the depth
_NRCS, _HUFF = ("storm_patterns", "time_h"), ("huff", "time")
_CURVES = {
    Pattern.NRCS_I: (*_NRCS, "type_i"),
    Pattern.NRCS_IA: (*_NRCS, "type_ia"),
    Pattern.NRCS_II: (*_NRCS, "type_ii"),
    Pattern.NRCS_III: (*_NRCS, "type_iii"),
    Pattern.HUFF_1: (*_HUFF, "quartile_1"),
    Pattern.HUFF_2: (*_HUFF, "quartile_2"),
    Pattern.HUFF_3: (*_HUFF, "quartile_3"),
    Pattern.HUFF_4: (*_HUFF, "quartile_4"),
}


@cache
def _ordinates(pattern: Pattern) -> tuple[FloatArray, FloatArray]:
    """Share of the duration and share of the depth, both from 0 to 1."""
    name, time, column = _CURVES[pattern]
    table = load_table(name)
    x, y = np.array(table.column(time)), np.array(table.column(column))
    return x / x[-1], y / y[-1]


def mass_curve(pattern: Pattern, time_share: FloatArray) -> FloatArray:
    """Share of the storm's depth that has fallen by a share of its duration.

    The printed ordinates joined by a monotone cubic (Fritsch and Carlson), which passes through
    every one of them, never falls, and does not spread a peak evenly over half an hour.

    Parameters
    ----------
    pattern : Pattern
        Uniform, an NRCS type or a Huff quartile.
    time_share : (n,) array
        Share of the duration, 0 to 1 [-].

    Returns
    -------
    (n,) array
        Share of the depth, 0 to 1 [-].

    Raises
    ------
    RangeError
        Where a time share is outside 0 to 1, or the pattern is the alternating block, which has no
        curve of its own.

    References
    ----------
    hds2 : Table 6.5
    chow1988 : ordinates at 9.75 and 11.75 h
    huff1990 : median curves at a point
    fritsch1980 : monotone cubic
    """
    share = np.asarray(time_share, dtype=np.float64)
    if np.any((share < -1e-12) | (share > 1 + 1e-12)):
        raise RangeError("storm pattern", "a share of the duration is outside 0 to 1")
    if pattern is Pattern.ALTERNATING_BLOCK:
        raise RangeError("storm pattern", "the alternating block has no mass curve of its own")
    share = np.clip(share, 0.0, 1.0)
    if pattern is Pattern.UNIFORM:
        return share
    from scipy.interpolate import PchipInterpolator

    return np.asarray(PchipInterpolator(*_ordinates(pattern))(share), dtype=np.float64)


def alternating_block_mm(depth_mm: FloatArray) -> FloatArray:
    """Storm whose worst 1, 2, 3 … steps hold the depths of 1, 2, 3 … steps' duration.

    The differences of the depths, largest in the middle, the next to its right, the next to its
    left, and so on. Where the depth curve is concave, as it should be, the worst k steps together
    hold the depth of that duration exactly; where it is not, the sorted blocks hold a little more.

    Parameters
    ----------
    depth_mm : (n_steps,) array
        Depth of the duration of 1, 2, … n steps, not falling [mm].

    Returns
    -------
    (n_steps,) array
        Rain in each step; it sums to the last depth [mm].

    Raises
    ------
    RangeError
        Where the depths fall with duration.

    References
    ----------
    chow1988 : section 14.4, alternating block method
    hds2 : Example 6.6
    """
    blocks = np.diff(np.asarray(depth_mm, dtype=np.float64), prepend=0.0)
    if np.any(blocks < -1e-9):
        raise RangeError("storm", "a longer duration has less rain than a shorter one")
    blocks = np.sort(np.maximum(blocks, 0.0))[::-1]
    storm = np.empty(blocks.size)
    storm[block_places(blocks.size)] = blocks
    return storm


def block_places(n_steps: int) -> IntArray:
    """Where the blocks of an alternating storm stand, from the largest to the smallest.

    Parameters
    ----------
    n_steps : int
        Steps of the storm [-].

    Returns
    -------
    (n_steps,) array of int
        Steps: the middle, the next to its right, the next to its left, and so on [-].

    References
    ----------
    chow1988 : section 14.4, alternating block method

    Examples
    --------
    >>> block_places(5).tolist()
    [2, 3, 1, 4, 0]
    """
    order = np.arange(n_steps)
    # 0, +1, -1, +2, -2 … from the middle
    return (n_steps - 1) // 2 + np.where(order % 2 == 1, (order + 1) // 2, -(order // 2))
