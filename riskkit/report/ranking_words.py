"""What each remedy does for a home, in words: time gained and chance of a year."""

from __future__ import annotations

from typing import TYPE_CHECKING

from riskkit.report.chance_words import chance_words
from riskkit.report.number_words import about_share
from riskkit.report.time_words import about_duration
from riskkit.risk.clock import Clock

if TYPE_CHECKING:
    from riskkit.options.ranking import RankedRemedy, Ranking
    from riskkit.quantities.units import UnitSystem

__all__ = ["RANKING_HEAD", "no_help_line", "ranking_rows", "ranking_title"]

RANKING_HEAD = (
    "What to do",
    "chance in a year, mean of all variants",
    "10-year storm, the pump stopping",
)
_SURER = 0.05  # of the forms, from which the share that never floods is worth saying
_SINCE = {
    Clock.ALARM: "from the alarm to the floor",
    Clock.STOP: "from the stop of the pump to the floor",
    Clock.RAIN: "from the beginning of the rain to the floor",
}


def ranking_title(found: Ranking) -> str:
    """Say what the table holds.

    Parameters
    ----------
    found : Ranking
        The remedies.

    Returns
    -------
    str
        A title.
    """
    return f"What helps here, the best first; time {_SINCE[found.clock]}"


def ranking_rows(found: Ranking, system: UnitSystem) -> list[tuple[str, str, str]]:
    """Write the remedies that help.

    Parameters
    ----------
    found : Ranking
        The remedies.
    system : UnitSystem
        Units of the reader.

    Returns
    -------
    list of tuple of str
        Cells as in `RANKING_HEAD`.
    """
    return [
        (row.remedy.words(system), _chances(row), _time(row)) for row in found.rows if row.helps
    ]


def _chances(row: RankedRemedy) -> str:
    before, after = chance_words(row.chance_before.mean), chance_words(row.chance_after.mean)
    return f"{before}, then {after}" if row.helps_chance else f"{before}, no less"


def _time(row: RankedRemedy) -> str:
    if not row.helps_time:
        return "no longer"
    old, new = row.before_s.never_share, row.after_s.never_share
    if new >= old + _SURER:
        return f"dry in {about_share(new)} variants, now {about_share(old)}"
    return f"about {about_duration(row.gained_s)} longer"


def no_help_line(found: Ranking, system: UnitSystem) -> str:
    """Say what does not help here.

    Parameters
    ----------
    found : Ranking
        The remedies.
    system : UnitSystem
        Units of the reader.

    Returns
    -------
    str
        A sentence; that nothing is left to try where that is so.
    """
    useless = [row.remedy.words(system) for row in found.rows if not row.helps]
    if not found.rows:
        return "There is nothing left to try."
    if not useless:
        return "All that was tried helps here."
    return "Does not help here: " + " ".join(useless)
