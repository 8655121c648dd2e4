"""The rain and the place of each row of a table, without making a home of it.

Rows are read by one process for all workers: it looks at the few cells that name files of rain and
at latitude and longitude, and leaves the rest to the workers. What a place is read from is read
once.
"""

from __future__ import annotations

from collections import OrderedDict
from functools import lru_cache
from pathlib import Path

from riskkit.antecedent.levels import LEVELS
from riskkit.errors import RiskkitError
from riskkit.fleet.jobs import MOST_PLACES
from riskkit.fleet.places import Place, PlaceFiles, place_files, read_place
from riskkit.fleet.settings import FleetSettings
from riskkit.fleet.table import BadRow, RawRow, home_of_row
from riskkit.home._fields import read_degrees
from riskkit.home.home import home_of

__all__ = ["Places"]

_Spot = tuple[float, float]
_NAMING = ("rain.record", "rain.table", "rain.temperature", LEVELS)
_MOST_KEPT = 4096


class Places:
    """The rain of places, read once; what cannot be read is refused for every home there.

    Parameters
    ----------
    folder : Path
        Folder of the table.
    usual : PlaceFiles
        Rain for homes that name none.
    settings : FleetSettings
        How homes are worked out.
    """

    def __init__(self, folder: Path, usual: PlaceFiles, settings: FleetSettings) -> None:
        self._folder, self._usual, self._settings = folder, usual, settings
        self._found: OrderedDict[PlaceFiles, Place | str] = OrderedDict()
        self._sums: dict[PlaceFiles | None, tuple[float, float, int]] = {}
        self._named = lru_cache(maxsize=_MOST_KEPT)(self._files_named)
        self._of_file = lru_cache(maxsize=_MOST_KEPT)(self._about_file)

    @property
    def middle(self) -> _Spot | None:
        """Where a storm over all homes is as it is said; the middle of the rows that were seen."""
        return self._middle_of(None)

    def see(self, row: RawRow) -> None:
        """Take in where a row lies.

        Parameters
        ----------
        row : RawRow
            A row of the table.
        """
        files, spot = self._about(row)
        if spot is None or isinstance(files, str):
            return
        for key in (None, files):
            north, east, count = self._sums.get(key, (0.0, 0.0, 0))
            self._sums[key] = north + spot[0], east + spot[1], count + 1

    def of(self, row: RawRow) -> Place | str:
        """Return the rain of a row.

        Parameters
        ----------
        row : RawRow
            A row of the table.

        Returns
        -------
        Place or str
            The rain, or why there is none.
        """
        files, _ = self._about(row)
        if isinstance(files, str):
            return files
        if files not in self._found:
            try:
                self._found[files] = read_place(
                    files, self._settings.seed, self._settings.past, self._middle_of(files)
                )
            except RiskkitError as error:
                self._found[files] = str(error)
            while len(self._found) > MOST_PLACES:
                self._found.popitem(last=False)
        self._found.move_to_end(files)
        return self._found[files]

    def _middle_of(self, files: PlaceFiles | None) -> _Spot | None:
        if self._settings.gauge is not None:
            return self._settings.gauge
        north, east, count = self._sums.get(files, (0.0, 0.0, 0))
        # to a kilometre, so that it does not hang on the order of the rows
        return (round(north / count, 2), round(east / count, 2)) if count else None

    def _about(self, row: RawRow) -> tuple[PlaceFiles | str, _Spot | None]:
        if row.file:
            return self._of_file(row)
        cells = dict(row.cells)
        files = self._named(tuple(cells.get(key, "") for key in _NAMING))
        return files, _spot_of(cells.get("place.latitude"), cells.get("place.longitude"))

    def _about_file(self, row: RawRow) -> tuple[PlaceFiles | str, _Spot | None]:
        home = home_of_row(row)
        if isinstance(home, BadRow):
            return home.reason, None
        where = home.home.place
        try:
            files = place_files(home.home, self._folder, self._usual)
        except RiskkitError as error:
            return str(error), None
        if where.latitude is None or where.longitude is None:
            return files, None
        return files, (where.latitude, where.longitude)

    def _files_named(self, texts: tuple[str, ...]) -> PlaceFiles | str:
        data: dict[str, dict[str, str]] = {}
        for key, text in zip(_NAMING, texts, strict=True):
            if text:
                section, name = key.split(".")
                data.setdefault(section, {})[name] = text
        try:
            return place_files(home_of(data, "rain"), self._folder, self._usual)
        except RiskkitError as error:
            return str(error)


def _spot_of(latitude: str | None, longitude: str | None) -> _Spot | None:
    """Where a row lies; None where it tells no place, or one that cannot be."""
    if latitude is None or longitude is None:
        return None
    try:
        north = read_degrees(latitude, "place.latitude")
        east = read_degrees(longitude, "place.longitude")
    except RiskkitError:  # the row is refused by the worker, in words of its own
        return None
    return None if north is None or east is None else (north, east)
