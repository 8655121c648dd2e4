"""What an analyst writes in a notebook: homes, rain and answers in and out of pandas."""

from __future__ import annotations

from dataclasses import replace
from pathlib import Path
from typing import Any

import numpy as np
import pandas as pd
import pytest

import riskkit as rk
from riskkit.records import Hyetograph

FEW = rk.Settings(n_draws=16)
any_record: Any = rk.RainRecord  # with what people give: lists, series, texts, wrong types


@pytest.fixture(scope="module")
def home(demo_sites: Path) -> rk.Home:
    return rk.load_home(demo_sites / "split_level_on_clay.toml")


@pytest.fixture(scope="module")
def answer(home: rk.Home) -> rk.Assessment:
    return home.assess(settings=FEW)


@pytest.fixture(scope="module")
def comparison(home: rk.Home) -> rk.Comparison:
    changes = [*rk.remedies(), rk.Change("wider pit", {"pit.diameter": "30 in"})]
    return rk.compare(home, changes, settings=FEW)


def series(name: object = "depth_mm", n: int = 6) -> pd.Series:
    times = pd.date_range("2020-06-01", periods=n, freq="h")
    return pd.Series(np.arange(n, dtype=float), index=times, name=name)


def test_a_home_remembers_its_folder(home: rk.Home, demo_sites: Path, tmp_path: Path) -> None:
    assert home.folder == demo_sites
    assert home.changed(pit__depth="30 in").folder == demo_sites
    assert rk.remedies()[0].applied(home).folder == demo_sites
    assert home.in_folder(tmp_path) == home and hash(home.in_folder(None)) == hash(home)
    with pytest.raises(rk.InputError, match=r"nothing says where alder_bend_rain\.csv\.gz lies"):
        home.in_folder(None).assess(settings=FEW)


def test_a_relative_path_holds_after_a_change_of_folder(
    demo_sites: Path, tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.chdir(demo_sites.parent)
    home = rk.load_home("demo_sites/split_level_on_clay.toml")
    monkeypatch.chdir(tmp_path)
    assert home.folder == demo_sites and home.folder.is_absolute()


def test_one_call_answers_as_three_do(home: rk.Home, answer: rk.Assessment) -> None:
    by_hand = rk.assess(home, rk.design_rain(home, home.folder), FEW)
    assert by_hand.to_frame().equals(answer.to_frame())
    assert by_hand.warnings == answer.warnings


def test_a_record_and_a_table_are_taken_as_rain(home: rk.Home, demo_sites: Path) -> None:
    record = rk.read_rain(demo_sites / "alder_bend_rain.csv.gz")
    dry = home.changed(rain__temperature=None)
    by_file = dry.assess(settings=FEW).to_frame()
    assert dry.changed(rain__record=None).assess(record, FEW).to_frame().equals(by_file)
    table = rk.design_rain(dry).used
    assert dry.assess(table, FEW).to_frame().equals(by_file)
    years = np.maximum(table.return_period_yr, 1.5)
    yearly = replace(table, series=rk.Series.ANNUAL_MAXIMUM, return_period_yr=years)
    assert dry.assess(yearly, FEW).rain.series is rk.Series.PARTIAL_DURATION


def test_the_frame_of_an_answer_holds_its_numbers(answer: rk.Assessment) -> None:
    frame = answer.to_frame()
    assert frame.index.name == "return_period_yr"
    assert frame.index.tolist() == [storm.return_period_yr for storm in answer.storms]
    for years, storm in zip(frame.index, answer.storms, strict=True):
        row = frame.loc[years]
        assert row["depth_mm"] == storm.depth_mm
        assert row["peak_inflow_median_m3_s"] == storm.pump_working.peak_inflow_m3_s.median
        assert row["starts_high_per_hour"] == storm.pump_working.starts_per_hour.high
        assert row["worst_never_share"] == storm.worst_stop.to_floor_s.never_share
        assert storm.worst_stop.to_floor_s.if_ever is not None
        assert row["worst_median_min"] == pytest.approx(
            storm.worst_stop.to_floor_s.if_ever.median / 60.0
        )
        assert row["depth_after_6_h_share"] == storm.worst_stop.depth_after_m[6.0].share
        assert row["counted_from"] == "alarm"
    assert not [name for name in frame.columns if name.endswith("_s") and "m3" not in name]


def test_nothing_is_said_of_what_is_not_there(home: rk.Home) -> None:
    frame = home.changed(pump={"rated_flow": "none"}).assess(settings=FEW).to_frame()
    assert frame["peak_use_median"].isna().all() and frame["starts_low_per_hour"].isna().all()
    assert frame["peak_inflow_median_m3_s"].notna().all()
    frame = home.changed(switch__alarm="none").assess(settings=FEW).to_frame()
    assert frame["alarm_share"].isna().all() and (frame["counted_from"] != "alarm").all()


def test_a_record_goes_through_a_series_without_loss(demo_sites: Path) -> None:
    record = rk.read_rain(demo_sites / "alder_bend_rain.csv.gz")
    rain = record.to_series()
    assert rain.name == "depth_mm" and rain.index.tz is None and rain.index.name == "time"
    again = rk.read_rain(rain)
    assert np.array_equal(again.depth_mm, record.depth_mm, equal_nan=True)
    assert (again.start, again.interval_s) == (record.start, record.interval_s)
    rain.iloc[:] = -1.0
    assert (record.depth_mm >= 0).all()


def test_gaps_order_and_units_of_a_series() -> None:
    inches = series("rain_in").drop(pd.Timestamp("2020-06-01 03:00"))
    found = rk.read_rain(inches)
    assert np.allclose(found.depth_mm, np.array([0, 1, 2, np.nan, 4, 5]) * 25.4, equal_nan=True)
    assert np.array_equal(rk.read_rain(series(None), unit="mm").depth_mm, np.arange(6.0))
    frame = pd.DataFrame({"time": series().index, "depth_mm": series().to_numpy(), "flag": "x"})
    assert np.array_equal(rk.read_rain(frame).depth_mm, np.arange(6.0))
    by_index = series().to_frame().assign(temperature_degc=3.0)
    assert np.array_equal(rk.read_rain(by_index).depth_mm, np.arange(6.0))
    coded = series()
    coded.iloc[2] = -9999.0
    found = rk.read_rain(coded)
    assert np.isnan(found.depth_mm[2]) and "code" in " ".join(found.notes)


@pytest.mark.parametrize(
    ("rain", "words"),
    [
        (series(None), "the unit of 'rain' is not stated"),
        (series().tz_localize("UTC"), "its times have the zone UTC"),
        (series().reset_index(drop=True), "its index holds int64, not times"),
        (series("depth_mm").astype(str).str.replace("3.0", "x"), "depth_mm holds str, not numbers"),
        (-series(), "rain, row 2: depth_mm is -1, which cannot be"),
        (pd.concat([series(), series()[:1]]), "stands twice"),
        (series().iloc[:0], "it is empty"),
        (series().to_frame().assign(rain_mm=1.0), "more than one column of rain"),
        ([0.0, 1.2], "give the path of a file, a pandas Series or a DataFrame"),
        (None, "give the path of a file, a pandas Series or a DataFrame"),
    ],
)  # fmt: skip
def test_rain_that_cannot_be_read_is_refused(rain: object, words: str) -> None:
    with pytest.raises(rk.InputError, match=words):
        rk.read_rain(rain)  # type: ignore[arg-type]  # on purpose


def test_a_record_freezes_whatever_it_is_given() -> None:
    depths, notes = [0.0, 1.5, None], ["seen"]
    found = any_record(depths, "2020-06-01", 3600, notes=notes)
    depths[0] = 9.0
    notes.append("more")
    assert np.array_equal(found.depth_mm, [0.0, 1.5, np.nan], equal_nan=True)
    assert found.notes == ("seen",) and not found.depth_mm.flags.writeable
    rain = series()
    found = any_record(rain, np.datetime64("2020-06-01"), 3600)
    rain.iloc[0] = 9.0
    assert found.depth_mm[0] == 0.0
    whole = any_record([0, 2], "2020-06-01", 3600)
    assert whole.depth_mm.dtype == np.float64


def test_a_record_copies_what_somebody_can_still_write_to() -> None:
    mine = np.array([1.0, 2.0, 3.0])
    view = mine[:2]
    view.flags.writeable = False
    found = Hyetograph(view, 300.0)
    mine[0] = 9.0
    assert found.depth_mm.tolist() == [1.0, 2.0]
    mine.flags.writeable = False
    assert Hyetograph(mine, 300.0).depth_mm is mine
    part = np.zeros(1000)
    part.flags.writeable = False
    kept = Hyetograph(part[:10], 300.0).depth_mm
    assert kept.base is None  # the rest of it goes


@pytest.mark.parametrize(
    ("values", "words"),
    [
        ({"depth_mm": ["1.2"]}, "it is not an array of numbers"),
        ({"depth_mm": [[1.0], [1.0, 2.0]]}, "it is not an array of numbers"),
        ({"start": "yesterday"}, "no such time"),
        ({"start": pd.Timestamp("2020-01-01", tz="UTC")}, "without a zone"),
        ({"interval_s": "1 h"}, "give the interval in seconds"),
    ],
)
def test_a_record_of_wrong_types_is_refused(values: dict[str, object], words: str) -> None:
    right = {"depth_mm": [1.0], "start": "2020-01-01", "interval_s": 300}
    with pytest.raises(rk.InputError, match=words):
        any_record(**(right | values))


def test_the_frame_of_depths_holds_the_table(home: rk.Home) -> None:
    table = rk.design_rain(home).used
    frame = table.to_frame()
    wide = frame.pivot_table(index="duration_h", columns="return_period_yr", values="depth_mm")
    assert np.array_equal(wide.to_numpy(), table.depth_mm)
    assert np.array_equal(wide.index, table.duration_h)
    assert table.lower_mm is not None
    assert np.array_equal(frame["lower_mm"], table.lower_mm.ravel())


def test_a_change_of_a_section_leaves_its_other_values(home: rk.Home) -> None:
    changed = home.changed(pit={"depth": "30 in"})
    assert changed == home.changed(pit__depth="30 in")
    assert changed.quantity("pit.diameter") == home.quantity("pit.diameter") is not None
    with pytest.raises(rk.InputError, match=r"pit\.depht"):
        home.changed(pit={"depht": "30 in"})


@pytest.mark.parametrize(
    ("call", "words"),
    [
        (lambda home: rk.load_home(3), "give the path of a home file"),
        (lambda home: rk.assess("home.toml"), r"'home\.toml' has the wrong type; read one with"),
        (lambda home: rk.design_rain({"name": "x"}), "read one with load_home"),
        (lambda home: home.assess(5.0), "give a record, a table of depths"),
        (lambda home: home.assess(settings={"n_draws": 16}), r"write Settings\(n_draws=512\)"),
        (lambda home: rk.Settings(n_draws="16"), "give a power of two"),
        (lambda home: rk.Settings(pattern="nested"), "give one of Pattern"),
        (lambda home: rk.Settings(return_periods_yr=10), "give a tuple of years"),
        (lambda home: rk.compare(home, ["downspout"]), "there is no remedy 'downspout'; known are"),
        (lambda home: rk.compare(home, [5]), "give a list of Change"),
        (lambda home: rk.compare(home, 3), "give a list of Change"),
        (lambda home: rk.compare("x", []), "read one with load_home"),
        (lambda home: rk.compare(home, [rk.remedies()[0]] * 2), "'downspouts' stands twice"),
        (lambda home: rk.Change("x", {}), "changes nothing"),
        (lambda home: rk.Change("x", "pit.depth"), "give values by key"),
        (lambda home: rk.Change("x", {"pit.depth": 24}), "pit.depth 24, which has no unit"),
        (lambda home: rk.Change("x", {"pit.depth": "24 in"}, enough={"pit.depth": "more"}),
         "'more' is not known; known are"),
        (lambda home: home.changed(["pit.depth"]), "give values by key"),
        (lambda home: setattr(home, "name", "x"), "cannot be set in place"),
        (lambda home: rk.save_home("home.toml", home), "give the home first"),
        (lambda home: rk.save_home(home, 3), "give the path of a home file"),
        (lambda home: rk.design_rain(home, climate="warmer"), "climate: "),
        (lambda home: rk.Home(pitt={"depth": "24 in"}), 'did you mean "pit"'),
        (lambda home: rk.Home(pit={"depth": "24"}), "pit.depth: '24' has no unit"),
        (lambda home: rk.Visit(date="soon"), "date: 'soon' is not a date"),
        (lambda home: rk.Observation(date="2026-04-14", kind="rises"), "kind: 'rises' is not a"),
        (lambda home: rk.Observation(date="2026-04-14", kind="floods", years=10),
         "times: it is missing; floods needs years, times"),
    ],
)  # fmt: skip
def test_wrong_types_are_refused_in_a_sentence(home: rk.Home, call: Any, words: str) -> None:
    with pytest.raises(rk.InputError, match=words):
        call(home)


def test_shorter_ways_say_the_same(home: rk.Home, answer: rk.Assessment) -> None:
    assert home.changed({"pit.depth": "30 in"}) == home.changed(pit__depth="30 in")
    by_key = rk.compare(home, "downspouts", settings=FEW)
    assert by_key.changes == (rk.remedy("downspouts"),) == rk.remedies()[:1]
    wider = rk.Change("x", {"pit.diameter": "17 in"}, enough={"pit.diameter": "at_least"})
    assert wider.is_in_place(home) and not wider.is_in_place(home.changed(pit__diameter="15 in"))
    assert answer.storm(10) is answer.headline_storm
    with pytest.raises(rk.InputError, match="there is no storm of 7 years; they are of"):
        answer.storm(7)
    told, made = rk.level_chart(answer), rk.level_chart(answer, rk.UnitSystem.US, 10.0)
    assert told.to_dict() == made.to_dict()
    warm, cool = (rk.design_rain(home, climate=one).used for one in ("20 %", None))
    np.testing.assert_allclose(warm.depth_mm, 1.2 * cool.depth_mm)
    with pytest.raises(AttributeError) as caught:
        rk.load_homes  # noqa: B018 - the name alone is asked for
    assert caught.value.name == "load_homes" and "load_home" in dir(caught.value.obj)


def test_parts_of_a_home_show_what_is_given_alone(home: rk.Home, answer: rk.Assessment) -> None:
    one = rk.Observation(date="2026-04-14", kind="floods", years=10, times=0)
    day = "datetime.date(2026, 4, 14)"
    assert repr(one) == f"Observation(date={day}, kind='floods', times=0, years=10)"
    assert repr(rk.Visit(date="2026-04-14")) == f"Visit(date={day})"
    stop = answer.headline_storm.worst_stop
    time = stop.to_floor_s
    assert repr(time).startswith(f"Outcome(low {time.low:.4g}, median {time.median:.4g}, high ")
    assert "array(" not in repr(stop) and len(repr(stop)) < 1200


def test_one_table_of_depths_is_not_another_with_more_in_it(home: rk.Home) -> None:
    """Its spread of ratios is an array in the one and nothing in the other."""
    table = rk.design_rain(home).used
    assert table.ratio_log_sd is not None
    assert table != replace(table, ratio_log_sd=None) != table
    assert table == replace(table)


def test_a_comparison_is_of_the_homes_changed_by_hand(
    home: rk.Home, comparison: rk.Comparison
) -> None:
    frame = comparison.to_frame()
    assert frame.index.names == ["change", "return_period_yr"]
    assert frame.xs("as it is", level="change").equals(home.assess(settings=FEW).to_frame())
    by_hand = home.changed(pit__diameter="30 in").assess(settings=FEW).to_frame()
    assert frame.xs("wider pit", level="change").equals(by_hand)
    assert not by_hand.equals(comparison.before.to_frame())
    # the file says that no downspout goes to the drain, and that the check valve works
    assert {change.name for change in comparison.left_out} == {"tied_downspouts", "check_valve"}
    pumpless = rk.compare(home.changed(pump__rated_flow="none"), rk.remedies(), settings=FEW)
    assert {"pump", "outlet"} <= {change.name for change in pumpless.left_out}


def test_what_is_shown_is_short_and_says_the_answer(
    home: rk.Home, answer: rk.Assessment, comparison: rk.Comparison, demo_sites: Path
) -> None:
    record = rk.read_rain(demo_sites / "alder_bend_rain.csv.gz")
    rain = rk.design_rain(home)
    for value in (home, answer, comparison, record, rain, rain.used):
        assert len(repr(value)) < 300 and "\n" not in repr(value)
        html = value._repr_html_()
        assert html.count("<table>") >= 1 and html.count("<svg") == 1 and "<script" not in html
    assert rk.sentence(answer, rk.UnitSystem.US) in answer._repr_html_()
    assert "10-year storm" in repr(answer) and "16 draws" in repr(answer)
    assert "1 visit" in repr(home.changed(visit=[{"date": "2026-04-14"}]))


def test_what_a_file_says_stays_text_in_a_notebook(home: rk.Home) -> None:
    nasty = home.changed(name="<b>x</b>", note="<img src=x onerror=alert(1)>")
    assert "<img" not in nasty._repr_html_() and "<b>x" not in nasty._repr_html_()
    record = any_record([1.0], "2020-01-01", 300, name="<img src=x>")
    assert "<img" not in record._repr_html_()


def test_what_is_exported_is_typed() -> None:
    assert (Path(rk.__file__).parent / "py.typed").exists()
    assert {"Home", "compare", "remedies", "read_rain", "level_chart"} <= set(rk.__all__)
