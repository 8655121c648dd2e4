"""What became of the last change of a home, and the sentence that says so."""

from __future__ import annotations

from enum import Enum

from riskkit.errors import InputError
from riskkit.home.home import Home
from riskkit.home.merge import changed_places
from riskkit.home.saving import ConflictError, GoneError, UnreadableError
from riskkit.widgets.labels import label
from riskkit.widgets.refused import refused_count

__all__ = [
    "SaveStatus",
    "again_words",
    "copy_words",
    "fate_words",
    "refused_save",
    "save_choices",
    "saved_view",
    "taken_words",
]


_MOST_NAMED = 4


class SaveStatus(Enum):
    """What became of the last change."""

    NO_FILE = "not saved to a file yet"
    SAVED = "saved"
    CHANGED_OUTSIDE = "changed in another window or program"
    GONE = "deleted or moved"
    FAILED = "could not be written"


def saved_view(kept: SaveStatus, name: str, refused: int) -> tuple[str, str]:
    """Return the mark at the top of a page.

    Parameters
    ----------
    kept : SaveStatus
        What became of the last change.
    name : str
        The home file; empty where there is none.
    refused : int
        How many values that stand in the fields are not accepted.

    Returns
    -------
    words, sign : str
        What it says, and by which name its sign and colour are chosen.

    Examples
    --------
    >>> saved_view(SaveStatus.SAVED, "home.toml", 0)
    ('Saved in home.toml', 'SAVED')
    >>> saved_view(SaveStatus.SAVED, "home.toml", 2)
    ('2 values not accepted; the rest saved in home.toml', 'PARTLY')
    """
    if kept is not SaveStatus.SAVED or not name:
        return kept.value.capitalize(), kept.name
    if refused:  # first, for a long name may be cut
        return f"{refused_count(refused)}; the rest saved in {name}", "PARTLY"
    return f"Saved in {name}", kept.name


def save_choices(kept: SaveStatus) -> list[list[str]]:
    """Return what a person may do about it.

    Parameters
    ----------
    kept : SaveStatus
        What became of the last change.

    Returns
    -------
    list of [kind, words]
        Buttons; the kind is that of the message sent.
    """
    return {
        SaveStatus.CHANGED_OUTSIDE: [
            ["keep", "Keep mine as a copy"],
            ["reload", "Load what the file has"],
        ],
        SaveStatus.GONE: [["again", "Write it again"]],
        SaveStatus.FAILED: [["keep", "Save a copy"]],
    }.get(kept, [])


def fate_words(name: str, fate: SaveStatus, where: str = "") -> str:
    """Say what others did to a home file, and how to go on.

    Parameters
    ----------
    name : str
        The file.
    fate : SaveStatus
        `SaveStatus.GONE` or `SaveStatus.CHANGED_OUTSIDE`.
    where : str
        What both changed, where that is known.

    Returns
    -------
    str
        One sentence.
    """
    if fate is SaveStatus.GONE:
        return (
            f"{name} was deleted or moved, so what you have here is kept in this page alone: "
            "write it again, or put the file back."
        )
    return (
        f"{name} was changed in another window or program{where}, so nothing was written over it: "
        "keep yours as a copy, or load what the file has now."
    )


def refused_save(name: str, error: InputError) -> tuple[SaveStatus, str]:
    """Tell what it means that a home could not be saved.

    Parameters
    ----------
    name : str
        The file.
    error : InputError
        What went wrong.

    Returns
    -------
    fate : SaveStatus
        What became of the change.
    words : str
        One sentence.
    """
    if isinstance(error, GoneError):
        return SaveStatus.GONE, fate_words(name, SaveStatus.GONE)
    if isinstance(error, UnreadableError):
        return SaveStatus.CHANGED_OUTSIDE, fate_words(name, SaveStatus.CHANGED_OUTSIDE)
    if isinstance(error, ConflictError):
        named = _places([one.where for one in error.conflicts])
        where = f" where you changed it too ({named})" if named else f", and {error.what}"
        return SaveStatus.CHANGED_OUTSIDE, fate_words(name, SaveStatus.CHANGED_OUTSIDE, where)
    return SaveStatus.FAILED, (
        f"{name} is not saved: {error.what}; your changes are kept in this page "
        "and will be written as soon as that is possible, or save a copy."
    )


def taken_words(before: Home, after: Home) -> str:
    """Say what others changed that stands in the page now.

    Parameters
    ----------
    before, after : Home
        The home with and without it.

    Returns
    -------
    str
        One sentence; empty where there is nothing.
    """
    old, new = (home.model_dump(exclude_defaults=True) for home in (before, after))
    named = _places(changed_places(old, new))
    return f"Taken over from another window or program: {named}." if named else ""


def _places(places: list[tuple[str, ...]]) -> str:
    words = list(dict.fromkeys(_place(where) for where in places))
    more = len(words) - _MOST_NAMED
    return "; ".join([*words[:_MOST_NAMED], *([f"and {more} more"] if more > 0 else [])])


def _place(where: tuple[str, ...]) -> str:
    section, *rest = where
    if section == "visit":
        return f"visit of {rest[0]}" if rest else "visits"
    if section == "observation":
        return f"observation of {rest[0]}" if rest else "observations"
    return label(".".join(where))


def copy_words(name: str, error: InputError) -> str:
    """Say that no copy could be written.

    Parameters
    ----------
    name : str
        The file of the copy.
    error : InputError
        What went wrong.

    Returns
    -------
    str
        One sentence.
    """
    return (
        f"The copy {name} is not saved: {error.what}; make room or allow writing there; "
        "your changes are kept in this page until then."
    )


def again_words(name: str, error: InputError) -> str:
    """Say that a file that was deleted or moved could not be written again.

    Parameters
    ----------
    name : str
        The file.
    error : InputError
        What went wrong.

    Returns
    -------
    str
        One sentence.
    """
    return (
        f"{name} was deleted or moved and is not saved again: {error.what}; "
        "what you have here is kept in this page alone."
    )
