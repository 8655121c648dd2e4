"""A log of the pump in words and tables: one sentence, what is known by it, months, what is odd."""

from __future__ import annotations

from collections.abc import Callable
from typing import TYPE_CHECKING

import numpy as np
from rich.text import Text

from riskkit.gauge.answer import Fitted, Lacking, LogAnalysis
from riskkit.gauge.cycles import Anomaly, AnomalySpan, in_spans
from riskkit.gauge.observed import entered_by_log
from riskkit.gauge.pump import Course
from riskkit.gauge.weighed import STORM_M, STORM_S, NoStorm, StormFlow
from riskkit.quantities.units import UnitSystem, convert
from riskkit.quantities.variables import counted, signed_percent, significant, variables
from riskkit.report.amounts import volume_amount
from riskkit.report.number_words import about_flow, percent_words, rain_words
from riskkit.report.rows import Table, new_table
from riskkit.report.table_text import print_table

if TYPE_CHECKING:
    from rich.console import Console

__all__ = [
    "log_form",
    "log_sentence",
    "log_tables",
    "odd_lines",
    "print_log",
    "storm_line",
]

_DAY_S = 86400.0
_MOST_ODD = 8  # that are told one by one
_LEAST_MONTH = 0.5  # of a month that must be known for its inflow a day
_STUCK_MM = 5.0  # less rain than that does not keep a pump running for hours

_NAMES = {
    "log.hour_area": "ground and roof whose rain comes within the hour, in the mean",
    "log.hour_area_full": "the same when the soil is saturated",
    "log.day_area": "ground and roof whose rain comes within a day, in the mean",
    "log.day_area_full": "the same when the soil is saturated",
    "log.lag": "delay of the water that comes first",
    "log.recession": "from a day after rain, inflow falls to a third within",
    "log.pump_flow": "what the pump carries now",
    "pump.capacity": "that against its plate, pipe and lift",
    "ground.dry_inflow": "inflow in dry weather, from dry spell to dry spell",
}
_LACKING = {
    Lacking.RAIN: "Without the rain of its days the log tells inflow and pump, but no answer to "
    "rain: name a record under [rain] in the home file, or with --rain.",
    Lacking.DAYS: "It is too short to tell how inflow answers to rain: twenty days are needed.",
    Lacking.CYCLES: "The pump starts too rarely in it to tell how inflow answers to rain.",
    Lacking.DRY: "Too little rain fell in it (less than 2 in) to tell how inflow answers to rain.",
}


def _area(value: float, system: UnitSystem) -> str:
    unit, name = ("ft2", "ft2") if system is UnitSystem.US else ("m2", "m²")
    return f"{significant(convert(value, 'm2', unit), 2)} {name}"


def _time(value: float, system: UnitSystem) -> str:
    if value < 2 * 3600:
        return f"{significant(value / 60.0, 2)} min"
    return f"{significant(value / 3600, 2)} h" if value < 2 * _DAY_S else _days(value)


def _days(value: float) -> str:
    return f"{significant(value / _DAY_S, 2)} days"


def _share(value: float, system: UnitSystem) -> str:
    return f"{value * 100:.0f} %"


_WRITTEN: dict[str, Callable[[float, UnitSystem], str]] = {
    "log.hour_area": _area, "log.hour_area_full": _area,
    "log.day_area": _area, "log.day_area_full": _area,
    "log.lag": _time, "log.recession": _time, "pump.capacity": _share,
}  # fmt: skip


def _of(found: Fitted, system: UnitSystem) -> tuple[str, str]:
    """Middle and span in words."""
    write = _WRITTEN.get(found.quantity, about_flow)
    low, high = write(found.low, system), write(found.high, system)
    return write(found.value, system), low if low == high else f"{low} to {high}"


def log_sentence(found: LogAnalysis, system: UnitSystem) -> str:
    """Say in a few sentences what a log tells.

    Parameters
    ----------
    found : LogAnalysis
        What it tells.
    system : UnitSystem
        Units of the reader.

    Returns
    -------
    str
        What came in, how it answers to rain, what the pump does, and how sure that is.
    """
    bins = found.bins
    a_day = float(bins.inflow_m3.sum() / bins.time_s.sum()) * _DAY_S
    starts = counted(found.log.start_s.size, "time", "times")
    days = counted(round(found.log.days), "day", "days")
    parts = [f"In {days} the pump started {starts} and about {volume_amount(a_day, system)} a day "
             "came into the pit."]  # fmt: skip
    area, recession = found.of("log.hour_area"), found.of("log.recession")
    if area is not None:
        median, span = _of(area, system)
        text = f"The rain on {median} of ground and roof ({span}) comes within the hour"
        if recession is not None:
            within = _of(recession, system)[0]
            text += f"; from a day after rain, the inflow falls to a third within {within}"
        parts.append(f"{text}.")
    dry = found.of("ground.dry_inflow")
    if dry is not None:
        median, span = _of(dry, system)
        parts.append(f"In dry weather {median} comes in ({span}).")
    parts.append(_pump_sentence(found, system))
    if found.lacking is not None:
        parts.append(_LACKING[found.lacking])
    elif found.skill is not None:
        parts.append(_skill_sentence(found))
    return " ".join(part for part in parts if part)


def _pump_sentence(found: LogAnalysis, system: UnitSystem) -> str:
    pump, flow = found.pump, found.of("log.pump_flow")
    if pump is None or flow is None:
        return ""
    median, span = _of(flow, system)
    text = f"The pump carries {median} ({span})"
    if pump.course is Course.STEADY:
        return f"{text} and has not changed."
    if pump.course is Course.TREND:
        return f"{text} and changes by {signed_percent(pump.per_year)} a year."
    day = np.datetime64(round(pump.step_s), "s").astype("datetime64[D]")
    more = "more" if pump.step_share > 0 else "less"
    change = percent_words(abs(pump.step_share))
    return (
        f"{text}, {change} {more} since about {day}: another pump, or something mended or broken."
    )


def _skill_sentence(found: LogAnalysis) -> str:
    skill = found.skill
    if skill is None:
        return ""
    lower = min(skill.first, skill.second)
    if lower <= 0:
        return (
            "One half of the log does not predict the other: what it tells of rain holds for its "
            "own days alone."
        )
    ends = sorted({percent_words(skill.first), percent_words(skill.second)}, key=len)
    both = " and ".join(sorted(ends))
    return f"The halves of the log predict {both} of each other's variance."


def odd_lines(found: LogAnalysis, system: UnitSystem) -> list[str]:
    """Say what in a log is worth a look, one line each.

    Parameters
    ----------
    found : LogAnalysis
        What it tells.
    system : UnitSystem
        Units of the reader.

    Returns
    -------
    list of str
        Runs of hours, rests with much rain, and how much is missing.
    """
    shown = [one for one in found.cycles.odd if one.what is not Anomaly.GAP]
    lines = [_odd_line(one, system) for one in shown[:_MOST_ODD]]
    if len(shown) > _MOST_ODD:
        lines.append(f"There are {len(shown) - _MOST_ODD} more of them.")
    gaps = [one for one in found.cycles.odd if one.what is Anomaly.GAP]
    if gaps:
        missing = sum(one.end_s - one.begin_s for one in gaps)
        lines.append(
            f"{counted(len(gaps), 'gap', 'gaps')} of {_time(missing, system)} in all, in which "
            "nothing is known."
        )
    return lines


def _odd_line(one: AnomalySpan, system: UnitSystem) -> str:
    begin = _stamp(one.begin_s)
    if one.what is Anomaly.SILENT:
        return (
            f"No start for {_time(one.end_s - one.begin_s, system)} from {begin} though "
            f"{rain_words(one.rain_mm, system)} of rain fell: dry ground, or the pump or the "
            "logger stood still."
        )
    if not np.isfinite(one.end_s):
        return f"The pump ran on from {begin}, and no end of it is logged."
    text = f"The pump ran for {_time(one.end_s - one.begin_s, system)} from {begin}"
    if np.isfinite(one.rain_mm) and one.rain_mm < _STUCK_MM:
        return f"{text} without rain: its float was stuck, or the pump drew no water."
    return f"{text}: more came in than it carries, or its float was stuck."


def _stamp(time_s: float) -> str:
    return str(np.datetime64(round(time_s), "s").astype("datetime64[m]")).replace("T", " ")


def log_tables(found: LogAnalysis, system: UnitSystem) -> list[Table]:
    """Return the tables of a log: what it tells, how well, and its months.

    Parameters
    ----------
    found : LogAnalysis
        What it tells.
    system : UnitSystem
        Units of the reader.

    Returns
    -------
    list of Table
        One or more.
    """
    rows = [
        [_NAMES[one.quantity], *_of(one, system)] for one in found.fitted if one.quantity in _NAMES
    ]
    tables = []
    if rows:
        head = ["what the log tells", "median", "9 of 10 lie within"]
        tables.append(new_table("", head, rows))
    if found.skill is not None:
        tables.append(_skill_table(found))
    tables.append(_months(found, system))
    return tables


def _skill_table(found: LogAnalysis) -> Table:
    skill = found.skill
    if skill is None:
        raise ValueError("the log was not judged")
    rows = [
        ["stores in parallel", _explained(skill.second), _explained(skill.first)],
        ["unit hydrograph of two parameters", _explained(skill.second_plain),
         _explained(skill.first_plain)],
    ]  # fmt: skip
    head = ["variance explained by", "second half, from the first", "first half, from the second"]
    return new_table("How well one half of the log predicts the other", head, rows)


def _explained(share: float) -> str:
    return percent_words(share) if share > 0 else "less than its mean"


def _months(found: LogAnalysis, system: UnitSystem) -> Table:
    begin = np.datetime64(round(found.bins.begin_s[0]), "s").astype("datetime64[M]")
    end = np.datetime64(round(found.bins.end_s[-1]), "s").astype("datetime64[M]") + 1
    months = np.arange(begin, end + 1)
    edges = months.astype("datetime64[s]").astype(np.int64).astype(np.float64)
    inflow, known = in_spans(found.bins, edges)
    starts = np.histogram(found.log.start_s, edges)[0]
    head = ["month", "starts", "inflow a day"]
    parts = None
    if found.water is not None:
        head.append("rain and melt")
    if found.response is not None:
        head += ["of it at once", "seeping", "ground water"]
        parts = found.response.parts_m3(edges[:-1], edges[1:])
    rows = []
    for i, month in enumerate(months[:-1]):
        part = known[i] / (edges[i + 1] - edges[i])
        enough = part >= _LEAST_MONTH
        a_day = str(volume_amount(inflow[i] / known[i] * _DAY_S, system)) if enough else ""
        row = [str(month), str(int(starts[i])), a_day]
        if found.water is not None:
            depth = float(found.water.between(edges[i : i + 1], edges[i + 1 : i + 2])[0]) * 1e3
            row.append(rain_words(depth, system))
        if parts is not None:
            total = float(parts[:, i].sum())
            row += [percent_words(float(p) / total) if total > 0 else "" for p in parts[:, i]]
        rows.append(row)
    blank = "Without inflow a day: less than half of it is known in that month."
    notes = [blank] if any(not row[2] for row in rows) else []
    return new_table("Months of the log", head, rows, notes)


_NO_STORM = {
    NoStorm.NO_RAIN: "that takes rain and temperatures of its days, the latitude of the home, and "
    "inflow that answers to the rain.",
    NoStorm.DAYS_NOT_HELD: "the rain record does not hold all of its days and the year before.",
    NoStorm.FEW_FIT: "hardly any simulated variant of the home fits this log. Check what "
    "is entered of the home.",
    NoStorm.NOTHING_SURER: "with it the inflow in a storm is no surer than without.",
}


def storm_line(storm: StormFlow | NoStorm, system: UnitSystem) -> str:
    """Say what a log says of the inflow in a storm, against what was known before.

    Parameters
    ----------
    storm : StormFlow or NoStorm
        What it says, or why it says nothing.
    system : UnitSystem
        Units of the reader.

    Returns
    -------
    str
        A sentence.
    """
    if isinstance(storm, NoStorm):
        return f"Of the inflow in a storm the log tells nothing: {_NO_STORM[storm]}"
    now, then = _of(storm.after, system), _of(storm.before, system)
    return (
        f"When {rain_words(STORM_M * 1e3, system)} of rain falls in {STORM_S / 3600:g} h on ground "
        f"as it is before large storms, {now[0]} flows in at the end of it ({now[1]}); without the "
        f"log {then[0]} ({then[1]})."
    )


def entered_line(found: LogAnalysis, storm: StormFlow | None, name: str, system: UnitSystem) -> str:
    """Say what a log enters into a home file.

    Parameters
    ----------
    found : LogAnalysis
        What it tells.
    storm : StormFlow or None
        What it says of the inflow in a storm.
    name : str
        Of the file.
    system : UnitSystem
        Units of the reader.

    Returns
    -------
    str
        A sentence.
    """
    entered, observation = entered_by_log(found, storm, system)
    said = [f"{variables()[key].words} {text}" for key, text in entered.items()]
    if observation is not None:
        said.append("the inflow in a storm, as an observation")
    if not said:
        return f"Nothing was entered into {name}: the log tells nothing that a home file holds."
    return f"Entered into {name}: {'; '.join(said)}."


def print_log(
    found: LogAnalysis,
    console: Console,
    system: UnitSystem,
    storm: StormFlow | NoStorm = NoStorm.NO_RAIN,
    misfit: str = "",
) -> None:
    """Print what a log tells: the sentence first, then tables, then what is odd.

    Parameters
    ----------
    found : LogAnalysis
        What it tells.
    console : Console
        Where to.
    system : UnitSystem
        Units of the reader.
    storm : StormFlow or NoStorm
        What it says of the inflow in a storm, or why it says nothing.
    misfit : str
        What is to be said first where the log is not like the home.
    """
    if misfit:
        console.print(Text(f"! {misfit}"))
    said = [log_sentence(found, system), storm_line(storm, system)]
    console.print(Text(" ".join(words for words in said if words)))
    console.print()
    for table in log_tables(found, system):
        print_table(console, table)
        console.print()
    for line in [*odd_lines(found, system), *(f"Note: {note}" for note in found.log.notes)]:
        console.print(Text(line))


def log_form(
    found: LogAnalysis, storm: StormFlow | None = None, *, misfit: bool = False
) -> dict[str, object]:
    """Write what a log tells as plain values for JSON.

    Parameters
    ----------
    found : LogAnalysis
        What it tells.
    storm : StormFlow or NoStorm
        What it says of the inflow in a storm, or why it says nothing.
    misfit : bool
        Whether hardly any simulated variant of the home counts as the log does.

    Returns
    -------
    dict
        SI units; times in local standard time.
    """
    pump, skill = found.pump, found.skill

    def stamp(time_s: float) -> str | None:
        return _stamp(time_s).replace(" ", "T") if np.isfinite(time_s) else None

    return {
        "form": "riskkit-log",
        "form_version": 2,
        "home": found.home.name,
        "log": found.log.name,
        "days": found.log.days,
        "starts": int(found.log.start_s.size),
        "begin": stamp(float(found.log.watched_s[0, 0])),
        "end": stamp(float(found.log.watched_s[-1, 1])),
        "mean_inflow_m3_s": float(found.bins.inflow_m3.sum() / found.bins.time_s.sum()),
        "cycle_m3": _fitted_form(found.cycle_m3),
        "fitted": {one.quantity: _fitted_form(one) for one in found.fitted},
        "storm_flow": None
        if storm is None
        else {
            "rain_mm": STORM_M * 1e3,
            "over_s": STORM_S,
            "before": _fitted_form(storm.before),
            "after": _fitted_form(storm.after),
            "reading": _fitted_form(storm.reading),
            "draws_in_effect": storm.effective,
        },
        "misfit": misfit,
        "no_response": None if found.lacking is None else found.lacking.value,
        "base_m3_s_by_month": None
        if found.response is None
        else [float(v) for v in found.response.base_by_month_m3_s()[0]],
        "explained": None
        if skill is None
        else {
            "second_half": skill.second,
            "first_half": skill.first,
            "second_half_by_unit_hydrograph": skill.second_plain,
            "first_half_by_unit_hydrograph": skill.first_plain,
        },
        "pump": None
        if pump is None
        else {
            "course": pump.course.value,
            "first_m3_s": pump.first_m3_s,
            "last_m3_s": pump.last_m3_s,
            "changed_at": stamp(pump.step_s),
            "changed_by": pump.step_share,
            "per_year": {"value": pump.per_year, "low": pump.per_year_low,
                         "high": pump.per_year_high},
        },
        "odd": [
            {
                "what": one.what.value,
                "begin": stamp(one.begin_s),
                "end": stamp(one.end_s),
                "rain_mm": one.rain_mm if np.isfinite(one.rain_mm) else None,
            }
            for one in found.cycles.odd
        ],
        "notes": list(found.log.notes),
    }  # fmt: skip


def _fitted_form(one: Fitted) -> dict[str, float]:
    return {"value": one.value, "low": one.low, "high": one.high}
