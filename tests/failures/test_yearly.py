"""Chance of water on the floor in a year: worked by hand, against the tree, and what must hold."""

from __future__ import annotations

import math
from dataclasses import replace
from pathlib import Path
from typing import Any

import numpy as np
import pytest
from failures.homes import HOUR, NEVER, faults, storms
from hypothesis import given, settings
from hypothesis import strategies as st

from riskkit.errors import InputError, NoPitError, RangeError
from riskkit.failures.at_place import with_commoner
from riskkit.failures.circumstances import Circumstances, reliability_inputs
from riskkit.failures.faults import OUTAGE, PUMP_CAUSES, Faults
from riskkit.failures.home_faults import home_faults
from riskkit.failures.storms import HomeStorms, home_storms
from riskkit.failures.yearly import (
    AT_JOINT,
    NO_PUMP,
    OVERTOPPED,
    Floods,
    cause_shares,
    chance,
    floods_at,
    floods_of,
    yearly_chance,
)
from riskkit.home.home import Home, load_home
from riskkit.records import DepthDurationFrequency, Series
from riskkit.reliability.causes import pump_tree
from riskkit.reliability.fault_tree import minimal_cut_sets
from riskkit.reliability.outage_weather import chance_over_storm
from riskkit.reliability.outages import COUNTRY, outages_of
from riskkit.risk.design_rain import DesignRain
from tests.reliability.exact_tree import top_chance

RAIN = DesignRain(
    DepthDurationFrequency(
        np.array([1 / 12, 1.0, 2.0, 24.0, 72.0]),
        np.array([1.0, 10.0, 100.0]),
        np.array([[8.0, 15.0, 22.0], [25.0, 45.0, 65.0], [30.0, 55.0, 80.0],
                  [60.0, 110.0, 160.0], [70.0, 130.0, 190.0]]),
        Series.PARTIAL_DURATION,
    )
)  # fmt: skip

# ---- one draw, two storms, by hand --------------------------------------------------------------


def test_a_home_worked_by_hand() -> None:
    """Storms of 1 and 0.1 a year. Lost pump: 1 - 0.9 x 0.8 = 0.28. In time: half of 0.8, so 0.4.

    Nobody acts: 1 - 0.9 x 0.5 x 0.4 = 0.82. Storm of the year: 0.28 x 0.82 = 0.2296; the rare one
    overtops: 1. Chance between them straight in ln n: over the width 0.9 the share of the commoner
    end is (1 - 0.9 / ln 10) / 0.9 = 0.67682; rarer storms count as the rarest, 0.1 x 1.
    """
    found = floods_of(storms(), faults({"pump_sudden": 0.1, "switch_stuck": 0.2}))
    assert found.given_storm[:, 0] == pytest.approx([0.2296, 1.0])
    upper = (1 - 0.9 / math.log(10)) / 0.9
    assert upper == pytest.approx(0.67682, abs=1e-5)
    # the storm of the year is shared 1 : 2 by the two causes, 0.2296 / 3 and 0.2296 x 2 / 3
    sudden, stuck = 0.9 * upper * 0.2296 / 3, 0.9 * upper * 0.2296 * 2 / 3
    over = 0.9 * (1 - upper) + 0.1
    assert found.per_yr["pump_sudden"][0] == pytest.approx(sudden)
    assert found.per_yr["switch_stuck"][0] == pytest.approx(stuck)
    assert found.per_yr[OVERTOPPED][0] == pytest.approx(over)
    assert found.total_per_yr[0] == pytest.approx(0.53072, abs=1e-5)  # 0.04662 + 0.09324 + 0.39087
    assert 1 - math.exp(-found.total_per_yr[0]) == pytest.approx(0.41182, abs=1e-5)


def test_an_outage_floods_where_it_outlasts_the_water() -> None:
    """Half an hour from stop to floor, all of it after the alarm.

    In time: 0.8 x P(time < half an hour) = 0.8 x Phi(ln 0.5 / 0.8) = 0.8 x Phi(-0.86643) = 0.8 x
    0.19312 = 0.15450. In an outage the alarm sounds in 0.9 x 0.8 = 0.72 of the cases, so nobody
    acts in 1 - 0.72 x 0.5 x 0.15450 = 0.94438.
    """
    half = [HOUR / 2, HOUR / 2]
    home = storms(overtopped=[0.0, 0.0], stop_to_floor_s=half, stop_warning_s=half)
    out = float(chance_over_storm(outages_of(COUNTRY), 24.0, 6.0, 0.5))
    found = floods_of(home, faults())
    assert found.given_storm[:, 0] == pytest.approx(out * 0.94438, abs=1e-6)
    # with a lost pump besides, the shorter warning counts: 0.28 x 0.82 where there is power
    both = floods_of(home, faults({"pump_sudden": 0.1, "switch_stuck": 0.2}))
    by_hand = out * 0.94438 + (1 - out) * 0.28 * 0.82
    assert both.given_storm[:, 0] == pytest.approx(by_hand, abs=1e-6)


def test_dry_weather_floods_once_for_each_fault() -> None:
    """No storm reaches the floor; ground water does in five hours, an hour of them after the alarm.

    0.05 faults a year, nobody acts in 0.82 of them: 0.041. Outages without weather that last five
    hours, of the national statistics: solved elsewhere, here their chance that nobody acts,
    1 - 0.72 x 0.5 x 0.4 = 0.856.
    """
    never = [NEVER, NEVER]
    home = storms(
        overtopped=[0.0, 0.0], dead_to_floor_s=never, dead_warning_s=never,
        dry_to_floor_s=5 * HOUR, dry_to_alarm_s=4 * HOUR,
    )  # fmt: skip
    found = floods_of(home, faults(per_yr={"switch_stuck": 0.05}))
    assert found.per_yr["switch_stuck"][0] == pytest.approx(0.05 * 0.82)
    country = outages_of(COUNTRY)
    some = country.ordinary_per_yr * math.exp(-5 / country.ordinary_h)
    some += country.major_per_yr * math.exp(-5 / country.major_h)
    assert 0 < found.per_yr[OUTAGE][0] < some * 0.856
    assert found.given_storm.max() == 0.0


def test_the_same_as_the_tree_where_all_times_are_one() -> None:
    alike = [2 * HOUR, 2 * HOUR]
    home = storms(
        overtopped=[0.0, 0.0], dead_to_floor_s=alike, dead_warning_s=alike, stop_to_floor_s=alike,
        stop_warning_s=alike,
    )  # fmt: skip
    rates = dict(zip(PUMP_CAUSES, (0.1, 0.05, 0.2, 0.03, 0.01, 0.02, 0.07, 0.04), strict=True))
    system = faults(rates, missing=0.05)
    out = chance_over_storm(outages_of(COUNTRY), 24.0, 6.0, 2.0)
    events = {key: np.array([value]) for key, value in rates.items()} | {
        OUTAGE: np.atleast_1d(out), "generator_fails": np.ones(1),
        "second_pump_missing": np.ones(1), "second_pump_fails": np.zeros(1),
        "second_pump_small": np.zeros(1), "battery_weak": np.zeros(1),
        "alarm_missing": system.missing, "alarm_silent": system.silent,
        "alarm_battery_dead": system.battery_dead, "nobody_hears": 1 - system.hears,
        "nobody_in_time": 1 - system.in_time(np.array([2 * HOUR])),
    }  # fmt: skip
    wanted = top_chance(minimal_cut_sets(pump_tree()), events)
    assert floods_of(home, system).given_storm[0] == pytest.approx(wanted, rel=1e-12)


def test_a_home_without_a_pump_floods_in_every_storm_that_reaches_the_floor() -> None:
    home = storms(has_pump=False, overtopped=[0.0, 0.0], dead_to_floor_s=[NEVER, HOUR])
    found = floods_of(home, faults())
    assert list(found.per_yr) == [NO_PUMP]
    # nothing in the storm of a year, all in the rare one: as what overtops by hand above
    assert found.total_per_yr[0] == pytest.approx(0.390865, abs=1e-6)
    wet = floods_of(storms(has_pump=False, dry_to_floor_s=HOUR), faults())
    assert 1 - np.exp(-wet.total_per_yr[0]) == pytest.approx(1.0)


def test_water_at_the_joint_is_told_apart_from_what_the_pump_cannot_carry() -> None:
    """The rare storm comes in at the joint: the same as what overtops by hand above, 0.390865."""
    found = floods_of(storms(overtopped=[0.0, 0.0], at_joint=[0.0, 1.0]), faults())
    assert found.per_yr[AT_JOINT][0] == pytest.approx(0.390865, abs=1e-6)
    assert found.per_yr[OVERTOPPED][0] == 0.0
    with pytest.raises(RangeError, match="joint"):
        storms(at_joint=[0.0, 1.0])


def test_a_draw_that_floods_all_the_time_counts_for_one() -> None:
    """Six floods a year by the storm in one draw, a tenth by the switch in the other: chances of
    1 - exp(-6) = 0.99752 and 1 - exp(-0.1) = 0.09516, halved 0.49876 and 0.04758."""
    six, tenth = np.array([6.0, 0.0]), np.array([0.0, 0.1])
    floods = Floods(np.zeros((2, 2)), {}, {}, {OVERTOPPED: six, "switch_stuck": tenth})
    over, stuck = cause_shares(floods)
    assert (over.cause, stuck.cause) == (OVERTOPPED, "switch_stuck")
    assert (over.chance, stuck.chance) == pytest.approx((0.49876, 0.04758), abs=1e-5)
    assert stuck.share == pytest.approx(0.04758 / 0.54634, abs=1e-5)
    assert over.per_yr == pytest.approx(3.0)


# ---- what must hold whatever the numbers --------------------------------------------------------

share = st.floats(0.0, 1.0)
hours = st.floats(0.01, 100.0) | st.just(math.inf)


@st.composite
def homes(draw: st.DrawFn) -> tuple[HomeStorms, dict[str, float], dict[str, float]]:
    warn = sorted((draw(hours) for _ in range(2)), reverse=True)
    stop = sorted((draw(hours) for _ in range(2)), reverse=True)
    later = draw(st.floats(0.0, 10.0))
    over = [0.0, float(draw(st.booleans()))]
    home = storms(
        overtopped=over,
        dead_to_floor_s=[(w + later) * HOUR for w in warn],
        dead_warning_s=[w * HOUR for w in warn],
        stop_to_floor_s=[s * HOUR for s in stop],
        stop_warning_s=[s * HOUR * draw(st.just(0.7)) for s in stop],
    )
    chances = {key: draw(share) for key in PUMP_CAUSES}
    more = {key: draw(share) for key in ("missing", "silent", "battery_dead", "hears", "can_act")}
    return home, chances, more


@settings(max_examples=150, deadline=None)
@given(homes())
def test_between_the_largest_cause_and_the_sum_of_all(
    case: tuple[HomeStorms, dict[str, float], dict[str, float]],
) -> None:
    home, chances, more = case
    found = floods_of(home, faults(chances, **more))
    alone = np.stack(list(found.alone.values()))
    assert np.all(found.given_storm >= alone.max(axis=0) - 1e-12)
    assert np.all(found.given_storm <= np.minimum(alone.sum(axis=0), 1.0) + 1e-12)
    assert np.all((found.given_storm >= 0) & (found.given_storm <= 1 + 1e-12))


@settings(max_examples=150, deadline=None)
@given(homes(), st.sampled_from([*PUMP_CAUSES, "missing", "silent", "battery_dead"]), share)
def test_a_better_part_never_raises_the_chance(
    case: tuple[HomeStorms, dict[str, float], dict[str, float]], part: str, better: float
) -> None:
    home, chances, more = case
    before = floods_of(home, faults(chances, **more)).total_per_yr[0]
    if part in chances:
        chances = chances | {part: chances[part] * better}
    else:
        more = more | {part: more[part] * better}
    assert floods_of(home, faults(chances, **more)).total_per_yr[0] <= before + 1e-12


@settings(max_examples=100, deadline=None)
@given(homes(), share, st.sampled_from(["hears", "can_act", "outage_factor", "acts_after_s"]))
def test_better_people_and_power_never_raise_the_chance(
    case: tuple[HomeStorms, dict[str, float], dict[str, float]], more_of_it: float, what: str
) -> None:
    home, chances, more = case
    before = floods_of(home, faults(chances, **more)).total_per_yr[0]
    now = {"outage_factor": 1.0, "acts_after_s": HOUR} | more
    better = now[what] + (1 - now[what]) * more_of_it
    if what in ("outage_factor", "acts_after_s"):
        better = now[what] * (1 - 0.99 * more_of_it)
    found = floods_of(home, faults(chances, **(more | {what: better}))).total_per_yr[0]
    assert found <= before + 1e-12


# ---- commoner storms ----------------------------------------------------------------------------


def test_commoner_storms_follow_the_logarithm_of_their_rate() -> None:
    """24 h: 60 mm once a year, 110 mm in ten: 50 / ln 10 = 21.715 a factor e; twice a year 60 -
    21.715 ln 2 = 44.95 mm, six times 60 - 21.715 ln 6 = 21.09 mm."""
    table = with_commoner(RAIN.used)
    assert table.return_period_yr == pytest.approx([1 / 6, 1 / 2, 1, 10, 100])
    assert table.depth_mm[3, :2] == pytest.approx([21.09, 44.95], abs=0.005)
    assert np.all(np.diff(table.depth_mm, axis=1) >= 0)
    assert table.depth_mm[:, 2:] == pytest.approx(RAIN.used.depth_mm)
    steep = replace(RAIN.used, depth_mm=np.array([[3.0, 27.0, 60.0]] * 5))
    assert with_commoner(steep).depth_mm[:, 0] == pytest.approx(0.3)  # a tenth of 3 mm, never less
    assert with_commoner(table) is table


def test_limits_of_commoner_storms_are_as_wide_as_those_of_the_commonest_of_the_table() -> None:
    """10 mm once a year, 8 to 15; 12 mm in two years, 11.4 to 14. Twice a year 10 - 2 = 8 mm, six
    times 10 - 2 ln 6 / ln 2 = 4.8301 mm: 0.8 of them and 1.5 of them, not 0.95 and 1.17."""
    rows = {"depth_mm": [10.0, 12.0], "lower_mm": [8.0, 11.4], "upper_mm": [15.0, 14.0]}
    told = {key: np.array([row] * 2) for key, row in rows.items()}
    table = DepthDurationFrequency(
        np.array([1.0, 24.0]), np.array([1.0, 2.0]), series=Series.PARTIAL_DURATION, **told
    )
    found = with_commoner(table)
    assert found.lower_mm is not None and found.upper_mm is not None
    assert found.depth_mm[1] == pytest.approx([4.8301, 8.0, 10.0, 12.0], abs=1e-4)
    assert found.lower_mm[1] == pytest.approx([3.8641, 6.4, 8.0, 11.4], abs=1e-4)
    assert found.upper_mm[1] == pytest.approx([7.2451, 12.0, 15.0, 14.0], abs=1e-4)


# ---- whole homes --------------------------------------------------------------------------------


@pytest.fixture
def clay(demo_sites: Path) -> Home:
    return load_home(demo_sites / "split_level_on_clay.toml")


@pytest.fixture
def creek(demo_sites: Path) -> Home:
    return load_home(demo_sites / "row_house_near_creek.toml")


def with_checks(home: Home, **checks: str) -> Home:
    return home.changed(visit=[{"date": "2026-04-14", "checks": checks}])


def test_the_parts_add_up_and_the_spread_is_that_of_the_draws(clay: Home) -> None:
    found = chance(clay, RAIN, n_draws=64)
    assert sum(each.share for each in found.causes) == pytest.approx(1.0)
    assert sum(each.chance for each in found.causes) == pytest.approx(found.mean)
    assert sum(each.per_yr for each in found.causes) == pytest.approx(found.floods_per_yr)
    assert found.chance_by_draw == pytest.approx(1 - np.exp(-found.per_yr_by_draw))
    points = np.sort(found.chance_by_draw)
    # smallest draws that 10, 50 and 90 % of the 64 do not exceed: the 7th, 32nd and 58th
    assert found.chance.low == points[6]
    assert found.chance.median == points[31]
    assert found.chance.high == points[57]
    assert found.one_year_in.median == pytest.approx(1 / points[31])
    assert found.to_frame()["share"].is_monotonic_decreasing
    total = sum(each.per_yr for each in found.cut_sets)
    assert total >= found.floods_per_yr  # rare events, added up
    # both tables share out one chance: by cause, and by what has to come together
    assert sum(each.chance for each in found.cut_sets) == pytest.approx(found.mean)
    joint = next(each for each in found.cut_sets if each.causes == ("at_joint",))
    cause = next(each for each in found.causes if each.cause == "at_joint")
    assert joint.chance == pytest.approx(cause.chance, rel=0.05)  # sets overlap a little
    assert {rate.basis for rate in found.rates} <= {"judgement", "common_practice", "given"}


def test_the_floods_alone_are_those_of_the_whole_answer(clay: Home) -> None:
    """Of two storms, one and a tenth a year, the rare one overtops the pump: at least 0.1 a year,
    and no more than the 1 of both, whatever else fails."""
    made = storms()
    found = floods_at(clay, Circumstances(hears=0.0), made, 2)
    assert found.alone["overtopped"][:, 0].tolist() == [0.0, 1.0]
    assert 0.1 < found.total_per_yr[0] < 1.0
    whole = yearly_chance(clay, Circumstances(hears=0.0), made, 2)
    assert found.total_per_yr[0] == whole.per_yr_by_draw[0]
    heard = floods_at(clay, Circumstances(hears=1.0), made, 2)  # an hour's warning
    assert heard.total_per_yr[0] < found.total_per_yr[0]


def test_what_a_visit_left_broken_is_never_calm(clay: Home) -> None:
    storms_of = home_storms(clay, RAIN, 64, 1)

    def told(home: Home) -> float:
        return yearly_chance(home, Circumstances(), storms_of).floods_per_yr

    whole = told(with_checks(clay, float_free="yes", alarm_sounded="yes"))
    silent = told(with_checks(clay, float_free="yes", alarm_sounded="no"))
    stuck = told(with_checks(clay, float_free="no", alarm_sounded="yes"))
    both = told(with_checks(clay, float_free="no", alarm_sounded="no"))
    assert whole < silent < both
    assert whole < stuck < both
    blocked = told(with_checks(clay, outlet_clear="no", alarm_sounded="no"))
    # no pump and no warning: each storm that reaches the floor floods it
    wet = np.isfinite(storms_of.dead_to_floor_s)
    rate = storms_of.rate_per_yr
    steps = rate[:-1] - rate[1:]
    least = (steps[:, None] * wet[:-1]).sum(axis=0).mean() + rate[-1] * wet[-1].mean()
    assert blocked >= least
    state = yearly_chance(with_checks(clay, float_free="no"), Circumstances(), storms_of)
    assert "switch_stuck" in state.certain
    assert state.causes[0].is_certain or state.causes[1].is_certain


def test_no_alarm_and_no_pump_are_told(clay: Home) -> None:
    storms_of = home_storms(clay, RAIN, 64, 1)
    before = yearly_chance(clay, Circumstances(), storms_of).floods_per_yr
    silent = clay.changed(switch__alarm="none")
    assert reliability_inputs(silent, Circumstances()).has_alarm is False
    after = yearly_chance(silent, Circumstances(), storms_of)
    assert after.floods_per_yr > before
    first = next(each for each in after.cut_sets if len(each.causes) > 1)
    assert "alarm_missing" in first.causes
    bare = clay.changed(pump__rated_flow="none")
    found = chance(bare, RAIN, n_draws=64)
    assert [each.cause for each in found.causes] == [NO_PUMP]
    assert found.floods_per_yr > after.floods_per_yr
    with pytest.raises(NoPitError):
        chance(clay.changed(pit__diameter="none"), RAIN)


def test_mended_parts_and_age(creek: Home) -> None:
    storms_of = home_storms(creek, RAIN, 64, 1)

    def told(home: Home = creek, **more: object) -> float:
        return yearly_chance(home, Circumstances(**more), storms_of).floods_per_yr  # type: ignore[arg-type]  # by name

    assert told(pump_age_yr=0.0) < told(pump_age_yr=8.0) < told(pump_age_yr=15.0)
    assert told(visit_every_yr=0.5) < told(visit_every_yr=2.0) < told(visit_every_yr=math.inf)
    assert told(owner_test_every_yr=0.25) < told()
    assert told(remote_alarm=True) < told()
    assert told(area="Maine") > told() > told(area="Rhode Island")
    broken = with_checks(creek, float_free="no", alarm_sounded="no")
    mended = frozenset({"switch_stuck", "alarm_silent"})
    assert told(broken, mended=mended, visit_every_yr=1.0) < told(broken, visit_every_yr=1.0)


def test_age_and_interval_come_from_the_visits(creek: Home) -> None:
    import datetime

    # 2025-10-14 to 2026-10-13 is 364 days
    known = reliability_inputs(creek, Circumstances())
    assert known.visit_every_yr == pytest.approx(364 / 365.25)
    assert known.pump_age_yr is None
    changed = creek.changed(visit=[
        {"date": "2020-03-01", "parts": ["Sump pump"]}, {"date": "2022-03-01", "parts": ["hose"]},
        {"date": "2025-03-01"},
    ])  # fmt: skip
    day = datetime.date(2026, 3, 1)
    assert reliability_inputs(changed, Circumstances(day=day)).pump_age_yr == pytest.approx(
        2191 / 365.25
    )
    # five years between three visits
    assert reliability_inputs(changed, Circumstances()).visit_every_yr == pytest.approx(
        1826 / 730.5
    )


def test_a_dead_pump_that_ground_water_shows_lies_dead_for_a_day(creek: Home) -> None:
    home = storms(dry_to_floor_s=24 * HOUR, dry_to_alarm_s=12 * HOUR)
    known = reliability_inputs(creek, Circumstances(visit_every_yr=math.inf))
    found = home_faults(known, Circumstances(visit_every_yr=math.inf), home, 1)
    # shown 365.25 times a year and by the storm of the year at least; 0.03 faults a year
    assert found.shown_per_yr["switch"][0] >= 366.25
    hidden = found.per_yr["switch_stuck"][0] / found.shown_per_yr["switch"][0]
    assert hidden < 0.2 / 366.25
    rare = home_faults(known, Circumstances(visit_every_yr=math.inf), storms(), 1)
    assert rare.shown_per_yr["switch"][0] < 3


def test_what_is_taken_of_people_and_what_they_tell(clay: Home) -> None:
    """The medians of tables/response.csv: 60 min, by a factor of 2.2; 0.7 hear, 0.6 can act."""

    def people(**told: Any) -> Faults:
        some = Circumstances(**told)
        return home_faults(reliability_inputs(clay, some), some, storms(), 1)

    usual = people()
    assert usual.acts_after_s[0] == pytest.approx(3600.0)
    assert usual.acts_log_sd[0] == pytest.approx(math.log(2.2))
    assert (usual.hears[0], usual.can_act[0]) == pytest.approx((0.7, 0.6))
    assert usual.storm_h[0] == pytest.approx(24.0)
    assert usual.missing[0] == 0.0  # the file says how high the alarm hangs
    told = people(hears=0.2, can_act=0.3, acts_after_min=15.0)
    assert (told.hears[0], told.can_act[0], told.acts_after_s[0]) == (0.2, 0.3, 900.0)
    assert people(remote_alarm=True).hears[0] == pytest.approx(0.95)
    bare = reliability_inputs(clay.changed(switch__alarm="unknown"), Circumstances())
    assert bare.has_alarm is None
    assert home_faults(bare, Circumstances(), storms(), 1).missing[0] == pytest.approx(0.5)
    sure = Circumstances(has_alarm=True)
    assert reliability_inputs(clay.changed(switch__alarm="unknown"), sure).has_alarm is True


@pytest.mark.parametrize(
    ("wrong", "said"),
    [
        ({"hears": 1.2}, "chance that somebody hears the alarm"),
        ({"can_act": -0.1}, "chance that somebody can lift the water away"),
        ({"visit_every_yr": 0.0}, "time between visits"),
        ({"owner_test_every_yr": 0.0}, "time between tests by the owner"),
        ({"finds": 2.0}, "chance that a visit finds a fault"),
        ({"acts_after_min": -5.0}, "time until somebody lifts the water away"),
        ({"acts_after_min": math.inf}, "time until somebody lifts the water away"),
        ({"pump_age_yr": -1.0}, "age of the pump"),
        ({"pump_age_yr": math.nan}, "age of the pump"),
        ({"pump_age_yr": math.inf}, "age of the pump"),
    ],
)
def test_what_cannot_be_is_refused_in_the_words_of_people(
    wrong: dict[str, float], said: str
) -> None:
    with pytest.raises(RangeError, match=f"^{said}"):
        Circumstances(**wrong)  # type: ignore[arg-type]  # by name


def test_an_area_without_statistics_is_refused() -> None:
    with pytest.raises(InputError, match="Alder Bend"):
        Circumstances(area="Alder Bend")


def test_the_same_draws_give_the_same_answer(clay: Home) -> None:
    one, two = (chance(clay, RAIN, n_draws=32, seed=3) for _ in range(2))
    assert np.array_equal(one.per_yr_by_draw, two.per_yr_by_draw)
    other = chance(clay, RAIN, n_draws=32, seed=4)
    assert not np.array_equal(one.per_yr_by_draw, other.per_yr_by_draw)


@pytest.mark.parametrize(
    ("check", "cause"),
    [
        ("float_hangs_free", "switch_stuck"),
        ("outlet_ice_free", "outlet_frozen"),
        ("check_valve_opens", "check_valve_fails"),
        ("air_hole_clear", "air_locked"),
        ("inlet_clear", "inlet_clogged"),
    ],
)
def test_what_a_visit_left_is_certain(clay: Home, check: str, cause: str) -> None:
    left = with_checks(clay, **{check: "no"})
    assert cause in reliability_inputs(left, Circumstances()).certain
    assert (
        cause
        not in reliability_inputs(with_checks(clay, **{check: "yes"}), Circumstances()).certain
    )
