"""The years of a home on the analyst's page: months first, the rest behind tabs."""

from __future__ import annotations

import base64
import re
import shutil
import struct
from dataclasses import replace
from functools import cache
from pathlib import Path
from typing import Any

import pytest

from riskkit.antecedent.months import ground_by_month
from riskkit.home.home import Home, load_home
from riskkit.options.changes import remedy
from riskkit.options.replays import ReplayComparison, years_study
from riskkit.options.side_by_side import SideBySide, Verdict, two_periods
from riskkit.quantities.units import UnitSystem
from riskkit.report.ground import ground_sentence
from riskkit.report.replay_words import replay_sentence, season_line
from riskkit.report.side_rows import side_sentence
from riskkit.risk.design_rain import DesignRain, design_rain
from riskkit.widgets import beside_view, side_view, years_view
from riskkit.widgets.app import analyst
from riskkit.widgets.record_page import ALL_HOMES, RecordPage
from riskkit.widgets.record_view import RecordAnswer, record_answer
from riskkit.widgets.years_view import HomeYears, home_years
from riskkit.years.records import ReplaySettings
from tests.conftest import ROOT


@cache
def record() -> RecordAnswer:
    """What is found in the invented record, once for all tests."""
    return record_answer(ROOT / "demo_sites" / "alder_bend_rain.csv.gz", None, lambda _: None)


@cache
def whole_rain() -> DesignRain:
    return design_rain(load_home(ROOT / "demo_sites" / "split_level_on_clay.toml"))


def rain(home: Home) -> DesignRain:
    whole = whole_rain()
    return whole if home.rain.temperature else replace(whole, weather=None)


@pytest.fixture
def folder(demo_sites: Path, tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> Path:
    monkeypatch.setattr("riskkit.years.cache.replays_folder", lambda: tmp_path / "kept")
    few = ReplaySettings(n_draws=4)
    real = years_view.cached_replay
    monkeypatch.setattr(
        years_view, "cached_replay", lambda home, rain, _, **more: real(home, rain, few, **more)
    )
    monkeypatch.setattr(years_view, "design_rain", lambda home, _: rain(home))
    monkeypatch.setattr(years_view, "record_answer", lambda *_: record())
    homes = tmp_path / "homes"
    homes.mkdir()
    for name in ("split_level_on_clay.toml", "alder_bend_rain.csv.gz",
                 "alder_bend_temperature.csv.gz"):  # fmt: skip
        shutil.copy(demo_sites / name, homes)
    return homes


def pixels_of(png: bytes) -> tuple[int, int]:
    """Width and height of a PNG, which stand in its first chunk (PNG specification, 11.2.2)."""
    assert png[:8] == b"\x89PNG\r\n\x1a\n" and png[12:16] == b"IHDR"
    width, height = struct.unpack(">II", png[16:24])
    return width, height


def twice(svg: str) -> tuple[int, int]:
    found = re.search(r'width="(\d+)" height="(\d+)"', svg)
    assert found is not None
    return 2 * int(found[1]), 2 * int(found[2])


def send(page: RecordPage, **message: Any) -> None:
    page.bar._hear(None, message, None)


def tabs_of(page: RecordPage) -> list[dict[str, Any]]:
    return next(block["tabs"] for block in page.sheet.blocks if block["kind"] == "tabs")


def test_a_home_is_shown_by_its_months_first(folder: Path) -> None:
    page = analyst(folder)
    path = folder / "split_level_on_clay.toml"
    named = dict(page.bar.view["homes"])
    assert named[str(path)] == "Split-level on clay, Alder Bend"
    assert any(name.endswith("(invented)") for name in named.values())
    send(page, kind="home", name=str(path))
    assert page.trouble == "" and page.years is not None
    study = page.years.study
    assert study.replay.settings.n_draws == 4
    kinds = [block["kind"] for block in page.sheet.blocks]
    texts = [block.get("text") for block in page.sheet.blocks]
    assert texts.index(replay_sentence(study)) < kinds.index("tabs")
    assert season_line(study.season) in texts
    tabs = page.sheet.blocks[kinds.index("tabs")]["tabs"]
    assert [tab["title"] for tab in tabs] == [
        "Months", "Storms", "The ground", "A year, and changes", "Compared with design storms",
        "The rain record", "How often such rain",
    ]  # fmt: skip
    assert tabs[0]["blocks"][0]["svg"] == page.years.charts[UnitSystem.US]
    months, storms = tabs[0]["blocks"][1], tabs[1]["blocks"][0]
    assert len(months["rows"]) == 12 and len(storms["rows"]) == 20
    assert tabs[5]["blocks"][0]["text"].startswith("40 years of rain")
    ground = ground_by_month(study.replay.home, whole_rain().weather, None)
    assert tabs[2]["blocks"][0]["text"] == ground_sentence(ground, UnitSystem.US)
    assert len(tabs[2]["blocks"][1]["rows"]) == 12
    assert tabs[6]["blocks"][0]["svg"] == record().curves[UnitSystem.US]
    files = page.sheet.blocks[kinds.index("files")]["items"]
    assert [item["name"] for item in files] == [
        "alder_bend_rain_storms.csv", "alder_bend_rain_months.csv",
        "alder_bend_rain_months.svg", "alder_bend_rain_months.png",
        "alder_bend_rain_storms.svg", "alder_bend_rain_storms.png",
    ]  # fmt: skip
    assert files[2]["text"] == page.years.charts[UnitSystem.US]
    for svg, png in (files[2:4], files[4:6]):
        assert svg["text"].startswith("<svg") and png["type"] == "image/png"
        assert pixels_of(base64.b64decode(png["base64"])) == twice(svg["text"])
    assert files[0]["text"].startswith("start,depth_mm,duration_h,")
    assert len(files[0]["text"].splitlines()) == len(study.replay.record_storms) + 1


def test_units_and_a_record_alone(folder: Path) -> None:
    page = analyst(folder)
    path = folder / "split_level_on_clay.toml"
    page.look_through(str(path))
    us = page.sheet.blocks
    send(page, kind="units", system="metric")
    assert page.sheet.blocks != us and page.years is not None
    assert "[m³]" in tabs_of(page)[0]["blocks"][0]["svg"]
    send(page, kind="choose", what="record", name="alder_bend_rain.csv.gz")
    assert page.years is None and page.bar.view["home"] == ""
    assert page.sheet.blocks[0]["text"].startswith("40 years of rain")


def test_a_home_that_changes_is_run_again_and_one_that_is_gone_is_named(folder: Path) -> None:
    page = analyst(folder)
    path = folder / "split_level_on_clay.toml"
    page.look_through(str(path))
    before = page.years
    send(page, kind="beat")
    assert page.years is before
    path.write_text(path.read_text("utf-8").replace("18 in, measured", "24 in, measured"), "utf-8")
    send(page, kind="beat")
    assert page.years is not None and page.years is not before
    path.unlink()
    send(page, kind="beat")
    assert page.trouble.startswith("split_level_on_clay.toml is not in the folder any more")
    assert page.sheet.blocks == []


def test_a_home_without_temperatures_says_what_would_be_right(folder: Path) -> None:
    path = folder / "split_level_on_clay.toml"
    lines = path.read_text("utf-8").splitlines()
    path.write_text("\n".join(x for x in lines if not x.startswith("temperature")), "utf-8")
    page = analyst(folder)
    page.look_through(str(path))
    assert 'temperature = "days.csv"' in page.bar.view["trouble"] and page.sheet.blocks == []


def test_time_left_is_told_and_the_library_says_the_same(
    folder: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.setattr(years_view, "_LEAST_S", 0.0)
    told: list[str] = []
    path = folder / "split_level_on_clay.toml"
    found = home_years(path, told.append)
    assert isinstance(found, HomeYears) and found.charts[UnitSystem.US].startswith("<svg")
    assert "running 4 variants, about 0 s left" in told
    home = load_home(path)
    assert found.study.replay.home == home
    assert replay_sentence(years_study(found.study.replay)) == replay_sentence(found.study)


def test_all_homes_of_the_folder_stand_side_by_side(
    folder: Path, demo_sites: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    few = ReplaySettings(n_draws=2)
    real = side_view.cached_replay
    monkeypatch.setattr(
        side_view, "cached_replay", lambda home, rain, _, **more: real(home, rain, few, **more)
    )
    monkeypatch.setattr(side_view, "design_rain", lambda home, _: rain(home))
    alone = dict(analyst(folder).bar.view["homes"])
    assert alone[ALL_HOMES] == "All invented homes, side by side"  # the folder holds one
    shutil.copy(demo_sites / "bungalow_on_sand.toml", folder)
    text = (demo_sites / "home_just_met.toml").read_text("utf-8")
    (folder / "no_days.toml").write_text(text.replace("temperature = ", "# "), "utf-8")
    page = analyst(folder)
    assert dict(page.bar.view["homes"])[ALL_HOMES] == "All homes of this folder, side by side"
    send(page, kind="home", name=ALL_HOMES)
    assert page.trouble == "" and page.side is not None and page.bar.view["home"] == ALL_HOMES
    assert page.side.found is not None
    assert set(page.side.found.names) == {
        "Split-level on clay, Alder Bend", "Bungalow on sand, Alder Bend"
    }  # fmt: skip
    texts = [block.get("text", "") for block in page.sheet.blocks]
    assert side_sentence(page.side.found) in texts and texts[0] == "3 homes"
    parts = {tab["title"]: tab["blocks"] for tab in tabs_of(page)}
    assert list(parts) == ["The homes", "Their years", "What is due"]
    grid = parts["The homes"][0]
    assert (
        [len(row) for row in grid["rows"]]
        == [len(grid["head"])] * 3
        == [len(row) for row in grid["keys"]]
    )
    told = {row[0]: row for row in grid["rows"]}
    sand = told["Bungalow on sand, Alder Bend"]
    assert sand[1].startswith("dry in ") and sand[5] == "never visited" and sand[6] == "none"
    assert any(row[3:5] == ["not known"] * 2 for row in grid["rows"])  # no temperatures, no years
    left = [block.get("text", "") for block in parts["The homes"]]
    assert any("no_days.toml, its years: rain: there are no temperatures" in x for x in left)
    saved = next(b for b in parts["The homes"] if b["kind"] == "files")["items"][0]["text"]
    assert saved.startswith("file,home,storm_yr,worst_median_s,") and saved.count("\n") == 4
    table = next(block for block in parts["Their years"] if block["kind"] == "table")
    assert len(table["rows"]) == 2 and len(table["rows"][0]) == len(table["head"])
    due = [block["text"] for block in parts["What is due"]]
    assert len(due) == 3 and all(". Never visited" in line for line in due)
    files = next(block for block in parts["Their years"] if block["kind"] == "files")["items"]
    assert [len(item["text"].splitlines()) for item in files[:2]] == [3, 25]
    assert [item["name"][-4:] for item in files[2:]] == [".svg", ".png"]
    send(page, kind="units", system="metric")
    assert "[m³/year]" in tabs_of(page)[1]["blocks"][0]["svg"]
    before = page.side
    send(page, kind="beat")
    assert page.side is before
    path = folder / "bungalow_on_sand.toml"
    path.write_text(path.read_text("utf-8").replace("Bungalow", "Cabin"), "utf-8")
    send(page, kind="beat")
    assert page.side is not None and page.side.found is not None
    assert "Cabin on sand, Alder Bend" in page.side.found.names
    send(page, kind="home", name="")
    assert page.side is None and page.bar.view["home"] == ""


def test_the_years_of_a_home_stand_beside_others(
    folder: Path, demo_sites: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    """Two halves, another place, the remedies, generated years: each from the list of the page."""
    few = ReplaySettings(n_draws=4)
    real = beside_view.cached_replay
    monkeypatch.setattr(
        beside_view, "cached_replay", lambda home, rain, _, **more: real(home, rain, few, **more)
    )
    monkeypatch.setattr(beside_view, "design_rain", lambda home, _: rain(home))
    monkeypatch.setattr(beside_view, "_YEARS", 12)
    shutil.copy(demo_sites / "bungalow_on_sand.toml", folder)
    page = analyst(folder)
    assert page.bar.view["besides"] == []  # nothing is shown yet
    path = folder / "split_level_on_clay.toml"
    send(page, kind="home", name=str(path))
    assert page.years is not None
    offered = dict(page.bar.view["besides"])
    place = f"place:{folder / 'bungalow_on_sand.toml'}"
    assert {"periods", "generated", "remedies", place} <= set(offered)
    assert f"place:{path}" not in offered
    years = page.years.study.replay

    send(page, kind="beside", name="periods")
    assert page.beside is not None and isinstance(page.beside.found, SideBySide)
    assert page.beside.found.names == tuple(two_periods(years))
    tab = tabs_of(page)[0]
    assert tab["title"] == "Side by side" and page.bar.view["beside"] == "periods"
    assert [block["kind"] for block in tab["blocks"]][:3] == ["heading", "text", "picture"]

    send(page, kind="beside", name=place)  # the same rain, so that nothing differs
    assert page.beside is not None and isinstance(page.beside.found, SideBySide)
    assert {one.verdict for one in page.beside.found.contrasts} == {Verdict.SAME}
    assert page.beside.found.replays[1].home.ground == years.home.ground

    two = (remedy("downspouts"), remedy("outlet"))
    monkeypatch.setattr(beside_view, "remedies", lambda: two)
    send(page, kind="beside", name="remedies")
    assert page.beside is not None and isinstance(page.beside.found, ReplayComparison)
    table = next(b for b in tabs_of(page)[0]["blocks"] if b["kind"] == "table")
    assert table["rows"][0][0] == "as it is"
    assert len(table["rows"]) == 1 + len(page.beside.found.after)
    before, after = page.beside.found.before, page.beside.found.after[0]
    assert after.by_month.pumped_m3.sum() < before.by_month.pumped_m3.sum()

    send(page, kind="beside", name="generated")
    assert page.beside is not None and isinstance(page.beside.found, SideBySide)
    assert page.beside.found.replays[1].years == 12

    shown = page.beside
    for wrong in ("place:/etc/passwd", "nothing such"):  # no file but those of the list
        send(page, kind="beside", name=wrong)
        assert page.beside is shown and page.trouble == ""
    send(page, kind="beside", name="")
    assert page.beside is None and tabs_of(page)[0]["title"] == "Months"
    send(page, kind="home", name="")
    assert page.bar.view["besides"] == []


def test_a_rain_file_that_is_replaced_is_noticed_while_a_home_is_shown(folder: Path) -> None:
    page = analyst(folder)
    path = folder / "split_level_on_clay.toml"
    send(page, kind="home", name=str(path))
    shown = page.years
    assert shown is not None
    send(page, kind="beat")
    assert page.years is shown  # nothing came, nothing is worked out again
    days = folder / "alder_bend_temperature.csv.gz"
    copy = days.read_bytes()
    days.unlink()
    days.write_bytes(copy)
    send(page, kind="beat")
    assert page.years is not None and page.years is not shown
