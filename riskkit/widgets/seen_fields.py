"""What is asked of what people have seen, and how their answers stand in the home file.

An item is one observation with its fields. The owner's questions come first, for they cost nothing.
"""

from __future__ import annotations

import datetime
from collections.abc import Mapping
from dataclasses import dataclass, field
from typing import Any

from riskkit.errors import InputError
from riskkit.home.home import Home
from riskkit.home.observations import OFTEN, WHEN, Observation, observation_kinds
from riskkit.quantities.quantity import Quantity
from riskkit.quantities.text import brief, with_unit
from riskkit.quantities.units import UnitSystem
from riskkit.report.cautions import cautions
from riskkit.widgets.entered import DAY_HELP

__all__ = ["DAYS", "Item", "entered", "items", "seen_groups", "seen_texts", "seen_values"]

_YEARS = 10
_TIMES = (("0", "never"), ("1", "once"), ("2", "two or three times"), ("4", "more often"))
_IN = {"dry": "in a dry spell", "spring": "in spring", "heavy rain": "in heavy rain"}
_OWNER = "Ask the owner"
_SAID = frozenset({"how_often", "floods", "alarms"})
"""What an owner says anew; the last word counts."""
_LABELS = {
    "begin": "water below the floor at the start",
    "end": "water below the floor at the end",
    "time": "time between",
    "flow": "flow of the hose, timed with a bucket",
    "after": "time since the hose was opened",
    "lag": "time until more water came, if seen",
    "run": "the pump ran",
    "pause": "pause until its next start",
    "rain": "rain that fell until then",
    "over": "time over which it fell",
    "day": "day of the rain",
    "since": "from which day on",
    "depth": "depth of the water on the floor, if known",
    "mark": "depth of the mark below the floor",
    "starts": "starts that were counted",
    "hours": "hours that were counted",
}
_UNITS = {
    "begin": ("in", "cm"), "end": ("in", "cm"), "time": ("s", "s"), "flow": ("gpm", "L/min"),
    "after": ("min", "min"), "lag": ("min", "min"), "run": ("s", "s"), "pause": ("min", "min"),
    "rain": ("in", "mm"), "over": ("h", "h"), "depth": ("in", "cm"), "mark": ("in", "cm"),
    "hours": ("h", "h"),
}  # fmt: skip
_CHOICES = {
    "floor": (("dry", "it stayed dry"), ("wet", "water stood on it")),
    "alarm": (("sounded", "it went off"), ("silent", "it stayed silent")),
    "times": _TIMES,
    "often": tuple((word, word) for word in OFTEN),
}
_MOST_DIGITS = 12  # of a counter
_COUNTS = frozenset({"starts", "times"})
DAYS = frozenset({"day", "since"})


@dataclass(frozen=True)
class Item:
    """One observation that may be entered.

    Parameters
    ----------
    id : str
        Its name among the fields.
    kind : str
        A row of ``tables/observations.csv``.
    title : str
        Group in which it stands.
    fields : tuple of str
        What is asked.
    fixed : mapping of str to object
        What goes without asking.
    label : str
        What is asked in words, where it is one question.
    """

    id: str
    kind: str
    title: str
    fields: tuple[str, ...]
    fixed: Mapping[str, object] = field(default_factory=dict)
    label: str = ""


def items(*, with_tests: bool) -> tuple[Item, ...]:
    """Return what may be entered, the owner's questions first.

    Parameters
    ----------
    with_tests : bool
        Whether rise and draw-down are asked for; the form of a visit has its own.

    Returns
    -------
    tuple of Item
        In the order of the form.
    """
    found = [
        Item(
            f"how_often_{when.replace(' ', '_')}", "how_often", _OWNER, ("often",), {"when": when},
            f"how often does the pump run {_IN[when]}?",
        )
        for when in WHEN
    ]  # fmt: skip
    years = {"years": _YEARS}
    found += [
        Item("floods", "floods", _OWNER, ("times",), years,
             "water on the floor in the last ten years, though the pump ran?"),
        Item("alarms", "alarms", _OWNER, ("times",), years,
             "alarm in the last ten years: in how many storms?"),
        Item("outage", "outage", "The pump once stood still in rain",
             ("rain", "over", "time", "floor")),
        Item("floor_on", "floor_on", "A day of rain: the floor, the pump running",
             ("day", "floor", "depth")),
        Item("alarm_on", "alarm_on", "A day of rain: the alarm", ("day", "alarm")),
        Item("high_water", "high_water", "High-water mark in the pit", ("since", "mark")),
        Item("counter", "counter", "Counter at the pump, read today", ("since", "starts", "hours")),
        Item("cycle", "cycle", "One cycle by ear, in dry weather", ("run", "pause")),
        Item("rain_cycle", "rain_cycle", "One cycle by ear, in rain",
             ("run", "pause", "rain", "over")),
    ]  # fmt: skip
    if with_tests:
        found += [
            Item("rise", "rise", "Rise test, pump off", ("begin", "end", "time")),
            Item("draw_down", "draw_down", "Draw-down test, pump on", ("begin", "end", "time")),
        ]
    return (
        *found,
        Item("hose_in_pit", "hose_in_pit", "Hose into the pit, pump off",
             ("flow", "begin", "end", "time")),
        Item("hose_at_wall", "hose_at_wall", "Hose at the wall, then pump off",
             ("flow", "lag", "after", "begin", "end", "time")),
    )  # fmt: skip


def seen_groups(asked: tuple[Item, ...], system: UnitSystem) -> list[dict[str, Any]]:
    """Return the groups of the form.

    Parameters
    ----------
    asked : tuple of Item
        What may be entered.
    system : UnitSystem
        Units of the reader.

    Returns
    -------
    list of dict
        As for the form of the home.
    """
    groups: dict[str, dict[str, Any]] = {}
    for one in asked:
        places = observation_kinds()[one.kind]["places"].split()
        said = list(cautions(*places, system=system)) if places else []
        new = {"title": one.title, "cautions": said, "fields": [], "seldom": []}
        group = groups.setdefault(one.title, new)
        group["fields"] += [_field(one, name, system) for name in one.fields]
    return list(groups.values())


def _field(one: Item, name: str, system: UnitSystem) -> dict[str, Any]:
    key, label = f"seen.{one.id}.{name}", one.label or _LABELS.get(name, "")
    if name in _CHOICES:
        label = one.label or ("the floor" if name == "floor" else "the alarm")
        return {
            "key": key, "label": label, "kind": "choice", "none": "don't know",
            "options": [list(option) for option in _CHOICES[name]],
        }  # fmt: skip
    words = DAY_HELP[system] if name in DAYS else ""
    unit = _UNITS[name][system is not UnitSystem.US] if name in _UNITS else ""
    return {
        "key": key, "label": label, "kind": "text", "unit": unit, "help": words, "basis": False,
        "unknown": False, "day": name in DAYS,
    }  # fmt: skip


def _is_of(one: Item, seen: Observation) -> bool:
    when = one.fixed.get("when")
    return seen.kind == one.kind and (when is None or seen.when == when)


def _place(home: Home, one: Item) -> int | None:
    """Where the last observation of a kind stands in the home."""
    at = [i for i, seen in enumerate(home.observation) if _is_of(one, seen)]
    return at[-1] if at else None


def seen_texts(home: Home, one: Item) -> dict[str, str]:
    """Return what the home holds of an item, field by field.

    Parameters
    ----------
    home : Home
        The home.
    one : Item
        The item.

    Returns
    -------
    dict of str to str
        Texts as they were written; empty where nothing is entered.
    """
    at = _place(home, one)
    if at is None:
        return {}
    return {name: _text(name, getattr(home.observation[at], name)) for name in one.fields}


def _text(name: str, value: object) -> str:
    if value is None:
        return ""
    if name == "times" and isinstance(value, int):
        return str(max(int(key) for key, _ in _TIMES if int(key) <= value))
    return value.text if isinstance(value, Quantity) else str(value)


def entered(
    home: Home, one: Item, texts: Mapping[str, str], today: datetime.date, system: UnitSystem
) -> tuple[list[Observation] | None, str]:
    """Return the observations of a home with an item as it is entered now.

    What an owner says anew takes the place of what was said; what is measured anew on another day
    stands beside what was measured before.

    Parameters
    ----------
    home : Home
        The home.
    one : Item
        The item.
    texts : mapping of str to str
        What stands in its fields.
    today : date
        Day on which it is entered.
    system : UnitSystem
        Units of the reader, for a number without one.

    Returns
    -------
    observations : list of Observation or None
        None where something is still missing.
    missing : str
        The first field that is missing; empty where none is.

    Raises
    ------
    InputError
        Where a text is not right; its place ends with the field.
    """
    at, kept = _place(home, one), list(home.observation)
    given = {name: text.strip() for name, text in texts.items() if text.strip()}
    if not given:
        if at is not None:
            del kept[at]
        return kept, ""
    needs = [name for name in observation_kinds()[one.kind]["needs"].split() if name in one.fields]
    missing = [name for name in needs if name not in given]
    if one.kind == "counter" and not {"starts", "hours"} & set(given):
        missing.append("starts")
    if missing:
        return None, missing[0]
    data: dict[str, object] = {"date": today, "kind": one.kind, **one.fixed}
    for name, text in given.items():
        unit = _UNITS[name][system is not UnitSystem.US] if name in _UNITS else ""
        data[name] = _whole(name, text) if name in _COUNTS else with_unit(text, unit)
    (seen,) = Home().changed(observation=[data]).observation
    if at is not None and (one.kind in _SAID or kept[at].date == today):
        kept[at] = seen
    else:
        kept.append(seen)
    return kept, ""


def _whole(name: str, text: str) -> int:
    plain = text.replace(",", "")
    if not plain.isdecimal() or len(plain) > _MOST_DIGITS:
        raise InputError(name, f"{brief(text)!r} is not a whole number", "write it like 1200")
    return int(plain)


def seen_values(
    home: Home,
    asked: tuple[Item, ...],
    drafts: Mapping[str, Mapping[str, str]],
    errors: Mapping[str, str],
    missing: Mapping[str, str],
) -> dict[str, dict[str, Any]]:
    """Return what stands in each field.

    Parameters
    ----------
    home : Home
        The home.
    asked : tuple of Item
        What may be entered.
    drafts : mapping
        Texts by item that are not an observation yet.
    errors : mapping of str to str
        What is wrong, by field.
    missing : mapping of str to str
        By item the field that is still missing.

    Returns
    -------
    dict
        By key, as for the form of the home.
    """
    values = {}
    for one in asked:
        held = seen_texts(home, one)
        texts = drafts.get(one.id, held)
        at = _place(home, one)
        last = one.fields[-1]
        said = "" if at is None else f"entered {home.observation[at].date}"
        if one.id in missing:
            said = f"counts once it is given: {_LABELS.get(missing[one.id], 'what it did')}"
        for name in one.fields:
            key, text = f"seen.{one.id}.{name}", texts.get(name, "")
            values[key] = {
                "text": text, "known": text != "", "error": errors.get(key, ""),
                "taken": said if name == last else "", "waits": one.id in drafts,
            }  # fmt: skip
    return values
