"""All homes of a folder side by side on *Storm seasons*, in a real browser."""

from __future__ import annotations

import shutil
from collections.abc import Callable, Iterator
from pathlib import Path
from typing import Any

import pytest
from playwright.sync_api import expect

from tests.ui.app.conftest import Served, serving

ALL = "All homes of this folder, side by side"
HOMES = {
    "split_level_on_clay": "Split-level on clay, Alder Bend",
    "row_house_near_creek": "Row house near the creek, Alder Bend",
}
LONG_MS = 240_000  # two homes through forty years, on a busy machine


@pytest.fixture(scope="module")
def served(tmp_path_factory: pytest.TempPathFactory, demo_sites: Path) -> Iterator[Served]:
    """A folder of its own: homes that other tests make would be run, too."""
    folder = tmp_path_factory.mktemp("two_homes")
    for name in HOMES:
        shutil.copy(demo_sites / f"{name}.toml", folder)
    for path in demo_sites.glob("*.csv.gz"):
        shutil.copy(path, folder)
    with serving(folder) as server:
        yield server


def test_homes_of_a_folder_side_by_side(open_page: Callable[..., Any], served: Any) -> None:
    """It says what it is doing and how long, then list, years and what is due, at every size."""
    desk = open_page("Storm seasons", "tablet")
    page = desk.page
    page.get_by_role("combobox", name="Home").select_option(label=ALL)
    status = page.get_by_role("status").first
    expect(status).to_contain_text("Home 1 of 2: running", timeout=LONG_MS)
    expect(status).to_contain_text("Home 2 of 2: running 64 variants", timeout=LONG_MS)
    lead = page.locator(".rk-sheet .lead").first
    expect(lead).to_contain_text("A failed pump floods most often in Row house", timeout=LONG_MS)
    expect(page.get_by_text("2 homes", exact=True)).to_be_visible()
    listed = page.get_by_role("table", name="Homes of the folder")
    expect(listed.get_by_role("row")).to_have_count(3)
    desk.nothing_serious()
    desk.fits()
    page.get_by_label("Show only homes with").fill("never visited")
    expect(listed.get_by_role("row")).to_have_count(2)
    expect(listed).to_contain_text(HOMES["split_level_on_clay"])
    page.get_by_label("Show only homes with").fill("")
    with page.expect_download() as saved:
        page.get_by_role("link", name="all homes (CSV)").click()
    assert saved.value.path().read_text("utf-8").count("\n") == 3
    page.get_by_role("tab", name="Their years").click()
    years = page.get_by_role("table", name="A year, side by side")
    expect(years).to_contain_text("gal")
    for name in HOMES.values():
        expect(years).to_contain_text(name)
    expect(page.locator(".rk-sheet figure img:visible")).to_have_count(1)
    desk.nothing_serious()
    desk.fits()
    page.get_by_role("button", name="metric").click()
    expect(years).to_contain_text("m³")  # the same tab stays open
    page.get_by_role("tab", name="What is due").click()
    due = page.get_by_role("tabpanel").filter(visible=True)
    expect(due).to_contain_text("Service was due on")
    expect(due).to_contain_text("Never visited; best before")
    desk.nothing_serious()
    desk.fits()
    # the years are kept: a second look runs none of them again
    kept = {path: path.stat().st_mtime_ns for path in served.folder.rglob("replays/*.npz")}
    assert len(kept) == 2
    page.get_by_role("combobox", name="Home").select_option("")
    expect(lead).to_be_hidden()
    page.get_by_role("combobox", name="Home").select_option(label=ALL)
    expect(lead).to_contain_text("A failed pump floods most often in Row house", timeout=LONG_MS)
    assert {path: path.stat().st_mtime_ns for path in kept} == kept
