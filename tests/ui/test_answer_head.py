"""The head of the answer on a bare page with a stand-in for the model, before any answer."""

from __future__ import annotations

import json
from collections.abc import Iterator
from typing import Any

import pytest
from playwright.sync_api import Browser, Page, expect

from riskkit.report.moving import SECTION_STYLE
from riskkit.widgets.panels import AnswerHead

VIEW: dict[str, Any] = {
    "turn": 1, "alerts": [], "order_first": "", "figure": None, "sentence": "", "trouble": "",
    "refining": True, "state": "", "beside": "", "least": "", "storms": [10.0], "headline": 10.0,
    "stopped": True, "has_pump": True, "refused": None, "notes": "", "tools": [],
}  # fmt: skip
FIGURE = {
    "value": "5 h",
    "likely": "likely 35 min",
    "of": "from the alarm",
    "short": "It may flood.",
}
PAGE = """<!doctype html><html lang="en"><head><title>Answer</title><style>%s</style></head><body>
<div class="rk-page"><main id="here"></main></div><script type="module">
const data = {view: %s}, heard = {};
window.model = {get: (key) => data[key], on: (event, call) => { heard[event] = call; },
  off: () => {}, send: () => {}, save_changes: () => {}};
window.put = (view) => { data.view = view; heard["change:view"](); };
const code = btoa(unescape(encodeURIComponent(%s)));
const widget = (await import("data:text/javascript;base64," + code)).default;
widget.render({model, el: document.getElementById("here")});
</script></body></html>"""
WAITS = "The answer is being worked out."


@pytest.fixture
def page(browser: Browser) -> Iterator[Page]:
    context = browser.new_context(viewport={"width": 768, "height": 1024})
    page = context.new_page()
    wrong: list[str] = []
    page.on("pageerror", lambda error: wrong.append(str(error)))
    script = json.dumps(str(AnswerHead._esm)).replace("</", "<\\/")
    style = f"{AnswerHead._css}{SECTION_STYLE}"
    page.set_content(PAGE % (style, json.dumps(VIEW), script))
    page.locator(".rk-answer").wait_for()
    yield page
    context.close()
    assert wrong == []


def owner(page: Page, *, yes: bool) -> None:
    page.evaluate(
        "yes => document.querySelector('.rk-page').classList.toggle('rk-owner', yes)", yes
    )


@pytest.mark.parametrize("yes", [False, True])
def test_before_an_answer_one_line_says_so_to_the_owner_too(page: Page, yes: bool) -> None:
    owner(page, yes=yes)
    expect(page.get_by_text(WAITS)).to_be_visible()
    way_back = page.locator("button.owner")
    expect(way_back).to_be_visible(visible=yes)
    expect(page.locator(".figures p:visible")).to_have_count(0)
    page.evaluate("view => put(view)", VIEW | {"figure": FIGURE, "sentence": "It may flood."})
    expect(page.get_by_text(WAITS)).to_have_count(0)
    expect(page.locator(".short")).to_have_text("It may flood.")
    expect(way_back).to_be_visible()


def test_what_stands_in_the_way_of_an_answer_is_said_instead(page: Page) -> None:
    page.evaluate("view => put(view)", VIEW | {"trouble": "There is no pit."})
    expect(page.get_by_text("There is no pit.")).to_be_visible()
    expect(page.get_by_text(WAITS)).to_have_count(0)
