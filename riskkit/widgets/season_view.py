"""Generated storm seasons on the analyst's page, as plain values."""

from __future__ import annotations

import calendar
from collections.abc import Callable
from dataclasses import dataclass
from typing import Any

from riskkit.quantities.units import UnitSystem
from riskkit.records import RainRecord
from riskkit.report.charts import to_svg
from riskkit.report.number_words import rain_words
from riskkit.report.rows import new_table
from riskkit.report.season import month_summary, season_notes, season_sentence, season_tables
from riskkit.report.season_chart import season_chart
from riskkit.seasons.check import LARGE_STORM_MM, SeasonCheck, check_seasons
from riskkit.seasons.fit import fit_storms, sight_of
from riskkit.widgets.downloads import picture_files
from riskkit.widgets.tables import table_blocks

__all__ = ["SeasonAnswer", "season_answer", "season_blocks"]

_PICTURE_WORDS = (
    "Rain, large storms and largest day of each month. Bars: 8 of 10 generated years. Ticks: their "
    "mean. Diamonds: the mean of the record."
)


@dataclass(frozen=True)
class SeasonAnswer:
    """Generated seasons beside their record, and the picture in both systems of units."""

    check: SeasonCheck
    charts: dict[UnitSystem, str]  # SVG


def season_answer(record: RainRecord, where: str, tell: Callable[[str], None]) -> SeasonAnswer:
    """Fit storms to a record, generate seasons and compare.

    Parameters
    ----------
    record : RainRecord
        An hourly record or a finer one.
    where : str
        Its name, for messages.
    tell : callable
        Told what is being done.

    Returns
    -------
    SeasonAnswer
        The seasons.

    Raises
    ------
    InputError
        Where seasons cannot be told from the record.
    """
    sight = sight_of(record, where)
    check = check_seasons(fit_storms(sight, tell), sight, tell)
    tell("drawing the seasons")
    charts = {system: to_svg(season_chart(check, system)) for system in UnitSystem}
    return SeasonAnswer(check, charts)


def season_blocks(found: SeasonAnswer, system: UnitSystem) -> list[dict[str, Any]]:
    """Return what the page shows of generated seasons.

    Parameters
    ----------
    found : SeasonAnswer
        The seasons.
    system : UnitSystem
        Units of the reader.

    Returns
    -------
    list of dict
        Blocks for the panel.
    """
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
    more = [block for table in season_tables(check, system)[1:] for block in table_blocks(table)]
    large = f"storms over {rain_words(LARGE_STORM_MM, system)}"
    return [
        {"kind": "heading", "text": "Seasons like these, generated"},
        {"kind": "text", "class": "lead", "text": season_sentence(check)},
        {"kind": "picture", "svg": found.charts[system], "words": _PICTURE_WORDS},
        {"kind": "files", "items": picture_files("seasons", "picture", found.charts[system])},
        *table_blocks(
            new_table(
                "Mean of the record | of generated years",
                ("month", "rain", large, "largest day"),
                rows,
            )
        ),
        {"kind": "more", "title": "Windows of hours, and the largest rains", "blocks": more},
        {"kind": "text", "class": "small", "text": season_notes(check)},
    ]
