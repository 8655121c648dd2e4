"""The answer as one HTML page that needs nothing else: no scripts, no fonts, no network."""

from __future__ import annotations

from functools import cache
from typing import TYPE_CHECKING

from riskkit.quantity import Basis
from riskkit.report.charts import level_chart, to_svg
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

if TYPE_CHECKING:
    import jinja2

    from riskkit.assessment import Assessment

__all__ = ["assessment_page"]


@cache
def _environment() -> jinja2.Environment:
    import jinja2

    return jinja2.Environment(
        loader=jinja2.PackageLoader("riskkit.report", "templates"),
        autoescape=True,
        undefined=jinja2.StrictUndefined,
        trim_blocks=True,
        lstrip_blocks=True,
    )


def assessment_page(answer: Assessment, system: UnitSystem) -> str:
    """Write the answer as a page: sentence, picture, tables, where the numbers come from.

    Parameters
    ----------
    answer : Assessment
        The answer.
    system : UnitSystem
        Units of the reader.

    Returns
    -------
    str
        HTML; text from files is escaped.
    """
    import markupsafe

    storm = answer.headline_storm
    chart = to_svg(level_chart(answer, system, storm.return_period_yr))
    known = {Basis.MEASURED: "measured at the home", Basis.GIVEN: "as given"}
    rows = []
    for row in answer.assumptions:
        item = variable(row.key)
        span = f"{item.text(row.p05, system)} to {item.text(row.p95, system)}"
        origin = known.get(row.basis) or f"{row.why} ({load_sources()[row.source].cite()})"
        rows.append((row.words, item.text(row.p50, system), span, origin))
    return (
        _environment()
        .get_template("assessment.html")
        .render(
            answer=answer,
            sentence=sentence(answer),
            chart=markupsafe.Markup(chart),  # noqa: S704 - drawn by the library from numbers alone
            storm_name=f"{storm.return_period_yr:g}-year storm, "
            f"{rain_words(storm.depth_mm, system)} in {hours_words(storm.duration_h)}",
            working=[storm_row(s, system) for s in answer.storms],
            stopped=[failure_row(s, system) for s in answer.storms],
            after=[hours_words(h) for h in storm.depth_after_m],
            dry=minutes_words(answer.dry_s),
            dry_never=percent_words(answer.dry_s.never_share),
            rows=rows,
            cautions=CAUTIONS,
        )
    )
