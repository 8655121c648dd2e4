"""A rain record as one HTML page that needs nothing else: no scripts, no fonts, no network."""

from __future__ import annotations

from typing import Any

from riskkit.quantities.units import UnitSystem
from riskkit.rainfall.analysis import RainAnalysis
from riskkit.report.charts import to_svg
from riskkit.report.page import environment
from riskkit.report.rain_charts import completeness_spec, double_mass_spec, frequency_spec
from riskkit.report.rain_report import rain_notes, rain_sentence, rain_tables

__all__ = ["rain_page"]


def rain_page(found: RainAnalysis, system: UnitSystem) -> str:
    """Write what was found in a record as a page: sentence, charts, tables, checks, notes.

    Parameters
    ----------
    found : RainAnalysis
        What was found.
    system : UnitSystem
        Units of the reader.

    Returns
    -------
    str
        HTML; text from files is escaped.
    """
    import markupsafe

    def drawn(chart: dict[str, Any]) -> str:
        return markupsafe.Markup(to_svg(chart))  # noqa: S704 - drawn by the library from numbers

    own = found.own
    return (
        environment()
        .get_template("rain.html")
        .render(
            name=found.record.name or "Rain record",
            sentence=rain_sentence(found, system),
            frequency=None if own is None else drawn(frequency_spec(found, system)),
            completeness=drawn(completeness_spec(found.years, found.missing_share)),
            mass=None if found.mass is None else drawn(double_mass_spec(found.mass, system)),
            tables=rain_tables(found, system),
            compared=found.comparison is not None,
            notes=rain_notes(found),
        )
    )
