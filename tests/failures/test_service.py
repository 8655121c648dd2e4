"""Intervals between visits: the delay-time model joined to a home."""

from __future__ import annotations

import math
import re
from dataclasses import replace
from pathlib import Path

import numpy as np
import pytest
from failures.homes import NEVER, storms
from markupsafe import escape

from riskkit.ensemble.quantiles import Points
from riskkit.errors import InputError, RangeError
from riskkit.failures.answer import YearlyChance
from riskkit.failures.circumstances import Circumstances, reliability_inputs
from riskkit.failures.home_faults import home_faults
from riskkit.failures.money import Costs
from riskkit.failures.prices import Prices
from riskkit.failures.service import IntervalRow, Intervals, VisitVerdict, intervals_of
from riskkit.failures.storms import HomeStorms
from riskkit.home.home import Home, load_home
from riskkit.report.chance_words import cause_rows, chance_sentence
from riskkit.report.interval_words import interval_lines

NO_REACH = [NEVER, NEVER]


@pytest.fixture
def clay(demo_sites: Path) -> Home:
    return load_home(demo_sites / "split_level_on_clay.toml")


def compared(home: Home, of: HomeStorms, prices: Prices | None = None, **more: object) -> Intervals:
    return intervals_of(home, of, Circumstances(**more), Costs(prices or Prices()))  # type: ignore[arg-type]  # by name


def test_defects_become_failures_as_the_delay_time_model_says(clay: Home) -> None:
    """Visits that find all, exponential delay: of the defects of a switch (delay 0.7 years) 1 -
    (0.7/T)(1 - exp(-T/0.7)) fail; every year 0.4678, every four years 0.8256, without visits all.

    By hand: exp(-1/0.7) = 0.23965, 1 - 0.7 x 0.76035 = 0.46776; exp(-4/0.7) = 0.0032979, 1 - 0.175
    x 0.99670 = 0.82558. Middle of 0.03 defects a year: one draw stands in the middle.
    """
    known = reliability_inputs(clay, Circumstances())
    for every, share in ((1.0, 0.46776), (4.0, 0.82558), (math.inf, 1.0)):
        found = home_faults(
            replace(known, visit_every_yr=every), Circumstances(finds=1.0), storms(), 1
        )
        assert found.defects_per_yr["switch_stuck"][0] == pytest.approx(0.03)
        assert found.per_yr["switch_stuck"][0] == pytest.approx(0.03 * share, rel=1e-4)
        # a pump that fails without notice shows no defect that a visit could find
        assert found.per_yr["pump_sudden"][0] == pytest.approx(0.02)


def test_what_arises_is_found_or_shown(clay: Home) -> None:
    """Of all defects, each is found by a test or shown by use: nothing is lost, nothing twice."""
    home = storms(overtopped=[0.0, 0.0])
    found = compared(clay, home)
    known = reliability_inputs(clay, Circumstances())
    faults = home_faults(known, Circumstances(), home, 1)
    arises = sum(
        rate[0] for key, rate in faults.defects_per_yr.items()
        if key in faults.hidden
    )  # fmt: skip
    for row in found.rows[:-1]:
        # hidden faults wait a while, in which the part does not fail again
        assert row.found_per_yr + row.shown_per_yr == pytest.approx(arises, rel=0.15)
        assert row.found_per_yr + row.shown_per_yr <= arises + 1e-12
    assert found.rows[-1].found_per_yr == pytest.approx(0.0, abs=1e-12)


def test_more_visits_never_mean_more_water(clay: Home) -> None:
    found = compared(clay, storms(overtopped=[0.0, 0.0]))
    for rows in (found.rows, found.with_owner):
        assert [row.every_yr for row in rows] == [0.5, 1, 2, 3, 4, math.inf]
        assert np.all(np.diff([row.floods_per_yr for row in rows]) > 0)
        assert np.all(np.diff([row.met_per_yr for row in rows]) > 0)
    for alone, both in zip(found.rows, found.with_owner, strict=True):
        assert both.floods_per_yr <= alone.floods_per_yr
    assert found.verdict is VisitVerdict.HELPS


def test_a_home_that_visits_do_not_help_is_told_so(clay: Home) -> None:
    overtops = storms(overtopped=[1.0, 1.0])
    assert compared(clay, overtops).verdict is VisitVerdict.HELPS_LITTLE
    deep = storms(overtopped=[0.0, 0.0], dead_to_floor_s=NO_REACH, dead_warning_s=NO_REACH)
    found = compared(clay, deep)
    assert found.verdict is VisitVerdict.HELPS_LITTLE
    assert found.cheapest.every_yr == math.inf  # nobody comes for nothing
    none = storms(has_pump=False)
    assert compared(clay.changed(pump__rated_flow="none"), none).verdict is VisitVerdict.NO_PUMP


def test_costs_are_visits_repairs_and_floods(clay: Home) -> None:
    home = storms()
    prices = Prices(100.0, 200.0, 300.0, 5000.0, "CAD")
    for row in compared(clay, home, prices).rows:
        visits = 0.0 if math.isinf(row.every_yr) else 100 / row.every_yr
        repairs = 200 * row.found_per_yr + 300 * row.shown_per_yr
        assert row.cost_per_yr == pytest.approx(visits + repairs + 5000 * row.mean_chance)
    assert prices.invented == ()
    assert Prices(visit=120.0).invented == ("repair", "failure", "flood")
    free = compared(clay, home, Prices(0.0, 0.0, 0.0, 5000.0))
    assert free.cheapest.every_yr == 0.5
    dear = compared(clay, home, Prices(1e6, 0.0, 0.0, 1.0))
    assert dear.cheapest.every_yr == math.inf


def test_what_the_owner_can_do_for_less_is_told(clay: Home) -> None:
    """Visits too dear to come, repairs for nothing: only the water counts, 5,000 each time."""
    found = compared(clay, storms(), Prices(1e6, 0.0, 0.0, 5000.0))
    alone, tested = found.rows[-1].mean_chance, found.with_owner[-1].mean_chance
    less = float(f"{5000 * (alone - tested):.2g}")
    assert less > 0
    assert found.best is found.with_owner[-1] and found.cheapest is found.rows[-1]
    said = interval_lines(found)
    assert (
        "With these prices, a year costs least if the owner pours water in every three months and "
        f"nobody comes: {less:g} USD a year less than never in the mean" in said[2]
    )
    assert (
        f"Without the test by the owner it costs least without visits: {less:g} USD a year more."
        in said
    )


def row(every: float, owner: bool, chance: float, cost: float) -> IntervalRow:
    points = Points(chance, chance, chance)
    return IntervalRow(every, owner, points, chance, chance, 0.0, 0.0, 0.0, np.array([cost]))


def of_rows(now: IntervalRow | None, alone: list[float], tested: list[float]) -> Intervals:
    """Visits every year, every four years and never; a cost of 1,000 for each 0.1 of chance."""
    every, nobody = (1.0, 4.0, math.inf), Circumstances()
    rows = [
        tuple(
            row(each, owner, chance, 1e4 * chance) for each, chance in zip(every, of, strict=True)
        )
        for owner, of in ((False, alone), (True, tested))
    ]
    yearly = YearlyChance("x", nobody, np.array([0.1]), np.zeros(1), (), (), (), 0.0)
    return Intervals("x", yearly, None, rows[0], rows[1], Costs(), VisitVerdict.HELPS, now)


def test_the_owners_test_is_held_against_visits() -> None:
    """0.100 alone every year; with the test 0.080, 0.101 (within a fiftieth of 0.100) and 0.15."""
    found = of_rows(None, [0.1, 0.14, 0.2], [0.08, 0.101, 0.15])
    assert (found.best.every_yr, found.best.owner_tests) == (1.0, True)
    said = interval_lines(found)
    assert (
        "With that test and visits every 4 years, no more water comes than with visits alone every "
        "year." in said
    )
    assert any("if somebody comes every year and the owner pours water in" in line for line in said)


def test_an_owners_test_that_saves_nothing_is_said_so() -> None:
    """A hundredth less is not worth saying: visits alone stand as what costs least."""
    found = of_rows(None, [0.1, 0.14, 0.2], [0.099, 0.14, 0.2])
    assert not found.best.owner_tests and found.as_good_with_owner is None
    said = interval_lines(found)
    assert "The test by the owner, every three months, saves next to nothing besides." in said


def test_what_the_owner_does_already_counts_as_it_is_now() -> None:
    now = row(1.0, True, 0.08, 800.0)
    found = of_rows(now, [0.1, 0.14, 0.2], [0.08, 0.101, 0.15])
    assert (
        "and the owner pours water in every three months, as it is now." in interval_lines(found)[2]
    )


def test_a_spread_that_holds_more_and_less_says_which_is_which(clay: Home) -> None:
    """Where the least saved is below nothing, that is money more, not a sum with a sign."""
    found = compared(clay, storms(overtopped=[0.0, 0.0]))
    saved = found.best.saves_against(found.compared_with)
    said = next(line for line in interval_lines(found) if "a year less than" in line)
    spread = re.search(r"\(8 in 10 variants: from ([\d.]+) (more|less) to ([\d.]+) less\)", said)
    assert spread is not None, said
    assert spread[2] == ("more" if saved.low < 0 else "less")
    assert float(spread[1]) == pytest.approx(abs(saved.low), rel=0.05)
    assert float(spread[3]) == pytest.approx(saved.high, rel=0.05)


def test_tests_of_the_owner_that_are_told_are_part_of_today(clay: Home) -> None:
    tested = compared(clay, storms(), owner_test_every_yr=0.25, visit_every_yr=1.0)
    assert tested.as_now is not None
    assert tested.as_now.mean_chance == tested.with_owner[1].mean_chance
    assert tested.as_now.mean_chance < tested.rows[1].mean_chance


def test_the_frame_holds_both_ways(clay: Home) -> None:
    found = compared(clay, storms())
    assert repr(found).startswith(
        "Intervals('Split-level on clay, Alder Bend', helps; mean chance by"
    )
    frame = found.to_frame()
    assert frame.shape[0] == 12
    assert frame.loc[(1.0, True), "floods_per_yr"] <= frame.loc[(1.0, False), "floods_per_yr"]


@pytest.mark.parametrize(
    "wrong", [{"visit": -1.0}, {"flood": math.inf}, {"currency": "dollar"}, {"currency": "CAD"}]
)
def test_prices_that_cannot_be_are_refused(wrong: dict[str, object]) -> None:
    with pytest.raises(InputError):
        Prices(**wrong)  # type: ignore[arg-type]  # by name


def test_intervals_that_cannot_be_are_refused(clay: Home) -> None:
    for wrong in ([], [0.0], [1.0, -2.0]):
        with pytest.raises(RangeError, match="intervals"):
            intervals_of(clay, storms(), Circumstances(), Costs(), wrong)


def test_what_was_left_broken_is_mended_before_visits_are_compared(clay: Home) -> None:
    """A stuck float floods in every storm, however often somebody comes and leaves it."""
    broken = clay.changed(visit=[{"date": "2026-04-14", "checks": {"float_free": "no"}}])
    home = storms(overtopped=[0.0, 0.0])
    found = compared(broken, home)
    assert found.mend_first == ("alarm_silent", "switch_stuck")
    assert found.now.floods_per_yr > 2 * found.rows[-1].floods_per_yr
    assert found.verdict is VisitVerdict.HELPS
    assert interval_lines(found)[0].startswith(
        "Mend first what is out of order. It counts as certain: The alarm"
    )
    whole = compared(clay, home)
    assert whole.mend_first == ()
    # the same home mended, but for the alarm that both have
    assert found.rows == whole.rows


def test_a_notebook_shows_chance_and_intervals_with_their_tables(clay: Home) -> None:
    """Each is shown by the sentence that stands for it and by a row for each that it holds."""
    found = compared(clay, storms(overtopped=[0.0, 0.0]))
    shown = found._repr_html_()
    assert str(escape(interval_lines(found)[0])) in shown
    assert shown.count("<tr") >= len(found.rows) + len(found.with_owner)
    chance = found.now._repr_html_()
    assert str(escape(chance_sentence(found.now))) in chance and "<svg" in chance
    assert chance.count("<tr") > len(cause_rows(found.now)) > 0
