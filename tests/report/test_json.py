"""The JSON answer: every key that was promised is there, and its schema says what it holds."""

from __future__ import annotations

import copy
import json
from typing import Any

import jsonschema
import pytest
from report import answer_keys

from riskkit.assessment import Assessment
from riskkit.report.answer_form import FORM_VERSION, answer_schema, number
from riskkit.report.json import assessment_form


@pytest.fixture(scope="module")
def forms(answers: dict[str, Assessment]) -> dict[str, Any]:
    return {name: json.loads(json.dumps(assessment_form(a))) for name, a in answers.items()}


def test_no_key_goes_or_changes_without_a_new_version() -> None:
    assert answer_keys.faults() == []
    assert answer_keys.read() == (FORM_VERSION, answer_keys.keys()), (
        "python " + answer_keys.__file__
    )


def test_the_answers_of_the_demo_homes_follow_the_schema(forms: dict[str, Any]) -> None:
    for form in forms.values():
        jsonschema.validate(form, answer_schema())  # which allows no other key and misses none
    (extra, less) = (copy.deepcopy(forms["home_just_met"]) for _ in range(2))
    extra["storms"][0]["pump_stopped"]["depth_m"] = 1.0
    del less["storms"][0]["middle_home"]["alarm_level_m"]
    for form in (extra, less):
        with pytest.raises(jsonschema.ValidationError):
            jsonschema.validate(form, answer_schema())


def test_a_key_that_is_gone_is_named(monkeypatch: pytest.MonkeyPatch) -> None:
    version, written = answer_keys.read()
    monkeypatch.setattr(answer_keys, "read", lambda: (version, ["old: string", *written]))
    assert answer_keys.faults() == ["old: string"]
    with pytest.raises(SystemExit, match="need a new FORM_VERSION:\nold: string"):
        answer_keys.main()
    monkeypatch.setattr(answer_keys, "read", lambda: (version - 1, ["old: string", *written]))
    assert answer_keys.faults() == []


@pytest.mark.parametrize(
    ("path", "value"),
    [
        (["storms", 0, "pump_working", "floor_dry_share"], 1.2),
        (["storms", 0, "rain_mm"], None),
        (["storms", 0, "pump_stopped", "with_other_draws", "middle_s"], "never"),
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
