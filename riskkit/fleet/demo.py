"""An invented company around Alder Bend: any number of homes, and the truth about them.

Each home is drawn by its name alone, so that the first hundred of ten thousand are the hundred. Its
true values come from the spreads that `tables/quantities.csv` takes where nobody knows; the company
knows some of them, measured or told with an error, and has visited some of the homes. Texture and
conductivity of the ground belong to a neighbourhood. How likely a value is known, and how often
parts were found out of order and left, is judgement.
"""

from __future__ import annotations

import datetime
from collections.abc import Iterator
from dataclasses import dataclass
from functools import cache

import numpy as np

from riskkit.errors import InputError
from riskkit.fleet.export import csv_text
from riskkit.fleet.seeds import seed_of
from riskkit.quantities.distributions import spread_at
from riskkit.quantities.units import convert
from riskkit.quantities.variables import variables
from riskkit.records import FloatArray

__all__ = ["DemoHome", "demo_home", "demo_homes", "demo_text"]

_CENTRE = (41.2, -88.6)  # degrees; where the other invented homes stand
_NAMES = (
    "mill_end", "ferry_street", "orchard_hill", "north_bend", "old_quarry", "lock_lane",
    "upper_field", "depot", "willow_flats", "chapel_row", "south_ridge", "brickyard",
)  # fmt: skip
_OF_ALL = (
    "house.perimeter", "house.basement_area", "house.depth_below_ground", "roof.area",
    "roof.at_wall", "pump.rated_flow", "pump.rated_head", "pump.shutoff_head", "pump.capacity",
    "pipe.outlet_height", "pipe.length", "pit.diameter",
)  # fmt: skip
_GROUND = ("ground.native_k_factor", "ground.water_table_depth")
_LEVELS = ("switch.alarm", "switch.on", "switch.off", "pit.depth")
_KEYS = (*_OF_ALL, *_LEVELS, *_GROUND)
_SOILS = {"clay": 3, "silty clay loam": 3, "clay loam": 2, "silt loam": 2, "loam": 1,
          "sandy loam": 1}  # fmt: skip
_LEFT = ("switch_stuck", "alarm_battery_dead", "outlet_blocked", "alarm_silent")
_LEFT_SHARE, _VISITED_SHARE, _OUT_FT = 0.03, 0.85, 6000.0
_DEGREE_FT = 364_000.0  # of latitude
_FIRST_DAY = datetime.date(2026, 1, 1)


@dataclass(frozen=True)
class DemoHome:
    """An invented home.

    Parameters
    ----------
    home_id : str
        Its id.
    known, truth : dict of str to str
        Cells of the company's table, and of the table that knows all.
    """

    home_id: str
    known: dict[str, str]
    truth: dict[str, str]


@cache
def _neighbourhood(name: str, seed: int) -> tuple[str, FloatArray, tuple[float, float]]:
    """Texture of a neighbourhood, the places of its ground in their spreads, and where it lies."""
    rng = np.random.default_rng(seed_of("demo ground", name, seed))
    weights = np.array(list(_SOILS.values()), dtype=np.float64)
    soil = str(rng.choice(list(_SOILS), p=weights / weights.sum()))
    return soil, rng.standard_normal(len(_GROUND)), tuple(rng.uniform(-1, 1, 2) * 3 * _OUT_FT)


def demo_home(number: int, seed: int = 1) -> DemoHome:
    """Invent a home.

    Parameters
    ----------
    number : int
        Of the home, from 1 on [-].
    seed : int
        Of the company [-].

    Returns
    -------
    DemoHome
        What the company knows, and the truth.
    """
    home_id = f"AB-{number:05d}"
    rng = np.random.default_rng(seed_of("demo home", home_id, seed))
    where = _NAMES[int(rng.integers(len(_NAMES)))]
    soil, ground, centre = _neighbourhood(where, seed)
    north, east = np.array(centre) + rng.normal(0, _OUT_FT / 2, 2)
    latitude = _CENTRE[0] + north / _DEGREE_FT
    longitude = _CENTRE[1] + east / (_DEGREE_FT * np.cos(np.radians(_CENTRE[0])))
    about = {
        "id": home_id, "name": f"{number} {where.replace('_', ' ').title()}",
        "neighbourhood": where, "place.latitude": f"{latitude:.5f}",
        "place.longitude": f"{longitude:.5f}", "ground.soil": soil,
    }  # fmt: skip
    values = _true_values(rng, ground)
    truth = {key: _cell(key, value, "measured") for key, value in values.items()}
    known = {}
    for key, value in values.items():
        item, luck = variables()[key], rng.random(2)
        error = rng.standard_normal()
        if key in _GROUND or luck[0] < 0.25:
            continue  # nobody knows
        measured = luck[1] < 0.5
        left = item.shape.measured if measured else item.shape.given
        off = value * (1 + left * error) if item.shape.kind == "relative" else value + left * error
        if item.shape.kind == "logit":
            off = 1 / (1 + (1 / value - 1) * np.exp(-left * error))
        if key in _LEVELS:
            off = value  # the levels of a pit stand in order, also as told
        off = float(np.clip(off, item.low, item.high))
        known[key] = _cell(key, off, "measured" if measured else "given")
    service = _service(rng)
    aware = {key: text for key, text in service.items()
             if key != "pump.age" or rng.random() < 0.5}  # fmt: skip
    return DemoHome(home_id, about | known | aware, about | truth | service)


def _true_values(rng: np.random.Generator, ground: FloatArray) -> dict[str, float]:
    """Draw the values of a home from the spreads of what nobody knows."""
    values = {key: _drawn(key, float(rng.standard_normal())) for key in _OF_ALL}
    values |= {key: _drawn(key, float(score)) for key, score in zip(_GROUND, ground, strict=True)}
    alarm = float(np.clip(_drawn("switch.alarm", float(rng.standard_normal())), 0.05, 0.3))
    on = alarm + 0.06 + 0.12 * float(rng.random())
    off = on + 0.10 + 0.15 * float(rng.random())
    values |= {"switch.alarm": alarm, "switch.on": on, "switch.off": off,
               "pit.depth": off + 0.06 + 0.10 * float(rng.random())}  # fmt: skip
    # a pump that cannot lift to its outlet would have been changed long ago
    values["pump.shutoff_head"] = max(
        values["pump.shutoff_head"], 1.5 * (values["pipe.outlet_height"] + values["pit.depth"]),
        1.3 * values["pump.rated_head"],
    )  # fmt: skip
    values["house.perimeter"] = max(
        values["house.perimeter"], 1.05 * 2 * float(np.sqrt(np.pi * values["house.basement_area"]))
    )
    return values


def _drawn(key: str, score: float) -> float:
    item = variables()[key]
    value = spread_at(item.unknown, item.shape.scale, np.array([np.clip(score, -2, 2)]))
    return float(np.clip(value, item.low, item.high)[0])


def _cell(key: str, value: float, how: str) -> str:
    item = variables()[key]
    unit = "percent" if item.us_unit == "%" else item.us_unit
    shown = convert(value, item.unit, unit) if unit != "1" else value
    unit = {"percent": " %", "1": ""}.get(unit, f" {unit}")
    return f"{shown:.6g}{unit}, {how}"


def _service(rng: np.random.Generator) -> dict[str, str]:
    every = int(rng.choice([1, 2, 3], p=[0.3, 0.5, 0.2]))
    found = {"pump.age": f"{rng.uniform(0, 15):.1f} yr"}
    ago, visited = float(rng.uniform(0, 1.6 * every)), rng.random() < _VISITED_SHARE
    left, which = rng.random() < _LEFT_SHARE, str(rng.choice(_LEFT))
    if visited:
        day = _FIRST_DAY - datetime.timedelta(days=round(ago * 365.25))
        found |= {"service.last_visit": day.isoformat(), "service.visits_every": f"{every} yr"}
        if left:
            found["service.left"] = which
    return found


def demo_homes(count: int, seed: int = 1) -> Iterator[DemoHome]:
    """Invent homes.

    Parameters
    ----------
    count : int
        How many [-].
    seed : int
        Of the company [-].

    Yields
    ------
    DemoHome
        One after the other.

    Raises
    ------
    InputError
        Where the count is not from 1 to a million.
    """
    if not 1 <= count <= 1_000_000:
        raise InputError("homes", f"{count} is not from 1 to 1,000,000", "such as 100")
    for number in range(1, count + 1):
        yield demo_home(number, seed)


def demo_text(count: int, seed: int = 1, *, truth: bool = False) -> str:
    """Write the table of an invented company as CSV.

    Parameters
    ----------
    count : int
        Homes [-].
    seed : int
        Of the company [-].
    truth : bool
        The truth, where True; what the company knows, where False.

    Returns
    -------
    str
        The table.
    """
    header = (
        "id", "name", "neighbourhood", "place.latitude", "place.longitude", "ground.soil", *_KEYS,
        "service.last_visit", "service.visits_every", "pump.age", "service.left",
    )  # fmt: skip
    homes = demo_homes(count, seed)
    cells = (home.truth if truth else home.known for home in homes)
    return csv_text(header, ([_number(row.get(key, "")) for key in header] for row in cells))


def _number(text: str) -> str | float:
    """Degrees west are numbers, not texts that begin with a minus sign."""
    try:
        return float(text)
    except ValueError:
        return text
