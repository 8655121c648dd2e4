"""A visit: entries that can be corrected, and remedies that are only tried."""

from __future__ import annotations

import asyncio
import datetime
from collections.abc import Callable
from dataclasses import replace
from pathlib import Path
from typing import Any

import pytest

import riskkit.widgets.state
import riskkit.widgets.visit_state
from riskkit.assessment import Settings, assess, design_rain
from riskkit.evidence.overlay import Doubt, home_as_seen
from riskkit.home.home import load_home
from riskkit.home.visit_checks import Check
from riskkit.home.visits import Visit
from riskkit.quantities.units import UnitSystem
from riskkit.report.words import sentence
from riskkit.risk.system_state import Fault, system_state
from riskkit.widgets.state import SaveStatus
from riskkit.widgets.visit_fields import (
    all_well,
    check_counts,
    reading_blocks,
    visit_groups,
    visit_values,
)
from riskkit.widgets.visit_state import VisitState, remedy_words

TODAY = datetime.date(2026, 4, 14)


@pytest.fixture
def state(homes: Path) -> VisitState:
    made = VisitState(TODAY, settings=Settings(n_draws=16))
    made.open(homes / "split_level_on_clay.toml")
    return made


def rise_test(state: VisitState) -> None:
    for key, text in (("begin", "20 in"), ("end", "14 in"), ("time", "300 s"), ("weather", "dry")):
        assert state.change(f"visit.rise_test.{key}", text)


def test_a_rise_test_enters_the_visit_and_is_laid_over_the_home(state: VisitState) -> None:
    rise_test(state)
    assert state.path is not None
    home = load_home(state.path)
    assert home == state.home
    assert home.visit[-1].date == TODAY
    assert home.quantity("ground.dry_inflow") is None  # nothing is written there
    assert home_as_seen(home).quantity("ground.dry_inflow") is not None
    assert state.reading is not None
    assert state.reading.inflow is not None
    # 6 in of an 18-in pit in 5 min are 1.32 gpm; gravel and drain can only add to the room
    assert state.reading.inflow.median_m3_s > 0.6 * 1.32 / 15850


def test_an_entry_can_be_corrected_and_taken_away(state: VisitState) -> None:
    before = state.home
    rise_test(state)
    assert state.change("visit.rise_test.time", "600 s")
    for key in ("begin", "end", "time", "weather"):
        assert state.change(f"visit.rise_test.{key}", "")
    assert state.home == before


def test_a_swapped_test_is_named_beside_its_field(state: VisitState) -> None:
    assert state.change("visit.rise_test.begin", "14 in")
    assert not state.change("visit.rise_test.end", "20 in")
    assert "swapped" in state.errors["visit.rise_test.end"]


def test_the_visit_of_today_is_taken_up_again(state: VisitState, homes: Path) -> None:
    rise_test(state)
    assert state.change("visit.parts", "alarm battery, float")
    again = VisitState(TODAY, settings=Settings(n_draws=16))
    again.open(homes / "split_level_on_clay.toml")
    assert again.entries == state.entries
    assert again.change("visit.parts", "alarm battery")
    assert again.home.visit[-1].parts == ("alarm battery",)
    assert len(again.home.visit) == 1


def test_remedies_are_tried_and_never_written(state: VisitState) -> None:
    assert state.path is not None
    text = state.path.read_text("utf-8")
    plain = state.answer
    state.try_remedy("downspouts", on=True)
    assert state.answer is not None
    assert plain is not None
    assert state.plain is plain
    assert (
        state.answer.headline_storm.pump_working.peak_use.median
        < plain.headline_storm.pump_working.peak_use.median
    )
    assert state.path.read_text("utf-8") == text
    state.try_remedy("downspouts", on=False)
    assert sentence(state.answer) == sentence(plain)


@pytest.fixture
def before_said(homes: Path) -> str:
    """What the library says of the home in its file, before anything of the visit is entered."""
    home = load_home(homes / "split_level_on_clay.toml")
    return sentence(assess(home, design_rain(home, homes), Settings(n_draws=16)))


def said_before(state: VisitState) -> str:
    assert state.before is not None
    return sentence(state.before)


Step = Callable[[VisitState], object]
STEPS: dict[str, Step] = {
    "rise test": lambda s: rise_test(s),
    "home": lambda s: s.change("pit.diameter", "20 in, measured"),
    "check": lambda s: s.change("visit.checks.gutters_clean", "yes"),
    "remedy on": lambda s: s.try_remedy("downspouts", on=True),
    "remedy off": lambda s: s.try_remedy("downspouts", on=False),
    "storm": lambda s: s.look_at(100.0),
    "storm back": lambda s: s.look_at(10.0),
    "undo": lambda s: s.undo(),
}


@pytest.mark.parametrize(
    "order",
    [
        ("rise test", "home", "check"),
        ("check", "home", "rise test", "undo", "undo"),
        ("remedy on", "rise test", "remedy off"),
        ("remedy on", "home", "storm", "undo", "remedy off", "rise test", "storm back"),
        ("storm", "rise test", "undo", "undo", "undo", "undo", "storm back", "home"),
    ],
)
def test_before_is_the_answer_without_this_visit_in_every_order(
    state: VisitState, before_said: str, order: tuple[str, ...]
) -> None:
    for name in order:
        STEPS[name](state)
    assert state.is_changed()
    assert said_before(state) == before_said


def test_before_follows_the_storm(state: VisitState, homes: Path) -> None:
    home = load_home(homes / "split_level_on_clay.toml")
    state.look_at(100.0)
    rise_test(state)
    settings = Settings(n_draws=16, headline_yr=100.0)
    assert said_before(state) == sentence(assess(home, design_rain(home, homes), settings))


def test_before_is_right_though_rain_came_after_the_measurements(
    homes: Path, before_said: str
) -> None:
    rain = homes / "alder_bend_rain.csv.gz"
    away = rain.rename(homes / "away")
    state = VisitState(TODAY, settings=Settings(n_draws=16))
    state.open(homes / "split_level_on_clay.toml")
    rise_test(state)
    assert state.before is None
    away.rename(rain)
    state.look()
    assert state.answer is not None
    assert said_before(state) == before_said


def test_a_visit_opened_again_is_compared_with_the_home_without_it(
    state: VisitState, homes: Path, before_said: str
) -> None:
    rise_test(state)
    for key, text in (("begin", "10 in"), ("end", "20 in"), ("time", "30 s")):
        assert state.change(f"visit.drawdown_test.{key}", text)
    assert state.reading is not None
    assert state.reading.values.keys() >= {"ground.dry_inflow", "pump.capacity"}
    again = VisitState(TODAY, settings=Settings(n_draws=16))
    again.open(homes / "split_level_on_clay.toml")
    assert again.taken_up
    assert again.is_changed()
    assert said_before(again) == before_said
    again.change("visit.who", "M. B.")
    assert said_before(again) == before_said


def test_who_was_there_changes_nothing_to_compare(state: VisitState) -> None:
    assert state.change("visit.who", "M. B.")
    assert not state.is_changed()


def test_every_remedy_of_the_table_can_be_tried(state: VisitState) -> None:
    for key in remedy_words(UnitSystem.US):
        state.try_remedy(key, on=True)
    assert state.answer is not None


def test_every_field_of_the_form_can_be_entered(
    state: VisitState, monkeypatch: pytest.MonkeyPatch
) -> None:
    answer = state.answer
    assert answer is not None
    for module in (riskkit.widgets.state, riskkit.widgets.visit_state):  # the answer is not asked
        monkeypatch.setattr(module, "assess", lambda home, *_, **__: replace(answer, home=home))
    texts = {"begin": "20 in", "end": "14 in", "time": "300 s", "weather": "dry", "size": "2 mm",
             "next": "2027-04-14", "kind": "crack", "method": "rule", "offset": "yes",
             "fresh": "no", "bracing_moved": "no", "date": state.today.isoformat()}  # fmt: skip
    for group in visit_groups(UnitSystem.US, state.walls, state.home):
        for field in (*group["fields"], *group["seldom"]):
            key, name = field["key"], field["key"].rpartition(".")[2]
            if field["kind"] == "act":  # a press, not a value
                continue
            text = texts.get(name, "yes" if ".checks." in key else "seen")
            if key == "visit.drawdown_test.end":
                text = "21 in"
            assert state.change(key, text), (key, state.errors)


def stored(state: VisitState) -> Visit:
    """The last visit as the file has it."""
    assert state.path is not None
    return load_home(state.path).visit[-1]


def test_a_wrong_value_loses_nothing_that_follows(state: VisitState) -> None:
    """Refused only when the home is made: 80 in lie below the bottom of the pit."""
    rise_test(state)
    answers = state.turn
    assert not state.change("visit.rise_test.begin", "80 in")
    assert "below the bottom of the pit" in state.errors["visit.rise_test.begin"]
    assert not state.change("visit.next", "next spring")
    assert state.change("visit.who", "M. B.")
    assert state.change("note", "seen")
    assert state.turn == answers + 2
    assert state.kept is SaveStatus.SAVED
    assert state.path is not None
    assert load_home(state.path) == state.home
    assert (stored(state).who, state.home.note) == ("M. B.", "seen")
    assert state.typed.keys() == {"visit.rise_test.begin", "visit.next"}
    assert state.change("visit.next", "2027-04-14")
    assert state.change("visit.rise_test.begin", "21 in")
    assert state.errors == {}
    assert stored(state).rise_test is not None
    assert load_home(state.path) == state.home


def test_the_size_of_a_wall_may_come_before_its_place(state: VisitState) -> None:
    assert not state.change("visit.wall.1.size", "2 mm")
    assert not state.change("visit.wall.1.kind", "crack")
    assert state.change("visit.who", "M. B.")
    assert state.change("visit.wall.1.place", "north")
    assert state.errors == state.typed == {}
    wall = stored(state).wall[0]
    assert (wall.place, wall.kind) == ("north", "crack")
    assert wall.size is not None


def test_what_is_wrong_with_a_value_of_a_wall_is_said_before_that_its_place_is_missing(
    state: VisitState,
) -> None:
    assert not state.change("visit.wall.1.size", "hair")
    said = state.errors["visit.wall.1.size"]
    assert "'hair' does not start with a number" in said and "missing" not in said
    assert not state.change("visit.wall.1.kind", "bulge")
    assert "'bulge' is not a choice" in state.errors["visit.wall.1.kind"]
    assert not state.change("visit.wall.1.kind", "crack")
    assert state.errors["visit.wall.1.kind"].startswith("Place of the wall: it is missing")


def test_what_is_said_of_a_wall_is_not_stale_after_its_place_is_entered(state: VisitState) -> None:
    assert not state.change("visit.wall.1.size", "400 mm")
    assert state.errors["visit.wall.1.size"].startswith("Place of the wall: it is missing")
    assert not state.change("visit.wall.1.kind", "crack")
    assert state.change("visit.wall.1.place", "north")
    assert "Place" not in "".join(state.errors.values())
    assert not state.change("visit.wall.1.size", "hair")
    assert state.change("visit.wall.1.place", "north-east")
    assert "'hair' does not start with a number" in state.errors["visit.wall.1.size"]


TWO_VISITS = """
[[visit]]
date = "2026-04-14"
who = "first"

[[visit.wall]]
place = "north"
kind = "crack"
size = "2 mm"

[[visit.wall]]
place = "south"
kind = "lean"
size = "5 mm"

[[visit]]
date = "2026-04-14"
who = "second"
parts = ["gasket, 2 in", "float"]

[[visit.wall]]
place = "east"

[[visit.wall]]
place = "west"
note = "damp"

[[visit]]
date = "2025-04-14"
who = "a year ago"
"""


def test_visits_and_walls_of_the_file_survive(homes: Path) -> None:
    path = homes / "bungalow_on_sand.toml"
    path.write_text(path.read_text("utf-8") + TWO_VISITS, "utf-8")
    before = load_home(path).visit
    state = VisitState(TODAY, settings=Settings(n_draws=16))
    state.open(path)
    assert state.change("note", "mine")
    assert load_home(path).visit == before
    assert state.entries["visit.wall.3.place"] == "east"
    assert state.change("visit.wall.3.place", "north-east")
    after = load_home(path).visit
    assert (after[0], after[2]) == (before[0], before[2])
    assert after[1].parts == ("gasket, 2 in", "float")
    assert [wall.place for wall in after[1].wall] == ["north-east", "west"]
    assert state.change("visit.wall.3.place", "")
    assert [wall.place for wall in load_home(path).visit[1].wall] == ["west"]
    state.undo()
    state.undo()
    assert load_home(path).visit == before


def test_a_visit_goes_on_while_others_enter_theirs(state: VisitState, homes: Path) -> None:
    path = homes / "split_level_on_clay.toml"
    before = state.home
    rise_test(state)
    text = path.read_text("utf-8").replace('"26 in', '"27 in')
    path.write_text(text + '\n[[visit]]\ndate = "2026-04-14"\nwho = "another"\n', "utf-8")
    assert state.change("visit.who", "M. B.")
    assert state.kept is SaveStatus.SAVED
    assert "visit of 2026-04-14" in state.kept_words
    assert state.entries["visit.who"] == "M. B."
    assert [visit.who for visit in load_home(path).visit] == ["M. B.", "another"]
    assert state.change("visit.rise_test.time", "600 s")
    visits = load_home(path).visit
    assert [visit.who for visit in visits] == ["M. B.", "another"]
    assert visits[0].rise_test is not None and visits[1].rise_test is None
    while state.can_undo:
        state.undo()
    after = load_home(path)
    assert [visit.who for visit in after.visit] == ["another"]
    assert state.home == after
    assert after.changed(visit=[], pit__depth="26 in, measured") == before
    depth = after.quantity("pit.depth")
    assert depth is not None and depth.text == "27 in, measured"
    assert state.home_before().quantity("pit.depth") == depth


def test_a_visit_that_others_deleted_can_be_begun_again(state: VisitState, homes: Path) -> None:
    path = homes / "split_level_on_clay.toml"
    assert state.change("visit.who", "M. B.")
    text = path.read_text("utf-8")
    path.write_text(text[: text.index("[[visit]]")], "utf-8")
    state.look()
    assert state.entries == {}
    assert state.change("visit.who", "B. M.")
    assert [visit.who for visit in load_home(path).visit] == ["B. M."]


def test_a_visit_that_cannot_be_is_opened_and_named(homes: Path) -> None:
    path = homes / "bungalow_on_sand.toml"
    visit = '\n[[visit]]\ndate = "2026-04-14"\n[visit.rise_test]\nbegin = "80 in"\n'
    visit += 'end = "70 in"\ntime = "95 s"\n'
    path.write_text(path.read_text("utf-8") + visit, "utf-8")
    state = VisitState(TODAY, settings=Settings(n_draws=16))
    state.open(path)
    assert state.reading is not None
    assert state.reading.remarks[0].doubt is Doubt.BELOW_PIT
    assert not state.change("visit.who", "M. B.")
    for key in ("begin", "end"):
        state.change(f"visit.rise_test.{key}", "")
    assert state.errors == {}


@pytest.mark.parametrize(
    ("key", "known", "said", "after"),
    [
        ("roof.gutters", "none", "no", "none"),
        ("roof.gutters", "clogged", "no", "clogged"),
        ("roof.gutters", "clogged", "yes", "clean"),
        ("roof.gutters", "clean", "no", "leaves"),
        ("roof.gutters", "unknown", "no", "leaves"),
        ("roof.gutters", "none", "yes", "none"),
        ("pipe.check_valve", "none", "no", "none"),
        ("pipe.check_valve", "works", "no", "stuck open"),
    ],
)
def test_a_check_replaces_only_what_contradicts_it(
    state: VisitState, key: str, known: str, said: str, after: str
) -> None:
    check = "gutters_clean" if key == "roof.gutters" else "check_valve_holds"
    assert state.change(key, known)
    assert state.change(f"visit.checks.{check}", said)
    assert state.home.choice(key) == (None if known == "unknown" else known)  # as it was told
    assert home_as_seen(state.home).choice(key) == after
    assert state.reading is not None
    assert bool(state.reading.remarks) == (known == "none" and said == "yes")


def test_only_answers_of_equal_draws_are_compared(homes: Path) -> None:
    """Also where somebody types before the whole answer for the opened home is there."""

    async def work() -> VisitState:
        state = VisitState(TODAY, settings=Settings(n_draws=64))
        state.open(homes / "split_level_on_clay.toml")
        assert state.before is not None
        assert state.before.settings.n_draws == 32
        assert state.change("pit.diameter", "20 in")
        for _ in range(1000):
            await asyncio.sleep(0.02)
            if state.before is not None and state.before.settings.n_draws == 64:
                return state
        raise AssertionError("it never came")

    state = asyncio.run(work())
    assert state.before is not None
    assert state.answer is not None
    assert state.answer.settings.n_draws == 64
    assert state.before.home != state.answer.home == state.home


def test_what_was_measured_is_said_in_the_units_of_now(state: VisitState) -> None:
    for key, text in {"begin": "18 in", "end": "14 in", "time": "90 s"}.items():
        assert state.change(f"visit.rise_test.{key}", text)
    before = state.home
    assert "gpm" in str(reading_blocks(state.home, state.reading, state.system))
    state.system = UnitSystem.METRIC
    said = str(reading_blocks(state.home, state.reading, state.system))
    assert "L/min" in said and "gpm" not in said
    assert state.home == before


def test_a_check_keeps_what_was_seen_what_was_done_and_how_it_was_left(state: VisitState) -> None:
    key = "visit.checks.check_valve_holds"
    assert state.change("pipe.check_valve", "stuck open")
    groups = visit_groups(UnitSystem.US, (), state.home)

    def shown() -> dict[str, dict[str, Any]]:
        return visit_values(groups, state.entries, state.typed, state.errors, {})

    asked = [f"{key}.{part}" for part in ("note", "done", "left")]
    assert all(shown()[name]["hidden"] for name in asked)
    assert state.change(key, "no")
    assert not any(shown()[name]["hidden"] for name in asked)
    assert state.change(f"{key}.note", "stuck open")

    def computed() -> str | None:
        return home_as_seen(state.home).choice("pipe.check_valve")

    assert computed() == "stuck open"
    assert state.change(f"{key}.done", "replaced")
    assert computed() == "stuck open"  # nobody says that it holds now
    assert state.change(f"{key}.left", "yes")
    assert computed() == "works"  # the model takes as left
    check = state.home.visit[-1].check("check_valve_holds")
    assert check == Check(False, "stuck open", "replaced", True)  # the history keeps both
    assert state.entries[f"{key}.note"] == "stuck open" and state.entries[key] == "no"
    # the wrong word by mistake: what was seen stays, in sight, and is there when it is taken back
    assert state.change(key, "yes")
    check = state.home.visit[-1].check("check_valve_holds")
    assert check == Check(True, "stuck open", "replaced", True)
    assert not shown()[f"{key}.note"]["hidden"]
    assert state.change(key, "no")
    assert state.home.visit[-1].check("check_valve_holds") == Check(
        False, "stuck open", "replaced", True
    )
    for name in (key, f"{key}.done", f"{key}.left"):
        assert state.change(name, "")
    assert not state.home.visit or state.home.visit[-1].check("check_valve_holds") is None
    assert not state.change(f"{key}.left", "perhaps") and f"{key}.left" in state.errors
    assert not shown()[f"{key}.left"]["hidden"]  # what is refused is seen


def test_when_all_is_in_order_every_check_is_counted_as_looked_at(state: VisitState) -> None:
    """Two of the checks are work that is done or not: the press leaves them, and says so."""
    groups = visit_groups(UnitSystem.US, state.walls, state.home, state.entries)

    def count() -> str:
        values = visit_values(groups, state.entries, state.typed, state.errors, {})
        counted = check_counts(groups, values)
        return next(each["words"] for each in counted if each["title"] == "Checks")

    (act,) = (f for group in groups for f in group["fields"] if f["kind"] == "act")
    assert act["help"].endswith("work: alarm battery changed, debris removed from the pit.")
    assert count().startswith("0 of ")
    said = all_well(state.home, state.entries)
    assert state.change_all(dict(said))
    assert count() == f"{len(said)} of {len(said)} looked at"
    assert state.change("visit.checks.debris_removed", "no")
    assert count() == f"{len(said)} of {len(said)} looked at, 1 out of order"


STANDS_BY = ("second_pump_runs", "battery_carries", "generator_carries")


def test_what_stands_by_is_asked_for_only_where_it_is(state: VisitState) -> None:
    keys = {f"visit.checks.{name}" for name in STANDS_BY}

    def asked() -> set[str]:
        groups = visit_groups(UnitSystem.US, state.walls, state.home, state.entries)
        return keys & {field["key"] for group in groups for field in group["fields"]}

    def said() -> str:
        groups = visit_groups(UnitSystem.US, state.walls, state.home, state.entries)
        (checks,) = (group for group in groups if group["title"] == "Checks")
        beside = [words for field in checks["fields"] for words in field.get("cautions", ())]
        return " ".join([*checks["cautions"], *beside])

    assert asked() == set() and not keys & set(all_well(state.home, {}))
    assert "acid" not in said() and "generator" not in said()
    assert state.change("second_pump.runs_on", "mains water")
    assert asked() == {"visit.checks.second_pump_runs"}
    assert "acid" not in said()
    assert state.change("second_pump.runs_on", "battery")
    assert state.change("generator.starts", "by hand")
    assert asked() == keys <= set(all_well(state.home, {}))
    assert "acid that burns" in said() and "outlet of the house" in said()
    # what was entered stays to be seen, and taken back, when the part is gone
    assert state.change("visit.checks.generator_carries", "no, pulled the cord ten times")
    assert Fault.GENERATOR_FAILS in system_state(state.home).faults
    assert state.change("generator.starts", "none")
    assert asked() == keys and system_state(state.home).findings == ()
    assert "without that part" in " ".join(
        item
        for block in reading_blocks(state.home, state.reading, UnitSystem.US)
        for item in block.get("items", ())
    )
    assert state.change("visit.checks.generator_carries", "")
    assert asked() == keys - {"visit.checks.generator_carries"}
