"""A company on one page: a map without tiles, calls of a night by the hour, and whom to visit."""

from __future__ import annotations

from typing import TYPE_CHECKING, Any

from riskkit.fleet.plan_table import offer_of
from riskkit.quantities.variables import counted, significant
from riskkit.report.charts import to_svg
from riskkit.report.fleet_charts import calls_chart, company_map
from riskkit.report.fleet_past_words import past_table
from riskkit.report.fleet_plan_words import (
    OFFER_WORDS,
    night_lines,
    plan_lines,
    plan_table,
    wait_words,
)
from riskkit.report.number_words import percent_words
from riskkit.report.page import environment

if TYPE_CHECKING:
    from collections.abc import Sequence

    from riskkit.fleet.night import Nights
    from riskkit.fleet.planning import Plan, Planned

__all__ = ["CALLS_WORDS", "HOMES_HEAD", "company_page", "homes_rows"]

HOMES_HEAD = (
    "home", "neighbourhood", "floods kept away by 100 visits now", "chance of water in a year",
    "due", "week", "why it waits", "to offer",
)  # fmt: skip
"""Heads of the list of homes on the page."""

CALLS_WORDS = (
    "Calls by the hour of the storm: bars the median of all nights, lines the range that holds 8 "
    "of 10. Hours without a mark bring no call in 9 of 10 nights."
)
"""What the picture of the calls shows."""
_MAP_WORDS = (
    "Homes where they stand, north up; the larger, the more floods a visit now keeps away. No "
    "server of maps was asked."
)
_SHOWN = 40  # rows of the table of a page


def homes_rows(
    plan: Plan, homes: Sequence[Planned]
) -> tuple[list[list[str]], list[list[float | str]]]:
    """Give what the list of the page shows of homes, and by what each column is sorted.

    Parameters
    ----------
    plan : Plan
        The visits of a year.
    homes : sequence of Planned
        Those of it that are shown.

    Returns
    -------
    cells : list of list of str
        Below `HOMES_HEAD`, a row for each home.
    keys : list of list of float or str
        A number or a text for each cell [any].
    """
    cells: list[list[str]] = []
    keys: list[list[float | str]] = []
    last = 10**6  # after every week and every day
    for rank, home in enumerate(homes):
        told, offer = home.about, OFFER_WORDS[offer_of(home)[0]]
        wait = wait_words(home, plan.begins)
        neighbourhood = str(told["neighbourhood"] or "")
        cells.append([
            str(told["name"]), neighbourhood, significant(100 * home.mean_gain_now, 2),
            percent_words(told["chance_mean"]), "" if home.due is None else home.due.isoformat(),
            "none" if home.week is None else str(home.week + 1), wait, offer or "nothing",
        ])  # fmt: skip
        keys.append([
            str(told["name"]), neighbourhood, rank, -float(told["chance_mean"]),
            last if home.due is None else (home.due - plan.begins).days,
            last if home.week is None else home.week, wait or "~", offer or "~",
        ])  # fmt: skip
    return cells, keys


def company_page(
    plan: Plan,
    nights: Nights | None,
    within_h: float,
    share: float,
    crews: int | None,
    past: Sequence[Nights] = (),
    missing: str = "",
) -> str:
    """Write a company as a page that needs nothing else.

    Parameters
    ----------
    plan : Plan
        The visits of a year.
    nights : Nights or None
        Many nights of a storm; None where none is asked for.
    within_h : float
        Time from a call until a crew sets out [h].
    share : float
        Of the calls [-].
    crews : int or None
        Crews on hand; None where nobody said [-].
    past : sequence of Nights
        Nights of the largest storms of the record, the rarest first.
    missing : str
        That homes are missing in it; empty where none is.

    Returns
    -------
    str
        HTML; text from files is escaped.
    """
    pictures = [_picture("The map", (), company_map(plan), _MAP_WORDS)]
    if nights is not None:
        told = [line.strip() for line in night_lines(nights, within_h, share, crews)]
        title = "The night of a storm"
        pictures.append(_picture(title, told, calls_chart(nights), CALLS_WORDS))
    return (
        environment()
        .get_template("fleet.html")
        .render(
            title=f"Company of {counted(len(plan.homes), 'home', 'homes')}",
            missing=missing,
            visits=plan_lines(plan),
            pictures=pictures,
            homes=plan_table(plan, _SHOWN),
            past=past_table(past, within_h, share) if past else None,
        )
    )


def _picture(title: str, lines: Sequence[str], chart: Any, words: str) -> dict[str, object]:
    import markupsafe

    svg = to_svg(chart)
    drawn = markupsafe.Markup(svg)  # noqa: S704 - drawn by the library, which escapes texts
    return {"title": title, "lines": lines, "svg": drawn, "words": words}
