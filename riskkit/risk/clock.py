"""Which time to the floor is told, and from when: the alarm, the stop of the pump, or the rain."""

from __future__ import annotations

from enum import Enum

__all__ = ["Clock", "Told"]


class Clock(Enum):
    """From when the time to the floor is counted."""

    ALARM = "alarm"
    STOP = "stop"  # of the pump, where no alarm can be counted on
    RAIN = "rain"  # its beginning, where there is neither alarm nor pump


class Told(Enum):
    """Which time to the floor is told first, as a figure."""

    FLOOR = "floor"  # by the first of both paths, over the rim or at the joint
    RIM = "rim"  # over the rim alone, where water at the joint is told apart
    DEAD = "dead"  # of a pump dead before the storm, from the beginning of the rain
