"""Draws agree with what is known, spread by how it is known, and are the same every time."""

from __future__ import annotations

import math
from itertools import pairwise
from pathlib import Path
from typing import Any

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st
from scipy import stats

from riskkit.antecedent.water_table import AUTUMN, SPRING
from riskkit.assessment import Settings, assess
from riskkit.ensemble import draws
from riskkit.ensemble.draws import assumptions, draw_homes, median_home
from riskkit.ensemble.quantiles import outcome
from riskkit.ensemble.shared import RAIN_COLUMN, SOIL_COLUMN
from riskkit.errors import InputError
from riskkit.home.home import Home, home_of, load_home
from riskkit.quantities.distributions import rank_correlation, spread_at
from riskkit.quantities.quantity import Basis
from riskkit.quantities.variables import Spread, variables
from riskkit.risk.design_rain import design_rain
from riskkit.simulate.pit import pit_of
from riskkit.tables import load_table


def home(**values: object) -> Home:
    return Home(name="x").changed(**values)


def test_points_of_the_spread_come_back() -> None:
    spread = Spread(10.0, 20.0, 80.0, "", "")
    scores = stats.norm.ppf([0.05, 0.5, 0.95])
    for scale in ("normal", "log"):
        np.testing.assert_allclose(spread_at(spread, scale, scores), [10, 20, 80], rtol=1e-9)
    shares = Spread(0.1, 0.4, 0.5, "", "")
    np.testing.assert_allclose(spread_at(shares, "logit", scores), [0.1, 0.4, 0.5], rtol=1e-9)


def test_measured_is_narrower_than_given_is_narrower_than_unknown() -> None:
    def width(**values: object) -> float:
        drawn = draw_homes(home(**values), 512, 1)["pit_diameter_m"]
        return float(np.quantile(drawn, 0.95) - np.quantile(drawn, 0.05))

    measured = width(pit__diameter="18 in, measured")
    given_ = width(pit__diameter="18 in")
    unknown = width()
    assert measured < 0.5 * given_ < 0.5 * unknown
    # 1 % of 457 mm on either side of the middle, 1.645 standard deviations each way
    assert measured == pytest.approx(2 * 1.645 * 0.01 * 0.4572, rel=0.02)


def test_a_range_holds_nine_draws_in_ten() -> None:
    drawn = draw_homes(home(switch__alarm="5 to 7 in"), 1024, 1)["alarm_depth_m"] / 0.0254
    assert np.mean((drawn >= 5) & (drawn <= 7)) == pytest.approx(0.9, abs=0.005)


def test_unknown_quantities_have_the_points_of_the_table() -> None:
    drawn = draw_homes(home(), 4096, 1)
    for key in ("house.perimeter", "ground.gap_share", "ground.half_distance"):
        item = variables()[key]
        found = np.quantile(drawn[item.name], [0.05, 0.5, 0.95])
        wanted = [item.unknown.p05, item.unknown.p50, item.unknown.p95]
        np.testing.assert_allclose(found, wanted, rtol=0.03)


def test_what_nobody_knows_of_the_ground_follows_its_soil() -> None:
    """Clay is of soil group D: the points of its rows in tables/unknown_by_group.csv."""
    drawn = draw_homes(home(ground__soil="clay"), 4096, 1)
    for name, wanted in (
        ("water_table_depth_m", [-0.1, 1.0, 4.0]), ("deep_percolation_mm_d", [0.02, 0.15, 1.5]),
        ("permeable_depth_m", [0.1, 0.4, 1.2]),
    ):  # fmt: skip
        found = np.quantile(drawn[name], [0.05, 0.5, 0.95])
        np.testing.assert_allclose(found, wanted, rtol=0.07, atol=0.02)


def test_same_seed_same_draws_and_other_seed_other_draws() -> None:
    first, again = draw_homes(home(), 256, 7), draw_homes(home(), 256, 7)
    other = draw_homes(home(), 256, 8)
    for name, values in first.values.items():
        np.testing.assert_array_equal(values, again[name])
    assert not np.array_equal(first["perimeter_m"], other["perimeter_m"])


def test_knowing_one_thing_leaves_the_other_draws_alone() -> None:
    blind, seen = draw_homes(home(), 256, 1), draw_homes(home(roof__area="140 m2"), 256, 1)
    np.testing.assert_array_equal(blind["perimeter_m"], seen["perimeter_m"])
    np.testing.assert_array_equal(blind["gap_share"], seen["gap_share"])


def test_exact_values_stay() -> None:
    drawn = draw_homes(home(roof__to_drain="0 of 4", roof__at_wall="4 of 4"), 128, 1)
    assert set(drawn["to_drain_share"]) == {0.0}
    assert set(drawn["at_wall_share"]) == {1.0}


def test_number_beats_choice_beats_default() -> None:
    def basis(**values: object) -> tuple[Basis, float]:
        row = next(r for r in assumptions(home(**values)) if r.key == "ground.gap_share")
        return row.basis, row.p50

    assert basis() == (Basis.UNKNOWN, 0.065)
    assert basis(ground__gap="open") == (Basis.GIVEN, 0.18)
    assert basis(ground__gap="open", ground__gap_share="2 %, measured") == (Basis.MEASURED, 0.02)


def test_texture_is_drawn_where_nobody_knows() -> None:
    drawn = draw_homes(home(), 4096, 1)
    share = np.mean([texture == "silt loam" for texture in drawn.soil])
    assert share == pytest.approx(0.20, abs=0.01)  # weight in tables/soil_unknown.csv
    assert drawn.backfill == drawn.soil
    known = draw_homes(home(ground__soil="clay", ground__backfill="sand"), 64, 1)
    assert set(known.soil) == {"clay"} and set(known.backfill) == {"sand"}


@given(
    st.sampled_from([None, "8 in", "13 in, measured", "20 in"]),
    st.sampled_from([None, "15 in", "22 in, measured", "30 in"]),
    st.sampled_from([None, "2 in", "6 in, measured", "7 in"]),
    st.sampled_from([None, "31 in", "36 in, measured"]),
)
def test_switch_levels_of_every_draw_are_in_order(
    on: str | None, off: str | None, alarm: str | None, depth: str | None
) -> None:
    inches = {k: float(v.split()[0]) if v else None for k, v in
              {"on": on, "off": off, "alarm": alarm}.items()}  # fmt: skip
    if inches["on"] and inches["off"] and inches["on"] >= inches["off"]:
        return  # refused on reading, see test_site
    if inches["on"] and inches["alarm"] and inches["alarm"] >= inches["on"]:
        return
    values = {"switch__on": on, "switch__off": off, "switch__alarm": alarm, "pit__depth": depth}
    homes = draw_homes(home(**{k: v for k, v in values.items() if v}), 256, 1)
    assert np.all(homes["alarm_depth_m"] > 0)
    assert np.all(homes["on_depth_m"] > homes["alarm_depth_m"])
    assert np.all(homes["off_depth_m"] > homes["on_depth_m"])
    assert np.all(homes["pit_depth_m"] > homes["off_depth_m"])


INCH = 0.0254


@pytest.mark.parametrize("depth", ["14 in", "16 in, measured", "about 18 in"])
def test_the_drain_of_every_draw_runs_into_the_pit(depth: str) -> None:
    """An unknown drain lies 3.9 to 13 in down, nine times in ten; the pit is known."""
    homes = draw_homes(home(pit__depth=depth), 4096, 1)
    apart = homes["pit_depth_m"] - homes["drain_depth_m"]
    assert apart.min() == pytest.approx(0.02)  # for some would lie deeper
    free = draw_homes(home(pit__depth="6 ft, measured"), 4096, 1)["drain_depth_m"]
    gave_way = homes["drain_depth_m"] < free
    np.testing.assert_allclose(apart[gave_way], 0.02)
    assert np.array_equal(homes["drain_depth_m"][~gave_way], free[~gave_way])


def test_an_unknown_pit_reaches_below_a_known_drain() -> None:
    drained = {"ground__drain_depth": "20 in, measured"}
    homes = draw_homes(home(**drained), 4096, 1)
    alone = draw_homes(home(), 4096, 1)["pit_depth_m"]
    deeper = homes["pit_depth_m"] > alone
    assert deeper.any() and not deeper.all()
    np.testing.assert_allclose(homes["pit_depth_m"][deeper] - homes["drain_depth_m"][deeper], 0.02)
    # of two that are known neither gives way by more than their spread
    both = draw_homes(home(**drained, pit__depth="21 in, measured"), 4096, 1)
    assert np.all(both["pit_depth_m"] - both["drain_depth_m"] >= 0.02 - 1e-12)
    assert np.median(both["drain_depth_m"]) == pytest.approx(20 * INCH, abs=0.02)
    assert np.median(both["pit_depth_m"]) == pytest.approx(21 * INCH, abs=0.005)


def test_a_table_of_the_pit_is_its_depth() -> None:
    table = [["0 in", "12 gal"], ["15 in", "0 gal"]]
    homes = draw_homes(home(pit__table=table), 4096, 1)
    assert np.all(homes["pit_depth_m"] == pytest.approx(15 * INCH))
    assert np.all(homes["drain_depth_m"] <= 15 * INCH - 0.02 + 1e-12)
    assert np.all(homes["off_depth_m"] < 15 * INCH)


@pytest.mark.parametrize(
    "values",
    [
        {"pit__depth": "14 in"},
        {"pit__depth": "18 in", "ground__drain_depth": "17 in"},
        {"ground__drain_depth": "30 in"},
        {"pit__table": [["0 in", "12 gal"], ["15 in", "0 gal"]]},
    ],
)
def test_a_shallow_pit_is_answered_for(values: dict[str, Any], demo_sites: Path) -> None:
    met = load_home(demo_sites / "home_just_met.toml")
    if "pit__table" in values:
        values = values | {"pit__diameter": "unknown"}
    changed = met.changed(**values)
    answer = assess(changed, design_rain(met, demo_sites), Settings((10.0,), 10.0, n_draws=256))
    assert 0.0 < answer.storms[0].worst_stop.to_floor_s.low < math.inf


def test_thousands_of_small_cycles_in_one_step_come_to_an_end(demo_sites: Path) -> None:
    """A vertical float in a pit of 12 in: a litre a cycle, and litres a second come in."""
    met = load_home(demo_sites / "home_just_met.toml")
    small = met.changed(
        pit__diameter="12 in", pit__depth="12.87 in", switch__off="10.69 in",
        switch__kind="vertical", ground__well_area="645 ft2",
        drain__open_share="57.61 %, measured",
    )  # fmt: skip
    answer = assess(small, design_rain(met, demo_sites), Settings((10.0,), 10.0, n_draws=64))
    assert 60.0 < answer.storms[0].worst_stop.to_floor_s.median < 3600.0


def test_middle_home_is_the_middle_of_the_draws() -> None:
    told = home(pit__diameter="18 in", ground__slope="flat")
    middle, drawn = median_home(told), draw_homes(told, 2048, 1)
    for name in ("pit_diameter_m", "runon_area_m2", "roof_area_m2", "rated_flow_m3_s"):
        assert middle[name][0] == pytest.approx(np.median(drawn[name]), rel=0.01)


def test_draws_are_a_power_of_two() -> None:
    with pytest.raises(ValueError, match="power of two"):
        draw_homes(home(), 500, 1)


def test_never_is_an_outcome_of_its_own() -> None:
    draws = np.array([5.0] * 4 + [7.0] * 2 + [np.inf] * 4)
    found = outcome(draws)
    assert (found.low, found.median, found.high, found.never_share) == (5.0, 7.0, np.inf, 0.4)
    assert outcome(np.full(8, np.inf)).never_share == 1.0
    even = outcome(np.arange(1.0, 101.0))
    assert (even.low, even.median, even.high) == (10.0, 50.0, 90.0)


@pytest.mark.parametrize("written", ["0 in", "0 in, measured"])
def test_no_gravel_is_none_and_never_less(written: str) -> None:
    homes = draw_homes(Home().changed(gravel__thickness=written), 64, 1)
    assert (homes["gravel_thickness_m"] == 0).all()


@pytest.mark.parametrize("key", ["pump.rated_flow", "switch.alarm"])
def test_what_rests_on_one_fact_of_the_trade_is_wide_and_says_so(key: str) -> None:
    row = next(row for row in assumptions(home()) if row.key == key)
    assert "one fact of the trade" in row.rationale and "judgement" in row.rationale
    assert row.source == "common_practice"
    # wider by far than the same told roughly, and nothing like a known pump or float
    told = {"pump.rated_flow": "about 43 gpm", "switch.alarm": "about 6 in"}[key]
    rough = next(r for r in assumptions(home(**{key.replace(".", "__"): told})) if r.key == key)
    assert row.p95 - row.p05 > 1.5 * (rough.p95 - rough.p05)
    assert row.p95 / row.p05 > 3.0


def test_floats_stay_in_order_though_the_alarm_may_hang_anywhere() -> None:
    homes = draw_homes(home(), 2048, 1)
    alarm, on = homes["alarm_depth_m"], homes["on_depth_m"]
    assert np.all(alarm < on) and np.all(alarm > 0)
    assert np.percentile(alarm, 5) < 0.06 and np.percentile(alarm, 95) > 0.25


def test_every_column_of_the_draws_belongs_to_one_quantity() -> None:
    columns = [item.column for item in variables().values() if item.column is not None]
    scores = [SOIL_COLUMN, draws._BACKFILL_COLUMN, RAIN_COLUMN]
    both = columns + scores
    assert len(set(both)) == len(both)
    assert min(both) == 0 and max(both) < len(load_table("sobol").rows)
    assert [key for key, item in variables().items() if item.column is None] == [SPRING, AUTUMN]


def test_later_columns_move_no_earlier_one_and_are_spread_as_evenly() -> None:
    few, many = draws._sobol_scores(512, 3, 50), draws._sobol_scores(512, 3, 56)
    np.testing.assert_array_equal(few, many[:, :50])
    for later in many.T[50:]:
        assert sorted((stats.norm.cdf(later) * 512).astype(int)) == list(range(512))
    alike = np.corrcoef(many.T) - np.eye(56)
    assert np.abs(alike[50:]).max() < 0.25  # as among the first


def test_ranks_go_together_as_a_reference_library_says() -> None:
    rng = np.random.default_rng(1)
    one = rng.normal(size=200)
    other = np.round(one + rng.normal(size=200), 0)  # with many equal values
    other[other > 2] = np.inf  # never
    wanted = stats.spearmanr(one, other).statistic
    assert rank_correlation(one, other) == pytest.approx(wanted, abs=1e-12)
    assert rank_correlation(one, -one) == pytest.approx(-1.0)


def pit_of_rows(*rows: tuple[float, float], **more: str) -> Home:
    """A home whose pit is given by rows of depth [in] and volume [gal]."""
    table = [[f"{depth:g} in", f"{volume:g} gal"] for depth, volume in rows]
    known: dict[str, Any] = {"pit": {"table": table}}
    for key, text in more.items():
        section, name = key.split("__")
        known.setdefault(section, {})[name] = text
    return home_of(known | {"name": "By rows"}, "by rows")


@pytest.mark.parametrize(
    "levels",
    [
        {"switch__alarm": "8 in"}, {"switch__on": "10 in, measured"}, {"switch__off": "11 in"},
        {"switch__alarm": "9 in", "switch__on": "10.5 in"}, {},
    ],
)  # fmt: skip
def test_unknown_levels_give_way_to_a_pit_given_by_rows(levels: dict[str, str]) -> None:
    """Rows down to 12 in: no level that nobody told lies deeper, nor moves the bottom."""
    homes = draw_homes(pit_of_rows((0, 20), (12, 0), **levels), 1024, 1)
    assert np.all(homes["pit_depth_m"] == pytest.approx(12 * INCH))
    order = ("alarm_depth_m", "on_depth_m", "off_depth_m", "pit_depth_m")
    for upper, lower in pairwise(order):
        assert np.all(homes[lower] > homes[upper] + 1e-3)
    assert homes["alarm_depth_m"].min() > 0
    pit_of(homes)  # it refuses none
    for key, column in (("switch__alarm", "alarm_depth_m"), ("switch__on", "on_depth_m")):
        if key in levels:  # what is told stays where it was told
            told = float(levels[key].split()[0]) * INCH
            assert np.median(homes[column]) == pytest.approx(told, abs=0.1 * INCH)


def test_unknown_levels_do_not_deepen_a_pit_of_known_depth() -> None:
    """Alarm at 9 in, pit of 12 in, start and stop unknown: they share the 3 in that are left."""
    homes = draw_homes(home(switch__alarm="9 in, measured", pit__depth="12 in, measured"), 1024, 1)
    plain = draw_homes(home(pit__depth="12 in, measured"), 1024, 1)
    fits = homes["alarm_depth_m"] + 0.05 < plain["pit_depth_m"]  # 1, 2 and 2 cm of gaps
    assert fits.mean() > 0.9
    assert np.array_equal(homes["pit_depth_m"][fits], plain["pit_depth_m"][fits])


@pytest.mark.parametrize("rows", [((0, 5), (8, 1), (12, 0)), ((0, 6), (4, 5.9), (14, 0))])
def test_a_pump_of_unknown_size_fits_into_a_narrow_pit(
    rows: tuple[tuple[float, float], ...],
) -> None:
    """By hand: 1 gal in the lowest 4 in is 58 in2; 0.1 gal in the upper 4 in is 5.8 in2."""
    for homes in (draw_homes(pit_of_rows(*rows), 256, 1), median_home(pit_of_rows(*rows))):
        pit = pit_of(homes)
        assert np.all(pit.area_m2[pit.level_m[:, 1:] <= 0] > 0)


def test_a_pump_that_is_told_to_fill_its_pit_is_refused() -> None:
    """A pit of 10 in by 10 in: 100 in2 x 10 in = 1,000 in3 = 4.33 gal."""
    sides = {"pit__length": "10 in", "pit__width": "10 in", "pit__pump_height": "10 in"}
    assert home(**sides, pit__pump_volume="4.3 gal")
    with pytest.raises(InputError, match=r"pit.pump_volume.* fills the pit; the pump leaves room"):
        home(**sides, pit__pump_volume="4.4 gal")
    # 1 gal in the lowest 4 in is 57.75 in2, of which 4 in of pump take 1 gal
    with pytest.raises(InputError, match="fills the pit"):
        pit_of_rows((0, 5), (8, 1), (12, 0), pit__pump_height="4 in", pit__pump_volume="1.01 gal")
    assert pit_of_rows((0, 5), (8, 1), (12, 0), pit__pump_height="4 in", pit__pump_volume="0.9 gal")
