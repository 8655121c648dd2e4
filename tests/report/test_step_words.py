"""The steps through a storm: their order, their moments, and plain sentences for each."""

from __future__ import annotations

from typing import Any

import pytest
import textstat

from riskkit.report.step_words import steps_of

# rain from the first minute, the pump runs after ten, stops after three hours
ANIMATION: dict[str, Any] = {
    "time_s": [0.0, 600.0, 10800.0, 12600.0, 14400.0, 21600.0],
    "rain_mm_h": [5.0, 5.0, 20.0, 20.0, 5.0, 0.0],
    "pump_on": [0, 1, 0, 0, 0, 0],
    "stopped_at_s": 10800.0, "alarm_s": 12600.0, "flood_s": 14400.0,
}  # fmt: skip


def told(**changes: Any) -> list[tuple[str, float | None]]:
    return [(step["key"], step["at_s"]) for step in steps_of(ANIMATION | changes)]


def say(key: str, **changes: Any) -> str:
    (words,) = [step["say"] for step in steps_of(ANIMATION | changes) if step["key"] == key]
    return str(words)


def test_the_steps_come_in_the_order_of_the_storm() -> None:
    assert told() == [
        ("rain", 0.0), ("works", 600.0), ("stops", 10800.0), ("alarm", 12600.0),
        ("floor", 14400.0), ("help", None),
    ]  # fmt: skip


def test_a_pump_that_works_has_no_stop_and_a_floor_that_stays_dry() -> None:
    steps = told(stopped_at_s=None, alarm_s=None, flood_s=None)
    assert steps == [("rain", 0.0), ("works", 600.0), ("floor", 21600.0), ("help", None)]
    assert "stays dry" in say("floor", stopped_at_s=None, alarm_s=None, flood_s=None)


def test_without_an_alarm_time_runs_from_the_stop() -> None:
    """From 3 h to 4 h: one hour, which people call 60 minutes."""
    assert [key for key, _ in told(alarm_s=None)] == ["rain", "works", "stops", "floor", "help"]
    assert say("floor", alarm_s=None) == "Water is on the floor 60 minutes after the stop."


def test_minutes_are_those_of_the_picture() -> None:
    """12600 - 10800 s and 14400 - 12600 s are 30 minutes each."""
    assert say("alarm").startswith("The alarm sounds 30 minutes after the stop.")
    assert say("floor") == "Water is on the floor 30 minutes after the alarm."


def test_a_pump_that_had_stopped_before_the_storm_never_works_in_it() -> None:
    changes = {"stopped_at_s": 0.0, "pump_on": [0] * 6}
    assert [key for key, _ in told(**changes)] == ["rain", "stops", "alarm", "floor", "help"]
    assert "had stopped before" in say("stops", **changes)


def test_a_pump_that_does_not_run_before_it_stops_is_called_ready() -> None:
    """Half way between the first rain and the stop."""
    assert ("works", 5400.0) in told(pump_on=None)
    assert say("works", pump_on=None).startswith("The pump is ready.")


@pytest.mark.parametrize(
    "changes",
    [{}, {"alarm_s": None}, {"stopped_at_s": 0.0, "pump_on": [0] * 6}, {"flood_s": None}],
)
def test_an_owner_reads_them_with_six_years_of_school(changes: dict[str, Any]) -> None:
    for step in steps_of(ANIMATION | changes):
        assert textstat.flesch_kincaid_grade(step["say"]) <= 6, step["say"]
