"""Values that were typed and refused: neither in the answer nor in the file, and a page says so."""

from __future__ import annotations

from collections.abc import Collection, Iterable, Mapping
from typing import Any

from riskkit.widgets.labels import label

__all__ = ["field_names", "refused_count", "refused_words"]


def field_names(groups: Iterable[Mapping[str, Any]]) -> dict[str, str]:
    """Name every field of a form so that it can be found.

    Parameters
    ----------
    groups : iterable of mapping
        The groups of the form.

    Returns
    -------
    dict of str to str
        By key, such as ``"bottom of the pit below the basement floor (Pit and floor)"``.
    """
    return {
        field["key"]: f"{field['label']} ({group['title']})"
        for group in groups
        for field in (*group["fields"], *group["seldom"])
    }


def refused_count(number: int) -> str:
    """Return how many values are refused.

    Parameters
    ----------
    number : int
        How many.

    Returns
    -------
    str
        Such as ``"2 values not accepted"``.
    """
    return f"{number} value{'' if number == 1 else 's'} not accepted"


def refused_words(keys: Collection[str], names: Mapping[str, str]) -> str:
    """Say which values are refused and what becomes of them.

    Parameters
    ----------
    keys : collection of str
        Their keys.
    names : mapping of str to str
        What the fields are called, as `field_names` gives them.

    Returns
    -------
    str
        One sentence; empty where there is none.

    Examples
    --------
    >>> refused_words(["pit.depth"], {"pit.depth": "bottom (Pit and floor)"})
    '1 value is not accepted, so it is neither in the answer nor saved: bottom (Pit and floor).'
    """
    listed = "; ".join(names.get(key, label(key)) for key in keys)
    if len(keys) < 2:
        lead = "1 value is not accepted, so it is neither in the answer nor saved"
    else:
        lead = f"{len(keys)} values are not accepted, so they are neither in the answer nor saved"
    return f"{lead}: {listed}." if keys else ""
