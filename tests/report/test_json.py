"""The JSON answer: every key that was promised is there, and its schema says what it holds."""

from __future__ import annotations

import copy
import json
from itertools import pairwise
from pathlib import Path
from typing import Any

import jsonschema
import pytest
from report import answer_keys

from riskkit.assessment import Assessment, PitPart, Settings, assess
from riskkit.failures.yearly import chance
from riskkit.home.home import load_home
from riskkit.report.answer_form import answer_schema, number
from riskkit.report.json import assessment_form


@pytest.fixture(scope="module")
def forms(answers: dict[str, Assessment]) -> dict[str, Any]:
    return {name: json.loads(json.dumps(assessment_form(a))) for name, a in answers.items()}


@pytest.mark.parametrize("form", answer_keys.FORMS)
def test_no_key_goes_or_changes_without_a_new_version(form: str) -> None:
    assert answer_keys.faults(form) == []
    version = answer_keys.FORMS[form][0]
    assert answer_keys.read(form) == (version, answer_keys.keys(form)), (
        "python " + answer_keys.__file__
    )


def test_the_answers_of_the_demo_homes_follow_the_schema(forms: dict[str, Any]) -> None:
    for form in forms.values():
        jsonschema.validate(form, answer_schema())  # which allows no other key and misses none
    (extra, less) = (copy.deepcopy(forms["home_just_met"]) for _ in range(2))
    extra["storms"][0]["pump_stopped"]["depth_m"] = 1.0
    del less["storms"][0]["median_home"]["alarm_level_m"]
    for form in (extra, less):
        with pytest.raises(jsonschema.ValidationError):
            jsonschema.validate(form, answer_schema())


def test_a_key_that_is_gone_is_named(monkeypatch: pytest.MonkeyPatch) -> None:
    version, written = answer_keys.read()
    held = ["old: string", *written]
    monkeypatch.setattr(answer_keys, "read", lambda _="answer": (version, held))
    assert answer_keys.faults() == ["old: string"]
    with pytest.raises(SystemExit, match="need a new form version:\nold: string"):
        answer_keys.main()
    monkeypatch.setattr(answer_keys, "read", lambda _="answer": (version - 1, held))
    assert answer_keys.faults() == []


@pytest.mark.parametrize(
    ("path", "value"),
    [
        (["storms", 0, "pump_working", "floor_dry_share"], 1.2),
        (["storms", 0, "rain_mm"], None),
        (["storms", 0, "pump_stopped", "with_other_draws", "median_s"], "never"),
        (["state", "time_counted_from"], "the alarm"),
        (["assumptions", 0, "p50"], "8 in"),
        (["rain", "depth_m"], [[1.0]]),
        (["form_version"], 1),
    ],
)
def test_the_schema_refuses_what_is_no_answer(
    forms: dict[str, Any], path: list[Any], value: Any
) -> None:
    form = copy.deepcopy(forms["split_level_on_clay"])
    part = form
    for key in path[:-1]:
        part = part[key]
    part[path[-1]] = value
    jsonschema.validate(forms["split_level_on_clay"], answer_schema())
    with pytest.raises(jsonschema.ValidationError):
        jsonschema.validate(form, answer_schema())


def test_six_digits_and_no_infinity() -> None:
    assert number(1234567.0) == 1234570.0 and number(1e-7 / 3) == 3.33333e-08
    assert number(float("inf")) is None and number(float("nan")) is None


def test_the_water_of_the_pit_is_that_of_the_answer(
    forms: dict[str, Any], answers: dict[str, Assessment]
) -> None:
    for name, answer in answers.items():
        for storm, form in zip(answer.storms, forms[name]["storms"], strict=True):
            told = form["water_to_pit"]
            for key, parts in (
                ("first_24_h_m3", storm.water_to_pit.first_day_m3),
                ("next_48_h_m3", storm.water_to_pit.next_days_m3),
            ):
                assert list(told[key]) == [part.value for part in parts]
                for part, amount in parts.items():
                    points = (amount.low, amount.median, amount.high)
                    assert list(told[key][part.value].values()) == pytest.approx(points, rel=1e-5)
        day = [storm.water_to_pit.first_day_m3[PitPart.TO_PIT].median for storm in answer.storms]
        assert all(less < more for less, more in pairwise(day)), name


def test_what_follows_from_a_stop_is_that_of_the_answer(
    forms: dict[str, Any], answers: dict[str, Assessment]
) -> None:
    for name, answer in answers.items():
        storm, form = answer.headline_storm, forms[name]["storms"]
        form = next(f for f in form if f["return_period_yr"] == storm.return_period_yr)
        stopped, dead = form["pump_stopped"], form["pump_stopped"]["dead_before_storm"]
        for told, outcome in (
            (stopped["stop_to_alarm_worst_s"], storm.worst_stop.to_alarm_s),
            (dead["rain_to_alarm_s"], storm.dead_before.rain_to_alarm_s),
            (dead["alarm_to_floor_s"], storm.dead_before.alarm_to_floor_s),
            (dead["rain_to_floor_s"], storm.dead_before.rain_to_floor_s),
        ):
            assert told["never_share"] == pytest.approx(outcome.never_share, abs=1e-6)
            assert told["median"] == number(outcome.median)
        assert stopped["joint_first_share"] == pytest.approx(
            storm.worst_stop.joint_first_share, abs=1e-6
        )
        assert form["pump_working"]["water_at_joint_share"] == pytest.approx(
            storm.pump_working.joint_share, abs=1e-6
        )


def test_the_chance_of_a_year_stands_in_the_answer(demo_sites: Path) -> None:
    home = load_home(demo_sites / "split_level_on_clay.toml")
    answer = assess(home, settings=Settings(n_draws=32))
    assert assessment_form(answer)["chance_of_a_year"] is None
    found = chance(home.changed(second_pump__runs_on="battery"), n_draws=32)
    form = json.loads(json.dumps(assessment_form(answer, found)))
    jsonschema.validate(form, answer_schema())
    told = form["chance_of_a_year"]
    assert told["mean_per_yr"] == pytest.approx(found.mean, rel=1e-5)
    assert told["per_yr"]["median"] == pytest.approx(found.chance.median, rel=1e-5)
    assert sum(each["share"] for each in told["causes"]) == pytest.approx(1.0, abs=1e-4)
    assert told["second_pump"]["has_battery"] is True
    assert "judgement" in told["rests_on"]
