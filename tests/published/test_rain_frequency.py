"""Published values of frequencies, their checks, and steps in a record."""

from __future__ import annotations

from functools import partial

import numpy as np
import pytest

from riskkit.rainfall.frequency import shrunk_shape
from riskkit.rainfall.homogeneity import pettitt
from riskkit.rainfall.lmoments import gev_shape, sample_lmoments
from riskkit.rainfall.peaks import (
    GeneralisedPareto,
    PeakSeries,
    pareto_depth_mm,
    pareto_quantile,
)
from riskkit.rainfall.plotting import CUNNANE, plot_correlation, plotting_position
from riskkit.tables import load_table

published = partial(pytest.mark.published, stage="rain")

GRINGORTEN = 0.44

HOSKING = np.array([2.0, 3.0, 4.0, 2.4, 5.5, 1.2, 5.4, 2.2, 7.1, 1.3, 1.5])

# simulated data of Page (1955), as printed by Pettitt
PAGE = """
-1.05 0.96 1.22 0.58 -0.98 -0.03 -1.54 -0.71 -0.35 0.66 0.44 0.91 -0.02 -1.42 1.26 -1.02 -0.81 1.66
1.05 0.97 2.14 1.22 -0.24 1.60 0.72 -0.12 0.44 0.03 0.66 0.56 1.37 1.66 0.10 0.80 1.29 0.49 -0.07
1.18 3.29 1.84
"""


@published(
    what="peaks above the threshold of a generalised Pareto fit by L-moments: quantiles",
    source="hosking_lmoments", where="test sample", origin="printed", tolerance="1e-6",
)  # fmt: skip
def test_pareto_by_lmoments() -> None:
    """One peak a year, so that F = 1 - 1/T; with its threshold known the fit is the same."""
    peaks = PeakSeries(np.sort(HOSKING)[::-1], 0.7928727, HOSKING.size)
    found = pareto_depth_mm(peaks, 1 / (1 - np.array([0.2, 0.5, 0.8])))
    np.testing.assert_allclose(found, [1.404848, 2.632964, 4.806899], atol=1e-6)


@published(
    what="quantiles of a generalised Pareto distribution", source="hosking_lmoments",
    where="test sample", origin="printed", tolerance="1e-6",
)  # fmt: skip
def test_pareto_quantiles() -> None:
    fit = GeneralisedPareto(np.array(0.7928727), np.array(2.7855796), np.array(0.14))
    found = pareto_quantile(fit, np.array([0.2, 0.5, 0.8]))
    np.testing.assert_allclose(found, [1.404848, 2.632964, 4.806899], atol=1e-6)


@published(
    what="peaks over a threshold with exponential excess: u + a ln(rate T)",
    source="hosking_wallis1987", where="limit of shape 0 (recalled)", origin="computed",
    tolerance="1 %",
)  # fmt: skip
def test_exponential_peaks() -> None:
    f = (np.arange(20_000) + 0.5) / 20_000
    peaks = PeakSeries(np.sort(30.0 - 8.0 * np.log1p(-f))[::-1], 30.0, 8_000.0)
    periods = np.array([1.0, 10.0, 100.0])
    found = pareto_depth_mm(peaks, periods)
    np.testing.assert_allclose(found, 30.0 + 8.0 * np.log(2.5 * periods), rtol=0.01)


@published(
    what="Pettitt's test: statistic, place and chance", source="pettitt1979", where="Table 1",
    origin="printed", tolerance="exact; half the last digit",
)  # fmt: skip
def test_pettitt_on_the_data_of_page() -> None:
    found = pettitt(np.array([float(v) for v in PAGE.split()]))
    assert (found.statistic, found.before) == (232, 17)
    assert found.p_value == pytest.approx(0.0146, abs=0.00005)


@published(
    what="Gringorten's plotting position is unbiased for Gumbel, Weibull's is not",
    source="cunnane1978", where="abstract", origin="printed",
    tolerance="0.02 of the reduced variate up to the largest of 40",
)  # fmt: skip
def test_plotting_position_of_gumbel() -> None:
    # mean of the largest of n reduced variates: Euler's number + ln n, exact
    for n in (10, 20, 40):
        mean_largest = float(np.euler_gamma) + np.log(n)
        by_formula = -np.log(-np.log(plotting_position(n, GRINGORTEN)[-1]))
        assert by_formula == pytest.approx(mean_largest, abs=0.02)
        weibull = -np.log(-np.log(plotting_position(n, 0.0)[-1]))
        assert weibull < mean_largest - 0.4


@published(
    what="plotting position 3/8 for the normal, 2/5 the compromise", source="cunnane1978",
    where="abstract", origin="printed", tolerance="exact; 0.02 of the normal variate",
)  # fmt: skip
def test_plotting_position_of_the_normal() -> None:
    from scipy.stats import norm

    assert CUNNANE == 2 / 5
    # means of the largest of 5, 10 and 20 normal values, exact
    for n, mean_largest in ((5, 1.16296), (10, 1.53875), (20, 1.86748)):
        assert norm.ppf(plotting_position(n, 3 / 8)[-1]) == pytest.approx(mean_largest, abs=0.02)


@published(
    what="critical correlation of a Gumbel plot, 10 % level, 10 to 50 years", source="vogel1986",
    where="critical values", origin="memory", tolerance="0.002 (both are simulated)",
)  # fmt: skip
def test_critical_plot_correlation() -> None:
    rng = np.random.default_rng(6)
    for n, critical in ((10, 0.9260), (20, 0.9517), (30, 0.9622), (50, 0.9729)):
        drawn = rng.gumbel(size=(20_000, n))
        found = np.quantile(plot_correlation(drawn, np.array(0.0), GRINGORTEN), 0.10)
        assert found == pytest.approx(critical, abs=0.002)


@published(
    what="shape of annual maxima shrunk towards that of the world",
    source="papalexiou2013", where="mean and spread by length of record", origin="memory",
    tolerance="exact",
)  # fmt: skip
def test_shape_drawn_towards_the_world_survey() -> None:
    # a fitted shape that is the mean of all fits of that length says: the mean of true shapes
    for n in (40, 80, 163):
        assert shrunk_shape(np.array(-0.114 + 0.69 * n**-0.98), n) == pytest.approx(-0.114)
        one_off = shrunk_shape(np.array(-0.114 + 0.69 * n**-0.98 - 0.045 - 1.27 * n**-0.70), n)
        assert one_off == pytest.approx(-0.114 - 0.045)


@published(
    what="fitted shapes of 40 to 163 years have the mean and spread of the survey",
    source="papalexiou2013", where="mean and spread by length of record", origin="memory",
    tolerance="0.01; 10 % (simulated from its true shapes)",
)  # fmt: skip
def test_the_survey_is_what_samples_of_its_true_shapes_give() -> None:
    rng = np.random.default_rng(12)
    for n in (40, 80, 163):
        true = rng.normal(-0.114, 0.045, (10_000, 1))
        moments = sample_lmoments(
            -np.expm1(true * np.log(rng.standard_exponential((10_000, n)))) / true
        )
        fitted = gev_shape(moments.t3)
        assert fitted.mean() == pytest.approx(-0.114 + 0.69 * n**-0.98, abs=0.01)
        assert fitted.std() == pytest.approx(0.045 + 1.27 * n**-0.70, rel=0.10)


@published(
    what="usual depths of new snow over its water pass the check, a tenth of them does not",
    source="baxter2005", where="abstract: a mean of 13, in place of the usual 10",
    origin="printed", tolerance="inside",
)  # fmt: skip
def test_snow_over_its_water() -> None:
    row = next(r for r in load_table("quality_limits").rows if r["check"] == "snow over its water")
    low, high = float(row["warn_below"]), float(row["warn_above"])
    assert all(low < ratio < high for ratio in (10, 13))
    assert all(not low < ratio * wrong < high for ratio in (10, 13) for wrong in (0.1, 10, 25.4))
