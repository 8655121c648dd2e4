"""Stores in parallel against closed forms, and responses that are known."""

from __future__ import annotations

import math

import numpy as np
import pytest

from riskkit.gauge.cycles import Bins
from riskkit.gauge.response import dry_bins, fit_response, scaled, stores_of
from riskkit.gauge.skill import explained_share, response_skill
from riskkit.gauge.water import Water, let_out, soil_excess_m, soils_of, store_outflow

HOUR_S, DAY_S = 3600.0, 86400.0


def synthetic_water(days: int, seed: int = 2) -> Water:
    random = np.random.default_rng(seed)
    rain = random.gamma(0.5, 3.0, days * 24) * (random.random(days * 24) < 0.05) * 1e-3
    return Water(0.0, HOUR_S, rain, np.zeros(rain.size))


def test_a_store_empties_by_its_time_constant() -> None:
    """A unit in one step of k: 1 - 1/e of it is held at the end, and 1/e of that a step on."""
    out = store_outflow(np.array([1.0, 0.0, 0.0]), 10.0, 10.0)
    held = 1 - 1 / math.e
    assert out == pytest.approx(
        [1 - held, held * (1 - 1 / math.e), held * (1 - 1 / math.e) / math.e]
    )


def test_what_a_store_lets_out_is_known_within_a_step_too() -> None:
    """Inflow of 1/k: dS/dt = 1/k - S/k, so S(t) = 1 - exp(-t / k), and out is t/k - S."""
    at = np.array([-5.0, 0.0, 3.0, 10.0, 13.0, 99.0])
    out = let_out(np.array([1.0, 0.0]), 0.0, 10.0, 10.0, at)
    held = 1 - math.exp(-1)
    by_hand = [0, 0, 0.3 - (1 - math.exp(-0.3)), 1 - held, 1 - held * math.exp(-0.3),
               1 - held * math.exp(-1)]  # fmt: skip
    assert out == pytest.approx(by_hand)
    steps = np.cumsum(store_outflow(np.array([1.0, 0.0]), 10.0, 10.0))
    assert let_out(np.array([1.0, 0.0]), 0.0, 10.0, 10.0, np.array([10.0, 20.0])) == pytest.approx(
        steps
    )


def test_soil_lets_through_what_it_cannot_hold() -> None:
    """It holds 50 mm and begins with 25; half of it is easy, so plants get all they want at 25.

    25 + 40 - 5 = 60: 10 go through, 50 stay. 50 - 30 = 20 stay. Of 20 plants get 20 / 25 of 10 mm,
    12 stay, and nothing goes through.
    """
    rain = np.array([0.040, 0.0, 0.0])
    wants = np.array([[0.005, 0.030, 0.010]])
    out = soil_excess_m(rain, wants, np.array([0.050]))
    assert out == pytest.approx(np.array([[0.010, 0.0, 0.0]]))
    more = soil_excess_m(np.append(rain, 0.050), np.append(wants, [[0.0]], 1), np.array([0.050]))
    assert more[0, 3] == pytest.approx(0.012 + 0.050 - 0.050)


def test_the_share_explained_is_one_for_the_truth_and_nothing_for_the_mean() -> None:
    bins = Bins(np.array([0.0, 10.0]), np.array([10.0, 40.0]), np.array([20.0, 30.0]))
    # flows 2 and 1, mean 50 / 40 = 1.25: (0.75^2 x 10 + 0.25^2 x 30) = 7.5
    assert explained_share(np.array([20.0, 30.0]), bins) == 1.0
    assert explained_share(np.array([12.5, 37.5]), bins) == pytest.approx(0.0)
    # told 1 and 1: 1^2 x 10 are left of 7.5
    assert explained_share(np.array([10.0, 30.0]), bins) == pytest.approx(1 - 10 / 7.5)


def test_each_span_counts_by_its_length() -> None:
    """A flow of 2 for 10 s and of 1 for 30 s is 50 / 40 = 1.25 in the mean."""
    bins = Bins(np.array([0.0, 10.0]), np.array([10.0, 40.0]), np.array([20.0, 30.0]))
    design = scaled(bins.time_s[None, :], bins, bins.inflow_m3)
    found = design.solve(design.rows.T @ design.rows, design.rows.T @ design.target)
    assert found == pytest.approx([1.25])


def test_stores_are_a_root_of_two_apart_up_to_a_third_of_the_log() -> None:
    stores = stores_of(HOUR_S, 30 * DAY_S)
    assert stores[0] == 1800
    assert np.diff(np.log2(stores)) == pytest.approx(0.5)
    assert 10 * DAY_S / math.sqrt(2) < stores[-1] <= 10 * DAY_S
    assert stores_of(HOUR_S, 3000 * DAY_S)[-1] <= 90 * DAY_S


def known_bins(water: Water, first_day: int, base: float) -> tuple[Bins, float]:
    """Three hours each; 20 m2 through half an hour, 40 m2 through 64 h, and base flow."""
    begin = np.arange(first_day * 24, water.depth_m.size, 3) * HOUR_S
    end = begin + 3 * HOUR_S
    inflow = base * (end - begin)
    for area, k in ((20.0, 0.5), (40.0, 64.0)):
        out = np.concatenate([[0.0], np.cumsum(store_outflow(water.depth_m, HOUR_S, k * HOUR_S))])
        inflow = inflow + area * np.diff(out[np.append(begin, end[-1] - 0).astype(int) // 3600])
    return Bins(begin, end, inflow), 64.0


def test_a_response_that_is_known_is_found_again() -> None:
    water = synthetic_water(210)
    bins, slow_h = known_bins(water, 100, 1e-6)
    found = fit_response(bins, water)
    assert found.soil is None  # 110 days do not tell dry ground from wet
    within = 20 * (1 - math.exp(-2.0)) + 40 * (1 - math.exp(-1 / slow_h))
    assert found.within_m2(HOUR_S, 1.0)[0] == pytest.approx(within, rel=0.01)
    assert found.base_m3_s[0, 0] == pytest.approx(1e-6, rel=0.02)
    # after a day the store of half an hour is empty: a third is reached after 64 ln 3 = 70.3 h
    assert found.recession_s()[0] == pytest.approx(slow_h * math.log(3) * HOUR_S, rel=0.02)
    assert found.lag_s()[0] == pytest.approx(1800, rel=0.02)
    told = found.parts_m3(bins.begin_s, bins.end_s)
    assert explained_share(told.sum(axis=0), bins) > 0.9999
    assert told[2] == pytest.approx(1e-6 * bins.time_s, rel=0.02)
    skill = response_skill(bins, water)
    assert min(skill.first, skill.second) > 0.99
    assert max(skill.first_plain, skill.second_plain) < 0.95


def test_ground_that_dries_out_is_told_from_ground_that_does_not() -> None:
    """What came through a soil is explained by that soil, and nothing comes on dry ground."""
    water = synthetic_water(1000, seed=4)
    soil = soils_of(water)[4]
    wet = Water(0.0, HOUR_S, soil.excess_m, np.zeros(soil.excess_m.size))
    bins, _ = known_bins(wet, 300, 1e-7)
    found = fit_response(bins, water)
    assert found.soil is not None
    assert found.soil.held_m == soil.held_m
    assert found.within_m2(HOUR_S, 0.0)[0] < 0.5
    assert found.within_m2(HOUR_S, 1.0)[0] == pytest.approx(
        20 * (1 - math.exp(-2.0)) + 0.62, rel=0.05
    )


def test_dry_bins_have_had_no_rain_for_two_days() -> None:
    rain = np.zeros(24 * 10)
    rain[24 * 4] = 0.002
    gap = np.zeros(rain.size)
    gap[24 * 9] = 1.0
    water = Water(0.0, HOUR_S, rain, gap)
    begin = np.arange(2, 10) * DAY_S
    dry = dry_bins(Bins(begin, begin + DAY_S, np.ones(8)), water, 2 * DAY_S)
    assert dry.tolist() == [True, True, False, False, False, True, True, False]
