"""What stands by the pump in the section, and the floor drain: who has it, and where it stands.

Metres relative to the basement floor, as in `report.section_geometry`, which puts these shapes
among its own. Only what the home file or a visit tells of is drawn. A second pump has a pipe of its
own, as it is reckoned with; where that pipe ends nobody is asked, so it breaks off outside.
"""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from typing import TYPE_CHECKING, Any

from riskkit.home.backup import backup_of
from riskkit.quantities.backup import backup_quantities
from riskkit.risk.system_state import Fault, system_state

if TYPE_CHECKING:
    from riskkit.home.home import Home

__all__ = ["RUNS_ON", "STAND_BY", "room_m", "second_of", "stand_by_of", "stand_by_states"]

RUNS_ON = ("battery", "inverter", "mains", "mains water")
"""What may drive a second pump; the words of the home file."""
STAND_BY = ("second_pump", "second_on", "battery", "generator", "floor_drain")
"""Parts that a section has only where it says so."""
_ABOVE_M = 0.16  # of the second pipe over the first, so that both are seen
_EJECTOR_M = 1.25  # height at which a water-powered pump hangs on its pipe
_BROKEN_M = 0.34  # from the wall to where the second pipe breaks off
_Point = Sequence[float]
_Shape = tuple[str, list[list[float]], str]  # paint, corners, part


def stand_by_states(home: Home) -> dict[str, str]:
    """Return what is known of each part that a home may have beside its pump.

    Parameters
    ----------
    home : Home
        The home with its visits.

    Returns
    -------
    dict
        For each of `STAND_BY` a value of `report.section_geometry.PartState`: none where nobody
        tells of it, assumed where it follows from something else that was told, failed where the
        last visit that looked found it so.
    """
    backup = backup_of(home)
    faults = system_state(home).faults
    second, generator = backup.runs_on is not None, backup.generator is not None

    def told(section: str) -> bool:
        return any(home.quantity(key) for key in backup_quantities() if key.startswith(section))

    seen = told("second_pump.") or home.choice("second_pump.runs_on") is not None
    return {
        "second_pump": _state(second, seen, Fault.SECOND_PUMP_NO_START in faults),
        "second_on": _state(second, home.quantity("second_pump.on") is not None),
        "battery": _state(backup.has_battery, told("battery."), Fault.BATTERY_FAILS in faults),
        "generator": _state(
            generator,
            home.choice("generator.starts") is not None,
            Fault.GENERATOR_FAILS in faults,
        ),
        "floor_drain": _floor_drain(home),
    }


def _state(has: bool, told: bool, failed: bool = False) -> str:
    if has and failed:
        return "failed"
    return ("known" if told else "assumed") if has else "none"


def _floor_drain(home: Home) -> str:
    """The floor drain as the last visit that looked at it left it; a note is no answer."""
    for visit in sorted(home.visit, key=lambda visit: visit.date, reverse=True):
        check = visit.check("floor_drain_clear")
        if check is not None and check.as_left is not None:
            return "known" if check.as_left else "failed"
    return "none"


def second_of(home: Home, on_m: float, off_m: float, alarm_m: float) -> dict[str, Any] | None:
    """Return what drives the second pump, and the level at which it starts.

    Parameters
    ----------
    home : Home
        The home.
    on_m, off_m, alarm_m : float
        Levels at which the first pump starts and stops, and of the alarm [m].

    Returns
    -------
    dict or None
        ``runs_on``, one of `RUNS_ON`, and ``on_m`` [m]; None where there is no second pump.
    """
    from riskkit.failures.backup import second_start_m  # brings in the compiled loops

    runs_on = backup_of(home).runs_on
    if runs_on is None:
        return None
    told = home.quantity("second_pump.on")
    depth = second_start_m(None if told is None else told.value, -on_m, -alarm_m, -off_m)
    return {"runs_on": runs_on.value, "on_m": -float(depth)}


def room_m(section: Mapping[str, Any]) -> float:
    """Return how high pipes go in the basement.

    Parameters
    ----------
    section : mapping
        Measures of a home, with the state of every part.

    Returns
    -------
    float
        Level of the highest one [m].
    """
    has_second = section["parts"]["second_pump"] != "none"
    return float(section["outlet_m"]) + (_ABOVE_M if has_second else 0.0)


def stand_by_of(
    section: Mapping[str, Any], riser_m: float, pump: Mapping[str, float] | None,
    half: float, outer: float, ceiling: float,
) -> dict[str, Any]:  # fmt: skip
    """Return the places of what stands by the pump.

    Parameters
    ----------
    section : mapping
        Measures of a home, with the state of every part.
    riser_m : float
        Place of the pipe of the first pump [m].
    pump : mapping or None
        Where the first pump stands [m].
    half, outer : float
        Half the width of the pit, and the outer face of the wall [m].
    ceiling : float
        Of the basement [m].

    Returns
    -------
    dict
        ``shapes``, in the order of painting: name of the paint, corners and part; of these
        ``shapes_outdoors`` and ``shapes_in_floor`` belong further down. ``second_float``, as that
        of the first pump, or None. ``named``, the point of each part that a label points at [m].
    """
    states = section["parts"]
    shapes: list[_Shape] = []
    outdoors: list[_Shape] = []
    in_floor: list[_Shape] = []
    named: dict[str, list[float]] = {}
    found: dict[str, Any] = {"second_float": None}
    if states["generator"] != "none":
        outdoors, named["generator"] = _generator(outer - 1.1, section["ground_m"])
        outdoors += _crossed(states, "generator", [outer - 0.88, section["ground_m"] + 0.22])
    if states["floor_drain"] != "none":
        in_floor, named["floor_drain"] = _drain_in_floor(half + 0.72)
        shapes += _crossed(states, "floor_drain", [half + 0.72, -0.05])
    if states["second_pump"] != "none":
        second = _second(section, riser_m, pump, outer, ceiling)
        shapes += second["shapes"]
        named["second_pump"] = second["named"]
        if states["battery"] != "none":
            more, named["battery"] = _battery(half, second["cord_to"])
            shapes += more + _crossed(states, "battery", [half + 0.35, 0.55])
        if second["drowns"]:
            found["second_float"] = second["float"]
    return found | {
        "shapes": shapes, "shapes_outdoors": outdoors, "shapes_in_floor": in_floor, "named": named,
    }  # fmt: skip


def _second(
    section: Mapping[str, Any], riser: float, pump: Mapping[str, float] | None, outer: float,
    ceiling: float,
) -> dict[str, Any]:  # fmt: skip
    """The second pump above the first, with its pipe; a water-powered one hangs above the floor."""
    pit, on = section["pit"], section["second"]["on_m"]
    across = pit["bottom_width_m"]
    beside, wide = max(0.07, 0.17 * across), min(0.09, 0.2 * across)
    x, side = riser + beside, riser - beside
    low = max(on - 0.13, (pump["high_m"] if pump else -pit["depth_m"]) + 0.02)
    low = min(low, on - 0.02)
    high, top = low + 0.11, section["outlet_m"] + _ABOVE_M
    by_water = section["second"]["runs_on"] == "mains water"
    if by_water:
        low = min(_EJECTOR_M, section["outlet_m"] / 2)
        high = low + 0.16
    pipe = [[x, on - 0.1 if by_water else high], [x, top], [outer - _BROKEN_M, top]]
    left, right = x - wide / 2, x + wide / 2
    body = [[left, high], [right, high], [right, low], [left, low]]
    shapes: list[_Shape] = [("second-pipe", pipe, "second_pump")]
    if by_water:
        middle = (low + high) / 2
        supply = [[right, middle], [x + 0.3, middle], [x + 0.3, ceiling]]
        shapes.append(("supply", supply, "second_pump"))
    shapes.append(("second-pump", body, "second_pump"))
    shapes.append(("broken-off", [[outer - _BROKEN_M, top]], ""))
    shapes += _crossed(section["parts"], "second_pump", [x, (low + high) / 2])
    radius = min(0.028, 0.07 * across)
    return {
        "shapes": shapes, "named": [right, (low + high) / 2], "drowns": not by_water,
        "cord_to": [x + wide / 3, high],
        "float": {"x_m": side, "low_m": on - 0.05, "high_m": on, "radius_m": radius,
                  "rod": [[side, 0.02], [side, on - 0.07]]},
    }  # fmt: skip


def _crossed(states: Mapping[str, str], part: str, at: list[float]) -> list[_Shape]:
    return [("cross", [at], part)] if states[part] == "failed" else []


def _battery(half: float, to: _Point) -> tuple[list[_Shape], list[float]]:
    """A battery on a shelf beside the pit, above the water, and its cord to the second pump."""
    x, y = half + 0.2, 0.45
    case = [(0, 0), (0, 0.17), (0.05, 0.17), (0.05, 0.2), (0.1, 0.2), (0.1, 0.17), (0.2, 0.17),
            (0.2, 0.2), (0.25, 0.2), (0.25, 0.17), (0.3, 0.17), (0.3, 0)]  # fmt: skip
    cord = [[x, y + 0.05], [half + 0.05, y + 0.05], [half + 0.05, 0.05], [to[0], 0.05], list(to)]
    return [
        ("cord", cord, "battery"),
        ("shelf", [[x - 0.04, y], [x + 0.34, y]], ""),
        ("battery", [[x + dx, y + dy] for dx, dy in case], "battery"),
    ], [x + 0.3, y + 0.1]


def _generator(x: float, ground: float) -> tuple[list[_Shape], list[float]]:
    """A generator on the ground outside, away from the wall: never in the house."""
    body = [(0, 0.06), (0, 0.32), (0.07, 0.32), (0.07, 0.38), (0.37, 0.38), (0.37, 0.32),
            (0.44, 0.32), (0.44, 0.06)]  # fmt: skip
    feet = [[x + 0.06, ground], [x + 0.06, ground + 0.06], [x + 0.38, ground + 0.06],
            [x + 0.38, ground]]  # fmt: skip
    return [
        ("shelf", feet, ""),
        ("generator", [[x + dx, ground + dy] for dx, dy in body], "generator"),
    ], [x, ground + 0.2]


def _drain_in_floor(x: float) -> tuple[list[_Shape], list[float]]:
    """A drain in the floor; where its pipe leads nobody is asked."""
    bowl = [[x - 0.1, 0.0], [x + 0.1, 0.0], [x + 0.03, -0.1], [x + 0.03, -0.3], [x - 0.03, -0.3],
            [x - 0.03, -0.1]]  # fmt: skip
    return [
        ("floor-drain", bowl, "floor_drain"),
        ("grate", [[x - 0.1, 0.0], [x + 0.1, 0.0]], ""),
    ], [x, 0.0]
