"""The compiled loop against slow, obvious and independent ways."""

from dataclasses import replace

import numpy as np
import pytest
from scipy.integrate import solve_ivp

from riskkit.errors import BalanceError, RangeError
from riskkit.pit import _kernel
from riskkit.pit.balance import dry_time_to_flood, level_after, run_pit, time_to_flood
from riskkit.records import PitInflow, PitModel
from tests.pit.conftest import make_homes


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
    pit, inflow = homes(6, seed=8), storms(6, seed=9, peak=8e-4)
    moment = float(np.argmax(inflow.storm_m3_s[draw]) * 300.0) - 1500.0
    rest = inflow.storm_m3_s[draw, int(moment / 300) :]
    expected, _ = ode_events(pit, rest, draw, working=False)
    found = time_to_flood(pit, inflow, np.array([moment])).time_to_flood_s[draw, 0]
    if expected:
        assert found == pytest.approx(expected[0], abs=0.1)
    else:
        assert found > rest.size * 300.0


def test_flood_times_against_the_slow_twin(homes, storms, twin) -> None:
    pit, inflow = homes(20, seed=3), storms(20, seed=4, peak=5e-4)
    moments = np.array([5 * 3600.0, 9 * 3600.0, 12 * 3600.0, 15 * 3600.0])
    fast = time_to_flood(pit, inflow, moments).time_to_flood_s
    assert 10 < np.isfinite(fast).sum() < fast.size
    for draw in range(20):
        for m, moment in enumerate(moments):
            rest = inflow.storm_m3_s[draw, int(moment / 300) :]
            slow = twin(pit, np.append(rest, np.zeros(600)), 300.0, draw, pump_works=False)
            if np.isfinite(slow.flood):
                assert fast[draw, m] == pytest.approx(slow.flood, abs=1e-3)
            else:
                assert fast[draw, m] > (rest.size + 600) * 300.0


def test_nothing_depends_on_the_step(homes, storms) -> None:
    """Halving the step, with the same storm, changes nothing: the step is no source of error."""
    pit = homes(100, return_share=0.0)
    coarse = storms(100)
    fine = PitInflow(np.repeat(coarse.storm_m3_s, 2, axis=1), 150.0)
    a, b = run_pit(pit, coarse, keep_levels=True), run_pit(pit, fine, keep_levels=True)
    np.testing.assert_allclose(a.level_m, b.level_m[:, ::2], atol=1e-9)
    np.testing.assert_allclose(a.run_time_s, b.run_time_s, rtol=1e-9, atol=1e-7)
    np.testing.assert_array_equal(a.starts, b.starts)
    moments = np.arange(0.0, 86400.0, 1800.0)
    a, b = time_to_flood(pit, coarse, moments), time_to_flood(pit, fine, moments)
    np.testing.assert_allclose(a.time_to_flood_s, b.time_to_flood_s, rtol=1e-9)


def test_finer_bands_converge(homes, storms) -> None:
    """More levels between the given ones change the time to flood by little, and ever less."""
    inflow = storms(50, peak=4e-4)
    moments = np.array([6.0, 10.0, 14.0]) * 3600

    def times(extra):
        depths = [np.full(50, x) for x in np.linspace(-0.3, 0.5, extra)]
        return time_to_flood(homes(50, extra_depth_m=depths), inflow, moments).time_to_flood_s

    a, b, c = times(12), times(24), times(96)
    both = np.isfinite(a) & np.isfinite(b) & np.isfinite(c) & (c < 86400)
    assert both.sum() > 50
    a, b, c = a[both], b[both], c[both]
    assert np.median(np.abs(a / c - 1)) < 0.01
    assert np.abs(b / c - 1).mean() < np.abs(a / c - 1).mean() / 1.8


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


def test_ground_water_alone_settles_below_the_floor() -> None:
    pit = simple_pit(seepage_m3_s=[[2e-4, 2e-4, 2e-4, 1e-4, 0.0, 0.0]])
    run = time_to_flood(pit, steady(0.0), np.array([0.0, 3600.0]))
    assert np.all(np.isinf(run.time_to_flood_s))
    assert np.isinf(dry_time_to_flood(pit)[0])
    levels = level_after(pit, steady(0.0), np.zeros(1), np.array([0.0, 6e2, 1e6]))
    np.testing.assert_allclose(levels[0, [0, 2]], [-0.15, 0.0], atol=1e-9)
    # V = V_e (1 − e^(−t/T)) with T = 0.15 · 0.2 / 1e-4 = 300 s
    assert levels[0, 1] == pytest.approx(-0.15 * np.exp(-2.0), abs=1e-12)


def test_ground_water_goes_on_after_the_storm() -> None:
    pit = simple_pit(seepage_m3_s=[[1e-5] * 6])
    hours = 0.15 * 0.2 / 1e-5
    assert dry_time_to_flood(pit)[0] == pytest.approx(hours, rel=1e-12)
    run = time_to_flood(pit, steady(1e-5, hours=0.5), np.array([0.0, 900.0, 1800.0, 7200.0]))
    expected = [hours / 2, hours - 900.0, hours, hours]
    np.testing.assert_allclose(run.time_to_flood_s[0], expected, rtol=1e-12)


def test_moments_need_no_order_and_no_edges(homes, storms) -> None:
    pit, inflow = homes(30), storms(30)
    moments = np.array([40000.0, 123.4, 86399.9, 90000.0, 30017.3, 40000.0])
    run = time_to_flood(pit, inflow, moments)
    for m, moment in enumerate(moments):
        alone = time_to_flood(pit, inflow, np.array([moment]))
        np.testing.assert_array_equal(alone.time_to_flood_s[:, 0], run.time_to_flood_s[:, m])
    np.testing.assert_allclose(run.time_to_flood_s[:, 3], dry_time_to_flood(pit), rtol=1e-12)


def test_levels_after_the_alarm_agree_with_the_flood_time(homes, storms) -> None:
    pit, inflow = homes(40, seed=2), storms(40, seed=3, peak=5e-4)
    moment = np.linspace(0.0, 80000.0, 40)
    time = np.array(
        [time_to_flood(pit, inflow, moment[d : d + 1]).time_to_flood_s[d, 0] for d in range(40)]
    )
    floods = np.isfinite(time)
    assert floods.sum() > 10
    for d in np.flatnonzero(floods):
        at = level_after(pit, inflow, moment, np.array([time[d] + 60.0, time[d], time[d] * 0.5]))[d]
        assert at[1] == pytest.approx(0.0, abs=1e-9)
        assert at[0] >= 0.0 > at[2]


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
    for moments in ([-1.0], [np.inf], [[1.0]]):
        with pytest.raises(RangeError, match="moment"):
            time_to_flood(pit, steady(0.0), np.array(moments))
    with pytest.raises(RangeError, match="moment"):
        level_after(pit, steady(0.0), np.zeros(2), np.zeros(1))
    with pytest.raises(RangeError, match="time after"):
        level_after(pit, steady(0.0), np.zeros(1), np.array([-1.0]))


def test_a_balance_that_does_not_close_is_an_error(monkeypatch) -> None:
    def broken(*args) -> None:
        args[-4][:] = 0.0
        args[-4][:, _kernel.ERROR] = 2e-9

    monkeypatch.setattr(_kernel, "run_draws", broken)
    with pytest.raises(BalanceError, match="draw 0"):
        run_pit(simple_pit(), steady(0.0))


def test_time_from_a_given_level_is_that_of_the_water_still_missing() -> None:
    # a prism of 0.2 m2 that fills at 1e-5 m3/s: 200 s for each centimetre that is missing
    pit, inflow = simple_pit(), steady(1e-5)
    levels = np.array([[-0.30, -0.10, 0.0, 0.02]])
    moments = np.array([0.0, 600.0, 1200.0, 1800.0])
    found = time_to_flood(pit, inflow, moments, levels).time_to_flood_s[0]
    np.testing.assert_allclose(found, [6000.0, 2000.0, 0.0, 0.0], atol=1e-6)
    # in another order the same
    back = time_to_flood(pit, inflow, moments[::-1], levels[:, ::-1]).time_to_flood_s[0]
    np.testing.assert_array_equal(back, found[::-1])
    after = level_after(pit, inflow, moments[:1], np.array([0.0, 1000.0]), levels[:, 0])
    np.testing.assert_allclose(after[0], [-0.30, -0.25], rtol=1e-12)


def test_levels_at_the_alarm_give_what_the_alarm_gives(homes, storms) -> None:
    pit, inflow = homes(40), storms(40)
    alarm = np.take_along_axis(pit.level_m, pit.alarm_index[:, None], axis=1)
    moments = np.arange(0.0, 20_000.0, 900.0)
    plain = time_to_flood(pit, inflow, moments).time_to_flood_s
    given = time_to_flood(pit, inflow, moments, np.repeat(alarm, moments.size, axis=1))
    np.testing.assert_allclose(given.time_to_flood_s, plain, rtol=1e-9)
    np.testing.assert_allclose(dry_time_to_flood(pit, alarm[:, 0]), dry_time_to_flood(pit))


def test_a_later_moment_may_reach_the_floor_where_an_earlier_one_does_not() -> None:
    pit, inflow = simple_pit(), steady(1e-5, hours=1)
    levels = np.array([[-0.45, -0.02]])
    first, then = time_to_flood(pit, inflow, np.array([0.0, 1800.0]), levels).time_to_flood_s[0]
    assert np.isinf(first) and np.isfinite(then)


def test_start_levels_that_do_not_fit_are_refused() -> None:
    pit, inflow = simple_pit(), steady(1e-5)
    for levels in (np.zeros((2, 1)), np.full((1, 1), np.nan), np.full((1, 1), -9.0)):
        with pytest.raises(RangeError):
            time_to_flood(pit, inflow, np.zeros(1), levels)


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
