"""What must hold for any pit and any storm."""

from dataclasses import replace

import numpy as np
from hypothesis import given, settings
from hypothesis import strategies as st

from riskkit.pit import geometry as g
from riskkit.pit.balance import run_pit
from riskkit.pit.model import build_pit
from riskkit.pit.pump import curve_from_points, pump_head_m
from riskkit.records import PitInflow
from tests.pit.conftest import drain_slab, follow_alone

share = st.floats(0.0, 1.0)
flows = st.lists(st.floats(0.0, 3e-3), min_size=3, max_size=40)
NO_GROUND_WATER = {"seepage_m3_s": np.zeros(1)}  # at every level; it comes to the footing


@st.composite
def pits(draw, **changes):
    depth = draw(st.floats(0.45, 1.2))
    off = depth - draw(st.floats(0.02, 0.15))
    on = off - draw(st.floats(0.02, 0.2))
    alarm = on * draw(st.floats(0.2, 0.95))
    table_m, seep = draw(st.floats(-0.3, 1.0)), draw(st.floats(0.0, 4e-4))
    drain = draw(st.floats(0.0, 0.6))
    pump_m3_s = draw(st.floats(5e-4, 4e-3))
    one = np.ones(1)
    room = [
        *g.tapered_storage(depth * one, 0.5 * one, draw(st.floats(0.35, 0.5)) * one, 3),
        g.pump_body(depth * one, 0.005 * one, draw(st.floats(0.15, 0.4)) * one),
        drain_slab(drain, 0.1, 40.0, draw(share)),
        g.gravel_storage(0.1 * one, 0.1 * one, 90 * one, 0.37 * one, draw(share) * one),
        g.basement_storage(90 * one, 0.1 * one),
    ]
    values = {
        "pump_m3_s": lambda level: pump_m3_s * (1 + 0.1 * level),
        "seepage_m3_s": lambda level: seep * np.clip((table_m - level) / (table_m + 1.3), 0, None),
        "extra_depth_m": [-table_m * one],
        "return_share": draw(st.sampled_from([0.0, 0.1, 0.4])),
        "drainback_m3": draw(st.sampled_from([0.0, 1e-4, 0.004])),
    } | changes
    return build_pit(room, off * one, on * one, alarm * one, **values)


def storm(values) -> PitInflow:
    return PitInflow(np.array([values]), 300.0)


def not_later(a, b) -> bool:
    return bool(np.all(a <= b + 1e-6))


@settings(max_examples=300)
@given(pits(), flows)
def test_water_is_neither_made_nor_lost(pit, values) -> None:
    """The balance is checked inside; levels, counts and times hang together."""
    run = run_pit(pit, storm(values), keep_levels=True)
    assert run.balance_error[0] < 1e-9
    assert run.highest_level_m[0] >= run.level_m[0].max() - 1e-12
    assert run.run_time_s[0] <= len(values) * 300.0 + 1e-6
    assert (run.highest_level_m[0] >= 0) == bool(np.isfinite(run.flood_s[0]))
    assert run.alarm_s[0] <= run.flood_s[0]
    assert run.starts_per_hour[0] <= run.starts[0]
    alone = run_pit(pit, storm(values))
    assert alone.pumped_m3[0] == run.pumped_m3[0]


@settings(max_examples=200)
@given(pits(return_share=0.0, drainback_m3=0.0), flows, st.floats(1.0, 3.0))
def test_a_bigger_pump_is_never_worse(pit, values, factor) -> None:
    """By no more than where in its cycle it happens to be: the water between off and on."""
    bigger = replace(pit, pump_m3_s=pit.pump_m3_s * factor)
    a, b = (run_pit(p, storm(values), keep_levels=True) for p in (pit, bigger))
    volume = np.append(0.0, np.cumsum(np.diff(pit.level_m[0]) * pit.area_m2[0]))
    marks = np.interp([off_level(pit), on_level(pit)], pit.level_m[0], volume)
    held = [np.interp(run.level_m[0], pit.level_m[0], volume) for run in (a, b)]
    assert np.all(held[1] <= held[0] + (marks[1] - marks[0]) * (1 + 1e-9))
    # from a common start with both running, never sooner and never higher at all
    start = pit.level_m[:, pit.on_index[0]]
    most = float(pit.pump_m3_s.max())
    more = storm([most + value for value in values])
    a, b = (run_pit(p, more, start_level_m=start, keep_levels=True) for p in (pit, bigger))
    if b.starts[0] == 1:
        assert np.all(b.level_m <= a.level_m + 1e-9)
        assert not_later(a.flood_s, b.flood_s)
        assert not_later(a.alarm_s, b.alarm_s)


def off_level(pit) -> float:
    return float(pit.level_m[0, pit.off_index[0]])


def on_level(pit) -> float:
    return float(pit.level_m[0, pit.on_index[0]])


@settings(max_examples=150)
@given(pits(**NO_GROUND_WATER), flows, st.floats(0.0, 1e-3), st.floats(0.0, 1e-5))
def test_more_inflow_is_never_later(pit, values, more, steady) -> None:
    begin, after = np.arange(len(values)), np.array([600.0, 3600.0, 1e5])
    a, b = (
        follow_alone(pit, storm(flow), begin, after_s=after, steady_m3_s=steady)
        for flow in (values, [value + more for value in values])
    )
    assert not_later(b.rim_s, a.rim_s)
    assert np.all(b.level_m >= a.level_m - 1e-9)
    assert np.all(np.diff(a.level_m) >= -1e-12)


@settings(max_examples=150)
@given(pits(**NO_GROUND_WATER), flows, st.floats(0.0, 1e-5))
def test_the_flood_is_never_earlier_for_a_later_alarm(pit, values, steady) -> None:
    """Two courses of the level do not cross."""
    begin = np.arange(len(values))
    clock = follow_alone(pit, storm(values), begin, steady_m3_s=steady).rim_s[0] + begin * 300.0
    known = clock[np.isfinite(clock)]
    assert np.all(np.diff(known) >= -1e-6)
    # once never, always never
    assert np.all(np.isfinite(clock[: known.size]))


@settings(max_examples=100)
@given(pits(**NO_GROUND_WATER), flows, st.floats(0.05, 0.95))
def test_a_lower_alarm_never_warns_for_less_time(pit, values, part) -> None:
    """Alarm further below the floor: more minutes (or as many, where both are never)."""
    levels, area = pit.level_m[0], pit.area_m2[0]
    alarm, on = levels[pit.alarm_index[0]], on_level(pit)
    lower = on + part * (alarm - on)
    at = int(np.searchsorted(levels, lower))
    flow = [
        np.insert(q[0], at, np.interp(lower, levels, q[0]))
        for q in (pit.pump_m3_s, pit.seepage_m3_s)
    ]
    shift = {
        name: np.array([getattr(pit, name)[0] + (getattr(pit, name)[0] >= at)])
        for name in ("off_index", "on_index", "floor_index")
    }
    moved = replace(
        pit, level_m=np.insert(levels, at, lower)[None],
        area_m2=np.insert(area, at, area[at - 1])[None],
        pump_m3_s=flow[0][None], seepage_m3_s=flow[1][None], alarm_index=np.array([at]), **shift,
    )  # fmt: skip
    begin = np.arange(len(values))
    a, b = (follow_alone(one, storm(values), begin).rim_s for one in (pit, moved))
    assert not_later(a, b)


@settings(max_examples=100)
@given(pits(return_share=0.0), flows)
def test_halving_the_step_changes_nothing(pit, values) -> None:
    a = run_pit(pit, storm(values))
    b = run_pit(pit, PitInflow(np.repeat([values], 2, axis=1), 150.0))
    np.testing.assert_allclose(a.pumped_m3, b.pumped_m3, rtol=1e-7, atol=1e-9)
    np.testing.assert_allclose(a.highest_level_m, b.highest_level_m, atol=1e-9)


@settings(max_examples=100)
@given(
    st.lists(st.floats(1e-5, 1e-3), min_size=2, max_size=7),
    st.lists(st.floats(0.01, 3.0), min_size=7, max_size=7),
)
def test_any_pump_curve_passes_through_its_points(steps, drops) -> None:
    flow = np.cumsum(steps)
    head = 30.0 - np.cumsum(drops[: flow.size])
    curve = curve_from_points(flow, head)
    np.testing.assert_allclose(pump_head_m(curve, flow[None])[0], head, rtol=1e-7)
