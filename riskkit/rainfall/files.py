"""Text tables as people have them: found, unpacked, decoded and cut into columns, or refused.

Every refusal is one sentence that says where, what is wrong and what would be right. Nothing here
knows about rain; the readers beside it do.
"""

from __future__ import annotations

import csv
import gzip
import re
import zlib
from array import array
from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from pathlib import Path

import numpy as np

from riskkit._texts import brief
from riskkit.errors import InputError
from riskkit.files import need_file
from riskkit.records import FloatArray, IntArray

__all__ = ["CsvText", "numbers_of", "read_columns", "read_text", "split_csv"]

MAX_BYTES = 400_000_000  # unpacked; a guard against archives that unpack without end
MAX_LINE = 100_000  # letters
MAX_ROWS = 10_000_000  # 19 years of minutes, 95 years of 5 minutes

BATCH_ROWS = 5000
MOST = 1e9  # of any number in a table of rain, temperatures or levels

MISSING_TEXT = frozenset(
    ["", "nan", "NaN", "NAN", "NA", "na", "N/A", "n/a", "null", "NULL", "None", "M", "-", "--"]
)
MISSING_CODES = (-9999.0, -999.9, -999.0, -99.99, -99.9, -99.0)

_FOREIGN = {
    b"PK\x03\x04": "is an Excel workbook or a zip archive",
    b"\xd0\xcf\x11\xe0": "is an old Excel workbook",
    b"%PDF": "is a PDF",
    b"\xff\xfe": "is UTF-16 text",
    b"\xfe\xff": "is UTF-16 text",
}


_CONTROL = re.compile(rb"[\x00-\x08\x0e-\x1f\x7f]")  # among them what steers a terminal


_ASCII, _DEGREE = frozenset(range(128)), 0xB0


def read_text(path: str | Path) -> str:
    """Read a text file, packed by gzip or not, as UTF-8 with plain line ends.

    Parameters
    ----------
    path : str or Path
        The file.

    Returns
    -------
    str
        Its text.

    Raises
    ------
    InputError
        Where the file is missing, a folder, a pipe, empty, cut short, not text, not UTF-8, a web
        page, or larger than 400 MB.

    References
    ----------
    arithmetic : bookkeeping
    """
    path = Path(path)
    where = path.name or str(path)
    need_file(path)
    data = _unpacked(path, where)
    if len(data) > MAX_BYTES:
        raise InputError(where, f"it holds more than {MAX_BYTES // 10**6} MB", "cut it in parts")
    if not data.strip():
        raise InputError(where, "it is empty", "a table with a header line is needed")
    for magic, what in _FOREIGN.items():
        if data.startswith(magic):
            raise InputError(where, f"it {what}, not a CSV table", 'save it as "CSV UTF-8"')
    if _CONTROL.search(data):
        raise InputError(where, "it is a binary file, not text", 'save it as "CSV UTF-8"')
    try:
        text = data.decode("utf-8-sig")
    except UnicodeDecodeError as error:
        if set(data) - _ASCII == {_DEGREE}:  # the same sign in all older western encodings
            return _plain_ends(data.decode("latin-1"))
        line = data[: error.start].count(b"\n") + 1
        byte = data[error.start]
        raise InputError(
            f"{where}, line {line}",
            f"the byte 0x{byte:02X} is not UTF-8 text",
            'save the file as "CSV UTF-8"',
        ) from None
    if text.lstrip()[:1] == "<":
        raise InputError(
            where,
            "it is a web page, not a table",
            "download the file itself, not the page that shows it",
        )
    return _plain_ends(text)


def _plain_ends(text: str) -> str:
    return text.replace("\r\n", "\n").replace("\r", "\n")


def _unpacked(path: Path, where: str) -> bytes:
    try:
        with path.open("rb") as raw:
            packed = raw.read(2) == b"\x1f\x8b"
        with gzip.open(path) if packed else path.open("rb") as stream:
            data: bytes = stream.read(MAX_BYTES + 1)
    except (EOFError, zlib.error, gzip.BadGzipFile):
        raise InputError(
            where, "the gzip archive is damaged or cut short", "download it again"
        ) from None
    except OSError as error:
        raise InputError(where, f"it cannot be opened ({error.strerror})") from None
    return data


# comments that readers go by; two of them that differ cannot both be right
_TELLING = frozenset(
    {
        *("unit", "interval", "stamp", "dry intervals", "after a gap"),
        *("origin", "series", "years", "floor"),
    }
)


@dataclass(frozen=True)
class CsvText:
    """A table as text: its comments, its header and the lines below it."""

    where: str
    comments: Mapping[str, str]
    header: tuple[str, ...]
    separator: str
    body: tuple[str, ...]
    first_line: int

    @property
    def decimal_comma(self) -> bool:
        """Whether a comma in a number is its decimal mark."""
        return self.separator != ","

    def place(self, line: int) -> str:
        """Name a line of the file for a message.

        Parameters
        ----------
        line : int
            Number of the line, the first is 1.

        Returns
        -------
        str
            File and line.

        References
        ----------
        arithmetic : bookkeeping
        """
        return f"{self.where}, line {line}"


def split_csv(text: str, where: str) -> CsvText:
    """Take the comments and the header from a table.

    Lines before the header that begin with ``#`` are comments; ``# key: value`` is kept by its key
    in lower case. What the readers go by must not be said twice and otherwise; any other comment
    may be. Columns are separated by commas, semicolons or tabs.

    Parameters
    ----------
    text : str
        The file's text.
    where : str
        The file's name, for messages.

    Returns
    -------
    CsvText
        Comments, header and body.

    Raises
    ------
    InputError
        Where there is no header, or nothing below it, or two comments contradict each other.

    References
    ----------
    arithmetic : bookkeeping
    """
    n_lines = text.count("\n")
    if n_lines > MAX_ROWS:  # before they are cut apart, for that takes many times the memory
        raise InputError(
            where,
            f"it has {n_lines:,} lines, more than {MAX_ROWS:,}",
            "add the values up to a longer interval, or cut the file in parts",
        )
    lines = text.split("\n")
    comments: dict[str, str] = {}
    said_at: dict[str, int] = {}
    at = 0
    while at < len(lines) and _is_comment(lines[at]):
        key, colon, value = _comment_text(lines[at]).partition(":")
        key, value = key.strip().lower(), value.strip()
        if colon and key in _TELLING and comments.get(key, value).lower() != value.lower():
            raise InputError(
                where,
                f"line {said_at[key]} says {key}: {comments[key][:60]}, and line {at + 1} says "
                f"{key}: {value[:60]}",
                "leave one of them out",
            )
        if colon:
            comments[key] = value
            said_at.setdefault(key, at + 1)
        at += 1
    if at == len(lines):
        raise InputError(where, "it has no header and no rows", "a header line is needed")
    first = lines[at]
    if len(first) > MAX_LINE:
        raise InputError(f"{where}, line {at + 1}", f"the header has {len(first):,} letters")
    separator = ";" if ";" in first else "\t" if "\t" in first and "," not in first else ","
    try:
        header = tuple(cell.strip() for cell in next(csv.reader([first], delimiter=separator)))
    except csv.Error as error:
        raise InputError(f"{where}, line {at + 1}", f"the header is broken ({error})") from None
    while len(header) > 1 and not header[-1]:  # a spreadsheet fills rows up with empty cells
        header = header[:-1]
    if _looks_like_data(header[0]):
        raise InputError(
            f"{where}, line {at + 1}",
            f"there is no header: the first line begins with {header[0][:30]!r}",
            'begin with the names of the columns, such as "time,depth_mm"',
        )
    body = tuple(lines[at + 1 :])
    if not any(line.strip() for line in body):
        raise InputError(where, "it has a header but no rows")
    if max(map(len, body)) > MAX_LINE:
        line, letters = max(enumerate(map(len, body), at + 2), key=lambda pair: pair[1])
        raise InputError(
            f"{where}, line {line}",
            f"the row has {letters:,} letters",
            "look for a missing line end",
        )
    return CsvText(where, comments, header, separator, body, at + 2)


_FILLING = " \t,;"  # what a spreadsheet fills rows up with


def _is_comment(line: str) -> bool:
    return not line.strip(_FILLING) or line.lstrip('" \t').startswith("#")


def _comment_text(line: str) -> str:
    """Text of a comment, as written or as a spreadsheet saved it: quoted and filled up."""
    text = line.strip().rstrip(_FILLING)
    if text.startswith('"') and text.endswith('"'):
        text = text[1:-1].replace('""', '"')
    return text.lstrip("# \t")


def _looks_like_data(cell: str) -> bool:
    return bool(re.match(r"[-+.]?\d", cell))


def read_columns(table: CsvText, names: Sequence[str]) -> tuple[list[list[str]], IntArray]:
    """Read some columns of a table as text.

    Parameters
    ----------
    table : CsvText
        The table.
    names : sequence of str
        Names of columns, as in the header.

    Returns
    -------
    columns : list of list of str
        The cells of each column, in the order of `names`.
    lines : (n_rows,) array of int
        Line of the file of each row [-].

    Raises
    ------
    InputError
        Where a column is absent or named twice, or a row has too few or too many cells.

    References
    ----------
    arithmetic : bookkeeping
    """
    for name in names:
        if table.header.count(name) != 1:
            many = "more than once" if name in table.header else "nowhere"
            raise InputError(
                table.where,
                f"the column {brief(name)!r} is {many} in the header",
                f"the header is {', '.join(table.header)[:120]}",
            )
    places = [table.header.index(name) for name in names]
    width = len(table.header)
    found = _columns_at_once(table, places)
    if found is not None:
        return found, np.arange(len(found[0]), dtype=np.int64) + table.first_line
    columns: list[list[str]] = [[] for _ in names]
    lines = array("q")
    batch: list[list[str]] = []
    reader = csv.reader(table.body, delimiter=table.separator)
    try:
        for row in reader:
            if not any(row):  # empty, or filled up by a spreadsheet
                continue
            if len(row) != width:
                if row[0].startswith("#"):
                    continue
                _check_width(table, row, table.first_line - 1 + reader.line_num)
            batch.append(row)
            lines.append(table.first_line - 1 + reader.line_num)
            if len(batch) == BATCH_ROWS:
                _move(batch, places, columns)
    except csv.Error as error:
        raise InputError(
            table.place(table.first_line - 1 + reader.line_num), f"the row is broken ({error})"
        ) from None
    _move(batch, places, columns)
    if not lines:
        raise InputError(table.where, "it has a header but no rows")
    return columns, np.frombuffer(lines, dtype=np.int64)


def _columns_at_once(table: CsvText, places: Sequence[int]) -> list[list[str]] | None:
    """Cut a table without quotes, comments or ragged rows, five times as fast; None for others."""
    width = len(table.header)
    text = "\n".join(table.body).rstrip("\n")
    filled = f"\n{table.separator * (width - 1)}"  # a row of empty cells, such as the last one
    if width < 2 or '"' in text or "#" in text or f"{filled}\n" in text or text.endswith(filled):
        return None
    letters = np.frombuffer((text + "\n").encode(), dtype=np.uint8)
    ends = letters[(letters == ord(table.separator)) | (letters == ord("\n"))] == ord("\n")
    if ends.size % width:
        return None
    by_row = ends.reshape(-1, width)
    if by_row[:, :-1].any() or not by_row[:, -1].all():
        return None
    cells = text.replace("\n", table.separator).split(table.separator)
    return [cells[place::width] for place in places]


def _move(batch: list[list[str]], places: Sequence[int], columns: list[list[str]]) -> None:
    """Move rows into columns; many small lists kept alive would slow Python down."""
    for place, column in zip(places, columns, strict=True):
        column.extend([row[place] for row in batch])
    batch.clear()


def _check_width(table: CsvText, row: Sequence[str], line: int) -> None:
    """Refuse a row of the wrong width; empty cells at its end do no harm."""
    width = len(table.header)
    if len(row) > width and not any(cell.strip() for cell in row[width:]):
        return
    right = "every row needs as many cells as the header"
    if len(row) > width and table.separator == ",":
        right = "if commas are decimal marks, write 1.5, or separate the columns by semicolons"
    raise InputError(
        table.place(line), f"the row has {len(row)} cells, the header has {width}", right
    )


def numbers_of(
    cells: Sequence[str], lines: IntArray, table: CsvText, column: str, least: float = 0.0
) -> tuple[FloatArray, int]:
    """Turn cells into numbers that are not too small; missing becomes NaN.

    Parameters
    ----------
    cells : sequence of str
        The cells.
    lines : (n_rows,) array of int
        Their lines in the file, for messages [-].
    table : CsvText
        The table they come from.
    column : str
        The column's name, for messages.
    least : float
        A smaller number is refused unless it is a code for missing [any].

    Returns
    -------
    values : (n_rows,) array
        The numbers [any].
    n_codes : int
        How many were a code for missing, such as -9999 [-].

    Raises
    ------
    InputError
        Where a cell is not a number, without bounds, or too small without being a code for missing.

    References
    ----------
    common_practice : codes for missing values
    """
    texts = [cell.strip() for cell in cells]
    if table.decimal_comma:
        texts = [text.replace(",", ".") for text in texts]
    texts = ["nan" if text in MISSING_TEXT else text for text in texts]
    try:
        if "_" in "".join(texts):  # Python would read 1_0 as ten
            raise ValueError
        values = np.fromiter(map(float, texts), dtype=np.float64, count=len(texts))
    except ValueError:
        values = np.array([_number(t, n, table, column) for t, n in zip(texts, lines, strict=True)])
    code = np.isin(values, MISSING_CODES)
    values[code] = np.nan
    wrong = np.flatnonzero((values < least) | (values > MOST))
    if wrong.size:
        at = wrong[0]
        raise InputError(
            table.place(int(lines[at])),
            f"{brief(column)} is {brief(cells[at].strip())}, which cannot be",
            "leave the cell empty where the value is missing",
        )
    return values, int(code.sum())


def _number(text: str, line: int, table: CsvText, column: str) -> float:
    try:
        return float(text.replace("_", "?"))
    except ValueError:
        right = "leave the cell empty where the value is missing"
        if re.fullmatch(r"[-+]?\d+,\d+", text):
            right = f"write it with a point: {brief(text.replace(',', '.'), 30)}"
        raise InputError(
            table.place(int(line)), f"{brief(column)} is {text[:30]!r}, not a number", right
        ) from None
