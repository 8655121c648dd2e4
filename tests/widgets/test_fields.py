"""The form is made from the dictionary of quantities, and leaves none out."""

from __future__ import annotations

import re
import shutil
from pathlib import Path
from typing import Any

import pytest

from riskkit.cli.main import main
from riskkit.errors import InputError
from riskkit.home.home import Home, load_home
from riskkit.home.saving import save_home
from riskkit.quantities.quantity import examples, read_quantity
from riskkit.quantities.units import UnitSystem, parse_quantity, system_of, with_unit
from riskkit.quantities.variables import choices, variables
from riskkit.widgets.app import estimator
from riskkit.widgets.fields import form_groups, form_values, known_counts, shown_text
from riskkit.widgets.listed import list_rain, list_tables
from riskkit.widgets.state import HomeState


def fields() -> dict[str, dict[str, object]]:
    groups = form_groups(UnitSystem.US)
    return {f["key"]: f for group in groups for part in ("fields", "seldom") for f in group[part]}


def test_every_quantity_and_choice_has_one_field_and_a_value() -> None:
    keys = [
        f["key"]
        for group in form_groups(UnitSystem.US)
        for part in ("fields", "seldom")
        for f in group[part]
    ]
    assert len(keys) == len(set(keys))
    assert set(keys) >= {*variables(), *choices(), "ground.soil", "ground.backfill", "name"}
    assert form_values(Home(), UnitSystem.US, {}, {}).keys() == set(keys)


def test_every_field_has_words_and_its_unit() -> None:
    for key, field in fields().items():
        assert field["label"]
        if key in variables():
            assert field["unit"] in (variables()[key].us_unit, "")


@pytest.mark.parametrize("system", UnitSystem)
def test_what_a_form_shows_can_be_entered_again(demo_sites: Path, system: UnitSystem) -> None:
    """Showing a value in other units and typing it again moves it by no more than its digits."""
    for path in demo_sites.glob("*.toml"):
        home = load_home(path)
        for key, item in variables().items():
            quantity = home.quantity(key)
            if quantity is None:
                continue
            text = shown_text(quantity, item, system)
            again = read_quantity(with_unit(text, item.shown_unit(system)), item, key)
            assert again is not None
            assert again.value == pytest.approx(quantity.value, rel=5e-3)


def test_unknown_says_what_is_taken_instead() -> None:
    values = form_values(Home(), UnitSystem.US, {}, {})
    assert values["pit.depth"]["known"] is False
    assert values["pit.depth"]["taken"].startswith("taken as about 24 in (20 to 31 in)")
    assert values["pit.length"]["taken"] == "used only when given"


def test_a_share_without_unit_is_shown_in_per_cent() -> None:
    item = variables()["roof.at_wall"]
    quantity = read_quantity(0.3, item, "here")
    assert quantity is not None
    assert shown_text(quantity, item, UnitSystem.US) == "30 %"


def test_counts_of_what_is_known(demo_sites: Path) -> None:
    nothing = known_counts(Home())
    assert all(row["known"] == 0 for row in nothing)
    full = {row["title"]: row for row in known_counts(
        load_home(demo_sites / "split_level_on_clay.toml"))}  # fmt: skip
    assert full["House"] == {"title": "House", "known": 3, "of": 3}
    assert full["Discharge pipe"]["known"] == full["Discharge pipe"]["of"]
    curve = {row["title"]: row for row in known_counts(
        load_home(demo_sites / "row_house_near_creek.toml"))}  # fmt: skip
    assert curve["Pump"]["known"] == 3
    none = {row["title"]: row for row in known_counts(Home().changed(pump__rated_flow="none"))}
    assert none["Pump"]["known"] == 3  # nothing of a pump that is not there is unknown
    assert none["Discharge pipe"]["known"] == none["Discharge pipe"]["of"]
    assert none["Float and alarm"]["known"] == 2


def test_every_field_takes_a_value_and_unknown() -> None:
    """Each quantity can be set to its middle and back, through the text of the form."""
    for key, item in variables().items():
        state = HomeState()
        text = item.text(item.unknown.p50, UnitSystem.METRIC)
        if key in ("pit.length", "pit.width", "pit.bottom_diameter"):
            continue  # only together with others
        assert state.change(key, text), (key, text, state.errors)
        assert state.change(key, "unknown")
        assert state.home.quantity(key) is None


@pytest.mark.parametrize(
    ("text", "key", "shown"),
    [
        ("18 inches", "pit.diameter", "45.7 cm"),
        ("22 feet", "pipe.length", "6.7 m"),
        ("150 foot", "house.perimeter", "45.7 m"),
        ("2580 gph", "pump.rated_flow", "2.71 L/s"),
        ("5' 6", "pipe.outlet_height", "1.68 m"),
        ("120 to 1,400 sq ft", "house.basement_area", "11.1 to 130 m2"),
    ],
)
def test_every_us_unit_is_shown_in_metric(text: str, key: str, shown: str) -> None:
    item = variables()[key]
    quantity = read_quantity(text, item, "here")
    assert quantity is not None
    assert system_of(text) is UnitSystem.US
    assert shown_text(quantity, item, UnitSystem.METRIC) == shown
    assert shown_text(quantity, item, UnitSystem.US) == text


def test_a_range_in_other_units_has_no_more_digits_than_needed() -> None:
    item = variables()["house.basement_area"]
    quantity = read_quantity("8 to 12.1 m2", item, "here")
    assert quantity is not None
    assert shown_text(quantity, item, UnitSystem.US) == "86 to 130 ft2"
    assert fields()["house.basement_area"]["help"] == "Between 90 ft2 and 10,000 ft2."


def test_the_example_of_a_message_is_right_for_its_field() -> None:
    for item in variables().values():
        for text in examples(item):
            assert read_quantity(text, item, item.key) is not None
    assert examples(variables()["pit.depth"]) == ("24 in", "61 cm", "20 to 31 in")
    assert examples(variables()["pipe.elbows"]) == ("3", "2 to 5")


@pytest.mark.parametrize(
    ("text", "key", "words"),
    [
        ("about 20", "pit.diameter", 'write it like "18 in", "46 cm", "15 to 24 in" or "unknown"'),
        ("2.5", "pipe.elbows", '2.5 is not a whole number; write it like "3", "2 to 5" or'),
    ],
)
def test_a_refusal_shows_what_the_field_takes(text: str, key: str, words: str) -> None:
    with pytest.raises(InputError, match=re.escape(words)):
        read_quantity(text, variables()[key], key)


@pytest.mark.parametrize(
    ("text", "unit", "value"),
    [
        ("5' 6", "m", 1.6764),
        ("5ft6in", "m", 1.6764),
        ("5 ft 6 1/2 in", "m", 1.6891),
        ("12 ft 3", "m", 3.7338),
        ("640 ft2", "m2", 59.4579),
        ("4 min 30", "s", 270),
        ("1 h 30 min", "s", 5400),
    ],
)
def test_two_units_in_one_value(text: str, unit: str, value: float) -> None:
    assert parse_quantity(text, unit, "here") == pytest.approx(value)


def test_a_size_that_the_bore_overrules_is_said() -> None:
    def said(**values: str) -> object:
        home = Home().changed(**{f"pipe__{key}": text for key, text in values.items()})
        return form_values(home, UnitSystem.US, {}, {})["pipe.size"]["taken"]

    assert said(size="1-1/2 in", bore="1.61 in") == ""  # they agree
    words = "not used: inside diameter of the discharge pipe is given as 1.61 in"
    assert said(size="2 in", bore="1.61 in") == words


def test_check_says_which_of_two_is_used(
    tmp_path: Path, demo_sites: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    for data in demo_sites.glob("*.csv.gz"):
        shutil.copy(data, tmp_path)
    home = load_home(demo_sites / "bungalow_on_sand.toml")
    path = tmp_path / "home.toml"
    save_home(home.changed(pipe__size="2 in", pipe__bore="1.61 in"), path)
    assert main(["check", str(path)]) == 0
    assert capsys.readouterr().out == (
        'home.toml: nothing is wrong.\nhome.toml, pipe.size: "2 in" is not used, '
        'for pipe.bore = "1.61 in" says otherwise.\n'
    )


TABLE = """# unit: in
# series: annual maximum
duration,2 yr,10 yr,100 yr
1 h,1.5,2.2,3.3
24 h,3,4.5,6.8
"""


def test_only_what_begins_like_a_table_is_offered_as_one(homes: Path) -> None:
    (homes / "table.csv").write_text(TABLE, "utf-8")
    (homes / "notes.csv").write_text("nothing\n", "utf-8")
    (homes / "atlas.csv").write_text("Point precipitation frequency estimates (inches)\n", "utf-8")
    assert list_tables(homes) == ["atlas.csv", "table.csv"]
    assert list_rain(homes) == ["alder_bend_rain.csv.gz", "notes.csv"]
    (homes / "atlas.csv").unlink()
    page = estimator(homes / "bungalow_on_sand.toml", homes)
    assert page.form.values["rain.table"]["options"] == [["table.csv", "table.csv"]]
    page.state.change("rain.table", "table.csv")
    assert page.details.view["sentence"]


def test_none_has_a_button_and_leaves_the_rest_unused() -> None:
    shown = fields()
    for key, words in (
        ("switch.alarm", "no alarm"), ("pump.rated_flow", "no pump"),
        ("gravel.thickness", "no gravel"), ("pit.diameter", "no pit"),
    ):  # fmt: skip
        assert shown[key]["absent"] == words
        home = Home().changed(**{key.replace(".", "__"): words})
        value = form_values(home, UnitSystem.US, {}, {})[key]
        assert value["absent"] and value["known"] and value["text"] == "none"
    assert "absent" not in shown["switch.on"]
    options: Any = shown["pipe.check_valve"]["options"]
    assert ["none", "no check valve"] in options
    bare = Home().changed(pump__rated_flow="none", pump__rated_head="10 ft")
    values = form_values(bare, UnitSystem.US, {}, {})
    assert values["pump.rated_head"]["taken"] == "not used: no pump"
    assert "absent" not in form_values(Home(), UnitSystem.US, {}, {})["switch.alarm"]

    def known(home: Home) -> int:
        return next(row["known"] for row in known_counts(home) if row["title"] == "Float and alarm")

    assert known(Home().changed(switch__alarm="none")) == known(Home()) + 1
