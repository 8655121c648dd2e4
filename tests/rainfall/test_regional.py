"""Rain that stands in where a home has none: between printed places, with honest limits."""

from __future__ import annotations

import numpy as np
import pytest

from riskkit.home.home import Home
from riskkit.quantities.climate import read_climate
from riskkit.rainfall.distance import distance_km
from riskkit.rainfall.extremes import DURATIONS_H
from riskkit.rainfall.regional import (
    HourPoints,
    growth_of_hour,
    hour_at,
    hour_between,
    hour_points,
    log_sd_between,
    regional_depths,
)
from riskkit.risk.design_rain import regional_rain

CHAMPAIGN = (40.0962, -88.2574)
# NOAA Atlas 14 volume 2 version 3 at that point, partial duration [in], 1, 10 and 100 years; it is
# not among the places of the table, and only its two and three days gave ratios, to its day
PRINTED_IN = {1.0: (1.26, 2.17, 3.19), 6.0: (1.90, 3.25, 5.16), 24.0: (2.57, 4.31, 6.88)}


def test_a_degree_along_the_equator() -> None:
    # 6371 km x pi / 180 = 111.195 km; a quarter of the way round: 90 x 111.195 = 10007.5 km
    found = distance_km(0.0, 0.0, np.array([0.0, 1.0, 90.0]), np.array([1.0, 0.0, 0.0]))
    assert found == pytest.approx([111.195, 111.195, 10007.5], abs=0.05)


def test_between_three_places_equally_far_their_geometric_mean_counts() -> None:
    # the fourth is farther and does not count: (1 x 8 x 27)^(1/3) = 6
    points = HourPoints(
        ("a", "b", "c", "d"),
        np.array([0.0, 0.0, 1.0, 5.0]), np.array([1.0, -1.0, 0.0, 5.0]),
        np.array([1.0, 8.0, 27.0, 99.0]),
    )  # fmt: skip
    hour, _, away = hour_between(points, 0.0, 0.0)
    assert hour == pytest.approx(6.0, rel=1e-9)
    assert away == pytest.approx(111.195, abs=0.05)
    # twice as near counts four times: weights 4, 1, 1: 2^(4/6) x 16^(2/6) = 4
    nearer = HourPoints(
        ("a", "b", "c"), np.zeros(3), np.array([1.0, -2.0, 2.0]), np.array([2.0, 16.0, 16.0])
    )
    assert hour_between(nearer, 0.0, 0.0)[0] == pytest.approx(4.0, rel=1e-6)


def test_a_place_that_is_not_in_the_table_lies_within_the_limits() -> None:
    table = regional_depths(*CHAMPAIGN)
    for hours, printed in PRINTED_IN.items():
        for years, depth_in in zip((1.0, 10.0, 100.0), printed, strict=True):
            low, high = table.limits_at(hours, years)  # type: ignore[misc]  # it has limits
            assert low < 25.4 * depth_in < high, (hours, years)
            assert table.depth_at(hours, years) == pytest.approx(25.4 * depth_in, rel=0.16)


def test_the_table_serves_every_storm_and_is_marked() -> None:
    for place in (CHAMPAIGN, (64.8, -147.7), (-33.0, 151.0), (None, None)):
        table = regional_depths(*place)
        assert table.duration_h == pytest.approx(DURATIONS_H)
        assert table.return_period_yr.tolist() == [1.0, 2.0, 5.0, 10.0, 25.0, 50.0, 100.0]
        assert table.source.startswith("regional default, not rain of this place")
    assert "West Lafayette IN" in regional_depths(*CHAMPAIGN).source


def test_far_from_all_places_their_whole_spread_counts() -> None:
    near, far, nowhere = hour_at(*CHAMPAIGN), hour_at(-33.0, 151.0), hour_at(None, None)
    assert far == nowhere
    assert far[2] == ""
    assert far[1] == pytest.approx(np.std(np.log(hour_points().hour_mm), ddof=1))
    assert near[1] == log_sd_between() < far[1] / 2


def test_growth_is_that_of_the_printed_hours() -> None:
    mean, spread = growth_of_hour()
    # the 1-year hour over that of 100 years in the ten tables of hour_depths.csv that print both:
    # 0.976/2.58 = 0.378, 0.953/2.58 = 0.369, 1.22/3.12 = 0.391, 0.97/2.68 = 0.362,
    # 0.690/2.18 = 0.317, 2.14/4.38 = 0.489, 1.36/3.40 = 0.400, 1.52/3.63 = 0.419,
    # 0.383/0.882 = 0.434, 0.265/0.745 = 0.356; geometric mean exp(-0.9443) = 0.389
    assert mean[0] == pytest.approx(0.389, abs=5e-4)
    assert mean[-1] == 1.0 and spread[-1] == 0.0
    assert np.all(np.diff(mean) > 0)


def test_a_changed_climate_raises_it_too() -> None:
    home = Home()
    plain, warmer = (regional_rain(home.changed(rain={"climate": text})) for text in (None, "20 %"))
    assert read_climate("20 %", "climate").factor == pytest.approx(1.2)
    assert warmer.used.depth_mm == pytest.approx(1.2 * plain.used.depth_mm)
