"""The moving cut as a drawing: to scale, with labels that never overlap for any plausible home."""

from __future__ import annotations

from collections.abc import Iterator
from itertools import combinations, pairwise, product
from typing import Any

import pytest
from playwright.sync_api import Page

from riskkit.widgets.cut import check_scene

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
        }  # fmt: skip


def test_labels_never_overlap_and_their_lines_never_cross(
    cut_page: Page, cut_story: dict[str, Any]
) -> None:
    page = cut_page
    tried = 0
    for scene in geometries():
        depth = scene["pit"]["depth_m"]
        level = [max(v, -0.9 * depth) for v in cut_story["level_m"]]
        level[-1] = 0.6 if tried % 2 else 0.02
        page.evaluate(
            "([scene, story]) => { put('scene', scene); put('story', story); }",
            [check_scene(scene), {**cut_story, "level_m": level, "pump_on": None}],
        )
        page.evaluate("put('moment_s', 21600)")
        assert overlaps(page) == [], scene
        tried += 1
    assert tried == 100


@pytest.mark.parametrize("width", [560, 680, 820])
def test_labels_keep_apart_in_a_narrow_window(cut_page: Page, width: int) -> None:
    page = cut_page
    page.set_viewport_size({"width": width, "height": 1000})
    page.wait_for_function(
        "width => Math.abs(document.querySelector('.picture').clientWidth - width) < 60", arg=width
    )
    assert overlaps(page) == []


def test_the_cut_is_drawn_to_scale(cut_page: Page, cut_scene: dict[str, Any]) -> None:
    """The lines of the levels lie as far apart as the levels do, in one scale for both views."""
    page = cut_page
    found = page.evaluate(
        """["alarm", "on", "off"].map((name) =>
        parseFloat(document.querySelector(`.picture .mark.${name}`).getAttribute("y1")))"""
    )
    switch = cut_scene["switch"]
    scale = (found[1] - found[0]) / (switch["alarm_m"] - switch["on_m"])
    assert (found[2] - found[1]) / (switch["on_m"] - switch["off_m"]) == pytest.approx(scale)
    wide = page.evaluate(
        """(() => { const line = document.querySelector(".picture .mark.alarm");
        return line.getAttribute("x2") - line.getAttribute("x1"); })()"""
    )
    pit = cut_scene["pit"]
    share = 1 + switch["alarm_m"] / pit["depth_m"]
    width = pit["bottom_width_m"] + share * (pit["width_m"] - pit["bottom_width_m"])
    assert wide == pytest.approx(width * scale)
