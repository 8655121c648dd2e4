"""A folder with invented homes that a test may write to."""

from __future__ import annotations

import logging
import shutil
from collections.abc import Iterator
from pathlib import Path

import pytest
from kept_answers import answered_once, draw_fewer, rain_read_once, ranked_once

__all__ = ["answered_once", "rain_read_once", "ranked_once"]  # fixtures of all tests of this folder


@pytest.fixture(autouse=True)
def fewer_draws(monkeypatch: pytest.MonkeyPatch) -> None:
    """What the pages show hangs on no number of draws; more than at first there must be."""
    draw_fewer(monkeypatch, 64)


@pytest.fixture(autouse=True)
def no_fault_in_the_background(caplog: pytest.LogCaptureFixture) -> Iterator[None]:
    """What goes wrong in a thread or a loop is logged by the library; here it fails the test."""
    yield
    records = [*caplog.get_records("setup"), *caplog.get_records("call")]
    loud = [record for record in records if record.levelno >= logging.ERROR]
    assert [record.getMessage() for record in loud] == []


@pytest.fixture
def homes(tmp_path: Path, demo_sites: Path) -> Path:
    """A copy of the invented homes and their rain."""
    folder = tmp_path / "homes"
    folder.mkdir()
    for path in [*demo_sites.glob("*.toml"), *demo_sites.glob("*.csv.gz")]:
        shutil.copy(path, folder)
    return folder
