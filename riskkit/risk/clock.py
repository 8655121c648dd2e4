"""Which time to the floor is the main one, and from when it counts: alarm, stop or rain."""

from __future__ import annotations

from enum import Enum

__all__ = ["Clock", "MainTime"]


class Clock(Enum):
    """From when the time to the floor is counted."""

    ALARM = "alarm"
    STOP = "stop"  # of the pump, where no alarm can be counted on
    RAIN = "rain"  # its beginning, where there is neither alarm nor pump


class MainTime(Enum):
    """Which time to the floor is the main one of an answer, its figure."""

    FLOOR = "floor"  # by the first of both paths, over the rim or at the joint
    RIM = "rim"  # over the rim alone, where water at the joint is told apart
    DEAD = "dead"  # of a pump dead before the storm, from the beginning of the rain
