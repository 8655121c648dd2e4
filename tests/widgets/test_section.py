"""The moving section on the Python side: what it takes, what it refuses, and what it is told."""

from __future__ import annotations

import copy
import json
from collections.abc import Callable
from itertools import pairwise
from pathlib import Path
from typing import Any

import numpy as np
import pytest

from riskkit.assessment import Assessment, Settings, assess, design_rain
from riskkit.errors import InputError, RangeError
from riskkit.home.home import load_home
from riskkit.home.samples import HomeSamples
from riskkit.quantities.units import UnitSystem
from riskkit.records import PitModel
from riskkit.report.step_words import steps_of
from riskkit.simulate import pit_of
from riskkit.widgets.section import (
    MovingSection,
    animation_of,
    check_animation,
    check_section,
    section_of,
)

SECTION: dict[str, Any] = {
    "units": "us",
    "ground_m": 1.7,
    "pit": {"depth_m": 0.66, "width_m": 0.46, "bottom_width_m": 0.4},
    "switch": {"on_m": -0.33, "off_m": -0.53, "alarm_m": -0.15},
    "drain_m": -0.2,
    "gravel_m": 0.1,
    "slab_m": 0.1,
    "outlet_m": 2.3,
    "water_table_m": None,
    "labels": {"name": "A home"},
}
ANIMATION: dict[str, Any] = {
    "title": "a storm",
    "time_s": [0, 600, 1200],
    "rain_mm_h": [10, 20, 0],
    "level_m": [-0.5, -0.2, 0.02],
    "pump_on": [0, 1, 0],
    "stopped_at_s": 700,
    "alarm_s": 800,
    "flood_s": 1150,
    "sentence": "It rains.",
}


def changed(data: dict[str, Any], path: str, value: object) -> dict[str, Any]:
    data = copy.deepcopy(data)
    *way, last = path.split(".")
    part = data
    for key in way:
        part = part[key]
    part[last] = value
    return data


def test_traits_hold_the_data_and_go_to_the_browser() -> None:
    widget = MovingSection(section=SECTION, animation=ANIMATION, moment_s=600)
    state = widget.get_state(["section", "animation", "moment_s"])
    assert {**state["animation"], "steps": None} == {**ANIMATION, "steps": None}
    assert [step["key"] for step in state["animation"]["steps"]][-1] == "help"
    assert state["moment_s"] == 600
    assert state["section"]["show"]["length"][0] == "in"
    assert state["section"]["show"]["length"][1] == pytest.approx(1 / 0.0254)
    json.dumps(state)
    widget.animation = {}
    assert widget.animation == {}


def test_units_follow_the_section() -> None:
    widget = MovingSection(section=SECTION)
    widget.section = changed(SECTION, "units", "metric")
    assert widget.section["show"]["rain"] == ["mm/h", 1.0]


@pytest.mark.parametrize(
    ("path", "value", "words"),
    [
        ("units", "si", "units"),
        ("ground_m", None, "ground_m"),
        ("ground_m", float("nan"), "ground_m"),
        ("outlet_m", "2 m", "outlet_m"),
        ("pit", None, "pit"),
        ("pit.depth_m", True, "depth_m"),
        ("pit.width_m", 0.0, "no size"),
        ("switch.on_m", -0.6, "order"),
        ("switch.alarm_m", 0.1, "order"),
        ("switch.off_m", -0.7, "order"),
        ("parts", {"alarm": "broken"}, "alarm"),
        ("outlet", "here", "outlet"),
        ("joint_opens", "yes", "joint_opens"),
        ("water_table_m", float("inf"), "water_table_m"),
        ("second", {"on_m": -0.24, "runs_on": "steam"}, "runs_on"),
        ("second", {"on_m": None, "runs_on": "battery"}, "on_m"),
        ("second", {"on_m": 0.1, "runs_on": "battery"}, "in the pit"),
    ],
)
def test_a_section_that_cannot_be_drawn_is_refused(path: str, value: object, words: str) -> None:
    with pytest.raises(InputError, match=words):
        MovingSection(section=changed(SECTION, path, value))


@pytest.mark.parametrize(
    ("path", "value", "words"),
    [
        ("title", None, "title"),
        ("time_s", [0, 600, 600], "increase"),
        ("time_s", [0], "increase"),
        ("level_m", [0.0, 1.0], "one number for each time"),
        ("level_m", [0.0, float("nan"), 1.0], "finite"),
        ("rain_mm_h", "heavy", "list"),
        ("pump_on", [1], "one number for each time"),
        ("beside_m", [0.1], "one number for each time"),
        ("beside_m", [0.1, None, 0.2], "finite"),
        ("flood_s", float("inf"), "finite"),
    ],
)
def test_an_animation_that_cannot_be_played_is_refused(
    path: str, value: object, words: str
) -> None:
    with pytest.raises(InputError, match=words):
        MovingSection(animation=changed(ANIMATION, path, value))


def test_a_measure_that_cannot_be_is_a_range_error() -> None:
    with pytest.raises(RangeError):
        check_section(changed(SECTION, "slab_m", 0))


def test_a_moment_is_a_finite_number() -> None:
    with pytest.raises(InputError, match="moment_s"):
        MovingSection(moment_s=float("nan"))


# ---- from a real home -------------------------------------------------------------------------


@pytest.fixture(scope="module", params=["row_house_near_creek", "bungalow_on_sand"])
def home(
    request: pytest.FixtureRequest, demo_sites: Path
) -> tuple[HomeSamples, PitModel, Assessment]:
    home = load_home(demo_sites / f"{request.param}.toml")
    settings = Settings(return_periods_yr=(10.0, 100.0), n_draws=16)
    answer = assess(home, design_rain(home, demo_sites).used, settings)
    shown = answer.median_home
    return shown, pit_of(shown), answer


Told = Callable[..., dict[str, Any]]


@pytest.fixture(scope="module")
def told(home: tuple[HomeSamples, PitModel, Assessment]) -> Told:
    _, _, answer = home

    def tell(*, stopped: bool, fine: bool = True, storm: int = 1) -> dict[str, Any]:
        return animation_of(
            answer.storms[storm],
            stopped=stopped,
            system=UnitSystem.US,
            sentence="As it is.",
            pit=pit_of(answer.median_home) if fine else None,
        )

    return tell


def test_the_section_is_the_home_upside_down(
    home: tuple[HomeSamples, PitModel, Assessment],
) -> None:
    middle, pit, answer = home
    section = section_of(answer.home, UnitSystem.US, answer.antecedent, name="here")
    assert check_section(section) == section
    assert section["labels"]["name"] == "here"
    assert section["pit"]["depth_m"] == middle["pit_depth_m"][0]
    marks = (("off_m", pit.off_index), ("on_m", pit.on_index), ("alarm_m", pit.alarm_index))
    for key, index in marks:
        assert section["switch"][key] == pytest.approx(float(pit.level_m[0, index[0]]))
    json.dumps(section, allow_nan=False)


def test_without_an_alarm_to_count_on_none_sounds(
    home: tuple[HomeSamples, PitModel, Assessment],
) -> None:
    _, pit, answer = home
    for warns in (True, False):
        animation = animation_of(
            answer.storms[1],
            stopped=True,
            system=UnitSystem.US,
            sentence="",
            pit=pit,
            warns=warns,
        )
        assert (animation["alarm_s"] is not None) == warns


@pytest.mark.parametrize("stopped", [False, True])
@pytest.mark.parametrize("fine", [False, True])
def test_an_animation_can_be_played(told: Told, stopped: bool, fine: bool) -> None:
    animation = told(stopped=stopped, fine=fine)
    assert check_animation(animation) == animation | {"steps": steps_of(animation)}
    text = json.dumps(animation, allow_nan=False)
    assert len(text) < 200_000
    assert (animation["stopped_at_s"] is not None) == stopped
    assert (animation["pump_on"] is not None) == fine
    assert animation["title"].startswith("100-year storm, ")


def test_marks_of_the_animation_lie_on_its_level(
    told: Told, home: tuple[HomeSamples, PitModel, Assessment]
) -> None:
    animation = told(stopped=True)
    alarm_m = home[2].storms[1].trace.alarm_m
    level = np.interp(animation["alarm_s"], animation["time_s"], animation["level_m"])
    assert level == pytest.approx(alarm_m, abs=1e-3)
    assert animation["stopped_at_s"] <= animation["alarm_s"]
    if animation["flood_s"] is not None:
        assert np.interp(
            animation["flood_s"], animation["time_s"], animation["level_m"]
        ) == pytest.approx(0.0, abs=1e-3)
    else:
        assert max(animation["level_m"]) < 0


def test_time_to_flood_is_the_one_of_the_answer(
    told: Told, home: tuple[HomeSamples, PitModel, Assessment]
) -> None:
    """The picture and the chart show the same home: within a step of the chart."""
    trace = home[2].storms[1].trace
    animation = told(stopped=True)
    assert trace.time_s[np.isfinite(trace.stopped_m).argmax()] == trace.stop_s
    assert animation["alarm_s"] == pytest.approx(trace.stop_s + trace.to_alarm_s, abs=300.0)
    wet = trace.time_s[np.nan_to_num(trace.stopped_m, nan=-1.0) >= 0]
    if wet.size:
        assert wet[0] - 300.0 <= animation["flood_s"] <= wet[0]
    else:
        assert animation["flood_s"] is None


@pytest.mark.parametrize("stopped", [False, True])
def test_water_beside_the_wall_is_that_of_the_trace(
    told: Told, home: tuple[HomeSamples, PitModel, Assessment], stopped: bool
) -> None:
    trace = home[2].storms[1].trace
    expected = trace.footing_m if stopped else trace.footing_working_m
    for fine in (False, True):
        animation = told(stopped=stopped, fine=fine)
        within = trace.time_s <= animation["time_s"][-1]
        found = np.interp(trace.time_s[within], animation["time_s"], animation["beside_m"])
        np.testing.assert_allclose(found, expected[within], atol=6e-4)  # half a millimetre
    free = trace.time_s < trace.stop_s
    np.testing.assert_array_equal(trace.footing_m[free], trace.footing_working_m[free])
    assert trace.footing_m.max() > trace.footing_working_m.max()


def test_the_pump_runs_where_the_water_falls_and_is_dead_after_it_stopped(told: Told) -> None:
    animation = told(stopped=True)
    falls = [
        (t, on)
        for t, on, (a, b) in zip(
            animation["time_s"], animation["pump_on"], pairwise(animation["level_m"]), strict=False
        )
        if b < a - 0.001
    ]
    before = [on for t, on in falls if t < animation["stopped_at_s"]]
    assert all(before)
    after = [on for t, on in zip(animation["time_s"], animation["pump_on"], strict=True)
             if t >= animation["stopped_at_s"]]  # fmt: skip
    assert not any(after)


def test_the_level_keeps_between_the_switches_while_the_pump_works(
    told: Told, home: tuple[HomeSamples, PitModel, Assessment]
) -> None:
    trace = home[2].storms[1].trace
    animation = told(stopped=False)
    assert animation["flood_s"] is None
    assert min(animation["level_m"]) >= trace.off_m - 1e-4
    assert max(animation["level_m"]) <= trace.on_m + 0.02
    starts = sum(b > a for a, b in pairwise(animation["pump_on"]))
    assert starts > 3


@pytest.mark.parametrize("fine", [False, True])
def test_no_step_is_a_jump(
    told: Told, home: tuple[HomeSamples, PitModel, Assessment], fine: bool
) -> None:
    """From before the stop on, water rises no faster than the inflow can fill the free area."""
    _, pit, answer = home
    most_m3_s = float(answer.storms[1].trace.inflow_m3_s.max() + pit.seepage_m3_s.max())
    fastest_m_s = most_m3_s / float(pit.area_m2.min())
    animation = told(stopped=True, fine=fine)
    stop = animation["time_s"].index(animation["stopped_at_s"])
    alarm = int(np.searchsorted(animation["time_s"], animation["alarm_s"]))
    first = max(0, stop - 1)
    rise = np.diff(animation["level_m"][first:]) / np.diff(animation["time_s"][first:])
    assert rise.max() <= fastest_m_s
    assert np.all(rise[stop - first : alarm - first] >= 0)


def test_the_files_are_small_and_name_no_address() -> None:
    package = Path(__file__).parents[2] / "riskkit"
    paths = [
        path for name in ("widgets", "report") for path in (package / name / "static").iterdir()
    ]
    assert len(paths) > 15
    for path in paths:
        text = path.read_text("utf-8")
        assert len(text.splitlines()) <= 500
        assert "http" not in text.replace("http://www.w3.org/2000/svg", "")
        assert "@import" not in text
