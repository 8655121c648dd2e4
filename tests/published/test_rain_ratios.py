"""Ratios of depths, and L-moments of known distributions, against values that are in print."""

from __future__ import annotations

from collections.abc import Callable
from functools import partial

import numpy as np
import pytest
from scipy.stats import norm

from riskkit.rainfall.lmoments import gev_shape, sample_lmoments
from riskkit.rainfall.minutes import minute_ratios
from riskkit.rainfall.ratios import RatioSet, duration_ratios
from riskkit.records import FloatArray

published = partial(pytest.mark.published, stage="rain")

# 1, 2, 3, 6 and 12 h over 24 h
REGIONS = {
    RatioSet.REGION_A: [0.502, 0.594, 0.635, 0.749, 0.864],
    RatioSet.REGION_B: [0.453, 0.543, 0.585, 0.705, 0.840],
    RatioSet.REGION_C: [0.409, 0.500, 0.545, 0.672, 0.823],
    RatioSet.REGION_D: [0.366, 0.454, 0.501, 0.636, 0.805],
}


@published(
    what="ratios to 24 h, the four rain regions", source="neh630_4", where="Figure 4-72",
    origin="printed", tolerance="exact",
)  # fmt: skip
@pytest.mark.parametrize("region", REGIONS)
def test_ratios_of_the_regions(region: RatioSet) -> None:
    known = duration_ratios(region)
    assert known.duration_h.tolist() == [1, 2, 3, 6, 12, 24]
    assert known.ratio[:-1].tolist() == REGIONS[region]


@published(
    what="30-min depth over that of an hour", source="tp40", where="0.79 of the hour",
    origin="printed", tolerance="90 % limits of the ratio",
)  # fmt: skip
def test_half_an_hour() -> None:
    known = minute_ratios(np.array([30.0]), 60.0, 25.4 * 1.5, np.array([2.0]))
    assert abs(np.log(0.79 / known.ratio[0, 0])) < 1.645 * known.log_sd[0]


@published(
    what="5, 10 and 15-min depths over that of an hour", source="noaa_atlas2",
    where="0.29, 0.45 and 0.57 of the hour", origin="memory",
    tolerance="90 % limits of the ratio",
)  # fmt: skip
def test_minutes_over_the_hour() -> None:
    known = minute_ratios(np.array([5.0, 10.0, 15.0]), 60.0, 25.4 * 1.5, np.array([2.0]))
    off = np.abs(np.log(np.array([0.29, 0.45, 0.57]) / known.ratio[:, 0]))
    assert np.all(off < 1.645 * known.log_sd)


def reduced_gumbel(f: FloatArray) -> FloatArray:
    return np.asarray(-np.log(-np.log(f)))


def logit(f: FloatArray) -> FloatArray:
    return np.asarray(np.log(f / (1 - f)))


# quantile; l2, t3, t4
DISTRIBUTIONS: dict[str, tuple[Callable[[FloatArray], FloatArray], float, float, float]] = {
    "uniform": (lambda f: f, 1 / 6, 0.0, 0.0),
    "exponential": (lambda f: -np.log1p(-f), 1 / 2, 1 / 3, 1 / 6),
    "normal": (norm.ppf, np.pi**-0.5, 0.0, 0.1226),
    "Gumbel": (reduced_gumbel, np.log(2.0), 0.1699, 0.1504),
    "logistic": (logit, 1.0, 0.0, 1 / 6),
}


@published(
    what="L-moments of the uniform, exponential, normal, Gumbel and logistic distribution",
    source="hosking1990", where="Table 1", origin="quoted",
    tolerance="1e-4 (20,001 even quantiles)",
)  # fmt: skip
@pytest.mark.parametrize("name", DISTRIBUTIONS)
def test_lmoments_of_known_distributions(name: str) -> None:
    quantile, *expected = DISTRIBUTIONS[name]
    found = sample_lmoments(quantile((np.arange(20_001) + 0.5) / 20_001))
    assert [float(found.l2), float(found.t3), float(found.t4)] == pytest.approx(expected, abs=1e-4)
    if name == "Gumbel":
        assert float(gev_shape(found.t3)) == pytest.approx(0.0, abs=1e-4)
