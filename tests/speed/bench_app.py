"""How long a change takes to show in a real browser, and a page to be ready.

Run by hand, on a quiet machine::

    python tests/speed/bench_app.py [--changes 100] [--pages 5]

A change is timed in the page: from the event of the field to the frame after the sentence was
written. Half of the changes are typed (the page waits 20 ms for the next key before it sends), half
are made by leaving the field. Between two changes the person waits 0.1 to 1.5 s, so that some meet
the whole answer of the change before still at work.
"""

from __future__ import annotations

import argparse
import contextlib
import random
import re
import shutil
import signal
import statistics
import subprocess
import sys
import tempfile
import time
from collections.abc import Iterator
from pathlib import Path

from playwright.sync_api import Page, sync_playwright

DEMOS = Path(__file__).resolve().parents[2] / "demo_sites"
ARGUMENTS = [
    "--headless",
    "--no-sandbox",
    "--disable-gpu",
    "--disable-quic",
    "--no-first-run",
    "--disable-background-networking",
    "--disable-component-update",
    "--disable-sync",
]
FIELDS = {
    "pit.diameter": ["17 in", "18 in", "20 in", "22 in"],
    "roof.at_wall": ["0 %", "20 %", "60 %", "90 %"],
    "switch.alarm": ["5 in", "6 in", "7 in", "8 in"],
    "ground.water_table_depth": ["2 ft", "4 ft", "1 ft", "8 ft"],
    "pump.rated_flow": ["30 gpm", "35 gpm", "43 gpm", "50 gpm"],
}
CHANGE = """([key, text, typed]) => new Promise((done, fail) => {
  const field = document.querySelector(`input[data-key="${key}"]`);
  const answer = document.querySelector(".rk-answer"), turn = Number(answer.dataset.turn);
  const watch = new MutationObserver(() => {
    if (Number(answer.dataset.turn) <= turn) return;
    watch.disconnect();
    requestAnimationFrame(() => done(performance.now() - begin));
  });
  watch.observe(answer, { attributes: true, attributeFilter: ["data-turn"] });
  setTimeout(() => fail(new Error("nothing changed")), 20000);
  field.value = text;
  const begin = performance.now();
  field.dispatchEvent(new Event(typed ? "input" : "change"));
})"""


def percentile(values: list[float], share: float) -> float:
    return sorted(values)[min(len(values) - 1, int(share * len(values)))]


def whole_answer(page: Page, within_ms: float = 60_000) -> None:
    says = ":is(.rk-answer, .rk-details)[data-refining=no] .sentence:visible"
    page.locator(says).first.wait_for(timeout=within_ms)


def change_times(page: Page, changes: int) -> tuple[list[float], list[float]]:
    """Times of typed changes and of those made by leaving the field [ms]."""
    choose = random.Random(1)  # noqa: S311 - not a secret
    typed: list[float] = []
    left: list[float] = []
    last: dict[str, str] = {}
    for i in range(changes):
        key = choose.choice(list(FIELDS))
        text = choose.choice([text for text in FIELDS[key] if text != last.get(key)])
        last[key] = text
        times = typed if i % 2 else left
        times.append(page.evaluate(CHANGE, [key, text, bool(i % 2)]))
        page.wait_for_timeout(choose.uniform(100, 1500))
    return typed, left


def ready_times(page: Page, address: str, pages: int) -> list[float]:
    """Times from the click on the start page to the list of homes [s]."""
    times = []
    for _ in range(pages):
        page.goto(address)
        page.wait_for_timeout(9000)  # the next kernel is started ahead meanwhile
        begin = time.perf_counter()
        page.get_by_role("link", name="Assess a home").click()
        page.locator(".rk-opener:visible").wait_for(timeout=60_000)
        times.append(time.perf_counter() - begin)
    return times


def measure(
    app: subprocess.Popen[str], changes: int, pages: int
) -> tuple[list[float], list[float], list[float]]:
    assert app.stdout is not None
    address = next(
        found.group()
        for line in app.stdout
        if (found := re.search(r"http://127\.0\.0\.1:\d+/\?token=\S+", line))
    )
    with sync_playwright() as playwright:
        browser = playwright.chromium.launch(
            executable_path=shutil.which("chromium"), args=ARGUMENTS
        )
        page = browser.new_page(viewport={"width": 1440, "height": 900})
        ready = ready_times(page, address, pages)
        page.get_by_role("button", name="Split-level on clay, Alder Bend").first.click()
        whole_answer(page)
        page.wait_for_timeout(12_000)  # until the next kernel is there
        typed, left = change_times(page, changes)
        browser.close()
    return ready, typed, left


def heed_interrupts() -> None:
    """Let an interrupt end it, though a shell starts what runs behind it deaf to them."""
    signal.signal(signal.SIGINT, signal.default_int_handler)


@contextlib.contextmanager
def serving() -> Iterator[subprocess.Popen[str]]:
    """Run the pages over copies of the invented homes."""
    with tempfile.TemporaryDirectory() as folder:
        for path in [*DEMOS.glob("*.toml"), *DEMOS.glob("*.csv.gz")]:
            shutil.copy(path, folder)
        app = subprocess.Popen(
            [sys.executable, "-m", "riskkit", "app", "--folder", folder],
            stdout=subprocess.PIPE, text=True, preexec_fn=heed_interrupts,
        )  # fmt: skip
        try:
            yield app
        finally:
            app.send_signal(signal.SIGINT)
            app.wait(60)


def main() -> None:
    parser = argparse.ArgumentParser(description=__doc__)
    parser.add_argument("--changes", type=int, default=100)
    parser.add_argument("--pages", type=int, default=5)
    options = parser.parse_args()
    with serving() as app:
        ready, typed, left = measure(app, options.changes, options.pages)
    print(f"page ready, kernel started ahead: median {statistics.median(ready):.1f} s, "
          f"longest {max(ready):.1f} s")  # fmt: skip
    for name, times in (("by leaving the field", left), ("typed, with 20 ms of waiting", typed)):
        middle, high = statistics.median(times), percentile(times, 0.95)
        print(f"change to screen, {name}: median {middle:.0f} ms, 95th percentile {high:.0f} ms, "
              f"longest {max(times):.0f} ms")  # fmt: skip


if __name__ == "__main__":
    main()
