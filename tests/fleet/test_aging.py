"""Parts between two visits: a chain of three states, against formulas and by hand."""

from __future__ import annotations

import math
from dataclasses import replace

import numpy as np
import pytest
from failures.homes import HOUR, storms

from riskkit.failures.circumstances import Circumstances, ReliabilityInputs
from riskkit.failures.faults import PUMP_CAUSES
from riskkit.fleet.aging import AGES_YR, aging_of, at_age, fault_course, faults_at, floods_by_age
from riskkit.home.home import Home

ONE = np.ones(1)
NONE = np.zeros(1)
AGES = np.array(AGES_YR)
# one storm a year that a dead pump never keeps off the floor, nobody being warned in time
REACHED = storms(
    overtopped=[0.0, 0.0], dead_to_floor_s=[HOUR, HOUR], dead_to_alarm_s=[HOUR, HOUR],
    dead_warning_s=[0.0, 0.0],
)  # fmt: skip


def known(**more: object) -> ReliabilityInputs:
    told: dict[str, object] = {
        "has_pump": True, "has_check_valve": True, "has_alarm": True, "certain": frozenset(),
        "pump_age_yr": 5.0, "visit_every_yr": 2.0,
    }  # fmt: skip
    return ReliabilityInputs(home=Home(), **(told | more))  # type: ignore[arg-type]  # fields are given by name


def test_a_part_that_fails_without_notice_and_visits_that_find_all() -> None:
    """1 - exp(-a t), by hand: nothing is failed just after a visit."""
    failed, rate = fault_course(0.3 * ONE, None, NONE, ONE, 2.0 * ONE)
    assert failed[:, 0] == pytest.approx(1 - np.exp(-0.3 * AGES), abs=1e-12)
    assert rate[:, 0] == pytest.approx(0.3 * np.exp(-0.3 * AGES), abs=1e-12)


def test_a_defect_that_can_be_seen_before_it_fails() -> None:
    """Survival exp(-a t) + a (exp(-b t) - exp(-a t))/(a - b) of two exponential times in a row."""
    a, b = 0.4, 1 / 1.5
    failed, _ = fault_course(a * ONE, 1.5, NONE, ONE, ONE)
    fit = np.exp(-a * AGES) + a * (np.exp(-b * AGES) - np.exp(-a * AGES)) / (a - b)
    assert failed[:, 0] == pytest.approx(1 - fit, abs=1e-12)


def simulated_failed(rate: float, mean: float, finds: float) -> tuple[float, float]:
    """Share of years at whose begin and end one part has failed, visit by visit, a year apart."""
    rng, visits = np.random.default_rng(8), 300_000
    onset, lasts = rng.exponential(1 / rate, visits), rng.exponential(mean, visits)
    found = rng.random(visits) < finds
    state, begun, ended = 0, 0, 0  # sound, defective, failed
    for begins, delay, is_found in zip(onset.tolist(), lasts.tolist(), found.tolist(), strict=True):
        begun += state == 2
        fails = {0: begins + delay, 1: delay, 2: 0.0}[state]
        state = 2 if fails < 1 else 1 if state == 1 or begins < 1 else 0
        ended += state == 2
        state = 0 if is_found else state
    return begun / visits, ended / visits


@pytest.mark.parametrize("finds", [1.0, 0.5])
def test_a_part_is_failed_before_and_after_a_visit_as_often_as_simulated(finds: float) -> None:
    failed, _ = fault_course(0.4 * ONE, 0.8, NONE, finds * ONE, ONE)
    begun, ended = simulated_failed(0.4, 0.8, finds)
    assert begun == pytest.approx(failed[0, 0], rel=0.02)
    assert ended == pytest.approx(failed[AGES_YR.index(1.0), 0], rel=0.02)


def test_visits_that_miss_and_faults_that_show() -> None:
    """Rausand and Hoyland's part of two states: from p it goes to u = a/(a+b), see `hidden`."""
    a, b, r, tau = 0.2, 0.5, 0.7, 2.0
    failed, _ = fault_course(a * ONE, None, b * ONE, r * ONE, tau * ONE)
    u, e = a / (a + b), math.exp(-(a + b) * tau)
    p = (1 - r) * u * (1 - e) / (1 - (1 - r) * e)
    assert failed[:, 0] == pytest.approx(u + (p - u) * np.exp(-(a + b) * AGES), abs=1e-12)


def test_many_a_fill_a_day_does_not_break_the_chain() -> None:
    failed, _ = fault_course(0.1 * ONE, 0.4, 365.25 * ONE, 0.9 * ONE, np.array([np.inf]))
    # in the long run as many fail as are shown: F = lambda G / 365.25 with G near 1
    assert failed[-1, 0] == pytest.approx(0.1 / 365.25, rel=0.05)
    lost, _ = fault_course(0.1 * ONE, None, NONE, NONE, 2 * ONE)
    assert lost[:, 0] == pytest.approx(1.0)  # nobody finds it, nothing shows it


def test_floods_rise_from_a_visit_on_and_what_was_left_floods_every_storm() -> None:
    aging = aging_of(known(), Circumstances(finds=1.0), REACHED, 1)
    course = floods_by_age(aging, REACHED)[:, 0]
    assert np.all(np.diff(course) > 0)
    # one storm a year comes, and as the pump is lost each of them floods
    left = floods_by_age(aging, REACHED, frozenset({"switch_stuck"}))[:, 0]
    assert left == pytest.approx(np.full(AGES.size, 1.0), rel=0.02)
    assert faults_at(aging, 0, frozenset({"alarm_silent"})).silent[0] == 1.0


def test_what_stands_by_and_was_left_failed_stays_so() -> None:
    home = Home().changed(second_pump__runs_on="battery", generator__starts="automatic")
    aging = aging_of(replace(known(), home=home), Circumstances(), REACHED, 1)
    for cause, name, lost in (
        ("second_pump_fails", "fails", 1.0),
        ("battery_weak", "battery_weak", 1.0),
        ("generator_fails", "generator", 0.0),
    ):
        found = faults_at(aging, 3, frozenset({cause}))
        assert found.stand_by is not None and getattr(found.stand_by, name)[0] == lost
        assert found.certain == {cause} and set(found.chance) == set(PUMP_CAUSES)
        before = faults_at(aging, 3).stand_by
        assert before is not None and 0 < getattr(before, name)[0] < 1


def test_a_second_pump_ages_from_a_visit_on_as_the_first_does() -> None:
    """Tests that find all: nothing lies hidden on the day of a visit, and more and more later.

    Of the second pump 0.01 fail when called upon; its defects come 0.04 times a year and fail a
    year later in the mean; where its battery is of an age, that wears out without notice.
    """
    home = Home().changed(second_pump__runs_on="battery", battery__age="3 yr")
    aging = aging_of(replace(known(), home=home), Circumstances(finds=1.0), REACHED, 1)
    course = [faults_at(aging, age).stand_by for age in range(AGES.size)]
    assert aging.base.moments and faults_at(aging, 3).moments == ()  # it is one of them
    fails, weak = (
        np.array([getattr(one, name)[0] for one in course]) for name in ("fails", "battery_weak")
    )
    shown = float(aging.base.shown_per_yr["backup"][0])
    assert fails[0] == pytest.approx(0.01) and weak[0] == pytest.approx(0.0, abs=1e-12)
    assert np.all(np.diff(fails) > 0) and np.all(np.diff(weak) > 0)
    rate = float(aging.base.per_yr["battery_weak"][0])
    wanted = rate / (rate + shown) * (1 - np.exp(-(rate + shown) * AGES))
    assert weak == pytest.approx(wanted, rel=1e-9)
    without = replace(known(), home=home.changed(second_pump__runs_on="mains water"))
    found = faults_at(aging_of(without, Circumstances(), REACHED, 1), 5)
    assert found.stand_by is not None and found.stand_by.battery_weak[0] == 0.0


def test_just_after_a_visit_only_failures_on_demand_are_left() -> None:
    """The switch: 2 faults a year at most found, none hidden; on demand as the table says."""
    aging = aging_of(known(), Circumstances(finds=1.0), REACHED, 1)
    now, later = faults_at(aging, 0), faults_at(aging, len(AGES_YR) - 1)
    assert 0.002 < now.chance["switch_stuck"][0] < 0.03  # 5 % and 95 % points of the table
    assert later.chance["switch_stuck"][0] > now.chance["switch_stuck"][0]
    assert now.chance["check_valve_fails"][0] == pytest.approx(0.0, abs=1e-9)  # none on demand
    assert now.chance["air_locked"][0] == later.chance["air_locked"][0]  # on demand alone


def test_without_a_pump_visits_change_nothing() -> None:
    of = replace(REACHED, has_pump=False)
    course = floods_by_age(aging_of(known(has_pump=False), Circumstances(), of, 1), of)
    assert np.ptp(course) == 0.0


def test_a_course_is_read_between_its_points() -> None:
    course = np.array([[float(age) ** 2] for age in AGES_YR])
    # from 4 to 6 years straight: 16 + (36 - 16)/2 = 26; beyond 10 years as at 10
    assert at_age(course, np.array([0.0, 5.0, 10.0, 40.0]))[:, 0].tolist() == [0, 26, 100, 100]
