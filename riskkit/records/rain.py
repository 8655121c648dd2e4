"""Rain as a record gives it, and as depths by duration and return period."""

from __future__ import annotations

from dataclasses import dataclass
from enum import Enum
from typing import TYPE_CHECKING

import numpy as np
from numpy.typing import NDArray

from riskkit.errors import need_type
from riskkit.quantities.climate import Climate
from riskkit.records.frozen import ByValue, FloatArray, clean_texts, freeze_arrays, need
from riskkit.records.removed import Removed
from riskkit.records.shown import ShownInNotebook

if TYPE_CHECKING:
    import pandas as pd

__all__ = ["DepthDurationFrequency", "RainRecord", "Series"]


class Series(Enum):
    """What a return period counts: years with a larger maximum, or exceedances at all."""

    ANNUAL_MAXIMUM = "annual maximum"
    PARTIAL_DURATION = "partial duration"


@dataclass(frozen=True, repr=False, eq=False)
class RainRecord(ByValue, ShownInNotebook):
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
        object.__setattr__(self, "start", _start_of(self.start))
        need_type(self.interval_s, (int, np.integer), "rain record", "give the interval in seconds")
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

    def to_series(self) -> pd.Series[float]:
        """Return the rain as a Series, each value at the start of its interval.

        Returns
        -------
        pandas.Series
            Depths, named ``depth_mm`` [mm]; NaN where missing. The times have no zone: local
            standard time. `riskkit.read_rain` reads it back.

        Examples
        --------
        >>> RainRecord([0.0, 1.2], "2020-06-01", 3600).to_series()
        time
        2020-06-01 00:00:00    0.0
        2020-06-01 01:00:00    1.2
        Freq: h, Name: depth_mm, dtype: float64
        """
        import pandas as pd

        step = pd.Timedelta(seconds=self.interval_s)
        times = pd.date_range(self.start, periods=self.depth_mm.size, freq=step, name="time")
        return pd.Series(self.depth_mm, index=times, name="depth_mm", copy=True)

    def __repr__(self) -> str:
        first, last = self.times[0].astype("datetime64[D]"), self.times[-1].astype("datetime64[D]")
        missing = f", {np.isnan(self.depth_mm).mean():.1%} missing" if self.has_gaps else ""
        return f"RainRecord({self.name!r}, {first} to {last}, every {self.interval_s} s{missing})"

    @property
    def has_gaps(self) -> bool:
        """Whether a value is missing."""
        return bool(np.any(np.isnan(self.depth_mm)))


def _start_of(written: object) -> np.datetime64:
    right = 'write it like "2020-06-01 00:00", in local standard time without a zone'
    zone = getattr(written, "tzinfo", None)
    try:
        start = np.datetime64(str(written), "s") if zone is None else np.datetime64("NaT")
    except ValueError:
        start = np.datetime64("NaT")
    need(not np.isnat(start), "rain record", f"its start, {written!s:.40}, is no such time", right)
    return start


@dataclass(frozen=True, repr=False, eq=False)
class DepthDurationFrequency(ByValue, ShownInNotebook):
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

    def to_frame(self) -> pd.DataFrame:
        """Return the table as a DataFrame, a row for each duration and return period.

        Returns
        -------
        pandas.DataFrame
            Columns ``duration_h`` [h], ``return_period_yr`` [yr], ``depth_mm``, ``lower_mm`` and
            ``upper_mm`` [mm]; the 5 % and 95 % limits are NaN where there are none. For one row a
            duration: ``frame.pivot_table(index="duration_h", columns="return_period_yr",
            values="depth_mm")``.
        """
        import pandas as pd

        shape = self.depth_mm.shape
        unknown = np.full(shape, np.nan)
        lower, upper = (unknown if v is None else v for v in (self.lower_mm, self.upper_mm))
        return pd.DataFrame(
            {
                "duration_h": np.repeat(self.duration_h, shape[1]),
                "return_period_yr": np.tile(self.return_period_yr, shape[0]),
                "depth_mm": self.depth_mm.ravel(),
                "lower_mm": lower.ravel(),
                "upper_mm": upper.ravel(),
            }
        )

    def __repr__(self) -> str:
        hours, years = self.duration_h, self.return_period_yr
        return (
            f"DepthDurationFrequency({self.origin!r}, {hours[0]:.3g} to {hours[-1]:g} h, "
            f"{years[0]:g} to {years[-1]:g} years, {self.series.value})"
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
