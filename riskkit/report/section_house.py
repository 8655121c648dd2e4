"""Where the house around the pit stands in the section: roof, gutter, downspout, a person.

Metres relative to the basement floor, as in `report.section_geometry`, which puts these shapes
among its own. Above the ground the house is an ordinary one, for nobody asks for its height; what
counts is where the roof water goes.
"""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from enum import Enum
from typing import Any

from riskkit.report.section_stand_by import room_m

__all__ = ["PERSON_M", "Downspout", "house_of", "house_shapes"]

PERSON_M = 1.75
"""Height of the person who stands above the basement for scale, 5 ft 9 in [m]."""
_CEILING_M = 2.1  # of a basement at least (common practice, no source)
_JOISTS_M, _STOREY_M = 0.25, 2.4
_EAVE_M, _PITCH, _THICK_M = 0.5, 0.42, 0.16  # a roof of 5 in 12
_AT_WALL_M, _LED_M = (
    0.36,
    1.85,
)  # from the wall to the end of a downspout; 6 ft and more is "led away"
_ALONG_M = 0.09  # from the wall to the downspout on it
_INTO_DRAIN_M = 0.1  # above the invert of the drain: its top
_RIDGE_M = 12.0  # beyond every picture


class Downspout(Enum):
    """Where most of the roof water is let out."""

    WALL = "wall"
    AWAY = "away"
    DRAIN = "drain"


def house_of(section: Mapping[str, Any], half: float, inner: float, outer: float) -> dict[str, Any]:
    """Return the places of the house.

    Parameters
    ----------
    section : mapping
        Measures of a home.
    half, inner, outer : float
        Half the width of the pit, the inner and the outer face of the wall [m].

    Returns
    -------
    dict
        ``ceiling_m`` and ``eave_m`` [m], ``downspout`` and ``roof_way``, the ways of the water,
        ``gutter``, a corner and its opposite, ``person``, and ``arrows``, where water moves: each a
        point and a direction [m].
    """
    ground, low = section["ground_m"], section["drain_m"]
    ceiling = max(ground + 0.2, _CEILING_M, room_m(section) + 0.12)
    eave = ceiling + _JOISTS_M + _STOREY_M
    edge = outer - _EAVE_M
    down, along = edge - 0.06, outer - _ALONG_M
    fall = [[down, eave + 0.05], [down, eave - 0.15], [along, eave - 0.5]]
    end = Downspout(section["downspout"])
    if end is Downspout.DRAIN:
        way = [*fall, [along, low + _INTO_DRAIN_M]]
    else:
        out = outer - (_AT_WALL_M if end is Downspout.WALL else _LED_M)
        way = [*fall, [along, ground + 0.3], [along - 0.06, ground + 0.2], [out, ground + 0.06]]
    arrows = {
        "soak": [[outer - 0.3, ground - 0.15], [outer - 0.2, (ground + low) / 2],
                 [outer - 0.3, (2 * low + ground) / 3]],
        "drain": [[outer - 0.1, low + 0.05], [-half - 0.22, low + 0.05]],
    }  # fmt: skip
    return {
        "ceiling_m": ceiling,
        "eave_m": eave,
        "downspout": way,
        "roof_way": [
            [edge + _RIDGE_M, _roof_m(eave, edge, edge + _RIDGE_M)],
            [edge, eave + _THICK_M],
        ],
        "gutter": [[edge - 0.13, eave + 0.12], [edge, eave]],
        "person": {"x_m": inner + 0.9, "low_m": ceiling + _JOISTS_M, "high_m": PERSON_M},
        "arrows": arrows,
    }


def _roof_m(eave: float, edge: float, x: float) -> float:
    """Height of the roof over a place."""
    return eave + _THICK_M + _PITCH * (x - edge)


def house_shapes(
    house: Mapping[str, Any], inner: float, outer: float
) -> list[tuple[str, Sequence[Sequence[float]]]]:
    """Return what stands still of the house, in the order of painting.

    Parameters
    ----------
    house : mapping
        As `house_of` returns it.
    inner, outer : float
        The inner and the outer face of the wall [m].

    Returns
    -------
    list of tuple
        Name of the paint, and its corners [m].
    """
    eave, (edge, _) = house["eave_m"], house["roof_way"][1]
    far, top = edge + _RIDGE_M, house["roof_way"][0][1]
    attic = [(outer, eave), (far, eave), (far, top)]
    roof = [(edge, eave + _THICK_M), (far, top), (far, top - _THICK_M), (edge, eave)]
    (x1, y1), (x2, y2) = house["gutter"]
    x, low = house["person"]["x_m"], house["person"]["low_m"]
    ceiling = house["ceiling_m"]
    beams = [
        (inner, ceiling + _JOISTS_M),
        (far, ceiling + _JOISTS_M),
        (far, ceiling),
        (inner, ceiling),
    ]
    body = [(-0.21, 0.83), (0.21, 0.83), (0.21, 0.46), (0.12, 0.46), (0.12, 0.0), (-0.12, 0.0),
            (-0.12, 0.46), (-0.21, 0.46)]  # fmt: skip
    return [
        ("room", attic),
        ("wood", beams),
        ("roof", roof),
        ("gutter", [(x1, y1), (x1, y2), (x2, y2), (x2, y1)]),
        ("person", [(x + dx, low + share * PERSON_M) for dx, share in body]),
        ("person-head", [(x, low + 0.92 * PERSON_M)]),
    ]
