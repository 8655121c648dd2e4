"""Two people changed one home: what both of them did, put together key by key.

::

    base ──> theirs      what somebody else wrote meanwhile
      └────> ours        what we want to write

What only one of them changed is taken; what both changed alike is taken; what both changed
differently is a conflict, and the caller decides.
"""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from enum import Enum
from typing import Any

__all__ = ["Conflict", "Side", "changed_places", "merge_data", "pair_entries"]

_NAMES = ("date", "place")  # by which an entry of a list is called
_ABSENT: Any = None  # TOML has no null, so nothing that is there is None


class Side(Enum):
    """Whose value stands where both changed one thing."""

    THEIRS = "theirs"
    OURS = "ours"


@dataclass(frozen=True)
class Conflict:
    """One thing that both changed, and not alike.

    Parameters
    ----------
    where : tuple of str
        Such as ``("pit", "depth")`` or ``("visit", "2026-04-14", "note")``.
    theirs, ours : object
        What each made of it; None where it was deleted.
    """

    where: tuple[str, ...]
    theirs: Any
    ours: Any


def merge_data(
    base: Mapping[str, Any],
    theirs: Mapping[str, Any],
    ours: Mapping[str, Any],
    prefer: Side = Side.OURS,
) -> tuple[dict[str, Any], tuple[Conflict, ...]]:
    """Put the changes of two together.

    Sections are merged key by key, visits entry by entry and within a visit key by key. A test, a
    curve or one place of a wall is one thing: half of it from each would be a reading that nobody
    took.

    Parameters
    ----------
    base : mapping
        The home from which both began, as plain data without defaults.
    theirs, ours : mapping
        What became of it on either side.
    prefer : Side
        Whose value stands in the result where both changed one thing.

    Returns
    -------
    merged : dict
        The home with the changes of both.
    conflicts : tuple of Conflict
        What both changed differently; empty where there is nothing to decide.

    Examples
    --------
    >>> base = {"pit": {"depth": "24 in"}}
    >>> merge_data(base, {**base, "note": "x"}, {"pit": {"depth": "26 in"}})
    ({'pit': {'depth': '26 in'}, 'note': 'x'}, ())
    """
    found: list[Conflict] = []
    merged = _merged(base, theirs, ours, (), prefer, found)
    return dict(merged or {}), tuple(found)


def changed_places(before: Mapping[str, Any], after: Mapping[str, Any]) -> list[tuple[str, ...]]:
    """List where two homes differ.

    Parameters
    ----------
    before, after : mapping
        The homes, as plain data without defaults.

    Returns
    -------
    list of tuple of str
        Such as ``("pit", "depth")``; a visit is one place.

    Examples
    --------
    >>> changed_places({"note": "x", "pit": {"depth": "24 in"}}, {"pit": {"depth": "26 in"}})
    [('pit', 'depth'), ('note',)]
    """
    found: list[tuple[str, ...]] = []
    for key in dict.fromkeys([*after, *before]):
        old, new = before.get(key), after.get(key)
        if old == new:
            continue
        if _is(old, Mapping) and _is(new, Mapping):
            old, new = old or {}, new or {}
            names = dict.fromkeys([*new, *old])
            found += [(key, name) for name in names if old.get(name) != new.get(name)]
        elif _is_list_of_entries(old) and _is_list_of_entries(new):
            old, new = old or (), new or ()
            pairs = pair_entries(old, new)
            went = [one for i, one in enumerate(old) if i not in pairs or new[pairs[i]] != one]
            came = [one for j, one in enumerate(new) if j not in pairs.values()]
            found += [(key, _called(one)) for one in (*went, *came)]
        else:
            found.append((key,))
    return found


def _merged(
    base: Any,
    theirs: Any,
    ours: Any,
    where: tuple[str, ...],
    prefer: Side,
    found: list[Conflict],
) -> Any:
    if theirs in (ours, base):
        return ours
    if ours == base:
        return theirs
    three = (base, theirs, ours)
    is_entry = len(where) == 2  # what is left of a section is a section; an entry goes as a whole
    if (
        _is_divided(where)
        and all(_is(value, Mapping) for value in three)
        and not (is_entry and _ABSENT in three)
    ):
        base, theirs, ours = (value or {} for value in three)
        keys = dict.fromkeys([*theirs, *ours])
        values = {}
        for key in keys:
            one, other, mine = base.get(key), theirs.get(key), ours.get(key)
            values[key] = _merged(one, other, mine, (*where, key), prefer, found)
        return {key: value for key, value in values.items() if value is not _ABSENT} or _ABSENT
    if all(_is_list_of_entries(value) for value in three):
        base, theirs, ours = (value or () for value in three)
        return _merged_entries(base, theirs, ours, where, prefer, found) or _ABSENT
    found.append(Conflict(where, theirs, ours))
    return theirs if prefer is Side.THEIRS else ours


def _is(value: Any, kind: type) -> bool:
    return value is _ABSENT or isinstance(value, kind)


def _is_divided(where: tuple[str, ...]) -> bool:
    """Whether what stands here is made of values that can be told apart."""
    if where[:1] == ("visit",):
        return len(where) == 2 or where[2:] == ("checks",)
    return len(where) < 2


def _is_list_of_entries(value: Any) -> bool:
    if value is _ABSENT:
        return True
    return isinstance(value, list | tuple) and all(isinstance(one, Mapping | str) for one in value)


def pair_entries(before: Sequence[Any], after: Sequence[Any]) -> dict[int, int]:
    """Find which entry of a list became which.

    Parameters
    ----------
    before, after : sequence
        Entries, each a mapping or a text.

    Returns
    -------
    dict of int to int
        Place in the second by place in the first: first of those that are the same, then, in
        their order, of those that are called the same (by date or place). What has no partner
        went or is new.

    Examples
    --------
    >>> pair_entries([{"date": "a"}, {"date": "b"}], [{"date": "b", "note": "x"}, {"date": "a"}])
    {0: 1, 1: 0}
    """
    pairs: dict[int, int] = {}
    free = list(range(len(after)))
    for is_same in (lambda one, other: one == other, _are_called_the_same):
        for i, one in enumerate(before):
            j = next((j for j in free if i not in pairs and is_same(one, after[j])), None)
            if j is not None:
                pairs[i] = j
                free.remove(j)
    return dict(sorted(pairs.items()))


def _called(entry: Any) -> str:
    if isinstance(entry, str):
        return entry
    return next((str(entry[name]) for name in _NAMES if name in entry), "")


def _are_called_the_same(one: Any, other: Any) -> bool:
    return not isinstance(one, str) and _called(one) == _called(other)


def _merged_entries(
    base: Sequence[Any],
    theirs: Sequence[Any],
    ours: Sequence[Any],
    where: tuple[str, ...],
    prefer: Side,
    found: list[Conflict],
) -> tuple[Any, ...]:
    yours, mine = pair_entries(base, theirs), pair_entries(base, ours)
    moved = [list(pairs.values()) != sorted(pairs.values()) for pairs in (yours, mine)]
    if all(moved):  # each put them into an order of its own
        found.append(Conflict(where, theirs, ours))
        return tuple(theirs if prefer is Side.THEIRS else ours)
    # every entry under a name of its own: its place in base, or whose new one it is
    values: dict[object, Any] = {}
    for i, one in enumerate(base):
        their, our = (
            side[pairs[i]] if i in pairs else _ABSENT
            for side, pairs in ((theirs, yours), (ours, mine))
        )
        values[i] = _merged(one, their, our, (*where, _called(one)), prefer, found)
    their_order = _named(theirs, yours, Side.THEIRS)
    our_order = _named(ours, mine, Side.OURS)
    values |= {name: theirs[j] for j, name in enumerate(their_order) if name not in values}
    for j, name in enumerate(our_order):
        if name not in values:
            twin = next((n for n in their_order if n not in our_order and isinstance(n, tuple)
                         and values[n] == ours[j]), None)  # fmt: skip
            values[name] = ours[j]
            if twin is not None:  # both entered the same
                our_order[j] = twin
    order = _woven(our_order, their_order) if moved[1] else _woven(their_order, our_order)
    return tuple(values[name] for name in order if values[name] is not _ABSENT)


def _named(side: Sequence[Any], pairs: Mapping[int, int], whose: Side) -> list[object]:
    places = {j: i for i, j in pairs.items()}
    return [places.get(j, (whose, j)) for j in range(len(side))]


def _woven(spine: Sequence[object], other: Sequence[object]) -> list[object]:
    """Put what only the other has behind what it follows there, and behind what is new here."""
    order = list(spine)
    for j, name in enumerate(other):
        if name in order:
            continue
        before = next((n for n in reversed(other[:j]) if n in order), None)
        at = 0 if before is None else order.index(before) + 1
        while at < len(order) and isinstance(order[at], tuple):
            at += 1
        order.insert(at, name)
    return order
