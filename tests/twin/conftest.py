"""Rain of the invented town, for the twin."""

from __future__ import annotations

from pathlib import Path

import pytest

import riskkit
from riskkit.records import DepthDurationFrequency


@pytest.fixture(scope="session")
def town_rain(demo_sites: Path) -> DepthDurationFrequency:
    """Depths of rain that the invented homes are answered with."""
    home = riskkit.load_home(demo_sites / "split_level_on_clay.toml")
    return riskkit.design_rain(home, demo_sites).used
