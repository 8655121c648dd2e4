"""Trends, intervals, ranks, evenly spread draws and waits, against values that are in print."""

from __future__ import annotations

import numpy as np
import pytest
from scipy.stats import norm

from riskkit.ensemble.quantiles import share_between
from riskkit.ensemble.sobol import direction_numbers
from riskkit.fleet.queue import waits_h
from riskkit.quantities.distributions import rank_correlation
from riskkit.rainfall.distance import distance_km
from riskkit.tables import load_table
from riskkit.years.trends import mann_kendall_p

BITS = 30


@pytest.mark.published(
    stage="risk", what="test for a trend in 22 values with ties: the normal variate",
    source="gilbert1987", where="chapter 16, p. 212: Z = 3.1", origin="quoted", tolerance="0.05",
)  # fmt: skip
def test_mann_kendall() -> None:
    values = "20 20 20 20 15 20 20 30 27 26 23 35 25 28 70 26 24 34 32 23 50 30"
    p = mann_kendall_p(np.array([float(v) for v in values.split()]))
    assert norm.isf(p / 2) == pytest.approx(3.1, abs=0.05)


@pytest.mark.published(
    stage="risk", what="interval of a share by the score method",
    source="newcombe1998", where="Table I, method 3", origin="quoted",
    tolerance="half the last digit",
)  # fmt: skip
@pytest.mark.parametrize(
    ("hits", "of", "low", "high"),
    [
        (81, 263, 0.2553, 0.3662), (15, 148, 0.0624, 0.1605), (0, 20, 0.0, 0.1611),
        (1, 29, 0.0061, 0.1718),
    ],
)  # fmt: skip
def test_share(hits: int, of: int, low: float, high: float) -> None:
    assert share_between(hits / of, of) == pytest.approx((low, high), abs=5e-5)


@pytest.mark.published(
    stage="risk", what="rank correlation of ten pairs without ties",
    source="spearman_pairs", where="ten pairs: -29/165", origin="quoted", tolerance="1e-9",
)  # fmt: skip
def test_rank_correlation() -> None:
    one = np.array([106.0, 86, 100, 101, 99, 103, 97, 113, 112, 110])
    other = np.array([7.0, 0, 27, 50, 28, 29, 20, 12, 6, 17])
    assert rank_correlation(one, other) == pytest.approx(-29 / 165, abs=1e-9)


# dimension: degree, inner coefficients of the polynomial, first numbers
SOBOL = {
    2: (1, 0, (1,)), 3: (2, 1, (1, 3)), 4: (3, 1, (1, 3, 1)), 5: (3, 2, (1, 1, 1)),
    6: (4, 1, (1, 1, 3, 3)), 7: (4, 4, (1, 3, 5, 13)), 8: (5, 2, (1, 1, 5, 5, 17)),
    9: (5, 4, (1, 1, 5, 5, 5)), 10: (5, 7, (1, 1, 7, 11, 19)), 11: (5, 11, (1, 1, 5, 1, 1)),
    12: (5, 13, (1, 1, 1, 3, 11)),
}  # fmt: skip


@pytest.mark.published(
    stage="risk", what="direction numbers of evenly spread draws, dimensions 2 to 12",
    source="joe_kuo2008", where="new-joe-kuo-6.21201, first eleven lines", origin="quoted",
    tolerance="exact",
)  # fmt: skip
@pytest.mark.parametrize("dimension", SOBOL)
def test_direction_numbers(dimension: int) -> None:
    degree, inner, first = SOBOL[dimension]
    row = load_table("sobol").rows[dimension - 1]
    assert int(row["polynomial"]) == (1 << degree) | (inner << 1) | 1
    found = direction_numbers(dimension)[dimension - 1]
    scaled = [value << (BITS - 1 - k) for k, value in enumerate(first)]
    assert found[:degree].tolist() == scaled


@pytest.mark.published(
    stage="company", what="waits of six customers at one server, one by one",
    source="law_kelton", where="single-server queue by hand: total delay 5.7, mean 0.95",
    origin="quoted", tolerance="1e-9",
)  # fmt: skip
def test_six_customers() -> None:
    calls = np.cumsum([0.4, 1.2, 0.5, 1.7, 0.2, 1.6])
    waits = waits_h(calls, np.array([2.0, 0.7, 0.2, 1.1, 3.7, 0.6]), 1)
    assert waits.sum() == pytest.approx(5.7, abs=1e-9)
    assert waits.mean() == pytest.approx(0.95, abs=1e-9)


@pytest.mark.published(
    stage="company", what="share of calls that wait, calls at random, exponential work",
    source="erlang1917", where="2, 3, 5 and 10 crews: 0.3333, 0.4444, 0.2362, 0.4092",
    origin="quoted", tolerance="0.01 (400,000 calls made up)",
)  # fmt: skip
@pytest.mark.parametrize(
    ("crews", "load", "waiting"), [(2, 1.0, 0.3333), (3, 2.0, 0.4444), (5, 3.0, 0.2362),
                                   (10, 8.0, 0.4092)],
)  # fmt: skip
def test_calls_that_wait(crews: int, load: float, waiting: float) -> None:
    rng = np.random.default_rng(0)
    calls = np.cumsum(rng.exponential(1 / load, 400_000))
    waits = waits_h(calls, rng.exponential(1.0, calls.size), crews)
    assert (waits > 0).mean() == pytest.approx(waiting, abs=0.01)
    # and the mean wait that follows from it
    assert waits.mean() == pytest.approx(waiting / (crews - load), rel=0.06)


@pytest.mark.published(
    stage="company", what="great-circle distance of two places",
    source="great_circle_notes", where="worked example: 968.9 km", origin="quoted",
    tolerance="half the last digit",
)  # fmt: skip
def test_distance() -> None:
    south = (50 + 3 / 60 + 59 / 3600, -(5 + 42 / 60 + 53 / 3600))
    north = (58 + 38 / 60 + 38 / 3600, -(3 + 4 / 60 + 12 / 3600))
    assert float(distance_km(*south, *north)) == pytest.approx(968.9, abs=0.05)
