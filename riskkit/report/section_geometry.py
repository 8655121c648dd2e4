"""Where every part of the section stands: one geometry for the still and for the moving picture.

Metres relative to the basement floor, x = 0 in the middle of the pit, left is outdoors. Both
drawings take shapes, marks and levels from here and add colours, pixels and motion only.
"""

from __future__ import annotations

import math
from collections.abc import Mapping, Sequence
from enum import Enum
from typing import Any

from riskkit.report.section_house import house_of, house_shapes
from riskkit.report.section_stand_by import stand_by_of

__all__ = [
    "DRAIN_M",
    "FAR_M",
    "Outlet",
    "Part",
    "PartState",
    "beside_water",
    "geometry_of",
    "half_width_m",
]

FAR_M = 60.0
"""Farther than any picture shows: earth and sky end there [m]."""
DRAIN_M = 0.1
"""Height at which a foundation drain is drawn [m]."""
_WALL_M, _BESIDE_M = 0.25, 0.5
_OUT_M = 0.22  # from the wall to the pipe that runs down outside
_NEAR_M, _AWAY_M, _BREAK_M = 0.62, 0.74, 0.48  # from the wall to an end, and to a break in the pipe
_TOE_M = 0.42  # from the wall to the edge of the fill at its bottom
_DRAWDOWN_M = 3.0  # over which ground water falls to the drain


class Part(Enum):
    """A part of the picture that may be known, assumed, missing or out of order."""

    GROUND = "ground"
    SLAB = "slab"
    GRAVEL = "gravel"
    DRAIN = "drain"
    WATER_TABLE = "water_table"
    PIT = "pit"
    BOTTOM = "bottom"
    PUMP = "pump"
    ON = "on"
    OFF = "off"
    ALARM = "alarm"
    PIPE = "pipe"
    CHECK_VALVE = "check_valve"
    OUTLET = "outlet"
    DOWNSPOUT = "downspout"
    JOINT = "floor_joint"
    SECOND_PUMP = "second_pump"
    SECOND_ON = "second_on"
    BATTERY = "battery"
    GENERATOR = "generator"
    FLOOR_DRAIN = "floor_drain"


class PartState(Enum):
    """What is known of a part."""

    KNOWN = "known"
    ASSUMED = "assumed"
    NONE = "none"
    FAILED = "failed"


class Outlet(Enum):
    """Where the pump water is let out; the words of the home file."""

    NEAR = "near"
    FAR = "far"
    AWAY = "piped away"
    UNKNOWN = "unknown"


def half_width_m(pit: Mapping[str, float], level_m: float) -> float:
    """Return half the width of a pit at a level.

    Parameters
    ----------
    pit : mapping
        ``depth_m``, ``width_m`` at the floor and ``bottom_width_m`` [m].
    level_m : float
        Level relative to the floor [m].

    Returns
    -------
    float
        Half the width there [m].

    Examples
    --------
    >>> half_width_m({"depth_m": 0.6, "width_m": 0.5, "bottom_width_m": 0.4}, -0.3)
    0.225
    """
    share = min(max(1 + level_m / pit["depth_m"], 0.0), 1.0)
    return (pit["bottom_width_m"] + share * (pit["width_m"] - pit["bottom_width_m"])) / 2


def beside_water(beside: Mapping[str, Any], level_m: float) -> list[list[float]]:
    """Return where water stands in the fill beside the wall.

    Parameters
    ----------
    beside : mapping
        ``low_m``, the bottom of the drain, ``high_m``, the ground, ``wall_m``, the face of the
        wall, and ``edge``, the bottom and the top of the other edge of the fill [m].
    level_m : float
        Level of the water at the footing, relative to the floor [m].

    Returns
    -------
    list
        Corners from the bottom at the wall round to the surface at the wall; none where no water
        stands above the drain [m].

    Examples
    --------
    >>> beside = {"low_m": -0.2, "high_m": 1.0, "wall_m": -1.0, "edge": [[-1.4, -0.2], [-1.8, 1.0]]}
    >>> beside_water(beside, 0.1)
    [[-1.0, -0.2], [-1.4, -0.2], [-1.5, 0.1], [-1.0, 0.1]]
    >>> beside_water(beside, -0.2)
    []
    """
    low, high, wall = beside["low_m"], min(level_m, beside["high_m"]), beside["wall_m"]
    if high <= low:
        return []
    (x1, y1), (x2, y2) = beside["edge"]

    def edge(y: float) -> float:
        return float(round(x1 + (y - y1) / (y2 - y1) * (x2 - x1), 9))

    return [[wall, low], [edge(low), low], [edge(high), high], [wall, high]]


def geometry_of(section: Mapping[str, Any]) -> dict[str, Any]:
    """Work out where every part of a section stands.

    Parameters
    ----------
    section : mapping
        Measures of a home with the state of every part, see `report.section_data.section_of`.

    Returns
    -------
    dict
        ``shapes`` in the order in which they are painted: polygons, lines and circles with the name
        of their paint, and slots where moving water goes; ``marks``, the levels with the half width
        of the pit there; ``beside``, the fill at the wall for `beside_water`, with the way of water
        under the wall to the ``joint`` of wall and floor; ``named``, points of what stands by the
        pump; and the places of pump, floats, pipe, valve, outlet, bell and house [m].
    """
    pit, ground, drain = section["pit"], section["ground_m"], section["drain_m"]
    half = pit["width_m"] / 2
    inner = -half - _BESIDE_M
    outer = inner - _WALL_M
    states = section["parts"]
    found: dict[str, Any] = {
        "half_m": half, "inner_m": inner, "outer_m": outer, "drain_x_m": outer - 0.24,
        "drain_m": [drain, drain + DRAIN_M],
        "marks": _marks(section),
    }  # fmt: skip
    found["beside"] = _beside(section, inner, outer)
    found["gravel_m"] = _gravel_seen_m(section, found["marks"])
    found["water_table"] = _water_table(section, found["drain_x_m"])
    found |= _pump(section) if states["pump"] != PartState.NONE.value else {"pump": None}
    found["pipe"] = _pipe(section, found["pump"], outer)
    found["valve"] = _valve(section, found["pump"])
    found["alarm"] = _alarm(section, inner)
    found["house"] = house_of(section, half, inner, outer)
    riser = _riser_m(pit)
    more = stand_by_of(section, riser, found["pump"], half, outer, found["house"]["ceiling_m"])
    found |= {key: more[key] for key in ("named", "second_float")}
    if states["floor_joint"] != PartState.NONE.value:
        found["named"]["floor_joint"] = [inner, 0.0]
    found["shapes"] = _shapes(section, found, more, ground)
    return found


def _marks(section: Mapping[str, Any]) -> list[dict[str, Any]]:
    """Levels in the pit that are there, from the floor down."""
    switch, states, pit = section["switch"], section["parts"], section["pit"]
    levels: list[tuple[str, float, str]] = [
        ("floor", 0.0, PartState.KNOWN.value),
        ("alarm", switch["alarm_m"], states["alarm"]),
        ("second_on", section["second"]["on_m"], states["second_on"]),
        ("on", switch["on_m"], states["on"]),
        ("off", switch["off_m"], states["off"]),
        ("bottom", -pit["depth_m"], states["bottom"]),
    ]
    return [
        {"key": key, "level_m": level, "half_m": half_width_m(pit, level), "state": state}
        for key, level, state in sorted(levels, key=lambda row: -row[1])
        if state != PartState.NONE.value
    ]


def _beside(section: Mapping[str, Any], inner: float, outer: float) -> dict[str, Any]:
    """The fill beside the wall, and the joint through which its water comes in."""
    ground, drain, slab = section["ground_m"], section["drain_m"], section["slab_m"]
    dug = min(0.9, 0.35 + 0.35 * ground)
    return {
        "low_m": drain, "high_m": ground, "wall_m": outer,
        "edge": [[outer - _TOE_M, min(drain, -slab) - 0.05], [outer - dug, ground]],
        "joint": [[outer, -slab], [inner, -slab], [inner, 0.0]],
    }  # fmt: skip


def _gravel_seen_m(section: Mapping[str, Any], marks: Sequence[Mapping[str, Any]]) -> float:
    """The level in the gravel that a label can point at: as far as can be from every mark."""
    levels: list[float] = [
        -section["slab_m"] - share * section["gravel_m"] for share in (0.5, 0.2, 0.8)
    ]
    return max(levels, key=lambda level: min(abs(level - mark["level_m"]) for mark in marks))


def _riser_m(pit: Mapping[str, float]) -> float:
    """The place of pump and pipe, at the left of the pit."""
    wide = pit["bottom_width_m"]
    return min(0.22, wide * 0.5) / 2 - 0.45 * wide


def _pump(section: Mapping[str, Any]) -> dict[str, Any]:
    """The pump on the left of the pit, its float, and the rod of the float."""
    pit, switch = section["pit"], section["switch"]
    depth, on, off = pit["depth_m"], switch["on_m"], switch["off_m"]
    low, width = -depth + 0.03, min(0.22, pit["bottom_width_m"] * 0.5)
    height = min(0.3, 0.55 * depth, depth + off + 0.12)
    x = _riser_m(pit)
    beside = half_width_m(pit, off) - x - width / 2
    return {
        "pump": {"x_m": x, "low_m": low, "high_m": low + height, "width_m": width},
        "float": {
            "x_m": x + width / 2 + 0.34 * beside,
            "low_m": off, "high_m": on + 0.03, "tether_m": (on + off) / 2,
            "radius_m": min(0.055, pit["width_m"] * 0.1, (on - off) * 0.6),
        },
    }  # fmt: skip


def _pipe(
    section: Mapping[str, Any], pump: Mapping[str, float] | None, outer: float
) -> dict[str, Any] | None:
    """The discharge pipe to the wall, and from there to where it ends."""
    if pump is None:
        return None
    ground, top, x = section["ground_m"], section["outlet_m"], pump["x_m"]
    outlet, out = Outlet(section["outlet"]), outer - _OUT_M
    inside = [[x, pump["high_m"]], [x, top], [outer, top]]
    spout = breaks = arrow = None
    if top <= ground + 0.2:  # through the wall below the ground: it comes out where the lot falls
        outside = [[outer, top], [-FAR_M, top]]
        arrow = [outer - _AWAY_M, top]
    elif outlet is Outlet.AWAY:
        deep = ground - 0.25
        outside = [[outer, top], [out, top], [out, deep], [-FAR_M, deep]]
        arrow = [outer - _AWAY_M, deep]
    elif outlet is Outlet.FAR:
        low = ground + 0.07
        outside = [[outer, top], [out, top], [out, low], [outer - _AWAY_M, low]]
        spout = outside[-1]
    else:
        end = [outer - _NEAR_M, ground + 0.07]
        outside = [[outer, top], [out, top], [out, ground + 0.14], end]
        spout = end
    if outlet in (Outlet.FAR, Outlet.AWAY):
        breaks = [outer - _BREAK_M, outside[-1][1]]
    return {
        "inside": inside, "outside": outside, "spout": spout, "break": breaks, "arrow": arrow,
        "end": spout or arrow,
    }  # fmt: skip


def _valve(section: Mapping[str, Any], pump: Mapping[str, float] | None) -> list[float] | None:
    """The middle of the check valve on the riser, above the floor where a hand reaches it."""
    if pump is None or section["parts"]["check_valve"] == PartState.NONE.value:
        return None
    return [pump["x_m"], min(0.35, section["outlet_m"] / 2)]


def _alarm(section: Mapping[str, Any], inner: float) -> dict[str, Any] | None:
    """The float of the alarm on its rod, and the cord to the bell on the wall."""
    alarm = section["switch"]["alarm_m"]
    if section["parts"]["alarm"] == PartState.NONE.value:
        return None
    pit, off = section["pit"], section["switch"]["off_m"]
    x, half, bell = half_width_m(pit, off) * 0.72, pit["width_m"] / 2, 1.45
    return {
        "x_m": x, "low_m": alarm - 0.05, "high_m": alarm,
        "radius_m": min(0.0385, pit["width_m"] * 0.07, -alarm * 0.45),
        "rod": [[x, 0.02], [x, alarm - 0.07]],
        "cord": [[x, 0.02], [half + 0.12, 0.02], [half + 0.12, bell], [inner, bell]],
        "bell": [inner, bell],
    }  # fmt: skip


def _water_table(section: Mapping[str, Any], drain_x: float) -> list[list[float]] | None:
    """Ground water left of the drain: drawn down to it where it stands higher.

    The square of the height grows with the distance, as it does in a flow to a drain.
    """
    table = section.get("water_table_m")
    if table is None:
        return None
    far = min(table, section["ground_m"])
    low = min(section["drain_m"], far)
    steps = 60
    curve = [[-FAR_M, far]]
    for step in range(steps, -1, -1):
        share = step / steps
        curve.append([drain_x - share * _DRAWDOWN_M, low + (far - low) * math.sqrt(share)])
    return curve


def _box(x1: float, high: float, x2: float, low: float) -> list[list[float]]:
    return [[x1, high], [x2, high], [x2, low], [x1, low]]


def _shapes(
    section: Mapping[str, Any], found: Mapping[str, Any], stand_by: Mapping[str, Any], ground: float
) -> list[dict[str, Any]]:
    """What stands still, in the order of painting, with slots for what moves."""
    inner, outer, half = found["inner_m"], found["outer_m"], found["half_m"]
    pit, slab, gravel = section["pit"], section["slab_m"], section["gravel_m"]
    drain, states = section["drain_m"], section["parts"]
    sill, (toe, brow) = max(ground + 0.2, 0.4), found["beside"]["edge"]
    drain_x, base = found["drain_x_m"], pit["bottom_width_m"] / 2
    liner = [[-half, 0.0], [-base, -pit["depth_m"]], [base, -pit["depth_m"]], [half, 0.0]]
    reach = half_width_m(pit, drain + DRAIN_M / 2)
    shapes: list[dict[str, Any]] = []

    def put_all(rows: Sequence[tuple[str, list[list[float]], str]]) -> None:
        for paint, points, part in rows:
            put(paint, points, Part(part) if part else None)

    def put(paint: str, points: Sequence[Sequence[float]], part: Part | None = None) -> None:
        state = PartState.KNOWN.value if part is None else states[part.value]
        shapes.append(
            {"paint": paint, "points": [list(p) for p in points], "state": state,
             "part": "" if part is None else part.value}
        )  # fmt: skip

    house = found["house"]
    put("sky", _box(-FAR_M, FAR_M, FAR_M, ground))
    put("room", _box(inner, house["eave_m"], FAR_M, 0.0))
    for paint, points in house_shapes(house, inner, outer):
        put(paint, points)
    put("earth", _box(-FAR_M, ground, outer, -FAR_M))
    put("earth", _box(outer - 0.1, -slab, FAR_M, -FAR_M))
    put("fill", [[outer, ground], brow, toe, [outer, toe[1]]])
    shapes.append({"slot": "wet-soil"})
    if found["water_table"]:
        curve = found["water_table"]
        under = [*curve, [FAR_M, curve[-1][1]], [FAR_M, -FAR_M], [-FAR_M, -FAR_M]]
        put("ground-water", under)
        put("water-table", curve, Part.WATER_TABLE)
    shapes.append({"slot": "fill-water"})
    if states["gravel"] != PartState.NONE.value:
        put("gravel", _box(inner, -slab, FAR_M, -slab - gravel), Part.GRAVEL)
        shapes.append({"slot": "gravel-water"})
    put("concrete", _box(outer - 0.12, -slab, inner + 0.12, -slab - 0.2))
    put("concrete", _box(outer, sill, inner, -slab))
    put("wood", _box(outer + 0.03, house["eave_m"], inner, sill))
    put("concrete", _box(inner, 0.0, FAR_M, -slab), Part.SLAB)
    put_all(stand_by["shapes_in_floor"])
    if states["floor_joint"] != PartState.NONE.value:
        put("joint-line", [[inner, -slab], [inner, 0.0]], Part.JOINT)
    shapes.append({"slot": "joint-water"})
    put("grass", [[-FAR_M, ground], [outer, ground]], Part.GROUND)
    put_all(stand_by["shapes_outdoors"])
    put("downspout", house["downspout"], Part.DOWNSPOUT)
    shapes.append({"slot": "roof-water"})
    put("drain", _box(drain_x, drain + DRAIN_M, -reach, drain), Part.DRAIN)
    put("drain-end", [[drain_x, drain + DRAIN_M / 2]], Part.DRAIN)
    shapes.append({"slot": "drain-water"})
    shapes.append({"slot": "arrows"})
    has_pit = states["pit"] != PartState.NONE.value
    if has_pit:
        put("pit", liner)
    shapes.append({"slot": "water"})
    put_all(stand_by["shapes"])
    if found["pipe"]:
        shapes.append({"slot": "pipe"})
        shapes.append({"slot": "pump"})
    shapes.append({"slot": "floats"})
    if has_pit:
        put("liner", liner, Part.PIT)
    return shapes
