"""The answer as JSON, in the form of `riskkit.report.answer_form`."""

from __future__ import annotations

from typing import TYPE_CHECKING, Any

from riskkit.antecedent.textures import soil_words
from riskkit.ensemble.quantiles import chance_of_draws
from riskkit.home.walls import wall_trend
from riskkit.quantities.components import Component
from riskkit.records import DepthDurationFrequency
from riskkit.report.answer_form import (
    Answer,
    DeadBefore,
    DryWeather,
    Finding,
    FloorDepth,
    Flow,
    HomeName,
    MedianHome,
    NoPit,
    OtherDraws,
    PitWater,
    PumpStopped,
    PumpWorking,
    Rain,
    Settings,
    State,
    Storm,
    WaterToPit,
    YearCause,
    YearChance,
    YearSecondPump,
)
from riskkit.report.cautions import cautions
from riskkit.report.chance_words import RESTS_ON
from riskkit.report.words import sentence
from riskkit.risk.clock import Clock
from riskkit.risk.system_state import system_state

if TYPE_CHECKING:
    from collections.abc import Mapping

    from riskkit.assessment import Assessment, PitPart, StormAnswer
    from riskkit.ensemble.quantiles import Outcome
    from riskkit.evidence.pit_flows import MeasuredFlow
    from riskkit.failures.answer import YearlyChance
    from riskkit.home.home import Home
    from riskkit.risk.system_state import SystemState
    from riskkit.risk.trace import Trace

__all__ = ["assessment_form", "no_pit_form", "rain_form", "state_form"]


def _by_clock(clock: Clock, name: str, value: Any) -> dict[str, Any]:
    """The time from the event of `Clock` that counts; the others are null."""
    return {f"{other.value}_to_floor{name}": value if other is clock else None for other in Clock}


def _flow(flow: MeasuredFlow | None) -> Flow | None:
    if flow is None:
        return None
    return Flow(p05=flow.low_m3_s, p50=flow.median_m3_s, p95=flow.high_m3_s)


def state_form(state: SystemState) -> State:
    """Turn the state of a system into its form.

    Parameters
    ----------
    state : SystemState
        The state.

    Returns
    -------
    State
        Codes, days and numbers; the gravest finding first.
    """
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


def _median_home(trace: Trace, state: SystemState) -> MedianHome:
    has_pump, has_alarm = state.has(Component.PUMP), state.has(Component.ALARM)
    return MedianHome(
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
    chance = chance_of_draws(storm.worst_stop.to_floor_by_draw_s)
    return Storm(
        return_period_yr=storm.return_period_yr,
        duration_h=storm.duration_h,
        rain_mm=storm.depth_mm,
        pump_working=PumpWorking(
            peak_inflow_m3_s=storm.pump_working.peak_inflow_m3_s,
            peak_inflow_share_of_pump=storm.pump_working.peak_use if has_pump else None,
            alarm_share=storm.pump_working.alarm_share if state.warns else None,
            floor_dry_share=storm.pump_working.floor_dry_share,
            water_at_joint_share=storm.pump_working.joint_share,
            highest_level_m=storm.pump_working.highest_level_m,
            starts_per_hour=storm.pump_working.starts_per_hour if has_pump else None,
        ),
        pump_stopped=PumpStopped(
            **_by_clock(state.clock, "_worst_s", storm.worst_stop.to_floor_s),
            **_by_clock(state.clock, "_typical_s", storm.typical_to_floor_s),
            depth_on_floor_m=[
                FloorDepth(
                    after_h=hour, share=depth.share, if_any=depth.if_any, of_all=depth.of_all
                )
                for hour, depth in storm.worst_stop.depth_after_m.items()
            ],
            stop_to_alarm_worst_s=storm.worst_stop.to_alarm_s if state.warns and has_pump else None,
            over_rim_worst_s=storm.worst_stop.to_rim_s,
            at_joint_worst_s=storm.worst_stop.to_joint_s,
            joint_first_share=storm.worst_stop.joint_first_share,
            dead_before_storm=DeadBefore(
                rain_to_alarm_s=storm.dead_before.rain_to_alarm_s if state.warns else None,
                alarm_to_floor_s=storm.dead_before.alarm_to_floor_s if state.warns else None,
                rain_to_floor_s=storm.dead_before.rain_to_floor_s,
            ),
            with_other_draws=OtherDraws(median_s=chance.median, never_share=chance.never_share),
        ),
        water_to_pit=WaterToPit(
            first_24_h_m3=_pit_water(storm.water_to_pit.first_day_m3),
            next_48_h_m3=_pit_water(storm.water_to_pit.next_days_m3),
        ),
        median_home=_median_home(storm.trace, state),
    )


def _pit_water(parts: Mapping[PitPart, Outcome]) -> PitWater:
    return PitWater.model_validate({part.value: amount for part, amount in parts.items()})


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
    name, state = HomeName(name=home.name, note=home.note), state_form(system_state(home))
    return NoPit(home=name, state=state, sentence=words).model_dump(mode="json")


def _year_chance(found: YearlyChance) -> YearChance:
    second = found.second
    return YearChance(
        per_yr=found.chance,
        mean_per_yr=found.mean,
        causes=[
            YearCause(cause=each.cause, share=each.share, chance_per_yr=each.chance)
            for each in found.causes
        ],
        second_pump=None
        if second is None
        else YearSecondPump(
            storm_yr=second.return_period_yr,
            flow_m3_s=second.flow_m3_s,
            carries_share=second.carries_share,
            has_battery=second.has_battery,
            lasts_without_power_s=second.outlasts_s,
        ),
        rests_on=RESTS_ON,
    )


def assessment_form(answer: Assessment, yearly: YearlyChance | None = None) -> dict[str, Any]:
    """Turn an answer into plain values for JSON.

    Parameters
    ----------
    answer : Assessment
        The answer.
    yearly : YearlyChance, optional
        Chance of a year, where it was worked out.

    Returns
    -------
    dict
        As described by `answer_schema`.
    """
    settings = answer.settings
    return Answer(
        home=HomeName(name=answer.home.name, note=answer.home.note),
        state=state_form(answer.state),
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
        chance_of_a_year=None if yearly is None else _year_chance(yearly),
        assumptions=answer.assumptions,
        soil=soil_words(answer.home),
        walls=wall_trend(answer.home.visit),
        warnings=answer.warnings,
        cautions=cautions("sheet"),
    ).model_dump(mode="json")
