"""What was typed and refused, what is gone and what is not new yet is never shown as if it were."""

from __future__ import annotations

import asyncio
from pathlib import Path
from typing import Any

import pytest

from riskkit.assessment import Assessment
from riskkit.report.sheet import Callout
from riskkit.widgets import printing
from riskkit.widgets.app import estimator, technician
from riskkit.widgets.page import HomePage
from riskkit.widgets.panels import Panel
from riskkit.widgets.visit_page import VisitPage

DEPTH = "bottom of the pit below the basement floor (Pit and floor)"


def send(panel: Panel, **message: Any) -> None:
    panel._hear(panel, message, [])


@pytest.fixture
def page(homes: Path) -> HomePage:
    return estimator(homes / "split_level_on_clay.toml", homes)


@pytest.fixture
def visit(homes: Path) -> VisitPage:
    return technician(homes / "split_level_on_clay.toml", homes)


def test_a_refused_value_is_said_once_by_the_answer_and_by_the_mark(page: HomePage) -> None:
    assert page.head.view["refused"] is None and page.details.view["notes"] == ""
    send(page.form, kind="change", key="pit.depth", text="24 gpm")
    said = f"1 value is not accepted, so it is neither in the answer nor saved: {DEPTH}."
    assert page.head.view["refused"] == {"words": said, "keys": ["pit.depth"]}
    assert page.details.view["notes"] == ""  # once beside the answer is enough
    assert page.bar.view["kept"] == "PARTLY"
    assert page.bar.view["saved"] == (
        "1 value not accepted; the rest saved in split_level_on_clay.toml"
    )
    send(page.form, kind="change", key="place.longitude", text="east")
    assert page.head.view["refused"]["words"] == (
        "2 values are not accepted, so they are neither in the answer nor saved: "
        f"{DEPTH}; longitude (Place and rain: details)."
    )
    for key, text in (("pit.depth", "28"), ("place.longitude", "-96.1")):
        send(page.form, kind="change", key=key, text=text)
    assert page.head.view["refused"] is None and page.details.view["notes"] == ""
    assert page.bar.view["saved"] == "Saved in split_level_on_clay.toml"


@pytest.mark.parametrize("make", [estimator, technician])
def test_a_text_that_rests_in_its_field_is_refused_before_it_is_left(
    homes: Path, make: Any
) -> None:
    page = make(homes / "split_level_on_clay.toml", homes)
    form, key = page.form, "pit.depth"
    if isinstance(page, VisitPage):
        form, key = page.visit_form, "visit.rise_test.begin"
    send(form, kind="change", key=key, text="24 gp", typing=True)
    assert page.head.view["refused"] is None
    send(form, kind="change", key=key, text="24 gp", typing=True, rests=True)
    assert page.head.view["refused"]["keys"] == [key]
    assert page.bar.view["kept"] == "PARTLY"
    send(form, kind="change", key=key, text="24 in", typing=True)
    assert page.head.view["refused"] is None


def test_taking_back_takes_the_words_away(page: HomePage) -> None:
    send(page.form, kind="change", key="pit.depth", text="24 gpm")
    send(page.bar, kind="undo")
    assert page.head.view["refused"] is None
    assert page.bar.view["kept"] == "SAVED"


def test_a_refused_value_of_a_visit_is_named_with_its_group(visit: VisitPage) -> None:
    send(visit.visit_form, kind="change", key="visit.drawdown_test.end", text="20 gpm")
    assert visit.head.view["refused"]["words"].endswith(
        "saved: water level at the end, below the floor (Draw-down test, pump on)."
    )
    assert visit.bar.view["kept"] == "PARTLY"


@pytest.fixture
def told(monkeypatch: pytest.MonkeyPatch) -> list[Any]:
    """The sheets that are made, without their long search for remedies."""
    made: list[Any] = []
    monkeypatch.setattr(printing, "try_remedies", lambda *_, **__: ())
    monkeypatch.setattr(printing, "sheet_pdf", lambda sheet, _: made.append(sheet) or b"%PDF")
    return made


def heard(page: HomePage, monkeypatch: pytest.MonkeyPatch) -> list[str]:
    said: list[str] = []
    monkeypatch.setattr(page, "say_sheet", lambda words, html="": said.append(words))
    return said


def test_a_sheet_is_made_and_says_first_what_it_is_without(
    page: HomePage, told: list[Any], monkeypatch: pytest.MonkeyPatch
) -> None:
    said = heard(page, monkeypatch)
    send(page.form, kind="change", key="pit.depth", text="24 gpm")
    send(page.details, kind="sheet")
    assert said[-1] == (
        "The sheet is saved as split_level_on_clay_sheet.pdf. "
        "Read its first lines before you hand it out."
    )
    first = told[0].blocks[0]
    assert isinstance(first, Callout)
    assert first.lines == (page.refused(),)
    send(page.bar, kind="undo")
    send(page.details, kind="sheet")
    assert said[-1] == "The sheet is saved as split_level_on_clay_sheet.pdf."
    assert all("not accepted" not in str(block) for block in told[1].blocks)


def test_a_handout_with_what_is_only_tried_says_that_it_is_not_done(
    visit: VisitPage, told: list[Any]
) -> None:
    send(visit.remedies, kind="switch", key="downspouts", on=True)
    send(visit.details, kind="handout")
    assert told[0].blocks[0].lines == (
        "The answer is that with what is tried, which is not done yet: "
        "Lead all downspouts 6 ft or more away from the wall.",
    )


def test_reminders_are_written_and_say_what_they_are_without(
    visit: VisitPage, monkeypatch: pytest.MonkeyPatch
) -> None:
    said = heard(visit, monkeypatch)
    send(visit.visit_form, kind="change", key="visit.next", text="soon")
    send(visit.details, kind="reminders")
    assert said[-1].startswith("The reminders are saved as split_level_on_clay_reminders.ics;")
    assert said[-1].endswith("saved: day of the next visit (Parts, floor drain and note).")


def test_leaving_a_home_says_what_was_left_behind(page: HomePage, homes: Path) -> None:
    send(page.form, kind="change", key="pit.depth", text="24 gpm")
    send(page.bar, kind="homes")
    assert page.opener.view["wrong"] == (
        "Split-level on clay, Alder Bend: 1 value is not accepted, so it is neither in the answer "
        f"nor saved: {DEPTH}."
    )
    send(page.opener, kind="open", path=str(homes / "home_just_met.toml"))
    send(page.bar, kind="homes")
    assert page.opener.view["wrong"] == ""


def test_a_deleted_file_is_called_so_and_written_again(page: HomePage, homes: Path) -> None:
    path = homes / "split_level_on_clay.toml"
    path.unlink()
    send(page.bar, kind="beat")
    assert page.bar.view["saved"] == "Deleted or moved"
    assert "was deleted or moved" in page.bar.view["trouble"]
    assert page.bar.view["choices"] == [["again", "Write it again"]]
    send(page.bar, kind="again")
    assert path.is_file()
    assert page.bar.view["saved"] == "Saved in split_level_on_clay.toml"
    assert page.bar.view["choices"] == []


def test_picture_and_chart_are_marked_until_they_show_the_new_answer(homes: Path) -> None:
    seen: list[tuple[bool, bool]] = []

    async def work() -> None:
        page = estimator(homes / "bungalow_on_sand.toml", homes)
        boxes = (page.section_box, page.chart_box)

        def stale() -> bool:
            marks = {"rk-stale" in box._dom_classes for box in boxes}
            assert len(marks) == 1
            return marks.pop()

        def whole(answer: Assessment | None) -> bool:
            return answer is not None and answer.settings == page.state.settings

        async def settled() -> None:
            for _ in range(1000):
                await asyncio.sleep(0.02)
                if not page.state.refining:
                    return
            raise AssertionError("it never came")

        # of the home before nothing may be seen, and there is none yet
        assert page.chart_box.layout.display == "none" and page.section.animation == {}
        await settled()
        assert page.chart_box.layout.display is None
        seen.append((stale(), whole(page.state.answer)))
        animation = page.section.animation
        send(page.form, kind="change", key="pit.diameter", text="30 in")
        assert page.section.animation == animation  # the old one, and said to be
        seen.append((stale(), whole(page.state.answer)))
        await settled()
        assert page.section.animation != animation
        seen.append((stale(), whole(page.state.answer)))
        send(page.bar, kind="homes")
        send(page.opener, kind="open", path=str(homes / "split_level_on_clay.toml"))
        assert page.chart_box.layout.display == "none" and page.section.animation == {}
        page.state.close()

    asyncio.run(work())
    assert seen == [(False, True), (True, False), (False, True)]


def test_leaving_without_a_file_is_asked_once_for_each_home_as_it_is(
    homes: Path, page: HomePage
) -> None:
    """Whoever changes the home after the warning is warned once more."""
    page.state.open_copy(homes / "bungalow_on_sand.toml")
    send(page.form, kind="change", key="pit.depth", text="24 in")
    send(page.bar, kind="homes")
    assert page.state.opened and "press Homes once more" in page.bar.view["trouble"]
    send(page.form, kind="change", key="pit.depth", text="26 in")
    send(page.bar, kind="homes")
    assert page.state.opened
    send(page.bar, kind="homes")
    assert not page.state.opened
