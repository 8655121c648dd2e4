"""US daily rain through the Applied Climate Information System: stations, and a gridded product."""

from __future__ import annotations

import calendar
import datetime
import math
from collections.abc import Callable, Mapping, Sequence
from dataclasses import dataclass
from typing import TYPE_CHECKING, Any

import numpy as np
import requests

from riskkit.errors import InputError
from riskkit.quantities.text import brief
from riskkit.rainfall.distance import distance_km
from riskkit.rainfall.readers.plain import DAILY_NOTE
from riskkit.rainfall.sources import network
from riskkit.rainfall.sources.candidate import Candidate, Piece, is_on_earth

if TYPE_CHECKING:
    import pandas as pd

__all__ = ["AcisGrid", "AcisStations"]

DAY_S = 86400
SERVICE = "https://data.rcc-acis.org"
KM_PER_DEGREE = 111.2
GHCN_TYPE = "6"  # of station codes: the one of the global daily network
OLDEST = "1850-01-01"
PRISM_FIRST_YEAR = 1981
PRISM_BOX = (24.0, 50.0, -125.0, -66.0)  # south, north, west, east of the contiguous states
TRACE = -1.0  # stands for a trace until the traces are counted; no depth is negative
TIMEOUT = (network.CONNECT_S, network.READ_S)
LICENCE = "free public service; name ACIS, NOAA Regional Climate Centers"


def _ask(
    call: Callable[[], tuple[pd.DataFrame, dict[str, Any]]], what: str
) -> tuple[pd.DataFrame | None, dict[str, Any]]:
    """Ask ACIS; None where it has no data, which it says as an error with status 200."""
    try:
        with np.errstate(invalid="raise"):  # a number that is not a time, turned into one
            return network.keep_trying(call, what)
    except requests.HTTPError as error:
        if "no data" in str(error).lower():
            return None, {}
        raise InputError(what, f"ACIS refuses: {str(error)[:120]}") from None
    except (ArithmeticError, AttributeError, IndexError, TypeError):  # of the library, when misled
        raise InputError(what, "the answer cannot be read") from None


@dataclass(frozen=True)
class AcisStations:
    """Daily rain of US stations.

    Parameters
    ----------
    service : str
        Address of the web service.
    """

    service: str = SERVICE
    key: str = "acis"
    title: str = "ACIS, US stations, daily"

    @property
    def addresses(self) -> tuple[str, ...]:
        """The service."""
        return (self.service,)

    @property
    def notes(self) -> tuple[str, ...]:
        """What holds for every record."""
        return (DAILY_NOTE,)

    def near(self, latitude: float, longitude: float, within_km: float) -> tuple[Candidate, ...]:
        """List stations near a place; their years are those of the station, not of its rain.

        Parameters
        ----------
        latitude, longitude : float
            The place; north and east positive [deg].
        within_km : float
            How far away a station may be [km].

        Returns
        -------
        tuple of Candidate
            In any order.

        Raises
        ------
        NoNetworkError
            Where ACIS does not answer.
        InputError
            Where it refuses, or a station of its list has no place or height.

        References
        ----------
        acis : StnMeta
        """
        from pvlib.iotools import get_acis_available_stations

        north = within_km / KM_PER_DEGREE
        east = north / max(math.cos(math.radians(latitude)), 0.01)
        today = datetime.date.today()

        def call() -> tuple[pd.DataFrame, dict[str, Any]]:
            frame = get_acis_available_stations(
                [latitude - north, latitude + north],
                [longitude - east, longitude + east],
                OLDEST,
                today,
                url=f"{self.service}/StnMeta",
                timeout=TIMEOUT,
            )
            return frame, {}

        try:
            frame, _ = _ask(call, "ACIS, list of stations")
        except KeyError as error:
            what = f"the list of stations lacks {error.args[0]!r} for one of them"
            raise InputError("ACIS", what, "ask within fewer kilometres") from None
        except InputError:
            raise
        except ValueError:
            raise InputError("ACIS", "its list of stations cannot be read") from None
        if frame is None:
            return ()
        found = []
        for row in frame.to_dict("records"):
            try:
                years = _years(row["sid_dates"], today.year)
                place = float(row["latitude"]), float(row["longitude"])
                code, name = _code(row["sids"]), str(row["name"])
                if not is_on_earth(*place):
                    raise ValueError
            except (AttributeError, LookupError, TypeError, ValueError):
                what = f"a station of its list cannot be read: {brief(str(row), 80)}"
                raise InputError("ACIS", what) from None
            away = float(distance_km(latitude, longitude, *place))
            if years is None or away > within_km:
                continue
            found.append(
                Candidate(
                    self.key,
                    code,
                    name,
                    *place,
                    away,
                    *years,
                    DAY_S,
                    LICENCE,
                    remark="years of the station; its rain may be shorter",
                )
            )
        return tuple(found)

    def year(self, candidate: Candidate, year: int) -> Piece | None:
        """Fetch one calendar year; months with totals over several days are left out.

        Parameters
        ----------
        candidate : Candidate
            A station.
        year : int
            Calendar year [yr].

        Returns
        -------
        Piece or None
            The year; None where it holds no rain.

        Raises
        ------
        NoNetworkError
            Where ACIS does not answer.
        InputError
            Where it refuses.

        References
        ----------
        acis : StnData
        """
        whole = self._span(candidate, year, 1, 12)
        repairs = {}
        if isinstance(whole, str):
            months = [self._span(candidate, year, month, month) for month in range(1, 13)]
            n_left_out = sum(isinstance(month, str) for month in months)
            repairs["Months with totals over several days, kept as missing: {}."] = n_left_out
            parts = [month for month in months if month is not None and not isinstance(month, str)]
        else:
            parts = [] if whole is None else [whole]
        if not parts:
            return None
        times = np.concatenate([part[0] for part in parts])
        depth = np.concatenate([part[1] for part in parts])
        if np.isnan(depth).all():
            return None
        trace = depth == TRACE
        depth[trace] = 0.0
        repairs["Traces, read as 0: {}."] = int(trace.sum())
        return Piece(times, depth, repairs, "ACIS, NOAA Regional Climate Centers")

    def _span(
        self, candidate: Candidate, year: int, first_month: int, last_month: int
    ) -> tuple[Any, Any] | str | None:
        """Days and depths; a text where a code stands for a number, None where there is nothing."""
        from pvlib.iotools import get_acis_station_data

        first = datetime.date(year, first_month, 1)
        last = datetime.date(year, last_month, calendar.monthrange(year, last_month)[1])
        last = min(last, datetime.date.today())
        if last < first:
            return None
        what = f"ACIS, {candidate.name}, {first} to {last}"

        def call() -> tuple[pd.DataFrame, dict[str, Any]]:
            frame, meta = get_acis_station_data(
                candidate.station,
                first,
                last,
                trace_val=TRACE,
                url=f"{self.service}/StnData",
                timeout=TIMEOUT,
            )
            return frame, meta

        try:
            frame, _ = _ask(call, what)
        except InputError:
            raise
        except (KeyError, ValueError) as error:
            if "could not convert" in str(error):  # "S" and "13.5A": part of, and end of, a total
                return str(error)
            raise InputError(what, "the answer cannot be read") from None
        if frame is None:
            return None
        return _series(frame, what)


def _series(frame: pd.DataFrame, what: str) -> tuple[Any, Any]:
    try:
        times = frame.index.to_numpy().astype("datetime64[s]")
        return times, frame["precipitation"].to_numpy(dtype=np.float64, copy=True)
    except (KeyError, TypeError, ValueError):
        raise InputError(what, "the answer cannot be read") from None


def _years(dates: object, this_year: int) -> tuple[int, int] | None:
    """First and last year of all codes of a station; 9999 is today."""
    if not isinstance(dates, list):
        return None
    spans = [(int(str(row[1])[:4]), int(str(row[2])[:4])) for row in dates if row[1] and row[2]]
    if not spans:
        return None
    return min(first for first, _ in spans), min(max(last for _, last in spans), this_year)


def _code(codes: Sequence[str]) -> str:
    """Return the code in the global daily network, else the first."""
    by_type: Mapping[str, str] = {code.split()[-1]: code.split()[0] for code in reversed(codes)}
    return by_type.get(GHCN_TYPE, codes[0].split()[0])


@dataclass(frozen=True)
class AcisGrid:
    """Daily rain of a grid over the contiguous US (PRISM), at the place itself.

    Parameters
    ----------
    service : str
        Address of the web service.
    """

    service: str = SERVICE
    key: str = "grid"
    title: str = "PRISM grid through ACIS, daily"

    @property
    def addresses(self) -> tuple[str, ...]:
        """The service."""
        return (self.service,)

    @property
    def notes(self) -> tuple[str, ...]:
        """What holds for every record."""
        return (
            "Estimated for a grid cell, not measured: cloudbursts are smoothed, so short storms of "
            "this record are too small.",
            "Days end at 12:00 UTC.",
        )

    def near(self, latitude: float, longitude: float, within_km: float) -> tuple[Candidate, ...]:
        """Offer the grid cell of a place in the contiguous US; nothing is asked.

        Parameters
        ----------
        latitude, longitude : float
            The place; north and east positive [deg].
        within_km : float
            Has no effect [km].

        Returns
        -------
        tuple of Candidate
            One, or none elsewhere.

        References
        ----------
        acis : GridData, grid 21
        """
        south, north, west, east = PRISM_BOX
        if not (south <= latitude <= north and west <= longitude <= east):
            return ()
        cell = Candidate(
            self.key,
            "prism",
            f"cell at {latitude:.3f}, {longitude:.3f}",
            latitude,
            longitude,
            0.0,
            PRISM_FIRST_YEAR,
            datetime.date.today().year,
            DAY_S,
            "PRISM Climate Group, Oregon State University: name it; its terms of use apply",
            remark="estimated, not measured",
        )
        return (cell,)

    def year(self, candidate: Candidate, year: int) -> Piece | None:
        """Fetch one calendar year.

        Parameters
        ----------
        candidate : Candidate
            The cell.
        year : int
            Calendar year [yr].

        Returns
        -------
        Piece or None
            The year; None where it holds no rain.

        Raises
        ------
        NoNetworkError
            Where ACIS does not answer.
        InputError
            Where it refuses.

        References
        ----------
        acis : GridData, grid 21
        """
        from pvlib.iotools import get_acis_prism

        first, last = datetime.date(year, 1, 1), datetime.date(year, 12, 31)
        last = min(last, datetime.date.today())
        what = f"ACIS, PRISM, {year}"

        def call() -> tuple[pd.DataFrame, dict[str, Any]]:
            frame, meta = get_acis_prism(
                candidate.latitude,
                candidate.longitude,
                first,
                last,
                url=f"{self.service}/GridData",
                timeout=TIMEOUT,
            )
            return frame, meta

        try:
            frame, _ = _ask(call, what)
        except InputError:
            raise
        except (KeyError, ValueError):
            raise InputError(what, "the answer cannot be read") from None
        if frame is None:
            return None
        times, depth = _series(frame, what)
        if np.isnan(depth).all():
            return None
        # a day is named by its end at 12 UTC
        return Piece(times, depth, {}, "PRISM Climate Group, Oregon State University, by ACIS")
