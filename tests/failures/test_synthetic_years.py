"""The integral over the storms against years made up event by event."""

from __future__ import annotations

import math
from dataclasses import replace

import numpy as np
import pytest
from failures.homes import HOUR, NEVER, faults, storms
from failures.synthetic_years import World, wet_years

from riskkit.failures.storms import COMMONEST_PER_YR
from riskkit.failures.yearly import floods_of
from riskkit.reliability.annual import annual_chance_of
from riskkit.reliability.hidden import demand_chance, mean_unavailability_missed
from riskkit.reliability.outage_weather import weather_shares
from riskkit.reliability.outages import COUNTRY, outages_of

RATES = [COMMONEST_PER_YR, 1.0, 0.1, 0.02]
YEARS = 3000
NO_OUTAGES = [(0.0, 0.0, 1.0)]
FAULTS = {"switch_stuck": 0.06, "pump_worn": 0.1}
DEMAND = {"pump_sudden": 0.004, "air_locked": 0.01}


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
    return World(**(usual | more))  # type: ignore[arg-type]


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
    home = storms(
        rate_per_yr=made.storm_rates,
        overtopped=[float(over) for over in made.overtopped],
        dead_to_alarm_s=[NEVER] * 4,
        **{
            f"{name}_s": [hours * HOUR for hours in getattr(made, f"{name}_h")]
            for name in ("dead_to_floor", "dead_warning", "stop_to_floor", "stop_warning")
        },
    )
    system = faults(
        {key: float(value) for key, value in hidden.items()} | made.on_demand,
        silent=float(demand_chance(made.silent_on_demand, alarm)),
        battery_dead=made.battery_dead, hears=made.hears, can_act=made.can_act,
        acts_after_s=made.acts_after_h * HOUR, acts_log_sd=made.acts_log_sd,
        outage_factor=float(made.outages != NO_OUTAGES),
    )  # fmt: skip
    return float(annual_chance_of(floods_of(home, system).total_per_yr)[0])


CASES = {
    "as usual": {},
    "no visits": {"test_every_yr": math.inf},
    "nobody comes": {"hears": 0.0},
    "no outage": {"outages": NO_OUTAGES},
    "outages alone": {"faults_per_yr": {"pump_worn": 0.0}, "on_demand": {"pump_sudden": 0.0},
                      "overtopped": [False] * 4},
    "storms alone": {"faults_per_yr": {"pump_worn": 0.0}, "on_demand": {"pump_sudden": 0.0},
                     "outages": NO_OUTAGES, "overtopped": [False, False, True, True]},
}  # fmt: skip


@pytest.mark.parametrize("case", CASES)
def test_the_chance_is_that_of_years_made_up_event_by_event(case: str) -> None:
    made = world(**CASES[case])
    wanted = integral(made)
    got = float(wet_years(made, YEARS).mean())
    error = math.sqrt(wanted * (1 - wanted) / YEARS)
    assert 0.01 < wanted < 0.9
    assert got == pytest.approx(wanted, abs=3.5 * error)


def test_the_years_tell_a_wrong_integral_from_a_right_one() -> None:
    """Half as many faults again would be seen."""
    made = world(hears=0.0, overtopped=[False] * 4, outages=NO_OUTAGES)
    got = float(wet_years(made, YEARS).mean())
    wrong = replace(made, faults_per_yr={key: 1.5 * rate for key, rate in FAULTS.items()})
    expected = integral(wrong)
    assert abs(got - expected) > 3.5 * math.sqrt(expected * (1 - expected) / YEARS)
