"""Visits to a home: what was tested, checked, changed and seen, as ``[[visit]]`` of the home file.

::

    [[visit]]
    date = "2026-04-14"
    who = "technician, M. B."
    parts = ["alarm battery"]
    next = "2026-10-14"

    [visit.rise_test]              # pump off: the water rises
    begin = "20 in"                # depths below the basement floor
    end = "14 in"
    time = "95 s"
    weather = "dry"                # no rain or thaw for two days

    [visit.drawdown_test]          # pump on: the water falls
    begin = "13 in"
    end = "21 in"
    time = "40 s"

    [visit.checks]                 # as found; with what was done and how it was left, where it was
    float_free = "yes"
    alarm_sounded = "no, corroded contact"
    check_valve_holds = { found = "no, stuck open", done = "replaced", left = "yes" }

    [[visit.wall]]                 # one for each place, the same words at each visit
    place = "north wall, left of the window"
    kind = "bow"                   # bow, lean or crack
    size = "0.25 in"
    method = "plumb line"
    bracing = "two steel posts"
    bracing_moved = "no"
"""

from __future__ import annotations

import datetime
from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from functools import cache
from types import MappingProxyType
from typing import TYPE_CHECKING, Annotated, Any, Protocol, TypeAlias, cast

from pydantic import (
    Field,
    PlainSerializer,
    PlainValidator,
    WithJsonSchema,
    create_model,
    model_validator,
)

from riskkit.errors import InputError
from riskkit.home._fields import Part, blank, choice_field, field_error
from riskkit.home.visit_checks import Check, check_field, visit_checks
from riskkit.quantities.quantity import UNKNOWN, Basis, Quantity, shown
from riskkit.quantities.units import convert, parse_quantity, tidied
from riskkit.quantities.variables import said_limit
from riskkit.tables import load_table

__all__ = [
    "WALL_KINDS",
    "Check",
    "DrawdownTest",
    "RiseTest",
    "Visit",
    "VisitValue",
    "Wall",
    "WallMethod",
    "date_field",
    "last_visit",
    "need_past",
    "visit_checks",
    "visit_value",
    "wall_methods",
]

WALL_KINDS = ("bow", "lean", "crack")
_FIRST, _LAST = datetime.date(1950, 1, 1), datetime.date(2200, 1, 1)


@dataclass(frozen=True)
class VisitValue:
    """What can be read off at a visit: its unit, range and reading error."""

    key: str
    unit: str
    low: float
    high: float
    reading_error: float
    words: str

    @property
    def span(self) -> str:
        """What can be, in words."""
        if self.unit == "s":
            return f"it lies between {_said_time(self.low)} and {_said_time(self.high)}"
        low, high = (
            said_limit(convert(end, "m", "in"), is_low=end == self.low)
            for end in (self.low, self.high)
        )
        return f"it lies between {low:g} and {high:g} in ({self.low:g} and {self.high:g} m)"


def _said_time(seconds: float) -> str:
    return f"{seconds:g} s" if seconds < 60 else f"{seconds / 3600:g} h"


def visit_value(key: str) -> VisitValue:
    """Return one thing that is read off at a visit.

    Parameters
    ----------
    key : str
        ``"level"``, ``"time"``, ``"drawdown_time"``, ``"crack"``, ``"bow"`` or ``"lean"``.

    Returns
    -------
    VisitValue
        Its row in ``tables/visit_values.csv``.
    """
    row = next(row for row in load_table("visit_values").rows if row["key"] == key)
    low, high, error = (float(row[name]) for name in ("low", "high", "reading_error"))
    return VisitValue(key, row["unit"], low, high, error, row["words"])


@dataclass(frozen=True)
class WallMethod:
    """A way to measure a wall: what it serves, and by how much one reading can be off [m]."""

    key: str
    kinds: tuple[str, ...]
    reading_error_m: float
    words: str


@cache
def wall_methods() -> Mapping[str, WallMethod]:
    """Return the ways to measure a wall.

    Returns
    -------
    mapping of str to WallMethod
        The rows of ``tables/wall_methods.csv`` by their key.
    """
    return MappingProxyType(
        {
            row["key"]: WallMethod(
                row["key"], tuple(row["kinds"].split()), float(row["reading_error"]), row["words"]
            )
            for row in load_table("wall_methods").rows
        }
    )


def _reading_field(key: str, name: str, examples: tuple[str, str]) -> Any:
    item = visit_value(key)
    right = f'write it like "{examples[0]}" or "{examples[1]}", or "unknown"'

    def validate(written: object) -> Quantity | None:
        if written is None or isinstance(written, Quantity):
            return written
        if not isinstance(written, str):
            raise field_error(InputError(name, f"{shown(written)} has no unit", right))
        text = tidied(written)
        if text.lower() == UNKNOWN:
            return None
        try:
            value = parse_quantity(text, item.unit, name)
        except InputError as error:
            raise field_error(InputError(name, error.what, right)) from None
        if not item.low <= value <= item.high:
            what = f"{text} is outside what can be for the {item.words}"
            raise field_error(InputError(name, what, item.span))
        return Quantity(value, Basis.MEASURED, text)

    schema = {
        "type": "string",
        "description": f"{item.words}, from {item.low:g} to {item.high:g} {item.unit}",
        "examples": [*examples, UNKNOWN],
    }
    return Annotated[
        Quantity | None,
        PlainValidator(validate),
        PlainSerializer(lambda value: value.text if value else UNKNOWN),
        WithJsonSchema(schema),
    ]


def date_field(name: str) -> Any:
    """Return the field of a day for a model; only the next visit may be unknown.

    Parameters
    ----------
    name : str
        Its key.

    Returns
    -------
    type
        A type as pydantic takes it.
    """
    right = 'write it like "2026-04-14"'

    def validate(written: object) -> datetime.date | None:
        if isinstance(written, datetime.datetime):
            raise field_error(InputError(name, "only the day is wanted, without a time", right))
        if isinstance(written, str):
            if written.strip().lower() == UNKNOWN and name == "next":
                return None
            try:
                written = datetime.date.fromisoformat(written.strip())
            except ValueError:
                raise field_error(
                    InputError(name, f"{shown(written)} is not a date", right)
                ) from None
        if not isinstance(written, datetime.date):
            raise field_error(InputError(name, f"{shown(written)} is not a date", right))
        if not _FIRST <= written < _LAST:
            raise field_error(InputError(name, f"{written} is outside {_FIRST} to {_LAST}", right))
        return written

    return Annotated[
        datetime.date | None if name == "next" else datetime.date,
        PlainValidator(validate),
        PlainSerializer(lambda value: value.isoformat() if value else UNKNOWN),
        WithJsonSchema({"type": "string", "format": "date", "description": f"{name} date"}),
    ]


if TYPE_CHECKING:  # the type checker sees what the fields hold, pydantic how they are read
    _Depth: TypeAlias = Quantity | None
    _Time: TypeAlias = Quantity | None
    _FallTime: TypeAlias = Quantity | None
    _Size: TypeAlias = Quantity | None
    _Day: TypeAlias = datetime.date
    _Next: TypeAlias = datetime.date | None
    _Weather: TypeAlias = str | None
    _Kind: TypeAlias = str | None
    _Method: TypeAlias = str | None
    _YesNo: TypeAlias = str | None
    Checks = Part
else:
    _Depth = _reading_field("level", "depth", ("20 in", "51 cm"))
    _Time = _reading_field("time", "time", ("95 s", "4 min"))
    _FallTime = _reading_field("drawdown_time", "time", ("40 s", "4 min"))
    _Size = _reading_field("lean", "size", ("2 mm", "0.1 in"))
    _Weather = choice_field(
        "rise_test.weather", ("dry", "wet"), "dry: no rain or thaw for two days"
    )[0]
    _Kind = choice_field("wall.kind", WALL_KINDS, "what was measured")[0]
    _Method = choice_field("wall.method", tuple(wall_methods()), "how it was measured")[0]
    _YesNo = choice_field("wall", ("yes", "no"), "what was seen")[0]
    _Day, _Next = date_field("date"), date_field("next")
    Checks = create_model(
        "Checks", __base__=Part, **{key: check_field(key) for key in visit_checks()}
    )

_Note = Annotated[str, Field(max_length=2000)]


class _LevelTest(Part):
    begin: _Depth = Field(None, description="depth below the floor at the start")
    end: _Depth = Field(None, description="depth below the floor at the end")
    time: _Time = Field(None, description="how long the water took")

    @property
    def is_complete(self) -> bool:
        """Whether both levels and the time are known."""
        return None not in (self.begin, self.end, self.time)

    def _depths(self) -> tuple[float, float] | None:
        if self.begin is None or self.end is None:
            return None
        return self.begin.value, self.end.value


class RiseTest(_LevelTest):
    """The pump is off and the water in the pit rises."""

    weather: _Weather = None

    @model_validator(mode="after")
    def _rises(self) -> RiseTest:
        depths = self._depths()
        if depths is not None and depths[1] > depths[0]:
            what = "the water fell although the pump was off, so begin and end may be swapped"
            right = "depths are measured down from the floor, so end is less than begin"
            raise field_error(InputError("rise_test", what, right))
        return self


class DrawdownTest(_LevelTest):
    """The pump runs and the water in the pit falls."""

    time: _FallTime = Field(None, description="how long the water took")

    @model_validator(mode="after")
    def _falls(self) -> DrawdownTest:
        depths = self._depths()
        if depths is not None and depths[1] <= depths[0]:
            what = (
                "the water did not fall although the pump ran: begin and end are swapped, or "
                "more water came in than the pump carries and the test says nothing of its flow"
            )
            right = "depths are measured down from the floor, so end is more than begin"
            raise field_error(InputError("drawdown_test", what, right))
        return self


class Wall(Part):
    """What was measured at one place of a wall."""

    place: str = Field(min_length=1, max_length=120, description="where, the same words each time")
    kind: _Kind = None
    size: _Size = Field(None, description="how far it bows or leans, or how wide the crack is")
    method: _Method = Field(None, description="how it was measured, the same way each time")
    offset: _YesNo = Field(None, description="whether one side of the crack stands out")
    fresh: _YesNo = Field(None, description="whether the crack is fresh: clean, sharp edges")
    bracing: str = Field("", max_length=120, description='bracing that is there, or "none"')
    bracing_moved: _YesNo = Field(None, description="whether the bracing has moved or come loose")
    note: _Note = ""

    @property
    def reading_error_m(self) -> float:
        """By how much the reading of its size can be off [m]."""
        if self.method is not None:
            return wall_methods()[self.method].reading_error_m
        return visit_value(self.kind or "lean").reading_error

    @model_validator(mode="after")
    def _fits_its_kind(self) -> Wall:
        if self.kind is None:
            return self
        if self.method is not None and self.kind not in wall_methods()[self.method].kinds:
            ways = ", ".join(f'"{m.key}"' for m in wall_methods().values() if self.kind in m.kinds)
            what = f'"{self.method}" does not measure a {self.kind}'
            raise field_error(InputError("wall.method", what, f"it is {ways} or left out"))
        for name, told in (("offset", self.offset), ("fresh", self.fresh)):
            if told is not None and self.kind != "crack":
                what = f"{name} is told of a crack, and this is a {self.kind}"
                raise field_error(InputError(f"wall.{name}", what, "leave it out"))
        return self

    @model_validator(mode="after")
    def _can_be(self) -> Wall:
        if self.size is not None and self.kind == "crack":
            item = visit_value("crack")
            if self.size.value > item.high:
                what = f"{self.size.text} is outside what can be for the {item.words}"
                raise field_error(InputError("wall.size", what, item.span))
        return self


class Visit(Part):
    """One visit. Frozen."""

    date: _Day = Field(description="day of the visit")
    who: str = Field("", max_length=80, description="role or initials")
    note: _Note = ""
    rise_test: RiseTest | None = None
    drawdown_test: DrawdownTest | None = None
    checks: Checks = Field(default_factory=blank(Checks))
    parts: tuple[Annotated[str, Field(min_length=1, max_length=120)], ...] = Field(
        (), max_length=40, description="parts changed"
    )
    wall: tuple[Wall, ...] = Field((), max_length=40)
    floor_drain: str = Field("", max_length=300, description="what was seen at the floor drain")
    next: _Next = Field(None, description="day of the next visit")

    @model_validator(mode="after")
    def _next_is_later(self) -> Visit:
        if self.next is not None and self.next <= self.date:
            what = f"the next visit ({self.next}) is not after this one ({self.date})"
            raise field_error(InputError("next", what))
        return self

    def check(self, key: str) -> Check | None:
        """Return what a check found, or None where it was not made.

        Parameters
        ----------
        key : str
            A key of ``tables/visit_checks.csv``.

        Returns
        -------
        Check or None
            How it was found, what was done, how it was left.
        """
        return cast("Check | None", getattr(self.checks, key))

    @property
    def leaves_pump_unconfirmed(self) -> bool:
        """Whether the system was worked on and nobody says that the pump is back in service."""
        tests = self.rise_test is not None or self.drawdown_test is not None
        worked = tests or bool(self.parts) or any(map(self.check, visit_checks("system")))
        return worked and self.check("pump_back_on") is None


def last_visit(visits: Sequence[Visit]) -> Visit | None:
    """Return the latest visit; of two on one day the one written later.

    Parameters
    ----------
    visits : sequence of Visit
        Visits in any order.

    Returns
    -------
    Visit or None
        None where there is none.
    """
    return max(reversed(visits), key=lambda visit: visit.date, default=None)


class _Dated(Protocol):
    @property
    def date(self) -> datetime.date: ...


def need_past(
    visits: Sequence[_Dated], today: datetime.date | None = None, *, of: str = "visit"
) -> None:
    """Refuse a visit on a day that has not come yet; the clock may be a day off.

    A home file is read all the same, for the clock of a tablet may be wrong by years.

    Parameters
    ----------
    visits : sequence of Visit
        Visits, or what else is dated, in the order of the home file.
    today : date, optional
        The day by the clock; else that of this machine.
    of : str
        What they are called: visits, or what else is dated.

    Raises
    ------
    InputError
        Where a visit lies later than tomorrow.
    """
    now = today or datetime.date.today()
    for number, visit in enumerate(visits, 1):
        if visit.date > now + datetime.timedelta(days=1):
            what = f"{visit.date} has not come yet, for the clock of this machine says {now}"
            right = "write the day of the visit; the day agreed for the next one goes to next"
            if of != "visit":
                right = f"write the day of the {of}"
            raise InputError(f"{of} {number}, date", what, right)
