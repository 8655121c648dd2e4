"""What a check of a record says in words, and whether the record may be used at all."""

from __future__ import annotations

import math
import re

from riskkit.errors import InputError
from riskkit.rainfall.quality import QualityRow, Verdict
from riskkit.units import UnitSystem, convert
from riskkit.variables import significant

__all__ = ["need_sound", "quality_words", "row_words"]

_COUNTED = {"values": "value", "days": "day", "years": "year", "intervals": "interval"}
_TINY = 0.001  # a smaller share is told as less than this [-]


def quality_words(row: QualityRow, system: UnitSystem) -> tuple[str, str]:
    """Write what a check of a record found, and what is expected.

    Parameters
    ----------
    row : QualityRow
        The check.
    system : UnitSystem
        Units of the reader.

    Returns
    -------
    found : str
        For example ``"40 in"``, ``"18 %"`` or ``"15 intervals"``.
    expected : str
        For example ``"at most 50 %"``.

    References
    ----------
    arithmetic : rounding
    """
    unit, factor, digits = row.unit, 1.0, 2 if row.unit == "times" else 6
    if row.unit == "share":
        unit, factor, digits = "%", 100.0, 2
    elif row.unit == "mm":
        unit = "in" if system is UnitSystem.US else "mm"
        factor, digits = convert(1.0, "mm", unit), 3

    def shown(number: float, digits: int) -> str:
        return significant(number * factor, digits).replace(",", "")

    limit = re.sub(r"\d+(\.\d+)?", lambda found: shown(float(found[0]), 2), row.limit)
    if row.unit:
        limit = re.sub(rf"\b{re.escape(row.unit)}$", unit, limit)
    if row.unit in _COUNTED:
        limit = re.sub(r"^at most 0 .*", "none", limit)
    if math.isnan(row.figure):
        return "too short to tell", limit
    if row.unit == "share" and 0 < row.figure < _TINY:
        return f"less than {shown(_TINY, 1)} %", limit
    number = shown(row.figure, digits)
    if row.unit == "times" and number == "1":
        return "the same", limit
    if row.unit in _COUNTED and number in ("0", "1"):
        return "none" if number == "0" else f"1 {_COUNTED[row.unit]}", limit
    return f"{number} {unit}".strip(), limit


def row_words(row: QualityRow) -> str:
    """Say what a check of a record found, what is expected, and why it matters.

    Parameters
    ----------
    row : QualityRow
        The check.

    Returns
    -------
    str
        In metric units.

    References
    ----------
    arithmetic : words
    """
    found, expected = quality_words(row, UnitSystem.METRIC)
    return f"{row.check} is {found}, expected {expected} ({row.meaning})"


def need_sound(rows: tuple[QualityRow, ...], where: str) -> None:
    """Refuse a record that cannot be right.

    Parameters
    ----------
    rows : tuple of QualityRow
        Its checks.
    where : str
        Which record, for the message.

    Raises
    ------
    InputError
        Where a check failed; it says which one.

    References
    ----------
    judgement : riskkit/tables/quality_limits.csv
    """
    for row in rows:
        if row.verdict is Verdict.FAIL:
            raise InputError(
                where, f"it cannot be right: {row_words(row)}", "look at it with riskkit rain"
            )
