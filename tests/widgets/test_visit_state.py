"""A visit: entries that can be corrected, and remedies that are only tried."""

from __future__ import annotations

import datetime
from pathlib import Path

import pytest

from riskkit.assessment import Settings
from riskkit.report.words import sentence
from riskkit.site import load_site
from riskkit.units import UnitSystem
from riskkit.widgets.visit_fields import visit_groups
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


def test_a_rise_test_enters_the_dry_inflow_and_the_visit(state: VisitState) -> None:
    rise_test(state)
    assert state.path is not None
    site = load_site(state.path)
    assert site == state.site
    assert site.visit[-1].date == TODAY
    inflow = site.quantity("ground.dry_inflow")
    assert inflow is not None
    assert state.reading is not None
    assert state.reading.inflow is not None
    # 6 in of an 18-in pit in 5 min are 1.32 gpm; gravel and drain can only add to the room
    assert state.reading.inflow.middle_m3_s > 0.6 * 1.32 / 15850


def test_an_entry_can_be_corrected_and_taken_away(state: VisitState) -> None:
    before = state.site
    rise_test(state)
    assert state.change("visit.rise_test.time", "600 s")
    for key in ("begin", "end", "time", "weather"):
        assert state.change(f"visit.rise_test.{key}", "")
    assert state.site == before


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
    assert again.site.visit[-1].parts == ("alarm battery",)
    assert len(again.site.visit) == 1


def test_remedies_are_tried_and_never_written(state: VisitState) -> None:
    assert state.path is not None
    text = state.path.read_text("utf-8")
    plain = state.answer
    state.try_remedy("downspouts", on=True)
    assert state.answer is not None
    assert plain is not None
    assert state.plain is plain
    assert state.answer.headline_storm.peak_use.middle < plain.headline_storm.peak_use.middle
    assert state.path.read_text("utf-8") == text
    state.try_remedy("downspouts", on=False)
    assert sentence(state.answer) == sentence(plain)


def test_before_stays_as_the_home_was_opened(state: VisitState) -> None:
    before = state.before
    rise_test(state)
    assert state.before is before
    assert before is not None
    assert before.site != state.site


def test_every_remedy_of_the_table_can_be_tried(state: VisitState) -> None:
    for key in remedy_words(UnitSystem.US):
        state.try_remedy(key, on=True)
    assert state.answer is not None


def test_every_field_of_the_form_can_be_entered(state: VisitState) -> None:
    texts = {"begin": "20 in", "end": "14 in", "time": "300 s", "weather": "dry", "size": "2 mm",
             "next": "2027-04-14", "kind": "crack"}  # fmt: skip
    for group in visit_groups(UnitSystem.US):
        for field in group["fields"]:
            key, name = field["key"], field["key"].rpartition(".")[2]
            text = texts.get(name, "yes" if ".checks." in key else "seen")
            if key == "visit.drawdown_test.end":
                text = "21 in"
            assert state.change(key, text), (key, state.errors)
