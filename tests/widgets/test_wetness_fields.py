"""The soil by feel and the temperatures in the form; what the record says of the wetness."""

from __future__ import annotations

from pathlib import Path

from riskkit.assessment import Settings
from riskkit.home.home import Home, load_home
from riskkit.home.sections import FEELS
from riskkit.quantities.units import UnitSystem
from riskkit.widgets.fields import form_groups, form_values
from riskkit.widgets.listed import list_rain, list_temperatures
from riskkit.widgets.page import HomePage
from riskkit.widgets.state import HomeState

AIR = "alder_bend_temperature.csv.gz"


def test_feel_and_temperatures_are_fields_seldom_filled(demo_sites: Path) -> None:
    air = list_temperatures(demo_sites)
    assert air == [AIR] and AIR not in list_rain(demo_sites)
    groups = {g["title"]: g for g in form_groups(UnitSystem.US)}
    seldom = {f["key"]: f for g in groups.values() for f in g["seldom"]}
    asked = {f["key"]: f for g in groups.values() for f in g["fields"]}
    assert seldom["rain.temperature"]["kind"] == "select"
    values = form_values(Home(), UnitSystem.US, {}, {}, files={"rain.temperature": air})
    assert values["rain.temperature"]["options"] == [[AIR, AIR]]
    assert [option for option, _ in asked["ground.feel"]["options"]] == list(FEELS)
    assert asked["ground.feel"]["kind"] == "feel"


def test_the_form_says_what_the_record_tells(demo_sites: Path, tmp_path: Path) -> None:
    for name in ("home_just_met.toml", "alder_bend_rain.csv.gz", AIR):
        (tmp_path / name).write_bytes((demo_sites / name).read_bytes())
    state = HomeState(settings=Settings(n_draws=16))
    page = HomePage(state, "a page", tmp_path)
    state.open(tmp_path / "home_just_met.toml")
    taken = page.form.values["ground.saturation"]["taken"]
    assert "from 166 days before storms above 1.5 in" in taken
    state.change("ground.wetness", "wet")
    assert "wetness" in page.form.values["ground.saturation"]["taken"]
    state.change("ground.wetness", "unknown")
    state.change("ground.feel", "long mixed ribbon")
    assert "from 166 days" in page.form.values["ground.saturation"]["taken"]
    assert page.form.values["ground.feel"]["text"] == "long mixed ribbon"
    state.change("rain.temperature", None)
    assert "dry summers" in page.form.values["ground.saturation"]["taken"]
    assert load_home(tmp_path / "home_just_met.toml").rain.temperature is None
