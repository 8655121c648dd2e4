"""What a notebook shows of a value: a sentence, a chart and a table."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from functools import singledispatch
from typing import Any

import numpy as np

from riskkit.assessment import Assessment
from riskkit.errors import RiskkitError
from riskkit.failures.answer import YearlyChance
from riskkit.failures.service import Intervals, VisitVerdict
from riskkit.gauge.answer import LogAnalysis
from riskkit.home.home import Home
from riskkit.options.compare import Comparison
from riskkit.options.ranking import Ranking
from riskkit.options.replays import ReplayComparison, years_study
from riskkit.options.side_by_side import SideBySide
from riskkit.quantities.quantity import Basis
from riskkit.quantities.units import UnitSystem, convert
from riskkit.quantities.variables import choices, counted, variables
from riskkit.records import DepthDurationFrequency, RainRecord
from riskkit.report.amounts import volume_amount
from riskkit.report.chance_words import (
    CAUSES_HEAD,
    RESTS_ON,
    cause_rows,
    certain_lines,
    chance_sentence,
)
from riskkit.report.charts import RAIN, WATER, level_chart, to_svg
from riskkit.report.interval_words import (
    INTERVAL_HEAD,
    INTERVAL_TITLES,
    interval_lines,
    interval_rows,
)
from riskkit.report.log_chart import LOG_CHART_WORDS, log_spec
from riskkit.report.log_words import log_sentence, log_tables, odd_lines
from riskkit.report.number_words import hours_words, percent_words
from riskkit.report.page import environment
from riskkit.report.picture_words import ONE_HOME, time_words
from riskkit.report.ranking_words import (
    PAIRS_TITLE,
    SETS_HEAD,
    budget_lines,
    money_lines,
    no_help_line,
    ranking_head,
    ranking_rows,
    ranking_title,
    set_rows,
    tie_lines,
    tried_with,
)
from riskkit.report.replay_rows import replay_tables
from riskkit.report.replay_view import CHART_WORDS, lead_lines, replay_spec
from riskkit.report.replay_words import often_words
from riskkit.report.rows import Table, new_table
from riskkit.report.section import section_svg
from riskkit.report.side_rows import due_lines, side_sentence, side_table, state_lines_of
from riskkit.report.side_view import SIDE_CHART_WORDS, side_spec
from riskkit.report.state_words import time_title
from riskkit.report.storm_rows import stopped_table, storm_rain, working_table
from riskkit.report.time_words import time_cells
from riskkit.report.visit_words import alerts
from riskkit.report.words import sentence
from riskkit.risk.design_rain import DesignRain
from riskkit.risk.system_state import system_state
from riskkit.years.records import Replay

__all__ = ["html_of"]

_SYSTEM = UnitSystem.US  # as of the command line where nobody asks for another
_WIDTH_PX, _HEIGHT_PX = 560, 220
_LOOK = {
    "legend": {"orient": "right", "labelFontSize": 12, "titleFontSize": 12},
    "axis": {"labelFontSize": 12, "titleFontSize": 12, "labelLimit": 260},
    "view": {"stroke": None},
}


@dataclass(frozen=True)
class _View:
    title: str
    lines: Sequence[str] = ()
    chart: str = ""
    caption: str = ""
    tables: Sequence[Table] = ()


def html_of(value: object) -> str:
    """Write what a notebook shows of a value.

    Parameters
    ----------
    value : Assessment, Comparison, Replay, Home, RainRecord or another `ShownInNotebook`
        The value.

    Returns
    -------
    str
        HTML without scripts; text from files is escaped.

    Raises
    ------
    TypeError
        Where it is none of these.
    """
    import markupsafe

    shown = _view(value)
    drawn = _View(
        shown.title,
        shown.lines,
        markupsafe.Markup(shown.chart),  # noqa: S704 - drawn by the library
        shown.caption,
        shown.tables,
    )
    return environment().get_template("notebook.html").render(shown=drawn)


@singledispatch
def _view(value: object) -> _View:
    raise TypeError(f"a notebook has no view of a {type(value).__name__}")


@_view.register
def _(answer: Assessment) -> _View:
    storm = answer.headline_storm
    chart = level_chart(answer, _SYSTEM, storm.return_period_yr, width_px=_WIDTH_PX)
    name = f"{storm.return_period_yr:g}-year storm, {storm_rain(storm, _SYSTEM)}"
    return _View(
        title=answer.home.name,
        lines=(sentence(answer, _SYSTEM), *answer.warnings),
        chart=to_svg(chart),
        caption=f"Water level through the {name}. {ONE_HOME}. {time_words(answer)}",
        tables=(working_table(answer, _SYSTEM), stopped_table(answer)),
    )


@_view.register
def _(found: LogAnalysis) -> _View:
    return _View(
        title=f"{found.home.name}: {found.log.name}",
        lines=(log_sentence(found, _SYSTEM), *odd_lines(found, _SYSTEM)),
        chart=to_svg(log_spec(found, _SYSTEM, width_px=_WIDTH_PX)),
        caption=LOG_CHART_WORDS,
        tables=log_tables(found, _SYSTEM),
    )


@_view.register
def _(comparison: Comparison) -> _View:
    years = comparison.before.settings.headline_yr
    storms = {name: answer.headline_storm for name, answer in comparison.answers.items()}
    words = {change.name: change.words(_SYSTEM) for change in comparison.changes}
    rows = [
        (
            name,
            words.get(name, ""),
            *time_cells(one.worst_stop.to_floor_s),
            percent_words(one.pump_working.floor_dry_share, one.n_draws),
        )
        for name, one in storms.items()
    ]
    head = ("change", "what is done", "worst moment", "reached", "pit does not overflow")
    bars = [
        {"change": name, "share": 100.0 * (1.0 - storm.worst_stop.to_floor_s.never_share)}
        for name, storm in storms.items()
    ]
    encoding = {
        "y": {"field": "change", "type": "nominal", "sort": None, "title": None},
        "x": {"field": "share", "type": "quantitative", "title": _STOPPED, "scale": _PER_CENT},
    }
    left = ", ".join(change.name for change in comparison.left_out)
    tried = counted(len(comparison.changes), "change is", "changes are")
    lines = [f"{tried} tried, each alone, in the {years:g}-year storm and with the same variants."]
    if left:
        lines.append(f"Left out, for it is so already or the part is not there: {left}.")
    return _View(
        title=comparison.before.home.name,
        lines=lines,
        chart=_svg(bars, {"type": "bar", "color": WATER}, encoding, height_px=24 * len(bars)),
        tables=(new_table(time_title(comparison.before), head, rows),),
    )


_STOPPED = "chance of water on the floor if the pump stops [%]"
_PER_CENT = {"domain": [0, 100]}


@_view.register
def _(home: Home) -> _View:
    rows = _known(home)
    n_keys = len(variables()) + len(choices())
    lines = [f"{len(rows)} of {n_keys} values are known.", *([home.note] if home.note else [])]
    return _View(
        title=home.name, lines=lines, chart=_drawn(home), tables=(new_table("", _HEAD, rows),)
    )


_HEAD = ("key", "value", "how it is known")
_HOW = {Basis.MEASURED: "measured", Basis.GIVEN: "given", Basis.UNKNOWN: "unknown"}


def _known(home: Home) -> list[tuple[str, str, str]]:
    numbers = [
        (key, quantity.amount, _HOW[quantity.basis])
        for key in variables()
        if (quantity := home.written(key)) is not None
    ]
    words = [(key, word, "given") for key in choices() if (word := home.choice(key)) is not None]
    return sorted(numbers + words)


def _drawn(home: Home) -> str:
    """The section through the home; none where it cannot be, which the answer will say."""
    try:
        return section_svg(home, _SYSTEM)
    except RiskkitError:
        return ""


@_view.register
def _(record: RainRecord) -> _View:
    year = record.times.astype("datetime64[Y]").astype(np.int64) + 1970
    measured_mm = np.bincount(year - year[0], weights=np.nan_to_num(record.depth_mm))
    bars = [
        {"year": int(year[0]) + i, "rain": convert(float(depth_mm), "mm", "in")}
        for i, depth_mm in enumerate(measured_mm)
    ]
    encoding = {
        "x": {"field": "year", "type": "ordinal", "title": None},
        "y": {"field": "rain", "type": "quantitative", "title": "rain that was measured [in]"},
    }
    missing = float(np.isnan(record.depth_mm).mean())
    first, last = (str(record.times[i].astype("datetime64[D]")) for i in (0, -1))
    rows = [
        ("first day", first), ("last day", last),
        ("interval", hours_words(record.interval_s / 3600.0)),
        ("missing", "none" if missing == 0 else percent_words(missing)),
        ("largest value", f"{convert(float(np.nanmax(record.depth_mm)), 'mm', 'in'):.3g} in"),
    ]  # fmt: skip
    return _View(
        title=record.name or "rain record",
        lines=record.notes,
        chart=_svg(bars, {"type": "bar", "color": RAIN}, encoding),
        tables=(new_table("", ("", ""), rows),),
    )


@_view.register
def _(table: DepthDurationFrequency) -> _View:
    depth_in = table.depth_mm * convert(1.0, "mm", "in")
    points = [
        {"years": float(years), "depth": float(depth_in[i, j]), "duration": hours_words(hours)}
        for i, hours in enumerate(table.duration_h)
        for j, years in enumerate(table.return_period_yr)
    ]
    names = [hours_words(hours) for hours in table.duration_h]
    encoding = {
        "x": {
            "field": "years", "type": "quantitative", "title": "return period [years]",
            "scale": {"type": "log"},
        },
        "y": {"field": "depth", "type": "quantitative", "title": "rain [in]"},
        "color": {
            "field": "duration", "type": "ordinal", "sort": names, "title": "duration",
            "scale": {"scheme": "viridis"},
        },
    }  # fmt: skip
    head = ("duration", *(f"{years:g}-year" for years in table.return_period_yr))
    rows = [
        (name, *(f"{depth:.2f}" for depth in row))
        for name, row in zip(names, depth_in, strict=True)
    ]
    return _View(
        title=table.origin or "depths of rain",
        lines=table.notes,
        chart=_svg(points, {"type": "line", "point": True}, encoding),
        tables=(new_table("Depth of rain [in]", head, rows),),
    )


@_view.register
def _(rain: DesignRain) -> _View:
    return _view(rain.used)


@_view.register
def _(replay: Replay) -> _View:
    study, home = years_study(replay), replay.home
    return _View(
        title=f"{home.name}: {replay.month[0]} to {replay.month[-1]}",
        lines=(*alerts(home, system_state(home), _SYSTEM), *lead_lines(study)),
        chart=to_svg(replay_spec(study, _SYSTEM, width_px=_WIDTH_PX)),
        caption=CHART_WORDS,
        tables=replay_tables(study, _SYSTEM),
    )


@_view.register
def _(comparison: ReplayComparison) -> _View:
    before, frame = comparison.before, comparison.to_frame()
    words = {change.name: change.words(_SYSTEM) for change in comparison.changes}
    rows = [
        (
            str(name), words.get(str(name), ""),
            often_words(float(row["stopped_floods_per_year_median"])),
            often_words(float(row["stopped_floods_within_1_h_per_year_high"])),
            str(volume_amount(float(row["pumped_m3_per_year_median"]), _SYSTEM)),
            f"{row['run_h_per_year_median']:.3g}",
        )
        for name, row in frame.iterrows()
    ]  # fmt: skip
    head = ("change", "what is done", "a stopped pump floods", "within an hour, worst tenth",
            "pumped a year", "hours a year")  # fmt: skip
    column = frame["stopped_floods_per_year_median"]
    bars = [{"change": str(name), "often": float(value)} for name, value in column.items()]
    encoding = {
        "y": {"field": "change", "type": "nominal", "sort": None, "title": None},
        "x": {"field": "often", "type": "quantitative", "title": "a stopped pump floods [1/year]"},
    }
    return _View(
        title=before.home.name,
        lines=[
            f"The same {before.years:.3g} years and the same simulated variants of the home, as it "
            "is and with each change alone."
        ],
        chart=_svg(bars, {"type": "bar", "color": WATER}, encoding, height_px=24 * len(bars)),
        tables=(new_table("The median of the variants", head, rows),),
    )


@_view.register
def _(found: SideBySide) -> _View:
    table = side_table(found, _SYSTEM)
    return _View(
        title="Years side by side",
        lines=(*state_lines_of(found, _SYSTEM), side_sentence(found), *due_lines(found),
               *table.notes),
        chart=to_svg(side_spec(found, _SYSTEM, width_px=_WIDTH_PX)),
        caption=SIDE_CHART_WORDS,
        tables=[table],
    )  # fmt: skip


@_view.register
def _(found: YearlyChance) -> _View:
    rows = cause_rows(found)
    bars = [{"cause": row[0], "share": 100.0 * one.share} for row, one in
            zip(rows, found.causes, strict=False)]  # fmt: skip
    encoding = {
        "y": {"field": "cause", "type": "nominal", "sort": None, "title": None},
        "x": {"field": "share", "type": "quantitative", "title": _BY_CAUSE, "scale": _PER_CENT},
    }
    return _View(
        title=found.home_name,
        lines=(chance_sentence(found), *certain_lines(found)),
        chart=_svg(bars, {"type": "bar", "color": WATER}, encoding, height_px=24 * len(bars))
        if bars
        else "",
        caption=RESTS_ON,
        tables=(new_table("What brings it", CAUSES_HEAD, rows),) if rows else (),
    )


_BY_CAUSE = "part of the water on the floor [%]"


@_view.register
def _(found: Intervals) -> _View:
    currency = found.prices.currency
    tables = [
        new_table(title, INTERVAL_HEAD, interval_rows(rows, currency))
        for title, rows in zip(INTERVAL_TITLES, (found.rows, found.with_owner), strict=True)
    ]
    return _View(
        title=found.home_name,
        lines=(chance_sentence(found.now), *interval_lines(found)),
        caption=RESTS_ON,
        tables=tables if found.verdict is not VisitVerdict.NO_PUMP else (),
    )


@_view.register
def _(found: Ranking) -> _View:
    rows, pairs = ranking_rows(found, _SYSTEM), set_rows(found)
    tables = [new_table(ranking_title(found), ranking_head(found), rows)] if rows else []
    if pairs:
        tables.append(new_table(PAIRS_TITLE, SETS_HEAD, pairs))
    return _View(
        title=found.now.home_name,
        lines=(chance_sentence(found.now), *tie_lines(found, _SYSTEM), no_help_line(found, _SYSTEM),
               *budget_lines(found), *money_lines(found), tried_with(found)),
        caption=RESTS_ON,
        tables=tables,
    )  # fmt: skip


def _svg(
    rows: list[dict[str, Any]],
    mark: dict[str, Any],
    encoding: dict[str, Any],
    *,
    height_px: int = _HEIGHT_PX,
) -> str:
    return to_svg(
        {
            "data": {"values": rows},
            "mark": mark,
            "encoding": encoding,
            "width": _WIDTH_PX,
            "height": height_px,
            "config": _LOOK,
        }
    )
