"""The state of a system, from what the home file says and what its visits found."""

from __future__ import annotations

import datetime
from pathlib import Path
from typing import Any

import pytest

from riskkit.evidence.overlay import Doubt, overlay_of, visit_overlay
from riskkit.evidence.remarks import remark_words
from riskkit.home.home import Home, load_home
from riskkit.home.visits import visit_checks
from riskkit.quantities.components import Component
from riskkit.risk.system_state import Clock, Effect, Fault, Severity, system_state
from riskkit.tables import load_table

DAY = "2026-04-14"


def visited(*visits: dict[str, Any], home: Home | None = None, **values: object) -> Home:
    return (home or Home()).changed(visit=list(visits), **values)


def checked(day: str = DAY, **checks: object) -> dict[str, Any]:
    return {"date": day, "checks": checks}


def test_a_home_of_which_nothing_is_known_has_no_findings_and_is_warned_by_its_alarm() -> None:
    state = system_state(Home())
    assert state.findings == () and state.absent == frozenset()
    assert state.warns and state.clock is Clock.ALARM and state.has(Component.ALARM)


@pytest.mark.parametrize(
    ("check", "fault"),
    [
        ("alarm_sounded", Fault.ALARM_SILENT),
        ("alarm_battery_good", Fault.ALARM_BATTERY_DEAD),
        ("float_free", Fault.FLOAT_STUCK),
        ("float_hangs_free", Fault.FLOAT_CAUGHT),
        ("outlet_ice_free", Fault.OUTLET_FROZEN),
        ("check_valve_opens", Fault.CHECK_VALVE_SHUT),
        ("pump_started", Fault.PUMP_NO_START),
        ("pump_back_on", Fault.PUMP_OFF),
        ("check_valve_holds", Fault.CHECK_VALVE_LEAKS),
        ("outlet_clear", Fault.OUTLET_BLOCKED),
        ("air_hole_clear", Fault.WEEP_HOLE_BLOCKED),
        ("inlet_clear", Fault.INLET_CLOGGED),
    ],
)
def test_a_check_that_says_no_is_a_finding_with_its_day_and_note(check: str, fault: Fault) -> None:
    (finding,) = system_state(visited(checked(**{check: "no, seen today"}))).findings
    assert finding.fault is fault
    assert finding.date == datetime.date(2026, 4, 14) and finding.note == "seen today"
    assert system_state(visited(checked(**{check: "yes"}))).findings == ()


@pytest.mark.parametrize(
    ("check", "fault", "part"),
    [
        ("second_pump_runs", Fault.SECOND_PUMP_NO_START, {"second_pump__runs_on": "mains water"}),
        ("battery_carries", Fault.BATTERY_FAILS, {"battery__capacity": "75 Ah"}),
        ("generator_carries", Fault.GENERATOR_FAILS, {"generator__starts": "by hand"}),
    ],
)
def test_what_stands_by_and_did_not_work_is_a_finding_where_there_is_such_a_part(
    check: str, fault: Fault, part: dict[str, str]
) -> None:
    broken = checked(**{check: "no, seen today"})
    state = system_state(visited(broken, **part))
    (finding,) = state.findings
    assert (finding.fault, finding.note) == (fault, "seen today")
    assert finding.severity is Severity.REPAIR and finding.effect is Effect.NO_STAND_BY
    assert state.warns and state.clock is Clock.ALARM  # the first pump and the alarm are in order
    mended = {"found": "no", "done": "replaced", "left": "yes"}
    assert system_state(visited(checked(**{check: mended}), **part)).findings == ()
    later = checked("2027-04-14", **{check: "yes"})
    assert system_state(visited(broken, later, **part)).findings == ()
    # of a home that tells of no such part it is no finding, and the answer says why
    bare = visited(broken)
    assert system_state(bare).findings == ()
    (remark,) = overlay_of(bare).remarks
    assert (remark.doubt, remark.key) == (Doubt.CHECK_WITHOUT_PART, check)
    assert remark.doubt.is_conflict
    assert visit_checks()[check]["words"] in remark_words(bare, remark)
    assert overlay_of(visited(broken, **part)).remarks == ()


@pytest.mark.parametrize(
    ("check", "none"),
    [
        ("alarm_sounded", {"switch__alarm": "none"}),
        ("alarm_battery_good", {"switch__alarm": "none"}),
        ("alarm_battery_changed", {"switch__alarm": "none"}),
        ("pump_started", {"pump__rated_flow": "none"}),
        ("inlet_clear", {"pump__rated_flow": "none"}),
        ("check_valve_opens", {"pipe__check_valve": "none"}),
    ],
)
def test_a_check_of_what_the_home_lacks_does_not_count_and_is_told(
    check: str, none: dict[str, str]
) -> None:
    """`common practice, no source`."""
    seen = checked(**{check: "yes"})
    (remark,) = overlay_of(visited(seen, **none)).remarks
    assert (remark.doubt, remark.key) == (Doubt.CHECK_WITHOUT_PART, check)
    assert overlay_of(visited(seen)).remarks == ()
    later = checked("2027-04-14", float_free="yes")  # it may have been taken away since
    assert overlay_of(visited(seen, later, **none)).remarks == ()


def test_an_alarm_that_cannot_be_counted_on_moves_the_clock_to_the_stop_of_the_pump() -> None:
    for check in ("alarm_sounded", "alarm_battery_good", "float_free"):
        state = system_state(visited(checked(**{check: "no"})))
        assert not state.warns and state.clock is Clock.STOP, check
    # the float that sticks is that of the pump where the alarm was heard
    heard = system_state(visited(checked(float_free="no", alarm_sounded="yes")))
    assert heard.warns and heard.clock is Clock.ALARM
    assert heard.findings[0].effect is Effect.NO_PUMPING


def test_a_fault_stands_until_it_is_seen_in_order() -> None:
    broken = checked("2024-10-08", alarm_sounded="no, corroded contact")
    later = checked("2025-10-14", float_free="yes")  # the alarm was not looked at
    assert system_state(visited(broken, later)).findings[0].date == datetime.date(2024, 10, 8)
    assert system_state(visited(broken, checked("2025-10-14", alarm_sounded="yes"))).warns
    # in whatever order the file has them
    assert system_state(visited(checked("2025-10-14", alarm_sounded="yes"), broken)).warns


def test_what_was_mended_at_the_visit_is_no_finding_and_what_was_only_tried_is_one() -> None:
    mended = {"found": "no, corroded", "done": "contact cleaned", "left": "yes"}
    assert system_state(visited(checked(alarm_sounded=mended))).findings == ()
    tried = {"found": "no, corroded", "done": "contact cleaned"}
    (finding,) = system_state(visited(checked(alarm_sounded=tried))).findings
    assert finding.fault is Fault.ALARM_SILENT and finding.note == "corroded"
    worse = {"found": "yes", "done": "float swapped", "left": "no, wire short"}
    (finding,) = system_state(visited(checked(alarm_sounded=worse))).findings
    assert finding.note == "wire short"


def test_none_is_a_finding_and_nothing_is_broken_that_is_not_there() -> None:
    state = system_state(visited(checked(alarm_sounded="no"), switch__alarm="no alarm"))
    assert [finding.fault for finding in state.findings] == [Fault.NO_ALARM]
    assert not state.has(Component.ALARM) and state.clock is Clock.STOP
    state = system_state(
        visited(checked(pump_started="no", float_free="no"), pump__rated_flow="none")
    )
    assert [finding.fault for finding in state.findings] == [Fault.NO_PUMP]
    assert not state.has(Component.PUMP)
    assert state.clock is Clock.ALARM  # an alarm warns without a pump too
    both = Home().changed(pump__rated_flow="no pump", switch__alarm="none")
    assert system_state(both).clock is Clock.RAIN
    assert (
        system_state(Home().changed(pipe__check_valve="none")).findings[0].severity is Severity.NOTE
    )
    assert system_state(Home().changed(pipe__check_valve="stuck open")).faults == {
        Fault.CHECK_VALVE_LEAKS
    }


def test_a_pump_far_under_its_plate_is_a_finding_and_one_a_little_under_is_not(
    demo_sites: Path,
) -> None:
    home = load_home(demo_sites / "split_level_on_clay.toml").changed(
        gravel__thickness="none", drain__open_share="0 %"
    )

    def tested(seconds: int) -> Home:
        test = {"begin": "13 in", "end": "21 in", "time": f"{seconds} s"}
        rise = {"begin": "20 in", "end": "19.9 in", "time": "10 min", "weather": "dry"}
        return visited({"date": DAY, "drawdown_test": test, "rise_test": rise}, home=home)

    # 8 in of an 18 in pit less the pump is about 8.6 gal: in 15 s some 34 gpm, in 19 s some 27 gpm
    assert system_state(tested(15)).findings == ()
    (finding,) = system_state(tested(19)).findings
    assert finding.fault is Fault.PUMP_WEAK and finding.effect is Effect.LESS_FLOW
    assert finding.found is not None and finding.expected is not None
    assert finding.found.high_m3_s < finding.expected.low_m3_s


def test_a_test_that_leaves_a_wide_spread_calls_no_pump_weak(demo_sites: Path) -> None:
    # from the drain down: its water, if it is open, may be most of what the pump moved
    test = {"begin": "10 in", "end": "20 in", "time": "30 s"}
    home = load_home(demo_sites / "split_level_on_clay.toml")
    told = visited({"date": DAY, "drawdown_test": test}, home=home)
    read = visit_overlay(told, told.visit[0])
    assert read.pump_flow is not None and read.plate_flow is not None
    assert read.pump_flow.median_m3_s < 0.7 * read.plate_flow.median_m3_s
    assert read.pump_flow.high_m3_s > read.plate_flow.low_m3_s
    assert system_state(told).findings == ()


def test_every_fault_has_a_row_and_every_row_a_check_that_there_is() -> None:
    rows = load_table("faults").rows
    assert [row["fault"] for row in rows] == [row["fault"] for row in rows if Fault(row["fault"])]
    assert {row["fault"] for row in rows} == {fault.value for fault in Fault}
    for row in rows:
        Severity(row["severity"]), Effect(row["effect"])
        assert row["check"] == "" or row["check"] in visit_checks()
    order = [list(Severity).index(Severity(row["severity"])) for row in rows]
    assert order == sorted(order)  # the gravest come first


def test_a_finding_that_was_left_keeps_the_note_of_how_it_was_found() -> None:
    left = {"found": "no, jammed by a stone", "left": "no"}
    (finding,) = system_state(visited(checked(float_free=left))).findings
    assert finding.note == "jammed by a stone"
    noted = left | {"left": "no, still stiff"}
    (finding,) = system_state(visited(checked(float_free=noted))).findings
    assert finding.note == "still stiff"
