"""What a source of rain is, what it offers, and what it hands over for one year."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, field
from typing import Protocol

import numpy as np
from numpy.typing import NDArray

from riskkit.records import FloatArray
from riskkit.records.frozen import clean_texts, need

__all__ = ["Candidate", "Piece", "Source", "is_on_earth"]

FIRST_YEAR, LAST_YEAR = 1700, 2200  # of any record


@dataclass(frozen=True)
class Candidate:
    """A record that can be fetched.

    Parameters
    ----------
    source : str
        Key of the source.
    station : str
        Its station, as the source writes it.
    name : str
        Name of the station.
    latitude, longitude : float
        Where it is; north and east positive [deg].
    distance_km : float
        How far from the place asked for [km].
    first_year, last_year : int
        Years it may hold, as listed; not a promise [yr].
    interval_s : int
        Length of an interval [s].
    licence : str
        Under which terms.
    completeness : float, optional
        Share of the time with a value, as listed [-].
    remark : str
        What to know before taking it.
    """

    source: str
    station: str
    name: str
    latitude: float
    longitude: float
    distance_km: float
    first_year: int
    last_year: int
    interval_s: int
    licence: str
    completeness: float | None = None
    remark: str = ""

    def __post_init__(self) -> None:
        clean_texts(self)
        where = f"station {self.key}"
        place = is_on_earth(self.latitude, self.longitude)
        need(place and 0 <= self.distance_km <= 20_100, where, "its place is none on Earth")
        years = min(self.first_year, self.last_year) >= FIRST_YEAR
        years = years and max(self.first_year, self.last_year) <= LAST_YEAR
        need(years, where, f"its years are outside {FIRST_YEAR} to {LAST_YEAR}")
        share = self.completeness is None or 0 <= self.completeness <= 1
        need(share, where, "its completeness is no share")

    @property
    def key(self) -> str:
        """Source and station, as a person types it."""
        return f"{self.source}:{self.station}"


@dataclass(frozen=True)
class Piece:
    """One year of a record, as the source gave it.

    Parameters
    ----------
    times : (n,) array of datetime64
        Start of each interval, local standard time where the source tells the zone [date].
    depth_mm : (n,) array
        Rain; NaN where missing [mm].
    repairs : mapping of str to int
        Sentence with ``{}`` for the number, and the number [-].
    attribution : str
        Whom the source asks to name.
    """

    times: NDArray[np.datetime64]
    depth_mm: FloatArray
    repairs: Mapping[str, int] = field(default_factory=dict)
    attribution: str = ""

    def __post_init__(self) -> None:
        clean_texts(self)
        same = self.times.shape == self.depth_mm.shape and self.times.ndim == 1
        need(same, "a year of rain", "there is not one time for each depth")


class Source(Protocol):
    """A public source of rain."""

    @property
    def key(self) -> str:
        """Short name, part of what a person types."""

    @property
    def title(self) -> str:
        """Name in words."""

    @property
    def addresses(self) -> tuple[str, ...]:
        """Addresses that must answer; none where everything is on this machine."""

    @property
    def notes(self) -> tuple[str, ...]:
        """What holds for every record of the source, a sentence each."""

    def near(self, latitude: float, longitude: float, within_km: float) -> tuple[Candidate, ...]:
        """List what it has near a place.

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
            Where the source does not answer.
        InputError
            Where it answers something that cannot be read.
        """

    def year(self, candidate: Candidate, year: int) -> Piece | None:
        """Fetch one calendar year.

        Parameters
        ----------
        candidate : Candidate
            One of its own.
        year : int
            Calendar year [yr].

        Returns
        -------
        Piece or None
            The year; None where the source has nothing of it.

        Raises
        ------
        NoNetworkError
            Where the source does not answer.
        InputError
            Where it answers something that cannot be read.
        """


def is_on_earth(latitude: float, longitude: float) -> bool:
    """Tell whether a latitude and a longitude are ones.

    Parameters
    ----------
    latitude, longitude : float
        A place [deg].

    Returns
    -------
    bool
        False also where one is missing or infinite.
    """
    return -90 <= latitude <= 90 and -180 <= longitude <= 180
