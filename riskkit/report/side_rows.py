"""Years side by side as a sentence, a table, and which differences are clear."""

from __future__ import annotations

import calendar
from typing import TYPE_CHECKING

from riskkit.ensemble.quantiles import mean_range, outcome
from riskkit.options.side_by_side import YEARLY, SideBySide, Verdict, of_years
from riskkit.quantities.units import UnitSystem
from riskkit.report.amounts import Amount, grouped, volume_amount
from riskkit.report.number_words import rain_words
from riskkit.report.replay_rows import range_words, volume_range_words
from riskkit.report.replay_words import due_faults, due_line, often_words
from riskkit.report.rows import Table, new_table
from riskkit.report.visit_words import alerts, visit_alerts
from riskkit.risk.system_state import system_state

if TYPE_CHECKING:
    from riskkit.options.side_by_side import Contrast
    from riskkit.years.calendar import VisitSeason
    from riskkit.years.records import Replay

__all__ = ["contrast_lines", "due_lines", "side_sentence", "side_table", "state_lines_of"]

_NAMES = {
    "failed_pump_floods": "storms in which a failed pump floods",
    "failed_pump_floods_within_1_h": "storms in which it floods within 1 h",
    "working_floods": "storms in which the floor is wet though the pump works",
    "pumped_m3": "water pumped",
    "run_h": "hours the pump runs",
}
_WHY = {
    Verdict.HOMES: "within what is unknown of home and ground",
    Verdict.YEARS: "other years might have shown the opposite",
    Verdict.FEW_YEARS: "fewer than five years tell nothing",
    Verdict.SAME: "none at all",
}


def state_lines_of(found: SideBySide, system: UnitSystem) -> list[str]:
    """Say of each home what is out of order or missing; of one home once.

    Parameters
    ----------
    found : SideBySide
        The years.
    system : UnitSystem
        Units of the reader.

    Returns
    -------
    list of str
        A line each, with the name of the home; empty where all is well.
    """
    homes = {one.home.name: one.home for one in found.replays}
    return [
        f"{name}: {line}"
        for name, home in homes.items()
        for line in alerts(home, system_state(home), system)
    ]


def due_lines(found: SideBySide) -> list[str]:
    """Say of each home what is due now, whatever the season.

    Parameters
    ----------
    found : SideBySide
        The years.

    Returns
    -------
    list of str
        A sentence for each home where something is.
    """
    homes = {one.home.name: one.home for one in found.replays}
    lines = {
        name: due_line(due_faults(system_state(home)), more=bool(visit_alerts(home)))
        for name, home in homes.items()
    }
    return [f"{name}. {line}" for name, line in lines.items() if line]


def side_sentence(found: SideBySide) -> str:
    """Say which is flooded most often by a failed pump, and which cannot be told from it.

    Parameters
    ----------
    found : SideBySide
        The years.

    Returns
    -------
    str
        A sentence or two.
    """
    means = {
        name: float(of_years(one)["failed_pump_floods"].mean())
        for name, one in zip(found.names, found.replays, strict=True)
    }
    worst, best = max(means, key=means.__getitem__), min(means, key=means.__getitem__)
    if means[worst] <= 0.0:
        return "A failed pump would have flooded none of them."
    first = (
        f"A failed pump floods most often in {worst}: {often_words(means[worst])}, mean of the "
        f"simulated variants; least often in {best}: {often_words(means[best])}."
    )
    alike = [
        one.name
        for one in found.contrasts
        if one.what == "failed_pump_floods" and one.verdict is not Verdict.APART
    ]
    if not alike:
        return f"{first} All differ clearly from {found.names[0]}."
    return f"{first} No clear difference from {found.names[0]}: {', '.join(alike)}."


def side_table(found: SideBySide, system: UnitSystem) -> Table:
    """Write years side by side as a table.

    Parameters
    ----------
    found : SideBySide
        The years.
    system : UnitSystem
        Units of the reader.

    Returns
    -------
    Table
        A row each, and which differences are clear.
    """
    told = {one.name: one for one in found.contrasts if one.what == "failed_pump_floods"}
    rows = [
        _row(name, one, season, told.get(name), system)
        for name, one, season in zip(found.names, found.replays, found.seasons, strict=True)
    ]
    head = ("", "years", "rain, melt", "a failed pump floods", "within 1 h",
            "floor wet, pump works", "pumped", "pump runs [h]", "finish visits by",
            "against the first")  # fmt: skip
    lines = [
        "All of a year; floods in times a year, mean, and in brackets 8 of 10 simulated variants "
        "of the home. Against the first, in floods of a failed pump: a difference is clear where "
        "it exceeds what is unknown of home and ground, and the variation between records.",
        *contrast_lines(found, system),
    ]
    return new_table("A year, side by side", head, rows, lines)


def _row(
    name: str,
    one: Replay,
    season: VisitSeason | None,
    told: Contrast | None,
    system: UnitSystem,
) -> tuple[str, ...]:
    by_year = of_years(one)

    def floods(what: str) -> str:
        per_draw = by_year[what].mean(axis=1)
        return range_words(mean_range(per_draw))

    water = float((one.rain_mm + one.melt_mm).sum()) / one.years
    return (
        name,
        f"{one.years:.3g}",
        rain_words(water, system),
        floods("failed_pump_floods"),
        floods("failed_pump_floods_within_1_h"),
        floods("working_floods"),
        volume_range_words(by_year["pumped_m3"].mean(axis=1), system),
        range_words(outcome(by_year["run_h"].mean(axis=1))),
        _finish(one, season),
        "" if told is None else _against(told),
    )


def _finish(one: Replay, season: VisitSeason | None) -> str:
    faults = due_faults(system_state(one.home))
    now = "now; " if faults or visit_alerts(one.home) else ""
    if season is None or not season.stands_out:
        return f"{now}no season stands out"
    month, day = season.first_day
    return f"{now}{day} {calendar.month_abbr[month]}"


def _against(told: Contrast) -> str:
    if told.verdict is Verdict.APART:
        return "more" if told.difference.mean > 0 else "fewer"
    return "the same" if told.verdict is Verdict.SAME else "no clear difference"


def contrast_lines(found: SideBySide, system: UnitSystem) -> list[str]:
    """Say how each differs from the first, and what differs by less than the spread.

    Parameters
    ----------
    found : SideBySide
        The years.
    system : UnitSystem
        Units of the reader.

    Returns
    -------
    list of str
        A line for each but the first.
    """
    return [_line(name, found, system) for name in found.names[1:]]


def _line(name: str, found: SideBySide, system: UnitSystem) -> str:
    own = {one.what: one for one in found.contrasts if one.name == name}
    apart = [
        f"{_NAMES[what]}: {_difference(own[what], system)}"
        for what in YEARLY
        if own[what].verdict is Verdict.APART
    ]
    told = "; ".join(apart)
    parts = [f"{name} beside {found.names[0]}."]
    if told:
        parts.append(f"{told[:1].upper()}{told[1:]}.")
    for verdict, why in _WHY.items():
        alike = [_NAMES[what] for what in YEARLY if own[what].verdict is verdict]
        if alike:
            parts.append(f"No clear difference ({why}): {', '.join(alike)}.")
    return " ".join(parts)


def _difference(one: Contrast, system: UnitSystem) -> str:
    more = one.difference.mean > 0
    ends = sorted(abs(x) for x in (one.difference.low, one.difference.high))
    if one.what == "pumped_m3":
        told, low, high = (volume_amount(abs(x), system) for x in (one.difference.mean, *ends))
    else:
        told, low, high = (Amount(grouped(abs(x))) for x in (one.difference.mean, *ends))
    word = "more" if more else "less"
    return f"{told} {word} a year ({low.number} to {high})"
