"""An answer for storms of known durations equals the one that searched them."""

from __future__ import annotations

from dataclasses import replace
from pathlib import Path

import pytest

from riskkit.assessment import Settings, assess, design_rain
from riskkit.errors import InputError
from riskkit.site import load_site


def test_known_durations_are_not_searched_and_give_the_same_answer(demo_sites: Path) -> None:
    site = load_site(demo_sites / "split_level_on_clay.toml")
    rain = design_rain(site, demo_sites).used
    settings = Settings(n_draws=32)
    told: list[str] = []
    searched = assess(site, rain, settings, progress=told.append)
    assert "searching the critical storms" in told
    told.clear()
    durations = tuple(storm.duration_h for storm in searched.storms)
    known = assess(site, rain, replace(settings, durations_h=durations), progress=told.append)
    assert "searching the critical storms" not in told
    for one, other in zip(searched.storms, known.storms, strict=True):
        assert one.worst_s == other.worst_s
        assert one.depth_mm == other.depth_mm
        assert one.floor_dry_share == other.floor_dry_share


def test_there_is_a_duration_for_each_storm() -> None:
    with pytest.raises(InputError, match="not one for each"):
        Settings(durations_h=(1.0, 2.0))
