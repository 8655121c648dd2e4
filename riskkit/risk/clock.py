"""From when the time to the floor is counted: the alarm, the stop of the pump, or the rain."""

from __future__ import annotations

from enum import Enum

__all__ = ["Clock"]


class Clock(Enum):
    """From when the time to the floor is counted."""

    ALARM = "alarm"
    STOP = "stop"  # of the pump, where no alarm can be counted on
    RAIN = "rain"  # its beginning, where there is neither alarm nor pump
