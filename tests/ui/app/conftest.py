"""The served pages in a real browser: one server for all tests, homes that they may write to."""

from __future__ import annotations

import contextlib
import os
import re
import shutil
import signal
import subprocess
import sys
from collections.abc import Callable, Iterator
from dataclasses import dataclass
from pathlib import Path

import pytest
from axe_playwright_python.sync_playwright import Axe
from playwright.sync_api import Browser, BrowserContext, Page, expect

from riskkit.home.home import Home, load_home
from tests.conftest import heed_interrupts

SIZES = {"tablet": (1024, 768), "upright": (768, 1024), "desk": (1440, 900)}
LONG_MS = 90_000  # a kernel that is not started ahead, on a busy machine
expect.set_options(timeout=30_000)


@dataclass(frozen=True)
class Served:
    """The running server."""

    address: str  # with the token
    folder: Path
    process: subprocess.Popen[str]

    @property
    def base(self) -> str:
        return self.address.split("?")[0]

    def home(self, name: str, demo: str = "split_level_on_clay") -> Path:
        """Make a home of its own for a test."""
        text = (self.folder / "demos" / f"{demo}.toml").read_text("utf-8")
        path = self.folder / f"{re.sub('[^a-z]+', '_', name.lower())}.toml"
        path.write_text(re.sub(r'name = ".*"', f'name = "{name}"', text, count=1), "utf-8")
        return path


_SAYS = ":is(.rk-answer, .rk-details)"  # what stands in the way, or the answer


class Desk:
    """A page with a person before it."""

    def __init__(self, page: Page) -> None:
        self.page = page

    def open_home(self, name: str) -> None:
        """Choose a home and wait for its whole answer."""
        self.page.get_by_role("button", name=name).click()
        self.settled()

    def settled(self) -> None:
        """Wait until the whole answer is there."""
        whole = self.page.locator(f"{_SAYS}[data-refining=no] .sentence:visible")
        expect(whole).to_have_count(1, timeout=LONG_MS)

    @property
    def sentence(self) -> str:
        """What the page says."""
        return self.page.locator(f"{_SAYS} .sentence:visible").inner_text()

    @contextlib.contextmanager
    def answered(self) -> Iterator[None]:
        """Wait until what is done here has been saved and answered, by all draws."""
        answer = self.page.locator(".rk-answer")
        turn = answer.get_attribute("data-turn") or ""
        yield
        expect(answer).not_to_have_attribute("data-turn", turn, timeout=LONG_MS)
        self.settled()

    def open_group(self, title: str) -> None:
        """Open a group of a form, in its step."""
        group = self.page.locator(f'details[data-group="{title}"]')
        step = group.get_attribute("data-step")
        if group.is_hidden() and step is not None:
            form = self.page.locator(".rk-form").filter(has=group)
            form.locator(f'.steps button[data-to="{step}"]').click()
        if group.get_attribute("open") is None:
            group.locator("> summary").click()

    def enter(self, label: str, text: str) -> None:
        """Type into a field and leave it."""
        field = self.page.get_by_label(label, exact=False).and_(self.page.locator("input"))
        field.fill(text)
        field.press("Tab")

    def saved(self, name: str) -> None:
        """Wait until the page says that it is saved."""
        expect(self.page.locator(".rk-top .saved")).to_have_text(f"Saved in {name}")

    def holds(self, path: Path, wanted: Callable[[Home], bool]) -> Home:
        """Wait until the home file holds what was entered, and return it."""
        for _ in range(100):
            home = load_home(path)
            if wanted(home):
                return home
            self.page.wait_for_timeout(100)
        raise AssertionError(f"not in {path.name} after ten seconds:\n{path.read_text('utf-8')}")

    def nothing_serious(self) -> None:
        """Let axe look at the page."""
        found = Axe().run(self.page).response["violations"]
        serious = [v for v in found if v["impact"] in ("serious", "critical")]
        assert [(v["id"], [n["target"] for n in v["nodes"]][:3]) for v in serious] == []

    def fits(self) -> None:
        """At every size no page is wider than its window, and what is pressed is large enough."""
        before = self.page.viewport_size
        for width, height in SIZES.values():
            self.page.set_viewport_size({"width": width, "height": height})
            self._fits()
        self.page.set_viewport_size(before)

    def _fits(self) -> None:
        assert self.page.evaluate("document.documentElement.scrollWidth <= innerWidth")
        small = self.page.evaluate(
            """[...document.querySelectorAll(".rk button, .rk select, .rk summary, .rk .pick, "
            + ".rk input[type=text]")].filter((e) => e.checkVisibility())
            .map((e) => [e.getBoundingClientRect().height, e.textContent.trim() || e.id])
            .filter(([high]) => high < 43.5)"""
        )
        assert small == []


@pytest.fixture(scope="session")
def served(tmp_path_factory: pytest.TempPathFactory, demo_sites: Path) -> Iterator[Served]:
    folder = tmp_path_factory.mktemp("homes")
    (folder / "demos").mkdir()
    for path in demo_sites.glob("*.toml"):
        shutil.copy(path, folder / "demos")
    for path in demo_sites.glob("*.csv.gz"):
        shutil.copy(path, folder)
    with serving(folder) as server:
        yield server


@contextlib.contextmanager
def serving(folder: Path) -> Iterator[Served]:
    """Run the server of a folder of homes, and end it."""
    process = subprocess.Popen(
        [sys.executable, "-m", "riskkit", "app", "--folder", str(folder)],
        stdout=subprocess.PIPE, text=True,
        env=os.environ | {"PYTHONUNBUFFERED": "1", "XDG_CACHE_HOME": str(folder / ".cache")},
        preexec_fn=heed_interrupts,
    )  # fmt: skip
    assert process.stdout is not None
    address = ""
    for line in process.stdout:
        found = re.search(r"http://127\.0\.0\.1:\d+/\?token=\S+", line)
        if found:
            address = found.group()
            break
    assert address, "riskkit app gave no address"
    yield Served(address, folder, process)
    process.send_signal(signal.SIGINT)
    rest, _ = process.communicate(timeout=60)
    assert "Ended." in rest
    assert process.returncode == 0


@pytest.fixture
def open_page(browser: Browser, served: Served) -> Iterator[Callable[..., Desk]]:
    """Open a page by its title; no request may leave the machine and no script may fail."""
    wrong: list[str] = []
    contexts: list[BrowserContext] = []
    base = served.base

    def stays(address: str) -> bool:
        return address.startswith((base, base.replace("http", "ws", 1), "data:", "blob:"))

    def opened(title: str, size: str = "desk") -> Desk:
        width, height = SIZES[size]
        context = browser.new_context(viewport={"width": width, "height": height})
        context.set_default_timeout(LONG_MS)
        contexts.append(context)
        page = context.new_page()
        page.on("pageerror", lambda error: wrong.append(str(error)))
        page.on("console", lambda said: "Security Policy" in said.text and wrong.append(said.text))
        page.on("request", lambda sent: stays(sent.url) or wrong.append(sent.url))
        page.on("websocket", lambda socket: stays(socket.url) or wrong.append(socket.url))
        page.goto(served.address)
        if title:
            page.get_by_role("link", name=title).click()
            page.locator("#rendered_cells").wait_for()
            page.locator(".rk-opener:visible, .rk-record, figure").first.wait_for()
        return Desk(page)

    yield opened
    for context in contexts:
        for page in context.pages:  # who leaves ends the kernel, which else computes on
            page.goto("about:blank")
        context.close()
    assert wrong == []
