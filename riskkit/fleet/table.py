"""Read a table of homes, CSV, parquet, xlsx or a folder of home files, row by row.

A row that cannot be read comes back with its reason and the others go on. Nothing is held but the
row in hand, so that the table may be of any length.
"""

from __future__ import annotations

import csv
import datetime
import itertools
from collections.abc import Iterable, Iterator, Mapping
from dataclasses import dataclass, field, replace
from pathlib import Path
from typing import Any

from riskkit.errors import InputError, RiskkitError
from riskkit.failures.circumstances import Circumstances
from riskkit.files import need_file, read_text
from riskkit.fleet.columns import columns, read_header
from riskkit.fleet.export import csv_text, unguarded
from riskkit.home.backup import backup_of
from riskkit.home.home import Home, home_of, read_home
from riskkit.quantities.text import brief, cleaned, steering_letter, with_unit
from riskkit.quantities.units import parse_quantity

__all__ = [
    "LEAVABLE",
    "BadRow",
    "FleetHome",
    "RawRow",
    "bad_rows_text",
    "home_of_row",
    "read_rows",
]

LEAVABLE = frozenset({
    "pump_sudden", "switch_stuck", "outlet_blocked", "outlet_frozen", "air_locked", "inlet_clogged",
    "alarm_silent", "alarm_battery_dead", "second_pump_fails", "battery_weak", "generator_fails",
})  # fmt: skip
"""Causes that a visit may find and leave."""
_BESIDE_THE_PUMP = {  # by cause: the section of the home file, and what it is called
    "second_pump_fails": ("second_pump", "second pump"),
    "battery_weak": ("battery", "battery"),
    "generator_fails": ("generator", "generator"),
}
_MOST_LETTERS = 4000  # of a cell
_BESIDE = ("id", "name", "neighbourhood")
_HOW = frozenset({"measured", "given"})


@dataclass(frozen=True)
class RawRow:
    """A row as it was read, before anybody looked at what stands in it.

    Parameters
    ----------
    number : int
        Row of the table, the header being row 1; place among the files of a folder [-].
    cells : tuple of pairs of str
        Key and text of each cell that is not empty, its unit added; of a home file its path.
    file : str
        Path of the home file; empty for a row of a table.
    text : str
        What stands in it, where it was read.
    """

    number: int
    cells: tuple[tuple[str, str], ...]
    file: str = ""
    text: str = ""

    def loaded(self) -> RawRow:
        """Return the row with the text of its home file, which another machine cannot read.

        Returns
        -------
        RawRow
            The same for a row of a table.

        Raises
        ------
        InputError
            Where the file cannot be read.
        """
        return replace(self, text=read_text(Path(self.file))) if self.file else self


@dataclass(frozen=True)
class BadRow:
    """A row that was refused.

    Parameters
    ----------
    number : int
        Row of the table [-].
    home_id : str
        Its id, as far as it has one.
    reason : str
        Why, in one sentence.
    """

    number: int
    home_id: str
    reason: str


@dataclass(frozen=True)
class FleetHome:
    """A home among others.

    Parameters
    ----------
    home_id : str
        The company's own name of it.
    number : int
        Row of the table [-].
    home : Home
        What is known of it.
    neighbourhood : str
        Which homes share its ground; empty for none.
    circumstances : Circumstances
        What is known besides.
    last_visit : date or None
        Day of the last visit; None where there was none.
    left : frozenset of str
        Causes that it found and left.
    """

    home_id: str
    number: int
    home: Home
    neighbourhood: str = ""
    circumstances: Circumstances = field(default_factory=Circumstances)
    last_visit: datetime.date | None = None
    left: frozenset[str] = frozenset()


def read_rows(path: Path) -> Iterator[RawRow]:
    """Read the rows of a table, or the home files of a folder.

    Parameters
    ----------
    path : Path
        A file .csv, .parquet or .xlsx, or a folder of home files.

    Yields
    ------
    RawRow
        Row by row.

    Raises
    ------
    InputError
        Where it cannot be read, or its header names a column that there is not.
    """
    if path.is_dir():
        files = sorted(each for each in path.glob("*.toml") if not each.name.startswith("."))
        if not files:
            raise InputError(path.name, "the folder holds no home file", "put one there, *.toml")
        for number, each in enumerate(files, start=1):
            yield RawRow(number, (("id", each.stem),), str(each))
        return
    need_file(path)
    readers = {".csv": _csv_lines, ".parquet": _parquet_lines, ".xlsx": _xlsx_lines}
    reader = readers.get(path.suffix.lower())
    if reader is None:
        right = "give a file .csv, .parquet or .xlsx, or a folder of home files"
        raise InputError(path.name, "it is not a table of homes", right)
    yield from _rows_of(reader(path), path.name)


def _rows_of(lines: Iterator[list[Any]], where: str) -> Iterator[RawRow]:
    try:
        header = next(lines, None)
        if header is None or not any(str(cell or "").strip() for cell in header):
            raise InputError(where, "it is empty", "riskkit fleet template writes a header")
        heads = [read_header(str(cell or ""), where) for cell in header]
        keys = [key for key, _ in heads]
        twice = next((key for key in keys if keys.count(key) > 1), None)
        if twice is not None:
            raise InputError(where, f"the column {twice} stands there twice", "keep one of them")
        if "id" not in keys:
            raise InputError(where, "there is no column id", "give every home a name of its own")
        for number, line in enumerate(lines, start=2):
            cells = [_text(cell) for cell in line]
            if not any(cells):
                continue
            pairs = [
                (key, _with_unit(text, unit))
                for (key, unit), text in zip(heads, cells, strict=False)
                if text
            ]
            if any(cells[len(heads) :]):
                pairs.append(("", "more cells than the header"))
            yield RawRow(number, tuple(pairs))
    except (csv.Error, UnicodeDecodeError) as error:
        what = "it is not UTF-8 text" if isinstance(error, UnicodeDecodeError) else str(error)
        raise InputError(where, f"it cannot be read ({brief(what)})") from None


def _csv_lines(path: Path) -> Iterator[list[Any]]:
    with path.open(encoding="utf-8-sig", newline="") as stream:
        first = stream.readline()
        delimiter = ";" if first.count(";") > first.count(",") else ","
        yield from csv.reader(itertools.chain([first], stream) if first else [],
                              delimiter=delimiter, strict=True)  # fmt: skip


def _parquet_lines(path: Path) -> Iterator[list[Any]]:
    import pyarrow as pa
    import pyarrow.parquet as pq

    try:
        with pq.ParquetFile(path) as table:
            yield list(table.schema_arrow.names)
            for batch in table.iter_batches(batch_size=1024):
                yield from (list(row.values()) for row in batch.to_pylist())
    except (pa.ArrowException, OSError) as error:
        raise InputError(path.name, f"it is no parquet table ({brief(str(error))})") from None


def _xlsx_lines(path: Path) -> Iterator[list[Any]]:
    try:
        import openpyxl
    except ModuleNotFoundError:
        right = 'pip install "riskkit[fleet]"'
        raise InputError(path.name, "reading xlsx needs openpyxl", right) from None
    from zipfile import BadZipFile

    try:
        book = openpyxl.load_workbook(path, read_only=True, data_only=True)
    except (BadZipFile, KeyError, ValueError, OSError) as error:
        raise InputError(path.name, f"it is no xlsx table ({brief(str(error))})") from None
    try:
        for line in book.worksheets[0].iter_rows(values_only=True):
            yield list(line)
    finally:
        book.close()


def _text(cell: object) -> str:
    if cell is None or (isinstance(cell, float) and cell != cell):
        return ""
    if isinstance(cell, bool):
        return "yes" if cell else "no"
    if isinstance(cell, datetime.datetime):
        return cell.date().isoformat()
    if isinstance(cell, float) and cell.is_integer() and abs(cell) < 1e15:
        return str(int(cell))
    return unguarded(str(cell).strip())


def _with_unit(text: str, unit: str) -> str:
    """Add the unit of the header before "measured" or "given", where the cell names none."""
    if not unit:
        return text
    body, comma, how = text.rpartition(",")
    if comma and how.strip().lower() in _HOW:
        return f"{with_unit(body, unit)}, {how.strip().lower()}"
    return with_unit(text, unit)


def home_of_row(row: RawRow) -> FleetHome | BadRow:
    """Make a home of a row, or say what is wrong with it.

    Parameters
    ----------
    row : RawRow
        The row.

    Returns
    -------
    FleetHome or BadRow
        The home, or why there is none.
    """
    cells = dict(row.cells)
    home_id = cells.get("id", "")
    try:
        odd = next((key for key, text in row.cells if steering_letter(text)), None)
        if odd is not None:
            raise InputError(odd, "it holds a control character", "write plain text")
        if row.file:
            return _of_file(home_id, row)
        if "" in cells:
            raise InputError(
                "cells", f"there are {cells['']} has", "quote a cell that holds a comma"
            )
        if not home_id:
            raise InputError("id", "the row has no id", "give every home its own")
        long = next((key for key, text in row.cells if len(text) > _MOST_LETTERS), None)
        if long is not None:
            raise InputError(long, f"a cell of more than {_MOST_LETTERS:,} letters is too long")
        return _of_cells(home_id, row.number, cells)
    except RiskkitError as error:
        return BadRow(row.number, cleaned(home_id, 60), str(error))


def _of_file(home_id: str, row: RawRow) -> FleetHome:
    path = Path(row.file)
    text = row.text or read_text(path)
    home = read_home(text, path.name).in_folder(path.parent.absolute())
    days = [visit.date for visit in home.visit]
    return FleetHome(home_id, row.number, home, last_visit=max(days, default=None))


def _of_cells(home_id: str, number: int, cells: Mapping[str, str]) -> FleetHome:
    data: dict[str, Any] = {"name": cells.get("name", home_id)}
    for key, text in cells.items():
        section, _, name = key.partition(".")
        if key not in _BESIDE and section != "service":
            data.setdefault(section, {})[name] = text
    last, home = cells.get("service.last_visit"), home_of(data, "")  # the row stands beside
    return FleetHome(
        home_id, number, home, cells.get("neighbourhood", ""),
        _circumstances(cells),
        None if last is None else _day(last), _left(cells.get("service.left", ""), home),
    )  # fmt: skip


def _circumstances(cells: Mapping[str, str]) -> Circumstances:
    return Circumstances(visit_every_yr=_years(cells, "service.visits_every"))


def _years(cells: Mapping[str, str], key: str) -> float | None:
    text = cells.get(key)
    if text is None or text.lower() == "unknown":
        return None
    return parse_quantity(with_unit(text, "yr"), "yr", key, columns()[key].example)


def _day(text: str) -> datetime.date:
    try:
        return datetime.date.fromisoformat(text)
    except ValueError:
        what = f"{brief(text)!r} is not a day"
        raise InputError("service.last_visit", what, "write it like 2026-04-14") from None


def _left(text: str, home: Home) -> frozenset[str]:
    found = frozenset(text.split())
    for cause in sorted(found - LEAVABLE):
        right = f"known are {', '.join(sorted(LEAVABLE))}"
        raise InputError("service.left", f"there is no cause {brief(cause)!r}", right)
    there = backup_of(home).parts
    for cause, (part, words) in _BESIDE_THE_PUMP.items():
        if cause in found and part not in there:
            what = f"{cause} is left, but the home tells of no {words}"
            raise InputError("service.left", what, f"fill in a column of {part}")
    return found


def bad_rows_text(rows: Iterable[BadRow]) -> str:
    """Write refused rows as CSV.

    Parameters
    ----------
    rows : iterable of BadRow
        The rows.

    Returns
    -------
    str
        Row, id and reason, in the order of the table.
    """
    ordered = sorted(rows, key=lambda row: row.number)
    return csv_text(
        ("row", "id", "reason"), [(row.number, row.home_id, row.reason) for row in ordered]
    )
