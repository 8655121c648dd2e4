"""What floods and remedies cost, worked by hand, and sets of remedies."""

from __future__ import annotations

import json
import math
import re
from dataclasses import replace
from pathlib import Path
from typing import Any

import numpy as np
import pytest
from failures.homes import HOUR, faults, storms
from failures.test_yearly import RAIN

from riskkit.cli.main import main
from riskkit.errors import InputError
from riskkit.failures.circumstances import Circumstances
from riskkit.failures.money import Costs, RemedyCost, costs_of, loss_per_yr
from riskkit.failures.prices import Prices
from riskkit.failures.service import interval
from riskkit.failures.yearly import floods_of
from riskkit.home.home import Home, load_home
from riskkit.options.payback import CostBenefit, payback_of
from riskkit.options.ranking import Ranking, rank_remedies
from riskkit.options.sets import set_cost
from riskkit.quantities.units import UnitSystem
from riskkit.reliability.loss import LossFamily
from riskkit.report.ranking_words import budget_lines, money_lines, ranking_rows
from riskkit.tables import load_table

CLAY = Path(__file__).parents[2] / "demo_sites" / "split_level_on_clay.toml"


@pytest.fixture(scope="module")
def clay() -> Home:
    return load_home(CLAY)


# ---- losses by hand -----------------------------------------------------------------------------


def wet(depth_m: list[float] | None = None, **rows: Any) -> Any:
    made = storms(overtopped=[1.0, 1.0], **rows)
    return made if depth_m is None else replace(made, depth_m=np.array(depth_m)[:, None])


def test_a_flood_of_ones_own_figure() -> None:
    """Every storm of the two floods: one a year; 1 - exp(-1) = 0.63212 of 8000 a year."""
    home = wet()
    floods = floods_of(home, faults(outage_factor=0.0))
    assert floods.total_per_yr[0] == pytest.approx(1.0)
    costs = Costs(Prices(flood=8000.0))
    assert loss_per_yr(home, floods, costs)[0] == pytest.approx(5056.96, abs=0.01)


def test_a_flood_by_depth_of_a_share_of_the_house() -> None:
    """0.3 m: 0.69 + 0.79 = 1.48 % of 200 000 = 2960; 1.0 m: 3.2 + 4.3 = 7.5 %: 15 000.

    Over storms of 1 to 0.1 a year the loss goes straight in ln n: the share of the commoner end is
    0.67682 (see the home worked by hand), so 0.9 (0.67682 x 2960 + 0.32318 x 15000) = 6166.0; rarer
    ones 0.1 x 15000: 7666.0 a year for one flood a year, of which 0.63212 counts: 4845.8.
    """
    home = wet([0.3, 1.0])
    floods = floods_of(home, faults(outage_factor=0.0))
    costs = Costs(family=LossFamily.EGM_04_01, structure_value=200_000.0)
    assert loss_per_yr(home, floods, costs)[0] == pytest.approx(4845.8, abs=0.5)
    with pytest.raises(InputError, match="depth that was not looked for"):
        loss_per_yr(wet(), floods, costs)


def test_a_flood_by_depth_of_a_finished_basement() -> None:
    """0.1 m: middle of 207 to 242 and of 163 to 400: 224.5 + 281.5 = 506 CAD/m2, 50 m2: 25 300."""
    home = wet([0.1, 0.1])
    costs = Costs(Prices(1.0, 1.0, 1.0, 0.0, "CAD"), family=LossFamily.ALBERTA, finished_m2=50.0)
    floods = floods_of(home, faults(outage_factor=0.0))
    wanted = 25_300 * (1 - math.exp(-1))
    assert loss_per_yr(home, floods, costs)[0] == pytest.approx(wanted)
    # less than the table holds counts as its least depth
    assert loss_per_yr(wet([0.0, 0.02]), floods, costs)[0] == pytest.approx(wanted)


def test_dry_weather_costs_too() -> None:
    home = wet(dry_to_floor_s=5 * HOUR, dry_to_alarm_s=4 * HOUR)
    floods = floods_of(home, faults(per_yr={"switch_stuck": 0.5}, outage_factor=0.0))
    # storms 1 a year and 0.5 x 0.82 in dry weather: 1 - exp(-1.41) = 0.75586
    assert loss_per_yr(home, floods, Costs(Prices(flood=1000.0)))[0] == pytest.approx(
        755.86, abs=0.01
    )


def test_the_limits_of_a_payback_hold_its_figure() -> None:
    """Eight variants save 0 or 400 a year by turns: 200 in the mean.

    Successive differences of 400, seven times over 2 * 8 * 7, make a standard error of 100. So 600
    come back in 3 years, in 1.5 by 400 a year, and by 0 never. In half of the variants they do.
    """
    cost = RemedyCost(600.0, 9.0, 0.0, is_invented=False)
    after = np.tile([1000.0, 600.0], 4)
    found = CostBenefit(cost, np.full(8, 1000.0), after)
    assert found.mean_payback_yr == pytest.approx(3.0)
    assert found.mean_payback_limits_yr == pytest.approx((1.5, math.inf))
    assert found.pays_back_share == 0.5
    # 200 is as much as two standard errors: whether it gains anything is not known
    assert found.saved_error == pytest.approx(200.0)
    assert found.is_within_error
    surer = CostBenefit(cost, np.full(8, 1000.0), np.repeat([1000.0, 600.0], 4))
    # one difference of 400 in seven: sqrt(160,000 / 112) = 37.8
    early, late = surer.mean_payback_limits_yr
    assert (early, late) == pytest.approx((600 / 275.6, 600 / 124.4), rel=1e-3)
    assert not surer.is_within_error  # 200 against 2 x 37.8
    # 150 a year for the same 200, within the error; 50 a year is clear of it
    fee = replace(surer, cost=RemedyCost(0.0, 9.0, 150.0, is_invented=False))
    assert fee.is_within_error
    assert not replace(fee, cost=RemedyCost(0.0, 9.0, 50.0, is_invented=False)).is_within_error
    none = replace(fee, loss_after=fee.loss_before)  # what saves nothing at all fails
    assert not none.is_within_error
    # rare floods: the mean lies outside of eight in ten variants, never outside of its own limits
    rare = CostBenefit(cost, np.full(32, 1000.0), np.append(np.full(31, 1000.0), -6000.0))
    assert math.isinf(rare.payback_yr.low) and rare.mean_payback_yr == pytest.approx(600 / 218.75)
    assert rare.mean_payback_limits_yr[0] < rare.mean_payback_yr < rare.mean_payback_limits_yr[1]
    assert rare.pays_back_share == 1 / 32


def test_cost_of_a_year_and_payback() -> None:
    """1800 for 8 years and 60 a year: 285 a year. Saving 510: 1800 / 450 = 4 years.

    Saving 260: 9 years, longer than it lasts; saving 50: the upkeep takes all.
    """
    cost = RemedyCost(1800.0, 8.0, 60.0, is_invented=True)
    assert cost.per_yr == pytest.approx(285.0)
    years = payback_of(cost, np.array([510.0, 260.0, 50.0, -10.0]))
    assert years == pytest.approx([4.0, math.inf, math.inf, math.inf])
    worth = CostBenefit(cost, np.array([600.0, 600.0]), np.array([90.0, 340.0]))
    assert worth.mean_saved == pytest.approx(385.0)
    assert worth.pays
    both = set_cost([cost, RemedyCost(200.0, 10.0, 0.0, is_invented=False)])
    assert both is not None
    assert (both.once, both.upkeep_per_yr, both.is_invented) == (2000.0, 60.0, True)
    assert both.per_yr == pytest.approx(285.0 + 20.0)
    assert set_cost([cost, None]) is None


# ---- what the home file and the user tell -------------------------------------------------------


def test_every_remedy_has_a_cost_and_words_and_no_cost_is_of_none() -> None:
    """Without a row in remedy_costs.csv a remedy would be called by its key, and cost nothing."""
    keys = {
        row["key"] for name in ("remedies", "service_remedies") for row in load_table(name).rows
    }
    of_trials = {"alarm_height"}  # riskkit/options/alarm_height.py: its height is worked out
    costs = {row["key"]: row for row in load_table("remedy_costs").rows}
    assert set(costs) == keys | of_trials
    assert all(row["words"] != key for key, row in costs.items())


def test_own_figures_go_before_invented_ones(clay: Home) -> None:
    home = clay.changed(costs={"flood": "12,000", "second_pump": 1500, "price_year": 2026})
    costs = costs_of(home)
    assert (costs.prices.flood, costs.price_year, costs.currency) == (12000.0, 2026, "USD")
    own, invented = (costs.of_remedy(key, 1.0) for key in ("second_pump", "ground"))
    assert own is not None
    assert invented is not None
    assert (own.once, own.is_invented) == (1500.0, False)
    assert invented.is_invented
    assert costs.of_remedy("a change of one's own", 1.0) is None
    # a visit every year instead of every four: three quarters of a visit more
    visits = costs_of(clay, Prices(visit=100.0)).of_remedy("yearly_visit", 4.0)
    assert visits is not None
    assert (visits.upkeep_per_yr, visits.is_invented) == (75.0, False)
    told = costs_of(home, Prices(flood=500.0))
    assert told.prices.flood == 500.0
    francs = costs_of(home, Prices(1.0, 2.0, 3.0, 4.0, "CHF"))  # nothing of the file beside them
    assert (francs.currency, dict(francs.own), francs.price_year) == ("CHF", {}, None)
    assert francs.of_remedy("ground", 1.0) is None


@pytest.mark.parametrize(
    ("told", "words"),
    [
        ({"flood": "12 apples"}, "no amount of money"),
        ({"flood": -1}, "no amount of money"),
        ({"flood": True}, "no amount of money"),
        ({"flood": "nan"}, "no amount of money"),
        ({"flood": 1e30}, "costs.flood: 1e\\+30 is more than 1,000,000,000"),
        ({"structure_value": "1,000,000,001"}, "is more than 1,000,000,000; write a number"),
        ({"currency": "dollars"}, "not a currency code"),
        ({"price_year": "2026"}, "no year of prices"),
        ({"loss": "guess"}, "is not a choice"),
        ({"loss": "egm0401"}, "give costs.structure_value"),
        ({"loss": "alberta2015", "finished_area": "50 m2"}, "Canadian dollars of 2014, not USD"),
        ({"loss": "egm0401", "structure_value": 1, "flood": 2}, "a published family besides"),
        ({"currency": "CAD", "flood": 2}, "no invented figure for visit, repair, failure in CAD"),
    ],
)
def test_what_cannot_be_is_refused_in_one_sentence(
    clay: Home, told: dict[str, object], words: str
) -> None:
    with pytest.raises(InputError, match=words):
        costs_of(clay.changed(costs=told))


# ---- sets ---------------------------------------------------------------------------------------


@pytest.fixture(scope="module")
def ranked(clay: Home) -> Ranking:
    return rank_remedies(clay, RAIN, n_draws=32, pairs=True, budget=2600.0)


def test_two_remedies_never_do_worse_than_the_better_one(ranked: Ranking) -> None:
    """Under common draws: within the error of the draws, a hundredth of the chance as it is."""
    alone = {row.remedy.name: row.chance_after.mean for row in ranked.rows}
    assert len(ranked.pairs) >= 6
    for pair in ranked.pairs:
        better = min(alone[name] for name in pair.names)
        assert pair.mean_chance <= better + 0.01 * ranked.now.mean, pair.names
    assert ranked.pairs[0].mean_chance == min(pair.mean_chance for pair in ranked.pairs)


def test_the_best_set_keeps_within_its_budget(clay: Home, ranked: Ranking) -> None:
    best = ranked.best
    assert best is not None
    assert best.cost_benefit is not None
    assert best.cost_benefit.cost.once <= 2600
    fits = [
        pair for pair in ranked.pairs if pair.cost_benefit and pair.cost_benefit.cost.once <= 2600
    ]
    assert fits
    assert best.mean_chance <= min(pair.mean_chance for pair in fits) * 1.03
    none = rank_remedies(clay, RAIN, n_draws=32, changes=[], budget=0.0)
    assert none.best is not None  # the owner's test costs nothing at once, nor do visits
    assert set(none.best.names) <= {"owner_test", "yearly_visit"}
    said = " ".join(budget_lines(ranked))
    assert said.startswith("For 2,600 USD at once, the best set is: ")
    assert " *" in said


def test_what_is_said_of_money(clay: Home, ranked: Ranking) -> None:
    rows = ranking_rows(ranked, UnitSystem.US)
    assert all(len(cells) == 5 for cells in rows)
    assert any("USD *" in cells[3] for cells in rows)
    yearly = [cells[4] for cells in rows if "USD a year" in cells[4]]
    assert yearly
    for cell in yearly:
        amount = r"about \S+ USD a year"
        assert re.fullmatch(
            f"(yes, saves {amount} more than it costs|no, costs {amount} more than it saves"
            "|undecided: its saving is within its error)"
            r"; in [a-z ]*\d+ %",
            cell,
        )
    # what is left of the loss that it saves, once its price of a year is paid
    helping = [row for row in ranked.rows if row.helps]
    for row, cell in ((row, cells[4]) for row, cells in zip(helping, rows, strict=True)):
        if cell not in yearly:
            continue
        assert row.cost_benefit is not None
        left = row.cost_benefit.mean_saved - row.cost_benefit.cost.per_yr
        neither = abs(left) <= row.cost_benefit.saved_error
        assert cell.startswith("neither") == neither
        if neither:
            continue
        told = float(re.findall(r"\d[\d.,]*", cell)[0].replace(",", "").rstrip("."))
        assert told == pytest.approx(abs(left), rel=0.05, abs=0.5)
        assert cell.startswith("yes" if left > 0 else "no")
    said = " ".join(money_lines(ranked))
    assert "10,000 USD, an invented figure" in said
    by_depth = clay.changed(costs={"loss": "egm0401", "structure_value": "250,000"})
    found = rank_remedies(by_depth, RAIN, n_draws=16, changes=[])
    assert found.costs.family is LossFamily.EGM_04_01
    assert "value 250,000 USD" in " ".join(money_lines(found))
    worth = found.rows[0].cost_benefit
    assert worth is not None
    # shallow water costs some thousandths of the value, times the chance of a year
    assert 0 < worth.loss_before.mean() < 0.08 * 250_000 * found.now.mean
    frame = found.to_frame()
    assert frame.loc["second_pump", "cost_per_yr"] == pytest.approx(285.0)
    assert frame["payback_yr"].notna().all()


def test_a_home_where_visits_pay_and_one_where_they_do_not(clay: Home) -> None:
    """At 150 a visit and 10 000 a flood they pay on clay; at 20 a flood nothing does."""
    pays = interval(clay, RAIN, n_draws=32)
    assert math.isfinite(pays.cheapest.every_yr)
    saved = pays.cheapest.saves_against(pays.compared_with)
    assert saved.low <= saved.median <= saved.high
    mean = pays.compared_with.cost_per_yr - pays.cheapest.cost_per_yr
    assert mean > 0
    rows = {row.every_yr: row for row in pays.rows}
    assert rows[1.0].cost_per_yr < rows[math.inf].cost_per_yr
    cheap = interval(clay, RAIN, None, Prices(150.0, 250.0, 450.0, 20.0), n_draws=32)
    assert math.isinf(cheap.cheapest.every_yr)
    visited = interval(clay, RAIN, Circumstances(visit_every_yr=1.0), n_draws=32)
    assert visited.compared_with.every_yr == 1.0


IN_PLACE = Circumstances(pump_age_yr=0.0, visit_every_yr=1.0, owner_test_every_yr=0.25,
                         remote_alarm=True)  # fmt: skip


def test_a_dry_home_where_no_work_outside_helps_and_visits_do_not_pay() -> None:
    """Sand, no gap, all water led away: what is left is the pump's, and seldom."""
    sand = load_home(CLAY.with_name("bungalow_on_sand.toml")).changed(
        ground={"gap": "none", "slope": "away", "water_table_depth": "20 ft, measured"},
        roof={"at_wall": "0 of 6", "to_drain": "0 of 6", "gutters": "clean"},
        pipe={"outlet": "near"},
    )
    found = rank_remedies(sand, RAIN, n_draws=32)
    assert found.now.mean < 0.015
    outside = {"downspouts", "tied_downspouts", "gutters", "ground", "outlet"}
    assert outside & {row.remedy.name for row in found.rows} == {"outlet"}
    assert not outside & {row.remedy.name for row in found.rows if row.helps}
    dear = {row.remedy.name for row in found.rows if row.cost_benefit and row.cost_benefit.pays}
    assert not dear & {"second_pump", "generator", "yearly_visit", "new_pump"}
    # a year with a visit costs more than one without any; on clay it is the other way round
    rows = {row.every_yr: row for row in interval(sand, RAIN, n_draws=32).rows}
    assert rows[1.0].cost_per_yr > rows[math.inf].cost_per_yr


def test_a_home_that_only_grading_helps(clay: Home) -> None:
    """All is in place but the fall of the ground: no gap, a wide pit, a clean drain, two pumps.

    A bigger pump is tried, for one can always be put in; it does not help.
    """
    home = clay.changed(
        roof={"at_wall": "0 of 6", "gutters": "clean"}, pipe={"outlet": "piped away"},
        pit={"diameter": "24 in, measured"}, drain={"open_share": "95 %, measured"},
        second_pump={"runs_on": "mains water"}, generator={"starts": "automatic"},
        mains_water={"flow": "10 gpm, measured"},
        ground={"gap": "none", "slope": "towards"}, switch={"alarm": "11 in"},
    )  # fmt: skip
    found = rank_remedies(home, RAIN, IN_PLACE, n_draws=128)
    assert [row.remedy.name for row in found.rows if row.helps_chance] == ["ground"]
    assert found.rows[0].saved_chance > 0.5 * found.now.mean


def test_the_command_tells_sets_and_money(
    tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    told = ["remedies", str(CLAY), "--draws", "16", "--budget", "500", "--json"]
    assert main([*told, "--flood-price", "3000"]) == 0
    found = json.loads(capsys.readouterr().out)
    assert found["costs"]["flood"] == 3000
    assert found["costs"]["invented"] == ["visit", "repair", "failure"]
    assert found["best_set"]["money"]["cost_once"] <= 500
    assert found["pairs"] == []
    row = next(row for row in found["remedies"] if row["remedy"] == "second_pump")
    assert row["money"]["is_invented"] is True
    assert main(["remedies", str(CLAY), "--draws", "16", "--budget", "-1"]) == 2
    assert "Traceback" not in capsys.readouterr().err
