"""The state of a system on the pages: a failed alarm, what was mended, parts that are not there."""

from __future__ import annotations

import os
from collections.abc import Callable
from pathlib import Path
from typing import Any

from playwright.sync_api import Page, expect

from riskkit.home.home import load_home
from riskkit.home.visit_checks import Check
from riskkit.quantities.components import Component

SHOTS = os.environ.get("RISKKIT_SHOTS")  # a folder to look at what a person sees


def shot(page: Page, name: str) -> None:
    if SHOTS:
        page.screenshot(path=Path(SHOTS) / f"{name}.png")


def test_a_failed_alarm_comes_before_everything_and_goes_when_it_is_mended(
    open_page: Callable[..., Any], served: Any
) -> None:
    name = "Silent alarm tablet"
    path = served.home(name)
    desk = open_page("Service visit", "tablet")
    page = desk.page
    desk.open_home(name)
    first = page.locator(".rk-answer .alerts")
    expect(first).to_be_hidden()
    desk.open_group("Checks")
    alarm = page.locator('[data-field="visit.checks.alarm_sounded"]')
    done = page.get_by_label("Alarm sounded when its float was lifted: what was done")
    expect(done).to_be_hidden()
    with desk.answered():
        alarm.get_by_role("radio", name="no", exact=True).check()
    expect(first).to_contain_text("The alarm did not sound: there is no warning.")
    # before the figure, and the sentence counts from the stop
    assert first.bounding_box()["y"] < page.locator(".rk-answer .figures").bounding_box()["y"]
    assert "after the pump stops" in desk.sentence and "alarm" not in desk.sentence
    expect(page.locator(".rk-stale")).to_have_count(0)  # the tables wait for the whole answer
    heads = page.locator(".rk-sheet thead th").all_inner_texts()
    assert "alarm sounds" not in heads
    # a no is told from a yes by its sign too, not by colour alone
    sign = "e => getComputedStyle(e, '::before').content"
    marks = [
        alarm.locator(f'.pick[data-option="{option}"] span').evaluate(sign)
        for option in ("yes", "no")
    ]
    assert "✓" in marks[0] and "✕" in marks[1]
    shot(page, "visit_failed_alarm_tablet")
    desk.nothing_serious()
    desk.fits()
    # what was done, and as left
    desk.enter("Alarm sounded when its float was lifted: what was seen", "corroded contact")
    desk.enter("Alarm sounded when its float was lifted: what was done", "contact cleaned")
    left = page.locator('[data-field="visit.checks.alarm_sounded.left"]')
    with desk.answered():
        left.get_by_role("radio", name="yes", exact=True).check()
    expect(first).not_to_contain_text("The alarm did not sound")
    desk.saved(path.name)
    check = load_home(path).visit[-1].check("alarm_sounded")
    assert check == Check(False, "corroded contact", "contact cleaned", True)
    shot(page, "visit_mended_alarm_tablet")


def test_no_alarm_by_a_button_and_no_pit_in_one_sentence(
    open_page: Callable[..., Any], served: Any
) -> None:
    name = "Home without alarm"
    path = served.home(name)
    desk = open_page("Assess a home", "desk")
    page = desk.page
    desk.open_home(name)
    desk.open_group("Float and alarm")
    with desk.answered():
        page.get_by_role("button", name="no alarm", exact=True).click()
    expect(page.locator(".rk-answer .alerts")).to_contain_text("There is no alarm")
    assert "after the pump stops" in desk.sentence
    assert load_home(path).lacks(Component.ALARM)
    shot(page, "estimator_no_alarm")
    desk.nothing_serious()
    desk.open_group("Pump")
    with desk.answered():
        page.get_by_role("button", name="no pump", exact=True).click()
    assert "after the rain begins" in desk.sentence and "pump stops" not in desk.sentence
    expect(page.get_by_role("group", name="Pump in the picture")).to_be_hidden()
    shot(page, "estimator_no_pump")
    desk.open_group("Pit and floor")
    page.get_by_role("button", name="no pit", exact=True).click()
    trouble = page.locator(".rk-answer .sentence.wrong")
    expect(trouble).to_contain_text("There is no pit, so there is nothing to time")
    expect(page.locator(".rk-details .sentence")).to_be_hidden()
    expect(page.locator(".rk-answer .alerts")).to_be_hidden()  # no pit, so no alarm to miss
    shot(page, "estimator_no_pit")


def test_a_note_typed_quickly_is_whole_in_its_file_though_the_page_is_left_at_once(
    open_page: Callable[..., Any], served: Any
) -> None:
    name = "Quick notes"
    path = served.home(name)
    desk = open_page("Service visit")
    page = desk.page
    desk.open_home(name)
    desk.open_group("Checks")
    with desk.answered():
        page.locator('[data-field="visit.checks.alarm_sounded"]').get_by_role(
            "radio", name="no", exact=True
        ).check()
    seen = page.get_by_label("Alarm sounded when its float was lifted: what was seen")
    text = "the contact is corroded, and the wire to the float hangs on one strand"
    seen.press_sequentially(text, delay=60)
    page.get_by_role("link", name="All pages").click()
    page.get_by_role("link", name="Service visit").wait_for()
    for _ in range(300):  # a busy machine takes its time
        if text in path.read_text("utf-8"):
            break
        page.wait_for_timeout(100)
    assert text in path.read_text("utf-8")
