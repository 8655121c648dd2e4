"""A page enlarged to twice its size, without motion, and on paper."""

from __future__ import annotations

import io
from collections.abc import Callable
from typing import Any

import pypdf
from playwright.sync_api import Page, expect

VISIT = "Service visit"
MOMENTS = """(ms) => new Promise((done) => {
  const cut = document.querySelector(".moving-section"), seen = [];
  const watch = new MutationObserver(() => {
    if (seen.at(-1) !== cut.dataset.moment) seen.push(cut.dataset.moment);
  });
  watch.observe(cut, { attributes: true, attributeFilter: ["data-moment"] });
  setTimeout(() => { watch.disconnect(); done(seen.length); }, ms);
})"""


def opened(open_page: Callable[..., Any], served: Any, name: str) -> Any:
    """A home with a failed alarm on the page of a visit."""
    served.home(name)
    desk = open_page(VISIT, "tablet")
    desk.open_home(name)
    return desk


def moments(page: Page, ms: int) -> int:
    """How many pictures are drawn in a time while it plays [ms]."""
    page.get_by_role("button", name="Play").click()
    found: int = page.evaluate(MOMENTS, ms)
    page.get_by_role("button", name="Pause").click()
    return found


def test_at_two_hundred_percent_all_is_read_and_pressed_without_scrolling_sideways(
    open_page: Callable[..., Any], served: Any
) -> None:
    desk = opened(open_page, served, "Twice as large")
    page = desk.page
    page.set_viewport_size({"width": 512, "height": 384})  # 1024 x 768 at 200 %
    assert page.evaluate("document.documentElement.scrollWidth <= innerWidth")
    desk.open_group("Checks")
    pick = page.locator('[data-field="visit.checks.alarm_sounded"] label[data-option="no"]')
    pick.click()
    expect(pick.locator("input")).to_be_checked()
    done = page.get_by_label("alarm sounded when its float was lifted: what was done", exact=False)
    done.fill("replaced")
    desk.open_group("Before you leave")
    page.locator('[data-field="visit.checks.pump_back_on"] label[data-option="yes"]').click()
    for what in (".rk-answer .figures", ".rk-answer .short", ".moving-section .picture"):
        part = page.locator(what)
        part.scroll_into_view_if_needed()
        box = part.bounding_box()
        assert box is not None, what
        assert box["x"] >= 0, (what, box)
        assert box["x"] + box["width"] <= 512, (what, box)
    stuck = page.evaluate(
        """[...document.querySelectorAll(".rk *")].filter((e) => e.checkVisibility()
        && getComputedStyle(e).position === "sticky" && e.offsetHeight > innerHeight / 2)
        .map((e) => [e.className, e.offsetHeight])"""
    )
    assert stuck == []  # what stays in sight leaves room for what is read
    assert page.evaluate("document.documentElement.scrollWidth <= innerWidth")


def test_without_motion_the_picture_steps_once_a_second_and_nothing_fades(
    open_page: Callable[..., Any], served: Any
) -> None:
    page = opened(open_page, served, "Without motion").page
    page.get_by_role("button", name="It rains").click()
    assert moments(page, 1500) > 4  # otherwise it moves
    page.get_by_role("button", name="It rains").click()
    page.emulate_media(reduced_motion="reduce")
    assert 1 <= moments(page, 2600) <= 3
    page.locator(".rk-section").evaluate("(e) => e.classList.add('rk-stale')")
    lasting = page.evaluate(
        "document.getAnimations().filter((a) => a.effect.getComputedTiming().duration > 0).length"
    )
    assert lasting == 0


def test_on_paper_stand_answer_picture_and_tables_in_full_length(
    open_page: Callable[..., Any], served: Any
) -> None:
    page = opened(open_page, served, "On paper").page
    figure = page.locator(".rk-answer .time b").inner_text()
    page.emulate_media(media="print")
    for what in (".rk-left", ".rk-top button", ".rk-answer .switches", ".moving-section .play"):
        expect(page.locator(what).first).to_be_hidden()
    for what in (".rk-answer .figures", ".moving-section .picture", ".rk-sheet table"):
        expect(page.locator(what).first).to_be_visible()
    cut = page.evaluate(
        """[...document.querySelectorAll(".rk-page, .rk-columns, .rk-right")]
        .filter((e) => getComputedStyle(e).overflowY !== "visible"
        && e.scrollHeight > e.clientHeight + 1)
        .map((e) => e.className)"""
    )
    assert cut == []  # nothing is left behind a scroll bar
    paper = pypdf.PdfReader(io.BytesIO(page.pdf(format="Letter", print_background=True)))
    words = " ".join(sheet.extract_text() for sheet in paper.pages)
    assert figure in words
    assert "On paper" in words
    assert "If the pump stops" in words
    assert "Never run a generator" in words  # the end of the page too
    assert 2 <= len(paper.pages) <= 8
