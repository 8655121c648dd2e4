"""The take-away page as the pages ask for it, without a browser."""

from __future__ import annotations

from collections.abc import Callable, Sequence
from pathlib import Path
from typing import Any

import pytest

from riskkit.widgets import takeaway
from riskkit.widgets.app import estimator, technician
from riskkit.widgets.page import HomePage


@pytest.fixture
def asked(monkeypatch: pytest.MonkeyPatch) -> list[Any]:
    """Which answers a page was asked of; trying all that helps is left to the command's tests."""
    found: list[Any] = []

    def one(
        answer: Any, ranking: Any, most: int, *, progress: Callable[[str], None]
    ) -> Sequence[Any]:
        found.append(answer)
        progress("trying")
        return []

    monkeypatch.setattr(takeaway, "best_homes", one)
    return found


def said(page: HomePage, monkeypatch: pytest.MonkeyPatch) -> list[tuple[str, str]]:
    """What the page says when the take-away page is asked for."""
    words: list[tuple[str, str]] = []
    monkeypatch.setattr(page.takeaway, "_say", lambda text, html: words.append((text, html)))
    page.details._hear(page.details, {"kind": "takeaway"}, [])
    return words


def test_it_is_saved_beside_the_home(
    homes: Path, asked: list[Any], monkeypatch: pytest.MonkeyPatch
) -> None:
    page = estimator(homes / "bungalow_on_sand.toml", homes)
    words = said(page, monkeypatch)
    target = homes / "bungalow_on_sand_takeaway.html"
    assert words[-1] == (
        "The take-away page is saved as bungalow_on_sand_takeaway.html.", target.read_text("utf-8")
    )  # fmt: skip
    assert "Bungalow on sand, Alder Bend" in words[-1][1]
    assert asked == [page.state.answer]


def test_values_that_are_refused_are_said_first(
    homes: Path, asked: list[Any], monkeypatch: pytest.MonkeyPatch
) -> None:
    page = estimator(homes / "bungalow_on_sand.toml", homes)
    page.state.change("pit.depth", "24 gpm")
    text, html = said(page, monkeypatch)[-1]
    assert text.endswith("Read its first lines before you hand it out.")
    assert "Read this first" in html and page.refused() in html.replace("&#39;", "'")


def test_what_is_only_tried_is_not_the_home_as_it_is(
    homes: Path, asked: list[Any], monkeypatch: pytest.MonkeyPatch
) -> None:
    page = technician(homes / "split_level_on_clay.toml", homes)
    plain = page.state.home
    page.state.try_remedy("downspouts", on=True)
    assert page.state.answer.home != plain
    html = said(page, monkeypatch)[-1][1]
    assert asked[-1].home == plain and "with what is tried" not in html


def test_a_page_that_is_asked_for_too_early_is_made_of_the_whole_answer(
    homes: Path, asked: list[Any], monkeypatch: pytest.MonkeyPatch
) -> None:
    page = estimator(homes / "bungalow_on_sand.toml", homes)
    page.state.refining = True
    words = said(page, monkeypatch)
    assert [text for text, _ in words] == [
        "The answer is still being worked out; the take-away page is made of it then."
    ]
    assert asked == [] and not list(homes.glob("*_takeaway.html"))
    page.state.refining = False
    assert words[-1][0] == "The take-away page is saved as bungalow_on_sand_takeaway.html."
    assert asked == [page.state.answer]
    page.state.change("pit.depth", "25 in")  # what was made once is not made again by itself
    assert len(asked) == 1


def test_a_page_that_waits_is_not_made_of_another_home(
    homes: Path, asked: list[Any], monkeypatch: pytest.MonkeyPatch
) -> None:
    page = estimator(homes / "bungalow_on_sand.toml", homes)
    page.state.refining = True
    said(page, monkeypatch)
    page.state.close()
    page.state.open(homes / "split_level_on_clay.toml")
    assert asked == [] and not list(homes.glob("*_takeaway.html"))


def test_without_an_answer_nothing_is_made(
    homes: Path, asked: list[Any], monkeypatch: pytest.MonkeyPatch
) -> None:
    page = estimator(homes / "bungalow_on_sand.toml", homes)
    page.state.answer = None
    assert said(page, monkeypatch)[-1] == (
        "There is no answer, so no take-away page is made.", ""
    )  # fmt: skip
    assert asked == []
