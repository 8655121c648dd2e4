"""A printed sheet as plain blocks, and its two forms: a page for the browser and a PDF.

Text from files never becomes markup. In the page the template escapes it; in the PDF it goes to the
typesetter as data, never as part of its program.
"""

from __future__ import annotations

import datetime
import json
import unicodedata
from dataclasses import asdict, dataclass, field, replace
from enum import Enum
from importlib.resources import files
from typing import TYPE_CHECKING, Any

from riskkit.report.page import environment
from riskkit.report.rows import Table

if TYPE_CHECKING:
    from riskkit.home.company import Company

__all__ = [
    "Block",
    "Bullets",
    "Callout",
    "Figure",
    "Figures",
    "Grid",
    "Heading",
    "Key",
    "Paper",
    "Sheet",
    "Text",
    "sheet_html",
    "sheet_pdf",
    "with_company",
]

_MOST_LETTERS = 4000


class Paper(Enum):
    """Size of the paper."""

    LETTER = "us-letter"
    A4 = "a4"


@dataclass(frozen=True)
class Heading:
    """Start of a section."""

    words: str
    kind: str = "heading"


@dataclass(frozen=True)
class Text:
    """A paragraph."""

    words: str
    small: bool = False
    kind: str = "text"


@dataclass(frozen=True)
class Callout:
    """Something set apart: the answer, an alert, cautions."""

    tone: str  # answer, alert or caution
    title: str
    lines: tuple[str, ...]
    kind: str = "callout"


@dataclass(frozen=True)
class Key:
    """The key figure of an answer, to be read across a room, and what it is of."""

    value: str
    likely: str
    of: str
    beside: tuple[tuple[str, str], ...]  # other figures, each with what it is of
    short: str
    kind: str = "key"


@dataclass(frozen=True)
class Bullets:
    """A list; each entry may begin with a phrase that stands out."""

    entries: tuple[tuple[str, str], ...]
    small: bool = False
    kind: str = "bullets"


@dataclass(frozen=True)
class Grid:
    """A table; its title stands in a heading above, its notes in a text below."""

    table: Table
    small: bool = False
    kind: str = "grid"


@dataclass(frozen=True)
class Figure:
    """A drawing, its caption, and what it shows for those who cannot see it."""

    svg: str
    caption: str
    alt: str
    width: float = 1.0
    kind: str = "figure"


@dataclass(frozen=True)
class Figures:
    """Drawings side by side; the width of each is its share of the line."""

    figures: tuple[Figure, ...]
    kind: str = "figures"


Block = Heading | Text | Callout | Key | Bullets | Grid | Figure | Figures


@dataclass(frozen=True)
class Sheet:
    """A sheet to print.

    Parameters
    ----------
    title : str
        What it is.
    name : str
        The home.
    date : date
        Day that it shows.
    foot : str
        At the foot of each page.
    blocks : tuple of Block
        Its contents.
    dense : bool
        Set small and close, for a reader who wants all of it at a glance.
    about : tuple of str
        Below the title: the company, the day and who came.
    """

    title: str
    name: str
    date: datetime.date
    foot: str
    blocks: tuple[Block, ...] = field(default_factory=tuple)
    dense: bool = False
    about: tuple[str, ...] = ()

    def prose(self) -> str:
        """Return the running text, without headings and tables.

        Returns
        -------
        str
            One sentence or phrase after the other.
        """
        found: list[str] = []
        for block in self.blocks:
            if isinstance(block, Text):
                found.append(block.words)
            elif isinstance(block, Callout):
                found += block.lines
            elif isinstance(block, Key):
                found.append(block.short)
            elif isinstance(block, Bullets):
                found += [f"{first} {rest}".strip() for first, rest in block.entries]
            elif isinstance(block, Figure):
                found.append(block.caption)
            elif isinstance(block, Figures):
                found += [figure.caption for figure in block.figures]
        return "\n".join(found)


def _plain(value: Any) -> Any:
    """Text without control characters, and not endless, throughout plain data."""
    if isinstance(value, str):
        kept = (c for c in value if c in "\n\t" or unicodedata.category(c) not in ("Cc", "Cs"))
        text = "".join(kept)
        return text if len(text) <= _MOST_LETTERS else text[:_MOST_LETTERS] + "…"
    if isinstance(value, Enum):
        return value.value
    if isinstance(value, dict):
        return {k: v if k == "svg" else _plain(v) for k, v in value.items()}
    if isinstance(value, list | tuple):
        return [_plain(item) for item in value]
    return value


def _data(sheet: Sheet) -> dict[str, Any]:
    data: dict[str, Any] = _plain(asdict(sheet) | {"date": sheet.date.isoformat()})
    return data


def _drawings(data: dict[str, Any]) -> list[dict[str, Any]]:
    """Every figure of a sheet, those side by side too."""
    found: list[dict[str, Any]] = []
    for block in data["blocks"]:
        found += block["figures"] if block["kind"] == "figures" else []
        found += [block] if block["kind"] == "figure" else []
    return found


def with_company(sheet: Sheet, company: Company | None) -> Sheet:
    """Return a sheet that says whose it is.

    Parameters
    ----------
    sheet : Sheet
        The sheet.
    company : Company, optional
        Name and telephone number; where there is none the sheet stays as it is.

    Returns
    -------
    Sheet
        The sheet with the company first below its title.
    """
    return sheet if company is None else replace(sheet, about=(company.line(), *sheet.about))


def sheet_html(sheet: Sheet) -> str:
    """Write a sheet as one HTML page that needs nothing else and prints on A4 and US Letter.

    Parameters
    ----------
    sheet : Sheet
        The sheet.

    Returns
    -------
    str
        HTML; text from files is escaped.
    """
    import markupsafe

    data = _data(sheet)
    for figure in _drawings(data):  # drawn by this program from numbers alone
        figure["svg"] = markupsafe.Markup(figure["svg"])  # noqa: S704 - no text of files in it
    return environment().get_template("sheet.html").render(sheet=data)


def sheet_pdf(sheet: Sheet, paper: Paper) -> bytes:
    """Set a sheet as PDF, without a browser and without the network.

    The same sheet gives the same bytes: the day of the sheet stands for the time of writing.

    Parameters
    ----------
    sheet : Sheet
        The sheet.
    paper : Paper
        Size of the paper.

    Returns
    -------
    bytes
        The PDF.
    """
    import typst

    data = _data(sheet) | {"paper": paper.value}
    program = files("riskkit.report").joinpath("templates/sheet.typ").read_bytes()
    day = datetime.datetime.combine(sheet.date, datetime.time(12), datetime.UTC)
    pdf: bytes = typst.compile(
        program,
        sys_inputs={"sheet": json.dumps(data)},
        format="pdf",
        timestamp=int(day.timestamp()),
    )
    return pdf
