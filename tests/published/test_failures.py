"""Lives, tests, chances of years and freezing, against values that are in print."""

from __future__ import annotations

import numpy as np
import pytest

from riskkit.antecedent.ice import plank_equation
from riskkit.rainfall.frequency import partial_return_period_yr
from riskkit.reliability import annual, battery_laws, hidden, households, wear


@pytest.mark.published(
    stage="reliability", what="mean of a Weibull life with shape 1.7208 and scale 606.528 h",
    source="nist_handbook", where="section 8.4.1.3: 540.737 h", origin="printed",
    tolerance="half the last digit of the shape",
)  # fmt: skip
def test_mean_life() -> None:
    assert float(wear.weibull_mean_yr(1.7208, 606.528)) == pytest.approx(540.737, abs=0.001)


# years; share in per cent of floods of 2, 5, 10, 25, 50 and 100 years
RISK = {
    1: [0.5, 0.2, 0.1, 0.04, 0.02, 0.01],
    3: [0.875, 0.488, 0.271, 0.115, 0.059, 0.03],
    5: [0.969, 0.672, 0.41, 0.185, 0.096, 0.049],
    10: [0.999, 0.893, 0.651, 0.335, 0.183, 0.096],
    20: [1.0, 0.988, 0.878, 0.558, 0.332, 0.182],
    50: [1.0, 1.0, 0.995, 0.87, 0.636, 0.395],
    100: [1.0, 1.0, 1.0, 0.983, 0.867, 0.634],
}


@pytest.mark.published(
    stage="reliability", what="chance of a flood of 2 to 100 years within 1 to 100 years",
    source="hds2", where="Table 4.25", origin="printed", tolerance="0.0012",
)  # fmt: skip
@pytest.mark.parametrize("years", RISK)
def test_risk_within_years(years: int) -> None:
    per_yr = 1 / partial_return_period_yr([2, 5, 10, 25, 50, 100])
    assert annual.annual_chance_of(years * per_yr) == pytest.approx(RISK[years], abs=0.0012)


@pytest.mark.published(
    stage="reliability", what="floods of 50 and 100 years within 30, none of 100 within 10 and 100",
    source="bedient2013", where="Example 3-7", origin="printed", tolerance="half the last digit",
)  # fmt: skip
def test_risk_over_the_life_of_a_work() -> None:
    fifty, hundred = 1 / partial_return_period_yr([50, 100])
    found = annual.annual_chance_of([30 * fifty, 30 * hundred, 10 * hundred, 100 * hundred])
    assert found == pytest.approx([0.455, 0.26, 1 - 0.904, 1 - 0.37], abs=0.005)


@pytest.mark.published(
    stage="reliability", what="unavailability of one part tested every half year and every year",
    source="iec61508_6", where="Tables B.2 and B.3, 1oo1, no self-test", origin="memory",
    tolerance="3 % (the table has a time for repair, and its first term only)",
)  # fmt: skip
@pytest.mark.parametrize(
    ("per_hour", "half_year", "year"),
    [(0.5e-7, 1.1e-4, 2.2e-4), (0.5e-6, 1.1e-3, 2.2e-3), (2.5e-6, 5.5e-3, 1.1e-2)],
)
def test_tables_of_a_standard(per_hour: float, half_year: float, year: float) -> None:
    rate = per_hour * 8760
    for interval, printed in ((0.5, half_year), (1.0, year)):
        found = float(hidden.mean_unavailability_missed(rate, interval, 1.0))
        assert found == pytest.approx(printed, rel=0.03)


@pytest.mark.published(
    stage="reliability", what="people without any accident, whose rates are of a gamma",
    source="greenwood_yule1920", where="647 women: 442 of them by the fitted distribution",
    origin="memory", tolerance="1 (moments; the observed counts as quoted)",
)  # fmt: skip
def test_rates_that_differ() -> None:
    counts = np.repeat(np.arange(6), [447, 132, 42, 21, 3, 2])
    mean, variance = counts.mean(), counts.var(ddof=1)
    told = float(households.households_with_outage(mean, mean**2 / (variance - mean)))
    assert counts.size * (1 - told) == pytest.approx(442, abs=1)


@pytest.mark.published(
    stage="reliability", what="exponent of a battery of 100 Ah in 20 h and 60 Ah in 3 h",
    source="peukert1897", where="I^k t is constant (recalled)", origin="computed",
    tolerance="0.001",
)  # fmt: skip
def test_exponent_of_two_ratings() -> None:
    found = float(battery_laws.peukert_exponent(100, 20, 60, 3))
    assert found == pytest.approx(1.368, abs=0.001)
    # by hand: 5 A for 20 h, 20 A for 3 h; 5^k 20 = 20^k 3, k = ln(20/3) / ln 4
    assert found == pytest.approx(1.897120 / 1.386294, abs=1e-5)


@pytest.mark.published(
    stage="reliability", what="time to freeze a sphere of 7 cm", source="singh_heldman",
    where="the sphere in an air-blast freezer: 0.72 h", origin="memory",
    tolerance="half the last digit",
)  # fmt: skip
def test_sphere() -> None:
    found = plank_equation(1000 * 250e3, 0.07, 1 / 50, 1.2, (1 / 6, 1 / 24)) / (40 - 1.25)
    assert found / 3600 == pytest.approx(0.72, abs=0.005)
