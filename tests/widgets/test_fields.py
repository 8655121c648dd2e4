"""The form is made from the dictionary of quantities, and leaves none out."""

from __future__ import annotations

from pathlib import Path

import pytest

from riskkit.quantity import read_quantity
from riskkit.site import Site, load_site
from riskkit.units import UnitSystem
from riskkit.variables import choices, variables
from riskkit.widgets.fields import completed, form_groups, form_values, known_counts, shown_text
from riskkit.widgets.state import HomeState


def fields() -> dict[str, dict[str, object]]:
    groups = form_groups(UnitSystem.US, ["rain.csv"])
    return {f["key"]: f for group in groups for part in ("fields", "seldom") for f in group[part]}


def test_every_quantity_and_choice_has_one_field_and_a_value() -> None:
    keys = [
        f["key"]
        for group in form_groups(UnitSystem.US, [])
        for part in ("fields", "seldom")
        for f in group[part]
    ]
    assert len(keys) == len(set(keys))
    assert set(keys) >= {*variables(), *choices(), "ground.soil", "ground.backfill", "name"}
    assert form_values(Site(), UnitSystem.US, {}, {}).keys() == set(keys)


def test_every_field_has_words_and_its_unit() -> None:
    for key, field in fields().items():
        assert field["label"]
        if key in variables():
            assert field["unit"] in (variables()[key].us_unit, "")


@pytest.mark.parametrize("system", UnitSystem)
def test_what_a_form_shows_can_be_entered_again(demo_sites: Path, system: UnitSystem) -> None:
    """Showing a value in other units and typing it again moves it by no more than its digits."""
    for path in demo_sites.glob("*.toml"):
        site = load_site(path)
        for key, item in variables().items():
            quantity = site.quantity(key)
            if quantity is None:
                continue
            text = shown_text(quantity, item, system)
            again = read_quantity(completed(text, item, system), item, key)
            assert again is not None
            assert again.value == pytest.approx(quantity.value, rel=5e-3)


def test_unknown_says_what_is_taken_instead() -> None:
    values = form_values(Site(), UnitSystem.US, {}, {})
    assert values["pit.depth"]["known"] is False
    assert values["pit.depth"]["taken"].startswith("taken as about 24 in (20 to 31 in)")
    assert values["pit.length"]["taken"] == "used only when given"


def test_a_share_without_unit_is_shown_in_per_cent() -> None:
    item = variables()["roof.at_wall"]
    quantity = read_quantity(0.3, item, "here")
    assert quantity is not None
    assert shown_text(quantity, item, UnitSystem.US) == "30 %"


def test_counts_of_what_is_known(demo_sites: Path) -> None:
    nothing = known_counts(Site())
    assert all(row["known"] == 0 for row in nothing)
    full = {row["title"]: row for row in known_counts(
        load_site(demo_sites / "split_level_on_clay.toml"))}  # fmt: skip
    assert full["House"] == {"title": "House", "known": 3, "of": 3}
    assert full["Discharge pipe"]["known"] == full["Discharge pipe"]["of"]
    curve = {row["title"]: row for row in known_counts(
        load_site(demo_sites / "row_house_near_creek.toml"))}  # fmt: skip
    assert curve["Pump"]["known"] == 3


def test_every_field_takes_a_value_and_unknown() -> None:
    """Each quantity can be set to its middle and back, through the text of the form."""
    for key, item in variables().items():
        state = HomeState()
        text = completed(item.text(item.unknown.p50, UnitSystem.METRIC), item, UnitSystem.METRIC)
        if key in ("pit.length", "pit.width", "pit.bottom_diameter"):
            continue  # only together with others
        assert state.change(key, text), (key, text, state.errors)
        assert state.change(key, "unknown")
        assert state.site.quantity(key) is None
