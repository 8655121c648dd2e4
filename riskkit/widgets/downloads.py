"""Files that a page offers to save, as plain values."""

from __future__ import annotations

import base64
from functools import lru_cache

from riskkit.report.charts import to_png

__all__ = ["picture_files", "table_file"]

_PICTURES = 8  # of a page, in both systems of units


def table_file(name: str, words: str, csv: str) -> dict[str, str]:
    """Return a table to save.

    Parameters
    ----------
    name : str
        Name of the file without its ending.
    words : str
        What it holds.
    csv : str
        The table.

    Returns
    -------
    dict
        An item for the panel.
    """
    return {"name": f"{name}.csv", "words": f"{words} (CSV)", "type": "text/csv", "text": csv}


def picture_files(name: str, words: str, svg: str) -> list[dict[str, str]]:
    """Return a picture to save, as lines and as pixels.

    Parameters
    ----------
    name : str
        Name of the files without their ending.
    words : str
        What it shows.
    svg : str
        The picture.

    Returns
    -------
    list of dict
        Items for the panel; pixels are base64.
    """
    pixels = _pixels(svg)
    return [
        {"name": f"{name}.svg", "words": f"{words} (SVG)", "type": "image/svg+xml", "text": svg},
        {"name": f"{name}.png", "words": f"{words} (PNG)", "type": "image/png", "base64": pixels},
    ]


@lru_cache(maxsize=_PICTURES)
def _pixels(svg: str) -> str:
    """The pixels of a picture in base64; drawing them takes half a second."""
    return base64.b64encode(to_png(svg)).decode("ascii")
