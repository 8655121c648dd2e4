"""What the analyst sees of a rain record, as plain values."""

from __future__ import annotations

import calendar
import math
from collections import Counter
from collections.abc import Callable
from dataclasses import dataclass
from pathlib import Path
from typing import Any

import numpy as np

from riskkit.rainfall.events import Storm, split_storms
from riskkit.rainfall.extremes import compare_tables, depth_duration_frequency
from riskkit.rainfall.frequency import to_partial_duration
from riskkit.rainfall.official import read_rain_table
from riskkit.rainfall.quality import QualityRow, Verdict, check_record
from riskkit.rainfall.readers import read_rain
from riskkit.records import DepthDurationFrequency, RainRecord, Series
from riskkit.report.terminal import hours_words, rain_words
from riskkit.units import UnitSystem, convert

__all__ = ["STEPS", "RecordAnswer", "record_answer", "record_blocks", "record_sentence"]

STEPS = ("reading the record", "checking its quality", "cutting it into storms",
         "fitting the largest of each year")  # fmt: skip
_MARKS = {Verdict.PASS: "ok", Verdict.WARN: "look", Verdict.FAIL: "bad"}
_SHOWN = 20  # storms in the list


@dataclass(frozen=True)
class RecordAnswer:
    """What was found in a record, and an official table beside it."""

    record: RainRecord
    quality: tuple[QualityRow, ...]
    storms: tuple[Storm, ...]  # the largest first
    own: DepthDurationFrequency
    official: DepthDurationFrequency | None

    @property
    def years(self) -> float:
        """Length of the record [yr]."""
        return self.record.depth_mm.size * self.record.interval_s / (365.25 * 86400)

    @property
    def large(self) -> tuple[Storm, ...]:
        """The largest storms, one for each year on average."""
        return self.storms[: max(1, round(self.years))]


def record_answer(record: Path, table: Path | None, tell: Callable[[str], None]) -> RecordAnswer:
    """Work a record out.

    Parameters
    ----------
    record : Path
        The record.
    table : Path, optional
        An official table of depths to set beside it.
    tell : callable
        Told each of `STEPS` as it begins.

    Returns
    -------
    RecordAnswer
        What was found.

    Raises
    ------
    InputError
        Where a file cannot be read or holds too little.
    """
    tell(STEPS[0])
    rain = read_rain(record)
    official = read_rain_table(table) if table is not None else None
    if official is not None and official.series is Series.ANNUAL_MAXIMUM:
        official = to_partial_duration(official)
    tell(STEPS[1])
    quality = check_record(rain)
    tell(STEPS[2])
    storms = tuple(sorted(split_storms(rain), key=lambda storm: -storm.depth_mm))
    tell(STEPS[3])
    own = depth_duration_frequency(rain, np.random.default_rng(1))
    return RecordAnswer(rain, quality, storms, own, official)


def record_sentence(found: RecordAnswer, system: UnitSystem) -> str:
    """Say in two sentences what the record holds.

    Parameters
    ----------
    found : RecordAnswer
        What was found.
    system : UnitSystem
        Units of the reader.

    Returns
    -------
    str
        Plain words.
    """
    passed = sum(row.verdict is Verdict.PASS for row in found.quality)
    own = found.own
    depth = rain_words(own.depth_at(24.0, 10.0).item(), system)
    limits = own.limits_at(24.0, 10.0)
    spread = ""
    if limits is not None:
        low, high = (rain_words(limit.item(), system) for limit in limits)
        spread = f" (nine times out of ten {low} to {high})"
    months = Counter(storm.month for storm in found.large).most_common(2)
    names = " and ".join(calendar.month_name[month] for month, _ in months)
    return (
        f"{found.years:.0f} years of rain, {passed} of {len(found.quality)} checks of quality in "
        f"order; the 10-year storm brings {depth} within a day{spread}. The largest storms come "
        f"most often in {names}."
    )


def record_blocks(found: RecordAnswer, system: UnitSystem) -> list[dict[str, Any]]:
    """Return the tables of a record.

    Parameters
    ----------
    found : RecordAnswer
        What was found.
    system : UnitSystem
        Units of the reader.

    Returns
    -------
    list of dict
        Blocks for the panel.
    """
    blocks = [
        {"kind": "text", "class": "lead", "text": record_sentence(found, system)},
        *_months(found),
        _largest(found, system),
        _frequencies(found.own, system, "Depths by duration and return period, own analysis"),
    ]
    if found.official is not None:
        blocks.append(_frequencies(found.official, system, "The official table"))
        blocks.append(_comparison(found.own, found.official))
    blocks.append(_quality(found.quality))
    notes = [*found.record.notes, *found.own.notes]
    if notes:
        inner = [{"kind": "list", "items": notes}]
        blocks.append({"kind": "more", "title": "Notes", "blocks": inner})
    return blocks


def _months(found: RecordAnswer) -> list[dict[str, Any]]:
    counts = Counter(storm.month for storm in found.large)
    most = max(counts.values())
    rows = [
        [calendar.month_name[month], counts[month] / most, f"{counts[month]}"]
        for month in range(1, 13)
    ]
    words = ", ".join(f"{name} {value}" for name, _, value in rows)
    return [
        {"kind": "heading", "text": f"The {len(found.large)} largest storms by month"},
        {"kind": "bars", "rows": rows, "words": f"Largest storms by month: {words}"},
        {
            "kind": "text",
            "class": "small",
            "text": "One storm for each year of the record on average, by their whole depth. Few "
            "storms make chance differences between months.",
        },
    ]


def _largest(found: RecordAnswer, system: UnitSystem) -> dict[str, Any]:
    rows = []
    for rank, storm in enumerate(found.storms[:_SHOWN], 1):
        peak = storm.peak_mm_h[0]
        intensity = f"{convert(peak, 'mm/h', 'in/h'):.2f} in/h" if system is UnitSystem.US else (
            f"{peak:.0f} mm/h"
        )  # fmt: skip
        rows.append(
            [
                str(rank),
                str(storm.start.astype("datetime64[m]")).replace("T", " "),
                f"{storm.duration_h:g} h",
                rain_words(storm.depth_mm, system),
                intensity,
                "beside a gap in the record" if storm.touches_gap else "",
            ]
        )
    return {
        "kind": "table",
        "title": f"The {len(rows)} largest of {len(found.storms)} storms",
        "head": ["rank", "begin", "lasted", "rain", "strongest", "remark"],
        "rows": rows,
    }


def _frequencies(table: DepthDurationFrequency, system: UnitSystem, title: str) -> dict[str, Any]:
    unit = "in" if system is UnitSystem.US else "mm"
    digits = 2 if system is UnitSystem.US else 0

    def shown(depth_mm: float) -> str:
        return f"{convert(depth_mm, 'mm', unit):.{digits}f}"

    rows = []
    for i, hours in enumerate(table.duration_h):
        cells = [shown(value) for value in table.depth_mm[i]]
        if table.lower_mm is not None and table.upper_mm is not None:
            limits = zip(table.lower_mm[i], table.upper_mm[i], strict=True)
            cells = [
                f"{cell} ({shown(low)}–{shown(high)})"
                for cell, (low, high) in zip(cells, limits, strict=True)
            ]
        rows.append([hours_words(float(hours)), *cells])
    limits_words = ", in brackets the limits nine times out of ten" if table.lower_mm is not None \
        else ""  # fmt: skip
    return {
        "kind": "table",
        "title": f"{title} [{unit}]{limits_words}",
        "head": ["duration", *(f"{period:g} yr" for period in table.return_period_yr)],
        "rows": rows,
    }


def _comparison(own: DepthDurationFrequency, official: DepthDurationFrequency) -> dict[str, Any]:
    found = compare_tables(own, official)
    return {
        "kind": "table",
        "title": "Own record against the official table [%]",
        "head": ["duration", *(f"{period:g} yr" for period in found.return_period_yr)],
        "rows": [
            [hours_words(float(hours)), *(f"{value:+.0f}" for value in row)]
            for hours, row in zip(found.duration_h, found.difference_pct, strict=True)
        ],
    }


def _quality(rows: tuple[QualityRow, ...]) -> dict[str, Any]:
    return {
        "kind": "table",
        "title": "Quality of the record",
        "head": ["check", "verdict", "found", "expected", "meaning"],
        "rows": [
            [
                row.check,
                _MARKS[row.verdict],
                "too short to tell"
                if math.isnan(row.figure)
                else f"{row.figure:.3g} {row.unit}".strip(),
                row.limit,
                row.meaning,
            ]
            for row in rows
        ],
    }
