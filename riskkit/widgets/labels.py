"""What a field is called on a page, and what is wrong with it in the same words.

Messages speak the words of the home file, with its keys and sections. A page has labels instead.
"""

from __future__ import annotations

from riskkit.errors import FileLine, InputError, Key, RiskkitError, Words
from riskkit.quantities.choice_labels import choice_labels
from riskkit.quantities.variables import variables
from riskkit.widgets.asked import ASKED
from riskkit.widgets.stand_by_fields import STAND_BY_LABELS

__all__ = ["PLAIN", "fault_text", "label", "page_words"]

PLAIN = {
    "name": "name of the home",
    "note": "note",
    "rain.record": "rain record of the place",
    "rain.table": "official table of rain depths",
    "rain.temperature": "daily temperatures of the place, for the wetness before large storms",
    "rain.climate": "raise the rain for a changed climate",
    "ground.water_levels": "file of measured levels of the ground water",
    "place.latitude": "latitude",
    "place.longitude": "longitude",
}
_OTHER = {
    "pit.table": "measured table of the pit",
    "pump.curve": "measured curve of the pump",
    "visit.wall.place": "Place of the wall",
}


def label(key: str) -> str:
    """Return what a field is called.

    Parameters
    ----------
    key : str
        Section and key, such as ``"pit.depth"``.

    Returns
    -------
    str
        Plain words; the key itself where it has none.
    """
    item = variables().get(key)
    known = {**STAND_BY_LABELS, **choice_labels(), **PLAIN, **ASKED, **_OTHER}
    return item.words if item else known.get(key, key)


def page_words(error: InputError, key: str) -> str:
    """Say what is wrong in the words of a page, for the place beside a field.

    Parameters
    ----------
    error : InputError
        In the words of the home file.
    key : str
        The field.

    Returns
    -------
    str
        One sentence.

    Examples
    --------
    >>> what = Words("9 in is not deeper than ", Key("switch.on"), " (13 in)")
    >>> page_words(InputError("switch.off", what).within("home"), "switch.off")
    '9 in is not deeper than “level at which the pump starts below the floor” (13 in).'
    >>> missing = InputError("visit 1, wall 1, place", "it is missing", field="visit.wall.place")
    >>> page_words(missing, "visit.wall.1.size")
    'Place of the wall: it is missing.'
    """
    text = _on_page(error.what) + (f"; {_on_page(error.right)}" if error.right else "")
    name = label(error.field)
    # a page numbers the places of a wall, and shows their names
    field = ".".join(part for part in key.split(".") if not part.isdigit())
    if error.field != field and name != error.field:
        text = f"{name}: {text}"
    return text if text.endswith("?") else f"{text}."


def fault_text(fault: RiskkitError) -> str:
    """Say why there is no answer, with the labels of a page for the keys of a home file.

    Parameters
    ----------
    fault : RiskkitError
        In the words of the home file.

    Returns
    -------
    str
        One sentence.

    Examples
    --------
    >>> from riskkit.errors import NoDutyPointError
    >>> fault_text(NoDutyPointError(Words("Correct ", Key("pump.rated_flow"), ".")))
    'Correct “rated flow of the pump (on its plate)”.'
    """
    words = fault.args[0] if fault.args else ""
    return _on_page(words) if isinstance(words, Words) else str(fault)


def _on_page(words: str) -> str:
    return "".join(map(_part_on_page, words.parts)) if isinstance(words, Words) else words


def _part_on_page(part: str | Key | FileLine) -> str:
    match part:
        case Key(name):
            return name if label(name) == name else f"“{label(name)}”"
        case FileLine(name=name):
            return f"write the {name}"
        case _:
            return part
