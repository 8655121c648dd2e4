"""What must hold for any part, any visit, any outage and any battery."""

from __future__ import annotations

import numpy as np
from hypothesis import given
from hypothesis import strategies as st

from riskkit.reliability import annual, battery, hidden, wear
from riskkit.reliability import delay_time as d
from riskkit.reliability.households import home_factor, households_with_outage
from riskkit.reliability.outage_weather import chance_over_storm
from riskkit.reliability.outages import outage_areas, outage_rate_per_yr, outages_of

share = st.floats(0.0, 1.0)
chance_to_find = st.floats(0.02, 1.0)
rates = st.floats(1e-6, 3.0)
years = st.floats(0.05, 20.0)
shapes = st.floats(0.5, 5.0)
factor = st.floats(1.0, 5.0)
areas = st.sampled_from(outage_areas()).map(outages_of)
SLACK = 1e-9


@given(years, years, shapes, years, factor)
def test_a_longer_life_and_a_shorter_wait_never_fail_sooner(
    age: float, further: float, shape: float, scale: float, more: float
) -> None:
    holds = wear.conditional_survival(age, further, shape, scale)
    assert 0 <= holds <= 1
    assert wear.conditional_survival(age, further, shape, scale * more) >= holds - SLACK
    assert wear.conditional_survival(age, further * more, shape, scale) <= holds + SLACK
    if shape >= 1:  # what wears out is no better for being older
        assert wear.conditional_survival(age * more, further, shape, scale) <= holds + SLACK


@given(rates, years, chance_to_find, factor)
def test_fewer_faults_more_tests_and_better_tests_never_hurt(
    rate: float, interval: float, finds: float, more: float
) -> None:
    unfit = hidden.mean_unavailability_missed
    one = unfit(rate, interval, finds)
    assert 0 <= one <= 1
    assert unfit(rate * more, interval, finds) >= one - SLACK
    assert unfit(rate, interval * more, finds) >= one - SLACK
    assert unfit(rate, interval, finds / more) >= one - SLACK
    assert one >= unfit(rate, interval, 1.0) - SLACK
    seen = unfit(rate, interval, finds, more)
    assert seen <= one + SLACK
    assert seen <= rate / (rate + more) + SLACK  # tests besides never hurt
    assert unfit(rate, interval * more, finds, more) >= seen - SLACK


@given(years, years, shapes, chance_to_find, factor)
def test_more_visits_and_better_eyes_never_let_more_defects_fail(
    interval: float, delay: float, shape: float, finds: float, more: float
) -> None:
    one = d.failure_share(interval, delay, shape, finds)
    assert -SLACK <= one <= 1
    assert d.failure_share(interval * more, delay, shape, finds) >= one - SLACK
    assert d.failure_share(interval, delay, shape, finds / more) >= one - SLACK
    assert d.failure_share(interval, delay * more, shape, finds) <= one + SLACK


@given(areas, st.floats(0, 100), st.floats(1, 30), st.floats(0, 48), share, factor)
def test_outages_that_matter_less_or_come_rarer_are_less_likely(
    area, storm_h: float, storms: float, over_h: float, home: float, more: float
) -> None:
    chance = chance_over_storm(area, storm_h, storms, over_h)
    assert 0 <= chance <= 1
    assert chance_over_storm(area, storm_h, storms, over_h * more) <= chance
    assert chance_over_storm(area, storm_h * more, storms, over_h) >= chance
    assert chance_over_storm(area, storm_h, storms * more, over_h) <= chance
    assert outage_rate_per_yr(area, over_h) <= area.rate_per_yr + SLACK
    assert home_factor(0.999 * home) >= 0
    assert households_with_outage(area.rate_per_yr, 0.5) <= -np.expm1(-area.rate_per_yr)


@given(
    st.floats(20, 200), st.floats(1.0, 1.5), share, st.floats(0, 12), st.floats(0, 40),
    st.floats(1, 60), share, factor,
)  # fmt: skip
def test_a_better_battery_never_runs_shorter(
    ah: float,
    k: float,
    usable: float,
    age: float,
    cold: float,
    amps: float,
    duty: float,
    more: float,
) -> None:
    one = battery.Battery(ah, 20.0, k, usable, age, 5.0, cold)
    hours = battery.run_time_h(one, amps, duty)
    bigger = battery.Battery(ah * more, 20.0, k, usable, age, 5.0, cold)
    younger = battery.Battery(ah, 20.0, k, usable, age / more, 5.0, cold)
    assert battery.run_time_h(younger, amps, duty) >= hours * (1 - SLACK)
    assert battery.run_time_h(one, amps, duty / more) >= hours * (1 - SLACK)
    assert battery.run_time_h(one, amps * more, duty) <= hours * (1 + SLACK)
    assert battery.run_time_h(bigger, amps, duty) >= hours * (1 - SLACK)
    assert battery.usable_capacity_ah(one, amps) <= ah * usable * 1.10 + SLACK


@given(st.lists(share, min_size=6, max_size=6), st.lists(share, min_size=6, max_size=6))
def test_the_chance_of_a_year_rises_with_that_of_each_storm(
    first: list[float], second: list[float]
) -> None:
    rate = annual.storm_rate_per_yr([2, 5, 10, 25, 50, 100])
    low, high = np.minimum(first, second), np.maximum(first, second)
    both = 1 - (1 - low) * (1 - high)
    *alone, together = (
        annual.annual_chance_of(annual.flood_rate_per_yr(rate, each[:, None]))[0]
        for each in (low, high, both)
    )
    assert alone[0] <= alone[1] + SLACK
    assert alone[1] <= -np.expm1(-rate[0]) + SLACK  # no more floods than storms
    assert max(alone) - SLACK <= together <= sum(alone) + SLACK
