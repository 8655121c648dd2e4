"""In which order a form asks: a walk around and through the house, in two steps.

First what everybody can see in ten minutes; then, place by place, what has to be measured or looked
up. All other quantities of the same sections stand under "seldom known".
"""

from __future__ import annotations

from dataclasses import dataclass

__all__ = ["STEPS", "WALK", "WalkPlace"]

STEPS = ("What you see", "Measured details")
"""The two steps of the form."""


@dataclass(frozen=True)
class WalkPlace:
    """A place on the walk: what is asked there first, then, and what counts as known of it."""

    title: str
    sections: tuple[str, ...]
    seen: tuple[str, ...]
    measured: tuple[str, ...]
    counted: tuple[str, ...] = ()


WALK = (
    WalkPlace(
        "Place and rain", ("place", "rain"),
        ("name", "place.town", "rain.record", "note"),
        ("rain.table", "place.latitude", "place.longitude"),
    ),
    WalkPlace(
        "House", ("house",),
        ("house.paced", "house.depth_below_ground", "house.use"),
        ("house.perimeter", "house.basement_area"),
        ("house.perimeter", "house.basement_area", "house.depth_below_ground"),
    ),
    WalkPlace(
        "Roof and gutters", ("roof",),
        ("roof.downspouts", "roof.gutters"),
        ("roof.area", "roof.at_wall", "roof.to_drain"),
        ("roof.area", "roof.at_wall", "roof.to_drain", "roof.gutters"),
    ),
    WalkPlace(
        "Ground outside", ("ground",),
        ("ground.slope", "ground.gap", "ground.wells", "ground.feel"),
        ("ground.soil", "ground.wetness", "ground.water_table_depth"),
        ("ground.soil", "ground.slope", "ground.gap", "ground.wetness",
         "ground.water_table_depth"),
    ),
    WalkPlace(
        "Pit and floor", ("pit", "gravel", "drain"),
        ("pit.shape", "pit.diameter", "pit.length", "pit.width", "pit.depth"),
        ("gravel.thickness", "drain.open_share"),
        ("pit.diameter", "pit.depth", "gravel.thickness", "drain.open_share"),
    ),
    WalkPlace(
        "Float and alarm", ("switch",),
        ("switch.on", "switch.alarm"),
        ("switch.off",),
        ("switch.on", "switch.off", "switch.alarm"),
    ),
    WalkPlace(
        "Pump", ("pump",),
        ("pump.horsepower", "pump.rated_flow"),
        ("pump.rated_head", "pump.shutoff_head"),
        ("pump.rated_flow", "pump.rated_head", "pump.shutoff_head"),
    ),
    WalkPlace(
        "Discharge pipe", ("pipe",),
        ("pipe.size", "pipe.check_valve", "pipe.outlet"),
        ("pipe.outlet_height", "pipe.length", "pipe.elbows"),
        ("pipe.size", "pipe.outlet_height", "pipe.length", "pipe.elbows", "pipe.check_valve",
         "pipe.outlet"),
    ),
)  # fmt: skip
"""Every place of the walk, in its order."""
