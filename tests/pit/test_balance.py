"""The compiled loop against slow, obvious and independent ways."""

from dataclasses import replace

import numpy as np
import pytest
from scipy.integrate import solve_ivp

from riskkit.errors import BalanceError, RangeError
from riskkit.pit import _kernel
from riskkit.pit.balance import run_pit
from riskkit.records import PitInflow, PitModel
from tests.pit.conftest import follow_alone, make_homes


def simple_pit(**changes) -> PitModel:
    """One round pit of 0.2 m2, pump 2 L/s at all levels, 100 m2 above the floor."""
    values = {
        "level_m": [[-0.6, -0.5, -0.3, -0.15, 0.0, 3.0]],
        "area_m2": [[0.2, 0.2, 0.2, 0.2, 100.0]],
        "pump_m3_s": [[2e-3] * 6],
        "seepage_m3_s": [[0.0] * 6],
        "off_index": [1], "on_index": [2], "alarm_index": [3], "floor_index": [4],
        "return_share": [0.0],
    } | changes  # fmt: skip
    lag = values.pop("return_lag_s", 900.0)
    return PitModel(**{k: np.array(v) for k, v in values.items()}, return_lag_s=lag)


def steady(flow: float, hours: float = 24, step_s: float = 300.0) -> PitInflow:
    return PitInflow(np.full((1, round(hours * 3600 / step_s)), flow), step_s)


def test_against_the_slow_twin(homes, storms, twin) -> None:
    """Every start, stop, crossing and sum, for dry, wet and drowned homes."""
    pit, inflow = homes(30), storms(30, peak=1.2e-3)
    fast = run_pit(pit, inflow, keep_levels=True)
    assert np.isfinite(fast.flood_s).sum() > 3
    assert (fast.starts > 100).sum() > 10
    for draw in range(30):
        slow = twin(pit, inflow.storm_m3_s[draw], inflow.step_s, draw)
        np.testing.assert_allclose(fast.level_m[draw], slow.level, atol=2e-7)
        assert fast.starts[draw] == slow.starts
        assert fast.run_time_s[draw] == pytest.approx(slow.run, rel=1e-6, abs=1e-6)
        assert fast.pumped_m3[draw] == pytest.approx(slow.pumped, rel=1e-6, abs=1e-9)
        assert fast.returned_m3[draw] == pytest.approx(slow.returned, rel=1e-6, abs=1e-9)
        total = inflow.storm_m3_s[draw].sum() * inflow.step_s + slow.seeped
        assert fast.inflow_m3[draw] == pytest.approx(total, rel=1e-6)
        assert fast.highest_level_m[draw] == pytest.approx(slow.top, abs=1e-7)
        for found, expected in ((fast.alarm_s, slow.alarm), (fast.flood_s, slow.flood)):
            if np.isinf(expected):
                assert np.isinf(found[draw])
            else:
                assert found[draw] == pytest.approx(expected, abs=1e-3)


def ode_events(pit: PitModel, storm: np.ndarray, draw: int, working: bool):
    """Times of switching (or of the flood) and last level, by an ODE solver, band by band."""
    keep = np.append(True, np.diff(pit.level_m[draw]) > 1e-9)
    nodes, area = pit.level_m[draw][keep], pit.area_m2[draw][keep[1:]]
    pump, seep = pit.pump_m3_s[draw][keep], pit.seepage_m3_s[draw][keep]
    marks = (pit.off_index, pit.on_index, pit.alarm_index, pit.floor_index)
    off, on_level, alarm, floor = (pit.level_m[draw][index[draw]] for index in marks)
    h, on, events = off if working else alarm, 0, []
    for k, q in enumerate(storm):
        t, end = k * 300.0, (k + 1) * 300.0
        while t < end:
            flow = q + np.interp(h, nodes, seep) - on * np.interp(h, nodes, pump)
            sign = 1 if flow >= 0 else -1
            middle = h + sign * 1e-9
            band = int(np.clip(np.searchsorted(nodes, middle) - 1, 0, area.size - 1))
            goal = nodes[min(band + (sign > 0), nodes.size - 1)]

            def rate(t, y, q=q, on=on, band=band):
                net = q + np.interp(y[0], nodes, seep) - on * np.interp(y[0], nodes, pump)
                return [net / area[band]]

            def reached(t, y, goal=goal):
                return y[0] - goal

            reached.terminal, reached.direction = True, sign
            got = solve_ivp(rate, (t, end), [h], events=reached, rtol=1e-9, atol=1e-12)
            t, h = got.t[-1], got.y[0, -1]
            if got.status == 1:
                h = goal
                if not working and h == floor:
                    return [t], h
                if working and h == (off if on else on_level):
                    events.append(t)
                    on = 1 - on
    return events, h


@pytest.mark.parametrize("draw", range(5))
def test_switching_times_against_an_ode_solver(homes, storms, draw) -> None:
    """Two hours around the peak, cycling, tapered, with ground water: within 0.1 s."""
    pit = homes(5, seed=5, return_share=0.0, drainback_m3=0.0)
    whole = storms(5, seed=6, peak=4e-4)
    peak = int(np.argmax(whole.storm_m3_s[draw]))
    storm = whole.storm_m3_s[:, max(peak - 12, 0) : peak + 12]
    expected, level = ode_events(pit, storm[draw], draw, working=True)
    assert len(expected) > 10
    run = run_pit(pit, PitInflow(storm, 300.0), keep_levels=True)
    assert run.starts[draw] == (len(expected) + 1) // 2
    assert run.level_m[draw, -1] == pytest.approx(level, abs=1e-6)
    ends = [*expected[1::2], storm.shape[1] * 300.0][: len(expected[0::2])]
    assert run.run_time_s[draw] == pytest.approx(sum(ends) - sum(expected[0::2]), abs=0.1)
    # second by second, the line to the switch level tells when it was reached
    fine = run_pit(pit, PitInflow(np.repeat(storm, 300, axis=1), 1.0), keep_levels=True)
    course = fine.level_m[draw]
    for number, time in enumerate(expected):
        goal = pit.level_m[draw, (pit.off_index if number % 2 else pit.on_index)[draw]]
        j = int(time - 0.2)
        found = j + (goal - course[j]) / (course[j] - course[j - 1])
        assert found == pytest.approx(time, abs=0.1)


@pytest.mark.parametrize("draw", range(6))
def test_flood_time_against_an_ode_solver(homes, storms, draw) -> None:
    pit, inflow = homes(6, seed=8, seepage_m3_s=np.zeros(6)), storms(6, seed=9, peak=8e-4)
    begin = int(np.argmax(inflow.storm_m3_s[draw])) - 5
    rest = inflow.storm_m3_s[draw, begin:]
    expected, _ = ode_events(pit, rest, draw, working=False)
    found = follow_alone(pit, inflow, [begin]).rim_s[draw, 0]
    assert found == (pytest.approx(expected[0], abs=0.1) if expected else np.inf)


def test_flood_times_against_the_slow_twin(homes, storms, twin) -> None:
    pit, inflow = homes(20, seed=3, seepage_m3_s=np.zeros(20)), storms(20, seed=4, peak=5e-4)
    begin = [60, 108, 144, 180]
    fast = follow_alone(pit, inflow, begin).rim_s
    assert 10 < np.isfinite(fast).sum() < fast.size
    for draw in range(20):
        for m, step in enumerate(begin):
            slow = twin(pit, inflow.storm_m3_s[draw, step:], 300.0, draw, pump_works=False)
            if np.isfinite(slow.flood):
                assert fast[draw, m] == pytest.approx(slow.flood, abs=1e-3)
            else:
                assert np.isinf(fast[draw, m])


def test_nothing_depends_on_the_step(homes, storms) -> None:
    """Halving the step, with the same storm, changes nothing: the step is no source of error."""
    pit = homes(100, return_share=0.0)
    coarse = storms(100)
    fine = PitInflow(np.repeat(coarse.storm_m3_s, 2, axis=1), 150.0)
    a, b = run_pit(pit, coarse, keep_levels=True), run_pit(pit, fine, keep_levels=True)
    np.testing.assert_allclose(a.level_m, b.level_m[:, ::2], atol=1e-9)
    np.testing.assert_allclose(a.run_time_s, b.run_time_s, rtol=1e-9, atol=1e-7)
    np.testing.assert_array_equal(a.starts, b.starts)
    begin = np.arange(0, 288, 6)
    a, b = follow_alone(pit, coarse, begin), follow_alone(pit, fine, 2 * begin)
    np.testing.assert_allclose(a.rim_s, b.rim_s, rtol=1e-8)


def test_water_is_neither_made_nor_lost(homes, storms) -> None:
    pit, inflow = homes(400, seed=11), storms(400, seed=12, peak=3e-4)
    run = run_pit(pit, inflow, keep_levels=True)
    assert run.balance_error.max() < 1e-9
    storm = inflow.storm_m3_s.sum(axis=1) * inflow.step_s
    assert np.all(run.inflow_m3 >= storm)
    assert np.all(run.returned_m3 <= pit.return_share * run.pumped_m3 + 1e-12)
    assert run.returned_m3.max() > 0.1


def test_a_short_storm_in_one_step_or_many() -> None:
    """With a long step all cycles are skipped at once; with short ones each is followed."""
    pit = simple_pit(
        seepage_m3_s=[[5e-5, 5e-5, 4e-5, 3e-5, 2e-5, 0.0]],
        pump_m3_s=[[2.0e-3, 2.0e-3, 2.1e-3, 2.2e-3, 2.3e-3, 2.5e-3]], drainback_m3=[0.003],
    )  # fmt: skip
    long, short = (run_pit(pit, steady(7e-4, step_s=s)) for s in (21600.0, 10.0))
    assert long.starts[0] == short.starts[0] > 1000
    for name in ("run_time_s", "pumped_m3", "inflow_m3"):
        np.testing.assert_allclose(getattr(long, name), getattr(short, name), rtol=1e-8)


def test_pump_that_cannot_keep_up_settles_or_floods() -> None:
    """Flow falls with depth: at 2.2 L/s the pump holds the level where it lifts just that."""
    pit = simple_pit(pump_m3_s=[[1.5e-3, 1.75e-3, 2.0e-3, 2.25e-3, 2.5e-3, 3e-3]])
    run = run_pit(pit, steady(2.1e-3), keep_levels=True)
    assert run.level_m[0, -1] == pytest.approx(-0.3 + 0.15 * 0.1e-3 / 0.25e-3, abs=1e-9)
    assert run.starts[0] == 1
    assert np.isinf(run.alarm_s[0])
    assert run.run_time_s[0] == pytest.approx(86400 - 0.2 * 0.2 / 2.1e-3, abs=1e-6)
    drowned = run_pit(pit, steady(2.6e-3))
    assert np.isfinite(drowned.flood_s[0])
    assert drowned.highest_level_m[0] > 0.0
    # and back: when the rain stops the pump empties it and the cycle closes
    flow = np.concatenate([np.full(24, 4e-3), np.zeros(264)])[None, :]
    after = run_pit(pit, PitInflow(flow, 300.0), keep_levels=True)
    assert after.level_m[0, -1] == pytest.approx(-0.5, abs=1e-9)


def test_inflow_that_just_equals_the_pump() -> None:
    pit = simple_pit()
    run = run_pit(pit, steady(2e-3), keep_levels=True)
    assert run.starts[0] == 1
    assert run.level_m[0, -1] == pytest.approx(-0.3, abs=1e-12)


def test_ground_water_goes_on_after_the_storm() -> None:
    seconds = 0.15 * 0.2 / 1e-5
    found = follow_alone(simple_pit(), steady(1e-5, hours=0.5), [0, 3, 6], steady_m3_s=1e-5)
    np.testing.assert_allclose(found.rim_s[0], [seconds / 2, seconds - 900, seconds], rtol=1e-8)
    assert np.all(found.alarm_s == 0.0)


def test_stops_need_no_order_and_do_not_meddle(homes, storms) -> None:
    pit, inflow = homes(30), storms(30)
    begin = [133, 0, 287, 287, 100, 133]
    both = follow_alone(pit, inflow, begin)
    for m, step in enumerate(begin):
        alone = follow_alone(pit, inflow, [step])
        np.testing.assert_array_equal(alone.rim_s[:, 0], both.rim_s[:, m])


def test_levels_after_the_alarm_agree_with_the_flood_time(storms) -> None:
    """Within a step the level is told on a line between its ends; here a step is a second."""
    pit = simple_pit()
    inflow = PitInflow(np.repeat(storms(1, seed=3, peak=2e-5).storm_m3_s, 300, axis=1), 1.0)
    begin = int(inflow.storm_m3_s.argmax()) - 600
    time = follow_alone(pit, inflow, [begin]).rim_s[0, 0]
    assert 60.0 < time < 1e4
    after = np.array([time * 0.5, time, time + 60.0])
    at = follow_alone(pit, inflow, [begin], after_s=after).level_m[0, 0]
    assert at[1] == pytest.approx(0.0, abs=2e-3) and at[0] < -0.02 and at[2] > 0.0


def test_thin_bands_are_passed_through(storms) -> None:
    """Levels that coincide, or nearly, change nothing."""
    plain = simple_pit(seepage_m3_s=[[5e-5, 5e-5, 4e-5, 3e-5, 2e-5, 0.0]])
    doubled = simple_pit(
        level_m=[[-0.6, -0.6, -0.5, -0.5, -0.3, -0.3, -0.15, -0.15 + 1e-12, 0.0, 0.0, 3.0]],
        area_m2=[[7.0, 0.2, 7.0, 0.2, 7.0, 0.2, 7.0, 0.2, 7.0, 100.0]],
        pump_m3_s=[[2e-3] * 11],
        seepage_m3_s=[[5e-5] * 4 + [4e-5] * 2 + [3e-5] * 2 + [2e-5] * 2 + [0.0]],
        off_index=[2], on_index=[5], alarm_index=[7], floor_index=[9],
    )  # fmt: skip
    inflow = storms(1, peak=8e-3)
    a, b = run_pit(plain, inflow), run_pit(doubled, inflow)
    assert np.isfinite(a.flood_s[0])
    for name in ("starts", "run_time_s", "flood_s", "alarm_s", "highest_level_m", "inflow_m3"):
        np.testing.assert_allclose(getattr(a, name), getattr(b, name), rtol=1e-9)


def test_water_of_the_pipe_falls_back() -> None:
    """Each stop gives 4 L back: more starts, and the water is pumped twice but counted once."""
    tight, open_ = simple_pit(), simple_pit(drainback_m3=[0.004])
    a, b = (run_pit(pit, steady(2e-4)) for pit in (tight, open_))
    assert b.starts[0] == pytest.approx(a.starts[0] * (200 + 40 / 1.8) / (180 + 40 / 1.8), abs=1.5)
    assert b.pumped_m3[0] == pytest.approx(a.pumped_m3[0], abs=0.04)
    assert b.run_time_s[0] > a.run_time_s[0] * 1.09
    # more than the pit holds between off and on: the pump starts again at once, for ever
    endless = run_pit(simple_pit(drainback_m3=[0.05]), steady(2e-4))
    assert endless.starts[0] > 1000
    assert endless.balance_error[0] < 1e-9
    # nearly all that a tiny pit holds, in and out for days: far more is lifted than ever arrives
    tiny = {"level_m": [[-0.6, -0.374, -0.362, -0.2, 0.0, 3.0]], "area_m2": [[0.003] * 4 + [100.0]]}
    seldom = steady(1e-8, hours=72)
    run = run_pit(simple_pit(**tiny, drainback_m3=[0.012 * 0.003 * 1.5]), seldom)
    assert run.starts[0] > 1e6
    assert run.run_time_s[0] * 2e-3 > 1000 * run.inflow_m3[0]


@pytest.mark.parametrize("most_m3_s", [0.0, 1e-5])
def test_forty_years_of_a_pump_that_never_rests_keep_their_balance(most_m3_s: float) -> None:
    """A valve stuck open: the pipe gives back 3.1 L, the pit holds 2.4 L from off to on."""
    least_m3_s = 0.5 * most_m3_s
    pit = simple_pit(
        level_m=[[-0.6, -0.465, -0.445, -0.2, 0.0, 3.0]],
        area_m2=[[0.122, 0.122, 0.122, 0.122, 100.0]],
        pump_m3_s=[[1.06e-3, 1.06e-3, 1.062e-3, 1.062e-3, 1.062e-3, 1.062e-3]],
        seepage_m3_s=[[most_m3_s, most_m3_s, least_m3_s, 0.0, 0.0, 0.0]],
        drainback_m3=[0.0031],
    )
    hours = 350_000
    r = np.random.default_rng(1)
    storm = np.where(r.random((1, hours)) < 0.1, r.exponential(2e-5, (1, hours)), 0.0)
    run = run_pit(pit, PitInflow(storm, 3600.0))
    lifted = run.run_time_s[0] * 1.06e-3  # 1.3 million cubic metres
    assert lifted > 1.2e6 and run.starts[0] > 3e8
    # of a sum of a million, a digit in 1e16 is 1e-10 m3, and there are a thousand cycles an hour:
    # told by differences of such sums they would come to 8e-9 of what is lifted
    assert run.balance_error[0] < 1e-10
    # from off to 5.4 mm above on, where 2 % less comes in than at on, for it ends 245 mm above that
    years_s, came = hours * 3600.0, storm.sum() * 3600.0
    low, high = (came + flow * years_s for flow in (0.97 * least_m3_s, most_m3_s))
    assert low - 1e-3 <= run.pumped_m3[0] <= high + 1e-3


def test_pumped_water_returns_later() -> None:
    pit = simple_pit(return_share=[0.5], return_lag_s=1800.0)
    flow = np.zeros((1, 288))
    flow[0, 10:20] = 5e-4
    run = run_pit(pit, PitInflow(flow, 300.0))
    # 1.5 m3 came; each round half of what was pumped comes again
    assert run.pumped_m3[0] > 2.6
    assert run.returned_m3[0] == pytest.approx(run.pumped_m3[0] / 2, abs=0.03)
    assert run.inflow_m3[0] == pytest.approx(1.5)


def test_most_starts_in_an_hour() -> None:
    pit = simple_pit()
    flow = np.zeros((1, 288))
    flow[0, 36:48] = 1e-3  # the fourth hour: period 40 s + 40 s
    for step, rows in ((300.0, flow), (100.0, np.repeat(flow, 3, axis=1))):
        run = run_pit(pit, PitInflow(rows, step))
        assert run.starts_per_hour[0] == 45
        assert run.starts[0] == 45


def test_the_start_level_is_the_users() -> None:
    pit = simple_pit()
    run = run_pit(pit, steady(0.0), start_level_m=np.array([-0.1]), keep_levels=True)
    assert run.starts[0] == 1
    assert run.alarm_s[0] == 0.0
    assert run.level_m[0, 0] == pytest.approx(-0.1)
    assert run.level_m[0, -1] == pytest.approx(-0.5)
    low = run_pit(pit, steady(0.0), start_level_m=np.array([-0.6]), keep_levels=True)
    assert low.level_m[0, -1] == pytest.approx(-0.6)
    for wrong in ([-0.7], [np.nan], [-0.3, -0.3]):
        with pytest.raises(RangeError, match="start level"):
            run_pit(pit, steady(0.0), start_level_m=np.array(wrong))


def test_workers_do_not_change_the_answer(homes, storms) -> None:
    pit, inflow = homes(700), storms(700)
    one, three = run_pit(pit, inflow, workers=1), run_pit(pit, inflow, workers=3)
    np.testing.assert_array_equal(one.pumped_m3, three.pumped_m3)
    np.testing.assert_array_equal(one.starts, three.starts)


def test_what_does_not_fit_is_refused() -> None:
    pit = simple_pit()
    with pytest.raises(RangeError, match="3 rows for 1 pits"):
        run_pit(pit, PitInflow(np.zeros((3, 5)), 300.0))
    same = replace(pit, level_m=np.array([[-0.6, -0.3, -0.3, -0.15, 0.0, 3.0]]))
    with pytest.raises(RangeError, match="stops at the level at which it starts"):
        run_pit(same, steady(0.0))
    jump = simple_pit(
        level_m=[[-0.6, -0.6, -0.5, -0.3, 0.0, 3.0]], pump_m3_s=[[1e-3] + [2e-3] * 5],
        off_index=[2], on_index=[3], alarm_index=[4], floor_index=[5],
    )  # fmt: skip
    with pytest.raises(RangeError, match="jumps"):
        run_pit(jump, steady(0.0))


def test_a_balance_that_does_not_close_is_an_error(monkeypatch) -> None:
    def broken(*args) -> None:
        args[-5][:] = 0.0
        args[-5][:, _kernel.ERROR] = 2e-9

    monkeypatch.setattr(_kernel, "run_draws", broken)
    with pytest.raises(BalanceError, match="draw 0"):
        run_pit(simple_pit(), steady(0.0))


def test_time_from_a_given_level_is_that_of_the_water_still_missing() -> None:
    # a prism of 0.2 m2 that fills at 1e-5 m3/s: 200 s for each centimetre that is missing
    pit, inflow = simple_pit(), steady(1e-5)
    levels = np.array([[-0.30, -0.10, 0.0, 0.02]])
    found = follow_alone(pit, inflow, [0, 2, 4, 6], levels)
    np.testing.assert_allclose(found.rim_s[0], [6000.0, 2000.0, 0.0, 0.0], atol=1e-4)
    np.testing.assert_allclose(found.alarm_s[0], [3000.0, 0.0, 0.0, 0.0], atol=1e-4)
    back = follow_alone(pit, inflow, [6, 4, 2, 0], levels[:, ::-1])
    np.testing.assert_array_equal(back.rim_s[0], found.rim_s[0, ::-1])
    after = follow_alone(pit, inflow, [0], levels[:, :1], np.array([0.0, 1000.0])).level_m
    np.testing.assert_allclose(after[0, 0], [-0.30, -0.25], rtol=1e-8)


def test_a_later_stop_may_reach_the_floor_where_an_earlier_one_does_not() -> None:
    pit, inflow = simple_pit(), steady(1e-5, hours=1)
    first, then = follow_alone(pit, inflow, [0, 6], np.array([[-0.45, -0.02]])).rim_s[0]
    assert np.isinf(first) and then == pytest.approx(0.02 * 0.2 / 1e-5)


@pytest.mark.parametrize("every", [1, 7, 48])
def test_accounts_of_spans_add_up_to_the_whole(every: int) -> None:
    rng = np.random.default_rng(5)
    pit = make_homes(12)
    storm = rng.gamma(0.3, 1.5e-4, (12, 480)) * (rng.random((12, 480)) < 0.4)
    run = run_pit(pit, PitInflow(storm, 3600.0), account_steps=every)
    plain = run_pit(pit, PitInflow(storm, 3600.0))
    kept = run.accounts
    assert kept is not None and kept.starts.shape == (12, -(-480 // every))
    np.testing.assert_allclose(kept.starts.sum(axis=1), plain.starts, rtol=1e-12)
    np.testing.assert_allclose(kept.run_time_s.sum(axis=1), plain.run_time_s, rtol=1e-9)
    np.testing.assert_allclose(kept.pumped_m3.sum(axis=1), plain.pumped_m3, rtol=1e-9)
    np.testing.assert_allclose(kept.highest_level_m.max(axis=1), plain.highest_level_m, atol=1e-12)


def test_an_account_is_that_of_its_own_hours() -> None:
    """One wet day of three: the pump lifts what came in it, but for less than one cycle."""
    pit = simple_pit()
    storm = np.zeros((1, 72))
    storm[0, 24:48] = 2e-4
    kept = run_pit(pit, PitInflow(storm, 3600.0), account_steps=24).accounts
    assert kept is not None
    assert kept.starts[0, 0] == 0.0 and kept.starts[0, 2] <= 1.0
    assert kept.pumped_m3[0, 1] == pytest.approx(2e-4 * 86400.0, abs=0.2)
