"""The ground through years: the equations of a storm, FAO-56 between storms, and nothing lost."""

from __future__ import annotations

import numpy as np
import pytest
from scipy.integrate import solve_ivp

from riskkit.errors import RangeError
from riskkit.inflow.continuous import RootZone, continuous_water
from riskkit.inflow.wall import FLOWS, WallModel, WallWater, run_wall, start_state, wall_water
from tests.inflow.test_wall import HOUSE

HOUR = 3600.0


def wall(**changes: float) -> WallModel:
    return WallModel(**{k: np.atleast_1d(v) for k, v in (HOUSE | changes).items()})


def roots(**changes: float) -> RootZone:
    given = {
        "fill_depth_m": 2.0, "fill_roots_m": 0.5, "fill_available_m": 0.08,
        "lot_depth_m": 2.0, "lot_roots_m": 0.5, "lot_available_m": 0.06,
    }  # fmt: skip
    return RootZone(**{k: np.atleast_1d(v) for k, v in (given | changes).items()})


def test_without_plants_and_pauses_it_is_the_storm() -> None:
    rain = np.array([0.0, 3.0, 12.0, 6.0, 0.0, 1.0, 0.0])
    storm = wall_water(rain, HOUR, wall())
    found, _ = continuous_water(rain, np.zeros(7), HOUR, wall(), roots(), 0.4)
    np.testing.assert_array_equal(found.footing_m3_s, storm.footing_m3_s)
    np.testing.assert_array_equal(found.recharge_m3_s, storm.recharge_m3_s)


def test_parts_of_the_hours_go_on_from_each_other() -> None:
    rng = np.random.default_rng(3)
    rain = rng.gamma(0.1, 12.0, 600) * (rng.random(600) < 0.15)
    demand = np.full(600, 0.15)
    whole, end = continuous_water(rain, demand, HOUR, wall(), roots(), 0.4)
    state, flows = None, []
    for part in (slice(0, 7), slice(7, 333), slice(333, 600)):
        some, state = continuous_water(rain[part], demand[part], HOUR, wall(), roots(), 0.4, state)
        flows.append(some.footing_m3_s)
    np.testing.assert_allclose(np.concatenate(flows, axis=1), whole.footing_m3_s, rtol=1e-12)
    np.testing.assert_allclose(state, end, rtol=1e-12)


def test_a_noted_state_is_that_from_which_a_run_goes_on() -> None:
    rng = np.random.default_rng(8)
    rain = rng.gamma(0.1, 12.0, 300) * (rng.random(300) < 0.2)
    demand = np.full(300, 0.15)
    marks, noted = np.array([0, 120, 299]), np.empty((1, 3, 11))
    continuous_water(
        rain, demand, HOUR, wall(), roots(), 0.4, marked=marks, noted=noted
    )  # fmt: skip
    _, end = continuous_water(rain[:120], demand[:120], HOUR, wall(), roots(), 0.4)
    np.testing.assert_array_equal(noted[:, 1], end)


def test_every_drop_of_a_year_is_accounted_for() -> None:
    rng = np.random.default_rng(4)
    rain = rng.gamma(0.3, 8.0, 8760) * (rng.random(8760) < 0.08)
    found, _ = continuous_water(rain, np.full(8760, 0.1), HOUR, wall(), roots(), 0.4)
    parts = {name: float(volume[0]) for name, volume in found.parts_m3.items()}
    came = parts.pop("arrived")
    assert parts["used by plants"] > 0.05 * came
    assert sum(parts.values()) == pytest.approx(came, rel=1e-9)
    assert found.footing_m3_s.sum() * HOUR == pytest.approx(parts["reached the footing"], rel=1e-9)


def test_hours_of_next_to_no_water_add_up() -> None:
    """Next to nothing on its way: the rounding of the deficit is no small part of it."""
    rng = np.random.default_rng(2)
    for _ in range(200):
        almost = wall(
            lot_water_m=1e-13 * rng.random(), fill_water_m=0.0, lot_deficit_m=0.05 * rng.random(),
            fill_deficit_m=0.05 * rng.random(), lot_area_m2=500.0,
        )  # fmt: skip
        few = np.where(rng.random(40) < 0.5, 1e-13 * rng.random(40), 0.0)
        found, _ = continuous_water(few, np.zeros(40), HOUR, almost, roots(), 0.4)
        assert found.footing_m3_s.sum() >= 0.0


def test_plants_dry_the_ground_as_fao_56_says() -> None:
    """No rain, no water that drains: d(deficit)/dt = Ks ETc, Ks = (TAW - D) / ((1 - p) TAW)."""
    demand_mm_d, easy, available = 4.8, 0.4, 0.06
    share = easy + 0.04 * (5.0 - demand_mm_d)  # FAO-56, footnote of Table 22

    def dries(_t: float, deficit: np.ndarray) -> np.ndarray:
        left = (available - deficit) / ((1 - share) * available)
        return np.asarray(demand_mm_d * 1e-3 / 86400.0 * np.clip(left, 0.0, 1.0))

    dry = wall(lot_water_m=0.0, lot_deficit_m=0.0, fill_water_m=0.0)
    days = 40
    _, end = continuous_water(
        np.zeros(24 * days), np.full(24 * days, demand_mm_d / 24), HOUR, dry, roots(), easy
    )
    wanted = solve_ivp(dries, (0.0, days * 86400.0), [0.0], rtol=1e-10, atol=1e-12).y[0, -1]
    assert end[0, 2] == pytest.approx(wanted, rel=2e-3)  # hours of a constant rate
    assert wanted < available


def test_plants_draw_on_water_that_drains_before_they_dry_the_ground() -> None:
    """10 mm drainable, a quarter within reach: 0.2 mm of an hour come from it, by hand."""
    still = wall(
        fill_water_m=0.010, fill_deficit_m=0.0, fill_time_s=1e15, lot_water_m=0.0, lot_deficit_m=0.0
    )
    _, end = continuous_water([0.0], [0.2], HOUR, still, roots(), 0.4)
    assert end[0, 1] == pytest.approx(0.010 - 0.0002, rel=1e-9)
    assert end[0, 0] == 0.0


@pytest.mark.parametrize(("pause", "anew"), [(5, False), (6, True)])
def test_a_new_front_begins_after_six_dry_hours(pause: int, anew: bool) -> None:
    """Rain beyond what tight ground takes; a front of its own takes it faster than an old one."""
    tight = wall(
        fill_k_m_s=1e-7, fill_suction_m=0.3, fill_moisture_deficit=0.2, fill_storage_m=0.3,
        gap_share=0.0, ponding_depth_m=0.0, fill_deficit_m=0.0, fill_water_m=0.0, fill_time_s=1e6,
    )  # fmt: skip
    rain = np.concatenate([[20.0], np.zeros(pause), [20.0]])
    _, after = continuous_water(rain[:-1], np.zeros(pause + 1), HOUR, tight, roots(), 0.4)
    _, end = continuous_water(rain, np.zeros(pause + 2), HOUR, tight, roots(), 0.4)
    begun = end[0, 4] < after[0, 4] + 1e-3
    assert bool(begun) == anew
    if anew:
        # suction x (pores left above what drains + deficit over the roots), by hand
        store = after[0, 1]
        assert end[0, 8] == pytest.approx(0.3 * (0.3 - store) / 2.0, rel=1e-9)


@pytest.mark.parametrize(
    ("water", "demand", "step", "word"),
    [
        ([np.nan], [0.0], HOUR, "water_mm"),
        ([1.0], [-1.0], HOUR, "demand_mm"),
        ([1.0, 2.0], [0.0], HOUR, "demand_mm"),
        ([1.0], [0.0], 7200.0, "step_s"),
    ],
)
def test_what_cannot_be_is_rejected(
    water: list[float], demand: list[float], step: float, word: str
) -> None:
    with pytest.raises(RangeError, match=word):
        continuous_water(water, demand, step, wall(), roots(), 0.4)


def test_roots_do_not_reach_below_the_ground() -> None:
    with pytest.raises(RangeError, match="lot_roots_m"):
        roots(lot_roots_m=2.5)


def test_dry_steps_take_the_short_way_to_the_same_end() -> None:
    """Whoever asks what went from store to store gets every step by the long way."""
    rng = np.random.default_rng(11)
    rain = rng.gamma(0.2, 12.0, (2, 900)) * (rng.random((2, 900)) < 0.1)
    demand = np.where(np.arange(900) % 24 < 12, 0.3, 0.0)
    two = {k: np.repeat(np.atleast_1d(v), 2) for k, v in HOUSE.items()}
    house, marks = WallModel(**two), np.array([0, 5, 450, 899])

    def run(n_flows: int) -> tuple[WallWater, np.ndarray, np.ndarray]:
        state, noted = start_state(house, 2), np.empty((2, marks.size, 11))
        done = run_wall(
            rain, HOUR, house, np.array([0.8, 1.2]), state, demand_mm=demand,
            scarce_share=np.full(900, 0.6), front_s=6 * HOUR, roots=vars(roots()),
            marked=marks, noted=noted, flows=np.empty((2, n_flows, len(FLOWS))),
        )  # fmt: skip
        return done, state, noted

    (short, end, noted), (long, long_end, long_noted) = run(0), run(900)
    assert np.count_nonzero(rain.max(axis=0)) < 300
    np.testing.assert_allclose(short.footing_m3_s, long.footing_m3_s, rtol=1e-12)
    np.testing.assert_allclose(short.recharge_m3_s, long.recharge_m3_s, rtol=1e-12)
    np.testing.assert_allclose(end, long_end, rtol=1e-12)
    np.testing.assert_allclose(noted, long_noted, rtol=1e-12)
    for name, part in short.parts_m3.items():
        np.testing.assert_allclose(part, long.parts_m3[name], rtol=1e-11, err_msg=name)
