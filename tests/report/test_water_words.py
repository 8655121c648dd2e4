"""The water of a storm in words: alarm, a pump dead before, paths and parts, all by hand."""

from __future__ import annotations

import dataclasses
import html
import io
from typing import Any

import pytest
from points import of_512
from rich.console import Console
from storms import storm_with

from riskkit.assessment import Assessment, PitPart
from riskkit.ensemble.quantiles import Outcome
from riskkit.home.home import Home
from riskkit.quantities.units import UnitSystem
from riskkit.report.handout import estimator_sheet, owner_sheet
from riskkit.report.page import assessment_page
from riskkit.report.terminal import print_assessment
from riskkit.report.water_words import (
    alarm_words,
    dead_words,
    owner_joint_words,
    parts_line,
    parts_table,
    paths_words,
    water_lines,
)
from riskkit.risk.clock import Clock
from riskkit.risk.system_state import SystemState, system_state
from riskkit.widgets.views import answer_blocks

US, METRIC = UnitSystem.US, UnitSystem.METRIC
NEVER = float("inf")


def changed(answer: Assessment, **values: Any) -> Assessment:
    """The answer with an alarm to count on, its storms with other values."""
    storms = tuple(storm_with(storm, **values) for storm in answer.storms)
    return dataclasses.replace(answer, storms=storms, state=SystemState())


def without(answer: Assessment, key: str, clock: Clock) -> Assessment:
    state = system_state(Home().changed(**{key: "none"}))
    assert state.clock is clock
    return dataclasses.replace(answer, state=state)


def water(median_m3: float) -> Outcome:
    return of_512(median_m3 / 2, median_m3, 2 * median_m3)


@pytest.fixture
def told(answer: Assessment) -> Assessment:
    first = dict.fromkeys(PitPart, water(0.0)) | {
        PitPart.GAP: water(1.0), PitPart.LOT: of_512(-0.1, 0.5, 2.0), PitPart.TO_PIT: water(1.5),
    }  # fmt: skip
    later = dict.fromkeys(PitPart, water(0.0)) | {
        PitPart.LOT: water(0.25),
        PitPart.TO_PIT: water(0.25),
    }
    return changed(
        answer,
        to_alarm_s=of_512(600.0, 1800.0, NEVER, 0.2),
        rain_to_alarm_s=of_512(1200.0, 7200.0, 9000.0),
        alarm_to_floor_s=of_512(300.0, NEVER, NEVER, 0.6),
        rain_to_floor_s=of_512(5400.0, NEVER, NEVER, 0.6),
        to_rim_s=of_512(600.0, NEVER, NEVER, 0.7),
        to_joint_s=of_512(0.0, NEVER, NEVER, 0.8),
        floor_dry_share=0.99, joint_share=0.2, alarm_share=0.05, joint_first_share=0.1,
        first_day_m3=first, next_days_m3=later,
    )  # fmt: skip


def test_the_stop_and_the_alarm(told: Assessment) -> None:
    assert alarm_words(told) == (
        "From the stop of the pump at the worst moment to the alarm: within about 10 minutes in 1 "
        "of 10 cases, about 30 minutes in half."
    )
    assert alarm_words(without(told, "switch__alarm", Clock.STOP)) == ""
    assert alarm_words(without(told, "pump__rated_flow", Clock.ALARM)) == ""


def test_a_pump_dead_before_the_storm(told: Assessment) -> None:
    assert dead_words(told) == (
        "With the pump dead before the storm the chance of water on the floor is about 4 in 10: "
        "within about 5 minutes after the alarm in 1 of 10 cases, never in half; the alarm sounds "
        "within about 20 minutes after the rain begins in 1 of 10 cases, about 2 hours in half."
    )
    assert dead_words(without(told, "switch__alarm", Clock.STOP)) == (
        "With the pump dead before the storm the chance of water on the floor is about 4 in 10: "
        "within about 1.5 hours after the rain begins in 1 of 10 cases, never in half."
    )
    assert dead_words(without(told, "pump__rated_flow", Clock.ALARM)) == ""
    standing = changed(told, rain_to_alarm_s=of_512(0.0, 0.0, 100.0))
    assert dead_words(standing).endswith(
        "; the alarm sounds before the rain begins in half of the cases."
    )


def test_both_roads_with_the_pump_working_and_stopped(told: Assessment) -> None:
    assert paths_words(told) == (
        "With the pump working water comes over the rim of the pit in 1 of 100 cases, where wall "
        "and floor meet in 20 of 100, mostly without an alarm; with the pump stopped in 30 of 100 "
        "and 20 of 100 (first there in 10 of 100)."
    )
    # it sounds as often as not, or there is none to sound
    assert "without an alarm" not in paths_words(changed(told, alarm_share=0.1))
    assert "without an alarm" not in paths_words(without(told, "switch__alarm", Clock.STOP))
    alone = paths_words(without(told, "pump__rated_flow", Clock.ALARM))
    assert "pump" not in alone
    assert "over the rim of the pit in 3 of 10 cases, where wall and floor meet in 2 of" in alone


def test_the_owner_is_told_of_water_beside_a_working_pump(told: Assessment) -> None:
    assert owner_joint_words(told) == (
        "Even while the pump works, a 10-year storm may bring water in where wall and floor meet: "
        "in 2 of 10 cases, mostly without an alarm."
    )
    assert owner_joint_words(changed(told, alarm_share=0.1)).endswith("in 2 of 10 cases.")
    assert owner_joint_words(changed(told, joint_share=0.002)) == ""
    assert owner_joint_words(without(told, "pump__rated_flow", Clock.ALARM)) == ""


def test_water_by_part_in_gallons_and_cubic_metres(told: Assessment) -> None:
    # a gallon is 3.785412 L: 1 m3 is 264.2 gal, 1.5 m3 396.3 gal, 0.25 m3 66.04 gal
    table = parts_table(told, US)
    rows = {row[0]: row[1:] for row in table.rows}
    assert table.head == ("part", "first 24 h [gal]", "next 48 h [gal]")
    assert table.title == "Water of the 10-year storm by part"
    assert rows["gaps at the wall"] == ("260 (130 to 530)", "0")
    assert rows["lot beside the house"] == ("130 (-26 to 530)", "66 (33 to 130)")
    assert rows["to the pit"] == ("400 (200 to 790)", "66 (33 to 130)")
    assert len(rows) == len(PitPart)
    assert parts_line(told, METRIC) == (
        "To the pit in the first 24 h and the next 48 h of the 10-year storm [m³]: 1.5 (0.75 to 3) "
        "and 0.25 (0.12 to 0.5), of it gaps at the wall 1 and 0; lot beside the house 0.5 and 0.25."
    )


def test_every_surface_tells_of_the_water(answer: Assessment, remedies: Any, day: Any) -> None:
    console = Console(width=4000, file=io.StringIO(), record=True, highlight=False)
    print_assessment(answer, console, US)
    printed = console.export_text()
    lines = water_lines(answer)
    assert len(lines) >= 2
    page, blocks = html.unescape(assessment_page(answer, US)), str(answer_blocks(answer, US))
    owner = owner_sheet(answer, remedies, day, US).prose()
    estimator = estimator_sheet(answer, remedies, day, US).prose()
    for line in lines:
        for shown in (printed, page, blocks, estimator):
            assert line in shown
        assert line not in owner  # too much at once for who lives there
    assert parts_line(answer, US) in estimator
    for row in parts_table(answer, US).rows:
        assert all(cell in printed and cell in page and cell in blocks for cell in row)
