"""What must hold for any home and any rain: balance, order, and steps."""

import numpy as np
from hypothesis import assume, given, settings
from hypothesis import strategies as st
from hypothesis.extra.numpy import arrays

from riskkit.inflow.infiltration import ponded_infiltration_m, unsteady_infiltration_m
from riskkit.inflow.seepage import dupuit_seepage_m3_s
from riskkit.inflow.total import storm_inflow

RAIN = arrays(
    float, st.integers(1, 40), elements=st.one_of(st.just(0.0), st.floats(1e-3, 25.0))
)  # fmt: skip


def log(low: float, high: float) -> st.SearchStrategy[float]:
    return st.floats(np.log(low), np.log(high)).map(lambda x: float(np.exp(x)))


SHARES = st.tuples(st.floats(0, 1), st.floats(0, 1)).map(lambda s: (s[0], s[1] * (1 - s[0])))
HOMES = st.fixed_dictionaries(
    {
        "perimeter_m": st.floats(10, 100),
        "backfill_width_m": st.floats(0.3, 2),
        "roof_area_m2": st.floats(0, 300),
        "runoff_share": st.floats(0.5, 1),
        "gutter_capacity_mm_h": st.floats(0, 300),
        "shares": SHARES,
        "well_area_m2": st.floats(0, 20),
        "runon_area_m2": st.floats(0, 300),
        "gap_share": st.floats(0, 1),
        "fast_time_s": st.floats(0, 3600),
        "ponding_depth_m": st.floats(0, 0.1),
        "backfill_k_m_s": log(1e-9, 1e-3),
        "backfill_suction_m": st.floats(0, 1.5),
        "backfill_moisture_deficit": st.floats(0, 0.45),
        "deficit_m": st.floats(0, 0.2),
        "drainable_porosity": st.floats(0.03, 0.4),
        "drain_depth_m": st.floats(0.3, 3),
        "native_k_m_s": log(1e-10, 1e-3),
        "native_suction_m": st.floats(0, 1.5),
        "native_moisture_deficit": st.floats(0, 0.45),
        "loss_share": st.floats(0, 1),
    }
)


def run(rain, home, step=300.0, dry=40, **changes):
    house = dict(home) | changes
    house["share_at_wall"], house["share_to_drain"] = house.pop("shares")
    return storm_inflow(np.concatenate([rain, np.zeros(dry)]), step, **house)


@given(rain=RAIN, home=HOMES, step=st.floats(10, 3600))
@settings(max_examples=300)
def test_water_is_neither_made_nor_lost(rain, home, step) -> None:
    found = run(rain, home, step)
    parts = {name: values[0] for name, values in found.parts_m3.items()}
    arrived = parts.pop("rain")
    assert abs(arrived - sum(parts.values())) <= 1e-9 * arrived
    assert all(value >= 0 for value in parts.values())
    assert np.isclose(found.storm_m3_s.sum() * step, parts["reached the pit"], rtol=1e-9)
    area = home["perimeter_m"] * home["backfill_width_m"] + home["well_area_m2"]
    roof = home["roof_area_m2"] * home["runoff_share"]
    depth = rain.sum() / 1000
    assert arrived >= depth * (area + roof) * (1 - 1e-9)
    assert arrived <= depth * (area + roof + home["runon_area_m2"]) * (1 + 1e-9)


@given(rain=RAIN, home=HOMES, factor=st.floats(1, 3))
@settings(max_examples=200)
def test_more_rain_never_brings_less_water_by_any_time(rain, home, factor) -> None:
    """The sum up to any moment, not each flow: water that came early is not there late."""
    less = np.cumsum(run(rain, home).storm_m3_s[0])
    more = np.cumsum(run(rain, home, rain_factor=factor).storm_m3_s[0])
    assert (more >= less - 1e-9 * less[-1] - 1e-15).all()


@given(
    rain=RAIN, home=HOMES, more=st.floats(0, 1), what=st.sampled_from(["well_area_m2", "wall"])
)  # fmt: skip
@settings(max_examples=150)
def test_more_area_or_roof_water_never_brings_less_by_any_time(rain, home, more, what) -> None:
    if what == "wall":
        at_wall, to_drain = home["shares"]
        change = {"shares": (at_wall + more * (1 - at_wall - to_drain), to_drain)}
    else:
        change = {what: home[what] + 10 * more}
    less = np.cumsum(run(rain, home).storm_m3_s[0])
    found = np.cumsum(run(rain, home, **change).storm_m3_s[0])
    assert (found >= less - 1e-9 * less[-1] - 1e-15).all()


@given(rain=RAIN, home=HOMES, more=st.floats(0, 1))
@settings(max_examples=200)
def test_a_larger_gap_never_brings_less_water_by_any_time(rain, home, more) -> None:
    """Water through the gap passes soil that may hold it, and comes sooner."""
    home = home | {"fast_time_s": 0.0}
    gap = home["gap_share"] + more * (1 - home["gap_share"])
    narrow = np.cumsum(run(rain, home).storm_m3_s[0])
    wide = np.cumsum(run(rain, home, gap_share=gap).storm_m3_s[0])
    assert (wide >= narrow - 1e-9 * narrow[-1] - 1e-15).all()


@given(rain=RAIN, home=HOMES)
@settings(max_examples=100)
def test_flow_stays_below_what_can_come(rain, home) -> None:
    """Never more than all the water of the heaviest step, and full backfill besides."""
    found = run(rain, home)
    strip = home["perimeter_m"] * home["backfill_width_m"]
    catch = strip + home["roof_area_m2"] + home["well_area_m2"] + home["runon_area_m2"]
    most = rain.max() / 1000 / 300 * catch + home["backfill_k_m_s"] * strip
    assert found.storm_m3_s.max() <= most * (1 + 1e-9)


@given(
    k=log(1e-9, 1e-3), sorption=st.floats(0, 0.6), start=st.floats(0, 1), time=log(1e-2, 1e7)
)  # fmt: skip
@settings(max_examples=300)
def test_ponded_infiltration_lies_between_its_bounds(k, sorption, start, time) -> None:
    gain = float(ponded_infiltration_m(k, sorption, 1.0, time, start)) - start
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
    water = rain / 1000
    whole, shed = unsteady_infiltration_m(water, 300.0, k, sorption, 1.0, pond)
    cut, cut_shed = unsteady_infiltration_m(
        np.repeat(water / parts, parts), 300.0 / parts, k, sorption, 1.0, pond
    )
    np.testing.assert_allclose(cut.sum(), whole.sum(), rtol=1e-8, atol=1e-12)
    np.testing.assert_allclose(cut_shed.sum(), shed.sum(), rtol=1e-8, atol=1e-10)


@given(
    k=log(1e-9, 1e-3), table=st.floats(-2, 5), reach=st.floats(1, 100), low=st.floats(-1, 5),
    high=st.floats(-1, 5),
)  # fmt: skip
def test_seepage_never_rises_with_the_level(k, table, reach, low, high) -> None:
    assume(low <= high)
    flow = dupuit_seepage_m3_s(40.0, k, table, [[low, high]], reach)[0]
    assert flow[0] >= flow[1] >= 0
