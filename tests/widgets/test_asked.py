"""What is asked by eye, and the keys of the home file that it sets, there and back."""

from __future__ import annotations

from typing import Any

import pytest

from riskkit.errors import InputError
from riskkit.home.home import Home
from riskkit.quantities.units import UnitSystem
from riskkit.widgets.asked import ASKED, asked_text, with_reader_units
from riskkit.widgets.fields import form_groups, form_values, known_counts
from riskkit.widgets.homefile import changed_site
from riskkit.widgets.state import HomeState

US, METRIC = UnitSystem.US, UnitSystem.METRIC


def test_nothing_known_shows_nothing() -> None:
    assert {asked_text(key, Home(), US) for key in ASKED} == {""}


def test_a_house_of_40_by_28_feet() -> None:
    # around it 2 (40 + 28) = 136 ft = 41.45 m; its floor 1120 ft2 = 104.05 m2; the roof 0.3 m wider
    # on each side: (12.192 + 0.6) (8.534 + 0.6) = 116.8 m2
    text = with_reader_units("house.paced", "40 x 28", US)
    home = changed_site(Home(), {"house.paced": text})
    found = {
        key: home.quantity(key) for key in ("house.perimeter", "house.basement_area", "roof.area")
    }
    values = [quantity.value for quantity in found.values() if quantity is not None]
    assert values == pytest.approx([41.45, 104.05, 116.8], rel=1e-3)
    assert all(quantity is not None and quantity.is_rough for quantity in found.values())
    assert asked_text("house.paced", home, US) == "40 x 28"
    assert asked_text("house.paced", home, METRIC) == "12.2 x 8.55"
    longer = changed_site(home, {"house.paced": "50 ft x 28 ft"})
    # the roof follows: (15.24 + 0.6) (8.534 + 0.6) = 144.7 m2
    assert longer.quantity("roof.area").value == pytest.approx(144.7, rel=1e-3)  # type: ignore[union-attr]  # it is there
    measured = changed_site(home, {"roof.area": "1500 ft2", "house.paced": "50 ft x 28 ft"})
    assert measured.quantity("roof.area").text == "1500 ft2"  # type: ignore[union-attr]  # it is there
    forgotten = changed_site(longer, {"house.paced": "unknown"})
    assert forgotten == Home()


@pytest.mark.parametrize("system", UnitSystem)
@pytest.mark.parametrize(
    ("typed", "around_m", "floor_m2"),
    [  # 2 (12 + 8.5) m and 12 x 8.5 m2; 2 (40 + 28) ft and 40 x 28 ft2
        ("12 x 8.5 m", 41.0, 102.0),
        ("12 m x 8.5", 41.0, 102.0),
        ("12 m x 8.5 m", 41.0, 102.0),
        ("40 x 28 ft", 136 * 0.3048, 1120 * 0.3048**2),
        ("40' x 28'", 136 * 0.3048, 1120 * 0.3048**2),
        ("40 FT X 28 FT", 136 * 0.3048, 1120 * 0.3048**2),
        ("40 x 28 ft 6 in", 137 * 0.3048, 40 * 28.5 * 0.3048**2),
        ("12 m x 28 ft", 2 * (12 + 28 * 0.3048), 12 * 28 * 0.3048),
    ],
)
def test_a_unit_that_is_written_once_is_meant_for_both_sides(
    typed: str, around_m: float, floor_m2: float, system: UnitSystem
) -> None:
    home = changed_site(Home(), {"house.paced": with_reader_units("house.paced", typed, system)})
    around, floor = home.quantity("house.perimeter"), home.quantity("house.basement_area")
    assert around is not None and floor is not None
    assert (around.value, floor.value) == pytest.approx((around_m, floor_m2), rel=1e-3)


def test_what_was_measured_stays_when_sides_are_typed_or_cleared() -> None:
    home = Home().changed(
        house__perimeter="138 ft, measured", house__basement_area="1058 ft2", roof__area="1300 ft2"
    )
    assert asked_text("house.paced", home, US) == ""  # not an invented 46 x 23
    for typed in ("unknown", "40 ft x 28 ft"):
        changed = changed_site(home, {"house.paced": typed})
        kept = changed.quantity("house.perimeter")
        assert kept is not None and kept.text == "138 ft, measured"
    floor = changed.quantity("house.basement_area")
    assert floor is not None and floor.value == pytest.approx(1120 * 0.3048**2, rel=1e-3)


def test_a_field_that_other_fields_tell_says_so_and_does_not_count_as_unknown() -> None:
    """Beside "3 of 3 known" no field of the same group may look as if nobody knew it."""
    home = Home().changed(
        house__perimeter="138 ft, measured", house__basement_area="1058 ft2",
        house__depth_below_ground="6 ft", roof__at_wall="30 %", roof__to_drain="0 %",
        ground__well_area="12 ft2",
    )  # fmt: skip
    counts = {row["title"]: (row["known"], row["of"]) for row in known_counts(home)}
    assert counts["House"] == (3, 3)
    values = form_values(home, US, {}, {})
    for key in ("house.paced", "roof.downspouts", "ground.wells"):
        assert values[key]["text"] == ""
        assert values[key]["known"], key
    told = values["house.paced"]["taken"]
    assert told.startswith("no entry needed; under “More, seldom known”: ")
    assert "138 ft" in told
    assert "1058 ft2" in told
    half = form_values(Home().changed(house__perimeter="138 ft, measured"), US, {}, {})
    assert not half["house.paced"]["known"]  # the floor is still open
    paced = form_values(changed_site(Home(), {"house.paced": "40 ft x 28 ft"}), US, {}, {})
    assert paced["house.paced"]["taken"] == ""


def test_sides_beside_a_measured_wall_that_they_contradict_are_told() -> None:
    """40 x 28 = 1120 ft2; around as much floor goes at least 2 sqrt(1120 pi) = 118.6 ft of wall."""
    for wall, is_short in (("118 ft", True), ("119 ft", False)):
        home = Home().changed(house__perimeter=f"{wall}, measured")
        values = form_values(changed_site(home, {"house.paced": "40 ft x 28 ft"}), US, {}, {})
        told = values["house.paced"]["taken"]
        assert wall in told
        assert ("so short a wall does not go around so much floor" in told) == is_short


def test_sides_between_which_a_measured_floor_has_no_room_are_refused() -> None:
    home = Home().changed(house__basement_area="1500 ft2, measured")
    with pytest.raises(InputError) as refused:
        changed_site(home, {"house.paced": "40 ft x 28 ft"})
    assert refused.value.where == "house.paced"
    assert "1500 ft2, measured, house.basement_area" in refused.value.what
    wing = Home().changed(house__basement_area="900 ft2, measured")  # a corner is left out
    assert changed_site(wing, {"house.paced": "40 ft x 28 ft"}) != wing


@pytest.mark.parametrize(
    ("typed", "says"),
    [("41.2, 88.6", "east or west"), ("41.2 N 88.6", "east or west"),
     ("-41.2 S, 88.6 W", "a sign and a letter"), ("41.2, -88.6 W", "a sign and a letter")],
)  # fmt: skip
def test_a_place_that_could_lie_on_the_other_side_of_the_earth_is_asked_again(
    typed: str, says: str
) -> None:
    with pytest.raises(InputError, match=says):
        changed_site(Home(), {"place.town": typed})


def test_a_basement_that_is_no_rectangle_shows_no_sides() -> None:
    # a rectangle around which are 40 m holds at most 100 m2
    home = Home().changed(house__perimeter="40 m", house__basement_area="120 m2")
    assert asked_text("house.paced", home, METRIC) == ""


@pytest.mark.parametrize(
    ("typed", "at_wall", "to_drain", "shown"),
    [
        ("6, 4, 1", "4 of 6", "1 of 6", "6, 4, 1"),
        ("6, 4, ", "4 of 6", None, "6, 4, "),
        ("5, 0, 0", "0 of 5", "0 of 5", "5, 0, 0"),
        ("", None, None, ""),
    ],
)
def test_downspouts(typed: str, at_wall: str | None, to_drain: str | None, shown: str) -> None:
    home = changed_site(Home(), {"roof.downspouts": typed})
    for key, text in (("roof.at_wall", at_wall), ("roof.to_drain", to_drain)):
        found = home.quantity(key)
        assert (None if found is None else found.text) == text
    assert asked_text("roof.downspouts", home, US) == shown


def test_three_window_wells() -> None:
    home = changed_site(Home(), {"ground.wells": "3"})
    assert home.quantity("ground.well_area").value == pytest.approx(1.2)  # type: ignore[union-attr]  # 3 x 0.4 m2
    assert asked_text("ground.wells", home, METRIC) == "3"
    assert changed_site(home, {"ground.wells": "0"}).quantity("ground.well_area").value == 0.0  # type: ignore[union-attr]  # it is there
    assert changed_site(home, {"ground.wells": ""}) == Home()


@pytest.mark.parametrize(
    ("typed", "place"),
    [
        ("41.2, -88.6", (41.2, -88.6)),
        ("41.2 N, 88.6 W", (41.2, -88.6)),
        ("33 s 151.2 e", (-33.0, 151.2)),
        ("", (None, None)),
    ],
)
def test_where_a_home_stands(typed: str, place: tuple[Any, Any]) -> None:
    home = changed_site(Home(), {"place.town": typed})
    assert (home.place.latitude, home.place.longitude) == place
    again = changed_site(home, {"place.town": asked_text("place.town", home, US)})
    assert again.place == home.place


@pytest.mark.parametrize(
    ("key", "typed", "said"),
    [
        ("house.paced", "40", "is not a length and a width"),
        ("house.paced", "40 gal x 28 ft", "is not a length"),
        ("roof.downspouts", "4, 3, 2", "5 of 4 downspouts cannot be"),
        ("roof.downspouts", ", 3, 2", "how many there are in all is missing"),
        ("roof.downspouts", "many, 1, 1", "'many' is not a count from 0 to 40"),
        ("ground.wells", "-1", "'-1' is not a count"),
        ("roof.downspouts", "9" * 5000, "is not a count from 0 to 40"),
        ("ground.wells", "²", "'²' is not a count"),
        ("ground.wells", "\u0663", "is not a count"),  # a digit, but not one of ours
        ("place.town", "Nowhere at all", "is neither a town of the list nor a latitude"),
        ("place.town", "141.2, 3", "90"),
    ],
)
def test_what_is_wrong_is_said_on_its_own_field(key: str, typed: str, said: str) -> None:
    with pytest.raises(InputError):
        changed_site(Home(), {key: typed})
    state = HomeState()
    assert not state.change(key, typed)
    assert said in state.errors[key]
    assert state.typed[key] == typed


def test_a_rectangular_pit_takes_its_sides_one_after_the_other() -> None:
    state = HomeState()
    assert not state.change("pit.length", "20 in")
    assert "pit" in state.errors["pit.length"].lower()
    assert state.change("pit.width", "18 in")  # what waited for it is taken in too
    assert not state.errors and not state.typed
    assert asked_text("pit.shape", state.home, US) == "rectangular"
    state.undo()
    assert state.home.quantity("pit.length") is None and state.home.quantity("pit.width") is None


def test_the_shape_decides_which_size_is_asked_for() -> None:
    def hidden(home: Home, shape: str = "") -> list[bool]:
        values = form_values(home, US, {}, {}, shape=shape)
        return [values[key]["hidden"] for key in ("pit.diameter", "pit.length", "pit.width")]

    round_pit = Home().changed(pit__diameter="18 in")
    assert hidden(Home()) == hidden(round_pit) == [False, True, True]
    assert hidden(Home(), "rectangular") == [True, False, False]
    assert hidden(changed_site(round_pit, {"pit.shape": "rectangular"}), "rectangular") == [
        True, False, False,
    ]  # fmt: skip
    square = Home().changed(pit__length="20 in", pit__width="18 in")
    assert hidden(square) == [True, False, False]
    assert changed_site(square, {"pit.shape": "round"}) == Home()


def test_about_fifteen_questions_come_first_and_each_field_stands_once() -> None:
    groups = form_groups(US)
    seen = [f["key"] for group in groups if group["step"] == 1 for f in group["fields"]]
    sizes = {"pit.diameter", "pit.length", "pit.width"}
    assert 15 <= len([key for key in seen if key not in {"name", "note", *sizes}]) <= 20
    every = [f["key"] for group in groups for f in (*group["fields"], *group["seldom"])]
    assert len(every) == len(set(every))
