"""A still cut through the basement, to scale: house wall, ground, drain, gravel, pit and pump.

Metres are relative to the basement floor, x = 0 in the middle of the pit. The same parts, colours
and marks as the moving cut of the widgets.
"""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass, field
from html import escape
from typing import TYPE_CHECKING

from riskkit.risk.draws import middle_home
from riskkit.units import UnitSystem, convert

if TYPE_CHECKING:
    from riskkit.homes import Homes
    from riskkit.site import Site

__all__ = ["cut_svg", "spread_labels"]

WATER, ALARM, INK = "#0072B2", "#D55E00", "#1d2b33"
_WALL_M, _BESIDE_M, _DRAIN_M = 0.25, 0.5, 0.1
_SCALE = 112.0  # pixels to the metre
_LEFT, _RIGHT = 0.95, 1.05  # of ground and of floor shown beside wall and pit [m]
_MARGIN = 146.0  # for labels at the right [px]
_TEXT = 'font-family="Libertinus Serif, DejaVu Sans, Verdana, sans-serif" font-size="13"'
# Under each pattern lies its plain colour, so that no seams show between the tiles
_GROUNDS = {"earth": "#e3d9c8", "fill": "#efe8dc", "gravel": "#d9d3c6", "concrete": "#cfd2d1"}
_PATTERNS = """
<pattern id="cut-earth" width="22" height="22" patternUnits="userSpaceOnUse">
<circle cx="4" cy="5" r=".9" fill="#b8a98c"/>
<circle cx="15" cy="9" r=".7" fill="#b8a98c"/><circle cx="9" cy="17" r=".8" fill="#b8a98c"/>
</pattern>
<pattern id="cut-fill" width="18" height="18" patternUnits="userSpaceOnUse">
<path d="M3 5l3 -2M12 13l3 -2" stroke="#c9bda6" fill="none"/></pattern>
<pattern id="cut-gravel" width="13" height="13" patternUnits="userSpaceOnUse">
<g fill="#fff" stroke="#8d8677" stroke-width=".8">
<ellipse cx="3.5" cy="3.5" rx="2.6" ry="2"/><ellipse cx="10" cy="4.5" rx="2.1" ry="2.4"/>
<ellipse cx="6.5" cy="10" rx="2.8" ry="2"/></g></pattern>
<pattern id="cut-concrete" width="26" height="26" patternUnits="userSpaceOnUse">
<circle cx="5" cy="6" r=".8" fill="#9fa5a5"/>
<circle cx="18" cy="4" r="1" fill="#9fa5a5"/><circle cx="12" cy="15" r=".8" fill="#9fa5a5"/>
<circle cx="22" cy="21" r=".9" fill="#9fa5a5"/></pattern>
"""


@dataclass
class _Canvas:
    """Where drawing in metres becomes SVG in pixels."""

    left_m: float
    top_m: float
    parts: list[str] = field(default_factory=list)

    def x(self, metres: float) -> float:
        return round((metres - self.left_m) * _SCALE, 1)

    def y(self, metres: float) -> float:
        return round((self.top_m - metres) * _SCALE, 1)

    def box(self, x1: float, high: float, x2: float, low: float, style: str) -> None:
        width, height = self.x(x2) - self.x(x1), self.y(low) - self.y(high)
        self._put(
            f'<rect x="{self.x(x1)}" y="{self.y(high)}" width="{max(width, 0):.1f}" '
            f'height="{max(height, 0):.1f}"',
            style,
        )

    def shape(self, points: Sequence[tuple[float, float]], style: str) -> None:
        text = " ".join(f"{self.x(x)},{self.y(y)}" for x, y in points)
        self._put(f'<polygon points="{text}"', style)

    def _put(self, shape: str, style: str) -> None:
        for name, colour in _GROUNDS.items():
            if f"#cut-{name}" in style:
                self.parts.append(f'{shape} fill="{colour}"/>')
        self.parts.append(f"{shape} {style}/>")

    def line(self, points: Sequence[tuple[float, float]], style: str) -> None:
        text = " ".join(f"{self.x(x)},{self.y(y)}" for x, y in points)
        self.parts.append(f'<polyline points="{text}" fill="none" {style}/>')

    def text(self, x_px: float, y_px: float, words: str, anchor: str = "start") -> None:
        halo = 'stroke="#fff" stroke-width="3.5" stroke-linejoin="round" paint-order="stroke"'
        self.parts.append(
            f'<text x="{x_px:.1f}" y="{y_px:.1f}" text-anchor="{anchor}" fill="{INK}" {halo} '
            f"{_TEXT}>{escape(words)}</text>"
        )


@dataclass(frozen=True)
class _Measures:
    """What is drawn [m]."""

    ground: float
    depth: float
    width: float
    bottom_width: float
    on: float
    off: float
    alarm: float
    drain: float
    gravel: float
    slab: float
    outlet: float

    def half_at(self, level: float) -> float:
        share = min(max(1 + level / self.depth, 0.0), 1.0)
        return (self.bottom_width + share * (self.width - self.bottom_width)) / 2


def _measures(home: Homes) -> _Measures:
    def value(name: str) -> float:
        return float(home[name][0])

    width, bottom = value("pit_length_m"), value("pit_bottom_diameter_m")
    if not math.isfinite(width):
        width = value("pit_diameter_m")
    return _Measures(
        ground=value("depth_below_ground_m"),
        depth=value("pit_depth_m"),
        width=width,
        bottom_width=bottom if math.isfinite(bottom) else width,
        on=-value("on_depth_m"),
        off=-value("off_depth_m"),
        alarm=-value("alarm_depth_m"),
        drain=-value("drain_depth_m"),
        gravel=value("gravel_thickness_m"),
        slab=value("slab_thickness_m"),
        outlet=value("outlet_height_m"),
    )


def spread_labels(wanted: Sequence[float], gap: float) -> list[float]:
    """Place labels as near as can be to where they are wanted, none closer than a gap.

    Parameters
    ----------
    wanted : sequence of float
        Places wanted [any].
    gap : float
        Least distance, in the same unit [any].

    Returns
    -------
    list of float
        A place for each, in their order [any].

    Examples
    --------
    >>> spread_labels([10, 12, 40], 10)
    [6.0, 16.0, 40.0]
    """
    order = sorted(range(len(wanted)), key=lambda i: wanted[i])
    groups: list[tuple[float, list[int]]] = []  # middle of a heap of labels that touch
    for i in order:
        members = [i]
        middle = float(wanted[i])
        while groups and groups[-1][0] + gap * (len(groups[-1][1]) + len(members)) / 2 > middle:
            members = groups.pop()[1] + members
            middle = sum(wanted[j] for j in members) / len(members)
        groups.append((middle, members))
    places = [0.0] * len(wanted)
    for middle, members in groups:
        for rank, i in enumerate(members):
            places[i] = middle + gap * (rank - (len(members) - 1) / 2)
    return places


def cut_svg(site: Site, system: UnitSystem) -> str:
    """Draw the cut of the middle of what a home may be, with the levels of its pit.

    Parameters
    ----------
    site : Site
        The home.
    system : UnitSystem
        Units of the reader.

    Returns
    -------
    str
        An ``<svg>`` element with a title, without any text of the home file.
    """
    m = _measures(middle_home(site))
    inner = -m.width / 2 - _BESIDE_M
    outer = inner - _WALL_M
    top = max(m.outlet, m.ground) + 0.25
    canvas = _Canvas(outer - _LEFT, top)
    right = m.width / 2 + _RIGHT
    bottom = -m.depth - 0.22
    _draw_ground(canvas, m, outer, inner, right, bottom)
    _draw_house(canvas, m, outer, inner, right)
    _draw_pit(canvas, m, outer, right)
    _draw_labels(canvas, m, outer, inner, right, system)
    width = canvas.x(right) + _MARGIN
    height = canvas.y(bottom)
    title = (
        "Cut through the basement wall, the floor and the pit: the levels at which the pump starts "
        "and stops and the alarm sounds, below the floor"
    )
    frame = f'<rect width="{canvas.x(right)}" height="{height}" fill="none" stroke="#9aa3a7"/>'
    clip = f'<clipPath id="cut-view"><rect width="{canvas.x(right)}" height="{height}"/></clipPath>'
    picture = [part for part in canvas.parts if not part.startswith(("<text", "<path"))]
    words = [part for part in canvas.parts if part.startswith(("<text", "<path"))]
    return "\n".join(
        [
            f'<svg xmlns="http://www.w3.org/2000/svg" viewBox="0 0 {width:.0f} {height:.0f}" '
            f'width="{width:.0f}" height="{height:.0f}" role="img" aria-labelledby="cut-title">',
            f'<title id="cut-title">{title}</title><defs>{_PATTERNS}{clip}</defs>',
            f'<rect width="{width:.0f}" height="{height:.0f}" fill="#fff"/>',
            '<g clip-path="url(#cut-view)">',
            *picture,
            "</g>",
            frame,
            *words,
            "</svg>",
        ]
    )


def _draw_ground(
    canvas: _Canvas, m: _Measures, outer: float, inner: float, right: float, bottom: float
) -> None:
    left = canvas.left_m
    canvas.box(left, canvas.top_m, outer, m.ground, 'fill="#eef4f8"')
    canvas.box(inner, canvas.top_m, right, 0, 'fill="#fcfbf8"')
    canvas.box(left, m.ground, outer, bottom, 'fill="url(#cut-earth)"')
    canvas.box(outer - 0.1, -m.slab, right, bottom, 'fill="url(#cut-earth)"')
    dug = min(0.9, 0.35 + 0.35 * m.ground)
    low = min(m.drain, -m.slab) - 0.05
    fill = [(outer, m.ground), (outer - dug, m.ground), (outer - 0.42, low), (outer, low)]
    canvas.shape(fill, 'fill="url(#cut-fill)"')
    canvas.line([(left, m.ground), (outer, m.ground)], 'stroke="#5d6b3a" stroke-width="3"')


def _draw_house(canvas: _Canvas, m: _Measures, outer: float, inner: float, right: float) -> None:
    concrete = f'fill="url(#cut-concrete)" stroke="{INK}" stroke-width="1.1"'
    sill = max(m.ground + 0.2, 0.4)
    canvas.box(inner, -m.slab, right, -m.slab - m.gravel, 'fill="url(#cut-gravel)"')
    canvas.box(outer - 0.12, -m.slab, inner + 0.12, -m.slab - 0.2, concrete)
    canvas.box(outer, sill, inner, -m.slab, concrete)
    wood = f'fill="#f0e6d6" stroke="{INK}" stroke-width="1.1"'
    canvas.box(outer + 0.03, canvas.top_m + 0.1, inner, sill, wood)
    canvas.box(inner, 0, right, -m.slab, concrete)


def _draw_pit(canvas: _Canvas, m: _Measures, outer: float, right: float) -> None:
    drain = outer - 0.24
    reach = m.half_at(m.drain + _DRAIN_M / 2)
    pipe = f'fill="#fff" stroke="{INK}" stroke-width="1"'
    canvas.box(drain, m.drain + _DRAIN_M, -reach, m.drain, pipe)
    canvas.parts.append(
        f'<circle cx="{canvas.x(drain)}" cy="{canvas.y(m.drain + _DRAIN_M / 2)}" '
        f'r="{_DRAIN_M / 2 * _SCALE:.1f}" fill="#fff" stroke="{INK}" stroke-width="1.4" '
        'stroke-dasharray="3 1.6"/>'
    )
    half, base = m.width / 2, m.bottom_width / 2
    liner = [(-half, 0.0), (-base, -m.depth), (base, -m.depth), (half, 0.0)]
    canvas.shape(liner, 'fill="#fff"')
    for level, share in ((m.on, 0.3), (m.off, 0.45)):
        at = m.half_at(level)
        water = [(-at, level), (-base, -m.depth), (base, -m.depth), (at, level)]
        canvas.shape(water, f'fill="{WATER}" fill-opacity="{share}"')
    height = min(0.3, 0.55 * m.depth, m.depth + m.off + 0.12)
    low, wide = -m.depth + 0.03, min(0.22, m.bottom_width * 0.5)
    x = -base + wide / 2 + 0.05 * m.bottom_width
    way = [(x, low + height), (x, m.outlet)]
    if m.outlet > m.ground + 0.2:
        out = outer - 0.22
        way += [(out, m.outlet), (out, m.ground + 0.14), (out - 0.4, m.ground + 0.07)]
    else:
        way += [(canvas.left_m - 0.1, m.outlet)]
    canvas.line(way, f'stroke="{INK}" stroke-width="8" stroke-linejoin="round"')
    canvas.line(way, 'stroke="#fff" stroke-width="5.4" stroke-linejoin="round"')
    canvas.line(way, f'stroke="{WATER}" stroke-opacity=".3" stroke-width="5.4"')
    body = f'rx="3" fill="#f4f4f2" stroke="{INK}" stroke-width="1.6"'
    canvas.box(x - wide / 2, low + height, x + wide / 2, low, body)
    for level, fill in ((m.alarm, "#fff"), (m.off, "#F0E442")):
        # one float calls the alarm, the other starts the pump
        at = m.half_at(level) * 0.66
        stroke = ALARM if level == m.alarm else INK
        canvas.line([(at, 0.0), (at, level)], f'stroke="{INK}" stroke-width="1"')
        canvas.parts.append(
            f'<circle cx="{canvas.x(at)}" cy="{canvas.y(level - 0.02)}" r="4.4" fill="{fill}" '
            f'stroke="{stroke}" stroke-width="1.8"/>'
        )
    canvas.line(liner, f'stroke="{INK}" stroke-width="2"')
    marks = ((m.alarm, ALARM, "6 3"), (m.on, WATER, "2 3"), (m.off, WATER, "2 3"))
    for level, colour, dash in marks:
        ends = [(-m.half_at(level), level), (right, level)]
        canvas.line(ends, f'stroke="{colour}" stroke-width="1.5" stroke-dasharray="{dash}"')


def _draw_labels(
    canvas: _Canvas,
    m: _Measures,
    outer: float,
    inner: float,
    right: float,
    system: UnitSystem,
) -> None:
    unit = "in" if system is UnitSystem.US else "cm"

    def below(level: float) -> str:
        return f"{convert(-level, 'm', unit):.0f} {unit}"

    edge = canvas.x(right)
    marks = [
        (0.0, "basement floor"),
        (m.alarm, f"alarm, {below(m.alarm)}"),
        (m.on, f"pump starts, {below(m.on)}"),
        (m.off, f"pump stops, {below(m.off)}"),
        (-m.depth, f"pit bottom, {below(-m.depth)}"),
    ]
    places = spread_labels([canvas.y(level) for level, _ in marks], 15.0)
    for (level, words), place in zip(marks, places, strict=True):
        canvas.parts.append(
            f'<path d="M{edge} {canvas.y(level)}L{edge + 12:.1f} {place:.1f}" fill="none" '
            f'stroke="{INK}" stroke-width=".8"/>'
        )
        canvas.text(edge + 15, place + 4, words)
    middle = (canvas.x(inner) + edge) / 2
    canvas.text(middle + 30, canvas.y(max(m.ground, 1.0) * 0.62), "basement", "middle")
    canvas.text(6, canvas.y(m.ground) + 17, "ground")
    canvas.text(6, canvas.y(m.drain) + 24, "drain around")
    canvas.text(6, canvas.y(m.drain) + 39, "the footing")
    canvas.text(canvas.x(m.width / 2) + 14, canvas.y((m.alarm + m.on) / 2) + 4, "gravel")
    canvas.text(canvas.x(-m.width / 2) + 30, canvas.y(m.outlet) + 18, "pump pipe")
