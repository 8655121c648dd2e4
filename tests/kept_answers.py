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
from riskkit.records import IntArray
from riskkit.widgets import state, visit_state, work

__all__ = ["answered_once", "rain_read_once"]


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
