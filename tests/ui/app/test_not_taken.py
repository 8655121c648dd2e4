"""In a browser: refused values, a deleted file and an answer that is not there yet are said so."""

from __future__ import annotations

import re
from collections.abc import Callable
from typing import Any

from playwright.sync_api import expect

from riskkit.home.home import load_home

ESTIMATOR, VISIT = "Assess a home", "Service visit"
# what the mark says, after how long and how it is placed, once picture and chart are dimmed
DIMMED = """() => {
  const pictures = [...document.querySelectorAll(".rk-section .picture, .rk-chart .marks")];
  if (pictures.length !== 2) return null;
  // picture, chart and tables are marked one after the other
  if (document.querySelectorAll(".rk-stale").length < 3) return null;
  if (pictures.some((e) => getComputedStyle(e).opacity > 0.5)) return null;
  if (pictures.some((e) => getComputedStyle(e).animationName !== "none")) return "not at once";
  const words = [...document.querySelectorAll(".rk-stale :is(.rk-caption, .say)")];
  if (words.some((e) => getComputedStyle(e).color !== "rgb(93, 110, 120)")) return "black words";
  return [...document.querySelectorAll(".rk-stale")].map((e) => getComputedStyle(e, "::before"))
    .map((mark) => [mark.content, mark.animationDelay, mark.position]);
}"""


def test_a_refused_value_is_seen_from_everywhere(
    open_page: Callable[..., Any], served: Any
) -> None:
    name = "Wrong number in a home at the end of a long lane on a tablet"
    path = served.home(name)
    desk = open_page(ESTIMATOR, "tablet")
    page = desk.page
    desk.open_home(name)
    summary = page.locator('details[data-group="Pit and floor"] > summary')
    refused = page.locator(".rk-answer .refused")
    notes = page.locator(".rk-details .notes")
    expect(refused.get_by_role("status")).to_have_text("")
    expect(notes).to_be_hidden()

    desk.open_group("Pit and floor")
    desk.enter("Bottom of the pit below", "24 gpm")
    # it pushes the form down: a click before would miss
    expect(refused.get_by_role("button", name="Go to it")).to_be_visible()
    summary.click()
    expect(page.locator('[data-field="pit.depth"]')).to_be_hidden()
    expect(summary.locator(".wrong")).to_have_text("1 value not accepted")
    sign = summary.locator(".wrong").evaluate("(e) => getComputedStyle(e, '::before').content")
    assert "▲" in sign
    said = (
        "1 value is not accepted, so it is neither in the answer nor saved: "
        "bottom of the pit below the basement floor (Pit and floor)."
    )
    expect(refused.get_by_role("status")).to_have_text(said)
    expect(notes).to_be_hidden()  # once beside the answer is enough; the button is told there
    make = page.get_by_role("button", name="Make the sheet")
    expect(make).to_have_accessible_description(re.compile(re.escape(said)))
    saved = page.locator(".rk-top .saved")
    expect(saved).to_have_text(f"1 value not accepted; the rest saved in {path.name}")
    assert saved.evaluate("(e) => e.scrollHeight <= e.clientHeight")
    desk.nothing_serious()
    desk.fits()

    page.get_by_role("button", name="Go to it").click()
    field = page.locator('[data-field="pit.depth"]').get_by_role("textbox")
    expect(field).to_be_focused()
    expect(field).to_be_in_viewport()
    page.get_by_role("button", name="Make the sheet").click()
    with page.context.expect_page() as opened:
        page.get_by_role("link", name="Open it").click()
    expect(opened.value.locator("body")).to_contain_text(said)
    assert path.with_name(f"{path.stem}_sheet.pdf").read_bytes().startswith(b"%PDF")

    field.fill("28")
    field.press("Tab")
    desk.saved(path.name)
    expect(summary.locator(".wrong")).to_have_text("")
    expect(notes).to_be_hidden()
    desk.nothing_serious()


def test_refused_values_of_a_visit_and_of_its_home_stand_together(
    open_page: Callable[..., Any], served: Any
) -> None:
    name = "Wrong words beside a tablet"
    path = served.home(name)
    desk = open_page(VISIT, "tablet")
    page = desk.page
    desk.open_home(name)
    desk.open_group("wall-1")
    size = page.locator('[data-field="visit.wall.1.size"]')
    size.get_by_role("textbox").fill("hair")
    size.get_by_role("textbox").press("Tab")
    wall = size.locator(".error")
    expect(wall).to_contain_text("'hair' does not start with a number")
    desk.open_group("Pump: details")
    more = page.locator('details[data-group="Pump: details, more"]')
    more.locator("> summary").click()
    capacity = page.locator('[data-field="pump.capacity"]').get_by_role("textbox")
    capacity.fill("a lot")
    capacity.press("Tab")
    status = page.locator(".rk-answer .refused").get_by_role("status")
    expect(status).to_contain_text("2 values are not accepted")
    expect(status).to_contain_text("(Wall: another place); ")
    expect(more.locator("> summary .wrong")).to_have_text("1 value not accepted")
    desk.open_group("House: details")
    more.locator("> summary").evaluate("(e) => { e.parentElement.open = false; }")
    desk.nothing_serious()
    desk.fits()
    following = page.get_by_role("button", name="Go to the next")
    following.click()
    expect(size.get_by_role("textbox")).to_be_focused()
    following.click()
    expect(capacity).to_be_focused()
    expect(capacity).to_be_in_viewport()
    assert load_home(path).visit == ()


def test_what_is_typed_and_not_left_yet_is_not_called_saved(
    open_page: Callable[..., Any], served: Any
) -> None:
    path = served.home("Not left yet")
    desk = open_page(ESTIMATOR)
    page = desk.page
    desk.open_home("Not left yet")
    desk.open_group("Pit and floor")
    field = page.locator('[data-field="pit.depth"]').get_by_role("textbox")
    field.fill("24 gpm")
    expect(page.locator(".rk-top .saved")).to_contain_text("1 value not accepted")
    expect(field).to_be_focused()
    expect(field).to_have_value("24 gpm")
    with desk.answered():
        field.fill("24 in")
    desk.saved(path.name)
    expect(field).to_be_focused()
    desk.open_group("Place and rain")
    note = page.get_by_label("Note")
    with desk.answered():
        note.fill("typed and not left")
    expect(note).to_be_focused()
    assert load_home(path).note == "typed and not left"


def test_picture_chart_and_tables_are_marked_while_they_wait_for_the_new_answer(
    open_page: Callable[..., Any], served: Any
) -> None:
    served.home("Waiting picture")
    desk = open_page(ESTIMATOR)
    page = desk.page
    desk.open_home("Waiting picture")
    expect(page.locator(".rk-stale")).to_have_count(0)
    desk.open_group("Roof and gutters: details")
    with desk.answered():
        desk.enter("Share of downspouts that end at the wall [%]", "0")
        marks = page.wait_for_function(DIMMED).json_value()
    said = ['"◔ Working on the new answer …"', "0.3s"]
    # the tables are longer than the window: their mark goes along
    assert marks == [[*said, "absolute"], [*said, "absolute"], [*said, "sticky"]]
    expect(page.locator(".rk-stale")).to_have_count(0)
    # both key figures stand on one line, at a desk as on a tablet
    expect(page.locator(".rk-answer .chance")).to_be_visible()
    low = page.locator(".rk-answer .figures b").evaluate_all(
        """(all) => all.map((b) => {
          const mark = b.appendChild(document.createElement("i"));
          mark.style.cssText = "display: inline-block; width: 0; height: 0";
          return mark.getBoundingClientRect().bottom;
        })"""
    )
    assert abs(low[0] - low[1]) < 1
    assert (
        page.locator(".rk-section .picture").evaluate("(e) => getComputedStyle(e).opacity") == "1"
    )


def test_a_deleted_file_is_said_to_be_and_written_again_or_comes_back(
    open_page: Callable[..., Any], served: Any
) -> None:
    name = "Deleted on a tablet"
    path = served.home(name)
    desk = open_page(ESTIMATOR, "tablet")
    page = desk.page
    desk.open_home(name)
    away = path.rename(served.folder / "away")
    alarm = page.get_by_role("alert").filter(has_text=f"{path.name} was deleted or moved")
    expect(alarm).to_be_visible()
    expect(page.locator(".rk-top .saved")).to_have_text("Deleted or moved")
    expect(page.get_by_role("button", name="Load what the file has")).to_have_count(0)
    desk.nothing_serious()
    desk.fits()
    away.rename(path)
    desk.saved(path.name)
    expect(alarm).to_have_count(0)

    path.unlink()
    page.get_by_role("button", name="Write it again").click()
    desk.saved(path.name)
    assert load_home(path).name == name
    assert "# An invented home." in path.read_text("utf-8")


def test_the_focus_of_a_group_is_seen_whole(open_page: Callable[..., Any], served: Any) -> None:
    served.home("Focus ring")
    desk = open_page(ESTIMATOR, "tablet")
    desk.open_home("Focus ring")
    summary = desk.page.locator('details[data-group="House"] > summary')
    summary.focus()
    desk.page.keyboard.press("Shift+Tab")
    desk.page.keyboard.press("Tab")
    expect(summary).to_be_focused()
    ring = summary.evaluate(
        """(e) => { const s = getComputedStyle(e), box = e.getBoundingClientRect();
          const out = parseFloat(s.outlineOffset) + parseFloat(s.outlineWidth);
          const column = e.closest(".rk-column").getBoundingClientRect();
          return [s.outlineStyle, box.left - out >= column.left,
            box.right + out <= column.right]; }"""
    )
    assert ring == ["solid", True, True]


def test_a_spoiled_home_is_listed_and_other_files_are_named(
    open_page: Callable[..., Any], served: Any
) -> None:
    spoiled, other = served.folder / "spoiled.toml", served.folder / "pyproject.toml"
    spoiled.write_text("#" * 5000 + "\nform\n[pit]\n", "utf-8")
    other.write_text('[project]\nname = "x"\n', "utf-8")
    desk = open_page(ESTIMATOR)
    expect(desk.page.get_by_role("button", name="spoiled.toml")).to_contain_text(
        "cannot be read: it is not TOML"
    )
    expect(desk.page.get_by_text("Not home files, so not listed: pyproject.toml.")).to_be_visible()
    desk.nothing_serious()
    spoiled.unlink()
    other.unlink()
