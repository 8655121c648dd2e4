"""Green and Ampt against its closed form, and steady rain, ponds and steps put in every way."""

import numpy as np
import pytest
from scipy.integrate import solve_ivp
from scipy.special import lambertw

from riskkit.inflow.soils import sorption_m
from tests.inflow.ground import ponded_m, ponding_time_s, soaked_m

CM_H = 0.01 / 3600
SILT_LOAM = (0.65 * CM_H, float(sorption_m(0.1668, 0.34)))
CLAY = (0.03 * CM_H, float(sorption_m(0.3163, 0.2)))


def closed_form(k, s, time):
    """Depth from dry ground by the lower branch of Lambert's W."""
    return -s * (1 + lambertw(-np.exp(-1 - k * time / s), -1).real)


@pytest.mark.parametrize("soil", [SILT_LOAM, CLAY, (11.78 * CM_H, 0.0495 * 0.417)])
def test_ponded_infiltration_is_the_closed_form(soil) -> None:
    # for shorter times the argument of W is too near to -1/e for its own digits, for longer ones
    # its exponential is zero
    time = np.geomspace(1e-3, 300, 40) * soil[1] / soil[0]
    np.testing.assert_allclose(ponded_m(*soil, time), closed_form(*soil, time), rtol=1e-9)


@pytest.mark.parametrize("start", [0.0, 1e-6, 0.003, 0.05, 2.0])
@pytest.mark.parametrize("time", [1e-3, 1.0, 300.0, 1e6])
def test_ponded_infiltration_satisfies_the_implicit_equation(start, time) -> None:
    k, s = SILT_LOAM
    total = ponded_m(*SILT_LOAM, time, start)
    # time from dry ground to the end, and to the start, on the one ponded curve
    gain = total - start
    left = gain - s * np.log1p(gain / (start + s))
    np.testing.assert_allclose(left, k * time, rtol=1e-9, atol=4e-17)


def test_ponded_infiltration_in_two_goes_is_that_in_one() -> None:
    first = ponded_m(*CLAY, 700.0)
    both = ponded_m(*CLAY, 1100.0, first)
    np.testing.assert_allclose(both, ponded_m(*CLAY, 1800.0), rtol=1e-11)


def test_saturated_soil_takes_its_conductivity() -> None:
    assert ponded_m(2e-6, float(sorption_m(0.2, 0.0)), 500.0, 0.01) == pytest.approx(0.011)


def test_rate_is_the_slope_of_the_depth() -> None:
    at = ponded_m(*SILT_LOAM, np.array([3599.0, 3600.0, 3601.0]))
    k, s = SILT_LOAM
    rate = k * (1 + s / at[1])
    assert (at[2] - at[0]) / 2 == pytest.approx(rate, rel=1e-6)


@pytest.mark.parametrize("times", [1.2, 3.0, 30.0])
def test_steady_rain_ponds_when_the_formula_says(times) -> None:
    rain = times * SILT_LOAM[0]
    k, s = SILT_LOAM
    ponds_at = k * s / (rain * (rain - k))  # Mein and Larson
    assert ponding_time_s(*SILT_LOAM, rain) == pytest.approx(ponds_at, rel=1e-9)
    step = ponds_at / 7.3  # ponding falls inside a step
    soaked, ran_off = soaked_m(np.full(20, rain * step), step, *SILT_LOAM)
    assert not ran_off[:7].any()
    np.testing.assert_allclose(soaked[:7], rain * step)
    assert (ran_off[7:] > 0).all()
    # after ponding: the ponded curve from the depth at ponding
    after = ponded_m(*SILT_LOAM, 20 * step - ponds_at, rain * ponds_at)
    assert soaked.sum() == pytest.approx(float(after), rel=1e-10)


def test_light_rain_never_ponds() -> None:
    soaked, ran_off = soaked_m(np.full(500, 0.99 * SILT_LOAM[0] * 300), 300.0, *SILT_LOAM)
    assert not ran_off.any()
    assert soaked.sum() == pytest.approx(500 * 0.99 * SILT_LOAM[0] * 300)


@pytest.mark.parametrize("pond", [0.0, 0.002, 0.03])
def test_cutting_steps_in_parts_changes_nothing(pond) -> None:
    rain = np.random.default_rng(4).gamma(0.4, 0.004, 60)
    coarse, shed = soaked_m(rain, 300.0, *SILT_LOAM, pond)
    fine, shed_fine = soaked_m(np.repeat(rain / 8, 8), 37.5, *SILT_LOAM, pond)
    np.testing.assert_allclose(fine.reshape(60, 8).sum(1), coarse, atol=1e-12)
    np.testing.assert_allclose(shed_fine.reshape(60, 8).sum(1), shed, atol=1e-12)
    if pond == 0.0:
        np.testing.assert_allclose(coarse + shed, rain, atol=1e-15)
    assert shed.sum() > 0.01


def test_a_pond_dries_inside_a_step_as_the_differential_equation_says() -> None:
    k, s = SILT_LOAM
    step = 1800.0
    rain = np.array([0.02, 0.0008, 0.0, 0.006, 0.0])
    soaked, _ = soaked_m(rain, step, *SILT_LOAM, 1.0)

    depth, pond, taken = 1e-9, 0.0, []
    for r in rain:
        before = depth
        for _ in range(20000):  # small forward steps: slow and obvious
            dt = step / 20000
            can = k * (1 + s / depth) * dt
            take = min(can, pond + r / 20000)
            depth += take
            pond += r / 20000 - take
        taken.append(depth - before)
    np.testing.assert_allclose(soaked, taken, atol=2e-5)
    assert pond == pytest.approx(rain.sum() - soaked.sum(), abs=2e-5)


def test_ponded_depth_equals_an_ode_solver() -> None:
    k, s = CLAY
    out = solve_ivp(lambda t, f: k * (1 + s / f), (0, 86400), [0.004], rtol=1e-10, atol=1e-14)
    assert ponded_m(*CLAY, 86400.0, 0.004) == pytest.approx(out.y[0, -1], rel=1e-8)
