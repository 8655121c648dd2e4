"""The list of homes on a bare page with a stand-in for the model: sort, filter, save, keyboard."""

from __future__ import annotations

import json
from collections.abc import Iterator
from typing import Any

import pytest
from axe_playwright_python.sync_playwright import Axe
from playwright.sync_api import Browser, Page, expect

from riskkit.widgets.panels import Sheet

GRID = {
    "kind": "grid", "title": "Homes", "head": ["home", "time", "chance"],
    "rows": [["Cabin", "3 h", "1 year in 9"], ["Barn", "20 min", "=1 year in 40"],
             ["Lodge", "never", "1 year in 90"]],
    "keys": [["cabin", 180.0, -0.11], ["barn", 20.0, -0.025], ["lodge", 1e12, -0.011]],
    "sorted": 1, "file": "shown.csv",
}  # fmt: skip
TABS = {
    "kind": "tabs", "title": "Parts",
    "tabs": [{"title": "Months", "blocks": []}, {"title": "Storms", "blocks": []}],
}  # fmt: skip
PAGE = """<!doctype html><html lang="en"><head><title>Homes</title><style>%s</style></head><body>
<main id="here"></main><script type="module">
const data = {title: "The record", blocks: %s}, heard = {};
window.model = {get: (key) => data[key], on: (event, call) => { heard[event] = call; },
  off: () => {}, send: () => {}, save_changes: () => {}};
window.put = (blocks) => { data.blocks = blocks; heard["change:blocks"](); };
const code = btoa(unescape(encodeURIComponent(%s)));
const widget = (await import("data:text/javascript;base64," + code)).default;
widget.render({model, el: document.getElementById("here")});
</script></body></html>"""


@pytest.fixture
def page(browser: Browser) -> Iterator[Page]:
    context = browser.new_context(viewport={"width": 768, "height": 1024})
    page = context.new_page()
    wrong: list[str] = []
    page.on("pageerror", lambda error: wrong.append(str(error)))
    script = json.dumps(str(Sheet._esm)).replace("</", "<\\/")
    page.set_content(PAGE % (Sheet._css, json.dumps([GRID, TABS]), script))
    page.get_by_role("table").wait_for()
    yield page
    context.close()
    assert wrong == []


def names(page: Page) -> list[str]:
    return page.locator(".grid tbody th").all_inner_texts()


def test_homes_are_sorted_filtered_and_saved(page: Page) -> None:
    assert names(page) == ["Barn", "Cabin", "Lodge"]  # the shortest time first
    page.get_by_role("button", name="chance").focus()
    page.keyboard.press("Enter")
    assert names(page) == ["Cabin", "Barn", "Lodge"]  # by the number, not by the text
    head = page.get_by_role("columnheader", name="chance")
    expect(head).to_have_attribute("aria-sort", "ascending")
    page.keyboard.press("Enter")
    assert names(page) == ["Lodge", "Barn", "Cabin"]
    expect(head).to_have_attribute("aria-sort", "descending")
    page.get_by_label("Show only homes with").fill("YEAR in 40")
    assert names(page) == ["Barn"]
    expect(page.get_by_role("status")).to_have_text("1 of 3 shown")
    with page.expect_download() as saved:
        page.get_by_role("button", name="Save what is shown (CSV)").click()
    assert saved.value.suggested_filename == "shown.csv"
    text = saved.value.path().read_text("utf-8")
    # a cell that a spreadsheet would take for a formula is marked as text
    assert text.splitlines() == ['"home","time","chance"', '"Barn","20 min","\'=1 year in 40"']
    found: Any = Axe().run(page).response["violations"]
    assert [v["id"] for v in found if v["impact"] in ("serious", "critical")] == []
    small = "[...document.querySelectorAll('.grid button, .grid input')]" + (
        ".filter((e) => e.getBoundingClientRect().height < 43.5).length"
    )
    assert page.evaluate(small) == 0
    assert page.evaluate("document.documentElement.scrollWidth <= innerWidth")


def test_a_new_list_stays_sorted_and_a_tab_that_comes_is_shown(page: Page) -> None:
    page.get_by_role("button", name="chance").click()
    page.get_by_role("tab", name="Storms").click()
    more = {**TABS, "tabs": [{"title": "Side by side", "blocks": []}, *TABS["tabs"]]}
    page.evaluate("(blocks) => put(blocks)", [{**GRID, "rows": GRID["rows"][:2]}, more])
    assert names(page) == ["Cabin", "Barn"]
    chosen = page.get_by_role("tab", selected=True)
    expect(chosen).to_have_text("Side by side")
    page.get_by_role("tab", name="Storms").click()
    page.evaluate("(blocks) => put(blocks)", [GRID, TABS])  # what is open stays open
    expect(chosen).to_have_text("Storms")
