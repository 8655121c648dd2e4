"""What changed from one visit to the next, in one line."""

from __future__ import annotations

from typing import Any

from riskkit.evidence.overlay import Overlay
from riskkit.evidence.pit_flows import MeasuredFlow
from riskkit.home.home import Home
from riskkit.home.visits import Visit
from riskkit.quantities.units import UnitSystem
from riskkit.report.since_last_words import since_last_words

NONE = (None, None)


def visit(day: str, **checks: Any) -> Visit:
    return Home().changed(visit=[{"date": day, "checks": checks}]).visit[0]


def test_what_is_worse_comes_before_what_is_better() -> None:
    before = visit("2025-11-20", float_free="yes", alarm_sounded="no, corroded contact")
    now = visit("2026-11-20", alarm_sounded="yes", float_free="no")
    assert since_last_words((before, now), NONE, UnitSystem.US) == (
        "Since November 20, 2025: float moves freely: now no, last time yes; alarm sounded when "
        "its float was lifted: now yes, last time no."
    )


def test_what_was_mended_at_the_last_visit_counts_as_left() -> None:
    mended = {"found": "no", "done": "contact cleaned", "left": "yes"}
    before = visit("2025-11-20", alarm_sounded=mended)
    again = visit("2026-11-20", alarm_sounded="no")
    said = since_last_words((before, again), NONE, UnitSystem.METRIC)
    assert said.startswith("Since 20 November 2025: alarm sounded")
    assert "now no, last time yes" in said
    fine = visit("2026-11-20", alarm_sounded="yes")
    said = since_last_words((before, fine), NONE, UnitSystem.METRIC)
    assert said == "Since 20 November 2025: nothing changed of what was looked at both times."


def test_nothing_is_said_where_nothing_can_be_compared() -> None:
    now = visit("2026-11-20", float_free="yes")
    other = visit("2025-11-20", alarm_sounded="yes")
    assert since_last_words((None, now), NONE, UnitSystem.US) == ""
    assert since_last_words((now, None), NONE, UnitSystem.US) == ""
    assert since_last_words((other, now), NONE, UnitSystem.US) == ""


def test_flows_of_both_visits_stand_side_by_side() -> None:
    """1 gpm is 3.785412 L in a minute, 6.30902e-5 m3/s."""
    gpm = 6.30902e-5
    then = Overlay({}, inflow=MeasuredFlow(1.0 * gpm, 1.5 * gpm, 2.0 * gpm))
    now = Overlay({}, inflow=MeasuredFlow(3.0 * gpm, 3.5 * gpm, 4.0 * gpm))
    days = (visit("2025-11-20"), visit("2026-11-20"))
    assert since_last_words(days, (then, now), UnitSystem.US) == (
        "Since November 20, 2025: inflow now 3 to 4 gpm, last time 1 to 2 gpm."
    )
    assert since_last_words(days, (then, Overlay({})), UnitSystem.US) == ""  # not measured again
