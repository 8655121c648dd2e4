"""An invented rain record: storms at random, each a cluster of rectangular rain cells.

The Bartlett-Lewis idea with two kinds of storm, steady and thunder, whose numbers change with the
month. Storms begin at random; a storm lasts a random time; cells begin at random while it lasts,
the first with it; each cell rains at its own constant rate for its own time; a storm has a factor
that multiplies all its cells, so that some are weak and a few are violent. Nothing is fitted to any
place: it serves the invented homes of the demo and tests.

``python -m riskkit.storm.synthetic OUT_DIR`` writes the record and the temperatures of Alder Bend.
"""

from __future__ import annotations

import gzip
import sys
from collections.abc import Sequence
from pathlib import Path
from typing import NamedTuple

import numpy as np
from numpy.typing import NDArray

from riskkit.errors import InputError
from riskkit.files import write_bytes
from riskkit.records import FloatArray, IntArray, RainRecord
from riskkit.tables import load_table

__all__ = [
    "DailyTemperature",
    "demo_files",
    "main",
    "synthetic_record",
    "synthetic_temperature",
    "write_demo",
]

DEMO_SEED = 13
DEMO_YEARS = 40
DEMO_START = 1981
RAIN_FILE = "alder_bend_rain.csv.gz"
TEMPERATURE_FILE = "alder_bend_temperature.csv.gz"

# judgement, as the numbers of the table
_TIP_MM = 0.2  # the invented gauge counts in steps of a tipping bucket
_WEIBULL_SHAPE = {"steady": 1.0, "thunder": 0.9}  # cell intensity; below 1 the tail is heavy
_STORM_SIGMA = {"steady": 0.3, "thunder": 0.5}  # log standard deviation of a storm's factor


class DailyTemperature(NamedTuple):
    """Days, and the least and greatest temperature of each [degC], (n_days,) arrays."""

    date: NDArray[np.datetime64]
    tmin_degc: FloatArray
    tmax_degc: FloatArray


def synthetic_record(n_years: int, start_year: int, rng: np.random.Generator) -> RainRecord:
    """Invent an hourly rain record of a humid-continental town.

    Parameters
    ----------
    n_years : int
        Number of whole calendar years, 1 or more [yr].
    start_year : int
        The first of them [yr].
    rng : numpy.random.Generator
        Source of the random draws.

    Returns
    -------
    RainRecord
        Hourly depths in steps of 0.2 mm [mm], without gaps.

    Raises
    ------
    InputError
        Where there is no whole year.

    References
    ----------
    rodriguez_iturbe1987 : section 4, Bartlett-Lewis rectangular pulses
    judgement : the numbers of the table, and the shapes
    """
    if n_years < 1:
        raise InputError("invented record", f"{n_years} years", "give at least 1")
    month_start_h = _month_starts_h(n_years, start_year)
    climate = load_table("synthetic_climate")
    total = np.zeros(int(month_start_h[-1]) + 1)
    for kind in ("steady", "thunder"):
        numbers = {
            name: np.tile(climate.column(f"{kind}_{name}"), n_years)
            for name in ("count", "storm", "cell_rate", "cell", "intensity")
        }
        total += _fallen_by_hour_mm(kind, numbers, month_start_h, rng)
    tips = np.floor(total / _TIP_MM)
    return RainRecord(
        np.round(np.diff(tips) * _TIP_MM, 1),
        np.datetime64(f"{start_year:04d}-01-01T00:00:00"),
        3600,
        "invented town",
        ("The record is invented.",),
    )


def _month_starts_h(n_years: int, start_year: int) -> FloatArray:
    first = np.datetime64(f"{start_year:04d}-01", "M")
    months = first + np.arange(12 * n_years + 1)
    hours = months.astype("datetime64[h]") - first.astype("datetime64[h]")
    return np.asarray(hours.astype(np.int64), dtype=np.float64)


def _exponential(rng: np.random.Generator, size: int) -> FloatArray:
    # from uniform draws, which stay the same from one version of numpy to the next
    return np.asarray(-np.log1p(-rng.random(size)))


def _normal(rng: np.random.Generator, size: int) -> FloatArray:
    from scipy.special import ndtri

    return np.asarray(ndtri(0.5 + 0.999_999_999 * (rng.random(size) - 0.5)))


def _random_points(total: float, rng: np.random.Generator) -> FloatArray:
    """Points of a Poisson process of rate one between 0 and total."""
    size = int(total + 10.0 * np.sqrt(total) + 20.0)
    points = np.cumsum(_exponential(rng, size))
    return np.asarray(points[points < total])


def _fallen_by_hour_mm(
    kind: str, numbers: dict[str, FloatArray], month_start_h: FloatArray, rng: np.random.Generator
) -> FloatArray:
    """Depth of one kind of rain fallen by the end of each hour, from 0."""
    # a month's storms are spread evenly over it: points of rate one, stretched month by month
    expected = np.concatenate(([0.0], np.cumsum(numbers["count"])))
    points = _random_points(float(expected[-1]), rng)
    storm_h = np.interp(points, expected, month_start_h)
    month = np.searchsorted(month_start_h, storm_h, side="right") - 1
    length_h = numbers["storm"][month] * _exponential(rng, storm_h.size)
    sigma = _STORM_SIGMA[kind]
    factor = np.exp(sigma * _normal(rng, storm_h.size) - 0.5 * sigma**2)

    owner, begin_h = _cells(storm_h, length_h, numbers["cell_rate"][month], rng)
    at = month[owner]
    lasting_h = numbers["cell"][at] * _exponential(rng, owner.size)
    shape = _WEIBULL_SHAPE[kind]
    weibull = _exponential(rng, owner.size) ** (1.0 / shape) / _weibull_mean(shape)
    intensity = numbers["intensity"][at] * factor[owner] * weibull
    hours = np.arange(month_start_h[-1] + 1.0)
    return _accumulate_mm(begin_h, lasting_h, intensity, hours)


def _weibull_mean(shape: float) -> float:
    from math import gamma

    return gamma(1.0 + 1.0 / shape)


def _cells(
    storm_h: FloatArray, length_h: FloatArray, rate: FloatArray, rng: np.random.Generator
) -> tuple[IntArray, FloatArray]:
    """Which storm each cell belongs to, and when it begins: one with the storm, more at random."""
    ends = np.cumsum(length_h * rate)
    points = _random_points(float(ends[-1]) if ends.size else 0.0, rng)
    owner = np.searchsorted(ends, points, side="right")
    into_h = length_h[owner] - (ends[owner] - points) / rate[owner]
    return (
        np.concatenate((np.arange(storm_h.size), owner)),
        np.concatenate((storm_h, storm_h[owner] + into_h)),
    )


def _accumulate_mm(
    begin_h: FloatArray, lasting_h: FloatArray, intensity_mm_h: FloatArray, hours: FloatArray
) -> FloatArray:
    """Depth fallen from rectangular cells by each hour: the integral of their summed rate."""
    time = np.concatenate((begin_h, begin_h + lasting_h))
    change = np.concatenate((intensity_mm_h, -intensity_mm_h))
    order = np.argsort(time, kind="stable")
    time = time[order]
    rate = np.maximum(np.cumsum(change[order]), 0.0)
    fallen = np.concatenate(([0.0], np.cumsum(rate[:-1] * np.diff(time))))
    return np.asarray(np.interp(hours, time, fallen, left=0.0))


def synthetic_temperature(record: RainRecord, rng: np.random.Generator) -> DailyTemperature:
    """Invent the daily least and greatest temperatures that go with an invented record.

    Monthly means joined at mid-month, a day-to-day departure that remembers 0.7 of the day before,
    and a daily range that is a third smaller on wet days.

    Parameters
    ----------
    record : RainRecord
        An hourly record of whole days.
    rng : numpy.random.Generator
        Source of the random draws.

    Returns
    -------
    DailyTemperature
        One row per day of the record [degC].

    References
    ----------
    judgement : the numbers of the table, memory and range
    """
    rain = record.depth_mm.reshape(-1, 86400 // record.interval_s)
    date = record.start.astype("datetime64[D]") + np.arange(rain.shape[0])
    climate = load_table("synthetic_climate")
    tmin, tmax, sd = (_seasonal(date, climate.column(name)) for name in ("tmin", "tmax", "sd"))
    departure = _remembering(_normal(rng, date.size), 0.7) * sd
    half_range = 0.5 * (tmax - tmin) * np.exp(0.25 * _normal(rng, date.size))
    half_range = np.where(np.nansum(rain, axis=1) >= 1.0, 0.67 * half_range, 1.1 * half_range)
    middle = 0.5 * (tmin + tmax) + departure
    return DailyTemperature(
        date, np.round(middle - half_range, 1), np.round(middle + half_range, 1)
    )


def _seasonal(date: NDArray[np.datetime64], monthly: Sequence[float]) -> FloatArray:
    """Monthly values joined at mid-month, around the year."""
    day = (date - date.astype("datetime64[Y]")).astype(np.float64)
    middle = (np.arange(12) + 0.5) * 365.25 / 12.0
    return np.asarray(np.interp(day, middle, monthly, period=365.25))


def _remembering(noise: FloatArray, memory: float) -> FloatArray:
    """Series of unit variance in which each value keeps a part of the one before."""
    series = np.empty_like(noise)
    last = noise[0]
    fresh = np.sqrt(1.0 - memory**2)
    for i, value in enumerate(noise):
        last = memory * last + fresh * value
        series[i] = last
    return series


def demo_files() -> dict[str, str]:
    """Make the record and the temperatures of the invented town of Alder Bend as CSV text.

    Returns
    -------
    dict of str to str
        Text of each file by its name, hourly depths and daily temperatures of 1981 to 2020.

    References
    ----------
    judgement : the invented town
    """
    for_rain, for_temperature = np.random.default_rng(DEMO_SEED).spawn(2)
    record = synthetic_record(DEMO_YEARS, DEMO_START, for_rain)
    temperature = synthetic_temperature(record, for_temperature)
    listed = record.depth_mm > 0  # dry hours are left out, but for the ends of the record
    listed[[0, -1]] = True
    times = np.datetime_as_string(record.times[listed], unit="m")
    rain = [f"{t},{d:g}" for t, d in zip(times, record.depth_mm[listed], strict=True)]
    days = [f"{d},{low:g},{high:g}" for d, low, high in zip(*temperature, strict=True)]
    made_up = "# Alder Bend is an invented town; made by riskkit.storm.synthetic"
    sparse = ["# interval: 1 h", "# dry intervals: left out"]
    return {
        RAIN_FILE: "\n".join([made_up, *sparse, "time,depth_mm", *rain, ""]),
        TEMPERATURE_FILE: "\n".join([made_up, "date,tmin_degC,tmax_degC", *days, ""]),
    }


def write_demo(folder: Path) -> list[Path]:
    """Write the files of `demo_files`, compressed, whole or not at all.

    Parameters
    ----------
    folder : Path
        An existing folder.

    Returns
    -------
    list of Path
        The files written.

    Raises
    ------
    InputError
        Where there is no such folder or it may not be written to.

    References
    ----------
    arithmetic : bookkeeping
    """
    if not folder.is_dir():
        raise InputError(str(folder), "there is no such folder", "make it first")
    paths = []
    for name, text in demo_files().items():
        # no file name and no time inside, so that the same text gives the same bytes
        data = gzip.compress(text.encode("utf-8"), compresslevel=9, mtime=0)
        write_bytes(folder / name, data)
        paths.append(folder / name)
    return paths


def main(arguments: Sequence[str] | None = None) -> int:
    """Write the invented record and temperatures into the folder given.

    Parameters
    ----------
    arguments : sequence of str, optional
        The command line; by default that of the process.

    Returns
    -------
    int
        0, or 2 where the folder is missing or cannot be written to [-].

    References
    ----------
    arithmetic : bookkeeping
    """
    given = sys.argv[1:] if arguments is None else list(arguments)
    if len(given) != 1 or given[0].startswith("-"):
        sys.stderr.write("usage: python -m riskkit.storm.synthetic OUT_DIR\n")
        return 2
    try:
        paths = write_demo(Path(given[0]))
    except InputError as error:
        sys.stderr.write(f"{error}\n")
        return 2
    sys.stdout.write("".join(f"{path}\n" for path in paths))
    return 0


if __name__ == "__main__":
    sys.exit(main())
