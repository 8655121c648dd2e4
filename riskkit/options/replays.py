"""Replays side by side: before and after a change, and years against design storms."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass
from typing import TYPE_CHECKING

import numpy as np
from numpy.typing import NDArray
from scipy import stats

from riskkit.assessment import Assessment, Settings, assess
from riskkit.ensemble.quantiles import MeanRange, mean_range, outcome
from riskkit.errors import need_type
from riskkit.home.home import Home
from riskkit.options.changes import Change, Changes
from riskkit.options.compare import AS_IT_IS, sorted_changes
from riskkit.records import FloatArray, RainRecord
from riskkit.records.arguments import need_if_given
from riskkit.records.shown import ShownInNotebook
from riskkit.risk.design_rain import DesignRain, rain_of
from riskkit.years.calendar import MonthRisk, VisitSeason, month_risk, visit_season
from riskkit.years.minutes_effect import LIMITS_S
from riskkit.years.records import Replay, ReplaySettings
from riskkit.years.run import replay
from riskkit.years.trends import Periods, Trend, periods_of, trends_of

if TYPE_CHECKING:
    from collections.abc import Mapping

    import pandas as pd

__all__ = [
    "LIMITS_S",
    "AgainstDesign",
    "HowOften",
    "ReplayComparison",
    "YearsStudy",
    "against_design",
    "compare_replays",
    "years_study",
]

_RESAMPLED = 400
_WET = 0.9  # of field capacity
_THAW = 0.25  # of the water of the days of a storm


@dataclass(frozen=True, repr=False)
class ReplayComparison(ShownInNotebook):
    """The same years through a home as it is and with each change alone.

    Parameters
    ----------
    before : Replay
        The home as it is.
    changes : tuple of Change
        What was tried.
    after : tuple of Replay
        The home with each of them alone.
    left_out : tuple of Change
        What the home has already, and what changes a part that it has not.
    """

    before: Replay
    changes: tuple[Change, ...]
    after: tuple[Replay, ...]
    left_out: tuple[Change, ...] = ()

    @property
    def replays(self) -> dict[str, Replay]:
        """The replays by the name of the change, the home as it is first."""
        named = {c.name: r for c, r in zip(self.changes, self.after, strict=True)}
        return {AS_IT_IS: self.before} | named

    def to_frame(self) -> pd.DataFrame:
        """Return what a year brings as a DataFrame.

        Returns
        -------
        pandas.DataFrame
            By ``change``: means of a year, each as ``_low``, ``_median`` and ``_high`` over the
            draws; storms in which a stopped pump means water on the floor at all and within an
            hour, and what the pump lifts and how long it runs.
        """
        import pandas as pd

        rows = {}
        for name, one in self.replays.items():
            found, years = one.outcomes, one.years
            of_year = {
                "stopped_floods_per_year": np.isfinite(found.worst_s).sum(axis=1) / years,
                "stopped_floods_within_1_h_per_year": (found.worst_s <= 3600.0).sum(axis=1) / years,
                "working_floods_per_year": found.floods.sum(axis=1) / years,
                "pumped_m3_per_year": one.by_month.pumped_m3.sum(axis=1) / years,
                "run_h_per_year": one.by_month.run_h.sum(axis=1) / years,
            }
            rows[name] = {
                f"{stem}_{point}": getattr(outcome(values), part)
                for stem, values in of_year.items()
                for point, part in (("low", "low"), ("median", "median"), ("high", "high"))
            }
        return pd.DataFrame.from_dict(rows, orient="index").rename_axis("change")

    def __repr__(self) -> str:
        names = ", ".join((AS_IT_IS, *(change.name for change in self.changes)))
        return f"ReplayComparison({self.before.home.name!r}, {names})"


def compare_replays(
    home: Home,
    changes: Changes,
    rain: DesignRain | RainRecord | None = None,
    settings: ReplaySettings | None = None,
    *,
    progress: Callable[[str, float], None] | None = None,
    run: Callable[..., Replay] = replay,
) -> ReplayComparison:
    """Run the same years through a home as it is and with each change alone.

    All rest on the same draws and the same hours, so that their differences are the changes'.

    Parameters
    ----------
    home : Home
        The home.
    changes : iterable of Change or str
        What to try, such as `remedies`, or what a visit found.
    rain : DesignRain, optional
        As for `riskkit.replay`.
    settings : ReplaySettings, optional
        How to run it.
    progress : callable, optional
        Told in words what is being done and the share that is done [-].
    run : callable
        By what each is run, `riskkit.replay` or one that looks up what was run before.

    Returns
    -------
    ReplayComparison
        The replays; what is in place already, or of a part that the home lacks, is left out.

    Raises
    ------
    InputError
        As for `riskkit.replay`, or where two changes have one name.
    """
    need_type(home, Home, "home", 'read one with load_home("home.toml")')
    tried, left_out = sorted_changes(home, changes)
    rain = rain_of(home, rain, 1)
    homes = [home, *(change.applied(home) for change in tried)]
    found = []
    for i, one in enumerate(homes):

        def tell(words: str, share: float, done: int = i) -> None:
            if progress is not None:
                progress(words, (done + share) / len(homes))

        found.append(run(one, rain, settings, progress=tell))
    return ReplayComparison(found[0], tried, tuple(found[1:]), left_out)


@dataclass(frozen=True)
class HowOften:
    """How often a pump that stops in a storm means water on the floor in less than a time.

    In the mean of the years at most once a year: design storms tell of no commoner ones.

    Parameters
    ----------
    within_s : float
        That time, from the event of `Clock`; infinite for at all [s].
    record, design : MeanRange
        Times a year, from the record and from the design storms: mean and spread of the
        draws [1/yr].
    record_error : tuple of float
        Between what the mean of the record would lie with other years, nineteen times in
        twenty [1/yr].
    every_storm : float
        Mean of the record with all storms counted [1/yr].
    wet_share, thaw_share, small_share : float
        Of these storms of the record the shares that met a lot at nine tenths of its field capacity
        or more, that came with more than a quarter of melt, and that brought less rain and melt
        than a day's storm of one year [-].
    """

    within_s: float
    record: MeanRange
    design: MeanRange
    record_error: tuple[float, float]
    every_storm: float
    wet_share: float = 0.0
    thaw_share: float = 0.0
    small_share: float = 0.0

    @property
    def is_apart(self) -> bool:
        """Whether the mean of the design storms lies outside what other years might have shown."""
        return not self.record_error[0] <= self.design.mean <= self.record_error[1]


@dataclass(frozen=True)
class AgainstDesign:
    """Years of a record beside the design storms of the same home and draws.

    Parameters
    ----------
    rows : tuple of HowOften
        One for each of `LIMITS_S`.
    wet_share : float
        Share of the floods of the record that met a lot at nine tenths of its field capacity or
        more [-].
    thaw_share : float
        Share that came with more than a quarter of melt [-].
    small_share : float
        Share in storms with less rain and melt than a day's storm of one year [-].
    sharp_storms : int
        The storms with the wettest hours, one a year [-].
    nested_share : float
        Share of these that are among as many storms with the most water; 1 where the wettest hours
        come in the largest storms, as in design storms they do [-].
    sharp_wet_share : float
        Share of these that met a lot at nine tenths of its field capacity or more [-].
    """

    rows: tuple[HowOften, ...]
    wet_share: float
    thaw_share: float
    small_share: float
    sharp_storms: int = 0
    nested_share: float = 1.0
    sharp_wet_share: float = 0.0


def against_design(found: Replay, rain: DesignRain) -> AgainstDesign:
    """Count in the record what the design storms predict.

    Parameters
    ----------
    found : Replay
        The years.
    rain : DesignRain
        The same rain.

    Returns
    -------
    AgainstDesign
        How often within some times, and in what storms.

    References
    ----------
    arithmetic : integration of the return periods, resampling of years, limits of a Poisson count
    """
    settings = found.settings
    draws = max(settings.n_draws, 16)
    answer = assess(found.home, rain, Settings(n_draws=draws, seed=settings.seed))
    frame = found.storms
    day = min(answer.storms, key=lambda storm: storm.return_period_yr)
    kinds = {
        "wet_share": np.asarray(frame["wetness_share"]) >= _WET,
        "thaw_share": _melt_share(found) > _THAW,
        "small_share": np.asarray(frame["depth_mm"]) < day.depth_mm,
    }
    rows = tuple(_row(found, answer, limit, kinds) for limit in LIMITS_S)
    last = rows[-1]
    n = min(max(round(found.years), 1), len(found.record_storms))
    sharp = np.argsort(-np.asarray(frame["wettest_hour_mm"]), kind="stable")[:n]
    large = np.argsort(-np.asarray(frame["depth_mm"]), kind="stable")[:n]
    return AgainstDesign(
        rows, last.wet_share, last.thaw_share, last.small_share, n,
        nested_share=float(np.isin(sharp, large).mean()) if n else 1.0,
        sharp_wet_share=float(kinds["wet_share"][sharp].mean()) if n else 0.0,
    )  # fmt: skip


def _melt_share(found: Replay) -> FloatArray:
    """Share of melt in the water of the days of each storm."""
    melt = np.concatenate([[0.0], np.cumsum(found.melt_mm)])
    water = np.concatenate([[0.0], np.cumsum(found.melt_mm + found.rain_mm)])
    shares = []
    for storm in found.record_storms:
        first = int(np.searchsorted(found.day, storm.start.astype("datetime64[D]")))
        last = min(first + 1 + int(storm.duration_h // 24), found.day.size)
        fallen = water[last] - water[min(first, last)]
        shares.append((melt[last] - melt[min(first, last)]) / fallen if fallen > 0 else 0.0)
    return np.array(shares)


def _row(
    found: Replay, answer: Assessment, limit_s: float, kinds: Mapping[str, NDArray[np.bool_]]
) -> HowOften:
    worst = found.outcomes.worst_s
    hit = worst <= limit_s if np.isfinite(limit_s) else np.isfinite(worst)
    weight = hit.mean(axis=0)
    total = max(float(weight.sum()), 1e-12)
    year = np.array([s.start for s in found.record_storms], "datetime64[Y]").astype(np.int64)
    first = int(found.month[0].astype("datetime64[Y]").astype(np.int64))
    n_years = int(found.month[-1].astype("datetime64[Y]").astype(np.int64)) - first + 1
    by_year = np.stack([hit[:, year - first == y].sum(axis=1) for y in range(n_years)], axis=1)
    whole = found.years / n_years  # whole months may be fewer than whole years
    per_draw = np.minimum(by_year.mean(axis=1) / whole, 1.0)
    return HowOften(
        limit_s, mean_range(per_draw), mean_range(_design_rate(answer, limit_s)),
        _other_years(by_year, whole, found.settings.seed), float(by_year.mean() / whole),
        **{name: float(weight[of].sum()) / total for name, of in kinds.items()},
    )  # fmt: skip


def _other_years(by_year: FloatArray, whole: float, seed: int) -> tuple[float, float]:
    """Between what the mean would lie with other years, nineteen times in twenty.

    Years resampled know nothing of what they do not hold: where a draw is hit three times in forty
    years, or never, the exact limits of a Poisson count are wider. The wider ones hold.
    """
    n_years = by_year.shape[1]
    picks = np.random.default_rng(seed).integers(0, n_years, (_RESAMPLED, n_years))
    means = [float(np.minimum(by_year[:, pick].mean(axis=1) / whole, 1.0).mean()) for pick in picks]
    low, high = (float(q) for q in np.quantile(means, (0.025, 0.975)))
    count, years = by_year.sum(axis=1), n_years * whole
    least = np.where(count > 0, stats.chi2.ppf(0.025, 2.0 * np.maximum(count, 1)), 0.0) / 2.0
    most = stats.chi2.ppf(0.975, 2.0 * (count + 1.0)) / 2.0
    few, many = (float(np.minimum(ends / years, 1.0).mean()) for ends in (least, most))
    return min(low, few), max(high, many)


def _design_rate(answer: Assessment, limit_s: float) -> FloatArray:
    """Times a year in which each draw is hit: one over the return period from which on it is."""
    periods = np.array([storm.return_period_yr for storm in answer.storms])
    worst = np.stack([storm.worst_stop.to_floor_by_draw_s for storm in answer.storms])
    hit = worst <= limit_s if np.isfinite(limit_s) else np.isfinite(worst)
    first = np.where(hit.any(axis=0), hit.argmax(axis=0), periods.size)
    # between the last storm that does not hit and the first that does, in the middle of the logs
    rate = np.append(1.0 / periods, 0.0)
    between = np.sqrt(rate[first] * rate[np.maximum(first - 1, 0)])
    return np.asarray(np.where(first == periods.size, 0.0, between))


@dataclass(frozen=True, repr=False)
class YearsStudy:
    """All that is told of the years of a home.

    Parameters
    ----------
    replay : Replay
        The years.
    months : MonthRisk
        By the month of the year.
    season : VisitSeason, optional
        When a dead pump most often means water on the floor.
    trends : tuple of Trend
        Changes over decades.
    periods : tuple of Periods
        The first half of the years beside the second.
    against : AgainstDesign, optional
        Beside the design storms; None where they were not run.
    """

    replay: Replay
    months: MonthRisk
    season: VisitSeason | None
    trends: tuple[Trend, ...]
    periods: tuple[Periods, ...]
    against: AgainstDesign | None = None

    def __repr__(self) -> str:
        beside = "" if self.against is None else ", beside the design storms"
        return f"YearsStudy({self.replay!r}{beside})"


def years_study(found: Replay, rain: DesignRain | None = None) -> YearsStudy:
    """Study the years of a home.

    Parameters
    ----------
    found : Replay
        The years.
    rain : DesignRain, optional
        Its rain, to run the design storms beside them.

    Returns
    -------
    YearsStudy
        Months, season, trends and design storms.
    """
    need_type(found, Replay, "years", "give what replay(home) returns")
    need_if_given(rain, DesignRain, "rain", "give what design_rain(home) returns")
    return YearsStudy(
        found, month_risk(found), visit_season(found), trends_of(found), periods_of(found),
        None if rain is None else against_design(found, rain),
    )  # fmt: skip
