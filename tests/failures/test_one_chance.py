"""The chance of a year of a home and its causes are one figure, whichever command tells them."""

from __future__ import annotations

from pathlib import Path

import pytest

from riskkit.failures.service import interval
from riskkit.failures.yearly import chance
from riskkit.home.home import load_home
from riskkit.options.ranking import rank_remedies
from riskkit.risk.design_rain import design_rain

CHANGES: dict[str, dict[str, object]] = {
    "as it is": {},
    "observed": {
        "observation": [
            {"date": "2026-04-01", "kind": "how_often", "when": "dry", "often": "never"},
        ]
    },
    "visited": {
        "visit": [{
            "date": "2026-04-14",
            "rise_test": {"begin": "20 in", "end": "14 in", "time": "12 min", "weather": "dry"},
            "checks": {"float_free": "yes", "alarm_sounded": "no"},
        }]
    },
}  # fmt: skip


@pytest.mark.parametrize("which", CHANGES)
def test_remedies_and_interval_split_one_chance_alike(which: str, demo_sites: Path) -> None:
    """A ranking picks 16 out of 64 variants, and tells today by all 64, as the others do."""
    home = load_home(demo_sites / "split_level_on_clay.toml").changed(**CHANGES[which])
    rain = design_rain(home, demo_sites)
    ranked = rank_remedies(home, rain, changes=[], n_draws=16).now
    others = chance(home, rain, n_draws=64), interval(home, rain, n_draws=64).now
    for other in others:
        assert other.per_yr_by_draw.size == ranked.per_yr_by_draw.size == 64
        assert other.mean == pytest.approx(ranked.mean, rel=1e-12)
        for one, told in zip(ranked.causes, other.causes, strict=True):
            assert (told.cause, told.is_certain) == (one.cause, one.is_certain)
            numbers = [(each.share, each.chance, each.per_yr) for each in (told, one)]
            assert numbers[0] == pytest.approx(numbers[1], rel=1e-12)
