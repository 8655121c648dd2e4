"""Room for water, and the model made of it."""

import numpy as np
import pytest

from riskkit.errors import InputError
from riskkit.pit import geometry as g
from riskkit.pit.model import build_pit
from tests.pit.conftest import drain_slab

ONE = np.ones(1)


def held(pit, level):
    """Water below a level, by the bands of the model."""
    height = np.clip(level - pit.level_m[0, :-1], 0.0, np.diff(pit.level_m[0]))
    return float(np.sum(height * pit.area_m2[0]))


def plain(room, **changes):
    depths = {"off_depth_m": 0.5 * ONE, "on_depth_m": 0.3 * ONE, "alarm_depth_m": 0.15 * ONE}
    flows = {"pump_m3_s": 2e-3 * ONE, "seepage_m3_s": 0.0 * ONE}
    return build_pit(room, **(depths | flows | changes))


def test_taper_keeps_the_volume_of_a_frustum() -> None:
    room = g.tapered_storage(0.7 * ONE, 0.5 * ONE, 0.4 * ONE, 6)
    exact = np.pi * 0.7 / 12 * (0.5**2 + 0.5 * 0.4 + 0.4**2)
    assert g.volume_m3(room, 0.0 * ONE)[0] == pytest.approx(exact, rel=1e-14)
    # in between, the slices follow the cone to a thousandth of the volume
    half = np.pi * 0.35 / 12 * (0.45**2 + 0.45 * 0.4 + 0.4**2)
    assert g.volume_m3(room, -0.35 * ONE)[0] == pytest.approx(half, abs=exact / 1000)
    assert len(room) == 6


def test_straight_taper_is_a_round_pit() -> None:
    a = g.volume_m3(g.tapered_storage(0.7 * ONE, 0.5 * ONE, 0.5 * ONE), -0.2 * ONE)
    b = g.volume_m3(g.round_storage(0.7 * ONE, 0.5 * ONE), -0.2 * ONE)
    np.testing.assert_allclose(a, b, rtol=1e-14)


def test_everything_that_holds_water_counts() -> None:
    room = [
        *g.rectangular_storage(0.6 * ONE, 0.5 * ONE, 0.4 * ONE),
        g.pump_body(0.6 * ONE, 0.006 * ONE, 0.25 * ONE),
        drain_slab(0.25, 0.1, 40.0, 0.5),
        g.gravel_storage(0.1 * ONE, 0.08 * ONE, 90.0 * ONE, 0.4 * ONE, 0.25 * ONE),
        g.basement_storage(90.0 * ONE, 0.2 * ONE),
    ]
    pit = plain(room)
    drain = 0.5 * 40.0 * np.pi / 4 * 0.01
    assert held(pit, -0.5) == pytest.approx(0.1 * 0.2 - 0.1 * 0.006 / 0.25)
    assert held(pit, -0.25) == pytest.approx(0.35 * 0.2 - 0.006)
    assert held(pit, -0.2) == pytest.approx(0.4 * 0.2 - 0.006 + drain / 2)
    assert held(pit, 0.0) == pytest.approx(0.6 * 0.2 - 0.006 + drain + 0.08 * 9.0)
    assert held(pit, 0.5) == pytest.approx(held(pit, 0.0) + 0.5 * 72.0)
    for level in (-0.55, -0.31, -0.19, -0.12, 0.03, 2.9):
        at = np.array([level])
        assert held(pit, level) == pytest.approx(g.volume_m3(room, at)[0], rel=1e-12)
    for name, level in (("off", -0.5), ("on", -0.3), ("alarm", -0.15), ("floor", 0.0)):
        assert pit.level_m[0, getattr(pit, f"{name}_index")[0]] == level


def test_bands_of_many_draws_have_one_shape(homes) -> None:
    """Orders of the levels differ from draw to draw; the count of the bands does not."""
    pit = homes(300)
    assert np.all(np.diff(pit.level_m, axis=1) >= 0)
    assert len(np.unique(pit.alarm_index)) > 2
    assert np.all(pit.level_m[:, -1] == 3.0)
    assert np.all(np.take_along_axis(pit.level_m, pit.floor_index[:, None], 1) == 0.0)


def test_measured_pit_holds_what_was_measured() -> None:
    depth, volume = np.array([0.0, 0.6, 0.3, 0.45]), np.array([0.1, 0.0, 0.05, 0.02])
    room = g.measured_storage(depth, volume)
    np.testing.assert_allclose([g.volume_m3(room, -d * ONE)[0] for d in depth], volume, rtol=1e-14)
    halfway = g.volume_m3(room, np.array([[-0.375, -0.15, 0.7]]))
    np.testing.assert_allclose(halfway, [[0.035, 0.075, 0.1]])


@pytest.mark.parametrize(
    ("depth", "volume", "words"),
    [
        ([0.6], [0.0], "fewer than two"),
        ([0.6, 0.0], [0.0], "fewer than two"),
        ([0.6, 0.0], [0.1, 0.2], "not empty"),
        ([0.6, 0.1], [0.0, 0.2], "floor"),
        ([0.6, 0.3, 0.0], [0.0, 0.2, 0.1], "more water"),
        ([0.6, 0.6, 0.0], [0.0, 0.0, 0.1], "more water"),
    ],
)
def test_measured_pit_refuses(depth, volume, words) -> None:
    with pytest.raises(InputError, match=words):
        g.measured_storage(np.array(depth), np.array(volume))


@pytest.mark.parametrize(
    ("changes", "words"),
    [
        ({"off_depth_m": 0.7 * ONE}, "below the bottom"),
        ({"on_depth_m": 0.5 * ONE}, "at or below the level at which it stops"),
        ({"on_depth_m": 0.6 * ONE}, "at or below the level at which it stops"),
        ({"alarm_depth_m": 0.3 * ONE}, "normal running"),
        ({"alarm_depth_m": 0.0 * ONE}, "water is on the floor"),
    ],
)
def test_impossible_orders_are_refused_in_words(changes, words) -> None:
    room = [*g.round_storage(0.6 * ONE, 0.45 * ONE), g.basement_storage(90.0 * ONE, 0.0 * ONE)]
    with pytest.raises(InputError, match=words):
        plain(room, **changes)


def test_a_pump_bigger_than_its_pit_is_refused() -> None:
    room = [
        *g.round_storage(0.6 * ONE, 0.3 * ONE),
        g.pump_body(0.6 * ONE, 0.03 * ONE, 0.25 * ONE),
        g.basement_storage(90.0 * ONE, 0.0 * ONE),
    ]
    with pytest.raises(InputError, match="no room"):
        plain(room)


def test_flows_are_asked_at_the_levels() -> None:
    room = [*g.round_storage(0.6 * ONE, 0.45 * ONE), g.basement_storage(90.0 * ONE, 0.0 * ONE)]
    pit = plain(room, seepage_m3_s=lambda level: 1e-4 * np.clip(0.2 - level, 0, None),
                extra_depth_m=[-0.2 * ONE])  # fmt: skip
    assert 0.2 in pit.level_m[0]
    np.testing.assert_allclose(pit.seepage_m3_s, 1e-4 * np.clip(0.2 - pit.level_m, 0, None))
    assert np.all(pit.pump_m3_s == 2e-3)


def test_nothing_comes_back_where_it_is_not_said() -> None:
    model = plain(
        (*g.round_storage(0.6 * ONE, 0.5 * ONE), g.basement_storage(80.0 * ONE, 0.0 * ONE))
    )
    assert model.return_share.tolist() == [0.0] and model.drainback_m3.tolist() == [0.0]
