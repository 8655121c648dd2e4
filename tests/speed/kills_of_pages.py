"""The pages in a browser: the process that computes for one is killed while a change is saved.

For ``study_kills.py --app``. A field is changed by leaving it; within the next second the process
is killed. The file then holds the home of before or of after the change, whole; where the form had
been told that the change was taken in, that of after.
"""

from __future__ import annotations

import json
import random
import re
import shutil
import sys
from pathlib import Path

import psutil
from playwright.sync_api import Page, sync_playwright

from riskkit.errors import InputError
from riskkit.home.home import Home, read_home

sys.path.insert(0, str(Path(__file__).resolve().parent))

from bench_app import ARGUMENTS, FIELDS, serving

NAME, FILE = "Split-level on clay, Alder Bend", "split_level_on_clay.toml"
_LONG_MS = 600_000  # a machine with other work may stand still for minutes
LEAVE = """([key, text, rest]) => new Promise((done) => {
  const field = document.querySelector(`input[data-key="${key}"]`);
  field.value = text;
  field.dispatchEvent(new Event("change"));
  setTimeout(() => done(field.closest(".rk-form").dataset.waiting), rest);
})"""


def killed_pages(kills: int) -> str:
    """Kill so many pages, and say what was found."""
    choose, said, early, new = random.Random(1), list[str](), 0, 0  # noqa: S311 - not a secret
    with serving() as app, sync_playwright() as playwright:
        assert app.stdout is not None
        told = (re.search(r"http://127\.0\.0\.1:\d+/\?token=\S+", line) for line in app.stdout)
        address = next(found.group() for found in told if found)
        path = Path(app.args[-1]) / FILE  # type: ignore[index]  # it was started by a list
        browser = playwright.chromium.launch(
            executable_path=shutil.which("chromium"), args=ARGUMENTS
        )
        for i in range(kills):
            page = browser.new_context(viewport={"width": 1024, "height": 768}).new_page()
            page.set_default_timeout(_LONG_MS)
            page.goto(address)
            page.get_by_role("link", name="Assess a home").click()
            page.locator(".rk-opener:visible").wait_for(timeout=_LONG_MS)
            page.get_by_role("button", name=NAME).first.click()
            page.locator(".rk-details .sentence:visible").wait_for(timeout=_LONG_MS)
            before = read_home(path.read_text("utf-8"), FILE)
            key = choose.choice(list(FIELDS))
            told_before = getattr(before.quantity(key), "text", "")
            others = [one for one in FIELDS[key] if not told_before.startswith(one)]
            text = choose.choice(others)  # what stands there already is no change
            is_heard = page.evaluate(LEAVE, [key, text, choose.uniform(0, 1000)]) == "no"
            kernel_of(page, app.pid).kill()
            fault, is_new = judged(path, before, key, text)
            early, new = early + (not is_heard), new + is_new
            if is_heard and not is_new:
                fault = fault or f"{key}: what the form was told is taken in is not in the file"
            if fault:
                said.append(fault)
            print(f"{i + 1}: {key}, {'new' if is_new else 'old'}; {fault or 'whole'}", flush=True)
            page.context.close()
        browser.close()
    faults = "; ".join(said) or "no fault"
    return (
        f"pages: {kills} kills, {early} before the change was taken in, {new} files new; {faults}"
    )


def kernel_of(page: Page, app: int) -> psutil.Process:
    """The process that computes for a page."""
    kernel = json.loads(page.locator("#jupyter-config-data").inner_text())["kernelId"]
    return next(
        process
        for process in psutil.Process(app).children(recursive=True)
        if any(kernel in part for part in process.cmdline())
    )


def judged(path: Path, before: Home, key: str, text: str) -> tuple[str, bool]:
    """What is wrong with the file after a kill, and whether it holds the change."""
    try:
        after = read_home(path.read_text("utf-8"), FILE)
    except (InputError, UnicodeDecodeError) as error:
        return f"the file is torn: {error}", False
    if after == before:
        return "", False
    given, section = after.quantity(key), key.replace(".", "__")
    if given is None or not given.text.startswith(text):
        return f"{key} is {given}, not {text}", False
    is_whole = after == before.changed(**{section: given.text})
    return ("" if is_whole else f"more than {key} was changed"), True
