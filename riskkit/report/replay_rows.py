"""Years of a home as tables: months of the year, storms, years, and beside the design storms."""

from __future__ import annotations

import calendar
from typing import TYPE_CHECKING

import numpy as np

from riskkit.ensemble.quantiles import MeanRange, Points, mean_range, outcome
from riskkit.quantities.units import UnitSystem
from riskkit.report.against_words import against_lines
from riskkit.report.amounts import Amount, amount_range, grouped, volume_amount
from riskkit.report.minutes_words import minutes_line
from riskkit.report.number_words import percent_words, rain_words
from riskkit.report.replay_words import (
    DEAD_WORDS,
    STORM_WORDS,
    often_words,
    trend_lines,
    within_words,
)
from riskkit.report.rows import Table, new_table
from riskkit.report.state_words import since_words
from riskkit.report.time_words import minutes_words
from riskkit.years.calendar import failed_floods, followed_soon, ranked_storms

if TYPE_CHECKING:
    from riskkit.options.replays import YearsStudy
    from riskkit.records import FloatArray

__all__ = ["range_words", "replay_tables", "volume_range_words"]

_NO_DASH = "–"


def replay_tables(study: YearsStudy, system: UnitSystem, n_storms: int = 10) -> list[Table]:
    """Write the years of a home as tables.

    Parameters
    ----------
    study : YearsStudy
        The years.
    system : UnitSystem
        Units of the reader.
    n_storms : int
        How many storms are listed, the worst first [-].

    Returns
    -------
    list of Table
        Months, storms, years, and design storms where they were run.
    """
    tables = [_months(study, system), _storms(study, system, n_storms), _year(study, system)]
    if study.against is not None:
        tables.append(_against(study))
    return tables


def range_words(points: Points | MeanRange) -> str:
    """Write the median or mean and in brackets the range, to two digits each.

    Parameters
    ----------
    points : Points or MeanRange
        Three points of a spread [any].

    Returns
    -------
    str
        Such as ``"3.1 (0.5–6.2)"``.

    Examples
    --------
    >>> range_words(Points(0.5, 3.14, 6.2)), range_words(Points(2.0, 2.0, 2.0))
    ('3.1 (0.5–6.2)', '2')
    """
    centre = points.mean if isinstance(points, MeanRange) else points.median
    low, middle, high = (Amount(grouped(x)) for x in (points.low, centre, points.high))
    return amount_range(low, middle, high)


def _months(study: YearsStudy, system: UnitSystem) -> Table:
    risk = study.months
    rows: list[tuple[str, ...]] = []
    for month in range(12):
        dead: FloatArray = risk.dead_floods[:, month]
        rows.append(
            (
                calendar.month_name[month + 1],
                range_words(mean_range(dead)),
                volume_range_words(risk.pumped_m3[:, month], system),
                range_words(outcome(risk.run_h[:, month])),
                rain_words(float(risk.water_mm[month]), system),
                rain_words(float(risk.melt_mm[month].round(1)), system),
                f"{min(float(risk.wetness[month]), 1.0) * 100:.0f} %",
                rain_words(float(risk.lot_mm[month]), system),
            )
        )
    head = ("month", "a failed pump floods", "pumped", "pump runs [h]", "rain and melt",
            "of it melt", "soil wetness", "water in the lot")  # fmt: skip
    return new_table(
        "Months of this home, mean of the years", head, rows, [DEAD_WORDS, *_twice(study)]
    )


def _twice(study: YearsStudy) -> list[str]:
    """Say how many of the floods are of storms that another one follows."""
    floods = failed_floods(study.replay).mean(axis=0)
    share = float(floods[followed_soon(study.replay)].sum()) / max(float(floods.sum()), 1e-12)
    if share < 0.005:
        return []
    return [
        f"{share * 100:.0f} % of them are storms that another one follows within two days: each "
        "counts, though one repair would end both."
    ]


def volume_range_words(per_draw: FloatArray, system: UnitSystem) -> str:
    """Write the median of some volumes and in brackets their range.

    Parameters
    ----------
    per_draw : (n_draws,) array
        Volumes [m3].
    system : UnitSystem
        Units of the reader.

    Returns
    -------
    str
        Such as ``"26,000 gal (9,000–61,000)"``.
    """
    points = outcome(per_draw)
    low, median, high = (volume_amount(x, system) for x in (points.low, points.median, points.high))
    return amount_range(low, median, high)


def _storms(study: YearsStudy, system: UnitSystem, n: int) -> Table:
    replay = study.replay
    found = replay.outcomes
    wetness = replay.storms["wetness_share"].to_numpy()
    rows: list[tuple[str, ...]] = []
    soon = followed_soon(replay)
    for place in ranked_storms(replay)[:n]:
        storm = replay.record_storms[place]
        time, dead = (
            outcome(found.worst_s[:, place]),
            outcome(found.dead_alarm_to_floor_s[:, place]),
        )
        rows.append(
            (
                f"{storm.start.astype('datetime64[D]')}{' +' if soon[place] else ''}"
                f"{' *' if storm.touches_gap else ''}",
                f"{rain_words(storm.depth_mm, system)} in {storm.duration_h:.0f} h",
                rain_words(storm.peak_mm, system),
                f"{min(float(wetness[place]), 1.0) * 100:.0f} %",
                minutes_words(time),
                percent_words(1.0 - time.never_share, time.n_draws),
                minutes_words(dead),
                percent_words(float(found.alarms[:, place].mean()), len(found.alarms)),
            )
        )
    head = ("storm", "rain and melt", "wettest hour", "soil wetness", "pump stops in it", "reached",
            "pump dead since the day before", "alarm, pump working")  # fmt: skip
    lines = [STORM_WORDS, minutes_line(replay)]
    if soon.any():
        lines.append(
            "+: another storm follows within two days; a pump that stops in the first may flood "
            "only in the second."
        )
    if any(storm.touches_gap for storm in replay.record_storms):
        lines.append("*: hours are missing from the record close by.")
    title = f"The worst storms for this pit: time {since_words(replay.clock)} to water on the floor"
    return new_table(title, head, rows, lines)


def _year(study: YearsStudy, system: UnitSystem) -> Table:
    replay = study.replay
    months, years = replay.by_month, replay.years

    def of_year(values: FloatArray) -> FloatArray:
        return np.asarray(values.sum(axis=1) / years)

    rows: list[tuple[str, ...]] = [
        ("water pumped", volume_range_words(of_year(months.pumped_m3), system)),
        ("pump runs [h]", range_words(outcome(of_year(months.run_h)))),
        ("pump starts", range_words(outcome(of_year(months.starts)))),
        ("largest flow of an hour, of what the pump carries",
         f"{range_words(outcome(months.peak_use.max(axis=1) * 100))} %"),
        ("storms in which the alarm sounds with the pump working, mean",
         _seldom_words(of_year(replay.outcomes.alarms))),
        ("storms in which water reaches the floor with the pump working, mean",
         _seldom_words(of_year(replay.outcomes.floods))),
    ]  # fmt: skip
    for one in study.periods:
        if one.what == "pumped_m3":
            spans = [f"{a}{_NO_DASH}{b}" for a, b in (one.first, one.last)]
            both = [str(volume_amount(mean, system)) for mean in one.means]
            rows.append(
                (
                    f"pumped in {spans[0]} and in {spans[1]}",
                    f"{both[0]} and {both[1]}; chance sets them as far apart in "
                    f"{max(1.0, one.p_value * 100):.0f} of 100",
                )
            )
    title = "A year of this home"
    return new_table(title, ("", "a year"), rows, trend_lines(study.trends, system), words=(0, 1))


def _seldom_words(per_draw: FloatArray) -> str:
    """Write the mean and range of what in many variants never occurs: there its median is 0."""
    words, share = range_words(mean_range(per_draw)), float((per_draw > 0).mean())
    if share in (0.0, 1.0):
        return words
    return f"{words}; occurs in {percent_words(share, per_draw.size)} of variants"


def _span(low: str, high: str) -> str:
    """Say a range, once where both ends read the same."""
    return low if low == high else f"{low} to {high}"


def _against(study: YearsStudy) -> Table:
    against = study.against
    if against is None:
        raise TypeError("the design storms were not run")
    rows: list[tuple[str, ...]] = [
        (
            f"water on the floor {within_words(row.within_s, study.replay)}",
            often_words(row.record.mean),
            _span(*(str(often_words(per_year)) for per_year in row.record_error)),
            often_words(row.design.mean),
            "apart" if row.is_apart else "agree",
        )
        for row in against.rows
    ]
    head = ("a pump that stops in the storm", "record", "with other years", "design storms", "")
    title = "Years of the record beside the design storms, mean of the simulated variants"
    return new_table(title, head, rows, against_lines(against, study.replay), words=(0, 4))
