"""Pages of the tests read rain once, and answer the same home once."""

from __future__ import annotations

import hashlib
from collections.abc import Callable, Iterator
from dataclasses import replace
from pathlib import Path

import pytest

from riskkit.assessment import Assessment, DesignRain, Settings, assess, design_rain
from riskkit.evidence.posterior import Weighed
from riskkit.home.home import Home
from riskkit.options.ranking import Ranking, rank_for
from riskkit.records import IntArray
from riskkit.widgets import printing, state, takeaway, visit_state, work
from riskkit.widgets.state import HomeState
from riskkit.widgets.visit_state import VisitState

__all__ = ["answered_once", "draw_fewer", "rain_read_once", "ranked_once"]


def draw_fewer(monkeypatch: pytest.MonkeyPatch, n_draws: int) -> None:
    """Let every page of a test answer from fewer draws, where it is not told how many.

    At first from half of them, and after a change from a quarter. The trait makes its default when
    it is read, from the class that it was given: another class in the module would change nothing.
    """
    monkeypatch.setattr(HomeState.settings, "default_kwargs", {"n_draws": n_draws})
    monkeypatch.setattr(work, "FEW_DRAWS", n_draws // 2)
    monkeypatch.setattr(work, "PICKED_DRAWS", n_draws // 4)
    assert HomeState().settings.n_draws == VisitState().settings.n_draws == n_draws


@pytest.fixture(scope="session", autouse=True)
def rain_read_once() -> Iterator[None]:
    """Rain is worked out once for all tests: it hangs on what files hold, not on their folder."""
    found: dict[tuple[object, ...], DesignRain] = {}

    def read(home: Home, folder: Path) -> DesignRain:
        names = [*home.rain.files, *filter(None, [home.choice("ground.water_levels")])]
        if not all((folder / name).is_file() for name in names):
            return design_rain(home, folder)  # which refuses it
        digests = (hashlib.sha256((folder / name).read_bytes()).digest() for name in names)
        key = (home.rain.model_dump_json(), *names, *digests)
        if key not in found:
            found[key] = design_rain(home, folder)
        return found[key]

    with pytest.MonkeyPatch.context() as patch:
        patch.setattr(work, "design_rain", read)
        yield


@pytest.fixture(scope="session", autouse=True)
def answered_once() -> Iterator[None]:
    """A home is answered once for all tests: an answer hangs on home, rain and settings alone.

    Who listens to what is being done is answered anew.
    """
    found: dict[tuple[Home, bool, int, Settings], tuple[DesignRain, Assessment]] = {}

    def answered(
        home: Home,
        rain: DesignRain,
        settings: Settings,
        *,
        progress: Callable[[str], None] | None = None,
        only: IntArray | None = None,
        known: Weighed | None = None,
    ) -> Assessment:
        if progress is not None or only is not None:
            return assess(home, rain, settings, progress=progress, only=only, known=known)
        key = home, home.is_as_seen, id(rain), settings
        if key not in found:
            found[key] = rain, assess(home, rain, settings)  # rain is held, so that its id stays
        return replace(found[key][1], home=home)  # in the folder of this test

    with pytest.MonkeyPatch.context() as patch:
        for module in (state, visit_state, work):
            patch.setattr(module, "assess", answered)
        yield


@pytest.fixture(scope="session", autouse=True)
def ranked_once() -> Iterator[None]:
    """What helps a home is tried once for all tests: it hangs on home, rain and settings alone."""
    found: dict[tuple[object, ...], tuple[tuple[object, ...], Ranking]] = {}

    def ranked(answer: Assessment, *, progress: Callable[[str], None] | None = None) -> Ranking:
        held = answer.rain, answer.weather, answer.levels  # so that their ids stay
        key = answer.home, answer.home.is_as_seen, *map(id, held), answer.settings
        if key not in found:
            found[key] = held, rank_for(answer, progress=progress)
        return found[key][1]

    with pytest.MonkeyPatch.context() as patch:
        for module in (printing, takeaway):
            patch.setattr(module, "rank_for", ranked)
        yield
