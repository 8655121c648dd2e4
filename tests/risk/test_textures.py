"""How likely a texture is, from what is known of the soil."""

import numpy as np
import pytest

from riskkit.antecedent.textures import backfill_weights, soil_weights, soil_words, textures_at
from riskkit.ensemble.draws import draw_homes, median_home
from riskkit.errors import InputError
from riskkit.home.home import Home
from riskkit.home.sections import FEELS, TEXTURES
from riskkit.tables import load_table

# the class that the flow diagram of texture by feel ends at
DIAGRAM = {
    "no ball": "sand",
    "ball but no ribbon": "loamy sand",
    "short gritty ribbon": "sandy loam",
    "short mixed ribbon": "loam",
    "short smooth ribbon": "silt loam",
    "medium gritty ribbon": "sandy clay loam",
    "medium mixed ribbon": "clay loam",
    "medium smooth ribbon": "silty clay loam",
    "long gritty ribbon": "sandy clay",
    "long mixed ribbon": "clay",
    "long smooth ribbon": "silty clay",
}


def home(**values: object) -> Home:
    return Home().changed(**values)


@pytest.mark.parametrize("feel", FEELS)
def test_weights_are_a_distribution_from_coarse_to_fine(feel: str) -> None:
    weights = soil_weights(home(ground__feel=feel))
    assert sum(weights.values()) == pytest.approx(1, abs=1e-9)
    order = [TEXTURES.index(name) for name in weights]
    assert order == sorted(order) and min(weights.values()) > 0
    if feel in DIAGRAM:
        assert max(weights, key=lambda name: weights[name]) == DIAGRAM[feel]


def test_every_texture_is_likely_somewhere_and_the_unknown_soil_is_any_of_them() -> None:
    weights = soil_weights(home())
    assert sum(weights.values()) == pytest.approx(1, abs=1e-9)
    assert list(weights) == list(TEXTURES)
    assert [row["texture"] for row in load_table("texture_centres").rows] == list(TEXTURES)
    assert {row["texture"] for row in load_table("soil_feel").rows} == set(TEXTURES)


def test_a_ribbon_not_rubbed_says_less() -> None:
    for length in ("short", "medium", "long"):
        vague = soil_weights(home(ground__feel=f"{length} ribbon"))
        for grit in ("gritty", "mixed", "smooth"):
            likely = DIAGRAM[f"{length} {grit} ribbon"]
            told = soil_weights(home(ground__feel=f"{length} {grit} ribbon"))
            assert 0 < vague[likely] < told[likely] + 0.1
    assert len(FEELS) == len(DIAGRAM) + 3
    assert all(row["words"] == FEELS[row["feel"]] for row in load_table("soil_feel").rows)


def test_a_texture_beats_a_feel_and_a_feel_beats_nothing() -> None:
    both = home(ground__soil="clay", ground__feel="no ball")
    assert soil_weights(both) == {"clay": 1.0}
    assert soil_words(both) == "clay, as given; fill at the wall: the same"
    felt = home(ground__feel="long mixed ribbon")
    assert soil_weights(felt) != soil_weights(home())
    assert backfill_weights(felt) == soil_weights(felt)
    assert backfill_weights(home(ground__backfill="sand")) == {"sand": 1.0}
    words = "most likely clay (73%), then silty clay (12%); hydrologic soil group D by the limits"
    assert words in soil_words(felt)
    assert soil_words(home()).startswith("not known, drawn from sand to clay; fill")


def test_an_unknown_feel_is_told_with_the_known_ones() -> None:
    with pytest.raises(InputError, match=r"'sticky' is not a choice.*long ribbon"):
        home(ground__feel="sticky")


def test_draws_follow_the_weights() -> None:
    felt = home(ground__feel="medium smooth ribbon")
    weights = soil_weights(felt)
    drawn = draw_homes(felt, 2048, 1)
    for name, weight in weights.items():
        share = np.mean([texture == name for texture in drawn.soil])
        assert share == pytest.approx(weight, abs=0.01)
    assert drawn.backfill == drawn.soil
    assert set(drawn.soil) == set(weights)


def test_the_middle_texture_is_the_middle_of_the_order() -> None:
    assert median_home(home()).soil == ("silt loam",)
    assert median_home(home(ground__feel="long mixed ribbon")).soil == ("clay",)
    assert textures_at({"loam": 1.0}, np.array([-3.0, 0.0, 3.0])) == ("loam",) * 3
