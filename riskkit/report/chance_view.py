"""Chance of a year, intervals between visits and remedies in a terminal, and as JSON."""

from __future__ import annotations

import math
from typing import TYPE_CHECKING, Any

from rich.console import Console
from rich.text import Text

from riskkit.failures.service import VisitVerdict
from riskkit.quantities.units import UnitSystem
from riskkit.reliability.loss import LossFamily
from riskkit.report.chance_words import (
    CAUSES_HEAD,
    RESTS_ON,
    cause_rows,
    certain_lines,
    chance_sentence,
    second_line,
)
from riskkit.report.fault_tree import CUT_SETS_HEAD, cut_set_rows
from riskkit.report.interval_words import (
    INTERVAL_HEAD,
    INTERVAL_TITLES,
    interval_lines,
    interval_rows,
)
from riskkit.report.ranking_words import (
    PAIRS_TITLE,
    SETS_HEAD,
    budget_lines,
    money_lines,
    no_help_line,
    order_lines,
    ranking_head,
    ranking_rows,
    ranking_title,
    set_rows,
    tie_lines,
    tried_with,
)
from riskkit.report.rows import new_table
from riskkit.report.table_text import print_table

if TYPE_CHECKING:
    from riskkit.ensemble.quantiles import Points
    from riskkit.failures.answer import SecondPumpSummary, YearlyChance
    from riskkit.failures.money import Costs
    from riskkit.failures.service import IntervalRow, Intervals
    from riskkit.options.payback import CostBenefit
    from riskkit.options.ranking import RankedRemedy, Ranking
    from riskkit.options.sets import RemedySet

__all__ = [
    "chance_form",
    "costs_form",
    "interval_form",
    "print_chance",
    "print_intervals",
    "print_ranking",
    "ranking_form",
]


def print_chance(found: YearlyChance, console: Console, system: UnitSystem = UnitSystem.US) -> None:
    """Print the chance of a year with its causes.

    Parameters
    ----------
    found : YearlyChance
        The answer.
    console : Console
        Where to.
    system : UnitSystem
        Units of the reader.
    """
    console.print(Text(found.home_name, style="bold"))
    console.print(Text(chance_sentence(found)))
    if found.second is not None:
        console.print(Text(second_line(found, system)))
    for line in certain_lines(found):
        console.print(Text(f"! {line}"))
    console.print()
    rows = cause_rows(found)
    if rows:
        print_table(console, new_table("What brings it", CAUSES_HEAD, rows))
    together = cut_set_rows(found)
    if together:
        print_table(console, new_table("What has to come together", CUT_SETS_HEAD, together))


def print_intervals(found: Intervals, console: Console) -> None:
    """Print intervals between visits.

    Parameters
    ----------
    found : Intervals
        The comparison.
    console : Console
        Where to.
    """
    print_chance(found.now, console)
    for line in interval_lines(found):
        console.print(Text(line))
    console.print()
    if found.verdict is VisitVerdict.NO_PUMP:
        console.print(Text(RESTS_ON))
        return
    currency = found.prices.currency
    for title, rows in zip(INTERVAL_TITLES, (found.rows, found.with_owner), strict=True):
        print_table(console, new_table(title, INTERVAL_HEAD, interval_rows(rows, currency)))
    console.print(Text(RESTS_ON))


def print_ranking(found: Ranking, console: Console, system: UnitSystem) -> None:
    """Print the remedies of a home, the best first.

    Parameters
    ----------
    found : Ranking
        The remedies.
    console : Console
        Where to.
    system : UnitSystem
        Units of the reader.
    """
    print_chance(found.now, console, system)
    rows = ranking_rows(found, system)
    if rows:
        for line in order_lines(found):
            console.print(Text(line))
        print_table(console, new_table(ranking_title(found), ranking_head(found), rows))
    for line in (*tie_lines(found, system), no_help_line(found, system)):
        console.print(Text(line))
    pairs = set_rows(found)
    if pairs:
        print_table(console, new_table(PAIRS_TITLE, SETS_HEAD, pairs))
    elif found.pairs:
        console.print(Text("No two together do much more here than the best one alone."))
    lines = (*budget_lines(found), *money_lines(found), tried_with(found))
    for line in lines:
        console.print(Text(line))
    console.print(Text(RESTS_ON))


def chance_form(found: YearlyChance) -> dict[str, Any]:
    """Write the chance of a year for JSON.

    Parameters
    ----------
    found : YearlyChance
        The answer.

    Returns
    -------
    dict of str
        Chances are shares, rates are a year's; what is infinite is null.
    """
    return {
        "home": found.home_name,
        "sentence": chance_sentence(found),
        "chance_per_yr": _points(found.chance),
        "mean_chance_per_yr": found.mean,
        "one_year_in": _points(found.one_year_in),
        "floods_per_yr": found.floods_per_yr,
        "dry_share": found.dry_share,
        "certain": list(found.certain),
        "commonest_storm_share": found.commonest_share,
        "n_draws": int(found.per_yr_by_draw.size),
        "area": found.circumstances.area,
        "causes": [
            {
                "cause": each.cause,
                "share": each.share,
                "chance_per_yr": each.chance,
                "floods_per_yr": each.per_yr,
                "is_certain": each.is_certain,
            }
            for each in found.causes
        ],
        "cut_sets": [
            {"causes": list(each.causes), "floods_per_yr": each.per_yr, "chance": each.chance}
            for each in found.cut_sets
        ],
        "rates": [
            {
                "key": each.key,
                "kind": each.kind,
                "values": _points(each.values),
                "basis": each.basis,
                "shown_per_yr": _number(each.shown_per_yr),
            }
            for each in found.rates
        ],
        "second_pump": None if found.second is None else _second(found.second),
        "rests_on": RESTS_ON,
    }


def _second(second: SecondPumpSummary) -> dict[str, Any]:
    return {
        "storm_yr": second.return_period_yr,
        "flow_m3_s": _points(second.flow_m3_s),
        "carries_share": second.carries_share,
        "has_battery": second.has_battery,
        "mains_water_m3_s": second.mains_m3_s,
        "lasts_without_power_s": _points(second.outlasts_s),
    }


def interval_form(found: Intervals) -> dict[str, Any]:
    """Write intervals between visits for JSON.

    Parameters
    ----------
    found : Intervals
        The comparison.

    Returns
    -------
    dict of str
        As `chance_form`; an interval of null is never.
    """
    return {
        "now": chance_form(found.now),
        "now_every_yr": _number(found.now_every_yr),
        "verdict": found.verdict.value,
        "mend_first": list(found.mend_first),
        "lines": interval_lines(found),
        "cheapest_every_yr": _number(found.cheapest.every_yr),
        "best": _interval(found.best) | {"owner_tests": found.best.owner_tests},
        "prices": {key: found.prices.of(key) for key in found.prices.names()}
        | {"currency": found.prices.currency, "invented": list(found.prices.invented)},
        "visits": [_interval(row) for row in found.rows],
        "visits_and_owner": [_interval(row) for row in found.with_owner],
    }


def ranking_form(found: Ranking, system: UnitSystem) -> dict[str, Any]:
    """Write the remedies of a home for JSON.

    Parameters
    ----------
    found : Ranking
        The remedies.
    system : UnitSystem
        Units of what is to be done, in words.

    Returns
    -------
    dict of str
        The best first; times in seconds, null for never.
    """
    return {
        "now": chance_form(found.now),
        "counted_from": found.clock.value,
        "tried_with_draws": found.n_tried,
        "remedies": [_remedy(row, below, system) for row, below in found.with_next()],
        "left_out": list(found.left_out),
        "costs": costs_form(found.costs),
        "pairs": [_set(each) for each in found.pairs],
        "budget": found.budget,
        "best_set": None if found.best is None else _set(found.best),
    }


def _remedy(row: RankedRemedy, below: RankedRemedy | None, system: UnitSystem) -> dict[str, Any]:
    better, error = (None, None) if below is None else row.better_by(below)
    return {
        "remedy": row.remedy.name,
        "words": row.remedy.words(system),
        "helps": row.helps,
        "helps_chance": row.helps_chance,
        "helps_time": row.helps_time,
        "saved_chance": row.saved_chance,
        "saved_chance_se": row.saved_error,
        "better_than_next": better,
        "better_than_next_se": error,
        "tie_group": row.tie_group,
        "saved_per_yr": row.saved_per_yr,
        "gained_s": _number(row.gained_s),
        "to_floor_before_s": _points(row.before_s) | {"never_share": row.dry_before},
        "to_floor_after_s": _points(row.after_s) | {"never_share": row.dry_after},
        "chance_per_yr_before": _points(row.chance_before.chance),
        "chance_per_yr_after": _points(row.chance_after.chance),
        "mean_chance_per_yr_before": row.mean_before,
        "mean_chance_per_yr_after": row.mean_after,
        "money": None if row.cost_benefit is None else _cost_benefit(row.cost_benefit),
        "cost_per_avoided": _number(row.cost_per_avoided),
    }


def _cost_benefit(cost_benefit: CostBenefit) -> dict[str, Any]:
    return {
        "cost_once": cost_benefit.cost.once,
        "lasts_yr": cost_benefit.cost.lasts_yr,
        "upkeep_per_yr": cost_benefit.cost.upkeep_per_yr,
        "cost_per_yr": cost_benefit.cost.per_yr,
        "is_invented": cost_benefit.cost.is_invented,
        "loss_saved_per_yr": _points(cost_benefit.saved),
        "mean_loss_saved_per_yr": cost_benefit.mean_saved,
        "payback_yr": _points(cost_benefit.payback_yr),
        "mean_payback_yr": _number(cost_benefit.mean_payback_yr),
        "mean_payback_limits_yr": [_number(one) for one in cost_benefit.mean_payback_limits_yr],
        "pays_back_share": cost_benefit.pays_back_share,
        "pays": cost_benefit.pays,
        "gain_is_within_error": cost_benefit.is_within_error,
    }


def _set(found: RemedySet) -> dict[str, Any]:
    return {
        "remedies": list(found.names),
        "mean_chance_per_yr": found.mean_chance,
        "money": None if found.cost_benefit is None else _cost_benefit(found.cost_benefit),
    }


def costs_form(costs: Costs) -> dict[str, Any]:
    """Write what things cost for JSON.

    Parameters
    ----------
    costs : Costs
        What things cost.

    Returns
    -------
    dict of str
        Currency, price year, family of losses, and which prices are invented.
    """
    own = costs.family is LossFamily.OWN
    return {
        "currency": costs.currency,
        "price_year": costs.price_year,
        "loss_family": costs.family.value,
        "flood": costs.prices.of("flood") if own else None,
        "structure_value": costs.structure_value,
        "finished_m2": costs.finished_m2,
        "invented": list(costs.prices.invented),
    }


def _interval(row: IntervalRow) -> dict[str, Any]:
    return {
        "every_yr": _number(row.every_yr),
        "chance_per_yr": _points(row.chance),
        "mean_chance_per_yr": row.mean_chance,
        "floods_per_yr": row.floods_per_yr,
        "found_per_yr": row.found_per_yr,
        "shown_per_yr": row.shown_per_yr,
        "met_per_yr": row.met_per_yr,
        "cost_per_yr": row.cost_per_yr,
    }


def _points(points: Points) -> dict[str, float | None]:
    return {
        "p10": _number(points.low), "p50": _number(points.median), "p90": _number(points.high),
    }  # fmt: skip


def _number(value: float | None) -> float | None:
    return value if value is not None and math.isfinite(value) else None
