"""What is said of the draws that an answer rests on: how many, and how far chance may move it."""

from __future__ import annotations

from typing import TYPE_CHECKING

from riskkit.ensemble.quantiles import chance_of_draws
from riskkit.report.time_words import about_duration

if TYPE_CHECKING:
    from riskkit.assessment import Assessment

__all__ = ["draws_words"]


def draws_words(answer: Assessment) -> str:
    """Say how many variants an answer rests on, and what others would say.

    Parameters
    ----------
    answer : Assessment
        The answer.

    Returns
    -------
    str
        Two sentences.
    """
    settings, storm = answer.settings, answer.headline_storm
    chance = chance_of_draws(storm.worst_stop.to_floor_by_draw_s)
    first, last = (about_duration(time_s) for time_s in chance.median)
    median = first if first == last else f"between {first} and {last}"
    low, high = sorted(f"{100 * (1.0 - share):.0f}" for share in chance.never_share)
    reached = low if low == high else f"between {low} and {high}"
    return (
        f"{settings.n_draws} variants, seed {settings.seed}. With other variants the median time "
        f"to the floor, at the worst moment of the {storm.return_period_yr:g}-year storm, would be "
        f"{median}, and water would reach the floor in {reached} % of them, 19 times in 20."
    )
