"""Chart of storm seasons: what is generated for each month, and the record on it."""

from __future__ import annotations

import calendar
from typing import TYPE_CHECKING, Any

from riskkit.quantities.units import UnitSystem, convert
from riskkit.report.charts import LINE, RAIN, STOPPED
from riskkit.report.number_words import rain_words
from riskkit.report.season import month_summary
from riskkit.seasons.check import LARGE_STORM_MM, SeasonCheck

if TYPE_CHECKING:
    import altair as alt

__all__ = ["season_chart", "season_rows"]

_BAND, _MADE, _OWN = "8 of 10 generated years", "mean of generated years", "mean of the record"


def season_rows(check: SeasonCheck, system: UnitSystem, quantity: str) -> list[dict[str, Any]]:
    """Give what the chart of one quantity draws, month by month.

    Parameters
    ----------
    check : SeasonCheck
        Record and generated records.
    system : UnitSystem
        Units of the reader.
    quantity : str
        ``"total_mm"``, ``"large_storms"`` or ``"largest_day_mm"``.

    Returns
    -------
    list of dict
        One per month: its name, mean of the record and of the generated years, and their limits.
    """
    unit = "in" if system is UnitSystem.US else "mm"
    size = 1.0 if quantity == "large_storms" else convert(1.0, "mm", unit)
    own = month_summary(check.record_months)[quantity] * size
    made = month_summary(check.generated_months)[quantity] * size
    return [
        {
            "month": calendar.month_abbr[month + 1],
            "record": float(own[0, month]),
            "generated": float(made[0, month]),
            "low": float(made[1, month]),
            "high": float(made[2, month]),
        }
        for month in range(12)
    ]


def season_chart(
    check: SeasonCheck, system: UnitSystem, *, width_px: int = 560
) -> alt.VConcatChart:
    """Draw rain, large storms and largest day of each month: generated years and the record.

    Parameters
    ----------
    check : SeasonCheck
        Record and generated records.
    system : UnitSystem
        Units of the reader.
    width_px : int
        Width of the plots without their axes [px].

    Returns
    -------
    altair.VConcatChart
        Three plots under each other, with one legend.
    """
    import altair as alt

    unit = "in" if system is UnitSystem.US else "mm"
    titles = {
        "total_mm": f"rain [{unit}]",
        "large_storms": f"storms over {rain_words(LARGE_STORM_MM, system)}",
        "largest_day_mm": f"largest day [{unit}]",
    }
    looks = alt.Scale(domain=[_BAND, _MADE, _OWN], range=[RAIN, LINE, STOPPED])
    look = alt.Color("what:N", scale=looks, title=None)
    plots = []
    for quantity, title in titles.items():
        rows = alt.InlineData(values=season_rows(check, system, quantity))
        base = alt.Chart(rows, height=110, width=width_px).encode(
            x=alt.X("month:N", sort=list(calendar.month_abbr[1:]), title=None,
                    axis=alt.Axis(labelAngle=0)),
        )  # fmt: skip

        band = base.transform_calculate(what=f"'{_BAND}'").mark_bar(opacity=0.5, size=22).encode(
            y=alt.Y("low:Q", title=title), y2="high:Q", color=look
        )  # fmt: skip
        made = base.transform_calculate(what=f"'{_MADE}'").mark_tick(size=22, thickness=2).encode(
            y="generated:Q", color=look
        )  # fmt: skip
        own = base.transform_calculate(what=f"'{_OWN}'").mark_point(
            shape="diamond", filled=True, size=60, opacity=1
        ).encode(y="record:Q", color=look)  # fmt: skip
        plots.append(band + made + own)
    chart: alt.VConcatChart = (
        alt.vconcat(*plots)
        .configure_legend(orient="top", labelFontSize=12, labelLimit=0)
        .configure_axis(labelFontSize=12, titleFontSize=12)
        .configure_view(stroke=None)
    )
    return chart
