"""The years of a home as JSON: its schema says what it holds, and the numbers are the replay's."""

from __future__ import annotations

import copy
import json
from typing import Any

import jsonschema
import numpy as np
import pytest

import riskkit as rk
from riskkit.cli.main import main
from riskkit.options.replays import YearsStudy, years_study
from riskkit.report.replay_form import replay_schema
from riskkit.report.replay_json import replay_form
from tests.replay.made import clay, rain_of, record_of

SHOWER = np.array([10.0, 45.0, 25.0, 20.0, 15.0])
RAIN = rain_of(record_of({9000: SHOWER, 16000: 0.7 * SHOWER, 21000: SHOWER}))


@pytest.fixture(scope="module")
def study() -> YearsStudy:
    return years_study(rk.replay(clay(), RAIN, rk.ReplaySettings(n_draws=16)), RAIN)


@pytest.fixture(scope="module")
def form(study: YearsStudy) -> Any:
    return json.loads(json.dumps(replay_form(study), allow_nan=False))


def test_it_follows_the_schema_which_allows_no_other_key(form: Any) -> None:
    jsonschema.validate(form, replay_schema())
    less, more = copy.deepcopy(form), copy.deepcopy(form)
    del less["storms"][0]["pump_stopped"]["stop_to_floor_worst_s"]
    more["months_of_year"][0]["pumped_gal"] = 1.0
    for wrong in (less, more):
        with pytest.raises(jsonschema.ValidationError):
            jsonschema.validate(wrong, replay_schema())


@pytest.mark.parametrize(
    ("path", "value"),
    [
        (["state", "time_counted_from"], "siren"),
        (["storms", 0, "start"], "11 January 2002"),
        (["storms", 0, "floor_wet_share"], 1.5),
        (["months_of_year"], []),
        (["visits", "due_now"], ["rust"]),
        (["form_version"], 1),
        (["a_year", "pumped_m3", "median"], None),
    ],
)
def test_the_schema_refuses_what_is_no_answer(form: Any, path: list[Any], value: Any) -> None:
    wrong = copy.deepcopy(form)
    part = wrong
    for key in path[:-1]:
        part = part[key]
    part[path[-1]] = value
    with pytest.raises(jsonschema.ValidationError):
        jsonschema.validate(wrong, replay_schema())


def test_the_numbers_are_those_of_the_replay(form: Any, study: YearsStudy) -> None:
    replay = study.replay
    worst = replay.outcomes.worst_s[:, 0]
    told = form["storms"][0]["pump_stopped"]["alarm_to_floor_worst_s"]
    finite = np.sort(worst[np.isfinite(worst)])
    assert told["never_share"] == pytest.approx(1 - finite.size / 16)
    assert told["if_ever"]["median"] == pytest.approx(finite[(finite.size + 1) // 2 - 1], rel=1e-5)
    pumped = replay.by_month.pumped_m3
    assert form["a_year"]["pumped_m3"]["mean"] == pytest.approx(pumped.sum() / 16 / 3, rel=1e-5)
    assert form["months"][4]["pumped_m3"]["high"] == pytest.approx(
        np.sort(pumped[:, 4])[14], rel=1e-5
    )
    assert [form["storms"][i]["start"] for i in range(3)] == [
        str(s.start.astype("datetime64[m]")) for s in replay.record_storms
    ]
    assert form["against_design"]["rows"][-1]["within_s"] is None
    assert study.against is not None
    assert form["against_design"]["rows"][0]["apart"] == study.against.rows[0].is_apart


def test_the_schema_is_printed(capsys: pytest.CaptureFixture[str]) -> None:
    assert main(["schema", "replay"]) == 0
    printed = json.loads(capsys.readouterr().out)
    assert printed == replay_schema()
    jsonschema.Draft202012Validator.check_schema(printed)
