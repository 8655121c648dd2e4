"""The years of a home as JSON, in the form of `riskkit.report.replay_form`."""

from __future__ import annotations

import math
from typing import TYPE_CHECKING, Any

import numpy as np

from riskkit.ensemble.quantiles import outcome
from riskkit.report.answer_form import HomeName, Points
from riskkit.report.json import state_form
from riskkit.report.replay_form import (
    AgainstDesign,
    AYear,
    DeadBefore,
    HowOften,
    MeanRange,
    Means,
    MinutesEffect,
    MonthOfRecord,
    MonthOfYear,
    PumpStopped,
    Record,
    ReplaySettings,
    Season,
    StormOfRecord,
    Trend,
    TwoPeriods,
    TwoWays,
    Visits,
    Years,
)
from riskkit.report.replay_words import due_faults, replay_sentence
from riskkit.risk.clock import Clock
from riskkit.risk.system_state import SystemState, system_state
from riskkit.years.calendar import failed_floods
from riskkit.years.minutes_effect import TwoWays as EvenHours
from riskkit.years.minutes_effect import minutes_effect

if TYPE_CHECKING:
    from riskkit.options.replays import AgainstDesign as Against
    from riskkit.options.replays import YearsStudy
    from riskkit.records import FloatArray
    from riskkit.years.calendar import VisitSeason
    from riskkit.years.records import Replay

__all__ = ["replay_form", "years_form"]


def replay_form(study: YearsStudy) -> dict[str, Any]:
    """Turn the years of a home into plain values for JSON.

    Parameters
    ----------
    study : YearsStudy
        The years.

    Returns
    -------
    dict
        As described by `replay_schema`.
    """
    return years_form(study).model_dump(mode="json")


def years_form(study: YearsStudy) -> Years:
    """Turn the years of a home into their form.

    Parameters
    ----------
    study : YearsStudy
        The years.

    Returns
    -------
    Years
        The form.
    """
    replay = study.replay
    state = system_state(replay.home)
    settings = replay.settings
    return Years(
        home=HomeName(name=replay.home.name, note=replay.home.note),
        state=state_form(state),
        sentence=replay_sentence(study),
        settings=ReplaySettings(
            draws=settings.n_draws, seed=settings.seed, least_storm_mm=settings.least_mm
        ),
        record=Record(
            name=replay.record_name,
            first_month=str(replay.month[0]),
            last_month=str(replay.month[-1]),
            years=replay.years,
            missing_share=float(replay.missing_share.mean()),
        ),
        a_year=_a_year(replay),
        months_of_year=[_month_of_year(study, month) for month in range(12)],
        visits=Visits(due_now=due_faults(state), season=_season(study.season)),
        trends=[Trend.model_validate(trend) for trend in study.trends],
        periods=[TwoPeriods.model_validate(periods) for periods in study.periods],
        against_design=None if study.against is None else _against(study.against),
        minutes_effect=_minutes(replay),
        months=_months(replay),
        storms=_storms(replay, state),
    )


def _means(values: FloatArray) -> Means:
    found = outcome(values)
    return Means(low=found.low, median=found.median, high=found.high, mean=float(values.mean()))


def _points(values: FloatArray) -> Points:
    return Points.model_validate(outcome(values))


def _a_year(replay: Replay) -> AYear:
    def of_year(values: FloatArray) -> Means:
        return _means(np.asarray(values.sum(axis=1) / replay.years))

    return AYear(
        pumped_m3=of_year(replay.by_month.pumped_m3),
        run_h=of_year(replay.by_month.run_h),
        starts=of_year(replay.by_month.starts),
        alarms_with_pump_working=of_year(replay.outcomes.alarms),
        floods_with_pump_working=of_year(replay.outcomes.floods),
        failed_pump_floods=of_year(failed_floods(replay)),
    )


def _month_of_year(study: YearsStudy, month: int) -> MonthOfYear:
    risk = study.months
    return MonthOfYear(
        month=month + 1,
        failed_pump_floods_per_year=_means(risk.dead_floods[:, month]),
        pumped_m3=_means(risk.pumped_m3[:, month]),
        run_h=_means(risk.run_h[:, month]),
        rain_and_melt_mm=risk.water_mm[month],
        melt_mm=risk.melt_mm[month],
        wetness_share=risk.wetness[month],
        lot_water_mm=risk.lot_mm[month],
    )


def _season(season: VisitSeason | None) -> Season | None:
    if season is None:
        return None
    month, day = season.first_day
    return Season(
        finish_by_month=month,
        finish_by_day=day,
        weeks=season.weeks,
        share_of_floods=season.share,
        share_of_year=season.expected,
        stands_out=season.stands_out,
    )


def _against(against: Against) -> AgainstDesign:
    return AgainstDesign(
        rows=[
            HowOften(
                within_s=row.within_s if math.isfinite(row.within_s) else None,
                record=MeanRange.model_validate(row.record),
                record_error=row.record_error,
                design=MeanRange.model_validate(row.design),
                every_storm=row.every_storm,
                apart=row.is_apart,
                wet_share=row.wet_share,
                thaw_share=row.thaw_share,
                small_share=row.small_share,
            )
            for row in against.rows
        ],
        wet_share=against.wet_share,
        thaw_share=against.thaw_share,
        small_share=against.small_share,
        sharp_storms=against.sharp_storms,
        nested_share=against.nested_share,
        sharp_wet_share=against.sharp_wet_share,
    )


def _minutes(replay: Replay) -> MinutesEffect:
    effect = minutes_effect(replay)

    def both(one: EvenHours) -> TwoWays:
        within = one.within_s if math.isfinite(one.within_s) else None
        return TwoWays(within_s=within, minutes=one.minutes, even=one.even)

    change = effect.time_change
    return MinutesEffect(
        draws=effect.draws,
        heavy_storms=effect.heavy_storms,
        storms=effect.storms,
        floods=[both(one) for one in effect.floods],
        alarms=both(effect.alarms),
        time_change=None if change is None else Points.model_validate(change),
    )


def _months(replay: Replay) -> list[MonthOfRecord]:
    frame, pump = replay.months, replay.by_month
    return [
        MonthOfRecord(
            month=str(month),
            rain_mm=row["rain_mm"],
            melt_mm=row["melt_mm"],
            missing_share=row["missing_share"],
            wetness_share=row["wetness_share"],
            lot_water_mm=row["lot_water_mm"],
            storms=int(row["storms"]),
            starts=_points(pump.starts[:, i]),
            run_h=_points(pump.run_h[:, i]),
            pumped_m3=_points(pump.pumped_m3[:, i]),
            inflow_m3=_points(pump.inflow_m3[:, i]),
            peak_inflow_share_of_pump=_points(pump.peak_use[:, i]),
        )
        for i, (month, row) in enumerate(
            zip(replay.month, frame.to_dict("records"), strict=True)
        )
    ]  # fmt: skip


def _storms(replay: Replay, state: SystemState) -> list[StormOfRecord]:
    found, wetness = replay.outcomes, replay.storms["wetness_share"].to_numpy()
    return [
        StormOfRecord(
            start=str(storm.start.astype("datetime64[m]")),
            rain_and_melt_mm=storm.depth_mm,
            duration_h=storm.duration_h,
            wettest_hour_mm=storm.peak_mm,
            wetness_share=wetness[i],
            hours_missing_near=storm.touches_gap,
            alarm_share=found.alarms[:, i].mean() if state.warns else None,
            floor_wet_share=found.floods[:, i].mean(),
            peak_inflow_m3_s=_points(found.peak_m3_s[:, i]),
            pump_stopped=_stopped(replay, state, i),
        )
        for i, storm in enumerate(replay.record_storms)
    ]


def _stopped(replay: Replay, state: SystemState, i: int) -> PumpStopped:
    found, clock = replay.outcomes, replay.clock
    deep = found.depth_m[:, i]
    worst = outcome(found.worst_s[:, i])
    dead = found.dead_alarm_to_floor_s[:, i]
    return PumpStopped.model_validate(
        {
            "alarm_to_floor_worst_s": worst if clock is Clock.ALARM else None,
            "stop_to_floor_worst_s": worst if clock is Clock.STOP else None,
            "stop_to_alarm_worst_s": outcome(found.to_alarm_s[:, i]) if state.warns else None,
            "depth_after_12_h_share": float((deep > 0).mean()),
            "depth_after_12_h_m": outcome(deep[deep > 0]) if (deep > 0).any() else None,
            "dead_before_storm": DeadBefore.model_validate(
                {
                    "dead_to_alarm_s": outcome(found.dead_to_alarm_s[:, i])
                    if state.warns
                    else None,
                    "alarm_to_floor_s": outcome(dead) if state.warns else None,
                    "floods_share": float(np.isfinite(dead).mean()),
                }
            ),
        }
    )
