"""Annual maxima, distributions, limits and tables from records whose answer a person can see."""

from __future__ import annotations

import dataclasses

import lmoments3
import numpy as np
import pytest
from lmoments3 import distr

from riskkit.errors import InputError, OutOfRangeWarning, RangeError
from riskkit.quantities.climate import read_climate
from riskkit.rainfall.extremes import (
    compare_tables,
    depth_duration_frequency,
    in_climate,
    scale_by_climate,
)
from riskkit.rainfall.frequency import (
    depth_by_return_period_mm,
    depth_limits_mm,
    fit_maxima,
    monotone_depths_mm,
    shrunk_shape,
    simulated_maxima,
    to_partial_duration,
)
from riskkit.rainfall.lmoments import (
    gev_quantile,
    gev_shape,
    gev_with_shape,
    sample_lmoments,
)
from riskkit.rainfall.maxima import annual_maxima
from riskkit.rainfall.minutes import minute_ratios
from riskkit.rainfall.ratios import RatioSet, duration_ratios
from riskkit.records import DepthDurationFrequency, FloatArray, RainRecord, Series


def hourly(years: int, start: str = "2001-01-01") -> FloatArray:
    """A dry hourly record of whole years."""
    begin = np.datetime64(start, "h")
    end = np.datetime64(f"{int(start[:4]) + years}-01-01", "h")
    return np.zeros(int((end - begin).astype(int)))


def at(when: str, start: str = "2001-01-01") -> int:
    return int((np.datetime64(when, "h") - np.datetime64(start, "h")).astype(int))


def random_record(n_years: int, seed: int, interval_s: int = 3600) -> RainRecord:
    rng = np.random.default_rng(seed)
    size = n_years * 8766 * 3600 // interval_s
    wet = rng.random(size) < 0.07
    depth = np.where(wet, rng.weibull(0.65, size) * 1.5, 0.0)
    return RainRecord(depth, np.datetime64("1950-01-01"), interval_s, "made up")


def slow_maximum(depth: FloatArray, n: int) -> float:
    """Largest sum of n neighbours, by looking at every window."""
    return max(float(np.nansum(depth[i : i + n])) for i in range(depth.size - n + 1))


def test_maxima_a_person_can_count() -> None:
    depth = hourly(2)
    depth[at("2001-07-04T15") : at("2001-07-04T18")] = [5.0, 20.0, 10.0]
    depth[at("2002-03-01T00") : at("2002-03-03T00")] = 1.0
    found = annual_maxima(RainRecord(depth, np.datetime64("2001-01-01"), 3600), [1, 2, 3, 24])
    assert found.year.tolist() == [2001, 2002]
    np.testing.assert_allclose(found.depth_mm, [[20, 1], [30, 2], [35, 3], [35, 24]])
    assert found.intervals.tolist() == [1, 2, 3, 24]
    assert found.beside_gap.tolist() == [0, 0, 0, 0]


def test_a_window_belongs_to_the_year_it_ends_in() -> None:
    depth = hourly(2)
    depth[at("2001-12-31T23")] = 7.0
    depth[at("2002-01-01T00")] = 4.0
    found = annual_maxima(RainRecord(depth, np.datetime64("2001-01-01"), 3600), [1, 2])
    np.testing.assert_allclose(found.depth_mm, [[7, 4], [7, 11]])


def test_maxima_equal_a_slow_loop() -> None:
    record = random_record(1, 3)
    part = record.depth_mm[:8760]
    one = RainRecord(part, np.datetime64("1950-01-01"), 3600)
    found = annual_maxima(one, [1, 5, 24, 72])
    for row, n in enumerate([1, 5, 24, 72]):
        assert found.depth_mm[row, 0] == pytest.approx(slow_maximum(part, n), abs=1e-9)


def test_a_year_with_too_little_known_does_not_count() -> None:
    depth = hourly(3)
    depth[at("2001-06-01T12")] = 30.0
    depth[at("2002-06-01T12")] = 50.0
    depth[at("2003-06-01T12")] = 40.0
    depth[at("2002-08-01") : at("2002-12-01")] = np.nan  # a third of 2002
    depth[at("2003-01-01") : at("2003-02-01")] = np.nan  # a twelfth of 2003
    found = annual_maxima(RainRecord(depth, np.datetime64("2001-01-01"), 3600), [1, 24])
    assert found.year.tolist() == [2001, 2003]
    np.testing.assert_allclose(found.depth_mm[0], [30, 40])
    np.testing.assert_allclose(found.known_share, [1.0, 1 - 31 / 365])
    assert found.years_seen == 3


def test_a_record_that_begins_in_autumn_loses_its_first_year() -> None:
    depth = np.full(24 * (92 + 365), 0.1)
    found = annual_maxima(RainRecord(depth, np.datetime64("2001-10-01"), 3600), [1])
    assert found.year.tolist() == [2002]


def test_a_gap_is_never_dry_silently() -> None:
    depth = hourly(1)
    storm = at("2001-07-04T12")
    depth[storm : storm + 6] = [10.0, np.nan, 10.0, 5.0, 0.0, 0.0]
    found = annual_maxima(RainRecord(depth, np.datetime64("2001-01-01"), 3600), [1, 3, 6])
    # the hour itself is whole; the 3-h window with a hole holds at least 20 mm, the whole one 15
    np.testing.assert_allclose(found.depth_mm[:, 0], [10, 20, 25])
    assert found.beside_gap.tolist() == [0, 1, 1]


def test_the_table_says_that_maxima_lie_beside_gaps() -> None:
    depth = random_record(8, 4).depth_mm.copy()
    worst = int(np.nanargmax(depth))
    depth[worst + 1] = np.nan
    record = RainRecord(depth, np.datetime64("1950-01-01"), 3600)
    table = depth_duration_frequency(
        record, duration_h=(1.0, 24.0), return_period_yr=(1.0, 2.0, 10.0)
    )
    assert any("beside a gap" in note for note in table.notes)


def test_no_year_known_well_enough_is_refused() -> None:
    depth = hourly(1)
    depth[: depth.size // 2] = np.nan
    with pytest.raises(RangeError, match="no year is known to 80 %"):
        annual_maxima(RainRecord(depth, np.datetime64("2001-01-01"), 3600), [1])


def test_a_duration_that_is_no_multiple_is_refused() -> None:
    record = RainRecord(hourly(1), np.datetime64("2001-01-01"), 3600)
    with pytest.raises(RangeError, match="no multiple"):
        annual_maxima(record, [1.5])


@pytest.mark.parametrize("n", [5, 11, 30, 62, 200])
def test_lmoments_and_fits_equal_an_independent_library(n: int) -> None:
    x = np.random.default_rng(n).gumbel(30.0, 9.0, n) ** 1.1
    ours = sample_lmoments(x)
    theirs = lmoments3.lmom_ratios(x, nmom=4)
    np.testing.assert_allclose([float(v) for v in ours], theirs, rtol=1e-10)
    gev = gev_with_shape(ours.l1, ours.l2, gev_shape(ours.t3))
    fit = distr.gev.lmom_fit(x)
    np.testing.assert_allclose(
        [gev.shape, gev.location, gev.scale], [fit["c"], fit["loc"], fit["scale"]], rtol=2e-5
    )
    gumbel = gev_with_shape(ours.l1, ours.l2, np.array(0.0))
    fit = distr.gum.lmom_fit(x)
    # a shape of 1e-7 stands for zero
    np.testing.assert_allclose(
        [gumbel.location, gumbel.scale], [fit["loc"], fit["scale"]], rtol=2e-7
    )


@pytest.mark.parametrize("shape", [-0.3, -0.1, -1e-4, 1e-9, 0.0, 0.2])
def test_a_fit_returns_the_distribution_it_was_given(shape: float) -> None:
    # exact L-moments of a known distribution, from its quantiles at a million probabilities
    f = (np.arange(1_000_000) + 0.5) / 1_000_000
    y = -np.log(-np.log(f))
    x = 20.0 + 6.0 * (y if shape == 0 else -np.expm1(-shape * y) / shape)
    b0, b1, b2 = x.mean(), (x * f).mean(), (x * f * f).mean()
    l2, l3 = 2 * b1 - b0, 6 * b2 - 6 * b1 + b0
    fit = gev_with_shape(np.array(b0), np.array(l2), gev_shape(np.array(l3 / l2)))
    assert fit.shape == pytest.approx(shape, abs=2e-3)
    assert fit.scale == pytest.approx(6.0, rel=2e-3)
    assert fit.location == pytest.approx(20.0, rel=2e-3)


def gumbel_depths(l1: float, l2: float, probability: FloatArray) -> FloatArray:
    """Quantiles of Gumbel's distribution by its first two L-moments, Hosking (1990), Table 2."""
    scale = l2 / np.log(2.0)
    return l1 - scale * (np.euler_gamma + np.log(-np.log(probability)))


def test_gev_meets_gumbel_at_shape_zero() -> None:
    f = np.array([0.1, 0.5, 0.9, 0.99])
    shape = gev_shape(np.array(np.log(9 / 8) / np.log(2)))  # the L-skewness of Gumbel
    gev = gev_with_shape(np.array(40.0), np.array(8.0), shape)
    np.testing.assert_allclose(gev_quantile(gev, f), gumbel_depths(40.0, 8.0, f), rtol=1e-6)


def test_an_extreme_skewness_warns() -> None:
    with pytest.warns(OutOfRangeWarning, match="L-skewness"):
        gev_shape(np.array(0.95))


def test_too_few_values_and_gaps_are_refused() -> None:
    with pytest.raises(RangeError, match="too few"):
        sample_lmoments(np.array([1.0, 2.0, 3.0]))
    with pytest.raises(RangeError, match="missing"):
        sample_lmoments(np.array([1.0, 2.0, np.nan, 4.0]))
    with pytest.raises(RangeError, match="complete years"):
        depth_by_return_period_mm(np.array([[1.0, 2.0, 3.0, 4.0]]), np.array([2.0]))


def test_one_fit_for_all_lengths_of_record() -> None:
    # the same quantiles of one law, seen in more and more years: nothing jumps, least of all at 30
    periods = np.array([100.0])
    depths = []
    for n in range(20, 61):
        f = (np.arange(n) + 0.56) / (n + 0.12)
        x = 40.0 + 12.0 * np.expm1(-0.1 * np.log(-np.log(f))) / 0.1
        depths.append(float(depth_by_return_period_mm(x, periods)[0]))
    steps = np.abs(np.diff(depths)) / depths[0]
    assert steps.max() < 0.001


def test_neighbouring_durations_share_one_shape() -> None:
    rng = np.random.default_rng(3)
    maxima = np.sort(rng.gumbel(30.0, 9.0, (4, 40)), axis=0)
    fit = fit_maxima(maxima)
    assert np.ptp(fit.shape) == 0
    alone = [float(fit_maxima(row).shape) for row in maxima]
    assert min(alone) < fit.shape[0] < max(alone)
    # a duration's own mean is kept: the fit has the sample's first L-moment
    f = (np.arange(100_000) + 0.5) / 100_000
    mean = gev_quantile(fit._replace(**{k: v[:, None] for k, v in fit._asdict().items()}), f)
    np.testing.assert_allclose(mean.mean(axis=1), maxima.mean(axis=1), rtol=1e-3)


def test_few_years_say_little_of_the_shape() -> None:
    fitted = np.array([-0.4, 0.0])
    spread = [float(-np.diff(-shrunk_shape(fitted, n))[0]) for n in (10, 30, 100, 10_000)]
    assert spread == sorted(spread) and spread[0] < 0.08 < 0.3 < spread[-1]
    assert np.all(shrunk_shape(np.array([0.3, 0.8]), 1000) == 0)


def test_the_world_survey_describes_samples_of_its_own_shapes() -> None:
    # true shapes of mean -0.114 and deviation 0.045: the fitted ones of n years have the mean and
    # the deviation that the survey gives for n, and the estimate has those of the true ones again
    rng = np.random.default_rng(2)
    for n in (40, 70, 120):
        true = rng.normal(-0.114, 0.045, (20_000, 1))
        x = -np.expm1(true * np.log(rng.standard_exponential((20_000, n)))) / true
        moments = sample_lmoments(x)
        fitted = gev_shape(moments.t3)
        assert fitted.mean() == pytest.approx(-0.114 + 0.69 * n**-0.98, abs=0.01)
        assert fitted.std() == pytest.approx(0.045 + 1.27 * n**-0.70, rel=0.12)
        assert shrunk_shape(fitted, n).mean() == pytest.approx(-0.114, abs=0.005)


def test_rain_is_never_given_an_upper_bound() -> None:
    x = np.tile(np.linspace(20.0, 40.0, 60), 40)  # even spacing: a shape well above zero
    moments = sample_lmoments(x)
    assert gev_shape(moments.t3) > 0.1
    assert fit_maxima(x).shape == pytest.approx(0.0, abs=1e-6)
    periods = np.array([10.0, 100.0])
    np.testing.assert_allclose(
        depth_by_return_period_mm(x, periods),
        gumbel_depths(float(moments.l1), float(moments.l2), np.exp(-1 / periods)),
        rtol=1e-5,
    )


@pytest.mark.parametrize("years", [25, 40, 60])
@pytest.mark.parametrize("shape", [-0.05, -0.10])
def test_limits_hold_the_truth_nine_times_in_ten(years: int, shape: float) -> None:
    """A small part of tests/speed/study_limits.py. The whole study gave these shares of limits that
    hold the truth at 10 / 100 years, for one duration (4,000 records) and six together (1,000):

    ====== ===== =========== ===========
    shape  years one         six
    ====== ===== =========== ===========
     0.00   25   .946 / .942 .953 / .945
    -0.05   25   .933 / .924 .938 / .933
    -0.10   25   .912 / .895 .920 / .912
    -0.15   25   .891 / .861 .901 / .880
     0.00   40   .950 / .944 .950 / .943
    -0.05   40   .935 / .923 .932 / .929
    -0.10   40   .918 / .896 .914 / .906
    -0.15   40   .893 / .853 .890 / .876
     0.00   60   .943 / .948 .946 / .948
    -0.05   60   .929 / .930 .930 / .936
    -0.10   60   .916 / .903 .910 / .912
    -0.15   60   .888 / .861 .894 / .878
    ====== ===== =========== ===========
    """
    rng = np.random.default_rng(years)
    periods = np.array([10.0, 100.0])
    truth = 40.0 - 12.0 * np.expm1(-shape * np.log(periods)) / shape
    held = np.zeros(2)
    for _ in range(400):
        reduced = -np.log(rng.standard_exponential((1, years)))
        maxima = 40.0 - 12.0 * np.expm1(-shape * reduced) / shape
        lower, upper = depth_limits_mm(maxima, periods, rng, 300)
        held += (lower[0] <= truth) & (truth <= upper[0])
    assert np.all((held / 400 >= 0.85) & (held / 400 <= 0.95)), held / 400


def test_limits_do_not_ask_for_the_unit_or_the_wettest_duration() -> None:
    maxima = np.random.default_rng(4).gumbel(30, 8, (3, 30))
    periods = np.array([2.0, 100.0])
    low, high = depth_limits_mm(maxima, periods, np.random.default_rng(1))
    low_in, high_in = depth_limits_mm(maxima / 25.4, periods, np.random.default_rng(1))
    np.testing.assert_allclose(low_in * 25.4, low, rtol=1e-9)
    np.testing.assert_allclose(high_in * 25.4, high, rtol=1e-9)


def test_ties_do_not_make_durations_go_together() -> None:
    """Each value of one goes with each of the other ten times: their correlation is none."""
    one, other = np.tile([1.0, 2.0], 20), np.tile([1.0, 1.0, 2.0, 2.0], 10)
    maxima = np.stack([one, other, np.ones(40)])  # the third a gauge that tells nothing
    drawn = simulated_maxima(maxima, np.array(0.0), np.random.default_rng(1), 4000)
    together = np.corrcoef(drawn.swapaxes(0, 1).reshape(3, -1))
    np.testing.assert_allclose(together, np.eye(3), atol=0.01)
    # Gumbel's standard deviation at scale 1: pi over the root of 6
    np.testing.assert_allclose(drawn.std(axis=(0, 2)), np.pi / np.sqrt(6), rtol=0.01)


def test_limits_of_five_years_are_wide_and_above_zero() -> None:
    maxima = np.array([[20.0, 21.0, 20.5, 60.0, 22.0], [30.0, 31.0, 30.5, 90.0, 33.0]])
    low, high = depth_limits_mm(maxima, np.array([1.0, 10.0, 100.0]), np.random.default_rng(1))
    assert np.all(low > 0)
    assert np.all(high[:, 2] > 2 * depth_by_return_period_mm(maxima, np.array([100.0]))[:, 0])


def test_limits_narrow_with_the_length_of_the_record() -> None:
    rng = np.random.default_rng(6)
    width = []
    for n in (30, 120, 480):
        lower, upper = depth_limits_mm(rng.gumbel(30, 8, (1, n)), np.array([25.0]), rng, 400)
        width.append(float(upper[0, 0] - lower[0, 0]))
    assert width[0] > 1.3 * width[1] > 1.3 * 1.3 * width[2]


def test_depths_converge_to_the_true_ones() -> None:
    rng = np.random.default_rng(7)
    periods = np.array([1.0, 2.0, 10.0, 100.0])
    truth = 30.0 + 8.0 * np.log(periods)
    found = depth_by_return_period_mm(rng.gumbel(30.0, 8.0, 200_000), periods)
    np.testing.assert_allclose(found, truth, rtol=0.01)


def test_partial_duration_depths_are_what_counting_storms_gives() -> None:
    # storms at random, four a year, exponential depths: exceeded once in T years is u + a ln(4 T)
    rng = np.random.default_rng(9)
    n_years = 100_000
    storms = rng.poisson(4.0, n_years)
    depths = 20.0 + 6.0 * rng.standard_exponential(int(storms.sum()))
    some = storms > 0
    first = np.concatenate(([0], np.cumsum(storms)))[:-1]
    maxima = np.maximum.reduceat(depths, first[some])
    periods = np.array([1.0, 2.0, 10.0])
    counted = np.sort(depths)[::-1][(n_years / periods).astype(int)]
    np.testing.assert_allclose(depth_by_return_period_mm(maxima, periods), counted, rtol=0.02)


def test_monotone_raises_and_counts() -> None:
    raised, n = monotone_depths_mm(np.array([[10.0, 12.0, 11.0], [9.0, 14.0, 20.0]]))
    np.testing.assert_allclose(raised, [[10, 12, 12], [10, 14, 20]])
    assert n == 2


def test_the_table_of_an_hourly_record() -> None:
    record = random_record(40, 1)
    table = depth_duration_frequency(record, np.random.default_rng(1))
    assert table.duration_h.size == 12
    assert table.years == 40
    assert table.series is Series.PARTIAL_DURATION
    assert table.lower_mm is not None and table.upper_mm is not None
    assert np.all(table.lower_mm <= table.depth_mm) and np.all(table.depth_mm <= table.upper_mm)
    hour_mm = table.depth_mm[4, 1]  # of two years
    minutes = np.array([5.0, 10.0, 15.0, 30.0])
    ratio = minute_ratios(minutes, 60.0, hour_mm, table.return_period_yr).ratio
    np.testing.assert_allclose(table.depth_mm[:4] / table.depth_mm[4], ratio)
    assert any("read too seldom" in note for note in table.notes)
    # relative width grows towards the durations that rest on a ratio
    width = np.log(table.upper_mm / table.lower_mm)[:, 3]
    assert min(width[:3]) > width[3] > width[4]


def test_a_fixed_hour_is_corrected_by_an_eighth_at_most() -> None:
    record = random_record(40, 1)
    table = depth_duration_frequency(
        record, duration_h=(1.0, 12.0, 24.0), return_period_yr=(2.0, 10.0)
    )
    raw = annual_maxima(record, [1, 12, 24]).depth_mm
    plain = depth_by_return_period_mm(raw, np.array([2.0, 10.0]))
    np.testing.assert_allclose(
        table.depth_mm / plain, np.repeat([[8 / 7], [96 / 95], [192 / 191]], 2, axis=1)
    )


def test_a_daily_record_gets_all_shorter_depths_from_ratios() -> None:
    record = random_record(40, 2, 86400)
    mean = depth_duration_frequency(record, np.random.default_rng(1))
    region = depth_duration_frequency(record, np.random.default_rng(1), ratios=RatioSet.REGION_D)
    day = mean.duration_h.tolist().index(24.0)
    hour = mean.duration_h.tolist().index(1.0)
    assert mean.depth_mm[hour, 2] / mean.depth_mm[day, 2] == pytest.approx(0.4325, abs=1e-4)
    assert region.depth_mm[hour, 2] / region.depth_mm[day, 2] == pytest.approx(0.366)
    assert any("24 h times published ratios" in note for note in mean.notes)
    assert mean.lower_mm is not None and mean.upper_mm is not None
    for name in (RatioSet.REGION_A, RatioSet.REGION_D):
        ratio = duration_ratios(name).ratio[0]
        assert mean.lower_mm[hour, 2] < ratio * mean.depth_mm[day, 2] < mean.upper_mm[hour, 2]


def test_a_ratio_that_nobody_published_is_refused() -> None:
    record = random_record(10, 2, 86400)
    periods = (2.0, 10.0)
    with pytest.raises(RangeError, match="no published ratio"):
        depth_duration_frequency(record, duration_h=(4.0, 24.0), return_period_yr=periods)
    with pytest.raises(RangeError, match="none of the durations"):
        depth_duration_frequency(record, duration_h=(1.0, 72.0), return_period_yr=periods)
    with pytest.raises(RangeError, match="no duration is a multiple"):
        depth_duration_frequency(record, duration_h=(1.0, 2.0), return_period_yr=periods)


def test_ten_years_do_not_tell_the_hundred_year_storm() -> None:
    record = random_record(10, 3)
    with pytest.warns(OutOfRangeWarning, match="more than three times the 10 years"):
        table = depth_duration_frequency(record)
    assert any("more than three times" in note for note in table.notes)
    assert table.lower_mm is None
    assert any("shrunk towards that of the world" in note for note in table.notes)


def test_a_dry_record_is_refused_in_words() -> None:
    with pytest.raises(RangeError, match="zero or below"):
        depth_duration_frequency(
            RainRecord(hourly(6), np.datetime64("2001-01-01"), 3600), return_period_yr=(2.0, 10.0)
        )


def test_the_same_seed_gives_the_same_limits() -> None:
    record = random_record(40, 1)
    one, two = (depth_duration_frequency(record, np.random.default_rng(3)) for _ in range(2))
    np.testing.assert_array_equal(one.upper_mm, two.upper_mm)


def small_table(series: Series = Series.PARTIAL_DURATION) -> DepthDurationFrequency:
    return DepthDurationFrequency(
        duration_h=np.array([1.0, 4.0]),
        return_period_yr=np.array([2.0, 8.0, 32.0]),
        depth_mm=np.array([[10.0, 20.0, 30.0], [20.0, 40.0, 60.0]]),
        series=series,
        lower_mm=np.array([[8.0, 15.0, 20.0], [16.0, 30.0, 40.0]]),
        upper_mm=np.array([[12.0, 26.0, 45.0], [24.0, 52.0, 90.0]]),
    )


def test_depth_between_the_cells() -> None:
    table = small_table()
    assert table.depth_at(1.0, 8.0) == pytest.approx(20.0)
    assert table.depth_at(1.0, 4.0) == pytest.approx(15.0)  # half-way in log return period
    assert table.depth_at(2.0, 8.0) == pytest.approx(20.0 * 2**0.5)  # half-way in both logs
    np.testing.assert_allclose(table.depth_at(np.array([1.0, 4.0]), 32.0), [30.0, 60.0])
    limits = table.limits_at(1.0, 4.0)
    assert limits is not None
    assert limits[0] == pytest.approx(11.5)
    assert limits[1] == pytest.approx(19.0)


def test_depth_beyond_the_table_is_refused() -> None:
    table = small_table()
    for duration_h, period in ((0.9, 8.0), (4.1, 8.0), (2.0, 1.9), (2.0, 33.0), (np.nan, 8.0)):
        with pytest.raises(RangeError, match="beyond it"):
            table.depth_at(duration_h, period)


def test_a_table_of_annual_maxima_is_linear_in_its_own_variate() -> None:
    table = small_table(Series.ANNUAL_MAXIMUM)
    y = -np.log(-np.log(1 - 1 / np.array([2.0, 5.0, 8.0])))
    wanted = 10.0 + 10.0 * (y[1] - y[0]) / (y[2] - y[0])
    assert table.depth_at(1.0, 5.0) == pytest.approx(wanted)


def gumbel_table(series: Series, periods: list[float]) -> DepthDurationFrequency:
    """Depths of one Gumbel law, as either series counts them."""
    t = np.array(periods)
    y = np.log(t) if series is Series.PARTIAL_DURATION else -np.log(-np.log(1 - 1 / t))
    return DepthDurationFrequency(
        np.array([1.0, 24.0]), t, np.array([30.0 + 8.0 * y, 60.0 + 15.0 * y]), series
    )


def test_annual_maxima_become_partial_duration() -> None:
    annual = gumbel_table(Series.ANNUAL_MAXIMUM, [2, 5, 10, 25, 50, 100])
    wanted = gumbel_table(Series.PARTIAL_DURATION, [1, 2, 5, 10, 25, 50, 100])
    found = to_partial_duration(annual, [1, 2, 5, 10, 25, 50, 100])
    np.testing.assert_allclose(found.depth_mm, wanted.depth_mm, rtol=1e-12)
    assert found.series is Series.PARTIAL_DURATION
    assert any("Langbein" in note for note in found.notes)
    assert any("below 1.44 years" in note for note in found.notes)
    assert to_partial_duration(wanted) is wanted
    assert to_partial_duration(annual).return_period_yr.tolist() == [2, 5, 10, 25, 50, 100]
    for beyond in ([0.5, 2], [2, 200]):
        with pytest.raises(RangeError, match="beyond the table"):
            to_partial_duration(annual, beyond)


def test_tables_side_by_side() -> None:
    own = gumbel_table(Series.PARTIAL_DURATION, [1, 2, 5, 10])
    official = scale_by_climate(gumbel_table(Series.ANNUAL_MAXIMUM, [2, 5, 10, 25]), 1.25)
    found = compare_tables(own, official)
    assert found.inside is None
    limits = dataclasses.replace(own, lower_mm=own.depth_mm * 0.9, upper_mm=own.depth_mm * 1.3)
    inside = compare_tables(limits, official).inside
    assert inside is not None and inside.all()  # the official depths are a quarter larger
    narrow = dataclasses.replace(own, lower_mm=own.depth_mm * 0.9, upper_mm=own.depth_mm * 1.2)
    inside = compare_tables(narrow, official).inside
    assert inside is not None and not inside.any()
    assert found.return_period_yr.tolist() == [2, 5, 10]
    np.testing.assert_allclose(found.difference_pct, -20.0, rtol=1e-9)
    far = DepthDurationFrequency(
        np.array([2.0, 3.0]), np.array([2.0, 5.0]), np.ones((2, 2)), Series.PARTIAL_DURATION
    )
    with pytest.raises(InputError, match="share no duration"):
        compare_tables(own, far)


def test_climate_factor() -> None:
    table = small_table()
    warm = scale_by_climate(table, 1.2)
    np.testing.assert_allclose(warm.depth_mm, 1.2 * table.depth_mm)
    assert warm.upper_mm is not None and warm.lower_mm is not None
    assert warm.upper_mm[0, 0] == pytest.approx(14.4)
    assert "1.2" in warm.notes[-1]
    with pytest.raises(RangeError, match="climate factor"):
        scale_by_climate(table, 0.0)


@pytest.mark.parametrize(
    ("written", "factor", "words"),
    [
        ("2 K", 1.1449, "in a climate 2 °C (3.6 °F) warmer"),
        ("-1K", 1 / 1.07, "in a climate 1 °C (1.8 °F) cooler"),
        ("2 °C", 1.1449, "in a climate 2 °C (3.6 °F) warmer"),
        ("2 degC", 1.1449, "in a climate 2 °C (3.6 °F) warmer"),
        ("2 C", 1.1449, "in a climate 2 °C (3.6 °F) warmer"),
        ("+2 degrees Celsius", 1.1449, "in a climate 2 °C (3.6 °F) warmer"),
        ("3.6 °F", 1.1449, "in a climate 2 °C (3.6 °F) warmer"),
        ("3.6degF", 1.1449, "in a climate 2 °C (3.6 °F) warmer"),
        ("3.6 f", 1.1449, "in a climate 2 °C (3.6 °F) warmer"),
        ("20 per cent", 1.2, "with 20 % more rain in storms"),
        ("20 %", 1.2, "with 20 % more rain in storms"),
        ("-10%", 0.9, "with 10 % less rain in storms"),
        (" \u221210  % ", 0.9, "with 10 % less rain in storms"),
    ],
)
def test_a_changed_climate_scales_a_table_and_says_so(
    written: str, factor: float, words: str
) -> None:
    table, climate = small_table(), read_climate(written, "rain.climate")
    changed = in_climate(table, climate)
    np.testing.assert_allclose(changed.depth_mm, factor * table.depth_mm)
    assert climate.words() == words and changed.climate == climate
    assert words in changed.notes[-1] and len(changed.notes) == len(table.notes) + 1


@pytest.mark.parametrize("written", ["0 K", "0 %"])
def test_no_change_of_the_climate_changes_nothing(written: str) -> None:
    table = small_table()
    assert in_climate(table, read_climate(written, "x")) is table is in_climate(table, None)


@pytest.mark.parametrize(
    ("written", "warns"), [("-1 °C", True), ("-10 %", True), ("1 °C", False), ("10 %", False)]
)
def test_less_rain_than_fell_is_warned_of(written: str, warns: bool) -> None:
    note = in_climate(small_table(), read_climate(written, "x")).notes[-1]
    assert ("less rain than fell" in note) == warns


def test_why_short_depths_are_not_scaled_from_hours() -> None:
    # 10-year depths printed in official tables, 5, 10, 15, 30 min, 1 h, 24 h: near Pittsburgh and
    # Champaign [in], Charlottetown [mm]. A power law through 1 h and 24 h makes five minutes a
    # third to twice too large; the published ratios are within a sixth everywhere.
    hours = np.array([1 / 12, 1 / 6, 0.25, 0.5])
    for official, hour_mm in (
        ([0.519, 0.802, 0.987, 1.37, 1.74, 3.34], 30.2),
        ([0.647, 0.999, 1.23, 1.71, 2.17, 4.31], 38.6),
        ([8.9, 12.4, 15.0, 19.7, 28.4, 90.6], 18.7),
    ):
        exponent = np.log(official[5] / official[4]) / np.log(24.0)
        scaled = official[4] * hours**exponent / official[:4] - 1.0
        known = minute_ratios(60 * hours, 60.0, hour_mm, np.array([10.0])).ratio[:, 0]
        by_ratio = official[4] * known / official[:4] - 1.0
        assert np.all(np.abs(by_ratio) < 0.15)
        assert scaled[0] > 0.28 and np.abs(scaled).mean() > 2 * np.abs(by_ratio).mean()


def test_a_bent_table_is_followed_from_each_return_period_to_the_next() -> None:
    """By hand: annual 2, 10 and 50 years are -1/ln(1 - 1/T) = 1.4427, 9.4912 and 49.4983 years."""
    depth = np.array([[10.0, 20.0, 50.0], [20.0, 40.0, 100.0]])
    annual = DepthDurationFrequency(
        np.array([1.0, 2.0]), np.array([2.0, 10.0, 50.0]), depth, Series.ANNUAL_MAXIMUM
    )
    # half-way on the logarithms: sqrt(1.4427 * 9.4912) = 3.7004, sqrt(9.4912 * 49.4983) = 21.6748
    found = to_partial_duration(annual, [1.4427, 3.7004, 9.4912, 21.6748, 49.4983])
    np.testing.assert_allclose(found.depth_mm[0], [10.0, 15.0, 20.0, 35.0, 50.0], rtol=1e-4)
