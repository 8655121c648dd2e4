"""The panel of what has been seen: what is asked first, what becomes an observation."""

from __future__ import annotations

import datetime
import shutil
from pathlib import Path

import pytest

import riskkit as rk
from riskkit.home.home import load_home
from riskkit.home.observations import observation_kinds
from riskkit.quantities.units import UnitSystem
from riskkit.widgets.seen import SeenPanel
from riskkit.widgets.seen_fields import items, seen_groups
from riskkit.widgets.state import HomeState

DAY = datetime.date(2026, 4, 14)


@pytest.fixture
def state(demo_sites: Path, tmp_path: Path) -> HomeState:
    for data in demo_sites.glob("alder_bend_*.csv.gz"):
        shutil.copy(data, tmp_path)
    home = tmp_path / "home.toml"
    shutil.copy(demo_sites / "home_just_met.toml", home)
    state = HomeState(settings=rk.Settings(return_periods_yr=(10.0,), n_draws=16))
    state.open(home)
    return state


def test_the_owner_is_asked_first_and_every_field_belongs_to_its_observation() -> None:
    groups = seen_groups(items(with_tests=True), UnitSystem.US)
    assert groups[0]["title"] == "Ask the owner"
    assert [field["key"].split(".")[1] for field in groups[0]["fields"]] == [
        "how_often_dry", "how_often_spring", "how_often_heavy_rain", "floods", "alarms",
    ]  # fmt: skip
    for one in items(with_tests=True):
        row = observation_kinds()[one.kind]
        needs, may = row["needs"].split(), row["may"].split()
        assert set(needs) <= {*one.fields, *one.fixed} <= {*needs, *may}
    by_title = {group["title"]: group["cautions"] for group in groups}
    assert any(
        "power to the basement" in words for words in by_title["Hose into the pit, pump off"]
    )
    assert not any(
        one.kind in ("rise", "draw_down") for one in items(with_tests=False)
    )  # the form of a visit asks for them


def test_what_an_owner_says_stands_in_the_file_and_is_said_anew(state: HomeState) -> None:
    panel = SeenPanel(state, with_tests=True, today=DAY)
    assert state.path is not None
    assert panel.enter("how_often_spring", "often", "some times a day")
    assert panel.enter("floods", "times", "0")
    one, two = load_home(state.path).observation
    assert (one.kind, one.when, one.often, one.date) == (
        "how_often", "spring", "some times a day", DAY,
    )  # fmt: skip
    assert (two.kind, two.years, two.times) == ("floods", 10, 0)
    assert panel.owner.values["seen.floods.times"]["text"] == "0"
    assert panel.owner.values["seen.floods.times"]["taken"] == "entered 2026-04-14"
    later = SeenPanel(state, with_tests=True, today=DAY + datetime.timedelta(days=365))
    assert later.owner.values["seen.how_often_spring.often"]["text"] == "some times a day"
    assert later.enter("how_often_spring", "often", "never")
    assert [seen.often for seen in load_home(state.path).observation] == ["never", None]
    assert later.enter("how_often_spring", "often", "")  # don't know
    assert [seen.kind for seen in load_home(state.path).observation] == ["floods"]


def test_half_a_test_waits_and_a_second_one_stands_beside_the_first(state: HomeState) -> None:
    panel = SeenPanel(state, with_tests=True, today=DAY)
    for part, text in (("flow", "6"), ("begin", "19"), ("end", "6 in")):
        assert not panel.enter("hose_in_pit", part, text)
    assert state.home.observation == ()
    assert panel.form.values["seen.hose_in_pit.begin"]["text"] == "19"
    said = panel.form.values["seen.hose_in_pit.time"]["taken"]
    assert said == "counts once it is given: time between"
    assert panel.enter("hose_in_pit", "time", "4 min")
    (one,) = state.home.observation
    # a number alone is in the unit beside the field; 6 gpm are 3.785e-4 m3/s
    assert one.flow is not None and one.flow.value == pytest.approx(3.785e-4, rel=1e-3)
    assert one.begin is not None and one.begin.value == pytest.approx(0.4826)
    assert panel.enter("hose_in_pit", "time", "5 min")  # of the same day: set right
    assert len(state.home.observation) == 1
    later = SeenPanel(state, with_tests=True, today=DAY + datetime.timedelta(days=1))
    assert later.enter("hose_in_pit", "time", "6 min")
    assert [seen.date.day for seen in state.home.observation] == [14, 15]


@pytest.mark.parametrize(
    ("name", "part", "text", "words"),
    [
        ("counter", "since", "soon", "is not a date"),
        ("counter", "starts", "many", "is not a whole number"),
        ("high_water", "mark", "9 gpm", "is not a length"),
        ("high_water", "since", "2027-01-01", "is not before the date"),
    ],
)
def test_what_is_not_right_is_said_beside_its_field(
    name: str, part: str, text: str, words: str, state: HomeState
) -> None:
    panel = SeenPanel(state, with_tests=True, today=DAY)
    right = {"since": "2025-01-01", "starts": "3", "mark": "9 in"}
    (one,) = (item for item in panel.asked if item.id == name)
    for other in one.fields:
        if other in right and other != part:
            panel.enter(name, other, right[other])
    assert not panel.enter(name, part, text)
    assert words in panel.errors[f"seen.{name}.{part}"]
    assert panel.form.values[f"seen.{name}.{part}"]["error"]
    assert not any(seen.kind == name for seen in state.home.observation) or part == "starts"
    panel._forget()
    assert not panel.errors


def test_what_is_next_and_what_can_hurt_is_said(state: HomeState) -> None:
    panel = SeenPanel(state, with_tests=True, today=DAY)
    panel.enter("floods", "times", "0")
    said = str(panel.told.blocks)
    assert "What to look at next" in said and "off the spread of the time to the floor" in said
