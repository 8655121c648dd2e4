"""What was found in a rain record as JSON: SI units, named in every key; rain in mm."""

from __future__ import annotations

from dataclasses import fields
from typing import TYPE_CHECKING, Any

import numpy as np

from riskkit.quantities.units import UnitSystem
from riskkit.rainfall.doubts import meaning_words, quality_words
from riskkit.report.answer_form import number, numbers
from riskkit.report.json import rain_form
from riskkit.report.rain_report import rain_sentence
from riskkit.report.rain_storms import storm_form

if TYPE_CHECKING:
    from riskkit.rainfall.analysis import Maxima, RainAnalysis
    from riskkit.rainfall.extremes import TableComparison
    from riskkit.rainfall.quality_rows import Place, QualityRow, Weight
    from riskkit.rainfall.weighing import DecidingValue

__all__ = ["rain_analysis_form"]

FORM_VERSION = 1


def rain_analysis_form(found: RainAnalysis) -> dict[str, Any]:
    """Turn what was found in a record into plain values for JSON.

    SI units, named in every key; rain in mm. The version is raised when a key is removed or changes
    its meaning, not when one is added.

    Parameters
    ----------
    found : RainAnalysis
        What was found.

    Returns
    -------
    dict
        Lists, numbers and words.
    """
    form: dict[str, Any] = {
        "form": "riskkit-rain",
        "form_version": FORM_VERSION,
        "sentence": rain_sentence(found, UnitSystem.METRIC),
        "record": {
            "name": found.record.name,
            "notes": list(found.record.notes),
            "removed": [
                {"time": str(one.time), "depth_mm": round(one.depth_mm, 6), "why": one.why.value}
                for one in found.record.removed
            ],
        },
        "quality": _quality(found.quality),
        "years": {
            "year": found.years.tolist(),
            "missing_share": numbers(found.missing_share),
        },
        "storms": storm_form(found.storms),
        "deciding_value": None if found.deciding is None else _deciding(found.deciding),
    }
    if found.own is not None and found.maxima is not None:
        form |= {"table": rain_form(found.own), "annual_maxima": _maxima(found.maxima)}
    if found.official is not None and found.comparison is not None:
        form |= {
            "official": rain_form(found.official),
            "comparison": _comparison(found.comparison),
        }
    if found.mass is not None:
        mass = found.mass
        form["neighbour"] = {
            "year": mass.year.tolist(),
            "own_sum_mm": numbers(mass.own_mm),
            "neighbour_sum_mm": numbers(mass.neighbour_mm),
            "own_over_neighbour": float(np.round(mass.slope, 6)),
            "step_chance": float(np.round(mass.step.p_value, 6)),
            "step_after_year": mass.step.last_year,
            "step_change": float(np.round(mass.step.change, 6)),
        }
    return form


def _maxima(maxima: Maxima) -> dict[str, Any]:
    return {
        "duration_h": numbers(maxima.duration_h),
        "year": maxima.year.tolist(),
        "depth_mm": numbers(maxima.depth_mm),
        "depth_mm_contains": "fixed_interval_factor, but no climate_factor",
        "fixed_interval_factor": numbers(maxima.fixed_interval_factor),
        "plot_correlation": numbers(maxima.fitness.correlation),
        "plot_chance_of_lower": numbers(maxima.fitness.p_value),
        "by_peaks_difference_pct": numbers(maxima.peaks_pct),
    }


def _quality(rows: tuple[QualityRow, ...]) -> list[dict[str, Any]]:
    """Turn the checks of a record into plain values for JSON."""
    return [
        {
            "check": row.check.value,
            "figure": number(row.figure),
            "unit": row.unit,
            "limit": quality_words(row, UnitSystem.METRIC)[1],
            **{item.name: number(getattr(row.limits, item.name)) for item in fields(row.limits)},
            "verdict": row.verdict.value,
            "meaning": meaning_words(row, UnitSystem.METRIC),
            "places": [_place(place) for place in row.places],
            "weight": None if row.weight is None else _weight(row.weight),
        }
        for row in rows
    ]


def _place(place: Place) -> dict[str, Any]:
    return {
        "begin": str(place.begin),
        "end": str(place.end),
        "depth_mm": number(place.depth_mm),
    }


def _weight(weight: Weight) -> dict[str, Any]:
    return {item.name: number(getattr(weight, item.name)) for item in fields(weight)}


def _deciding(deciding: DecidingValue) -> dict[str, Any]:
    """Turn a single value that decides the depths into plain values for JSON."""
    return {
        **_place(deciding.place),
        "allowed_mm": number(deciding.allowed_mm),
        "weight": _weight(deciding.weight),
    }


def _comparison(comparison: TableComparison) -> dict[str, Any]:
    """Turn the comparison of two tables into plain values for JSON."""
    return {
        "duration_h": numbers(comparison.duration_h),
        "return_period_yr": numbers(comparison.return_period_yr),
        "difference_pct": numbers(comparison.difference_pct),
        "official_inside_limits": None if comparison.inside is None else comparison.inside.tolist(),
    }
