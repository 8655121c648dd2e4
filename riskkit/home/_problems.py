"""What can be wrong with a home file, in the words of the people who write one."""

from __future__ import annotations

import math
from collections.abc import Iterator
from itertools import combinations, pairwise
from typing import Any, Protocol

from riskkit.errors import FileLine, InputError, Key, Words
from riskkit.home._converted import FORMAT
from riskkit.limits import HOME_LEVELS
from riskkit.quantities.components import NONE, Component
from riskkit.quantities.quantity import UNKNOWN, Quantity, shown
from riskkit.quantities.text import steering_letter
from riskkit.quantities.units import convert
from riskkit.quantities.variables import variable


class HasValues(Protocol):
    """What a home is told to be: sections, and quantities and lists of pairs by section and key."""

    @property
    def rain(self) -> Any: ...
    @property
    def place(self) -> Any: ...
    def quantity(self, key: str) -> Quantity | None: ...
    def choice(self, key: str) -> str | None: ...
    def lacks(self, part: Component) -> bool: ...
    def pairs(self, key: str) -> tuple[tuple[float, float], ...] | None: ...


def nested_too_deeply(data: dict[str, Any]) -> InputError | None:
    """Say that a home is nested as no home is, without following it to its end."""
    level: list[Any] = [data]
    for _ in range(HOME_LEVELS):
        inner = [v for one in level for v in (one.values() if isinstance(one, dict) else one)]
        level = [value for value in inner if isinstance(value, dict | list | tuple)]
        if not level:
            return None
    return InputError("home", "it is nested too deeply", "a home has sections and the keys in them")


def control_characters(data: object, where: str = "") -> Iterator[InputError]:
    """Find letters that would steer a terminal or turn a line of text around."""
    if isinstance(data, dict):
        for key, value in data.items():
            name = str(key)
            if _unprintable(name):
                yield InputError(
                    where or "home", f"a key holds {_unprintable(name)}", "take it out"
                )
            else:
                yield from control_characters(value, f"{where}.{name}" if where else name)
    elif isinstance(data, list | tuple):
        for value in data:
            yield from control_characters(value, where)
    elif isinstance(data, str):
        found = _unprintable(data, allowed="" if where == "name" else "\n\t")
        if found:
            yield InputError(where, f"it holds {found}", "take it out")


def _unprintable(text: str, allowed: str = "") -> str:
    bad = steering_letter(text, allowed)
    return f"the control character U+{ord(bad):04X}" if bad else ""


_DEPTHS = ("switch.alarm", "switch.on", "switch.off", "pit.depth")  # each below the one before
_WHY = {
    ("switch.alarm", "switch.on"): "the alarm would sound in every ordinary cycle",
    ("switch.alarm", "switch.off"): "the alarm would sound before the pump has done",
    ("switch.alarm", "pit.depth"): "the alarm would stand below the bottom of the pit",
    ("switch.on", "switch.off"): "the pump would stop before it starts",
    ("switch.on", "pit.depth"): "the pump would start below the bottom of the pit",
    ("switch.off", "pit.depth"): "the pump would have to empty the pit below its bottom",
}


_DAY_H = 24.0
_DOWN = "depths are measured down from the basement floor"
# how the first of two stands to the second where they clash, and how the second to the first
_DEPTH_WORDS = ("is not above", "is not deeper than")
_LIFT_WORDS = ("is not below", "is not above")
_SIZE_WORDS = ("is more than", "is less than")


def place_in(data: Any, path: tuple[str | int, ...]) -> tuple[int, ...]:
    """Where in a file a key stands, as numbers that sort from its top to its end."""
    at = []
    for part in path:
        names = list(data if isinstance(data, dict) else range(len(data)) if data else ())
        at.append(names.index(part) if part in names else len(names))
        data = data[part] if part in names and isinstance(data[part], dict | list | tuple) else None
    return tuple(at)


def newer_format(data: dict[str, Any]) -> InputError | None:
    """Say that a home file is of a later format, whose other keys nobody here can judge."""
    written = data.get("format")
    if type(written) is not int or written <= FORMAT:
        return None
    what = f"made by a newer riskkit (format {shown(written)})"
    return InputError("format", what, f"this one reads formats up to {FORMAT}")


def contradictions(home: HasValues, changed: frozenset[str] = frozenset()) -> Iterator[InputError]:
    """Say in words what cannot be true together: first of what was changed just now."""
    yield from _depths_out_of_order(home, changed)
    yield from _shape_of_the_pit(home, changed)
    yield from _room_for_the_pump(home, changed)
    if home.rain.temperature is not None and home.place.latitude is None:
        yield InputError(
            "rain.temperature",
            "how much water grass uses depends on the latitude, and none is given",
            Words(FileLine("write it under [place], such as latitude = 41.2", "latitude")),
        )
    value, text = _reader(home)
    wall, drain = value("roof.at_wall"), value("roof.to_drain")
    if wall is not None and drain is not None and wall + drain > 1 + 1e-9:
        key, other = _blamed(home, changed, ("roof.at_wall", "roof.to_drain"))
        yield InputError(
            key,
            Words(
                text(key), " with ", Key(other), " (", text(other), ") is more than all downspouts"
            ),
            "together they are at most 100 %",
        )
    rated, shutoff = value("pump.rated_head"), value("pump.shutoff_head")
    if rated is not None and shutoff is not None and rated >= shutoff:
        pair = ("pump.rated_head", "pump.shutoff_head")
        right = "the shut-off head is the head at which the flow is zero"
        yield _clash(home, changed, pair, _LIFT_WORDS, right)
    yield from _ground_water(home, changed)
    away, asleep = value("household.away"), value("household.asleep")
    if away is not None and asleep is not None and away + asleep > _DAY_H:
        hours = ("household.away", "household.asleep")
        key, other = hours[::-1] if changed & {*hours} == {hours[1]} else hours
        what = Words(text(key), " with ", Key(other), " (", text(other), ") is more than a day")
        yield InputError(key, what, "a day has 24 hours")
    runs_on = home.choice("second_pump.runs_on")
    if home.lacks(Component.SECOND_PUMP) and runs_on not in (None, NONE):
        yield InputError(
            "second_pump.rated_flow",
            Words(
                "it says that there is no second pump, and ",
                Key("second_pump.runs_on"),
                f' says "{runs_on}"',
            ),
            "leave one of the two out",
        )


def _ground_water(home: HasValues, changed: frozenset[str]) -> Iterator[InputError]:
    value, text = _reader(home)
    ground = value("house.depth_below_ground")
    seasons = ("ground.water_table_spring", "ground.water_table_autumn")
    spring, autumn = map(value, seasons)
    if spring is not None and autumn is not None and spring >= autumn:
        right = "in spring it is usually highest, in autumn lowest, both measured below the floor"
        yield _clash(home, changed, seasons, _DEPTH_WORDS, right)
    for key in ("ground.water_table_depth", *seasons):
        table = value(key)
        if table is None or ground is None or -table <= ground:
            continue
        told, other = _blamed(home, changed, (key, "house.depth_below_ground"))
        above = " is above the outside ground, which lies "
        below = " puts the outside ground below the water of "
        what = (
            Words(text(told), above, text(other), " above the floor (", Key(other), ")")
            if told == key
            else Words(text(told), below, Key(other), " (", text(other), ")")
        )
        right = "ground water is measured down from the basement floor, less than zero above it"
        yield InputError(told, what, right)


def _blamed(home: HasValues, changed: frozenset[str], pair: tuple[str, str]) -> tuple[str, str]:
    """Of two that clash first the one to name: what was just changed, else the less usual."""
    one, other = pair
    if (one in changed) != (other in changed):
        return (one, other) if one in changed else (other, one)
    return (other, one) if _oddness(home, other) > _oddness(home, one) else (one, other)


def _oddness(home: HasValues, key: str) -> float:
    """How far a value lies from the usual one, against the usual spread."""
    found, usual = home.quantity(key), variable(key).unknown
    return -1.0 if found is None else abs(found.value - usual.p50) / (usual.p95 - usual.p05)


def _clash(
    home: HasValues,
    changed: frozenset[str],
    pair: tuple[str, str],
    words: tuple[str, str],
    right: str,
    why: str = "",
) -> InputError:
    _, text = _reader(home)
    key, other = _blamed(home, changed, pair)
    how = words[pair.index(key)]
    what = Words(text(key), f" {how} ", Key(other), " (", text(other), f"){why}")
    return InputError(key, what, right)


def _reader(home: HasValues) -> tuple[Any, Any]:
    def value(key: str) -> float | None:
        if key == "pit.depth" and home.pairs("pit.table"):
            return max(depth for depth, _ in home.pairs("pit.table") or ())
        found = home.quantity(key)
        return found.value if found else None

    def text(key: str) -> str:
        depth = value(key)
        if key == "pit.depth" and depth is not None and home.pairs("pit.table"):
            return Words(f"{convert(depth, 'm', 'in'):.3g} in by ", Key("pit.table"))
        found = home.quantity(key)
        return found.text if found else UNKNOWN

    return value, text


def _room_for_the_pump(home: HasValues, changed: frozenset[str]) -> Iterator[InputError]:
    """Refuse a pump that is told to be as wide as the pit in which it stands, or wider."""
    value, text = _reader(home)
    volume, height = value("pit.pump_volume"), value("pit.pump_height")
    if volume is None or height is None:
        return
    length, width, table = value("pit.length"), value("pit.width"), home.pairs("pit.table")
    round_m = value("pit.bottom_diameter") or value("pit.diameter")
    if table:
        rows = sorted(table)
        areas = [
            (above[1] - below[1]) / (below[0] - above[0])
            for above, below in pairwise(rows)
            if rows[-1][0] - below[0] < height and below[0] > above[0]
        ]
    elif length is not None and width is not None:
        areas = [length * width]
    else:
        areas = [] if round_m is None else [math.pi * round_m**2 / 4]
    if areas and volume >= min(areas) * height:
        pair = ("pit.pump_volume", "pit.pump_height")
        key, other = _blamed(home, changed, pair)
        what = Words(text(key), " with ", Key(other), " (", text(other), ") fills the pit")
        yield InputError(key, what, "the pump leaves room for water beside it")


def _depths_out_of_order(home: HasValues, changed: frozenset[str]) -> Iterator[InputError]:
    value, _ = _reader(home)
    named: set[str] = set()
    for upper, lower in sorted(combinations(_DEPTHS, 2), key=_distance):
        high, low = value(upper), value(lower)
        if high is None or low is None or low > high or named & {upper, lower}:
            continue  # what is wrong beside one neighbour is mostly wrong beside the others too
        why = f", so {_WHY[upper, lower]}"
        problem = _clash(home, changed, (upper, lower), _DEPTH_WORDS, _DOWN, why)
        named.add(problem.where)
        yield problem
    drain, bottom = value("ground.drain_depth"), value("pit.depth")
    if drain is not None and bottom is not None and drain >= bottom:
        pair, why = ("ground.drain_depth", "pit.depth"), ", so the drain could not run into the pit"
        yield _clash(home, changed, pair, _DEPTH_WORDS, _DOWN, why)


def _distance(pair: tuple[str, str]) -> int:
    """Neighbours first: of three depths two orders say all."""
    return _DEPTHS.index(pair[1]) - _DEPTHS.index(pair[0])


def _shape_of_the_pit(home: HasValues, changed: frozenset[str]) -> Iterator[InputError]:
    value, _ = _reader(home)
    sides = [value("pit.length"), value("pit.width")]
    bottom, top = value("pit.bottom_diameter"), value("pit.diameter")
    table = home.pairs("pit.table")
    if table:
        shape = ("diameter", "bottom_diameter", "length", "width", "depth")
        beside = [f"pit.{name}" for name in shape if home.quantity(f"pit.{name}") is not None]
        if beside:
            named = [part for key in beside for part in (" and ", Key(key))][1:]
            both = Words("it says the same as ", *named, ", perhaps otherwise")
            yield InputError("pit.table", both, "keep the table alone, or leave it out")
        if table[0][0] != 0:
            yield InputError("pit.table", "it does not reach the floor", 'add a row at "0 in"')
        if table[-1][1] != 0:
            last = "the pit is not empty in its deepest row"
            yield InputError("pit.table", last, 'add the bottom of the pit, with "0 gal"')
        return
    if any(sides) and not all(sides):
        both = Words("a rectangular pit needs ", Key("pit.length"), " and ", Key("pit.width"))
        yield InputError("pit.length", both, "")
    if any(sides) and top is not None:
        yield InputError(
            "pit.diameter", "the pit is round or rectangular, not both", "leave one out"
        )
    if bottom is not None and top is None:
        what = Words("a tapered pit needs ", Key("pit.diameter"), " (at the top)")
        yield InputError("pit.bottom_diameter", what, "")
    if bottom is not None and top is not None and bottom > top:
        pair = ("pit.bottom_diameter", "pit.diameter")
        yield _clash(home, changed, pair, _SIZE_WORDS, "the pit is widest at its top")
