"""The walls in the form of a visit: a group for each place, the last reading beside the new one.

Places of earlier visits stand first, in the order in which they were first seen, then those that
this visit adds, then one that is empty. So a place keeps its number while the form is filled in.
"""

from __future__ import annotations

from collections.abc import Callable, Mapping, Sequence
from dataclasses import dataclass
from typing import Any

from riskkit.home.visits import WALL_KINDS, Visit, wall_methods
from riskkit.home.walls import WallCall, WallTrend, place_key, wall_trend
from riskkit.quantities.units import UnitSystem
from riskkit.report.cautions import cautions
from riskkit.report.wall_words import reading_words, wall_verdict

__all__ = ["WallSlot", "wall_entered", "wall_groups", "wall_slots", "wall_taken", "wall_texts"]

_KINDS = {"bow": "bow, out of its line", "lean": "lean, out of plumb", "crack": "crack"}
_SIZES = {
    "bow": "how far it bows",
    "lean": "how far it leans",
    "crack": "how wide the crack is",
    "": "how far it bows or leans, or how wide the crack is",
}
_YES_NO = [["yes", "yes"], ["no", "no"]]


@dataclass(frozen=True)
class WallSlot:
    """A place in the form.

    Parameters
    ----------
    place : str
        What it is called; empty for one that is not there yet.
    kind : str
        What is followed there; empty where it was not told.
    at : int or None
        Which entry of this visit it is; None where there is none yet.
    before : WallTrend or None
        What earlier visits say of it; None for a new one.
    """

    place: str = ""
    kind: str = ""
    at: int | None = None
    before: WallTrend | None = None


def wall_slots(
    earlier: Sequence[Visit], entries: Sequence[Mapping[str, Any]]
) -> tuple[WallSlot, ...]:
    """Return the places of the form.

    Parameters
    ----------
    earlier : sequence of Visit
        All visits but this one.
    entries : sequence of mapping
        The walls of this visit, as in a home file.

    Returns
    -------
    tuple of WallSlot
        The last one is empty.
    """
    free = list(range(len(entries)))

    def taken(trend: WallTrend) -> int | None:
        """The entry that goes on with a place; a place without a kind may be given one now."""
        for at in free:
            entry = entries[at]
            if place_key(str(entry.get("place", ""))) == place_key(trend.place) and (
                trend.kind is None or entry.get("kind") == trend.kind
            ):
                free.remove(at)
                return at
        return None

    known = [
        WallSlot(trend.place, trend.kind or "", taken(trend), trend)
        for trend in sorted(wall_trend(earlier), key=lambda trend: trend.kind is None)
    ]
    added = [
        WallSlot(str(entries[at].get("place", "")), str(entries[at].get("kind", "")), at)
        for at in free
    ]
    return (*known, *added, WallSlot())


def wall_entered(
    earlier: Sequence[Visit],
    entries: Sequence[Mapping[str, Any]],
    name: str,
    text: str,
    check: Callable[[dict[str, Any]], object],
) -> list[dict[str, Any]]:
    """Return the walls of a visit with one value of one place replaced.

    Parameters
    ----------
    earlier, entries
        As for `wall_slots`.
    name : str
        Number of the place and its field, such as ``"2.size"``.
    text : str
        The value; empty takes it away.
    check : callable
        Raises InputError for a wall that cannot be.

    Returns
    -------
    list of dict
        As in a home file.
    """
    number, _, field = name.partition(".")
    slots = wall_slots(earlier, entries)
    slot = slots[min(int(number), len(slots)) - 1]
    walls = [dict(entry) for entry in entries]
    wall = walls[slot.at] if slot.at is not None else _begun(slot)
    wall = {key: value for key, value in wall.items() if key != field}
    if text:
        wall[field] = text
        if "place" not in wall:
            # what is wrong with a value itself is said before that its place is missing
            check(wall | {"place": "here"})
    is_empty = wall.keys() <= _begun(slot).keys()
    if slot.at is None:
        return [*walls, *([] if is_empty else [wall])]
    walls[slot.at : slot.at + 1] = [] if is_empty else [wall]
    return walls


def _begun(slot: WallSlot) -> dict[str, Any]:
    """What an entry of a place begins with: which wall it is; nothing for a new one."""
    told = {} if slot.before is None else {"place": slot.place, "kind": slot.kind}
    return {key: value for key, value in told.items() if value}


def wall_texts(slots: Sequence[WallSlot], entries: Sequence[Mapping[str, Any]]) -> dict[str, str]:
    """Return the texts of the walls of this visit by key.

    Parameters
    ----------
    slots : sequence of WallSlot
        The places of the form.
    entries : sequence of mapping
        The walls of this visit, as texts.

    Returns
    -------
    dict of str to str
        Such as ``{"visit.wall.1.size": "0.25 in"}``.
    """
    return {
        f"visit.wall.{number}.{key}": str(text)
        for number, slot in enumerate(slots, 1)
        if slot.at is not None
        for key, text in entries[slot.at].items()
    }


def wall_groups(slots: Sequence[WallSlot], system: UnitSystem) -> list[dict[str, Any]]:
    """Return the groups of the form for the walls.

    Parameters
    ----------
    slots : sequence of WallSlot
        The places.
    system : UnitSystem
        Units of the reader.

    Returns
    -------
    list of dict
        As for the form of the home, with a name of their own in ``id``.
    """
    return [_group(number, slot, system) for number, slot in enumerate(slots, 1)]


def _group(number: int, slot: WallSlot, system: UnitSystem) -> dict[str, Any]:
    kind, before = slot.kind, slot.before
    title = f"Wall: {slot.place or 'another place'}" + (f" ({kind})" if kind else "")

    def text(name: str, label: str, words: str) -> dict[str, Any]:
        return {"key": f"visit.wall.{number}.{name}", "label": label, "kind": "text", "unit": "",
                "help": words, "basis": False, "unknown": False}  # fmt: skip

    def choice(name: str, label: str, options: list[list[str]], none: str) -> dict[str, Any]:
        return {"key": f"visit.wall.{number}.{name}", "label": label, "kind": "choice",
                "across": True, "none": none, "options": options}  # fmt: skip

    ways = [[m.key, m.words] for m in wall_methods().values() if kind in ("", *m.kinds)]
    fields = []
    if before is None:
        fields.append(text("place", "place", "The same words at each visit."))
    if before is None or before.kind is None:
        kinds = [[name, _KINDS[name]] for name in WALL_KINDS]
        fields.append(choice("kind", "what is measured", kinds, "not said") | {"kind": "select"})
    size = text("size", _SIZES[kind], "")
    fields.append(size | {"unit": "in" if system is UnitSystem.US else "mm"})
    method = choice("method", "how it was measured", ways, "not said")
    fields.append(method | {"kind": "select"})
    if kind in ("", "crack"):
        fields += [
            choice("offset", "crack: one side stands out", _YES_NO, "not checked"),
            choice("fresh", "crack: fresh, with clean and sharp edges", _YES_NO, "not checked"),
        ]
    braced = before.bracing if before is not None else ""
    moved = f"bracing ({braced}) has moved" if braced else "bracing has moved"
    bracing = [
        text("bracing", "bracing that is there", 'Such as two steel posts, or "none".'),
        choice("bracing_moved", moved, _YES_NO, "not checked"),
    ]
    note = text("note", "note of this wall", "")
    if braced:
        fields.append(bracing.pop())
    return {
        "id": f"wall-{number}",
        "title": title,
        "cautions": list(cautions("wall", system=system)),
        "fields": fields,
        "seldom": [*bracing, note],
        "more": "Bracing and note",
    }


def wall_taken(
    slots: Sequence[WallSlot], visits: Sequence[Visit], system: UnitSystem
) -> dict[str, tuple[str, bool]]:
    """Return what stands below the size of each place: the last reading, and what the new one says.

    Parameters
    ----------
    slots : sequence of WallSlot
        The places.
    visits : sequence of Visit
        All visits, with this one.
    system : UnitSystem
        Units of the reader.

    Returns
    -------
    dict of str to (str, bool)
        By the key of the size, and whether it calls an engineer.
    """
    now = {(place_key(trend.place), trend.kind or ""): trend for trend in wall_trend(visits)}
    found = {}
    for number, slot in enumerate(slots, 1):
        said, urgent, before = [], False, slot.before
        if before is not None and before.readings:
            said.append(f"Last time {reading_words(before.readings[-1], system)}.")
        trend = now.get((place_key(slot.place), slot.kind))
        if slot.at is not None and trend is not None and (trend.readings or trend.reasons):
            said.append(wall_verdict(trend, system))
            urgent = trend.call in (WallCall.ENGINEER_NOW, WallCall.HAVE_LOOKED_AT)
        found[f"visit.wall.{number}.size"] = (" ".join(said).removesuffix("."), urgent)
    return found
