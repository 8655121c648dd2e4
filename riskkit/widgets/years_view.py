"""The years of a home on the analyst's page, as plain values."""

from __future__ import annotations

import time
from collections.abc import Callable
from dataclasses import dataclass
from pathlib import Path
from typing import Any

from riskkit.assessment import design_rain
from riskkit.home.home import load_home
from riskkit.options.replays import YearsStudy, years_study
from riskkit.quantities.units import UnitSystem
from riskkit.report.charts import to_svg
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
from riskkit.widgets.record_view import RecordAnswer, record_answer
from riskkit.widgets.tables import table_blocks
from riskkit.years.cache import cached_replay
from riskkit.years.records import ReplaySettings

__all__ = ["HomeYears", "home_years", "remaining_words", "years_blocks"]

_STORMS = 20
_LEAST_S = 1.0  # before a time left is told


@dataclass(frozen=True)
class HomeYears:
    """The years of a home, its pictures in both systems of units, and its record."""

    study: YearsStudy
    charts: dict[UnitSystem, str]  # SVG: months
    storms: dict[UnitSystem, str]  # SVG
    record: RecordAnswer | None


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
    charts = {system: to_svg(replay_spec(study, system)) for system in UnitSystem}
    storms = {system: to_svg(storm_spec(study, system)) for system in UnitSystem}
    named = read.rain.record
    record = None if named is None else record_answer(read.named_file(named), None, tell)
    return HomeYears(study, charts, storms, record)


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
    found: HomeYears, system: UnitSystem, record: list[dict[str, Any]]
) -> list[dict[str, Any]]:
    """Return what the page shows of the years of a home: months first, the rest behind tabs.

    Parameters
    ----------
    found : HomeYears
        The years.
    system : UnitSystem
        Units of the reader.
    record : list of dict
        Blocks of its rain record.

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
    tabs = [
        {"title": "Months", "blocks": table_blocks(months)},
        {
            "title": "Storms",
            "blocks": [
                *table_blocks(storms),
                {"kind": "picture", "svg": found.storms[system], "words": STORM_CHART_WORDS},
            ],
        },
        {"title": "A year, and changes", "blocks": table_blocks(year)},
        *({"title": "Beside design storms", "blocks": table_blocks(table)} for table in against),
    ]
    if record:
        tabs.append({"title": "The rain record", "blocks": record})
    name = Path(replay.record_name or "record").stem
    return [
        {"kind": "heading", "text": home.name},
        *({"kind": "text", "class": "lead wrong", "text": line} for line in warned),
        {"kind": "text", "class": "lead", "text": first},
        *({"kind": "text", "class": "", "text": line} for line in lines),
        {"kind": "picture", "svg": found.charts[system], "words": CHART_WORDS},
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
