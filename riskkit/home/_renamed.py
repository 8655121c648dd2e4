"""Keys of home files that had another name: the old one is read as that of today."""

from __future__ import annotations

from collections.abc import Mapping
from types import MappingProxyType
from typing import Any

from riskkit.errors import InputError

__all__ = ["RENAMED", "rename_in", "with_new_keys"]

RENAMED: Mapping[str, str] = MappingProxyType(
    {
        "ground.looseness": "ground.backfill_k_factor",
        "ground.tightness": "ground.native_k_factor",
        "ground.puddle_time": "ground.ponding_time",
    }
)
"""Name of today by the name until version 0.1.0."""


def with_new_keys(data: Mapping[str, Any]) -> dict[str, Any]:
    """Return what a home file holds, each key by its name of today, where the old one stood.

    Raises InputError where a file holds a key by both names.
    """
    found = dict(data)
    for section in {key.partition(".")[0] for key in RENAMED}:
        part = data.get(section)
        if not isinstance(part, Mapping):
            continue
        names = {name: RENAMED.get(f"{section}.{name}", "").partition(".")[2] for name in part}
        for name, now in names.items():
            if now and now in part:
                raise InputError(
                    f"{section}.{name}",
                    f"it is the former name of {section}.{now}, which is given too",
                    "leave one of them out",
                )
        found[section] = {names[name] or name: value for name, value in part.items()}
    return found


def rename_in(document: Any) -> None:
    """Put the names of today into a parsed TOML document, so that comments stay."""
    for old, now in RENAMED.items():
        section, _, name = old.partition(".")
        if section in document and name in document[section]:
            document[section][now.partition(".")[2]] = document[section].pop(name)
