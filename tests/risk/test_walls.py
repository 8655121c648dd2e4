"""Walls over the visits: growth against what a reading can be off, marks, cracks and bracing."""

from __future__ import annotations

import datetime
from typing import Any

import pytest

from riskkit.errors import InputError
from riskkit.home.home import Home
from riskkit.home.visits import WALL_KINDS, Visit, visit_value, wall_methods
from riskkit.home.walls import (
    Movement,
    WallCall,
    WallReason,
    WallTrend,
    wall_marks,
    wall_trend,
)

DAYS = ("2024-04-14", "2025-04-14", "2026-04-14", "2027-04-14")


def home(*walls: dict[str, Any], days: tuple[str, ...] = DAYS) -> Home:
    """A home with one visit for each wall, a year apart."""
    visits = [
        {"date": day, "wall": [{"place": "north wall", "kind": "bow", **wall}]}
        for day, wall in zip(days, walls, strict=False)
    ]
    return Home().changed(visit=visits)


def trend_of(*walls: dict[str, Any], days: tuple[str, ...] = DAYS) -> WallTrend:
    (trend,) = wall_trend(home(*walls, days=days).visit)
    return trend


def sizes(
    *texts: str, method: str = "plumb line", days: tuple[str, ...] = DAYS, **more: str
) -> WallTrend:
    return trend_of(*({"size": text, "method": method, **more} for text in texts), days=days)


# --- growth --------------------------------------------------------------------------------------


@pytest.mark.parametrize("kind", ["bow", "lean"])
@pytest.mark.parametrize("more", [{}, {"method": "plumb line"}, {"method": "tape across"}])
def test_a_quarter_inch_then_half_an_inch_a_year_later_is_growth(
    kind: str, more: dict[str, str]
) -> None:
    """By hand: 0.50 - 0.25 in = 6.35 mm in a year, above any error here and above 3 mm a year."""
    trend = trend_of(*({"kind": kind, "size": size, **more} for size in ("0.25 in", "0.50 in")))
    assert trend.movement is Movement.GROWS
    assert trend.last is not None
    assert trend.last.growth_m == pytest.approx(0.00635)
    assert trend.last.years == pytest.approx(1.0, abs=0.01)
    assert trend.reasons == (WallReason.PACE,)
    assert trend.call is WallCall.ENGINEER_NOW


def test_old_readings_without_a_method_are_followed_too() -> None:
    visits = [
        Visit.model_validate(
            {"date": day, "wall": [{"place": "North  wall", "kind": "lean", "size": size}]}
        )
        for day, size in (("2025-04-14", "0.25 in"), ("2026-04-14", "0.50 in"))
    ]
    (trend,) = wall_trend(visits)
    assert trend.call is WallCall.ENGINEER_NOW
    assert trend.readings[0].method is None


def test_three_millimetres_in_a_year_can_be_seen_by_every_method() -> None:
    """The mark of growth must be within reach of two yearly readings."""
    for method in wall_methods().values():
        for kind in method.kinds:
            mark_mm = 1000 * wall_marks()[kind].growth_m_yr
            assert 1000 * method.reading_error_m < mark_mm
            two = [{"kind": kind, "size": f"{one:.3f} mm", "method": method.key}
                   for one in (2.0, 2.0 + mark_mm)]  # fmt: skip
            assert trend_of(*two).call is WallCall.ENGINEER_NOW, (method.key, kind)


@pytest.mark.parametrize(
    ("second", "movement", "call", "reasons"),
    [
        # plumb line: 2 mm off at most, mark 3 mm a year
        ("10.9 mm", Movement.STEADY, WallCall.WATCH, ()),  # at most 0.9 + 2 = 2.9 mm
        ("11.2 mm", Movement.UNDECIDED, WallCall.MEASURE_AGAIN, ()),  # perhaps 3.2 mm
        ("12.0 mm", Movement.UNDECIDED, WallCall.MEASURE_AGAIN, ()),  # no more than an error
        ("12.1 mm", Movement.GROWS, WallCall.HAVE_LOOKED_AT, (WallReason.NEAR_PACE,)),
        ("13.0 mm", Movement.GROWS, WallCall.ENGINEER_NOW, (WallReason.PACE,)),
        ("8.1 mm", Movement.STEADY, WallCall.WATCH, ()),
        ("7.9 mm", Movement.LESS, WallCall.MEASURE_AGAIN, ()),
    ],
)
def test_what_a_second_reading_a_year_later_says(
    second: str, movement: Movement, call: WallCall, reasons: tuple[WallReason, ...]
) -> None:
    trend = sizes("10 mm", second)
    assert (trend.movement, trend.call, trend.reasons) == (movement, call, reasons)


def test_the_error_of_a_reading_depends_on_the_method() -> None:
    """1.8 mm more: growth by a laser line (1.5 mm off), not by a plumb line (2 mm off)."""
    assert sizes("10 mm", "11.8 mm", method="laser").movement is Movement.GROWS
    assert sizes("10 mm", "11.8 mm", method="plumb line").movement is not Movement.GROWS
    errors = {method.reading_error_m for method in wall_methods().values()}
    assert len(errors) > 3
    assert all(m.reading_error_m <= visit_value(k).reading_error
               for m in wall_methods().values() for k in m.kinds)  # fmt: skip


def test_two_ways_of_measuring_add_what_each_can_be_off() -> None:
    two = [{"size": "10 mm", "method": "plumb line"}, {"size": "13 mm", "method": "laser"}]
    trend = trend_of(*two)
    assert trend.last is not None
    assert trend.last.in_two_ways
    assert trend.last.error_m == pytest.approx(0.0035)
    assert trend.movement is Movement.UNDECIDED


@pytest.mark.parametrize(
    ("days", "second", "movement", "too_soon", "call"),
    [
        # two months apart 2 mm hide 12 mm a year
        (60, "10 mm", Movement.UNDECIDED, True, WallCall.MEASURE_AGAIN),
        # 2.5 mm in two months: growth, surely 0.5 mm, which is as fast as 3 mm a year
        (60, "12.5 mm", Movement.GROWS, False, WallCall.ENGINEER_NOW),
        # 2.1 mm in half a year: surely 0.1 mm only
        (182, "12.1 mm", Movement.GROWS, False, WallCall.HAVE_LOOKED_AT),
        # 4 mm in half a year are more than 3 mm in a year already
        (182, "14 mm", Movement.GROWS, False, WallCall.ENGINEER_NOW),
        # the visit came twelve days late: 3 mm a year all the same
        (377, "13 mm", Movement.GROWS, False, WallCall.ENGINEER_NOW),
        # 5 mm in two years are 2.5 mm a year, perhaps 3.5
        (730, "15 mm", Movement.GROWS, False, WallCall.HAVE_LOOKED_AT),
        # 1.5 mm in a year may be 3.5: not a matter of time
        (365, "11.5 mm", Movement.UNDECIDED, False, WallCall.MEASURE_AGAIN),
    ],
)
def test_the_time_between_readings_counts(
    days: int, second: str, movement: Movement, too_soon: bool, call: WallCall
) -> None:
    first = datetime.date(2025, 4, 14)
    between = (first.isoformat(), (first + datetime.timedelta(days=days)).isoformat())
    trend = sizes("10 mm", second, days=between)
    assert (trend.movement, trend.too_soon, trend.call) == (movement, too_soon, call)


def test_slow_growth_adds_up_since_the_first_reading() -> None:
    """1.4 mm a year is below the error each time; 4.2 mm since the first reading are not."""
    trend = sizes("10 mm", "11.4 mm", "12.8 mm", "14.2 mm")
    assert trend.last is not None and not trend.last.is_growth
    assert trend.grown is trend.whole is not None
    assert trend.movement is Movement.GROWS
    assert trend.call is WallCall.HAVE_LOOKED_AT
    assert trend.grown.growth_m == pytest.approx(0.0042)


def test_one_day_gives_no_trend() -> None:
    trend = sizes("10 mm", "14 mm", days=("2026-04-14", "2026-04-14"))
    assert trend.movement is Movement.FIRST
    assert [round(1000 * reading.size_m) for reading in trend.readings] == [14]
    assert trend.call is WallCall.WATCH


# --- marks, cracks, bracing ----------------------------------------------------------------------


@pytest.mark.parametrize(
    ("kind", "size", "reasons"),
    [
        ("bow", "1 in", (WallReason.SIZE,)),
        ("lean", "25 mm", (WallReason.SIZE,)),
        ("bow", "23.5 mm", (WallReason.NEAR_SIZE,)),  # with 2 mm it may be 25
        ("bow", "22.9 mm", ()),
        ("crack", "6 mm", (WallReason.SIZE,)),
        ("crack", "5 mm", ()),
    ],
)
def test_the_size_alone_may_call_an_engineer(
    kind: str, size: str, reasons: tuple[WallReason, ...]
) -> None:
    method = "rule" if kind == "crack" else "plumb line"
    trend = trend_of({"kind": kind, "size": size, "method": method})
    assert trend.reasons == reasons
    now = WallReason.SIZE in reasons
    assert (trend.call is WallCall.ENGINEER_NOW) is now


@pytest.mark.parametrize(
    ("told", "reason"),
    [
        ([{"offset": "yes"}], WallReason.OFFSET),  # nobody says that it is old
        ([{"offset": "yes", "fresh": "yes"}], WallReason.OFFSET),
        ([{"offset": "yes", "fresh": "no"}], WallReason.OLD_OFFSET),
        ([{"offset": "no"}, {"offset": "yes"}], WallReason.OFFSET),
        ([{"offset": "yes"}, {"offset": "yes"}], WallReason.OLD_OFFSET),
        ([{"offset": "yes"}, {"offset": "yes", "fresh": "yes"}], WallReason.OFFSET),
    ],
)
def test_a_fresh_crack_with_offset_calls_an_engineer_now(
    told: list[dict[str, str]], reason: WallReason
) -> None:
    trend = trend_of(*({"kind": "crack", **one} for one in told))
    assert trend.reasons == (reason,)
    now, look = WallCall.ENGINEER_NOW, WallCall.HAVE_LOOKED_AT
    assert trend.call is (now if reason is WallReason.OFFSET else look)


def test_a_crack_in_one_plane_calls_nobody() -> None:
    trend = trend_of({"kind": "crack", "offset": "no", "fresh": "yes", "size": "1 mm"})
    assert trend.call is WallCall.WATCH


def test_bracing_is_remembered_and_checked() -> None:
    posts = {"size": "10 mm", "method": "laser", "bracing": "two posts"}
    still = {"size": "10 mm", "method": "laser"}
    trend = trend_of(posts, still)
    assert (trend.bracing, trend.bracing_checked) == ("two posts", False)
    held = trend_of(posts, {**still, "bracing_moved": "no"})
    assert held.bracing_checked and held.call is WallCall.WATCH
    moved = trend_of(posts, {**still, "bracing_moved": "yes"})
    assert moved.reasons == (WallReason.BRACING_MOVED,)
    assert moved.call is WallCall.ENGINEER_NOW
    gone = trend_of(posts, {**still, "bracing": "none"})
    assert gone.bracing == ""


def test_a_braced_wall_that_grows_calls_an_engineer_now() -> None:
    more = {"method": "laser", "bracing": "two posts", "bracing_moved": "no"}
    trend = trend_of({"size": "10 mm", **more}, {"size": "11.6 mm", **more})
    assert WallReason.BRACED_GROWS in trend.reasons
    assert trend.call is WallCall.ENGINEER_NOW
    assert trend_of({"size": "10 mm"}, {"size": "13.1 mm"}).call is WallCall.ENGINEER_NOW


def test_bracing_may_be_seen_where_nothing_was_measured() -> None:
    trend = trend_of({"kind": "unknown", "bracing": "beam", "bracing_moved": "yes"})
    assert trend.movement is Movement.UNMEASURED
    assert trend.call is WallCall.ENGINEER_NOW


def test_places_are_told_apart_and_spelling_is_not() -> None:
    visits = [
        {"date": "2024-01-01", "wall": [{"place": "North  wall", "kind": "crack", "size": "2 mm"}]},
        {"date": "2025-01-01", "wall": [
            {"place": "north wall", "kind": "crack", "size": "2 mm"},
            {"place": "north wall", "kind": "lean", "size": "2 mm"},
            {"place": "south wall", "kind": "crack", "size": "unknown"},
        ]},
    ]  # fmt: skip
    found = wall_trend(Home().changed(visit=visits).visit)
    assert [(t.place, t.kind, len(t.readings)) for t in found] == [
        ("north wall", "crack", 2),
        ("north wall", "lean", 1),
        ("south wall", "crack", 0),
    ]


# --- what cannot be ------------------------------------------------------------------------------


@pytest.mark.parametrize(
    ("wall", "words"),
    [
        ({"kind": "bow", "method": "calliper"}, '"calliper" does not measure a bow; it is "plumb'),
        ({"kind": "crack", "method": "plumb line"}, "does not measure a crack"),
        ({"kind": "lean", "method": "string line"}, "does not measure a lean"),
        ({"kind": "bow", "method": "plum line"}, 'did you mean "plumb line"'),
        ({"kind": "bow", "offset": "yes"}, "offset is told of a crack, and this is a bow"),
        ({"kind": "lean", "fresh": "no"}, "fresh is told of a crack"),
        ({"kind": "bow", "size": "30 in"}, "outside what can be"),
        ({"kind": "bow", "bracing": "x" * 121}, "120"),
        ({"kind": "bow", "bracing_moved": "perhaps"}, "not a choice"),
    ],
)
def test_what_cannot_be_is_refused_in_words(wall: dict[str, str], words: str) -> None:
    with pytest.raises(InputError) as caught:
        home(wall)
    assert words in str(caught.value)
    assert "visit 1, wall 1" in str(caught.value)


def test_every_kind_has_marks_and_methods() -> None:
    assert set(wall_marks()) == set(WALL_KINDS)
    for kind in WALL_KINDS:
        assert sum(kind in method.kinds for method in wall_methods().values()) >= 3
    # the marks of the trade as we judge them: 1 in and 3 mm a year for bow and lean
    assert {wall_marks()[kind].size_m for kind in ("bow", "lean")} == {0.025}
    assert {wall_marks()[kind].growth_m_yr for kind in ("bow", "lean")} == {0.003}
