"""Remedies in the order of the water they keep off the floor."""

from __future__ import annotations

import io
import time
from dataclasses import replace
from pathlib import Path
from typing import Any

import numpy as np
import pytest
from failures.homes import storms
from failures.test_yearly import RAIN
from markupsafe import escape
from rich.console import Console

from riskkit.assessment import Settings, assess
from riskkit.ensemble.picking import picked_evenly
from riskkit.ensemble.quantiles import Outcome, outcome
from riskkit.errors import InputError
from riskkit.failures.answer import YearlyChance
from riskkit.failures.basis import storm_at
from riskkit.failures.circumstances import Circumstances
from riskkit.failures.storms import home_storms
from riskkit.failures.yearly import chance, yearly_and_floods
from riskkit.home.backup import RunsOn, backup_of
from riskkit.home.home import Home, load_home
from riskkit.options import ranked as ranked_rows
from riskkit.options import ranking
from riskkit.options.alarm_height import alarm_depth_m, trip_chance
from riskkit.options.changes import Change, remedy
from riskkit.options.ranking import RankedRemedy, Ranking, Tried, rank_for, rank_remedies
from riskkit.options.trials import all_tried
from riskkit.quantities.units import UnitSystem
from riskkit.report.chance_view import print_ranking
from riskkit.report.ranking_words import (
    gained_time,
    no_better_lines,
    no_better_rows,
    no_help_line,
    ranking_head,
    ranking_rows,
)
from riskkit.risk.clock import Clock, MainTime
from riskkit.risk.design_rain import rain_of
from riskkit.storm.patterns import Pattern
from riskkit.threads import at_once


@pytest.fixture(scope="module")
def clay() -> Home:
    return load_home(Path(__file__).parents[2] / "demo_sites" / "split_level_on_clay.toml")


def printed(found: Ranking) -> str:
    console = Console(file=io.StringIO(), width=400)
    print_ranking(found, console, UnitSystem.US)
    return console.file.getvalue()  # type: ignore[attr-defined]  # the text that it was made with


@pytest.fixture(scope="module")
def ranked(clay: Home) -> Ranking:
    return rank_remedies(clay, RAIN)


def test_what_the_order_rests_on_is_said_above_the_table(ranked: Ranking) -> None:
    assert ranked.ties
    said = printed(ranked)
    assert 0 < said.index("stand in order of their cost a year") < said.index("What helps here")
    assert said.index("help about equally, so choose") > said.index("What to do")


def with_checks(home: Home, **checks: str) -> Home:
    return home.changed(visit=[{"date": "2026-04-14", "checks": checks}])


def test_before_and_after_are_the_chances_of_the_homes(clay: Home, ranked: Ranking) -> None:
    place = rain_of(clay, RAIN, 1)
    every = home_storms(clay, place, 256, 1)  # of which those that are tried are picked
    rate = every.rate_per_yr - np.append(every.rate_per_yr[1:], 0.0)
    wet = np.where(every.overtopped + every.at_joint, 1.0, 0.1 * (every.stop_to_floor_s < np.inf))
    of_10_years = every.stop_to_floor_s[storm_at(every, 10.0)]
    only = picked_evenly((rate[:, None] * wet).sum(axis=0), of_10_years, 64)

    def by_hand_of(home: Home) -> YearlyChance:
        storms = home_storms(home, place, 256, 1, only=only)
        return yearly_and_floods(home, Circumstances(), storms, 1)[0]

    assert ranked.now == chance(clay, RAIN)  # one figure for today, wherever it is told
    row = next(row for row in ranked.rows if row.remedy.name == "downspouts")
    before, after = by_hand_of(clay), by_hand_of(remedy("downspouts").applied(clay))
    assert np.array_equal(row.chance_before.per_yr_by_draw, before.per_yr_by_draw)
    assert np.array_equal(row.chance_after.per_yr_by_draw, after.per_yr_by_draw)
    # the picked are held to all: with it, as much less of today's figure as of theirs
    now = ranked.now
    assert row.mean_before == pytest.approx(now.mean)
    assert row.mean_after == pytest.approx(now.mean * after.mean / before.mean)
    assert row.floods_before_per_yr == pytest.approx(now.floods_per_yr)
    left = now.floods_per_yr * after.floods_per_yr / before.floods_per_yr
    assert row.saved_per_yr == pytest.approx(now.floods_per_yr - left)
    assert row.cost_benefit is not None
    flood = ranked.costs.prices.of("flood")  # only one a year is charged
    assert row.cost_benefit.mean_saved == pytest.approx(flood * row.saved_chance)


def test_the_share_that_stays_dry_is_that_of_all_draws(clay: Home, ranked: Ranking) -> None:
    every = home_storms(clay, rain_of(clay, RAIN, 1), 256, 1)
    dry = np.mean(np.isinf(every.stop_to_floor_s[storm_at(every, 10.0)]))
    row = next(row for row in ranked.rows if row.remedy.name == "downspouts")
    assert row.dry_before == pytest.approx(dry)
    frame = ranked.to_frame()
    assert set(frame["never_before"]) == {row.dry_before}
    assert frame.loc["downspouts", "never_after"] == row.dry_after
    # by hand: of 64 that were picked 60 get wet and 33 with it; of all, 0.93 get wet
    picked = replace(
        row, wet_of_all=0.93, before_s=replace(row.before_s, never_share=4 / 64),
        after_s=replace(row.after_s, never_share=31 / 64),
    )  # fmt: skip
    assert picked.dry_before == pytest.approx(0.07)
    assert picked.dry_after == pytest.approx(1 - 0.93 * 33 / 60)  # 0.4885
    assert gained_time(picked) == "stays dry in 5 of 10 variants instead of 7 of 100"
    assert gained_time(picked, owner=True) == "stays dry in 5 of 10 cases instead of 7 of 100"
    worse = replace(picked, after_s=replace(row.after_s, never_share=0.0))
    assert worse.dry_after == pytest.approx(1 - 0.93 * 64 / 60) and not worse.helps_time
    # a limit of one, where more of the picked get wet than all could
    worst = replace(worse, wet_of_all=0.99)
    assert worst.dry_after == 0.0
    # none of the picked gets wet: nothing is known of what helps
    none = replace(picked, before_s=replace(row.before_s, never_share=1.0))
    assert none.dry_before == 1.0
    assert replace(picked, wet_of_all=None).dry_before == 4 / 64


def test_a_ranking_for_an_answer_tells_its_share_that_stays_dry(clay: Home) -> None:
    """Two figures for today on one sheet are one too many."""
    answer = assess(clay, RAIN, Settings(n_draws=128))
    dry = answer.storm(10).worst_stop.to_floor_s.never_share
    assert 0.02 < dry < 0.2
    (row, *_) = rank_for(answer).rows
    assert row.dry_before == pytest.approx(dry)
    left = with_checks(clay, pump_started="no")
    dead = assess(left, RAIN, Settings(n_draws=128))
    assert dead.main_time is MainTime.DEAD
    before = dead.storm(10).dead_before
    half = replace(before, rain_to_floor_s=replace(before.rain_to_floor_s, never_share=0.5))
    storm = replace(dead.storm(10), dead_before=half)
    assert ranking.dry_share_now(replace(dead, storms=(storm,))) == 0.5
    # without a storm of ten years, or with a second pump that alone the ranking counts
    assert ranking.dry_share_now(replace(answer, storms=answer.storms[:2])) is None
    backed = assess(clay.changed(second_pump__runs_on="battery"), RAIN, Settings(n_draws=16))
    assert ranking.dry_share_now(backed) is None
    with pytest.raises(InputError, match=r"dry_now: .*such as 0\.07"):
        rank_remedies(clay, RAIN, dry_now=7.0)


def test_the_best_comes_first_and_what_does_not_help_last(ranked: Ranking) -> None:
    helps = [row.helps for row in ranked.rows]
    assert helps == sorted(helps, reverse=True)
    groups = [row.tie_group for row in ranked.rows if row.helps]
    assert groups == sorted(groups) and groups[0] == 1
    assert {row.tie_group for row in ranked.rows if not row.helps} == {0}
    first = [row.remedy.name for row in ranked.rows[:2]]
    assert first == ["ground", "second_pump"]  # alike, and filling and sloping costs less a year
    assert ranked.rows[0].tie_group == ranked.rows[1].tie_group
    assert repr(ranked).startswith("Ranking('Split-level on clay, Alder Bend', mean 0.")
    assert len(repr(ranked)) < 200
    frame = ranked.to_frame()
    assert frame.index.tolist() == [row.remedy.name for row in ranked.rows]
    assert "tied_downspouts" in ranked.left_out  # the file says 0 of 6
    assert "alarm" in ranked.left_out  # there is one, and nobody found it out of order
    assert "pump" not in frame.index  # told as a new one


def test_a_notebook_shows_a_row_for_each_remedy(ranked: Ranking) -> None:
    shown = ranked._repr_html_()
    rows = ranking_rows(ranked, UnitSystem.US)
    assert rows and all(str(escape(row[0])) in shown for row in rows)


def test_what_service_changes_leaves_the_minutes_alone(ranked: Ranking) -> None:
    rows = {row.remedy.name: row for row in ranked.rows}
    for name in ("owner_test", "yearly_visit", "remote_alarm"):
        assert rows[name].before_s == rows[name].after_s
        assert rows[name].saved_per_yr > 0
        assert not rows[name].helps_time


def test_mending_what_was_left_is_worth_most_at_a_broken_home(clay: Home) -> None:
    broken = with_checks(clay, float_free="no", alarm_sounded="no")
    found = rank_remedies(broken, RAIN, changes=[remedy("outlet")], n_draws=32)
    assert found.rows[0].remedy.name == "mend"
    assert found.clock is Clock.STOP
    names = {row.remedy.name for row in found.rows}
    assert "alarm" in names
    # nobody says that coming oftener does not help before what is broken is mended
    assert {"yearly_visit", "owner_test"} <= set(found.left_out)
    whole = rank_remedies(
        with_checks(clay, float_free="yes"), RAIN, changes=[remedy("outlet")], n_draws=32
    )
    assert "mend" in whole.left_out
    assert found.rows[0].chance_after.floods_per_yr == pytest.approx(
        whole.rows[0].chance_before.floods_per_yr, rel=0.05
    )


def test_a_home_without_alarm_or_pump(clay: Home) -> None:
    silent = clay.changed(switch__alarm="none")
    found = rank_remedies(silent, RAIN, changes=[remedy("outlet")], n_draws=32)
    rows = {row.remedy.name: row for row in found.rows}
    assert rows["alarm"].helps_chance
    assert rows["remote_alarm"].saved_per_yr > rows["alarm"].saved_per_yr
    bare = clay.changed(pump__rated_flow="none")
    without = rank_remedies(bare, RAIN, changes=[remedy("downspouts")], n_draws=32)
    assert without.clock in (Clock.RAIN, Clock.ALARM)
    named = [row.remedy.name for row in without.rows]
    assert named[0] == "first_pump"
    assert without.rows[0].chance_after.floods_per_yr < without.now.floods_per_yr / 2
    assert set(named) == {"first_pump", "downspouts"}


def test_what_is_in_place_is_not_tried(clay: Home) -> None:
    told = Circumstances(
        pump_age_yr=0.0, owner_test_every_yr=0.25, visit_every_yr=1.0, remote_alarm=True
    )
    backed = clay.changed(
        second_pump__runs_on="battery", battery__age="0 yr", generator__starts="automatic",
        switch__alarm="11 in",
    )  # fmt: skip
    found = rank_remedies(backed, RAIN, told, changes=[], n_draws=32)
    # more flow and a greater battery can always be put in
    assert {row.remedy.name for row in found.rows} == {"bigger_pump", "bigger_battery"}
    assert "10-year storm, without power" in ranking_head(found)
    nothing = replace(found, rows=())
    assert nothing.to_frame().empty
    assert no_help_line(nothing, UnitSystem.US) == "There is nothing left to try."


def row(before: list[float], after: list[float], was: float, now: float) -> RankedRemedy:
    def yearly(floods: float) -> YearlyChance:
        rates = np.full(4, floods)
        return YearlyChance("x", Circumstances(), rates, np.zeros(4), (), (), (), 0.0)

    def times(each: list[float]) -> Outcome:
        return outcome(np.array(each))

    home: Any = None
    tried = Tried("x", "Do it.", "", home, Circumstances())
    return RankedRemedy(tried, times(before), times(after), yearly(was), yearly(now))


NEVER = float("inf")


@pytest.mark.parametrize(
    ("before", "after", "was", "now", "time", "chances"),
    [
        # 1000 s to 1200 s in the middle: 200 s and a fifth longer
        ([1000.0] * 4, [1200.0] * 4, 0.1, 0.1, True, False),
        ([1000.0] * 4, [1100.0] * 4, 0.1, 0.1, False, False),  # 100 s are not worth saying
        ([10000.0] * 4, [10200.0] * 4, 0.1, 0.1, False, False),  # 200 s of three hours neither
        ([1000.0] * 4, [1000.0] * 3 + [NEVER], 0.1, 0.1, True, False),  # a quarter stays dry
        ([1000.0, NEVER] * 2, [2000.0] * 4, 0.1, 0.1, False, False),  # and some no longer do
        ([1000.0] * 4, [1000.0] * 4, 0.1, 0.094, False, True),  # 9.5 to 9.0 %: 6 of 100
        ([1000.0] * 4, [1000.0] * 4, 0.1, 0.096, False, False),  # 4 of 100
        ([1000.0] * 4, [1000.0] * 4, 0.0004, 0.0, False, False),  # floods that never come
        ([NEVER] * 4, [NEVER] * 4, 0.1, 0.2, False, False),
    ],
)
def test_what_is_worth_saying(
    before: list[float], after: list[float], was: float, now: float, time: bool, chances: bool
) -> None:
    found = row(before, after, was, now)
    assert (found.helps_time, found.helps_chance) == (time, chances)
    assert found.helps is (time or chances)


def test_a_bigger_pump_that_does_no_more_than_a_new_one_does_not_help(ranked: Ranking) -> None:
    """The pump of this home keeps up with every storm: more flow changes none of them."""
    rows = {row.remedy.name: row for row in ranked.rows}
    bigger, new = rows["bigger_pump"], rows["new_pump"]
    assert bigger.chance_after.mean == new.chance_after.mean
    assert bigger.no_better_than == "new_pump" and not bigger.helps
    alike = "No better than a new pump of the same size: a new pump that moves half as much again."
    said = no_help_line(ranked, UnitSystem.US)
    assert said.endswith(alike) and bigger.remedy.words_us not in said
    alone = replace(ranked, rows=(new, bigger))
    assert new.helps and no_help_line(alone, UnitSystem.US) == alike
    assert alike in printed(ranked)
    # a lesser remedy that does not help is no praise: then both are said not to
    useless = replace(new, chance_after=new.chance_before, after_s=new.before_s)
    said = no_help_line(replace(ranked, rows=(useless, bigger)), UnitSystem.US)
    both = f"{new.remedy.words_us} {bigger.remedy.words_us}"
    assert said == f"Does not help here: {both}"
    assert rows["ground"].no_better_than == ""  # sloped, it does more than the gap filled alone


def test_a_bigger_pump_lifts_half_as_much_again(clay: Home) -> None:
    told = clay.changed(pump__rated_flow="20 gpm", pump__capacity="80 %")
    curve = Home().changed(pump__curve=[["0 gpm", "20 ft"], ["40 gpm", "10 ft"]])
    for home, flow in ((told, None), (curve, 60.0)):
        tried, _ = all_tried(home, Circumstances(), [])
        bigger = next(each for each in tried if each.name == "bigger_pump").home
        assert bigger.quantity("pump.capacity").value == 1.0  # type: ignore[union-attr]  # told
        if flow is None:
            assert bigger.quantity("pump.rated_flow").text == "0.00189271 m3/s"  # type: ignore[union-attr]  # 30 gpm of 6.30902e-5 m3/s
        else:
            assert bigger.pairs("pump.curve")[1][0] == pytest.approx(flow * 6.30902e-5)  # type: ignore[index]  # it has one


def test_a_battery_of_twice_its_plate(clay: Home) -> None:
    backed = clay.changed(second_pump__runs_on="battery", battery__capacity="75 Ah")
    tried, left = all_tried(backed, Circumstances(), [])
    home = next(each for each in tried if each.name == "bigger_battery").home
    assert home.quantity("battery.capacity").value == 150.0  # type: ignore[union-attr]  # told
    assert "second_pump" in left
    assert "bigger_battery" in all_tried(clay, Circumstances(), [])[1]
    # "none" is an answer, and a second pump can be put in
    without = clay.changed(second_pump__rated_flow="none")
    assert backup_of(without).runs_on is None
    tried, _ = all_tried(without, Circumstances(), [])
    put_in = next(each for each in tried if each.name == "second_pump").home
    assert backup_of(put_in).runs_on is RunsOn.BATTERY
    with pytest.raises(InputError, match="there is no second pump"):
        clay.changed(second_pump__rated_flow="none", second_pump__runs_on="mains")


def test_a_second_pump_that_failed_gains_no_time_but_by_mending(clay: Home) -> None:
    """Without power the second pump runs on its battery, where it runs at all."""
    works = clay.changed(second_pump__runs_on="battery", battery__age="1 yr")
    broken = with_checks(works, second_pump_runs="no")
    found = rank_remedies(broken, RAIN, changes=[], n_draws=32)
    rows = {row.remedy.name: row for row in found.rows}
    alone = rank_remedies(clay, RAIN, changes=[], n_draws=32).rows[0].before_s
    in_order = rank_remedies(works, RAIN, changes=[], n_draws=32).rows[0].before_s
    assert rows["mend"].before_s == alone != in_order
    assert rows["mend"].after_s == in_order
    assert rows["bigger_battery"].after_s == alone and not rows["bigger_battery"].helps


def test_only_what_helps_is_said_to_help(ranked: Ranking) -> None:
    rows = ranking_rows(ranked, UnitSystem.US)
    said = [cells[0] for cells in rows]
    assert said == [row.remedy.words_us for row in ranked.rows if row.helps]
    assert "10-year storm, the pump stopping" in ranking_head(ranked)
    last = no_help_line(ranked, UnitSystem.METRIC)
    alike = {row.remedy.name for row in no_better_rows(ranked)}
    assert alike == {"bigger_pump"}
    for each in ranked.rows:
        assert (each.remedy.words_metric in last) is not (each.helps or each.remedy.name in alike)


def test_what_holds_a_lesser_remedy_can_be_named(ranked: Ranking) -> None:
    new = next(row for row in ranked.rows if row.remedy.name == "new_pump")
    for name, lesser in ranked_rows._LESSER.items():
        rows = [
            replace(new, remedy=replace(new.remedy, name=lesser)),
            replace(new, remedy=replace(new.remedy, name=name), no_better_than=lesser),
        ]
        (said,) = no_better_lines(replace(ranked, rows=tuple(rows)))
        assert said.startswith("No better than ")


def test_a_change_of_ones_own_is_ranked_too(clay: Home) -> None:
    wider = Change("wider pit", {"pit.diameter": "24 in"})
    found = rank_remedies(clay, RAIN, changes=[wider], n_draws=16)
    assert "wider pit" in {row.remedy.name for row in found.rows}


# ---- the height of the alarm --------------------------------------------------------------------


def test_the_deepest_alarm_that_normal_running_leaves_alone(clay: Home) -> None:
    """The storm of a year brings the water to 15 cm below the floor, the rare one to 5 cm.

    An alarm at 20 cm trips in 1 - exp(-1) = 0.632 of the years, one at 10 cm in 1 - exp(-0.1) =
    0.0952. The pump starts at 13 in, so half inches go up from 11 in; the first above 15 cm is
    5.5 in (14.0 cm), at 0.0952 below 1 year in 5.
    """
    home = replace(storms(), highest_m=np.array([[-0.15], [-0.05]]))
    assert trip_chance(home, 0.20)[0] == pytest.approx(0.63212, abs=1e-5)
    assert trip_chance(home, 0.10)[0] == pytest.approx(0.09516, abs=1e-5)
    assert trip_chance(home, 0.04)[0] == 0.0
    assert alarm_depth_m(clay, home) == pytest.approx(5.5 * 0.0254)
    low = replace(storms(), highest_m=np.array([[-0.3], [-0.3]]))
    assert alarm_depth_m(clay, low) == pytest.approx(11 * 0.0254)  # two inches above the start
    wet = replace(storms(), highest_m=np.array([[0.1], [0.2]]))
    assert alarm_depth_m(clay, wet) is None
    assert alarm_depth_m(clay.changed(pump__rated_flow="none"), low) is None


def test_a_deeper_alarm_warns_longer(clay: Home, ranked: Ranking) -> None:
    row = next(row for row in ranked.rows if row.remedy.name == "alarm_height")
    deep = row.remedy.home.quantity("switch.alarm")
    old = clay.quantity("switch.alarm")
    assert deep is not None
    assert old is not None
    assert deep.value > old.value + 0.05
    assert row.gained_s > 0
    assert row.saved_chance >= 0
    assert "1 year of 5" in row.remedy.words(UnitSystem.US)
    assert "cm below the floor" in row.remedy.words(UnitSystem.METRIC)
    unknown = rank_remedies(clay.changed(switch__alarm="unknown"), RAIN, changes=[], n_draws=16)
    assert "alarm_height" not in unknown.to_frame().index  # nobody knows where it is now


def test_the_shape_of_the_storms_is_that_of_the_answer(clay: Home) -> None:
    """A ranking under even rain starts from the chance that is told under it, and tries in it."""
    even, place = Pattern.UNIFORM, rain_of(clay, RAIN, 1)
    found = rank_remedies(clay, RAIN, changes=[], n_draws=16, pattern=even)
    assert found.now == chance(clay, RAIN, n_draws=64, pattern=even)
    assert found.now != chance(clay, RAIN, n_draws=64)
    every = home_storms(clay, place, 64, 1, pattern=even)
    only = ranking._standing_for_all(every, 16)
    row = next(row for row in found.rows if row.remedy.name == "second_pump")
    for home, told in ((clay, row.chance_before), (row.remedy.home, row.chance_after)):
        storms = home_storms(home, place, 64, 1, only=only, pattern=even)
        by_hand = yearly_and_floods(home, Circumstances(), storms, 1)[0]
        assert np.array_equal(told.per_yr_by_draw, by_hand.per_yr_by_draw)


def test_work_at_once_keeps_its_order_and_ends_with_whoever_asked() -> None:
    begun: list[int] = []

    def slowly(number: int) -> int:
        begun.append(number)
        time.sleep(0.02 if number % 2 else 0.0)
        return number

    assert list(at_once(slowly, range(6), 16)) == list(range(6))
    begun.clear()
    for number in at_once(slowly, range(1000), 16):
        if number == 1:
            break
    so_far = len(begun)
    assert so_far < 100
    time.sleep(0.05)
    assert len(begun) == so_far
