"""A still section through the basement, to scale: house wall, ground, drain, gravel, pit and pump.

The parts stand where `riskkit.report.section_geometry` puts them, as in the moving section; here
are their colours, and the labels around them.
"""

from __future__ import annotations

from collections.abc import Callable, Mapping, Sequence
from dataclasses import dataclass, field
from html import escape
from typing import TYPE_CHECKING, Any

from riskkit.quantities.units import UnitSystem
from riskkit.report.section_data import outside_words, section_of
from riskkit.report.section_geometry import PartState, beside_water
from riskkit.report.section_house import PERSON_M
from riskkit.report.section_paints import (
    ALARM,
    DRAWING_FONTS,
    EDGE,
    GROUNDS,
    INK,
    LINES,
    PAINTS,
    PATTERNS,
    WATER,
)

if TYPE_CHECKING:
    from riskkit.antecedent.water_table import AntecedentGround
    from riskkit.home.home import Home

__all__ = ["section_svg", "spread_labels"]

_SCALE = 112.0  # pixels to the metre
_LEFT, _RIGHT = 1.4, 1.05  # of ground and of floor shown beside wall and pit [m]
_LEFT_GENERATOR = 2.9  # where a generator stands there too [m]
_PER_LETTER, _BEFORE, _BELOW = 7.1, 22.0, 16.0  # for labels at the right [px]
_TEXT = f'font-family="{DRAWING_FONTS}" font-size="13"'
_DASH, _SHORT = "5 4", "2.5 2"  # of what is assumed
_MARKS = {"alarm": ALARM, "second_on": WATER, "on": WATER, "off": WATER}
_BELL = "M-7 6c3 -2 2 -5 3 -8a4 4 0 0 1 8 0c1 3 0 6 3 8zM-2.5 8.5h5"
_Point = Sequence[float]


@dataclass
class _Canvas:
    """Where drawing in metres becomes SVG in pixels."""

    left_m: float
    top_m: float
    right_m: float
    bottom_m: float
    parts: list[str] = field(default_factory=list)
    words: list[str] = field(default_factory=list)

    def x(self, metres: float) -> float:
        return round((self._within(metres, self.left_m, self.right_m) - self.left_m) * _SCALE, 2)

    def y(self, metres: float) -> float:
        return round((self.top_m - self._within(metres, self.bottom_m, self.top_m)) * _SCALE, 2)

    @staticmethod
    def _within(metres: float, low: float, high: float) -> float:
        return min(max(metres, low - 1.0), high + 1.0)  # the rest is clipped away

    def _points(self, points: Sequence[_Point]) -> str:
        return " ".join(f"{self.x(x)},{self.y(y)}" for x, y in points)

    def shape(self, points: Sequence[_Point], style: str, more: str = "") -> None:
        text = f'<polygon points="{self._points(points)}"'
        for name, colour in GROUNDS.items():
            if f"#section-{name}" in style:
                self.parts.append(f'{text} fill="{colour}"/>')
        self.parts.append(f"{text} {style}{more}/>")

    def box(self, x1: float, high: float, x2: float, low: float, style: str) -> None:
        self.shape([(x1, high), (x2, high), (x2, low), (x1, low)], style)

    def line(self, points: Sequence[_Point], style: str, more: str = "") -> None:
        self.parts.append(f'<polyline points="{self._points(points)}" fill="none" {style}{more}/>')

    def circle(self, x: float, y: float, r_px: float, style: str) -> None:
        self.parts.append(f'<circle cx="{self.x(x)}" cy="{self.y(y)}" r="{r_px:.1f}" {style}/>')

    def text(self, x_px: float, y_px: float, words: str, anchor: str = "start") -> None:
        halo = 'stroke="#fff" stroke-width="3.5" stroke-linejoin="round" paint-order="stroke"'
        self.words.append(
            f'<text x="{x_px:.1f}" y="{y_px:.1f}" text-anchor="{anchor}" fill="{INK}" {halo} '
            f"{_TEXT}>{escape(words)}</text>"
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


def section_svg(
    home: Home,
    system: UnitSystem,
    before: AntecedentGround | None = None,
    beside_m: float | None = None,
) -> str:
    """Draw the section of the home that every picture shows, with the levels of its pit.

    Parameters
    ----------
    home : Home
        The home.
    system : UnitSystem
        Units of the reader.
    before : AntecedentGround, optional
        Water table before large storms, where the days of a record tell it.
    beside_m : float, optional
        How high water stands in the fill beside the wall at most, relative to the floor; none is
        drawn where it is left out [m].

    Returns
    -------
    str
        An ``<svg>`` element with a title, without any text of the home file.
    """
    section = section_of(home, system, before)
    geometry, depth = section["geometry"], section["pit"]["depth_m"]
    canvas = _Canvas(
        left_m=geometry["outer_m"]
        - (_LEFT_GENERATOR if "generator" in geometry["named"] else _LEFT),
        top_m=max(section["outlet_m"], section["ground_m"]) + 0.25,
        right_m=geometry["half_m"] + _RIGHT,
        bottom_m=-depth - 0.22,
    )
    slots: dict[str, Callable[[], None]] = {
        "fill-water": lambda: _draw_beside(canvas, section, beside_m),
        "joint-water": lambda: _draw_joint(canvas, section, beside_m),
        "water": lambda: _draw_water(canvas, section),
        "pipe": lambda: _draw_pipe(canvas, section),
        "pump": lambda: _draw_pump(canvas, section),
        "floats": lambda: _draw_floats(canvas, section),
    }
    for shape in geometry["shapes"]:
        if "slot" in shape:
            if shape["slot"] in slots:  # water in gravel and drain is of the moving picture
                slots[shape["slot"]]()
            continue
        _draw(canvas, shape)
    _draw_marks(canvas, geometry)
    _draw_labels(canvas, section, beside_m)
    edge, height = canvas.x(canvas.right_m), canvas.y(canvas.bottom_m)
    width = edge + _BEFORE + _PER_LETTER * max(len(text) for _, _, text in _beside(section))
    tall = max(height, max(_places(canvas, section)) + _BELOW)
    title = (
        "Cut through the basement wall, the floor and the pit: the levels of its parts, below the "
        "floor"
    )
    frame = f'<rect width="{edge}" height="{height}" fill="none" stroke="#9aa3a7"/>'
    clip = f'<clipPath id="section-view"><rect width="{edge}" height="{height}"/></clipPath>'
    return "\n".join(
        [
            f'<svg xmlns="http://www.w3.org/2000/svg" viewBox="0 0 {width:.0f} {tall:.0f}" '
            f'width="{width:.0f}" height="{tall:.0f}" role="img" aria-labelledby="section-title">',
            f'<title id="section-title">{title}</title><defs>{PATTERNS}{clip}</defs>',
            f'<rect width="{width:.0f}" height="{tall:.0f}" fill="#fff"/>',
            '<g clip-path="url(#section-view)">',
            *canvas.parts,
            "</g>",
            frame,
            *canvas.words,
            "</svg>",
        ]
    )


def _dashed(state: str, dash: str = _DASH) -> str:
    return f' stroke-dasharray="{dash}"' if state == PartState.ASSUMED.value else ""


def _draw(canvas: _Canvas, shape: Mapping[str, Any]) -> None:
    paint, points, dash = shape["paint"], shape["points"], _dashed(shape["state"])
    name = f' class="{shape["part"]}"' if shape["part"] else ""
    if paint in LINES:
        canvas.line(points, LINES[paint], name + dash)
    elif paint == "downspout":
        canvas.line(points, f'stroke="{INK}" stroke-width="8" stroke-linejoin="round"', name + dash)
        canvas.line(points, 'stroke="#e6ebed" stroke-width="6" stroke-linejoin="round"')
    elif paint == "second-pipe":
        canvas.line(points, f'stroke="{INK}" stroke-width="8" stroke-linejoin="round"', dash)
        canvas.line(points, 'stroke="#fff" stroke-width="5.4" stroke-linejoin="round"')
    elif paint == "broken-off":
        _draw_break(canvas, *points[0])
    elif paint == "cross":
        canvas.parts.append(_cross(canvas.x(points[0][0]), canvas.y(points[0][1]), 9))
    elif paint == "person-head":
        ((x, y),) = points
        canvas.circle(x, y, 0.08 * PERSON_M * _SCALE, 'class="person" fill="#d5dce0"')
    elif paint == "drain-end":
        ((x, y),) = points
        canvas.circle(x, y, 0.05 * _SCALE, f'fill="#fff" {EDGE}{dash}')
    else:
        edge = f" {EDGE}" if dash and "stroke=" not in PAINTS[paint] else ""
        canvas.shape(points, PAINTS[paint] + edge, name + dash)


def _draw_beside(canvas: _Canvas, section: Mapping[str, Any], beside_m: float | None) -> None:
    """Water in the fill, as high as it comes in the storm."""
    stands = [] if beside_m is None else beside_water(section["geometry"]["beside"], beside_m)
    if stands:
        canvas.shape(stands, f'fill="{WATER}" fill-opacity=".3"', ' class="beside"')
        canvas.line(stands[2:], f'stroke="{WATER}" stroke-width="1.5"', ' class="beside-top"')


def _draw_joint(canvas: _Canvas, section: Mapping[str, Any], beside_m: float | None) -> None:
    """Its way to the joint of wall and floor, where it stands above the floor."""
    if beside_m is not None and beside_m > 0 and section["joint_opens"]:
        way = section["geometry"]["beside"]["joint"]
        canvas.line(way, f'stroke="{WATER}" stroke-width="2.5"', ' class="joint"')


def _draw_water(canvas: _Canvas, section: Mapping[str, Any]) -> None:
    """Water as high as the pump lets it rise, and as low as it draws it."""
    pit = section["pit"]
    low, base = -pit["depth_m"], pit["bottom_width_m"] / 2
    for mark in section["geometry"]["marks"]:
        share = {"on": 0.3, "off": 0.45}.get(mark["key"])
        if share is not None:
            at, level = mark["half_m"], mark["level_m"]
            water = [(-at, level), (-base, low), (base, low), (at, level)]
            canvas.shape(water, f'fill="{WATER}" fill-opacity="{share}"')


def _draw_pipe(canvas: _Canvas, section: Mapping[str, Any]) -> None:
    pipe, states = section["geometry"]["pipe"], section["parts"]
    ways = ((pipe["outside"], "outlet", "outlet"), (pipe["inside"], "pipe", "pipe"))
    for points, part, name in ways:
        dash = _dashed(states[part])
        canvas.line(points, f'class="{name}" stroke="{INK}" stroke-width="8"', dash)
        canvas.line(points, 'stroke="#fff" stroke-width="5.4" stroke-linejoin="round"')
        canvas.line(points, f'stroke="{WATER}" stroke-opacity=".3" stroke-width="5.4"')
    if pipe["spout"]:
        x, y = canvas.x(pipe["spout"][0]), canvas.y(pipe["spout"][1])
        for k in range(3):
            canvas.parts.append(
                f'<path class="spout" d="M{x - 1:.1f} {y + 2 * k - 2:.1f}q-9 {k} {-12 - 3 * k} '
                f'{7 + k}" fill="none" stroke="{WATER}" stroke-width="2"/>'
            )
    if pipe["break"]:
        _draw_break(canvas, *pipe["break"])
    if pipe["arrow"]:
        x, y = canvas.x(pipe["arrow"][0]), canvas.y(pipe["arrow"][1])
        canvas.parts.append(
            f'<path class="arrow" d="M{x - 9:.1f} {y:.1f}l12 -7v14z" fill="{WATER}"/>'
        )
    if section["geometry"]["valve"]:
        _draw_valve(canvas, section)


def _draw_break(canvas: _Canvas, x_m: float, y_m: float) -> None:
    """Two strokes across a pipe that goes on beyond what is drawn."""
    x, y = canvas.x(x_m), canvas.y(y_m)
    canvas.parts.append(
        f'<path class="break" d="M{x - 2:.1f} {y + 9:.1f}l6 -18h7l-6 18z" fill="#fff"/>'
        f'<path d="M{x - 2:.1f} {y + 9:.1f}l6 -18m7 0l-6 18" fill="none" {EDGE}/>'
    )


def _draw_valve(canvas: _Canvas, section: Mapping[str, Any]) -> None:
    """A body with an arrow the way the water may go; a cross where it does not hold."""
    x, y = canvas.x(section["geometry"]["valve"][0]), canvas.y(section["geometry"]["valve"][1])
    state = section["parts"]["check_valve"]
    canvas.parts.append(
        f'<rect class="valve" x="{x - 7:.1f}" y="{y - 9:.1f}" width="14" height="18" rx="2" '
        f'fill="#f4f4f2" {EDGE}{_dashed(state, _SHORT)}/>'
        f'<path d="M{x - 4:.1f} {y + 4:.1f}l4 -8l4 8z" fill="{INK}"/>'
    )
    if state == PartState.FAILED.value:
        canvas.parts.append(_cross(x, y, 9))


def _cross(x: float, y: float, reach: float) -> str:
    return (
        f'<path class="cross" d="M{x - reach:.1f} {y - reach:.1f}l{2 * reach} {2 * reach}'
        f'm0 {-2 * reach}l{-2 * reach} {2 * reach}" stroke="{ALARM}" stroke-width="2.5"/>'
    )


def _draw_pump(canvas: _Canvas, section: Mapping[str, Any]) -> None:
    pump, dash = section["geometry"]["pump"], _dashed(section["parts"]["pump"])
    x, half = pump["x_m"], pump["width_m"] / 2
    style = f'class="pump" fill="#f4f4f2" stroke="{INK}" stroke-width="1.6"{dash}'
    canvas.box(x - half, pump["high_m"], x + half, pump["low_m"], style)
    if section["parts"]["pump"] == PartState.FAILED.value:
        middle = (pump["high_m"] + pump["low_m"]) / 2
        canvas.parts.append(_cross(canvas.x(x), canvas.y(middle), 9))


def _draw_floats(canvas: _Canvas, section: Mapping[str, Any]) -> None:
    """One float starts the pump, the other calls the alarm; the bell hangs on the wall."""
    geometry, states = section["geometry"], section["parts"]
    if geometry["pump"]:
        at, pump = geometry["float"], geometry["pump"]
        tether = [(pump["x_m"], at["tether_m"]), (at["x_m"], at["low_m"])]
        canvas.line(tether, f'stroke="{INK}" stroke-width="1"')
        radius = at["radius_m"] * _SCALE
        canvas.circle(at["x_m"], at["low_m"], radius, f'class="float" fill="#F0E442" {EDGE}')
    if at := geometry["second_float"]:
        dash = _dashed(states["second_on"], _SHORT)
        canvas.line(at["rod"], f'stroke="{INK}" stroke-width="1.3"{dash}')
        style = f'class="second-float" fill="#F0E442" {EDGE}{dash}'
        canvas.circle(at["x_m"], at["low_m"], at["radius_m"] * _SCALE, style)
    alarm = geometry["alarm"]
    if not alarm:
        return
    dash = _dashed(states["alarm"], _SHORT)
    canvas.line(alarm["cord"], f'stroke="#9aa3a7" stroke-width="1"{dash}')
    canvas.line(alarm["rod"], f'stroke="{INK}" stroke-width="1.3"{dash}')
    style = f'class="bob" fill="#fff" stroke="{ALARM}" stroke-width="1.8"{dash}'
    canvas.circle(alarm["x_m"], alarm["low_m"], alarm["radius_m"] * _SCALE, style)
    x, y = canvas.x(alarm["bell"][0]) + 11, canvas.y(alarm["bell"][1])
    canvas.parts.append(
        f'<path class="bell" transform="translate({x:.1f} {y:.1f})" d="{_BELL}" fill="#fff" '
        f"{EDGE}{dash}/>"
    )
    if states["alarm"] == PartState.FAILED.value:
        canvas.parts.append(_cross(x, y, 8))


def _draw_scale(canvas: _Canvas, system: UnitSystem) -> None:
    """A length that people know, in the lower left corner."""
    length, words = (0.3048, "1 ft") if system is UnitSystem.US else (0.5, "50 cm")
    y, far = canvas.y(canvas.bottom_m) - 18, 8 + length * _SCALE
    canvas.words.append(
        f'<path class="scale" d="M8 {y - 4:.1f}v8m0 -4H{far:.1f}m0 -4v8" stroke="{INK}" '
        'fill="none"/>'
    )
    canvas.text(far + 6, y + 4, words)


def _draw_marks(canvas: _Canvas, geometry: Mapping[str, Any]) -> None:
    for mark in geometry["marks"]:
        if mark["key"] in _MARKS:
            ends = [(-mark["half_m"], mark["level_m"]), (canvas.right_m, mark["level_m"])]
            style = f'class="mark {mark["key"]}" stroke="{_MARKS[mark["key"]]}" stroke-width="1.5"'
            canvas.line(ends, style, _dashed(mark["state"]))


def _beside(section: Mapping[str, Any]) -> list[tuple[str, float, str]]:
    """Key, level and words of each label at the right, from the floor down."""
    geometry, states, words = section["geometry"], section["parts"], section["words"]
    found = [(mark["key"], mark["level_m"], mark["text"]) for mark in geometry["marks"]]
    if states["gravel"] != PartState.NONE.value:
        found.append(("gravel", geometry["gravel_m"], _small(words["gravel"])))
    if geometry["pump"] and states["pump"] != PartState.KNOWN.value:
        found.append(("pump", geometry["pump"]["low_m"], _small(words["pump"])))
    if geometry["second_float"]:
        level = geometry["named"]["second_pump"][1]
        found.append(("second_pump", level, _small(words["second_pump"])))
    if states["pit"] == PartState.ASSUMED.value:
        found.append(("pit", -section["pit"]["depth_m"], _small(words["pit"])))
    return sorted(found, key=lambda entry: -entry[1])


def _places(canvas: _Canvas, section: Mapping[str, Any]) -> list[float]:
    """Where the labels at the right stand, none on another [px]."""
    return spread_labels([canvas.y(level) for _, level, _ in _beside(section)], 15.0)


def _small(text: str) -> str:
    return text[:1].lower() + text[1:]


def _draw_labels(canvas: _Canvas, section: Mapping[str, Any], beside_m: float | None) -> None:
    geometry, words = section["geometry"], section["words"]
    edge, beside = canvas.x(canvas.right_m), _beside(section)
    for (key, level, text), place in zip(beside, _places(canvas, section), strict=True):
        canvas.words.append(
            f'<path class="leader {key}" d="M{edge} {canvas.y(level)}L{edge + 12:.1f} {place:.1f}" '
            f'fill="none" stroke="{INK}" stroke-width=".8"/>'
        )
        canvas.text(edge + 15, place + 4, text)
    ground, drain = section["ground_m"], section["drain_m"]
    middle = (canvas.x(geometry["inner_m"]) + edge) / 2
    canvas.text(middle + 30, canvas.y(max(ground, 1.0) * 0.62), "basement", "middle")
    _draw_scale(canvas, UnitSystem(section["units"]))
    wanted = [(canvas.y(ground) + 17, words["ground"]), (canvas.y(drain) + 24, words["drain"])]
    spout = max(geometry["house"]["downspout"][-1][1], ground)  # one into the drain ends far below
    wanted.append((canvas.y(spout) - 34, words["downspout"]))
    water: list[tuple[float, str]] = []
    if beside_m is not None and beside_m > geometry["beside"]["low_m"]:
        first, second = outside_words(beside_m, UnitSystem(section["units"]))
        water = [(canvas.y(beside_m) - 24, first), (canvas.y(beside_m) - 9, second)]
        wanted += water
    if pipe := geometry["pipe"]:
        end = canvas.y(pipe["end"][1])
        wanted.append((end - 14 if pipe["spout"] else end + 22, words["outlet"]))
        beyond = -8 if section["outlet_m"] < 1.0 else 20
        x = canvas.x(pipe["inside"][0][0]) + 12
        canvas.text(x, canvas.y(section["outlet_m"]) + beyond, words["pipe"])
    if geometry["valve"]:
        x, y = geometry["valve"]
        beyond = 13 if section["parts"]["second_pump"] == PartState.NONE.value else 26
        canvas.text(canvas.x(x) + beyond, canvas.y(y) + 4, words["check_valve"])
    if geometry["alarm"]:
        x, y = geometry["alarm"]["bell"]
        canvas.text(canvas.x(x) + 26, canvas.y(y) + 4, words["alarm"])
    _name_stand_by(canvas, section)
    if "floor_joint" in geometry["named"]:
        place = canvas.y(0.0) - 6
        if water and water[0][0] < place < water[1][0]:
            place = water[0][0] - 1  # never between its two lines
        wanted.append((place, words["floor_joint"]))
    for place, (_, text) in zip(spread_labels([y for y, _ in wanted], 15.0), wanted, strict=True):
        canvas.text(6, place, text)
        if text == words["floor_joint"]:
            x, y = geometry["named"]["floor_joint"]
            canvas.words.append(
                f'<path class="leader" d="M{8 + _PER_LETTER * len(text):.1f} {place - 4:.1f}'
                f'L{canvas.x(x):.1f} {canvas.y(y) - 2:.1f}" fill="none" stroke="{INK}" '
                'stroke-width=".8"/>'
            )


def _name_stand_by(canvas: _Canvas, section: Mapping[str, Any]) -> None:
    """Names beside what stands in the room, each on its own height."""
    geometry, words = section["geometry"], section["words"]
    named, edge = geometry["named"], canvas.x(canvas.right_m) - 6
    if "generator" in named:
        x, y = named["generator"]
        canvas.text(canvas.x(x + 0.22), canvas.y(y) - 28, words["generator"], "middle")
    if "battery" in named:
        canvas.text(edge, canvas.y(named["battery"][1]) - 18, words["battery"], "end")
    if "floor_drain" in named:
        canvas.text(edge, canvas.y(0.0) - 7, words["floor_drain"], "end")
    if "second_pump" in named and not geometry["second_float"]:
        x, y = named["second_pump"]
        canvas.text(canvas.x(x) + 44, canvas.y(y) + 4, words["second_pump"])
