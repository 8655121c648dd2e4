"""Fault trees against every combination of events, one by one."""

from __future__ import annotations

from collections.abc import Mapping
from itertools import product

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from riskkit.errors import InputError, RangeError
from riskkit.records import FloatArray
from riskkit.reliability import fault_tree as f
from riskkit.reliability.causes import cause_chances, causes, fault_rates_per_yr, pump_tree
from riskkit.reliability.hidden import mean_unavailability_missed
from riskkit.tables import load_sources
from tests.reliability.exact_tree import top_chance

AND, OR = f.GateKind.AND, f.GateKind.OR
EVENTS = "abcde"
PARTS = ("pump", "switch", "outlet", "backup", "alarm")
HOME = {
    "pump_worn": 0.08, "mains_out": 0.05, "generator_fails": 1.0, "second_pump_missing": 0.0,
    "second_pump_small": 0.0, "outlet_frozen": 0.004, "alarm_missing": 0.0,
    "nobody_hears": 0.3, "nobody_in_time": 0.3,
}  # fmt: skip


def chances_of(
    given: Mapping[str, FloatArray | float],
    tested_yr: Mapping[str, float],
    finds: float,
    shown: Mapping[str, float] | None = None,
    share: Mapping[str, FloatArray] | None = None,
) -> dict[str, FloatArray]:
    """Chances of all causes of parts that are tested every so many years."""
    hidden = {
        key: mean_unavailability_missed(
            rate, tested_yr[causes()[key].part], finds, (shown or {}).get(causes()[key].part, 0.0)
        )
        for key, rate in fault_rates_per_yr(share or {}).items()
        if causes()[key].part in tested_yr
    }
    return cause_chances(given, hidden, share or {})


def events_of(tree: f.FaultTree) -> set[str]:
    """Basic events: whatever feeds a gate and is none."""
    return {each for gate in tree.gates.values() for each in gate.inputs} - tree.gates.keys()


def happens(tree: f.FaultTree, name: str, happened: Mapping[str, bool]) -> bool:
    """Whether a gate or event happens, gate by gate: slow and plain."""
    if name not in tree.gates:
        return happened[name]
    below = [happens(tree, each, happened) for each in tree.gates[name].inputs]
    return all(below) if tree.gates[name].kind is AND else any(below)


def enumerated(tree: f.FaultTree, chances: Mapping[str, float]) -> float:
    events, total = sorted(events_of(tree)), 0.0
    for states in product((False, True), repeat=len(events)):
        happened = dict(zip(events, states, strict=True))
        if happens(tree, tree.top, happened):
            total += float(
                np.prod([chances[e] if s else 1 - chances[e] for e, s in happened.items()])
            )
    return total


@st.composite
def trees(draw: st.DrawFn) -> f.FaultTree:
    gates: dict[str, f.Gate] = {}
    names = ["g0", "g1", "g2", "g3"]
    for place, name in reversed(list(enumerate(names))):
        below = [*EVENTS, *names[place + 1 :]]
        inputs = draw(st.lists(st.sampled_from(below), min_size=1, max_size=4, unique=True))
        gates[name] = f.Gate(draw(st.sampled_from([AND, OR])), tuple(inputs))
    return f.FaultTree("g0", gates)


chances_of_events = st.fixed_dictionaries({event: st.floats(0.0, 1.0) for event in EVENTS})


def arrays(chances: Mapping[str, float]) -> dict[str, FloatArray]:
    return {event: np.array([chance]) for event, chance in chances.items()}


@given(trees(), chances_of_events)
def test_any_tree_is_as_likely_as_its_combinations(
    tree: f.FaultTree, chances: dict[str, float]
) -> None:
    sets, known = f.minimal_cut_sets(tree), arrays(chances)
    top = top_chance(sets, known)[0]
    assert top == pytest.approx(enumerated(tree, chances), abs=1e-12)
    each = [float(np.prod([chances[event] for event in one])) for one in sets]
    assert max(each) - 1e-12 <= top <= sum(each) + 1e-12


@given(trees())
def test_cut_sets_suffice_and_are_minimal(tree: f.FaultTree) -> None:
    events = events_of(tree)
    for one in f.minimal_cut_sets(tree):
        assert happens(tree, tree.top, {event: event in one for event in events})
        for left_out in one:
            less = one - {left_out}
            assert not happens(tree, tree.top, {event: event in less for event in events})


@given(trees(), chances_of_events, st.sampled_from(EVENTS), st.floats(0, 1))
def test_a_better_part_never_raises_the_chance(
    tree: f.FaultTree, chances: dict[str, float], event: str, share: float
) -> None:
    sets = f.minimal_cut_sets(tree)
    better = top_chance(sets, arrays({**chances, event: share * chances[event]}))
    assert better[0] <= top_chance(sets, arrays(chances))[0] + 1e-12


def test_the_tree_of_a_pump_by_hand() -> None:
    tree = pump_tree()
    assert events_of(tree) == set(causes())
    sets = f.minimal_cut_sets(tree)
    assert frozenset({"outlet_frozen", "nobody_hears"}) in sets  # the same cold for both pumps
    assert frozenset({"pump_worn", "second_pump_missing", "alarm_silent"}) in sets
    silent = frozenset(
        {"mains_out", "generator_fails", "second_pump_missing", "alarm_battery_dead"}
    )
    assert silent in sets  # one outage stops the pump and the alarm
    assert not any(silent < one for one in sets)
    # pumps: 8 causes of the first with 4 of the second, or ice in both outlets; each with 4
    # of no response; a dead alarm needs the outage, so it adds 4 sets with it and 1 with ice
    assert len(sets) == (8 * 4 + 1) * 4 + 4 + 1


def test_a_home_by_hand() -> None:
    """Without spread and tests: only the outage, no second pump, and nobody who hears it."""
    zero = dict.fromkeys(causes(), 0.0)
    home = {
        **zero,
        "mains_out": 0.1,
        "generator_fails": 1.0,
        "second_pump_missing": 1.0,
        "nobody_hears": 0.4,
    }
    home["alarm_battery_dead"] = 0.5
    found = top_chance(f.minimal_cut_sets(pump_tree()), arrays(home))[0]
    assert found == pytest.approx(0.1 * (1 - 0.6 * 0.5))


def test_the_tree_is_that_of_simulated_storms() -> None:
    rng, count = np.random.default_rng(3), 400_000
    chances = chances_of(HOME, dict.fromkeys(PARTS, 2.0), 0.8)
    happened = {event: rng.random(count) < chance for event, chance in chances.items()}

    def occurs(name: str) -> np.ndarray:
        gate = pump_tree().gates.get(name)
        if gate is None:
            return happened[name]
        below = np.array([occurs(each) for each in gate.inputs])
        return below.all(axis=0) if gate.kind is AND else below.any(axis=0)

    wanted = float(top_chance(f.minimal_cut_sets(pump_tree()), chances)[0])
    error = np.sqrt(wanted * (1 - wanted) / count)
    assert occurs("water_on_floor").mean() == pytest.approx(wanted, abs=4 * error)


def test_draws_are_worked_out_side_by_side() -> None:
    rng = np.random.default_rng(1)
    share = {key: 0.001 + 0.998 * rng.random(50) for key in causes()}
    sets = f.minimal_cut_sets(pump_tree())
    tested = dict.fromkeys(PARTS, 1.0)
    together = top_chance(sets, chances_of(HOME, tested, 0.8, share=share))
    assert together.shape == (50,)
    one = {key: place[7] for key, place in share.items()}
    alone = top_chance(sets, chances_of(HOME, tested, 0.8, share=one))
    assert together[7] == pytest.approx(alone[0])


@pytest.mark.parametrize("finds", [0.5, 1.0])
def test_more_tests_and_a_second_pump_never_hurt(finds: float) -> None:
    sets = f.minimal_cut_sets(pump_tree())
    intervals = (0.25, 0.5, 1.0, 2.0, 4.0, np.inf)

    def chance(years: float, **given: float) -> float:
        tested = dict.fromkeys(PARTS, years)
        return float(top_chance(sets, chances_of({**HOME, **given}, tested, finds))[0])

    rising = [chance(years) for years in intervals]
    assert rising == sorted(rising)
    assert all(chance(y) < chance(y, second_pump_missing=1.0) for y in intervals[:-1])
    assert all(chance(y) <= chance(y, alarm_missing=1.0) for y in intervals)


def test_use_shows_the_faults_of_its_part_only() -> None:
    never = dict.fromkeys(PARTS, np.inf)
    shown = chances_of(HOME, never, 0.8, {"pump": 10.0})
    plain = chances_of(HOME, never, 0.8)
    assert shown["switch_stuck"] == plain["switch_stuck"] == 1.0
    # rate 0.02 a year against 10 uses; 0.003 when called upon
    assert shown["pump_sudden"][0] == pytest.approx(1 - (1 - 0.003) * (10 / 10.02))


def test_words_and_basis_come_with_the_points() -> None:
    stuck = causes()["switch_stuck"].per_year
    assert stuck is not None
    assert (stuck.words, stuck.source) == ("The float or switch sticks.", "judgement")


def test_every_cause_has_a_basis_and_its_points_rise() -> None:
    for cause in causes().values():
        assert cause.source in load_sources()
        spreads = [each for each in (cause.on_demand, cause.per_year) if each is not None]
        assert bool(spreads) != bool(cause.given)
        for each in spreads:
            assert 0 < each.p05 < each.p50 < each.p95 < 1


def test_what_cannot_be_is_refused() -> None:
    with pytest.raises(RangeError, match="below itself"):
        f.FaultTree("a", {"a": f.Gate(OR, ("b",)), "b": f.Gate(OR, ("a",))})
    with pytest.raises(RangeError, match="no gate"):
        f.FaultTree("top", {})
    with pytest.raises(RangeError, match="no inputs"):
        f.FaultTree("top", {"top": f.Gate(OR, ())})
    with pytest.raises(InputError, match="pump_worn"):
        chances_of({}, {}, 0.8)
    with pytest.raises(InputError, match="lies hidden"):
        chances_of(HOME, {}, 0.8)
    with pytest.raises(RangeError, match="between 0 and 1"):
        chances_of(HOME, dict.fromkeys(PARTS, 1.0), 0.8, share={"pump_sudden": 1.0})
    with pytest.raises(RangeError, match="between 0 and 1"):
        chances_of(HOME, dict.fromkeys(PARTS, 1.0), 0.8, share={"pump_sudden": 0.0})
