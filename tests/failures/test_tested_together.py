"""Two pumps that the same visits test: the mean of what comes, not what comes of the means."""

from __future__ import annotations

import math
from dataclasses import replace
from pathlib import Path

import numpy as np
import pytest
from failures.homes import faults, storms
from failures.synthetic_years import World, wet_years
from failures.test_stand_by import dry, second, stand_by, with_second

from riskkit.failures.circumstances import Circumstances, reliability_inputs
from riskkit.failures.faults import Faults
from riskkit.failures.home_faults import home_faults
from riskkit.failures.yearly import floods_of
from riskkit.home.home import Home, load_home
from riskkit.reliability.causes import causes

EVERY_YR = 2.0


def mean_of_decay(k: float) -> float:
    """Mean of exp(-k s) for s from 0 to 1."""
    return (1 - math.exp(-k)) / k


def both_hidden(first: float, other: float, every_yr: float) -> float:
    """Mean of (1-exp(-at))(1-exp(-bt)) between two tests that find all."""
    a, b = first * every_yr, other * every_yr
    return 1 - mean_of_decay(a) - mean_of_decay(b) + mean_of_decay(a + b)


@pytest.fixture(scope="module")
def home() -> Home:
    clay = load_home(Path(__file__).parents[2] / "demo_sites" / "split_level_on_clay.toml")
    return clay.changed(second_pump__runs_on="mains water")


def of(home: Home, **told: float) -> Faults:
    """One draw, at the middle of all spreads; storms never reach the floor, and show nothing."""
    circumstances = Circumstances(visit_every_yr=EVERY_YR, finds=1.0, **told)
    never = storms(dead_to_floor_s=[np.inf] * 2, dead_to_alarm_s=[np.inf] * 2)
    return home_faults(reliability_inputs(home, circumstances), circumstances, never, 1)


def hidden_of(found: Faults, key: str) -> float:
    """What lies hidden of a cause: its chance, less what fails when called upon."""
    assert found.stand_by is not None
    chance = found.chance.get(key, found.stand_by.fails)
    on_demand = causes()[key].on_demand
    fit = 1 - (on_demand.p50 if on_demand else 0.0)
    return float(1 - (1 - chance[0]) / fit)


def test_the_mean_of_two_moments_by_hand() -> None:
    """Nobody acts in 0.82; both pumps are lost in 0.1 x 0.1 and 0.3 x 0.3 of the storms: 0.05 in
    the mean, not 0.2 x 0.2. No fault takes both."""
    at = [
        replace(faults({"pump_sudden": lost}, outage_factor=0.0),
                stand_by=stand_by(fails=lost, battery_weak=0.0, beta=0.0))
        for lost in (0.1, 0.3)
    ]  # fmt: skip
    mean = replace(at[0], moments=tuple((0.5, each) for each in at))
    found = floods_of(with_second(dry()), mean)
    assert found.given_storm[:, 0] == pytest.approx([0.05 * 0.82] * 2)
    assert found.alone["pump_sudden"][:, 0] == pytest.approx([0.05 * 0.82] * 2)


def test_a_home_is_followed_between_two_visits(home: Home) -> None:
    """In use a fault of the switch shows 0.15 times a year by chance, of the second pump 0.1."""
    found = of(home)
    assert sum(weight for weight, _ in found.moments) == pytest.approx(1.0)
    keys = ("switch_stuck", "second_pump_fails")
    for key in keys:
        mean = sum(weight * hidden_of(one, key) for weight, one in found.moments)
        assert mean == pytest.approx(hidden_of(found, key), rel=1e-6)
    together = sum(
        weight * math.prod(hidden_of(one, key) for key in keys) for weight, one in found.moments
    )
    rates = [(float(found.per_yr[key][0]), float(found.shown_per_yr[causes()[key].part][0]))
             for key in keys]  # fmt: skip
    # faults at a, shown at b: a/(a+b) (1 - exp(-(a+b) t))
    share = math.prod(a / (a + b) for a, b in rates)
    wanted = share * both_hidden(sum(rates[0]), sum(rates[1]), EVERY_YR)
    assert together == pytest.approx(wanted, rel=1e-6)
    assert together > 1.25 * math.prod(hidden_of(found, key) for key in keys)


def test_what_the_owner_tests_goes_by_no_visit(home: Home) -> None:
    found = of(home, owner_test_every_yr=0.25)
    assert {hidden_of(one, "switch_stuck") for _, one in found.moments} == {
        hidden_of(found, "switch_stuck")
    }
    assert len({hidden_of(one, "second_pump_fails") for _, one in found.moments}) > 1
    # what the owner pours in tries the first pump alone: the second is found as by the visits
    assert hidden_of(found, "second_pump_fails") == hidden_of(of(home), "second_pump_fails")


def test_a_home_with_one_pump_is_not_followed(home: Home) -> None:
    assert of(home.changed(second_pump__runs_on="none")).moments == ()


def test_it_is_that_of_years_made_up_event_by_event() -> None:
    """Storms that flood every home without a pump, 0.05 a year; 0.3 faults a year of each pump.

    Seldom enough that a flood, which shows the faults, hardly ever comes twice between visits.
    """
    rates, years = [0.05, 0.02], 400_000
    made = World(
        storm_rates=rates, overtopped=[False] * 2, dead_to_floor_h=[3.0] * 2,
        dead_warning_h=[1.0] * 2, stop_to_floor_h=[math.inf] * 2, stop_warning_h=[math.inf] * 2,
        faults_per_yr={"pump_sudden": 0.3}, on_demand={}, silent_per_yr=0.0,
        silent_on_demand=0.0, battery_dead=0.0, test_every_yr=EVERY_YR, finds=1.0,
        shown_per_yr=0.0, hears=0.0, can_act=0.0, acts_after_h=1.0, acts_log_sd=0.8,
        outages=[(0.0, 0.0, 1.0)], battery_h=[1.0] * 2, carries=[True] * 2, second_per_yr=0.3,
    )  # fmt: skip
    got = float(wet_years(made, years).sum())
    wanted = years * rates[0] * both_hidden(0.3, 0.3, EVERY_YR)
    assert got == pytest.approx(wanted, abs=3.5 * math.sqrt(wanted))
    # the code: both hidden at some moments between two tests
    points, weights = np.polynomial.legendre.leggauss(4)
    at = []
    for point, weight in zip((points + 1) / 2, weights / 2, strict=True):
        lost = 1 - math.exp(-0.3 * EVERY_YR * point)
        by = stand_by(fails=lost, battery_weak=0.0, beta=0.0)
        one = faults({"pump_sudden": lost}, outage_factor=0.0, hears=0.0)
        at.append((float(weight), replace(one, stand_by=by)))
    place = storms(rate_per_yr=rates, overtopped=[0.0, 0.0])
    found = floods_of(replace(place, second=second()), replace(at[0][1], moments=tuple(at)))
    assert years * float(found.total_per_yr[0]) == pytest.approx(wanted, rel=1e-4)
