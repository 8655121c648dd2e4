"""Walls in the form of a visit: a place each, with its last reading, in any order."""

from __future__ import annotations

import datetime
from pathlib import Path
from typing import Any

import pytest

from riskkit.assessment import Settings
from riskkit.home.home import load_home
from riskkit.quantities.units import UnitSystem
from riskkit.widgets.app import technician
from riskkit.widgets.visit_fields import visit_groups
from riskkit.widgets.visit_state import VisitState
from riskkit.widgets.wall_fields import wall_taken

TODAY = datetime.date(2026, 4, 14)
US = UnitSystem.US
LAST_YEAR = """
[[visit]]
date = "2025-04-14"

[[visit.wall]]
place = "North wall, left of the window"
kind = "bow"
size = "0.25 in"
method = "plumb line"
bracing = "two steel posts"

[[visit.wall]]
place = "South wall"
kind = "crack"
size = "1 mm"
"""


@pytest.fixture
def state(homes: Path) -> VisitState:
    path = homes / "bungalow_on_sand.toml"
    path.write_text(path.read_text("utf-8") + LAST_YEAR, "utf-8")
    made = VisitState(TODAY, settings=Settings(n_draws=16))
    made.open(path)
    return made


def groups_of(state: VisitState) -> list[dict[str, Any]]:
    return [
        g for g in visit_groups(US, state.walls, state.home) if g.get("id", "").startswith("wall-")
    ]


def below_size(state: VisitState, number: int) -> str:
    return taken(state, number)[0]


def taken(state: VisitState, number: int) -> tuple[str, bool]:
    return wall_taken(state.walls, state.home.visit, US)[f"visit.wall.{number}.size"]


def stored(state: VisitState) -> list[dict[str, Any]]:
    assert state.path is not None
    return [wall.model_dump(mode="json", exclude_defaults=True)
            for wall in load_home(state.path).visit[-1].wall]  # fmt: skip


def test_each_place_has_its_last_reading_beside_it(state: VisitState) -> None:
    assert [group["title"] for group in groups_of(state)] == [
        "Wall: North wall, left of the window (bow)",
        "Wall: South wall (crack)",
        "Wall: another place",
    ]
    assert below_size(state, 1) == "Last time 0.25 in on April 14, 2025 (plumb line and rule)"
    assert below_size(state, 2) == "Last time 0.04 in on April 14, 2025"
    assert all(group["cautions"] for group in groups_of(state))


def test_the_growth_is_said_beside_the_new_reading(state: VisitState) -> None:
    assert state.change("visit.wall.1.size", "0.50 in")
    assert state.change("visit.wall.1.method", "plumb line")
    said = below_size(state, 1)
    assert "The bow has grown by 0.25 in in 12 months (give or take 0.08 in)" in said
    assert "Call a structural engineer now" in said
    assert stored(state) == [
        {"place": "North wall, left of the window", "kind": "bow", "size": "0.50 in",
         "method": "plumb line"},
    ]  # fmt: skip


def test_several_places_are_entered_in_any_order(state: VisitState) -> None:
    assert state.change("visit.wall.2.size", "1.1 mm")
    assert state.change("visit.wall.3.place", "East wall")
    assert state.change("visit.wall.3.kind", "lean")
    assert state.change("visit.wall.1.size", "0.25 in")
    assert state.change("visit.wall.1.bracing_moved", "no")
    assert state.change("visit.wall.3.size", "3 mm")
    assert state.change("visit.wall.4.place", "West wall")
    assert {(wall["place"], wall.get("size")) for wall in stored(state)} == {
        ("South wall", "1.1 mm"), ("East wall", "3 mm"), ("West wall", None),
        ("North wall, left of the window", "0.25 in"),
    }  # fmt: skip
    assert [group["title"] for group in groups_of(state)][2:] == [
        "Wall: East wall (lean)", "Wall: West wall", "Wall: another place",
    ]  # fmt: skip
    again = VisitState(TODAY, settings=Settings(n_draws=16))
    assert state.path is not None
    again.open(state.path)
    assert again.entries == state.entries
    assert again.entries["visit.wall.3.place"] == "East wall"
    assert again.entries["visit.wall.1.bracing_moved"] == "no"


def test_a_reading_can_be_taken_back(state: VisitState) -> None:
    before = state.home
    assert state.change("visit.wall.1.size", "0.5 in")
    assert state.change("visit.wall.1.size", "")
    assert state.home == before
    assert state.change("visit.wall.3.place", "East wall")
    assert state.change("visit.wall.3.kind", "lean")
    assert state.change("visit.wall.3.place", "West wall")
    assert stored(state) == [{"place": "West wall", "kind": "lean"}]
    assert state.change("visit.wall.3.kind", "")
    assert state.change("visit.wall.3.place", "")
    assert state.home == before


def test_bracing_that_is_there_asks_whether_it_moved(state: VisitState) -> None:
    north, south, _ = groups_of(state)
    labels = {field["key"]: field["label"] for field in north["fields"]}
    assert labels["visit.wall.1.bracing_moved"] == "bracing (two steel posts) has moved"
    assert "visit.wall.2.bracing_moved" not in {field["key"] for field in south["fields"]}
    assert "visit.wall.2.bracing_moved" in {field["key"] for field in south["seldom"]}
    assert state.change("visit.wall.1.bracing_moved", "yes")
    assert "The bracing has moved. Call a structural engineer now" in below_size(state, 1)


def test_only_methods_that_measure_it_are_offered(state: VisitState) -> None:
    north, south, new = groups_of(state)

    def ways(group: dict[str, Any]) -> set[str]:
        (field,) = (f for f in group["fields"] if f["key"].endswith(".method"))
        return {key for key, _ in field["options"]}

    assert "plumb line" in ways(north) and "calliper" not in ways(north)
    assert "calliper" in ways(south) and "plumb line" not in ways(south)
    assert ways(new) == ways(north) | ways(south)
    offsets = [any(f["key"].endswith(".offset") for f in g["fields"]) for g in (north, south, new)]
    assert offsets == [False, True, True]
    assert not state.change("visit.wall.1.method", "calliper")
    assert "does not measure a bow" in state.errors["visit.wall.1.method"]


def test_a_new_place_is_judged_at_once_and_what_is_urgent_is_marked(state: VisitState) -> None:
    assert taken(state, 1)[1] is False
    assert state.change("visit.wall.1.size", "0.27 in")
    assert taken(state, 1)[1] is False
    assert state.change("visit.wall.3.place", "East wall")
    assert below_size(state, 3) == ""
    assert state.change("visit.wall.3.kind", "bow")
    assert state.change("visit.wall.3.size", "1.25 in")
    said, urgent = taken(state, 3)
    assert urgent and "It is 1 in or more. Call a structural engineer now" in said
    new = groups_of(state)[2]
    assert any(field["key"] == "visit.wall.3.kind" for field in new["fields"])
    assert not any(field["key"] == "visit.wall.3.offset" for field in new["fields"])


def test_a_place_told_without_a_kind_may_be_given_one(homes: Path) -> None:
    path = homes / "bungalow_on_sand.toml"
    visit = '\n[[visit]]\ndate = "2025-04-14"\n[[visit.wall]]\nplace = "west"\nnote = "damp"\n'
    path.write_text(path.read_text("utf-8") + visit, "utf-8")
    state = VisitState(TODAY, settings=Settings(n_draws=16))
    state.open(path)
    assert state.change("visit.wall.1.kind", "lean")
    assert state.change("visit.wall.1.size", "5 mm")
    assert stored(state) == [{"place": "west", "kind": "lean", "size": "5 mm"}]


def test_half_a_name_makes_no_place(homes: Path) -> None:
    page = technician(homes / "split_level_on_clay.toml", homes)
    message = {"kind": "change", "key": "visit.wall.1.place", "text": "nor"}
    page.visit_form._hear(page.visit_form, message | {"typing": True}, [])
    assert page.state.visit is None
    page.visit_form._hear(page.visit_form, message | {"text": "north"}, [])
    assert page.state.visit is not None
    assert [wall.place for wall in page.state.visit.wall] == ["north"]
    ids = [group.get("id") for group in page.visit_form.groups]
    assert ids.count("wall-1") == ids.count("wall-2") == 1
    assert page.visit_form.values["visit.wall.1.place"]["text"] == "north"


def test_sizes_are_in_the_units_of_the_reader(state: VisitState) -> None:
    units = {}
    for system in UnitSystem:
        group = next(
            g for g in visit_groups(system, state.walls, state.home) if g.get("id") == "wall-1"
        )
        units[system] = next(f["unit"] for f in group["fields"] if f["key"].endswith(".size"))
    assert units == {UnitSystem.US: "in", UnitSystem.METRIC: "mm"}
