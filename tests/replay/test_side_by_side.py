"""Years side by side: what is told apart by hand, the two halves of a record, generated years."""

from __future__ import annotations

import json
from collections.abc import Callable
from dataclasses import replace
from functools import cache
from pathlib import Path

import jsonschema
import numpy as np
import pandas as pd
import pytest

import riskkit as rk
from riskkit.cli.main import main
from riskkit.errors import InputError
from riskkit.options.replays import years_study
from riskkit.options.side_by_side import Verdict, of_years, ranked_by_floods
from riskkit.quantities.units import UnitSystem
from riskkit.rainfall.readers.plain import write_rain
from riskkit.records import FloatArray
from riskkit.report.side_form import side_schema
from riskkit.report.side_rows import side_sentence, side_table
from riskkit.report.side_view import side_form, side_page, side_spec
from riskkit.storm.synthetic import synthetic_seasons
from riskkit.years import generated
from riskkit.years.records import Replay
from tests.replay.made import clay, rain_of, record_of, weather_of
from tests.replay.test_command import HEAVY, home

__all__ = ["home"]

N_DRAWS, N_YEARS = 8, 6
STORMS = {8760 * year + 4000: HEAVY for year in range(1, N_YEARS)}
STORMS[2 * 8760 - 200] = HEAVY  # in December 2002


@cache
def found() -> Replay:
    rain = rain_of(record_of(STORMS, years=2191 / 365))  # one of them has a day more
    return rk.replay(clay(), rain, rk.ReplaySettings(n_draws=N_DRAWS))


def pumping(pumped_m3: FloatArray, of: Replay | None = None) -> Replay:
    """The years with another amount pumped in each month."""
    one = of or found()
    shape = one.by_month.pumped_m3.shape
    return replace(
        one, by_month=replace(one.by_month, pumped_m3=np.broadcast_to(pumped_m3, shape).copy())
    )


def verdict(first: Replay, other: Replay) -> Verdict:
    both = rk.side_by_side({"a": first, "b": other})
    (one,) = (c for c in both.contrasts if c.what == "pumped_m3")
    return one.verdict


ONES = np.ones((N_DRAWS, 1))
DRAWS = np.arange(N_DRAWS, dtype=float)[:, None]  # 0 to 7 m3 a month


def yearly(values: list[float]) -> FloatArray:
    return np.repeat(np.array(values), 12)[None, :]


def test_a_month_more_for_every_draw_and_year_is_told_apart() -> None:
    both = rk.side_by_side({"a": pumping(DRAWS), "b": pumping(DRAWS + 1.0)})
    (one,) = (c for c in both.contrasts if c.what == "pumped_m3")
    assert one.verdict is Verdict.APART
    # one cubic metre in each of twelve months
    assert (one.difference.low, one.difference.mean, one.difference.high) == (12.0, 12.0, 12.0)
    assert one.by_years == pytest.approx((12.0, 12.0))


def test_what_half_of_the_draws_deny_is_not() -> None:
    half = np.where(DRAWS < 4, 1.0, -0.5)
    assert verdict(pumping(10 * ONES), pumping(10.0 + half)) is Verdict.HOMES


def test_what_hangs_on_one_year_is_not() -> None:
    # mean +1 a month, but -6 in five years of six: one resampled record in three misses the first
    assert (
        verdict(pumping(50 * ONES), pumping(50.0 + yearly([36, -6, -6, -6, -6, -6])))
        is Verdict.YEARS
    )


def test_the_unknown_parts_of_two_houses_have_nothing_to_do_with_each_other() -> None:
    other = replace(found(), home=clay().changed(pit__diameter="24 in"))
    place = replace(found(), home=clay().changed(name="x", place={"latitude": 43.0}))
    first, more = pumping(DRAWS), DRAWS + 1.0
    assert verdict(first, pumping(more, other)) is Verdict.HOMES  # 1 more within 0 to 7
    assert verdict(first, pumping(more, place)) is Verdict.APART  # the same house elsewhere


def test_other_years_are_resampled_apart_from_each_other() -> None:
    wet = yearly([20, 20, 20, 0, 0, 0])
    a = pumping(wet + ONES)
    b = pumping(wet + 2 * ONES)
    assert verdict(a, b) is Verdict.APART  # the same years in both
    later = replace(b, month=b.month + 240, rain_mm=b.rain_mm)
    later = replace(later, record_storms=())
    later = replace(
        later,
        outcomes=replace(
            later.outcomes,
            **{k: np.zeros((N_DRAWS, 0)) for k in later.outcomes.__dataclass_fields__},
        ),
    )
    assert verdict(a, later) is Verdict.YEARS


def test_nothing_and_too_few_years() -> None:
    assert verdict(found(), found()) is Verdict.SAME
    parts = rk.two_periods(pumping(yearly([1, 1, 1, 2, 2, 2]) + ONES))
    both = rk.side_by_side(parts)
    assert {c.verdict for c in both.contrasts if c.what == "pumped_m3"} == {Verdict.FEW_YEARS}
    with pytest.raises(InputError, match="give two"):
        rk.side_by_side({"one": found()})


def test_two_periods_hold_all_of_the_years_once() -> None:
    whole = found()
    parts = rk.two_periods(whole, 2003)
    assert list(parts) == ["2001 to 2002", "2003 to 2006"]
    early, late = parts.values()
    assert (early.years, late.years) == (2.0, 4.0)
    assert early.record_storms + late.record_storms == whole.record_storms
    assert [s.start.astype("datetime64[Y]").astype(int) + 1970 for s in early.record_storms] == [
        2002,
        2002,
    ]
    for part in ("pumped_m3", "run_h", "starts"):
        sums = [getattr(r.by_month, part).sum() for r in (early, late, whole)]
        assert sums[0] + sums[1] == pytest.approx(sums[2])
    np.testing.assert_array_equal(
        np.concatenate([early.outcomes.worst_s, late.outcomes.worst_s], axis=1),
        whole.outcomes.worst_s,
    )
    assert early.day[-1] + 1 == late.day[0] and len(early.days) + len(late.days) == len(whole.days)
    with pytest.raises(InputError, match="does not divide 2001-01 to 2006-12"):
        rk.two_periods(whole, 2001)
    assert list(rk.two_periods(whole)) == ["2001 to 2003", "2004 to 2006"]


def test_a_frame_of_each_and_of_their_months() -> None:
    both = rk.side_by_side({"a": pumping(DRAWS), "b": pumping(DRAWS + 1.0)})
    frame = both.to_frame()
    assert frame.index.tolist() == ["a", "b"] and frame.index.name == "name"
    assert frame.loc["a", "pumped_median_m3_per_year"] == 36.0  # the 4th of 8 draws, 3 a month
    assert frame.loc["a", "pumped_high_m3_per_year"] == 84.0
    assert frame.loc["b", "pumped_mean_m3_per_year"] == 54.0  # 12 times 4.5
    assert frame["pumped_against_first"].tolist() == ["", "apart"]
    assert frame["run_against_first"].tolist() == ["", "same"]
    storms = of_years(found())["failed_pump_floods"]
    assert storms.shape == (N_DRAWS, N_YEARS)
    assert frame.loc["a", "failed_pump_floods_mean_per_year"] == pytest.approx(storms.mean())
    months = both.months()
    assert months.index.names == ["name", "month"] and len(months) == 24
    assert months.loc[("a", 7), "pumped_median_m3"] == 3.0


def floods(times: int) -> Replay:
    """A failed pump floods in so many of the storms, whatever the draw."""
    one = found()
    shape = one.outcomes.worst_s.shape
    worst = np.where(np.arange(shape[1]) < times, 600.0, np.inf)
    dead = np.full(shape, np.inf)
    worst = np.broadcast_to(worst, shape).copy()
    return replace(one, outcomes=replace(one.outcomes, worst_s=worst, dead_alarm_to_floor_s=dead))


def test_the_home_that_floods_most_often_comes_first() -> None:
    ranked = ranked_by_floods({"a": floods(1), "b": floods(3), "c": floods(2)})
    assert list(ranked) == ["b", "c", "a"]
    both = rk.side_by_side(ranked)
    said = side_sentence(both)
    # 3 and 1 in six years
    assert said.startswith("A failed pump floods most often in b: 1 year in 2, mean")
    assert "least often in a: 1 year in 6." in said
    none = rk.side_by_side({"a": floods(0), "b": floods(0)})
    assert side_sentence(none) == "A failed pump would have flooded none of them."


def test_the_table_tells_what_differs_by_less_than_the_spread() -> None:
    half = np.where(DRAWS < 4, 1.0, -0.5)
    both = rk.side_by_side({"a": pumping(10 * ONES), "b": pumping(10.0 + half)})
    table = side_table(both, UnitSystem.METRIC)
    assert [row[0] for row in table.rows] == ["a", "b"]
    assert table.notes[1] == (
        "b beside a. No clear difference (within what is unknown of home and ground): "
        "water pumped. No clear difference (none at all): storms in which a failed pump floods, "
        "storms in which it floods within 1 h, storms in which the floor is wet though the "
        "pump works, hours the pump runs."
    )
    apart = rk.side_by_side({"a": pumping(DRAWS), "b": pumping(DRAWS + 1.0)})
    assert "b beside a. Water pumped: 12 m³ more a year (12 to 12 m³)." in " ".join(
        side_table(apart, UnitSystem.METRIC).notes
    )


def test_chart_page_notebook_and_json() -> None:
    both = rk.side_by_side({"a <b>": floods(1), "c": floods(3)})
    spec = side_spec(both, UnitSystem.US)
    bars = spec["vconcat"][0]["data"]["values"]
    assert [bar["x"] for bar in bars] == pytest.approx([1 / 6, 3 / 6])
    cells = spec["vconcat"][2]["data"]["values"]
    assert sum(cell["often"] for cell in cells if cell["name"] == "c") == pytest.approx(0.5)
    page = side_page(both, UnitSystem.US, "Side <by> side")
    for shown in (page, both._repr_html_()):
        assert "a &lt;b&gt;" in shown and "<svg" in shown and "a <b>" not in shown
    form = json.loads(json.dumps(side_form(both, [years_study(r) for r in both.replays])))
    jsonschema.validate(form, side_schema())
    assert form["names"] == ["a <b>", "c"] and len(form["contrasts"]) == 5
    assert form["contrasts"][0]["what"] == "failed_pump_floods"
    form["contrasts"][0]["verdict"] = "perhaps"
    with pytest.raises(jsonschema.ValidationError):
        jsonschema.validate(form, side_schema())


def test_a_broken_system_is_said_first_and_is_due_now() -> None:
    checks = {"alarm_sounded": "no", "pump_back_on": "yes"}
    silent = clay().changed(name="B", visit=[{"date": "2026-04-14", "checks": checks}])
    both = rk.side_by_side({"a": found(), "B": replace(found(), home=silent)})
    body = side_page(both, UnitSystem.US, "x").partition("<body")[2]
    first = body.index("B: The alarm did not sound: there is no warning.")
    assert first < body.index(side_sentence(both)[:30])
    assert "B. Due now, whatever the season: put the alarm in order." in body
    rows = side_table(both, UnitSystem.US).rows
    assert rows[1][8].startswith("now; ") and not rows[0][8].startswith("now")


def test_generated_years_take_whole_years_of_temperature(monkeypatch: pytest.MonkeyPatch) -> None:
    record = record_of({}, years=N_YEARS)
    weather = weather_of(record)
    days = np.arange(weather.tmin_degc.size, dtype=float)
    weather = replace(weather, tmin_degc=days / 100 - 5, tmax_degc=days / 100)
    rain = replace(rain_of(record), weather=weather)
    monkeypatch.setattr(generated, "sight_of", lambda *_: None)
    monkeypatch.setattr(generated, "fit_storms", lambda *_: synthetic_seasons())
    made = rk.generated_rain(rain, 4, 3)
    assert made.record is not None and made.weather is not None
    assert made.record.is_generated and made.record.depth_mm.size == (3 * 365 + 366) * 24
    assert made.used is rain.used and made.levels is None
    own = np.searchsorted(weather.dates, [np.datetime64(f"{y}-01-01") for y in range(2001, 2007)])
    begins = {round(float(x), 9) for x in weather.tmax_degc[own]}
    of_year = made.weather.tmax_degc[:365]
    assert np.allclose(np.diff(of_year), 0.01)  # one whole year, day by day
    assert round(float(of_year[0]), 9) in begins
    again, other = rk.generated_rain(rain, 4, 3), rk.generated_rain(rain, 4, 4)
    assert again.weather is not None and other.record is not None
    np.testing.assert_array_equal(again.weather.tmax_degc, made.weather.tmax_degc)
    assert not np.array_equal(other.record.depth_mm, made.record.depth_mm)
    with pytest.raises(InputError, match="outside 2 to 200"):
        rk.generated_rain(rain, 1)
    with pytest.raises(InputError, match="one is missing"):
        rk.generated_rain(replace(rain, weather=None), 4)


def command(home: Path, *more: str) -> list[str]:
    table = [
        "--table", str(home.with_name("table.csv")), "--official-unit", "mm",
        "--official-series", "partial duration",
    ]  # fmt: skip
    return ["replay", *more, "--draws", "2", *table]


@pytest.fixture
def two(home: Path) -> tuple[Path, Path]:
    other = home.with_name("other.toml")
    text = home.read_text("utf-8").replace("Split-level on clay", "Wider pit")
    other.write_text(text.replace("18 in, measured", "30 in, measured"), "utf-8")
    return home, other


def test_homes_side_by_side_by_command(
    two: tuple[Path, Path], capsys: pytest.CaptureFixture[str]
) -> None:
    one, other = two
    csv, page = one.with_name("c.csv"), one.with_name("p.html")
    files = ["--compared", str(csv), "--html", str(page)]
    assert main(command(one, str(one), str(other), *files)) == 0
    said = capsys.readouterr().out
    assert said.startswith("A failed pump") and "A year, side by side" in said
    names = ["Split-level on clay, Alder Bend", "Wider pit, Alder Bend"]
    assert sorted(pd.read_csv(csv)["name"]) == names
    assert all(name in page.read_text("utf-8") for name in names)
    assert main(command(one, str(one.parent), "--json")) == 0  # the folder holds the same two
    form = json.loads(capsys.readouterr().out)
    jsonschema.validate(form, side_schema())
    assert sorted(form["names"]) == names


def test_two_spans_and_generated_years_by_command(
    home: Path, capsys: pytest.CaptureFixture[str], monkeypatch: pytest.MonkeyPatch
) -> None:
    assert main(command(home, str(home), "--parted-at", "2002")) == 0
    assert "2001 to 2001" in capsys.readouterr().out
    record = record_of({4000: HEAVY}, years=2, drizzle_mm=2.0)
    fit: Callable[..., object] = lambda *_: synthetic_seasons()  # noqa: E731 - one line
    monkeypatch.setattr(generated, "sight_of", lambda *_: None)
    monkeypatch.setattr(generated, "fit_storms", fit)
    home.with_name("rain.csv").unlink()
    write_rain(record, home.with_name("rain.csv"))
    assert main(command(home, str(home), "--generated", "2")) == 0
    said = capsys.readouterr().out
    assert "record" in said and "generated" in said


@pytest.mark.parametrize(
    ("more", "words"),
    [
        (["HOME", "HOME"], "given twice"),
        (["HOME", "OTHER", "--storms", "s.csv"], "more than one replay"),
        (["HOME", "OTHER", "--parted-at", "2002"], "there are 2 homes"),
        (["HOME", "--compared", "c.csv"], "nothing to compare"),
        (["HOME", "--parted-at", "1900"], "does not divide"),
        (["EMPTY"], "holds no home file"),
        (["HOME", "OTHER", "--html", "OTHER"], "overwrite"),
    ],
)
def test_what_does_not_go_together_is_refused(
    two: tuple[Path, Path], more: list[str], words: str, capsys: pytest.CaptureFixture[str]
) -> None:
    empty = two[0].with_name("empty")
    empty.mkdir()
    named = {"HOME": str(two[0]), "OTHER": str(two[1]), "EMPTY": str(empty)}
    before = two[1].read_text("utf-8")
    assert main(command(two[0], *(named.get(word, word) for word in more))) == 2
    said = capsys.readouterr()
    assert words in said.err and said.err.count("\n") == 1 and said.out == ""
    assert two[1].read_text("utf-8") == before


@pytest.mark.parametrize("more", [["--parted-at", "1700"], ["--generated", "1"]])
def test_what_cannot_be_is_refused_before_years_are_run(
    home: Path, more: list[str], capsys: pytest.CaptureFixture[str], monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.setattr("riskkit.years.cache.replay", lambda *_, **__: pytest.fail("it was run"))
    assert main(command(home, str(home), *more)) == 2
    assert capsys.readouterr().err.startswith(f"riskkit: {more[0]}: {more[1]} ")


def test_one_house_in_two_places_is_compared_with_itself(
    home: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    """The place and its rain stand in the home file; all else is the same, and so the draws."""
    wet = record_of({9000: HEAVY, 13000: HEAVY, 22000: HEAVY}, drizzle_mm=6.0)
    write_rain(wet, home.with_name("wet.csv"))
    other = home.with_name("other.toml")
    text = home.read_text("utf-8").replace('"rain.csv"', '"wet.csv"')
    other.write_text(text.replace("Split-level on clay", "The same elsewhere"), "utf-8")
    assert main(command(home, str(home), str(other), "--json")) == 0
    form = json.loads(capsys.readouterr().out)
    names = {one["home"]["name"]: one["a_year"]["pumped_m3"] for one in form["replays"]}
    dry, rainy = (names[name] for name in ("Split-level on clay, Alder Bend",
                                           "The same elsewhere, Alder Bend"))  # fmt: skip
    (pumped,) = (one for one in form["contrasts"] if one["what"] == "pumped_m3")
    more = abs(pumped["difference"]["mean"])
    assert rainy["mean"] > dry["mean"]
    assert more == pytest.approx(rainy["mean"] - dry["mean"], rel=1e-3)
    # of two draws the difference of each draw: as low as the lower, as high as the higher one
    ends = sorted(abs(rainy[point] - dry[point]) for point in ("low", "high"))
    told = sorted(abs(pumped["difference"][point]) for point in ("low", "high"))
    assert told == pytest.approx(ends, rel=1e-3)
