"""States of parts in the pit: what still passes, when the pump starts, what counts as dead."""

from __future__ import annotations

import numpy as np
import pytest

import riskkit as rk
from riskkit.ensemble.draws import draw_homes, median_home
from riskkit.errors import InputError
from riskkit.failures.circumstances import Circumstances, in_service, reliability_inputs
from riskkit.failures.storms import water_key
from riskkit.home.home import Home
from riskkit.home.part_states import found_states, in_order
from riskkit.quantities.part_states import part_states, sound_option
from riskkit.risk.system_state import Effect, Fault, system_state
from riskkit.simulate import pump_flow_of

LEVELS = np.array([[-0.4, -0.2, 0.0]])


def flow(**told: str) -> np.ndarray:
    return pump_flow_of(median_home(Home().changed(**told)), LEVELS)


@pytest.mark.parametrize(
    ("key", "option", "share"),
    [
        ("pump__inlet", "clear", 1.0),
        ("pump__inlet", "partly clogged", 0.7),  # the middle of the table: one home stands there
        ("pump__inlet", "clogged", 0.15),
        ("pipe__outlet_opening", "partly blocked", 0.6),
    ],
)
def test_the_pump_carries_what_still_passes(key: str, option: str, share: float) -> None:
    assert flow(**{key: option}) == pytest.approx(share * flow())


def test_two_narrow_places_are_in_line() -> None:
    """What passes the inlet has to pass the outlet too: 0.7 of 0.6 is 0.42."""
    both = flow(pump__inlet="partly clogged", pipe__outlet_opening="partly blocked")
    assert both == pytest.approx(0.42 * flow())


def test_the_draws_have_the_points_of_the_table_and_move_nothing_else() -> None:
    sound = draw_homes(Home(), 256, 3)
    clogged = draw_homes(Home().changed(pump__inlet="partly clogged"), 256, 3)
    assert np.quantile(clogged["passing_share"], [0.05, 0.5, 0.95]) == pytest.approx(
        [0.4, 0.7, 0.9], abs=0.01
    )
    assert np.all(sound["passing_share"] == 1.0)
    for name, values in sound.values.items():
        if name != "passing_share":
            np.testing.assert_array_equal(clogged[name], values)


def test_a_float_that_starts_late_starts_higher_and_never_above_the_alarm() -> None:
    """Told 13 in and 6 in: 8 cm higher in the middle, and 1 cm below the alarm at most."""
    told = {"switch__on": "13 in, measured", "switch__alarm": "6 in, measured"}
    late = median_home(Home().changed(**told, switch__float="starts late"))
    assert late["on_depth_m"][0] == pytest.approx(13 * 0.0254 - 0.08)
    near = median_home(Home().changed(switch__on="7 in", switch__alarm="6 in",
                                      switch__float="starts late"))  # fmt: skip
    assert near["on_depth_m"][0] == pytest.approx(6 * 0.0254 + 0.01)


def test_a_worn_check_valve_lets_a_fifth_fall_back() -> None:
    shares = [
        float(median_home(Home().changed(pipe__check_valve=word))["drainback_share"][0])
        for word in ("works", "worn", "stuck open")
    ]
    assert shares == pytest.approx([0.002, 0.2, 0.9])


@pytest.mark.parametrize(
    ("key", "option", "fault", "cause"),
    [
        ("pipe__check_valve", "stuck shut", Fault.CHECK_VALVE_SHUT, "check_valve_fails"),
        ("pipe__outlet_opening", "blocked", Fault.OUTLET_BLOCKED, "outlet_blocked"),
        ("pipe__outlet_opening", "frozen", Fault.OUTLET_FROZEN, "outlet_frozen"),
        ("pump__air_lock", "yes", Fault.AIR_LOCKED, "air_locked"),
        ("switch__float", "stuck", Fault.FLOAT_STUCK, "switch_stuck"),
        ("switch__float", "caught", Fault.FLOAT_CAUGHT, "switch_stuck"),
    ],
)
def test_what_lifts_nothing_counts_as_dead_and_its_storms_are_run_sound(
    key: str, option: str, fault: Fault, cause: str
) -> None:
    sound = Home()
    broken = sound.changed(**{key: option})
    (finding,) = system_state(broken).findings
    assert finding.fault is fault and finding.effect is Effect.NO_PUMPING
    assert cause in reliability_inputs(broken, Circumstances()).certain
    said_sound = sound.changed(**{key: sound_option(key.replace("__", "."))})
    assert water_key(said_sound) == water_key(broken)
    assert system_state(in_service(broken)).findings == ()


def test_what_only_narrows_is_run_and_is_no_certain_cause() -> None:
    worn = Home().changed(
        pump__inlet="partly clogged", pipe__outlet_opening="partly blocked",
        switch__float="starts late",
    )  # fmt: skip
    assert system_state(worn).faults == {
        Fault.INLET_PARTLY_CLOGGED, Fault.OUTLET_PARTLY_BLOCKED, Fault.FLOAT_LATE
    }  # fmt: skip
    assert reliability_inputs(worn, Circumstances()).certain == frozenset()
    assert in_service(worn) is worn
    assert water_key(worn) != water_key(Home())


def test_a_check_of_a_visit_is_a_state_until_the_file_says_otherwise() -> None:
    visits = [
        {"date": "2026-03-01", "checks": {"inlet_clear": "no"}},
        {"date": "2026-04-01", "checks": {"float_free": "yes"}},
    ]
    found = Home().changed(visit=visits)
    assert [state.option for state in found_states(found)] == ["clogged"]
    assert median_home(found)["passing_share"][0] == pytest.approx(0.15)
    told = found.changed(pump__inlet="partly clogged")
    assert [state.option for state in found_states(told)] == ["partly clogged"]
    mended = Home().changed(
        visit=[*visits, {"date": "2026-05-01", "checks": {"inlet_clear": "yes"}}]
    )
    assert found_states(mended) == ()


def test_parts_are_put_in_order_by_their_fault() -> None:
    home = Home().changed(pump__inlet="clogged", switch__float="stuck")
    freed = in_order(home, {"float_stuck"})
    assert (freed.choice("switch.float"), freed.choice("pump.inlet")) == ("free", "clogged")


def test_every_fault_of_a_state_is_known_and_every_spread_rises() -> None:
    for options in part_states().values():
        assert not next(iter(options.values())).fault
        for state in options.values():
            if state.fault:
                Fault(state.fault)
            if state.spread is not None:
                assert 0 < state.spread.p05 < state.spread.p50 < state.spread.p95


def test_a_clogged_pump_carries_less_than_a_sound_one(demo_sites: object) -> None:
    """Worked by the answer: what keeps the floor dry with a sound pump fails behind a clog."""
    home = rk.load_home(f"{demo_sites}/split_level_on_clay.toml")
    few = rk.Settings(n_draws=32)
    shares = [
        home.changed(pump__inlet=word).assess(settings=few).storms[-1].pump_working.floor_dry_share
        for word in ("clear", "partly clogged", "clogged")
    ]
    assert shares[0] >= shares[1] >= shares[2]
    assert shares[2] < shares[0]


def test_a_word_that_is_no_state_is_refused_in_one_sentence() -> None:
    with pytest.raises(InputError, match="'stuck' is not a choice; it is \"clear\""):
        Home().changed(pipe__outlet_opening="stuck")
