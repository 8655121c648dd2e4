"""Visits in the home file: read with care, refused in words, written back with their comments."""

from __future__ import annotations

import datetime
import json
import tomllib
from pathlib import Path

import jsonschema
import pytest

from riskkit.errors import InputError
from riskkit.evidence.resets import changed_since
from riskkit.failures.circumstances import pump_age_yr
from riskkit.home.changed_parts import ChangedPart, changed_parts
from riskkit.home.home import Home, check_home, load_home, read_home
from riskkit.home.saving import home_text, save_home
from riskkit.home.visits import Visit, last_visit, need_past, visit_checks, visit_value

HOME = """\
name = "x"
format = 1

[pit]
diameter = "18 in"

[[visit]]  # the first
date = "2026-04-14"   # a Tuesday
who = "technician, M. B."
parts = ["alarm battery"]
floor_drain = "smells"
next = 2026-10-14
[visit.rise_test]
begin = "20 in"  # by tape
end = "14 in"
time = "95 s"
weather = "dry"
[visit.drawdown_test]
begin = "13 in"
end = "unknown"
[visit.checks]
float_free = "yes"
alarm_sounded = "no, corroded contact"
outlet_clear = "not checked"
[[visit.wall]]
place = "north wall"
kind = "crack"
size = "2 mm"
"""


def write(folder: Path, text: str) -> Path:
    path = folder / "home.toml"
    path.write_text(text, encoding="utf-8")
    return path


def test_a_visit_is_read(tmp_path: Path) -> None:
    (visit,) = load_home(write(tmp_path, HOME)).visit
    assert visit.date == datetime.date(2026, 4, 14)
    assert visit.next == datetime.date(2026, 10, 14)
    rise, drawdown = visit.rise_test, visit.drawdown_test
    assert rise is not None and drawdown is not None
    assert rise.begin is not None and rise.begin.value == pytest.approx(20 * 0.0254)
    assert rise.time is not None and rise.time.value == 95
    assert rise.is_complete and not drawdown.is_complete
    alarm = visit.check("alarm_sounded")
    assert alarm is not None and alarm.found is False and alarm.note == "corroded contact"
    assert visit.check("outlet_clear") is None
    assert visit.check("inlet_clear") is None
    assert visit.wall[0].size is not None and visit.wall[0].size.value == pytest.approx(0.002)


def test_a_visit_is_frozen() -> None:
    visit = Visit.model_validate({"date": "2026-04-14"})
    with pytest.raises(InputError, match="who: it cannot be set in place"):
        visit.who = "y"  # type: ignore[misc]  # the very thing refused


def test_a_first_visit_stands_apart_from_what_is_above_it() -> None:
    text = 'format = 1\n\n[pit]\ndiameter = "18 in"\n'
    visited = read_home(text, "home").changed(visit=[{"date": "2026-04-14"}])
    assert '"18 in"\n\n[[visit]]\n' in home_text(visited, text, "home")
    assert '"18 in"\n\n[[visit]]\n' in home_text(visited, text + "\n", "home")


def test_untouched_visits_stay_as_they_were_written(tmp_path: Path) -> None:
    path = write(tmp_path, HOME)
    save_home(load_home(path), path, load_home(path))
    assert path.read_text(encoding="utf-8") == HOME


def test_round_trip_of_changed_and_added_visits(tmp_path: Path) -> None:
    path = write(tmp_path, HOME)
    home = load_home(path)
    data = home.model_dump(exclude_defaults=True)["visit"]
    first = data[0] | {"rise_test": data[0]["rise_test"] | {"time": "99 s"}}
    second = {
        "date": "2026-10-14",
        "checks": {"float_free": "no"},
        "wall": [{"place": "a", "kind": "lean", "size": "5 mm"}, {"place": "b"}],
    }
    changed = home.changed(visit=[first, second])
    save_home(changed, path, home)
    text = path.read_text(encoding="utf-8")
    assert "# the first" in text and "# by tape" in text and "# a Tuesday" in text
    assert 'time = "99 s"' in text and text.count("[[visit]]") == 2
    assert load_home(path) == changed
    once = save_home(changed.changed(visit=[first]), path, changed).home
    assert load_home(path).visit == changed.visit[:1]
    save_home(changed.changed(visit=[]), path, once)
    assert load_home(path).visit == ()
    save_home(changed, tmp_path / "new.toml")
    assert load_home(tmp_path / "new.toml") == changed


def test_visits_survive_a_change_elsewhere(tmp_path: Path) -> None:
    home = load_home(write(tmp_path, HOME))
    assert home.changed(pit__depth="24 in").visit == home.visit


def test_a_file_with_visits_fits_the_schema() -> None:
    schema = json.loads(json.dumps(Home.model_json_schema()))
    data = tomllib.loads(HOME.replace("next = 2026-10-14", 'next = "2026-10-14"'))
    jsonschema.validate(data, schema)
    data["visit"][0]["rise_test"]["begn"] = "1 in"
    with pytest.raises(jsonschema.ValidationError):
        jsonschema.validate(data, schema)


@pytest.mark.parametrize(
    ("old", "new", "where", "what"),
    [
        ('"95 s"', "95", "visit 1, rise_test, time", "no unit"),
        ('"95 s"', '"95 in"', "visit 1, rise_test, time", "not a time"),
        ('"95 s"', '"0 s"', "visit 1, rise_test, time", "outside"),
        ('"95 s"', '"3 d"', "visit 1, rise_test, time", "outside"),
        ('"95 s"', '"<5 min"', "visit 1, rise_test, time", "one end of a range only"),
        ('"95 s"', '"90-100 s"', "visit 1, rise_test, time", "a range where one value is wanted"),
        ('end = "unknown"', 'time = "24 h"', "visit 1, drawdown_test, time", "outside"),
        ('end = "unknown"', 'time = "61 min"', "visit 1, drawdown_test, time", "outside"),
        ('"20 in"', '"-2 in"', "visit 1, rise_test, begin", "outside"),
        ('"20 in"', '"20 ft"', "visit 1, rise_test, begin", "outside"),
        ('"20 in"', '"12 in"', "visit 1, rise_test", "swapped"),
        ('"unknown"', '"12 in"', "visit 1, drawdown_test", "more water came in"),
        ('"unknown"', '"13 in"', "visit 1, drawdown_test", "did not fall"),
        ('"dry"', '"damp"', "visit 1, rise_test, weather", "not a choice"),
        ('"2026-04-14"', '"14.4.2026"', "visit 1, date", "not a date"),
        ('"2026-04-14"', "2026-04-14T10:00:00", "visit 1, date", "without a time"),
        ('"2026-04-14"', '"1066-04-14"', "visit 1, date", "outside"),
        ('"2026-04-14"', '"unknown"', "visit 1, date", "not a date"),
        ('"2026-04-14"', "20260414", "visit 1, date", "not a date"),
        ("2026-10-14", "2026-04-14", "visit 1", "not after"),
        ('float_free = "yes"', 'float_free = "maybe"', "visit 1, checks, float_free", "answer"),
        ('float_free = "yes"', "float_free = 1", "visit 1, checks, float_free", "answer"),
        ('float_free = "yes"', 'flot_free = "yes"', "visit 1, checks, flot_free", "no such key"),
        ('"crack"', '"hole"', "visit 1, wall 1, kind", "not a choice"),
        ('"2 mm"', '"2 gal"', "visit 1, wall 1, size", "not a length"),
        ('"2 mm"', '"12 in"', "visit 1, wall 1", "width of a crack"),
        ('place = "north wall"\n', "", "visit 1, wall 1, place", "missing"),
        ('date = "2026-04-14"   # a Tuesday\n', "", "visit 1, date", "missing"),
        ("[[visit]]", "[visit]", "visit", "not a list"),
    ],
)
def test_wrong_visits_are_refused_in_words(
    tmp_path: Path, old: str, new: str, where: str, what: str
) -> None:
    assert old in HOME
    text = HOME.replace(old, new, 1)
    if new == "[visit]":  # the rest of the file would not be TOML
        text = '[visit]\ndate = "2026-04-14"\n'
    path = write(tmp_path, text)
    (problem,) = check_home(path)
    with pytest.raises(InputError) as refused:  # in the words in which it is listed
        load_home(path)
    assert str(problem.within(path.name)) == str(refused.value)
    assert problem.where == where
    assert what in problem.what


def test_a_pump_draws_a_pit_down_within_an_hour(tmp_path: Path) -> None:
    # common practice, no source: seconds to some minutes; a rise may take a day
    for time, rise in (("40 s", "95 s"), ("20 min", "24 h"), ("1 h,", "2 h.")):
        text = HOME.replace('end = "unknown"', f'time = "{time}"').replace('"95 s"', f'"{rise}"')
        assert check_home(write(tmp_path, text)) == ()
    (problem,) = check_home(write(tmp_path, HOME.replace('end = "unknown"', 'time = "24 h"')))
    assert problem.right == "it lies between 2 s and 1 h"
    assert "to fall while the pump ran" in problem.what


@pytest.mark.parametrize("key", ["level", "crack", "bow", "lean"])
def test_the_ends_of_a_reading_can_be_read(key: str) -> None:
    item = visit_value(key)
    assert item.span.startswith("it lies between 0 and ")
    high_in = float(item.span.split()[5])
    assert 0.9 * item.high <= high_in * 0.0254 <= item.high  # an inch is 25.4 mm


def test_the_right_key_is_proposed(tmp_path: Path) -> None:
    (problem,) = check_home(write(tmp_path, HOME.replace("begin", "begn", 1)))
    assert problem.right == 'did you mean "begin"?'


def test_last_visit() -> None:
    assert last_visit(()) is None
    days = ("2026-04-14", "2027-04-01", "2025-01-01")
    visits = [Visit.model_validate({"date": day}) for day in days]
    last = last_visit(visits)
    assert last is not None and last.date.year == 2027


def test_checks_answer_choices_that_exist() -> None:
    from riskkit.quantities.backup import backup_choices
    from riskkit.quantities.variables import choices

    known = {key: set(choice.options) for key, choice in choices().items()}
    known |= {key: set(options) for key, options in backup_choices().items()}
    for key, row in visit_checks().items():
        assert row["yes"].endswith(".") and row["no"].endswith("."), key
        if row["target"]:
            assert {row["if_yes"], row["if_no"]} <= known[row["target"]], key


def test_the_day_of_a_visit_may_be_tomorrow_but_not_later() -> None:
    today = datetime.date(2026, 4, 13)
    visits = [Visit.model_validate({"date": day}) for day in ("2026-04-14", "2020-01-01")]
    need_past(visits, today)
    with pytest.raises(
        InputError, match=r"^visit 3, date: 2026-04-15 has not come yet.*2026-04-13"
    ):
        need_past([*visits, Visit.model_validate({"date": "2026-04-15"})], today)


def test_names_of_one_part_mean_the_same_everywhere() -> None:
    """A new pump is a pump: it is young, and what was seen of the old one is set aside."""
    seen = datetime.date(2025, 1, 1)
    for name in ("pump", " Sump Pump", "new pump"):
        visit = [{"date": "2026-01-01", "parts": [name]}]
        home = Home.model_validate({"name": "Here", "visit": visit})
        assert pump_age_yr(home, datetime.date(2027, 1, 1)) == pytest.approx(1.0, abs=0.01)
        assert changed_since(home, "cycle", seen) == name
    assert changed_parts(["gasket, 2 in", "float", "Alarm"]) == {
        ChangedPart.SWITCH, ChangedPart.ALARM,
    }  # fmt: skip
