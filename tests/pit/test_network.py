"""The pit as a tank of a pipe network, run by an independent solver of such networks."""

import warnings

import numpy as np
import pytest

from riskkit.pit.balance import run_pit
from riskkit.pit.geometry import basement_storage, round_storage
from riskkit.pit.model import build_pit
from riskkit.pit.pump import curve_from_rating, duty_flow_m3_s
from riskkit.records import PitInflow

INFLOW_M3_S, AREA_D_M = 4e-4, 0.5
OFF, ON = -0.6, -0.25
OUTLET_M, LENGTH_M, BORE_M = 2.4, 6.0, 0.0525
RATED_M3_S, RATED_M = 2.2e-3, 3.0


@pytest.fixture(scope="module")
def network():
    """Level (relative to the floor) and flow every 2 s for 20 min."""
    with warnings.catch_warnings():
        warnings.simplefilter("ignore")  # of the other library's own making
        import wntr

        net = wntr.network.WaterNetworkModel()
        # heights above a datum 1 m below the floor; the pump's curve has one point: H = 4/3 Hr at
        # shut-off
        net.add_tank("pit", elevation=0.0, init_level=1 + OFF, min_level=0.05, max_level=3.0,
                     diameter=AREA_D_M)  # fmt: skip
        net.add_junction("drain", base_demand=-INFLOW_M3_S, elevation=0.0)
        net.add_pipe("tile", "drain", "pit", length=1.0, diameter=0.3, roughness=150)
        net.add_junction("riser", base_demand=0.0, elevation=0.0)
        net.add_reservoir("outlet", base_head=1 + OUTLET_M)
        net.add_curve("plate", "HEAD", [(RATED_M3_S, RATED_M)])
        net.add_pump("pump", "pit", "riser", "HEAD", "plate", initial_status="CLOSED")
        net.add_pipe("pipe", "riser", "outlet", length=LENGTH_M, diameter=BORE_M, roughness=150,
                     minor_loss=1.0, check_valve=True)  # fmt: skip
        pit, pump = net.get_node("pit"), net.get_link("pump")
        for name, relation, level, status in (("on", ">=", ON, 1), ("off", "<=", OFF, 0)):
            act = wntr.network.controls.ControlAction(pump, "status", status)
            condition = wntr.network.controls.ValueCondition(pit, "level", relation, 1 + level)
            net.add_control(name, wntr.network.controls.Control(condition, act))
        net.options.time.duration = 1200
        net.options.time.hydraulic_timestep = net.options.time.report_timestep = 2
        results = wntr.sim.WNTRSimulator(net).run_sim()
    level = results.node["pressure"]["pit"]
    return level.index.to_numpy(), level.to_numpy() - 1, results.link["flowrate"]["pump"].to_numpy()


@pytest.fixture(scope="module")
def ours():
    one = np.ones(1)
    room = [*round_storage(1.0 * one, AREA_D_M * one), basement_storage(90 * one, 0 * one)]
    curve = curve_from_rating(RATED_M3_S * one, RATED_M * one, 4 / 3 * RATED_M * one)

    def pump(level):
        return duty_flow_m3_s(level, curve, OUTLET_M * one, BORE_M * one, LENGTH_M * one)

    pit = build_pit(room, -OFF * one, -ON * one, 0.1 * one, pump, 0 * one)
    inflow = PitInflow(np.full((1, 600), INFLOW_M3_S), 2.0)
    return pit, run_pit(pit, inflow, keep_levels=True)


def crossings(time, level):
    """Times of the lowest and highest points."""
    rise = np.sign(np.diff(level))
    turn = np.flatnonzero(rise[1:] != rise[:-1]) + 1
    return time[turn]


def test_fill_and_draw_down_take_the_same_time(network, ours) -> None:
    """Ten legs in twenty minutes. Their pump runs on to the end of a step of 2 s, so a draw-down
    is up to 2 s longer; what it takes too much fills again in up to four times as long.
    """
    time, level, _ = network
    theirs, mine = crossings(time, level), crossings(time, ours[1].level_m[0])
    assert theirs.size == mine.size >= 6
    assert theirs[0] == pytest.approx(mine[0], abs=2)
    theirs, mine = np.diff(theirs), np.diff(mine)
    np.testing.assert_allclose(theirs[0::2], mine[0::2], atol=2, rtol=0.02)
    np.testing.assert_allclose(theirs[1::2], mine[1::2], atol=8)


def test_flow_of_the_pump_agrees(network, ours) -> None:
    """Friction by another formula (Hazen and Williams there), so within 2 %."""
    _, level, flow = network
    pit, _ = ours
    running = flow > 1e-4
    mine = np.interp(level[running], pit.level_m[0], pit.pump_m3_s[0])
    # their first flow after a start still belongs to the step before
    assert np.median(np.abs(mine / flow[running] - 1)) < 0.02
    assert running.sum() > 50


def test_levels_agree_until_the_first_stop(network, ours) -> None:
    time, level, _ = network
    first = time <= crossings(time, level)[1] - 4
    assert np.abs(level - ours[1].level_m[0])[first].max() < 0.015
