"""What an outside program asks of the library: values that travel, and refusals in a sentence."""

from __future__ import annotations

import pickle  # of what the test itself has written
import re
from dataclasses import replace
from pathlib import Path

import numpy as np
import pandas as pd
import pytest

import riskkit as rk
from riskkit.cli.main import main
from riskkit.errors import InputError, NoPitError, RangeError
from riskkit.records import FrozenMapping
from riskkit.tables import load_table

FEW = rk.Settings(n_draws=16, return_periods_yr=(2.0, 10.0))


@pytest.fixture(scope="module")
def home(demo_sites: Path) -> rk.Home:
    return rk.load_home(demo_sites / "split_level_on_clay.toml")


@pytest.fixture(scope="module")
def rain(home: rk.Home) -> rk.DesignRain:
    return rk.design_rain(home)


@pytest.fixture(scope="module")
def answer(home: rk.Home, rain: rk.DesignRain) -> rk.Assessment:
    return home.assess(rain, FEW)


@pytest.fixture(scope="module")
def yearly(home: rk.Home, rain: rk.DesignRain) -> rk.YearlyChance:
    return rk.chance(home, rain, n_draws=16)


@pytest.fixture(scope="module")
def intervals(home: rk.Home, rain: rk.DesignRain) -> rk.Intervals:
    return rk.interval(home, rain, every_yr=[1, 3], n_draws=16)


@pytest.fixture(scope="module")
def years(home: rk.Home, rain: rk.DesignRain) -> rk.Replay:
    record = rain.record
    assert record is not None
    n = int(6 * 365.25 * 86400 / record.interval_s)
    short = replace(record, depth_mm=record.depth_mm[:n])
    return rk.replay(home, rk.design_rain(home, record=short), rk.ReplaySettings(n_draws=2))


def test_homes_and_answers_go_to_other_processes(
    home: rk.Home, rain: rk.DesignRain, answer: rk.Assessment, yearly: rk.YearlyChance,
    intervals: rk.Intervals, years: rk.Replay,
) -> None:  # fmt: skip
    for value in (home, rain, answer, yearly, intervals, years, rk.remedies()[0]):
        again = pickle.loads(pickle.dumps(value))  # noqa: S301 - written the line before
        assert again == value and type(again) is type(value)
    assert pickle.loads(pickle.dumps(home)).folder == home.folder  # noqa: S301 - written on this line


def test_values_with_arrays_are_compared_by_value(
    rain: rk.DesignRain, answer: rk.Assessment, yearly: rk.YearlyChance
) -> None:
    record = rain.record
    assert record is not None
    depth_mm = np.array(record.depth_mm)
    depth_mm[7] = np.nan  # a gap is as another gap
    gappy, same = (replace(record, depth_mm=depth_mm.copy()) for _ in range(2))
    assert same == gappy != record and hash(same) == hash(gappy)
    depth_mm[5] += 0.1
    assert replace(record, depth_mm=depth_mm) != record
    assert replace(rain.used, depth_mm=rain.used.depth_mm + 1.0) != rain.used
    assert record != rain.used and record != "rain"
    assert replace(answer, storms=answer.storms[:1]) != answer
    assert replace(yearly, per_yr_by_draw=yearly.per_yr_by_draw * 2.0) != yearly


def test_changes_go_into_sets() -> None:
    change = rk.Change("wider pit", {"pit.diameter": "30 in"})
    assert {change, rk.Change("wider pit", {"pit.diameter": "30 in"})} == {change}
    assert change != rk.Change("wider pit", {"pit.diameter": "24 in"})
    assert FrozenMapping({"a": 1, "b": 2}) == {"b": 2, "a": 1}
    with pytest.raises(TypeError):
        change.values["pit.diameter"] = "5 in"  # type: ignore[index]  # noqa: PD011 - on purpose


def test_storms_outside_the_table_are_named(home: rk.Home, rain: rk.DesignRain) -> None:
    asked = replace(FEW, return_periods_yr=(2.0, 10.0, 200.0, 500.0))
    found = home.assess(rain, asked)
    assert found.settings.return_periods_yr == (2.0, 10.0)
    said = "Storms of 200 and 500 years were asked for and are left out"
    assert sum(said in warning for warning in found.warnings) == 1
    with pytest.raises(rk.InputError, match="it holds storms of 1 to 100 years, not of 500"):
        home.assess(rain, replace(asked, headline_yr=500.0))


def test_nothing_is_said_of_storms_that_are_held(answer: rk.Assessment) -> None:
    assert not [warning for warning in answer.warnings if "left out, for" in warning]


INF, NAN = float("inf"), float("nan")


@pytest.mark.parametrize(
    ("values", "words"),
    [
        ({"step_s": "300"}, "time step: '300' has the wrong type; give seconds from 30 to 900"),
        ({"step_s": 0}, "time step: 0 cannot be"),
        ({"step_s": NAN}, "time step: it is not a number"),
        ({"step_s": 7200.0}, "time step: 7200 cannot be"),
        ({"seed": -1}, "seed: -1 is below zero"),
        ({"seed": 1.5}, r"seed: 1\.5 has the wrong type; give a whole number"),
        ({"seed": True}, "seed: True has the wrong type"),
        ({"n_draws": True}, "draws: True has the wrong type; give a power of two"),
        ({"n_draws": 48}, "draws: 48 is not a power of two from 16 to 65536"),
        ({"return_periods_yr": ()}, "return periods: there is none; give years"),
        ({"return_periods_yr": (0.0, 10.0)}, "return periods: 0 is not above zero"),
        ({"return_periods_yr": (10.0, INF)}, "return periods: inf cannot be"),
        ({"return_periods_yr": ("2", 10.0)}, "return periods: '2' has the wrong type"),
        ({"headline_yr": "10"}, "headline: '10' has the wrong type; give years, such as 10"),
    ],
)
def test_settings_that_cannot_be_are_refused(values: dict[str, object], words: str) -> None:
    with pytest.raises(rk.InputError, match=words):
        rk.Settings(**values)  # type: ignore[arg-type]  # on purpose


@pytest.mark.parametrize(
    ("values", "words"),
    [
        ({"remote_alarm": "yes"}, "remote_alarm: 'yes' has the wrong type; give True or False"),
        ({"has_alarm": 1}, "has_alarm: 1 has the wrong type"),
        ({"day": "2026-04-14"}, r"day: '2026-04-14' has the wrong type; write datetime\.date"),
        ({"mended": frozenset({"pump_broken"})}, "there is no cause 'pump_broken'; known are pump"),
        ({"mended": "pump_worn"}, "mended: 'pump_worn' has the wrong type; give causes"),
        ({"finds": True}, "True has the wrong type; give a number"),
        ({"pump_age_yr": NAN}, "it is not a number; give a number"),
    ],
)
def test_circumstances_that_cannot_be_are_refused(values: dict[str, object], words: str) -> None:
    with pytest.raises(rk.InputError, match=words):
        rk.Circumstances(**values)  # type: ignore[arg-type]  # on purpose


def test_circumstances_take_any_set_of_causes() -> None:
    found = rk.Circumstances(mended=["pump_worn"], visit_every_yr=INF)  # type: ignore[arg-type]  # a list
    assert found.mended == frozenset({"pump_worn"}) and hash(found) is not None


FLAGS = pd.Series(
    [True, False] * 30, index=pd.date_range("2020-01-01", periods=60, freq="h"), name="depth_mm"
)
MONTHS = pd.Series(
    np.arange(24.0), index=pd.date_range("2010-01-01", periods=24, freq="MS"), name="depth_mm"
)
US = rk.UnitSystem.US


@pytest.mark.parametrize(
    ("call", "words"),
    [
        (lambda h, r, a: rk.replay(h, "x.csv"), "what design_rain returns"),
        (lambda h, r, a: rk.replay(h, r.used), "there is no rain record"),
        (lambda h, r, a: rk.replay(h, r.record.to_series()), "rain: Series has the wrong type"),
        (lambda h, r, a: rk.replay(h, r, rk.Settings()), "settings: Settings has the wrong type"),
        (lambda h, r, a: rk.compare_replays(h, [], 5), "what design_rain returns"),
        (lambda h, r, a: rk.depth_duration_frequency(r.record.to_series()), "one with read_rain"),
        (lambda h, r, a: rk.depth_duration_frequency(r.record, 5), "rng: 5 has the wrong type"),
        (lambda h, r, a: rk.depth_duration_frequency(r.record, duration_h=[-1]),
         "durations: -1 is not above zero; give hours"),
        (lambda h, r, a: rk.depth_duration_frequency(r.record, duration_h=[]),
         "durations: there is none"),
        (lambda h, r, a: rk.depth_duration_frequency(r.record, return_period_yr=5),
         "return periods: 5 is not a list"),
        (lambda h, r, a: rk.depth_duration_frequency(r.record, min_known_share=5),
         "min_known_share: 5 cannot be; give a share of 0 to 1"),
        (lambda h, r, a: rk.write_rain(r.record.to_series(), "x.csv"), "make one with read_rain"),
        (lambda h, r, a: rk.write_rain(r.record, 5), "give the path of a file to write"),
        (lambda h, r, a: rk.read_rain(FLAGS), "depth_mm holds yes and no, not depths"),
        (lambda h, r, a: rk.read_rain(MONTHS), "an interval of 31 days is outside 1 min to 1 day"),
        (lambda h, r, a: rk.read_rain_table(5), "rain table: 5 has the wrong type"),
        (lambda h, r, a: rk.interval(h, r, every_yr=2), "intervals: 2 is not a list; give years"),
        (lambda h, r, a: rk.interval(h, r, every_yr=[0.0]), "intervals: 0 is not above zero"),
        (lambda h, r, a: rk.rank_remedies(h, r, changes=["x"]), "there is no remedy 'x'"),
        (lambda h, r, a: rk.rank_remedies(h, r, budget="x"), "budget: 'x' has the wrong type"),
        (lambda h, r, a: rk.rank_remedies(h, r, prices=5), r"write Prices\(visit=150\)"),
        (lambda h, r, a: rk.chance(h, r, n_draws="16"), "draws: '16' has the wrong type"),
        (lambda h, r, a: rk.chance(h, r, seed="x"), "seed: 'x' has the wrong type"),
        (lambda h, r, a: rk.chance(h, r, seed=-1), "seed: -1 is below zero"),
        (lambda h, r, a: rk.chance(h, r, pattern="nested"), "give one of Pattern"),
        (lambda h, r, a: rk.side_by_side([1, 2]), "give them by name"),
        (lambda h, r, a: rk.two_periods(h), r"give what replay\(home\) returns"),
        (lambda h, r, a: rk.years_study(h), r"give what replay\(home\) returns"),
        (lambda h, r, a: rk.design_rain(h, table=5), "table: 5 has the wrong type"),
        (lambda h, r, a: rk.design_rain(h, folder=5), "folder: 5 has the wrong type"),
        (lambda h, r, a: rk.design_rain(h, climate="2"), "climate: "),
        (lambda h, r, a: rk.design_rain(h, seed="x"), "seed: 'x' has the wrong type"),
        (lambda h, r, a: rk.level_chart(a, "us", 10.0), r"give UnitSystem\.US"),
        (lambda h, r, a: rk.level_chart(a, US, 7.0), "no storm of 7 years; they are of 2, 10"),
        (lambda h, r, a: rk.level_chart(h, US, 10.0), r"give what assess\(home\) returns"),
        (lambda h, r, a: rk.sentence(h), r"give what assess\(home\) returns"),
        (lambda h, r, a: a.trace("10"), "years: '10' has the wrong type; give a number"),
        (lambda h, r, a: rk.compare(h, [], r, 5), r"write Settings\(n_draws=512\)"),
        (lambda h, r, a: h.quantity("pit.diametre"), r"did you mean 'pit\.diameter'\?"),
        (lambda h, r, a: h.quantity("pit"), r"of pit known are pit\.diameter, "),
        (lambda h, r, a: h.quantity("ground.slope"), "is not a quantity of a home"),
        (lambda h, r, a: h.choice("pit.diameter"), "is not a choice of a home"),
        (lambda h, r, a: h.pairs("pit.depth"), r"known are pit\.table, pump\.curve"),
        (lambda h, r, a: h.cost("floods"), "did you mean 'flood'"),
        (lambda h, r, a: h.changed(**{"pit.diametre": "24 in"}), 'did you mean "diameter"'),
        (lambda h, r, a: rk.Prices(visit=True), "visit: True has the wrong type"),
        (lambda h, r, a: rk.Prices(currency=5), "currency: 5 has the wrong type"),
        (lambda h, r, a: rk.ReplaySettings(least_mm="x"), "least_mm: 'x' has the wrong type"),
    ],
)  # fmt: skip
def test_wrong_arguments_are_refused_in_a_sentence(
    home: rk.Home, rain: rk.DesignRain, answer: rk.Assessment, call: object, words: str
) -> None:
    with pytest.raises(rk.InputError, match=words) as told:
        call(home, rain, answer)  # type: ignore[operator]  # one of those above
    assert "\n" not in str(told.value)


def test_a_key_with_its_point_is_changed(home: rk.Home) -> None:
    dotted = home.changed(**{"pit.diameter": "24 in"})
    assert dotted == home.changed(pit__diameter="24 in") != home


def test_one_change_is_ranked_as_a_list_of_it(home: rk.Home, rain: rk.DesignRain) -> None:
    found = rk.rank_remedies(home, rain, changes=rk.remedies()[0], n_draws=16)
    assert "downspouts" in found.to_frame().index and "gutters" not in found.to_frame().index


def test_refusals_come_back_from_other_processes() -> None:
    told = InputError("rain.csv", "the unit is not stated", "give it", argument="unit")
    for error in (told, RangeError("pit", "it is flat"), NoPitError()):
        again = pickle.loads(pickle.dumps(error))  # noqa: S301 - written the line before
        assert type(again) is type(error) and str(again) == str(error)
    assert pickle.loads(pickle.dumps(told)).argument == "unit"  # noqa: S301 - written on this line
    assert told.within("home").argument == "unit"


@pytest.mark.parametrize(
    ("options", "words"),
    [
        (["rain", "RECORD"], "or give the unit, with --unit in.\n"),
        (["rain", "GOOD", "--neighbour", "RECORD"], "the unit, with --neighbour-unit in.\n"),
        (["rain", "GOOD", "--unit", "lb"], "'lb' is not"),
    ],
)
def test_the_command_line_says_how_its_option_is_written(
    options: list[str], words: str, tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    rows = "2020-06-01 00:00,0\n2020-06-01 01:00,1\n2020-06-01 02:00,2\n"
    files = {"RECORD": tmp_path / "bare.csv", "GOOD": tmp_path / "good.csv"}
    files["RECORD"].write_text(f"time,rain\n{rows}", encoding="utf-8")
    files["GOOD"].write_text(f"time,rain_mm\n{rows}", encoding="utf-8")
    assert main([str(files.get(each, each)) for each in options]) == 2
    said = capsys.readouterr().err
    assert words in said and said.count("\n") == 1


def test_the_library_speaks_of_no_option() -> None:
    root = Path(rk.__file__).parent
    parts = ("rainfall", "risk", "failures", "options", "years", "home", "records", "quantities")
    modules = [
        *root.glob("*.py"),
        *(each for part in parts for each in (root / part).rglob("*.py")),
    ]
    assert len(modules) > 100
    option = re.compile(r"(?<![\w-])--[a-z][a-z-]+")
    spoken = {path.name: option.findall(path.read_text("utf-8")) for path in modules}
    assert {name: found for name, found in spoken.items() if found} == {}


def test_what_is_printed_is_short_and_names_its_number(
    home: rk.Home, rain: rk.DesignRain, answer: rk.Assessment, yearly: rk.YearlyChance,
    intervals: rk.Intervals, years: rk.Replay,
) -> None:  # fmt: skip
    assert f"mean {yearly.mean:.2g} a year; median {yearly.chance.median:.2g}" in repr(yearly)
    assert "mean chance by years 1: " in repr(intervals)
    storm = answer.headline_storm
    found = storm.worst_stop.to_floor_s.if_ever
    assert found is not None and found.median > 7200.0
    for value in (answer, storm):
        assert f"{found.median / 3600:.3g} h" in repr(value)
    study = rk.years_study(years)
    assert repr(study) == f"YearsStudy({years!r})"
    for value in (yearly, intervals, storm, study):
        assert len(repr(value)) < 250 and "\n" not in repr(value)
    assert repr(rk.compare(home, [], rain, FEW)).endswith("as it is)")


def test_a_change_that_a_home_cannot_have_is_left_out(home: rk.Home) -> None:
    wider = rk.Change("wider pit", {"pit.diameter": "30 in"})
    box = rk.Home().changed(pit={"length": "24 in", "width": "20 in"})
    assert wider.fits(home) and not wider.fits(box)
    with pytest.raises(rk.InputError, match="depht"):
        rk.Change("deeper pit", {"pit.depht": "30 in"}).fits(box)
    for change in rk.remedies():
        assert isinstance(change.fits(box), bool)


def test_every_table_of_soils_knows_the_same_textures_in_one_order() -> None:
    soils = [row["texture"] for row in load_table("soils").rows]
    for name in ("texture_centres", "soil_unknown"):
        assert [row["texture"] for row in load_table(name).rows] == soils, name
    felt = [row["texture"] for row in load_table("soil_feel").rows]
    assert set(felt) == set(soils)  # each can be found by hand
    by_feel: dict[str, list[int]] = {}
    for row in load_table("soil_feel").rows:
        by_feel.setdefault(row["feel"], []).append(soils.index(row["texture"]))
    assert all(places == sorted(places) for places in by_feel.values())


def test_a_home_that_has_more_is_not_offered_less(home: rk.Home) -> None:
    by_name = {change.name: change for change in rk.remedies()}
    better = home.changed(pump__capacity="110 %")
    assert by_name["pump"].is_in_place(better)
    assert by_name["pump"].is_in_place(home.changed(pump__capacity="100 %"))
    assert not by_name["pump"].is_in_place(home.changed(pump__capacity="60 %"))
    assert not by_name["downspouts"].is_in_place(home.changed(roof__at_wall="2 of 6"))
    equal = rk.Change("pump", {"pump.capacity": "100 %"})
    assert not equal.is_in_place(better)


@pytest.mark.parametrize("pit", [{}, {"length": "24 in", "width": "20 in"}])
def test_every_remedy_can_be_tried_at_every_home(pit: dict[str, str], demo_sites: Path) -> None:
    sites = sorted(demo_sites.glob("*.toml"))
    assert len(sites) >= 4
    for site in sites:
        home = rk.load_home(site)
        if pit:
            unknown = {"diameter": "unknown", "bottom_diameter": "unknown"}
            home = home.changed(pit=unknown | pit)
        for change in rk.remedies():
            if change.fits(home):
                after = change.applied(home)
                assert change.is_in_place(after) or change.is_in_place(home), (
                    site.name,
                    change.name,
                )
