"""The closed forms, against twice the digits."""

import decimal as d

import numpy as np
import pytest

from riskkit.pit import _bands


@pytest.fixture(autouse=True)
def fifty_digits():
    with d.localcontext() as context:
        context.prec = 50
        yield


def exact_cross(r0: float, r1: float) -> tuple[d.Decimal, d.Decimal]:
    """Time per volume, and the place of the mean volume, of a flow from r0 to r1."""
    a, b = d.Decimal(r0), d.Decimal(r1)
    if a == b:
        return 1 / a, d.Decimal("0.5")
    mean = (b - a) / (b / a).ln()
    return 1 / mean, (mean - a) / (b - a)


@pytest.mark.parametrize(
    ("function", "ratio", "digits"), [(_bands.cross, 9.0, 1e-14), (_bands.cross_near, 1.66, 2e-15)]
)
def test_crossing(function, ratio, digits) -> None:
    rng = np.random.default_rng(1)
    spread = rng.uniform(-1, 1, 500) * rng.uniform(0, 1, 500) ** 6
    for r0, r1 in zip(rng.uniform(1e-5, 3e-3, 500), ratio**spread, strict=True):
        for sign in (1.0, -1.0):
            time, place = function(sign * 0.02, sign * r0, sign * r0 * r1)
            exact_time, exact_place = exact_cross(r0, float(r0 * r1))
            assert time == pytest.approx(float(exact_time) * 0.02, rel=digits)
            assert place == pytest.approx(float(exact_place), abs=2e-12)


@pytest.mark.parametrize(
    ("function", "most"), [(_bands.phi_psi, 30.0), (_bands.phi_psi_near, 0.52)]
)
def test_change_in_a_given_time(function, most) -> None:
    rng = np.random.default_rng(2)
    for x in most * rng.uniform(-1, 1, 500) * rng.uniform(0, 1, 500) ** 4:
        big = d.Decimal(float(x))
        phi, psi = function(float(x))
        assert phi == pytest.approx(float((big.exp() - 1) / big), rel=1e-14)
        assert psi == pytest.approx(float((big.exp() - 1 - big) / big**2), rel=1e-12)
    assert function(0.0) == (1.0, 0.5)
