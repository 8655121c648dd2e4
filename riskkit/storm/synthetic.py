"""An invented rain record, made by the storms of `riskkit.storm.pulses` with invented numbers.

Nothing is fitted to any place: it serves the invented homes of the demo and tests.

``python -m riskkit.storm.synthetic OUT_DIR`` writes the record and the temperatures of Alder Bend.
"""

from __future__ import annotations

import gzip
import sys
from collections.abc import Sequence
from dataclasses import replace
from pathlib import Path
from typing import NamedTuple

import numpy as np
from numpy.typing import NDArray

from riskkit.errors import InputError
from riskkit.files import write_bytes
from riskkit.records import FloatArray, RainRecord
from riskkit.records.wet_rows import wet_rows_csv
from riskkit.storm.pulses import StormKind, StormSeasons, normal, simulate
from riskkit.tables import load_table

__all__ = [
    "DailyTemperature",
    "demo_files",
    "main",
    "synthetic_record",
    "synthetic_seasons",
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
_SIGMA = {"steady": 0.3, "thunder": 0.5}  # log standard deviation of a storm's factor


class DailyTemperature(NamedTuple):
    """Days, and the least and greatest temperature of each [degC], (n_days,) arrays."""

    date: NDArray[np.datetime64]
    tmin_degc: FloatArray
    tmax_degc: FloatArray


def synthetic_seasons() -> StormSeasons:
    """Return the invented storms of the demo town.

    Returns
    -------
    StormSeasons
        The numbers of the table.

    References
    ----------
    judgement : the numbers of the table, and the shapes
    """
    climate = load_table("synthetic_climate")

    def kind(name: str) -> StormKind:
        count, storm, rate, cell, intensity = (
            np.array(climate.column(f"{name}_{column}"))
            for column in ("count", "storm", "cell_rate", "cell", "intensity")
        )
        shape, sigma = _WEIBULL_SHAPE[name], _SIGMA[name]
        return StormKind(count, storm, rate, cell, intensity, shape, sigma)

    return StormSeasons(kind("steady"), kind("thunder"), _TIP_MM, "invented town")


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
    record = simulate(synthetic_seasons(), n_years, start_year, rng)
    return replace(record, notes=("The record is invented.",))


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
    departure = _remembering(normal(rng, date.size), 0.7) * sd
    half_range = 0.5 * (tmax - tmin) * np.exp(0.25 * normal(rng, date.size))
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
    days = [f"{d},{low:g},{high:g}" for d, low, high in zip(*temperature, strict=True)]
    made_up = "Alder Bend is an invented town; made by riskkit.storm.synthetic"
    return {
        RAIN_FILE: wet_rows_csv(record, [made_up]),
        TEMPERATURE_FILE: "\n".join([f"# {made_up}", "date,tmin_degC,tmax_degC", *days, ""]),
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
