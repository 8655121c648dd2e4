"""Pit, pump and pipe against published values and the arithmetic of the trade."""

import numpy as np
import pytest

from riskkit.pit import geometry, pipe, pump
from riskkit.pit.balance import run_pit
from riskkit.pit.model import build_pit
from riskkit.quantities.units import convert
from riskkit.quantities.variables import choices
from riskkit.records import PitInflow
from tests.pit.conftest import follow_alone

ONE = np.ones(1)
GPM = convert(1.0, "gpm", "m3/s")
INCH = convert(1.0, "in", "m")
GALLON = convert(1.0, "gal", "m3")

# feet per 100 feet by gallons a minute, as printed
FRICTION = {
    "1-1/4 in": {
        2: 0.07, 3: 0.16, 4: 0.25, 5: 0.39, 6: 0.55, 7: 0.76, 8: 0.97, 9: 1.21, 10: 1.46, 11: 1.77,
        12: 2.09, 13: 2.42, 14: 2.74, 15: 3.06, 16: 3.49, 17: 3.93, 18: 4.37, 19: 4.81, 20: 5.23,
    },
    "1-1/2 in": {
        3: 0.07, 4: 0.12, 5: 0.18, 6: 0.25, 7: 0.36, 8: 0.46, 9: 0.58, 10: 0.7, 11: 0.84, 12: 1.01,
        13: 1.17, 14: 1.33, 15: 1.45, 16: 1.65, 17: 1.86, 18: 2.07, 19: 2.28, 20: 2.46, 25: 3.75,
        30: 5.22,
    },
    "2 in": {
        6: 0.07, 7: 0.1, 8: 0.14, 9: 0.17, 10: 0.21, 11: 0.25, 12: 0.3, 13: 0.35, 14: 0.39,
        15: 0.44, 16: 0.5, 17: 0.56, 18: 0.62, 19: 0.68, 20: 0.74, 25: 1.1, 30: 1.54, 35: 2.05,
        40: 2.62, 45: 3.27, 50: 3.98,
    },
}  # fmt: skip
WARM_VISCOSITY_M2_S = 1.004e-6  # water at 20 degC


def bore_m(size: str) -> float:
    """Inside diameter of Schedule 40 pipe as the home file takes it."""
    return choices()["pipe.size"].options[size]["pipe.bore"].p50


def round_pit(diameter_in=18.0, off_in=20.0, on_in=12.0, alarm_in=6.0, pump_gpm=40.0):
    room = [
        *geometry.round_storage(24 * INCH * ONE, diameter_in * INCH * ONE),
        geometry.basement_storage(90.0 * ONE, 0.0 * ONE),
    ]
    depths = (depth * INCH * ONE for depth in (off_in, on_in, alarm_in))
    return build_pit(room, *depths, pump_gpm * GPM * ONE, 0.0 * ONE)


def run_steady(pit, gpm, hours=24.0):
    return run_pit(pit, PitInflow(np.full((1, round(hours * 12)), gpm * GPM), 300.0))


@pytest.mark.published(
    stage="pump", what="Darcy-Weisbach against the printed friction of plastic pipe",
    source="illinois_906", where="Exhibit I, 29 values from 1 ft per 100 ft up", origin="printed",
    tolerance="8 % between two formulas",
)  # fmt: skip
@pytest.mark.parametrize("size", FRICTION)
def test_darcy_weisbach_agrees_with_the_printed_friction(size) -> None:
    """At 20 degC; the table rests on Hazen and Williams, which loses too little at low speed."""
    bore = np.array(bore_m(size))
    for gpm, printed in FRICTION[size].items():
        if printed >= 1.0:
            slope = pipe.friction_slope(
                np.array(gpm * GPM), bore, viscosity_m2_s=WARM_VISCOSITY_M2_S
            )
            assert 100 * float(slope) == pytest.approx(printed, rel=0.08)


@pytest.mark.published(
    stage="pump", what="friction of Schedule 40 plastic pipe", source="illinois_906",
    where="Exhibit I, all 60 values by its own formula (C = 150)", origin="printed",
    tolerance="0.06 ft per 100 ft",
)  # fmt: skip
@pytest.mark.parametrize("size", FRICTION)
def test_bores_reproduce_the_printed_friction_table(size) -> None:
    """J = 0.2083 (100 / C)^1.852 Q^1.852 / d^4.8655, in gpm and inches: holds the bores."""
    for gpm, printed in FRICTION[size].items():
        loss = 0.2083 * (100 / 150 * gpm) ** 1.852 / (bore_m(size) / INCH) ** 4.8655
        assert loss == pytest.approx(printed, abs=0.06)


@pytest.mark.published(
    stage="pump", what="velocity in pipe", source="arithmetic", where="V = 0.4085 Q / d²",
    origin="computed", tolerance="0.02 ft/s",
)  # fmt: skip
@pytest.mark.parametrize(("size", "gpm", "feet"), [("1-1/2 in", 20, 3.15), ("2 in", 40, 3.82)])
def test_velocity(size, gpm, feet) -> None:
    found = pipe.velocity_m_s(np.array(gpm * GPM), np.array(bore_m(size)))
    assert convert(float(found), "m/s", "ft/s") == pytest.approx(feet, abs=0.02)


FITTINGS = {
    "1-1/4 in": {"elbow_45": 1.61, "elbow_90": 3.45, "tee_branch": 6.9},
    "1-1/2 in": {"elbow_45": 1.88, "elbow_90": 4.02, "tee_branch": 8.04},
    "2 in": {"elbow_45": 2.41, "elbow_90": 5.17, "tee_branch": 10.3},
}


@pytest.mark.published(
    stage="pump", what="equivalent length of fittings", source="irc_a22", where="Table A.2.2",
    origin="printed", tolerance="0.05 ft",
)  # fmt: skip
@pytest.mark.parametrize("size", FITTINGS)
def test_equivalent_length_of_fittings(size) -> None:
    for name, feet in FITTINGS[size].items():
        found = pipe.equivalent_length_m(np.array([bore_m(size)]), {name: 1})
        assert convert(float(found[0]), "m", "ft") == pytest.approx(feet, abs=0.05)


@pytest.mark.published(
    stage="pump", what="a pump rated at 43 gallons a minute", source="common_practice", where="",
    origin="practice", tolerance="exact",
)  # fmt: skip
def test_the_usual_plate() -> None:
    """43 gpm at 10 ft; with 8 ft of lift and a short pipe it gives a little less or more."""
    rated, head = 43 * GPM, convert(10, "ft", "m")
    curve = pump.curve_from_rating(rated * ONE, head * ONE, convert(22, "ft", "m") * ONE)
    assert pump.pump_head_m(curve, np.array([[rated]]))[0, 0] == pytest.approx(head)
    bore = bore_m("1-1/2 in") * ONE
    length = 6.0 + pipe.equivalent_length_m(bore, {"elbow_90": 3, "swing_check_valve": 1})
    lift = np.array([[-convert(1, "ft", "m")]])
    flow = pump.duty_flow_m3_s(lift, curve, convert(7, "ft", "m") * ONE, bore, length)
    assert 30 * GPM < flow[0, 0] < 43 * GPM


@pytest.mark.published(
    stage="pit", what="gallons per inch of a round pit", source="arithmetic",
    where="231 cubic inches to the gallon", origin="computed", tolerance="0.001 gal",
)  # fmt: skip
@pytest.mark.parametrize(("inches", "gallons"), [(18, 1.102), (24, 1.958), (30, 3.06)])
def test_gallons_per_inch(inches, gallons) -> None:
    area = geometry.round_area_m2(inches * INCH * ONE)[0]
    assert area * INCH / GALLON == pytest.approx(gallons, abs=0.001)


@pytest.mark.published(
    stage="pit", what="least size of a pit, and what it holds", source="irc_p3303",
    where="P3303.1.2", origin="printed", tolerance="exact",
)  # fmt: skip
def test_least_size_of_a_pit() -> None:
    found = geometry.below_minimum_size(
        np.array([18.0, 17.5, 18.0, 24.0]) * INCH, np.array([24.0, 24.0, 23.5, 30.0]) * INCH
    )
    np.testing.assert_array_equal(found, [0, 1, 1, 0])
    room = geometry.round_storage(24 * INCH * ONE, 18 * INCH * ONE)
    assert geometry.volume_m3(room, 0.0 * ONE)[0] / GALLON == pytest.approx(26.4, abs=0.05)


@pytest.mark.published(
    stage="pit", what="volume between start and stop for a cycle time", source="hec22",
    where="eq. 9-2: V = T Q / 4 (recalled)", origin="computed", tolerance="0.1 %",
)  # fmt: skip
def test_cycle_time_of_the_design_volume() -> None:
    """60 gal and 40 gpm: with half of that coming in, ten starts an hour, six minutes each."""
    height_in = 60 / 1.958
    room = [
        *geometry.round_storage(60 * INCH * ONE, 24 * INCH * ONE),
        geometry.basement_storage(90.0 * ONE, 0.0 * ONE),
    ]
    area = geometry.round_area_m2(24 * INCH * ONE)
    off = 0.3 + 60 * GALLON / area
    pit = build_pit(room, off, 0.3 * ONE, 0.1 * ONE, 40 * GPM * ONE, 0 * ONE)
    assert float(off[0] - 0.3) == pytest.approx(height_in * INCH, rel=1e-3)
    starts = {q: run_steady(pit, q, hours=96).starts[0] for q in (5, 10, 15, 20, 25, 30, 35)}
    minutes = {q: 96 * 60 / n for q, n in starts.items()}
    assert minutes[20] == pytest.approx(6.0, abs=0.02)
    assert minutes[10] == pytest.approx(8.0, abs=0.02)
    assert min(minutes, key=minutes.__getitem__) == 20
    assert minutes[10] == pytest.approx(minutes[30], rel=0.005)
    assert run_steady(pit, 20).starts_per_hour[0] == 10


@pytest.mark.published(
    stage="pit", what="duty cycle of the pump", source="arithmetic", where="8 gpm in, 40 gpm out",
    origin="computed", tolerance="0.01",
)  # fmt: skip
def test_duty_cycle() -> None:
    run = run_steady(round_pit(), 8.0)
    share = run.run_time_s[0] / 86400
    assert share == pytest.approx(0.2, abs=0.001)
    assert 3.16 / share == pytest.approx(15.8, abs=0.1)


@pytest.mark.published(
    stage="pit", what="minutes from alarm to floor in the pit alone", source="arithmetic",
    where="volume over flow; 18-in pit, 6 in", origin="computed", tolerance="0.002 min",
)  # fmt: skip
@pytest.mark.parametrize(("gpm", "minutes"), [(5, 1.322), (10, 0.661), (20, 0.33)])
def test_minutes_in_a_bare_pit(gpm, minutes) -> None:
    inflow = PitInflow(np.full((1, 12), gpm * GPM), 300.0)
    found = follow_alone(round_pit(), inflow, [0, 4]).floor_s
    np.testing.assert_allclose(found / 60, minutes, atol=0.002)


@pytest.mark.published(
    stage="pit", what="an alarm that gives about six inches of warning", source="common_practice",
    where="", origin="practice", tolerance="0.01 min",
)  # fmt: skip
def test_six_inches_of_warning() -> None:
    """By hand: 6 in of an 18-in pit are 6.61 gal, at 3 gpm 2.20 min; with 4 in of gravel under a
    1,000 ft2 slab, 37 % pores, a quarter of them open, 230.7 gal more and 79.1 min in all.
    """
    inflow = PitInflow(np.full((1, 48), 3 * GPM), 300.0)
    bare = follow_alone(round_pit(), inflow, [0]).floor_s[0, 0]
    assert bare / 60 == pytest.approx(6 * 1.1016 / 3, abs=0.01)
    area = convert(1000, "ft2", "m2")
    room = [
        *geometry.round_storage(24 * INCH * ONE, 18 * INCH * ONE),
        geometry.gravel_storage(1 * INCH * ONE, 4 * INCH * ONE, area * ONE, 0.37 * ONE, 0.25 * ONE),
        geometry.basement_storage(area * ONE, 0.0 * ONE),
    ]
    depths = (depth * INCH * ONE for depth in (20.0, 12.0, 6.0))
    pit = build_pit(room, *depths, 40 * GPM * ONE, 0.0 * ONE)
    found = follow_alone(pit, inflow, [0]).floor_s[0, 0]
    gallons = 1000 * 4 / 12 * 0.37 * 0.25 * 1728 / 231
    assert gallons == pytest.approx(230.7, abs=0.1)
    assert found / 60 == pytest.approx((6 * 1.1016 + gallons) / 3, abs=0.01)
