"""The owner's view: figure, section, time line and steps inside the window, and what would help."""

from __future__ import annotations

from collections.abc import Callable
from itertools import pairwise
from typing import Any

from playwright.sync_api import Page, expect

SIZES = {"tablet": (1024, 768), "upright": (768, 1024), "desk": (1440, 900)}
SEEN = (
    ".rk-answer .figures", ".moving-section .picture", ".moving-section .slider",
    ".moving-section .play", ".moving-section .jumps", ".moving-section .say",
)  # fmt: skip


def inside(page: Page) -> None:
    """All of the view lies inside the window, and nothing that is read wraps."""
    wide, high = page.viewport_size["width"], page.viewport_size["height"]
    for what in SEEN:
        box = page.locator(what).bounding_box()
        assert box is not None, what
        assert box["x"] >= 0 and box["x"] + box["width"] <= wide + 0.5, (what, box)
        assert box["y"] >= 0 and box["y"] + box["height"] <= high + 0.5, (what, box)
    assert page.locator(".moving-section .picture").bounding_box()["height"] >= 240
    rows = page.evaluate(
        """[...document.querySelectorAll(".moving-section .reading dd")]
        .filter((e) => e.offsetHeight)
        .map((e) => e.offsetHeight / parseFloat(getComputedStyle(e).lineHeight))"""
    )
    assert max(rows) < 1.5


def test_the_owner_sees_all_of_it_at_every_size_and_what_would_help_in_four_presses(
    open_page: Callable[..., Any], served: Any
) -> None:
    served.home("Shown to the owner")
    desk = open_page("Assess a home", "tablet")
    page = desk.page
    desk.open_home("Shown to the owner")
    expect(page.locator(".rk-answer .chance b")).not_to_be_empty(timeout=150_000)
    page.get_by_role("button", name="Show the owner").click()
    expect(page.locator(".rk-form:visible")).to_have_count(0)
    expect(page.locator(".rk-top")).to_be_hidden()
    for width, high in SIZES.values():
        page.set_viewport_size({"width": width, "height": high})
        page.get_by_role("button", name="The floor").click()
        page.wait_for_timeout(300)  # the picture is drawn again for the new size
        inside(page)
    desk.nothing_serious()
    helps = page.locator(".rk-helps")
    expect(helps).to_be_hidden()
    page.get_by_role("button", name="What would help").click()
    expect(helps.get_by_role("listitem").first).to_be_visible(timeout=150_000)
    expect(helps.get_by_role("heading")).to_contain_text("if done")
    expect(page.locator(".moving-section .picture")).to_be_hidden()
    desk.nothing_serious()
    page.get_by_role("button", name="It rains").click()
    expect(page.locator(".moving-section .picture")).to_be_visible()
    expect(helps).to_be_hidden()
    page.keyboard.press("Escape")
    expect(page.locator(".rk-form").first).to_be_visible()


def test_what_stands_by_the_pump_leaves_the_picture_large(
    open_page: Callable[..., Any], served: Any
) -> None:
    """Upright there is no height for two pictures: house and pit stand side by side."""
    path = served.home("With all that stands by")
    parts = '[second_pump]\nruns_on = "battery"\n\n[generator]\nstarts = "by hand"\n'
    path.write_text(f"{path.read_text('utf-8')}\n{parts}", "utf-8")
    desk = open_page("Assess a home", "upright")
    page = desk.page
    desk.open_home("With all that stands by")
    expect(page.locator(".rk-answer .chance b")).not_to_be_empty(timeout=150_000)
    page.get_by_role("button", name="Show the owner").click()
    page.get_by_role("button", name="The floor").click()
    for width, high in SIZES.values():
        page.set_viewport_size({"width": width, "height": high})
        page.wait_for_timeout(300)
        inside(page)
        frames = [frame.bounding_box() for frame in page.locator(".picture rect.frame").all()]
        house, pit = (frame for frame in frames if frame is not None)
        assert house["y"] == pit["y"] and house["x"] + house["width"] < pit["x"]
        assert min(house["height"], pit["height"]) >= 240
        for column in ("room", "yard", "levels"):  # no word on another
            tops = [each.bounding_box() for each in page.locator(f".{column} text").all()]
            rows = sorted(box["y"] for box in tops if box is not None)
            assert all(low - top >= 14 for top, low in pairwise(rows)), column
        points = page.locator(".room .end, .yard .end").all()
        ends = [point.bounding_box() for point in points]
        assert all(box is not None and house["x"] < box["x"] < pit["x"] for box in ends)


def test_what_comes_later_above_the_picture_takes_its_height_from_the_picture(
    open_page: Callable[..., Any], served: Any
) -> None:
    """The chance of a year is told seconds after the minutes, with an alert perhaps."""
    served.home("Told in two parts")
    desk = open_page("Assess a home", "upright")
    page = desk.page
    desk.open_home("Told in two parts")
    expect(page.locator(".rk-answer .chance b")).not_to_be_empty(timeout=150_000)
    page.get_by_role("button", name="Show the owner").click()
    page.get_by_role("button", name="The floor").click()
    page.wait_for_timeout(300)
    inside(page)
    picture = page.locator(".moving-section .picture")
    drawn = picture.bounding_box()["height"]
    more = "(e) => { e.append(document.createElement('hr')); e.lastChild.style.height = '40px'; }"
    for where in (".rk-answer", ".moving-section .say"):
        page.locator(where).evaluate(more)
        page.wait_for_timeout(300)
        inside(page)
        assert picture.bounding_box()["height"] <= drawn - 39, where
        page.locator(where).evaluate("(e) => e.lastChild.remove()")
        page.wait_for_timeout(300)
        assert picture.bounding_box()["height"] == drawn, where


def test_the_figure_stays_in_sight_while_all_else_scrolls(
    open_page: Callable[..., Any], served: Any
) -> None:
    served.home("Scrolled")
    desk = open_page("Assess a home", "tablet")
    desk.open_home("Scrolled")
    column = desk.page.locator(".rk-right")
    for scroll in (400, 3000):
        column.evaluate("(e, y) => e.scrollTo(0, y)", scroll)
        assert column.evaluate("(e) => e.scrollTop") > 300
        box = desk.page.locator(".rk-answer .figures").bounding_box()
        top = column.bounding_box()
        assert box is not None and top is not None
        assert top["y"] <= box["y"] <= top["y"] + 20
    expect(desk.page.locator(".rk-answer .time b")).to_be_in_viewport()
