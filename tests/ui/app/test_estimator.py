"""The estimator in a browser: enter, see the answer change, play, save, print."""

from __future__ import annotations

import json
import shutil
from collections.abc import Callable
from typing import Any

import psutil
from playwright.sync_api import Page, expect

from riskkit.assessment import assess, design_rain
from riskkit.home.home import load_home
from riskkit.report.words import sentence

PAGE = "Assess a home"


def test_the_whole_path(open_page: Callable[..., Any], served: Any) -> None:
    name = "Path on a tablet"
    path = served.home(name)
    desk = open_page(PAGE, "tablet")
    page = desk.page
    desk.nothing_serious()
    desk.open_home(name)
    home = load_home(path)
    assert desk.sentence == sentence(assess(home, design_rain(home, served.folder).used))
    desk.fits()

    before = desk.sentence
    desk.open_group("Roof and gutters: details")
    with desk.answered():
        desk.enter("Share of downspouts that end at the wall [%]", "0")
    assert desk.sentence != before
    desk.saved(path.name)
    home = load_home(path)
    assert home.quantity("roof.at_wall").text == "0 %"  # type: ignore[union-attr]  # it is there
    assert desk.sentence == sentence(assess(home, design_rain(home, served.folder).used))
    desk.nothing_serious()
    desk.fits()

    desk.open_group("Roof and gutters")
    with desk.answered():
        page.get_by_role("radio", name="clogged").check()
    page.get_by_role("button", name="100-year storm", exact=True).click()
    expect(page.locator(".moving-section .title")).to_contain_text("100-year storm")
    page.get_by_role("group", name="Pump in the picture").get_by_role(
        "button", name="works"
    ).click()
    expect(page.locator(".moving-section .sentence")).to_contain_text("The pump works.")
    page.get_by_role("button", name="Play").click()
    expect(page.locator(".moving-section")).not_to_have_attribute("data-moment", "0")
    expect(page.locator(".rk-chart :is(svg, canvas)").first).to_be_visible()
    page.get_by_text("Where the numbers come from").click()
    expect(page.get_by_role("table", name="What was taken for the home")).to_be_visible()
    desk.nothing_serious()

    page.get_by_role("button", name="Make the sheet").click()
    expect(page.get_by_role("link", name="Open it")).to_be_visible(timeout=150_000)
    assert path.with_name(f"{path.stem}_sheet.pdf").read_bytes().startswith(b"%PDF")

    for _ in range(2):
        with desk.answered():
            page.get_by_role("button", name="Undo").click()
    expect(page.get_by_label("Share of downspouts that end at the wall [%]").first).to_have_value(
        "4 of 6"
    )
    desk.saved(path.name)
    assert load_home(path).choice("roof.gutters") == "leaves"


def test_unknown_and_wrong_and_measured(open_page: Callable[..., Any], served: Any) -> None:
    path = served.home("Unknown and wrong")
    desk = open_page(PAGE)
    page = desk.page
    desk.open_home("Unknown and wrong")
    desk.open_group("Pit and floor")
    page.get_by_role(
        "button", name="Don't know: bottom of the pit below the basement floor"
    ).click()
    field = page.locator('[data-field="pit.depth"]')
    expect(field.locator(".help")).to_contain_text("Taken as about 24 in (20 to 31 in)")
    expect(field.get_by_role("textbox")).to_have_value("")
    desk.saved(path.name)
    assert load_home(path).quantity("pit.depth") is None

    field.get_by_role("textbox").fill("24 gpm")
    field.get_by_role("textbox").press("Tab")
    expect(field.locator(".error")).to_contain_text("'24 gpm' is not a length; write it like")
    expect(field.get_by_role("textbox")).to_have_value("24 gpm")
    expect(field.get_by_role("textbox")).to_have_attribute("aria-invalid", "true")
    assert load_home(path).quantity("pit.depth") is None
    desk.nothing_serious()

    with desk.answered():
        field.get_by_role("textbox").fill("28")
        field.get_by_role("textbox").press("Enter")
    expect(field.get_by_role("textbox")).to_have_value("28 in")
    expect(field.locator(".error")).to_have_text("")
    with desk.answered():
        field.get_by_role("button", name="Measured: bottom of the pit").click()
    expect(field.get_by_role("button", name="Measured")).to_have_attribute("aria-pressed", "true")
    assert load_home(path).quantity("pit.depth").text == "28 in, measured"  # type: ignore[union-attr]  # it is there

    page.get_by_role("button", name="metric").click()
    expect(field.get_by_role("textbox")).to_have_value("71.1 cm")
    desk.settled()
    desk.fits()


def test_by_keyboard_alone(open_page: Callable[..., Any], served: Any) -> None:
    desk = open_page(PAGE)
    page = desk.page
    keys = page.keyboard

    def tab_to(name: str) -> None:
        for _ in range(120):
            keys.press("Tab")
            focused = page.evaluate(
                """(() => { const e = document.activeElement;
                return (e.labels?.[0]?.textContent ?? "") + "|" + e.getAttribute("aria-label")
                  + "|" + e.textContent; })()"""
            )
            if name in focused:
                return
        raise AssertionError(f"{name} cannot be reached by Tab")

    tab_to("Name of the home")
    keys.type("By keyboard alone")
    keys.press("Enter")
    desk.settled()
    before = desk.sentence
    tab_to("Inside diameter of the pit")
    with desk.answered():
        keys.type("36")
        keys.press("Tab")  # to "measured"
    with desk.answered():
        keys.press("Space")
    assert desk.sentence != before
    path = served.folder / "by_keyboard_alone.toml"
    desk.saved(path.name)
    tab_to("100-year storm")
    keys.press("Enter")
    expect(page.locator(".moving-section .title")).to_contain_text("100-year storm")
    tab_to("Play")
    keys.press("Enter")
    expect(page.locator(".moving-section")).not_to_have_attribute("data-moment", "0")
    home = load_home(path)
    assert home.quantity("pit.diameter").text == "36 in, measured"  # type: ignore[union-attr]  # it is there


def test_two_windows_on_one_file(open_page: Callable[..., Any], served: Any) -> None:
    path = served.home("Two windows")
    one, two = open_page(PAGE), open_page(PAGE)
    for desk in (one, two):
        desk.open_home("Two windows")
        desk.open_group("Place and rain")
    one.page.get_by_label("Note").fill("from the first")
    one.page.get_by_label("Note").press("Tab")
    one.saved(path.name)
    taken = "Taken over from another window or program: "
    expect(two.page.get_by_role("alert").filter(has_text=f"{taken}note.")).to_be_visible()
    expect(two.page.get_by_label("Note")).to_have_value("from the first")
    two.nothing_serious()
    two.open_group("Pit and floor")
    with two.answered():
        two.enter("Inside diameter of the pit", "20 in")
    expect(one.page.get_by_role("alert").filter(has_text=f"{taken}inside diam")).to_be_visible()
    home = load_home(path)
    assert home.note == "from the first"
    assert home.quantity("pit.diameter").text.startswith("20 in")  # type: ignore[union-attr]  # it is there
    one.page.get_by_role("button", name="Undo").click()  # its own change, not the other's
    expect(two.page.get_by_label("Note")).not_to_have_value("from the first")
    assert load_home(path).quantity("pit.diameter") == home.quantity("pit.diameter")


def test_a_file_taken_away_loses_nothing(open_page: Callable[..., Any], served: Any) -> None:
    path = served.home("Taken away")
    desk = open_page(PAGE)
    desk.open_home("Taken away")
    path.unlink()
    path.mkdir()
    desk.open_group("Place and rain")
    desk.page.get_by_label("Note").fill("still here")
    desk.page.get_by_label("Note").press("Tab")
    alarm = desk.page.get_by_role("alert").filter(has_text="nothing was written over it")
    expect(alarm).to_be_visible()
    desk.page.get_by_role("button", name="Load what the file has").click()
    expect(desk.page.get_by_role("alert").filter(has_text="this is a folder")).to_be_visible()
    desk.page.get_by_role("button", name="Keep mine as a copy").click()
    desk.saved("taken_away_2.toml")
    assert load_home(path.with_name("taken_away_2.toml")).note == "still here"
    shutil.rmtree(path)


def kernel_of(page: Page, served: Any) -> psutil.Process:
    """The process that computes for a page."""
    kernel = json.loads(page.locator("#jupyter-config-data").inner_text())["kernelId"]
    mine = [
        process
        for process in psutil.Process(served.process.pid).children(recursive=True)
        if any(kernel in part for part in process.cmdline())
    ]
    assert len(mine) == 1
    return mine[0]


def test_a_kernel_that_pauses_comes_back(open_page: Callable[..., Any], served: Any) -> None:
    path = served.home("Paused")
    desk = open_page(PAGE)
    page = desk.page
    desk.open_home("Paused")
    desk.open_group("Place and rain")
    kernel = kernel_of(page, served)
    alarm = page.get_by_role("alert").filter(has_text="does not answer")
    kernel.suspend()
    try:
        expect(alarm).to_be_visible(timeout=40_000)
        expect(page.locator(".rk-top .saved")).to_have_text("Not connected: changes are not saved")
        page.get_by_label("Note").fill("while it paused")
        page.get_by_label("Note").press("Tab")
    finally:
        kernel.resume()
    expect(alarm).to_have_count(0)
    desk.saved(path.name)
    expect(page.get_by_role("button", name="Undo")).to_be_enabled()
    assert load_home(path).note == "while it paused"


def test_a_long_file_name_stays_beside_the_buttons(
    open_page: Callable[..., Any], served: Any
) -> None:
    name = "Split-level home on clay at the end of Alder Bend Lane"
    path = served.home(name)
    desk = open_page(PAGE, "tablet")
    desk.open_home(name)
    desk.saved(path.name)
    saved = desk.page.locator(".rk-top .saved")
    assert saved.evaluate("(e) => e.scrollWidth <= e.clientWidth")
    assert saved.evaluate("(e) => e.scrollHeight <= e.clientHeight")
    box = saved.bounding_box()
    undo = desk.page.get_by_role("button", name="Undo").bounding_box()
    assert box is not None
    assert undo is not None
    assert box["x"] + box["width"] <= undo["x"]
    assert undo["y"] < 68  # in one row
    below = desk.page.locator(".rk-right").bounding_box()
    assert below is not None
    assert below["y"] + below["height"] <= 769
    desk.fits()


def test_a_note_that_is_too_long_is_said(open_page: Callable[..., Any], served: Any) -> None:
    path = served.home("Long note")
    desk = open_page(PAGE, "tablet")
    desk.open_home("Long note")
    desk.open_group("Place and rain")
    note = desk.page.get_by_label("Note")
    note.fill("x" * 10_000)
    note.press("Tab")
    error = desk.page.locator('[data-field="note"] .error')
    expect(error).to_contain_text("It is 10000 letters long; at most 4000 letters.")
    assert load_home(path).note != "x" * 10_000
    desk.nothing_serious()


def test_a_kernel_killed_in_mid_edit_loses_nothing(
    open_page: Callable[..., Any], served: Any
) -> None:
    path = served.home("Killed")
    desk = open_page(PAGE)
    page = desk.page
    desk.open_home("Killed")
    desk.open_group("Pit and floor")
    page.get_by_label("Inside diameter of the pit").first.type("  ")
    page.get_by_label("Inside diameter of the pit").first.fill("31")  # typed, not left yet
    expect(page.locator(".rk-top .tools button", has_text="Undo")).to_be_enabled()
    kernel_of(page, served).kill()
    alarm = page.get_by_role("alert").filter(
        has_text="The computing part of this page does not answer"
    )
    expect(alarm).to_be_visible(timeout=40_000)
    expect(page.get_by_label("Inside diameter of the pit").first).to_have_value("31")
    again = open_page(PAGE)
    again.open_home("Killed")
    again.open_group("Pit and floor")
    expect(again.page.get_by_label("Inside diameter of the pit").first).to_have_value("31 in")
    assert load_home(path).quantity("pit.diameter").text == "31 in, measured"  # type: ignore[union-attr]  # it is there
