"""Remedies of a home in the order of the water they keep off the floor, under common draws."""

from __future__ import annotations

import math
from collections.abc import Callable, Collection, Iterable
from dataclasses import dataclass, field, replace
from typing import TYPE_CHECKING

import numpy as np

from riskkit.ensemble.picking import picked_evenly
from riskkit.ensemble.quantiles import Outcome, outcome
from riskkit.errors import need_type
from riskkit.evidence.overlay import home_as_seen
from riskkit.failures.answer import YearlyChance
from riskkit.failures.basis import storm_at
from riskkit.failures.circumstances import Circumstances, known_home, told_by
from riskkit.failures.money import Costs, costs_of, loss_per_yr
from riskkit.failures.prices import Prices
from riskkit.failures.storms import HomeStorms, home_storms
from riskkit.failures.yearly import yearly_and_floods
from riskkit.home.home import Home
from riskkit.options.alarm_height import alarm_depth_m
from riskkit.options.changes import Change, remedies
from riskkit.options.compare import listed_changes
from riskkit.options.limits import LONGER, LONGER_S, SURER
from riskkit.options.payback import CostBenefit
from riskkit.options.sets import Maker, RemedySet, best_set, pairs_of
from riskkit.options.trials import Trials, Tried, all_tried
from riskkit.records import DepthDurationFrequency, FloatArray, IntArray, RainRecord
from riskkit.records.arguments import need_draws, need_if_given, need_number
from riskkit.records.shown import Shown
from riskkit.reliability.loss import LossFamily
from riskkit.risk.clock import Clock
from riskkit.risk.design_rain import DesignRain, rain_of
from riskkit.risk.system_state import system_state
from riskkit.threads import at_once

if TYPE_CHECKING:
    import pandas as pd

    from riskkit.assessment import Assessment

__all__ = ["RankedRemedy", "Ranking", "Tried", "rank_for", "rank_remedies"]

_FEWEST_DRAWS, _MOST_DRAWS = 16, 16384
_OUT_OF = 4  # draws for each that is tried
_STOPS = 0.1  # of the storms that meet a pump out of order, about; what is picked hangs on it alone
_STORM_YR = 10.0  # whose minutes are told
_MOVED_M = 0.0254  # by which an alarm has to be moved to be worth saying (judgement)
_LESSER = {"bigger_pump": "new_pump", "bigger_battery": "new_battery", "ground": "gap"}
_PUMP_ALONE = frozenset({"new_pump", "bigger_pump"})
_NOT_COUNTED_ON = frozenset({"second_pump_fails", "battery_weak"})
_FIRST = frozenset({"mend", "first_pump"})  # before anything else that helps
# A difference of the chance in a year that is worth saying (judgement)
_FEWER, _LEAST_CHANCE = 0.05, 5e-4


@dataclass(frozen=True)
class RankedRemedy:
    """What a remedy does for a home.

    Parameters
    ----------
    remedy : Tried
        What was tried.
    before_s, after_s : Outcome
        To the floor in the 10-year storm, by the clock of the home as it is, the pump stopping at
        the worst moment, and a second one when its battery is spent; infinite for never [s].
    chance_before, chance_after : YearlyChance
        Chance of water on the floor in a year.
    cost_benefit : CostBenefit, optional
        Cost and savings; None where its cost is not known.
    no_better_than : str
        A lesser remedy that does as much here; empty where there is none.
    """

    remedy: Tried
    before_s: Outcome
    after_s: Outcome
    chance_before: YearlyChance
    chance_after: YearlyChance
    cost_benefit: CostBenefit | None = None
    no_better_than: str = ""

    @property
    def cost_per_avoided(self) -> float:
        """Cost for each year with water that is avoided; infinite where none is, NaN if unknown."""
        if self.cost_benefit is None:
            return math.nan
        return (
            self.cost_benefit.cost.per_yr / self.saved_chance if self.saved_chance > 0 else math.inf
        )

    @property
    def saved_per_yr(self) -> float:
        """Floods a year that it saves, mean of all draws; below zero where it adds some [1/yr]."""
        return self.chance_before.floods_per_yr - self.chance_after.floods_per_yr

    @property
    def saved_chance(self) -> float:
        """By how much the chance in a year gets less, mean of all draws [-]."""
        return self.chance_before.mean - self.chance_after.mean

    @property
    def gained_s(self) -> float:
        """Time that it gains in the median of all draws; 0 where that is never reached [s]."""
        old, new = self.before_s.median, self.after_s.median
        return new - old if math.isfinite(old) and math.isfinite(new) else 0.0

    @property
    def helps_chance(self) -> bool:
        """Whether it saves a twentieth of the chance."""
        least = max(_FEWER * self.chance_before.mean, _LEAST_CHANCE)
        return self.saved_chance >= least

    @property
    def helps_time(self) -> bool:
        """Whether it gains time worth saying, or more draws in which the floor stays dry."""
        old, new = self.before_s, self.after_s
        if new.never_share >= old.never_share + SURER:
            return True
        if new.never_share < old.never_share - SURER:
            return False  # more that flood are no gain, however late
        return self.gained_s >= LONGER_S and new.median >= LONGER * old.median

    @property
    def helps(self) -> bool:
        """Whether it helps here at all, and more than the lesser remedy that it contains."""
        return not self.no_better_than and (self.helps_chance or self.helps_time)


@dataclass(frozen=True, repr=False)
class Ranking(Shown):
    """Remedies of one home, the best first.

    Parameters
    ----------
    now : YearlyChance
        The home as it is.
    clock : Clock
        From when the time to the floor is counted.
    rows : tuple of RankedRemedy
        Those that help, by the chance they save, but first what mends and a first pump; then those
        that do not.
    left_out : tuple of str
        Remedies that are in place already, or of a part that the home lacks, and visits and tests
        where something that was found is to be mended first.
    costs : Costs
        What things cost.
    pairs : tuple of RemedySet
        Remedies in pairs, the least chance first; empty where not asked for.
    budget : float, optional
        What may be spent at once [money].
    best : RemedySet, optional
        The best set for it; None where not asked for, or where nothing that helps can be paid.
    picked_of : int
        Draws out of which those were picked that all is tried with [-].
    """

    now: YearlyChance
    clock: Clock
    rows: tuple[RankedRemedy, ...]
    left_out: tuple[str, ...]
    costs: Costs = field(default_factory=Costs)
    pairs: tuple[RemedySet, ...] = ()
    budget: float | None = None
    best: RemedySet | None = None
    picked_of: int = 0

    def __repr__(self) -> str:
        helps = ", ".join(row.remedy.name for row in self.rows if row.helps) or "nothing"
        return f"Ranking({self.now.home_name!r}, mean {self.now.mean:.2g} a year; helps: {helps})"

    def to_frame(self) -> pd.DataFrame:
        """Return the remedies as a DataFrame, the best first.

        Returns
        -------
        pandas.DataFrame
            By ``remedy``: ``helps``, ``gained_min`` in the median of all draws [min],
            ``never_before`` and ``never_after``, the shares that never flood [-], medians
            ``chance_before`` and ``chance_after`` [-], means ``floods_before_per_yr``,
            ``floods_after_per_yr`` and ``saved_per_yr`` [1/yr], and mean ``saved_chance`` [-];
            ``cost_once`` [money], ``cost_per_yr`` and mean ``loss_saved_per_yr`` [money/yr],
            ``payback_yr`` by that mean [yr], ``cost_per_avoided`` [money], ``pays``;
            NaN where the cost is not known.
        """
        import pandas as pd

        rows = [
            {
                "remedy": row.remedy.name,
                "helps": row.helps,
                "gained_min": row.gained_s / 60,
                "never_before": row.before_s.never_share,
                "never_after": row.after_s.never_share,
                "chance_before": row.chance_before.chance.median,
                "chance_after": row.chance_after.chance.median,
                "floods_before_per_yr": row.chance_before.floods_per_yr,
                "floods_after_per_yr": row.chance_after.floods_per_yr,
                "saved_per_yr": row.saved_per_yr,
                "saved_chance": row.saved_chance,
                "cost_once": math.nan if row.cost_benefit is None else row.cost_benefit.cost.once,
                "cost_per_yr": math.nan
                if row.cost_benefit is None
                else row.cost_benefit.cost.per_yr,
                "loss_saved_per_yr": math.nan
                if row.cost_benefit is None
                else row.cost_benefit.mean_saved,
                "payback_yr": math.nan
                if row.cost_benefit is None
                else row.cost_benefit.mean_payback_yr,
                "cost_per_avoided": row.cost_per_avoided,
                "pays": row.cost_benefit is not None and row.cost_benefit.pays,
            }
            for row in self.rows
        ]
        if not rows:
            return pd.DataFrame(index=pd.Index([], name="remedy"))
        return pd.DataFrame(rows).set_index("remedy")


def rank_remedies(
    home: Home,
    rain: DesignRain | DepthDurationFrequency | RainRecord | None = None,
    circumstances: Circumstances | None = None,
    *,
    prices: Prices | None = None,
    budget: float | None = None,
    pairs: bool = False,
    changes: Iterable[Change] | Change | None = None,
    n_draws: int = 64,
    seed: int = 1,
    progress: Callable[[str], None] | None = None,
) -> Ranking:
    """Try what may help a home, and put it in the order of the water that it keeps off the floor.

    Parameters
    ----------
    home : Home
        The home, with its visits.
    rain : DesignRain, DepthDurationFrequency or RainRecord, optional
        As for `riskkit.assess`.
    circumstances : Circumstances, optional
        What is known besides.
    prices : Prices, optional
        What a flood and a visit cost, before what the home file tells.
    budget : float, optional
        What may be spent at once, for the best set of remedies [money].
    pairs : bool
        Whether remedies are tried in pairs too.
    changes : iterable of Change, optional
        Changes of the home to try; those of `remedies` where it is left out. What mends, tests and
        warns is tried besides.
    n_draws : int
        Draws of the home with which all is tried, a power of two. They are picked out of four times
        as many, spread evenly over the wet storms and the time of the home as it is [-].
    seed : int
        Of the draws [-].
    progress : callable, optional
        Told in words what is being done.

    Returns
    -------
    Ranking
        The best first.

    Raises
    ------
    InputError
        Where there is no rain, or the home cannot be.
    """
    need_type(home, Home, "home", 'read one with load_home("home.toml")')
    circumstances = Circumstances() if circumstances is None else circumstances
    need_type(circumstances, Circumstances, "circumstances", "write Circumstances(pump_age_yr=8)")
    need_draws(n_draws, _FEWEST_DRAWS, _MOST_DRAWS, 64)
    need_if_given(prices, Prices, "prices", "write Prices(visit=150)")
    if budget is not None:
        need_number(budget, "budget", "give an amount of money, such as 3000", least=0.0)
    home, circumstances = home_as_seen(home), told_by(home, circumstances)
    place, tell = rain_of(home, rain, seed), progress or (lambda _: None)
    listed = _of_the_file() if changes is None else listed_changes(changes)
    tried, left_out = all_tried(home, circumstances, listed)
    clock, costs = system_state(home).clock, costs_of(home, prices)
    tell("running the storms of the home as it is")
    only = _standing_for_all(home, place, n_draws, seed)
    trials = Trials(
        place, _OUT_OF * n_draws, seed, with_depth=costs.family is not LossFamily.OWN, only=only
    )
    storms = trials.storms(home)
    now, floods = yearly_and_floods(home, circumstances, storms, seed)
    before_s, loss = _time_s(storms, clock, now.certain), loss_per_yr(storms, floods, costs)
    tried += [each for each in [_alarm_set(home, circumstances, storms)] if each is not None]
    every = known_home(home, circumstances).visit_every_yr
    every_yr = math.inf if every is None else every
    if storms.alarms is not None and not np.any(storms.alarms):
        for each in tried:
            if each.name in _PUMP_ALONE:  # it keeps up: more flow changes no storm
                trials.let_stand(storms, each.home)

    def row(each: Tried) -> RankedRemedy:
        after = trials.storms(each.home)
        chance, then = yearly_and_floods(
            each.home, each.circumstances, after, seed, with_basis=False
        )
        cost = costs.of_remedy(each.name, every_yr)
        worth = None if cost is None else CostBenefit(cost, loss, loss_per_yr(after, then, costs))
        times = outcome(before_s), outcome(_time_s(after, clock, chance.certain))
        return RankedRemedy(each, *times, now, chance, worth)

    rows, found = [], at_once(row, tried, n_draws)
    for at in range(1, len(tried) + 1):
        tell(f"putting in order what would help, {at} of {len(tried)}")
        rows.append(next(found))
    rows = _held_against_lesser(rows)
    rows.sort(
        key=lambda row: (
            not row.helps, row.remedy.name not in _FIRST, -row.saved_chance, -row.saved_per_yr,
            -row.gained_s,
        )
    )  # fmt: skip
    maker = Maker(home, circumstances, listed, trials, costs, every_yr)
    helps = [row.remedy.name for row in rows if row.helps and row.helps_chance]
    return Ranking(
        now,
        clock,
        tuple(rows),
        left_out,
        costs,
        pairs_of(maker, helps, tell) if pairs else (),
        budget,
        None if budget is None else best_set(maker, helps, budget, tell),
        trials.n_draws,
    )


def _held_against_lesser(rows: list[RankedRemedy]) -> list[RankedRemedy]:
    """Mark what holds a lesser remedy and does no more: a bigger pump is a new one too."""
    by_name = {row.remedy.name: row for row in rows}
    for name, lesser in _LESSER.items():
        if name not in by_name or lesser not in by_name:
            continue
        much, little = by_name[name], by_name[lesser]
        against = replace(much, before_s=little.after_s, chance_before=little.chance_after)
        if not (against.helps_chance or against.helps_time):
            by_name[name] = replace(much, no_better_than=lesser)
    return list(by_name.values())


def _alarm_set(home: Home, circumstances: Circumstances, storms: HomeStorms) -> Tried | None:
    """The home with its alarm as deep as normal running lets it be; None where it hardly moves."""
    told, best = home.quantity("switch.alarm"), alarm_depth_m(home, storms)
    if told is None or best is None or best - told.value < _MOVED_M:
        return None
    inches, cm = f"{best / 0.0254:.3g} in", f"{100 * best:.0f} cm"
    us, metric = (
        f"Set the alarm {size} below the floor: the pump in order trips it in 1 year of 5 at most."
        for size in (inches, cm)
    )
    after = home.changed(switch__alarm=f"{inches}, measured")
    return Tried("alarm_height", us, metric, after, circumstances)


def rank_for(answer: Assessment, *, progress: Callable[[str], None] | None = None) -> Ranking:
    """Try what may help the home of an answer, under the rain of that answer.

    Parameters
    ----------
    answer : Assessment
        The answer.
    progress : callable, optional
        Told in words what is being done.

    Returns
    -------
    Ranking
        The best first.
    """
    place = answer.place_rain
    return rank_remedies(answer.home, place, seed=answer.settings.seed, progress=progress)


def _standing_for_all(home: Home, place: DesignRain, n_draws: int, seed: int) -> IntArray:
    """Pick draws that stand for four times as many, by what the storms do to the home as it is."""
    storms = home_storms(home, place, _OUT_OF * n_draws, seed)
    works = storms.overtopped + storms.at_joint
    wet = np.maximum(works, _STOPS * np.isfinite(storms.stop_to_floor_s))
    per_yr = -np.diff(storms.rate_per_yr, append=0.0) @ wet
    return picked_evenly(per_yr, storms.stop_to_floor_s[storm_at(storms, _STORM_YR)], n_draws)


def _of_the_file() -> tuple[Change, ...]:
    """All remedies but that of the pump, which is told as a new one with its age and switch."""
    return tuple(change for change in remedies() if change.name != "pump")


def _time_s(storms: HomeStorms, clock: Clock, certain: Collection[str]) -> FloatArray:
    """Time to the floor in the 10-year storm, or the rarest below it, by one clock.

    A second pump is without the mains, its battery lasts so much longer; it counts unless a visit
    left it, or its battery, out of order.
    """
    at = storm_at(storms, _STORM_YR)
    if clock is Clock.RAIN:
        alone = storms.dead_to_floor_s[at]
    elif not storms.has_pump:
        return np.asarray(storms.dead_warning_s[at])
    else:
        alone = (storms.stop_warning_s if clock is Clock.ALARM else storms.stop_to_floor_s)[at]
    second = storms.second
    if second is None or not _NOT_COUNTED_ON.isdisjoint(certain):
        return np.asarray(alone)
    after = np.where(second.in_storm[at] > 0, alone, storms.dry_to_floor_s)
    return np.asarray(np.where(second.carries[at] > 0, second.outlasts_s[at] + after, alone))
