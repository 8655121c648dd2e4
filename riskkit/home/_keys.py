"""Keys of a home file that are asked for: a wrong one is refused with the nearest right one."""

from __future__ import annotations

import difflib
from collections.abc import Collection, Mapping
from functools import cache

from riskkit.errors import InputError, need_type
from riskkit.quantities.backup import backup_choices, backup_quantities
from riskkit.quantities.variables import choices, variables

_FEW = 5  # keys that are listed whole


def need_key(key: str, known: Collection[str], what: str) -> None:
    """Refuse a key that is none of those known."""
    need_type(key, str, "key", f"give the key of {what}, as it stands in a home file")
    if key in known:
        return
    near = difflib.get_close_matches(key, known, n=1)
    section = key.split(".")[0]
    here = [each for each in known if each.split(".")[0] == section]
    if near:
        right = f"did you mean {near[0]!r}?"
    elif here and len(known) > _FEW:
        right = f"of {section} known are {', '.join(here)}"
    elif len(known) > _FEW and "." in next(iter(known)):
        right = f"known sections are {', '.join(dict.fromkeys(k.split('.')[0] for k in known))}"
    else:
        right = f"known are {', '.join(known)}"
    raise InputError("key", f"{key!r} is not {what} of a home", right)


@cache
def quantity_keys() -> Mapping[str, object]:
    """Keys that hold a quantity, in their order."""
    return dict.fromkeys((*variables(), *backup_quantities()))


@cache
def choice_keys() -> Mapping[str, object]:
    """Keys that hold a word or a text, in their order."""
    texts = (f"ground.{name}" for name in ("soil", "feel", "backfill", "water_levels"))
    return dict.fromkeys((*choices(), *backup_choices(), *texts, "place.area"))
