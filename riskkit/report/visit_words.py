"""What a visit tested, found and changed, in plain words."""

from __future__ import annotations

from typing import TYPE_CHECKING

from riskkit.errors import InputError
from riskkit.evidence.overlay import home_as_seen, visit_overlay
from riskkit.evidence.pit_flows import MeasuredFlow
from riskkit.evidence.remarks import remark_words
from riskkit.home.visits import Visit, last_visit, visit_checks
from riskkit.quantities.units import UnitSystem
from riskkit.quantities.variables import variable
from riskkit.report.cautions import cautions
from riskkit.report.days import day_words
from riskkit.report.number_words import about_flow
from riskkit.report.state_words import state_lines
from riskkit.report.visit_effect_words import effect_lines
from riskkit.report.wall_words import wall_alerts, wall_lines
from riskkit.report.words import sentence
from riskkit.risk.conflicts import ground_water_conflict
from riskkit.risk.system_state import fault_checks

if TYPE_CHECKING:
    from collections.abc import Mapping

    from riskkit.evidence.overlay import Overlay
    from riskkit.home.home import Home
    from riskkit.home.visits import Check, DrawdownTest, RiseTest
    from riskkit.options.visit_effect import VisitEffect
    from riskkit.risk.system_state import SystemState

__all__ = [
    "alerts",
    "conflict_words",
    "measured_words",
    "note_words",
    "visit_alerts",
    "visit_cautions",
    "visit_lines",
    "visit_report",
    "work_words",
]

_UNCONFIRMED = (
    "The visit does not say that the pump was plugged in again and seen to start. Check it now: "
    "pour water into the pit until the pump starts."
)
_ONE_NUMBER = 2.0  # ends of a range farther apart by ratio are both told


def alerts(home: Home, state: SystemState, system: UnitSystem) -> tuple[str, ...]:
    """Say all that a reader must know of a home before anything else.

    Parameters
    ----------
    home : Home
        The home with its visits.
    state : SystemState
        The state of its system.
    system : UnitSystem
        Units of the reader.

    Returns
    -------
    tuple of str
        The state of the system, then what else its last visit left in bad order; empty where all
        is well.
    """
    visit = last_visit(home.visit)
    known = None if visit is None else visit.date
    return (*state_lines(state, system, known), *visit_alerts(home, system))


def visit_alerts(home: Home, system: UnitSystem = UnitSystem.US) -> tuple[str, ...]:
    """Say what the last visit left in bad order beside the state of the system.

    Parameters
    ----------
    home : Home
        The home with its visits.
    system : UnitSystem
        Units of the reader.

    Returns
    -------
    tuple of str
        A plain sentence or two each; empty where all is well.
    """
    visit = last_visit(home.visit)
    if visit is None:
        return ()
    found = []
    if visit.leaves_pump_unconfirmed:
        found.append(_UNCONFIRMED)
    for key, row in {**visit_checks("leaving"), **visit_checks("system")}.items():
        check = visit.check(key)
        if check is not None and check.as_left is False and key not in fault_checks():
            found.append(_checked(row, check))
    return (*found, *wall_alerts(home, system))


def visit_cautions(visit: Visit, system: UnitSystem) -> tuple[str, ...]:
    """Return the cautions that belong to what was done at a visit.

    Parameters
    ----------
    visit : Visit
        The visit.
    system : UnitSystem
        Units of the reader.

    Returns
    -------
    tuple of str
        Each once.
    """
    done = {
        "rise_test": visit.rise_test is not None,
        "drawdown_test": visit.drawdown_test is not None,
        "checks": any(map(visit.check, visit_checks("system"))),
        "unit": any(map(visit.check, visit_checks("unit"))),
        "wall": bool(visit.wall),
        "leaving": True,
    }
    beside = {row["part"] for key, row in visit_checks().items() if visit.check(key)} - {""}
    places = [place for place, there in done.items() if there]
    return cautions(*places, *sorted(beside), system=system)


def conflict_words(home: Home, read: Overlay, system: UnitSystem) -> tuple[str, ...]:
    """Say what a visit saw that cannot be true together with the rest.

    Parameters
    ----------
    home : Home
        The home with the visit.
    read : Overlay
        What the visit saw.
    system : UnitSystem
        Units of the reader.

    Returns
    -------
    tuple of str
        A sentence or two each.
    """
    found = [remark_words(home, one, system) for one in read.remarks if one.doubt.is_conflict]
    if "ground.dry_inflow" in read.values:
        found.append(ground_water_conflict(home_as_seen(home)))
    return tuple(filter(None, found))


def note_words(home: Home, read: Overlay, system: UnitSystem) -> tuple[str, ...]:
    """Say what else is to be known of what a visit saw.

    Parameters
    ----------
    home : Home
        The home with the visit.
    read : Overlay
        What the visit saw.
    system : UnitSystem
        Units of the reader.

    Returns
    -------
    tuple of str
        A sentence or two each.
    """
    notes = [one for one in read.remarks if not one.doubt.is_conflict]
    return tuple(remark_words(home, one, system) for one in notes)


def measured_words(read: Overlay, system: UnitSystem) -> tuple[str, ...]:
    """Say what the tests of a visit measured.

    Parameters
    ----------
    read : Overlay
        What the visit saw.
    system : UnitSystem
        Units of the reader.

    Returns
    -------
    tuple of str
        A sentence each.
    """
    found = []
    if read.inflow is not None:
        found.append(f"Water comes in at {read.inflow.text(system)} (rise test).")
    if read.pump_flow is not None:
        found.append(f"The pump carries {read.pump_flow.text(system)} (draw-down test).")
    if read.pump_flow is not None and read.plate_flow is not None:
        found.append(f"By plate, pipe and lift it would be {read.plate_flow.text(system)}.")
    return tuple(found)


def visit_report(effect: VisitEffect, system: UnitSystem) -> list[str]:
    """Say what a visit means, for a terminal.

    Parameters
    ----------
    effect : VisitEffect
        What the visit did to the answer.
    system : UnitSystem
        Units of the reader.

    Returns
    -------
    list of str
        Lines, the state of the system first.
    """
    visit, home = effect.visit, effect.after.home
    read = visit_overlay(home, visit)
    return [
        *(f"First: {line}" for line in alerts(home, effect.after.state, system)),
        f"Visit of {day_words(visit.date, system)}",
        *(f"Check: {words}" for words in work_words(visit)),
        *(f"{head} {words}" for head, words in wall_lines(home, system)),
        *(f"Measured: {words}" for words in measured_words(read, system)),
        *(f"Does not fit: {words}" for words in conflict_words(home, read, system)),
        *(f"Note: {words}" for words in note_words(home, read, system)),
        *effect_lines(effect, system),
        f"Before the visit: {sentence(effect.before, system)}",
        f"Now: {sentence(effect.after, system)}",
        *(f"Caution: {caution}" for caution in visit_cautions(visit, system)),
    ]


def visit_lines(home: Home, system: UnitSystem) -> tuple[tuple[str, str], ...]:
    """Say what the last visit found, and what the walls did over all visits.

    Parameters
    ----------
    home : Home
        The home with its visits.
    system : UnitSystem
        Units of the reader.

    Returns
    -------
    tuple of (str, str)
        What it is of, and what was found; empty where there was no visit.
    """
    visit = last_visit(home.visit)
    if visit is None:
        return ()
    found: list[tuple[str, str]] = []
    checks = {**visit_checks("system"), **visit_checks("leaving")}
    good = [row["yes"] for key, row in checks.items() if _was_well(visit, key)]
    if good:
        found.append(("In good order:", " ".join(good)))
    found += [("Found, done, left:", words) for words in work_words(visit)]
    unit = [
        _checked(row, check)
        for key, row in visit_checks("unit").items()
        if (check := visit.check(key)) is not None
    ]
    if unit:
        found.append(("Dehumidifier or air unit:", " ".join(unit)))
    found += _test_lines(home, visit, system)
    if visit.parts:
        found.append(("Changed:", f"{', '.join(visit.parts)}."))
    if visit.floor_drain:
        found.append(("Floor drain:", _sentence(visit.floor_drain)))
    found += wall_lines(home, system)
    if visit.note:
        found.append(("Note:", _sentence(visit.note)))
    if visit.next is not None:
        found.append(("Next visit:", f"{day_words(visit.next, system)}."))
    return tuple(found)


def _checked(row: Mapping[str, str], check: Check) -> str:
    told = check.note if check.left is None else check.left_note or check.note
    note = f" Note: {_ended(told)}" if told else ""
    return row["yes" if check.as_left else "no"] + note


def _was_well(visit: Visit, key: str) -> bool:
    check = visit.check(key)
    return check is not None and check.as_left is True and not _was_worked_on(check)


def _was_worked_on(check: Check) -> bool:
    return bool(check.done) or check.left is not None


def work_words(visit: Visit) -> tuple[str, ...]:
    """Say of every check that was worked on how it was found, what was done, how it was left.

    Parameters
    ----------
    visit : Visit
        The visit.

    Returns
    -------
    tuple of str
        A sentence each.
    """
    found = []
    for key, row in visit_checks().items():
        check = visit.check(key)
        if check is None or not _was_worked_on(check):
            continue
        parts = [f"found: {_state_words(check.found, check.note)}"]
        parts.append(f"done: {check.done or 'nothing'}")
        parts.append(f"left: {_state_words(check.left, check.left_note)}")
        found.append(f"{_sentence(row['words'])[:-1]}: {', '.join(parts)}.")
    return tuple(found)


def _state_words(state: bool | None, note: str) -> str:
    word = "not said" if state is None else "yes" if state else "no"
    return f"{word} ({note})" if note else word


def _flow_words(flow: MeasuredFlow, system: UnitSystem) -> str:
    """The median where it stands for the whole range, else the range."""
    if flow.high_m3_s <= _ONE_NUMBER * flow.low_m3_s:
        return f"about {about_flow(flow.median_m3_s, system)}"
    return flow.text(system)


def _test_lines(home: Home, visit: Visit, system: UnitSystem) -> list[tuple[str, str]]:
    found = []
    read = _overlay(home, visit)
    if read is None:
        return []
    if visit.rise_test is not None and read.inflow is not None:
        flow = _flow_words(read.inflow, system)
        words = f"{_moved(visit.rise_test, 'rose', system)} So {flow} came in."
        found.append(("Pump off:", words))
    if visit.drawdown_test is not None and read.pump_flow is not None:
        flow = _flow_words(read.pump_flow, system)
        words = f"{_moved(visit.drawdown_test, 'fell', system)} So the pump moves {flow}."
        found.append(("Pump on:", words))
    found += [("Does not fit:", words) for words in conflict_words(home, read, system)]
    return found


def _moved(test: RiseTest | DrawdownTest, word: str, system: UnitSystem) -> str:
    if test.begin is None or test.end is None or test.time is None:
        return ""
    item = variable("pit.depth")  # read with the same tape, down from the floor
    begin, end = (item.text(level.value, system) for level in (test.begin, test.end))
    return f"The water {word} from {begin} to {end} below the floor in {test.time.text}."


def _overlay(home: Home, visit: Visit) -> Overlay | None:
    try:
        return visit_overlay(home, visit)
    except InputError:  # below the bottom of the pit: the answer says that it does not count
        return None


def _ended(text: str) -> str:
    return text if text.endswith((".", "!", "?")) else f"{text}."


def _sentence(text: str) -> str:
    return _ended(text[:1].upper() + text[1:])
