"""Charts of a rain record: the curve through its maxima, and how complete its years are.

Each is a Vega-Lite specification of plain values: `riskkit.report.charts.to_svg` draws it, and
``altair.Chart.from_dict`` shows it in a notebook. Building them by the library would take seconds,
most of it to import it.
"""

from __future__ import annotations

from typing import Any

import numpy as np

from riskkit.errors import RangeError
from riskkit.quantities.units import UnitSystem, convert
from riskkit.rainfall.analysis import Maxima, RainAnalysis
from riskkit.rainfall.homogeneity import DoubleMass
from riskkit.rainfall.plotting import plotting_position
from riskkit.rainfall.quality import COMPLETE_SHARE
from riskkit.records import DepthDurationFrequency, FloatArray, IntArray
from riskkit.report.charts import LINE, RAIN, STOPPED, WATER
from riskkit.report.number_words import hours_words

__all__ = ["completeness_spec", "double_mass_spec", "frequency_spec", "shown_durations"]

Spec = dict[str, Any]

_WANTED_H = (1.0, 6.0, 24.0, 72.0)
_PANEL_PX, _WIDE_PX = 330, 740
_SHOWN_YR = (0.3, 150.0)  # return periods on the axis
_MEASURED, _FITTED, _OFFICIAL = "largest of each year", "fitted, with its limits", "official table"
_LOOK = {
    "legend": {"orient": "top", "labelFontSize": 12},
    "axis": {"labelFontSize": 12, "titleFontSize": 12},
    "view": {"stroke": None},
}


def _axis(field: str, title: str, **more: Any) -> Spec:
    return {"field": field, "type": "quantitative", "title": title, **more}


def _colour(names: dict[str, str]) -> Spec:
    """Colour by the column ``what``, with a legend that has no title."""
    scale = {"domain": list(names), "range": list(names.values())}
    return {"field": "what", "type": "nominal", "scale": scale, "title": None}


def _layer(rows: list[Spec], mark: Spec, **encoding: Spec) -> Spec:
    return {"data": {"values": rows}, "mark": mark, "encoding": encoding}


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
    own = _fitted(found)[1].duration_h.tolist()
    wanted = [hours for hours in _WANTED_H if hours in own]
    return wanted if len(wanted) > 1 else own[:4]


def _fitted(found: RainAnalysis) -> tuple[DepthDurationFrequency, Maxima]:
    if found.own is None or found.maxima is None:
        raise RangeError("chart of depths", "the record is too short for any")
    return found.own, found.maxima


def frequency_spec(
    found: RainAnalysis, system: UnitSystem, *, width_px: int = _PANEL_PX
) -> dict[str, Any]:
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
    dict
        Vega-Lite; a panel per duration.
    """
    panels = [_panel(found, hours, system, width_px) for hours in shown_durations(found)]
    rows = [{"hconcat": panels[i : i + 2]} for i in range(0, len(panels), 2)]
    return {"vconcat": rows, "config": _LOOK}


def _panel(found: RainAnalysis, hours: float, system: UnitSystem, width_px: int) -> Spec:
    unit = "in" if system is UnitSystem.US else "mm"
    size = convert(1.0, "mm", unit)
    names = {_MEASURED: LINE, _FITTED: WATER}
    if found.official is not None:
        names[_OFFICIAL] = STOPPED
    colour = _colour(names)
    x = _axis(
        "years",
        "return period [years]",
        axis={"values": [1, 2, 5, 10, 25, 50, 100]},
        scale={"type": "log", "domain": list(_SHOWN_YR)},
    )
    title = f"rain in {hours_words(hours)} [{unit}]"
    y = _axis("depth", title)
    own, measured = _fitted(found)
    row = own.duration_h.tolist().index(hours)
    curve = _points(own.return_period_yr, own.depth_mm[row] * size, _FITTED)
    layers = []
    if own.lower_mm is not None and own.upper_mm is not None:
        limits = zip(own.lower_mm[row] * size, own.upper_mm[row] * size, strict=True)
        band = [
            point | {"low": float(low), "high": float(high)}
            for point, (low, high) in zip(curve, limits, strict=True)
        ]
        area = {"type": "area", "opacity": 0.35, "color": RAIN}
        layers.append(_layer(band, area, x=x, y=_axis("low", title), y2={"field": "high"}))
    layers.append(_layer(curve, {"type": "line"}, x=x, y=y, color=colour))
    maxima = np.sort(measured.depth_mm[measured.duration_h.tolist().index(hours)])
    years = -1.0 / np.log(plotting_position(maxima.size))
    dots = _points(years, maxima * size, _MEASURED)
    circle = {"type": "circle", "size": 22, "opacity": 0.8}
    layers.append(_layer(dots, circle, x=x, y=y, color=colour))
    if found.official is not None:
        same = np.flatnonzero(np.isclose(found.official.duration_h, hours, rtol=0.005))
        for place in same[:1]:
            depth = found.official.depth_mm[place] * size
            table = _points(found.official.return_period_yr, depth, _OFFICIAL)
            diamond = {"type": "point", "shape": "diamond", "size": 55}
            layers.append(_layer(table, diamond, x=x, y=y, color=colour))
    return {"layer": layers, "width": width_px, "height": 230}


def _points(years: FloatArray, depth: FloatArray, what: str) -> list[Spec]:
    """Rows of a chart, as far as its axis goes."""
    return [
        {"years": float(t), "depth": float(d), "what": what}
        for t, d in zip(years, depth, strict=True)
        if _SHOWN_YR[0] <= t <= _SHOWN_YR[1]
    ]


def completeness_spec(
    years: IntArray, missing_share: FloatArray, *, width_px: int = _WIDE_PX
) -> dict[str, Any]:
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
    dict
        Vega-Lite; a bar per year.
    """
    counts, left_out = "counts", "does not count"
    rows = [
        {
            "year": int(y),
            "known": 100.0 * (1.0 - float(m)),
            "what": counts if 1.0 - m >= COMPLETE_SHARE - 1e-12 else left_out,
        }
        for y, m in zip(years, missing_share, strict=True)
    ]
    ticks = [int(y) for y in years if y % 10 == 0 or len(years) <= 12]
    x = {
        "field": "year",
        "type": "ordinal",
        "title": "year",
        "axis": {"values": ticks, "labelAngle": 0},
    }
    y = _axis("known", "known [%]", scale={"domain": [0, 100]})
    colour = _colour({counts: WATER, left_out: STOPPED})
    rule = {"type": "rule", "color": LINE, "strokeDash": [4, 3]}
    return {
        "layer": [
            _layer(rows, {"type": "bar"}, x=x, y=y, color=colour),
            _layer([{"known": 100.0 * COMPLETE_SHARE}], rule, y=y),
        ],
        "width": width_px,
        "height": 110,
        "config": _LOOK,
    }


def double_mass_spec(
    mass: DoubleMass, system: UnitSystem, *, width_px: int = _PANEL_PX
) -> dict[str, Any]:
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
    dict
        Vega-Lite; the curve, and the straight line through its ends.
    """
    unit = "in" if system is UnitSystem.US else "mm"
    size = convert(1.0, "mm", unit)
    rows = [
        {"other": float(a) * size, "own": float(b) * size}
        for a, b in zip(mass.neighbour_mm, mass.own_mm, strict=True)
    ]
    x = _axis("other", f"neighbour, all years so far [{unit}]")
    y = _axis("own", f"record, all years so far [{unit}]")
    straight = {"type": "line", "color": LINE, "strokeDash": [4, 3]}
    curve = {"type": "line", "color": WATER, "point": {"color": WATER}}
    return {
        "layer": [
            _layer([{"other": 0.0, "own": 0.0}, rows[-1]], straight, x=x, y=y),
            _layer(rows, curve, x=x, y=y),
        ],
        "width": width_px,
        "height": 230,
        "config": _LOOK,
    }
