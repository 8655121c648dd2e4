"""Public functions are dimensionally right: other base units change their result as its unit says.

Every length that a function is given, by the units of its docstring, is made three times as large,
every time seven times, every mass five times; what it returns has to change as the unit of its
docstring does. A length that is added to a time, or a constant that hides a unit, is seen.
"""

from __future__ import annotations

import inspect
from collections.abc import Mapping
from typing import Any

import numpy as np
import pint
import pytest
from test_dimensions import NO_UNIT, UNIT, written
from test_docstrings import FUNCTIONS, MODELS, doc_of

SCALE = {"[length]": 3.0, "[time]": 7.0, "[mass]": 5.0, "[current]": 2.0, "[temperature]": 1.0}
TYPICAL = {
    "m": 0.7, "m2": 4.0, "m3": 0.3, "m/s": 3e-6, "m3/s": 2e-3, "m2/s": 1e-6, "s": 400.0, "h": 5.0,
    "yr": 2.0, "1/yr": 0.2, "mm": 30.0, "mm/h": 12.0, "Ah": 75.0, "A": 5.0, "-": 0.3,
}  # fmt: skip
"""A value by the unit that a docstring gives; one of what is not here."""

_WAVES = (np.array([[0.5, -1.0]]), np.array([[0.2, 0.4]]), np.array([[1.0, 2.0]]))

# what a function needs besides typical values
GIVEN: dict[str, dict[str, Any]] = {
    "failures.storms.warning_s": {"alarm_s": 300.0, "floor_s": 1200.0},
    "gauge.response.stores_of": {"step_s": 3600.0, "span_s": 864000.0},
    "gauge.water.between": {
        "edges_s": np.array([0.0, 300.0, 600.0]), "amount": np.array([2.0, 3.0]),
        "begin_s": np.array([100.0]), "end_s": np.array([450.0]),
    },
    "gauge.water.let_out": {
        "inflow": np.array([3.0, 0.0, 1.0, 0.0]), "start_s": 0.0, "step_s": 300.0, "time_s": 900.0,
        "at_s": np.array([450.0, 1000.0]),
    },
    "gauge.water.soil_excess_m": {
        "depth_m": np.array([0.03, 0.0, 0.02]), "demand_m": np.array([0.001, 0.004, 0.0]),
        "held_m": np.array([0.02]),
    },
    "gauge.water.store_outflow": {
        "inflow": np.array([3.0, 0.0, 1.0, 0.0]), "step_s": 300.0, "time_s": 900.0,
    },
    "inflow.lot.reservoir_times_s": {"coefficient_s": 400.0, "n": 3},
    "inflow.soils.field_capacity_deficit_m": {"field_capacity": 0.3, "water_content": 0.2},
    "inflow.wetness.total_available_water_mm": {"field_capacity": 0.3, "wilting_point": 0.1},
    "pit.pipe.equivalent_length_m": {"bore_m": np.array([0.04]), "fittings": {"elbow_90": 3}},
    "rainfall.maxima.whole_intervals": {"duration_h": 6.0, "interval_s": 3600.0},
    "reliability.annual.flood_rate_per_yr": {
        "rate_per_yr": np.array([1.0, 0.1, 0.01]), "chance": np.array([0.1, 0.4, 0.9]),
    },
    "reliability.battery_laws.peukert_exponent": {
        "first_ah": 100.0, "first_h": 20.0, "second_ah": 60.0, "second_h": 3.0,
    },
    "risk.runs.with_worst": {
        "to_floor_s": np.array([[[500.0, 90.0]], [[400.0, 95.0]]]),
        "to_alarm_s": np.array([[[50.0, 30.0]], [[40.0, 20.0]]]),
        "told": np.array([[[5.0, 3.0]], [[4.0, 2.0]]]),
    },
    "risk.time_to_flood.worst_of": {"times_s": np.array([[500.0, 90.0, 700.0]])},
    "storm.space.given_in_the_middle": {"waves": _WAVES, "length_km": np.array([3.0])},
    "storm.space.mean_correlation": {"radius_km": 9.0, "length_km": 20.0},
    "storm.space.wave_field": {"waves": _WAVES, "length_km": np.array([3.0])},
    "storm.pulses.read_by_gauge": {"fallen": np.array([0.0, 0.7, 1.9, 2.0]), "gauge_mm": 0.254},
}  # fmt: skip

_A_YEAR = "it counts what comes in one year"
_A_DAY = "it goes by days of the calendar or hours of the day"
_EMPIRICAL = "an empirical formula, whose constants have units"
_NATURE = "it holds constants of nature: gravity, water, ice, the sun or the Earth"
_TABLE = "it reads off a table whose rows are sizes or times"
_JUDGED = "it holds a length or time that is judgement"

# why a function cannot be held to it
EXEMPT: dict[str, str] = {
    "antecedent.days.month_of": _A_DAY,
    "antecedent.ice.ice_closed": _A_DAY,
    "antecedent.ice.plank_degree_days": _NATURE,
    "evidence.hose_at_wall.lag_log": _JUDGED,
    "evidence.pit_tests.draw_down_sd": _JUDGED,
    "evidence.pit_tests.rise_sd_m": _JUDGED,
    "evidence.planning.log_minutes": _JUDGED,
    "evidence.told_of_rain.often_in_years": "it takes homes and a table, not numbers",
    "failures.backup.second_start_m": _JUDGED,
    "failures.home_faults.unseen_shares": "it takes parts by name, not numbers",
    "gauge.synthetic.cycled": "it goes by hours",
    "inflow.evaporation.extraterrestrial_radiation_mj_m2": _NATURE,
    "inflow.evaporation.hargreaves_mm": _EMPIRICAL,
    "inflow.evaporation.solar_declination_rad": _A_DAY,
    "inflow.evaporation.sun_distance_factor": _A_DAY,
    "inflow.seepage.sichardt_reach_m": _EMPIRICAL,
    "inflow.wetness.soil_days": "it returns several courses at once",
    "inflow.snow.degree_day_melt_mm": _A_DAY,
    "inflow.snow.frost_index_degc_d": _EMPIRICAL,
    "inflow.snow.snow_depth_cm": _NATURE,
    "pit.geometry.below_minimum_size": _TABLE,
    "pit.pipe.friction_slope": _NATURE,
    "pit.pipe.pipe_head_loss_m": _NATURE,
    "rainfall.distance.distance_km": _NATURE,
    "rainfall.envelope.world_envelope_mm": _EMPIRICAL,
    "rainfall.frequency.depth_by_return_period_mm": _A_YEAR,
    "rainfall.frequency.partial_return_period_yr": _A_YEAR,
    "rainfall.frequency.shrunk_shape": _EMPIRICAL,
    "rainfall.minutes.minute_ratios": _TABLE,
    "rainfall.plotting.plot_correlation": "it compares ranks and shapes, not sizes",
    "rainfall.readers.noaa.coarse_years": _A_DAY,
    "reliability.annual.annual_chance_of": _A_YEAR,
    "reliability.annual.split_by_cause": "it takes causes by name, not numbers",
    "reliability.causes.fault_rates_per_yr": "it takes parts by name, not numbers",
    "reliability.households.households_with_outage": _A_YEAR,
    "risk.critical.closer_steps": _JUDGED,
    "risk.critical.day_of": "it looks for the storm of a day",
    "risk.critical.wet_stops": _JUDGED,
    "storm.space.areal_reduction": _EMPIRICAL,
    "storm.space.correlation_km": _EMPIRICAL,
}


def unit_of(lines: list[str]) -> str | None:
    """The one unit that is told; None where none or several are."""
    units = set(UNIT.findall(" ".join(lines)))
    return units.pop() if len(units) == 1 else None


def units_of(name: str) -> tuple[dict[str, str], str] | None:
    """Units of arguments and result, where all have one, and one of them is no mere number."""
    doc = doc_of(name)
    found: dict[str, str] = {}
    for entry in doc["Parameters"]:
        unit = unit_of(entry.desc)
        if unit is None:
            return None
        found |= dict.fromkeys((part.strip() for part in entry.name.split(",")), unit)
    result = unit_of([line for entry in doc["Returns"] for line in entry.desc])
    if not found or result is None or all(unit in NO_UNIT for unit in (*found.values(), result)):
        return None
    return found, result


ELIGIBLE = {
    name.removeprefix("riskkit."): units
    for name, function in FUNCTIONS.items()
    if name.startswith(MODELS) and "self" not in inspect.signature(function).parameters
    and (units := units_of(name)) is not None
}  # fmt: skip


@pytest.fixture(scope="module")
def registry() -> pint.UnitRegistry[float]:
    made: pint.UnitRegistry[float] = pint.UnitRegistry()
    made.define("money = [money]")
    made.define("CAD = money")
    return made


def factor(registry: pint.UnitRegistry[float], unit: str) -> float:
    """By what a quantity of this unit grows in the other base units."""
    if unit in NO_UNIT:
        return 1.0
    powers: Mapping[str, float] = dict(registry.parse_units(written(unit)).dimensionality)
    return float(np.prod([SCALE.get(kind, 1.0) ** power for kind, power in powers.items()]))


def arguments(name: str, units: Mapping[str, str]) -> dict[str, Any]:
    given = GIVEN.get(name, {})
    return {key: given.get(key, np.array([1.0, 1.3]) * TYPICAL.get(unit, 1.0))
            for key, unit in units.items()}  # fmt: skip


@pytest.mark.parametrize("name", sorted(ELIGIBLE.keys() - EXEMPT.keys()))
def test_the_result_has_its_unit(registry: pint.UnitRegistry[float], name: str) -> None:
    units, result = ELIGIBLE[name]
    function, here = FUNCTIONS[f"riskkit.{name}"], arguments(name, units)
    there = {
        key: value if units[key] in NO_UNIT else value * factor(registry, units[key])
        for key, value in here.items()
    }
    found = np.asarray(function(**here), dtype=np.float64)
    assert np.all(np.isfinite(found)) and np.any(found != 0), "say in GIVEN what it needs"
    wanted = found * factor(registry, result)
    np.testing.assert_allclose(np.asarray(function(**there), float), wanted, rtol=1e-6)


def test_only_functions_that_are_there_are_exempt() -> None:
    assert EXEMPT.keys() <= ELIGIBLE.keys() and GIVEN.keys() <= ELIGIBLE.keys()
    assert len(ELIGIBLE) - len(EXEMPT) >= 40


@pytest.mark.parametrize(("unit", "grows"), [("m", 3), ("m3/s", 27 / 7), ("1/yr", 1 / 7), ("-", 1)])
def test_units_grow_as_they_should(
    registry: pint.UnitRegistry[float], unit: str, grows: float
) -> None:
    assert factor(registry, unit) == pytest.approx(grows)
