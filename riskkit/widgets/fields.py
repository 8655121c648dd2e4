"""What a form shows, as plain values made from the dictionary of quantities.

A form is a list of groups, a group a list of fields. What a field is called, its unit, its range
and its help never change while a home is open; what stands in it does. The two are kept apart so
that a change sends little.
"""

from __future__ import annotations

import re
from collections.abc import Callable, Mapping, Sequence
from typing import Any

from riskkit.antecedent.water_table import AntecedentGround
from riskkit.ensemble.draws import ONLY_WHEN_GIVEN, assumptions, nothing_without
from riskkit.evidence.overlay import home_as_seen
from riskkit.home.home import Home
from riskkit.home.overruled import overruled_choices
from riskkit.home.sections import FEELS, TEXTURES
from riskkit.quantities.choice_labels import choice_labels
from riskkit.quantities.components import NONE, Component, absent_words, component_of
from riskkit.quantities.quantity import UNKNOWN, Basis, Quantity
from riskkit.quantities.reader_units import in_reader_units
from riskkit.quantities.units import UnitSystem, convert, system_of
from riskkit.quantities.variables import Spread, Variable, choices, significant, variables
from riskkit.report.cautions import cautions
from riskkit.widgets.asked import ASKED, asked_text, is_too_short, told_otherwise
from riskkit.widgets.labels import PLAIN
from riskkit.widgets.stand_by_fields import stand_by_groups, stand_by_values
from riskkit.widgets.walk import WALK, WalkPlace

__all__ = ["form_groups", "form_values", "known_counts", "shown_text", "typed_text"]

_AT_WORK = frozenset({"ground", "pit", "pump", "pipe"})  # sections with cautions of their own
FEEL = "ground.feel"
_SOIL = ("ground.soil", FEEL, "ground.backfill")
_SAYS_ALL = ("pipe.size", "pump.horsepower")  # choices that need no words beside them
_ASKED_FIELDS: dict[str, Callable[[UnitSystem], dict[str, Any]]] = {
    "place.town": lambda _: {
        "kind": "place",
        "help": "Three letters of a town are enough; or such as 41.2 N, 88.6 W.",
    },
    "house.paced": lambda system: {
        "kind": "value",
        "unit": "ft" if system is UnitSystem.US else "m",
        "help": f'Such as "{"40 x 28" if system is UnitSystem.US else "12 x 8.5"}".',
    },
    "roof.downspouts": lambda _: {
        "kind": "counts",
        "parts": ["in all", "end at the wall", "go into the drain at the footing"],
    },
    "ground.wells": lambda _: {"kind": "counts", "parts": ["wells"]},
    "pit.shape": lambda _: {
        "kind": "choice",
        "options": [["round", "round"], ["rectangular", "rectangular"]],
    },
}
_CLIMATE_HELP = (
    "Warming, such as 2 °C or 3.6 °F, or what your authority adds to the rain, such as 20 %."
)
_TOO_SHORT = (
    "; so short a wall does not go around so much floor, which is right only where walls are "
    "shared with neighbours"
)
_NEAR = 1.5e-3  # two digits of a value in other units are enough where they are as near
_COUNTED = ("roof.at_wall", "roof.to_drain")  # shares of downspouts, which people count
_TEXT = re.compile(r"^(?P<value>.*?)(\s*,\s*(measured|given))?\s*$")


def form_groups(system: UnitSystem) -> list[dict[str, Any]]:
    """Return the groups of the form with their fields, without values.

    Parameters
    ----------
    system : UnitSystem
        Units of the reader.

    Returns
    -------
    list of dict
        Each with ``title``, ``cautions``, ``fields`` and ``seldom``.
    """
    steps = [_group(stop, stop.title, 1, stop.seen, (), system) for stop in WALK]
    for stop in WALK:
        there = {*stop.seen, *stop.measured}
        rest = [
            key
            for key in (*choices(), "ground.feel", "ground.backfill", *variables(), *PLAIN)
            if key.split(".")[0] in stop.sections and key not in there
        ]
        set_by_choice = {target for choice in choices().values() for target in choice.targets}
        rest.sort(key=lambda key: key in set_by_choice)
        steps.append(_group(stop, f"{stop.title}: details", 2, stop.measured, rest, system))
    return [*steps, *stand_by_groups(system)]


def _group(
    stop: WalkPlace,
    title: str,
    step: int,
    first: Sequence[str],
    rest: Sequence[str],
    system: UnitSystem,
) -> dict[str, Any]:
    return {
        "title": title,
        "step": step,
        "cautions": list(cautions(*_AT_WORK.intersection(stop.sections), system=system)),
        "fields": [_field(key, system) for key in first],
        "seldom": [_field(key, system) for key in rest],
    }


def _field(key: str, system: UnitSystem) -> dict[str, Any]:
    field: dict[str, Any] = {"key": key, "unit": "", "help": "", "basis": False, "unknown": True}
    if key in ASKED:
        return field | {"label": ASKED[key]} | _ASKED_FIELDS[key](system)
    if key in PLAIN:
        field["label"] = PLAIN[key]
        field["kind"] = "text"
        field["unknown"] = key.startswith("place.")
        if key == "rain.climate":
            return field | {"help": _CLIMATE_HELP}
        if key.startswith("rain."):
            field |= {"kind": "select", "options": [], "none": "none"}  # files come and go
        if key == "note":
            field["kind"] = "note"
        if key.startswith("place."):
            field |= {
                "unit": "°",
                "help": "Such as 41.2 N or 88.6 W; for sun on the soil, and to find rain.",
            }
        return field
    if key in choices() or key in _SOIL:
        field["label"] = choice_labels().get(key, key)
        field["kind"] = "feel" if key == FEEL else "select" if key in _SOIL else "choice"
        field["options"] = _options(key, system)
        field["chips"] = key in _SAYS_ALL
        return field
    item = variables()[key]
    unit = item.shown_unit(system)
    low, high = item.end_texts(system)
    part = component_of(key)
    if part is not None:
        field["absent"] = absent_words(part)
    field |= {
        "label": item.words,
        "kind": "value",
        "unit": "" if unit == "1" else unit,
        "basis": True,
        "help": f"Between {low} and {high}." + (' Also as "2 of 6".' if key in _COUNTED else ""),
    }  # fmt: skip
    return field


def _options(key: str, system: UnitSystem) -> list[list[str]]:
    if key == FEEL:
        return [[feel, in_reader_units(words, system)] for feel, words in FEELS.items()]
    if key in _SOIL:
        return [[name, name] for name in TEXTURES]
    return [
        [option, option if key in _SAYS_ALL else in_reader_units(_words(spreads), system)]
        for option, spreads in choices()[key].options.items()
    ]


def _words(spreads: Mapping[str, Spread]) -> str:
    return next(iter(spreads.values())).words


def form_values(
    home: Home,
    system: UnitSystem,
    typed: Mapping[str, object],
    errors: Mapping[str, str],
    before: AntecedentGround | None = None,
    files: Mapping[str, list[str]] | None = None,
    shape: str = "",
) -> dict[str, dict[str, Any]]:
    """Return what stands in each field.

    Parameters
    ----------
    home : Home
        The home.
    system : UnitSystem
        Units of the reader.
    typed : mapping of str to object
        What was entered and is not right yet, by key; it stays where it was typed.
    errors : mapping of str to str
        What is wrong with them.
    before : AntecedentGround, optional
        Wetness and water table before large storms, where the last answer used them.
    files : mapping of str to list of str, optional
        Names of files that may be chosen now, by key.
    shape : str
        Shape of the pit that the person chose, before its size is known.

    Returns
    -------
    dict
        By key: ``text``, ``known``, ``measured``, ``taken`` (what is assumed) and ``error``; where
        files are chosen also ``options``.
    """
    values: dict[str, dict[str, Any]] = {}
    assumed = {row.key: row for row in assumptions(home_as_seen(home), before)}
    for key, item in variables().items():
        quantity, taken = home.quantity(key), ""
        row = assumed.get(key)
        if quantity is None and row is not None:
            median, span = item.spread_text(row.p05, row.p50, row.p95, system)
            why = f"from {row.value}" if row.value else in_reader_units(row.rationale, system)
            taken = f"taken as about {median} ({span}): {why}"
        elif quantity is None and key in ONLY_WHEN_GIVEN:
            taken = "used only when given"
        written = home.written(key)
        absent = written is not None and written.is_none
        lacking = _lacking(home, key)
        if lacking is not None and not absent:
            taken = f"not used: {absent_words(lacking)}"
        values[key] = {
            "text": "" if quantity is None else shown_text(quantity, item, system),
            "known": quantity is not None,
            "measured": quantity is not None and quantity.basis is Basis.MEASURED,
            "taken": taken,
        }
        if absent:
            values[key] |= {"text": NONE, "known": True, "absent": True}
    overruled = overruled_choices(home)
    for key in (*choices(), *_SOIL):
        word = home.choice(key)
        number = overruled.get(key)
        given = None if number is None else home.quantity(number)
        taken = ""
        if number is not None and given is not None:
            taken = f"not used: {variables()[number].words} is given as {given.text}"
        values[key] = {"text": word or "", "known": word is not None, "taken": taken}
    for key in PLAIN:
        section, _, name = key.partition(".")
        found = getattr(getattr(home, section), name) if name else getattr(home, section)
        values[key] = {
            "text": "" if found is None else str(getattr(found, "text", found)),
            "known": found not in (None, ""),
            "taken": "",
        }
    for key in ASKED:
        text = asked_text(key, home, system)
        told = told_otherwise(key, home)
        values[key] = {"text": text, "known": text != "" or bool(told),
                       "taken": _otherwise_words(told, system)}  # fmt: skip
    if is_too_short(home):
        values["house.paced"]["taken"] += _TOO_SHORT
    for key, entry in stand_by_values(home, system).items():
        values[key] = entry
        if "item" in values[key]:
            held, row_of = values[key].pop("quantity"), values[key].pop("item")
            values[key]["text"] = "" if held is None else shown_text(held, row_of, system)
    _show_shape(values, shape)
    for key, entry in values.items():
        entry["error"] = errors.get(key, "")
        if key in typed:
            text = typed_text(typed[key])
            entry |= {"text": _TEXT.sub(r"\g<value>", text), "known": text != ""}
    for key, names in (files or {}).items():
        values[key]["options"] = [[name, name] for name in names]
    return values


def _otherwise_words(told: Mapping[str, Quantity], system: UnitSystem) -> str:
    """Say by which other fields a field is known that stands empty."""
    rows = ((variables()[key], found) for key, found in told.items())
    parts = [f"{item.words} {shown_text(found, item, system)}" for item, found in rows]
    return f"no entry needed; under “More, seldom known”: {', '.join(parts)}" if parts else ""


def _show_shape(values: dict[str, dict[str, Any]], chosen: str) -> None:
    """Ask for the size of the one shape or of the other, never of both."""
    known = values["pit.shape"]["text"]
    shape = known or chosen
    values["pit.shape"] |= {"text": shape, "known": shape != ""}
    values["pit.diameter"]["hidden"] = shape == "rectangular"
    for key in ("pit.length", "pit.width"):
        values[key]["hidden"] = shape != "rectangular"


def _lacking(home: Home, key: str) -> Component | None:
    """The part whose absence leaves a quantity without use."""
    return next((part for part in Component if home.lacks(part) and key in nothing_without(part)),
                None)  # fmt: skip


def typed_text(value: object) -> str:
    """Return what stands in a field for a value that is not right yet.

    Parameters
    ----------
    value : object
        As it was entered.

    Returns
    -------
    str
        Its text; empty where it was taken away.
    """
    return "" if value in (None, UNKNOWN) else str(value)


def known_counts(home: Home) -> list[dict[str, Any]]:
    """Count for each group how many of its first fields are known.

    Parameters
    ----------
    home : Home
        The home.

    Returns
    -------
    list of dict
        ``title``, ``known`` and ``of``; the place is left out, its rain is needed in any case.
    """
    open_keys = {row.key for row in assumptions(home) if row.basis is Basis.UNKNOWN}

    def known(key: str) -> bool:
        if key not in choice_labels():
            return key not in open_keys
        targets = choices()[key].targets if key in choices() else frozenset()
        # what a word would set may be known by a number, or not be there at all
        return home.choice(key) is not None or (bool(targets) and not targets & open_keys)

    return [
        {"title": stop.title, "known": sum(map(known, stop.counted)), "of": len(stop.counted)}
        for stop in WALK
        if stop.counted
    ]


def shown_text(quantity: Quantity, item: Variable, system: UnitSystem) -> str:
    """Write a value for its field: as it was written where its unit is one of the reader's.

    Parameters
    ----------
    quantity : Quantity
        The value.
    item : Variable
        What it is.
    system : UnitSystem
        Units of the reader.

    Returns
    -------
    str
        Without ", measured".

    Examples
    --------
    >>> from riskkit.quantities.quantity import read_quantity
    >>> item = variables()["pit.diameter"]
    >>> written = read_quantity("18 in, measured", item, "here")
    >>> shown_text(written, item, UnitSystem.US), shown_text(written, item, UnitSystem.METRIC)
    ('18 in', '45.7 cm')
    """
    text = _TEXT.sub(r"\g<value>", quantity.text)
    if item.us_unit == item.metric_unit:
        is_bare = re.fullmatch(r"[\d.eE+-]+", text) is not None
        return f"{quantity.value * 100:.4g} %" if item.us_unit == "%" and is_bare else text
    if system_of(text) is system:
        return text
    unit = item.shown_unit(system)
    if quantity.low is not None and quantity.high is not None:
        low, high = (_rounded(v, item, system) for v in (quantity.low, quantity.high))
        return f"{low} to {high} {unit}"
    if quantity.is_rough:
        return f"about {significant(convert(quantity.value, item.unit, unit), 2)} {unit}"
    return f"{_rounded(quantity.value, item, system)} {unit}"


def _rounded(value: float, item: Variable, system: UnitSystem) -> str:
    """Write the number of a value with two digits, or three where they are needed."""
    number = convert(value, item.unit, item.shown_unit(system))
    short = significant(number, 2)
    near = abs(float(short.replace(",", "")) - number) <= _NEAR * abs(number)
    return short if near else significant(number, 3)
