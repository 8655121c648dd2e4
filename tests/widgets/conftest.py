"""A folder with invented homes that a test may write to."""

from __future__ import annotations

import shutil
from pathlib import Path

import pytest


@pytest.fixture
def homes(tmp_path: Path, demo_sites: Path) -> Path:
    """A copy of the invented homes and their rain."""
    folder = tmp_path / "homes"
    folder.mkdir()
    for path in [*demo_sites.glob("*.toml"), *demo_sites.glob("*.csv.gz")]:
        shutil.copy(path, folder)
    return folder
