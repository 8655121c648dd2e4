"""The moving cut: house, ground, drain, gravel, pit and pump, drawn to scale and set in motion.

The picture gets its data once. Playing, pausing and dragging happen in the browser alone, so that
they go on while the kernel computes, and no request leaves the machine.
"""

from __future__ import annotations

import math
from itertools import pairwise
from typing import Any

import anywidget
import traitlets

from riskkit.errors import InputError, RangeError
from riskkit.quantities.units import UnitSystem
from riskkit.report.cut_geometry import Outlet, PartState
from riskkit.report.cut_house import Downspout
from riskkit.report.cut_scene import complete_scene, scene_of
from riskkit.report.cut_stand_by import RUNS_ON
from riskkit.report.moving import CUT_SCRIPT, CUT_STYLE
from riskkit.report.step_words import steps_of
from riskkit.report.story import story_of

__all__ = ["MovingCut", "check_scene", "check_story", "scene_of", "story_of"]

_LEVELS = ("ground_m", "drain_m", "gravel_m", "slab_m", "outlet_m")
_ROWS = ("rain_mm_h", "level_m")
_MOMENTS = ("stopped_at_s", "alarm_s", "flood_s")


class MovingCut(anywidget.AnyWidget):
    """One home in one storm, as a moving picture.

    ``scene`` and ``story`` are plain data, see `scene_of` and `story_of`; an empty one shows that
    there is nothing to show yet. ``moment_s`` is the moment shown when the picture stands still, in
    seconds from the start of the storm; set it to jump there.

    >>> MovingCut().moment_s
    0.0
    """

    _esm = CUT_SCRIPT
    _css = CUT_STYLE

    scene = traitlets.Dict().tag(sync=True)
    story = traitlets.Dict().tag(sync=True)
    moment_s = traitlets.Float(0.0).tag(sync=True)

    @traitlets.validate("scene")
    def _scene_is_right(self, proposal: Any) -> dict[str, Any]:
        return check_scene(proposal["value"])

    @traitlets.validate("story")
    def _story_is_right(self, proposal: Any) -> dict[str, Any]:
        return check_story(proposal["value"])

    @traitlets.validate("moment_s")
    def _moment_is_right(self, proposal: Any) -> float:
        return _number(proposal["value"], "moment_s")


def check_scene(scene: dict[str, Any]) -> dict[str, Any]:
    """Return a scene that can be drawn, with all that follows from its measures.

    Parameters
    ----------
    scene : dict
        Measures of a home, or nothing.

    Returns
    -------
    dict
        The same, with what `complete_scene` adds.

    Raises
    ------
    InputError
        Where something is missing or of the wrong kind.
    RangeError
        Where a measure cannot be.
    """
    if not scene:
        return {}
    units = scene.get("units")
    if units not in [system.value for system in UnitSystem]:
        raise InputError("scene, units", f"{units!r} is not known", 'it is "us" or "metric"')
    number = {key: _number(scene.get(key), f"scene, {key}") for key in _LEVELS}
    pit = _numbers(scene, "pit", ("depth_m", "width_m", "bottom_width_m"))
    switch = _numbers(scene, "switch", ("on_m", "off_m", "alarm_m"))
    if scene.get("second") is not None:
        second = _numbers(scene, "second", ("on_m",))
        if not -pit["depth_m"] < second["on_m"] < 0:
            raise RangeError("scene, second", "it does not start in the pit")
        runs_on = scene["second"].get("runs_on")
        if runs_on not in RUNS_ON:
            raise InputError(
                "scene, second, runs_on", f"{runs_on!r} is not known", ", ".join(RUNS_ON)
            )
    if not isinstance(scene.get("joint_opens", True), bool):
        raise InputError("scene, joint_opens", "it is neither true nor false")
    if scene.get("water_table_m") is not None:
        _number(scene["water_table_m"], "scene, water_table_m")
    if min(*pit.values(), number["slab_m"]) <= 0 or number["gravel_m"] < 0:
        raise RangeError("scene", "a pit or slab has no size")
    if not -pit["depth_m"] <= switch["off_m"] < switch["on_m"] < switch["alarm_m"] < 0:
        raise RangeError(
            "scene, switch", "the levels are not in the order bottom, off, on, alarm, floor"
        )
    states = [state.value for state in PartState]
    for part, state in scene.get("parts", {}).items():
        if state not in states:
            raise InputError(f"scene, parts, {part}", f"{state!r} is not known", ", ".join(states))
    ends = [end.value for end in Downspout]
    if scene.get("downspout", ends[0]) not in ends:
        raise InputError(
            "scene, downspout", f"{scene['downspout']!r} is not known", ", ".join(ends)
        )
    outlets = [outlet.value for outlet in Outlet]
    if scene.get("outlet", outlets[0]) not in outlets:
        known = ", ".join(outlets)
        raise InputError("scene, outlet", f"{scene['outlet']!r} is not known", known)
    return complete_scene(scene)


def check_story(story: dict[str, Any]) -> dict[str, Any]:
    """Return a story that can be played.

    Parameters
    ----------
    story : dict
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
    if not story:
        return {}
    for key in ("title", "sentence"):
        if not isinstance(story.get(key), str):
            raise InputError(f"story, {key}", "it is not text")
    time_s = _row(story, "time_s")
    if len(time_s) < 2 or any(b <= a for a, b in pairwise(time_s)):
        raise InputError("story, time_s", "the times do not increase")
    rows = [*_ROWS, *(key for key in ("pump_on", "beside_m") if story.get(key) is not None)]
    for key in rows:
        if len(_row(story, key)) != len(time_s):
            raise InputError(f"story, {key}", "it does not have one number for each time")
    for key in _MOMENTS:
        if story.get(key) is not None:
            _number(story[key], f"story, {key}")
    if not isinstance(story.get("two_pumps", False), bool):
        raise InputError("story, two_pumps", "it is neither true nor false")
    return {**story, "steps": steps_of(story)}


def _number(value: object, where: str) -> float:
    if isinstance(value, bool) or not isinstance(value, int | float) or not math.isfinite(value):
        raise InputError(where, f"{value!r} is not a finite number")
    return float(value)


def _numbers(scene: dict[str, Any], part: str, keys: tuple[str, ...]) -> dict[str, float]:
    found = scene.get(part)
    if not isinstance(found, dict):
        raise InputError(f"scene, {part}", "it is missing")
    return {key: _number(found.get(key), f"scene, {part}, {key}") for key in keys}


def _row(story: dict[str, Any], key: str) -> list[float]:
    found = story.get(key)
    if not isinstance(found, list):
        raise InputError(f"story, {key}", "it is not a list of numbers")
    return [_number(value, f"story, {key}") for value in found]
