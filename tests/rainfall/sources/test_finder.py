"""Rain near the home, as the estimator finds it on the page; a server on this machine answers."""

from __future__ import annotations

import shutil
from pathlib import Path
from typing import Any

import pytest
from kept_answers import answered_once, draw_fewer, rain_read_once

from riskkit.home.home import load_home
from riskkit.rainfall.readers.stored import read_stored
from riskkit.rainfall.sources import acis, network, uscrn
from riskkit.widgets.app import estimator, technician
from riskkit.widgets.page import HomePage
from riskkit.widgets.panels import Panel

__all__ = ["answered_once", "rain_read_once"]  # fixtures of all tests of this file


def send(panel: Panel, **message: Any) -> None:
    panel._hear(panel, message, [])


@pytest.fixture(autouse=True)
def few_draws(monkeypatch: pytest.MonkeyPatch) -> None:
    """What rain a page takes hangs on no number of draws."""
    draw_fewer(monkeypatch, 64)


@pytest.fixture
def home(tmp_path: Path, demo_sites: Path) -> Path:
    folder = tmp_path / "homes"
    folder.mkdir()
    for name in ("home_just_met.toml", "alder_bend_rain.csv.gz", "alder_bend_temperature.csv.gz"):
        shutil.copy(demo_sites / name, folder)
    return folder / "home_just_met.toml"


@pytest.fixture
def page(home: Path, tmp_path: Path) -> HomePage:
    found = estimator(home, home.parent)
    found.finder._store = tmp_path / "store"
    return found


def test_nothing_is_asked_before_somebody_presses(services: Any, page: HomePage) -> None:
    assert page.finder.panel.view["shown"]
    assert page.finder.panel.view["place"]
    assert services.asked == []


def test_a_record_comes_to_lie_beside_the_home(services: Any, page: HomePage, home: Path) -> None:
    send(page.finder.panel, kind="look", within_km=25.0)
    rows = {row["key"]: row for row in page.finder.panel.view["rows"]}
    assert rows["daily:AB001"]["name"] == "Alder Bend Field"
    assert rows["daily:AB001"]["more"] == "3.5 mi away, 1951 to 2004, every day, 97% complete"
    before = page.state.answer
    send(page.finder.panel, kind="fetch", key="daily:AB001")
    assert page.finder.panel.view["trouble"] == ""
    assert page.finder.panel.view["busy"] == ""
    name = load_home(home).rain.record
    assert name is not None
    assert name in page.finder.panel.view["done"]
    assert read_stored(home.parent / name).interval_s == 86400
    assert [name, name] in page.form.values["rain.record"]["options"]
    assert page.state.answer is not None
    assert page.state.answer != before
    assert "Alder Bend Field" in page.state.answer.rain.source
    page.state.undo()
    assert load_home(home).rain.record == "alder_bend_rain.csv.gz"


def test_without_a_place_it_says_so(services: Any, page: HomePage) -> None:
    for key in ("rain.temperature", "place.longitude", "place.latitude"):
        send(page.form, kind="change", key=key, text="")
    assert not page.finder.panel.view["place"]
    send(page.finder.panel, kind="look", within_km=25.0)
    assert services.asked == []


def test_the_visit_page_fetches_rain_too(services: Any, home: Path, tmp_path: Path) -> None:
    page = technician(home, home.parent)
    page.finder._store = tmp_path / "store"
    assert page.finder.panel in page.left.children
    send(page.finder.panel, kind="look", within_km=25.0)
    send(page.finder.panel, kind="fetch", key="daily:AB001")
    assert page.state.answer is not None
    assert "Alder Bend Field" in page.state.answer.rain.source


def test_without_a_network_it_says_so_and_how_to_go_on(
    page: HomePage, monkeypatch: pytest.MonkeyPatch, archive: Any
) -> None:
    nobody = "http://127.0.0.1:9"  # the discard port, where nothing listens
    monkeypatch.setattr(acis, "SERVICE", nobody)
    monkeypatch.setattr(uscrn, "PRODUCTS", nobody)
    monkeypatch.setattr(network, "reachable", lambda addresses: dict.fromkeys(addresses, False))
    monkeypatch.setattr("riskkit.rainfall.sources.find.reachable", network.reachable)
    send(page.finder.panel, kind="look", within_km=25.0)
    trouble = page.finder.panel.view["trouble"]
    assert "offline" in trouble
    assert "nothing is stored yet" in trouble
    assert page.finder.panel.view["rows"] is None


def test_only_what_was_listed_is_fetched(services: Any, page: HomePage, home: Path) -> None:
    send(page.finder.panel, kind="fetch", key="daily:AB001")
    assert load_home(home).rain.record == "alder_bend_rain.csv.gz"
    assert services.asked == []


def test_a_download_that_breaks_off_leaves_the_home_alone(
    services: Any, page: HomePage, home: Path
) -> None:
    send(page.finder.panel, kind="look", within_km=25.0)
    services.faults["/daily/1960/AB001.csv.gz"] = [503] * 9
    send(page.finder.panel, kind="fetch", key="daily:AB001")
    assert "9 of 54 years are kept" in page.finder.panel.view["trouble"]
    assert load_home(home).rain.record == "alder_bend_rain.csv.gz"
    asked = len(services.asked)
    services.faults.clear()
    send(page.finder.panel, kind="fetch", key="daily:AB001")
    assert len(services.asked) - asked == 45
    assert load_home(home).rain.record != "alder_bend_rain.csv.gz"


def test_a_record_that_the_home_does_not_take_is_said(
    services: Any, page: HomePage, monkeypatch: pytest.MonkeyPatch
) -> None:
    def refuse(key: str, value: object) -> bool:
        page.state.errors = {key: f"{value} is wrong."}
        return False

    send(page.finder.panel, kind="look", within_km=25.0)
    monkeypatch.setattr(page.state, "change", refuse)
    send(page.finder.panel, kind="fetch", key="daily:AB001")
    assert "the home does not take it: " in page.finder.panel.view["trouble"]
    assert page.finder.panel.view["trouble"].endswith(" is wrong.")
    assert page.finder.panel.view["done"] == ""
