"""A company on one page: a map without tiles, calls of a night by the hour, and whom to visit."""

from __future__ import annotations

from typing import TYPE_CHECKING, Any

from riskkit.fleet.plan_table import offer_of
from riskkit.quantities.variables import significant
from riskkit.report.charts import RAIN, STOPPED, to_svg
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

    import altair as alt

    from riskkit.fleet.night import Nights
    from riskkit.fleet.planning import Plan, Planned

__all__ = ["HOMES_HEAD", "calls_chart", "company_map", "company_page", "homes_rows", "map_rows"]

HOMES_HEAD = (
    "home", "neighbourhood", "floods kept away by 100 visits now", "chance of water in a year",
    "due", "week", "why it waits", "to offer",
)  # fmt: skip
"""Heads of the list of homes on the page."""

_CAPTION = (
    "Top: homes where they stand, north up; the larger, the more floods a visit now keeps "
    "away. Bottom: calls by the hour of the storm, the median of all nights and the range "
    "that holds 8 of 10."
)
_SHOWN = 40  # rows of the table of a page


def map_rows(plan: Plan) -> list[dict[str, Any]]:
    """Give what the map draws: every home that has a place.

    Parameters
    ----------
    plan : Plan
        The visits of a year.

    Returns
    -------
    list of dict
        Place, name, what a visit now keeps away in 100 visits, chance, and what to offer.
    """
    return [
        {
            "latitude": home.about["latitude"],
            "longitude": home.about["longitude"],
            "name": home.about["name"],
            "neighbourhood": home.about["neighbourhood"] or "by itself",
            "kept_away": 100 * max(home.mean_gain_now, 0.0),
            "chance": home.about["chance_mean"],
            "due": "" if home.due is None else home.due.isoformat(),
            "offer": OFFER_WORDS[offer_of(home)[0]] or "nothing",
        }
        for home in plan.homes
        if home.about["latitude"] is not None and home.about["longitude"] is not None
    ]


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


def company_map(plan: Plan, *, width_px: int = 560) -> alt.Chart:
    """Draw homes where they stand, on blank ground; a neighbourhood is picked by its legend.

    Parameters
    ----------
    plan : Plan
        The visits of a year.
    width_px : int
        Width of the plot without its axes [px].

    Returns
    -------
    altair.Chart
        The map.
    """
    import altair as alt

    picked = alt.selection_point(fields=["neighbourhood"], bind="legend")
    kept = alt.Size("kept_away:Q", title="floods kept away by 100 visits", scale=alt.Scale(
        type="sqrt", range=[15, 500]))  # fmt: skip
    chart: alt.Chart = (
        alt.Chart(alt.InlineData(values=map_rows(plan)))
        .mark_circle(stroke="white", strokeWidth=0.5)
        .encode(
            x=alt.X("longitude:Q", title="degrees east", scale=alt.Scale(zero=False)),
            y=alt.Y("latitude:Q", title="degrees north", scale=alt.Scale(zero=False)),
            size=kept,
            color=alt.Color("neighbourhood:N", title="neighbourhood"),
            opacity=alt.condition(picked, alt.value(0.85), alt.value(0.1)),
            tooltip=["name:N", "neighbourhood:N", "kept_away:Q", "chance:Q", "due:N", "offer:N"],
        )
        .add_params(picked)
        .properties(width=width_px, height=width_px)
    )
    return chart


def calls_chart(found: Nights, *, width_px: int = 560) -> alt.LayerChart | alt.FacetChart:
    """Draw the calls of a night by the hour, with their spread.

    Parameters
    ----------
    found : Nights
        Many nights of one storm.
    width_px : int
        Width of the plot without its axes [px].

    Returns
    -------
    altair.LayerChart or altair.FacetChart
        Middle and range.
    """
    import altair as alt

    rows = [
        {"hour": hour + 0.5, "low": each.low, "median": each.median, "high": each.high}
        for hour, each in enumerate(found.calls_by_hour())
    ]
    base = alt.Chart(alt.InlineData(values=rows)).encode(
        x=alt.X("hour:Q", title="hours from the beginning of the storm")
    )
    band = base.mark_area(opacity=0.3, color=RAIN, interpolate="step").encode(
        y=alt.Y("low:Q", title="calls in an hour"), y2="high:Q"
    )
    line = base.mark_line(color=STOPPED, interpolate="step").encode(y="median:Q")
    return alt.layer(band, line).properties(width=width_px, height=180)


def company_page(
    plan: Plan, nights: Nights | None, within_h: float, share: float, crews: int | None
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

    Returns
    -------
    str
        HTML; text from files is escaped.
    """
    import altair as alt
    import markupsafe

    charts: list[Any] = [company_map(plan)]
    lines = plan_lines(plan)
    if nights is not None:
        charts.append(calls_chart(nights))
        told = night_lines(nights, within_h, share, crews)
        lines = [*lines, *(line.strip() for line in told)]
    svg = to_svg(alt.vconcat(*charts))
    return (
        environment()
        .get_template("side.html")
        .render(
            title=f"Company of {len(plan.homes):,} homes",
            alerts=(),
            order_first="",
            lines=lines,
            chart=markupsafe.Markup(svg),  # noqa: S704 - drawn by the library; it escapes names
            caption=_CAPTION,
            table=plan_table(plan, _SHOWN),
        )
    )
