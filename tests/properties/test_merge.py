"""Two changes of one home put together: nothing that either did is lost, whatever it was."""

from __future__ import annotations

from collections import Counter
from typing import Any

from hypothesis import given
from hypothesis import strategies as st

from riskkit.home.merge import Side, changed_places, merge_data

VALUES = st.sampled_from(["1 in", "2 in", "3 in"])
CHECKS = st.dictionaries(st.sampled_from(["float_free", "alarm_sounded"]), VALUES, min_size=1)
TESTS = st.dictionaries(st.sampled_from(["begin", "end", "time"]), VALUES, min_size=1)
WALLS = st.lists(
    st.fixed_dictionaries({"place": st.sampled_from("NSEW")}, optional={"size": VALUES}),
    min_size=1, max_size=3,
)  # fmt: skip
VISITS = st.fixed_dictionaries(
    {"date": st.sampled_from(["2024-01-01", "2025-01-01", "2026-01-01"])},
    optional={
        "note": VALUES,
        "checks": CHECKS,
        "rise_test": TESTS,
        "wall": WALLS,
        "parts": st.lists(VALUES, min_size=1, max_size=3),
    },
)
SECTIONS = st.dictionaries(st.sampled_from(["depth", "diameter", "table"]), VALUES, min_size=1)
HOMES = st.fixed_dictionaries(
    {},
    optional={
        "name": VALUES,
        "note": VALUES,
        "pit": SECTIONS,
        "pump": SECTIONS,
        "visit": st.lists(VISITS, min_size=1, max_size=4),
    },
)


@st.composite
def changed(draw: st.DrawFn, base: dict[str, Any]) -> dict[str, Any]:
    """A home that began as another: most of it stays, some of it goes, changes or is new."""
    fresh = draw(HOMES)
    made: dict[str, Any] = {}
    for key in sorted({*base, *fresh}):
        old, new = base.get(key), fresh.get(key)
        value = old if draw(st.booleans()) else new
        if key == "visit" and old and draw(st.booleans()):
            value = [one for one in old if draw(st.booleans())]
            value.insert(draw(st.integers(0, len(value))), draw(VISITS))
        if value:
            made[key] = value
    return made


@st.composite
def three(draw: st.DrawFn) -> tuple[dict[str, Any], dict[str, Any], dict[str, Any]]:
    base = draw(HOMES)
    return base, draw(changed(base)), draw(changed(base))


def entries(home: dict[str, Any]) -> Counter[str]:
    return Counter(repr(sorted(one.items())) for one in home.get("visit", ()))


@given(HOMES, HOMES)
def test_who_is_alone_gets_what_he_wrote(base: dict[str, Any], other: dict[str, Any]) -> None:
    assert merge_data(base, base, other) == (other, ())
    assert merge_data(base, other, base) == (other, ())
    assert merge_data(base, other, other) == (other, ())


@given(three())
def test_every_value_is_that_of_who_changed_it(homes: Any) -> None:
    base, theirs, ours = homes
    merged, conflicts = merge_data(base, theirs, ours)
    both = {one.where for one in conflicts}
    places = {(key,) for key in ("name", "note")}
    places |= {(s, k) for s in ("pit", "pump") for k in ("depth", "diameter", "table")}
    for where in places:
        old, their, our, found = (_at(home, where) for home in (base, theirs, ours, merged))
        assert (where in both) == (their != old and our != old and their != our)
        assert found == (our if our != old else their)


def _at(home: dict[str, Any], where: tuple[str, ...]) -> Any:
    for key in where:
        home = home.get(key, {})
    return home or None


@given(three())
def test_no_visit_that_either_entered_is_lost(homes: Any) -> None:
    base, theirs, ours = homes
    merged, conflicts = merge_data(base, theirs, ours)
    if any(one.where[0] == "visit" for one in conflicts):
        return
    dates = [Counter(one["date"] for one in home.get("visit", ())) for home in homes]
    new = (dates[1] - dates[0]) | (dates[2] - dates[0])  # the same twice may be one visit
    assert new <= Counter(one["date"] for one in merged.get("visit", ()))
    kept = entries(base) & entries(theirs) & entries(ours)
    assert kept <= entries(merged)


@given(three())
def test_it_does_not_matter_who_comes_first(homes: Any) -> None:
    base, theirs, ours = homes
    one, conflicts = merge_data(base, theirs, ours)
    other, others = merge_data(base, ours, theirs)
    assert {c.where for c in conflicts} == {c.where for c in others}
    if not conflicts:
        assert {k: v for k, v in one.items() if k != "visit"} == {
            k: v for k, v in other.items() if k != "visit"
        }
        assert entries(one).total() == entries(other).total()


@given(three())
def test_saving_twice_changes_nothing_more(homes: Any) -> None:
    base, theirs, ours = homes
    merged, conflicts = merge_data(base, theirs, ours)
    if not conflicts:
        assert merge_data(ours, merged, ours) == (merged, ())
        assert merge_data(theirs, merged, theirs) == (merged, ())


@given(three())
def test_where_theirs_is_preferred_none_of_it_is_undone(homes: Any) -> None:
    base, theirs, ours = homes
    merged, _ = merge_data(base, theirs, ours, Side.THEIRS)
    undone = {where for where in changed_places(theirs, merged) if where[0] != "visit"}
    assert not undone & set(changed_places(base, theirs))


def in_order(home: dict[str, Any]) -> dict[str, Any]:
    """Visits are told apart by their day: the order in which a file lists them says nothing."""
    visits = sorted(home.get("visit", []), key=lambda visit: str(visit.get("date")))
    return home | {"visit": visits}


@given(HOMES, HOMES)
def test_homes_differ_where_places_are_named(one: dict[str, Any], other: dict[str, Any]) -> None:
    assert (changed_places(one, other) == []) == (in_order(one) == in_order(other))
    assert set(changed_places(one, other)) == set(changed_places(other, one))
