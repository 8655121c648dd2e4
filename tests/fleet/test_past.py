"""Large storms of a record: their windows, what they do to homes, and nights of them."""

from __future__ import annotations

import json
from dataclasses import replace
from pathlib import Path
from typing import Any

import numpy as np
import pytest
from fleet.company import BEGUN, DRAWS, HEAD, home

from riskkit.antecedent.before_storm import GroundFrom
from riskkit.cli.main import main
from riskkit.errors import InputError
from riskkit.failures.at_place import at_place
from riskkit.failures.past_storms import past_home_storms
from riskkit.fleet.night import past_nights_of
from riskkit.fleet.past import AFTER_H, BEFORE_H, DepthCurve, past_storms
from riskkit.fleet.past_told import PastTold, past_of_run
from riskkit.fleet.places import PlaceFiles
from riskkit.fleet.run import run_fleet
from riskkit.fleet.settings import FleetSettings
from riskkit.fleet.store import (
    SCHEMA,
    open_run,
    part_bytes,
    read_bad_rows,
    read_columns,
    write_part,
)
from riskkit.home.home import Home
from riskkit.records import DepthDurationFrequency, Hyetograph, RainRecord, Series
from riskkit.report.fleet_past_words import ground_words, past_storm_words
from riskkit.risk.critical import StormToRun
from riskkit.risk.design_rain import DesignRain

TABLE = DepthDurationFrequency(
    np.array([1.0, 24.0]), np.array([1.0, 10.0, 100.0]),
    np.array([[20.0, 40.0, 60.0], [50.0, 90.0, 130.0]]), Series.PARTIAL_DURATION,
)  # fmt: skip
SIX_DAYS = 6 * 24


def hourly(**more: float) -> np.ndarray:
    rain = np.zeros(SIX_DAYS)
    for at, depth in more.items():
        rain[int(at[1:])] = depth
    return rain


def test_the_window_of_a_storm_by_hand() -> None:
    """4 mm an hour is even; 30 mm in the hour from 60 on is broken down round its middle."""
    record = RainRecord(hourly(h58=4.0, h59=4.0, h60=30.0, h61=2.0), "2001-05-01", 3600)
    (storm,) = past_storms(record, TABLE, 5)
    assert storm.name == "2001-05-03" and storm.duration_h == 1.0 and storm.depth_mm == 30.0
    # 30 mm in an hour by the clock stand for 1.13 times as much in the worst hour (Weiss: 34.3 mm),
    # between 20 mm of a year and 40 mm of ten: 10^((34.3 - 20)/20) = 5.2 years
    assert np.exp(storm.log_period) == pytest.approx(5.2, rel=0.02)
    mm = storm.rain.depth_mm
    assert mm.size == (BEFORE_H + AFTER_H) * 4 and mm.sum() == pytest.approx(40.0)
    assert int(mm.argmax()) == BEFORE_H * 4
    # the wettest quarter lies round the middle of the hour, which begins one or two quarters before
    hour = np.datetime64("2001-05-03T12:00")
    before = (storm.window + np.timedelta64(BEFORE_H, "h") - hour) / np.timedelta64(15, "m")
    assert before in (1, 2)
    first = BEFORE_H * 4 - int(before)
    assert mm[first : first + 4].sum() == pytest.approx(30.0) and mm[first : first + 4].max() > 9
    assert mm[first - 8 : first] == pytest.approx(np.ones(8))
    told = storm.form()
    assert sum(told["rain_mm"]) == pytest.approx(40.0, abs=0.05) and len(told["rain_mm"]) == 84


def test_minutes_are_added_up_and_gaps_are_dry() -> None:
    rain = np.zeros(SIX_DAYS * 12)
    rain[60 * 12 : 60 * 12 + 6] = [1.0, 2.0, 3.0, 4.0, 5.0, 6.0]  # quarters of 6 and 15 mm
    rain[58 * 12] = np.nan
    (storm,) = past_storms(RainRecord(rain, "2001-05-01", 300), TABLE, 1)
    peak = BEFORE_H * 4
    assert storm.rain.depth_mm[peak - 2 : peak + 2] == pytest.approx([0.0, 6.0, 15.0, 0.0])
    assert storm.rain.depth_mm.sum() == pytest.approx(21.0) and storm.beside_gap


def test_days_tell_no_storm() -> None:
    days = RainRecord(np.array([0.0, 50.0, 0.0]), "2001-05-01", 86400)
    assert past_storms(days, TABLE, 5) == ()
    assert past_storms(RainRecord(hourly(h60=30.0), "2001-05-01", 3600), TABLE, 0) == ()


def test_a_curve_goes_on_as_it_ends() -> None:
    curve = DepthCurve(np.log([1.0, 10.0, 100.0]), np.array([20.0, 40.0, 70.0]))
    assert curve.depth_at(np.log([1.0, 10.0, 1000.0])) == pytest.approx([20.0, 40.0, 100.0])
    assert np.exp(curve.log_period_of(85.0)) == pytest.approx(100 * np.sqrt(10))
    assert np.exp(curve.log_period_of(0.0)) == pytest.approx(1.0)


def storm_of(rain: np.ndarray, factor: np.ndarray | None = None) -> StormToRun:
    return StormToRun(10.0, rain.size / 4, Hyetograph(rain, 900.0), 0.0, log_factor=factor)


def test_twice_the_rain_at_a_home_is_a_storm_of_twice_the_rain() -> None:
    one, drawn = Home(), at_place(Home(), DesignRain(TABLE), 16, 1)
    rain = np.zeros(84 * 4)
    rain[140:148] = 4.0
    dry, single, doubled, other = past_home_storms(
        one, drawn, 1,
        [storm_of(0 * rain), storm_of(rain), storm_of(2 * rain),
         storm_of(rain, np.full(16, np.log(2)))], [drawn.before] * 4,
    )  # fmt: skip
    for name in ("overtopped", "dead_to_floor_s", "stop_to_floor_s", "alarms"):
        assert getattr(other, name) == pytest.approx(getattr(doubled, name), rel=1e-9)
    assert dry.overtopped.sum() == 0 and doubled.rate_per_yr.tolist() == [0.1]
    assert np.all(doubled.dead_to_floor_s <= single.dead_to_floor_s)
    assert np.any(doubled.stop_to_floor_s < single.stop_to_floor_s)


def written(folder: Path, homes: list[dict[str, Any]], past: dict[str, Any]) -> Path:
    """A run that kept the storm of 10 years, and past storms."""
    settings = FleetSettings(DRAWS, kept_yr=(10.0,), day=BEGUN)
    open_run(folder, {"settings": settings.form(), "part_size": 50})
    write_part(folder, 0, part_bytes(homes, {"past": past}), [])
    return folder


def told(name: str) -> dict[str, Any]:
    return {
        "name": name, "begin": f"{name}T00:00", "end": f"{name}T03:00", "window": f"{name}T00:00",
        "duration_h": 3.0, "depth_mm": 50.8, "return_period_yr": 20.0, "beside_gap": False,
        "rain_mm": [0.0] * (BEFORE_H + AFTER_H), "ground": "its days", "snow_mm": 0.0,
        "may_be_frozen": False,
    }  # fmt: skip


BY_STORM = ("wet", "alarms", "dead_to_alarm_s", "dead_to_floor_s", "stop_to_floor_s",
            "stop_warning_s", "out_chance", "lost_chance")  # fmt: skip


def in_storms(number: int, place: str, *storms: dict[str, float]) -> dict[str, Any]:
    """A home of which, storm by storm, nothing happens but what is said."""
    rows = [home(number, **each) for each in storms]
    joined = {name: np.concatenate([row[name] for row in rows]) for name in BY_STORM}
    return rows[0] | joined | {"place": place}


def test_a_past_storm_comes_over_the_homes_of_its_record(tmp_path: Path) -> None:
    """Three homes of north.csv get wet in its second storm, one of south.csv in its own."""
    calm: dict[str, float] = {}
    homes = [in_storms(i, "north.csv", calm, calm, {"wet": 1.0, "alarms": 1.0}) for i in range(3)]
    homes.append(in_storms(9, "south.csv", calm, {"wet": 1.0, "alarms": 1.0}))
    past = {
        "north.csv": [told("1999-01-01"), told("2003-04-05")],
        "south.csv": [told("2010-08-09")],
    }
    run = written(tmp_path / "run", homes, past)
    assert [storm.name for storm in past_of_run(run)] == ["1999-01-01", "2003-04-05", "2010-08-09"]
    first, second, third = past_nights_of(run, 32)
    assert (first.homes, second.homes, third.homes) == (3, 3, 1)
    assert all(night.wet == night.alarms == 0 for night in first.nights)
    assert all((night.wet, night.alarms) == (3, 3) for night in second.nights)
    assert all(night.wet == 1 for night in third.nights)
    # both pumps in order: wet at the height of the storm, 36 h from the beginning of its window
    assert min(night.calls_h.min(initial=99.0) for night in second.nights) >= BEFORE_H
    assert len(second.calls_by_hour()) == BEFORE_H + AFTER_H
    (alone,) = past_nights_of(run, 32, day="2003-04-05")
    assert [night.wet for night in alone.nights] == [night.wet for night in second.nights]
    with pytest.raises(InputError, match="no storm that began on 2003-04-06"):
        past_nights_of(run, day="2003-04-06")


def test_the_power_fails_round_the_height_of_a_past_storm(tmp_path: Path) -> None:
    """It begins 2 to 22 h into a storm of a day, 10 h before to 10 h after its height."""
    homes = [in_storms(i, "a", {}, {"out_chance": 1.0, "stop_to_floor_s": 0.0}) for i in range(20)]
    for one in homes:
        one["neighbourhood"] = one["id"]
    (found,) = past_nights_of(written(tmp_path / "run", homes, {"a": [told("2003-04-05")]}), 64)
    assert all(night.without_power == night.wet == 20 for night in found.nights)
    calls = np.concatenate([night.calls_h for night in found.nights])
    assert np.median(calls) == pytest.approx(BEFORE_H, abs=1.5)


def test_past_storms_at_the_command_line(
    tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    homes = [in_storms(1, "a.csv", {}, {"wet": 1.0, "alarms": 1.0})]
    run = str(written(tmp_path / "run", homes, {"a.csv": [told("2003-04-05")]}))
    assert main(["fleet", "storm", run, "--past", "--nights", "16"]) == 0
    said = capsys.readouterr().out
    assert "2003-04-05" in said and "2.0 in (51 mm)" in said and "1 (1 to 1)" in said
    assert main(["fleet", "storm", run, "--past", "2003-04-05", "--nights", "16"]) == 0
    assert "as comes once in 20 years, over 1 home, 16 nights" in capsys.readouterr().out
    assert main(["fleet", "storm", run, "--past", "--json", "--nights", "16"]) == 0
    (form,) = json.loads(capsys.readouterr().out)["storms"]
    assert form["past"]["place"] == "a.csv" and form["wet"]["mean"] == 1.0
    assert len(form["calls_by_hour"]) == 84
    assert main(["fleet", "storm", run, "--past", "2003-04-06"]) == 2
    none = str(written(tmp_path / "none", [in_storms(1, "a.csv", {})], {}))
    assert main(["fleet", "storm", none, "--past"]) == 2
    assert "the run kept no storm of a record" in capsys.readouterr().err


def storm_told(name: str, **more: Any) -> PastTold:
    return PastTold("a.csv", 0, **told(name) | {"rain_mm": ()} | more)


def test_the_ground_of_past_storms_is_told() -> None:
    first, second, third = (storm_told(f"2003-04-0{day}") for day in (1, 2, 3))
    (alone,) = ground_words([first, second])
    assert alone.startswith("The ground is as the days before each storm left it")
    assert "in general" not in past_storm_words(first)
    early = storm_told("1981-05-06", ground="first year")
    lost = storm_told("1999-01-02", ground="missing days")
    snowy = replace(third, snow_mm=31.0, may_be_frozen=True)
    assert ground_words([first, early, snowy, lost])[1:] == (
        "The ground before 1981-05-06 is as before large storms in general: the daily temperatures "
        "begin less than a year before.",
        "The ground before 1999-01-02 is as before large storms in general: days are missing in "
        "the weeks before.",
        "Snow lay before 2003-04-03; its melt in the storm does not count.",
        "The ground may have been frozen before 2003-04-03; that less soaks in then does not "
        "count.",
    )
    assert past_storm_words(early).endswith("years, on ground as before large storms in general")
    none = [storm_told(name, ground="no daily temperatures") for name in ("1981-05-06", "1999-01")]
    assert ground_words(none) == (
        "The ground is as before large storms in general: there are no daily temperatures of the "
        "time.",
    )
    (few,) = ground_words([storm_told("1981-05-06", ground="few large storms")])
    assert few.endswith("the daily temperatures cover too few large storms.")
    for why in GroundFrom:
        assert ground_words([storm_told("1981-05-06", ground=why.value)])


def test_a_run_of_an_older_version_had_other_ground(tmp_path: Path) -> None:
    """Version 2 told nothing of the ground, and ran all past storms as large ones in general."""
    old = {k: v for k, v in told("2003-04-05").items()
           if k not in ("ground", "snow_mm", "may_be_frozen")}  # fmt: skip
    run = written(tmp_path / "run", [in_storms(1, "a.csv", {}, {"wet": 1.0})], {"a.csv": [old]})
    manifest = json.loads((run / "run.json").read_text("utf-8"))
    assert manifest["schema_version"] == 4
    (run / "run.json").write_text(json.dumps(manifest | {"schema_version": 2}), "utf-8")
    (night,) = past_nights_of(run, 16)
    assert night.past is not None and night.past.ground is None
    assert ground_words([night.past]) == (
        "The ground is as before large storms in general: the run was made before the days before "
        "each storm counted.",
    )
    settings = {
        "settings": FleetSettings(DRAWS, kept_yr=(10.0,), day=BEGUN).form(),
        "part_size": 50,
    }
    with pytest.raises(InputError, match="another version"):
        open_run(run, settings)


def record_file(folder: Path) -> PlaceFiles:
    """Twelve years of hours with one storm a month, the greatest in the last June."""
    rng, years = np.random.default_rng(1), 12
    rain = np.zeros(years * 8760)
    for month in range(years * 12):
        rain[month * 730 + 100 : month * 730 + 106] = rng.uniform(1.0, 6.0)
    at = (years - 1) * 8760 + 5 * 730 + 100
    rain[at : at + 6] = 25.0
    lines = "".join(
        f"{np.datetime64('2001-01-01T00:00') + np.timedelta64(hour, 'h')},{depth:.2f}\n"
        for hour, depth in enumerate(rain)
    )  # fmt: skip
    (folder / "rain.csv").write_text(f"# unit: mm\n# interval: 1 h\ntime,rain\n{lines}", "utf-8")
    return PlaceFiles(record=str(folder / "rain.csv"))


def test_a_run_keeps_the_storms_of_its_record_and_rain_that_differs(tmp_path: Path) -> None:
    """One home stands at the gauge, where all falls; others only near it, or nowhere said."""
    at = "A,,,41.20,-88.60,138,,,clay,,,\n"
    near = "B,,,41.35,-88.60,138,,,clay,,,\n"
    nowhere = "C,,,,,138,,,clay,,,\n"
    (tmp_path / "homes.csv").write_text(HEAD + at + near + nowhere, "utf-8")
    usual = record_file(tmp_path)
    rows = {}
    for name, more in (("even", {"even_rain": True}), ("apart", {"gauge": (41.2, -88.6)})):
        settings = FleetSettings(16, past=2, day=BEGUN, **more)
        run_fleet(tmp_path / "homes.csv", tmp_path / name, settings, usual=usual, workers=0)
        assert not list(read_bad_rows(tmp_path / name))
        (part,) = read_columns(tmp_path / name, SCHEMA.names)
        rows[name] = {row["id"]: row for row in part.to_pylist()}
    assert len(rows["even"]["A"]["wet"]) == (2 + 2) * 16
    assert past_of_run(tmp_path / "apart")[0].name[:7] == "2012-06"
    for same in "AC":
        assert rows["even"][same] == rows["apart"][same]
    changed = {k for k, v in rows["even"]["B"].items() if rows["apart"]["B"][k] != v}
    assert "dead_to_floor_s" in changed and changed <= {*BY_STORM}
    slower, before = (
        np.array(rows[name]["B"]["dead_to_floor_s"])[32:48] for name in ("apart", "even")
    )
    assert np.mean(slower >= before) > 0.5  # 17 km from the largest storm mostly less falls
