"""Water on the ground, what soil lets through of it, and how a store hands it on."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
from scipy.signal import lfilter

from riskkit.records import FloatArray
from riskkit.records.frozen import freeze_arrays, need

__all__ = ["Soil", "Water", "between", "let_out", "soil_excess_m", "soils_of", "store_outflow"]

_DAY_S, _YEAR_S = 86400.0, 365.25 * 86400.0
_SOIL_MM = (25.0, 50.0, 100.0, 200.0)  # what soil holds between dry and full
_DEMAND_MM_D = (1.0, 2.0, 3.0)  # mean of the year, where temperatures do not tell it
_DEMAND_SHARES = (0.7, 1.0, 1.4)  # of what a lawn uses, where they do
_EASY = 0.5  # share of what soil holds that plants use without stress
_COLDEST_S = 15.0 * _DAY_S  # the middle of January


@dataclass(frozen=True, eq=False)
class Water:
    """Water that reached the ground, in equal steps.

    Parameters
    ----------
    start_s : float
        Begin of the first step, since 1970 [s].
    step_s : float
        Length of a step [s].
    depth_m : (n_steps,) array
        Rain and melt; a gap counts as dry [m].
    is_gap : (n_steps,) array
        1 where some of it is not known, else 0 [-].
    demand_m : (n_steps,) array, optional
        What a lawn uses where water is not scarce; none where temperatures are not known [m].
    """

    start_s: float
    step_s: float
    depth_m: FloatArray
    is_gap: FloatArray
    demand_m: FloatArray | None = None

    def __post_init__(self) -> None:
        freeze_arrays(self)
        need(self.step_s > 0, "rain", "a step has no length")
        need(self.depth_m.shape == self.is_gap.shape, "rain", "gaps do not fit its steps")
        fits = self.demand_m is None or self.demand_m.shape == self.depth_m.shape
        need(fits, "rain", "the demand does not fit its steps")

    @property
    def end_s(self) -> float:
        """End of the last step [s]."""
        return self.start_s + self.step_s * self.depth_m.size

    @property
    def edges_s(self) -> FloatArray:
        """Begin of each step, and the end of the last [s]."""
        steps = np.arange(self.depth_m.size + 1, dtype=np.float64)
        return np.asarray(self.start_s + self.step_s * steps)

    def between(self, begin_s: FloatArray, end_s: FloatArray) -> FloatArray:
        """Return the water that fell between times.

        Parameters
        ----------
        begin_s, end_s : (n,) arrays
            From when to when, since 1970 [s].

        Returns
        -------
        (n,) array
            Depth [m].

        References
        ----------
        arithmetic : even within each step
        """
        return between(self.edges_s, self.depth_m, begin_s, end_s)

    def gap_between(self, begin_s: FloatArray, end_s: FloatArray) -> FloatArray:
        """Return how many steps with a gap lie between times, and all that lies outside.

        Parameters
        ----------
        begin_s, end_s : (n,) arrays
            From when to when, since 1970 [s].

        Returns
        -------
        (n,) array
            Steps [-].
        """
        inside = between(self.edges_s, self.is_gap, begin_s, end_s)
        outside = np.maximum(self.start_s - begin_s, 0) + np.maximum(end_s - self.end_s, 0)
        return np.asarray(inside + outside / self.step_s)


def between(
    edges_s: FloatArray, amount: FloatArray, begin_s: FloatArray, end_s: FloatArray
) -> FloatArray:
    """Add up amounts, each even within its step, between times.

    Parameters
    ----------
    edges_s : (n_steps + 1,) array
        Ends of the steps [s].
    amount : (n_steps,) array
        Amount of each step [any].
    begin_s, end_s : (n,) arrays
        From when to when [s].

    Returns
    -------
    (n,) array
        Sums [any].
    """
    total = np.concatenate([[0.0], np.cumsum(amount)])
    return np.asarray(np.interp(end_s, edges_s, total) - np.interp(begin_s, edges_s, total))


def store_outflow(inflow: FloatArray, step_s: float, time_s: float) -> FloatArray:
    r"""Outflow of a linear reservoir for inflow that is even within each step.

    .. math:: S' = S e^{-\Delta/k} + P \frac{k}{\Delta} (1 - e^{-\Delta/k}), \quad O = S + P - S'

    Parameters
    ----------
    inflow : (n_steps,) array
        What flows in, in each step [any].
    step_s : float
        Length of a step [s].
    time_s : float
        Time constant k [s].

    Returns
    -------
    (n_steps,) array
        What flows out, in each step, of a store that is empty at first [any].

    References
    ----------
    chow1988 : linear reservoir
    """
    held = _held(inflow, step_s, time_s)
    before = np.concatenate([[0.0], held[:-1]])
    return np.asarray(before + inflow - held)


def _held(inflow: FloatArray, step_s: float, time_s: float) -> FloatArray:
    """What a store holds at the end of each step."""
    decay = np.exp(-step_s / time_s)
    stays = time_s / step_s * (1.0 - decay)
    return np.asarray(lfilter([stays], [1.0, -decay], inflow))


def let_out(
    inflow: FloatArray, start_s: float, step_s: float, time_s: float, at_s: FloatArray
) -> FloatArray:
    r"""Return what a linear reservoir has let out up to some times, also within a step.

    .. math:: O(t) = \sum P + P_i \frac{\tau}{\Delta} - S_i e^{-\tau/k}
              - P_i \frac{k}{\Delta} (1 - e^{-\tau/k})

    Parameters
    ----------
    inflow : (n_steps,) array
        What flows in, in each step, even within it [any].
    start_s : float
        Begin of the first step, when the store is empty [s].
    step_s : float
        Length of a step [s].
    time_s : float
        Time constant k [s].
    at_s : (n,) array
        Times; before the first step counts as its begin, after the last as its end [s].

    Returns
    -------
    (n,) array
        Outflow since the first step [any].

    References
    ----------
    chow1988 : linear reservoir
    """
    total = np.concatenate([[0.0], np.cumsum(inflow)])
    held = np.concatenate([[0.0], _held(inflow, step_s, time_s)])
    since = np.clip((at_s - start_s) / step_s, 0.0, inflow.size)
    i = np.minimum(since.astype(np.int64), inflow.size - 1)
    part = since - i
    decay = np.exp(-part * step_s / time_s)
    holds = held[i] * decay + inflow[i] * time_s / step_s * (1.0 - decay)
    return np.asarray(total[i] + inflow[i] * part - holds)


def soil_excess_m(depth_m: FloatArray, demand_m: FloatArray, held_m: FloatArray) -> FloatArray:
    """Return what soils let through: what is more than they hold, plants using the rest.

    Plants use what they want while the soil is half full, and less in proportion below it.

    Parameters
    ----------
    depth_m : (n_steps,) array
        Rain and melt [m].
    demand_m : (n_soils, n_steps) array
        What plants would use [m].
    held_m : (n_soils,) array
        What each soil holds between dry and full; it begins half full [m].

    Returns
    -------
    (n_soils, n_steps) array
        What goes on downwards [m].

    References
    ----------
    fao56 : chapter 8, a root zone that stress begins to dry out when half of its water is used
    """
    out = np.zeros((depth_m.size, held_m.size))
    wants = np.ascontiguousarray(demand_m.T)
    water = held_m / 2.0
    easy = _EASY * held_m
    for i, rain in enumerate(depth_m.tolist()):
        used = np.minimum(water / easy, 1.0) * wants[i]
        full = np.maximum(water + rain - used, 0.0)
        water = np.minimum(full, held_m)
        np.subtract(full, water, out=out[i])
    return np.asarray(out.T)


@dataclass(frozen=True, eq=False)
class Soil:
    """What the soil lets through.

    Parameters
    ----------
    held_m : float
        What it holds between dry and full [m].
    excess_m : (n_steps,) array
        What goes through [m].
    """

    held_m: float
    excess_m: FloatArray

    def __post_init__(self) -> None:
        freeze_arrays(self)


def soils_of(water: Water) -> tuple[Soil, ...]:
    """Return the soils that are tried: some that hold little to much, plants that use more or less.

    Parameters
    ----------
    water : Water
        What fell.

    Returns
    -------
    tuple of Soil
        One for each of them.
    """
    if water.demand_m is None:
        angle = 2.0 * np.pi * (water.edges_s[:-1] - _COLDEST_S) / _YEAR_S
        shape = (1.0 - np.cos(angle)) * 1e-3 * water.step_s / _DAY_S
        wants = [mm * shape for mm in _DEMAND_MM_D]
    else:
        wants = [share * water.demand_m for share in _DEMAND_SHARES]
    held = np.array([mm * 1e-3 for mm in _SOIL_MM for _ in wants])
    excess = soil_excess_m(water.depth_m, np.array(wants * len(_SOIL_MM)), held)
    return tuple(Soil(float(h), e) for h, e in zip(held, excess, strict=True))
