"""Checks of a service visit: how each was found, what was done, and how it was left.

::

    [visit.checks]
    float_free = "yes"                                   # as found
    alarm_sounded = "no, corroded contact"               # found so, and nothing done
    check_valve_holds = { found = "no, stuck open", done = "replaced", left = "yes" }
"""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass
from functools import cache
from types import MappingProxyType
from typing import Annotated, Any

from pydantic import PlainSerializer, PlainValidator, WithJsonSchema

from riskkit.errors import InputError
from riskkit.home._fields import field_error
from riskkit.quantities.quantity import UNKNOWN, shown
from riskkit.tables import load_table

__all__ = ["NOT_CHECKED", "Check", "check_field", "visit_checks"]

_YES, _NO, NOT_CHECKED = "yes", "no", "not checked"
_MOST_LETTERS = 300
_PARTS = ("found", "done", "left")
_RIGHT = (
    'it is "yes", "no" or "not checked"; a note may follow: "no, corroded contact"; '
    'what was done is told as { found = "no", done = "replaced", left = "yes" }'
)


@dataclass(frozen=True)
class Check:
    """One check: how it was found, what was done, how it was left.

    Parameters
    ----------
    found : bool or None
        Whether all was well on arrival; None where it was not looked at before the work.
    note : str
        To that.
    done : str
        What was done; empty for nothing.
    left : bool or None
        Whether all was well at the end; None where the visit does not say.
    left_note : str
        To that.
    """

    found: bool | None = None
    note: str = ""
    done: str = ""
    left: bool | None = None
    left_note: str = ""

    @property
    def as_left(self) -> bool | None:
        """How it is now: as left; as found where the visit does not say, whatever was done."""
        return self.found if self.left is None else self.left

    @property
    def data(self) -> str | dict[str, str]:
        """As the home file has it: a text where nothing was done, else its three parts."""
        found, left = _text(self.found, self.note), _text(self.left, self.left_note)
        if not self.done and not left:
            return found or NOT_CHECKED
        parts = zip(_PARTS, (found, self.done, left), strict=True)
        return {name: text for name, text in parts if text}


def _text(state: bool | None, note: str) -> str:
    if state is None:
        return ""
    word = _YES if state else _NO
    return f"{word}, {note}" if note else word


@cache
def visit_checks(group: str = "") -> Mapping[str, Mapping[str, str]]:
    """Return the checks of a visit.

    Parameters
    ----------
    group : str
        Part of the visit: ``"system"``, ``"unit"`` or ``"leaving"``; all of them where it is empty.

    Returns
    -------
    mapping of str to mapping
        The rows of ``tables/visit_checks.csv`` by their key.
    """
    rows = load_table("visit_checks").rows
    return MappingProxyType({r["key"]: r for r in rows if group in ("", r["group"])})


def _read_state(written: object, where: str) -> tuple[bool | None, str]:
    if isinstance(written, bool):
        return written, ""
    state, _, note = str(written).partition(",") if isinstance(written, str) else ("", "", "")
    state, note = state.strip().lower(), note.strip()
    if state in (NOT_CHECKED, UNKNOWN) and not note:
        return None, ""
    if state not in (_YES, _NO):
        raise InputError(where, f"{shown(written)} is not an answer", _RIGHT)
    if len(note) > _MOST_LETTERS:
        raise InputError(where, f"the note is longer than {_MOST_LETTERS} letters")
    return state == _YES, note


def _read_check(written: object, where: str) -> Check | None:
    if not isinstance(written, Mapping):
        state, note = _read_state(written, where)
        return None if state is None else Check(state, note)
    for name in written:
        if name not in _PARTS:
            raise InputError(
                f"{where}.{name}", "there is no such key", f"known are {', '.join(_PARTS)}"
            )
    found, note = _read_state(written.get("found", NOT_CHECKED), f"{where}.found")
    left, left_note = _read_state(written.get("left", NOT_CHECKED), f"{where}.left")
    done = written.get("done", "")
    if not isinstance(done, str):
        raise InputError(f"{where}.done", f"{shown(done)} is not text", 'write it like "replaced"')
    if len(done.strip()) > _MOST_LETTERS:
        raise InputError(f"{where}.done", f"it is longer than {_MOST_LETTERS} letters")
    check = Check(found, note, done.strip(), left, left_note)
    return None if check == Check() else check


def check_field(key: str) -> Any:
    """Return the field of one check for a model of all checks.

    Parameters
    ----------
    key : str
        A key of ``tables/visit_checks.csv``.

    Returns
    -------
    tuple
        Type and default, as pydantic takes them.
    """

    def validate(written: object) -> Check | None:
        if written is None or isinstance(written, Check):
            return written
        try:
            return _read_check(written, f"checks.{key}")
        except InputError as error:
            raise field_error(error) from None

    words = visit_checks()[key]["words"]
    part = {"type": ["string", "boolean"], "examples": [_YES, "no, corroded contact", NOT_CHECKED]}
    parts = {"found": part, "done": {"type": "string", "examples": ["replaced"]}, "left": part}
    schema = {
        "description": f"{words}: as found, or as found, what was done and as left",
        "anyOf": [part, {"type": "object", "additionalProperties": False, "properties": parts}],
    }
    kind = Annotated[
        Check | None,
        PlainValidator(validate),
        PlainSerializer(lambda value: value.data if value else NOT_CHECKED),
        WithJsonSchema(schema),
    ]
    return (kind, None)
