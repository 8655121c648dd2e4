"""What each remedy does for a home, in words: time gained and chance of a year."""

from __future__ import annotations

import math
from typing import TYPE_CHECKING

from riskkit.options.limits import SURER
from riskkit.quantities.variables import significant
from riskkit.reliability.loss import LossFamily
from riskkit.report.chance_words import chance_words
from riskkit.report.number_words import cases_words, percent_words
from riskkit.report.time_words import more_or_less
from riskkit.risk.clock import Clock
from riskkit.tables import load_table

if TYPE_CHECKING:
    from riskkit.failures.money import Costs
    from riskkit.options.payback import CostBenefit
    from riskkit.options.ranking import RankedRemedy, Ranking
    from riskkit.quantities.units import UnitSystem

__all__ = [
    "PAIRS_TITLE",
    "SETS_HEAD",
    "amount_words",
    "budget_lines",
    "gained_time",
    "money_lines",
    "no_better_lines",
    "no_better_rows",
    "no_help_line",
    "order_lines",
    "ranking_head",
    "ranking_rows",
    "ranking_title",
    "set_rows",
    "short_words",
    "tie_lines",
    "tried_with",
]

PAIRS_TITLE = "Two together that do more than one"
_PAYS_BACK = "payback, mean (± two standard errors), and share of variants that pay back"
SETS_HEAD = ("Together", "chance in a year, mean of all variants", "cost", _PAYS_BACK)
_BETTER = 0.1  # of the chance, by which a pair is worth saying beside the best alone (judgement)
_AS_A_THING = {  # what holds a lesser remedy, and that
    "new_pump": "a new pump of the same size",
    "bigger_pump": "a new pump that moves half as much again",
    "new_battery": "a new battery of the same capacity",
    "bigger_battery": "a new battery of twice the capacity",
    "gap": "filling the gap at the wall",
    "ground": "filling it and sloping the ground away",
}
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
    return f"What helps here, the best first, about equal ones by cost; time {_SINCE[found.clock]}"


def ranking_head(found: Ranking) -> tuple[str, ...]:
    """Name the columns of the table.

    Parameters
    ----------
    found : Ranking
        The remedies.

    Returns
    -------
    tuple of str
        The time is that without power where a second pump stands by: it runs on its battery.
    """
    stopping = "the pump stopping" if found.now.second is None else "without power"
    return (
        "What to do",
        "chance in a year, mean of all variants",
        f"10-year storm, {stopping}",
        "cost",
        _PAYS_BACK,
    )


def ranking_rows(found: Ranking, system: UnitSystem) -> list[tuple[str, ...]]:
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
        Cells as in `ranking_head`.
    """
    return [
        (
            row.remedy.words(system),
            _chances(row),
            gained_time(row),
            *_money(row.cost_benefit, found.costs),
        )
        for row in found.rows
        if row.helps
    ]


def order_lines(found: Ranking) -> tuple[str, ...]:
    """Say above the table why a remedy may stand above one that leaves a smaller chance.

    Parameters
    ----------
    found : Ranking
        The remedies.

    Returns
    -------
    tuple of str
        A sentence; none where no two help about equally.
    """
    if not found.ties:
        return ()
    return (
        "Remedies that help about equally stand in order of their cost a year; which those are is "
        "said below the table.",
    )


def tie_lines(found: Ranking, system: UnitSystem) -> tuple[str, ...]:
    """Say which remedies help about equally, so that their order says nothing.

    Parameters
    ----------
    found : Ranking
        The remedies.
    system : UnitSystem
        Units of the reader.

    Returns
    -------
    tuple of str
        A sentence for each group.
    """
    many = {2: "two", 3: "three", 4: "four", 5: "five"}
    return tuple(
        f"These {many.get(len(group), str(len(group)))} help about equally, so choose by price or "
        f"convenience: {'; '.join(_short(row, system) for row in group)}."
        for group in found.ties
    )


def _short(row: RankedRemedy, system: UnitSystem) -> str:
    """A few words for a remedy; all of them for a change of one's own."""
    name = row.remedy.name
    short = short_words(name)
    return short if short != name else row.remedy.words(system).rstrip(".")


def set_rows(found: Ranking) -> list[tuple[str, ...]]:
    """Write the pairs that do better than the best remedy alone.

    Parameters
    ----------
    found : Ranking
        The remedies, tried in pairs.

    Returns
    -------
    list of tuple of str
        Cells as in `SETS_HEAD`.
    """
    best = min((row.mean_after for row in found.rows), default=0.0)
    before = chance_words(found.now.mean)
    return [
        (
            " and ".join(short_words(name) for name in each.names),
            f"{before}, then {chance_words(each.mean_chance)}",
            *_money(each.cost_benefit, found.costs),
        )
        for each in found.pairs
        if each.mean_chance < best * (1 - _BETTER)
    ]


def short_words(name: str) -> str:
    """Name a remedy in few words.

    Parameters
    ----------
    name : str
        Its key, or the name of a change of one's own.

    Returns
    -------
    str
        Such as ``"second pump with battery and pipe"``.

    Examples
    --------
    >>> short_words("ground")
    'gap filled and ground sloped'
    """
    rows = load_table("remedy_costs").rows
    return next((row["words"] for row in rows if row["key"] == name), name)


def budget_lines(found: Ranking) -> list[str]:
    """Say which set of remedies is best for the budget.

    Parameters
    ----------
    found : Ranking
        The remedies with a budget.

    Returns
    -------
    list of str
        Sentences; none where no budget was told.
    """
    if found.budget is None:
        return []
    currency, best = found.costs.currency, found.best
    most = f"{amount_words(found.budget)} {currency}"
    if best is None or best.cost_benefit is None:
        return [f"For {most} at once, nothing that helps here can be done."]
    gain = best.cost_benefit
    done = "; ".join(short_words(name) for name in best.names)
    return [
        f"For {most} at once, the best set is: {done}.",
        f"Then the chance in a year is {chance_words(best.mean_chance)} instead of "
        f"{chance_words(found.now.mean)}, mean of all variants. It costs {_cost(gain, currency)}, "
        f"and saves about {amount_words(gain.mean_saved)} {currency} of losses a year in the "
        f"mean: {_verdict(gain)}.",
    ]


def _verdict(gain: CostBenefit) -> str:
    if gain.is_within_error:
        return "whether it pays is undecided, for that is within its error"
    return "it pays" if gain.pays else "it does not pay by losses alone"


def money_lines(found: Ranking) -> list[str]:
    """Say what costs and losses rest on.

    Parameters
    ----------
    found : Ranking
        The remedies.

    Returns
    -------
    list of str
        Sentences.
    """
    costs = found.costs
    year = "" if costs.price_year is None else f" of {costs.price_year}"
    currency = f"{costs.currency}{year}"
    invented = any(
        row.cost_benefit is not None and row.cost_benefit.cost.is_invented for row in found.rows
    )
    lines = []
    if costs.family is LossFamily.EGM_04_01:
        value = amount_words(costs.structure_value or 0.0)
        lines.append(
            "A flood costs a share of the value of the house by the depth of the water, by EGM "
            f"04-01 for one storey with basement; value {value} {currency}."
        )
    elif costs.family is LossFamily.ALBERTA:
        lines.append(
            "A flood costs Canadian dollars of 2014 for each square metre of finished basement, by "
            "a study for Alberta of 2015; costs of another year are not turned into those."
        )
    else:
        price = amount_words(costs.prices.of("flood"))
        basis = "an invented figure" if "flood" in costs.prices.invented else "as given"
        lines.append(f"A flood costs {price} {currency}, {basis}; only one a year is charged.")
    if invented:
        lines.append(
            "Costs marked * are invented figures: give your own under [costs] in the home file "
            "before you decide by cost. Paid back is without interest, 'never' where it does not "
            "come back while the thing lasts."
        )
    return lines


def amount_words(amount: float) -> str:
    """Write an amount of money to two or three digits.

    Parameters
    ----------
    amount : float
        The amount [money].

    Returns
    -------
    str
        Without its currency.

    Examples
    --------
    >>> amount_words(1834.4), amount_words(61.0), amount_words(0.0), amount_words(-250.0)
    ('1,830', '61', '0', '-250')
    """
    return significant(round(amount), 3)


def _money(cost_benefit: CostBenefit | None, costs: Costs) -> tuple[str, str]:
    if cost_benefit is None:
        return "not given", "not known"
    return _cost(cost_benefit, costs.currency), _payback(cost_benefit, costs.currency)


def _cost(cost_benefit: CostBenefit, currency: str) -> str:
    cost, parts = cost_benefit.cost, []
    if cost.once:
        parts.append(f"{amount_words(cost.once)} {currency}")
    if cost.upkeep_per_yr:
        parts.append(f"{amount_words(cost.upkeep_per_yr)} {currency} a year")
    mark = " *" if cost.is_invented and parts else ""
    return (" and ".join(parts) or "nothing") + mark


def _payback(cost_benefit: CostBenefit, currency: str) -> str:
    share = percent_words(cost_benefit.pays_back_share, cost_benefit.saved_by_draw.size)
    return f"{_mean_payback(cost_benefit, currency)}; in {share}"


def _mean_payback(cost_benefit: CostBenefit, currency: str) -> str:
    if cost_benefit.is_within_error:
        return "undecided: its saving is within its error"
    if not cost_benefit.cost.once:
        left = cost_benefit.mean_saved - cost_benefit.cost.per_yr
        amount = f"{significant(abs(left), 2)} {currency} a year"
        if cost_benefit.pays:
            return f"yes, saves about {amount} more than it costs"
        return f"no, costs about {amount} more than it saves"
    soon, late = (_years(each) for each in cost_benefit.mean_payback_limits_yr)
    mean = _years(cost_benefit.mean_payback_yr)
    return mean if soon == late == mean else f"{mean} ({soon} to {late})"


def _years(years: float) -> str:
    if math.isinf(years):
        return "never"
    if years < 4.75:  # to half a year
        number = significant(round(2 * years) / 2, 2)
    else:
        number = significant(years, 2 if years >= 10 else 1)
    return "within a year" if years < 1 else f"{number} year{'' if number == '1' else 's'}"


def _chances(row: RankedRemedy) -> str:
    before, after = chance_words(row.mean_before), chance_words(row.mean_after)
    if row.helps_chance:
        return f"{before}, then {after}"
    return f"{before}, {'hardly' if row.saved_chance > 0 else 'no'} less"


def gained_time(row: RankedRemedy, *, owner: bool = False) -> str:
    """Say what a remedy does for the time to the floor in the 10-year storm.

    Parameters
    ----------
    row : RankedRemedy
        The remedy.
    owner : bool
        Whether the owner reads it, who is told of cases and not of variants.

    Returns
    -------
    str
        For example ``"about 2 hours longer"``.
    """
    if not row.helps_time:
        return "no extra time"
    if row.dry_after >= row.dry_before + SURER:
        of = row.after_s.n_draws
        new, old = cases_words(row.dry_after, of), cases_words(row.dry_before)
        return f"stays dry in {new} {'cases' if owner else 'variants'} instead of {old}"
    return f"{more_or_less(row.gained_s)} longer"


def no_better_rows(found: Ranking) -> tuple[RankedRemedy, ...]:
    """Return what helps, but no more than a lesser remedy that helps too.

    Parameters
    ----------
    found : Ranking
        The remedies.

    Returns
    -------
    tuple of RankedRemedy
        Of those that are not listed as helping.
    """
    helps = {row.remedy.name for row in found.rows if row.helps}
    return tuple(row for row in found.rows if row.no_better_than in helps)


def no_better_lines(found: Ranking) -> tuple[str, ...]:
    """Say what does no more than a lesser remedy that helps.

    Parameters
    ----------
    found : Ranking
        The remedies.

    Returns
    -------
    tuple of str
        A sentence each.
    """
    return tuple(
        f"No better than {_AS_A_THING[row.no_better_than]}: {_AS_A_THING[row.remedy.name]}."
        for row in no_better_rows(found)
    )


def tried_with(found: Ranking) -> str:
    """Say with how many draws all was tried: fewer than an answer has, so its figures differ.

    Parameters
    ----------
    found : Ranking
        The remedies.

    Returns
    -------
    str
        One sentence.
    """
    return (
        f"Tried with {found.n_tried} simulated variants of this home, picked to represent all "
        f"{found.now.per_yr_by_draw.size}; the present chance is that of all, and the effect of "
        "remedies is scaled to it."
    )


def no_help_line(found: Ranking, system: UnitSystem) -> str:
    """Say what does not help here, and what helps no more than a lesser remedy.

    Parameters
    ----------
    found : Ranking
        The remedies.
    system : UnitSystem
        Units of the reader.

    Returns
    -------
    str
        Some sentences; that nothing is left to try where that is so.
    """
    if not found.rows:
        return "There is nothing left to try."
    alike, lines = {row.remedy.name for row in no_better_rows(found)}, no_better_lines(found)
    useless = [
        row.remedy.words(system)
        for row in found.rows
        if not row.helps and row.remedy.name not in alike
    ]
    if not useless and not lines:
        return "All that was tried helps here."
    said = ["Does not help here:", *useless] if useless else []
    return " ".join((*said, *lines))
