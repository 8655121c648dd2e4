"""Cycles, volumes and bins, by hand."""

from __future__ import annotations

from dataclasses import replace

import numpy as np
import pytest

from riskkit.gauge.cycles import Anomaly, bins_of, cycle_flow_m3_s, cycles_of, in_spans
from riskkit.gauge.pump import Course, pump_course, pump_flow_m3_s
from tests.gauge.truth import DAY_S, YEAR_S, log_of

ONE = np.ones(1)


def test_a_quiet_cycle_fills_the_pit_while_the_pump_rests() -> None:
    """30 L less 2 L that fall back, in 980 s: 28 / 980 = 0.02857 L/s."""
    cycles = cycles_of(log_of([0, 1000], [20, 1020]))
    assert cycle_flow_m3_s(cycles, 0.030 * ONE, 0.002, ONE) == pytest.approx(0.028 / 980)


def test_what_a_pump_carries_is_the_volume_and_what_came_in_meanwhile() -> None:
    """30 L in 20 s are 1.5 L/s, and 28 L in 980 s came in besides."""
    cycles = cycles_of(log_of([0, 1000], [20, 1020]))
    assert pump_flow_m3_s(cycles, 0.030 * ONE, 0.002) == pytest.approx(0.0015 + 0.028 / 980)


def test_a_pump_that_runs_hard_tells_inflow_by_what_it_lifts() -> None:
    """Runs of 20 s are usual; in one of 60 s of 80 s, 60 x 1.5 L are lifted, 2 L fall back."""
    starts, stops = [0, 500, 1000, 1500, 1580], [20, 520, 1020, 1560, 1600]
    cycles = cycles_of(log_of(starts, stops))
    assert cycles.is_hard.tolist() == [False, False, False, True]
    flow = cycle_flow_m3_s(cycles, np.full(4, 0.03), 0.002, np.full(4, 0.0015))
    assert flow[3] == pytest.approx((0.09 - 0.002) / 80)
    assert np.isnan(pump_flow_m3_s(cycles, np.full(4, 0.03), 0.002)[3])


def test_starts_alone_tell_inflow_by_the_pump_of_the_home() -> None:
    """V 30 L, pump 1.5 L/s, inflow 0.3 L/s: 100 s of rest and 30 / 1.2 = 25 s of running."""
    log = replace(log_of([0, 125], [1, 126]), stop_s=np.full(2, np.nan))
    cycles = cycles_of(log)
    assert not cycles.tells_runs
    flow = cycle_flow_m3_s(cycles, 0.030 * ONE, 0.0, 0.0015 * ONE)
    assert flow == pytest.approx(0.0003)


def test_runs_told_by_the_minute_are_not_taken_for_what_they_say() -> None:
    log = replace(log_of([0, 3600, 7200], [60, 3660, 7260]), resolution_s=60.0)
    assert not cycles_of(log).tells_runs
    assert cycles_of(replace(log, resolution_s=10.0)).tells_runs


def test_a_run_of_a_day_and_a_gap_are_told_and_left_out() -> None:
    starts = [0, 1000, 2000, 90000, 91000, 100000, 101000]
    stops = [20, 1020, 2000 + DAY_S, 90020, 91020, 100020, 101020]
    log = log_of(starts, stops)
    log = replace(log, watched_s=np.array([[0.0, 92000.0], [99000.0, 101020.0]]))
    cycles = cycles_of(log)
    assert cycles.begin_s.tolist() == [0, 1000, 90000, 100000]
    assert [(one.what, one.begin_s, one.end_s) for one in cycles.odd] == [
        (Anomaly.LONG_RUN, 2000, 2000 + DAY_S),
        (Anomaly.GAP, 92000, 99000),
    ]


def test_a_run_of_hours_that_goes_on_into_a_gap_is_told() -> None:
    """Ten hours of it were seen; a run that a gap cuts off after a minute is none."""
    starts, none = [0, 1000, 2000, 90000, 91000, 92000, 100000, 101000], np.nan
    log = log_of(starts, [20, 1020, none, 90020, 91020, none, 100020, 101020])
    log = replace(log, watched_s=np.array([[0.0, 38000.0], [89000, 92060], [99000, 101020]]))
    cycles = cycles_of(log)
    assert cycles.begin_s.tolist() == [0, 1000, 90000, 91000, 100000]
    (long,) = [one for one in cycles.odd if one.what is Anomaly.LONG_RUN]
    assert long.begin_s == 2000 and np.isnan(long.end_s)


def test_bins_are_whole_cycles_of_an_hour_at_least_and_end_at_gaps() -> None:
    begin = np.array([0.0, 1000, 3000, 4000, 9000])
    end = np.array([1000.0, 3000, 4000, 6000, 10000])
    bins = bins_of(begin, end, np.array([1.0, 2, 3, 4, 5]), 3600.0)
    assert bins.begin_s.tolist() == [0, 4000, 9000]
    assert bins.end_s.tolist() == [4000, 6000, 10000]
    assert bins.inflow_m3.tolist() == [6, 4, 5]
    inflow, known = in_spans(bins, np.array([0.0, 5000, 9500, 20000]))
    assert inflow == pytest.approx([6 + 2, 2 + 2.5, 2.5])
    assert known == pytest.approx([5000, 1500, 500])


def days(n: int) -> np.ndarray:
    return np.arange(n) * DAY_S + 100.0


def noisy(flow: np.ndarray, share: float = 0.02) -> np.ndarray:
    random = np.random.default_rng(7)
    return flow * (1 + share * random.standard_normal(flow.size))


def test_a_steady_pump_is_steady_and_its_trend_is_known_to_be_small() -> None:
    found = pump_course(days(400), noisy(np.full(400, 0.002)))
    assert found is not None
    assert found.course is Course.STEADY
    assert found.last_m3_s == pytest.approx(0.002, rel=0.005)
    assert found.per_year_low < 0 < found.per_year_high
    # slope of a line through n points of noise s: s sqrt(12 / n) / span, twice 1.645 of it
    wide = 2 * 1.645 * 0.02 * np.sqrt(12 / 400) / (400 * DAY_S / YEAR_S)
    assert found.per_year_high - found.per_year_low == pytest.approx(wide, rel=0.3)


def test_a_pump_that_wears_has_a_trend_and_a_changed_one_a_step() -> None:
    t = days(600)
    wears = pump_course(t, noisy(0.002 * (1 - 0.06 * (t - t[0]) / YEAR_S)))
    assert wears is not None
    assert wears.course is Course.TREND
    assert wears.per_year_low < -0.06 / (1 - 0.06 * 300 / 365) < wears.per_year_high
    steps = pump_course(t, noisy(np.where(np.arange(600) < 250, 0.002, 0.0026)))
    assert steps is not None
    assert steps.course is Course.STEP
    assert abs(steps.step_s - t[250]) < 2 * DAY_S  # the log has at most 400 points
    assert steps.step_share == pytest.approx(0.3, abs=0.01)
    assert steps.at(t[[0, 249, 252, 599]]) == pytest.approx([0.002] * 2 + [0.0026] * 2, rel=0.01)


def test_a_few_days_tell_no_course() -> None:
    assert pump_course(days(11), np.full(11, 0.002)) is None
    assert pump_course(days(50), np.full(50, np.nan)) is None
