"""What was observed of a home, as ``[[observation]]`` of the home file.

::

    [[observation]]
    date = "2026-04-14"
    kind = "hose_in_pit"           # a row of tables/observations.csv
    flow = "6 gpm"                 # of the hose, timed with a bucket
    begin = "20 in"                # depths below the basement floor
    end = "6 in"
    time = "7 min"

    [[observation]]
    date = "2026-04-14"
    kind = "how_often"
    when = "dry"                   # dry, spring or heavy rain
    often = "some times a day"

    [[observation]]
    date = "2026-04-14"
    kind = "floods"
    years = 10                     # up to the date
    times = 0                      # water on the floor though the pump ran

Nothing is worked out here: `riskkit.evidence` weighs the draws of a home by what was observed.
"""

from __future__ import annotations

import datetime
from collections.abc import Mapping
from functools import cache
from types import MappingProxyType
from typing import TYPE_CHECKING, Annotated, Any, TypeAlias

from pydantic import Field, PlainSerializer, PlainValidator, WithJsonSchema, model_validator

from riskkit.errors import InputError
from riskkit.home._fields import Part, choice_field, field_error
from riskkit.home.visits import date_field
from riskkit.quantities.quantity import UNKNOWN, Basis, Quantity, shown
from riskkit.quantities.units import convert, parse_quantity, tidied
from riskkit.quantities.variables import said_limit
from riskkit.tables import load_table

__all__ = [
    "ALARM",
    "FLOOR",
    "OFTEN",
    "WHEN",
    "WHEN_WORDS",
    "Observation",
    "answers_contradict",
    "observation_kinds",
]

WHEN = ("dry", "spring", "heavy rain")
"""Weather of which an owner tells how often the pump runs."""
WHEN_WORDS = MappingProxyType(
    {"dry": "in a dry spell", "spring": "in spring", "heavy rain": "in heavy rain"}
)
"""The same as it stands in a sentence."""
FLOOR = ("dry", "wet")
"""What the floor did."""
ALARM = ("silent", "sounded")
"""What the alarm did."""
_COUNTS = {
    "starts": (0, 10_000_000, "starts of the pump that were counted"),
    "times": (0, 1000, "times that it happened in these years"),
    "years": (1, 100, "years up to the date of which it is told"),
}
OFTEN = tuple(row["key"] for row in load_table("how_often").rows)
"""What an owner says of how often it runs, from the rarest."""


def answers_contradict(one: Observation, other: Observation) -> bool:
    """Tell whether two answers of how often something happens can hardly both be true.

    Parameters
    ----------
    one, other : Observation
        The answers, in any order.

    Returns
    -------
    bool
        True where they lie two words or more apart for the same weather, or the pump is said to
        run as much more in drier weather; where floods or alarms of some years are two or more
        above those of all the years among which they are; False for anything else.
    """
    if one.kind != other.kind:
        return False
    if one.kind in _OF_YEARS:
        return _more_in_part(one, other) or _more_in_part(other, one)
    if one.kind != "how_often":
        return False
    drier, wetter = sorted((one, other), key=lambda told: WHEN.index(str(told.when)))
    more = OFTEN.index(str(drier.often)) - OFTEN.index(str(wetter.often))
    return more >= _APART or (one.when == other.when and -more >= _APART)


def _more_in_part(part: Observation, whole: Observation) -> bool:
    """Tell whether in years among others more is told than in all of them."""
    since, since_whole = (
        one.date - datetime.timedelta(_DAYS_YR * (one.years or 0)) for one in (part, whole)
    )
    is_part = since >= since_whole - datetime.timedelta(_DAYS_OFF) and part.date <= whole.date
    return is_part and (part.times or 0) - (whole.times or 0) >= _APART


_OF_YEARS = frozenset({"floods", "alarms"})
_DAYS_YR, _DAYS_OFF = 365.25, 60  # by which years that are remembered may be off (judgement)
_APART = 2  # words or times, from which two answers can hardly both be true (judgement)


@cache
def observation_kinds() -> Mapping[str, Mapping[str, str]]:
    """Return what can be observed.

    Returns
    -------
    mapping of str to mapping
        The rows of ``tables/observations.csv`` by their key.
    """
    return MappingProxyType({row["key"]: row for row in load_table("observations").rows})


@cache
def _values() -> Mapping[str, Mapping[str, str]]:
    return {row["key"]: row for row in load_table("observation_values").rows}


def _value_field(key: str) -> Any:
    row = _values()[key]
    low, high = float(row["low"]), float(row["high"])
    right = f'write it like "{row["example_us"]}" or "{row["example_metric"]}"'

    def validate(written: object) -> Quantity | None:
        if written is None or isinstance(written, Quantity):
            return written
        if not isinstance(written, str):
            raise field_error(InputError(key, f"{shown(written)} has no unit", right))
        text = tidied(written)
        if text.lower() == UNKNOWN:
            return None
        try:
            value = parse_quantity(text, row["unit"], key)
        except InputError as error:
            raise field_error(InputError(key, error.what, right)) from None
        if not low <= value <= high:
            ends = (
                convert(low, row["unit"], row["shown"]),
                convert(high, row["unit"], row["shown"]),
            )
            least, most = (said_limit(end, is_low=end == ends[0]) for end in ends)
            what = f"{text} is outside what can be for the {row['words']}"
            span = f"it lies between {least:g} and {most:g} {row['shown']}"
            raise field_error(InputError(key, what, span))
        return Quantity(value, Basis.MEASURED, text)

    schema = {
        "type": "string",
        "description": f"{row['words']}, from {low:g} to {high:g} {row['unit']}",
        "examples": [row["example_us"], row["example_metric"], UNKNOWN],
    }
    return Annotated[
        Quantity | None,
        PlainValidator(validate),
        PlainSerializer(lambda value: value.text if value else UNKNOWN),
        WithJsonSchema(schema),
    ]


def _count_field(key: str) -> Any:
    low, high, words = _COUNTS[key]
    right = f"write a whole number from {low} to {high}"

    def validate(written: object) -> int | None:
        if written is None:
            return None
        if isinstance(written, bool) or not isinstance(written, int):
            raise field_error(InputError(key, f"{shown(written)} is not a whole number", right))
        if not low <= written <= high:
            what = f"{written} is outside what can be for the {words}"
            raise field_error(InputError(key, what, right))
        return written

    schema = {"type": "integer", "minimum": low, "maximum": high, "description": words}
    return Annotated[int | None, PlainValidator(validate), WithJsonSchema(schema)]


def _kind_field() -> Any:
    def validate(written: object) -> str:
        known = observation_kinds()
        if not isinstance(written, str) or written.strip().lower() not in known:
            what = f"{shown(written)} is not a kind of observation"
            raise field_error(InputError("kind", what, f"known are {', '.join(known)}"))
        return written.strip().lower()

    words = "; ".join(f"{key}: {row['words']}" for key, row in observation_kinds().items())
    schema = {"enum": list(observation_kinds()), "description": words}
    return Annotated[str, PlainValidator(validate), WithJsonSchema(schema)]


if TYPE_CHECKING:  # the type checker sees what the fields hold, pydantic how they are read
    _Kind: TypeAlias = str
    _Day: TypeAlias = datetime.date
    _Begin: TypeAlias = Quantity | None
    _End: TypeAlias = Quantity | None
    _Time: TypeAlias = Quantity | None
    _Flow: TypeAlias = Quantity | None
    _After: TypeAlias = Quantity | None
    _Lag: TypeAlias = Quantity | None
    _Run: TypeAlias = Quantity | None
    _Pause: TypeAlias = Quantity | None
    _When: TypeAlias = str | None
    _Often: TypeAlias = str | None
    _Floor: TypeAlias = str | None
    _Rain: TypeAlias = Quantity | None
    _Over: TypeAlias = Quantity | None
    _Inflow: TypeAlias = Quantity | None
    _Least: TypeAlias = Quantity | None
    _Most: TypeAlias = Quantity | None
    _Since: TypeAlias = datetime.date | None
    _On: TypeAlias = datetime.date | None
    _Alarm: TypeAlias = str | None
    _Depth: TypeAlias = Quantity | None
    _Mark: TypeAlias = Quantity | None
    _Hours: TypeAlias = Quantity | None
    _Starts: TypeAlias = int | None
    _Times: TypeAlias = int | None
    _Years: TypeAlias = int | None
else:
    _Kind, _Day = _kind_field(), date_field("date")
    _Begin, _End, _Time, _Flow, _After, _Lag, _Run, _Pause, _Rain, _Over = map(
        _value_field,
        ("begin", "end", "time", "flow", "after", "lag", "run", "pause", "rain", "over"),
    )
    _Inflow, _Least, _Most = map(_value_field, ("inflow", "least", "most"))
    _When = choice_field("when", WHEN, "weather of which it is told")[0]
    _Since, _On = date_field("since"), date_field("day")
    _Alarm = choice_field("alarm", ALARM, "what the alarm did")[0]
    _Depth, _Mark, _Hours = map(_value_field, ("depth", "mark", "hours"))
    _Starts, _Times, _Years = map(_count_field, ("starts", "times", "years"))
    _Floor = choice_field("floor", FLOOR, "what the floor did")[0]
    _Often = choice_field("often", OFTEN, "how often the pump runs then")[0]


class Observation(Part):
    """One thing that was observed. Frozen."""

    date: _Day = Field(description="day on which it was seen or told")
    kind: _Kind = Field(description="what was observed")
    begin: _Begin = None
    end: _End = None
    time: _Time = None
    flow: _Flow = None
    after: _After = None
    lag: _Lag = None
    run: _Run = None
    pause: _Pause = None
    rain: _Rain = None
    over: _Over = None
    inflow: _Inflow = None
    least: _Least = None
    most: _Most = None
    floor: _Floor = None
    when: _When = None
    often: _Often = None
    since: _Since = Field(None, description="day from which on it is told")
    day: _On = Field(None, description="day of which it is told")
    alarm: _Alarm = None
    depth: _Depth = None
    mark: _Mark = None
    hours: _Hours = None
    starts: _Starts = None
    times: _Times = None
    years: _Years = None
    note: Annotated[str, Field(max_length=2000)] = ""

    @model_validator(mode="after")
    def _holds_what_its_kind_needs(self) -> Observation:
        row = observation_kinds()[self.kind]
        needs, may = row["needs"].split(), row["may"].split()
        keys = (*_values(), *_COUNTS, "when", "often", "floor", "since", "day", "alarm")
        missing = [key for key in needs if getattr(self, key) is None]
        if missing:
            right = f"{self.kind} needs {', '.join(needs)}"
            raise field_error(InputError(missing[0], "it is missing", right))
        for key in keys:
            if getattr(self, key) is not None and key not in (*needs, *may):
                right = f"{self.kind} takes {', '.join((*needs, *may))}"
                raise field_error(InputError(key, f"it says nothing of {self.kind}", right))
        if self.begin is not None and self.end is not None:
            falls = self.kind == "draw_down"
            down = self.end.value - self.begin.value
            if (falls and down <= 0) or (not falls and down > 0):
                what = f"the water {'rose' if falls else 'fell'} although the pump {_PUMP[falls]}"
                right = "depths are measured down from the floor, so begin and end may be swapped"
                raise field_error(InputError("end", what, right))
        self._check_days()
        if self.kind == "counter" and self.starts is None and self.hours is None:
            right = "counter needs starts or hours"
            raise field_error(InputError("starts", "it is missing", right))
        if self.floor == "dry" and self.depth is not None:
            what = "water stands on a floor that is told as dry"
            raise field_error(InputError("depth", what, 'write floor = "wet", or no depth'))
        if self.inflow is not None and self.least is not None and self.most is not None:
            order = self.least.value < self.inflow.value < self.most.value
            if not order:
                what = "inflow does not lie between least and most"
                raise field_error(InputError("inflow", what, "write the least first"))
        return self

    @property
    def count_words(self) -> str:
        """How often it happened in so many years, where that is told."""
        times = {0: "never", 1: "once", 2: "twice"}.get(self.times or 0, f"{self.times} times")
        return f"{times} in {self.years} year{'' if self.years == 1 else 's'}"

    def _check_days(self) -> None:
        if self.since is not None and self.since >= self.date:
            what = f"{self.since} is not before the date, {self.date}"
            raise field_error(InputError("since", what, "write the earlier day as since"))
        if self.day is not None and self.day > self.date:
            what = f"{self.day} is after the date on which it was told, {self.date}"
            raise field_error(InputError("day", what, "write the day of the rain as day"))
        if (self.rain is None) != (self.over is None):
            missing = "rain" if self.rain is None else "over"
            right = "rain and over tell the rain only together"
            raise field_error(InputError(missing, "it is missing", right))

    @property
    def name(self) -> str:
        """Its kind, with the weather of which it is told."""
        return self.kind if self.when is None else f"{self.kind} ({self.when})"


_PUMP = {True: "ran", False: "was off"}
