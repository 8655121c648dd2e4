"""The take-away page: one file with the moving section, storms and remedies to switch between.

All is worked out beforehand and stands in the page, which runs in a browser on its own: without a
server, and without asking anything of anybody.
"""

from __future__ import annotations

import datetime
import json
from collections.abc import Sequence
from dataclasses import replace
from pathlib import Path
from typing import TYPE_CHECKING, Any

from riskkit.report.cautions import cautions
from riskkit.report.chance_words import RESTS_ON, one_year_in_words
from riskkit.report.days import day_words
from riskkit.report.key_figure import chance_figure, key_figure
from riskkit.report.moving import SECTION_SCRIPT, SECTION_STYLE, pictures
from riskkit.report.page import environment
from riskkit.report.ranking_words import short_words, tie_lines
from riskkit.report.state_words import ORDER_FIRST
from riskkit.report.stop_words import has_second_pump
from riskkit.report.visit_words import alerts

if TYPE_CHECKING:
    from riskkit.assessment import Assessment
    from riskkit.options.changes import Change
    from riskkit.options.ranking import Ranking
    from riskkit.quantities.units import UnitSystem

__all__ = ["MOST_REMEDIES", "STORMS_YR", "takeaway_page"]

MOST_REMEDIES = 4
"""How many remedies an owner may switch between, the best ones."""
STORMS_YR = (2.0, 10.0, 100.0)
"""Return periods of the storms that an owner may look at [yr]."""
_TEMPLATES = Path(__file__).parent / "templates"


def takeaway_page(
    answer: Assessment,
    tried: Sequence[tuple[Change, Assessment]],
    date: datetime.date,
    system: UnitSystem,
    ranking: Ranking | None = None,
    notes: Sequence[str] = (),
) -> str:
    """Write the page.

    Parameters
    ----------
    answer : Assessment
        The home as it is.
    tried : sequence of (Change, Assessment)
        What would help, and the home with it, in the order of the ranking.
    date : date
        Day of the page.
    system : UnitSystem
        Units of the reader.
    ranking : Ranking, optional
        Chance of a year of the home as it is and with what helps, where it is known.
    notes : sequence of str
        What a reader must know first, such as values that it is without.

    Returns
    -------
    str
        HTML that needs nothing else; text from files is escaped.
    """
    import markupsafe

    chances = {} if ranking is None else _chances(ranking)
    homes = [("", "as it is now", answer)]
    homes += [(change.name, change.words(system), after) for change, after in tried]
    data = {
        "homes": [
            {"key": key, "words": words, "chance": chances.get(key)} for key, words, _ in homes
        ],
        "two_pumps": has_second_pump(answer.home),
        "storms": [storm for storm in STORMS_YR if _holds(answer, storm)],
        "shown": [_shown(key, one, system) for key, _, one in homes],
    }
    script = (_TEMPLATES / "takeaway.js").read_text("utf-8")
    return (
        environment()
        .get_template("takeaway.html")
        .render(
            name=answer.home.name,
            day=day_words(date, system),
            alerts=alerts(answer.home, answer.state, system),
            order_first=ORDER_FIRST,
            notes=notes,
            chance=chances.get(""),
            ranked=[] if ranking is None else _ranked(ranking, tried, system),
            rests_on=RESTS_ON,
            cautions=cautions("sheet", system=system),
            version=answer.version,
            style=markupsafe.Markup(SECTION_STYLE),  # noqa: S704 - our own file
            script=markupsafe.Markup(f"{SECTION_SCRIPT}\n{script}"),  # noqa: S704 - our own files
            data=markupsafe.Markup(_inside_script(data)),  # noqa: S704 - cannot end the script
        )
    )


def _chances(ranking: Ranking) -> dict[str, tuple[str, str]]:
    """The chance of a year of each home as a figure, and what is said beside it, by its key."""
    now, likely = chance_figure(ranking.now)
    found = {"": (now, f"with water on the floor, by judgement; {likely}")}
    for row in ranking.rows:
        then = one_year_in_words(row.mean_after) if row.helps_chance else now
        less = f"instead of {now}" if then != now else "as it is now, or hardly less often"
        found[row.remedy.name] = (then, f"with water on the floor, {less}")
    return found


def _ranked(
    ranking: Ranking, tried: Sequence[tuple[Change, Assessment]], system: UnitSystem
) -> list[str]:
    """Say how the remedies are put in order, which of them tie, and what else helps."""
    there = {change.name for change, _ in tried}
    helps = [row for row in ranking.rows if row.helps]
    others = [row for row in helps if row.remedy.name not in there]
    lines = ["What helps most against water on the floor in a year stands first."] if tried else []
    lines += tie_lines(ranking, system)
    if others:
        words = "; ".join(short_words(row.remedy.name) for row in others)
        too = "Helps too, but is not drawn here" if tried else "What would help"
        lines.append(f"{too}: {words}.")
    return lines


def _holds(answer: Assessment, storm_yr: float) -> bool:
    return any(storm.return_period_yr == storm_yr for storm in answer.storms)


def _inside_script(data: Any) -> str:
    """JSON that cannot end the element it stands in, whatever a file holds."""
    text = json.dumps(data, allow_nan=False, separators=(",", ":"))
    return text.replace("<", "\\u003c").replace(">", "\\u003e").replace("&", "\\u0026")


def _shown(key: str, answer: Assessment, system: UnitSystem) -> dict[str, Any]:
    """What one home shows in each storm, with the pump stopping and with it working."""
    found: dict[str, Any] = {"key": key, "section": {}, "storms": []}
    for storm_yr in STORMS_YR:
        if not _holds(answer, storm_yr):
            continue
        settings = replace(answer.settings, headline_yr=storm_yr)
        one = replace(answer, settings=settings)
        section, stopped = pictures(one, system, stopped=True)
        _, working = pictures(one, system, stopped=False)
        figure = key_figure(one)
        found["section"] = section
        found["storms"].append(
            {
                "yr": storm_yr,
                "figure": {
                    "value": figure.value,
                    "likely": figure.likely,
                    "of": f"{figure.of}, {figure.when}",
                    "short": figure.short,
                },
                "animations": [stopped, working],
            }
        )
    return found
