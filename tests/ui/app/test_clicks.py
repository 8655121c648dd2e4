"""How many presses common work takes, counted in the browser as a hand would make them."""

from __future__ import annotations

from collections.abc import Callable
from typing import Any

from playwright.sync_api import Locator, Page, expect

from riskkit.home.home import Home, load_home

COUNT = """window.presses = 0;
addEventListener("pointerdown", (event) => { if (event.isTrusted) window.presses += 1; }, true);
"""


def back_on(home: Home) -> bool:
    """Whether somebody saw the pump start again."""
    return bool(home.visit) and home.visit[-1].check("pump_back_on") is not None


class Hand:
    """Presses and types; every press is counted by the page itself."""

    def __init__(self, page: Page) -> None:
        self.page = page
        page.evaluate(COUNT)

    def press(self, target: Locator) -> None:
        """Press something."""
        target.click()

    def write(self, target: Locator, text: str) -> None:
        """Press a field and type into it."""
        target.click()
        self.page.keyboard.type(text)

    def pick(self, key: str, value: str) -> None:
        """Press one of the answers of a question."""
        self.page.locator(f'[data-field="{key}"] label:has(input[value="{value}"])').click()

    def field(self, key: str) -> Locator:
        """A field by its key."""
        return self.page.locator(f'[data-field="{key}"] input[type=text]').first

    @property
    def presses(self) -> int:
        """How many there were."""
        return int(self.page.evaluate("window.presses"))


def test_a_new_home_from_nothing_to_its_sheet_takes_twenty_presses(
    open_page: Callable[..., Any], served: Any
) -> None:
    desk = open_page("Assess a home", "tablet")
    page = desk.page
    hand = Hand(page)
    hand.write(page.get_by_label("Name of the home"), "Counted from nothing")
    page.keyboard.press("Enter")
    desk.settled()
    hand.write(hand.field("place.town"), "41.2, -88.6")
    hand.write(hand.field("house.paced"), "40 x 28")
    hand.pick("house.use", "finished")
    hand.write(hand.field("roof.downspouts"), "6")
    page.keyboard.press("Tab")  # past "don't know"
    page.keyboard.press("Tab")
    page.keyboard.type("4")
    hand.pick("roof.gutters", "leaves")
    hand.pick("ground.slope", "flat")
    hand.pick("ground.gap", "some")
    hand.write(hand.field("ground.wells"), "2")
    hand.pick("ground.feel", "medium")
    hand.write(hand.field("pit.diameter"), "18")
    hand.write(hand.field("pit.depth"), "24")
    hand.write(hand.field("switch.on"), "12")
    hand.press(page.get_by_role("button", name="no alarm", exact=True))
    hand.pick("pump.horsepower", "1/3 hp")
    hand.pick("pipe.size", "1-1/2 in")
    hand.pick("pipe.check_valve", "works")
    hand.pick("pipe.outlet", "far")
    expect(page.locator(".rk-form .error:not(:empty)")).to_have_text([])
    # the answer is still being refined: the sheet waits for it
    hand.press(page.get_by_role("button", name="Make the sheet"))
    expect(page.get_by_role("link", name="Open it")).to_be_visible(timeout=150_000)
    path = served.folder / "counted_from_nothing.toml"
    assert path.with_name(f"{path.stem}_sheet.pdf").read_bytes().startswith(b"%PDF")
    home = load_home(path)
    said = {key: home.choice(key) for key in ("house.use", "pump.horsepower", "pipe.outlet")}
    assert said == {"house.use": "finished", "pump.horsepower": "1/3 hp", "pipe.outlet": "far"}
    assert home.quantity("roof.at_wall").text == "4 of 6"  # type: ignore[union-attr]  # it is there
    assert home.quantity("ground.well_area").text == "2 wells"  # type: ignore[union-attr]  # it is there
    assert home.place.latitude == 41.2
    assert hand.presses <= 20, hand.presses


def test_a_visit_to_a_home_in_order_takes_eight_presses(
    open_page: Callable[..., Any], served: Any
) -> None:
    name = "Quick visit in order"
    path = served.home(name)
    desk = open_page("Service visit", "tablet")
    page = desk.page
    hand = Hand(page)
    hand.press(page.get_by_role("button", name=name))
    desk.settled()
    hand.press(page.get_by_role("button", name="I made every check below"))
    hand.press(page.locator('details[data-group="Before you leave"] > summary'))
    hand.pick("visit.checks.pump_back_on", "yes")
    home = desk.holds(path, back_on)
    hand.press(page.get_by_role("button", name="Make the handout"))
    expect(page.get_by_role("link", name="Open it")).to_be_visible(timeout=150_000)
    hand.press(page.get_by_role("button", name="Homes"))
    expect(page.locator(".rk-opener")).to_be_visible()
    visit = home.visit[-1]
    assert visit.check("alarm_sounded").found is True  # type: ignore[union-attr]  # it is there
    assert visit.check("alarm_battery_changed") is None  # work is never said to be done
    assert hand.presses <= 8, hand.presses


def test_a_whole_visit_takes_fewer_than_twenty_presses(
    open_page: Callable[..., Any], served: Any
) -> None:
    name = "Whole visit counted"
    path = served.home(name)
    desk = open_page("Service visit", "tablet")
    page = desk.page
    hand = Hand(page)
    hand.press(page.get_by_role("button", name=name))
    desk.settled()
    hand.write(hand.field("visit.who"), "technician")
    hand.press(page.get_by_role("button", name="I made every check below"))
    hand.pick("visit.checks.alarm_sounded", "no")
    hand.write(hand.field("visit.checks.alarm_sounded.done"), "contact cleaned")
    hand.pick("visit.checks.alarm_sounded.left", "yes")
    for title, test, ends in (
        ("Rise test, pump off", "rise_test", ("20", "14")),
        ("Draw-down test, pump on", "drawdown_test", ("13", "21")),
    ):
        hand.press(page.locator(f'details[data-group="{title}"] > summary'))
        hand.write(hand.field(f"visit.{test}.begin"), ends[0])
        page.keyboard.press("Tab")
        page.keyboard.type(ends[1])
        page.keyboard.press("Tab")
        page.keyboard.type("5:00" if test == "rise_test" else "0:40")
        page.keyboard.press("Tab")
    hand.press(page.locator('details[data-group="Parts, floor drain and note"] > summary'))
    hand.write(hand.field("visit.next"), "10/12/2027")
    hand.press(page.locator('details[data-group="Before you leave"] > summary'))
    hand.pick("visit.checks.pump_back_on", "yes")
    expect(page.locator(".rk-form .error:not(:empty)")).to_have_count(0)
    expect(hand.field("visit.next")).to_have_value("2027-10-12")  # as the file has it
    home = desk.holds(path, back_on)
    hand.press(page.get_by_role("button", name="Make the handout"))
    expect(page.get_by_role("link", name="Open it")).to_be_visible(timeout=150_000)
    visit = home.visit[-1]
    assert visit.rise_test.time.value == 300.0  # type: ignore[union-attr]  # it is there
    assert visit.drawdown_test.time.value == 40.0  # type: ignore[union-attr]  # it is there
    assert str(visit.next) == "2027-10-12"
    assert visit.check("alarm_sounded").as_left is True  # type: ignore[union-attr]  # it is there
    assert hand.presses < 20, hand.presses


def test_the_owner_sees_what_would_help_after_three_presses(
    open_page: Callable[..., Any], served: Any
) -> None:
    served.home("Owner counted")
    desk = open_page("Assess a home", "tablet")
    hand = Hand(desk.page)
    hand.press(desk.page.get_by_role("button", name="Owner counted"))
    desk.settled()
    hand.press(desk.page.get_by_role("button", name="Show the owner"))
    hand.press(desk.page.get_by_role("button", name="What would help"))
    helps = desk.page.locator(".rk-helps")
    expect(helps.get_by_role("listitem").first).to_be_visible(timeout=150_000)
    assert hand.presses <= 6, hand.presses


def test_what_was_typed_and_not_left_outlives_a_reload(
    open_page: Callable[..., Any], served: Any
) -> None:
    name = "Typed and loaded again"
    path = served.home(name)
    desk = open_page("Assess a home", "tablet")
    page = desk.page
    desk.open_home(name)
    desk.open_group("Place and rain")
    note = page.get_by_label("Note")
    note.click()
    page.keyboard.press("Control+A")
    page.keyboard.type("half a sentence")
    page.reload()  # at once, before it was sent
    page.locator(".rk-opener:visible").wait_for()
    desk.open_home(name)
    expect(page.get_by_label("Note")).to_have_value("half a sentence")
    assert desk.holds(path, lambda home: home.note == "half a sentence")
    desk.open_group("Pit and floor")
    wrong = page.locator('[data-field="pit.depth"]')
    wrong.get_by_role("textbox").fill("24 gpm")
    page.wait_for_timeout(700)  # it was sent and passed over: neither taken in nor called wrong
    expect(wrong.locator(".error")).to_have_text("")
    page.reload()
    page.locator(".rk-opener:visible").wait_for()
    desk.open_home(name)
    expect(wrong.get_by_role("textbox")).to_have_value("24 gpm")  # refused, and not lost
    page.reload()
    page.locator(".rk-opener:visible").wait_for()
    desk.open_home(name)
    expect(wrong.get_by_role("textbox")).to_have_value("24 gpm")  # nor by a second one
    expect(wrong.locator(".error")).to_contain_text("is not a length")


def test_the_list_of_homes_renews_itself(open_page: Callable[..., Any], served: Any) -> None:
    desk = open_page("Assess a home", "tablet")
    box = desk.page.get_by_label("Name of the home")
    box.fill("Being typed")
    served.home("Came meanwhile")
    expect(desk.page.get_by_role("button", name="Came meanwhile")).to_be_visible()
    expect(box).to_have_value("Being typed")
