"""What the analyst sees of generated seasons, as plain values."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass
from typing import Any

from riskkit.records import RainRecord
from riskkit.report.charts import to_svg
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
)


@dataclass(frozen=True)
class SeasonAnswer:
    """How generated seasons hold, and their picture in both systems of units."""

    check: SeasonCheck
    pictures: dict[UnitSystem, str]  # SVG


def season_answer(record: RainRecord, where: str, tell: Callable[[str], None]) -> SeasonAnswer:
    """Fit storms to a record and compare.

    Parameters
    ----------
    record : RainRecord
        The record.
    where : str
        Its name, for messages.
    tell : callable
        Gets a sentence on what is being done.

    Returns
    -------
    SeasonAnswer
        What was found.

    Raises
    ------
    InputError
        Where seasons cannot be told from the record.
    """
    sight = sight_of(record, where)
    check = check_seasons(fit_storms(sight, tell), sight, tell)
    return SeasonAnswer(check, {s: to_svg(season_chart(check, s)) for s in UnitSystem})


def season_blocks(found: SeasonAnswer, system: UnitSystem) -> list[dict[str, Any]]:
    """Return picture and tables of generated seasons.

    Parameters
    ----------
    found : SeasonAnswer
        What was found.
    system : UnitSystem
        Units of the reader.

    Returns
    -------
    list of dict
        Blocks for the panel.
    """
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
    ]
