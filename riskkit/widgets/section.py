"""The moving section: house, ground, drain, gravel, pit and pump, drawn to scale and set in motion.

The picture gets its data once. Playing, pausing and dragging happen in the browser alone, so that
they go on while the kernel computes, and no request leaves the machine.
"""

from __future__ import annotations

from collections.abc import Collection
from itertools import pairwise
from typing import Any

import anywidget
import traitlets

from riskkit.errors import InputError, RangeError, need_type
from riskkit.quantities.text import brief
from riskkit.quantities.units import UnitSystem
from riskkit.report.animation import animation_of
from riskkit.report.moving import SECTION_SCRIPT, SECTION_STYLE
from riskkit.report.section_data import complete_section, section_of
from riskkit.report.section_geometry import Outlet, PartState
from riskkit.report.section_house import Downspout
from riskkit.report.section_stand_by import RUNS_ON
from riskkit.report.step_words import steps_of

__all__ = ["MovingSection", "animation_of", "check_animation", "check_section", "section_of"]

_ENDLESS = 1e300  # no measure of a home, in any unit
_LEVELS = ("ground_m", "drain_m", "gravel_m", "slab_m", "outlet_m")
_ROWS = ("rain_mm_h", "level_m")
_MOMENTS = ("stopped_at_s", "alarm_s", "flood_s")


class MovingSection(anywidget.AnyWidget):
    """One home in one storm, as a moving picture.

    ``section`` and ``animation`` are plain data, see `section_of` and `animation_of`; an empty one
    shows that there is nothing to show yet. ``moment_s`` is the moment shown when the picture
    stands still, in seconds from the start of the storm; set it to jump there.

    >>> MovingSection().moment_s
    0.0
    """

    _esm = SECTION_SCRIPT
    _css = SECTION_STYLE

    section = traitlets.Dict().tag(sync=True)
    animation = traitlets.Dict().tag(sync=True)
    moment_s = traitlets.Float(0.0).tag(sync=True)

    @traitlets.validate("section")
    def _section_is_right(self, proposal: Any) -> dict[str, Any]:
        return check_section(proposal["value"])

    @traitlets.validate("animation")
    def _animation_is_right(self, proposal: Any) -> dict[str, Any]:
        return check_animation(proposal["value"])

    @traitlets.validate("moment_s")
    def _moment_is_right(self, proposal: Any) -> float:
        return _number(proposal["value"], "moment_s")


def check_section(section: dict[str, Any]) -> dict[str, Any]:
    """Return a section that can be drawn, with all that follows from its measures.

    Parameters
    ----------
    section : dict
        Measures of a home, or nothing.

    Returns
    -------
    dict
        The same, with what `complete_section` adds.

    Raises
    ------
    InputError
        Where something is missing or of the wrong kind.
    RangeError
        Where a measure cannot be.
    """
    need_type(section, dict, "section", "give the measures of a home by their names")
    if not section:
        return {}
    units = [system.value for system in UnitSystem]
    _one_of(section.get("units"), units, "section, units", 'it is "us" or "metric"')
    number = {key: _number(section.get(key), f"section, {key}") for key in _LEVELS}
    pit = _numbers(section, "pit", ("depth_m", "width_m", "bottom_width_m"))
    switch = _numbers(section, "switch", ("on_m", "off_m", "alarm_m"))
    if section.get("second") is not None:
        second = _numbers(section, "second", ("on_m",))
        if not -pit["depth_m"] < second["on_m"] < 0:
            raise RangeError("section, second", "it does not start in the pit")
        _one_of(section["second"].get("runs_on"), RUNS_ON, "section, second, runs_on")
    if not isinstance(section.get("joint_opens", True), bool):
        raise InputError("section, joint_opens", "it is neither true nor false")
    if section.get("water_table_m") is not None:
        _number(section["water_table_m"], "section, water_table_m")
    if min(*pit.values(), number["slab_m"]) <= 0 or number["gravel_m"] < 0:
        raise RangeError("section", "a pit or slab has no size")
    if not -pit["depth_m"] <= switch["off_m"] < switch["on_m"] < switch["alarm_m"] < 0:
        raise RangeError(
            "section, switch", "the levels are not in the order bottom, off, on, alarm, floor"
        )
    states = [state.value for state in PartState]
    parts = section.get("parts", {})
    if not isinstance(parts, dict):
        raise InputError("section, parts", "it is not a table of parts")
    for part, state in parts.items():
        _one_of(state, states, f"section, parts, {brief(str(part))}")
    ends, outlets = [end.value for end in Downspout], [outlet.value for outlet in Outlet]
    _one_of(section.get("downspout", ends[0]), ends, "section, downspout")
    _one_of(section.get("outlet", outlets[0]), outlets, "section, outlet")
    return complete_section(section)


def check_animation(animation: dict[str, Any]) -> dict[str, Any]:
    """Return a animation that can be played.

    Parameters
    ----------
    animation : dict
        One storm, or nothing.

    Returns
    -------
    dict
        The same, with the steps through it.

    Raises
    ------
    InputError
        Where something is missing, of the wrong kind, or does not fit together.
    """
    need_type(animation, dict, "animation", "give the course of one storm by its names")
    if not animation:
        return {}
    for key in ("title", "sentence"):
        if not isinstance(animation.get(key), str):
            raise InputError(f"animation, {key}", "it is not text")
    time_s = _row(animation, "time_s")
    if len(time_s) < 2 or any(b <= a for a, b in pairwise(time_s)):
        raise InputError("animation, time_s", "the times do not increase")
    rows = [*_ROWS, *(key for key in ("pump_on", "beside_m") if animation.get(key) is not None)]
    for key in rows:
        if len(_row(animation, key)) != len(time_s):
            raise InputError(f"animation, {key}", "it does not have one number for each time")
    for key in _MOMENTS:
        if animation.get(key) is not None:
            _number(animation[key], f"animation, {key}")
    if not isinstance(animation.get("two_pumps", False), bool):
        raise InputError("animation, two_pumps", "it is neither true nor false")
    return {**animation, "steps": steps_of(animation)}


def _one_of(value: object, known: Collection[str], where: str, right: str = "") -> None:
    if value not in known:
        what = f"{brief(repr(value))} is not known"
        raise InputError(where, what, right or ", ".join(known))


def _number(value: object, where: str) -> float:
    if isinstance(value, int | float) and not isinstance(value, bool) and abs(value) < _ENDLESS:
        return float(value)
    raise InputError(where, f"{brief(repr(value))} is not a finite number")


def _numbers(section: dict[str, Any], part: str, keys: tuple[str, ...]) -> dict[str, float]:
    found = section.get(part)
    if not isinstance(found, dict):
        raise InputError(f"section, {part}", "it is missing")
    return {key: _number(found.get(key), f"section, {part}, {key}") for key in keys}


def _row(animation: dict[str, Any], key: str) -> list[float]:
    found = animation.get(key)
    if not isinstance(found, list):
        raise InputError(f"animation, {key}", "it is not a list of numbers")
    return [_number(value, f"animation, {key}") for value in found]
