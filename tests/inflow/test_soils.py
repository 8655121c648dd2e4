"""Soil table: look-up, units, order."""

import numpy as np
import pytest

from riskkit.errors import InputError
from riskkit.inflow import soils


def test_lookup_gives_si_for_each_draw() -> None:
    found = soils.soil_properties(["clay", "sand", "clay"])
    np.testing.assert_allclose(found.k_m_s, np.array([0.03, 11.78, 0.03]) / 360000)
    np.testing.assert_allclose(found.suction_m, [0.3163, 0.0495, 0.3163])
    np.testing.assert_allclose(found.drainable_porosity, [0.08, 0.36, 0.08])


def test_every_texture_is_plausible() -> None:
    found = soils.soil_properties(soils.texture_names())
    assert len(soils.texture_names()) == 11
    assert (found.effective_porosity < found.porosity).all()
    assert (found.wilting_point < found.field_capacity).all()
    assert ((found.drainable_porosity > 0.05) & (found.drainable_porosity < 0.4)).all()
    # a log-normal spread by a factor of 1.6 to 6 within a class
    assert ((found.ln_k_sd > 0.45) & (found.ln_k_sd < 1.8)).all()
    assert ((found.ln_suction_sd > 1.4) & (found.ln_suction_sd < 2.0)).all()


def test_unknown_texture_is_refused_with_the_names() -> None:
    with pytest.raises(InputError, match="'mud' is not known; one of sand, loamy sand"):
        soils.soil_properties(["sand", "mud"])


def test_full_backfill_drains_at_its_conductivity() -> None:
    store = 0.17 * 2.0
    assert store / soils.drain_time_s(0.17, 2.0, 3e-6) == pytest.approx(3e-6)


def test_deficit_is_never_negative() -> None:
    np.testing.assert_allclose(
        soils.field_capacity_deficit_m(0.31, np.array([0.21, 0.31, 0.4]), 2.0), [0.2, 0, 0]
    )
