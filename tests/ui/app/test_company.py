"""The page of a company in a browser: work a table out, see who comes first, filter, save."""

from __future__ import annotations

from collections.abc import Callable
from typing import Any

from playwright.sync_api import expect

from riskkit.files import write_text
from riskkit.fleet.demo import demo_text

LONG_MS = 180_000


def test_a_table_becomes_a_list_a_map_and_files(open_page: Callable[..., Any], served: Any) -> None:
    write_text(served.folder / "company_homes.csv", demo_text(6))
    desk = open_page("Company", "tablet")
    page = desk.page
    page.get_by_label("Table of homes, or a run").select_option("company_homes.csv")
    page.get_by_label("Rain of homes that name none").select_option("alder_bend_rain.csv.gz")
    page.get_by_role("button", name="Work these homes out").click()
    rows = page.locator(".rk-sheet .grid tbody tr:visible")
    expect(rows).to_have_count(6, timeout=LONG_MS)
    expect(page.get_by_text("floods away")).to_be_visible()
    desk.nothing_serious()
    desk.fits()

    page.get_by_label("Visits a week").fill("none")
    page.get_by_label("Visits a week").press("Tab")
    expect(page.get_by_role("alert")).to_contain_text("“none” is not a whole number from 1")
    page.get_by_label("Visits a week").fill("2")
    page.get_by_label("Visits a week").press("Tab")
    expect(page.get_by_text("2 a week")).to_be_visible(timeout=LONG_MS)

    place = rows.first.locator("td").first.inner_text()
    page.get_by_label("Neighbourhood").select_option(place)
    few = demo_text(6).count(f",{place},")
    expect(rows).to_have_count(few)
    for each in rows.all():
        assert each.locator("td").first.inner_text() == place
    for name in ("these homes (CSV)", "these homes (xlsx)"):
        with page.expect_download() as saved:
            page.get_by_role("link", name=name).click()
        assert saved.value.suggested_filename.startswith("homes.")
    page.get_by_role("tab", name="The map").click()
    expect(page.get_by_role("img", name="Homes where they stand")).to_be_visible()
    page.get_by_role("tab", name="The night of a storm").click()
    expect(page.get_by_text("calls come in").first).to_be_visible()
    page.get_by_role("tab", name="Storms of the past").click()
    expect(page.get_by_role("rowheader", name="2016-03-21")).to_be_visible()
    desk.nothing_serious()
