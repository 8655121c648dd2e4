"""The state of a system in plain words, and from when the time to the floor is counted."""

from __future__ import annotations

from collections.abc import Mapping
from functools import cache
from types import MappingProxyType
from typing import TYPE_CHECKING

from riskkit.quantities.components import Component
from riskkit.quantities.units import UnitSystem
from riskkit.report.days import day_words
from riskkit.report.stop_words import stop_words
from riskkit.risk.clock import Clock
from riskkit.risk.system_state import Fault, Severity
from riskkit.tables import load_table

if TYPE_CHECKING:
    import datetime

    from riskkit.assessment import Assessment
    from riskkit.home.home import Home
    from riskkit.risk.system_state import Finding, SystemState

__all__ = [
    "ORDER_FIRST",
    "after_words",
    "dangers",
    "depth_title",
    "due_words",
    "owner_time_words",
    "reading",
    "since_words",
    "state_lines",
    "time_title",
    "working_title",
]

ORDER_FIRST = "Put this in order first"
"""Heading of what is out of order or missing."""

_SINCE = {
    Clock.ALARM: "from the alarm",
    Clock.STOP: "from when {stops}",
    Clock.RAIN: "from when the rain begins",
}
_AFTER = {
    Clock.ALARM: "after the alarm",
    Clock.STOP: "after {stops}",
    Clock.RAIN: "after the rain begins",
}


_READING = (
    "The median of all simulated variants of the home, and in brackets the range that holds 8 of "
    "10 of them; 'never' counts as the longest time: {begun} and no water comes within a week"
    "{more}. 'Reached' is the share of the variants in which it comes.",
    "For each return period storms of two hours to three days are run, as far as the rain is "
    "known; each variant counts with the worst of them and of all commoner storms. The rain named "
    "is that of a day.",
)
_OF_A_PUMP = (
    "100 % of pump capacity is all that the pump can lift at its start level; the pit can ride "
    "out a short peak above it.",
    "'Typical' is the median of all moments of the wettest six hours.",
)
_ON_THE_FLOOR = (
    "Of water on the floor: in how many variants there is any so long {after}, and the depth that "
    "1 of 10 variants passes.",
    "Water may come over the rim of the pit and where wall and floor meet.",
)
_BEGUN = {
    Clock.ALARM: ("the alarm has sounded", "; the deeper the alarm hangs, the more often"),
    Clock.STOP: (
        "the pump has stopped",
        ". It is taken to stop when it should start, with the water at its start level",
    ),
    Clock.RAIN: ("the rain has begun", ""),
}


@cache
def _rows() -> Mapping[Fault, Mapping[str, str]]:
    return MappingProxyType({Fault(row["fault"]): row for row in load_table("faults").rows})


def after_words(clock: Clock, home: Home | None = None) -> str:
    """Say from when a time is counted.

    Parameters
    ----------
    clock : Clock
        From when it is counted.
    home : Home, optional
        The home it is told of; one with two pumps counts from when both have stopped.

    Returns
    -------
    str
        Such as ``"after the alarm"``.
    """
    return _AFTER[clock].format(stops=stop_words(home))


def time_title(answer: Assessment) -> str:
    """Name the table of the times to the floor.

    Parameters
    ----------
    answer : Assessment
        The answer.

    Returns
    -------
    str
        A heading.
    """
    state, home = answer.state, answer.home
    stop = f"If {stop_words(home)}" if state.has(Component.PUMP) else "Without a pump"
    return f"{stop}: time {since_words(state.clock, home)} to water on the floor"


def since_words(clock: Clock, home: Home | None = None) -> str:
    """Say from when the time to the floor runs.

    Parameters
    ----------
    clock : Clock
        From when it is counted.
    home : Home, optional
        The home it is told of; one with two pumps counts from when both have stopped.

    Returns
    -------
    str
        Such as ``"from the alarm"``.
    """
    return _SINCE[clock].format(stops=stop_words(home))


def owner_time_words(answer: Assessment) -> str:
    """Tell the owner from when the time runs.

    Parameters
    ----------
    answer : Assessment
        The answer.

    Returns
    -------
    str
        One or two plain sentences.
    """
    state, home = answer.state, answer.home
    runs = f"Your time runs {since_words(state.clock, home)} to the first water on the floor"
    if not state.has(Component.PUMP):
        return f"There is no pump. {runs}."
    if state.clock is Clock.ALARM:
        return f"{runs}, if {stop_words(home)}."
    return f"No alarm warns you. {runs}. You may not see it stop."


def depth_title(answer: Assessment) -> str:
    """Name the table of the depths on the floor.

    Parameters
    ----------
    answer : Assessment
        The answer.

    Returns
    -------
    str
        A heading.
    """
    if not answer.state.has(Component.PUMP):
        return "Without a pump: water on the floor"
    stops = stop_words(answer.home)
    return f"If {stops}: water on the floor, at the moment worst for depth, not for time"


def working_title(state: SystemState) -> str:
    """Name the table of what the pump does.

    Parameters
    ----------
    state : SystemState
        The state of the system.

    Returns
    -------
    str
        A heading.
    """
    return "With the pump working" if state.has(Component.PUMP) else "Without a pump"


def reading(state: SystemState) -> tuple[str, ...]:
    """Say how to read the tables of storms.

    Parameters
    ----------
    state : SystemState
        The state of the system.

    Returns
    -------
    tuple of str
        A paragraph each.
    """
    begun, more = _BEGUN[state.clock]
    moments = _OF_A_PUMP if state.has(Component.PUMP) else ()
    return tuple(
        words.format(begun=begun, more=more, after=after_words(state.clock))
        for words in (*_READING, *moments, *_ON_THE_FLOOR)
    )


def _said(finding: Finding, system: UnitSystem) -> str:
    said = _rows()[finding.fault]["said"]
    if finding.found is None or finding.expected is None:
        return said
    return (
        f"The pump moves {finding.found.text(system)} where its plate and pipe allow "
        f"{finding.expected.text(system)}."
    )


def state_lines(
    state: SystemState, system: UnitSystem, known: datetime.date | None = None
) -> tuple[str, ...]:
    """Say what is out of order or missing, the gravest first.

    Parameters
    ----------
    state : SystemState
        The state of the system.
    system : UnitSystem
        Units of the reader.
    known : date, optional
        Day that the reader knows, such as that of the last visit; others are said.

    Returns
    -------
    tuple of str
        A line each, with the note of the visit that found it, and its day; empty where all is well.
    """
    lines = []
    for finding in state.findings:
        words = [_said(finding, system)]
        if finding.note:
            words.append(f"Note: {finding.note.rstrip('.')}.")
        if finding.date not in (None, known):
            words.append(f"Found on {day_words(finding.date, system)}.")
        lines.append(" ".join(words))
    return tuple(lines)


def dangers(state: SystemState) -> str:
    """Say in a sentence each what leaves a home without warning or without a pump.

    Parameters
    ----------
    state : SystemState
        The state of the system.

    Returns
    -------
    str
        Sentences; empty where there is no such finding.
    """
    grave = [finding for finding in state.findings if finding.severity is Severity.DANGER]
    return " ".join(_rows()[finding.fault]["said"] for finding in grave)


def due_words(fault: Fault) -> str:
    """Say what is to be done about a fault.

    Parameters
    ----------
    fault : Fault
        What is out of order or missing.

    Returns
    -------
    str
        A short phrase for a reminder.
    """
    return _rows()[fault]["due"]
