"""The answer as one HTML page that needs nothing else: no scripts, no fonts, no network."""

from __future__ import annotations

from dataclasses import replace
from functools import cache
from typing import TYPE_CHECKING

from riskkit.quantities.units import UnitSystem
from riskkit.report.cautions import cautions
from riskkit.report.charts import level_chart, to_svg
from riskkit.report.draws_words import draws_words
from riskkit.report.key_figure import chance_figure, key_figure
from riskkit.report.origin_words import rests_on, taken_table
from riskkit.report.picture_words import ONE_HOME, time_words
from riskkit.report.state_words import ORDER_FIRST, reading
from riskkit.report.stop_words import stop_words
from riskkit.report.storm_rows import answer_tables, storm_rain
from riskkit.report.visit_words import alerts
from riskkit.report.water_words import parts_table, water_lines
from riskkit.report.words import sentence

if TYPE_CHECKING:
    import jinja2

    from riskkit.assessment import Assessment
    from riskkit.failures.answer import YearlyChance

__all__ = ["assessment_page", "environment"]


@cache
def environment() -> jinja2.Environment:
    """Return the templates of pages; text that is filled in is escaped.

    Returns
    -------
    jinja2.Environment
        The templates.
    """
    import jinja2

    return jinja2.Environment(
        loader=jinja2.PackageLoader("riskkit.report", "templates"),
        autoescape=True,
        undefined=jinja2.StrictUndefined,
        trim_blocks=True,
        lstrip_blocks=True,
    )


def assessment_page(
    answer: Assessment, system: UnitSystem, yearly: YearlyChance | None = None
) -> str:
    """Write the answer as a page: key figure, picture, tables, where the numbers come from.

    Parameters
    ----------
    answer : Assessment
        The answer.
    system : UnitSystem
        Units of the reader.
    yearly : YearlyChance, optional
        Chance of a year, where it is known.

    Returns
    -------
    str
        HTML; text from files is escaped.
    """
    import markupsafe

    storm = answer.headline_storm
    chart = to_svg(level_chart(answer, system, storm.return_period_yr))
    return (
        environment()
        .get_template("assessment.html")
        .render(
            answer=answer,
            key=key_figure(answer),
            chance=None if yearly is None else chance_figure(yearly),
            sentence=sentence(answer, system, state_first=False),
            chart=markupsafe.Markup(chart),  # noqa: S704 - drawn by the library from numbers alone
            stops=stop_words(answer.home),
            one_home=f"{ONE_HOME}. {time_words(answer)}",
            storm_name=f"{storm.return_period_yr:g}-year storm, {storm_rain(storm, system)}",
            alerts=alerts(answer.home, answer.state, system),
            order_first=ORDER_FIRST,
            water=water_lines(answer),
            tables=answer_tables(answer, system),
            parts=parts_table(answer, system),
            taken=replace(taken_table(answer, system), title=""),
            reading=reading(answer.state),
            draws=draws_words(answer),
            rests_on=rests_on(answer),
            cautions=cautions("sheet", system=system),
        )
    )
