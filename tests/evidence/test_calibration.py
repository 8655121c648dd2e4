"""Ranges hold the truth as often as they say, one record in fifty wrong; led draws agree with even.

Homes are invented from what is taken where nothing is known, observed with the stated errors, and
looked for in the ranges of the weighed draws. With n homes, the share that is held lies within
2.6 standard deviations sqrt(p (1 - p) / n) of p in 99 of 100 studies (binomial); the seed is fixed.
"""

from __future__ import annotations

import numpy as np
import pytest
from numpy.typing import NDArray

from riskkit.ensemble.draws import homes_at, scores_of
from riskkit.evidence.expected import CLASS, LOG, METRES, Expected
from riskkit.evidence.pit_tests import rises
from riskkit.evidence.posterior import led_to
from riskkit.evidence.running import often_shares
from riskkit.evidence.through_days import counted, highest_in_rain
from riskkit.evidence.told_of_rain import (
    alarm_shares,
    depth_shares,
    expected_counter,
    high_water,
    in_years,
)
from riskkit.evidence.weights import effective_size, log_likelihood, weights_of
from riskkit.home.home import Home
from riskkit.home.samples import HomeSamples
from riskkit.simulate import ground_of, water_of
from tests.evidence.test_told_of_rain import hours, table

Array = NDArray[np.float64]
POOL, TRUE, WRONG = 8192, 512, 0.02
BEGIN_M, HOSE_M3_S = -0.5, 3.785e-4  # 6 gpm
HOME = Home().changed(pit={"diameter": "18 in", "depth": "24 in"}, switch={"off": "20 in"})


def joined() -> HomeSamples:
    scores = np.vstack([scores_of(POOL, 1), scores_of(TRUE, 2)])
    return homes_at(HOME, scores, None, np.zeros(len(scores)))


def held(homes: HomeSamples, value: Array, noise: float = 1.0) -> tuple[float, float, float]:
    """Shares of the truths within the ranges of 80 and 90 %, and the mean spread that is left."""
    rng = np.random.default_rng(5)
    rise, sd = rises(homes, BEGIN_M, np.array([300.0]), HOSE_M3_S, 0.15)
    words = often_shares(homes, "heavy rain", 0.9)
    none, found, left = np.zeros(POOL), [], []
    for at in range(POOL, POOL + TRUE):
        level = rise[at, 0] + noise * sd[at, 0] * rng.standard_normal()
        word = rng.choice(words.shape[1], p=words[at] / words[at].sum())
        if rng.random() < WRONG:
            level = METRES * (rng.random() - 0.5)
        if rng.random() < WRONG:
            word = int(rng.integers(words.shape[1]))
        seen = [
            (Expected(float(level), rise[:POOL, 0], sd[:POOL, 0], METRES),),
            (Expected(float(word), none, none, CLASS, words[:POOL]),),
        ]
        weight = weights_of(np.sum([log_likelihood(one) for one in seen], axis=0))
        found.append(weight[value[:POOL] < value[at]].sum())
        middle = weight @ value[:POOL]
        left.append(np.sqrt(weight @ (value[:POOL] - middle) ** 2))
    place = np.array(found)
    return (
        float(((place > 0.1) & (place < 0.9)).mean()),
        float(((place > 0.05) & (place < 0.95)).mean()),
        float(np.mean(left)),
    )


def test_ranges_hold_the_truth_as_often_as_they_say() -> None:
    """Of the gravel, which is told of from afar, and of the level itself that is read."""
    homes = joined()
    store = np.log(homes["gravel_thickness_m"].clip(0.01) * homes["gravel_connected_share"])
    level = rises(homes, BEGIN_M, np.array([300.0]), HOSE_M3_S, 0.15)[0][:, 0]
    off = [2.6 * np.sqrt(p * (1 - p) / TRUE) for p in (0.8, 0.9)]
    for value in (store, level):
        eighty, ninety, left = held(homes, value)
        assert eighty == pytest.approx(0.8, abs=off[0])
        assert ninety == pytest.approx(0.9, abs=off[1])
        assert left < 0.9 * float(value[:POOL].std())  # they narrow by more than a tenth
    # readings twice as bad as stated are not held so often
    assert held(homes, level, noise=2.0)[0] < 0.8 - off[0]


Told = tuple[list[Array], list[tuple[Array, Array, float]]]


def told_of_rain(homes: HomeSamples) -> Told:
    """Words with their chances, and readings with mean, error and width, of days and years."""
    water = np.zeros(24 * 60)
    water[24 * 40 :: 24 * 5] = 15.0  # a month, then an hour of rain every five days
    starts, run_s = counted(homes, hours(water), 24 * 30, 24 * 30, 24 * 30)
    seen = [
        expected_counter(starts[i : i + 1], run_s[i : i + 1], None, float(run_s[i]), 0.25)
        for i in range(run_s.size)
    ]
    ran = np.array([(one.mean[0], one.sd[0]) for (one,) in seen])
    day = highest_in_rain(homes, np.r_[np.full(6, 12.0), np.zeros(30)], 1200.0, 0.35)
    words = [alarm_shares(day), depth_shares(day)]
    words += [in_years(homes, kind, table(), 10.0, 0.35) for kind in ("floods", "alarms")]
    mark = high_water(homes, table(), 10.0, 0.35)
    words = [shares.clip(1e-12) for shares in words]
    return words, [(ran[:, 0], ran[:, 1], LOG), (*mark, METRES)]


def held_by_days(told: Told, value: Array, wrong: float, n: int) -> tuple[float, float, float]:
    """As `held`, of n truths, with a counter, a mark, and what is told of alarm and floor seen."""
    rng, none, places, left = np.random.default_rng(6), np.zeros(POOL), [], []
    words, readings = told
    for at in range(POOL, POOL + n):
        log = np.zeros(POOL)
        for shares in words:
            word = rng.choice(shares.shape[1], p=shares[at] / shares[at].sum())
            if rng.random() < wrong:
                word = int(rng.integers(shares.shape[1]))
            log += log_likelihood([Expected(float(word), none, none, CLASS, shares[:POOL])])
        for mean, sd, width in readings:
            read = mean[at] + sd[at] * rng.standard_normal()
            if rng.random() < wrong:
                read = float(np.median(mean)) + width * (rng.random() - 0.5)
            log += log_likelihood([Expected(float(read), mean[:POOL], sd[:POOL], width)])
        weight = weights_of(log)
        equal = weight[value[:POOL] == value[at]].sum()  # of those a place of chance
        places.append(weight[value[:POOL] < value[at]].sum() + rng.random() * equal)
        middle = weight @ value[:POOL]
        left.append(np.sqrt(weight @ (value[:POOL] - middle) ** 2))
    place = np.array(places)
    within = [float(((place > low) & (place < 1 - low)).mean()) for low in (0.1, 0.05)]
    return within[0], within[1], float(np.mean(left))


def test_what_is_told_of_days_and_years_holds_the_truth_as_often_as_it_says() -> None:
    """Of the water that an hour of 36 mm brings to the pit in two days; some homes get none."""
    homes = joined()
    rain = np.r_[36.0, np.zeros(47)]
    flow = water_of(ground_of(homes), rain, 3600.0, np.ones(homes.n_draws)).free.to_pit_m3_s
    value = np.log(flow.sum(axis=1) * 3600.0 + 0.01)  # ten litres, so that none has a logarithm
    told, few = told_of_rain(homes), 128
    eighty, ninety, left = held_by_days(told, value, WRONG, TRUE)
    assert eighty == pytest.approx(0.8, abs=2.6 * np.sqrt(0.8 * 0.2 / TRUE))
    assert ninety == pytest.approx(0.9, abs=2.6 * np.sqrt(0.9 * 0.1 / TRUE))
    assert left < 0.9 * float(value[:POOL].std())
    # where half of what is told is wrong they are not held so often
    assert held_by_days(told, value, 0.5, few)[0] < 0.8 - 2.6 * np.sqrt(0.8 * 0.2 / few)


def test_led_draws_are_those_that_many_even_draws_weigh() -> None:
    """Two precise readings: 65,536 even draws against 1,024 that are led there from 1,024."""

    def told(scores: Array) -> Array:
        homes = homes_at(HOME, scores, None, np.zeros(len(scores)))
        rise, sd = rises(homes, BEGIN_M, np.array([60.0, 240.0]), HOSE_M3_S, 0.05)
        readings = (0.13, 0.30)
        seen = [Expected(readings[i], rise[:, i], sd[:, i], METRES) for i in (0, 1)]
        return np.asarray(np.sum([log_likelihood([one]) for one in seen], axis=0))

    def store(scores: Array) -> Array:
        homes = homes_at(HOME, scores, None, np.zeros(len(scores)))
        return np.log(homes["gravel_thickness_m"].clip(0.01) * homes["gravel_connected_share"])

    many = np.vstack([scores_of(16384, seed) for seed in (3, 4, 5, 6)])
    weight = weights_of(told(many))
    assert effective_size(weight) > 500
    few = scores_of(1024, 1)
    led, stages = led_to(few, told(few), [told], 1024, np.random.default_rng(2))
    assert stages >= 2
    value, exact = store(led), store(many)
    middle = float(weight @ exact)
    spread = float(np.sqrt(weight @ (exact - middle) ** 2))
    # two and a half standard errors of a mean of some 250 draws that are as good as independent
    assert float(value.mean()) == pytest.approx(middle, abs=2.5 * spread / 250**0.5)
    assert float(value.std()) == pytest.approx(spread, rel=0.2)
