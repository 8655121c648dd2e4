"""A visit's tests, entered into a home: what was put in comes out, conflicts are told."""

from __future__ import annotations

from pathlib import Path
from typing import Any

import numpy as np
import pytest

from riskkit.ensemble.draws import draw_homes, median_home
from riskkit.errors import InputError
from riskkit.home.home import Home, load_home
from riskkit.home.samples import HomeSamples
from riskkit.home.saving import save_home
from riskkit.home.visits import Visit
from riskkit.quantities.components import Component
from riskkit.quantities.quantity import Basis
from riskkit.quantities.units import UnitSystem, convert
from riskkit.risk.evidence import home_with_visit
from riskkit.simulate import pump_flow_of, steady_inflow_of, storage_of

GPM = 231 * 0.0254**3 / 60


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


def test_a_test_with_an_unknown_reading_is_left_out(home: Home) -> None:
    found = home_with_visit(home, visit(rise_test=rise(time="unknown")))
    assert found.inflow is None and found.entered == ()


def test_checks_answer_choices(home: Home) -> None:
    found = home_with_visit(home, visit(checks={"check_valve_holds": "no", "gutters_clean": "yes"}))
    assert found.home.choice("pipe.check_valve") == "stuck open"
    assert found.home.choice("roof.gutters") == "clean"


def test_entering_twice_changes_nothing(home: Home, tmp_path: Path) -> None:
    seen = visit(rise_test=rise(), drawdown_test=drawdown(), checks={"float_free": "yes"})
    once = home_with_visit(home, seen).home
    twice = home_with_visit(once, seen).home
    assert once == twice and once.visit == (seen,)
    save_home(once, tmp_path / "home.toml")
    assert load_home(tmp_path / "home.toml") == once


def test_units_of_the_reader(home: Home) -> None:
    found = home_with_visit(home, visit(rise_test=rise()), UnitSystem.METRIC)
    text = dict(found.entered)["ground.dry_inflow"]
    assert text.endswith("L/min, measured")
    us = home_with_visit(home, visit(rise_test=rise())).home.quantity("ground.dry_inflow")
    metric = found.home.quantity("ground.dry_inflow")
    assert us is not None and metric is not None
    assert convert(us.value, "m3/s", "L/min") == pytest.approx(
        convert(metric.value, "m3/s", "L/min"), rel=0.01
    )


def test_a_test_of_a_pump_that_is_not_there_is_a_conflict(demo_sites: Path) -> None:
    home = load_home(demo_sites / "row_house_near_creek.toml").changed(pump__rated_flow="none")
    (tested,) = [one for one in home.visit if one.drawdown_test is not None]
    reading = home_with_visit(home, tested)
    assert any("needs a pump" in conflict for conflict in reading.conflicts)
    assert reading.plate_flow is None
    assert reading.home.lacks(Component.PUMP)
