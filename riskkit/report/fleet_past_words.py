"""Words about the largest storms of the record that come again over all homes of a company."""

from __future__ import annotations

from typing import TYPE_CHECKING

from riskkit.antecedent.before_storm import GroundFrom
from riskkit.quantities.variables import counted, significant
from riskkit.report.number_words import percent_words
from riskkit.report.rows import Table, new_table

if TYPE_CHECKING:
    from collections.abc import Sequence

    from riskkit.fleet.night import Nights
    from riskkit.fleet.past_told import PastTold

__all__ = ["ground_words", "past_storm_words", "past_table", "period_words", "rain_words"]

_MOST_YR = 100.0  # beyond which a return period is not told
_MM = 25.4
_LEAST_SNOW_MM = 1.0  # below which snow is not worth a word
_IN_GENERAL = "as before large storms in general"
_WHY_GENERAL = {
    None: "the run was made before the days before each storm counted",
    GroundFrom.NO_DAYS.value: "there are no daily temperatures of the time",
    GroundFrom.FEW_STORMS.value: "the daily temperatures cover too few large storms",
    GroundFrom.FIRST_YEAR.value: "the daily temperatures begin less than a year before",
    GroundFrom.MISSING_DAYS.value: "days are missing in the weeks before",
}


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
    general = "" if storm.ground == GroundFrom.ITS_DAYS else f", on ground {_IN_GENERAL}"
    period = period_words(storm.return_period_yr)
    years = "a year" if period == "1" else f"{period} years"
    return f"The storm of {storm.name}: {rain_words(storm)}, as comes once in {years}{gap}{general}"


def ground_words(storms: Sequence[PastTold]) -> tuple[str, ...]:
    """Say on which ground the storms of a run fall, and what of it is not reckoned with.

    Parameters
    ----------
    storms : sequence of PastTold
        The storms.

    Returns
    -------
    tuple of str
        A sentence each.
    """
    own = [storm for storm in storms if storm.ground == GroundFrom.ITS_DAYS]
    told = [
        "The ground is as the days before each storm left it, at homes with a latitude and as far "
        "as nobody says how wet it is."
    ] if own else []  # fmt: skip
    for why, words in _WHY_GENERAL.items():
        those = [storm for storm in storms if storm.ground == why]
        if those:
            names = "" if len(those) == len(storms) else f" before {_list_words(those)}"
            told.append(f"The ground{names} is {_IN_GENERAL}: {words}.")
    snow = [storm for storm in own if storm.snow_mm >= _LEAST_SNOW_MM]
    if snow:
        told.append(f"Snow lay before {_list_words(snow)}; its melt in the storm does not count.")
    frozen = [storm for storm in own if storm.may_be_frozen]
    if frozen:
        told.append(
            f"The ground may have been frozen before {_list_words(frozen)}; that less soaks in "
            "then does not count."
        )
    return tuple(told)


def _list_words(storms: Sequence[PastTold]) -> str:
    return ", ".join(dict.fromkeys(storm.name for storm in storms))


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
        f"within {within_h:g} h. The rain comes hour by hour as in the record.",
        *ground_words([storm for _, storm in told]),
    )
    title = "The largest storms of the record, if they came again"
    return new_table(title, head, rows, notes, words=(0, 1))


def _counted(found: Nights, what: str) -> str:
    points = found.counted(what)
    ends = " to ".join(significant(end, 2) for end in (points.low, points.high))
    return f"{significant(found.mean(what), 2)} ({ends})"
