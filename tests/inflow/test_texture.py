"""Soil water by regression, beside an independent pedotransfer library."""

import numpy as np
import pytest
from rosetta import rosetta

from riskkit.errors import RangeError
from riskkit.inflow.soils import soil_properties, texture_names
from riskkit.inflow.texture import hydrologic_group, saxton_rawls, texture_water
from riskkit.tables import load_table


@pytest.mark.parametrize("texture", texture_names())
def test_table_and_equations_agree(texture: str) -> None:
    printed, found = soil_properties([texture]), texture_water([texture])
    assert found.wilting_point == pytest.approx(printed.wilting_point, abs=0.0052)
    assert found.field_capacity == pytest.approx(printed.field_capacity, abs=0.0052)
    full = printed.field_capacity + printed.drainable_porosity
    assert found.saturation == pytest.approx(full, abs=0.0052)


def test_order_and_spread_beside_a_neural_network() -> None:
    """Rosetta 3 from the same sand and clay: two ways from other samples, never far apart."""
    rows = load_table("texture_centres").rows
    sand = np.array([float(r["sand"]) for r in rows])
    clay = np.array([float(r["clay"]) for r in rows])
    mean, _, _ = rosetta(3, np.stack([sand, 100 - sand - clay, clay], axis=1).tolist())
    residual, full, alpha, n, k = mean.T[:5]
    k_m_s = k / 100 / 86400

    def content(kpa: float) -> np.ndarray:
        suction_cm = kpa / 0.0981
        return residual + (full - residual) * (1 + (alpha * suction_cm) ** n) ** (1 / n - 1)

    found = texture_water([r["texture"] for r in rows])
    assert np.abs(found.wilting_point - content(1500)).max() < 0.10
    assert np.abs(found.field_capacity - content(33)).max() < 0.075
    assert np.abs(found.saturation - full).max() < 0.10
    assert np.abs(np.log10(found.k_m_s / k_m_s)).max() < 0.75
    assert np.corrcoef(np.log(found.k_m_s), np.log(k_m_s))[0, 1] > 0.7


def test_clay_holds_more_and_lets_less_through() -> None:
    clay = np.linspace(0.05, 0.55, 30)
    found = saxton_rawls(0.3, clay, 2.5)
    assert (np.diff(found.wilting_point) > 0).all()
    assert (np.diff(found.field_capacity) > 0).all()
    assert (np.diff(found.k_m_s) < 0).all()
    rich, poor = saxton_rawls(0.4, 0.2, 4.0), saxton_rawls(0.4, 0.2, 1.0)
    assert rich.saturation > poor.saturation and rich.k_m_s > poor.k_m_s


@pytest.mark.parametrize(
    "args", [(0.7, 0.4, 2.5), (-0.1, 0.2, 2.5), (0.1, 0.7, 2.5), (0.4, 0.2, 9)]
)
def test_soils_outside_the_samples_are_refused(args: tuple[float, float, float]) -> None:
    with pytest.raises(RangeError):
        saxton_rawls(*args)


def test_groups_run_from_sand_to_clay() -> None:
    k = texture_water(["sand", "loam", "clay loam", "clay"]).k_m_s
    assert [hydrologic_group(float(one)) for one in k] == ["A", "B", "C", "D"]
    assert hydrologic_group(0.0) == "D"
    with pytest.raises(RangeError):
        hydrologic_group(-1e-6)
