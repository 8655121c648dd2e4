"""From one draw of a home to the numbers of the equations, written from the method notebook alone.

Nothing is imported from riskkit; its tables of soils are read as the data that they are. The
equations are those of ``notebooks/04_method_and_checks.ipynb``, sections 3 to 5; all in SI.
"""

from __future__ import annotations

import csv
from collections.abc import Mapping
from dataclasses import dataclass
from itertools import pairwise
from math import log, log10, pi, sqrt
from pathlib import Path

from scipy.optimize import brentq

TABLES = Path(__file__).resolve().parents[2] / "riskkit" / "tables"
Curve = tuple[tuple[float, float], ...]

GRAVITY = 9.80665
ROUGHNESS_M = 1.5e-6
VISCOSITY_M2_S = 1.306e-6
ENVELOPE_M = 0.3  # height of the gravel beside the footing
DAY_S = 86400.0


@dataclass(frozen=True)
class Soil:
    """Soil of one texture: Rawls 1983 for the wetting front, Saxton and Rawls 2006 for drainage."""

    porosity: float
    effective_porosity: float
    suction_m: float
    front_k_m_s: float
    field_capacity: float
    drainable: float
    saturated_k_m_s: float


@dataclass(frozen=True)
class Surface:
    """Ground that takes in rain: the fill at the wall, or the lot."""

    area_m2: float
    k_m_s: float
    sorption_m: float
    deficit_m: float
    room_m: float
    time_s: float
    water_m: float


@dataclass(frozen=True)
class Footing:
    """Gravel and fill beside the footing, and the reservoirs of the lot."""

    invert_m: float
    level_m: tuple[float, ...]
    area_m2: tuple[float, ...]
    ground_water_m3_s: tuple[float, ...]
    conductance_m2_s: float
    joint_m2_s: float
    deep_m3_s: float
    store_s: tuple[float, ...]
    store_area_m2: tuple[float, ...]
    store_share: tuple[float, ...]
    store_m3: tuple[float, ...]


@dataclass(frozen=True)
class Pit:
    """Levels between which area is constant and the pump's flow a straight line."""

    level_m: tuple[float, ...]
    area_m2: tuple[float, ...]
    pump_m3_s: tuple[float, ...]
    on_m: float
    off_m: float
    alarm_m: float
    drainback_m3: float
    return_share: float


def saxton_rawls_k_m_s(sand: float, clay: float, organic: float = 2.5) -> float:
    """Saturated conductivity by the regressions of Saxton and Rawls 2006, Table 1 [m/s]."""
    t = -0.024 * sand + 0.487 * clay + 0.006 * organic + 0.005 * sand * organic
    t += -0.013 * clay * organic + 0.068 * sand * clay + 0.031
    wilting = t + 0.14 * t - 0.02
    t = -0.251 * sand + 0.195 * clay + 0.011 * organic + 0.006 * sand * organic
    t += -0.027 * clay * organic + 0.452 * sand * clay + 0.299
    capacity = t + 1.283 * t**2 - 0.374 * t - 0.015
    t = 0.278 * sand + 0.034 * clay + 0.022 * organic - 0.018 * sand * organic
    t += -0.027 * clay * organic - 0.584 * sand * clay + 0.078
    saturation = capacity + t + 0.636 * t - 0.107 - 0.097 * sand + 0.043
    slope = log(capacity / wilting) / log(1500 / 33)
    return 1930 * (saturation - capacity) ** (3 - slope) / 3.6e6


def table_row(name: str, texture: str) -> dict[str, str]:
    """Return the row of a texture in a table of soils."""
    lines = (TABLES / name).read_text(encoding="utf-8").splitlines()
    rows = csv.DictReader(line for line in lines if not line.startswith("#"))
    return next(row for row in rows if row["texture"] == texture)


def soil_of(texture: str) -> Soil:
    """Look a texture up in the tables of the sources."""
    row, centre = table_row("soils.csv", texture), table_row("texture_centres.csv", texture)
    capacity = float(row["field_capacity"]) / 100
    return Soil(
        porosity=float(row["porosity"]),
        effective_porosity=float(row["effective_porosity"]),
        suction_m=float(row["suction"]) / 100,
        front_k_m_s=float(row["conductivity"]) / 360_000,
        field_capacity=capacity,
        drainable=float(row["saturation"]) / 100 - capacity,
        saturated_k_m_s=saxton_rawls_k_m_s(
            float(centre["sand"]) / 100, float(centre["clay"]) / 100
        ),
    )


def surface_of(
    soil: Soil,
    area_m2: float,
    factor: float,
    depth_m: float,
    roots_m: float,
    draw: Mapping[str, float],
) -> Surface:
    """Ground of one soil and conductivity factor that takes in rain (section 3)."""
    moisture_deficit = soil.effective_porosity * (1 - draw["saturation"])
    theta = soil.porosity - moisture_deficit
    moisture_deficit = max(moisture_deficit, 0.001)
    room = soil.drainable * depth_m
    time = room / (soil.saturated_k_m_s * factor)
    recharge = draw["antecedent_recharge_mm_d"] / 1000 / DAY_S
    return Surface(
        area_m2=area_m2,
        k_m_s=soil.front_k_m_s * factor,
        sorption_m=soil.suction_m * moisture_deficit,
        deficit_m=max(soil.field_capacity - theta, 0.0) * roots_m,
        room_m=room,
        time_s=time,
        water_m=min(recharge * time, 0.9 * room),
    )


def fill_of(draw: Mapping[str, float], backfill: str) -> Surface:
    """Return the fill at the wall."""
    depth = draw["depth_below_ground_m"] + draw["drain_depth_m"]
    area = draw["perimeter_m"] * draw["backfill_width_m"]
    return surface_of(soil_of(backfill), area, draw["backfill_k_factor"], depth, depth, draw)


def lot_of(draw: Mapping[str, float], soil: str) -> Surface:
    """Return the lot between wall and divide."""
    depth = draw["depth_below_ground_m"] + draw["drain_depth_m"]
    area = draw["perimeter_m"] * draw["half_distance_m"]
    return surface_of(soil_of(soil), area, draw["native_k_factor"], depth, 0.5, draw)


def equivalent_depth_m(permeable_m: float, half_distance_m: float) -> float:
    """Hooghoudt's equivalent depth as the notebook prints it."""
    spacing = 2 * half_distance_m
    if permeable_m > 0.6 * half_distance_m:
        return spacing * pi / (8 * (log(spacing / 0.15) - 1.15))
    bent = 8 / pi * log(permeable_m / 0.15) - 3.4
    return min(permeable_m / (1 + permeable_m / spacing * bent), permeable_m)


def footing_of(draw: Mapping[str, float], backfill: str, soil: str) -> Footing:
    """Return the ground beside the footing (section 4)."""
    fill, native = soil_of(backfill), soil_of(soil)
    length, width, invert = draw["perimeter_m"], draw["backfill_width_m"], -draw["drain_depth_m"]
    saturated_k = native.saturated_k_m_s * draw["native_k_factor"]
    below = equivalent_depth_m(draw["permeable_depth_m"], draw["half_distance_m"])
    lot_area = length * draw["half_distance_m"]

    j = native.drainable * (2 * draw["half_distance_m"]) ** 2
    j /= pi**2 * saturated_k * (below + 0.3)
    orders = (1, 3, 5, 7)
    share = tuple(8 / (pi * n) ** 2 for n in orders)
    store_s = tuple(j / n**2 for n in orders)
    at_once = (1 - sum(share)) * native.drainable * lot_area

    gravel = min(draw["drain_gravel_area_m2"], 0.9 * ENVELOPE_M * width)
    pipe = pi / 4 * draw["drain_bore_m"] ** 2 * draw["drain_open_share"]
    beside = (width - gravel / ENVELOPE_M) * fill.drainable
    low = length * ((gravel * draw["gravel_pore_share"] + pipe) / ENVELOPE_M + beside) + at_once
    high = length * width * fill.drainable + at_once

    # the table is told as a depth below the floor; H stands above the drain
    table = -draw["water_table_depth_m"] - invert
    reach = min(max(3000 * max(table, 0.0) * sqrt(saturated_k), 3.0), 60.0)

    def ground_water(level: float) -> float:
        above = max(level - invert, 0.0)
        if table <= above:
            return 0.0
        flow = (table**2 - above**2) / 2 + below * (table - above)
        return length * saturated_k * flow / reach

    ground = draw["depth_below_ground_m"]
    bends = {invert, 0.0, invert + ENVELOPE_M, ground}
    if table > 0:
        bends |= {invert + table * quarter / 4 for quarter in (1, 2, 3, 4)}
    levels = tuple(sorted(level for level in bends if level <= ground))
    middles = [(a + b) / 2 for a, b in pairwise(levels)]
    deep = draw["deep_percolation_mm_d"] / 1000 / DAY_S * (length * width + lot_area)
    recharge = draw["antecedent_recharge_mm_d"] / 1000 / DAY_S
    return Footing(
        invert_m=invert,
        level_m=levels,
        area_m2=tuple(low if middle < invert + ENVELOPE_M else high for middle in middles),
        ground_water_m3_s=tuple(ground_water(level) for level in levels),
        conductance_m2_s=draw["drain_conductance_m2_s"] * draw["drain_open_share"],
        joint_m2_s=draw["joint_conductance_m2_s"],
        deep_m3_s=deep * min(max(-table, 0.0), 1.0),
        store_s=store_s,
        store_area_m2=tuple(w * native.drainable * lot_area for w in share),
        store_share=share,
        store_m3=tuple(w * recharge * lot_area * t for w, t in zip(share, store_s, strict=True)),
    )


def friction_factor(reynolds: float, relative_roughness: float) -> float:
    """Darcy's friction factor: laminar, or Colebrook's equation solved for it."""
    if reynolds < 2040:
        return 64 / reynolds

    def gap(x: float) -> float:  # x = 1 / sqrt(f)
        return x + 2 * log10(relative_roughness / 3.7 + 2.51 * x / reynolds)

    return float(brentq(gap, 1.0, 40.0, xtol=1e-14)) ** -2


def pump_head_m(draw: Mapping[str, float], curve: Curve | None, flow_m3_s: float) -> float:
    """Head of the pump when new: straight lines in the square of the flow."""
    points = curve or (
        (0.0, draw["shutoff_head_m"]),
        (draw["rated_flow_m3_s"], draw["rated_head_m"]),
    )
    last = max(k for k, (q, _) in enumerate(points[:-1]) if q <= flow_m3_s or k == 0)
    (q0, h0), (q1, h1) = points[last], points[last + 1]
    return h0 + (h1 - h0) * (flow_m3_s**2 - q0**2) / (q1**2 - q0**2)


def pump_flow_m3_s(
    draw: Mapping[str, float], curve: Curve | None, level_m: float, *, check_valve: bool
) -> float:
    """Flow where the pump's curve meets lift and losses (section 5)."""
    bore = draw["pipe_bore_m"]
    fittings = 30 * draw["elbows"] + (135 if check_valve else 0)
    length = draw["pipe_length_m"] + fittings * bore
    capacity = draw["capacity_share"] * draw["passing_share"]
    lift = draw["outlet_height_m"] - level_m
    if capacity <= 0 or pump_head_m(draw, curve, 0.0) <= lift:
        return 0.0

    # a level above the outlet drives the water too, but never beyond the end of the pump's curve
    end = capacity * float(brentq(lambda flow: pump_head_m(draw, curve, flow), 0.0, 1.0))

    def spare(flow: float) -> float:
        speed = flow / (pi / 4 * bore**2)
        f = friction_factor(speed * bore / VISCOSITY_M2_S, ROUGHNESS_M / bore)
        loss = (f * length / bore + 1) * speed**2 / (2 * GRAVITY)
        return pump_head_m(draw, curve, flow / capacity) - lift - loss

    return end if spare(end) >= 0 else float(brentq(spare, 1e-9, end, xtol=1e-16, rtol=1e-14))


def pit_of(draw: Mapping[str, float], curve: Curve | None, *, check_valve: bool) -> Pit:
    """Return the pit with pump, gravel under the slab and basement (section 5)."""
    bottom, basement = -draw["pit_depth_m"], draw["basement_area_m2"]
    on, off, alarm = (-draw[f"{name}_depth_m"] for name in ("on", "off", "alarm"))
    slab, gravel = -draw["slab_thickness_m"], draw["gravel_thickness_m"]
    pores = basement * draw["gravel_pore_share"] * draw["gravel_connected_share"]
    pump_top = bottom + draw["pump_height_m"]
    rooms = (
        (bottom, 0.0, pi / 4 * draw["pit_diameter_m"] ** 2),
        (bottom, pump_top, -draw["pump_volume_m3"] / draw["pump_height_m"]),
        (max(slab - gravel, bottom), slab, pores),
        (0.0, 3.0, basement * (1 - draw["occupied_share"])),
    )
    marks = (on, off, alarm, alarm / 2, -draw["drain_depth_m"], 0.05, 0.15, 0.4, 1.0)
    ends = {end for low, high, _ in rooms for end in (low, high)}
    levels = tuple(sorted(level for level in {*marks, *ends} if level >= bottom))
    middles = [(a + b) / 2 for a, b in pairwise(levels)]
    areas = tuple(sum(a for low, high, a in rooms if low < m < high) for m in middles)
    riser = pi / 4 * draw["pipe_bore_m"] ** 2 * (draw["outlet_height_m"] - on)
    return Pit(
        level_m=levels,
        area_m2=areas,
        pump_m3_s=tuple(
            pump_flow_m3_s(draw, curve, level, check_valve=check_valve) for level in levels
        ),
        on_m=on,
        off_m=off,
        alarm_m=alarm,
        drainback_m3=draw["drainback_share"] * riser,
        return_share=draw["return_share"],
    )
