"""The steps through one storm that an owner is shown, with a plain sentence for each."""

from __future__ import annotations

from collections.abc import Mapping
from enum import Enum
from typing import Any

from riskkit.report.time_words import about_duration

__all__ = ["Step", "steps_of"]

_WORDS = {
    "rain": "It rains",
    "works": "The pump works",
    "stops": "The pump stops",
    "alarm": "The alarm",
    "floor": "The floor",
    "help": "What would help",
}


class Step(Enum):
    """What is looked at."""

    RAIN = "rain"
    WORKS = "works"
    STOPS = "stops"
    ALARM = "alarm"
    FLOOR = "floor"
    HELP = "help"


def steps_of(animation: Mapping[str, Any]) -> list[dict[str, Any]]:
    """Return the steps through a animation that its numbers hold, in the order of their time.

    Parameters
    ----------
    animation : mapping
        One storm, as `riskkit.widgets.section.MovingSection` takes it.

    Returns
    -------
    list of dict
        ``key``, ``title``, ``say`` and ``at_s``, from the start of the storm; None for the last
        step, which is not a moment [s].
    """
    times, rain = animation["time_s"], animation["rain_mm_h"]
    stop, alarm, flood = (animation.get(key) for key in ("stopped_at_s", "alarm_s", "flood_s"))
    two_pumps = bool(animation.get("two_pumps"))
    begin = _first(times, [mm_h > 0 for mm_h in rain])
    found = [
        (Step.RAIN, times[0] if begin is None else begin, _rain_words(stop, times[0])),
    ]
    runs = _first(times, [bool(on) for on in animation.get("pump_on") or ()])
    if runs is not None and (stop is None or runs < stop):
        found.append((Step.WORKS, max(runs, found[0][1]), _WORKS))
    elif stop is not None and stop > found[0][1]:
        found.append((Step.WORKS, (found[0][1] + stop) / 2, _READY))
    if stop is not None:
        found.append((Step.STOPS, stop, _stop_words(stop, times[0], two_pumps=two_pumps)))
    if alarm is not None:
        found.append((Step.ALARM, alarm, _alarm_words(stop, alarm)))
    found.append((Step.FLOOR, times[-1] if flood is None else flood, _floor_words(animation)))
    found.sort(key=lambda step: step[1])
    words = _WORDS | {"stops": "Both pumps stop"} if two_pumps else _WORDS
    rows = [
        {"key": step.value, "title": words[step.value], "at_s": float(at), "say": say}
        for step, at, say in found
    ]
    last = {"key": Step.HELP.value, "title": _WORDS[Step.HELP.value], "at_s": None, "say": _HELP}
    return [*rows, last]


_WORKS = "The pump starts when the water lifts its float. It pumps the pit down and stops again."
_READY = "The pump is ready. It starts when the water lifts its float."
_HELP = "This is what you can do, the best first. Each gain is what you get if it is done."


def _first(times: list[float], yes: list[bool]) -> float | None:
    """When something is so for the first time [s]."""
    return next((time for time, is_so in zip(times, yes, strict=False) if is_so), None)


def _rain_words(stop: float | None, begin: float) -> str:
    late = stop is not None and stop <= begin
    then = "and no pump takes it out" if late else "and into the pit"
    return f"Rain falls on the roof and the ground. It sinks down at the wall {then}."


def _stop_words(stop: float, begin: float, *, two_pumps: bool) -> str:
    if two_pumps and stop <= begin:
        return "Both pumps had stopped before the storm came. Now the water can only rise."
    if two_pumps:
        return "Now neither pump runs. Both have failed. The water can only rise."
    if stop <= begin:
        return "The pump had stopped before the storm came. Now the water can only rise."
    return "Now the pump stops. It may have lost its power or be stuck. The water can only rise."


def _alarm_words(stop: float | None, alarm: float) -> str:
    if stop is None or alarm <= stop:
        return "The alarm sounds. Now your time runs."
    return f"The alarm sounds {about_duration(alarm - stop)} after the stop. Now your time runs."


def _floor_words(animation: Mapping[str, Any]) -> str:
    stop, alarm, flood = (animation.get(key) for key in ("stopped_at_s", "alarm_s", "flood_s"))
    if flood is None:
        return "The water stays in the pit in this storm. The floor stays dry."
    since, name = (stop, "the stop") if alarm is None else (alarm, "the alarm")
    if since is None:
        since, name = animation["time_s"][0], "the start"
    if flood <= since:
        return "Water is on the floor."
    return f"Water is on the floor {about_duration(flood - since)} after {name}."
