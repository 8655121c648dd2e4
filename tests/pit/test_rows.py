"""Whether a row of the joined vessels is of the same home as the one before it."""

from __future__ import annotations

import numpy as np
import pytest

from riskkit.pit._footing import Vessels
from riskkit.pit._rows import is_same_home

HOME = (
    "in_level", "in_area", "out_level", "out_area", "steady", "marks", "store_s", "store_area",
)  # fmt: skip


def two_rows() -> Vessels:
    """Two rows of one home."""
    wide = {name: np.tile(np.arange(1.0, 5.0), (2, 1)) for name in Vessels._fields}
    narrow = ("conductance", "joint", "deep", "wet_tail", "wet_tail_s")
    rows = wide | {name: np.ones(2) for name in narrow} | {"marks": np.tile(np.arange(4), (2, 1))}
    return Vessels(**rows)  # type: ignore[arg-type]  # floats but for the marks


def test_rows_of_one_home_differ_in_water_alone() -> None:
    rows = two_rows()
    assert is_same_home(rows, 1)
    rows.tail[1], rows.wet_tail[1] = 7.0, 7.0
    assert is_same_home(rows, 1)


@pytest.mark.parametrize("name", HOME)
@pytest.mark.parametrize("at", [0, 1, 3])
def test_one_number_that_differs_makes_another_home(name: str, at: int) -> None:
    rows = two_rows()
    getattr(rows, name)[1, at] += 1
    assert not is_same_home(rows, 1)


def test_another_conductance_makes_another_home() -> None:
    rows = two_rows()
    rows.conductance[1] = 2.0
    assert not is_same_home(rows, 1)
