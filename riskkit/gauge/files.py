"""A log and the rain that it is compared with: what the home file names, or what somebody gives."""

from __future__ import annotations

from pathlib import Path

from riskkit.antecedent.days import DailyWeather, daily_weather
from riskkit.errors import need_type
from riskkit.gauge.answer import LogAnalysis, gauge
from riskkit.gauge.log import PumpLog, read_log
from riskkit.home.folder import named_file
from riskkit.home.home import Home
from riskkit.rainfall.readers.record import read_rain
from riskkit.rainfall.readers.temperature import read_temperature
from riskkit.records import RainRecord

__all__ = ["gauge_log", "log_rain"]


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

    if record is None and home.rain.record is not None:
        record = named_file(home.home_folder, home.rain.record)
    if record is None:
        return None, None
    rain = record if isinstance(record, RainRecord) else read_rain(record, unit=unit)
    if home.rain.temperature is None:
        return rain, None
    return rain, daily_weather(
        rain, read_temperature(named_file(home.home_folder, home.rain.temperature))
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
