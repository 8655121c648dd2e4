"""Storm water at the wall: against a slow twin and small Euler steps, by hand, and at its ends."""

import math
from itertools import pairwise

import numpy as np
import pytest
from scipy.integrate import solve_ivp
from scipy.optimize import brentq

from riskkit.errors import BalanceError, RangeError
from riskkit.inflow import wall
from riskkit.inflow.wall import PARTS, WallModel, WallWater, wall_water

HOUSE = {
    "perimeter_m": 42.0,
    "fill_width_m": 0.9,
    "roof_area_m2": 130.0,
    "runoff_share": 0.9,
    "gutter_capacity_mm_h": 80.0,
    "share_at_wall": 0.33,
    "share_to_drain": 0.05,
    "well_area_m2": 1.5,
    "gap_share": 0.07,
    "ponding_time_s": 3600.0,
    "gap_time_s": 400.0,
    "ponding_depth_m": 0.012,
    "fill_k_m_s": 4e-6,
    "fill_suction_m": 0.1668,
    "fill_moisture_deficit": 0.15,
    "fill_deficit_m": 0.01,
    "fill_storage_m": 0.357,
    "fill_time_s": 4e4,
    "fill_water_m": 0.02,
    "lot_area_m2": 250.0,
    "runon_area_m2": 60.0,
    "lot_k_m_s": 6e-7,
    "lot_suction_m": 0.1668,
    "lot_moisture_deficit": 0.15,
    "lot_deficit_m": 0.006,
    "lot_storage_m": 0.2,
    "lot_time_s": 2e5,
    "lot_water_m": 0.004,
}
# the strip alone, dry but without a deficit: no roof, wells, gap or pond, and a lot apart from it
NOTHING = dict.fromkeys(
    ("roof_area_m2", "well_area_m2", "runon_area_m2", "gap_share", "ponding_depth_m",
     "fill_deficit_m", "fill_water_m", "lot_deficit_m", "lot_water_m"),
    0.0,
)  # fmt: skip
TIGHT = {"fill_k_m_s": 1e-12, "fill_moisture_deficit": 0.0}  # nothing goes into the fill
STRIP_M2 = 42 * 0.9


def storm(seed: int = 0, wet: int = 48, dry: int = 240) -> np.ndarray:
    """Bursts up to about 140 mm/h, then dry steps, 5 min each [mm]."""
    rain = np.random.default_rng(seed).gamma(0.35, 4.0, wet)
    return np.concatenate([rain, np.zeros(dry)])


def run(rain, step=300.0, *, factor=1.0, threads=None, **changes) -> WallWater:
    model = WallModel(**{k: np.atleast_1d(v) for k, v in (HOUSE | changes).items()})
    return wall_water(rain, step, model, factor, threads)


# --- a slow, obvious twin -------------------------------------------------------------------------


def twin_time(start, end, k, s):
    return (end - start - s * math.log((end + s) / (start + s))) / k if s else (end - start) / k


def twin_depth(start, time, k, s):
    c = k * time
    high = start + c + math.sqrt(c * c + 2 * s * c) + 1e-15
    return brentq(lambda f: twin_time(start, f, k, s) - time, start, high, xtol=1e-17, rtol=1e-14)


def twin_infiltrate(depth, pond, rate, left, k, s):
    """Follow one step from event to event, each found by root search; what stands is not shed."""
    taken = 0.0
    while left > 1e-9:
        ponds_at = k * s / (rate - k) if rate > k else math.inf
        if pond > 1e-13 or depth >= ponds_at:
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
            pond = max(0.0, pond + rate * end - gain) if end == left else 0.0
        else:
            end = min(left, (ponds_at - depth) / rate if rate > 0 else left)
            gain = rate * end
            if end < left:
                gain = ponds_at - depth
        depth, taken, left = depth + gain, taken + gain, left - end
        if rate == 0 and pond == 0:
            break
    return taken, pond


def twin_store(soaked, deficit, store, tau, step):
    """Deficit, store and what left it in a step: the deficit is met first."""
    held = min(soaked, deficit)
    left, out = step, 0.0
    if 0 < held < soaked:
        wait = step * held / soaked
        out, store, left = store * (1 - math.exp(-wait / tau)), store * math.exp(-wait / tau), (
            step - wait
        )  # fmt: skip
    rate = (soaked - held) / left
    level = rate * tau
    end = level + (store - level) * math.exp(-left / tau)
    return deficit - held, end, out + store + rate * left - end


def twin_most(soaked, deficit, room, store, tau, step):
    """What full ground takes of it: that with which the store is just full at the end."""

    def over(x):
        return twin_store(x, deficit, store, tau, step)[1] - room

    return soaked if over(soaked) <= 0 else brentq(over, 0.0, soaked, xtol=1e-16, rtol=1e-14)


def twin_ponding(pond, rate, step, leak_s, most):
    """What stands at the end and what leaked, by a library: it fills, stays full, or runs dry."""
    if most == 0 or (pond == 0 and rate <= 0):
        return 0.0, 0.0

    def flows(_t, y):
        return [rate - y[0] / leak_s, y[0] / leak_s]

    def full(_t, y):
        return y[0] - most

    def dry(_t, y):
        return y[0]

    full.terminal = dry.terminal = True
    full.direction, dry.direction = 1, -1
    if pond >= most and rate > most / leak_s:
        return most, most / leak_s * step
    done = solve_ivp(flows, (0, step), [pond, 0.0], events=[full, dry], rtol=1e-12, atol=1e-16)
    leaked = done.y[1, -1]
    if done.t_events[0].size:
        return most, leaked + most / leak_s * (step - done.t[-1])
    return max(done.y[0, -1], 0.0), leaked


def twin(rain_mm, step, h):
    area = h["perimeter_m"] * h["fill_width_m"]
    roof = h["roof_area_m2"] * h["runoff_share"]
    k, s = h["fill_k_m_s"], h["fill_suction_m"] * h["fill_moisture_deficit"]
    kn, sn = h["lot_k_m_s"], h["lot_suction_m"] * h["lot_moisture_deficit"]
    tau, lot_tau = h["fill_time_s"], h["lot_time_s"]
    deficit, store, lot_deficit, lot_store = (
        h[key] for key in ("fill_deficit_m", "fill_water_m", "lot_deficit_m", "lot_water_m")
    )
    depth = lot = pond = fast = 0.0
    flows, recharges = [], []
    for r in rain_mm:
        rain = r / 1000
        carried = min(rain, h["gutter_capacity_mm_h"] / 3.6e6 * step)
        lot_soaked, _ = twin_infiltrate(lot, 0.0, rain / step, step, kn, sn)
        lot_soaked = twin_most(
            lot_soaked, lot_deficit, h["lot_storage_m"], lot_store, lot_tau, step
        )
        lot += lot_soaked
        water = (
            rain * area
            + carried * roof * h["share_at_wall"]
            + (rain - carried) * roof
            + (rain - lot_soaked) * h["runon_area_m2"]
        )
        supply = (1 - h["gap_share"]) * water / area
        soaked, _ = twin_infiltrate(depth, pond, supply / step, step, k, s)
        soaked = twin_most(soaked, deficit, h["fill_storage_m"], store, tau, step)
        was, rate = pond, (supply - soaked) / step
        pond, leaked = twin_ponding(was, rate, step, h["ponding_time_s"], h["ponding_depth_m"])
        # where the ponded water ran dry the ground took less than it could
        soaked = min(soaked, was + supply - leaked)
        depth += soaked
        quick = rain * h["well_area_m2"] + carried * roof * h["share_to_drain"]
        quick += h["gap_share"] * water + leaked * area
        deficit, store, out = twin_store(soaked, deficit, store, tau, step)
        lot_deficit, lot_store, down = twin_store(lot_soaked, lot_deficit, lot_store, lot_tau, step)
        end = fast * math.exp(-step / h["gap_time_s"])
        end += quick / step * h["gap_time_s"] * (1 - math.exp(-step / h["gap_time_s"]))
        flows.append((fast + quick - end + out * area) / step)
        recharges.append(down * h["lot_area_m2"] / step)
        fast = end
    return np.array(flows), np.array(recharges)


CASES = {
    "silt loam": {},
    "clay": {
        "fill_k_m_s": 3e-7, "lot_k_m_s": 8e-8, "fill_suction_m": 0.3163, "fill_storage_m": 0.17,
        "fill_time_s": 5e5, "lot_time_s": 2e6, "ponding_depth_m": 0.004,
    },
    "sand": {
        "fill_k_m_s": 5e-5, "lot_k_m_s": 1e-5, "fill_time_s": 7e3, "fill_suction_m": 0.0495,
        "fill_deficit_m": 0.0,
    },
    "ground falls in": {"ponding_depth_m": 0.05, "runon_area_m2": 200.0},
    "no gutters, no gap": {"gutter_capacity_mm_h": 0.0, "gap_share": 0.0, "fill_k_m_s": 1e-5},
    "saturated": {"fill_moisture_deficit": 0.0, "lot_moisture_deficit": 0.0},
    "fill nearly full": {"fill_water_m": 0.04, "fill_storage_m": 0.05, "fill_deficit_m": 0.0},
    "lot nearly full": {"lot_water_m": 0.03, "lot_storage_m": 0.032, "lot_deficit_m": 0.0},
}  # fmt: skip


@pytest.mark.parametrize("case", CASES)
def test_equals_the_slow_twin(case) -> None:
    found = run(storm(), **CASES[case])
    footing, recharge = twin(storm(), 300.0, HOUSE | CASES[case])
    np.testing.assert_allclose(found.footing_m3_s[0], footing, atol=1e-9 * footing.max())
    np.testing.assert_allclose(found.recharge_m3_s[0], recharge, atol=1e-9 * recharge.max())
    assert 1e-4 < footing.max() < 1e-2  # litres per second: the scale of a house


def euler(rain_mm, step, h, dt):
    """All stores in small forward steps; what the closed forms must come to."""
    area = h["perimeter_m"] * h["fill_width_m"]
    roof = h["roof_area_m2"] * h["runoff_share"]
    k, s = h["fill_k_m_s"], h["fill_suction_m"] * h["fill_moisture_deficit"]
    kn, sn = h["lot_k_m_s"], h["lot_suction_m"] * h["lot_moisture_deficit"]
    deficit, store, lot_deficit, lot_store = (
        h[key] for key in ("fill_deficit_m", "fill_water_m", "lot_deficit_m", "lot_water_m")
    )
    depth, lot, pond, fast = 1e-7, 1e-7, 0.0, 0.0
    flows, recharges = [], []
    for r in rain_mm:
        flow = down = 0.0
        i = r / 1000 / step
        carried = min(i, h["gutter_capacity_mm_h"] / 3.6e6)
        for _ in range(round(step / dt)):
            soak = min(i, kn * (1 + sn / lot))
            out = lot_store / h["lot_time_s"]
            if lot_deficit <= 0 and lot_store >= h["lot_storage_m"]:
                soak = min(soak, out)
            lot += soak * dt
            held = min(soak * dt, lot_deficit)
            lot_deficit -= held
            lot_store += (soak - out) * dt - held
            down += out * dt * h["lot_area_m2"]
            water = i * area + roof * (carried * h["share_at_wall"] + i - carried)
            water += h["runon_area_m2"] * (i - soak)
            quick = i * h["well_area_m2"] + carried * roof * h["share_to_drain"]
            quick += h["gap_share"] * water
            pond += (1 - h["gap_share"]) * water / area * dt
            out = store / h["fill_time_s"] * dt
            take = min(pond, k * (1 + s / depth) * dt)
            if deficit <= 0 and store >= h["fill_storage_m"]:
                take = min(take, out)
            depth += take
            pond -= take
            leak = pond / h["ponding_time_s"] * dt
            quick += leak * area / dt
            pond = min(pond - leak, h["ponding_depth_m"])
            held = min(take, deficit)
            deficit -= held
            store += take - held - out
            leave = fast / h["gap_time_s"] * dt
            fast += quick * dt - leave
            flow += leave + out * area
        flows.append(flow / step)
        recharges.append(down / step)
    return np.array(flows), np.array(recharges)


@pytest.mark.parametrize("case", ["silt loam", "clay", "ground falls in", "fill nearly full"])
def test_small_euler_steps_come_to_the_same(case) -> None:
    rain = storm(wet=24, dry=40)
    # short steps, so that taking infiltration as even within a step does not show
    fine = run(np.repeat(rain / 40, 40), 7.5, **CASES[case])
    slow = euler(rain, 300.0, HOUSE | CASES[case], 2.0)
    for found, expected in zip((fine.footing_m3_s, fine.recharge_m3_s), slow, strict=True):
        mean = found.reshape(rain.size, 40).mean(axis=1)
        assert mean.max() == pytest.approx(expected.max(), rel=0.004)
        assert mean.sum() == pytest.approx(expected.sum(), rel=0.004)
        np.testing.assert_allclose(mean, expected, atol=0.01 * expected.max())


@pytest.mark.parametrize("case", CASES)
def test_halving_the_step_converges(case) -> None:
    rain = storm(seed=2)

    def flows(parts):
        found = run(np.repeat(rain / parts, parts), 300.0 / parts, **CASES[case]).footing_m3_s
        return found.reshape(rain.size, parts).mean(axis=1)

    exact, coarse = flows(128), flows(1)
    assert coarse.sum() == pytest.approx(exact.sum(), rel=0.01)
    assert coarse.max() == pytest.approx(exact.max(), rel=0.05)
    errors = [np.abs(flows(parts) - exact).max() / exact.max() for parts in (4, 8, 16, 32)]
    assert errors[0] < 0.03
    for long, short in pairwise(errors):
        assert short < 0.6 * long


# --- one way at a time ----------------------------------------------------------------------------


def alone(**changes):
    found = run(storm(), **(NOTHING | changes))
    return (
        found, found.footing_m3_s.sum() * 300.0, {k: v[0] for k, v in found.parts_m3.items()},
    )  # fmt: skip


def test_wells_send_all_their_rain_to_the_footing() -> None:
    _, volume, parts = alone(well_area_m2=10.0, **TIGHT)
    assert volume == pytest.approx(storm().sum() / 1000 * 10, rel=1e-4)
    shed = parts["ran off"] - storm().sum() / 1000 * STRIP_M2
    on_lot = storm().sum() / 1000 * 250
    soaked = parts["reached the water table of the lot"] + parts["still on the way"]
    assert shed == pytest.approx(on_lot - soaked, rel=1e-4)


def test_gap_water_has_the_time_constant() -> None:
    found, _, _ = alone(well_area_m2=10.0, gap_time_s=900.0, **TIGHT)
    tail = found.footing_m3_s[0, 60:80]
    np.testing.assert_allclose(tail[1:] / tail[:-1], math.exp(-300 / 900), rtol=1e-3)


def test_no_gap_time_lets_it_through_at_once() -> None:
    found, _, _ = alone(gap_share=1.0, gap_time_s=0.0)
    np.testing.assert_allclose(found.footing_m3_s[0], storm() / 1000 * STRIP_M2 / 300)


def test_without_a_gap_nothing_passes_a_tight_fill() -> None:
    """Ponded water drains down the gap; where none can pond or meets the gap, nothing passes."""
    found, volume, parts = alone(**TIGHT)
    assert volume == pytest.approx(0.0, abs=1e-6)
    ponded, more, _ = alone(ponding_depth_m=0.01, **TIGHT)
    assert more > 0.05 and ponded.footing_m3_s.max() > 1e3 * found.footing_m3_s.max()
    assert parts["arrived"] == pytest.approx(storm().sum() / 1000 * (STRIP_M2 + 250))


def test_ponded_water_by_hand() -> None:
    """25 mm in one step on tight ground: 10 stand and leave with a constant of an hour."""
    rain = np.zeros(48)
    rain[0] = 25.0
    found = run(rain, **(NOTHING | TIGHT | {"ponding_depth_m": 0.01, "gap_time_s": 0.0}))
    # 25 mm / 300 s x 3600 s = 300 mm: p = 300 mm (1 - exp(-t/h)) is 10 mm after
    # -3600 s x ln(1 - 10/300) = 122.05 s, in which 10.171 mm came: 0.171 mm leaked; in the other
    # 177.95 s leak 10 mm / 3600 s, so 0.665 mm in all
    first = 0.025 / 300 * 122.0456 - 0.010 + 0.010 / 3600 * (300 - 122.0456)
    kept = 0.010 * math.exp(-300 / 3600) ** np.arange(48)
    by_hand = (first + 0.010 - kept) * STRIP_M2
    np.testing.assert_allclose(np.cumsum(found.footing_m3_s[0]) * 300, by_hand, rtol=1e-5)
    lot = found.parts_m3["reached the water table of the lot"][0] + found.tail_m3[0, -1]
    ran_off = (0.015 - first) * STRIP_M2 + 0.025 * 250 - lot
    assert found.parts_m3["ran off"][0] == pytest.approx(ran_off, rel=1e-5)


@pytest.mark.parametrize(
    ("at_wall", "to_drain"), [(0.2, 0.3), (0.0, 1.0), (0.0, 0.0), (1.0, 0.0), (0.4, 0.6)]
)
def test_downspouts(at_wall: float, to_drain: float) -> None:
    """Tied to the drain all of it arrives at once, led away nothing, at the wall it meets a gap."""
    found, volume, parts = alone(
        roof_area_m2=100.0, runoff_share=1.0, share_at_wall=at_wall, share_to_drain=to_drain,
        gutter_capacity_mm_h=500.0, gap_share=0.5, gap_time_s=0.0, **TIGHT,
    )  # fmt: skip
    roof = storm().sum() / 1000 * 100
    assert parts["led away by downspouts"] == pytest.approx(roof * (1 - at_wall - to_drain))
    through = roof * to_drain + 0.5 * (roof * at_wall + storm().sum() / 1000 * STRIP_M2)
    assert volume == pytest.approx(through, rel=1e-6)
    np.testing.assert_allclose(found.footing_m3_s[0], storm() / storm().sum() * through / 300,
                               atol=1e-9)  # fmt: skip


def test_what_the_gutters_do_not_carry_falls_at_the_wall() -> None:
    """5 mm in 5 min are 60 mm/h: of each millimetre gutters for 15 mm/h spill three quarters."""
    found = run(
        np.full(4, 5.0), gutter_capacity_mm_h=15.0, share_at_wall=0.0, share_to_drain=0.0,
        **(NOTHING | TIGHT | {"roof_area_m2": 100.0, "runoff_share": 1.0, "gap_share": 1.0,
                              "gap_time_s": 0.0}),
    )  # fmt: skip
    by_hand = 0.005 * (0.75 * 100 + STRIP_M2) / 300
    np.testing.assert_allclose(found.footing_m3_s[0], by_hand, rtol=1e-9)
    assert found.parts_m3["led away by downspouts"][0] == pytest.approx(0.020 * 0.25 * 100)


def test_fill_and_lot_drain_with_their_time_constants() -> None:
    found, _, _ = alone()
    for flow, time in ((found.footing_m3_s, 4e4), (found.recharge_m3_s, 2e5)):
        tail = flow[0, 60:]
        np.testing.assert_allclose(tail[1:] / tail[:-1], math.exp(-300 / time), rtol=1e-6)


def test_water_of_the_days_before_comes_without_rain() -> None:
    found = run(np.zeros(10))
    fill, lot = 0.02 * STRIP_M2, 0.004 * 250
    by_hand = fill * -np.diff(np.exp(-np.arange(11) * 300 / 4e4)) / 300
    np.testing.assert_allclose(found.footing_m3_s[0], by_hand)
    by_hand = lot * -np.diff(np.exp(-np.arange(11) * 300 / 2e5)) / 300
    np.testing.assert_allclose(found.recharge_m3_s[0], by_hand)
    assert found.parts_m3["arrived"][0] == pytest.approx(fill + lot)


def test_dry_ground_takes_the_first_water() -> None:
    found, _, parts = alone(fill_deficit_m=0.02, lot_deficit_m=0.015)
    assert parts["taken up by dry fill"] == pytest.approx(0.02 * STRIP_M2)
    assert parts["taken up by the dry lot"] == pytest.approx(0.015 * 250)
    assert not found.footing_m3_s[0, : int(np.argmax(np.cumsum(storm()) > 20))].any()
    assert not found.recharge_m3_s[0, : int(np.argmax(np.cumsum(storm()) > 15))].any()


def test_full_ground_takes_no_more_than_it_hands_on() -> None:
    """Ten hours of 60 mm/h: both stores fill, and the rest must stay outside."""
    full = {"fill_moisture_deficit": 0.4, "fill_storage_m": 0.085, "fill_time_s": 2.5e4,
            "lot_k_m_s": 1e-4, "lot_storage_m": 0.1, "lot_time_s": 1e5}  # fmt: skip
    found = run(np.full(120, 5.0), **(NOTHING | full))
    fill, lot = 0.085 * STRIP_M2, 0.1 * 250
    assert found.footing_m3_s.max() == pytest.approx(fill / 2.5e4, rel=1e-6)
    assert found.recharge_m3_s.max() == pytest.approx(lot / 1e5, rel=1e-6)
    assert found.tail_m3[0, -2:] == pytest.approx([fill, lot], rel=1e-6)
    assert found.parts_m3["still on the way"][0] == pytest.approx(fill + lot, rel=1e-6)


def test_a_full_lot_sheds_towards_the_house() -> None:
    """With all its ground full the lot's rain runs to the wall by the area that falls there."""
    full = {"lot_k_m_s": 1e-4, "lot_storage_m": 1e-3, "lot_water_m": 1e-3, "lot_time_s": 1e12,
            "runon_area_m2": 60.0, "gap_share": 1.0, "gap_time_s": 0.0}  # fmt: skip
    found = run(np.full(6, 2.0), **(NOTHING | full))
    np.testing.assert_allclose(found.footing_m3_s[0], 0.002 * (STRIP_M2 + 60) / 300, rtol=1e-6)
    assert found.parts_m3["ran off"][0] == pytest.approx(6 * 0.002 * (250 - 60), rel=1e-6)


def test_what_arrived_is_what_the_areas_say() -> None:
    found = run(storm(), factor=1.2)
    area = STRIP_M2 + 130 * 0.9 + 1.5 + 250
    before = 0.02 * STRIP_M2 + 0.004 * 250
    assert found.parts_m3["arrived"][0] == pytest.approx(1.2 * storm().sum() / 1000 * area + before)
    assert tuple(found.parts_m3) == PARTS
    reached = found.parts_m3["reached the footing"][0]
    assert reached == pytest.approx(found.footing_m3_s.sum() * 300)
    reached = found.parts_m3["reached the water table of the lot"][0]
    assert reached == pytest.approx(found.recharge_m3_s.sum() * 300)


@pytest.mark.parametrize("case", CASES)
@pytest.mark.parametrize("dry", [0, 240])
def test_what_is_on_its_way_at_the_end_comes_later(case, dry) -> None:
    """Nothing of what the parts call on its way is forgotten, also where ponded water stands."""
    found = run(storm(dry=dry), **CASES[case])
    assert found.tail_m3.sum() == pytest.approx(found.parts_m3["still on the way"][0], rel=1e-9)
    assert found.tail_m3.shape == found.tail_s.shape and (found.tail_s > 0).all()
    # and it comes as it would have: with the steps going on, the same within the day
    more = run(np.concatenate([storm(dry=dry), np.zeros(288)]), **CASES[case])
    later = found.tail_m3[0] * -np.expm1(-288 * 300 / found.tail_s[0])
    for flow, comes in ((more.footing_m3_s, later[:-1]), (more.recharge_m3_s, later[-1:])):
        # but that some of ponded water goes into the fill, not down the gap
        came, noise = flow[0, -288:].sum() * 300, 1e-9 * comes.sum()
        assert comes.sum() - found.tail_m3[0, 1] - noise <= came <= comes.sum() + noise


# --- the ways of giving arguments -----------------------------------------------------------------


def test_draws_threads_and_rows_do_not_change_an_answer() -> None:
    gap = np.linspace(0, 0.3, 500)
    rain = storm()
    many = run(rain, gap_share=gap, threads=1)
    split = run(rain, gap_share=gap, threads=3)
    rows = run(np.tile(rain, (500, 1)), gap_share=gap)
    one = run(rain, gap_share=gap[137])
    for name in ("footing_m3_s", "recharge_m3_s", "tail_m3"):
        expected = getattr(many, name)
        np.testing.assert_array_equal(expected, getattr(split, name))
        np.testing.assert_array_equal(expected, getattr(rows, name))
        np.testing.assert_array_equal(expected[137], getattr(one, name)[0])


def test_read_only_arguments_are_welcome() -> None:
    rain, gap = storm(), np.array([0.1, 0.2])
    rain.flags.writeable = gap.flags.writeable = False
    assert run(rain, gap_share=gap).footing_m3_s.shape == (2, 288)


def test_no_rain_on_drained_ground_gives_nothing() -> None:
    found = run(np.zeros(10), **NOTHING)
    assert not found.footing_m3_s.any() and not found.recharge_m3_s.any()


@pytest.mark.parametrize(
    ("changes", "names"),
    [
        ({"perimeter_m": 0.0}, "perimeter_m"),
        ({"fill_k_m_s": [1e-6, 0.0]}, "fill_k_m_s"),
        ({"ponding_time_s": 0.0}, "ponding_time_s"),
        ({"gap_share": 1.4}, "gap_share"),
        ({"well_area_m2": -1.0}, "well_area_m2"),
        ({"fill_deficit_m": np.nan}, "fill_deficit_m"),
        ({"share_at_wall": 0.8, "share_to_drain": 0.3}, "more than 1 together"),
        ({"runon_area_m2": 251.0}, "more than the lot"),
        ({"gap_share": [0.1, 0.2], "fill_deficit_m": [0.0, 0.0, 0.0]}, "draws"),
        ({"gap_share": [[0.1]]}, "is a table"),
    ],
)
def test_what_cannot_be_is_refused_by_name(changes, names) -> None:
    with pytest.raises(RangeError, match=names):
        run(storm(), **changes)


@pytest.mark.parametrize(("rain", "step"), [([-1.0], 60.0), ([np.nan], 60.0), ([], 60.0), ([1], 0)])
def test_rain_that_cannot_be_is_refused(rain, step) -> None:
    with pytest.raises(RangeError):
        run(rain, step)


@pytest.mark.parametrize("factor", [-1.0, np.nan, [1.0, 1.0, 1.0]])
def test_factors_that_cannot_be_are_refused(factor) -> None:
    with pytest.raises(RangeError):
        run(storm(), factor=factor, gap_share=[0.1, 0.2])


def test_water_that_does_not_add_up_is_an_error() -> None:
    parts = np.array([[1.0, 0.5, 0.5, 0, 0, 0, 0, 0], [1.0, 0.5, 0.4999, 0, 0, 0, 0, 0]])
    with pytest.raises(BalanceError, match="draw 1 does not add up"):
        wall._check_balance(parts)
    parts[1, 2] = np.nan
    with pytest.raises(BalanceError):
        wall._check_balance(parts)
