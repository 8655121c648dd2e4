"""The moving section in a real browser: what it shows, and how it is played, dragged and read."""

from __future__ import annotations

import copy
from collections.abc import Callable
from typing import Any

import pytest
from axe_playwright_python.sync_playwright import Axe
from playwright.sync_api import Page, expect

from riskkit.widgets.section import check_animation


def state(page: Page) -> dict[str, str]:
    found: dict[str, str] = page.evaluate(
        "({ ...document.querySelector('.moving-section').dataset })"
    )
    return found


def reading(page: Page, name: str) -> Any:
    return page.locator(f"[data-reading={name}]")


def at(page: Page, moment_s: float) -> None:
    page.evaluate("moment => put('moment_s', moment)", moment_s)


@pytest.mark.parametrize(
    ("moment_s", "states", "words"),
    [
        (0, "waiting silent dry",
         "0 h 00 min|0.5 in/h|21 in below the floor|ready, not running|silent|–"),
        (660, "running silent dry",
         "0 h 11 min|0.5 in/h|14 in below the floor|running|silent|–"),
        (11400, "stopped silent dry",
         "3 h 10 min|1.0 in/h|16 in below the floor|not working|silent|–"),
        (12900, "stopped sounding dry",
         "3 h 35 min|1.0 in/h|5 in below the floor|not working|sounding|5 min"),
        (21600, "stopped sounding wet",
         "6 h 00 min|none|2.0 in on the floor|not working|sounding|2 h 30 min"),
    ],
)  # fmt: skip
def test_a_moment_is_shown_in_picture_and_words(
    drawn_page: Page, moment_s: float, states: str, words: str
) -> None:
    page = drawn_page
    pump, alarm, floor = states.split()
    at(page, moment_s)
    shown = state(page)
    assert (shown["pump"], shown["alarm"], shown["floor"]) == (pump, alarm, floor)
    names = ("time", "rain", "water", "pump", "alarm", "since")
    for name, text in zip(names, words.split("|"), strict=True):
        expect(reading(page, name)).to_have_text(text)
    visible = {
        name: page.locator(f".picture .{name}").first.is_visible()
        for name in ("cross", "sound", "flow")
    }
    assert visible == {
        "cross": pump == "stopped",
        "sound": alarm == "sounding",
        "flow": pump == "running",
    }
    height = float(page.locator(".floor-water").first.get_attribute("height") or 0)
    assert (height > 1) == (floor == "wet")
    rain = page.locator("path.rain").get_attribute("d") or ""
    assert bool(rain) == (shown["moment"] != "21600")


def test_title_and_sentence_stand_above(drawn_page: Page, played: dict[str, Any]) -> None:
    page = drawn_page
    expect(page.get_by_text("Split-level: 10-year storm, 3.7 in in 24 h")).to_be_visible()
    expect(page.get_by_text(played["sentence"])).to_be_visible()


def test_more_rain_is_more_drops(drawn_page: Page) -> None:
    page = drawn_page
    drops = []
    for moment_s in (0.0, 9000.0):
        at(page, moment_s)
        drops.append((page.locator("path.rain").get_attribute("d") or "").count("M"))
    assert drops[1] > drops[0] > 0


def test_play_runs_and_pause_holds_and_tells_python(drawn_page: Page) -> None:
    page = drawn_page
    page.get_by_label("Speed").select_option("60")
    page.get_by_role("button", name="Play").click()
    page.clock.run_for(10_000)
    # a second is a minute, to within a frame at either end
    assert int(state(page)["moment"]) == pytest.approx(600, abs=3)
    assert page.evaluate("saved.length") == 0
    page.get_by_role("button", name="Pause").click()
    held = state(page)["moment"]
    page.clock.run_for(5_000)
    assert state(page)["moment"] == held
    assert page.evaluate("Math.round(saved.at(-1))") == int(held)


def test_the_picture_and_the_readings_say_the_same_while_it_plays(drawn_page: Page) -> None:
    page = drawn_page
    page.get_by_role("button", name="Play").click()
    for _ in range(12):
        page.clock.run_for(110)
        said = " ".join(page.locator(".tag text").all_text_contents())
        expect(reading(page, "water")).to_have_text(said)


def test_by_itself_the_storm_ends_within_a_minute_and_plays_again(drawn_page: Page) -> None:
    page = drawn_page
    page.get_by_role("button", name="Play").click()
    page.clock.run_for(58_000)
    assert state(page)["moment"] == "21600"
    expect(page.get_by_role("button", name="Play")).to_be_visible()
    page.get_by_role("button", name="Play").click()
    page.clock.run_for(1_000)
    assert 0 < int(state(page)["moment"]) < 2000


def test_a_pump_too_fast_for_the_eye_does_not_flicker(
    drawn_page: Page, played: dict[str, Any]
) -> None:
    page = drawn_page
    page.get_by_label("Speed").select_option("1200")
    at(page, 3000)
    page.get_by_role("button", name="Play").click()
    seen = set()
    for _ in range(20):
        page.clock.run_for(100)
        seen.add(state(page)["pump"])
    assert seen <= {"waiting", "running", "cycling"}
    at(page, 3000)
    animation = copy.deepcopy(played)
    animation["time_s"] = [t if t > 10200 else t / 10 for t in animation["time_s"]]
    page.evaluate("animation => put('animation', animation)", animation)
    at(page, 100)
    page.clock.run_for(100)
    assert state(page)["pump"] == "cycling"
    assert -0.5 < float(state(page)["level"]) < -0.36
    page.get_by_role("button", name="Pause").click()
    assert state(page)["pump"] in ("waiting", "running")


def test_keys_move_through_time(drawn_page: Page) -> None:
    page = drawn_page
    slider = page.get_by_role("slider", name="Time in the storm")
    slider.focus()
    for key, moment in [
        ("ArrowRight", 60), ("ArrowUp", 120), ("ArrowLeft", 60), ("PageUp", 660), ("PageDown", 60),
        ("End", 21600), ("ArrowRight", 21600), ("Home", 0), ("ArrowDown", 0),
    ]:  # fmt: skip
        page.keyboard.press(key)
        assert state(page)["moment"] == str(moment), key
        assert page.evaluate("Math.round(saved.at(-1))") == moment
        expect(slider).to_have_attribute("aria-valuenow", str(moment))
    page.keyboard.press("End")
    expect(slider).to_have_attribute(
        "aria-valuetext",
        "6 h 00 min into the storm. Rain: none. Water: 2.0 in on the floor. Pump: not working. "
        "Alarm: sounding.",
    )
    page.keyboard.press("Home")
    page.keyboard.press("Space")
    assert state(page)["playing"] == "yes"
    page.clock.run_for(500)
    page.keyboard.press("Space")
    assert state(page)["playing"] == "no"
    assert int(state(page)["moment"]) > 0


def test_every_control_is_reached_by_the_tab_key(drawn_page: Page) -> None:
    page = drawn_page
    names = []
    for _ in range(11):
        page.keyboard.press("Tab")
        names.append(page.evaluate("document.activeElement.textContent.trim().slice(0, 12)"))
    assert [names[i] for i in (1, 2, 4, 5, 10)] == [
        "▶ Play", "Go on ›", "Zoom: alarm ", "1 It rains0 ", "6 What would"
    ]  # fmt: skip
    page.get_by_label("Speed").focus()
    page.keyboard.press("ArrowDown")  # belongs to the list, not to the storm
    assert state(page)["moment"] == "0"


def along(share: float) -> float:
    """Time at a share of the line, which runs as the animation plays.

    From 900 s before the stop (9900 s) to 1800 s after the flood (16200 s) it takes 30 of 54
    seconds; the other 15300 s of the storm share the rest by their length.
    """
    first, wide = 24 / 54 * 9900 / 15300, 30 / 54
    if share <= first:
        return share / first * 9900
    if share <= first + wide:
        return 9900 + (share - first) / wide * 6300
    return 16200 + (share - first - wide) / (1 - first - wide) * 5400


def test_the_time_line_is_dragged(sized_page: Page) -> None:
    page = sized_page
    box = page.locator(".slider").bounding_box()
    assert box is not None
    y = box["y"] + 30
    page.mouse.move(box["x"] + box["width"] / 2, y)
    page.mouse.down()
    assert int(state(page)["moment"]) == pytest.approx(along(0.5), abs=30)
    for share in (0.1, 0.75, 0.9):
        page.mouse.move(box["x"] + box["width"] * share, y)
        inside = (box["width"] * share - 14) / (box["width"] - 28)
        assert int(state(page)["moment"]) == pytest.approx(along(inside), abs=30)
    assert page.evaluate("saved.length") == 0
    page.mouse.move(box["x"] + 2 * box["width"], y)
    page.mouse.up()
    assert state(page)["moment"] == "21600"
    assert page.evaluate("saved.at(-1)") == 21600


def test_dragging_while_it_plays_goes_on_playing(drawn_page: Page) -> None:
    page = drawn_page
    page.get_by_role("button", name="Play").click()
    box = page.locator(".slider").bounding_box()
    assert box is not None
    page.mouse.move(box["x"] + box["width"] / 2, box["y"] + 30)
    page.mouse.down()
    assert state(page)["playing"] == "no"
    page.mouse.up()
    assert state(page)["playing"] == "yes"


def test_it_works_by_touch(open_cut: Callable[..., Page]) -> None:
    page = open_cut("tablet", has_touch=True)
    box = page.locator(".slider").bounding_box()
    assert box is not None
    page.touchscreen.tap(box["x"] + box["width"] / 2, box["y"] + 30)
    assert int(state(page)["moment"]) == pytest.approx(along(0.5), abs=30)
    page.get_by_role("button", name="The alarm").tap()
    assert state(page)["moment"] == "12600"
    for button in [*page.get_by_role("button").all(), page.get_by_label("Speed")]:
        size = button.bounding_box()
        assert size is not None
        assert size["height"] >= 44


STEPS = [
    ("1 It rains 0 h 00 min", 0, "Rain falls on the roof"),
    ("2 The pump works 0 h 10 min", 600, "The pump starts when"),
    ("3 The pump stops 3 h 00 min", 10800, "Now the pump stops."),
    ("4 The alarm 3 h 30 min", 12600, "The alarm sounds 30 minutes after the stop."),
    ("5 The floor 4 h 00 min", 14400, "Water is on the floor 30 minutes after the alarm."),
]


def test_steps_lead_through_the_storm_and_say_what_is_seen(drawn_page: Page) -> None:
    page = drawn_page
    say = page.locator(".moving-section .say")
    for name, moment, words in reversed(STEPS):
        button = page.get_by_role("group", name="Go to").get_by_role("button", name=name)
        button.click()
        assert state(page)["moment"] == str(moment)
        assert page.evaluate("saved.at(-1)") == moment
        expect(say).to_contain_text(words)
        expect(button).to_have_attribute("aria-current", "step")
    following = page.get_by_role("button", name="Go on")
    for _, moment, _ in STEPS[1:]:
        following.click()
        assert state(page)["moment"] == str(moment)
    following.click()  # what would help is no moment
    expect(page.get_by_role("button", name="6 What would help")).to_have_attribute(
        "aria-current", "step"
    )
    assert state(page)["moment"] == "14400"
    expect(following).to_be_disabled()


def test_the_alarm_sounds_where_it_is_said_to(drawn_page: Page, played: dict[str, Any]) -> None:
    # levels and times are rounded: here the level stands 0.06 mm below the alarm when it sounds
    level = [v - 6e-5 if v == -0.1524 else v for v in played["level_m"]]
    assert level != played["level_m"]
    drawn_page.evaluate("animation => put('animation', animation)", {**played, "level_m": level})
    drawn_page.get_by_role("button", name="The alarm").click()
    assert state(drawn_page)["alarm"] == "sounding"


def test_a_dry_floor_is_said(drawn_page: Page, played: dict[str, Any]) -> None:
    page = drawn_page
    animation = {
        **played,
        "flood_s": None,
        "level_m": [min(v, -0.05) for v in played["level_m"]],
    }
    page.evaluate("animation => put('animation', animation)", check_animation(animation))
    page.get_by_role("button", name="5 The floor 6 h 00 min").click()
    expect(page.get_by_text("The floor stays dry.")).to_be_visible()


def test_a_new_animation_keeps_the_moment_and_the_motion(
    drawn_page: Page, played: dict[str, Any]
) -> None:
    page = drawn_page
    at(page, 12900)
    page.get_by_role("button", name="Play").click()
    working = {
        **played,
        "title": "working",
        "level_m": [min(v, -0.33) for v in played["level_m"]],
        "stopped_at_s": None,
        "alarm_s": None,
        "flood_s": None,
    }
    page.evaluate("animation => put('animation', animation)", working)
    assert int(state(page)["moment"]) >= 12900
    assert state(page)["playing"] == "yes"
    assert state(page)["alarm"] == "silent"
    expect(page.get_by_text("Split-level: working")).to_be_visible()


def test_unknown_pump_is_called_in_order(drawn_page: Page, played: dict[str, Any]) -> None:
    page = drawn_page
    page.evaluate("animation => put('animation', animation)", {**played, "pump_on": None})
    expect(reading(page, "pump")).to_have_text("in order")


def test_without_data_it_says_so(drawn_page: Page, played: dict[str, Any]) -> None:
    page = drawn_page
    page.evaluate("put('animation', {})")
    expect(page.get_by_text("The picture is drawn once the whole answer is there.")).to_be_visible()
    expect(page.locator(".picture")).to_be_hidden()
    page.evaluate("animation => put('animation', animation)", played)
    expect(page.locator(".picture")).to_be_visible()
    assert page.locator(".picture text").count() > 8


def test_the_live_region_speaks_of_events_only(drawn_page: Page) -> None:
    page = drawn_page
    page.evaluate(
        """() => { window.said = []; const live = document.querySelector("[aria-live]");
        const watch = new MutationObserver(() => said.push(live.textContent));
        watch.observe(live, { childList: true }); }"""
    )
    page.get_by_role("button", name="Play").click()
    page.clock.run_for(58_000)
    said = page.evaluate("said")
    assert said[:3] == [
        "Pump stops working, 3 h 00 min.",
        "Alarm sounds, 3 h 30 min.",
        "Water on the floor, 4 h 00 min.",
    ]
    assert len(said) == 4
    assert said[3].startswith("End of the storm. 6 h 00 min into the storm.")


def test_reduced_motion_is_respected(open_cut: Callable[..., Page]) -> None:
    page = open_cut("tablet", reduced_motion="reduce")
    page.get_by_label("Speed").select_option("60")
    rain = page.locator("path.rain").get_attribute("d")
    page.get_by_role("button", name="Play").click()
    page.clock.run_for(980)
    assert state(page)["moment"] == "0"
    page.clock.run_for(60)
    assert int(state(page)["moment"]) == pytest.approx(60, abs=3)
    assert page.locator("path.rain").get_attribute("d") == rain


def test_motion_is_seen_otherwise(drawn_page: Page) -> None:
    page = drawn_page
    rain = page.locator("path.rain").get_attribute("d")
    page.get_by_role("button", name="Play").click()
    page.clock.run_for(200)
    assert page.locator("path.rain").get_attribute("d") != rain


def test_axe_finds_nothing_serious(sized_page: Page) -> None:
    page = sized_page
    page.clock.resume()  # axe waits by the clock of the page
    for moment_s in (0, 12900, 21600):
        at(page, moment_s)
        found = Axe().run(page).response["violations"]
        assert [v["id"] for v in found if v["impact"] in ("serious", "critical")] == []


def test_the_picture_is_described(drawn_page: Page) -> None:
    page = drawn_page
    at(page, 12900)
    picture = page.get_by_role("img")
    expect(picture).to_have_accessible_name(
        "Split-level: 10-year storm, 3.7 in in 24 h. 3 h 35 min into the storm. Rain: 1.0 in/h. "
        "Water: 5 in below the floor. Pump: not working. Alarm: sounding."
    )


def test_it_fits_the_window(sized_page: Page) -> None:
    page = sized_page
    assert page.evaluate("document.documentElement.scrollWidth <= innerWidth")
    assert page.evaluate("document.documentElement.scrollHeight <= innerHeight")
    sizes = page.evaluate(
        """[...document.querySelectorAll(".moving-section *")].filter((e) => e.textContent.trim())
        .map((e) => parseFloat(getComputedStyle(e).fontSize))"""
    )
    assert min(sizes) >= 12


def test_narrow_it_stacks(drawn_page: Page) -> None:
    page = drawn_page
    page.set_viewport_size({"width": 560, "height": 1200})
    expect(page.locator(".picture")).to_have_attribute("height", "760")
    assert page.evaluate("document.documentElement.scrollWidth <= innerWidth")
    page.set_viewport_size({"width": 800, "height": 900})
    expect(page.locator(".picture")).to_have_attribute("height", "355")


def test_taken_away_it_leaves_nothing_behind(drawn_page: Page) -> None:
    page = drawn_page
    page.get_by_role("button", name="Play").click()
    assert page.evaluate("listeners()") == 3
    page.evaluate("stop()")
    assert page.evaluate("listeners()") == 0
    moment = state(page)["moment"]
    page.clock.run_for(1000)
    assert state(page)["moment"] == moment


def test_names_of_levels_stand_clear_of_each_other_and_of_their_lines(drawn_page: Page) -> None:
    """A centimeter apart the two levels are a pixel or so apart: their names keep a line height."""
    page = drawn_page
    for alarm_m in (-0.1524, -0.01):
        page.evaluate(
            "(m) => { const section = structuredClone(model.get('section'));"
            " section.switch.alarm_m = m;"
            " section.geometry.marks.find(({ key }) => key === 'alarm').level_m = m;"
            " model.set('section', section); }",
            alarm_m,
        )
        boxes = page.evaluate(
            "() => Object.fromEntries(['floor', 'alarm'].map((name) => {"
            " const all = [...document.querySelectorAll('.slider text')];"
            " const word = all.find((each) => each.textContent === name).getBBox();"
            " const line = document.querySelector(`.slider path.mark.${name}`).getBBox();"
            " return [name, { x: word.x, y: word.y, end: line.x + line.width }]; }))"
        )
        assert boxes["alarm"]["y"] - boxes["floor"]["y"] >= 13.9
        for box in boxes.values():
            assert box["end"] < box["x"]


# ---- the hours that matter -----------------------------------------------------------------------


def ticks(page: Page) -> list[str]:
    found = page.locator(".slider text.soft").all_text_contents()
    return [text for text in found if text.endswith(" h")]


def test_the_time_line_zooms_on_the_time_from_alarm_to_floor(drawn_page: Page) -> None:
    """The alarm at 3:30 h, the floor at 4 h: a sixth of half an hour is less than ten minutes."""
    page = drawn_page
    zoom = page.get_by_role("button", name="Zoom: alarm to floor")
    expect(zoom).to_have_attribute("aria-pressed", "false")
    assert "0 h" in ticks(page) and "6 h" in ticks(page)
    at(page, 0.0)
    zoom.click()
    expect(zoom).to_have_attribute("aria-pressed", "true")
    assert state(page)["moment"] == str(12600 - 600)  # what is shown begins ten minutes before
    assert ticks(page) == ["3:30 h", "3:45 h", "4 h"]
    for name in ("alarm sounds", "water on the floor", "floor", "alarm", "water in the pit"):
        expect(page.locator(".slider").get_by_text(name, exact=True)).to_have_count(1)
    expect(page.locator(".slider").get_by_text("rain, up to 1.0 in/h")).to_have_count(1)
    box = page.locator(".slider").bounding_box()
    assert box is not None
    page.mouse.click(box["x"] + box["width"] / 2, box["y"] + 50)
    assert int(state(page)["moment"]) == pytest.approx(13500, abs=15)  # the middle: 3:45 h
    zoom.click()
    assert "0 h" in ticks(page) and "6 h" in ticks(page)
    assert int(state(page)["moment"]) == pytest.approx(13500, abs=15)


def test_no_line_runs_through_the_name_of_the_water(
    drawn_page: Page, played: dict[str, Any]
) -> None:
    """A pump that stops early puts its line where the name stands else."""
    page = drawn_page
    for stop_s in (played["time_s"][0] + 300.0, 600.0, 1500.0, 3000.0):
        animation = {**played, "stopped_at_s": stop_s}
        page.evaluate("animation => put('animation', animation)", animation)
        name = page.locator(".slider").get_by_text("water in the pit", exact=True).bounding_box()
        lines = page.locator(".slider .event").evaluate_all(
            "(all) => all.map((line) => line.getBoundingClientRect().x)"
        )
        assert name is not None and lines
        assert not any(name["x"] <= x <= name["x"] + name["width"] for x in lines), stop_s


def test_who_goes_beyond_the_zoom_sees_the_whole_storm_again(drawn_page: Page) -> None:
    page = drawn_page
    page.get_by_role("button", name="Zoom: alarm to floor").click()
    page.get_by_role("button", name="It rains").click()
    assert page.locator(".moving-section").get_attribute("data-stretch") == "whole"
    assert "6 h" in ticks(page)


def test_there_is_no_zoom_where_the_whole_storm_matters(
    drawn_page: Page, played: dict[str, Any]
) -> None:
    page = drawn_page
    animation = {**played, "stopped_at_s": 0.0, "alarm_s": 600.0, "flood_s": 20000.0}
    page.evaluate("animation => put('animation', animation)", check_animation(animation))
    expect(page.locator(".near")).to_be_hidden()
