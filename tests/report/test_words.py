"""Numbers as people say them, and no more digits than they are worth."""

from __future__ import annotations

import dataclasses
import datetime
import html
import io
import math
import re
from functools import partial
from itertools import pairwise
from pathlib import Path

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from hypothesis.extra.numpy import arrays
from points import of_512
from rich.console import Console
from storms import with_headline

from riskkit.antecedent.levels import read_levels
from riskkit.assessment import Assessment, Settings, assess, design_rain
from riskkit.ensemble.draws import assumptions
from riskkit.ensemble.quantiles import FloorDepth, Outcome, Points, floor_depth, outcome
from riskkit.gauge.log import read_log
from riskkit.home.home import Home, load_home
from riskkit.quantities.units import UnitSystem
from riskkit.quantities.variables import significant, variable
from riskkit.rainfall.doubts import quality_words
from riskkit.rainfall.quality import check_record
from riskkit.rainfall.quality_rows import Check, Limits, QualityRow, Verdict
from riskkit.rainfall.readers.official import read_rain_table
from riskkit.rainfall.readers.record import read_rain
from riskkit.rainfall.readers.temperature import read_temperature
from riskkit.report.handout import owner_sheet
from riskkit.report.json import assessment_form
from riskkit.report.number_words import about_depth, rain_words, use_words
from riskkit.report.origin_words import taken_words
from riskkit.report.page import assessment_page
from riskkit.report.path_words import reach_words
from riskkit.report.picture_words import time_words
from riskkit.report.sheet import Grid
from riskkit.report.storm_rows import depth_table, stopped_table, storm_rain
from riskkit.report.terminal import print_assessment
from riskkit.report.time_words import chance_and_time, minutes_words
from riskkit.report.words import sentence
from riskkit.widgets.views import answer_blocks

NEVER = float("inf")
US, METRIC = UnitSystem.US, UnitSystem.METRIC


@pytest.fixture(scope="module")
def clay(demo_sites: Path) -> Assessment:
    path = demo_sites / "split_level_on_clay.toml"
    home = load_home(path)
    return assess(home, design_rain(home, path.parent).used, Settings(n_draws=32))


def reached(low: float, middle: float = NEVER, high: float = NEVER) -> Outcome:
    """The 10, 50 and 90 % points of all draws, with about as many of never as they allow."""
    never = sum((math.isinf(high), 4 * math.isinf(middle), 4 * math.isinf(low))) / 10
    return of_512(low, middle, high, never, None if math.isinf(low) else Points(9e9, 9e9, 9e9))


NONE = of_512(NEVER, NEVER, NEVER, 1.0)


@pytest.mark.parametrize(
    ("time", "words", "cell"),
    [
        (reached(20, 60, 180), "chance more than 99 in 100; within 1 minute in 1 of 10 cases, 2 "
         "minutes in half", "<2 min (<1–3 min)"),
        (reached(40, 60, 80), "chance more than 99 in 100; within 2 minutes in half of the cases",
         "<2 min"),
        (reached(600, 9000), "chance about 9 in 10; within about 10 minutes in 1 of 10 cases, "
         "about 2.5 hours in half", "2.5 h (10 min to never)"),
        (reached(600), "chance about 5 in 10; within about 10 minutes in 1 of 10 cases, never in "
         "half", "never (from 10 min)"),
        (reached(32400, 2e5, 7.6e7), "chance more than 99 in 100; within about 9 hours in 1 of 10 "
         "cases, more than a day in half", "> 1 d (9 h to > 1 d)"),
        (reached(2e5, 3e5, 7.6e7), "chance more than 99 in 100; more than a day in half of the "
         "cases", "> 1 d"),
        (of_512(NEVER, NEVER, NEVER, 0.98, Points(60, 60, 60)), "chance about 2 in 100", "never"),
        (NONE, "chance less than 1 in 100", "never"),
    ],
)  # fmt: skip
def test_very_short_and_very_long_times(time: Outcome, words: str, cell: str) -> None:
    assert chance_and_time(time) == words
    assert minutes_words(time) == cell


@pytest.mark.parametrize(
    ("time", "words"),
    [
        (reached(20, 60, 180), "more than 99 in 100 that water reaches the floor: within 1 minute "
         "after the alarm in 1 of 10 cases, 2 minutes in half."),
        (reached(1200, 2050), "about 9 in 10 that water reaches the floor: within about 20 minutes "
         "after the alarm in 1 of 10 cases, about 35 minutes in half."),
        (reached(1200), "about 5 in 10 that water reaches the floor: within about 20 minutes after "
         "the alarm in 1 of 10 cases, never in half."),
        (reached(2e5, 3e5, 4e5), "more than 99 in 100 that water reaches the floor: more than a "
         "day after the alarm in half of the cases."),
        (NONE, "less than 1 in 100 that water reaches the floor."),
    ],
)  # fmt: skip
def test_times_in_the_sentence(clay: Assessment, time: Outcome, words: str) -> None:
    said = sentence(with_headline(clay, to_floor_s=time, joint_first_share=0.0))
    assert f"at the worst moment, the chance is {words} In dry weather" in said


def test_no_more_is_said_where_water_is_unlikely(clay: Assessment) -> None:
    """Fewer than 1 of 10: the chance says all, and no time of a few draws stands beside it."""
    few = of_512(NEVER, NEVER, NEVER, 0.95, Points(60.0, 60.0, 60.0))
    said = sentence(dataclasses.replace(clay, dry_s=few))
    assert said.endswith("In dry weather the chance is about 5 in 100.")


draws = arrays(np.float64, (3, 40), elements=st.floats(1.0, 1e6) | st.just(NEVER))
depths = arrays(np.float64, (3, 40), elements=st.floats(0.001, 3.0) | st.just(0.0))


@given(draws)
@settings(max_examples=100, deadline=None)
def test_what_is_said_of_a_time_never_gets_better_with_a_greater_storm(times: np.ndarray) -> None:
    """Each draw counts with its worst storm so far, as the answer has it."""
    found = [outcome(row) for row in np.minimum.accumulate(times, axis=0)]
    for one, other in pairwise(found):
        assert (one.low, one.median, one.high) >= (other.low, other.median, other.high)
        for point in ("low", "median", "high"):
            assert getattr(one, point) >= getattr(other, point)
        assert one.never_share >= other.never_share
    for one in found:  # and nothing is said that hangs on the wet draws alone
        odd = dataclasses.replace(one, if_ever=Points(1.0, 2.0, 3.0))
        assert minutes_words(odd) == minutes_words(one)
        assert chance_and_time(odd) == chance_and_time(one)


@given(depths)
@settings(max_examples=100, deadline=None)
def test_depths_never_fall_with_a_greater_storm(depth_m: np.ndarray) -> None:
    found = [floor_depth(row) for row in np.maximum.accumulate(depth_m, axis=0)]
    for one, other in pairwise(found):
        assert one.share <= other.share and one.of_all.high <= other.of_all.high
        assert one.of_all.median <= other.of_all.median


def test_the_tables_of_an_answer_never_get_better_with_greater_storms(clay: Assessment) -> None:
    for one, other in pairwise(clay.storms):
        times = [
            (
                storm.typical_to_floor_s,
                stop.to_floor_s,
                stop.to_rim_s,
                stop.to_joint_s,
                stop.to_alarm_s,
            )
            for storm in (one, other)
            for stop in (storm.worst_stop,)
        ]
        for name, (first, second) in enumerate(zip(*times, strict=True)):
            assert first.low >= second.low and first.median >= second.median, name
            assert first.never_share >= second.never_share, name
        for hour, depth in one.worst_stop.depth_after_m.items():
            assert depth.of_all.high <= other.worst_stop.depth_after_m[hour].of_all.high


def test_sentence_tells_of_dry_weather(clay: Assessment) -> None:
    wet = dataclasses.replace(clay, dry_s=reached(16000, 28800, 50000))
    assert sentence(wet).endswith(
        " In dry weather the chance is more than 99 in 100: within about 4.5 hours after the alarm "
        "in 1 of 10 cases, about 8 hours in half."
    )


def test_sentence_says_that_ground_water_stands_above_the_floor(clay: Assessment) -> None:
    rows = tuple(
        dataclasses.replace(row, p50=-0.2) if row.key == "ground.water_table_depth" else row
        for row in clay.assumptions
    )
    risen = dataclasses.replace(clay, assumptions=rows, dry_s=reached(16000, 28800, 50000))
    assert sentence(risen).endswith(
        " The ground water stands above the floor: in dry weather too, if the pump stops, the "
        "chance is more than 99 in 100 that it comes up onto the floor: within about 4.5 hours "
        "after the alarm in 1 of 10 cases, about 8 hours in half."
    )
    assert "stands above the floor" not in sentence(clay)


def test_the_minutes_of_one_road_are_not_told_as_those_of_the_other(clay: Assessment) -> None:
    """A closed drain: at the joint at once, over the rim after hours."""
    both = {"to_floor_s": reached(0.0, 0.0, 5.0), "to_rim_s": reached(3600.0, 7200.0)}
    said = sentence(with_headline(clay, **both, joint_first_share=0.6))
    assert (
        "the chance is more than 99 in 100 that water reaches the floor: in 6 of 10 cases first "
        "where wall and floor meet, which the alarm may not tell; over the rim of the pit in "
        "9 of 10, within about 60 minutes after the alarm in 1 of 10 cases, about 2 hours "
        "in half." in said
    )
    assert "1 minute" not in said


def test_sentence_tells_of_a_pump_that_cannot_keep_up(clay: Assessment) -> None:
    storm = clay.headline_storm
    lifted = storm.pump_working.peak_inflow_m3_s.median / storm.pump_working.peak_use.median
    for factor, beyond in ((0.8, False), (1.2, True)):
        flow = of_512(0.5 * factor * lifted, factor * lifted, 2 * factor * lifted)
        said = sentence(dataclasses.replace(clay, dry_inflow_m3_s=flow))
        assert said.startswith("The pump does not keep up even with the ground water") == beyond
    none = with_headline(clay, peak_use=of_512(NEVER, NEVER, NEVER, 1.0))
    assert sentence(none).startswith("The pump, as taken here, cannot lift water up to its outlet;")


def test_use_of_a_pump_that_lifts_nothing() -> None:
    assert use_words(of_512(0.14, 1.07, 448338551.32)) == "107 % (14 % to more than it lifts)"
    assert use_words(of_512(0.4, 3.5, NEVER)) == "more than it lifts (from 40 %)"
    assert use_words(of_512(0.4, NEVER, NEVER, 0.7)) == "cannot lift (from 40 %)"
    assert use_words(of_512(NEVER, NEVER, NEVER, 1.0)) == "cannot lift"


def test_no_more_digits_than_the_spread_allows() -> None:
    wells, elbows = variable("ground.well_area"), variable("pipe.elbows")
    assert wells.spread_text(0.05, 0.3, 2.0, US) == ("3.2 ft2", "0.54 to 22 ft2")
    assert elbows.spread_text(2.18, 3.0, 3.82, US) == ("3", "2 to 4")
    wall = variable("house.perimeter")  # measured, so that two digits would hide the spread
    assert wall.spread_text(41.4, 42.06, 42.75, US) == ("138 ft", "136 to 140 ft")
    assert wall.spread_text(42.06, 42.06, 42.06, US) == ("138 ft", "138 ft")
    assert rain_words(179.8, US) == "7.1 in" and rain_words(1.0, METRIC) == "1.0 mm"
    assert [about_depth(d, US) for d in (0.0, 0.001, 0.0356, 0.245)] == [
        "none", "<0.1 in", "1 in", "10 in",
    ]  # fmt: skip
    assert [significant(v, 2) for v in (0, 0.0996, 99.6, -8.2)] == ["0", "0.1", "100", "-8.2"]


def test_depths_are_told_of_all_variants_beside_how_often_there_is_any(clay: Assessment) -> None:
    depth = partial(FloorDepth, n_draws=512)
    depths = {
        1.0: depth(0.0, None, Points(0.0, 0.0, 0.0)),
        3.0: depth(0.004, Points(0.0004, 0.0008, 0.002), Points(0.0, 0.0, 0.0)),
        6.0: depth(0.52, Points(0.001, 0.005, 0.0102), Points(0.0, 0.001, 0.0102)),
        12.0: depth(1.0, Points(0.01, 0.0508, 0.052), Points(0.01, 0.0508, 0.052)),
    }
    deep = with_headline(clay, depth_after_m=depths)
    row = ("10-year", "none", "< 1 %", "52 %: 0.4 in", "> 99 %: 2 in")
    assert depth_table(deep, US).rows[3] == row
    assert depth_table(deep, US).head == (
        "storm",
        "after 1 h",
        "after 3 h",
        "after 6 h",
        "after 12 h",
    )
    console = Console(width=120, file=io.StringIO(), record=True, highlight=False)
    print_assessment(deep, console, US)
    printed, page = console.export_text(), html.unescape(assessment_page(deep, US))
    for shown in (printed, page, str(answer_blocks(deep, US))):
        assert "water on the floor, at the moment worst for depth, not for time" in shown
        assert all(cell in shown for cell in row)
        assert "stays dry" not in shown and "does not overflow" in shown
    told = assessment_form(deep)["storms"][3]["pump_stopped"]["depth_on_floor_m"]
    assert told[0] == {
        "after_h": 1.0, "share": 0.0, "if_any": None,
        "of_all": {"low": 0.0, "median": 0.0, "high": 0.0},
    }  # fmt: skip
    assert told[2]["share"] == 0.52 and told[2]["if_any"]["high"] == 0.0102


def test_what_a_word_stands_for_is_not_given() -> None:
    def taken(**values: str) -> tuple[str, str, str]:
        home = Home().changed(**values)
        row = next(r for r in assumptions(home) if r.key == "roof.gutter_capacity")
        return taken_words(row, METRIC)

    assert taken(roof__gutters="leaves") == (
        "65 mm/h", "30 to 120 mm/h", "what “leaves” stands for (judgement)",
    )  # fmt: skip
    assert taken(roof__gutter_capacity="65 mm/h")[2] == "as given"
    assert taken(roof__gutter_capacity="about 65 mm/h")[2] == "stated roughly"
    assert taken(roof__gutter_capacity="65 mm/h, measured")[2] == "measured at the home"
    assert taken()[2].endswith("(judgement)")


@pytest.mark.parametrize(
    ("text", "amount"),
    [
        ("1,400 ft2", "1,400 ft2"),
        ("1,400 ft2, measured", "1,400 ft2"),
        ("1,200 to 1,400 ft2, given", "1,200 to 1,400 ft2"),
        ("130 m2", "130 m2"),
    ],
)
def test_a_comma_within_a_number_ends_nothing(clay: Assessment, text: str, amount: str) -> None:
    home = clay.home.changed(roof__area=text)
    console = Console(width=4000, file=io.StringIO(), record=True, highlight=False)
    known = dataclasses.replace(clay, home=home, assumptions=assumptions(home))
    print_assessment(known, console, US)
    assert f"roof area seen from above: {amount};" in console.export_text()


def test_page_and_terminal_say_spreads_alike(clay: Assessment) -> None:
    page = assessment_page(clay, US)
    console = Console(width=120, file=io.StringIO(), record=True, highlight=False)
    print_assessment(clay, console, US)
    printed = console.export_text()
    for text in (page, printed):
        flat = re.sub(r"\s+", " ", text)
        assert "9 of 10 lie within" in flat and "holds 8 of 10 of them" in flat
        assert "nine in ten" not in flat and " in in " not in flat
        assert "100 % of pump capacity is all that the pump can lift" in flat
        assert storm_rain(clay.headline_storm, US) in flat
    assert "what “leaves” stands for (judgement)" in page
    assert ">as given<" in page and ">measured at the home<" in page


def test_quality_in_units_of_the_reader(demo_sites: Path) -> None:
    rows = {
        row.check.value: row
        for row in check_record(read_rain(demo_sites / "alder_bend_rain.csv.gz"))
    }
    assert quality_words(rows["missing share"], US) == ("0 %", "at most 10 %")
    assert quality_words(rows["smallest step"], METRIC) == ("0.2 mm", "at most 1 mm")
    assert quality_words(rows["smallest step"], US) == ("0.00787 in", "at most 0.039 in")
    assert quality_words(rows["complete years"], US) == ("40 years", "at least 10 years")
    annual = QualityRow(
        Check.ANNUAL_DEPTH, 1014.3, "mm", Limits(100, 5000, 25, 12000), Verdict.PASS
    )
    assert quality_words(annual, METRIC) == ("1010 mm", "100 to 5000 mm")
    assert quality_words(annual, US) == ("39.9 in", "3.9 to 200 in")
    short = dataclasses.replace(annual, figure=float("nan"))
    assert quality_words(short, METRIC)[0] == "too short to tell"


@pytest.mark.parametrize(
    ("figure", "unit", "limits", "words"),
    [
        (1.0, "times", Limits(0.5, 2.0), ("the same", "0.5 to 2 times")),
        (0.998, "times", Limits(0.5, 2.0), ("the same", "0.5 to 2 times")),
        (1.1, "times", Limits(0.5, 2.0), ("1.1 times", "0.5 to 2 times")),
        (1.0, "years", Limits(10.0), ("1 year", "at least 10 years")),
        (1.0, "intervals", Limits(warn_above=11.0), ("1 interval", "at most 11 intervals")),
        (1.0, "days", Limits(warn_above=0.0), ("1 day", "none")),
        (0.0, "values", Limits(fail_above=0.0), ("none", "none")),
        (0.0, "share", Limits(warn_above=0.0), ("0 %", "at most 0 %")),
        (2.8e-6, "share", Limits(0.01), ("less than 0.1 %", "at least 1 %")),
    ],
)
def test_one_is_one_and_none_is_none(
    figure: float, unit: str, limits: Limits, words: tuple[str, str]
) -> None:
    row = QualityRow(Check.MISSING, figure, unit, limits, Verdict.PASS)
    assert quality_words(row, US) == words


def test_examples_of_home_files_can_be_read(tmp_path: Path) -> None:
    readme = (Path(__file__).parents[2] / "demo_sites" / "README.md").read_text(encoding="utf-8")
    record, table, air, well, pump = re.findall(r"```csv\n(.*?)```", readme, re.DOTALL)
    (tmp_path / "rain.csv").write_text(record, encoding="utf-8")
    (tmp_path / "table.csv").write_text(table, encoding="utf-8")
    rain = read_rain(tmp_path / "rain.csv")
    assert rain.interval_s == 3600 and rain.depth_mm.sum() == pytest.approx(7.6)
    (tmp_path / "air.csv").write_text(air, encoding="utf-8")
    assert read_temperature(tmp_path / "air.csv").tmax_degc == pytest.approx([24.0, 26.5])
    (tmp_path / "well.csv").write_text(well, encoding="utf-8")
    levels = read_levels(tmp_path / "well.csv").above_floor_m
    assert levels == pytest.approx([-1.1 * 0.3048, -3.4 * 0.3048])
    (tmp_path / "pump.csv").write_text(pump, encoding="utf-8")
    log = read_log(tmp_path / "pump.csv")
    assert log.stop_s - log.start_s == pytest.approx([29.0], abs=0.1)  # 04:10:22 to 04:10:51
    official = read_rain_table(tmp_path / "table.csv")
    assert official.depth_at(24.0, 10.0).item() == pytest.approx(4.17 * 25.4)
    path = tmp_path / "home.toml"
    for text in re.findall(r"```toml\n(.*?)```", readme, re.DOTALL):
        path.write_text(text, encoding="utf-8")
        load_home(path)
    home = load_home(path)  # the last one holds the pairs
    assert len(home.pairs("pump.curve") or ()) == len(home.pairs("pit.table") or ()) == 3
    full = home.changed(rain__table="table.csv")
    answer = assess(full, design_rain(full, tmp_path).used, Settings(n_draws=16))
    assert "an invented agency" in answer.rain.source


def test_no_surface_tells_the_minutes_of_the_joint_as_those_to_the_rim(clay: Assessment) -> None:
    """In every row of the owner's table and beside the picture, as in the first sentence."""
    both = {"to_floor_s": reached(0.0, 0.0, 5.0), "to_rim_s": reached(3600.0, 7200.0)}
    closed = with_headline(clay, **both, joint_first_share=0.6)
    said = reach_words(closed, closed.headline_storm)
    assert said == (
        "chance more than 99 in 100, in 6 of 10 cases first where wall and floor meet; over the "
        "rim of the pit about 9 in 10; within about 60 minutes in 1 of 10 cases, about 2 hours in "
        "half"
    )
    assert said in time_words(closed)
    sheet = owner_sheet(closed, (), datetime.date(2026, 4, 20), US)
    (grid,) = [block for block in sheet.blocks if isinstance(block, Grid)]
    assert any(row[-1] == f"C{said[1:]}" for row in grid.table.rows)
    (note,) = stopped_table(closed).notes
    assert "By the first of both paths" in note
    assert reach_words(clay, clay.headline_storm) == chance_and_time(
        clay.headline_storm.worst_stop.to_floor_s
    )
    assert stopped_table(clay).notes == ()
