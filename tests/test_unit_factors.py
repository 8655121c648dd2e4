"""Multipliers between common units, as pint works them out of ``units.txt``.

``python tests/test_unit_factors.py`` writes ``riskkit/tables/unit_factors.csv`` again.
"""

from __future__ import annotations

import subprocess
import sys
from pathlib import Path

import pytest

from riskkit.quantities import units

ROOT = Path(__file__).resolve().parents[1]
TABLE = ROOT / "riskkit" / "tables" / "unit_factors.csv"

# the units that people write, and in which they are answered, for each unit inside
COMMON = {
    "m": "in inch inches ft feet foot yd cm mm",
    "m2": "ft2 in2 cm2",
    "m3": "gal ft3 in3 L liters litres",
    "m3/s": "gpm gph gal/min gal/h L/s L/min L/h m3/h",
    "mm": "in inch inches cm m",
    "mm/h": "in/h cm/h",
    "mm/d": "in/d",
    "m2/s": "gpm/in gpm/ft cm2/s",
    "m/s": "in/h cm/h mm/h cm/d m/d",
    "s": "sec seconds min minutes h hours d days",
    "1": "percent",
    "yr": "year years month months",
    "h": "hours min minutes s d days",
    "A": "amp amps",
    "W": "watts",
    "V": "volts",
    "L": "gal m3 liters litres",
    "L/h": "gal/h gph",
    "Pa": "psi kPa bar",
}
PAIRS = [
    pair
    for inside, written in COMMON.items()
    for other in written.split()
    for pair in ((other, inside), (inside, other))
] + [("in", "cm"), ("ft", "in"), ("gpm", "L/min")]


def table() -> str:
    lines = [
        "# Multipliers between common units, to the last digit as pint has them of units.txt.",
        "# Written by tests/test_unit_factors.py.",
        "from_unit,to_unit,factor,source",
        ",,-,",
    ]
    for from_unit, to_unit in PAIRS:
        factor = units._factor_by_pint(from_unit, to_unit)
        lines.append(f"{from_unit},{to_unit},{factor!r},arithmetic")
    return "\n".join(lines) + "\n"


def test_the_table_holds_what_pint_answers() -> None:
    assert TABLE.read_text(encoding="utf-8") == table()


@pytest.mark.parametrize(("from_unit", "to_unit"), [("degC", "degF"), ("degF", "degC")])
@pytest.mark.parametrize("degrees", [-40.0, -17.77, 0.0, 3.3, 32.0, 50.0, 98.6])
def test_degrees_are_those_of_pint(degrees: float, from_unit: str, to_unit: str) -> None:
    registry = units._registry()
    expected = registry.Quantity(degrees, units._unit(from_unit)).to(units._unit(to_unit))
    assert units.convert(degrees, from_unit, to_unit) == float(expected.magnitude)


def test_common_units_need_no_pint_and_others_are_told_by_it() -> None:
    code = (
        "import sys\n"
        "from riskkit.errors import InputError\n"
        "from riskkit.quantities.units import convert, parse_quantity\n"
        "parse_quantity('18 in', 'm', 'here'), convert(50.0, 'degF', 'degC')\n"
        "assert 'pint' not in sys.modules\n"
        "try:\n"
        "    parse_quantity('18 gal', 'm', 'here')\n"
        "except InputError as error:\n"
        "    print(error)\n"
    )
    done = subprocess.run(
        [sys.executable, "-c", code], capture_output=True, text=True, cwd=ROOT, check=True
    )
    assert "'18 gal' is not a length" in done.stdout


if __name__ == "__main__":
    TABLE.write_text(table(), encoding="utf-8")
