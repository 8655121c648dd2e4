"""Hidden faults against simulated parts and against limits."""

from __future__ import annotations

import numpy as np
import pytest

from riskkit.errors import RangeError
from riskkit.reliability import hidden


def simulated_unfit(
    rate: float, interval: float, finds: float, rng: np.random.Generator, tests: int = 400_000
) -> float:
    """Share of time that one part is unfit, test by test."""
    unfit, failed = 0.0, False
    lives = rng.exponential(1 / rate, tests)
    found = rng.random(tests) < finds
    for life, seen in zip(lives.tolist(), found.tolist(), strict=True):
        if failed:
            unfit += interval
        elif life < interval:
            unfit += interval - life
            failed = True
        if failed and seen:
            failed = False
    return unfit / (tests * interval)


@pytest.mark.parametrize(("rate", "finds"), [(0.2, 1.0), (0.2, 0.7), (0.8, 0.4)])
def test_unavailability_is_that_of_a_simulated_part(rate: float, finds: float) -> None:
    wanted = float(hidden.mean_unavailability_missed(rate, 1.0, finds))
    found = simulated_unfit(rate, 1.0, finds, np.random.default_rng(3))
    assert found == pytest.approx(wanted, rel=0.015)
    if finds == 1.0:  # 1 - (1 - exp(-x))/x
        assert wanted == pytest.approx(1 - (1 - np.exp(-rate)) / rate)


@pytest.mark.parametrize(("interval", "shown"), [(1.0, 2.0), (4.0, 0.3), (np.inf, 0.5)])
def test_use_that_shows_a_fault_is_that_of_a_simulated_part(interval: float, shown: float) -> None:
    """Event by event: the next fault, the next use that shows it, the next test."""
    rng, rate, finds = np.random.default_rng(6), 0.3, 0.7
    now, unfit, fit, until = 0.0, 0.0, True, 60_000.0
    while now < until:
        waits = rng.exponential(1 / (rate if fit else shown))
        test = (np.floor(now / interval) + 1) * interval if np.isfinite(interval) else np.inf
        ends = min(now + waits, test)
        unfit += 0.0 if fit else ends - now
        turned = ends < test or (not fit and rng.random() < finds)
        fit, now = fit != turned, ends + 1e-12 * (ends == test)
    wanted = float(hidden.mean_unavailability_missed(rate, interval, finds, shown))
    assert unfit / now == pytest.approx(wanted, rel=0.03)


def test_a_part_in_use_is_not_lost_without_tests() -> None:
    missed = hidden.mean_unavailability_missed
    assert float(missed(0.02, np.inf, 0.8, 4.0)) == pytest.approx(0.02 / 4.02)
    assert float(missed(0.02, 1.0, 0.8, 0.0)) == pytest.approx(float(missed(0.02, 1.0, 0.8)))
    assert float(missed(0.0, np.inf, 0.8, 4.0)) == 0.0
    with pytest.raises(RangeError, match="rate"):
        missed(-0.1, 1.0, 0.8, 4.0)
    with pytest.raises(RangeError, match="uses"):
        missed(0.1, 1.0, 0.8, -1.0)


def test_exact_form_begins_with_its_first_order_and_never_exceeds_it() -> None:
    rate = np.geomspace(1e-8, 10, 200)
    exact, first = hidden.mean_unavailability_missed(rate, 1.0, 1.0), rate / 2
    assert np.all(exact < first)
    assert exact[0] / first[0] == pytest.approx(1, rel=1e-8)
    assert np.all(np.diff(exact) > 0)
    assert np.all(np.abs(exact - (first - rate**2 / 6)) <= rate**3 / 24 + 1e-15)


def test_a_part_that_nobody_tests_is_lost_and_one_that_cannot_fail_is_not() -> None:
    never = np.inf
    assert float(hidden.mean_unavailability_missed(0.01, never, 1.0)) == 1.0
    assert float(hidden.mean_unavailability_missed(0.0, never, 1.0)) == 0.0
    assert float(hidden.mean_unavailability_missed(0.01, never, 0.9)) == 1.0
    assert float(hidden.mean_unavailability_missed(0.01, 1.0, 0.0)) == 1.0
    assert float(hidden.mean_unavailability_missed(0.0, 1.0, 0.0)) == 0.0


def test_what_cannot_be_is_refused() -> None:
    with pytest.raises(RangeError, match="interval"):
        hidden.mean_unavailability_missed(0.1, 0.0, 1.0)
    with pytest.raises(RangeError, match="rate: it is below zero"):
        hidden.mean_unavailability_missed(-0.1, 1.0, 1.0)
    with pytest.raises(RangeError, match="finds: it is not a share"):
        hidden.mean_unavailability_missed(0.1, 1.0, 1.2)


def _mean_of_decay(k: float) -> float:
    """Mean of exp(-k s) for s from 0 to 1."""
    return float((1 - np.exp(-k)) / k)


def test_two_parts_of_one_test_lie_hidden_together_more_often_than_each_by_itself_would() -> None:
    """Closed forms, every fault found at a test: the mean of (1-exp(-as))(1-exp(-bs)) is
    1 - m(a) - m(b) + m(a+b) with m(k) = (1-exp(-k))/k; small, ab/3 instead of ab/4."""
    points, weights = np.polynomial.legendre.leggauss(8)

    def mean(*rates: float, finds: float = 1.0) -> float:
        each = [
            np.prod([hidden.unavailability_since(a, 2.0, finds, share=s) for a in rates])
            for s in (points + 1) / 2
        ]
        return float(np.dot(each, weights / 2))

    a, b = 0.3, 0.15
    wanted = 1 - _mean_of_decay(2 * a) - _mean_of_decay(2 * b) + _mean_of_decay(2 * (a + b))
    assert mean(a, b) == pytest.approx(wanted, rel=1e-9)
    alone = [float(hidden.mean_unavailability_missed(rate, 2.0, 1.0)) for rate in (a, b)]
    assert mean(a, b) > 1.2 * alone[0] * alone[1]
    assert mean(1e-4, 1e-4) == pytest.approx((2e-4) ** 2 / 3, rel=1e-3)
    # and the mean over the time is the mean unavailability, whatever a test misses
    for finds in (1.0, 0.7, 0.2):
        missed = float(hidden.mean_unavailability_missed(a, 2.0, finds))
        assert mean(a, finds=finds) == pytest.approx(missed, rel=1e-9)


def test_what_a_test_misses_is_what_the_next_time_begins_with() -> None:
    ends = float(hidden.unavailability_since(0.3, 2.0, 0.7, 0.1, share=1.0))
    begins = float(hidden.unavailability_since(0.3, 2.0, 0.7, 0.1, share=1e-12))
    assert begins == pytest.approx(0.3 * ends, rel=1e-9)
    never = hidden.unavailability_since(0.3, np.inf, 0.7, 0.1, share=0.5)
    assert float(never) == pytest.approx(0.3 / 0.4)
    assert float(hidden.unavailability_since(0.0, 2.0, 0.7, share=0.5)) == 0.0
    for wrong in (0.0, 1.1):
        with pytest.raises(RangeError, match="share"):
            hidden.unavailability_since(0.3, 2.0, 0.7, share=wrong)
