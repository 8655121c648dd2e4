"""The answer as JSON, in a documented form with a version of its own.

SI units, named in every key; rain in mm. ``null`` stands for 'never' in times; each spread carries
the share of 'never'. The form is described by ``templates/answer.schema.json``; its version is
raised when a key is removed or changes its meaning, not when one is added.
"""

from __future__ import annotations

import json
import math
from dataclasses import fields
from importlib.resources import files
from typing import TYPE_CHECKING, Any

import numpy as np

import riskkit
from riskkit.antecedent.textures import soil_words
from riskkit.ensemble.quantiles import Outcome, Points, chance_of_draws
from riskkit.quantities.components import Component
from riskkit.quantities.units import UnitSystem
from riskkit.rainfall.doubts import meaning_words, quality_words
from riskkit.records import DepthDurationFrequency, FloatArray
from riskkit.report.cautions import cautions
from riskkit.report.wall_words import walls_form
from riskkit.report.words import sentence
from riskkit.risk.clock import Clock
from riskkit.risk.system_state import system_state

if TYPE_CHECKING:
    from riskkit.assessment import Assessment, StormAnswer
    from riskkit.home.home import Home
    from riskkit.rainfall.extremes import TableComparison
    from riskkit.rainfall.quality_rows import Place, QualityRow, Weight
    from riskkit.rainfall.weighing import Deciding
    from riskkit.risk.evidence import MeasuredFlow
    from riskkit.risk.system_state import SystemState
    from riskkit.risk.trace import Trace

__all__ = [
    "FORM_VERSION",
    "answer_schema",
    "assessment_form",
    "comparison_form",
    "deciding_form",
    "no_pit_form",
    "numbers",
    "quality_form",
    "rain_form",
    "state_form",
]

FORM_VERSION = 2


def answer_schema() -> dict[str, Any]:
    """Return the JSON Schema of `assessment_form`.

    Returns
    -------
    dict
        The schema.
    """
    text = files("riskkit.report").joinpath("templates/answer.schema.json").read_text("utf-8")
    schema: dict[str, Any] = json.loads(text)
    return schema


def _number(value: float) -> float | None:
    """Six digits are more than any answer has; infinite and missing become null."""
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
    return [numbers(v) if isinstance(v, np.ndarray) else _number(v) for v in values]


def _points(found: Points) -> dict[str, Any]:
    return {
        "low": _number(found.low),
        "middle": _number(found.middle),
        "high": _number(found.high),
    }


def _outcome(found: Outcome) -> dict[str, Any]:
    return _points(found) | {
        "never_share": _number(found.never_share),
        "if_ever": None if found.if_ever is None else _points(found.if_ever),
    }


def _by_clock(clock: Clock, name: str, value: Any) -> dict[str, Any]:
    """The time by the clock that counts; the others, which nobody may count on, are null."""
    return {f"{other.value}_to_floor{name}": value if other is clock else None for other in Clock}


def _flow(flow: MeasuredFlow | None) -> dict[str, float | None] | None:
    if flow is None:
        return None
    low, middle, high = flow.low_m3_s, flow.middle_m3_s, flow.high_m3_s
    return {"p05": _number(low), "p50": _number(middle), "p95": _number(high)}


def state_form(state: SystemState) -> dict[str, Any]:
    """Turn the state of a system into plain values for JSON.

    Parameters
    ----------
    state : SystemState
        The state.

    Returns
    -------
    dict
        Codes, days and flows [m3/s]; as described by `answer_schema`.
    """
    return {
        "alarm_can_be_counted_on": state.warns,
        "time_counted_from": state.clock.value,
        "absent": sorted(part.value for part in state.absent),
        "findings": [
            {
                "fault": finding.fault.value,
                "severity": finding.severity.value,
                "effect": finding.effect.value,
                "found_on": None if finding.date is None else finding.date.isoformat(),
                "note": finding.note,
                "measured_m3_s": _flow(finding.found),
                "expected_m3_s": _flow(finding.expected),
            }
            for finding in state.findings
        ],
    }


def _trace(trace: Trace, state: SystemState) -> dict[str, Any]:
    has_pump, has_alarm = state.has(Component.PUMP), state.has(Component.ALARM)
    return {
        "time_s": numbers(trace.time_s),
        "rain_mm_h": numbers(trace.rain_mm_h),
        "inflow_m3_s": numbers(trace.inflow_m3_s),
        "working_level_m": numbers(trace.working_m),
        "stopped_level_m": numbers(trace.stopped_m),
        "switch_on_level_m": _number(trace.on_m) if has_pump else None,
        "switch_off_level_m": _number(trace.off_m) if has_pump else None,
        "alarm_level_m": _number(trace.alarm_m) if has_alarm else None,
        **_by_clock(trace.clock, "_worst_s", _number(trace.to_floor_s)),
    }


def _storm(storm: StormAnswer, state: SystemState) -> dict[str, Any]:
    has_pump = state.has(Component.PUMP)
    chance = chance_of_draws(storm.worst_by_draw_s)
    return {
        "return_period_yr": storm.return_period_yr,
        "duration_h": storm.duration_h,
        "rain_mm": _number(storm.depth_mm),
        "pump_working": {
            "peak_inflow_m3_s": _outcome(storm.peak_inflow_m3_s),
            "peak_inflow_share_of_pump": _outcome(storm.peak_use) if has_pump else None,
            "alarm_share": _number(storm.alarm_share) if state.warns else None,
            "floor_dry_share": _number(storm.floor_dry_share),
            "highest_level_m": _outcome(storm.highest_level_m),
            "starts_per_hour": _outcome(storm.starts_per_hour) if has_pump else None,
        },
        "pump_stopped": {
            **_by_clock(state.clock, "_worst_s", _outcome(storm.worst_s)),
            **_by_clock(state.clock, "_typical_s", _outcome(storm.typical_s)),
            "depth_on_floor_m": [
                {
                    "after_h": hour,
                    "share": _number(depth.share),
                    "if_any": None if depth.if_any is None else _points(depth.if_any),
                }
                for hour, depth in storm.depth_after_m.items()
            ],
            "with_other_draws": {
                "middle_s": [_number(v) for v in chance.middle],
                "never_share": [_number(v) for v in chance.never_share],
            },
        },
        "middle_home": _trace(storm.trace, state),
    }


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
    return {
        "source": table.source,
        "series": table.series.value,
        "years": table.years,
        "climate_factor": 1.0 if table.climate is None else table.climate.factor,
        "duration_h": numbers(table.duration_h),
        "return_period_yr": numbers(table.return_period_yr),
        "depth_mm": numbers(table.depth_mm),
        "lower_mm": None if table.lower_mm is None else numbers(table.lower_mm),
        "upper_mm": None if table.upper_mm is None else numbers(table.upper_mm),
        "notes": list(table.notes),
    }


def _head(home: Home, state: SystemState, words: str) -> dict[str, Any]:
    return {
        "form": "riskkit-assessment",
        "form_version": FORM_VERSION,
        "riskkit_version": riskkit.__version__,
        "home": {"name": home.name, "note": home.note},
        "state": state_form(state),
        "sentence": words,
    }


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
    return _head(home, system_state(home), words)


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
    return _head(answer.home, answer.state, sentence(answer)) | {
        "settings": {
            "draws": answer.settings.n_draws,
            "seed": answer.settings.seed,
            "pattern": answer.settings.pattern.value,
            "step_s": answer.settings.step_s,
            "headline_return_period_yr": answer.settings.headline_yr,
        },
        "rain": rain_form(answer.rain),
        "storms": [_storm(storm, answer.state) for storm in answer.storms],
        "dry_weather": {
            "inflow_m3_s": _outcome(answer.dry_inflow_m3_s),
            **_by_clock(answer.state.clock, "_s", _outcome(answer.dry_s)),
        },
        "assumptions": [
            {
                "quantity": row.key,
                "words": row.words,
                "basis": row.basis.value,
                "taken": row.taken,
                "p05": _number(row.p05),
                "p50": _number(row.p50),
                "p95": _number(row.p95),
                "source": row.source,
                "why": row.why,
            }
            for row in answer.assumptions
        ],
        "soil": soil_words(answer.home),
        "walls": walls_form(answer.home),
        "warnings": list(answer.warnings),
        "cautions": list(cautions("sheet")),
    }


def quality_form(rows: tuple[QualityRow, ...]) -> list[dict[str, Any]]:
    """Turn the checks of a record into plain values for JSON.

    Parameters
    ----------
    rows : tuple of QualityRow
        The checks.

    Returns
    -------
    list of dict
        One per check.
    """
    return [
        {
            "check": row.check.value,
            "figure": _number(row.figure),
            "unit": row.unit,
            "limit": quality_words(row, UnitSystem.METRIC)[1],
            **{item.name: _number(getattr(row.limits, item.name)) for item in fields(row.limits)},
            "verdict": row.verdict.value,
            "meaning": meaning_words(row, UnitSystem.METRIC),
            "places": [_place_form(place) for place in row.places],
            "weight": None if row.weight is None else _weight_form(row.weight),
        }
        for row in rows
    ]


def _place_form(place: Place) -> dict[str, Any]:
    return {
        "begin": str(place.begin),
        "end": str(place.end),
        "depth_mm": _number(place.depth_mm),
    }


def _weight_form(weight: Weight) -> dict[str, Any]:
    return {item.name: _number(getattr(weight, item.name)) for item in fields(weight)}


def deciding_form(deciding: Deciding) -> dict[str, Any]:
    """Turn a single value that decides the depths into plain values for JSON.

    Parameters
    ----------
    deciding : Deciding
        The value.

    Returns
    -------
    dict
        Its interval, what the other years allow, and the depth that it moves most.
    """
    return {
        **_place_form(deciding.place),
        "allowed_mm": _number(deciding.allowed_mm),
        "weight": _weight_form(deciding.weight),
    }


def comparison_form(comparison: TableComparison) -> dict[str, Any]:
    """Turn the comparison of two tables into plain values for JSON.

    Parameters
    ----------
    comparison : TableComparison
        The comparison.

    Returns
    -------
    dict
        Durations [h], return periods [yr], differences [%] and whether the second table lies within
        the limits of the first.
    """
    return {
        "duration_h": numbers(comparison.duration_h),
        "return_period_yr": numbers(comparison.return_period_yr),
        "difference_pct": numbers(comparison.difference_pct),
        "official_inside_limits": None if comparison.inside is None else comparison.inside.tolist(),
    }
