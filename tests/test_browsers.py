"""Where the browser tests look for a browser, and what they do where there is none."""

from __future__ import annotations

import os
import subprocess
import sys
from pathlib import Path

import pytest
from browsers import NAMES, VARIABLE, BrowserError, find_browser

ROOT = Path(__file__).resolve().parent.parent
ONE = (
    "tests/ui/test_moving_section.py::test_by_itself_the_storm_ends_within_a_minute_and_plays_again"
)


def program(path: Path, status: int = 0) -> Path:
    """Make a program that ends at once."""
    path.parent.mkdir(parents=True, exist_ok=True)
    path.write_text(f"#!/bin/sh\nexit {status}\n")
    path.chmod(0o755)
    return path


@pytest.mark.parametrize("name", NAMES)
def test_any_of_the_family_is_found_by_its_name(name: str, tmp_path: Path) -> None:
    made = program(tmp_path / name)
    assert find_browser({"PATH": str(tmp_path)}, "plan9") == str(made)


@pytest.mark.parametrize(
    ("platform", "variable", "place"),
    [
        ("darwin", "HOME", "Applications/Google Chrome.app/Contents/MacOS/Google Chrome"),
        ("win32", "PROGRAMFILES(X86)", "Microsoft/Edge/Application/msedge.exe"),
        ("win32", "LOCALAPPDATA", "Google/Chrome/Application/chrome.exe"),
    ],
)
def test_the_usual_places_are_looked_at(
    platform: str, variable: str, place: str, tmp_path: Path
) -> None:
    environment = {"PATH": "", variable: str(tmp_path)}
    made = program(tmp_path / place)
    assert find_browser(environment, platform) == str(made)
    made.unlink()
    assert find_browser(environment, platform) != str(made)


def test_one_that_does_not_start_is_passed_over(tmp_path: Path) -> None:
    program(tmp_path / "chromium", status=1)
    assert find_browser({"PATH": str(tmp_path)}, "plan9") is None
    made = program(tmp_path / "msedge")
    assert find_browser({"PATH": str(tmp_path)}, "plan9") == str(made)


def test_the_variable_goes_first_and_is_never_passed_over(tmp_path: Path) -> None:
    program(tmp_path / "chromium")
    own = program(tmp_path / "elsewhere" / "own")
    environment = {"PATH": str(tmp_path), VARIABLE: str(own)}
    assert find_browser(environment, "plan9") == str(own)
    own.unlink()
    with pytest.raises(BrowserError, match="RISKKIT_BROWSER names no program"):
        find_browser(environment, "plan9")


@pytest.mark.parametrize(
    ("options", "needed", "status", "word"),
    [
        ((), "", 0, "SKIPPED"),
        ((), "1", 1, "ERROR"),
        (("-m", "not browser"), "1", 5, "deselected"),
    ],
)
def test_without_a_browser(options: tuple[str, ...], needed: str, status: int, word: str) -> None:
    code = (
        "import sys; sys.path.insert(0, 'tests'); import browsers, pytest\n"
        "browsers.NAMES, browsers.PLACES = (), {}\n"
        f"sys.exit(pytest.main([{ONE!r}, '-p', 'no:cacheprovider', *{options!r}]))"
    )
    environment = {k: v for k, v in os.environ.items() if k != VARIABLE}
    done = subprocess.run(
        [sys.executable, "-c", code], cwd=ROOT, capture_output=True, text=True, check=False,
        env=environment | {"RISKKIT_NEED_BROWSER": needed},
    )  # fmt: skip
    assert done.returncode == status, done.stdout + done.stderr
    assert word in done.stdout
    assert ("no browser of the Chromium family was found" in done.stdout) == (not options)


def test_slow_tests_come_last() -> None:
    asked = [ONE, "tests/test_house.py::test_modules_are_short", "tests/test_texts.py"]
    done = subprocess.run(
        [sys.executable, "-m", "pytest", "--collect-only", "-q", *asked],
        cwd=ROOT, capture_output=True, text=True, check=False,
    )  # fmt: skip
    found = [line.split("::")[0] for line in done.stdout.splitlines() if "::" in line]
    assert list(dict.fromkeys(found)) == [name.split("::")[0] for name in reversed(asked)]
