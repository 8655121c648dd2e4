"""What a person types into a field, as the home file holds it."""

from __future__ import annotations

import datetime
import re
from typing import Any

from riskkit.quantities.backup import backup_quantities
from riskkit.quantities.quantity import UNKNOWN
from riskkit.quantities.text import count_of
from riskkit.quantities.units import UnitSystem, with_unit
from riskkit.quantities.variables import variables
from riskkit.widgets.asked import ASKED, with_reader_units
from riskkit.widgets.boxes import as_degrees

__all__ = ["DAY_HELP", "day_text", "home_value", "visit_value_text"]

DAY_HELP = {
    UnitSystem.US: "Such as 10/12/2027, month first, or 2027-10-12.",
    UnitSystem.METRIC: "Such as 12.10.2027, day first, or 2027-10-12.",
}
_UNKNOWN = re.compile(r"((i )?(don.?t|do not) know|not known|no idea|\?+)[.!]?", re.IGNORECASE)
_WORDS = ("name", "note")  # free text
_CLOCK = re.compile(r"\s*(?:(\d{1,2}):)?(\d{1,3}):([0-5]\d)\s*")  # 9:30 on a stopwatch
_DAY = re.compile(r"\s*(\d{1,2})\s*([/.-])\s*(\d{1,2})\s*\2\s*(\d{4})\s*")


def day_text(text: str, system: UnitSystem) -> str:
    """Write a day as the home file has it.

    Parameters
    ----------
    text : str
        As typed: ``"10/12/2027"``, ``"12.10.2027"`` or ``"2027-10-12"``.
    system : UnitSystem
        Where the reader is from: with US units the month comes first between strokes.

    Returns
    -------
    str
        The day, year first; the text itself where it is not a day.

    Examples
    --------
    >>> day_text("10/12/2027", UnitSystem.US), day_text("10/12/2027", UnitSystem.METRIC)
    ('2027-10-12', '2027-12-10')
    >>> day_text("12.10.2027", UnitSystem.US)
    '2027-10-12'
    """
    found = _DAY.fullmatch(text)
    if found is None:
        return text
    first, sign, second, year = found.groups()
    month_first = system is UnitSystem.US and sign != "."
    month, day = (first, second) if month_first else (second, first)
    try:
        return datetime.date(int(year), int(month), int(day)).isoformat()
    except ValueError:
        return text


def visit_value_text(key: str, text: str, unit: str, system: UnitSystem) -> str:
    """Return what a field of a visit means.

    Parameters
    ----------
    key : str
        The field.
    text : str
        As typed.
    unit : str
        That of the field, for a number without one.
    system : UnitSystem
        Where the reader is from.

    Returns
    -------
    str
        As in a home file.

    Examples
    --------
    >>> visit_value_text("visit.rise_test.time", "9:30", "s", UnitSystem.US)
    '9 min 30 s'
    """
    name = key.rpartition(".")[2]
    if key in ("visit.date", "visit.next"):
        return day_text(text, system)
    clock = _CLOCK.fullmatch(text) if name == "time" else None
    if clock is None:
        return with_unit(text, unit)
    hours, minutes, seconds = (int(part or 0) for part in clock.groups())
    return f"{60 * hours + minutes} min {seconds} s"


def home_value(key: str, message: dict[str, Any], system: UnitSystem) -> object:
    """Return what a field of the home means.

    Parameters
    ----------
    key : str
        The field.
    message : dict
        ``text``, and ``measured`` where the person said so.
    system : UnitSystem
        Units of the reader, for a number without one.

    Returns
    -------
    object
        As in a home file.

    Examples
    --------
    >>> home_value("pit.depth", {"text": "24", "measured": True}, UnitSystem.US)
    '24 in, measured'
    >>> home_value("pit.depth", {"text": "don't know"}, UnitSystem.US)
    'unknown'
    """
    text = str(message["text"])
    if key in _WORDS:
        return text
    text = "" if _UNKNOWN.fullmatch(text.strip()) else text
    if key in ASKED:
        return with_reader_units(key, text, system) or UNKNOWN
    item = variables().get(key) or backup_quantities().get(key)
    if item is not None:
        text = with_unit(text, item.shown_unit(system)) or UNKNOWN
        _, comma, how = text.rpartition(",")  # 1,200 ft2 does not say how it is known
        says_how = bool(comma) and how.strip().isalpha()
        is_measured = message.get("measured") and text != UNKNOWN and not says_how
        return f"{text}, measured" if is_measured else text
    if key.startswith("place.") and key != "place.area":
        return as_degrees(text)
    if key == "costs.price_year":
        year = count_of(text, 999_999_999)
        return text or UNKNOWN if year is None else year
    if key == "costs.currency":
        return text.upper() or UNKNOWN
    if key.startswith("rain."):
        return text or None
    return text or UNKNOWN
