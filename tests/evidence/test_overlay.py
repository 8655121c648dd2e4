"""What visits saw, laid over a home: what was put in comes out, conflicts are told."""

from __future__ import annotations

from dataclasses import dataclass
from pathlib import Path
from typing import Any

import numpy as np
import pytest

from riskkit.ensemble.draws import draw_homes, median_home
from riskkit.errors import InputError
from riskkit.evidence.overlay import (
    Doubt,
    home_as_seen,
    overlay_of,
    visit_overlay,
    without_visit,
)
from riskkit.evidence.pit_flows import MeasuredFlow
from riskkit.home.home import Home, load_home
from riskkit.home.samples import HomeSamples
from riskkit.home.saving import save_home
from riskkit.home.visits import Visit
from riskkit.quantities.components import Component
from riskkit.quantities.quantity import Basis
from riskkit.quantities.units import UnitSystem
from riskkit.report.visit_words import conflict_words, note_words
from riskkit.simulate import pump_flow_of, steady_inflow_of, storage_of

US = UnitSystem.US
GPM = 231 * 0.0254**3 / 60


@dataclass(frozen=True)
class Found:
    """A home as it is computed after a visit, and what is said of the visit."""

    home: Home
    inflow: MeasuredFlow | None
    pump_flow: MeasuredFlow | None
    plate_flow: MeasuredFlow | None
    entered: tuple[tuple[str, str], ...]
    remarks: tuple[str, ...]
    conflicts: tuple[str, ...]


def home_with_visit(home: Home, visit: Visit) -> Found:
    visited = home.changed(visit=[*(one for one in home.visit if one != visit), visit])
    read = visit_overlay(visited, visit)
    return Found(
        home_as_seen(visited), read.inflow, read.pump_flow, read.plate_flow,
        tuple(read.values.items()), note_words(visited, read, US),
        conflict_words(visited, read, US),
    )  # fmt: skip


def visit(**parts: Any) -> Visit:
    return Visit.model_validate({"date": "2026-04-14", **parts})


@pytest.fixture
def home(demo_sites: Path) -> Home:
    return load_home(demo_sites / "split_level_on_clay.toml")


def rise(begin: str = "20 in", end: str = "14 in", time: str = "95 s", **more: str) -> Any:
    return {"begin": begin, "end": end, "time": time, "weather": "dry"} | more


def drawdown(begin: str = "13 in", end: str = "20 in", time: str = "20 s") -> Any:
    return {"begin": begin, "end": end, "time": time}


def volume(homes: HomeSamples, low_m: float, high_m: float) -> float:
    """The slow, obvious volume: slices of a tenth of a millimetre."""
    levels = np.arange(low_m, high_m, 1e-4) + 5e-5
    area = np.zeros_like(levels)
    for slab in storage_of(homes):
        area += np.where((levels > slab.low_m[0]) & (levels < slab.high_m[0]), slab.area_m2[0], 0)
    return float(area.sum() * 1e-4)


def test_rise_test_gives_the_flow_that_made_it(home: Home) -> None:
    median = median_home(home)
    held = volume(median, -20 * 0.0254, -14 * 0.0254)
    seconds = held / (4 * GPM)
    found = home_with_visit(home, visit(rise_test=rise(time=f"{seconds:.1f} s")))
    assert found.inflow is not None
    assert found.inflow.median_m3_s == pytest.approx(4 * GPM, rel=0.03)
    assert found.inflow.low_m3_s < 4 * GPM < found.inflow.high_m3_s
    entered = found.home.quantity("ground.dry_inflow")
    assert entered is not None and entered.basis is Basis.MEASURED
    assert entered.low == pytest.approx(found.inflow.low_m3_s, rel=0.05)  # two digits
    # and the ground water of the home is now that flow where the pump cycles
    after = draw_homes(found.home, 256, 1)
    at_on = steady_inflow_of(after, -after["on_depth_m"][:, None])[:, 0]
    assert np.median(at_on) == pytest.approx(4 * GPM, rel=0.05)


def test_drawdown_test_gives_the_pump_that_made_it(home: Home) -> None:
    worn = median_home(home.changed(pump__capacity="75 %"))
    levels = np.linspace(-20, -13, 8)[None, :] * 0.0254
    pump = float(pump_flow_of(worn, levels).mean())
    low, high = -20 * 0.0254, -13 * 0.0254
    held = volume(worn, low, high)
    seconds = held / (pump - 4 * GPM)
    up = volume(worn, low, -14 * 0.0254) / (4 * GPM)
    found = home_with_visit(
        home,
        visit(rise_test=rise(time=f"{up:.1f} s"), drawdown_test=drawdown(time=f"{seconds:.2f} s")),
    )
    assert found.pump_flow is not None and not found.conflicts
    assert found.pump_flow.median_m3_s == pytest.approx(pump, rel=0.03)
    entered = found.home.quantity("pump.capacity")
    assert entered is not None and entered.low is not None and entered.high is not None
    assert entered.low < 0.75 < entered.high
    assert entered.value == pytest.approx(0.75, abs=0.03)
    # what was known before: 0.7 to 1.02, so the range has become narrower
    assert entered.high - entered.low < 0.32


def test_a_test_narrows_what_the_pump_may_carry(home: Home) -> None:
    plain = home.changed(pump__rated_flow="unknown", pump__rated_head="unknown")
    found = home_with_visit(plain, visit(rise_test=rise(), drawdown_test=drawdown()))
    assert dict(found.entered)["pump.capacity"] == "100 %, measured"

    def spread(one: Home) -> float:
        homes = draw_homes(one, 256, 1)
        flow = pump_flow_of(homes, np.full((256, 1), -0.4))[:, 0]
        low, high = np.percentile(flow, (5, 95))
        return float(high / low)

    assert spread(found.home) < 0.75 * spread(plain)


def test_a_short_test_is_as_unsure_as_its_watch(home: Home) -> None:
    """A second of error in five spreads the flow by a fifth, in five hundred by hardly anything."""

    bare = home.changed(gravel__thickness="none", drain__open_share="0 %")

    def wide(time: str) -> float:
        found = home_with_visit(bare, visit(rise_test=rise(time=time))).inflow
        assert found is not None
        return found.high_m3_s / found.low_m3_s

    # of the time alone: 1.645 standard deviations of a fifth to either side
    assert wide("5 s") == pytest.approx((1 + 0.33) / (1 - 0.33), rel=0.1)
    assert wide("500 s") < 1.25


def test_wet_weather_says_nothing_of_dry_weather(home: Home) -> None:
    for weather in ("wet", "unknown"):
        found = home_with_visit(home, visit(rise_test=rise(weather=weather)))
        assert found.inflow is not None
        assert found.home.quantity("ground.dry_inflow") is None
        assert any("dry" in remark for remark in found.remarks)


def test_no_rise_is_an_answer(home: Home) -> None:
    found = home_with_visit(home, visit(rise_test=rise(end="20 in", time="10 min")))
    entered = found.home.quantity("ground.dry_inflow")
    assert entered is not None and entered.low == 0
    # nine in ten: 3 mm twice over 0.16 m2 in 600 s is far below 0.1 gpm
    assert entered.high is not None and entered.high < 0.1 * GPM


def test_more_than_the_plate_allows_is_a_conflict(home: Home) -> None:
    found = home_with_visit(home, visit(rise_test=rise(), drawdown_test=drawdown(time="6 s")))
    (conflict,) = found.conflicts
    assert "more than plate, pipe and lift allow" in conflict
    assert found.home.quantity("pump.capacity") is None
    # the rise test stands on its own
    assert found.home.quantity("ground.dry_inflow") is not None


def test_flows_that_overlap_the_plate_are_taken_as_far_as_both_allow(home: Home) -> None:
    """A pit told roughly leaves a wide flow: its middle above the plate is no contradiction."""
    rough = home.changed(pit__diameter="about 20 in")
    found = home_with_visit(rough, visit(rise_test=rise(), drawdown_test=drawdown(time="14 s")))
    flow, plate = found.pump_flow, found.plate_flow
    assert flow is not None and plate is not None
    assert flow.low_m3_s < plate.high_m3_s < flow.median_m3_s
    assert not found.conflicts
    assert any("only what both allow is taken" in remark for remark in found.remarks)
    entered = found.home.quantity("pump.capacity")
    assert entered is not None and entered.basis is Basis.MEASURED


def test_far_less_than_the_plate_allows_is_a_conflict_and_half_a_remark(home: Home) -> None:
    found = home_with_visit(home, visit(drawdown_test=drawdown(time="15 min")))
    assert "too far apart" in found.conflicts[0]
    assert found.home.quantity("pump.capacity") is None
    found = home_with_visit(home, visit(drawdown_test=drawdown(time="35 s")))
    assert not found.conflicts
    assert any("clogged inlet" in remark for remark in found.remarks)
    assert any("No rise test" in remark for remark in found.remarks)


def test_a_test_below_the_pit_is_refused(home: Home) -> None:
    with pytest.raises(InputError, match="below the bottom of the pit"):
        home_with_visit(home, visit(rise_test=rise(begin="40 in")))


def test_of_several_tests_one_below_the_pit_is_named_and_left_out(home: Home) -> None:
    """The pit is 26 in deep: a rise from 40 in was of an older one, that of another day counts."""
    old = visit(rise_test=rise("40 in", "34 in"), date="2025-04-14")
    new = visit(rise_test=rise())
    both = overlay_of(home.changed(visit=[old, new]))
    alone = overlay_of(home.changed(visit=[new]))
    assert both.inflow == alone.inflow
    assert [one.date for one in both.remarks if one.doubt is Doubt.BELOW_PIT] == [old.date]


def test_a_test_with_an_unknown_reading_is_left_out(home: Home) -> None:
    found = home_with_visit(home, visit(rise_test=rise(time="unknown")))
    assert found.inflow is None and found.entered == ()


def test_checks_answer_choices(home: Home) -> None:
    found = home_with_visit(home, visit(checks={"check_valve_holds": "no", "gutters_clean": "yes"}))
    assert found.home.choice("pipe.check_valve") == "stuck open"
    assert found.home.choice("roof.gutters") == "clean"


def test_nothing_is_written_into_the_keys_of_the_home(home: Home, tmp_path: Path) -> None:
    seen = visit(rise_test=rise(), drawdown_test=drawdown(), checks={"check_valve_holds": "no"})
    visited = home.changed(visit=[seen])
    assert home_as_seen(visited).quantity("ground.dry_inflow") is not None
    assert visited.quantity("ground.dry_inflow") is None
    assert visited.choice("pipe.check_valve") == "works"  # as it was told
    assert without_visit(visited, seen) == home  # undo of a visit
    save_home(visited, tmp_path / "home.toml")
    assert load_home(tmp_path / "home.toml") == visited


def test_what_was_seen_is_laid_over_once(home: Home) -> None:
    """A remedy that is tried on the home as it was seen is not taken back by what was seen."""
    visited = home.changed(visit=[visit(rise_test=rise(), drawdown_test=drawdown(time="30 s"))])
    seen = home_as_seen(visited)
    assert home_as_seen(seen) is seen
    measured = seen.quantity("pump.capacity")
    assert measured is not None and measured.value < 0.8
    new = home_as_seen(seen.changed(pump__capacity="100 %")).quantity("pump.capacity")
    assert new is not None and new.value == 1.0


def test_units_of_the_reader(home: Home) -> None:
    read = visit_overlay(home, visit(rise_test=rise(weather="wet")))
    (us,), (metric,) = (note_words(home, read, system) for system in UnitSystem)
    assert "gpm" in us and "L/min" in metric and "gpm" not in metric


def test_a_test_of_a_pump_that_is_not_there_is_a_conflict(demo_sites: Path) -> None:
    home = load_home(demo_sites / "row_house_near_creek.toml").changed(pump__rated_flow="none")
    (tested,) = [one for one in home.visit if one.drawdown_test is not None]
    reading = home_with_visit(home, tested)
    assert any("needs a pump" in conflict for conflict in reading.conflicts)
    assert reading.plate_flow is None
    assert reading.home.lacks(Component.PUMP)


def dated(day: str, **parts: Any) -> dict[str, Any]:
    return {"date": day, **parts}


def test_the_later_of_two_checks_counts_whatever_their_order_in_the_file(home: Home) -> None:
    early = dated("2025-04-14", checks={"check_valve_holds": "no"})
    late = dated("2026-04-14", checks={"check_valve_holds": "yes"})
    for visits in ([early, late], [late, early]):
        assert home_as_seen(home.changed(visit=visits)).choice("pipe.check_valve") == "works"


def inflow(home: Home) -> tuple[float, float]:
    """Ends of the inflow that is laid over a home [gpm]."""
    found = home_as_seen(home).quantity("ground.dry_inflow")
    assert found is not None and found.low is not None and found.high is not None
    return found.low / GPM, found.high / GPM


def test_two_tests_of_one_inflow_narrow_it_together(home: Home) -> None:
    """Without gravel and pump the room is the pit: 18 in across, 0.16417 m2.

    4 in in 300 s are 0.10160 * 0.16417 / 300 = 5.560e-5 m3/s = 0.881 gpm; the tape is off by 3 mm
    twice, 4.2 of 102 mm: a standard deviation of 4.2 %, of the mean of two tests 3.0 %.
    """
    bare = home.changed(
        gravel__thickness="none", drain__open_share="0 %", pump__rated_flow="none",
        pump__rated_head="unknown", pump__shutoff_head="unknown",
    )  # fmt: skip
    test = rise(begin="20 in", end="16 in", time="300 s")
    once = inflow(bare.changed(visit=[dated("2025-04-14", rise_test=test)]))
    both = bare.changed(
        visit=[dated("2025-04-14", rise_test=test), dated("2026-04-14", rise_test=test)]
    )
    twice = inflow(both)
    assert sum(once) / 2 == pytest.approx(0.881, rel=0.02)
    assert sum(twice) / 2 == pytest.approx(0.881, rel=0.02)
    width = [(high - low) / (2 * 1.645) / 0.881 for low, high in (once, twice)]
    spread_of_the_pit = (width[0] ** 2 - 0.042**2) ** 0.5  # diameter as it was measured
    assert width[1] == pytest.approx((spread_of_the_pit**2 + 0.030**2) ** 0.5, rel=0.1)
    # a new pit says nothing of the old one
    reset = both.changed(visit=[*both.visit, dated("2026-05-01", parts=["pit"])])
    assert home_as_seen(reset).quantity("ground.dry_inflow") is None


def test_rises_that_disagree_are_spanned_and_named(home: Home) -> None:
    slow, fast = rise(time="95 min"), rise(time="95 s")
    seen = home.changed(
        visit=[dated("2025-09-14", rise_test=slow), dated("2026-04-14", rise_test=fast)]
    )
    ends = [inflow(home.changed(visit=[one])) for one in seen.visit]
    low, high = inflow(seen)
    assert low == pytest.approx(ends[0][0], rel=0.2) and high == pytest.approx(ends[1][1], rel=0.2)
    (said,) = conflict_words(seen, overlay_of(seen), US)
    assert "ground water changes with the season" in said


def test_of_draw_downs_that_disagree_the_latest_counts(home: Home) -> None:
    fast, slow = drawdown(time="17 s"), drawdown(time="35 s")
    early, late = (dated("2025-04-14", drawdown_test=fast), dated("2026-04-14", drawdown_test=slow))
    both = home.changed(visit=[early, late])
    capacity = home_as_seen(both).quantity("pump.capacity")
    alone = home_as_seen(home.changed(visit=[late])).quantity("pump.capacity")
    assert capacity is not None and alone is not None
    assert capacity.value == pytest.approx(alone.value, rel=0.05)
    assert any("latest one counts" in said for said in conflict_words(both, overlay_of(both), US))
    # another pump has come since: neither tells of it
    new = both.changed(visit=[*both.visit, dated("2026-05-01", parts=["pump"])])
    assert home_as_seen(new).quantity("pump.capacity") is None


@pytest.mark.parametrize(
    ("test", "kind", "key"),
    [
        ({"rise_test": rise()}, "rise", "ground.dry_inflow"),
        ({"drawdown_test": drawdown(time="35 s")}, "draw_down", "pump.capacity"),
    ],
)
def test_a_test_is_the_same_evidence_at_a_visit_and_as_an_observation(
    home: Home, test: dict[str, Any], kind: str, key: str
) -> None:
    told = home.changed(ground__dry_inflow="0.1 gpm", pump__capacity="95 %")
    (parts,) = test.values()
    visited = told.changed(visit=[dated("2026-04-14", **test)])
    readings = {name: parts[name] for name in ("begin", "end", "time")}
    observed = told.changed(observation=[{"date": "2026-04-14", "kind": kind, **readings}])
    one, other = home_as_seen(visited).quantity(key), home_as_seen(observed).quantity(key)
    assert one is not None and one == other
    assert one.basis is Basis.MEASURED and one.value != told.quantity(key)
    # and both name what contradicts it
    named = [conflict_words(each, overlay_of(each), US) for each in (visited, observed)]
    assert named[0] == named[1] and "what was measured counts" in named[0][0]


def test_above_the_drain_the_room_beside_the_footing_fills_too(home: Home) -> None:
    """With a wide open drain pit and gravel rise as one vessel, and need as much more water."""
    open_wide = home.changed(drain__open_share="100 %", ground__drain_depth="20 in")
    test = dated("2026-04-14", rise_test=rise(begin="14 in", end="10 in", time="20 min"))
    below = inflow(home.changed(ground__drain_depth="8 in", visit=[test]))
    above = inflow(open_wide.changed(visit=[test]))
    assert sum(above) > 1.5 * sum(below)


def test_a_valve_that_a_visit_put_in_stands_in_the_pipe_of_its_tests(demo_sites: Path) -> None:
    """It takes head, so that the plate allows less; as much as where the home tells of it."""
    clay = load_home(demo_sites / "split_level_on_clay.toml")
    tests = {"date": "2026-04-14", "drawdown_test": {"begin": "14 in", "end": "21 in",
                                                     "time": "30 s"}}  # fmt: skip
    put_in = {"check_valve_holds": {"found": "no", "done": "put in", "left": "yes"}}
    bare = clay.changed(pipe__check_valve="none")
    without, with_it, told = (
        overlay_of(home.changed(visit=[visit])).plate_flow
        for home, visit in (
            (bare, tests), (bare, tests | {"checks": put_in}),
            (clay.changed(pipe__check_valve="works"), tests),
        )
    )  # fmt: skip
    assert without is not None and with_it is not None and told is not None
    assert with_it == told
    assert with_it.median_m3_s < 0.999 * without.median_m3_s
