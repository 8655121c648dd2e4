"""The still section: to scale, in order, and sound XML."""

from __future__ import annotations

import re
from itertools import pairwise
from pathlib import Path
from xml.etree import ElementTree as Xml

import pytest
from hypothesis import given
from hypothesis import strategies as st

from riskkit.home.home import Home, load_home, read_home
from riskkit.quantities.units import UnitSystem
from riskkit.report.section import section_svg, spread_labels

SPACE = "{http://www.w3.org/2000/svg}"
HOMES = ["bungalow_on_sand", "home_just_met", "row_house_near_creek", "split_level_on_clay"]


def labels(svg: str) -> dict[str, tuple[float, float]]:
    root = Xml.fromstring(svg)  # noqa: S314 - our own text
    return {
        str(item.text): (float(item.attrib["x"]), float(item.attrib["y"]))
        for item in root.iter(f"{SPACE}text")
    }


@pytest.mark.parametrize("name", HOMES)
@pytest.mark.parametrize("system", list(UnitSystem))
def test_labels_name_the_levels_in_order_inside_the_picture(
    demo_sites: Path, name: str, system: UnitSystem
) -> None:
    svg = section_svg(load_home(demo_sites / f"{name}.toml"), system)
    root = Xml.fromstring(svg)  # noqa: S314 - our own text
    _, _, width, height = (float(v) for v in root.attrib["viewBox"].split())
    found = labels(svg)
    places = [
        next(place for words, place in found.items() if words.startswith(start))
        for start in ("basement floor", "alarm", "pump starts", "pump stops", "pit bottom")
    ]
    assert all(below[1] - above[1] >= 15 - 1e-6 for above, below in pairwise(places))
    assert all(0 < x < width and 10 < y < height - 8 for x, y in found.values())
    assert root.find(f"{SPACE}title") is not None and root.attrib["role"] == "img"


def test_levels_are_those_of_the_home_in_its_units(demo_sites: Path) -> None:
    home = load_home(demo_sites / "split_level_on_clay.toml")
    us, metric = (set(labels(section_svg(home, system))) for system in UnitSystem)
    assert {"alarm, 6 in", "pump starts, 13 in", "pump stops, 21 in", "pit bottom, 26 in"} <= us
    # 6, 13, 21 and 26 in of 2.54 cm
    assert {"alarm, 15.2 cm", "pump starts, 33 cm", "pump stops, 53.3 cm"} <= metric
    assert "pit bottom, 66 cm" in metric


def lines(svg: str, name: str) -> list[list[tuple[float, float]]]:
    """Corners of every polyline and polygon of a class."""
    root = Xml.fromstring(svg)  # noqa: S314 - our own text
    return [
        [(float(x), float(y)) for x, y in (p.split(",") for p in item.attrib["points"].split())]
        for item in root.iter()
        if item.attrib.get("class") == name
    ]


def leader_y(svg: str, key: str) -> float:
    (found,) = re.findall(rf'<path class="leader {key}" d="M[\d.]+ ([\d.]+)L', svg)
    return float(found)


MARKS = {"alarm": "alarm", "on": "pump starts", "off": "pump stops"}
PX_PER_M = 112.0
LEVELS: list[dict[str, str]] = [
    {},
    {"switch__on": "12 in", "switch__off": "20 1/4 in"},
    {"switch__alarm": "7 to 9 in", "switch__on": "12.5 in"},
    {"switch__alarm": "unknown", "switch__off": "unknown", "pit__depth": "unknown"},
    {"switch__on": "31 cm", "switch__alarm": "15 cm", "switch__off": "52.5 cm"},
]


@pytest.mark.parametrize("changes", LEVELS)
@pytest.mark.parametrize("name", HOMES)
@pytest.mark.parametrize("system", list(UnitSystem))
def test_label_line_and_number_agree_to_the_pixel(
    demo_sites: Path, name: str, system: UnitSystem, changes: dict[str, str]
) -> None:
    svg = section_svg(load_home(demo_sites / f"{name}.toml").changed(**changes), system)
    metres = 0.0254 if system is UnitSystem.US else 0.01
    floor, texts = leader_y(svg, "floor"), list(labels(svg))
    for key, words in MARKS.items():
        (line,) = lines(svg, f"mark {key}")
        assert line[0][1] == line[1][1] == leader_y(svg, key)
        (text,) = [text for text in texts if text.startswith(f"{words}, ")]
        number = float(text.split(", ")[1].split()[0])
        assert floor + number * metres * PX_PER_M == pytest.approx(line[0][1], abs=1.0)
    (bottom,) = [text for text in texts if text.startswith("pit bottom, ")]
    number = float(bottom.split(", ")[1].split()[0])
    lowest = max(y for _, y in lines(svg, "pit")[-1])
    assert floor + number * metres * PX_PER_M == pytest.approx(lowest, abs=1.0)
    assert leader_y(svg, "bottom") == lowest


def test_a_level_that_was_told_is_drawn_there(demo_sites: Path) -> None:
    """12 in is 12 in, whatever else is unknown: 0.3048 m of 112 px to the metre."""
    home = load_home(demo_sites / "home_just_met.toml").changed(switch__on="12 in")
    svg = section_svg(home, UnitSystem.US)
    assert "pump starts, 12 in" in labels(svg)
    (line,) = lines(svg, "mark on")
    assert line[0][1] - leader_y(svg, "floor") == pytest.approx(0.3048 * 112, abs=0.02)


# ---- where the outlet ends ------------------------------------------------------------------


def drawn(demo_sites: Path, **changes: str) -> str:
    return section_svg(
        load_home(demo_sites / "split_level_on_clay.toml").changed(**changes), UnitSystem.US
    )


def has(svg: str, name: str) -> bool:
    return f'class="{name}"' in svg


def test_an_outlet_near_the_wall_spouts_there(demo_sites: Path) -> None:
    svg = drawn(demo_sites, pipe__outlet="near")
    (way,) = lines(svg, "outlet")
    assert has(svg, "spout") and not has(svg, "break") and not has(svg, "arrow")
    assert "Outlet near the wall" in labels(svg)
    assert (way[0][0] - way[-1][0]) / PX_PER_M < 1.0


def test_an_outlet_far_off_ends_beyond_a_break(demo_sites: Path) -> None:
    svg = drawn(demo_sites, pipe__outlet="far")
    (near,), (far,) = lines(drawn(demo_sites, pipe__outlet="near"), "outlet"), lines(svg, "outlet")
    assert has(svg, "spout") and has(svg, "break") and "Outlet far away" in labels(svg)
    assert far[-1][0] < near[-1][0]


def test_piped_away_nothing_is_let_out_in_the_picture(demo_sites: Path) -> None:
    svg = drawn(demo_sites, pipe__outlet="piped away")
    (way,), (grass,) = lines(svg, "outlet"), lines(svg, "ground")
    assert not has(svg, "spout") and has(svg, "break") and has(svg, "arrow")
    assert "Piped away" in labels(svg)
    assert way[-1][0] < 0 and way[-1][1] > grass[0][1]  # leaves the picture below the ground


def test_an_outlet_nobody_told_of_is_assumed(demo_sites: Path) -> None:
    svg = drawn(demo_sites, pipe__outlet="unknown")
    assert "Outlet, assumed" in labels(svg)
    assert re.search(r'class="outlet"[^>]*stroke-dasharray', svg)
    assert not re.search(r'class="pipe"[^>]*stroke-dasharray', svg)


# ---- known, assumed, none, out of order -------------------------------------------------------

DASHES = {
    "switch__alarm": "mark alarm", "switch__on": "mark on", "switch__off": "mark off",
    "pit__diameter": "pit", "pump__rated_flow": "pump", "gravel__thickness": "gravel",
    "pipe__outlet_height": "pipe", "house__depth_below_ground": "ground",
    "pipe__check_valve": "valve",
}  # fmt: skip


@pytest.mark.parametrize(("key", "name"), DASHES.items())
def test_left_blank_is_dashed(demo_sites: Path, key: str, name: str) -> None:
    told = {
        "switch__alarm": "6 in", "switch__on": "13 in", "switch__off": "21 in",
        "pit__diameter": "18 in", "pump__rated_flow": "40 gpm", "gravel__thickness": "4 in",
        "pipe__outlet_height": "7 ft", "house__depth_below_ground": "6 ft",
        "pipe__check_valve": "works",
    }  # fmt: skip
    known, blank = drawn(demo_sites, **told), drawn(demo_sites, **told | {key: "unknown"})
    dashed = rf'class="{name}"[^>]*stroke-dasharray'
    assert not re.search(dashed, known)
    assert re.search(dashed, blank)


def test_what_is_assumed_says_so() -> None:
    found = labels(section_svg(Home(), UnitSystem.US))
    assert {
        "alarm, 6 in, assumed", "pump starts, 13 in, assumed", "pump stops, 19.7 in, assumed",
        "pit bottom, 24 in, assumed", "pit width, assumed", "pump, assumed",
        "gravel, assumed",
        "Pump pipe, assumed", "Check valve, assumed", "Alarm, assumed", "Outlet, assumed",
        "Ground, assumed", "Drain, assumed",
    } <= set(found)  # fmt: skip


NONE = {
    "switch__alarm": ("none", ["bell", "bob", "mark alarm"], "alarm"),
    "pump__rated_flow": (
        "none", ["pump", "float", "pipe", "outlet", "valve", "mark on", "mark off"], "pump",
    ),
    "gravel__thickness": ("none", ["gravel"], "gravel"),
    "pipe__check_valve": ("none", ["valve"], "check valve"),
    "pit__diameter": ("none", ["pit", "pump", "bell", "mark alarm", "mark on"], "pit"),
}  # fmt: skip


@pytest.mark.parametrize("key", list(NONE))
def test_none_is_not_drawn(demo_sites: Path, key: str) -> None:
    word, names, said = NONE[key]
    before, after = drawn(demo_sites), drawn(demo_sites, **{key: word})
    assert all(has(before, name) for name in names)
    assert not any(has(after, name) for name in names)
    assert any(said in text.lower() for text in labels(before))
    assert not any(said in text.lower() for text in labels(after))


def visited(demo_sites: Path, checks: str) -> str:
    text = (demo_sites / "split_level_on_clay.toml").read_text("utf-8")
    text = text.split("[[visit]]")[0]
    visit = f"\n[[visit]]\ndate = 2026-05-04\n\n[visit.checks]\n{checks}\n"
    return section_svg(read_home(text + visit, "home"), UnitSystem.US)


def test_a_failed_alarm_is_crossed_out(demo_sites: Path) -> None:
    svg = visited(demo_sites, 'alarm_sounded = "no"')
    assert has(svg, "cross") and "alarm, 6 in, no warning" in labels(svg)
    assert not has(visited(demo_sites, 'alarm_sounded = "yes"'), "cross")


def test_a_check_valve_that_does_not_hold_is_crossed_out(demo_sites: Path) -> None:
    svg = visited(demo_sites, 'check_valve_holds = "no"')
    assert has(svg, "cross") and "Check valve, leaks" in labels(svg)


@pytest.mark.parametrize(
    "changes",
    [
        {"pit__diameter": "unknown", "pit__length": "1.2 m", "pit__width": "0.5 m"},
        {"pit__bottom_diameter": "15 in"},
        {"house__depth_below_ground": "8 in"},
        {"pit__depth": "9 ft", "switch__off": "8 ft", "switch__on": "7 ft"},
        {"pipe__outlet_height": "12 in"},
    ],
)
def test_odd_homes_are_drawn(demo_sites: Path, changes: dict[str, str]) -> None:
    home = load_home(demo_sites / "split_level_on_clay.toml").changed(**changes)
    svg = section_svg(home, UnitSystem.US)
    assert "nan" not in svg and "inf" not in svg.replace("inform", "")
    assert not re.search(r'(width|height|r)="-', svg)
    Xml.fromstring(svg)  # noqa: S314 - our own text


def test_no_text_of_the_file_is_in_it() -> None:
    assert "zzz" not in section_svg(Home(name="zzz", note="zzz"), UnitSystem.US)


@given(st.lists(st.floats(0, 500), min_size=1, max_size=8))
def test_spread_labels_never_touch_and_stay_in_order(wanted: list[float]) -> None:
    places = spread_labels(wanted, 15.0)
    order = sorted(range(len(wanted)), key=lambda i: wanted[i])
    assert all(places[b] - places[a] >= 15.0 - 1e-6 for a, b in pairwise(order))
    # a heap of labels stays around where its members are wanted
    assert sum(places) == pytest.approx(sum(wanted), abs=1e-6 * len(wanted) + 1e-6)


BESIDE = [
    (-0.5, None),
    (-0.1, "3.9 in below floor"),
    (0.1524, "6 in above floor"),
]


@pytest.mark.parametrize(("level_m", "words"), BESIDE)
def test_water_beside_the_wall_stands_as_high_as_it_is_told(
    demo_sites: Path, level_m: float, words: str | None
) -> None:
    home = load_home(
        demo_sites / "split_level_on_clay.toml"
    )  # the drain lies 20 cm below the floor
    svg = section_svg(home, UnitSystem.US, None, level_m)
    found = lines(svg, "beside")
    assert (words is not None) == bool(found) == ("Water up to" in labels(svg))
    joint = lines(svg, "joint")
    assert bool(joint) == (level_m > 0)
    if not found:
        return
    (water,), floor = found, leader_y(svg, "floor")
    heights = [y for _, y in water]
    assert min(heights) == pytest.approx(floor - level_m * PX_PER_M, abs=0.02)
    assert max(heights) == pytest.approx(floor + 0.2 * PX_PER_M, abs=0.02)
    above, below = labels(svg)["Water up to"], labels(svg)[words or ""]
    assert above[0] == below[0] and 14 < below[1] - above[1] < 17  # two lines of one label
    if joint:
        assert joint[0][-1][1] == pytest.approx(floor, abs=0.02)


def test_no_water_comes_in_at_a_joint_that_is_tight(demo_sites: Path) -> None:
    home = load_home(demo_sites / "split_level_on_clay.toml")
    tight = home.changed(house__joint_conductance="0 gpm/in")
    assert lines(section_svg(home, UnitSystem.US, None, 0.1), "joint")
    assert not lines(section_svg(tight, UnitSystem.US, None, 0.1), "joint")
    assert lines(section_svg(tight, UnitSystem.US, None, 0.1), "beside")


@pytest.mark.parametrize("name", HOMES)
@pytest.mark.parametrize("level_m", [-0.15, 0.05, 0.5])
def test_the_words_at_the_water_keep_off_the_others(
    demo_sites: Path, name: str, level_m: float
) -> None:
    found = labels(
        section_svg(load_home(demo_sites / f"{name}.toml"), UnitSystem.US, None, level_m)
    )
    left = sorted(y for x, y in found.values() if x == 6.0)
    assert len(left) == 7  # ground, drain, downspout, outlet, joint and two lines for the water
    assert all(b - a >= 15 - 1e-6 for a, b in pairwise(left))


def test_without_a_level_no_water_is_drawn_beside_the_wall(demo_sites: Path) -> None:
    svg = section_svg(load_home(demo_sites / "split_level_on_clay.toml"), UnitSystem.US)
    assert not lines(svg, "beside") and not lines(svg, "joint")
