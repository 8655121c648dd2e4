"""Remedies of a home in the order of the water they keep off the floor, under common draws."""

from __future__ import annotations

import math
from collections.abc import Callable, Collection, Iterator
from dataclasses import dataclass, field
from itertools import zip_longest
from typing import TYPE_CHECKING

import numpy as np

from riskkit.ensemble.picking import picked_evenly
from riskkit.ensemble.quantiles import outcome
from riskkit.errors import need_type
from riskkit.evidence.overlay import home_as_seen
from riskkit.failures.answer import YearlyChance
from riskkit.failures.basis import storm_at
from riskkit.failures.circumstances import Circumstances, circumstances_of, reliability_inputs
from riskkit.failures.money import Costs, costs_of, loss_per_yr
from riskkit.failures.prices import Prices
from riskkit.failures.storms import HomeStorms, home_storms
from riskkit.failures.yearly import yearly_and_floods, yearly_chance
from riskkit.home.backup import backup_of
from riskkit.home.home import Home
from riskkit.options.alarm_height import alarm_depth_m
from riskkit.options.changes import Change, Changes, remedies
from riskkit.options.compare import listed_changes
from riskkit.options.payback import CostBenefit
from riskkit.options.ranked import RankedRemedy, held_against_lesser, in_order
from riskkit.options.sets import RemedySet, RemedySets, best_set, pairs_of
from riskkit.options.ties import ratio_to
from riskkit.options.trials import Trials, Tried, all_tried
from riskkit.records import DepthDurationFrequency, FloatArray, IntArray, RainRecord
from riskkit.records.arguments import need_draws, need_if_given, need_money, need_number
from riskkit.records.shown import ShownInNotebook
from riskkit.reliability.loss import LossFamily
from riskkit.risk.clock import Clock, MainTime
from riskkit.risk.design_rain import DesignRain, rain_of
from riskkit.risk.system_state import system_state
from riskkit.storm.patterns import Pattern
from riskkit.threads import at_once

if TYPE_CHECKING:
    import pandas as pd

    from riskkit.assessment import Assessment

__all__ = ["RankedRemedy", "Ranking", "Tried", "dry_share_now", "rank_for", "rank_remedies"]

_FEWEST_DRAWS, _MOST_DRAWS = 16, 16384
_OUT_OF = 4  # draws for each that is tried: as many as a year's chance is told from elsewhere
_STOPS = 0.1  # of the storms that meet a pump out of order, about; what is picked hangs on it alone
_STORM_YR = 10.0  # whose minutes are told
_MOVED_M = 0.0254  # by which an alarm has to be moved to be worth saying (judgement)
_PUMP_ALONE = frozenset({"new_pump", "bigger_pump"})
_NOT_COUNTED_ON = frozenset({"second_pump_fails", "battery_weak"})


@dataclass(frozen=True, repr=False)
class Ranking(ShownInNotebook):
    """Remedies of one home, the best first.

    Parameters
    ----------
    now : YearlyChance
        The home as it is, of all draws, as `riskkit.chance` tells it.
    clock : Clock
        From when the time to the floor is counted.
    rows : tuple of RankedRemedy
        Those that help, by the chance they save, but first what mends and a first pump, and last
        what gains time alone; then those that do not. What helps about equally stands in the order
        of what it costs in a year, then of names.
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
    n_tried : int
        Draws that all is tried with, picked out of those of `now` [-].
    """

    now: YearlyChance
    clock: Clock
    rows: tuple[RankedRemedy, ...]
    left_out: tuple[str, ...]
    costs: Costs = field(default_factory=Costs)
    pairs: tuple[RemedySet, ...] = ()
    budget: float | None = None
    best: RemedySet | None = None
    n_tried: int = 0

    def with_next(self) -> Iterator[tuple[RankedRemedy, RankedRemedy | None]]:
        """Go through the rows, each beside the one below it where both help.

        Yields
        ------
        tuple of RankedRemedy
            The second is None for the last that helps, and for what does not.
        """
        for row, below in zip_longest(self.rows, self.rows[1:]):
            yield row, below if below is not None and row.tie_group and below.tie_group else None

    @property
    def ties(self) -> tuple[tuple[RankedRemedy, ...], ...]:
        """Groups of what helps about equally, of two or more."""
        numbers = sorted({row.tie_group for row in self.rows if row.tie_group})
        groups = [tuple(row for row in self.rows if row.tie_group == one) for one in numbers]
        return tuple(group for group in groups if len(group) > 1)

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
            ``floods_after_per_yr`` and ``saved_per_yr`` [1/yr], and mean ``saved_chance`` with its
            standard error ``saved_chance_se`` [-]; ``better_than_next`` [-], how much more it saves
            than the row below that helps too, and its standard error ``better_than_next_se`` [-];
            ``tie_group``, of one number for what helps about equally, 0 where it does not help;
            ``cost_once`` [money], ``cost_per_yr`` and mean ``loss_saved_per_yr`` [money/yr],
            ``payback_yr`` by that mean [yr], ``cost_per_avoided`` [money], ``pays``;
            NaN where the cost is not known. ``.attrs["currency"]`` is the currency of the money.
        """
        import pandas as pd

        def better(row: RankedRemedy, below: RankedRemedy | None) -> tuple[float, float]:
            return (math.nan, math.nan) if below is None else row.better_by(below)

        rows = [
            {
                "remedy": row.remedy.name,
                "helps": row.helps,
                "gained_min": row.gained_s / 60,
                "never_before": row.dry_before,
                "never_after": row.dry_after,
                "chance_before": row.chance_before.chance.median,
                "chance_after": row.chance_after.chance.median,
                "floods_before_per_yr": row.floods_before_per_yr,
                "floods_after_per_yr": row.floods_after_per_yr,
                "saved_per_yr": row.saved_per_yr,
                "saved_chance": row.saved_chance,
                "saved_chance_se": row.saved_error,
                "better_than_next": better(row, below)[0],
                "better_than_next_se": better(row, below)[1],
                "tie_group": row.tie_group,
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
            for row, below in self.with_next()
        ]
        if not rows:
            return pd.DataFrame(index=pd.Index([], name="remedy"))
        frame = pd.DataFrame(rows).set_index("remedy")
        frame.attrs["currency"] = self.costs.currency
        return frame


def rank_remedies(
    home: Home,
    rain: DesignRain | DepthDurationFrequency | RainRecord | None = None,
    circumstances: Circumstances | None = None,
    *,
    prices: Prices | None = None,
    budget: float | None = None,
    pairs: bool = False,
    changes: Changes | None = None,
    dry_now: float | None = None,
    n_draws: int = 64,
    seed: int = 1,
    pattern: Pattern = Pattern.ALTERNATING_BLOCK,
    progress: Callable[[str], None] | None = None,
) -> Ranking:
    """Try remedies for a home, and rank them by the chance of water on the floor that they avoid.

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
    changes : iterable of Change or str, optional
        Changes of the home to try; those of `remedies` where it is left out. What mends, tests and
        warns is tried besides.
    dry_now : float, optional
        Share of variants whose floor stays dry in the 10-year storm of the home as it is, where an
        answer of more draws tells it, so that both tell the same; else counted [-].
    n_draws : int
        Draws of the home with which all is tried, a power of two. They are picked out of four times
        as many, of which the chance of today is told as `riskkit.chance` tells it, spread evenly
        over the wet storms and the time of the home as it is [-].
    seed : int
        Of the draws [-].
    pattern : Pattern
        How the rain of a storm is spread over time.
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
    need_type(pattern, Pattern, "pattern", "give one of Pattern, such as Pattern.HUFF_2")
    if budget is not None:
        need_money(budget, "budget", 3000)
    if dry_now is not None:
        right = "give the share of variants that stay dry, such as 0.07"
        need_number(dry_now, "dry_now", right, least=0.0, most=1.0)
    home, circumstances = home_as_seen(home), circumstances_of(home, circumstances)
    place, tell = rain_of(home, rain, seed), progress or (lambda _: None)
    listed = _home_file_changes() if changes is None else listed_changes(changes)
    tried, left_out = all_tried(home, circumstances, listed)
    clock, costs = system_state(home).clock, costs_of(home, prices)
    tell("running the storms of the home as it is")
    every_draw = home_storms(home, place, _OUT_OF * n_draws, seed, pattern=pattern)
    now = yearly_chance(home, circumstances, every_draw, seed)
    trials = Trials(
        place, _OUT_OF * n_draws, seed, pattern=pattern,
        with_depth=costs.family is not LossFamily.OWN, only=_standing_for_all(every_draw, n_draws),
    )  # fmt: skip
    storms = trials.storms(home)
    picked, floods = yearly_and_floods(home, circumstances, storms, seed, with_basis=False)
    ratio = ratio_to(now.mean, picked.mean)
    before_s = _time_s(storms, clock, picked.certain)
    if dry_now is None:
        dry_now = float(np.mean(np.isinf(_time_s(every_draw, clock, now.certain))))
    loss = ratio * loss_per_yr(storms, floods, costs)
    tried += [each for each in [_alarm_set(home, circumstances, storms)] if each is not None]
    every = reliability_inputs(home, circumstances).visit_every_yr
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
        left = ratio * loss_per_yr(after, then, costs)
        worth = None if cost is None else CostBenefit(cost, loss, left)
        times = outcome(before_s), outcome(_time_s(after, clock, chance.certain))
        return RankedRemedy(
            each, *times, picked, chance, worth, of_all=now, wet_of_all=1.0 - dry_now
        )

    rows, found = [], at_once(row, tried, n_draws)
    for at in range(1, len(tried) + 1):
        tell(f"putting in order what would help, {at} of {len(tried)}")
        rows.append(next(found))
    rows = in_order(held_against_lesser(rows))
    sets = RemedySets(home, circumstances, listed, trials, costs, every_yr, ratio)
    helps = [row.remedy.name for row in rows if row.helps and row.helps_chance]
    return Ranking(
        now,
        clock,
        tuple(rows),
        left_out,
        costs,
        pairs_of(sets, helps, tell) if pairs else (),
        budget,
        None if budget is None else best_set(sets, helps, budget, tell),
        n_draws,
    )


def _alarm_set(home: Home, circumstances: Circumstances, storms: HomeStorms) -> Tried | None:
    """The home with its alarm as deep as normal running lets it be; None where it hardly moves."""
    told, best = home.quantity("switch.alarm"), alarm_depth_m(home, storms)
    if told is None or best is None or best - told.value < _MOVED_M:
        return None
    inches, cm = f"{best / 0.0254:.3g} in", f"{100 * best:.0f} cm"
    us, metric = (
        f"Set the alarm {size} below the floor: the working pump trips it in 1 year of 5 at most."
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
    place, settings = answer.place_rain, answer.settings
    return rank_remedies(
        answer.home, place, dry_now=dry_share_now(answer), seed=settings.seed,
        pattern=settings.pattern, progress=progress,
    )  # fmt: skip


def dry_share_now(answer: Assessment) -> float | None:
    """Return the share of the variants of an answer that stay dry in the 10-year storm.

    Parameters
    ----------
    answer : Assessment
        The answer; it leaves a second pump out.

    Returns
    -------
    float or None
        From 0 to 1; None where a ranking counts for itself: a second pump, or no such storm [-].
    """
    if backup_of(answer.home).runs_on is not None:
        return None
    found = next((each for each in answer.storms if each.return_period_yr == _STORM_YR), None)
    if found is None:
        return None
    dead = answer.main_time is MainTime.DEAD
    time = found.dead_before.rain_to_floor_s if dead else found.worst_stop.to_floor_s
    return time.never_share


def _standing_for_all(storms: HomeStorms, n_draws: int) -> IntArray:
    """Pick draws that stand for all, by what the storms do to the home as it is."""
    works = storms.overtopped + storms.at_joint
    wet = np.maximum(works, _STOPS * np.isfinite(storms.stop_to_floor_s))
    per_yr = -np.diff(storms.rate_per_yr, append=0.0) @ wet
    return picked_evenly(per_yr, storms.stop_to_floor_s[storm_at(storms, _STORM_YR)], n_draws)


def _home_file_changes() -> tuple[Change, ...]:
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
