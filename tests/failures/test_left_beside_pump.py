"""A second pump, a battery or a generator that a visit found not to work: by hand, and at homes."""

from __future__ import annotations

from dataclasses import replace
from pathlib import Path
from typing import Any

import numpy as np
import pytest
from failures.homes import HOUR, faults, storms
from failures.test_stand_by import dry, stand_by, with_second
from failures.test_yearly import RAIN

from riskkit.failures.circumstances import Circumstances, reliability_inputs
from riskkit.failures.faults import Faults, left_failed
from riskkit.failures.home_faults import home_faults
from riskkit.failures.yearly import chance, floods_of
from riskkit.home.home import Home, load_home
from riskkit.options.trials import all_tried
from riskkit.quantities.units import UnitSystem
from riskkit.reliability.outage_weather import chance_over_storm
from riskkit.reliability.outages import COUNTRY, outages_of
from riskkit.report.chance_words import certain_lines, commonest_line, second_line
from riskkit.report.stop_words import stop_words

PARTS = [
    ("second_pump_runs", "second_pump_fails"),
    ("battery_carries", "battery_weak"),
    ("generator_carries", "generator_fails"),
]


@pytest.fixture(scope="module")
def home() -> Home:
    clay = load_home(Path(__file__).parents[2] / "demo_sites" / "split_level_on_clay.toml")
    return clay.changed(
        second_pump__runs_on="battery", battery__age="2 yr", generator__starts="automatic"
    )


def visited(home: Home, *visits: tuple[str, dict[str, Any]]) -> Home:
    return home.changed(visit=[{"date": day, "checks": checks} for day, checks in visits])


def faults_of(home: Home, **told: Any) -> Faults:
    circumstances = Circumstances(visit_every_yr=2.0, **told)
    return home_faults(reliability_inputs(home, circumstances), circumstances, storms(), 1)


# ---- one draw, two storms, by hand --------------------------------------------------------------


@pytest.mark.parametrize("cause", ["second_pump_fails", "battery_weak"])
def test_a_second_pump_that_was_left_failed_helps_nothing(cause: str) -> None:
    """No outages; faults of 0.1 and 0.2, and nobody acts in 0.82.

    One pump: (1 - 0.9 x 0.8) x 0.82 = 0.28 x 0.82 = 0.2296. With a second one, fit in 0.72 of the
    cases, of which a twentieth of the faults takes both: 0.28 x 0.2296 + 0.72 x 0.012259.
    """
    told = faults({"pump_sudden": 0.1, "switch_stuck": 0.2}, outage_factor=0.0)
    system = replace(told, stand_by=stand_by())
    works = floods_of(with_second(dry()), system)
    assert works.given_storm[:, 0] == pytest.approx([0.28 * 0.2296 + 0.72 * 0.0122590] * 2)
    left = floods_of(with_second(dry()), left_failed(system, frozenset({cause})))
    assert left.given_storm[:, 0] == pytest.approx([0.2296] * 2)


def test_a_generator_that_was_left_failed_gives_no_power() -> None:
    """Half an hour from stop to floor, of which nobody hears or acts in 0.94438.

    Working it takes over in 0.9 of the outages until its 8 h of fuel are gone.
    """
    half = [HOUR / 2] * 2
    at = storms(overtopped=[0.0, 0.0], stop_to_floor_s=half, stop_warning_s=half)
    short, long = (
        float(chance_over_storm(outages_of(COUNTRY), 24.0, 6.0, hours)) for hours in (0.5, 8.5)
    )
    system = replace(faults(), stand_by=stand_by(fails=1.0, generator=0.9, fuel_s=8 * HOUR))
    works = floods_of(at, system).given_storm[:, 0]
    assert works == pytest.approx([(0.1 * short + 0.9 * long) * 0.94438] * 2, abs=1e-6)
    failed = frozenset({"generator_fails"})
    left = floods_of(at, left_failed(system, failed)).given_storm[:, 0]
    assert left == pytest.approx([short * 0.94438] * 2, abs=1e-6)
    # and one that is started by hand helps nobody who hears the alarm
    by_hand = floods_of(at, left_failed(faults(hand_start=0.5), failed))
    assert by_hand.given_storm[:, 0] == pytest.approx([short * 0.94438] * 2, abs=1e-6)


# ---- homes --------------------------------------------------------------------------------------


@pytest.mark.parametrize(("check", "cause"), PARTS)
def test_failed_and_left_is_certain_until_a_visit_finds_it_working(
    home: Home, check: str, cause: str
) -> None:
    """Found working, or mended, it counts as tested at every visit, as it did before."""

    def chances(home: Home) -> dict[str, np.ndarray]:
        by = faults_of(home).stand_by
        assert by is not None
        return {"second_pump_fails": by.fails, "battery_weak": by.battery_weak,
                "generator_fails": 1 - by.generator}  # fmt: skip

    untold = chances(home)
    assert all(np.all((value > 0) & (value < 1)) for value in untold.values())
    left = chances(visited(home, ("2026-04-14", {check: "no"})))
    assert left.pop(cause) == 1
    mended = {"found": "no", "done": "replaced", "left": "yes"}
    for visits in (
        [("2026-04-14", {check: "yes"})],
        [("2026-04-14", {check: mended})],
        [("2026-04-14", {check: "no"}), ("2027-04-14", {check: "yes"})],
    ):
        now = chances(visited(home, *visits))
        assert all(np.array_equal(now[key], untold[key]) for key in untold)
    assert all(np.array_equal(left[key], untold[key]) for key in left)  # the others stay
    untried = visited(home, ("2026-04-14", {check: "no"}), ("2027-04-14", {"float_free": "yes"}))
    assert cause in reliability_inputs(untried, Circumstances()).certain


def test_a_home_is_told_of_it_and_mending_helps(home: Home) -> None:
    works = chance(home, RAIN, n_draws=32)
    for check, cause in PARTS:
        broken = visited(home, ("2026-04-14", {check: "no"}))
        found = chance(broken, RAIN, n_draws=32)
        assert found.mean > works.mean, check
        assert found.certain == (cause,)
        assert any("until it is mended" in line for line in certain_lines(found))
        tried, _ = all_tried(broken, Circumstances(), ())
        mend = next(one for one in tried if one.name == "mend")
        mended = chance(mend.home, RAIN, mend.circumstances, n_draws=32)
        assert np.array_equal(mended.per_yr_by_draw, works.per_yr_by_draw)
        said = second_line(found, UnitSystem.US)
        assert ("do not count on the second pump" in said) == (cause != "generator_fails")


def test_a_new_battery_is_no_battery_that_failed(home: Home) -> None:
    broken = visited(home, ("2026-04-14", {"battery_carries": "no"}))
    tried = {one.name: one for one in all_tried(broken, Circumstances(), ())[0]}
    for name in ("new_battery", "bigger_battery"):
        known = reliability_inputs(tried[name].home, tried[name].circumstances)
        assert "battery_weak" not in known.certain
    by_hand = visited(
        home.changed(generator__starts="by hand"), ("2026-04-14", {"generator_carries": "no"})
    )
    new = {one.name: one for one in all_tried(by_hand, Circumstances(), ())[0]}["generator"]
    assert "generator_fails" not in reliability_inputs(new.home, new.circumstances).certain


def test_an_outage_and_a_generator_have_to_fail_together(home: Home) -> None:
    """A home with one is told so; a home without one is told of the outage alone."""
    with_it = {each.causes for each in chance(home, RAIN, n_draws=32).cut_sets}
    outages = [each for each in with_it if "mains_out" in each]
    assert outages and all("generator_fails" in each for each in outages)
    bare = chance(home.changed(generator__starts="none"), RAIN, n_draws=32)
    assert not any("generator_fails" in each.causes for each in bare.cut_sets)


@pytest.mark.parametrize(
    ("check", "part"),
    [
        ("second_pump_runs", "second pump"),
        ("battery_carries", "pump battery"),
        ("generator_carries", "generator"),
    ],
)
def test_another_part_put_in_later_has_no_fault_of_the_one_before(
    home: Home, check: str, part: str
) -> None:
    found = {"date": "2025-04-14", "checks": {check: "no"}}
    left = reliability_inputs(home.changed(visit=[found]), Circumstances()).certain
    assert left == {cause for key, cause in PARTS if key == check}
    for other, stays in (("gasket", True), (part, False)):
        later = {"date": "2026-04-14", "parts": [other]}
        known = reliability_inputs(home.changed(visit=[found, later]), Circumstances())
        assert known.certain == (left if stays else frozenset())
    # what was put in on the day on which the fault was found and left is the one that has it
    same = found | {"parts": [part]}
    assert reliability_inputs(home.changed(visit=[same]), Circumstances()).certain == left


def test_only_a_second_pump_that_works_is_said_to_stop(home: Home) -> None:
    assert stop_words(home) == "both pumps stop"
    broken = visited(home, ("2026-04-14", {"second_pump_runs": "no"}))
    assert stop_words(broken) == "the pump stops"


def test_an_owner_is_told_that_a_failed_pump_floods_in_common_storms(home: Home) -> None:
    """In plain words, from a quarter of the variants on, as the estimator is told."""
    found = replace(chance(home, RAIN, n_draws=32), commonest_share=0.57)
    owner = commonest_line(found, owner=True)
    assert owner.startswith("In 6 of 10 cases a pump that has failed means water on the floor even")
    assert "variant" not in owner and "%" not in owner and "six times a year" in owner
    assert commonest_line(found).startswith("In 57 % of the simulated variants")
    assert commonest_line(found) in certain_lines(found)
    assert commonest_line(replace(found, commonest_share=0.2), owner=True) == ""
