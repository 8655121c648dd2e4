"""Start page, technician, analyst and method in a browser."""

from __future__ import annotations

import re
from collections.abc import Callable
from dataclasses import replace
from typing import Any

from playwright.sync_api import expect

from riskkit.assessment import assess, design_rain
from riskkit.home.home import load_home
from riskkit.rainfall.readers.plain import write_rain
from riskkit.rainfall.readers.record import read_rain
from riskkit.report.words import sentence


def test_the_start_page(open_page: Callable[..., Any]) -> None:
    desk = open_page("", "desk")
    links = desk.page.get_by_role("link")
    expect(links).to_have_count(5)
    desk.nothing_serious()
    desk.fits()


def test_a_service_visit(open_page: Callable[..., Any], served: Any) -> None:
    name = "Visit on a desk"
    path = served.home(name)
    desk = open_page("Service visit", "desk")
    page = desk.page
    desk.open_home(name)
    before = desk.sentence
    desk.open_group("Rise test, pump off")
    test = page.locator('details[data-group="Rise test, pump off"]')
    for label, text in (("start", "20"), ("end", "14")):
        test.get_by_label(f"Water level at the {label}").fill(text)
        test.get_by_label(f"Water level at the {label}").press("Tab")
    test.get_by_role("textbox", name="Time between").fill("300")
    test.get_by_role("textbox", name="Time between").press("Tab")
    test.get_by_role("radio", name="dry").check()
    expect(page.get_by_text(re.compile("^Water comes in at .* gpm"))).to_be_visible()
    desk.settled()
    assert desk.sentence != before
    desk.open_group("Checks")
    checks = page.get_by_role("group", name="Alarm sounded when its float was lifted")
    with desk.answered():
        checks.get_by_role("radio", name="no", exact=True).check()
    expect(page.get_by_text("Time to the floor before this visit, from the alarm:")).to_be_visible()
    desk.saved(path.name)
    home = load_home(path)
    assert home.visit[-1].check("alarm_sounded").found is False  # type: ignore[union-attr]  # it is there
    assert home.visit[-1].rise_test is not None
    answer = assess(home, design_rain(home, served.folder).used)
    assert desk.sentence == sentence(answer, state_first=False)
    desk.nothing_serious()
    desk.fits()

    page.get_by_text("Try what would help").click()
    with desk.answered():
        page.get_by_role("button", name="Lead all downspouts").click()
    expect(page.get_by_text("Time to the floor as the home is, from when the pump")).to_be_visible()
    desk.nothing_serious()
    desk.fits()
    assert load_home(path) == home
    page.get_by_role("button", name="Play").click()
    expect(page.locator(".moving-section")).not_to_have_attribute("data-moment", "0")
    page.get_by_role("button", name="Make the handout").click()
    expect(page.get_by_role("link", name="Open it")).to_be_visible(timeout=150_000)
    assert path.with_name(f"{path.stem}_handout.pdf").read_bytes().startswith(b"%PDF")
    with page.context.expect_page() as opened:
        page.get_by_role("link", name="Open it").click()
    expect(opened.value.locator("body")).to_contain_text("Your basement and the large storms")


def test_storm_seasons(open_page: Callable[..., Any], served: Any) -> None:
    desk = open_page("Storm seasons", "desk")
    page = desk.page
    page.get_by_label("Rain record").select_option("alder_bend_rain.csv.gz")
    lead = page.locator(".rk-sheet .lead")
    expect(lead).to_be_visible()
    record = read_rain(served.folder / "alder_bend_rain.csv.gz")
    years = record.depth_mm.size * record.interval_s / (365.25 * 86400)
    expect(lead).to_contain_text(f"{years:.0f} years of rain")
    expect(page.get_by_role("table", name="Quality of the record")).to_be_visible()
    page.get_by_role("button", name="metric").click()
    expect(lead).to_contain_text("mm within 24 h")
    desk.nothing_serious()
    desk.fits()


def test_a_home_through_the_years_of_its_record(open_page: Callable[..., Any], served: Any) -> None:
    """The months of the home first, the rest behind tabs, by mouse and keyboard; files to save."""
    path = served.home("Years on a desk")
    desk = open_page("Storm seasons", "desk")
    page = desk.page
    page.get_by_role("combobox", name="Home").select_option(str(path))
    expect(page.get_by_role("status")).not_to_have_text("")  # it says what is being done
    lead = page.locator(".rk-sheet .lead").first
    expect(lead).to_contain_text("In the storms and thaws of the 40 years", timeout=90_000)
    expect(page.get_by_text("Finish visits by")).to_be_visible()
    months = page.get_by_role("table", name="Months of this home")
    expect(months).to_be_visible()
    desk.nothing_serious()
    desk.fits()
    first, second = (page.get_by_role("tab").nth(i) for i in (0, 1))
    second.click()
    expect(months).to_be_hidden()
    storms = page.get_by_role("table", name="The worst storms for this pit")
    expect(storms.get_by_role("row")).to_have_count(21)
    desk.fits()
    second.press("ArrowLeft")
    expect(first).to_be_focused()
    expect(months).to_be_visible()
    second.click()
    page.get_by_role("button", name="metric").click()
    expect(storms).to_contain_text("mm in")  # the same tab stays open
    page.get_by_role("tab", name="The rain record").click()
    expect(page.get_by_role("table", name="Quality of the record")).to_be_visible()
    desk.nothing_serious()
    with page.expect_download() as saved:
        page.get_by_role("link", name="storms (CSV)").click()
    text = saved.value.path().read_text("utf-8")
    assert text.startswith("start,depth_mm,") and len(text.splitlines()) > 900
    with page.expect_download() as saved:
        page.get_by_role("link", name="picture of the months (PNG)").click()
    assert saved.value.suggested_filename == "alder_bend_rain_months.png"
    png = saved.value.path().read_bytes()
    assert png.startswith(b"\x89PNG\r\n") and png.endswith(b"IEND\xae\x42\x60\x82")


def test_a_record_that_comes_is_noticed_and_a_failing_one_is_said_first(
    open_page: Callable[..., Any], served: Any
) -> None:
    desk = open_page("Storm seasons", "desk")
    page = desk.page
    choice = page.get_by_label("Rain record")
    expect(page.get_by_text("Choose a rain record. The page tells")).to_be_visible()
    name = "wrong_on_desk.csv"
    expect(choice.locator("option", has_text=name)).to_have_count(0)
    record = read_rain(served.folder / "alder_bend_rain.csv.gz")
    write_rain(replace(record, depth_mm=25.4 * record.depth_mm), served.folder / name)
    expect(choice.locator("option", has_text=name)).to_have_count(1)  # without loading again
    choice.select_option(name)
    expect(page.locator(".rk-sheet .lead.wrong")).to_contain_text("checks fail: share of the world")
    expect(page.get_by_role("table").first).to_have_accessible_name("Quality of the record")
    neighbour = page.get_by_label("Record of a nearby gauge")
    expect(neighbour.locator("option", has_text=name)).to_have_count(0)
    desk.nothing_serious()
    desk.fits()


def test_method_and_checks(open_page: Callable[..., Any], demo_sites: Any) -> None:
    desk = open_page("Method and checks", "desk")
    home = load_home(demo_sites / "split_level_on_clay.toml")
    said = sentence(assess(home, design_rain(home, demo_sites).used))
    expect(desk.page.get_by_text(said).first).to_be_visible()
    expect(desk.page.locator("figure svg")).to_have_count(5)
    expect(desk.page.get_by_text("import numpy")).to_have_count(0)  # code is hidden
    desk.page.set_viewport_size({"width": 768, "height": 1024})
    broken = desk.page.evaluate(
        """[...document.querySelectorAll("pre code")].filter((e) => {
          const range = document.createRange();
          range.selectNodeContents(e);
          const seen = [...range.getClientRects()].filter((box) => box.width > 0);
          return new Set(seen.map((box) => Math.round(box.top))).size
            !== e.textContent.trim().split("\\n").length;
        }).map((e) => e.textContent)"""
    )
    assert broken == []  # no formula goes on in the next line where nobody broke it
    desk.nothing_serious()
    desk.fits()
