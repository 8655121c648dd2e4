"""Charts by one code path: interactive in a notebook, static in a page."""

from __future__ import annotations

from functools import cache
from typing import TYPE_CHECKING, Any

import numpy as np
from numpy.typing import NDArray

from riskkit.assessment import Assessment
from riskkit.errors import need_type
from riskkit.quantities.components import Component
from riskkit.quantities.units import UnitSystem, convert
from riskkit.records import FloatArray
from riskkit.records.arguments import need_number
from riskkit.report.section_data import section_of
from riskkit.report.section_geometry import PartState
from riskkit.report.stop_words import has_second_pump
from riskkit.risk.trace import Trace, fine_trace

if TYPE_CHECKING:
    import altair as alt


__all__ = ["level_chart", "level_spec", "to_png", "to_svg"]

# Okabe and Ito's colours, told apart by colour-blind readers; each line also has its own dash.
WATER, STOPPED, RAIN, LINE = "#0072B2", "#D55E00", "#56B4E9", "#444444"
_BEFORE_HOURS, _SHOWN_HOURS = 3.0, 9.0  # around the alarm
_FINE_S = 10.0  # short against a cycle of the pump
_WIDTH, _HEIGHT = 760, 300
_PNG_SCALE = 2.0
_WORKING = "pump working"


def _window(trace: Trace) -> slice:
    """The part of the storm that is worth showing: alarm, heaviest rain and water on the floor."""
    peak = int(trace.rain_mm_h.argmax())
    stopped = np.isfinite(trace.stopped_m)
    alarm = int(stopped.argmax()) if stopped.any() else peak
    wet = np.flatnonzero(stopped & (trace.stopped_m >= 0.0))
    step_s = float(trace.time_s[1] - trace.time_s[0])
    before, after = (int(hours * 3600 / step_s) for hours in (_BEFORE_HOURS, _SHOWN_HOURS))
    first = max(0, min(alarm, peak) - before)
    last = max(alarm + after, peak + before, (int(wet[0]) if wet.size else 0) + before)
    return slice(first, min(last, trace.time_s.size))


def _worth_drawing(level_m: FloatArray, every: int) -> NDArray[np.intp]:
    """Samples that a line needs: every so many, and wherever it turns."""
    rise = np.sign(np.diff(level_m))
    turns = np.flatnonzero(rise[1:] != rise[:-1]) + 1
    return np.unique(np.concatenate([np.arange(0, level_m.size, every), turns]))


def level_chart(
    answer: Assessment,
    system: UnitSystem = UnitSystem.US,
    return_period_yr: float | None = None,
    *,
    width_px: int = _WIDTH,
    height_px: int = _HEIGHT,
) -> alt.VConcatChart:
    """Draw rain and water level against time for the median home in one storm.

    Parameters
    ----------
    answer : Assessment
        The answer.
    system : UnitSystem
        Units of the reader.
    return_period_yr : float, optional
        Which of its storms; that of the first sentence where it is left out [yr].
    width_px : int
        Width of the plot without its axis and the names beside it [px].
    height_px : int
        Height of the plot of levels; drawn small, its words are large in print [px].

    Returns
    -------
    altair.VConcatChart
        Rain above, level below, with the floor, alarm and switch levels marked.

    Raises
    ------
    InputError
        Where the answer holds no such storm.
    """
    need_type(answer, Assessment, "answer", "give what assess(home) returns")
    need_type(system, UnitSystem, "system", "give UnitSystem.US or UnitSystem.METRIC")
    if return_period_yr is None:
        return_period_yr = answer.settings.headline_yr
    need_number(return_period_yr, "years", "give a number, such as 10")
    chart: alt.VConcatChart = _drawing(system, width_px, height_px, _stops(answer)).copy(deep=False)
    chart.datasets = _rows(answer, system, return_period_yr)
    return chart


def level_spec(
    answer: Assessment, system: UnitSystem, return_period_yr: float, *, width_px: int = _WIDTH
) -> dict[str, Any]:
    """Return what `level_chart` draws as plain values, several times faster.

    Parameters
    ----------
    answer : Assessment
        The answer.
    system : UnitSystem
        Units of the reader.
    return_period_yr : float
        Which of its storms [yr].
    width_px : int
        Width of the plot without its axis and the names beside it [px].

    Returns
    -------
    dict
        The same as ``level_chart(…).to_dict()``.

    Raises
    ------
    InputError
        Where the answer holds no such storm.
    """
    return _drawn(system, width_px, _stops(answer)) | {
        "datasets": _rows(answer, system, return_period_yr)
    }


def _rows(
    answer: Assessment, system: UnitSystem, return_period_yr: float
) -> dict[str, list[dict[str, Any]]]:
    """What changes from home to home: rain, levels and marks."""
    storm = answer.storm(return_period_yr)
    stops = _stops(answer)
    every = max(1, round((storm.trace.time_s[1] - storm.trace.time_s[0]) / _FINE_S))
    trace = fine_trace(storm.trace, storm.trace.pit, _FINE_S)
    part = _window(trace)
    length, rate = _units(system)
    hours = trace.time_s[part] / 3600.0
    to_length, to_rate = convert(1.0, "m", length), convert(1.0, "mm/h", rate)
    return {
        "rain": [
            {"hour": float(h), "rain": float(v) * to_rate}
            for h, v in zip(hours[::every], trace.rain_mm_h[part][::every], strict=True)
        ],
        "lines": [
            {"hour": float(hours[i]), "level": float(level[part][i]) * to_length, "what": what}
            for what, level in ((_WORKING, trace.working_m), (stops, trace.stopped_m))
            if what == stops or answer.state.has(Component.PUMP)
            for i in _worth_drawing(level[part], every)
            if np.isfinite(level[part][i])
        ],
        "marks": [
            {
                "level": mark["level_m"] * to_length,
                "name": mark["text"],
                "assumed": mark["state"] == PartState.ASSUMED.value,
            }
            for mark in section_of(answer.home, system, answer.antecedent)["geometry"]["marks"]
            if mark["key"] != "bottom"
        ],
    }


def _units(system: UnitSystem) -> tuple[str, str]:
    return ("in", "in/h") if system is UnitSystem.US else ("cm", "mm/h")


def _stops(answer: Assessment) -> str:
    """What the legend calls the level after the stop."""
    return "both pumps stopped" if has_second_pump(answer.home) else "pump stopped"


@cache
def _drawing(system: UnitSystem, width_px: int, height_px: int, stops: str) -> alt.VConcatChart:
    """The chart without its rows; building it takes longer than all the rest."""
    import altair as alt

    length, rate = _units(system)
    x = alt.X("hour:Q", title="hours from the start of the storm", scale=alt.Scale(nice=False))
    colours = alt.Scale(domain=[_WORKING, stops], range=[WATER, STOPPED])
    top = (
        alt.Chart(alt.NamedData("rain"), height=70, width=width_px)
        .mark_area(color=RAIN, interpolate="step-after")
        .encode(x=x.title(None), y=alt.Y("rain:Q", title=f"rain [{rate}]"))
    )
    level = alt.Y("level:Q", title=f"water above the floor [{length}]")
    curves = (
        alt.Chart(alt.NamedData("lines"), height=height_px, width=width_px)
        .mark_line(interpolate="linear", strokeWidth=2)
        .encode(
            x=x,
            y=level,
            color=alt.Color("what:N", scale=colours, title=None),
            strokeDash=alt.StrokeDash(
                "what:N", scale=alt.Scale(domain=[_WORKING, stops], range=[[1, 0], [6, 3]]),
                title=None,
            ),
        )
    )  # fmt: skip
    marks = alt.NamedData("marks")
    dash = alt.condition(alt.datum.assumed, alt.value([5, 4]), alt.value([1, 0]))
    rules = alt.Chart(marks).mark_rule(color=LINE).encode(y=level, strokeDash=dash)
    names = (
        alt.Chart(marks)
        .mark_text(align="left", dx=6, color=LINE)
        .encode(y=level, text="name:N", x=alt.value(width_px))
    )
    chart: alt.VConcatChart = (
        alt.vconcat(top, curves + rules + names)
        .resolve_scale(x="shared")
        .configure_legend(orient="top", labelFontSize=12)
        .configure_axis(labelFontSize=12, titleFontSize=12)
        .configure_view(stroke=None)
    )
    return chart


@cache
def _drawn(system: UnitSystem, width_px: int, stops: str) -> dict[str, Any]:
    drawn: dict[str, Any] = _drawing(system, width_px, _HEIGHT, stops).to_dict()
    return drawn


def to_svg(chart: alt.Chart | alt.VConcatChart | dict[str, Any], *, fonts: str = "") -> str:
    """Turn a chart into SVG, without a browser and without the network.

    Parameters
    ----------
    chart : altair.Chart, altair.VConcatChart or dict
        The chart, or what it is as Vega-Lite.
    fonts : str
        Families of all its text, the one wanted first; those of the chart when left out.

    Returns
    -------
    str
        An ``<svg>`` element.
    """
    import vl_convert

    spec = chart if isinstance(chart, dict) else chart.to_dict()
    if fonts:
        spec = spec | {"config": spec.get("config", {}) | {"font": fonts}}
    svg: str = vl_convert.vegalite_to_svg(spec)
    return svg


def to_png(svg: str) -> bytes:
    """Turn a picture into pixels, twice as many as it is large, for print and slides.

    Parameters
    ----------
    svg : str
        An ``<svg>`` element, as `to_svg` returns it.

    Returns
    -------
    bytes
        A PNG file.
    """
    import vl_convert

    png: bytes = vl_convert.svg_to_png(svg, scale=_PNG_SCALE)
    return png
