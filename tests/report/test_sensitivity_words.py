"""What is most useful to measure next: found from the draws, checked by pandas and a trial."""

from __future__ import annotations

from pathlib import Path

import numpy as np
import pandas as pd
import pytest

from riskkit.antecedent.textures import soil_weights
from riskkit.assessment import Assessment, DesignRain, Settings, assess, design_rain
from riskkit.ensemble.draws import draw_homes
from riskkit.home.home import Home, load_home
from riskkit.quantities.quantity import Basis
from riskkit.quantities.variables import variable, variables
from riskkit.report.sensitivity_words import how_to_settle, to_measure_words
from riskkit.risk.sensitivity import SOIL, Sensitivity
from riskkit.tables import load_table


@pytest.fixture(scope="module")
def found(answer: Assessment) -> tuple[Sensitivity, ...]:
    return answer.sensitivities


def test_shares_are_squares_of_spearmans_correlation(
    answer: Assessment, found: tuple[Sensitivity, ...]
) -> None:
    settings = answer.settings
    homes = draw_homes(answer.home, settings.n_draws, settings.seed, answer.antecedent)
    times = pd.Series(answer.headline_storm.worst_stop.to_floor_by_draw_s)
    assert len(found) >= 2
    for one in found:
        if one.key == SOIL:  # from coarse to fine, as the table of likely soils has them
            order = list(soil_weights(answer.home))
            values = pd.Series([order.index(soil) for soil in homes.soil])
        else:
            values = pd.Series(homes[variable(one.key).name])
        # pandas ranks by itself; infinite times are the greatest
        assert one.share == pytest.approx(values.corr(times, method="spearman") ** 2)
    assert [one.share for one in found] == sorted((w.share for w in found), reverse=True)


def test_what_is_measured_is_never_asked_for_again(
    answer: Assessment, found: tuple[Sensitivity, ...]
) -> None:
    basis = {row.key: row.basis for row in answer.assumptions}
    assert Basis.MEASURED in basis.values()
    basis[SOIL] = Basis.UNKNOWN  # the one thing drawn that is not a quantity
    assert all(basis[one.key] is not Basis.MEASURED for one in found)


def test_measuring_the_first_of_them_narrows_the_answer_most(
    answer: Assessment, found: tuple[Sensitivity, ...]
) -> None:
    rows = {row.key: row for row in answer.assumptions}
    of_it = (answer.settings.headline_yr,)  # no other storm is asked
    settings = Settings(of_it, headline_yr=of_it[0], n_draws=answer.settings.n_draws)
    rain = DesignRain(answer.rain, weather=answer.weather, levels=answer.levels)

    def spread(key: str) -> float:
        """Of the time by its order of magnitude, never as a week, once a key is measured.

        The mean of what is left where it is found low, middling or high: which nobody knows before.
        """
        left = []
        for value in (rows[key].p05, rows[key].p50, rows[key].p95):
            text = f"{value:.9g} {variable(key).unit}, measured".replace(" 1,", ",")
            after = assess(answer.home.changed(**{key.replace(".", "__"): text}), rain, settings)
            times = np.clip(after.headline_storm.worst_stop.to_floor_by_draw_s, 60.0, 7 * 86400)
            left.append(np.var(np.log(times)))
        return float(np.sqrt(np.mean(left)))

    assert found[0].key != SOIL  # it could not be entered as a number
    listed = {one.key for one in found}
    unknown = [key for key, row in rows.items() if row.basis is Basis.UNKNOWN]
    others = [key for key in unknown if key not in listed][:4]
    assert len(others) == 4
    assert spread(found[0].key) < 0.97 * min(spread(key) for key in others)


def test_the_one_to_do_next_is_the_first_that_can_be_done(
    answer: Assessment, found: tuple[Sensitivity, ...]
) -> None:
    can = [one for one in found if how_to_settle(one.key)]
    assert can[0].share > 0.1
    assert how_to_settle(can[0].key) in to_measure_words(answer)
    assert variable(can[0].key).words in to_measure_words(answer)


def test_nothing_is_asked_for_where_water_never_comes(demo_sites: Path) -> None:
    home = demo_sites / "bungalow_on_sand.toml"
    deep = load_home(home).changed(
        pit__depth="60 in, measured",
        gravel__thickness="12 in, measured",
        gravel__connected_share="100 %, measured",
    )
    rain = design_rain(deep, home.parent).used
    never = assess(deep, rain, Settings(n_draws=64, headline_yr=1.0))
    assert never.headline_storm.worst_stop.to_floor_s.never_share == 1.0
    assert to_measure_words(never) == ""


def test_every_quantity_has_a_way_to_find_out_or_none() -> None:
    keys = {row["key"] for row in load_table("measuring").rows}
    spring_and_autumn = {"ground.water_table_spring", "ground.water_table_autumn"}  # not drawn
    assert keys == ({*variables()} | {SOIL}) - spring_and_autumn
    assert Home().changed(**{SOIL.replace(".", "__"): "clay"}).choice(SOIL) == "clay"
    with pytest.raises(KeyError):
        how_to_settle("ground.colour")
    assert how_to_settle("ground.saturation") == ""  # the weather decides
    assert "tape" in how_to_settle("pit.depth")
