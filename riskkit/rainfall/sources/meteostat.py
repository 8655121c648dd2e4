"""Meteostat: hourly and daily observations of stations all over the world.

The library would fill gaps with the output of weather models; that is switched off, since a model
has no cloudbursts. It also would keep pickles; they are switched off too, our own copies stay.
"""

from __future__ import annotations

import contextlib
import datetime
import logging
import socket
import threading
import time
from collections.abc import Iterator
from dataclasses import dataclass
from pathlib import Path
from typing import TYPE_CHECKING, Any
from zoneinfo import ZoneInfo

import numpy as np

from riskkit.errors import InputError, NoNetworkError
from riskkit.rainfall.readers.plain import DAILY_NOTE
from riskkit.rainfall.sources import network
from riskkit.rainfall.sources.candidate import Candidate, Piece

if TYPE_CHECKING:
    import pandas as pd

__all__ = ["Meteostat", "standard_offset_s"]

HOUR_S, DAY_S = 3600, 86400
MOST_STATIONS = 100
LIST_AGE_S = 30 * DAY_S  # an older list of stations is fetched again
LICENCE = "CC BY 4.0 (Meteostat), and the terms of the providers it names"
_one_at_a_time = threading.Lock()  # the settings of the library are those of the whole process


def standard_offset_s(timezone: str) -> int:
    """Return how far the standard time of a zone is ahead of UTC.

    Parameters
    ----------
    timezone : str
        Such as ``America/New_York``.

    Returns
    -------
    int
        Offset without summer time: the lesser of those of January and July [s].

    Raises
    ------
    InputError
        Where the zone is not known.
    """
    try:
        zone = ZoneInfo(timezone)
    except (KeyError, ValueError, OSError):
        raise InputError("station", f"its time zone {timezone!r} is not known") from None
    days = (datetime.datetime(2020, month, 1, tzinfo=zone) for month in (1, 7))
    return min(int((day.utcoffset() or datetime.timedelta()).total_seconds()) for day in days)


@dataclass(frozen=True)
class Meteostat:
    """Hourly or daily observations of Meteostat.

    Parameters
    ----------
    folder : Path
        Where the list of stations is kept.
    interval_s : int
        3600 or 86400 [s].
    """

    folder: Path
    interval_s: int

    @property
    def key(self) -> str:
        """Short name."""
        return "hourly" if self.interval_s == HOUR_S else "daily"

    @property
    def title(self) -> str:
        """Name in words."""
        return f"Meteostat, {self.key}"

    @property
    def addresses(self) -> tuple[str, ...]:
        """Where the data is; none where it is a folder of this machine."""
        from meteostat import config

        hourly = self.interval_s == HOUR_S
        address = config.hourly_endpoint if hourly else config.daily_endpoint
        return (address,) if address.startswith("http") else ()

    @property
    def notes(self) -> tuple[str, ...]:
        """What holds for every record."""
        common = "Gaps are not filled: the output of weather models is left out."
        if self.interval_s == DAY_S:
            return (common, DAILY_NOTE)
        return (
            common,
            "Times were hours ended, in UTC; they are hours begun, in local standard time.",
        )

    def near(self, latitude: float, longitude: float, within_km: float) -> tuple[Candidate, ...]:
        """List stations with rain near a place.

        Parameters
        ----------
        latitude, longitude : float
            The place; north and east positive [deg].
        within_km : float
            How far away a station may be [km].

        Returns
        -------
        tuple of Candidate
            The nearest first.

        Raises
        ------
        NoNetworkError
            Where there is no list of stations yet and it cannot be fetched.
        InputError
            Where the list cannot be read.

        References
        ----------
        meteostat : stations and inventory
        """
        import meteostat as ms
        from pandas.errors import DatabaseError

        try:
            with _library(self._stations_file()):
                point = ms.Point(latitude, longitude)
                found = ms.stations.nearby(point, radius=within_km * 1000, limit=MOST_STATIONS)
                ids = [str(station) for station in found.index]
                inventory = ms.stations.inventory(ids).df if ids else None
        except DatabaseError:
            raise InputError("Meteostat", "its list of stations cannot be read") from None
        if inventory is None:
            return ()
        this_year = datetime.date.today().year
        try:
            return self._candidates(found, self._listed(inventory.reset_index()), this_year)
        except (LookupError, TypeError, ValueError) as error:
            if isinstance(error, InputError):
                raise
            raise InputError("Meteostat", "its list of stations cannot be read") from None

    def _candidates(
        self,
        found: pd.DataFrame,
        listed: dict[str, tuple[int, int, float | None]],
        this_year: int,
    ) -> tuple[Candidate, ...]:
        return tuple(
            Candidate(
                self.key,
                str(station),
                str(row["name"]),
                float(row["latitude"]),
                float(row["longitude"]),
                float(row["distance"]) / 1000,
                listed[str(station)][0],
                min(listed[str(station)][1], this_year),
                self.interval_s,
                LICENCE,
                listed[str(station)][2],
            )
            for station, row in found.iterrows()
            if str(station) in listed
        )

    def _listed(self, inventory: pd.DataFrame) -> dict[str, tuple[int, int, float | None]]:
        """First and last year and completeness of observed rain, by station."""
        from meteostat import Granularity
        from meteostat.core.providers import provider_service
        from meteostat.enumerations import Grade

        wanted = Granularity.HOURLY if self.interval_s == HOUR_S else Granularity.DAILY
        listed: dict[str, tuple[int, int, float | None]] = {}
        for row in inventory.to_dict("records"):
            provider = provider_service.get_provider(str(row["provider"]))
            if row["parameter"] != "prcp" or provider is None or provider.granularity != wanted:
                continue
            if provider.grade in (Grade.FORECAST, Grade.ANALYSIS):
                continue
            station = str(row["station"])
            first, last = int(str(row["start"])[:4]), int(str(row["end"])[:4])
            share = _share(row["completeness"])
            if station in listed:
                before = listed[station]
                first, last = min(first, before[0]), max(last, before[1])
                share = max((s for s in (share, before[2]) if s is not None), default=None)
            listed[station] = (first, last, share)
        return listed

    def year(self, candidate: Candidate, year: int) -> Piece | None:
        """Fetch one calendar year of observations.

        Parameters
        ----------
        candidate : Candidate
            A station.
        year : int
            Calendar year, in UTC for hours [yr].

        Returns
        -------
        Piece or None
            The year; None where nothing was observed.

        Raises
        ------
        NoNetworkError
            Where Meteostat does not answer.
        InputError
            Where the station is unknown.

        References
        ----------
        meteostat : hourly, daily
        """
        import meteostat as ms

        fetch = ms.hourly if self.interval_s == HOUR_S else ms.daily
        begin, end = datetime.datetime(year, 1, 1), datetime.datetime(year, 12, 31, 23, 59, 59)

        def call() -> tuple[pd.DataFrame | None, str, str]:
            with _library(self._stations_file()) as faults:
                station = ms.stations.meta(candidate.station)
                if station is None:
                    raise InputError(candidate.key, "Meteostat does not know this station")
                series = fetch(station, begin, end, parameters=[ms.Parameter.PRCP])
                frame = series.fetch()
            if faults:
                raise ConnectionError(faults[0])
            return frame, series.attribution, station.timezone or ""

        what = f"Meteostat, {candidate.name}, {year}"
        frame, attribution, timezone = network.keep_trying(call, what)
        if frame is None or frame["prcp"].isna().all():
            return None
        times = frame.index.to_numpy().astype("datetime64[s]")
        depth = frame["prcp"].to_numpy(dtype=np.float64, na_value=np.nan)
        if self.interval_s == HOUR_S:
            times = times + np.timedelta64(standard_offset_s(timezone) - HOUR_S, "s")
        return Piece(times, depth, {}, attribution)

    def _stations_file(self) -> Path:
        """Keep a list of stations, of at most 30 days where there is a network."""
        from meteostat import config

        path = self.folder / "meteostat_stations.db"
        if path.exists() and time.time() - path.stat().st_mtime < LIST_AGE_S:
            return path
        self.folder.mkdir(parents=True, exist_ok=True)
        for address in config.stations_db_endpoints:
            with contextlib.suppress(NoNetworkError):  # the next address, or the older list
                if network.download(address, path, "Meteostat's list of stations"):
                    return path
        if not path.exists():
            raise NoNetworkError("Meteostat: its list of stations cannot be fetched.")
        return path


def _share(listed: object) -> float | None:
    """Completeness as a share, be it listed as a share or in percent."""
    try:
        value = float(str(listed))
    except ValueError:
        return None
    if not 0 <= value <= 100:
        return None
    return value / 100 if value > 1 else value


class _Faults(logging.Handler):
    """What the library only logs: a file that could not be loaded, other than one that is absent.

    Its data calls raise nothing: without this, a broken line would look like a year without rain.
    """

    def __init__(self, found: list[str]) -> None:
        super().__init__(logging.WARNING)
        self.found = found

    def emit(self, record: logging.LogRecord) -> None:
        cause = record.exc_info[1] if record.exc_info else None
        if not isinstance(cause, FileNotFoundError):  # a mirror in a folder has no such year
            self.found.append(str(cause or record.getMessage()))


@contextlib.contextmanager
def _library(stations_file: Path) -> Iterator[list[str]]:
    """Set the library to observations only, no pickles, no waiting without end; collect faults."""
    from meteostat import config

    settings: dict[str, Any] = {
        "include_model_data": False,
        "block_large_requests": False,
        "cache_enable": False,
        "network_max_retries": 0,
        "stations_db_file": str(stations_file),
        "stations_db_ttl": 10**10,
    }
    faults: list[str] = []
    handler = _Faults(faults)
    log = logging.getLogger("meteostat")
    with _one_at_a_time:
        before = {key: getattr(config, key) for key in settings}
        wait_s, aloud = socket.getdefaulttimeout(), log.propagate
        try:
            for key, value in settings.items():
                setattr(config, key, value)
            socket.setdefaulttimeout(network.READ_S)  # it reads by urllib, without a timeout
            log.addHandler(handler)
            log.propagate = False
            yield faults
        finally:
            log.propagate = aloud
            log.removeHandler(handler)
            socket.setdefaulttimeout(wait_s)
            for key, value in before.items():
                setattr(config, key, value)
