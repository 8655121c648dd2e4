"""Sun, soil water, snow and the water table against values that stand in the sources."""

import math

import numpy as np
import pytest

from riskkit.inflow import evaporation, seepage, snow, watertable, wetness
from riskkit.inflow.soils import soil_properties

DAY_S = 86400.0


def day_length_h(latitude_deg: float, day: int) -> float:
    delta = evaporation.solar_declination_rad(day)
    return float(24 / math.pi * evaporation.sunset_angle_rad(math.radians(latitude_deg), delta))


@pytest.mark.published(
    stage="inflow", what="length of the day from the hour angle of sunset", source="fao56",
    where="Examples 9 and 18, 20 degrees south on 3 September and Uccle on 6 July",
    origin="printed", tolerance="0.05 h",
)  # fmt: skip
@pytest.mark.parametrize(("latitude", "day", "hours"), [(-20.0, 246, 11.7), (50.8, 187, 16.1)])
def test_day_length(latitude: float, day: int, hours: float) -> None:
    assert day_length_h(latitude, day) == pytest.approx(hours, abs=0.05)


@pytest.mark.published(
    stage="inflow", what="radiation above the air, Rio de Janeiro in May and Uccle in July",
    source="fao56", where="Examples 10 and 18", origin="printed", tolerance="half the last digit",
)  # fmt: skip
@pytest.mark.parametrize(
    ("latitude", "day", "expected", "half"),
    [(-(22 + 54 / 60), 135, 25.1, 0.05), (50.8, 187, 41.09, 0.005)],
)
def test_radiation(latitude: float, day: int, expected: float, half: float) -> None:
    found = evaporation.extraterrestrial_radiation_mj_m2(latitude, day)
    assert found == pytest.approx(expected, abs=half)


@pytest.mark.published(
    stage="inflow", what="sun over Alice Springs on 20 July 1980, to four decimals",
    source="mcmahon2013", where="supplement, S19.18 to S19.26", origin="printed",
    tolerance="half the last digit",
)  # fmt: skip
def test_alice_springs() -> None:
    latitude, day = -23.7951, 202
    delta = evaporation.solar_declination_rad(day)
    sunset = evaporation.sunset_angle_rad(math.radians(latitude), delta)
    assert evaporation.sun_distance_factor(day) == pytest.approx(0.9688, abs=5e-5)
    assert delta == pytest.approx(0.3557, abs=5e-5)
    assert sunset == pytest.approx(1.4063, abs=5e-5)
    assert 24 / math.pi * sunset == pytest.approx(10.7431, abs=5e-5)
    found = evaporation.extraterrestrial_radiation_mj_m2(latitude, day)
    assert found == pytest.approx(23.6182, abs=5e-5)


@pytest.mark.published(
    stage="inflow", what="soil that dries day by day, depletion and stress", source="fao56",
    where="eqs 84 and 85, numbers as in Example 37 (recalled)", origin="computed",
    tolerance="0.05 mm",
)  # fmt: skip
def test_depletion() -> None:
    """TAW 160 mm, RAW 64 mm, 5 mm a day: no stress before 64 mm are gone, then Ks falls."""
    days = wetness.soil_days(
        np.zeros(20), np.full(20, 5.0), field_capacity=0.32, wilting_point=0.12, saturation=0.45,
        root_depth_m=0.8, drain_time_s=DAY_S, easy_share=0.40,
    )  # fmt: skip
    depletion = 160 - days.stored_mm[0]
    expected, lost = [], 0.0
    for _ in range(20):
        lost += 5.0 * min(1.0, (160 - lost) / ((1 - 0.40) * 160))
        expected.append(lost)
    assert depletion[:13] == pytest.approx(np.arange(5, 66, 5), abs=1e-9)
    assert depletion == pytest.approx(expected, abs=0.05)
    assert days.unmet_mm[0].sum() == pytest.approx(100 - expected[-1], abs=0.05)


@pytest.mark.published(
    stage="inflow", what="lawn: crop coefficient, share of easy water, depth of roots",
    source="fao56", where="Tables 12 and 22, cool-season turf", origin="quoted",
    tolerance="exact",
)  # fmt: skip
def test_lawn() -> None:
    assert snow.day_setting("crop") == 0.95 and snow.day_setting("easy") == 0.40
    assert (snow.day_setting("roots_low"), snow.day_setting("roots_high")) == (0.5, 1.0)


# water between field capacity and wilting point, m3/m3
AVAILABLE = {
    "sand": (0.05, 0.11), "loamy sand": (0.06, 0.12), "sandy loam": (0.11, 0.15),
    "loam": (0.13, 0.18), "silt loam": (0.13, 0.19), "silty clay loam": (0.13, 0.18),
    "silty clay": (0.13, 0.19), "clay": (0.12, 0.20),
}  # fmt: skip


@pytest.mark.published(
    stage="inflow", what="available water of soils lies in its ranges", source="fao56",
    where="Table 19", origin="memory", tolerance="0.01 (both sources print whole per cent)",
)  # fmt: skip
@pytest.mark.parametrize("texture", AVAILABLE)
def test_available_water(texture: str) -> None:
    soil = soil_properties([texture])
    low, high = AVAILABLE[texture]
    held = soil.field_capacity[0] - soil.wilting_point[0]
    assert low - 0.0101 <= held <= high + 0.0101


@pytest.mark.published(
    stage="inflow", what="degree-day factor fits the density of settled snow",
    source="bedient2013", where="eq. 2-62: 0.011 times the density (recalled)", origin="computed",
    tolerance="0.5 %",
)  # fmt: skip
def test_degree_day_of_density() -> None:
    factor = 0.011 * snow.day_setting("snow_density")
    assert snow.day_setting("degree_day") == pytest.approx(factor, rel=0.005)


def reaction_time_day(pores: float, spacing_m: float, k_m_day: float, depth_m: float) -> float:
    """Time constant of a drained water table: mu L^2 / (pi^2 K D), the inverse reaction factor."""
    return pores * spacing_m**2 / (math.pi**2 * k_m_day * depth_m)


@pytest.mark.published(
    stage="inflow", what="fall of a water table between drains, time", source="usbr1993",
    where="section 5-10, example: from 2.7 to 1.2 m in 31.8 days", origin="printed",
    tolerance="3 % (the book rounds)",
)  # fmt: skip
def test_fall_between_drains() -> None:
    time = reaction_time_day(0.07, 91.0, 0.305, 4.4 + 2.7 / 2)
    wet = np.full(365, 1.16 * 2.7)  # mm a day that hold the level with which the fall begins
    level = watertable.water_table_m(np.concatenate([wet, np.zeros(60)]), time, 1.0, 0.0)[0]
    days = np.arange(0, 61)
    reached = np.interp(-1.2, -level[364:], days)
    assert reached == pytest.approx(31.8, rel=0.03)


@pytest.mark.published(
    stage="inflow", what="fall of a water table between drains, level after 3 days",
    source="embrapa_drainage", where="p. 3: spacing of 12.72 m lets 0.8 m fall to 0.4 m",
    origin="printed", tolerance="0.005 m",
)  # fmt: skip
def test_level_after_three_days() -> None:
    time = reaction_time_day(0.15, 12.72, 2.3, (0.8 + 0.4) / 4)
    wet = np.full(365, 1.16 * 0.8)
    level = watertable.water_table_m(np.concatenate([wet, np.zeros(3)]), time, 1.0, 0.0)[0]
    assert level[-1] == pytest.approx(0.4, abs=0.005)


@pytest.mark.published(
    stage="inflow", what="flow between two water levels, with recharge on the way",
    source="bedient2013", where="Example 8-3: flows at the two ends", origin="printed",
    tolerance="0.0006 m2/day",
)  # fmt: skip
def test_flow_with_recharge() -> None:
    length, k, recharge = 1000.0, 0.5 / DAY_S, 0.05 / 365
    through = float(seepage.one_sided_m3_s(1.0, k, 20.0, [[18.0]], length, 0.0)[0, 0]) * DAY_S
    assert through - recharge * length / 2 == pytest.approx(-0.05, abs=0.0006)
    assert through + recharge * length / 2 == pytest.approx(0.087, abs=0.0006)


# MJ/m2 a day and hours of the 15th of each month
RADIATION = {
    30: [21.1, 25.8, 31.4, 36.8, 40.0, 41.2, 40.6, 38.1, 33.4, 27.6, 22.2, 19.8],
    40: [15.0, 20.4, 27.2, 34.7, 39.7, 41.9, 40.8, 36.7, 30.0, 22.5, 16.3, 13.6],
    48: [10.1, 15.7, 23.3, 32.2, 38.8, 41.8, 40.4, 34.9, 26.6, 18.1, 11.4, 8.7],
}
DAYLIGHT = {
    30: [10.3, 11.0, 11.8, 12.7, 13.5, 13.9, 13.8, 13.1, 12.2, 11.3, 10.5, 10.1],
    40: [9.5, 10.5, 11.7, 13.1, 14.2, 14.8, 14.6, 13.6, 12.2, 10.9, 9.7, 9.2],
    48: [8.6, 10.0, 11.6, 13.4, 15.0, 15.8, 15.5, 14.1, 12.3, 10.6, 9.0, 8.2],
}
FIFTEENTHS = [15, 46, 74, 105, 135, 166, 196, 227, 258, 288, 319, 349]


@pytest.mark.published(
    stage="inflow", what="radiation above the air through the year, 30 to 48 degrees north",
    source="fao56", where="Annex 2, Table 2.6", origin="quoted",
    tolerance="0.12 MJ/m2 (the table rounds on the way)",
)  # fmt: skip
@pytest.mark.parametrize("latitude", RADIATION)
def test_radiation_through_the_year(latitude: int) -> None:
    found = [evaporation.extraterrestrial_radiation_mj_m2(latitude, day) for day in FIFTEENTHS]
    np.testing.assert_allclose(found, RADIATION[latitude], atol=0.12)


@pytest.mark.published(
    stage="inflow", what="length of the day through the year, 30 to 48 degrees north",
    source="fao56", where="Annex 2, Table 2.7", origin="quoted", tolerance="0.07 h",
)  # fmt: skip
@pytest.mark.parametrize("latitude", DAYLIGHT)
def test_daylight_through_the_year(latitude: int) -> None:
    found = [day_length_h(latitude, day) for day in FIFTEENTHS]
    np.testing.assert_allclose(found, DAYLIGHT[latitude], atol=0.07)


@pytest.mark.published(
    stage="inflow", what="reach of a drawdown of 3 m in sand", source="kyrieleis_sichardt1930",
    where="worked example of a course on ground water: 201 m", origin="quoted",
    tolerance="half the last digit",
)  # fmt: skip
def test_reach() -> None:
    found = float(seepage.sichardt_reach_m(3.0, 5e-4, high_m=1000.0))
    assert found == pytest.approx(201, abs=0.5)


@pytest.mark.published(
    stage="inflow", what="drain spacing by the ellipse", source="neh624_4",
    where="eq. 4-8, Example 1: 202 ft", origin="printed", tolerance="0.3 %",
)  # fmt: skip
def test_spacing_by_the_ellipse() -> None:
    """From afar half of what rain along the way makes: see the spacing by Hooghoudt."""
    foot, inch_h = 0.3048, 0.0254 / 3600
    half, above, below = 101 * foot, 3 * foot, 7 * foot
    from_afar = seepage.one_sided_m3_s(1.0, 2 * inch_h, above, [[0.0]], half, below)[0, 0]
    assert 2 * from_afar == pytest.approx(0.01 * inch_h * half, rel=0.003)
