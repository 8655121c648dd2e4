"""Frozen values that the stages hand to each other, checked once, on creation.

::

    RainRecord ──> DepthDurationFrequency ──> Hyetograph ──> PitInflow ──┐
                                                             PitModel  ──┴──> PitRun, FailureRun

Arrays are set read-only. ``n_draws`` is the number of homes (or draws of one home) side by side,
``n_steps`` the number of equal time steps, ``n_bands`` the number of level bands of a pit. Levels
are metres above the basement floor: negative below it, the depth of water on the floor above it.
"""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, field
from enum import Enum
from itertools import pairwise
from types import MappingProxyType

import numpy as np
from numpy.typing import NDArray

from riskkit.quantities.climate import Climate
from riskkit.records.frozen import FloatArray, IntArray, clean_texts, freeze_arrays, need, picked
from riskkit.records.removed import Removed

__all__ = [
    "DepthDurationFrequency",
    "FailureRun",
    "FloatArray",
    "Hyetograph",
    "IntArray",
    "PitInflow",
    "PitModel",
    "PitRun",
    "RainRecord",
    "Series",
    "freeze_arrays",
    "need",
    "picked",
]


class Series(Enum):
    """What a return period counts: years with a larger maximum, or exceedances at all."""

    ANNUAL_MAXIMUM = "annual maximum"
    PARTIAL_DURATION = "partial duration"


@dataclass(frozen=True)
class RainRecord:
    """Rain per equal interval; a gap is NaN, never zero.

    Parameters
    ----------
    depth_mm : (n,) array
        Rain in each interval [mm]; NaN where missing.
    start : numpy.datetime64
        Start of the first interval, to the second, local standard time.
    interval_s : int
        Length of an interval, 60 to 86400 [s].
    name : str
        What the record is called in tables and reports.
    notes : tuple of str
        What the reader saw and repaired, one sentence each.
    is_generated : bool
        Whether its rain never fell, so that its days stand for no day of the past.
    removed : tuple of Removed
        Values that its reader set to missing, in order of time.
    """

    depth_mm: FloatArray
    start: np.datetime64
    interval_s: int
    name: str = ""
    notes: tuple[str, ...] = ()
    is_generated: bool = False
    removed: tuple[Removed, ...] = ()

    def __post_init__(self) -> None:
        freeze_arrays(self)
        clean_texts(self)
        object.__setattr__(self, "start", np.datetime64(str(self.start), "s"))
        need(not np.isnat(self.start), "rain record", "its start is no time")
        need(self.depth_mm.ndim == 1, "rain record", "the depths are not one row of numbers")
        need(self.depth_mm.size > 0, "rain record", "it is empty")
        need(
            60 <= self.interval_s <= 86400,
            "rain record",
            f"an interval of {self.interval_s} s is outside 1 min to 1 day",
        )
        need(not np.any(self.depth_mm < 0), "rain record", "a depth is negative")
        need(not np.any(np.isinf(self.depth_mm)), "rain record", "a depth is infinite")

    @property
    def times(self) -> NDArray[np.datetime64]:
        """Start of every interval."""
        return self.start + np.arange(self.depth_mm.size) * np.timedelta64(self.interval_s, "s")


@dataclass(frozen=True)
class DepthDurationFrequency:
    """Depth of rain by duration and return period.

    Parameters
    ----------
    duration_h : (n_durations,) array
        Durations, increasing [h].
    return_period_yr : (n_periods,) array
        Return periods, increasing [yr].
    depth_mm : (n_durations, n_periods) array
        Depths; they grow with duration and with return period [mm].
    series : Series
        What the return periods count.
    lower_mm : (n_durations, n_periods) array, optional
        5 % limit of the depth [mm].
    upper_mm : (n_durations, n_periods) array, optional
        95 % limit of the depth [mm].
    years : float, optional
        Length of record it rests on [yr]; None where the table does not say.
    source : str
        Where it comes from, in words.
    notes : tuple of str
        Warnings and repairs, one sentence each.
    climate : Climate, optional
        Change of the climate after the years it rests on, for which its depths are.
    ratio_log_sd : (n_durations,) array, optional
        Spread of the published ratios by which a row follows from a longer duration, as standard
        deviation of their logarithm; zero for rows of its own [-]. None where all rows are its own.
    """

    duration_h: FloatArray
    return_period_yr: FloatArray
    depth_mm: FloatArray
    series: Series
    lower_mm: FloatArray | None = None
    upper_mm: FloatArray | None = None
    years: float | None = None
    source: str = ""
    notes: tuple[str, ...] = ()
    climate: Climate | None = None
    ratio_log_sd: FloatArray | None = None

    def __post_init__(self) -> None:
        freeze_arrays(self)
        clean_texts(self)
        where = "rain table"
        finite = map(np.isfinite, (self.duration_h, self.return_period_yr, self.depth_mm))
        need(all(map(np.all, finite)), where, "a number of it is infinite or missing")
        shape = (self.duration_h.size, self.return_period_yr.size)
        need(min(shape) > 1, where, "fewer than two durations or return periods")
        need(self.depth_mm.shape == shape, where, f"depths are {self.depth_mm.shape}, not {shape}")
        need(bool(np.all(np.diff(self.duration_h) > 0)), where, "durations do not increase")
        need(bool(np.all(np.diff(self.return_period_yr) > 0)), where, "periods do not increase")
        need(bool(np.all(self.depth_mm > 0)), where, "a depth is missing, zero or negative")
        need(
            bool(np.all(np.diff(self.depth_mm, axis=0) >= 0)),
            where,
            "a longer duration has less rain than a shorter one",
        )
        need(
            bool(np.all(np.diff(self.depth_mm, axis=1) >= 0)),
            where,
            "a rarer storm has less rain than a commoner one",
        )

    @property
    def origin(self) -> str:
        """Its source, its years, and by how much a changed climate raises it, in words."""
        years = f"{self.years:g} years" if self.years else ""
        change = self.climate.long_words if self.climate else ""
        return ", ".join(part for part in (self.source, years, change) if part)

    def depth_at(self, duration_h: FloatArray | float, return_period_yr: float) -> FloatArray:
        """Depth between the table's durations and return periods, never beyond them.

        Straight lines in log depth over log duration; between return periods straight lines in
        depth over the reduced variate, ln T for partial duration and -ln(-ln(1 - 1/T)) for annual
        maxima. The table's own cells come back as they are, and depth never falls.

        Parameters
        ----------
        duration_h : (n,) array or float
            Durations within the table [h].
        return_period_yr : float
            Return period within the table, of the table's series [yr].

        Returns
        -------
        (n,) array
            Depths [mm].

        Raises
        ------
        RangeError
            Where a duration or the return period lies beyond the table.

        References
        ----------
        chow1988 : section 12.2, reduced variate
        arithmetic : interpolation
        """
        return self._at(self.depth_mm, duration_h, return_period_yr)

    def ratio_log_sd_at(self, duration_h: FloatArray) -> FloatArray:
        """Spread of the ratios by which depths follow from longer ones, between the rows.

        Parameters
        ----------
        duration_h : (n,) array
            Durations within the table [h].

        Returns
        -------
        (n,) array
            Standard deviation of the logarithm of the ratio; zero where none is used [-].

        References
        ----------
        arithmetic : straight lines over the logarithm of the duration
        """
        if self.ratio_log_sd is None:
            return np.zeros(duration_h.size)
        return np.interp(np.log(duration_h), np.log(self.duration_h), self.ratio_log_sd)

    def limits_at(
        self, duration_h: FloatArray | float, return_period_yr: float
    ) -> tuple[FloatArray, FloatArray] | None:
        """5 % and 95 % limits of the depth, interpolated as `depth_at` does.

        Parameters
        ----------
        duration_h : (n,) array or float
            Durations within the table [h].
        return_period_yr : float
            Return period within the table [yr].

        Returns
        -------
        tuple of two (n,) arrays, or None
            Lower and upper limit [mm]; None where the table has none.

        References
        ----------
        arithmetic : interpolation
        """
        if self.lower_mm is None or self.upper_mm is None:
            return None
        lower = self._at(self.lower_mm, duration_h, return_period_yr)
        return lower, self._at(self.upper_mm, duration_h, return_period_yr)

    def _at(
        self, cells_mm: FloatArray, duration_h: FloatArray | float, return_period_yr: float
    ) -> FloatArray:
        asked = np.asarray(duration_h, dtype=np.float64)
        first, last = float(self.duration_h[0]), float(self.duration_h[-1])
        rounding = 1e-9
        need(
            bool(np.all((asked >= first * (1 - rounding)) & (asked <= last * (1 + rounding)))),
            "rain table",
            f"a duration of {asked.min():g} to {asked.max():g} h is beyond it",
            f"it goes from {first:g} to {last:g} h",
        )
        periods = self.return_period_yr
        need(
            bool(periods[0] <= return_period_yr <= periods[-1]),
            "rain table",
            f"a return period of {return_period_yr:g} years is beyond it",
            f"it goes from {periods[0]:g} to {periods[-1]:g} years",
        )
        x = self._reduced_variate(periods)
        at = self._reduced_variate(np.array([return_period_yr]))[0]
        column = np.array([np.interp(at, x, row) for row in cells_mm])
        log_depth = np.interp(np.log(asked), np.log(self.duration_h), np.log(column))
        return np.asarray(np.exp(log_depth))

    def _reduced_variate(self, return_period_yr: FloatArray) -> FloatArray:
        if self.series is Series.PARTIAL_DURATION:
            return np.asarray(np.log(return_period_yr))
        return np.asarray(-np.log(-np.log1p(-1.0 / return_period_yr)))


@dataclass(frozen=True)
class Hyetograph:
    """Rain of one storm in equal steps.

    Parameters
    ----------
    depth_mm : (n_steps,) array
        Rain in each step [mm].
    step_s : float
        Length of a step [s].
    name : str
        Pattern, depth and duration, in words.
    """

    depth_mm: FloatArray
    step_s: float
    name: str = ""

    def __post_init__(self) -> None:
        freeze_arrays(self)
        need(self.depth_mm.ndim == 1 and self.depth_mm.size > 0, "storm", "it has no steps")
        need(bool(np.all(np.isfinite(self.depth_mm))), "storm", "a depth is missing")
        need(bool(np.all(self.depth_mm >= 0)), "storm", "a depth is negative")
        need(self.step_s > 0, "storm", "the step is not positive")


@dataclass(frozen=True)
class PitInflow:
    """Storm water that reaches the pit, whatever the level in it.

    Ground water, which depends on the level, is part of `PitModel`.

    Parameters
    ----------
    storm_m3_s : (n_draws, n_steps) array
        Mean flow in each step [m3/s].
    step_s : float
        Length of a step [s].
    parts_m3 : mapping of str to (n_draws,) array
        Where the water went over the whole storm, each part in words [m3]; with ``"rain"`` the sum
        that arrived at the wall, and the rest where it went. They close to 1e-9.
    """

    storm_m3_s: FloatArray
    step_s: float
    parts_m3: Mapping[str, FloatArray] = field(default_factory=dict)

    def __post_init__(self) -> None:
        freeze_arrays(self)
        object.__setattr__(self, "parts_m3", MappingProxyType(dict(self.parts_m3)))
        need(self.storm_m3_s.ndim == 2, "inflow", "not one row per draw")
        need(bool(np.all(np.isfinite(self.storm_m3_s))), "inflow", "a flow is missing")
        need(bool(np.all(self.storm_m3_s >= 0)), "inflow", "a flow is negative")
        need(self.step_s > 0, "inflow", "the step is not positive")


@dataclass(frozen=True)
class PitModel:
    """Pit, pump and ground water as piecewise-linear functions of the level.

    Inside a band the free area is constant and the flows are linear in the level, so the water
    balance has a closed form there. Bands are given bottom up; some may be of zero height.

    Parameters
    ----------
    level_m : (n_draws, n_bands + 1) array
        Levels that bound the bands, not decreasing, relative to the floor [m].
    area_m2 : (n_draws, n_bands) array
        Free water area in each band [m2].
    pump_m3_s : (n_draws, n_bands + 1) array
        Flow of the running pump at each bounding level [m3/s].
    seepage_m3_s : (n_draws, n_bands + 1) array
        Ground-water inflow at each bounding level [m3/s].
    off_index, on_index, alarm_index, floor_index : (n_draws,) arrays of int
        Which bounding level is the switch-off, switch-on, alarm and floor level.
    return_share : (n_draws,) array
        Share of the pumped water that arrives again [-].
    return_lag_s : float
        After how long it does [s].
    drainback_m3 : (n_draws,) array, optional
        Water that falls back from the pipe after every stop, for a check valve stuck open [m3].
    has_pump : bool
        Whether there is one; where there is none all its flows are zero.
    """

    level_m: FloatArray
    area_m2: FloatArray
    pump_m3_s: FloatArray
    seepage_m3_s: FloatArray
    off_index: IntArray
    on_index: IntArray
    alarm_index: IntArray
    floor_index: IntArray
    return_share: FloatArray
    return_lag_s: float = 900.0
    drainback_m3: FloatArray = field(default_factory=lambda: np.zeros(0))
    has_pump: bool = True

    def __post_init__(self) -> None:
        where = "pit"
        n_draws, n_levels = self.level_m.shape
        if self.drainback_m3.size == 0:
            object.__setattr__(self, "drainback_m3", np.zeros(n_draws))
        freeze_arrays(self)
        need(self.area_m2.shape == (n_draws, n_levels - 1), where, "areas do not fit the levels")
        need(self.pump_m3_s.shape == (n_draws, n_levels), where, "pump does not fit the levels")
        need(self.seepage_m3_s.shape == (n_draws, n_levels), where, "seepage does not fit levels")
        need(bool(np.all(np.diff(self.level_m, axis=1) >= 0)), where, "levels do not increase")
        need(bool(np.all(self.area_m2 > 0)), where, "an area is not positive")
        need(bool(np.all(self.pump_m3_s >= 0)), where, "a pump flow is negative")
        flows = self.has_pump or not np.any(self.pump_m3_s)
        need(flows, where, "there is no pump, and it carries water")
        need(bool(np.all(self.seepage_m3_s >= 0)), where, "a seepage flow is negative")
        order = (self.off_index, self.on_index, self.alarm_index, self.floor_index)
        need(
            all(bool(np.all(a < b)) for a, b in pairwise(order)),
            where,
            "switch levels are not in the order off, on, alarm, floor",
        )
        need(
            bool(np.all((self.return_share >= 0) & (self.return_share <= 1))),
            where,
            "the share of pumped water that returns is outside 0 to 1",
        )
        need(self.return_lag_s > 0, where, "pumped water that returns does so in no time")
        need(bool(np.all(self.drainback_m3 >= 0)), where, "the water falling back is negative")

    def repeated(self, times: int) -> PitModel:
        """Return the pits `times` times over: all of them for each of several storms.

        Parameters
        ----------
        times : int
            How often [-].

        Returns
        -------
        PitModel
            ``times * n_draws`` pits, in blocks.
        """
        return self.picked(np.tile(np.arange(self.level_m.shape[0]), times))

    def picked(self, draws: IntArray) -> PitModel:
        """Return some of the pits, in the order asked.

        Parameters
        ----------
        draws : (n,) array of int
            Which ones, counted from 0 [-].

        Returns
        -------
        PitModel
            One pit for each.
        """
        return picked(self, draws)


@dataclass(frozen=True)
class PitRun:
    """What the pit did in one storm with the pump in order.

    Parameters
    ----------
    highest_level_m : (n_draws,) array
        Highest level, relative to the floor [m].
    alarm_s, flood_s : (n_draws,) arrays
        First time at the alarm level and at the floor; infinite for never [s].
    starts : (n_draws,) array
        Number of pump starts [-].
    starts_per_hour : (n_draws,) array
        Most starts in any clock hour of the storm [1/h].
    run_time_s : (n_draws,) array
        Time the pump ran [s].
    pumped_m3, returned_m3 : (n_draws,) arrays
        Water lifted, and the part of it that arrived again [m3].
    inflow_m3 : (n_draws,) array
        Storm and ground water that arrived, without the returned part [m3].
    balance_error : (n_draws,) array
        Water made or lost as a share of the water that arrived or was lifted [-].
    level_m : (n_draws, n_steps + 1) array, optional
        Level at the ends of the steps [m].
    """

    highest_level_m: FloatArray
    alarm_s: FloatArray
    flood_s: FloatArray
    starts: FloatArray
    starts_per_hour: FloatArray
    run_time_s: FloatArray
    pumped_m3: FloatArray
    returned_m3: FloatArray
    inflow_m3: FloatArray
    balance_error: FloatArray
    level_m: FloatArray | None = None

    def __post_init__(self) -> None:
        freeze_arrays(self)


@dataclass(frozen=True)
class FailureRun:
    """Minutes from the alarm to the floor, for a pump that stops at any moment of the storm.

    Parameters
    ----------
    moment_s : (n_moments,) array
        When the alarm sounds, from the start of the storm [s].
    time_to_flood_s : (n_draws, n_moments) array
        From the alarm to water on the floor; infinite where the level does not get there [s].
    """

    moment_s: FloatArray
    time_to_flood_s: FloatArray

    def __post_init__(self) -> None:
        freeze_arrays(self)
