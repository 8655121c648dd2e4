"""A change of the climate as people write it: what is refused, and what to write instead."""

from __future__ import annotations

import pytest

from riskkit.errors import InputError
from riskkit.quantities.climate import read_climate
from riskkit.quantities.units import UnitSystem


@pytest.mark.parametrize(
    "written",
    [
        "9 K",
        "-3 K",
        "300 %",
        "12 °F",
        "7 °C",
        "2-4 °C",
        "1,5 °C",
        "K",
        "",
        "nan K",
        "2 m",
        "9" * 99 + " K",
        True,
        None,
    ],
)
def test_what_is_no_change_of_the_climate(written: object) -> None:
    with pytest.raises(InputError, match=r'rain\.climate: .*"2 °C" or "3\.6 °F", .* "20 %"'):
        read_climate(written, "rain.climate")


@pytest.mark.parametrize("written", ["2", "2 °", "2 degrees", 2])
def test_a_change_of_the_climate_needs_a_unit(written: object) -> None:
    right = 'write "2 °C" or "2 °F" for warming, or "2 %" for more rain.'
    with pytest.raises(InputError, match=rf'rain\.climate: "{written}" has no unit; {right}'):
        read_climate(written, "rain.climate")


def test_each_reader_gets_degrees_of_his_own() -> None:
    warm = read_climate("3.6 °F", "x")
    assert warm.words(UnitSystem.US) == "in a climate 3.6 °F (2 °C) warmer"
    assert warm.words(UnitSystem.METRIC) == "in a climate 2 °C warmer"
