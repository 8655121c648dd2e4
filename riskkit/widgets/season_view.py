<<<<<<< HEAD
"""Generated storm seasons on the analyst's page, as plain values."""

from __future__ import annotations

import calendar
=======
"""What the analyst sees of generated seasons, as plain values."""

from __future__ import annotations

>>>>>>> gen
from collections.abc import Callable
from dataclasses import dataclass
from typing import Any

from riskkit.records import RainRecord
from riskkit.report.charts import to_svg
<<<<<<< HEAD
from riskkit.report.season import month_summary, season_sentence
from riskkit.report.season_chart import season_chart
from riskkit.report.terminal import rain_words
from riskkit.risk.season_check import LARGE_STORM_MM, SeasonCheck, check_seasons
from riskkit.risk.seasons import fit_storms, sight_of
from riskkit.units import UnitSystem

__all__ = ["SeasonAnswer", "season_answer", "season_blocks"]

_PICTURE_WORDS = (
    "Rain, large storms and largest day of each month. Bars: 8 of 10 generated years. Ticks: their "
    "mean. Diamonds: the mean of the record."
=======
from riskkit.report.season import season_notes, season_sentence, season_tables
from riskkit.report.season_chart import season_chart
from riskkit.risk.season_check import SeasonCheck, check_seasons
from riskkit.risk.seasons import fit_storms, sight_of
from riskkit.units import UnitSystem

__all__ = ["SEASON_STEPS", "SeasonAnswer", "season_answer", "season_blocks"]

SEASON_STEPS = 32
"""About how often `season_answer` tells what it does."""

_CHART_WORDS = (
    "Rain, large storms and largest day of each month. Bars: 8 of 10 generated years; line: their "
    "mean; diamond: mean of the record."
>>>>>>> gen
)


@dataclass(frozen=True)
class SeasonAnswer:
<<<<<<< HEAD
    """Generated seasons beside their record, and the picture in both systems of units."""

    check: SeasonCheck
    charts: dict[UnitSystem, str]  # SVG


def season_answer(record: RainRecord, tell: Callable[[str], None]) -> SeasonAnswer:
    """Fit storms to a record, generate seasons and compare.
=======
    """How generated seasons hold, and their picture in both systems of units."""

    check: SeasonCheck
    pictures: dict[UnitSystem, str]  # SVG


def season_answer(record: RainRecord, where: str, tell: Callable[[str], None]) -> SeasonAnswer:
    """Fit storms to a record and compare.
>>>>>>> gen

    Parameters
    ----------
    record : RainRecord
<<<<<<< HEAD
        An hourly record or a finer one.
    tell : callable
        Told what is being done.
=======
        The record.
    where : str
        Its name, for messages.
    tell : callable
        Gets a sentence on what is being done.
>>>>>>> gen

    Returns
    -------
    SeasonAnswer
<<<<<<< HEAD
        The seasons.
=======
        What was found.
>>>>>>> gen

    Raises
    ------
    InputError
        Where seasons cannot be told from the record.
    """
<<<<<<< HEAD
    sight = sight_of(record, record.name or "rain record")
    check = check_seasons(fit_storms(sight, tell), sight, tell)
    tell("drawing the seasons")
    charts = {system: to_svg(season_chart(check, system)) for system in UnitSystem}
    return SeasonAnswer(check, charts)


def season_blocks(found: SeasonAnswer, system: UnitSystem) -> list[dict[str, Any]]:
    """Return what the page shows of generated seasons.
=======
    sight = sight_of(record, where)
    check = check_seasons(fit_storms(sight, tell), sight, tell)
    return SeasonAnswer(check, {s: to_svg(season_chart(check, s)) for s in UnitSystem})


def season_blocks(found: SeasonAnswer, system: UnitSystem) -> list[dict[str, Any]]:
    """Return picture and tables of generated seasons.
>>>>>>> gen

    Parameters
    ----------
    found : SeasonAnswer
<<<<<<< HEAD
        The seasons.
=======
        What was found.
>>>>>>> gen
    system : UnitSystem
        Units of the reader.

    Returns
    -------
    list of dict
        Blocks for the panel.
    """
<<<<<<< HEAD
    check = found.check
    own, made = month_summary(check.record_months), month_summary(check.generated_months)
    rows = []
    for month in range(12):
        rain, largest = (
            f"{rain_words(own[key][0, month], system)} | {rain_words(made[key][0, month], system)}"
            for key in ("total_mm", "largest_day_mm")
        )
        storms = f"{own['large_storms'][0, month]:.1f} | {made['large_storms'][0, month]:.1f}"
        rows.append([calendar.month_name[month + 1], rain, storms, largest])
    large = f"storms over {rain_words(LARGE_STORM_MM, system)}"
    return [
        {"kind": "heading", "text": "Seasons like these, generated"},
        {"kind": "text", "class": "lead", "text": season_sentence(check)},
        {"kind": "picture", "svg": found.charts[system], "words": _PICTURE_WORDS},
        {
            "kind": "table",
            "title": "Mean of the record | of generated years",
            "head": ["month", "rain", large, "largest day"],
            "rows": rows,
        },
=======
    tables = [
        {"kind": "table", "title": table.title, "head": table.head, "rows": table.rows}
        for table in season_tables(found.check, system)
    ]
    return [
        {"kind": "heading", "text": "Generated seasons"},
        {"kind": "text", "class": "lead", "text": season_sentence(found.check)},
        {"kind": "picture", "svg": found.pictures[system], "words": _CHART_WORDS},
        *tables,
        {"kind": "text", "class": "small", "text": season_notes(found.check)},
>>>>>>> gen
    ]
