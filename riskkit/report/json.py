"""The answer as JSON, and its schema: both come from the classes below, so they never part.

SI units, named in every key; rain in mm. ``null`` stands for 'never' in times; each spread carries
the share of 'never'. The version is raised when a key is removed or changes its meaning, not when
one is added.
"""

from __future__ import annotations

import datetime
import math
from functools import partial
from typing import TYPE_CHECKING, Annotated, Any, Literal

import numpy as np
from pydantic import AfterValidator, BaseModel, BeforeValidator, ConfigDict, Field, TypeAdapter
from pydantic.config import JsonDict
from pydantic.json_schema import GenerateJsonSchema

import riskkit
from riskkit.antecedent.textures import soil_words
from riskkit.ensemble.quantiles import chance_of_draws
from riskkit.home.walls import Movement, WallCall, WallReason, wall_trend
from riskkit.quantities.components import Component
from riskkit.quantities.quantity import Basis
from riskkit.records import DepthDurationFrequency, FloatArray, Series
from riskkit.report.cautions import cautions
from riskkit.report.words import sentence
from riskkit.risk.clock import Clock
from riskkit.risk.system_state import Effect, Fault, Severity, system_state
from riskkit.storm.patterns import Pattern

if TYPE_CHECKING:
    from riskkit.assessment import Assessment, StormAnswer
    from riskkit.home.home import Home
    from riskkit.risk.evidence import MeasuredFlow
    from riskkit.risk.system_state import SystemState
    from riskkit.risk.trace import Trace

__all__ = [
    "FORM_VERSION",
    "answer_schema",
    "assessment_form",
    "no_pit_form",
    "number",
    "numbers",
    "rain_form",
]

FORM_VERSION: Literal[2] = 2
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
    middle: Maybe
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
    highest_level_m: Spread
    starts_per_hour: Spread | None
    """Null without a pump."""


class FloorDepth(Form):
    after_h: float
    share: Share
    """Of the draws with water on the floor by then."""
    if_any: Points | None
    """Depth in those draws; null where there is none."""


class OtherDraws(Form):
    """Where the middle and the share of never at the worst moment would lie with other draws, 19
    times in 20; null for never."""

    middle_s: Row
    never_share: list[Share]


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
    with_other_draws: OtherDraws


class MiddleHome(Form):
    """One home, the same in every storm: each quantity as known or at its middle; levels in metres
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


class Storm(Form):
    return_period_yr: float
    duration_h: float
    """Of the storm that is named and drawn, the same for every return period."""
    rain_mm: Figure
    pump_working: PumpWorking
    pump_stopped: PumpStopped
    middle_home: MiddleHome


class DryWeather(Form):
    inflow_m3_s: Spread
    alarm_to_floor_s: Spread | None
    stop_to_floor_s: Spread | None
    rain_to_floor_s: Spread | None


class Assumption(Form):
    quantity: str = Field(validation_alias="key")
    words: str
    basis: Basis
    taken: str
    p05: Maybe
    p50: Maybe
    p95: Maybe
    source: str
    """Key in the list of sources."""
    why: str


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
    form_version: Literal[2] = FORM_VERSION
    riskkit_version: str = riskkit.__version__
    home: HomeName
    state: State
    sentence: str
    """The whole answer in plain words."""


class NoPit(Head):
    """Answer for a home without a pit: there is nothing to time."""

    state: State = Field(json_schema_extra={"properties": {"absent": {"contains": _PIT}}})


class Answer(Head):
    """Answer for one home."""

    settings: Settings
    rain: Rain
    storms: list[Storm]
    dry_weather: DryWeather
    assumptions: list[Assumption]
    soil: str
    """Texture of ground and fill, in words."""
    walls: list[Wall]
    """What was measured of walls over the visits, by place and kind."""
    warnings: list[str]
    cautions: list[str]


class Schema(GenerateJsonSchema):
    """The schema by the names of the keys, without a title that repeats each of them."""

    def field_title_should_be_set(self, schema: Any) -> bool:
        return False


def answer_schema() -> dict[str, Any]:
    """Return the JSON Schema of `assessment_form` and `no_pit_form`.

    Returns
    -------
    dict
        The schema.
    """
    schema = TypeAdapter(Answer | NoPit).json_schema(mode="serialization", schema_generator=Schema)
    return {
        "$schema": GenerateJsonSchema.schema_dialect,
        "title": f"riskkit assessment, form version {FORM_VERSION}",
        "description": "SI units, named in every key; rain in mm. null in a time means never.",
        **schema,
    }


def _by_clock(clock: Clock, name: str, value: Any) -> dict[str, Any]:
    """The time by the clock that counts; the others, which nobody may count on, are null."""
    return {f"{other.value}_to_floor{name}": value if other is clock else None for other in Clock}


def _flow(flow: MeasuredFlow | None) -> Flow | None:
    if flow is None:
        return None
    return Flow(p05=flow.low_m3_s, p50=flow.middle_m3_s, p95=flow.high_m3_s)


def _state(state: SystemState) -> State:
    return State(
        alarm_can_be_counted_on=state.warns,
        time_counted_from=state.clock,
        absent=sorted(state.absent, key=lambda part: part.value),
        findings=[
            Finding(
                fault=finding.fault,
                severity=finding.severity,
                effect=finding.effect,
                found_on=finding.date,
                note=finding.note,
                measured_m3_s=_flow(finding.found),
                expected_m3_s=_flow(finding.expected),
            )
            for finding in state.findings
        ],
    )


def _middle_home(trace: Trace, state: SystemState) -> MiddleHome:
    has_pump, has_alarm = state.has(Component.PUMP), state.has(Component.ALARM)
    return MiddleHome(
        time_s=trace.time_s,
        rain_mm_h=trace.rain_mm_h,
        inflow_m3_s=trace.inflow_m3_s,
        working_level_m=trace.working_m,
        stopped_level_m=trace.stopped_m,
        switch_on_level_m=trace.on_m if has_pump else None,
        switch_off_level_m=trace.off_m if has_pump else None,
        alarm_level_m=trace.alarm_m if has_alarm else None,
        **_by_clock(trace.clock, "_worst_s", trace.to_floor_s),
    )


def _storm(storm: StormAnswer, state: SystemState) -> Storm:
    has_pump = state.has(Component.PUMP)
    chance = chance_of_draws(storm.worst_by_draw_s)
    return Storm(
        return_period_yr=storm.return_period_yr,
        duration_h=storm.duration_h,
        rain_mm=storm.depth_mm,
        pump_working=PumpWorking(
            peak_inflow_m3_s=storm.peak_inflow_m3_s,
            peak_inflow_share_of_pump=storm.peak_use if has_pump else None,
            alarm_share=storm.alarm_share if state.warns else None,
            floor_dry_share=storm.floor_dry_share,
            highest_level_m=storm.highest_level_m,
            starts_per_hour=storm.starts_per_hour if has_pump else None,
        ),
        pump_stopped=PumpStopped(
            **_by_clock(state.clock, "_worst_s", storm.worst_s),
            **_by_clock(state.clock, "_typical_s", storm.typical_s),
            depth_on_floor_m=[
                FloorDepth(after_h=hour, share=depth.share, if_any=depth.if_any)
                for hour, depth in storm.depth_after_m.items()
            ],
            with_other_draws=OtherDraws(middle_s=chance.middle, never_share=chance.never_share),
        ),
        middle_home=_middle_home(storm.trace, state),
    )


def _rain(table: DepthDurationFrequency) -> Rain:
    return Rain(
        source=table.source,
        series=table.series,
        years=table.years,
        climate_factor=1.0 if table.climate is None else table.climate.factor,
        duration_h=table.duration_h,
        return_period_yr=table.return_period_yr,
        depth_mm=table.depth_mm,
        lower_mm=table.lower_mm,
        upper_mm=table.upper_mm,
        notes=table.notes,
    )


def rain_form(table: DepthDurationFrequency) -> dict[str, Any]:
    """Turn a table of depths into plain values for JSON.

    Parameters
    ----------
    table : DepthDurationFrequency
        The table.

    Returns
    -------
    dict
        Lists and numbers; depths [mm], durations [h], return periods [yr].
    """
    return _rain(table).model_dump(mode="json")


def no_pit_form(home: Home, words: str) -> dict[str, Any]:
    """Turn the answer for a home without a pit into plain values for JSON.

    Parameters
    ----------
    home : Home
        The home.
    words : str
        The answer.

    Returns
    -------
    dict
        As described by `answer_schema`: the state and the sentence alone.
    """
    name, state = HomeName(name=home.name, note=home.note), _state(system_state(home))
    return NoPit(home=name, state=state, sentence=words).model_dump(mode="json")


def assessment_form(answer: Assessment) -> dict[str, Any]:
    """Turn an answer into plain values for JSON.

    Parameters
    ----------
    answer : Assessment
        The answer.

    Returns
    -------
    dict
        As described by `answer_schema`.
    """
    settings = answer.settings
    return Answer(
        home=HomeName(name=answer.home.name, note=answer.home.note),
        state=_state(answer.state),
        sentence=sentence(answer),
        settings=Settings(
            draws=settings.n_draws,
            seed=settings.seed,
            pattern=settings.pattern,
            step_s=settings.step_s,
            headline_return_period_yr=settings.headline_yr,
        ),
        rain=_rain(answer.rain),
        storms=[_storm(storm, answer.state) for storm in answer.storms],
        dry_weather=DryWeather(
            inflow_m3_s=answer.dry_inflow_m3_s,
            **_by_clock(answer.state.clock, "_s", answer.dry_s),
        ),
        assumptions=answer.assumptions,
        soil=soil_words(answer.home),
        walls=wall_trend(answer.home.visit),
        warnings=answer.warnings,
        cautions=cautions("sheet"),
    ).model_dump(mode="json")
