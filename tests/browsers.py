"""Find a browser of the Chromium family, which the browser tests drive."""

from __future__ import annotations

import shutil
import subprocess
from collections.abc import Iterator, Mapping
from pathlib import Path

VARIABLE = "RISKKIT_BROWSER"  # path of the browser, where it is to be a certain one
NEEDED = "RISKKIT_NEED_BROWSER"  # set where its tests must not be skipped
NAMES = (
    "chromium",
    "chromium-browser",
    "google-chrome",
    "google-chrome-stable",
    "chrome",
    "microsoft-edge",
    "microsoft-edge-stable",
    "msedge",
)
PLACES = {
    "linux": ("/snap/bin/chromium", "/opt/google/chrome/chrome", "/opt/microsoft/msedge/msedge"),
    "darwin": tuple(
        f"{folder}/Applications/{name}.app/Contents/MacOS/{name}"
        for folder in ("", "{HOME}")
        for name in ("Chromium", "Google Chrome", "Microsoft Edge")
    ),
    "win32": tuple(
        f"{folder}/{program}"
        for folder in ("{PROGRAMFILES}", "{PROGRAMFILES(X86)}", "{LOCALAPPDATA}")
        for program in (
            "Google/Chrome/Application/chrome.exe",
            "Chromium/Application/chrome.exe",
            "Microsoft/Edge/Application/msedge.exe",
        )
    ),
}
BROWSER_ARGUMENTS = [
    "--headless",
    "--no-sandbox",
    "--disable-gpu",
    "--disable-quic",
    "--no-first-run",
    "--disable-background-networking",
    "--disable-component-update",
    "--disable-sync",
]
MISSING = (
    f"no browser of the Chromium family was found: install Chromium, Chrome or Edge, or name one "
    f"in {VARIABLE}"
)


class BrowserError(Exception):
    """The browser that was asked for is not there."""


def find_browser(environment: Mapping[str, str], platform: str) -> str | None:
    """Return the path of a browser, or None where this machine has none.

    Parameters
    ----------
    environment : mapping of str to str
        Variables of the environment.
    platform : str
        As `sys.platform`.

    Returns
    -------
    str or None
        The browser named by the variable, else the first that is found and starts.

    Raises
    ------
    BrowserError
        Where the variable names what is no program.
    """
    named = environment.get(VARIABLE)
    if named:
        found = shutil.which(named, path=environment.get("PATH", ""))
        if found is None:
            raise BrowserError(f"{VARIABLE} names no program: {named}")
        return found
    starts = (path for path in _candidates(environment, platform) if _starts(path, platform))
    return next(starts, None)


def _candidates(environment: Mapping[str, str], platform: str) -> Iterator[str]:
    for name in NAMES:
        path = shutil.which(name, path=environment.get("PATH", ""))
        if path is not None:
            yield path
    for place in PLACES.get(platform, ()):
        try:
            path = place.format_map(environment)
        except KeyError:  # a folder that this machine does not have
            continue
        if Path(path).is_file():
            yield path


def _starts(path: str, platform: str) -> bool:
    """Some systems have a script of this name that only says how to install the browser."""
    if platform == "win32":  # where asking for the version opens a window
        return True
    try:
        done = subprocess.run([path, "--version"], capture_output=True, timeout=60, check=False)
    except OSError:
        return False
    return done.returncode == 0
