"""What a person types into a field, as the home file holds it."""

from __future__ import annotations

import re
from typing import Any

from riskkit.quantities.quantity import UNKNOWN
from riskkit.quantities.units import UnitSystem, with_unit
from riskkit.quantities.variables import variables
from riskkit.widgets.asked import ASKED, with_reader_units
from riskkit.widgets.boxes import as_degrees

__all__ = ["home_value"]

_UNKNOWN = re.compile(r"((i )?(don.?t|do not) know|not known|no idea|\?+)[.!]?", re.IGNORECASE)
_WORDS = ("name", "note")  # free text


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
    if key in variables():
        text = with_unit(text, variables()[key].shown_unit(system)) or UNKNOWN
        _, comma, how = text.rpartition(",")  # 1,200 ft2 does not say how it is known
        says_how = bool(comma) and how.strip().isalpha()
        is_measured = message.get("measured") and text != UNKNOWN and not says_how
        return f"{text}, measured" if is_measured else text
    if key.startswith("place."):
        return as_degrees(text)
    if key.startswith("rain."):
        return text or None
    return text or UNKNOWN
