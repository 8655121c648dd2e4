"""Roof water: what goes where, and that none is lost."""

import numpy as np
import pytest

from riskkit.inflow import surface


def test_roof_water_is_shared_out_whole() -> None:
    intensity = np.array([[0.0, 20.0, 90.0, 180.0]])
    water = surface.split_roof_water_m3_s(intensity, 130.0, 0.9, 90.0, 0.3, 0.2)
    whole = surface.rational_flow_m3_s(0.9, intensity, 130.0)
    np.testing.assert_allclose(sum(water), whole, rtol=1e-14)
    # 90 mm/h of the 180 go over the eaves
    np.testing.assert_allclose(water.overflow_m3_s[0], [0, 0, 0, whole[0, 3] / 2])
    np.testing.assert_allclose(water.at_wall_m3_s[0, 1:3], 0.3 * whole[0, 1:3])
    np.testing.assert_allclose(water.to_drain_m3_s[0, 3], 0.2 * whole[0, 3] / 2)


def test_no_gutter_lets_all_water_over_the_eaves() -> None:
    water = surface.split_roof_water_m3_s(50.0, 100.0, 1.0, 0.0, 0.4, 0.0)
    assert water.overflow_m3_s == pytest.approx(100 * 0.05 / 3600)
    assert water.at_wall_m3_s == 0


def test_gutters_overflow_above_their_capacity() -> None:
    carried = 4 * 0.9 * surface.eaves_gutter_flow_m3_s(6300.0)
    limit = surface.gutter_capacity_mm_h(carried, 130.0, 0.9)
    assert 50 < limit < 500  # four outlets of a 5-in gutter on a house
    assert surface.rational_flow_m3_s(0.9, limit, 130.0) == pytest.approx(carried)
