"""Weights against exact posteriors: normal, Kalman's, a chance, the spread after."""

from __future__ import annotations

from collections.abc import Callable

import numpy as np
import pytest
from numpy.typing import NDArray
from scipy.special import ndtri

from riskkit.ensemble.sobol import sobol_points
from riskkit.evidence import posterior
from riskkit.evidence.expected import LOG, Expected, shares_of_classes
from riskkit.evidence.planning import PredictedReadings, log_minutes, spread_left
from riskkit.evidence.posterior import led_to
from riskkit.evidence.weights import (
    effective_size,
    log_likelihood,
    normal_weights,
    resampled,
    tail_chance,
    weights_of,
)

Array = NDArray[np.float64]


def scores(n: int, columns: int) -> Array:
    return np.asarray(ndtri(sobol_points(n, columns, np.random.default_rng(3))))


def normal(reading: float, mean: Array, sd: float, width: float = 1e6) -> Expected:
    return Expected(reading, mean, np.full(mean.size, sd), width)


def test_a_normal_reading_of_a_normal_quantity() -> None:
    """Prior N(3, 2²), reading 5 with sd 1: precision 1/4 + 1, variance 0.8; mean 0.8 (3/4 + 5)."""
    theta = 3.0 + 2.0 * scores(4096, 1)[:, 0]
    weight = normal_weights([normal(5.0, theta, 1.0)])
    mean = float(weight @ theta)
    assert mean == pytest.approx(4.6, abs=0.01)
    assert float(weight @ (theta - mean) ** 2) == pytest.approx(0.8, abs=0.01)


def kalman(h: Array, r: Array, y: Array) -> tuple[Array, Array]:
    """Kalman 1960, prior N(0, I): gain K = H' (H H' + R)^-1, mean K y, covariance I - K H."""
    gain = h.T @ np.linalg.inv(h @ h.T + r)
    return gain @ y, np.eye(h.shape[1]) - gain @ h


@pytest.mark.parametrize(
    ("sd", "parts"),
    [(1.0, [(0, 1)]), (0.05, [(0, 1)]), (0.2, [(0,), (1,)])],
    ids=["picked", "led there", "led by one, then by both"],
)
def test_linear_readings_against_kalmans_formula(sd: float, parts: list[tuple[int, ...]]) -> None:
    """Two readings of three quantities; the precise ones leave the even draws nothing to pick."""
    h, y = np.array([[1.0, 0.5, 0.0], [0.0, 1.0, -1.0]]), np.array([1.2, -1.5])
    mean, covariance = kalman(h, np.eye(2) * sd**2, y)

    def telling(part: tuple[int, ...]) -> Callable[[Array], Array]:
        return lambda at: np.asarray(sum(
            log_likelihood([normal(float(y[i]), at @ h[i], sd)], 0.0) for i in part
        ))  # fmt: skip

    pool, told = scores(4096, 3), [telling(part) for part in parts]
    weight = weights_of(np.asarray(sum(one(pool) for one in told)))
    if sd == 1.0:
        found = pool[resampled(weight, 4096, 0.5)]
    else:
        assert effective_size(weight) < (100 if sd == 0.05 else 300)  # of 4,096
        found, stages = led_to(pool, told[0](pool), told, 2048, np.random.default_rng(1))
        assert stages >= 2
    # 2,000 draws that hang together a little: 0.05 is more than two standard errors of each
    assert found.mean(axis=0) == pytest.approx(mean, abs=0.06)
    assert np.cov(found.T) == pytest.approx(covariance, abs=0.08)


def test_costly_parts_are_asked_only_of_moves_that_the_cheap_ones_allow() -> None:
    asked = [0, 0]

    def telling(part: int, sd: float) -> Callable[[Array], Array]:
        def told(at: Array) -> Array:
            asked[part] += len(at)
            return log_likelihood([normal(1.0, at[:, part], sd)], 0.0)

        return told

    pool = scores(1024, 2)
    told = [telling(0, 0.05), telling(1, 1.0)]
    led_to(pool, told[0](pool), told, 1024, np.random.default_rng(1))
    # once of all that the first has led, then six times of what it allows: all would be seven times
    assert 1024 < asked[1] < 0.5 * asked[0]
    assert asked[1] < 5.5 * 1024


def test_words_of_a_chance_that_is_not_known() -> None:
    """Even prior of a chance, 3 times yes and 1 time no: Beta(4, 2), mean 4/6, variance 8/252."""
    chance = sobol_points(4096, 1, np.random.default_rng(3))[:, 0]
    none = np.zeros(chance.size)
    shares = np.column_stack([1 - chance, chance])
    words = [Expected(float(word), none, none, 0.0, shares) for word in (1, 1, 0, 1)]
    weight = weights_of(sum(log_likelihood([one], 0.0) for one in words))
    mean = float(weight @ chance)
    assert mean == pytest.approx(4 / 6, abs=0.002)
    assert float(weight @ (chance - mean) ** 2) == pytest.approx(8 / 252, abs=0.001)


def test_one_wrong_record_does_not_decide() -> None:
    """A reading that no draw explains lies in the even part: all weights are the same."""
    theta = scores(1024, 1)[:, 0]
    far = Expected(80.0, theta, np.full(theta.size, 0.5), 100.0)
    assert weights_of(log_likelihood([far])) == pytest.approx(np.full(1024, 1 / 1024))
    # beside a good one, that one alone counts
    good = normal(1.0, theta, 0.5, width=100.0)
    both = weights_of(log_likelihood([far]) + log_likelihood([good]))
    assert both == pytest.approx(weights_of(log_likelihood([good])))


def test_the_likelihood_of_one_reading_by_hand() -> None:
    """Mixture: 0.98 times 1/(2 sqrt(2 pi)) exp(-1/2) and 0.02 over a width of 10.

    1/(2 sqrt(2 pi)) = 0.199471, times 0.606531 is 0.120985, times 0.98 is 0.118566, plus 0.002.
    """
    found = log_likelihood([Expected(2.0, np.zeros(1), np.full(1, 2.0), 10.0)])
    assert np.exp(found) == pytest.approx([0.120566], abs=2e-6)


def test_effective_size_and_picking_by_hand() -> None:
    """1 / (1/4 + 1/16 + 1/16) = 8/3; steps at 1/8, 3/8, 5/8, 7/8 of sums 1/2, 3/4, 1."""
    weight = np.array([0.5, 0.25, 0.25])
    assert effective_size(weight) == pytest.approx(8 / 3)
    assert resampled(weight, 4, 0.5).tolist() == [0, 0, 1, 2]


def test_tail_chances_by_hand() -> None:
    """1.96 standard deviations are passed in 5 of 100 (normal table); a word by its share."""
    one = Expected(1.96, np.zeros(4), np.ones(4), LOG)
    assert tail_chance(one) == pytest.approx(0.05, abs=1e-4)
    shares = np.tile([0.9, 0.09, 0.01], (4, 1))
    last = Expected(2.0, np.zeros(4), np.zeros(4), 0.0, shares)
    assert tail_chance(last) == pytest.approx(0.02)
    assert tail_chance(Expected(0.0, np.zeros(4), np.zeros(4), 0.0, shares)) == 1.0


def test_classes_of_a_normal_measure() -> None:
    """Edges one standard deviation off either side: 0.158655, 0.682689, 0.158655 (normal table)."""
    found = shares_of_classes(np.array([1.0]), 2.0, np.array([-1.0, 3.0]))
    assert found[0] == pytest.approx([0.158655, 0.682689, 0.158655], abs=1e-6)


def test_the_spread_expected_after_a_normal_reading() -> None:
    """Prior sd 1, reading sd 0.5: variance 1 / (1 + 4) = 0.2, whatever is read."""
    theta = scores(1024, 1)[:, 0]
    way = np.zeros(theta.size, np.int64)
    shown = PredictedReadings(theta[:, None], np.full((theta.size, 1), 0.5), way)
    left = spread_left((shown,), theta, np.random.default_rng(1))
    assert left == pytest.approx(0.2**0.5, rel=0.03)
    # of something that it says nothing of, all is left
    other = scores(1024, 2)[:, 1]
    assert spread_left((shown,), other, np.random.default_rng(1)) == pytest.approx(1.0, rel=0.05)


def test_the_spread_expected_after_several_precise_readings() -> None:
    """Three readings with sd 0.3 of three quantities: of their sum 3 x 0.09 / 1.09 is left."""
    theta = scores(512, 3)
    way, sd = np.zeros(len(theta), np.int64), np.full((len(theta), 1), 0.3)
    shown = tuple(PredictedReadings(theta[:, [i]], sd, way) for i in range(3))
    left = spread_left(shown, theta.sum(axis=1), np.random.default_rng(1))
    assert left == pytest.approx((3 * 0.09 / 1.09) ** 0.5, rel=0.04)


def test_moves_leave_the_draws_as_they_are() -> None:
    """Draws of N(1, 1/2), which prior N(0, 1) and reading 2 with sd 1 give, stay so."""
    rng = np.random.default_rng(4)
    draws = 1.0 + 0.5**0.5 * rng.standard_normal((4096, 1))
    draws = np.hstack([draws, rng.standard_normal((4096, 2))])

    def told(at: Array) -> Array:
        return log_likelihood([normal(2.0, at[:, 0], 1.0)], 0.0)

    here, cloud = (told(draws) / 2, told(draws) / 2), posterior._cloud(draws)
    half = [lambda at: told(at) / 2] * 2  # what two readings tell, one after the other
    for _ in range(10):
        draws, here = posterior._moved_within(draws, here, posterior._Target(half, 1.0), cloud, rng)
        draws, here = posterior._moved(draws, here, posterior._Target(half, 1.0), rng)
    assert here[0] + here[1] == pytest.approx(told(draws))
    # three standard errors of 4,096 draws: 3 sqrt(0.5 / 4096) and 3 x 0.5 sqrt(2 / 4096)
    assert float(draws[:, 0].mean()) == pytest.approx(1.0, abs=0.034)
    assert float(draws[:, 0].var()) == pytest.approx(0.5, abs=0.034)


def test_the_spread_expected_after_a_word() -> None:
    """Two halves told apart for sure leave the sd of a half normal, sqrt(1 - 2/pi)."""
    theta = scores(4096, 1)[:, 0]
    shares = np.column_stack([theta < 0, theta >= 0]).astype(float)
    left = spread_left(shares, theta, np.random.default_rng(1))
    assert left == pytest.approx((1 - 2 / np.pi) ** 0.5, abs=0.005)


def test_never_is_a_week_and_nothing_is_shorter_than_a_minute() -> None:
    found = np.exp(log_minutes(np.array([1.0, 600.0, np.inf])))
    assert found == pytest.approx([60.0, 600.0, 7 * 86400.0])
