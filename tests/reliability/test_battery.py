"""Batteries, mains water and fuel."""

from __future__ import annotations

from dataclasses import replace

import numpy as np
import pytest

from riskkit.errors import OutOfRangeWarning, RangeError
from riskkit.reliability import battery as b
from riskkit.reliability import battery_laws as laws
from riskkit.reliability import standby

NEW = b.Battery(
    rated_ah=75.0, rated_h=20.0, exponent=1.2, usable=0.8, age_yr=0.0, life_yr=5.0, temperature_c=25
)


def test_at_its_rated_hours_a_battery_gives_its_rated_capacity() -> None:
    assert laws.peukert_run_time_h(75.0, 20.0, 75.0 / 20.0, 1.3) == pytest.approx(20.0)


def test_exponent_from_two_ratings_gives_both_back() -> None:
    k = float(laws.peukert_exponent(75.0, 20.0, 42.0, 1.0))
    assert laws.peukert_run_time_h(75.0, 20.0, 42.0, k) == pytest.approx(1.0)
    assert laws.peukert_run_time_h(42.0, 1.0, 3.75, k) == pytest.approx(20.0)


def test_run_time_by_hand() -> None:
    # 15 A, four times the rated 3.75 A: 20 h / 4^1.2 = 3.789 h; 80 % of it; one third of the time
    full = 20 / 4**1.2
    assert b.run_time_h(NEW, 15.0, 1.0) == pytest.approx(0.8 * full)
    assert b.run_time_h(NEW, 15.0, 1 / 3) == pytest.approx(3 * 0.8 * full)
    # with 0.5 A between runs, which alone would take 0.8 * 75 Ah / 0.5 A = 120 h
    rate = (1 / 3) / (0.8 * full) + (2 / 3) / 120
    assert b.run_time_h(NEW, 15.0, 1 / 3, 0.5) == pytest.approx(1 / rate)
    assert b.usable_capacity_ah(NEW, 15.0) == pytest.approx(0.8 * full * 15)


def test_age_cold_and_their_ends() -> None:
    old = replace(NEW, age_yr=5.0)
    assert b.run_time_h(old, 15.0, 1.0) == pytest.approx(0.8 * b.run_time_h(NEW, 15.0, 1.0))
    cold = replace(NEW, temperature_c=0.0)
    assert b.run_time_h(cold, 15.0, 1.0) == pytest.approx(0.84 * b.run_time_h(NEW, 15.0, 1.0))
    dead = replace(NEW, age_yr=30.0)
    assert b.run_time_h(dead, 15.0, 1.0) == 0.0
    assert b.usable_capacity_ah(dead, 15.0) == 0.0
    with pytest.warns(OutOfRangeWarning, match="-10 degC"):
        assert laws.cold_factor(-10.0, 5.0) == pytest.approx(0.84)


def test_how_long_the_discharge_takes_decides_what_the_cold_takes() -> None:
    hours = np.array([0.3, 0.4, 0.5, 0.6, 0.9, 1.0, 1.1, np.inf])
    wanted = [0.825, 0.825, 0.835, 0.845, 0.845, 0.8525, 0.86, 0.86]
    assert laws.cold_factor(2.5, hours) == pytest.approx(wanted)


def test_a_greater_battery_never_runs_shorter_in_the_heat() -> None:
    many = replace(NEW, rated_ah=np.linspace(5, 60, 2000), usable=1.0, temperature_c=40.0)
    hours = b.run_time_h(many, 15.0, 1.0)
    assert hours[0] < 0.3
    assert hours[-1] > 2
    assert np.all(np.diff(hours) > 0)


def test_small_currents_give_no_more_than_the_plate() -> None:
    assert b.usable_capacity_ah(NEW, 0.1) == pytest.approx(0.8 * 75)
    assert b.run_time_h(NEW, 15.0, 0.0) == np.inf


def test_batteries_side_by_side() -> None:
    many = replace(NEW, rated_ah=np.array([40.0, 75.0, 120.0]))
    hours = b.run_time_h(many, 15.0, np.array([0.2, 0.2, 0.2]))
    assert np.all(np.diff(hours) > 0)
    assert hours[1] == pytest.approx(float(b.run_time_h(NEW, 15.0, 0.2)))


def test_current_charge_and_fuel_by_hand() -> None:
    assert laws.inverter_current_a(480.0, 12.0, 0.8) == pytest.approx(50.0)
    assert laws.recharge_time_h(60.0, 5.0, 0.8) == pytest.approx(15.0)
    assert standby.fuel_time_h(12.0, 1.5) == pytest.approx(8.0)


def test_what_cannot_be_is_refused() -> None:
    with pytest.raises(RangeError, match="exponent"):
        replace(NEW, exponent=0.9)
    for plate in ("rated_ah", "rated_h", "life_yr"):
        assert getattr(replace(NEW, **{plate: 0.5}), plate) == 0.5
        with pytest.raises(RangeError, match="battery: a plate value"):
            replace(NEW, **{plate: 0.0})
    with pytest.raises(RangeError, match="age"):
        replace(NEW, age_yr=-1.0)
    with pytest.raises(RangeError, match="usable"):
        replace(NEW, usable=1.2)
    with pytest.raises(RangeError, match="duty"):
        b.run_time_h(NEW, 15.0, 1.4)
    with pytest.raises(RangeError, match="current"):
        laws.peukert_run_time_h(75.0, 20.0, -1.0, 1.2)
    for share in (0.0, 1.01):
        with pytest.raises(RangeError, match="efficiency"):
            laws.inverter_current_a(480.0, 12.0, share)
        with pytest.raises(RangeError, match="efficiency"):
            laws.recharge_time_h(60.0, 5.0, share)
    with pytest.raises(RangeError, match="charger"):
        laws.recharge_time_h(60.0, 0.0, 0.8)
    with pytest.raises(RangeError, match="generator"):
        standby.fuel_time_h(12.0, 0.0)
