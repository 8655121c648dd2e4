"""The home that the pictures show, as plain numbers and words: measures, states of parts, labels.

Levels are in metres above the basement floor. What is said of a level is made here and nowhere
else, so that drawing, chart and label name the same number.
"""

from __future__ import annotations

from collections.abc import Mapping
from typing import TYPE_CHECKING, Any

from riskkit.ensemble.draws import assumptions
from riskkit.quantities.components import Component
from riskkit.quantities.quantity import Basis
from riskkit.quantities.units import UnitSystem, convert
from riskkit.report.section_geometry import Outlet, Part, PartState, geometry_of
from riskkit.report.section_house import PERSON_M, Downspout
from riskkit.report.section_stand_by import STAND_BY, second_of, stand_by_states
from riskkit.risk.system_state import Effect, Fault, system_state

if TYPE_CHECKING:
    from riskkit.antecedent.water_table import AntecedentGround
    from riskkit.ensemble.section import SectionMeasures
    from riskkit.home.home import Home

__all__ = [
    "complete_section",
    "depth_words",
    "level_words",
    "outside_words",
    "reader_units",
    "section_of",
]

_TOLD_BY = {
    Part.GROUND: "house.depth_below_ground",
    Part.SLAB: "gravel.slab_thickness",
    Part.GRAVEL: "gravel.thickness",
    Part.DRAIN: "ground.drain_depth",
    Part.WATER_TABLE: "ground.water_table_depth",
    Part.PIT: "pit.diameter",
    Part.BOTTOM: "pit.depth",
    Part.PUMP: "pump.rated_flow",
    Part.ON: "switch.on",
    Part.OFF: "switch.off",
    Part.ALARM: "switch.alarm",
    Part.PIPE: "pipe.outlet_height",
    Part.CHECK_VALVE: "pipe.drainback_share",
    Part.OUTLET: "pipe.return_share",
    Part.DOWNSPOUT: "roof.at_wall",
    Part.JOINT: "house.joint_conductance",
}
_NAMES = {  # where it is known, and before "assumed" or what is wrong
    Part.GROUND: ("Ground outside", "Ground"),
    Part.GRAVEL: ("Gravel", "Gravel"),
    Part.DRAIN: ("Foundation drain", "Drain"),
    Part.WATER_TABLE: ("Ground water", "Ground water"),
    Part.PIT: ("Pit width", "Pit width"),
    Part.PUMP: ("Pump", "Pump"),
    Part.ALARM: ("Alarm", "Alarm"),
    Part.PIPE: ("Pump pipe", "Pump pipe"),
    Part.CHECK_VALVE: ("Check valve", "Check valve"),
    Part.JOINT: ("Joint of wall and floor", "Joint"),
    Part.BATTERY: ("Battery", "Battery"),
    Part.GENERATOR: ("Generator", "Generator"),
    Part.FLOOR_DRAIN: ("Floor drain", "Floor drain"),
}
_MARKS = {
    "floor": "basement floor",
    "alarm": "alarm",
    "on": "pump starts",
    "second_on": "second pump starts",
    "second": "second pump",
    "off": "pump stops",
    "bottom": "pit bottom",
}
_SHORT = {"second_on": "second"}  # the level of a second pump names it too
_OUT_OF_ORDER = "out of order"
_FAILED = {
    Part.ALARM: "no warning",
    Part.CHECK_VALVE: "leaks",
    Part.PUMP: _OUT_OF_ORDER,
    Part.FLOOR_DRAIN: "blocked",
}
_SECOND = {  # what it is, and what it runs on where that is not said with it
    "battery": ("Second pump", "on battery"),
    "inverter": ("Second pump", "on battery"),
    "mains": ("Second pump", "on mains"),
    "mains water": ("Water-powered pump", ""),
}
_OF_THE_PUMP = (Part.PUMP, Part.ON, Part.OFF, Part.PIPE, Part.CHECK_VALVE, Part.OUTLET)
_OF = {
    Component.ALARM: (Part.ALARM,),
    Component.PUMP: _OF_THE_PUMP,
    Component.GRAVEL: (Part.GRAVEL,),
    Component.CHECK_VALVE: (Part.CHECK_VALVE,),
    Component.PIT: (Part.PIT, Part.BOTTOM, Part.ALARM, *_OF_THE_PUMP),
}
_OUTLETS = {
    Outlet.NEAR: "Outlet near the wall",
    Outlet.FAR: "Outlet far away",
    Outlet.AWAY: "Piped away",
    Outlet.UNKNOWN: "Outlet, assumed",
}
_DOWNSPOUTS = {
    Downspout.WALL: "at the wall",
    Downspout.AWAY: "led away",
    Downspout.DRAIN: "into the drain",
}
_ON_THE_FLOOR = 1e-9


def depth_words(depth_m: float, system: UnitSystem) -> str:
    """Write a depth below the floor to a tenth, so that the number lies on the line it names.

    Parameters
    ----------
    depth_m : float
        Depth [m].
    system : UnitSystem
        Units of the reader.

    Returns
    -------
    str
        In inches or centimetres.

    Examples
    --------
    >>> depth_words(0.3048, UnitSystem.US), depth_words(0.5, UnitSystem.US)
    ('12 in', '19.7 in')
    >>> depth_words(0.3048, UnitSystem.METRIC)
    '30.5 cm'
    """
    unit = "in" if system is UnitSystem.US else "cm"
    return f"{round(convert(depth_m, 'm', unit), 1):g} {unit}"


def level_words(key: str, level_m: float, state: str, system: UnitSystem) -> str:
    """Name a level of the pit, as every drawing and chart does.

    Parameters
    ----------
    key : str
        ``floor``, ``alarm``, ``second_on``, ``second``, ``on``, ``off`` or ``bottom``.
    level_m : float
        Level relative to the floor [m].
    state : str
        What is known of it, a value of `PartState`.
    system : UnitSystem
        Units of the reader.

    Returns
    -------
    str
        Such as ``"pump starts, 12 in"``, with ``assumed`` where nobody said so.
    """
    words = _MARKS[key]
    if level_m < -_ON_THE_FLOOR:
        words += f", {depth_words(-level_m, system)}"
    if state == PartState.ASSUMED.value:
        return f"{words}, assumed"
    return f"{words}, {_FAILED[Part.ALARM]}" if state == PartState.FAILED.value else words


def outside_words(level_m: float, system: UnitSystem) -> tuple[str, str]:
    """Say in two lines how high water stands in the fill beside the wall at most.

    Parameters
    ----------
    level_m : float
        Level at the footing, relative to the floor [m].
    system : UnitSystem
        Units of the reader.

    Returns
    -------
    tuple of str
        In inches or centimetres above or below the floor.

    Examples
    --------
    >>> outside_words(0.0508, UnitSystem.US), outside_words(-0.1, UnitSystem.METRIC)
    (('Water up to', '2 in above floor'), ('Water up to', '10 cm below floor'))
    """
    side = "above" if level_m > 0 else "below"
    return "Water up to", f"{depth_words(abs(level_m), system)} {side} floor"


def section_of(
    home: Home, system: UnitSystem, before: AntecedentGround | None = None, *, name: str = ""
) -> dict[str, Any]:
    """Return what the section is drawn from: the median home, the same in every storm.

    Parameters
    ----------
    home : Home
        The home.
    system : UnitSystem
        Units of the reader.
    before : AntecedentGround, optional
        Water table before large storms, where the days of a record tell it.
    name : str
        What the home is called.

    Returns
    -------
    dict
        The section, complete as `complete_section` makes it.
    """
    from riskkit.ensemble.section import section_measures  # brings in the compiled loops

    found = section_measures(home, before)
    end = _downspout(found)
    return complete_section(
        {
            "units": system.value,
            "ground_m": found.ground_m,
            "pit": {
                "depth_m": found.pit_depth_m,
                "width_m": found.pit_width_m,
                "bottom_width_m": found.pit_bottom_width_m,
            },
            "switch": {"on_m": found.on_m, "off_m": found.off_m, "alarm_m": found.alarm_m},
            "second": second_of(home, found.on_m, found.off_m, found.alarm_m),
            "drain_m": found.drain_m,
            "gravel_m": found.gravel_m,
            "slab_m": found.slab_m,
            "outlet_m": found.outlet_m,
            "outlet": home.choice("pipe.outlet") or Outlet.UNKNOWN.value,
            "downspout": end.value,
            "downspouts_counted": _counted(home, end),
            "water_table_m": found.water_table_m,
            "joint_opens": found.joint_opens,
            "parts": {
                **{part.value: state.value for part, state in _states(home, before).items()},
                **({} if found.joint_opens else {Part.JOINT.value: PartState.NONE.value}),
                **stand_by_states(home),
            },
            "labels": {"name": name},
        }
    )


def _downspout(found: SectionMeasures) -> Downspout:
    """Where the greatest part of the roof water goes; of two halves, that which reaches the pit."""
    led = 1.0 - found.at_wall_share - found.to_drain_share
    shares = {
        Downspout.WALL: found.at_wall_share,
        Downspout.DRAIN: found.to_drain_share,
        Downspout.AWAY: led,
    }
    return max(shares, key=lambda end: round(shares[end], 6))


def _counted(home: Home, end: Downspout) -> str:
    """How many of the downspouts end there, where they were counted: "4 of 6"."""
    key = {Downspout.WALL: "roof.at_wall", Downspout.DRAIN: "roof.to_drain"}.get(end)
    told = None if key is None else home.quantity(key)
    counted = None if told is None else told.counted
    return "{} of {}".format(*counted) if counted else ""


def _states(home: Home, before: AntecedentGround | None) -> dict[Part, PartState]:
    """What is known of each part: blank is assumed, and none is none."""
    basis = {row.key: row.basis for row in assumptions(home, before)}
    states = {
        part: PartState.ASSUMED if basis.get(key) is Basis.UNKNOWN else PartState.KNOWN
        for part, key in _TOLD_BY.items()
    }
    if home.choice("pipe.outlet") is None:
        states[Part.OUTLET] = PartState.ASSUMED
    state = system_state(home)
    effects = {finding.effect for finding in state.findings}
    if not state.warns:
        states[Part.ALARM] = PartState.FAILED
    if Effect.NO_PUMPING in effects:
        states[Part.PUMP] = PartState.FAILED
    if Fault.CHECK_VALVE_LEAKS in state.faults:
        states[Part.CHECK_VALVE] = PartState.FAILED
    for component in state.absent:
        states |= dict.fromkeys(_OF[component], PartState.NONE)
    return states


def complete_section(section: Mapping[str, Any]) -> dict[str, Any]:
    """Return a section with all that follows from its measures.

    Parameters
    ----------
    section : mapping
        Measures and units; parts of which nothing is said count as known, those that a home may
        have beside its pump as not there.

    Returns
    -------
    dict
        The same with ``show`` (units of the reader), ``parts``, ``words`` (a label for each part),
        ``short`` (the same where there is little room: dashes alone say what is assumed), and
        ``geometry`` whose marks carry their text, long and short.
    """
    system = UnitSystem(section["units"])
    parts = {part.value: PartState.KNOWN.value for part in Part}
    parts |= dict.fromkeys(STAND_BY, PartState.NONE.value) | section.get("parts", {})
    switch = section["switch"]
    halfway = {"runs_on": "battery", "on_m": (switch["on_m"] + switch["alarm_m"]) / 2}
    whole = {
        **section,
        "parts": parts,
        "outlet": section.get("outlet", Outlet.NEAR.value),
        "downspout": section.get("downspout", Downspout.WALL.value),
        "joint_opens": section.get("joint_opens", True),
        "second": section.get("second") or halfway,
    }
    geometry = geometry_of(whole)
    for mark in geometry["marks"]:
        key, level, state = mark["key"], mark["level_m"], mark["state"]
        mark["text"] = level_words(key, level, state, system)
        mark["short"] = level_words(_SHORT.get(key, key), level, _unassumed(state), system)
    return {
        **whole,
        "show": reader_units(system),
        "words": _words(whole),
        "short": _short_words(whole),
        "geometry": geometry,
    }


def _unassumed(state: str) -> str:
    """The state as words without "assumed" have it."""
    return PartState.KNOWN.value if state == PartState.ASSUMED.value else state


def _words(section: Mapping[str, Any]) -> dict[str, str]:
    words = {}
    for part, (name, short) in _NAMES.items():
        state = PartState(section["parts"][part.value])
        if state is PartState.ASSUMED:
            name = f"{short}, assumed"
        elif state is PartState.FAILED:
            name = f"{short}, {_FAILED.get(part, _OUT_OF_ORDER)}"
        words[part.value] = name
    return words | {
        Part.SECOND_PUMP.value: _second_words(section),
        Part.OUTLET.value: _OUTLETS[Outlet(section["outlet"])],
        Part.DOWNSPOUT.value: _downspout_words(section),
        "person": _tall(UnitSystem(section["units"])),
    }


def _short_words(section: Mapping[str, Any]) -> dict[str, str]:
    """The same where there is little room: dashes alone say what is assumed."""
    names = {part: short for part, (_, short) in _NAMES.items()}
    names |= {Part.SECOND_PUMP: "Second pump", Part.OUTLET: "Outlet", Part.DOWNSPOUT: "Downspout"}
    failed = {part for part in names if section["parts"][part.value] == PartState.FAILED.value}
    words = {
        part.value: f"{name}, {_FAILED.get(part, _OUT_OF_ORDER)}" if part in failed else name
        for part, name in names.items()
    }
    return words | {"person": _tall(UnitSystem(section["units"]))}


def _second_words(section: Mapping[str, Any]) -> str:
    state = PartState(section["parts"][Part.SECOND_PUMP.value])
    name, drive = _SECOND[section["second"]["runs_on"]]
    told = {PartState.ASSUMED: "assumed", PartState.FAILED: _OUT_OF_ORDER}.get(state, drive)
    return f"{name}, {told}" if told else name


def _downspout_words(section: Mapping[str, Any]) -> str:
    end, counted = Downspout(section["downspout"]), section.get("downspouts_counted")
    if PartState(section["parts"][Part.DOWNSPOUT.value]) is PartState.ASSUMED:
        return "Downspout, assumed"
    if counted and end is Downspout.WALL:
        return f"{counted} downspouts"
    if counted and end is Downspout.DRAIN:
        return f"{counted} into the drain"
    return f"Downspout {_DOWNSPOUTS[end]}"


def _tall(system: UnitSystem) -> str:
    if system is UnitSystem.METRIC:
        return f"{PERSON_M:g} m"
    feet, inches = divmod(round(convert(PERSON_M, "m", "in")), 12)
    return f"{feet} ft {inches} in"


def reader_units(system: UnitSystem) -> dict[str, list[Any]]:
    """Return the units in which the picture speaks, each with its factor.

    Parameters
    ----------
    system : UnitSystem
        Units of the reader.

    Returns
    -------
    dict
        ``length`` (small), ``distance`` (large) and ``rain``: name of the unit, and how many of it
        make one metre or one mm/h.
    """
    us = system is UnitSystem.US
    length, distance, rain = ("in", "ft", "in/h") if us else ("cm", "m", "mm/h")
    return {
        "length": [length, convert(1.0, "m", length)],
        "distance": [distance, convert(1.0, "m", distance)],
        "rain": [rain, convert(1.0, "mm/h", rain)],
    }
