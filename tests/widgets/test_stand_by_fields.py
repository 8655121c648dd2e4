"""What stands by the pump, the household and costs: typed into the form, kept in the home file."""

from __future__ import annotations

from pathlib import Path

import pytest

from riskkit.home.backup import RunsOn, backup_of
from riskkit.home.home import Home, load_home
from riskkit.quantities.backup import backup_choices, backup_quantities
from riskkit.quantities.units import UnitSystem
from riskkit.widgets.entered import home_value
from riskkit.widgets.fields import form_groups, form_values
from riskkit.widgets.stand_by_fields import stand_by_groups, stand_by_keys
from riskkit.widgets.state import HomeState

US, METRIC = UnitSystem.US, UnitSystem.METRIC
TYPED = {  # as a person types it, and what the home file then holds
    "pump.age": ("6", "6 yr"),
    "switch.float": ("caught", "caught"),
    "second_pump.runs_on": ("battery", "battery"),
    "second_pump.rated_flow": ("22", "22 gpm"),
    "battery.capacity": ("90 Ah, measured", "90 Ah, measured"),
    "generator.starts": ("by hand", "by hand"),
    "generator.fuel": ("5", "5 gal"),
    "mains_water.source": ("well", "well"),
    "place.area": ("maine", "maine"),
    "household.away": ("9", "9 h"),
    "household.asleep": ("7 h", "7 h"),
    "household.service_travel": ("80", "80 min"),
    "household.can_act": ("30", "30 %"),
    "costs.loss": ("own", "own"),
    "costs.currency": ("eur", "EUR"),
    "costs.price_year": ("2025", "2025"),
    "costs.flood": ("12,500", "12500.0"),
}


def text(home: Home, key: str, system: UnitSystem = US) -> str:
    return str(form_values(home, system, {}, {})[key]["text"])


def held(home: Home, key: str) -> str:
    section, _, name = key.partition(".")
    found = getattr(getattr(home, section), name)
    return str(getattr(found, "text", found))


@pytest.fixture
def state(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> HomeState:
    monkeypatch.setattr(HomeState, "_answer", lambda _: None)  # of fields alone
    state = HomeState()
    state.create(Home(), tmp_path / "home.toml")
    return state


def test_every_key_of_the_tables_stands_in_the_form_once() -> None:
    keys = stand_by_keys()
    assert len(keys) == len(set(keys))
    assert {*backup_quantities(), *backup_choices()} <= set(keys)
    groups = form_groups(US)
    every = [f["key"] for group in groups for f in (*group["fields"], *group["seldom"])]
    assert len(every) == len(set(every)) and set(keys) < set(every)
    assert {group["step"] for group in stand_by_groups(US)} == {2}


def test_what_is_typed_is_kept_and_taken_back(state: HomeState) -> None:
    before = state.home
    for key, (typed, kept) in TYPED.items():
        assert state.change(key, home_value(key, {"text": typed}, US)), state.errors
        assert held(state.home, key) == kept, key
    assert backup_of(state.home).runs_on is RunsOn.BATTERY
    assert state.path is not None and load_home(state.path) == state.home
    for key in TYPED:
        assert state.change(key, home_value(key, {"text": ""}, US)), state.errors
    assert state.home == before
    state.undo()
    assert text(state.home, "costs.flood") == "12,500"


def test_a_field_shows_what_the_file_holds_in_the_units_of_the_reader() -> None:
    home = Home().changed(
        second_pump={"runs_on": "battery", "rated_flow": "20 gpm"},
        household={"away": "9 h", "hears_awake": "80 %"},
        costs={"flood": 12500, "currency": "EUR", "price_year": 2025},
    )
    assert text(home, "second_pump.runs_on") == "battery"
    assert text(home, "second_pump.rated_flow") == "20 gpm"
    assert text(home, "second_pump.rated_flow", METRIC) == "1.26 L/s"  # 20 x 3.785 / 60
    assert text(home, "household.hears_awake") == "80 %"
    assert [text(home, f"costs.{key}") for key in ("flood", "currency", "price_year")] == [
        "12,500", "EUR", "2025",
    ]  # fmt: skip


def test_what_is_assumed_is_told_of_what_is_there_alone() -> None:
    def told(home: Home) -> set[str]:
        values = form_values(home, US, {}, {})
        return {key for key in stand_by_keys() if values[key]["taken"]}

    bare = told(Home())
    assert bare == {"pump.age", "household.hears", "household.can_act", "household.acts_after"}
    battery = told(Home().changed(second_pump={"runs_on": "battery"})) - bare
    assert {"battery.capacity", "second_pump.rated_flow"} <= battery
    assert not any(key.startswith(("generator", "mains_water")) for key in battery)
    hours = told(Home().changed(household={"away": "9 h"}))
    assert "household.hears" not in hours and "household.asleep" in hours
    travel = told(Home().changed(household={"service_travel": "90 min"}))
    assert "household.calls_service" in travel


@pytest.mark.parametrize(
    ("key", "typed", "said"),
    [
        ("battery.capacity", "24 in", "is not a"),
        ("second_pump.runs_on", "steam", "steam"),
        ("household.away", "30 h", "24"),
        ("costs.flood", "much", "no amount of money"),
        ("costs.currency", "dollars", "three capitals"),
        ("costs.price_year", "next", "no year of prices"),
        ("place.area", "atlantis", "atlantis"),
    ],
)
def test_what_cannot_be_is_refused_beside_its_field(
    state: HomeState, key: str, typed: str, said: str
) -> None:
    assert not state.change(key, home_value(key, {"text": typed}, US))
    assert said in state.errors[key]
    shown = form_values(state.home, US, state.typed, state.errors)[key]
    assert shown["error"] == state.errors[key] and shown["text"].lower() == typed
