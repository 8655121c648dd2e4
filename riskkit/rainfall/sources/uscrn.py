"""The US Climate Reference Network: rain per 5 minutes, by year, in public fixed-width files."""

from __future__ import annotations

import csv
import datetime
import tempfile
from dataclasses import dataclass
from pathlib import Path

import numpy as np

from riskkit.errors import InputError
from riskkit.files import read_text
from riskkit.quantities.text import count_of
from riskkit.rainfall.distance import distance_km
from riskkit.rainfall.sources import network
from riskkit.rainfall.sources.candidate import Candidate, Piece, is_on_earth

__all__ = ["ReferenceNetwork"]

INTERVAL_S = 300
PRODUCTS = "https://www.ncei.noaa.gov/pub/data/uscrn/products"
FIRST_YEAR = 2005  # of the 5-minute files
LICENCE = "public domain (US government); name NOAA NCEI, US Climate Reference Network"


@dataclass(frozen=True)
class ReferenceNetwork:
    """Rain per 5 minutes of the US Climate Reference Network.

    Parameters
    ----------
    products : str
        Address of the folder of its products.
    """

    products: str = PRODUCTS
    key: str = "uscrn"
    title: str = "US Climate Reference Network, 5 min"

    @property
    def addresses(self) -> tuple[str, ...]:
        """The folder of the products."""
        return (self.products,)

    @property
    def notes(self) -> tuple[str, ...]:
        """What holds for every record."""
        return ("Times were intervals ended, in UTC; they are intervals begun, in standard time.",)

    def near(self, latitude: float, longitude: float, within_km: float) -> tuple[Candidate, ...]:
        """List stations near a place.

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
            Where the archive does not answer.
        InputError
            Where its list of stations cannot be read.

        References
        ----------
        uscrn : list of stations
        """
        what = "US Climate Reference Network, list of stations"
        with tempfile.TemporaryDirectory() as folder:
            path = Path(folder) / "stations.tsv"
            if not network.download(f"{self.products}/stations.tsv", path, what):
                raise InputError(what, "it is no longer at its address")
            rows = list(csv.DictReader(read_text(path).splitlines(), delimiter="\t"))
        found = []
        for row in rows:
            try:
                place = float(row["LATITUDE"]), float(row["LONGITUDE"])
                words = [row[key].strip() for key in ("STATE", "LOCATION", "VECTOR")]
                begin, end = _year(row["COMMISSIONING"]), _year(row["CLOSING"])
                if not is_on_earth(*place):
                    raise ValueError
            except (KeyError, TypeError, ValueError, AttributeError):
                raise InputError(what, f"a row cannot be read: {str(row)[:80]}") from None
            away = float(distance_km(latitude, longitude, *place))
            if away > within_km:
                continue
            today = datetime.date.today().year
            found.append(
                Candidate(
                    self.key,
                    "_".join(words).replace(" ", "_"),
                    " ".join(words),
                    *place,
                    away,
                    max(begin or FIRST_YEAR, FIRST_YEAR),
                    min(end or today, today),
                    INTERVAL_S,
                    LICENCE,
                )
            )
        return tuple(found)

    def year(self, candidate: Candidate, year: int) -> Piece | None:
        """Fetch one year's file.

        Parameters
        ----------
        candidate : Candidate
            A station.
        year : int
            Calendar year, in UTC [yr].

        Returns
        -------
        Piece or None
            The year; None where there is no file, or no rain in it.

        Raises
        ------
        NoNetworkError
            Where the archive does not answer.
        InputError
            Where the file cannot be read.

        References
        ----------
        uscrn : 5-minute files
        """
        import pandas as pd
        from pvlib.iotools import read_crn

        what = f"US Climate Reference Network, {candidate.name}, {year}"
        name = f"CRNS0101-05-{year}-{candidate.station}.txt"
        with tempfile.TemporaryDirectory() as folder:
            path = Path(folder) / name
            if not network.download(f"{self.products}/subhourly01/{year}/{name}", path, what):
                return None
            try:
                frame = read_crn(path)
                stamps = frame["LST_DATE"].astype(str) + frame["LST_TIME"].astype(str).str.zfill(4)
                ends = pd.to_datetime(stamps, format="%Y%m%d%H%M")
            except (ValueError, TypeError, KeyError):
                raise InputError(what, "the file cannot be read") from None
        times = ends.to_numpy().astype("datetime64[s]") - np.timedelta64(INTERVAL_S, "s")
        depth = frame["PRECIPITATION"].to_numpy(dtype=np.float64, copy=True)
        if np.isnan(depth).all():
            return None
        return Piece(times, depth, {}, "NOAA NCEI, US Climate Reference Network")


def _year(cell: str) -> int | None:
    """Year of a date such as ``2006-08-31 00:00:00``; None where it is empty."""
    return count_of(cell.strip()[:4], 9999)
