"""Files of a folder that a page offers: rain, tables of depths, temperatures, logs of pumps."""

from __future__ import annotations

import gzip
import re
import zlib
from collections.abc import Iterable
from pathlib import Path

from riskkit.quantities.text import steering_letter

__all__ = ["files_of", "list_logs", "list_rain", "list_tables", "list_temperatures"]

_TABLE = (".csv", ".txt")
# also after the mark that spreadsheets put before a text
_IS_LOG = re.compile(
    rb"^(?:\xef\xbb\xbf)?\"?time\"?\W.*\b(running|level_|below_floor_)",
    re.MULTILINE | re.IGNORECASE,
)
# a table of homes has a column for a key of a home
_IS_HOMES = re.compile(rb"^(id\W|.*[,;\t\"](house|roof|ground|pit|pump)\.[a-z_]+)")
_IS_TABLE = re.compile(
    rb"^(#\s*series\s*:|duration\s*[,;\t]|point precipitation frequency)",
    re.MULTILINE | re.IGNORECASE,
)
_RAIN = (".csv", ".csv.gz", ".dly", ".txt", ".parquet")


def files_of(folder: Path, endings: Iterable[str]) -> list[Path]:
    """Return the files of a folder with one of some endings, but for hidden ones.

    Parameters
    ----------
    folder : Path
        The folder.
    endings : iterable of str
        How their names end.

    Returns
    -------
    list of Path
        In no order; none where there is no such folder.
    """
    if not folder.is_dir():
        return []
    ends = tuple(endings)
    found = [p for p in folder.iterdir() if p.name.endswith(ends) and not p.name.startswith(".")]
    return [path for path in found if path.is_file()]


def _data_files(folder: Path) -> list[Path]:
    """Files that a home can name: none whose name a home file would refuse."""
    return [path for path in files_of(folder, _RAIN) if not steering_letter(path.name)]


def _begins_like(pattern: re.Pattern[bytes], path: Path) -> bool:
    try:
        with gzip.open(path) if path.name.endswith(".gz") else path.open("rb") as stream:
            return pattern.search(stream.read(4096)) is not None
    except (OSError, EOFError, zlib.error):
        return False


def list_rain(folder: Path) -> list[str]:
    """List the files of a folder that may hold rain: no table, temperatures, pump log or homes.

    Parameters
    ----------
    folder : Path
        The folder.

    Returns
    -------
    list of str
        Their names.
    """
    tables = list_tables(folder)
    names = sorted(path.name for path in _data_files(folder) if "temperature" not in path.name)
    others = {
        path.name
        for path in _data_files(folder)
        if _begins_like(_IS_LOG, path) or _begins_like(_IS_HOMES, path)
    }
    return [name for name in names if name not in tables and name not in others]


def list_logs(folder: Path) -> list[str]:
    """List the files of a folder that begin like a log of a pump.

    Parameters
    ----------
    folder : Path
        The folder.

    Returns
    -------
    list of str
        Their names; a log with a fault is among them, so that its fault is said.
    """
    return sorted(path.name for path in _data_files(folder) if _begins_like(_IS_LOG, path))


def list_tables(folder: Path) -> list[str]:
    """List the files of a folder that begin like an official table of rain depths.

    Parameters
    ----------
    folder : Path
        The folder.

    Returns
    -------
    list of str
        Their names; a table with a fault is among them, so that its fault is said.
    """
    files = [path for path in _data_files(folder) if path.name.endswith(_TABLE)]
    return sorted(path.name for path in files if _begins_like(_IS_TABLE, path))


def list_temperatures(folder: Path) -> list[str]:
    """List the files of a folder that may hold daily temperatures, by their name.

    Parameters
    ----------
    folder : Path
        The folder.

    Returns
    -------
    list of str
        Their names.
    """
    return sorted(path.name for path in _data_files(folder) if "temperature" in path.name)
