"""Every key of a home file as a table, for the README of the demo homes."""

from __future__ import annotations

from collections.abc import Iterable

from riskkit.home.sections import AMOUNTS, FEELS, TEXTURES
from riskkit.quantities.backup import backup_choices, backup_quantities
from riskkit.quantities.components import NONE, component_of
from riskkit.quantities.units import UnitSystem
from riskkit.quantities.variables import Choice, Variable, choices, variables

__all__ = ["example_of", "keys_rows", "keys_table"]

_FIRST = (
    ("rain.record", '"rain.csv"', "rain record, beside the home file"),
    ("rain.table", '"official.csv"', "official table of depths; takes precedence over the record"),
    (
        "rain.temperature",
        '"days.csv"',
        "daily temperatures; with the record they tell how wet the soil is before large storms",
    ),
    (
        "rain.climate",
        '"2 °C" or "3.6 °F" or "20 %"',
        "change of the climate that design depths are raised for: warming, at 7 % more rain per "
        "kelvin, or what the local authority adds",
    ),
    ("place.latitude", '41.2 or "41.2 N"', "degrees north"),
    (
        "place.longitude",
        '-88.6 or "88.6 W"',
        "degrees east, so less than zero in America",
    ),
    ("place.area", '"Illinois"', "area of the outage statistics, a state or region"),
)
_LEVELS = (
    "measured levels of the ground water; with the daily record they tell it before large storms"
)
_PAIRS = {
    "pit": (
        "pit.table",
        '[["0 in", "26 gal"], ["24 in", "0 gal"]]',
        "a pit of any shape: depth below the floor, and what the pit holds below that depth",
    ),
    "pump": (
        "pump.curve",
        '[["0 gpm", "22 ft"], ["43 gpm", "10 ft"]]',
        "the curve of the pump: flow, and the lift at that flow",
    ),
}


def example_of(item: Variable) -> str:
    """Write the usual value of a quantity as it stands in a home file, in both unit systems.

    Parameters
    ----------
    item : Variable
        The quantity.

    Returns
    -------
    str
        For example ``'"18 in" or "46 cm"'``.
    """
    us, metric = (item.text(item.unknown.p50, system, 2).replace(",", "") for system in UnitSystem)
    if item.us_unit == "1":
        return us
    none = f' or "{NONE}"' if component_of(item.key) is not None else ""
    return (f'"{us}"' if us == metric else f'"{us}" or "{metric}"') + none


def _or(words: Iterable[str]) -> str:
    return " or ".join(f'"{word}"' for word in words)


def _meaning(choice: Choice) -> str:
    meant = {word: next(iter(spreads.values())).words for word, spreads in choice.options.items()}
    if len(set(meant.values())) == 1:
        return next(iter(meant.values()))
    return "; ".join(f"{word}: {words}" for word, words in meant.items())


def keys_table() -> str:
    """Write a Markdown table of all sections and keys: how a value is written, and what it is.

    Returns
    -------
    str
        Rows of the table, by section.
    """
    lines = [f"| `{key}` | `{written}` | {words} |" for key, written, words in keys_rows()]
    return "\n".join(["| key | written like | what it is |", "|---|---|---|", *lines])


def keys_rows() -> list[tuple[str, str, str]]:
    """List all sections and keys of a home file.

    Returns
    -------
    list of tuple of str
        The key, how a value is written, and what it is, by section.
    """
    rows = list(_FIRST)
    items = (*variables().values(), *backup_quantities().values())
    for section in dict.fromkeys(item.section for item in items):
        if section == "ground":
            rows.append(("ground.soil", _or(TEXTURES), "texture of the ground"))
            feels = "; ".join(f"{feel}: {words}" for feel, words in FEELS.items())
            rows.append(("ground.feel", _or(FEELS), f"where the texture is not known. {feels}"))
            rows.append(("ground.backfill", '"clay"', "texture of the loose fill, the same words"))
            rows.append(("ground.water_levels", '"well.csv"', _LEVELS))
        for key, choice in choices().items():
            if key.split(".")[0] == section:
                rows.append((key, _or(choice.options), _meaning(choice)))
        for key, options in backup_choices().items():
            if key.split(".")[0] == section:
                meant = "; ".join(f"{option}: {words}" for option, words in options.items())
                rows.append((key, _or(options), meant))
        if section == "costs":
            rows.append(("costs.currency", '"USD"', "currency of all costs"))
            rows.append(("costs.price_year", "2026", "year of the prices"))
            rows += [(f"costs.{key}", "1800", f"cost of {words}") for key, words in AMOUNTS.items()]
        rows += [
            (item.key, example_of(item), item.words) for item in items if item.section == section
        ]
        if section in _PAIRS:
            rows.append(_PAIRS[section])
    return rows
