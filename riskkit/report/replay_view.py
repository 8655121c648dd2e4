"""Years of a home on a terminal, as a chart, as a page and as tables of numbers."""

from __future__ import annotations

import calendar
from typing import TYPE_CHECKING, Any

from riskkit.ensemble.quantiles import outcome
from riskkit.quantities.units import UnitSystem, convert
from riskkit.report.charts import RAIN, STOPPED, WATER, to_svg
from riskkit.report.page import environment
from riskkit.report.replay_rows import replay_tables
from riskkit.report.replay_words import (
    due_faults,
    due_line,
    gap_line,
    replay_sentence,
    season_line,
)
from riskkit.report.state_words import ORDER_FIRST
from riskkit.report.table_text import print_table
from riskkit.report.terminal import print_state
from riskkit.report.visit_words import alerts, visit_alerts
from riskkit.risk.system_state import system_state

if TYPE_CHECKING:
    import pandas as pd
    from rich.console import Console

    from riskkit.options.replays import YearsStudy
    from riskkit.records import FloatArray

__all__ = [
    "CHART_WORDS",
    "STORM_CHART_WORDS",
    "lead_lines",
    "print_replay",
    "replay_csv",
    "replay_page",
    "replay_spec",
    "storm_spec",
]

CHART_WORDS = (
    "Months of this home. Top: storms a year in which a failed pump means water on the floor. "
    "Middle: water pumped. Lines: 8 of 10 simulated variants of the home. Bottom: rain and snow "
    "melt."
)
STORM_CHART_WORDS = (
    "Every storm and thaw by its water and its wettest hour. Colour: how wet the soil was. Size: "
    "in how many of the simulated variants of the home a pump that stops in it means water on the "
    "floor."
)
_BARS = 20


def lead_lines(study: YearsStudy) -> list[str]:
    """Return what is said below the state: sentence, visits, and what is missing from the record.

    Parameters
    ----------
    study : YearsStudy
        The years.

    Returns
    -------
    list of str
        Sentences.
    """
    home = study.replay.home
    faults = due_faults(system_state(home))
    due = due_line(faults, more=bool(visit_alerts(home)))
    lines = [
        replay_sentence(study, state_first=False), season_line(study.season, due),
        gap_line(study.replay),
    ]  # fmt: skip
    return [line for line in lines if line]


def print_replay(study: YearsStudy, console: Console, system: UnitSystem) -> None:
    """Print the years of a home: the sentence first, then bars by month, then the tables.

    Parameters
    ----------
    study : YearsStudy
        The years.
    console : Console
        Where to.
    system : UnitSystem
        Units of the reader.
    """
    from rich.text import Text

    home = study.replay.home
    print_state(alerts(home, system_state(home), system), console)
    for line in lead_lines(study):
        console.print(Text(line))
    console.print()
    dead = study.months.dead_floods.mean(axis=0)
    if dead.max() > 0:
        console.print(
            Text("A failed pump floods, storms a year by month, mean of the variants", style="bold")
        )
        for month, often in enumerate(dead, 1):
            bar = "#" * round(_BARS * often / dead.max())
            console.print(Text(f"  {calendar.month_abbr[month]} {bar:{_BARS}} {often:.2g}"))
        console.print()
    for table in replay_tables(study, system):
        print_table(console, table)


def replay_spec(study: YearsStudy, system: UnitSystem, *, width_px: int = 560) -> dict[str, Any]:
    """Draw the months of a home: a failed pump, the water pumped, rain and melt.

    Parameters
    ----------
    study : YearsStudy
        The years.
    system : UnitSystem
        Units of the reader.
    width_px : int
        Width of the plots without their axes [px].

    Returns
    -------
    dict
        A Vega-Lite chart.
    """
    risk = study.months
    us = system is UnitSystem.US
    volume, depth = (
        convert(1.0, "m3", "gal" if us else "m3"),
        convert(1.0, "mm", "in" if us else "mm"),
    )
    order = list(calendar.month_abbr[1:])
    x = {"field": "month", "type": "nominal", "sort": order, "title": None,
         "axis": {"labelAngle": 0}}  # fmt: skip

    def spread(per_draw: FloatArray, title: str, colour: str, *, mean: bool) -> dict[str, Any]:
        rows = []
        for month, name in enumerate(order):
            points = outcome(per_draw[:, month])
            median = float(per_draw[:, month].mean()) if mean else points.median
            rows.append({"month": name, "y": median, "low": points.low, "high": points.high})
        y = {"field": "y", "type": "quantitative", "title": title}
        rule = {"x": x, "y": {"field": "low", "type": "quantitative"}, "y2": {"field": "high"}}
        return {
            "data": {"values": rows}, "width": width_px, "height": 120,
            "layer": [
                {"mark": {"type": "bar", "color": colour}, "encoding": {"x": x, "y": y}},
                {"mark": {"type": "rule", "strokeWidth": 2, "color": "#222"}, "encoding": rule},
            ],
        }  # fmt: skip

    kinds = ["rain", "melt"]
    water = [
        {"month": order[m], "kind": kind, "y": float(value * depth), "rank": rank}
        for m in range(12)
        for rank, (kind, value) in enumerate(
            zip(kinds, (risk.water_mm[m] - risk.melt_mm[m], risk.melt_mm[m]), strict=True)
        )
    ]
    bars = {
        "data": {"values": water}, "width": width_px, "height": 100, "mark": "bar",
        "encoding": {
            "x": x,
            "y": {"field": "y", "type": "quantitative", "title": f"water [{'in' if us else 'mm'}]"},
            "color": {"field": "kind", "type": "nominal", "title": None,
                      "scale": {"domain": kinds, "range": [RAIN, "#999999"]},
                      "legend": {"orient": "top-right"}},
            "order": {"field": "rank"},
        },
    }  # fmt: skip
    return {
        "vconcat": [
            spread(risk.dead_floods, "storms a year", STOPPED, mean=True),
            spread(risk.pumped_m3 * volume, f"pumped [{'gal' if us else 'm³'}]", WATER, mean=False),
            bars,
        ],
        "resolve": {"legend": {"color": "independent"}},
        "config": {
            "view": {"stroke": None},
            "axis": {"labelFontSize": 12, "titleFontSize": 12},
            "legend": {"labelFontSize": 12},
        },
    }


def storm_spec(study: YearsStudy, system: UnitSystem, *, width_px: int = 560) -> dict[str, Any]:
    """Draw the storms by rain, wettest hour and wetness, and how likely a stopped pump floods.

    Parameters
    ----------
    study : YearsStudy
        The years.
    system : UnitSystem
        Units of the reader.
    width_px : int
        Width of the plot without its axes [px].

    Returns
    -------
    dict
        A Vega-Lite chart.
    """
    unit = "in" if system is UnitSystem.US else "mm"
    size = convert(1.0, "mm", unit)
    frame = study.replay.storms
    rows = [
        {"depth": depth * size, "hour": hour * size, "wet": min(wet, 1.0),
         "floods": (1.0 - never) * 100}
        for depth, hour, wet, never in zip(
            frame["depth_mm"], frame["wettest_hour_mm"], frame["wetness_share"],
            frame["worst_never_share"], strict=True,
        )
    ]  # fmt: skip

    def axis(field: str, title: str) -> dict[str, Any]:
        return {
            "field": field,
            "type": "quantitative",
            "title": title,
            "scale": {"type": "log", "nice": False},
        }

    return {
        "data": {"values": rows}, "width": width_px, "height": 300,
        "mark": {"type": "circle", "opacity": 0.8, "stroke": "#222", "strokeWidth": 0.4},
        "encoding": {
            "x": axis("depth", f"rain and melt of the storm [{unit}]"),
            "y": axis("hour", f"wettest hour [{unit}]"),
            "color": {"field": "wet", "type": "quantitative", "title": "soil wetness",
                      "scale": {"scheme": "viridis", "reverse": True, "domain": [0, 1]},
                      "legend": {"type": "gradient", "format": ".0%"}},
            "size": {"field": "floods", "type": "quantitative", "title": "chance of water [%]",
                     "scale": {"domain": [0, 100], "range": [6, 220]},
                     "legend": {"values": [10, 50, 100], "symbolFillColor": "#777"}},
        },
        "config": {
            "view": {"stroke": None},
            "axis": {"labelFontSize": 12, "titleFontSize": 12},
            "legend": {"labelFontSize": 12, "titleFontSize": 12},
        },
    }  # fmt: skip


def replay_page(study: YearsStudy, system: UnitSystem) -> str:
    """Write the years of a home as one page that needs nothing else.

    Parameters
    ----------
    study : YearsStudy
        The years.
    system : UnitSystem
        Units of the reader.

    Returns
    -------
    str
        HTML without scripts; text from files is escaped.
    """
    import markupsafe

    home = study.replay.home
    template = environment().get_template("replay.html")
    return template.render(
        name=home.name,
        record=study.replay.record_name,
        order_first=ORDER_FIRST,
        alerts=alerts(home, system_state(home), system),
        lines=lead_lines(study),
        chart=markupsafe.Markup(to_svg(replay_spec(study, system))),  # noqa: S704 - drawn here
        caption=CHART_WORDS,
        storms=markupsafe.Markup(to_svg(storm_spec(study, system))),  # noqa: S704 - drawn here
        storms_caption=STORM_CHART_WORDS,
        tables=replay_tables(study, system, 20),
    )


def replay_csv(frame: pd.DataFrame) -> str:
    """Write a table of a replay as CSV: times without a zone, units in the head, blanks for none.

    Parameters
    ----------
    frame : pandas.DataFrame
        Such as `Replay.storms`.

    Returns
    -------
    str
        The text of the file.
    """
    return str(frame.to_csv(float_format="%.6g", lineterminator="\n"))
