"""What helps about equally: the error of a comparison, and an order that no seed decides."""

from __future__ import annotations

import math
from dataclasses import replace
from typing import Any

import numpy as np
import pytest

from riskkit.ensemble.picking import picked_evenly
from riskkit.ensemble.quantiles import outcome
from riskkit.failures.answer import YearlyChance
from riskkit.failures.circumstances import Circumstances
from riskkit.failures.money import RemedyCost
from riskkit.options.payback import CostBenefit
from riskkit.options.ranked import RankedRemedy, in_order
from riskkit.options.ranking import Ranking
from riskkit.options.ties import error_of_ratio, tie_groups
from riskkit.options.trials import Tried
from riskkit.quantities.units import UnitSystem
from riskkit.report.ranking_words import order_lines, tie_lines
from riskkit.risk.clock import Clock


def test_the_error_by_hand() -> None:
    """Of 0.1, 0.3, 0.2, 0.4 successive differences are 0.2, -0.1, 0.2: sqrt(0.09 / 24) = 0.0612.

    Held to 0.2, 0.4, 0.2, 0.2 the ratio is 1, what is left -0.1, -0.1, 0, 0.2: differences 0, 0.1,
    0.2, sqrt(0.05 / 24) = 0.0456.
    """
    values = np.array([0.1, 0.3, 0.2, 0.4])
    assert error_of_ratio(values, np.zeros(4)) == pytest.approx(0.06124, abs=1e-5)
    assert error_of_ratio(values, np.array([0.2, 0.4, 0.2, 0.2])) == pytest.approx(
        0.04564, abs=1e-5
    )


@pytest.mark.parametrize("slope", [0.0, 0.5, 2.0])
def test_the_error_is_the_scatter_of_picked_draws(slope: float) -> None:
    """Made-up homes by the thousand: 64 picked out of 256 again and again, as a ranking does.

    What two remedies differ by follows the first result as far as `slope` says, the second one, and
    chance. Beside the scatter of their mean stands what each sample tells of it; without regard to
    the strata it is up to more than twice as large.
    """
    rng = np.random.default_rng(3)
    means, errors = [], []
    for _ in range(400):
        first, second, other = rng.lognormal(size=(3, 256))
        apart = slope * first + 0.2 * second + other
        only = picked_evenly(first, second, 64)
        means.append(apart[only].mean() - slope * first.mean())  # what is known of all
        errors.append(error_of_ratio(apart[only], np.zeros(64)))
    told = math.sqrt(float(np.mean(np.square(errors))))
    assert told == pytest.approx(np.std(means, ddof=1), rel=0.2)


def test_groups_by_hand() -> None:
    """Means 0.10, 0.11 and 0.15: within 0.03 the first two are alike; within 0.045 the third is

    like the second, but not like the first, so it stands alone; within 0.06 all three are alike.
    """
    flat = [np.full(8, chance) for chance in (0.10, 0.11, 0.15)]
    today = np.full(8, 0.2)
    assert tie_groups(flat, today, 0.0) == (1, 2, 3)
    assert tie_groups(flat, today, 0.03) == (1, 1, 2)
    assert tie_groups(flat, today, 0.045) == (1, 1, 2)
    assert tie_groups(flat, today, 0.06) == (1, 1, 1)
    assert tie_groups([], today) == ()
    # of eight, one more in every other: 0.005 apart in the mean, and 0.01 * sqrt(7 / 112) in error
    wavy = flat[0] + np.tile([0.0, 0.01], 4)
    assert tie_groups([flat[0], wavy], today) == (1, 1 + (0.005 > 2 * 0.0025))
    assert tie_groups([flat[0], flat[0] + np.tile([0.0, 0.03, -0.01, 0.0], 2)], today) == (1, 1)


def tried(name: str, chance: np.ndarray[Any, Any], cost: float | None) -> RankedRemedy:
    def yearly(chances: np.ndarray[Any, Any]) -> YearlyChance:
        rates = -np.log1p(-chances)
        return YearlyChance("x", Circumstances(), rates, np.zeros(rates.size), (), (), (), 0.0)

    worth = None
    if cost is not None:
        worth = CostBenefit(RemedyCost(cost, 1.0, 0.0, is_invented=True), np.zeros(8), np.zeros(8))
    today = np.full(chance.size, 0.2)
    home: Any = None
    times = outcome(np.full(8, 1000.0))
    remedy = Tried(name, f"Do {name}.", f"Do {name}.", home, Circumstances())
    return RankedRemedy(remedy, times, times, yearly(today), yearly(chance), worth)


def test_what_is_alike_stands_by_cost_then_by_name_whatever_the_draws() -> None:
    """Four of one chance but for what draws bring, and one that is clearly better."""
    orders = set()
    for seed in range(8):
        rng = np.random.default_rng(seed)

        def about(chance: float) -> np.ndarray[Any, Any]:
            return chance + 0.01 * rng.standard_normal(64)  # noqa: B023 - called at once

        rows = [
            tried("dear", about(0.12), 900.0), tried("cheap", about(0.12), 100.0),
            tried("unpriced", about(0.12), None), tried("also cheap", about(0.12), 100.0),
            tried("best", about(0.05), 5000.0), tried("useless", np.full(64, 0.2), 0.0),
        ]  # fmt: skip
        found = in_order(rows)
        orders.add(tuple((row.remedy.name, row.tie_group) for row in found))
    assert orders == {(
        ("best", 1), ("also cheap", 2), ("cheap", 2), ("dear", 2), ("unpriced", 2), ("useless", 0),
    )}  # fmt: skip


def test_what_is_alike_is_said_and_told() -> None:
    rows = in_order([
        tried("gap", np.full(8, 0.121), 300.0), tried("my own", np.full(8, 0.12), None),
        tried("second_pump", np.full(8, 0.05), 1800.0),
    ])  # fmt: skip
    now = rows[0].chance_before
    found = Ranking(now, Clock.ALARM, tuple(rows), ())
    assert tie_lines(found, UnitSystem.US) == (
        "These two help about equally, so choose by price or convenience: gap filled; Do my own.",
    )
    frame = found.to_frame()
    assert frame["tie_group"].to_dict() == {"second_pump": 1, "gap": 2, "my own": 2}
    assert frame.loc["second_pump", "better_than_next"] == pytest.approx(0.071)
    assert frame.loc["gap", "better_than_next"] == pytest.approx(
        -0.001
    )  # cheaper, so it stands first
    assert math.isnan(frame.loc["my own", "better_than_next_se"])
    assert frame["saved_chance_se"].tolist() == pytest.approx([0.0] * 3, abs=1e-12)
    alone = replace(found, rows=tuple(rows[:2]))
    assert tie_lines(alone, UnitSystem.US) == order_lines(alone) == ()


def test_above_the_table_stands_what_the_order_rests_on() -> None:
    """The cheaper stands first, though it leaves a chance greater by a thousandth."""
    rows = in_order([
        tried("gap", np.full(8, 0.121), 300.0), tried("alarm", np.full(8, 0.12), 900.0),
    ])  # fmt: skip
    found = Ranking(rows[0].chance_before, Clock.ALARM, tuple(rows), ())
    (line,) = order_lines(found)
    assert "stand in order of their cost a year" in line
    assert [row.remedy.name for row in found.rows] == ["gap", "alarm"]
    assert found.ties != ()


def test_what_is_told_is_held_to_all_draws() -> None:
    """The picked say 0.2 and 0.12, all say 0.25 today: with it 0.25 * 0.12 / 0.2 = 0.15."""
    row = tried("gap", np.array([0.10, 0.14] * 4), 300.0)
    of_all = replace(row.chance_before, per_yr_by_draw=np.full(8, -math.log(0.75)))
    held = replace(row, of_all=of_all)
    assert (held.mean_before, held.mean_after) == pytest.approx((0.25, 0.15))
    # successive differences of 0.04, seven times over 2 * 8 * 7: 0.01; times 0.25 / 0.2
    assert row.saved_error == pytest.approx(0.01)
    assert held.saved_error == pytest.approx(0.0125)
    assert held.better_by(replace(held, chance_after=row.chance_before))[0] == pytest.approx(0.1)
    dry = replace(row, chance_before=replace(row.chance_before, per_yr_by_draw=np.zeros(8)))
    assert replace(dry, of_all=of_all).mean_before == 0.0  # nothing picked floods: nothing is told
