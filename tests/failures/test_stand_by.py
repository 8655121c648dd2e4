"""A second pump, its battery and a generator: worked by hand, and what must hold."""

from __future__ import annotations

import re
from dataclasses import replace
from pathlib import Path
from typing import Any

import numpy as np
import pytest
from failures.homes import HOUR, NEVER, faults, storms
from failures.test_yearly import RAIN
from hypothesis import given, settings
from hypothesis import strategies as st

from riskkit.ensemble.draws import draw_homes
from riskkit.ensemble.quantiles import Points
from riskkit.errors import InputError
from riskkit.failures.backup import (
    Electric,
    drawn,
    electric_of,
    fuel_s,
    second_pits,
)
from riskkit.failures.faults import OUTAGE, PUMP_CAUSES, StandBy
from riskkit.failures.second_pump import SecondPumpRuns, _dry, _use, battery_course
from riskkit.failures.stand_by import _outlasted_s, lost_by
from riskkit.failures.storms import HomeStorms, home_storms, water_key
from riskkit.failures.yearly import chance, floods_of
from riskkit.home.backup import Backup, RunsOn, Starts, backup_of
from riskkit.home.home import Home, load_home
from riskkit.quantities.units import UnitSystem
from riskkit.reliability.battery import Battery
from riskkit.reliability.outage_weather import chance_over_storm
from riskkit.reliability.outages import COUNTRY, outages_of
from riskkit.report.chance_words import second_line
from riskkit.risk.design_rain import rain_of

GPM = 0.0037854118 / 60  # m3/s: 231 cubic inches a minute, by definition


@pytest.fixture(scope="module")
def clay() -> Home:
    return load_home(Path(__file__).parents[2] / "demo_sites" / "split_level_on_clay.toml")


def second(**rows: Any) -> SecondPumpRuns:
    """Carries both storms; four hours in an outage, within the storm, and never spent on mains."""
    wide = ("carries", "overtopped", "at_joint", "outlasts_s", "in_storm", "spent_on_mains")
    usual: dict[str, Any] = {key: [0.0, 0.0] for key in wide}
    usual |= {"carries": [1.0, 1.0], "outlasts_s": [4 * HOUR] * 2, "in_storm": [1.0, 1.0]}
    usual |= {"flow_m3_s": 0.001, "dry_carries": 1.0, "dry_outlasts_s": 4 * HOUR}
    usual |= {"dry_spent_on_mains": 0.0} | rows
    return SecondPumpRuns(**{
        key: np.array(value, float)[:, None] if key in wide else np.array([value])
        for key, value in usual.items()
    })  # fmt: skip


def stand_by(**told: Any) -> StandBy:
    """A second pump that fails in 1 of 10, its battery in 2 of 10, with a beta factor of 0.05."""
    one = {"fails": 0.1, "battery_weak": 0.2, "generator": 0.0, "fuel_s": 0.0} | told
    beta = one.pop("beta", 0.05)
    shared = {key: np.array([1.0 if key == "outlet_frozen" else beta]) for key in PUMP_CAUSES}
    return StandBy(shared=shared, **{key: np.array([value]) for key, value in one.items()})


# ---- batteries by hand --------------------------------------------------------------------------


def electric(charge_a: float = 0.0, idle_a: float = 0.0) -> Electric:
    plate = Battery(75.0, 20.0, 1.2, 0.8, 0.0, 5.0, 25.0)
    one = replace(plate, **{key: np.array([value]) for key, value in vars(plate).items()})
    return Electric(one, np.array([15.0]), np.array([idle_a]), np.array([charge_a]))


FULL_H = 0.8 * 20 / 4**1.2  # 15 A is four times the rated 3.75 A


def test_a_battery_that_runs_all_the_time() -> None:
    lasts, within, spent = battery_course(np.full((1, 40), 2.0), 900.0, electric())
    assert pytest.approx(3.0314, abs=1e-4) == FULL_H
    assert lasts[0] / HOUR == pytest.approx(FULL_H)
    assert (within[0], spent[0]) == (1.0, 1.0)


def test_the_outage_begins_when_it_is_worst_for_the_battery() -> None:
    """A quarter of the time in 5 h, all of it in 2 h, a quarter in 13 h.

    From the beginning of the peak 2 h take 2 / 3.0314 = 0.65976; the rest at a quarter of the pace:
    0.34024 x 4 x 3.0314 = 4.1256 h. From the beginning of the storm it would be longer.
    """
    use = np.array([[0.25] * 20 + [1.0] * 8 + [0.25] * 52])
    lasts, within, _ = battery_course(use, 900.0, electric())
    assert lasts[0] / HOUR == pytest.approx(2 + (1 - 2 / FULL_H) * 4 * FULL_H)
    assert within[0] == 1.0
    # two hours of it alone, then nothing: what is left lasts for ever
    lasts, within, _ = battery_course(np.array([[1.0] * 8 + [0.0] * 8]), 900.0, electric())
    assert (lasts[0], within[0]) == (np.inf, 0.0)
    # and between runs 0.5 A, whose 120 h go on after the last step
    short = np.array([[1.0] * 8 + [0.0] * 8])
    lasts, within, _ = battery_course(short, 900.0, electric(idle_a=0.5))
    assert lasts[0] / HOUR == pytest.approx(2 + (1 - 2 / FULL_H) * 120)
    assert within[0] == 0.0


def test_a_charger_keeps_up_or_not() -> None:
    """At 15 A the battery gives 15 x 3.0314 = 45.47 Ah. 5 A put back 0.10996 of it in an hour,
    against 0.32988 that go: spent after 1 / 0.21992 = 4.547 h."""
    for steps, wanted in ((18, 0.0), (19, 1.0)):  # 4.5 h and 4.75 h
        _, _, spent = battery_course(np.ones((1, steps)), 900.0, electric(charge_a=5.0))
        assert spent[0] == wanted
    assert battery_course(np.ones((1, 400)), 900.0, electric(charge_a=15.1))[2][0] == 0.0


def test_a_battery_of_which_nothing_may_be_drawn_is_spent_at_once() -> None:
    """Whether the pump runs all the time, half of it or not at all: there is nothing to take."""
    plate = electric(idle_a=0.5)
    flat = replace(plate, battery=replace(plate.battery, usable=np.array([0.0])))
    for use in (2.0, 0.5, 0.0):
        lasts, within, spent = battery_course(np.full((1, 8), use), 900.0, flat)
        assert lasts[0] < 0.001 and (within[0], spent[0]) == (1.0, 1.0)


def test_a_charger_keeps_up_in_dry_weather_or_not() -> None:
    """All the time at 15 A the battery lasts 3.0314 h and gives 45.47 Ah. 5 A put back 0.10996 of
    it in an hour, a third in that time: spent; 20 A 0.43984, four thirds: it never is."""
    pump = Backup(RunsOn.BATTERY, None, has_well=False, battery_age_yr=None)
    for charge_a, wanted in ((5.0, 1.0), (14.9, 1.0), (15.1, 0.0), (20.0, 0.0)):
        lasts, spent = _dry(np.array([2.0]), electric(charge_a=charge_a), pump)
        assert lasts[0] / HOUR == pytest.approx(FULL_H)
        assert spent[0] == wanted


def test_two_ratings_of_the_plate_give_the_exponent(clay: Home) -> None:
    """75 Ah in 20 h and 42 Ah in 1 h: ln 20 / ln(42 / 3.75) = 2.99573 / 2.41591 = 1.23999."""
    told = {"capacity": "75 Ah", "rated_hours": "20 h", "second_capacity": "42 Ah"}
    home = clay.changed(battery=told | {"second_hours": "1 h"})
    found = electric_of(home, backup_of(home), 8, 1).battery.exponent
    assert found == pytest.approx(np.full(8, 1.23999), abs=1e-5)
    for hours, words in (("20 h", "same as"), ("19 h", "Peukert exponent of")):
        wrong = clay.changed(battery=told | {"second_hours": hours})
        with pytest.raises(InputError, match=words):
            electric_of(wrong, backup_of(wrong), 8, 1)


def test_an_inverter_takes_its_share(clay: Home) -> None:
    """600 W through 80 % of 12 V: 62.5 A."""
    home = clay.changed(
        second_pump={"runs_on": "inverter", "electric_power": "590 to 610 W"},
        battery={"volts": "11.9 to 12.1 V", "inverter_efficiency": "79 to 81 %"},
    )
    found = electric_of(home, backup_of(home), 64, 1)
    assert np.median(found.current_a) == pytest.approx(62.5, rel=0.01)


# ---- one draw, two storms, by hand --------------------------------------------------------------


def with_second(home: HomeStorms, **rows: Any) -> HomeStorms:
    return replace(home, second=second(**rows))


def dry() -> HomeStorms:
    return storms(overtopped=[0.0, 0.0])


def test_a_second_pump_worked_by_hand() -> None:
    """No outages; faults of 0.1 and 0.2, of which a twentieth takes both pumps.

    Both: 1 - (1 - 0.005)(1 - 0.01) = 0.01495. Nobody acts in 0.82. With the second pump fit, in
    0.9 x 0.8 = 0.72 of the cases: 0.01495 x 0.82 = 0.012259; else 0.28 x 0.82 = 0.2296.
    Together 0.28 x 0.2296 + 0.72 x 0.012259 = 0.0731145.
    """
    told = {"pump_sudden": 0.1, "switch_stuck": 0.2}
    system = faults(told, outage_factor=0.0)
    system = replace(system, stand_by=stand_by())
    found = floods_of(with_second(dry()), system)
    assert found.given_storm[:, 0] == pytest.approx([0.0731145] * 2)
    # one that cannot carry the storm, or whose battery is spent on mains, helps nothing
    small = floods_of(with_second(dry(), carries=[0.0, 0.0]), system)
    assert small.given_storm[:, 0] == pytest.approx([0.2296] * 2)
    stops = storms(overtopped=[0.0, 0.0], stop_to_floor_s=[HOUR] * 2, stop_warning_s=[HOUR] * 2)
    spent = floods_of(with_second(stops, spent_on_mains=[1.0, 0.0]), system)
    assert spent.given_storm[:, 0] == pytest.approx([0.2296, 0.0731145])
    # ice closes both outlets whenever it is there
    outlet = replace(faults({"outlet_frozen": 0.1}, outage_factor=0.0), stand_by=stand_by())
    assert floods_of(with_second(dry()), outlet).given_storm[0, 0] == pytest.approx(0.082)


def test_an_outage_has_to_outlast_the_battery() -> None:
    """Half an hour from stop to floor, nobody acts in 0.94438 (see the home without a second one).

    With the second pump fit, in 0.72 of the cases, the outage has to last 4.5 h.
    """
    half = [HOUR / 2] * 2
    home = storms(overtopped=[0.0, 0.0], stop_to_floor_s=half, stop_warning_s=half)
    system = replace(faults(), stand_by=stand_by())
    short, long = (
        float(chance_over_storm(outages_of(COUNTRY), 24.0, 6.0, hours)) for hours in (0.5, 4.5)
    )
    wanted = (0.28 * short + 0.72 * long) * 0.94438
    found = floods_of(with_second(home), system)
    assert found.given_storm[:, 0] == pytest.approx([wanted] * 2, abs=1e-6)
    # spent only when dry weather has come back, in which no water reaches the floor
    later = floods_of(with_second(home, in_storm=[0.0, 0.0]), system)
    assert later.given_storm[:, 0] == pytest.approx([0.28 * short * 0.94438] * 2, abs=1e-6)


def test_a_generator_works_until_its_fuel_is_spent() -> None:
    half = [HOUR / 2] * 2
    home = storms(overtopped=[0.0, 0.0], stop_to_floor_s=half, stop_warning_s=half)
    none = stand_by(fails=1.0, generator=0.9, fuel_s=8 * HOUR)
    short, long = (
        float(chance_over_storm(outages_of(COUNTRY), 24.0, 6.0, hours)) for hours in (0.5, 8.5)
    )
    found = floods_of(home, replace(faults(), stand_by=none))
    wanted = (0.1 * short + 0.9 * long) * 0.94438
    assert found.given_storm[:, 0] == pytest.approx([wanted] * 2, abs=1e-6)
    # by hand: who hears it can act in 1 - 0.2 x 0.5 = 0.9 instead of 0.8 of the cases
    by_hand = floods_of(home, faults(hand_start=0.5))
    late = 0.72 * 0.5 * 0.9 * 0.19312
    assert by_hand.given_storm[:, 0] == pytest.approx([short * (1 - late)] * 2, abs=1e-5)


def test_dry_weather_with_a_second_pump() -> None:
    """Ground water reaches the floor in five hours; 0.05 faults a year, nobody acts in 0.82.

    The second pump is fit in 0.72 of the cases; then a twentieth of the faults is left.
    """
    never = [NEVER, NEVER]
    home = storms(
        overtopped=[0.0, 0.0], dead_to_floor_s=never, dead_warning_s=never,
        dry_to_floor_s=5 * HOUR, dry_to_alarm_s=4 * HOUR,
    )  # fmt: skip
    system = replace(faults(per_yr={"switch_stuck": 0.05}), stand_by=stand_by())
    found = floods_of(with_second(home), system)
    assert found.per_yr["switch_stuck"][0] == pytest.approx(0.05 * 0.82 * (0.28 + 0.72 * 0.05))
    spent = floods_of(with_second(home, dry_spent_on_mains=1.0), system)
    assert spent.per_yr["switch_stuck"][0] == pytest.approx(0.05 * 0.82)
    alone = floods_of(home, replace(system, stand_by=None))
    assert found.per_yr[OUTAGE][0] < alone.per_yr[OUTAGE][0]


def test_two_causes_that_leave_no_pump_by_hand() -> None:
    """A fault of the first pump in 0.3; the second fails in 0.1, its battery is weak in 0.2.

    Fails too: 0.3 x 0.1 = 0.03. Too small where it carries a quarter: 0.3 x 0.75 = 0.225. Battery,
    spent on mains in the first storm alone: 0.3 x (0.2 + 0.8 x 1) = 0.3 and 0.3 x 0.2 = 0.06. In
    dry weather 0.05 a year, of which a tenth, 1 - 0.6, and 0.2 + 0.8 x 0.5 = 0.6 are left.
    """
    system = replace(faults({"switch_stuck": 0.3}, per_yr={"switch_stuck": 0.05}),
                     stand_by=stand_by())  # fmt: skip
    home = with_second(
        storms(dry_to_floor_s=5 * HOUR, dry_to_alarm_s=4 * HOUR), carries=[0.25, 1.0],
        spent_on_mains=[1.0, 0.0], dry_carries=0.6, dry_spent_on_mains=0.5,
    )  # fmt: skip

    def lost(with_it: str | None) -> tuple[list[float], float]:
        in_storm, in_dry = lost_by("switch_stuck", with_it, home, system, np.zeros(1))
        return in_storm[:, 0].tolist(), float(in_dry[0])

    for with_it, chances, rate in (
        (None, [0.3, 0.3], 0.05), ("second_pump_fails", [0.03, 0.03], 0.005),
        ("second_pump_small", [0.225, 0.0], 0.02), ("battery_weak", [0.3, 0.06], 0.03),
    ):  # fmt: skip
        in_storm, in_dry = lost(with_it)
        assert in_storm == pytest.approx(chances) and in_dry == pytest.approx(rate), with_it


def test_two_pumps_carry_what_one_does_not() -> None:
    """The rare storm overtops one pump; with the second fit, in 0.72 of the cases, it does not."""
    found = floods_of(with_second(storms()), replace(faults(), stand_by=stand_by()))
    assert found.given_storm[:, 0] == pytest.approx([0.0, 0.28])


def test_a_generator_by_hand_does_not_refill_a_battery_that_mains_power_does_not() -> None:
    """The first pump is lost, the second spent on mains power too: water comes, outage or not."""
    home = storms(stop_to_floor_s=[2 * HOUR] * 2, stop_warning_s=[100 * HOUR] * 2)
    runs = second(spent_on_mains=[1.0] * 2, in_storm=[1.0] * 2, outlasts_s=[HOUR] * 2)
    lost = faults({"pump_sudden": 1.0}, hears=1.0, can_act=0.0, hand_start=1.0)
    fit = stand_by(fails=0.0, battery_weak=0.0, beta=0.0)
    found = floods_of(replace(home, second=runs), replace(lost, stand_by=fit))
    assert found.given_storm[:, 0] == pytest.approx([1.0, 1.0])


def test_after_the_storm_water_takes_no_less_time_than_at_its_worst_moment() -> None:
    """Spent in the dry an hour later: an outage must last that and the longer of both times."""
    home = storms(stop_to_floor_s=[7200.0] * 2, dry_to_floor_s=60.0)
    runs = second(in_storm=[0.0] * 2, outlasts_s=[HOUR] * 2)
    assert _outlasted_s(home, runs)[:, 0] == pytest.approx([HOUR + 7200.0] * 2)


# ---- what must hold -----------------------------------------------------------------------------

SHARE = st.floats(0.0, 1.0)
TIME_S = st.one_of(st.just(NEVER), st.floats(60.0, 2e5))


@st.composite
def systems(draw: Any) -> tuple[HomeStorms, Any, StandBy]:
    dead, warning = sorted([draw(TIME_S), draw(TIME_S)])[::-1]
    stop, stop_warning = sorted([draw(TIME_S), draw(TIME_S)])[::-1]
    warning = min(warning, dead)
    bad = draw(st.sampled_from([(0.0, 0.0), (1.0, 0.0), (0.0, 1.0)]))
    home = storms(
        overtopped=[0.0, bad[0]], at_joint=[0.0, bad[1]], dead_to_floor_s=[dead] * 2,
        dead_warning_s=[warning] * 2, stop_to_floor_s=[stop] * 2,
        stop_warning_s=[stop_warning] * 2, dry_to_floor_s=draw(TIME_S), dry_to_alarm_s=60.0,
    )  # fmt: skip
    carries = draw(SHARE) > 0.3
    runs = second(
        carries=[float(carries)] * 2, outlasts_s=[draw(TIME_S)] * 2,
        in_storm=[draw(st.sampled_from([0.0, 1.0]))] * 2,
        spent_on_mains=[draw(st.sampled_from([0.0, 1.0]))] * 2,
        dry_outlasts_s=draw(TIME_S), dry_carries=draw(st.sampled_from([0.0, 1.0])),
        overtopped=[0.0, bad[0] * draw(st.sampled_from([0.0, 1.0]))],
    )  # fmt: skip
    told = {key: draw(SHARE) for key in PUMP_CAUSES}
    rates = dict.fromkeys(PUMP_CAUSES, 0.02)
    system = faults(
        told, per_yr=rates, silent=draw(SHARE), battery_dead=draw(SHARE), hears=draw(SHARE),
        can_act=draw(SHARE), hand_start=draw(SHARE), calls=draw(SHARE),
        service_after_s=draw(st.floats(60.0, 2e5)),
    )  # fmt: skip
    by = stand_by(
        fails=draw(SHARE), battery_weak=draw(SHARE), beta=draw(SHARE), generator=draw(SHARE),
        fuel_s=draw(st.floats(0, 1e5)),
    )  # fmt: skip
    return replace(home, second=runs), system, by


@given(systems())
@settings(max_examples=100, deadline=None)
def test_a_better_part_never_raises_the_chance(made: tuple[HomeStorms, Any, StandBy]) -> None:
    """And the chance lies between the greatest and the sum of its causes, which the split holds."""
    home, system, by = made
    one = np.ones(1)

    def total(stands: StandBy | None, runs: SecondPumpRuns | None) -> float:
        found = floods_of(replace(home, second=runs), replace(system, stand_by=stands))
        return float(found.total_per_yr[0])

    assert home.second is not None
    now = total(by, home.second)
    slack = 1e-12
    assert now <= total(None, None) + slack
    assert now <= total(replace(by, generator=0 * one), home.second) + slack
    assert total(replace(by, fails=0 * one), home.second) <= now + slack
    assert total(replace(by, battery_weak=0 * one), home.second) <= now + slack
    assert total(replace(by, generator=one), home.second) <= now + slack
    bare = dict.fromkeys(PUMP_CAUSES, 0 * one)
    assert total(replace(by, shared=bare), home.second) <= now + slack
    longer = replace(
        home.second, outlasts_s=home.second.outlasts_s + HOUR,
        dry_outlasts_s=home.second.dry_outlasts_s + HOUR,
    )  # fmt: skip
    assert total(by, longer) <= now + slack
    for better in ({"calls": one}, {"service_after_s": 60 * one}, {"can_act": one}, {"hears": one}):
        found = floods_of(home, replace(system, stand_by=by, **better))
        assert float(found.total_per_yr[0]) <= now + slack, better


# ---- homes --------------------------------------------------------------------------------------


def test_what_a_home_file_tells(clay: Home) -> None:
    def of(**told: Any) -> Backup:
        return backup_of(clay.changed(**told))

    assert backup_of(clay) == Backup(None, None, False, None)
    assert of(second_pump__runs_on="mains water").runs_on is RunsOn.MAINS_WATER
    assert of(second_pump__runs_on="none", battery__capacity="75 Ah").runs_on is None
    assert of(battery__age="2 years") == Backup(RunsOn.BATTERY, None, False, 2.0)
    assert of(mains_water__pressure="60 psi").runs_on is RunsOn.MAINS_WATER
    assert of(generator__fuel="5 gal").generator is Starts.BY_HAND
    assert of(generator__starts="automatic").generator is Starts.AUTOMATIC
    known = clay.changed(battery__capacity="100 Ah, measured", battery__age="0 yr")
    values = drawn(known, "battery.capacity", 256, 1)
    # one standard deviation of 3 % in the table
    assert values.std() / values.mean() == pytest.approx(0.03, abs=0.005)
    assert np.all(drawn(known, "battery.age", 8, 1) == 0)


@pytest.mark.parametrize(
    ("told", "words"),
    [
        ({"battery__capacity": "75"}, "battery.capacity: '75' has no unit"),
        ({"battery__capacity": "75 V"}, "not a charge in ampere-hours"),
        ({"second_pump__runs_on": "sun"}, "is not a choice"),
        ({"mains_water__pressure": "55 gpm"}, "is not a pressure"),
        ({"place__area": "Atlantis"}, "is not a choice"),
        ({"household__hears": "120 %"}, "outside what can be"),
    ],
)
def test_what_cannot_be_is_refused_in_one_sentence(
    clay: Home, told: dict[str, str], words: str
) -> None:
    with pytest.raises(InputError, match=words):
        clay.changed(**told)


def test_a_second_pump_lifts_its_plate_at_its_head(clay: Home) -> None:
    """20 gpm at 10 ft, and a water-powered pump twice what 60 psi give: 2 x 7 gpm."""
    told = {"runs_on": "battery", "rated_flow": "20 gpm, measured", "on": "10 in, measured"}
    home = clay.changed(second_pump=told)
    homes = draw_homes(home, 64, 1)
    alone, both = second_pits(home, backup_of(home), homes, 1)
    at = np.take_along_axis(alone.level_m, alone.on_index[:, None], axis=1)[:, 0]
    assert np.median(at) == pytest.approx(-0.254, abs=0.003)  # 10 in below the floor
    flow = np.take_along_axis(alone.pump_m3_s, alone.on_index[:, None], axis=1)[:, 0]
    # the lift is 7.5 ft + 0.83 ft and some friction: a little more than at 10 ft
    assert 20 * GPM < np.median(flow) < 25 * GPM
    first = np.take_along_axis(both.pump_m3_s, both.on_index[:, None], axis=1)[:, 0]
    assert np.all(first > flow)
    water = clay.changed(
        second_pump__runs_on="mains water",
        mains_water={"flow": "7 gpm, measured", "pressure": "60 psi, measured"},
    )
    alone, _ = second_pits(water, backup_of(water), draw_homes(water, 64, 1), 1)
    assert np.median(alone.pump_m3_s) == pytest.approx(14 * GPM, rel=0.01)
    low = water.changed(mains_water={"pressure": "15 psi, measured"})  # a quarter: half the flow
    alone, _ = second_pits(low, backup_of(low), draw_homes(low, 64, 1), 1)
    assert np.median(alone.pump_m3_s) == pytest.approx(7 * GPM, rel=0.01)


def test_a_second_pump_that_cannot_lift_so_high_carries_nothing(clay: Home) -> None:
    """Outlet 19.6 ft above the floor, start 10 in below: 20.4 ft of lift; the pump shuts off at 18.

    2 L/s against 4 L/s run it half of the time; 1 L/s against nothing all of it; no water never.
    The storms then do what they do without it. The year is taken at more moments between two visits
    where there is a second pump, so its chance is the same to 1 in 100 alone.
    """
    use = _use(np.array([2e-3, 1e-3, 0.0, 0.0]), np.array([4e-3, 0.0, 0.0, 4e-3]))
    assert use.tolist() == [0.5, np.inf, 0.0, 0.0]
    steps = _use(np.array([[2e-3, 0.0], [1e-3, 0.0]]), np.array([[4e-3], [0.0]]))
    assert steps.tolist() == [[0.5, 0.0], [np.inf, 0.0]]
    high = clay.changed(pipe__outlet_height="19.6 ft, measured")
    plate = {"rated_flow": "20 gpm", "rated_head": "10 ft", "shutoff_head": "18 ft"}
    plate = {key: f"{value}, measured" for key, value in plate.items()}
    told = {"runs_on": "battery", "on": "10 in, measured"} | plate
    both = high.changed(second_pump=told)
    met = home_storms(both, rain_of(both, RAIN, 1), 32, 1)
    assert met.second is not None
    assert not met.second.carries.any() and not met.second.dry_carries.any()
    assert not np.isnan(met.second.outlasts_s).any()
    assert np.array_equal(met.second.overtopped, met.overtopped)
    assert np.array_equal(met.second.at_joint, met.at_joint)
    with_it = chance(both, RAIN, n_draws=32)
    assert with_it.second is not None
    assert (with_it.second.flow_m3_s.high, with_it.second.carries_share) == (0.0, 0.0)
    without = chance(high, RAIN, n_draws=32)
    assert with_it.per_yr_by_draw == pytest.approx(without.per_yr_by_draw, rel=0.01)


def test_homes_with_more_beside_the_pump_flood_less(clay: Home) -> None:
    def mean(**told: Any) -> float:
        return chance(clay.changed(**told), RAIN, n_draws=32).mean

    bare = chance(clay, RAIN, n_draws=32).mean
    told = {"runs_on": "battery"}
    small = mean(second_pump=told, battery={"capacity": "40 Ah", "age": "6 yr"})
    new = mean(second_pump=told, battery={"capacity": "40 Ah", "age": "0 yr"})
    large = mean(second_pump=told, battery={"capacity": "160 Ah", "age": "0 yr"})
    mains = mean(second_pump={"runs_on": "mains"})
    both = mean(
        second_pump=told, battery={"capacity": "160 Ah", "age": "0 yr"},
        generator={"starts": "automatic"},
    )  # fmt: skip
    assert both <= large < new < small < bare
    assert mains < bare
    well = mean(second_pump={"runs_on": "mains water"}, mains_water={"source": "well"})
    town = mean(second_pump={"runs_on": "mains water"}, mains_water={"source": "town"})
    assert town < well < bare


def test_what_is_told_of_a_household_counts(clay: Home) -> None:
    def mean(**told: Any) -> float:
        return chance(clay.changed(**told), RAIN, n_draws=32).mean

    assert mean(household={"hears": "95 %"}) < mean(household={"hears": "20 %"})
    assert mean(household={"acts_after": "10 min"}) < mean(household={"acts_after": "10 h"})
    assert mean(household={"remote_alarm": "yes"}) < mean(household={"remote_alarm": "no"})
    assert mean(household={"owner_test_every": "3 months"}) < mean()
    assert mean(pump={"age": "1 yr"}) < mean(pump={"age": "14 yr"})
    # Michigan's outages last more than twice as long as those of New Jersey
    michigan, jersey = (
        chance(clay.changed(place__area=area), RAIN, n_draws=32)
        for area in ("Michigan", "New Jersey")
    )
    assert michigan.circumstances.area == "Michigan"
    assert michigan.mean > jersey.mean


def test_only_what_moves_no_water_leaves_the_storms_as_they_are(clay: Home) -> None:
    stand_by = clay.changed(second_pump__runs_on="battery", pump__age="3 yr")
    told = clay.changed(place__area="Maine", household__hears="50 %")
    assert water_key(stand_by) == water_key(told) == water_key(clay)
    for moved in ({"pump__capacity": "90 %"}, {"switch__alarm": "none"}, {"roof__at_wall": "0 %"}):
        assert water_key(clay.changed(**moved)) != water_key(clay)


def test_the_second_pump_is_told(clay: Home) -> None:
    home = clay.changed(
        second_pump={"runs_on": "battery", "rated_flow": "20 gpm"}, battery={"age": "1 yr"}
    )
    found = chance(home, RAIN, n_draws=32)
    assert found.second is not None
    assert 15 * GPM < found.second.flow_m3_s.median < 25 * GPM
    words = second_line(found, UnitSystem.US)
    assert words.startswith("If the first pump is lost, the second one lifts ")
    assert "gpm" in words
    assert "its battery lasts more than a day in the worst part" in words
    tiny = home.changed(battery={"capacity": "8 Ah"})
    hours = chance(tiny, RAIN, n_draws=32).second
    assert hours is not None
    assert hours.outlasts_s.high < found.second.outlasts_s.low
    assert "L/s" in second_line(found, UnitSystem.METRIC)
    assert "of the variants" in words and "%" in words
    owner = second_line(found, UnitSystem.US, owner=True)
    assert re.search(r"in (more than )?\d+ of 10+ cases while it runs", owner) and "%" not in owner
    spread = replace(found.second, outlasts_s=Points(2 * HOUR, 5 * HOUR, 9 * HOUR))
    of_spread = replace(found, second=spread)
    assert "(8 in 10 variants: 2 hours to 9 hours)" in second_line(of_spread, UnitSystem.US)
    owner = second_line(of_spread, UnitSystem.US, owner=True)
    assert "(8 in 10 cases: 2 hours to 9 hours)" in owner and "variant" not in owner
    # half of them more than a day, which the longer end of the range would only say again
    days = replace(found.second, outlasts_s=Points(16 * HOUR, 30 * HOUR, 90 * HOUR))
    long = second_line(replace(found, second=days), UnitSystem.US, owner=True)
    assert "lasts more than a day in" in long and "(9 in 10 cases: at least 16 hours)" in long
    assert second_line(chance(clay, RAIN, n_draws=32), UnitSystem.US) == ""
    water = chance(clay.changed(second_pump__runs_on="mains water"), RAIN, n_draws=32)
    said = second_line(water, UnitSystem.US)
    assert "It needs no power; while it runs it takes about " in said
    assert water.second is not None  # 1 gallon of mains water for 2 that it lifts
    assert water.second.mains_m3_s == pytest.approx(water.second.flow_m3_s.median / 2, rel=0.05)
    mains = chance(clay.changed(second_pump__runs_on="mains"), RAIN, n_draws=32)
    assert second_line(mains, UnitSystem.US).endswith("It stops with the power.")
    # with a second pump no set of causes brings water without one at it, but for the outlet
    outlet = {"outlet_frozen"}
    pump, stands = set(PUMP_CAUSES) - outlet | {OUTAGE}, {"second", "batter"}
    for each in found.cut_sets:
        if set(each.causes) & pump and not set(each.causes) & outlet:
            assert any(cause[:6] in stands for cause in each.causes), each


def test_a_generator_that_starts_by_itself_is_on_piped_gas_unless_its_fuel_is_told(
    clay: Home,
) -> None:
    """15 L at 1.8 L/h are a little over eight hours; untold it runs for days."""
    told = clay.changed(generator={"starts": "automatic", "fuel": "15 L", "use": "1.8 L/h"})
    untold = clay.changed(generator={"starts": "automatic"})
    found = fuel_s(told, 4096, 1)
    assert found.shape == (4096,) and np.unique(found).size > 4000
    assert np.median(found) == pytest.approx(15 / 1.8 * HOUR, rel=0.02)
    low, middle, high = np.quantile(fuel_s(untold, 1024, 1) / HOUR, [0.05, 0.5, 0.95])
    assert (low, middle, high) == pytest.approx((24, 120, 336), rel=0.03)
