"""The rain of a home: its depths by duration and return period, and the days of its place."""

from __future__ import annotations

from dataclasses import dataclass, field, replace
from pathlib import Path

import numpy as np

from riskkit.antecedent.days import DailyWeather, daily_weather
from riskkit.antecedent.levels import LEVELS, WaterLevels, read_levels
from riskkit.errors import InputError, RangeError, collect_warnings, need_type
from riskkit.home.folder import named_by, named_file
from riskkit.home.home import Home
from riskkit.quantities.climate import Climate, read_climate
from riskkit.rainfall.doubts import need_sound
from riskkit.rainfall.extremes import (
    depth_duration_frequency,
    in_climate,
    with_short_durations,
)
from riskkit.rainfall.frequency import to_partial_duration
from riskkit.rainfall.quality import check_record
from riskkit.rainfall.quality_rows import QualityRow
from riskkit.rainfall.readers.official import read_rain_table
from riskkit.rainfall.readers.record import read_rain
from riskkit.rainfall.readers.temperature import read_temperature
from riskkit.rainfall.regional import regional_depths
from riskkit.rainfall.weighing import DecidingValue, deciding_value, weighed
from riskkit.records import DepthDurationFrequency, RainRecord, Series
from riskkit.records.arguments import need_if_given, need_seed
from riskkit.records.shown import ShownInNotebook

__all__ = ["DesignRain", "RecordDoubts", "design_rain", "rain_of", "regional_rain"]

_RIGHT = {
    "folder": "give its path",
    "record": "give the path of a file, or what read_rain returns",
    "table": "give the path of a file, or what read_rain_table returns",
}


@dataclass(frozen=True)
class RecordDoubts:
    """What speaks against the depths of a record.

    Parameters
    ----------
    rows : tuple of QualityRow
        Checks that are not in order.
    deciding : DecidingValue, optional
        A single value that decides the depths.
    without : DepthDurationFrequency, optional
        The depths without that value.
    is_used : bool
        Whether the answer rests on these depths, not on those of an official table.
    """

    rows: tuple[QualityRow, ...] = ()
    deciding: DecidingValue | None = None
    without: DepthDurationFrequency | None = None
    is_used: bool = True


@dataclass(frozen=True, repr=False)
class DesignRain(ShownInNotebook):
    """Depths of rain for a place: the table used, and the unused one where both exist.

    With daily temperatures also the days of the place, for the wetness before large storms, and the
    measured levels of the water table where the home file names them.
    """

    used: DepthDurationFrequency
    unused: DepthDurationFrequency | None = None
    record: RainRecord | None = None
    weather: DailyWeather | None = None
    levels: WaterLevels | None = None
    doubts: RecordDoubts = field(default_factory=RecordDoubts)

    def __repr__(self) -> str:
        return f"DesignRain({self.used!r})"


def design_rain(
    home: Home,
    folder: Path | str | None = None,
    *,
    record: Path | str | RainRecord | None = None,
    table: Path | str | DepthDurationFrequency | None = None,
    unit: str | None = None,
    official_unit: str | None = None,
    official_series: Series | None = None,
    seed: int = 1,
    climate: Climate | str | None = None,
) -> DesignRain:
    """Read the rain of a home; an official table takes precedence over the analysis of a record.

    Parameters
    ----------
    home : Home
        The home; its file may name a record and a table.
    folder : Path or str, optional
        Folder in which the files lie that the home names; that of its own file where it is left
        out.
    record : Path, str or RainRecord, optional
        A rain record that takes precedence over the one named in the home file.
    table : Path, str or DepthDurationFrequency, optional
        An official table that takes precedence over the one named in the home file.
    unit : str, optional
        Unit of the record where the file does not say.
    official_unit : str, optional
        Unit of the official table where its file does not say.
    official_series : Series, optional
        What its return periods count where its file does not say.
    seed : int
        Of the simulated records for the limits [-].
    climate : Climate or str, optional
        A change of the climate, such as ``"2 °C"`` or ``"20 %"``, that takes precedence over the
        one in the home file.

    Returns
    -------
    DesignRain
        The table used, and the unused one.

    Raises
    ------
    InputError
        Where there is neither, a file cannot be read, temperatures are given without a record, or
        measured levels beside a generated one.

    References
    ----------
    common_practice : the official table of a place takes precedence over the analysis of a record
    ipcc_ar6 : more rain in a warmer climate
    """
    need_type(home, Home, "home", 'read one with load_home("home.toml")')
    need_seed(seed)
    for value, where in ((folder, "folder"), (record, "record"), (table, "table")):
        if not isinstance(value, RainRecord | DepthDurationFrequency):
            need_if_given(value, (str, Path), where, _RIGHT[where])
    wanted = climate if isinstance(climate, Climate | None) else read_climate(climate, "climate")
    right = "give one of Series, such as Series.ANNUAL_MAXIMUM"
    need_if_given(official_series, Series, "official_series", right)
    wanted = wanted or home.rain.climate
    if folder is not None:
        home = home.in_folder(folder)
    keys: dict[str, str | None] = {"record": None, "table": None}  # by which the home names them
    if record is None and home.rain.record is not None:
        keys["record"] = "rain.record"
        with named_by(home.home_folder, keys["record"]):
            record = named_file(home.home_folder, home.rain.record)
    if table is None and home.rain.table is not None:
        keys["table"] = "rain.table"
        with named_by(home.home_folder, keys["table"]):
            table = named_file(home.home_folder, home.rain.table)
    official = None
    if table is None and (official_unit is not None or official_series is not None):
        where = "official unit" if official_unit is not None else "official series"
        raise InputError(where, "there is no official table", "name the table", argument="table")
    if table is not None:
        if not isinstance(table, DepthDurationFrequency):
            with named_by(home.home_folder, keys["table"]):
                table = read_rain_table(table, unit=official_unit, series=official_series)
        official = in_climate(with_short_durations(to_partial_duration(table)), wanted)
    rain = None
    if record is not None:
        with named_by(home.home_folder, keys["record"]):
            rain = record if isinstance(record, RainRecord) else read_rain(record, unit=unit)
    own, doubts = None, RecordDoubts()
    if rain is not None:
        with named_by(home.home_folder, keys["record"]):
            own, doubts = _own_depths(rain, seed, needed=official is None)
        own = None if own is None else in_climate(own, wanted)
        if doubts.without is not None:
            doubts = replace(doubts, without=in_climate(doubts.without, wanted))
    weather = _weather(home, rain) if own or official else None
    named = home.choice(LEVELS)
    levels = None
    if named is not None:
        with named_by(home.home_folder, LEVELS):
            levels = read_levels(named_file(home.home_folder, named))
    if levels is not None and rain is not None and rain.is_generated:
        raise InputError(
            LEVELS,
            f"levels were measured on days of the past, and the rain of {rain.name} is generated",
            "name a measured record, or leave the levels out",
        )
    if official is not None:
        return DesignRain(official, own, rain, weather, levels, doubts)
    if own is not None:
        return DesignRain(own, None, rain, weather, levels, doubts)
    raise InputError(
        "rain",
        "no rain record and no official table is given",
        'name one under [rain] in the home file, record = "rain.csv", or give it beside the home',
        argument="record",
    )


def regional_rain(home: Home) -> DesignRain:
    """Return what stands in where a home has neither record nor table: rain of its region.

    Who shows an answer from it says so; `design_rain` never takes it by itself.

    Parameters
    ----------
    home : Home
        The home; its place may be unknown.

    Returns
    -------
    DesignRain
        Depths whose source says that they are no rain of this place.
    """
    need_type(home, Home, "home", 'read one with load_home("home.toml")')
    depths = regional_depths(home.place.latitude, home.place.longitude)
    return DesignRain(in_climate(depths, home.rain.climate))


def rain_of(
    home: Home, rain: DesignRain | DepthDurationFrequency | RainRecord | None, seed: int
) -> DesignRain:
    """Take the rain as given, or make of it what the home needs.

    Parameters
    ----------
    home : Home
        The home.
    rain : DesignRain, DepthDurationFrequency, RainRecord or None
        Rain of its place; None for that of the files which it names.
    seed : int
        Of the limits of the depths [-].

    Returns
    -------
    DesignRain
        The rain.

    Raises
    ------
    InputError
        Where there is none.
    """
    need_seed(seed)
    if isinstance(rain, DesignRain):
        return rain
    if isinstance(rain, DepthDurationFrequency):
        return DesignRain(with_short_durations(to_partial_duration(rain)))
    right = "give a record, a table of depths, what design_rain returns, or leave it out"
    need_type(rain, (RainRecord, type(None)), "rain", right)
    return design_rain(home, record=rain, seed=seed)


def _weather(home: Home, rain: RainRecord | None) -> DailyWeather | None:
    if home.rain.temperature is None:
        return None
    if rain is None:
        raise InputError(
            "rain.temperature",
            "temperatures tell the wetness before storms only together with a rain record",
            "name one under [rain] in the home file, or leave the temperatures out",
        )
    with named_by(home.home_folder, "rain.temperature"):
        return daily_weather(
            rain, read_temperature(named_file(home.home_folder, home.rain.temperature))
        )


def _own_depths(
    record: RainRecord, seed: int, *, needed: bool
) -> tuple[DepthDurationFrequency | None, RecordDoubts]:
    """Analyse a record; refuse one that cannot be right where the answer would rest on it."""
    rows = check_record(record)
    where = record.name or "rain record"
    with collect_warnings():  # the same sentences stand in the notes of the table
        try:
            table = depth_duration_frequency(record, np.random.default_rng(seed))
        except RangeError as error:
            if needed:
                need_sound(rows, where)
                right = "look at the record, and name an official table"
                what = f"{error.where}: {error.what}"
                raise InputError(where, what, right, argument="look") from None
            return None, RecordDoubts(_doubts(rows), is_used=needed)
        rows = weighed(rows, record, table)
        if needed:
            need_sound(rows, where)
        deciding = deciding_value(record, table) if needed else None
        without = None
        if deciding is not None:
            without = depth_duration_frequency(deciding.without, np.random.default_rng(seed))
    return table, RecordDoubts(_doubts(rows), deciding, without, needed)


def _doubts(rows: tuple[QualityRow, ...]) -> tuple[QualityRow, ...]:
    return tuple(row for row in rows if not row.verdict.in_order)
