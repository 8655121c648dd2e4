"""A log and the rain that it is compared with: what the home file names, or what somebody gives."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass
from pathlib import Path

from riskkit.antecedent.days import DailyWeather, daily_weather
from riskkit.errors import need_type
from riskkit.gauge.answer import LogAnalysis, gauge
from riskkit.gauge.log import PumpLog, read_log
from riskkit.gauge.weighed import LogMisfitError, NoStorm, StormFlow, storm_flow
from riskkit.home.folder import named_by, named_file
from riskkit.home.home import Home
from riskkit.rainfall.readers.record import read_rain
from riskkit.rainfall.readers.temperature import read_temperature
from riskkit.records import RainRecord

__all__ = ["LogStudy", "gauge_log", "log_rain", "log_study"]


@dataclass(frozen=True)
class LogStudy:
    """What a log tells of a home, and of the inflow in a storm.

    Parameters
    ----------
    found : LogAnalysis
        Inflow, response, pump, and what is odd in the log.
    told : StormFlow or NoStorm
        The inflow in a storm, or why the log says nothing of it.
    misfit : LogMisfitError, optional
        Where hardly any simulated variant of the home counts as the log does.
    """

    found: LogAnalysis
    told: StormFlow | NoStorm
    misfit: LogMisfitError | None = None

    @property
    def storm(self) -> StormFlow | None:
        """The inflow in a storm; None where the log says nothing of it."""
        return self.told if isinstance(self.told, StormFlow) else None


def log_rain(
    home: Home, record: Path | str | RainRecord | None = None, *, unit: str | None = None
) -> tuple[RainRecord | None, DailyWeather | None]:
    """Read the rain of a home and its days, as far as they are named.

    A record of some weeks will do, for no depths of rare storms are asked of it.

    Parameters
    ----------
    home : Home
        The home, as read from its file.
    record : Path, str or RainRecord, optional
        A record that takes precedence over the one that the home names.
    unit : str, optional
        Its unit, where its file does not say.

    Returns
    -------
    tuple of RainRecord and DailyWeather, each or None
        None for what is named nowhere.

    Raises
    ------
    InputError
        Where a file cannot be read, or nothing says where it lies.
    """
    folder, key = home.home_folder, None if record is not None else "rain.record"
    with named_by(folder, key):
        if record is None and home.rain.record is not None:
            record = named_file(folder, home.rain.record)
        if record is None:
            return None, None
        rain = record if isinstance(record, RainRecord) else read_rain(record, unit=unit)
    if home.rain.temperature is None:
        return rain, None
    with named_by(folder, "rain.temperature"):
        return rain, daily_weather(
            rain, read_temperature(named_file(folder, home.rain.temperature))
        )


def gauge_log(
    home: Home,
    log: PumpLog | Path | str,
    record: Path | str | RainRecord | None = None,
    *,
    seed: int = 1,
) -> LogAnalysis:
    """Read a log of the pump as a gauge of what flows into the pit, with the rain of its days.

    Parameters
    ----------
    home : Home
        The home, as read from its file.
    log : PumpLog, Path or str
        The log, or its file.
    record : Path, str or RainRecord, optional
        A record that takes precedence over the one that the home names.
    seed : int
        Of the draws of the home and of resampling [-].

    Returns
    -------
    LogAnalysis
        Inflow, response, pump, and what is odd in the log.

    Raises
    ------
    InputError
        Where a file cannot be read, or the log holds no whole cycle.
    """
    need_type(home, Home, "home", 'read one with load_home("home.toml")')
    need_type(log, (PumpLog, Path, str), "pump log", 'give a file, or read one with read_log("…")')
    read = log if isinstance(log, PumpLog) else read_log(log)
    rain, weather = log_rain(home, record)
    return gauge(home, read, rain, weather, seed=seed)


def log_study(
    home: Home,
    log: Path,
    record: Path | None = None,
    *,
    unit: str | None = None,
    seed: int = 1,
    tell: Callable[[str], None] = lambda _: None,
) -> LogStudy:
    """Read a log with the rain of its days, and run variants of the home through them.

    Parameters
    ----------
    home : Home
        The home, as read from its file.
    log : Path
        The log.
    record : Path, optional
        A rain record that takes precedence over the one that the home names.
    unit : str, optional
        Its unit, where its file does not say.
    seed : int
        Of the draws [-].
    tell : callable
        Told in words what is being done.

    Returns
    -------
    LogStudy
        What the log tells; also where it is not like the home.

    Raises
    ------
    InputError
        Where a file cannot be read, or the log holds no whole cycle.
    """
    tell("reading the log")
    read = read_log(log)
    tell("reading the rain")
    rain, weather = log_rain(home, record, unit=unit)
    tell("fitting inflow to rain")
    found = gauge(home, read, rain, weather, seed=seed)
    if rain is None or weather is None:
        return LogStudy(found, NoStorm.NO_RAIN)
    tell("running variants of the home through the days of the log")
    try:
        return LogStudy(found, storm_flow(found, rain, weather, seed=seed))
    except LogMisfitError as error:
        return LogStudy(found, NoStorm.FEW_FIT, error)
