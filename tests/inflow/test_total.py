"""Storm inflow: against a slow twin and small Euler steps, in halves, in parts, and at its ends."""

import math
from itertools import pairwise

import numpy as np
import pytest
from scipy.optimize import brentq

from riskkit.errors import BalanceError, RangeError
from riskkit.inflow import total
from riskkit.inflow.total import PARTS, storm_inflow

HOUSE = {
    "perimeter_m": 42.0,
    "backfill_width_m": 0.9,
    "roof_area_m2": 130.0,
    "runoff_share": 0.9,
    "gutter_capacity_mm_h": 80.0,
    "share_at_wall": 0.33,
    "share_to_drain": 0.05,
    "well_area_m2": 1.5,
    "runon_area_m2": 60.0,
    "gap_share": 0.07,
    "fast_time_s": 400.0,
    "ponding_depth_m": 0.012,
    "backfill_k_m_s": 4e-6,
    "backfill_suction_m": 0.1668,
    "backfill_moisture_deficit": 0.15,
    "deficit_m": 0.01,
    "drainable_porosity": 0.17,
    "drain_depth_m": 2.1,
    "native_k_m_s": 6e-7,
    "native_suction_m": 0.1668,
    "native_moisture_deficit": 0.15,
}
NOTHING = {
    "roof_area_m2": 0.0,
    "well_area_m2": 0.0,
    "runon_area_m2": 0.0,
    "gap_share": 0.0,
    "ponding_depth_m": 0.0,
    "deficit_m": 0.0,
}


def storm(seed: int = 0, wet: int = 48, dry: int = 240) -> np.ndarray:
    """Bursts up to about 140 mm/h, then dry steps, 5 min each [mm]."""
    rain = np.random.default_rng(seed).gamma(0.35, 4.0, wet)
    return np.concatenate([rain, np.zeros(dry)])


# --- a slow, obvious twin -------------------------------------------------------------------------


def twin_time(start, end, k, s):
    return (end - start - s * math.log((end + s) / (start + s))) / k if s else (end - start) / k


def twin_depth(start, time, k, s):
    c = k * time
    high = start + c + math.sqrt(c * c + 2 * s * c) + 1e-15
    return brentq(lambda f: twin_time(start, f, k, s) - time, start, high, xtol=1e-17, rtol=1e-14)


def twin_infiltrate(depth, pond, rate, left, k, s, pond_max):
    """Follow one step from event to event, each found by root search."""
    taken = shed = 0.0
    while left > 1e-9:
        ponds_at = k * s / (rate - k) if rate > k else math.inf
        if pond > 0 or depth >= ponds_at:
            end = left
            if depth < ponds_at:
                # the pond falls at first: look for the moment it is gone
                times = np.linspace(0, left, 400)[1:]

                def level(t, depth=depth, pond=pond):
                    return pond + rate * t - (twin_depth(depth, t, k, s) - depth)

                gone = next((t for t in times if level(t) <= 0), None)
                if gone is not None:
                    end = brentq(level, gone - times[0] + 1e-9, gone, xtol=1e-10)
            gain = twin_depth(depth, end, k, s) - depth
            pond = pond + rate * end - gain if end == left else 0.0
            shed += max(0.0, pond - pond_max)
            pond = min(max(pond, 0.0), pond_max)
        else:
            end = min(left, (ponds_at - depth) / rate if rate > 0 else left)
            gain = rate * end
            if end < left:
                gain = ponds_at - depth
        depth, taken, left = depth + gain, taken + gain, left - end
        if rate == 0 and pond == 0:
            break
    return taken, pond, shed


def twin(rain_mm, step, h):
    area = h["perimeter_m"] * h["backfill_width_m"]
    roof = h["roof_area_m2"] * h["runoff_share"]
    full = h["drainable_porosity"] * h["drain_depth_m"]
    tau = full / h["backfill_k_m_s"]
    k, s = h["backfill_k_m_s"], h["backfill_suction_m"] * h["backfill_moisture_deficit"]
    kn, sn = h["native_k_m_s"], h["native_suction_m"] * h["native_moisture_deficit"]
    deficit, depth, lot, pond, store, fast = h["deficit_m"], 0.0, 0.0, 0.0, 0.0, 0.0
    flows = []
    for r in rain_mm:
        rain = r / 1000
        carried = min(rain, h["gutter_capacity_mm_h"] / 3.6e6 * step)
        soaked, _, excess = twin_infiltrate(lot, 0.0, rain / step, step, kn, sn, 0.0)
        lot += soaked
        water = (
            rain * area
            + carried * roof * h["share_at_wall"]
            + (rain - carried) * roof
            + excess * h["runon_area_m2"]
        )
        quick = (
            rain * h["well_area_m2"] + carried * roof * h["share_to_drain"] + h["gap_share"] * water
        )
        supply = (1 - h["gap_share"]) * water / area / step
        soaked, pond, _ = twin_infiltrate(depth, pond, supply, step, k, s, h["ponding_depth_m"])
        depth += soaked
        held = min(soaked, deficit)
        deficit -= held
        rest = step
        if 0 < held < soaked:  # the deficit is met within the step
            rest = step * (1 - held / soaked)
        rate = (soaked - held) / rest
        # the store, by its own equation until it is empty
        loss = kn * h.get("loss_share", 1.0)
        level = (rate - loss) * tau
        end, wet = level + (store - level) * math.exp(-rest / tau), rest
        if end < 0:
            wet = tau * math.log((store - level) / -level) if store > 0 else 0.0
            end = 0.0
        drained = store + (rate - loss) * wet - end
        store = end
        fast_end = fast * math.exp(-step / h["fast_time_s"])
        fast_end += quick / step * h["fast_time_s"] * (1 - math.exp(-step / h["fast_time_s"]))
        flows.append((fast + quick - fast_end + drained * area) / step)
        fast = fast_end
    return np.array(flows)


CASES = {
    "silt loam": {},
    "clay": {
        "backfill_k_m_s": 3e-7, "native_k_m_s": 8e-8, "backfill_suction_m": 0.3163,
        "drainable_porosity": 0.08, "ponding_depth_m": 0.004,
    },
    "sand": {
        "backfill_k_m_s": 5e-5, "native_k_m_s": 1e-5, "drainable_porosity": 0.36,
        "backfill_suction_m": 0.0495, "deficit_m": 0.0,
    },
    "ground falls in": {"ponding_depth_m": 0.05, "runon_area_m2": 200.0},
    "no gutters, no gap": {"gutter_capacity_mm_h": 0.0, "gap_share": 0.0, "backfill_k_m_s": 1e-5},
    "saturated": {"backfill_moisture_deficit": 0.0, "native_moisture_deficit": 0.0},
    "ground water below": {"loss_share": 0.3},
    "ground water at the drain": {"loss_share": 0.0},
}  # fmt: skip


@pytest.mark.parametrize("case", CASES)
def test_equals_the_slow_twin(case) -> None:
    house = HOUSE | CASES[case]
    fast = storm_inflow(storm(), 300.0, **house).storm_m3_s[0]
    slow = twin(storm(), 300.0, house)
    np.testing.assert_allclose(fast, slow, atol=1e-9 * slow.max())
    assert 1e-4 < slow.max() < 1e-2  # litres per second: the scale of a house


def euler(rain_mm, step, h, dt):
    """All stores in small forward steps; what the closed forms must come to."""
    area = h["perimeter_m"] * h["backfill_width_m"]
    roof = h["roof_area_m2"] * h["runoff_share"]
    tau = h["drainable_porosity"] * h["drain_depth_m"] / h["backfill_k_m_s"]
    k, s = h["backfill_k_m_s"], h["backfill_suction_m"] * h["backfill_moisture_deficit"]
    kn, sn = h["native_k_m_s"], h["native_suction_m"] * h["native_moisture_deficit"]
    deficit, depth, lot, pond, store, fast = h["deficit_m"], 1e-7, 1e-7, 0.0, 0.0, 0.0
    flows = []
    for r in rain_mm:
        flow = 0.0
        i = r / 1000 / step
        carried = min(i, h["gutter_capacity_mm_h"] / 3.6e6)
        for _ in range(round(step / dt)):
            soak = min(i, kn * (1 + sn / lot))
            lot += soak * dt
            water = i * area + roof * (carried * h["share_at_wall"] + i - carried)
            water += h["runon_area_m2"] * (i - soak)
            quick = i * h["well_area_m2"] + carried * roof * h["share_to_drain"]
            quick += h["gap_share"] * water
            pond += (1 - h["gap_share"]) * water / area * dt
            take = min(pond, k * (1 + s / depth) * dt)
            depth += take
            pond = min(pond - take, h["ponding_depth_m"])
            held = min(take, deficit)
            deficit -= held
            out = store / tau * dt
            loss = kn * h.get("loss_share", 1.0)
            store = max(0.0, store + take - held - out - loss * dt)
            leave = fast / h["fast_time_s"] * dt
            fast += quick * dt - leave
            flow += leave + out * area
        flows.append(flow / step)
    return np.array(flows)


@pytest.mark.parametrize("case", ["silt loam", "clay", "ground falls in"])
def test_small_euler_steps_come_to_the_same(case) -> None:
    house = HOUSE | CASES[case]
    rain = storm(wet=24, dry=40)
    slow = euler(rain, 300.0, house, 2.0)
    # steps of 30 s, so that taking infiltration as even within a step does not show
    fine = storm_inflow(np.repeat(rain / 10, 10), 30.0, **house).storm_m3_s
    fast = fine.reshape(rain.size, 10).mean(axis=1)
    assert fast.max() == pytest.approx(slow.max(), rel=0.004)
    assert fast.sum() == pytest.approx(slow.sum(), rel=0.004)
    np.testing.assert_allclose(fast, slow, atol=0.01 * slow.max())


def test_halving_the_step_converges() -> None:
    rain = storm(seed=2)

    def flows(parts):
        cut = np.repeat(rain / parts, parts)
        found = storm_inflow(cut, 300.0 / parts, **HOUSE).storm_m3_s
        return found.reshape(rain.size, parts).mean(axis=1)

    exact = flows(64)
    errors = [np.abs(flows(parts) - exact).max() / exact.max() for parts in (1, 2, 4, 8)]
    assert errors[0] < 0.01
    for coarse, fine in pairwise(errors):
        assert fine < 0.6 * coarse


# --- one way at a time ----------------------------------------------------------------------------


def alone(**changes):
    found = storm_inflow(storm(), 300.0, **(HOUSE | NOTHING | changes))
    return found, found.storm_m3_s.sum() * 300.0, {k: v[0] for k, v in found.parts_m3.items()}


def test_wells_send_all_their_rain_to_the_pit() -> None:
    # tight backfill, so that the strip gives nothing
    _, volume, parts = alone(well_area_m2=10.0, backfill_k_m_s=1e-12, backfill_moisture_deficit=0.0)
    assert volume == pytest.approx(storm().sum() / 1000 * 10, rel=1e-4)
    assert parts["ran off"] == pytest.approx(storm().sum() / 1000 * 37.8, rel=1e-4)


def test_fast_water_has_the_time_constant() -> None:
    found, _, _ = alone(
        well_area_m2=10.0, backfill_k_m_s=1e-12, backfill_moisture_deficit=0.0, fast_time_s=900.0
    )
    tail = found.storm_m3_s[0, 60:80]
    np.testing.assert_allclose(tail[1:] / tail[:-1], math.exp(-300 / 900), rtol=1e-3)


def test_no_fast_time_lets_it_through_at_once() -> None:
    found, _, _ = alone(gap_share=1.0, fast_time_s=0.0)
    np.testing.assert_allclose(found.storm_m3_s[0], storm() / 1000 * 37.8 / 300)


def test_downspouts_led_away_never_arrive() -> None:
    _, _, parts = alone(
        roof_area_m2=100.0, runoff_share=1.0, share_at_wall=0.2, share_to_drain=0.3,
        gutter_capacity_mm_h=500.0,
    )  # fmt: skip
    assert parts["led away by downspouts"] == pytest.approx(storm().sum() / 1000 * 100 * 0.5)


def test_backfill_drains_with_its_time_constant_and_runs_dry() -> None:
    # no loss to the native soil: a pure recession
    found, _, _ = alone(native_k_m_s=1e-15)
    tau = 0.17 * 2.1 / 4e-6
    tail = found.storm_m3_s[0, 60:]
    np.testing.assert_allclose(tail[1:] / tail[:-1], math.exp(-300 / tau), rtol=1e-6)
    # with loss it ends, within a step, and stays at nothing
    found, _, parts = alone(native_k_m_s=2e-6)
    assert found.storm_m3_s[0, 60] > 0
    assert not found.storm_m3_s[0, -50:].any()
    assert parts["still on the way"] == 0


def test_open_native_soil_takes_all() -> None:
    _, volume, parts = alone(native_k_m_s=1e-2)
    assert volume == 0
    assert parts["lost to the native soil"] == pytest.approx(parts["rain"] - parts["ran off"])


def test_ground_water_at_the_drain_takes_nothing() -> None:
    """What is not lost downwards comes to the pit, by the time that the store has run empty."""
    rain = np.concatenate([storm(), np.zeros(30 * 288)])
    reached = []
    for share in (1.0, 0.5, 0.1, 0.0):
        parts = storm_inflow(rain, 300.0, **(HOUSE | {"loss_share": share})).parts_m3
        reached.append(parts["reached the pit"][0])
        assert (parts["lost to the native soil"][0] == 0) == (share == 0)
    assert reached == sorted(reached) and reached[-1] > 1.5 * reached[0]
    with pytest.raises(RangeError, match="loss_share"):
        storm_inflow(storm(), 300.0, **(HOUSE | {"loss_share": 1.1}))


def test_dry_backfill_takes_the_first_water() -> None:
    found, _, parts = alone(deficit_m=0.02)
    assert parts["taken up by dry backfill"] == pytest.approx(0.02 * 37.8)
    assert not found.storm_m3_s[0, : int(np.argmax(np.cumsum(storm()) > 20))].any()


def test_full_backfill_gives_no_more_than_it_can_lead() -> None:
    """Ten hours of 60 mm/h: the store fills, and the rest must stay outside."""
    house = HOUSE | NOTHING | {"backfill_moisture_deficit": 0.4, "drain_depth_m": 0.5}
    found = storm_inflow(np.full(120, 5.0), 300.0, **house)
    top = house["backfill_k_m_s"] * 37.8
    assert found.storm_m3_s.max() == pytest.approx(top, rel=1e-6)
    assert found.parts_m3["still on the way"][0] == pytest.approx(0.17 * 0.5 * 37.8, rel=1e-6)


def test_what_arrived_is_what_the_areas_say() -> None:
    found = storm_inflow(storm(), 300.0, **(HOUSE | {"runon_area_m2": 0.0}), rain_factor=1.2)
    area = 42 * 0.9 + 130 * 0.9 + 1.5
    assert found.parts_m3["rain"][0] == pytest.approx(1.2 * storm().sum() / 1000 * area)
    assert tuple(found.parts_m3) == PARTS
    reached = found.parts_m3["reached the pit"][0]
    assert reached == pytest.approx(found.storm_m3_s.sum() * 300)


# --- the ways of giving arguments -----------------------------------------------------------------


def test_draws_threads_and_rows_do_not_change_an_answer() -> None:
    gap = np.linspace(0, 0.3, 500)
    rain = storm()
    many = storm_inflow(rain, 300.0, **(HOUSE | {"gap_share": gap}), threads=1)
    split = storm_inflow(rain, 300.0, **(HOUSE | {"gap_share": gap}), threads=3)
    rows = storm_inflow(np.tile(rain, (500, 1)), 300.0, **(HOUSE | {"gap_share": gap}))
    np.testing.assert_array_equal(many.storm_m3_s, split.storm_m3_s)
    np.testing.assert_array_equal(many.storm_m3_s, rows.storm_m3_s)
    one = storm_inflow(rain, 300.0, **(HOUSE | {"gap_share": gap[137]}))
    np.testing.assert_array_equal(many.storm_m3_s[137], one.storm_m3_s[0])


def test_read_only_arguments_are_welcome() -> None:
    rain, gap = storm(), np.array([0.1, 0.2])
    rain.flags.writeable = gap.flags.writeable = False
    assert storm_inflow(rain, 300.0, **(HOUSE | {"gap_share": gap})).storm_m3_s.shape == (2, 288)


def test_no_rain_gives_nothing() -> None:
    found = storm_inflow(np.zeros(10), 300.0, **HOUSE)
    assert not found.storm_m3_s.any()


@pytest.mark.parametrize(
    ("changes", "names"),
    [
        ({"perimeter_m": 0.0}, "perimeter_m"),
        ({"backfill_k_m_s": [1e-6, 0.0]}, "backfill_k_m_s"),
        ({"gap_share": 1.4}, "gap_share"),
        ({"well_area_m2": -1.0}, "well_area_m2"),
        ({"deficit_m": np.nan}, "deficit_m"),
        ({"share_at_wall": 0.8, "share_to_drain": 0.3}, "more than 1 together"),
        ({"gap_share": [0.1, 0.2], "deficit_m": [0.0, 0.0, 0.0]}, "draws"),
        ({"gap_share": [[0.1]]}, "draws"),
    ],
)
def test_what_cannot_be_is_refused_by_name(changes, names) -> None:
    with pytest.raises(RangeError, match=names):
        storm_inflow(storm(), 300.0, **(HOUSE | changes))


@pytest.mark.parametrize(("rain", "step"), [([-1.0], 60.0), ([np.nan], 60.0), ([], 60.0), ([1], 0)])
def test_rain_that_cannot_be_is_refused(rain, step) -> None:
    with pytest.raises(RangeError):
        storm_inflow(rain, step, **HOUSE)


def test_water_that_does_not_add_up_is_an_error() -> None:
    parts = np.array([[1.0, 0.5, 0.5, 0, 0, 0, 0], [1.0, 0.5, 0.4999, 0, 0, 0, 0]])
    with pytest.raises(BalanceError, match="draw 1 does not add up"):
        total._check_balance(parts)
    parts[1, 2] = np.nan
    with pytest.raises(BalanceError):
        total._check_balance(parts)
