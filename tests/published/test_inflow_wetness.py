"""Evapotranspiration, soil water, snow and soil groups against values that stand in the sources."""

import numpy as np
import pytest

from riskkit.inflow import evaporation, snow, wetness
from riskkit.inflow.texture import hydrologic_group, saxton_rawls
from riskkit.quantities.units import convert
from riskkit.tables import load_table

IN_H = 0.0254 / 3600


@pytest.mark.published(
    stage="inflow", what="sun: distance, declination, sunset, radiation above the air",
    source="fao56", where="Example 8, 3 September at 20 degrees south", origin="printed",
    tolerance="half the last digit",
)  # fmt: skip
def test_sun() -> None:
    delta = evaporation.solar_declination_rad(246)
    assert evaporation.sun_distance_factor(246) == pytest.approx(0.985, abs=0.0005)
    assert delta == pytest.approx(0.120, abs=0.0005)
    assert evaporation.sunset_angle_rad(np.radians(-20), delta) == pytest.approx(1.527, abs=0.0005)
    assert evaporation.extraterrestrial_radiation_mj_m2(-20, 246) == pytest.approx(32.2, abs=0.05)


@pytest.mark.published(
    stage="inflow", what="evapotranspiration by Hargreaves", source="fao56",
    where="Example 20, Lyon in July", origin="printed", tolerance="0.05 mm",
)  # fmt: skip
def test_hargreaves() -> None:
    sun = evaporation.extraterrestrial_radiation_mj_m2(45.0 + 43 / 60, 196)
    assert sun == pytest.approx(40.6, abs=0.05)
    assert evaporation.hargreaves_mm(14.8, 26.6, sun) == pytest.approx(5.0, abs=0.05)


@pytest.mark.published(
    stage="inflow", what="available water and stress of plants", source="fao56",
    where="eqs 82 to 84, numbers as in Example 37 (recalled)", origin="computed",
    tolerance="0.001",
)  # fmt: skip
def test_stress() -> None:
    """A day that takes so much from field capacity, and one of 5 mm, at which p is 0.40."""
    soil = {
        "field_capacity": 0.32, "wilting_point": 0.12, "saturation": 0.45, "root_depth_m": 0.8,
        "drain_time_s": 9 * 3600.0, "easy_share": 0.40,
    }  # fmt: skip
    assert wetness.total_available_water_mm(0.32, 0.12, 0.8) == pytest.approx(160, abs=0.001)
    # 64 mm are drawn without stress; at 64 + 0.96 mm a hundredth is missing
    for depletion, stress in ((64.0, 1.0), (64.96, 0.99), (100.0, 0.625)):
        found = wetness.soil_days([0.0, 0.0], [depletion, 5.0], **soil)
        assert found.stored_mm[0, 0] == pytest.approx(160 - depletion)
        assert 1 - found.unmet_mm[0, 1] / 5 == pytest.approx(stress, abs=0.001)


@pytest.mark.published(
    stage="inflow", what="degree-day factor lies in its range, in both units", source="hds2",
    where="section 9.2.4.2", origin="printed", tolerance="2 %",
)  # fmt: skip
@pytest.mark.parametrize(("in_f", "mm_c"), [(0.04, 1.8), (0.08, 3.7)])
def test_degree_day_range(in_f: float, mm_c: float) -> None:
    in_metric = in_f * 25.4 * 1.8
    assert snow.degree_day_melt_mm(1.0, in_metric) == pytest.approx(mm_c, rel=0.02)
    assert 1.8 <= snow.day_setting("degree_day") <= 3.7


@pytest.mark.published(
    stage="inflow", what="degree-day factor where nothing is known", source="neh630_11",
    where="0.06 in per degF and day; 1.6 to 6.0 mm per degC and day", origin="quoted",
    tolerance="0.5 %",
)  # fmt: skip
def test_degree_day_default() -> None:
    factor = snow.day_setting("degree_day")
    assert factor == pytest.approx(0.06 * 25.4 * 1.8, rel=0.005)
    assert 1.6 <= factor <= 6.0


@pytest.mark.published(
    stage="inflow", what="melt by 10 mm of rain at 10 degC", source="bedient2013",
    where="section 2.9", origin="printed", tolerance="0.05 mm",
)  # fmt: skip
def test_rain_melt() -> None:
    assert snow.rain_melt_mm(10.0, 10.0) == pytest.approx(1.2, abs=0.0501)


@pytest.mark.published(
    stage="inflow", what="depth of snow from its water", source="bedient2013",
    where="eq. 2-55 (recalled)",
    origin="computed", tolerance="1e-6",
)  # fmt: skip
def test_snow_depth() -> None:
    assert snow.snow_depth_cm(50.0, 100.0) == pytest.approx(50.0, abs=1e-6)


# sand %, clay %; wilting point, field capacity, saturation % by volume; Ks mm/h
SOILS = {
    "sand": (88, 5, 5, 10, 46, 108.1),
    "loamy sand": (80, 5, 5, 12, 46, 96.7),
    "sandy loam": (65, 10, 8, 18, 45, 50.3),
    "loam": (40, 20, 14, 28, 46, 15.5),
    "silt loam": (20, 15, 11, 31, 48, 16.1),
    "silt": (10, 5, 6, 30, 48, 22.0),
    "sandy clay loam": (60, 25, 17, 27, 43, 11.3),
    "clay loam": (30, 35, 22, 36, 48, 4.3),
    "silty clay loam": (10, 35, 22, 38, 51, 5.7),
    "silty clay": (10, 45, 27, 41, 52, 3.7),
    "sandy clay": (50, 40, 25, 36, 44, 1.4),
    "clay": (25, 50, 30, 42, 50, 1.1),
}


@pytest.mark.published(
    stage="inflow", what="wilting point, field capacity, saturation from sand and clay",
    source="saxton_rawls2006", where="Table 3", origin="printed", tolerance="0.52 % by volume",
)  # fmt: skip
@pytest.mark.parametrize("name", SOILS)
def test_soil_water(name: str) -> None:
    sand, clay, *expected = SOILS[name]
    found = saxton_rawls(sand / 100, clay / 100, 2.5)
    values = [found.wilting_point[0], found.field_capacity[0], found.saturation[0]]
    assert np.array(values) * 100 == pytest.approx(np.array(expected[:3]), abs=0.52)


@pytest.mark.published(
    stage="inflow", what="saturated conductivity from sand and clay", source="saxton_rawls2006",
    where="Table 3", origin="quoted", tolerance="0.06 mm/h",
)  # fmt: skip
@pytest.mark.parametrize("name", SOILS)
def test_soil_conductivity(name: str) -> None:
    sand, clay, *_, expected = SOILS[name]
    found = saxton_rawls(sand / 100, clay / 100, 2.5).k_m_s[0]
    assert found * 3.6e6 == pytest.approx(expected, abs=0.06)


@pytest.mark.published(
    stage="inflow", what="hydrologic soil groups by conductivity", source="neh630_7",
    where="limits for deep soils, 2009", origin="printed", tolerance="exact",
)  # fmt: skip
def test_soil_groups() -> None:
    for limit, above, below in [(1.42, "A", "B"), (0.57, "B", "C"), (0.06, "C", "D")]:
        assert hydrologic_group(limit * IN_H * 1.001) == above
        assert hydrologic_group(limit * IN_H * 0.999) == below


@pytest.mark.published(
    stage="inflow", what="hydrologic soil groups, the same limits in micrometres per second",
    source="neh630_7", where="Table 7-1, 10, 4 and 0.4 um/s (recalled)", origin="computed",
    tolerance="0.005 in/h",
)  # fmt: skip
def test_soil_groups_in_metric() -> None:
    limits = [float(row["k_2009"]) for row in load_table("soil_groups").rows][:3]
    metric = [convert(k * 3.6, "mm/h", "in/h") for k in (10, 4, 0.4)]
    assert metric == pytest.approx(limits, abs=0.005)


@pytest.mark.published(
    stage="inflow", what="hydrologic soil groups, the older transmission rates", source="tr55",
    where="Appendix A", origin="printed", tolerance="exact",
)  # fmt: skip
def test_older_soil_groups() -> None:
    rows = load_table("soil_groups").rows
    assert [float(row["k_1986"]) for row in rows] == [0.30, 0.15, 0.05, 0]
    assert all(float(r["k_2009"]) > float(r["k_1986"]) for r in rows[:3])
