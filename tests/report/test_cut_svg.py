"""The still cut: to scale, in order, and sound XML."""

from __future__ import annotations

import re
from itertools import pairwise
from pathlib import Path
from xml.etree import ElementTree as Xml

import pytest
from hypothesis import given
from hypothesis import strategies as st

from riskkit.report.cut_svg import cut_svg, spread_labels
from riskkit.site import Site, load_site
from riskkit.units import UnitSystem

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
    svg = cut_svg(load_site(demo_sites / f"{name}.toml"), system)
    root = Xml.fromstring(svg)  # noqa: S314 - our own text
    _, _, width, height = (float(v) for v in root.attrib["viewBox"].split())
    found = labels(svg)
    places = [
        next(place for words, place in found.items() if words.startswith(start))
        for start in ("basement floor", "alarm", "pump starts", "pump stops", "pit bottom")
    ]
    assert all(below[1] - above[1] >= 15 - 1e-6 for above, below in pairwise(places))
    assert all(0 < x < width and 0 < y < height for x, y in found.values())
    assert root.find(f"{SPACE}title") is not None and root.attrib["role"] == "img"


def test_levels_are_those_of_the_home_in_its_units(demo_sites: Path) -> None:
    site = load_site(demo_sites / "split_level_on_clay.toml")
    us, metric = (set(labels(cut_svg(site, system))) for system in UnitSystem)
    assert {"alarm, 6 in", "pump starts, 13 in", "pump stops, 21 in", "pit bottom, 26 in"} <= us
    # 6, 13, 21 and 26 in of 2.54 cm
    assert {"alarm, 15 cm", "pump starts, 33 cm", "pump stops, 53 cm"} <= metric
    assert "pit bottom, 66 cm" in metric


def test_it_is_to_scale(demo_sites: Path) -> None:
    """The marks of alarm and pump are as far apart as the levels they stand for."""
    svg = cut_svg(load_site(demo_sites / "split_level_on_clay.toml"), UnitSystem.US)
    marks = re.findall(r'<polyline points="[\d.,-]+ [\d.]+,([\d.]+)"[^>]*stroke-dasharray', svg)
    alarm, start, stop = (float(y) for y in marks[-3:])
    assert (stop - start) / (start - alarm) == pytest.approx(8 / 7, rel=0.01)


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
    site = load_site(demo_sites / "split_level_on_clay.toml").changed(**changes)
    svg = cut_svg(site, UnitSystem.US)
    assert "nan" not in svg and "inf" not in svg.replace("inform", "")
    assert not re.search(r'(width|height|r)="-', svg)
    Xml.fromstring(svg)  # noqa: S314 - our own text


def test_no_text_of_the_file_is_in_it() -> None:
    assert "zzz" not in cut_svg(Site(name="zzz", note="zzz"), UnitSystem.US)


@given(st.lists(st.floats(0, 500), min_size=1, max_size=8))
def test_spread_labels_never_touch_and_stay_in_order(wanted: list[float]) -> None:
    places = spread_labels(wanted, 15.0)
    order = sorted(range(len(wanted)), key=lambda i: wanted[i])
    assert all(places[b] - places[a] >= 15.0 - 1e-6 for a, b in pairwise(order))
    # a heap of labels stays around where its members are wanted
    assert sum(places) == pytest.approx(sum(wanted), abs=1e-6 * len(wanted) + 1e-6)
