"""The take-away page in a browser: it asks nobody, it switches, and no text becomes markup."""

from __future__ import annotations

import datetime
import html
import json
import re
from collections.abc import Iterator
from pathlib import Path

import pytest
from axe_playwright_python.sync_playwright import Axe
from playwright.sync_api import Browser, Page, expect

from riskkit.assessment import Assessment, Settings, assess, design_rain
from riskkit.home.home import load_home
from riskkit.options.changes import remedy
from riskkit.options.ranking import Ranking, rank_remedies
from riskkit.options.remedies import best_homes
from riskkit.quantities.units import UnitSystem
from riskkit.report.chance_words import one_year_in_words
from riskkit.report.key_figure import key_figure
from riskkit.report.ranking_words import short_words, tie_lines
from riskkit.report.takeaway import takeaway_page

DAY = datetime.date(2026, 4, 20)
NASTY = "</script><script>document.title = 'bad'</script> & <b>x</b>"


@pytest.fixture(scope="module")
def both(demo_sites: Path) -> tuple[Assessment, Assessment]:
    """The home as it is, and with all downspouts led away."""
    home = load_home(demo_sites / "split_level_on_clay.toml").changed(name=NASTY)
    rain, settings = design_rain(home, demo_sites).used, Settings(n_draws=32)
    led = remedy("downspouts").applied(home)
    return assess(home, rain, settings), assess(led, rain, settings)


@pytest.fixture(scope="module")
def ranking(both: tuple[Assessment, Assessment]) -> Ranking:
    """Downspouts and the gap at the wall, ranked by few variants."""
    now, _ = both
    changes = [remedy("gap"), remedy("downspouts")]
    return rank_remedies(now.home, now.place_rain, changes=changes, n_draws=16)


def test_it_ranks_as_all_surfaces_do(both: tuple[Assessment, Assessment], ranking: Ranking) -> None:
    """The order, the ties and the chances of the page are those of the ranking."""
    now, _ = both
    tried = best_homes(now, ranking, 4)
    names = [row.remedy.name for row in ranking.rows if row.helps]
    assert [change.name for change, _ in tried] == [
        name for name in names if name in ("gap", "downspouts")
    ]
    page = takeaway_page(now, tried, DAY, UnitSystem.US, ranking)
    data = json.loads(re.findall(r'id="data">(.*?)</script>', page, re.DOTALL)[0])
    told = {home["key"]: home["chance"] for home in data["homes"]}
    by_name = {row.remedy.name: row for row in ranking.rows}
    assert told[""][0] == one_year_in_words(ranking.now.mean)
    for change, _ in tried:
        row = by_name[change.name]
        assert row.helps_chance  # both do in this home, so that there is something to say
        assert told[change.name][0] == one_year_in_words(row.mean_after)
        assert told[change.name][1] == f"with water on the floor, instead of {told[''][0]}"
    plain = html.unescape(page)
    for line in tie_lines(ranking, UnitSystem.US):
        assert line in plain
    others = [name for name in names if name not in ("gap", "downspouts")]
    assert others
    assert all(short_words(name) in plain for name in others)


@pytest.fixture
def taken(
    both: tuple[Assessment, Assessment], ranking: Ranking, browser: Browser, tmp_path: Path
) -> Iterator[Page]:
    now, led = both
    path = tmp_path / "page.html"
    made = takeaway_page(now, [(remedy("downspouts"), led)], DAY, UnitSystem.US, ranking)
    path.write_text(made, "utf-8")
    page = browser.new_page(viewport={"width": 390, "height": 844})
    wrong: list[str] = []
    page.on("request", lambda sent: sent.url == path.as_uri() or wrong.append(sent.url))
    page.on("pageerror", lambda error: wrong.append(str(error)))
    page.on("console", lambda said: wrong.append(said.text))
    page.goto(path.as_uri())
    page.locator(".moving-section[data-moment]").wait_for()
    yield page
    page.close()
    assert wrong == []


def figure(page: Page) -> tuple[str, str, str]:
    value, likely, short = (
        page.locator(f"#{name}").inner_text() for name in ("value", "likely", "short")
    )
    return value, likely, short


def test_it_shows_the_figure_of_what_is_chosen(
    taken: Page, both: tuple[Assessment, Assessment]
) -> None:
    now, led = (key_figure(one) for one in both)
    assert (now.value, now.likely) != (led.value, led.likely)
    assert figure(taken) == (now.value, now.likely, now.short)
    expect(taken.locator("#done")).to_be_hidden()
    taken.get_by_role("button", name="Lead all downspouts").click()
    assert figure(taken) == (led.value, led.likely, led.short)
    expect(taken.locator("#done")).to_contain_text("This is not done yet.")
    expect(taken.locator("#year-of")).to_contain_text("with water on the floor, instead of")
    taken.get_by_role("button", name="as it is now").click()
    assert figure(taken) == (now.value, now.likely, now.short)


def test_storm_and_pump_change_the_picture(taken: Page) -> None:
    title = taken.locator(".moving-section .title")
    expect(title).to_contain_text("10-year storm")
    taken.get_by_role("button", name="100-year storm").click()
    expect(title).to_contain_text("100-year storm")
    expect(taken.get_by_role("button", name="The pump stops")).to_be_visible()
    taken.get_by_role("group", name="The pump").get_by_role("button", name="works").click()
    expect(taken.get_by_role("button", name="The pump stops")).to_have_count(0)
    taken.get_by_role("button", name="Play").click()
    expect(taken.locator(".moving-section")).not_to_have_attribute("data-moment", "0")


def test_text_of_a_file_stays_text_and_the_page_fits_a_phone(taken: Page) -> None:
    expect(taken.get_by_role("heading", level=1)).to_have_text(NASTY)
    assert taken.title() != "bad"
    assert taken.evaluate("document.documentElement.scrollWidth <= innerWidth")
    found = Axe().run(taken).response["violations"]
    assert [v["id"] for v in found if v["impact"] in ("serious", "critical")] == []
