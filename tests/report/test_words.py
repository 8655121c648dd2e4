"""Numbers as people say them, and no more digits than they are worth."""

from __future__ import annotations

import dataclasses
import html
import io
import re
from pathlib import Path

import numpy as np
import pytest
from rich.console import Console

from riskkit.antecedent.levels import read_levels
from riskkit.assessment import Assessment, Settings, assess, design_rain
from riskkit.ensemble.draws import assumptions
from riskkit.ensemble.quantiles import FloorDepth, Outcome, Points, outcome
from riskkit.home.home import Home, load_home
from riskkit.quantities.units import UnitSystem
from riskkit.quantities.variables import significant, variable
from riskkit.rainfall.doubts import quality_words
from riskkit.rainfall.quality import check_record
from riskkit.rainfall.quality_rows import Check, Limits, QualityRow, Verdict
from riskkit.rainfall.readers.official import read_rain_table
from riskkit.rainfall.readers.record import read_rain
from riskkit.rainfall.readers.temperature import read_temperature
from riskkit.report.json import assessment_form
from riskkit.report.number_words import about_depth, rain_words, use_words
from riskkit.report.origin_words import taken_words
from riskkit.report.page import assessment_page
from riskkit.report.storm_rows import depth_table, storm_rain
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


def with_headline(answer: Assessment, **values: object) -> Assessment:
    storm = dataclasses.replace(answer.headline_storm, **values)  # type: ignore[arg-type] # any field
    storms = [storm if s.return_period_yr == 10 else s for s in answer.storms]
    return dataclasses.replace(answer, storms=tuple(storms))


def reached(share: float, *points: float) -> Outcome:
    """So often water reaches the floor, and if so, after so long."""
    return Outcome(0.0, 0.0, 0.0, 1.0 - share, Points(*points))


NONE = Outcome(NEVER, NEVER, NEVER, 1.0)


@pytest.mark.parametrize(
    ("time", "words", "cell"),
    [
        (Outcome(20, 60, 180), "chance more than 99 in 100; if so, less than 2 minutes (most "
         "likely less than 1 to 3 minutes)", "<2 min (<1–3 min)"),
        (reached(0.8, 40, 60, 80), "chance about 8 in 10; if so, less than 2 minutes", "<2 min"),
        (reached(0.3, 40, 600, 9000), "chance about 3 in 10; if so, about 10 minutes (most likely "
         "less than 2 minutes to 2.5 hours)", "10 min (<2 min–2.5 h)"),
        (reached(0.5, 32400, 2e5, 7.6e7), "chance about 5 in 10; if so, more than a day (most "
         "likely 9 hours to more than a day)", "> 1 d (9 h to > 1 d)"),
        (reached(0.02, 2e5, 3e5, 7.6e7), "chance about 2 in 100; if so, more than a day", "> 1 d"),
        (NONE, "chance less than 1 in 100; if so, the time is not known", "not reached"),
    ],
)  # fmt: skip
def test_very_short_and_very_long_times(time: Outcome, words: str, cell: str) -> None:
    assert chance_and_time(time) == words
    assert minutes_words(time) == cell


@pytest.mark.parametrize(
    ("time", "words"),
    [
        (Outcome(20, 60, 180), "if it does, less than 2 minutes pass from the alarm (most likely "
         "less than 1 to 3 minutes)."),
        (Outcome(10, 20, 40), "if it does, less than 1 minute passes from the alarm (most likely "
         "less than 1 to 2)."),
        (reached(0.4, 2e5, 2e5, 2e5), "if it does, more than a day passes from the alarm."),
        (NONE, "the chance is less than 1 in 100 that water reaches the floor; if it does, the "
         "minutes from the alarm are not known."),
    ],
)  # fmt: skip
def test_times_in_the_sentence(clay: Assessment, time: Outcome, words: str) -> None:
    assert f"{words} In dry weather" in sentence(with_headline(clay, worst_s=time))


_PARTS = re.compile(
    r"^If the pump stops in a 10-year storm at the worst moment, the chance is "
    r"(?P<chance>(?:about|less than|more than) \d+ in \d+) that water reaches the floor; "
    r"if it does, (?P<time>(?:about|less than) [\d.]+ (?:minutes|hours) pass|the minutes) from the "
    r"alarm"
    r"(?P<spread> \(most likely [^)]+\)| are not known)\. "
    r"In dry weather the chance is (?P<dry>[a-z]+[^;]+); if it does, .+ from the alarm.*\.$"
)


def test_the_sentence_keeps_its_form_over_the_whole_range_of_never(clay: Assessment) -> None:
    """From every form of the home flooding to none, one by one: no part comes, goes or jumps."""
    n = 200
    times = np.random.default_rng(3).permutation(600.0 * np.exp(np.linspace(-2, 2, n)))
    chances, last = [], None
    for never in range(n + 1):
        draws = np.where(np.arange(n) < never, np.inf, times)
        found = outcome(draws)
        said = sentence(with_headline(dataclasses.replace(clay, dry_s=found), worst_s=found))
        parts = _PARTS.match(said[said.index("If the pump") :])
        if never < n - 1:  # of a single form there is no range to tell
            assert parts is not None, said
            assert parts["spread"].startswith(" (most likely"), said
        if never == n:
            assert parts is not None and parts["spread"] == " are not known", said
        if parts is not None:
            chances.append(parts["chance"])
            assert parts["dry"] == parts["chance"]
        if last is not None and 1 <= never < 0.9 * n:  # and the number moves by steps, not a cliff
            assert found.if_ever is not None
            assert abs(np.log(found.if_ever.middle / last)) < 0.3
        last = None if found.if_ever is None else found.if_ever.middle
    order = list(dict.fromkeys(chances))
    assert len(order) == len([c for i, c in enumerate(chances) if i == 0 or c != chances[i - 1]])
    assert order[0] == "more than 99 in 100" and order[-1] == "less than 1 in 100"
    assert "about 7 in 10" in order and "about 6 in 10" in order


def test_sentence_tells_of_dry_weather(clay: Assessment) -> None:
    wet = dataclasses.replace(clay, dry_s=reached(0.7, 16000, 28800, 50000))
    assert sentence(wet).endswith(
        " In dry weather the chance is about 7 in 10; if it does, about 8 hours pass from the "
        "alarm (most likely 4.5 to 14)."
    )


def test_sentence_tells_of_a_pump_that_cannot_keep_up(clay: Assessment) -> None:
    storm = clay.headline_storm
    lifted = storm.peak_inflow_m3_s.middle / storm.peak_use.middle
    for factor, beyond in ((0.8, False), (1.2, True)):
        flow = Outcome(0.5 * factor * lifted, factor * lifted, 2 * factor * lifted)
        said = sentence(dataclasses.replace(clay, dry_inflow_m3_s=flow))
        assert said.startswith("The pump does not keep up even with the ground water") == beyond
    none = with_headline(clay, peak_use=Outcome(NEVER, NEVER, NEVER, 1.0))
    assert sentence(none).startswith("The pump, as taken here, cannot lift water up to its outlet;")


def test_use_of_a_pump_that_lifts_nothing() -> None:
    assert use_words(Outcome(0.14, 1.07, 448338551.32)) == "107 % (14 % to more than it lifts)"
    assert use_words(Outcome(0.4, 3.5, NEVER)) == "more than it lifts (from 40 %)"
    assert use_words(Outcome(0.4, NEVER, NEVER, 0.7)) == "cannot lift (from 40 %)"
    assert use_words(Outcome(NEVER, NEVER, NEVER, 1.0)) == "cannot lift"


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


def test_depths_are_told_of_the_forms_that_flood_with_their_share(clay: Assessment) -> None:
    depths = {
        1.0: FloorDepth(0.0, None),
        3.0: FloorDepth(0.004, Points(0.0004, 0.0008, 0.002)),
        6.0: FloorDepth(0.52, Points(0.001, 0.005, 0.0102)),
        12.0: FloorDepth(1.0, Points(0.01, 0.0508, 0.052)),
    }
    deep = with_headline(clay, depth_after_m=depths)
    row = ("10-year", "none", "< 1 %: <0.1 in", "52 %: 0.2 to 0.4 in", "> 99 %: 2 in")
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
        assert "water on the floor, at the moment worst for depth" in shown
        assert all(cell in shown for cell in row)
        assert "stays dry" not in shown and "does not overflow" in shown
    told = assessment_form(deep)["storms"][3]["pump_stopped"]["depth_on_floor_m"]
    assert told[0] == {"after_h": 1.0, "share": 0.0, "if_any": None}
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
    assert taken(roof__gutter_capacity="about 65 mm/h")[2] == "told roughly"
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
        assert "9 of 10 lie within" in flat and "8 of 10 likely forms" in flat
        assert "nine in ten" not in flat and " in in " not in flat
        assert "100 % of pump flow is all that the pump can lift" in flat
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
    record, table, air, well = re.findall(r"```csv\n(.*?)```", readme, re.DOTALL)
    (tmp_path / "rain.csv").write_text(record, encoding="utf-8")
    (tmp_path / "table.csv").write_text(table, encoding="utf-8")
    rain = read_rain(tmp_path / "rain.csv")
    assert rain.interval_s == 3600 and rain.depth_mm.sum() == pytest.approx(7.6)
    (tmp_path / "air.csv").write_text(air, encoding="utf-8")
    assert read_temperature(tmp_path / "air.csv").tmax_degc == pytest.approx([24.0, 26.5])
    (tmp_path / "well.csv").write_text(well, encoding="utf-8")
    levels = read_levels(tmp_path / "well.csv").above_floor_m
    assert levels == pytest.approx([-1.1 * 0.3048, -3.4 * 0.3048])
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
