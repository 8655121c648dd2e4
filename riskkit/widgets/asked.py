"""Questions that a person can answer by looking, and the keys of the home file that they set.

One question may set several keys: downspouts are counted, and the home file keeps shares of them.
What stands in such a field is read back from those keys, so nothing is kept twice.
"""

from __future__ import annotations

import math
import re
from collections.abc import Callable, Mapping
from dataclasses import dataclass

from riskkit.errors import InputError, Key, Words
from riskkit.home.home import Home
from riskkit.quantities.quantity import UNKNOWN, Basis, Quantity
from riskkit.quantities.text import brief, count_of
from riskkit.quantities.units import UnitSystem, convert, parse_quantity
from riskkit.quantities.variables import significant

__all__ = ["ASKED", "asked_text", "expanded", "is_too_short", "told_otherwise", "with_reader_units"]

_PACED, _DOWNSPOUTS, _WELLS = "house.paced", "roof.downspouts", "ground.wells"
_SHAPE, _TOWN = "pit.shape", "place.town"
ASKED = {
    _TOWN: "town, or latitude and longitude",
    _PACED: "length and width of the house",
    _DOWNSPOUTS: "downspouts, counted",
    _WELLS: "window wells and stairwells that drain to the tile, counted",
    _SHAPE: "shape of the pit, seen from above",
}
"""What is asked, by a key that stands in no home file."""

_OF = re.compile(r"\s*(\d{1,2})\s*of\s*(\d{1,2})\b")
_COUNT = re.compile(r"\s*(\d{1,2})\s*wells?\b")
_TIMES = re.compile(r"\s*(?:x|×|\*|by)\s*", re.IGNORECASE)
_UNIT = re.compile(r"[a-z]+|['\"]")
_DEGREES = re.compile(
    r"\s*([-+]?\d+(?:\.\d+)?)\s*°?\s*([NS]?)\s*[,;\s]\s*([-+]?\d+(?:\.\d+)?)\s*°?\s*([EW]?)\s*",
    re.IGNORECASE,
)
_MOST_COUNTED = 40
_OF_THE_WALL = ("house.perimeter", "house.basement_area")
_PACED_ERROR = 0.1  # of a side that is paced: judgement
_EAVES_M = 0.3  # by which a roof reaches beyond the wall: common practice, no source


def with_reader_units(key: str, text: str, system: UnitSystem) -> str:
    """Give the numbers of an answer the units of the reader where they have none.

    Parameters
    ----------
    key : str
        One of `ASKED`.
    text : str
        As typed.
    system : UnitSystem
        Units of the reader.

    Returns
    -------
    str
        The same text where its numbers carry units, or are counts.

    Examples
    --------
    >>> with_reader_units("house.paced", "40 x 28", UnitSystem.US)
    '40 ft x 28 ft'
    >>> with_reader_units("house.paced", "12 x 8.5 m", UnitSystem.US)  # both are in metres
    '12 x 8.5 m'
    """
    if key != _PACED:
        return text
    sides = [side for side in _TIMES.split(text.strip()) if side]
    if any(map(_unit_of, sides)):
        return text
    unit = "ft" if system is UnitSystem.US else "m"
    return " x ".join(f"{side} {unit}" for side in sides)


def _unit_of(side: str) -> str:
    """The first unit that is written behind a number; empty where there is none."""
    found = _UNIT.search(side.lower())
    return found[0] if found else ""


def expanded(home: Home, values: Mapping[str, object]) -> dict[str, object]:
    """Put the keys of the home file in the place of what was asked.

    Parameters
    ----------
    home : Home
        The home as it is.
    values : mapping
        By key; those of `ASKED` with the text of their answer.

    Returns
    -------
    dict
        By key of the home file.

    Raises
    ------
    InputError
        Where an answer is not understood.
    """
    found: dict[str, object] = {}
    for key, value in values.items():
        if key in _SETS:
            text = "" if value in (None, UNKNOWN) else str(value)
            found |= _SETS[key].changes(text, home)
    return found | {key: value for key, value in values.items() if key not in _SETS}


def told_otherwise(key: str, home: Home) -> dict[str, Quantity]:
    """Return the values that tell what is asked, where a field stays empty though all is known.

    Parameters
    ----------
    key : str
        One of `ASKED`.
    home : Home
        The home.

    Returns
    -------
    dict of str to Quantity
        By key of the home file; none where the field tells it, or where something is open.
    """
    found = {each: home.quantity(each) for each in _SETS[key].keys}
    told = {each: value for each, value in found.items() if value is not None}
    return told if len(told) == len(found) and not asked_text(key, home, UnitSystem.US) else {}


def asked_text(key: str, home: Home, system: UnitSystem) -> str:
    """Return what stands in a field for what the home holds; empty where that says nothing.

    Parameters
    ----------
    key : str
        One of `ASKED`.
    home : Home
        The home.
    system : UnitSystem
        Units of the reader.

    Returns
    -------
    str
        As it could have been typed.
    """
    return _SETS[key].text(home, system)


@dataclass(frozen=True)
class _Asked:
    changes: Callable[[str, Home], dict[str, object]]
    text: Callable[[Home, UnitSystem], str]
    keys: tuple[str, ...] = ()  # that tell as much, in another way


def _is_measured(home: Home, key: str) -> bool:
    found = home.quantity(key)
    return found is not None and found.basis is Basis.MEASURED


def _value(home: Home, key: str) -> float | None:
    found = home.quantity(key)
    return None if found is None else found.value


# ---- length and width ----------------------------------------------------------------------------


def _paced_changes(text: str, home: Home) -> dict[str, object]:
    keys = [key for key in _OF_THE_WALL if not _is_measured(home, key)]
    before = _sides(home)
    if not text:
        return dict.fromkeys(keys, UNKNOWN) | _roof(home, before, None)
    right = 'write it like "40 x 28 ft" or "12 x 8.5 m"'
    sides = _TIMES.split(text.strip())
    if len(sides) != 2:
        raise InputError(_PACED, f"{brief(text)!r} is not a length and a width", right)
    unit = next(filter(None, map(_unit_of, sides)), "")  # one that is written is meant for both
    sides = [side.lower() if _unit_of(side) else f"{side} {unit}" for side in sides]
    a, b = (parse_quantity(side, "m", _PACED, '"40 x 28 ft"') for side in sides)
    _need_room_for(home, text, a, b)
    rough = dict(zip(_OF_THE_WALL, (f"about {_m(2 * (a + b))} m", f"about {_m(a * b)} m2"),
                     strict=True))  # fmt: skip
    return {key: rough[key] for key in keys} | _roof(home, before, (a, b))


def _need_room_for(home: Home, text: str, a: float, b: float) -> None:
    """Refuse sides between which the measured floor has no room; corners cost floor, never add."""
    floor = home.quantity(_OF_THE_WALL[1]) if _is_measured(home, _OF_THE_WALL[1]) else None
    if floor is not None and floor.value > (1 + _PACED_ERROR) ** 2 * a * b:
        what = f"a house of {brief(text)} has less floor than was measured ({floor.text}, "
        raise InputError(_PACED, Words(what, Key(_OF_THE_WALL[1]), ")"), "correct one of the two")


def is_too_short(home: Home) -> bool:
    """Tell whether the wall is too short to go around the floor, as only that of a row house is.

    Parameters
    ----------
    home : Home
        The home.

    Returns
    -------
    bool
        Whether even a round house would have more wall.
    """
    around, area = (_value(home, key) for key in _OF_THE_WALL)
    return around is not None and area is not None and around**2 < 4 * math.pi * area


def _roof(
    home: Home, before: tuple[float, float] | None, now: tuple[float, float] | None
) -> dict[str, object]:
    """The roof follows the house where nobody said anything else of it."""
    area = _value(home, "roof.area")
    followed = (
        before is not None and area is not None and math.isclose(area, _over(before), rel_tol=5e-3)
    )
    if area is not None and not followed:
        return {}
    return {"roof.area": UNKNOWN if now is None else f"about {_m(_over(now))} m2"}


def _over(sides: tuple[float, float]) -> float:
    return (sides[0] + 2 * _EAVES_M) * (sides[1] + 2 * _EAVES_M)


def _m(value: float) -> str:
    return significant(value, 4).replace(",", "")


def _sides(home: Home) -> tuple[float, float] | None:
    """Sides [m] of the rectangle with the perimeter and the area of the basement."""
    around, area = _value(home, "house.perimeter"), _value(home, "house.basement_area")
    if around is None or area is None:
        return None
    half = around / 2
    under = half**2 - 4 * area
    if under < -0.01 * half**2:  # no rectangle is as large within as small a wall
        return None
    root = math.sqrt(max(under, 0.0))
    return (half + root) / 2, (half - root) / 2


def _paced_text(home: Home, system: UnitSystem) -> str:
    sides = _sides(home)
    if sides is None or any(_is_measured(home, key) for key in _OF_THE_WALL):
        return ""  # a rectangle made up of what was measured of another shape
    unit = "ft" if system is UnitSystem.US else "m"
    return " x ".join(
        significant(convert(side, "m", unit), 2 if system is UnitSystem.US else 3) for side in sides
    )


# ---- counts --------------------------------------------------------------------------------------


def _counts(text: str, key: str) -> list[int | None]:
    found: list[int | None] = []
    for part in text.split(","):
        part = part.strip()
        count = count_of(part, _MOST_COUNTED)
        if part and count is None:
            what = f"{brief(part)!r} is not a count from 0 to {_MOST_COUNTED}"
            raise InputError(key, what, "count them, or leave it empty")
        found.append(count)
    return found


def _downspout_changes(text: str, home: Home) -> dict[str, object]:
    total, at_wall, to_drain = (*_counts(text, _DOWNSPOUTS), None, None, None)[:3]
    if not total:
        if at_wall or to_drain:
            raise InputError(
                _DOWNSPOUTS, "how many there are in all is missing", "count all of them"
            )
        return {"roof.at_wall": UNKNOWN, "roof.to_drain": UNKNOWN}
    if (at_wall or 0) + (to_drain or 0) > total:
        what = f"{(at_wall or 0) + (to_drain or 0)} of {total} downspouts cannot be"
        raise InputError(_DOWNSPOUTS, what, "the first count is that of all of them")
    return {
        key: UNKNOWN if count is None else f"{count} of {total}"
        for key, count in (("roof.at_wall", at_wall), ("roof.to_drain", to_drain))
    }


def _downspout_text(home: Home, _: UnitSystem) -> str:
    total, counts = "", []
    for key in ("roof.at_wall", "roof.to_drain"):
        found = home.quantity(key)
        counted = _OF.match(found.text) if found is not None else None
        counts.append(counted[1] if counted else "")
        total = total or (counted[2] if counted else "")
    return ", ".join((total, *counts)) if total else ""


def _well_changes(text: str, home: Home) -> dict[str, object]:
    (count,) = _counts(text.partition(",")[0], _WELLS)
    return {"ground.well_area": UNKNOWN if count is None else f"{count} wells"}


def _well_text(home: Home, _: UnitSystem) -> str:
    found = home.quantity("ground.well_area")
    counted = _COUNT.match(found.text) if found is not None else None
    return counted[1] if counted else ""


# ---- shape and town ------------------------------------------------------------------------------


def _shape_changes(text: str, home: Home) -> dict[str, object]:
    sides = ("pit.length", "pit.width")
    if text == "rectangular":
        return {} if home.quantity("pit.diameter") is None else {"pit.diameter": UNKNOWN}
    return {key: UNKNOWN for key in sides if home.quantity(key) is not None}


def _shape_text(home: Home, _: UnitSystem) -> str:
    if home.quantity("pit.length") is not None:
        return "rectangular"
    return "round" if home.quantity("pit.diameter") is not None else ""


def _town_changes(text: str, home: Home) -> dict[str, object]:
    if not text:
        return {"place.latitude": None, "place.longitude": None}
    found = _DEGREES.fullmatch(text)
    if found is None:
        what = f"{brief(text)!r} is neither a town of the list nor a latitude and a longitude"
        raise InputError(_TOWN, what, 'choose a town below, or write it like "41.2 N, 88.6 W"')
    north, side, east, way = found.groups()
    right = 'write it like "41.2 N, 88.6 W" or "41.2, -88.6"'
    if (side and north[0] in "+-") or (way and east[0] in "+-"):
        raise InputError(_TOWN, f"{brief(text)!r} has a sign and a letter for one direction", right)
    if abs(float(north)) <= 90 and not way and east[0] not in "+-":
        raise InputError(_TOWN, f"{brief(text)!r} does not say whether that is east or west", right)
    latitude = -float(north) if side.upper() == "S" else float(north)
    longitude = -float(east) if way.upper() == "W" else float(east)
    return {"place.latitude": latitude, "place.longitude": longitude}


def _town_text(home: Home, _: UnitSystem) -> str:
    place = home.place
    if place.latitude is None or place.longitude is None:
        return ""
    sides = ("N" if place.latitude >= 0 else "S", "E" if place.longitude >= 0 else "W")
    return f"{abs(place.latitude):g} {sides[0]}, {abs(place.longitude):g} {sides[1]}"


_SETS = {
    _TOWN: _Asked(_town_changes, _town_text),
    _PACED: _Asked(_paced_changes, _paced_text, _OF_THE_WALL),
    _DOWNSPOUTS: _Asked(_downspout_changes, _downspout_text, ("roof.at_wall", "roof.to_drain")),
    _WELLS: _Asked(_well_changes, _well_text, ("ground.well_area",)),
    _SHAPE: _Asked(_shape_changes, _shape_text),
}
