"""Rain records kept on this machine: a Parquet file with its origin, licence and repairs inside.

One column, ``depth_mm``, a row per interval, a gap as null; the rest is JSON in the file's metadata
under the key ``riskkit.rain``. Any reader of Parquet opens it; nothing of riskkit is needed.
"""

from __future__ import annotations

import io
import json
import re
from collections.abc import Mapping
from pathlib import Path
from typing import Any, NoReturn

import numpy as np

from riskkit.errors import InputError
from riskkit.files import need_file, write_bytes
from riskkit.limits import RECORD_INTERVALS, STORED_NOTES, STORED_WORDS
from riskkit.quantities.text import brief, cleaned
from riskkit.rainfall.readers.stamps import EARLIEST_YEAR, LATEST_YEAR
from riskkit.records import FloatArray, RainRecord
from riskkit.records.removed import Removed, Why

__all__ = ["pack_columns", "read_stored", "unpack_columns", "write_stored"]

KEY = b"riskkit.rain"
FORM, FORM_VERSION = "riskkit-stored-rain", 1
MAX_DEPTH_MM = 1e9
MOST_ABOUT = 400  # letters of one thing that is said; lists of agencies are long
AGAIN = "fetch it again, or take the original file"
_DAMAGED = "the words about the record are damaged"
_TIME = re.compile(r"\d{4}-\d\d-\d\dT\d\d:\d\d(?::\d\d)?", re.ASCII)


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
        Where it is missing, damaged, too large, or has other columns or other words.
    """
    import pyarrow as pa
    import pyarrow.parquet as pq

    where = path.name
    need_file(path)
    try:
        with pq.ParquetFile(path) as file:
            about = _words((file.metadata.metadata or {}).get(KEY, b"{}"), where)
            kinds = {n: file.schema_arrow.field(n).type for n in names if _is_one(file, n)}
            if len(kinds) < len(names):
                what = f"it has no column {' or '.join(names)}"
                raise InputError(where, what, "a record that riskkit stored is needed")
            if not all(map(_is_number, kinds.values())):
                what = f"its column {' or '.join(names)} does not hold numbers"
                raise InputError(where, what, "a record that riskkit stored is needed")
            if file.metadata.num_rows > RECORD_INTERVALS:
                raise InputError(where, f"it has more than {RECORD_INTERVALS:,} rows")
            table = file.read(list(names)).cast(pa.schema([(n, pa.float64()) for n in names]))
    except (pa.ArrowException, OSError, ValueError) as error:
        if isinstance(error, InputError):
            raise
        raise InputError(where, "the Parquet file is damaged or cut short", AGAIN) from None
    return {name: table[name].to_numpy().astype(np.float64) for name in names}, about


def _is_one(file: Any, name: str) -> bool:
    return list(file.schema_arrow.names).count(name) == 1


def _is_number(kind: Any) -> bool:
    import pyarrow as pa

    return bool(pa.types.is_floating(kind) or pa.types.is_integer(kind))


def _words(data: bytes, where: str) -> dict[str, Any]:
    """Read the words about a record: a JSON object whose numbers are finite."""

    def refuse(_: str) -> NoReturn:
        raise ValueError

    try:
        words = json.loads(data, parse_constant=refuse) if len(data) <= STORED_WORDS else None
    except (ValueError, RecursionError):  # no JSON, no UTF-8, nested or numbers without end
        words = None
    if not isinstance(words, dict):
        raise InputError(where, _DAMAGED, AGAIN)
    return words


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
    """
    path = Path(path)
    columns, words = unpack_columns(path, ("depth_mm",))
    about = _about(words, path)
    if not _is_in_order(words):
        raise InputError(path.name, _DAMAGED, AGAIN)
    depth_mm, interval_s = columns["depth_mm"], words["interval_s"]
    start = _time(words["start"], path.name, "start")
    end = start.astype(np.int64) + depth_mm.size * interval_s
    if end >= np.datetime64(str(LATEST_YEAR + 1), "s").astype(np.int64):
        raise InputError(path.name, f"it ends after the year {LATEST_YEAR}", AGAIN)
    if not depth_mm.size:
        raise InputError(path.name, "it holds no rain", AGAIN)
    wrong = depth_mm[(depth_mm < 0) | np.isinf(depth_mm)]
    if wrong.size:
        raise InputError(path.name, f"a depth is {wrong[0]:g} mm, which cannot be", AGAIN)
    return RainRecord(
        depth_mm, start, interval_s, words["name"], (_origin(about), *words["notes"]),
        removed=tuple(_removed(row, path.name) for row in words.get("removed", ())),
    )  # fmt: skip


def _is_in_order(words: Mapping[str, Any]) -> bool:
    """Whether the words of a record are of the kinds that were written, and within bounds."""
    interval_s, notes = words.get("interval_s"), words.get("notes")
    return (
        type(interval_s) is int
        and 60 <= interval_s <= 86400
        and words.get("unit") == "mm"
        and isinstance(words.get("name"), str)
        and isinstance(notes, list)
        and len(notes) <= STORED_NOTES
        and all(isinstance(note, str) for note in notes)
        and isinstance(words.get("start"), str)
        and isinstance(words.get("removed", []), list)  # older files have none
    )


def _time(text: object, where: str, name: str) -> np.datetime64:
    try:
        if not isinstance(text, str) or _TIME.fullmatch(text) is None:
            raise ValueError
        time = np.datetime64(text, "s")
    except ValueError:
        what = f"its {name}, {brief(str(text), 40)!r}, is not a time"
        raise InputError(where, what, AGAIN) from None
    if not EARLIEST_YEAR <= int(str(text)[:4]) <= LATEST_YEAR:
        what = (
            f"its {name}, {str(text)[:10]}, is outside the years {EARLIEST_YEAR} to {LATEST_YEAR}"
        )
        raise InputError(where, what, AGAIN)
    return time


def _removed(row: object, where: str) -> Removed:
    """Read one value that the reader of the original set to missing: time, depth and reason."""
    try:
        if not isinstance(row, list):
            raise ValueError
        time, depth_mm, why = row
        if not isinstance(depth_mm, int | float) or not 0 <= depth_mm <= MAX_DEPTH_MM:
            raise ValueError
        return Removed(_time(time, where, "removed value"), float(depth_mm), Why(why))
    except (TypeError, ValueError) as error:
        if isinstance(error, InputError):
            raise
        raise InputError(where, _DAMAGED, AGAIN) from None


def _about(words: Mapping[str, Any], path: Path) -> dict[str, str]:
    right = "write the times and depths as CSV"
    if words.get("form") != FORM:
        raise InputError(path.name, "it is not a record that riskkit stored", right)
    version, about = words.get("form_version"), words.get("about")
    if type(version) is int and FORM_VERSION < version < 1000:
        what = f"it was stored in form {version}, which is newer than this one"
        raise InputError(path.name, what, "use the riskkit that stored it")
    if type(version) is not int or version != FORM_VERSION or not isinstance(about, dict):
        raise InputError(path.name, _DAMAGED, AGAIN)
    if not all(isinstance(value, str) for value in about.values()):
        raise InputError(path.name, _DAMAGED, AGAIN)
    return {cleaned(key, 40): cleaned(value, MOST_ABOUT) for key, value in about.items()}


def _origin(about: Mapping[str, str]) -> str:
    said = {key: about.get(key, "not said") for key in ("source", "station", "fetched", "licence")}
    named = about.get("attribution", "")
    return (
        f"From {said['source']}, station {said['station']}, fetched {said['fetched']}; "
        f"licence: {said['licence']}{f'; data by {named}' if named else ''}."
    )
