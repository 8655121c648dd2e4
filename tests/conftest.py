"""The published checks as a table, and fixtures shared by all tests."""

from __future__ import annotations

import csv
import io
import os
import shutil
import signal
import sys
from collections.abc import Iterator
from functools import cache
from pathlib import Path
from typing import TYPE_CHECKING

import pytest
from browsers import BROWSER_ARGUMENTS, MISSING, NEEDED, BrowserError, find_browser
from hypothesis import HealthCheck, settings
from kept_rain import days_worked_out_once, depths_fitted_once

from riskkit.report.checks import ORIGINS, checks_markdown
from riskkit.tables import load_sources, load_table

__all__ = ["days_worked_out_once", "depths_fitted_once"]  # fixtures of all tests

if TYPE_CHECKING:
    from playwright.sync_api import Browser

# no test is timed: a busy machine must not fail one
settings.register_profile("untimed", deadline=None, suppress_health_check=[HealthCheck.too_slow])
settings.load_profile("untimed")

ROOT = Path(__file__).resolve().parent.parent
COLUMNS = ("stage", "what", "source", "where", "origin", "tolerance")
STAGES = ("rain", "storm", "inflow", "pit", "pump", "reliability", "risk", "company")
CHECKS = ROOT / "riskkit" / "tables" / "checks.csv"
# folders and files whose tests answer for whole homes, start programs, or look at all of the code
WHOLE_HOMES = (
    "evidence", "failures", "fleet", "gauge", "golden", "notebooks", "replay", "report", "twin",
    "widgets", "rainfall/sources/test_finder.py", "risk/test_seasons.py",
    "risk/test_storms_to_run.py", "test_bad_input.py", "test_browsers.py", "test_compiled.py",
    "test_house.py", "test_limits.py", "test_saving.py", "test_season.py", "test_wheel.py",
)  # fmt: skip
CHECKS_README = ROOT / "tests" / "published" / "README.md"


def heed_interrupts() -> None:
    """Let a child process be interrupted, also where a shell runs the tests in the background."""
    signal.signal(signal.SIGINT, signal.SIG_DFL)


@pytest.fixture(scope="session")
def demo_sites() -> Path:
    """Folder of the invented homes."""
    return ROOT / "demo_sites"


@pytest.fixture
def demo_rain(demo_sites: Path, tmp_path: Path) -> None:
    """Put the invented rain and temperatures beside the homes that a test writes."""
    for path in demo_sites.glob("alder_bend_*"):
        shutil.copy(path, tmp_path)


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
        pytest.skip(MISSING)  # nobody without a browser can look at a page
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
        choices=("print", "write"),
        help="print the rows of riskkit/tables/checks.csv, or write them and the README of "
        "tests/published; run nothing",
    )


def validation_csv(items: list[pytest.Item]) -> str:
    """One row per stage and source: what is checked, where, origin, tolerance."""
    marks = [mark.kwargs for item in items if (mark := item.get_closest_marker("published"))]
    rows = {tuple(str(mark[name]) for name in COLUMNS) for mark in marks}
    found = io.StringIO()
    writer = csv.writer(found, lineterminator="\n")
    writer.writerows([COLUMNS, ("-",) * len(COLUMNS)])
    writer.writerows(sorted(rows, key=lambda row: (STAGES.index(row[0]), row[1:])))
    return found.getvalue()


def write_checks(text: str) -> None:
    """Write the table, and what the README of tests/published shows of it."""
    CHECKS.write_text(text, encoding="utf-8")
    load_table.cache_clear()
    readme = CHECKS_README.read_text(encoding="utf-8")
    head, begin, rest = readme.partition("<!-- checks -->\n")
    tail = rest.partition("\n<!-- end -->")[2]
    text = f"{head}{begin}{checks_markdown()}\n<!-- end -->{tail}"
    CHECKS_README.write_text(text, encoding="utf-8")


def waits(item: pytest.Item) -> int:
    """How long a test takes, roughly: what is wrong should be seen before the slow ones begin."""
    return 2 if item.get_closest_marker("browser") else file_waits(item.path)


@cache  # there are twenty tests to a file
def file_waits(path: Path) -> int:
    """The same of all tests of a file."""
    if path.is_relative_to(ROOT / "tests" / "ui"):
        return 2
    return int(any(path.is_relative_to(ROOT / "tests" / name) for name in WHOLE_HOMES))


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
        if set(mark.kwargs) != set(COLUMNS) or mark.args:
            raise pytest.UsageError(f"{item.nodeid}: published() takes {', '.join(COLUMNS)}")
        if mark.kwargs["stage"] not in STAGES or mark.kwargs["origin"] not in ORIGINS:
            raise pytest.UsageError(f"{item.nodeid}: unknown stage or origin")
        if mark.kwargs["source"] not in load_sources():
            raise pytest.UsageError(f"{item.nodeid}: source {mark.kwargs['source']!r} is not known")
        equation = f"{mark.kwargs['source']} {mark.kwargs['where']}"
        if mark.kwargs["origin"] == "computed" and not any(
            word in equation for word in ("(recalled)", "printed", "arithmetic")
        ):
            raise pytest.UsageError(
                f"{item.nodeid}: say whether its equation is printed or recalled"
            )
    asked = config.getoption("--validation-table")
    if asked:
        text = validation_csv(items)
        print(f"\n{text}") if asked == "print" else write_checks(text)
        items.clear()
