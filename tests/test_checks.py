"""As found, done, as left: how a check is read, written and taken up by the model."""

from __future__ import annotations

import tomllib
from pathlib import Path

import pytest

from riskkit.errors import InputError
from riskkit.evidence.overlay import Doubt, home_as_seen, overlay_of
from riskkit.home.home import Home, load_home, read_home
from riskkit.home.saving import home_text, save_home
from riskkit.home.visit_checks import Check

HOME = """# a comment
format = 1
name = "Here"

[pipe]
check_valve = "stuck open"

[[visit]]
date = "2026-04-14"   # a Tuesday

[visit.checks]
float_free = "yes"    # moved by hand
alarm_sounded = "no, corroded contact"
check_valve_holds = { found = "no, stuck open", done = "replaced", left = "yes" }
"""


def check_of(home: Home, key: str) -> Check:
    found = home.visit[0].check(key)
    assert found is not None
    return found


def test_a_check_holds_how_it_was_found_what_was_done_and_how_it_was_left() -> None:
    home = read_home(HOME, "home")
    assert check_of(home, "check_valve_holds") == Check(False, "stuck open", "replaced", True)
    assert check_of(home, "check_valve_holds").as_left is True
    # as before there were three parts: found so, and left so
    alarm = check_of(home, "alarm_sounded")
    assert alarm == Check(False, "corroded contact") and alarm.as_left is False
    assert check_of(home, "float_free").as_left is True


def test_the_file_keeps_all_three_and_its_comments(tmp_path: Path) -> None:
    path = tmp_path / "home.toml"
    path.write_text(HOME, encoding="utf-8")
    home = load_home(path)
    save_home(home, path, home)
    assert path.read_text(encoding="utf-8") == HOME
    visit = home.visit[0].model_dump(exclude_defaults=True)
    visit["checks"]["alarm_sounded"] = {
        "found": "no, corroded contact",
        "done": "cleaned",
        "left": "yes",
    }
    visit["checks"]["outlet_clear"] = "yes"
    save_home(home.changed(visit=[visit]), path, home)
    text = path.read_text(encoding="utf-8")
    assert (
        'alarm_sounded = {found = "no, corroded contact", done = "cleaned", left = "yes"}' in text
    )
    assert "# moved by hand" in text and "# a Tuesday" in text
    assert load_home(path) == home.changed(visit=[visit])
    # and back to one word
    visit["checks"]["check_valve_holds"] = "yes"
    home = load_home(path)
    save_home(home.changed(visit=[visit]), path, home)
    assert load_home(path) == home.changed(visit=[visit])


def test_checks_written_as_sections_of_their_own_stay_readable_when_they_change() -> None:
    text = HOME.partition("float_free")[0] + (
        'float_free = "yes"\n[visit.checks.alarm_sounded]\nfound = "no"\ndone = "cleaned"\n'
        '[visit.checks.check_valve_holds]\nfound = "no"\n'
    )
    home = read_home(text, "home")
    visit = home.visit[0].model_dump(exclude_defaults=True)
    visit["checks"]["check_valve_holds"] = "yes"
    visit["checks"]["outlet_clear"] = "no"
    new = home.changed(visit=[visit])
    assert read_home(home_text(new, text, "home"), "home") == new


@pytest.mark.parametrize(
    ("written", "where", "what"),
    [
        ('{ found = "maybe" }', "visit 1, checks, alarm_sounded", "'maybe' is not an answer"),
        ("{ left = 3 }", "visit 1, checks, alarm_sounded", "3 is not an answer"),
        ('{ found = "no", done = 3 }', "visit 1, checks, alarm_sounded", "3 is not text"),
        ('{ fond = "no" }', "visit 1, checks, alarm_sounded", "there is no such key"),
        ('["no"]', "visit 1, checks, alarm_sounded", "a list is not an answer"),
    ],
)
def test_what_is_no_check_is_refused_in_a_sentence(written: str, where: str, what: str) -> None:
    text = HOME.replace('"no, corroded contact"', written)
    with pytest.raises(InputError) as error:
        read_home(text, "home")
    assert where in str(error.value) and what in str(error.value)


def test_the_model_takes_as_left() -> None:
    home = read_home(HOME, "home")
    after = home_as_seen(home)
    assert after.choice("pipe.check_valve") == "works"
    # the history keeps both
    assert after.visit[0].check("check_valve_holds") == Check(False, "stuck open", "replaced", True)
    unmended = read_home(HOME.replace(', left = "yes"', ', left = "no"'), "home")
    assert home_as_seen(unmended).choice("pipe.check_valve") == "stuck open"


def test_a_valve_put_in_where_there_was_none_is_no_conflict() -> None:
    none = read_home(HOME.replace('"stuck open"', '"none"', 1), "home")
    assert overlay_of(none).remarks == ()
    assert home_as_seen(none).choice("pipe.check_valve") == "works"
    seen = none.changed(visit=[{"date": "2026-04-14", "checks": {"check_valve_holds": "yes"}}])
    (said,) = overlay_of(seen).remarks  # found so, with nothing done
    assert said.doubt is Doubt.CHECK_OF_NOTHING and said.doubt.is_conflict


def test_the_schema_knows_all_three() -> None:
    field = Home.model_json_schema()["$defs"]["Checks"]["properties"]["alarm_sounded"]
    assert set(field["anyOf"][1]["properties"]) == {"found", "done", "left"}
    assert set(tomllib.loads(HOME)["visit"][0]["checks"]["check_valve_holds"]) == {
        "found", "done", "left",
    }  # fmt: skip
