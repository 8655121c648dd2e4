"""Colours and patterns of the still section; those of the moving one: ``section_drawing.js``.

Colours are Okabe and Ito's, which colour-blind readers tell apart.
"""

from __future__ import annotations

__all__ = [
    "ALARM",
    "DRAWING_FONTS",
    "EDGE",
    "GROUNDS",
    "INK",
    "LINES",
    "PAINTS",
    "PATTERNS",
    "WATER",
]

# the first ones go with the sheets as PDF, the others stand in on pages
DRAWING_FONTS = "Libertinus Serif, DejaVu Sans, Verdana, sans-serif"
WATER, ALARM, INK = "#0072B2", "#D55E00", "#1d2b33"
# Under each pattern lies its plain colour, so that no seams show between the tiles
GROUNDS = {"earth": "#e3d9c8", "fill": "#efe8dc", "gravel": "#d9d3c6", "concrete": "#cfd2d1"}
PATTERNS = """
<pattern id="section-earth" width="22" height="22" patternUnits="userSpaceOnUse">
<circle cx="4" cy="5" r=".9" fill="#b8a98c"/>
<circle cx="15" cy="9" r=".7" fill="#b8a98c"/><circle cx="9" cy="17" r=".8" fill="#b8a98c"/>
</pattern>
<pattern id="section-fill" width="18" height="18" patternUnits="userSpaceOnUse">
<path d="M3 5l3 -2M12 13l3 -2" stroke="#c9bda6" fill="none"/></pattern>
<pattern id="section-gravel" width="13" height="13" patternUnits="userSpaceOnUse">
<g fill="#fff" stroke="#8d8677" stroke-width=".8">
<ellipse cx="3.5" cy="3.5" rx="2.6" ry="2"/><ellipse cx="10" cy="4.5" rx="2.1" ry="2.4"/>
<ellipse cx="6.5" cy="10" rx="2.8" ry="2"/></g></pattern>
<pattern id="section-concrete" width="26" height="26" patternUnits="userSpaceOnUse">
<circle cx="5" cy="6" r=".8" fill="#9fa5a5"/>
<circle cx="18" cy="4" r="1" fill="#9fa5a5"/><circle cx="12" cy="15" r=".8" fill="#9fa5a5"/>
<circle cx="22" cy="21" r=".9" fill="#9fa5a5"/></pattern>
"""


EDGE = f'stroke="{INK}" stroke-width="1.1"'
PAINTS = {
    "sky": 'fill="#eef4f8"',
    "room": 'fill="#fcfbf8"',
    "earth": 'fill="url(#section-earth)"',
    "fill": 'fill="url(#section-fill)"',
    "gravel": 'fill="url(#section-gravel)"',
    "concrete": f'fill="url(#section-concrete)" {EDGE}',
    "wood": f'fill="#f0e6d6" {EDGE}',
    "ground-water": f'fill="{WATER}" fill-opacity=".1"',
    "drain": f'fill="#fff" {EDGE}',
    "pit": 'fill="#fff"',
    "roof": f'fill="#b9a596" {EDGE}',
    "gutter": f'fill="#dfe5e8" {EDGE}',
    "person": 'fill="#d5dce0"',
    "second-pump": f'fill="#f4f4f2" {EDGE}',
    "battery": f'fill="#dfe5e8" {EDGE}',
    "generator": f'fill="#dfe5e8" {EDGE}',
    "floor-drain": f'fill="#fff" {EDGE}',
}
LINES = {
    "grass": 'stroke="#5d6b3a" stroke-width="3"',
    "water-table": f'stroke="{WATER}" stroke-width="1.5"',
    "liner": f'stroke="{INK}" stroke-width="2"',
    "joint-line": f'stroke="{INK}" stroke-width="2.5"',
    "cord": 'stroke="#5d6e78" stroke-width="1"',
    "supply": f'stroke="{WATER}" stroke-width="2"',
    "shelf": f'stroke="{INK}" stroke-width="1.5"',
    "grate": f'stroke="{INK}" stroke-width="2.5" stroke-dasharray="3 2"',
}
