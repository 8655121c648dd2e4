"""The state of a system: what is out of order or missing, from the home and its visits.

One look, from which every surface tells the same. A check that found something wrong holds until a
later visit, or the end of the same one, finds it in order. Here are codes, days and numbers; the
words are in ``report/``.
"""

from __future__ import annotations

import datetime
from collections.abc import Mapping
from dataclasses import dataclass
from enum import Enum
from functools import cache
from types import MappingProxyType

from riskkit.evidence.overlay import home_as_seen, last_draw_down
from riskkit.evidence.pit_flows import MeasuredFlow
from riskkit.home.backup import backup_of
from riskkit.home.changed_parts import ChangedPart, changed_parts
from riskkit.home.home import Home
from riskkit.home.part_states import written_states
from riskkit.home.visit_checks import Check
from riskkit.home.visits import Visit
from riskkit.quantities.components import Component
from riskkit.risk.clock import Clock
from riskkit.tables import load_table

__all__ = [
    "Clock",
    "Effect",
    "Fault",
    "Finding",
    "Severity",
    "SystemState",
    "fault_checks",
    "mended_faults",
    "system_state",
]

_CLEARLY = 0.9  # of what plate and pipe allow; less is wear or a fault (judgement)


class Severity(Enum):
    """How bad a finding is."""

    DANGER = "danger"
    REPAIR = "repair"
    NOTE = "note"


class Effect(Enum):
    """What a finding changes."""

    NO_WARNING = "no_warning"
    NO_PUMPING = "no_pumping"
    NO_STAND_BY = "no_stand_by"
    LESS_FLOW = "less_flow"
    WATER_RETURNS = "water_returns"
    STARTS_LATE = "starts_late"


class Fault(Enum):
    """What can be wrong with a system; the codes of ``tables/faults.csv``."""

    NO_PUMP = "no_pump"
    PUMP_NO_START = "pump_no_start"
    PUMP_OFF = "pump_off"
    FLOAT_STUCK = "float_stuck"
    FLOAT_CAUGHT = "float_caught"
    OUTLET_BLOCKED = "outlet_blocked"
    OUTLET_FROZEN = "outlet_frozen"
    CHECK_VALVE_SHUT = "check_valve_shut"
    WEEP_HOLE_BLOCKED = "weep_hole_blocked"
    AIR_LOCKED = "air_locked"
    NO_ALARM = "no_alarm"
    ALARM_SILENT = "alarm_silent"
    ALARM_BATTERY_DEAD = "alarm_battery_dead"
    SECOND_PUMP_NO_START = "second_pump_no_start"
    BATTERY_FAILS = "battery_fails"
    GENERATOR_FAILS = "generator_fails"
    PUMP_WEAK = "pump_weak"
    INLET_CLOGGED = "inlet_clogged"
    INLET_PARTLY_CLOGGED = "inlet_partly_clogged"
    OUTLET_PARTLY_BLOCKED = "outlet_partly_blocked"
    FLOAT_LATE = "float_late"
    CHECK_VALVE_LEAKS = "check_valve_leaks"
    NO_CHECK_VALVE = "no_check_valve"


_ABSENT = {
    Component.ALARM: Fault.NO_ALARM,
    Component.PUMP: Fault.NO_PUMP,
    Component.CHECK_VALVE: Fault.NO_CHECK_VALVE,
}
_OF_THE_ALARM = (Fault.ALARM_SILENT, Fault.ALARM_BATTERY_DEAD)
_STANDS_BY = {
    Fault.SECOND_PUMP_NO_START: "second_pump",
    Fault.BATTERY_FAILS: "battery",
    Fault.GENERATOR_FAILS: "generator",
}
_OF_THE_PUMP = (
    Fault.PUMP_NO_START, Fault.PUMP_OFF, Fault.OUTLET_BLOCKED, Fault.WEEP_HOLE_BLOCKED,
    Fault.INLET_CLOGGED, Fault.PUMP_WEAK, Fault.CHECK_VALVE_LEAKS, Fault.FLOAT_CAUGHT,
    Fault.OUTLET_FROZEN, Fault.CHECK_VALVE_SHUT, Fault.AIR_LOCKED, Fault.INLET_PARTLY_CLOGGED,
    Fault.OUTLET_PARTLY_BLOCKED, Fault.FLOAT_LATE,
)  # fmt: skip


@cache
def _rows() -> Mapping[Fault, Mapping[str, str]]:
    return MappingProxyType({Fault(row["fault"]): row for row in load_table("faults").rows})


def fault_checks() -> frozenset[str]:
    """Return the checks of a visit whose "no" is a finding.

    Returns
    -------
    frozenset of str
        Keys of ``tables/visit_checks.csv``.

    References
    ----------
    arithmetic : the column of ``tables/faults.csv``
    """
    return frozenset(row["check"] for row in _rows().values() if row["check"])


@dataclass(frozen=True)
class Finding:
    """One thing that is out of order or missing.

    Parameters
    ----------
    fault : Fault
        What it is.
    severity : Severity
        How bad it is.
    effect : Effect
        What it changes.
    date : date, optional
        Of the visit that found it; None where the home file itself says it.
    note : str
        Of that visit.
    found, expected : MeasuredFlow, optional
        Of a weak pump: what it carries, and what plate, pipe and lift allow.
    """

    fault: Fault
    severity: Severity
    effect: Effect
    date: datetime.date | None = None
    note: str = ""
    found: MeasuredFlow | None = None
    expected: MeasuredFlow | None = None


@dataclass(frozen=True)
class SystemState:
    """What is out of order or missing in a home.

    Parameters
    ----------
    findings : tuple of Finding
        In the order of ``tables/faults.csv``, the gravest first.
    absent : frozenset of Component
        Parts that the home is said to be without.
    alarm_sounded : bool
        The alarm sounded at the last visit that tried it.
    """

    findings: tuple[Finding, ...] = ()
    absent: frozenset[Component] = frozenset()
    alarm_sounded: bool = False

    def has(self, part: Component) -> bool:
        """Tell whether a part may be drawn and spoken of; also where nobody knows.

        Parameters
        ----------
        part : Component
            The part.

        Returns
        -------
        bool
            False only where the home is said to be without it.
        """
        return part not in self.absent

    @property
    def faults(self) -> frozenset[Fault]:
        """The codes of all findings."""
        return frozenset(finding.fault for finding in self.findings)

    @property
    def warns(self) -> bool:
        """Whether the alarm can be counted on, as far as anybody knows.

        A float that sticks may be that of the alarm, unless the alarm was heard.
        """
        stuck = Fault.FLOAT_STUCK in self.faults and not self.alarm_sounded
        return not stuck and all(f.effect is not Effect.NO_WARNING for f in self.findings)

    @property
    def clock(self) -> Clock:
        """From when the time to the floor is counted."""
        if self.warns:
            return Clock.ALARM
        return Clock.STOP if self.has(Component.PUMP) else Clock.RAIN


def system_state(home: Home) -> SystemState:
    """Return the state of the system of a home.

    Parameters
    ----------
    home : Home
        The home with its visits.

    Returns
    -------
    SystemState
        What is out of order or missing.

    References
    ----------
    judgement : a pump is weak where its last draw-down test lies wholly, and its middle by more
        than a tenth, below what plate, pipe and lift allow
    """
    absent = frozenset(part for part in Component if home.lacks(part))
    visits = sorted(home.visit, key=lambda visit: visit.date)  # of one day in their order
    found: dict[Fault, Finding] = {_ABSENT[p]: _finding(_ABSENT[p]) for p in absent if p in _ABSENT}
    for fault, row in _rows().items():
        last = _last_check(visits, row["check"]) if row["check"] else None
        if last is not None and last[1].as_left is False:
            visit, check = last
            if fault in _STANDS_BY and _is_new_since(visits, _STANDS_BY[fault], visit.date):
                continue
            note = check.note if check.left is None else check.left_note or check.note
            found[fault] = _finding(fault, date=visit.date, note=note)
    for state in written_states(home_as_seen(home)):
        if state.fault:
            found.setdefault(Fault(state.fault), _finding(Fault(state.fault)))
    weak = _weak_pump(home)
    if weak is not None:
        found[Fault.PUMP_WEAK] = weak
    _drop_what_is_not_there(found, absent, backup_of(home).parts)
    sounded = _last_check(visits, _rows()[Fault.ALARM_SILENT]["check"])
    return SystemState(
        findings=tuple(found[fault] for fault in _rows() if fault in found),
        absent=absent,
        alarm_sounded=sounded is not None
        and sounded[1].as_left is True
        and Component.ALARM not in absent,
    )


def _finding(
    fault: Fault,
    date: datetime.date | None = None,
    note: str = "",
    found: MeasuredFlow | None = None,
    expected: MeasuredFlow | None = None,
) -> Finding:
    row = _rows()[fault]
    severity, effect = Severity(row["severity"]), Effect(row["effect"])
    return Finding(fault, severity, effect, date, note, found, expected)


def _last_check(visits: list[Visit], key: str) -> tuple[Visit, Check] | None:
    """The latest visit that made a check."""
    for visit in reversed(visits):
        check = visit.check(key)
        if check is not None and check.as_left is not None:
            return visit, check
    return None


def _is_new_since(visits: list[Visit], part: str, date: datetime.date) -> bool:
    """Whether a later visit put in another part."""
    return any(
        ChangedPart(part) in changed_parts(visit.parts) for visit in visits if visit.date > date
    )


def mended_faults(home: Home) -> tuple[Fault, ...]:
    """Return what an earlier visit left out of order and a later one found or left in order.

    Parameters
    ----------
    home : Home
        The home with its visits.

    Returns
    -------
    tuple of Fault
        In the order of ``tables/faults.csv``.

    References
    ----------
    arithmetic : the checks of all visits
    """
    visits = sorted(home.visit, key=lambda visit: visit.date)
    mended = []
    for fault, row in _rows().items():
        last = _last_check(visits, row["check"]) if row["check"] else None
        checks = [visit.check(row["check"]) for visit in visits] if last else []
        broken = any(check is not None and check.as_left is False for check in checks)
        if last is not None and last[1].as_left and broken:
            mended.append(fault)
    return tuple(mended)


def _drop_what_is_not_there(
    found: dict[Fault, Finding], absent: frozenset[Component], stands_by: frozenset[str]
) -> None:
    """Nothing is out of order that is not there."""
    gone = [fault for fault, part in _STANDS_BY.items() if part not in stands_by]
    if Component.PIT in absent:
        gone += Fault
    if Component.ALARM in absent:
        gone += _OF_THE_ALARM
    if Component.PUMP in absent:
        gone += [*_OF_THE_PUMP, Fault.FLOAT_STUCK, Fault.NO_CHECK_VALVE]
    if Component.CHECK_VALVE in absent:
        gone.append(Fault.CHECK_VALVE_LEAKS)
    for fault in gone:
        found.pop(fault, None)


def _weak_pump(home: Home) -> Finding | None:
    test = last_draw_down(home.as_observed)  # nothing that is tried on it changes what was measured
    if test is None or test.flow.high_m3_s >= test.plate_flow.low_m3_s:
        return None
    if test.flow.median_m3_s >= _CLEARLY * test.plate_flow.median_m3_s:
        return None
    return _finding(Fault.PUMP_WEAK, date=test.date, found=test.flow, expected=test.plate_flow)
