"""What a visit did to the chance of a year and to the time, from the same variants."""

from __future__ import annotations

from pathlib import Path

import pytest

from riskkit.assessment import Settings, assess
from riskkit.failures.yearly import chance
from riskkit.home.home import Home, load_home
from riskkit.home.visits import Visit, last_visit
from riskkit.options.visit_effect import VisitEffect, visit_effect
from riskkit.quantities.units import UnitSystem
from riskkit.report.visit_effect_words import effect_form, effect_lines

SETTINGS = Settings(n_draws=64, return_periods_yr=(2.0, 10.0))


@pytest.fixture(scope="module")
def clay() -> Home:
    return load_home(Path(__file__).parents[2] / "demo_sites" / "split_level_on_clay.toml")


def effect_of(home: Home) -> VisitEffect:
    visit = last_visit(home.visit)
    assert visit is not None
    return visit_effect(home, visit, settings=SETTINGS)


@pytest.fixture(scope="module")
def dead_battery(clay: Home) -> VisitEffect:
    checks = {"alarm_battery_good": "no", "float_free": "yes"}
    return effect_of(clay.changed(visit=[{"date": "2026-04-14", "checks": checks}]))


def test_a_dead_alarm_battery_moves_the_chance(clay: Home, dead_battery: VisitEffect) -> None:
    """It leaves the water as it is; what the chance of a year is, the command of it says too."""
    (one,) = dead_battery.each  # that the float moves freely changes nothing
    assert one.key == "alarm_battery_good"
    assert dead_battery.chance_before == chance(clay.changed(visit=[]))
    assert dead_battery.chance_after == chance(dead_battery.after.home)
    assert dead_battery.chance_after.mean > dead_battery.chance_before.mean
    assert one.chance.mean == dead_battery.chance_after.mean
    first, year, alone, variants = effect_lines(dead_battery, UnitSystem.US)
    assert "in a 10-year storm" in first
    assert year.startswith("Chance of water on the floor in a year, mean of all variants: 1 year")
    assert " before the visit; 1 year in " in year
    assert "alarm battery good" in alone and "; in a year 1 year in " in alone
    assert "the same 64 simulated variants" in variants and "the same 256" in variants
    form = effect_form(dead_battery)
    assert (form["draws"], form["draws_of_chance"]) == (64, 256)
    assert form["each"][0]["mean_chance_per_yr"] == one.chance.mean
    assert form["mean_chance_per_yr_before"] == dead_battery.chance_before.mean


def test_findings_are_told_of_the_draws_of_the_whole(clay: Home) -> None:
    """A visit with one finding: alone it says what all of it says, to the last digit."""
    found = effect_of(clay.changed(
        visit=[{"date": "2026-04-14", "checks": {"alarm_sounded": "no"}}]
    ))  # fmt: skip
    (one,) = found.each
    assert one.time == found.after.headline_storm.worst_stop.to_floor_s
    assert one.clock is found.after.state.clock
    assert one.chance == found.chance_after
    before = assess(clay.changed(visit=[]), settings=SETTINGS)
    assert (
        found.before.headline_storm.worst_stop.to_floor_s
        == before.headline_storm.worst_stop.to_floor_s
    )


def test_that_somebody_came_counts_by_itself(clay: Home) -> None:
    """Two visits a year apart tell how often somebody comes, whatever the second one found."""
    visits = [
        {"date": "2025-04-14", "checks": {"float_free": "yes"}},
        {"date": "2026-04-14", "checks": {"alarm_battery_good": "no"}},
    ]
    found = effect_of(clay.changed(visit=visits))
    bare = [found.before.home.visit[0], Visit(date=found.visit.date)]
    assert found.chance_visited == chance(clay.changed(visit=bare))
    assert found.chance_visited.mean < found.chance_before.mean
    assert found.chance_after.mean > found.chance_visited.mean
    assert "  That somebody came, whatever was found: in a year" in "\n".join(
        effect_lines(found, UnitSystem.METRIC)
    )
