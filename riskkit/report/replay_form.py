"""What the years of a home are as JSON: every key, what it may hold, and what it means.

Made as `riskkit.report.answer_form` is, whose parts it shares: SI units, named in every key; rain
in mm; ``null`` for 'never' in times. Days and hours are those of the record, in standard time.
"""

from __future__ import annotations

from typing import Annotated, Any, Literal

from pydantic import Field

from riskkit.report.answer_form import (
    Figure,
    Form,
    HomeName,
    Points,
    Share,
    Spread,
    State,
    schema_of,
)
from riskkit.risk.system_state import Fault
from riskkit.version import __version__

REPLAY_VERSION: Literal[7] = 7
Day = Annotated[str, Field(pattern=r"^\d{4}-\d{2}-\d{2}$")]
Hour = Annotated[str, Field(pattern=r"^\d{4}-\d{2}-\d{2}T\d{2}:\d{2}$")]
Month = Annotated[str, Field(pattern=r"^\d{4}-\d{2}$")]
Many = Annotated[float, Field(ge=0)]


class ReplaySettings(Form):
    draws: int
    seed: int
    least_storm_mm: float
    """Rain and melt of a storm from which it is followed."""


class Record(Form):
    name: str
    first_month: Month
    last_month: Month
    years: float
    """Of whole months."""
    missing_share: Share
    """Of the hours, which count as dry."""


class MeanRange(Form):
    """Mean of the draws; eight in ten of them lie between low and high."""

    low: Figure
    mean: Figure
    high: Figure


class Means(Form):
    """Eight in ten of the draws lie between low and high."""

    low: Figure
    median: Figure
    high: Figure
    mean: Figure


class AYear(Form):
    """What a year brings, mean of the years."""

    pumped_m3: Means
    run_h: Means
    starts: Means
    alarms_with_pump_working: Means
    floods_with_pump_working: Means
    failed_pump_floods: Means
    """Storms in which a pump that stopped in them, or was dead before, means water on the floor."""


class MonthOfYear(Form):
    """Mean of the years."""

    month: Annotated[int, Field(ge=1, le=12)]
    failed_pump_floods_per_year: Means
    pumped_m3: Means
    run_h: Means
    rain_and_melt_mm: Figure
    melt_mm: Figure
    wetness_share: Figure
    """Between wilting point and field capacity, of the median home."""
    lot_water_mm: Figure
    """Above the drain, over the lot of the median home."""


class Season(Form):
    """The shortest run of weeks that holds half of the storms in which a failed pump floods."""

    finish_by_month: int
    finish_by_day: int
    weeks: int
    share_of_floods: Share
    share_of_year: Share
    stands_out: bool
    """Whether it holds clearly more than its share of the year."""


class Visits(Form):
    due_now: list[Fault]
    """What is out of order and waits for no season."""
    season: Season | None
    """Null where a failed pump never floods the floor."""


class Trend(Form):
    what: str
    years: int
    mean: Figure
    per_decade: Figure
    low: Figure
    high: Figure
    p_value: Share
    detectable: Figure
    """Change in ten years that so short a record would show four times in five."""


class TwoPeriods(Form):
    what: str
    first: tuple[int, int]
    last: tuple[int, int]
    means: tuple[Figure, Figure]
    p_value: Share


class HowOften(Form):
    """Times a year in which a pump that stops in a storm means water on the floor."""

    within_s: Figure | None
    """Null for at all."""
    record: MeanRange
    """Each year counts once at most."""
    record_error: tuple[Figure, Figure]
    """Between what the mean would lie with other years, 19 times in 20."""
    design: MeanRange
    every_storm: Figure
    """Mean of the record with all storms counted."""
    apart: bool
    """Whether the design storms lie outside record_error."""
    wet_share: Share
    """Of these storms of the record, those that met a lot at nine tenths of what it holds."""
    thaw_share: Share
    """Those with more than a quarter of melt."""
    small_share: Share
    """Those with less water than a day's storm of one year."""


class AgainstDesign(Form):
    rows: list[HowOften]
    wet_share: Share
    thaw_share: Share
    small_share: Share
    sharp_storms: int
    """The storms of the record with the wettest hours, one a year."""
    nested_share: Share
    """Those of them that are among as many with the most water; in design storms all are."""
    sharp_wet_share: Share
    """Those of them that met a lot at nine tenths of what it holds."""


class TwoWays(Form):
    """Times a year, mean of the same draws, all storms counted."""

    within_s: Figure | None
    """Null for at all."""
    minutes: Figure
    even: Figure


class MinutesEffect(Form):
    """The same storms with heavy hours broken down into minutes, and even."""

    draws: int
    heavy_storms: int
    storms: int
    floods: list[TwoWays]
    """Storms in which a pump that stops in them means water on the floor."""
    alarms: TwoWays
    """Storms in which the alarm sounds with the pump working."""
    time_change: Points | None
    """Of the time to the floor, as a share of that of even hours; below zero where the minutes make
    it shorter."""


class MonthOfRecord(Form):
    month: Month
    rain_mm: Figure
    melt_mm: Figure
    missing_share: Share
    wetness_share: Figure
    lot_water_mm: Figure
    storms: int
    """That begin in it."""
    starts: Points
    run_h: Points
    pumped_m3: Points
    inflow_m3: Points
    peak_inflow_share_of_pump: Points
    """Largest flow of an hour."""


class DeadBefore(Form):
    """For a pump dead since 36 h before the wettest hour: the day before, as in a design storm."""

    dead_to_alarm_s: Spread | None
    """Null where the alarm cannot be counted on."""
    alarm_to_floor_s: Spread | None
    """Null where the alarm cannot be counted on."""
    floods_share: Share
    """Share of the draws in which water gets to the floor."""


class PumpStopped(Form):
    """At the worst of some moments, a day before the wettest hour to an hour after it; the time is
    that of state.time_counted_from, the other is null."""

    alarm_to_floor_worst_s: Spread | None
    stop_to_floor_worst_s: Spread | None
    stop_to_alarm_worst_s: Spread | None
    """Null where the alarm cannot be counted on."""
    depth_after_12_h_share: Share
    """Of the draws with water on the floor by then."""
    depth_after_12_h_m: Points | None
    """Depth in those draws; null where there is none."""
    dead_before_storm: DeadBefore


class StormOfRecord(Form):
    start: Hour
    rain_and_melt_mm: Figure
    duration_h: Figure
    wettest_hour_mm: Figure
    wetness_share: Figure
    """On the morning of that day, of the median home."""
    hours_missing_near: bool
    alarm_share: Share | None
    """With the pump working; null where the alarm cannot be counted on."""
    floor_wet_share: Share
    """With the pump working."""
    peak_inflow_m3_s: Points
    pump_stopped: PumpStopped


class Years(Form):
    """The years of one home."""

    form: Literal["riskkit-replay"] = "riskkit-replay"
    form_version: Literal[7] = REPLAY_VERSION
    riskkit_version: str = __version__
    home: HomeName
    state: State
    sentence: str
    """What the years mean, in plain words."""
    settings: ReplaySettings
    record: Record
    a_year: AYear
    months_of_year: Annotated[list[MonthOfYear], Field(min_length=12, max_length=12)]
    visits: Visits
    trends: list[Trend]
    periods: list[TwoPeriods]
    against_design: AgainstDesign | None
    minutes_effect: MinutesEffect
    months: list[MonthOfRecord]
    storms: list[StormOfRecord]


def replay_schema() -> dict[str, Any]:
    """Return the JSON Schema of `riskkit.report.replay_json.replay_form`.

    Returns
    -------
    dict
        The schema.
    """
    return schema_of(Years, f"riskkit replay, form version {REPLAY_VERSION}")
