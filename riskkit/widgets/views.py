"""What the panels beside the form show, as plain values made from an answer."""

from __future__ import annotations

from typing import TYPE_CHECKING, Any

from riskkit.files import is_file
from riskkit.quantities.units import UnitSystem
from riskkit.report.cautions import cautions
from riskkit.report.draws_words import draws_words
from riskkit.report.origin_words import rests_on, taken_table
from riskkit.report.state_words import reading
from riskkit.report.storm_rows import (
    depth_table,
    paths_table,
    stopped_table,
    storm_rain,
    working_table,
)
from riskkit.report.water_words import parts_table, water_lines
from riskkit.risk.settings import settings_within
from riskkit.widgets.fields import known_counts
from riskkit.widgets.homefile import list_homes
from riskkit.widgets.tables import table_blocks
from riskkit.widgets.work import has_rain

if TYPE_CHECKING:
    from pathlib import Path

    from riskkit.assessment import Assessment, Settings
    from riskkit.home.home import Home
    from riskkit.widgets.homefile import HomeCard

__all__ = [
    "answer_blocks",
    "home_card",
    "invented_cards",
    "least_known",
    "listed_homes",
    "offered_storms",
    "rain_needed",
    "rain_words",
    "regional_words",
    "state_words",
]

_MOST_OF_A_NOTE = 160  # letters


def home_card(card: HomeCard) -> dict[str, str]:
    """Return a home as the list offers it.

    Parameters
    ----------
    card : HomeCard
        The home.

    Returns
    -------
    dict
        ``path``, ``name``, ``more``, and ``fault`` where it cannot be read.
    """
    note = f" · {card.note}" if card.note else ""
    return {
        "path": str(card.path),
        "name": card.name,
        "more": "" if card.fault else f"{card.path.name}{note}"[:_MOST_OF_A_NOTE],
        "fault": f"cannot be read: {card.fault}" if card.fault else "",
    }


def invented_cards(folder: Path, demos: Path | None) -> tuple[HomeCard, ...]:
    """Return the invented homes that a page offers.

    Parameters
    ----------
    folder : Path
        Where home files are.
    demos : Path, optional
        Where invented homes are.

    Returns
    -------
    tuple of HomeCard
        None where they are not installed, or are the homes of the folder themselves.
    """
    return () if demos is None or demos == folder else list_homes(demos)[0]


def listed_homes(folder: Path, demos: Path | None) -> dict[str, Any]:
    """Return what the list of homes shows.

    Parameters
    ----------
    folder : Path
        Where home files are.
    demos : Path, optional
        Where invented homes are.

    Returns
    -------
    dict
        ``folder``, ``homes``, ``others`` and ``demos``.
    """
    homes, others = list_homes(folder)
    invented = sorted(invented_cards(folder, demos), key=lambda card: card.name)
    return {
        "folder": str(folder),
        "homes": [home_card(card) for card in homes],
        "others": f"Not home files, so not listed: {', '.join(others)}." if others else "",
        "demos": [home_card(card) for card in invented],
    }


def rain_needed(home: Home, folder: Path) -> str:
    """Say that the rain that a home names is not there, and how to go on.

    Parameters
    ----------
    home : Home
        The home.
    folder : Path
        Folder in which its rain files should be.

    Returns
    -------
    str
        One sentence; empty where its rain is there.
    """
    rain = [name for name in (home.rain.table, home.rain.record) if name is not None]
    missing = [name for name in rain if not is_file(folder / name)]
    if not missing:
        return ""
    return (
        f"The rain file {missing[0]} is not there, so there is no answer: put a rain record or an "
        f"official table into the folder {folder}, or find rain near the home."
    )


def regional_words(answer: Assessment) -> str:
    """Say that an answer rests on rain of the region.

    Parameters
    ----------
    answer : Assessment
        The answer of a home that names no rain.

    Returns
    -------
    str
        One or two sentences.
    """
    return (
        f"Rain: {answer.rain.origin}. Find rain near the home, or put a rain record or an official "
        "table into the folder."
    )


def rain_words(answer: Assessment | None, unasked: str) -> str:
    """Say of rain that nobody chose where it is from, and how to go on.

    Parameters
    ----------
    answer : Assessment, optional
        The answer.
    unasked : str
        Name of the record that a new home was given without asking; empty for none.

    Returns
    -------
    str
        One or two sentences; empty where the rain was chosen.
    """
    if answer is None:
        return ""
    if not has_rain(answer.home):
        return regional_words(answer)
    if not unasked or answer.home.rain.record != unasked:
        return ""
    return (
        f"Rain: {unasked} was taken, for it is the only rain record of the folder. If it is not of "
        "this place, find rain near the home, or choose other rain under “Place and rain”."
    )


def offered_storms(answer: Assessment | None, settings: Settings) -> list[float]:
    """Return the storms that may be chosen.

    Parameters
    ----------
    answer : Assessment, optional
        The answer, where there is one.
    settings : Settings
        How it is worked out.

    Returns
    -------
    list of float
        Return periods, of those of the settings what the rain of the place holds [yr].
    """
    if answer is None:
        return list(settings.return_periods_yr)
    return list(settings_within(answer.rain, settings)[0].return_periods_yr)


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
    variants = f"for {answer.settings.n_draws} simulated variants of this home"
    return f"First answer, {variants}; refining …" if refining else f"Worked out {variants}."


def least_known(home: Home) -> str:
    """Say of which parts of the home least is known.

    Parameters
    ----------
    home : Home
        The home.

    Returns
    -------
    str
        One sentence; empty where most is known everywhere.
    """
    few = [row for row in known_counts(home) if row["known"] * 2 < row["of"]]
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
    marks = {f"{answer.settings.headline_yr:g}-year": "chosen"}
    # what happens when the pump fails comes first here
    tables = (
        stopped_table(answer),
        paths_table(answer),
        depth_table(answer, system),
        working_table(answer, system),
    )
    return [
        *({"kind": "text", "class": "", "text": line} for line in water_lines(answer)),
        *(block for table in tables for block in table_blocks(table, marks)),
        {
            "kind": "text",
            "class": "small",
            "text": " ".join(reading(answer.state)),
        },
        *table_blocks(parts_table(answer, system)),
        {"kind": "cautions", "items": list(cautions("sheet", system=system))},
        _origin(answer, system),
    ]


def _origin(answer: Assessment, system: UnitSystem) -> dict[str, Any]:
    storm = answer.headline_storm
    blocks: list[dict[str, Any]] = [
        {
            "kind": "text",
            "text": f"{' '.join(rests_on(answer))} "
            f"The {storm.return_period_yr:g}-year storm brings {storm_rain(storm, system)}.",
        }
    ]
    if answer.warnings:
        blocks.append({"kind": "list", "items": list(answer.warnings)})
    blocks += table_blocks(taken_table(answer, system))
    blocks.append(
        {
            "kind": "text",
            "class": "small",
            "text": f"riskkit {answer.version}, {draws_words(answer)}",
        }
    )
    return {"kind": "more", "title": "Where the numbers come from", "blocks": blocks}
