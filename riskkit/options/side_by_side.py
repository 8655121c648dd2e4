"""Years side by side: homes, places, two spans of a record, a record and generated seasons.

What is told of each is what a year brings. Two of them differ clearly only where their difference
is more than what nobody knows of the homes, and more than what other years would have made of it.
"""

from __future__ import annotations

from collections.abc import Iterable, Mapping
from dataclasses import dataclass, fields, replace
from enum import Enum
from typing import TYPE_CHECKING

import numpy as np
from numpy.typing import NDArray

from riskkit.ensemble.quantiles import MeanRange, mean_range, outcome
from riskkit.errors import InputError, need_type
from riskkit.home.home import Home
from riskkit.records import FloatArray, IntArray
from riskkit.records.shown import ShownInNotebook
from riskkit.years.calendar import VisitSeason, failed_floods, month_risk, visit_season
from riskkit.years.records import PumpMonths, Replay
from riskkit.years.storms import StormOutcomes

if TYPE_CHECKING:
    import pandas as pd

__all__ = [
    "YEARLY",
    "Contrast",
    "SideBySide",
    "Verdict",
    "months_before",
    "of_years",
    "ranked_by_floods",
    "side_by_side",
    "two_periods",
]

_PARTED = {  # what it is, and its unit
    "failed_pump_floods": ("failed_pump_floods", ""),
    "failed_pump_floods_within_1_h": ("failed_pump_floods_within_1_h", ""),
    "working_floods": ("working_floods", ""),
    "pumped_m3": ("pumped", "_m3"),
    "run_h": ("run", "_h"),
}
YEARLY = tuple(_PARTED)
"""What is told of a year, each with its unit where it has one."""
_LEAST_YEARS = 5
_RESAMPLED = 400
_NOT_THE_HOUSE = ("name", "note", "place", "rain")


class Verdict(Enum):
    """Whether two yearly means differ clearly, and if not, why not."""

    APART = "apart"
    HOMES = "homes"  # within what nobody knows of the homes
    YEARS = "years"  # within what other years would have made of it
    FEW_YEARS = "few_years"  # fewer than five on one side tell nothing
    SAME = "same"  # no difference at all


@dataclass(frozen=True)
class Contrast:
    """The difference of one from the first, in what a year brings.

    Parameters
    ----------
    name : str
        Which one.
    what : str
        A member of `YEARLY`.
    difference : MeanRange
        How much more than the first it has, over the draws: 10 % point, mean and 90 % point [any].
    by_years : tuple of float
        Between what the mean would lie with other years, nineteen times in twenty [any].
    verdict : Verdict
        Whether the two differ clearly.
    """

    name: str
    what: str
    difference: MeanRange
    by_years: tuple[float, float]
    verdict: Verdict


@dataclass(frozen=True, repr=False)
class SideBySide(ShownInNotebook):
    """Years side by side.

    Parameters
    ----------
    names : tuple of str
        What each is called.
    replays : tuple of Replay
        The years of each.
    seasons : tuple of VisitSeason or None
        When a failed pump most often floods each; None where it never does.
    contrasts : tuple of Contrast
        Each but the first against the first, for each of `YEARLY`.
    """

    names: tuple[str, ...]
    replays: tuple[Replay, ...]
    seasons: tuple[VisitSeason | None, ...]
    contrasts: tuple[Contrast, ...]

    def to_frame(self) -> pd.DataFrame:
        """Return what a year brings as a DataFrame.

        Returns
        -------
        pandas.DataFrame
            By ``name``: length of the record, rain and melt of a year, each of `YEARLY` with its
            10 %, 50 % and 90 % point over the draws and its mean, and how it compares with the
            first in ``_against_first``, the value of a `Verdict`. ``finish_by_month`` and ``_day``
            begin the weeks that hold half of the floods; 0 where no season stands out.
        """
        import pandas as pd

        told = {(one.name, one.what): one.verdict.value for one in self.contrasts}
        rows = {}
        for name, one, season in zip(self.names, self.replays, self.seasons, strict=True):
            water = float((one.rain_mm + one.melt_mm).sum()) / one.years
            row: dict[str, object] = {"years": one.years, "rain_and_melt_mm_per_year": water}
            for what, by_year in of_years(one).items():
                stem, unit = _PARTED[what]
                points = outcome(by_year.mean(axis=1))
                values = (points.low, points.median, points.high, float(by_year.mean()))
                for point, value in zip(("low", "median", "high", "mean"), values, strict=True):
                    row[f"{stem}_{point}{unit}_per_year"] = value
                row[f"{stem}_against_first"] = told.get((name, what), "")
            stands_out = season is not None and season.stands_out
            month, day = season.first_day if season is not None and stands_out else (0, 0)
            rows[name] = row | {"finish_by_month": month, "finish_by_day": day}
        return pd.DataFrame.from_dict(rows, orient="index").rename_axis("name")

    def months(self) -> pd.DataFrame:
        """Return the months of the year as a DataFrame.

        Returns
        -------
        pandas.DataFrame
            By ``name`` and ``month``, 1 for January: storms a year in which a failed pump floods,
            mean of the draws, and water pumped and hours run, median of the draws.
        """
        import pandas as pd

        rows = []
        for name, one in zip(self.names, self.replays, strict=True):
            risk = month_risk(one)
            rows += [
                {
                    "name": name, "month": month + 1,
                    "failed_pump_floods_mean_per_year": float(risk.dead_floods[:, month].mean()),
                    "pumped_median_m3": outcome(risk.pumped_m3[:, month]).median,
                    "run_median_h": outcome(risk.run_h[:, month]).median,
                }
                for month in range(12)
            ]  # fmt: skip
        return pd.DataFrame(rows).set_index(["name", "month"])

    def __repr__(self) -> str:
        return f"SideBySide({', '.join(self.names)})"


def of_years(replay: Replay) -> dict[str, FloatArray]:
    """Add a replay up to whole years, from its first month on.

    Parameters
    ----------
    replay : Replay
        The years; months after the last whole year are left out.

    Returns
    -------
    dict of str to (n_draws, n_years) array
        Each of `YEARLY`: storms in which a failed pump floods at all and, stopped round the wettest
        hour, within an hour, and storms in which the floor is wet with the pump working [-], water
        pumped [m3] and hours run [h].
    """
    n = replay.month.size // 12
    start = np.array([storm.start for storm in replay.record_storms], dtype="datetime64[M]")
    year: IntArray = (start - replay.month[0]).astype(np.int64) // 12

    def storms(each: FloatArray) -> FloatArray:
        return np.stack([each[:, year == y].sum(axis=1) for y in range(n)], axis=1)

    def months(each: FloatArray) -> FloatArray:
        return np.asarray(each[:, : 12 * n].reshape(each.shape[0], n, 12).sum(axis=2))

    found = replay.outcomes
    soon = np.asarray(found.worst_s <= 3600.0, dtype=np.float64)
    values = (
        storms(failed_floods(replay)), storms(soon), storms(found.floods),
        months(replay.by_month.pumped_m3), months(replay.by_month.run_h),
    )  # fmt: skip
    return dict(zip(YEARLY, values, strict=True))


def side_by_side(replays: Mapping[str, Replay]) -> SideBySide:
    """Compare replays with the first of them, and say which differences are clear.

    Parameters
    ----------
    replays : mapping of str to Replay
        Years by name, such as of several homes, of one home with the rain of several places, or of
        `two_periods`.

    Returns
    -------
    SideBySide
        The years and their differences.

    Raises
    ------
    InputError
        Where there are fewer than two.

    References
    ----------
    arithmetic : differences over draws, resampling of years
    judgement : apart where eight in ten draws agree and 19 in 20 resampled records
    """
    right = 'give them by name, such as {"before": replay(home)}'
    need_type(replays, Mapping, "replays", right)
    for one in replays.values():
        need_type(one, Replay, "replays", "give what replay(home) returns")
    if len(replays) < 2:
        raise InputError("replays", f"there is {len(replays)} to set side by side", "give two")
    names, all_of = tuple(replays), tuple(replays.values())
    first = all_of[0]
    told = [
        contrast
        for name, one in zip(names[1:], all_of[1:], strict=True)
        for contrast in _contrasts(name, first, one)
    ]
    return SideBySide(names, all_of, tuple(visit_season(one) for one in all_of), tuple(told))


def _contrasts(name: str, first: Replay, other: Replay) -> list[Contrast]:
    same_house = _is_same_house(first.home, other.home) and _draws(first) == _draws(other)
    same_years = np.array_equal(first.month, other.month) and np.array_equal(
        first.rain_mm, other.rain_mm
    )
    ours, theirs = of_years(first), of_years(other)
    return [
        _contrast(name, what, ours[what], theirs[what], (same_house, same_years)) for what in YEARLY
    ]


def _contrast(
    name: str, what: str, first: FloatArray, other: FloatArray, same: tuple[bool, bool]
) -> Contrast:
    """Hold two arrays of draws and years against each other."""
    same_house, same_years = same
    a, b = first.mean(axis=1), other.mean(axis=1)
    # of two houses the unknown parts have nothing to do with each other: any draw meets any other
    by_draw = b - a if same_house else (b[:, None] - a[None, :]).ravel()
    difference = mean_range(by_draw)
    rng = np.random.default_rng(1)
    years_a, years_b = first.mean(axis=0), other.mean(axis=0)
    picks_a = rng.integers(0, years_a.size, (_RESAMPLED, years_a.size))
    picks_b = picks_a if same_years else rng.integers(0, years_b.size, (_RESAMPLED, years_b.size))
    resampled = years_b[picks_b].mean(axis=1) - years_a[picks_a].mean(axis=1)
    low, high = (float(q) for q in np.quantile(resampled, (0.025, 0.975)))
    if not by_draw.any():
        verdict = Verdict.SAME
    elif min(years_a.size, years_b.size) < _LEAST_YEARS:
        verdict = Verdict.FEW_YEARS
    elif difference.low <= 0.0 <= difference.high:
        verdict = Verdict.HOMES
    elif low <= 0.0 <= high:
        verdict = Verdict.YEARS
    else:
        verdict = Verdict.APART
    return Contrast(name, what, difference, (low, high), verdict)


def _draws(replay: Replay) -> tuple[int, int]:
    return replay.settings.n_draws, replay.settings.seed


def _is_same_house(one: Home, other: Home) -> bool:
    """Whether two homes differ in their place and its rain alone."""

    def house(home: Home) -> dict[str, object]:
        return home.model_dump(exclude=set(_NOT_THE_HOUSE))

    return house(one) == house(other)


def ranked_by_floods(replays: Mapping[str, Replay]) -> dict[str, Replay]:
    """Put the home first in which a failed pump floods most often.

    Parameters
    ----------
    replays : mapping of str to Replay
        Years by name.

    Returns
    -------
    dict of str to Replay
        The same in the order of the mean of their draws; equals stay as they were.
    """

    def often(item: tuple[str, Replay]) -> float:
        return -float(failed_floods(item[1]).mean(axis=0).sum()) / item[1].years

    return dict(sorted(replays.items(), key=often))


def two_periods(replay: Replay, parted_at: int | None = None) -> dict[str, Replay]:
    """Divide the years of a replay in two, at the first of January of a year.

    Parameters
    ----------
    replay : Replay
        The years.
    parted_at : int, optional
        First year of the second part; the middle one where it is left out [yr].

    Returns
    -------
    dict of str to Replay
        Both parts by their first and last year, for `side_by_side`.

    Raises
    ------
    InputError
        Where a part would hold less than a year.
    """
    need_type(replay, Replay, "years", "give what replay(home) returns")
    if parted_at is None:
        first, last = (int(str(replay.month[at])[:4]) for at in (0, -1))
        parted_at = first + (last - first + 1) // 2
    early = months_before(replay.month, parted_at)
    parts = (_span(replay, slice(0, early)), _span(replay, slice(early, replay.month.size)))
    return {f"{str(p.month[0])[:4]} to {str(p.month[-1])[:4]}": p for p in parts}


def months_before(month: NDArray[np.datetime64], parted_at: int) -> int:
    """Count the months before a year that parts a record into two spans.

    Parameters
    ----------
    month : (n_months,) array
        Months of the record, in order [month].
    parted_at : int
        First year of the second span [yr].

    Returns
    -------
    int
        How many months the first span has [-].

    Raises
    ------
    InputError
        Where a span would hold less than a year.
    """
    need_type(parted_at, int, "year", "give a whole number, such as 1990")
    year = month.astype("datetime64[Y]").astype(np.int64) + 1970
    early = int((year < parted_at).sum())
    if min(early, year.size - early) < 12:
        raise InputError(
            "year",
            f"{parted_at} does not divide {month[0]} to {month[-1]} into two spans of a year or "
            "more",
            f"such as {int(year[year.size // 2])}",
        )
    return early


def _span(replay: Replay, months: slice) -> Replay:
    """Some months of a replay; storms belong to the month in which they begin."""
    month = replay.month[months]
    first, end = month[0].astype("datetime64[D]"), (month[-1] + 1).astype("datetime64[D]")
    day = slice(*(int(at) for at in np.searchsorted(replay.day, [first, end])))
    start = np.array([storm.start for storm in replay.record_storms], dtype="datetime64[M]")
    at = np.flatnonzero((start >= month[0]) & (start <= month[-1]))

    def pump(part: PumpMonths, which: slice) -> PumpMonths:
        return PumpMonths(**{f.name: getattr(part, f.name)[:, which] for f in fields(part)})

    def storms(part: StormOutcomes) -> StormOutcomes:
        return StormOutcomes(**{f.name: getattr(part, f.name)[:, at] for f in fields(part)})

    names: Iterable[str] = ("rain_mm", "melt_mm", "missing_share", "wetness", "lot_mm")
    return replace(
        replay, month=month, day=replay.day[day],
        by_month=pump(replay.by_month, months), median_by_day=pump(replay.median_by_day, day),
        record_storms=tuple(replay.record_storms[i] for i in at),
        outcomes=storms(replay.outcomes), median_outcomes=storms(replay.median_outcomes),
        even_outcomes=storms(replay.even_outcomes),
        **{name: getattr(replay, name)[day] for name in names},
    )  # fmt: skip
