"""Units that docstrings of public functions give: known to pint, and those of the names.

A name that ends in a unit, such as ``flow_m3_s``, must be told in this unit: in its dimension and
in its size. So a millimetre that was told as a metre, or a rate told as a time, is seen.
"""

from __future__ import annotations

import re
from collections.abc import Iterator

import pint
import pytest
from test_docstrings import FUNCTIONS, doc_of

UNIT = re.compile(r"\[([^\[\]]+)\]")
NO_UNIT = frozenset({"-", "1", "any", "any depth", "date", "date, to the second", "byte", "px"})
"""What stands in brackets and is no unit of physics."""
SUFFIXES = {
    "m3_s": "m3/s", "m2_s": "m2/s", "m_s": "m/s", "mm_h": "mm/h", "mm_d": "mm/day", "m_yr": "m/yr",
    "m3_yr": "m3/yr", "l_h": "L/h", "mj_m2": "MJ/m2", "kg_m3": "kg/m3", "m3": "m3",
    "m2": "m2", "mm": "mm", "km": "km", "m": "m", "m_d_mm": "m day/mm", "s": "s",
    "h": "h", "yr": "yr", "ah": "Ah", "mm2": "mm2", "pa": "Pa", "kwh": "kWh",
}  # fmt: skip


@pytest.fixture(scope="module")
def registry() -> pint.UnitRegistry[float]:
    made: pint.UnitRegistry[float] = pint.UnitRegistry()
    made.define("money = [money]")
    made.define("CAD = money")
    made.define("Ah = ampere * hour")
    return made


def told_units() -> Iterator[tuple[str, str, str]]:
    """Function, name of a value, and the unit that is told of it, of each value told alone."""
    for function in FUNCTIONS:
        doc = doc_of(function)
        for section in ("Parameters", "Returns"):
            for entry in doc[section]:
                units = UNIT.findall(" ".join(entry.desc))
                names = entry.name or function.rpartition(".")[2]
                if len(set(units)) == 1:
                    yield from ((function, name.strip(), units[0]) for name in names.split(","))


def suffix_of(name: str) -> str | None:
    """The unit that a name ends in; None where it ends in none, or is nothing but it."""
    ends = [end for end in SUFFIXES if name.endswith(f"_{end}")]
    return max(ends, key=len) if ends else None


def test_every_unit_is_known(registry: pint.UnitRegistry[float]) -> None:
    unknown = []
    for function in FUNCTIONS:
        doc = doc_of(function)
        text = [line for part in ("Parameters", "Returns") for e in doc[part] for line in e.desc]
        for told in UNIT.findall(" ".join(text)):
            for unit in re.split(r",\s*", told):
                if unit in NO_UNIT or '"' in unit or unit == "to the second":
                    continue
                try:
                    registry.parse_units(written(unit))
                except (pint.UndefinedUnitError, pint.DefinitionSyntaxError, ValueError):
                    unknown.append((function, unit))
    assert unknown == []


def test_a_name_and_its_docstring_have_one_unit(registry: pint.UnitRegistry[float]) -> None:
    looked, wrong = 0, []
    for function, name, told in told_units():
        end = suffix_of(name)
        if end is None or told == "any":
            continue
        looked += 1
        if re.search(r"(^|_)per_", name):  # the rest of the name says what, such as money
            is_right = told.endswith(f"/{SUFFIXES[end]}")
        else:
            is_right = told not in NO_UNIT and _same(registry, SUFFIXES[end], told)
        if not is_right:
            wrong.append((function, name, told))
    assert wrong == []
    assert looked > 500  # the test sees the package


@pytest.mark.parametrize(
    ("of_name", "told", "same"),
    [("m3/s", "m3/s", True), ("mm", "m", False), ("1/yr", "yr", False), ("mm/h", "m/s", False),
     ("s", "min", False), ("Ah", "A", False)],
)  # fmt: skip
def test_what_is_not_the_same_is_seen(
    registry: pint.UnitRegistry[float], of_name: str, told: str, same: bool
) -> None:
    assert _same(registry, of_name, told) is same


def written(unit: str) -> str:
    return (
        re.sub(r"(?<=[a-z])([23])\b", r"**\1", unit)
        .replace("degC", "delta_degC")
        .replace(" day", "*day")
    )


def _same(registry: pint.UnitRegistry[float], one: str, other: str) -> bool:
    a, b = (registry.Quantity(1.0, written(unit)) for unit in (one, other))
    same_kind = a.dimensionality == b.dimensionality
    return same_kind and bool(abs(a.to_base_units().m / b.to_base_units().m - 1) < 1e-9)
