"""The ground before large storms in words: one sentence, then a table by month."""

from __future__ import annotations

import calendar
from typing import TYPE_CHECKING

from rich.console import Console
from rich.text import Text

from riskkit.antecedent.water_table import WATER_TABLE
from riskkit.quantities.quantity import Basis
from riskkit.quantities.units import UnitSystem
from riskkit.quantities.variables import Spread, counted, variable
from riskkit.report.number_words import rain_words
from riskkit.report.rows import Table, new_table
from riskkit.report.table_text import print_table

if TYPE_CHECKING:
    from riskkit.antecedent.months import GroundMonths
    from riskkit.antecedent.wetness import MonthWetness

__all__ = ["ground_form", "ground_sentence", "ground_table", "print_ground"]


_AT_FLOOR_M = 0.005  # a gauge of ground water tells no less


def _name(month: int) -> str:
    return calendar.month_name[month]


def ground_sentence(ground: GroundMonths, system: UnitSystem) -> str:
    """Say in a sentence or two how the ground is before large storms.

    Parameters
    ----------
    ground : GroundMonths
        By month.
    system : UnitSystem
        Units of the reader.

    Returns
    -------
    str
        For example ``"Before the 166 storms above 1.5 in of the record the soil was about ..."``.
    """
    wet = ground.wetness
    known = [m.wetness for m in ground.months if m.wetness is not None]
    wettest, driest = (pick(known, key=lambda m: m.p50) for pick in (max, min))
    n_snow, n_frozen = (sum(n) for n in zip(*((m.n_snow, m.n_frozen) for m in ground.months),
                                            strict=True))  # fmt: skip
    frozen = (
        f"the ground may have been frozen before {n_frozen}"
        if n_frozen
        else "before none of them was the ground frozen"
    )
    parts = [
        f"Before the {counted(wet.n_storms, 'storm', 'storms')} above "
        f"{rain_words(wet.big_mm, system)} in the record "
        f"the soil was about {_full(wet.spread)} full, wettest in {_name(wettest.month)} and "
        f"driest in {_name(driest.month)}; snow lay before {n_snow or 'none'} of them, "
        f"and {frozen}."
    ]
    table = ground.water_table
    if table is not None:
        basis = "measured" if table.basis is Basis.MEASURED else "remembered"
        median = _level_words(table.spread.p50, system)
        text = f"The ground water, from {basis} levels, then stood about {median}"
        if table.months:
            high, low = (pick(table.months, key=lambda m: m.p50) for pick in (min, max))
            text += (
                f": highest in {_name(high.month)}, {_level_words(high.p50, system)}, and lowest "
                f"in {_name(low.month)}, {_level_words(low.p50, system)}"
            )
        parts.append(f"{text}.")
    return " ".join(parts)


def _days(time_day: float) -> str:
    return counted(max(1, round(time_day)), "day", "days")


def _full(wet: Spread | MonthWetness) -> str:
    return f"{wet.p50 * 100:.0f} % ({wet.p05 * 100:.0f}–{wet.p95 * 100:.0f} %)"


def _level_words(depth_m: float, system: UnitSystem) -> str:
    if abs(depth_m) < _AT_FLOOR_M:
        return "at the floor"
    shown = variable(WATER_TABLE).text(abs(depth_m), system, 2)
    return f"{shown} {'below' if depth_m >= 0 else 'above'} the floor"


def print_ground(ground: GroundMonths, console: Console, system: UnitSystem) -> None:
    """Print the ground before large storms: the sentence first, then the table.

    Parameters
    ----------
    ground : GroundMonths
        By month.
    console : Console
        Where to.
    system : UnitSystem
        Units of the reader.
    """
    console.print(Text(ground_sentence(ground, system)))
    console.print()
    print_table(console, ground_table(ground, system))
    if ground.water_table is not None:
        console.print(Text(f"Ground water: {ground.water_table.origin}; "
                           f"{ground.water_table.spread.words}."))  # fmt: skip
        fit = ground.water_table.fit
        if fit is not None:
            console.print(
                Text(
                    f"It answers to rain within about {_days(fit.table.time_day)}; "
                    f"{fit.table.pore_share * 100:.0f} % of the ground fills and empties."
                )
            )
    for remark in ground.remarks:
        console.print(Text(f"Note: {remark}"))
    console.print(Text("In brackets the limits within which 9 of 10 lie.", style="dim"))


def ground_table(ground: GroundMonths, system: UnitSystem) -> Table:
    """Write the ground before large storms as a table by month.

    Parameters
    ----------
    ground : GroundMonths
        By month.
    system : UnitSystem
        Units of the reader.

    Returns
    -------
    Table
        A row for each month, with what is remarked.
    """
    heads = ["month", "large storms", "snow lay", "frozen, perhaps", "saturation",
             "drains below the roots"]  # fmt: skip
    if ground.water_table is not None and ground.water_table.months:
        heads.append("ground water below the floor")
    rows = []
    for m in ground.months:
        wet = m.wetness
        row = [
            _name(m.month),
            str(m.n_storms),
            str(m.n_snow),
            str(m.n_frozen),
            _full(wet) if wet else "",
            rain_words(m.recharge_mm, system),
        ]
        if len(heads) > len(row):
            row.append("")
            if m.level is not None:
                points = (m.level.p05, m.level.p50, m.level.p95)
                median, span = variable(WATER_TABLE).spread_text(*points, system)
                row[-1] = f"{median} ({span})"
        rows.append(row)
    return new_table("Evenings before large storms, by month", heads, rows)


def ground_form(ground: GroundMonths) -> dict[str, object]:
    """Write the ground before large storms as plain values for JSON.

    Parameters
    ----------
    ground : GroundMonths
        By month.

    Returns
    -------
    dict
        Depths below the floor in m, water in mm, saturation as a share.
    """

    def spread(of: Spread) -> dict[str, object]:
        return {"p05": of.p05, "p50": of.p50, "p95": of.p95, "because": of.words}

    table = ground.water_table
    fit = table.fit if table is not None else None
    return {
        "form": "riskkit-ground",
        "form_version": 2,
        "n_storms": ground.wetness.n_storms,
        "storms_above_mm": ground.wetness.big_mm,
        "saturation": spread(ground.wetness.spread),
        "water_table_depth_m": None
        if table is None
        else spread(table.spread) | {"basis": table.basis.value, "from": table.origin},
        "fit": None
        if fit is None
        else {
            "n_levels": fit.n_levels,
            "explained": fit.explained,
            "predicted": fit.predicted,
            "error_m": fit.error_m,
            "time_day": fit.table.time_day,
            "rise_m_per_mm_d": fit.table.rise_m_d_mm,
        },
        "months": [
            {
                "month": m.month,
                "n_storms": m.n_storms,
                "n_snow": m.n_snow,
                "n_frozen": m.n_frozen,
                "drained_mm": m.recharge_mm,
                "saturation": [m.wetness.p05, m.wetness.p50, m.wetness.p95] if m.wetness else None,
                "water_table_depth_m": [m.level.p05, m.level.p50, m.level.p95] if m.level else None,
            }
            for m in ground.months
        ],
        "remarks": list(ground.remarks),
    }
