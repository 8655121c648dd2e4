"""Chart of a log of the pump as hydrologists draw it: rain hanging from above, inflow below."""

from __future__ import annotations

from typing import Any

import numpy as np

from riskkit.gauge.answer import LogAnalysis
from riskkit.gauge.cycles import in_spans
from riskkit.quantities.units import UnitSystem, convert
from riskkit.records import FloatArray
from riskkit.report.charts import LINE, RAIN, STOPPED, WATER

__all__ = ["LOG_CHART_WORDS", "log_spec"]

LOG_CHART_WORDS = (
    "Top: the whole log by the day. Bottom: the ten days round its greatest inflow, by the hour. "
    "Rain and melt hang from above; the full line is the inflow that the log tells, the broken one "
    "what the fitted response makes of the rain."
)
_DAY_S, _HOUR_S = 86400.0, 3600.0
_NEAR_D = 5.0
_WIDTH, _HEIGHT = 740, 240
_LOGGED, _TOLD = "inflow by the log", "fitted to the rain"
_ROOM = 1.7  # of the greatest value, so that rain and inflow do not meet
_LEAST_KNOWN = 0.5
_LOOK = {
    "legend": {"orient": "top", "labelFontSize": 12},
    "axis": {"labelFontSize": 12, "titleFontSize": 12},
    "view": {"stroke": None},
}
Spec = dict[str, Any]


def log_spec(found: LogAnalysis, system: UnitSystem, *, width_px: int = _WIDTH) -> dict[str, Any]:
    """Draw a log: the whole of it by the day, and ten days by the hour.

    Parameters
    ----------
    found : LogAnalysis
        What the log tells.
    system : UnitSystem
        Units of the reader.
    width_px : int
        Width of each plot without its axes [px].

    Returns
    -------
    dict
        Vega-Lite.
    """
    bins = found.bins
    begin, end = float(bins.begin_s[0]), float(bins.end_s[-1])
    first, last = np.floor(begin / _DAY_S) * _DAY_S, np.ceil(end / _DAY_S) * _DAY_S
    peak = float(bins.begin_s[int(np.argmax(bins.flow_m3_s))])
    near = max(first, peak - _NEAR_D * _DAY_S), min(last, peak + _NEAR_D * _DAY_S)
    plots = [
        _plot(found, system, width_px, np.arange(first, last + 1.0, _DAY_S)),
        _plot(found, system, width_px, np.arange(near[0], near[1] + 1.0, _HOUR_S)),
    ]
    return {"vconcat": plots, "config": _LOOK}


def _plot(found: LogAnalysis, system: UnitSystem, width_px: int, edges: FloatArray) -> Spec:
    step_s = float(edges[1] - edges[0])
    a_day = step_s == _DAY_S
    depth, flow = ("in", "gpm") if system is UnitSystem.US else ("mm", "L/min")
    inflow, known = in_spans(found.bins, edges)
    to_flow = convert(1.0, "m3/s", flow)
    times = [str(np.datetime64(round(t), "s")) for t in edges]
    with np.errstate(invalid="ignore", divide="ignore"):
        logged = np.where(known >= _LEAST_KNOWN * step_s, inflow / known * to_flow, np.nan)
    lines = _line(times, logged, _LOGGED)
    most = float(np.nanmax(logged)) if np.isfinite(logged).any() else 1.0
    if found.response is not None:
        told = found.response.parts_m3(edges[:-1], edges[1:]).sum(axis=0) / step_s * to_flow
        lines += _line(times, told, _TOLD)
        most = max(most, float(told.max()))
    axis: Spec = {"grid": False}
    if not a_day:
        axis |= {"format": "%b %d", "tickCount": {"interval": "day", "step": 1}}
    x = {"field": "time", "type": "temporal", "title": None, "axis": axis}
    names = {"domain": [_LOGGED, _TOLD], "range": [WATER, STOPPED]}
    dashes = {"domain": [_LOGGED, _TOLD], "range": [[1, 0], [5, 3]]}
    layers: list[Spec] = [
        {
            "data": {"values": lines},
            "mark": {"type": "line", "interpolate": "step-after", "strokeWidth": 1.5},
            "encoding": {
                "x": x,
                "y": {
                    "field": "flow", "type": "quantitative", "title": f"inflow [{flow}]",
                    "scale": {"domain": [0, max(most * _ROOM, 1e-9)], "nice": False},
                    "axis": {"grid": False},
                },
                "color": {"field": "what", "type": "nominal", "scale": names, "title": None},
                "strokeDash": {"field": "what", "type": "nominal", "scale": dashes, "title": None},
                "detail": {"field": "run", "type": "nominal"},
            },
        }
    ]  # fmt: skip
    if found.water is not None:
        fell = found.water.between(edges[:-1], edges[1:]) * 1e3 * convert(1.0, "mm", depth)
        top = float(fell.max())
        rain = [
            {"time": times[i], "end": times[i + 1], "rain": float(fell[i]), "zero": 0.0}
            for i in np.flatnonzero(fell > 0)
        ]
        per = "d" if a_day else "h"
        layers.insert(
            0,
            {
                "data": {"values": rain},
                "mark": {"type": "rect", "color": RAIN},
                "encoding": {
                    "x": x,
                    "x2": {"field": "end"},
                    "y": {
                        "field": "rain", "type": "quantitative",
                        "title": f"rain and melt [{depth}/{per}]",
                        "scale": {"domain": [max(top * 2.0 * _ROOM, 1e-9), 0], "nice": False},
                        "axis": {"orient": "right", "grid": False, "titleColor": LINE},
                    },
                    "y2": {"field": "zero"},
                },
            },
        )  # fmt: skip
    return {
        "width": width_px,
        "height": _HEIGHT,
        "layer": layers,
        "resolve": {"scale": {"y": "independent"}},
    }


def _line(times: list[str], values: FloatArray, what: str) -> list[Spec]:
    """Points of a line; each run between gaps is a line of its own."""
    run, rows = 0, []
    for i, value in enumerate(values):
        if not np.isfinite(value):
            run += 1
            continue
        rows.append({"time": times[i], "flow": float(value), "what": what, "run": f"{what} {run}"})
    return rows
