"""Wetness told by a word or by nothing: the same place between the water marks of each texture."""

from pathlib import Path

import numpy as np
import pytest

from riskkit.antecedent.saturation import like_reference, saturation_by_texture, saturation_of
from riskkit.antecedent.wetness import antecedent_wetness
from riskkit.assessment import design_rain
from riskkit.ensemble.draws import assumptions, draw_homes
from riskkit.home.home import Home, load_home
from riskkit.inflow.soils import texture_names

# porosity, effective porosity (Green and Ampt), wilting point, field capacity, of the sources
MARKS = {
    "sand": (0.437, 0.417, 0.05, 0.10),
    "silt loam": (0.501, 0.486, 0.11, 0.31),
    "clay loam": (0.464, 0.390, 0.22, 0.36),
    "clay": (0.475, 0.385, 0.30, 0.42),
}


def full(texture: str, content: float) -> float:
    porosity, effective, *_ = MARKS[texture]
    return 1 - (porosity - content) / effective


@pytest.mark.parametrize("texture", MARKS)
def test_marks_land_on_marks(texture: str) -> None:
    for mark in (2, 3):
        there = full("clay loam", MARKS["clay loam"][mark])
        found = like_reference(there, texture)
        assert found == pytest.approx(full(texture, MARKS[texture][mark]), abs=1e-9)
    assert like_reference([0.0, 1.0], texture) == pytest.approx([0.0, 1.0])
    middle = full("clay loam", (0.22 + 0.36) / 2)
    between = sum(MARKS[texture][2:]) / 2
    assert like_reference(middle, texture) == pytest.approx(full(texture, between), abs=1e-9)


def test_words_keep_their_order_in_every_texture() -> None:
    for texture in texture_names():
        spreads = [
            saturation_of(Home().changed(ground__soil=texture, ground__wetness=word), None)
            for word in ("dry", "usual", "wet")
        ]
        for of in ("p05", "p50", "p95"):
            values = [getattr(spread, of) for spread in spreads]
            assert values == sorted(values) and values[0] > 0 and values[-1] < 1
        default = saturation_of(Home().changed(ground__soil=texture), None)
        assert spreads[0].p05 < default.p05 < spreads[1].p05 < default.p50 + 1e-9
        assert default.p50 == pytest.approx(spreads[1].p50) and default.p95 < spreads[2].p95


def test_the_default_holds_what_a_record_would_tell(demo_sites: Path) -> None:
    """In a Midwestern climate the days before storms lie within the default of their texture."""
    rain = design_rain(load_home(demo_sites / "home_just_met.toml"), demo_sites)
    assert rain.weather is not None
    for texture in texture_names():
        told = antecedent_wetness(rain.weather, 41.2, {texture: 1.0}, 2.1)
        default = saturation_of(Home().changed(ground__soil=texture), None)
        assert told is not None
        assert default.p05 < told.spread.p05 and told.spread.p95 < default.p95, texture
        assert told.spread.p50 < default.p50 < told.spread.p50 + 0.1


def test_draws_and_the_row_that_is_told_agree() -> None:
    for home in (Home(), Home().changed(ground__soil="unknown", ground__wetness="wet")):
        row = next(r for r in assumptions(home) if r.key == "ground.saturation")
        drawn = draw_homes(home, 4096, 1)
        found = np.quantile(drawn["saturation"], [0.05, 0.5, 0.95])
        assert found == pytest.approx([row.p05, row.p50, row.p95], abs=0.015)
        of_texture = saturation_by_texture(home, None)
        for texture in ("sand", "silt loam", "clay"):
            mine = drawn["saturation"][np.array(drawn.backfill) == texture]
            assert np.median(mine) == pytest.approx(of_texture[texture].p50, abs=0.03)
    sure = draw_homes(Home().changed(ground__backfill="sand", ground__soil="clay"), 512, 1)
    assert np.quantile(sure["saturation"], 0.95) < 0.7  # the fill counts, not the ground


def test_a_number_is_what_it_says_in_every_soil() -> None:
    for texture in ("sand", "clay"):
        home = Home().changed(ground__soil=texture, ground__saturation="60 %")
        assert np.median(draw_homes(home, 512, 1)["saturation"]) == pytest.approx(0.6, abs=0.01)
