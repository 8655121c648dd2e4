"""What a visit did to the answer: range then, range now, which finding did how much."""

from __future__ import annotations

from typing import TYPE_CHECKING, Any

from riskkit.home.visits import visit_checks
from riskkit.options.visit_effect import VisitPart
from riskkit.report.chance_words import chance_words, one_year_in_words
from riskkit.report.next_words import narrowing_words, points_form
from riskkit.report.number_words import percent_words
from riskkit.report.state_words import since_words
from riskkit.report.stop_words import stop_words
from riskkit.report.time_words import minutes_words

if TYPE_CHECKING:
    from riskkit.assessment import Assessment
    from riskkit.ensemble.quantiles import Outcome
    from riskkit.failures.answer import YearlyChance
    from riskkit.home.home import Home
    from riskkit.options.visit_effect import FindingEffect, VisitEffect
    from riskkit.quantities.units import UnitSystem
    from riskkit.risk.clock import Clock

__all__ = ["effect_form", "effect_lines"]

_YEAR = "Chance of water on the floor in a year, mean of all variants"
_PARTS = {
    VisitPart.RISE: "the rise test",
    VisitPart.DRAW_DOWN: "the draw-down test",
    VisitPart.PARTS: "the parts changed",
}


def effect_lines(effect: VisitEffect, system: UnitSystem) -> tuple[str, ...]:
    """Say what a visit did to the time to the floor, as a whole and finding by finding.

    Parameters
    ----------
    effect : VisitEffect
        What it did.
    system : UnitSystem
        Units of the reader.

    Returns
    -------
    tuple of str
        A line each.
    """
    storm = effect.after.headline_storm
    home = effect.after.home
    name = f"{storm.return_period_yr:g}-year storm"
    lead = f"Time to water on the floor, if {stop_words(home)} in a {name}"
    if not effect.each:
        told = f"{lead}: {_of(effect.after)}. The visit does not change it."
        years = f"{_year(effect.chance_before)} before it; {_year(effect.chance_after)} now"
        return (told, f"{_YEAR}: {years}.", _variants(effect))
    lines = [f"{lead}: {_of(effect.before)} before the visit; {_of(effect.after)} now."]
    if effect.before.state.clock is not effect.after.state.clock:
        lines[0] += (
            " The two are counted from different moments, so they do not tell that water comes"
            " sooner or later than was thought."
        )
    if effect.narrowing is not None:
        lines[0] += f" {narrowing_words(effect.narrowing).capitalize()}."
    lines.append(
        f"{_YEAR}: {_year(effect.chance_before)} before the visit; {_year(effect.chance_after)} "
        "now, by judgement of how often parts fail."
    )
    visited = _year(effect.chance_visited)
    if visited != _year(effect.chance_before):  # how often somebody comes counts by itself
        lines.append(f"  That somebody came, whatever was found: in a year {visited}.")
    for one in effect.each:
        what = f"  With {_named(one)} alone: {_range(one.time, one.clock, home)}"
        gain = "" if one.narrowing is None else f"; {narrowing_words(one.narrowing)}"
        lines.append(f"{what}{gain}; in a year {_year(one.chance)}.")
    return (*lines, _variants(effect))


def _year(found: YearlyChance) -> str:
    return f"{one_year_in_words(found.mean)} ({chance_words(found.mean)})"


def _variants(effect: VisitEffect) -> str:
    n_draws, in_year = effect.before.settings.n_draws, effect.chance_before.per_yr_by_draw.size
    return (
        f"Before, after and each finding alone rest on the same {n_draws} simulated variants "
        f"of this home, chances in a year from the same {in_year}."
    )


def _of(answer: Assessment) -> str:
    return _range(answer.headline_storm.worst_stop.to_floor_s, answer.state.clock, answer.home)


def _range(time: Outcome, clock: Clock, home: Home) -> str:
    chance = percent_words(1.0 - time.never_share, time.n_draws)
    return f"{since_words(clock, home)} {minutes_words(time)}, chance {chance}"


def _named(one: FindingEffect) -> str:
    if one.part is VisitPart.CHECK:
        return f"the check “{visit_checks()[one.key]['words']}”"
    return _PARTS[one.part]


def effect_form(effect: VisitEffect) -> dict[str, Any]:
    """Return what a visit did to the answer, as plain data.

    Parameters
    ----------
    effect : VisitEffect
        What it did.

    Returns
    -------
    dict
        For JSON; null stands for 'never', and for a narrowing that cannot be told.
    """
    return {
        "home": effect.after.home.name,
        "date": effect.visit.date.isoformat(),
        "return_period_yr": effect.after.headline_storm.return_period_yr,
        "before": _answer_form(effect.before),
        "after": _answer_form(effect.after),
        "narrowing": effect.narrowing,
        "mean_chance_per_yr_before": effect.chance_before.mean,
        "mean_chance_per_yr_visited": effect.chance_visited.mean,
        "mean_chance_per_yr_after": effect.chance_after.mean,
        "draws": effect.before.settings.n_draws,
        "draws_of_chance": int(effect.chance_before.per_yr_by_draw.size),
        "each": [
            {
                "part": one.part.value,
                "check": one.key or None,
                "counted_from": one.clock.value,
                "to_floor_s": points_form(one.time),
                "narrowing": one.narrowing,
                "mean_chance_per_yr": one.chance.mean,
            }
            for one in effect.each
        ],
    }


def _answer_form(answer: Assessment) -> dict[str, Any]:
    return {
        "counted_from": answer.state.clock.value,
        "to_floor_s": points_form(answer.headline_storm.worst_stop.to_floor_s),
    }
