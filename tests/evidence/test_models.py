"""What a home would have shown: a pit worked by hand, drain and gravel, runs and pauses."""

from __future__ import annotations

import numpy as np
import pytest

from riskkit.ensemble.draws import draw_homes, median_home
from riskkit.evidence.filling import levels_m, vessels_of
from riskkit.evidence.hose_at_wall import hose_flow_m3_s, lag_log, rise_from_flow_m
from riskkit.evidence.outage import expected_outage, floor_time_s
from riskkit.evidence.pit_tests import draw_down_log, rise_sd_m
from riskkit.evidence.running import cycle_logs, even_rain, expected_often
from riskkit.home.home import Home
from riskkit.simulate import pump_flow_of

# a bare pit of 18 in, its pump no larger than a litre; no gravel, ground water far below
BARE = Home().changed(
    pit={"diameter": "18 in, measured", "depth": "30 in, measured", "pump_volume": "0 gal"},
    gravel={"thickness": "0 in"},
    ground={"drain_depth": "8 in, measured", "water_table_depth": "20 ft", "dry_inflow": "0 gpm"},
    switch={"on": "14 in, measured", "off": "24 in, measured", "alarm": "6 in, measured"},
)
GPM = 3.785411784e-3 / 60  # m3/s
AREA_M2 = np.pi / 4 * 0.4572**2  # 18 in: 0.164173 m2


def test_a_hose_fills_a_bare_pit() -> None:
    """6 gpm for 60 s are 0.0227125 m3, over 0.164173 m2 a rise of 0.138345 m, below the drain."""
    level = levels_m(median_home(BARE), -0.6096, 60.0, 6 * GPM)
    assert float(level[0, -1] + 0.6096) == pytest.approx(0.138345, abs=2e-4)
    assert float(level[0, 60] + 0.6096) == pytest.approx(0.138345 / 2, abs=2e-4)


def test_above_an_open_drain_pit_and_gravel_rise_together() -> None:
    """Far above the invert both rise by Q / (A_pit + A_outside), for the drain is wide open."""
    home = median_home(BARE.changed(drain={"conductance": "500 gpm/in", "open_share": "100 %"}))
    vessels = vessels_of(home)
    level = levels_m(home, -0.6096, 3600.0, 6 * GPM, steps=720)[0]
    at = np.flatnonzero((level > -0.15) & (level < -0.13))
    slope = np.diff(level[at]).mean() / 5.0
    both = AREA_M2 + float(vessels.outside_m2(np.array([-0.14]))[0])
    assert slope == pytest.approx(6 * GPM / both, rel=0.02)


def test_no_water_is_made_or_lost_between_pit_and_gravel() -> None:
    """What the pit does not hold stands in the gravel: with the drain closed it would be higher."""
    free, shut = (
        levels_m(median_home(BARE.changed(drain={"open_share": share})), -0.6096, 600.0, 6 * GPM)
        for share in ("100 %", "0 %")
    )
    closed = float(shut[0, -1])
    # 600 s of 6 gpm are 0.227 m3, more than 0.6096 m of pit (0.100 m3): it stands above the floor
    assert closed > 0.0
    assert float(free[0, -1]) < -0.05


def test_the_steps_of_a_test_are_short_enough() -> None:
    """By less than a reading may be off, sqrt(2 x 3^2 + 5^2) mm, from steps 25 times as short."""
    homes = draw_homes(BARE.changed(gravel={"thickness": "4 in"}), 64, 1)
    coarse = levels_m(homes, -0.6, 300.0, 6 * GPM)[:, -1]
    fine = levels_m(homes, -0.6, 300.0, 6 * GPM, steps=3000)[:, -1]
    assert np.abs(coarse - fine).max() < 0.0066


def test_how_far_off_a_level_may_be() -> None:
    """Tape 3 mm twice, 5 mm of gravel, and half of 40 mm: sqrt(18 + 25 + 400) = 21.048 mm."""
    found = rise_sd_m(np.array([[-0.22, -0.18]]))
    assert found == pytest.approx([0.021048], abs=1e-6)


def test_a_draw_down_by_hand() -> None:
    """10 in of the pit are 0.0416999 m3; with nothing coming in, time is volume over flow."""
    home = median_home(BARE)
    levels = np.array([[-0.6096, -0.4826, -0.3556]])
    flow = float(pump_flow_of(home, levels).mean())
    found = float(np.exp(draw_down_log(home, -0.3556, -0.6096)[0]))
    assert found == pytest.approx(AREA_M2 * 0.254 / flow, rel=1e-3)


def test_run_and_pause_by_hand() -> None:
    """The same water: pause V / Q, run V / (P - Q)."""
    home, flow = median_home(BARE), 1e-4
    pump = float(pump_flow_of(home, np.array([[-0.4826]]))[0, 0])
    run, pause = (float(np.exp(v[0])) for v in cycle_logs(home, np.array([flow])))
    assert pause == pytest.approx(AREA_M2 * 0.254 / flow, rel=1e-3)
    assert run == pytest.approx(AREA_M2 * 0.254 / (pump - flow), rel=1e-3)


def test_a_pit_without_water_never_runs_and_one_in_water_does() -> None:
    dry = expected_often(median_home(BARE), "dry", "never", 0.9).shares
    wet = BARE.changed(ground={"dry_inflow": "2 gpm", "water_table_depth": "0 in"})
    runs = expected_often(median_home(wet), "dry", "never", 0.9).shares
    assert dry is not None and runs is not None
    assert dry[0, 0] > 0.99 and dry[0].sum() == pytest.approx(1.0)
    # 2 gpm = 1.26e-4 m3/s fill 0.0417 m3 in 330 s: some eleven starts an hour, 260 a day
    assert runs[0].argmax() in (2, 3) and runs[0, 0] < 1e-6


def test_even_rain_in_steps() -> None:
    """An inch in two hours: twelve steps of 25.4 / 12 mm, then none."""
    rain, step = even_rain(0.0254, 7200.0, 10800.0)
    assert step == 600.0 and rain.size == 18
    assert rain[:12] == pytest.approx(np.full(12, 25.4 / 12)) and not rain[12:].any()


def test_a_hose_at_the_wall_comes_as_far_as_the_gap_lets_it() -> None:
    """With no gap nothing comes within minutes; with half of it open most of a half does."""

    def at_wall(**ground: str) -> float:
        changed = BARE.changed(ground={"gap_time": "1 min", "deep_percolation": "0 in/d", **ground})
        home = median_home(
            changed.changed(drain={"conductance": "500 gpm/in", "open_share": "100 %"})
        )
        return float(hose_flow_m3_s(home, 6 * GPM, 7200.0)[0, -1])

    none = at_wall(gap_share="0 %", ponding_depth="0 in")
    half = at_wall(gap_share="50 %", ponding_depth="0 in")
    assert none < 0.05 * 6 * GPM
    assert half - none == pytest.approx(3 * GPM, rel=0.1)


def test_the_lag_is_when_more_is_seen_to_come() -> None:
    """From the third minute on a litre a minute more, ten times what is seen: 2.5 min."""
    flow = np.full((2, 8), 1e-4)
    flow[0, 2:] += 1.0e-3 / 60
    found = np.exp(lag_log(flow))
    assert found[0] == pytest.approx(150.0)
    assert found[1] > 1e8  # never


def test_a_volume_raises_the_pit_as_far_as_there_is_room() -> None:
    rise = rise_from_flow_m(median_home(BARE), -0.6096, np.array([AREA_M2 * 0.2]))
    assert rise == pytest.approx([0.2], abs=1e-4)


def test_a_pump_that_stood_still() -> None:
    """A floor that stayed dry is likelier where water comes late; both words make up the whole."""
    homes = draw_homes(Home(), 64, 1)
    times = floor_time_s(homes, 0.05, 7200.0, 24 * 3600.0)
    dry = expected_outage(homes, 0.05, 7200.0, 24 * 3600.0, "dry", 0.5).shares
    assert dry is not None
    assert dry.sum(axis=1) == pytest.approx(np.ones(64))
    early, late = times < 6 * 3600.0, ~np.isfinite(times)
    assert early.any() and late.any()
    # a quarter of the time: ln 4 / 0.5 = 2.77 standard deviations, 0.3 % (normal table)
    assert dry[early, 0].max() < 0.003 and dry[late, 0].min() > 0.99
