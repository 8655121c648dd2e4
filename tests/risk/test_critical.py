"""Draws, storms and answers: points of the draws, and what an answer must obey."""

from __future__ import annotations

import numpy as np
import pytest
from scipy import stats
from scipy.stats import qmc

from riskkit.assessment import Settings, assess
from riskkit.ensemble.quantiles import (
    FloorDepth,
    Points,
    chance_of_draws,
    floor_depth,
    share_between,
)
from riskkit.ensemble.sobol import sobol_points
from riskkit.errors import InputError
from riskkit.home.home import Home
from riskkit.records import DepthDurationFrequency, Hyetograph, Series
from riskkit.risk.critical import padded_rain_mm
from riskkit.storm.patterns import Pattern


def table() -> DepthDurationFrequency:
    """A table of round numbers, steeper for short durations."""
    depth = np.array([[8.0, 16.0, 22.0], [30.0, 55.0, 80.0], [60.0, 110.0, 160.0]])
    return DepthDurationFrequency(
        np.array([1 / 12, 1.0, 24.0]), np.array([1.0, 10.0, 100.0]), depth, Series.PARTIAL_DURATION
    )


def test_depth_is_told_of_the_forms_that_flood() -> None:
    depth = np.array([0.0] * 60 + [0.001 * (k + 1) for k in range(40)])
    told = floor_depth(depth)
    assert told.share == 0.4 and told.if_any is not None
    # by hand: of 1 to 40 mm the 20th is the middle, the 36th is not passed by nine in ten
    assert (told.if_any.median, told.if_any.high) == pytest.approx((0.020, 0.036))
    # of all 100 the 50th is dry, and the 90th the 30th of the wet ones
    assert (told.of_all.low, told.of_all.median) == (0.0, 0.0)
    assert told.of_all.high == pytest.approx(0.030)
    assert floor_depth(np.zeros(8)) == FloorDepth(0.0, None, Points(0.0, 0.0, 0.0), n_draws=8)


def test_padding_covers_the_drainage() -> None:
    storms = [Hyetograph(np.ones(12), 300.0), Hyetograph(np.ones(24), 300.0)]
    rain = padded_rain_mm(storms, 300.0)
    assert rain.shape == (2, 24 + 6 * 12)  # six hours; what comes later follows in longer steps
    assert rain.sum(axis=1).tolist() == [12.0, 24.0]


def test_sobol_points_are_those_of_the_reference_library() -> None:
    ours = sobol_points(256, 52, None)
    theirs = qmc.Sobol(52, scramble=False).random(256)
    np.testing.assert_array_equal(np.sort(ours, axis=0), np.sort(theirs, axis=0))
    # the same points, not only the same columns
    order, other = np.lexsort(ours.T), np.lexsort(theirs.T)
    np.testing.assert_array_equal(ours[order], theirs[other])


def test_scramble_keeps_one_point_in_every_stratum() -> None:
    points = sobol_points(512, 52, np.random.default_rng(3))
    for column in points.T:
        assert sorted((column * 512).astype(int)) == list(range(512))
    # and every pair of neighbouring columns fills a grid of 16 by 16 evenly, as the plain one does
    plain = sobol_points(512, 4, None)
    for mixed, straight in ((points, plain),):
        ours = np.histogram2d(mixed[:, 0], mixed[:, 1], bins=16, range=[[0, 1]] * 2)[0]
        wanted = np.histogram2d(straight[:, 0], straight[:, 1], bins=16, range=[[0, 1]] * 2)[0]
        assert ours.min() == wanted.min() and ours.max() == wanted.max()
    assert stats.kstest(points.ravel(), "uniform").pvalue > 0.01


def home(**values: object) -> Home:
    known = {"pit__diameter": "18 in", "ground__soil": "clay loam", "ground__gap": "some"}
    return Home(name="x").changed(**(known | values))


@pytest.mark.parametrize("pattern", [Pattern.ALTERNATING_BLOCK, Pattern.NRCS_II, Pattern.HUFF_1])
def test_rarer_storms_are_never_milder(pattern: Pattern) -> None:
    settings = Settings((1.0, 10.0, 100.0), 10.0, pattern, n_draws=64)
    storms = assess(home(), table(), settings).storms
    worst = [storm.worst_stop.to_floor_s.median for storm in storms]
    assert worst == sorted(worst, reverse=True)
    assert [s.worst_stop.to_floor_s.never_share for s in storms] == sorted(
        (s.worst_stop.to_floor_s.never_share for s in storms), reverse=True
    )
    peaks = [storm.pump_working.peak_inflow_m3_s.median for storm in storms]
    assert peaks == sorted(peaks)
    dry = [storm.pump_working.floor_dry_share for storm in storms]
    assert dry == sorted(dry, reverse=True)


@pytest.mark.parametrize(
    ("worse", "better"),
    [
        ({"roof__at_wall": "6 of 6"}, {"roof__at_wall": "0 of 6"}),
        ({"ground__gap_share": "20 %"}, {"ground__gap_share": "2 %"}),
        ({"switch__alarm": "3 in"}, {"switch__alarm": "8 in"}),
        ({"gravel__connected_share": "2 %"}, {"gravel__connected_share": "80 %"}),
        ({"house__basement_area": "60 m2"}, {"house__basement_area": "140 m2"}),
    ],
)
def test_what_must_help_helps(worse: dict[str, object], better: dict[str, object]) -> None:
    settings = Settings((1.0, 10.0, 100.0), 10.0, n_draws=64)
    bad, good = (assess(home(**v), table(), settings).headline_storm for v in (worse, better))
    assert bad.worst_stop.to_floor_s.low <= good.worst_stop.to_floor_s.low
    assert bad.worst_stop.to_floor_s.median <= good.worst_stop.to_floor_s.median
    assert bad.worst_stop.to_floor_s.never_share <= good.worst_stop.to_floor_s.never_share


def test_a_stronger_pump_carries_more() -> None:
    settings = Settings((1.0, 10.0, 100.0), 10.0, n_draws=64)
    strong = {"pump__rated_flow": "43 gpm", "roof__to_drain": "100 %", "roof__at_wall": "0 %"}
    weak = strong | {"pump__rated_flow": "4 gpm"}
    good, bad = (assess(home(**v), table(), settings).storms[-1] for v in (strong, weak))
    assert bad.pump_working.floor_dry_share < good.pump_working.floor_dry_share
    assert bad.pump_working.peak_use.median > good.pump_working.peak_use.median
    assert bad.pump_working.highest_level_m.median >= good.pump_working.highest_level_m.median


def test_draws_narrow_by_measuring() -> None:
    settings = Settings((1.0, 10.0, 100.0), 10.0, n_draws=128)
    vague = assess(home(), table(), settings).headline_storm.pump_working.peak_inflow_m3_s
    known = assess(
        home(
            ground__gap_share="5 %, measured", ground__gap_time="8 min, measured",
            roof__at_wall="2 of 6, measured", roof__area="130 m2, measured",
            house__perimeter="42 m, measured", ground__runon_area="10 m2, measured",
            ground__well_area="0.3 m2, measured", ground__ponding_time="1 h, measured",
            ground__ponding_depth="4 mm, measured", ground__backfill_width="0.9 m, measured",
            ground__backfill_k_factor="1.5, measured", roof__runoff="87 %, measured",
            ground__half_distance="6 m, measured", ground__native_k_factor="0.7, measured",
        ),
        table(),
        settings,
    ).headline_storm.pump_working.peak_inflow_m3_s  # fmt: skip
    assert known.high / known.low < 0.6 * vague.high / vague.low


def test_the_answer_does_not_depend_on_chance_of_the_moment() -> None:
    settings = Settings((1.0, 10.0, 100.0), 10.0, n_draws=64)
    first, again = (assess(home(), table(), settings) for _ in range(2))
    assert [s.worst_stop.to_floor_s for s in first.storms] == [
        s.worst_stop.to_floor_s for s in again.storms
    ]


def test_more_draws_settle_the_middle() -> None:
    settings = [Settings((1.0, 10.0, 100.0), 10.0, n_draws=n) for n in (256, 1024)]
    few, many = (assess(home(), table(), s).headline_storm for s in settings)
    # standard error of a median of n plain random draws: 1.25 sd / sqrt(n); Sobol does no worse
    peak = many.pump_working.peak_inflow_m3_s
    sd = np.log(peak.high / peak.low) / (2 * 1.2816)
    error = np.log(few.pump_working.peak_inflow_m3_s.median / peak.median)
    assert abs(error) < 2 * 1.25 * sd / np.sqrt(256)
    share = many.worst_stop.to_floor_s.never_share
    limit = 2 * np.sqrt(share * (1 - share) / 256)
    assert abs(few.worst_stop.to_floor_s.never_share - share) < limit


def test_halving_the_step_hardly_changes_the_answer() -> None:
    coarse, fine = (
        assess(home(), table(), Settings((1.0, 10.0, 100.0), 10.0, step_s=s, n_draws=64))
        for s in (300.0, 150.0)
    )
    one, two = coarse.headline_storm, fine.headline_storm
    assert one.worst_stop.to_floor_s.median == pytest.approx(
        two.worst_stop.to_floor_s.median, rel=0.01
    )
    deep = [s.worst_stop.depth_after_m[12.0].if_any for s in (one, two)]
    assert deep[0] is not None and deep[1] is not None
    assert deep[0].high == pytest.approx(deep[1].high, rel=0.02)
    # the inflow is the mean of a step, so what takes less than a step is known to a part of it only
    assert one.worst_stop.to_floor_s.low == pytest.approx(two.worst_stop.to_floor_s.low, abs=20.0)


@pytest.mark.parametrize(
    ("inflow", "least", "most"),
    [
        ("0.05 gpm, measured", 0.9, 1.0),  # 1.9 m3 in a week, which the ground beside it holds
        ("2 gpm, measured", 0.0, 0.1),  # this one comes up, however deep the table was told
    ],
)
def test_deeper_ground_water_never_floods_sooner(inflow: str, least: float, most: float) -> None:
    settings = Settings((1.0, 10.0, 100.0), 10.0, n_draws=64)
    shares, medians = [], []
    for depth in ("-20 in", "-8 in", "0 in", "4 in", "8 in", "14 in", "40 in"):
        told = home(
            ground__dry_inflow=inflow, ground__water_table_depth=f"{depth}, measured",
            switch__on="14 in, measured", ground__drain_depth="10 in, measured",
        )  # fmt: skip
        dry = assess(told, table(), settings).dry_s
        shares.append(dry.never_share)
        medians.append(dry.median)
    assert shares == sorted(shares)
    assert medians == sorted(medians)
    assert least <= shares[-1] <= most


def test_what_takes_weeks_counts_as_never() -> None:
    trickle = home(ground__dry_inflow="0.01 gpm, measured", gravel__connected_share="90 %")
    dry = assess(trickle, table(), Settings((1.0, 10.0, 100.0), 10.0, n_draws=64)).dry_s
    assert dry.median == np.inf or dry.median <= 7 * 86400


def test_the_picture_floods_when_it_is_said_to() -> None:
    quick = home(gravel__connected_share="2 %", ground__gap="open", roof__at_wall="6 of 6")
    answer = assess(quick, table(), Settings((1.0, 10.0, 100.0), 10.0, n_draws=64))
    trace = answer.headline_storm.trace
    begin = int(np.isfinite(trace.stopped_m).argmax())
    floor = int((np.nan_to_num(trace.stopped_m, nan=-1.0) >= 0).argmax())
    said = trace.to_alarm_s + trace.to_floor_s
    assert (floor - begin) * 300.0 == pytest.approx(said, abs=300.0)
    assert answer.median_home.n_draws == 1
    assert answer.median_home["alarm_depth_m"][0] == pytest.approx(-trace.alarm_m)


def test_a_pump_that_lifts_nothing_in_some_draws_is_not_a_large_number() -> None:
    weak = home(pump__rated_head="6 ft", pump__shutoff_head="9 ft", pipe__outlet_height="6 ft")
    storm = assess(weak, table(), Settings((1.0, 10.0, 100.0), 10.0, n_draws=64)).headline_storm
    assert storm.pump_working.peak_use.high == np.inf or storm.pump_working.peak_use.high < 1e3


def test_a_table_that_begins_later_leaves_storms_out() -> None:
    short = DepthDurationFrequency(
        table().duration_h, np.array([2.0, 10.0, 50.0]), table().depth_mm, Series.PARTIAL_DURATION
    )
    answer = assess(home(), short, Settings(n_draws=64))
    assert [s.return_period_yr for s in answer.storms] == [2.0, 5.0, 10.0, 25.0, 50.0]
    with pytest.raises(InputError, match="2 to 50 years, not of 100 years"):
        assess(home(), short, Settings(headline_yr=100.0, n_draws=64))


def test_the_interval_of_a_share_is_that_of_the_reference_library() -> None:
    for count, n in ((0, 64), (3, 64), (50, 512), (512, 512)):
        interval = stats.binomtest(count, n).proportion_ci(method="wilson")
        assert share_between(count / n, n) == pytest.approx((interval.low, interval.high))


def test_the_interval_of_a_middle_holds_the_true_one_19_times_in_20() -> None:
    rng = np.random.default_rng(8)
    held = 0
    for _ in range(2000):
        low, high = chance_of_draws(rng.lognormal(size=128)).median
        held += low <= 1.0 <= high
    assert 0.945 < held / 2000 < 0.975
