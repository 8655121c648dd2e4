"""Frozen ground: the lot takes no water, what falls on it runs off, towards the wall and away."""

from __future__ import annotations

import numpy as np
import pytest

from riskkit.errors import RangeError
from riskkit.inflow.continuous import continuous_water
from riskkit.inflow.snow import frost_index_degc_d, thawed_share
from tests.inflow.test_continuous import roots, wall
from tests.inflow.test_wall import NOTHING

HOUR = 3600.0
# 50 m2 of lot, of which 20 m2 shed towards the wall; strip and lot take 3.6 mm in an hour and more
GENTLE = NOTHING | {
    "lot_area_m2": 50.0, "runon_area_m2": 20.0, "lot_k_m_s": 1e-5, "fill_k_m_s": 1e-5,
}  # fmt: skip


def test_the_share_that_takes_water_by_hand() -> None:
    """Ten degrees of frost a day on bare ground: 10, 0.97 x 10 + 10 = 19.7, 29.109, ...

    The seventh day has 64.0: (83 - 64.0) / (83 - 56) = 0.702; the ninth 78.8 and the tenth 86.4.
    """
    index = frost_index_degc_d(np.full(10, -10.0), np.zeros(10))
    by_hand = [10.0, 19.7]
    for _ in range(8):
        by_hand.append(0.97 * by_hand[-1] + 10.0)
    np.testing.assert_allclose(index, by_hand)
    share = thawed_share(index)
    assert share[:5].tolist() == [1.0] * 5
    assert share[6] == pytest.approx((83.0 - by_hand[6]) / 27.0)
    assert share[6] == pytest.approx(0.703, abs=0.002)
    assert share[9] == 0.0


@pytest.mark.parametrize("thawed", [1.0, 0.75, 0.0])
def test_gentle_rain_by_hand(thawed: float) -> None:
    """Two hours of 2 mm, which thawed ground takes whole.

    The lot: 50 m2 x 4 mm = 0.2 m3, of which the thawed share goes in. Of what it sheds 20 m2 of 50
    come to the wall, where the strip takes it, and the rest runs off.
    """
    found, _ = continuous_water(
        np.full(2, 2.0), np.zeros(2), HOUR, wall(**GENTLE), roots(), 0.4,
        thawed_share=np.full(2, thawed),
    )  # fmt: skip
    parts = {name: float(volume[0]) for name, volume in found.parts_m3.items()}
    shed = (1 - thawed) * 0.2
    assert parts["ran off"] == pytest.approx(shed * 30 / 50, abs=1e-12)
    on_strip = 42.0 * 0.9 * 4e-3
    behind = parts["still on the way"]
    below = parts["reached the footing"] + parts["reached the water table of the lot"] + behind
    assert below == pytest.approx(on_strip + 0.2 - shed * 30 / 50)
    lot_part = 0.2 * thawed
    assert parts["reached the water table of the lot"] < lot_part + 1e-12
    assert (parts["reached the water table of the lot"] > 0) == (thawed > 0)


def test_a_row_for_each_draw() -> None:
    """Each draw has its own frost, as storms of different days have in one run."""
    two = {name: np.full(2, value) for name, value in GENTLE.items()}
    both = wall(**two)  # type: ignore[arg-type]  # an array where one number is usual
    rain, share = np.full((2, 3), 2.0), np.array([[1.0, 1.0, 1.0], [0.0, 0.5, 1.0]])
    found, _ = continuous_water(rain, np.zeros(3), HOUR, both, roots(), 0.4, thawed_share=share)
    for draw in range(2):
        alone, _ = continuous_water(
            rain[draw], np.zeros(3), HOUR, wall(**GENTLE), roots(), 0.4, thawed_share=share[draw]
        )
        np.testing.assert_array_equal(found.footing_m3_s[draw], alone.footing_m3_s[0])
        np.testing.assert_array_equal(found.recharge_m3_s[draw], alone.recharge_m3_s[0])


@pytest.mark.parametrize(
    ("share", "said"),
    [
        (np.ones(3), "one row of as many steps"),
        (np.array([1.0, 1.2]), "not a share"),
        (np.array([1.0, np.nan]), "missing"),
        (np.array([1.0, -0.1]), "not a share"),
    ],
)
def test_what_cannot_be_is_refused(share: np.ndarray, said: str) -> None:
    with pytest.raises(RangeError, match=said):
        continuous_water(np.ones(2), np.zeros(2), HOUR, wall(), roots(), 0.4, thawed_share=share)
