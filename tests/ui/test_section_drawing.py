"""The moving section as a drawing: to scale, its labels never overlap for any plausible home."""

from __future__ import annotations

from collections.abc import Iterator
from itertools import combinations, cycle, pairwise, product
from typing import Any

import pytest
from playwright.sync_api import Page, expect

from riskkit.report.section_geometry import Outlet, Part, beside_water
from riskkit.widgets.section import check_animation, check_section

LABELS = """() => {
  const picture = document.querySelector(".picture").getBoundingClientRect();
  const place = (e) => { const b = e.getBoundingClientRect();
    return [b.left, b.top, b.right, b.bottom].map((v, i) =>
      v - (i % 2 ? picture.top : picture.left)); };
  const lines = [...document.querySelectorAll(".labels")].map((group) =>
    [...group.querySelectorAll("path.leader")].map((path) => path.getAttribute("d")));
  return { width: picture.width, height: picture.height, lines,
    texts: [...document.querySelectorAll(".picture > g > text.label, .picture > text.label")]
      .filter((e) => !e.closest(".tag")).map((e) => [e.textContent, place(e)]) };
}"""


def corners(path: str) -> list[tuple[float, float]]:
    """Points of a path of M, L and H."""
    points: list[tuple[float, float]] = []
    for part in path.replace("M", "|M").replace("L", "|L").replace("H", "|H").split("|")[1:]:
        numbers = [float(n) for n in part[1:].split()]
        points.append((numbers[0], points[-1][1] if part[0] == "H" else numbers[1]))
    return points


def side(a: tuple[float, float], b: tuple[float, float], c: tuple[float, float]) -> float:
    return (b[0] - a[0]) * (c[1] - a[1]) - (b[1] - a[1]) * (c[0] - a[0])


def crossing(one: str, two: str) -> bool:
    first, second = corners(one), corners(two)
    return any(
        side(a, b, c) * side(a, b, d) < -1e-6 and side(c, d, a) * side(c, d, b) < -1e-6
        for a, b in pairwise(first)
        for c, d in pairwise(second)
    )


def overlaps(page: Page) -> list[str]:
    """Labels that overlap or leave the picture, and lines to labels that cross."""
    found = page.evaluate(LABELS)
    wrong = []
    for text, (left, top, right, bottom) in found["texts"]:
        if left < 0 or top < 0 or right > found["width"] or bottom > found["height"]:
            wrong.append(f"{text} leaves the picture")
    for (text, a), (other, b) in combinations(found["texts"], 2):
        if a[0] < b[2] and b[0] < a[2] and a[1] + 2 < b[3] and b[1] + 2 < a[3]:
            wrong.append(f"{text} on {other}")
    for lines in found["lines"]:
        wrong += [f"{a} x {b}" for a, b in combinations(lines, 2) if crossing(a, b)]
    return wrong


def geometries() -> Iterator[dict[str, Any]]:
    pits = [(0.3, 0.2, 0.2), (0.3, 0.46, 0.3), (0.66, 0.46, 0.42), (1.2, 2.5, 2.5), (3.0, 0.9, 0.9)]
    grounds = [
        (0.2, 0.25, None),
        (1.9, 2.3, -0.1),
        (1.9, 2.3, 1.8),
        (5.0, 5.4, -1.0),
        (2.2, 12.0, 3.0),
    ]
    outlets = cycle(outlet.value for outlet in Outlet)
    blank = dict.fromkeys([part.value for part in Part], "assumed")
    broken = {"alarm": "failed", "check_valve": "failed", "pump": "failed"}
    bare = {"alarm": "none", "gravel": "none", "check_valve": "none"}
    states = cycle([{}, blank, broken, blank | broken, bare, {"pump": "none"}, blank | bare])
    for (depth, width, bottom), (ground, outlet, table), close, units in product(
        pits, grounds, (True, False), ("us", "metric")
    ):
        alarm = -0.1 * depth if not close else -0.5 * depth
        on = alarm - (0.015 if close else 0.4 * depth)
        off = on - (0.015 if close else 0.4 * depth)
        yield {
            "units": units, "ground_m": ground, "outlet_m": outlet, "water_table_m": table,
            "pit": {"depth_m": depth, "width_m": width, "bottom_width_m": bottom},
            "switch": {"on_m": on, "off_m": off, "alarm_m": alarm}, "labels": {},
            "drain_m": -0.1 if close else -0.3, "gravel_m": 0.1 if close else 0.3, "slab_m": 0.1,
            "outlet": next(outlets), "parts": next(states),
        }  # fmt: skip


def test_labels_never_overlap_and_their_lines_never_cross(
    sized_page: Page, played: dict[str, Any]
) -> None:
    page = sized_page
    tried = 0
    for section in geometries():
        depth = section["pit"]["depth_m"]
        level = [max(v, -0.9 * depth) for v in played["level_m"]]
        level[-1] = 0.6 if tried % 2 else 0.02
        page.evaluate(
            "([section, animation]) => { put('section', section); put('animation', animation); }",
            [check_section(section), {**played, "level_m": level, "pump_on": None}],
        )
        page.evaluate("put('moment_s', 21600)")
        assert overlaps(page) == [], section
        tried += 1
    assert tried == 100


@pytest.mark.parametrize("width", [560, 680, 820])
def test_labels_keep_apart_in_a_narrow_window(drawn_page: Page, width: int) -> None:
    page = drawn_page
    page.set_viewport_size({"width": width, "height": 1000})
    page.wait_for_function(
        "width => Math.abs(document.querySelector('.picture').clientWidth - width) < 60", arg=width
    )
    assert overlaps(page) == []


def test_the_cut_is_drawn_to_scale(sized_page: Page, section_data: dict[str, Any]) -> None:
    """The lines of the levels lie as far apart as the levels do, in one scale for both views."""
    page = sized_page
    found = page.evaluate(
        """["alarm", "on", "off"].map((name) =>
        parseFloat(document.querySelector(`.picture .mark.${name}`).getAttribute("y1")))"""
    )
    switch = section_data["switch"]
    scale = (found[1] - found[0]) / (switch["alarm_m"] - switch["on_m"])
    assert (found[2] - found[1]) / (switch["on_m"] - switch["off_m"]) == pytest.approx(scale)
    wide = page.evaluate(
        """(() => { const line = document.querySelector(".picture .mark.alarm");
        return line.getAttribute("x2") - line.getAttribute("x1"); })()"""
    )
    pit = section_data["pit"]
    share = 1 + switch["alarm_m"] / pit["depth_m"]
    width = pit["bottom_width_m"] + share * (pit["width_m"] - pit["bottom_width_m"])
    assert wide == pytest.approx(width * scale)


# ---- labels true to their lines ---------------------------------------------------------------

READ_BACK = """() => {
  const levels = document.querySelector(".labels.levels");
  const texts = [...levels.querySelectorAll("text")].map((e) => [e.dataset.key, e.textContent]);
  const ends = [...levels.querySelectorAll("path.leader")].map((path) => path.getAttribute("d"));
  const lines = Object.fromEntries(["alarm", "on", "off"].map((name) =>
    [name, document.querySelector(`.picture .mark.${name}`)?.getAttribute("y1")]));
  return { texts, ends, lines };
}"""


@pytest.mark.parametrize("units", ["us", "metric"])
@pytest.mark.parametrize(
    "switch",
    [
        {"on_m": -0.3048, "off_m": -0.5334, "alarm_m": -0.1524},  # 12, 21 and 6 in
        {"on_m": -0.3175, "off_m": -0.5, "alarm_m": -0.203},  # 12.5 in and what no one told
        {"on_m": -0.33, "off_m": -0.3429, "alarm_m": -0.3175},  # so near that labels move apart
    ],
)
def test_label_line_and_number_agree_to_the_pixel(
    drawn_page: Page, section_data: dict[str, Any], switch: dict[str, float], units: str
) -> None:
    section = check_section({**section_data, "units": units, "switch": switch})
    drawn_page.evaluate("section => put('section', section)", section)
    found = drawn_page.evaluate(READ_BACK)
    metres = 0.0254 if units == "us" else 0.01
    ends = {
        key: corners(path)[-1][1]
        for (key, _), path in zip(found["texts"], found["ends"], strict=True)
    }
    scale = (ends["bottom"] - ends["floor"]) / section["pit"]["depth_m"]
    assert scale > 100  # pixels to the metre: the pit is enlarged
    said = {mark["key"]: mark["text"] for mark in section["geometry"]["marks"]}
    assert dict(found["texts"]) == said | {"gravel": "gravel"}
    for key, text in found["texts"]:
        if key not in said:
            continue
        number = float(text.split(", ")[1].split()[0]) if key != "floor" else 0.0
        assert ends["floor"] + number * metres * scale == pytest.approx(ends[key], abs=1.0), text
        if key in found["lines"]:
            assert float(found["lines"][key]) == pytest.approx(ends[key], abs=0.01)


def shown(page: Page, *names: str) -> list[bool]:
    return [page.locator(f".picture .{name}").count() > 0 for name in names]


@pytest.mark.parametrize(
    ("outlet", "ends", "words"),
    [
        ("near", [True, False, False], "Outlet near the wall"),
        ("far", [True, True, False], "Outlet far away"),
        ("piped away", [False, True, True], "Piped away"),
        ("unknown", [True, False, False], "Outlet, assumed"),
    ],
)
def test_the_outlet_is_drawn_where_it_ends(
    drawn_page: Page, section_data: dict[str, Any], outlet: str, ends: list[bool], words: str
) -> None:
    drawn_page.evaluate(
        "section => put('section', section)", check_section({**section_data, "outlet": outlet})
    )
    assert shown(drawn_page, "spout", "break", "arrow") == ends
    expect(drawn_page.locator(".labels.yard").get_by_text(words)).to_be_visible()


def with_parts(page: Page, section: dict[str, Any], **parts: str) -> None:
    page.evaluate("section => put('section', section)", check_section({**section, "parts": parts}))


@pytest.mark.parametrize(
    ("part", "names"),
    [
        ("alarm", ["bell", "bob", "sound"]),
        ("pump", ["pump", "float", "flow", "valve"]),
        ("gravel", ["gravel"]),
        ("check_valve", ["valve"]),
    ],
)
def test_none_is_not_drawn(
    drawn_page: Page, section_data: dict[str, Any], part: str, names: list[str]
) -> None:
    assert all(shown(drawn_page, *names))
    with_parts(drawn_page, section_data, **{part: "none"})
    assert not any(shown(drawn_page, *names))
    drawn_page.evaluate("put('moment_s', 12900)")  # with water, and what moves


@pytest.mark.parametrize(
    ("parts", "names", "words"),
    [
        ({"second_pump": "known", "second_on": "known"},
         ["second-pump", "second-pipe", "second-float", "mark.second_on"],
         ["second pump, on battery", "second pump starts, 9.5 in"]),
        ({"second_pump": "known", "battery": "known"}, ["battery"], ["Battery"]),
        ({"generator": "known"}, ["generator"], ["Generator"]),
        ({"floor_drain": "known"}, ["floor_drain"], ["Floor drain"]),
    ],
)  # fmt: skip
def test_what_stands_by_is_drawn_and_named_only_where_it_is(
    drawn_page: Page, section_data: dict[str, Any], parts: dict[str, str], names: list[str],
    words: list[str],
) -> None:  # fmt: skip
    """The pump starts at 13 in, the alarm is at 6 in: halfway is 9.5 in."""
    page = drawn_page
    classes = [name.replace("second-pump", "second_pump") for name in names]
    assert not any(shown(page, *classes))
    with_parts(page, section_data, **parts)
    assert all(shown(page, *classes))
    for text in words:
        expect(page.locator(".labels").get_by_text(text, exact=True)).to_have_count(1)
    assert page.locator(".picture .broken").count() == 0
    assert overlaps(page) == []


def test_where_there_is_little_room_the_second_pump_is_named_once(
    drawn_page: Page, section_data: dict[str, Any]
) -> None:
    page = drawn_page
    page.set_viewport_size({"width": 390, "height": 1000})
    across = "e => e.getAttribute('x2') - e.getAttribute('x1')"
    with_parts(page, section_data)
    bare = page.locator(".picture .mark.on").evaluate(across)
    with_parts(page, section_data, second_pump="known", second_on="assumed")
    texts = page.locator(".labels.levels text").all_text_contents()
    assert [text for text in texts if "second" in text] == ["second pump, 9.5 in"]
    line = page.locator(".picture .mark.second_on")
    assert line.evaluate("e => getComputedStyle(e).strokeDasharray") != "none"
    assert page.locator(".picture .mark.on").evaluate(across) > 0.85 * bare  # hardly smaller
    assert overlaps(page) == []


@pytest.mark.parametrize("part", ["second_pump", "battery", "generator", "floor_drain"])
def test_what_is_broken_has_a_cross_in_both_views(
    drawn_page: Page, section_data: dict[str, Any], part: str
) -> None:
    with_parts(drawn_page, section_data, **{"second_pump": "known", part: "failed"})
    assert drawn_page.locator(f".picture .broken.{part}").count() == 2
    words = drawn_page.locator(".labels text").all_text_contents()
    assert [text for text in words if text.endswith(("out of order", "blocked"))] != []


def test_the_float_of_the_second_pump_rides_on_the_water(
    drawn_page: Page, section_data: dict[str, Any], played: dict[str, Any]
) -> None:
    """From 5 cm below its start level up to that; the pump itself stands still."""
    with_parts(drawn_page, section_data, second_pump="known", second_on="known")
    places = []
    for level_m in (-0.5, 0.02):
        animation = {**played, "level_m": [level_m] * len(played["time_s"]), "pump_on": None}
        drawn_page.evaluate("animation => put('animation', animation)", animation)
        places.append(
            drawn_page.evaluate(
                """[...document.querySelectorAll(".picture .second-float")].map((e) =>
                Number(e.getAttribute("cy")))"""
            )
        )
    found = drawn_page.evaluate(READ_BACK)
    ends = dict(zip([key for key, _ in found["texts"]], found["ends"], strict=True))
    scale = (corners(ends["bottom"])[-1][1] - corners(ends["floor"])[-1][1]) / 0.66
    assert places[1][1] == pytest.approx(corners(ends["second_on"])[-1][1], abs=0.01)
    assert places[0][1] - places[1][1] == pytest.approx(0.05 * scale, abs=0.01)


def test_what_is_assumed_is_dashed_and_says_so(
    drawn_page: Page, section_data: dict[str, Any]
) -> None:
    names = ["mark.alarm", "mark.on", "pit", "pipe", "outlet", "gravel", "ground", "drain"]
    dashes = """names => names.map((name) => getComputedStyle(
        document.querySelector(`.picture .${name}`)).strokeDasharray !== "none")"""
    assert not any(drawn_page.evaluate(dashes, names))
    with_parts(drawn_page, section_data, **dict.fromkeys([part.value for part in Part], "assumed"))
    assert all(drawn_page.evaluate(dashes, names))
    texts = drawn_page.locator(".labels text").all_text_contents()
    silent = [text for text in texts if not text.endswith("assumed")]
    assert silent == ["Outlet near the wall", "basement floor"]


@pytest.mark.parametrize("state", ["none", "failed"])
def test_no_bell_rings_without_an_alarm_to_count_on(
    drawn_page: Page, section_data: dict[str, Any], played: dict[str, Any], state: str
) -> None:
    page = drawn_page
    with_parts(page, section_data, alarm=state)
    page.evaluate(
        "animation => put('animation', animation)", check_animation({**played, "alarm_s": None})
    )
    page.evaluate("put('moment_s', 13800)")  # the level stands above the alarm
    assert page.locator(".moving-section").get_attribute("data-alarm") == "silent"
    assert page.locator(".picture .sound").count() == 0
    expect(page.get_by_role("button", name="The alarm")).to_have_count(0)
    words = {"none": "none", "failed": "gives no warning"}[state]
    expect(page.locator("[data-reading=alarm]")).to_have_text(words)
    expect(page.locator(".reading.since dt")).to_have_text("Since the pump stopped")
    expect(page.locator("[data-reading=since]")).to_have_text("50 min")
    assert (page.locator(".picture .bell").count() > 0) == (state == "failed")
    assert (page.locator(".picture .broken").count() > 0) == (state == "failed")


def test_without_a_pump_none_runs_or_stops(
    drawn_page: Page, section_data: dict[str, Any], played: dict[str, Any]
) -> None:
    page = drawn_page
    with_parts(page, section_data, alarm="none", pump="none")
    animation = {**played, "alarm_s": None, "stopped_at_s": None, "pump_on": None}
    page.evaluate("animation => put('animation', animation)", check_animation(animation))
    page.evaluate("put('moment_s', 13800)")
    expect(page.locator("[data-reading=pump]")).to_have_text("none")
    expect(page.locator("[data-reading=alarm]")).to_have_text("none")
    expect(page.locator(".reading.since dt")).to_have_text("Since the rain began")
    expect(page.locator("[data-reading=since]")).to_have_text("3 h 50 min")
    expect(page.get_by_role("button", name="The pump stops")).to_have_count(0)


# ---- water beside the wall ----------------------------------------------------------------------

BESIDE = """() => {
  const shape = document.querySelector(".picture .beside");
  const numbers = (node) => (node.getAttribute("points") ?? "").split(" ").filter(Boolean)
    .map((pair) => pair.split(",").map(Number));
  const marks = Object.fromEntries(["floor-water", "drain"].map((name) => [name,
    document.querySelector(`.picture .${name}`)]));
  const joint = document.querySelector(".picture .joint");
  return { water: numbers(shape), joint: numbers(joint), seen: joint.getAttribute("visibility"),
    floor: Number(marks["floor-water"].getAttribute("y")), drain: numbers(marks.drain) };
}"""


def beside_played(animation: dict[str, Any], level_m: float, beside_m: float) -> dict[str, Any]:
    n = len(animation["time_s"])
    return {**animation, "level_m": [level_m] * n, "beside_m": [beside_m] * n, "pump_on": None}


@pytest.mark.parametrize(
    ("beside_m", "words", "wet"),
    [
        (-0.1016, "4 in below the floor", False),
        (0.0508, "2.0 in above floor, seeping in", True),
        (0.3048, "12 in above floor, seeping in", True),
    ],
)
def test_water_beside_the_wall_stands_at_its_level(
    sized_page: Page, section_data: dict[str, Any], played: dict[str, Any], beside_m: float,
    words: str, wet: bool,
) -> None:  # fmt: skip
    """In the scale of the house, which drain (20 to 10 cm below the floor) and floor give."""
    page = sized_page
    page.evaluate("animation => put('animation', animation)", beside_played(played, -0.4, beside_m))
    found = page.evaluate(BESIDE)
    (_, top), *_ = found["drain"]
    bottom = max(y for _, y in found["drain"])
    scale = (bottom - top) / 0.1
    expected = beside_water(section_data["geometry"]["beside"], beside_m)
    wall_x = found["water"][0][0]
    for (x, y), (x_m, y_m) in zip(found["water"], expected, strict=True):
        assert x == pytest.approx(wall_x + (x_m - expected[0][0]) * scale, abs=0.6)
        assert y == pytest.approx(found["floor"] - y_m * scale, abs=0.6)
    assert found["seen"] == ("visible" if wet else "hidden")
    assert found["joint"][-1][1] == pytest.approx(found["floor"], abs=0.6)
    expect(page.locator("[data-reading=outside]")).to_have_text(words)
    assert page.locator(".moving-section").get_attribute("data-joint") == ("wet" if wet else "dry")
    assert overlaps(page) == []
    assert page.evaluate("document.documentElement.scrollHeight <= innerHeight")


def test_no_water_seeps_in_below_that_on_the_floor_or_at_a_tight_joint(
    drawn_page: Page, section_data: dict[str, Any], played: dict[str, Any]
) -> None:
    page = drawn_page
    for level_m, beside_m, opens, seen in (
        (0.05, 0.1, True, "visible"), (0.1, 0.05, True, "hidden"), (-0.4, 0.1, False, "hidden"),
    ):  # fmt: skip
        page.evaluate("section => put('section', section)", {**section_data, "joint_opens": opens})
        page.evaluate(
            "animation => put('animation', animation)", beside_played(played, level_m, beside_m)
        )
        assert page.evaluate(BESIDE)["seen"] == seen


def test_an_animation_without_the_outside_shows_none(drawn_page: Page) -> None:
    assert drawn_page.evaluate(BESIDE)["water"] == []
    expect(drawn_page.locator(".reading.outside")).to_be_hidden()
    name = drawn_page.get_by_role("img").get_attribute("aria-label") or ""
    assert "Outside" not in name
