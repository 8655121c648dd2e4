"""The integral over the storms against years made up event by event."""

from __future__ import annotations

import math
from dataclasses import replace
from pathlib import Path
from typing import Any

import numpy as np
import pytest
from failures.homes import HOUR, NEVER, faults, storms
from failures.synthetic_years import World, wet_years
from failures.test_stand_by import second, stand_by

from riskkit.failures.at_place import COMMONEST_PER_YR
from riskkit.failures.circumstances import Circumstances, reliability_inputs
from riskkit.failures.faults import PUMP_CAUSES
from riskkit.failures.home_faults import home_faults
from riskkit.failures.storms import HomeStorms
from riskkit.failures.yearly import floods_of
from riskkit.home.home import Home, load_home
from riskkit.reliability.annual import annual_chance_of
from riskkit.reliability.causes import causes
from riskkit.reliability.hidden import demand_chance, mean_unavailability_missed
from riskkit.reliability.households import home_factor
from riskkit.reliability.outage_weather import weather_shares
from riskkit.reliability.outages import COUNTRY, outages_of

RATES = [COMMONEST_PER_YR, 1.0, 0.1, 0.02]
YEARS = 3000
MEDIAN_HOME = float(home_factor(0.5))
NO_OUTAGES = [(0.0, 0.0, 1.0)]
FAULTS = {"switch_stuck": 0.06, "pump_worn": 0.1}
DEMAND = {"pump_sudden": 0.004, "air_locked": 0.01}


@pytest.fixture
def clay(demo_sites: Path) -> Home:
    return load_home(demo_sites / "split_level_on_clay.toml")


def world(**more: object) -> World:
    country, shares = outages_of(COUNTRY), weather_shares()
    kinds = [
        (share * rate, (1 - share) * rate, mean)
        for share, rate, mean in (
            (shares.ordinary, country.ordinary_per_yr, country.ordinary_h),
            (shares.major, country.major_per_yr, country.major_h),
        )
    ]
    usual: dict[str, object] = {
        "storm_rates": RATES, "overtopped": [False, False, False, True],
        "dead_to_floor_h": [9.0, 6.0, 4.0, 3.0], "dead_warning_h": [4.0, 2.0, 1.0, 0.5],
        "stop_to_floor_h": [5.0, 3.0, 1.5, 1.0], "stop_warning_h": [4.0, 2.0, 1.0, 0.5],
        "faults_per_yr": FAULTS, "on_demand": DEMAND,
        "silent_per_yr": 0.1, "silent_on_demand": 0.02, "battery_dead": 0.3,
        "test_every_yr": 1.0, "finds": 0.8, "shown_per_yr": 0.2,
        "hears": 0.7, "can_act": 0.8, "acts_after_h": 1.0, "acts_log_sd": 0.8, "outages": kinds,
    }  # fmt: skip
    return World(**(usual | more))  # type: ignore[arg-type]  # by name


def integral(made: World) -> float:
    """The chance by the code, of the same rates; every storm floods a dead pump, so that each shows
    it as often as storms come."""
    often = np.isfinite(made.dead_to_floor_h[0])
    shown = made.shown_per_yr + (made.storm_rates[0] if often else 0.0)
    hidden = {
        key: mean_unavailability_missed(rate, made.test_every_yr, made.finds, shown)
        for key, rate in made.faults_per_yr.items()
    }
    alarm = mean_unavailability_missed(
        made.silent_per_yr, made.test_every_yr, made.finds, made.shown_per_yr
    )
    home = storms_of(made)
    system = faults(
        {key: float(value) for key, value in hidden.items()} | made.on_demand,
        silent=float(demand_chance(made.silent_on_demand, alarm)),
        battery_dead=made.battery_dead, hears=made.hears, can_act=made.can_act,
        acts_after_s=made.acts_after_h * HOUR, acts_log_sd=made.acts_log_sd,
        outage_factor=float(made.outages != NO_OUTAGES), hand_start=made.hand_start,
        calls=made.calls, service_after_s=made.service_after_h * HOUR,
    )  # fmt: skip
    starts = {"generator": made.generator, "fuel_s": made.fuel_h * HOUR}
    if made.generator:
        system = replace(system, stand_by=stand_by(fails=1.0, battery_weak=0.0, **starts))
    if made.battery_h is not None and made.carries is not None:
        none = [0.0] * 4
        home = replace(home, second=second(
            carries=[float(each) for each in made.carries], at_joint=none, in_storm=[1.0] * 4,
            overtopped=[float(each) for each in made.overtopped], spent_on_mains=none,
            outlasts_s=[hours * HOUR for hours in made.battery_h],
        ))  # fmt: skip
        stands = stand_by(fails=made.second_fails, battery_weak=0.0, beta=made.beta, **starts)
        system = replace(system, stand_by=stands)
    return float(annual_chance_of(floods_of(home, system).total_per_yr)[0])


def storms_of(made: World) -> HomeStorms:
    """The same storms for the code."""
    return storms(
        rate_per_yr=made.storm_rates,
        overtopped=[float(over) for over in made.overtopped],
        dead_to_alarm_s=[NEVER] * 4,
        **{
            f"{name}_s": [hours * HOUR for hours in getattr(made, f"{name}_h")]
            for name in ("dead_to_floor", "dead_warning", "stop_to_floor", "stop_warning")
        },
    )


CASES: dict[str, dict[str, Any]] = {
    "as usual": {},
    "no visits": {"test_every_yr": math.inf},
    "nobody comes": {"hears": 0.0},
    "no outage": {"outages": NO_OUTAGES},
    "outages alone": {"faults_per_yr": {"pump_worn": 0.0}, "on_demand": {"pump_sudden": 0.0},
                      "overtopped": [False] * 4},
    "storms alone": {"faults_per_yr": {"pump_worn": 0.0}, "on_demand": {"pump_sudden": 0.0},
                     "outages": NO_OUTAGES, "overtopped": [False, False, True, True]},
}  # fmt: skip


ON_DEMAND = {"faults_per_yr": {"pump_worn": 0.0},
             "on_demand": {"pump_sudden": 0.15, "air_locked": 0.1}}  # fmt: skip
BATTERY = {"battery_h": [9.0, 6.0, 4.0, 3.0], "carries": [True, True, True, False]}
CASES |= {
    "a second pump": ON_DEMAND | BATTERY | {"second_fails": 0.2, "beta": 0.1},
    "a second pump that is always fit": ON_DEMAND | BATTERY | {"outages": NO_OUTAGES},
    "a battery in outages alone": CASES["outages alone"] | BATTERY | {"second_fails": 0.1},
    "a generator in outages alone": CASES["outages alone"] | {"generator": 0.8, "fuel_h": 5.0},
    "a generator by hand": CASES["outages alone"] | {"hand_start": 0.6, "can_act": 0.3},
    "a second pump and a generator": ON_DEMAND
    | BATTERY
    | {"second_fails": 0.2, "beta": 0.1, "generator": 0.7, "fuel_h": 4.0},
    "a service call": {"can_act": 0.2, "calls": 0.9, "service_after_h": 2.0},
}


@pytest.mark.parametrize("case", CASES)
def test_the_chance_is_that_of_years_made_up_event_by_event(case: str) -> None:
    made = world(**CASES[case])
    wanted = integral(made)
    got = float(wet_years(made, YEARS).mean())
    error = math.sqrt(wanted * (1 - wanted) / YEARS)
    assert 0.01 < wanted < 0.9
    assert got == pytest.approx(wanted, abs=3.5 * error)


@pytest.mark.parametrize("every", [1.0, 4.0])
def test_the_chance_of_a_home_with_its_parts_visits_and_people(clay: Home, every: float) -> None:
    """One draw stands at the middle of all spreads; its years are made up from the tables alone."""
    told = Circumstances(visit_every_yr=every, pump_age_yr=9.0)
    made = world(outages=world().outages, test_every_yr=every)
    home = storms_of(made)
    floods = floods_of(home, home_faults(reliability_inputs(clay, told), told, home, 1))
    wanted = float(annual_chance_of(floods.total_per_yr)[0])

    middle = {key: cause for key, cause in causes().items() if key in PUMP_CAUSES}
    rates = {key: cause.per_year.p50 for key, cause in middle.items() if cause.per_year}
    # a pump of 9 years, of mean life 9 and shape 2.5: scale 9 / Gamma(1.4); faults of its next year
    scale = 9.0 / math.gamma(1.4)
    rates["pump_worn"] = (10.0 / scale) ** 2.5 - (9.0 / scale) ** 2.5
    for key, cause in middle.items():  # of the defects visits find some: delay time, 0.9 of them
        if cause.delay is not None:
            rates[key] *= _not_found(every, cause.delay.p50)
    silent, battery = causes()["alarm_silent"], causes()["alarm_battery_dead"]
    assert silent.per_year and silent.delay and silent.on_demand
    assert battery.per_year and battery.delay
    dead = battery.per_year.p50 * _not_found(every, battery.delay.p50)
    years = replace(
        made,
        faults_per_yr=rates,
        on_demand={key: c.on_demand.p50 for key, c in middle.items() if c.on_demand},
        silent_per_yr=silent.per_year.p50 * _not_found(every, silent.delay.p50),
        silent_on_demand=silent.on_demand.p50,
        battery_dead=float(mean_unavailability_missed(dead, every, 0.9, 0.1)),
        finds=0.9,
        shown_per_yr=0.1,  # of the alarm
        shown_of={key: 0.5 if cause.part == "outlet" else 0.15 for key, cause in middle.items()},
        hears=0.7, can_act=0.6, acts_after_h=1.0, acts_log_sd=math.log(2.2),
        outages=[(with_it * MEDIAN_HOME, free * MEDIAN_HOME, mean)
                 for with_it, free, mean in made.outages],
    )  # fmt: skip
    got = float(wet_years(years, YEARS).mean())
    error = math.sqrt(wanted * (1 - wanted) / YEARS)
    assert got == pytest.approx(wanted, abs=3.5 * error)


def _not_found(every: float, mean: float) -> float:
    """Share of defects that fail first, of many made up, with visits that see 9 of 10."""
    rng = np.random.default_rng(5)
    n = 200_000
    first = rng.random(n) * every  # from the defect to the next visit
    visits = rng.geometric(0.9, n) - 1  # that see nothing
    return float((rng.exponential(mean, n) < first + visits * every).mean())


def test_the_years_tell_a_wrong_integral_from_a_right_one() -> None:
    """Half as many faults again would be seen."""
    made = world(hears=0.0, overtopped=[False] * 4, outages=NO_OUTAGES)
    got = float(wet_years(made, YEARS).mean())
    wrong = replace(made, faults_per_yr={key: 1.5 * rate for key, rate in FAULTS.items()})
    expected = integral(wrong)
    assert abs(got - expected) > 3.5 * math.sqrt(expected * (1 - expected) / YEARS)
