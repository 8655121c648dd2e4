"""One home with visits, answered once for all tests of the sheets."""

from __future__ import annotations

import datetime
from collections.abc import Callable
from dataclasses import replace
from pathlib import Path
from typing import Any

import pytest

from riskkit.assessment import Assessment, DesignRain, Settings, assess, design_rain
from riskkit.home.home import Home, load_home
from riskkit.options.ranking import Ranking, rank_remedies
from riskkit.options.remedies import Remedy, try_remedies

DAY = datetime.date(2026, 4, 20)
NASTY = '#strong[x] $x$ *b* _i_ <script>alert(1)</script> "q" \\ @ref `c` {{ 7*7 }} & é'

VISITS = [
    {
        "date": "2025-04-02",
        "wall": [{"place": "North wall", "kind": "crack", "size": "2 mm"}],
    },
    {
        "date": "2026-04-14",
        "who": "technician, M. B.",
        "parts": ["alarm battery"],
        "next": "2026-10-14",
        "rise_test": {"begin": "20 in", "end": "14 in", "time": "12 min", "weather": "dry"},
        "drawdown_test": {"begin": "13 in", "end": "20 in", "time": "17 s"},
        "checks": {"float_free": "yes", "alarm_sounded": "no, corroded contact"},
        "wall": [{"place": "North wall", "kind": "crack", "size": "4 mm"}],
    },
]


@pytest.fixture
def quick_visit(monkeypatch: pytest.MonkeyPatch) -> tuple[str, ...]:
    """Few variants of all that a visit is told with: for tests of what is said, not of numbers."""
    monkeypatch.setattr("riskkit.options.visit_effect.USUAL_DRAWS", 16)
    return ("--draws", "16")


@pytest.fixture
def quick_sheet(monkeypatch: pytest.MonkeyPatch) -> None:
    """Few variants of a sheet that a command writes: for tests of what it is, not of numbers."""

    def few(
        home: Home, rain: DesignRain, settings: Settings | None = None, **more: Any
    ) -> Assessment:
        return assess(home, rain, settings or Settings(n_draws=32), **more)

    def tried(answer: Assessment, *, progress: Callable[[str], None] | None = None) -> Ranking:
        return rank_remedies(answer.home, answer.place_rain, n_draws=16, progress=progress)

    monkeypatch.setattr("riskkit.assessment.assess", few)
    monkeypatch.setattr("riskkit.options.ranking.rank_for", tried)


@pytest.fixture(scope="session")
def answers(demo_sites: Path) -> dict[str, Assessment]:
    found = {}
    for path in sorted(demo_sites.glob("*.toml")):
        home = load_home(path)
        rain = design_rain(home, path.parent)
        found[path.stem] = assess(home, rain.used, Settings(n_draws=128))
    return found


@pytest.fixture(scope="session")
def visited(demo_sites: Path) -> Home:
    return load_home(demo_sites / "split_level_on_clay.toml").changed(visit=VISITS)


@pytest.fixture(scope="session")
def answer(visited: Home, demo_sites: Path) -> Assessment:
    rain = design_rain(visited, demo_sites).used
    return assess(visited, rain, Settings(n_draws=128))


@pytest.fixture(scope="session")
def remedies(answer: Assessment) -> tuple[Remedy, ...]:
    return try_remedies(answer)


@pytest.fixture(scope="session")
def nasty(answer: Assessment) -> Assessment:
    """The same answer for a home whose every text tries to be markup."""
    visits = [
        {
            "date": "2026-04-14",
            "who": NASTY,
            "note": NASTY + " end",
            "parts": [NASTY],
            "floor_drain": NASTY,
            "checks": {"float_free": f"no, {NASTY}"},
            "wall": [{"place": NASTY, "kind": "crack", "size": "4 mm"}],
        }
    ]
    return replace(answer, home=answer.home.changed(name=NASTY, note=NASTY, visit=visits))


@pytest.fixture(scope="session")
def day() -> datetime.date:
    return DAY


@pytest.fixture(scope="session")
def nasty_text() -> str:
    return NASTY
