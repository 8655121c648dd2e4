"""What a key is called that is answered by one of a few words."""

from __future__ import annotations

from collections.abc import Mapping
from functools import cache
from types import MappingProxyType

from riskkit.tables import load_table

__all__ = ["choice_labels"]


@cache
def choice_labels() -> Mapping[str, str]:
    """Return what each such key is called, by ``tables/choice_labels.csv``.

    Returns
    -------
    mapping of str to str
        By section and key, such as ``"ground.gap"``.
    """
    return MappingProxyType({row["key"]: row["label"] for row in load_table("choice_labels").rows})
