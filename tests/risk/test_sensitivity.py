"""What decides the answer most: ranks that go together, by hand."""

from __future__ import annotations

import numpy as np
import pytest

from riskkit.ensemble.draws import assumptions, draw_homes
from riskkit.home.home import Home
from riskkit.records import FloatArray
from riskkit.risk.sensitivity import SOIL, Sensitivity, sensitivities

N = 64
# three standard errors of a rank correlation, 3 / sqrt(63); its square
CHANCE = 9 / 63


def found(home: Home, times: FloatArray) -> dict[str, float]:
    homes = draw_homes(home, N, 1)
    textures = tuple(dict.fromkeys(homes.soil))
    rows: tuple[Sensitivity, ...] = sensitivities(homes, assumptions(home), textures, times)
    assert [row.share for row in rows] == sorted((row.share for row in rows), reverse=True)
    return {row.key: row.share for row in rows}


def test_what_orders_all_draws_is_all_of_it_and_chance_is_not_told() -> None:
    home = Home().changed(ground__soil="loam")
    shares = found(home, np.exp(-draw_homes(home, N, 1)["perimeter_m"]))
    assert next(iter(shares)) == "house.perimeter"
    assert shares["house.perimeter"] == pytest.approx(1.0)  # falling or rising
    assert min(shares.values()) > CHANCE
    assert len(shares) < 5  # of some fifty that were drawn by themselves
    assert SOIL not in shares  # it is the same in every draw


def test_what_is_measured_is_no_longer_asked_for() -> None:
    home = Home().changed(house__perimeter="150 ft, measured")
    assert "house.perimeter" not in found(home, draw_homes(home, N, 1)["perimeter_m"])


def test_nothing_decides_where_all_draws_are_alike_and_what_is_not_used_never() -> None:
    assert found(Home(), np.full(N, np.inf)) == {}
    # the water table follows from the inflow; it has no number of its own
    home = Home().changed(ground__dry_inflow="1 gpm")
    assert np.isnan(draw_homes(home, N, 1)["water_table_depth_m"]).all()
    assert "ground.water_table_depth" not in found(home, np.arange(float(N)))
