"""The water of the storm of the first sentence: alarm, a pump dead before, its paths and parts."""

from __future__ import annotations

from typing import TYPE_CHECKING

from riskkit.assessment import PitPart
from riskkit.quantities.components import Component
from riskkit.quantities.units import UnitSystem, convert
from riskkit.report.amounts import grouped
from riskkit.report.number_words import cases_alike, cases_words
from riskkit.report.path_words import RARE_JOINT
from riskkit.report.rows import Table, new_table
from riskkit.report.stop_words import stopped_words
from riskkit.report.time_words import chance_words, soon_words

if TYPE_CHECKING:
    from riskkit.assessment import Assessment, StormAnswer
    from riskkit.ensemble.quantiles import Outcome

__all__ = [
    "alarm_words",
    "dead_words",
    "owner_joint_words",
    "parts_line",
    "parts_table",
    "paths_words",
    "water_lines",
]

_AT_ONCE_S = 60.0
_COUNTS = 0.03  # of what reaches the pit, from which a part is told in the line
_RAIN = "after the rain begins"
_PARTS = {
    PitPart.GAP: "gaps at the wall",
    PitPart.FILL: "fill at the wall",
    PitPart.LOT: "lot beside the house",
    PitPart.GROUND_WATER: "ground water from far off",
    PitPart.WINDOW_WELLS: "window wells",
    PitPart.ROOF_TIED_IN: "downspouts tied into the drain",
    PitPart.DEEP_GROUND: "deep percolation",
    PitPart.AT_FOOTING: "stored in gravel and fill",
    PitPart.TO_PIT: "to the pit",
}
_AWAY = (PitPart.DEEP_GROUND, PitPart.AT_FOOTING, PitPart.TO_PIT)  # not where it comes from


def water_lines(answer: Assessment) -> tuple[str, ...]:
    """Say of the storm of the first sentence what is known of its water beside the tables.

    Parameters
    ----------
    answer : Assessment
        The answer.

    Returns
    -------
    tuple of str
        A sentence each: from the stop to the alarm, a pump dead before, the paths to the floor.
    """
    lines = (alarm_words(answer), dead_words(answer), paths_words(answer))
    return tuple(line for line in lines if line)


def alarm_words(answer: Assessment) -> str:
    """Say how long it takes from the stop of the pump to the alarm, at the worst moment.

    Parameters
    ----------
    answer : Assessment
        The answer.

    Returns
    -------
    str
        Empty where there is no pump, or no alarm to count on.
    """
    soon = soon_words(answer.headline_storm.worst_stop.to_alarm_s, "")
    if not answer.state.has(Component.PUMP) or not answer.state.warns or not soon:
        return ""
    return f"From the stop of the pump at the worst moment to the alarm: {soon}."


def dead_words(answer: Assessment) -> str:
    """Say what a pump means that was dead before the storm.

    Parameters
    ----------
    answer : Assessment
        The answer.

    Returns
    -------
    str
        Empty where there is no pump.
    """
    if not answer.state.has(Component.PUMP):
        return ""
    dead = answer.headline_storm.dead_before
    said = (
        "With the pump dead before the storm the chance of water on the floor is "
        f"{chance_words(dead.rain_to_floor_s)}"
    )
    if not answer.state.warns:
        return f"{_with(said, soon_words(dead.rain_to_floor_s, _RAIN))}."
    if dead.rain_to_alarm_s.median < _AT_ONCE_S:
        floor = soon_words(dead.rain_to_floor_s, _RAIN)
        return (
            f"{_with(said, floor, 'the alarm sounds before the rain begins in half of the cases')}."
        )
    soon = soon_words(dead.rain_to_alarm_s, _RAIN)
    floor = soon_words(dead.alarm_to_floor_s, "after the alarm")
    return f"{_with(said, floor, f'the alarm sounds {soon}' if soon else '')}."


def _with(said: str, *more: str) -> str:
    told = "; ".join(filter(None, more))
    return f"{said}: {told}" if told else said


def paths_words(answer: Assessment) -> str:
    """Say by which path water comes to the floor, with the pump working and stopped.

    Parameters
    ----------
    answer : Assessment
        The answer.

    Returns
    -------
    str
        One sentence.
    """
    n = answer.headline_storm.n_draws
    working, worst = answer.headline_storm.pump_working, answer.headline_storm.worst_stop
    stopped = [1.0 - one.never_share for one in (worst.to_rim_s, worst.to_joint_s)]
    shares = [*stopped, worst.joint_first_share]
    has_pump = answer.state.has(Component.PUMP)
    if has_pump:
        shares += [1.0 - working.floor_dry_share, working.joint_share]
    rim, joint, joint_first, *now = cases_alike(shares, n)
    first = f"(first there in {joint_first})"
    silent = _silent(answer)
    paths = "over the rim of the pit", "where wall and floor meet"
    if not has_pump:
        return f"Water comes {paths[0]} in {rim} cases, {paths[1]} in {joint} {first}."
    return (
        f"With the pump working water comes {paths[0]} in {now[0]} cases, {paths[1]} in "
        f"{now[1]}{silent}; with {stopped_words(answer.home)} in {rim} and {joint} {first}."
    )


def _silent(answer: Assessment) -> str:
    """That no alarm warns of it: water beside the footing does not lift the float in the pit."""
    working = answer.headline_storm.pump_working
    unseen = RARE_JOINT <= working.joint_share > 2 * working.alarm_share
    return ", mostly without an alarm" if unseen and answer.state.warns else ""


def owner_joint_words(answer: Assessment) -> str:
    """Tell the owner of water that comes in beside a pump that works.

    Parameters
    ----------
    answer : Assessment
        The answer.

    Returns
    -------
    str
        One sentence; empty where there is no pump, or where this is rare.
    """
    storm = answer.headline_storm
    share = storm.pump_working.joint_share
    if not answer.state.has(Component.PUMP) or share < RARE_JOINT:
        return ""
    return (
        f"Even while the pump works, a {storm.return_period_yr:g}-year storm may bring water in "
        f"where wall and floor meet: in {cases_words(share, storm.n_draws)} cases"
        f"{_silent(answer)}."
    )


def _amount(volume_m3: float, system: UnitSystem) -> str:
    """A volume without its unit, to two digits, and none below half a gallon or five litres."""
    us = system is UnitSystem.US
    value = convert(volume_m3, "m3", "gal") if us else volume_m3
    if abs(value) < (0.5 if us else 0.005):
        return "0"
    return grouped(value)


def _span(water: Outcome, system: UnitSystem) -> str:
    low, median, high = (_amount(v, system) for v in (water.low, water.median, water.high))
    return median if low == high else f"{median} ({low} to {high})"


def _unit(system: UnitSystem) -> str:
    return "gal" if system is UnitSystem.US else "m³"


def _windows(storm: StormAnswer) -> tuple[dict[PitPart, Outcome], dict[PitPart, Outcome]]:
    return storm.water_to_pit.first_day_m3, storm.water_to_pit.next_days_m3


def parts_table(answer: Assessment, system: UnitSystem) -> Table:
    """Write where the water of the pit comes from, and where the rest goes.

    Parameters
    ----------
    answer : Assessment
        The answer.
    system : UnitSystem
        Units of the reader.

    Returns
    -------
    Table
        A row for each part, of the storm of the first sentence.
    """
    storm, unit = answer.headline_storm, _unit(system)
    rows = [
        (words, *(_span(parts[part], system) for parts in _windows(storm)))
        for part, words in _PARTS.items()
    ]
    name = f"{storm.return_period_yr:g}-year storm"
    note = (
        "The drain flows freely, as while the pump keeps up. Median and range of each part stand "
        "for themselves, so they need not add up."
    )
    head = ("part", f"first 24 h [{unit}]", f"next 48 h [{unit}]")
    return new_table(f"Water of the {name} by part", head, rows, [note])


def parts_line(answer: Assessment, system: UnitSystem) -> str:
    """Say the same in a line: what reaches the pit, and the median of each part that counts.

    Parameters
    ----------
    answer : Assessment
        The answer.
    system : UnitSystem
        Units of the reader.

    Returns
    -------
    str
        One sentence; parts of next to no water are left out.
    """
    storm = answer.headline_storm
    first, later = _windows(storm)
    parts = []
    for part, words in _PARTS.items():
        pairs = [(one[part].median, one[PitPart.TO_PIT].median) for one in (first, later)]
        if part not in _AWAY and any(part_m3 > _COUNTS * whole_m3 for part_m3, whole_m3 in pairs):
            amounts = [_amount(part_m3, system) for part_m3, _ in pairs]
            parts.append(f"{words} {amounts[0]} and {amounts[1]}")
    whole = [_span(window[PitPart.TO_PIT], system) for window in (first, later)]
    of = f", of it {'; '.join(parts)}" if parts else ""
    return (
        f"To the pit in the first 24 h and the next 48 h of the {storm.return_period_yr:g}-year "
        f"storm [{_unit(system)}]: {whole[0]} and {whole[1]}{of}."
    )
