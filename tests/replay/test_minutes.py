"""Hours broken down into minutes: what is kept, and against what official tables print."""

from __future__ import annotations

import numpy as np
import pytest

from riskkit.rainfall.minutes import hour_tables, printed_fit, ratios_of
from riskkit.years.minutes import HEAVY_MM, minutes_of_hours


def largest_mm(fine: np.ndarray, minutes: int) -> float:
    """The most rain in so many minutes on end."""
    n = minutes // 5
    return max(float(fine[i : i + n].sum()) for i in range(fine.size - n + 1))


@pytest.mark.parametrize("hour_mm", [5.0, 12.7, 30.0, 61.3])
@pytest.mark.parametrize("minutes", [5, 10, 15, 30])
def test_the_worst_minutes_of_an_hour_bring_what_tables_print(hour_mm: float, minutes: int) -> None:
    """Rounded to a tenth of a millimetre, the ratio is that of the fit to the printed tables."""
    fine = minutes_of_hours(np.array([[0.0, hour_mm, 0.0]]))[0]
    fit = printed_fit(hour_tables())
    ratio = ratios_of(fit, np.array([float(minutes)]), round(hour_mm, 1), np.array([2.0]))[0, 0]
    assert largest_mm(fine, minutes) / hour_mm == pytest.approx(ratio, rel=1e-9)
    assert ratio > minutes / 60.0


def test_every_hour_brings_what_it_brought() -> None:
    rng = np.random.default_rng(2)
    hours = rng.gamma(0.5, 8.0, (5, 40))
    fine = minutes_of_hours(hours)
    assert fine.shape == (5, 480)
    np.testing.assert_allclose(fine.reshape(5, 40, 12).sum(axis=2), hours, rtol=1e-12)
    assert (fine >= 0).all()


def test_the_worst_minutes_lie_in_the_middle_and_nested() -> None:
    fine = minutes_of_hours(np.array([[25.0]]))[0]
    order = np.argsort(-fine, kind="stable")
    assert order[0] == 6 and set(order[:3]) == {5, 6, 7}
    for n in range(1, 13):  # the n worst are always side by side
        assert np.ptp(order[:n]) == n - 1


def test_gentle_hours_stay_even() -> None:
    hours = np.array([[HEAVY_MM - 0.01, 0.0, HEAVY_MM]])
    fine = minutes_of_hours(hours)[0]
    np.testing.assert_allclose(fine[:12], (HEAVY_MM - 0.01) / 12)
    np.testing.assert_array_equal(fine[12:24], 0.0)
    assert np.ptp(fine[24:]) > 0.1


def test_heavier_hours_are_less_peaked() -> None:
    peaks = [float(minutes_of_hours(np.array([[mm]]))[0].max()) / mm for mm in (6.0, 20.0, 60.0)]
    assert peaks[0] > peaks[1] > peaks[2]
