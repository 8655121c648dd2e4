"""The published checks as a table, and fixtures shared by all tests."""

from __future__ import annotations

import os
import sys
from collections.abc import Iterator
from pathlib import Path
from typing import TYPE_CHECKING

import pytest
from browsers import BROWSER_ARGUMENTS, MISSING, NEEDED, BrowserError, find_browser
from hypothesis import HealthCheck, settings

from riskkit.tables import load_sources

if TYPE_CHECKING:
    from playwright.sync_api import Browser

# no test is timed: a busy machine must not fail one
settings.register_profile("untimed", deadline=None, suppress_health_check=[HealthCheck.too_slow])
settings.load_profile("untimed")

ROOT = Path(__file__).resolve().parent.parent
STAGES = ("rain", "storm", "inflow", "pit", "pump", "risk")
ORIGINS = {
    "printed": "printed in the source",
    "memory": "recalled, not seen again",
    "computed": "computed from the published equation",
    "practice": "common practice, no source",
}


@pytest.fixture(scope="session")
def demo_sites() -> Path:
    """Folder of the invented homes."""
    return ROOT / "demo_sites"


@pytest.fixture(scope="session")
def browser_path() -> str:
    """The browser of this machine; what uses it is marked `browser`, and skipped without one."""
    try:
        path = find_browser(os.environ, sys.platform)
    except BrowserError as error:
        pytest.fail(str(error), pytrace=False)
    if path is None:
        if os.environ.get(NEEDED):
            pytest.fail(MISSING, pytrace=False)
        pytest.skip(MISSING)
    return path


@pytest.fixture(scope="module")
def browser(browser_path: str) -> Iterator[Browser]:
    """The browser, started; per module, as an open one holds an event loop."""
    from playwright.sync_api import sync_playwright

    with sync_playwright() as playwright:
        made = playwright.chromium.launch(executable_path=browser_path, args=BROWSER_ARGUMENTS)
        yield made
        made.close()


def pytest_addoption(parser: pytest.Parser) -> None:
    parser.addoption(
        "--validation-table",
        action="store_true",
        help="print the table of published checks for the README, and run nothing else",
    )


def validation_rows(items: list[pytest.Item]) -> list[tuple[str, ...]]:
    """One row per stage and source: what is checked, how many values, where, origin, tolerance."""
    rows: dict[tuple[str, ...], int] = {}
    for item in items:
        mark = item.get_closest_marker("published")
        if mark is None:
            continue
        entry = mark.kwargs
        source = load_sources()[entry["source"]]
        cite = ", ".join(p for p in (source.author, source.title, source.year) if p)
        row = (
            entry["stage"],
            entry["what"],
            f"{cite}; {entry['where']}" if entry["where"] else cite,
            ORIGINS[entry["origin"]],
            str(entry["tolerance"]),
        )
        rows[row] = rows.get(row, 0) + 1
    return sorted(rows, key=lambda row: (STAGES.index(row[0]), row[1:]))


def waits(item: pytest.Item) -> int:
    """How long a test takes, roughly: what is wrong should be seen before the slow ones begin."""
    if item.get_closest_marker("browser") or item.path.is_relative_to(ROOT / "tests" / "ui"):
        return 2
    slow = (ROOT / "tests" / "notebooks", ROOT / "tests" / "test_house.py")
    return int(any(item.path.is_relative_to(path) for path in slow))


@pytest.hookimpl(tryfirst=True)  # before pytest picks tests by their marks
def pytest_collection_modifyitems(config: pytest.Config, items: list[pytest.Item]) -> None:
    for item in items:
        if "browser_path" in getattr(item, "fixturenames", ()):
            item.add_marker("browser")
    items.sort(key=waits)
    for item in items:
        mark = item.get_closest_marker("published")
        if mark is None:
            continue
        wanted = {"stage", "what", "source", "where", "origin", "tolerance"}
        if set(mark.kwargs) != wanted or mark.args:
            raise pytest.UsageError(f"{item.nodeid}: published() takes {sorted(wanted)}")
        if mark.kwargs["stage"] not in STAGES or mark.kwargs["origin"] not in ORIGINS:
            raise pytest.UsageError(f"{item.nodeid}: unknown stage or origin")
        if mark.kwargs["source"] not in load_sources():
            raise pytest.UsageError(f"{item.nodeid}: source {mark.kwargs['source']!r} is not known")
    if config.getoption("--validation-table"):
        print("\n| stage | what is checked | source | origin | tolerance |")
        print("|---|---|---|---|---|")
        for row in validation_rows(items):
            print("| " + " | ".join(row) + " |")
        items.clear()
