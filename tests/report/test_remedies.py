"""Remedies are tried, and only what helps is said to help."""

from __future__ import annotations

import math
from dataclasses import fields, replace
from pathlib import Path

import numpy as np
import pytest
from points import of_512
from storms import GROUPS, storm_with

from riskkit.assessment import (
    Assessment,
    Settings,
    StormAnswer,
    assess,
    design_rain,
    storms_with,
)
from riskkit.ensemble.quantiles import Outcome, Points
from riskkit.errors import InputError
from riskkit.home.home import Home, load_home
from riskkit.options.changes import Change, remedy
from riskkit.options.remedies import Gain, Remedy, _order, try_remedies
from riskkit.report.number_words import percent_words
from riskkit.report.remedy_words import gain_words
from riskkit.risk.storm_water import StormWater


def by_key(remedies: tuple[Remedy, ...]) -> dict[str, Remedy]:
    return {remedy.change.name: remedy for remedy in remedies}


def test_downspouts_at_the_wall_help_and_longest_comes_first(
    remedies: tuple[Remedy, ...],
) -> None:
    found = by_key(remedies)
    assert found["ground"].helps and found["downspouts"].helps
    first = remedies[0].after[0].worst_stop.to_floor_s.median
    assert all(first >= r.after[0].worst_stop.to_floor_s.median for r in remedies if r.helps)
    assert [r.helps for r in remedies] == sorted((r.helps for r in remedies), reverse=True)


def test_what_is_in_place_is_not_tried(remedies: tuple[Remedy, ...]) -> None:
    found = by_key(remedies)
    assert "check_valve" not in found  # the file says it works
    assert "tied_downspouts" not in found  # the file says 0 of 6


def test_before_is_the_answer_itself(answer: Assessment, remedies: tuple[Remedy, ...]) -> None:
    for each in remedies:
        assert each.before[0] is answer.headline_storm


def test_the_figures_said_are_those_of_the_home_changed_by_hand(
    answer: Assessment, remedies: tuple[Remedy, ...]
) -> None:
    home = answer.home.changed(roof__at_wall="0 %")
    settings = answer.settings
    two = (settings.headline_yr, settings.return_periods_yr[-1])  # as remedies look at them
    again = assess(home, answer.rain, replace(settings, return_periods_yr=two)).headline_storm
    found = by_key(remedies)["downspouts"].after[0]
    assert found.worst_stop.to_floor_s.median == pytest.approx(again.worst_stop.to_floor_s.median)
    assert found.worst_stop.to_floor_s.never_share == again.worst_stop.to_floor_s.never_share


def test_a_number_in_the_file_does_not_hide_the_remedy(demo_sites: Path) -> None:
    home = load_home(demo_sites / "split_level_on_clay.toml").changed(ground__gap_share="12 %")
    answer = assess(home, design_rain(home, demo_sites).used, Settings(n_draws=64))
    ground = by_key(try_remedies(answer))["ground"]
    assert ground.is_known
    assert (
        ground.after[0].pump_working.peak_inflow_m3_s.median
        < ground.before[0].pump_working.peak_inflow_m3_s.median
    )


def storm(answer: Assessment, **changes: object) -> StormAnswer:
    return storm_with(answer.headline_storm, **changes)


def tried(before: StormAnswer, after: StormAnswer) -> Remedy:
    return Remedy(Change("x", {"roof.at_wall": "0 %"}), True, (before, before), (after, after))


@pytest.mark.parametrize(
    ("before_s", "after_s", "says"),
    [
        (1800.0, 1850.0, ""),
        (1800.0, 1790.0, ""),
        (60.0, 120.0, ""),  # twice as long, and still no time to do anything
        (1800.0, 3600.0, "30 minutes now, about 30 minutes more with it"),
        (720.0, 846.0, "10 minutes now, about 2 minutes more with it"),
        (1800.0, 100_000.0, "30 minutes now, more than a day with it"),
        (100_000.0, 200_000.0, ""),  # both more than a day
    ],
)
def test_what_is_worth_saying_of_time(
    answer: Assessment, before_s: float, after_s: float, says: str
) -> None:
    steady = of_512(5.0, 5.0, 5.0)
    before = storm(answer, to_floor_s=reached(0.8, before_s), starts_per_hour=steady)
    after = storm(answer, to_floor_s=reached(0.8, after_s), starts_per_hour=steady)
    found = tried(before, after)
    assert found.helps == bool(says)
    assert says in " ".join(gain_words(found))


def reached(share: float, median_s: float) -> Outcome:
    middle = median_s if share > 0.5 else math.inf
    return of_512(10, middle, math.inf, 1 - share, Points(10, median_s, 2 * median_s))


def test_minutes_are_not_gained_by_slow_forms_that_newly_flood(answer: Assessment) -> None:
    steady = of_512(5.0, 5.0, 5.0)
    few, many = (
        storm(answer, to_floor_s=reached(*known), starts_per_hour=steady)
        for known in ((0.4, 1200.0), (0.8, 3600.0))
    )
    assert not tried(few, many).helps  # more often wet, though the middle of those is later
    # and the other way round only the chance is told
    said = " ".join(gain_words(tried(many, few)))
    assert "from 2 in 10 to 6 in 10" in said and "to floor" not in said
    never = storm_with(few, to_floor_s=of_512(math.inf, math.inf, math.inf, 1.0))
    assert "from 6 in 10 to more than 99 in 100" in " ".join(gain_words(tried(few, never)))


def test_what_is_worth_saying_of_chances_and_starts(answer: Assessment) -> None:
    never = of_512(600, math.inf, math.inf, 0.6, Points(600, 900, 1200))
    starts = of_512(9.0, 10.0, 12.0)
    before = storm(answer, to_floor_s=never, floor_dry_share=0.5, starts_per_hour=starts)
    same = tried(before, before)
    assert not same.helps
    after = storm(
        answer,
        to_floor_s=replace(never, never_share=0.8),
        floor_dry_share=0.9,
        starts_per_hour=of_512(4.0, 5.0, 6.0),
    )
    said = " ".join(gain_words(tried(before, after)))
    assert "from 6 in 10 to 8 in 10" in said
    assert "from 5 in 10 to 9 in 10" in said
    assert "starts 5 times an hour at most, not 10" in said
    assert "with the pump stopped goes" in said
    # a sheet of per cent tells it so, and of a home with two pumps both stand still
    two = answer.home.changed(second_pump__runs_on="battery")
    precise = " ".join(gain_words(tried(before, after), two, percent_words))
    assert "with both pumps stopped goes from 60 % to 80 %" in precise
    assert "from 50 % to 90 %" in precise


def test_time_and_starts_are_those_of_the_first_sentence_overflow_of_the_greatest_storm(
    answer: Assessment,
) -> None:
    small = storm(answer, floor_dry_share=1.0, starts_per_hour=of_512(5.0, 5.0, 5.0))
    great = storm_with(small, floor_dry_share=0.4, starts_per_hour=of_512(9.0, 9.0, 9.0))
    safer = storm_with(great, floor_dry_share=0.8)
    change = Change("x", {"roof.at_wall": "0 %"})
    assert Remedy(change, True, (small, great), (small, safer)).gains == (Gain.OVERFLOW,)
    rarer = storm_with(great, starts_per_hour=of_512(5.0, 5.0, 5.0))
    assert Remedy(change, True, (small, great), (small, rarer)).gains == ()


def test_what_keeps_half_the_variants_dry_goes_first_then_time_then_chance(
    answer: Assessment,
) -> None:
    now, late, dry, drier = (
        storm(answer, to_floor_s=reached(*known))
        for known in ((0.8, 1800.0), (0.8, 9000.0), (0.4, 1800.0), (0.3, 1800.0))
    )
    gains = [_order(tried(*pair)) for pair in ((now, dry), (now, late), (dry, drier))]
    # by hand: 'never' is longer than any time; 9000 s less 1800 s; 7 in 10 less 6 in 10
    assert gains[0] > 1e6 and gains[1:] == pytest.approx([7200.0, 0.1])


def test_an_unknown_remedy_is_refused_and_the_known_are_named() -> None:
    with pytest.raises(InputError, match="there is no remedy 'prayer'") as error:
        remedy("prayer").applied(Home())
    assert "downspouts" in error.value.right


def test_a_remedy_of_two_changes_makes_both_and_its_word_goes_before_a_number(
    demo_sites: Path,
) -> None:
    """The two rows of ``ground`` in ``tables/remedies.csv``."""
    home = load_home(demo_sites / "split_level_on_clay.toml").changed(ground__gap_share="12 %")
    after = remedy("ground").applied(home)
    assert (after.choice("ground.gap"), after.choice("ground.slope")) == ("none", "away")
    assert after.quantity("ground.gap_share") is None


@pytest.mark.parametrize("key", ["gap", "larger_pit", "drain_cleaned"])
def test_the_storms_with_a_change_are_those_that_the_whole_answer_has(
    answer: Assessment, key: str
) -> None:
    changed = remedy(key).applied(answer.home)
    whole = assess(changed, answer.place_rain, answer.settings).storms
    not_asked = {"to_rim_s", "to_joint_s", "joint_first_share", "depth_after_m", "to_alarm_s"}
    known = StormWater()
    storms_with(answer, answer.home, known)  # of which the water is taken where it is the same
    for one, other in zip(whole, storms_with(answer, changed, known), strict=True):
        for name in ("return_period_yr", "duration_h", "depth_mm", "row", *GROUPS):
            mine, yours = getattr(one, name), getattr(other, name)
            if name == "worst_stop":
                asked = [item.name for item in fields(mine) if item.name not in not_asked]
                assert asked == ["to_floor_s", "to_floor_by_draw_s"]
                mine, yours = ([getattr(each, n) for n in asked] for each in (mine, yours))
                np.testing.assert_array_equal(mine.pop(), yours.pop())
            assert mine == yours, name
        assert math.isnan(other.typical_to_floor_s.median)
