"""What the answer is as JSON: every key, what it may hold, and what it means.

`answer_schema` comes from these classes as the answer itself does, so they never part. SI units,
named in every key; rain in mm. ``null`` stands for 'never' in times; each spread carries the share
of 'never'. The version is raised when a key is removed or changes its meaning, not when one is
added.
"""

from __future__ import annotations

import datetime
import math
from functools import partial
from typing import Annotated, Any, Literal

import numpy as np
from pydantic import AfterValidator, BaseModel, BeforeValidator, ConfigDict, Field, TypeAdapter
from pydantic.config import JsonDict
from pydantic.json_schema import GenerateJsonSchema

from riskkit.assessment import Pattern
from riskkit.home.walls import Movement, WallCall, WallReason
from riskkit.quantities.components import Component
from riskkit.quantities.quantity import Basis
from riskkit.records import FloatArray, Series
from riskkit.risk.clock import Clock
from riskkit.risk.system_state import Effect, Fault, Severity
from riskkit.version import __version__

FORM_VERSION: Literal[6] = 6
_PIT: JsonDict = {"const": Component.PIT.value}


def number(value: float) -> float | None:
    """Round to six digits, more than any answer has; infinite and missing become null.

    Parameters
    ----------
    value : float
        The number [any].

    Returns
    -------
    float or None
        The number [any].

    Examples
    --------
    >>> number(12.3456789), number(float("inf"))
    (12.3457, None)
    """
    return float(f"{value:.6g}") if math.isfinite(value) else None


def numbers(values: FloatArray) -> list[Any]:
    """Turn an array into lists of numbers to six digits; infinite and missing become null.

    Parameters
    ----------
    values : array
        The numbers [any].

    Returns
    -------
    list
        Nested as the array is [any].
    """
    return [numbers(v) if isinstance(v, np.ndarray) else number(v) for v in values]


Figure = Annotated[float, BeforeValidator(number)]
Share = Annotated[float, Field(ge=0, le=1), BeforeValidator(number)]
Maybe = Annotated[float | None, BeforeValidator(lambda v: None if v is None else number(v))]
Row = Annotated[list[float | None], BeforeValidator(numbers)]
Rows = Annotated[list[list[float | None]], BeforeValidator(numbers)]
Years = Annotated[float, AfterValidator(partial(round, ndigits=4))]


class Form(BaseModel):
    """A part of the answer: every key is always there, and no other."""

    model_config = ConfigDict(
        extra="forbid",
        frozen=True,
        from_attributes=True,  # a frozen value of the answer whose fields have the names of keys
        use_attribute_docstrings=True,
        json_schema_serialization_defaults_required=True,
    )


class Points(Form):
    """Eight in ten lie between low and high; null is never."""

    low: Maybe
    median: Maybe
    high: Maybe


class Spread(Points):
    """Of all draws, with never as the largest of all values."""

    never_share: Share
    if_ever: Points | None
    """Of the draws that are not never; null where there is none."""


class HomeName(Form):
    name: str
    note: str


class Flow(Form):
    p05: Figure
    p50: Figure
    p95: Figure


class Finding(Form):
    fault: Fault
    severity: Severity
    effect: Effect
    found_on: datetime.date | None
    """Day of the visit; null where the home file says it."""
    note: str
    measured_m3_s: Flow | None
    expected_m3_s: Flow | None


class State(Form):
    """What is out of order or missing, from the home and its visits; the gravest first."""

    alarm_can_be_counted_on: bool
    time_counted_from: Clock
    """Alarm; stop of the pump, where no alarm can be counted on; rain, its beginning, where there
    is no pump either."""
    absent: list[Component]
    findings: list[Finding]


class Settings(Form):
    draws: int
    seed: int
    pattern: Pattern
    step_s: float
    headline_return_period_yr: float


class Rain(Form):
    """Depths by duration and return period."""

    source: str
    series: Series
    years: float | None
    climate_factor: float
    """Factor in all depths for a changed climate; 1 where there is none."""
    duration_h: Row
    return_period_yr: Row
    depth_mm: Rows
    """A row per duration."""
    lower_mm: Rows | None
    upper_mm: Rows | None
    notes: list[str]


class PumpWorking(Form):
    """Or without a pump, where there is none."""

    peak_inflow_m3_s: Spread
    peak_inflow_share_of_pump: Spread | None
    """Null without a pump."""
    alarm_share: Share | None
    """Null where the alarm cannot be counted on."""
    floor_dry_share: Share
    """Share of the draws in which the pit does not overflow."""
    water_at_joint_share: Share
    """Share of the draws in which water outside comes up to the joint of wall and floor, and so to
    the floor, though the pump works."""
    highest_level_m: Spread
    starts_per_hour: Spread | None
    """Null without a pump."""


class FloorDepth(Form):
    after_h: float
    share: Share
    """Of the draws with water on the floor by then."""
    if_any: Points | None
    """Depth in those draws; null where there is none. It may fall with a larger storm."""
    of_all: Points
    """Depth in all draws, 0 where there is none; it never falls with a larger storm."""


class OtherDraws(Form):
    """Where the median and the share of never at the worst moment would lie with other draws, 19
    times in 20; null for never."""

    median_s: Row
    never_share: list[Share]


class DeadBefore(Form):
    """For a pump that was dead when the storm began; the rain begins with the storm."""

    rain_to_alarm_s: Spread | None
    """Null where the alarm cannot be counted on."""
    alarm_to_floor_s: Spread | None
    """Null where the alarm cannot be counted on."""
    rain_to_floor_s: Spread


class PumpStopped(Form):
    """The time is that of state.time_counted_from, the others are null; hours after the same
    moment."""

    alarm_to_floor_worst_s: Spread | None
    stop_to_floor_worst_s: Spread | None
    rain_to_floor_worst_s: Spread | None
    alarm_to_floor_typical_s: Spread | None
    stop_to_floor_typical_s: Spread | None
    rain_to_floor_typical_s: Spread | None
    depth_on_floor_m: list[FloorDepth]
    """At the stop that makes it deepest."""
    stop_to_alarm_worst_s: Spread | None
    """From the worst stop; never_share is how often the alarm never sounds. Null where it cannot be
    counted on or there is no pump."""
    over_rim_worst_s: Spread
    """Until the pit overflows, the pump stopping at the worst moment for that; counted from
    state.time_counted_from."""
    at_joint_worst_s: Spread
    """The same until water comes in at the joint of wall and floor; by the alarm 0 where it comes
    before the alarm or without it."""
    joint_first_share: Share
    """Share of the draws in which, at the worst stop, water comes in at the joint of wall and floor
    before the pit overflows."""
    dead_before_storm: DeadBefore
    with_other_draws: OtherDraws


class MedianHome(Form):
    """One home, the same in every storm: each quantity as known or at its median; levels in metres
    above the basement floor. The time is that of state.time_counted_from; null for never."""

    time_s: Row
    rain_mm_h: Row
    inflow_m3_s: Row
    working_level_m: Row
    stopped_level_m: Row
    switch_on_level_m: Maybe
    switch_off_level_m: Maybe
    alarm_level_m: Maybe
    alarm_to_floor_worst_s: Maybe
    stop_to_floor_worst_s: Maybe
    rain_to_floor_worst_s: Maybe


class Amounts(Form):
    """Eight in ten of the draws lie between low and high."""

    low: Figure
    median: Figure
    high: Figure


class PitWater(Form):
    """Draw by draw the first six, less the next two, are what reaches the pit; their points need
    not add up. Water that is pumped out and comes back is not counted again."""

    gap: Amounts
    """Down the gap at the wall, from what arrives there and from the ponded water."""
    window_wells: Amounts
    roof_tied_in: Amounts
    """From downspouts tied into the drain."""
    fill: Amounts
    """Through the fill at the wall."""
    lot: Amounts
    """From the lot beside it; below zero where it takes up more than it hands on."""
    ground_water: Amounts
    """From far off."""
    deep_ground: Amounts
    """What the ground below the drain takes."""
    at_footing: Amounts
    """By how much gravel and fill at the footing hold more at the end than at the beginning."""
    to_pit: Amounts


class WaterToPit(Form):
    """Of the storm that is named, with the drain flowing freely, as while the pump keeps up."""

    first_24_h_m3: PitWater
    next_48_h_m3: PitWater


class Storm(Form):
    return_period_yr: float
    duration_h: float
    """Of the storm that is named and drawn, the same for every return period."""
    rain_mm: Figure
    pump_working: PumpWorking
    pump_stopped: PumpStopped
    water_to_pit: WaterToPit
    median_home: MedianHome


class DryWeather(Form):
    inflow_m3_s: Spread
    alarm_to_floor_s: Spread | None
    stop_to_floor_s: Spread | None
    rain_to_floor_s: Spread | None


class Assumption(Form):
    quantity: str = Field(validation_alias="key")
    words: str
    basis: Basis
    value: str
    p05: Maybe
    p50: Maybe
    p95: Maybe
    source: str
    """Key in the list of sources."""
    rationale: str


class WallReading(Form):
    date: datetime.date
    size_m: Figure
    method: str | None
    error_m: Figure


class WallChange(Form):
    """From an earlier reading to the latest."""

    since: datetime.date
    years: Years
    growth_m: Figure
    error_m: Figure
    """By how much the growth can be off."""
    in_two_ways: bool
    """Whether the two were read by different methods."""


class Wall(Form):
    place: str
    kind: Literal["bow", "lean", "crack"] | None
    readings: list[WallReading]
    since_last: WallChange | None = Field(validation_alias="last")
    since_first: WallChange | None = Field(validation_alias="whole")
    movement: Movement
    reasons: list[WallReason]
    call: WallCall
    bracing: Annotated[str | None, BeforeValidator(lambda words: words or None)]
    bracing_checked: bool


class Head(Form):
    """What every answer begins with."""

    form: Literal["riskkit-assessment"] = "riskkit-assessment"
    form_version: Literal[6] = FORM_VERSION
    riskkit_version: str = __version__
    home: HomeName
    state: State
    sentence: str
    """The whole answer in plain words."""


class NoPit(Head):
    """Answer for a home without a pit: there is nothing to time."""

    state: State = Field(json_schema_extra={"properties": {"absent": {"contains": _PIT}}})


class YearCause(Form):
    """The part of one cause in the water on the floor."""

    cause: str
    """Storm, fault or outage, as in ``riskkit remedies --json``."""
    share: Figure
    chance_per_yr: Figure


class YearSecondPump(Form):
    """What the second pump does in one storm when the first one is lost."""

    storm_yr: Figure
    flow_m3_s: Points
    carries_share: Figure
    has_battery: bool
    lasts_without_power_s: Points
    """From the worst moment of the storm; null for as long as it takes."""


class YearChance(Form):
    """Chance of water on the floor in a year, storms and failures together."""

    per_yr: Points
    mean_per_yr: Figure
    """Of all draws."""
    causes: list[YearCause]
    """The greatest first."""
    second_pump: YearSecondPump | None
    rests_on: str


class Answer(Head):
    """Answer for one home."""

    settings: Settings
    rain: Rain
    storms: list[Storm]
    dry_weather: DryWeather
    chance_of_a_year: YearChance | None
    """By judgement of how often parts fail; null where it was not worked out."""
    assumptions: list[Assumption]
    soil: str
    """Texture of ground and fill, in words."""
    walls: list[Wall]
    """What was measured of walls over the visits, by place and kind."""
    warnings: list[str]
    cautions: list[str]


class _Schema(GenerateJsonSchema):
    """The schema by the names of the keys, without a title that repeats each of them."""

    def field_title_should_be_set(self, schema: Any) -> bool:
        return False


def schema_of(form: Any, title: str) -> dict[str, Any]:
    """Return the JSON Schema of a form.

    Parameters
    ----------
    form : type
        A class of this module or of one like it, or several joined by ``|``.
    title : str
        What it is.

    Returns
    -------
    dict
        The schema.
    """
    schema = TypeAdapter(form).json_schema(mode="serialization", schema_generator=_Schema)
    head = {
        "$schema": GenerateJsonSchema.schema_dialect,
        "title": title,
        "description": "SI units, named in every key; rain in mm. null in a time means never.",
    }
    return head | {key: part for key, part in schema.items() if key not in head}


def answer_schema() -> dict[str, Any]:
    """Return the JSON Schema of `assessment_form` and `no_pit_form`.

    Returns
    -------
    dict
        The schema.
    """
    return schema_of(Answer | NoPit, f"riskkit assessment, form version {FORM_VERSION}")
