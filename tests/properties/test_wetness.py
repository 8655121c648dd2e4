"""Whatever the days: water is neither made nor lost, and more of it never leaves less."""

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from riskkit.inflow.snow import snow_days
from riskkit.inflow.wetness import soil_days

DAYS = st.lists(
    st.tuples(st.floats(0, 150), st.floats(-35, 40), st.floats(0, 12)), min_size=1, max_size=120
)
SOILS = st.fixed_dictionaries(
    {
        "wilting_point": st.floats(0.03, 0.3),
        "held": st.floats(0.03, 0.2),
        "drained": st.floats(0.0, 0.35),
        "root_depth_m": st.floats(0.1, 2.0),
        "drain_time_s": st.floats(600, 1e7),
        "easy_share": st.floats(0.1, 0.7),
    }
)


def soil_of(values: dict[str, float]) -> dict[str, float]:
    soil = dict(values)
    soil["field_capacity"] = soil["wilting_point"] + soil.pop("held")
    soil["saturation"] = soil["field_capacity"] + soil.pop("drained")
    return soil


@given(DAYS)
def test_snow_keeps_its_water(days: list[tuple[float, float, float]]) -> None:
    fallen, mean, _ = np.array(days).T
    found = snow_days(fallen, mean)
    out = found.water_mm.sum() + found.pack_mm[-1]
    assert out == pytest.approx(fallen.sum(), rel=1e-9, abs=1e-9)
    assert (found.water_mm >= 0).all() and (found.pack_mm >= 0).all()
    assert (found.frost_degc_d >= 0).all()


@given(DAYS, SOILS)
def test_soil_keeps_its_water(
    days: list[tuple[float, float, float]], values: dict[str, float]
) -> None:
    rain, _, demand = np.array(days).T
    soil = soil_of(values)
    found = soil_days(rain, demand, **soil)
    start = 1000 * (soil["field_capacity"] - soil["wilting_point"]) * soil["root_depth_m"]
    out = found.used_mm + found.drained_mm + found.ran_off_mm + found.stored_mm[:, -1]
    assert out == pytest.approx(start + rain.sum(), rel=1e-9)
    assert (found.stored_mm >= 0).all()
    assert (found.content <= soil["saturation"] * (1 + 1e-9)).all()
    assert (found.used_mm <= demand.sum() + 1e-9).all()


@given(DAYS, SOILS, st.floats(1.0, 3.0))
def test_more_rain_never_leaves_drier_soil(
    days: list[tuple[float, float, float]], values: dict[str, float], factor: float
) -> None:
    rain, _, demand = np.array(days).T
    less, more = (soil_days(r, demand, **soil_of(values)) for r in (rain, rain * factor))
    assert (more.stored_mm >= less.stored_mm - 1e-9).all()


@given(DAYS, SOILS, st.floats(1.0, 2.0))
def test_more_demand_never_leaves_wetter_soil(
    days: list[tuple[float, float, float]], values: dict[str, float], factor: float
) -> None:
    rain, _, demand = np.array(days).T
    less, more = (soil_days(rain, d, **soil_of(values)) for d in (demand, demand * factor))
    assert (more.stored_mm <= less.stored_mm + 1e-9).all()
