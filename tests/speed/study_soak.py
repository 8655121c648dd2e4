"""A page with thousands of changes, and many pages opened and closed: what stays behind.

Run as ``python tests/speed/study_soak.py [--changes 2000] [--pages 20]``. The memory of the kernel
of the page is told after a tenth of the changes and after all of them, that of the server after
two pages and after all, and how many kernels are left when the browser is gone. Last found, on two
busy cores: the kernel 605 MB after 200 changes, between 652 and 755 after that, 706 after 2,000;
the server 103 MB after two pages, 108 after twenty; no kernel left but those started ahead.
"""

from __future__ import annotations

import argparse
import random
import re
import shutil
import subprocess
import sys
from pathlib import Path

import psutil
from playwright.sync_api import Error, Page, sync_playwright

sys.path.insert(0, str(Path(__file__).resolve().parent))

from bench_app import ARGUMENTS, CHANGE, FIELDS, serving, whole_answer

_CHANGE = CHANGE.replace("20000", "300000")  # a machine with other work may stand still for minutes
_REST_MS = 60_000  # in which what was closed may end
_LONG_MS = 300_000
_AHEAD = 4  # kernels that wait for the next pages


def kernels(app: psutil.Process) -> list[psutil.Process]:
    """Kernels of the server, those that wait for the next pages among them."""
    return [each for each in app.children(recursive=True)
            if any("riskkit.widgets.kernel" in word for word in each.cmdline())]  # fmt: skip


def server(app: psutil.Process) -> psutil.Process:
    """The process that serves the pages, which the command starts."""
    return next(
        each
        for each in app.children(recursive=True)
        if any("riskkit.widgets.server" in word for word in each.cmdline())
    )


def megabytes(process: psutil.Process) -> float:
    """Memory of a process [MB]."""
    return float(process.memory_info().rss) / 1e6


def changed(page: Page, count: int, choose: random.Random, last: dict[str, str]) -> None:
    """Make so many changes by leaving a field, each waited for."""
    for i in range(count):
        key = choose.choice(list(FIELDS))
        text = choose.choice([text for text in FIELDS[key] if text != last.get(key)])
        before, last[key] = last.get(key), text
        try:
            page.evaluate(_CHANGE, [key, text, False])
        except Error as error:
            shown = page.locator(f'input[data-key="{key}"]').input_value()
            mark = page.locator(".rk-top .saved").inner_text()
            what = f"change {i}, {key} from {before} to {text}: {error.message}"
            raise SystemExit(f"{what}; the field shows {shown!r}, the page {mark!r}") from None


def soaked(process: subprocess.Popen[str], changes: int, pages: int) -> None:
    """Make the changes, open and close the pages, and print what stays."""
    assert process.stdout is not None
    address = next(
        found.group()
        for line in process.stdout
        if (found := re.search(r"http://127\.0\.0\.1:\d+/\?token=\S+", line))
    )
    app = psutil.Process(process.pid)
    choose = random.Random(1)  # noqa: S311 - not a secret
    # what the home tells already is no change
    last = {"pit.diameter": "18 in", "switch.alarm": "6 in", "pump.rated_flow": "43 gpm"}
    with sync_playwright() as playwright:
        browser = playwright.chromium.launch(
            executable_path=shutil.which("chromium"), args=ARGUMENTS
        )

        def opened() -> Page:
            page = browser.new_context(viewport={"width": 1024, "height": 768}).new_page()
            page.set_default_timeout(_LONG_MS)
            page.goto(address)
            page.get_by_role("link", name="Assess a home").click()
            page.locator(".rk-opener:visible").wait_for(timeout=300_000)
            page.get_by_role("button", name="Split-level on clay, Alder Bend").first.click()
            whole_answer(page, _LONG_MS)
            return page

        page = opened()
        page.wait_for_timeout(15_000)
        busy = max(kernels(app), key=megabytes)
        first = changes // 10
        changed(page, first, choose, last)
        whole_answer(page, _LONG_MS)
        early = megabytes(busy)
        for done in range(first, changes, first):
            changed(page, min(first, changes - done), choose, last)
            whole_answer(page, _LONG_MS)
            told = min(done + first, changes)
            print(f"{told} changes: {megabytes(busy):.0f} MB", flush=True)  # also of one stopped
        print(f"kernel of the page: {early:.0f} MB after {first} changes, {megabytes(busy):.0f} MB "
              f"after {changes}", flush=True)  # fmt: skip
        page.close(run_before_unload=True)
        app_before = 0.0
        for i in range(pages):
            opened().close(run_before_unload=True)
            print(f"{i + 1} pages: {megabytes(server(app)):.0f} MB", flush=True)
            if i == 1:
                app_before = megabytes(server(app))
        page = browser.new_page()  # a page that says goodbye needs a browser for a while
        page.wait_for_timeout(5_000)
        browser.close()
    # all pages are closed: nothing but the kernels started ahead may be left
    left = -1
    for _ in range(_REST_MS // 1000):
        left = len(kernels(app))
        if left <= _AHEAD:
            break
        psutil.wait_procs(kernels(app), timeout=1)
    app_after = megabytes(server(app))
    print(f"server: {app_before:.0f} MB after two pages, {app_after:.0f} MB after {pages}; "
          f"{left} kernels left ({_AHEAD} are started ahead)")  # fmt: skip


def main() -> None:
    """Run the server and print what stays behind."""
    parser = argparse.ArgumentParser(description=__doc__)
    parser.add_argument("--changes", type=int, default=2000)
    parser.add_argument("--pages", type=int, default=20)
    options = parser.parse_args()
    with serving() as app:
        soaked(app, options.changes, options.pages)


if __name__ == "__main__":
    main()
