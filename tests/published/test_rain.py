"""Published values of the rain stage."""

from __future__ import annotations

from functools import partial

import numpy as np
import pytest

from riskkit.rainfall.frequency import (
    partial_return_period_yr,
    to_partial_duration,
)
from riskkit.rainfall.lmoments import (
    Gev,
    gev_quantile,
    gev_shape,
    gev_with_shape,
    sample_lmoments,
)
from riskkit.rainfall.maxima import weiss_factor
from riskkit.rainfall.minutes import hour_tables, minute_ratios, printed_fit, ratios_of
from riskkit.rainfall.ratios import RatioSet, duration_ratios
from riskkit.records import DepthDurationFrequency, Series

published = partial(pytest.mark.published, stage="rain")

HOSKING = np.array([2.0, 3.0, 4.0, 2.4, 5.5, 1.2, 5.4, 2.2, 7.1, 1.3, 1.5])
HOSKING_F = np.array([0.2, 0.5, 0.8])


@published(
    what="sample L-moments", source="hosking_lmoments", where="test sample",
    origin="printed", tolerance="1e-7",
)  # fmt: skip
def test_sample_lmoments() -> None:
    found = sample_lmoments(HOSKING)
    np.testing.assert_allclose(
        [float(v) for v in found], [3.23636364, 1.14181818, 0.27388535, 0.02335456], atol=1e-7
    )


@published(
    what="GEV by L-moments: location, scale, shape, quantiles", source="hosking_lmoments",
    where="test sample", origin="printed", tolerance="1e-5",
)  # fmt: skip
def test_gev_by_lmoments() -> None:
    moments = sample_lmoments(HOSKING)
    fit = gev_with_shape(moments.l1, moments.l2, gev_shape(moments.t3))
    np.testing.assert_allclose(
        [fit.location, fit.scale, fit.shape], [2.1792884, 1.3956404, -0.1555609], atol=1e-5
    )
    np.testing.assert_allclose(
        gev_quantile(fit, HOSKING_F), [1.539112, 2.705672, 4.537048], atol=1e-5
    )


@published(
    what="Gumbel by L-moments: location, scale, quantiles", source="hosking_lmoments",
    where="test sample", origin="printed", tolerance="2e-6",
)  # fmt: skip
def test_gumbel_by_lmoments() -> None:
    moments = sample_lmoments(HOSKING)
    fit = gev_with_shape(moments.l1, moments.l2, np.array(0.0))
    np.testing.assert_allclose([fit.location, fit.scale], [2.285519, 1.647295], atol=2e-6)
    np.testing.assert_allclose(
        gev_quantile(fit, HOSKING_F), [1.501596, 2.889274, 4.756363], atol=2e-6
    )


def gumbel_by_moments(mean: float, sd: float) -> Gev:
    """Gumbel, the shape being zero, with a mean and the standard deviation of a sample (n - 1).

    Its scale is sd sqrt(6) / pi, its location the mean less Euler's constant times the scale.
    """
    scale = sd * np.sqrt(6.0) / np.pi
    return Gev(np.array(mean - np.euler_gamma * scale), np.array(scale), np.array(0.0))


@published(
    what="Gumbel by moments, 10-min rain in Chicago", source="chow1988", where="Example 12.2.1",
    origin="memory", tolerance="half the last digit",
)  # fmt: skip
def test_gumbel_by_moments_chicago() -> None:
    fit = gumbel_by_moments(0.649, 0.177)
    np.testing.assert_allclose([fit.scale, fit.location], [0.138, 0.569], atol=0.0006)
    depths = gev_quantile(fit, 1 - 1 / np.array([5.0, 10.0, 50.0]))
    np.testing.assert_allclose(depths, [0.78, 0.88, 1.11], atol=0.006)


@published(
    what="Gumbel frequency factors", source="chow1988", where="eq. 12.3.8, Table 12.3",
    origin="quoted", tolerance="0.0006",
)  # fmt: skip
def test_gumbel_frequency_factors() -> None:
    fit = gumbel_by_moments(0.0, 1.0)
    factors = gev_quantile(fit, 1 - 1 / np.array([2.0, 5.0, 10.0, 25.0, 50.0, 100.0]))
    np.testing.assert_allclose(factors, [-0.164, 0.719, 1.305, 2.044, 2.592, 3.137], atol=0.0006)


# Charlottetown A, 8300301: annual maxima [mm] of 5, 10, 15, 30 min, 1, 2, 6, 12, 24 h by year.
CHARLOTTETOWN_MM = """
1967  7.1 10.9 12.2 21.3 32.0 51.8 76.7  97.5 100.8
1968  5.3  9.4 12.2 14.5 18.0 24.9 45.2  71.9  72.6
1969  7.6 11.4 14.5 24.4 29.5 32.8 32.8  41.1  46.7
1970 10.2 10.9 12.2 13.0 21.8 34.0 49.5  54.9  58.7
1971  3.3  4.1  5.1  8.1 10.4 14.5 27.4  37.6  61.2
1972 12.7 14.5 15.2 15.2 15.2 18.8 28.2  34.5  61.0
1973  4.1  6.3  8.9 15.7 23.9 31.5 36.3  39.4  40.4
1974 11.7 16.0 18.3 20.1 23.4 23.6 27.9  38.6  40.1
1975  4.6  7.9  9.9 12.4 17.8 21.6 21.6  21.8  27.9
1976  7.1 10.4 15.5 17.5 20.6 26.2 29.2  39.1  43.4
1977  4.6  6.9  8.9 13.0 24.6 37.6 54.6  57.9  59.9
1978  5.1  8.3  9.4 12.8 14.9 19.3 37.9  45.2  52.0
1979  5.5  6.4  7.8 12.2 22.4 34.1 54.6  62.3  66.2
1980  4.6  7.7  8.2 11.7 17.6 29.2 33.1  35.8  35.8
1981  4.2  6.0  8.4 11.3 16.0 22.9 45.0  60.0  60.0
1982  3.0  4.6  5.5  7.3 11.7 21.8 39.4  41.5  41.9
1983  2.9  5.7  7.3  9.5 12.0 18.4 41.9  56.4  65.0
1984  5.8  8.7  9.8 10.0 12.3 18.7 46.1  55.6  57.5
1985  2.2  3.4  4.0  5.5 10.9 18.2 31.6  42.3  61.0
1986  3.5  3.7  4.8  9.6 14.6 25.4 48.7  62.8  63.0
1987  2.8  4.8  6.0 12.0 17.3 30.7 56.4  70.1  80.3
1988  4.8  7.8  9.6 16.0 20.7 26.6 40.2  58.8  65.2
1989  4.5  7.2  8.1 11.0 15.6 19.4 28.7  32.8  34.4
1990  7.4 13.7 15.7 21.2 35.3 60.2 79.4  87.8  87.8
2007  nan  nan  nan  nan  nan  nan 40.0  46.4  46.4
2008  3.5  6.6  9.7 15.6 23.6 39.7 65.8  85.5  89.0
2009  3.6  5.6  8.2 11.9 17.4 27.7 74.4 104.9 106.8
2010  8.2 12.2 16.2 20.7 33.1 45.2 73.1  74.9  94.9
2011  3.0  4.1  5.1  7.8 14.1 22.1 51.0  60.4  78.4
2012  3.6  6.7  8.2 12.6 20.7 33.9 54.5  61.7  92.6
2014  5.5 10.6 12.7 14.1 27.3 43.1 61.6  79.3  82.9
2016  8.3 10.2 13.2 19.0 19.2 19.2 31.1  46.6  70.9
"""
# The official depths [mm] of 2, 5, 10, 25, 50, 100 years, annual maximum.
CHARLOTTETOWN_OFFICIAL = {
    "5 min": [5.1, 7.4, 8.9, 10.8, 12.3, 13.7],
    "10 min": [7.6, 10.5, 12.4, 14.8, 16.6, 18.4],
    "15 min": [9.4, 12.7, 15.0, 17.7, 19.8, 21.9],
    "30 min": [13.0, 17.1, 19.7, 23.1, 25.6, 28.1],
    "1 h": [18.7, 24.6, 28.4, 33.3, 36.9, 40.5],
    "2 h": [27.1, 36.5, 42.8, 50.7, 56.6, 62.4],
    "6 h": [43.1, 57.2, 66.5, 78.2, 87.0, 95.6],
    "12 h": [53.2, 70.7, 82.3, 97.0, 107.9, 118.7],
    "24 h": [60.5, 78.6, 90.6, 105.8, 117.0, 128.1],
}


@published(
    what="official depths from 31 annual maxima, Gumbel by moments", source="eccc_idf",
    where="Charlottetown A, Tables 1 and 2a", origin="printed", tolerance="0.1 mm",
)  # fmt: skip
@pytest.mark.parametrize("duration", CHARLOTTETOWN_OFFICIAL)
def test_charlottetown(duration: str) -> None:
    maxima = np.array(
        [[float(v) for v in row.split()] for row in CHARLOTTETOWN_MM.split("\n")[1:-1]]
    )
    column = maxima[:, 1 + list(CHARLOTTETOWN_OFFICIAL).index(duration)]
    column = column[~np.isnan(column)]
    fit = gumbel_by_moments(column.mean(), column.std(ddof=1))
    depths = gev_quantile(fit, 1 - 1 / np.array([2.0, 5.0, 10.0, 25.0, 50.0, 100.0]))
    np.testing.assert_allclose(depths, CHARLOTTETOWN_OFFICIAL[duration], atol=0.1)


@published(
    what="partial-duration return periods of annual-maximum ones", source="langbein1949",
    where="table of the two series", origin="memory", tolerance="0.02 yr",
)  # fmt: skip
def test_langbein() -> None:
    partial_yr = np.array([0.5, 1, 1.4427, 2, 5, 10, 20, 50, 100])
    annual_yr = [1.16, 1.58, 2.0, 2.54, 5.52, 10.5, 20.5, 50.5, 100.5]
    np.testing.assert_allclose(partial_return_period_yr(annual_yr), partial_yr, atol=0.02)


def as_annual(partial_depth: dict[float, float], annual_yr: float) -> float:
    """Depth of an annual-maximum return period from partial-duration depths, linear in ln T."""
    t = float(partial_return_period_yr(annual_yr))
    return float(np.interp(np.log(t), np.log(list(partial_depth)), list(partial_depth.values())))


@published(
    what="annual-maximum from partial-duration 24-h depths", source="noaa_atlas14_v2",
    where="38.7611 N, 77.0115 W", origin="printed", tolerance="0.3 % (official smoothing)",
)  # fmt: skip
def test_langbein_joins_the_two_official_series() -> None:
    # 8.29 and 8.26 in of 100 years are farther apart than the curve's own slope allows for half a
    # year (0.01 in): the official tables were smoothed after the series were joined.
    partial_in = {1: 2.58, 2: 3.12, 5: 4.02, 10: 4.81, 25: 6.01, 50: 7.08, 100: 8.29, 500: 11.8}
    for annual_yr, depth_in in ((10, 4.76), (25, 5.99), (50, 7.06), (100, 8.26)):
        assert as_annual(partial_in, annual_yr) == pytest.approx(depth_in, rel=0.003)


@published(
    what="fixed-interval factor of 1 interval (empirical 1.13)", source="tp40", where="p. 1",
    origin="printed", tolerance="0.014 (the theory is 1.143)",
)  # fmt: skip
def test_fixed_interval_factor_beside_the_empirical_one() -> None:
    assert float(weiss_factor(1)) == pytest.approx(1.13, abs=0.014)


@published(
    what="fixed-interval factor beside the empirical one of 1 to 24 intervals", source="wmo168",
    where="adjustment of maxima", origin="quoted", tolerance="0.03 (the theory lies above)",
)  # fmt: skip
def test_fixed_interval_factor_lies_just_above_the_empirical_ones() -> None:
    above = weiss_factor(np.array([1, 2, 3, 5, 9])) - np.array([1.13, 1.04, 1.03, 1.02, 1.01])
    assert np.all((above > 0) & (above < 0.03))


@published(
    what="fixed-interval factor of 1, 2 and 24 intervals", source="weiss1964",
    where="theoretical factor 8n/(8n-1) (recalled)", origin="computed", tolerance="0.0006",
)  # fmt: skip
def test_fixed_interval_factor() -> None:
    np.testing.assert_allclose(
        weiss_factor(np.array([1, 2, 24])), [1.143, 1.067, 1.005], atol=0.0006
    )


@published(
    what="10 and 30-min depths from their neighbours", source="hydro35",
    where="equation 7 and illustration", origin="printed", tolerance="0.01 in",
)  # fmt: skip
def test_minutes_from_their_neighbours() -> None:
    # 100 years: 15 min 1.79 in and 5 min 0.85 in give 10 min 1.40 in
    flat = printed_fit(hour_tables())._replace(
        of_5=np.array([np.log(0.85 / 3.5), 0.0, 0.0]),
        of_15=np.array([np.log(1.79 / 3.5), 0.0, 0.0]),
    )
    ratio = ratios_of(flat, np.array([10.0, 30.0]), 40.0, np.array([100.0]))[:, 0]
    assert 3.5 * ratio[0] == pytest.approx(1.40, abs=0.01)
    assert 3.5 * ratio[1] == pytest.approx(0.49 * 3.5 + 0.51 * 1.79)


@published(
    what="5 to 30-min depths from 60 min beside Atlas 14 at Champaign, 1 to 100 years",
    source="noaa_atlas14_v2", where="40.0962 N, 88.2574 W", origin="printed",
    tolerance="90 % limits of the ratio",
)  # fmt: skip
def test_minutes_beside_an_official_table() -> None:
    official_in = np.array([
        [0.409, 0.485, 0.575, 0.647, 0.740, 0.812, 0.884],
        [0.635, 0.757, 0.893, 0.999, 1.13, 1.23, 1.33],
        [0.779, 0.926, 1.10, 1.23, 1.40, 1.52, 1.65],
        [1.03, 1.24, 1.50, 1.71, 1.98, 2.18, 2.39],
        [1.26, 1.52, 1.88, 2.17, 2.56, 2.87, 3.19],
    ])  # fmt: skip
    period = np.array([1.0, 2.0, 5.0, 10.0, 25.0, 50.0, 100.0])
    known = minute_ratios(np.array([5.0, 10.0, 15.0, 30.0]), 60.0, 25.4 * 1.52, period)
    off = np.abs(np.log(official_in[:4] / official_in[4] / known.ratio)) / known.log_sd[:, None]
    assert np.all(off < 1.645), off


@published(
    what="ratios to 24 h, region A, beside Atlas 14 near Pittsburgh", source="neh630_4",
    where="Figure 4-72", origin="printed", tolerance="90 % limits of the ratio",
)  # fmt: skip
@pytest.mark.parametrize("column", range(7), ids=["1", "2", "5", "10", "25", "50", "100"])
def test_day_ratios_beside_an_official_table(column: int) -> None:
    official_in = np.array([
        [0.976, 1.19, 1.5, 1.74, 2.07, 2.32, 2.58],
        [1.12, 1.36, 1.71, 1.98, 2.36, 2.66, 2.97],
        [1.19, 1.44, 1.8, 2.1, 2.5, 2.83, 3.17],
        [1.42, 1.71, 2.14, 2.48, 2.96, 3.35, 3.77],
        [1.68, 2.01, 2.48, 2.87, 3.42, 3.88, 4.37],
        [2.0, 2.38, 2.91, 3.34, 3.96, 4.46, 4.98],
    ])  # fmt: skip
    known = duration_ratios(RatioSet.REGION_A)
    ratio = official_in[:-1, column] / official_in[-1, column]
    off = np.abs(np.log(ratio / known.ratio[:-1])) / known.spread[:-1]
    assert np.all(off < 1.645), off


@published(
    what="a table of annual maxima in partial-duration terms", source="noaa_atlas14_v2",
    where="38.7611 N, 77.0115 W", origin="printed", tolerance="0.4 % (official smoothing)",
)  # fmt: skip
def test_an_official_annual_table_becomes_partial_duration() -> None:
    annual_in = np.array([4.76, 5.99, 7.06, 8.26])
    table = DepthDurationFrequency(
        np.array([24.0, 25.0]),
        np.array([10.0, 25.0, 50.0, 100.0]),
        25.4 * np.array([annual_in, annual_in]),
        Series.ANNUAL_MAXIMUM,
    )
    found = to_partial_duration(table, [10, 25, 50, 100]).depth_mm[0] / 25.4
    np.testing.assert_allclose(found, [4.81, 6.01, 7.08, 8.29], rtol=0.004)
