"""The take-away page made on the pages: saved beside the home, opened from its link."""

from __future__ import annotations

import re
from collections.abc import Callable
from typing import Any

import pytest
from playwright.sync_api import expect

LONG_MS = 240_000  # all that may help is worked out


@pytest.mark.parametrize("title", ["Assess a home", "Service visit"])
def test_the_page_is_made_saved_and_opened(
    title: str, open_page: Callable[..., Any], served: Any
) -> None:
    name = f"Take away from {title.split()[0]}"
    path = served.home(name)
    desk = open_page(title, "tablet")
    page = desk.page
    desk.open_home(name)
    page.get_by_role("button", name="Make the take-away page").click()
    made = page.locator(".rk-details .made")
    expect(made).to_contain_text(re.compile(r"about \d+ s left"), timeout=LONG_MS)
    target = path.with_name(f"{path.stem}_takeaway.html")
    expect(made).to_contain_text(f"The take-away page is saved as {target.name}.", timeout=LONG_MS)
    with page.expect_popup() as opened:
        page.get_by_role("link", name="Open it").click()
    shown = opened.value
    expect(shown.get_by_role("heading", level=1)).to_have_text(name)
    shown.locator(".moving-section[data-moment]").wait_for()
    value = shown.locator("#value").inner_text()
    assert value and value == page.locator(".rk-answer .time b").inner_text()
    shown.get_by_role("button", name="100-year storm").click()
    expect(shown.get_by_role("button", name="100-year storm")).to_have_attribute(
        "aria-pressed", "true"
    )
    shown.close()
    text = target.read_text("utf-8")
    assert name in text and "://" not in re.sub(r"http://www\.w3\.org/\S+", "", text)
