"""The form of a visit and what its tests say, as plain values."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from types import MappingProxyType
from typing import Any

from riskkit.evidence.overlay import Overlay
from riskkit.home.backup import asked_checks
from riskkit.home.home import Home
from riskkit.home.visits import visit_checks
from riskkit.quantities.units import UnitSystem
from riskkit.quantities.variables import choices
from riskkit.report.cautions import cautions
from riskkit.report.visit_words import conflict_words, measured_words, note_words
from riskkit.widgets.entered import DAY_HELP
from riskkit.widgets.fields import typed_text
from riskkit.widgets.labels import label
from riskkit.widgets.wall_fields import WallSlot, wall_groups

__all__ = [
    "ALL_WELL",
    "LEAVING",
    "all_well",
    "check_counts",
    "reading_blocks",
    "visit_groups",
    "visit_values",
]

_LEVELS = (("begin", "water level at the start"), ("end", "water level at the end"))
LEAVING = "Before you leave"
ALL_WELL = "visit.all_well"
_WORK = ("alarm_battery_changed", "debris_removed")  # done or not, whatever is in order
_WIDE = "Measure with the tape down from the basement floor."


def visit_groups(
    system: UnitSystem,
    walls: Sequence[WallSlot],
    home: Home,
    entries: Mapping[str, str] = MappingProxyType({}),
) -> list[dict[str, Any]]:
    """Return the groups of the form of a visit.

    Parameters
    ----------
    system : UnitSystem
        Units of the reader.
    walls : sequence of WallSlot
        The places where walls are followed.
    home : Home
        The home: what it has not is not asked for.
    entries : mapping of str to str
        What is entered of the visit, by key; it is shown whatever the home has.

    Returns
    -------
    list of dict
        As for the form of the home.
    """
    return [
        _group(
            "Day, who, and all in order",
            [
                _text("visit.date", "day of the visit", DAY_HELP[system]) | {"day": True},
                _text("visit.who", "who is there", "Role or initials."),
                {
                    "key": ALL_WELL,
                    "label": "I made every check below, and all is well",
                    "kind": "act",
                    "help": "Says yes to each check that is not answered yet, but not to work: "
                    f"{_work()}.",
                },
            ],
        ),
        _group("Checks", _checks("system", home, entries), "checks"),
        _group("Rise test, pump off", _test("rise_test", system), "rise_test"),
        _group("Draw-down test, pump on", _test("drawdown_test", system), "drawdown_test"),
        _group("Dehumidifier or air unit in the basement", _checks("unit", home, entries), "unit"),
        *wall_groups(walls, system),
        _group(
            "Parts, floor drain and note",
            [
                _text("visit.parts", "parts changed", "Several with commas between them."),
                _text("visit.floor_drain", "seen at the floor drain", ""),
                _text("visit.next", "day of the next visit", DAY_HELP[system]) | {"day": True},
                _text("visit.note", "note of the visit", ""),
            ],
        ),
        _group(LEAVING, _checks("leaving", home, entries), "leaving"),
    ]


def _work() -> str:
    """Name the work among the checks, which nobody can look at."""
    return ", ".join(visit_checks()[name]["words"] for name in _WORK)


def _group(title: str, fields: list[dict[str, Any]], *places: str) -> dict[str, Any]:
    beside = {words for field in fields for words in field.get("cautions", ())}
    before = [words for words in cautions(*places) if words not in beside]
    return {"title": title, "cautions": before, "fields": fields, "seldom": []}


def _checks(group: str, home: Home, entries: Mapping[str, str]) -> list[dict[str, Any]]:
    """How each check was found; where that was not well also what was seen, done and left."""
    fields = []
    asked = asked_checks(home, group)
    for name, row in visit_checks(group).items():
        key, words = f"visit.checks.{name}", row["words"]
        if name not in asked and not any(entry.startswith(key) for entry in entries):
            continue
        care = list(cautions(row["take_care"])) if row["take_care"] else []
        fields += [
            _yes_or_no(key, words, "not checked") | ({"cautions": care} if care else {}),
            _text(f"{key}.note", f"{words}: what was seen", "") | _under(key, "what was seen"),
            _text(f"{key}.done", f"{words}: what was done", "Such as: replaced.")
            | _under(key, "what was done"),
            _yes_or_no(f"{key}.left", f"{words}, as left", "not said") | _under(key, "as left"),
        ]
    return fields


def _under(key: str, short: str) -> dict[str, Any]:
    """What belongs to the field above it, whose label need not be read twice."""
    return {"under": key, "short": short}


def _yes_or_no(key: str, label: str, none: str) -> dict[str, Any]:
    return {
        "key": key, "label": label, "kind": "choice", "across": True, "none": none,
        "options": [["yes", "yes"], ["no", "no"]],
    }  # fmt: skip


def _test(name: str, system: UnitSystem) -> list[dict[str, Any]]:
    unit = "in" if system is UnitSystem.US else "cm"
    fields = [
        _text(f"visit.{name}.{key}", f"{words}, below the floor", _WIDE) | {"unit": unit}
        for key, words in _LEVELS
    ]
    fields.append(
        _text(f"visit.{name}.time", "time between", "Such as 95 s, 4 min or 9:30.")
        | {"unit": "s", "stopwatch": True}
    )
    if name == "rise_test":
        fields.append(
            {
                "key": "visit.rise_test.weather",
                "label": "weather of the last two days",
                "kind": "choice",
                "none": "don't know",
                "options": [["dry", "no rain or thaw"], ["wet", "rain or thaw"]],
            }
        )
    return fields


def _text(key: str, label: str, words: str) -> dict[str, Any]:
    return {
        "key": key, "label": label, "kind": "text", "unit": "", "help": words, "basis": False,
        "unknown": False,
    }  # fmt: skip


def visit_values(
    groups: list[dict[str, Any]],
    entries: Mapping[str, str],
    typed: Mapping[str, object],
    errors: Mapping[str, str],
    taken: Mapping[str, tuple[str, bool]],
    last: Mapping[str, str] | None = None,
) -> dict[str, dict[str, Any]]:
    """Return what stands in each field of the form of a visit.

    Parameters
    ----------
    groups : list of dict
        The form.
    entries : mapping of str to str
        What is in force, by key.
    typed : mapping of str to object
        What was entered and is not right yet.
    errors : mapping of str to str
        What is wrong with it.
    taken : mapping of str to (str, bool)
        What stands below a field, by key, and whether it is urgent.
    last : mapping of str to str, optional
        What the visit before says, by key, with its day.

    Returns
    -------
    dict
        By key, as for the form of the home; ``hidden`` where a field is not asked for.
    """
    values: dict[str, dict[str, Any]] = {}
    for group in groups:
        for field in (*group["fields"], *group["seldom"]):
            key = field["key"]
            text = typed_text(typed[key]) if key in typed else entries.get(key, "")
            if field["kind"] == "choice":
                text = text.partition(",")[0]
            words, urgent = taken.get(key, ("", False))
            values[key] = {
                "text": text,
                "known": text != "",
                "taken": words,
                "urgent": urgent,
                "last": (last or {}).get(key, ""),
                "error": errors.get(key, ""),
            }
    for group in groups:
        for field in group["fields"]:
            if "under" in field:  # asked for only where all was not well on arrival
                entry = values[field["key"]]
                asked = values[field["under"]]["text"] == "no"
                entry["hidden"] = not (asked or entry["text"] or entry["error"])
    return values


def all_well(home: Home, entries: Mapping[str, str]) -> dict[str, str]:
    """Say yes to every check of the system that is not answered yet.

    Parameters
    ----------
    home : Home
        The home: what it has not is not answered for.
    entries : mapping of str to str
        What is entered of the visit, by key.

    Returns
    -------
    dict of str to str
        Answers by key; work that is done or not, such as a battery changed, is left out.
    """
    keys = [f"visit.checks.{name}" for name in asked_checks(home, "system") if name not in _WORK]
    return {key: "yes" for key in keys if not entries.get(key)}


def check_counts(
    groups: Sequence[Mapping[str, Any]], values: Mapping[str, Mapping[str, Any]]
) -> list[dict[str, Any]]:
    """Count for each group of checks how many are answered and how many are out of order.

    Work that is done or not, such as debris removed, is not looked at; left undone it is counted
    among what is out of order.

    Parameters
    ----------
    groups : sequence of mapping
        The form of the visit.
    values : mapping
        What stands in its fields.

    Returns
    -------
    list of dict
        ``title``, ``words`` and ``bad``.
    """
    found = []
    for group in groups:
        keys = [f["key"] for f in group["fields"] if f["key"].count(".") == 2]
        keys = [key for key in keys if key.startswith("visit.checks.")]
        if not keys:
            continue
        said = [values[key]["text"] for key in keys]
        seen = [bool(values[key]["text"]) for key in keys if key.rpartition(".")[2] not in _WORK]
        bad = sum(
            text == "no" and values[f"{key}.left"]["text"] != "yes"
            for key, text in zip(keys, said, strict=True)
        )
        words = f"{sum(seen)} of {len(seen)} looked at"
        words += f", {bad} out of order" if bad else ""
        found.append({"title": group["title"], "words": words, "bad": bad > 0})
    return found


def reading_blocks(home: Home, read: Overlay | None, system: UnitSystem) -> list[dict[str, Any]]:
    """Return what the tests of a visit say.

    Parameters
    ----------
    home : Home
        The home with the visit.
    read : Overlay, optional
        What the visit saw.
    system : UnitSystem
        Units of the reader.

    Returns
    -------
    list of dict
        Blocks for the panel; empty without a visit.
    """
    if read is None:
        return []
    items = [*measured_words(read, system)]
    words = {key: choice for key, choice in read.values.items() if key in choices()}
    items += [f"Seen at the home: {label(key)}: {word}." for key, word in words.items()]
    items += note_words(home, read, system)
    conflicts = conflict_words(home, read, system)
    blocks: list[dict[str, Any]] = []
    if items:
        blocks.append({"kind": "heading", "text": "What the visit says"})
        blocks.append({"kind": "list", "items": items})
    if conflicts:
        blocks.append({"kind": "heading", "text": "This cannot be true together"})
        blocks.append({"kind": "list", "items": list(conflicts)})
    return blocks
