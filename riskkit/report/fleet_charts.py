"""Pictures of a company: homes where they stand, and the calls of a night hour by hour."""

from __future__ import annotations

import math
from collections import Counter
from typing import TYPE_CHECKING, Any

import numpy as np

from riskkit.fleet.plan_table import offer_of
from riskkit.report.charts import LINE, RAIN, STOPPED
from riskkit.report.fleet_plan_words import OFFER_WORDS

if TYPE_CHECKING:
    from collections.abc import Sequence

    import altair as alt

    from riskkit.fleet.night import Nights
    from riskkit.fleet.planning import Plan

__all__ = ["OTHERS", "calls_chart", "company_map", "looks_of", "map_rows"]

# Okabe and Ito's colours, told apart by colour-blind readers; a shape goes with each row of them
_COLOURS = ("#0072B2", "#D55E00", "#009E73", "#CC79A7", "#E69F00", "#56B4E9", "#000000")
_SHAPES = ("circle", "square", "triangle-up", "diamond")
OTHERS = "others"
"""What all neighbourhoods are called together for which no look is left."""
_LEAST_HOURS = 24  # of a picture of calls
_NARROWEST = 0.002  # of a map [deg]


def looks_of(neighbourhoods: Sequence[str]) -> dict[str, tuple[str, str]]:
    """Give each neighbourhood a colour and a shape that no other has, those of most homes first.

    Parameters
    ----------
    neighbourhoods : sequence of str
        That of each home.

    Returns
    -------
    dict of str to tuple of str
        Colour and shape by name; those for which none is left are `OTHERS` together, in grey.
    """
    looks = [(colour, shape) for shape in _SHAPES for colour in _COLOURS]
    by_count = sorted(Counter(neighbourhoods).items(), key=lambda each: (-each[1], each[0]))
    names = [name for name, _ in by_count]
    if len(names) <= len(looks):
        return dict(zip(sorted(names), looks, strict=False))
    shown = sorted(names[: len(looks)])
    return dict(zip(shown, looks, strict=True)) | {OTHERS: ("#BBBBBB", "circle")}


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


def company_map(plan: Plan, *, width_px: int = 560) -> alt.Chart:
    """Draw homes where they stand, on blank ground; a neighbourhood is picked by its legend.

    A mile is as long to the north as to the east. A neighbourhood has a look that no other has.

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

    rows = map_rows(plan)
    looks = looks_of([row["neighbourhood"] for row in rows])
    rows = [row | {"shown": row["neighbourhood"] if row["neighbourhood"] in looks else OTHERS}
            for row in rows]  # fmt: skip
    east, north = _square([row["longitude"] for row in rows], [row["latitude"] for row in rows])
    picked = alt.selection_point(fields=["shown"], bind="legend")
    kept = alt.Size("kept_away:Q", title="floods kept away by 100 visits", scale=alt.Scale(
        type="sqrt", range=[20, 500]))  # fmt: skip
    names = list(looks)
    colours = alt.Scale(domain=names, range=[looks[name][0] for name in names])
    shapes = alt.Scale(domain=names, range=[looks[name][1] for name in names])
    legend = alt.Legend(symbolLimit=0, columns=1 + len(names) // 16)
    chart: alt.Chart = (
        alt.Chart(alt.InlineData(values=rows))
        .mark_point(filled=True, stroke="white", strokeWidth=0.5)
        .encode(
            x=alt.X("longitude:Q", title="degrees east", axis=alt.Axis(tickCount=6),
                    scale=alt.Scale(domain=east, nice=False)),
            y=alt.Y("latitude:Q", title="degrees north", axis=alt.Axis(tickCount=6),
                    scale=alt.Scale(domain=north, nice=False)),
            size=kept,
            color=alt.Color("shown:N", title="neighbourhood", scale=colours, legend=legend),
            shape=alt.Shape("shown:N", title="neighbourhood", scale=shapes, legend=legend),
            opacity=alt.condition(picked, alt.value(0.85), alt.value(0.1)),
            tooltip=["name:N", "neighbourhood:N", "kept_away:Q", "chance:Q", "due:N", "offer:N"],
        )
        .add_params(picked)
        .properties(width=width_px, height=width_px)
    )  # fmt: skip
    return chart


def _square(east: list[float], north: list[float]) -> tuple[list[float], list[float]]:
    """Ends of a map of equal width and height on the ground that holds all places, with a rim."""
    if not east:
        return [0.0, 1.0], [0.0, 1.0]
    middle = [(min(each) + max(each)) / 2 for each in (east, north)]
    narrow = float(np.cos(np.radians(middle[1])))  # a degree east against one north
    half = 0.53 * max((max(east) - min(east)) * narrow, max(north) - min(north), _NARROWEST)
    wide = half / max(narrow, 0.01)
    return [middle[0] - wide, middle[0] + wide], [middle[1] - half, middle[1] + half]


def _whole_ticks(top: float) -> list[int]:
    """Whole numbers from 0 on, six at most: there is no half a call."""
    step = next(s * 10**k for k in range(9) for s in (1, 2, 5) if 5 * s * 10**k >= top)
    return list(range(0, math.ceil(top) + 1, step))


def calls_chart(
    found: Nights, *, width_px: int = 560
) -> alt.LayerChart | alt.FacetChart | alt.VConcatChart:
    """Draw the calls of a night by the hour, with their spread; of a past storm its rain above.

    Hours in which nobody calls have no mark.

    Parameters
    ----------
    found : Nights
        Many nights of one storm.
    width_px : int
        Width of the plot without its axes [px].

    Returns
    -------
    altair.LayerChart, altair.FacetChart or altair.VConcatChart
        Middle and range.
    """
    import altair as alt

    every = found.calls_by_hour()
    rows = [
        {"hour": hour, "next": hour + 1, "none": 0, "middle": hour + 0.5, "low": each.low,
         "median": each.median, "high": each.high}
        for hour, each in enumerate(every) if each.high > 0
    ]  # fmt: skip
    hours = found.hours
    if found.past is None:  # a calm end tells nothing
        last = max((hour for hour, each in enumerate(every) if each.high > 0), default=0)
        hours = min(hours, max(_LEAST_HOURS, 6 * (last // 6 + 1)))
    title = "hours from the beginning of the storm"
    if found.past is not None:
        title = f"hours from {found.past.window.replace('T', ' ')}"
    axis = alt.X("hour:Q", title=title, scale=alt.Scale(domain=[0, hours], nice=False),
                 axis=alt.Axis(values=list(range(0, hours + 1, 6))))  # fmt: skip
    top = max((each.high for each in every), default=0.0)
    counts = alt.Axis(values=_whole_ticks(top), format="d")
    base = alt.Chart(alt.InlineData(values=rows))
    bars = base.mark_bar(color=STOPPED, opacity=0.75, binSpacing=1).encode(
        x=axis, x2="next:Q", y=alt.Y("median:Q", title="calls in an hour", axis=counts), y2="none:Q"
    )
    spread = base.mark_rule(color=LINE, strokeWidth=1.5).encode(
        x=alt.X("middle:Q"), y=alt.Y("low:Q"), y2="high:Q"
    )
    calls = alt.layer(bars, spread).properties(width=width_px, height=180)
    if found.past is None:
        return calls
    rain = [
        {"hour": hour, "next": hour + 1, "none": 0, "rain": each}
        for hour, each in enumerate(found.past.rain_mm) if each > 0
    ]  # fmt: skip
    above = (
        alt.Chart(alt.InlineData(values=rain))
        .mark_bar(color=RAIN, binSpacing=0)
        .encode(
            x=alt.X("hour:Q", title=None, scale=alt.Scale(domain=[0, hours], nice=False),
                    axis=alt.Axis(values=list(range(0, hours + 1, 6)), labels=False)),
            x2="next:Q",
            y=alt.Y("rain:Q", title="rain, mm/h", scale=alt.Scale(reverse=True)),
            y2="none:Q",
        )
        .properties(width=width_px, height=70)
    )  # fmt: skip
    return alt.vconcat(above, calls, spacing=4)
