"""The years of a home on the analyst's page, as plain values."""

from __future__ import annotations

import time
from collections.abc import Callable
from dataclasses import dataclass
from pathlib import Path
from typing import Any

from riskkit.antecedent.months import GroundMonths, ground_by_month
from riskkit.assessment import design_rain
from riskkit.errors import InputError
from riskkit.home.folder import named_file
from riskkit.home.home import load_home
from riskkit.options.replays import YearsStudy, years_study
from riskkit.quantities.units import UnitSystem
from riskkit.report.charts import to_svg
from riskkit.report.ground import ground_sentence, ground_table
from riskkit.report.replay_rows import replay_tables
from riskkit.report.replay_view import (
    CHART_WORDS,
    STORM_CHART_WORDS,
    lead_lines,
    replay_csv,
    replay_spec,
    storm_spec,
)
from riskkit.report.visit_words import alerts
from riskkit.risk.system_state import system_state
from riskkit.widgets.downloads import picture_files, table_file
from riskkit.widgets.record_view import RecordAnswer, record_answer, record_parts
from riskkit.widgets.tables import table_blocks
from riskkit.years.cache import cached_replay
from riskkit.years.records import ReplaySettings

__all__ = ["HomeYears", "home_years", "remaining_words", "years_blocks"]

_STORMS = 20
_WIDE_PX = 820  # of a plot that fills the sheet on a desk
_LEAST_S = 1.0  # before a time left is told


@dataclass(frozen=True)
class HomeYears:
    """The years of a home, its pictures in both systems of units, its record, and its ground."""

    study: YearsStudy
    charts: dict[UnitSystem, str]  # SVG: months
    storms: dict[UnitSystem, str]  # SVG
    record: RecordAnswer | None
    ground: GroundMonths | None


def home_years(
    home: Path, tell: Callable[[str], None], settings: ReplaySettings | None = None
) -> HomeYears:
    """Run the years of the record of a home, or look them up, and look at the record.

    Parameters
    ----------
    home : Path
        The home file.
    tell : callable
        Told what is being done.
    settings : ReplaySettings, optional
        How to run them.

    Returns
    -------
    HomeYears
        The years.

    Raises
    ------
    InputError
        Where the home cannot be read, or there is nothing to replay.
    """
    tell("reading the home and its rain")
    read = load_home(home)
    rain = design_rain(read, home.parent)
    begin = time.monotonic()
    found = cached_replay(
        read, rain, settings,
        progress=lambda words, share: tell(remaining_words(words, share, time.monotonic() - begin)),
    )  # fmt: skip
    tell("running the design storms beside them")
    study = years_study(found, rain)
    tell("drawing")
    charts = {
        system: to_svg(replay_spec(study, system, width_px=_WIDE_PX)) for system in UnitSystem
    }
    storms = {system: to_svg(storm_spec(study, system, width_px=_WIDE_PX)) for system in UnitSystem}
    named = read.rain.record
    record = (
        None if named is None else record_answer(named_file(read.home_folder, named), None, tell)
    )
    tell("following the ground through the days")
    try:
        ground = ground_by_month(read, rain.weather, rain.levels)
    except InputError:  # a record with too few large storms tells the years all the same
        ground = None
    return HomeYears(study, charts, storms, record, ground)


def remaining_words(words: str, share: float, spent_s: float) -> str:
    """Say what is being done and about how long it will still take.

    Parameters
    ----------
    words : str
        What is being done.
    share : float
        Share of it that is done [-].
    spent_s : float
        Time that it has taken [s].

    Returns
    -------
    str
        Such as ``"running 64 variants, about 4 s left"``.

    Examples
    --------
    >>> remaining_words("running", 0.25, 2.0), remaining_words("running", 0.0, 5.0)
    ('running, about 6 s left', 'running')
    """
    if share <= 0.0 or spent_s < _LEAST_S:
        return words
    return f"{words}, about {spent_s * (1.0 - share) / share:.0f} s left"


def years_blocks(
    found: HomeYears,
    system: UnitSystem,
    beside: list[dict[str, Any]],
    seasons: list[dict[str, Any]],
) -> list[dict[str, Any]]:
    """Return what the page shows of the years of a home: months first, the rest behind tabs.

    Parameters
    ----------
    found : HomeYears
        The years.
    system : UnitSystem
        Units of the reader.
    beside : list of dict
        Blocks of the years that stand beside them; none where there are none.
    seasons : list of dict
        Blocks of seasons generated from its rain; none where there are none.

    Returns
    -------
    list of dict
        Blocks for the panel.
    """
    study = found.study
    home, replay = study.replay.home, study.replay
    first, *lines = lead_lines(study)
    months, storms, year, *against = replay_tables(study, system, _STORMS)
    warned = alerts(home, system_state(home), system)
    ground = [] if found.ground is None else _ground_blocks(found.ground, system)
    tabs = [
        {
            "title": "Months",
            "blocks": [
                {"kind": "picture", "svg": found.charts[system], "words": CHART_WORDS},
                *table_blocks(months),
            ],
        },
        {
            "title": "Storms",
            "blocks": [
                *table_blocks(storms),
                {"kind": "picture", "svg": found.storms[system], "words": STORM_CHART_WORDS},
            ],
        },
        *([{"title": "The ground", "blocks": ground}] if ground else []),
        {"title": "A year, and changes", "blocks": table_blocks(year)},
        *(
            {"title": "Compared with design storms", "blocks": table_blocks(table)}
            for table in against
        ),
    ]
    if beside:
        tabs.insert(0, {"title": "Side by side", "blocks": beside})
    if found.record is not None:
        rain, often = record_parts(found.record, system)
        tabs += [
            {"title": "The rain record", "blocks": rain},
            {"title": "How often such rain", "blocks": [*often, *seasons]},
        ]
    name = Path(replay.record_name or "record").stem
    return [
        {"kind": "heading", "text": home.name},
        *({"kind": "text", "class": "lead wrong", "text": line} for line in warned),
        {"kind": "text", "class": "lead", "text": first},
        *({"kind": "text", "class": "", "text": line} for line in lines),
        {"kind": "tabs", "title": "The years in tables", "tabs": tabs},
        {
            "kind": "files",
            "items": [
                table_file(f"{name}_storms", "storms", replay_csv(replay.storms)),
                table_file(f"{name}_months", "months", replay_csv(replay.months)),
                *picture_files(f"{name}_months", "picture of the months", found.charts[system]),
                *picture_files(f"{name}_storms", "picture of the storms", found.storms[system]),
            ],
        },
    ]  # fmt: skip


def _ground_blocks(ground: GroundMonths, system: UnitSystem) -> list[dict[str, Any]]:
    """What is known of the ground before large storms, as `riskkit ground` tells it."""
    table = ground_table(ground, system)
    return [
        {"kind": "text", "class": "", "text": ground_sentence(ground, system)},
        *table_blocks(table),
        {"kind": "text", "class": "small",
         "text": "In brackets the limits within which 9 of 10 lie."},
        *({"kind": "text", "class": "small", "text": line} for line in ground.remarks),
    ]  # fmt: skip
