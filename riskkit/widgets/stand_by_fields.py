"""Fields of what belongs to no storm: state of parts, what stands by the pump, household, costs."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass
from typing import Any

from riskkit.failures.household import tells_hours
from riskkit.home.backup import RunsOn, backup_of
from riskkit.home.home import Home
from riskkit.home.sections import AMOUNTS, AREAS
from riskkit.quantities.backup import backup_choices, backup_quantities
from riskkit.quantities.choice_labels import choice_labels
from riskkit.quantities.quantity import Basis, Quantity
from riskkit.quantities.reader_units import in_reader_units
from riskkit.quantities.units import UnitSystem
from riskkit.quantities.variables import Variable
from riskkit.report.cautions import cautions

__all__ = ["STAND_BY_LABELS", "stand_by_groups", "stand_by_keys", "stand_by_values"]


@dataclass(frozen=True)
class _Part:
    """A group: its title, what is asked at once, what is seldom known, and cautions to say."""

    title: str
    fields: tuple[str, ...]
    seldom: tuple[str, ...] = ()
    cautions: tuple[str, ...] = ()


_AREA = "place.area"
_MONEY = ("currency", "price_year")
_FIRST_AMOUNTS = ("flood", "visit", "repair", "failure", "structure_value")
_PARTS = (
    _Part(
        "Age and state of pump, float and outlet",
        ("pump.age", "pump.inlet", "pump.air_lock", "switch.float", "pipe.outlet_opening"),
        cautions=("pump",),
    ),
    _Part(
        "Second pump and its battery",
        ("second_pump.runs_on", "second_pump.rated_flow", "second_pump.rated_head",
         "battery.capacity", "battery.age"),
        ("second_pump.shutoff_head", "second_pump.on", "second_pump.current",
         "second_pump.electric_power", "battery.rated_hours", "battery.second_capacity",
         "battery.second_hours", "battery.exponent", "battery.usable", "battery.life",
         "battery.temperature", "battery.volts", "battery.inverter_efficiency",
         "battery.idle_current", "battery.charger_current"),
        ("second_pump", "battery"),
    ),
    _Part(
        "Generator and mains water",
        ("generator.starts", "generator.fuel", "generator.use", "mains_water.source"),
        ("mains_water.flow", "mains_water.pressure"),
        ("generator",),
    ),
    _Part(
        "Household: who hears the alarm, and who comes",
        (_AREA, "household.remote_alarm", "household.away", "household.asleep",
         "household.acts_after", "household.service_travel", "household.owner_test_every"),
        ("household.hears", "household.hears_awake", "household.hears_asleep",
         "household.away_days", "household.can_act", "household.calls_service"),
    ),
    _Part(
        "Costs",
        ("costs.loss", *(f"costs.{key}" for key in (*_MONEY, *_FIRST_AMOUNTS)),
         "costs.finished_area"),
        tuple(f"costs.{key}" for key in AMOUNTS if key not in _FIRST_AMOUNTS),
    ),
)  # fmt: skip
STAND_BY_LABELS = {
    **{key: item.words for key, item in backup_quantities().items()},
    **{f"costs.{key}": f"cost of {words}" for key, words in AMOUNTS.items()},
    **choice_labels(),
}
"""What each field is called."""


def stand_by_keys() -> tuple[str, ...]:
    """Return the keys of all fields.

    Returns
    -------
    tuple of str
        In the order of the form.
    """
    return tuple(key for part in _PARTS for key in (*part.fields, *part.seldom))


def stand_by_groups(system: UnitSystem) -> list[dict[str, Any]]:
    """Return the groups with their fields, without values.

    Parameters
    ----------
    system : UnitSystem
        Units of the reader.

    Returns
    -------
    list of dict
        As `riskkit.widgets.fields.form_groups` returns them, all of the second step.
    """
    return [
        {
            "title": part.title,
            "step": 2,
            "cautions": list(cautions(*part.cautions, system=system)) if part.cautions else [],
            "fields": [_field(key, system) for key in part.fields],
            "seldom": [_field(key, system) for key in part.seldom],
        }
        for part in _PARTS
    ]


def _field(key: str, system: UnitSystem) -> dict[str, Any]:
    field = {"key": key, "label": STAND_BY_LABELS[key], "unit": "", "help": "", "basis": False,
             "unknown": True}  # fmt: skip
    if key in backup_quantities():
        item = backup_quantities()[key]
        unit, (low, high) = item.shown_unit(system), item.end_texts(system)
        return field | {
            "kind": "value",
            "unit": "" if unit == "1" else unit,
            "basis": True,
            "help": f"Between {low} and {high}.",
        }
    if key == _AREA:
        return field | {"kind": "select", "options": [[area, area.title()] for area in AREAS]}
    if key in backup_choices():
        options = [
            [option, in_reader_units(words, system)]
            for option, words in backup_choices()[key].items()
        ]
        return field | {"kind": "choice", "options": options, "chips": False}
    return field | {"kind": "text", "unknown": False}


def stand_by_values(home: Home, system: UnitSystem) -> dict[str, dict[str, Any]]:
    """Return what stands in each field.

    Parameters
    ----------
    home : Home
        The home.
    system : UnitSystem
        Units of the reader.

    Returns
    -------
    dict
        By key ``text``, ``known`` and ``taken`` (what is assumed); of quantities ``quantity`` and
        ``item`` too, for the form writes all quantities in one way.
    """
    there = _there(home)
    return {key: _value(home, key, system, there) for key in stand_by_keys()}


def _value(home: Home, key: str, system: UnitSystem, there: Mapping[str, bool]) -> dict[str, Any]:
    if key in backup_quantities():
        item, quantity = backup_quantities()[key], home.quantity(key)
        taken = ""
        if quantity is None and there[key.partition(".")[0]] and _counts(home, key):
            taken = _taken(item, system)
        return {
            "quantity": quantity,
            "item": item,
            "known": quantity is not None,
            "measured": quantity is not None and quantity.basis is Basis.MEASURED,
            "taken": taken,
        }
    name = key.partition(".")[2]
    if key in (_AREA, *backup_choices()):
        found: Quantity | float | str | None = home.choice(key)
    elif name in AMOUNTS:
        amount = home.cost(name)
        found = None if amount is None else f"{amount:,.10g}"
    else:
        found = home.currency if name == "currency" else home.price_year
    return {"text": "" if found is None else str(found), "known": found is not None, "taken": ""}


def _there(home: Home) -> dict[str, bool]:
    """Which sections tell of something that is there, so that the unknown is assumed."""
    backup = backup_of(home)
    return {
        "pump": True,
        "second_pump": backup.runs_on is not None,
        "battery": backup.has_battery,
        "generator": backup.generator is not None,
        "mains_water": backup.runs_on is RunsOn.MAINS_WATER,
        "household": True,
        "costs": home.choice("costs.loss") == "alberta2015",
    }


def _taken(item: Variable, system: UnitSystem) -> str:
    """What is taken where nobody knows."""
    spread = item.unknown
    median, span = item.spread_text(spread.p05, spread.p50, spread.p95, system)
    return f"taken as about {median} ({span}): {in_reader_units(spread.words, system)}"


def _counts(home: Home, key: str) -> bool:
    """Whether a value that nobody told is assumed, where its part is there."""
    if not key.startswith("household."):
        return key not in ("battery.second_capacity", "battery.second_hours")  # a second rating
    if key == "household.owner_test_every":
        return False  # an owner of whom nothing is told pours no water in
    if key in ("household.service_travel", "household.calls_service"):
        told = ("household.service_travel", "household.calls_service")
        return any(home.quantity(each) is not None for each in told)
    by_hours = tells_hours(home)
    if key == "household.hears":
        return not by_hours
    return by_hours or key in ("household.can_act", "household.acts_after")
