"""Walls and cautions in the form of a visit, in a real browser."""

from __future__ import annotations

from collections.abc import Callable
from typing import Any

from playwright.sync_api import expect

VISIT = "Service visit"
BOWED = """
[[visit]]
date = "2024-10-14"

[[visit.wall]]
place = "north wall"
kind = "bow"
size = "0.25 in"
method = "plumb line"
"""


def test_several_walls_with_the_last_reading_beside_the_new_one(
    open_page: Callable[..., Any], served: Any
) -> None:
    name = "Walls beside a tablet"
    path = served.home(name)
    path.write_text(path.read_text("utf-8") + BOWED, "utf-8")
    desk = open_page(VISIT, "tablet")
    page = desk.page
    desk.open_home(name)

    desk.open_group("wall-1")
    north = page.locator('[data-field="visit.wall.1.size"]')
    expect(north.locator(".help")).to_contain_text("Last time 0.25 in on October 14, 2024")
    north.get_by_role("textbox").fill("0.75")
    north.get_by_role("textbox").press("Tab")
    expect(north.locator(".help.urgent")).to_contain_text("The bow has grown by 0.50 in")
    expect(page.get_by_role("complementary", name="Take care: Wall: north wall")).to_be_visible()

    desk.open_group("wall-2")
    place = page.locator('[data-field="visit.wall.2.place"]').get_by_role("textbox")
    place.fill("east wall")
    place.press("Tab")
    kind = page.locator('[data-field="visit.wall.2.kind"]').get_by_role("combobox")
    expect(page.locator('details[data-group="wall-3"]')).to_have_count(1)
    expect(kind).to_be_focused()  # the form grew by a place under the hand that fills it in
    expect(page.locator('details[data-group="wall-2"]')).to_have_attribute("open", "")
    kind.select_option("crack")
    width = page.locator('[data-field="visit.wall.2.size"]').get_by_role("textbox")
    expect(page.locator('[data-field="visit.wall.2.size"] label')).to_contain_text("crack")
    width.fill("0.05")
    width.press("Tab")
    desk.saved(path.name)
    desk.nothing_serious()
    desk.fits()
    # "saved" may still have been said of the change before
    found = desk.holds(path, lambda home: all(wall.size for wall in home.visit[-1].wall))
    assert [(wall.place, wall.kind) for wall in found.visit[-1].wall] == [
        ("north wall", "bow"),
        ("east wall", "crack"),
    ]


def test_before_the_home_is_left_the_page_asks_for_the_pump(
    open_page: Callable[..., Any], served: Any
) -> None:
    served.home("Asked before leaving")
    desk = open_page(VISIT, "tablet")
    page = desk.page
    desk.open_home("Asked before leaving")
    desk.open_group("Rise test, pump off")
    care = page.get_by_role("complementary", name="Take care: Rise test, pump off")
    expect(care).to_contain_text("Unplug the pump at its cord")
    desk.open_group("Checks")
    page.locator('[data-field="visit.checks.float_free"] input[value="yes"]').first.click()
    desk.saved("asked_before_leaving.toml")
    page.get_by_role("button", name="Homes").click()
    expect(page.get_by_role("alert").filter(has_text="did you see it start")).to_be_visible()
    desk.open_group("Before you leave")
    page.locator('[data-field="visit.checks.pump_back_on"] input[value="yes"]').first.click()
    expect(page.get_by_role("alert").filter(has_text="did you see it start")).to_have_count(0)
    page.get_by_role("button", name="Homes").click()
    expect(page.locator(".rk-opener")).to_be_visible()
