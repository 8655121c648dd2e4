"""Words about the largest storms of the record that come again over all homes of a company."""

from __future__ import annotations

from typing import TYPE_CHECKING

from riskkit.quantities.variables import counted, significant
from riskkit.report.number_words import percent_words
from riskkit.report.rows import Table, new_table

if TYPE_CHECKING:
    from collections.abc import Sequence

    from riskkit.fleet.night import Nights
    from riskkit.fleet.past_told import PastTold

__all__ = ["past_storm_words", "past_table", "period_words", "rain_words"]

_MOST_YR = 100.0  # beyond which a return period is not told
_MM = 25.4


def period_words(years: float) -> str:
    """Say how seldom a storm comes, as far as that can be told.

    Parameters
    ----------
    years : float
        Return period [yr].

    Returns
    -------
    str
        Years, or that it is more than a hundred.
    """
    return f"over {_MOST_YR:g}" if years > _MOST_YR else significant(years, 2)


def rain_words(storm: PastTold) -> str:
    """Say how much a storm brought in the duration in which it is rarest.

    Parameters
    ----------
    storm : PastTold
        The storm.

    Returns
    -------
    str
        Depth in both units, and duration.
    """
    return f"{_depth_words(storm)} in {storm.duration_h:g} h"


def _depth_words(storm: PastTold) -> str:
    return f"{storm.depth_mm / _MM:.1f} in ({storm.depth_mm:.0f} mm)"


def past_storm_words(storm: PastTold) -> str:
    """Say which storm of a record it is.

    Parameters
    ----------
    storm : PastTold
        The storm.

    Returns
    -------
    str
        Its day, rain and return period.
    """
    gap = ", beside time that is missing in the record" if storm.beside_gap else ""
    return (
        f"The storm of {storm.name}: {rain_words(storm)}, as comes once in "
        f"{period_words(storm.return_period_yr)} years{gap}"
    )


def past_table(found: Sequence[Nights], within_h: float, share: float) -> Table:
    """Make a table of the largest storms of the record, as each would be over the homes of today.

    Parameters
    ----------
    found : sequence of Nights
        Many nights of each, the rarest first.
    within_h : float
        Time from a call until a crew sets out [h].
    share : float
        Of the calls [-].

    Returns
    -------
    Table
        A row for each storm.
    """
    told = [(each, each.past) for each in found if each.past is not None]
    places = {storm.place for _, storm in told}
    rows = []
    for each, storm in told:
        name = storm.name if len(places) == 1 else f"{storm.name}  {storm.place}"
        rows.append((
            name, _depth_words(storm), f"{storm.duration_h:g}",
            period_words(storm.return_period_yr),
            *(_counted(each, what) for what in ("alarms", "wet", "without_power", "calls")),
            str(each.crews_for(within_h, share)),
        ))  # fmt: skip
    head = (
        "Storm", "rain", "in hours", "once in years", "alarms", "wet floors", "power out too long",
        "calls", "crews",
    )  # fmt: skip
    homes = max((each.homes for each, _ in told), default=0)
    notes = (
        "Rain of the hours in which it is rarest. Power out too long: until water is on the floor.",
        f"Mean, and what 8 in 10 nights lie between, of {counted(homes, 'home', 'homes')} at most "
        f"under one record. Crews: so that for {percent_words(share)} of the calls one sets out "
        f"within {within_h:g} h. The rain comes hour by hour as in the record; the ground is as "
        "before large storms in general, not as it was before each.",
    )
    title = "The largest storms of the record, if they came again"
    return new_table(title, head, rows, notes, words=(0, 1))


def _counted(found: Nights, what: str) -> str:
    points = found.counted(what)
    ends = " to ".join(significant(end, 2) for end in (points.low, points.high))
    return f"{significant(found.mean(what), 2)} ({ends})"
