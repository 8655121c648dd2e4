"""Pump and discharge pipe against worked examples and tables."""

from __future__ import annotations

import numpy as np
import pytest
from scipy.optimize import brentq

from riskkit.pit import pipe, pump
from riskkit.quantities.units import convert
from riskkit.quantities.variables import choices

GPM = convert(1.0, "gpm", "m3/s")
FOOT = convert(1.0, "ft", "m")
INCH = convert(1.0, "in", "m")


def friction_factor(reynolds: float, roughness_share: float) -> float:
    """Of Darcy and Weisbach, from the slope that 1 m/s loses in a pipe of 10 cm [-]."""
    bore, speed = 0.1, 1.0
    flow = speed * np.pi * bore**2 / 4
    slope = pipe.friction_slope(
        np.array(flow), np.array(bore), roughness_share * bore, speed * bore / reynolds
    )
    return float(slope) * 2 * 9.80665 * bore / speed**2


@pytest.mark.published(
    stage="pump", what="friction factors by Colebrook, roughness of 0.001 and 0.01",
    source="colebrook_table", where="Reynolds numbers of 5000 to a million", origin="quoted",
    tolerance="half the last digit; 0.5 % for 0.01",
)  # fmt: skip
@pytest.mark.parametrize(
    ("reynolds", "smooth", "rough"),
    [(5e3, 0.0385, 0.0472), (1e4, 0.0324, 0.0431), (1e5, 0.0222, 0.0384), (1e6, 0.0199, 0.0379)],
)
def test_friction_factor(reynolds: float, smooth: float, rough: float) -> None:
    assert friction_factor(reynolds, 0.001) == pytest.approx(smooth, abs=5e-5)
    assert friction_factor(reynolds, 0.01) == pytest.approx(rough, rel=0.005)


@pytest.mark.published(
    stage="pump", what="friction factor of flow in layers, 64 over the Reynolds number",
    source="poiseuille", where="laminar flow in a round pipe (recalled)",
    origin="computed", tolerance="0.1 %",
)  # fmt: skip
def test_laminar() -> None:
    for reynolds in (500.0, 1000.0, 1500.0):
        assert friction_factor(reynolds, 1e-4) == pytest.approx(64 / reynolds, rel=1e-3)


@pytest.mark.published(
    stage="pump", what="head lost in 200 ft of a 2-in pipe at 0.2 ft3/s", source="cengel_cimbala",
    where="Example 8-3: f = 0.0174, 27.3 ft (data as quoted)", origin="memory",
    tolerance="half the last digit",
)  # fmt: skip
def test_head_lost_in_a_textbook_pipe() -> None:
    flow, bore = 0.2 * FOOT**3, 2 * INCH
    viscosity = 7.536e-4 / 62.36 * FOOT**2
    slope = float(pipe.friction_slope(np.array(flow), np.array(bore), 7e-6 * FOOT, viscosity))
    assert 200 * slope == pytest.approx(27.3, abs=0.05)
    speed = flow / (np.pi * bore**2 / 4)
    assert slope * 2 * 9.80665 * bore / speed**2 == pytest.approx(0.0174, abs=5e-5)


@pytest.mark.published(
    stage="pump", what="where the curve of a pump meets that of its pipe", source="munson",
    where="Example 12.4: 1600 gpm and 66.5 ft (data as quoted)", origin="memory",
    tolerance="2 % (curve read from a figure)",
)  # fmt: skip
def test_pump_meets_its_pipe() -> None:
    gpm = np.array([0, 400, 800, 1400, 1800, 2200, 2300.0])
    feet = np.array([88, 86, 81, 70, 60, 46, 40.0])
    curve = pump.curve_from_points(gpm * GPM, feet * FOOT)

    def head_ft(at_gpm: float) -> float:
        return float(pump.pump_head_m(curve, np.array([[at_gpm * GPM]]))[0, 0]) / FOOT

    def needed_ft(at_gpm: float) -> float:  # 10 ft of lift, 4.43 ft for each (ft3/s)²
        return 10 + 4.43 * (at_gpm * GPM / FOOT**3) ** 2

    at = brentq(lambda q: head_ft(q) - needed_ft(q), 1000, 2200)
    assert at == pytest.approx(1600, rel=0.02)
    assert head_ft(at) == pytest.approx(66.5, rel=0.02)


@pytest.mark.published(
    stage="pump", what="bores of Schedule 40 plastic pipe: outside less two least walls",
    source="astm_d1785", where="Tables 1 and 2", origin="printed", tolerance="0.001 in",
)  # fmt: skip
@pytest.mark.parametrize(
    ("size", "outside_in", "wall_in"),
    [("1-1/4 in", 1.660, 0.140), ("1-1/2 in", 1.900, 0.145), ("2 in", 2.375, 0.154)],
)
def test_bores(size: str, outside_in: float, wall_in: float) -> None:
    bore = choices()["pipe.size"].options[size]["pipe.bore"]
    greatest = (outside_in - 2 * wall_in) * INCH
    assert bore.p50 == pytest.approx(greatest, abs=0.001 * INCH)
    assert bore.p05 < greatest < bore.p95


@pytest.mark.published(
    stage="pit", what="gallons a minute, gallons, cubic feet and inches in cubic metres",
    source="nist_sp811", where="Appendix B.8", origin="quoted", tolerance="half the last digit",
)  # fmt: skip
@pytest.mark.parametrize(
    ("unit", "to", "factor", "half"),
    [
        ("gpm", "m3/s", 6.309020e-5, 5e-12), ("gal", "m3", 3.785412e-3, 5e-10),
        ("ft3", "m3", 2.831685e-2, 5e-9), ("in3", "m3", 1.638706e-5, 5e-12),
    ],
)  # fmt: skip
def test_factors(unit: str, to: str, factor: float, half: float) -> None:
    assert convert(1.0, unit, to) == pytest.approx(factor, abs=half)
