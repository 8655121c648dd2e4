"""Partitions of answers as parquet, each written whole or not at all, with what they rest on.

A run is a folder: ``run.json`` says what was asked, ``part-00000.parquet`` and so on hold the
homes, ``bad-00000.json`` the rows of that partition that were refused. A partition is done when its
parquet is there, which is written last.
"""

from __future__ import annotations

import datetime
import io
import json
from collections.abc import Iterator, Sequence
from dataclasses import asdict
from pathlib import Path
from typing import Any

import pyarrow as pa
import pyarrow.parquet as pq

from riskkit.errors import InputError
from riskkit.files import read_text, write_bytes, write_text
from riskkit.fleet.settings import READ_VERSIONS, SCHEMA_VERSION
from riskkit.fleet.table import BadRow
from riskkit.version import __version__

__all__ = [
    "MANIFEST",
    "SCHEMA",
    "day_of_run",
    "done_parts",
    "open_run",
    "part_bytes",
    "part_path",
    "read_bad_rows",
    "read_columns",
    "read_manifest",
    "read_notes",
    "rows_done",
    "withdraw_run",
    "write_part",
]

MANIFEST = "run.json"
_TEXT, _FLOAT, _DRAWS = pa.string(), pa.float64(), pa.list_(pa.float32())
_KINDS: dict[str, Any] = {
    "row": pa.int64(),
    "id": _TEXT,
    "name": _TEXT,
    "neighbourhood": _TEXT,
    "place": _TEXT,
    "latitude": _FLOAT,
    "longitude": _FLOAT,
    "last_visit": pa.date32(),
    "visit_every_yr": _FLOAT,
    "pump_age_yr": _FLOAT,
    "left": pa.list_(_TEXT),
    "has_pump": pa.bool_(),
    "told": pa.int64(),
    "chance_low": _FLOAT,
    "chance_median": _FLOAT,
    "chance_high": _FLOAT,
    "chance_mean": _FLOAT,
    "floods_per_yr": _FLOAT,
    "by_overtopping_per_yr": _FLOAT,
    "by_pump_per_yr": _FLOAT,
    "by_outage_per_yr": _FLOAT,
    "by_no_pump_per_yr": _FLOAT,
    "in_order_wet_share": _FLOAT,
    "never_share": _FLOAT,
    "minutes_low": _FLOAT,
    "minutes_median": _FLOAT,
    "minutes_high": _FLOAT,
    "month_share": pa.list_(_FLOAT),
    "by_age_per_yr": _DRAWS,
    "left_per_yr": _DRAWS,
    "wet": _DRAWS,
    "alarms": _DRAWS,
    "dead_to_alarm_s": _DRAWS,
    "dead_to_floor_s": _DRAWS,
    "stop_to_floor_s": _DRAWS,
    "stop_warning_s": _DRAWS,
    "out_chance": _DRAWS,
    "lost_chance": _DRAWS,
    "sounds_chance": _DRAWS,
    "sounds_out_chance": _DRAWS,
    "hears": _DRAWS,
    "can_act": _DRAWS,
    "acts_after_s": _DRAWS,
    "acts_log_sd": _DRAWS,
}
SCHEMA = pa.schema(list(_KINDS.items()))
"""Columns of a partition."""
_OTHER = {
    "schema_version": "of another version of riskkit",
    "riskkit": "of another version of riskkit",
    "settings": "with other settings",
    "part_size": "with parts of another size",
    "table": "of another table of homes",
    "usual": "with other rain",
    "rain": "with other rain",
}
_SAME = tuple(_OTHER)


def part_bytes(rows: Sequence[dict[str, Any]], about: dict[str, Any]) -> bytes:
    """Make a partition.

    Parameters
    ----------
    rows : sequence of dict
        Homes.
    about : dict
        What they rest on; it stands in the metadata of the file.

    Returns
    -------
    bytes
        The file.
    """
    columns = {name: [row[name] for row in rows] for name in SCHEMA.names}
    noted = {"riskkit": json.dumps(about, sort_keys=True)}
    table = pa.Table.from_pydict(columns, schema=SCHEMA.with_metadata(noted))
    stream = io.BytesIO()
    pq.write_table(table, stream, compression="zstd")
    return stream.getvalue()


def open_run(folder: Path, manifest: dict[str, Any]) -> dict[str, Any]:
    """Begin a run in a folder, or go on with the one that is there.

    Parameters
    ----------
    folder : Path
        The folder; it is made where it is not there.
    manifest : dict
        What is asked.

    Returns
    -------
    dict
        The manifest of the run.

    Raises
    ------
    InputError
        Where the folder holds another run, or other files.
    """
    manifest = {"schema_version": SCHEMA_VERSION, "riskkit": __version__, **manifest}
    path = folder / MANIFEST
    if path.exists():
        there = read_manifest(folder)
        differs = [key for key in _SAME if there.get(key) != manifest.get(key)]
        if differs:
            what = f"it holds a run {_OTHER[differs[0]]}"
            raise InputError(folder.name, what, "name another folder, or ask as before")
    else:
        try:
            folder.mkdir(exist_ok=True)
            stranger = next((each for each in folder.iterdir() if not _is_left_over(each)), None)
        except OSError as error:
            raise InputError(folder.name, f"it cannot be made ({error.strerror})") from None
        if stranger is not None:
            raise InputError(folder.name, "the folder holds other files", "name an empty folder")
        write_text(path, json.dumps(manifest, indent=1, sort_keys=True) + "\n")
    for left_over in folder.glob(".riskkit.*.part"):  # of a run that was killed
        left_over.unlink(missing_ok=True)
    return manifest


def withdraw_run(folder: Path, *, with_folder: bool) -> None:
    """Remove a run in which no home was worked out.

    Parameters
    ----------
    folder : Path
        Folder of the run.
    with_folder : bool
        Whether the folder goes too, as far as nothing else is in it.

    Raises
    ------
    InputError
        Where it cannot be removed.
    """
    ours = (MANIFEST, "part-*.parquet", "bad-*.json", "bad_rows.csv", ".riskkit.*")
    try:
        for pattern in ours:
            for each in sorted(folder.glob(pattern)):
                each.unlink(missing_ok=True)
        if with_folder and not any(folder.iterdir()):
            folder.rmdir()
    except OSError as error:
        raise InputError(folder.name, f"it cannot be removed ({error.strerror})") from None


def _is_left_over(path: Path) -> bool:
    return path.name.startswith(".riskkit.")


def read_manifest(folder: Path) -> dict[str, Any]:
    """Read what a run rests on.

    Parameters
    ----------
    folder : Path
        Folder of the run.

    Returns
    -------
    dict
        The manifest.

    Raises
    ------
    InputError
        Where there is no run, or one of another schema version.
    """
    if not (folder / MANIFEST).is_file():
        raise InputError(folder.name, "there is no run in this folder", "begin one with fleet run")
    try:
        found = json.loads(read_text(folder / MANIFEST))
    except (ValueError, RecursionError):  # no JSON, or a number or a depth that nobody writes
        raise InputError(folder.name, f"its {MANIFEST} cannot be read") from None
    if not isinstance(found, dict) or found.get("schema_version") not in READ_VERSIONS:
        raise InputError(folder.name, "it holds a run of another version", "run it again")
    return found


def part_path(folder: Path, number: int) -> Path:
    """Name the file of a partition.

    Parameters
    ----------
    folder : Path
        Folder of the run.
    number : int
        Of the partition [-].

    Returns
    -------
    Path
        The file, which need not be there.
    """
    return folder / f"part-{number:05d}.parquet"


def write_part(folder: Path, number: int, data: bytes, bad: Sequence[BadRow]) -> None:
    """Write a partition: the refused rows first, the homes last and whole.

    Parameters
    ----------
    folder : Path
        Folder of the run.
    number : int
        Of the partition [-].
    data : bytes
        Its homes.
    bad : sequence of BadRow
        Its refused rows.

    Raises
    ------
    InputError
        Where the folder cannot be written to.
    """
    text = json.dumps([asdict(row) for row in bad], indent=1) + "\n"
    write_text(folder / f"bad-{number:05d}.json", text)
    write_bytes(part_path(folder, number), data)


def done_parts(folder: Path) -> set[int]:
    """Numbers of the partitions that are whole.

    Parameters
    ----------
    folder : Path
        Folder of the run.

    Returns
    -------
    set of int
        Numbers.
    """
    return {int(path.stem.partition("-")[2]) for path in folder.glob("part-*.parquet")}


def rows_done(folder: Path) -> tuple[int, int] | None:
    """Tell how far a run came.

    Parameters
    ----------
    folder : Path
        Folder of the run.

    Returns
    -------
    tuple of int or None
        Rows of the table in partitions that are there, and all rows; None where a run of an
        earlier version did not note how many there are [-].

    Raises
    ------
    InputError
        Where there is no run.
    """
    asked = read_manifest(folder)
    total, size = asked.get("rows"), asked.get("part_size")
    if not isinstance(total, int) or not isinstance(size, int):
        return None
    done = sum(max(min(size, total - number * size), 0) for number in done_parts(folder))
    return done, total


def day_of_run(folder: Path) -> datetime.date | None:
    """Return the day at which ages are reckoned in a run, which is gone on with as it was begun.

    Parameters
    ----------
    folder : Path
        Folder of the run, which need not be there.

    Returns
    -------
    date or None
        None where no run was begun there.

    Raises
    ------
    InputError
        Where there is one that cannot be read.
    """
    if not (folder / MANIFEST).is_file():
        return None
    try:
        return datetime.date.fromisoformat(read_manifest(folder)["settings"]["day"])
    except (KeyError, TypeError, ValueError):
        raise InputError(folder.name, f"its {MANIFEST} cannot be read") from None


def read_bad_rows(folder: Path) -> Iterator[BadRow]:
    """Read the refused rows of a run.

    Parameters
    ----------
    folder : Path
        Folder of the run.

    Yields
    ------
    BadRow
        In the order of the table.
    """
    for number in sorted(done_parts(folder)):
        for entry in json.loads(read_text(folder / f"bad-{number:05d}.json")):
            yield BadRow(**entry)


def read_notes(path: Path) -> str:
    """Read what a partition says that it rests on.

    Parameters
    ----------
    path : Path
        The partition.

    Returns
    -------
    str
        JSON.

    Raises
    ------
    InputError
        Where it cannot be read.
    """
    try:
        noted = pq.read_schema(path).metadata or {}
    except (pa.ArrowException, OSError):
        right = "delete it and run again: the others stay"
        raise InputError(path.name, "this partition cannot be read", right) from None
    return str(noted.get(b"riskkit", b"{}").decode("utf-8"))


def read_columns(folder: Path, names: Sequence[str]) -> Iterator[pa.Table]:
    """Read some columns of a run, partition by partition.

    Parameters
    ----------
    folder : Path
        Folder of the run.
    names : sequence of str
        Columns of `SCHEMA`.

    Yields
    ------
    pyarrow.Table
        The homes of one partition.

    Raises
    ------
    InputError
        Where a partition cannot be read.
    """
    for number in sorted(done_parts(folder)):
        path = part_path(folder, number)
        try:
            yield pq.read_table(path, columns=list(names))
        except (pa.ArrowException, OSError):
            right = "delete it and run again: the others stay"
            raise InputError(path.name, "this partition cannot be read", right) from None
