"""Text tables as people have them: found, unpacked, decoded and cut into columns, or refused.

Every refusal is one sentence that says where, what is wrong and what would be right. Nothing here
knows about rain; the readers beside it do.
"""

from __future__ import annotations

import csv
import gzip
import re
import zlib
from collections.abc import Iterator, Mapping, Sequence
from dataclasses import dataclass
from pathlib import Path

import numpy as np

from riskkit.errors import InputError
from riskkit.files import need_file
from riskkit.limits import TABLE_BYTES, TABLE_COMMENTS, TABLE_DENSITY, TABLE_LINE, TABLE_ROWS
from riskkit.quantities.text import brief
from riskkit.records import FloatArray, IntArray

__all__ = ["CsvText", "lines_of", "need_sizes", "numbers_of", "read_text", "split_csv"]

_PIECE = 4_000_000  # bytes

_SOME = re.compile(r"\S")
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
        page, or larger than `riskkit.limits` says.
    """
    path = Path(path)
    where = path.name or str(path)
    need_file(path)
    data = _unpacked(path, where)
    if not re.search(rb"\S", data):
        raise InputError(where, "it is empty", "a table with a header line is needed")
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
    """Read a file piece by piece, so that what is too large is refused before all of it is here."""
    try:
        with path.open("rb") as raw:
            packed = raw.read(2) == b"\x1f\x8b"
        size = path.stat().st_size
        limits = _Limits(where, size if packed else None)
        pieces = []
        with gzip.open(path) if packed else path.open("rb") as stream:
            # no more room than the file needs
            while piece := stream.read(_PIECE if packed else min(size + 1, _PIECE)):
                limits.check(piece)
                pieces.append(piece)
    except (EOFError, zlib.error, gzip.BadGzipFile):
        raise InputError(
            where, "the gzip archive is damaged or cut short", "download it again"
        ) from None
    except OSError as error:
        raise InputError(where, f"it cannot be opened ({error.strerror})") from None
    return b"".join(pieces)


class _Limits:
    """What was read of a file so far, against what is read at most."""

    def __init__(self, where: str, packed: int | None) -> None:
        self.where, self.packed = where, packed
        self.n_bytes = self.n_lines = self.line = 0  # the last is the length of the line begun

    def check(self, piece: bytes) -> None:
        if not self.n_bytes:
            self._known(piece)
        self.n_bytes += len(piece)
        ends = max(piece.count(b"\n"), piece.count(b"\r"))
        first = min((at for at in map(piece.find, (b"\n", b"\r")) if at >= 0), default=len(piece))
        longest = self.line + first
        self.line = len(piece) - 1 - max(map(piece.rfind, (b"\n", b"\r"))) if ends else longest
        self.n_lines += ends
        if longest > TABLE_LINE:
            line = f"{self.where}, line {self.n_lines - ends + 1}"
            what = f"the header or row has more than {TABLE_LINE:,} letters"
            raise InputError(line, what, "look for a missing line end")
        if self.n_lines > TABLE_ROWS + TABLE_COMMENTS:
            raise InputError(
                self.where,
                f"it has more than {TABLE_ROWS:,} lines",
                "add the values up to a longer interval, or cut the file in parts",
            )
        if self.n_bytes > TABLE_BYTES:
            most = TABLE_BYTES // 10**6
            raise InputError(self.where, f"it holds more than {most} MB", "cut it in parts")
        if self.packed and self.n_bytes > max(TABLE_DENSITY * self.packed, 8 * _PIECE):
            what = f"it unpacks to more than {TABLE_DENSITY} times its size"
            raise InputError(self.where, what, "a table of times does not: look what is in it")

    def _known(self, piece: bytes) -> None:
        for magic, what in _FOREIGN.items():
            if piece.startswith(magic):
                raise InputError(
                    self.where, f"it {what}, not a CSV table", 'save it as "CSV UTF-8"'
                )
        if _CONTROL.search(piece):
            raise InputError(self.where, "it is a binary file, not text", 'save it as "CSV UTF-8"')


# comments that readers go by; two of them that differ cannot both be right
_TELLING = frozenset(
    {
        *("unit", "interval", "stamp", "dry intervals", "after a gap"),
        *("origin", "series", "years", "floor"),
    }
)


@dataclass(frozen=True)
class CsvText:
    """A table as text: its comments, its header and where in the text the lines below it begin."""

    where: str
    comments: Mapping[str, str]
    header: tuple[str, ...]
    separator: str
    text: str
    begin: int
    first_line: int
    rows_are: str = "line"  # what a row is called in messages

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
        """
        return f"{self.where}, {self.rows_are} {line}"


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
    """
    if text.count("\n") > TABLE_ROWS:  # before they are cut: that takes memory
        raise InputError(
            where,
            f"it has more than {TABLE_ROWS:,} lines",
            "add the values up to a longer interval, or cut the file in parts",
        )
    lines = enumerate(lines_of(text), 1)
    comments: dict[str, str] = {}
    said_at: dict[str, int] = {}
    begin, first, at = 0, "", 0
    for at, first in lines:
        begin += len(first) + 1
        if not _is_comment(first):
            break
        key, colon, value = _comment_text(first).partition(":")
        key, value = key.strip().lower(), value.strip()
        if colon and key in _TELLING and comments.get(key, value).lower() != value.lower():
            raise InputError(
                where,
                f"line {said_at[key]} says {key}: {comments[key][:60]}, and line {at} says "
                f"{key}: {value[:60]}",
                "leave one of them out",
            )
        if colon:
            comments[key] = value
            said_at.setdefault(key, at)
    else:
        raise InputError(where, "it has no header and no rows", "a header line is needed")
    if len(first) > TABLE_LINE:
        raise InputError(f"{where}, line {at}", f"the header has {len(first):,} letters")
    separator = ";" if ";" in first else "\t" if "\t" in first and "," not in first else ","
    try:
        header = tuple(cell.strip() for cell in next(csv.reader([first], delimiter=separator)))
    except csv.Error as error:
        raise InputError(f"{where}, line {at}", f"the header is broken ({error})") from None
    while len(header) > 1 and not header[-1]:  # a spreadsheet fills rows up with empty cells
        header = header[:-1]
    if _looks_like_data(header[0]):
        raise InputError(
            f"{where}, line {at}",
            f"there is no header: the first line begins with {header[0][:30]!r}",
            'begin with the names of the columns, such as "time,depth_mm"',
        )
    if not _SOME.search(text, begin):
        raise InputError(where, "it has a header but no rows")
    _check_lengths(text, begin, at + 1, where)
    return CsvText(where, comments, header, separator, text, begin, at + 1)


def lines_of(text: str, begin: int = 0) -> Iterator[str]:
    """Cut a text into lines, one at a time: all of them together take several times its memory.

    Parameters
    ----------
    text : str
        The text.
    begin : int
        Where in it the first line begins [-].

    Returns
    -------
    iterator of str
        The lines without their ends.
    """
    while (end := text.find("\n", begin)) >= 0:
        yield text[begin:end]
        begin = end + 1
    yield text[begin:]


def _check_lengths(text: str, begin: int, line: int, where: str) -> None:
    """Refuse a line too long for a row; looked for where half as much is without an end."""
    half = TABLE_LINE // 2
    stretches = range(begin, len(text) - half, half)
    if all(text.find("\n", at, at + half) >= 0 for at in stretches):
        return
    longest, number = max((len(row), -n) for n, row in enumerate(lines_of(text, begin), line))
    if longest > TABLE_LINE:
        raise InputError(
            f"{where}, line {-number}",
            f"the row has {longest:,} letters",
            "look for a missing line end",
        )


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
    distinct = dict.fromkeys(cells)  # a gauge has few values: each is read once
    if 4 * len(distinct) < len(cells):
        known = _values(list(distinct), lines, table, column, cells)
        place = dict(zip(distinct, range(len(distinct)), strict=True))
        values = known[np.fromiter(map(place.__getitem__, cells), np.int64, len(cells))]
    else:
        values = _values(cells, lines, table, column, cells)
    n_codes = need_sizes(values, lines, table, column, least, cells)
    return values, n_codes


def need_sizes(
    values: FloatArray,
    lines: IntArray,
    table: CsvText,
    column: str,
    least: float = 0.0,
    cells: Sequence[str] | None = None,
) -> int:
    """Set codes for missing to missing, in place, and refuse numbers that cannot be.

    Parameters
    ----------
    values : (n_rows,) array
        The numbers [any]; NaN where missing.
    lines : (n_rows,) array of int
        Their lines in the table, for messages [-].
    table : CsvText
        The table they come from.
    column : str
        The column's name, for messages.
    least : float
        A smaller number is refused unless it is a code for missing [any].
    cells : sequence of str, optional
        How the numbers were written.

    Returns
    -------
    int
        How many were a code for missing, such as -9999 [-].

    Raises
    ------
    InputError
        Where a number is without bounds, or too small without being a code for missing.

    References
    ----------
    common_practice : codes for missing values
    """
    code = np.isin(values, MISSING_CODES)
    values[code] = np.nan
    wrong = np.flatnonzero((values < least) | (values > MOST))
    if wrong.size:
        at = wrong[0]
        written = f"{values[at]:.12g}" if cells is None else brief(cells[at].strip())
        raise InputError(
            table.place(int(lines[at])),
            f"{brief(column)} is {written}, which cannot be",
            "leave the cell empty where the value is missing",
        )
    return int(code.sum())


def _values(
    cells: Sequence[str], lines: IntArray, table: CsvText, column: str, of_file: Sequence[str]
) -> FloatArray:
    """Numbers of some cells; `of_file` are all of them, one for each of the lines."""
    texts = [cell.strip() for cell in cells]
    if table.decimal_comma:
        texts = [text.replace(",", ".") for text in texts]
    texts = ["nan" if text in MISSING_TEXT else text for text in texts]
    try:
        if "_" in "".join(texts):  # Python would read 1_0 as ten
            raise ValueError
        return np.fromiter(map(float, texts), dtype=np.float64, count=len(texts))
    except ValueError:
        return np.array(
            [
                _number(text, cell, lines, table, column, of_file)
                for text, cell in zip(texts, cells, strict=True)
            ]
        )


def _number(
    text: str,
    cell: str,
    lines: IntArray,
    table: CsvText,
    column: str,
    of_file: Sequence[str],
) -> float:
    try:
        return float(text.replace("_", "?"))
    except ValueError:
        right = "leave the cell empty where the value is missing"
        if re.fullmatch(r"[-+]?\d+,\d+", text):
            right = f"write it with a point: {brief(text.replace(',', '.'), 30)}"
        raise InputError(
            table.place(int(lines[of_file.index(cell)])),
            f"{brief(column)} is {text[:30]!r}, not a number",
            right,
        ) from None
