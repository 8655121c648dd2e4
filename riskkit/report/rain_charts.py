"""Charts of a rain record: the curve through its maxima, and how complete its years are."""

from __future__ import annotations

from typing import TYPE_CHECKING, Any

import numpy as np

from riskkit.rainfall.analysis import RainAnalysis
from riskkit.rainfall.homogeneity import DoubleMass
from riskkit.rainfall.plotting import plotting_position
from riskkit.rainfall.quality import COMPLETE_SHARE
from riskkit.records import FloatArray, IntArray
from riskkit.report.charts import LINE, RAIN, STOPPED, WATER
from riskkit.report.terminal import hours_words
from riskkit.units import UnitSystem, convert

if TYPE_CHECKING:
    import altair as alt

__all__ = ["completeness_chart", "double_mass_chart", "frequency_chart", "shown_durations"]

_WANTED_H = (1.0, 6.0, 24.0, 72.0)
_PANEL_PX, _WIDE_PX = 330, 740
_MEASURED, _FITTED, _OFFICIAL = "largest of each year", "fitted, with its limits", "official table"


def shown_durations(found: RainAnalysis) -> list[float]:
    """Choose the durations to draw, at most four that the record itself shows.

    Parameters
    ----------
    found : RainAnalysis
        What was found.

    Returns
    -------
    list of float
        Durations [h].
    """
    own = found.maxima.duration_h.tolist()
    wanted = [hours for hours in _WANTED_H if hours in own]
    return wanted if len(wanted) > 1 else own[:4]


def frequency_chart(
    found: RainAnalysis, system: UnitSystem, *, width_px: int = _PANEL_PX
) -> alt.VConcatChart:
    """Draw depth against return period: measured maxima, the fitted curve, its limits, the table.

    Measured maxima stand at Cunnane's plotting position F, at a return period of -1 / ln F.

    Parameters
    ----------
    found : RainAnalysis
        What was found.
    system : UnitSystem
        Units of the reader.
    width_px : int
        Width of each of the panels, two beside each other [px].

    Returns
    -------
    altair.VConcatChart
        A panel per duration.
    """
    import altair as alt

    panels = [_panel(found, hours, system, width_px) for hours in shown_durations(found)]
    rows = [alt.hconcat(*panels[i : i + 2]) for i in range(0, len(panels), 2)]
    chart: alt.VConcatChart = _dressed(alt.vconcat(*rows))
    return chart


def _panel(found: RainAnalysis, hours: float, system: UnitSystem, width_px: int) -> Any:
    import altair as alt

    unit = "in" if system is UnitSystem.US else "mm"
    size = convert(1.0, "mm", unit)
    names = [_MEASURED, _FITTED, *([] if found.official is None else [_OFFICIAL])]
    colours = alt.Scale(domain=names, range=[LINE, WATER, STOPPED][: len(names)])
    colour = alt.Color("what:N", scale=colours, title=None)
    ticks = [1, 2, 5, 10, 25, 50, 100]
    x = alt.X("years:Q", title="return period [years]", axis=alt.Axis(values=ticks),
              scale=alt.Scale(type="log", domain=[0.3, 150]))  # fmt: skip
    title = f"rain in {hours_words(hours)} [{unit}]"
    y = alt.Y("depth:Q", title=title)
    row = found.own.duration_h.tolist().index(hours)
    curve = _rows(found.own.return_period_yr, found.own.depth_mm[row] * size, _FITTED)
    layers = []
    if found.own.lower_mm is not None and found.own.upper_mm is not None:
        limits = zip(found.own.lower_mm[row], found.own.upper_mm[row], strict=True)
        band = [
            point | {"low": float(low) * size, "high": float(high) * size}
            for point, (low, high) in zip(curve, limits, strict=True)
        ]
        area = alt.Chart(alt.InlineData(values=band)).mark_area(opacity=0.35, color=RAIN)
        layers.append(area.encode(x=x, y=alt.Y("low:Q", title=title), y2="high:Q"))
    layers.append(
        alt.Chart(alt.InlineData(values=curve)).mark_line().encode(x=x, y=y, color=colour)
    )
    maxima = np.sort(found.maxima.depth_mm[found.maxima.duration_h.tolist().index(hours)])
    years = -1.0 / np.log(plotting_position(maxima.size))
    shown = years >= 0.3
    points = _rows(years[shown], maxima[shown] * size, _MEASURED)
    dots = alt.Chart(alt.InlineData(values=points)).mark_circle(size=22, opacity=0.8)
    layers.append(dots.encode(x=x, y=y, color=colour))
    if found.official is not None:
        same = np.isclose(found.official.duration_h, hours, rtol=0.005)
        if same.any():
            table = found.official.depth_mm[int(np.argmax(same))] * size
            near = found.official.return_period_yr <= 150
            official = _rows(found.official.return_period_yr[near], table[near], _OFFICIAL)
            mark = alt.Chart(alt.InlineData(values=official)).mark_point(shape="diamond", size=55)
            layers.append(mark.encode(x=x, y=y, color=colour))
    return alt.layer(*layers).properties(width=width_px, height=230)


def _rows(years: FloatArray, depth: FloatArray, what: str) -> list[dict[str, Any]]:
    return [
        {"years": float(t), "depth": float(d), "what": what}
        for t, d in zip(years, depth, strict=True)
    ]


def completeness_chart(
    years: IntArray, missing_share: FloatArray, *, width_px: int = _WIDE_PX
) -> alt.LayerChart:
    """Draw how much of each year is known, and the share from which a year counts.

    Parameters
    ----------
    years : (n_years,) array of int
        Calendar years [yr].
    missing_share : (n_years,) array
        Missing share of each [-].
    width_px : int
        Width of the plot [px].

    Returns
    -------
    altair.LayerChart
        A bar per year.
    """
    import altair as alt

    counts, left_out = "counts", "does not count"
    rows = [
        {"year": int(y), "known": 100.0 * (1.0 - float(m)),
         "what": counts if 1.0 - m >= COMPLETE_SHARE - 1e-12 else left_out}
        for y, m in zip(years, missing_share, strict=True)
    ]  # fmt: skip
    scale = alt.Scale(domain=[counts, left_out], range=[WATER, STOPPED])
    ticks = [int(y) for y in years if y % 10 == 0 or len(years) <= 12]
    bars = (
        alt.Chart(alt.InlineData(values=rows), width=width_px, height=110)
        .mark_bar()
        .encode(
            x=alt.X("year:O", title="year", axis=alt.Axis(values=ticks, labelAngle=0)),
            y=alt.Y("known:Q", title="known [%]", scale=alt.Scale(domain=[0, 100])),
            color=alt.Color("what:N", scale=scale, title=None),
        )
    )
    limit = alt.Chart(alt.InlineData(values=[{"known": 100.0 * COMPLETE_SHARE}]))
    rule = limit.mark_rule(color=LINE, strokeDash=[4, 3]).encode(y="known:Q")
    chart: alt.LayerChart = _dressed(bars + rule)
    return chart


def double_mass_chart(
    mass: DoubleMass, system: UnitSystem, *, width_px: int = _PANEL_PX
) -> alt.LayerChart:
    """Draw the double-mass curve of a record and its neighbour; a straight line has no break.

    Parameters
    ----------
    mass : DoubleMass
        The comparison.
    system : UnitSystem
        Units of the reader.
    width_px : int
        Width of the plot [px].

    Returns
    -------
    altair.LayerChart
        The curve, and the straight line through its ends.
    """
    import altair as alt

    unit = "in" if system is UnitSystem.US else "mm"
    size = convert(1.0, "mm", unit)
    rows = [
        {"other": float(a) * size, "own": float(b) * size}
        for a, b in zip(mass.neighbour_mm, mass.own_mm, strict=True)
    ]
    x = alt.X("other:Q", title=f"neighbour, all years so far [{unit}]")
    y = alt.Y("own:Q", title=f"record, all years so far [{unit}]")
    ends = alt.Chart(alt.InlineData(values=[{"other": 0.0, "own": 0.0}, rows[-1]]))
    line = ends.mark_line(color=LINE, strokeDash=[4, 3]).encode(x=x, y=y)
    curve = alt.Chart(alt.InlineData(values=rows), width=width_px, height=230)
    chart: alt.LayerChart = _dressed(
        line + curve.mark_line(color=WATER, point=True).encode(x=x, y=y)
    )
    return chart


def _dressed(chart: Any) -> Any:
    return (
        chart.configure_legend(orient="top", labelFontSize=12)
        .configure_axis(labelFontSize=12, titleFontSize=12)
        .configure_view(stroke=None)
    )
