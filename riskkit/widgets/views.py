"""What the panels beside the form show, as plain values made from an answer."""

from __future__ import annotations

from typing import TYPE_CHECKING, Any

from riskkit.quantity import Basis
from riskkit.report.terminal import (
    failure_row,
    hours_words,
    minutes_words,
    percent_words,
    rain_words,
    storm_row,
)
from riskkit.report.words import CAUTIONS, sentence
from riskkit.tables import load_sources
from riskkit.units import UnitSystem
from riskkit.variables import variable
from riskkit.widgets.fields import known_counts

if TYPE_CHECKING:
    from riskkit.assessment import Assessment
    from riskkit.site import Site

__all__ = ["answer_blocks", "least_known", "sentence_of", "state_words"]

WORKING = ("storm", "rain", "most to the pit", "of pump flow", "alarm sounds", "floor stays dry")
STOPPED = ("storm", "worst moment", "typical moment", "never")
_KNOWN = {Basis.MEASURED: "measured at the home", Basis.GIVEN: "as given"}


def sentence_of(answer: Assessment | None) -> str:
    """Return the sentence of an answer, or nothing without one.

    Parameters
    ----------
    answer : Assessment, optional
        The answer.

    Returns
    -------
    str
        Plain words.
    """
    return "" if answer is None else sentence(answer)


def state_words(answer: Assessment | None, *, refining: bool) -> str:
    """Say how far the answer is worked out.

    Parameters
    ----------
    answer : Assessment, optional
        The answer.
    refining : bool
        Whether the whole answer is still to come.

    Returns
    -------
    str
        One line.
    """
    if answer is None:
        return ""
    draws = f"from {answer.settings.n_draws} draws of what this home may be"
    return f"First answer {draws}; refining …" if refining else f"Worked out {draws}."


def least_known(site: Site) -> str:
    """Say of which parts of the home least is known.

    Parameters
    ----------
    site : Site
        The home.

    Returns
    -------
    str
        One sentence; empty where most is known everywhere.
    """
    few = [row for row in known_counts(site) if row["known"] * 2 < row["of"]]
    few.sort(key=lambda row: row["known"] / row["of"])
    if not few:
        return ""
    parts = [f"{row['title'].lower()} ({row['known']} of {row['of']})" for row in few[:3]]
    return f"Least is known of: {', '.join(parts)}. What is measured there narrows the answer."


def answer_blocks(answer: Assessment, system: UnitSystem) -> list[dict[str, Any]]:
    """Return the tables of an answer, its cautions and where its numbers come from.

    Parameters
    ----------
    answer : Assessment
        The answer.
    system : UnitSystem
        Units of the reader.

    Returns
    -------
    list of dict
        Blocks for the panel.
    """
    after = [f"after {hours_words(hours)}" for hours in answer.storms[0].depth_after_m]
    stopped = [list(failure_row(storm, system)) for storm in answer.storms]
    dry = minutes_words(answer.dry_s)
    never = percent_words(answer.dry_s.never_share)
    stopped.append(["dry weather", dry, dry, never, *("" for _ in after)])
    marks = {f"{answer.settings.headline_yr:g}-year": "chosen"}
    return [
        {
            "kind": "table",
            "title": "If the pump stops: time from the alarm to water on the floor",
            "head": [*STOPPED, *after],
            "rows": stopped,
            "marks": marks,
        },
        {
            "kind": "table",
            "title": "With the pump working",
            "head": list(WORKING),
            "rows": [list(storm_row(storm, system)) for storm in answer.storms],
            "marks": marks,
        },
        {
            "kind": "text",
            "class": "small",
            "text": "Middle, and in brackets the range that holds 8 of 10 draws of what the home "
            "may be. “Typical” is the middle of all moments of the wet part of the storm; “after” "
            "is the middle depth of water on the floor so long after the alarm at the worst "
            "moment.",
        },
        {"kind": "cautions", "items": list(CAUTIONS)},
        _origin(answer, system),
    ]


def _origin(answer: Assessment, system: UnitSystem) -> dict[str, Any]:
    years = f", {answer.rain.years:g} years" if answer.rain.years else ""
    storm = answer.headline_storm
    blocks: list[dict[str, Any]] = [
        {
            "kind": "text",
            "text": f"Rain: {answer.rain.source}{years}; {answer.settings.pattern.value} storms. "
            f"The {storm.return_period_yr:g}-year storm brings "
            f"{rain_words(storm.depth_mm, system)} in {hours_words(storm.duration_h)}.",
        }
    ]
    if answer.warnings:
        blocks.append({"kind": "list", "items": list(answer.warnings)})
    rows = []
    for row in answer.assumptions:
        item = variable(row.key)
        span = f"{item.text(row.p05, system)} to {item.text(row.p95, system)}"
        origin = _KNOWN.get(row.basis) or f"{row.why} ({load_sources()[row.source].cite()})"
        rows.append([row.words, item.text(row.p50, system), span, origin])
    blocks.append(
        {
            "kind": "table",
            "title": "What was taken for the home",
            "head": ["quantity", "middle", "nine in ten lie within", "from"],
            "rows": rows,
        }
    )
    blocks.append(
        {
            "kind": "text",
            "class": "small",
            "text": f"riskkit {answer.version}, {answer.settings.n_draws} draws, "
            f"seed {answer.settings.seed}.",
        }
    )
    return {"kind": "more", "title": "Where the numbers come from", "blocks": blocks}
