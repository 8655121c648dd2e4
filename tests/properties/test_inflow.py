"""What must hold for any home and any rain: balance, order, and steps."""

import numpy as np
from hypothesis import assume, given, settings
from hypothesis import strategies as st
from hypothesis.extra.numpy import arrays

from riskkit.inflow.seepage import one_sided_m3_s
from riskkit.inflow.soils import sorption_m
from riskkit.inflow.wall import WallModel, wall_water
from tests.inflow.ground import ponded_m, soaked_m

RAIN = arrays(
    float, st.integers(1, 40), elements=st.one_of(st.just(0.0), st.floats(1e-3, 25.0))
)  # fmt: skip


def log(low: float, high: float) -> st.SearchStrategy[float]:
    return st.floats(np.log(low), np.log(high)).map(lambda x: float(np.exp(x)))


SHARES = st.tuples(st.floats(0, 1), st.floats(0, 1)).map(lambda s: (s[0], s[1] * (1 - s[0])))
HOMES = st.fixed_dictionaries(
    {
        "perimeter_m": st.floats(10, 100),
        "fill_width_m": st.floats(0.3, 2),
        "roof_area_m2": st.floats(0, 300),
        "runoff_share": st.floats(0.5, 1),
        "gutter_capacity_mm_h": st.floats(0, 300),
        "shares": SHARES,
        "well_area_m2": st.floats(0, 20),
        "gap_share": st.floats(0, 1),
        "ponding_time_s": log(60, 1e6),
        "gap_time_s": st.floats(0, 3600),
        "ponding_depth_m": st.floats(0, 0.1),
        "fill_k_m_s": log(1e-9, 1e-3),
        "fill_suction_m": st.floats(0, 1.5),
        "fill_moisture_deficit": st.floats(0, 0.45),
        "fill_deficit_m": st.floats(0, 0.2),
        "fill_storage_m": log(1e-3, 1),
        "fill_time_s": log(600, 1e7),
        "fill_full": st.floats(0, 1),
        "lot_area_m2": st.floats(10, 1000),
        "runon_share": st.floats(0, 1),
        "lot_k_m_s": log(1e-10, 1e-3),
        "lot_suction_m": st.floats(0, 1.5),
        "lot_moisture_deficit": st.floats(0, 0.45),
        "lot_deficit_m": st.floats(0, 0.2),
        "lot_storage_m": log(1e-3, 1),
        "lot_time_s": log(600, 1e8),
        "lot_full": st.floats(0, 1),
    }
)


def run(rain, home, step=300.0, dry=40, rain_factor=1.0, **changes):
    house = dict(home) | changes
    house["share_at_wall"], house["share_to_drain"] = house.pop("shares")
    house["runon_area_m2"] = house.pop("runon_share") * house["lot_area_m2"]
    house["fill_water_m"] = house.pop("fill_full") * house["fill_storage_m"]
    house["lot_water_m"] = house.pop("lot_full") * house["lot_storage_m"]
    model = WallModel(**{key: np.array([value]) for key, value in house.items()})
    return wall_water(np.concatenate([rain, np.zeros(dry)]), step, model, rain_factor)


def come(found) -> tuple[np.ndarray, np.ndarray]:
    """Water at the footing and at the water table by the end of each step, with what follows."""
    flows = (found.footing_m3_s[0], found.recharge_m3_s[0])
    later = (found.tail_m3[0, :-1].sum(), found.tail_m3[0, -1])
    return tuple(
        np.cumsum(np.append(flow * found.step_s, rest))
        for flow, rest in zip(flows, later, strict=True)
    )


def never_less(more, less) -> bool:
    noise = 1e-9 * less[-1] + 1e-12
    return bool((more >= less - noise).all())


@given(rain=RAIN, home=HOMES, step=st.floats(10, 3600))
@settings(max_examples=300)
def test_water_is_neither_made_nor_lost(rain, home, step) -> None:
    found = run(rain, home, step)
    parts = {name: values[0] for name, values in found.parts_m3.items()}
    arrived = parts.pop("arrived")
    assert abs(arrived - sum(parts.values())) <= 1e-9 * arrived
    assert all(value >= 0 for value in parts.values())
    assert np.isclose(found.footing_m3_s.sum() * step, parts["reached the footing"], rtol=1e-9)
    reached = parts["reached the water table of the lot"]
    assert np.isclose(found.recharge_m3_s.sum() * step, reached, rtol=1e-9)
    assert np.isclose(found.tail_m3.sum(), parts["still on the way"], rtol=1e-9)
    strip = home["perimeter_m"] * home["fill_width_m"]
    area = strip + home["well_area_m2"] + home["lot_area_m2"]
    roof = home["roof_area_m2"] * home["runoff_share"]
    before = home["fill_full"] * home["fill_storage_m"] * strip
    before += home["lot_full"] * home["lot_storage_m"] * home["lot_area_m2"]
    assert np.isclose(arrived, rain.sum() / 1000 * (area + roof) + before, rtol=1e-9)


@given(rain=RAIN, home=HOMES, factor=st.floats(1, 3))
@settings(max_examples=200)
def test_more_rain_never_brings_less_water_by_any_time(rain, home, factor) -> None:
    """The sum up to any moment, not each flow: water that came early is not there late."""
    for more, less in zip(
        come(run(rain, home, rain_factor=factor)), come(run(rain, home)), strict=True
    ):
        assert never_less(more, less)


@given(
    rain=RAIN, home=HOMES, more=st.floats(0, 1),
    what=st.sampled_from(["well_area_m2", "wall", "fill_full", "lot_full", "runon_share"]),
)  # fmt: skip
@settings(max_examples=250)
def test_more_water_from_somewhere_never_brings_less_by_any_time(rain, home, more, what) -> None:
    if what == "wall":
        at_wall, to_drain = home["shares"]
        change = {"shares": (at_wall + more * (1 - at_wall - to_drain), to_drain)}
    elif what == "well_area_m2":
        change = {what: home[what] + 10 * more}
    else:
        change = {what: home[what] + more * (1 - home[what])}
    for found, less in zip(come(run(rain, home, **change)), come(run(rain, home)), strict=True):
        assert never_less(found, less)


@given(rain=RAIN, home=HOMES, more=st.floats(0, 1))
@settings(max_examples=200)
def test_a_larger_gap_never_brings_less_water_by_any_time(rain, home, more) -> None:
    """Water through the gap passes soil that may hold it, and comes sooner."""
    home = home | {"gap_time_s": 0.0}
    gap = home["gap_share"] + more * (1 - home["gap_share"])
    narrow, _ = come(run(rain, home))
    wide, _ = come(run(rain, home, gap_share=gap))
    assert never_less(wide, narrow)


@given(rain=RAIN, home=HOMES, part=st.floats(0.01, 1))
@settings(max_examples=200)
def test_ponded_water_that_drains_faster_never_brings_less_water_by_any_time(
    rain, home, part
) -> None:
    home = home | {"gap_time_s": 0.0}
    slow, _ = come(run(rain, home))
    fast, _ = come(run(rain, home, ponding_time_s=part * home["ponding_time_s"]))
    assert never_less(fast, slow)


@given(rain=RAIN, home=HOMES)
@settings(max_examples=100)
def test_flow_stays_below_what_can_come(rain, home) -> None:
    """Never more than the water of the heaviest step, what is ponded, and what fill hands on."""
    found = run(rain, home)
    strip = home["perimeter_m"] * home["fill_width_m"]
    catch = strip + home["roof_area_m2"] + home["well_area_m2"]
    catch += home["runon_share"] * home["lot_area_m2"]
    most = rain.max() / 1000 / 300 * catch
    most += home["ponding_depth_m"] * strip / max(300.0, home["ponding_time_s"])
    most += home["fill_storage_m"] / home["fill_time_s"] * strip
    assert found.footing_m3_s.max() <= most * (1 + 1e-9)
    lot = home["lot_storage_m"] / home["lot_time_s"] * home["lot_area_m2"]
    assert found.recharge_m3_s.max() <= lot * (1 + 1e-9)


@given(
    k=log(1e-9, 1e-3), sorption=st.floats(0, 0.6), start=st.floats(0, 1), time=log(1e-2, 1e7)
)  # fmt: skip
@settings(max_examples=300)
def test_ponded_infiltration_lies_between_its_bounds(k, sorption, start, time) -> None:
    gain = float(ponded_m(k, float(sorption_m(sorption, 1.0)), time, start)) - start
    c = k * time
    noise = 1e-11 * (start + c) + 1e-16
    assert gain >= c - noise
    assert gain <= c + np.sqrt(c * c + 2 * sorption * c) + noise
    if start > 0 and sorption > 0:
        # the rate at the start, held, gives too much
        assert gain <= c * (1 + sorption / start) + noise


@given(
    rain=RAIN, k=log(1e-8, 1e-4), sorption=st.floats(0, 0.3), pond=st.floats(0, 0.05),
    parts=st.integers(2, 6),
)  # fmt: skip
@settings(max_examples=200)
def test_cutting_steps_changes_no_infiltration(rain, k, sorption, pond, parts) -> None:
    water, sorption = rain / 1000, float(sorption_m(sorption, 1.0))
    whole, shed = soaked_m(water, 300.0, k, sorption, pond)
    cut, cut_shed = soaked_m(np.repeat(water / parts, parts), 300.0 / parts, k, sorption, pond)
    np.testing.assert_allclose(cut.sum(), whole.sum(), rtol=1e-8, atol=1e-12)
    np.testing.assert_allclose(cut_shed.sum(), shed.sum(), rtol=1e-8, atol=1e-10)


@given(
    k=log(1e-9, 1e-3), table=st.floats(-2, 5), reach=st.floats(1, 100), low=st.floats(-1, 5),
    high=st.floats(-1, 5), below=st.floats(0, 10),
)  # fmt: skip
def test_seepage_never_rises_with_the_level(k, table, reach, low, high, below) -> None:
    assume(low <= high)
    flow = one_sided_m3_s(40.0, k, table, [[low, high]], reach, below)[0]
    assert flow[0] >= flow[1] >= 0
