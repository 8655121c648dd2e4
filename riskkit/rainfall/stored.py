"""Rain records kept on this machine: a Parquet file with its origin, licence and repairs inside.

One column, ``depth_mm``, a row per interval, a gap as null; the rest is JSON in the file's metadata
under the key ``riskkit.rain``. Any reader of Parquet opens it; nothing of riskkit is needed.
"""

from __future__ import annotations

import io
import json
from collections.abc import Mapping
from pathlib import Path
from typing import Any

import numpy as np

from riskkit.errors import InputError
from riskkit.files import write_bytes
from riskkit.records import FloatArray, RainRecord
from riskkit.removed import Removed, Why

__all__ = ["about_stored", "pack_columns", "read_stored", "unpack_columns", "write_stored"]

KEY = b"riskkit.rain"
FORM, FORM_VERSION = "riskkit-stored-rain", 1
MAX_ROWS = 30_000_000  # 57 years of minutes
AGAIN = "fetch it again, or take the original file"


def pack_columns(columns: Mapping[str, FloatArray], about: Mapping[str, Any]) -> bytes:
    """Pack columns of numbers and words about them as a Parquet file.

    Parameters
    ----------
    columns : mapping of str to (n,) array
        Columns [any]; NaN becomes null.
    about : mapping
        What JSON can hold.

    Returns
    -------
    bytes
        The file.

    References
    ----------
    arithmetic : bookkeeping
    """
    import pyarrow as pa
    import pyarrow.parquet as pq

    arrays = {name: pa.array(values, from_pandas=True) for name, values in columns.items()}
    table = pa.table(arrays)
    table = table.replace_schema_metadata({KEY: json.dumps(dict(about)).encode()})
    stream = io.BytesIO()
    pq.write_table(table, stream, compression="zstd")
    return stream.getvalue()


def unpack_columns(
    path: Path, names: tuple[str, ...]
) -> tuple[dict[str, FloatArray], dict[str, Any]]:
    """Read what `pack_columns` packed.

    Parameters
    ----------
    path : Path
        The file.
    names : tuple of str
        Columns that must be there.

    Returns
    -------
    columns : dict of str to (n,) array
        The columns, null as NaN [any].
    about : dict
        The words about them; empty where the file has none.

    Raises
    ------
    InputError
        Where it is missing, damaged, too large, or has other columns.

    References
    ----------
    arithmetic : bookkeeping
    """
    import pyarrow as pa
    import pyarrow.parquet as pq

    where = path.name
    if not path.is_file():
        raise InputError(where, f"there is no such file at {path}", "check the name and the folder")
    try:
        with pq.ParquetFile(path) as file:
            about = json.loads((file.metadata.metadata or {}).get(KEY, b"{}"))
            if not set(names) <= set(file.schema_arrow.names):
                what = f"it has no column {' or '.join(names)}"
                raise InputError(where, what, "a record that riskkit stored is needed")
            if file.metadata.num_rows > MAX_ROWS:
                raise InputError(where, f"it has more than {MAX_ROWS:,} rows")
            table = file.read(list(names)).cast(pa.schema([(n, pa.float64()) for n in names]))
    except (pa.ArrowException, OSError, ValueError) as error:
        if isinstance(error, InputError):
            raise
        raise InputError(where, "the Parquet file is damaged or cut short", AGAIN) from None
    return {name: table[name].to_numpy().astype(np.float64) for name in names}, about


def write_stored(record: RainRecord, path: Path, about: Mapping[str, str]) -> None:
    """Keep a record as a Parquet file that `read_rain` reads back without loss.

    Parameters
    ----------
    record : RainRecord
        The record.
    path : Path
        The file, ending in ``.parquet``; written whole or not at all.
    about : mapping of str to str
        ``source``, ``station``, ``origin``, ``licence`` and ``fetched``, and what else helps.

    Raises
    ------
    InputError
        Where the file cannot be written.

    References
    ----------
    arithmetic : bookkeeping
    """
    words = {
        "form": FORM,
        "form_version": FORM_VERSION,
        "start": str(record.start),
        "interval_s": record.interval_s,
        "unit": "mm",
        "name": record.name,
        "notes": list(record.notes),
        "removed": [[str(one.time), one.depth_mm, one.why.value] for one in record.removed],
        "about": dict(about),
    }
    write_bytes(path, pack_columns({"depth_mm": record.depth_mm}, words))


def read_stored(path: str | Path) -> RainRecord:
    """Read a record that was kept as a Parquet file.

    Parameters
    ----------
    path : str or Path
        The file.

    Returns
    -------
    RainRecord
        The record; its first note says where it is from, the others what was repaired.

    Raises
    ------
    InputError
        Where the file is missing, damaged, or not one that riskkit stored.

    References
    ----------
    arithmetic : bookkeeping
    """
    path = Path(path)
    columns, words = unpack_columns(path, ("depth_mm",))
    about = _about(words, path)
    try:
        start, interval_s = np.datetime64(str(words["start"]), "s"), int(words["interval_s"])
        name, notes = str(words["name"]), [str(note) for note in words["notes"]]
        removed = tuple(
            Removed(np.datetime64(str(time), "s"), float(depth), Why(why))
            for time, depth, why in words.get("removed", ())  # older files have none
        )
    except (KeyError, TypeError, ValueError):
        raise InputError(path.name, "the words about the record are damaged", AGAIN) from None
    notes.insert(0, _origin(about))
    return RainRecord(columns["depth_mm"], start, interval_s, name, tuple(notes), removed=removed)


def about_stored(path: str | Path) -> dict[str, str]:
    """Say where a stored record is from.

    Parameters
    ----------
    path : str or Path
        The file.

    Returns
    -------
    dict of str to str
        ``source``, ``station``, ``origin``, ``licence``, ``fetched`` and more.

    Raises
    ------
    InputError
        Where the file is missing, damaged, or not one that riskkit stored.

    References
    ----------
    arithmetic : bookkeeping
    """
    path = Path(path)
    return _about(unpack_columns(path, ())[1], path)


def _about(words: Mapping[str, Any], path: Path) -> dict[str, str]:
    right = "write the times and depths as CSV"
    if words.get("form") != FORM:
        raise InputError(path.name, "it is not a record that riskkit stored", right)
    if words.get("form_version") != FORM_VERSION:
        what = f"it was stored in form {words.get('form_version')}, which is newer than this one"
        raise InputError(path.name, what, "use the riskkit that stored it")
    about = words.get("about")
    if not isinstance(about, dict):
        raise InputError(path.name, "the words about the record are damaged", AGAIN)
    return {str(key): str(value) for key, value in about.items()}


def _origin(about: Mapping[str, str]) -> str:
    said = {key: about.get(key, "not said") for key in ("source", "station", "fetched", "licence")}
    named = about.get("attribution", "")
    return (
        f"From {said['source']}, station {said['station']}, fetched {said['fetched']}; "
        f"licence: {said['licence']}{f'; data by {named}' if named else ''}."
    )
