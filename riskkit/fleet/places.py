"""Rain of places: read once for all homes under it, with where it came from."""

from __future__ import annotations

import hashlib
from dataclasses import dataclass, replace
from pathlib import Path

import numpy as np

from riskkit.antecedent.levels import LEVELS
from riskkit.errors import InputError
from riskkit.files import need_file
from riskkit.fleet.past import PastStorm, past_storms
from riskkit.home.folder import named_file
from riskkit.home.home import Home
from riskkit.rainfall.events import split_storms
from riskkit.records import RainRecord
from riskkit.risk.design_rain import DesignRain, design_rain

__all__ = ["Place", "PlaceFiles", "file_hash", "place_files", "read_place", "storm_months"]

_STORMS_PER_YR = 6.0  # that count for the months, as many as count for the chance of a year
_EVEN = (1 / 12,) * 12


@dataclass(frozen=True)
class PlaceFiles:
    """Files of rain that homes name, or those of the whole run.

    Parameters
    ----------
    record, table, temperature, levels : str
        Paths; empty for none.
    """

    record: str = ""
    table: str = ""
    temperature: str = ""
    levels: str = ""

    @property
    def name(self) -> str:
        """All of them in one text."""
        return " ".join(Path(each).name for each in self.paths)

    @property
    def paths(self) -> tuple[str, ...]:
        """Those that are named."""
        named = (self.record, self.table, self.temperature, self.levels)
        return tuple(each for each in named if each)


@dataclass(frozen=True, eq=False)
class Place:
    """Rain for all homes of a place, without the record itself.

    Parameters
    ----------
    name : str
        Of its files.
    rain : DesignRain
        Depths, and the days where temperatures are given.
    month_share : tuple of float
        Share of the storms that counts for each month, January first [-].
    hashes : tuple of pairs of str
        Name and SHA-256 of each file.
    past : tuple of PastStorm
        Large storms of its record.
    middle : tuple of float, optional
        Where these storms are as the record has them; None where they are so everywhere [deg].
    """

    name: str
    rain: DesignRain
    month_share: tuple[float, ...] = _EVEN
    hashes: tuple[tuple[str, str], ...] = ()
    past: tuple[PastStorm, ...] = ()
    middle: tuple[float, float] | None = None


def place_files(home: Home, folder: Path, usual: PlaceFiles) -> PlaceFiles:
    """Return the files of rain that a home names, or else those of the run.

    Parameters
    ----------
    home : Home
        The home.
    folder : Path
        Folder of the table; that of a home file takes precedence over it.
    usual : PlaceFiles
        Files of the run, for homes that name neither record nor table.

    Returns
    -------
    PlaceFiles
        What `read_place` reads.

    Raises
    ------
    InputError
        Where a file lies outside the folder.
    """
    placed = home.in_folder(home.folder or folder)
    rain, levels = home.rain, home.choice(LEVELS)

    def path(name: str | None) -> str:
        if not name:
            return ""
        try:
            return str(named_file(placed.home_folder, name).absolute())
        except InputError as error:
            right = "move it there, or name the rain with --rain or --table"
            raise InputError(error.where, error.what, right) from None

    if rain.record is None and rain.table is None:
        return replace(usual, levels=path(levels))
    return PlaceFiles(path(rain.record), path(rain.table), path(rain.temperature), path(levels))


def read_place(
    files: PlaceFiles, seed: int, past: int = 0, middle: tuple[float, float] | None = None
) -> Place:
    """Read the rain of a place.

    Parameters
    ----------
    files : PlaceFiles
        Its files.
    seed : int
        Of the limits of the depths [-].
    past : int
        Largest storms of the record to keep [-].
    middle : tuple of float, optional
        Where they are as the record has them [deg].

    Returns
    -------
    Place
        Its rain.

    Raises
    ------
    InputError
        Where there is none, or a file cannot be read.
    """
    if not files.record and not files.table:
        right = "name one in the column rain.record or rain.table, or with --rain or --table"
        raise InputError("rain", "no rain record and no official table is given", right)
    # the files by their full names, as if a home named them
    home = Home().in_folder("/")
    sections = {"record": files.record, "table": files.table, "temperature": files.temperature}
    rain_section = home.rain.model_copy(update={k: v or None for k, v in sections.items()})
    levels = {"water_levels": files.levels or None}
    ground = home.ground.model_copy(update=levels)  # type: ignore[attr-defined]  # made from a table
    home = home.model_copy(update={"rain": rain_section, "ground": ground}).in_folder("/")
    found = design_rain(home, seed=seed)
    hashes = tuple((Path(each).name, file_hash(Path(each))) for each in files.paths)
    months: tuple[float, ...] = _EVEN
    storms: tuple[PastStorm, ...] = ()
    if found.record is not None:
        months = storm_months(found.record)
        storms = past_storms(found.record, found.used, past, found.weather)
    rain = replace(found, record=None, unused=None)
    return Place(files.name, rain, months, hashes, storms, middle)


def storm_months(record: RainRecord) -> tuple[float, ...]:
    """Share of the largest storms of a record that begin in each month.

    Half a storm is added to each month, so that no month of a short record is without storms.

    Parameters
    ----------
    record : RainRecord
        The record.

    Returns
    -------
    tuple of 12 float
        Shares of January to December; they add up to 1 [-].

    References
    ----------
    judgement : six storms a year, and half a storm for each month
    """
    storms = sorted(split_storms(record), key=lambda each: -each.depth_mm)
    years = record.depth_mm.size * record.interval_s / (365.25 * 86400)
    counted = storms[: max(round(_STORMS_PER_YR * years), 1)]
    count = np.full(12, 0.5)
    for storm in counted:
        count[storm.month - 1] += 1
    return tuple(float(share) for share in count / count.sum())


def file_hash(path: Path) -> str:
    """Return the SHA-256 of a file.

    Parameters
    ----------
    path : Path
        The file.

    Returns
    -------
    str
        In hexadecimal.

    Raises
    ------
    InputError
        Where there is no such file.
    """
    need_file(path)
    with path.open("rb") as stream:
        return hashlib.file_digest(stream, "sha256").hexdigest()
