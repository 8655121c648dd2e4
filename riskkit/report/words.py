"""Numbers into plain sentences, with no more digits than the spread allows."""

from __future__ import annotations

import math
from typing import TYPE_CHECKING

from riskkit.risk.outcome import Outcome
from riskkit.units import UnitSystem, convert

if TYPE_CHECKING:
    from riskkit.assessment import Assessment, StormAnswer

__all__ = [
    "CAUTIONS",
    "about_depth",
    "about_duration",
    "about_flow",
    "about_share",
    "duration_with_spread",
    "sentence",
    "short_duration",
]

CAUTIONS = (
    "Water and electricity: never step into standing water, or reach into the pit, unless you "
    "are sure the power to the basement is off.",
    "Never run a generator or any engine indoors, in a garage or near a window or vent: its "
    "exhaust kills.",
    "Water on the floor may carry sewage: keep children and pets away, and wash.",
    "Do not pump out a flooded basement all at once: walls can break while the ground outside is "
    "still full of water.",
    "If a wall moves, leans or cracks, call a structural engineer. Local codes decide, and "
    "electrical and plumbing work is for licensed trades.",
    "This is a planning aid, checked against published envelopes, not validated house by house.",
)
_SHORT = {"minute": "min", "hour": "h", "day": "d"}
_MINUTE, _HOUR, _DAY = 60.0, 3600.0, 86400.0


def _round_to(value: float, step: float) -> str:
    rounded = max(step, math.floor(value / step + 0.5) * step)
    return f"{rounded:g}"


def _duration_parts(seconds: float) -> tuple[str, str]:
    """Number and unit, as people say them."""
    if seconds < 90:
        return ("under 2" if seconds >= 30 else "under 1"), "minute"
    minutes = seconds / _MINUTE
    if minutes < 10:
        return _round_to(minutes, 1), "minute"
    if minutes < 87.5:  # else it would round to 90, which is 1.5 hours
        return _round_to(minutes, 5), "minute"
    if seconds < 10 * _HOUR:
        return _round_to(seconds / _HOUR, 0.5), "hour"
    if seconds < 48 * _HOUR:
        return _round_to(seconds / _HOUR, 1), "hour"
    return _round_to(seconds / _DAY, 1), "day"


def about_duration(seconds: float) -> str:
    """Say a duration as people do.

    Parameters
    ----------
    seconds : float
        The duration; infinite for never [s].

    Returns
    -------
    str
        For example ``"35 minutes"``, ``"2.5 hours"`` or ``"never"``.

    Examples
    --------
    >>> about_duration(2050), about_duration(9100), about_duration(float("inf"))
    ('35 minutes', '2.5 hours', 'never')
    """
    if math.isinf(seconds):
        return "never"
    number, unit = _duration_parts(seconds)
    return f"{number} {unit}" + ("" if number in ("1", "under 1") else "s")


def short_duration(seconds: float) -> str:
    """Write a duration for a table.

    Parameters
    ----------
    seconds : float
        The duration; infinite for never [s].

    Returns
    -------
    str
        For example ``"35 min"``, ``"2.5 h"`` or ``"never"``.

    Examples
    --------
    >>> short_duration(2050), short_duration(20), short_duration(9100)
    ('35 min', '<1 min', '2.5 h')
    """
    if math.isinf(seconds):
        return "never"
    number, unit = _duration_parts(seconds)
    return f"{number.replace('under ', '<')} {_SHORT[unit]}"


def duration_with_spread(answer: Outcome) -> str:
    """Say a duration with its likely range.

    Parameters
    ----------
    answer : Outcome
        Durations [s].

    Returns
    -------
    str
        For example ``"about 35 minutes (most likely 20 to 70)"``.

    Examples
    --------
    >>> duration_with_spread(Outcome(1200, 2050, 4300))
    'about 35 minutes (most likely 20 to 70)'
    >>> duration_with_spread(Outcome(1200, float("inf"), float("inf"), 0.6))
    'most likely never (if it does, 20 minutes or more)'
    """
    if math.isinf(answer.low):
        return "does not reach the floor"
    if math.isinf(answer.middle):
        return f"most likely never (if it does, {about_duration(answer.low)} or more)"
    low_number, low_unit = _duration_parts(answer.low)
    if math.isinf(answer.high):
        return f"about {about_duration(answer.middle)} (from {about_duration(answer.low)} to never)"
    _, high_unit = _duration_parts(answer.high)
    _, unit = _duration_parts(answer.middle)
    high_number = _duration_parts(answer.high)[0]
    if low_unit == high_unit == unit:
        spread = low_number if low_number == high_number else f"{low_number} to {high_number}"
    else:
        spread = f"{about_duration(answer.low)} to {about_duration(answer.high)}"
    return f"about {about_duration(answer.middle)} (most likely {spread})"


def about_share(share: float) -> str:
    """Say a share as chances in ten or in a hundred.

    Parameters
    ----------
    share : float
        From 0 to 1 [-].

    Returns
    -------
    str
        For example ``"7 in 10"``.

    Examples
    --------
    >>> about_share(0.68), about_share(0.031), about_share(0.0)
    ('7 in 10', '3 in 100', 'less than 1 in 100')
    """
    if share < 0.005:
        return "less than 1 in 100"
    if share > 0.995:
        return "more than 99 in 100"
    if share < 0.095 or share > 0.905:
        return f"{round(share * 100)} in 100"
    return f"{round(share * 10)} in 10"


def about_flow(flow_m3_s: float, system: UnitSystem) -> str:
    """Write a flow to two digits.

    Parameters
    ----------
    flow_m3_s : float
        The flow [m3/s].
    system : UnitSystem
        Units of the reader.

    Returns
    -------
    str
        For example ``"3.4 gpm"``.
    """
    unit = "gpm" if system is UnitSystem.US else "L/min"
    return f"{_two_digits(convert(flow_m3_s, 'm3/s', unit))} {unit}"


def about_depth(depth_m: float, system: UnitSystem) -> str:
    """Write a depth of water on the floor to two digits.

    Parameters
    ----------
    depth_m : float
        The depth [m].
    system : UnitSystem
        Units of the reader.

    Returns
    -------
    str
        For example ``"1.5 in"``; ``"dry"`` for none.
    """
    if depth_m <= 0:
        return "dry"
    unit = "in" if system is UnitSystem.US else "cm"
    shown = convert(depth_m, "m", unit)
    return f"<0.1 {unit}" if shown < 0.1 else f"{_two_digits(shown)} {unit}"


def _two_digits(value: float) -> str:
    if value == 0:
        return "0"
    digits = 1 - math.floor(math.log10(abs(value)))
    return f"{round(value, digits):.{max(digits, 0)}f}"


def _storm_name(storm: StormAnswer) -> str:
    return f"{storm.return_period_yr:g}-year storm"


def _carries(answer: Assessment) -> str:
    sure = [s for s in answer.storms if s.floor_dry_share >= 0.9]
    unsure = [s for s in answer.storms if s.floor_dry_share < 0.9]
    if not unsure:
        return (
            "With the pump working, water stays off the floor in every storm looked at, up to the "
            f"{_storm_name(answer.storms[-1])}"
        )
    first = unsure[0]
    chance = (
        f"the {_storm_name(first)} may not be ({about_share(first.floor_dry_share)} that it is)"
    )
    if first.floor_dry_share < 0.1:
        chance = f"the {_storm_name(first)} is too much for it"
    if not sure:
        return f"Even with the pump working, {chance.replace('may not be', 'may not be carried')}"
    return f"With the pump working, the {_storm_name(sure[-1])} is carried; {chance}"


def sentence(answer: Assessment) -> str:
    """Say the whole answer in two sentences: does it carry the storms, and how long if it stops.

    Parameters
    ----------
    answer : Assessment
        The answer.

    Returns
    -------
    str
        Plain words.
    """
    storm = answer.headline_storm
    time = storm.worst_s
    stop = f"If the pump stops in a {_storm_name(storm)}"
    if math.isinf(time.low):
        failed = f"{stop}, the water does not reach the floor"
    elif math.isinf(time.middle):
        failed = (
            f"{stop}, the water most likely does not reach the floor; if it does, "
            f"{about_duration(time.low)} or more pass from the alarm"
        )
    else:
        spread = duration_with_spread(time).split(" (")[1].rstrip(")")
        failed = (
            f"{stop} at the worst moment, about {about_duration(time.middle)} pass from the alarm "
            f"to water on the floor, {spread}"
        )
    return f"{_carries(answer)}. {failed}."
