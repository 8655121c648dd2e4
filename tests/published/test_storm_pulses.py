"""Published values of the rectangular-pulse process, and its moments from their definition."""

from __future__ import annotations

from dataclasses import replace
from functools import partial
from itertools import pairwise

import numpy as np
import pytest
from scipy.integrate import quad

from riskkit.records import FloatArray, RainRecord
from riskkit.storm.moments import (
    MONTH_H,
    covariance_mm2,
    dry_exponent,
    mean_mm,
    month_statistics,
    process_statistics,
    variance_mm2,
)
from riskkit.storm.pulses import StormKind, StormSeasons, fallen_mm

published = partial(pytest.mark.published, stage="storm", source="rodriguez_iturbe1987")
WINDOWS_H = np.array([1.0, 6.0, 24.0])


def kind(
    per_hour: float,
    storm_h: float,
    cell_rate: float,
    cell_h: float,
    mm_h: float,
    shape: float = 1.0,
    sigma: float = 0.0,
) -> StormKind:
    """Storms that are the same all year."""
    same = np.ones(12)
    return StormKind(
        per_hour * MONTH_H, storm_h * same, cell_rate * same, cell_h * same, mm_h * same,
        shape, sigma,
    )  # fmt: skip


STEADY = kind(0.011, 6.0, 0.45, 2.2, 1.1, 1.0, 0.3)
THUNDER = kind(0.008, 1.4, 1.2, 0.4, 9.0, 1.4, 0.5)
BOTH = pytest.mark.parametrize("storms", [STEADY, THUNDER], ids=["steady", "thunder"])
# E(X²) / E(X)² of a Weibull intensity, typed from tables of the gamma function: 2 for the
# exponential; gamma(17/7) / gamma(12/7)² for a shape of 1.4
SECOND = {1.0: 2.0, 1.4: 1.2658 / 0.91142**2}


@published(
    what="single rectangular pulses: mean, variance, covariance, dry share",
    where="section 2, Poisson rectangular pulses (recalled)", origin="computed", tolerance="1e-6",
)  # fmt: skip
def test_single_pulses() -> None:
    rate, length, mm_h = 0.02, 1.5, 2.0
    alone = kind(rate, 1.0, 1e-12, length, mm_h)
    x = WINDOWS_H / length
    np.testing.assert_allclose(mean_mm(alone, WINDOWS_H)[0], rate * mm_h * length * WINDOWS_H)
    scale = 4.0 * rate * mm_h**2 * length**3  # 2 lambda E(X²) / eta³, E(X²) = 2 mu²
    np.testing.assert_allclose(
        variance_mm2(alone, WINDOWS_H)[0], scale * (x - 1 + np.exp(-x)), rtol=1e-6
    )
    np.testing.assert_allclose(
        covariance_mm2(alone, WINDOWS_H)[0], scale / 2 * (1 - np.exp(-x)) ** 2, rtol=1e-6
    )
    np.testing.assert_allclose(
        dry_exponent(alone, WINDOWS_H)[0], rate * (WINDOWS_H + length), rtol=1e-6
    )


def covariance_by_definition(storms: StormKind, lag_h: float) -> float:
    """Of the rate: pairs of a cell with itself and with others of its storm."""
    rate, length = storms.count[0] / MONTH_H[0], storms.cell_h[0]
    beta, gam = storms.cell_rate_per_h[0], 1.0 / storms.storm_h[0]
    first, factor = storms.intensity_mm_h[0], np.exp(storms.storm_sigma**2)
    cells = 1.0 + beta / gam

    def overlap(gap: float) -> float:  # mean time in which both of two cells rain, lag apart
        return float(np.exp(-abs(gap) / length)) * length / 2.0

    alone = length * np.exp(-lag_h / length) * SECOND[storms.weibull_shape] * first**2
    pairs = sum(
        quad(lambda u: beta * np.exp(-gam * abs(u)) * overlap(lag_h - u), a, b, limit=200)[0]
        for a, b in ((-200.0, 0.0), (0.0, lag_h), (lag_h, 200.0))
    )
    return float(rate * cells * factor * (alone + pairs * first**2))


@published(
    what="variance of rain in a window, integral of the covariance of pairs of cells",
    where="definition of the process in section 4 (recalled)", origin="computed",
    tolerance="0.02 %",
)  # fmt: skip
@BOTH
def test_variance(storms: StormKind) -> None:
    for i, h in enumerate(WINDOWS_H):
        whole = quad(lambda u, h=h: 2 * (h - u) * covariance_by_definition(storms, u), 0, h)[0]
        assert variance_mm2(storms, WINDOWS_H)[0, i] == pytest.approx(whole, rel=2e-4)


@published(
    what="covariance of rain in windows side by side, the same integral",
    where="definition of the process in section 4 (recalled)", origin="computed",
    tolerance="0.02 %",
)  # fmt: skip
@BOTH
def test_covariance(storms: StormKind) -> None:
    for i, h in enumerate(WINDOWS_H):
        whole = quad(
            lambda u, h=h: (h - abs(u - h)) * covariance_by_definition(storms, u), 0, 2 * h,
            points=[h],
        )[0]  # fmt: skip
        assert covariance_mm2(storms, WINDOWS_H)[0, i] == pytest.approx(whole, rel=2e-4)


def dry_by_definition(storms: StormKind, window_h: float) -> float:
    """Mean number of storms that wet a window, by when they began and how long they last."""
    eta, beta, gam = 1 / storms.cell_h[0], storms.cell_rate_per_h[0], 1 / storms.storm_h[0]

    def none(began: float, lasts: float) -> float:  # no cell rains now or later in the window
        until = min(lasts, began)
        left = beta / eta * (np.exp(-eta * (began - until)) - np.exp(-eta * began))
        new = beta * max(0.0, min(lasts, began + window_h) - began)
        return float((1.0 - np.exp(-eta * began)) * np.exp(-left - new))

    def wet_before(began: float) -> float:
        def part(a: float, b: float) -> float:
            return quad(lambda x: gam * np.exp(-gam * x) * (1 - none(began, x)), a, b)[0]

        ends = (0.0, began, began + window_h, began + window_h + 60.0 / gam)
        return sum(part(a, b) for a, b in pairwise(ends))

    most = 40.0 * (storms.storm_h[0] + storms.cell_h[0])
    before = quad(wet_before, 0.0, most / 10, limit=200)[0] + quad(wet_before, most / 10, most)[0]
    return float(storms.count[0] / MONTH_H[0] * (window_h + before))


@published(
    what="dry share of a window, integral over begin and length of a storm",
    where="definition of the process in section 4 (recalled)", origin="computed", tolerance="1e-5",
)  # fmt: skip
@BOTH
def test_dry_share(storms: StormKind) -> None:
    found = dry_exponent(storms, WINDOWS_H)[0]
    for i, h in enumerate(WINDOWS_H):
        assert found[i] == pytest.approx(dry_by_definition(storms, h), rel=1e-5)


@published(
    what="mean time until a storm and all its cells are over, against the published series",
    source="onof1993", where="mean length of a storm, series in kappa and phi", origin="memory",
    tolerance="0.1 %",
)  # fmt: skip
@pytest.mark.parametrize(("kappa", "phi"), [(0.1, 0.05), (0.3, 0.1), (0.5, 0.02), (0.2, 0.15)])
def test_length_of_a_storm(kappa: float, phi: float) -> None:
    # the series ends with fourth powers, so it serves for small kappa and phi only
    storms = kind(0.01, 1.0 / phi, kappa, 1.0, 1.0)
    series = (
        1.0 + phi * (kappa + phi) - 0.25 * phi * (kappa + phi) * (kappa + 4 * phi)
        + phi * (kappa + phi) * (4 * kappa**2 + 27 * kappa * phi + 72 * phi**2) / 72
    ) / phi  # fmt: skip
    # a storm that is not over wets a window that never ends
    gone = dry_exponent(storms, np.array([1e6]))[0, 0] / 0.01 - 1e6
    idle = quad(lambda x: x ** (phi - 1) * (1 - x) * np.exp(-kappa * (1 - x)), 0, 1)[0]
    assert gone + idle * phi / (kappa + phi) == pytest.approx(series, rel=1e-3)


def slow_rain_mm(kinds: tuple[StormKind, ...], hours: int, rng: np.random.Generator) -> FloatArray:
    """Hourly rain, storm by storm and cell by cell, as the definition says."""
    depth = np.zeros(hours)
    for storms in kinds:
        now = 0.0
        while True:
            now += rng.exponential(MONTH_H[0] / storms.count[0])
            if now > hours:
                break
            begins = [now]
            end = now + rng.exponential(storms.storm_h[0])
            while True:
                next_cell = begins[-1] + rng.exponential(1 / storms.cell_rate_per_h[0])
                if next_cell > end:
                    break
                begins.append(next_cell)
            sigma = storms.storm_sigma
            factor = rng.lognormal(-(sigma**2) / 2, sigma)
            unit = SECOND_MEAN[storms.weibull_shape]
            for begin in begins:
                mm_h = storms.intensity_mm_h[0] * factor * rng.weibull(storms.weibull_shape) / unit
                stop = min(begin + rng.exponential(storms.cell_h[0]), float(hours))
                while begin < stop:
                    hour = int(begin)
                    until = min(stop, hour + 1.0)
                    depth[hour] += mm_h * (until - begin)
                    begin = until
    return depth


SECOND_MEAN = {1.0: 1.0, 1.4: 0.91142}  # gamma(1 + 1/shape), from tables


@published(
    what="mean, deviation, correlation and dry share of 150 years rained out cell by cell",
    where="definition of the process in section 4 (recalled)", origin="computed",
    tolerance="4 standard errors",
)  # fmt: skip
def test_rain_cell_by_cell() -> None:
    years = 150
    depth = slow_rain_mm((STEADY, THUNDER), years * 8760, np.random.default_rng(11))
    parts = [
        month_statistics(RainRecord(part, np.datetime64("2001-01-01"), 3600)).mean(axis=0)
        for part in depth.reshape(15, -1)
    ]
    found, error = np.mean(parts, axis=0), np.std(parts, axis=0, ddof=1) / np.sqrt(15)
    whole = process_statistics(StormSeasons(STEADY, THUNDER, 0.2))[0]
    # the correlation of short records is a little too small, by about 1/n of its windows
    assert np.all(np.abs(found - whole) <= 4 * error + [0, 0, 0.01, 0])


@published(
    what="generated rain has the moments of the process",
    where="definition of the process in section 4 (recalled)", origin="computed",
    tolerance="4 standard errors",
)  # fmt: skip
def test_generated_rain() -> None:
    seasons = StormSeasons(STEADY, replace(THUNDER, weibull_shape=0.9), 0.2)
    rng, parts = np.random.default_rng(5), []
    for child in rng.spawn(20):
        depth = np.diff(fallen_mm(seasons, 20, 2001, child))
        depth[depth < 1e-9] = 0.0
        parts.append(month_statistics(RainRecord(depth, np.datetime64("2001-01-01"), 3600)))
    found, error = np.mean(parts, axis=0), np.std(parts, axis=0, ddof=1) / np.sqrt(20)
    off = (found - process_statistics(seasons)) / error
    assert np.all(np.abs(off[..., [0, 1, 3]]) <= 4)
    assert np.all(np.abs(off[..., 2].mean(axis=0)) <= 2)
