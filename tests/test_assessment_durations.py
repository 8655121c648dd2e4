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


def test_a_storm_is_answered_alike_whatever_stands_beside_it(demo_sites: Path) -> None:
    """A storm of two days beside it must not lengthen the time in which the alarm may sound."""
    site = load_site(demo_sites / "split_level_on_clay.toml")
    rain = design_rain(site, demo_sites).used
    settings = Settings(n_draws=64, return_periods_yr=(10.0, 100.0), durations_h=(24.0, 48.0))
    alone = replace(settings, return_periods_yr=(10.0,), durations_h=(24.0,))
    beside, single = (assess(site, rain, one).storms[0] for one in (settings, alone))
    assert beside.worst_s == single.worst_s
    assert beside.typical_s == single.typical_s
    assert beside.depth_after_m == single.depth_after_m
    assert beside.trace.time_s.size == single.trace.time_s.size
