"""Reliability against values that stand in the sources, or follow from their equations."""

from __future__ import annotations

import math
from itertools import combinations_with_replacement

import numpy as np
import pytest
from scipy.integrate import quad

from riskkit.fleet.aging import AGES_YR, fault_course
from riskkit.rainfall.frequency import partial_return_period_yr
from riskkit.reliability import annual, battery_laws, delay_time, hidden, loss, standby, wear
from riskkit.reliability.fault_tree import FaultTree, Gate, GateKind, minimal_cut_sets
from riskkit.reliability.households import households_with_outage, mixing_shape
from riskkit.reliability.outage_weather import weather_rate_per_yr
from riskkit.reliability.outages import outage_rate_per_yr, outages_of
from riskkit.tables import load_table
from tests.published.telling import households_telling, short_told
from tests.reliability.exact_tree import top_chance

US = outages_of("United States")


@pytest.mark.published(
    stage="reliability", what="Weibull: mean life, survival, survival given an age",
    source="real_statistics", where="example 1, figures 1 and 2", origin="printed",
    tolerance="half the last digit",
)  # fmt: skip
def test_survival_of_part_1() -> None:
    shape, scale = 2.2, 1120.0
    assert float(wear.weibull_mean_yr(shape, scale)) == pytest.approx(991.9, abs=0.05)
    printed = ((800.0, 0.620643, 5e-7), (1600.0, 0.111725, 5e-7), (825.31, 0.6, 5e-6))
    for age, wanted, half in printed:
        found = wear.conditional_survival(0.0, age, shape, scale)
        assert float(found) == pytest.approx(wanted, abs=half)
    later = wear.conditional_survival(800.0, 800.0, shape, scale)
    assert float(later) == pytest.approx(0.18, abs=0.005)


@pytest.mark.published(
    stage="reliability", what="Weibull: mean life of a bearing, share that lasts 6000 h",
    source="montgomery_runger", where="example 4-25", origin="printed",
    tolerance="half the last digit (1.095 is cut off, not rounded)",
)  # fmt: skip
def test_life_of_a_bearing() -> None:
    assert float(wear.weibull_mean_yr(0.5, 5000.0)) == pytest.approx(10_000, abs=0.5)
    lasts = float(wear.conditional_survival(0.0, 6000.0, 0.5, 5000.0))
    assert lasts == pytest.approx(0.334, abs=0.0006)


@pytest.mark.published(
    stage="reliability", what="unavailability of one part that tests find unfit",
    source="iec61508_6", where="annex B, 1oo1, no time for repair, no self-test (recalled)",
    origin="computed", tolerance="2 % at lambda tau = 0.02, and below",
)  # fmt: skip
def test_unavailability_of_one() -> None:
    rate, interval = 0.02, 1.0
    first_term = rate * interval / 2  # the mean down time of a channel is half an interval
    found = float(hidden.mean_unavailability_missed(rate, interval, 1.0))
    assert found == pytest.approx(first_term, rel=0.02)
    assert found < first_term


@pytest.mark.published(
    stage="reliability", what="share of defects that fail, with visits that find all or miss some",
    source="christer_waller1984",
    where="basic and imperfect inspection, by numerical integration (recalled)",
    origin="computed", tolerance="1e-8",
)  # fmt: skip
@pytest.mark.parametrize("finds", [1.0, 0.75, 0.4])
@pytest.mark.parametrize("shape", [1.0, 2.2])
def test_share_of_defects_that_fail(finds: float, shape: float) -> None:
    every, mean = 2.0, 1.5
    scale = float(wear.weibull_scale_yr(mean, shape))

    def found_in_time(born: float) -> float:
        """Chance that a defect born this long after a visit is found by the n-th visit in time."""
        after = np.arange(1, 60) * every - born
        weight = finds * (1 - finds) ** np.arange(59)
        return float(weight @ np.exp(-((after / scale) ** shape)))

    wanted = 1 - quad(found_in_time, 0, every)[0] / every
    found = float(delay_time.failure_share(every, mean, shape, finds))
    assert found == pytest.approx(wanted, abs=1e-8)


@pytest.mark.published(
    stage="reliability", what="with exponential onset and delay equal intervals are best",
    source="cerone1990", where="abstract", origin="printed",
    tolerance="of all intervals that add up to 6 years, from the times that are worked out",
)  # fmt: skip
@pytest.mark.parametrize("visits", [1, 2, 3, 5])
def test_equal_intervals_are_the_most_reliable(visits: int) -> None:
    """Visits find all, and no failure shows itself: between two of them the part begins as new."""
    rate, none = np.array([0.3]), np.zeros(1)
    failed, _ = fault_course(rate, 0.8, none, np.ones(1), np.ones(1))
    holds = dict(zip(AGES_YR, 1 - failed[:, 0], strict=True))
    splits = [
        each for each in combinations_with_replacement(AGES_YR, visits + 1) if sum(each) == 6.0
    ]
    assert len(splits) > 2
    best = max(splits, key=lambda split: math.prod(holds[part] for part in split))
    assert best == (6.0 / (visits + 1),) * (visits + 1)


@pytest.mark.published(
    stage="reliability", what="minimal cut sets and chance of a pressure tank's rupture",
    source="nasa_fta2002", where="pressure tank; FFORT, pt", origin="printed",
    tolerance="1e-7 of it (the exact value differs there)",
)  # fmt: skip
def test_pressure_tank() -> None:
    either, both = GateKind.OR, GateKind.AND
    tree = FaultTree(
        "rupture",
        {
            "rupture": Gate(either, ("tank", "over_pressure")),
            "over_pressure": Gate(either, ("runs_too_long", "relay_2")),
            "runs_too_long": Gate(both, ("pressure_switch", "timer_circuit")),
            "timer_circuit": Gate(either, ("switch_1", "relay_1_branch")),
            "relay_1_branch": Gate(either, ("relay_1", "timer_relay")),
        },
    )
    sets = minimal_cut_sets(tree)
    switch = "pressure_switch"
    wanted = [{"tank"}, {"relay_2"}]
    wanted += [{switch, one} for one in ("switch_1", "relay_1", "timer_relay")]
    assert sets == {frozenset(one) for one in wanted}
    chances = {
        "tank": 5e-6, "relay_2": 3e-5, switch: 1e-4, "switch_1": 3e-5, "relay_1": 5e-6,
        "timer_relay": 1e-4,
    }  # fmt: skip
    given = {event: np.array([chance]) for event, chance in chances.items()}
    assert top_chance(sets, given)[0] == pytest.approx(3.5013348120867e-5, rel=1e-7)


@pytest.mark.published(
    stage="reliability", what="chance that a set of seals leaks, with a common cause",
    source="nasa_fta2002", where="compression seals; FFORT, csd", origin="printed",
    tolerance="1e-12 of it",
)  # fmt: skip
def test_compression_seals() -> None:
    tree = FaultTree(
        "leak",
        {
            "leak": Gate(GateKind.OR, ("common", "alone")),
            "common": Gate(GateKind.AND, ("tape", "event")),
            "alone": Gate(GateKind.AND, ("metal", "first", "second", "plug")),
        },
    )
    chances = {"tape": 0.1, "event": 1e-5}
    chances |= dict.fromkeys(("metal", "first", "second", "plug"), 1e-3)
    given = {event: np.array([chance]) for event, chance in chances.items()}
    found = top_chance(minimal_cut_sets(tree), given)[0]
    assert found == pytest.approx(1.000000999999e-6, rel=1e-12)


@pytest.mark.published(
    stage="reliability", what="chance of a flood of 1 % a year within 30 and 50 years",
    source="cwcb_flood", where="document 54318, page 22", origin="printed",
    tolerance="half the last digit",
)  # fmt: skip
def test_flood_of_a_hundred_years_within_a_mortgage() -> None:
    per_yr = 1 / partial_return_period_yr(100.0)  # a year has one with a chance of 1 %
    found = annual.annual_chance_of(np.array([30, 50]) * per_yr)
    assert found == pytest.approx(np.array([0.26, 0.39]), abs=0.005)


@pytest.mark.published(
    stage="reliability", what="run time of a battery of 100 Ah at 5 A, exponent 1.2",
    source="electrotechnik2010", where="last paragraph", origin="printed",
    tolerance="half the last digit",
)  # fmt: skip
def test_run_time_of_a_battery() -> None:
    # its 100 Ah are meant at 1 A, so for 100 hours
    found = battery_laws.peukert_run_time_h(100.0, 100.0, 5.0, 1.2)
    assert float(found) == pytest.approx(14.5, abs=0.05)


@pytest.mark.published(
    stage="reliability", what="capacity of a battery at the freezing point",
    source="battery_faq", where="table", origin="printed", tolerance="exact",
)  # fmt: skip
def test_cold_battery() -> None:
    found = battery_laws.cold_factor(0.0, np.array([0.4, 0.8, 5.0]))
    assert found == pytest.approx(1 - np.array([0.20, 0.18, 0.16]))
    assert float(battery_laws.cold_factor(25.0, 5.0)) == 1.0


@pytest.mark.published(
    stage="reliability", what="mains water that a water-powered pump uses",
    source="midland", where="first paragraph", origin="printed", tolerance="exact",
)  # fmt: skip
def test_water_powered_pump() -> None:
    assert float(standby.mains_water_m3(2.0)) == 1.0
    assert float(standby.water_powered_m3_s(1e-3)) == 2e-3


@pytest.mark.published(
    stage="reliability", what="length of outages is their total over their number",
    source="eia_epa2023", where="Tables 11.1 and 11.3", origin="printed",
    tolerance="0.2 % (rounding of SAIFI and SAIDI)",
)  # fmt: skip
def test_outage_statistics_agree_with_themselves() -> None:
    rows = load_table("outages").rows
    for row in rows:
        for kind in ("", "_ordinary"):
            ratio = float(row[f"saidi{kind}"]) / float(row[f"saifi{kind}"])
            assert ratio == pytest.approx(float(row[f"caidi{kind}"]), rel=0.002), row
    michigan = outages_of("Michigan")
    assert michigan.rate_per_yr == pytest.approx((1.512 + 1.339) / 2)
    assert michigan.mean_h == pytest.approx((1093.6 + 513.1) / (1.512 + 1.339) / 60)


@pytest.mark.published(
    stage="reliability", what="shares of outages that come with weather: long ones of the country",
    source="do2023", where="share of the outages of 8 h or more", origin="printed",
    tolerance="exact: the model is solved for it",
)  # fmt: skip
def test_long_outages_come_with_weather() -> None:
    share = weather_rate_per_yr(US, 8.0) / outage_rate_per_yr(US, 8.0)
    assert float(share) == pytest.approx(0.621, abs=1e-9)


@pytest.mark.published(
    stage="reliability", what="shares of outages that come with weather: all of New York",
    source="flores2024", where="share of all outages", origin="printed",
    tolerance="exact: the model is solved for it",
)  # fmt: skip
def test_outages_of_new_york_come_with_weather() -> None:
    state = outages_of("New York")
    share = weather_rate_per_yr(state) / outage_rate_per_yr(state)
    assert float(share) == pytest.approx(0.399, abs=1e-9)


@pytest.mark.published(
    stage="reliability", what="households with an outage of six hours or more within a year",
    source="ahs2023", where="17.8 % of households", origin="printed",
    tolerance="exact: a parameter is fitted to it",
)  # fmt: skip
def test_households_with_outages() -> None:
    long = float(outage_rate_per_yr(US, 6.0))
    assert households_with_outage(long, mixing_shape()) == pytest.approx(0.178, abs=1e-9)
    # alike homes that tell of every outage would be three in four, where one in four tells of any
    assert households_with_outage(US.rate_per_yr, 1e9) > 0.7
    assert 0.2 < mixing_shape() < 2


@pytest.mark.published(
    stage="reliability", what="households with an outage a year in cities that no fit has seen",
    source="ahs2023", where="Detroit 44.8 %, New York 11.2 %, Chicago 15 %", origin="printed",
    tolerance="a factor of 1.5, and in this order (state against city)",
)  # fmt: skip
def test_households_of_cities() -> None:
    told = {"Michigan": 0.448, "New York": 0.112, "Illinois": 0.15}
    assert 0.05 < short_told() < 0.5
    found = {area: households_telling(outages_of(area), short_told()) for area in told}
    assert found["Michigan"] > 1.5 * max(found["New York"], found["Illinois"])
    for area, share in told.items():
        assert share / 1.5 < found[area] < share * 1.5


@pytest.mark.published(
    stage="reliability", what="loss by depth as a share of the structure's value",
    source="egm0401", where="one storey with basement", origin="printed", tolerance="exact",
)  # fmt: skip
def test_first_family_of_losses() -> None:
    depth = np.array([0.1, 0.3, 0.5, 1.0])
    structure = loss.egm_loss_share(depth, loss.LossPart.STRUCTURE)
    contents = loss.egm_loss_share(depth, loss.LossPart.CONTENTS)
    assert structure * 100 == pytest.approx(np.array([0.23, 0.69, 0.76, 3.2]))
    assert contents * 100 == pytest.approx(np.array([0.33, 0.79, 1.6, 4.3]))


@pytest.mark.published(
    stage="reliability", what="loss of a finished basement by depth, per area",
    source="alberta2015", where="finished basement", origin="printed", tolerance="exact",
)  # fmt: skip
def test_second_family_of_losses() -> None:
    depth = np.array([0.1, 0.3, 0.5, 1.0])
    for between, wanted in ((0.0, [163, 232, 248, 264]), (1.0, [400, 554, 662, 780])):
        found = loss.alberta_loss_per_m2(depth, loss.LossPart.CONTENTS, between)
        assert found == pytest.approx(np.array(wanted))


@pytest.mark.published(
    stage="reliability", what="mean loss of a flooded finished basement, as insurers report it",
    source="ibc", where="43,000 Canadian dollars", origin="printed",
    tolerance="inside the span of the second family at 0.3 m on 70 m2",
)  # fmt: skip
def test_loss_that_insurers_report() -> None:
    low, high = loss.alberta_loss(np.array([0.3, 0.3]), 70.0, np.array([0.0, 1.0])).amount
    assert low < 43_000 < high
