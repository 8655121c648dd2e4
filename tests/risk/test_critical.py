"""Storms to run, wet parts, and the summary of a failure, on cases that a person can follow."""

from __future__ import annotations

from pathlib import Path

import numpy as np
import pytest
from scipy import stats
from scipy.stats import qmc

from riskkit.assessment import Settings, assess
from riskkit.ensemble.draws import draw_homes
from riskkit.ensemble.quantiles import FloorDepth, chance_of_draws, floor_depth, share_between
from riskkit.ensemble.sobol import sobol_points
from riskkit.errors import InputError
from riskkit.home.home import Home, load_home
from riskkit.pit.balance import dry_time_to_flood, level_after
from riskkit.records import DepthDurationFrequency, Hyetograph, PitInflow, PitModel, Series
from riskkit.risk.critical import moments_of, padded_rain_mm, wet_moments
from riskkit.risk.time_to_flood import HOURS_AFTER, summarise_failure
from riskkit.simulate import inflow_of, pit_of
from riskkit.storm.design import design_storm
from riskkit.storm.patterns import Pattern

AREA_M2, ALARM_M, ON_M, OFF_M, BOTTOM_M = 0.2, -0.15, -0.3, -0.5, -0.6


def pit(seepage_m3_s: float = 0.0) -> PitModel:
    """A straight pit of 0.2 m2: 30 litres lie between alarm and floor; the basement has 80 m2."""
    level = np.array([[BOTTOM_M, OFF_M, ON_M, ALARM_M, 0.0, 3.0]])
    return PitModel(
        level_m=level,
        area_m2=np.array([[AREA_M2] * 4 + [80.0]]),
        pump_m3_s=np.full((1, 6), 2e-3),
        seepage_m3_s=np.full((1, 6), seepage_m3_s),
        off_index=np.array([1]),
        on_index=np.array([2]),
        alarm_index=np.array([3]),
        floor_index=np.array([4]),
        return_share=np.zeros(1),
    )


def table() -> DepthDurationFrequency:
    """A table of round numbers, steeper for short durations."""
    depth = np.array([[8.0, 16.0, 22.0], [30.0, 55.0, 80.0], [60.0, 110.0, 160.0]])
    return DepthDurationFrequency(
        np.array([1 / 12, 1.0, 24.0]), np.array([1.0, 10.0, 100.0]), depth, Series.PARTIAL_DURATION
    )


def test_worst_and_typical_moment_by_hand() -> None:
    # a quarter hour of 1 L/s in an hour that is otherwise dry: only an alarm before it sees it
    flow = np.zeros((1, 12))
    flow[0, 6:9] = 1e-3
    inflow = PitInflow(flow, 300.0)
    moments = np.arange(0.0, 3600.0, 300.0)
    found = summarise_failure(pit(), inflow, moments, np.ones((1, 12)))
    # 30 litres at 1 L/s take 30 s, once the water comes
    assert found.worst_s[0] == pytest.approx(30.0)
    assert 1800.0 <= found.worst_moment_s[0] <= 2700.0 - 300.0
    # 0, 300 … 1800 s: 1830 s less the moment; 2100 and 2400: 30 s; 2700 s and later: never
    times = [1830 - m if m <= 1800 else 30.0 if m <= 2400 else np.inf for m in moments]
    assert found.typical_s[0] == pytest.approx(sorted(times)[6])
    # of the 900 litres that come after the alarm at 1800 s, 30 fill the pit, the rest the basement
    assert found.depth_m[0, 0] == pytest.approx((0.9 - 0.03) / 80.0)


def test_the_moment_worst_for_depth_is_not_that_worst_for_time() -> None:
    # a sharp burst of 300 litres, and hours later 0.5 L/s for two hours: 3600 litres
    flow = np.zeros((1, 160))
    flow[0, 2] = 1e-3
    flow[0, 60:84] = 5e-4
    found = summarise_failure(
        pit(), PitInflow(flow, 300.0), np.arange(0.0, 84 * 300.0, 300.0), np.ones((1, 84))
    )
    assert found.worst_moment_s[0] <= 600.0  # 30 litres at 1 L/s are faster there than at half that
    # by hand: within an hour after the best of stops come 1800 litres, within three and six 3600,
    # and within twelve the burst with them; 30 of them fill the pit
    litres = np.array([1800, 3600, 3600, 3900]) - 30
    assert found.depth_m[0] == pytest.approx(litres / 1000 / 80.0)


def test_depths_are_those_of_all_moments_tried_one_by_one(demo_sites: Path) -> None:
    """The slow, obvious way: follow the water from every moment, and take the greatest depth."""
    for name in ("row_house_near_creek", "split_level_on_clay"):
        home = load_home(demo_sites / f"{name}.toml")
        homes = draw_homes(home, 32, 1)
        rain = padded_rain_mm([design_storm(table(), 10.0, 24.0)], 300.0)
        pits, inflow = pit_of(homes), inflow_of(homes, np.repeat(rain, 32, 0), 300.0, np.ones(32))
        moments = moments_of(rain, 300.0)
        wet = np.repeat(wet_moments(rain, 300.0, moments), 32, axis=0)
        found = summarise_failure(pits, inflow, moments, wet).depth_m
        after = np.array(HOURS_AFTER) * 3600.0
        slow = np.zeros((32, 4))
        for moment in moments:
            slow = np.maximum(slow, level_after(pits, inflow, np.full(32, moment), after))
        assert np.all(found <= slow + 1e-12)
        np.testing.assert_allclose(found, slow, rtol=0.06, atol=1e-5)
        missed = 1.0 - found[slow > 0] / slow[slow > 0]
        assert np.median(missed) < 0.002 and np.mean(missed) < 0.01
        assert np.all(np.diff(found, axis=1) >= 0)  # nothing is pumped out again


def test_depth_is_told_of_the_forms_that_flood() -> None:
    depth = np.array([0.0] * 60 + [0.001 * (k + 1) for k in range(40)])
    told = floor_depth(depth)
    assert told.share == 0.4 and told.if_any is not None
    # by hand: of 1 to 40 mm the 20th is the middle, the 36th is not passed by nine in ten
    assert (told.if_any.middle, told.if_any.high) == pytest.approx((0.020, 0.036))
    assert floor_depth(np.zeros(8)) == FloorDepth(0.0, None)


def test_never_where_too_little_water_comes() -> None:
    inflow = PitInflow(np.full((1, 4), 2e-5), 300.0)  # 24 litres, 30 are needed
    found = summarise_failure(pit(), inflow, np.arange(0.0, 1200.0, 300.0), np.ones((1, 4)))
    assert np.isinf(found.worst_s[0]) and np.isinf(found.typical_s[0])
    assert np.all(found.depth_m == 0)


def test_dry_weather_is_volume_over_ground_water() -> None:
    assert dry_time_to_flood(pit(1e-4))[0] == pytest.approx(0.03 / 1e-4)
    assert np.isinf(dry_time_to_flood(pit())[0])


def test_wet_part_is_the_wettest_six_hours() -> None:
    rain = np.zeros(24)
    rain[2:20] = 1.0
    rain[10:14] = 5.0
    wet = wet_moments(rain[None, :], 3600.0, np.arange(24) * 3600.0)[0]
    assert wet.sum() == 6
    fine = wet_moments(rain[None, :], 3600.0, np.arange(24 * 12) * 300.0)[0]
    assert fine.sum() == 6 * 4  # moments between the quarters of an hour do not count
    assert np.all(wet[10:14] == 1)
    short = wet_moments(np.array([[0.0, 1.0, 1.0, 0.0]]), 3600.0, np.arange(4) * 3600.0)[0]
    assert short[1:3].sum() == 2 and short[3] == 0


def test_padding_and_moments_cover_the_drainage() -> None:
    storms = [Hyetograph(np.ones(12), 300.0), Hyetograph(np.ones(24), 300.0)]
    rain = padded_rain_mm(storms, 300.0)
    assert rain.shape == (2, 24 + 14 * 12)
    assert rain.sum(axis=1).tolist() == [12.0, 24.0]
    moments = moments_of(rain, 300.0)
    assert moments[-1] == 2 * 3600.0 + 2 * 3600.0 - 900.0
    assert set(np.arange(0, 3600.0, 300.0)) <= set(moments)  # near the peak


def test_moments_lie_close_where_the_rain_is_and_an_hour_apart_far_from_it() -> None:
    rain = np.full((1, 72 * 12), 0.1)
    rain[0, 36 * 12] = 5.0
    moments = moments_of(np.pad(rain, ((0, 0), (0, 14 * 12))), 300.0)
    steps = np.diff(moments)
    hour = moments[:-1] / 3600
    assert set(steps[np.abs(hour - 36) < 0.9]) == {300.0}
    assert set(steps[(np.abs(hour - 36) > 1.2) & (np.abs(hour - 36) < 5.5)]) == {900.0}
    assert set(steps[np.abs(hour - 36) > 6.5]) == {3600.0}


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
    worst = [storm.worst_s.middle for storm in storms]
    assert worst == sorted(worst, reverse=True)
    assert [s.worst_s.never_share for s in storms] == sorted(
        (s.worst_s.never_share for s in storms), reverse=True
    )
    peaks = [storm.peak_inflow_m3_s.middle for storm in storms]
    assert peaks == sorted(peaks)
    dry = [storm.floor_dry_share for storm in storms]
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
    assert bad.worst_s.low <= good.worst_s.low
    assert bad.worst_s.middle <= good.worst_s.middle
    assert bad.worst_s.never_share <= good.worst_s.never_share


def test_a_stronger_pump_carries_more() -> None:
    settings = Settings((1.0, 10.0, 100.0), 10.0, n_draws=64)
    strong = {"pump__rated_flow": "43 gpm", "roof__to_drain": "100 %", "roof__at_wall": "0 %"}
    weak = strong | {"pump__rated_flow": "4 gpm"}
    good, bad = (assess(home(**v), table(), settings).storms[-1] for v in (strong, weak))
    assert bad.floor_dry_share < good.floor_dry_share
    assert bad.peak_use.middle > good.peak_use.middle
    assert bad.highest_level_m.middle >= good.highest_level_m.middle


def test_draws_narrow_by_measuring() -> None:
    settings = Settings((1.0, 10.0, 100.0), 10.0, n_draws=128)
    vague = assess(home(), table(), settings).headline_storm.peak_inflow_m3_s
    known = assess(
        home(
            ground__gap_share="5 %, measured", ground__gap_time="8 min, measured",
            roof__at_wall="2 of 6, measured", roof__area="130 m2, measured",
            house__perimeter="42 m, measured", ground__runon_area="10 m2, measured",
            ground__well_area="0.3 m2, measured",
        ),
        table(),
        settings,
    ).headline_storm.peak_inflow_m3_s  # fmt: skip
    assert known.high / known.low < 0.6 * vague.high / vague.low


def test_the_answer_does_not_depend_on_chance_of_the_moment() -> None:
    settings = Settings((1.0, 10.0, 100.0), 10.0, n_draws=64)
    first, again = (assess(home(), table(), settings) for _ in range(2))
    assert [s.worst_s for s in first.storms] == [s.worst_s for s in again.storms]


def test_more_draws_settle_the_middle() -> None:
    settings = [Settings((1.0, 10.0, 100.0), 10.0, n_draws=n) for n in (256, 1024)]
    few, many = (assess(home(), table(), s).headline_storm for s in settings)
    # standard error of a median of n plain random draws: 1.25 sd / sqrt(n); Sobol does no worse
    peak = many.peak_inflow_m3_s
    sd = np.log(peak.high / peak.low) / (2 * 1.2816)
    error = np.log(few.peak_inflow_m3_s.middle / peak.middle)
    assert abs(error) < 2 * 1.25 * sd / np.sqrt(256)
    share = many.worst_s.never_share
    limit = 2 * np.sqrt(share * (1 - share) / 256)
    assert abs(few.worst_s.never_share - share) < limit


def test_halving_the_step_hardly_changes_the_answer() -> None:
    coarse, fine = (
        assess(home(), table(), Settings((1.0, 10.0, 100.0), 10.0, step_s=s, n_draws=64))
        for s in (300.0, 150.0)
    )
    one, two = coarse.headline_storm, fine.headline_storm
    assert one.worst_s.middle == pytest.approx(two.worst_s.middle, rel=0.01)
    deep = [s.depth_after_m[12.0].if_any for s in (one, two)]
    assert deep[0] is not None and deep[1] is not None
    assert deep[0].high == pytest.approx(deep[1].high, rel=0.02)
    # the inflow is the mean of a step, so what takes less than a step is known to a part of it only
    assert one.worst_s.low == pytest.approx(two.worst_s.low, abs=20.0)


@pytest.mark.parametrize(
    ("inflow", "least", "most"),
    [
        ("0.05 gpm, measured", 0.9, 1.0),  # a water table just above the drain may bring that
        ("0.8 gpm, measured", 0.0, 0.1),  # this one does not, however deep it was told
    ],
)
def test_deeper_ground_water_never_floods_sooner(inflow: str, least: float, most: float) -> None:
    settings = Settings((1.0, 10.0, 100.0), 10.0, n_draws=64)
    shares, middles = [], []
    for depth in ("-20 in", "-8 in", "0 in", "4 in", "8 in", "14 in", "40 in"):
        told = home(
            ground__dry_inflow=inflow, ground__water_table_depth=f"{depth}, measured",
            switch__on="14 in, measured", ground__drain_depth="10 in, measured",
        )  # fmt: skip
        dry = assess(told, table(), settings).dry_s
        shares.append(dry.never_share)
        middles.append(dry.middle)
    assert shares == sorted(shares)
    assert middles == sorted(middles)
    assert shares[0] < 0.5 and least <= shares[-1] <= most


def test_what_takes_weeks_counts_as_never() -> None:
    trickle = home(ground__dry_inflow="0.01 gpm, measured", gravel__connected_share="90 %")
    dry = assess(trickle, table(), Settings((1.0, 10.0, 100.0), 10.0, n_draws=64)).dry_s
    assert dry.middle == np.inf or dry.middle <= 7 * 86400


def test_the_picture_floods_when_it_is_said_to() -> None:
    answer = assess(home(), table(), Settings((1.0, 10.0, 100.0), 10.0, n_draws=64))
    trace = answer.headline_storm.trace
    begin = int(np.isfinite(trace.stopped_m).argmax())
    floor = int((np.nan_to_num(trace.stopped_m, nan=-1.0) >= 0).argmax())
    assert (floor - begin) * 300.0 == pytest.approx(trace.to_floor_s, abs=300.0)
    assert answer.median_home.n_draws == 1
    assert answer.median_home["alarm_depth_m"][0] == pytest.approx(-trace.alarm_m)


def test_a_pump_that_lifts_nothing_in_some_draws_is_not_a_large_number() -> None:
    weak = home(pump__rated_head="6 ft", pump__shutoff_head="9 ft", pipe__outlet_height="6 ft")
    storm = assess(weak, table(), Settings((1.0, 10.0, 100.0), 10.0, n_draws=64)).headline_storm
    assert storm.peak_use.high == np.inf or storm.peak_use.high < 1e3


def test_a_table_that_begins_later_leaves_storms_out() -> None:
    short = DepthDurationFrequency(
        table().duration_h, np.array([2.0, 10.0, 50.0]), table().depth_mm, Series.PARTIAL_DURATION
    )
    answer = assess(home(), short, Settings(n_draws=64))
    assert [s.return_period_yr for s in answer.storms] == [2.0, 5.0, 10.0, 25.0, 50.0]
    with pytest.raises(InputError, match="2 to 50 years, not of 100 years"):
        assess(home(), short, Settings(headline_yr=100.0, n_draws=64))


def test_a_pit_without_gravel_fills_as_by_hand() -> None:
    # by hand: pi/4 x 18^2 x 6 in^3 lie between alarm and floor; 231 in^3 make one US gallon (legal
    # definition), so 6.61 gallons, which 6 gpm fill in 66.1 s
    bare = home(
        gravel__thickness="0 in, measured",
        drain__open_share="0 %",
        ground__dry_inflow="6 gpm, measured",
        switch__alarm="6 in, measured",
    )
    dry = assess(bare, table(), Settings(n_draws=256)).dry_s
    by_hand_s = np.pi / 4 * 18**2 * 6 / 231 / 6 * 60
    assert dry.middle == pytest.approx(by_hand_s, rel=0.03)
    assert 0.8 * by_hand_s < dry.low < dry.high < 1.25 * by_hand_s


def test_the_interval_of_a_share_is_that_of_the_reference_library() -> None:
    for count, n in ((0, 64), (3, 64), (50, 512), (512, 512)):
        interval = stats.binomtest(count, n).proportion_ci(method="wilson")
        assert share_between(count / n, n) == pytest.approx((interval.low, interval.high))


def test_the_interval_of_a_middle_holds_the_true_one_19_times_in_20() -> None:
    rng = np.random.default_rng(8)
    held = 0
    for _ in range(2000):
        low, high = chance_of_draws(rng.lognormal(size=128)).middle
        held += low <= 1.0 <= high
    assert 0.945 < held / 2000 < 0.975
