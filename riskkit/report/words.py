"""Numbers into plain sentences, with no more digits than the spread allows."""

from __future__ import annotations

import math
from enum import Enum
from typing import TYPE_CHECKING

from riskkit.antecedent.textures import soil_words
from riskkit.ensemble.quantiles import Outcome, Points
from riskkit.quantities.components import Component
from riskkit.quantities.quantity import Basis
from riskkit.quantities.units import UnitSystem, convert
from riskkit.quantities.variables import significant, variable
from riskkit.report.state_words import after_words, dangers, since_words, working_title
from riskkit.risk.clock import Clock
from riskkit.tables import load_sources

if TYPE_CHECKING:
    from riskkit.assessment import Assessment, StormAnswer
    from riskkit.ensemble.draws import Assumption

__all__ = [
    "CERTAIN",
    "about_depth",
    "about_duration",
    "about_flow",
    "about_share",
    "chance_and_time",
    "rain_words",
    "rests_on",
    "sentence",
    "short_duration",
    "taken_words",
    "use_words",
]

_MOST_USE = 3.0  # a share of the pump above it tells no more than that it is too much
_RARE = 0.005  # a share below it, or as near to one, is told by a limit
CERTAIN = 0.99  # a share from here on is said without a doubt
_SHORT = {"minute": "min", "hour": "h"}
_NO_BOOK = ("judgement", "common_practice")  # sources that name no book
_MINUTE, _HOUR, _DAY = 60.0, 3600.0, 86400.0


def _round_to(value: float, step: float) -> str:
    rounded = max(step, math.floor(value / step + 0.5) * step)
    return f"{rounded:g}"


class _Limit(Enum):
    """On which side of what is said a duration lies; the value is how people say it."""

    LESS = "less than"
    NONE = ""
    MORE = "more than"


def _duration_parts(seconds: float) -> tuple[_Limit, str, str]:
    """Limit, number and unit, as people say them."""
    if seconds < 90:
        return _Limit.LESS, ("2" if seconds >= 30 else "1"), "minute"
    minutes = seconds / _MINUTE
    if minutes < 10:
        return _Limit.NONE, _round_to(minutes, 1), "minute"
    if minutes < 87.5:  # else it would round to 90, which is 1.5 hours
        return _Limit.NONE, _round_to(minutes, 5), "minute"
    if seconds < 10 * _HOUR:
        return _Limit.NONE, _round_to(seconds / _HOUR, 0.5), "hour"
    if seconds < _DAY + 0.5 * _HOUR:
        return _Limit.NONE, _round_to(seconds / _HOUR, 1), "hour"
    return _Limit.MORE, "a", "day"  # nobody plans by the third day after an alarm


def _is_one(seconds: float) -> bool:
    return _duration_parts(seconds)[1] in ("1", "a")


def about_duration(seconds: float) -> str:
    """Say a duration as people do.

    Parameters
    ----------
    seconds : float
        The duration; infinite for never [s].

    Returns
    -------
    str
        For example ``"35 minutes"``, ``"2.5 hours"``, ``"more than a day"`` or ``"never"``.

    Examples
    --------
    >>> about_duration(2050), about_duration(9100), about_duration(float("inf"))
    ('35 minutes', '2.5 hours', 'never')
    >>> about_duration(40), about_duration(7.6e7)
    ('less than 2 minutes', 'more than a day')
    """
    if math.isinf(seconds):
        return "never"
    limit, number, unit = _duration_parts(seconds)
    return f"{limit.value} {number} {unit}".lstrip() + ("" if _is_one(seconds) else "s")


def _about(seconds: float) -> str:
    """The same with "about" before a number that is no limit."""
    exact = _duration_parts(seconds)[0] is _Limit.NONE
    return ("about " if exact else "") + about_duration(seconds)


def short_duration(seconds: float) -> str:
    """Write a duration for a table.

    Parameters
    ----------
    seconds : float
        The duration; infinite for never [s].

    Returns
    -------
    str
        For example ``"35 min"``, ``"2.5 h"``, ``"> 1 d"`` or ``"never"``.

    Examples
    --------
    >>> short_duration(2050), short_duration(20), short_duration(9100), short_duration(7.6e7)
    ('35 min', '<1 min', '2.5 h', '> 1 d')
    """
    if math.isinf(seconds):
        return "never"
    limit, number, unit = _duration_parts(seconds)
    if limit is _Limit.MORE:
        return "> 1 d"
    return f"{'<' if limit is _Limit.LESS else ''}{number} {_SHORT[unit]}"


def _spread(time: Points) -> str:
    """The likely range in brackets; empty where it says no more than the middle."""
    said = {about_duration(t) for t in (time.low, time.middle, time.high)}
    if len(said) == 1:
        return ""
    low, middle, high = (_duration_parts(t) for t in (time.low, time.middle, time.high))
    if low[2] == high[2] == middle[2]:
        first = f"{low[0].value} {low[1]}".lstrip()
        apart = low[0] is not _Limit.NONE and high[0] is _Limit.NONE
        unit = f" {high[2]}s" if apart else ""  # far from the number before
        spread = first if low == high else f"{first} to {high[1]}{unit}"
    else:
        spread = f"{about_duration(time.low)} to {about_duration(time.high)}"
    return f" (most likely {spread})"


def chance_and_time(time: Outcome) -> str:
    """Say how likely water reaches the floor, and how long that takes where it does.

    Parameters
    ----------
    time : Outcome
        Durations [s].

    Returns
    -------
    str
        The same parts in the same order, however often it never comes.

    Examples
    --------
    >>> chance_and_time(Outcome(1200, 2050, 4300))
    'chance more than 99 in 100; if so, about 35 minutes (most likely 20 to 70)'
    >>> chance_and_time(Outcome(120, 3300, float("inf"), 0.24, Points(100, 2050, 9100)))
    'chance about 8 in 10; if so, about 35 minutes (most likely 2 minutes to 2.5 hours)'
    >>> chance_and_time(Outcome(*[float("inf")] * 3, 1.0))
    'chance less than 1 in 100; if so, the time is not known'
    """
    found = time.if_ever
    words = "the time is not known" if found is None else _about(found.middle) + _spread(found)
    return f"chance {_chance(time)}; if so, {words}"


def _chance(time: Outcome) -> str:
    """Say how likely it is that water reaches the floor at all."""
    share = 1.0 - time.never_share
    return f"{'about ' if _RARE <= share <= 1.0 - _RARE else ''}{about_share(share)}"


def rain_words(depth_mm: float, system: UnitSystem) -> str:
    """Write a depth of rain to two digits, which is more than its limits allow.

    Parameters
    ----------
    depth_mm : float
        The depth [mm].
    system : UnitSystem
        Units of the reader.

    Returns
    -------
    str
        For example ``"3.1 in"`` or ``"79 mm"``.

    Examples
    --------
    >>> rain_words(179.8, UnitSystem.US), rain_words(179.8, UnitSystem.METRIC)
    ('7.1 in', '180 mm')
    """
    unit = "in" if system is UnitSystem.US else "mm"
    return f"{_two_digits(convert(depth_mm, 'mm', unit))} {unit}"


def use_words(use: Outcome) -> str:
    """Write the peak inflow against what the pump can lift.

    Parameters
    ----------
    use : Outcome
        Inflow against the flow of the pump at its start level; infinite where it lifts nothing [-].

    Returns
    -------
    str
        For example ``"14 % (6–32)"``, ``"107 % (14 % to more than it lifts)"`` or
        ``"cannot lift"``.

    Examples
    --------
    >>> use_words(Outcome(0.06, 0.14, 0.32)), use_words(Outcome(0.14, 1.07, float("inf")))
    ('14 % (6–32)', '107 % (14 % to more than it lifts)')
    """
    too_much = "more than it lifts"
    if use.middle > _MOST_USE:
        middle = "cannot lift" if math.isinf(use.middle) else too_much
        return middle if use.low > _MOST_USE else f"{middle} (from {use.low * 100:.0f} %)"
    middle = f"{use.middle * 100:.0f} %"
    if use.high > _MOST_USE:
        return f"{middle} ({use.low * 100:.0f} % to {too_much})"
    return f"{middle} ({use.low * 100:.0f}–{use.high * 100:.0f})"


def taken_words(row: Assumption, system: UnitSystem) -> tuple[str, str, str]:
    """Say what was taken for a quantity: its middle, where 9 of 10 lie, and where that is from.

    Parameters
    ----------
    row : Assumption
        What was taken.
    system : UnitSystem
        Units of the reader.

    Returns
    -------
    middle : str
        As given, or to two digits where it is only known in words or not at all.
    span : str
        Such as ``"0.54 to 22 ft2"``.
    origin : str
        Measured, given, what a word stands for, or the table and its source.
    """
    item = variable(row.key)
    middle, span = item.spread_text(row.p05, row.p50, row.p95, system)
    source = row.source if row.source in _NO_BOOK else load_sources()[row.source].cite()
    if row.basis is Basis.UNKNOWN:
        return middle, span, f"{row.why} ({source.replace('_', ' ')})"
    if row.option is not None:
        return middle, span, f"what “{row.option}” stands for ({source.replace('_', ' ')})"
    if row.quantity is None:  # the water table, by levels measured or remembered
        return middle, span, f"{row.taken}; {row.why}"
    origin = "measured at the home" if row.basis is Basis.MEASURED else "as given"
    if row.quantity.is_rough:
        origin = "told roughly"
    return item.text(row.p50, system), span, origin


def rests_on(answer: Assessment) -> tuple[str, ...]:
    """Say which rain, which soil and which water table an answer rests on.

    Parameters
    ----------
    answer : Assessment
        The answer.

    Returns
    -------
    tuple of str
        The rain with its years and the pattern of its storms; the soil; the water table where it
        was measured or is remembered.
    """
    table = answer.before.water_table
    water = (f"Water table before storms: {table.taken}; {table.spread.words}.",) if table else ()
    return (
        f"Rain: {answer.rain.origin}; {answer.settings.pattern.value} storms.",
        f"Soil: {soil_words(answer.home)}.",
        *water,
    )


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
    if share < _RARE:
        return "less than 1 in 100"
    if share > 1.0 - _RARE:
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
    """Write a depth of water on the floor to one digit, which is all that its spread allows.

    Parameters
    ----------
    depth_m : float
        The depth [m].
    system : UnitSystem
        Units of the reader.

    Returns
    -------
    str
        For example ``"0.4 in"``; ``"none"``; above ten in steps of five.

    Examples
    --------
    >>> [about_depth(depth, UnitSystem.METRIC) for depth in (0.0, 0.0004, 0.0036, 0.036, 0.128)]
    ['none', '<0.1 cm', '0.4 cm', '4 cm', '15 cm']
    """
    if depth_m <= 0:
        return "none"
    unit = "in" if system is UnitSystem.US else "cm"
    shown = convert(depth_m, "m", unit)
    if shown < 0.1:
        return f"<0.1 {unit}"
    number = significant(shown, 1) if shown < 9.5 else _round_to(shown, 5)
    return f"{number} {unit}"


def _two_digits(value: float) -> str:
    """Two digits, with the zero that shows the second one."""
    if value == 0:
        return "0"
    value = float(f"{value:.2g}")  # so that 9.96 counts as 10
    return f"{value:.{max(1 - math.floor(math.log10(abs(value))), 0)}f}"


def _storm_name(storm: StormAnswer) -> str:
    return f"{storm.return_period_yr:g}-year storm"


def _carries(answer: Assessment) -> str:
    pump = working_title(answer.state)
    sure = [s for s in answer.storms if s.floor_dry_share >= 0.9]
    unsure = [s for s in answer.storms if s.floor_dry_share < 0.9]
    if not unsure:
        least = min(s.floor_dry_share for s in answer.storms)
        likely = "" if least >= CERTAIN else "very likely "
        return (
            f"{pump}, the pit {likely}does not overflow in any storm looked at, up "
            f"to the {_storm_name(answer.storms[-1])}"
        )
    first = unsure[0]
    carried = "" if sure else " carried"
    chance = (
        f"the {_storm_name(first)} may not be{carried} "
        f"({about_share(first.floor_dry_share)} that it is)"
    )
    if first.floor_dry_share < 0.1:
        chance = f"the {_storm_name(first)} is too much for it"
    if not sure:
        even = f"Even {pump[:1].lower()}{pump[1:]}" if answer.state.has(Component.PUMP) else pump
        return f"{even}, {chance}"
    return f"{pump}, the {_storm_name(sure[-1])} is carried; {chance}"


def _beyond_pump(answer: Assessment) -> str:
    """Say first where the pump lifts nothing, or less than comes in without rain."""
    storm = answer.headline_storm
    if not answer.state.has(Component.PUMP):
        return ""
    if math.isinf(storm.peak_use.middle):
        return "The pump, as taken here, cannot lift water up to its outlet"
    if storm.peak_use.middle <= 0:
        return ""
    lifted_m3_s = storm.peak_inflow_m3_s.middle / storm.peak_use.middle
    if answer.dry_inflow_m3_s.middle <= lifted_m3_s:
        return ""
    return "The pump does not keep up even with the ground water of dry weather"


def _failed(answer: Assessment) -> str:
    storm = answer.headline_storm
    when = f"If the pump stops in a {_storm_name(storm)} at the worst moment"
    if not answer.state.has(Component.PUMP):
        when = f"In a {_storm_name(storm)}"
    return (
        f"{when}, the chance is {_chance(storm.worst_s)} that water reaches the floor; if it does, "
        f"{_passes(storm.worst_s, answer.state.clock)}"
    )


def _passes(time: Outcome, clock: Clock) -> str:
    """How long it takes where water reaches the floor."""
    found = time.if_ever
    if clock is not Clock.ALARM:
        if found is None:
            return f"the minutes {since_words(clock)} are not known"
        return f"that is {_about(found.middle)} {after_words(clock)}{_spread(found)}"
    if found is None:
        return "the minutes from the alarm are not known"
    verb = "passes" if _is_one(found.middle) else "pass"
    return f"{_about(found.middle)} {verb} from the alarm{_spread(found)}"


def _dry_weather(answer: Assessment) -> str:
    dry, chance = answer.dry_s, f"In dry weather the chance is {_chance(answer.dry_s)}"
    if not answer.state.has(Component.PUMP):
        return f"{chance} that ground water stands on the floor"
    return f"{chance}; if it does, {_passes(dry, answer.state.clock)}"


_LIKELY_JOINT = 0.1  # chance of water at the joint, from which the first sentence tells it


def _at_joint(answer: Assessment) -> str:
    """Say where water comes in beside a working pump; nothing where that is unlikely."""
    storm = answer.headline_storm
    if storm.joint_share < _LIKELY_JOINT:
        return ""
    return (
        f", but in a {storm.return_period_yr:g}-year storm the chance is "
        f"{about_share(storm.joint_share)} that water comes in where wall and floor meet"
    )


def sentence(
    answer: Assessment, system: UnitSystem | None = None, *, state_first: bool = True
) -> str:
    """Say the whole answer: does it carry the storms, how long if it stops, and without rain.

    Parameters
    ----------
    answer : Assessment
        The answer.
    system : UnitSystem, optional
        Units of the reader; a warmer climate is told in both where it is not known.
    state_first : bool
        Begin with what leaves the home without warning or without a pump; not where all of its
        state stands above the sentence.

    Returns
    -------
    str
        Three sentences of plain words, with the same parts in the same order whatever the numbers.
    """
    carries, beyond = _carries(answer) + _at_joint(answer), _beyond_pump(answer)
    if beyond:
        carries = f"{beyond}; {carries[:1].lower()}{carries[1:]}"
    climate = answer.rain.climate.words(system) if answer.rain.climate else ""
    if climate:
        carries = f"{climate[:1].upper()}{climate[1:]}: {carries[:1].lower()}{carries[1:]}"
    state = f"{dangers(answer.state)} ".lstrip() if state_first else ""
    return f"{state}{carries}. {_failed(answer)}. {_dry_weather(answer)}."
