"""Years side by side on a terminal, as a chart, as a page and as JSON."""

from __future__ import annotations

import calendar
from typing import TYPE_CHECKING, Any

from riskkit.ensemble.quantiles import outcome
from riskkit.options.side_by_side import of_years
from riskkit.quantities.units import UnitSystem, convert
from riskkit.report.charts import STOPPED, WATER, to_svg
from riskkit.report.page import environment
from riskkit.report.replay_json import years_form
from riskkit.report.side_form import ContrastForm, SideForm
from riskkit.report.side_rows import due_lines, side_sentence, side_table, state_lines_of
from riskkit.report.state_words import ORDER_FIRST
from riskkit.report.table_text import print_table
from riskkit.report.terminal import print_state

if TYPE_CHECKING:
    from collections.abc import Sequence

    from rich.console import Console

    from riskkit.options.replays import YearsStudy
    from riskkit.options.side_by_side import SideBySide
    from riskkit.records import FloatArray

__all__ = ["SIDE_CHART_WORDS", "print_side", "side_form", "side_page", "side_spec"]

SIDE_CHART_WORDS = (
    "Top: storms a year in which a failed pump means water on the floor, mean. Middle: water "
    "pumped in a year. Lines: 8 of 10 simulated variants of the home. Bottom: the same storms by "
    "month."
)


def print_side(found: SideBySide, console: Console, system: UnitSystem) -> None:
    """Print years side by side: the state of the systems, a sentence, the table, the differences.

    Parameters
    ----------
    found : SideBySide
        The years.
    console : Console
        Where to.
    system : UnitSystem
        Units of the reader.
    """
    from rich.text import Text

    print_state(state_lines_of(found, system), console)
    for line in (side_sentence(found), *due_lines(found)):
        console.print(Text(line))
    console.print()
    print_table(console, side_table(found, system))


def side_spec(found: SideBySide, system: UnitSystem, *, width_px: int = 560) -> dict[str, Any]:
    """Draw years side by side: floods of a failed pump, water pumped, and the months.

    Parameters
    ----------
    found : SideBySide
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
    unit = "gal" if system is UnitSystem.US else "m3"
    size = convert(1.0, "m3", unit)
    y = {"field": "name", "type": "nominal", "sort": None, "title": None}

    def bars(what: str, factor: float, title: str, colour: str) -> dict[str, Any]:
        rows = [
            _bar(name, of_years(one)[what].mean(axis=1) * factor)
            for name, one in zip(found.names, found.replays, strict=True)
        ]
        x = {"field": "x", "type": "quantitative", "title": title}
        rule = {"y": y, "x": {"field": "low", "type": "quantitative"}, "x2": {"field": "high"}}
        return {
            "data": {"values": rows}, "width": width_px, "height": {"step": 26},
            "layer": [
                {"mark": {"type": "bar", "color": colour}, "encoding": {"y": y, "x": x}},
                {"mark": {"type": "rule", "strokeWidth": 2, "color": "#222"}, "encoding": rule},
            ],
        }  # fmt: skip

    frame = found.months().reset_index()
    cells = [
        {"name": str(name), "month": calendar.month_abbr[int(month)], "often": float(often)}
        for name, month, often in zip(
            frame["name"], frame["month"], frame["failed_pump_floods_mean_per_year"], strict=True
        )
    ]
    months = {
        "data": {"values": cells}, "width": width_px, "height": {"step": 26},
        "mark": {"type": "rect"},
        "encoding": {
            "y": y,
            "x": {"field": "month", "type": "nominal", "sort": list(calendar.month_abbr[1:]),
                  "title": None, "axis": {"labelAngle": 0}},
            "color": {"field": "often", "type": "quantitative", "title": "storms a year",
                      "scale": {"scheme": "oranges", "domainMin": 0},
                      "legend": {"orient": "bottom"}},
        },
    }  # fmt: skip
    shown = "gal" if system is UnitSystem.US else "m³"
    return {
        "vconcat": [
            bars("failed_pump_floods", 1.0, "a failed pump floods [1/year]", STOPPED),
            bars("pumped_m3", size, f"pumped [{shown}/year]", WATER),
            months,
        ],
        "config": {
            "view": {"stroke": None},
            "axis": {"labelFontSize": 12, "titleFontSize": 12, "labelLimit": 260},
            "legend": {"labelFontSize": 12, "titleFontSize": 12},
        },
    }


def _bar(name: str, per_draw: FloatArray) -> dict[str, Any]:
    points = outcome(per_draw)
    return {"name": name, "x": float(per_draw.mean()), "low": points.low, "high": points.high}


def side_page(found: SideBySide, system: UnitSystem, title: str) -> str:
    """Write years side by side as one page that needs nothing else.

    Parameters
    ----------
    found : SideBySide
        The years.
    system : UnitSystem
        Units of the reader.
    title : str
        What is side by side.

    Returns
    -------
    str
        HTML without scripts; text from files is escaped.
    """
    import markupsafe

    return (
        environment()
        .get_template("side.html")
        .render(
            title=title,
            order_first=ORDER_FIRST,
            alerts=state_lines_of(found, system),
            lines=[side_sentence(found), *due_lines(found)],
            chart=markupsafe.Markup(to_svg(side_spec(found, system))),  # noqa: S704 - drawn here
            caption=SIDE_CHART_WORDS,
            table=side_table(found, system),
        )
    )


def side_form(found: SideBySide, studies: Sequence[YearsStudy]) -> dict[str, Any]:
    """Turn years side by side into plain values for JSON.

    Parameters
    ----------
    found : SideBySide
        The years.
    studies : sequence of YearsStudy
        Of each, in the same order.

    Returns
    -------
    dict
        As described by `side_schema`.
    """
    return SideForm(
        sentence=side_sentence(found),
        names=list(found.names),
        contrasts=[ContrastForm.model_validate(one) for one in found.contrasts],
        replays=[years_form(study) for study in studies],
    ).model_dump(mode="json")
