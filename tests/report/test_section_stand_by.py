"""What stands by the pump in the picture: drawn where the home has it, and nowhere else."""

from __future__ import annotations

from dataclasses import replace
from pathlib import Path
from typing import Any

import pytest

from riskkit.assessment import Assessment
from riskkit.home.home import Home, load_home
from riskkit.quantities.units import UnitSystem
from riskkit.report.picture_words import picture_words
from riskkit.report.section import section_svg
from riskkit.report.section_data import complete_section, section_of
from riskkit.report.section_stand_by import RUNS_ON, STAND_BY, second_of, stand_by_states
from riskkit.tables import load_table

# as in test_cut_geometry: the wall stands 0.73 to 0.98 m left of the middle of the pit
SECTION: dict[str, Any] = {
    "units": "us", "ground_m": 1.7, "outlet_m": 2.3, "drain_m": -0.2, "gravel_m": 0.1,
    "slab_m": 0.1,
    "pit": {"depth_m": 0.66, "width_m": 0.46, "bottom_width_m": 0.4},
    "switch": {"on_m": -0.33, "off_m": -0.53, "alarm_m": -0.15}, "water_table_m": None,
    "labels": {},
}  # fmt: skip
WALL_M = -0.98


@pytest.fixture(scope="module")
def home(demo_sites: Path) -> Home:
    """A home of which no visit and no key tells of anything beside its pump."""
    return load_home(demo_sites / "split_level_on_clay.toml")


def visited(**checks: str) -> list[dict[str, Any]]:
    return [{"date": "2026-04-14", "checks": checks}]


def test_a_home_that_tells_of_nothing_has_none_of_it(home: Home) -> None:
    assert stand_by_states(home) == dict.fromkeys(STAND_BY, "none")


@pytest.mark.parametrize(
    ("changes", "states"),
    [
        ({"second_pump__runs_on": "battery"},
         {"second_pump": "known", "second_on": "assumed", "battery": "assumed"}),
        ({"second_pump__runs_on": "battery", "second_pump__on": "9 in", "battery__age": "2 yr"},
         {"second_pump": "known", "second_on": "known", "battery": "known"}),
        ({"battery__capacity": "75 Ah"},  # a battery feeds something: a second pump
         {"second_pump": "assumed", "second_on": "assumed", "battery": "known"}),
        ({"second_pump__runs_on": "mains"}, {"second_pump": "known", "second_on": "assumed"}),
        ({"second_pump__runs_on": "mains water"}, {"second_pump": "known", "second_on": "assumed"}),
        ({"second_pump__runs_on": "none"}, {}),
        ({"generator__starts": "by hand"}, {"generator": "known"}),
        ({"generator__fuel": "4 gal"}, {"generator": "assumed"}),
        ({"generator__starts": "none"}, {}),
        ({"visit": visited(floor_drain_clear="yes")}, {"floor_drain": "known"}),
        ({"visit": visited(floor_drain_clear="no")}, {"floor_drain": "failed"}),
        ({"visit": visited(gutters_clean="yes")}, {}),
        ({"visit": visited(second_pump_runs="no")}, {}),
        ({"visit": visited(second_pump_runs="no"), "second_pump__runs_on": "mains"},
         {"second_pump": "failed", "second_on": "assumed"}),
        ({"visit": visited(battery_carries="no"), "battery__age": "2 yr"},
         {"second_pump": "assumed", "second_on": "assumed", "battery": "failed"}),
        ({"visit": visited(generator_carries="no"), "generator__starts": "by hand"},
         {"generator": "failed"}),
        ({"visit": visited(generator_carries="yes"), "generator__starts": "by hand"},
         {"generator": "known"}),
        ({"visit": [{"date": "2026-04-14", "floor_drain": "dry, some sand"}]},
         {}),
    ],
)  # fmt: skip
def test_what_a_home_has_is_what_it_tells_of(
    home: Home, changes: dict[str, Any], states: dict[str, str]
) -> None:
    told = home.changed(**changes)
    assert stand_by_states(told) == dict.fromkeys(STAND_BY, "none") | states
    assert (second_of(told, -0.33, -0.53, -0.15) is None) == ("second_pump" not in states)


def test_the_last_visit_that_tells_of_the_floor_drain_counts(home: Home) -> None:
    visits = [
        {"date": "2026-04-14", "checks": {"floor_drain_clear": "yes"}},
        {"date": "2025-04-14", "checks": {"floor_drain_clear": "no"}},
        {"date": "2026-10-14", "checks": {"gutters_clean": "yes"}},
    ]
    assert stand_by_states(home.changed(visit=visits))["floor_drain"] == "known"


def test_the_second_pump_starts_halfway_between_first_pump_and_alarm(home: Home) -> None:
    """33 and 15 cm below the floor: 24; what is told counts, below the alarm as in the answer."""
    on_battery = home.changed(second_pump__runs_on="battery")
    found = second_of(on_battery, -0.33, -0.53, -0.15)
    assert found is not None and found["runs_on"] == "battery"
    assert found["on_m"] == pytest.approx(-0.24)
    for told, level_m in (("20 cm", -0.2), ("5 cm", -0.16), ("60 cm", -0.52)):
        found = second_of(on_battery.changed(second_pump__on=told), -0.33, -0.53, -0.15)
        assert found is not None and found["on_m"] == pytest.approx(level_m), told


def test_what_drives_it_are_the_words_of_the_home_file() -> None:
    rows = load_table("backup_choices").rows
    words = [row["option"] for row in rows if row["choice"] == "second_pump.runs_on"]
    assert [word for word in words if word != "none"] == list(RUNS_ON)


def placed(part: str, state: str = "known", **more: Any) -> dict[str, Any]:
    parts = {part: state} | ({"second_pump": "known"} if part == "battery" else {})
    found: dict[str, Any] = complete_section(SECTION | {"parts": parts} | more)["geometry"]
    return found


def corners(geometry: dict[str, Any], paint: str) -> list[list[float]]:
    (found,) = [shape["points"] for shape in geometry["shapes"] if shape.get("paint") == paint]
    return list(found)


def test_the_generator_stands_outdoors_on_the_ground() -> None:
    body = corners(placed("generator"), "generator")
    assert max(x for x, _ in body) < WALL_M - 0.5
    assert min(y for _, y in body) == pytest.approx(1.76)  # 6 cm of feet on ground at 1.7 m


def test_the_battery_stands_above_the_floor_beside_the_pit() -> None:
    body = corners(placed("battery"), "battery")
    assert min(y for _, y in body) == pytest.approx(0.45)
    assert min(x for x, _ in body) == pytest.approx(0.43)  # 20 cm from the rim at 0.23 m


def test_the_floor_drain_opens_at_the_floor() -> None:
    bowl = corners(placed("floor_drain"), "floor-drain")
    assert max(y for _, y in bowl) == 0.0
    assert all(x > 0.23 for x, _ in bowl)


def test_the_second_pump_hangs_above_the_first_with_a_pipe_of_its_own() -> None:
    geometry = placed("second_pump", second={"runs_on": "battery", "on_m": -0.24})
    body, pipe = corners(geometry, "second-pump"), corners(geometry, "second-pipe")
    assert min(y for _, y in body) > geometry["pump"]["high_m"]
    assert all(-0.2 < x < 0.2 for x, _ in body)
    first = geometry["pipe"]["inside"]
    assert pipe[1][0] > first[0][0] and pipe[1][1] > first[1][1]  # they do not cross
    assert geometry["second_float"]["high_m"] == -0.24
    assert geometry["house"]["ceiling_m"] > pipe[1][1]


def test_a_water_powered_pump_hangs_above_the_floor() -> None:
    geometry = placed("second_pump", second={"runs_on": "mains water", "on_m": -0.24})
    assert min(y for _, y in corners(geometry, "second-pump")) > 1.0
    assert corners(geometry, "second-pipe")[0][1] == pytest.approx(-0.34)
    assert geometry["second_float"] is None
    assert corners(geometry, "supply")[-1][1] == geometry["house"]["ceiling_m"]


DRAWN = {
    "second_pump": "second-pump",
    "battery": "battery",
    "generator": "generator",
    "floor_drain": "floor-drain",
}


@pytest.mark.parametrize(("part", "paint"), DRAWN.items())
def test_each_is_painted_and_named_where_it_is_and_only_there(part: str, paint: str) -> None:
    bare = complete_section(SECTION)
    assert paint not in [shape.get("paint") for shape in bare["geometry"]["shapes"]]
    assert part not in bare["geometry"]["named"]
    for state in ("known", "assumed", "failed"):
        geometry = placed(part, state)
        assert part in geometry["named"]
        (shape,) = [shape for shape in geometry["shapes"] if shape.get("paint") == paint]
        assert shape["state"] == state
        crosses = [shape["part"] for shape in geometry["shapes"] if shape.get("paint") == "cross"]
        assert crosses == ([part] if state == "failed" else [])
        words = complete_section(SECTION | {"parts": {part: state}})["words"][part]
        assert words.endswith(", assumed") == (state == "assumed")
        assert words.endswith(("out of order", "blocked")) == (state == "failed")


def test_only_the_second_pump_has_a_level_of_its_own_in_the_pit() -> None:
    bare = [mark["key"] for mark in complete_section(SECTION)["geometry"]["marks"]]
    assert bare == ["floor", "alarm", "on", "off", "bottom"]
    parts = {"second_pump": "known", "second_on": "assumed"}
    section = SECTION | {"parts": parts, "second": {"runs_on": "mains", "on_m": -0.254}}
    marks = complete_section(section)["geometry"]["marks"]
    assert [mark["key"] for mark in marks] == ["floor", "alarm", "second_on", "on", "off", "bottom"]
    assert marks[2]["text"] == "second pump starts, 10 in, assumed"


@pytest.mark.parametrize(
    ("changes", "classes", "words"),
    [
        ({"second_pump__runs_on": "battery"}, ["second_pump", "second-float", "battery"],
         ["second pump, on battery", "Battery, assumed", "second pump starts, 9.5 in, assumed"]),
        ({"second_pump__runs_on": "mains water"}, ["second_pump"], ["Water-powered pump"]),
        ({"second_pump__runs_on": "mains"}, ["second_pump", "second-float"],
         ["second pump, on mains"]),
        ({"generator__starts": "automatic"}, ["generator"], ["Generator"]),
        ({"visit": visited(floor_drain_clear="no")}, ["floor_drain", "cross"],
         ["Floor drain, blocked"]),
    ],
)  # fmt: skip
def test_the_still_picture_draws_and_names_it(
    home: Home, changes: dict[str, Any], classes: list[str], words: list[str]
) -> None:
    """Started at 13 in, alarm at 6 in: halfway is 9.5 in."""
    bare, svg = (
        section_svg(home, UnitSystem.US),
        section_svg(home.changed(**changes), UnitSystem.US),
    )
    for name in classes:
        assert f'class="{name}"' in svg and f'class="{name}"' not in bare
    for text in words:
        assert svg.count(f">{text}<") == 1 and text not in bare


def test_the_joint_is_named_where_water_may_come_in(home: Home) -> None:
    assert section_of(home, UnitSystem.US)["words"]["floor_joint"] == "Joint, assumed"
    told = home.changed(house__joint_conductance="0.001 gpm/in")
    svg = section_svg(told, UnitSystem.US)
    assert ">Joint of wall and floor<" in svg and 'class="floor_joint"' in svg
    tight = section_svg(home.changed(house__joint_conductance="0 gpm/in"), UnitSystem.US)
    assert "Joint" not in tight and 'class="floor_joint"' not in tight


@pytest.mark.parametrize("stopped", [True, False])
def test_a_picture_with_a_second_pump_says_that_it_stands_still(
    answer: Assessment, stopped: bool
) -> None:
    words = "The second pump stands still here"
    assert words not in picture_words(answer, 3600.0, stopped=stopped)
    with_second = replace(answer, home=answer.home.changed(second_pump__runs_on="battery"))
    assert picture_words(with_second, 3600.0, stopped=stopped).count(words) == 1
