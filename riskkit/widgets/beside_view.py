"""What the years of a home are set beside on the analyst's page, as plain values."""

from __future__ import annotations

import time
from collections.abc import Callable
from dataclasses import dataclass
from enum import Enum
from pathlib import Path
from typing import Any

from riskkit.assessment import design_rain
from riskkit.errors import InputError
from riskkit.home.home import Home, load_home
from riskkit.options.changes import remedies
from riskkit.options.replays import ReplayComparison, compare_replays
from riskkit.options.side_by_side import SideBySide, side_by_side, two_periods
from riskkit.quantities.units import UnitSystem
from riskkit.report.charts import to_svg
from riskkit.report.remedy_years import remedy_years_table
from riskkit.report.replay_view import replay_csv
from riskkit.report.side_rows import side_sentence
from riskkit.report.side_view import side_spec
from riskkit.risk.design_rain import DesignRain
from riskkit.widgets.downloads import table_file
from riskkit.widgets.side_view import beside_blocks
from riskkit.widgets.tables import table_blocks
from riskkit.widgets.years_view import remaining_words
from riskkit.years.cache import cached_replay
from riskkit.years.generated import generated_rain
from riskkit.years.records import Replay, ReplaySettings

__all__ = ["Beside", "YearsBeside", "set_beside_blocks", "years_beside"]

_YEARS = 60  # generated
_WIDE_PX = 720  # of a plot beside its names
_DRAWS = 16  # of each remedy: the same for all, so that differences are theirs


class Beside(Enum):
    """What stands beside the years of a home."""

    PERIODS = "periods"
    GENERATED = "generated"
    PLACE = "place"
    REMEDIES = "remedies"


@dataclass(frozen=True)
class YearsBeside:
    """Years side by side with their pictures, SVG, or the years after each remedy."""

    kind: Beside
    found: SideBySide | ReplayComparison
    charts: dict[UnitSystem, str]


def years_beside(
    years: Replay,
    path: Path,
    kind: Beside,
    tell: Callable[[str], None],
    place: Path | None = None,
) -> YearsBeside:
    """Set the years of a home beside others of the same house.

    Parameters
    ----------
    years : Replay
        The years of its record.
    path : Path
        Its file.
    kind : Beside
        What beside.
    tell : callable
        Told what is being done and about how long it will still take.
    place : Path, optional
        File of the home at the other place.

    Returns
    -------
    YearsBeside
        Both.

    Raises
    ------
    InputError
        Where the others cannot be run.
    """
    begin = time.monotonic()

    def told(words: str, share: float) -> None:
        tell(remaining_words(words, share, time.monotonic() - begin))

    home, settings = years.home, years.settings
    if kind is Beside.PERIODS:
        return _drawn(kind, two_periods(years))
    told("reading the rain", 0.0)
    if kind is Beside.PLACE:
        if place is None:
            raise InputError("place", "no home at another place is chosen", "choose one")
        other = load_home(place)
        moved = home.model_copy(update={"place": other.place, "rain": other.rain})
        rain = design_rain(other, place.parent)
        there = cached_replay(moved, rain, settings, progress=told)
        return _drawn(kind, {f"at {home.name}": years, f"at {other.name}": there})
    rain = design_rain(home, path.parent)
    if kind is Beside.GENERATED:
        made = generated_rain(rain, _YEARS, settings.seed, tell=tell)
        again = cached_replay(home, made, settings, progress=told)
        return _drawn(kind, {"the record": years, "generated years": again})
    return YearsBeside(kind, _after_remedies(home, rain, settings, told), {})


def _after_remedies(
    home: Home, rain: DesignRain, settings: ReplaySettings, told: Callable[[str, float], None]
) -> ReplayComparison:
    few = ReplaySettings(min(_DRAWS, settings.n_draws), settings.seed, settings.least_mm)
    return compare_replays(home, remedies(), rain, few, progress=told, run=cached_replay)


def _drawn(kind: Beside, replays: dict[str, Replay]) -> YearsBeside:
    found = side_by_side(replays)
    charts = {system: to_svg(side_spec(found, system, width_px=_WIDE_PX)) for system in UnitSystem}
    return YearsBeside(kind, found, charts)


_TITLES = {
    Beside.PERIODS: "The earlier years beside the later ones",
    Beside.GENERATED: "The record beside generated years",
    Beside.PLACE: "The same house at two places",
    Beside.REMEDIES: "The same years after each remedy",
}


def set_beside_blocks(beside: YearsBeside, system: UnitSystem) -> list[dict[str, Any]]:
    """Return what the page shows of them.

    Parameters
    ----------
    beside : YearsBeside
        The years.
    system : UnitSystem
        Units of the reader.

    Returns
    -------
    list of dict
        Blocks for the panel.
    """
    found, name = beside.found, beside.kind.value
    heading = {"kind": "heading", "text": _TITLES[beside.kind]}
    if isinstance(found, ReplayComparison):
        return [
            heading, *table_blocks(remedy_years_table(found, system)),
            {"kind": "files", "items": [table_file(name, name, replay_csv(found.to_frame()))]},
        ]  # fmt: skip
    return [
        heading, {"kind": "text", "class": "", "text": side_sentence(found)},
        *beside_blocks(found, beside.charts[system], name, system),
    ]  # fmt: skip
