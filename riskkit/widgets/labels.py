"""What a field is called on a page, and what is wrong with it in the same words.

Messages speak the words of the home file, with its keys and sections. A page has labels instead.
"""

from __future__ import annotations

from riskkit.errors import FileLine, InputError, Key, Words
from riskkit.quantities.variables import variables
from riskkit.widgets.asked import ASKED
from riskkit.widgets.stand_by_fields import STAND_BY_LABELS

__all__ = ["CHOICE_WORDS", "PLAIN", "label", "page_words"]

CHOICE_WORDS = {
    "roof.gutters": "gutters",
    "ground.soil": "soil of the ground",
    "ground.feel": "how the soil feels between thumb and finger, where its name is not known",
    "ground.backfill": "soil of the loose fill at the wall",
    "ground.slope": "how the ground falls at the house",
    "ground.gap": "gap between soil and wall",
    "ground.wetness": "how wet the ground is before the storm",
    "switch.kind": "kind of float",
    "pipe.check_valve": "check valve",
    "pipe.outlet": "where the pumped water is let out",
    "pipe.size": "size of the discharge pipe",
    "pump.horsepower": "horsepower of the pump",
    "house.use": "what is on the basement floor",
}
PLAIN = {
    "name": "name of the home",
    "note": "note",
    "rain.record": "rain record of the place",
    "rain.table": "official table of rain depths",
    "rain.temperature": "daily temperatures of the place, for the wetness before big storms",
    "rain.climate": "raise the rain for a changed climate",
    "ground.water_levels": "file of measured levels of the ground water",
    "place.latitude": "latitude",
    "place.longitude": "longitude",
}
_OTHER = {"pit.table": "measured table of the pit", "pump.curve": "measured curve of the pump"}


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
    known = STAND_BY_LABELS | CHOICE_WORDS | PLAIN | ASKED | _OTHER
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
    >>> page_words(InputError("home, switch.off", what), "switch.off")
    '9 in is not deeper than “level at which the pump starts below the floor” (13 in).'
    >>> page_words(InputError("home, visit 1, wall 1, place", "it is missing"), "visit.wall.1.size")
    'Place of the wall: it is missing.'
    """
    text = _on_page(error.what) + (f"; {_on_page(error.right)}" if error.right else "")
    about = error.where.rpartition("home, ")[2]
    if about.startswith("visit ") and about.endswith(", place"):
        about, name = key if key.endswith(".place") else about, "Place of the wall"
    else:
        name = label(about)
    if about != key and name != about:
        text = f"{name}: {text}"
    return text if text.endswith("?") else f"{text}."


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
