"""Where the parts of the section stand, on cases that a person can measure with a ruler."""

from __future__ import annotations

from itertools import pairwise
from pathlib import Path
from typing import Any

import pytest

from riskkit.home.home import load_home
from riskkit.quantities.units import UnitSystem
from riskkit.report.section_data import complete_section, level_words, section_of
from riskkit.report.section_geometry import FAR_M, beside_water, geometry_of, half_width_m

# pit 0.66 m deep and 0.46 m wide; the wall stands 0.73 to 0.98 m left of its middle
SECTION: dict[str, Any] = {
    "units": "us", "ground_m": 1.7, "outlet_m": 2.3, "drain_m": -0.2, "gravel_m": 0.1,
    "slab_m": 0.1,
    "pit": {"depth_m": 0.66, "width_m": 0.46, "bottom_width_m": 0.4},
    "switch": {"on_m": -0.33, "off_m": -0.53, "alarm_m": -0.15}, "water_table_m": None,
    "labels": {},
}  # fmt: skip
WALL_M = -0.98


def pipe(**changes: Any) -> dict[str, Any]:
    found: dict[str, Any] = complete_section(SECTION | changes)["geometry"]["pipe"]
    return found


def test_the_pit_is_as_wide_as_it_is_told_at_rim_and_bottom() -> None:
    pit = SECTION["pit"]
    assert [half_width_m(pit, level) for level in (0.0, -0.33, -0.66)] == pytest.approx(
        [0.23, 0.215, 0.2]
    )


def test_the_wall_stands_beside_the_pit() -> None:
    found = geometry_of(complete_section(SECTION))
    assert (found["inner_m"], found["outer_m"]) == pytest.approx((-0.73, WALL_M))
    assert found["drain_m"] == pytest.approx([-0.2, -0.1])


@pytest.mark.parametrize("outlet", ["near", "far", "piped away", "unknown"])
def test_the_pipe_goes_from_the_pump_up_and_through_the_wall(outlet: str) -> None:
    way = pipe(outlet=outlet)
    assert way["inside"][1][1] == way["inside"][2][1] == way["outside"][0][1] == 2.3
    assert way["inside"][2][0] == way["outside"][0][0] == pytest.approx(WALL_M)
    assert all(x <= WALL_M + 1e-9 for x, _ in way["outside"])


def test_near_it_ends_within_two_metres_above_the_ground() -> None:
    way = pipe(outlet="near")
    x, y = way["spout"]
    assert 0 < WALL_M - x < 2.0 and 1.7 < y < 1.8
    assert way["break"] is None and way["arrow"] is None


def test_far_it_ends_beyond_a_break_on_the_ground() -> None:
    way = pipe(outlet="far")
    assert way["spout"][0] < way["break"][0] < WALL_M
    assert 1.7 < way["spout"][1] < 1.8 and way["arrow"] is None


def test_piped_away_it_leaves_the_picture_below_the_ground() -> None:
    way = pipe(outlet="piped away")
    assert way["spout"] is None and way["arrow"] is not None
    assert way["outside"][-1] == [-FAR_M, pytest.approx(1.45)]


def test_a_pipe_through_the_wall_below_the_ground_comes_out_of_sight() -> None:
    for outlet in ("near", "far", "piped away", "unknown"):
        way = pipe(outlet=outlet, outlet_m=0.4)
        assert way["spout"] is None and way["outside"][-1] == [-FAR_M, 0.4]


def test_ground_water_is_drawn_down_to_the_drain() -> None:
    found = geometry_of(complete_section(SECTION | {"water_table_m": 0.8}))
    curve = found["water_table"]
    assert curve[-1] == pytest.approx([found["drain_x_m"], -0.2])
    assert curve[0] == pytest.approx([-FAR_M, 0.8])
    # at a quarter of the three metres it has risen by half: a square root
    (halfway,) = [y for x, y in curve if x == pytest.approx(found["drain_x_m"] - 0.75)]
    assert halfway == pytest.approx(0.3)


def test_water_beside_the_wall_fills_the_fill_from_the_drain_up() -> None:
    """The fill is 42 cm wide 5 cm below the drain, and 90 cm wide at the ground, 1.95 m higher."""
    beside = geometry_of(complete_section(SECTION))["beside"]
    wide = {level: 0.42 + (level + 0.25) / 1.95 * 0.48 for level in (-0.2, -0.1, 0.1, 1.7)}
    for level in (-0.1, 0.1, 1.7):
        low_wall, low_edge, high_edge, high_wall = beside_water(beside, level)
        assert low_wall == pytest.approx([WALL_M, -0.2])
        assert low_edge == pytest.approx([WALL_M - wide[-0.2], -0.2])
        assert high_edge == pytest.approx([WALL_M - wide[level], level])
        assert high_wall == pytest.approx([WALL_M, level])
    assert beside_water(beside, 3.0) == beside_water(beside, 1.7)  # it stands no higher than ground
    assert beside_water(beside, -0.2) == beside_water(beside, -0.5) == []


def test_water_beside_the_wall_lies_within_the_fill_and_behind_the_wall() -> None:
    found = geometry_of(complete_section(SECTION))
    (fill,) = [shape["points"] for shape in found["shapes"] if shape.get("paint") == "fill"]
    assert fill[1:3] == found["beside"]["edge"][::-1]
    slots = [shape.get("slot", shape.get("paint")) for shape in found["shapes"]]
    # painted after the fill, and before the concrete of wall and footing and the drain
    assert slots.index("fill") < slots.index("fill-water") < slots.index("concrete")
    assert slots.index("fill-water") < slots.index("drain")
    assert slots.index("concrete") < slots.index("joint-water") < slots.index("grass")


def test_water_comes_under_the_wall_to_the_joint_of_wall_and_floor() -> None:
    """Under the wall, 25 cm thick, at the underside of the slab, and up its inner face."""
    way = geometry_of(complete_section(SECTION))["beside"]["joint"]
    assert way == [[pytest.approx(-0.98), -0.1], [pytest.approx(-0.73), -0.1],
                   [pytest.approx(-0.73), 0.0]]  # fmt: skip


def test_the_label_of_the_gravel_keeps_off_the_line_of_the_alarm() -> None:
    """Gravel from 10 to 20 cm, the alarm at 15: a fifth of the way down or up, not the middle."""
    at = complete_section(SECTION)["geometry"]["gravel_m"]
    assert at in (pytest.approx(-0.12), pytest.approx(-0.18))
    switch = SECTION["switch"] | {"alarm_m": -0.02}
    far = complete_section(SECTION | {"switch": switch})["geometry"]["gravel_m"]
    assert far == pytest.approx(-0.18)  # 15 cm from the alarm at 2 cm and from the pump at 33


@pytest.mark.parametrize(
    ("key", "level_m", "state", "words"),
    [
        ("floor", 0.0, "known", "basement floor"),
        ("on", -0.3048, "known", "pump starts, 12 in"),
        ("on", -0.3175, "known", "pump starts, 12.5 in"),
        ("off", -0.5, "assumed", "pump stops, 19.7 in, assumed"),
        ("alarm", -0.1524, "failed", "alarm, 6 in, no warning"),
        ("bottom", -2.7432, "known", "pit bottom, 108 in"),
    ],
)
def test_levels_by_hand(key: str, level_m: float, state: str, words: str) -> None:
    assert level_words(key, level_m, state, UnitSystem.US) == words


def test_levels_in_centimetres() -> None:
    assert level_words("on", -0.3048, "known", UnitSystem.METRIC) == "pump starts, 30.5 cm"


def test_a_measured_table_of_the_pit_gives_its_size(demo_sites: Path) -> None:
    """0.1 m3 in the upper half metre and 0.05 m3 in the lower: round pits of 0.2 and 0.1 m2."""
    home = load_home(demo_sites / "split_level_on_clay.toml").changed(
        pit__diameter="unknown",
        pit__depth="unknown",
        pit__table=[["0 m", "0.15 m3"], ["0.5 m", "0.05 m3"], ["1 m", "0 m3"]],
    )
    pit = section_of(home, UnitSystem.US)["pit"]
    assert pit["depth_m"] == pytest.approx(1.0)
    assert pit["width_m"] == pytest.approx(0.50463, abs=1e-5)  # 2 sqrt(0.2 / pi)
    assert pit["bottom_width_m"] == pytest.approx(0.35682, abs=1e-5)  # 2 sqrt(0.1 / pi)


# ---- the house around the pit -----------------------------------------------------------------


def house(**changes: Any) -> dict[str, Any]:
    found: dict[str, Any] = complete_section(SECTION | changes)["geometry"]["house"]
    return found


def test_a_basement_is_high_enough_for_a_person_and_holds_its_pipe() -> None:
    """2.1 m at least, over the ground outside, and over the pipe (2.3 m and 12 cm)."""
    assert house()["ceiling_m"] == pytest.approx(2.42)
    assert house(ground_m=0.2, outlet_m=0.25)["ceiling_m"] == pytest.approx(2.1)
    assert house(ground_m=5.0)["ceiling_m"] == pytest.approx(5.2)


@pytest.mark.parametrize(("end", "least", "most"), [("wall", 0.2, 0.6), ("away", 1.83, 2.2)])
def test_a_downspout_ends_where_it_is_told(end: str, least: float, most: float) -> None:
    """At the wall within two feet; led away, six feet (1.83 m) or more; above the ground."""
    way = house(downspout=end)["downspout"]
    assert least <= WALL_M - way[-1][0] <= most
    assert 1.7 < way[-1][1] < 1.8


def test_a_downspout_into_the_drain_goes_down_to_it_along_the_wall() -> None:
    """A drain of 4 in (0.1 m) whose invert lies where the section says."""
    way = house(downspout="drain")["downspout"]
    assert way[-1][1] == pytest.approx(SECTION["drain_m"] + 0.1)
    assert all(WALL_M - x < 0.15 for x, y in way if y < SECTION["ground_m"])


def test_roof_water_runs_down_all_the_way_to_the_end_of_the_downspout() -> None:
    found = house()
    way = [*found["roof_way"], *found["downspout"]]
    assert all(below[1] <= above[1] for above, below in pairwise(way))


def test_the_person_for_scale_is_as_tall_as_is_said() -> None:
    """5 ft 9 in are 69 in of 2.54 cm: 1.75 m."""
    section = complete_section(SECTION)
    assert section["words"]["person"] == "5 ft 9 in"
    shapes = section["geometry"]["shapes"]
    (body,) = [shape["points"] for shape in shapes if shape.get("paint") == "person"]
    (head,) = [shape["points"][0] for shape in shapes if shape.get("paint") == "person-head"]
    feet = min(y for _, y in body)
    assert head[1] + 0.08 * 1.75 - feet == pytest.approx(1.75, abs=0.01)
    assert complete_section(SECTION | {"units": "metric"})["words"]["person"] == "1.75 m"


def test_downspouts_are_counted_in_words_where_they_were(demo_sites: Path) -> None:
    home = load_home(demo_sites / "split_level_on_clay.toml")
    cases = {
        "4 of 6": ("wall", "4 of 6 downspouts"),
        "0 of 6": ("away", "Downspout led away"),
        "100 %": ("wall", "Downspout at the wall"),
        "unknown": ("away", "Downspout, assumed"),  # 30 % at its median: most end elsewhere
    }
    for told, (end, words) in cases.items():
        section = section_of(home.changed(roof__at_wall=told), UnitSystem.US)
        assert (section["downspout"], section["words"]["downspout"]) == (end, words), told


def test_downspouts_into_the_drain_are_shown_where_no_more_water_goes_elsewhere(
    demo_sites: Path,
) -> None:
    home = load_home(demo_sites / "row_house_near_creek.toml")
    cases = {
        ("0 of 2", "1 of 2"): ("drain", "1 of 2 into the drain"),  # half of it led away
        ("1 of 2", "1 of 2"): ("wall", "1 of 2 downspouts"),
        ("0 of 3", "1 of 3"): ("away", "Downspout led away"),
        ("0 %", "60 %"): ("drain", "Downspout into the drain"),
    }
    for (at_wall, to_drain), (end, words) in cases.items():
        changed = home.changed(roof__at_wall=at_wall, roof__to_drain=to_drain)
        section = section_of(changed, UnitSystem.US)
        assert (section["downspout"], section["words"]["downspout"]) == (end, words), to_drain
