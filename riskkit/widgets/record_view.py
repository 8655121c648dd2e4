"""What the analyst sees of a rain record, as plain values."""

from __future__ import annotations

import calendar
from collections import Counter
from collections.abc import Callable
from dataclasses import dataclass
from pathlib import Path
from typing import Any

import numpy as np

from riskkit.errors import collect_warnings
from riskkit.quantities.units import UnitSystem
from riskkit.quantities.variables import counted
from riskkit.rainfall.analysis import RainAnalysis, analyse_rain
from riskkit.rainfall.doubts import deciding_words
from riskkit.rainfall.events import Storm, split_storms
from riskkit.rainfall.frequency import to_partial_duration
from riskkit.rainfall.quality_rows import QualityRow, Verdict
from riskkit.rainfall.readers.official import read_rain_table
from riskkit.rainfall.readers.record import read_rain
from riskkit.rainfall.readers.snowfall import snow_ratio
from riskkit.records import DepthDurationFrequency, RainRecord
from riskkit.report.charts import to_svg
from riskkit.report.rain_charts import completeness_spec, double_mass_spec, frequency_spec
from riskkit.report.rain_report import (
    checks_words,
    doubt_words,
    mass_sentence,
    rain_notes,
    storm_words,
)
from riskkit.report.rain_rows import (
    comparison_table,
    depths_table,
    fit_table,
    mark_words,
    quality_table,
)
from riskkit.report.rain_storms import storm_table
from riskkit.report.rows import Table
from riskkit.widgets.tables import table_blocks

__all__ = [
    "STEPS",
    "RecordAnswer",
    "begin_blocks",
    "often_words",
    "record_answer",
    "record_blocks",
    "record_parts",
    "record_sentence",
]

STEPS = ("reading the record", "cutting it into storms", "checking it and fitting the largest",
         "drawing")  # fmt: skip
_MOST_MONTHS = 3  # named as those of the largest storms


@dataclass(frozen=True)
class RecordAnswer:
    """What was found in a record, its storms, and its pictures in both systems of units."""

    analysis: RainAnalysis
    storms: tuple[Storm, ...]  # the largest first
    curves: dict[UnitSystem, str]  # SVG: depth against return period; empty where too short
    completeness: str  # SVG
    masses: dict[UnitSystem, str]  # SVG: both records added up; empty without a neighbour

    @property
    def record(self) -> RainRecord:
        """The record."""
        return self.analysis.record

    @property
    def quality(self) -> tuple[QualityRow, ...]:
        """Its checks."""
        return self.analysis.quality

    @property
    def own(self) -> DepthDurationFrequency | None:
        """Depths from it; None where it is too short."""
        return self.analysis.own

    @property
    def years(self) -> float:
        """Length of the record [yr]."""
        return self.record.depth_mm.size * self.record.interval_s / (365.25 * 86400)

    @property
    def large(self) -> tuple[Storm, ...]:
        """The largest storms, one for each year on average."""
        return self.storms[: max(1, round(self.years))]


def record_answer(
    record: Path,
    table: Path | None,
    tell: Callable[[str], None],
    neighbour: Path | None = None,
) -> RecordAnswer:
    """Work a record out.

    Parameters
    ----------
    record : Path
        The record.
    table : Path, optional
        An official table of depths to set beside it.
    tell : callable
        Told each of `STEPS` as it begins.
    neighbour : Path, optional
        The record of a gauge near by, to see whether this one is of one piece.

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
    official = None if table is None else to_partial_duration(read_rain_table(table))
    other = None if neighbour is None else read_rain(neighbour)
    tell(STEPS[1])
    storms = tuple(sorted(split_storms(rain), key=lambda storm: -storm.depth_mm))
    tell(STEPS[2])
    with collect_warnings():  # they stand in the notes
        found = analyse_rain(
            rain,
            np.random.default_rng(1),
            official=official,
            neighbour=other,
            snow=snow_ratio(record),
        )
    tell(STEPS[3])
    systems = [] if found.own is None else list(UnitSystem)
    curves = {system: to_svg(frequency_spec(found, system)) for system in systems}
    years = to_svg(completeness_spec(found.years, found.missing_share))
    mass = found.mass
    masses = {} if mass is None else {s: to_svg(double_mass_spec(mass, s)) for s in UnitSystem}
    return RecordAnswer(found, storms, curves, years, masses)


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
    months = often_words(Counter(storm.month for storm in found.large))
    doubt = doubt_words(found.quality, system)
    years, maxima = f"{found.years:.0f}", found.analysis.maxima
    known = ""
    if maxima is not None and years != f"{maxima.year.size}":
        known = f", {maxima.year.size} of them known well enough to count"
    deciding = found.analysis.deciding
    one = "" if deciding is None else f"{deciding_words(deciding, system)} "
    return (
        f"{doubt}{counted(int(years), 'year', 'years')} of rain{known}; "
        f"{checks_words(found.quality)}{storm_words(found.analysis, system)} {one}{months}"
    )


def often_words(storms: Counter[int]) -> str:
    """Say in which months the largest storms come; months that are tied are named together.

    Parameters
    ----------
    storms : Counter of int
        Largest storms by month, 1 to 12 [-].

    Returns
    -------
    str
        A sentence.
    """
    order = sorted(storms, key=lambda month: (-storms[month], month))
    for least in sorted(set(storms.values()))[-2:]:  # the two fullest ranks, else the fullest
        names = [calendar.month_name[month] for month in order if storms[month] >= least]
        if len(names) <= _MOST_MONTHS:
            words = " and ".join(part for part in (", ".join(names[:-1]), names[-1]) if part)
            return f"The largest storms come most often in {words}."
    return "No month stands out among the largest storms."


def begin_blocks(*, any_own: bool) -> list[dict[str, Any]]:
    """Return what stands on the page before a record is chosen.

    Parameters
    ----------
    any_own : bool
        Whether there is a record in the folder.

    Returns
    -------
    list of dict
        Blocks for the panel.
    """
    texts = [_WHAT_IT_TELLS] if any_own else [_NO_RECORD, _WHAT_IT_TELLS]
    texts.append(_WHAT_A_HOME_TELLS)
    return [{"kind": "text", "class": "hint", "text": text} for text in texts]


_NO_RECORD = (
    "There is no rain record in this folder yet. Put one there: a plain CSV of times and depths, "
    "or a file of a public archive (NOAA hourly, GHCN-Daily). It appears in the list within "
    "seconds. Until then there is an invented one to look at."
)
_WHAT_A_HOME_TELLS = (
    "Or choose a home whose file names a rain record and temperatures. All their years are run "
    "through its ground, pit and pump: the page tells in which months a failed pump would most "
    "often have meant water on the floor, by when visits are best done, what each storm would have "
    "done to this pit, and whether the years change."
)
_WHAT_IT_TELLS = (
    "Choose a rain record. The page tells whether it can be trusted, how much rain the storms of 1 "
    "to 100 years bring, and in which months the large ones come. An official table or the record "
    "of a gauge near by shows what the record alone cannot."
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
    record, often = record_parts(found, system)
    # the sentence first, then what may fail, then the depths, for which most come
    at = 1 + (len(_quality(found.quality, system)) if _fails(found) else 0)
    return [*record[:at], *often, *record[at:]]


def record_parts(
    found: RecordAnswer, system: UnitSystem
) -> tuple[list[dict[str, Any]], list[dict[str, Any]]]:
    """Return what is told of a record in two parts.

    Parameters
    ----------
    found : RecordAnswer
        What was found.
    system : UnitSystem
        Units of the reader.

    Returns
    -------
    record, often : list of dict
        Blocks of the record itself, and of how often so much rain falls.
    """
    everything = found.analysis
    failed = _fails(found)
    quality = _quality(found.quality, system)
    lead = "lead wrong" if failed else "lead"
    often: list[dict[str, Any]] = []
    if found.own is not None:
        often += [
            {"kind": "picture", "svg": found.curves[system], "words": _CURVE_WORDS},
            *_table(depths_table(found.own, system, "Own analysis of the record")),
        ]
    if everything.official is not None:
        often += _table(depths_table(everything.official, system, "Official table"))
    if everything.comparison is not None:
        often += _table(comparison_table(everything.comparison))
    often += _table(fit_table(everything))
    blocks = [
        {"kind": "text", "class": lead, "text": record_sentence(found, system)},
        *(quality if failed else []),  # nothing else matters then
        *_table(storm_table(found.record, everything.storms, system)),
        *_months(found),
        {"kind": "heading", "text": "How complete the years are"},
        {"kind": "picture", "svg": found.completeness, "words": _YEARS_WORDS},
        *_mass(found, system),
        *([] if failed else quality),
    ]
    notes = rain_notes(everything)
    if notes:
        inner = [{"kind": "list", "items": notes}]
        blocks.append({"kind": "more", "title": "Notes", "blocks": inner})
    return blocks, often


def _fails(found: RecordAnswer) -> bool:
    return any(row.verdict is Verdict.FAIL for row in found.quality)


_CURVE_WORDS = (
    "Depth of rain against return period. Dots: the largest of each year. Line: the fitted curve, "
    "in a band within which the true depth lies nine times in ten. Diamonds: an official table, "
    "where there is one."
)
_MASS_WORDS = (
    "Both records added up over the years that both have. A gauge that was moved or changed bends "
    "the curve away from the straight line."
)
_YEARS_WORDS = "Known share of each calendar year. A year counts from 80 % on."


def _mass(found: RecordAnswer, system: UnitSystem) -> list[dict[str, Any]]:
    if found.analysis.mass is None:
        return []
    return [
        {"kind": "heading", "text": "Against the neighbour"},
        {"kind": "text", "text": mass_sentence(found.analysis)},
        {"kind": "picture", "svg": found.masses[system], "words": _MASS_WORDS},
    ]


def _months(found: RecordAnswer) -> list[dict[str, Any]]:
    counts = Counter(storm.month for storm in found.large)
    if not counts:
        return []
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


def _table(table: Table | None) -> list[dict[str, Any]]:
    return [] if table is None else table_blocks(table)


def _quality(rows: tuple[QualityRow, ...], system: UnitSystem) -> list[dict[str, Any]]:
    marks = {row.check.value: mark_words(row.verdict) for row in rows if not row.verdict.in_order}
    return table_blocks(quality_table(rows, system), marks)
