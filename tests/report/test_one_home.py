"""Every picture shows one home: only rain, water and time change from storm to storm."""

from __future__ import annotations

import re
from dataclasses import replace
from pathlib import Path
from types import SimpleNamespace
from typing import Any

import numpy as np
import pytest

from riskkit.assessment import Assessment, Settings, assess, design_rain
from riskkit.ensemble.draws import median_home
from riskkit.evidence.overlay import home_as_seen
from riskkit.home.home import Home, load_home
from riskkit.options.changes import remedy
from riskkit.quantities.units import UnitSystem
from riskkit.quantities.variables import choices, variables
from riskkit.report.charts import level_chart, level_spec, to_svg
from riskkit.report.key_figure import key_figure
from riskkit.report.moving import pictures
from riskkit.report.picture_words import time_words
from riskkit.report.time_words import about_duration, chance_and_time, short_duration
from riskkit.risk.clock import Clock, MainTime
from riskkit.tables import load_table

STORMS_YR = (2.0, 10.0, 100.0)
HOMES = ["bungalow_on_sand", "home_just_met", "row_house_near_creek", "split_level_on_clay"]


@pytest.fixture(scope="module", params=HOMES)
def answer(request: pytest.FixtureRequest, demo_sites: Path) -> Assessment:
    home = load_home(demo_sites / f"{request.param}.toml")
    settings = Settings(STORMS_YR, 10.0, n_draws=16)
    return assess(home, design_rain(home, demo_sites), settings)


def shown(answer: Assessment, storm_yr: float) -> Assessment:
    """What the page holds after a press on the button of a storm."""
    return replace(answer, settings=replace(answer.settings, headline_yr=storm_yr))


def test_the_buttons_of_the_storms_show_one_house(answer: Assessment) -> None:
    sections, animations, marks = [], [], []
    for storm_yr in STORMS_YR:
        section, animation = pictures(shown(answer, storm_yr), UnitSystem.US, stopped=True)
        sections.append(section)
        animations.append(animation)
        marks.append(level_spec(answer, UnitSystem.US, storm_yr)["datasets"]["marks"])
    assert sections[0] and sections[0] == sections[1] == sections[2]
    assert marks[0] == marks[1] == marks[2]
    rain = [max(animation["rain_mm_h"]) for animation in animations]
    assert rain[0] < rain[1] < rain[2]


def test_it_does_not_hang_on_the_draws(answer: Assessment) -> None:
    """Quick answers of few draws show the same picture as the whole one."""
    other = replace(answer, settings=replace(answer.settings, n_draws=64, seed=7))
    first, second = (pictures(a, UnitSystem.US, stopped=True)[0] for a in (answer, other))
    assert first == second


def test_what_is_known_is_drawn_as_it_is_known(answer: Assessment) -> None:
    told = {"switch.on": "on_m", "switch.off": "off_m", "switch.alarm": "alarm_m"}
    section, _ = pictures(answer, UnitSystem.US, stopped=True)
    known = {key: answer.home.quantity(key) for key in told}
    for key, quantity in known.items():
        if quantity is not None:
            assert section["switch"][told[key]] == pytest.approx(-quantity.value)
    if (depth := answer.home.quantity("pit.depth")) is not None:
        assert section["pit"]["depth_m"] == pytest.approx(depth.value)


def test_rain_is_the_middle_of_its_spread(answer: Assessment) -> None:
    for storm in answer.storms:
        trace = storm.trace
        step_h = float(trace.time_s[1] - trace.time_s[0]) / 3600.0
        assert trace.rain_mm_h.sum() * step_h == pytest.approx(storm.depth_mm)


def test_its_time_is_that_of_its_own_levels(answer: Assessment) -> None:
    for storm in answer.storms:
        trace = storm.trace
        stopped = np.isfinite(trace.stopped_m)
        assert trace.time_s[stopped.argmax()] == trace.stop_s
        begin = trace.stop_s + (trace.to_alarm_s if trace.clock is Clock.ALARM else 0.0)
        wet = trace.time_s[np.nan_to_num(trace.stopped_m, nan=-1.0) >= 0]
        if np.isinf(trace.to_floor_s):
            assert wet.size == 0
        elif begin + trace.to_floor_s <= trace.time_s[-1]:
            assert wet[0] - 300.0 <= begin + trace.to_floor_s <= wet[0] + 1e-6


def test_picture_and_words_tell_one_time_beside_the_range(answer: Assessment) -> None:
    for storm in answer.storms:
        _, animation = pictures(shown(answer, storm.return_period_yr), UnitSystem.US, stopped=True)
        words = animation["sentence"]
        assert words.startswith("One home, drawn the same in every storm")
        assert f"{chance_and_time(storm.worst_stop.to_floor_s)}." in words
        if np.isinf(storm.trace.to_floor_s):
            assert animation["flood_s"] is None and "Here the pit does not overflow." in words
        else:
            if animation["flood_s"] is not None:  # else after the end of the picture
                passed = animation["flood_s"] - animation["alarm_s"]
                assert passed == pytest.approx(storm.trace.to_floor_s, abs=300.0)  # a step
                since_stop_s = animation["alarm_s"] - animation["stopped_at_s"]
                event = "after the stop" if animation["stopped_at_s"] else "after the rain begins"
                soon = f"the alarm sounds {about_duration(since_stop_s)} {event}, and water"
                assert soon in words
            assert f"{about_duration(storm.trace.to_floor_s)} after the alarm" in words


@pytest.mark.parametrize("name", HOMES)
def test_figure_picture_and_time_line_tell_one_time(demo_sites: Path, name: str) -> None:
    """The variant that is shown takes as long as the middle of all, in every storm."""
    home = load_home(demo_sites / f"{name}.toml")
    answer = assess(home, design_rain(home, demo_sites), Settings(STORMS_YR, 10.0, n_draws=256))
    for storm in answer.storms:
        one = shown(answer, storm.return_period_yr)
        _, animation = pictures(one, UnitSystem.US, stopped=True)
        median_s = answer.main_s(storm).median
        if np.isinf(median_s):
            assert animation["flood_s"] is None and key_figure(one).value.startswith(
                ("dry", "stays")
            )
            continue
        told = f"{about_duration(median_s)} after the alarm"
        assert told in animation["sentence"]
        if animation["flood_s"] is None:  # after the end of the picture
            assert median_s > 12 * 3600.0
            continue
        assert (animation["flood_s"] - animation["alarm_s"]) == pytest.approx(median_s, rel=0.05)
        floor = next(step for step in animation["steps"] if step["key"] == "floor")
        assert told in floor["say"]
        assert key_figure(one).value == short_duration(median_s)


def test_a_pump_that_was_left_dead_is_shown_dead_from_the_beginning(demo_sites: Path) -> None:
    home = load_home(demo_sites / "split_level_on_clay.toml")
    home = home.changed(visit=[{"date": "2026-04-14", "checks": {"pump_started": "no"}}])
    answer = assess(home, design_rain(home, demo_sites), Settings((10.0,), 10.0, n_draws=64))
    assert answer.main_time is MainTime.DEAD
    _, animation = pictures(answer, UnitSystem.US, stopped=True)
    assert animation["stopped_at_s"] == 0.0
    median_s = answer.headline_storm.dead_before.rain_to_floor_s.median
    assert animation["flood_s"] == pytest.approx(median_s, rel=0.05)
    assert "The pump does not work, as it was left." in animation["sentence"]
    assert f"{about_duration(median_s)} after the rain begins" in animation["sentence"]


def test_only_the_ground_differs_from_what_is_drawn(answer: Assessment) -> None:
    for storm in answer.storms:
        home, median = storm.trace.home, answer.median_home
        for key in ("pit_depth_m", "on_depth_m", "alarm_depth_m", "at_wall_share", "drain_depth_m"):
            assert home[key].tolist() == median[key].tolist()
        assert home.rain_score.tolist() == [0.0]


PARTS = [
    ({"switch__alarm": "none"}, "stopped_at_s", "after the pump stops"),
    ({"switch__alarm": "none", "pump__rated_flow": "none"}, None, "after the rain begins"),
    ({"pump__rated_flow": "none"}, "alarm_s", "after the alarm"),
]


@pytest.mark.parametrize(("changes", "since", "words"), PARTS)
def test_the_time_runs_from_what_is_there(
    demo_sites: Path, changes: dict[str, str], since: str | None, words: str
) -> None:
    """By hand: the picture's flood less the moment from which the words count."""
    home = load_home(demo_sites / "row_house_near_creek.toml").changed(**changes)
    settings = Settings((10.0,), 10.0, n_draws=16)
    answer = assess(home, design_rain(home, demo_sites), settings)
    _, animation = pictures(answer, UnitSystem.US, stopped=True)
    begin = 0.0 if since is None else animation[since]
    passed = animation["flood_s"] - begin
    trace = answer.headline_storm.trace
    assert passed == pytest.approx(trace.to_floor_s, abs=300.0)  # a step
    assert f"floor {about_duration(trace.to_floor_s)} {words}." in animation["sentence"]
    assert (animation["alarm_s"] is None) == ("switch__alarm" in changes)
    assert (animation["stopped_at_s"] is None) == ("pump__rated_flow" in changes)
    assert (animation["pump_on"] is None) == ("pump__rated_flow" in changes)
    kinds = {row["what"] for row in level_spec(answer, UnitSystem.US, 10.0)["datasets"]["lines"]}
    assert ("pump working" in kinds) == ("pump__rated_flow" not in changes)
    rise = np.diff(
        np.interp(
            np.arange(begin, animation["flood_s"], 60), animation["time_s"], animation["level_m"]
        )
    )
    assert np.all(rise >= -1e-4)


def test_a_home_without_a_pit_shows_no_picture(demo_sites: Path) -> None:
    home = load_home(demo_sites / "row_house_near_creek.toml")
    settings = Settings((10.0,), 10.0, n_draws=16)
    answer = assess(home, design_rain(home, demo_sites), settings)
    gone = replace(answer, home=home.changed(pit__diameter="none"))
    assert pictures(gone, UnitSystem.US, stopped=True) == ({}, {})


def test_time_words_by_hand(answer: Assessment) -> None:
    storm = answer.headline_storm

    def drawn(to_floor_s: float, stop_s: float = 3600.0) -> Assessment:
        own = {"to_floor_s": to_floor_s, "stop_s": stop_s, "to_alarm_s": 5 * 3600.0}
        shown: Any = SimpleNamespace(traces=(replace(storm.trace, **own),))
        one = replace(storm, shown=shown, row=0)
        return replace(answer, storms=tuple(one if s is storm else s for s in answer.storms))

    floods, floor = drawn(34 * 60.0), "water reaches the floor 35 minutes after the alarm."
    assert time_words(floods).startswith(
        f"Here the alarm sounds 5 hours after the stop, and {floor}"
    )
    # drawn back from 1 h to 0.5 h, and to the beginning; the alarm sounds at 6 h
    back = (time_words(floods, at_s) for at_s in (1800.0, 0.0, 6 * 3600.0 - 50.0))
    sounds = ("5.5 hours after the stop", "6 hours after the rain begins", "at once")
    for said, soon in zip(back, sounds, strict=True):
        assert said.startswith(f"Here the alarm sounds {soon}, and {floor}"), said
    assert time_words(drawn(np.inf)).startswith("Here the pit does not overflow. The answer is")


@pytest.mark.parametrize("system", list(UnitSystem))
def test_chart_and_picture_name_the_same_number_on_the_same_level(
    answer: Assessment, system: UnitSystem
) -> None:
    """Read back from the drawn chart: a tick of its axis is the ruler."""
    svg = to_svg(level_chart(answer, system, 10.0, width_px=480))
    drawing = svg[svg.index("concat_1_group") :]
    texts = re.findall(
        r'transform="translate\([\d.]+,([\d.]+)\)"[^>]*>([a-z][^<]*)</text>', drawing
    )
    labels = {words: float(y) - 3.0 for y, words in texts if "floor" in words or ", " in words}
    rules = drawing[drawing.index("mark-rule role-mark") : drawing.index("mark-text role-mark")]
    drawn = re.findall(r'<line [^>]*transform="translate\([\d.]+,([\d.]+)\)"', rules)
    assert sorted(labels.values()) == pytest.approx(sorted(float(y) for y in drawn))
    axis = re.findall(r'translate\(-\d+,([\d.]+)\)"[^>]*>(−?\d+)</text>', drawing)
    ticks = {int(n.replace("−", "-")): float(y) - 4.0 for y, n in axis}
    lowest = min(ticks)
    per_unit = (ticks[lowest] - ticks[0]) / -lowest
    marks = pictures(answer, system, stopped=True)[0]["geometry"]["marks"]
    expected = {mark["text"] for mark in marks if mark["key"] != "bottom"}
    assert set(labels) == expected
    for words, y in labels.items():
        number = float(words.split(", ")[1].split()[0]) if ", " in words else 0.0
        assert y == pytest.approx(ticks[0] + number * per_unit, abs=1.0)


@pytest.mark.parametrize("key", sorted({row["key"] for row in load_table("remedies").rows}))
@pytest.mark.parametrize("name", HOMES)
def test_a_remedy_changes_only_its_part(demo_sites: Path, name: str, key: str) -> None:
    home = home_as_seen(load_home(demo_sites / f"{name}.toml"))  # what a remedy is tried on
    targets = [row["target"] for row in load_table("remedies").rows if row["key"] == key]
    allowed = {
        variables()[quantity].name
        for target in targets
        for quantity in (choices()[target].targets if target in choices() else (target,))
    }
    before, after = median_home(home), median_home(remedy(key).applied(home))
    differ = {
        quantity
        for quantity, value in before.values.items()
        if not np.array_equal(value, after[quantity], equal_nan=True)
    }
    assert differ <= allowed
    assert (before.soil, before.backfill) == (after.soil, after.backfill)


def test_a_home_of_several_textures_is_drawn_on_one() -> None:
    home = median_home(Home())
    assert home.n_draws == 1 and len(home.soil) == 1
